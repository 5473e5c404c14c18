//! From what the instruments showed to the joint that is bad.
//!
//! An [`Inquiry`] is told complaints and observations and says what to suspect, why, what to test
//! next, and when to stop testing and open a box. Every hypothesis is a solved network; how it
//! weighs them is in `docs/locating.md`.
//!
//! An [`Account`] is what a person brings: [`Complaint`]s, [`Observation`]s, and the [`Means`]
//! at hand. It is data; nothing here opens a file or asks anyone anything.

mod account;
mod act;
mod advice;
mod advise;
mod amount;
mod asking;
mod begun;
mod belief;
mod called_for;
mod choose;
mod class;
mod closed;
mod combine;
mod complaint;
mod concern;
mod contradiction;
mod dead;
mod effort;
mod evidence;
pub mod file;
mod first;
mod group;
mod inquiry;
mod intermittent;
mod leaving;
mod live;
mod look;
mod means;
mod model;
mod observation;
mod opening;
mod outcome;
mod overload;
mod panel_metal;
mod parting;
mod possible;
mod predictions;
mod prospects;
mod quick;
mod reading_error;
mod recheck;
mod recipe;
mod repaired;
mod route;
mod second_look;
mod stated;
mod symptom;
mod thrown;
mod told;
mod unknown;
mod unplugged;
mod unprotected;
mod vital;
mod wall_switch;
mod warn;
mod why;
pub mod words;

pub use account::{Account, Told};
pub use advice::{
    Advice, Because, Branch, Conflict, Explanation, Findings, GoTo, NextTest, Stop, Warning, Word,
};
pub use amount::Amount;
pub use complaint::{Complaint, WhenItTrips};
pub use effort::Effort;
pub use group::{Spot, Suspect, SuspectFault};
pub use inquiry::Inquiry;
pub use means::{Costs, Means, Tool};
pub use observation::{
    Elsewhere, Found, LoadSeen, Mended, Moment, Observation, Protected, Seen, Showed,
};
pub(crate) use opening::{GLANCE_S, SUPPLY_S, UNPLUG_S};
pub use overload::Overload;
pub use panel_metal::PanelMetal;
pub(crate) use panel_metal::{KeptOff, place_of_handle};
pub(crate) use parting::Feeding;
pub use parting::Parting;
pub use prospects::ENDANGERS_BELOW;
pub use reading_error::ReadingError;
pub(crate) use symptom::{gives_light, is_load_among, place_of_load};
pub use told::ToldProblem;
pub use warn::WARNED_FROM;
