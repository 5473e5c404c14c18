//! What can be typed, with the help texts.

use std::path::PathBuf;

use clap::{ArgMatches, Args, Parser, Subcommand};

use super::output::Manner;

const EXAMPLES: &str = "\
Examples:
  slotwise sample > my.ron            a commented circuit to start from
  slotwise check my.ron               is the file right?
  slotwise read my.ron                every receptacle as it should be
  slotwise read my.ron 'neutral open at kiln, line side' 'heater on'
  slotwise read circuits/pottery-studio.ron --condition loose-neutral
  slotwise why my.ron kiln.neutral 'neutral open at kiln, line side'
  slotwise lookalikes my.ron --at kiln --shows 'hot-neutral dark'
  slotwise locate my.ron --complaint 'dead from kiln on' --step
  slotwise drill                      a circuit with a hidden fault, to find

Exit codes:
  0  done (warnings stay 0)
  1  the circuit file or the condition has problems, all of them said
  2  the call was wrong, or a file could not be read

A model proves nothing dead: prove it with a rated instrument checked on a known
live source before and after. Local codes govern.";

/// What every slot of every receptacle carries, whatever is wrong with the wiring.
///
/// Takes a branch circuit as installed, and what is wrong with it in words, and solves it as
/// the electrical network it is.
#[derive(Debug, Parser)]
#[command(name = "slotwise", version, after_help = EXAMPLES, max_term_width = 80)]
#[command(arg_required_else_help = true)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Check(Check),
    Read(Read),
    Why(Why),
    Draw(Draw),
    Lookalikes(Lookalikes),
    Locate(Locate),
    Drill(super::drill::Arguments),
    Sample(Sample),
    /// Print completions for a shell
    #[command(after_help = "Example:\n  slotwise completions bash > \
        ~/.local/share/bash-completion/completions/slotwise")]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
}

impl Command {
    /// How what is wrong is to be said.
    pub(super) fn manner(&self) -> Manner {
        let is_json = match self {
            Self::Check(check) => check.json,
            Self::Read(read) => read.json,
            Self::Why(why) => why.json,
            Self::Lookalikes(asked) => asked.json,
            Self::Locate(asked) => asked.json,
            Self::Drill(drill) => return drill.manner(),
            Self::Draw(_) | Self::Sample(_) | Self::Completions { .. } => false,
        };
        if is_json { Manner::Json } else { Manner::Words }
    }
}

/// Say whether a circuit file is right, and everything that is wrong with it
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  slotwise check circuits/boathouse.ron\n  \
    slotwise sample | slotwise check -")]
pub(super) struct Check {
    /// The circuit file (RON); `-` reads standard input
    pub(super) file: String,
    /// Say it as JSON
    #[arg(long)]
    pub(super) json: bool,
}

/// Say what every slot carries, hazards first
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  slotwise read circuits/pottery-studio.ron
  slotwise read circuits/pottery-studio.ron 'neutral open at kiln, line side'
  slotwise read circuits/pottery-studio.ron 'kettle on; drive on' --at wheel
  slotwise read circuits/bakery.ron --condition shared-neutral-lost --currents
  slotwise read circuits/pottery-studio.ron --with non-contact --with clamp
  slotwise read circuits/boathouse.ron --with loaded-test --at loft --at slip
  slotwise read circuits/boathouse.ron --json
  slotwise read circuits/bakery.ron --html -o bakery.html

docs/condition-words.md has every sentence; docs/json.md the JSON.")]
pub(super) struct Read {
    #[command(flatten)]
    pub(super) case: Case,
    /// Only this place, device, slot or joint; may be given again
    #[arg(long = "at", value_name = "ADDRESS")]
    pub(super) at: Vec<String>,
    /// What an instrument shows wherever it is held, its own burden included: a preset's name
    /// (docs/instruments.md lists them), or your own, FILE.ron or FILE.ron:NAME; may be given
    /// again
    #[arg(long, value_name = "INSTRUMENT")]
    pub(super) with: Vec<String>,
    /// The current in every branch too
    #[arg(long)]
    pub(super) currents: bool,
    /// The moment before anything trips, in place of what remains after it
    #[arg(long)]
    pub(super) before_trips: bool,
    /// Say it as JSON
    #[arg(long)]
    pub(super) json: bool,
    /// Write a page in HTML with the pictures in it, to read and to print
    #[arg(long, conflicts_with = "json")]
    pub(super) html: bool,
    #[command(flatten)]
    pub(super) target: Target,
}

/// Say what feeds a terminal: the path that holds it at its potential
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  slotwise why circuits/pottery-studio.ron kiln.neutral
  slotwise why circuits/pottery-studio.ron kiln.neutral \\
      'neutral open at kiln, line side'")]
