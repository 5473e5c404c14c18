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
