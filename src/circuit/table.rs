//! Figures of materials and parts, each with where it comes from. `docs/defaults.md` lists
//! which of them a circuit file takes when it says nothing.

pub mod conductor;
pub mod contact;
pub mod insulation;

pub use conductor::{AwgSize, Metal, Mm2Size};
pub use contact::Contacts;
pub use insulation::Construction;
