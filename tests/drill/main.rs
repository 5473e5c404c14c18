//! Drills: families, what is drawn from them, and what is done with it.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]
#![allow(clippy::print_stdout, reason = "the long run says what it came to")]

mod as_read;
mod datasets;
mod drawing;
mod families;
mod found;
mod key;
mod live;
mod live_names;
mod live_points;
mod live_safety;
mod pages;
mod schema;
mod support;
