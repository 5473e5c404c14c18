//! What can stand the other way without anything being broken: breakers, protective devices,
//! switches. A person who finds a receptacle dead thinks of these first.

use std::collections::BTreeSet;

use crate::circuit::{BranchCircuit, Connection, DeviceKind, Part};
use crate::condition::words::SOLID_BRIDGE_OHM;
use crate::condition::words::known::is_switch;
use crate::condition::{Condition, Fault, Gap, SwitchPosition};

use super::bridges::bridge;
use super::joints::Found;
use super::{About, FaultKind, Lister, PossibleFault, SET, of_faults};

impl Lister<'_> {
    pub(super) fn settings(&self, faults: &mut Vec<PossibleFault>) {
        self.breakers(faults);
        for device in &self.circuit.parts().devices {
            let setting = match device.kind {
                DeviceKind::Protective { closed: true, .. } => {
                    let mut change = Condition::default();
                    change.breakers.insert(device.id.clone(), false);
                    Some((FaultKind::DeviceTripped, change, self.priors.device_tripped))
                }
                ref kind => {
                    SwitchPosition::described(kind).map(SwitchPosition::thrown).map(|position| {
                        let mut change = Condition::default();
                        change.switches.insert(device.id.clone(), position);
                        (FaultKind::SwitchOther, change, self.priors.switch_other)
                    })
                }
            };
            if let Some((kind, change, weight)) = setting {
                faults.push(PossibleFault {
                    kind,
                    change,
                    conductors: vec![],
                    places: self.place_of(&device.id),
                    level_ohm: None,
                    weight,
                    subjects: vec![format!("{SET}{}", device.id)],
                    load: None,
                    once_on: false,
                });
            }
        }
    }

    /// Devices that sense leaks or arcs, in boxes and in breakers, with every contact open: so they
    /// are found when they have let go.
    pub(super) fn worn_out(&self) -> Vec<PossibleFault> {
        let parts = self.circuit.parts();
        let devices = parts.devices.iter().filter_map(|device| {
            let is_it = matches!(device.kind, DeviceKind::Protective { closed: true, .. });
            let contacts = self.circuit.connections().filter(|connection| {
                matches!(connection.part, Part::Switch(known, _) if known.id == device.id)
            });
            let elements: Vec<String> = contacts.map(|contact| contact.element).collect();
            is_it.then_some((device.id.as_str(), device.id.as_str(), elements))
        });
        let breakers = self.handles().into_iter().filter_map(|(pole, tied)| {
            let senses = tied.iter().any(|pole| pole.breaker.residual_trip_ampere.is_some());
            let poles = tied.iter().map(|pole| format!("breaker:{}", pole.id));
            senses.then(|| (pole.id.as_str(), pole.bus.as_str(), poles.collect()))
        });
        let fault = |(id, place, elements): (&str, &str, Vec<String>)| {
            let open = |element| Fault::Open { element, gap: Gap::NONE };
            let faults: Vec<Fault> = elements.iter().cloned().map(open).collect();
            let about = About {
                conductors: vec![],
                places: self.place_of(place),
                subject: format!("{SET}{id}"),
            };
            let weight = self.priors.device_worn_out;
            let mut fault = of_faults(FaultKind::DeviceWornOut, about, faults, weight);
            fault.subjects.extend(elements.iter().map(|element| format!("joint {element}")));
            fault
        };
        devices.chain(breakers).map(fault).collect()
    }

    /// Contacts of switches that are welded, or whose spring is broken: closed in either position.
    pub(super) fn stuck_switches(&self) -> Vec<PossibleFault> {
        let contacts = self.circuit.connections().filter(|connection| {
            matches!(connection.part, Part::Switch(device, _) if is_switch(&device.kind))
        });
        let fault = |connection: Connection<'_>| {
            let Found { element, conductor, places, .. } = self.found(&connection)?;
            let subject = format!("joint {element}");
            let about = About { conductors: vec![conductor], places, subject };
            let contact = (&connection.a, &connection.b);
            let weight = self.priors.switch_stuck;
            Some(bridge(FaultKind::SwitchStuck, about, contact, SOLID_BRIDGE_OHM, weight))
        };
        contacts.filter_map(fault).collect()
    }

    /// The first pole of each handle that is on, and all that it moves.
    fn handles(&self) -> Vec<(&BranchCircuit, Vec<&BranchCircuit>)> {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let mut handles = Vec::new();
        for pole in &self.circuit.parts().branch_circuits {
            if pole.breaker.closed && !seen.contains(pole.id.as_str()) {
                let tied = self.circuit.on_one_handle(pole);
                seen.extend(tied.iter().map(|pole| pole.id.as_str()));
                handles.push((pole, tied));
            }
        }
        handles
    }

    /// One entry for each handle, whatever poles it moves.
    fn breakers(&self, faults: &mut Vec<PossibleFault>) {
        for (pole, tied) in self.handles() {
            let mut change = Condition::default();
            change.breakers.insert(pole.id.clone(), false);
            faults.push(PossibleFault {
                kind: FaultKind::BreakerOff,
                change,
                conductors: vec![],
                places: self.place_of(pole.bus.as_str()),
                level_ohm: None,
                weight: self.priors.breaker_off,
                subjects: tied.iter().map(|pole| format!("{SET}{}", pole.id)).collect(),
                load: None,
                once_on: false,
            });
        }
    }
}
