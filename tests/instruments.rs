//! What instruments show, against the figures a practitioner can compute on paper.

#![allow(clippy::unwrap_used)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use slotwise::diagnosis::Showed;
use slotwise::instrument::{
    Band, BodyImpedance, Brightness, Burden, Coupled, Effect, Instrument, Jumper, LoadedReading,
    NonContactReading, OhmReading, Person, PersonReading, Place, PlugTester, PlugTesterReading,
    Preparation, Reading, Request, ResidualReading, Shown, Through, TripButton, VoltmeterReading,
    measure_netlist, presets,
};
use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};

/// Voltages computed on paper agree to this, volts; what is left out on paper (joints of the
/// model's supply) is below it.
const PAPER_VOLT: f64 = 0.05;

/// A netlist written row by row: name, resistance in ohms, its two ends.
struct Bench(Netlist);

impl Bench {
    fn new(volts: &[(&str, f64)]) -> Self {
        let mut bench = Self(Netlist::new(60.0));
        for &(terminal, volt) in volts {
            let law = Law::Source {
                emf_volt: Phasor::new(volt, 0.0),
                impedance: Impedance::resistance(1e-6),
            };
            bench.add(&format!("supply {terminal}"), terminal, "earth", law);
        }
        bench
    }

    fn node(&mut self, name: &str) -> NodeId {
        self.0.node(&Address::from(name))
    }

    fn add(&mut self, name: &str, a: &str, b: &str, law: Law) {
        let (a, b) = (self.node(a), self.node(b));
        self.0.add(name, a, b, Role::Lumped, law).unwrap();
    }

    fn ohms(mut self, rows: &[(&str, f64, &str, &str)]) -> Self {
        for &(name, ohm, a, b) in rows {
            self.add(name, a, b, Law::resistance(ohm));
        }
        self
    }

    fn farads(mut self, rows: &[(&str, f64, &str, &str)]) -> Self {
        for &(name, capacitance_farad, a, b) in rows {
            self.add(name, a, b, Law::Capacitor { capacitance_farad });
        }
        self
    }

    fn read(&self, instrument: Instrument, place: Place) -> Shown {
        self.read_all(&[Request::new(instrument, place)]).remove(0).shown
    }

    fn read_all(&self, requests: &[Request]) -> Vec<Reading> {
        measure_netlist(&self.0, requests).unwrap()
    }

    fn volts(&self, instrument: Instrument, from: &str, to: &str) -> f64 {
        let Shown::Voltmeter(VoltmeterReading { voltage_volt, .. }) =
            self.read(instrument, Place::between(from, to))
        else {
            panic!("not a voltmeter")
        };
        voltage_volt.unwrap().magnitude()
    }

    fn plugged(&self, tester: Instrument) -> PlugTesterReading {
        let place = Place::slots([("hot", "hot"), ("neutral", "neutral"), ("ground", "ground")]);
        match self.read(tester, place) {
            Shown::PlugTester(shown) => shown,
            other => panic!("{other:?}"),
        }
    }

    fn pattern(&self, tester: Instrument) -> String {
        self.plugged(tester).pattern()
    }
}

/// A receptacle at the end of 0.2 ohm each way, its ground bonded to the neutral at the panel.
fn sound() -> Bench {
    Bench::new(&[("bar", 120.0)]).ohms(&[
        ("hot wire", 0.2, "bar", "hot"),
        ("neutral wire", 0.2, "neutral", "earth"),
        ("ground wire", 0.2, "ground", "earth"),
        ("insulation", 1e9, "hot", "earth"),
    ])
}

const SOUND: &str = "hot-neutral lit, hot-ground lit, neutral-ground dark";

fn testers() -> [Instrument; 4] {
    [
        presets::plug_tester_resistive(),
        presets::plug_tester_solid_state(),
        presets::plug_tester_glow_lamp(),
        presets::plug_tester_glow_lamp_with_memory(),
    ]
}

// Phantom voltages.

/// Capacitance per metre of flat two-wire cable with ground, PVC of relative permittivity 5.
const OUTER_TO_GROUND: f64 = 67e-12;
const HOT_TO_NEUTRAL: f64 = 16.5e-12;

