//! Joints that are open, that leak across their gap, or that have a resistance.

use crate::circuit::{Connection, JointKind, Part};
use crate::condition::words::known::is_switch;
use crate::condition::{Fault, Gap};

use super::{About, FaultKind, Lister, PossibleFault, is_ground, last_word, of_faults};

/// The kinds that the faults of one joint have.
struct Kinds {
    open: FaultKind,
    leaky: Option<FaultKind>,
    bad: Option<FaultKind>,
}

/// A joint with what a person says of it.
pub(super) struct Found {
    pub(super) element: String,
    kind: JointKind,
    pub(super) conductor: String,
    pub(super) places: Vec<String>,
}

impl Lister<'_> {
    /// Every joint, in the order of the circuit's parts. Tabs and protective devices that stand open
    /// as installed have nothing to open; a contact of a switch has, once it is thrown.
    pub(super) fn joints(&self, faults: &mut Vec<PossibleFault>) {
        for connection in self.circuit.connections() {
            if let Some(joint) = self.found(&connection) {
                self.joint(&joint, faults);
            }
        }
    }

    pub(super) fn found(&self, connection: &Connection<'_>) -> Option<Found> {
        let usual = match connection.part {
            Part::ServiceConductor(_) => JointKind::Service,
            Part::Electrode(_) => JointKind::ElectrodeClamp,
            Part::Bond(_) => JointKind::Bond,
            Part::Breaker(_) => JointKind::Breaker,
            Part::BarLanding(..) => JointKind::Bar,
            Part::Contact(..) => JointKind::Splice,
            Part::Link(link) if self.plugs.contains(link.id.as_str()) => JointKind::SlotContact,
            Part::Link(_) => JointKind::Pigtail,
            Part::Tab(_, tab) if tab.intact => JointKind::Tab,
            Part::Switch(device, contact) if contact.closed || is_switch(&device.kind) => {
                JointKind::SwitchContact
            }
            // A whole cable's conductor breaks in the cable; the rest are no joints.
            Part::Tab(..)
            | Part::Switch(..)
            | Part::Wire(..)
            | Part::Winding(_)
            | Part::Load(_)
            | Part::Lumped(_) => return None,
        };
        let element = connection.element.clone();
        let joint = self.circuit.joint_of_element(&element);
        let places = match joint {
            Some(joint) => vec![joint.place.clone()],
            None => self.place_of(connection.b.as_str()),
        };
        Some(Found {
            kind: joint.map_or(usual, |joint| joint.kind),
            conductor: joint
                .map_or_else(|| last_word(&element).to_owned(), |joint| joint.conductor.clone()),
            places,
            element,
        })
    }

    fn joint(&self, joint: &Found, faults: &mut Vec<PossibleFault>) {
        let ground = is_ground(&joint.conductor);
        let kinds = kinds(joint.kind);
        let open = self.open_odds(joint, ground);
        let about = || About {
            conductors: vec![joint.conductor.clone()],
            places: joint.places.clone(),
            subject: format!("joint {}", joint.element),
        };
        let opened = |gap| vec![Fault::Open { element: joint.element.clone(), gap }];
        // A tab that is broken out is listed as what it is said to be.
        if kinds.open != FaultKind::TabBroken {
            faults.push(of_faults(kinds.open, about(), opened(Gap::NONE), open));
        }
        if let Some(kind) = kinds.leaky {
            for &ohm in &self.levels.gap_ohm {
                let gap = Gap { resistance_ohm: Some(ohm), ..Gap::NONE };
                let weight = open * self.priors.leaky_share;
                let leaky = of_faults(kind, about(), opened(gap), weight);
                faults.push(PossibleFault { level_ohm: Some(ohm), ..leaky });
            }
        }
        let levels = if ground { &self.levels.ground_joint_ohm } else { &self.levels.joint_ohm };
        for (kind, &resistance_ohm) in
            kinds.bad.iter().flat_map(|kind| levels.iter().map(move |l| (kind, l)))
        {
            let bad = Fault::Resistance { element: joint.element.clone(), resistance_ohm };
            let weight = open * self.priors.bad_share;
            let bad = of_faults(*kind, about(), vec![bad], weight);
            faults.push(PossibleFault { level_ohm: Some(resistance_ohm), ..bad });
        }
    }

    fn open_odds(&self, joint: &Found, ground: bool) -> f64 {
        let priors = self.priors;
        match joint.kind {
            JointKind::Service if joint.conductor == "neutral" => priors.service_neutral,
            JointKind::Service => priors.service_leg,
            JointKind::Bond => priors.bond,
            JointKind::ElectrodeClamp => priors.electrode,
            kind if ground => self.odds(kind) * priors.ground_factor,
            kind => self.odds(kind),
        }
    }
}

fn kinds(kind: JointKind) -> Kinds {
    match kind {
        JointKind::Service => {
            Kinds { open: FaultKind::ServiceLost, leaky: None, bad: Some(FaultKind::ServiceBad) }
        }
        JointKind::Bond => {
            Kinds { open: FaultKind::BondMissing, leaky: None, bad: Some(FaultKind::BondBad) }
        }
        JointKind::ElectrodeClamp => {
            Kinds { open: FaultKind::ElectrodeLost, leaky: None, bad: None }
        }
        JointKind::Tab => {
            Kinds { open: FaultKind::TabBroken, leaky: None, bad: Some(FaultKind::BadJoint) }
        }
        _ => Kinds {
            open: FaultKind::OpenJoint,
            leaky: Some(FaultKind::LeakyOpen),
            bad: Some(FaultKind::BadJoint),
        },
    }
}
