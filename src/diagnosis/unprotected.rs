//! Metal on which a fault would stay, of what is likeliest: no danger as it stands, and what somebody who
//! leaves for the day has to know.

use super::Warning;
use super::inquiry::Inquiry;
use super::model::{DESCRIBED, Set};
use crate::condition::catalogue::FaultKind;
use crate::hazard::{Hazard, HazardKind, Situation, latent};
use crate::lookalike::Danger;

/// It is asked of the likeliest few from this weight on: each takes several solves of everything.
const ASKED_FROM: f64 = 0.02;
const ASKED: usize = 6;

impl Inquiry<'_> {
    /// Warns of metal on which a fault would stay, and would not where nothing is wrong.
    pub(super) fn unprotected(&self, found: &mut Vec<Warning>) {
        let asked = self.likeliest().take(ASKED).take_while(|(one, _)| one.weight >= ASKED_FROM);
        let mut sound: Option<Vec<Hazard>> = None;
        for (one, set) in asked {
            let left = self.closed.now(set.map_or(Set::SOUND, |set| self.likeliest_of(set)));
            if !self.may_part_a_ground(left) {
                continue;
            }
            let sound = sound.get_or_insert_with(|| self.faults_that_stay(Set::SOUND));
            let is_new = |hazard: &Hazard| {
                let known = sound.iter().flat_map(|known| &known.addresses);
                !known.into_iter().any(|address| hazard.addresses.first() == Some(address))
            };
            for hazard in self.faults_that_stay(left).into_iter().filter(is_new) {
                let danger = Danger { severity: hazard.severity, code: hazard.kind.code() };
                match found.iter_mut().find(|known| known.danger == danger) {
                    Some(known) => known.probability += one.weight,
                    None => found.push(Warning {
                        danger,
                        probability: one.weight,
                        once_on: false,
                        addresses: hazard.addresses,
                        here: one.weight,
                    }),
                }
            }
        }
    }

    fn may_part_a_ground(&self, set: Set) -> bool {
        use FaultKind::{BondBad, BondMissing, ElectrodeLost};
        self.model.these(set).filter_map(|possible| possible.fault()).any(|fault| {
            matches!(fault.kind, BondMissing | BondBad | ElectrodeLost)
                || fault.conductors.iter().any(|conductor| conductor == "ground")
        })
    }

    fn faults_that_stay(&self, set: Set) -> Vec<Hazard> {
        let condition = self.model.condition(set, DESCRIBED);
        let Some((netlist, condition, solution)) = self.model.predictor.settled(condition) else {
            return Vec::new();
        };
        let situation = Situation {
            circuit: self.model.circuit,
            condition: &condition,
            netlist: &netlist,
            solution: &solution,
            sound: None,
        };
        let mut found = latent(&situation);
        found.retain(|hazard| matches!(hazard.kind, HazardKind::FaultNotCleared { .. }));
        found
    }
}
