//! Instruments at the receptacles of whole circuits, as a person would use them.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use approx::assert_relative_eq;
use slotwise::circuit::Circuit;
use slotwise::circuit::file;
use slotwise::condition::{Condition, Fault, Gap};
use slotwise::instrument::{
    Band, BandMethod, Instrument, MeasureProblem, Place, PlugTester, Reading, Request,
    ResidualReading, Shown, StateShare, TripButton, measure, measure_band, place_of_outlet,
    presets,
};

const SOUND: &str = "hot-neutral lit, hot-ground lit, neutral-ground dark";

fn circuit(text: &str) -> Circuit {
    match file::read(text) {
        Ok(file) => file.circuit,
        Err(said) => panic!("{said:#?}"),
    }
}

fn studio() -> Circuit {
    circuit(
        r#"(
            format: 1,
            name: "Pottery studio",
            circuits: [(id: "c1", amperes: 20)],
            boxes: [
                (id: "door", from: "c1", feet: 30),
                (id: "wheel", from: "door", feet: 12),
                (id: "kiln", from: "wheel", feet: 10),
                (id: "window", from: "kiln", feet: 14),
            ],
            loads: [(id: "heater", at: "window", kind: Resistive(watts: 1500))],
        )"#,
    )
}

fn open(element: &str) -> Condition {
    let fault = Fault::Open { element: element.to_owned(), gap: Gap::NONE };
    Condition { faults: vec![fault], ..Condition::default() }
}

fn readings(circuit: &Circuit, condition: &Condition, requests: &[Request]) -> Vec<Reading> {
    measure(circuit, condition, requests).unwrap()
}

fn shown(circuit: &Circuit, condition: &Condition, instrument: Instrument, place: Place) -> Shown {
    readings(circuit, condition, &[Request::new(instrument, place)]).remove(0).shown
}

fn pattern(circuit: &Circuit, condition: &Condition, tester: Instrument, at: &str) -> String {
    match shown(circuit, condition, tester, Place::receptacle(at)) {
        Shown::PlugTester(shown) => shown.pattern(),
        other => panic!("{other:?}"),
    }
}

fn misfit(circuit: &Circuit, tester: Instrument, place: Place) -> String {
    match shown(circuit, &Condition::default(), tester, place) {
        Shown::DoesNotFit(misfit) => misfit.why,
        other => panic!("{other:?}"),
    }
}

#[test]
fn every_receptacle_of_a_sound_circuit_reads_sound() {
    let studio = studio();
    for place in ["door", "wheel", "kiln", "window"] {
        let tester = presets::plug_tester_resistive();
        assert_eq!(pattern(&studio, &Condition::default(), tester, place), SOUND);
    }
}

#[test]
fn past_an_open_neutral_a_heater_makes_the_neutral_slots_live() {
    let studio = studio();
    let condition = open("contact:wheel-kiln.b.neutral");
    let tester = presets::plug_tester_resistive;
    assert_eq!(pattern(&studio, &condition, tester(), "wheel"), SOUND);
    for place in ["kiln", "window"] {
        assert_eq!(
            pattern(&studio, &condition, tester(), place),
            "hot-neutral dark, hot-ground lit, neutral-ground lit"
        );
    }
}

#[test]
fn many_instruments_at_many_places_are_read_in_one_call_as_if_alone() {
    let studio = studio();
    let condition = open("contact:wheel-kiln.b.neutral");
    let mut requests = Vec::new();
    for (_, outlet) in studio.outlets() {
        for name in ["tester", "voltmeter", "voltmeter-low-impedance", "loaded-test"] {
            let instrument = presets::named(name).unwrap();
            requests.push(Request::new(instrument, Place::receptacle(outlet.address.clone())));
        }
    }
    let together = readings(&studio, &condition, &requests);
    assert_eq!(together.len(), 16);
    for (request, reading) in requests.iter().zip(&together) {
        let alone = readings(&studio, &condition, std::slice::from_ref(request)).remove(0);
        for (one, other) in reading.figures().iter().zip(alone.figures()) {
            assert_eq!(one.name, other.name);
            // Microvolts of noise are nothing on any display.
            let (one, other) = (one.value.unwrap(), other.value.unwrap());
            assert!((one - other).abs() <= 1e-9 * one.abs().max(1e-3), "{one} {other}");
        }
        assert_eq!(reading.states(), alone.states());
    }
}

