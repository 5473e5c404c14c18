//! What trips once something is on, what burns, what is not sure: calls as electricians play them.

use slotwise::condition::{Condition, Fault};
use slotwise::diagnosis::{Advice, Because, Complaint, Inquiry, Means, Tool, words};
use slotwise::report::locate::NextReport;

use crate::call::{circuit, locate_until, told};
use crate::heard::{reported, says};

/// A terrace behind a ground-fault receptacle.
const TERRACE: &str = r#"(
    format: 1,
    name: "Terrace",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "shed", from: "c1", feet: 30, device: GroundFault(feeds: true)),
        (id: "table", from: "shed", feet: 18),
        (id: "pond", from: "table", feet: 25),
    ],
    loads: [
        (id: "grill", at: "table", on: false, kind: Resistive(watts: 1300)),
        (id: "fountain", at: "pond", kind: Motor(watts: 90), metal_case: false),
        (id: "lamp", at: "shed", kind: Filament(watts: 60), metal_case: false),
    ],
)"#;

#[test]
fn a_ground_fault_device_that_trips_when_an_appliance_starts_suspects_the_appliance() {
    let terrace = circuit(TERRACE);
    let inquiry = told(&terrace, &["tester"], "shed trips when grill starts", &[]);
    let findings = inquiry.findings();
    let leading = &findings.suspects[0].faults[0].fault;
    assert_eq!(leading.kind.code(), "leaks_once_on");
    assert_eq!(leading.appliance(&terrace).unwrap().id, "grill");
    assert!(leading.sentence(&terrace).contains("insulation of grill"), "{leading:?}");
    // It holds with the grill in and off, as no breakdown that is always there lets it.
    let holds = told(&terrace, &["tester"], "shed trips when grill starts", &["shed holds"]);
    let suspects = holds.findings().suspects;
    assert_eq!(suspects[0].faults[0].fault.kind.code(), "leaks_once_on");
    assert!(suspects[0].probability > 0.8, "{}", suspects[0].probability);
    // What has no metal case leaks to the water it is in.
    let wet = told(&terrace, &["tester"], "shed trips when fountain starts", &["shed holds"]);
    let fountain = wet.findings().suspects.into_iter().find(|suspect| {
        let fault = &suspect.faults[0].fault;
        fault.appliance(&terrace).is_some_and(|load| load.id == "fountain")
    });
    assert!(fountain.is_some_and(|suspect| suspect.probability > 0.1));
}

#[test]
fn filters_that_leak_more_than_a_device_lets_pass_need_no_fault() {
    let office = circuit(
        r#"(format: 1, name: "Counting house", circuits: [(id: "c1", amperes: 20)],
        boxes: [(id: "desk", from: "c1", feet: 30, device: GroundFault(feeds: true)),
            (id: "rack", from: "desk", feet: 10)],
        loads: [(id: "server", at: "rack", kind: Electronics(watts: 200), metal_case: true,
                filter_nanofarads: 60),
            (id: "plotter", at: "desk", on: false, kind: Electronics(watts: 300),
                metal_case: true, filter_nanofarads: 70)])"#,
    );
    let mut inquiry = told(&office, &["tester"], "desk trips now and then", &[]);
    // 2 pi 60 Hz times 130 nF times 120 V.
    let leak = inquiry.overloads().remove(0);
    assert!(leak.is_leakage && (0.0055..0.0062).contains(&leak.ampere), "{leak:?}");
    let _ = inquiry.advise();
}

/// A loft with an old run.
const LOFT: &str = r#"(
    format: 1,
    name: "Loft",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "hatch", from: "c1", feet: 40),
        (id: "gable", from: "hatch", feet: 15),
        (id: "eaves", from: "gable", feet: 15),
    ],
    loads: [
        (id: "heater", at: "eaves", on: false, kind: Resistive(watts: 1400)),
        (id: "lamp", at: "hatch", kind: Filament(watts: 60)),
    ],
)"#;

#[test]
fn what_smells_of_burning_is_opened_and_not_loaded_to_find_out_more() {
    let loft = circuit(LOFT);
    let mut inquiry = told(&loft, &["voltmeter"], "burning smell at gable", &[]);
    let Advice::Stop(stop) = inquiry.advise() else { panic!("a test sends current through it") };
    assert_eq!(stop.because, Because::Felt);
    assert_eq!(stop.go_to[0].place, "gable");
    assert!(stop.go_to[0].opens_a_box());
    // Where nobody may open it nothing is tested through it either, and no handle closed.
    let out_of_reach = std::iter::once("gable".to_owned()).collect();
    let tools = ["voltmeter", "loaded-test"].iter().filter_map(|name| Tool::preset(name)).collect();
    let mut far = Inquiry::new(&loft, Means { tools, out_of_reach, ..Means::default() });
    for complaint in
        words::complaints(&loft, "dead from hatch on; gable smells of burning").unwrap()
    {
        far.complain(&complaint).unwrap();
    }
    let Advice::Stop(stop) = far.advise() else { panic!("a test sends current through it") };
    assert_eq!((stop.because, stop.go_to[0].place.as_str()), (Because::Felt, "gable"));
    // Opened and sound, the search goes on.
    let mut opened =
        told(&loft, &["voltmeter"], "burning smell at gable", &["opened gable: sound"]);
    assert!(!matches!(opened.advise(), Advice::Stop(stop) if stop.because == Because::Felt));
}