/// A meter that reads volts to earth of a conductor held by two capacitances alone.
fn phantom(to_hot: f64, to_earth: f64, metres: f64, burden: Burden) -> f64 {
    let bench = Bench::new(&[("hot", 120.0)]).farads(&[
        ("to hot", to_hot * metres, "hot", "floating"),
        ("to earth", to_earth * metres, "floating", "earth"),
    ]);
    let Instrument::Voltmeter(mut meter) = presets::voltmeter_high_impedance() else { panic!() };
    meter.burden = burden;
    bench.volts(Instrument::Voltmeter(meter), "floating", "earth")
}

fn ohm(resistance_ohm: f64) -> Burden {
    Burden::Parallel { resistance_ohm, capacitance_farad: 100e-12 }
}

/// Burdens of the table's columns, ohms, each beside 100 pF.
const COLUMNS: [f64; 4] = [10e6, 1e6, 100e3, 3e3];

fn assert_printed(volt: f64, printed: &str) {
    // Half a unit of the last digit printed, and the rounding of the capacitances, which the
    // table gives to two digits.
    let decimals = printed.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let value: f64 = printed.parse().unwrap();
    let allowed = 0.5 * 0.1f64.powi(decimals as i32) + 0.02 * value;
    assert!((volt - value).abs() <= allowed, "{volt} V, printed {printed}");
}

#[test]
fn a_floating_ground_reads_what_the_length_of_its_cable_lets_it() {
    let rows = [
        (3.0, ["42", "8.9", "0.9", "0.03"]),
        (10.0, ["55", "27", "3.0", "0.09"]),
        (30.0, ["58", "49", "9.0", "0.27"]),
    ];
    for (metres, printed) in rows {
        for (resistance, printed) in COLUMNS.into_iter().zip(printed) {
            let volt = phantom(OUTER_TO_GROUND, OUTER_TO_GROUND, metres, ohm(resistance));
            assert_printed(volt, printed);
        }
    }
}

#[test]
fn a_floating_neutral_beside_a_sound_ground_reads_less() {
    let rows = [
        (3.0, ["13.5", "2.2", "0.2", "0.01"]),
        (10.0, ["20", "7.0", "0.75", "0.02"]),
        (30.0, ["23", "16", "2.2", "0.07"]),
    ];
    for (metres, printed) in rows {
        for (resistance, printed) in COLUMNS.into_iter().zip(printed) {
            let volt = phantom(HOT_TO_NEUTRAL, OUTER_TO_GROUND, metres, ohm(resistance));
            assert_printed(volt, printed);
        }
    }
}

#[test]
fn an_open_neutral_with_a_lamp_plugged_in_is_no_phantom() {
    // Cold filament of 17 ohm from hot to the open neutral.
    let bench = Bench::new(&[("hot", 120.0)]).ohms(&[("lamp", 17.0, "hot", "neutral")]);
    let high = bench.volts(presets::voltmeter_high_impedance(), "neutral", "earth");
    let low = bench.volts(presets::voltmeter_low_impedance(), "neutral", "earth");
    assert_abs_diff_eq!(high, 120.0, epsilon = PAPER_VOLT);
    assert_abs_diff_eq!(low, 119.3, epsilon = PAPER_VOLT);
}

#[test]
fn the_case_of_an_ungrounded_appliance_reads_half_the_supply_on_a_high_impedance_meter() {
    let bench = Bench::new(&[("hot", 120.0)]).farads(&[
        ("filter to hot", 2.2e-9, "hot", "case"),
        ("filter to neutral", 2.2e-9, "case", "earth"),
    ]);
    let Instrument::Voltmeter(mut meter) = presets::voltmeter_high_impedance() else { panic!() };
    for (burden, printed) in [(ohm(10e6), "59"), (ohm(1e6), "50"), (ohm(3e3), "0.3")] {
        meter.burden = burden;
        assert_printed(bench.volts(Instrument::Voltmeter(meter.clone()), "case", "earth"), printed);
    }
}

#[test]
fn a_meter_between_two_parts_that_nothing_joins_reads_zero() {
    let bench = Bench::new(&[("hot", 120.0)]).ohms(&[("spare", 1.0, "spare a", "spare b")]);
    assert_abs_diff_eq!(
        bench.volts(presets::voltmeter_high_impedance(), "hot", "spare a"),
        0.0,
        epsilon = 1e-9
    );
    let ideal = bench.read(presets::voltmeter_ideal(), Place::between("hot", "spare a"));
    let Shown::Voltmeter(ideal) = ideal else { panic!() };
    assert_eq!((ideal.voltage_volt, ideal.display), (None, None));
}

// What a plug-in tester cannot see.

