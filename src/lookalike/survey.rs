//! Every hypothesis of a catalogue asked in turn, and what came of it gathered.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use crate::condition::catalogue::PossibleFault;

use super::evaluator::{Evaluator, Outcome};
use super::sharing::Sharing;
use super::{Asked, Bounds, Counts, Depth};

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

    /// Takes in what another share gathered of other sets.
    pub(super) fn merge(&mut self, other: Self) {
        self.sound.extend(other.sound);
        self.hits.extend(other.hits);
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

/// Sets of faults asked one after the other with one room to work in.
const PART: usize = 256;

/// What is gathered of a search, in shares.
pub(super) trait Gather: Default + Send {
    /// Takes in one hypothesis.
    fn take(&mut self, asked: &Asked<'_>, hypothesis: (usize, &[usize]), outcome: &Outcome);

    /// Takes in what another share has gathered, of other sets of faults.
    fn merge(&mut self, other: Self);
}

/// Asks for nothing wrong, every single fault and, if wanted, every two, in every load setting.
/// Pairs are asked likeliest first, as far as the bound on networks reaches. Which share asks what
/// depends on nothing but the number of shares, and what they gather does not even on that: what
/// is remembered from one set to the next reaches no further than a part of a fixed size.
pub(super) fn survey<G: Gather>(
    asked: &Asked<'_>,
    evaluator: &Evaluator<'_>,
    (depth, bounds): (Depth, &Bounds),
    sharing: &Sharing<'_>,
) -> (Counts, G) {
    let faults = asked.catalogue.faults();
    let n_settings = evaluator.settings.len();
    let mut counts =
        Counts { singles: faults.len(), load_settings: n_settings, ..Counts::default() };
    let mut sets: Vec<FaultSet> = vec![Vec::new()];
    sets.extend((0..faults.len()).map(|fault| vec![fault]));
    if depth == Depth::Double {
        let (pairs, excluded_pairs) = pairs(faults);
        let room = bounds.networks_asked / n_settings.max(1);
        counts.pairs = pairs.len().min(room.saturating_sub(sets.len()));
        counts.pairs_not_asked = pairs.len() - counts.pairs;
        counts.excluded_pairs = excluded_pairs;
        sets.extend(pairs.iter().take(counts.pairs).map(|pair| pair.to_vec()));
    }
    counts.asked = sets.len() * n_settings;
    let parts: Vec<&[FaultSet]> = sets.chunks(PART).collect();
    let n_shares = sharing.shares().clamp(1, parts.len());
    let done: Mutex<Vec<Option<(usize, G)>>> = Mutex::new((0..n_shares).map(|_| None).collect());
    sharing.run(n_shares, &|share| {
        let mut gathered = G::default();
        let mut unanswered = 0;
        for part in parts.iter().skip(share).step_by(n_shares) {
            let mut work = evaluator.work();
            for set in *part {
                for setting in 0..n_settings {
                    match evaluator.outcome(setting, set, &mut work) {
                        Ok(outcome) => gathered.take(asked, (setting, set), &outcome),
                        Err(_) => unanswered += 1,
                    }
                }
            }
        }
        let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(done) = done.get_mut(share) {
            *done = Some((unanswered, gathered));
        }
    });
    let mut all = G::default();
    let done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    for (unanswered, gathered) in done.into_iter().flatten() {
        counts.unanswered += unanswered;
        all.merge(gathered);
    }
    (counts, all)
}

/// What shows what was seen.
#[derive(Default)]
pub(super) struct Showing {
    pub(super) gathered: Gathered,
}

impl Gather for Showing {
    fn take(&mut self, asked: &Asked<'_>, (setting, faults): (usize, &[usize]), outcome: &Outcome) {
        if asked.placement.matches(&outcome.shown, &asked.showing) {
            self.gathered.add(setting, faults, outcome);
        }
    }

    fn merge(&mut self, other: Self) {
        self.gathered.merge(other.gathered);
    }
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
