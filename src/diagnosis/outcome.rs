//! What an act can turn out to show, in few enough outcomes to plan with.

use std::collections::BTreeMap;

use super::Amount;
use super::evidence::{Fact, glow_chances};
use super::look::{Channel, Measure};
use super::predictions::Row;
use super::reading_error::{Chances, is_one_to_anybody};
use super::unknown::ODD;
use crate::instrument::Glow;

/// What an act can show, and how likely each hypothesis makes each.
#[derive(Clone, Debug, Default)]
pub(super) struct Outcomes {
    /// In facts, for the user.
    pub(super) facts: Vec<Vec<Fact>>,
    /// The outcomes that each kind of hypothesis may have with their chances, which add up to one.
    pub(super) kinds: Vec<Vec<(usize, f64)>>,
    /// The kind of each hypothesis.
    pub(super) of: Vec<usize>,
    /// The outcome in which a fault is seen in a box that is opened for the test.
    pub(super) seen: Option<usize>,
}

/// Figures are sorted into so many bins at most.
const BINS: usize = 6;

/// One channel shows fewer things than this: outcomes are numbered in it.
const SHOWN_MAX: u64 = 32;

/// Chances below this are not followed.
const FAINT: f64 = 0.02;

/// How one channel sorts what it shows.
enum Sorting {
    Glow,
    Steps(Vec<Option<String>>),
    Alarm,
    /// Edges between bins, rising.
    Figures(Vec<f64>),
}

impl Outcomes {
    /// What these channels can show, by the row of each hypothesis and its weight; `None` where
    /// a hypothesis has no row.
    pub(super) fn new(
        chances: &Chances,
        channels: &[(usize, &Channel)],
        rows: &[(f64, Option<&Row>)],
    ) -> Self {
        let (kinds, of) = kinds(channels, rows);
        let sortings: Vec<Sorting> =
            channels.iter().map(|one| Sorting::new(chances, *one, &kinds)).collect();
        let mut numbers: BTreeMap<u64, usize> = BTreeMap::new();
        let mut outcomes = Self { of, ..Self::default() };
        let (mut ways, mut more, mut each) = (Vec::new(), Vec::new(), Vec::new());
        for (_, row) in &kinds {
            ways.clear();
            ways.push((0_u64, 1.0));
            for (one, sorting) in channels.iter().zip(&sortings) {
                sorting.chances(chances, *one, row, &mut each);
                more.clear();
                for (way, chance) in &ways {
                    let on = each.iter().enumerate().map(|(at, then): (usize, &f64)| {
                        (way * SHOWN_MAX + at as u64, chance * then)
                    });
                    more.extend(on.filter(|(_, chance)| *chance > FAINT));
                }
                std::mem::swap(&mut ways, &mut more);
            }
            let total: f64 = ways.iter().map(|(_, chance)| chance).sum();
            let mut of = Vec::with_capacity(ways.len());
            for &(way, chance) in &ways {
                let next = numbers.len();
                let number = *numbers.entry(way).or_insert(next);
                of.push((number, chance / total));
            }
            outcomes.kinds.push(of);
        }
        let mut facts = vec![Vec::new(); numbers.len()];
        for (way, number) in &numbers {
            let mut left = *way;
            let said = channels.iter().zip(&sortings).rev().map(|(one, sorting)| {
                let at = left % SHOWN_MAX;
                left /= SHOWN_MAX;
                sorting.fact(one.0, at as usize)
            });
            let mut said: Vec<Fact> = said.flatten().collect();
            said.reverse();
            if let Some(facts) = facts.get_mut(*number) {
                *facts = said;
            }
        }
        outcomes.facts = facts;
        outcomes
    }

    /// What is on no list shows what is shown by one thing or another that is on it, by the weight of
    /// each; but some looks at it may show anything.
    pub(super) fn spread_unknown(&mut self, rows: &[(f64, Option<&Row>)]) {
        let n = self.len();
        let any = self.kinds.len();
        let mut shown = vec![0.0; n];
        for ((weight, _), of) in rows.iter().zip(self.each()) {
            for (outcome, chance) in of {
                if let Some(sum) = shown.get_mut(*outcome) {
                    *sum += weight * chance;
                }
            }
        }
        let total: f64 = shown.iter().sum();
        let known = if total > 0.0 { (1.0 - ODD) / total } else { 0.0 };
        let odd = (1.0 - known * total) / n as f64;
        self.of.iter_mut().filter(|kind| **kind == NO_KIND).for_each(|kind| *kind = any);
        self.kinds.push(shown.iter().map(|shown| known * shown + odd).enumerate().collect());
    }

