//! The plan of an elimination: everything that depends on which rows are joined, and nothing
//! that depends on by how much.

use super::order::{Order, order, shallow_order};

/// Row number of the reference, which is never eliminated.
pub(crate) const REFERENCE: u32 = u32::MAX;

/// Where a branch is kept during elimination.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// On an edge; `reversed` when the branch's end `a` is eliminated after its end `b`.
    Edge { edge: u32, reversed: bool },
    /// Between a row and the reference; `reversed` when the reference is end `a`.
    Shunt { step: u32, reversed: bool },
    /// Both ends are the same point.
    Nowhere,
}

/// A place in four bytes, as every branch of a large network keeps one: its number, whether that
/// is a step's, and whether it is reversed. No tape has 2^30 edges: it would fill 16 GiB with their
/// admittances.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PackedPlace(u32);

impl PackedPlace {
    const NOWHERE: u32 = u32::MAX;

    /// What was packed.
    pub(crate) const fn unpacked(self) -> Place {
        let (number, reversed) = (self.0 >> 2, self.0 & 1 == 1);
        match self.0 {
            Self::NOWHERE => Place::Nowhere,
            packed if packed & 2 == 0 => Place::Edge { edge: number, reversed },
            _ => Place::Shunt { step: number, reversed },
        }
    }
}

impl From<Place> for PackedPlace {
    fn from(place: Place) -> Self {
        Self(match place {
            Place::Edge { edge, reversed } => edge << 2 | u32::from(reversed),
            Place::Shunt { step, reversed } => step << 2 | 2 | u32::from(reversed),
            Place::Nowhere => Self::NOWHERE,
        })
    }
}

/// The order of elimination and its tape. An edge is a pair of rows joined by a branch or by an
/// earlier elimination; it belongs to the step that eliminates one of its rows first and points
/// from there to the other. Values, opened branches included, can change without a new plan.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    /// Step that eliminates each row.
    step_of_row: Vec<u32>,
    /// First edge of each step; one more entry than steps.
    pub(super) start: Vec<u32>,
    /// Step that eliminates the far row of each edge.
    pub(super) upper: Vec<u32>,
    /// For every step and every pair of its edges, in order, the edge that joins their far rows.
    pub(super) pair: Vec<u32>,
    /// Where the pairs of every second step start in `pair`.
    pair_start: Vec<usize>,
}

impl Plan {
    /// Plans the elimination of `n_rows` rows joined by branches with these ends; a row may be
    /// [`REFERENCE`]. Rows in `last` are eliminated last.
    pub(crate) fn new(n_rows: usize, ends: &[(u32, u32)], last: &[u32]) -> Self {
        Self::of_order(n_rows, order(n_rows, &inner(ends), last))
    }

    /// The same with a few steps from any row to the end, for what is asked row by row.
    pub(crate) fn shallow(n_rows: usize, ends: &[(u32, u32)], last: &[u32]) -> Self {
        Self::of_order(n_rows, shallow_order(n_rows, &inner(ends), last))
    }

    fn of_order(n_rows: usize, order: Order) -> Self {
        let mut step_of_row = vec![0; n_rows];
        for (step, &row) in order.row.iter().enumerate() {
            step_of_row[row as usize] = step as u32;
        }
        let mut plan = Self {
            step_of_row,
            start: order.start,
            upper: order.upper,
            pair: Vec::new(),
            pair_start: Vec::new(),
        };
        plan.pair = plan.pairs();
        let mut pair_start = Vec::with_capacity(n_rows.div_ceil(2));
        let mut next = 0;
        for step in 0..n_rows {
            if step.is_multiple_of(2) {
                pair_start.push(next);
            }
            next += pairs_among(plan.edges(step).len());
        }
        plan.pair_start = pair_start;
        plan
    }

    /// Number of rows.
    pub(crate) fn n_rows(&self) -> usize {
        self.step_of_row.len()
    }

    /// Number of edges, those made by elimination included.
    pub(crate) fn n_edges(&self) -> usize {
        self.upper.len()
    }

    /// The step that eliminates a row.
    pub(crate) fn step(&self, row: u32) -> u32 {
        self.step_of_row[row as usize]
    }

    /// The row a step eliminates, which is looked for.
    pub(crate) fn row(&self, step: u32) -> u32 {
        let place = self.step_of_row.iter().position(|&other| other == step);
        place.map_or(REFERENCE, |row| row as u32)
    }

    /// Where a branch between two rows is kept, if these rows are joined in this plan.
    pub(crate) fn place(&self, a: u32, b: u32) -> Option<Place> {
        if a == b {
            return Some(Place::Nowhere);
        }
        if a == REFERENCE || b == REFERENCE {
            let reversed = a == REFERENCE;
            return Some(Place::Shunt { step: self.step(if reversed { b } else { a }), reversed });
        }
        let (from, to) = (self.step(a), self.step(b));
        let edge = self.edge(from.min(to), from.max(to))?;
        Some(Place::Edge { edge, reversed: from > to })
    }

