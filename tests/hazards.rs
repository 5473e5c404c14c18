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

/// The places of metal on which a fault would stay, of each severity.
fn not_cleared(circuit: &Circuit, words: &str) -> Vec<(Severity, Vec<String>)> {
    let found = hazards(circuit, words);
    let of_it = of_kind(&found, "fault_not_cleared");
    of_it.iter().map(|hazard| (hazard.severity, hazard.addresses.clone())).collect()
}

/// A smithy: a hearth and a bench with a grinder, and a boiler that is wired in.
fn smithy(supply: &str, circuit: &str) -> Circuit {
    let text = format!(
        r#"(
            format: 1,
            name: "Smithy",
            {supply}
            circuits: [({circuit})],
            boxes: [
                (id: "hearth", from: "c1", metres: 12),
                (id: "bench", from: "hearth", metres: 6),
                (id: "cellar", from: "bench", metres: 6, devices: []),
            ],
            loads: [
                (id: "grinder", at: "bench", kind: Motor(watts: 400), on: false),
                (id: "boiler", at: "cellar", kind: Resistive(watts: 900), wired: true),
            ],
        )"#
    );
    file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit
}

const NORTH_AMERICAN: &str = r#"id: "c1", amperes: 15"#;

#[test]
fn a_ground_that_is_open_leaves_every_case_past_it_with_nothing_that_would_trip() {
    let smithy = smithy("", NORTH_AMERICAN);
    assert_eq!(not_cleared(&smithy, ""), vec![], "a sound circuit clears its faults");
    let beyond = ["bench.ground", "boiler.frame"].map(str::to_owned).to_vec();
    let found = not_cleared(&smithy, "ground open at bench, line side");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, Severity::Warning);
    assert!(found[0].1.contains(&beyond[0]), "{found:?}");
    assert!(!found[0].1.contains(&"hearth.ground".to_owned()), "{found:?}");
    let at_boiler = not_cleared(&smithy, "ground open at cellar, line side");
    assert_eq!(at_boiler, vec![(Severity::Warning, vec![beyond[1].clone()])]);
}

#[test]
fn with_its_breaker_off_no_hot_can_reach_the_metal() {
    let smithy = smithy("", NORTH_AMERICAN);
    assert_eq!(not_cleared(&smithy, "ground open at bench, line side; breaker c1 off"), vec![]);
}

#[test]
fn metal_that_is_live_already_is_not_said_to_come_alive() {
    let smithy = smithy("", NORTH_AMERICAN);
    let words = "ground open at bench, line side; hot and ground of bench bridged";
    let found = hazards(&smithy, words);
    assert_eq!(of_kind(&found, "energised_ground").len(), 1, "{found:#?}");
    assert!(of_kind(&found, "fault_not_cleared").is_empty(), "{found:#?}");
}

#[test]
fn without_a_main_bond_the_soil_does_not_trip_a_breaker() {
    let smithy = smithy("", NORTH_AMERICAN);
    let found = hazards(&smithy, "main bond missing");
    let of_it = of_kind(&found, "fault_not_cleared");
    assert_eq!(of_it.len(), 1, "{found:#?}");
    assert!(of_it[0].addresses.contains(&"hearth.ground".to_owned()));
    // 120 V through two electrodes of 25 ohm each at most, and never the 15 A of the breaker.
    let ampere = of_it[0].ampere.unwrap();
    assert!((1.0..15.0).contains(&ampere), "{ampere}");
    assert!(of_it[0].says.contains("nothing has to trip"), "{}", of_it[0].says);
}

#[test]
fn a_bad_ground_joint_lets_a_breaker_take_its_hour() {
    let smithy = smithy("", NORTH_AMERICAN);
    let found = hazards(&smithy, "ground at hearth, line side, 4 ohm");
    let of_it = of_kind(&found, "fault_not_cleared");
    assert_eq!(of_it.len(), 1, "{found:#?}");
    // 120 V over 4 ohm and some 0.4 ohm of wire: 27 A, 1.8 times 15 A; the joint has 4/4.4 of it.
    let (ampere, volt) = (of_it[0].ampere.unwrap(), of_it[0].volt.unwrap());
    assert!((25.0..29.0).contains(&ampere), "{ampere}");
    assert_relative_eq!(volt, 4.0 * ampere, max_relative = 0.08);
    assert!(of_it[0].says.contains("for up to"), "{}", of_it[0].says);
}

#[test]
fn on_a_rod_of_its_own_only_a_residual_device_clears_a_fault() {
    let tt = "supply: (system: Single230, earthing: Tt, panel_electrode_ohms: 80),";
    let plain = smithy(tt, r#"id: "c1", amperes: 16"#);
    let [(severity, places)] = &not_cleared(&plain, "")[..] else { panic!("one") };
    assert_eq!((*severity, places.len()), (Severity::Warning, 3), "{places:?}");
    let guarded = smithy(tt, r#"id: "c1", amperes: 16, ground_fault_milliamperes: 30"#);
    assert_eq!(not_cleared(&guarded, ""), vec![], "2.6 A trip 30 mA");
    // Without the rod nothing flows until somebody is the way.
    let found = not_cleared(&guarded, "panel electrode lost");
    assert_eq!(found.iter().map(|(severity, _)| *severity).collect::<Vec<_>>(), [Severity::Notice]);
}

#[test]
fn an_old_two_wire_run_behind_a_ground_fault_breaker_is_worth_a_notice_and_no_more() {
    let hayloft = |guard: &str| {
        let text = format!(
            r#"(format: 1, name: "Hayloft",
            circuits: [(id: "c1", amperes: 15{guard})],
            boxes: [(id: "hatch", from: "c1", feet: 40, carries: ["hot", "neutral"])])"#
        );
        file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit
    };
    let hatch = vec!["hatch.ground".to_owned()];
    let guarded = not_cleared(&hayloft(", ground_fault_milliamperes: 6"), "");
    assert_eq!(guarded, vec![(Severity::Notice, hatch.clone())]);
    assert_eq!(not_cleared(&hayloft(""), ""), vec![(Severity::Warning, hatch)]);
}

#[test]
fn a_socket_too_far_for_its_breaker_is_said_to_stay_live() {
    let far = |metres: u32| {
        let text = format!(
            r#"(format: 1, name: "Far field", supply: (system: Single230, earthing: TnS),
            circuits: [(id: "c1", amperes: 16, curve: C)],
            boxes: [(id: "pump", from: "c1", metres: {metres}, cable: (mm2: 1.5),
                device: Receptacle(configuration: "CEE 7/3"))])"#
        );
        file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit
    };
    assert_eq!(not_cleared(&far(20), ""), vec![]);
    // 2 x 120 m of 13.6 ohm a kilometre, warm, are 3.3 ohm: 70 A, under the ten times 16 A of
    // curve C.
    let found = hazards(&far(120), "");
    let of_it = of_kind(&found, "fault_not_cleared");
    assert_eq!(of_it.len(), 1, "{found:#?}");
    let ampere = of_it[0].ampere.unwrap();
    assert!((66.0..74.0).contains(&ampere), "{ampere}");
}

