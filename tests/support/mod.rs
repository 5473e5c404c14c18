//! What several tests and benches build on.

// Each of them uses a part, and a test crate has no outside.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

pub mod chance;
pub mod dense;
pub mod nodal;
pub mod referee;
pub mod run;
pub mod twofold;

/// The largest, or the first that is not a number.
pub fn worst_of(misses: impl IntoIterator<Item = f64>) -> f64 {
    let worse = |worst, miss: f64| if miss > worst || miss.is_nan() { miss } else { worst };
    misses.into_iter().fold(0.0, worse)
}
