//! What is measured dead, where opening one box after the other is dear: of shorts that all trip
//! the same breaker nothing else tells where. An ohmmeter between the slots of receptacles shows
//! how much wire lies before the short, from both ends of a run, and no box is opened for it; a
//! run is parted in a box and what lies beyond is measured alone.
//!
//! Inference works on classes that no live test parts; here each is taken apart into its members,
//! since these part them.

use std::collections::{BTreeMap, BTreeSet};

use super::act::Act;
use super::advise::Weighed;
use super::belief::Evidence;
use super::choose::{Leaving, Plan, Prospect};
use super::closed::last_repair;
use super::inquiry::Inquiry;
use super::look::{Channel, Looks, between_slots};
use super::model::Set;
use super::opening::Sites;
use super::outcome::Outcomes;
use super::parting::{Feeding, dead};
use super::possible::Possible;
use super::predictions::{Predictor, Row};
use super::{Moment, NextTest, Parting};
use crate::condition::words::known::Known;
use crate::condition::{Condition, LoadState};
use crate::instrument::{Instrument, Request};

/// Members of hypotheses that are weighed, the likeliest.
const MEMBERS: usize = 150;

/// Members less likely than this share of their class are not.
const MEMBER_ABOVE: f64 = 1e-3;

/// Boxes where a parting is thought of, those that halve what is likely best.
const PARTINGS: usize = 8;

/// So many measurements are looked ahead.
const STEPS: usize = 2;

/// A hypothesis with a certain member of each of its classes.
pub(super) struct Member {
    pub(super) weight: f64,
    pub(super) set: Option<Set>,
    groups: Option<Vec<usize>>,
    boxes: Vec<usize>,
}

/// Something measured dead, with how everything stands then.
struct Dead {
    how: How,
    stands: Condition,
    looks: Vec<Request>,
}

/// Where the ohmmeter is held.
enum How {
    /// Beyond a parting, in the box of that number.
    Parted(Parting, usize),
    /// Between the slots of a receptacle, so many seconds of walking away.
    Plugged(usize, f64),
}

