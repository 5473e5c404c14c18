//! What is believed after everything that was seen: every single, the likeliest pairs, triples
//! where nothing less explains it, nothing wrong, and nothing that is known.
//!
//! The belief is a function of all evidence together and not of its order. Pairs are far too many
//! to solve each for each question: they are ranked by the best that either of the two makes of
//! each thing seen, and solved from the top.

use std::collections::BTreeSet;

use super::asking::{Asking, Reckoned};
use super::class::Class;
use super::combine::GROWN;
use super::evidence::Fact;
use super::model::{Model, Set};
use super::reading_error::ln_sum_exp;
use super::symptom::Symptom;
use super::{Effort, Elsewhere, Found, Mended};

/// Something that was seen, said or found.
#[derive(Clone, Debug)]
pub(super) enum Evidence {
    /// Facts at one moment, in any of several settings if it is not known how things stood.
    /// Where all of it was a look that showed once more what it had shown, there are no facts, and the
    /// piece of evidence that had them is named.
    Seen { settings: Vec<usize>, facts: Vec<Fact>, again: Option<usize> },
    /// A complaint.
    Symptom(Symptom),
    /// A box was opened and looked at.
    Opened { place: usize, found: Vec<Found> },
    /// Something was put right: what is past since then is in [`Closed`](super::closed::Closed).
    Mended(Mended),
    /// A load was tried where the supply is good.
    Elsewhere { load: String, did: Elsewhere },
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
    /// How likely it makes contact now and then, if it is so at all.
    pub(super) intermittent: f64,
}

impl Hypothesis {
    /// Whether it is likelier that it makes contact now and then than that it is always so.
    pub(super) fn is_intermittent(&self) -> bool {
        self.intermittent > 0.5
    }

    pub(super) fn set(&self) -> Option<Set> {
        match self.who {
            Who::Classes(set) => Some(set),
            Who::Unknown => None,
        }
    }
}

