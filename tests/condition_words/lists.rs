//! Lists: whatever a sentence names is of one fault of it, or is answered.

use slotwise::circuit::Circuit;
use slotwise::condition::words::parse;

use super::studio::studio;

/// A house whose heater and drill have metal cases.
fn with_cases() -> Circuit {
    let text = r#"(
        format: 1,
        circuits: [(id: "c1", amperes: 20)],
        boxes: [(id: "door", from: "c1", feet: 30), (id: "sink", from: "door", feet: 12)],
        loads: [
            (id: "heater", at: "door", kind: Resistive(watts: 1500), metal_case: true),
            (id: "drill", at: "sink", kind: Motor(watts: 700), metal_case: true),
        ],
    )"#;
    slotwise::circuit::file::read(text).unwrap().circuit
}

/// One sentence does what these do, said one by one.
#[track_caller]
fn is_as(circuit: &Circuit, text: &str, each: &[&str]) {
    let edits = parse(circuit, text).unwrap_or_else(|problems| {
        panic!("{}", problems.iter().map(|p| p.render(text)).collect::<Vec<_>>().join("\n"))
    });
    let one_by_one: Vec<_> = each.iter().flat_map(|one| parse(circuit, one).unwrap()).collect();
    assert_eq!(edits, one_by_one, "{text}");
}

/// The sentence is refused, and the answer points at what has no part in it.
#[track_caller]
fn is_refused(text: &str, at: &str) {
    let problems = parse(&studio(), text).expect_err(text);
    let found = &text[problems[0].span.clone()];
    assert_eq!(found, at, "{text}: {}", problems[0].message);
    if let Some(example) = &problems[0].example {
        assert!(parse(&studio(), example).is_ok(), "{example}");
    }
}

#[test]
fn two_boxes_have_two_faults() {
    let studio = studio();
    let two = ["hot and neutral exchanged at kiln", "hot and neutral exchanged at sink"];
    for text in [
        "polarity reversed at kiln and sink",
        "polarity reversed at kiln and at sink",
        "hot and neutral exchanged at kiln and sink",
    ] {
        is_as(&studio, text, &two);
    }
    is_as(
        &studio,
        "bootleg ground at kiln and sink",
        &["bootleg ground at kiln", "bootleg ground at sink"],
    );
    is_as(
        &studio,
        "hot touching soil at sink and kiln",
        &["hot touching soil at sink", "hot touching soil at kiln"],
    );
    is_as(
        &studio,
        "moisture between hot and ground at desk and sink, 50 kohm",
        &[
            "moisture between hot and ground at desk, 50 kohm",
            "moisture between hot and ground at sink, 50 kohm",
        ],
    );
}

#[test]
fn every_conductor_of_a_list_is_open_at_every_box_of_it() {
    is_as(
        &studio(),
        "neutral and ground open at sink and desk",
        &[
            "neutral open at sink",
            "ground open at sink",
            "neutral open at desk",
            "ground open at desk",
        ],
    );
    is_as(
        &studio(),
        "neutral at sink and ground at desk open",
        &["neutral open at sink", "ground open at desk"],
    );
    is_as(
        &studio(),
        "neutral open at kiln, line side and load side to sink",
        &["neutral open at kiln, line side", "neutral open at kiln, load side to sink"],
    );
    is_as(
        &studio(),
        "electrode panel and neutral open at sink",
        &["electrode panel open", "neutral open at sink"],
    );
    is_as(
        &studio(),
        "hot and ground touching in cable door-kiln and kiln-sink at 30 %",
        &[
            "hot and ground touching in cable door-kiln at 30 %",
            "hot and ground touching in cable kiln-sink at 30 %",
        ],
    );
}

#[test]
fn insulation_that_breaks_down_in_two_appliances_joins_each_case_to_its_own_hot() {
    let house = with_cases();
    is_as(
        &house,
        "insulation breakdown in heater and drill, hot to frame, 500 ohm",
        &[
            "insulation breakdown in heater, hot to frame, 500 ohm",
            "insulation breakdown in drill, hot to frame, 500 ohm",
        ],
    );
}