#[test]
fn every_tester_calls_a_sound_receptacle_sound() {
    for tester in testers() {
        assert_eq!(sound().pattern(tester), SOUND);
    }
}

#[test]
fn a_bootleg_ground_looks_sound_to_every_tester() {
    let bench = Bench::new(&[("bar", 120.0)]).ohms(&[
        ("hot wire", 0.2, "bar", "hot"),
        ("neutral wire", 0.2, "neutral", "earth"),
        ("bootleg", 5e-3, "neutral", "ground"),
    ]);
    for tester in testers() {
        assert_eq!(bench.pattern(tester), SOUND);
    }
}

#[test]
fn a_bootleg_ground_with_hot_and_neutral_exchanged_looks_sound_and_its_case_is_live() {
    let bench = Bench::new(&[("bar", 120.0)]).ohms(&[
        ("hot wire", 0.2, "bar", "neutral"),
        ("neutral wire", 0.2, "hot", "earth"),
        ("bootleg", 5e-3, "neutral", "ground"),
    ]);
    for tester in testers() {
        assert_eq!(bench.pattern(tester), SOUND);
    }
    let Shown::NonContact(detector) =
        bench.read(presets::non_contact_detector(), Place::near("ground"))
    else {
        panic!()
    };
    assert_eq!(detector.state, "alarm");
}

#[test]
fn neutral_and_ground_exchanged_look_sound_until_a_load_runs() {
    let swapped = |load_ohm| {
        Bench::new(&[("bar", 120.0)]).ohms(&[
            ("hot wire", 0.2, "bar", "hot"),
            ("neutral wire", 0.2, "ground", "earth"),
            ("ground wire", 0.2, "neutral", "earth"),
            ("load", load_ohm, "hot", "neutral"),
        ])
    };
    for tester in testers() {
        assert_eq!(swapped(1e9).pattern(tester.clone()), SOUND);
        assert_eq!(swapped(9.6).pattern(tester), SOUND);
    }
    let neutral_to_ground =
        swapped(9.6).volts(presets::voltmeter_high_impedance(), "neutral", "ground");
    assert_abs_diff_eq!(neutral_to_ground, 2.4, epsilon = PAPER_VOLT);
}

#[test]
fn ten_kilohms_in_the_ground_cost_a_tester_less_than_twenty_volts() {
    let bench = Bench::new(&[("hot", 120.0)]).ohms(&[
        ("neutral wire", 0.2, "neutral", "earth"),
        ("bad ground", 10e3, "ground", "earth"),
    ]);
    for tester in [presets::plug_tester_resistive(), presets::plug_tester_glow_lamp()] {
        let shown = bench.plugged(tester);
        assert_eq!(shown.pattern(), SOUND);
        assert!(shown.indicators[1].voltage_volt.unwrap().magnitude() > 100.0);
    }
}

#[test]
fn an_open_neutral_with_a_load_on_looks_like_hot_and_ground_exchanged_until_it_is_unplugged() {
    let open_neutral = |load_ohm| {
        Bench::new(&[("hot", 120.0)])
            .ohms(&[("ground wire", 0.2, "ground", "earth"), ("load", load_ohm, "hot", "neutral")])
    };
    let exchanged = Bench::new(&[("ground", 120.0)]).ohms(&[
        ("hot slot's wire", 0.2, "hot", "earth"),
        ("neutral wire", 0.2, "neutral", "earth"),
    ]);
    // Hot and ground exchanged: hot-neutral 0, hot-ground 120, neutral-ground 120.
    for tester in testers() {
        let pattern = exchanged.pattern(tester.clone());
        assert_eq!(open_neutral(144.0).pattern(tester.clone()), pattern);
        assert_ne!(open_neutral(1e9).pattern(tester), pattern);
    }
}

#[test]
fn two_hots_light_the_lamps_as_a_sound_receptacle_would_but_one() {
    let bench = Bench::new(&[("hot", 120.0), ("neutral", -120.0)]).ohms(&[(
        "ground wire",
        0.2,
        "ground",
        "earth",
    )]);
    let shown = bench.plugged(presets::plug_tester_resistive());
    assert_eq!(shown.pattern(), "hot-neutral lit, hot-ground lit, neutral-ground lit");
    assert_abs_diff_eq!(
        shown.indicators[0].voltage_volt.unwrap().magnitude(),
        240.0,
        epsilon = PAPER_VOLT
    );
}

// Lamps.

