//! Twelve call-outs: what was said and seen follows from what is truly wrong, and the search finds
//! it. `docs/call-outs.md` tells their stories.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

#[path = "call_outs/follows.rs"]
mod follows;
#[path = "call_outs/told.rs"]
mod told;

use std::fs;
use std::path::Path;

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::diagnosis::Seen;
use slotwise::report::{Asked, ReadReport};

use told::CALL_OUTS;

/// What sentences come to.
fn condition(circuit: &Circuit, sentences: &str) -> Condition {
    let mut condition = Condition::default();
    let said = condition.say(circuit, sentences);
    said.unwrap_or_else(|problems| panic!("{sentences}: {problems:#?}"));
    condition
}

#[test]
fn every_observation_file_is_a_call_out() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits/observations");
    let mut files: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    files.sort();
    let mut told: Vec<&str> = CALL_OUTS.iter().map(|call_out| call_out.name).collect();
    told.sort_unstable();
    assert_eq!(files, told);
}

#[test]
fn everything_seen_is_what_the_true_fault_shows_but_for_what_was_written_down_wrong() {
    for call_out in &CALL_OUTS {
        let circuit = call_out.circuit();
        let account = call_out.account(&circuit);
        let truth = condition(&circuit, call_out.truth);
        assert!(account.observations.len() >= 2, "{}", call_out.name);
        for (at, seen) in account.observations.iter().enumerate() {
            let follows = follows::follows(&circuit, &truth, seen);
            let wrong = call_out.wrong.contains(&at);
            assert_eq!(follows.is_ok(), !wrong, "{}, {at}: {follows:?}", call_out.name);
        }
        let instruments =
            account.observations.iter().filter(|o| matches!(o.seen, Seen::Instrument { .. }));
        assert!(instruments.count() > 0, "{}", call_out.name);
    }
}

#[test]
fn what_must_be_found_and_warned_of_is_there() {
    for call_out in &CALL_OUTS {
        let circuit = call_out.circuit();
        for named in call_out.named {
            condition(&circuit, named);
        }
        let Some(code) = call_out.warns else { continue };
        let truth = condition(&circuit, call_out.truth);
        let report = ReadReport::new(&circuit, &truth, &Asked::default()).unwrap();
        let found: Vec<&str> = report.hazards.iter().map(|hazard| hazard.kind).collect();
        assert!(found.contains(&code), "{}: {found:?}", call_out.name);
    }
}
