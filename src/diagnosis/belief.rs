//! What is believed after everything that was seen: every single, the likeliest pairs, triples
//! where nothing less explains it, nothing wrong, and nothing that is known.
//!
//! The belief is a function of all evidence together and not of its order. Pairs are far too many
//! to solve each for each question: they are ranked by the best that either of the two makes of
//! each thing seen, and solved from the top.

use std::sync::Arc;

use super::class::Class;
use super::evidence::Fact;
use super::model::{Model, Set};
use super::possible::Possible;
use super::reading_error::ln_sum_exp;
use super::symptom::{Case, Symptom, dead_places};
use super::{Effort, Found};

/// Something that was seen, said or found.
#[derive(Clone, Debug)]
pub(super) enum Evidence {
    /// Facts at one moment, in any of several settings if it is not known how things stood.
    Seen { settings: Vec<usize>, facts: Vec<Fact> },
    /// A complaint.
    Symptom(Symptom),
    /// A box was opened and looked at.
    Opened { place: usize, found: Vec<Found> },
}

/// Who is believed to be so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Who {
    /// Classes, by number; none of them is a sound circuit.
    Classes(Set),
    /// Something that is on no list.
    Unknown,
}

/// One hypothesis with its probability.
#[derive(Clone, Debug)]
pub(super) struct Hypothesis {
    pub(super) who: Who,
    /// Its leads: what is solved for it.
    pub(super) leads: Set,
    pub(super) weight: f64,
    /// Logarithm of the likelihood of each piece of evidence by itself.
    pub(super) by_evidence: Vec<f64>,
    pub(super) ln: f64,
}

/// See the module.
#[derive(Clone, Debug, Default)]
pub(super) struct Belief {
    /// Likeliest first; the weights add up to one.
    pub(super) hypotheses: Vec<Hypothesis>,
    /// Of each class, how likely each member is, given the class.
    pub(super) shares: Vec<Vec<f64>>,
    pub(super) counts: Solved,
}

/// How much was solved for a belief.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Solved {
    pub(super) pairs: usize,
    pub(super) triples: usize,
}

/// Of faults that show, so many are of a kind that is on no list: judgement.
const UNKNOWN_SHARE: f64 = 0.02;

/// Triples are asked where this much believes in nothing that is known.
const BADLY_EXPLAINED: f64 = 0.01;

/// Something on no list makes any one complaint at least this often.
const UNKNOWN_COMPLAINT: f64 = 1e-3;

/// Looking at joints in an open box misses a bad one, or a break inside the cable.
const OVERLOOKED: f64 = 0.05;
const OVERLOOKED_IN_CABLE: f64 = 0.5;

/// Something is found that has nothing to do with it.
const FOUND_BESIDE: f64 = 3e-4;

impl Belief {
    /// What is to be believed of a model after evidence.
    pub(super) fn new(
        model: &Model<'_>,
        classes: &[Class],
        evidence: &[Evidence],
        effort: &Effort,
    ) -> Self {
        let asking = Asking::new(model, classes, evidence);
        let mut all = vec![asking.of_nothing_known()];
        all.extend(asking.ask(Set::SOUND));
        let mut singles: Vec<Option<Hypothesis>> = Vec::with_capacity(classes.len());
        for class in 0..classes.len() {
            singles.push(asking.ask(Set::of(&[class])));
        }
        all.extend(singles.iter().flatten().cloned());
        let mut counts = Solved::default();
        let sound = asking.ask(Set::SOUND);
        let best = all.iter().map(|one| one.ln).fold(f64::NEG_INFINITY, f64::max);
        for pair in asking.pairs(&singles, sound.as_ref(), best, effort.pairs) {
            counts.pairs += 1;
            all.extend(asking.ask(pair));
        }
        let mut belief = Self { hypotheses: all, shares: Vec::new(), counts };
        belief.settle();
        if belief.unknown() > BADLY_EXPLAINED {
            for triple in asking.triples(&belief, &singles, effort.triples) {
                belief.counts.triples += 1;
                belief.hypotheses.extend(asking.ask(triple));
            }
            belief.settle();
        }
        belief.shares = asking.shares();
        belief
    }

