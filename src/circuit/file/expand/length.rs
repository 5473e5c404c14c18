//! Lengths in feet or metres, known or between two bounds.

use crate::circuit::RangeOf;
use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{BoxForm, ExplicitCableForm, Number, RingForm, SubpanelForm};
use crate::circuit::file::tree::Span;

use super::Expansion;
use super::amount::{Amount, FEET, METRES};

const METRE_PER_FOOT: f64 = 0.3048;

/// A cable is longer than this in no house, metres: over it a branch circuit loses most of its voltage.
const LONG_M: f64 = 500.0;

/// The four ways to state a length.
pub(super) struct LengthForm<'f> {
    feet: Option<&'f Number>,
    metres: Option<&'f Number>,
    feet_between: Option<&'f (Number, Number)>,
    metres_between: Option<&'f (Number, Number)>,
}

macro_rules! length_of {
    ($($form:ty),*) => {$(
        impl<'f> From<&'f $form> for LengthForm<'f> {
            fn from(form: &'f $form) -> Self {
                Self {
                    feet: form.feet.as_ref(),
                    metres: form.metres.as_ref(),
                    feet_between: form.feet_between.as_ref(),
                    metres_between: form.metres_between.as_ref(),
                }
            }
        }
    )*};
}

length_of!(BoxForm, RingForm, SubpanelForm, ExplicitCableForm);

impl Expansion<'_> {
    /// Length in metres of the cable `id`; `owner` is where its name stands.
    pub(super) fn length(&mut self, form: &LengthForm<'_>, id: &str, owner: &Span) -> f64 {
        let mut lengths = Vec::new();
        for (number, amount) in [(form.feet, FEET), (form.metres, METRES)] {
            if let Some(number) = number {
                let length_m = self.amount(number, amount) * metre_per(amount);
                lengths.push((length_m, None, number.span.clone()));
            }
        }
        for (ends, amount) in [(form.feet_between, FEET), (form.metres_between, METRES)] {
            if let Some(ends) = ends {
                let (low, high) = self.range_of(ends, amount);
                let (low, high) = (low * metre_per(amount), high * metre_per(amount));
                lengths.push((f64::midpoint(low, high), Some((low, high)), ends.0.span.clone()));
            }
        }
        if let [(_, _, first), (_, _, second), ..] = lengths.as_slice() {
            self.say(
                Diagnostic::error(
                    "length-twice",
                    format!("the length of cable `{id}` is stated twice"),
                    second.clone(),
                )
                .with_label(first.clone(), "first here")
                .with_expected("one of `feet`, `metres`, `feet_between`, `metres_between`"),
            );
        }
        let Some((length_m, range, stated)) = lengths.into_iter().next() else {
            self.say_missing(
                Diagnostic::error(
                    "no-length",
                    format!("the length of cable `{id}` is not stated"),
                    owner.clone(),
                )
                .with_expected("`feet: 12`, `metres: 3.6`, or `feet_between: (8, 16)`"),
            );
            return 1.0;
        };
        if length_m > LONG_M {
            let said = format!("{length_m:.0} metres are long for one cable");
            self.say(
                Diagnostic::warning("long-cable", said, stated)
                    .with_help("if it is meant, leave it; else look at the figure and its unit"),
            );
        }
        if let Some((low, high)) = range {
            self.range(RangeOf::CableLengthMetre(id.to_owned()), low, high);
        }
        length_m
    }
}

fn metre_per(amount: Amount) -> f64 {
    if amount.unit == FEET.unit { METRE_PER_FOOT } else { 1.0 }
}
