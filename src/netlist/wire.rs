//! Circuit and condition put together: the netlist of a building as it stands.
//!
//! The circuit as installed becomes a list of elements ([`installed`]); whatever the condition
//! says becomes edits of that list ([`draft::Edit`]): a law replaced, an end moved, an element
//! added or removed. Edits are made in a fixed order of kinds, so that only faults that move
//! the same wires depend on the order in which they are listed:
//!
//! 1. settings: breakers, switches, loads, tabs, supply voltage;
//! 2. wires that land elsewhere, in the order listed;
//! 3. joints with another resistance, then open ones;
//! 4. cables split where something is wrong inside them;
//! 5. bridges, and what is attached.

use crate::circuit::{Circuit, UnknownName};
use crate::condition::{Condition, Fault};
use crate::quantity::Address;

use super::{Law, Netlist, NetlistError};
use draft::{Draft, Layout};

mod attached;
mod cable;
mod draft;
mod installed;
mod joints;
mod landings;
mod settings;

pub(crate) use cable::first_piece;
pub use joints::GLOWING_JOINT;

/// Why a condition cannot be put on a circuit.
///
/// ```
/// use slotwise::circuit::{Circuit, Description};
/// use slotwise::condition::{Condition, Fault, Gap};
/// use slotwise::netlist::wire;
/// let circuit = Circuit::new(Description { frequency_hz: 60.0, ..Default::default() }).unwrap();
/// let mut condition = Condition::default();
/// condition.faults.push(Fault::Open { element: "service:neutral".into(), gap: Gap::NONE });
/// let problem = wire(&circuit, &condition).unwrap_err();
/// assert_eq!(problem.to_string(), "`service:neutral` is not an element of this circuit");
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WireProblem {
    /// The condition names something that the circuit does not have.
    #[error("{0}")]
    Unknown(UnknownName),
    /// The condition asks something of a part that it cannot do.
    #[error("`{subject}`: {what}")]
    Impossible {
        /// The part.
        subject: String,
        /// Why not.
        what: String,
    },
    /// The condition gives two elements one name, or the values add up to something that no
    /// element can have.
    #[error(transparent)]
    Netlist(#[from] NetlistError),
}

/// The netlist of a circuit in a condition. Its elements and nodes are named as
/// `docs/model.md` says.
///
/// ```
/// use slotwise::circuit::{Circuit, Description, Load, LoadKind, Supply, Winding};
/// use slotwise::condition::{Condition, LoadState};
/// use slotwise::netlist::{wire, Law};
/// use slotwise::quantity::{Impedance, Phasor};
/// let winding = Winding {
///     id: "L1".into(),
///     line: "generator.L1".into(),
///     neutral: "generator.neutral".into(),
///     emf_volt: Phasor::new(120.0, 0.0),
///     impedance: Impedance::resistance(0.2),
/// };
/// let kettle = Load {
///     id: "kettle".into(),
///     between: ("generator.L1".into(), "generator.neutral".into()),
///     kind: LoadKind::Resistive { rated_watt: 1500.0, rated_volt: 120.0 },
///     on: true,
///     plugged_in: true,
///     plug_links: vec![],
///     frame: None,
/// };
/// let circuit = Circuit::new(Description {
///     frequency_hz: 60.0,
///     supply: Supply { windings: vec![winding], ..Supply::default() },
///     loads: vec![kettle],
///     ..Description::default()
/// })
/// .unwrap();
/// let mut condition = Condition::default();
/// condition.loads.insert("kettle".into(), LoadState::Off);
/// let netlist = wire(&circuit, &condition).unwrap();
/// let kettle = netlist.find_element("load:kettle").unwrap();
/// assert_eq!(netlist.element(kettle).law, Law::Open);
/// ```
///
/// # Errors
///
/// The first thing in the condition that does not fit the circuit.
pub fn wire(circuit: &Circuit, condition: &Condition) -> Result<Netlist, WireProblem> {
    Wiring::new(circuit).netlist(condition)
}

/// A circuit laid out once, to be wired in many conditions.
///
/// ```
/// use slotwise::circuit::{Circuit, Description};
/// use slotwise::condition::Condition;
/// use slotwise::netlist::Wiring;
/// let circuit = Circuit::new(Description { frequency_hz: 50.0, ..Default::default() }).unwrap();
/// let wiring = Wiring::new(&circuit);
/// let netlist = wiring.netlist(&Condition::default()).unwrap();
/// assert_eq!(netlist.nodes().len(), 1, "earth alone");
/// ```
#[derive(Clone, Debug)]
pub struct Wiring<'c> {
    circuit: &'c Circuit,
    layout: Layout,
}