    /// A box is opened for it first, in which each hypothesis is seen with a chance.
    pub(super) fn see(&mut self, chances: &[f64]) {
        let number = self.len();
        self.facts.push(Vec::new());
        self.seen = Some(number);
        let seen = |(of, chance): (&[(usize, f64)], &f64)| {
            let others = of.iter().map(|(outcome, other)| (*outcome, other * (1.0 - chance)));
            others.chain((*chance > 0.0).then_some((number, *chance))).collect()
        };
        self.kinds = self.each().zip(chances).map(seen).collect();
        self.of = (0..self.kinds.len()).collect();
    }

    /// Of each hypothesis, the outcomes it may have with their chances.
    pub(super) fn each(&self) -> impl Iterator<Item = &[(usize, f64)]> {
        self.of.iter().map(|kind| self.kinds.get(*kind).map_or(&[][..], Vec::as_slice))
    }

    pub(super) fn len(&self) -> usize {
        self.facts.len()
    }

    /// How many of them the instrument itself shows.
    pub(super) fn n_shown(&self) -> usize {
        self.len() - usize::from(self.seen.is_some())
    }

    /// The weights of hypotheses, each times the chance that it gives this outcome.
    pub(super) fn after(&self, outcome: usize, weights: &[f64]) -> Vec<f64> {
        let chance = |of: &Vec<(usize, f64)>| {
            of.iter().find(|(known, _)| *known == outcome).map_or(0.0, |(_, chance)| *chance)
        };
        let of_kind: Vec<f64> = self.kinds.iter().map(chance).collect();
        let of = |kind: &usize| of_kind.get(*kind).copied().unwrap_or(0.0);
        weights.iter().zip(&self.of).map(|(weight, kind)| weight * of(kind)).collect()
    }
}

/// Of a hypothesis that has no row.
const NO_KIND: usize = usize::MAX;

