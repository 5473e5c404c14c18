//! How figures are written for people: volts to one decimal, small values with the digits that
//! still say something, never a false `0.0` and never a `-0.0`.

use crate::circuit::Vocabulary;

const METRES_PER_FOOT: f64 = 0.3048;

/// A length with its unit, to a tenth: feet where the circuit speaks North American.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::report::figure::length;
/// assert_eq!(length(3.048, Vocabulary::NorthAmerican), "10 ft");
/// assert_eq!(length(9.906, Vocabulary::NorthAmerican), "32.5 ft");
/// assert_eq!(length(9.906, Vocabulary::Iec), "9.9 m");
/// ```
pub fn length(metre: f64, vocabulary: Vocabulary) -> String {
    let (figure, unit) = match vocabulary {
        Vocabulary::NorthAmerican => (metre / METRES_PER_FOOT, "ft"),
        Vocabulary::Iec => (metre, "m"),
    };
    format!("{} {unit}", (figure * 10.0).round() / 10.0)
}

/// Rms volts without the unit: one decimal, two below 1 V.
///
/// ```
/// use slotwise::report::figure::volts;
/// assert_eq!(volts(119.46), "119.5");
/// assert_eq!(volts(0.0312), "0.03");
/// assert_eq!(volts(0.0001), "0.0");
/// ```
pub fn volts(volt: f64) -> String {
    scaled(volt, 1, 2)
}

/// Rms amperes without the unit: two decimals, three below 0.1 A, none from 100 A on.
///
/// ```
/// use slotwise::report::figure::amperes;
/// assert_eq!(amperes(12.504), "12.50");
/// assert_eq!(amperes(0.0052), "0.005");
/// assert_eq!(amperes(480.304), "480");
/// ```
pub fn amperes(ampere: f64) -> String {
    if ampere.abs() >= 99.995 { fixed(ampere, 0) } else { scaled(ampere, 2, 3) }
}

/// Rms amperes without the unit, small currents down to 10 µA included.
///
/// ```
/// use slotwise::report::figure::small_amperes;
/// assert_eq!(small_amperes(0.0000312), "0.00003");
/// ```
pub fn small_amperes(ampere: f64) -> String {
    scaled(ampere, 2, 5)
}

/// Watts without the unit: none to two decimals, by size.
///
/// ```
/// use slotwise::report::figure::watts;
/// assert_eq!(watts(1496.2), "1496");
/// assert_eq!(watts(3.24), "3.2");
/// ```
pub fn watts(watt: f64) -> String {
    if watt.abs() >= 99.95 { fixed(watt, 0) } else { scaled(watt, 1, 2) }
}

/// Ohms with their unit, as `0.4 ohm`, `35 milliohm` or `2.2 megohm`.
///
/// ```
/// use slotwise::report::figure::ohms;
/// assert_eq!(ohms(0.035), "35 milliohm");
/// assert_eq!(ohms(0.4), "0.4 ohm");
/// assert_eq!(ohms(2.2e6), "2.2 megohm");
/// ```
pub fn ohms(ohm: f64) -> String {
    let (value, unit) = match ohm.abs() {
        size if size >= 1e6 => (ohm / 1e6, "megohm"),
        size if size >= 1e4 => (ohm / 1e3, "kilohm"),
        size if size < 0.1 && size > 0.0 => (ohm * 1e3, "milliohm"),
        _ => (ohm, "ohm"),
    };
    format!("{} {unit}", significant(value, 3))
}

/// Milliamperes with their unit, to two significant digits below 10 mA.
///
/// ```
/// use slotwise::report::figure::milliamperes;
/// assert_eq!(milliamperes(0.00803), "8.0 mA");
/// assert_eq!(milliamperes(0.0000312), "0.031 mA");
/// ```
pub fn milliamperes(ampere: f64) -> String {
    let milliampere = ampere * 1e3;
    let decimals = if milliampere >= 9.95 { 0 } else { decimals_for(milliampere, 2) };
    format!("{} mA", fixed(milliampere, decimals))
}

