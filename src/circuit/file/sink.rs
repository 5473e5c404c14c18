//! Where everything to be said about one file is gathered, each thing once.

use std::collections::HashSet;

use crate::circuit::diagnostic::{Diagnostic, Severity};

use super::tree::Span;

/// The place of a value that was not in the file; nothing is ever said about it.
pub(crate) const NOWHERE: Span = usize::MAX..usize::MAX;

/// What has been said so far.
#[derive(Debug, Default)]
pub(crate) struct Sink {
    said: Vec<Diagnostic>,
    places: HashSet<(String, usize, usize, String)>,
}

impl Sink {
    /// Says something, unless it has been said of that place or is about nowhere.
    pub(crate) fn say(&mut self, diagnostic: Diagnostic) {
        let span = diagnostic.span();
        if span == NOWHERE {
            return;
        }
        let key = (diagnostic.code.to_string(), span.start, span.end, diagnostic.message.clone());
        if self.places.insert(key) {
            self.said.push(diagnostic);
        }
    }

    /// Whether anything said makes the circuit unusable.
    pub(crate) fn has_error(&self) -> bool {
        self.said.iter().any(|diagnostic| diagnostic.severity == Severity::Error)
    }

    /// Everything said, in the order of the text; labels that point nowhere are gone.
    pub(crate) fn into_diagnostics(mut self) -> Vec<Diagnostic> {
        for diagnostic in &mut self.said {
            diagnostic.labels.retain(|label| label.span != NOWHERE);
        }
        self.said.sort_by_key(|diagnostic| (diagnostic.span().start, diagnostic.span().end));
        self.said
    }
}
