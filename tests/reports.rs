//! What reports say of conditions that are easily said wrongly.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use slotwise::circuit::{Circuit, file};
use slotwise::condition::Condition;
use slotwise::report::read::Held;
use slotwise::report::text::{self, Emphasis};
use slotwise::report::{Asked, ReadReport, WhyReport};

/// Five receptacles and what `more` adds to the file.
fn studio(cable: &str, loads: &str) -> Circuit {
    let text = format!(
        r#"(format: 1, name: "Shed", defaults: (cable: ({cable})),
            circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 20)],
            loads: [{loads}])"#
    );
    file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit
}

fn condition(circuit: &Circuit, words: &str) -> Condition {
    let mut condition = Condition::default();
    condition.say(circuit, words).unwrap_or_else(|problems| panic!("{problems:#?}"));
    condition
}

fn report(circuit: &Circuit, words: &str) -> ReadReport {
    ReadReport::new(circuit, &condition(circuit, words), &Asked::default()).unwrap()
}

fn held(report: &ReadReport, address: &str) -> Held {
    let slots = report.outlets.iter().flat_map(|outlet| &outlet.slots);
    slots.into_iter().find(|slot| slot.address == address).unwrap().held
}

const OPEN: &str = "neutral open at kiln, line side";

#[test]
fn a_conductor_that_only_capacitance_holds_is_said_to_float() {
    let circuit = studio("awg: 12", "");
    let report = report(&circuit, "neutral open at door, line side");
    assert_eq!(held(&report, "kiln.neutral"), Held::Floating);
    assert_eq!(held(&report, "kiln.hot"), Held::Firm);
    let kinds: Vec<&str> = report.hazards.iter().map(|hazard| hazard.kind).collect();
    assert_eq!(kinds, ["open_neutral"], "nobody feels it yet");
    let text = text::read(&report, Emphasis::PLAIN);
    assert!(text.contains('~') && text.contains("floating:"), "{text}");
}

#[test]
fn a_conductor_joined_to_nothing_at_all_is_said_to_be_undetermined() {
    let circuit = studio("awg: 12, capacitance: Off, insulation: Off", "");
    let report = report(&circuit, OPEN);
    assert_eq!(held(&report, "kiln.neutral"), Held::Undetermined);
    let text = text::read(&report, Emphasis::PLAIN);
    assert!(text.contains("undetermined:"), "{text}");
    let why = WhyReport::new(&circuit, &condition(&circuit, OPEN), &"kiln.neutral".into()).unwrap();
    assert!(why.says.contains("no potential to earth"), "{}", why.says);
}

#[test]
fn a_neutral_fed_through_a_load_is_firm_and_live() {
    let circuit = studio("awg: 12", r#"(id: "heater", at: "kiln", kind: Resistive(watts: 1000))"#);
    let report = report(&circuit, OPEN);
    assert_eq!(held(&report, "kiln.neutral"), Held::Firm);
    assert_eq!(report.hazards.first().map(|hazard| hazard.kind), Some("energised_neutral"));
}

#[test]
fn several_stable_states_are_all_told_and_the_reached_one_marked() {
    // 250 W behind 12 ohm runs at 84.5 V; at or below 30 V it is cut out, 3.6 ohm, at 27.7 V.
    let circuit = studio(
        "awg: 12",
        r#"(id: "charger", at: "kiln",
            kind: Electronics(watts: 250, power_factor: 1, cut_out_volts: 30))"#,
    );
    let report = report(&circuit, "hot 12 ohm at kiln, line side");
    assert_eq!(report.stable_states.len(), 2, "{:#?}", report.stable_states);
    assert_eq!(report.stable_states.iter().filter(|state| state.reached).count(), 1);
    let text = text::read(&report, Emphasis::PLAIN);
    assert!(text.contains("More than one stable state"), "{text}");
    assert!(text.contains("  * charger running at"), "{text}");
    assert!(text.contains("    charger cut out at"), "{text}");
}

#[test]
fn a_short_circuit_is_a_danger_until_its_breaker_trips() {
    let circuit = studio("awg: 12", "");
    let mut condition = Condition::default();
    condition.say(&circuit, "hot and ground bridged at kiln").unwrap();
    let before = Asked { before_trips: true, ..Asked::default() };
    let report = ReadReport::new(&circuit, &condition, &before).unwrap();
    let overload = report.hazards.iter().find(|hazard| hazard.kind == "overload").unwrap();
    assert!(overload.ampere.unwrap() > 200.0);
    assert!(!report.protection.shown_after_trips);
    let after = ReadReport::new(&circuit, &condition, &Asked::default()).unwrap();
    assert!(after.protection.shown_after_trips);
    assert!(after.hazards.iter().all(|hazard| hazard.kind != "overload"), "{:?}", after.hazards);
    assert_eq!(after.condition, ["hot and ground bridged at kiln"], "the trip is no fault of his");
}

#[test]
fn names_longer_than_their_column_are_kept_whole_in_eighty_columns() {
    let long = "the-corner-behind-the-second-drying-rack";
    let text = format!(
        r#"(format: 1, name: "Shed", circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "{long}", from: "c1", feet: 30)],
            loads: [(id: "a-lamp-with-a-very-long-name", at: "{long}", kind: Filament(watts: 60))])"#
    );
    let circuit = file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit;
    let asked = Asked { currents: true, ..Asked::default() };
    let report = ReadReport::new(&circuit, &Condition::default(), &asked).unwrap();
    let text = text::read(&report, Emphasis::PLAIN);
    assert!(text.contains(long) && text.contains("a-lamp-with-a-very-long-name"), "{text}");
    for line in text.lines() {
        // A name by itself may be longer than a line; figures never are.
        let alone = line.trim().split(' ').count() == 1;
        assert!(alone || line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn every_sentence_of_a_report_reads_back_as_the_same_condition() {
    let circuit = studio("awg: 12", r#"(id: "heater", at: "kiln", kind: Resistive(watts: 1000))"#);
    let first =
        report(&circuit, "open neutral at kiln, upstream; heater off; bootleg ground at door");
    let again = report(&circuit, &first.condition.join("; "));
    assert_eq!(first, again);
}
