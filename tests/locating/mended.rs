//! After something was put right: the search goes on with what is left.

use slotwise::circuit::Circuit;
use slotwise::condition::catalogue::FaultKind;
use slotwise::condition::{Condition, LoadState};
use slotwise::diagnosis::{
    Account, Advice, Because, Inquiry, Mended, Observation, Seen, Stop, SuspectFault, Tool, words,
};
use slotwise::report::LocateReport;
use slotwise::report::locate::NextReport;

use crate::call::{answers, chance, circuit, condition, read, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "loaded-test"];

/// Six boxes on one cable, with a wired light behind a switch.
const SMOKEHOUSE: &str = r#"(
    format: 1,
    name: "Smokehouse",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "rack", from: "door", feet: 12),
        (id: "block", from: "rack", feet: 9),
        (id: "sill", from: "block", feet: 15),
        (id: "loft", from: "sill", feet: 11),
        (id: "lsw", from: "loft", feet: 10, device: Switch(closed: true)),
        (
            id: "beam", from: "lsw", feet: 8, carries: ["switched", "neutral", "ground"],
            devices: [],
        ),
    ],
    loads: [
        (id: "grinder", at: "block", kind: Motor(watts: 400), on: false),
        (id: "heater", at: "sill", kind: Resistive(watts: 900), metal_case: true),
        (id: "radio", at: "loft", kind: Electronics(watts: 12)),
        (
            id: "light", at: "beam", wired: true, across: ("switched", "neutral"),
            kind: Filament(watts: 60),
        ),
    ],
)"#;

const GOOD: &str = "hot-neutral lit, hot-ground lit, neutral-ground dark";

fn stopped(inquiry: &mut Inquiry<'_>) -> Stop {
    match inquiry.advise() {
        Advice::Stop(stop) => stop,
        Advice::Test(test) => panic!("it goes on at {}", test.at),
    }
}

/// How likely a suspect in a box is, of these conductors.
fn chance_at(inquiry: &Inquiry<'_>, place: &str, conductor: &str) -> f64 {
    chance(inquiry, |one| {
        one.fault.places.iter().any(|at| at == place)
            && one.fault.conductors.iter().any(|known| known == conductor)
    })
}

/// Tests answered truly until the advice is to stop.
fn to_the_end(circuit: &Circuit, inquiry: &mut Inquiry<'_>, truth: &Condition) -> (Stop, usize) {
    for n in 0..25 {
        match inquiry.advise() {
            Advice::Stop(stop) => return (stop, n),
            Advice::Test(test) => {
                if let Some(parting) = &test.parting {
                    let seen = Seen::Opened { place: parting.place.clone(), found: Vec::new() };
                    inquiry.observe(&Observation { moment: Default::default(), seen }).unwrap();
                }
                inquiry.observe_all(&answers(circuit, truth, &test)).unwrap();
            }
        }
    }
    panic!("it never stops")
}

#[test]
fn a_repair_that_reads_right_afterwards_is_the_end_of_the_call() {
    let circuit = circuit(SMOKEHOUSE);
    let saw = ["opened sill: neutral loose, line side", "mended sill"];
    let mut inquiry = told(&circuit, TOOLS, "dead from sill on", &saw);
    assert!(chance_at(&inquiry, "sill", "neutral") < 0.05, "that is mended");
    let (stop, n_tests) = to_the_end(&circuit, &mut inquiry, &Condition::default());
    assert_eq!(stop.because, Because::Mended);
    assert!(stop.go_to.is_empty(), "{:?}", stop.go_to);
    assert!((1..=4).contains(&n_tests), "{n_tests} tests to confirm it");
    assert!(inquiry.findings().nothing_wrong > 0.85);
    assert!(inquiry.conflicts().is_empty(), "what was dead before is not dead since");
}

#[test]
fn without_the_word_that_it_is_mended_a_good_reading_contradicts_what_was_found() {
    let circuit = circuit(SMOKEHOUSE);
    let good = format!("tester at loft: {GOOD}");
    let found = "opened sill: neutral loose, line side";
    let before = told(&circuit, TOOLS, "dead from sill on", &[found, &good]);
    let after = told(&circuit, TOOLS, "dead from sill on", &[found, "mended sill", &good]);
    assert!(after.findings().nothing_wrong > 0.85);
    assert!(before.findings().nothing_wrong < 0.5, "{}", before.findings().nothing_wrong);
}

