//! What every slot of every receptacle carries, whatever is wrong with the wiring.
//!
//! ```text
//! circuit file (RON) --read--> Circuit       what a person installed and can describe
//! Circuit --vary--> Condition                faults, switches, loads, what is attached
//! Circuit + Condition --wire--> Netlist      terminals are nodes; joints, conductors, loads are edges
//! Netlist --assemble--> Network --solve--> Solution    phasors at every terminal, current in every edge
//! ```
//!
//! From a file, a condition and an address to a phasor:
//!
//! ```
//! use slotwise::{Condition, circuit, solve, wire};
//!
//! let file = circuit::file::read(include_str!("../circuits/pottery-studio.ron")).unwrap();
//! let mut condition = Condition::default();
//! condition.say(&file.circuit, "neutral open at kiln, line side").unwrap();
//! let netlist = wire(&file.circuit, &condition).unwrap();
//! let solution = solve(&netlist).unwrap();
//! let slot = netlist.find_node(&"kiln.neutral".into()).unwrap();
//! let volt = solution.potential(slot).unwrap();
//! assert!(volt.magnitude() > 110.0, "the heater, switched on, makes the neutral slot live");
//! ```
//!
//! [`report`] says the same for every slot at once, dangers first; the command `slotwise` is a
//! thin front on it.
//!
//! Conventions, everywhere: SI units; phasors are rms with time factor exp(+jωt), so an
//! inductive reactance is positive; potentials are to remote earth; an element's current runs
//! from its end `a` to its end `b` through the element.

#![forbid(unsafe_code)]

pub mod quantity;

pub mod circuit;

pub mod condition;

pub mod netlist;

pub mod network;

pub mod solution;

pub mod instrument;

pub mod protection;

pub mod hazard;

pub mod lookalike;

pub mod diagnosis;

pub mod drill;

pub mod report;

pub use circuit::Circuit;
pub use condition::Condition;
pub use netlist::{Netlist, wire};
pub use quantity::{Address, Impedance, Phasor};
pub use solution::{Solution, solve};

/// The README's example is run as a test.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
pub struct ReadmeExamples;

#[cfg(feature = "draw")]
pub mod draw;
