//! Time-current curves of breakers, as bands: thermal region and magnetic region.
//!
//! Between the points that a standard states, time falls as a power of current (a straight line
//! on the log-log paper that curves are printed on); past the last one, I²t is constant, as for
//! a bimetal that loses no heat.

use crate::circuit::TripCurve;

use super::time::TimeBand;

/// What the curve of one breaker is made of; currents as multiples of its rating.
struct Family {
    /// Up to here it never trips.
    holds: f64,
    /// Quickest (multiple, seconds), rising multiples.
    quickest: Vec<(f64, f64)>,
    /// Slowest (multiple, seconds); below the first it need not trip.
    slowest: Vec<(f64, f64)>,
    /// The magnetic release acts somewhere between these.
    magnetic: (f64, f64),
}

/// Time of a magnetic trip, seconds: under 0.1 s (IEC 60898-1; for UL 489 breakers judgement).
const MAGNETIC_S: f64 = 0.1;

/// The conventional test time of both standards, seconds.
const HOUR_S: f64 = 3600.0;

/// The time in which a breaker of a rating trips at a current, both in amperes; `None` where it
/// holds.
///
/// UL 489: carries 100 %, trips at 135 % within 1 h (2 h above 50 A), at 200 % within 2, 4 or
/// 6 min by size; NEMA AB 4: at 300 % within 50, 80 or 140 s; magnetic at 8 to 15 times
/// (judgement). IEC 60898-1: holds at 1.13, trips at 1.45 within 1 h (2 h above 63 A), at 2.55
/// in 1 to 60 s (to 120 s above 32 A); magnetic B 3 to 5, C 5 to 10, D 10 to 20 times.
pub(crate) fn overcurrent(curve: TripCurve, rating_ampere: f64, ampere: f64) -> Option<TimeBand> {
    let family = family(curve, rating_ampere);
    let multiple = ampere / rating_ampere;
    if multiple.is_nan() || multiple <= family.holds {
        return None;
    }
    let (may_act, must_act) = family.magnetic;
    let earliest_s =
        if multiple >= may_act { 0.0 } else { along(&family.quickest, multiple).unwrap_or(HOUR_S) };
    let latest_s =
        if multiple >= must_act { Some(MAGNETIC_S) } else { along(&family.slowest, multiple) };
    Some(TimeBand { earliest_s, latest_s })
}

fn family(curve: TripCurve, rating_ampere: f64) -> Family {
    let iec = |magnetic| Family {
        holds: 1.13,
        quickest: vec![(1.13, HOUR_S), (2.55, 1.0)],
        slowest: vec![
            (1.45, if rating_ampere <= 63.0 { HOUR_S } else { 2.0 * HOUR_S }),
            (2.55, if rating_ampere <= 32.0 { 60.0 } else { 120.0 }),
        ],
        magnetic,
    };
    match curve {
        TripCurve::B => iec((3.0, 5.0)),
        TripCurve::C => iec((5.0, 10.0)),
        TripCurve::D => iec((10.0, 20.0)),
        TripCurve::InverseTime => {
            let (hour, at_double, at_triple) = match rating_ampere {
                rating if rating <= 30.0 => (HOUR_S, 120.0, 50.0),
                rating if rating <= 50.0 => (HOUR_S, 240.0, 80.0),
                _ => (2.0 * HOUR_S, 360.0, 140.0),
            };
            Family {
                holds: 1.0,
                // t = 150 s / (m² - 1.1), judgement: 52 s at 2 and 19 s at 3.
                quickest: [1.1, 1.35, 2.0, 3.0].map(|m| (m, 150.0 / (m * m - 1.1))).to_vec(),
                slowest: vec![(1.35, hour), (2.0, at_double), (3.0, at_triple)],
                magnetic: (8.0, 15.0),
            }
        }
    }
}

/// The time at a multiple; `None` before the first point.
fn along(points: &[(f64, f64)], multiple: f64) -> Option<f64> {
    let first = points.first().filter(|first| multiple >= first.0)?;
    let mut below = *first;
    for &above in &points[1..] {
        if multiple < above.0 {
            let share = libm::log(multiple / below.0) / libm::log(above.0 / below.0);
            return Some(below.1 * libm::pow(above.1 / below.1, share));
        }
        below = above;
    }
    Some(below.1 * (below.0 / multiple).powi(2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn latest(curve: TripCurve, rating: f64, ampere: f64) -> Option<f64> {
        overcurrent(curve, rating, ampere)?.latest_s
    }

    #[test]
    fn a_twenty_ampere_breaker_carries_twenty_for_ever() {
        assert_eq!(overcurrent(TripCurve::InverseTime, 20.0, 20.0), None);
        let slightly = overcurrent(TripCurve::InverseTime, 20.0, 22.0).unwrap();
        assert!(!slightly.is_certain(), "110 % is promised neither way");
    }

    #[test]
    fn the_points_of_ul_489_are_on_the_curve() {
        assert_relative_eq!(latest(TripCurve::InverseTime, 20.0, 27.0).unwrap(), 3600.0);
        assert_relative_eq!(latest(TripCurve::InverseTime, 20.0, 40.0).unwrap(), 120.0);
        assert_relative_eq!(latest(TripCurve::InverseTime, 40.0, 120.0).unwrap(), 80.0);
        assert_relative_eq!(latest(TripCurve::InverseTime, 20.0, 300.0).unwrap(), 0.1);
    }

    #[test]
    fn the_points_of_iec_60898_are_on_the_curve() {
        assert_eq!(overcurrent(TripCurve::B, 16.0, 18.0), None);
        assert_relative_eq!(latest(TripCurve::C, 16.0, 1.45 * 16.0).unwrap(), 3600.0);
        let at = overcurrent(TripCurve::D, 16.0, 2.55 * 16.0).unwrap();
        assert_relative_eq!(at.earliest_s, 1.0);
        assert_relative_eq!(at.latest_s.unwrap(), 60.0);
        assert_relative_eq!(latest(TripCurve::B, 16.0, 80.0).unwrap(), 0.1);
        let between = overcurrent(TripCurve::B, 16.0, 64.0).unwrap();
        assert!(between.earliest_s <= 0.0 && between.latest_s.unwrap() > 0.1);
    }

    #[test]
    fn more_current_never_takes_longer() {
        for curve in [TripCurve::InverseTime, TripCurve::B, TripCurve::C, TripCurve::D] {
            let mut before = f64::INFINITY;
            for step in 0..400 {
                let ampere = 16.0 * 1.02_f64.powi(step);
                let now = latest(curve, 16.0, ampere).unwrap_or(f64::INFINITY);
                assert!(now <= before, "{curve:?} at {ampere} A");
                before = now;
            }
        }
    }

    #[test]
    fn a_rod_of_twenty_five_ohm_trips_no_breaker() {
        // 120 V into 25 ohm (EC&M, July 2001).
        assert_eq!(overcurrent(TripCurve::InverseTime, 15.0, 120.0 / 25.0), None);
    }
}
