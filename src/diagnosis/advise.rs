//! The inquiry's answer to: what now?

use std::collections::{BTreeMap, BTreeSet};

use super::act::{Act, reachable};
use super::belief::Evidence;
use super::called_for::CalledFor;
use super::choose::{Choice, Enough, Leaving, Plan, Prospect, Standing};
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::leaving::WELL_FROM;
use super::look::{Channel, Looks};
use super::model::Set;
use super::opening::Sites;
use super::prospects::Weight;
use super::route::Walking;
use super::symptom::number;
use super::told::showed;
use super::{
    Advice, Because, Branch, Complaint, GoTo, LoadSeen, Mended, Moment, NextTest, PanelMetal,
    Parting, Protected, Stop, WhenItTrips,
};
use crate::circuit::{Outlet, PlaceKind};
use crate::instrument::{Instrument, Place, Request};

/// Hypotheses less likely than this share of the likeliest are not weighed, nor those that are
/// left when this much of all belief is.
const WEIGHED_ABOVE: f64 = 1e-4;
const WEIGHED_IN_ALL: f64 = 0.995;

/// What makes contact now and then this rarely is looked for as what never does.
const HARDLY_INTERMITTENT: f64 = 0.02;

/// Nothing is wrong if it is this likely and no test tells more.
pub(super) const HARDLY_WRONG: f64 = 0.8;

/// An appliance likelier than this to be at fault itself is thought of being unplugged.
const APPLIANCE_ABOVE: f64 = 0.02;

/// Boxes that hold less than this share of what the likeliest holds are not named.
const NAMED_ABOVE: f64 = 0.05;

/// Outcomes rarer than this are not listed.
const LISTED_ABOVE: f64 = 0.02;

