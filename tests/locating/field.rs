//! Calls as electricians met them in the field, and what went wrong with them once.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{
    Account, Advice, Because, Inquiry, NextTest, Protected, Seen, SuspectFault, Tool, words,
};
use slotwise::report::LocateReport;
use slotwise::report::locate::NextReport;

use crate::call::{chance, circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "loaded-test", "ohmmeter"];

/// A ground-fault receptacle feeds five others, another circuit a house.
const SMITHY: &str = r#"(
    format: 1,
    name: "Village smithy",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15, leg: "L2")],
    boxes: [
        (id: "gate", from: "c1", feet: 20, device: GroundFault(feeds: true)),
        (id: "anvil", from: "gate", feet: 15),
        (id: "forge", from: "anvil", feet: 10),
        (id: "quench", from: "forge", feet: 10),
        (id: "rack", from: "quench", feet: 22, feed_through: ["hot", "neutral"]),
        (id: "yard", from: "rack", feet: 30),
        (id: "bay", from: "c2", feet: 40),
        (id: "loft", from: "bay", feet: 14),
        (id: "desk", from: "loft", feet: 9),
        (id: "bunk", from: "desk", feet: 12),
    ],
    loads: [
        (id: "blower", at: "forge", kind: Motor(watts: 300), metal_case: true),
        (id: "bench-lamp", at: "anvil", kind: Filament(watts: 60)),
        (id: "kettle", at: "quench", kind: Resistive(watts: 1400), on: false),
        (id: "charger", at: "yard", kind: Electronics(watts: 80)),
        (id: "grinder", at: "loft", kind: Motor(watts: 500), on: false),
        (id: "radio", at: "desk", kind: Electronics(watts: 15)),
        (id: "heater", at: "bunk", kind: Resistive(watts: 900), metal_case: true, on: false),
    ],
)"#;

/// Switched lights, and a ground-fault receptacle in the middle of a circuit.
const NURSERY: &str = r#"(
    format: 1,
    name: "Plant nursery",
    circuits: [(id: "p1", amperes: 20), (id: "p2", amperes: 15, leg: "L2")],
    boxes: [
        (id: "porch", from: "p2", feet: 25, devices: []),
        (id: "porch_switch", from: "porch", feet: 10, carries: ["hot", "switched", "ground"], device: Switch(closed: true)),
        (id: "office", from: "porch", feet: 16, carries: ["hot", "neutral", "ground"]),
        (id: "till", from: "office", feet: 12),
        (id: "back", from: "till", feet: 20, carries: ["hot", "neutral", "ground"], device: Switch(closed: true)),
        (id: "yard_light", from: "back", feet: 30, carries: ["switched", "neutral", "ground"], devices: []),
        (id: "shed", from: "p1", feet: 45),
        (id: "potting", from: "shed", feet: 10, device: GroundFault(feeds: true)),
        (id: "mist", from: "potting", feet: 18),
        (id: "seed", from: "mist", feet: 8),
        (id: "cool", from: "seed", feet: 15),
        (id: "tank", from: "shed", feet: 25),
    ],
    loads: [
        (id: "porch-lamp", at: "porch", wired: true, across: ("switched", "neutral"), kind: Led(watts: 12)),
        (id: "computer", at: "office", kind: Electronics(watts: 120)),
        (id: "till-drawer", at: "till", kind: Electronics(watts: 30)),
        (id: "flood", at: "yard_light", wired: true, across: ("switched", "neutral"), kind: Filament(watts: 150)),
        (id: "pump", at: "mist", kind: Motor(watts: 250)),
        (id: "mat", at: "seed", kind: Resistive(watts: 150), metal_case: true),
        (id: "fridge", at: "cool", kind: Motor(watts: 200)),
        (id: "warmer", at: "tank", kind: Resistive(watts: 600), metal_case: true),
    ],
)"#;

