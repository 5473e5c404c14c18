//! Every hypothesis of a catalogue asked in turn, and what came of it gathered.

use std::collections::BTreeMap;

use crate::condition::catalogue::{Catalogue, PossibleFault};

use super::evaluator::{Evaluator, Outcome};
use super::{Bounds, Counts, Depth};

/// Faults by their place in the catalogue: none, one or two.
pub(super) type FaultSet = Vec<usize>;

/// In which load settings a set of faults shows something, and what trips in each.
#[derive(Clone, Debug, Default)]
pub(super) struct Hit {
    pub(super) settings: Vec<usize>,
    pub(super) tripped: Vec<String>,
}

/// Everything that shows one thing.
#[derive(Clone, Debug, Default)]
pub(super) struct Gathered {
    /// Load settings in which it shows with nothing wrong.
    pub(super) sound: Vec<usize>,
    pub(super) hits: BTreeMap<FaultSet, Hit>,
}

impl Gathered {
    pub(super) fn add(&mut self, setting: usize, faults: &[usize], outcome: &Outcome) {
        if faults.is_empty() {
            self.sound.push(setting);
            return;
        }
        let hit = self.hits.entry(faults.to_vec()).or_default();
        hit.settings.push(setting);
        for name in &outcome.tripped {
            if !hit.tripped.contains(name) {
                hit.tripped.push(name.clone());
            }
        }
    }

    /// Whether one of two faults alone shows it, in any load setting in which both do.
    pub(super) fn one_is_enough(&self, faults: &[usize], hit: &Hit) -> bool {
        faults.iter().any(|&fault| {
            self.hits
                .get([fault].as_slice())
                .is_some_and(|alone| hit.settings.iter().any(|s| alone.settings.contains(s)))
        })
    }
}

/// Asks for nothing wrong, every single fault and, if wanted, every two, in every load setting.
/// Pairs are asked likeliest first, as far as the bound on networks reaches.
pub(super) fn survey(
    evaluator: &Evaluator<'_>,
    catalogue: &Catalogue,
    (depth, bounds): (Depth, &Bounds),
    mut visit: impl FnMut(usize, &[usize], &Outcome),
) -> Counts {
    let faults = catalogue.faults();
    let mut counts = Counts {
        singles: faults.len(),
        load_settings: evaluator.settings.len(),
        ..Counts::default()
    };
    let mut work = evaluator.work();
    let mut ask = |set: &[usize], counts: &mut Counts| {
        for setting in 0..evaluator.settings.len() {
            match evaluator.outcome(setting, set, &mut work) {
                Ok(outcome) => visit(setting, set, &outcome),
                Err(_) => counts.unanswered += 1,
            }
            counts.asked += 1;
        }
    };
    ask(&[], &mut counts);
    for first in 0..faults.len() {
        ask(&[first], &mut counts);
    }
    if depth == Depth::Double {
        let (pairs, excluded_pairs) = pairs(faults);
        counts.excluded_pairs = excluded_pairs;
        for pair in &pairs {
            if counts.asked + evaluator.settings.len() > bounds.networks_asked {
                break;
            }
            counts.pairs += 1;
            ask(pair, &mut counts);
        }
        counts.pairs_not_asked = pairs.len() - counts.pairs;
    }
    counts
}

/// Every two faults that can be so at once, the likeliest first, and how many cannot.
fn pairs(faults: &[PossibleFault]) -> (Vec<[usize; 2]>, usize) {
    let mut pairs = Vec::new();
    let mut excluded = 0;
    for (first, fault) in faults.iter().enumerate() {
        for (second, other) in faults.iter().enumerate().skip(first + 1) {
            if fault.excludes(other) {
                excluded += 1;
            } else {
                pairs.push((fault.weight * other.weight, [first, second]));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    (pairs.into_iter().map(|(_, pair)| pair).collect(), excluded)
}
