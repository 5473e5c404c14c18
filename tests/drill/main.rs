//! Drills: families, what is drawn from them, and what is done with it.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod datasets;
mod drawing;
mod families;
mod live;
mod pages;
mod schema;
mod support;