#[test]
fn a_second_open_that_the_first_one_hid_is_found_after_it() {
    let circuit = circuit(SMOKEHOUSE);
    let both = ["neutral open at rack, line side", "hot open at loft, line side"];
    let left = condition(&circuit, &both[1..]);
    let saw = ["opened rack: neutral loose, line side", "mended rack"];
    let mut inquiry = told(&circuit, TOOLS, "dead from rack on", &saw);
    // The report says that every receptacle is read after a repair.
    let tools: Vec<Tool> = TOOLS.iter().filter_map(|name| Tool::preset(name)).collect();
    for place in ["rack", "loft"] {
        let ask = format!("tester at {place}: not sure");
        let asked = words::observations(&circuit, &tools, &ask).unwrap();
        inquiry.observe_all(&read(&circuit, &left, &asked[0])).unwrap();
    }
    let (stop, _) = to_the_end(&circuit, &mut inquiry, &left);
    assert!(["loft", "sill"].contains(&stop.go_to[0].place.as_str()), "{:?}", stop.go_to);
    assert!(chance_at(&inquiry, "loft", "hot") > 0.5);
    assert!(chance_at(&inquiry, "rack", "neutral") < 0.02);
}

#[test]
fn what_is_dead_since_the_repair_is_another_fault() {
    let circuit = circuit(SMOKEHOUSE);
    let saw = ["opened rack: neutral loose, line side; mended rack; sill works; loft still dead"];
    let inquiry = told(&circuit, TOOLS, "dead from rack on", &saw);
    assert!(inquiry.findings().nothing_wrong < 0.1, "{}", inquiry.findings().nothing_wrong);
    let at_loft = chance_at(&inquiry, "loft", "neutral") + chance_at(&inquiry, "loft", "hot");
    assert!(at_loft > 0.5, "{at_loft}");
}

#[test]
fn a_wired_light_with_a_new_bulb_that_stays_dark_is_a_joint_and_not_the_bulb() {
    let circuit = circuit(SMOKEHOUSE);
    let dark = told(&circuit, TOOLS, "light dead", &[]);
    let good = format!("tester at loft: {GOOD}");
    let saw = [good.as_str(), "replaced light", "light dead"];
    let mut inquiry = told(&circuit, TOOLS, "light dead", &saw);
    assert!(inquiry.findings().nothing_wrong < 0.1, "{}", inquiry.findings().nothing_wrong);
    assert!(dark.findings().nothing_wrong > inquiry.findings().nothing_wrong);
    let truth = condition(&circuit, &["neutral open at lsw, line side"]);
    let (stop, _) = to_the_end(&circuit, &mut inquiry, &truth);
    let boxes: Vec<&str> = stop.go_to.iter().map(|one| one.place.as_str()).collect();
    assert!(boxes.contains(&"lsw") || boxes.contains(&"beam"), "{boxes:?}");
}

#[test]
fn what_runs_elsewhere_is_not_the_appliance_and_what_is_dead_elsewhere_is() {
    let circuit = circuit(SMOKEHOUSE);
    let runs = told(&circuit, TOOLS, "grinder dead", &["grinder dead", "grinder runs elsewhere"]);
    let dead = told(&circuit, TOOLS, "grinder dead", &["grinder dead", "grinder dead elsewhere"]);
    let asked = told(&circuit, TOOLS, "grinder dead", &["grinder dead"]);
    let wiring = |inquiry: &Inquiry<'_>| 1.0 - inquiry.findings().nothing_wrong;
    assert!(wiring(&runs) > 0.95, "{}", wiring(&runs));
    assert!(wiring(&dead) < 0.25, "{}", wiring(&dead));
    assert!(wiring(&dead) < wiring(&asked) && wiring(&asked) < wiring(&runs));
}

