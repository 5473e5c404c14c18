//! What is tried before any instrument is taken out, and what nobody is sent away with.

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::diagnosis::{
    Advice, Because, Complaint, Inquiry, LoadSeen, Moment, Observation, Seen, Stop, WhenItTrips,
};
use slotwise::report::locate::NextReport;

use crate::call::{chance, circuit, closed_once, condition, locate, told};
use crate::heard::reported;

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "loaded-test", "ohmmeter"];

/// A sail loft: a run of four with appliances at three of them.
const LOFT: &str = r#"(
    format: 1,
    name: "Sail loft",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15, leg: "L2")],
    boxes: [
        (id: "stove", from: "c1", feet: 25),
        (id: "table", from: "stove", feet: 12),
        (id: "bench", from: "table", feet: 14),
        (id: "hatch", from: "bench", feet: 9),
        (id: "store", from: "c2", feet: 30),
    ],
    loads: [
        (id: "iron", at: "table", on: false, kind: Resistive(watts: 1100)),
        (id: "sewing", at: "bench", kind: Motor(watts: 200)),
        (id: "radio", at: "hatch", kind: Electronics(watts: 15)),
        (id: "freezer", at: "store", kind: Motor(watts: 150)),
    ],
)"#;

const STAIRS: &str = r#"(
    format: 1,
    name: "Net store stairs",
    circuits: [(id: "c1", amperes: 15)],
    boxes: [
        (id: "hall", from: "c1", feet: 18),
        (id: "foot", from: "hall", feet: 9, device: ThreeWay(common: "hot")),
        (id: "head", from: "foot", feet: 22,
         carries: ["traveller1", "traveller2", "neutral", "ground"], device: ThreeWay(common: "switched")),
        (id: "rose", from: "head", feet: 8, carries: ["switched", "neutral", "ground"], devices: []),
    ],
    loads: [(id: "lamp", at: "rose", kind: Led(watts: 20), wired: true, across: ("switched", "neutral"))],
)"#;

fn stop(inquiry: &mut Inquiry<'_>) -> Stop {
    match inquiry.advise() {
        Advice::Stop(stop) => stop,
        Advice::Test(test) => panic!("{} at {}", test.instrument, test.at),
    }
}

fn trips_at_once() -> Complaint {
    Complaint::Trips { breaker: "c1".into(), when: WhenItTrips::AtOnce }
}

/// The advice after what was closed once with nothing plugged in, with these words wrong.
fn closed<'c>(loft: &'c Circuit, words: &[&str]) -> Inquiry<'c> {
    let truth = condition(loft, words);
    let mut inquiry = told(loft, TOOLS, "c1 trips at once", &[]);
    let first = stop(&mut inquiry);
    assert_eq!(first.because, Because::UnpluggedFirst);
    assert_eq!(first.go_to[0].name.as_deref(), Some("c1"));
    inquiry.observe(&closed_once(loft, &truth, &first)).unwrap();
    inquiry
}

#[test]
fn what_trips_at_once_is_closed_with_nothing_plugged_in_before_anything_is_tested() {
    let loft = circuit(LOFT);
    let in_an_appliance =
        |inquiry: &Inquiry<'_>| chance(inquiry, |one| one.fault.appliance(&loft).is_some());
    let wiring = closed(&loft, &["hot and ground bridged at bench"]);
    assert!(in_an_appliance(&wiring) < 0.05, "{}", in_an_appliance(&wiring));
    let appliance = closed(&loft, &["hot and frame bridged at sewing"]);
    assert!(in_an_appliance(&appliance) > 0.9, "{}", in_an_appliance(&appliance));
    // Once is enough.
    for mut inquiry in [wiring, appliance] {
        if let Advice::Stop(stop) = inquiry.advise() {
            assert_ne!(stop.because, Because::UnpluggedFirst);
        }
    }
}

#[test]
fn it_is_not_asked_for_where_it_was_said_or_nothing_can_be_unplugged_or_somebody_felt_a_shock() {
    let loft = circuit(LOFT);
    let said = ["c1 trips at once with everything unplugged"];
    let shock = "c1 trips at once; shock from sewing";
    let bare = circuit(
        r#"(format: 1, circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "stove", from: "c1", feet: 25), (id: "table", from: "stove", feet: 12)])"#,
    );
    let cases = [
        told(&loft, TOOLS, "c1 trips at once", &said),
        told(&loft, TOOLS, shock, &[]),
        told(&bare, TOOLS, "c1 trips at once", &[]),
    ];
    for mut inquiry in cases {
        if let Advice::Stop(stop) = inquiry.advise() {
            assert_ne!(stop.because, Because::UnpluggedFirst);
        }
    }
}

