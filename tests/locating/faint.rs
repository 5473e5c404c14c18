//! What is dark where the model has a faint glow.

use slotwise::diagnosis::{Advice, Because};

use crate::call::{circuit, told};

/// The receptacles of a cloister, the last with nothing past it.
const CLOISTER: &str = r#"(
    format: 1,
    name: "Cloister",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "gate", from: "c1", feet: 30),
        (id: "well", from: "gate", feet: 15),
        (id: "scriptorium", from: "well", feet: 18),
    ],
    loads: [(id: "lamp", at: "gate", kind: Filament(watts: 60))],
)"#;

const DARK: &str = "tester at scriptorium: hot-neutral lit, hot-ground dark, neutral-ground dark";

/// How likely a ground is open at the scriptorium.
fn ground_open(saw: &[&str]) -> f64 {
    let cloister = circuit(CLOISTER);
    let inquiry = told(&cloister, &["tester", "voltmeter"], "nothing noticed", saw);
    let suspects = inquiry.findings().suspects;
    let grounds = suspects.iter().filter(|one| one.conductors() == ["ground"]);
    grounds.map(|one| one.probability).sum()
}

#[test]
fn a_tester_that_is_dark_at_both_its_indicators_to_ground_may_well_show_an_open_ground() {
    let saw_dim = "tester at scriptorium: hot-neutral lit, hot-ground dim, neutral-ground dim";
    let (dark, dim) = (ground_open(&[DARK]), ground_open(&[saw_dim]));
    assert!(dark > 0.05 && dark < dim, "{dark} {dim}");
}

#[test]
fn a_tester_and_a_meter_that_find_no_ground_at_one_receptacle_are_not_both_put_down_to_misreading()
{
    let meter = "voltmeter at scriptorium: hot-neutral 119 V, hot-ground 0 V, neutral-ground 0 V";
    let chance = ground_open(&[DARK, meter]);
    assert!(chance > 0.3, "{chance}");
    let cloister = circuit(CLOISTER);
    let mut inquiry = told(&cloister, &["tester", "voltmeter"], "nothing noticed", &[DARK, meter]);
    let advice = inquiry.advise();
    let is_over = matches!(&advice, Advice::Stop(stop) if stop.because == Because::NothingWrong);
    assert!(!is_over, "{advice:?}");
}
