//! How likely a hypothesis makes everything that was told.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use super::begun::Begun;
use super::belief::{Evidence, Hypothesis, Who};
use super::class::Class;
use super::closed::{Closed, last_repair};
use super::evidence::{FAINT_IS_DARK, Fact};
use super::model::{Model, Set};
use super::possible::Possible;
use super::predictions::Row;
use super::reading_error::{Shared, ln_sum_exp};
use super::symptom::{Case, Symptom, Way, dead_places, number};
use super::{Complaint, Elsewhere, Found, LoadSeen};
use crate::circuit::Circuit;

/// Of joints that look bad so many do nothing for each that does: judgement.
const LOOKS_BAD_ONLY: f64 = 1.0;

/// Somebody takes for an exchange or a bridge what is none, or a joint is found that is on no list.
const FOUND_WRONGLY: f64 = 1e-7;

/// What is found is so much likelier to be what was looked for than what shows the same.
const FOUND_IS_IT: f64 = 3e3;

/// So much less than anything at all would make of it is a misreading or a wrong explanation.
const LESS_THAN_ANYTHING: f64 = 0.3;

/// So many facts, and such a share of them, are left to misreading.
const LEFT_LEAST: usize = 3;
const MISREAD_AT_MOST: f64 = 0.05;

/// Everything that the likelihood of a hypothesis is asked with.
pub(super) struct Asking<'a, 'c> {
    pub(super) model: &'a Model<'c>,
    pub(super) classes: &'a [Class],
    pub(super) evidence: &'a [Evidence],
    reckoned: &'a mut Reckoned,
    pub(super) closed: Closed,
    /// Of each class, how it begins.
    begun: Vec<Begun>,
    /// Places where somebody worked before it began.
    worked_on: BTreeSet<usize>,
    /// Of each complaint, how often it is made with reason, by odds.
    pub(super) with_reason: Vec<f64>,
    /// Odds of everything that shows.
    pub(super) showing: f64,
}

/// Of each piece of evidence, in order, what a set of possibilities makes of it: chances for each
/// value of what is shared, and of a complaint the chance that it is made with reason. What is
/// told later changes none of them but what is said of all the rest.
#[derive(Clone, Debug, Default)]
pub(super) struct Reckoned(Vec<HashMap<Set, Option<Arc<[f64]>>>>);

impl Reckoned {
    /// Of one piece of evidence it is another that counts now.
    pub(super) fn forget(&mut self, told: usize) {
        if let Some(known) = self.0.get_mut(told) {
            known.clear();
        }
    }
}

/// Places where somebody worked before it began, by number.
pub(super) fn worked_on(circuit: &Circuit, evidence: &[Evidence]) -> BTreeSet<usize> {
    let worked_on = evidence.iter().filter_map(|told| match told {
        Evidence::Symptom(symptom) => number(circuit, symptom.worked_on()?),
        _ => None,
    });
    worked_on.collect()
}

/// Whether a piece of evidence says of places that they work.
fn is_of_what_works(evidence: &[Evidence], at: usize) -> bool {
    let Some(Evidence::Symptom(symptom)) = evidence.get(at) else { return false };
    matches!(symptom.complaint, Complaint::Works { .. })
}

/// Somebody worked at a place so often before something goes wrong elsewhere, for each time that it does there:
/// judgement.
const WORKED_BESIDE: f64 = 0.05;

/// Of loads that are tried elsewhere so many are said to do what they do not: judgement.
const ELSEWHERE_MISTAKEN: f64 = 3e-3;

