//! That the fault is found.

use slotwise::diagnosis::{Because, Complaint, Means};

use crate::call::{circuit, condition, locate};

const STUDIO: &str = include_str!("../../circuits/pottery-studio.ron");

#[test]
fn an_open_neutral_is_found_by_tests_alone() {
    let studio = circuit(STUDIO);
    let truth = condition(&studio, &["neutral open at kiln, line side"]);
    let dead = Complaint::DeadFrom { place: "kiln".into() };
    let course = locate(&studio, &truth, &dead, Means::default());
    let findings = course.inquiry.findings();
    let leading = &findings.suspects[0];
    assert_eq!(leading.conductors(), ["neutral"]);
    assert!(leading.boxes.contains(&"kiln".to_owned()));
    assert_ne!(course.stop.because, Because::NothingWrong);
    assert!(course.seconds() < 120.0, "{} s", course.seconds());
}
