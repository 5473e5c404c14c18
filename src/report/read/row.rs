//! The rows of a report. Their serialized form is documented in `docs/json.md`: renaming a
//! field raises the format number.

use crate::circuit::{JointKind, Side};
use crate::netlist::Role;
use crate::quantity::Phasor;
use crate::report::phasor::PhasorForm;

use super::shown::InstrumentReading;

/// How firmly a terminal is held at its potential.
///
/// ```
/// use slotwise::report::read::Held;
/// fn is_phantom(held: Held) -> bool {
///     held == Held::Floating
/// }
/// assert!(!is_phantom(Held::Firm));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Held {
    /// A conducting path holds it.
    Firm,
    /// Only capacitance or insulation leakage holds it there; an instrument pulls it down.
    Floating,
    /// It has no path of any kind to earth: it has no potential to earth at all.
    Undetermined,
}

impl Held {
    /// From a potential, if there is one, and whether only weak elements lead to it.
    pub(crate) fn of(potential: Option<Phasor>, weak: bool) -> Self {
        match (potential, weak) {
            (None, _) => Self::Undetermined,
            (Some(_), true) => Self::Floating,
            (Some(_), false) => Self::Firm,
        }
    }
}

/// A terminal and its potential.
///
/// ```
/// use slotwise::report::read::TerminalReading;
/// fn rms_volt(terminal: &TerminalReading) -> Option<f64> {
///     terminal.potential_volt.map(|potential| potential.rms)
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct TerminalReading {
    /// The conductor it belongs to, as the circuit file names it.
    pub conductor: String,
    /// Its address.
    pub address: String,
    /// Potential to remote earth; none if undetermined.
    pub potential_volt: Option<PhasorForm>,
    /// How firmly it is held there.
    pub held: Held,
}

/// A voltage between two contacts.
///
/// ```
/// use slotwise::report::read::Difference;
/// fn is_hot_to_neutral(difference: &Difference) -> bool {
///     difference.from == "hot" && difference.to == "neutral"
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Difference {
    /// From this conductor's contact.
    pub from: String,
    /// To this conductor's contact.
    pub to: String,
    /// The voltage; none between parts that nothing connects.
    pub voltage_volt: Option<PhasorForm>,
}

/// One set of contacts that a plug goes into.
///
/// ```
/// use slotwise::report::read::OutletReading;
/// fn hot_to_neutral_volt(outlet: &OutletReading) -> Option<f64> {
///     let pair = outlet.differences.iter().find(|d| d.from == "hot" && d.to == "neutral")?;
///     Some(pair.voltage_volt?.rms)
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct OutletReading {
    /// Its address.
    pub address: String,
    /// The box it is in.
    pub place: String,
    /// The circuits that feed it as installed: one, or one for each half.
    pub circuits: Vec<String>,
    /// Its standard configuration.
    pub configuration: String,
    /// Its contacts.
    pub slots: Vec<TerminalReading>,
    /// The voltage between every two of them, with nothing attached.
    pub differences: Vec<Difference>,
    /// What a plug-in tester whose plug goes in shows, either way round where it can be turned.
    pub tester: InstrumentReading,
    /// What a high-impedance meter shows between every two of them.
    pub meter: InstrumentReading,
}

/// A switch or protective device and its terminals.
///
/// ```
/// use slotwise::report::read::DeviceReading;
/// fn is_off(switch: &DeviceReading) -> bool {
///     switch.kind == "switch" && switch.position == "open"
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct DeviceReading {
    /// Its name.
    pub device: String,
    /// The box it is in, if it is in one.
    pub place: Option<String>,
    /// What it is: `switch`, `three_way_switch`, `four_way_switch`, `protective_device`.
    pub kind: &'static str,
    /// The position it is in, in words.
    pub position: &'static str,
    /// Its terminals.
    pub terminals: Vec<TerminalReading>,
}

/// A load, what it is set to and what it gets.
///
/// ```
/// use slotwise::report::read::LoadReading;
/// fn is_dead(load: &LoadReading) -> bool {
///     load.state == "on" && load.power_watt < 1.0
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LoadReading {
    /// Its name.
    pub load: String,
    /// The receptacle it is plugged into or the box it is wired into, if known.
    pub at: Option<String>,
    /// `on`, `off`, `unplugged` or `stalled`.
    pub state: &'static str,
    /// The voltage between its two ends; none between parts that nothing connects, or unplugged.
    pub voltage_volt: Option<PhasorForm>,
    /// Its current.
    pub current_ampere: PhasorForm,
    /// Active power.
    pub power_watt: f64,
    /// Reactive power, positive when inductive.
    pub reactive_var: f64,
}

/// A breaker pole.
///
/// ```
/// use slotwise::report::read::BreakerReading;
/// fn spare_ampere(breaker: &BreakerReading) -> Option<f64> {
///     Some(breaker.rating_ampere? - breaker.current_ampere.rms)
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct BreakerReading {
    /// The branch circuit it feeds.
    pub circuit: String,
    /// The bus it sits on.
    pub bus: String,
    /// On.
    pub closed: bool,
    /// Its rating, if stated.
    pub rating_ampere: Option<f64>,
    /// Its current.
    pub current_ampere: PhasorForm,
}

/// A joint that was asked for.
///
/// ```
/// use slotwise::report::read::JointReading;
/// fn is_warm(joint: &JointReading) -> bool {
///     joint.heat_watt > 1.0
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct JointReading {
    /// Its address.
    pub address: String,
    /// The place it is in.
    pub place: String,
    /// The conductor it belongs to.
    pub conductor: String,
    /// What kind of joint it is.
    pub kind: JointKind,
    /// On which side of its box it lies.
    pub side: Side,
    /// It is open.
    pub open: bool,
    /// Its resistance, if it has a fixed one.
    pub resistance_ohm: Option<f64>,
    /// The voltage across it; none between parts that nothing connects.
    pub voltage_volt: Option<PhasorForm>,
    /// Its current.
    pub current_ampere: PhasorForm,
    /// Its heat.
    pub heat_watt: f64,
}

/// The current in one element of the network.
///
/// ```
/// use slotwise::report::read::CurrentReading;
/// fn delivers(element: &CurrentReading) -> bool {
///     element.power_watt < 0.0
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct CurrentReading {
    /// The element's name.
    pub element: String,
    /// What it is.
    pub role: Role,
    /// The end the current is counted from.
    pub from: String,
    /// The end it is counted to.
    pub to: String,
    /// Its current.
    pub current_ampere: PhasorForm,
    /// The power it takes; negative for one that delivers.
    pub power_watt: f64,
}

/// One stable state of the devices that can be in several.
///
/// ```
/// use slotwise::report::read::StateReading;
/// fn others(states: &[StateReading]) -> usize {
///     states.iter().filter(|state| !state.reached).count()
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct StateReading {
    /// It is the state that this report describes.
    pub reached: bool,
    /// The state in words, one line per device.
    pub says: Vec<String>,
}
