//! The cheapest way to test, beside which the choice of the next test is measured.
//!
//! Every test of a plan is taken to show, whatever is there, the one thing that is likeliest then:
//! nothing is misread. Then what is left after a test is a part of what was thought possible, and
//! the cheapest way from each part is known exactly: the least, over all tests, of its seconds and
//! the cheapest ways from all it can show. Parts are met again and kept; a test is not followed
//! where the least that it can cost is more than what another costs.

use std::collections::{BTreeMap, HashMap};

use super::super::opening::{ENOUGH, Sites};
use super::super::outcome::Outcomes;
use super::{Choice, Enough, Leaving, Plan, Prospect, Standing};

mod played;
mod runs;
mod table;

/// Some of what no test parts, a bit each.
type Kinds = u128;

const MOST_KINDS: usize = Kinds::BITS as usize;

/// Where a way of testing has come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Reached {
    left: Kinds,
    setting: usize,
    /// Nothing but what nobody stops on alone was used.
    weakly: bool,
}

/// As loads stand; where somebody stands is not counted here.
const fn standing(setting: usize) -> Standing {
    Standing { setting, place: None }
}

/// A plan in which every hypothesis shows one thing in every test.
#[derive(Clone, Debug)]
struct Certain {
    /// As long as nothing but detectors was used, and after that.
    plans: [Plan; 2],
    /// They add up to one.
    weights: Vec<f64>,
    /// Hypotheses that show the same in every test: whatever is done, they stay together.
    kinds: Vec<Vec<usize>>,
    /// Of each test, of each thing that it shows, the kinds that show it.
    shown: Vec<Vec<Kinds>>,
    /// Of each kind, its weight, and the least that it costs to find, seconds in proportion.
    least: Vec<(f64, f64)>,
    /// The weight that was left out: what is on no list, which shows no one thing; and kinds
    /// beyond what is counted.
    left_out: f64,
}

/// What a hypothesis shows, if it shows one thing.
fn shows(outcomes: &Outcomes, hypothesis: usize) -> usize {
    outcomes.kinds[outcomes.of[hypothesis]][0].0
}

