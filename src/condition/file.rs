//! Conditions in files: those named in a circuit file, and those in a file of their own.
//!
//! A condition file is written in the notation of circuit files:
//!
//! ```ron
//! (
//!     format: 1,
//!     name: "cold kiln",
//!     sentences: [
//!         "neutral open at kiln, line side",
//!         "heater on",
//!     ],
//! )
//! ```

use std::fmt::Write as _;
use std::ops::Range;

use crate::circuit::Circuit;
use crate::circuit::diagnostic::{Diagnostic, Diagnostics};
use crate::circuit::file::{self, CircuitFile, NamedSentences};

use super::Condition;
use super::words::{self, WordsProblem};

/// A condition and what it is called.
///
/// ```
/// use slotwise::condition::{Condition, file::NamedCondition};
/// let sound = NamedCondition { name: "as built".into(), condition: Condition::default() };
/// assert!(sound.condition.faults.is_empty());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct NamedCondition {
    /// Its name.
    pub name: String,
    /// The condition.
    pub condition: Condition,
}

/// Reads a condition file of this circuit.
///
/// # Errors
///
/// Everything that is wrong with it, as a file or as words, in the order of the text.
///
/// ```
/// use slotwise::condition::file;
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let text = r#"(format: 1, name: "cold kiln", sentences: ["neutral open at kiln, line side"])"#;
/// let cold = file::read(&studio, text).unwrap();
/// assert_eq!(cold.condition.faults.len(), 1);
///
/// let text = r#"(format: 1, name: "cold kiln", sentences: ["neutral open at kilm"])"#;
/// let said = file::read(&studio, text).unwrap_err();
/// assert_eq!(said[0].offending(text), "kilm");
/// ```
pub fn read(circuit: &Circuit, text: &str) -> Result<NamedCondition, Diagnostics> {
    understand(circuit, text, file::read_sentences(text)?)
}

/// The conditions named in a circuit file, whose text is wanted to say where in it something
/// is wrong.
///
/// # Errors
///
/// Everything that is wrong with the words of any of them, in the order of the text.
///
/// ```
/// let text = r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30)],
///     conditions: [(name: "off", sentences: ["breaker c1 off"])],
/// )"#;
/// let file = slotwise::circuit::file::read(text).unwrap();
/// let conditions = slotwise::condition::file::of_circuit(&file, text).unwrap();
/// assert!(!conditions[0].condition.breakers["c1"]);
/// ```
pub fn of_circuit(file: &CircuitFile, text: &str) -> Result<Vec<NamedCondition>, Diagnostics> {
    let mut conditions = Vec::new();
    let mut problems = Vec::new();
    for named in &file.conditions {
        match understand(&file.circuit, text, named.clone()) {
            Ok(condition) => conditions.push(condition),
            Err(said) => problems.extend(said),
        }
    }
    if problems.is_empty() { Ok(conditions) } else { Err(Diagnostics::new(problems, text)) }
}

/// A condition file that says this condition, one canonical sentence a line.
///
/// ```
/// use slotwise::condition::{Condition, file};
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let mut condition = Condition::default();
/// condition.say(&studio, "c1 off").unwrap();
/// let text = file::write(&studio, "off", &condition);
/// assert!(text.contains("\"breaker c1 off\""));
/// assert_eq!(file::read(&studio, &text).unwrap().condition, condition);
/// ```
pub fn write(circuit: &Circuit, name: &str, condition: &Condition) -> String {
    let mut text = format!("(\n    format: {},\n    name: {},\n", file::FORMAT, quoted(name));
    text.push_str("    sentences: [\n");
    for sentence in words::describe(circuit, condition) {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "        {},", quoted(&sentence));
    }
    text.push_str("    ],\n)\n");
    text
}

pub(crate) fn quoted(text: &str) -> String {
    let escaped = text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n");
    format!("\"{escaped}\"")
}

fn understand(
    circuit: &Circuit,
    text: &str,
    named: NamedSentences,
) -> Result<NamedCondition, Diagnostics> {
    let sentences: Vec<&str> = named.sentences.iter().map(|(said, _)| said.as_str()).collect();
    let edits = words::parse_all(circuit, &sentences).map_err(|problems| {
        let placed = problems.iter().filter_map(|(number, problem)| {
            let (said, span) = named.sentences.get(*number)?;
            Some(problem.diagnostic(place_in(text, span, said, &problem.span)))
        });
        Diagnostics::new(placed.collect(), text)
    })?;
    let mut condition = Condition::default();
    edits.into_iter().for_each(|edit| edit.apply(&mut condition));
    Ok(NamedCondition { name: named.name, condition })
}

/// Bytes of the file for bytes of a sentence; the whole sentence where it is written with
/// escapes, or where the bytes are none.
pub(crate) fn place_in(
    text: &str,
    whole: &Range<usize>,
    said: &str,
    span: &Range<usize>,
) -> Range<usize> {
    let written = text.get(whole.clone()).unwrap_or_default();
    match written.find(said) {
        Some(at) if !span.is_empty() && !said.is_empty() => {
            let start = whole.start + at;
            start + span.start..start + span.end
        }
        _ => whole.clone(),
    }
}

impl WordsProblem {
    /// The problem as one of a file in which it stands at `span`.
    ///
    /// ```
    /// use slotwise::condition::words::parse;
    /// use slotwise::circuit::{Circuit, Description};
    /// let nothing = Circuit::new(Description { frequency_hz: 50.0, ..Description::default() });
    /// let problems = parse(&nothing.unwrap(), "kiln on").unwrap_err();
    /// assert_eq!(problems[0].diagnostic(10..14).code, "condition-words");
    /// ```
    pub fn diagnostic(&self, span: Range<usize>) -> Diagnostic {
        let mut diagnostic = Diagnostic::error("condition-words", self.message.clone(), span);
        if !self.expected.is_empty() {
            diagnostic = diagnostic.with_expected(self.expected.join("; "));
        }
        if let [only] = self.suggestions.as_slice() {
            diagnostic = diagnostic.with_replacement(only.clone());
        }
        let mut help: Vec<String> = Vec::new();
        if !self.suggestions.is_empty() {
            let names: Vec<String> =
                self.suggestions.iter().map(|name| format!("`{name}`")).collect();
            help.push(format!("did you mean {}?", names.join(" or ")));
        }
        if let Some(example) = &self.example {
            help.push(format!("say for example: {example}"));
        }
        if help.is_empty() { diagnostic } else { diagnostic.with_help(help.join(" ")) }
    }
}