#[test]
fn a_look_that_nobody_is_sure_of_is_not_asked_for_again() {
    let loft = circuit(LOFT);
    let unsure = "non-contact at eaves: hot not sure, neutral not sure, ground not sure";
    let mut inquiry =
        told(&loft, &["non-contact", "tester"], "dead from eaves on", &[unsure, unsure]);
    let Advice::Test(test) = inquiry.advise() else { panic!("there is more to test") };
    assert!(!(test.instrument == "non-contact" && test.at.as_str() == "eaves"), "{test:?}");
}

#[test]
fn an_appliance_is_not_blamed_before_its_receptacle_was_loaded() {
    let loft = circuit(LOFT);
    let lit = "tester at eaves: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let tools = ["tester", "loaded-test"];
    let mut inquiry = told(&loft, &tools, "heater does not run", &[lit]);
    let Advice::Test(test) = inquiry.advise() else { panic!("a joint may be bad") };
    assert_eq!((test.instrument.as_str(), test.at.as_str()), ("loaded-test", "eaves"));
    let good = "loaded-test at eaves: 119.5 V falls to 117.2 V";
    let mut loaded = told(&loft, &tools, "heater does not run", &[lit, good]);
    let Advice::Stop(stop) = loaded.advise() else { panic!("it is the heater") };
    assert_eq!(stop.because, Because::NothingWrong);
    let bad = told(
        &loft,
        &tools,
        "heater does not run",
        &[lit, "loaded-test at eaves: 119.5 V falls to 92 V, hot 2.5 ohm, neutral 0.15 ohm"],
    );
    // In the run or in the service: what lies ahead of the lamp nobody has looked at.
    let findings = bad.findings();
    assert!(findings.nothing_wrong < 0.01, "{}", findings.nothing_wrong);
    let kind = findings.suspects[0].faults[0].fault.kind.code();
    assert!(["bad_joint", "service_bad"].contains(&kind), "{kind}");
}

#[test]
fn one_thing_that_runs_slowly_is_no_brown_out() {
    let loft = circuit(LOFT);
    let slow = told(&loft, &["voltmeter"], "heater slow", &[]);
    let supply = slow.findings().suspects.into_iter().find(|suspect| {
        suspect.faults.iter().any(|fault| fault.fault.kind.code() == "supply_voltage")
    });
    // A supply a tenth low may be; one that is nearly half gone is not thought of first.
    let deep = |fault: &Fault| matches!(fault, Fault::SupplyVoltage { emf_volt, .. } if emf_volt.magnitude() < 90.0);
    let deep = supply.map_or(0.0, |suspect| {
        let of_it = suspect.faults.iter().filter(|one| one.fault.change.faults.iter().any(deep));
        suspect.probability * of_it.map(|one| one.share).sum::<f64>()
    });
    assert!(deep < 0.1, "{deep}");
}

#[test]
fn too_much_voltage_that_comes_once_loads_are_on_is_warned_of_before_they_are() {
    let yard = circuit(
        r#"(format: 1, name: "Saw yard",
        circuits: [(id: "c1", amperes: 20, legs: ["L1", "L2"])],
        boxes: [(id: "mill", from: "c1", feet: 40), (id: "lean", from: "mill", feet: 15,
            carries: ["hot2", "neutral", "ground"], device: Receptacle(hot: "hot2"))],
        loads: [(id: "saw", at: "mill", on: false, kind: Resistive(watts: 1400)),
            (id: "lamp", at: "lean", kind: Filament(watts: 60))])"#,
    );
    let inquiry = told(&yard, &["voltmeter"], "lamp brightens when saw runs", &[]);
    let warned = inquiry.warnings();
    let burnt = warned.iter().find(|warning| warning.danger.code == "over_voltage");
    assert!(burnt.is_some_and(|warning| warning.probability > 0.3), "{warned:?}");
}

