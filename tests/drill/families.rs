//! Family files: what is wrong with one is said, all of it, where it stands.

use slotwise::drill::Family;

use crate::support::{FAMILIES, family, family_text};

#[test]
fn the_families_that_come_with_the_program_read() {
    for name in FAMILIES {
        assert!(!family(name).name().is_empty());
    }
}

/// What is said of the workshops with a piece of the text replaced: code and place.
fn said(from: &str, to: &str) -> Vec<(String, String)> {
    let text = family_text("workshops");
    assert!(text.contains(from), "{from}");
    let text = text.replacen(from, to, 1);
    let said = Family::read(&text).unwrap_err();
    said.iter().map(|one| (one.code.to_string(), one.offending(&text).to_owned())).collect()
}

fn of(code: &str, at: &str) -> (String, String) {
    (code.to_owned(), at.to_owned())
}

#[test]
fn slips_in_a_family_are_said_where_they_stand() {
    for (from, to, code, at) in [
        ("boxes: (4, 8)", "boxes: (8, 4)", "range-upside-down", "8"),
        ("boxes: (4, 8)", "boxes: 4-8", "not-a-plain-number", "4-8"),
        ("boxes: (4, 8)", "boxes: [4, 8]", "wrong-kind", "[4, 8]"),
        ("push_in: 0.4", "push_in: 40%", "not-a-plain-number", "40%"),
        ("name: \"kettle\"", "id: \"kettle\"", "unknown-field", "id"),
        ("kind: GroundFault", "kind: GFCI", "unknown-word", "GFCI"),
        (
            "devices: [(kind: Receptacle, weight: 9), ",
            "devices: [Receptacle, ",
            "wrong-kind",
            "Receptacle",
        ),
        ("boxes: (4, 8)", "boxes: (4.5, 8)", "not-whole", "4.5"),
        ("boxes: (4, 8)", "boxes: (4, 40)", "too-few-names", "40"),
        ("branches: 0.15", "branches: 15", "out-of-bounds", "15"),
        ("branches: 0.15", "branchs: 0.15", "unknown-field", "branchs"),
        ("\"door\", \"bench\"", "\"door\", \"door\"", "name-taken", "\"door\""),
        ("\"door\", \"bench\"", "\"Door\", \"bench\"", "name-form", "\"Door\""),
        ("\"door\", \"bench\"", "\"kettle\", \"bench\"", "name-taken", "\"kettle\""),
        ("(awg: 14), (awg: 12)", "(awg: 13), (awg: 12)", "cable", "13"),
        ("kind: Resistive", "kind: Resistiv", "unknown-word", "Resistiv"),
        ("feet: (6, 22)", "metres: (6, 22)", "lengths", "\"Workshops\""),
        ("watts: (800, 1500)", "watts: (800, 1500000)", "out-of-bounds", "1500000"),
        ("(amperes: 20, ", "(amperes: 20, ground_fault_milliamperes: 0, ", "out-of-bounds", "0"),
    ] {
        let said = said(from, to);
        assert_eq!(said, [of(code, at)], "{to}");
    }
}

#[test]
fn where_the_earth_is_a_rod_breakers_trip_on_what_flows_into_it() {
    let halls = family("halls");
    let rated = |family: &Family, number| {
        let drill = slotwise::drill::Drill::draw(family, 1, number, &Default::default()).unwrap();
        let is_tt = drill.circuit_file.contains("earthing: Tt");
        let breakers = &drill.circuit.parts().branch_circuits;
        let rated: Vec<_> = breakers.iter().map(|one| one.breaker.residual_trip_ampere).collect();
        (is_tt, rated)
    };
    let drawn: Vec<_> = (0..24).map(|number| rated(&halls, number)).collect();
    assert!(drawn.iter().any(|(is_tt, _)| *is_tt) && drawn.iter().any(|(is_tt, _)| !is_tt));
    for (is_tt, rated) in drawn {
        assert!(rated.iter().all(|one| one.is_some() == is_tt), "{is_tt} {rated:?}");
    }
    // What a breaker says of itself goes before.
    let own = "(amperes: 32, ground_fault_milliamperes: 100, ";
    let text = family_text("halls").replace("(amperes: 32, ", own);
    let halls = Family::read(&text).unwrap();
    let mut rated = (0..24).flat_map(|number| rated(&halls, number).1);
    assert!(rated.any(|one| one.is_some_and(|ampere| (ampere - 0.1).abs() < 1e-9)));
}

#[test]
fn everything_wrong_with_a_family_is_said_in_one_go() {
    let text = family_text("workshops")
        .replace("boxes: (4, 8)", "boxes: (8, 4)")
        .replace("push_in: 0.4", "push_in: 4")
        .replace("\"rack\"", "\"c1\"");
    let said = Family::read(&text).unwrap_err();
    let codes: Vec<&str> = said.iter().map(|one| one.code.as_ref()).collect();
    assert_eq!(codes, ["range-upside-down", "name-form", "out-of-bounds"]);
}

#[test]
fn the_family_in_the_document_reads() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/family-file.md");
    let page = std::fs::read_to_string(path).unwrap();
    let text = page.split("```ron\n").nth(1).unwrap().split("```").next().unwrap();
    let family = Family::read(text).unwrap();
    let drill =
        slotwise::drill::Drill::draw(&family, 1, 0, &slotwise::drill::Wanted::default()).unwrap();
    assert!(drill.title.ends_with("boathouse") || drill.title.ends_with("sail loft"));
}
