//! Laws that any circuit in any condition obeys.

#![allow(unreachable_pub, clippy::unwrap_used)] // A test crate: nothing here is an interface.

mod building;
mod call_outs;
mod cutting;
mod edits;
mod faults;
mod random;