impl Certain {
    fn of(plan: &Plan, weights: &[f64]) -> Self {
        let before: f64 = weights.iter().sum();
        let known = weights.iter().zip(&plan.is_known);
        let mut weights: Vec<f64> =
            known.map(|(weight, known)| if *known { *weight } else { 0.0 }).collect();
        let mut plan = plan.clone();
        plan.walking = None;
        for of in plan.prospects.iter_mut().flat_map(|one| &mut one.outcomes.kinds) {
            let likeliest = of.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a });
            *of = likeliest.map(|(outcome, _)| (outcome, 1.0)).into_iter().collect();
        }
        let mut by_shown: HashMap<Vec<usize>, Vec<usize>> = HashMap::new();
        for hypothesis in (0..weights.len()).filter(|&one| weights[one] > 0.0) {
            let shows = plan.prospects.iter().map(|one| shows(&one.outcomes, hypothesis));
            by_shown.entry(shows.collect()).or_default().push(hypothesis);
        }
        let mut kinds: Vec<Vec<usize>> = by_shown.into_values().collect();
        let weight = |kind: &Vec<usize>| kind.iter().map(|&one| weights[one]).sum::<f64>();
        kinds.sort_by(|a, b| weight(b).total_cmp(&weight(a)).then(a.cmp(b)));
        for hypothesis in kinds.drain(MOST_KINDS.min(kinds.len())..).flatten() {
            weights[hypothesis] = 0.0;
        }
        let kept: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|weight| *weight /= kept);
        let shown = plan.prospects.iter().map(|one| {
            let mut shown = vec![0; one.outcomes.len()];
            for (at, kind) in kinds.iter().enumerate() {
                shown[shows(&one.outcomes, kind[0])] |= 1 << at;
            }
            shown.retain(|kinds| *kinds != 0);
            shown
        });
        let shown = shown.collect();
        let least = kinds.iter().map(|kind| {
            let weigh = |hypothesis: &usize| {
                let alone = least_alone(&plan.sites, *hypothesis);
                weights[*hypothesis] * alone
            };
            let mut of_kind = vec![0.0; weights.len()];
            kind.iter().for_each(|&one| of_kind[one] = weights[one]);
            let state = plan.state(&of_kind);
            let unsure = super::UNSURE_S * (state.total - state.surest).max(0.0);
            (state.total, kind.iter().map(weigh).sum::<f64>() + unsure)
        });
        let least = least.collect();
        let after = Plan { weak: Vec::new(), ..plan.clone() };
        let left_out = 1.0 - kept / before;
        Self { plans: [plan, after], weights, kinds, shown, least, left_out }
    }

    /// The same, with the next test chosen otherwise.
    fn looking_ahead(&self, looked_ahead: usize, steps: usize) -> Self {
        let mut other = self.clone();
        for plan in &mut other.plans {
            (plan.looked_ahead, plan.steps) = (looked_ahead, steps);
        }
        other
    }

    fn start(&self, setting: usize) -> Reached {
        let all = Kinds::MAX.checked_shr((MOST_KINDS - self.kinds.len()) as u32).unwrap_or(0);
        Reached { left: all, setting, weakly: !self.plans[0].weak.is_empty() }
    }

    fn plan(&self, reached: Reached) -> &Plan {
        &self.plans[usize::from(!reached.weakly)]
    }

    /// What the library chooses by there: the plan for what is left, tests numbered alike, with
    /// the weights.
    fn stands(&self, reached: Reached) -> (Plan, Vec<f64>) {
        let plan = self.plan(reached);
        let left: Vec<usize> =
            each(reached.left).flat_map(|kind| self.kinds[kind].iter().copied()).collect();
        let prospects = plan.prospects.iter().zip(&self.shown).map(|(one, shown)| {
            let shows: Vec<Kinds> = shown.iter().map(|kinds| kinds & reached.left).collect();
            let n = shows.iter().filter(|kinds| **kinds != 0).count();
            // What parts nothing tells nothing, and need not be told at length.
            let of = match n {
                0 | 1 => Vec::new(),
                _ => left.iter().map(|&at| one.outcomes.of[at]).collect(),
            };
            let kinds = one.outcomes.kinds.clone();
            let facts = vec![Vec::new(); one.outcomes.len()];
            let outcomes = Outcomes { facts, kinds, of, seen: None };
            Prospect { act: one.act, holding_s: one.holding_s, outcomes }
        });
        let mut decisions: BTreeMap<usize, usize> = BTreeMap::new();
        let decision = |&at: &usize| {
            let next = decisions.len();
            *decisions.entry(plan.decision[at]).or_insert(next)
        };
        let here = Plan {
            prospects: prospects.collect(),
            sites: Sites {
                sites: plan.sites.sites.clone(),
                of: left.iter().map(|&at| plan.sites.of[at].clone()).collect(),
            },
            decision: left.iter().map(decision).collect(),
            places: left.iter().map(|&at| plan.places[at].clone()).collect(),
            is_known: vec![true; left.len()],
            switching_s: plan.switching_s.clone(),
            walking: None,
            weak: plan.weak.clone(),
            leaving: Leaving {
                cost_s: plan.leaving.cost_s,
                is_called_for: left.iter().map(|&at| plan.leaving.is_called_for[at]).collect(),
            },
            ..*plan
        };
        (here, left.iter().map(|&at| self.weights[at]).collect())
    }

    fn weight(&self, left: Kinds) -> f64 {
        each(left).map(|kind| self.least[kind].0).sum()
    }

    /// What a test costs from there, and where each thing that it can show leads to.
    fn test(&self, test: usize, from: Reached) -> (f64, Vec<Reached>) {
        let plan = self.plan(from);
        let prospect = &plan.prospects[test];
        let weakly = from.weakly && plan.weak.contains(&prospect.act.instrument);
        let left = self.shown[test].iter().map(|shown| shown & from.left);
        let setting = prospect.act.setting;
        let reached = left.filter(|left| *left != 0);
        let reached = reached.map(|left| Reached { left, setting, weakly }).collect();
        (plan.cost_s(prospect, standing(from.setting)), reached)
    }

    /// Whether a way of testing may end there, whatever it costs, and whether it must. Where there
    /// is likely nothing to open, what opening costs means nothing: everybody ends where the
    /// library does. Elsewhere everybody may, but on detectors alone only where nothing else
    /// tells anything.
    fn may_and_must_end(&self, reached: Reached) -> (bool, bool) {
        let (plan, weights) = self.stands(reached);
        if !plan.is_looked_for(&weights) {
            let ends = self.ends(reached).is_some();
            return (ends, ends);
        }
        let is_weak = |at: usize| plan.weak.contains(&plan.prospects[at].act.instrument);
        let others =
            || plan.ranked(&weights, standing(reached.setting)).iter().any(|(at, _)| !is_weak(*at));
        (!reached.weakly || !others(), false)
    }

    /// Why the library ends there, if it does.
    fn ends(&self, at: Reached) -> Option<Enough> {
        let (plan, weights) = self.stands(at);
        match plan.choose(&weights, standing(at.setting)) {
            Choice::Enough(enough) => Some(enough),
            Choice::Test { .. } => None,
        }
    }

    /// What opening boxes costs there.
    fn open_s(&self, left: Kinds) -> f64 {
        let mut weights = vec![0.0; self.weights.len()];
        for &one in each(left).flat_map(|kind| &self.kinds[kind]) {
            weights[one] = self.weights[one];
        }
        self.plans[1].state(&weights).open_s
    }
}

