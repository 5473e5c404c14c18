//! What may change on one installed circuit: faults, breakers, switches, loads, supply
//! voltage and what is attached. A condition is data and edits nothing itself;
//! [`wire`](crate::netlist) puts circuit and condition together.

use std::collections::BTreeMap;

use crate::circuit::connection::contact_element;
use crate::circuit::{CableEnd, Circuit, DeviceKind};
use crate::quantity::Address;

pub mod catalogue;
pub mod fault;
pub mod file;
pub mod words;

pub use fault::{Fault, Gap};

/// Everything that differs from the circuit as described.
///
/// ```
/// use slotwise::condition::{Condition, Fault, Gap};
/// let mut condition = Condition::default();
/// condition.faults.push(Fault::Open {
///     element: "contact:door-kiln.b.neutral".into(),
///     gap: Gap::NONE,
/// });
/// condition.breakers.insert("c1".into(), false);
/// assert_eq!(condition.faults.len(), 1);
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Condition {
    /// Faults, applied in order. Of two of one joint, as where one condition was put on another, an
    /// open one counts over any resistance, whichever comes first, and of two resistances the last.
    ///
    /// ```
    /// use slotwise::condition::{Condition, Fault, Gap};
    /// use slotwise::netlist::{Law, wire};
    /// let text = include_str!("../circuits/pottery-studio.ron");
    /// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
    /// let element = "contact:wheel-kiln.b.neutral".to_owned();
    /// let open = Fault::Open { element: element.clone(), gap: Gap::NONE };
    /// let bad = |resistance_ohm| Fault::Resistance { element: element.clone(), resistance_ohm };
    /// let law = |faults| {
    ///     let condition = Condition { faults, ..Condition::default() };
    ///     let netlist = wire(&circuit, &condition).unwrap();
    ///     netlist.element(netlist.find_element(&element).unwrap()).law
    /// };
    /// assert_eq!(law(vec![open, bad(1.0)]), Law::Open);
    /// assert_eq!(law(vec![bad(1.0), bad(5.0)]), Law::resistance(5.0));
    /// ```
    pub faults: Vec<Fault>,
    /// Breakers and protective devices set differently: name and closed or not.
    pub breakers: BTreeMap<String, bool>,
    /// Switches set differently.
    pub switches: BTreeMap<String, SwitchPosition>,
    /// Loads set differently.
    pub loads: BTreeMap<String, LoadState>,
    /// Plain elements attached for the time being, such as the inputs of instruments.
    pub attached: Vec<Attachment>,
}

impl Condition {
    /// Whether taking conductors off their joints, as this condition has it, leaves nothing of a
    /// fault: it is in such a joint, or at a cable's end that is off.
    pub(crate) fn takes_apart(&self, fault: &Fault) -> bool {
        let is_off = |element: &str| {
            let open =
                |one: &Fault| matches!(one, Fault::Open { element: off, .. } if off == element);
            self.faults.iter().any(open)
        };
        match fault {
            Fault::ExchangedAtCableEnd { end, conductors: (first, second) } => {
                [first, second].iter().all(|one| is_off(&contact_element(&end.cable, end.end, one)))
            }
            other => other.joint().is_some_and(|element| is_off(element)),
        }
    }

    /// Puts another condition on top: its faults after those that are there, its settings in
    /// place of theirs.
    pub fn put_on(&mut self, other: &Self) {
        let Self { faults, breakers, switches, loads, attached } = other;
        self.faults.extend(faults.iter().cloned());
        self.breakers.extend(breakers.iter().map(|(name, on)| (name.clone(), *on)));
        self.switches.extend(switches.iter().map(|(name, at)| (name.clone(), *at)));
        self.loads.extend(loads.iter().map(|(name, state)| (name.clone(), *state)));
        self.attached.extend(attached.iter().cloned());
    }
}

/// Position of a switch.
///
/// ```
/// use slotwise::condition::{Condition, SwitchPosition};
/// let mut condition = Condition::default();
/// condition.switches.insert("hall".into(), SwitchPosition::Two);
/// assert_eq!(condition.switches["hall"], SwitchPosition::Two);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SwitchPosition {
    /// Contacts closed.
    Closed,
    /// Contacts open.
    Open,
    /// A three-way switch on traveller 1.
    One,
    /// A three-way switch on traveller 2.
    Two,
    /// A four-way switch straight.
    Straight,
    /// A four-way switch crossed.
    Crossed,
}

impl SwitchPosition {
    /// How a switch stands as its circuit describes it; `None` of what is no switch.
    pub const fn described(kind: &DeviceKind) -> Option<Self> {
        Some(match *kind {
            DeviceKind::Switch { closed: true, .. } => Self::Closed,
            DeviceKind::Switch { .. } => Self::Open,
            DeviceKind::ThreeWay { position: 1, .. } => Self::One,
            DeviceKind::ThreeWay { .. } => Self::Two,
            DeviceKind::FourWay { crossed: true, .. } => Self::Crossed,
            DeviceKind::FourWay { .. } => Self::Straight,
            _ => return None,
        })
    }

    /// The same of a switch by its name.
    pub(crate) fn described_in(circuit: &Circuit, switch: &str) -> Option<Self> {
        Self::described(&circuit.device(switch)?.kind)
    }

    /// The position it is in once it was thrown.
    #[must_use]
    pub const fn thrown(self) -> Self {
        match self {
            Self::Closed => Self::Open,
            Self::Open => Self::Closed,
            Self::One => Self::Two,
            Self::Two => Self::One,
            Self::Straight => Self::Crossed,
            Self::Crossed => Self::Straight,
        }
    }
}

/// State of a load.
///
/// ```
/// use slotwise::condition::{Condition, LoadState};
/// let mut condition = Condition::default();
/// condition.loads.insert("drill".into(), LoadState::Stalled);
/// assert_eq!(condition.loads["drill"], LoadState::Stalled);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadState {
    /// Plugged in and on.
    On,
    /// Plugged in and off: its own path is open, its case and filters remain.
    Off,
    /// Unplugged: nothing of it remains.
    Unplugged,
    /// On with the rotor locked (motors only).
    Stalled,
}

/// A plain element between two addresses.
///
/// ```
/// use slotwise::condition::{AttachedLaw, Attachment};
/// let meter = Attachment {
///     id: "meter".into(),
///     between: ("kiln.hot".into(), "kiln.neutral".into()),
///     law: AttachedLaw::ResistanceOhm(10e6),
/// };
/// assert_eq!(meter.id, "meter");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Attachment {
    /// Its name, and its element's.
    pub id: String,
    /// What it lies between.
    pub between: (Address, Address),
    /// Its law.
    pub law: AttachedLaw,
}

/// Laws of attached elements.
///
/// ```
/// use slotwise::condition::AttachedLaw;
/// let leads = AttachedLaw::CapacitanceFarad(100e-12);
/// assert_ne!(leads, AttachedLaw::ResistanceOhm(10e6));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum AttachedLaw {
    /// A resistance in ohms.
    ResistanceOhm(f64),
    /// A capacitance in farads.
    CapacitanceFarad(f64),
}

/// An end of a named cable.
///
/// ```
/// use slotwise::circuit::CableEnd;
/// use slotwise::condition::EndOfCable;
/// let end = EndOfCable { cable: "door-kiln".into(), end: CableEnd::B };
/// assert_eq!(end.end.letter(), "b");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EndOfCable {
    /// The cable's name.
    pub cable: String,
    /// The end.
    pub end: CableEnd,
}
