//! Elimination on edges: star to mesh, never a subtraction.
//!
//! Row k is joined by admittances yᵢ to rows i that remain and by a shunt g to the reference; a
//! current J is driven into it. Kirchhoff's current law at k,
//!
//! ```text
//! s U_k = Σ yᵢ Uᵢ + J,        s = g + Σ yᵢ            (the pivot: a sum of what is stored)
//! ```
//!
//! takes U_k out of the others' equations, which then read as if, with weights wᵢ = yᵢ / s,
//!
//! ```text
//! y_ij  grew by  wᵢ yⱼ        gᵢ  grew by  wᵢ g        Jᵢ  grew by  wᵢ J
//! ```
//!
//! An assembled matrix would keep s + (sum of row) in one number and lose g when g/s is below
//! the rounding; here g is a number of its own (Grassmann, Taksar & Heyman 1985). The currents J
//! are passed on as sums that keep their rounding, and the heaviest weight takes what the others
//! leave, so that not a fraction of J is lost on the way: ten amperes out of one row and into its
//! neighbour leave between them the microampere that leaks.
//!
//! Upward, U_k = Σ wᵢ Uᵢ + J/s; and the difference along each edge from differences alone,
//!
//! ```text
//! U_k - U_m = Σ wᵢ (Uᵢ - U_m) - (g/s) U_m + J/s
//! ```
//!
//! because rows i and m, both neighbours of k, are joined by an edge of their own.

use nalgebra::Complex;

use super::plan::{Place, Plan, REFERENCE};
use super::sum::Sum;

/// The numbers of one elimination, reused from one to the next without allocation.
#[derive(Clone, Debug, Default)]
pub(crate) struct Workspace {
    /// Admittance of each edge; after elimination its weight wᵢ.
    edge: Vec<Complex<f64>>,
    /// Admittance of each step's row to the reference; after elimination g/s.
    shunt: Vec<Complex<f64>>,
    /// 1/s of each step.
    impedance: Vec<Complex<f64>>,
    /// Steps whose rows nothing joined with anything that was left.
    tied: Vec<u32>,
    /// Current driven into each step's row.
    injection: Vec<Sum>,
    potential: Vec<Complex<f64>>,
    difference: Vec<Complex<f64>>,
}

/// How the elimination went.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pivots {
    /// Largest Σ|y| / |Σy| of any pivot, in the norm |re| + |im|: 1 when nothing cancels.
    pub(crate) worst_cancellation: f64,
    /// The step it occurred at.
    pub(crate) worst_step: u32,
}

impl Pivots {
    /// A step's pivot of such a size, the sum of terms of such sizes. One that is zero or not a
    /// finite number counts as the worst of all, and the first such stays: it makes others so.
    fn watch(&mut self, step: usize, of_terms: f64, size: f64) {
        // Without a division where nothing is worse.
        let is_less = of_terms <= self.worst_cancellation * size && of_terms < f64::INFINITY;
        if is_less || self.worst_cancellation == f64::INFINITY {
            return;
        }
        let cancellation = of_terms / size;
        let worst_cancellation = if cancellation.is_nan() { f64::INFINITY } else { cancellation };
        *self = Self { worst_cancellation, worst_step: step as u32 };
    }
}

impl Default for Pivots {
    fn default() -> Self {
        Self { worst_cancellation: 1.0, worst_step: 0 }
    }
}

impl Workspace {
    /// Zero admittances, sized for a plan.
    pub(crate) fn clear(&mut self, plan: &Plan) {
        let (n, m) = (plan.n_rows(), plan.n_edges());
        for (list, len) in [(&mut self.edge, m), (&mut self.shunt, n)] {
            list.clear();
            list.resize(len, Complex::ZERO);
        }
        // Every step writes its own.
        self.impedance.resize(n, Complex::ZERO);
        self.tied.clear();
        self.injection.clear();
    }

