//! What trips at once on a network that is wired and eliminated once ([`ManyConditions`]).

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};

use crate::circuit::Circuit;
use crate::circuit::connection::contact_element;
use crate::condition::catalogue::FaultKind;
use crate::condition::{Condition, EndOfCable, Fault, LoadState};
use crate::instrument::{Current, ManyConditions, ManyWork, MeasureProblem};
use crate::netlist::Netlist;
use crate::protection::{Protection, State};
use crate::quantity::{Address, Phasor};

use super::trip;

/// The devices that may trip, as changes after a number of others.
pub(crate) struct Tripping<'c> {
    protection: Protection<'c>,
    devices: Vec<&'c str>,
    /// Number of the changes before those that trip the devices.
    n_changes: usize,
    /// Elements whose currents the devices sense, by their names.
    elements: HashMap<String, usize>,
    electronics: Vec<(Address, Address)>,
    loops: Option<Loops<'c>>,
}

/// The loops that neutrals of ground-fault devices make, in a network without what is not linear:
/// the test voltage, a few millivolts, lights no lamp and starts no electronics.
struct Loops<'c> {
    many: ManyConditions<'c>,
    /// Devices that detect them, with the change that opens their contacts.
    devices: Vec<(&'c str, usize)>,
}

/// Room for the numbers, one a thread.
pub(crate) struct TrippingWork {
    loops: Option<RefCell<ManyWork>>,
}

/// The changes that are made, and where the voltages of the devices' electronics are read.
pub(crate) struct Made<'w, 'c> {
    pub(crate) many: &'w ManyConditions<'c>,
    /// The group of ports that [`Tripping::electronics`] are.
    pub(crate) electronics: usize,
    pub(crate) work: &'w mut ManyWork,
    pub(crate) changes: &'w mut Vec<usize>,
}

impl<'c> Tripping<'c> {
    /// `changes` are all but those of the devices, and what they are to a network of linear
    /// elements. `None` where that network cannot be prepared.
    pub(crate) fn new(
        circuit: &'c Circuit,
        base: (&Condition, &Netlist),
        changes: &[Condition],
    ) -> Option<Self> {
        let (base, netlist) = base;
        let protection = Protection::new(circuit);
        let there = |(a, b): &&(Address, Address)| {
            netlist.find_node(a).is_some() && netlist.find_node(b).is_some()
        };
        let electronics = protection.electronics().filter(there).cloned().collect();
        let mut elements: BTreeSet<String> =
            protection.elements().into_iter().map(str::to_owned).collect();
        // What no change moves is sensed as installed, or never.
        let sensed: BTreeSet<&str> = protection.landings().collect();
        let faults = changes.iter().flat_map(|change| &change.faults);
        let moved = faults.flat_map(moved).filter(|contact| sensed.contains(&**contact));
        elements.extend(moved);
        let elements = elements.into_iter().zip(0..).collect();
        let devices = protection.devices().collect();
        let n_changes = changes.len();
        let mut tripping =
            Self { protection, devices, n_changes, elements, electronics, loops: None };
        if tripping.protection.detecting_loops().next().is_some() {
            tripping.loops = Some(Loops::new(circuit, &tripping, base, changes)?);
        }
        Some(tripping)
    }

    /// These changes and then each device tripped.
    pub(crate) fn and_devices(&self, mut changes: Vec<Condition>) -> Vec<Condition> {
        changes.extend(self.devices.iter().map(|&device| {
            let mut tripped = Condition::default();
            tripped.breakers.insert(device.to_owned(), false);
            tripped
        }));
        changes
    }

    /// The elements whose currents have to be watched, in the order in which they are.
    pub(crate) fn elements(&self) -> Vec<&str> {
        let mut elements: Vec<(&str, usize)> =
            self.elements.iter().map(|(name, &at)| (name.as_str(), at)).collect();
        elements.sort_unstable_by_key(|&(_, at)| at);
        elements.into_iter().map(|(name, _)| name).collect()
    }

    /// The pairs of terminals whose voltages have to be read.
    pub(crate) fn electronics(&self) -> &[(Address, Address)] {
        &self.electronics
    }

    pub(crate) fn work(&self) -> TrippingWork {
        TrippingWork { loops: self.loops.as_ref().map(|loops| RefCell::new(loops.many.work())) }
    }

