//! What callers leave out, and what they mean: loads they tried, a house that is half dead, shocks,
//! meters that show strays.

use slotwise::circuit::Circuit;
use slotwise::condition::catalogue::FaultKind;
use slotwise::condition::{Condition, LoadState};
use slotwise::diagnosis::{Account, Advice, Inquiry, Observation, Told, words};
use slotwise::instrument::{Place, Request, measure, presets};
use slotwise::report::LocateReport;
use slotwise::report::locate::NextReport;

use crate::call::circuit;

const STUDIO: &str = include_str!("../../circuits/pottery-studio.ron");

/// Everything said in words, complaints first.
fn account(circuit: &Circuit, complaints: &str, seen: &str) -> Account {
    let complaints = words::complaints(circuit, complaints).unwrap();
    let mut account = Account { complaints, ..Account::default() };
    if !seen.is_empty() {
        account.observations = words::observations(circuit, &account.means.tools, seen).unwrap();
    }
    account
}

fn heard<'c>(circuit: &'c Circuit, complaints: &str, seen: &str) -> Inquiry<'c> {
    Inquiry::of(circuit, &account(circuit, complaints, seen)).unwrap()
}

/// How likely faults are of which this is so.
fn likely(inquiry: &Inquiry<'_>, is: impl Fn(&FaultKind, &[String]) -> bool) -> f64 {
    let suspects = inquiry.findings().suspects;
    let of_it = |suspect: &slotwise::diagnosis::Suspect| {
        let faults = suspect.faults.iter().filter(|one| is(&one.fault.kind, &one.fault.conductors));
        suspect.probability * faults.map(|one| one.share).sum::<f64>()
    };
    suspects.iter().map(of_it).sum()
}

pub(crate) fn reported(circuit: &Circuit, complaints: &str, seen: &str) -> LocateReport {
    let account = account(circuit, complaints, seen);
    let mut inquiry = Inquiry::of(circuit, &account).unwrap();
    let advice = inquiry.advise();
    LocateReport::new(&inquiry, &advice).unwrap()
}

pub(crate) fn says(circuit: &Circuit, complaints: &str, seen: &str) -> String {
    match reported(circuit, complaints, seen).next {
        NextReport::Test(test) => test.says,
        NextReport::Stop(stop) => stop.says,
        NextReport::Repair(repair) => repair.says,
    }
}

#[test]
fn what_speaks_for_a_suspect_is_counted_as_it_was_told() {
    let studio = circuit(STUDIO);
    let tester = "tester at kiln: hot-neutral dark, hot-ground lit, neutral-ground lit";
    let dead = "dead from kiln on";
    // Said twice is said once, and what is complained of comes first, whenever it was told.
    let mut twice = account(&studio, dead, tester);
    twice.complaints.push(twice.complaints[0].clone());
    let mut later = Inquiry::new(&studio, twice.means.clone());
    later.observe(&twice.observations[0]).unwrap();
    later.complain(&twice.complaints[0]).unwrap();
    assert_eq!(later.account(), account(&studio, dead, tester));
    let both = [Inquiry::of(&studio, &twice).unwrap(), later];
    for mut inquiry in both {
        let advice = inquiry.advise();
        let report = LocateReport::new(&inquiry, &advice).unwrap();
        assert_eq!(report.told, [dead, tester]);
        // Of an instrument alone it is known what it would have shown.
        let words = inquiry.why(0);
        let read: Vec<_> = words.iter().filter(|word| !word.would_show.is_empty()).collect();
        let [read] = read.as_slice() else { panic!("{words:?}") };
        assert!(matches!(inquiry.told()[read.told], Told::Observation(_)));
        let suspect = &report.suspects[0];
        let mut all = suspect.speaks_for.iter().chain(&suspect.speaks_against);
        let said = all.find(|said| said.times == Some(read.times)).unwrap();
        assert_eq!(report.told[said.told], tester);
    }
}

#[test]
fn a_misspelt_place_of_an_instrument_is_answered_with_the_nearest() {
    let studio = circuit(STUDIO);
    let place = Place::between("kiln.hott", "kiln.neutral");
    let volts = presets::voltmeter_high_impedance();
    let seen = Observation::reading(volts.clone(), place.clone(), vec![]);
    let mut inquiry = heard(&studio, "dead from kiln on", "");
    let told = inquiry.observe(&seen).unwrap_err().to_string();
    assert!(told.contains("is it `kiln.hot`"), "{told}");
    let read = measure(&studio, &Condition::default(), &[Request::new(volts, place)]);
    assert_eq!(told, read.unwrap_err().to_string());
}

