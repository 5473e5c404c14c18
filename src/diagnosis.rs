//! From what the instruments showed to the joint that is bad.
//!
//! An [`Account`] is what a person brings: [`Complaint`]s, [`Observation`]s, and the [`Means`]
//! at hand. It is data; nothing here opens a file or asks anyone anything.

mod account;
mod amount;
mod complaint;
pub mod file;
mod means;
mod observation;
pub mod words;

pub use account::Account;
pub use amount::Amount;
pub use complaint::{Complaint, WhenItTrips};
pub use means::{Costs, Means, Tool};
pub use observation::{Found, LoadSeen, Moment, Observation, Protected, Seen, Showed};