#[test]
fn a_plug_says_where_it_does_not_go() {
    let shed = circuit(
        r#"(
            format: 1,
            circuits: [(id: "c1", legs: ["L1", "L2"], carries: ["hot", "hot2", "ground"])],
            boxes: [(id: "saw", from: "c1", feet: 12, device: Receptacle(configuration: "NEMA 6-20"))],
        )"#,
    );
    let why = misfit(&shed, presets::plug_tester_resistive(), Place::receptacle("saw"));
    assert_eq!(why, "its plug goes into NEMA 5-15, NEMA 5-20");
    // Test leads go in anywhere, but there is no neutral slot.
    let Instrument::PlugTester(tester) = presets::plug_tester_resistive() else { panic!() };
    let leads = Instrument::PlugTester(PlugTester { fits: vec![], ..tester });
    assert_eq!(
        misfit(&shed, leads, Place::receptacle("saw")),
        "the receptacle has no neutral slot"
    );
    let two_legs = presets::plug_tester_two_leg();
    assert_eq!(
        pattern(&shed, &Condition::default(), two_legs, "saw"),
        "hot-hot2 lit, hot-ground lit, hot2-ground lit"
    );
    // Probes go in anywhere: the two legs.
    let meter = presets::voltmeter_high_impedance();
    let Shown::Voltmeter(volts) =
        shown(&shed, &Condition::default(), meter, Place::receptacle("saw"))
    else {
        panic!()
    };
    assert_relative_eq!(volts.voltage_volt.unwrap().magnitude(), 240.0, max_relative = 1e-3);
}

#[test]
fn where_a_plug_goes_in_either_way_the_pattern_depends_on_the_way() {
    let chapel = circuit(
        r#"(
            format: 1,
            supply: (system: Single230, earthing: TnS),
            circuits: [(id: "c1", amperes: 16)],
            boxes: [
                (id: "organ", from: "c1", metres: 20, device: Receptacle(configuration: "CEE 7/3")),
                (id: "porch", from: "c1", metres: 9, device: Receptacle(configuration: "BS 1363")),
            ],
        )"#,
    );
    let tester = presets::plug_tester_230;
    let sound = Condition::default();
    assert_eq!(pattern(&chapel, &sound, tester(), "organ"), SOUND);
    assert_eq!(pattern(&chapel, &sound, tester(), "porch"), SOUND);
    let turned = |at: &str| Place::Receptacle { address: at.into(), turned: true };
    let Shown::PlugTester(organ) = shown(&chapel, &sound, tester(), turned("organ")) else {
        panic!()
    };
    assert_eq!(organ.pattern(), "hot-neutral lit, hot-ground dark, neutral-ground lit");
    assert!(misfit(&chapel, tester(), turned("porch")).contains("one way round only"));
}

#[test]
fn a_two_wire_receptacle_without_ground_still_reads_hot_to_neutral() {
    let attic = circuit(
        r#"(
            format: 1,
            circuits: [(id: "old", amperes: 15, carries: ["hot", "neutral"])],
            boxes: [(id: "lamp", from: "old", feet: 30, device: Receptacle(configuration: "NEMA 5-15"))],
        )"#,
    );
    let shown = shown(
        &attic,
        &Condition::default(),
        presets::plug_tester_glow_lamp(),
        Place::receptacle("lamp"),
    );
    let Shown::PlugTester(shown) = shown else { panic!() };
    assert_eq!(shown.indicators[0].state, "lit");
    assert_ne!(shown.indicators[1].state, "lit");
}