/// One neutral for two legs.
const SMOKEHOUSE: &str = r#"(
    format: 1,
    name: "Smokehouse",
    circuits: [(id: "c1", amperes: 20, legs: ["L1", "L2"], tied: true)],
    boxes: [
        (id: "bench", from: "c1", feet: 35),
        (id: "window", from: "bench", feet: 12, device: Receptacle(hot: "hot2")),
        (id: "corner", from: "window", feet: 14),
        (id: "end", from: "corner", feet: 11, carries: ["hot2", "neutral", "ground"],
            device: Receptacle(hot: "hot2")),
    ],
    loads: [
        (id: "kettle", at: "corner", kind: Resistive(watts: 1500), on: false),
        (id: "lamp", at: "window", kind: Filament(watts: 60)),
        (id: "radio", at: "end", kind: Electronics(watts: 30)),
    ],
)"#;

#[test]
fn a_kettle_that_was_tried_and_left_on_does_not_hide_a_lost_shared_neutral() {
    let smokehouse = circuit(SMOKEHOUSE);
    // As the open neutral shows it with the kettle on, which nobody said: 8 V and 231 V.
    let seen = "tester at corner: hot-neutral dark, hot-ground lit, neutral-ground lit; \
                voltmeter at window: hot-neutral 231 V";
    let inquiry = heard(&smokehouse, "kettle does not run", seen);
    let open = likely(&inquiry, |kind, of| *kind == FaultKind::OpenJoint && of == ["neutral"]);
    let on_bus = likely(&inquiry, |kind, _| *kind == FaultKind::NeutralOnBus);
    assert!(open > on_bus && open > 0.5, "{open} {on_bus}");
    // Even of a kettle that nobody spoke of it is thought.
    let untold = heard(&smokehouse, "lamp too bright", seen);
    let open = likely(&untold, |kind, of| *kind == FaultKind::OpenJoint && of == ["neutral"]);
    assert!(open > 0.2, "{open}");
}

#[test]
fn half_of_a_house_is_what_is_on_one_leg() {
    let smokehouse = circuit(SMOKEHOUSE);
    let inquiry = heard(&smokehouse, "half the house is dead", "");
    let lost = likely(&inquiry, |kind, of| *kind == FaultKind::ServiceLost && of != ["neutral"]);
    assert!(lost > 0.5, "{lost}");
    assert!(inquiry.findings().nothing_wrong < 0.1);
    // One circuit of several on a leg is not half of a house.
    let row_house = circuit(
        r#"(format: 1, name: "Row house",
        circuits: [(id: "c1", amperes: 15), (id: "c2", amperes: 15, leg: "L2"),
            (id: "c3", amperes: 15)],
        boxes: [(id: "hall", from: "c1", feet: 20), (id: "bed", from: "c2", feet: 20),
            (id: "cellar", from: "c3", feet: 20)])"#,
    );
    let inquiry = heard(&row_house, "half the house is dead", "");
    let lost = likely(&inquiry, |kind, of| *kind == FaultKind::ServiceLost && of != ["neutral"]);
    assert!(lost > 0.5, "{lost}");
}

#[test]
fn everything_is_dead_though_one_circuit_feeds_nothing_to_plug_into() {
    let wash_house = circuit(
        r#"(format: 1, name: "Wash house",
        circuits: [(id: "c1", amperes: 20), (id: "fan", amperes: 15)],
        boxes: [(id: "sink", from: "c1", feet: 20), (id: "tub", from: "sink", feet: 9),
            (id: "plate", from: "fan", feet: 15, device: Switch(closed: true)),
            (id: "vent", from: "plate", feet: 9, carries: ["switched", "neutral", "ground"],
                devices: [])],
        loads: [(id: "blower", at: "vent", wired: true, across: ("switched", "neutral"),
            kind: Motor(watts: 60))])"#,
    );
    let all = heard(&wash_house, "everything dead", "");
    let lost = likely(&all, |kind, _| *kind == FaultKind::ServiceLost);
    assert!(lost > 0.5 && all.findings().nothing_known < 0.1, "{lost}");
    let fan = heard(&wash_house, "everything on fan dead", "");
    let off = likely(&fan, |kind, _| kind.is_setting());
    assert!(off > 0.5 && fan.findings().nothing_known < 0.1, "{off}");
}