impl<'c> Wiring<'c> {
    /// Lays out a circuit as installed.
    pub fn new(circuit: &'c Circuit) -> Self {
        Self { circuit, layout: installed::layout(circuit) }
    }

    /// The netlist in a condition, as from [`wire`].
    ///
    /// # Errors
    ///
    /// The first thing in the condition that does not fit the circuit.
    pub fn netlist(&self, condition: &Condition) -> Result<Netlist, WireProblem> {
        self.draft(condition)?.netlist()
    }

    fn draft(&self, condition: &Condition) -> Result<Draft<'_>, WireProblem> {
        let circuit = self.circuit;
        let mut draft = Draft::new(circuit, &self.layout);
        settings::apply(circuit, condition, &mut draft)?;
        landings::apply(circuit, &condition.faults, &mut draft)?;
        joints::apply(&condition.faults, &mut draft)?;
        cable::apply(circuit, &condition.faults, &mut draft)?;
        attached::apply(circuit, condition, &mut draft)?;
        Ok(draft)
    }

    /// What one condition changes in the netlist of another: mostly very little.
    ///
    /// ```
    /// use slotwise::condition::Condition;
    /// use slotwise::netlist::{Law, Wiring};
    /// let text = include_str!("../../circuits/pottery-studio.ron");
    /// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
    /// let sound = Condition::default();
    /// let mut open = sound.clone();
    /// open.say(&circuit, "neutral open at kiln, line side").unwrap();
    /// let revised = Wiring::new(&circuit).revised(&sound, &open).unwrap();
    /// assert_eq!(revised.len(), 1);
    /// assert_eq!(revised[0].now.as_ref().unwrap().2, Law::Open);
    /// ```
    ///
    /// # Errors
    ///
    /// The first thing in either condition that does not fit the circuit.
    pub fn revised(&self, from: &Condition, to: &Condition) -> Result<Vec<Revised>, WireProblem> {
        let (from, to) = (self.draft(from)?, self.draft(to)?);
        let revised = to.differing(&from).map(|(name, now)| Revised {
            element: name.to_owned(),
            now: now.map(|placed| (placed.a.clone(), placed.b.clone(), placed.law)),
        });
        Ok(revised.collect())
    }
}

/// An element that is not the same in two conditions.
///
/// ```
/// use slotwise::netlist::{Law, Revised};
/// let opened = Revised {
///     element: "bond:main".into(),
///     now: Some(("panel.neutral".into(), "panel.ground".into(), Law::Open)),
/// };
/// assert!(opened.now.is_some());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Revised {
    /// Its name.
    pub element: String,
    /// Its ends and its law now; `None` if it is gone.
    pub now: Option<(Address, Address, Law)>,
}

/// Whether two changes of one circuit, neither of which touches an element of the other, are
/// both made by making each: so it is but for wires that land elsewhere on a device whose sides
/// are exchanged.
pub fn independent(one: &Condition, other: &Condition) -> bool {
    let lands =
        |condition: &Condition| condition.faults.iter().any(|fault| stage(fault) == Stage::Landing);
    let turns = |condition: &Condition| {
        condition.faults.iter().any(|fault| matches!(fault, Fault::LineLoadExchanged { .. }))
    };
    !(turns(one) && lands(other) || turns(other) && lands(one))
}

/// A part asked to do what it cannot.
fn impossible(subject: &str, what: impl Into<String>) -> WireProblem {
    WireProblem::Impossible { subject: subject.to_owned(), what: what.into() }
}

/// A resistance that a fault states: zero or more, and finite.
fn stated_ohm(subject: &str, ohm: f64) -> Result<f64, WireProblem> {
    if ohm.is_finite() && ohm >= 0.0 {
        return Ok(ohm);
    }
    Err(impossible(subject, format!("{ohm} ohm is no resistance; state zero or more")))
}

/// What each kind of fault edits, so that every fault is dealt with in exactly one room.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    Setting,
    Landing,
    Joint,
    InsideCable,
    Attached,
}

fn stage(fault: &Fault) -> Stage {
    match fault {
        Fault::Tab { .. } | Fault::SupplyVoltage { .. } => Stage::Setting,
        Fault::ExchangedAtCableEnd { .. }
        | Fault::ExchangedJoints { .. }
        | Fault::WrongBus { .. }
        | Fault::WrongLanding { .. }
        | Fault::LineLoadExchanged { .. } => Stage::Landing,
        Fault::Open { .. } | Fault::Resistance { .. } | Fault::Glowing { .. } => Stage::Joint,
        Fault::Broken { .. } | Fault::ResistanceInCable { .. } | Fault::ContactInCable { .. } => {
            Stage::InsideCable
        }
        Fault::Bridge { .. } => Stage::Attached,
    }
}
