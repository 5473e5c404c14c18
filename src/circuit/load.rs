//! What is plugged in or wired in.

use crate::quantity::{Address, Impedance};

/// A load between two terminals; the element is `load:ID`.
///
/// ```
/// use slotwise::circuit::{Load, LoadKind};
/// let lamp = Load {
///     id: "lamp".into(),
///     between: ("lamp.hot".into(), "lamp.neutral".into()),
///     kind: LoadKind::Resistive { rated_watt: 60.0, rated_volt: 120.0 },
///     on: true,
///     plugged_in: true,
///     plug_links: vec!["lamp.plug.hot".into(), "lamp.plug.neutral".into()],
///     frame: None,
/// };
/// assert_eq!(lamp.plug_links.len(), 2);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Its name.
    pub id: String,
    /// Its two ends.
    pub between: (Address, Address),
    /// Its law.
    pub kind: LoadKind,
    /// Switched on as described.
    pub on: bool,
    /// Plugged in as described; one that is not has its plug's links open until a condition
    /// says otherwise. Means nothing for a load that is hard-wired.
    pub plugged_in: bool,
    /// Links that its plug makes, all opened when it is unplugged; empty if hard-wired.
    pub plug_links: Vec<String>,
    /// Its metal case, if it has one: a terminal even where nothing grounds it.
    pub frame: Option<Address>,
}

/// Laws of loads. `docs/model.md` has the laws, `docs/defaults.md` the figures that a file need
/// not state.
///
/// ```
/// use slotwise::circuit::LoadKind;
/// let filament = LoadKind::Filament {
///     rated_watt: 60.0,
///     rated_volt: 120.0,
///     cold_fraction: 0.072,
///     exponent: 0.54,
/// };
/// assert!(matches!(filament, LoadKind::Filament { .. }));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum LoadKind {
    /// A heater: R = V₀²/P₀.
    Resistive {
        /// Rated power in watts.
        rated_watt: f64,
        /// Rated voltage in volts rms.
        rated_volt: f64,
    },
    /// A stated impedance.
    Impedance(Impedance),
    /// A capacitor.
    Capacitor {
        /// Capacitance in farads.
        capacitance_farad: f64,
    },
    /// A tungsten filament, [`Law::Filament`](crate::netlist::Law::Filament).
    Filament {
        /// Rated power in watts.
        rated_watt: f64,
        /// Rated voltage in volts rms.
        rated_volt: f64,
        /// Cold share of the rated resistance.
        cold_fraction: f64,
        /// Exponent of the rise of resistance with voltage.
        exponent: f64,
    },
    /// Electronics that draw constant power down to a cut-out voltage,
    /// [`Law::ConstantPower`](crate::netlist::Law::ConstantPower).
    ConstantPower {
        /// Active power in watts.
        active_watt: f64,
        /// Reactive power in vars, positive when inductive.
        reactive_var: f64,
        /// Cut-out voltage in volts rms.
        cut_out_volt: f64,
    },
    /// A pilot lamp or another indicator that takes nothing to speak of below a threshold,
    /// [`Law::ThresholdLamp`](crate::netlist::Law::ThresholdLamp).
    PilotLamp {
        /// Threshold in volts rms.
        threshold_volt: f64,
        /// Resistance when dark, ohms; `f64::INFINITY` for none.
        off_ohm: f64,
        /// Series resistance when lit, ohms.
        series_ohm: f64,
    },
    /// An induction motor: an impedance when running and another when stalled.
    Motor {
        /// Impedance at full speed.
        running: Impedance,
        /// Impedance with the rotor locked.
        locked_rotor: Impedance,
    },
}

impl LoadKind {
    /// Whether it is an impedance, or none, whatever voltage it has.
    pub(crate) fn is_linear(&self) -> bool {
        matches!(
            self,
            Self::Resistive { .. }
                | Self::Impedance(_)
                | Self::Capacitor { .. }
                | Self::Motor { .. }
        )
    }

    /// What it draws at its rated voltage, watts, where it is known by that.
    pub(crate) fn rated_watt(&self) -> Option<f64> {
        match *self {
            Self::Resistive { rated_watt, .. } | Self::Filament { rated_watt, .. } => {
                Some(rated_watt)
            }
            Self::ConstantPower { active_watt, .. } => Some(active_watt),
            _ => None,
        }
    }
}
