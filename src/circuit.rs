//! What a person installed: supply, panel, cables, boxes, devices and loads, every part at an
//! address and every number explicit.
//!
//! [`Description`] is the plain list of parts; [`Circuit::new`] checks it and a [`Circuit`]
//! that exists is well-formed. People write the short form in a file instead
//! (see `docs/circuit-file.md`), whose defaults expand into the same parts.
//!
//! This room knows no fault and no matrix: what may change is a
//! [`Condition`](crate::condition::Condition).

use std::collections::{HashMap, HashSet};

use crate::quantity::Address;

mod check;
pub mod configuration;
pub mod connection;
pub mod device;
pub mod diagnostic;
pub mod file;
pub mod load;
pub mod place;
pub mod problem;
pub(crate) mod reach;
pub mod supply;
pub mod table;
pub mod wiring;

pub use configuration::Configuration;
pub use connection::{Connection, Part, SwitchContact};
pub use device::{Device, DeviceKind, Sensing, Tab};
pub use load::{Load, LoadKind};
pub use place::{Joint, JointKind, Outlet, Place, PlaceKind, Side};
pub use problem::{CircuitProblem, PartKind, PartName, UnknownName};
pub use supply::{Bond, Coupling, Electrode, ServiceConductor, Supply, Winding};
pub use wiring::{
    BranchCircuit, Breaker, Cable, CableEnd, CablePair, Conductor, Landing, Link, Lumped,
    LumpedKind, TripCurve,
};

/// Which words a report speaks.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// assert_eq!(Vocabulary::default(), Vocabulary::NorthAmerican);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Vocabulary {
    /// Hot, neutral, ground, panel, breaker, receptacle.
    #[default]
    NorthAmerican,
    /// Line, neutral, earth, consumer unit, circuit breaker, socket-outlet.
    Iec,
}

/// A value that is known only as a range.
///
/// ```
/// use slotwise::circuit::{RangeOf, StatedRange};
/// // Somewhere between 8 and 15 metres of cable behind the plaster.
/// let paced = StatedRange {
///     of: RangeOf::CableLengthMetre("door-kiln".into()),
///     low: 8.0,
///     high: 15.0,
/// };
/// assert!(paced.low < paced.high);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct StatedRange {
    /// What the range is of.
    pub of: RangeOf,
    /// Lower end, in the unit of what it is of.
    pub low: f64,
    /// Upper end, in the same unit.
    pub high: f64,
}

/// What a stated range is of.
///
/// ```
/// use slotwise::circuit::RangeOf;
/// let kettle = RangeOf::LoadWatt("kettle".into());
/// assert_ne!(kettle, RangeOf::SupplyScale);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum RangeOf {
    /// The length of the named cable, metres.
    CableLengthMetre(String),
    /// The rated power of the named load, watts.
    LoadWatt(String),
    /// The voltage of the supply, as a multiple of what the windings state.
    SupplyScale,
}

/// The parts of a circuit as written down, unchecked. Everything is explicit: each wire, each end
/// that it lands by, each slot. [`file::read`] makes one from what a person says of a circuit, and so
/// does a program that writes such a text:
///
/// ```
/// use slotwise::circuit::file;
/// let mut boxes = String::new();
/// let mut from = "c1";
/// for (id, feet) in [("door", 30.0), ("bench", 12.5)] {
///     boxes += &format!("(id: {id:?}, from: {from:?}, feet: {feet:?}),");
///     from = id;
/// }
/// let circuits = r#"[(id: "c1", amperes: 20)]"#;
/// let text = format!("(format: 1, circuits: {circuits}, boxes: [{boxes}])");
/// let circuit = file::read(&text).unwrap().circuit;
/// let parts = circuit.parts();
/// assert_eq!((parts.cables.len(), circuit.outlets().count()), (2, 2));
/// assert!(parts.joints.len() > 30);
/// ```
///
/// By hand:
///
/// ```
/// use slotwise::circuit::{Circuit, Description, Vocabulary};
/// let description = Description {
///     name: "boathouse".into(),
///     vocabulary: Vocabulary::Iec,
///     frequency_hz: 50.0,
///     ..Description::default()
/// };
/// assert!(Circuit::new(description).is_ok());
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Description {
    /// What the circuit is called.
    pub name: String,
    /// Which words reports about it speak.
    pub vocabulary: Vocabulary,
    /// Frequency in hertz.
    pub frequency_hz: f64,
    /// Transformer or generator, service, bonds and electrodes.
    pub supply: Supply,
    /// Branch circuits: breaker, neutral landing, ground landing.
    pub branch_circuits: Vec<BranchCircuit>,
    /// Cables, feeders included.
    pub cables: Vec<Cable>,
    /// Receptacles, switches and protective devices.
    pub devices: Vec<Device>,
    /// Pigtails, screws, straps and other short links with a resistance of their own.
    pub links: Vec<Link>,
    /// What is plugged in or wired in.
    pub loads: Vec<Load>,
    /// Anything else between two points.
    pub lumped: Vec<Lumped>,
    /// The boxes and panels a person can walk to, in walking order.
    pub places: Vec<Place>,
    /// The joints a person can point at. Those not listed get an address from their element.
    pub joints: Vec<Joint>,
    /// Values known only as ranges.
    pub ranges: Vec<StatedRange>,
}

