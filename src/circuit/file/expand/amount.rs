//! Numbers that can be and numbers that cannot.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::figure::readable;
use crate::circuit::file::form::Number;
use crate::circuit::file::limits::RESISTANCE_OHM;

use super::Expansion;

/// What a number is of, and between which bounds it makes sense.
#[derive(Clone, Copy)]
pub(super) struct Amount {
    /// Its name in a sentence: "a length".
    pub(super) what: &'static str,
    /// Its unit: "metres".
    pub(super) unit: &'static str,
    /// Least value.
    pub(super) least: f64,
    /// Greatest value.
    pub(super) most: f64,
    /// Whether zero is allowed although `least` is above it.
    pub(super) or_zero: bool,
    /// Why the bounds are these.
    pub(super) why: &'static str,
}

const fn amount(
    what: &'static str,
    unit: &'static str,
    (least, most): (f64, f64),
    why: &'static str,
) -> Amount {
    Amount { what, unit, least, most, or_zero: false, why }
}

const fn amount_or_zero(
    what: &'static str,
    unit: &'static str,
    (least, most): (f64, f64),
    why: &'static str,
) -> Amount {
    Amount { what, unit, least, most, or_zero: true, why }
}

pub(super) const METRES: Amount =
    amount("a length", "metres", (0.01, 10_000.0), "measure along the cable, box to box");
pub(super) const FEET: Amount =
    amount("a length", "feet", (0.03, 33_000.0), "measure along the cable, box to box");
pub(super) const OHMS: Amount =
    amount_or_zero("a resistance", "ohms", RESISTANCE_OHM, "metal resists, however little");
pub(super) const PILOT_OHMS: Amount =
    amount("the resistance of a lamp", "ohms", (1.0, 1e12), "some ten thousand are usual");
pub(super) const REACTANCE_OHMS: Amount = amount_or_zero(
    "a reactance",
    "ohms",
    (-1e12, 1e12),
    "it is positive for a coil and negative for a capacitor",
);
pub(super) const ELECTRODE_OHMS: Amount = amount(
    "the resistance of an electrode",
    "ohms",
    (0.01, 1e6),
    "a good electrode has a few ohms, a rod in dry sand some hundred",
);
pub(super) const OHMS_PER_METRE: Amount = amount(
    "the resistance of a conductor",
    "ohms per metre",
    (1e-6, 1e3),
    "a household conductor has a few thousandths of an ohm per metre",
);
pub(super) const OHMS_PER_KFT: Amount = amount(
    "the resistance of a conductor",
    "ohms per 1000 feet",
    (1e-3, 1e5),
    "12 AWG copper has 1.6",
);
pub(super) const CELSIUS: Amount = amount(
    "the temperature of a conductor",
    "degrees Celsius",
    (-60.0, 250.0),
    "insulation takes neither more cold nor more heat",
);
const ABSOLUTE_ZERO_CELSIUS: f64 = -273.15;
pub(super) const VOLTS: Amount =
    amount("a voltage", "volts", (1.0, 1000.0), "this is for circuits of buildings");
pub(super) const HERTZ: Amount =
    amount("a frequency", "hertz", (10.0, 1000.0), "mains have 50 or 60");
pub(super) const WATTS: Amount =
    amount("a power", "watts", (1e-3, 1e6), "turn a load off with `on: false`");
pub(super) const BREAKER_AMPERES: Amount =
    amount("the rating of a breaker", "amperes", (0.5, 6300.0), "15, 20 or 32 are usual");
pub(super) const AMPACITY: Amount =
    amount("what a conductor is good for", "amperes", (0.5, 6300.0), "leave it out to go by size");
pub(super) const MILLIAMPERES: Amount =
    amount("a residual current", "milliamperes", (0.5, 30_000.0), "5 and 30 are usual");
pub(super) const KVA: Amount =
    amount("the rating of a transformer", "kilovolt-amperes", (0.1, 100_000.0), "25 is usual");
pub(super) const PERCENT_IMPEDANCE: Amount = amount(
    "the impedance of a transformer",
    "per cent",
    (0.1, 60.0),
    "it stands on the rating plate, 1.5 to 6 as a rule",
);
pub(super) const X_OVER_R: Amount =
    amount_or_zero("this ratio", "", (0.01, 100.0), "reactance over resistance, 1 to 10");
