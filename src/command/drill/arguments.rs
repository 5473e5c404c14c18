//! What can be typed after `slotwise drill`.

use clap::Args;

use crate::command::arguments::Target;
use crate::command::output::Manner;

/// Make a circuit with hidden faults: the student's sheet, the answer key, data, or a live drill
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  slotwise drill                                   a student's sheet
  slotwise drill --key                             the answer key to it
  slotwise drill --family houses --seed 7 --number 3 --html -o sheet.html
  slotwise drill --faults 2 --kind open_joint --kind bad_joint
  slotwise drill --hiding --key                    two faults, one hiding the other
  slotwise drill --difficulty hard --live
  slotwise drill --circuit > hidden.ron            its circuit, without the faults
  slotwise drill --live                            find it yourself
  slotwise drill --list                            the families there are
  slotwise drill --count 1000 --json > readings.jsonl
  slotwise drill --count 10000 --number 20000 --csv -o drills/

The same family, seed and number give the same drill on every machine.
docs/drills.md tells more; docs/faults.md has the kinds.")]
pub(crate) struct Drill {
    /// The family of circuits: one that comes with the program, or a family file (RON)
    #[arg(long, value_name = "NAME|FILE", default_value = "workshops")]
    pub(super) family: String,
    /// List the families that come with the program
    #[arg(long, conflicts_with_all = ["family", "seed", "number", "faults", "kinds", "hiding",
          "difficulty", "key", "quick", "circuit", "live", "html", "json", "output"])]
    pub(super) list: bool,
    /// The seed
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(super) seed: u64,
    /// Which drill under that seed, from 0
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub(super) number: u64,
    #[command(flatten)]
    pub(super) wanted: Wanted,
    /// The answer key, for the instructor, in place of the sheet
    #[arg(long)]
    pub(super) key: bool,
    /// Leave out what takes seconds: the computed way in a key and what is taken as right too,
    /// and its minutes beside the score of a live drill
    #[arg(long)]
    pub(super) quick: bool,
    /// The circuit file in place of the sheet: what the student knows, without the faults
    #[arg(long, conflicts_with = "key")]
    pub(super) circuit: bool,
    /// A live drill: type what you do, and it answers, over a terminal or a pipe
    #[arg(long, conflicts_with_all = ["key", "circuit", "html", "json", "count", "output"])]
    pub(super) live: bool,
    /// As a page in HTML to print
    #[arg(long, conflicts_with_all = ["json", "circuit"])]
    pub(super) html: bool,
    /// As JSON
    #[arg(long, conflicts_with = "circuit")]
    pub(super) json: bool,
    #[command(flatten)]
    pub(super) data: Data,
    #[command(flatten)]
    pub(super) target: Target,
}

impl Drill {
    /// How what is wrong is to be said: data are a line each.
    pub(crate) const fn manner(&self) -> Manner {
        match (self.json, self.data.count) {
            (false, _) => Manner::Words,
            (true, None) => Manner::Json,
            (true, Some(_)) => Manner::JsonLine,
        }
    }
}

/// Drills as data.
#[derive(Debug, Args)]
pub(super) struct Data {
    /// So many drills as data, from --number on: a line of JSON or CSV for each reading. With
    /// -o, a folder of files with a manifest, which the same command takes up where it stopped
    #[arg(long, value_name = "NUMBER", conflicts_with_all = ["key", "circuit", "html", "list", "force"],
          value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    pub(super) count: Option<u64>,
    /// As CSV (with --count)
    #[arg(long, requires = "count", conflicts_with = "json")]
    pub(super) csv: bool,
    /// Work with so many threads; as many as the machine has unless stated. The data are the same
    #[arg(long, value_name = "NUMBER", requires = "count",
          value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(super) threads: Option<u16>,
}

/// What is asked of a drill.
#[derive(Debug, Args)]
pub(super) struct Wanted {
    /// How many faults; drawn unless stated, mostly one
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u8).range(1..=4))]
    pub(super) faults: Option<u8>,
    /// A kind of fault that may be drawn, as `open_joint`; may be given again
    #[arg(long = "kind", value_name = "KIND")]
    pub(super) kinds: Vec<String>,
    /// Two faults, of which the second cannot be seen until the first is mended
    #[arg(long, conflicts_with = "faults")]
    pub(super) hiding: bool,
    /// How hard: `easy`, `medium` or `hard`; takes seconds to minutes, since the computed strategy
    /// is followed through each drill tried
    #[arg(long, value_name = "BAND", value_parser = ["easy", "medium", "hard"])]
    pub(super) difficulty: Option<String>,
}