pub(super) struct Why {
    /// The circuit file (RON); `-` reads standard input
    pub(super) file: String,
    /// The terminal asked about, as `kiln.neutral`
    pub(super) address: String,
    #[command(flatten)]
    pub(super) condition: ConditionWords,
    /// Say it as JSON
    #[arg(long)]
    pub(super) json: bool,
}

/// Draw the run, or the potentials along it, as SVG
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  slotwise draw circuits/pottery-studio.ron -o studio.svg
  slotwise draw circuits/pottery-studio.ron 'neutral open at kiln, line side' \\
      -o open-neutral.svg
  slotwise draw circuits/observatory.ron --condition bad-joint --profile \\
      -o volts.svg

docs/pictures.md says how to read them.")]
pub(super) struct Draw {
    #[command(flatten)]
    pub(super) case: Case,
    /// The potentials along the run instead: volts against distance
    #[arg(long)]
    pub(super) profile: bool,
    /// The box that the profile leads to; else the farthest past most faults
    #[arg(long = "to", value_name = "BOX", requires = "profile")]
    pub(super) to: Option<String>,
    #[command(flatten)]
    pub(super) target: Target,
}

/// Where a picture or page goes.
#[derive(Debug, Args)]
pub(super) struct Target {
    /// Write to this file instead of standard output
    #[arg(short = 'o', long = "output", value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
    /// Replace the file if there is one
    #[arg(long, requires = "output")]
    pub(super) force: bool,
}

/// Say what else would look the same: every fault, and every two, behind a reading
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  slotwise lookalikes circuits/pottery-studio.ron --at kiln \\
      --shows 'hot-neutral dark, hot-ground lit, neutral-ground lit'
  slotwise lookalikes my.ron --at kiln --with voltmeter \\
      --shows 'hot-neutral 60 to 90 V' 'heater off'
  slotwise lookalikes my.ron --at sink --with non-contact --shows 'neutral alarm'
  slotwise lookalikes my.ron --at sink --table --singles

An instrument's indicators are named by the slots they span: hot-neutral,
hot-ground, neutral-ground; each is dark, dim or lit. A meter shows volts between
two slots: '118 to 122 V', 'under 5 V', 'about 60 V'. A loaded test: 'lost 2 to 4 V'.")]
pub(super) struct Lookalikes {
    #[command(flatten)]
    pub(super) case: Case,
    /// The receptacle, or the box it is in
    #[arg(long, value_name = "PLACE")]
    pub(super) at: String,
    /// The instrument: a preset's name (docs/instruments.md lists them), or your own, FILE.ron or
    /// FILE.ron:NAME; the plug-in tester that goes with the circuit if none is named
    #[arg(long, value_name = "INSTRUMENT")]
    pub(super) with: Option<String>,
    /// What it shows
    #[arg(long, value_name = "WORDS", required_unless_present = "table")]
    pub(super) shows: Option<String>,
    /// Everything it can show there instead, with the faults behind each
    #[arg(long, conflicts_with = "shows")]
    pub(super) table: bool,
    /// Single faults only
    #[arg(long)]
    pub(super) singles: bool,
    /// Solve at most so many networks; pairs of faults are asked likeliest first
    #[arg(long, value_name = "NUMBER", default_value_t = 100_000)]
    pub(super) networks: usize,
    /// Show at most so many groups
    #[arg(long, value_name = "NUMBER")]
    pub(super) groups: Option<usize>,
    /// Show at most so many of each group
    #[arg(long, value_name = "NUMBER")]
    pub(super) members: Option<usize>,
    /// Say it as JSON
    #[arg(long)]
    pub(super) json: bool,
}

/// Say what to suspect, what to test next, and which box to open, from what was seen
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  slotwise locate circuits/pottery-studio.ron --complaint 'dead from kiln on'
  slotwise locate circuits/pottery-studio.ron --complaint 'dead from kiln on' \\
      --saw 'tester at kiln: hot-neutral dark, hot-ground lit, neutral-ground lit' \\
      --saw 'non-contact at sink: hot and neutral both beep'
  slotwise locate my.ron --observations call-out.ron --step
  slotwise locate my.ron --complaint 'lights dim when heater runs' --json

With --step it asks for one test at a time and reads each answer as a line: what was
shown, or any other observation, `not sure`, `skip`, `back`, `why`, `quit`.

