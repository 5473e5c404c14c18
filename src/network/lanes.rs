//! Numbers side by side, reckoned at once without a word of any machine's own instructions.

use nalgebra::Complex;

use super::elimination::reciprocal;

/// Numbers in a block.
pub(crate) const LANES: usize = 4;

/// Complex numbers side by side; aligned, so that they are operands where they lie, but not so far that
/// what is kept of them could not grow where it is.
#[derive(Clone, Copy, Debug)]
#[repr(align(16))]
pub(crate) struct Lanes<const L: usize> {
    re: [f64; L],
    im: [f64; L],
}

/// Four complex numbers.
pub(crate) type Wide = Lanes<LANES>;

/// Of these so many at once, where there is much to be held: of more the registers that every
/// machine has would not take them all.
pub(super) const HELD: usize = if cfg!(target_feature = "avx") { LANES } else { 2 };

/// c + a b in each lane, in one step where the machine has it; elsewhere that would be a call.
#[inline(always)]
fn fused<const L: usize>(c: [f64; L], a: [f64; L], b: [f64; L]) -> [f64; L] {
    let mut sum = c;
    for lane in 0..L {
        sum[lane] = match cfg!(target_feature = "fma") {
            true => a[lane].mul_add(b[lane], c[lane]),
            false => c[lane] + a[lane] * b[lane],
        };
    }
    sum
}

/// c - a b.
#[inline(always)]
fn fused_less<const L: usize>(c: [f64; L], a: [f64; L], b: [f64; L]) -> [f64; L] {
    let mut sum = c;
    for lane in 0..L {
        sum[lane] = match cfg!(target_feature = "fma") {
            true => (-a[lane]).mul_add(b[lane], c[lane]),
            false => c[lane] - a[lane] * b[lane],
        };
    }
    sum
}

impl<const L: usize> Lanes<L> {
    pub(crate) const ZERO: Self = Self { re: [0.0; L], im: [0.0; L] };

    pub(crate) const ONE: Self = Self { re: [1.0; L], im: [0.0; L] };

    /// All the same.
    #[inline(always)]
    pub(crate) fn all(one: Complex<f64>) -> Self {
        Self { re: [one.re; L], im: [one.im; L] }
    }

    /// Some of them, from one on.
    #[inline(always)]
    pub(super) fn part(&self, from: usize) -> Lanes<HELD> {
        Lanes {
            re: std::array::from_fn(|lane| self.re[from + lane]),
            im: std::array::from_fn(|lane| self.im[from + lane]),
        }
    }

    #[inline(always)]
    pub(super) fn set_part(&mut self, from: usize, to: &Lanes<HELD>) {
        self.re[from..from + HELD].copy_from_slice(&to.re);
        self.im[from..from + HELD].copy_from_slice(&to.im);
    }

    /// The first half of these, and the second of others.
    #[inline(always)]
    pub(super) fn halves(&self, second: &Self) -> Self {
        let half = |a: &[f64; L], b: &[f64; L]| {
            std::array::from_fn(|lane| if lane < L / 2 { a[lane] } else { b[lane] })
        };
        Self { re: half(&self.re, &second.re), im: half(&self.im, &second.im) }
    }

    /// 1/z of each, as [`reciprocal`].
    #[inline(always)]
    pub(crate) fn reciprocals(&self) -> Self {
        let squares = self.squares();
        let mut all = Self::ZERO;
        if squares.iter().all(|square| *square > 1e-280 && *square < 1e280) {
            for (lane, square) in squares.into_iter().enumerate() {
                all.re[lane] = self.re[lane] / square;
                all.im[lane] = -self.im[lane] / square;
            }
        } else {
            (0..L).for_each(|lane| all.set(lane, reciprocal(self.get(lane))));
        }
        all
    }

    /// Adds the products with one number.
    #[inline(always)]
    pub(crate) fn add_times(&mut self, of: &Self, by: Complex<f64>) {
        self.add_product(of, &Self::all(by));
    }

    /// Adds the products of each with each.
    #[inline(always)]
    pub(crate) fn add_product(&mut self, a: &Self, b: &Self) {
        self.re = fused_less(fused(self.re, a.re, b.re), a.im, b.im);
        self.im = fused(fused(self.im, a.im, b.re), a.re, b.im);
    }

    /// The products of each with each, each rounded by itself as everywhere else.
    #[inline(always)]
    pub(crate) fn times(&self, by: &Self) -> Self {
        let mut product = Self::ZERO;
        for lane in 0..L {
            product.re[lane] = self.re[lane] * by.re[lane] - self.im[lane] * by.im[lane];
            product.im[lane] = self.re[lane] * by.im[lane] + self.im[lane] * by.re[lane];
        }
        product
    }

    #[inline(always)]
    pub(crate) fn add(&mut self, other: &Self) {
        for lane in 0..L {
            self.re[lane] += other.re[lane];
            self.im[lane] += other.im[lane];
        }
    }

