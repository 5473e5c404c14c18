//! Dangers of what is believed.

use super::belief::Evidence;
use super::closed::last_repair;
use super::evidence::Fact;
use super::group::likeliest;
use super::inquiry::Inquiry;
use super::live::{Live, NEUTRAL_OR_GROUND};
use super::look::Measure;
use super::model::{ALL_ON, DESCRIBED, Model, Set};
use super::{Complaint, Suspect, Warning};
use crate::circuit::Outlet;
use crate::hazard::{HazardKind, Severity, Situation, hazards};
use crate::lookalike::Danger;
use crate::quantity::Address;

/// A danger is warned of from this probability on, however likely something harmless is.
pub const WARNED_FROM: f64 = 0.005;

/// A tingle or a heat that somebody felt is one, so often: judgement.
const FELT: f64 = 0.98;

/// From this chance on a neutral or ground that was read against the other is taken to be live: judgement.
const LIKELY_LIVE: f64 = 0.5;

/// Hypotheses less likely than this are not asked.
const ASKED_FROM: f64 = 5e-4;

/// Hypotheses asked at most.
const ASKED: usize = 40;

impl Inquiry<'_> {
    /// The dangers of what is believed, as things stand and as the circuit is described: energised
    /// metal, contacts that are all live, loads that get too much, joints that burn; and metal that
    /// comes alive once everything is on. The gravest first, of these the likeliest. One is named
    /// from [`WARNED_FROM`] on.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut found: Vec<Warning> = Vec::new();
        let all_on = self.model.alike(ALL_ON);
        let mut settings = vec![(self.now, false), (DESCRIBED, false), (all_on, true)];
        settings.dedup_by_key(|(setting, _)| *setting);
        let settings: Vec<_> = settings
            .into_iter()
            .map(|(setting, once_on)| {
                let sound = self.model.condition(Set::SOUND, setting);
                (setting, once_on, self.model.predictor.settled(sound))
            })
            .collect();
        let asked = self.likeliest().take(ASKED).take_while(|(one, _)| one.weight >= ASKED_FROM);
        for (one, set) in asked {
            let Some(set) = set else { continue };
            let likeliest = self.closed.now(self.likeliest_of(set));
            let mut of_this: Vec<Danger> = Vec::new();
            for (setting, once_on, sound) in &settings {
                let setting = *setting;
                let condition = self.model.condition(likeliest, setting);
                let Some((netlist, condition, solution)) = self.model.predictor.settled(condition)
                else {
                    continue;
                };
                let situation = Situation {
                    circuit: self.model.circuit,
                    condition: &condition,
                    netlist: &netlist,
                    solution: &solution,
                    sound: sound.as_ref().map(|(netlist, _, solution)| (netlist, solution)),
                };
                for hazard in hazards(&situation) {
                    let danger = Danger { severity: hazard.severity, code: hazard.kind.code() };
                    let counts = danger.severity <= Severity::Warning
                        && (!once_on || counts_once_on(&hazard.kind));
                    if !counts || of_this.contains(&danger) {
                        continue;
                    }
                    of_this.push(danger);
                    match found.iter_mut().find(|known| known.danger == danger) {
                        // The likeliest comes first and says where.
                        Some(known) => {
                            known.probability += one.weight;
                            known.once_on &= *once_on;
                            if let Some(first) = known.addresses.first()
                                && hazard.addresses.contains(first)
                            {
                                known.here += one.weight;
                            }
                        }
                        None => found.push(Warning {
                            danger,
                            probability: one.weight,
                            once_on: *once_on,
                            addresses: hazard.addresses,
                            here: one.weight,
                        }),
                    }
                }
            }
        }
        self.unprotected(&mut found);
        self.sparks(&mut found);
        self.felt(&mut found);
        self.measured(&mut found);
        found.retain(|warning| warning.probability >= WARNED_FROM);
        found.sort_by(|a, b| {
            let graver = a.danger.severity.cmp(&b.danger.severity);
            let likelier = b.probability.total_cmp(&a.probability);
            graver.then(likelier).then(a.danger.cmp(&b.danger))
        });
        found
    }

    /// The likeliest possibility of each class of a set: the one that leads may have been ruled out by
    /// what was seen in a box.
    pub(super) fn likeliest_of(&self, set: Set) -> Set {
        let member = |at: usize| Some(likeliest(self.classes.get(at)?, self.belief.shares.get(at)));
        Set::of(&set.iter().filter_map(member).collect::<Vec<_>>())
    }

    /// A joint that carries a load and makes contact now and then sparks each time.
    fn sparks(&self, found: &mut Vec<Warning>) {
        let carries = |suspect: &&Suspect| {
            suspect.is_intermittent() && suspect.conductors().iter().any(|name| name != "ground")
        };
        for suspect in self.suspects.iter().map(|(_, suspect)| suspect).filter(carries) {
            let danger = Danger { severity: Severity::Danger, code: "heating_joint" };
            let probability = suspect.probability * suspect.intermittent;
            let places = suspect.faults.first().map_or(&[][..], |one| &one.fault.places);
            match found.iter_mut().find(|known| known.danger == danger) {
                Some(known) => known.probability = known.probability.max(probability),
                None => found.push(Warning {
                    danger,
                    probability,
                    once_on: false,
                    addresses: places.iter().map(|place| place.as_str().into()).collect(),
                    here: probability,
                }),
            }
        }
    }

    /// Whoever felt a tingle, or something hot, is believed, whatever explains the rest, until what
    /// explains it is put right.
    fn felt(&self, found: &mut Vec<Warning>) {
        let last = last_repair(&self.evidence).unwrap_or(0);
        for (at, evidence) in self.evidence.iter().enumerate() {
            let Evidence::Symptom(symptom) = evidence else { continue };
            if at < last && self.is_explained_by_a_repair(at) {
                continue;
            }
            let (code, from) = match &symptom.complaint {
                Complaint::Tingle { from } => ("energised_case", from),
                Complaint::Warm { place } => ("heating_joint", place),
                _ => continue,
            };
            believed(found, code, from.as_str().into());
        }
    }

    /// What somebody measured live or far too high, or saw live with its breaker off, is there whatever it is
    /// likelier to have been.
    fn measured(&self, found: &mut Vec<Warning>) {
        // Between a neutral and a ground that floats much is read where neither is live.
        let live = ["energised_neutral", "energised_ground"].map(|code| chance_of(found, code));
        let floats = live.iter().sum::<f64>() < LIKELY_LIVE;
        let is_ghost =
            |live: &Live| floats && live.code == NEUTRAL_OR_GROUND && self.is_explained(live.at);
        for live in self.seen_live().into_iter().filter(|live| !is_ghost(live)) {
            let (code, address) = match live.code {
                NEUTRAL_OR_GROUND => match self.ground_beeps_alone(&live.address) {
                    Some(ground) => ("energised_ground", ground),
                    None => likelier(found, live.address),
                },
                code => (code, live.address),
            };
            believed(found, code, address);
        }
    }
}

