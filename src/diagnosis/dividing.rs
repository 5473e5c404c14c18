//! Where opening one box after the other is dear, a run is parted in one of them and what lies
//! beyond is measured dead: of shorts that all trip the same breaker nothing else tells where.
//!
//! Inference works on classes that no test from outside parts; here each is taken apart into its
//! members, since a parting parts them.

use std::collections::{BTreeMap, BTreeSet};

use super::act::Act;
use super::advise::Weighed;
use super::choose::{Plan, Prospect};
use super::inquiry::Inquiry;
use super::look::{Channel, Looks};
use super::model::{ALL_OFF, Set};
use super::opening::Sites;
use super::outcome::Outcomes;
use super::possible::Possible;
use super::predictions::{Predictor, Row};
use super::{Moment, NextTest, Parting};
use crate::condition::{Condition, LoadState};
use crate::instrument::Instrument;

/// Members of hypotheses that are weighed, the likeliest.
const MEMBERS: usize = 150;

/// Members less likely than this share of their class are not.
const MEMBER_ABOVE: f64 = 1e-3;

/// Boxes where a parting is thought of, those that halve what is likely best.
const PARTINGS: usize = 8;

/// Partings that are looked ahead.
const STEPS: usize = 2;

/// A hypothesis with a certain member of each of its classes.
struct Member {
    weight: f64,
    set: Option<Set>,
    groups: Option<Vec<usize>>,
    boxes: Vec<usize>,
}

/// A parting with how everything stands then.
struct Cut {
    parting: Parting,
    place: usize,
    stands: Condition,
}

