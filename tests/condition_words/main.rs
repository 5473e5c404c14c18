//! Conditions in words: what each sentence does, what is answered outside the grammar, and
//! that what is described is heard again.

mod outside;
mod round_trip;
mod sentences;
mod studio;