impl Inquiry<'_> {
    /// What is measured dead that makes finding the fault cheaper than opening boxes in order, if
    /// anything does.
    pub(super) fn measured_dead(&self, weighed: &[Weighed]) -> Option<NextTest> {
        if !self.means.may_switch_breakers || !self.kept_off().is_nothing() {
            return None;
        }
        let mut tools = self.means.tools.iter().enumerate();
        let is_ohmmeter = |instrument: &Instrument| matches!(instrument, Instrument::Ohmmeter(_));
        let (number, meter) = tools.find(|(_, tool)| is_ohmmeter(&tool.instrument))?;
        let members = self.members(weighed);
        let known = Known::of(self.model.circuit);
        let feeding = Feeding::of(&known);
        let mut all = match self.means.may_open_boxes {
            true => self.cuts(&members, &meter.instrument, &feeding),
            false => Vec::new(),
        };
        all.extend(self.plugged(&members, (number, &meter.instrument), &feeding));
        if all.is_empty() {
            return None;
        }
        let mut looks = self.model.predictor.looks.loads_alone();
        let channels: Vec<Vec<usize>> = all
            .iter()
            .map(|dead| {
                let requests = dead.looks.iter();
                requests.filter_map(|request| looks.add(number, request.clone())).collect()
            })
            .collect();
        let mut predicted = Predicted::new(self, &members, looks);
        all.iter().for_each(|dead| predicted.solve(&members, &dead.stands));
        let prospects = all.iter().zip(&channels).enumerate().map(|(at, (dead, channels))| {
            self.prospect((number, at), (dead, channels), &members, &predicted)
        });
        // Where the measurement shows the same of everything, that is a box opened and no more.
        let prospects = prospects.filter(|one| one.outcomes.n_shown() > 1);
        let plan = self.plan_of(&members, prospects.collect());
        let weights: Vec<f64> = members.iter().map(|member| member.weight).collect();
        let (best, saves_s) = plan.cheaper_than_opening(&weights)?;
        let test = plan.prospects.get(best)?;
        let number = test.act.outlet;
        let dead = all.get(number)?;
        let looks = &predicted.predictor.looks;
        let asked: Vec<usize> = channels
            .get(number)?
            .iter()
            .filter_map(|&at| Some(looks.channels.get(at)?.request))
            .collect();
        let boxes: Vec<Vec<usize>> = members.iter().map(|member| member.boxes.clone()).collect();
        let stands_so = self.is_dead_already(&dead.stands);
        let loads = dead.stands.loads.iter().filter(|(name, state)| {
            !stands_so && self.model.is_on(name, self.now) != matches!(state, LoadState::On)
        });
        let mut outlets = self.model.circuit.outlets();
        let (at, parting) = match &dead.how {
            How::Parted(parting, _) => (parting.place.as_str().into(), Some(parting.clone())),
            How::Plugged(outlet, _) => (outlets.nth(*outlet)?.1.address.clone(), None),
        };
        Some(NextTest {
            instrument: meter.name.clone(),
            at,
            looks: dead.looks.clone(),
            moment: Moment { condition: dead.stands.clone(), ..Moment::default() },
            switch: loads.map(|(name, state)| (name.clone(), *state)).collect(),
            breakers: BTreeMap::new(),
            cost_s: test.holding_s,
            saves_s: Some(saves_s),
            branches: self.branches(looks, (&plan, test), (&weights, &boxes), &asked),
            parting,
        })
    }

    /// Hypotheses by members, the likeliest; their weights add up to one.
    pub(super) fn members(&self, weighed: &[Weighed]) -> Vec<Member> {
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
    fn cuts(&self, members: &[Member], meter: &Instrument, feeding: &Feeding<'_, '_>) -> Vec<Dead> {
        let circuit = self.model.circuit;
        let places = &circuit.parts().places;
        let settings = &self.model.settings;
        let mut cuts: Vec<(f64, usize, Parting)> = Parting::all(circuit)
            .into_iter()
            .filter(|parting| !self.means.out_of_reach.contains(&parting.place))
            .filter(|parting| !self.not_parted.contains(parting))
            .filter(|parting| !settings.iter().any(|stands| parting.is_in(circuit, stands)))
            .filter_map(|parting| {
                let place = places.iter().position(|known| known.id == parting.place)?;
                // Places are numbered in walking order: a guide to which are worth a thought.
                let up_to = members.iter().filter(|member| {
                    member.boxes.iter().all(|&at| at <= place) && !member.boxes.is_empty()
                });
                let up_to: f64 = up_to.map(|member| member.weight).sum();
                Some(((up_to - 0.5).abs(), place, parting))
            })
            .collect();
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        cuts.truncate(PARTINGS);
        let dead = |(_, place, parting): (f64, usize, Parting)| {
            let stands = parting.stands(circuit, feeding);
            let looks = parting.looks(circuit, meter);
            Dead { how: How::Parted(parting, place), stands, looks }
        };
        cuts.into_iter().map(dead).collect()
    }

    /// Receptacles within reach, where whatever is likely is fed by the same breakers.
    fn plugged(
        &self,
        members: &[Member],
        (number, meter): (usize, &Instrument),
        feeding: &Feeding<'_, '_>,
    ) -> Vec<Dead> {
        let circuit = self.model.circuit;
        let places = &circuit.parts().places;
        let mut breakers: Vec<(f64, BTreeMap<String, bool>)> = Vec::new();
        let mut off_at: BTreeMap<&str, usize> = BTreeMap::new();
        for place in places {
            let off = feeding.off_at(&place.id);
            let at = breakers.iter().position(|(_, seen)| *seen == off).unwrap_or_else(|| {
                breakers.push((0.0, off));
                breakers.len() - 1
            });
            off_at.insert(&place.id, at);
        }
        for (member, at) in
            members.iter().flat_map(|member| member.boxes.iter().map(move |at| (member, at)))
        {
            let off = places.get(*at).and_then(|place| off_at.get(place.id.as_str()));
            if let Some((weight, _)) = off.and_then(|at| breakers.get_mut(*at)) {
                *weight += member.weight;
            }
        }
        let fed = breakers.iter().enumerate().filter(|(_, (_, off))| !off.is_empty());
        let likeliest = fed.max_by(|a, b| a.1.0.total_cmp(&b.1.0).then(b.0.cmp(&a.0)));
        let Some((at, (_, off))) = likeliest else { return Vec::new() };
        let stands = dead(circuit, off.clone());
        let settings = 0..self.model.settings.len();
        let dead_so: Vec<usize> = settings.filter(|&at| self.stands_so(at, &stands)).collect();
        let is_told = |look: &Request| {
            let channel = self.model.predictor.looks.asked(look);
            let told = |at: &usize| self.is_told(&[*at], |fact| fact.channel() == channel);
            channel.is_some() && dead_so.iter().any(told)
        };
        let (walking, here) = (self.walking(), self.standing().place);
        circuit
            .outlets()
            .enumerate()
            .filter(|(outlet, (place, _))| {
                off_at.get(place.id.as_str()) == Some(&at)
                    && !self.means.out_of_reach.contains(&place.id)
                    && !self.is_left_out((number, *outlet))
            })
            .map(|(outlet, (_, held))| {
                let looks = between_slots(held, meter);
                let how = How::Plugged(outlet, walking.seconds(here, outlet));
                Dead { how, stands: stands.clone(), looks }
            })
            .filter(|dead| !dead.looks.iter().any(is_told))
            .collect()
    }

    fn prospect(
        &self,
        (instrument, number): (usize, usize),
        (dead, channels): (&Dead, &[usize]),
        members: &[Member],
        predicted: &Predicted<'_>,
    ) -> Prospect {
        let each = predicted.rows(&dead.stands);
        let rows: Vec<(f64, Option<&Row>)> =
            members.iter().zip(each).map(|(member, row)| (member.weight, row.as_ref())).collect();
        let looks = &predicted.predictor.looks;
        let channels: Vec<(usize, &Channel)> =
            channels.iter().filter_map(|&at| Some((at, looks.channels.get(at)?))).collect();
        let mut outcomes = Outcomes::new(&self.model.chances, &channels, &rows);
        outcomes.spread_unknown(&rows);
        let costs = &self.means.costs;
        let before_s = match &dead.how {
            // What is in the box was seen already.
            How::Parted(_, place) if self.is_opened(*place) => self.switching_off_s(&dead.stands),
            How::Parted(_, place) => {
                let seen = |member: &Member| {
                    let these = self.model.these(member.set.unwrap_or(Set::SOUND));
                    1.0 - these.map(|one| one.unseen_at(*place)).product::<f64>()
                };
                outcomes.see(&members.iter().map(seen).collect::<Vec<_>>());
                costs.open_box_s + self.switching_off_s(&dead.stands)
            }
            How::Plugged(_, walk_s) if self.is_dead_already(&dead.stands) => *walk_s,
            How::Plugged(_, walk_s) => {
                dead.stands.breakers.len() as f64 * costs.switch_breaker_s
                    + self.switching_off_s(&dead.stands)
                    + walk_s
            }
        };
        Prospect {
            // Its number stands for the receptacle.
            act: Act { instrument, outlet: number, setting: 0 },
            holding_s: before_s + costs.dead_test_s,
            outcomes,
        }
    }

    /// Whether a box was opened since something was put right.
    fn is_opened(&self, place: usize) -> bool {
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        let mut told = self.evidence.iter().skip(since);
        told.any(|told| matches!(told, Evidence::Opened { place: opened, .. } if *opened == place))
    }

    fn switching_off_s(&self, stands: &Condition) -> f64 {
        let switched = stands.loads.keys().filter(|name| self.model.is_on(name, self.now));
        switched.count() as f64 * self.means.costs.switch_load_s
    }

    /// Whether what was seen last was seen with everything standing so.
    fn is_dead_already(&self, stands: &Condition) -> bool {
        let Some(Evidence::Seen { settings, .. }) = self.evidence.last() else { return false };
        settings.iter().all(|&at| self.stands_so(at, stands))
    }

    /// Whether a setting is as something is measured dead, whatever the rest of the house does.
    fn stands_so(&self, setting: usize, stands: &Condition) -> bool {
        let is_off = |(load, _): (&String, _)| !self.model.is_on(load, setting);
        self.model.settings.get(setting).is_some_and(|known| {
            (&known.faults, &known.breakers) == (&stands.faults, &stands.breakers)
                && stands.loads.iter().all(is_off)
        })
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
            // What holding costs has the walk in it.
            walking: None,
            // However sure the fault is: it is where that is looked for.
            confidence: f64::INFINITY,
            weak: Vec::new(),
            leaving: Leaving::default(),
            looked_ahead: 0,
            steps: STEPS,
        }
    }
}

/// What every member shows in each condition.
struct Predicted<'c> {
    predictor: Predictor<'c>,
    /// The possibilities that members are made of, and the place of each among them.
    possibles: Vec<Possible>,
    number: BTreeMap<usize, usize>,
    rows: Vec<(Condition, Vec<Option<Row>>)>,
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
            rows: Vec::new(),
        }
    }

    fn solve(&mut self, members: &[Member], stands: &Condition) {
        if self.rows.iter().all(|(known, _)| known != stands) {
            let rows = members.iter().map(|member| self.row(member, stands)).collect();
            self.rows.push((stands.clone(), rows));
        }
    }

    fn rows(&self, stands: &Condition) -> &[Option<Row>] {
        let known = self.rows.iter().find(|(known, _)| known == stands);
        known.map_or(&[], |(_, rows)| rows)
    }

    fn row(&self, member: &Member, stands: &Condition) -> Option<Row> {
        let set = member.set?;
        let numbers: Vec<usize> =
            set.iter().filter_map(|at| self.number.get(&at).copied()).collect();
        self.predictor.row(&self.possibles, &numbers, stands)
    }
}