fn studio(words: &str) -> Vec<HazardReport> {
    let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
    hazards(&file::read(&text).unwrap().circuit, words)
}

#[test]
fn a_case_that_stays_live_until_a_slow_breaker_trips_is_a_danger_all_the_same() {
    // 120 V over 1.5 ohm in the ground and some 0.26 ohm of wire: 68 A, 102 V on the case.
    let found = studio("hot touching frame of heater; ground 1.5 ohm at kiln, line side");
    let case = of_kind(&found, "energised_case");
    assert_eq!(case.len(), 1, "{found:#?}");
    assert_eq!(case[0].severity, Severity::Danger);
    assert!((100.0..112.0).contains(&case[0].volt.unwrap()), "{case:#?}");
    assert!(case[0].until_s.unwrap() > 10.0 && case[0].says.starts_with("For up to"), "{case:#?}");
    // A bolted fault is over before anybody is hurt by it.
    assert!(of_kind(&studio("hot touching frame of heater"), "energised_case").is_empty());
}

#[test]
fn what_a_fault_burns_in_a_wall_or_an_appliance_is_a_danger_of_fire() {
    let found = studio("moisture in cable wheel-kiln between hot and neutral, 40 ohm");
    let fire = of_kind(&found, "heating_fault");
    // 117 V² over 40 ohm.
    assert_relative_eq!(fire[0].heat_watt.unwrap(), 342.0, max_relative = 0.02);
    assert_eq!(fire[0].severity, Severity::Danger);
    let found = studio("panel.L2 touching panel.ground");
    assert!(of_kind(&found, "heating_fault")[0].ampere.unwrap() > 3000.0, "nothing trips on it");
    assert!(of_kind(&studio("bootleg ground at kiln"), "heating_fault").is_empty(), "no heat");
}

#[test]
fn current_that_strays_is_said_of_a_breaker_over_its_rating_too() {
    // 120 V over 10 ohm leave by the case; the breaker's 21 A may hold for ever.
    let found = studio("hot touching frame of heater through 10 ohm");
    assert_eq!(of_kind(&found, "overload").len(), 1);
    let stray = of_kind(&found, "stray_current");
    assert!((11.0..12.0).contains(&stray[0].ampere.unwrap()), "{found:#?}");
}

#[test]
fn a_receptacle_wired_past_its_own_ground_fault_device_is_not_protected_by_it() {
    let text = std::fs::read_to_string("circuits/tool-library.ron").unwrap();
    let library = file::read(&text).unwrap().circuit;
    let of_it = |words: &str| {
        let found = hazards(&library, words);
        of_kind(&found, "not_behind_device").iter().map(|hazard| hazard.severity).collect()
    };
    let exchanged: Vec<Severity> = of_it("line and load exchanged at grinder");
    assert_eq!(exchanged, [Severity::Warning]);
    let tripped: Vec<Severity> = of_it("line and load exchanged at grinder; grinder tripped");
    assert_eq!(tripped, [Severity::Danger], "it looks off and is not");
    let right: Vec<Severity> = of_it("ground open at sharpener, line side; grinder tripped");
    assert_eq!(right, []);
}

#[test]
fn a_bootleg_ground_with_the_ground_wire_open_hangs_all_metal_on_the_neutral() {
    let found = studio("bootleg ground at kiln; ground open at kiln, line side");
    let of_it = of_kind(&found, "ground_on_neutral");
    assert!(of_it[0].addresses.contains(&"kiln.ground".to_owned()), "{found:#?}");
    // With its wire whole it hangs on that, and the current in it is the hazard.
    assert!(of_kind(&studio("bootleg ground at kiln"), "ground_on_neutral").is_empty());
    assert!(of_kind(&studio(""), "ground_on_neutral").is_empty());
}

#[test]
fn an_empty_receptacle_with_too_much_voltage_is_a_danger_too() {
    let found = studio("neutral of c1 landed on panel.L2; all loads off");
    let of_it = of_kind(&found, "outlet_over_voltage");
    assert_eq!(of_it[0].severity, Severity::Danger);
    assert_relative_eq!(of_it[0].volt.unwrap(), 240.0, max_relative = 0.01);
    assert!(of_kind(&studio("all loads off"), "outlet_over_voltage").is_empty());
}

#[test]
fn with_the_panel_itself_live_nobody_is_sent_to_it() {
    let found = studio("service neutral lost");
    let live = of_kind(&found, "energised_ground");
    assert!(live[0].addresses.contains(&"panel.ground".to_owned()), "{live:#?}");
    for danger in &found {
        assert!(danger.advice.contains("utility"), "{danger:#?}");
        assert!(!danger.advice.contains("off at the panel"), "{danger:#?}");
    }
}

#[test]
fn a_pipe_that_its_bond_has_left_is_metal_like_any_other() {
    let text = r#"(format: 1, name: "Wash house", circuits: [(id: "c1", amperes: 20)],
        boxes: [(id: "tub", from: "c1", feet: 30)],
        bonds: [(id: "pipe", between: ("panel.ground", "water_pipe"))],
        electrodes: [(id: "street", at: "water_pipe", ohms: 50)])"#;
    let house = file::read(text).unwrap().circuit;
    let found = hazards(&house, "tub.hot and water_pipe bridged; bond pipe missing");
    let live = of_kind(&found, "energised_ground");
    assert_eq!(live[0].addresses, ["water_pipe"], "{found:#?}");
}

#[test]
fn the_heat_of_an_electrode_is_no_bad_joint() {
    let found = studio("electrode 25 ohm; service neutral lost");
    assert!(of_kind(&found, "heating_joint").is_empty(), "{found:#?}");
}

#[test]
fn a_bad_joint_of_the_service_is_for_the_utility_and_not_for_a_breaker() {
    let found = studio("service L1 5 ohm");
    let heats = of_kind(&found, "heating_joint");
    assert!(heats[0].advice.contains("No breaker makes the service dead"), "{found:#?}");
    assert!(heats[0].advice.contains("have the utility cut the supply"), "{found:#?}");
    let found = studio("hot 0.5 ohm at kiln, line side");
    assert!(of_kind(&found, "heating_joint")[0].advice.starts_with("Take the load off"));
}

fn read(text: &str) -> Circuit {
    file::read(text).unwrap_or_else(|problems| panic!("{problems:#?}")).circuit
}

