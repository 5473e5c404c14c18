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
    /// A part that could not be read may have had a name.
    name_lost: bool,
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

    /// Takes back what was said of this kind at these places.
    pub(crate) fn take_back(&mut self, code: &str, places: &[Span]) {
        self.said.retain(|said| said.code != code || !places.contains(&said.span()));
    }

    /// Of slips of one kind keeps the first few, the last of them with the number of the others.
    pub(crate) fn fold(&mut self, is_one: impl Fn(&Diagnostic) -> bool, kept: usize) {
        let (mut of_it, mut index, mut last) = (0, 0, None);
        let before = self.said.len();
        self.said.retain(|said| {
            let is_one = is_one(said);
            of_it += usize::from(is_one);
            let keep = !is_one || of_it <= kept;
            last = if keep && is_one { Some(index) } else { last };
            index += usize::from(keep);
            keep
        });
        let more = before - self.said.len();
        if let (true, Some(last)) = (more > 0, last.and_then(|last| self.said.get_mut(last))) {
            let places = if more == 1 { "place" } else { "places" };
            last.message = format!("{}, here and in {more} more {places}", last.message);
        }
    }

    /// Takes note that a part could not be read that may have had a name.
    pub(crate) fn lose_a_name(&mut self) {
        self.name_lost = true;
    }

    /// Says that a name is unknown, unless nothing is like it and a name may have been lost.
    pub(crate) fn say_unknown(&mut self, diagnostic: Diagnostic) {
        if !self.name_lost || diagnostic.suggestion.is_some() {
            self.say(diagnostic);
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
