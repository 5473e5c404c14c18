//! The picture of the run.

use slotwise::circuit::file;
use slotwise::condition::{self, Condition};

use crate::studio::{assert_legible, call_outs, circuit, say, scene, texts_of};

const STUDIO: &str = include_str!("../../circuits/pottery-studio.ron");

#[test]
fn in_every_call_out_and_condition_no_text_covers_another() {
    for path in call_outs() {
        let text = std::fs::read_to_string(&path).unwrap();
        let read = file::read(&text).unwrap();
        let named = condition::file::of_circuit(&read, &text).unwrap();
        let conditions = named.into_iter().map(|named| (named.name, named.condition));
        let as_described = ("as described".to_owned(), Condition::default());
        for (name, condition) in std::iter::once(as_described).chain(conditions) {
            let what = format!("{} {name}", path.display());
            let picture = scene(&read.circuit, &condition).run();
            assert_legible(&picture, &what);
            assert_eq!(texts_of(&picture.svg()).len(), picture.texts().len(), "{what}");
        }
    }
}

#[test]
fn every_box_shows_its_potentials_and_the_open_neutral_is_live() {
    let circuit = circuit(STUDIO);
    let condition = say(&circuit, &["neutral open at kiln, line side"]);
    let texts = texts_of(&scene(&circuit, &condition).run().svg());
    for name in ["panel", "door", "bench", "wheel", "kiln", "sink"] {
        assert!(texts.iter().any(|text| text == name), "{name} is missing");
    }
    // Six boxes with a hot each, and past the open the neutrals of kiln and sink too.
    assert_eq!(texts.iter().filter(|text| *text == "120.0\u{a0}V").count(), 8);
    assert!(texts.iter().any(|text| text == "neutral open at kiln, line side"));
    assert!(texts.iter().any(|text| text.starts_with("DANGER: The neutral at kiln")));
}

#[test]
fn the_same_circuit_is_drawn_the_same() {
    let circuit = circuit(STUDIO);
    let condition = say(&circuit, &["neutral open at kiln, line side", "kettle on"]);
    let draw = || scene(&circuit, &condition).run().svg();
    assert_eq!(draw(), draw());
}

#[test]
fn a_hostile_name_stays_a_name() {
    let hostile = r#"</title><script>alert(1)</script>&'\u{202e}\u{0007}陶芸"#;
    let text = STUDIO.replace("Pottery studio\"", &format!("{hostile}\""));
    let circuit = circuit(&text);
    let condition = Condition::default();
    let picture = scene(&circuit, &condition).run();
    let svg = picture.svg();
    assert!(texts_of(&svg).iter().any(|text| text.contains("<script>alert(1)</script>")));
    assert!(!svg.contains("<script"));
    assert!(!svg.contains('\u{202e}') && !svg.contains('\u{7}'));
    assert_legible(&picture, "hostile");
}

#[test]
fn floating_and_undetermined_conductors_are_said_to_be_so() {
    let circuit = circuit(include_str!("../../circuits/boathouse.ron"));
    let condition = Condition::default();
    let texts = texts_of(&scene(&circuit, &condition).run().svg());
    assert!(texts.iter().any(|text| text == "floating"));
    assert!(texts.iter().any(|text| text == "no path"));
}

#[test]
fn the_safety_paragraph_is_there_once() {
    let circuit = circuit(STUDIO);
    let condition = Condition::default();
    let words = texts_of(&scene(&circuit, &condition).run().svg()).join(" ");
    assert_eq!(words.matches("A model proves nothing dead").count(), 1);
}

#[test]
fn a_circuit_without_cables_is_drawn_all_the_same() {
    let circuit = circuit("(format: 1, circuits: [(id: \"c1\", amperes: 20)])");
    let condition = Condition::default();
    assert_legible(&scene(&circuit, &condition).run(), "a panel alone");
}
