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

/// What parts a spot from the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Link {
    /// Nothing: it follows an address, which is whole.
    Beside,
    And,
    /// `to`, `from`, `with`.
    To,
    /// `on`, `onto`.
    Onto,
    /// A verb or `between`.
    Verb,
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
    /// Fraction of the cable's length, from its end a unless a place is said.
    pub(crate) along: Option<Said<f64>>,
    /// The place from which the fraction is counted.
    pub(crate) along_from: Option<Said<String>>,
    /// Bytes it covers.
    pub(crate) span: Range<usize>,
    /// The soil.
    pub(crate) soil: bool,
    /// The case of a load.
    pub(crate) frame: bool,
    /// What parts it from the spot before.
    pub(crate) after: Option<Said<Link>>,
}

impl Spot {
    /// Nothing was said in it.
    pub(crate) fn is_empty(&self) -> bool {
        let Self { span, after, .. } = self.clone();
        *self == Self { span, after, ..Self::default() }
    }

    /// It says what it is of, not only where.
    pub(crate) fn has_subject(&self) -> bool {
        self.conductor.is_some() || self.soil || self.frame
    }

    /// It follows the one before by this word.
    pub(crate) fn is_after(&self, link: Link) -> bool {
        self.after.as_ref().is_some_and(|after| after.value == link)
    }

    /// It says at what box, device, circuit, load or cable it is.
    pub(crate) fn has_place(&self) -> bool {
        self.name.is_some() || self.cable.is_some()
    }

    /// Its subject alone, with the kind of joint if that was said before the place.
    pub(crate) fn subject(&self) -> Self {
        let place = self.name.as_ref().map(|said| said.span.start);
        let place = place.or_else(|| self.cable.as_ref().map(|said| said.span.start));
        let before = |span: &Range<usize>| place.is_none_or(|place| span.start < place);
        Self {
            conductor: self.conductor.clone(),
            earth: self.earth,
            plural: self.plural,
            soil: self.soil,
            frame: self.frame,
            joints: self.joints.iter().filter(|said| before(&said.span)).cloned().collect(),
            span: self.span.clone(),
            after: self.after.clone(),
            ..Self::default()
        }
    }

    /// Where it is, without its subject.
    pub(crate) fn place(&self) -> Self {
        Self {
            conductor: None,
            earth: false,
            plural: false,
            soil: false,
            frame: false,
            ..self.clone()
        }
    }

    /// What it lacks of a place, taken from `other`.
    pub(crate) fn at_same_place_as(&mut self, other: &Self) {
        if self.name.is_none() && self.cable.is_none() && !self.soil {
            self.name.clone_from(&other.name);
            self.class.clone_from(&other.class);
            self.cable.clone_from(&other.cable);
            self.end = self.end.take().or_else(|| other.end.clone());
            if self.along.is_none() {
                self.along.clone_from(&other.along);
                self.along_from.clone_from(&other.along_from);
            }
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
    /// Every load, or every one that a circuit feeds, is put in a state.
    AllLoads { of: Option<String>, state: Said<Verb> },
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
