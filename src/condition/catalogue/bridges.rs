//! Conductors bridged in a box, and appliances whose insulation has broken down.

use std::collections::HashSet;

use crate::circuit::Load;
use crate::condition::words::{SOLID_BRIDGE_OHM, bridge_id};
use crate::condition::{AttachedLaw, Attachment, Condition, Fault};
use crate::quantity::Address;

use super::exchanges::pairs;
use super::{About, FaultKind, Lister, PossibleFault, of_faults};

impl Lister<'_> {
    pub(super) fn bridges(&self, faults: &mut Vec<PossibleFault>) {
        for (place, outlet) in self.circuit.outlets() {
            for ((p, a), (q, b)) in pairs(&outlet.slots) {
                // One contact may serve as two slots.
                if a == b {
                    continue;
                }
                let about = About {
                    conductors: vec![p.clone(), q.clone()],
                    places: vec![place.id.clone()],
                    subject: format!("bridge {a} {b}"),
                };
                let is_bootleg = p == "neutral" && q == "ground";
                for &ohm in &self.levels.bridge_ohm {
                    let solid = ohm < SOLID_BELOW_OHM;
                    let weight = match is_bootleg && solid {
                        true => self.priors.bootleg,
                        false => self.priors.bridged,
                    };
                    let kind = FaultKind::Bridged;
                    faults.push(bridge(kind, about.clone(), (a, b), ohm, weight));
                }
            }
        }
        self.insulation(faults);
    }

    /// Loads on one plug share terminals, and a case may be on the neutral by design: neither is
    /// a fault of its own.
    fn insulation(&self, faults: &mut Vec<PossibleFault>) {
        let mut listed: HashSet<(&Address, &Address)> = HashSet::new();
        for load in &self.circuit.parts().loads {
            let Some(frame) = &load.frame else { continue };
            for end in [&load.between.0, &load.between.1] {
                if end == frame || !listed.insert((end, frame)) {
                    continue;
                }
                let about = About {
                    conductors: vec![super::exchanges::named_for(end.as_str()), "frame".into()],
                    places: self.place_of_load(&load.plug_links, end),
                    subject: format!("bridge {end} {frame}"),
                };
                for &ohm in &self.levels.insulation_ohm {
                    let kind = FaultKind::InsulationDown;
                    let weight = self.priors.insulation_down;
                    let fault = bridge(kind, about.clone(), (end, frame), ohm, weight);
                    faults.push(PossibleFault { load: Some(load.id.clone()), ..fault });
                }
            }
        }
    }

    /// What lets current to the case of an appliance behind its own switch, of every load with a
    /// metal case, with the load.
    pub(super) fn leaks_once_on(&self) -> Vec<(PossibleFault, &Load)> {
        let mut found = Vec::new();
        for load in &self.circuit.parts().loads {
            let end = &load.between.0;
            let soil = Address::earth();
            // A case of plastic leaks only where it is wet, to the soil.
            let (frame, weight) = match &load.frame {
                Some(frame) if frame == end => continue,
                Some(frame) => (frame, self.priors.leaks_once_on),
                None => (&soil, WET_SHARE * self.priors.leaks_once_on),
            };
            for &ohm in &self.levels.insulation_ohm {
                let attachment = Attachment {
                    id: format!("{} once on", load.id),
                    between: (end.clone(), frame.clone()),
                    law: AttachedLaw::ResistanceOhm(ohm),
                };
                let fault = PossibleFault {
                    kind: FaultKind::LeaksOnceOn,
                    change: Condition { attached: vec![attachment], ..Condition::default() },
                    conductors: vec![super::exchanges::named_for(end.as_str()), "frame".into()],
                    places: self.place_of_load(&load.plug_links, end),
                    level_ohm: Some(ohm),
                    weight: if ohm < SOLID_BELOW_OHM { SOLID_SHARE * weight } else { weight },
                    subjects: vec![format!("bridge {end} {frame}")],
                    load: Some(load.id.clone()),
                    once_on: true,
                };
                found.push((fault, load));
            }
        }
        found
    }

    /// What is metal on metal between the conductors of an appliance, with the load: behind its own
    /// switch, which is so once it is on, and in its cord or before that switch, which is so as long as
    /// it is plugged in.
    pub(super) fn shorts_inside(&self) -> Vec<(PossibleFault, &Load)> {
        let mut found = Vec::new();
        for load in &self.circuit.parts().loads {
            let (end, other) = &load.between;
            let conductors = [end, other].map(|at| super::exchanges::named_for(at.as_str()));
            let ways = [(true, 1.0 - BEFORE_SWITCH_SHARE), (false, BEFORE_SWITCH_SHARE)];
            for (once_on, share) in ways {
                let attachment = Attachment {
                    id: format!("{} shorted", load.id),
                    between: (end.clone(), other.clone()),
                    law: AttachedLaw::ResistanceOhm(SOLID_BRIDGE_OHM),
                };
                let fault = PossibleFault {
                    kind: FaultKind::ShortInside,
                    change: Condition { attached: vec![attachment], ..Condition::default() },
                    conductors: conductors.to_vec(),
                    places: self.place_of_load(&load.plug_links, end),
                    level_ohm: None,
                    weight: share * self.priors.short_inside,
                    subjects: vec![format!("short inside {}", load.id)],
                    load: Some(load.id.clone()),
                    once_on,
                };
                found.push((fault, load));
            }
        }
        found
    }

    /// Where a load is plugged in, or wired in.
    fn place_of_load(&self, plug_links: &[String], end: &Address) -> Vec<String> {
        let plug = plug_links.first().map(|link| format!("link:{link}"));
        let joint =
            plug.and_then(|element| self.circuit.joint_of_element(&element)).or_else(|| {
                let mut touching =
                    self.circuit.connections().filter(|c| c.a == *end || c.b == *end);
                touching.find_map(|connection| self.circuit.joint_of_element(&connection.element))
            });
        joint.map(|joint| joint.place.clone()).into_iter().collect()
    }
}

/// What an appliance lets to its case once it is on is so often metal on metal: judgement.
const SOLID_SHARE: f64 = 0.25;

/// Of what is shorted in an appliance so much is in its cord or before its own switch: judgement.
const BEFORE_SWITCH_SHARE: f64 = 0.25;

/// An appliance without a metal case leaks so often for each time that one with a case does:
/// judgement.
const WET_SHARE: f64 = 0.25;

/// Below this a bridge is metal on metal.
const SOLID_BELOW_OHM: f64 = 0.1;

pub(super) fn bridge(
    kind: FaultKind,
    about: About,
    (a, b): (&Address, &Address),
    resistance_ohm: f64,
    weight: f64,
) -> PossibleFault {
    let between = (a.clone(), b.clone());
    let fault = Fault::Bridge { id: bridge_id(&between), between, resistance_ohm };
    let fault = of_faults(kind, about, vec![fault], weight);
    PossibleFault { level_ohm: Some(resistance_ohm), ..fault }
}
