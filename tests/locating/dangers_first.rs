//! What is not done for a test because of what was seen, felt or measured, and what is not forgotten.

use slotwise::condition::{AttachedLaw, Attachment, LoadState};
use slotwise::diagnosis::{Advice, Because, words};
use slotwise::report::locate::NextReport;

use crate::call::{circuit, told};
use crate::heard::{reported, says};

/// A pottery on one circuit, and a lamp on the other leg.
const POTTERY: &str = r#"(
    format: 1,
    name: "Pottery",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15, leg: "L2")],
    boxes: [
        (id: "door", from: "c1", feet: 25),
        (id: "bench", from: "door", feet: 12),
        (id: "kiln", from: "bench", feet: 15),
        (id: "sink", from: "kiln", feet: 9),
        (id: "yard", from: "c2", feet: 30),
    ],
    loads: [
        (id: "radio", at: "door", kind: Electronics(watts: 15)),
        (id: "heater", at: "kiln", kind: Resistive(watts: 1000), metal_case: true),
        (id: "lamp", at: "yard", kind: Filament(watts: 60)),
    ],
)"#;

/// Two legs on one neutral.
const SCULLERY: &str = r#"(
    format: 1,
    name: "Scullery",
    circuits: [(id: "mw", amperes: 20, legs: ["L1", "L2"])],
    boxes: [
        (id: "pantry", from: "mw", feet: 40),
        (id: "counter", from: "pantry", feet: 8, device: Receptacle(hot: "hot2")),
        (id: "stove", from: "counter", feet: 9),
        (
            id: "window", from: "stove", feet: 11, carries: ["hot2", "neutral", "ground"],
            device: Receptacle(hot: "hot2"),
        ),
    ],
    loads: [
        (id: "fridge", at: "pantry", kind: Motor(watts: 180)),
        (id: "kettle", at: "counter", kind: Resistive(watts: 1400), on: false),
        (id: "table-lamp", at: "window", kind: Filament(watts: 40)),
    ],
)"#;

fn test_says(next: &NextReport) -> Option<&str> {
    match next {
        NextReport::Test(test) => Some(&test.says),
        _ => None,
    }
}

#[test]
fn after_a_shock_a_breaker_that_was_seen_to_trip_is_not_closed_for_a_look() {
    let pottery = circuit(POTTERY);
    for (complaint, saw) in [
        ("shock from heater; c1 trips at once", ""),
        ("shock from heater; c1 trips when heater runs", ""),
        ("shock from heater; c1 trips now and then", ""),
        ("shock from heater", "c1 trips at once"),
    ] {
        let says = says(&pottery, complaint, saw);
        assert!(!says.contains("c1 on"), "{complaint}, {saw}: {says}");
        assert!(!says.contains("closed once"), "{complaint}, {saw}: {says}");
    }
}

#[test]
fn what_was_seen_to_trip_has_to_be_closed_for_a_look_behind_it() {
    let pottery = circuit(POTTERY);
    let report = reported(&pottery, "door dead", "c1 trips at once");
    let says = test_says(&report.next).unwrap();
    assert!(says.contains("c1 is closed once for it"), "{says}");
    let holds = reported(&pottery, "door dead", "c1 trips at once; c1 holds");
    let says = test_says(&holds.next).unwrap();
    assert!(!says.contains("closed once"), "{says}");
}

#[test]
fn nothing_is_closed_on_a_short_that_was_measured() {
    let pottery = circuit(POTTERY);
    let short = "ohmmeter beyond kiln: hot-neutral 0.2 ohm, hot-ground OL, neutral-ground OL";
    let report = reported(&pottery, "", short);
    let says = says(&pottery, "", short);
    assert!(!says.contains("detector") && !says.contains("tester"), "{says}");
    let NextReport::Stop(stop) = report.next else { panic!("{says}") };
    assert_eq!(stop.go_to[0].place, "sink", "{says}");
    // What was measured without one is closed again, with nobody touching anything.
    let open = "ohmmeter at kiln: hot-neutral 12 kohm with c1 off";
    let says = self::says(&pottery, "", open);
    assert!(says.starts_with("Switch breaker c1 on again"), "{says}");
}

#[test]
fn what_smells_of_burning_is_not_loaded_for_a_test_once_its_box_showed_nothing() {
    let pottery = circuit(POTTERY);
    let says = says(&pottery, "burning smell at kiln", "opened kiln: nothing found");
    assert!(!says.contains("loaded test") && !says.contains("heater on"), "{says}");
    let elsewhere = "opened kiln: nothing found; replaced radio";
    let says = self::says(&pottery, "burning smell at kiln", elsewhere);
    assert!(!says.contains("loaded test") && !says.contains("heater on"), "{says}");
}