#[test]
fn several_windings_tabs_and_breakers_are_all_meant() {
    let studio = studio();
    is_as(&studio, "winding L1 and L2 at 132 V", &["winding L1 at 132 V", "winding L2 at 132 V"]);
    is_as(
        &studio,
        "hot and neutral tab broken at dup",
        &["hot tab broken at dup", "neutral tab broken at dup"],
    );
    is_as(&studio, "c1 and c3 on L2", &["c1 on L2", "c3 on L2"]);
    is_refused("supply 90 % and L1 80 %", "supply 90 % and L1 80 %");
}

#[test]
fn a_side_said_before_the_verb_is_of_both_conductors() {
    is_as(
        &studio(),
        "hot and neutral, line side, exchanged at kiln",
        &["hot and neutral exchanged at kiln, line side"],
    );
}

#[test]
fn a_share_of_a_cable_is_counted_from_the_end_that_is_said() {
    let studio = studio();
    for (said, from_supply) in [
        ("neutral broken in cable kiln-sink 30 % from sink", "70 %"),
        ("neutral broken in cable kiln-sink 30 % from kiln", "30 %"),
    ] {
        let plain = format!("neutral broken in cable kiln-sink at {from_supply}");
        is_as(&studio, said, &[&plain]);
    }
    is_as(
        &studio,
        "hot and ground touching in cable kiln-sink 30 % from sink",
        &["hot and ground touching in cable kiln-sink at 70 %"],
    );
    is_refused("neutral broken in cable kiln-sink 30 % from door", "from door");
}

#[test]
fn ohms_from_one_conductor_to_another_bridge_them() {
    is_as(
        &studio(),
        "30 ohm neutral to ground at sink",
        &["neutral and ground bridged at sink through 30 ohm"],
    );
}

#[test]
fn what_a_conductor_is_parted_from_is_no_second_fault() {
    is_refused("neutral not connected to ground at sink", "to ground at sink");
    is_refused("hot not connected to neutral at sink", "to neutral at sink");
    is_refused("neutral disconnected from ground at sink", "from ground at sink");
    is_refused("neutral open at sink from c2", "from c2");
    is_refused("neutral open at sink on c1", "on c1");
}

#[test]
fn nothing_that_was_said_is_left_out() {
    is_refused("heater on heater off", "on heater");
    is_refused("heater on c1 off", "on c1");
    is_refused("breaker c1 off, 5 ohm", "5 ohm");
    is_refused("everything at kiln off", "kiln");
    is_refused("hot and neutral exchanged at kiln, called x", "called x");
    is_refused("neutrals of desk and sink tied at kiln", "kiln");
    is_refused("hot at sink and neutral at kiln and desk bridged", "desk");
    is_refused("hot at kiln touching soil at sink", "soil at sink");
    is_refused("hot of c1 landed on c2 and c3", "c3");
    is_refused("hot and neutral of c1 landed on c2", "neutral of c1");
    is_refused("legs of c1 and c2 exchanged at kiln", "kiln");
    is_refused("hot touching soil at sink and kiln, called stake", "called stake");
}

#[test]
fn what_is_denied_is_never_offered_as_what_was_meant() {
    for text in ["hot and neutral not exchanged at kiln", "hot at kiln not touching ground"] {
        let problem = parse(&studio(), text).unwrap_err().remove(0);
        assert!(problem.message.contains("`not connected`"), "{}", problem.message);
        let example = problem.example.unwrap();
        assert!(!example.contains("exchanged") && !example.contains("touching"), "{example}");
        assert!(!example.contains("connected exchanged"), "{example}");
    }
}

#[test]
fn a_list_parted_by_commas_alone_is_answered_with_the_list_that_is_heard() {
    for (text, example) in [
        ("c1, c2 and c3 off", "c1, and c2 and c3 off"),
        ("hot, neutral and ground open at sink", "hot, and neutral and ground open at sink"),
    ] {
        let problem = parse(&studio(), text).unwrap_err().remove(0);
        assert_eq!(problem.example.as_deref(), Some(example), "{}", problem.message);
    }
}
