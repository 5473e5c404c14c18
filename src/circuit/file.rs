//! Circuit files: Rusty Object Notation, read into a [`Circuit`].
//!
//! `docs/circuit-file.md` teaches the form and `docs/defaults.md` lists every default.
//! Everything wrong with a file is said in one go, each with its place, what was expected and
//! what was probably meant: see [`Diagnostic`].
//!
//! The reader is our own: it keeps the place of every value, and goes on after a mistake where
//! the `ron` crate stops. That crate is its referee in the tests.

use super::Circuit;
use super::diagnostic::{Diagnostic, Diagnostics};

mod expand;
pub(crate) mod figure;
mod form;
mod hints;
mod kind;
mod lexer;
pub mod limits;
mod meant;
mod near;
mod parser;
mod placed;
#[cfg(test)]
mod referee;
mod sentences;
mod shape;
mod sink;
mod tree;
mod wrong;

pub use sentences::{CONDITION_BYTES_MAX, read_sentences};

use form::{ConditionForm, FileForm};
use limits::BYTES_MAX;
use serde::de::DeserializeOwned;
use tree::Span;

pub(crate) use form::GaugeName;
pub(crate) use kind::FileKind;
pub(crate) use near::with_nearest;
pub(crate) use placed::Placed;
pub(crate) use shape::BAND;
pub(crate) use sink::Sink;
pub(crate) use tree::{Node, Value};

/// The version of the form that this program reads, and the only one so far.
pub const FORMAT: u32 = 1;

/// What a circuit file says, with everything it does not say filled in.
///
/// ```
/// let text = r#"(
///     format: 1,
///     name: "Pottery studio",
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [
///         (id: "door", from: "c1", feet: 30),
///         (id: "kiln", from: "door", feet: 12),
///     ],
///     conditions: [(name: "cold kiln", sentences: ["neutral open at kiln, line side"])],
/// )"#;
/// let file = slotwise::circuit::file::read(text).unwrap();
/// assert!(file.circuit.terminal("kiln.hot").is_ok());
/// assert_eq!(file.conditions[0].sentences[0].0, "neutral open at kiln, line side");
/// ```
#[derive(Clone, Debug)]
pub struct CircuitFile {
    /// The circuit.
    pub circuit: Circuit,
    /// Warnings and notes; no errors.
    pub remarks: Vec<Diagnostic>,
    /// Named conditions, in words; their grammar is another room's.
    pub conditions: Vec<NamedSentences>,
}

/// A named condition as written.
///
/// ```
/// use slotwise::circuit::file::NamedSentences;
/// let sentences = vec![("breaker c1 off".to_owned(), 0..16)];
/// let condition = NamedSentences { name: "c1 off".into(), sentences };
/// assert_eq!(condition.sentences.len(), 1);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedSentences {
    /// Its name.
    pub name: String,
    /// Its sentences, each with the bytes of the file it stands in, quotes included.
    pub sentences: Vec<(String, std::ops::Range<usize>)>,
}

/// Reads a circuit file.
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the text; at least one is an error.
///
/// ```
/// let said = slotwise::circuit::file::read("(format: 1, nmae: \"shed\")").unwrap_err();
/// assert_eq!(said[0].message, "there is no field `nmae` here");
/// assert_eq!(said[0].help.as_deref(), Some("did you mean `name`?"));
/// ```
pub fn read(text: &str) -> Result<CircuitFile, Diagnostics> {
    let mut sink = Sink::default();
    let file = read_into(text, &mut sink);
    let failed = sink.has_error();
    let remarks = sink.into_diagnostics();
    match file {
        Some((circuit, conditions)) if !failed => Ok(CircuitFile { circuit, remarks, conditions }),
        _ => Err(Diagnostics::new(remarks, text)),
    }
}

/// JSON Schema of the form of a circuit file: every field with its meaning. It describes the
/// fields, not the notation; `docs/circuit-file.schema.json` is a copy.
///
/// ```
/// let schema = slotwise::circuit::file::json_schema();
/// assert!(schema.contains("\"feet_between\""));
/// ```
#[cfg(feature = "schema")]
pub fn json_schema() -> String {
    let schema = schemars::schema_for!(FileForm);
    // A schema is made of strings, numbers and lists, which serde_json can always write.
    serde_json::to_string_pretty(&schema).unwrap_or_default()
}