impl Inquiry<'_> {
    /// The ground beside a neutral, where a detector was silent at the neutral and beeped at that.
    fn ground_beeps_alone(&self, neutral: &Address) -> Option<Address> {
        let slot = |outlet: &Outlet, at: &Address| outlet.slots.iter().any(|(_, one)| one == at);
        let (_, outlet) = self.model.circuit.outlets().find(|(_, one)| slot(one, neutral))?;
        let (_, ground) = outlet.slots.iter().find(|(name, _)| name == "ground")?;
        let held = |at: &Address| held_to(&self.model, &self.evidence, at);
        (held(neutral) == Some(false) && held(ground) == Some(true)).then(|| ground.clone())
    }
}

/// What a detector showed last at a slot.
fn held_to(model: &Model<'_>, evidence: &[Evidence], terminal: &Address) -> Option<bool> {
    let looks = &model.predictor.looks;
    let is_there = |channel: usize| {
        let channel = looks.channels.get(channel)?;
        let Measure::Alarm { slot, .. } = &channel.measure else { return None };
        let (_, outlet) = model.circuit.outlets().nth(channel.outlet?)?;
        outlet.slots.iter().any(|(name, at)| name == slot && at == terminal).then_some(())
    };
    evidence.iter().rev().find_map(|told| match told {
        Evidence::Seen { facts, .. } => facts.iter().find_map(|fact| match fact {
            Fact::Alarm { channel, alarm } => is_there(*channel).map(|()| *alarm),
            _ => None,
        }),
        _ => None,
    })
}

/// How likely a danger is by what is believed.
fn chance_of(found: &[Warning], code: &str) -> f64 {
    let it = found.iter().find(|known| known.danger.code == code);
    it.map_or(0.0, |known| known.probability)
}

/// Whether a neutral is live or the ground beside it, by what is believed.
fn likelier(found: &[Warning], neutral: Address) -> (&'static str, Address) {
    let chance = |code: &str| chance_of(found, code);
    let (ground, of_neutral) = ("energised_ground", "energised_neutral");
    let place = neutral.as_str().rsplit_once('.').map_or("", |(place, _)| place);
    let is_there = |known: &Warning| {
        known.danger.code == ground && known.addresses.iter().any(|one| is_of(one, place))
    };
    match found.iter().any(is_there) && chance(ground) > chance(of_neutral) {
        true => (ground, format!("{place}.ground").as_str().into()),
        false => (of_neutral, neutral),
    }
}

/// What somebody felt or measured is there, and where comes first, whatever the likeliest case has live.
fn believed(found: &mut Vec<Warning>, code: &'static str, at: Address) {
    let danger = Danger { severity: Severity::Danger, code };
    match found.iter_mut().find(|known| known.danger == danger) {
        Some(known) => {
            known.probability = known.probability.max(FELT);
            known.once_on = false;
            known.addresses.retain(|address| !is_of(address, at.as_str()));
            known.addresses.insert(0, at);
            known.here = FELT;
        }
        None => {
            let (probability, once_on, addresses, here) = (FELT, false, vec![at], FELT);
            found.push(Warning { danger, probability, once_on, addresses, here });
        }
    }
}

/// Whether an address is a load or place, or a terminal of it.
fn is_of(address: &Address, name: &str) -> bool {
    let rest = address.as_str().strip_prefix(name);
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// Metal that somebody touches, and what burns out.
const fn counts_once_on(kind: &HazardKind) -> bool {
    use HazardKind::{
        AllContactsLive, EnergisedCase, EnergisedGround, EnergisedNeutral, OverVoltage,
    };
    matches!(
        kind,
        EnergisedGround { .. }
            | EnergisedCase { .. }
            | EnergisedNeutral { .. }
            | AllContactsLive { .. }
            | OverVoltage { .. }
    )
}
