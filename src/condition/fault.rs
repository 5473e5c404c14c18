//! Faults as edits of joints, conductors and terminals.

use crate::quantity::{Address, Phasor};

use super::EndOfCable;
use crate::circuit::connection::is_contact_of;

/// What bridges the gap of an open joint or conductor.
///
/// ```
/// use slotwise::condition::Gap;
/// let parted_wire_nut = Gap { capacitance_farad: Some(2e-12), resistance_ohm: None };
/// assert_ne!(parted_wire_nut, Gap::NONE);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Gap {
    /// Capacitance across the gap in farads, if any: element `gap:ELEMENT`.
    pub capacitance_farad: Option<f64>,
    /// Resistance across the gap in ohms, if any: element `gapleak:ELEMENT`.
    pub resistance_ohm: Option<f64>,
}

impl Gap {
    /// Nothing across the gap.
    pub const NONE: Self = Self { capacitance_farad: None, resistance_ohm: None };
}

/// One fault. Elements are named as in the netlist (`contact:K.a.c`, `link:ID`, `service:ID`,
/// `bond:ID`, `electrode:ID`, `landing:C.neutral`, `breaker:C`, `tab:D.hot`, `wire:K.c`, ...).
///
/// ```
/// use slotwise::circuit::CableEnd;
/// use slotwise::condition::{EndOfCable, Fault};
/// let crossed = Fault::ExchangedAtCableEnd {
///     end: EndOfCable { cable: "door-kiln".into(), end: CableEnd::B },
///     conductors: ("hot".into(), "neutral".into()),
/// };
/// assert!(matches!(crossed, Fault::ExchangedAtCableEnd { .. }));
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Fault {
    /// A joint, link, bond, electrode, service conductor or wire is open.
    Open {
        /// The element.
        element: String,
        /// What bridges the gap.
        gap: Gap,
    },
    /// A joint has another resistance, in place of its own.
    Resistance {
        /// The element.
        element: String,
        /// Its resistance in ohms.
        resistance_ohm: f64,
    },
    /// A joint glows: [`Law::GlowingJoint`](crate::netlist::Law::GlowingJoint).
    Glowing {
        /// The element.
        element: String,
    },
    /// Two conductors exchange their landings at one cable end.
    ExchangedAtCableEnd {
        /// The cable end.
        end: EndOfCable,
        /// The two conductors.
        conductors: (String, String),
    },
    /// Two joints exchange their `b` ends.
    ExchangedJoints {
        /// The two elements.
        elements: (String, String),
    },
    /// Two terminals are bridged.
    Bridge {
        /// Its name; the element is `jumper:ID`.
        id: String,
        /// What it joins.
        between: (Address, Address),
        /// Its resistance in ohms.
        resistance_ohm: f64,
    },
    /// A breaker sits on the wrong bus.
    WrongBus {
        /// The branch circuit.
        circuit: String,
        /// The bus it sits on.
        bus: Address,
    },
    /// A conductor lands on the wrong terminal at one cable end.
    WrongLanding {
        /// The cable end.
        end: EndOfCable,
        /// The conductor.
        conductor: String,
        /// Where it lands.
        to: Address,
    },
    /// A conductor is broken inside a cable.
    Broken {
        /// The cable.
        cable: String,
        /// The conductor.
        conductor: String,
        /// Where, as a fraction of the length from end a.
        at_fraction: f64,
        /// What bridges the gap.
        gap: Gap,
    },
    /// A conductor has a bad place inside a cable.
    ResistanceInCable {
        /// The cable.
        cable: String,
        /// The conductor.
        conductor: String,
        /// Where, as a fraction of the length from end a.
        at_fraction: f64,
        /// Its resistance in ohms.
        resistance_ohm: f64,
    },
    /// Two conductors touch inside a cable, or one touches earth (`earth`).
    ContactInCable {
        /// The cable.
        cable: String,
        /// The two conductors.
        conductors: (String, String),
        /// Where, as a fraction of the length from end a.
        at_fraction: f64,
        /// Its resistance in ohms.
        resistance_ohm: f64,
    },
    /// Line and load sides of a protective device are exchanged.
    LineLoadExchanged {
        /// The device.
        device: String,
    },
    /// A tab of a duplex is left in or broken out, against the description.
    Tab {
        /// The device.
        device: String,
        /// The conductor whose tab it is, `hot` or `neutral`.
        conductor: String,
        /// In place.
        intact: bool,
    },
    /// A winding delivers another voltage.
    SupplyVoltage {
        /// The winding.
        winding: String,
        /// Its EMF, volts rms.
        emf_volt: Phasor,
    },
}