/// A multiwire circuit.
const BINDERY: &str = r#"(
    format: 1,
    name: "Bindery",
    circuits: [
        (id: "mw", amperes: 20, legs: ["L1", "L2"]),
        (id: "lights", amperes: 15),
    ],
    boxes: [
        (id: "door", from: "mw", feet: 35),
        (id: "press", from: "door", feet: 12),
        (id: "glue", from: "press", feet: 9, device: Receptacle(hot: "hot2")),
        (id: "cutter", from: "glue", feet: 11),
        (id: "oven", from: "cutter", feet: 14, device: Receptacle(hot: "hot2")),
        (id: "shelf", from: "oven", feet: 8, carries: ["hot", "neutral", "ground"]),
        (id: "ceiling", from: "lights", feet: 28, devices: []),
        (id: "wall", from: "ceiling", feet: 12, carries: ["hot", "switched", "ground"], device: Switch(closed: true)),
        (id: "store", from: "ceiling", feet: 18, carries: ["hot", "neutral", "ground"]),
    ],
    loads: [
        (id: "iron", at: "press", kind: Resistive(watts: 800)),
        (id: "glue-pot", at: "glue", kind: Resistive(watts: 200)),
        (id: "work-lamp", at: "cutter", kind: Filament(watts: 100)),
        (id: "dryer", at: "oven", kind: Resistive(watts: 1200), on: false),
        (id: "laptop", at: "shelf", kind: Electronics(watts: 65)),
        (id: "ceiling-lamp", at: "ceiling", wired: true, across: ("switched", "neutral"), kind: Led(watts: 20)),
        (id: "fan", at: "store", kind: Motor(watts: 70)),
    ],
)"#;

fn shared(circuit: &str) -> Circuit {
    let text = std::fs::read_to_string(format!("circuits/{circuit}.ron")).unwrap();
    crate::call::circuit(&text)
}

fn says(circuit: &Circuit, fault: &SuspectFault) -> String {
    fault.fault.sentence(circuit)
}

/// What the report says is to be done next after a call of complaints.
fn advised(circuit: &Circuit, tools: &[&str], complaints: &[&str], saw: &[&str]) -> NextReport {
    let mut account = Account::default();
    account.means.tools = tools.iter().filter_map(|name| Tool::preset(name)).collect();
    for said in complaints {
        account.complaints.extend(words::complaints(circuit, said).unwrap());
    }
    for said in saw {
        let tools = account.means.tools.clone();
        account.observations.extend(words::observations(circuit, &tools, said).unwrap());
    }
    let mut inquiry = Inquiry::of(circuit, &account).unwrap();
    let advice = inquiry.advise();
    LocateReport::new(&inquiry, &advice).unwrap().next
}

fn in_words(next: &NextReport) -> &str {
    match next {
        NextReport::Test(test) => &test.says,
        NextReport::Stop(stop) => &stop.says,
        NextReport::Repair(repair) => &repair.says,
    }
}

#[test]
fn a_hot_case_past_an_open_ground_is_believed_to_the_last_digit_of_the_meter() {
    let circuit = circuit(NURSERY);
    let saw = [
        "tester at shed: hot-neutral lit, hot-ground lit, neutral-ground dark",
        "tester at tank: hot-neutral lit, hot-ground dark, neutral-ground lit",
        "non-contact at tank: hot beeps, neutral silent, ground beeps",
        "voltmeter at tank: hot-neutral 117.8 V, hot-ground 0.01 V, neutral-ground 117.8 V",
    ];
    let inquiry = told(&circuit, TOOLS, "tingle from warmer", &saw);
    let ground = chance(&inquiry, |one| {
        one.fault.conductors == ["ground"]
            && one.fault.places.iter().any(|at| at == "tank" || at == "shed")
    });
    let warmer = chance(&inquiry, |one| says(&circuit, one).contains("warmer"));
    assert!(ground > 0.9 && warmer > 0.9, "{ground} {warmer}");
    assert!(inquiry.conflicts().is_empty(), "what it reads is what that shows");
}

#[test]
fn a_burnt_joint_in_a_box_that_smells_is_the_one() {
    let circuit = circuit(BINDERY);
    let saw = ["opened oven: hot burnt, line side"];
    let inquiry = told(&circuit, TOOLS, "burning smell at oven", &saw);
    let burnt = chance(&inquiry, |one| says(&circuit, one).ends_with("at oven, line side"));
    assert!(burnt > 0.8, "{burnt}");
}

#[test]
fn a_bridge_that_was_seen_in_a_box_is_there_through_whatever_it_is() {
    let circuit = circuit(SMITHY);
    let saw = ["opened yard: hot and ground bridged"];
    let inquiry = told(&circuit, TOOLS, "gate gfci keeps tripping", &saw);
    let bridged = chance(&inquiry, |one| says(&circuit, one).contains("bridged at yard"));
    assert!(bridged > 0.9, "{bridged}");
}