#[test]
fn the_button_of_a_tester_trips_a_ground_fault_device_only_through_a_ground() {
    let kitchen = circuit(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "sink", from: "c1", feet: 30, device: GroundFault(feeds: true)),
                    (id: "counter", from: "sink", feet: 8)],
        )"#,
    );
    let Instrument::PlugTester(tester) = presets::plug_tester_resistive() else { panic!() };
    let button = Some(TripButton { resistance_ohm: 15e3, pressed: true });
    let pressed = Request {
        together: Some(1),
        ..Request::new(
            Instrument::PlugTester(PlugTester { button, ..tester }),
            Place::receptacle("counter"),
        )
    };
    let device = kitchen
        .parts()
        .devices
        .iter()
        .find(|device| device.id.contains("gf"))
        .map(|device| device.id.clone())
        .unwrap();
    let residual =
        Request::new(presets::residual_sensor_class_a(), Place::Device { device: device.clone() });
    // Button and sensor are not attached together: the sensor alone sees nothing.
    let idle = readings(&kitchen, &Condition::default(), std::slice::from_ref(&residual));
    let Shown::Residual(ResidualReading { trips, .. }) = idle[0].shown else { panic!() };
    assert_eq!(trips, Some(false));
    // Together with the pressed button it does.
    let sensing = Request { together: Some(1), ..residual };
    let both = readings(&kitchen, &Condition::default(), &[pressed.clone(), sensing.clone()]);
    let Shown::Residual(seen) = &both[1].shown else { panic!() };
    assert_eq!(seen.trips, Some(true));
    // 8 mA of the button, and what the hot-ground indicator of 68 kilohms draws besides.
    let both_paths = 120.0 / 15e3 + 120.0 / 68e3;
    assert_relative_eq!(seen.residual_ampere.magnitude(), both_paths, max_relative = 0.005);
    // And with the ground open past the panel there is no current to sense.
    let ungrounded = open("contact:c1-sink.a.ground");
    let both = readings(&kitchen, &ungrounded, &[pressed, sensing]);
    let (Shown::PlugTester(plug), Shown::Residual(seen)) = (&both[0].shown, &both[1].shown) else {
        panic!()
    };
    assert_eq!(seen.trips, Some(false));
    assert!(plug.ground_volt.unwrap().magnitude() > 80.0, "the ground slot is live");
}

#[test]
fn the_own_button_of_a_device_in_a_circuit_is_found_by_its_name() {
    let kitchen = circuit(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "sink", from: "c1", feet: 30, device: GroundFault(feeds: true)),
                    (id: "counter", from: "sink", feet: 8)],
        )"#,
    );
    let device = kitchen.parts().devices.iter().find(|d| d.id.contains("gf")).unwrap().id.clone();
    let press = |device: String| {
        let request = Request::new(presets::own_test_button(), Place::Device { device });
        measure(&kitchen, &open("contact:c1-sink.a.ground"), &[request])
    };
    let Shown::Residual(shown) = &press(device).unwrap()[0].shown else { panic!() };
    assert_eq!(shown.trips, Some(true), "its own button needs no ground");
    let problem = press("sink.fg".to_owned()).unwrap_err();
    assert!(problem.to_string().contains("sink.gf"), "{problem}");
}

#[test]
fn an_unknown_receptacle_is_a_problem_with_a_suggestion() {
    let request = Request::new(presets::plug_tester_resistive(), Place::receptacle("klin"));
    let problem = measure(&studio(), &Condition::default(), &[request]).unwrap_err();
    assert!(matches!(problem, MeasureProblem::Unknown(_)));
    assert!(problem.to_string().contains("kiln"), "{problem}");
}

#[test]
fn a_clamp_is_not_used_in_a_receptacle() {
    let request = Request::new(presets::clamp_meter(), Place::receptacle("kiln"));
    let problem = measure(&studio(), &Condition::default(), &[request]).unwrap_err();
    assert!(problem.to_string().starts_with("clamp meter: is not used at"), "{problem}");
}

#[test]
fn a_place_of_an_outlet_is_its_slots() {
    let studio = studio();
    let (_, outlet) = studio.outlets().find(|(_, o)| o.address.as_str() == "kiln").unwrap();
    let at = |turned| place_of_outlet(outlet, turned);
    let straight =
        Place::slots([("hot", "kiln.hot"), ("neutral", "kiln.neutral"), ("ground", "kiln.ground")]);
    assert_eq!(at(false), straight);
    let turned =
        Place::slots([("neutral", "kiln.hot"), ("hot", "kiln.neutral"), ("ground", "kiln.ground")]);
    assert_eq!(at(true), turned);
}

