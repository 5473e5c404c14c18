//! The potentials along the run.

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;

use crate::studio::{assert_legible, call_outs, circuit, say, scene, texts_of};

const OBSERVATORY: &str = include_str!("../../circuits/observatory.ron");

fn texts(circuit: &Circuit, condition: &Condition, to: Option<&str>) -> Vec<String> {
    let picture = scene(circuit, condition).profile(to).unwrap();
    assert_legible(&picture, "profile");
    texts_of(&picture.svg())
}

/// Half a step of the last decimal that is written, volts, and what its rounding may add.
const DECIMAL_VOLT: f64 = 0.05 + 1e-9;

/// The figure of a step; the legend speaks of steps too.
fn is_step(text: &str) -> bool {
    text.starts_with("step ") && text.contains("\u{a0}V")
}

#[test]
fn in_every_call_out_and_to_every_box_no_text_covers_another() {
    for path in call_outs() {
        let circuit = circuit(&std::fs::read_to_string(&path).unwrap());
        let condition = Condition::default();
        let scene = scene(&circuit, &condition);
        for place in &circuit.parts().places {
            if let Ok(picture) = scene.profile(Some(&place.id)) {
                assert_legible(&picture, &format!("{} to {}", path.display(), place.id));
            }
        }
    }
}

#[test]
fn a_bad_joint_is_a_step_and_a_sound_run_has_none() {
    let circuit = circuit(OBSERVATORY);
    let sound = texts(&circuit, &Condition::default(), None);
    assert_eq!(sound.iter().filter(|text| is_step(text)).count(), 0, "{sound:?}");
    let bad = texts(&circuit, &say(&circuit, &["hot 0.35 ohm at stairs, line side"]), None);
    let steps: Vec<&String> = bad.iter().filter(|text| is_step(text)).collect();
    assert_eq!(steps.len(), 1, "{bad:?}");
    // What a meter across the joint reads is 0.35 ohm times its current, to the figure's decimal.
    let across = steps[0].split(", ").nth(1).unwrap();
    let across: f64 = across.trim_end_matches("\u{a0}V across").parse().unwrap();
    let condition = say(&circuit, &["hot 0.35 ohm at stairs, line side"]);
    let scene = scene(&circuit, &condition);
    let joint = &scene.report().hazards[0];
    assert!((across - 0.35 * joint.ampere.unwrap()).abs() <= DECIMAL_VOLT, "{across}");
}

#[test]
fn an_open_inside_a_cable_is_a_step_halfway() {
    let circuit = circuit(OBSERVATORY);
    let cable = &circuit.parts().cables[0].id;
    let sentence = format!("neutral broken in cable {cable}, halfway");
    let broken = texts(&circuit, &say(&circuit, &[&sentence]), None);
    assert_eq!(broken.iter().filter(|text| is_step(text)).count(), 1, "{broken:?}");
    // Its number stands in the list, in the legend and at the step.
    assert_eq!(broken.iter().filter(|text| *text == "1").count(), 3, "{broken:?}");
}

#[test]
fn a_ring_is_followed_back_to_the_panel() {
    let circuit = circuit(include_str!("../../circuits/village-hall.ron"));
    let round = texts(&circuit, &Condition::default(), None);
    assert_eq!(round.iter().filter(|text| *text == "panel").count(), 2, "{round:?}");
    let there = texts(&circuit, &Condition::default(), Some("hatch"));
    assert_eq!(there.iter().filter(|text| *text == "panel").count(), 1, "{there:?}");
}

#[test]
fn a_box_that_is_not_there_is_answered_with_those_most_like_it() {
    let circuit = circuit(OBSERVATORY);
    let condition = Condition::default();
    let unknown = scene(&circuit, &condition).profile(Some("stair")).unwrap_err();
    assert_eq!(unknown.close[0], "stairs");
}
