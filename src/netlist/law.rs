//! The laws an element can follow, and which values of them no part can have.
//!
//! A law ties the voltage V across an element to the current I through it, both phasors (rms)
//! from end `a` to end `b`.

use crate::quantity::{Impedance, Phasor};

/// The law between the voltage across an element and the current through it, both phasors
/// from end `a` to end `b`.
///
/// ```
/// use slotwise::netlist::Law;
/// let splice = Law::resistance(0.4e-3);
/// let charger = Law::ConstantPower { active_watt: 60.0, reactive_var: 12.0, cut_out_volt: 85.0 };
/// assert!(splice.is_linear() && !charger.is_linear());
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Law {
    /// V = (R + jX) I. Zero is allowed and means that both ends are one point.
    Impedance(Impedance),
    /// I = jωC V, with C in farads.
    Capacitor {
        /// Capacitance in farads.
        capacitance_farad: f64,
    },
    /// V = emf + (R + jX) I: a source that delivers power shows a current from `b` to `a`.
    Source {
        /// Electromotive force, volts rms.
        emf_volt: Phasor,
        /// Internal impedance.
        impedance: Impedance,
    },
    /// A current forced from `a` to `b` through the element, whatever the voltage.
    CurrentSource {
        /// The current, amperes rms.
        current_ampere: Phasor,
    },
    /// I = 0.
    Open,
    /// A tungsten filament: I = V / R(|V|), R = (V₀²/P₀) [c + (1 - c) (|V|/V₀)^k].
    Filament {
        /// Rated power P₀ in watts.
        rated_watt: f64,
        /// Rated voltage V₀ in volts rms.
        rated_volt: f64,
        /// Cold share c of the rated resistance, in [0, 1].
        cold_fraction: f64,
        /// Exponent k of the rise of resistance with voltage.
        exponent: f64,
    },
    /// Constant power: I = conj((P + jQ) / V) while |V| >= cut-out; below it the constant
    /// admittance that continues it, I = (P - jQ) V / cut-out².
    ConstantPower {
        /// Active power P in watts.
        active_watt: f64,
        /// Reactive power Q in vars, positive when inductive.
        reactive_var: f64,
        /// Cut-out voltage in volts rms, above zero.
        cut_out_volt: f64,
    },
    /// An indicator without memory: I = V / r_off up to the threshold;
    /// I = V [1/r_off + (1 - threshold/|V|) / r_series] above it.
    ThresholdLamp {
        /// Threshold in volts rms.
        threshold_volt: f64,
        /// Resistance when dark, ohms; `f64::INFINITY` for none.
        off_ohm: f64,
        /// Series resistance when lit, ohms.
        series_ohm: f64,
    },
    /// An indicator with memory: dark (V / r_off) until |V| reaches `strike_volt`, then
    /// I = V [1/r_off + (1 - maintain/|V|) / r_series] until |V| falls below `hold_volt`.
    StrikeLamp {
        /// Voltage that lights it, volts rms.
        strike_volt: f64,
        /// Voltage below which a lit lamp goes out, volts rms.
        hold_volt: f64,
        /// Voltage of the lit gap itself, volts rms; at most `hold_volt`.
        maintain_volt: f64,
        /// Resistance when dark, ohms; `f64::INFINITY` for none.
        off_ohm: f64,
        /// Series resistance when lit, ohms.
        series_ohm: f64,
    },
    /// A glowing joint: |V| = reference_volt (reference_ampere/|I|)^exponent in phase with I,
    /// but never more than `cold_ohm` |I|.
    GlowingJoint {
        /// Drop at the reference current, volts rms.
        reference_volt: f64,
        /// Reference current, amperes rms.
        reference_ampere: f64,
        /// Exponent of the fall of the drop with current.
        exponent: f64,
        /// Resistance at small current, ohms.
        cold_ohm: f64,
    },
}

impl Law {
    /// An ideal resistance in ohms.
    pub const fn resistance(resistance_ohm: f64) -> Self {
        Self::Impedance(Impedance::resistance(resistance_ohm))
    }

    /// Whether current follows voltage in proportion (a source's, beyond its EMF).
    pub const fn is_linear(&self) -> bool {
        matches!(
            self,
            Self::Impedance(_)
                | Self::Capacitor { .. }
                | Self::Source { .. }
                | Self::CurrentSource { .. }
                | Self::Open
        )
    }