/// The lamp of the facts: strike 90 V at the peak, maintain 60 V.
fn glow_lamp_at(volt: f64) -> PlugTesterReading {
    let Instrument::PlugTester(mut tester) = presets::plug_tester_glow_lamp() else { panic!() };
    for spanned in &mut tester.indicators {
        spanned.indicator.law = slotwise::instrument::IndicatorLaw::Peak {
            strike_peak_volt: Band::exactly(90.0),
            maintain_peak_volt: 60.0,
            off_ohm: 1e9,
            series_ohm: 100e3,
        };
    }
    Bench::new(&[("hot", volt)])
        .ohms(&[("n", 0.1, "neutral", "earth"), ("g", 0.1, "ground", "earth")])
        .plugged(Instrument::PlugTester(tester))
}

#[test]
fn a_glow_lamp_goes_dark_below_about_sixty_four_volts() {
    assert_eq!(glow_lamp_at(63.5).indicators[0].glow.only(), Some(Brightness::Dark));
    assert_ne!(glow_lamp_at(64.0).indicators[0].glow.at_most, Brightness::Dark);
}

#[test]
fn a_glow_lamp_draws_the_printed_average_current() {
    for (volt, printed_ma) in
        [(64.0, 0.06), (70.0, 0.12), (90.0, 0.29), (120.0, 0.54), (240.0, 1.59)]
    {
        let ma = glow_lamp_at(volt).indicators[0].deciding_value * 1e3;
        assert_abs_diff_eq!(ma, printed_ma, epsilon = 0.0055);
    }
}

#[test]
fn a_solid_state_tester_stays_lit_far_below_the_voltage_where_a_glow_lamp_goes_dark() {
    let at = |volt: f64| {
        Bench::new(&[("hot", volt)])
            .ohms(&[("n", 0.1, "neutral", "earth"), ("g", 0.1, "ground", "earth")])
            .plugged(presets::plug_tester_solid_state())
            .indicators[0]
            .glow
    };
    assert_ne!(at(20.0).at_least, Brightness::Dark);
    assert_eq!(at(4.0).only(), Some(Brightness::Dark));
}

#[test]
fn on_a_ground_held_by_capacitance_a_glow_lamp_stays_dark() {
    // Ten metres of flat cable, ground open: 60 V with 30 microamperes behind it.
    let bench =
        Bench::new(&[("hot", 120.0)]).ohms(&[("neutral wire", 0.2, "neutral", "earth")]).farads(&[
            ("to hot", 10.0 * OUTER_TO_GROUND, "hot", "ground"),
            ("to neutral", 10.0 * OUTER_TO_GROUND, "ground", "neutral"),
        ]);
    let shown = bench.plugged(presets::plug_tester_glow_lamp());
    assert_eq!(shown.indicators[1].glow.only(), Some(Brightness::Dark));
    assert_eq!(shown.indicators[2].glow.only(), Some(Brightness::Dark));
}

#[test]
fn inside_the_band_a_lamp_may_light_and_the_reading_says_at_what_value() {
    let Instrument::PlugTester(mut tester) = presets::plug_tester_resistive() else { panic!() };
    tester.indicators[0].indicator.lit_from = Band::between(110.0, 125.0);
    let shown = sound().plugged(Instrument::PlugTester(tester));
    let reading = &shown.indicators[0];
    assert_eq!((reading.state, reading.decided_by), ("dim or lit", "volt_rms"));
    assert_relative_eq!(reading.deciding_value, 120.0, max_relative = 1e-3);
}

#[test]
fn a_lamp_with_memory_in_series_with_another_may_be_found_either_way() {
    // Neutral open: its lamps are in series between hot and ground, and whichever strikes first
    // holds the other off, or both stay dark.
    let bench = Bench::new(&[("hot", 100.0)]).ohms(&[("ground wire", 0.2, "ground", "earth")]);
    let Instrument::PlugTester(mut tester) = presets::plug_tester_glow_lamp_with_memory() else {
        panic!()
    };
    for spanned in &mut tester.indicators {
        spanned.indicator.law = slotwise::instrument::IndicatorLaw::StrikeAndHold {
            strike_volt: Band::exactly(75.0),
            hold_volt: 48.0,
            maintain_volt: 45.0,
            off_ohm: 1e9,
            series_ohm: 100e3,
        };
    }
    let place = Place::slots([("hot", "hot"), ("neutral", "neutral"), ("ground", "ground")]);
    let mut netlist = bench.0.clone();
    netlist.node(&Address::from("neutral"));
    let request = Request::new(Instrument::PlugTester(tester), place);
    let Shown::PlugTester(shown) = &measure_netlist(&netlist, &[request]).unwrap()[0].shown else {
        panic!()
    };
    assert_eq!(shown.indicators[1].glow.only(), Some(Brightness::Lit));
    assert!(shown.indicators[0].remembers && shown.indicators[2].remembers);
    assert_eq!(shown.indicators[0].state, "may light");
}

