//! Where everything to be said about one file is gathered, each thing once.

use std::collections::HashSet;

use crate::circuit::diagnostic::{Diagnostic, Severity};

use super::limits::PROBLEMS_MAX;
use super::tree::Span;

/// More than are shown, so that errors found late are among them.
const KEPT_MAX: usize = 2 * PROBLEMS_MAX;

/// The place of a value that was not in the file; nothing is ever said about it.
pub(crate) const NOWHERE: Span = usize::MAX..usize::MAX;

/// What has been said so far.
#[derive(Debug, Default)]
pub(crate) struct Sink {
    said: Vec<Diagnostic>,
    /// Said besides those kept: a hostile file could be wrong in a million places.
    dropped: usize,
    failed: bool,
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
        self.failed |= diagnostic.severity == Severity::Error;
        if self.is_full() {
            self.dropped += 1;
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

    /// Whether more is only counted: no need to look for what was meant.
    pub(crate) fn is_full(&self) -> bool {
        self.said.len() >= KEPT_MAX
    }

    /// Whether anything said makes the circuit unusable.
    pub(crate) fn has_error(&self) -> bool {
        self.failed
    }

    /// Whether something of that kind has been said.
    pub(crate) fn has(&self, code: &str) -> bool {
        self.said.iter().any(|diagnostic| diagnostic.code == code)
    }

    /// Everything said, in the order of the text and at most [`PROBLEMS_MAX`], errors before
    /// remarks if not all fit; labels that point nowhere are gone.
    pub(crate) fn into_diagnostics(mut self) -> Vec<Diagnostic> {
        for diagnostic in &mut self.said {
            diagnostic.labels.retain(|label| label.span != NOWHERE);
        }
        let place = |diagnostic: &Diagnostic| (diagnostic.span().start, diagnostic.span().end);
        self.said.sort_by_key(place);
        let more = self.dropped + self.said.len().saturating_sub(PROBLEMS_MAX);
        if more > 0 {
            self.said.sort_by_key(|diagnostic| diagnostic.severity != Severity::Error);
            self.said.truncate(PROBLEMS_MAX);
            self.said.sort_by_key(place);
            let end = self.said.last().map_or(0..0, Diagnostic::span);
            let message = format!("and more like these: {more}, or fewer if some are the same");
            self.said.push(Diagnostic::note("more", message, end));
        }
        self.said
    }
}
