//! Dangers of what is believed.

use super::belief::Evidence;
use super::inquiry::Inquiry;
use super::model::DESCRIBED;
use super::{Complaint, Warning};
use crate::hazard::{Severity, Situation, hazards};
use crate::lookalike::Danger;

/// A danger is warned of from this probability on, however likely something harmless is.
pub const WARNED_FROM: f64 = 0.005;

/// A tingle that somebody felt is one, so often: judgement.
const FELT: f64 = 0.98;

/// Hypotheses less likely than this are not asked.
const ASKED_FROM: f64 = 5e-4;

/// Hypotheses asked at most.
const ASKED: usize = 40;

impl Inquiry<'_> {
    /// The dangers of what is believed, as things stand and as the circuit is described: energised
    /// metal, contacts that are all live, loads that get too much, joints that burn; the gravest
    /// first, of these the likeliest. One is named from [`WARNED_FROM`] on.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut found: Vec<Warning> = Vec::new();
        let asked = self.likeliest().take(ASKED).take_while(|(one, _)| one.weight >= ASKED_FROM);
        for (one, set) in asked {
            if set.is_none() {
                continue;
            }
            let mut of_this: Vec<Danger> = Vec::new();
            let mut settings = vec![self.now, DESCRIBED];
            settings.dedup();
            for setting in settings {
                let condition = self.model.condition(one.leads, setting);
                let Some((netlist, condition, solution)) = self.model.predictor.settled(condition)
                else {
                    continue;
                };
                let situation = Situation {
                    circuit: self.model.circuit,
                    condition: &condition,
                    netlist: &netlist,
                    solution: &solution,
                    sound: None,
                };
                for hazard in hazards(&situation) {
                    let danger = Danger { severity: hazard.severity, code: hazard.kind.code() };
                    if danger.severity > Severity::Warning || of_this.contains(&danger) {
                        continue;
                    }
                    of_this.push(danger);
                    match found.iter_mut().find(|known| known.danger == danger) {
                        // The likeliest comes first and says where.
                        Some(known) => known.probability += one.weight,
                        None => found.push(Warning {
                            danger,
                            probability: one.weight,
                            addresses: hazard.addresses,
                        }),
                    }
                }
            }
        }
        self.felt(&mut found);
        found.retain(|warning| warning.probability >= WARNED_FROM);
        found.sort_by(|a, b| {
            let graver = a.danger.severity.cmp(&b.danger.severity);
            let likelier = b.probability.total_cmp(&a.probability);
            graver.then(likelier).then(a.danger.cmp(&b.danger))
        });
        found
    }

    /// Whoever felt a tingle is believed, whatever explains the rest.
    fn felt(&self, found: &mut Vec<Warning>) {
        for evidence in &self.evidence {
            let Evidence::Symptom(symptom) = evidence else { continue };
            let Complaint::Tingle { from } = &symptom.complaint else { continue };
            let danger = Danger { severity: Severity::Danger, code: "energised_case" };
            match found.iter_mut().find(|known| known.danger == danger) {
                Some(known) => known.probability = known.probability.max(FELT),
                None => found.push(Warning {
                    danger,
                    probability: FELT,
                    addresses: vec![from.as_str().into()],
                }),
            }
        }
    }
}
