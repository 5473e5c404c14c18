//! What each kind of supply is where the file says nothing more; sources in
//! `docs/defaults.md`.

use crate::circuit::file::form::{EarthingForm, SystemForm};
use crate::quantity::Impedance;

/// What a system is when nothing more is stated.
pub(super) struct SystemFacts {
    pub(super) volts: f64,
    pub(super) hertz: f64,
    pub(super) earthing: EarthingForm,
    pub(super) kva: f64,
    pub(super) percent_impedance: f64,
    pub(super) x_over_r: f64,
    pub(super) service: ServiceFacts,
    pub(super) transformer_electrode_ohm: f64,
    pub(super) panel_electrode_ohm: Option<f64>,
}

pub(super) enum ServiceFacts {
    /// Metres of 4/0 AWG aluminium.
    Aluminium4By0(f64),
    /// Impedance of line and neutral.
    Stated(Impedance, Impedance),
}

/// What a system is unless stated; sources in `docs/defaults.md`.
pub(super) fn facts_of(system: SystemForm) -> SystemFacts {
    let american = SystemFacts {
        volts: 120.0,
        hertz: 60.0,
        earthing: EarthingForm::TnCS,
        kva: 25.0,
        percent_impedance: 1.8,
        x_over_r: 1.1,
        service: ServiceFacts::Aluminium4By0(30.0),
        transformer_electrode_ohm: 1.0,
        panel_electrode_ohm: Some(HOUSE_ELECTRODE_OHM),
    };
    // IEC 60725: the whole supply, less the transformer below.
    let reference = ServiceFacts::Stated(Impedance::new(0.235, 0.135), Impedance::new(0.16, 0.10));
    let european = SystemFacts {
        volts: 230.0,
        hertz: 50.0,
        earthing: EarthingForm::TnCS,
        kva: 400.0,
        percent_impedance: 4.0,
        x_over_r: 3.0,
        service: reference,
        transformer_electrode_ohm: 1.0,
        panel_electrode_ohm: None,
    };
    match system {
        SystemForm::SplitPhase | SystemForm::HighLeg | SystemForm::Windings => american,
        SystemForm::Wye208 => {
            SystemFacts { kva: 75.0, percent_impedance: 3.5, x_over_r: 2.0, ..american }
        }
        SystemForm::Wye400 => european,
        // One phase of the same transformer.
        SystemForm::Single230 => SystemFacts { kva: 400.0 / 3.0, ..european },
        SystemForm::Generator => SystemFacts {
            earthing: EarthingForm::Isolated,
            kva: 5.0,
            percent_impedance: 12.0,
            x_over_r: 3.0,
            service: ServiceFacts::Stated(Impedance::new(0.016, 0.0), Impedance::new(0.016, 0.0)),
            panel_electrode_ohm: None,
            ..american
        },
    }
}

pub(super) const HOUSE_ELECTRODE_OHM: f64 = 25.0;