docs/observation-words.md has every sentence; docs/observation-file.md the file.")]
pub(super) struct Locate {
    /// The circuit file (RON); `-` reads standard input
    pub(super) file: String,
    /// What was complained of or seen, in words: 'dead from kiln on'
    #[arg(value_name = "WORDS")]
    pub(super) said: Vec<String>,
    /// What was complained of and seen, in a file (RON)
    #[arg(long, value_name = "FILE")]
    pub(super) observations: Option<String>,
    /// What was complained of, in words: 'dead from kiln on', 'c1 tripped', 'only the radio
    /// works'; may be given again
    #[arg(long = "complaint", value_name = "WORDS")]
    pub(super) complaints: Vec<String>,
    /// What was seen, in words: 'tester at kiln: hot-neutral dark', 'found c2 off'; may be
    /// given again
    #[arg(long, value_name = "WORDS")]
    pub(super) saw: Vec<String>,
    /// An instrument at hand: a preset's name (docs/instruments.md lists them); may be given
    /// again. Without any: a plug-in tester, a voltmeter, a non-contact detector, a
    /// loaded test and an ohmmeter
    #[arg(long = "with", value_name = "INSTRUMENT")]
    pub(super) with: Vec<String>,
    /// How sure of the place you want to be, between 0 and 1
    #[arg(long, value_name = "SHARE")]
    pub(super) confidence: Option<f64>,
    /// Ask for one test at a time
    #[arg(long, conflicts_with = "json")]
    pub(super) step: bool,
    /// Say it as JSON
    #[arg(long)]
    pub(super) json: bool,
}

/// A text typed, and whether it stands behind `--saw`.
pub(super) type Said = (bool, String);

impl Locate {
    /// What was typed behind `--saw` and what without an option, in the order typed: what comes after a
    /// repair is of another time than what comes before.
    pub(super) fn in_order(&self, typed: &ArgMatches) -> Vec<Said> {
        let of = |name: &str, is_saw: bool, texts: &[String]| {
            let places = typed.indices_of(name).into_iter().flatten();
            let each = places.zip(texts).map(|(at, text)| (at, is_saw, text.clone()));
            each.collect::<Vec<_>>()
        };
        let mut all = of("saw", true, &self.saw);
        all.extend(of("said", false, &self.said));
        all.sort_by_key(|(at, ..)| *at);
        let together = all.chunk_by(|(_, one, _), (_, other, _)| one == other);
        let each = together.flat_map(|some| {
            let is_saw = some.first().is_some_and(|(_, is_saw, _)| *is_saw);
            let texts: Vec<String> = some.iter().map(|(.., text)| text.clone()).collect();
            let texts = if is_saw { texts } else { sentences(&texts) };
            texts.into_iter().map(move |text| (is_saw, text))
        });
        each.collect()
    }
}

/// Print a commented circuit to start from
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  slotwise sample > my.ron\n  slotwise sample --list\n  \
    slotwise sample boathouse > boathouse.ron")]
pub(super) struct Sample {
    /// Which one; the pottery studio if none is named
    pub(super) name: Option<String>,
    /// List the circuits there are, with what each teaches
    #[arg(long, conflicts_with = "name")]
    pub(super) list: bool,
}

/// A circuit file under a condition.
#[derive(Debug, Args)]
pub(super) struct Case {
    /// The circuit file (RON); `-` reads standard input
    pub(super) file: String,
    #[command(flatten)]
    pub(super) condition: ConditionWords,
}

/// What differs from the circuit as installed.
#[derive(Debug, Args)]
pub(super) struct ConditionWords {
    /// What is different from the file, in words: 'neutral open at kiln, line side'. Quote a
    /// sentence, or part sentences with `;`
    #[arg(value_name = "WORDS")]
    words: Vec<String>,
    /// A condition named in the circuit file, or a condition file; may be given again
    #[arg(long = "condition", value_name = "NAME|FILE")]
    pub(super) named: Vec<String>,
}

impl ConditionWords {
    /// The sentences typed.
    pub(super) fn sentences(&self) -> Vec<String> {
        sentences(&self.words)
    }
}

/// Sentences out of words typed. An argument with a blank in it is a sentence of its own; words left
/// unquoted belong together.
pub(super) fn sentences(words: &[String]) -> Vec<String> {
    let mut sentences: Vec<String> = Vec::new();
    let mut open = false;
    for word in words {
        let alone = word.contains(char::is_whitespace);
        match sentences.last_mut() {
            Some(sentence) if open && !alone => {
                sentence.push(' ');
                sentence.push_str(word);
            }
            _ => sentences.push(word.clone()),
        }
        open = !alone;
    }
    sentences
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    fn words(words: &[&str]) -> Vec<String> {
        let words = words.iter().map(|&word| word.to_owned()).collect();
        ConditionWords { words, named: Vec::new() }.sentences()
    }

    #[test]
    fn the_arguments_are_well_formed() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn quoted_sentences_stand_alone_and_loose_words_join() {
        assert_eq!(words(&["heater on", "lamp unplugged"]), ["heater on", "lamp unplugged"]);
        assert_eq!(words(&["neutral", "open", "at", "kiln"]), ["neutral open at kiln"]);
        assert_eq!(words(&["heater", "on", "lamp off"]), ["heater on", "lamp off"]);
    }
}
