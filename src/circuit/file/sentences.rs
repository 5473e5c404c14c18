//! A condition file as written: a name and sentences, in the notation of circuit files.

use serde::Deserialize;

use crate::circuit::diagnostic::{Diagnostic, Diagnostics};

use super::form::Text;
use super::sink::Sink;
use super::{FileKind, NamedSentences, placed, root_of, shape};

/// Largest condition file in bytes.
pub const CONDITION_BYTES_MAX: usize = 1024 * 1024;

/// A condition of a circuit that is in a file of its own.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, rename = "Condition")]
struct ConditionFileForm {
    /// Version of the form; this program reads 1.
    format: placed::Placed<u32>,
    /// What the condition is called.
    name: Text,
    /// What is so in it, in words, as "neutral open at kiln, line side".
    sentences: Vec<Text>,
}

/// Reads a condition file; what its sentences mean is for [`crate::condition::file`].
///
/// # Errors
///
/// Everything that is wrong with it as a file, in the order of the text.
///
/// ```
/// let text = r#"(format: 1, name: "cold kiln", sentences: ["neutral open at kiln"])"#;
/// let named = slotwise::circuit::file::read_sentences(text).unwrap();
/// assert_eq!(named.name, "cold kiln");
/// assert_eq!(named.sentences[0].0, "neutral open at kiln");
/// ```
pub fn read_sentences(text: &str) -> Result<NamedSentences, Diagnostics> {
    let mut sink = Sink::default();
    let form = read_form(text, &mut sink);
    match form {
        Some(form) if !sink.has_error() => Ok(NamedSentences {
            name: form.name.value,
            sentences: form.sentences.into_iter().map(|said| (said.value, said.span)).collect(),
        }),
        _ => Err(Diagnostics::new(sink.into_diagnostics(), text)),
    }
}

fn read_form(text: &str, sink: &mut Sink) -> Option<ConditionFileForm> {
    if text.len() > CONDITION_BYTES_MAX {
        let message = format!("a condition file has at most {CONDITION_BYTES_MAX} bytes");
        sink.say(Diagnostic::error("file-too-big", message, 0..0));
        return None;
    }
    shape::read(&root_of(text, FileKind::Condition, sink)?, sink)
}
