//! Windings, service conductors, bonds and electrodes.

use crate::quantity::{Address, Impedance, Phasor};

/// Everything before the breakers.
///
/// ```
/// use slotwise::circuit::{Bond, Supply};
/// let mut supply = Supply::default();
/// supply.bonds.push(Bond {
///     id: "main".into(),
///     between: ("panel.neutral".into(), "panel.ground".into()),
///     resistance_ohm: 0.0003,
/// });
/// assert!(supply.windings.is_empty());
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Supply {
    /// Transformer or generator windings.
    pub windings: Vec<Winding>,
    /// Mutual impedances between windings (the halves of a centre-tapped transformer).
    pub couplings: Vec<Coupling>,
    /// Conductors between the transformer and the panel.
    pub conductors: Vec<ServiceConductor>,
    /// Connections to soil.
    pub electrodes: Vec<Electrode>,
    /// Bonds between neutral and ground, or between metal parts.
    pub bonds: Vec<Bond>,
}

/// A winding: V(line) - V(neutral) = emf + Z I, I from line to neutral through the winding.
///
/// ```
/// use slotwise::circuit::Winding;
/// use slotwise::quantity::{Impedance, Phasor};
/// let leg_2 = Winding {
///     id: "L2".into(),
///     line: "xf.L2".into(),
///     neutral: "xf.neutral".into(),
///     emf_volt: Phasor::polar(120.0, 180.0),
///     impedance: Impedance::new(0.0105, 0.0092),
/// };
/// assert!(leg_2.emf_volt.re < 0.0);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Winding {
    /// Its name; the element is `winding:ID`.
    pub id: String,
    /// Its line end.
    pub line: Address,
    /// Its neutral end.
    pub neutral: Address,
    /// Electromotive force, volts rms.
    pub emf_volt: Phasor,
    /// Its own impedance.
    pub impedance: Impedance,
}

/// Mutual impedance between two windings, both taken from line to neutral. Handbooks give the
/// two legs of a centre-tapped transformer in the aiding sense, from one line to the other,
/// where it is positive: here the same is negative.
///
/// ```
/// use slotwise::circuit::Coupling;
/// use slotwise::quantity::Impedance;
/// // A 25 kVA centre-tapped transformer: 3.5 + j6.1 milliohm in the aiding sense.
/// let halves = Coupling {
///     first: "L1".into(),
///     second: "L2".into(),
///     mutual: Impedance::new(-0.0035, -0.0061),
/// };
/// assert!(halves.mutual.resistance_ohm < 0.0);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Coupling {
    /// The first winding's name.
    pub first: String,
    /// The second winding's name.
    pub second: String,
    /// Mutual impedance M: V₁ = emf₁ + Z₁ I₁ + M I₂.
    pub mutual: Impedance,
}

/// A conductor of the service; the element is `service:ID`.
///
/// ```
/// use slotwise::circuit::ServiceConductor;
/// use slotwise::quantity::Impedance;
/// let neutral = ServiceConductor {
///     id: "neutral".into(),
///     from: "xf.neutral".into(),
///     to: "panel.neutral".into(),
///     impedance: Impedance::new(0.0098, 0.004),
/// };
/// assert_eq!(neutral.to.as_str(), "panel.neutral");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct ServiceConductor {
    /// Its name.
    pub id: String,
    /// End at the transformer.
    pub from: Address,
    /// End at the panel.
    pub to: Address,
    /// Its impedance.
    pub impedance: Impedance,
}

/// A connection to soil; the element is `electrode:ID`, from its node to earth.
///
/// ```
/// use slotwise::circuit::Electrode;
/// let rod = Electrode {
///     id: "panel".into(),
///     node: "panel.ground".into(),
///     resistance_ohm: 25.0,
/// };
/// assert!(rod.resistance_ohm > 0.0);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Electrode {
    /// Its name.
    pub id: String,
    /// What it earths.
    pub node: Address,
    /// Resistance to remote earth in ohms.
    pub resistance_ohm: f64,
}

/// A bond; the element is `bond:ID`.
///
/// ```
/// use slotwise::circuit::Bond;
/// let main = Bond {
///     id: "main".into(),
///     between: ("panel.neutral".into(), "panel.ground".into()),
///     resistance_ohm: 0.0003,
/// };
/// assert_eq!(main.id, "main");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Bond {
    /// Its name.
    pub id: String,
    /// What it joins.
    pub between: (Address, Address),
    /// Its resistance in ohms.
    pub resistance_ohm: f64,
}
