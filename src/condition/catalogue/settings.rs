//! What can stand the other way without anything being broken: breakers, protective devices,
//! switches. A person who finds a receptacle dead thinks of these first.

use std::collections::BTreeSet;

use crate::circuit::{BranchCircuit, DeviceKind};
use crate::condition::{Condition, SwitchPosition};

use super::{FaultKind, Lister, PossibleFault};

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
                    subjects: vec![format!("set {}", device.id)],
                    load: None,
                    once_on: false,
                });
            }
        }
    }

    /// One entry for each handle, whatever poles it moves.
    fn breakers(&self, faults: &mut Vec<PossibleFault>) {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        for pole in &self.circuit.parts().branch_circuits {
            if !pole.breaker.closed || seen.contains(pole.id.as_str()) {
                continue;
            }
            let tied = self.tied(pole);
            seen.extend(tied.iter().map(|pole| pole.id.as_str()));
            let mut change = Condition::default();
            change.breakers.insert(pole.id.clone(), false);
            faults.push(PossibleFault {
                kind: FaultKind::BreakerOff,
                change,
                conductors: vec![],
                places: self.place_of(pole.bus.as_str()),
                level_ohm: None,
                weight: self.priors.breaker_off,
                subjects: tied.iter().map(|pole| format!("set {}", pole.id)).collect(),
                load: None,
                once_on: false,
            });
        }
    }

    fn tied<'c>(&'c self, pole: &'c BranchCircuit) -> Vec<&'c BranchCircuit> {
        let poles = &self.circuit.parts().branch_circuits;
        let mut together = vec![pole];
        let mut next = 0;
        while let Some(pole) = together.get(next).copied() {
            next += 1;
            for other in poles {
                let tied = pole.tied_with.contains(&other.id) || other.tied_with.contains(&pole.id);
                if tied && !together.iter().any(|known| known.id == other.id) {
                    together.push(other);
                }
            }
        }
        together
    }
}
