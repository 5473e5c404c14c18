//! Thresholds as bands: what lies inside one 'may' happen.

use std::fmt;

use serde::de::{self, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};

use crate::circuit::file::BAND;

/// A threshold known only as a band, in the unit of the field that holds it. One value is a band
/// of zero width. In a file: `63` or `(58, 70)`.
///
/// ```
/// use slotwise::instrument::{Band, Standing};
/// let strike = Band::between(60.0, 68.0);
/// assert_eq!(strike.standing(64.0), Standing::Inside);
/// assert_eq!(Band::exactly(63.0).standing(63.0), Standing::Reached);
/// assert_eq!(Band::exactly(63.0).standing(62.999), Standing::Below);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// Below this it does not happen.
    pub low: f64,
    /// From this on it happens.
    pub high: f64,
}

/// How a value stands to a [`Band`].
///
/// ```
/// use slotwise::instrument::{Band, Standing};
/// assert_eq!(Band::between(4e-3, 6e-3).standing(7e-3), Standing::Reached);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// It does not happen.
    Below,
    /// It may happen.
    Inside,
    /// It happens.
    Reached,
}

impl Band {
    /// One value.
    pub const fn exactly(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// From `low` to `high`.
    pub const fn between(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    /// Where a value stands; the ends belong to the side that happens.
    pub fn standing(self, value: f64) -> Standing {
        if value >= self.high {
            Standing::Reached
        } else if value >= self.low {
            Standing::Inside
        } else {
            Standing::Below
        }
    }

    /// Whether its ends are one value, bit for bit.
    pub fn is_exact(self) -> bool {
        self.low.to_bits() == self.high.to_bits()
    }
}

impl<'de> Deserialize<'de> for Band {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_newtype_struct(BAND, BandVisitor)
    }
}

struct BandVisitor;

impl<'de> Visitor<'de> for BandVisitor {
    type Value = Band;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("one number, or two as (low, high)")
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, inner: D) -> Result<Band, D::Error> {
        inner.deserialize_any(self)
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Band, E> {
        Ok(Band::exactly(value))
    }

    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Band, E> {
        Ok(Band::exactly(value as f64))
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Band, E> {
        Ok(Band::exactly(value as f64))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut ends: A) -> Result<Band, A::Error> {
        let low = ends.next_element()?.ok_or_else(|| de::Error::invalid_length(0, &self))?;
        let high = ends.next_element()?.ok_or_else(|| de::Error::invalid_length(1, &self))?;
        Ok(Band { low, high })
    }

    fn visit_map<A: de::MapAccess<'de>>(self, mut ends: A) -> Result<Band, A::Error> {
        let mut band = Band { low: f64::NAN, high: f64::NAN };
        while let Some(name) = ends.next_key::<String>()? {
            match name.as_str() {
                "low" => band.low = ends.next_value()?,
                "high" => band.high = ends.next_value()?,
                other => return Err(de::Error::unknown_field(other, &["low", "high"])),
            }
        }
        Ok(band)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_value_is_exact_and_two_are_a_band() {
        assert!(Band::exactly(63.0).is_exact());
        assert!(!Band::between(58.0, 70.0).is_exact());
    }

    #[test]
    fn what_is_no_band_is_told_how_a_band_is_written() {
        let said = serde_json::from_str::<Band>("true").unwrap_err().to_string();
        assert!(said.contains("one number, or two as (low, high)"), "{said}");
    }
}