fn each(kinds: Kinds) -> impl Iterator<Item = usize> {
    let mut left = kinds;
    std::iter::from_fn(move || {
        let next = left.trailing_zeros() as usize;
        left &= left.wrapping_sub(1);
        (next < MOST_KINDS).then_some(next)
    })
}

/// The least, over all orders of opening, that a hypothesis costs to find where everybody knows
/// that it is so, but for what is not followed further.
fn least_alone(sites: &Sites, hypothesis: usize) -> f64 {
    let faults = &sites.of[hypothesis];
    let mut own: Vec<usize> = faults.iter().flatten().map(|(site, _)| *site).collect();
    own.sort_unstable();
    own.dedup();
    if faults.is_empty() || own.len() > 12 {
        return 0.0;
    }
    let cost = |site: usize| sites.sites[site].1;
    let unfound = |gone: usize| -> f64 {
        let is_gone =
            |site: usize| own.iter().position(|o| *o == site).is_some_and(|at| gone >> at & 1 == 1);
        let of = |fault: &Vec<(usize, f64)>| {
            1.0 - fault
                .iter()
                .filter(|(site, _)| is_gone(*site))
                .map(|(_, share)| share)
                .sum::<f64>()
        };
        faults.iter().map(of).map(|left| left.max(0.0)).product()
    };
    let all = (1 << own.len()) - 1;
    let mut from = vec![0.0; all + 1];
    for gone in (0..all).rev() {
        let next = (0..own.len()).filter(|at| gone >> at & 1 == 0);
        let costs = next.map(|at| unfound(gone) * cost(own[at]) + from[gone | 1 << at]);
        from[gone] = costs.fold(f64::INFINITY, f64::min);
    }
    let unfollowed = ENOUGH * own.iter().map(|&site| cost(site)).sum::<f64>();
    (from[0] - unfollowed).max(0.0)
}

/// Rounding of sums of some thousands of seconds.
const ROUNDING_S: f64 = 1e-9;