    /// Puts a branch of admittance `y` in its place.
    pub(crate) fn join(&mut self, place: Place, y: Complex<f64>) {
        match place {
            Place::Edge { edge, .. } => self.edge[edge as usize] += y,
            Place::Shunt { step, .. } => self.shunt[step as usize] += y,
            Place::Nowhere => {}
        }
    }

    /// Drives a current into a step's row.
    pub(crate) fn inject(&mut self, step: u32, current: Complex<f64>) {
        self.injected(step).add(current);
    }

    /// Drives a current into a step's row that is known beyond rounding.
    pub(crate) fn inject_sum(&mut self, step: u32, current: Sum) {
        self.injected(step).add_sum(current);
    }

    fn injected(&mut self, step: u32) -> &mut Sum {
        if self.injection.is_empty() {
            self.injection.resize(self.shunt.len(), Sum::default());
        }
        &mut self.injection[step as usize]
    }

    /// U_a - U_b of a branch.
    pub(crate) fn difference(&self, place: Place) -> Complex<f64> {
        let (value, reversed) = match place {
            Place::Edge { edge, reversed } => (self.difference[edge as usize], reversed),
            Place::Shunt { step, reversed } => (self.potential[step as usize], reversed),
            Place::Nowhere => return Complex::ZERO,
        };
        if reversed { -value } else { value }
    }

    /// Eliminates every row: admittances become weights.
    pub(crate) fn eliminate(&mut self, plan: &Plan) -> Pivots {
        let mut pivots = Pivots::default();
        let mut next_pair = 0;
        for step in 0..plan.n_rows() {
            let edges = plan.edges(step);
            // s = g + Σ yᵢ
            let g = self.shunt[step];
            let (mut s, mut size) = (g, g.l1_norm());
            for y in &self.edge[edges.clone()] {
                s += y;
                size += y.l1_norm();
            }
            if size.abs() < f64::MIN_POSITIVE {
                self.tie(step);
                next_pair = self.star_to_mesh(plan, edges, Complex::ZERO, g, next_pair);
                continue;
            }
            pivots.watch(step, size, s.l1_norm());
            let z = reciprocal(s);
            self.impedance[step] = z;
            self.shunt[step] = z * g;
            next_pair = self.star_to_mesh(plan, edges, z, g, next_pair);
        }
        pivots
    }

    /// Nothing is left that joins this row with anything: it is the last of its part, from which
    /// the part is reckoned. Its U is zero, as if it were the reference.
    fn tie(&mut self, step: usize) {
        self.impedance[step] = Complex::ZERO;
        self.shunt[step] = Complex::ONE;
        self.tied.push(step as u32);
    }

    /// For each step the one its part is reckoned from, or [`REFERENCE`].
    pub(crate) fn parts(&self, plan: &Plan, part: &mut Vec<u32>) {
        part.clear();
        part.resize(plan.n_rows(), REFERENCE);
        let mut tied = self.tied.iter().rev().copied().peekable();
        for step in (0..plan.n_rows()).rev() {
            if tied.next_if_eq(&(step as u32)).is_some() {
                part[step] = step as u32;
            } else if self.shunt[step] == Complex::ZERO {
                // Joined rows are of one part, so any of them will do.
                let joined = plan.edges(step).find(|&edge| self.edge[edge] != Complex::ZERO);
                if let Some(edge) = joined {
                    part[step] = part[plan.upper[edge] as usize];
                }
            }
        }
    }

    /// y_ij grows by wᵢ yⱼ and gᵢ by wᵢ g; returns the place on the tape after the last pair.
    fn star_to_mesh(
        &mut self,
        plan: &Plan,
        edges: std::ops::Range<usize>,
        z: Complex<f64>,
        g: Complex<f64>,
        mut next_pair: usize,
    ) -> usize {
        for i in edges.clone() {
            let w = self.edge[i] * z;
            self.shunt[plan.upper[i] as usize] += w * g;
            for j in i + 1..edges.end {
                let y = self.edge[j];
                self.edge[plan.pair[next_pair] as usize] += w * y;
                next_pair += 1;
            }
            self.edge[i] = w;
        }
        next_pair
    }