/// The sentences of one kind.
fn says(circuit: &Circuit, words: &str, kind: &str) -> Vec<String> {
    of_kind(&hazards(circuit, words), kind).iter().map(|hazard| hazard.says.clone()).collect()
}

/// A wash room: a ground-fault receptacle that feeds nothing, and one past it.
const WASH_ROOM: &str = r#"(format: 1, name: "Wash room", circuits: [(id: "c1", amperes: 20)],
    boxes: [(id: "basin", from: "c1", feet: 30, device: GroundFault(feeds: false)),
            (id: "landing", from: "basin", feet: 20)],
    loads: [(id: "iron", at: "landing", kind: Resistive(watts: 900))])"#;

#[test]
fn only_what_is_behind_the_ground_fault_device_is_said_to_trip_it_when_touched() {
    let found = says(
        &read(WASH_ROOM),
        "hot and neutral exchanged at basin, line side",
        "energised_neutral",
    );
    let [live] = &found[..] else { panic!("{found:#?}") };
    assert!(live.starts_with("The neutral at basin and landing is live"), "{live}");
    assert!(live.ends_with("of a touch at basin only."), "{live}");
}

#[test]
fn a_trip_on_touch_is_promised_only_where_the_body_lets_the_must_trip_current_pass() {
    let shed = |kilohm: f64| {
        let circuit = read(
            r#"(format: 1, name: "Potting shed", circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "door", from: "c1", feet: 30, device: GroundFault(feeds: true)),
                    (id: "bench", from: "door", feet: 10)],
            loads: [(id: "drill", at: "bench", kind: Motor(watts: 300), on: false)])"#,
        );
        let words = format!(
            "ground pin not connected at drill; insulation breakdown in drill, hot to frame, \
             {kilohm} kohm"
        );
        let found = hazards(&circuit, &words);
        let case = of_kind(&found, "energised_case")[0];
        (case.ampere.unwrap(), case.says.contains("of a touch"))
    };
    // At the voltage that a body leaves there its skin lets less pass than at 120 V: up to 6 mA
    // nothing is promised (UL 943).
    let promised: Vec<(f64, bool)> = [8.0, 17.0, 17.6, 18.4, 19.0, 22.0].map(shed).to_vec();
    for (ampere, promises) in &promised {
        assert_eq!(*ampere >= 0.006, *promises, "{promised:?}");
    }
    assert!(promised[0].1 && !promised[5].1, "{promised:?}");
    // 120 V over 8 kohm and the 1750 ohm of a body at 25 V or less.
    assert_relative_eq!(promised[0].0, 120.0 / 9750.0, max_relative = 0.01);
}

/// A mill on a rod of its own: sockets behind a residual device, the lighting circuit not.
fn oil_mill(socket: &str, electrode_ohm: u32) -> Circuit {
    read(&format!(
        r#"(format: 1, name: "Oil mill",
        supply: (system: Single230, earthing: Tt, transformer_electrode_ohms: 5,
                 panel_electrode_ohms: {electrode_ohm}),
        circuits: [(id: "sockets", amperes: 16, curve: B, {socket}),
                   (id: "lights", amperes: 10, curve: B)],
        boxes: [(id: "press", from: "sockets", metres: 12, device: Receptacle(configuration: "CEE 7/3")),
                (id: "lamp_box", from: "lights", metres: 10, devices: [])],
        loads: [(id: "heater", at: "press", kind: Resistive(watts: 900)),
                (id: "lamp", at: "lamp_box", wired: true, kind: Filament(watts: 60), metal_case: true),
                (id: "fire", at: "lamp_box", wired: true, kind: Resistive(watts: 1500), metal_case: false)])"#
    ))
}

#[test]
fn a_metal_lamp_on_a_circuit_without_a_residual_device_is_looked_at_for_itself() {
    let found = not_cleared(&oil_mill("ground_fault_milliamperes: 30", 100), "");
    assert_eq!(found, vec![(Severity::Warning, vec!["lamp.frame".to_owned()])]);
}

#[test]
fn three_hundred_milliampere_protect_nobody_by_touch() {
    let at_press = |socket: &str| {
        let found = not_cleared(&oil_mill(socket, 3000), "");
        let of_it = found.iter().find(|(_, at)| at.contains(&"press.ground".to_owned()));
        of_it.map(|(severity, _)| *severity)
    };
    assert_eq!(at_press("ground_fault_milliamperes: 30"), None, "70 mA trip it");
    let delayed = "ground_fault_milliamperes: 300, ground_fault_delayed: true";
    assert_eq!(at_press(delayed), Some(Severity::Warning));
}

#[test]
fn a_boiler_too_far_for_its_breaker_is_looked_at_although_sockets_share_its_earth() {
    let circuit = read(
        r#"(format: 1, name: "Dye works", supply: (system: Single230, earthing: TnS),
        circuits: [(id: "c1", amperes: 16, curve: B), (id: "heat", amperes: 25, curve: C, cable: (mm2: 2.5))],
        boxes: [(id: "office", from: "c1", metres: 10, device: Receptacle(configuration: "CEE 7/5")),
                (id: "vat_box", from: "heat", metres: 60, devices: [])],
        loads: [(id: "vat", at: "vat_box", wired: true, kind: Resistive(watts: 3000))])"#,
    );
    let found = says(&circuit, "", "fault_not_cleared");
    let [vat] = &found[..] else { panic!("{found:#?}") };
    assert!(vat.contains("earthed metal at vat ") && vat.ends_with("until heat trips."), "{vat}");
}

#[test]
fn a_socket_circuit_has_four_tenths_of_a_second_and_a_large_fixed_one_five_seconds() {
    let within = |amperes: u32, at: &str, load: &str| {
        let text = format!(
            r#"(format: 1, name: "Saw mill", supply: (system: Single230, earthing: TnS),
            circuits: [(id: "c1", amperes: {amperes}, curve: D, cable: (mm2: 4))],
            boxes: [(id: "saw", from: "c1", metres: 110, {at})],
            loads: [(id: "blade", at: "saw", {load} kind: Motor(watts: 1500))])"#
        );
        let found = hazards(&read(&text), "");
        let of_it = of_kind(&found, "fault_not_cleared");
        of_it.first().map(|hazard| hazard.threshold.clone())
    };
    let socket = within(16, r#"device: Receptacle(configuration: "IEC 60309 16 A 2P+E")"#, "");
    assert!(socket.unwrap().starts_with("cleared within 0.4 s (IEC 60364-4-41"));
    let fixed = within(40, "devices: []", "wired: true,");
    assert!(fixed.unwrap().starts_with("cleared within 5.0 s (IEC 60364-4-41"));
}

