//! Figures that no instrument can have, all of them at once.

use crate::circuit::file::figure::readable;

use super::band::Band;

/// A figure that no instrument can have.
///
/// ```
/// use slotwise::instrument::{presets, Burden, Instrument};
/// let Instrument::Voltmeter(mut meter) = presets::voltmeter_high_impedance() else { panic!() };
/// meter.burden = Burden::Parallel { resistance_ohm: -1.0, capacitance_farad: 0.0 };
/// let bad = Instrument::Voltmeter(meter).bad_figures();
/// assert_eq!(bad[0].path, "burden.resistance_ohm");
/// assert_eq!(bad[0].to_string(), "burden.resistance_ohm is -1, must be above zero");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadFigure {
    /// Fields on the way to it, joined by dots, members of lists by their number from zero.
    pub path: String,
    /// What is wrong with it.
    pub what: String,
}

impl std::fmt::Display for BadFigure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.path, self.what)
    }
}

/// Gathers what is wrong; knows the path to where it is looking.
#[derive(Default)]
pub(super) struct Check {
    path: Vec<Step>,
    bad: Vec<BadFigure>,
}

enum Step {
    Field(&'static str),
    Member(usize),
}

/// No figure of an instrument is larger.
const FIGURE_MAX: f64 = 1e18;

impl Check {
    pub(super) fn into_bad(self) -> Vec<BadFigure> {
        self.bad
    }

    /// Looks at what is inside a field, or inside a numbered member of a list.
    pub(super) fn inside(&mut self, field: &'static str, look: impl FnOnce(&mut Self)) {
        self.path.push(Step::Field(field));
        look(self);
        self.path.pop();
    }

    /// Looks at each member of a list.
    pub(super) fn each<T>(
        &mut self,
        field: &'static str,
        members: &[T],
        mut look: impl FnMut(&mut Self, &T),
    ) {
        self.path.push(Step::Field(field));
        for (number, member) in members.iter().enumerate() {
            self.path.push(Step::Member(number));
            look(self, member);
            self.path.pop();
        }
        self.path.pop();
    }

    /// Something that must hold of a field; `what` follows its name.
    pub(super) fn that(&mut self, field: &str, holds: bool, what: &str) {
        self.that_with(field, holds, || what.to_owned());
    }

    /// The same with words made only when needed.
    pub(super) fn that_with(&mut self, field: &str, holds: bool, what: impl FnOnce() -> String) {
        if !holds {
            let mut path = String::new();
            for step in &self.path {
                path.push_str(&match step {
                    Step::Field(name) => format!("{name}."),
                    Step::Member(number) => format!("{number}."),
                });
            }
            path.push_str(field);
            self.bad.push(BadFigure { path, what: what() });
        }
    }

    pub(super) fn positive(&mut self, field: &str, value: f64) {
        let holds = value > 0.0 && value <= FIGURE_MAX;
        self.that_with(field, holds, || format!("is {}, must be above zero", readable(value)));
    }

    pub(super) fn not_negative(&mut self, field: &str, value: f64) {
        let holds = (0.0..=FIGURE_MAX).contains(&value);
        self.that_with(field, holds, || format!("is {}, must be zero or more", readable(value)));
    }

    /// A resistance that may be without end.
    pub(super) fn dark(&mut self, field: &str, value: f64) {
        self.that_with(field, value > 0.0, || {
            format!("is {}, must be above zero (or inf)", readable(value))
        });
    }

    pub(super) fn band(&mut self, field: &str, band: Band) {
        let Band { low, high } = band;
        let holds = low >= 0.0 && high >= low && high <= FIGURE_MAX;
        self.that_with(field, holds, || {
            let (low, high) = (readable(low), readable(high));
            format!("runs from {low} to {high}, must run upwards from zero or more")
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_figure_is_said_with_its_path_before_what_is_wrong() {
        let what = "is -1, must be above zero".to_owned();
        let bad = BadFigure { path: "burden.resistance_ohm".to_owned(), what };
        assert_eq!(bad.to_string(), "burden.resistance_ohm is -1, must be above zero");
    }
}