    /// Potentials and differences for the currents driven in, which are used up.
    pub(crate) fn solve(&mut self, plan: &Plan) {
        self.potential.resize(plan.n_rows(), Complex::ZERO);
        self.difference.resize(plan.n_edges(), Complex::ZERO);
        self.injection.resize(plan.n_rows(), Sum::default());
        self.pass_currents_on(plan, 0..plan.n_rows());
        self.injection.clear();
        self.substitute_back(plan, (0..plan.n_rows()).rev());
    }

    /// The same at some steps alone, ascending; with each all that it leads to, and those where
    /// current is driven in. What is elsewhere then means nothing.
    pub(super) fn solve_among(&mut self, plan: &Plan, steps: &[u32]) {
        self.potential.resize(plan.n_rows(), Complex::ZERO);
        self.difference.resize(plan.n_edges(), Complex::ZERO);
        self.injection.resize(plan.n_rows(), Sum::default());
        let ascending = steps.iter().map(|&step| step as usize);
        self.pass_currents_on(plan, ascending.clone());
        for step in ascending.clone() {
            self.injection[step] = Sum::default();
        }
        self.substitute_back(plan, ascending.rev());
    }

    /// No current is driven for [`Workspace::solve_potentials`].
    pub(crate) fn clear_drives(&mut self, plan: &Plan) {
        self.potential.clear();
        self.potential.resize(plan.n_rows(), Complex::ZERO);
    }

    /// Drives a current into a step's row for [`Workspace::solve_potentials`].
    pub(crate) fn drive(&mut self, step: u32, current: Complex<f64>) {
        self.potential[step as usize] += current;
    }

    /// Potentials alone; whether all are numbers. Currents driven at a few places do not cancel on
    /// their way, so that no sums are kept.
    pub(crate) fn solve_potentials(&mut self, plan: &Plan) -> bool {
        let is_driven = |current: &Complex<f64>| *current != Complex::ZERO;
        let first = self.potential.iter().position(is_driven).unwrap_or(plan.n_rows());
        for step in first..plan.n_rows() {
            let current = self.potential[step];
            if current != Complex::ZERO {
                for edge in plan.edges(step) {
                    self.potential[plan.upper[edge] as usize] += self.edge[edge] * current;
                }
                self.potential[step] = current * self.impedance[step];
            }
        }
        let mut size = 0.0;
        for step in (0..plan.n_rows()).rev() {
            let mut potential = self.potential[step];
            for edge in plan.edges(step) {
                potential += self.edge[edge] * self.potential[plan.upper[edge] as usize];
            }
            self.potential[step] = potential;
            size += potential.l1_norm();
        }
        size.is_finite()
    }

    /// U of a step.
    pub(crate) fn potential(&self, step: u32) -> Complex<f64> {
        self.potential[step as usize]
    }

    /// Whether every row is joined with the reference.
    pub(crate) fn is_one_part(&self) -> bool {
        self.tied.is_empty()
    }

    /// Jᵢ grows by wᵢ J; J/s is left in `potential`.
    fn pass_currents_on(&mut self, plan: &Plan, steps: impl Iterator<Item = usize>) {
        for step in steps {
            let injection = self.injection[step];
            if injection.is_zero() {
                self.potential[step] = Complex::ZERO;
                continue;
            }
            let current = injection.value();
            self.potential[step] = current * self.impedance[step];
            let heaviest = self.heaviest(plan, step);
            let mut rest = injection;
            for edge in plan.edges(step) {
                if Some(edge) != heaviest {
                    let share = self.edge[edge] * current;
                    self.injection[plan.upper[edge] as usize].add(share);
                    rest.add(-share);
                }
            }
            if let Some(heaviest) = heaviest {
                rest.add(-self.shunt[step] * current);
                self.injection[plan.upper[heaviest] as usize].add_sum(rest);
            }
        }
    }

