//! Circuit files: Rusty Object Notation, read into the explicit parts of a [`Description`].
//!
//! `docs/circuit-file.md` teaches the form and `docs/defaults.md` lists every default.
//! Everything wrong with a file is said in one go, each with its place, what was expected and
//! what was probably meant: see [`Diagnostic`].

use super::Description;
use super::diagnostic::{Diagnostic, Severity};

mod expand;
mod form;
mod hints;
mod lexer;
pub mod limits;
mod near;
mod parser;
mod placed;
mod shape;
mod sink;
mod tree;

use form::FileForm;
use limits::{BYTES_MAX, PROBLEMS_MAX};
use sink::Sink;
use tree::{Node, Value};

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
/// let file = slotwise::circuit::file::read_description(text).unwrap();
/// assert_eq!(file.description.cables.len(), 2);
/// assert_eq!(file.conditions[0].sentences[0].0, "neutral open at kiln, line side");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct DescribedFile {
    /// The parts.
    pub description: Description,
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

/// Reads a circuit file into its parts.
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the text; at least one is an error.
pub fn read_description(text: &str) -> Result<DescribedFile, Vec<Diagnostic>> {
    let mut sink = Sink::default();
    let described = described(text, &mut sink);
    let failed = sink.has_error();
    let said = in_one_go(sink.into_diagnostics());
    match described {
        Some((description, conditions)) if !failed => {
            Ok(DescribedFile { description, remarks: said, conditions })
        }
        _ => Err(said),
    }
}

fn described(text: &str, sink: &mut Sink) -> Option<(Description, Vec<NamedSentences>)> {
    if text.len() > BYTES_MAX {
        let message = format!("a circuit file has at most {BYTES_MAX} bytes");
        sink.say(Diagnostic::error("file-too-big", message, 0..0));
        return None;
    }
    let root = parser::parse(text, sink)?;
    if !format_known(&root, sink) {
        return None;
    }
    let form: FileForm = shape::read(&root, sink)?;
    let description = expand::expand(&form, sink);
    let conditions = form
        .conditions
        .iter()
        .map(|condition| NamedSentences {
            name: condition.name.value.clone(),
            sentences: condition
                .sentences
                .iter()
                .filter(|sentence| sentence.written())
                .map(|sentence| (sentence.value.clone(), sentence.span.clone()))
                .collect(),
        })
        .collect();
    Some((description, conditions))
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
    let newer = number > f64::from(FORMAT);
    let message = if newer {
        format!("this file has format {number}, made for a newer version of this program")
    } else {
        format!("there is no format {number}")
    };
    sink.say(
        Diagnostic::error("unknown-format", message, format.value.span.clone())
            .with_expected(format!("`format: {FORMAT}`")),
    );
    false
}

/// At most so many problems, and a note of how many more there are.
fn in_one_go(mut said: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let more = said.len().saturating_sub(PROBLEMS_MAX);
    if more > 0 {
        // Errors before remarks, if not all can be shown.
        said.sort_by_key(|d| (d.severity != Severity::Error, d.span().start));
        said.truncate(PROBLEMS_MAX);
        said.sort_by_key(|d| d.span().start);
        let end = said.last().map_or(0..0, Diagnostic::span);
        said.push(Diagnostic::note("more", format!("and {more} more like these"), end));
    }
    said
}