#[test]
fn a_short_in_the_wiring_is_found_from_there_without_a_look_at_another_circuit() {
    let loft = circuit(LOFT);
    let truth = condition(&loft, &["hot and neutral bridged at hatch"]);
    let course = locate(&loft, &truth, &trips_at_once(), Default::default());
    assert!(course.tests.iter().all(|test| test.at.as_str() != "store"), "{:?}", course.tests);
    let boxes: Vec<&str> = course.stop.go_to.iter().map(|one| one.place.as_str()).collect();
    assert!(boxes.iter().take(2).any(|place| *place == "hatch"), "{boxes:?}");
}

#[test]
fn what_trips_with_an_appliance_that_is_likely_at_fault_has_it_unplugged_and_nothing_tested() {
    let loft = circuit(LOFT);
    let stop = stop(&mut told(&loft, TOOLS, "c1 trips when iron runs", &[]));
    assert_eq!(stop.go_to[0].appliance.as_deref(), Some("iron"));
}

fn lamp(moment: &Moment, seen: LoadSeen) -> Observation {
    Observation { moment: moment.clone(), seen: Seen::Load { load: "lamp".into(), seen } }
}

#[test]
fn a_light_of_two_switches_is_tried_with_both_thrown_and_then_as_it_was() {
    let stairs = circuit(STAIRS);
    let mut inquiry = told(&stairs, TOOLS, "lamp dead", &[]);
    let both = stop(&mut inquiry);
    assert_eq!(both.because, Because::ThrownFirst);
    let both = both.moment.unwrap();
    assert_eq!(both.condition.switches.len(), 2);
    // One traveller is open: it runs by the other.
    inquiry.observe(&lamp(&both, LoadSeen::Runs)).unwrap();
    let back = stop(&mut inquiry);
    assert_eq!(back.because, Because::ThrownFirst);
    let back = back.moment.unwrap();
    for (switch, position) in &both.condition.switches {
        assert_eq!(back.condition.switches[switch].thrown(), *position);
    }
    inquiry.observe(&lamp(&back, LoadSeen::Dead)).unwrap();
    let travellers = |one: &slotwise::diagnosis::SuspectFault| {
        one.fault.conductors.iter().any(|conductor| conductor.starts_with("traveller"))
    };
    assert!(chance(&inquiry, travellers) > 0.5, "{}", chance(&inquiry, travellers));
    if let Advice::Stop(stop) = inquiry.advise() {
        assert_ne!(stop.because, Because::ThrownFirst, "all is said");
    }
}

#[test]
fn a_light_that_is_dark_whichever_way_its_switches_stand_is_no_traveller() {
    let stairs = circuit(STAIRS);
    let mut inquiry = told(&stairs, TOOLS, "lamp dead", &[]);
    let both = stop(&mut inquiry).moment.unwrap();
    inquiry.observe(&lamp(&both, LoadSeen::Dead)).unwrap();
    let alone = |one: &slotwise::diagnosis::SuspectFault| matches!(one.fault.conductors.as_slice(), [only] if only.starts_with("traveller"));
    assert!(chance(&inquiry, alone) < 0.1, "{}", chance(&inquiry, alone));
}

#[test]
fn who_says_how_the_switches_stand_has_called_for_that_all_the_same() {
    let stairs = circuit(STAIRS);
    let said = |text: &str| {
        let tools = slotwise::diagnosis::Means::default().tools;
        slotwise::diagnosis::words::told(&stairs, &tools, text, (false, false)).unwrap()
    };
    let dead = Complaint::LoadDead { load: "lamp".into() };
    let (complaints, seen) =
        said("lamp dead with switch foot position 1 and switch head position 1");
    assert_eq!((complaints, seen.len()), (vec![dead], 1));
    // There it is dark with nothing wrong.
    let (complaints, seen) = said("lamp dead with switch foot position 2");
    assert_eq!((complaints, seen.len()), (vec![], 1));
}

#[test]
fn what_smelt_is_never_put_down_to_nothing() {
    let loft = circuit(LOFT);
    let saw = [
        "opened bench: nothing found",
        "voltmeter at bench: hot-neutral 119 V, hot-ground 119.5 V, neutral-ground 0.4 V with iron on",
        "opened bench: nothing found",
    ];
    let mut inquiry = told(&loft, TOOLS, "bench smells burnt", &saw);
    let stop = stop(&mut inquiry);
    assert_eq!(stop.because, Because::StillWarm);
    let says = reported(&loft, "bench smells burnt", &saw.join("; "));
    let NextReport::Stop(report) = says.next else { panic!("{:?}", says.next) };
    for part in ["leave it off", "its plug, its cord", "table and hatch opened", "`replaced bench`"]
    {
        assert!(report.says.contains(part), "{part}: {}", report.says);
    }
}

#[test]
fn a_live_reading_at_what_smelt_has_somebody_at_the_breaker() {
    let loft = circuit(LOFT);
    let report = reported(&loft, "bench smells burnt", "opened bench: nothing found");
    let NextReport::Test(test) = report.next else { panic!("{:?}", report.next) };
    assert!(test.says.contains("with somebody at it to switch it off"), "{}", test.says);
}

