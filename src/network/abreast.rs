//! Several sets solved side by side: the rows of as many cuts, each with each, a set a lane.
//!
//! Each lane takes the steps of [`Bag::eliminate`](super::bag::Bag) and of what follows it in the
//! same order and without fused products, so that its numbers are those of the set by itself, to the
//! last digit.

use nalgebra::Complex;

use super::bag::{BAG_MAX, pair, pairs, row};
use super::lanes::{LANES, Wide};
use super::rerooted::worse;

/// Shunts, currents and pairs of so many rows.
const fn numbers(n: usize) -> usize {
    2 * n + pairs(n)
}

/// Rows of a cut, of some sets each.
#[derive(Clone, Debug)]
pub(super) struct Abreast {
    n: usize,
    /// Shunts, currents and pairs, one after the other; then what each row left as it went.
    numbers: [Wide; numbers(BAG_MAX)],
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
            numbers: [Wide::ZERO; numbers(BAG_MAX)],
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
    /// Puts the sums of two such lists for each set: shunts, currents and pairs of so many rows.
    pub(super) fn put(&mut self, n: usize, sets: [[&[Complex<f64>]; 2]; LANES]) {
        self.n = n;
        let n_numbers = numbers(n);
        let sets = sets.map(|set| set.map(|list| &list[..n_numbers]));
        for (at, wide) in self.numbers[..n_numbers].iter_mut().enumerate() {
            for (lane, [one, other]) in sets.iter().enumerate() {
                wide.set(lane, one[at] + other[at]);
            }
        }
    }

    /// Eliminates all rows and solves them. Returns the largest cancellation met; `None` if there is
    /// a row that nothing is joined with.
    pub(super) fn solve(&mut self, with_impedances: bool) -> Option<f64> {
        let n = self.n;
        let mut cancellation = 1.0;
        for e in 0..n {
            // Mostly there are three rows or four. What each is made of is put in by its own: with
            // all numbers told, nothing is counted on the way, and of more at once the compiler
            // would not see which are side by side.
            let met = match n - e {
                4 => self.eliminate_of::<4>(e),
                3 => self.eliminate_of::<3>(e),
                2 => self.eliminate_of::<2>(e),
                left => self.eliminate(e, left),
            };
            cancellation = worse(cancellation, met?);
        }
        for e in (0..n).rev() {
            match n - e {
                4 => self.extend_of::<4>(e, with_impedances),
                3 => self.extend_of::<3>(e, with_impedances),
                2 => self.extend_of::<2>(e, with_impedances),
                left => self.extend(e, left, with_impedances),
            }
        }
        Some(cancellation)
    }

    #[inline(never)]
    fn eliminate_of<const LEFT: usize>(&mut self, e: usize) -> Option<f64> {
        self.eliminate(e, LEFT)
    }

    #[inline(never)]
    fn extend_of<const LEFT: usize>(&mut self, e: usize, with_impedances: bool) {
        self.extend(e, LEFT, with_impedances);
    }

    /// As [`Bag::eliminate`](super::bag::Bag::eliminate), of a row with so many left.
    #[inline(always)]
    fn eliminate(&mut self, e: usize, left: usize) -> Option<f64> {
        let n = e + left;
        let (shunt, rest) = self.numbers[..numbers(n)].split_at_mut(n);
        let (current, pair) = rest.split_at_mut(n);
        let (given, rest) = pair[row(n, e)..][..pairs(left)].split_at_mut(left - 1);
        let (shunt, shunts) = shunt[e..][..left].split_at_mut(1);
        let (current, currents) = current[e..][..left].split_at_mut(1);
        let (g, j) = (shunt[0], current[0]);
        let (mut s, mut size) = (g, g.sizes());
        for y in given.iter() {
            s.add(y);
            let more = y.sizes();
            (0..LANES).for_each(|lane| size[lane] += more[lane]);
        }
        if size.iter().any(|size| *size < f64::MIN_POSITIVE) {
            return None;
        }
        let z = s.reciprocals();
        let mut next = 0;
        for i in 0..given.len() {
            let w = given[i].times(&z);
            shunts[i].add(&w.times(&g));
            currents[i].add(&w.times(&j));
            let later = &given[i + 1..];
            for (between, y) in rest[next..].iter_mut().zip(later) {
                between.add(&w.times(y));
            }
            next += later.len();
            given[i] = w;
        }
        (shunt[0], current[0]) = (z.times(&g), z.times(&j));
        self.pivot[e] = z;
        let whole = s.sizes();
        Some((0..LANES).fold(1.0, |most, lane| worse(most, size[lane] / whole[lane])))
    }

    /// As [`Seen::extend`](super::bag::Seen::extend).
    #[inline(always)]
    fn extend(&mut self, e: usize, left: usize, with_impedances: bool) {
        let n = e + left;
        let weight = &self.numbers[2 * n + row(n, e)..][..left - 1];
        let (to_reference, drive) = (self.numbers[e], self.numbers[n + e]);
        let (own_potential, potentials) = self.potential[e..][..left].split_at_mut(1);
        let mut potential = drive;
        let mut tied = to_reference.is_something();
        for (w, far) in weight.iter().zip(&*potentials) {
            potential.add(&w.times(far));
        }
        if tied != [true; LANES] {
            for (w, far) in weight.iter().zip(&self.tied[e + 1..n]) {
                let joins = w.is_something();
                (0..LANES).for_each(|lane| tied[lane] |= far[lane] && joins[lane]);
            }
        }
        (own_potential[0], self.tied[e]) = (potential, tied);
        let (own, later) = self.difference[row(n, e)..][..pairs(left)].split_at_mut(left - 1);
        for (own, far) in own.iter_mut().zip(&*potentials) {
            *own = drive;
            own.subtract(&to_reference.times(far));
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
        if with_impedances {
            self.extend_impedances(e, left);
        }
    }

    #[inline(always)]
    fn extend_impedances(&mut self, e: usize, left: usize) {
        let n = e + left;
        let weight = &self.numbers[2 * n + row(n, e)..][..left - 1];
        let (to_reference, z) = (self.numbers[e], self.pivot[e]);
        let (own_impedance, impedances) = self.impedance[e..][..left].split_at_mut(1);
        let (mut sum, mut nodes) = (Wide::ZERO, Wide::ZERO);
        for (w, far) in weight.iter().zip(&*impedances) {
            sum.add(w);
            nodes.add(&w.times(far));
        }
        let (own, later) = self.distance[row(n, e)..][..pairs(left)].split_at_mut(left - 1);
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
        for (own, far) in own.iter_mut().zip(&*impedances) {
            let mut apart = *far;
            apart.subtract(&nodes);
            let mut more = z;
            more.subtract(&among);
            more.add(&to_reference.times(&apart));
            own.add(&more);
        }
        let mut whole = z;
        whole.add(&sum.times(&nodes));
        whole.subtract(&among);
        own_impedance[0] = whole;
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
            let nothing = vec![Complex::ZERO; n_numbers];
            let of_lane = |lane: usize| [sets[lane.min(n_sets - 1)].as_slice(), &nothing];
            abreast.put(n, std::array::from_fn(of_lane));
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
            let of_lane = |lane: usize| match loose == Some(lane) {
                true => [Complex::ZERO, Complex::ONE],
                false => [Complex::ONE; 2],
            };
            let sets: [_; LANES] = std::array::from_fn(of_lane);
            let nothing = [Complex::ZERO; 2];
            abreast.put(1, std::array::from_fn(|lane| [sets[lane].as_slice(), &nothing]));
            assert_eq!(abreast.solve(true), loose.is_none().then_some(1.0));
        }
    }
}
