//! What somebody is not sure of: `lit lit dim?`, `maybe dim`, `lit lit dark, not sure`. Of one indicator it is
//! not known, of a whole look nothing is, and a figure is about so much.

use crate::condition::words::lexer::{Token, TokenKind};
use crate::instrument::{Brightness, Glow, PlugTester};

use super::moment::BEGINS;
use super::reader::Reader;
use super::showing::GLOWS;

/// Before or behind what may be otherwise.
pub(super) const DOUBTS: [&str; 12] = [
    "i think it is",
    "i think",
    "i believe",
    "i guess",
    "probably",
    "possibly",
    "perhaps",
    "maybe",
    "might be",
    "may be",
    "could be",
    "seems",
];

/// Behind a whole look.
const NOT_SURE: [&str; 9] = [
    "not sure",
    "not certain",
    "not quite sure",
    "unsure",
    "uncertain",
    "could be wrong",
    "might be wrong",
    "may be wrong",
    "i can not swear to it",
];

/// Of what, behind that.
const OF_IT: [&str; 8] = [
    "about it",
    "about that",
    "about them",
    "about any of it",
    "about any of them",
    "of it",
    "of that",
    "though",
];

/// What was read off by who is not sure of it, as it is said behind that.
pub(super) fn doubted<'r>(tokens: &[Token<'r>]) -> Vec<Token<'r>> {
    let begins =
        |token: &Token<'_>| BEGINS.iter().any(|word| token.text.eq_ignore_ascii_case(word));
    let end = tokens.iter().position(begins).unwrap_or(tokens.len());
    let (said, stood) = tokens.split_at_checked(end).unwrap_or_default();
    let span = said.last().map_or(0..0, |last| last.span.clone());
    let word = |text, kind| Token { text, kind, span: span.clone() };
    let doubt =
        [word(",", TokenKind::Comma), word("not", TokenKind::Word), word("sure", TokenKind::Word)];
    [said, &doubt, stood].concat()
}

impl Reader<'_> {
    /// How bright an indicator was; not known where that is doubted.
    pub(super) fn glow_or_doubt(&mut self) -> Option<Glow> {
        let mut ahead = self.clone();
        let mut is_doubted = ahead.takes_any(&DOUBTS);
        let glow = ahead.choice(&GLOWS)?;
        let mut behind = ahead.clone();
        // What stands before another indicator is said of that.
        let touches = behind.span().start == behind.span_before();
        let is_behind = match behind.takes("?") {
            true => touches,
            false => behind.takes_any(&DOUBTS) && behind.ends_a_part(),
        };
        if is_behind {
            is_doubted = true;
            ahead = behind;
        }
        *self = ahead;
        let unknown = Glow { at_least: Brightness::Dark, at_most: Brightness::Lit };
        Some(if is_doubted { unknown } else { glow })
    }

    /// Passes a doubt behind what may be otherwise.
    pub(super) fn is_doubted(&mut self) -> bool {
        self.takes("?") || self.takes_any(&DOUBTS)
    }

    fn ends_a_part(&self) -> bool {
        let begins = |token: &Token<'_>| {
            token.kind == TokenKind::Comma
                || BEGINS.iter().chain(&["and"]).any(|word| token.text.eq_ignore_ascii_case(word))
        };
        self.token(0).is_none_or(begins)
    }

    /// Passes `not sure` behind a look, which is said of all of it.
    pub(super) fn doubts_all(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes_any(&["but i am", "but", "i am"]);
        let is_doubted = ahead.takes_any(&NOT_SURE) || ahead.is_doubted();
        ahead.takes_any(&OF_IT);
        let is_so = is_doubted && ahead.clone().showing_is_over();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes `I think lit lit dark`, no mark between: a doubt about all of it.
    pub(super) fn doubted_in_order(&mut self, tester: &PlugTester) -> bool {
        let mut ahead = self.clone();
        if !ahead.takes_any(&DOUBTS) {
            return false;
        }
        let begun = ahead.rest().len();
        let is_so = ahead.glows_in_order(tester).is_some() && ahead.clone().showing_is_over();
        let said = self.rest().iter().skip(self.rest().len() - begun);
        let mut said = said.take(begun - ahead.rest().len());
        let is_so = is_so && said.all(|token| token.kind != TokenKind::Comma);
        if is_so {
            *self = ahead;
        }
        is_so
    }
}
