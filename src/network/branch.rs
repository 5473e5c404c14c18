//! What each law is to the elimination.

use std::f64::consts::TAU;

use nalgebra::Complex;

use super::elimination::reciprocal;
use crate::netlist::Law;
use crate::quantity::{Impedance, Phasor};

/// A law at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Branch {
    /// No current, whatever the voltage.
    Open,
    /// V = emf, whatever the current.
    Rigid { emf: Complex<f64> },
    /// I = y (V - emf).
    Admittance { y: Complex<f64>, emf: Complex<f64> },
    /// I = current, whatever the voltage.
    Current { current: Complex<f64> },
}

impl Branch {
    /// What a linear law is at a frequency, and what a nonlinear one is at the admittance it is
    /// tried at.
    pub(crate) fn new(law: &Law, frequency_hz: f64, trial: impl FnOnce() -> Complex<f64>) -> Self {
        match *law {
            Law::Impedance(impedance) => series(impedance, Complex::ZERO, frequency_hz),
            Law::Capacitor { capacitance_farad } => {
                // y = jωC
                conducting(Complex::new(0.0, TAU * frequency_hz * capacitance_farad))
            }
            Law::Source { emf_volt, impedance } => {
                series(impedance, complex(emf_volt), frequency_hz)
            }
            Law::CurrentSource { current_ampere } => {
                Self::Current { current: complex(current_ampere) }
            }
            Law::Open => Self::Open,
            Law::Filament { .. }
            | Law::ConstantPower { .. }
            | Law::ThresholdLamp { .. }
            | Law::StrikeLamp { .. }
            | Law::GlowingJoint { .. } => conducting(trial()),
        }
    }
}

/// The impedance at a frequency: with direct current an inductance is a short circuit and a
/// capacitance is open (`None`).
pub(crate) fn at_frequency(impedance: Impedance, frequency_hz: f64) -> Option<Complex<f64>> {
    let Impedance { resistance_ohm, reactance_ohm } = impedance;
    if frequency_hz > 0.0 {
        Some(Complex::new(resistance_ohm, reactance_ohm))
    } else if reactance_ohm < 0.0 {
        None
    } else {
        Some(Complex::new(resistance_ohm, 0.0))
    }
}

fn series(impedance: Impedance, emf: Complex<f64>, frequency_hz: f64) -> Branch {
    match at_frequency(impedance, frequency_hz) {
        None => Branch::Open,
        Some(z) if z == Complex::ZERO => Branch::Rigid { emf },
        Some(z) => Branch::Admittance { y: reciprocal(z), emf },
    }
}

fn conducting(y: Complex<f64>) -> Branch {
    if y == Complex::ZERO { Branch::Open } else { Branch::Admittance { y, emf: Complex::ZERO } }
}

/// A phasor as the algebra's number.
pub(crate) fn complex(phasor: Phasor) -> Complex<f64> {
    Complex::new(phasor.re, phasor.im)
}

/// The algebra's number as a phasor.
pub(crate) fn phasor(value: Complex<f64>) -> Phasor {
    Phasor::new(value.re, value.im)
}
