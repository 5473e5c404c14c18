//! Appliances that are shorted inside or in their cord, and trip what feeds them.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Advice, Because, Suspect};

use crate::call::{circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact"];

const FOUNDRY: &str = r#"(
    format: 1,
    name: "Bell foundry",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15, leg: "L2")],
    boxes: [
        (id: "pit", from: "c1", feet: 30),
        (id: "mould", from: "pit", feet: 12),
        (id: "office", from: "c2", feet: 25),
        (id: "desk", from: "office", feet: 9),
    ],
    loads: [
        (id: "bellows", at: "mould", kind: Motor(watts: 300), metal_case: true, on: false),
        (id: "kettle", at: "office", kind: Resistive(watts: 700), metal_case: false, on: false),
        (id: "fan", at: "desk", kind: Resistive(watts: 60), metal_case: true, on: false),
    ],
)"#;

/// The likeliest suspect after a complaint and what was seen.
fn first(foundry: &Circuit, complaint: &str, saw: &[&str]) -> Suspect {
    told(foundry, TOOLS, complaint, saw).findings().suspects.swap_remove(0)
}

fn kinds_and_load(suspect: &Suspect) -> (Vec<&'static str>, Vec<Option<&str>>) {
    let likely = || suspect.faults.iter().filter(|one| one.share > 0.01).map(|one| &one.fault);
    let mut kinds: Vec<&str> = likely().map(|fault| fault.kind.code()).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let mut loads: Vec<Option<&str>> = likely().map(|fault| fault.load.as_deref()).collect();
    loads.sort_unstable();
    loads.dedup();
    (kinds, loads)
}

#[test]
fn a_breaker_that_trips_when_an_appliance_is_switched_on_is_put_down_to_that_appliance() {
    let foundry = circuit(FOUNDRY);
    for load in ["kettle", "fan"] {
        let suspect = first(&foundry, &format!("c2 trips when {load} runs"), &[]);
        assert!(suspect.probability > 0.9, "{load} {}", suspect.probability);
        assert_eq!(
            kinds_and_load(&suspect),
            (vec!["leaks_once_on", "short_inside"], vec![Some(load)])
        );
    }
}

#[test]
fn nothing_is_tested_on_another_circuit_to_be_surer_of_an_appliance_that_trips_its_own() {
    let foundry = circuit(FOUNDRY);
    let mut inquiry = told(&foundry, TOOLS, "c2 trips when kettle runs", &[]);
    let stop = match inquiry.advise() {
        Advice::Stop(stop) => stop,
        Advice::Test(test) => {
            panic!("{} at {}, saves {:?}", test.instrument, test.at, test.saves_s)
        }
    };
    assert_eq!(stop.go_to[0].appliance.as_deref(), Some("kettle"));
    assert_ne!(stop.because, Because::NothingKnown);
}

#[test]
fn an_appliance_without_which_the_breaker_holds_is_what_trips_it() {
    let foundry = circuit(FOUNDRY);
    let trips = "c2 trips at once";
    let before = first(&foundry, trips, &[]);
    let (_, loads) = kinds_and_load(&before);
    assert!(loads.contains(&None), "a short in a box as well: {loads:?}");
    let after = first(&foundry, trips, &["c2 holds, with fan unplugged"]);
    assert!(after.probability > 0.9, "{}", after.probability);
    assert_eq!(kinds_and_load(&after).1, [Some("fan")]);
}
