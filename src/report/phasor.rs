//! The documented form of a phasor.

use crate::quantity::Phasor;

/// A phasor as programs receive it; the unit is in the name of the key that holds it.
///
/// ```
/// use slotwise::quantity::Phasor;
/// use slotwise::report::phasor::PhasorForm;
/// let form = PhasorForm::from(Phasor::polar(120.0, 180.0));
/// assert!((form.rms - 120.0).abs() < 1e-9);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct PhasorForm {
    /// In-phase part, rms.
    pub re: f64,
    /// Quadrature part, rms.
    pub im: f64,
    /// Magnitude, rms.
    pub rms: f64,
    /// Angle in degrees, in (-180, 180].
    pub degrees: f64,
}

impl From<Phasor> for PhasorForm {
    fn from(phasor: Phasor) -> Self {
        Self { re: phasor.re, im: phasor.im, rms: phasor.magnitude(), degrees: phasor.degrees() }
    }
}
