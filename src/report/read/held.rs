//! Where each kind of instrument is held: the requests that one name asks for.

use crate::circuit::{Circuit, Configuration, DeviceKind, Outlet};
use crate::instrument::{Instrument, Place, Preparation, Request, Through};
use crate::protection::circuit_conductors;
use crate::quantity::Address;

use super::asked::Wanted;

/// One request, where a reader looks for its answer, and which part of that place it is.
#[derive(Clone, Debug)]
pub(super) struct Way {
    /// The receptacle, breaker, joint, load or device.
    pub(super) at: String,
    /// The slots or conductors, as `hot-neutral`; empty where the reading names them itself.
    pub(super) spot: String,
    pub(super) request: Request,
}

impl Way {
    fn new(instrument: &Instrument, at: &str, spot: impl Into<String>, place: Place) -> Self {
        let request = Request::new(instrument.clone(), place);
        Self { at: at.to_owned(), spot: spot.into(), request }
    }
}

/// Every way that an instrument is held at what was asked for.
pub(super) fn everywhere(circuit: &Circuit, instrument: &Instrument, wanted: &Wanted) -> Vec<Way> {
    match instrument {
        Instrument::Clamp(_) => around(circuit, instrument, wanted),
        Instrument::Residual(_) | Instrument::TestButton(_) => {
            at_devices(circuit, instrument, wanted)
        }
        _ => {
            let outlets = circuit.outlets().filter(|(place, outlet)| wanted.outlet(place, outlet));
            let mut ways: Vec<Way> =
                outlets.flat_map(|(_, outlet)| at_outlet(circuit, instrument, outlet)).collect();
            if matches!(instrument, Instrument::Person(_)) {
                ways.extend(at_cases(circuit, instrument, wanted));
            }
            let terminals = wanted.terminals.iter();
            ways.extend(
                terminals.filter_map(|terminal| at_terminal(circuit, instrument, terminal)),
            );
            ways
        }
    }
}

/// Where an instrument of a kind is held, for who asked for it elsewhere.
pub(super) const fn where_held(instrument: &Instrument) -> &'static str {
    match instrument {
        Instrument::Clamp(_) => "ask for a branch circuit, a panel or a joint",
        Instrument::Residual(_) | Instrument::TestButton(_) => {
            "ask for a ground-fault or arc-fault device, or the box that one is in"
        }
        Instrument::PlugTester(_) | Instrument::LoadedTest(_) => {
            "ask for a receptacle, or a box with one in it"
        }
        _ => "ask for a receptacle, a box with one in it, or a terminal",
    }
}

/// Every way that an instrument is held at one receptacle: none for those that are not.
pub(super) fn at_outlet(circuit: &Circuit, instrument: &Instrument, outlet: &Outlet) -> Vec<Way> {
    let at = outlet.address.as_str();
    let slots = &outlet.slots;
    let put = |spot: String, place| Way::new(instrument, at, spot, place);
    match instrument {
        Instrument::PlugTester(_) => {
            let turned: &[bool] = match Configuration::named(&outlet.configuration) {
                Some(known) if !known.polarised => &[false, true],
                _ => &[false],
            };
            let place = |&turned| Place::Receptacle { address: outlet.address.clone(), turned };
            turned.iter().map(|turned| put(turned_word(*turned).into(), place(turned))).collect()
        }
        Instrument::LoadedTest(_) => vec![put(String::new(), Place::receptacle(at))],
        Instrument::NonContact(_) => {
            let near = slots.iter();
            near.map(|(name, slot)| put(name.clone(), Place::near(slot.clone()))).collect()
        }
        Instrument::Person(_) => {
            let touched = slots.iter();
            let place = |slot: &Address| Place::between(slot.clone(), Address::earth());
            touched.map(|(name, slot)| put(name.clone(), place(slot))).collect()
        }
        Instrument::Voltmeter(_)
        | Instrument::StepTester(_)
        | Instrument::Ohmmeter(_)
        | Instrument::Insulation(_) => {
            let mut ways = Vec::new();
            for (nth, (p, from)) in slots.iter().enumerate() {
                for (q, to) in slots.iter().skip(nth + 1) {
                    let mut way = put(format!("{p}-{q}"), Place::between(from.clone(), to.clone()));
                    way.request.preparation = preparation(circuit, instrument);
                    ways.push(way);
                }
            }
            ways
        }
        _ => Vec::new(),
    }
}

