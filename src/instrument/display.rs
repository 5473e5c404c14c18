//! What a display shows: ranges, resolution, rounding, tolerance, over-range.

use serde::{Deserialize, Serialize};

use super::check::Check;

/// Ranges and tolerance of a meter, in the base unit of what it measures (volt, ampere, ohm).
///
/// ```
/// use slotwise::instrument::Display;
/// let shown = Display::volts_6000_counts().show(119.8782);
/// assert_eq!(shown.text, "119.9 V");
/// assert!(shown.low < 119.9 && shown.high > 119.9);
/// assert_eq!(Display::volts_6000_counts().show(1500.0).text, "OL");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Display {
    /// Unit as shown behind the prefix: `V`, `A`, `ohm`.
    pub unit: String,
    /// Ranges, smallest first; the meter takes the smallest that holds the value.
    pub ranges: Vec<DisplayRange>,
    /// How far from the truth it may be.
    pub tolerance: Tolerance,
}

/// One range of a display.
///
/// ```
/// use slotwise::instrument::{DisplayRange, Prefix};
/// let range = DisplayRange { full_scale: 6.0, resolution: 0.001, prefix: Prefix::Milli };
/// assert!(range.full_scale > range.resolution);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DisplayRange {
    /// Largest value shown, base unit.
    pub full_scale: f64,
    /// Smallest step shown, base unit.
    pub resolution: f64,
    /// Prefix of the unit.
    #[serde(default)]
    pub prefix: Prefix,
}

/// Prefix of a displayed unit.
///
/// ```
/// use slotwise::instrument::Prefix;
/// assert_eq!(Prefix::Milli.symbol(), "m");
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Prefix {
    /// 10⁻⁶.
    Micro,
    /// 10⁻³.
    Milli,
    /// None.
    #[default]
    One,
    /// 10³.
    Kilo,
    /// 10⁶.
    Mega,
    /// 10⁹.
    Giga,
}

/// How far a display may be from the truth: the sum of its three parts.
///
/// ```
/// use slotwise::instrument::Tolerance;
/// let ordinary = Tolerance { percent_of_reading: 1.0, counts: 3.0, percent_of_full_scale: 0.0 };
/// assert!(Tolerance::NONE.counts < ordinary.counts);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Tolerance {
    /// Percent of the reading.
    pub percent_of_reading: f64,
    /// Steps of the range's resolution.
    pub counts: f64,
    /// Percent of the range's full scale, as for a needle.
    pub percent_of_full_scale: f64,
}

/// What a display shows.
///
/// ```
/// use slotwise::instrument::Display;
/// let shown = Display::volts_6000_counts().show(0.0);
/// assert!(!shown.over_range && shown.low.abs() < 1e-12);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Displayed {
    /// As a person reads it, with its unit.
    pub text: String,
    /// The value shown, base unit, to the digits of its range; `None` when over range, or where the
    /// meter refuses.
    pub value: Option<f64>,
    /// Least value it may show and still be within tolerance, base unit; zero where it refuses.
    pub low: f64,
    /// Greatest value it may show and still be within tolerance, base unit; infinite where it refuses.
    pub high: f64,
    /// The value is beyond its last range.
    pub over_range: bool,
}

impl Prefix {
    /// As written before the unit.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Micro => "u",
            Self::Milli => "m",
            Self::One => "",
            Self::Kilo => "k",
            Self::Mega => "M",
            Self::Giga => "G",
        }
    }

    const fn power_of_ten(self) -> i32 {
        match self {
            Self::Micro => -6,
            Self::Milli => -3,
            Self::One => 0,
            Self::Kilo => 3,
            Self::Mega => 6,
            Self::Giga => 9,
        }
    }
}

impl Tolerance {
    /// None at all.
    pub const NONE: Self =
        Self { percent_of_reading: 0.0, counts: 0.0, percent_of_full_scale: 0.0 };

    /// The most a reading of `value` may be off in `range`.
    pub fn of(&self, value: f64, range: &DisplayRange) -> f64 {
        (self.percent_of_reading * value.abs() + self.percent_of_full_scale * range.full_scale)
            / 100.0
            + self.counts * range.resolution
    }
}

impl Display {
    /// A display with the ranges given, smallest first.
    pub fn new(unit: &str, ranges: &[(f64, f64, Prefix)], tolerance: Tolerance) -> Self {
        let ranges = ranges
            .iter()
            .map(|&(full_scale, resolution, prefix)| DisplayRange {
                full_scale,
                resolution,
                prefix,
            })
            .collect();
        Self { unit: unit.to_owned(), ranges, tolerance }
    }

    /// What it shows of a true value, which may be negative.
    pub fn show(&self, value: f64) -> Displayed {
        let fits = |range: &&DisplayRange| rounded(value.abs(), range) <= range.full_scale;
        let Some(range) = self.ranges.iter().find(fits) else {
            let beyond = self.ranges.last().map_or(0.0, |range| range.full_scale);
            return Displayed {
                text: "OL".to_owned(),
                value: None,
                low: beyond,
                high: f64::INFINITY,
                over_range: true,
            };
        };
        let off = self.tolerance.of(value, range);
        let least = if value < 0.0 { value - off } else { (value - off).max(0.0) };
        let shown = rounded(value, range);
        Displayed {
            text: self.text(shown, range),
            value: Some(shown),
            low: rounded(least, range),
            high: rounded(value + off, range),
            over_range: false,
        }
    }