/// A circuit whose every name is unique, every value physical and every reference real: there
/// is no other way to make one than [`Circuit::new`].
///
/// ```
/// use slotwise::circuit::{Circuit, Description, Electrode, Supply, Winding};
/// use slotwise::quantity::{Impedance, Phasor};
/// let generator = Description {
///     frequency_hz: 60.0,
///     supply: Supply {
///         windings: vec![Winding {
///             id: "L1".into(),
///             line: "generator.L1".into(),
///             neutral: "generator.neutral".into(),
///             emf_volt: Phasor::new(120.0, 0.0),
///             impedance: Impedance::resistance(0.2),
///         }],
///         electrodes: vec![Electrode {
///             id: "rod".into(),
///             node: "generator.neutral".into(),
///             resistance_ohm: 25.0,
///         }],
///         ..Supply::default()
///     },
///     ..Description::default()
/// };
/// let circuit = Circuit::new(generator).unwrap();
/// assert!(circuit.terminal("generator.L1").is_ok());
/// let unknown = circuit.terminal("generatr.L1").unwrap_err();
/// assert_eq!(unknown.close[0], "generator.L1");
/// ```
#[derive(Clone, Debug)]
pub struct Circuit {
    description: Description,
    terminals: Vec<Address>,
    terminal_set: HashSet<Address>,
    place_by_id: HashMap<String, usize>,
    circuit_by_id: HashMap<String, usize>,
    cable_by_id: HashMap<String, usize>,
    device_by_id: HashMap<String, usize>,
    load_by_id: HashMap<String, usize>,
    joint_by_address: HashMap<Address, usize>,
    joint_by_element: HashMap<String, usize>,
}

impl Circuit {
    /// Checks a description and makes it a circuit. A text is mostly the shorter way:
    /// [`Description`] has an example.
    ///
    /// # Errors
    ///
    /// Every problem of the description at once, in the order of its parts.
    pub fn new(description: Description) -> Result<Self, Vec<CircuitProblem>> {
        let problems = check::problems(&description);
        if !problems.is_empty() {
            return Err(problems);
        }
        let mut terminals = vec![Address::earth()];
        let mut terminal_set = HashSet::from([Address::earth()]);
        let slots = description.places.iter().flat_map(|p| &p.outlets).flat_map(|o| &o.slots);
        let frames = description.loads.iter().filter_map(|load| load.frame.clone());
        let ends = connection::connections(&description).flat_map(|c| [c.a, c.b]);
        for terminal in ends.chain(slots.map(|(_, slot)| slot.clone())).chain(frames) {
            if terminal_set.insert(terminal.clone()) {
                terminals.push(terminal);
            }
        }
        let parts = &description;
        Ok(Self {
            place_by_id: numbered(parts.places.iter().map(|place| place.id.clone())),
            circuit_by_id: numbered(parts.branch_circuits.iter().map(|part| part.id.clone())),
            cable_by_id: numbered(parts.cables.iter().map(|part| part.id.clone())),
            device_by_id: numbered(parts.devices.iter().map(|part| part.id.clone())),
            load_by_id: numbered(parts.loads.iter().map(|part| part.id.clone())),
            joint_by_address: numbered(parts.joints.iter().map(|j| j.address.clone())),
            joint_by_element: numbered(parts.joints.iter().map(|j| j.element.clone())),
            terminals,
            terminal_set,
            description,
        })
    }

