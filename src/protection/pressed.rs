//! What a button that makes a residual current, or the load of an instrument, sets going.

use crate::circuit::{self, Circuit, Device, DeviceKind, Outlet};
use crate::condition::Condition;
use crate::instrument::{
    Instrument, MeasureProblem, Place, Request, holds_button, loads, with_button_held,
    with_load_held,
};
use crate::netlist::{Netlist, wire};
use crate::quantity::Address;
use crate::quantity::Phasor;
use crate::solution::solve;

use super::{Sequence, follow};

/// How long a button is held, seconds (judgement): past the 5.6 s that UL 943 leaves a class A
/// device at 6 mA.
const HELD_S: f64 = 10.0;

/// How long a loaded test loads, seconds (judgement): a few cycles.
const LOADED_S: f64 = 0.1;

/// What follows while a button is held down, or an instrument held there.
///
/// ```
/// use slotwise::instrument::{Place, Request, presets};
/// use slotwise::{Condition, circuit, protection::press};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let request = Request::new(presets::plug_tester_button_pressed(), Place::receptacle("kiln"));
/// let pressed = press(&circuit, &Condition::default(), &request)?.unwrap();
/// // No ground-fault device on the circuit: the button makes its current, and nothing opens.
/// assert!(pressed.sequence.steps.is_empty() && pressed.slots_volt > 100.0);
/// # Ok::<(), slotwise::instrument::MeasureProblem>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Pressed {
    /// What trips while it is held, and who stays closed.
    pub sequence: Sequence,
    /// With the button let go, or the instrument taken away: the highest potential to earth in a slot
    /// of the receptacle it was at, or of those on the device's own face, volts rms. Zero if it has none.
    pub slots_volt: f64,
}

/// Holds down a plug-in tester's button or a device's own, and works out what trips. `None` for
/// an instrument that has no button held down, and where it does not fit.
///
/// # Errors
///
/// As [`measure`](crate::instrument::measure).
pub fn press(
    circuit: &Circuit,
    condition: &Condition,
    request: &Request,
) -> Result<Option<Pressed>, MeasureProblem> {
    let with_button = |netlist: &Netlist| with_button_held(netlist, circuit, request);
    // Most requests hold no button: nothing is laid out for them.
    if !holds_button(request) || with_button(&wire(circuit, condition)?)?.is_none() {
        return Ok(None);
    }
    let sequence = follow(circuit, condition, HELD_S, |netlist| {
        Ok::<_, MeasureProblem>(with_button(&netlist)?.unwrap_or(netlist))
    })?;
    let slots_volt = slots_volt(circuit, &sequence.remaining, request)?;
    Ok(Some(Pressed { sequence, slots_volt }))
}

/// Holds an instrument to its place, and works out what trips on its load: a low-impedance meter
/// between hot and ground passes more than a ground-fault device lets by. `None` where nothing trips,
/// or would without it too.
///
/// # Errors
///
/// As [`measure`](crate::instrument::measure).
///
/// ```
/// use slotwise::instrument::{Place, Request, presets};
/// use slotwise::{Condition, circuit, protection::hold};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let place = Place::between("kiln.hot", "kiln.ground");
/// let request = Request::new(presets::voltmeter_low_impedance(), place);
/// // No ground-fault device on the circuit: 40 mA trip nothing.
/// assert_eq!(hold(&circuit, &Condition::default(), &request)?, None);
/// # Ok::<(), slotwise::instrument::MeasureProblem>(())
/// ```
pub fn hold(
    circuit: &Circuit,
    condition: &Condition,
    request: &Request,
) -> Result<Option<Pressed>, MeasureProblem> {
    if !loads(request) || !senses_residual(circuit) {
        return Ok(None);
    }
    let within_s = match &request.instrument {
        Instrument::LoadedTest(_) => LOADED_S,
        _ => HELD_S,
    };
    let sequence = follow(circuit, condition, within_s, |netlist| {
        let with = with_load_held(&netlist, circuit, request)?;
        Ok::<_, MeasureProblem>(with.unwrap_or(netlist))
    })?;
    let Some(first) = sequence.steps.first() else { return Ok(None) };
    let alone = follow(circuit, condition, within_s, Ok::<_, MeasureProblem>)?;
    if alone.steps.iter().any(|step| step.device == first.device) {
        return Ok(None);
    }
    let slots_volt = slots_volt(circuit, &sequence.remaining, request)?;
    Ok(Some(Pressed { sequence, slots_volt }))
}

/// Whether any device of the circuit senses a residual current: no instrument draws enough for
/// another to trip while it is held.
fn senses_residual(circuit: &Circuit) -> bool {
    let parts = circuit.parts();
    let is_protective = |device: &Device| matches!(device.kind, DeviceKind::Protective { .. });
    parts.devices.iter().any(is_protective)
        || parts.branch_circuits.iter().any(|one| one.breaker.residual_trip_ampere.is_some())
}

/// The highest potential to earth where something was held, with nothing held there any more.
fn slots_volt(
    circuit: &Circuit,
    remaining: &Condition,
    request: &Request,
) -> Result<f64, MeasureProblem> {
    let netlist = wire(circuit, remaining)?;
    let solution = solve(&netlist)?;
    let of_outlets = |is_there: &dyn Fn(&circuit::Place, &Outlet) -> bool| -> Vec<Address> {
        let there = circuit.outlets().filter(|(around, outlet)| is_there(around, outlet));
        there.flat_map(|(_, outlet)| outlet.slots.iter().map(|(_, slot)| slot.clone())).collect()
    };
    let slots = match &request.place {
        Place::Receptacle { address, .. } => of_outlets(&|_, outlet| outlet.address == *address),
        Place::Device { device } => of_outlets(&|around, _| around.devices.contains(device)),
        Place::Between { from, to } => vec![from.clone(), to.clone()],
        Place::Slots { slots } => slots.iter().map(|slot| slot.terminal.clone()).collect(),
        _ => Vec::new(),
    };
    let potentials = slots
        .iter()
        .filter_map(|slot| solution.potential(netlist.find_node(slot)?).map(Phasor::magnitude));
    Ok(potentials.fold(0.0, f64::max))
}
