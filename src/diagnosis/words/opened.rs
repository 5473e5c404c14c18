//! What was found in an opened box: `opened kiln: neutral loose at kiln, line side`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind, tokens};
use crate::condition::words::lexicon::{self, Class, Verb, Word};
use crate::condition::words::problem::{AT_WHICH_PLACE, Problem, WordsProblem};
use crate::condition::words::{self, Edit, few, speak};
use crate::condition::{Condition, Fault, Gap};
use crate::diagnosis::{Found, Seen};

use super::reader::{Heard, Reader};

/// How a joint looks that is bad by a resistance nobody has measured, and a word of as many
/// letters or fewer that the grammar of conditions takes for an open joint: which joint is
/// meant does not depend on how bad it is.
const BAD: [(&str, &str); 9] = [
    ("loose", "open"),
    ("burnt", "open"),
    ("burned", "open"),
    ("scorched", "open"),
    ("corroded", "open"),
    ("melted", "open"),
    ("charred", "open"),
    ("bad", "cut"),
    ("poor", "open"),
];

/// What parts by itself is open.
const PARTED: [&str; 6] = ["fell", "came", "pulled", "slipped", "popped", "hanging"];

/// Words behind those that say nothing more.
const PARTED_FROM: [&str; 3] = ["out", "off", "loose"];

/// What push-in terminals are called besides, and a word of as many letters or fewer.
const CALLED: [(&str, &str); 3] =
    [("backstab", "push-in"), ("backstabs", "push-in"), ("back-stab", "push-in")];

impl Reader<'_> {
    /// After `opened`.
    pub(super) fn opened(&mut self) -> Heard<Seen> {
        self.pass_small();
        self.takes_any(&["box", "up"]);
        let place = self.due_name(&[Class::Place], "box")?;
        self.pass_small();
        self.takes_any(&["found", "there"]);
        self.pass_marks();
        let sound = [
            "nothing found",
            "nothing wrong",
            "nothing bad",
            "nothing",
            "all joints sound",
            "all sound",
            "joints sound",
            "sound",
            "no bad joint",
            "all good",
        ];
        if self.takes_any(&sound) {
            self.end()?;
            return Ok(Seen::Opened { place, found: Vec::new() });
        }
        if self.is_done() {
            return Err(self.here("what was found there?").expected(EXAMPLES));
        }
        let (text, start) = self.rest_of_text();
        self.skip(self.rest().len());
        let mut found = Vec::new();
        for (at, part) in parts(text) {
            found.extend(self.found(part, start + at, &place)?);
        }
        Ok(Seen::Opened { place, found })
    }

    /// What one part says was found.
    fn found(&self, said: &str, start: usize, place: &str) -> Heard<Vec<Found>> {
        let (plain, bad) = plainly(said);
        if !self.names_a_conductor(&plain) {
            let span = start..start + said.trim_end().len();
            let problem =
                WordsProblem::new(span, said, "of which conductor, and where in the box?");
            return Err(self.joints_of(problem, place, None, bad));
        }
        let here = format!("{plain} at {}", speak::name(place));
        let edits = self.edits(&plain).or_else(|problem| {
            let asks_where = problem.message == AT_WHICH_PLACE;
            // The box is known: what is still missing is which of its joints.
            self.edits(&here).map_err(|there| if asks_where { there } else { problem })
        });
        let edits = edits.map_err(|mut problem| {
            problem.span.end = problem.span.end.min(said.len());
            problem.span.start = problem.span.start.min(problem.span.end);
            problem.span = start + problem.span.start..start + problem.span.end;
            problem.example = problem.example.map(|example| format!("opened {place}: {example}"));
            let spoken = tokens(&plain);
            let conductor = spoken.iter().find_map(|token| lexicon::conductor(token.text));
            let opens =
                |token: &Token<'_>| lexicon::word(token.text) == Some(Word::Verb(Verb::Open));
            if spoken.iter().any(opens) {
                problem.example = self.joints_of(problem.clone(), place, conductor, bad).example;
            }
            problem
        })?;
        let whole = start..start + said.trim_end().len();
        let found = edits.into_iter().map(|edit| {
            let Edit::Fault(fault) = edit else {
                let message = "in a box joints are found, not settings";
                return Err(WordsProblem::new(whole.clone(), said, message).expected(EXAMPLES));
            };
            self.belongs(&fault, place, &whole, said)?;
            Ok(match fault {
                Fault::Open { element, .. } if bad => Found::BadJoint { element },
                fault => Found::Fault(fault),
            })
        });
        found.collect()
    }

    /// Whether anything is named that a joint could be of.
    fn names_a_conductor(&self, said: &str) -> bool {
        let names = |token: &Token<'_>| {
            let known = self.known;
            let spelt = known.spelling(token.text);
            lexicon::conductor(token.text).is_some()
                || known.own_conductor(token.text).is_some()
                || spelt.is_some_and(|name| known.is_address(name))
        };
        let tokens = tokens(said);
        // Whatever has no word that says what is so is answered by the grammar of conditions.
        let says = |token: &Token<'_>| {
            matches!(lexicon::word(token.text), Some(Word::Verb(Verb::Open) | Word::Joint(_)))
        };
        tokens.iter().any(names) || !tokens.iter().any(says)
    }

    /// The same problem with the joints of the box that may be meant, and one of them as a whole
    /// sentence.
    fn joints_of(
        &self,
        mut problem: Problem,
        place: &str,
        conductor: Option<&str>,
        bad: bool,
    ) -> Problem {
        let known = self.known;
        let here = known.listed_joints().filter(|joint| {
            let of = conductor.is_none_or(|said| joint.joint.conductor == said);
            joint.joint.place == place && joint.load.is_none() && of
        });
        // Grounds last: they carry nothing, so that few look burnt.
        let mut here: Vec<_> = here.collect();
        here.sort_by_key(|joint| joint.joint.conductor == "ground");
        let found = here.into_iter().map(|joint| {
            let element = joint.joint.element.clone();
            match bad {
                true => Found::BadJoint { element },
                false => Found::Fault(Fault::Open { element, gap: Gap::NONE }),
            }
        });
        let mut sentences: Vec<String> =
            found.map(|found| tell(known, place, std::slice::from_ref(&found))).collect();
        sentences.dedup();
        problem.example = sentences.first().cloned();
        let begun = format!("opened {}: ", speak::name(place));
        let joints = sentences.iter().map(|said| said.trim_start_matches(&begun).to_owned());
        problem.expected(few(joints))
    }

    fn edits(&self, said: &str) -> Heard<Vec<Edit>> {
        let tokens = tokens(said);
        words::edits_of(self.known, &[&tokens], said).map_err(|problems| {
            let none = || WordsProblem::new(0..said.len(), said, "this was not understood");
            problems.into_iter().next().map_or_else(none, Box::new)
        })
    }

    /// A joint is in the box that was opened.
    fn belongs(
        &self,
        fault: &Fault,
        place: &str,
        span: &std::ops::Range<usize>,
        said: &str,
    ) -> Heard<()> {
        let (Fault::Open { element, .. }
        | Fault::Resistance { element, .. }
        | Fault::Glowing { element }) = fault
        else {
            return Ok(());
        };
        match self.known.circuit.joint_of_element(element) {
            Some(joint) if joint.place != place => {
                let message = format!("that joint is in {}, not in {place}", joint.place);
                let instead = format!("opened {}", joint.place);
                Err(WordsProblem::new(span.clone(), said, message).expected([instead]))
            }
            _ => Ok(()),
        }
    }
}

