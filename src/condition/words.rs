//! A condition in words, and back.
//!
//! One small closed grammar that reads as the trade speaks: `neutral open at kiln, line side`,
//! `breaker c1 off`. Every form, with an example, is in `docs/condition-words.md`. What is
//! outside the grammar is answered: where it went wrong, what could stand there, and the
//! nearest sentence that means something.
//!
//! ```text
//! text -> tokens -> phrases -> Sentence (what was said) -> Edit (what it does to a Condition)
//! ```
//!
//! Only the last step asks the circuit. [`describe`] goes the other way.

use std::ops::Range;

use crate::circuit::Circuit;

use super::{Attachment, Condition, Fault, LoadState, SwitchPosition};

mod combine;
mod describe;
mod example;
mod grammar;
pub(crate) mod known;
pub(crate) mod lexer;
pub(crate) mod lexicon;
mod phrase;
pub(crate) mod problem;
mod resolve;
mod sentence;
pub(crate) mod speak;
pub(crate) mod suggest;

pub use describe::describe;
pub(crate) use phrase::{few, scaled};
pub use problem::WordsProblem;
pub(crate) use resolve::bridge_id;
pub(crate) use resolve::settings::with_magnitude;

use known::Known;
use lexer::{Token, TokenKind, tokens};
use problem::Problem;
use sentence::Sentence;

/// Longest text that is read, in bytes.
pub const TEXT_BYTES_MAX: usize = 16 * 1024;

/// Most sentences that are read in one text.
pub const SENTENCES_MAX: usize = 256;

/// Resistance of a bridge said without one, in ohms: a short wire under two good terminals
/// of half a milliohm each (`docs/model.md`).
pub const SOLID_BRIDGE_OHM: f64 = 0.002;

/// One thing that a sentence does to a condition.
///
/// ```
/// use slotwise::condition::words::Edit;
/// use slotwise::condition::{Condition, LoadState};
/// let mut condition = Condition::default();
/// Edit::Load { name: "kiln".into(), state: LoadState::On }.apply(&mut condition);
/// assert_eq!(condition.loads["kiln"], LoadState::On);
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Edit {
    /// A fault is there.
    Fault(Fault),
    /// A breaker or a protective device is closed or not.
    Breaker {
        /// The branch circuit or the device.
        name: String,
        /// Closed.
        closed: bool,
    },
    /// A switch stands in a position.
    Switch {
        /// The switch.
        name: String,
        /// Its position.
        position: SwitchPosition,
    },
    /// A load is in a state.
    Load {
        /// The load.
        name: String,
        /// Its state.
        state: LoadState,
    },
    /// Something plain is attached.
    Attach(Attachment),
}

impl Edit {
    /// Makes the edit. What is set is set anew; a fault or an attachment is added.
    pub fn apply(self, condition: &mut Condition) {
        match self {
            Self::Fault(fault) => condition.faults.push(fault),
            Self::Breaker { name, closed } => {
                condition.breakers.insert(name, closed);
            }
            Self::Switch { name, position } => {
                condition.switches.insert(name, position);
            }
            Self::Load { name, state } => {
                condition.loads.insert(name, state);
            }
            Self::Attach(attachment) => condition.attached.push(attachment),
        }
    }
}

/// Reads sentences, parted by `;` or by line ends, as edits of a condition of this circuit.
///
/// Saying the same thing twice says it once. Sentences of one text that contradict each
/// other are a problem, whichever comes first; only a sentence about all loads gives way to
/// one about a load by name.
///
/// # Errors
///
/// Every problem of the text: one for each sentence that means nothing, and the
/// contradictions between those that do.
///
/// ```
/// use slotwise::condition::words::{self, Edit};
/// use slotwise::condition::{Fault, Gap};
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let edits = words::parse(&studio, "neutral open at kiln, line side").unwrap();
/// let element = "contact:door-kiln.b.neutral".into();
/// assert_eq!(edits, [Edit::Fault(Fault::Open { element, gap: Gap::NONE })]);
///
/// let problems = words::parse(&studio, "neutral open at kilm").unwrap_err();
/// assert_eq!(problems[0].suggestions, ["kiln"]);
/// assert_eq!(problems[0].span, 16..20);
/// ```
pub fn parse(circuit: &Circuit, text: &str) -> Result<Vec<Edit>, Vec<WordsProblem>> {
    parse_all(circuit, &[text])
        .map_err(|problems| problems.into_iter().map(|(_, problem)| problem).collect())
}

/// Reads several texts as one: contradictions between them are found too. The bounds on
/// length hold for each of them.
///
/// # Errors
///
/// As [`parse`], each problem with the number of its text, from zero.
///
/// ```
/// use slotwise::condition::words;
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let problems = words::parse_all(&studio, &["breaker c1 off", "breaker c1 on"]).unwrap_err();
/// let (text, problem) = &problems[0];
/// assert_eq!(*text, 1);
/// assert!(problem.message.contains("contradicts `breaker c1 off`"));
/// ```
pub fn parse_all(
    circuit: &Circuit,
    texts: &[&str],
) -> Result<Vec<Edit>, Vec<(usize, WordsProblem)>> {
    let known = Known::of(circuit);
    let mut said = Vec::new();
    let mut problems = Vec::new();
    for (number, text) in texts.iter().enumerate() {
        let tokens = if text.len() > TEXT_BYTES_MAX { Vec::new() } else { tokens(text) };
        let sentences = sentences(text, &tokens);
        if let Some(problem) = too_long(text, sentences.len()) {
            problems.push((number, problem));
            continue;
        }
        for tokens in sentences {
            match read(&known, tokens, text) {
                Ok(edits) => said.push(Understood { number, ..edits }),
                Err(problem) => {
                    problems.push((number, *example::with(&known, tokens, text, problem)));
                }
            }
        }
    }
    match combine::combine(circuit, said) {
        Ok(edits) if problems.is_empty() => Ok(edits),
        Ok(_) => Err(problems),
        Err(contradictions) => {
            problems.extend(contradictions);
            problems.sort_by_key(|(number, problem)| (*number, problem.span.start));
            Err(problems)
        }
    }
}