impl Inquiry<'_> {
    /// The parting that makes finding the fault cheaper than opening boxes in order, if any does.
    pub(super) fn parting(&self, weighed: &[Weighed]) -> Option<NextTest> {
        if !(self.means.may_open_boxes && self.means.may_switch_breakers) {
            return None;
        }
        let mut tools = self.means.tools.iter().enumerate();
        let is_ohmmeter = |instrument: &Instrument| matches!(instrument, Instrument::Ohmmeter(_));
        let (number, meter) = tools.find(|(_, tool)| is_ohmmeter(&tool.instrument))?;
        let members = self.members(weighed);
        let cuts = self.cuts(&members);
        if cuts.is_empty() {
            return None;
        }
        let mut looks = self.model.predictor.looks.loads_alone();
        let circuit = self.model.circuit;
        let channels: Vec<Vec<usize>> = cuts
            .iter()
            .map(|cut| {
                let requests = cut.parting.looks(circuit, &meter.instrument).into_iter();
                requests.filter_map(|request| looks.add(number, request)).collect()
            })
            .collect();
        let predicted = Predicted::new(self, &members, looks);
        let prospects = cuts.iter().zip(&channels).enumerate().map(|(at, (cut, channels))| {
            self.prospect((number, at), (cut, channels), &members, &predicted)
        });
        let plan = self.plan_of(&members, prospects.collect());
        let weights: Vec<f64> = members.iter().map(|member| member.weight).collect();
        let (best, saves_s) = plan.cheaper_than_opening(&weights)?;
        let (cut, test) = (cuts.get(best)?, plan.prospects.get(best)?);
        let looks = &predicted.predictor.looks;
        let asked: Vec<usize> = channels
            .get(best)?
            .iter()
            .filter_map(|&at| Some(looks.channels.get(at)?.request))
            .collect();
        let boxes: Vec<Vec<usize>> = members.iter().map(|member| member.boxes.clone()).collect();
        let loads = cut.stands.loads.iter().filter(|(name, state)| {
            self.model.is_on(name, self.now) != matches!(state, LoadState::On)
        });
        Some(NextTest {
            instrument: meter.name.clone(),
            at: cut.parting.place.as_str().into(),
            looks: cut.parting.looks(circuit, &meter.instrument),
            moment: Moment { condition: cut.stands.clone(), ..Moment::default() },
            switch: loads.map(|(name, state)| (name.clone(), *state)).collect(),
            cost_s: test.holding_s,
            saves_s: Some(saves_s),
            branches: self.branches(looks, (&plan, test), (&weights, &boxes), &asked),
            parting: Some(cut.parting.clone()),
        })
    }

    /// Hypotheses by members, the likeliest; their weights add up to one.
    fn members(&self, weighed: &[Weighed]) -> Vec<Member> {
        let mut all: Vec<Member> = Vec::new();
        for one in weighed {
            let Some(set) = one.set else {
                all.push(Member { weight: one.weight, set: None, groups: None, boxes: Vec::new() });
                continue;
            };
            let mut ways = vec![(one.weight, Set::SOUND)];
            for at in set.iter() {
                let (Some(class), Some(shares)) =
                    (self.classes.get(at), self.belief.shares.get(at))
                else {
                    continue;
                };
                let members = || {
                    let each = class.members.iter().map(|(member, _)| *member).zip(shares);
                    each.filter(|(_, share)| **share > MEMBER_ABOVE)
                };
                ways = ways
                    .iter()
                    .flat_map(|&(weight, set)| {
                        members().map(move |(member, share)| (weight * share, set.with(member)))
                    })
                    .collect();
            }
            all.extend(ways.into_iter().map(|(weight, set)| {
                let boxes: BTreeSet<usize> =
                    self.model.these(set).flat_map(|one| one.boxes.iter().copied()).collect();
                Member {
                    weight,
                    set: Some(set),
                    groups: one.groups.clone(),
                    boxes: boxes.into_iter().collect(),
                }
            }));
        }
        all.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.set.cmp(&b.set)));
        all.truncate(MEMBERS);
        let total: f64 = all.iter().map(|member| member.weight).sum();
        all.iter_mut().for_each(|member| member.weight /= total);
        all
    }

    /// Partings within reach that were not made yet, those that halve best what is likely.
    fn cuts(&self, members: &[Member]) -> Vec<Cut> {
        let circuit = self.model.circuit;
        let places = &circuit.parts().places;
        let settings = &self.model.settings;
        let mut cuts: Vec<(f64, Cut)> = Parting::all(circuit)
            .into_iter()
            .filter(|parting| !self.means.out_of_reach.contains(&parting.place))
            .filter(|parting| !self.not_parted.contains(parting))
            .filter(|parting| !settings.iter().any(|stands| parting.is_in(circuit, stands)))
            .filter_map(|parting| {
                let place = places.iter().position(|known| known.id == parting.place)?;
                let mut stands = parting.condition(circuit);
                if let Some(off) = settings.get(ALL_OFF) {
                    stands.loads.clone_from(&off.loads);
                }
                // Places are numbered in walking order: a guide to which are worth a thought.
                let up_to = members.iter().filter(|member| {
                    member.boxes.iter().all(|&at| at <= place) && !member.boxes.is_empty()
                });
                let up_to: f64 = up_to.map(|member| member.weight).sum();
                Some(((up_to - 0.5).abs(), Cut { parting, place, stands }))
            })
            .collect();
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.place.cmp(&b.1.place)));
        cuts.truncate(PARTINGS);
        cuts.into_iter().map(|(_, cut)| cut).collect()
    }

    fn prospect(
        &self,
        (instrument, number): (usize, usize),
        (cut, channels): (&Cut, &[usize]),
        members: &[Member],
        predicted: &Predicted<'_>,
    ) -> Prospect {
        let rows: Vec<(f64, Option<Row>)> = members
            .iter()
            .map(|member| (member.weight, predicted.row(member, &cut.stands)))
            .collect();
        let rows: Vec<(f64, Option<&Row>)> =
            rows.iter().map(|(weight, row)| (*weight, row.as_ref())).collect();
        let looks = &predicted.predictor.looks;
        let channels: Vec<(usize, &Channel)> =
            channels.iter().filter_map(|&at| Some((at, looks.channels.get(at)?))).collect();
        let mut outcomes = Outcomes::new(&self.model.chances, &channels, &rows);
        outcomes.spread_unknown();
        let seen = |member: &Member| {
            let these = self.model.these(member.set.unwrap_or(Set::SOUND));
            1.0 - these.map(|one| one.unseen_at(cut.place)).product::<f64>()
        };
        outcomes.see(&members.iter().map(seen).collect::<Vec<_>>());
        let costs = &self.means.costs;
        let switched = cut.stands.loads.keys().filter(|name| self.model.is_on(name, self.now));
        Prospect {
            // Of a parting, its number stands for the receptacle.
            act: Act { instrument, outlet: number, setting: 0 },
            holding_s: costs.open_box_s
                + costs.dead_test_s
                + switched.count() as f64 * costs.switch_load_s,
            outcomes,
        }
    }

    fn plan_of(&self, members: &[Member], prospects: Vec<Prospect>) -> Plan {
        let n_groups = self.groups.iter().flatten().max().map_or(0, |most| most + 1);
        let mut decisions: BTreeMap<&[usize], usize> = BTreeMap::new();
        let decision = members.iter().map(|member| {
            let next = decisions.len();
            *decisions.entry(&member.boxes).or_insert(next)
        });
        let decision = decision.collect();
        let faults = |member: &Member| {
            let these = member.set.into_iter().flat_map(Set::iter);
            let is_fault = |at: &usize| {
                self.model.possibles.get(*at).is_some_and(|one: &Possible| one.fault().is_some())
            };
            these.filter(is_fault).map(|at| vec![(at, 1.0)]).collect()
        };
        Plan {
            prospects,
            sites: Sites::new(&self.model, members.iter().map(faults), self.means.costs.open_box_s),
            decision,
            places: members
                .iter()
                .map(|member| member.groups.clone().unwrap_or_else(|| vec![n_groups]))
                .collect(),
            is_known: members.iter().map(|member| member.set.is_some()).collect(),
            switching_s: Vec::new(),
            // However sure the fault is: it is where that is looked for.
            confidence: f64::INFINITY,
            weak: Vec::new(),
            looked_ahead: 0,
            steps: STEPS,
        }
    }
}

/// What every member shows at each cut.
struct Predicted<'c> {
    predictor: Predictor<'c>,
    /// The possibilities that members are made of, and the place of each among them.
    possibles: Vec<Possible>,
    number: BTreeMap<usize, usize>,
}

impl<'c> Predicted<'c> {
    fn new(inquiry: &Inquiry<'c>, members: &[Member], looks: Looks) -> Self {
        let used: BTreeSet<usize> =
            members.iter().filter_map(|member| member.set).flat_map(Set::iter).collect();
        let possibles = &inquiry.model.possibles;
        Self {
            predictor: Predictor::new(inquiry.model.circuit, looks),
            possibles: used.iter().filter_map(|&at| possibles.get(at).cloned()).collect(),
            number: used.iter().enumerate().map(|(number, &at)| (at, number)).collect(),
        }
    }

    fn row(&self, member: &Member, stands: &Condition) -> Option<Row> {
        let set = member.set?;
        let numbers: Vec<usize> =
            set.iter().filter_map(|at| self.number.get(&at).copied()).collect();
        self.predictor.row(&self.possibles, &numbers, stands)
    }
}
