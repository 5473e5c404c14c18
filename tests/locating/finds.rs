//! That the fault is found.

use slotwise::diagnosis::{Because, Complaint, Means, Tool};

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