#[test]
fn one_dead_box_while_all_the_rest_works_is_seldom_nothing() {
    let studio = circuit(
        r#"(format: 1, name: "Studio", circuits: [(id: "c1", amperes: 20)],
        boxes: [(id: "door", from: "c1", feet: 20), (id: "bench", from: "door", feet: 9),
            (id: "wheel", from: "bench", feet: 9), (id: "shelf", from: "wheel", feet: 9)])"#,
    );
    let inquiry = heard(&studio, "bench dead; everything else works", "");
    let findings = inquiry.findings();
    assert!(findings.nothing_wrong < 0.1, "{}", findings.nothing_wrong);
    assert!(findings.suspects[0].boxes.contains(&"bench".to_owned()));
}

/// A lost conductor that is both neutral and earth.
const COTTAGE: &str = r#"(
    format: 1,
    name: "Ferry cottage",
    supply: (system: Single230, earthing: TnCS),
    circuits: [(id: "ring", amperes: 20, curve: B), (id: "shower", amperes: 40, curve: B,
        cable: (mm2: 10))],
    boxes: [(id: "sink", from: "ring", metres: 9), (id: "hatch", from: "sink", metres: 7),
        (id: "cubicle", from: "shower", metres: 12, devices: [])],
    loads: [(id: "kettle", at: "sink", kind: Resistive(watts: 3000)),
        (id: "spray", at: "cubicle", wired: true, kind: Resistive(watts: 8500))],
    electrodes: [(id: "pipe", at: "panel.ground", ohms: 40)],
)"#;

#[test]
fn nobody_feels_a_shock_for_nothing_however_much_the_supply_drops() {
    let cottage = circuit(COTTAGE);
    let inquiry = heard(&cottage, "shock from the case of spray", "");
    assert!(inquiry.findings().nothing_wrong < 0.2, "{}", inquiry.findings().nothing_wrong);
}

#[test]
fn after_a_shock_nothing_is_closed_to_find_out_more() {
    let cottage = circuit(COTTAGE);
    let next = says(&cottage, "everything on ring dead; shock from the case of kettle", "");
    assert!(!next.contains("closed once"), "{next}");
}

#[test]
fn where_the_panel_is_live_the_utility_is_called_and_nobody_switches_there() {
    let house = circuit(
        r#"(format: 1, name: "Gatehouse", supply: (system: SplitPhase, panel_electrode_ohms: 25),
        circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20, leg: "L2")],
        boxes: [(id: "study", from: "c1", feet: 30), (id: "bath", from: "c2", feet: 30)],
        loads: [(id: "heater", at: "study", kind: Resistive(watts: 1500)),
            (id: "lamp", at: "bath", kind: Filament(watts: 60))])"#,
    );
    let seen = "voltmeter at study: hot-neutral 21 V; voltmeter at bath: hot-neutral 219 V";
    let next = says(&house, "lights brighten when heater starts", seen);
    assert!(next.contains("utility") && !next.contains("Switch off the main"), "{next}");
}

#[test]
fn a_low_figure_past_a_good_receptacle_is_the_hot_on_the_way_and_not_the_service() {
    let barn = circuit(
        r#"(format: 1, name: "Sheepfold", circuits: [(id: "c1", amperes: 20)],
        boxes: [(id: "gate", from: "c1", feet: 60), (id: "stall", from: "gate", feet: 40),
            (id: "hay", from: "stall", feet: 35)],
        loads: [(id: "bulb", at: "gate", kind: Filament(watts: 100)),
            (id: "fence", at: "hay", plugged: false, kind: Electronics(watts: 15))])"#,
    );
    let seen = "voltmeter at hay: hot-neutral 42 V, hot-ground 42 V, neutral-ground 0 V; \
                tester at stall: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let inquiry = heard(&barn, "hay dead; everything else works", seen);
    // Open with strays on what floats, or bad with something on that nobody mentioned.
    let on_the_way = likely(&inquiry, |kind, of| {
        matches!(
            kind,
            FaultKind::OpenJoint
                | FaultKind::LeakyOpen
                | FaultKind::BrokenConductor
                | FaultKind::BadJoint
        ) && of == ["hot"]
    });
    assert!(on_the_way > 0.85, "{on_the_way}");
    let service =
        likely(&inquiry, |kind, _| matches!(kind, FaultKind::ServiceLost | FaultKind::ServiceBad));
    assert!(service < 0.1, "{service}");
}

