//! Where somebody worked before it began.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Complaint, Means, words};

use crate::call::{circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact"];

const BINDERY: &str = r#"(
    format: 1,
    name: "Bindery",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "guillotine", from: "door", feet: 12),
        (id: "press", from: "guillotine", feet: 15),
        (id: "glue", from: "press", feet: 15),
    ],
    loads: [(id: "lamp", at: "press", kind: Filament(watts: 60))],
)"#;

/// How likely what is wrong is at a place.
fn at(bindery: &Circuit, complaint: &str, saw: &[&str], place: &str) -> f64 {
    let findings = told(bindery, TOOLS, complaint, saw).findings();
    let faults = findings.suspects.iter().flat_map(|suspect| {
        suspect.faults.iter().map(|one| (&one.fault.places, suspect.probability * one.share))
    });
    faults.filter(|(places, _)| places.iter().any(|one| one == place)).map(|(_, p)| p).sum()
}

#[test]
fn what_trips_since_somebody_worked_at_a_box_is_looked_for_there_first() {
    let bindery = circuit(BINDERY);
    let trips = "c1 trips at once";
    let before = at(&bindery, trips, &[], "guillotine");
    let after = at(&bindery, &format!("guillotine was worked on; {trips}"), &[], "guillotine");
    assert!(after > 0.7 && after > 2.0 * before, "{before} {after}");
    // What is dead past it may be of its joints, and is so all the more.
    let dead = "dead from press on";
    let before = at(&bindery, dead, &[], "guillotine");
    let after = at(&bindery, &format!("guillotine was worked on; {dead}"), &[], "guillotine");
    assert!(after > 0.7 && after > before, "{before} {after}");
}

#[test]
fn what_is_dead_before_the_box_where_somebody_worked_is_not_put_down_to_it() {
    let bindery = circuit(BINDERY);
    let dead = "dead from door on";
    let worked = format!("glue was worked on; {dead}");
    // A short made there would trip the breaker, and leave everything dead.
    let may_be = at(&bindery, &worked, &[], "glue");
    let holds = at(&bindery, &worked, &["c1 holds"], "glue");
    assert!(may_be > 0.2 && holds < may_be / 2.0, "{may_be} {holds}");
}

#[test]
fn who_put_in_a_new_receptacle_and_then_calls_has_mended_nothing() {
    let bindery = circuit(BINDERY);
    let tools = Means::default().tools;
    let text = "I replaced the guillotine outlet and now c1 trips immediately";
    let (complaints, seen) = words::told(&bindery, &tools, text, (false, false)).unwrap();
    let worked_on = Complaint::WorkedOn { place: "guillotine".into() };
    assert_eq!(complaints[0], worked_on);
    assert!(complaints[1..].iter().any(|one| matches!(one, Complaint::Trips { .. })));
    assert!(seen.iter().all(|one| words::tell(&bindery, &tools, one).contains("trips")));
    // After a complaint it is a repair.
    let again = words::told(&bindery, &tools, "replaced guillotine", (true, false)).unwrap();
    assert!(again.0.is_empty() && again.1.len() == 1);
}

#[test]
fn an_appliance_that_is_plugged_in_there_is_not_what_somebody_worked_on() {
    let bindery = circuit(BINDERY);
    let in_the_lamp = |complaint: &str| -> f64 {
        let findings = told(&bindery, TOOLS, complaint, &[]).findings();
        let faults = findings.suspects.iter().flat_map(|suspect| {
            suspect.faults.iter().map(|one| (&one.fault.load, suspect.probability * one.share))
        });
        faults.filter(|(load, _)| load.as_deref() == Some("lamp")).map(|(_, p)| p).sum()
    };
    let [before, after] =
        ["c1 trips at once", "press was worked on; c1 trips at once"].map(in_the_lamp);
    assert!(after < before, "{before} {after}");
}
