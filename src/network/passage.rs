//! A way taken, up and down again.

use nalgebra::Complex;

use super::bag::{BAG_MAX, Solved, pairs, row};
use super::junction::Junction;
use super::rerooted::{Numbers, Scratch, worse};
use super::rows::Rows;
use super::ways::{Way, Ways};

/// What the rows of a way left as they went, and what they came to.
#[derive(Clone, Debug)]
pub(super) struct Passage {
    pub(super) way: u32,
    gone: Scratch,
    impedance: [Complex<f64>; BAG_MAX],
    rows: Rows,
}

impl Default for Passage {
    fn default() -> Self {
        Self {
            way: 0,
            gone: Scratch::default(),
            impedance: [Complex::ZERO; BAG_MAX],
            rows: Rows::zero(BAG_MAX, pairs(BAG_MAX)),
        }
    }
}

impl Passage {
    /// Carries what is left of the way's bag up to its top, as what is left of that. Returns the
    /// largest cancellation met.
    pub(super) fn go_up(
        &mut self,
        junction: &Junction,
        (ways, at): (&Ways, u32),
        now: &mut Numbers,
    ) -> f64 {
        self.way = at;
        let way = ways.way(at);
        let (n_rows, n_near) = (usize::from(way.n_rows), usize::from(way.n_near));
        let mut rows = self.gone.bag(n_rows);
        ways.copy(way, &mut rows);
        rows.add_near(junction, now, way);
        let mut cancellation = way.cancellation;
        for e in 0..n_near {
            let pivot = rows.eliminate(e);
            self.impedance[e] = pivot.impedance;
            cancellation = worse(cancellation, pivot.cancellation);
        }
        let top = way.top as usize;
        let (nodes, all_pairs) = (junction.nodes(top), junction.pairs(top));
        let first_pair = all_pairs.start + n_rows - n_near;
        now.shunt[nodes.start + 1..nodes.end].copy_from_slice(&rows.shunt[n_near..]);
        now.current[nodes.start + 1..nodes.end].copy_from_slice(&rows.current[n_near..]);
        now.pair[first_pair..all_pairs.end].copy_from_slice(&rows.pair[row(n_rows, n_near)..]);
        cancellation
    }

    /// Solves the way's rows from the bag that its top hangs from.
    pub(super) fn go_down(
        &mut self,
        junction: &Junction,
        ways: &Ways,
        solved: &Rows,
        impedances: bool,
    ) {
        let way = ways.way(self.way);
        let (n_rows, n_near) = (usize::from(way.n_rows), usize::from(way.n_near));
        let top = way.top as usize;
        let above = junction.parent[top] as usize;
        let solved = solved.solved(junction.nodes(above), junction.pairs(above));
        let mut rows = self.rows.seen(0..n_rows, 0..pairs(n_rows));
        rows.take(n_near, solved, junction.positions(top));
        let gone = self.gone.bag(n_rows);
        for e in (0..n_near).rev() {
            rows.extend(e, gone.gone(e, self.impedance[e]), impedances);
        }
    }

    /// The way's rows, solved.
    pub(super) fn solved(&self, way: &Way) -> Solved<'_> {
        let n_rows = usize::from(way.n_rows);
        self.rows.solved(0..n_rows, 0..pairs(n_rows))
    }
}
