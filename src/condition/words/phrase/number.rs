//! Numbers and their units.

use super::super::lexer::{Token, TokenKind};
use super::super::lexicon::{self, Quantity};
use super::super::problem::WordsProblem;
use super::{Phrase, Reader};

impl Reader<'_> {
    /// A number and its unit.
    pub(super) fn number(&mut self) {
        let (Some(token), after) = (self.token(0), self.token(1)) else { return };
        let glued_comma = after.is_some_and(|comma| {
            comma.text == ","
                && comma.span.start == token.span.end
                && self
                    .token(2)
                    .is_some_and(|n| n.kind == TokenKind::Number && n.span.start == comma.span.end)
        });
        if glued_comma {
            let end = self.token(2).map_or(token.span.end, |n| n.span.end);
            let problem = WordsProblem::new(
                token.span.start..end,
                token.text,
                "a comma inside a number could mean two things: write thousands without a mark \
                 and fractions with a point",
            );
            self.fail(problem.expected(["1000", "0.4"]));
            self.at += 2;
            return;
        }
        let unit = after
            .filter(|unit| unit.kind == TokenKind::Word)
            .and_then(|unit| lexicon::unit(unit.text));
        let Some((quantity, power)) = unit else { return self.without_unit(token) };
        // Through the text, so that `30 %` is the double nearest to 0.3 and nothing else.
        match scaled(token.text, power) {
            Some(value) => {
                let phrase = match quantity {
                    Quantity::Ohm => Phrase::Ohm(value),
                    Quantity::Farad => Phrase::Farad(value),
                    Quantity::Volt => Phrase::Volt(value),
                    Quantity::Percent => Phrase::Fraction(value),
                };
                self.put(phrase, 2);
            }
            None => {
                let message = format!("{} is beyond every number used here", token.text);
                self.fail(WordsProblem::new(token.span.clone(), token.text, message));
                self.at += 1;
            }
        }
    }

    fn without_unit(&mut self, token: &Token<'_>) {
        let unit =
            self.token(1).filter(|t| t.kind == TokenKind::Word && t.span.start == token.span.end);
        let message = match unit {
            Some(unit) => format!("`{}` is no unit used here", unit.text),
            None => format!("{} of what? the unit is missing", token.text),
        };
        let units = ["ohm", "kohm", "Mohm", "mohm", "V", "%", "pF"];
        let span = token.span.start..unit.map_or(token.span.end, |unit| unit.span.end);
        let problem = WordsProblem::new(span, token.text, message)
            .expected(units.map(|unit| format!("{} {unit}", token.text)));
        if unit.is_some() {
            self.at += 1;
        }
        self.fail(problem);
    }
}

/// `text` times ten to the `power`, rounded once.
pub(crate) fn scaled(text: &str, power: i32) -> Option<f64> {
    let (digits, exponent) = match text.split_once(['e', 'E']) {
        Some((digits, exponent)) => (digits, exponent.parse::<i32>().ok()?),
        None => (text, 0),
    };
    let value: f64 = format!("{digits}e{}", exponent.checked_add(power)?).parse().ok()?;
    value.is_finite().then_some(value)
}
