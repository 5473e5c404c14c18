//! Fuzz target: `family_file` of `bodies.rs`.

#![no_main]

#[path = "../bodies.rs"]
#[allow(dead_code, missing_docs)] // Each target uses one of them.
mod bodies;

libfuzzer_sys::fuzz_target!(|data: &[u8]| bodies::family_file(data));