#[test]
fn what_a_button_makes_trip_is_not_taken_and_forgotten() {
    let terrace = circuit(TERRACE);
    let tools: Vec<Tool> = ["tester"].iter().filter_map(|name| Tool::preset(name)).collect();
    let mut inquiry = Inquiry::new(&terrace, Means { tools: tools.clone(), ..Means::default() });
    let seen = words::observations(&terrace, &tools, "tester button at shed: does not trip");
    let problem = inquiry.observe_all(&seen.unwrap()).unwrap_err();
    assert!(problem.1.to_string().contains("with DEVICE off"), "{problem:?}");
}

#[test]
fn a_kettle_that_nobody_mentioned_does_not_make_a_lost_neutral_a_low_supply() {
    let hostel = circuit(
        r#"(format: 1, name: "Hostel",
        circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20, leg: "L2")],
        boxes: [(id: "kitchen", from: "c1", feet: 30), (id: "larder", from: "kitchen", feet: 12),
            (id: "bed", from: "c2", feet: 35), (id: "bath", from: "bed", feet: 10)],
        loads: [(id: "kettle", at: "kitchen", on: false, kind: Resistive(watts: 1500)),
            (id: "fridge", at: "larder", kind: Resistive(watts: 150)),
            (id: "lamp", at: "bed", kind: Filament(watts: 60)),
            (id: "airer", at: "bath", kind: Resistive(watts: 500))])"#,
    );
    // What `read` has with the service neutral lost and the kettle on.
    let low = "voltmeter at larder: hot-neutral 71.6 V, hot-ground 72 V, neutral-ground 0.41 V";
    let inquiry = told(&hostel, &["voltmeter"], "lamp brightens when kettle runs", &[low]);
    let leading = &inquiry.findings().suspects[0];
    assert_eq!(leading.faults[0].fault.kind.code(), "service_lost");
    assert!(leading.probability > 0.9, "{}", leading.probability);
    let warned = inquiry.warnings();
    assert!(warned.iter().any(|warning| warning.danger.code == "over_voltage"), "{warned:?}");
    // Said to be off, it is no excuse.
    let off = format!("{low} with kettle off");
    let told_off = told(&hostel, &["voltmeter"], "lamp brightens when kettle runs", &[&off]);
    let leading = &told_off.findings().suspects[0];
    let is_plain = leading.faults[0].fault.kind.code() == "service_lost";
    assert!(!(is_plain && leading.probability > 0.9), "with the kettle off it would read more");
}

/// One circuit from a metal panel.
const DRYING_SHED: &str = r#"(
    format: 1,
    name: "Drying shed",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20, leg: "L2")],
    boxes: [
        (id: "door", from: "c1", feet: 20),
        (id: "rack", from: "door", feet: 14),
        (id: "vat", from: "c2", feet: 25),
    ],
    loads: [
        (id: "heater", at: "rack", kind: Resistive(watts: 1200), metal_case: true),
        (id: "fan", at: "vat", kind: Resistive(watts: 200), metal_case: true),
    ],
)"#;

#[test]
fn a_shock_from_the_panel_ends_all_testing_and_is_put_down_to_the_service() {
    let shed = circuit(DRYING_SHED);
    let report = reported(&shed, "tingle at panel", "");
    let NextReport::Stop(stop) = &report.next else { panic!("{:?}", report.next) };
    assert_eq!(stop.because, Because::PanelLive);
    assert!(stop.says.contains("have the utility cut the supply"), "{}", stop.says);
    assert!(report.nothing_wrong < 0.2, "{}", report.nothing_wrong);
    let first = &report.suspects[0];
    assert!(first.says.contains("service neutral"), "{}", first.says);
    // What else there is to do would send somebody to the panel.
    for warning in &report.warnings {
        assert!(warning.advice.contains("Touch neither the panel"), "{}", warning.advice);
    }
}

#[test]
fn what_burns_in_the_panel_is_not_said_to_be_dead_with_a_breaker_off() {
    let shed = circuit(DRYING_SHED);
    let says = says(&shed, "smell of burning at panel", "");
    assert!(says.starts_with("Switch the main off and leave it off"), "{says}");
    assert!(says.contains("what comes in from the service stays live in it"), "{says}");
}

#[test]
fn a_shock_that_no_reading_explains_is_not_put_down_to_nothing() {
    let shed = circuit(DRYING_SHED);
    let inquiry = told(&shed, &["tester"], "", &["c1 holds", "c2 holds"]);
    let complaint = Complaint::Tingle { from: "heater".into() };
    let sound = Condition::default();
    let course = locate_until(&shed, inquiry, &sound, &complaint, &|_| false);
    let because = course.stop.because;
    assert!(!matches!(because, Because::NothingWrong | Because::NothingKnown), "{because:?}");
}