/// One terminal asked for by itself: against a separate earth reference.
fn at_terminal(circuit: &Circuit, instrument: &Instrument, terminal: &Address) -> Option<Way> {
    let (spot, place) = match instrument {
        Instrument::NonContact(_) => ("", Place::near(terminal.clone())),
        Instrument::Person(_) => ("", Place::between(terminal.clone(), Address::earth())),
        Instrument::Voltmeter(_)
        | Instrument::StepTester(_)
        | Instrument::Ohmmeter(_)
        | Instrument::Insulation(_) => {
            ("to earth", Place::between(terminal.clone(), Address::earth()))
        }
        _ => return None,
    };
    let mut way = Way::new(instrument, terminal.as_str(), spot, place);
    way.request.preparation = preparation(circuit, instrument);
    Some(way)
}

/// The spot of a plug that is turned round in a receptacle that allows it.
const fn turned_word(turned: bool) -> &'static str {
    if turned { "turned" } else { "" }
}

/// Resistance is measured with every breaker off, insulation with the neutrals lifted too.
fn preparation(circuit: &Circuit, instrument: &Instrument) -> Preparation {
    match instrument {
        Instrument::Ohmmeter(_) => Preparation::breakers_off(circuit),
        Instrument::Insulation(_) => {
            let mut prepared = Preparation::breakers_off(circuit);
            let branches = circuit.parts().branch_circuits.iter();
            let conductors = branches.flat_map(|one| circuit_conductors(circuit, one));
            let conductors = conductors.map(|through| through.element);
            prepared.isolate.extend(conductors.filter(|element| element.ends_with(".neutral")));
            prepared.isolate.sort_unstable();
            prepared.isolate.dedup();
            prepared
        }
        _ => Preparation::default(),
    }
}

/// A jaw around the hot of each breaker pole and around all conductors of its circuit, and around
/// each joint asked for.
fn around(circuit: &Circuit, instrument: &Instrument, wanted: &Wanted) -> Vec<Way> {
    let mut ways = Vec::new();
    for branch in &circuit.parts().branch_circuits {
        let panel = branch.bus.as_str().split('.').next().unwrap_or_default();
        if !wanted.any(&[&branch.id, panel]) {
            continue;
        }
        let hot = Through { element: format!("breaker:{}", branch.id), sign: 1.0 };
        let one = Place::Around { conductors: vec![hot] };
        ways.push(Way::new(instrument, &branch.id, "hot", one));
        let all = Place::Around { conductors: circuit_conductors(circuit, branch) };
        ways.push(Way::new(instrument, &branch.id, "all conductors together", all));
    }
    for joint in
        circuit.parts().joints.iter().filter(|joint| wanted.joints.contains(&joint.address))
    {
        let one = Through { element: joint.element.clone(), sign: 1.0 };
        let place = Place::Around { conductors: vec![one] };
        ways.push(Way::new(instrument, joint.address.as_str(), "", place));
    }
    ways
}

fn at_devices(circuit: &Circuit, instrument: &Instrument, wanted: &Wanted) -> Vec<Way> {
    let devices = circuit.parts().devices.iter();
    devices
        .filter(|device| matches!(device.kind, DeviceKind::Protective { .. }))
        .filter(|device| {
            let mut homes = circuit.parts().places.iter();
            let home = homes.find(|place| place.devices.contains(&device.id));
            wanted.any(&[&device.id, home.map_or("", |place| &place.id)])
        })
        .map(|device| {
            let place = Place::Device { device: device.id.clone() };
            Way::new(instrument, &device.id, "", place)
        })
        .collect()
}

/// The metal cases of what is plugged in or wired in.
fn at_cases(circuit: &Circuit, instrument: &Instrument, wanted: &Wanted) -> Vec<Way> {
    let loads = circuit.parts().loads.iter().filter(|load| wanted.any(&[&load.id]));
    loads
        .filter_map(|load| {
            let frame = load.frame.as_ref()?;
            let place = Place::between(frame.clone(), Address::earth());
            Some(Way::new(instrument, &load.id, "case", place))
        })
        .collect()
}