    /// The edge of a step with the largest weight, in the norm |re| + |im|; `None` if more goes to
    /// the reference.
    fn heaviest(&self, plan: &Plan, step: usize) -> Option<usize> {
        let (mut heaviest, mut size_max) = (None, self.shunt[step].l1_norm());
        for edge in plan.edges(step) {
            let size = self.edge[edge].l1_norm();
            if size > size_max {
                (heaviest, size_max) = (Some(edge), size);
            }
        }
        heaviest
    }

    fn substitute_back(&mut self, plan: &Plan, steps: impl Iterator<Item = usize>) {
        for step in steps {
            let edges = plan.edges(step);
            let drive = self.potential[step];
            let to_reference = self.shunt[step];
            let mut potential = drive;
            for m in edges.clone() {
                let u = self.potential[plan.upper[m] as usize];
                potential += self.edge[m] * u;
                self.difference[m] = drive - to_reference * u;
            }
            self.potential[step] = potential;
            let mut pair = plan.pair_start(step);
            for i in edges.clone() {
                for m in i + 1..edges.end {
                    let between = self.difference[plan.pair[pair] as usize];
                    pair += 1;
                    self.difference[m] += self.edge[i] * between;
                    self.difference[i] -= self.edge[m] * between;
                }
            }
        }
    }
}

/// 1/z, without overflow on the way.
pub(crate) fn reciprocal(z: Complex<f64>) -> Complex<f64> {
    let square = z.norm_sqr();
    if square > 1e-280 && square < 1e280 {
        return Complex::new(z.re / square, -z.im / square);
    }
    let size = z.re.abs().max(z.im.abs());
    let unit = z / size;
    let square = unit.norm_sqr();
    Complex::new(unit.re / square / size, -unit.im / square / size)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_over_an_admittance_has_its_digits_at_both_ends_of_the_numbers() {
        // 1/(3 - 4i) = (3 + 4i)/25, at any scale.
        for exponent in [-250, -150, -60, 0, 60, 150, 250] {
            let scale = libm::pow(10.0, f64::from(exponent));
            let one_over = reciprocal(Complex::new(3.0, -4.0) * scale) * scale;
            let miss = (one_over - Complex::new(0.12, 0.16)).l1_norm();
            assert!(miss < 1e-15, "{exponent}: {one_over}");
        }
    }

    #[test]
    fn the_worst_pivot_stays_the_worst_and_one_that_is_no_number_is_worse() {
        let mut pivots = Pivots::default();
        pivots.watch(3, 40.0, 10.0);
        pivots.watch(5, 1.0, 1.0);
        assert_eq!((pivots.worst_cancellation, pivots.worst_step), (4.0, 3));
        pivots.watch(7, f64::INFINITY, f64::INFINITY);
        assert_eq!((pivots.worst_cancellation, pivots.worst_step), (f64::INFINITY, 7));
        pivots.watch(9, 1.0, 0.0);
        assert_eq!(pivots.worst_step, 7, "the first such makes others so");
    }

    #[test]
    fn rows_are_one_part_where_all_lead_to_the_reference() {
        let plan = Plan::new(3, &[(0, 1), (1, 2), (2, REFERENCE)], &[]);
        for (to_reference, is_one) in [(Complex::ONE, true), (Complex::ZERO, false)] {
            let mut work = Workspace::default();
            work.clear(&plan);
            for (pair, y) in [((0, 1), Complex::ONE), ((1, 2), Complex::ONE)] {
                work.join(plan.place(pair.0, pair.1).unwrap(), y);
            }
            work.join(plan.place(2, REFERENCE).unwrap(), to_reference);
            work.eliminate(&plan);
            assert_eq!(work.is_one_part(), is_one);
        }
    }
}
