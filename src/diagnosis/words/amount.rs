//! Figures with their units, as people report them.

use crate::circuit::Circuit;
use crate::condition::words::lexer::TokenKind;
use crate::condition::words::{scaled, speak};
use crate::diagnosis::Amount;

use super::doubt::DOUBTS;
use super::example::supply_volt;
use super::reader::{Heard, Reader};

/// How sure a figure is, and what bounds it.
const ABOUT: [&str; 5] = ["about", "around", "roughly", "approximately", "~"];
const UNDER: [&str; 5] = ["under", "below", "less than", "<", "\u{2264}"];
const OVER: [&str; 6] = ["over", "above", "more than", "greater than", ">", "\u{2265}"];

/// What a figure is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    Volt,
    Ampere,
    Ohm,
}

impl Unit {
    pub(super) const fn symbol(self) -> &'static str {
        match self {
            Self::Volt => "V",
            Self::Ampere => "A",
            Self::Ohm => "ohm",
        }
    }

    /// Powers of ten of the ways to write it. `M` and `m` differ; nothing else minds its case.
    pub(super) fn power(self, written: &str) -> Option<i32> {
        let mega = written.starts_with('M');
        match (self, written.to_lowercase().as_str()) {
            (Self::Volt, "v" | "volt" | "volts" | "vac")
            | (Self::Ampere, "a" | "amp" | "amps" | "ampere" | "amperes")
            | (Self::Ohm, "ohm" | "ohms" | "ω") => Some(0),
            (Self::Volt, "mv") | (Self::Ampere, "ma") => Some(-3),
            (Self::Ohm, "mohm" | "mω") => Some(if mega { 6 } else { -3 }),
            (Self::Ohm, "milliohm" | "milliohms") => Some(-3),
            (Self::Ohm, "kohm" | "kω" | "k" | "kilohm" | "kilohms") => Some(3),
            (Self::Ohm, "megohm" | "megohms") => Some(6),
            (Self::Ohm, "gohm" | "gω" | "gigohm" | "gigohms") => Some(9),
            _ => None,
        }
    }

    /// Figures of this unit as they are said; volts are of the size that the supply has.
    fn examples(self, circuit: &Circuit) -> [String; 4] {
        let volt = supply_volt(circuit);
        let [full, third, half] = [volt - 2.0, volt / 3.0, volt / 2.0].map(f64::round);
        match self {
            Self::Volt => [
                format!("{full} V"),
                format!("about {half} V"),
                format!("{third} to {half} V"),
                "under 5 V".to_owned(),
            ],
            Self::Ampere => ["3.2 A", "about 5 A", "2 to 4 A", "under 5 mA"].map(str::to_owned),
            Self::Ohm => {
                ["0.3 ohm", "about 12 ohm", "1 to 2 kohm", "over 1 Mohm"].map(str::to_owned)
            }
        }
    }
}

