//! Instrument files: the notation of circuit files, with an instrument of one's own in it.
//!
//! `docs/instruments.md` shows the form. Everything wrong with a file is said in one go, each
//! with its place and what was expected.

use serde::Deserialize;

use super::{BadFigure, Instrument};
use crate::circuit::diagnostic::{Diagnostic, Diagnostics};
use crate::circuit::file::{FileKind, Node, Sink, Value, read_form};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileForm {
    /// Checked by the reader.
    #[serde(rename = "format")]
    _format: u32,
    instruments: Vec<Instrument>,
}

/// Reads an instrument file.
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the text.
///
/// ```
/// let text = r#"(
///     format: 1,
///     instruments: [
///         NonContact(name: "pen", threshold_volt: (40, 70)),
///     ],
/// )"#;
/// let instruments = slotwise::instrument::file::read(text).unwrap();
/// assert_eq!(instruments[0].name(), "pen");
///
/// let said = slotwise::instrument::file::read(&text.replace("(40, 70)", "(70, 40)")).unwrap_err();
/// assert_eq!(said[0].offending(&text.replace("(40, 70)", "(70, 40)")), "(70, 40)");
/// ```
pub fn read(text: &str) -> Result<Vec<Instrument>, Diagnostics> {
    read_form(text, FileKind::Instruments, check).map(|form: FileForm| form.instruments)
}

fn check(form: &FileForm, root: &Node, sink: &mut Sink) {
    if form.instruments.is_empty() {
        let what = "is empty, a file holds at least one instrument".to_owned();
        say(&BadFigure { path: "instruments".to_owned(), what }, root, sink);
    }
    check_listed(&form.instruments, root, sink);
}

/// Says what is wrong with the instruments in the field `instruments` of any file.
pub(crate) fn check_listed(instruments: &[Instrument], root: &Node, sink: &mut Sink) {
    let listed = value_at(root, "instruments");
    for (number, instrument) in instruments.iter().enumerate() {
        let Some(node) = listed.and_then(|list| value_at(list, &number.to_string())) else {
            continue;
        };
        if !is_of_kind(node, instrument) {
            continue;
        }
        for bad in instrument.bad_figures() {
            say(&bad, node, sink);
        }
        if instruments.iter().take(number).any(|other| other.name() == instrument.name()) {
            let what = "is the name of another instrument above".to_owned();
            say(&BadFigure { path: "name".to_owned(), what }, node, sink);
        }
    }
}

/// Whether it was written as what it was read as, and is no stand-in for something unknown.
fn is_of_kind(node: &Node, instrument: &Instrument) -> bool {
    match &node.value {
        Value::Fields { name: Some(name), .. } | Value::Items { name: Some(name), .. } => {
            name.text == instrument.kind()
        }
        _ => false,
    }
}

/// Says it where it stands. What does not stand there was missing, and that has been said.
fn say(bad: &BadFigure, within: &Node, sink: &mut Sink) {
    let Some(node) = value_at(within, &bad.path) else { return };
    let field = bad.path.rsplit('.').next().unwrap_or_default();
    let message = format!("`{field}` {}", bad.what);
    sink.say(Diagnostic::error("bad-figure", message, node.span.clone()));
}

/// The value at the end of a path of fields and numbers of members.
pub(crate) fn value_at<'n>(root: &'n Node, path: &str) -> Option<&'n Node> {
    path.split('.').try_fold(root, |node, step| match &node.value {
        Value::List(items) => items.get(step.parse::<usize>().ok()?),
        Value::Items { items, .. } => match step.parse::<usize>() {
            Ok(number) => items.get(number),
            // The one value in the brackets of its word: `Voltmeter((...))`.
            Err(_) => field(items.first()?, step),
        },
        _ => field(node, step),
    })
}

fn field<'n>(node: &'n Node, name: &str) -> Option<&'n Node> {
    let Value::Fields { fields, .. } = &node.value else { return None };
    fields.iter().find(|field| field.name.text == name).map(|field| &field.value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_figure_is_found_in_whichever_brackets_it_was_written() {
        for text in [
            r#"(format: 1, instruments: [NonContact(name: "pen", threshold_volt: (70, 40))])"#,
            r#"(format: 1, instruments: [NonContact((name: "pen", threshold_volt: (70, 40)))])"#,
        ] {
            let said = read(text).unwrap_err();
            assert_eq!(said.len(), 1, "{said:?}");
            assert_eq!(said[0].offending(text), "(70, 40)");
        }
    }
}