/// Two legs whose loads draw alike as described, and not with all on.
const HALL: &str = r#"(
    format: 1,
    name: "Weaving hall",
    circuits: [(id: "a", amperes: 20, leg: "L1"), (id: "b", amperes: 20, leg: "L2")],
    boxes: [
        (id: "warp", from: "a", feet: 30), (id: "weft", from: "warp", feet: 12),
        (id: "dye", from: "b", feet: 25), (id: "press", from: "dye", feet: 12),
    ],
    loads: [
        (id: "lamp1", at: "warp", kind: Filament(watts: 100)),
        (id: "lamp2", at: "dye", kind: Filament(watts: 100)),
        (id: "vat", at: "press", on: false, kind: Resistive(watts: 1500)),
    ],
)"#;

#[test]
fn a_service_neutral_that_reads_well_while_loads_balance_is_still_thought_of() {
    let hall = circuit(HALL);
    let saw = ["voltmeter at warp: hot-neutral 120 V, hot-ground 120 V, neutral-ground 0.1 V"];
    let inquiry = told(&hall, TOOLS, "some lights are bright and some are dim", &saw);
    let lost = chance(&inquiry, |one| {
        ["service_lost", "service_bad"].contains(&one.fault.kind.code())
            && one.fault.conductors.iter().any(|conductor| conductor == "neutral")
    });
    assert!(lost > 0.5, "{lost}");
}

#[test]
fn a_short_that_was_seen_in_no_box_is_measured_apart_in_one_of_them() {
    let loft = circuit(LOFT);
    let saw = [
        "c1 trips at once with everything unplugged",
        "opened table: nothing found; \
         ohmmeter beyond table: hot-neutral OL, hot-ground 0.2 ohm, neutral-ground OL",
        "opened bench: nothing found",
        "opened hatch: nothing found",
    ];
    let saw = saw.join("; ");
    let report = reported(&loft, "c1 trips at once", &saw);
    let NextReport::Test(test) = report.next else { panic!("{:?}", report.next) };
    assert!(test.says.contains("in bench, which is open, take the cable to hatch off"), "{test:?}");
    let beyond = [
        ("OL", ["`mended bench`", "`replaced cable table-bench`"]),
        ("0.2 ohm", ["`mended hatch`", "`replaced cable bench-hatch`"]),
    ];
    for (ohm, parts) in beyond {
        let beyond =
            format!("ohmmeter beyond bench: hot-neutral OL, hot-ground {ohm}, neutral-ground OL");
        let report = reported(&loft, "c1 trips at once", &format!("{saw}; {beyond}"));
        let NextReport::Stop(stop) = report.next else { panic!("{:?}", report.next) };
        assert!(stop.says.contains("take every wire off there and measure between hot and ground"));
        for part in parts {
            assert!(stop.says.contains(part), "{part}: {}", stop.says);
        }
    }
}

#[test]
fn a_breaker_that_trips_after_a_while_with_nearly_its_rating_on_it_is_said_to_carry_that() {
    let text = LOFT.replace("watts: 1100", "watts: 2150");
    let loft = circuit(&text);
    let mut inquiry = told(&loft, TOOLS, "c1 trips after an hour", &[]);
    assert_eq!(stop(&mut inquiry).because, Because::Overloaded);
    let light = circuit(LOFT);
    let inquiry = told(&light, TOOLS, "c1 trips after an hour", &[]);
    assert!(inquiry.overloads().is_empty(), "{:?}", inquiry.overloads());
}

#[test]
fn insulation_between_the_leaks_that_are_tried_is_a_leak_too() {
    let loft = circuit(&LOFT.replace("amperes: 20)", "amperes: 20, ground_fault_milliamperes: 5)"));
    let leak = |ohm: &str| {
        let saw = [
            "c1 trips at once with everything unplugged".to_owned(),
            format!("ohmmeter at hatch: hot-ground {ohm} with c1 off and everything unplugged"),
        ];
        let inquiry = told(&loft, TOOLS, "c1 trips at once", &saw.each_ref().map(String::as_str));
        chance(&inquiry, |one| {
            ["bridged", "touching_in_cable"].contains(&one.fault.kind.code())
                && one.fault.conductors.iter().any(|conductor| conductor == "hot")
        })
    };
    for ohm in ["900 ohm", "8 kohm", "20 kohm", "60 kohm"] {
        assert!(leak(ohm) > 0.6, "{ohm}: {}", leak(ohm));
    }
    assert!(leak("OL") < 0.2, "{}", leak("OL"));
}

#[test]
fn everything_is_as_it_stands_where_something_is_tried_first() {
    let stairs = circuit(STAIRS);
    let saw = ["tester at hall: hot-neutral lit, hot-ground lit, neutral-ground dark"];
    let moment = stop(&mut told(&stairs, TOOLS, "lamp dead", &saw)).moment.unwrap();
    let rest = Condition { switches: Default::default(), ..moment.condition };
    assert_eq!(rest, Condition::default());
}