impl Reader<'_> {
    /// Whether a figure comes next.
    pub(super) fn amount_is_next(&self) -> bool {
        let begins = [&ABOUT[..], &UNDER, &OVER, &["between"]].concat();
        let is_figure =
            |reader: &Self| reader.token(0).is_some_and(|token| token.kind == TokenKind::Number);
        let mut doubted = self.clone();
        is_figure(self)
            || self.clone().takes_any(&begins)
            || doubted.takes_any(&DOUBTS) && is_figure(&doubted)
    }

    /// A figure: `118 V`, `about 60 V`, `40 to 60 V`, `between 40 and 60 V`, `under 5 V`.
    pub(super) fn amount(&mut self, unit: Unit) -> Heard<Amount> {
        if self.takes_any(&ABOUT) || self.takes_any(&DOUBTS) {
            return Ok(Amount::About(self.figure(unit)?.0));
        }
        if self.takes_any(&UNDER) {
            let before = self.clone();
            let below = self.figure(unit)?.0;
            if below <= 0.0 {
                return Err(before
                    .here("nothing shows less than none")
                    .expected(unit.examples(self.known.circuit)));
            }
            return Ok(Amount::Under(below));
        }
        if self.takes_any(&OVER) {
            return Ok(Amount::Over(self.figure(unit)?.0));
        }
        let start = self.span().start;
        if self.takes("between") {
            let first = self.figure(unit)?;
            if !self.takes_any(&["and", "to"]) {
                return Err(self.none_of("the other bound", &["and"]));
            }
            return self.range(unit, first, start);
        }
        let first = self.figure(unit)?;
        if self.takes_any(&["to", ".."]) || self.touching_dash() {
            return self.range(unit, first, start);
        }
        Ok(match self.is_doubted() {
            true => Amount::About(first.0),
            false => Amount::Exactly(first.0),
        })
    }

    /// `40-60 V`: the second figure looks negative and touches the first.
    fn touching_dash(&self) -> bool {
        let (text, start) = self.rest_of_text();
        text.starts_with('-')
            && self.text.get(..start).is_some_and(|t| t.ends_with(char::is_numeric))
    }

    /// The second bound, whose unit is also that of a first one without any.
    fn range(&mut self, unit: Unit, first: (f64, bool), start: usize) -> Heard<Amount> {
        let second = self.figure_of(unit, true)?;
        let low = match (first.1, second.1) {
            // `1 to 2 kohm`: both in the unit that is said.
            (false, Some(power)) => scaled(&first.0.to_string(), power).unwrap_or(first.0),
            _ => first.0,
        };
        if low > second.0 {
            let end = self.text.len().min(self.span().start.max(start));
            let mut problem = self.here("the lower figure comes first");
            problem.span = start..end;
            return Err(problem.expected(unit.examples(self.known.circuit)));
        }
        Ok(Amount::Between { low, high: second.0 })
    }

    /// A figure that is no range.
    pub(super) fn single(&mut self, unit: Unit) -> Heard<f64> {
        self.figure(unit).map(|(value, _)| value)
    }

    /// A figure and whether its unit was said.
    fn figure(&mut self, unit: Unit) -> Heard<(f64, bool)> {
        self.figure_of(unit, false).map(|(value, power)| (value, power.is_some()))
    }

    fn figure_of(&mut self, unit: Unit, dash: bool) -> Heard<(f64, Option<i32>)> {
        let Some(token) = self.token(0).filter(|token| token.kind == TokenKind::Number) else {
            return Err(self.none_of("a figure", &[]).expected(unit.examples(self.known.circuit)));
        };
        let text = if dash { token.text.trim_start_matches('-') } else { token.text };
        let after = self.token(1).filter(|token| token.kind == TokenKind::Word);
        let power = after.and_then(|word| unit.power(word.text));
        if let Some(word) = after
            && power.is_none()
            && (word.span.start == token.span.end || is_unit(word.text))
        {
            self.skip(1);
            let message = format!("`{}` is no unit of what this instrument shows", word.text);
            return Err(self.here(message).expected(unit.examples(self.known.circuit)));
        }
        match scaled(text, power.unwrap_or(0)) {
            Some(value) if value >= 0.0 => {
                self.skip(1 + usize::from(power.is_some()));
                Ok((value, power))
            }
            Some(_) => Err(self
                .here("a size is said without a sign: instruments show how much, not which way")
                .expected(unit.examples(self.known.circuit))),
            None => Err(self
                .here("beyond every figure used here")
                .expected(unit.examples(self.known.circuit))),
        }
    }
}

fn is_unit(word: &str) -> bool {
    [Unit::Volt, Unit::Ampere, Unit::Ohm].into_iter().any(|unit| unit.power(word).is_some())
}

/// Smaller currents are said in milliamperes.
const MILLIAMPERES_BELOW: f64 = 0.1;

/// Digits that a figure is said with where these are it: what a sum leaves behind them nobody read.
const DIGITS: usize = 6;

/// Share of a figure that arithmetic leaves behind its digits.
const LEFT_BY_SUMS: f64 = 1e-12;

/// The figure in six digits, if that is what it is but for what a sum left behind.
fn in_digits(value: f64) -> f64 {
    let said = format!("{value:.places$e}", places = DIGITS - 1).parse();
    said.ok()
        .filter(|said: &f64| (said - value).abs() <= LEFT_BY_SUMS * value.abs())
        .unwrap_or(value)
}

/// The figure in words that are heard as it.
pub(super) fn tell(amount: &Amount, unit: Unit) -> String {
    let say = |value: f64| match (unit, in_digits(value)) {
        (Unit::Ohm, value) => speak::ohm(value),
        (Unit::Ampere, value) if value > 0.0 && value < MILLIAMPERES_BELOW => {
            format!("{} mA", speak::shifted(value, 3))
        }
        (_, value) => format!("{} {}", speak::shifted(value, 0), unit.symbol()),
    };
    match *amount {
        Amount::Exactly(value) => say(value),
        Amount::About(value) => format!("about {}", say(value)),
        Amount::Between { low, high } => format!("between {} and {}", say(low), say(high)),
        Amount::Under(high) => format!("under {}", say(high)),
        Amount::Over(low) => format!("over {}", say(low)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_sum_leaves_behind_a_figure_is_not_said() {
        let volt = |value| tell(&Amount::Exactly(value), Unit::Volt);
        assert_eq!(volt(118.100_000_000_000_01), "118.1 V");
        assert_eq!(volt(0.1 + 0.2), "0.3 V");
        assert_eq!(volt(118.123_456_7), "118.1234567 V", "what was said is said back");
    }
}
