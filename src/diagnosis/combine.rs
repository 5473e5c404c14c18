//! Which faults are tried together.

use std::collections::BTreeSet;

use super::asking::Asking;
use super::belief::{Belief, Who};
use super::class::Class;
use super::model::Set;
use super::possible::Possible;
use super::symptom::run;
use crate::condition::catalogue::{FaultKind, PossibleFault};

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
    is_forgotten: bool,
    touches: Touches,
}

/// How a class concerns metal that should be dead.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Touches {
    /// It brings a hot to it.
    HotToMetal,
    /// It opens its ground.
    OpenGround,
    Neither,
}

impl Single<'_> {
    /// Whether one is a hot on grounded metal and the other an open ground: alone the first trips and the
    /// second is seen by nobody.
    fn makes_live(&self, other: &Self) -> bool {
        matches!(
            (self.touches, other.touches),
            (Touches::HotToMetal, Touches::OpenGround) | (Touches::OpenGround, Touches::HotToMetal)
        )
    }
}

/// Pairs kept while they are ranked, for each that is wanted.
const RANKED_FOR_ONE: usize = 4;

/// What all parts together may come to at most, and a little for rounding.
fn most_in_all(known: &[Single<'_>], least: &[f64]) -> f64 {
    let most = |(part, least): (usize, &f64)| {
        let each = known.iter().filter_map(|one| one.parts.get(part));
        each.copied().fold(*least, f64::max)
    };
    least.iter().enumerate().map(most).sum::<f64>() + 1e-9
}

/// A bootleg ground is so much likelier where the ground is open, which makes it one in twenty receptacles
/// that miss theirs: judgement.
const MADE_FOR_WANT_OF_IT: f64 = 4.0;

/// So many sets with one are asked, whatever they are by themselves.
const BOOTLEGS_ASKED: usize = 400;

/// Pairs that triples grow from.
pub(super) const GROWN: usize = 24;

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
        let mut known: Vec<Single<'_>> = singles
            .iter()
            .zip(self.classes)
            .enumerate()
            .filter_map(|(at, (parts, class))| {
                Some(Single {
                    at,
                    class,
                    ln_odds: class.odds.ln(),
                    parts: parts.as_ref()?,
                    is_forgotten: self.is_forgotten(class),
                    touches: self.touches(class),
                })
            })
            .collect();
        known.sort_by(|x, y| y.ln_odds.total_cmp(&x.ln_odds));
        let most_in_all = most_in_all(&known, &least_with_a_load);
        // Where as many are ranked as are wanted, less than the last of these is of no use.
        let mut last = f64::NEG_INFINITY;
        let order = |x: &(f64, usize, usize), y: &(f64, usize, usize)| {
            y.0.total_cmp(&x.0).then((x.1, x.2).cmp(&(y.1, y.2)))
        };
        for (nth, first) in known.iter().enumerate() {
            for second in known.iter().skip(nth + 1) {
                // No part makes it likelier; nor is any after it likelier.
                let mut ln = first.ln_odds + second.ln_odds;
                if ln <= best + HOPELESS_LN || ln + most_in_all < last {
                    break;
                }
                let is_with_a_load =
                    first.is_forgotten || second.is_forgotten || first.makes_live(second);
                let least = match is_with_a_load {
                    true => &least_with_a_load,
                    false => &least,
                };
                for ((x, y), least) in first.parts.iter().zip(second.parts).zip(least) {
                    ln += x.max(*y).max(*least);
                }
                if ln > best + HOPELESS_LN && self.together(first.class, second.class) {
                    ranked.push((ln, first.at.min(second.at), first.at.max(second.at)));
                }
            }
            if ranked.len() > RANKED_FOR_ONE * at_most.max(1) {
                let (_, worst, _) = ranked.select_nth_unstable_by(at_most, order);
                last = worst.0;
                ranked.truncate(at_most);
            }
        }
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

    /// A ground exchanged for another conductor and a ground that is open, each with each.
    pub(super) fn past_an_open_ground(&self) -> Vec<(usize, usize)> {
        let is_of_ground = |&exchange: &usize| {
            self.fault_of(exchange)
                .is_some_and(|fault| fault.conductors.iter().any(|name| name == "ground"))
        };
        let is_open = |class: &Class| {
            let fault = self.model.possibles.get(class.lead).and_then(Possible::fault);
            self.touches(class) == Touches::OpenGround
                && fault.is_some_and(|fault| {
                    use FaultKind::{BrokenConductor, LeakyOpen, OpenJoint};
                    matches!(fault.kind, OpenJoint | LeakyOpen | BrokenConductor)
                })
        };
        let all = self.classes.iter().enumerate();
        let open: Vec<usize> = all.filter(|(_, class)| is_open(class)).map(|(at, _)| at).collect();
        let exchanges = self.exchanges().into_iter().filter(is_of_ground);
        exchanges.flat_map(|one| open.iter().map(move |&other| (one, other))).collect()
    }

    /// How much likelier a bootleg ground and a ground that is open on the way to it are together than each by
    /// itself: the one is made for want of the other.
    pub(super) fn for_want_of_a_ground(&self, set: Set) -> f64 {
        let open: Vec<usize> = set.iter().filter(|&at| self.opens_a_ground(at)).collect();
        if open.is_empty() {
            return 0.0;
        }
        let bootlegs = set.iter().filter(|&at| self.is_bootleg(at));
        let is_missing = |bootleg: usize| {
            let before = self.up_to(&self.places_of(bootleg));
            open.iter().any(|&at| !self.places_of(at).is_disjoint(&before))
        };
        let n_made = bootlegs.filter(|&bootleg| is_missing(bootleg)).count();
        n_made as f64 * MADE_FOR_WANT_OF_IT.ln()
    }

    /// Bootleg grounds with the ground open there, and with hot and neutral exchanged there too: nothing at
    /// all is to be seen of the one with a tester, and of the other nothing that does not need the soil.
    pub(super) fn bootlegs_for_want_of_a_ground(&self) -> Vec<Set> {
        let n_classes = self.classes.len();
        let exchanges: Vec<usize> =
            self.exchanges().into_iter().filter(|&at| self.is_polarity(at)).collect();
        let open_grounds: Vec<usize> =
            (0..n_classes).filter(|&at| self.opens_a_ground(at)).collect();
        let mut sets = Vec::new();
        for bootleg in (0..n_classes).filter(|&at| self.is_bootleg(at)) {
            let places = self.places_of(bootleg);
            let before = self.up_to(&places);
            let is_there = |&at: &usize| !self.places_of(at).is_disjoint(&places);
            for &open in &open_grounds {
                let opens_at = self.places_of(open);
                if opens_at.is_disjoint(&before) {
                    continue;
                }
                let pair = Set::of(&[bootleg, open]);
                let is_elsewhere = opens_at.is_disjoint(&places);
                sets.push((is_elsewhere, pair));
                let exchanged = exchanges.iter().filter(|at| is_there(at));
                sets.extend(exchanged.map(|&at| (is_elsewhere, pair.with(at))));
            }
        }
        // Those of one place first.
        sets.sort();
        sets.truncate(BOOTLEGS_ASKED);
        sets.into_iter().map(|(_, set)| set).collect()
    }

    /// These places and all between them and the supply.
    fn up_to<'p>(&'p self, places: &BTreeSet<&'p str>) -> BTreeSet<&'p str> {
        let circuit = self.model.circuit;
        let all = &circuit.parts().places;
        let above = places.iter().flat_map(|place| run(circuit, place).0);
        let above = above.filter_map(|at| all.get(at)).map(|place| place.id.as_str());
        places.iter().copied().chain(above).collect()
    }

    fn fault_of(&self, class: usize) -> Option<&PossibleFault> {
        self.model.possibles.get(self.classes.get(class)?.lead)?.fault()
    }

    fn is_bootleg(&self, class: usize) -> bool {
        self.fault_of(class).is_some_and(PossibleFault::is_bootleg)
    }

    /// Whether a class is a hot and a neutral exchanged.
    fn is_polarity(&self, class: usize) -> bool {
        let of_neutral = |fault: &PossibleFault| {
            fault.conductors.iter().any(|name| name == "neutral")
                && fault.conductors.iter().all(|name| name != "ground")
        };
        self.fault_of(class).is_some_and(of_neutral)
    }

    fn opens_a_ground(&self, class: usize) -> bool {
        let of = self.classes.get(class);
        of.is_some_and(|class| self.touches(class) == Touches::OpenGround)
    }

    fn places_of(&self, class: usize) -> BTreeSet<&str> {
        let members = self.classes.get(class).map_or(&[][..], |class| &class.members);
        let faults = members.iter().filter_map(|(at, _)| self.model.possibles.get(*at)?.fault());
        faults.flat_map(|fault| &fault.places).map(String::as_str).collect()
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

    fn touches(&self, class: &Class) -> Touches {
        let fault = self.model.possibles.get(class.lead).and_then(Possible::fault);
        let is_metal = |name: &String| name == "ground" || name == "frame";
        match fault.map_or(&[][..], |fault| fault.conductors.as_slice()) {
            [a, b] if (is_metal(a) != is_metal(b)) && a != "neutral" && b != "neutral" => {
                Touches::HotToMetal
            }
            [only] if is_metal(only) => Touches::OpenGround,
            _ => Touches::Neither,
        }
    }

    /// Whether two classes can be so at once and mean anything together.
    pub(super) fn together(&self, one: &Class, other: &Class) -> bool {
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
            Who::Classes(set) if set.len() == 2 => Some((set, one.ln)),
            _ => None,
        });
        let pairs: Vec<(Set, f64)> = pairs.take(GROWN).collect();
        self.grown(&pairs, parts, at_most)
    }

    /// Sets with one class more, those first of which most may be hoped by what it makes of each
    /// thing by itself.
    pub(super) fn grown(
        &self,
        from: &[(Set, f64)],
        parts: &[Option<Vec<f64>>],
        at_most: usize,
    ) -> Vec<Set> {
        let mut ranked: Vec<(f64, Set)> = Vec::new();
        for &(set, ln) in from {
            let Some(of_set) = self.parts_of(set) else { continue };
            for (more, single) in parts.iter().enumerate() {
                let (Some(single), Some(class)) = (single, self.classes.get(more)) else {
                    continue;
                };
                if !self.fits_beside(set, more) {
                    continue;
                }
                let each = of_set.iter().zip(single);
                let gain: f64 = each.map(|(known, single)| (single - known).max(0.0)).sum();
                ranked.push((ln + class.odds.ln() + gain, set.with(more)));
            }
        }
        ranked.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
        let mut known = BTreeSet::new();
        ranked.retain(|(_, set)| known.insert(*set));
        ranked.truncate(at_most);
        ranked.into_iter().map(|(_, set)| set).collect()
    }
}
