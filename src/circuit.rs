//! What a person installed: supply, panel, cables, boxes, devices and loads, every part at an
//! address and every number explicit.
//!
//! [`Description`] is the plain list of parts; [`Circuit::new`] checks it and a [`Circuit`]
//! that exists is well-formed. People write the short form in a file instead
//! (see `docs/circuit-file.md`), whose defaults expand into the same parts.
//!
//! This room knows no fault and no matrix: what may change is a
//! [`Condition`](crate::condition::Condition).

pub mod configuration;
pub mod device;
pub mod diagnostic;
pub mod file;
pub mod load;
pub mod place;
pub mod supply;
pub mod table;
pub mod wiring;

pub use configuration::Configuration;
pub use device::{Device, DeviceKind, Sensing, Tab};
pub use load::{Load, LoadKind};
pub use place::{Joint, JointKind, Outlet, Place, PlaceKind, Side};
pub use supply::{Bond, Coupling, Electrode, ServiceConductor, Supply, Winding};
pub use wiring::{
    BranchCircuit, Breaker, Cable, CableEnd, CablePair, Conductor, Landing, Link, Lumped,
    LumpedKind, TripCurve,
};

/// Which words a report speaks.
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

/// The parts of a circuit as written down, unchecked.
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