/// What a way of testing is to be cheap in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Aim {
    /// Seconds of testing and then of opening, ending wherever that is cheapest.
    Whole,
    /// Seconds of testing alone, ending only where the library would end too.
    Tests,
}

/// What is known of the cheapest way from somewhere.
#[derive(Clone, Copy, Debug)]
struct Bound {
    /// It costs no less.
    least: f64,
    /// And no more.
    is_exact: bool,
}

/// The search for the cheapest way.
struct Search<'c> {
    certain: &'c Certain,
    aim: Aim,
    known: HashMap<Reached, Bound>,
    /// What ending costs, infinite where it is not allowed; and whether it is a must.
    ends: HashMap<Reached, (f64, bool)>,
    /// What opening boxes costs.
    open_s: HashMap<Kinds, f64>,
    /// States that may still be followed.
    most: usize,
}

impl<'c> Search<'c> {
    fn new(certain: &'c Certain, aim: Aim, most: usize) -> Self {
        Self {
            certain,
            aim,
            known: HashMap::new(),
            ends: HashMap::new(),
            open_s: HashMap::new(),
            most,
        }
    }

    /// The least cost of all ways of testing from there, of which one that costs so much is
    /// known, seconds in proportion to the weights; `None` where more states than allowed would
    /// have to be followed.
    fn least(&mut self, from: Reached, known_s: f64) -> Option<f64> {
        self.within(from, known_s + ROUNDING_S)
    }

    /// The least cost if it is below a limit; else something that it does not fall below, and
    /// that is not below the limit.
    fn within(&mut self, from: Reached, limit: f64) -> Option<f64> {
        let known = self.bound(from);
        if known.is_exact || known.least >= limit {
            return Some(known.least);
        }
        let (mut best, must) = self.end(from);
        if must || best <= known.least {
            return Some(self.keep(from, best, true));
        }
        self.most = self.most.checked_sub(1)?;
        let weight = self.certain.weight(from.left);
        let mut tests: Vec<(f64, f64, Vec<Reached>)> = Vec::new();
        for test in 0..self.certain.shown.len() {
            let (cost_s, reached) = self.certain.test(test, from);
            // What parts nothing can only be of use as the first that is no detector.
            let is_of_use =
                reached.len() > 1 || from.weakly && reached.first().is_some_and(|one| !one.weakly);
            if is_of_use {
                let after: f64 = reached.iter().map(|&one| self.bound(one).least).sum();
                tests.push((cost_s * weight + after, cost_s * weight, reached));
            }
        }
        tests.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut others = f64::INFINITY;
        for (least, made_s, reached) in tests {
            let most = best.min(limit);
            if least >= most {
                others = others.min(least);
                break;
            }
            let cost = self.through(made_s, &reached, most)?;
            if cost < most {
                best = cost;
            } else {
                others = others.min(cost);
            }
        }
        let is_exact = best < limit;
        Some(self.keep(from, if is_exact { best } else { best.min(others) }, is_exact))
    }

    /// The cost of a test with the cheapest ways after it, as far as it is below a limit.
    fn through(&mut self, made_s: f64, reached: &[Reached], limit: f64) -> Option<f64> {
        let counted: Vec<f64> = reached.iter().map(|&one| self.bound(one).least).collect();
        let mut cost = made_s + counted.iter().sum::<f64>();
        for (&one, counted) in reached.iter().zip(counted) {
            if cost >= limit {
                break;
            }
            let without = cost - counted;
            cost = without + self.within(one, limit - without)?;
        }
        Some(cost)
    }

    fn keep(&mut self, from: Reached, least: f64, is_exact: bool) -> f64 {
        self.known.insert(from, Bound { least, is_exact });
        least
    }

