//! Which test next, or whether to stop testing.
//!
//! A test is worth what it decides about where to go. Tests, look-ahead and stopping share one
//! objective: seconds of testing and then seconds of opening boxes until the first fault is seen.
//! Where it is likelier that there is none to open a box for, the seconds of coming back if there is.

use std::collections::BTreeMap;

use super::act::Act;
use super::opening::Sites;
use super::outcome::Outcomes;
use super::route::Walking;

/// An act with what it can show.
#[derive(Clone, Debug)]
pub(super) struct Prospect {
    pub(super) act: Act,
    /// Seconds, but for what the plan reckons of switching loads and walking.
    pub(super) holding_s: f64,
    pub(super) outcomes: Outcomes,
}

impl Prospect {
    /// The weight of what another look with the same instrument, loads standing alike, shows
    /// otherwise.
    fn shows_otherwise(&self, other: &Self, weights: &[f64]) -> f64 {
        let alike = |act: &Act| (act.instrument, act.setting);
        if alike(&self.act) != alike(&other.act) || self.outcomes.len() != other.outcomes.len() {
            return f64::INFINITY;
        }
        let of = weights.iter().zip(self.outcomes.each()).zip(other.outcomes.each());
        of.map(|((weight, these), those)| {
            let common = |(shown, chance): &(usize, f64)| {
                let there = those.iter().find(|(known, _)| known == shown);
                there.map_or(0.0, |(_, other)| chance.min(*other))
            };
            weight * (1.0 - these.iter().map(common).sum::<f64>())
        })
        .sum()
    }
}

/// How loads stand, and the place where somebody was last, if at any.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Standing {
    pub(super) setting: usize,
    pub(super) place: Option<usize>,
}

/// Everything that a choice is made by.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) prospects: Vec<Prospect>,
    pub(super) sites: Sites,
    /// Of each hypothesis, the decision it asks for, by number.
    pub(super) decision: Vec<usize>,
    /// Of each hypothesis, the places it has a fault in, by number.
    pub(super) places: Vec<Vec<usize>>,
    /// Of each hypothesis, whether it is on the list of faults.
    pub(super) is_known: Vec<bool>,
    /// Seconds of switching from one setting to another.
    pub(super) switching_s: Vec<Vec<f64>>,
    /// What walking costs, where that is not among what holding does.
    pub(super) walking: Option<Walking>,
    /// How sure of a place is sure enough.
    pub(super) confidence: f64,
    /// Instruments that nobody stops on alone, where nothing else was used.
    pub(super) weak: Vec<usize>,
    pub(super) leaving: Leaving,
    pub(super) looked_ahead: usize,
    pub(super) steps: usize,
}

/// What it is to leave with something still wrong.
#[derive(Clone, Debug, Default)]
pub(super) struct Leaving {
    /// What that costs where somebody called for it, seconds.
    pub(super) cost_s: f64,
    /// Of each hypothesis, whether it is what somebody called for.
    pub(super) is_called_for: Vec<bool>,
}

/// Why no more tests are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Enough {
    /// One place is as sure as was asked for.
    Sure,
    /// Whatever it is, it is in one box.
    OneSite,
    /// Opening boxes costs less than any test that is left.
    Dear,
    /// No test parts what is left.
    NothingParts,
}

/// What to do next, by number of the prospect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Choice {
    Test { prospect: usize, saves_s: f64 },
    Enough(Enough),
}

/// Outcomes that are rarer than this are not followed.
const RARE: f64 = 0.01;

/// Prospects that are looked at in the steps after the first.
const LATER_PROSPECTS: usize = 12;

/// Prospects that prove, looked at where a search would end on what nobody stops on alone.
const PROOFS: usize = 6;

/// The same look elsewhere tells the same where no more than this share of the weight shows
/// something else there.
const HARDLY_OTHERWISE: f64 = 0.01;

/// A costlier look at the same place has to tell so much more.
const MORE: f64 = 1.02;

/// Information below this, in nats, is none.
const NO_GAIN: f64 = 1e-3;

/// Not to know which joint of a box it is costs this much, times the chance of being wrong about
/// it, seconds: what was repaired in vain is found out by reading everything again, or by the
/// customer, and the box is opened once more. Judgement.
const UNSURE_S: f64 = 900.0;

