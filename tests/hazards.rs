//! Hazards of conductors and people, with the figures worked out beside them.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use approx::assert_relative_eq;
use slotwise::circuit::{Circuit, file};
use slotwise::condition::Condition;
use slotwise::hazard::Severity;
use slotwise::report::hazard_words::HazardReport;
use slotwise::report::{Asked, ReadReport};

/// Two circuits of 15 A that share a neutral of 14 AWG, with a load on each.
fn brewery(legs: &str, first_watt: u32, second_watt: u32) -> Circuit {
    let text = format!(
        r#"(
            format: 1,
            name: "Brewery",
            circuits: [(id: "c1", amperes: 15, legs: {legs})],
            boxes: [
                (id: "mash", from: "c1", feet: 20),
                (id: "boil", from: "mash", feet: 10, carries: ["hot2", "neutral", "ground"],
                 device: Receptacle(hot: "hot2")),
            ],
            loads: [
                (id: "mill", at: "mash", kind: Resistive(watts: {first_watt})),
                (id: "urn", at: "boil", kind: Resistive(watts: {second_watt})),
            ],
        )"#
    );
    file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit
}

fn hazards(circuit: &Circuit, words: &str) -> Vec<HazardReport> {
    let mut condition = Condition::default();
    if !words.is_empty() {
        condition.say(circuit, words).unwrap_or_else(|problems| panic!("{problems:#?}"));
    }
    ReadReport::new(circuit, &condition, &Asked::default()).unwrap().hazards
}

fn of_kind<'h>(hazards: &'h [HazardReport], kind: &str) -> Vec<&'h HazardReport> {
    hazards.iter().filter(|hazard| hazard.kind == kind).collect()
}