// Buttons.

fn pressed() -> Instrument {
    let Instrument::PlugTester(tester) = presets::plug_tester_resistive() else { panic!() };
    let button = Some(TripButton { resistance_ohm: 15e3, pressed: true });
    Instrument::PlugTester(PlugTester { button, ..tester })
}

#[test]
fn the_button_of_a_tester_draws_eight_milliamperes_at_nominal_voltage() {
    for (volt, printed_ma) in [(102.0, 6.8), (120.0, 8.0), (132.0, 8.8)] {
        let bench = Bench::new(&[("hot", volt)])
            .ohms(&[("n", 0.1, "neutral", "earth"), ("g", 0.1, "ground", "earth")]);
        let shown = bench.plugged(pressed());
        let ma = shown.button_ampere.unwrap().magnitude() * 1e3;
        assert_abs_diff_eq!(ma, printed_ma, epsilon = 1e-3);
    }
}

#[test]
fn pressed_without_a_ground_the_button_makes_the_ground_slot_live() {
    let bench = Bench::new(&[("hot", 120.0)])
        .ohms(&[("n", 0.1, "neutral", "earth"), ("insulation", 1e8, "ground", "earth")]);
    let shown = bench.plugged(pressed());
    assert!(shown.button_ampere.unwrap().magnitude() < 2e-3, "no current that trips anything");
    assert!(shown.ground_volt.unwrap().magnitude() > 90.0, "but the ground pin is live");
}

#[test]
fn the_own_button_of_a_ground_fault_device_needs_no_ground() {
    let bench = Bench::new(&[("gf.line.hot", 120.0)]).ohms(&[
        ("switch:gf.hot", 1e-3, "gf.line.hot", "gf.load.hot"),
        ("switch:gf.neutral", 1e-3, "gf.line.neutral", "gf.load.neutral"),
        ("neutral wire", 0.1, "gf.line.neutral", "earth"),
        ("load", 144.0, "gf.load.hot", "gf.load.neutral"),
    ]);
    let place = Place::Device { device: "gf".into() };
    let Shown::Residual(ResidualReading { residual_ampere, trips, button_ampere, .. }) =
        bench.read(presets::own_test_button(), place.clone())
    else {
        panic!()
    };
    assert_relative_eq!(residual_ampere.magnitude(), 8e-3, max_relative = 1e-3);
    assert_relative_eq!(button_ampere.unwrap().magnitude(), 8e-3, max_relative = 1e-3);
    assert_eq!(trips, Some(true));
    let Shown::Residual(idle) = bench.read(presets::residual_sensor_class_a(), place) else {
        panic!()
    };
    assert_eq!((idle.trips, idle.state), (Some(false), "does not trip"));
}

#[test]
fn five_milliamperes_may_trip_a_class_a_device() {
    let bench = Bench::new(&[("hot", 120.0)]).ohms(&[("leak", 24e3, "hot", "earth")]);
    let conductors = vec![Through { element: "leak".into(), sign: 1.0 }];
    let Shown::Residual(shown) =
        bench.read(presets::residual_sensor_class_a(), Place::Around { conductors })
    else {
        panic!()
    };
    assert_eq!((shown.trips, shown.state), (None, "may trip"));
}

// The loaded test.