#[test]
fn what_trips_elsewhere_too_is_shorted_inside_and_what_runs_elsewhere_is_not() {
    let circuit = circuit(SMOKEHOUSE);
    let inside = |and_then: &[&str]| {
        let inquiry = told(&circuit, TOOLS, "grinder trips the breaker", and_then);
        let is_it = |one: &SuspectFault| {
            one.fault.appliance(&circuit).is_some_and(|load| load.id == "grinder")
        };
        chance(&inquiry, is_it)
    };
    let (asked, trips, runs) =
        (inside(&[]), inside(&["grinder trips elsewhere"]), inside(&["grinder runs elsewhere"]));
    assert!(trips > 0.95, "{trips}");
    assert!(runs < 0.4 * asked, "{runs} of {asked}");
    assert!(asked < trips, "{asked}");
    let mut inquiry =
        told(&circuit, TOOLS, "grinder trips the breaker", &["grinder trips elsewhere"]);
    assert_eq!(stopped(&mut inquiry).because, Because::NothingWrong);
    let next = &["grinder trips elsewhere", "replaced grinder", "c1 trips at once"];
    let mut inquiry = told(&circuit, TOOLS, "grinder trips the breaker", next);
    assert!(matches!(inquiry.advise(), Advice::Test(_)), "something else trips it");
}

#[test]
fn a_shock_that_what_was_mended_explains_is_not_felt_for_nothing() {
    let circuit = circuit(SMOKEHOUSE);
    let found = "opened sill: hot and ground exchanged";
    let good = format!("tester at sill: {GOOD}");
    let saw = [found, "mended sill", good.as_str()];
    let mut inquiry = told(&circuit, TOOLS, "shock from heater", &saw);
    let stop = match inquiry.advise() {
        Advice::Stop(stop) => stop,
        Advice::Test(_) => to_the_end(&circuit, &mut inquiry, &Condition::default()).0,
    };
    assert_eq!(stop.because, Because::Mended);
    let unmended = ["opened door: nothing found", "replaced radio", good.as_str()];
    let mut inquiry = told(&circuit, TOOLS, "shock from heater", &unmended);
    let (stop, _) = to_the_end(&circuit, &mut inquiry, &Condition::default());
    assert_eq!(stop.because, Because::StillFelt, "a radio explains no shock");
}

#[test]
fn remade_joints_of_a_box_are_good_although_nothing_was_found_in_it() {
    let circuit = circuit(SMOKEHOUSE);
    let saw = ["mended sill", "since then dead from sill on"];
    let inquiry = told(&circuit, TOOLS, "dead from sill on", &saw);
    let open = |place: &str| {
        chance(&inquiry, |one| {
            one.fault.kind == FaultKind::OpenJoint && one.fault.places == [place.to_owned()]
        })
    };
    assert!(open("sill") < 0.02);
    assert!(open("block") > 0.5, "its load side");
}

#[test]
fn what_was_found_last_is_to_be_mended_and_the_report_says_how_to_say_so() {
    let circuit = circuit(SMOKEHOUSE);
    let complaints = words::complaints(&circuit, "dead from sill on").unwrap();
    let mut account = Account { complaints, ..Account::default() };
    let found = "opened sill: neutral loose, line side";
    account.observations = words::observations(&circuit, &account.means.tools, found).unwrap();
    let report = |account: &Account| {
        let mut inquiry = Inquiry::of(&circuit, account).unwrap();
        let advice = inquiry.advise();
        LocateReport::new(&inquiry, &advice).unwrap()
    };
    let NextReport::Repair(repair) = report(&account).next else { panic!("it was found") };
    assert!(repair.says.contains("`mended sill`"), "{}", repair.says);
    let seen = Seen::Mended(Mended::Box { place: "sill".into() });
    account.observations.push(Observation { moment: Default::default(), seen });
    let after = report(&account);
    assert_eq!(after.mended, ["mended sill"]);
    assert!(!matches!(after.next, NextReport::Repair(_)), "it is mended");
    let mut inquiry = Inquiry::of(&circuit, &account).unwrap();
    let (_, _) = to_the_end(&circuit, &mut inquiry, &Condition::default());
    assert_eq!(stopped(&mut inquiry).because, Because::Mended);
}

