//! Why a terminal is where it is, in the one sentence a practitioner would accept.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use slotwise::circuit::file;
use slotwise::condition::Condition;
use slotwise::report::WhyReport;

/// A dovecote: three boxes, a fan at the last; `extra` states what a test needs besides.
fn dovecote(extra: &str) -> String {
    format!(
        r#"(
        format: 1,
        name: "Dovecote",
        {extra}
        circuits: [(id: "c1", amperes: 15)],
        boxes: [
            (id: "door", from: "c1", feet: 20),
            (id: "loft", from: "door", feet: 15),
            (id: "roost", from: "loft", feet: 15),
        ],
        loads: [(id: "fan", at: "roost", kind: Resistive(watts: 300))],
    )"#
    )
}

#[track_caller]
fn why(text: &str, address: &str, sentences: &str) -> WhyReport {
    let circuit = file::read(text).unwrap().circuit;
    let mut condition = Condition::default();
    condition.say(&circuit, sentences).unwrap();
    WhyReport::new(&circuit, &condition, &address.into()).unwrap()
}

#[track_caller]
fn says(address: &str, sentences: &str, parts: &[&str]) {
    let says = why(&dovecote(""), address, sentences).says;
    for part in parts {
        assert!(says.contains(part), "`{part}` is not in: {says}");
    }
}

#[test]
fn a_sound_hot_is_joined_to_its_leg_by_conductors_alone() {
    says("roost.hot", "", &["L1 of the supply by conductors and joints alone"]);
    let report = why(&dovecote(""), "roost.hot", "");
    assert_eq!(report.feeds[0].stops.last().map(String::as_str), Some("roost"));
    assert!(!report.says.contains("That is"), "{}", report.says);
}

#[test]
fn an_open_hot_hangs_on_the_neutral_through_what_is_plugged_in() {
    says(
        "loft.hot",
        "hot open at loft, line side",
        &[
            "nothing live feeds it",
            "fan",
            "No current flows past the open: hot open at loft, line side",
        ],
    );
}

#[test]
fn an_open_neutral_hangs_on_the_hot_through_the_fan_and_nothing_drops() {
    says(
        "loft.neutral",
        "neutral open at loft, line side",
        &[
            "hangs on L1 of the supply through the fan",
            "so nothing drops",
            "a real feed, not a phantom",
            "No current flows past the open: neutral open at loft, line side",
        ],
    );
    let report = why(&dovecote(""), "loft.neutral", "neutral open at loft, line side");
    let stops = report.feeds[0].stops.join(" -> ");
    assert!(stops.contains("through the fan -> roost -> cable loft-roost -> loft"), "{stops}");
}

#[test]
fn a_break_inside_a_cable_is_named_too() {
    says(
        "roost.neutral",
        "neutral broken in cable loft-roost, halfway",
        &["No current flows past the open: neutral broken in cable loft-roost, halfway"],
    );
}

#[test]
fn a_floating_neutral_is_held_by_capacitance_and_told_what_cuts_it_off() {
    says(
        "loft.neutral",
        "neutral open at loft, line side; fan unplugged",
        &["floats at", "% to ground", "What cuts it off: neutral open at loft, line side"],
    );
}

#[test]
fn a_bootleg_ground_is_borrowed_from_the_neutral() {
    says(
        "loft.ground",
        "ground open at loft, pigtail; bootleg ground at loft",
        &["It has no ground of its own", "the neutral"],
    );
    says(
        "loft.ground",
        "ground open at loft, pigtail; bootleg ground at loft; hot and neutral exchanged at loft",
        &["That is the hot itself where the ground belongs", "live"],
    );
}

#[test]
fn an_exchange_puts_the_hot_on_the_neutral_contact() {
    says(
        "loft.neutral",
        "hot and neutral exchanged at loft",
        &["That is the hot itself on a neutral contact (hot and neutral exchanged at loft)"],
    );
    says(
        "loft.hot",
        "hot and neutral exchanged at loft",
        &["That is no hot: this contact is on the neutral of the supply"],
    );
}