#[test]
fn what_trips_and_leaves_the_metal_live_is_said() {
    let found = says(
        &oil_mill("ground_fault_milliamperes: 30", 100),
        "service neutral lost",
        "fault_not_cleared",
    );
    let in_vain = found.iter().find(|one| one.contains("at press ")).unwrap();
    assert!(in_vain.ends_with("although sockets trips."), "{in_vain}");
}

#[test]
fn a_neutral_on_a_bus_is_said_to_have_no_breaker() {
    let found = studio("neutral of c1 landed on panel.L2");
    let of_it = of_kind(&found, "fault_not_cleared");
    assert!(of_it[0].says.starts_with("No breaker is before the neutral at"), "{}", of_it[0].says);
    assert!(of_it[0].advice.starts_with("Switch the main off"), "{}", of_it[0].advice);
}

#[test]
fn neither_a_mains_filter_nor_a_case_on_the_soil_is_a_ground() {
    let circuit = |filter: &str| {
        read(&format!(
            r#"(format: 1, name: "Toll house",
            circuits: [(id: "c1", amperes: 15)],
            boxes: [(id: "porch", from: "c1", feet: 30)],
            loads: [(id: "stove", at: "porch", kind: Resistive(watts: 900)),
                    (id: "radio", at: "porch", kind: Electronics(watts: 100){filter})])"#
        ))
    };
    let bootleg = "bootleg ground at porch; ground open at porch, line side";
    for (filter, more) in [
        ("", ""),
        (", filter_nanofarads: 4.7", ""),
        ("", "; frame of stove touching soil through 100 ohm"),
    ] {
        let found = hazards(&circuit(filter), &format!("{bootleg}{more}"));
        assert_eq!(of_kind(&found, "ground_on_neutral").len(), 1, "{filter}{more}: {found:#?}");
    }
}

#[test]
fn wires_exchanged_at_their_own_breaker_let_nothing_stray_and_trip_no_residual_release() {
    let tannery = |guard: &str| {
        read(&format!(
            r#"(format: 1, name: "Bark house", circuits: [(id: "c1", amperes: 20{guard})],
            boxes: [(id: "pit", from: "c1", feet: 30)],
            loads: [(id: "heater", at: "pit", kind: Resistive(watts: 1200))])"#
        ))
    };
    for guard in ["", ", ground_fault_milliamperes: 5"] {
        let found = hazards(&tannery(guard), "hot and neutral exchanged at c1, load side");
        assert!(of_kind(&found, "stray_current").is_empty(), "{guard}: {found:#?}");
        let live = of_kind(&found, "energised_neutral");
        assert!(!live.is_empty() && live[0].until_s.is_none(), "{guard}: nothing trips");
    }
    let found = hazards(&tannery(""), "bootleg ground at pit");
    assert_eq!(of_kind(&found, "stray_current").len(), 1, "{found:#?}");
}

/// A scullery on a ring.
const SCULLERY: &str = r#"(format: 1, name: "Scullery", supply: (system: Single230, earthing: TnCS),
    circuits: [(id: "ring", amperes: 32, curve: B, ring: (last: "c", metres: 12),
                cable: (mm2: 2.5, ground_mm2: 1.5), ground_fault_milliamperes: 30)],
    boxes: [(id: "a", from: "ring", metres: 8), (id: "b", from: "a", metres: 8),
            (id: "c", from: "b", metres: 8)],
    loads: [(id: "kettle", at: "a", kind: Resistive(watts: 2000)),
            (id: "range", at: "b", kind: Resistive(watts: 2000))])"#;

#[test]
fn an_earth_contact_on_the_line_is_live_again_at_every_reset() {
    let scullery = read(SCULLERY);
    let found = hazards(&scullery, "line and earth exchanged at b");
    let live = of_kind(&found, "energised_ground");
    assert!(!live.is_empty(), "{found:#?}");
    assert_eq!(live[0].severity, Severity::Danger);
    assert!(of_kind(&found, "ground_on_neutral").is_empty(), "{found:#?}");
}

#[test]
fn an_open_ring_is_a_radial_too_thin_for_what_it_feeds_whatever_is_on() {
    let scullery = read(SCULLERY);
    let open = "all loads off; line open at c, load side";
    let found = hazards(&scullery, open);
    let thin = of_kind(&found, "conductor_overload");
    assert_eq!(thin.len(), 1, "{found:#?}");
    assert_relative_eq!(thin[0].ampere.unwrap(), 32.0);
    // The leg that ends at the break feeds nothing, and fuses keep the last two sockets at 26 A.
    assert_eq!(thin[0].addresses, ["ring-a.hot"]);
    assert!(of_kind(&hazards(&scullery, "all loads off"), "conductor_overload").is_empty());
}

/// A clinic on an isolated supply.
fn clinic(configuration: &str) -> Circuit {
    read(&format!(
        r#"(format: 1, name: "Clinic", words: Iec,
        supply: (system: Single230, earthing: Isolated, panel_electrode_ohms: 10),
        circuits: [(id: "ward", amperes: 16, curve: C)],
        boxes: [(id: "bed", from: "ward", metres: 25,
                 device: Receptacle(configuration: "{configuration}"))],
        loads: [(id: "warmer", at: "bed", kind: Resistive(watts: 500)),
                (id: "monitor", at: "bed", kind: Electronics(watts: 100), filter_nanofarads: 10)])"#
    ))
}

#[test]
fn a_sound_isolated_supply_is_quiet_and_its_first_fault_is_a_notice_with_any_socket() {
    for configuration in ["CEE 7/3", "BS 1363"] {
        let clinic = clinic(configuration);
        let sound = hazards(&clinic, "");
        assert!(sound.is_empty(), "{configuration}: {sound:#?}");
        let found = hazards(&clinic, "insulation breakdown in warmer, line to frame");
        let kinds: Vec<_> = found.iter().map(|one| (one.kind, one.severity)).collect();
        assert_eq!(kinds, [("first_earth_fault", Severity::Notice)], "{configuration}: {found:#?}");
        assert_relative_eq!(found[0].volt.unwrap(), 230.0, max_relative = 0.02);
    }
}

#[test]
fn a_socket_that_is_the_same_either_way_round_has_no_neutral_side_to_be_live() {
    let mill = oil_mill("ground_fault_milliamperes: 30", 100);
    assert!(says(&mill, "line and neutral exchanged at press", "energised_neutral").is_empty());
    let lost = says(&mill, "neutral open at press, line side", "energised_neutral");
    assert_eq!(lost.len(), 1, "with the heater on both its contacts are live: {lost:#?}");
}