const EXAMPLES: [&str; 3] =
    ["neutral loose at kiln, line side", "neutral open at kiln, line side", "nothing found"];

/// The text with `loose` and its like put as open, bytes kept in place, and whether there were
/// any.
fn plainly(said: &str) -> (String, bool) {
    let mut plain = said.to_owned();
    let mut bad = false;
    for token in tokens(said).iter().filter(|token| token.kind == TokenKind::Word) {
        if let Some((word, open)) =
            BAD.iter().find(|(word, _)| token.text.eq_ignore_ascii_case(word))
        {
            bad = true;
            plain.replace_range(token.span.clone(), &format!("{open:width$}", width = word.len()));
        }
        if let Some((word, known)) =
            CALLED.iter().find(|(word, _)| token.text.eq_ignore_ascii_case(word))
        {
            plain.replace_range(token.span.clone(), &format!("{known:width$}", width = word.len()));
        }
    }
    let parted = |word: &str| PARTED.iter().any(|known| word.eq_ignore_ascii_case(known));
    let words = tokens(said);
    for (at, token) in words.iter().enumerate().filter(|(_, token)| parted(token.text)) {
        let open = format!("{:width$}", "open", width = token.span.len());
        plain.replace_range(token.span.clone(), &open);
        let from = words
            .get(at + 1)
            .filter(|next| PARTED_FROM.iter().any(|known| next.text.eq_ignore_ascii_case(known)));
        if let Some(from) = from {
            plain.replace_range(from.span.clone(), &" ".repeat(from.span.len()));
            bad = from.text.eq_ignore_ascii_case("loose");
        }
    }
    (plain, bad)
}

/// What is found, one by one: an `and` parts two findings that both say what is so.
fn parts(text: &str) -> Vec<(usize, &str)> {
    let tokens = tokens(text);
    let says = |tokens: &[Token<'_>]| {
        tokens.iter().any(|token| {
            let verb =
                matches!(words::lexicon::word(token.text), Some(words::lexicon::Word::Verb(_)));
            let parted = PARTED.iter().any(|word| token.text.eq_ignore_ascii_case(word));
            verb || parted || BAD.iter().any(|(word, _)| token.text.eq_ignore_ascii_case(word))
        })
    };
    let mut found = Vec::new();
    let mut start = 0;
    let mut first = 0;
    for (at, token) in tokens.iter().enumerate() {
        let before = tokens.get(first..at).unwrap_or_default();
        let after = tokens.get(at + 1..).unwrap_or_default();
        if token.text.eq_ignore_ascii_case("and") && says(before) && says(after) {
            found.extend(text.get(start..token.span.start).map(|part| (start, part)));
            start = token.span.end;
            first = at + 1;
        }
    }
    found.extend(text.get(start..).map(|part| (start, part)));
    found
}

/// What was found in words that are heard as it.
pub(super) fn tell(known: &Known<'_>, place: &str, found: &[Found]) -> String {
    let one = |found: &Found| {
        let (fault, bad) = match found {
            Found::Fault(fault) => (fault.clone(), false),
            Found::BadJoint { element } => {
                (Fault::Open { element: element.clone(), gap: Gap::NONE }, true)
            }
        };
        let condition = Condition { faults: vec![fault], ..Condition::default() };
        let said = words::describe(known.circuit, &condition).join(" and ");
        if bad { said.replacen(" open", " loose", 1) } else { said }
    };
    let said: Vec<String> = found.iter().map(one).collect();
    let said = if said.is_empty() { "nothing found".to_owned() } else { said.join(" and ") };
    format!("opened {}: {said}", speak::name(place))
}
