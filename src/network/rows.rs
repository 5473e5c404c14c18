//! Rows that have been solved: of all bags of a junction tree, of a way, or of one cut.

use std::ops::Range;

use nalgebra::Complex;

use super::abreast::Abreast;
use super::bag::{BAG_MAX, Bag, Seen, Solved, View, pair};
use super::columns::{Column, Columns, Kept, Wide};
use super::rerooted::worse;
use super::walk::Sight;

/// Rows solved: potentials and impedances of many bags, or of one.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    pub(super) potential: Vec<Complex<f64>>,
    pub(super) difference: Vec<Complex<f64>>,
    pub(super) impedance: Vec<Complex<f64>>,
    pub(super) distance: Vec<Complex<f64>>,
    pub(super) tied: Vec<bool>,
}

impl Rows {
    pub(super) fn zero(nodes: usize, pairs: usize) -> Self {
        let zeros = |n| vec![Complex::ZERO; n];
        Self {
            potential: zeros(nodes),
            difference: zeros(pairs),
            impedance: zeros(nodes),
            distance: zeros(pairs),
            tied: vec![false; nodes],
        }
    }

    /// Eliminates all rows of a bag and solves them. Returns the largest cancellation met.
    pub(super) fn solve(
        &mut self,
        bag: &mut Bag<'_>,
        (nodes, pairs): (Range<usize>, Range<usize>),
        impedances: bool,
    ) -> f64 {
        let t = nodes.len();
        let mut impedance = [Complex::ZERO; BAG_MAX];
        let mut cancellation = 1.0;
        for (e, impedance) in impedance[..t].iter_mut().enumerate() {
            let pivot = bag.eliminate(e);
            *impedance = pivot.impedance;
            cancellation = worse(cancellation, pivot.cancellation);
        }
        let mut seen = self.seen(nodes, pairs);
        for e in (0..t).rev() {
            seen.extend(e, bag.gone(e, impedance[e]), impedances);
        }
        cancellation
    }

    pub(super) fn solved(&self, nodes: Range<usize>, pairs: Range<usize>) -> Solved<'_> {
        Solved {
            potential: &self.potential[nodes.clone()],
            difference: &self.difference[pairs.clone()],
            impedance: &self.impedance[nodes.clone()],
            distance: &self.distance[pairs],
            tied: &self.tied[nodes],
        }
    }

    pub(super) fn seen(&mut self, nodes: Range<usize>, pairs: Range<usize>) -> Seen<'_> {
        Seen {
            potential: &mut self.potential[nodes.clone()],
            difference: &mut self.difference[pairs.clone()],
            impedance: &mut self.impedance[nodes.clone()],
            distance: &mut self.distance[pairs],
            tied: &mut self.tied[nodes],
        }
    }

    /// A bag and one after it, `(nodes, pairs)` of each.
    pub(super) fn both(
        &mut self,
        (nodes, pairs): (Range<usize>, Range<usize>),
        later: (Range<usize>, Range<usize>),
    ) -> (Seen<'_>, Solved<'_>) {
        let (potential, potentials) = self.potential.split_at_mut(nodes.end);
        let (impedance, impedances) = self.impedance.split_at_mut(nodes.end);
        let (tied, all_tied) = self.tied.split_at_mut(nodes.end);
        let (difference, differences) = self.difference.split_at_mut(pairs.end);
        let (distance, distances) = self.distance.split_at_mut(pairs.end);
        let later_nodes = later.0.start - nodes.end..later.0.end - nodes.end;
        let later_pairs = later.1.start - pairs.end..later.1.end - pairs.end;
        let seen = Seen {
            potential: &mut potential[nodes.clone()],
            difference: &mut difference[pairs.clone()],
            impedance: &mut impedance[nodes.clone()],
            distance: &mut distance[pairs],
            tied: &mut tied[nodes],
        };
        let solved = Solved {
            potential: &potentials[later_nodes.clone()],
            difference: &differences[later_pairs.clone()],
            impedance: &impedances[later_nodes.clone()],
            distance: &distances[later_pairs],
            tied: &all_tied[later_nodes],
        };
        (seen, solved)
    }
}

/// The rows of one cut, each with each.
#[derive(Clone, Debug)]
pub(super) struct CutView {
    potential: [Complex<f64>; BAG_MAX],
    /// By row, U of each row less its own.
    apart: [[Complex<f64>; BAG_MAX]; BAG_MAX],
    impedance: [Complex<f64>; BAG_MAX],
    /// -D, above the diagonal.
    nearness: [[Complex<f64>; BAG_MAX]; BAG_MAX],
    /// As in [`View::joined`].
    tied: u16,
}