    /// What is wrong with the values, in words; `Ok` when a part could have them.
    pub(crate) fn check(&self) -> Result<(), String> {
        match *self {
            Self::Open => Ok(()),
            Self::Impedance(impedance) => check_impedance(impedance),
            Self::Capacitor { capacitance_farad } => not_negative("capacitance", capacitance_farad),
            Self::Source { emf_volt, impedance } => {
                within("EMF", emf_volt.re)?;
                within("EMF", emf_volt.im)?;
                check_impedance(impedance)
            }
            Self::CurrentSource { current_ampere } => {
                within("current", current_ampere.re)?;
                within("current", current_ampere.im)
            }
            Self::Filament { rated_watt, rated_volt, cold_fraction, exponent } => {
                positive("rated power", rated_watt)?;
                positive("rated voltage", rated_volt)?;
                between("cold fraction", cold_fraction, 0.0, 1.0)?;
                between("exponent", exponent, 0.0, 10.0)
            }
            Self::ConstantPower { active_watt, reactive_var, cut_out_volt } => {
                not_negative("active power", active_watt)?;
                within("reactive power", reactive_var)?;
                positive("cut-out voltage", cut_out_volt)
            }
            Self::ThresholdLamp { threshold_volt, off_ohm, series_ohm } => {
                not_negative("threshold", threshold_volt)?;
                check_dark(off_ohm)?;
                positive("series resistance", series_ohm)
            }
            Self::StrikeLamp { strike_volt, hold_volt, maintain_volt, off_ohm, series_ohm } => {
                positive("strike voltage", strike_volt)?;
                between("hold voltage", hold_volt, 0.0, strike_volt)?;
                between("maintaining voltage", maintain_volt, 0.0, hold_volt)?;
                check_dark(off_ohm)?;
                positive("series resistance", series_ohm)
            }
            Self::GlowingJoint { reference_volt, reference_ampere, exponent, cold_ohm } => {
                positive("reference voltage", reference_volt)?;
                positive("reference current", reference_ampere)?;
                between("exponent", exponent, 0.0, 10.0)?;
                positive("cold resistance", cold_ohm)
            }
        }
    }
}

/// Values further than this from one, in either direction, belong to no part of a building; the
/// bound keeps the products of the elimination away from the ends of f64.
const MAGNITUDE_MAX: f64 = 1e30;

fn within(name: &str, value: f64) -> Result<(), String> {
    let size = value.abs();
    if size.is_nan() || size > MAGNITUDE_MAX {
        return Err(format!("{name} {value:?} is not a value a part can have"));
    }
    if size > 0.0 && size < 1.0 / MAGNITUDE_MAX {
        return Err(format!("{name} {value:?} is too small to be meant; write 0"));
    }
    Ok(())
}

fn not_negative(name: &str, value: f64) -> Result<(), String> {
    within(name, value)?;
    if value < 0.0 { Err(format!("{name} {value} is below zero")) } else { Ok(()) }
}

fn positive(name: &str, value: f64) -> Result<(), String> {
    within(name, value)?;
    if value > 0.0 { Ok(()) } else { Err(format!("{name} {value} is not above zero")) }
}

fn between(name: &str, value: f64, least: f64, most: f64) -> Result<(), String> {
    within(name, value)?;
    if (least..=most).contains(&value) {
        Ok(())
    } else {
        Err(format!("{name} {value} is not between {least} and {most}"))
    }
}

/// A dark lamp may conduct nothing at all.
fn check_dark(off_ohm: f64) -> Result<(), String> {
    if off_ohm == f64::INFINITY { Ok(()) } else { positive("resistance when dark", off_ohm) }
}

fn check_impedance(impedance: Impedance) -> Result<(), String> {
    within("resistance", impedance.resistance_ohm)?;
    within("reactance", impedance.reactance_ohm)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_part_has_a_resistance_that_is_not_a_number() {
        for bad in [f64::NAN, f64::INFINITY, -f64::INFINITY, 1e300, 1e-300] {
            assert!(Law::resistance(bad).check().is_err(), "{bad}");
        }
        for good in [0.0, 0.3e-3, 1e12, -5.0] {
            assert!(Law::resistance(good).check().is_ok(), "{good}");
        }
    }

    #[test]
    fn a_lamp_holds_at_no_more_than_it_strikes_at() {
        let lamp = |hold_volt, maintain_volt| Law::StrikeLamp {
            strike_volt: 75.0,
            hold_volt,
            maintain_volt,
            off_ohm: f64::INFINITY,
            series_ohm: 100e3,
        };
        assert!(lamp(55.0, 50.0).check().is_ok());
        assert!(lamp(80.0, 50.0).check().is_err());
        assert!(lamp(55.0, 60.0).check().is_err());
    }
}
