//! Locating faults, as a person does it: told a complaint, tested, opened.

mod call;
mod finds;
mod laws;