fn loaded(bench: &Bench) -> LoadedReading {
    let place = Place::slots([("hot", "hot"), ("neutral", "neutral"), ("ground", "ground")]);
    match bench.read(presets::loaded_test(), place) {
        Shown::LoadedTest(shown) => shown,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_perfect_circuit_of_fourteen_gauge_fails_five_percent_at_about_eighty_feet() {
    const OHM_PER_FOOT: f64 = 2.523e-3; // solid copper at 20 C
    let drop_at = |feet: f64| {
        let wire = feet * OHM_PER_FOOT;
        let bench = Bench::new(&[("bar", 120.0)]).ohms(&[
            ("hot wire", wire, "bar", "hot"),
            ("neutral wire", wire, "neutral", "earth"),
            ("ground wire", wire, "ground", "earth"),
            ("insulation", 1e9, "hot", "neutral"),
        ]);
        // 8 ohm are 15 A only without the drop; per ampere the drop is exact.
        let shown = loaded(&bench);
        100.0 * 15.0 * shown.true_ohm.unwrap().magnitude() / 120.0
    };
    for (feet, printed) in [(25.0, 1.6), (50.0, 3.2), (100.0, 6.3)] {
        assert_abs_diff_eq!(drop_at(feet), printed, epsilon = 0.05);
    }
    assert!(drop_at(79.0) < 5.0 && drop_at(80.0) > 5.0);
}

#[test]
fn the_third_conductor_tells_which_wire_loses_the_volts() {
    let bench = Bench::new(&[("bar", 120.0)]).ohms(&[
        ("hot wire", 0.2, "bar", "hot"),
        ("neutral wire with a bad splice", 0.2 + 0.4, "neutral", "earth"),
        ("ground wire", 0.2, "ground", "earth"),
        ("insulation", 1e9, "hot", "neutral"),
    ]);
    let shown = loaded(&bench);
    assert_relative_eq!(shown.hot_share_ohm.unwrap().re, 0.2, max_relative = 1e-4);
    assert_relative_eq!(shown.neutral_share_ohm.unwrap().re, 0.6, max_relative = 1e-4);
    assert_relative_eq!(shown.apparent_ohm.unwrap(), 0.8, max_relative = 1e-4);
    assert_relative_eq!(shown.drop_percent.unwrap(), 100.0 * 0.8 / 8.8, max_relative = 1e-4);
}

// Dead circuits.

fn ohms(
    bench: &Bench,
    instrument: Instrument,
    from: &str,
    to: &str,
    prepared: Preparation,
) -> OhmReading {
    let mut request = Request::new(instrument, Place::between(from, to));
    request.preparation = prepared;
    match bench.read_all(&[request]).remove(0).shown {
        Shown::Ohmmeter(shown) => shown,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_heater_left_plugged_in_reads_as_its_own_resistance() {
    let bench = sound().ohms(&[("heater", 9.6, "hot", "neutral"), ("breaker", 5e-3, "bar", "x")]);
    let prepared = Preparation { isolate: vec!["hot wire".into()], ..Preparation::default() };
    let shown = ohms(&bench, presets::ohmmeter(), "hot", "neutral", prepared);
    assert_relative_eq!(shown.resistance_ohm.unwrap(), 9.6, max_relative = 1e-6);
    assert_eq!(shown.display.text, "9.8 ohm"); // leads included
}

#[test]
fn neutral_to_ground_through_the_panel_bond_reads_low_and_that_is_good() {
    let shown =
        ohms(&sound(), presets::continuity_tester(), "neutral", "ground", Preparation::default());
    assert_relative_eq!(shown.resistance_ohm.unwrap(), 0.4, max_relative = 1e-6);
    assert_eq!(shown.sounds, Some(true));
}

#[test]
fn voltage_left_between_the_probes_shifts_an_ohmmeter() {
    // 88 mV between neutral and ground: 10 A in 8.8 milliohm of neutral.
    let bench = Bench::new(&[("bar", 120.0)]).ohms(&[
        ("load", 12.0 - 8.8e-3, "bar", "neutral"),
        ("neutral wire", 8.8e-3, "neutral", "earth"),
        ("ground wire", 0.1, "ground", "earth"),
    ]);
    let prepared = Preparation { supply_left_on: true, ..Preparation::default() };
    let shown = ohms(&bench, presets::ohmmeter(), "neutral", "ground", prepared);
    assert!(!shown.refuses);
    assert_relative_eq!(shown.found_volt.unwrap().magnitude(), 88e-3, max_relative = 1e-3);
    assert!(shown.display.high > 88.0 && shown.display.low < -87.0);
}

#[test]
fn an_ohmmeter_that_refuses_shows_no_ohms() {
    let prepared = Preparation { supply_left_on: true, ..Preparation::default() };
    let mut request = Request::new(presets::continuity_tester(), Place::between("hot", "ground"));
    request.preparation = prepared;
    let reading = sound().read_all(&[request]).remove(0);
    assert_eq!(Showed::of_reading(&reading), [], "nothing that can be reported");
    let Shown::Ohmmeter(shown) = reading.shown else { panic!("{reading:?}") };
    assert!(shown.refuses && shown.found_volt.unwrap().magnitude() > 119.0);
    assert_eq!((shown.resistance_ohm, shown.sounds), (None, None));
    let display = shown.display;
    assert_eq!((display.text.as_str(), display.value), ("refuses", None));
    assert!(!display.over_range, "which would be an open circuit");
}

#[test]
fn where_nothing_joins_the_probes_an_ohmmeter_shows_over_range() {
    let bench = Bench::new(&[]).ohms(&[("a", 1.0, "a", "b"), ("c", 1.0, "c", "d")]);
    let shown = ohms(&bench, presets::ohmmeter(), "a", "c", Preparation::default());
    assert_eq!((shown.resistance_ohm, shown.display.text.as_str()), (None, "OL"));
}

#[test]
fn with_ends_crossed_every_socket_of_a_ring_reads_a_quarter() {
    let ring = [0.3, 0.5, 0.2];
    let mut bench = Bench::new(&[]);
    for (conductor, names) in [("L", ["L0", "L1", "L2", "L3"]), ("N", ["N0", "N1", "N2", "N3"])] {
        for (leg, ohm) in ring.into_iter().enumerate() {
            let name = format!("{conductor} leg {leg}");
            bench = bench.ohms(&[(&name, ohm, names[leg], names[leg + 1])]);
        }
    }
    let cross = |a: &str, b: &str| Jumper { between: (a.into(), b.into()), resistance_ohm: 0.0 };
    for (line, neutral) in [("L1", "N1"), ("L2", "N2")] {
        let prepared = Preparation {
            jumpers: vec![cross("L0", "N3"), cross("N0", "L3")],
            ..Preparation::default()
        };
        let shown = ohms(&bench, presets::low_ohmmeter(), line, neutral, prepared);
        assert_relative_eq!(shown.resistance_ohm.unwrap(), 2.0 / 4.0, max_relative = 1e-9);
    }
}

#[test]
fn damp_insulation_pulls_the_test_voltage_down_and_does_not_pass() {
    let bench = Bench::new(&[]).ohms(&[("damp", 92e3, "hot", "ground")]);
    let shown = bench.read(presets::insulation_tester_500v(), Place::between("hot", "ground"));
    let Shown::Insulation(shown) = shown else { panic!() };
    assert!(!shown.passes);
    assert_relative_eq!(shown.voltage_volt, 92.0, max_relative = 1e-9);
    assert_eq!(shown.display.text, "0.092 Mohm");
}

// Non-contact detectors, clamps.

fn detector(bench: &Bench, place: Place) -> NonContactReading {
    match bench.read(presets::non_contact_detector(), place) {
        Shown::NonContact(shown) => shown,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_grounded_raceway_hides_a_live_conductor_from_a_detector() {
    let bench = Bench::new(&[("hot", 120.0)]).ohms(&[("raceway bond", 0.1, "raceway", "earth")]);
    assert_eq!(detector(&bench, Place::near("hot")).state, "alarm");
    let behind = Place::Near { terminal: "hot".into(), behind: Some("raceway".into()) };
    let shown = detector(&bench, behind);
    assert_eq!(shown.state, "no alarm");
    assert_eq!(shown.masked_by, Some(Address::from("raceway")));
}

#[test]
fn two_legs_at_equal_distance_cancel_over_a_cable() {
    let bench = Bench::new(&[("leg 1", 120.0), ("leg 2", -120.0)]);
    let near = |terminal: &str, capacitance_farad| Coupled {
        terminal: terminal.into(),
        capacitance_farad,
    };
    let equal = vec![near("leg 1", 1e-12), near("leg 2", 1e-12)];
    assert_abs_diff_eq!(
        detector(&bench, Place::Cable { near: equal }).potential_volt.unwrap().magnitude(),
        0.0,
        epsilon = 1e-9
    );
    // 1.5 pF and 0.5 pF of 5 pF: 24 V of 120 V.
    let nearer = vec![near("leg 1", 1.5e-12), near("leg 2", 0.5e-12)];
    assert_relative_eq!(
        detector(&bench, Place::Cable { near: nearer }).potential_volt.unwrap().magnitude(),
        24.0,
        max_relative = 1e-6
    );
}

#[test]
fn a_clamp_around_hot_and_neutral_shows_only_what_leaks() {
    let bench = Bench::new(&[("bar", 120.0)]).ohms(&[
        ("hot wire", 0.2, "bar", "hot"),
        ("neutral wire", 0.2, "neutral", "earth"),
        ("load", 11.6, "hot", "neutral"),
        ("leak", 24e3, "hot", "earth"),
    ]);
    let through = |element: &str, sign| Through { element: element.into(), sign };
    let read = |conductors| match bench.read(presets::leakage_clamp(), Place::Around { conductors })
    {
        Shown::Clamp(shown) => shown,
        other => panic!("{other:?}"),
    };
    assert_eq!(read(vec![through("hot wire", 1.0)]).display.text, "10.00 A");
    let both = vec![through("hot wire", 1.0), through("neutral wire", -1.0)];
    assert_eq!(read(both).display.text, "4.92 mA");
}

// People.

#[test]
fn a_ground_rod_alone_leaves_a_pole_at_line_voltage() {
    // 120 V to a pole with a rod of 25 ohm: 4.8 A trip nothing; a body of 1000 ohm gets 120 mA.
    let bench = Bench::new(&[("pole", 120.0)]).ohms(&[("rod", 25.0, "pole", "earth")]);
    let through = vec![Through { element: "rod".into(), sign: 1.0 }];
    let Shown::Clamp(rod) =
        bench.read(presets::clamp_meter(), Place::Around { conductors: through })
    else {
        panic!()
    };
    assert_abs_diff_eq!(rod.current_ampere.magnitude(), 4.8, epsilon = 1e-4);
    let person = Instrument::Person(Person {
        name: "person of 1000 ohm".into(),
        body: BodyImpedance {
            source: "IEEE 80".into(),
            percentile: 50,
            skin: "any".into(),
            points: vec![(0.0, 1000.0)],
        },
        extra_ohm: 0.0,
        heart_current_factor: 1.0,
    });
    let shown = touched(&bench, person, "pole", "earth");
    assert_abs_diff_eq!(shown.body_ampere.magnitude(), 0.120, epsilon = 1e-4);
    assert_eq!(shown.effect, Effect::MayStopTheHeart);
}

fn touched(bench: &Bench, person: Instrument, from: &str, to: &str) -> PersonReading {
    match bench.read(person, Place::between(from, to)) {
        Shown::Person(shown) => shown,
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_impedance_of_a_person_is_that_of_the_voltage_the_person_is_left_with() {
    // 15 kohm of a pressed button behind the touch: the body sees far less than 120 V.
    let bench = Bench::new(&[("bar", 120.0)])
        .ohms(&[("button", 15e3, "bar", "case"), ("insulation", 1e9, "case", "earth")]);
    let shown = touched(&bench, presets::person_hand_to_hand(), "case", "earth");
    let volt = shown.touch_volt.magnitude();
    let body = BodyImpedance::iec_60479_1_dry_median().at(volt);
    assert_relative_eq!(shown.body_ohm, body, max_relative = 1e-9);
    assert_relative_eq!(volt, 120.0 * body / (body + 15e3), max_relative = 1e-4);
    assert_eq!(shown.effect, Effect::MayNotLetGo);
    assert!(shown.warning.contains("50th percentile"));
}

#[test]
fn too_little_to_be_felt_is_never_called_safe() {
    let bench = Bench::new(&[("bar", 120.0)])
        .ohms(&[("feed", 1e6, "bar", "case"), ("insulation", 1e9, "case", "earth")]);
    let shown = touched(&bench, presets::person_hand_to_hand(), "case", "earth");
    assert_eq!(shown.effect, Effect::NotFelt);
    assert!(shown.warning.contains("proves nothing safe"));
}

// Several at once.

#[test]
fn instruments_attached_together_load_each_other_and_apart_they_do_not() {
    let bench = Bench::new(&[("bar", 120.0)]).ohms(&[("feed", 3e3, "bar", "hot")]);
    let request = |together| Request {
        together,
        ..Request::new(presets::voltmeter_low_impedance(), Place::between("hot", "earth"))
    };
    let volts = |requests: &[Request]| -> Vec<f64> {
        let volt = |reading: Reading| match reading.shown {
            Shown::Voltmeter(shown) => shown.voltage_volt.unwrap().magnitude(),
            other => panic!("{other:?}"),
        };
        bench.read_all(requests).into_iter().map(volt).collect()
    };
    let apart = volts(&[request(None), request(None)]);
    let together = volts(&[request(Some(1)), request(Some(1))]);
    for (apart, together) in apart.into_iter().zip(together) {
        assert_relative_eq!(apart, 60.0, max_relative = 1e-6);
        assert_relative_eq!(together, 40.0, max_relative = 1e-6);
    }
}