#[test]
fn hots_on_two_legs_leave_their_neutral_the_difference() {
    let brewery = brewery(r#"["L1", "L2"]"#, 1500, 1500);
    assert!(of_kind(&hazards(&brewery, ""), "neutral_overload").is_empty());
}

#[test]
fn a_shared_neutral_with_both_hots_on_one_leg_carries_the_sum_and_no_breaker_sees_it() {
    let brewery = brewery(r#"["L1", "L2"]"#, 1500, 1500);
    let found = hazards(&brewery, "c1.pole2 on L1");
    let neutral = of_kind(&found, "neutral_overload");
    assert_eq!(neutral.len(), 1, "{found:#?}");
    // Two heaters of 9.6 ohm at a little under 120 V: 2 x 12 A, 14 AWG is good for 15 A.
    let ampere = neutral[0].ampere.unwrap();
    assert!((22.0..25.0).contains(&ampere), "{ampere}");
    assert_eq!(neutral[0].severity, Severity::Danger, "above 1.45 times 15 A");
    assert_eq!(neutral[0].addresses, ["c1-mash.neutral"]);
    assert!(of_kind(&found, "overload").is_empty(), "no breaker is over its rating");
    assert!(neutral[0].threshold.contains("NEC 240.4(D)"), "{}", neutral[0].threshold);
}

#[test]
fn hots_on_one_leg_are_a_warning_before_anything_is_switched_on() {
    let brewery = brewery(r#"["L1", "L2"]"#, 1500, 1500);
    let found = hazards(&brewery, "c1.pole2 on L1; all loads off");
    let neutral = of_kind(&found, "neutral_overload");
    assert_eq!(neutral.len(), 1, "{found:#?}");
    assert_eq!(neutral[0].severity, Severity::Warning);
    // 15 A from each breaker, in phase.
    assert_relative_eq!(neutral[0].ampere.unwrap(), 30.0, epsilon = 0.1);
    assert!(neutral[0].says.contains("are on one leg"), "{}", neutral[0].says);
}

#[test]
fn a_wire_too_thin_for_its_breaker_is_an_overload_that_the_breaker_does_not_see() {
    let text = r#"(
        format: 1,
        name: "Brewery",
        circuits: [(id: "c1", amperes: 30)],
        boxes: [
            (id: "mash", from: "c1", feet: 20),
            (id: "boil", from: "mash", feet: 10, cable: (awg: 14)),
        ],
        loads: [(id: "urn", at: "boil", kind: Resistive(watts: 2400))],
    )"#;
    let circuit = file::read(text).unwrap().circuit;
    let found = hazards(&circuit, "");
    let thin = of_kind(&found, "conductor_overload");
    assert_eq!(thin.len(), 1, "{found:#?}");
    // 20 A at 120 V, somewhat less with what the wires drop; 10 AWG before it is good for 30 A.
    let ampere = thin[0].ampere.unwrap();
    assert!((18.0..20.0).contains(&ampere), "{ampere}");
    assert_eq!(thin[0].addresses, ["mash-boil.hot"]);
    assert!(of_kind(&found, "neutral_overload").is_empty(), "nobody shares its neutral");
}

#[test]
fn an_overload_that_the_breaker_sees_is_said_of_the_breaker_alone() {
    let brewery = brewery(r#"["L1", "L2"]"#, 2000, 60);
    let found = hazards(&brewery, "");
    assert_eq!(of_kind(&found, "overload").len(), 1, "{found:#?}");
    assert!(of_kind(&found, "conductor_overload").is_empty(), "{found:#?}");
}

#[test]
fn a_stated_ampacity_stands_above_that_of_the_size() {
    let text = r#"(
        format: 1,
        name: "Brewery",
        circuits: [(id: "c1", amperes: 15)],
        boxes: [(id: "mash", from: "c1", feet: 20, cable: (ampacity_amperes: 8))],
        loads: [(id: "urn", at: "mash", kind: Resistive(watts: 1200))],
    )"#;
    let circuit = file::read(text).unwrap().circuit;
    assert_eq!(of_kind(&hazards(&circuit, ""), "conductor_overload").len(), 1);
}

#[test]
fn a_person_on_a_live_neutral_is_told_with_edition_percentile_and_path() {
    let studio = file::read(include_str!("../circuits/pottery-studio.ron")).unwrap().circuit;
    let found = hazards(&studio, "neutral open at kiln, line side");
    let live = of_kind(&found, "energised_neutral")[0];
    let person = live.person.as_deref().unwrap();
    for part in ["hand to feet", "IEC 60479-1:2018", "5th percentile", "dry"] {
        assert!(person.contains(part), "{person}");
    }
    // 120 V behind the heater's 12 ohm and an ohm of earth leave 118.3 V on the person. Between the
    // rows of 100 V (990 ohm) and 125 V (900 ohm) the table then gives 924 ohm.
    assert_relative_eq!(live.ampere.unwrap(), 120.0 / (12.0 + 1.0 + 924.0), max_relative = 0.005);
    assert!(live.says.contains("enough to stop the heart"), "{}", live.says);
    assert!(live.threshold.contains("a warning"), "{}", live.threshold);
}

#[test]
fn energised_metal_comes_before_heat_and_heat_before_overload() {
    let brewery = brewery(r#"["L1", "L2"]"#, 1500, 1500);
    let words =
        "c1.pole2 on L1; hot 100 milliohm at mash, line side; neutral open at boil, line side";
    let kinds: Vec<&str> = hazards(&brewery, words).iter().map(|hazard| hazard.kind).collect();
    let place = |kind| kinds.iter().position(|known| *known == kind).expect(kind);
    assert!(place("energised_neutral") < place("heating_joint"), "{kinds:?}");
    assert!(place("heating_joint") < place("neutral_overload"), "{kinds:?}");
}

/// A still room whose kettle is known only as a range.
fn still_room(watts: u32, range: &str) -> Circuit {
    let text = format!(
        r#"(
            format: 1,
            name: "Still room",
            circuits: [(id: "c1", amperes: 15)],
            boxes: [(id: "shelf", from: "c1", feet: 20), (id: "vat", from: "shelf", feet: 15)],
            loads: [(id: "kettle", at: "vat", kind: Resistive(watts: {watts}){range})],
        )"#
    );
    file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit
}

#[test]
fn what_only_the_end_of_a_range_shows_is_said_as_what_may_be() {
    let sure = still_room(1500, "");
    assert!(hazards(&sure, "").is_empty(), "1500 W on 15 A are well");
    let unsure = still_room(1700, ", watts_between: (1200, 2200)");
    let found = hazards(&unsure, "");
    let [overload] = of_kind(&found, "overload")[..] else { panic!("{found:?}") };
    assert!(overload.may_be && overload.says.starts_with("May be, by the ranges stated: "));
    // 2200 W are rated at 120 V, a little of which the cable takes.
    assert_relative_eq!(overload.ampere.unwrap(), 18.2, max_relative = 0.03);
    let heavy = still_room(2200, ", watts_between: (2100, 2300)");
    let found = hazards(&heavy, "");
    let [overload] = of_kind(&found, "overload")[..] else { panic!("{found:?}") };
    assert!(!overload.may_be, "said once, as what is so");
}

#[test]
fn a_danger_that_may_be_comes_before_a_warning_that_is() {
    let found = hazards(
        &still_room(1700, ", watts_between: (1200, 2200)"),
        "neutral open at vat, line side; hot 30 milliohm at shelf, line side",
    );
    let severities: Vec<_> = found.iter().map(|hazard| hazard.severity).collect();
    assert!(severities.is_sorted(), "{severities:?}");
}

/// Two circuits on one leg and one on the other, with a lamp that is wired in.
const FELT_WORKS: &str = r#"(
    format: 1,
    name: "Felt works",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20), (id: "c3", amperes: 15, leg: "L2")],
    boxes: [
        (id: "press", from: "c1", feet: 30),
        (id: "vat", from: "press", feet: 12),
        (id: "office", from: "c2", feet: 25),
        (id: "door", from: "c3", feet: 20, device: Switch()),
        (id: "yard", from: "door", feet: 15, carries: ["switched", "neutral", "ground"], devices: []),
    ],
    loads: [
        (id: "lamp", at: "yard", kind: Filament(watts: 60), wired: true, across: ("switched", "neutral")),
    ],
)"#;