impl Fault {
    /// The joint that it is in, if it is in one.
    pub(crate) const fn joint(&self) -> Option<&String> {
        match self {
            Self::Open { element, .. }
            | Self::Resistance { element, .. }
            | Self::Glowing { element } => Some(element),
            _ => None,
        }
    }

    /// What it is about, in words that are the same for two faults of one thing: such a thing is in one
    /// state, so that both together mean nothing.
    ///
    /// ```
    /// use slotwise::condition::{Fault, Gap};
    /// let element = "contact:door-kiln.b.hot".to_owned();
    /// let open = Fault::Open { element: element.clone(), gap: Gap::NONE };
    /// let bad = Fault::Resistance { element, resistance_ohm: 5.0 };
    /// assert_eq!(open.subject(), bad.subject());
    /// ```
    pub fn subject(&self) -> String {
        match self {
            Self::Open { element, .. }
            | Self::Resistance { element, .. }
            | Self::Glowing { element } => format!("joint {element}"),
            Self::ExchangedAtCableEnd { end, conductors: (p, q) } => {
                let (p, q) = if p < q { (p, q) } else { (q, p) };
                format!("exchange {} {} {p} {q}", end.cable, end.end.letter())
            }
            Self::ExchangedJoints { elements: (p, q) } => {
                let (p, q) = if p < q { (p, q) } else { (q, p) };
                format!("exchange {p} {q}")
            }
            Self::Bridge { id, .. } => format!("bridge {id}"),
            Self::WrongBus { circuit, .. } => format!("bus of {circuit}"),
            Self::WrongLanding { end, conductor, .. } => {
                format!("landing {} {} {conductor}", end.cable, end.end.letter())
            }
            Self::Broken { cable, conductor, at_fraction, .. }
            | Self::ResistanceInCable { cable, conductor, at_fraction, .. } => {
                format!("inside {cable} {conductor} {at_fraction}")
            }
            Self::ContactInCable { cable, conductors: (p, q), at_fraction, .. } => {
                let (p, q) = if p < q { (p, q) } else { (q, p) };
                format!("touching {cable} {p} {q} {at_fraction}")
            }
            Self::LineLoadExchanged { device } => format!("sides of {device}"),
            Self::Tab { device, conductor, .. } => format!("tab {device} {conductor}"),
            Self::SupplyVoltage { winding, .. } => format!("winding {winding}"),
        }
    }

    /// Whether it is an exchange: made twice it is none.
    pub const fn undoes_itself(&self) -> bool {
        matches!(self, Self::ExchangedAtCableEnd { .. } | Self::ExchangedJoints { .. })
    }

    /// Whether it is in a cable or in a joint that this cable lands in.
    pub(crate) fn is_of_cable(&self, id: &str) -> bool {
        match self {
            Self::Broken { cable, .. }
            | Self::ResistanceInCable { cable, .. }
            | Self::ContactInCable { cable, .. } => cable == id,
            Self::ExchangedAtCableEnd { end, .. } | Self::WrongLanding { end, .. } => {
                end.cable == id
            }
            _ => self.joint().is_some_and(|element| is_contact_of(element, id)),
        }
    }

    /// Whether another is the same thing to whoever looks at it: to whatever amount, and whichever of
    /// two conductors is named first.
    pub(crate) fn looks_like(&self, other: &Self) -> bool {
        fn either<T: PartialEq>(one: &(T, T), other: &(T, T)) -> bool {
            one == other || one.0 == other.1 && one.1 == other.0
        }
        if let (Some(one), Some(other)) = (self.joint(), other.joint()) {
            return one == other;
        }
        match (self, other) {
            (
                Self::ExchangedAtCableEnd { end, conductors },
                Self::ExchangedAtCableEnd { end: at, conductors: others },
            ) => end == at && either(conductors, others),
            (Self::ExchangedJoints { elements }, Self::ExchangedJoints { elements: others }) => {
                either(elements, others)
            }
            (Self::Bridge { between, .. }, Self::Bridge { between: others, .. }) => {
                either(between, others)
            }
            (
                Self::Broken { cable, conductor, .. }
                | Self::ResistanceInCable { cable, conductor, .. },
                Self::Broken { cable: other, conductor: known, .. }
                | Self::ResistanceInCable { cable: other, conductor: known, .. },
            ) => cable == other && conductor == known,
            (
                Self::ContactInCable { cable, conductors, .. },
                Self::ContactInCable { cable: other, conductors: others, .. },
            ) => cable == other && either(conductors, others),
            _ => self == other,
        }
    }
}
