//! Which faults are tried together.

use super::asking::Asking;
use super::belief::{Belief, Who};
use super::class::Class;
use super::model::Set;
use super::possible::Possible;
use crate::condition::catalogue::FaultKind;

/// What either of two may at least make of a thing that neither explains, in ranking pairs.
const TOGETHER_LN: f64 = -6.0;

/// The same of a load that was on although nobody said so: what an open joint shows hangs on what
/// is on beyond it; and of metal on a hot past an open ground, which trips nothing then.
const WITH_A_LOAD_LN: f64 = -2.0;

/// Pairs this much less likely than the best known are not solved.
const HOPELESS_LN: f64 = -11.0;

/// A class with what it makes of each thing told.
struct Single<'a> {
    at: usize,
    class: &'a Class,
    ln_odds: f64,
    parts: &'a [f64],
}

/// Pairs that triples grow from.
const GROWN: usize = 24;

impl Asking<'_, '_> {
    /// The pairs worth solving with how likely each is at best, the likeliest first.
    pub(super) fn pairs(
        &self,
        parts: &[Option<Vec<f64>>],
        best: f64,
        at_most: usize,
    ) -> Vec<(f64, Set)> {
        let mut ranked: Vec<(f64, usize, usize)> = Vec::new();
        let Some((Some(nothing), singles)) = parts.split_last() else { return Vec::new() };
        let least = |together: f64| nothing.iter().map(|ln| ln.max(together)).collect();
        let (least, least_with_a_load): (Vec<f64>, Vec<f64>) =
            (least(TOGETHER_LN), least(WITH_A_LOAD_LN));
        let known: Vec<Single<'_>> = singles
            .iter()
            .zip(self.classes)
            .enumerate()
            .filter_map(|(at, (parts, class))| {
                Some(Single { at, class, ln_odds: class.odds.ln(), parts: parts.as_ref()? })
            })
            .collect();
        for (nth, first) in known.iter().enumerate() {
            for second in known.iter().skip(nth + 1) {
                // No part makes it likelier.
                let mut ln = first.ln_odds + second.ln_odds;
                if ln <= best + HOPELESS_LN {
                    continue;
                }
                let is_with_a_load = self.is_forgotten(first.class)
                    || self.is_forgotten(second.class)
                    || self.makes_live(first.class, second.class);
                let least = match is_with_a_load {
                    true => &least_with_a_load,
                    false => &least,
                };
                for ((x, y), least) in first.parts.iter().zip(second.parts).zip(least) {
                    ln += x.max(*y).max(*least);
                }
                if ln > best + HOPELESS_LN && self.together(first.class, second.class) {
                    ranked.push((ln, first.at, second.at));
                }
            }
        }
        let order = |x: &(f64, usize, usize), y: &(f64, usize, usize)| {
            y.0.total_cmp(&x.0).then((x.1, x.2).cmp(&(y.1, y.2)))
        };
        // Of a hundred thousand a thousand or two are wanted.
        if ranked.len() > at_most {
            ranked.select_nth_unstable_by(at_most, order);
            ranked.truncate(at_most);
        }
        ranked.sort_unstable_by(order);
        ranked.into_iter().map(|(ln, a, b)| (ln, Set::of(&[a, b]))).collect()
    }

    /// Classes that are two conductors exchanged.
    pub(super) fn exchanges(&self) -> Vec<usize> {
        let is_one = |class: &Class| {
            let fault = self.model.possibles.get(class.lead).and_then(Possible::fault);
            fault.is_some_and(|fault| {
                matches!(fault.kind, FaultKind::ExchangedAtDevice | FaultKind::ExchangedAtCableEnd)
            })
        };
        let all = self.classes.iter().enumerate();
        all.filter(|(_, class)| is_one(class)).map(|(at, _)| at).collect()
    }

    /// Classes of the same fault of the same conductors, to the same amount, elsewhere.
    pub(super) fn elsewhere_alike(&self, class: usize) -> Vec<usize> {
        let fault = |class: &Class| {
            let lead = self.model.possibles.get(class.lead)?.fault()?;
            Some((lead.kind, &lead.conductors, lead.level_ohm.map(f64::to_bits)))
        };
        let Some(it) = self.classes.get(class).and_then(fault) else { return Vec::new() };
        let all = self.classes.iter().enumerate();
        let alike = all.filter(|&(at, one)| at != class && fault(one) == Some(it));
        alike.map(|(at, _)| at).collect()
    }

    fn is_forgotten(&self, class: &Class) -> bool {
        self.model.possibles.get(class.lead).is_some_and(Possible::is_a_load_left_on)
    }

    /// Whether one is a hot on grounded metal and the other an open ground: alone the first trips and the
    /// second is seen by nobody.
    fn makes_live(&self, one: &Class, other: &Class) -> bool {
        let conductors = |class: &Class| {
            let fault = self.model.possibles.get(class.lead).and_then(Possible::fault);
            fault.map_or(&[][..], |fault| fault.conductors.as_slice())
        };
        let is_metal = |name: &String| name == "ground" || name == "frame";
        let is_on_metal = |class: &Class| match conductors(class) {
            [a, b] => (is_metal(a) != is_metal(b)) && a != "neutral" && b != "neutral",
            _ => false,
        };
        let is_open = |class: &Class| matches!(conductors(class), [only] if is_metal(only));
        is_on_metal(one) && is_open(other) || is_on_metal(other) && is_open(one)
    }

    /// Whether two classes can be so at once and mean anything together.
    fn together(&self, one: &Class, other: &Class) -> bool {
        if one.is_nuisance && other.is_nuisance {
            return false;
        }
        let possible = |class: &Class| self.model.possibles.get(class.lead);
        possible(one).zip(possible(other)).is_some_and(|(a, b)| !a.excludes(b))
    }

    /// Triples grown from the pairs that do best, where these leave something unexplained.
    pub(super) fn triples(
        &self,
        belief: &Belief,
        parts: &[Option<Vec<f64>>],
        at_most: usize,
    ) -> Vec<Set> {
        let pairs = belief.hypotheses.iter().filter_map(|one| match one.who {
            Who::Classes(set) if set.len() == 2 => Some((set, one)),
            _ => None,
        });
        let mut ranked: Vec<(f64, Set)> = Vec::new();
        for (set, pair) in pairs.take(GROWN) {
            let Some(of_pair) = self.parts_of(set) else { continue };
            for (third, single) in parts.iter().enumerate() {
                let (Some(single), Some(class)) = (single, self.classes.get(third)) else {
                    continue;
                };
                let fits = set
                    .iter()
                    .filter_map(|one| self.classes.get(one))
                    .all(|one| self.together(one, class));
                if set.contains(third) || !fits {
                    continue;
                }
                let each = of_pair.iter().zip(single);
                let gain: f64 = each.map(|(pair, single)| (single - pair).max(0.0)).sum();
                ranked.push((pair.ln + class.odds.ln() + gain, set.with(third)));
            }
        }
        ranked.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
        ranked.dedup_by_key(|(_, set)| *set);
        let mut kept: Vec<Set> = Vec::new();
        for (_, set) in ranked {
            if kept.len() >= at_most {
                break;
            }
            if !kept.contains(&set) {
                kept.push(set);
            }
        }
        kept
    }
}