#[test]
fn a_motor_that_gets_too_little_does_not_run_and_speaks_for_it() {
    let smokehouse = circuit(&SMOKEHOUSE.replace(
        "(id: \"kettle\", at: \"corner\", kind: Resistive(watts: 1500), on: false)",
        "(id: \"freezer\", at: \"corner\", kind: Motor(watts: 180))",
    ));
    let inquiry = heard(&smokehouse, "lamp too bright; freezer does not run", "");
    let neutral = likely(&inquiry, |kind, of| {
        matches!(kind, FaultKind::OpenJoint | FaultKind::ServiceLost) && of == ["neutral"]
    });
    assert!(neutral > 0.5, "{neutral}");
}

#[test]
fn a_switch_is_thrown_before_anything_is_tested() {
    let stairs = circuit(
        r#"(format: 1, name: "Stairs", circuits: [(id: "c1", amperes: 15)],
        boxes: [(id: "hall", from: "c1", feet: 20, device: Switch(closed: true)),
            (id: "porch", from: "hall", feet: 12, carries: ["switched", "neutral", "ground"],
                devices: []),
            (id: "den", from: "hall", feet: 12)],
        loads: [(id: "lantern", at: "porch", wired: true, across: ("switched", "neutral"),
            kind: Filament(watts: 60))])"#,
    );
    let next = says(&stairs, "lantern does not run", "");
    assert!(next.contains("Throw the switch at hall"), "{next}");
}

#[test]
fn what_is_still_suspected_is_named_beside_what_was_found() {
    let barn = circuit(
        r#"(format: 1, name: "Cart shed", circuits: [(id: "c1", amperes: 20)],
        boxes: [(id: "gate", from: "c1", feet: 60), (id: "tack", from: "gate", feet: 40),
            (id: "well", from: "tack", feet: 35)],
        loads: [(id: "bulb", at: "tack", kind: Filament(watts: 100)),
            (id: "trough", at: "tack", kind: Resistive(watts: 1000))])"#,
    );
    let seen = "loaded-test at tack: 118.4 V falls to 101 V, hot 1.2 ohm, neutral 0.2 ohm with \
                trough off; \
                loaded-test at gate: 119.4 V falls to 116 V, hot 0.12 ohm, neutral 0.12 ohm with \
                trough off; \
                opened well: neutral open at well, line side";
    let next = says(&barn, "well dead; lights dim when trough runs", seen);
    assert!(next.contains("look for what is still suspected") && next.contains("hot"), "{next}");
}

#[test]
fn advice_is_given_for_everything_that_is_heard_here() {
    let cottage = circuit(COTTAGE);
    let mut inquiry = heard(&cottage, "half the house is dead", "");
    assert!(matches!(inquiry.advise(), Advice::Test(_) | Advice::Stop(_)));
}

/// A ground-fault receptacle with two baths and the outside behind it.
const BATHS: &str = r#"(
    format: 1,
    name: "Baths",
    defaults: (feed_through: ["hot", "neutral"], terminals: Screw),
    circuits: [(id: "b1", amperes: 20), (id: "bed", amperes: 15, leg: "L2")],
    boxes: [
        (id: "powder", from: "b1", feet: 42, device: GroundFault(feeds: true)),
        (id: "main_bath", from: "powder", feet: 16),
        (id: "guest_bath", from: "main_bath", feet: 14),
        (id: "patio", from: "guest_bath", feet: 20),
        (id: "attic", from: "bed", feet: 30),
    ],
    loads: [
        (id: "toothbrush", at: "guest_bath", kind: Standby(watts: 2)),
        (id: "fountain", at: "patio", kind: Motor(watts: 60), metal_case: true),
        (id: "lamp", at: "attic", kind: Filament(watts: 60)),
    ],
)"#;