fn read_into(text: &str, sink: &mut Sink) -> Option<(Circuit, Vec<NamedSentences>)> {
    let (form, _): (FileForm, Node) = form_of(text, FileKind::Circuit, sink)?;
    let description = expand::expand(&form, sink);
    if sink.has_error() {
        return None;
    }
    let circuit = match Circuit::new(description) {
        Ok(circuit) => circuit,
        Err(problems) => {
            wrong::say(&problems, &form, sink);
            return None;
        }
    };
    Some((circuit, named_sentences(&form)))
}

/// Reads a text in the same notation into another form; `check` says what else is wrong.
pub(crate) fn read_form<T: DeserializeOwned>(
    text: &str,
    kind: FileKind,
    check: impl FnOnce(&T, &Node, &mut Sink),
) -> Result<T, Diagnostics> {
    let mut sink = Sink::default();
    let form = form_of(text, kind, &mut sink);
    if let Some((form, root)) = &form {
        check(form, root, &mut sink);
    }
    match form {
        Some((form, _)) if !sink.has_error() => Ok(form),
        _ => Err(Diagnostics::new(sink.into_diagnostics(), text)),
    }
}

fn form_of<T: DeserializeOwned>(text: &str, kind: FileKind, sink: &mut Sink) -> Option<(T, Node)> {
    if text.len() > BYTES_MAX {
        let message = format!("a file has at most {BYTES_MAX} bytes");
        sink.say(Diagnostic::error("file-too-big", message, 0..0));
        return None;
    }
    let root = root_of(text, kind, sink)?;
    let form = shape::read(&root, sink);
    sink.fold(|said| said.help.as_deref() == Some(shape::IN_QUOTES), REPEATED_MAX);
    let form = form?;
    sink.note_damage(&members(&root));
    Some((form, root))
}

/// The tree of a text that is a file of this kind, of the format known.
fn root_of(text: &str, kind: FileKind, sink: &mut Sink) -> Option<Node> {
    if let Some(said) = kind::other_notation(text, kind) {
        sink.say(said);
        return None;
    }
    let root = parser::parse(text, sink);
    if let Some(said) = root.as_ref().and_then(|root| kind::other_kind(root, kind)) {
        *sink = Sink::default();
        sink.say(said);
        return None;
    }
    for code in
        ["braces", "quoted-field", "equals-sign", "semicolon", "wrong-quotes", "hash-comment"]
    {
        sink.fold(|said| said.code == code, 1);
    }
    for code in ["missing-comma", "missing-colon", "field-expected", "text-without-quotes"] {
        sink.fold(|said| said.code == code, REPEATED_MAX);
    }
    root.filter(|root| format_known(root, sink))
}

/// So many slips of one kind are shown, each in its place; of more it is a habit.
const REPEATED_MAX: usize = 5;

/// The parts a file is made of: the members of its lists, and its fields that are no lists.
fn members(root: &Node) -> Vec<Span> {
    let Value::Fields { fields, .. } = &root.value else { return Vec::new() };
    let mut spans: Vec<Span> = Vec::new();
    for field in fields {
        match &field.value.value {
            Value::List(items) => spans.extend(items.iter().map(|item| item.span.clone())),
            _ => spans.push(field.value.span.clone()),
        }
    }
    spans
}

fn named_sentences(form: &FileForm) -> Vec<NamedSentences> {
    let sentences = |condition: &ConditionForm| {
        condition.sentences.iter().map(|said| (said.value.clone(), said.span.clone())).collect()
    };
    form.conditions
        .iter()
        .map(|condition| NamedSentences {
            name: condition.name.value.clone(),
            sentences: sentences(condition),
        })
        .collect()
}

/// Whether the file's version is the one known; a newer one is not read further, since its
/// fields would all be called unknown.
fn format_known(root: &Node, sink: &mut Sink) -> bool {
    let Value::Fields { fields, .. } = &root.value else { return true };
    let Some(format) = fields.iter().find(|field| field.name.text == "format") else {
        return true;
    };
    let Value::Number(number) = format.value.value else { return true };
    if (number - f64::from(FORMAT)).abs() <= 0.0 {
        return true;
    }
    let said = figure::readable(number);
    let newer = number > f64::from(FORMAT);
    let message = if newer {
        format!("this file has format {said}, made for a newer version of this program")
    } else {
        format!("there is no format {said}")
    };
    sink.say(
        Diagnostic::error("unknown-format", message, format.value.span.clone())
            .with_expected(format!("`format: {FORMAT}`")),
    );
    false
}
