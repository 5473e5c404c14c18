//! Conditions in words: what each sentence does, what is answered outside the grammar, and
//! that what is described is heard again.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

mod circuits;
mod docs;
mod extremes;
mod lists;
mod outside;
mod round_trip;
mod sentences;
mod studio;
