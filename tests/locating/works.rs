//! What is said to work keeps the search away from it.

use slotwise::circuit::{Circuit, file};
use slotwise::diagnosis::{Account, Complaint, Inquiry, words};

const SCULLERY: &str = r#"(
    format: 1,
    name: "Scullery",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20, leg: "L2")],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "stove", from: "door", feet: 12),
        (id: "shelf", from: "stove", feet: 12),
        (id: "tap", from: "c2", feet: 25),
        (id: "hatch", from: "c2", feet: 20, device: Duplex(top: "hot", hot_tab: Intact)),
    ],
)"#;

fn scullery() -> Circuit {
    file::read(SCULLERY).unwrap().circuit
}

fn told<'c>(circuit: &'c Circuit, said: &[&str]) -> Inquiry<'c> {
    let complaints = said.iter().flat_map(|said| words::complaints(circuit, said).unwrap());
    let account = Account { complaints: complaints.collect(), ..Account::default() };
    Inquiry::of(circuit, &account).unwrap()
}

/// How likely a fault is that has something to do with this box.
fn at(inquiry: &Inquiry<'_>, place: &str) -> f64 {
    let findings = inquiry.findings();
    let there = findings.suspects.iter().filter(|one| one.boxes.iter().any(|at| at == place));
    there.map(|suspect| suspect.probability).sum()
}

#[test]
fn what_works_before_a_dead_box_leaves_the_fault_between_the_two() {
    let circuit = scullery();
    let dead = told(&circuit, &["shelf dead"]);
    let works = told(&circuit, &["shelf dead", "stove works"]);
    assert!(at(&works, "door") < 0.5 * at(&dead, "door"), "{}", at(&works, "door"));
    assert!(at(&works, "shelf") > at(&dead, "shelf"));
}

#[test]
fn all_the_rest_is_what_no_complaint_names_whichever_is_said_first() {
    let circuit = scullery();
    let before = told(&circuit, &["everything else works", "shelf dead"]);
    let after = told(&circuit, &["shelf dead", "everything else works"]);
    let named = told(&circuit, &["shelf dead", "door, stove, tap and hatch work"]);
    for place in ["door", "stove", "shelf", "panel"] {
        assert!((at(&before, place) - at(&after, place)).abs() < 1e-9, "{place}");
        assert!((at(&after, place) - at(&named, place)).abs() < 1e-3, "{place}");
    }
}

#[test]
fn what_is_told_one_by_one_is_believed_as_told_at_once() {
    let circuit = scullery();
    let at_once = told(&circuit, &["everything else works", "shelf dead"]);
    let mut one_by_one = Inquiry::new(&circuit, Account::default().means);
    one_by_one.complain(&Complaint::Works { places: Vec::new() }).unwrap();
    one_by_one.complain(&Complaint::Dead { places: vec!["shelf".into()] }).unwrap();
    for place in ["door", "stove", "shelf"] {
        assert!((at(&at_once, place) - at(&one_by_one, place)).abs() < 1e-9, "{place}");
    }
}

#[test]
fn the_rest_is_not_what_a_breaker_that_trips_feeds() {
    let circuit = scullery();
    let trips = told(&circuit, &["breaker c1 trips at once"]);
    let rest = told(&circuit, &["breaker c1 trips at once", "everything else works"]);
    assert!(rest.conflicts().is_empty());
    assert!(rest.findings().nothing_known < trips.findings().nothing_known + 0.05);
}