/// Nobody takes out an instrument that saves less than this share of what is left to do.
const WORTH_ASKING: f64 = 0.01;

/// Where there is nothing to open, because nothing is wrong or it is on no list, tests that tell
/// less than this, in nats, are left.
const LITTLE_GAIN: f64 = 0.03;

/// What would have to prove, where a search ended on what nobody stops on alone, tells so much at least,
/// in nats: whatever it showed would lead to the same place otherwise.
const PROVES_FROM: f64 = 0.01;

/// What is on no list is believed from here on.
const UNKNOWN_SURE: f64 = 0.9;

/// What weights come to, all in proportion to their sum.
struct State {
    total: f64,
    /// The weight of the likeliest place.
    surest: f64,
    /// Seconds of opening boxes until the first fault is seen.
    sites_s: f64,
    /// The same with what not knowing the joint costs.
    open_s: f64,
}

/// How far is looked ahead, and among what.
#[derive(Clone, Copy)]
struct Ahead<'p> {
    steps: usize,
    later: &'p [usize],
    /// What would have to prove where a search ended here; none once one of these was used.
    proofs: &'p [usize],
}

impl Plan {
    /// How things are with these weights.
    fn state(&self, weights: &[f64]) -> State {
        let total: f64 = weights.iter().sum();
        let surest = self.surest(weights);
        let sites_s = self.sites.cost(weights);
        State { total, surest, sites_s, open_s: sites_s + UNSURE_S * (total - surest).max(0.0) }
    }

    /// What to do next, as things stand.
    pub(super) fn choose(&self, weights: &[f64], now: Standing) -> Choice {
        let choice = self.choose_freely(weights, now);
        if matches!(choice, Choice::Test { .. }) || self.weak.is_empty() {
            return choice;
        }
        let proves = |&(at, per_s): &(usize, f64)| {
            let prospect = self.prospects.get(at).filter(|_| !self.is_weak(at));
            prospect.is_some_and(|one| per_s * self.cost_s(one, now) >= PROVES_FROM)
        };
        let better = self.ranked(weights, now).into_iter().find(proves);
        better.map_or(choice, |(prospect, _)| Choice::Test { prospect, saves_s: f64::NAN })
    }

