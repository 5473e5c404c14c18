//! Why testing ends, and where to go then.

use super::Because;
use super::advise::HARDLY_WRONG;
use super::belief::{Evidence, Hypothesis};
use super::choose::{Enough, Plan};
use super::closed::last_repair;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::live::HARDLY_EXPLAINED_LN;
use super::look::Measure;
use super::model::Set;
use super::opening::Site;
use super::possible::Possible;
use super::symptom::place_of_load;
use super::{Complaint, GoTo, LoadSeen, Protected, Stop, WhenItTrips, words};
use crate::condition::Condition;

/// A handle or an appliance is looked at before one leaves from this probability on.
const LOOKED_AT_FROM: f64 = 0.05;

/// Where something that was seen is left over and nothing can be looked at again, a box is opened from this
/// probability on.
const OPENED_FROM: f64 = 0.1;

/// What works since the repair is well where it is as likely as this that nothing is left: judgement.
pub(super) const WELL_FROM: f64 = 0.7;

/// A handle is named before what is opened from this chance of its being wrong on.
const NAMED_FIRST_FROM: f64 = 0.05;

impl Inquiry<'_> {
    pub(super) fn stop(&self, plan: &Plan, weights: &[f64], enough: Enough) -> Stop {
        let (order, cost_s) = plan.sites.order(weights);
        let somewhere = plan.chance_somewhere(weights);
        let likeliest = order.first().map(|(_, chance)| *chance * somewhere);
        let because = self.because(plan, weights, (enough, likeliest));
        let go_to = order
            .into_iter()
            .filter_map(|(site, chance)| self.go_to(&plan.sites.sites.get(site)?.0, chance));
        // A handle that holds is not looked at again, nor a switch that was thrown.
        let kept_off = self.kept_off();
        let is_looked_at = |name: &String| {
            let is_left = self.is_handle_told(name) || self.is_shock_felt();
            !(self.is_said_to_hold(name) || self.is_a_switch(name) && is_left)
        };
        let is_gone_to = |one: &GoTo| {
            !one.handle
                || !kept_off.is_panel(&one.place) && one.name.as_ref().is_none_or(is_looked_at)
        };
        let mut go_to: Vec<GoTo> = go_to.filter(is_gone_to).collect();
        if because.is_over() {
            // No box is opened to repair nothing: what is looked at for nothing is.
            let wrong = plan.chance_somewhere(weights);
            go_to.iter_mut().for_each(|one| one.chance *= wrong);
            go_to.retain(|one| !one.opens_a_box() && !one.supply && one.chance >= LOOKED_AT_FROM);
        }
        // A handle that is hardly wrong is next to free to look at, but what is likely is named first.
        go_to.sort_by_key(|one| one.handle && one.chance < NAMED_FIRST_FROM);
        Stop { because, go_to, cost_s, moment: None }
    }

    /// Why testing ends.
    fn because(
        &self,
        plan: &Plan,
        weights: &[f64],
        (enough, likeliest): (Enough, Option<f64>),
    ) -> Because {
        let is_nowhere = likeliest.is_none();
        let findings = self.findings();
        let is_looked_for = plan.is_looked_for(weights);
        let nothing_left = self.nothing_left();
        let unexplained = nothing_left + findings.nothing_known;
        let because = match enough {
            _ if self.is_overloaded() => Because::Overloaded,
            _ if !self.is_anything_mended() && self.is_closed_again() && !is_looked_for => {
                Because::ClosedAgain
            }
            _ if nothing_left >= self.means.confidence.min(HARDLY_WRONG) => Because::NothingWrong,
            _ if findings.nothing_known >= 0.5 => Because::NothingKnown,
            _ if is_nowhere || !is_looked_for && unexplained >= 0.5 => {
                match findings.nothing_known > nothing_left {
                    true => Because::NothingKnown,
                    false => Because::NothingWrong,
                }
            }
            Enough::Sure => Because::Sure,
            Enough::OneSite => Because::OneBox,
            Enough::Dear => Because::TestsCostMore,
            Enough::NothingParts => Because::NothingParts,
        };
        // Nobody feels a shock for nothing.
        let (is_live, is_too_much) = self.is_anything_seen_live();
        let left = |is: fn(&Complaint) -> bool| self.is_said(is) && !self.is_mended(is);
        let is_felt = left(|one| matches!(one, Complaint::Tingle { .. })) || is_live;
        let is_warm = left(|one| matches!(one, Complaint::Warm { .. }));
        // Nor does anybody leave with something that was seen unexplained.
        let is_left_over = || {
            let is_left = |one: &Hypothesis| {
                !self.unexplained_once(&one.by_evidence).is_empty()
                    || self.is_seen_by_anybody(&one.by_evidence)
            };
            is_too_much || self.belief.hypotheses.first().is_some_and(is_left)
        };
        match because {
            Because::NothingWrong | Because::NothingKnown if is_felt => Because::StillFelt,
            Because::NothingWrong | Because::NothingKnown if is_warm => Because::StillWarm,
            Because::NothingWrong if is_left_over() => {
                match likeliest.is_some_and(|chance| chance >= OPENED_FROM) {
                    true => Because::TestsCostMore,
                    // Every receptacle is read again anyway.
                    false if self.is_anything_mended() => Because::Mended,
                    false => Because::NothingKnown,
                }
            }
            Because::NothingWrong if self.is_anything_mended() => Because::Mended,
            other => other,
        }
    }

    /// Whether an explanation leaves to misreading what nobody misreads: a load that did not do what it does,
    /// or something that tripped.
    fn is_seen_by_anybody(&self, by_evidence: &[f64]) -> bool {
        let is_amiss = |fact: &Fact| match fact {
            Fact::Load { seen, .. } => !matches!(seen, LoadSeen::Runs | LoadSeen::NotSure),
            Fact::Protection { did, .. } => !matches!(did, Protected::Holds | Protected::FoundOff),
            _ => false,
        };
        let told = self.evidence.iter().zip(by_evidence).enumerate();
        told.filter(|(_, (_, ln))| **ln < HARDLY_EXPLAINED_LN).any(|(at, (told, _))| match told {
            Evidence::Seen { facts, .. } => {
                let mut amiss = facts.iter().filter(|fact| is_amiss(fact));
                amiss.any(|fact| !self.is_read_otherwise((fact, at), at))
            }
            _ => false,
        })
    }

    /// Whether all that was said to be dead was said to work since something was put right, what tripped or did
    /// not reset to hold, and little is thought of besides: every receptacle is read once more anyway.
    pub(super) fn is_well_since_the_repair(&self) -> bool {
        let Some(last) = last_repair(&self.evidence) else { return false };
        let (before, since) = self.evidence.split_at(last);
        fn said(told: &Evidence) -> Option<&Complaint> {
            match told {
                Evidence::Symptom(symptom) => Some(&symptom.complaint),
                _ => None,
            }
        }
        let mut works = Vec::new();
        for complaint in since.iter().filter_map(said) {
            let Complaint::Works { places } = complaint else { return false };
            works.push(places);
        }
        let is_within = |place: &String| {
            let is_it = |one: &String| words::is_within(place, one) || words::is_within(one, place);
            works.iter().any(|places| places.is_empty() || places.iter().any(is_it))
        };
        let held = |name: &str| last_of_protection(since, name) == Some(Protected::Holds);
        let runs = |load: &str| self.last_of_load(since, load) == Some(LoadSeen::Runs);
        let mut is_any_seen = false;
        let circuit = self.model.circuit;
        let mut is_over = |complaint: &Complaint| match complaint {
            Complaint::WontReset { breaker }
            | Complaint::Trips { breaker, when: WhenItTrips::AtOnce } => {
                is_any_seen |= held(breaker);
                held(breaker)
            }
            Complaint::Trips { breaker, when: WhenItTrips::WithLoad { load } } => {
                let is_well = held(breaker) || runs(load);
                is_any_seen |= is_well;
                is_well
            }
            Complaint::LoadDead { load } if runs(load) => {
                is_any_seen = true;
                true
            }
            Complaint::StaysOn { load } => {
                let is_off = self.last_of_load(since, load) == Some(LoadSeen::Dead);
                is_any_seen |= is_off;
                is_off
            }
            Complaint::Dim { loads, .. } | Complaint::Bright { loads, .. }
                if !loads.is_empty() && loads.iter().all(|load| runs(load)) =>
            {
                is_any_seen = true;
                true
            }
            Complaint::DeadFrom { place } | Complaint::HalfDead { place } => is_within(place),
            Complaint::Dead { places } => places.iter().all(is_within),
            Complaint::LoadDead { load } => {
                let at = circuit.load(load).and_then(|load| place_of_load(circuit, load));
                at.is_some_and(|at| is_within(&at))
            }
            Complaint::Works { .. } | Complaint::WorkedOn { .. } => true,
            _ => false,
        };
        before.iter().filter_map(said).all(&mut is_over)
            && (!works.is_empty() || is_any_seen)
            && self.nothing_left() >= WELL_FROM
            && self.is_anything_seen_live() == (false, false)
    }

    /// What a load was last seen to do among what was told.
    pub(super) fn last_of_load(&self, told: &[Evidence], load: &str) -> Option<LoadSeen> {
        let channels = &self.model.predictor.looks.channels;
        facts(told).rev().find_map(|fact| {
            let Fact::Load { channel, seen, .. } = fact else { return None };
            let measure = &channels.get(*channel)?.measure;
            matches!(measure, Measure::Share { load: known } if known == load).then_some(*seen)
        })
    }

    /// How likely it is that nothing is wrong, or nothing but what was closed or put right since.
    pub(super) fn nothing_left(&self) -> f64 {
        let is_left = |set: Set| !self.groups_in(self.still(set)).is_empty();
        let over = self.likeliest().filter(|(_, set)| set.is_some_and(|set| !is_left(set)));
        over.map(|(one, _)| one.weight).sum()
    }

    /// A site as a place to go to.
    fn go_to(&self, site: &Site, chance: f64) -> Option<GoTo> {
        let possible = |at: usize| self.model.possibles.get(at);
        let first = |one: &Possible| one.boxes.first().copied();
        let supply = *site == Site::Supply;
        let handle = matches!(site, Site::Handle(_));
        let name = |one: &Possible| {
            let Condition { breakers, switches, .. } = &one.change;
            breakers.keys().chain(switches.keys()).next().cloned()
        };
        let (place, name, appliance) = match *site {
            Site::Place(place) => (Some(place), None, None),
            Site::Supply => (self.first_panel(), None, None),
            Site::Handle(at) => (possible(at).and_then(first), possible(at).and_then(name), None),
            Site::Appliance(at) => {
                let load = possible(at).and_then(|one| one.appliance(self.model.circuit));
                (possible(at).and_then(first), None, load.map(|load| load.id.clone()))
            }
        };
        let place = self.model.circuit.parts().places.get(place?)?.id.clone();
        Some(GoTo { place, handle, name, appliance, supply, chance })
    }
}

/// What a breaker or device was last seen to do among what was told.
fn last_of_protection(told: &[Evidence], name: &str) -> Option<Protected> {
    facts(told).rev().find_map(|fact| match fact {
        Fact::Protection { name: known, did } if known == name => Some(*did),
        _ => None,
    })
}

fn facts(told: &[Evidence]) -> impl DoubleEndedIterator<Item = &Fact> {
    let seen = told.iter().filter_map(|told| match told {
        Evidence::Seen { facts, .. } => Some(facts),
        _ => None,
    });
    seen.flatten()
}
