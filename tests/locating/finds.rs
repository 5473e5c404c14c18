//! That the fault is found.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Because, Complaint, Inquiry, Means, Tool, words};

use crate::call::{circuit, condition, locate};

/// A lean-to with three receptacles, something on at the last.
const LEAN_TO: &str = "(
    format: 1,
    name: \"Lean-to\",
    circuits: [(id: \"c1\", amperes: 15)],
    boxes: [
        (id: \"door\", from: \"c1\", feet: 25),
        (id: \"bench\", from: \"door\", feet: 12),
        (id: \"vat\", from: \"bench\", feet: 14),
    ],
    loads: [(id: \"heater\", at: \"vat\", kind: Resistive(watts: 900))],
)";

fn two_tools() -> Means {
    let tools = ["tester", "non-contact"];
    Means { tools: tools.iter().filter_map(|t| Tool::preset(t)).collect(), ..Means::default() }
}

#[test]
fn an_open_neutral_is_found_by_tests_alone() {
    let lean_to = circuit(LEAN_TO);
    let truth = condition(&lean_to, &["neutral open at vat, line side"]);
    let dead = Complaint::DeadFrom { place: "vat".into() };
    let course = locate(&lean_to, &truth, &dead, two_tools());
    let findings = course.inquiry.findings();
    let leading = &findings.suspects[0];
    assert_eq!(leading.conductors(), ["neutral"]);
    assert!(leading.boxes.contains(&"vat".to_owned()), "{:?}", leading.boxes);
    assert_ne!(course.stop.because, Because::NothingWrong);
    assert!(course.seconds() < 120.0, "{} s", course.seconds());
}

/// A shed with two receptacles: quick to solve.
const SHED: &str = "(
    format: 1,
    name: \"Shed\",
    circuits: [(id: \"c1\", amperes: 15)],
    boxes: [(id: \"door\", from: \"c1\", feet: 25), (id: \"bench\", from: \"door\", feet: 12)],
)";

/// An inquiry that has been told what sentences say.
fn told<'c>(shed: &'c Circuit, complaint: &str, saw: &[&str]) -> Inquiry<'c> {
    let means = two_tools();
    let tools = means.tools.clone();
    let mut inquiry = Inquiry::new(shed, means);
    if !complaint.is_empty() {
        for complaint in words::complaints(shed, complaint).unwrap() {
            inquiry.complain(&complaint).unwrap();
        }
    }
    for sentence in saw {
        let seen = words::observations(shed, &tools, sentence).unwrap();
        inquiry.observe_all(&seen).unwrap();
    }
    inquiry
}

#[test]
fn a_breaker_that_is_found_off_is_what_is_wrong() {
    let shed = circuit(SHED);
    let off = told(&shed, "door dead", &["tester at bench: all dark", "c1 found off"]);
    let leading = &off.findings().suspects[0];
    assert_eq!(leading.faults[0].fault.kind.code(), "breaker_off");
    assert!(leading.probability > 0.8, "{}", leading.probability);
}

#[test]
fn twice_the_voltage_at_every_receptacle_is_the_neutral_on_the_other_leg() {
    let shed = circuit(SHED);
    let saw = ["voltmeter at bench: hot-neutral 241", "voltmeter at bench: neutral-ground 120"];
    let doubled = told(&shed, "", &saw);
    let leading = &doubled.findings().suspects[0];
    assert_eq!(leading.faults[0].fault.kind.code(), "neutral_on_bus");
    assert!(leading.probability > 0.9, "{}", leading.probability);
    let warned = doubled.warnings();
    assert!(warned.iter().any(|warning| warning.danger.code == "energised_neutral"));
}

#[test]
fn for_a_supply_that_is_far_too_low_nothing_is_opened() {
    let lean_to = circuit(LEAN_TO);
    let truth = condition(&lean_to, &["winding L1 at 87 V", "winding L2 at 87 V"]);
    let dim = Complaint::Dim { loads: Vec::new(), when: None };
    let course = locate(&lean_to, &truth, &dim, Means::default());
    let findings = course.inquiry.findings();
    let leading = &findings.suspects[0];
    assert_eq!(leading.faults[0].fault.kind.code(), "supply_voltage");
    assert!(leading.probability > 0.9, "all amounts are one: {}", leading.probability);
    let first = &course.stop.go_to[0];
    assert!(
        first.supply && !first.opens_a_box() && course.tests.iter().all(|t| t.parting.is_none())
    );
}

#[test]
fn readings_that_keep_contradicting_every_fault_fit_nothing_known() {
    let shed = circuit(SHED);
    let one = "tester at bench: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let dark = "tester at bench: all dark";
    let sounds = "non-contact at bench: hot beeps, neutral silent, ground silent";
    let silent = "non-contact at door: hot silent, neutral silent, ground silent";
    let lit = "tester at door: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let steady = told(&shed, "bench dead", &[dark, lit]);
    assert!(steady.findings().nothing_known < 0.05, "{}", steady.findings().nothing_known);
    let fickle = told(&shed, "bench dead", &[dark, one, sounds, silent, lit]);
    assert!(fickle.findings().nothing_known > 0.5, "{}", fickle.findings().nothing_known);
}