/// A current that should not be there, with its unit: milliamperes up to 1 A, amperes from there on.
///
/// ```
/// use slotwise::report::figure::leak;
/// assert_eq!(leak(0.043), "43 mA");
/// assert_eq!(leak(115.24), "115 A");
/// ```
pub fn leak(ampere: f64) -> String {
    if ampere < 1.0 { milliamperes(ampere) } else { format!("{} A", amperes(ampere)) }
}

/// `least` decimals; up to `most` while the value would otherwise show fewer than two digits.
/// What still rounds to nothing is zero.
fn scaled(value: f64, least: usize, most: usize) -> String {
    let size = value.abs();
    // The value shows a digit other than zero with n decimals from half a unit of the last on.
    let shows = |n: usize, units: f64| size >= units * 10f64.powi(-(n as i32));
    if shows(least, 9.5) {
        return fixed(value, least);
    }
    match (least + 1..=most).find(|&n| shows(n, 9.5)).or_else(|| shows(most, 0.5).then_some(most)) {
        Some(n) => fixed(value, n),
        None => fixed(0.0, least),
    }
}

/// `digits` significant digits, without trailing zeros.
fn significant(value: f64, digits: usize) -> String {
    let text = fixed(value, decimals_for(value, digits));
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// The decimals that show `digits` significant digits of a value, at most nine.
fn decimals_for(value: f64, digits: usize) -> usize {
    if value.abs() < 1e-9 {
        return digits.saturating_sub(1);
    }
    let before_point = value.abs().log10().floor() as i32 + 1;
    usize::try_from(digits as i32 - before_point).unwrap_or(0).min(9)
}

/// A fixed number of decimals, and no minus sign on a zero.
fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// A probability in whole per cent; never a bare 0 or 100.
///
/// ```
/// use slotwise::report::figure::percent;
/// assert_eq!(percent(0.434), "43 %");
/// assert_eq!(percent(0.9991), "over 99 %");
/// assert_eq!(percent(0.002), "under 1 %");
/// ```
pub fn percent(probability: f64) -> String {
    match 100.0 * probability {
        percent if percent > 99.0 => "over 99 %".to_owned(),
        percent if percent < 1.0 => "under 1 %".to_owned(),
        percent => format!("{percent:.0} %"),
    }
}

/// A time that work takes: seconds up to a minute and a half, then minutes.
///
/// ```
/// use slotwise::report::figure::minutes;
/// assert_eq!(minutes(20.0), "20 s");
/// assert_eq!(minutes(420.0), "7 min");
/// ```
pub fn minutes(second: f64) -> String {
    const IN_SECONDS: f64 = 90.0;
    if second <= IN_SECONDS {
        format!("{second:.0} s")
    } else {
        format!("{:.0} min", second / 60.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mains_voltages_have_one_decimal() {
        assert_eq!(volts(120.0), "120.0");
        assert_eq!(volts(9.96), "10.0");
        assert_eq!(volts(1.26), "1.3");
    }

    #[test]
    fn small_voltages_keep_a_digit_that_says_something() {
        assert_eq!(volts(0.24), "0.24");
        assert_eq!(volts(0.03), "0.03");
        assert_eq!(volts(0.006), "0.01");
        assert_eq!(volts(0.002), "0.0");
    }

    #[test]
    fn leakage_currents_show_and_rounding_does_not() {
        assert_eq!(amperes(0.12), "0.12");
        assert_eq!(amperes(0.0041), "0.004");
        assert_eq!(amperes(0.00001), "0.00");
        assert_eq!(small_amperes(0.00012), "0.00012");
    }

    #[test]
    fn a_zero_carries_no_minus() {
        assert_eq!(watts(-0.0000001), "0.0");
        assert_eq!(volts(-0.0), "0.0");
    }

    #[test]
    fn resistances_name_the_unit_a_person_would() {
        assert_eq!(ohms(0.0005), "0.5 milliohm");
        assert_eq!(ohms(15_000.0), "15 kilohm");
        assert_eq!(ohms(300.0), "300 ohm");
        assert_eq!(ohms(0.0), "0 ohm");
    }

    #[test]
    fn currents_through_a_person_are_in_milliamperes() {
        assert_eq!(milliamperes(0.065), "65 mA");
        assert_eq!(milliamperes(0.0), "0.0 mA");
    }
}