fn too_long(text: &str, sentences: usize) -> Option<WordsProblem> {
    let what = match () {
        () if text.len() > TEXT_BYTES_MAX => format!("more than {TEXT_BYTES_MAX} bytes"),
        () if sentences > SENTENCES_MAX => format!("more than {SENTENCES_MAX} sentences"),
        () => return None,
    };
    Some(*WordsProblem::new(0..0, "", format!("{what}: say it in several texts")))
}

impl Condition {
    /// Adds what is said to this condition. What was set before (a breaker, a switch, a load)
    /// is set anew by a later call; within one text contradictions are refused.
    ///
    /// # Errors
    ///
    /// As [`words::parse`](parse); the condition is then unchanged.
    ///
    /// ```
    /// use slotwise::condition::{Condition, LoadState};
    /// let studio = slotwise::circuit::file::read(
    ///     r#"(
    ///     format: 1,
    ///     circuits: [(id: "c1", amperes: 20)],
    ///     boxes: [(id: "door", from: "c1", feet: 30)],
    ///     loads: [(id: "heater", at: "door", kind: Resistive(watts: 1500))],
    /// )"#,
    /// )
    /// .unwrap()
    /// .circuit;
    /// let mut condition = Condition::default();
    /// condition.say(&studio, "heater off").unwrap();
    /// assert_eq!(condition.loads["heater"], LoadState::Off);
    /// ```
    pub fn say(&mut self, circuit: &Circuit, text: &str) -> Result<(), Vec<WordsProblem>> {
        for edit in parse(circuit, text)? {
            edit.apply(self);
        }
        Ok(())
    }
}

/// The edits of one sentence and where it stands.
struct Understood<'t> {
    edits: Vec<Edit>,
    /// The sentence as written.
    written: &'t str,
    span: Range<usize>,
    /// Which of the texts.
    number: usize,
    breadth: Breadth,
}

/// Of how much a sentence speaks: of loads it gives way to one that speaks of less.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Breadth {
    Named,
    OfCircuit,
    All,
}

/// Tokens of each sentence: `;` and line ends part them.
pub(crate) fn sentences<'s, 't>(text: &str, tokens: &'s [Token<'t>]) -> Vec<&'s [Token<'t>]> {
    let mut found = Vec::new();
    let mut start = 0;
    for (at, token) in tokens.iter().enumerate() {
        let before = at.checked_sub(1).and_then(|at| tokens.get(at));
        let new_line = before.is_some_and(|before| {
            text.get(before.span.end..token.span.start)
                .is_some_and(|gap| gap.contains(['\n', '\r']))
        });
        if new_line {
            found.extend(tokens.get(start..at));
            start = at;
        }
        if token.kind == TokenKind::Semicolon {
            found.extend(tokens.get(start..at));
            start = at + 1;
        }
    }
    found.extend(tokens.get(start..));
    found.retain(|sentence| !sentence.is_empty());
    found
}

fn read<'t>(
    known: &Known<'_>,
    tokens: &[Token<'t>],
    text: &'t str,
) -> Result<Understood<'t>, Problem> {
    let (phrases, problem) = phrase::phrases(known, tokens);
    if let Some(problem) = problem {
        return Err(problem);
    }
    let sentences = grammar::sentences(known, &phrases, text)?;
    let breadth = sentences.iter().map(|sentence| match sentence {
        Sentence::AllLoads { of: None, .. } => Breadth::All,
        Sentence::AllLoads { of: Some(_), .. } => Breadth::OfCircuit,
        _ => Breadth::Named,
    });
    let breadth = breadth.max().unwrap_or(Breadth::Named);
    let resolver = resolve::Resolver { known, text };
    let each = sentences.iter().map(|sentence| resolver.edits(sentence));
    let edits = each.collect::<Result<Vec<_>, _>>()?.concat();
    let start = tokens.first().map_or(0, |token| token.span.start);
    let end = tokens.last().map_or(start, |token| token.span.end);
    let written = text.get(start..end).unwrap_or_default();
    Ok(Understood { edits, written, span: start..end, number: 0, breadth })
}

/// The edits of sentences that are parts of a longer text, given by their tokens.
pub(crate) fn edits_of<'t>(
    known: &Known<'_>,
    sentences: &[&[Token<'t>]],
    text: &'t str,
) -> Result<Vec<Edit>, Vec<WordsProblem>> {
    let mut said = Vec::new();
    let mut problems = Vec::new();
    for tokens in sentences {
        match read(known, tokens, text) {
            Ok(understood) => said.push(understood),
            Err(problem) => problems.push(*example::with(known, tokens, text, problem)),
        }
    }
    match combine::combine(known.circuit, said) {
        Ok(edits) if problems.is_empty() => Ok(edits),
        Ok(_) => Err(problems),
        Err(contradictions) => {
            problems.extend(contradictions.into_iter().map(|(_, problem)| problem));
            Err(problems)
        }
    }
}

/// The edits of a text that is one sentence.
fn edits_of_sentence(known: &Known<'_>, text: &str) -> Result<Vec<Edit>, Problem> {
    read(known, &tokens(text), text).map(|understood| understood.edits)
}