/// A row of each kind of hypothesis that shows something else, with the weight of all of it; and
/// the kind of each.
fn kinds<'r>(
    channels: &[(usize, &Channel)],
    rows: &[(f64, Option<&'r Row>)],
) -> (Vec<(f64, &'r Row)>, Vec<usize>) {
    let mut kinds: Vec<(f64, &Row)> = Vec::new();
    // Of each channel its value and what that gives way by, kind after kind.
    let mut shown: Vec<f64> = Vec::new();
    let mut kind = |(weight, row): &(f64, Option<&'r Row>)| {
        let Some(row) = row else { return NO_KIND };
        let first = shown.len();
        for (at, channel) in channels {
            let value = row.value(*at);
            shown.extend([value, channel.gives_way(value, row)]);
        }
        let (known, own) = shown.split_at(first);
        let mut all = known.chunks(own.len().max(1));
        let kind = all.position(|known| are_one(known, own)).unwrap_or(kinds.len());
        match kinds.get_mut(kind) {
            Some((sum, _)) => {
                *sum += weight;
                shown.truncate(first);
            }
            None => kinds.push((*weight, row)),
        }
        kind
    };
    let of = rows.iter().map(&mut kind).collect();
    (kinds, of)
}

/// Whether no instrument tells these from each other.
fn are_one(known: &[f64], own: &[f64]) -> bool {
    let is_one = |(a, b): (&f64, &f64)| is_one_to_anybody(*a, *b) || a.is_nan() && b.is_nan();
    known.iter().zip(own).all(is_one)
}

impl Sorting {
    fn new(chances: &Chances, (at, channel): (usize, &Channel), kinds: &[(f64, &Row)]) -> Self {
        match &channel.measure {
            Measure::Indicator { .. } => Self::Glow,
            Measure::Alarm { .. } => Self::Alarm,
            Measure::Step { steps, .. } => {
                let labels = steps.iter().map(|(label, _)| Some(label.clone()));
                Self::Steps([None].into_iter().chain(labels).collect())
            }
            _ => Self::Figures(edges(chances, (at, channel), kinds)),
        }
    }

    /// The chances of everything that is shown, in order.
    fn chances(
        &self,
        chances: &Chances,
        (at, channel): (usize, &Channel),
        row: &Row,
        each: &mut Vec<f64>,
    ) {
        each.clear();
        let value = row.value(at);
        let mut even = |several: usize| each.resize(several, 1.0 / several as f64);
        match self {
            Self::Glow if value.is_nan() => even(3),
            Self::Glow => {
                let shown = glow_chances(channel, |band| chances.reaches(band, value, 0.0));
                each.extend(chances.reported(shown));
            }
            Self::Alarm => {
                let Measure::Alarm { band, .. } = &channel.measure else { return even(2) };
                if value.is_nan() {
                    return even(2);
                }
                let sounds = chances.reaches(*band, value, channel.gives_way(value, row));
                let sounds = chances.misread_among(sounds, 2);
                each.extend([1.0 - sounds, sounds]);
            }
            Self::Steps(labels) => {
                let Measure::Step { steps, .. } = &channel.measure else { return even(1) };
                if value.is_nan() {
                    return even(labels.len());
                }
                let reached: Vec<f64> =
                    steps.iter().map(|(_, band)| chances.reaches(*band, value, 0.0)).collect();
                let above = |at: usize| reached.get(at).copied().unwrap_or(0.0);
                let below = |at: usize| if at == 0 { 1.0 } else { above(at - 1) };
                each.extend((0..labels.len()).map(|at| (below(at) - above(at)).max(0.0)));
            }
            Self::Figures(edges) => {
                if value.is_nan() {
                    return even(edges.len() + 1);
                }
                let spread = blurred(chances, (at, channel), row);
                let below = |edge: &f64| match channel.measure {
                    Measure::Ohm { .. } => chances.ohms_up_to(*edge, value, spread),
                    _ => chances.up_to_blurred(*edge, value, spread),
                };
                let up_to: Vec<f64> = edges.iter().map(below).collect();
                let upper = |at: usize| up_to.get(at).copied().unwrap_or(1.0);
                let lower = |at: usize| if at == 0 { 0.0 } else { upper(at - 1) };
                each.extend((0..=edges.len()).map(|at| (upper(at) - lower(at)).max(0.0)));
            }
        }
    }

    /// What that is as a fact; `None` where it would be so whatever is there.
    fn fact(&self, channel: usize, at: usize) -> Option<Fact> {
        Some(match self {
            Self::Glow => {
                use crate::instrument::Brightness::{Dark, Dim, Lit};
                let brightness = [Dark, Dim, Lit].get(at).copied().unwrap_or(Lit);
                Fact::Glow { channel, glow: Glow::certain(brightness) }
            }
            Self::Alarm => Fact::Alarm { channel, alarm: at == 1 },
            Self::Steps(labels) => Fact::Step { channel, label: labels.get(at).cloned().flatten() },
            Self::Figures(edges) => {
                let low = at.checked_sub(1).and_then(|below| edges.get(below)).copied();
                let amount = match (low, edges.get(at).copied()) {
                    (None, None) => return None,
                    (None, Some(high)) => Amount::Under(high),
                    (Some(low), None) => Amount::Over(low),
                    (low, high) => Amount::Between {
                        low: low.unwrap_or(0.0),
                        high: high.unwrap_or(f64::INFINITY),
                    },
                };
                Fact::Figure { channel, amount }
            }
        })
    }
}

/// What a figure is off in all, shared or not.
fn blurred(chances: &Chances, (at, channel): (usize, &Channel), row: &Row) -> f64 {
    let value = row.value(at);
    chances.spread_in_all(channel, value, channel.gives_way(value, row))
}

/// Edges where what hypotheses predict lies far apart for what a figure is off; and where it lies
/// close but spread far, as ohms do along a run, in the middle of what is likely.
fn edges(chances: &Chances, (at, channel): (usize, &Channel), kinds: &[(f64, &Row)]) -> Vec<f64> {
    let mut predicted: Vec<Predicted> = kinds
        .iter()
        .map(|(weight, row)| Predicted {
            value: row.value(at),
            off: blurred(chances, (at, channel), row),
            weight: *weight,
        })
        .filter(|one| one.value.is_finite())
        .collect();
    predicted.sort_by(|a, b| a.value.total_cmp(&b.value));
    let mut gaps: Vec<(f64, f64)> = predicted
        .windows(2)
        .filter_map(|two| {
            let [low, high] = two else { return None };
            let apart = (high.value - low.value) / (low.off + high.off);
            // The edge lies nearer to the sharper of the two.
            let edge = low.value + (high.value - low.value) * low.off / (low.off + high.off);
            (apart > 1.0).then_some((apart, edge))
        })
        .collect();
    gaps.sort_by(|a, b| b.0.total_cmp(&a.0));
    gaps.truncate(BINS - 1);
    let mut edges: Vec<f64> = gaps.into_iter().map(|(_, edge)| edge).collect();
    edges.sort_by(f64::total_cmp);
    let mut at_first = 0;
    let within: Vec<f64> = edges
        .iter()
        .copied()
        .chain([f64::INFINITY])
        .filter_map(|edge| {
            let n = predicted.iter().skip(at_first).take_while(|one| one.value < edge).count();
            let bin = predicted.get(at_first..at_first + n);
            at_first += n;
            middle(bin?)
        })
        .collect();
    let free = (BINS - 1).saturating_sub(edges.len());
    edges.extend(within.into_iter().take(free));
    edges.sort_by(f64::total_cmp);
    edges
}

/// What a hypothesis predicts of a figure.
struct Predicted {
    value: f64,
    /// What the figure is off.
    off: f64,
    weight: f64,
}

/// The middle by weight of values in order; `None` where they lie no farther apart than figures
/// are off.
fn middle(bin: &[Predicted]) -> Option<f64> {
    let (first, last) = (bin.first()?, bin.last()?);
    if last.value - first.value < first.off + last.off {
        return None;
    }
    let half = 0.5 * bin.iter().map(|one| one.weight).sum::<f64>();
    let mut below = 0.0;
    let halves = bin.windows(2).filter_map(|two| {
        let [low, high] = two else { return None };
        below += low.weight;
        // Between what differs: those that are one to the meter stay together.
        let differ = high.value - low.value > ONE_TO_THE_METER * (low.off + high.off);
        differ.then(|| ((below - half).abs(), low.value.midpoint(high.value)))
    });
    halves.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, edge)| edge)
}