impl<'a, 'c> Asking<'a, 'c> {
    pub(super) fn new(
        model: &'a Model<'c>,
        classes: &'a [Class],
        evidence: &'a [Evidence],
        reckoned: &'a mut Reckoned,
    ) -> Self {
        reckoned.0.resize_with(evidence.len(), HashMap::new);
        let faults =
            || classes.iter().enumerate().filter(|(_, class)| class.shows && !class.is_nuisance);
        let showing = faults().map(|(_, class)| class.odds).sum::<f64>().max(f64::MIN_POSITIVE);
        let with_reason = Vec::with_capacity(evidence.len());
        let closed = Closed::new(model, evidence);
        let worked_on = worked_on(model.circuit, evidence);
        let begun = classes.iter().map(|class| Begun::of(model, &worked_on, class)).collect();
        let mut asking = Self {
            model,
            classes,
            evidence,
            reckoned,
            closed,
            begun,
            worked_on,
            with_reason,
            showing,
        };
        // Who says besides what works knows more of what is there: whatever is said, is said with
        // reason only of what leaves that working.
        let works: Vec<usize> =
            (0..evidence.len()).filter(|&at| is_of_what_works(evidence, at)).collect();
        for (at, told) in evidence.iter().enumerate() {
            let mut sum = 0.0;
            if matches!(told, Evidence::Symptom(_)) {
                let others = works.iter().copied().filter(|other| *other != at);
                let together: Vec<usize> = others.chain([at]).collect();
                for (at_class, class) in faults() {
                    let mut chance = |told: usize| {
                        let said = asking.chances(Set::of(&[class.lead]), told);
                        let said = said.and_then(|said| said.first().copied()).unwrap_or(0.0);
                        said * asking.since_it_worked(Set::of(&[at_class]), told)
                    };
                    sum += class.odds * together.iter().map(|told| chance(*told)).product::<f64>();
                }
            }
            asking.with_reason.push(sum);
        }
        asking
    }

    /// What a set of possibilities makes of a piece of evidence.
    fn chances(&mut self, leads: Set, told: usize) -> Option<Arc<[f64]>> {
        let leads = self.closed.then(leads, self.evidence, told);
        if let Some(known) = self.reckoned.0.get(told).and_then(|one| one.get(&leads)) {
            return known.clone();
        }
        let new = self.evidence.get(told).and_then(|told| self.reckon(leads, told));
        let new: Option<Arc<[f64]>> = new.map(Into::into);
        if let Some(reckoned) = self.reckoned.0.get_mut(told) {
            reckoned.insert(leads, new.clone());
        }
        new
    }

    /// The chance of a piece of evidence for each value of what is shared; of a complaint, that it
    /// is made with reason.
    fn reckon(&self, leads: Set, told: &Evidence) -> Option<Vec<f64>> {
        let model = self.model;
        let chances = &model.chances;
        match told {
            Evidence::Seen { settings, facts, .. } => {
                let rows: Vec<Arc<_>> =
                    settings.iter().map(|&s| model.row(leads, s)).collect::<Option<_>>()?;
                let of = |shared| {
                    let each = rows.iter().map(|row| {
                        let chance = |fact: &Fact| self.fact(leads, fact, (row, shared)).max(1e-12);
                        let plain = facts.iter().map(chance).product::<f64>();
                        match facts.iter().any(Fact::is_of_a_dark_indicator) {
                            true => self.with_faint_as_dark((leads, facts), (row, shared), plain),
                            false => plain,
                        }
                    });
                    (each.sum::<f64>() / rows.len().max(1) as f64).max(f64::MIN_POSITIVE)
                };
                Some(chances.shared.iter().map(of).collect())
            }
            Evidence::Symptom(symptom) => {
                let chances = symptom
                    .ways
                    .iter()
                    .map(|&way| self.with_case(symptom, way, leads, |case| symptom.chance(&case)));
                let chances: Vec<f64> = chances.collect::<Option<_>>()?;
                Some(vec![chances.iter().sum::<f64>() / chances.len().max(1) as f64])
            }
            Evidence::Opened { .. } | Evidence::Mended(_) | Evidence::Elsewhere { .. } => None,
        }
    }

