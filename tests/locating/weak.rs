//! What gets too little where no load of the list is.

use slotwise::diagnosis::{Means, words};

use crate::call::{chance, circuit, condition, locate};

/// A lamp at the first box alone; whoever brings another is on no list.
const SEED_STORE: &str = r#"(
    format: 1,
    name: "Seed store",
    circuits: [(id: "c1", amperes: 15)],
    boxes: [
        (id: "door", from: "c1", feet: 25),
        (id: "scales", from: "door", feet: 12),
        (id: "bins", from: "scales", feet: 14),
        (id: "loft", from: "bins", feet: 20),
    ],
    loads: [(id: "lamp", at: "door", kind: Filament(watts: 60))],
)"#;

/// What is found where that is said and a joint before the loft has forty ohms.
#[track_caller]
fn found(said: &str) {
    let store = circuit(SEED_STORE);
    let truth = condition(&store, &["neutral at loft, line side, 40 ohm"]);
    let complaint = words::complaints(&store, said).unwrap();
    let course = locate(&store, &truth, &complaint[0], Means::default());
    let is_before_it = |at: &String| ["bins", "loft"].contains(&at.as_str());
    let there = chance(&course.inquiry, |one| one.fault.places.iter().all(is_before_it));
    assert!(there > 0.9, "{said}: {there}");
    assert!(["loft", "bins"].contains(&course.stop.go_to[0].place.as_str()), "{said}");
}

#[test]
fn a_lamp_that_is_dim_at_one_box_leads_to_the_joint_before_it() {
    found("a lamp plugged in at loft is dim");
}

#[test]
fn lights_that_are_dim_may_be_some_that_nobody_listed() {
    found("lights dim");
}