#[test]
fn a_lost_neutral_of_two_legs_hangs_between_them() {
    let text = r#"(
        format: 1,
        name: "Dovecote",
        circuits: [(id: "c1", amperes: 15, legs: ["L1", "L2"], tied: true)],
        boxes: [
            (id: "door", from: "c1", feet: 20),
            (id: "loft", from: "door", feet: 15,
             device: Duplex(top: "hot", bottom: "hot2", hot_tab: Broken)),
        ],
        loads: [
            (id: "fan", at: "door", kind: Resistive(watts: 300)),
            (id: "lamp", at: "loft.bottom", kind: Resistive(watts: 100)),
        ],
    )"#;
    let says = why(text, "door.neutral", "neutral open at door, line side").says;
    for part in [
        "hangs between L1 of the supply through the fan and L2 of the supply through the lamp",
        "No current flows past the open: neutral open at door, line side",
    ] {
        assert!(says.contains(part), "{says}");
    }
}

#[test]
fn a_lost_service_neutral_hangs_between_the_loads_and_the_soil() {
    says(
        "roost.neutral",
        "service neutral lost",
        &["hangs between", "the soil through the earth electrode panel", "the fan"],
    );
}

#[test]
fn a_terminal_that_nothing_holds_has_no_potential() {
    let text = dovecote("defaults: (cable: (awg: 14, capacitance: Off, insulation: Off)),");
    let says = why(&text, "loft.neutral", "neutral open at loft, line side; fan unplugged").says;
    assert!(says.contains("no potential to earth"), "{says}");
}

#[test]
fn a_leak_is_no_solid_connection() {
    let leak = "hot and ground bridged at roost through 1 Mohm; ground open at roost, line side";
    let said = why(&dovecote(""), "roost.ground", leak).says;
    assert!(said.contains("through the 1 megohm of leakage"), "{said}");
    assert!(said.contains("a leak and no solid connection: at most 0.12 mA"), "{said}");
    assert!(!said.contains("alone") && !said.contains("the hot itself"), "{said}");
    // Metal on metal is what it was.
    let solid = "hot and ground bridged at roost; ground open at roost, line side";
    says("roost.ground", solid, &["by conductors and joints alone", "That is the hot itself"]);
}

#[test]
fn a_line_near_earth_is_a_line_all_the_same_where_the_supply_is_off_earth() {
    let text = r#"(
        format: 1,
        name: "Night school",
        supply: (system: Single230, earthing: Tt),
        circuits: [(id: "c1", amperes: 16)],
        boxes: [(id: "sink", from: "c1", metres: 6), (id: "easel", from: "sink", metres: 5)],
        loads: [(id: "urn", at: "easel", kind: Resistive(watts: 1500))],
    )"#;
    let lifted = "electrode transformer open; neutral and ground exchanged at easel, line side";
    let hot = why(text, "sink.hot", lifted).says;
    assert!(!hot.contains("That is no line"), "{hot}");
    assert!(hot.contains("That is the line where it belongs: the supply is off earth"), "{hot}");
    let twisted = format!("{lifted}; hot and neutral exchanged at sink");
    let neutral = why(text, "sink.neutral", &twisted).says;
    assert!(neutral.contains("That is the line itself on a neutral contact"), "{neutral}");
    let hot = why(text, "sink.hot", &twisted).says;
    assert!(hot.contains("That is no line: this contact is on the neutral"), "{hot}");
}

#[test]
fn an_open_handle_is_what_cuts_a_terminal_off() {
    says("roost.hot", "breaker c1 off", &["No current flows past the open: breaker c1 off."]);
    says("door.hot", "breaker c1 off; fan unplugged", &["What cuts it off: breaker c1 off."]);
}
