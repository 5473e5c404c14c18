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
mod known;
pub(crate) mod lexer;
mod lexicon;
mod phrase;
mod problem;
mod resolve;
mod sentence;
mod speak;
pub(crate) mod suggest;

pub use describe::describe;
pub use problem::WordsProblem;

use known::Known;
use lexer::{Token, TokenKind, tokens};
use problem::Problem;

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
/// use slotwise::circuit::{Circuit, Description, Electrode, Supply};
/// use slotwise::condition::words::{self, Edit};
/// use slotwise::condition::{Fault, Gap};
/// let mut description = Description { frequency_hz: 60.0, ..Description::default() };
/// description.supply.electrodes.push(Electrode {
///     id: "panel".into(),
///     node: "panel.neutral".into(),
///     resistance_ohm: 25.0,
/// });
/// let circuit = Circuit::new(description).unwrap();
/// let edits = words::parse(&circuit, "electrode lost").unwrap();
/// let lost = Fault::Open { element: "electrode:panel".into(), gap: Gap::NONE };
/// assert_eq!(edits, [Edit::Fault(lost)]);
///
/// let problems = words::parse(&circuit, "electrode loost").unwrap_err();
/// assert_eq!(problems[0].suggestions, ["lost"]);
/// ```
pub fn parse(circuit: &Circuit, text: &str) -> Result<Vec<Edit>, Vec<WordsProblem>> {
    if text.len() > TEXT_BYTES_MAX {
        let message = format!("more than {TEXT_BYTES_MAX} bytes: say it in several texts");
        return Err(vec![*WordsProblem::new(0..0, "", message)]);
    }
    let known = Known::of(circuit);
    let tokens = tokens(text);
    let sentences: Vec<&[Token<'_>]> = sentences(text, &tokens);
    if sentences.len() > SENTENCES_MAX {
        let message = format!("more than {SENTENCES_MAX} sentences: say it in several texts");
        return Err(vec![*WordsProblem::new(0..0, "", message)]);
    }
    let mut said = Vec::new();
    let mut problems = Vec::new();
    for tokens in sentences {
        match read(&known, tokens, text) {
            Ok(edits) => said.push(edits),
            Err(problem) => problems.push(*example::with(&known, tokens, text, problem)),
        }
    }
    let combined = combine::combine(circuit, text, said);
    match combined {
        Ok(edits) if problems.is_empty() => Ok(edits),
        Ok(_) => Err(problems),
        Err(contradictions) => {
            problems.extend(contradictions);
            problems.sort_by_key(|problem| problem.span.start);
            Err(problems)
        }
    }
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
    /// use slotwise::circuit::{Circuit, Description, Load, LoadKind};
    /// use slotwise::condition::{Condition, LoadState};
    /// let mut description = Description { frequency_hz: 60.0, ..Description::default() };
    /// description.loads.push(Load {
    ///     id: "heater".into(),
    ///     between: ("c1.hot".into(), "panel.neutral".into()),
    ///     kind: LoadKind::Resistive { rated_watt: 1500.0, rated_volt: 120.0 },
    ///     on: true,
    ///     plug_links: vec![],
    ///     frame: None,
    /// });
    /// let circuit = Circuit::new(description).unwrap();
    /// let mut condition = Condition::default();
    /// condition.say(&circuit, "heater off").unwrap();
    /// assert_eq!(condition.loads["heater"], LoadState::Off);
    /// ```
    pub fn say(&mut self, circuit: &Circuit, text: &str) -> Result<(), Vec<WordsProblem>> {
        for edit in parse(circuit, text)? {
            edit.apply(self);
        }
        Ok(())
    }
}

/// The edits of one sentence and the bytes it covers.
struct Understood {
    edits: Vec<Edit>,
    span: Range<usize>,
    /// It is about all loads and gives way to what is said of one.
    general: bool,
}

/// Tokens of each sentence: `;` and line ends part them.
fn sentences<'s, 't>(text: &str, tokens: &'s [Token<'t>]) -> Vec<&'s [Token<'t>]> {
    let mut found = Vec::new();
    let mut start = 0;
    for (at, token) in tokens.iter().enumerate() {
        let before = at.checked_sub(1).and_then(|at| tokens.get(at));
        let new_line = before.is_some_and(|before| {
            text.get(before.span.end..token.span.start).is_some_and(|gap| gap.contains('\n'))
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

fn read(known: &Known<'_>, tokens: &[Token<'_>], text: &str) -> Result<Understood, Problem> {
    let (phrases, problem) = phrase::phrases(known, tokens);
    if let Some(problem) = problem {
        return Err(problem);
    }
    let sentence = grammar::sentence(known, &phrases, text)?;
    let general = matches!(sentence, sentence::Sentence::AllLoads { .. });
    let edits = resolve::Resolver { known, text }.edits(&sentence)?;
    let start = tokens.first().map_or(0, |token| token.span.start);
    let end = tokens.last().map_or(start, |token| token.span.end);
    Ok(Understood { edits, span: start..end, general })
}

/// The edits of a text that is one sentence.
fn edits_of_sentence(known: &Known<'_>, text: &str) -> Result<Vec<Edit>, Problem> {
    read(known, &tokens(text), text).map(|understood| understood.edits)
}