    /// The chance of what one tester showed, where its indicators may be dark when they are faint.
    fn with_faint_as_dark(
        &self,
        (leads, facts): (Set, &[Fact]),
        (row, shared): (&Row, &Shared),
        plain: f64,
    ) -> f64 {
        let (chances, looks) = (&self.model.chances, &self.model.predictor.looks);
        let each = facts.iter().map(|fact| {
            let glow = fact.chance_of_a_glow_if_faint_is_dark(chances, looks, (row, shared));
            glow.unwrap_or_else(|| self.fact(leads, fact, (row, shared))).max(1e-12)
        });
        (1.0 - FAINT_IS_DARK) * plain + FAINT_IS_DARK * each.product::<f64>()
    }

    /// How likely a set of possibilities makes a fact, by its row. What draws nothing does nothing,
    /// whatever it gets.
    fn fact(&self, leads: Set, fact: &Fact, (row, shared): (&Row, &Shared)) -> f64 {
        let model = self.model;
        if let Fact::Load { channel, seen, .. } = fact {
            let looks = &model.predictor.looks;
            let mut idle = model.these(leads).filter_map(Possible::idle_load);
            if idle.any(|load| looks.share_of(load) == Some(*channel)) {
                let is_so = f64::from(u8::from(matches!(seen, LoadSeen::Dead)));
                return model.chances.load_misread(is_so);
            }
        }
        if let Fact::Protection { name, did } = fact
            && model.these(leads).filter_map(Possible::worn_out).any(|one| one == name)
        {
            return super::evidence::worn_out(*did);
        }
        fact.chance(&model.chances, &model.predictor.looks, row, shared)
    }

    /// Asks something of a complaint.
    pub(super) fn with_case<A>(
        &self,
        symptom: &Symptom,
        (setting, without): Way,
        leads: Set,
        ask: impl FnOnce(Case<'_>) -> A,
    ) -> Option<A> {
        let model = self.model;
        let both = |leads| {
            let without = match without {
                Some(setting) => Some(model.row(leads, setting)?),
                None => None,
            };
            Some((model.row(leads, setting)?, without))
        };
        let (with, without) = both(leads)?;
        let sound = both(Set::SOUND)?;
        let case = Case {
            circuit: model.circuit,
            chances: &model.chances,
            looks: &model.predictor.looks,
            dead: dead_places(&model.chances, &model.predictor.looks, &with),
            bad_joints: &model.bad_joints(leads),
            interrupted: match symptom.complaint {
                Complaint::Flickers { .. } => model.interrupted(leads, setting),
                _ => Vec::new(),
            },
            is_of_the_service: model.these(leads).any(Possible::is_of_the_service),
            idle: model.these(leads).filter_map(Possible::idle_load).collect(),
            worn_out: model.these(leads).filter_map(Possible::worn_out).collect(),
            with: &with,
            without: without.as_deref(),
            sound: (&sound.0, sound.1.as_deref()),
        };
        Some(ask(case))
    }

    fn of(&self, set: Set) -> impl Iterator<Item = &'a Class> {
        let classes = self.classes;
        set.iter().filter_map(|class| classes.get(class))
    }

    fn leads(&self, set: Set) -> Set {
        Set::of(&self.of(set).map(|class| class.lead).collect::<Vec<usize>>())
    }

    /// How likely one of a set of classes is at a place.
    fn share_at(&self, set: Set, place: &str) -> f64 {
        let Some(place) = number(self.model.circuit, place) else { return 0.0 };
        let elsewhere = |class: &Class| -> f64 { 1.0 - self.share_of_class_at(class, place) };
        1.0 - self.of(set).map(elsewhere).product::<f64>()
    }

    fn share_of_class_at(&self, class: &Class, place: usize) -> f64 {
        // What is plugged in there nobody worked on.
        let is_there = |at: usize| {
            self.model.possibles.get(at).is_some_and(|one| {
                one.boxes.contains(&place) && one.appliance(self.model.circuit).is_none()
            })
        };
        let there = class.members.iter().filter(|(at, _)| is_there(*at));
        there.map(|(_, share)| share).sum()
    }

