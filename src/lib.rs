//! What every slot of every receptacle carries, whatever is wrong with the wiring.
//!
//! ```text
//! circuit file (RON) --read--> Circuit       what a person installed and can describe
//! Circuit --vary--> Condition                faults, switches, loads, what is attached
//! Circuit + Condition --wire--> Netlist      terminals are nodes; joints, conductors, loads are edges
//! Netlist --assemble--> Network --solve--> Solution    phasors at every terminal, current in every edge
//! ```
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

pub mod hazard;

pub mod report;