    /// The parts it was made of.
    pub fn parts(&self) -> &Description {
        &self.description
    }

    /// Every terminal, earth first: the ends of all connections, the slots of all outlets and
    /// the metal cases of loads.
    pub fn terminals(&self) -> impl ExactSizeIterator<Item = &Address> {
        self.terminals.iter()
    }

    /// The terminal of an address as typed.
    ///
    /// # Errors
    ///
    /// The address is no terminal; the answer names those most like it.
    pub fn terminal(&self, address: &str) -> Result<&Address, UnknownName> {
        self.terminal_set.get(&Address::from(address)).ok_or_else(|| {
            UnknownName::among(address, "a terminal", self.terminals().map(Address::as_str))
        })
    }

    /// Every metal path between two terminals, in the order of the parts.
    pub fn connections(&self) -> impl Iterator<Item = Connection<'_>> {
        connection::connections(&self.description)
    }

    /// The place of a name.
    pub fn place(&self, id: &str) -> Option<&Place> {
        self.place_by_id.get(id).and_then(|&at| self.description.places.get(at))
    }

    /// Whether a place is a supply, or the panel that one feeds by its service conductors: no breaker
    /// makes all of it dead.
    pub(crate) fn is_fed_by_no_cable(&self, place: &Place) -> bool {
        match place.fed_from.as_deref() {
            _ if place.kind == PlaceKind::Supply => true,
            None => true,
            Some(from) => self.place(from).is_none_or(|from| from.kind == PlaceKind::Supply),
        }
    }

    /// Every set of contacts a plug goes into, with its place, in walking order.
    pub fn outlets(&self) -> impl Iterator<Item = (&Place, &Outlet)> {
        self.description.places.iter().flat_map(|p| p.outlets.iter().map(move |o| (p, o)))
    }

    /// The joint of an address.
    pub fn joint(&self, address: &Address) -> Option<&Joint> {
        self.joint_by_address.get(address).and_then(|&at| self.description.joints.get(at))
    }

    /// The joint that an element is, if a person can point at it. Where several addresses
    /// name one element it is the first.
    pub fn joint_of_element(&self, element: &str) -> Option<&Joint> {
        self.joint_by_element.get(element).and_then(|&at| self.description.joints.get(at))
    }

    /// The branch circuit of a name.
    pub fn branch_circuit(&self, id: &str) -> Option<&BranchCircuit> {
        self.circuit_by_id.get(id).and_then(|&at| self.description.branch_circuits.get(at))
    }

    /// A pole and all that its handle moves, whichever of them says that they are tied.
    pub(crate) fn on_one_handle<'c>(&'c self, pole: &'c BranchCircuit) -> Vec<&'c BranchCircuit> {
        let mut together = vec![pole];
        let mut next = 0;
        while let Some(pole) = together.get(next).copied() {
            next += 1;
            for other in &self.description.branch_circuits {
                let is_tied =
                    pole.tied_with.contains(&other.id) || other.tied_with.contains(&pole.id);
                if is_tied && !together.iter().any(|known| known.id == other.id) {
                    together.push(other);
                }
            }
        }
        together
    }

    /// The cable of a name.
    pub fn cable(&self, id: &str) -> Option<&Cable> {
        self.cable_by_id.get(id).and_then(|&at| self.description.cables.get(at))
    }

    /// The device of a name.
    pub fn device(&self, id: &str) -> Option<&Device> {
        self.device_by_id.get(id).and_then(|&at| self.description.devices.get(at))
    }

    /// The load of a name.
    pub fn load(&self, id: &str) -> Option<&Load> {
        self.load_by_id.get(id).and_then(|&at| self.description.loads.get(at))
    }
}

/// The position of each name; of equal names the first.
fn numbered<K: std::hash::Hash + Eq>(names: impl Iterator<Item = K>) -> HashMap<K, usize> {
    let mut positions = HashMap::new();
    for (at, name) in names.enumerate() {
        positions.entry(name).or_insert(at);
    }
    positions
}