    /// How often what these do begins, where a complaint says that it did not use to.
    fn since_it_worked(&self, set: Set, told: usize) -> f64 {
        let Some(Evidence::Symptom(symptom)) = self.evidence.get(told) else { return 1.0 };
        match symptom.complaint.is_of_a_change() {
            true => Begun::since_it_worked(set.iter().filter_map(|class| self.begun.get(class))),
            false => 1.0,
        }
    }

    /// Logarithm of how often all of a set of classes are so, beside that none is.
    pub(super) fn ln_odds(&self, set: Set) -> f64 {
        let each: f64 = self.of(set).map(|class| class.odds.ln()).sum();
        each + self.for_want_of_a_ground(set)
    }

    /// A set of classes with what it makes of the evidence; `None` if it cannot be so.
    pub(super) fn ask(&mut self, set: Set) -> Option<Hypothesis> {
        let leads = self.leads(set);
        let odds = self.ln_odds(set);
        let shared = &self.model.chances.shared;
        let mut together: Vec<f64> = shared.iter().map(|shared| shared.ln_weight).collect();
        let mut by_evidence = Vec::with_capacity(self.evidence.len());
        let mut apart = 0.0;
        for (at, evidence) in self.evidence.iter().enumerate() {
            let ln = match evidence {
                Evidence::Opened { place, found } => self.opened(set, (*place, at), found).ln(),
                Evidence::Mended(_) => 0.0,
                Evidence::Elsewhere { load, did } => self.elsewhere(set, load, *did).ln(),
                Evidence::Symptom(symptom) if let Some(place) = symptom.worked_on() => {
                    let there = self.share_at(set, place);
                    (there + (1.0 - there) * WORKED_BESIDE).ln()
                }
                Evidence::Symptom(symptom) => {
                    let said = self.chances(leads, at)?.first().copied().unwrap_or(0.0);
                    self.heard(symptom, said * self.since_it_worked(set, at), at).ln()
                }
                Evidence::Seen { .. } => {
                    let each = self.chances(leads, at)?;
                    let weighed = each.iter().zip(shared).map(|(one, shared)| one * shared.weight);
                    by_evidence.push(weighed.sum::<f64>().max(f64::MIN_POSITIVE).ln());
                    for (sum, one) in together.iter_mut().zip(each.iter()) {
                        *sum += one.ln();
                    }
                    continue;
                }
            };
            apart += ln;
            by_evidence.push(ln);
        }
        let ln = odds + apart + ln_sum_exp(together.iter().copied());
        let who = Who::Classes(set);
        Some(Hypothesis { who, leads, weight: 0.0, by_evidence, ln, intermittent: 0.0 })
    }

    /// The chance of what a load did where the supply is good.
    fn elsewhere(&self, set: Set, load: &str, did: Elsewhere) -> f64 {
        // What is wrong in a load goes with it.
        let share = |class: &Class, it: &dyn Fn(&Possible) -> f64| -> f64 {
            let members = class.members.iter();
            members.map(|&(at, share)| self.model.possibles.get(at).map_or(0.0, it) * share).sum()
        };
        let is_idle = |one: &Possible| f64::from(u8::from(one.idle_load() == Some(load)));
        let trips = |one: &Possible| one.trips_elsewhere(load);
        let works = |it: &dyn Fn(&Possible) -> f64| -> f64 {
            self.of(set).map(|class| 1.0 - share(class, it)).product()
        };
        let (no_trip, not_idle) = (works(&trips), works(&is_idle));
        let chance = match did {
            Elsewhere::Trips => 1.0 - no_trip,
            Elsewhere::Dead => no_trip * (1.0 - not_idle),
            Elsewhere::Runs => no_trip * not_idle,
        };
        ELSEWHERE_MISTAKEN + (1.0 - ELSEWHERE_MISTAKEN) * chance
    }