#[test]
fn a_contact_on_either_side_is_live_by_no_design_where_its_own_breaker_is_off() {
    let dairy = read(include_str!("../circuits/dairy.ron"));
    let either = "line and neutral exchanged at office, line side";
    assert!(says(&dairy, either, "energised_neutral").is_empty());
    let fed = "c2 off; neutral open at office, line side; office.neutral and parlour.hot bridged";
    assert_eq!(says(&dairy, fed, "energised_neutral").len(), 1);
}

#[test]
fn what_is_made_for_two_hundred_and_thirty_volt_burns_out_from_a_fifth_more() {
    let circuit = read(
        r#"(format: 1, name: "Joinery", supply: (system: Wye400, earthing: TnS),
        circuits: [(id: "c1", amperes: 16, curve: B), (id: "c2", amperes: 16, curve: B, leg: "L2")],
        boxes: [(id: "oven", from: "c1", metres: 10, device: Receptacle(configuration: "CEE 7/5")),
                (id: "desk", from: "c2", metres: 10, device: Receptacle(configuration: "CEE 7/5"))],
        loads: [(id: "bake", at: "oven", kind: Resistive(watts: 2000)),
                (id: "kettle", at: "desk", kind: Resistive(watts: 800))])"#,
    );
    let found = hazards(&circuit, "service neutral lost");
    let over = of_kind(&found, "over_voltage");
    let volt = over[0].volt.unwrap();
    // 400 V shared in inverse proportion to the watts: 400 x 2000 / 2800 = 286 V, less what wires
    // drop; varistors for 230 V bear 275 V.
    assert!((279.0..286.0).contains(&volt), "{volt}");
    assert_eq!(over[0].severity, Severity::Danger, "{found:#?}");
}

#[test]
fn two_circuits_in_one_cable_with_a_neutral_each_share_none() {
    let barn = |is_landed: bool| {
        let (neutral2, capped) = match is_landed {
            true => (r#"(conductor: "neutral2", to: "panel.neutral"),"#, ""),
            false => ("", r#"capped_near: ["neutral2"],"#),
        };
        read(&format!(
            r#"(format: 1, name: "Hay barn",
            circuits: [(id: "a", amperes: 20, leg: "L1"), (id: "b", amperes: 20, leg: "L2")],
            cables: [(id: "home-run", feet: 40, cable: (awg: 12),
                carries: ["hot", "neutral", "hot2", "neutral2", "ground"],
                near: [(conductor: "hot", to: "a.hot"), (conductor: "neutral", to: "panel.neutral"),
                       (conductor: "hot2", to: "b.hot"), {neutral2}
                       (conductor: "ground", to: "panel.ground")],
                far: [(conductor: "hot", to: "x.hot"), (conductor: "neutral", to: "x.neutral"),
                      (conductor: "hot2", to: "y.hot"), (conductor: "neutral2", to: "y.neutral")],
                {capped} capped_far: ["ground"])],
            lumped: [(id: "hoist", between: ("x.hot", "x.neutral"),
                      kind: Load(Resistive(watts: 900, volts: 120))),
                     (id: "fan", between: ("y.hot", "y.neutral"),
                      kind: Load(Resistive(watts: 300, volts: 120)))])"#
        ))
    };
    assert!(says(&barn(true), "", "handles_not_tied").is_empty());
    assert_eq!(says(&barn(false), "", "handles_not_tied").len(), 1);
}

#[test]
fn a_multiwire_circuit_whose_handles_are_not_tied_is_warned_of_on_and_half_off() {
    let creamery = |tied: bool| {
        read(&format!(
            r#"(format: 1, name: "Creamery",
            circuits: [(id: "c1", amperes: 15, legs: ["L1", "L2"], tied: {tied})],
            boxes: [(id: "churn", from: "c1", feet: 20), (id: "vat", from: "churn", feet: 10,
                carries: ["hot2", "neutral", "ground"], device: Receptacle(hot: "hot2"))],
            loads: [(id: "lamp", at: "vat", kind: Resistive(watts: 60))])"#
        ))
    };
    assert!(says(&creamery(true), "", "handles_not_tied").is_empty());
    assert_eq!(says(&creamery(false), "", "handles_not_tied").len(), 1);
    let half = says(&creamery(false), "c1 off", "handles_not_tied");
    assert!(half[0].contains("the neutral carries 0.50 A"), "{half:#?}");
}

#[test]
fn a_multiwire_circuit_is_judged_by_the_rules_of_its_own_practice() {
    let bottling = |words: &str, system: &str| {
        read(&format!(
            r#"(format: 1, name: "Bottling", words: {words}, supply: (system: {system}),
            circuits: [(id: "c1", amperes: 16, legs: ["L1", "L2"], tied: false)],
            boxes: [(id: "fill", from: "c1", metres: 8), (id: "cork", from: "fill", metres: 4,
                carries: ["hot2", "neutral", "ground"], device: Receptacle(hot: "hot2"))])"#
        ))
    };
    for (words, system, own, other) in [
        ("Iec", "Wye400", "IEC 60364-4-46", "NEC"),
        ("NorthAmerican", "Wye208", "NEC 210.4", "IEC"),
    ] {
        let found = hazards(&bottling(words, system), "");
        let untied = of_kind(&found, "handles_not_tied");
        assert_eq!(untied.len(), 1, "{words}: {found:#?}");
        let threshold = &untied[0].threshold;
        assert!(threshold.contains(own) && !threshold.contains(other), "{threshold}");
    }
}

#[test]
fn a_report_with_iec_words_speaks_of_earth_and_residual_current_devices() {
    let mill = oil_mill("ground_fault_milliamperes: 30", 100);
    for words in ["", "earth open at press, line side", "panel electrode lost"] {
        for hazard in hazards(&mill, words) {
            // The name of a place is the file's.
            let says = hazard.says.replace("At panel,", "");
            for said in [says.as_str(), &hazard.advice] {
                let american = ["ground", "receptacle", "panel", "utility"];
                assert!(!american.iter().any(|word| said.contains(word)), "{said}");
            }
        }
    }
}

#[test]
fn what_the_soil_and_a_bolted_contact_are_taken_to_have_sets_no_fire() {
    let of_soil = studio("hot at kiln touching soil through 20 ohm");
    assert!(of_kind(&of_soil, "heating_fault").is_empty(), "{of_soil:#?}");
    let circuit = read(
        r#"(format: 1, name: "Camp", supply: (system: Generator), circuits: [(id: "c1", amperes: 20)],
        boxes: [(id: "tent", from: "c1", feet: 60)],
        loads: [(id: "pump", at: "tent", kind: Motor(watts: 700))])"#,
    );
    let words = "neutral and ground bridged at tent; insulation breakdown in pump, hot to frame";
    let cleared = hazards(&circuit, words);
    assert!(of_kind(&cleared, "heating_fault").is_empty(), "{cleared:#?}");
}