    fn text(&self, shown: f64, range: &DisplayRange) -> String {
        let scale = 10f64.powi(range.prefix.power_of_ten());
        let step = range.resolution / scale;
        // Steps like 0.1 are not exact in binary; the margin keeps log10 from falling short.
        let decimals = (-libm::log10(step * 1.000_001).floor()).clamp(0.0, 9.0) as usize;
        let symbol = range.prefix.symbol();
        // A rounded -0.0 is shown as 0.
        format!("{:.decimals$} {symbol}{}", shown / scale + 0.0, self.unit)
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.that("ranges", !self.ranges.is_empty(), "is empty, a display has at least one");
        let mut last = 0.0;
        check.each("ranges", &self.ranges, |check, range| {
            let DisplayRange { full_scale, resolution, .. } = *range;
            check.positive("resolution", resolution);
            check.positive("full_scale", full_scale);
            check.that_with("resolution", resolution < full_scale, || {
                format!("is {resolution}, must be below the full scale {full_scale}")
            });
            check.that_with("full_scale", full_scale > last, || {
                format!("is {full_scale}, ranges must rise")
            });
            last = full_scale;
        });
        check.inside("tolerance", |check| {
            check.not_negative("percent_of_reading", self.tolerance.percent_of_reading);
            check.not_negative("counts", self.tolerance.counts);
            check.not_negative("percent_of_full_scale", self.tolerance.percent_of_full_scale);
        });
    }
}

impl Displayed {
    /// What stands on a meter that refuses to measure.
    pub(super) fn refused() -> Self {
        Self {
            text: "refuses".to_owned(),
            value: None,
            low: 0.0,
            high: f64::INFINITY,
            over_range: false,
        }
    }
}

/// More decimals than this no double holds.
const DECIMALS_MAX: i32 = 15;

/// The nearest step of a range, as the number nearest to its digits: steps like 0.1 are not exact in
/// binary, and what they add up to is not either.
fn rounded(value: f64, range: &DisplayRange) -> f64 {
    let shown = (value / range.resolution).round() * range.resolution;
    let mut scales = (0..=DECIMALS_MAX).map(|decimals| 10f64.powi(decimals));
    let is_whole = |scale: &f64| {
        let step = range.resolution * scale;
        (step - step.round()).abs() < 1e-6 * step
    };
    scales.find(is_whole).map_or(shown, |scale| (shown * scale).round() / scale)
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn a_meter_takes_the_smallest_range_that_holds_the_reading() {
        let display = Display::new(
            "ohm",
            &[(600.0, 0.1, Prefix::One), (6e3, 1.0, Prefix::Kilo), (40e6, 10e3, Prefix::Mega)],
            Tolerance { percent_of_reading: 1.0, counts: 2.0, percent_of_full_scale: 0.0 },
        );
        assert_eq!(display.show(0.185).text, "0.2 ohm");
        assert_eq!(display.show(599.97).text, "600.0 ohm");
        assert_eq!(display.show(600.06).text, "0.600 kohm");
        assert_eq!(display.show(2.513e6).text, "2.51 Mohm");
        assert_eq!(display.show(2.5e9).text, "OL");
        assert_eq!(display.show(-0.04).text, "0.0 ohm");
    }

    #[test]
    fn a_value_has_the_digits_that_the_display_has() {
        let volts = Display::volts_6000_counts();
        let all = (0..12_000).map(|step| volts.show(f64::from(step) * 0.05));
        let long = |number: f64| number.to_string().len() > "-119.25".len();
        let noisy = |shown: &Displayed| [shown.value.unwrap(), shown.low, shown.high].map(long);
        assert!(all.clone().all(|shown| noisy(&shown) == [false; 3]), "as 9.700000000000001");
        let ranges =
            [(6e-6, 1e-9, Prefix::Micro), (60.0, 0.25, Prefix::One), (4e4, 10.0, Prefix::Kilo)];
        let odd = Display::new("A", &ranges, Tolerance::NONE);
        let values = [3.7e-9, 5.6, 12_344.0].map(|value| odd.show(value).value.unwrap());
        assert_eq!(values.map(|value| value.to_string()), ["0.000000004", "5.5", "12340"]);
    }

    #[test]
    fn the_band_is_percent_of_reading_plus_counts() {
        let shown = Display::new(
            "V",
            &[(600.0, 0.1, Prefix::One)],
            Tolerance { percent_of_reading: 1.0, counts: 3.0, percent_of_full_scale: 0.0 },
        )
        .show(120.0);
        assert_relative_eq!(shown.low, 118.5, max_relative = 1e-9);
        assert_relative_eq!(shown.high, 121.5, max_relative = 1e-9);
    }

    #[test]
    fn a_needle_is_off_by_a_share_of_its_full_scale_at_any_reading() {
        let needle = Tolerance { percent_of_reading: 1.0, counts: 2.0, percent_of_full_scale: 4.0 };
        let range = DisplayRange { full_scale: 250.0, resolution: 0.5, prefix: Prefix::One };
        // 1 % of 100 V, 4 % of 250 V and twice 0.5 V.
        assert_relative_eq!(needle.of(100.0, &range), 1.0 + 10.0 + 1.0, max_relative = 1e-12);
    }

    #[test]
    fn below_zero_the_band_lies_on_both_sides_and_above_it_never_falls_below() {
        let display = Display::new(
            "V",
            &[(600.0, 0.1, Prefix::One)],
            Tolerance { percent_of_reading: 1.0, counts: 3.0, percent_of_full_scale: 0.0 },
        );
        // 1.2 V and three steps of 0.1 V either way.
        let below = display.show(-120.0);
        assert_relative_eq!(below.low, -121.5, max_relative = 1e-9);
        assert_relative_eq!(below.high, -118.5, max_relative = 1e-9);
        // Nothing is shown as anything from nothing to three steps.
        let nothing = display.show(0.0);
        assert!(nothing.low.abs() < 1e-9, "{}", nothing.low);
        assert_relative_eq!(nothing.high, 0.3, max_relative = 1e-9);
    }
}