#[test]
fn a_circuit_that_stays_live_with_its_breaker_off_is_a_danger() {
    let works = file::read(FELT_WORKS).unwrap().circuit;
    let live = |words: &str| {
        let found = hazards(&works, words);
        let of_it = of_kind(&found, "live_with_breaker_off");
        of_it.first().map(|hazard| (hazard.severity, hazard.addresses.clone()))
    };
    let both = vec!["press.hot".to_owned(), "vat.hot".to_owned()];
    for words in [
        "hots of press and office tied; breaker c1 off",
        "hot of cable c1-press, end a, landed on c2.hot; breaker c1 off",
        "contact:c1-press.a.hot and contact:c2-office.a.hot exchanged; breaker c1 off",
    ] {
        assert_eq!(live(words), Some((Severity::Danger, both.clone())), "{words}");
    }
    assert_eq!(live("breaker c1 off"), None, "it is dead");
    assert_eq!(live("hots of press and office tied"), None, "nobody takes it for dead");
    assert_eq!(live("hots of press and office tied; breaker c1 off; breaker c2 off"), None);
}

#[test]
fn a_live_neutral_in_a_box_without_a_receptacle_is_a_danger_too() {
    let works = file::read(FELT_WORKS).unwrap().circuit;
    let found = hazards(&works, "neutral open at c3, bar; switch door on");
    let live = of_kind(&found, "energised_neutral");
    assert!(live[0].addresses.contains(&"yard.splice.neutral".to_owned()), "{live:#?}");
}

#[test]
fn hots_of_a_multiwire_circuit_whose_handles_are_not_tied_share_a_neutral_and_nothing_strays() {
    let brewery = |tied: bool| {
        let text = format!(
            r#"(format: 1, name: "Brewery",
            circuits: [(id: "c1", amperes: 15, legs: ["L1", "L2"], tied: {tied})],
            boxes: [(id: "mash", from: "c1", feet: 20), (id: "boil", from: "mash", feet: 10,
                carries: ["hot2", "neutral", "ground"], device: Receptacle(hot: "hot2"))],
            loads: [(id: "mill", at: "mash", kind: Resistive(watts: 1400)),
                (id: "urn", at: "boil", kind: Resistive(watts: 300))])"#
        );
        file::read(&text).unwrap().circuit
    };
    for tied in [true, false] {
        assert!(of_kind(&hazards(&brewery(tied), ""), "stray_current").is_empty(), "{tied}");
        let found = hazards(&brewery(tied), "bootleg ground at mash");
        assert!(!of_kind(&found, "stray_current").is_empty(), "{tied}: {found:#?}");
    }
}

#[test]
fn a_lost_leg_puts_no_second_hot_on_a_shared_neutral() {
    let brewery = brewery(r#"["L1", "L2"]"#, 1500, 100);
    assert!(of_kind(&hazards(&brewery, "leg L1 lost"), "neutral_overload").is_empty());
}