    /// Puts the changes made, and those of all devices that then trip at once; the names of these
    /// in order. `None` where it takes the whole network to know.
    pub(crate) fn settle(
        &self,
        made: &mut Made<'_, '_>,
        work: &TrippingWork,
    ) -> Option<Result<Vec<String>, MeasureProblem>> {
        let mut tripped: Vec<String> = Vec::new();
        loop {
            if let Err(problem) = made.many.put(made.changes, made.work) {
                return Some(Err(problem));
            }
            let currents = made.many.currents(made.work)?;
            let electronics = made.many.read_voltages(made.electronics, made.work).ok()?;
            let electronics = electronics.iter().map(|seen| seen.voltage_volt).collect();
            let (changes, loops) = (made.changes.as_slice(), work.loops.as_ref());
            let many = (made.many, &*made.work);
            let standing = Standing { tripping: self, many, currents, electronics, changes, loops };
            let more = trip::at_once(self.protection.standing_in(&standing));
            if more.is_empty() {
                return Some(Ok(tripped));
            }
            // What has tripped carries nothing and is not named again: this ends.
            for name in &more {
                let device = self.devices.iter().position(|device| device == name)?;
                made.changes.push(self.n_changes + device);
            }
            tripped.extend(more);
        }
    }
}

impl<'c> Loops<'c> {
    fn new(
        circuit: &'c Circuit,
        tripping: &Tripping<'c>,
        base: &Condition,
        changes: &[Condition],
    ) -> Option<Self> {
        let mut base = base.clone();
        for load in &circuit.parts().loads {
            let off = base.loads.get(&load.id).map_or(!load.on, |state| *state != LoadState::On);
            if !load.kind.is_linear() && !off {
                base.loads.insert(load.id.clone(), LoadState::Off);
            }
        }
        let devices: Vec<(&str, usize)> = tripping
            .protection
            .detecting_loops()
            .filter_map(|device| {
                let at = tripping.devices.iter().position(|known| *known == device)?;
                Some((device, tripping.n_changes + at))
            })
            .collect();
        let side = |device: &str, side: &str| Address::from(format!("{device}.{side}.neutral"));
        let port = |&(device, _): &(&str, usize)| (side(device, "load"), side(device, "line"));
        let groups: Vec<Vec<_>> = devices.iter().map(|device| vec![port(device)]).collect();
        let changes = tripping.and_devices(changes.to_vec());
        let many = ManyConditions::new(circuit, &base, &changes, &groups).ok()?;
        Some(Self { many, devices })
    }
}

/// Whether a fault is asked of the whole network. A few conductors that lead from one circuit to
/// another in the network that is prepared, and everything else in it takes ten times as long.
pub(crate) fn is_asked_whole(circuit: &Circuit, kind: FaultKind) -> bool {
    circuit.parts().branch_circuits.len() > FEW_CIRCUITS && kind.joins_circuits()
}

/// So many circuits may be joined in what is prepared.
const FEW_CIRCUITS: usize = 2;

/// The contacts that a fault lands elsewhere, by their names.
fn moved(fault: &Fault) -> Vec<String> {
    let at = |end: &EndOfCable, conductor: &str| contact_element(&end.cable, end.end, conductor);
    match fault {
        Fault::WrongLanding { end, conductor, .. } => vec![at(end, conductor)],
        Fault::ExchangedAtCableEnd { end, conductors: (p, q) } => vec![at(end, p), at(end, q)],
        Fault::ExchangedJoints { elements: (p, q) } => vec![p.clone(), q.clone()],
        _ => Vec::new(),
    }
}

/// A state as the devices sense it.
struct Standing<'s, 'c> {
    tripping: &'s Tripping<'c>,
    many: (&'s ManyConditions<'c>, &'s ManyWork),
    currents: Vec<Option<Current>>,
    electronics: Vec<Option<Phasor>>,
    changes: &'s [usize],
    loops: Option<&'s RefCell<ManyWork>>,
}

impl Standing<'_, '_> {
    fn element(&self, element: &str) -> Option<Current> {
        *self.currents.get(*self.tripping.elements.get(element)?)?
    }
}

impl State for Standing<'_, '_> {
    fn is_open(&self, element: &str) -> Option<bool> {
        Some(self.element(element)?.is_open)
    }

    fn current(&self, element: &str) -> Option<Phasor> {
        Some(self.element(element)?.ampere)
    }

    fn lands_on(&self, element: &str, terminal: &Address) -> Option<bool> {
        let (many, work) = self.many;
        let (a, b) = many.ends(*self.tripping.elements.get(element)?, work)?;
        let terminal = many.netlist().find_node(terminal)?;
        Some([a, b].contains(&terminal))
    }

    fn difference(&self, a: &Address, b: &Address) -> Option<Phasor> {
        let place = self.tripping.electronics.iter().position(|(p, q)| p == a && q == b)?;
        *self.electronics.get(place)?
    }

    fn loop_ohm(&self, device: &str) -> Option<f64> {
        let (loops, mut work) = (self.tripping.loops.as_ref()?, self.loops?.borrow_mut());
        let group = loops.devices.iter().position(|(known, _)| *known == device)?;
        let mut changes = self.changes.to_vec();
        changes.push(loops.devices.get(group)?.1);
        loops.many.put(&changes, &mut work).ok()?;
        let seen = loops.many.read(group, &mut work).ok()?.first()?.impedance?;
        Some(Phasor::new(seen.resistance_ohm, seen.reactance_ohm).magnitude())
    }
}
