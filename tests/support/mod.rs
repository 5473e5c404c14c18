//! What several tests and benches build on.

#![allow(dead_code)] // each of them uses a part

pub mod chance;
pub mod referee;
pub mod twofold;
