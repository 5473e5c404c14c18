//! Several sets solved side by side: the rows of as many cuts, each with each, a set a lane.
//!
//! Each lane takes the steps of [`Bag::eliminate`](super::bag::Bag) and of what follows it in the
//! same order and without fused products, so that its numbers are those of the set by itself, to the
//! last digit.

use nalgebra::Complex;

use super::bag::{BAG_MAX, pair, pairs, row};
use super::elimination::reciprocal;
use super::lanes::{LANES, Wide};
use super::rerooted::worse;

/// Rows of a cut, of some sets each.
#[derive(Clone, Debug)]
pub(super) struct Abreast {
    n: usize,
    /// Shunts, currents and pairs, one after the other; then what each row left as it went.
    shunt: [Wide; BAG_MAX],
    current: [Wide; BAG_MAX],
    pair: [Wide; pairs(BAG_MAX)],
    /// 1/s.
    pivot: [Wide; BAG_MAX],
    potential: [Wide; BAG_MAX],
    difference: [Wide; pairs(BAG_MAX)],
    impedance: [Wide; BAG_MAX],
    distance: [Wide; pairs(BAG_MAX)],
    tied: [[bool; LANES]; BAG_MAX],
}

impl Default for Abreast {
    fn default() -> Self {
        let (rows, pairs) = ([Wide::ZERO; BAG_MAX], [Wide::ZERO; pairs(BAG_MAX)]);
        Self {
            n: 0,
            shunt: rows,
            current: rows,
            pair: pairs,
            pivot: rows,
            potential: rows,
            difference: pairs,
            impedance: rows,
            distance: pairs,
            tied: [[false; LANES]; BAG_MAX],
        }
    }
}

impl Abreast {
    /// Starts anew, with so many rows.
    pub(super) fn begin(&mut self, n: usize) {
        self.n = n;
    }

    /// The shunts, currents and pairs of one set.
    #[inline]
    pub(super) fn put(&mut self, lane: usize, mut numbers: impl Iterator<Item = Complex<f64>>) {
        let n = self.n;
        for all in [&mut self.shunt[..n], &mut self.current[..n], &mut self.pair[..pairs(n)]] {
            all.iter_mut().zip(numbers.by_ref()).for_each(|(into, number)| into.set(lane, number));
        }
    }

    /// Fills the lanes from one on with what is in the first.
    pub(super) fn fill(&mut self, from: usize) {
        let n = self.n;
        for all in [&mut self.shunt[..n], &mut self.current[..n], &mut self.pair[..pairs(n)]] {
            for wide in all {
                (from..LANES).for_each(|lane| wide.set(lane, wide.get(0)));
            }
        }
    }

    /// Eliminates all rows and solves them. Returns the largest cancellation met; `None` if there is
    /// a row that nothing is joined with.
    pub(super) fn solve(&mut self, with_impedances: bool) -> Option<f64> {
        let mut cancellation = 1.0;
        for e in 0..self.n {
            cancellation = worse(cancellation, self.eliminate(e)?);
        }
        for e in (0..self.n).rev() {
            self.extend(e);
            if with_impedances {
                self.extend_impedances(e);
            }
        }
        Some(cancellation)
    }

    #[inline]
    fn eliminate(&mut self, e: usize) -> Option<f64> {
        let n = self.n;
        let (given, rest) = self.pair[row(n, e)..pairs(n)].split_at_mut(n - e - 1);
        let g = self.shunt[e];
        let (mut s, mut size) = (g, g.sizes());
        for y in given.iter() {
            s.add(y);
            let more = y.sizes();
            (0..LANES).for_each(|lane| size[lane] += more[lane]);
        }
        if size.iter().any(|size| *size < f64::MIN_POSITIVE) {
            return None;
        }
        let mut z = Wide::ZERO;
        (0..LANES).for_each(|lane| z.set(lane, reciprocal(s.get(lane))));
        let j = self.current[e];
        let mut next = 0;
        let (shunt, current) = (&mut self.shunt[e + 1..n], &mut self.current[e + 1..n]);
        for i in 0..given.len() {
            let w = given[i].times(&z);
            shunt[i].add(&w.times(&g));
            current[i].add(&w.times(&j));
            let later = &given[i + 1..];
            for (between, y) in rest[next..].iter_mut().zip(later) {
                between.add(&w.times(y));
            }
            next += later.len();
            given[i] = w;
        }
        (self.shunt[e], self.current[e], self.pivot[e]) = (z.times(&g), z.times(&j), z);
        let whole = s.sizes();
        Some((0..LANES).fold(1.0, |most, lane| worse(most, size[lane] / whole[lane])))
    }

    /// As [`Seen::extend`](super::bag::Seen::extend).
    #[inline]
    fn extend(&mut self, e: usize) {
        let n = self.n;
        let weight = &self.pair[row(n, e)..row(n, e + 1)];
        let (to_reference, drive) = (&self.shunt[e], &self.current[e]);
        let mut potential = *drive;
        let mut tied = to_reference.is_something();
        for (w, m) in weight.iter().zip(e + 1..) {
            potential.add(&w.times(&self.potential[m]));
            let joins = w.is_something();
            (0..LANES).for_each(|lane| tied[lane] |= self.tied[m][lane] && joins[lane]);
        }
        (self.potential[e], self.tied[e]) = (potential, tied);
        let (own, later) = self.difference[row(n, e)..pairs(n)].split_at_mut(weight.len());
        for (own, m) in own.iter_mut().zip(e + 1..) {
            *own = *drive;
            own.subtract(&to_reference.times(&self.potential[m]));
        }
        let mut next = 0;
        for i in 0..weight.len() {
            for m in i + 1..weight.len() {
                let between = &later[next];
                next += 1;
                own[m].add(&weight[i].times(between));
                own[i].subtract(&weight[m].times(between));
            }
        }
    }

