//! Sums that keep what rounding drops.

use nalgebra::Complex;

/// A complex number as the unevaluated sum of two: what one addition rounds away is kept in the
/// second (Knuth's two-sum), so that currents of amperes that cancel leave the right microampere.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Sum {
    high: Complex<f64>,
    low: Complex<f64>,
}

impl Sum {
    /// The sum rounded to one number.
    pub(crate) fn value(self) -> Complex<f64> {
        self.high + self.low
    }

    /// Whether nothing was ever added, or all of it cancelled.
    pub(crate) fn is_zero(self) -> bool {
        self == Self::default()
    }

    /// Adds one number.
    pub(crate) fn add(&mut self, term: Complex<f64>) {
        let (re, re_low) = two_sum(self.high.re, term.re);
        let (im, im_low) = two_sum(self.high.im, term.im);
        self.high = Complex::new(re, im);
        self.low += Complex::new(re_low, im_low);
    }

    /// Adds another sum.
    pub(crate) fn add_sum(&mut self, other: Self) {
        self.add(other.high);
        self.add(other.low);
    }

    /// The sum with its sign turned.
    pub(crate) fn negative(self) -> Self {
        Self { high: -self.high, low: -self.low }
    }

    /// The other sum taken away.
    pub(crate) fn minus(mut self, other: Self) -> Self {
        self.add(-other.high);
        self.add(-other.low);
        self
    }
}

/// a + b = sum + error, exactly.
fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let of_b = sum - a;
    (sum, (a - (sum - of_b)) + (b - of_b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_microampere_survives_between_two_kiloamperes() {
        let mut sum = Sum::default();
        for term in [5400.0, 1e-6, -5400.0] {
            sum.add(Complex::new(term, -term));
        }
        assert_eq!(sum.value(), Complex::new(1e-6, -1e-6));
    }

    #[test]
    fn a_sum_is_nothing_only_once_what_rounding_dropped_has_gone_too() {
        let mut sum = Sum::default();
        assert!(sum.is_zero());
        for term in [5400.0, 1e-6, -5400.0] {
            sum.add(Complex::new(0.0, term));
        }
        assert!(!sum.is_zero());
        sum.add(Complex::new(0.0, -1e-6));
        assert!(sum.value() == Complex::ZERO);
    }

    #[test]
    fn a_sum_turned_round_leaves_nothing_of_itself() {
        let mut sum = Sum::default();
        for term in [5400.0, 1e-13] {
            sum.add(Complex::new(term, -term));
        }
        let mut both = sum;
        both.add_sum(sum.negative());
        assert_eq!(both.value(), Complex::ZERO);
        assert_eq!(sum.negative().value(), -sum.value());
    }
}