    #[inline(always)]
    pub(crate) fn subtract(&mut self, other: &Self) {
        for lane in 0..L {
            self.re[lane] -= other.re[lane];
            self.im[lane] -= other.im[lane];
        }
    }

    #[inline(always)]
    pub(crate) fn half(&self) -> Self {
        Self { re: self.re.map(|re| re * 0.5), im: self.im.map(|im| im * 0.5) }
    }

    /// |z|².
    #[inline(always)]
    pub(super) fn squares(&self) -> [f64; L] {
        std::array::from_fn(|lane| self.re[lane] * self.re[lane] + self.im[lane] * self.im[lane])
    }

    /// |re| + |im|.
    #[inline(always)]
    pub(crate) fn sizes(&self) -> [f64; L] {
        std::array::from_fn(|lane| self.re[lane].abs() + self.im[lane].abs())
    }

    /// Nothing; not a number where it is not finite.
    #[inline(always)]
    pub(crate) fn times_nothing(&self) -> [f64; L] {
        std::array::from_fn(|lane| self.re[lane] * 0.0 + self.im[lane] * 0.0)
    }

    /// Whether it is not zero.
    #[inline(always)]
    pub(crate) fn is_something(&self) -> [bool; L] {
        std::array::from_fn(|lane| self.re[lane] != 0.0 || self.im[lane] != 0.0)
    }

    #[inline(always)]
    pub(crate) fn get(&self, lane: usize) -> Complex<f64> {
        Complex::new(self.re[lane], self.im[lane])
    }

    /// Whether one lane has the bits of one of another.
    #[inline]
    pub(super) fn is_lane(&self, lane: usize, other: &Self, other_lane: usize) -> bool {
        self.re[lane].to_bits() == other.re[other_lane].to_bits()
            && self.im[lane].to_bits() == other.im[other_lane].to_bits()
    }

    #[inline(always)]
    pub(crate) fn set(&mut self, lane: usize, to: Complex<f64>) {
        (self.re[lane], self.im[lane]) = (to.re, to.im);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lanes(each: [(f64, f64); 4]) -> Lanes<4> {
        let mut lanes = Lanes::ZERO;
        for (lane, (re, im)) in each.into_iter().enumerate() {
            lanes.set(lane, Complex::new(re, im));
        }
        lanes
    }

    const EACH: [(f64, f64); 4] = [(3.0, -4.0), (0.0, 2.0), (-1.0, 0.0), (0.5, 0.25)];

    #[test]
    fn each_lane_is_divided_as_it_is_by_itself_with_one_among_them_out_of_range_too() {
        for odd in [1.0, 1e-200, 1e200] {
            let mut all = lanes(EACH);
            all.set(2, Complex::new(3.0 * odd, -4.0 * odd));
            let divided = all.reciprocals();
            for lane in 0..4 {
                assert_eq!(divided.get(lane), reciprocal(all.get(lane)), "{odd:e}, lane {lane}");
            }
        }
    }

    #[test]
    fn squares_are_of_the_size_and_what_is_zero_is_nothing() {
        let all = lanes([(3.0, -4.0), (0.0, 0.0), (-1.0, 0.0), (0.0, 0.25)]);
        assert_eq!(all.squares().map(f64::to_bits), [25.0, 0.0, 1.0, 0.0625].map(f64::to_bits));
        assert_eq!(all.is_something(), [true, false, true, true]);
    }

    #[test]
    fn what_is_not_finite_in_either_part_shows_when_all_is_taken_times_nothing() {
        let all =
            lanes([(3.0, -4.0), (f64::INFINITY, 0.0), (-1.0, f64::NAN), (0.0, -f64::INFINITY)]);
        let [first, others @ ..] = all.times_nothing();
        assert_eq!(first.abs().to_bits(), 0);
        assert!(others.iter().all(|other| other.is_nan()), "{others:?}");
    }

    #[test]
    fn halves_are_the_first_two_of_one_and_the_last_two_of_the_other() {
        let (one, other) = (lanes(EACH), lanes([(7.0, 7.0); 4]));
        let halves = one.halves(&other);
        assert_eq!([0, 1].map(|lane| halves.get(lane)), [0, 1].map(|lane| one.get(lane)));
        assert_eq!([2, 3].map(|lane| halves.get(lane)), [2, 3].map(|lane| other.get(lane)));
    }

    #[test]
    fn a_lane_is_another_only_with_both_parts_of_the_same_bits() {
        let one = lanes([(1.0, 2.0), (1.0, 3.0), (5.0, 2.0), (0.0, 0.0)]);
        let other = lanes([(1.0, 2.0), (0.0, -0.0), (0.0, 0.0), (0.0, 0.0)]);
        assert!(one.is_lane(0, &other, 0));
        assert!(!one.is_lane(1, &other, 0) && !one.is_lane(2, &other, 0));
        assert!(!one.is_lane(3, &other, 1), "zero has a sign");
    }
}