impl CutView {
    /// Rows of a bag, or of a way, at these places.
    pub(super) fn set(&mut self, rows: Solved<'_>, places: impl Iterator<Item = u8> + Clone) {
        let t = rows.potential.len();
        self.tied = View::TIED;
        for (i, one) in places.clone().enumerate() {
            let at = usize::from(one);
            self.potential[i] = rows.potential[at];
            self.impedance[i] = rows.impedance[at];
            self.tied |= u16::from(rows.tied[at]) << (i + 1);
            self.apart[i][i] = Complex::ZERO;
            for (j, other) in places.clone().enumerate().skip(i + 1) {
                let at = pair(t, usize::from(one), usize::from(other));
                self.apart[i][j] = -rows.difference[at];
                self.apart[j][i] = rows.difference[at];
                self.nearness[i][j] = -rows.distance[at];
            }
        }
    }

    /// Rows of one of the sets that were solved side by side.
    pub(super) fn set_lane(&mut self, of: &Abreast, lane: usize, with_impedances: bool) {
        let n = of.n_rows();
        self.tied = View::TIED;
        for i in 0..n {
            self.potential[i] = of.potential(lane, i);
            self.tied |= u16::from(of.is_tied(lane, i)) << (i + 1);
            self.apart[i][i] = Complex::ZERO;
            for j in i + 1..n {
                let difference = of.difference(lane, i, j);
                (self.apart[i][j], self.apart[j][i]) = (-difference, difference);
            }
            if with_impedances {
                self.impedance[i] = of.impedance(lane, i);
                (i + 1..n).for_each(|j| self.nearness[i][j] = -of.distance(lane, i, j));
            }
        }
    }

    /// What every port of a column shows, seen from these rows, in the order asked for.
    #[inline]
    pub(super) fn read(
        &self,
        columns: &Columns,
        column: &Column,
        with_impedances: bool,
        shown: &mut [Sight],
    ) {
        let all_tied = column.is_tied(self.tied);
        columns.each(column, |port, lanes| {
            // Between two boxes there are mostly three rows or four: with their number told, nothing
            // is counted on the way.
            let weight = port.weight();
            let [difference, impedance] = if let Ok(four) = <&[Wide; 4]>::try_from(weight) {
                self.seen_by(port, four, with_impedances)
            } else if let Ok(three) = <&[Wide; 3]>::try_from(weight) {
                self.seen_by(port, three, with_impedances)
            } else {
                self.seen_by(port, weight, with_impedances)
            };
            for (lane, (asked, joined)) in lanes.into_iter().enumerate() {
                let Some(shown) = shown.get_mut(asked as usize) else { continue };
                shown.difference = difference.get(lane);
                shown.impedance = impedance.get(lane);
                shown.tied = match all_tied {
                    true => [true; 2],
                    false => joined.map(|joined| joined & self.tied != 0),
                };
            }
        });
    }

    /// U of the first end of each port less that of the second, and what each sees.
    #[inline(always)]
    fn seen_by(&self, port: Kept<'_>, weight: &[Wide], with_impedances: bool) -> [Wide; 2] {
        let impedance = match with_impedances {
            true => self.impedance_by(port, weight),
            false => Wide::ZERO,
        };
        [self.difference_by(port, weight), impedance]
    }

    #[inline(always)]
    fn difference_by(&self, port: Kept<'_>, weight: &[Wide]) -> Wide {
        let mut difference = *port.open();
        if weight.is_empty() {
            return difference;
        }
        difference.add_times(port.sum(), self.potential[port.strongest]);
        // From the strongest.
        for (w, apart) in weight.iter().zip(&self.apart[port.strongest]) {
            difference.add_times(w, *apart);
        }
        difference
    }

    #[inline(always)]
    fn impedance_by(&self, port: Kept<'_>, weight: &[Wide]) -> Wide {
        let mut nodes = Wide::ZERO;
        let mut sum = *port.impedance();
        for (i, w) in weight.iter().enumerate() {
            nodes.add_times(w, self.impedance[i]);
            if i + 1 == weight.len() {
                break;
            }
            let mut among = Wide::ZERO;
            for (later, nearness) in weight[i + 1..].iter().zip(&self.nearness[i][i + 1..]) {
                among.add_times(later, *nearness);
            }
            sum.add_product(w, &among);
        }
        sum.add_product(port.sum(), &nodes);
        sum
    }
}

impl Default for CutView {
    fn default() -> Self {
        Self {
            potential: [Complex::ZERO; BAG_MAX],
            apart: [[Complex::ZERO; BAG_MAX]; BAG_MAX],
            impedance: [Complex::ZERO; BAG_MAX],
            nearness: [[Complex::ZERO; BAG_MAX]; BAG_MAX],
            tied: 0,
        }
    }
}
