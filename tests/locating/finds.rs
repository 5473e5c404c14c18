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
    for test in &course.tests {
        println!("{} at {} {:?} {:.0} s saves {:?}", test.instrument, test.at, test.switch, test.cost_s, test.saves_s);
        for b in &test.branches { println!("    {:.2} {:?} -> {:?}", b.probability, b.shows, b.leading); }
    }
    let findings = course.inquiry.findings();
    for s in &findings.suspects { println!("{:.3} {}  {:?}", s.probability, s.whereabouts(), s.boxes); }
    println!("{:?} wrong {} known {}", course.stop, findings.nothing_wrong, findings.nothing_known);
    println!("{} s", course.seconds());
    let leading = &findings.suspects[0];
    assert_eq!(leading.conductors(), ["neutral"]);
    assert!(leading.boxes.contains(&"kiln".to_owned()));
    assert_ne!(course.stop.because, Because::NothingWrong);
}