/// Both ends of a cable were opened, and nothing was found.
const BOTH_ENDS_SOUND: [&str; 4] = [
    "tester at sill: hot-neutral dark, hot-ground lit, neutral-ground lit",
    "tester at block: hot-neutral lit, hot-ground lit, neutral-ground dark",
    "opened block: all joints tight",
    "opened sill: nothing found",
];

#[test]
fn a_cable_with_sound_joints_at_both_ends_is_measured_and_no_box_opened_again() {
    let circuit = circuit(SMOKEHOUSE);
    let complaints = words::complaints(&circuit, "dead from sill on").unwrap();
    let mut account = Account { complaints, ..Account::default() };
    let truth = condition(&circuit, &["neutral broken in cable block-sill"]);
    let saw = BOTH_ENDS_SOUND.join("; ");
    account.observations = words::observations(&circuit, &account.means.tools, &saw).unwrap();
    let mut inquiry = Inquiry::of(&circuit, &account).unwrap();
    for _ in 0..25 {
        let advice = inquiry.advise();
        if let Advice::Test(test) = &advice {
            let seen = answers(&circuit, &truth, test);
            inquiry.observe_all(&seen).unwrap();
            account.observations.extend(seen);
            continue;
        }
        let report = LocateReport::new(&inquiry, &advice).unwrap();
        let NextReport::Stop(stop) = &report.next else { panic!("testing ends") };
        let said = &stop.says;
        assert!(said.contains("take the neutral of cable block-sill off at both ends"), "{said}");
        assert!(said.contains("breaker c1 off") && said.contains("proven dead"), "{said}");
        assert!(said.contains("`replaced cable block-sill`"), "{said}");
        return;
    }
    panic!("it never stops")
}

#[test]
fn joints_made_anew_are_no_end_before_anything_is_read_where_the_cable_may_be_broken() {
    let circuit = circuit(SMOKEHOUSE);
    let mut saw = BOTH_ENDS_SOUND.to_vec();
    saw.extend(["mended block", "mended sill"]);
    let mut inquiry = told(&circuit, TOOLS, "dead from sill on", &saw);
    assert!(matches!(inquiry.advise(), Advice::Test(_)), "one look tells");
}

#[test]
fn a_new_cable_is_the_end_of_what_was_in_the_old_one() {
    let circuit = circuit(SMOKEHOUSE);
    let mut saw = BOTH_ENDS_SOUND.to_vec();
    saw.push("replaced cable block-sill");
    let mut inquiry = told(&circuit, TOOLS, "dead from sill on", &saw);
    assert!(chance_at(&inquiry, "sill", "neutral") < 0.05, "the joints were made anew too");
    let (stop, _) = to_the_end(&circuit, &mut inquiry, &Condition::default());
    assert_eq!(stop.because, Because::Mended);
    assert!(inquiry.findings().nothing_wrong > 0.85, "{}", inquiry.findings().nothing_wrong);
    saw.push("since then dead from sill on");
    let still = told(&circuit, TOOLS, "dead from sill on", &saw);
    assert!(still.findings().nothing_wrong < 0.1, "{}", still.findings().nothing_wrong);
}

#[test]
fn what_was_live_with_its_breaker_off_is_not_over_because_a_joint_was_mended() {
    let circuit = circuit(SMOKEHOUSE);
    let live = "sill still live with c1 off";
    let saw = [live, "opened sill: hot loose, line side", "mended sill"];
    let mut inquiry = told(&circuit, TOOLS, "sill dead", &saw);
    let good = format!("tester at sill: {GOOD}");
    let tools: Vec<Tool> = TOOLS.iter().filter_map(|name| Tool::preset(name)).collect();
    inquiry.observe_all(&words::observations(&circuit, &tools, &good).unwrap()).unwrap();
    assert_eq!(stopped(&mut inquiry).because, Because::LiveDespiteBreaker);
}

#[test]
fn metal_that_an_exchange_made_live_is_not_feared_once_that_is_mended() {
    let circuit = circuit(SMOKEHOUSE);
    let saw = [
        "voltmeter between sill.ground and earth: 119 V",
        "opened sill: hot and ground exchanged",
        "mended sill",
        "voltmeter between sill.ground and earth: 0.1 V",
    ];
    let mut inquiry = told(&circuit, TOOLS, "shock from heater", &saw);
    let (stop, _) = to_the_end(&circuit, &mut inquiry, &Condition::default());
    assert_eq!(stop.because, Because::Mended);
}

