//! Complaints and observations in words: every sentence of the page, the way back, and answers
//! to what is outside the grammar.

#![allow(clippy::unwrap_used, clippy::panic)] // A test crate: nothing here is an interface.

mod everyday;
mod measured;
mod outside;
mod page;
mod round_trip;
mod said;
mod told;
mod walk;