#[test]
fn metal_on_a_leak_that_nobody_feels_is_named_all_the_same() {
    let apiary = read(include_str!("../circuits/apiary.ron"));
    let found = hazards(&apiary, "electrode lost; supply at 60 %");
    let weak = of_kind(&found, "weakly_live");
    assert_eq!(weak.len(), 1, "earth, cases and neutral are one leak: {found:#?}");
    assert_eq!(weak[0].severity, Severity::Notice);
    // 135 V are left between line and earth at the damp wall of 400 kilohm; a body has some 1 kilohm.
    assert_relative_eq!(weak[0].ampere.unwrap(), 135.1 / 401e3, max_relative = 0.01);
    assert!(weak[0].says.contains("a leak brings them there"), "{}", weak[0].says);
    for place in ["extractor.ground", "extractor.neutral", "spinner.frame"] {
        assert!(weak[0].addresses.iter().any(|one| one == place), "{weak:#?}");
    }
    // At the full voltage it is felt.
    assert!(says(&apiary, "electrode lost", "weakly_live").is_empty());
}

#[test]
fn an_open_ground_behind_a_filter_has_a_ghost_voltage_and_a_sound_one_without_ground_is_made_so() {
    let apiary = read(include_str!("../circuits/apiary.ron"));
    let ghost = says(&apiary, "earth open at extractor, line side", "weakly_live");
    assert!(ghost.len() == 1 && ghost[0].contains("ghost voltage"), "{ghost:#?}");
    let cottage = read(
        r#"(format: 1, name: "Cottage", circuits: [(id: "c1", amperes: 15)],
        boxes: [(id: "hall", from: "c1", feet: 20, carries: ["hot", "neutral"]),
                (id: "loft", from: "hall", feet: 20, carries: ["hot", "neutral"])],
        loads: [(id: "radio", at: "hall", kind: Electronics(watts: 30), filter_nanofarads: 2.2,
                 metal_case: true)])"#,
    );
    for words in ["", "hot open at loft, line side"] {
        assert!(says(&cottage, words, "weakly_live").is_empty(), "{words}");
    }
}

/// Sheds behind a breaker of 60 A: one so far off that a bolted contact draws some 300 A there.
const SAWMILL: &str = r#"(format: 1, name: "Sawmill",
    circuits: [(id: "far", amperes: 60), (id: "near", amperes: 20)],
    boxes: [(id: "shed", from: "far", feet: 900, cable: (awg: 3)),
            (id: "kiln", from: "far", feet: 3600, cable: (awg: 3)),
            (id: "desk", from: "near", feet: 20)])"#;

#[test]
fn the_heat_of_a_bolted_contact_counts_until_a_slow_breaker_ends_it() {
    let sawmill = read(SAWMILL);
    let found = hazards(&sawmill, "hot and neutral bridged at shed");
    let heat = of_kind(&found, "heating_fault");
    assert_eq!(heat.len(), 1, "{found:#?}");
    // 0.197 ohm for 1000 ft of 3 AWG, both ways.
    let ampere = 120.0 / (1.8 * 0.197);
    assert!((0.8 * ampere..ampere).contains(&heat[0].ampere.unwrap()), "{heat:#?}");
    assert!(heat[0].until_s.unwrap() > 5.0, "{heat:#?}");
    assert!(says(&sawmill, "hot and neutral bridged at desk", "heating_fault").is_empty());
}

#[test]
fn a_trip_elsewhere_does_not_hide_the_heat_of_a_bolted_contact() {
    let sawmill = read(SAWMILL);
    let mut condition = Condition::default();
    let words = "hot and neutral bridged at kiln; hot and neutral bridged at desk";
    condition.say(&sawmill, words).unwrap();
    let asked = Asked { before_trips: true, ..Asked::default() };
    let found = ReadReport::new(&sawmill, &condition, &asked).unwrap().hazards;
    let heat = of_kind(&found, "heating_fault");
    assert_eq!(heat.len(), 1, "the near breaker ends its own contact alone: {found:#?}");
    assert!(heat[0].addresses.iter().all(|one| one.starts_with("kiln")), "{heat:#?}");
}

#[test]
fn an_open_neutral_with_nothing_on_waits_for_the_first_load() {
    let studio = read(include_str!("../circuits/pottery-studio.ron"));
    let idle = hazards(&studio, "neutral open at kiln, line side; all loads off");
    let open = of_kind(&idle, "open_neutral");
    assert_eq!(open.len(), 1, "{idle:#?}");
    assert_eq!(open[0].addresses, ["kiln.neutral", "sink.neutral"]);
    assert_relative_eq!(open[0].volt.unwrap(), 120.0, max_relative = 0.01);
    assert!(of_kind(&idle, "weakly_live").is_empty(), "said once: {idle:#?}");
    for words in [
        "neutral open at kiln, line side",
        "neutral open at kiln, line side; all loads off; c1 off",
        "all loads off",
        "hot open at kiln, line side; neutral open at kiln, line side; all loads off",
    ] {
        assert!(says(&studio, words, "open_neutral").is_empty(), "{words}");
    }
    let lost = says(&studio, "service neutral lost; all loads off", "open_neutral");
    assert!(lost[0].contains("and with it the grounded metal"), "{lost:#?}");
}

#[test]
fn a_shared_neutral_that_is_open_is_the_middle_of_both_legs_and_no_ghost_wears_out_a_load() {
    let brewery = brewery(r#"["L1", "L2"]"#, 1500, 200);
    let found = hazards(&brewery, "neutral open at mash, line side; all loads off");
    let open = of_kind(&found, "open_neutral");
    assert_relative_eq!(open[0].volt.unwrap(), 240.0, max_relative = 0.01);
    assert!(open[0].says.contains("the middle of 240.0 V"), "{open:#?}");
    assert!(of_kind(&found, "outlet_over_voltage").is_empty(), "{found:#?}");
    let one_on = hazards(&brewery, "neutral open at mash, line side; urn off");
    let over = of_kind(&one_on, "outlet_over_voltage");
    assert_eq!(over[0].addresses, ["boil"], "the mill puts its neutral at 120 V: {one_on:#?}");
}

#[test]
fn a_conductor_of_a_floating_generator_on_a_case_is_a_first_fault_and_no_ghost() {
    let lugger = read(
        r#"(format: 1, name: "Lugger", supply: (system: Generator),
        circuits: [(id: "galley", amperes: 15)],
        boxes: [(id: "stove", from: "galley", feet: 15), (id: "icebox", from: "stove", feet: 8)],
        loads: [(id: "burner", at: "stove", kind: Resistive(watts: 900)),
                (id: "pump", at: "icebox", kind: Motor(watts: 150), metal_case: true)])"#,
    );
    assert!(hazards(&lugger, "").is_empty());
    for (fault, is_one) in [
        ("insulation breakdown in pump, hot to frame", true),
        ("insulation breakdown in pump, hot to frame, 5 kohm", true),
        ("insulation breakdown in pump, hot to frame, 2 Mohm", false),
        ("neutral and ground bridged at stove", true),
        ("ground open at icebox, line side", false),
    ] {
        let found = hazards(&lugger, fault);
        let first = of_kind(&found, "first_earth_fault");
        assert_eq!(first.len(), usize::from(is_one), "{fault}: {found:#?}");
        assert!(of_kind(&found, "weakly_live").is_empty(), "{fault}: {found:#?}");
        if let Some(first) = first.first() {
            assert_relative_eq!(first.volt.unwrap(), 118.0, max_relative = 0.02);
            assert!(first.threshold.contains("NEC 250.21(B)"), "{}", first.threshold);
        }
    }
}

