//! Phasors, impedances and addresses: the values that cross every room.
//!
//! Phasors are rms; the time factor is exp(+jωt), so an inductive reactance is positive.

use std::fmt;

/// A complex rms quantity; what it measures (volts to earth, amperes from `a` to `b`) is said
/// where it is returned.
///
/// ```
/// use slotwise::quantity::Phasor;
/// let leg_2 = Phasor::polar(120.0, 180.0);
/// assert!((leg_2.re + 120.0).abs() < 1e-12);
/// assert!((leg_2.magnitude() - 120.0).abs() < 1e-12);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Phasor {
    /// In-phase part, rms.
    pub re: f64,
    /// Quadrature part, rms.
    pub im: f64,
}

impl Phasor {
    /// The phasor of magnitude zero.
    pub const ZERO: Self = Self { re: 0.0, im: 0.0 };

    /// A phasor from its parts, rms.
    pub const fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    /// A phasor from its rms magnitude and its angle in degrees.
    pub fn polar(magnitude: f64, degrees: f64) -> Self {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        Self { re: magnitude * cos, im: magnitude * sin }
    }

    /// The rms magnitude.
    pub fn magnitude(self) -> f64 {
        libm::hypot(self.re, self.im)
    }

    /// The angle in degrees, in (-180, 180].
    pub fn degrees(self) -> f64 {
        libm::atan2(self.im, self.re).to_degrees()
    }
}

impl std::ops::Add for Phasor {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { re: self.re + other.re, im: self.im + other.im }
    }
}

impl std::ops::Sub for Phasor {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { re: self.re - other.re, im: self.im - other.im }
    }
}

impl std::ops::Neg for Phasor {
    type Output = Self;
    fn neg(self) -> Self {
        Self { re: -self.re, im: -self.im }
    }
}

/// A series impedance R + jX in ohms.
///
/// ```
/// use slotwise::quantity::Impedance;
/// let ten_metres = Impedance::new(0.0521, 0.001);
/// assert!(ten_metres.resistance_ohm > ten_metres.reactance_ohm);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Impedance {
    /// Resistance in ohms.
    pub resistance_ohm: f64,
    /// Reactance in ohms at the circuit's frequency; positive when inductive.
    pub reactance_ohm: f64,
}

impl Impedance {
    /// An impedance from its resistance and its reactance, both in ohms.
    pub const fn new(resistance_ohm: f64, reactance_ohm: f64) -> Self {
        Self { resistance_ohm, reactance_ohm }
    }

    /// A pure resistance in ohms.
    pub const fn resistance(resistance_ohm: f64) -> Self {
        Self { resistance_ohm, reactance_ohm: 0.0 }
    }
}

/// The spoken and typed name of a place or a terminal: words joined by dots, from the
/// large to the small, as in `kiln.line.neutral`. `earth` is remote soil.
///
/// ```
/// use slotwise::quantity::Address;
/// let slot = Address::from("kiln.hot");
/// assert_eq!(slot.as_str(), "kiln.hot");
/// assert_eq!(slot.join("top").as_str(), "kiln.hot.top");
/// ```
#[derive(
    Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(transparent)]
pub struct Address(String);

impl Address {
    /// Remote earth, the point all potentials are measured to.
    pub fn earth() -> Self {
        Self("earth".to_owned())
    }

    /// The address as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The address of `part` inside this one.
    pub fn join(&self, part: &str) -> Self {
        Self(format!("{}.{part}", self.0))
    }
}

impl<T: Into<String>> From<T> for Address {
    fn from(text: T) -> Self {
        Self(text.into())
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
