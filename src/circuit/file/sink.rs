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
    /// Parts of the file that could not be read as written: members of its lists.
    damaged: Vec<Span>,
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

    /// Takes note of which of `members`, in order and apart, hold a mistake of writing. What is
    /// missing in such a member may be there, only not readable.
    pub(crate) fn note_damage(&mut self, members: &[Span]) {
        for diagnostic in &self.said {
            let at = diagnostic.span().start;
            let member = members.partition_point(|member| member.start <= at);
            if let Some(member) = member.checked_sub(1).and_then(|index| members.get(index))
                && at < member.end
            {
                self.damaged.push(member.clone());
            }
        }
        self.damaged.sort_by_key(|span| span.start);
    }

    /// Says that something is missing, unless it is in a part that could not be read.
    pub(crate) fn say_missing(&mut self, diagnostic: Diagnostic) {
        let at = diagnostic.span().start;
        let before = self.damaged.partition_point(|span| span.start <= at);
        let damaged = before
            .checked_sub(1)
            .and_then(|index| self.damaged.get(index))
            .is_some_and(|span| at < span.end);
        if !damaged {
            self.say(diagnostic);
        }
    }

    /// Of each of these kinds of slip keeps the first, with the number of the others.
    pub(crate) fn fold(&mut self, codes: &[&str]) {
        for code in codes {
            let Some(first) = self.said.iter().position(|said| said.code == *code) else {
                continue;
            };
            let before = self.said.len();
            let mut index = 0;
            self.said.retain(|said| {
                index += 1;
                index - 1 <= first || said.code != *code
            });
            let more = before - self.said.len();
            if let (true, Some(first)) = (more > 0, self.said.get_mut(first)) {
                let places = if more == 1 { "place" } else { "places" };
                first.message = format!("{}, here and in {more} more {places}", first.message);
            }
        }
    }

    /// Whether anything said makes the circuit unusable.
    pub(crate) fn has_error(&self) -> bool {
        self.said.iter().any(|diagnostic| diagnostic.severity == Severity::Error)
    }

    /// Whether something of that kind has been said.
    pub(crate) fn has(&self, code: &str) -> bool {
        self.said.iter().any(|diagnostic| diagnostic.code == code)
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
