//! How long a protective device takes, as a band between the quickest and the slowest that its
//! standard allows.

/// A time that is only known to lie in a band.
///
/// ```
/// use slotwise::protection::TimeBand;
/// let band = TimeBand { earliest_s: 19.0, latest_s: Some(50.0) };
/// assert!(band.is_certain());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct TimeBand {
    /// The quickest that is to be expected, seconds.
    pub earliest_s: f64,
    /// The slowest that its standard allows, seconds; `None` where it need not trip at all.
    pub latest_s: Option<f64>,
}

impl TimeBand {
    /// Whether its standard makes it trip.
    pub fn is_certain(self) -> bool {
        self.latest_s.is_some()
    }
}