/// Figures nearer than this share of what two of them are off are one.
const ONE_TO_THE_METER: f64 = 0.1;

#[cfg(test)]
mod tests {
    use super::super::{Complaint, Inquiry, Means};
    use super::*;
    use crate::circuit::file;

    #[test]
    fn hypotheses_that_no_instrument_parts_are_one_kind_and_show_what_each_shows_alone() {
        let text =
            "(format: 1, name: \"Ferry ticket office\", circuits: [(id: \"c1\", amperes: 15)],
            boxes: [(id: \"desk\", from: \"c1\", feet: 30), (id: \"safe\", from: \"desk\", feet: 9),
            (id: \"door\", from: \"safe\", feet: 14)],
            loads: [(id: \"heater\", at: \"door\", kind: Resistive(watts: 900))])";
        let circuit = file::read(text).unwrap().circuit;
        let mut inquiry = Inquiry::new(&circuit, Means::default());
        inquiry.complain(&Complaint::DeadFrom { place: "safe".into() }).unwrap();
        let weighed = inquiry.weighed();
        let plan = inquiry.plan(&weighed);
        let looks = inquiry.model.predictor.looks.clone();
        let (mut n_kinds, mut n_all) = (0, 0);
        for prospect in &plan.prospects {
            let act = prospect.act;
            let channels: Vec<_> = looks.of(act.instrument, act.outlet).collect();
            // Where figures are sorted, the edges are those of all together.
            let is_figure = |sorting: Sorting| matches!(sorting, Sorting::Figures(_));
            let chances = &inquiry.model.chances;
            if channels.iter().any(|one| is_figure(Sorting::new(chances, *one, &[]))) {
                continue;
            }
            n_kinds += prospect.outcomes.kinds.len();
            n_all += weighed.len();
            for (one, together) in weighed.iter().zip(prospect.outcomes.each()) {
                let row = one.set.and_then(|_| inquiry.model.row(one.leads, act.setting));
                let Some(row) = row else { continue };
                let alone = Outcomes::new(chances, &channels, &[(one.weight, Some(&row))]);
                for (outcome, chance) in together {
                    let facts = &prospect.outcomes.facts[*outcome];
                    let at = alone.facts.iter().position(|known| known == facts);
                    let own = at.and_then(|at| alone.kinds[0].iter().find(|own| own.0 == at));
                    // What is just not followed of one is just followed of the other.
                    let own = own.map_or(FAINT, |own| own.1);
                    assert!((own - chance).abs() < 1e-3, "{facts:?}: {own} and {chance}");
                }
            }
        }
        assert!(n_all > 1000 && n_kinds * 2 < n_all, "{n_kinds} kinds of {n_all}");
    }
}