#[test]
fn a_device_that_trips_as_it_is_closed_for_a_test_is_not_closed_for_it_again() {
    let circuit = circuit(NURSERY);
    let complaint = "mist, seed and cool are dead";
    let mut saw = vec!["potting found off", "potting trips at once"];
    let mut inquiry = told(&circuit, &TOOLS[..3], complaint, &saw);
    let is_behind = |test: &NextTest| {
        let at = test.at.as_str();
        ["mist", "seed", "cool"].contains(&at) && test.switch.is_empty() && test.breakers.is_empty()
    };
    if let Advice::Test(test) = inquiry.advise() {
        assert!(!is_behind(&test), "{} is dead as it stands", test.at);
    }
    saw.push("potting trips at once with everything unplugged");
    let mut inquiry = told(&circuit, &TOOLS[..3], complaint, &saw);
    if let Advice::Test(test) = inquiry.advise() {
        let dead = test.moment.condition.breakers.values().any(|closed| !closed);
        let behind = ["mist", "seed", "cool"].contains(&test.at.as_str());
        assert!(dead || !behind, "nothing behind it is read live any more: {}", test.at);
    }
}

#[test]
fn an_answer_that_a_breaker_trips_is_heard_as_the_test_had_it_closed() {
    let circuit = circuit(SMITHY);
    let tools: Vec<Tool> = TOOLS.iter().filter_map(|name| Tool::preset(name)).collect();
    let mut inquiry = told(&circuit, TOOLS, "gate gfci keeps tripping", &[]);
    let Advice::Test(test) = inquiry.advise() else { panic!("it is tested") };
    let said =
        words::answers(&circuit, &tools, &test, &Default::default(), "gate trips at once").unwrap();
    assert_eq!(said.len(), 1);
    assert!(matches!(said[0].seen, Seen::Protection { did: Protected::TripsAtOnce, .. }));
    assert_eq!(said[0].moment.condition, test.moment.condition);
}

#[test]
fn a_breaker_that_was_off_is_closed_where_its_load_runs() {
    let circuit = circuit(SMITHY);
    let saw = ["c1 found off", "bench-lamp runs"];
    let inquiry = told(&circuit, TOOLS, "bench-lamp dead", &saw);
    assert!(inquiry.conflicts().is_empty(), "one follows from the other");
    let account = |complaint: &str| {
        let complaints = words::complaints(&circuit, complaint).unwrap();
        let tools: Vec<Tool> = TOOLS.iter().filter_map(|name| Tool::preset(name)).collect();
        let saw = words::observations(&circuit, &tools, "c1 found off; c1 holds").unwrap();
        Account { complaints, observations: saw, ..Account::default() }
    };
    assert!(Inquiry::of(&circuit, &account("anvil dead; anvil works")).is_ok(), "it works now");
}

#[test]
fn lights_that_flicker_have_a_joint_also_where_no_light_is_described() {
    let text = r#"(format: 1, circuits: [(id: "c1", amperes: 15)],
        boxes: [(id: "door", from: "c1", feet: 20), (id: "bench", from: "door", feet: 9)])"#;
    let circuit = circuit(text);
    let inquiry = told(&circuit, TOOLS, "lights flicker", &[]);
    let findings = inquiry.findings();
    assert!(findings.nothing_known + findings.nothing_wrong < 0.3, "{findings:?}");
}

#[test]
fn loads_with_live_cases_are_switched_with_their_breaker_off() {
    let circuit = shared("pottery-studio");
    let next = advised(&circuit, &["ohmmeter"], &["shock from heater"], &[]);
    let NextReport::Test(test) = &next else { panic!("{}", in_words(&next)) };
    assert!(test.says.starts_with("With breaker c1 off, switch "), "{}", test.says);
}

#[test]
fn after_a_shock_no_breaker_that_trips_is_closed_for_a_test() {
    for (file, complaints) in [
        ("apiary", ["breaker c1 trips at once", "shock from spinner"]),
        ("print-shop", ["breaker c1 trips at once", "shock from glue-pot"]),
        ("bakery", ["breaker c1 trips at once", "shock from warmer"]),
    ] {
        let circuit = shared(file);
        for tools in [TOOLS, &TOOLS[..3]] {
            let next = advised(&circuit, tools, &complaints, &[]);
            assert!(!in_words(&next).contains("closed once"), "{file}: {}", in_words(&next));
        }
    }
}

