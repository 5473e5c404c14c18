//! Trip times of ground-fault devices, from their residual current.

use super::time::TimeBand;

/// Devices rated up to here follow UL 943 class A, those above it IEC 61008-1 general type,
/// amperes.
const CLASS_A_UP_TO_AMPERE: f64 = 0.006;

/// Quickest reaction of a class A device: one half-cycle and the contacts (control circuits
/// state 15 to 30 ms above 50 mA), seconds.
const CLASS_A_QUICKEST_S: f64 = 0.015;

/// How a release waits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Delay {
    /// It does not.
    General,
    /// Type S: it waits for the devices after it.
    Selective,
}

/// Time in which a device rated `rated_ampere` trips at a residual current, both in amperes;
/// `None` where it must hold.
///
/// Class A (UL 943), nominally 5 mA: holds below 4 mA, trips from 6 mA within (20 mA/I)^1.43 s,
/// 25 ms at 264 mA and above. IEC 61008-1 general type: holds below half the rating, trips within
/// 0.3 s at the rating, 0.15 s at twice, 0.04 s at five times. Type S: 0.13 to 0.5 s at the
/// rating, 0.06 to 0.2 s at twice, 0.05 to 0.15 s at five times, 0.04 to 0.15 s beyond (the 0.04
/// recalled, not opened). Between
/// these points the quickest is that of the next higher, the slowest that of the next lower.
pub(super) fn residual(rated_ampere: f64, ampere: f64, delay: Delay) -> Option<TimeBand> {
    let multiple = ampere / rated_ampere;
    if delay == Delay::Selective {
        return selective(multiple);
    }
    if rated_ampere <= CLASS_A_UP_TO_AMPERE {
        let latest_s = (multiple >= 1.2).then(|| class_a_s(ampere));
        return (multiple >= 0.8).then_some(TimeBand { earliest_s: CLASS_A_QUICKEST_S, latest_s });
    }
    let latest_s = match multiple {
        m if m >= 5.0 => Some(0.04),
        m if m >= 2.0 => Some(0.15),
        m if m >= 1.0 => Some(0.3),
        _ => None,
    };
    (multiple >= 0.5).then_some(TimeBand { earliest_s: 0.0, latest_s })
}

/// Type S of IEC 61008-1 and 61009-1, by the multiple of the rating.
fn selective(multiple: f64) -> Option<TimeBand> {
    let latest_s = match multiple {
        m if m >= 5.0 => Some(0.15),
        m if m >= 2.0 => Some(0.2),
        m if m >= 1.0 => Some(0.5),
        _ => None,
    };
    let earliest_s = match multiple {
        m if m <= 1.0 => 0.13,
        m if m <= 2.0 => 0.06,
        m if m <= 5.0 => 0.05,
        _ => 0.04,
    };
    (multiple >= 0.5).then_some(TimeBand { earliest_s, latest_s })
}

fn class_a_s(ampere: f64) -> f64 {
    libm::pow(0.020 / ampere.min(0.264), 1.43)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn class_a_trips_by_its_law() {
        let at = |ampere: f64| residual(0.005, ampere, Delay::General);
        let latest = |milliampere: f64| at(milliampere / 1e3).unwrap().latest_s;
        assert_relative_eq!(latest(6.0).unwrap(), 5.59, epsilon = 0.005);
        assert_relative_eq!(latest(20.0).unwrap(), 1.0);
        assert_relative_eq!(latest(264.0).unwrap(), 0.025, epsilon = 0.0005);
        assert_eq!(latest(5.0), None, "between 4 and 6 mA it may trip");
        assert_eq!(at(0.0039), None);
    }

    #[test]
    fn a_thirty_milliampere_device_trips_in_the_steps_of_iec_61008() {
        let at = |ampere: f64| residual(0.03, ampere, Delay::General);
        let latest = |ampere: f64| at(ampere).and_then(|band| band.latest_s);
        assert_eq!(at(0.014), None);
        assert_eq!(latest(0.02), None);
        assert_eq!(latest(0.03), Some(0.3));
        assert_eq!(latest(0.06), Some(0.15));
        assert_eq!(latest(0.15), Some(0.04));
    }

    #[test]
    fn a_delayed_device_waits_by_the_table_of_type_s() {
        let at = |multiple: f64| residual(0.3, multiple * 0.3, Delay::Selective);
        let band = |earliest_s, latest_s| Some(TimeBand { earliest_s, latest_s });
        assert_eq!(at(0.49), None);
        assert_eq!(at(0.8), band(0.13, None));
        assert_eq!(at(1.0), band(0.13, Some(0.5)));
        assert_eq!(at(2.0), band(0.06, Some(0.2)));
        assert_eq!(at(5.0), band(0.05, Some(0.15)));
        assert_eq!(at(500.0), band(0.04, Some(0.15)));
    }

    #[test]
    fn from_five_times_its_rating_a_general_device_is_quicker_than_a_delayed_one_of_three_times_it()
    {
        for step in 0..200 {
            let ampere = 0.150_001 * 1.05_f64.powi(step);
            let general = residual(0.03, ampere, Delay::General).unwrap();
            let delayed = residual(0.1, ampere, Delay::Selective).unwrap();
            assert!(general.latest_s.unwrap() <= delayed.earliest_s, "{ampere} A");
        }
    }
}
