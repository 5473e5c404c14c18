//! Numbers and their units.

use crate::circuit::file::figure::{readable, shortened};
use crate::circuit::file::limits::{CAPACITANCE_FARAD, RESISTANCE_OHM};

use super::super::lexer::{Token, TokenKind};
use super::super::lexicon::{self, Quantity};
use super::super::problem::{Problem, WordsProblem};
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
        let said = scaled(token.text, power);
        if let Some(problem) = out_of_range(token, after, said, (quantity, power)) {
            self.fail(problem);
            self.at += 2;
            return;
        }
        match said {
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
                let message = format!("{} is beyond every number used here", shortened(token.text));
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
            None => format!("{} of what? the unit is missing", shortened(token.text)),
        };
        let units = ["ohm", "kohm", "Mohm", "mohm", "V", "%", "pF"];
        let span = token.span.start..unit.map_or(token.span.end, |unit| unit.span.end);
        let problem = WordsProblem::new(span, token.text, message)
            .expected(units.map(|unit| format!("{} {unit}", shortened(token.text))));
        if unit.is_some() {
            self.at += 1;
        }
        self.fail(problem);
    }
}

/// What is wrong with a resistance or capacitance that a circuit file could not state either. What
/// is below zero is left to whoever knows what it is of.
fn out_of_range(
    token: &Token<'_>,
    unit: Option<&Token<'_>>,
    value: Option<f64>,
    (quantity, power): (Quantity, i32),
) -> Option<Problem> {
    let (least, most) = match quantity {
        Quantity::Ohm => RESISTANCE_OHM,
        Quantity::Farad => CAPACITANCE_FARAD,
        Quantity::Volt | Quantity::Percent => return None,
    };
    // A number too small for a double is not the zero that it is read as.
    let mantissa = token.text.split(['e', 'E']).next().unwrap_or_default();
    let is_zero = !mantissa.contains(|digit: char| digit.is_ascii_digit() && digit != '0');
    let which = match value {
        Some(value) if is_zero || value < 0.0 || (least..=most).contains(&value) => return None,
        Some(value) if value < least => "small",
        // An exponent that is no number of ours.
        None if token.text.contains('-') => "small",
        _ => "large",
    };
    let (unit, span) =
        unit.map_or(("", token.span.clone()), |unit| (unit.text, token.span.start..unit.span.end));
    let message = format!("{} {unit} is too {which} to be meant", shortened(token.text));
    let bound = |value: f64| {
        let shown = scaled(&format!("{value:e}"), -power).unwrap_or(value);
        readable(shown)
    };
    let range = format!("0, or {} to {} {unit}", bound(least), bound(most));
    Some(WordsProblem::new(span, token.text, message).expected([range]))
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
