//! A figure as a person reports it.

use serde::Serialize;

/// A figure as a person reports it: read off, about so much, or within bounds. The unit is that
/// of what it is said of.
///
/// ```
/// use slotwise::diagnosis::Amount;
/// assert_eq!(Amount::Between { low: 60.0, high: 90.0 }.middle(), 75.0);
/// assert_eq!(Amount::Under(5.0).bounds(), (0.0, 5.0));
/// let (low, high) = Amount::Exactly(118.0).bounds();
/// assert!(low < 118.0 && 118.0 < high);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// Read off a display.
    Exactly(f64),
    /// Remembered, or read off a needle that moved.
    About(f64),
    /// Within these bounds.
    Between {
        /// Least.
        low: f64,
        /// Most.
        high: f64,
    },
    /// Less than this.
    Under(f64),
    /// More than this.
    Over(f64),
}

/// What is read off a display is this share of it off at most ...
const READ_SHARE: f64 = 0.01;

/// ... and at least this much of its unit.
const READ_LEAST: f64 = 0.5;

/// `about` is this share off at most, and at least twice [`READ_LEAST`].
const ABOUT_SHARE: f64 = 0.1;

impl Amount {
    /// Whether anything can show it: finite, no less than nothing, the lower bound first.
    pub(super) fn can_be(&self) -> bool {
        let is_size = |value: f64| value.is_finite() && value >= 0.0;
        match *self {
            Self::Between { low, high } => is_size(low) && is_size(high) && low <= high,
            Self::Exactly(value) | Self::About(value) | Self::Under(value) | Self::Over(value) => {
                is_size(value)
            }
        }
    }

    /// The least and the most that is meant, `inf` where there is no most. A figure read off is
    /// taken within 1 % and half a unit, `about` within 10 % and one unit: how far a person's
    /// reading is trusted beyond that is for the likelihood.
    pub fn bounds(&self) -> (f64, f64) {
        let around = |value: f64, share: f64, least: f64| {
            let off = (value.abs() * share).max(least);
            ((value - off).max(0.0), value + off)
        };
        match *self {
            Self::Exactly(value) => around(value, READ_SHARE, READ_LEAST),
            Self::About(value) => around(value, ABOUT_SHARE, 2.0 * READ_LEAST),
            Self::Between { low, high } => (low, high),
            Self::Under(high) => (0.0, high),
            Self::Over(low) => (low, f64::INFINITY),
        }
    }

    /// The figure itself, or the middle of its bounds; the bound, where there is only one.
    pub fn middle(&self) -> f64 {
        match *self {
            Self::Exactly(value) | Self::About(value) | Self::Over(value) => value,
            Self::Between { low, high } => low.midpoint(high),
            Self::Under(high) => high / 2.0,
        }
    }
}