#[test]
fn a_current_that_strays_through_several_breakers_is_said_once() {
    let barn = read(
        r#"(format: 1, name: "Barn",
        circuits: [(id: "feed", amperes: 60, legs: ["L1", "L2"]),
                   (id: "shop", amperes: 20, panel: "barn", leg: "L1")],
        subpanels: [(id: "barn", from: "feed", feet: 90, cable: (awg: 6))],
        boxes: [(id: "bench", from: "shop", feet: 20)],
        loads: [(id: "heater", at: "bench", kind: Resistive(watts: 1500))])"#,
    );
    let found = hazards(&barn, "neutral and ground bridged at bench");
    let stray = of_kind(&found, "stray_current");
    assert_eq!(stray.len(), 1, "{found:#?}");
    assert_eq!(stray[0].addresses, ["feed.breaker", "shop.breaker"]);
    assert!(stray[0].says.contains("each of the circuits feed and shop"), "{}", stray[0].says);
}

#[test]
fn a_leak_in_an_outbuilding_makes_no_sound_circuit_of_the_house_one_that_does_not_trip() {
    let farm = read(
        r#"(format: 1, name: "Farm",
        circuits: [(id: "bed", amperes: 15, leg: "L2"),
                   (id: "feed", amperes: 60, legs: ["L1", "L2"]),
                   (id: "shop", amperes: 20, panel: "barn", leg: "L1")],
        subpanels: [(id: "barn", from: "feed", feet: 90, cable: (awg: 6), electrode_ohms: 50)],
        boxes: [(id: "bedroom", from: "bed", feet: 40), (id: "bench", from: "shop", feet: 20)],
        loads: [(id: "radio", at: "bedroom", kind: Electronics(watts: 60), filter_nanofarads: 2.2),
                (id: "heater", at: "bench", kind: Resistive(watts: 1500), metal_case: true)])"#,
    );
    let words =
        "ground open at barn, line side; insulation breakdown in heater, hot to frame, 2 kohm";
    let found = hazards(&farm, words);
    let stays = of_kind(&found, "fault_not_cleared");
    assert_eq!(stays.len(), 1, "{found:#?}");
    // 120 V by way of two electrodes of the soil; 15 A trip on 300 A in the bedroom.
    assert_eq!(stays[0].addresses, ["bench.ground"], "{found:#?}");
}

/// A paper mill: two lamps behind one switch.
fn paper_mill() -> Circuit {
    read(
        r#"(
            format: 1,
            name: "Paper mill",
            circuits: [(id: "c1", amperes: 15)],
            boxes: [
                (id: "door", from: "c1", feet: 20, device: Switch(to: "switched", closed: false)),
                (id: "vat", from: "door", feet: 10,
                 carries: ["switched", "neutral", "ground"], devices: []),
                (id: "press", from: "vat", feet: 10,
                 carries: ["switched", "neutral", "ground"], devices: []),
            ],
            loads: [
                (id: "lamp", at: "vat", kind: Filament(watts: 60), wired: true,
                 across: ("switched", "neutral")),
                (id: "lantern", at: "press", kind: Filament(watts: 60), wired: true,
                 across: ("switched", "neutral")),
            ],
        )"#,
    )
}

#[test]
fn the_open_neutral_of_a_lamp_waits_for_its_switch() {
    let mill = paper_mill();
    let waits = hazards(&mill, "neutral open at vat, line side");
    let open = of_kind(&waits, "open_neutral");
    assert_eq!(open.len(), 1, "{waits:#?}");
    assert_eq!(open[0].addresses, ["vat.splice.neutral", "press.splice.neutral"]);
    assert_relative_eq!(open[0].volt.unwrap(), 120.0, max_relative = 0.01);
    let off = hazards(&mill, "neutral open at press, line side; switch door closed; lantern off");
    assert_eq!(of_kind(&off, "open_neutral")[0].addresses, ["press.splice.neutral"], "{off:#?}");
    let on = hazards(&mill, "neutral open at vat, line side; switch door closed");
    assert_eq!(of_kind(&on, "energised_neutral").len(), 1, "live now: {on:#?}");
    for words in [
        "",
        "switch door closed",
        "neutral open at vat, line side; switch door closed",
        "c1 off; neutral open at vat, line side",
    ] {
        assert!(says(&mill, words, "open_neutral").is_empty(), "{words}");
    }
}

#[test]
fn the_neutral_of_a_lamp_in_the_box_of_a_receptacle_is_live_metal_of_its_own() {
    let mill = read(
        r#"(
            format: 1,
            name: "Paper mill",
            circuits: [(id: "c1", amperes: 15)],
            boxes: [
                (id: "door", from: "c1", feet: 20, device: Switch(closed: true)),
                (id: "vat", from: "door", feet: 10,
                 carries: ["hot", "switched", "neutral", "ground"]),
            ],
            loads: [(id: "lamp", at: "vat", kind: Filament(watts: 60), wired: true,
                     across: ("switched", "neutral"))],
        )"#,
    );
    let found = hazards(&mill, "neutral open at vat, line side; neutral open at vat, pigtail");
    let live = of_kind(&found, "energised_neutral");
    assert_eq!(live.len(), 1, "{found:#?}");
    assert_eq!(live[0].addresses, ["vat.splice.neutral"]);
}