// Ranges.

const RANGES: &str = r#"(
    format: 1,
    supply: (volts_between: (114, 126)),
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "door", from: "c1", feet_between: (20, 60)),
        (id: "kiln", from: "door", feet_between: (10, 40)),
    ],
    loads: [(id: "heater", at: "kiln", kind: Resistive(), watts_between: (1000, 1500))],
)"#;

#[test]
fn ranges_of_length_load_and_supply_give_a_band_for_the_reading() {
    let circuit = circuit(RANGES);
    let request = Request::new(
        presets::voltmeter_high_impedance(),
        Place::between("kiln.hot", "kiln.neutral"),
    );
    let none = Condition::default();
    let band = &measure_band(&circuit, &none, std::slice::from_ref(&request)).unwrap()[0];
    assert_eq!((band.method, band.n_points), (BandMethod::AllCorners, 1 + 16 + 16));
    let figure = &band.figures[0];
    let (low, high) = (figure.low.unwrap(), figure.high.unwrap());
    assert!(low < 114.0 && high < 126.0 && low > 105.0 && high > 122.0, "{low} {high}");
    // Highest: supply high, lengths and load low. By hand, as a circuit of its own.
    let at = |volts: f64, feet: (f64, f64), watts: f64| {
        let text = format!(
            r#"(
                format: 1,
                supply: (volts: 120),
                circuits: [(id: "c1", amperes: 20)],
                boxes: [
                    (id: "door", from: "c1", feet: {}),
                    (id: "kiln", from: "door", feet: {}),
                ],
                loads: [(id: "heater", at: "kiln", kind: Resistive(watts: {watts}))],
            )"#,
            feet.0, feet.1
        );
        let alone = measure(&circuit_of(&text), &none, std::slice::from_ref(&request)).unwrap();
        // Everything here is linear, so the supply scales the reading.
        alone[0].figures()[0].value.unwrap() * volts / 120.0
    };
    assert_relative_eq!(high, at(126.0, (20.0, 10.0), 1000.0), max_relative = 1e-6);
    assert_relative_eq!(low, at(114.0, (60.0, 40.0), 1500.0), max_relative = 1e-6);
    // The display adds its tolerance on both sides.
    assert!(figure.shown_low.unwrap() < low - 0.5 && figure.shown_high.unwrap() > high + 0.5);
    assert!(figure.to_string().starts_with("voltage 1"));
}

fn circuit_of(text: &str) -> Circuit {
    circuit(text)
}

#[test]
fn a_band_says_which_states_it_met() {
    let circuit = circuit(RANGES);
    let request = Request::new(presets::plug_tester_resistive(), Place::receptacle("kiln"));
    let band = &measure_band(&circuit, &Condition::default(), &[request]).unwrap()[0];
    let words: Vec<_> = band.states.iter().map(|s| (s.state.word, s.share >= 1.0)).collect();
    assert_eq!(words, [("lit", true), ("lit", true), ("dark", true)]);
}

#[test]
fn without_ranges_a_band_is_a_point() {
    let request = Request::new(presets::plug_tester_resistive(), Place::receptacle("kiln"));
    let band = &measure_band(&studio(), &Condition::default(), &[request]).unwrap()[0];
    assert_eq!((band.method, band.n_points), (BandMethod::Exact, 1));
    assert_eq!(band.figures[0].low, band.figures[0].high);
}