impl Inquiry<'_> {
    /// What to do next: a test, or why no more tests are worth their cost and where to go.
    pub fn advise(&mut self) -> Advice {
        let weighed = self.weighed();
        let plan = self.plan(&weighed);
        let weights: Vec<f64> = weighed.iter().map(|one| one.weight).collect();
        if self.panel_metal() == PanelMetal::Live {
            if let Some(other) = self.look_elsewhere_first(&plan, &weights) {
                return Advice::Test(Box::new(self.test(&plan, other, &weights, f64::NAN)));
            }
            let stop = self.stop(&plan, &weights, Enough::Sure);
            return Advice::Stop(Stop { because: Because::PanelLive, ..stop });
        }
        if self.is_live_despite_breaker() {
            let stop = self.stop(&plan, &weights, Enough::Sure);
            return Advice::Stop(Stop { because: Because::LiveDespiteBreaker, ..stop });
        }
        if let Some(first) = self.felt_first(&plan, &weights) {
            let mut stop = self.stop(&plan, &weights, Enough::Sure);
            stop.go_to.retain(|one| one.place != first.place || !one.opens_a_box());
            stop.go_to.insert(0, first);
            return Advice::Stop(Stop { because: Because::Felt, ..stop });
        }
        if self.is_overloaded() {
            return Advice::Stop(self.stop(&plan, &weights, Enough::Sure));
        }
        if self.is_appliance_alone() {
            let stop = self.stop(&plan, &weights, Enough::Sure);
            return Advice::Stop(Stop { because: Because::NothingWrong, ..stop });
        }
        if let Some((because, first, moment)) = self.tried_first(&weighed) {
            let mut stop = self.stop(&plan, &weights, Enough::Sure);
            let is_it = |one: &GoTo| one.handle && one.place == first.place;
            stop.go_to.retain(|one| !is_it(one));
            stop.go_to.insert(0, first);
            return Advice::Stop(Stop { because, moment, ..stop });
        }
        if self.is_what_it_trips_with() {
            return Advice::Stop(self.stop(&plan, &weights, Enough::Sure));
        }
        if self.is_well_since_the_repair() {
            let stop = self.stop(&plan, &weights, Enough::Sure);
            return Advice::Stop(Stop { because: Because::Mended, ..stop });
        }
        let first = self.too_much_again(&plan).or_else(|| self.load_it(&plan));
        if let Some(first) = first.or_else(|| self.look_where_it_was(&plan)) {
            return Advice::Test(Box::new(self.test(&plan, first, &weights, f64::NAN)));
        }
        match plan.choose(&weights, self.standing()) {
            Choice::Test { prospect, saves_s } => match plan.prospects.get(prospect) {
                Some(test)
                    if self.nothing_left() >= WELL_FROM
                        && self.is_elsewhere_since_the_repair(test) =>
                {
                    let stop = self.stop(&plan, &weights, Enough::Dear);
                    Advice::Stop(Stop { because: Because::Mended, ..stop })
                }
                Some(test) => Advice::Test(Box::new(self.test(&plan, test, &weights, saves_s))),
                None => Advice::Stop(self.stop(&plan, &weights, Enough::NothingParts)),
            },
            Choice::Enough(enough) => match self.before_ending(&plan, &weights) {
                Some(test) => Advice::Test(Box::new(self.test(&plan, test, &weights, f64::NAN))),
                None => match self.dead_instead(&plan, &weighed, &weights) {
                    Some(test) => Advice::Test(Box::new(test)),
                    None => Advice::Stop(self.stop(&plan, &weights, enough)),
                },
            },
        }
    }

    /// A look that a search does not end without.
    fn before_ending<'p>(&self, plan: &'p Plan, weights: &[f64]) -> Option<&'p Prospect> {
        let live = || self.live_metal_is_left(plan, weights);
        self.dark_is_not_dead(plan).or_else(live).or_else(|| self.left_unexplained(plan))
    }

    /// What is tried or looked at before anything is tested, with how everything is to stand for it.
    fn tried_first(&mut self, weighed: &[Weighed]) -> Option<(Because, GoTo, Option<Moment>)> {
        let handle = self.tried_again().or_else(|| self.handle_first(weighed));
        let is_one_of_several = |one: &GoTo| {
            one.name.as_ref().is_some_and(|name| self.is_one_of_several_switches(name))
        };
        if let Some(first) = handle.as_ref().filter(|one| !is_one_of_several(one)) {
            return Some((Because::HandleFirst, first.clone(), None));
        }
        if let Some((first, moment)) = self.unplugged_first() {
            return Some((Because::UnpluggedFirst, first, Some(moment)));
        }
        if let Some((first, moment)) = self.added_back(weighed) {
            return Some((Because::AddedBack, first, Some(moment)));
        }
        if let Some((first, moment)) = self.thrown_first() {
            return Some((Because::ThrownFirst, first, Some(moment)));
        }
        handle.map(|first| (Because::HandleFirst, first, None))
    }

    /// The hypotheses that a choice is made among.
    pub(super) fn weighed(&self) -> Vec<Weighed> {
        let called_for = CalledFor::new(self);
        let most = self.belief.hypotheses.first().map_or(0.0, |one| one.weight);
        let mut in_all = 0.0;
        let kept = self.likeliest().take_while(|(one, _)| {
            let before = in_all;
            in_all += one.weight;
            before < WEIGHED_IN_ALL && one.weight > WEIGHED_ABOVE * most
        });
        let mut weighed: Vec<Weighed> = kept
            .take(self.effort.weighed)
            .flat_map(|(one, set)| {
                let (open, closed) = (self.closed.now(one.leads), Set::SOUND);
                let weighed = |weight: f64, leads: Set, otherwise: Option<Set>| Weighed {
                    weight,
                    set,
                    leads,
                    otherwise,
                    // What was closed or put right since is nowhere to be looked for.
                    groups: set.map(|set| self.groups_in(self.still(set))),
                    is_called_for: called_for.is(one),
                };
                let now_and_then = 0.5 * one.intermittent;
                match now_and_then > HARDLY_INTERMITTENT {
                    true => vec![
                        weighed(one.weight * (1.0 - now_and_then), open, Some(closed)),
                        weighed(one.weight * now_and_then, closed, Some(open)),
                    ],
                    false => vec![weighed(one.weight, open, None)],
                }
            })
            .collect();
        let total: f64 = weighed.iter().map(|one| one.weight).sum();
        weighed.iter_mut().for_each(|one| one.weight /= total);
        weighed
    }

    pub(super) fn plan(&mut self, weighed: &[Weighed]) -> Plan {
        let suspected = self.suspected_loads(weighed);
        let unconcerned = self.unconcerned_loads(weighed);
        let loads = (&self.means.fixed_loads, &unconcerned, &suspected);
        let settings = reachable(&mut self.model, self.now, loads);
        let n_settings = self.model.settings.len();
        let switching_s = (0..n_settings)
            .map(|from| {
                let costs = &self.means.costs;
                let cost_s = |to: usize| {
                    let loads = self.model.switched(from, to) as f64;
                    let breakers = self.model.handles(from, to).len() as f64;
                    loads * costs.switch_load_s + breakers * costs.switch_breaker_s
                };
                (0..n_settings).map(cost_s).collect()
            })
            .collect();
        let mut prospects = Vec::new();
        let before = self.seen_before(weighed);
        let kept_off = self.kept_off();
        let barred = self.barred(kept_off.metal());
        let is_unread = self.is_too_much_unread();
        for &setting in &settings {
            let rows: Vec<Weight> = weighed
                .iter()
                .map(|one| (one.weight, one.set.and_then(|_| self.model.row(one.leads, setting))))
                .collect();
            let endangers = || {
                self.switching_endangers(weighed, &rows)
                    || self.switching_overvolts(setting, weighed, &rows, is_unread)
            };
            if setting != self.now && endangers()
                || self.touches_live_metal(&kept_off, setting)
                || barred.burns && self.is_anything_switched_on(setting)
            {
                continue;
            }
            self.prospects((setting, &barred), (&rows, &before), &mut prospects);
        }
        let mut decisions: BTreeMap<Option<Vec<usize>>, usize> = BTreeMap::new();
        let n_groups = self.groups.iter().flatten().max().map_or(0, |most| most + 1);
        let decision = |one: &Weighed| {
            let next = decisions.len();
            *decisions.entry(one.groups.clone()).or_insert(next)
        };
        Plan {
            prospects,
            decision: weighed.iter().map(decision).collect(),
            sites: Sites::new(
                &self.model,
                weighed.iter().map(|one| self.faults_of(one.set.map(|set| self.still(set)))),
                self.means.costs.open_box_s,
            ),
            // What is on no list is a place of its own.
            places: weighed
                .iter()
                .map(|one| one.groups.clone().unwrap_or_else(|| vec![n_groups]))
                .collect(),
            is_known: weighed.iter().map(|one| one.set.is_some()).collect(),
            switching_s,
            walking: Some(self.walking()),
            confidence: self.means.confidence,
            weak: self.only_detectors(),
            leaving: Leaving {
                cost_s: self.left_s(),
                is_called_for: weighed.iter().map(|one| one.is_called_for).collect(),
            },
            looked_ahead: self.effort.looked_ahead,
            steps: self.effort.steps,
        }
    }

    /// Whether a load is on in a setting that is not on as things stand.
    fn is_anything_switched_on(&self, setting: usize) -> bool {
        let mut loads = self.model.circuit.parts().loads.iter().map(|load| load.id.as_str());
        loads.any(|load| self.model.is_on(load, setting) && !self.model.is_on(load, self.now))
    }

    /// How things stand, and where somebody was last.
    pub(super) fn standing(&self) -> Standing {
        Standing { setting: self.now, place: self.evidence.iter().rev().find_map(|t| self.at(t)) }
    }

    /// Where something was seen, by number of the place.
    pub(super) fn at(&self, told: &Evidence) -> Option<usize> {
        let looks = &self.model.predictor.looks;
        let of_channel = |fact: &Fact| {
            let channel = looks.channels.get(fact.channel()?)?;
            match channel.outlet {
                Some(outlet) => self.model.routes.place_of(outlet),
                None => self.held_at(&looks.requests.get(channel.request)?.place),
            }
        };
        match told {
            Evidence::Seen { facts, .. } => facts.iter().find_map(of_channel),
            Evidence::Opened { place, .. } => Some(*place),
            Evidence::Mended(Mended::Box { place }) => number(self.model.circuit, place),
            Evidence::Symptom(_) | Evidence::Mended(_) | Evidence::Elsewhere { .. } => None,
        }
    }

    /// The place where probes are held, at slots or at the ends of a cable taken off its joints.
    pub(super) fn held_at(&self, held: &Place) -> Option<usize> {
        let circuit = self.model.circuit;
        let Place::Between { from, to } = held else { return None };
        let is_there = |outlet: &Outlet| outlet.slots.iter().any(|(_, slot)| slot == from);
        let outlet = circuit.outlets().position(|(_, outlet)| is_there(outlet));
        outlet.and_then(|outlet| self.model.routes.place_of(outlet)).or_else(|| {
            let (parting, _) = Parting::of_ends(circuit, (from, to))?;
            circuit.parts().places.iter().position(|place| place.id == parting.place)
        })
    }

    /// What walking costs in this circuit.
    pub(super) fn walking(&self) -> Walking {
        Walking::new(self.model.routes.clone(), self.means.costs.walk_100_m_s)
    }

    /// Appliances whose own insulation may be down.
    fn suspected_loads(&self, weighed: &[Weighed]) -> BTreeSet<String> {
        let mut weights: BTreeMap<&str, f64> = BTreeMap::new();
        for one in weighed {
            for (member, share) in self.faults_of(one.set).into_iter().flatten() {
                let possible = self.model.possibles.get(member);
                if let Some(load) = possible.and_then(|one| one.appliance(self.model.circuit)) {
                    *weights.entry(&load.id).or_default() += one.weight * share;
                }
            }
        }
        let likely = weights.into_iter().filter(|(_, weight)| *weight > APPLIANCE_ABOVE);
        likely.map(|(load, _)| load.to_owned()).collect()
    }

    /// What may be each fault of a set of classes, with shares.
    pub(super) fn faults_of(&self, set: Option<Set>) -> Vec<Vec<(usize, f64)>> {
        let classes = set.into_iter().flat_map(Set::iter);
        let class = |at: usize| {
            let (class, shares) = (self.classes.get(at)?, self.belief.shares.get(at)?);
            let members = class.members.iter().map(|(member, _)| *member);
            (!class.is_nuisance).then(|| members.zip(shares.iter().copied()).collect())
        };
        classes.filter_map(class).collect()
    }

    /// Whether whatever was measured was by a detector, which alone proves nothing.
    fn only_detectors(&self) -> Vec<usize> {
        let looks = &self.model.predictor.looks;
        let is_more = |fact: &Fact| match fact.channel() {
            // What runs is seen to run by anybody.
            Some(_) if matches!(fact, Fact::Load { seen: LoadSeen::Runs, .. }) => true,
            Some(at) => {
                let held = looks.channels.get(at).and_then(|channel| channel.instrument);
                held.is_some_and(|at| !self.is_detector(at))
            }
            // A breaker that trips is seen by anybody; one that holds proves little.
            None => matches!(fact, Fact::Protection { did, .. } if *did != Protected::Holds),
        };
        let mut told = self.evidence.iter();
        let more = |one: &Evidence| match one {
            Evidence::Seen { facts, .. } => facts.iter().any(is_more),
            Evidence::Symptom(symptom) => trips_with_a_load(&symptom.complaint),
            _ => false,
        };
        if told.any(more) {
            return Vec::new();
        }
        (0..self.model.instruments.len()).filter(|&at| self.is_detector(at)).collect()
    }

    pub(super) fn is_detector(&self, instrument: usize) -> bool {
        matches!(self.model.instruments.get(instrument), Some(Instrument::NonContact(_)))
    }

    fn test(&self, plan: &Plan, test: &Prospect, weights: &[f64], saves_s: f64) -> NextTest {
        let Act { instrument, outlet, setting } = test.act;
        let looks = &self.model.predictor.looks;
        let channels: Vec<(usize, &Channel)> = looks.of(instrument, outlet).collect();
        let mut asked: Vec<usize> = channels.iter().map(|(_, channel)| channel.request).collect();
        asked.dedup();
        let at = self.model.circuit.outlets().nth(outlet).map(|(_, outlet)| outlet.address.clone());
        let at = at.unwrap_or_else(|| "".into());
        let held = |request: &usize| {
            let request = looks.requests.get(*request)?;
            Some(match request.place {
                Place::Slots { .. } => {
                    Request::new(request.instrument.clone(), Place::receptacle(at.clone()))
                }
                _ => request.clone(),
            })
        };
        let parts = self.model.circuit.parts();
        let switched = parts.loads.iter().filter(|load| {
            self.model.state(&load.id, self.now) != self.model.state(&load.id, setting)
        });
        let switch = switched.map(|load| (load.id.clone(), self.model.state(&load.id, setting)));
        let condition = self.model.settings.get(setting).cloned().unwrap_or_default();
        NextTest {
            instrument: self
                .means
                .tools
                .get(instrument)
                .map_or_else(String::new, |tool| tool.name.clone()),
            looks: asked.iter().filter_map(held).collect(),
            moment: Moment { condition, ..Moment::default() },
            switch: switch.collect(),
            breakers: self.model.handles(self.now, setting),
            cost_s: plan.cost_s(test, self.standing()),
            saves_s: saves_s.is_finite().then_some(saves_s),
            branches: self.branches(looks, (plan, test), (weights, &[]), &asked),
            at,
            parting: None,
        }
    }

    /// What a test of a plan can show of what is asked, with what it means; the boxes are those
    /// of each hypothesis.
    pub(super) fn branches(
        &self,
        looks: &Looks,
        (plan, test): (&Plan, &Prospect),
        (weights, boxes): (&[f64], &[Vec<usize>]),
        asked: &[usize],
    ) -> Vec<Branch> {
        let mut branches: Vec<Branch> = (0..test.outcomes.len())
            .filter_map(|outcome| {
                let after = test.outcomes.after(outcome, weights);
                let probability: f64 = after.iter().sum();
                if probability < LISTED_ABOVE {
                    return None;
                }
                let facts = test.outcomes.facts.get(outcome)?;
                let shows = asked.iter().map(|request| {
                    let of = facts.iter().filter_map(|fact| {
                        let channel = looks.channels.get(fact.channel()?)?;
                        (channel.request == *request).then(|| showed(&channel.measure, fact))?
                    });
                    of.collect()
                });
                Some(Branch {
                    shows: shows.collect(),
                    probability,
                    leading: self.leading(plan, &after, probability),
                    is_seen: test.outcomes.seen == Some(outcome),
                    boxes: self.boxes_after(&after, boxes),
                })
            })
            .collect();
        branches.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        branches
    }

    /// The boxes that hold nearly all that is likely after an outcome, in walking order.
    fn boxes_after(&self, after: &[f64], boxes: &[Vec<usize>]) -> Vec<String> {
        let mut weighed: BTreeMap<usize, f64> = BTreeMap::new();
        for (weight, at) in
            after.iter().zip(boxes).flat_map(|(w, boxes)| boxes.iter().map(move |b| (w, b)))
        {
            *weighed.entry(*at).or_default() += weight;
        }
        let most = weighed.values().copied().fold(0.0, f64::max);
        let likely = weighed.into_iter().filter(|(_, weight)| *weight > NAMED_ABOVE * most);
        let places = &self.model.circuit.parts().places;
        likely.filter_map(|(at, _)| Some(places.get(at)?.id.clone())).collect()
    }

    /// The suspect that leads after an outcome.
    fn leading(&self, plan: &Plan, after: &[f64], total: f64) -> Option<(usize, f64)> {
        let chance = |group: usize| {
            let of = after.iter().zip(&plan.places).filter(|(_, places)| places.contains(&group));
            of.map(|(weight, _)| weight).sum::<f64>()
        };
        let suspects = self.suspects.iter().enumerate();
        let best = suspects
            .map(|(at, (group, _))| (at, chance(*group) / total))
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        best.filter(|(_, chance)| *chance > 0.0)
    }

    /// The panel that is fed first, by number of the place.
    pub(super) fn first_panel(&self) -> Option<usize> {
        let places = &self.model.circuit.parts().places;
        let panel = places.iter().position(|place| place.kind == PlaceKind::Panel);
        panel.or_else(|| places.iter().position(|place| place.fed_from.is_none()))
    }
}

/// Whether it is said that a breaker trips whenever a load is switched on.
const fn trips_with_a_load(complaint: &Complaint) -> bool {
    matches!(complaint, Complaint::Trips { when: WhenItTrips::WithLoad { .. }, .. })
}

/// A hypothesis that a choice is made among.
pub(super) struct Weighed {
    pub(super) weight: f64,
    pub(super) set: Option<Set>,
    pub(super) leads: Set,
    /// What stands as often, of a joint that makes contact now and then.
    pub(super) otherwise: Option<Set>,
    pub(super) groups: Option<Vec<usize>>,
    pub(super) is_called_for: bool,
}
