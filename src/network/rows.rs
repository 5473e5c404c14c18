//! Rows that have been solved: of all bags of a junction tree, of a way, or of one cut.

use std::ops::Range;

use nalgebra::Complex;

use super::abreast::Abreast;
use super::bag::{BAG_MAX, Bag, Seen, Solved, View, pair};
use super::columns::{Column, Columns, Kept};
use super::lanes::{HELD, LANES, Lanes, Wide};
use super::rerooted::worse;
use super::triples::{Triple, Triples};
use super::walk::{Shows, Sight};

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

/// One number in all lanes that are reckoned at once, so that it need not be spread for each port.
type Alike = Lanes<HELD>;

/// The rows of one cut, each with each.
#[derive(Clone, Debug)]
pub(super) struct CutView {
    /// By row, U of each row less its own; its own U in its own place.
    apart: [[Alike; BAG_MAX]; BAG_MAX],
    impedance: [Alike; BAG_MAX],
    /// -D, above the diagonal.
    nearness: [[Alike; BAG_MAX]; BAG_MAX],
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
            self.apart[i][i] = Alike::all(rows.potential[at]);
            self.impedance[i] = Alike::all(rows.impedance[at]);
            self.tied |= u16::from(rows.tied[at]) << (i + 1);
            for (j, other) in places.clone().enumerate().skip(i + 1) {
                let at = pair(t, usize::from(one), usize::from(other));
                self.apart[i][j] = Alike::all(-rows.difference[at]);
                self.apart[j][i] = Alike::all(rows.difference[at]);
                self.nearness[i][j] = Alike::all(-rows.distance[at]);
            }
        }
    }

    /// Rows of one of the sets that were solved side by side.
    pub(super) fn set_lane(&mut self, of: &Abreast, lane: usize, with_impedances: bool) {
        let n = of.n_rows();
        self.tied = View::TIED;
        for i in 0..n {
            self.apart[i][i] = Alike::all(of.potential(lane, i));
            self.tied |= u16::from(of.is_tied(lane, i)) << (i + 1);
            for j in i + 1..n {
                let difference = of.difference(lane, i, j);
                self.apart[i][j] = Alike::all(-difference);
                self.apart[j][i] = Alike::all(difference);
            }
            if with_impedances {
                self.impedance[i] = Alike::all(of.impedance(lane, i));
                for j in i + 1..n {
                    self.nearness[i][j] = Alike::all(-of.distance(lane, i, j));
                }
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
        shown: &mut (impl Shows + ?Sized),
    ) {
        match with_impedances {
            true => self.read_with::<true>(columns, column, shown),
            false => self.read_with::<false>(columns, column, shown),
        }
    }

    #[inline]
    fn read_with<const IMPEDANCES: bool>(
        &self,
        columns: &Columns,
        column: &Column,
        shown: &mut (impl Shows + ?Sized),
    ) {
        let [mut difference, mut impedance] = [Wide::ZERO; 2];
        if column.is_tied(self.tied) {
            columns.each(column, |port, lanes| {
                self.see::<IMPEDANCES>(port, [&mut difference, &mut impedance]);
                shown.show_tied(lanes.map(|(asked, _)| asked), &difference, &impedance);
            });
            return;
        }
        columns.each(column, |port, lanes| {
            self.see::<IMPEDANCES>(port, [&mut difference, &mut impedance]);
            for (lane, (asked, joined)) in lanes.into_iter().enumerate() {
                let tied = joined.map(|joined| joined & self.tied != 0);
                let (difference, impedance) = (difference.get(lane), impedance.get(lane));
                shown.show(asked as usize, Sight { difference, impedance, tied });
            }
        });
    }

    /// What each three ports show that are all there, seen from these rows: its place,
    /// and of each port U of its first end less that of its second, and what it sees. Whether all of
    /// them are tied; if they are not, nothing is read.
    #[inline]
    pub(super) fn read_triples(
        &self,
        triples: &Triples,
        triple: &Triple,
        mut read: impl FnMut([u32; LANES], &[Wide; 3], &[Wide; 3]),
    ) -> bool {
        if !triple.column.is_tied(self.tied) {
            return false;
        }
        let [mut differences, mut impedances] = [[Wide::ZERO; 3]; 2];
        triples.each(triple, |threes, ports| {
            let seen = differences.iter_mut().zip(&mut impedances);
            for (port, (difference, impedance)) in ports.into_iter().zip(seen) {
                self.see::<true>(port, [difference, impedance]);
            }
            read(threes, &differences, &impedances);
        });
        true
    }

    /// U of the first end of each port less that of the second, and what each sees. Not put in where
    /// it is called: there the compiler would put the parts of each port side by side, and not ports.
    #[inline(never)]
    fn see<const IMPEDANCES: bool>(&self, port: Kept<'_>, seen: [&mut Wide; 2]) {
        // Between two boxes there are mostly three rows or four: with their number told, nothing
        // is counted on the way.
        let weight = port.weight();
        if let Ok(four) = <&[Wide; 4]>::try_from(weight) {
            self.see_by::<IMPEDANCES>(port, four, seen);
        } else if let Ok(three) = <&[Wide; 3]>::try_from(weight) {
            self.see_by::<IMPEDANCES>(port, three, seen);
        } else {
            self.see_by::<IMPEDANCES>(port, weight, seen);
        }
    }

    #[inline(always)]
    fn see_by<const IMPEDANCES: bool>(
        &self,
        port: Kept<'_>,
        weight: &[Wide],
        [difference, impedance]: [&mut Wide; 2],
    ) {
        self.see_part::<IMPEDANCES>(port, weight, 0, [difference, impedance]);
        if HELD < LANES {
            self.see_part::<IMPEDANCES>(port, weight, HELD, [difference, impedance]);
        }
    }

    #[inline(always)]
    fn see_part<const IMPEDANCES: bool>(
        &self,
        port: Kept<'_>,
        weight: &[Wide],
        from: usize,
        [difference, impedance]: [&mut Wide; 2],
    ) {
        difference.set_part(from, &self.difference_by(port, weight, from));
        if IMPEDANCES {
            impedance.set_part(from, &self.impedance_by(port, weight, from));
        }
    }

    #[inline(always)]
    fn difference_by(&self, port: Kept<'_>, weight: &[Wide], from: usize) -> Lanes<HELD> {
        let mut difference = port.open().part(from);
        // From the strongest, of which all that weigh make λ.
        let own = |row: usize, w: &Wide, half: usize| {
            let w = if row == port.strongest[half] { port.sum() } else { w };
            w.part(from)
        };
        let [first, second] = port.strongest.map(|strongest| &self.apart[strongest]);
        for (row, w) in weight.iter().enumerate() {
            let (w, apart) = match HELD {
                LANES => (own(row, w, 0).halves(&own(row, w, 1)), first[row].halves(&second[row])),
                _ if from == 0 => (own(row, w, 0), first[row]),
                _ => (own(row, w, 1), second[row]),
            };
            difference.add_product(&w, &apart);
        }
        difference
    }

    #[inline(always)]
    fn impedance_by(&self, port: Kept<'_>, weight: &[Wide], from: usize) -> Lanes<HELD> {
        let mut nodes = Lanes::ZERO;
        let mut sum = port.impedance().part(from);
        for (i, w) in weight.iter().enumerate() {
            let w = w.part(from);
            nodes.add_product(&w, &self.impedance[i]);
            if i + 1 == weight.len() {
                break;
            }
            let mut among = Lanes::ZERO;
            for (later, nearness) in weight[i + 1..].iter().zip(&self.nearness[i][i + 1..]) {
                among.add_product(&later.part(from), nearness);
            }
            sum.add_product(&w, &among);
        }
        sum.add_product(&port.sum().part(from), &nodes);
        sum
    }
}

impl Default for CutView {
    fn default() -> Self {
        Self {
            apart: [[Alike::ZERO; BAG_MAX]; BAG_MAX],
            impedance: [Alike::ZERO; BAG_MAX],
            nearness: [[Alike::ZERO; BAG_MAX]; BAG_MAX],
            tied: 0,
        }
    }
}