#[test]
fn with_many_ranges_the_chosen_corners_hold_every_sample() {
    let boxes: String = (0..9)
        .map(|n| {
            let from = if n == 0 { "c1".to_owned() } else { format!("b{}", n - 1) };
            format!(r#"(id: "b{n}", from: "{from}", feet_between: (5, 25)),"#)
        })
        .collect();
    let text = format!(
        r#"(format: 1, circuits: [(id: "c1")], boxes: [{boxes}],
            loads: [(id: "heater", at: "b8", kind: Resistive(watts: 1000))])"#
    );
    let request =
        Request::new(presets::voltmeter_high_impedance(), Place::between("b8.hot", "b8.neutral"));
    let band = &measure_band(&circuit(&text), &Condition::default(), &[request]).unwrap()[0];
    assert_eq!(band.method, BandMethod::ChosenCorners);
    let figure = &band.figures[0];
    assert!(figure.high.unwrap() - figure.low.unwrap() > 2.0);
    assert!(band.n_points < 60, "{}", band.n_points);
}

/// A run of nine boxes with a heater at its end, everything a range or everything as said.
fn run_of_nine(volts: &str, feet: &str, heater: &str) -> Circuit {
    let boxes: String = (0..9)
        .map(|n| {
            let from = if n == 0 { "c1".to_owned() } else { format!("b{}", n - 1) };
            format!(r#"(id: "b{n}", from: "{from}", {feet}),"#)
        })
        .collect();
    circuit(&format!(
        r#"(format: 1, supply: ({volts}), circuits: [(id: "c1")], boxes: [{boxes}],
            loads: [(id: "heater", at: "b8", {heater})])"#
    ))
}

#[test]
fn with_many_ranges_the_ends_are_those_of_the_best_house_and_the_worst() {
    let request =
        Request::new(presets::voltmeter_high_impedance(), Place::between("b8.hot", "b8.neutral"));
    let of = |text: &Circuit| {
        measure_band(text, &Condition::default(), std::slice::from_ref(&request)).unwrap().remove(0)
    };
    // The supply moves the reading by a volt, each of the runs and the heater by more than half of
    // one: together they outweigh it.
    let all = of(&run_of_nine(
        "volts_between: (119, 121)",
        "feet_between: (5, 25)",
        "kind: Resistive(), watts_between: (1000, 1500)",
    ));
    assert_eq!(all.method, BandMethod::ChosenCorners);
    let at = |volts: f64, feet: u32, watts: u32| {
        let heater = format!("kind: Resistive(watts: {watts})");
        let house = run_of_nine("volts: 120", &format!("feet: {feet}"), &heater);
        // Everything here is linear, so the supply scales the reading.
        of(&house).figures[0].low.unwrap() * volts / 120.0
    };
    let figure = &all.figures[0];
    assert_relative_eq!(figure.high.unwrap(), at(121.0, 5, 1000), max_relative = 1e-6);
    assert_relative_eq!(figure.low.unwrap(), at(119.0, 25, 1500), max_relative = 1e-6);
}

#[test]
fn the_share_of_a_state_is_that_of_the_points_at_which_it_was_found() {
    // Unloaded, the reading is the supply's: 100 V at the low end, 200 at the high one.
    let house = circuit(
        r#"(format: 1, supply: (volts_between: (100, 200)), circuits: [(id: "c1")],
            boxes: [(id: "b", from: "c1", feet: 10)])"#,
    );
    let mut tester = presets::plug_tester_resistive();
    let Instrument::PlugTester(own) = &mut tester else { panic!() };
    for spanned in &mut own.indicators {
        spanned.indicator.dim_from = Band::exactly(20.0);
        spanned.indicator.lit_from = Band::exactly(170.0);
    }
    let request = Request::new(tester, Place::receptacle("b"));
    let band = &measure_band(&house, &Condition::default(), &[request]).unwrap()[0];
    // Two ends, the middle, and sixteen points of halves, quarters, ... of which 3/4, 7/8, 13/16 and
    // 15/16 are above 70 V of the hundred: with the upper end five of nineteen.
    assert_eq!(band.n_points, 19);
    let share = |word: &str| {
        let of =
            |share: &&StateShare| share.state.name == "hot-neutral" && share.state.word == word;
        band.states.iter().find(of).unwrap().share
    };
    assert_relative_eq!(share("lit"), 5.0 / 19.0, max_relative = 1e-12);
    assert_relative_eq!(share("dim"), 14.0 / 19.0, max_relative = 1e-12);
}