    /// The chance of a complaint that is made with this much reason: some are mistaken.
    pub(super) fn heard(&self, symptom: &Symptom, said: f64, told: usize) -> f64 {
        let mistaken = symptom.mistaken(self.with_reason.get(told).copied().unwrap_or(0.0));
        mistaken + (1.0 - mistaken) * said
    }

    /// What is told, in parts that may each have a reason of its own, by what each single makes of
    /// them: logarithms. Last what a sound circuit makes of them.
    pub(super) fn parts(&self) -> Vec<Option<Vec<f64>>> {
        let singles = (0..self.classes.len()).map(|class| Set::of(&[class]));
        singles.chain([Set::SOUND]).map(|set| self.parts_of(set)).collect()
    }

    /// The same of a set of classes.
    pub(super) fn parts_of(&self, set: Set) -> Option<Vec<f64>> {
        let leads = self.leads(set);
        let model = self.model;
        let chances = &model.chances;
        let usual = chances.usual()?;
        let mut parts = Vec::new();
        for (at, told) in self.evidence.iter().enumerate() {
            let leads = self.closed.then(leads, self.evidence, at);
            match told {
                Evidence::Seen { settings, facts, .. } => {
                    let rows: Vec<Arc<_>> =
                        settings.iter().map(|&s| model.row(leads, s)).collect::<Option<_>>()?;
                    parts.extend(facts.iter().map(|fact| {
                        let each = rows.iter().map(|row| self.fact(leads, fact, (row, usual)));
                        (each.sum::<f64>() / rows.len().max(1) as f64).max(1e-12).ln()
                    }));
                }
                Evidence::Symptom(symptom) => {
                    let way = *symptom.ways.first()?;
                    let said = self.with_case(symptom, way, leads, |case| symptom.parts(&case))?;
                    let since = self.since_it_worked(set, at);
                    let heard = |said: f64| self.heard(symptom, said * since, at).ln();
                    parts.extend(said.into_iter().map(heard));
                }
                Evidence::Opened { place, found } => {
                    parts.push(self.opened(set, (*place, at), found).ln());
                }
                Evidence::Mended(_) => {}
                Evidence::Elsewhere { load, did } => {
                    parts.push(self.elsewhere(set, load, *did).ln());
                }
            }
        }
        Some(parts)
    }

    /// Whether a set leaves more unexplained than people misread.
    pub(super) fn leaves_much(&self, set: Set) -> bool {
        let (n_facts, n_left) = self.left_over(set, 0);
        n_left >= LEFT_LEAST && n_left as f64 > MISREAD_AT_MOST * n_facts as f64
    }

    /// Whether a set leaves anything unexplained that was seen since something was put right.
    pub(super) fn leaves_anything_since(&self, set: Set) -> bool {
        last_repair(self.evidence).is_some_and(|last| self.left_over(set, last).1 > 0)
    }

    /// How many facts were told from a piece of evidence on, and of how many of them a set makes less
    /// than anything at all would.
    fn left_over(&self, set: Set, first: usize) -> (usize, usize) {
        let leads = self.leads(set);
        let model = self.model;
        let chances = &model.chances;
        let (mut n_facts, mut n_left) = (0, 0);
        for (at, told) in self.evidence.iter().enumerate().skip(first) {
            let Evidence::Seen { settings, facts, .. } = told else { continue };
            let leads = self.closed.then(leads, self.evidence, at);
            let rows: Vec<Arc<_>> = settings.iter().filter_map(|&s| model.row(leads, s)).collect();
            n_facts += facts.len();
            let is_left = |fact: &&Fact| {
                let least = fact.chance_of_anything() * LESS_THAN_ANYTHING;
                let makes = |row: &Arc<_>| {
                    let each = chances.shared.iter();
                    each.map(|shared| self.fact(leads, fact, (row, shared))).fold(0.0, f64::max)
                };
                rows.iter().map(makes).fold(0.0, f64::max) < least
            };
            n_left += facts.iter().filter(is_left).count();
        }
        (n_facts, n_left)
    }

