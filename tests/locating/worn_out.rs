//! Protective devices that are themselves at fault.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Advice, Because, Inquiry};

use crate::call::{circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "loaded-test"];

const GLAZIER: &str = r#"(
    format: 1,
    name: "Glazier's shop",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15, leg: "L2")],
    boxes: [
        (id: "cutter", from: "c1", feet: 30, device: GroundFault(feeds: true)),
        (id: "bench", from: "cutter", feet: 12),
        (id: "rack", from: "bench", feet: 15),
        (id: "office", from: "c2", feet: 25),
    ],
    loads: [
        (id: "grinder", at: "bench", kind: Motor(watts: 300), metal_case: true, on: false),
        (id: "lamp", at: "rack", kind: Filament(watts: 60)),
    ],
)"#;

/// What a device that is worn out is called with.
fn worn_out(inquiry: &Inquiry<'_>) -> f64 {
    let findings = inquiry.findings();
    let faults = findings.suspects.iter().flat_map(|suspect| {
        suspect.faults.iter().map(|one| (one.fault.kind.code(), suspect.probability * one.share))
    });
    faults.filter(|(kind, _)| *kind == "device_worn_out").map(|(_, chance)| chance).sum()
}

fn inquiry<'c>(glazier: &'c Circuit, saw: &[&str]) -> Inquiry<'c> {
    told(glazier, TOOLS, "cutter does not reset", saw)
}

#[test]
fn before_a_ground_fault_device_that_does_not_reset_is_opened_its_breaker_is_looked_at() {
    let glazier = circuit(GLAZIER);
    match inquiry(&glazier, &[]).advise() {
        Advice::Stop(stop) => {
            assert_eq!(stop.because, Because::HandleFirst);
            assert_eq!(stop.go_to[0].name.as_deref(), Some("c1"));
        }
        Advice::Test(test) => panic!("{} at {}", test.instrument, test.at),
    }
}

#[test]
fn a_device_that_does_not_reset_with_everything_unplugged_may_be_worn_out_and_one_that_holds_is_not()
 {
    let glazier = circuit(GLAZIER);
    let holds = inquiry(&glazier, &["c1 holds"]);
    let unplugged = "cutter does not reset, with grinder unplugged, lamp unplugged";
    let does_not = inquiry(&glazier, &["c1 holds", unplugged]);
    let [before, after] = [worn_out(&holds), worn_out(&does_not)];
    assert!(after > 0.1 && after > 1.3 * before, "{before} {after}");
    let first = &does_not.findings().suspects[0];
    assert!(first.boxes.contains(&"cutter".to_owned()), "{:?}", first.boxes);
    let holding = worn_out(&inquiry(&glazier, &["c1 holds", "cutter holds"]));
    assert!(holding < 0.7 * before, "{holding} {before}");
}

#[test]
fn where_a_new_device_holds_the_call_is_over() {
    let glazier = circuit(GLAZIER);
    let unplugged = "cutter does not reset, with grinder unplugged, lamp unplugged";
    let lit = "tester at cutter: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let saw = ["c1 holds", unplugged, "replaced cutter", "cutter holds", lit];
    let mut inquiry = inquiry(&glazier, &saw);
    assert!(worn_out(&inquiry) < 0.01, "{}", worn_out(&inquiry));
    match inquiry.advise() {
        Advice::Stop(stop) => assert_eq!(stop.because, Because::Mended),
        Advice::Test(test) => panic!("{} at {}", test.instrument, test.at),
    }
}

#[test]
fn a_device_that_trips_now_and_then_with_nothing_to_trip_it_may_be_worn_out_though_it_holds_at_times()
 {
    let glazier = circuit(GLAZIER);
    let lit = "tester at bench: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let trips = "cutter trips now and then";
    let before = worn_out(&told(&glazier, TOOLS, trips, &[]));
    let seen_good = worn_out(&told(&glazier, TOOLS, trips, &[lit]));
    assert!(seen_good > before / 3.0, "{before} {seen_good}");
}

#[test]
fn a_breaker_of_two_poles_that_senses_leaks_is_worn_out_once() {
    let text = GLAZIER.replace(
        r#"(id: "c2", amperes: 15, leg: "L2")"#,
        r#"(id: "c2", amperes: 15, legs: ["L1", "L2"], ground_fault_milliamperes: 5)"#,
    );
    let text = text.replace(r#"from: "c2", feet: 25"#, r#"from: "c2", feet: 25, capped: ["hot2"]"#);
    let glazier = circuit(&text);
    let findings = told(&glazier, TOOLS, "c2 does not reset", &[]).findings();
    let faults = findings.suspects.iter().flat_map(|suspect| &suspect.faults);
    let worn_out = faults.filter(|one| {
        one.fault.kind.code() == "device_worn_out" && one.fault.places.contains(&"panel".into())
    });
    assert_eq!(worn_out.count(), 1);
}
