//! The kept inputs of the fuzz targets, through the same functions, without a fuzzer.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.
#![cfg(feature = "json")]

use std::path::Path;

#[path = "fuzz/bodies.rs"]
mod bodies;

/// Gives every kept input of a target to its body; an input that panics is named first.
fn replay(target: &str, body: fn(&[u8])) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus").join(target);
    let mut inputs: Vec<_> =
        folder.read_dir().unwrap().map(|entry| entry.unwrap().path()).collect();
    inputs.sort();
    assert!(!inputs.is_empty(), "{} is empty", folder.display());
    for input in inputs {
        let data = std::fs::read(&input).unwrap();
        let answered = std::panic::catch_unwind(|| body(&data));
        assert!(answered.is_ok(), "{}", input.display());
    }
}

#[test]
fn kept_circuit_files_are_answered() {
    replay("circuit_file", bodies::circuit_file);
}

#[test]
fn kept_condition_words_are_answered() {
    replay("condition_words", bodies::condition_words);
}

#[test]
fn kept_condition_files_are_answered() {
    replay("condition_file", bodies::condition_file);
}

#[test]
fn kept_observation_words_are_answered() {
    replay("observation_words", bodies::observation_words);
}

#[test]
fn kept_observation_files_are_answered() {
    replay("observation_file", bodies::observation_file);
}

#[test]
fn kept_family_files_are_answered() {
    replay("family_file", bodies::family_file);
}

#[test]
fn kept_addresses_are_answered() {
    replay("address", bodies::address);
}

#[test]
fn kept_instrument_files_are_answered() {
    replay("instrument_file", bodies::instrument_file);
}

#[test]
fn kept_networks_are_answered() {
    replay("network", bodies::network);
}