/// A bell foundry: as many circuits as asked for, each of one receptacle behind a ground-fault
/// breaker.
fn bell_foundry(n: usize) -> Circuit {
    let each = |of: &dyn Fn(usize) -> String| (1..=n).map(of).collect::<Vec<_>>().join(",\n");
    let circuits = each(&|at| {
        let leg = if at % 2 == 1 { "L1" } else { "L2" };
        format!(r#"(id: "c{at}", amperes: 15, leg: "{leg}", ground_fault_milliamperes: 5)"#)
    });
    let boxes = each(&|at| format!(r#"(id: "b{at}", from: "c{at}", feet: {})"#, 10 + at));
    read(&format!(r#"(format: 1, name: "Bell foundry", circuits: [{circuits}], boxes: [{boxes}])"#))
}

fn at_each(n: usize, words: &str) -> String {
    (1..=n).map(|at| words.replace('@', &format!("b{at}"))).collect::<Vec<_>>().join("; ")
}

#[test]
fn metal_past_the_sixty_fourth_alike_is_judged_as_the_first() {
    let n = 70;
    let foundry = bell_foundry(n);
    for words in [
        "ground open at @, line side",
        "ground open at @, line side; neutral and ground bridged at @ through 5 kohm",
    ] {
        let found = hazards(&foundry, &at_each(n, words));
        let stays = of_kind(&found, "fault_not_cleared");
        assert_eq!(stays.len(), 1, "{words}: {stays:#?}");
        let in_order: Vec<String> = (1..=n).map(|at| format!("b{at}.ground")).collect();
        assert_eq!(stays[0].addresses, in_order, "{words}");
        assert!(stays[0].says.contains("only a person who touches it"), "{}", stays[0].says);
    }
}

#[test]
fn live_metal_past_the_twenty_fourth_alike_has_its_own_breaker_too() {
    let n = 60;
    let words =
        at_each(n, "ground open at @, line side; hot and ground bridged at @ through 15 kohm");
    let found = hazards(&bell_foundry(n), &words);
    let live = of_kind(&found, "energised_ground");
    assert_eq!(live.iter().map(|one| one.addresses.len()).sum::<usize>(), n);
    for one in live {
        assert!(
            one.says.contains("30 breakers, each for its own, should trip within"),
            "{}",
            one.says
        );
    }
}

#[test]
fn a_leak_to_elsewhere_is_not_taken_for_its_neighbours() {
    let n = 3;
    let words =
        at_each(n, "ground open at @, line side; neutral and ground bridged at @ through 5 kohm");
    // The third leaks to the neutral of the first instead: what flows passes one sensor only.
    let words = words.replace(
        "neutral and ground bridged at b3 through 5 kohm",
        "ground of b3 and neutral of b1 bridged through 5 kohm",
    );
    let found = hazards(&bell_foundry(n), &words);
    let stays = of_kind(&found, "fault_not_cleared");
    let of_third = stays.iter().any(|one| one.addresses.iter().any(|at| at == "b3.ground"));
    assert!(!of_third, "24 mA pass the sensor of c3 and do not come back by it: {stays:#?}");
    assert_eq!(stays[0].addresses, ["b1.ground", "b2.ground"]);
}

#[test]
fn each_electrode_lets_through_what_it_does() {
    let reed_beds = read(
        r#"(
            format: 1,
            name: "Reed beds",
            circuits: [(id: "c1", amperes: 15), (id: "c2", amperes: 15)],
            boxes: [
                (id: "pump", from: "c1", feet: 60),
                (id: "weir", from: "c2", feet: 70),
                (id: "gate", from: "pump", feet: 50),
            ],
            electrodes: [(id: "near", at: "pump.ground", ohms: 8),
                         (id: "far", at: "weir.ground", ohms: 400)],
        )"#,
    );
    let found =
        hazards(&reed_beds, "ground open at pump, line side; ground open at weir, line side");
    let stays = of_kind(&found, "fault_not_cleared");
    assert_eq!(stays.len(), 2, "{stays:#?}");
    let at = |place: &str| {
        let of_place = |one: &&&HazardReport| one.addresses.iter().any(|at| at == place);
        let one = stays.iter().find(of_place).unwrap();
        (one.addresses.len(), one.ampere.unwrap())
    };
    // 120 V over 8 ohm, and over 400; the supply's own electrode is bonded to its neutral.
    let (n, ampere) = at("pump.ground");
    assert_eq!(n, 2, "the gate hangs on the pump's ground: {stays:#?}");
    assert!((10.0..15.0).contains(&ampere), "{ampere}");
    let (n, ampere) = at("weir.ground");
    assert_eq!(n, 1, "{stays:#?}");
    assert!((0.25..0.30).contains(&ampere), "{ampere}");
}

#[test]
fn one_is_said_in_the_singular_and_several_in_the_plural() {
    let shed = read(
        r#"(format: 1, name: "Net loft", circuits: [(id: "c1", amperes: 15)],
        boxes: [(id: "loft", from: "c1", feet: 20), (id: "quay", from: "loft", feet: 20)],
        loads: [(id: "winch", at: "quay", kind: Resistive(watts: 500), metal_case: true)])"#,
    );
    let one = "ground open at loft, line side; ground open at quay, line side; \
               hot and ground bridged at loft through 500 kohm";
    let one = says(&shed, one, "weakly_live");
    assert!(one[0].starts_with("At loft the ground comes to"), "{one:#?}");
    assert!(one[0].contains("a person touching it, too little to feel: a leak brings it"));
    let two = "ground open at quay, line side; hot and ground bridged at quay through 500 kohm";
    let two = says(&shed, two, "weakly_live");
    assert!(two[0].contains("the ground and the metal case come to"), "{two:#?}");
    assert!(two[0].contains("touching them"), "{two:#?}");
    let thin = read(
        r#"(format: 1, name: "Net loft", circuits: [(id: "c1", amperes: 40)],
        boxes: [(id: "loft", from: "c1", feet: 20, cable: (awg: 14)),
                (id: "quay", from: "loft", feet: 20, cable: (awg: 14))],
        loads: [(id: "winch", at: "quay", kind: Resistive(watts: 3000))])"#,
    );
    let thin = says(&thin, "", "conductor_overload");
    assert!(thin[0].starts_with("The conductors c1-loft.hot and loft-quay.hot carry"), "{thin:#?}");
    assert!(thin[0].contains("and are good for 15 A"), "{thin:#?}");
}

#[test]
fn a_pole_that_makes_no_contact_is_no_breaker_that_is_off() {
    let split = read(
        r#"(
            format: 1,
            name: "Hop loft",
            circuits: [(id: "c1", amperes: 15, legs: ["L1", "L2"])],
            boxes: [
                (id: "mash", from: "c1", feet: 20),
                (id: "boil", from: "mash", feet: 10,
                 device: Duplex(top: "hot", bottom: "hot2", hot_tab: Broken)),
            ],
        )"#,
    );
    for words in ["hot open at c1, breaker", "hot2 open at c1, breaker"] {
        let found = hazards(&split, words);
        assert!(of_kind(&found, "live_with_breaker_off").is_empty(), "{words}");
    }
}