    /// What is known without following anything.
    fn bound(&mut self, at: Reached) -> Bound {
        if let Some(known) = self.known.get(&at) {
            return *known;
        }
        let bound = match self.aim {
            // Knowing whether testing may end costs more than it spares.
            Aim::Tests => Bound { least: 0.0, is_exact: false },
            Aim::Whole => {
                let kinds = each(at.left).map(|kind| self.certain.least[kind]);
                let (weight, found) =
                    kinds.fold((0.0, 0.0), |(w, f), (weight, least)| (w + weight, f + least));
                let cheapest = self.cheapest(at);
                let least = self.open_s(at.left).min(found + weight * cheapest);
                Bound { least, is_exact: false }
            }
        };
        self.known.insert(at, bound);
        bound
    }

    /// The cheapest test there, seconds.
    fn cheapest(&self, at: Reached) -> f64 {
        let plan = self.certain.plan(at);
        let costs = plan.prospects.iter().map(|one| plan.cost_s(one, standing(at.setting)));
        costs.fold(f64::INFINITY, f64::min)
    }

    fn open_s(&mut self, left: Kinds) -> f64 {
        *self.open_s.entry(left).or_insert_with(|| self.certain.open_s(left))
    }

    /// What it costs to end there, and whether everybody does.
    fn end(&mut self, at: Reached) -> (f64, bool) {
        if let Some(known) = self.ends.get(&at) {
            return *known;
        }
        let end = match self.aim {
            Aim::Whole => {
                let (may, must) = self.certain.may_and_must_end(at);
                (if may { self.open_s(at.left) } else { f64::INFINITY }, must)
            }
            Aim::Tests if self.certain.ends(at).is_some() => (0.0, true),
            Aim::Tests => (f64::INFINITY, false),
        };
        self.ends.insert(at, end);
        end
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::act::Act;
    use super::super::super::opening::Site;
    use super::played::{chosen, greedy, played};
    use super::*;

    /// Tiny problems that are drawn.
    const DRAWN: u64 = 300;

    /// Marsaglia's xorshift.
    struct Chance(u64);

    impl Chance {
        fn below(&mut self, n: usize) -> usize {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            ((self.0 >> 20) % n as u64) as usize
        }
    }

    /// A test that shows of each hypothesis one thing nearly always, and another else.
    fn test(act: Act, holding_s: f64, shows: &[usize], most: f64) -> Prospect {
        let n = shows.iter().max().map_or(0, |last| last + 1);
        let kind = |one: usize| match n {
            1 => vec![(0, 1.0)],
            n => vec![((one + 1) % n, 1.0 - most), (one, most)],
        };
        let (kinds, of) = ((0..n).map(kind).collect(), shows.to_vec());
        let outcomes = Outcomes { facts: vec![Vec::new(); n], kinds, of, seen: None };
        Prospect { act, holding_s, outcomes }
    }

    /// Up to six hypotheses in three boxes, five tests in two settings.
    fn drawn(seed: u64, most: f64) -> (Plan, Vec<f64>) {
        let mut chance = Chance(seed * 0x9e37_79b9 + 1);
        let n = 3 + chance.below(4);
        let weights: Vec<f64> = (0..n).map(|_| 1.0 + chance.below(30) as f64).collect();
        let all: f64 = weights.iter().sum();
        let act =
            |number: usize| Act { instrument: number / 2, outlet: number, setting: number % 2 };
        let mut tests = Vec::new();
        for number in 0..5 {
            let shows: Vec<usize> = (0..n).map(|_| chance.below(3)).collect();
            let cost = 10.0 + 10.0 * chance.below(6) as f64;
            tests.push(test(act(number), cost, &shows, most));
        }
        let mut sites = Sites {
            sites: (0..3).map(|box_| (Site::Place(box_), 420.0)).collect(),
            of: Vec::new(),
        };
        sites.sites[2].1 = 60.0 + 60.0 * chance.below(9) as f64;
        let mut places = Vec::new();
        for _ in 0..n {
            let n_faults = [0, 1, 1, 1, 2][chance.below(5)];
            let faults: Vec<usize> = (0..n_faults).map(|_| chance.below(4)).collect();
            let shares = |fault: &usize| match fault {
                3 => vec![(0, 0.3), (1, 0.7)],
                site => vec![(*site, 1.0)],
            };
            sites.of.push(faults.iter().map(shares).collect());
            places.push(faults);
        }
        let plan = Plan {
            prospects: tests,
            sites,
            decision: (0..n).collect(),
            places,
            is_known: vec![true; n],
            switching_s: vec![vec![0.0, 10.0], vec![10.0, 0.0]],
            walking: None,
            confidence: 0.99,
            weak: if seed.is_multiple_of(3) { vec![0] } else { Vec::new() },
            leaving: Leaving { cost_s: 3_600.0, is_called_for: vec![true; n] },
            looked_ahead: 2,
            steps: 2,
        };
        (plan, weights.iter().map(|weight| weight / all).collect())
    }

    /// The least cost by trying every way, nothing kept and nothing left out.
    fn tried(plan: &Plan, weights: &[f64], setting: usize, aim: Aim) -> f64 {
        let is_weak = |at: usize| plan.weak.contains(&plan.prospects[at].act.instrument);
        let ends = matches!(plan.choose(weights, standing(setting)), Choice::Enough(_));
        let mut best = match aim {
            Aim::Tests if ends => return 0.0,
            Aim::Tests => f64::INFINITY,
            Aim::Whole if !plan.is_looked_for(weights) => match ends {
                true => return plan.state(weights).open_s,
                false => f64::INFINITY,
            },
            Aim::Whole => {
                let others =
                    plan.ranked(weights, standing(setting)).iter().any(|(at, _)| !is_weak(*at));
                match plan.weak.is_empty() || !others {
                    true => plan.state(weights).open_s,
                    false => f64::INFINITY,
                }
            }
        };
        for (at, one) in plan.prospects.iter().enumerate() {
            let left = (0..one.outcomes.len()).map(|shown| one.outcomes.after(shown, weights));
            let left: Vec<Vec<f64>> = left.filter(|left| left.iter().sum::<f64>() > 0.0).collect();
            let proves = !plan.weak.is_empty() && !is_weak(at);
            if left.len() > 1 || proves {
                let weak = if proves { Vec::new() } else { plan.weak.clone() };
                let after = Plan { weak, ..plan.clone() };
                let on = left.iter().map(|left| tried(&after, left, one.act.setting, aim));
                let here = plan.cost_s(one, standing(setting)) * weights.iter().sum::<f64>();
                best = best.min(here + on.sum::<f64>());
            }
        }
        best
    }

    fn least(certain: &Certain, aim: Aim) -> f64 {
        Search::new(certain, aim, 100_000)
            .least(certain.start(0), f64::INFINITY)
            .expect("a tiny problem")
    }

    #[test]
    fn the_cheapest_way_is_what_trying_every_way_finds() {
        for seed in 1..=DRAWN {
            let (hard, weights) = drawn(seed, 1.0);
            let certain = Certain::of(&drawn(seed, 0.9).0, &weights);
            for aim in [Aim::Whole, Aim::Tests] {
                let (found, tried) = (least(&certain, aim), tried(&hard, &weights, 0, aim));
                assert!((found - tried).abs() < ROUNDING_S, "{seed} {aim:?}: {found} {tried}");
            }
        }
    }

    #[test]
    fn nobody_tests_cheaper_than_the_cheapest_way() {
        let mut dearer = 0;
        for seed in 1..=DRAWN {
            let (plan, weights) = drawn(seed, 0.9);
            let certain = Certain::of(&plan, &weights);
            let (whole, tests) = (least(&certain, Aim::Whole), least(&certain, Aim::Tests));
            for chooser in [chosen, greedy] {
                let played = played(&certain, certain.start(0), chooser);
                assert!(played.whole_s() > whole - ROUNDING_S, "{seed}: {played:?} {whole}");
                assert!(played.tests_s > tests - ROUNDING_S, "{seed}: {played:?} {tests}");
                dearer += usize::from(played.whole_s() > whole + 1.0);
            }
        }
        assert!(dearer > 0, "one step or two cannot be the best everywhere");
    }

    /// Two boxes and a bit of two others, with a detector (10 s) that nobody stops on alone and
    /// tells one half from the other, and a tester (20 s) that shows what is stated.
    fn two_halves(tester: &[usize]) -> Plan {
        let at = |instrument: usize| Act { instrument, outlet: 0, setting: 0 };
        let (plan, _) = drawn(1, 1.0);
        Plan {
            prospects: vec![test(at(0), 10.0, &[0, 0, 1, 1], 1.0), test(at(1), 20.0, tester, 1.0)],
            sites: Sites {
                sites: (0..4).map(|box_| (Site::Place(box_), 420.0)).collect(),
                of: (0..4).map(|site| vec![vec![(site, 1.0)]]).collect(),
            },
            decision: (0..4).collect(),
            places: (0..4).map(|place| vec![place]).collect(),
            is_known: vec![true; 4],
            weak: vec![0],
            ..plan
        }
    }

    const HALVES: [f64; 4] = [0.4975, 0.0025, 0.4975, 0.0025];

    #[test]
    fn the_tester_comes_first_where_a_detector_alone_would_not_be_believed() {
        let first = |plan: &Plan| chosen(plan, &HALVES, 0);
        let plan = two_halves(&[0, 1, 2, 3]);
        assert_eq!(first(&plan), Some(1));
        let believed = Plan { weak: Vec::new(), ..plan };
        assert_eq!(first(&believed), Some(0));
    }

    #[test]
    fn the_detector_comes_first_where_no_tester_could_say_more_after_it() {
        assert_eq!(chosen(&two_halves(&[0, 0, 1, 1]), &HALVES, 0), Some(0));
    }

    #[test]
    fn the_same_look_in_the_next_box_is_thought_of_once() {
        let mut plan = two_halves(&[0, 1, 2, 3]);
        let again = |outlet: usize, shows: &[usize]| {
            test(Act { instrument: 0, outlet, setting: 0 }, 10.0, shows, 1.0)
        };
        plan.prospects.extend([again(1, &[0, 0, 1, 1]), again(2, &[0, 1, 1, 0])]);
        let (now, evenly) = (standing(0), [0.25; 4]);
        let kept = plan.without_the_same_elsewhere(plan.ranked(&evenly, now), &evenly, now);
        let mut kept: Vec<usize> = kept.into_iter().map(|(at, _)| at).collect();
        kept.sort_unstable();
        assert_eq!(kept, [0, 1, 3]);
    }

    #[test]
    fn one_test_between_two_boxes_is_worth_a_box_in_two() {
        let at = Act { instrument: 0, outlet: 0, setting: 0 };
        let (plan, _) = drawn(1, 1.0);
        let plan = Plan {
            prospects: vec![test(at, 20.0, &[0, 1], 0.97)],
            sites: Sites {
                sites: vec![(Site::Place(0), 420.0), (Site::Place(1), 420.0)],
                of: vec![vec![vec![(0, 1.0)]], vec![vec![(1, 1.0)]]],
            },
            decision: vec![0, 1],
            places: vec![vec![0], vec![1]],
            is_known: vec![true; 2],
            weak: Vec::new(),
            ..plan
        };
        let certain = Certain::of(&plan, &[0.5, 0.5]);
        assert!((least(&certain, Aim::Whole) - 440.0).abs() < ROUNDING_S);
        assert!((least(&certain, Aim::Tests) - 20.0).abs() < ROUNDING_S);
        assert_eq!(Search::new(&certain, Aim::Whole, 0).least(certain.start(0), 440.0), None);
    }
}