    /// Edges of a step.
    pub(super) fn edges(&self, step: usize) -> std::ops::Range<usize> {
        self.start[step] as usize..self.start[step + 1] as usize
    }

    /// Where the pairs of a step's edges start in `pair`.
    pub(super) fn pair_start(&self, step: usize) -> usize {
        let of_even = self.pair_start[step / 2];
        if step.is_multiple_of(2) {
            of_even
        } else {
            of_even + pairs_among(self.edges(step - 1).len())
        }
    }

    /// The step that a step's row leads to first; every other that it leads to, that one does too.
    pub(super) fn next(&self, step: u32) -> Option<u32> {
        let edges = self.edges(step as usize);
        self.upper[edges].first().copied()
    }

    fn edge(&self, from: u32, to: u32) -> Option<u32> {
        let edges = self.edges(from as usize);
        let found = self.upper[edges.clone()].binary_search(&to).ok()?;
        Some((edges.start + found) as u32)
    }

    fn pairs(&self) -> Vec<u32> {
        let degrees = (0..self.n_rows()).map(|step| self.edges(step).len());
        let mut pair = Vec::with_capacity(degrees.map(pairs_among).sum());
        for step in 0..self.n_rows() {
            let upper = &self.upper[self.edges(step)];
            for (place, &near) in upper.iter().enumerate() {
                // Elimination has joined all rows of `upper`, so a walk along the edges of
                // `near` meets each later one.
                let mut edge = self.start[near as usize];
                for &far in &upper[place + 1..] {
                    while self.upper[edge as usize] != far {
                        edge += 1;
                    }
                    pair.push(edge);
                }
            }
        }
        pair
    }
}

/// Branches that do not end at the reference.
fn inner(ends: &[(u32, u32)]) -> Vec<(u32, u32)> {
    ends.iter().copied().filter(|&(a, b)| a != REFERENCE && b != REFERENCE).collect()
}

/// How many pairs there are among so many.
const fn pairs_among(n: usize) -> usize {
    n * n.saturating_sub(1) / 2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_branch_finds_its_place_whatever_its_direction() {
        let ends = [(0, 1), (1, 2), (2, 0), (2, REFERENCE)];
        let plan = Plan::new(3, &ends, &[]);
        for &(a, b) in &ends[..3] {
            let (
                Some(Place::Edge { edge, reversed }),
                Some(Place::Edge { edge: same, reversed: other }),
            ) = (plan.place(a, b), plan.place(b, a))
            else {
                panic!("{a}-{b} is not on an edge")
            };
            assert_eq!((edge, reversed), (same, !other));
        }
        let step = plan.step(2);
        assert_eq!(plan.place(REFERENCE, 2), Some(Place::Shunt { step, reversed: true }));
        assert_eq!(plan.place(1, 1), Some(Place::Nowhere));
    }

    #[test]
    fn a_packed_place_is_the_place_it_was() {
        let last = (1 << 30) - 2;
        for number in [0, 1, 12_345, last] {
            for reversed in [false, true] {
                for place in [
                    Place::Edge { edge: number, reversed },
                    Place::Shunt { step: number, reversed },
                ] {
                    assert_eq!(PackedPlace::from(place).unpacked(), place);
                }
            }
        }
        assert_eq!(PackedPlace::from(Place::Nowhere).unpacked(), Place::Nowhere);
    }

    #[test]
    fn the_pairs_of_each_step_follow_those_of_the_step_before() {
        let ends: Vec<(u32, u32)> =
            (0..40).flat_map(|a| [1, 2, 7].map(|step| (a, (a + step) % 40))).collect();
        let plan = Plan::new(40, &ends, &[]);
        let mut next = 0;
        for step in 0..plan.n_rows() {
            assert_eq!(plan.pair_start(step), next);
            next += pairs_among(plan.edges(step).len());
        }
        assert_eq!(next, plan.pair.len());
    }

    #[test]
    fn two_rows_that_nothing_joins_have_no_place() {
        let plan = Plan::new(3, &[(0, 1)], &[]);
        assert_eq!(plan.place(0, 2), None);
    }

    #[test]
    fn a_step_eliminates_the_row_whose_step_it_is() {
        let ends: Vec<_> = (0..9).map(|row| (row, (row * 5 + 3) % 9)).collect();
        let plan = Plan::new(9, &ends, &[4, 2]);
        for row in 0..9 {
            assert_eq!(plan.row(plan.step(row)), row);
        }
        assert_eq!(plan.row(9), REFERENCE);
    }
}