    /// Probability that nothing that is known is so.
    pub(super) fn unknown(&self) -> f64 {
        self.of(|who| who == Who::Unknown)
    }

    fn of(&self, is: impl Fn(Who) -> bool) -> f64 {
        self.hypotheses.iter().filter(|one| is(one.who)).map(|one| one.weight).sum()
    }

    /// Weights from logarithms, likeliest first.
    fn settle(&mut self) {
        let total = ln_sum_exp(self.hypotheses.iter().map(|one| one.ln));
        for one in &mut self.hypotheses {
            one.weight = (one.ln - total).exp();
        }
        self.hypotheses.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.who.cmp(&b.who)));
    }
}

/// Everything that the likelihood of a hypothesis is asked with.
pub(super) struct Asking<'a, 'c> {
    pub(super) model: &'a Model<'c>,
    pub(super) classes: &'a [Class],
    pub(super) evidence: &'a [Evidence],
    /// Of each complaint, how often it is made with reason, by odds.
    with_reason: Vec<f64>,
    /// Odds of everything that shows.
    showing: f64,
}

impl<'a, 'c> Asking<'a, 'c> {
    fn new(model: &'a Model<'c>, classes: &'a [Class], evidence: &'a [Evidence]) -> Self {
        let faults = || classes.iter().filter(|class| class.shows && !class.is_nuisance);
        let showing = faults().map(|class| class.odds).sum::<f64>().max(f64::MIN_POSITIVE);
        let mut asking = Self { model, classes, evidence, with_reason: Vec::new(), showing };
        let with_reason = |evidence: &Evidence| match evidence {
            Evidence::Symptom(symptom) => {
                let chance = |class: &Class| {
                    class.odds * asking.said(symptom, Set::of(&[class.lead])).unwrap_or(0.0)
                };
                faults().map(chance).sum()
            }
            _ => 0.0,
        };
        asking.with_reason = evidence.iter().map(with_reason).collect();
        asking
    }

    /// The chance that a complaint is made with reason.
    fn said(&self, symptom: &Symptom, leads: Set) -> Option<f64> {
        let model = self.model;
        let with = model.row(leads, symptom.with)?;
        let without = match symptom.without {
            Some(setting) => Some(model.row(leads, setting)?),
            None => None,
        };
        let case = Case {
            circuit: model.circuit,
            chances: &model.chances,
            looks: &model.predictor.looks,
            dead: dead_places(&model.chances, &model.predictor.looks, &with),
            bad_joints: &model.bad_joints(leads),
            with: &with,
            without: without.as_deref(),
        };
        Some(symptom.chance(&case))
    }

    fn of_nothing_known(&self) -> Hypothesis {
        let by_evidence: Vec<f64> = self
            .evidence
            .iter()
            .zip(&self.with_reason)
            .map(|(evidence, with_reason)| match evidence {
                Evidence::Seen { facts, .. } => {
                    facts.iter().map(|fact| fact.chance_of_anything().ln()).sum()
                }
                Evidence::Symptom(_) => (with_reason / self.showing).max(UNKNOWN_COMPLAINT).ln(),
                Evidence::Opened { found, .. } if found.is_empty() => 0.0,
                Evidence::Opened { .. } => FOUND_BESIDE.ln(),
            })
            .collect();
        let ln = (UNKNOWN_SHARE * self.showing).ln() + by_evidence.iter().sum::<f64>();
        let leads = Set::SOUND;
        Hypothesis { who: Who::Unknown, leads, weight: 0.0, by_evidence, ln }
    }

    fn leads(&self, set: Set) -> Set {
        let leads: Vec<usize> = set
            .iter()
            .filter_map(|class| self.classes.get(class))
            .map(|class| class.lead)
            .collect();
        Set::of(&leads)
    }

