//! Phrases of several words that need more than the next word to tell.

use super::super::lexer::TokenKind;
use super::super::lexicon::{Class, Verb, Word};
use super::super::problem::WordsProblem;
use super::{Phrase, Reader, few};

impl Reader<'_> {
    /// `between door and wheel` is a cable, anything else a bridge.
    pub(super) fn between(&mut self) {
        let first = self.past_small(1);
        let second = self.past_small(first + 2);
        let places = self.name(first).zip(self.name(second));
        if let Some((from, to)) = places
            && self.word(first + 1) == Some(Word::And)
            && self.known.is(Class::Place, &from)
            && self.known.is(Class::Place, &to)
        {
            match self.known.cables_between(&from, &to).as_slice() {
                [cable] => {
                    let cable = cable.clone();
                    self.put(Phrase::Stretch(cable), second + 1);
                }
                [] => {
                    let near = self.known.cables_at([from.as_str(), to.as_str()]);
                    self.no_stretch(second, format!("no cable joins {from} and {to}"), &near);
                }
                several => {
                    let message = format!("several cables join {from} and {to}: which?");
                    self.no_stretch(second, message, several);
                }
            }
        } else {
            self.put(Phrase::Between, 1);
        }
    }

    fn no_stretch(&mut self, last: usize, message: String, cables: &[String]) {
        let start = self.token(0).map_or(0, |token| token.span.start);
        let end = self.token(last).map_or(start, |token| token.span.end);
        let cables = cables.iter().map(|id| format!("in cable {id}"));
        let problem = WordsProblem::new(start..end, "between", message).expected(few(cables));
        self.fail(problem);
        self.at += last;
    }

    pub(super) fn not(&mut self) {
        if self.word(1) == Some(Word::Verb(Verb::Bridged)) && self.written(1, "connected") {
            return self.put(Phrase::Verb(Verb::Open), 2);
        }
        let Some(token) = self.token(0) else { return };
        // What is denied is passed over, so that no answer offers it as what was meant.
        let denied = usize::from(matches!(self.word(1), Some(Word::Verb(_))));
        let end = self.token(denied).map_or(token.span.end, |last| last.span.end);
        let problem = WordsProblem::new(
            token.span.start..end,
            token.text,
            "a condition says what is so, and what is as described needs no word; with `not` \
             only `not connected` is said, of a joint that is open",
        );
        self.fail(problem.expected(["not connected"]));
        self.at += denied;
    }

    /// `all`, `everything on the kiln circuit`, `all loads of c1`.
    pub(super) fn all(&mut self) {
        let loads = usize::from(self.word(1) == Some(Word::Class(Class::Load)));
        let fed = ["fed", "supplied"].iter().any(|word| self.written(1 + loads, word));
        let before = 1 + loads + usize::from(fed);
        let words = ["on", "of", "in", "by", "from"];
        let spoken = words.iter().any(|word| self.written(before, word));
        let class =
            |ahead| matches!(self.word(ahead), Some(Word::Class(Class::Circuit | Class::Breaker)));
        let mut at = self.past_small(before + 1);
        at += usize::from(class(at));
        match self.name(at).filter(|name| spoken && self.known.is(Class::Circuit, name)) {
            Some(name) => {
                let end = at + 1 + usize::from(class(at + 1));
                self.put(Phrase::All(Some(name)), end);
            }
            None => self.put(Phrase::All(None), 1),
        }
    }

    pub(super) fn position(&mut self) {
        let verb = match () {
            () if self.written(1, "1") || self.written(1, "one") => Verb::One,
            () if self.written(1, "2") || self.written(1, "two") => Verb::Two,
            () if matches!(self.word(1), Some(Word::Verb(_))) => return self.at += 1,
            () => {
                let Some(token) = self.token(0) else { return };
                let end = self.token(1).map_or(token.span.end, |said| said.span.end);
                let problem = WordsProblem::new(
                    token.span.start..end,
                    token.text,
                    "a three-way switch has two positions",
                );
                self.fail(problem.expected(["position 1", "position 2"]));
                return self.at += 1;
            }
        };
        self.put(Phrase::Verb(verb), 2);
    }

    pub(super) fn called(&mut self) {
        match self.token(1) {
            Some(token) if matches!(token.kind, TokenKind::Word | TokenKind::Quoted) => {
                self.put(Phrase::Called(token.text.to_owned()), 2);
            }
            _ => {
                let Some(token) = self.token(0) else { return };
                let problem =
                    WordsProblem::new(token.span.clone(), token.text, "a name is to follow");
                self.fail(problem.expected(["a name, such as `tie`"]));
            }
        }
    }
}