    /// The chance of what was found in an opened box, of what was not put right before.
    fn opened(&self, set: Set, (place, told): (usize, usize), found: &[Found]) -> f64 {
        let classes =
            || self.of(set).filter(|class| !self.closed.is_mended_before(class.lead, told));
        if found.is_empty() {
            return classes()
                .map(|class| {
                    let each = class.members.iter();
                    each.map(|&(at, share)| share * self.unseen(at, place)).sum::<f64>()
                })
                .product();
        }
        let is = |at: usize, found: &Found| {
            self.model.possibles.get(at).is_some_and(|one| one.is_what_was_found(found))
        };
        found
            .iter()
            .map(|found| {
                let best = classes().map(|class| {
                    let members = class.members.iter().filter(|(at, _)| is(*at, found));
                    members.map(|(_, share)| share).sum::<f64>()
                });
                best.fold(0.0, f64::max).max(self.found_beside(found))
            })
            .product()
    }

    /// How likely what was found is seen where it is not so, or does nothing.
    fn found_beside(&self, found: &Found) -> f64 {
        if found.joint().is_none() {
            return FOUND_WRONGLY;
        }
        let it = self.model.possibles.iter().filter(|one| one.is_what_was_found(found));
        let odds = it.map(|one| one.odds).sum::<f64>();
        (LOOKS_BAD_ONLY * odds).clamp(FOUND_WRONGLY, 1.0)
    }

    fn unseen(&self, at: usize, place: usize) -> f64 {
        self.model.possibles.get(at).map_or(1.0, |possible| possible.unseen_at(place))
    }

    /// Of each class, how likely each member is.
    pub(super) fn shares(&self) -> Vec<Vec<f64>> {
        let opened =
            self.evidence.iter().enumerate().filter_map(|(told, evidence)| match evidence {
                Evidence::Opened { place, found } => Some((told, *place, found)),
                _ => None,
            });
        let opened: Vec<(usize, usize, &Vec<Found>)> = opened.collect();
        let tried = self.evidence.iter().filter_map(|evidence| match evidence {
            Evidence::Elsewhere { load, did } => Some((load.as_str(), *did == Elsewhere::Trips)),
            _ => None,
        });
        let tried: Vec<(&str, bool)> = tried.collect();
        let is_of_a_change = self.evidence.iter().any(|told| match told {
            Evidence::Symptom(symptom) => symptom.complaint.is_of_a_change(),
            _ => false,
        });
        let share = |(class, begun): (&Class, &Begun)| {
            let explains = |possible: &Possible, found: &Found| possible.is_what_was_found(found);
            let mut shares: Vec<f64> = class
                .members
                .iter()
                .map(|&(at, share)| {
                    let Some(possible) = self.model.possibles.get(at) else { return share };
                    let share = match is_of_a_change {
                        true => share * begun.of_member(possible, &self.worked_on),
                        false => share,
                    };
                    let share = tried.iter().fold(share, |share, &(load, trips)| {
                        let is_it = possible.trips_elsewhere(load);
                        share
                            * self
                                .model
                                .chances
                                .misread_among(if trips { is_it } else { 1.0 - is_it }, 3)
                    });
                    opened.iter().fold(share, |share, (told, place, found)| {
                        if self.closed.is_mended_before(at, *told) {
                            share
                        } else if found.iter().any(|found| explains(possible, found)) {
                            share * FOUND_IS_IT
                        } else {
                            share * self.unseen(at, *place)
                        }
                    })
                })
                .collect();
            let total: f64 = shares.iter().sum();
            if total > 0.0 {
                shares.iter_mut().for_each(|share| *share /= total);
            }
            shares
        };
        self.classes.iter().zip(&self.begun).map(share).collect()
    }
}
