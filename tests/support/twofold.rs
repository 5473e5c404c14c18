//! Numbers of twice the length of f64, as unevaluated sums of two (Dekker 1971; Knuth).

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A real number of about 32 digits.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Twofold {
    pub high: f64,
    pub low: f64,
}

/// 2π to 32 digits.
pub const TAU: Twofold = Twofold { high: std::f64::consts::TAU, low: 2.449_293_598_294_706_4e-16 };

fn quick(high: f64, low: f64) -> Twofold {
    let sum = high + low;
    Twofold { high: sum, low: low - (sum - high) }
}

impl From<f64> for Twofold {
    fn from(value: f64) -> Self {
        Self { high: value, low: 0.0 }
    }
}

impl Add for Twofold {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        let two_sum = |a: f64, b: f64| {
            let sum = a + b;
            let of_b = sum - a;
            (sum, (a - (sum - of_b)) + (b - of_b))
        };
        let (high, error) = two_sum(self.high, other.high);
        let (low, error_low) = two_sum(self.low, other.low);
        let first = quick(high, error + low);
        quick(first.high, first.low + error_low)
    }
}

impl Neg for Twofold {
    type Output = Self;
    fn neg(self) -> Self {
        Self { high: -self.high, low: -self.low }
    }
}

impl Sub for Twofold {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Twofold {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        let product = self.high * other.high;
        // Exact: the fused form rounds once.
        let error = self.high.mul_add(other.high, -product);
        quick(product, error + (self.high * other.low + self.low * other.high))
    }
}

impl Div for Twofold {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let first = self.high / other.high;
        let rest = self - other * first.into();
        let second = rest.high / other.high;
        let rest = rest - other * second.into();
        quick(first, second) + (rest.high / other.high).into()
    }
}

/// A complex number of such parts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Complex {
    pub re: Twofold,
    pub im: Twofold,
}

impl Complex {
    pub fn new(re: impl Into<Twofold>, im: impl Into<Twofold>) -> Self {
        Self { re: re.into(), im: im.into() }
    }

    pub fn is_zero(self) -> bool {
        self == Self::default()
    }

    pub fn reciprocal(self) -> Self {
        let square = self.re * self.re + self.im * self.im;
        Self { re: self.re / square, im: -self.im / square }
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { re: self.re + other.re, im: self.im + other.im }
    }
}

impl Sub for Complex {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { re: self.re - other.re, im: self.im - other.im }
    }
}

impl Neg for Complex {
    type Output = Self;
    fn neg(self) -> Self {
        Self { re: -self.re, im: -self.im }
    }
}

impl Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self {
            re: self.re * other.re - self.im * other.im,
            im: self.re * other.im + self.im * other.re,
        }
    }
}