#[test]
fn too_much_voltage_that_was_measured_is_a_danger() {
    let pottery = circuit(POTTERY);
    let dangers = |saw: &str| {
        let warnings = reported(&pottery, "", saw).warnings;
        let is_it = |kind: &str| kind == "outlet_over_voltage";
        warnings.into_iter().find(|one| is_it(one.kind) && one.is_grave())
    };
    for saw in ["voltmeter at kiln: hot-neutral 400 V", "voltmeter at kiln: hot-neutral 180 V"] {
        let danger = dangers(saw).unwrap();
        assert!(danger.probability > 0.9 && danger.addresses[0].starts_with("kiln"), "{danger:?}");
    }
    assert!(dangers("voltmeter at kiln: hot-neutral 124 V").is_none());
    let read_again = "voltmeter at kiln: hot-neutral 400 V; voltmeter at kiln: hot-neutral 121 V";
    assert!(dangers(read_again).is_none());
}

#[test]
fn live_metal_that_was_measured_stays_live_after_a_repair_that_does_not_explain_it() {
    let pottery = circuit(POTTERY);
    let live = "voltmeter at kiln: ground-soil 118 V";
    for repair in ["replaced radio", "mended door", "new bulb in lamp"] {
        let report = reported(&pottery, "", &format!("{live}; {repair}"));
        let danger = report.warnings.iter().find(|one| one.kind == "energised_ground");
        let chance = danger.map_or(0.0, |one| one.probability);
        assert!(chance > 0.9, "{repair}: {chance}");
        if let Some(says) = test_says(&report.next) {
            assert!(says.starts_with("Touching no metal"), "{says}");
        }
    }
    // Read again before the repair it stays what it was; read since, with things as they stood, it is over.
    let again = "voltmeter at kiln: ground-soil 0.2 V";
    for (saw, is_live) in [
        (format!("{live}; {again}; replaced radio"), true),
        (format!("{live}; replaced radio; {again}"), false),
    ] {
        let warnings = reported(&pottery, "", &saw).warnings;
        let danger = warnings.iter().find(|one| one.kind == "energised_ground");
        assert_eq!(danger.is_some_and(|one| one.probability > 0.9), is_live, "{saw}");
    }
}

#[test]
fn nobody_leaves_with_a_reading_that_nothing_explains() {
    let pottery = circuit(POTTERY);
    let odd = "voltmeter at kiln: hot-neutral 171 V, hot-ground 64 V";
    let report = reported(&pottery, "", odd);
    let is_over =
        matches!(&report.next, NextReport::Stop(stop) if stop.because == Because::NothingWrong);
    assert!(!is_over, "{:?}", report.next);
}

#[test]
fn too_much_voltage_is_not_moved_from_one_appliance_to_another_for_a_test() {
    let scullery = circuit(SCULLERY);
    let saw = "tester at stove: hot-neutral dark, hot-ground lit, neutral-ground lit";
    let says = says(&scullery, "table-lamp too bright; fridge dead", saw);
    assert!(!says.contains("kettle on"), "{says}");
}

#[test]
fn a_load_that_stays_dead_after_a_repair_is_looked_at_itself() {
    let scullery = circuit(SCULLERY);
    let saw = "opened pantry: neutral loose, line side; mended pantry; table-lamp runs; fridge dead; \
               tester at pantry: hot-neutral lit, hot-ground lit, neutral-ground dark; \
               loaded-test at pantry: lost 2 V";
    let report = reported(&scullery, "table-lamp dead; fridge dead", saw);
    let NextReport::Stop(stop) = &report.next else { panic!("{:?}", report.next) };
    assert_eq!(stop.because, Because::Mended);
    assert!(stop.says.contains("fridge"), "{}", stop.says);
    assert_eq!(report.dead_loads, ["fridge"]);
}

#[test]
fn what_tripped_is_closed_once_after_the_repair_before_anything_else() {
    let pottery = circuit(POTTERY);
    let saw = "c1 trips at once; opened kiln: hot and neutral bridged; mended kiln";
    let report = reported(&pottery, "c1 trips at once", saw);
    let NextReport::Stop(stop) = &report.next else { panic!("{:?}", report.next) };
    assert_eq!(stop.because, Because::HandleFirst);
    assert!(stop.says.contains("`c1 holds`"), "{}", stop.says);
    for then in ["c1 holds", "c1 holds; mended door"] {
        let says = says(&pottery, "c1 trips at once", &format!("{saw}; {then}"));
        assert!(!says.contains("Look at the handles"), "{then}: {says}");
    }
    // Not onto a short that was measured, for a bulb.
    let short = "ohmmeter beyond kiln: dead short hot to neutral, rest open; new bulb in lamp";
    let says = says(&pottery, "c1 trips at once", short);
    assert!(!says.contains("closed once") && !says.contains("detector"), "{says}");
}

#[test]
fn what_was_off_and_is_closed_is_no_place_to_look_at() {
    let pottery = circuit(POTTERY);
    let saw = "c2 found off; c2 holds; lamp runs";
    let report = reported(&pottery, "yard dead", saw);
    let off = report.suspects.iter().find(|one| one.says.contains("c2 off")).unwrap();
    assert!(off.says.ends_with("closed since"), "{}", off.says);
    let NextReport::Stop(stop) = &report.next else { panic!("{:?}", report.next) };
    assert_eq!(stop.because, Because::ClosedAgain, "{}", stop.says);
}