/// Every set that has one class exchanged for another, or one more; what was put right is kept.
fn neighbours((set, put_right): (Set, Set), n_classes: usize) -> impl Iterator<Item = Set> {
    let left = set.iter().filter(move |&one| !put_right.contains(one));
    let without = left.map(move |out| {
        let rest: Vec<usize> = set.iter().filter(|&one| one != out).collect();
        Set::of(&rest)
    });
    let whole = (set.len() < put_right.len() + AT_ONCE && set.len() < Set::ROOM).then_some(set);
    let from: Vec<Set> = without.chain(whole).collect();
    from.into_iter().flat_map(move |rest| {
        let others = (0..n_classes).filter(move |&class| !rest.contains(class));
        others.map(move |class| rest.with(class))
    })
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

/// Pairs are solved down to this much less, at best, than the likeliest found.
const NOT_WORTH_LN: f64 = -9.5;

/// Several faults that are believed as much as this are tried elsewhere.
const SPREAD_FROM: f64 = 0.05;

/// So many are tried together at most, besides what was put right.
const AT_ONCE: usize = 3;

/// Triples are asked where this much believes in nothing that is known.
const BADLY_EXPLAINED: f64 = 0.03;

impl Belief {
    /// What is to be believed of a model after evidence; what was reckoned before is not
    /// reckoned again.
    pub(super) fn new(
        model: &Model<'_>,
        classes: &[Class],
        (evidence, reckoned): (&[Evidence], &mut Reckoned),
        effort: &Effort,
    ) -> Self {
        let mut asking = Asking::new(model, classes, evidence, reckoned);
        let sound = asking.ask(Set::SOUND);
        let mut singles: Vec<Option<Hypothesis>> = Vec::with_capacity(classes.len());
        for class in 0..classes.len() {
            singles.push(asking.ask(Set::of(&[class])));
        }
        let mut all = vec![asking.of_nothing_known(&singles, sound.as_ref())];
        let singles = singles.into_iter().zip(classes).filter_map(|(single, class)| {
            Some(asking.steady_or_intermittent(class, single?, sound.as_ref()))
        });
        all.extend(singles);
        all.extend(sound);
        let mut counts = Solved::default();
        let best = all.iter().map(|one| one.ln).fold(f64::NEG_INFINITY, f64::max);
        let parts = asking.parts();
        let mut best = best;
        for (at_best, pair) in asking.pairs(&parts, best, effort.pairs) {
            if at_best < best + NOT_WORTH_LN {
                break;
            }
            counts.pairs += 1;
            if let Some(pair) = asking.ask(pair) {
                best = best.max(pair.ln);
                all.push(pair);
            }
        }
        let mut belief = Self { hypotheses: all, shares: Vec::new(), counts };
        belief.settle();
        if belief.unknown() > BADLY_EXPLAINED {
            for triple in asking.triples(&belief, &parts, effort.triples) {
                belief.counts.triples += 1;
                belief.hypotheses.extend(asking.ask(triple));
            }
            belief.settle();
        }
        belief.bootlegs(&mut asking);
        belief.beside_what_was_put_right(&mut asking, &parts, effort.triples);
        belief.exchange(&mut asking, effort.revised);
        belief.revise(&mut asking, classes.len(), effort.revised);
        belief.elsewhere(&mut asking);
        belief.shares = asking.shares();
        belief
    }

    /// What a bootleg ground hides is ranked far down, and is the likelier for it.
    fn bootlegs(&mut self, asking: &mut Asking<'_, '_>) {
        let mut known = self.known();
        let sets = asking.bootlegs_for_want_of_a_ground().into_iter();
        for set in sets.filter(|&set| known.insert(set)) {
            self.counts.pairs += 1;
            self.hypotheses.extend(asking.ask(set));
        }
        self.settle();
    }

    /// What else may be so is asked beside what was put right, and two things or three where one leaves
    /// something unexplained that was seen since.
    fn beside_what_was_put_right(
        &mut self,
        asking: &mut Asking<'_, '_>,
        parts: &[Option<Vec<f64>>],
        at_most: usize,
    ) {
        let ways = asking.put_right();
        let Some((given, best)) = ways.first().cloned() else { return };
        let mut known = self.known();
        let mut from: Vec<(Set, f64)> = ways.iter().map(|(set, way)| (*set, way.ln)).collect();
        let new = ways.into_iter().filter(|(set, _)| known.insert(*set));
        self.hypotheses.extend(new.map(|(_, way)| way));
        for _ in 0..AT_ONCE {
            let wider = asking.grown(&from, parts, at_most);
            for &set in wider.iter().filter(|&&set| known.insert(set)) {
                self.counts.triples += 1;
                self.hypotheses.extend(asking.ask(set));
            }
            self.settle();
            let likeliest = self.hypotheses.iter().find_map(Hypothesis::set);
            if !likeliest.is_some_and(|set| asking.leaves_anything_since(set)) {
                break;
            }
            let all = self.hypotheses.iter().filter_map(|one| Some((one.set()?, one.ln)));
            from = all.filter(|(set, _)| wider.contains(set)).take(GROWN).collect();
        }
        self.unknown_beside((given, &best), asking);
        self.settle();
    }

    /// What is on no list may be so beside what was put right as well.
    fn unknown_beside(&mut self, (given, way): (Set, &Hypothesis), asking: &Asking<'_, '_>) {
        let beside = |class: usize| {
            let set = (!given.contains(class)).then(|| given.with(class))?;
            self.hypotheses.iter().find(|one| one.set() == Some(set)).cloned()
        };
        let one_more: Vec<Option<Hypothesis>> = (0..asking.classes.len()).map(beside).collect();
        let new = asking.of_nothing_known(&one_more, Some(way));
        let odds = asking.ln_odds(given);
        if let Some(unknown) = self.hypotheses.iter_mut().find(|one| one.who == Who::Unknown) {
            let ln = ln_sum_exp([unknown.ln, new.ln + odds].into_iter());
            if new.ln + odds > unknown.ln {
                unknown.by_evidence = new.by_evidence;
            }
            unknown.ln = ln;
        }
    }

    fn known(&self) -> BTreeSet<Set> {
        self.hypotheses.iter().filter_map(Hypothesis::set).collect()
    }

    /// Where an exchange is believed together with another fault, or nothing explains what was seen,
    /// every two exchanges are asked, and each with the ground beside every open ground: past the second
    /// of such a pair the conductors stand as neither leaves them alone, so that it is ranked far down.
    fn exchange(&mut self, asking: &mut Asking<'_, '_>, at_most: usize) {
        let exchanges = asking.exchanges();
        let best = self.hypotheses.iter().filter_map(Hypothesis::set).next();
        let Some(put_right) = best.map(|best| asking.put_right_of(best)) else { return };
        let is_one = |set: Set| {
            let is_left = |class: usize| !put_right.contains(class);
            set.iter().filter(|&class| is_left(class)).count() > 1
                && set.iter().any(|class| is_left(class) && exchanges.contains(&class))
        };
        if !best.is_some_and(is_one) && self.unknown() <= BADLY_EXPLAINED {
            return;
        }
        let known = self.known();
        let two = exchanges.iter().enumerate().flat_map(|(at, &one)| {
            let others = exchanges.iter().skip(at + 1);
            others.map(move |&other| (one, other))
        });
        let past = asking.past_an_open_ground().into_iter().take(at_most);
        let pairs: Vec<(usize, usize)> = past.chain(two.take(at_most)).collect();
        let beside = |(one, other): (usize, usize)| put_right.with(one).with(other);
        for pair in pairs.into_iter().map(beside).filter(|pair| !known.contains(pair)) {
            self.counts.pairs += 1;
            self.hypotheses.extend(asking.ask(pair));
        }
        self.settle();
    }

    /// Where the likeliest leaves much of what was seen unexplained, one fault of it is exchanged
    /// for another, or one is added, as long as that helps: faults that hide each other show what
    /// none of them shows alone, and are ranked far down among the pairs.
    fn revise(&mut self, asking: &mut Asking<'_, '_>, n_classes: usize, mut left: usize) {
        let mut known = self.known();
        loop {
            let known_by_set = |one: &&Hypothesis| one.set().is_some();
            let best = self.hypotheses.iter().find(known_by_set);
            // What is left over by an open joint that makes contact now and then is explained.
            let best = best.filter(|best| !best.is_intermittent()).and_then(Hypothesis::set);
            let Some(best) = best.filter(|&best| asking.leaves_much(best)) else { return };
            let kept = asking.put_right_of(best);
            for set in neighbours((best, kept), n_classes).filter(|&set| known.insert(set)) {
                if left == 0 {
                    break;
                }
                left -= 1;
                self.counts.triples += 1;
                self.hypotheses.extend(asking.ask(set));
            }
            self.settle();
            if left == 0 || self.hypotheses.iter().filter_map(Hypothesis::set).next() == Some(best)
            {
                return;
            }
        }
    }

    /// Of several faults that are believed together each may be at another place, where it shows
    /// nearly the same: the ranking of pairs, and what triples grow from, see only some of these.
    fn elsewhere(&mut self, asking: &mut Asking<'_, '_>) {
        let several = |one: &&Hypothesis| {
            one.weight >= SPREAD_FROM && one.set().is_some_and(|set| set.len() > 1)
        };
        let believed: Vec<Set> =
            self.hypotheses.iter().filter(several).filter_map(Hypothesis::set).collect();
        if believed.is_empty() {
            return;
        }
        let mut known = self.known();
        for set in believed {
            let put_right = asking.put_right_of(set);
            for out in set.iter().filter(|&one| !put_right.contains(one)) {
                let rest: Vec<usize> = set.iter().filter(|&one| one != out).collect();
                let others = asking.elsewhere_alike(out);
                let moved = others.into_iter().filter(|other| !rest.contains(other));
                for moved in moved.map(|other| Set::of(&rest).with(other)) {
                    if known.insert(moved) {
                        self.counts.triples += 1;
                        self.hypotheses.extend(asking.ask(moved));
                    }
                }
            }
        }
        self.settle();
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