    #[inline]
    fn extend_impedances(&mut self, e: usize) {
        let n = self.n;
        let weight = &self.pair[row(n, e)..row(n, e + 1)];
        let (to_reference, z) = (&self.shunt[e], &self.pivot[e]);
        let (mut sum, mut nodes) = (Wide::ZERO, Wide::ZERO);
        for (w, far) in weight.iter().zip(&self.impedance[e + 1..n]) {
            sum.add(w);
            nodes.add(&w.times(far));
        }
        let (own, later) = self.distance[row(n, e)..pairs(n)].split_at_mut(weight.len());
        own.fill(Wide::ZERO);
        let mut next = 0;
        for i in 0..weight.len() {
            for m in i + 1..weight.len() {
                let between = &later[next];
                next += 1;
                own[m].add(&weight[i].times(between));
                own[i].add(&weight[m].times(between));
            }
        }
        let mut twice = Wide::ZERO;
        own.iter().zip(weight).for_each(|(own, w)| twice.add(&own.times(w)));
        let among = twice.half();
        let mut own_impedance = *z;
        own_impedance.add(&sum.times(&nodes));
        own_impedance.subtract(&among);
        for (own, far) in own.iter_mut().zip(&self.impedance[e + 1..n]) {
            let mut apart = *far;
            apart.subtract(&nodes);
            let mut more = *z;
            more.subtract(&among);
            more.add(&to_reference.times(&apart));
            own.add(&more);
        }
        self.impedance[e] = own_impedance;
    }

    pub(super) fn n_rows(&self) -> usize {
        self.n
    }

    pub(super) fn potential(&self, lane: usize, at: usize) -> Complex<f64> {
        self.potential[at].get(lane)
    }

    pub(super) fn is_tied(&self, lane: usize, at: usize) -> bool {
        self.tied[at][lane]
    }

    /// Of rows i < j.
    pub(super) fn difference(&self, lane: usize, i: usize, j: usize) -> Complex<f64> {
        self.difference[pair(self.n, i, j)].get(lane)
    }

    pub(super) fn impedance(&self, lane: usize, at: usize) -> Complex<f64> {
        self.impedance[at].get(lane)
    }

    /// Of rows i < j.
    pub(super) fn distance(&self, lane: usize, i: usize, j: usize) -> Complex<f64> {
        self.distance[pair(self.n, i, j)].get(lane)
    }
}

#[cfg(test)]
mod tests {
    use super::super::rows::Rows;
    use super::*;
    use crate::network::bag::Bag;

    /// Figures of either sign, over eighteen powers of ten.
    fn chance(seed: &mut u64) -> f64 {
        *seed =
            seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let unit = (*seed >> 11) as f64 / (1_u64 << 53) as f64;
        10_f64.powf(18.0 * unit - 12.0) * if *seed & 1 << 9 == 0 { 1.0 } else { 0.3 }
    }

    #[test]
    fn four_cuts_side_by_side_are_each_what_it_is_by_itself_to_the_last_digit() {
        let mut seed = 5;
        let mut abreast = Abreast::default();
        for (n, n_sets) in (0..7).flat_map(|n| (1..=LANES).map(move |n_sets| (n, n_sets))) {
            let n_numbers = 2 * n + pairs(n);
            let mut number = || Complex::new(chance(&mut seed), -0.7 * chance(&mut seed));
            let sets: Vec<Vec<Complex<f64>>> =
                (0..n_sets).map(|_| (0..n_numbers).map(|_| number()).collect()).collect();
            abreast.begin(n);
            for (lane, set) in sets.iter().enumerate() {
                abreast.put(lane, set.iter().copied());
            }
            abreast.fill(n_sets);
            let met = abreast.solve(true).unwrap();
            let mut most = 1.0;
            for (lane, set) in sets.into_iter().enumerate() {
                let (mut shunt, mut current) = (set[..n].to_vec(), set[n..2 * n].to_vec());
                let mut pair_numbers = set[2 * n..].to_vec();
                let mut bag =
                    Bag { shunt: &mut shunt, current: &mut current, pair: &mut pair_numbers };
                let mut rows = Rows::zero(n, pairs(n));
                most = worse(most, rows.solve(&mut bag, (0..n, 0..pairs(n)), true));
                for i in 0..n {
                    assert_eq!(abreast.potential(lane, i), rows.potential[i]);
                    assert_eq!(abreast.impedance(lane, i), rows.impedance[i]);
                    assert_eq!(abreast.is_tied(lane, i), rows.tied[i]);
                    for j in i + 1..n {
                        let at = pair(n, i, j);
                        assert_eq!(abreast.difference(lane, i, j), rows.difference[at]);
                        assert_eq!(abreast.distance(lane, i, j), rows.distance[at]);
                    }
                }
            }
            assert_eq!(met.to_bits(), most.to_bits());
        }
    }

    #[test]
    fn a_conductor_joined_with_nothing_in_one_of_the_sets_is_left_to_be_solved_by_itself() {
        let mut abreast = Abreast::default();
        for loose in [None, Some(2)] {
            abreast.begin(1);
            for lane in 0..LANES {
                let shunt = if loose == Some(lane) { Complex::ZERO } else { Complex::ONE };
                abreast.put(lane, [shunt, Complex::ONE].into_iter());
            }
            assert_eq!(abreast.solve(true), loose.is_none().then_some(1.0));
        }
    }
}