#[test]
fn what_is_dead_elsewhere_too_is_the_load_with_nothing_more_tested() {
    let circuit = circuit(SMOKEHOUSE);
    let mut inquiry = told(&circuit, TOOLS, "radio dead", &["c1 holds", "radio dead elsewhere"]);
    assert_eq!(stopped(&mut inquiry).because, Because::NothingWrong);
}

#[test]
fn what_works_again_since_what_was_found_was_mended_is_the_end_of_the_call() {
    let circuit = circuit(SMOKEHOUSE);
    let found = ["opened loft: neutral open, line side", "mended loft", "since then loft works"];
    let mut inquiry = told(&circuit, TOOLS, "loft dead, sill works", &found);
    assert_eq!(stopped(&mut inquiry).because, Because::Mended);
    // Of what is still dead it is not.
    let still = ["opened loft: neutral open, line side", "mended loft", "since then loft dead"];
    let mut inquiry = told(&circuit, TOOLS, "loft dead, sill works", &still);
    assert!(!matches!(inquiry.advise(), Advice::Stop(Stop { because: Because::Mended, .. })));
}

#[test]
fn what_stood_on_too_much_is_measured_once_more_before_it_is_switched_on_again() {
    let cannery = circuit(
        r#"(
        format: 1,
        name: "Cannery",
        circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15, leg: "L2")],
        boxes: [
            (id: "boiler", from: "c1", feet: 30),
            (id: "label", from: "c2", feet: 25),
        ],
        loads: [
            (id: "heater", at: "boiler", kind: Resistive(watts: 1500)),
            (id: "pump", at: "label", kind: Motor(watts: 200)),
        ],
    )"#,
    );
    let tools = ["tester", "voltmeter"];
    let too_much = "voltmeter at label: 171 V with pump off";
    let called = "heater dims";
    let mended = [too_much, "mended panel"];
    match told(&cannery, &tools, called, &mended).advise() {
        Advice::Test(test) => {
            assert_eq!((&*test.instrument, test.at.as_str()), ("voltmeter", "label"));
            assert_ne!(test.moment.condition.loads.get("pump"), Some(&LoadState::On));
        }
        Advice::Stop(stop) => panic!("{:?}", stop.because),
    }
    let read = [too_much, "mended panel", "voltmeter at label: 120 V with pump off"];
    if let Advice::Test(test) = told(&cannery, &tools, called, &read).advise() {
        assert_ne!((&*test.instrument, test.at.as_str()), ("voltmeter", "label"));
    }
}

#[test]
fn after_a_repair_what_was_called_about_is_looked_at_and_nobody_is_sent_to_another_circuit() {
    let bakery = circuit(
        r#"(
        format: 1,
        name: "Mill bakery",
        circuits: [(id: "shop", amperes: 20), (id: "oven", amperes: 20, leg: "L2")],
        boxes: [
            (id: "counter", from: "shop", feet: 30),
            (id: "till", from: "counter", feet: 12),
            (id: "proofer", from: "till", feet: 15),
            (id: "deck", from: "oven", feet: 25),
        ],
        loads: [(id: "scale", at: "proofer", kind: Filament(watts: 60))],
    )"#,
    );
    let tools = ["tester", "voltmeter", "non-contact"];
    let found = ["opened till: neutral loose, load side", "mended till"];
    match told(&bakery, &tools, "proofer dead", &found).advise() {
        Advice::Test(test) => {
            assert_eq!((test.instrument.as_str(), test.at.as_str()), ("tester", "proofer"));
        }
        Advice::Stop(stop) => panic!("{stop:?}"),
    }
    let well = [found[0], found[1], "tester at proofer: lit lit dark"];
    match told(&bakery, &tools, "proofer dead", &well).advise() {
        Advice::Stop(stop) => assert_eq!(stop.because, Because::Mended),
        Advice::Test(test) => assert_ne!(test.at.as_str(), "deck", "another circuit"),
    }
}
