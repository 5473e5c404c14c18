//! What several tests and benches build on.

// Each of them uses a part, and a test crate has no outside.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

pub mod chance;
pub mod dense;
pub mod nodal;
pub mod referee;
pub mod twofold;
