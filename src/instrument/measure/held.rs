//! The network with an instrument held there, for who asks what its load sets going.

use crate::circuit::Circuit;
use crate::instrument::bench::{Bench, Lean};
use crate::instrument::problem::MeasureProblem;
use crate::instrument::residual::Poles;
use crate::instrument::{Instrument, Place, Request};
use crate::netlist::{Law, Netlist};

use super::{Outlets, Rig, Spot};

/// An instrument of more ohms passes less than 4 mA at 240 V, which no residual current device trips
/// on.
const LOADS_BELOW_OHM: f64 = 60e3;

/// Whether a request holds down a button that makes a residual current.
pub(crate) fn holds_button(request: &Request) -> bool {
    match &request.instrument {
        Instrument::TestButton(_) => true,
        Instrument::PlugTester(tester) => tester.is_pressed(),
        _ => false,
    }
}

/// The network with a button held down that makes a residual current, a plug-in tester's or a
/// ground-fault device's own; `None` for every other request, and where the plug does not fit.
pub(crate) fn with_button_held(
    netlist: &Netlist,
    circuit: &Circuit,
    request: &Request,
) -> Result<Option<Netlist>, MeasureProblem> {
    let bench = Bench::new(netlist);
    let ports = match (&request.instrument, &request.place) {
        (Instrument::TestButton(button), Place::Device { device }) => {
            vec![button.port(&Poles::find(&bench, device)?)]
        }
        (Instrument::PlugTester(tester), _) if tester.is_pressed() => {
            let rig = Rig::new(&bench, &Outlets::of(Some(circuit)), request)?;
            rig.ports(&bench, Lean::Reluctant)?.unwrap_or_default()
        }
        _ => return Ok(None),
    };
    Ok(if ports.is_empty() { None } else { Some(bench.with(&ports)?.0) })
}

/// Whether an instrument by itself draws enough for a residual current device to trip.
pub(crate) fn loads(request: &Request) -> bool {
    let ohm = match &request.instrument {
        Instrument::Voltmeter(meter) => meter.burden.resistance_ohm(),
        Instrument::StepTester(tester) => Some(tester.resistance_ohm),
        Instrument::LoadedTest(test) => Some(test.load.resistance_ohm),
        _ => None,
    };
    ohm.is_some_and(|ohm| ohm < LOADS_BELOW_OHM)
}

/// The network with such an instrument held there; `None` for every other request, and where it does
/// not fit.
pub(crate) fn with_load_held(
    netlist: &Netlist,
    circuit: &Circuit,
    request: &Request,
) -> Result<Option<Netlist>, MeasureProblem> {
    if !loads(request) {
        return Ok(None);
    }
    let bench = Bench::new(netlist);
    let rig = Rig::new(&bench, &Outlets::of(Some(circuit)), request)?;
    let ports = match (&request.instrument, &rig.spot) {
        (Instrument::LoadedTest(test), Spot::Slots(_)) => {
            let (hot, back, _) = rig.loaded_slots(&bench)?;
            let mut ports = test.looks((hot, back), None);
            ports.iter_mut().for_each(|port| port.law = Law::Impedance(test.load));
            ports
        }
        _ => rig.ports(&bench, Lean::Reluctant)?.unwrap_or_default(),
    };
    Ok(if ports.is_empty() { None } else { Some(bench.with(&ports)?.0) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::condition::Condition;
    use crate::instrument::presets;
    use crate::netlist::wire;

    fn studio() -> Circuit {
        let text = include_str!("../../../circuits/pottery-studio.ron");
        crate::circuit::file::read(text).unwrap().circuit
    }

    fn in_kiln(instrument: Instrument) -> Request {
        Request::new(instrument, Place::receptacle("kiln"))
    }

    #[test]
    fn a_button_is_held_where_there_is_one_and_somebody_holds_it() {
        let device = Place::Device { device: "gf".to_owned() };
        assert!(holds_button(&Request::new(presets::own_test_button(), device)));
        assert!(holds_button(&in_kiln(presets::plug_tester_button_pressed())));
        assert!(!holds_button(&in_kiln(presets::plug_tester_resistive())));
        assert!(!holds_button(&in_kiln(presets::voltmeter_low_impedance())));
    }

    #[test]
    fn a_network_has_a_button_in_it_only_while_it_is_pressed() {
        let circuit = studio();
        let netlist = wire(&circuit, &Condition::default()).unwrap();
        let held = |instrument| with_button_held(&netlist, &circuit, &in_kiln(instrument)).unwrap();
        let pressed = held(presets::plug_tester_button_pressed()).unwrap();
        // Three lamps, the button and a look at the ground.
        assert_eq!(pressed.elements().len(), netlist.elements().len() + 5);
        assert!(held(presets::plug_tester_resistive()).is_none());
        assert!(held(presets::voltmeter_low_impedance()).is_none());
    }

    #[test]
    fn a_load_that_does_not_fit_is_in_no_network() {
        let circuit = studio();
        let netlist = wire(&circuit, &Condition::default()).unwrap();
        let one_slot = Place::slots([("hot", "kiln.hot")]);
        let request = Request::new(presets::voltmeter_low_impedance(), one_slot);
        assert!(with_load_held(&netlist, &circuit, &request).unwrap().is_none());
        let fits = in_kiln(presets::voltmeter_low_impedance());
        let loaded = with_load_held(&netlist, &circuit, &fits).unwrap().unwrap();
        assert_eq!(loaded.elements().len(), netlist.elements().len() + 1);
    }
}
