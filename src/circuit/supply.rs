//! Windings, service conductors, bonds and electrodes.

use crate::quantity::{Address, Impedance, Phasor};

/// Everything before the breakers.
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

/// Mutual impedance between two windings.
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
#[derive(Clone, Debug, PartialEq)]
pub struct Bond {
    /// Its name.
    pub id: String,
    /// What it joins.
    pub between: (Address, Address),
    /// Its resistance in ohms.
    pub resistance_ohm: f64,
}