    /// The test that saves most of what leaving with something wrong costs, for its own cost, if
    /// any saves more than that.
    fn before_leaving(&self, weights: &[f64], ranked: &[(usize, f64)], now: Standing) -> Choice {
        let total: f64 = weights.iter().sum();
        let leaving_s = self.leaving_s(weights);
        let saving = |&(at, _): &(usize, f64)| {
            let prospect = self.prospects.get(at)?;
            let after = (0..prospect.outcomes.len()).map(|outcome| {
                let after = prospect.outcomes.after(outcome, weights);
                let leaving_s = self.leaving_s(&after);
                match self.is_looked_for(&after) {
                    true => leaving_s.min(self.sites.cost(&after)),
                    false => leaving_s,
                }
            });
            let saves_s = (leaving_s - after.sum::<f64>()) / total;
            let per_s = saves_s / self.cost_s(prospect, now);
            (per_s > 1.0).then_some((at, per_s))
        };
        let best = ranked.iter().filter_map(saving);
        match best.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0))) {
            Some((prospect, _)) => Choice::Test { prospect, saves_s: f64::NAN },
            None => Choice::Enough(Enough::NothingParts),
        }
    }

    /// What it costs to leave things as they are, in proportion to the weights.
    fn leaving_s(&self, weights: &[f64]) -> f64 {
        let all = weights.iter().zip(&self.leaving.is_called_for).enumerate();
        let wrong = all.filter(|(at, (_, called))| **called && self.sites.is_somewhere(*at));
        self.leaving.cost_s * wrong.map(|(_, (weight, _))| weight).sum::<f64>()
    }

    fn is_weak(&self, at: usize) -> bool {
        self.prospects.get(at).is_none_or(|one| self.weak.contains(&one.act.instrument))
    }

    fn choose_freely(&self, weights: &[f64], now: Standing) -> Choice {
        let state = self.state(weights);
        if let Some(enough) = self.enough(weights, &state, now) {
            return Choice::Enough(enough);
        }
        let ranked = self.ranked(weights, now);
        let open_s = state.open_s;
        let Some(&(first, per_s)) = ranked.first() else {
            return Choice::Enough(Enough::NothingParts);
        };
        let cost_s = self.prospects.get(first).map_or(0.0, |one| self.cost_s(one, now));
        let is_little = per_s * cost_s < LITTLE_GAIN && !self.is_looked_for(weights);
        if is_little || self.unknown(weights) >= UNKNOWN_SURE * state.total {
            return Choice::Enough(Enough::NothingParts);
        }
        if !self.is_looked_for(weights) {
            return self.before_leaving(weights, &ranked, now);
        }
        let ranked = self.without_the_same_elsewhere(ranked, weights, now);
        let numbers = ranked.iter().map(|(prospect, _)| *prospect);
        let later: Vec<usize> = numbers.clone().take(LATER_PROSPECTS).collect();
        let proofs = numbers.filter(|&at| !self.weak.is_empty() && !self.is_weak(at));
        let proofs: Vec<usize> = proofs.take(PROOFS).collect();
        let ahead = Ahead { steps: self.steps, later: &later, proofs: &proofs };
        let (near, rest) = ranked.split_at(self.looked_ahead.max(1).min(ranked.len()));
        let is_near = near.iter().any(|(at, _)| proofs.contains(at));
        let proof = rest.iter().filter(|(at, _)| !is_near && proofs.first() == Some(at));
        let near: Vec<(usize, f64)> = near.iter().chain(proof).copied().collect();
        let stop_s = self.ending(weights, (open_s, now), ahead);
        let best = |among: &[(usize, f64)], steps: usize| {
            let worth = |&(prospect, _): &(usize, f64)| {
                (prospect, self.going_on(prospect, weights, now, Ahead { steps, ..ahead }))
            };
            let best = among.iter().map(worth);
            best.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
                .filter(|(_, cost)| *cost < (1.0 - WORTH_ASKING) * stop_s)
        };
        // Cheap looks that tell a little stand first: before all is called dear, the others are
        // asked one step ahead.
        match best(&near, self.steps).or_else(|| best(rest, 1)) {
            // What is only cheaper than what would have to prove it saves nothing on opening.
            Some((prospect, cost)) => {
                let saves_s = if cost < open_s { open_s - cost } else { f64::NAN };
                Choice::Test { prospect, saves_s }
            }
            None => Choice::Enough(Enough::Dear),
        }
    }

    /// The prospect that makes finding the fault cheapest, and what it saves, seconds; `None`
    /// where opening boxes one after the other is cheaper than any.
    pub(super) fn cheaper_than_opening(&self, weights: &[f64]) -> Option<(usize, f64)> {
        let open_s = self.state(weights).open_s;
        let now = Standing { setting: 0, place: None };
        let ranked = self.ranked(weights, now);
        let later: Vec<usize> = ranked.iter().take(LATER_PROSPECTS).map(|(at, _)| *at).collect();
        let ahead = Ahead { steps: self.steps, later: &later, proofs: &[] };
        let worth = |&at: &usize| (at, self.going_on(at, weights, now, ahead));
        let (best, cost) =
            later.iter().map(worth).min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))?;
        (cost < open_s).then_some((best, open_s - cost))
    }

    /// Prospects by information about the decision for their cost, the best first; those that
    /// tell nothing are left out.
    pub(super) fn ranked(&self, weights: &[f64], now: Standing) -> Vec<(usize, f64)> {
        let all: Vec<usize> = (0..self.prospects.len()).collect();
        self.ranked_among(&all, weights, now)
    }

    fn ranked_among(&self, all: &[usize], weights: &[f64], now: Standing) -> Vec<(usize, f64)> {
        let total: f64 = weights.iter().sum();
        let mut scratch = Vec::new();
        let mut ranked: Vec<(usize, f64)> = all
            .iter()
            .filter_map(|&at| Some((at, self.prospects.get(at)?)))
            .map(|(at, prospect)| (at, prospect, self.gain(prospect, weights, &mut scratch)))
            .filter(|(_, _, gain)| *gain > NO_GAIN * total)
            .map(|(at, prospect, gain)| (at, gain / total / self.cost_s(prospect, now)))
            .collect();
        ranked.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        self.without_the_like(ranked, now)
    }

    /// The same look with loads standing otherwise is left out where it tells hardly more.
    fn without_the_like(&self, mut ranked: Vec<(usize, f64)>, now: Standing) -> Vec<(usize, f64)> {
        let mut most: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        let tells_more = |&(at, per_s): &(usize, f64)| {
            let Some(prospect) = self.prospects.get(at) else { return false };
            let gain = per_s * self.cost_s(prospect, now);
            let of = (prospect.act.instrument, prospect.act.outlet);
            let known = most.entry(of).or_insert(0.0);
            let more = gain > MORE * *known;
            *known = known.max(gain);
            more
        };
        ranked.retain(tells_more);
        ranked
    }

    /// The same look at another place is left out where it tells the same: it would take the room
    /// of another that does not.
    fn without_the_same_elsewhere(
        &self,
        ranked: Vec<(usize, f64)>,
        weights: &[f64],
        now: Standing,
    ) -> Vec<(usize, f64)> {
        let total: f64 = weights.iter().sum();
        let mut kept: Vec<((usize, f64), f64)> = Vec::new();
        for (at, per_s) in ranked {
            let Some(one) = self.prospects.get(at) else { continue };
            let gain = per_s * self.cost_s(one, now);
            let tells_it = |&((other, _), known): &((usize, f64), f64)| {
                let as_much = gain <= MORE * known && known <= MORE * gain;
                as_much
                    && self.prospects.get(other).is_some_and(|other| {
                        one.shows_otherwise(other, weights) <= HARDLY_OTHERWISE * total
                    })
            };
            if !kept.iter().any(tells_it) {
                kept.push(((at, per_s), gain));
            }
        }
        kept.into_iter().map(|(one, _)| one).collect()
    }

    /// What an act costs as things stand, seconds.
    pub(super) fn cost_s(&self, prospect: &Prospect, now: Standing) -> f64 {
        let Act { setting, outlet, .. } = prospect.act;
        let switching = self.switching_s.get(now.setting).and_then(|row| row.get(setting));
        let walking = self.walking.as_ref().map(|walking| walking.seconds(now.place, outlet));
        let moving_s = switching.copied().unwrap_or(0.0) + walking.unwrap_or(0.0);
        (prospect.holding_s + moving_s).max(1.0)
    }

    fn after(&self, act: &Act) -> Standing {
        let place = self.walking.as_ref().and_then(|walking| walking.place_of(act.outlet));
        Standing { setting: act.setting, place }
    }

    /// Information about the decision, in nats times the sum of the weights.
    fn gain(&self, prospect: &Prospect, weights: &[f64], scratch: &mut Vec<f64>) -> f64 {
        let n_decisions = self.decision.iter().max().map_or(0, |most| most + 1);
        let n_outcomes = prospect.outcomes.len();
        scratch.clear();
        scratch.resize((n_outcomes + 1) * n_decisions, 0.0);
        let of = prospect.outcomes.each();
        for ((weight, of), decision) in weights.iter().zip(of).zip(&self.decision) {
            if *weight <= 0.0 {
                continue;
            }
            for (outcome, chance) in of {
                if let Some(cell) = scratch.get_mut((outcome + 1) * n_decisions + decision) {
                    *cell += weight * chance;
                }
                if let Some(cell) = scratch.get_mut(*decision) {
                    *cell += weight * chance;
                }
            }
        }
        // The sum of the weights, times the entropy of what is decided.
        let unsure = |cells: &[f64]| {
            let sum: f64 = cells.iter().sum();
            x_ln_x(sum) - cells.iter().map(|&cell| x_ln_x(cell)).sum::<f64>()
        };
        let mut rows = scratch.chunks(n_decisions.max(1));
        let before = rows.next().map_or(0.0, unsure);
        before - rows.map(unsure).sum::<f64>()
    }

    /// Whether testing ends here.
    fn enough(&self, weights: &[f64], state: &State, now: Standing) -> Option<Enough> {
        let total = state.total;
        if state.surest >= self.confidence * total {
            return Some(Enough::Sure);
        }
        if !self.is_looked_for(weights) {
            return None;
        }
        let knowing_s = self.sites.cost_knowing(weights);
        let one_site = state.sites_s - knowing_s <= 1e-6 * total;
        let to_save = state.open_s - knowing_s;
        let costs = self.prospects.iter().map(|prospect| self.cost_s(prospect, now));
        let cheapest = costs.fold(f64::INFINITY, f64::min);
        match to_save {
            save if save < cheapest * total && one_site => Some(Enough::OneSite),
            save if save < cheapest * total => Some(Enough::Dear),
            _ => None,
        }
    }

    /// Whether it is likelier than not that there is anything to open; else tests go on until
    /// that is sure, whatever opening would cost.
    pub(super) fn is_looked_for(&self, weights: &[f64]) -> bool {
        self.chance_somewhere(weights) >= 0.5
    }

    /// How likely it is that there is anything to go to.
    pub(super) fn chance_somewhere(&self, weights: &[f64]) -> f64 {
        let all = weights.iter().enumerate();
        let somewhere = all.filter(|(at, _)| self.sites.is_somewhere(*at)).map(|(_, w)| w);
        somewhere.sum::<f64>() / weights.iter().sum::<f64>()
    }

    /// The weight of what is on no list.
    fn unknown(&self, weights: &[f64]) -> f64 {
        let unknown = weights.iter().zip(&self.is_known).filter(|(_, known)| !**known);
        unknown.map(|(weight, _)| weight).sum()
    }

    /// The weight of the place that is most surely at fault, or of nothing being wrong.
    fn surest(&self, weights: &[f64]) -> f64 {
        let n_places = self.places.iter().flatten().max().map_or(0, |most| most + 1);
        let mut of = vec![0.0; n_places];
        let mut nowhere = 0.0;
        for (weight, places) in weights.iter().zip(&self.places) {
            if places.is_empty() {
                nowhere += weight;
            }
            for &place in places {
                if let Some(sum) = of.get_mut(place) {
                    *sum += weight;
                }
            }
        }
        of.into_iter().fold(nowhere, f64::max)
    }

    /// Seconds from here on where testing ends: what opening costs, but that what nobody stops on
    /// alone has to be proved first where anything does.
    fn ending(&self, weights: &[f64], (open_s, now): (f64, Standing), ahead: Ahead<'_>) -> f64 {
        let proofs = self.ranked_among(ahead.proofs, weights, now);
        proofs.first().map_or(open_s, |&(proof, _)| {
            self.going_on(proof, weights, now, Ahead { steps: 1, ..ahead })
        })
    }

    /// Seconds from here on if this test is made and the best by information after it, as far as
    /// is looked ahead; in proportion to the weights.
    fn going_on(&self, prospect: usize, weights: &[f64], now: Standing, ahead: Ahead<'_>) -> f64 {
        let Some(test) = self.prospects.get(prospect) else { return f64::INFINITY };
        let total: f64 = weights.iter().sum();
        let then = self.after(&test.act);
        let proofs = if self.is_weak(prospect) { ahead.proofs } else { &[] };
        let ahead = Ahead { proofs, ..ahead };
        let mut seconds = self.cost_s(test, now) * total;
        // What is seen in a box that is opened for the test is found.
        for outcome in (0..test.outcomes.len()).filter(|&one| test.outcomes.seen != Some(one)) {
            let after = test.outcomes.after(outcome, weights);
            let chance: f64 = after.iter().sum();
            if chance <= 0.0 {
                continue;
            }
            let state = self.state(&after);
            let open_s = state.open_s;
            if chance < RARE * total {
                seconds += open_s;
                continue;
            }
            if self.enough(&after, &state, then).is_some() {
                seconds += self.ending(&after, (open_s, then), ahead);
                continue;
            }
            // Nothing ends here, it is only not looked further.
            if ahead.steps <= 1 {
                seconds += open_s;
                continue;
            }
            let end_s = self.ending(&after, (open_s, then), ahead);
            let next = self.ranked_among(ahead.later, &after, then);
            seconds += match next.first() {
                Some(&(next, _)) => {
                    let ahead = Ahead { steps: ahead.steps - 1, ..ahead };
                    self.going_on(next, &after, then, ahead).min(end_s)
                }
                None => end_s,
            };
        }
        seconds
    }
}

fn x_ln_x(x: f64) -> f64 {
    if x > 0.0 { x * x.ln() } else { 0.0 }
}

#[cfg(test)]
mod optimum;