#[test]
fn the_load_of_a_tester_is_gone_with_it() {
    let pottery = circuit(POTTERY);
    let tools = ["tester", "non-contact", "voltmeter"];
    let mut inquiry = told(&pottery, &tools, "kiln dead", &[]);
    let mut trips = words::observations(&pottery, &[], "c1 trips at once").unwrap();
    let (id, law) = ("loaded-test".to_owned(), AttachedLaw::ResistanceOhm(8.0));
    let between = ("kiln.hot".into(), "kiln.neutral".into());
    trips[0].moment.condition.attached.push(Attachment { id, between, law });
    inquiry.observe_all(&trips).unwrap();
    let Advice::Test(test) = inquiry.advise() else { panic!("a test is asked for") };
    assert!(test.moment.condition.attached.is_empty(), "{:?}", test.moment);
}

#[test]
fn with_a_shared_neutral_likely_lost_nothing_is_switched_on_that_might_get_both_legs() {
    let scullery = circuit(SCULLERY);
    let off = "tester at pantry: hot-neutral dark, hot-ground lit, neutral-ground lit";
    let mut inquiry = told(
        &scullery,
        &["tester", "voltmeter", "non-contact", "loaded-test"],
        "table-lamp very bright; fridge dead",
        &[off],
    );
    let warned = inquiry.findings();
    assert!(warned.nothing_wrong < 0.1, "{}", warned.nothing_wrong);
    if let Advice::Test(test) = inquiry.advise() {
        let loads = &test.moment.condition.loads;
        let is_on = |name: &str| loads.get(name) == Some(&LoadState::On);
        assert!(!is_on("kettle") && !is_on("fridge"), "{loads:?}");
    }
}

#[test]
fn a_shock_is_no_danger_any_more_once_what_explains_it_is_put_right() {
    let pottery = circuit(POTTERY);
    let shown = "tester at kiln: hot-neutral lit, hot-ground dark, neutral-ground lit";
    let before = [
        "tester at bench: hot-neutral lit, hot-ground lit, neutral-ground dark",
        "opened kiln: ground open, line side",
    ];
    let after = [
        "mended kiln",
        "replaced heater",
        "c1 holds",
        "heater runs",
        "tester at kiln: hot-neutral lit, hot-ground lit, neutral-ground dark",
    ];
    let felt = |saw: &[&str]| {
        let report = reported(&pottery, "shock from heater", &saw.join("; "));
        let dangers = report.warnings.iter().filter(|one| one.kind == "energised_case");
        dangers.map(|one| one.probability).fold(0.0, f64::max)
    };
    let mut saw = vec![shown];
    saw.extend(before);
    assert!(felt(&saw) > 0.9, "{}", felt(&saw));
    saw.extend(after);
    assert!(felt(&saw) < 0.3, "{}", felt(&saw));
}

#[test]
fn what_stands_on_too_much_is_not_given_more_for_a_test() {
    let boathouse = circuit(
        r#"(
        format: 1,
        name: "Net store and slip",
        circuits: [
            (id: "house", amperes: 20),
            (id: "feed", amperes: 60, legs: ["L1", "L2"]),
            (id: "dock", amperes: 20, panel: "shed", leg: "L1"),
            (id: "bench", amperes: 20, panel: "shed", leg: "L2"),
        ],
        subpanels: [(id: "shed", from: "feed", feet: 110, cable: (awg: 6), electrode_ohms: 40)],
        boxes: [
            (id: "hall", from: "house", feet: 20),
            (id: "slip", from: "dock", feet: 12),
            (id: "post", from: "slip", feet: 30),
            (id: "vise", from: "bench", feet: 10),
        ],
        loads: [
            (id: "pump", at: "post", kind: Motor(watts: 550)),
            (id: "slip-light", at: "slip", kind: Led(watts: 20)),
            (id: "compressor", at: "vise", kind: Motor(watts: 1100), on: false),
            (id: "charger", at: "vise", kind: Electronics(watts: 80)),
        ],
    )"#,
    );
    let tools = ["tester", "voltmeter", "non-contact"];
    let saw = "voltmeter at slip: hot-neutral 162 V, hot-ground 119 V, neutral-ground 44 V";
    match told(&boathouse, &tools, "slip-light brightens when compressor runs", &[saw]).advise() {
        Advice::Test(test) => {
            let loads = &test.moment.condition.loads;
            assert_ne!(loads.get("pump"), Some(&LoadState::Off), "the light would get 240 V");
        }
        Advice::Stop(_) => {}
    }
}

#[test]
fn what_was_measured_between_a_neutral_and_its_ground_is_a_danger_whatever_is_believed() {
    let pottery = circuit(POTTERY);
    for saw in [
        "voltmeter at bench: neutral-ground 120 V",
        "voltmeter at bench: hot-neutral 120 V, hot-ground 120 V, neutral-ground 120 V",
    ] {
        let report = reported(&pottery, "nothing noticed", saw);
        let live = report.warnings.iter().find(|one| one.says.contains("live neutral"));
        let live = live.map_or(0.0, |one| one.probability);
        assert!(live > 0.9, "{saw}: {live}");
    }
}