pub(super) const PICOFARADS: Amount =
    amount_or_zero("a capacitance", "picofarads", (1e-6, 1e9), "0 is none");
pub(super) const NANOFARADS: Amount =
    amount_or_zero("a capacitance", "nanofarads", (1e-6, 1e9), "0 is none");
pub(super) const MICROFARADS: Amount =
    amount_or_zero("a capacitance", "microfarads", (1e-9, 1e6), "0 is none");
pub(super) const GIGAOHM_METRES: Amount =
    amount("insulation", "gigaohm metres", (1e-9, 1e9), "new cable has about 100");
pub(super) const MEGAOHMS: Amount =
    amount("insulation", "megaohms", (1e-6, 1e9), "an appliance has a few or more");
pub(super) const POWER_FACTOR: Amount = amount("a power factor", "", (0.01, 1.0), "it is a share");
pub(super) const LOCKED_RATIO: Amount = amount(
    "the ratio of locked-rotor current",
    "",
    (1.0, 20.0),
    "a stalled motor takes 5 to 7 times its current",
);
pub(super) const COLD_FRACTION: Amount =
    amount("a cold share", "", (0.001, 1.0), "a cold filament has 1/12 to 1/16 of its ohms");
pub(super) const EXPONENT: Amount = amount_or_zero("an exponent", "", (0.01, 2.0), "0.45 is usual");
pub(super) const PHASE_DEGREES: Amount =
    amount_or_zero("a phase angle", "degrees", (-360.0, 360.0), "a full turn is 360");

impl Expansion<'_> {
    /// The number, if it can be one of that amount; else it is said and a harmless number
    /// within the bounds stands in for it.
    pub(super) fn amount(&mut self, number: &Number, amount: Amount) -> f64 {
        let value = number.value;
        let zero = value.abs() <= 0.0 && amount.or_zero;
        if zero || (amount.least..=amount.most).contains(&value) {
            return value;
        }
        let unit = if amount.unit.is_empty() { String::new() } else { format!(" {}", amount.unit) };
        let said = readable(value);
        let message = if amount.unit == CELSIUS.unit && value < ABSOLUTE_ZERO_CELSIUS {
            format!("nothing can be as cold as {said}{unit}")
        } else if !value.is_finite() {
            format!("{} must be a number one can measure", amount.what)
        } else if value < 0.0 && amount.least > 0.0 {
            format!("{} cannot be negative", amount.what)
        } else if value.abs() <= 0.0 {
            format!("{} cannot be zero", amount.what)
        } else if value < amount.least {
            format!("{} of {said}{unit} is too small to be meant", amount.what)
        } else {
            format!("{} of {said}{unit} is too large to be meant", amount.what)
        };
        let expected = format!(
            "{}{} to {}{unit}",
            if amount.or_zero && amount.least > 0.0 { "0, or " } else { "" },
            readable(amount.least),
            readable(amount.most)
        );
        self.say(
            Diagnostic::error("impossible-number", message, number.span.clone())
                .with_expected(expected)
                .with_help(amount.why),
        );
        if amount.least <= 1.0 && amount.most >= 1.0 { 1.0 } else { amount.least }
    }

    /// The number, if stated and possible, else `otherwise`.
    pub(super) fn amount_or(
        &mut self,
        number: Option<&Number>,
        otherwise: f64,
        amount: Amount,
    ) -> f64 {
        match number {
            Some(number) => self.amount(number, amount),
            None => otherwise,
        }
    }

    /// Both ends of a range, in order.
    pub(super) fn range_of(
        &mut self,
        (low, high): &(Number, Number),
        amount: Amount,
    ) -> (f64, f64) {
        let ends = (self.amount(low, amount), self.amount(high, amount));
        if low.value > high.value {
            self.say(
                Diagnostic::error(
                    "range-upside-down",
                    format!(
                        "this range runs from {} down to {}",
                        readable(low.value),
                        readable(high.value)
                    ),
                    low.span.clone(),
                )
                .with_label(high.span.clone(), "")
                .with_expected("the lower number first"),
            );
        }
        ends
    }
}
