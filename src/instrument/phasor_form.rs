//! The documented form of phasors in results.

use serde::{Serialize, Serializer};

use crate::quantity::Phasor;

#[derive(Serialize)]
struct Form {
    re: f64,
    im: f64,
    rms: f64,
    degrees: f64,
}

impl From<Phasor> for Form {
    fn from(phasor: Phasor) -> Self {
        Self { re: phasor.re, im: phasor.im, rms: phasor.magnitude(), degrees: phasor.degrees() }
    }
}

/// `{re, im, rms, degrees}`, as everywhere in this project's JSON.
pub(super) fn full<S: Serializer>(phasor: &Phasor, serializer: S) -> Result<S::Ok, S::Error> {
    Form::from(*phasor).serialize(serializer)
}

/// The same, `null` when undetermined.
pub(super) fn optional<S: Serializer>(
    phasor: &Option<Phasor>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    phasor.map(Form::from).serialize(serializer)
}
