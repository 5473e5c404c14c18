//! What can be wrong inside a cable. Where along it makes no difference that any instrument at a
//! receptacle could show, so each is listed halfway.

use crate::condition::{Fault, Gap};

use super::exchanges::pairs;
use super::{About, FaultKind, Lister, PossibleFault, is_ground, of_faults};

const HALFWAY: f64 = 0.5;

impl Lister<'_> {
    pub(super) fn cables(&self, faults: &mut Vec<PossibleFault>) {
        for cable in &self.circuit.parts().cables {
            let places = self.places_of_cable(&cable.id);
            for conductor in &cable.conductors {
                let about = About {
                    conductors: vec![conductor.name.clone()],
                    places: places.clone(),
                    subject: format!("inside {} {}", cable.id, conductor.name),
                };
                let broken = Fault::Broken {
                    cable: cable.id.clone(),
                    conductor: conductor.name.clone(),
                    at_fraction: HALFWAY,
                    gap: Gap::NONE,
                };
                let factor =
                    if is_ground(&conductor.name) { self.priors.ground_factor } else { 1.0 };
                let weight = self.priors.broken_conductor * factor;
                faults.push(of_faults(FaultKind::BrokenConductor, about, vec![broken], weight));
            }
            for (p, q) in pairs(&cable.conductors) {
                for &resistance_ohm in &self.levels.bridge_ohm {
                    let about = About {
                        conductors: vec![p.name.clone(), q.name.clone()],
                        places: places.clone(),
                        subject: format!("touching {} {} {}", cable.id, p.name, q.name),
                    };
                    let touching = Fault::ContactInCable {
                        cable: cable.id.clone(),
                        conductors: (p.name.clone(), q.name.clone()),
                        at_fraction: HALFWAY,
                        resistance_ohm,
                    };
                    let kind = FaultKind::TouchingInCable;
                    let weight = self.priors.touching_in_cable;
                    let fault = of_faults(kind, about, vec![touching], weight);
                    faults.push(PossibleFault { level_ohm: Some(resistance_ohm), ..fault });
                }
            }
        }
    }
}
