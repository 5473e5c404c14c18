//! What was said, before the circuit is asked whether it can be so.

use std::ops::Range;

use crate::circuit::{CableEnd, Side};

use super::lexicon::{Class, Half, JointWord, Verb};

/// Something said, and where.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Said<T> {
    pub(crate) value: T,
    pub(crate) span: Range<usize>,
}

impl<T> Said<T> {
    pub(crate) fn new(value: T, span: Range<usize>) -> Self {
        Self { value, span }
    }
}

/// A spot in the wiring, as spoken of: a joint, a terminal, a conductor of a cable, a thing.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Spot {
    pub(crate) conductor: Option<Said<String>>,
    /// The word as written was `earth`, which is soil to some and a conductor to others.
    pub(crate) earth: bool,
    /// The conductor was said in the plural: it is of both things named.
    pub(crate) plural: bool,
    pub(crate) name: Option<Said<String>>,
    /// What the name is said to be the name of.
    pub(crate) class: Option<Said<Class>>,
    pub(crate) side: Option<Said<Side>>,
    /// The place that the side looks to.
    pub(crate) toward: Option<Said<String>>,
    pub(crate) joints: Vec<Said<JointWord>>,
    pub(crate) half: Option<Said<Half>>,
    pub(crate) cable: Option<Said<String>>,
    pub(crate) end: Option<Said<CableEnd>>,
    /// Fraction of the cable's length from its end a.
    pub(crate) along: Option<Said<f64>>,
    /// Bytes it covers.
    pub(crate) span: Range<usize>,
    /// The soil.
    pub(crate) soil: bool,
    /// The case of a load.
    pub(crate) frame: bool,
}

impl Spot {
    /// Nothing was said in it.
    pub(crate) fn is_empty(&self) -> bool {
        *self == Self { span: self.span.clone(), ..Self::default() }
    }

    /// It says what it is of, not only where.
    pub(crate) fn has_subject(&self) -> bool {
        self.conductor.is_some() || self.soil || self.frame
    }

    /// What it lacks of a place, taken from `other`.
    pub(crate) fn at_same_place_as(&mut self, other: &Self) {
        if self.name.is_none() && self.cable.is_none() && !self.soil {
            self.name.clone_from(&other.name);
            self.class.clone_from(&other.class);
            self.cable.clone_from(&other.cable);
            self.end = self.end.take().or_else(|| other.end.clone());
            self.along = self.along.take().or_else(|| other.along.clone());
            self.half = self.half.take().or_else(|| other.half.clone());
            if self.side.is_none() {
                self.side.clone_from(&other.side);
                self.toward.clone_from(&other.toward);
            }
            if self.joints.is_empty() {
                self.joints.clone_from(&other.joints);
            }
        }
    }

    /// What it lacks of a subject, taken from `other`.
    pub(crate) fn of_same_conductor_as(&mut self, other: &Self) {
        if !self.has_subject() {
            self.conductor.clone_from(&other.conductor);
            self.plural = other.plural;
        }
    }
}

/// What stays of a gap between the halves of what is open.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct SaidGap {
    pub(crate) ohm: Option<f64>,
    pub(crate) farad: Option<f64>,
}

/// Where a joint sentence leaves its joint.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum JointState {
    Open(SaidGap),
    Ohm(Said<f64>),
    Glowing,
}

/// A sentence that means something.
#[derive(Clone, Debug, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "one at a time, gone once it is resolved")]
pub(crate) enum Sentence {
    /// Joints, or conductors inside cables, are open, resistive or glowing.
    Joint { spots: Vec<Spot>, state: JointState },
    /// Two conductors are exchanged at a box, a device or a cable end.
    Exchanged { conductors: (Said<String>, Said<String>), at: Spot },
    /// Two joints, or the same conductor of two circuits, are exchanged.
    ExchangedPair { first: Spot, second: Spot, at: Option<Spot> },
    /// Two breakers sit on each other's bus.
    LegsExchanged { circuits: (Said<String>, Said<String>) },
    /// Line and load sides of a protective device are exchanged.
    LineLoadExchanged { device: Said<String> },
    /// Two terminals are joined.
    Bridged { first: Spot, second: Spot, ohm: Option<Said<f64>>, called: Option<Said<String>> },
    /// Neutral and ground are joined at a device.
    Bootleg { at: Spot, ohm: Option<Said<f64>>, called: Option<Said<String>> },
    /// A conductor of one place is taken from another.
    Borrowed { borrower: Spot, lender: Spot },
    /// A breaker sits on another bus.
    OnBus { circuit: Said<String>, bus: Said<String> },
    /// A conductor lands where it does not belong.
    Landed { wire: Spot, to: Spot },
    /// A tab is in place or not.
    Tab { at: Spot, intact: bool },
    /// The supply delivers another voltage.
    Supply { winding: Option<Said<String>>, volts: SaidVolts },
    /// Breakers, protective devices, switches, loads, whatever the names are of, are put in a
    /// state.
    Set { names: Vec<Said<String>>, class: Option<Said<Class>>, state: Said<Verb> },
    /// Every load is put in a state.
    AllLoads { state: Said<Verb> },
    /// Something plain is attached.
    Attached { first: Spot, second: Spot, value: Attached, called: Option<Said<String>> },
}

/// A voltage as said.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum SaidVolts {
    /// A magnitude, the angle unchanged.
    Magnitude(Said<f64>),
    /// A share of what is stated.
    Fraction(Said<f64>),
    /// In-phase and quadrature parts.
    Parts(f64, f64, Range<usize>),
}

/// What is attached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Attached {
    Ohm(f64),
    Farad(f64),
}