#[test]
fn damp_that_trips_a_ground_fault_receptacle_is_measured_and_parted_with_nothing_closed() {
    let baths = circuit(BATHS);
    let complaints = "powder does not reset; powder trips at once";
    let seen = "powder trips at once with everything unplugged; \
                ohmmeter at patio: hot-neutral OL, hot-ground 8 kohm, neutral-ground OL \
                with breaker b1 off and everything unplugged";
    let inquiry = heard(&baths, complaints, seen);
    let leak = likely(&inquiry, |kind, of| {
        matches!(kind, FaultKind::Bridged | FaultKind::TouchingInCable) && of == ["hot", "ground"]
    });
    assert!(leak > 0.9, "{leak}");
    // What speaks for it is not said to fit nothing besides.
    assert!(reported(&baths, complaints, seen).conflicts.is_empty());
    let next = says(&baths, complaints, seen);
    assert!(next.contains("off its joints") && !next.contains("closed once"), "{next}");
}

#[test]
fn lights_are_also_lamps_without_a_filament_where_one_with_a_filament_is_about() {
    let office = |lamps: &str| {
        circuit(&format!(
            r#"(format: 1, name: "Ferry office",
            circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15, leg: "L2")],
            boxes: [(id: "hall", from: "c1", feet: 30), (id: "desk", from: "hall", feet: 20),
                    (id: "porch", from: "c2", feet: 25)],
            loads: [(id: "ceiling", at: "hall", kind: Led(watts: 12), wired: true),
                    (id: "heater", at: "desk", kind: Resistive(watts: 1500), on: false){lamps}])"#
        ))
    };
    // The lamp that dims is on the heater's own circuit: no leg has to do with it.
    for lamps in ["", r#", (id: "deco", at: "porch", kind: Filament(watts: 25))"#] {
        let office = office(lamps);
        let inquiry = heard(&office, "lights dim when heater runs", "");
        let wrong_bus = likely(&inquiry, |kind, _| *kind == FaultKind::WrongBus);
        assert!(wrong_bus < 0.1, "{lamps}: {wrong_bus}");
    }
}

#[test]
fn what_flickers_is_not_put_down_to_what_would_leave_it_dark() {
    let shed = circuit(
        r#"(format: 1, name: "Seed store",
            circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20)],
            boxes: [(id: "door", from: "c1", feet: 20), (id: "bin", from: "door", feet: 14),
                (id: "scale", from: "c2", feet: 25)],
            loads: [(id: "lamp", at: "bin", kind: Filament(watts: 60)),
                (id: "dryer", at: "scale", kind: Resistive(watts: 1200), metal_case: true)])"#,
    );
    let flickers = heard(&shed, "lamp flickers", "");
    let dark = |kind: &FaultKind, _: &[String]| {
        matches!(kind, FaultKind::BreakerOff | FaultKind::Bridged | FaultKind::InsulationDown)
    };
    assert!(likely(&flickers, dark) < 0.1, "{}", likely(&flickers, dark));
    // A joint that makes contact now and then is before the lamp.
    let suspects = flickers.findings().suspects;
    let at = |place: &str| -> f64 {
        let of = suspects.iter().flat_map(|suspect| {
            let bad = suspect.faults.iter().filter(|one| {
                one.fault.kind == FaultKind::BadJoint
                    && one.fault.places == [place]
                    && one.fault.conductors != ["ground"]
            });
            bad.map(|one| suspect.probability * one.share)
        });
        of.sum()
    };
    assert!(at("door") > 10.0 * at("scale"), "{} and {}", at("door"), at("scale"));
    assert!(at("bin") > 10.0 * at("scale"), "{} and {}", at("bin"), at("scale"));
}

#[test]
fn what_is_said_with_an_answer_stands_besides_what_the_test_had_set() {
    let smokehouse = circuit(SMOKEHOUSE);
    let tools = account(&smokehouse, "bench dead", "").means.tools;
    let mut inquiry = heard(&smokehouse, "bench dead", "c1 holds");
    let Advice::Test(mut test) = inquiry.advise() else { panic!("it stops") };
    let load = |at: usize| smokehouse.parts().loads[at].id.clone();
    test.moment.condition.loads.insert(load(0), LoadState::Unplugged);
    let text = format!("c1 holds with {} off", load(1));
    let said = words::answers(&smokehouse, &tools, &test, &test.moment, &text).unwrap();
    let loads = &said[0].moment.condition.loads;
    assert_eq!(loads.get(&load(0)), Some(&LoadState::Unplugged), "{loads:?}");
    assert_eq!(loads.get(&load(1)), Some(&LoadState::Off), "{loads:?}");
}
