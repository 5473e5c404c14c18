//! What a button that makes a residual current sets going.

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::instrument::{MeasureProblem, Place, Request, holds_button, with_button_held};
use crate::netlist::{Netlist, wire};
use crate::quantity::Phasor;
use crate::solution::solve;

use super::{Sequence, follow};

/// How long a button is held, seconds (judgement): past the 5.6 s that UL 943 leaves a class A
/// device at 6 mA.
const HELD_S: f64 = 10.0;

/// What follows while a button is held down.
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
    /// With the button let go: the highest potential to earth in a slot of the receptacle it was
    /// pressed at, or of those on the device's own face, volts rms. Zero if it has none.
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
    let netlist = wire(circuit, &sequence.remaining)?;
    let solution = solve(&netlist)?;
    let there = circuit.outlets().filter(|(around, outlet)| match &request.place {
        Place::Receptacle { address, .. } => outlet.address == *address,
        Place::Device { device } => around.devices.contains(device),
        _ => false,
    });
    let potentials = there.flat_map(|(_, outlet)| &outlet.slots).filter_map(|(_, slot)| {
        solution.potential(netlist.find_node(slot)?).map(Phasor::magnitude)
    });
    let slots_volt = potentials.fold(0.0, f64::max);
    Ok(Some(Pressed { sequence, slots_volt }))
}