    /// A set of classes with what it makes of the evidence; `None` if it cannot be so.
    fn ask(&self, set: Set) -> Option<Hypothesis> {
        let leads = self.leads(set);
        let odds: f64 = set
            .iter()
            .filter_map(|class| self.classes.get(class))
            .map(|class| class.odds.ln())
            .sum();
        let shared = &self.model.chances.shared;
        let mut together: Vec<f64> = shared.iter().map(|shared| shared.ln_weight).collect();
        let mut by_evidence = Vec::with_capacity(self.evidence.len());
        let mut apart = 0.0;
        for (evidence, with_reason) in self.evidence.iter().zip(&self.with_reason) {
            if let Evidence::Opened { place, found } = evidence {
                let ln = self.opened(set, *place, found).ln();
                apart += ln;
                by_evidence.push(ln);
                continue;
            }
            let each = self.chances(leads, (evidence, *with_reason))?;
            let alone = each.iter().zip(shared).map(|(ln, shared)| ln + shared.ln_weight);
            by_evidence.push(ln_sum_exp(alone));
            for (sum, ln) in together.iter_mut().zip(&each) {
                *sum += ln;
            }
        }
        let ln = odds + apart + ln_sum_exp(together.iter().copied());
        Some(Hypothesis { who: Who::Classes(set), leads, weight: 0.0, by_evidence, ln })
    }

    /// The logarithm of the chance of a piece of evidence, for each value of what is shared.
    fn chances(&self, leads: Set, (evidence, with_reason): (&Evidence, f64)) -> Option<Vec<f64>> {
        let model = self.model;
        let (chances, looks) = (&model.chances, &model.predictor.looks);
        match evidence {
            Evidence::Seen { settings, facts } => {
                let rows: Vec<Arc<_>> =
                    settings.iter().map(|&s| model.row(leads, s)).collect::<Option<_>>()?;
                let of = |shared| {
                    let each = rows.iter().map(|row| {
                        let chance =
                            |fact: &Fact| fact.chance(chances, looks, row, shared).max(1e-12);
                        facts.iter().map(chance).product::<f64>()
                    });
                    (each.sum::<f64>() / rows.len().max(1) as f64).max(f64::MIN_POSITIVE).ln()
                };
                Some(chances.shared.iter().map(of).collect())
            }
            Evidence::Symptom(symptom) => {
                let mistaken = Symptom::mistaken(with_reason);
                let said = mistaken + (1.0 - mistaken) * self.said(symptom, leads)?;
                Some(vec![said.ln(); chances.shared.len()])
            }
            Evidence::Opened { .. } => None,
        }
    }

    /// The chance of what was found in an opened box.
    fn opened(&self, set: Set, place: usize, found: &[Found]) -> f64 {
        let classes = || set.iter().filter_map(|class| self.classes.get(class));
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
                best.fold(0.0, f64::max).max(FOUND_BESIDE)
            })
            .product()
    }

    /// The chance that a possibility is not seen in an opened box.
    fn unseen(&self, at: usize, place: usize) -> f64 {
        let Some(possible) = self.model.possibles.get(at) else { return 1.0 };
        match possible.boxes.as_slice() {
            [only] if *only == place => OVERLOOKED,
            several if several.contains(&place) => OVERLOOKED_IN_CABLE,
            _ => 1.0,
        }
    }

    /// Of each class, how likely each member is.
    fn shares(&self) -> Vec<Vec<f64>> {
        let opened: Vec<(usize, &Vec<Found>)> = self
            .evidence
            .iter()
            .filter_map(|evidence| match evidence {
                Evidence::Opened { place, found } => Some((*place, found)),
                _ => None,
            })
            .collect();
        let share = |class: &Class| {
            let explains = |possible: &Possible, found: &Found| possible.is_what_was_found(found);
            let mut shares: Vec<f64> = class
                .members
                .iter()
                .map(|&(at, share)| {
                    let Some(possible) = self.model.possibles.get(at) else { return share };
                    opened.iter().fold(share, |share, (place, found)| {
                        if found.iter().any(|found| explains(possible, found)) {
                            share / FOUND_BESIDE
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
        self.classes.iter().map(share).collect()
    }
}