#[test]
fn nobody_opens_a_transformer() {
    let circuit = shared("village-hall");
    for tools in [TOOLS, &["ohmmeter"]] {
        let complaints = ["breaker ring trips at once", "shock from tea-urn"];
        let next = advised(&circuit, tools, &complaints, &[]);
        assert!(!in_words(&next).contains("open transformer"), "{}", in_words(&next));
        if let NextReport::Stop(stop) = &next {
            let supply = stop.go_to.iter().filter(|one| one.place == "transformer");
            assert!(supply.clone().all(|one| one.service), "it is the service's");
        }
    }
}

#[test]
fn testing_ends_where_the_panel_is_as_good_as_live() {
    let circuit = shared("observatory");
    let next = advised(&circuit, TOOLS, &["gate dead", "shock from shutter"], &[]);
    let NextReport::Stop(stop) = &next else { panic!("{}", in_words(&next)) };
    assert_eq!(stop.because, Because::PanelLive);
    assert!(stop.go_to.is_empty());
}

#[test]
fn a_panel_that_is_felt_by_wet_hands_alone_is_kept_off_too() {
    let circuit = shared("mountain-inn");
    let next = advised(&circuit, TOOLS, &["panel warm", "shock from jukebox"], &[]);
    assert!(!in_words(&next).starts_with("Switch the main off"), "{}", in_words(&next));
}

#[test]
fn nothing_is_switched_or_unplugged_in_a_live_subpanel() {
    let circuit = shared("cider-press");
    let saw = [
        "voltmeter at porch: hot-neutral 119 V, hot-ground 119 V, neutral-ground 0 V",
        "voltmeter at vat: hot-neutral 119 V, hot-ground 0 V, neutral-ground 119 V",
        "voltmeter at rafter: hot-neutral 119 V, hot-ground 237 V, neutral-ground 119 V",
    ];
    let next = advised(&circuit, TOOLS, &["shock from loft"], &saw);
    let says = in_words(&next);
    match &next {
        NextReport::Test(test) => {
            assert!(test.switch.is_empty() && test.breakers_off.is_empty(), "{says}");
            assert!(says.starts_with("Touching no metal"), "{says}");
        }
        _ => assert!(says.contains("ouch neither"), "{says}"),
    }
}

#[test]
fn before_the_utility_is_called_for_one_place_another_is_looked_at_hands_off() {
    let circuit = shared("observatory");
    let saw = ["c4 holds", "non-contact at dome: hot beeps, neutral beeps, ground beeps"];
    let next = advised(&circuit, TOOLS, &["camera dead"], &saw);
    let NextReport::Test(test) = &next else { panic!("{}", in_words(&next)) };
    assert!(test.switch.is_empty() && test.breakers_off.is_empty(), "{}", test.says);
    assert!(!test.at.starts_with("dome") && !test.at.starts_with("camera"), "{}", test.says);
}

#[test]
fn where_everything_is_dark_a_detector_is_held_before_a_box_is_opened() {
    let circuit = shared("pottery-studio");
    let well = "hot-neutral lit, hot-ground lit, neutral-ground dark";
    let saw = [
        "c1 holds".to_owned(),
        "non-contact at wheel: hot beeps, neutral silent, ground silent".to_owned(),
        "tester at kiln: hot-neutral dark, hot-ground dark, neutral-ground dark".to_owned(),
        format!("tester at wheel: {well}"),
    ];
    let saw: Vec<&str> = saw.iter().map(String::as_str).collect();
    let next = advised(&circuit, TOOLS, &["sink dead"], &saw);
    let NextReport::Test(test) = &next else { panic!("{}", in_words(&next)) };
    assert_eq!((test.instrument.as_str(), test.at.as_str()), ("non-contact", "kiln"));
}

#[test]
fn what_was_measured_before_a_repair_is_no_danger_after_it() {
    let circuit = shared("pottery-studio");
    let before = [
        "voltmeter at sink: hot-neutral 83.4 V, hot-ground 119.0 V, neutral-ground 35.54 V",
        "tester at wheel: hot-neutral dim, hot-ground lit, neutral-ground dim with kettle on",
    ];
    let after =
        [before[0], before[1], "opened wheel: neutral 5 ohm at wheel, line side", "mended wheel"];
    let live = |saw: &[&str]| {
        let inquiry = told(&circuit, TOOLS, "heater weak", saw);
        let warned = inquiry.warnings();
        let neutral = warned.iter().find(|one| one.danger.code == "energised_neutral");
        neutral.map_or(0.0, |one| one.probability)
    };
    assert!(live(&before) > 0.9 && live(&after) < 0.1, "{} {}", live(&before), live(&after));
}
