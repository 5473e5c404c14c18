//! Generic instruments with sourced figures; `docs/instruments.md` lists sources and how sure
//! each figure is.
//!
//! Names say what the instrument does. Every figure is an ordinary field.

use super::{
    Band, BodyImpedance, BrightnessBy, Burden, BurdenRise, Clamp, Display, Indicator, IndicatorLaw,
    Instrument, InsulationTester, LoadedTest, NonContact, Ohmmeter, Person, PlugTester, Prefix,
    Residual, SpannedIndicator, Step, StepTester, TestButton, Tolerance, TripButton, Voltmeter,
};
use crate::quantity::Impedance;

/// What a preset is asked for by, and how it is made.
type Preset = (&'static str, fn() -> Instrument);

const PRESETS: &[Preset] = &[
    ("tester", plug_tester_resistive),
    ("tester-button", plug_tester_button_pressed),
    ("tester-solid-state", plug_tester_solid_state),
    ("tester-glow-lamp", plug_tester_glow_lamp),
    ("tester-glow-lamp-memory", plug_tester_glow_lamp_with_memory),
    ("tester-two-leg", plug_tester_two_leg),
    ("tester-230", plug_tester_230),
    ("voltmeter", voltmeter_high_impedance),
    ("voltmeter-low-impedance", voltmeter_low_impedance),
    ("voltmeter-low-impedance-rising", voltmeter_low_impedance_rising),
    ("voltmeter-needle", voltmeter_needle),
    ("voltmeter-ideal", voltmeter_ideal),
    ("solenoid", solenoid_tester),
    ("two-pole", two_pole_detector),
    ("non-contact", non_contact_detector),
    ("non-contact-sensitive", non_contact_detector_sensitive),
    ("clamp", clamp_meter),
    ("leakage-clamp", leakage_clamp),
    ("ohmmeter", ohmmeter),
    ("continuity", continuity_tester),
    ("low-ohmmeter", low_ohmmeter),
    ("insulation-250", insulation_tester_250v),
    ("insulation-500", insulation_tester_500v),
    ("insulation-1000", insulation_tester_1000v),
    ("loaded-test", loaded_test),
    ("residual-5ma", residual_sensor_class_a),
    ("residual-30ma", residual_sensor_30ma),
    ("test-button", own_test_button),
    ("person", person_hand_to_hand),
    ("person-low", person_hand_to_feet_low),
];

/// The names that [`named`] knows.
///
/// ```
/// use slotwise::instrument::presets;
/// assert!(presets::names().all(|name| presets::named(name).is_some()));
/// ```
pub fn names() -> impl ExactSizeIterator<Item = &'static str> {
    PRESETS.iter().map(|&(name, _)| name)
}

/// The preset of a name.
///
/// ```
/// use slotwise::instrument::presets;
/// assert_eq!(presets::named("clamp"), Some(presets::clamp_meter()));
/// assert_eq!(presets::named("crystal ball"), None);
/// ```
pub fn named(name: &str) -> Option<Instrument> {
    let found = PRESETS.iter().find(|&&(known, _)| known == name);
    found.map(|(_, make)| make())
}

/// Plug-in tester with a plain resistance in each indicator, for 120 V receptacles.
pub fn plug_tester_resistive() -> Instrument {
    Instrument::PlugTester(tester(
        "plug-in tester, resistive",
        NEMA_5,
        [HN, HG, NG],
        Indicator {
            law: IndicatorLaw::Resistance { resistance_ohm: 68e3 },
            brightness_by: BrightnessBy::Volt,
            dim_from: Band::between(30.0, 40.0),
            lit_from: Band::between(80.0, 90.0),
        },
    ))
}

/// The resistive tester with its trip button pressed.
pub fn plug_tester_button_pressed() -> Instrument {
    match plug_tester_resistive() {
        Instrument::PlugTester(mut tester) => {
            tester.name.push_str(", button pressed");
            tester.button = Some(TripButton { resistance_ohm: TEST_BUTTON_OHM, pressed: true });
            Instrument::PlugTester(tester)
        }
        other => other,
    }
}

/// Plug-in tester with solid-state lamps behind 33 kilohms: a threshold without memory.
pub fn plug_tester_solid_state() -> Instrument {
    Instrument::PlugTester(tester(
        "plug-in tester, solid state",
        NEMA_5,
        [HN, HG, NG],
        Indicator {
            law: IndicatorLaw::Threshold {
                threshold_volt: Band::exactly(2.0),
                off_ohm: UNLIT_OHM,
                series_ohm: 33e3,
            },
            brightness_by: BrightnessBy::Ampere,
            dim_from: Band::between(0.1e-3, 0.3e-3),
            lit_from: Band::between(1e-3, 2e-3),
        },
    ))
}

/// Plug-in tester with glow lamps behind 100 kilohms, by peak.
pub fn plug_tester_glow_lamp() -> Instrument {
    Instrument::PlugTester(tester(
        "plug-in tester, glow lamp",
        NEMA_5,
        [HN, HG, NG],
        Indicator {
            law: IndicatorLaw::Peak {
                strike_peak_volt: Band::between(85.0, 95.0),
                maintain_peak_volt: 60.0,
                off_ohm: UNLIT_OHM,
                series_ohm: 100e3,
            },
            brightness_by: BrightnessBy::Ampere,
            dim_from: Band::between(0.02e-3, 0.05e-3),
            lit_from: Band::between(0.2e-3, 0.3e-3),
        },
    ))
}

/// The same lamps as devices that remember: once struck they hold at a lower voltage.
pub fn plug_tester_glow_lamp_with_memory() -> Instrument {
    let name = "plug-in tester, glow lamp with memory";
    Instrument::PlugTester(tester(
        name,
        NEMA_5,
        [HN, HG, NG],
        Indicator {
            law: IndicatorLaw::StrikeAndHold {
                strike_volt: Band::between(60.0, 67.0),
                hold_volt: 54.0,
                maintain_volt: 54.0,
                off_ohm: UNLIT_OHM,
                series_ohm: 100e3,
            },
            brightness_by: BrightnessBy::Ampere,
            dim_from: Band::between(0.02e-3, 0.05e-3),
            lit_from: Band::between(0.2e-3, 0.3e-3),
        },
    ))
}

/// Plug-in tester for receptacles of two legs and ground (240 V).
pub fn plug_tester_two_leg() -> Instrument {
    let spans = [("hot", "hot2"), ("hot", "ground"), ("hot2", "ground")];
    Instrument::PlugTester(tester(
        "plug-in tester, two legs",
        NEMA_6,
        spans,
        Indicator {
            law: IndicatorLaw::Resistance { resistance_ohm: 150e3 },
            brightness_by: BrightnessBy::Volt,
            dim_from: Band::between(30.0, 40.0),
            lit_from: Band::between(80.0, 90.0),
        },
    ))
}

/// Plug-in tester for 230 V socket-outlets.
pub fn plug_tester_230() -> Instrument {
    let mut tester = tester(
        "plug-in tester, 230 V",
        IEC,
        [HN, HG, NG],
        Indicator {
            law: IndicatorLaw::Resistance { resistance_ohm: 150e3 },
            brightness_by: BrightnessBy::Volt,
            dim_from: Band::between(60.0, 80.0),
            lit_from: Band::between(150.0, 170.0),
        },
    );
    tester.button = None;
    Instrument::PlugTester(tester)
}

/// Voltmeter of 10 megohms beside 100 picofarads.
pub fn voltmeter_high_impedance() -> Instrument {
    let burden = Burden::Parallel { resistance_ohm: 10e6, capacitance_farad: 100e-12 };
    voltmeter("high-impedance voltmeter", burden, None)
}

/// Voltmeter of 3 kilohms, which discharges what is held by capacitance alone.
pub fn voltmeter_low_impedance() -> Instrument {
    let burden = Burden::Parallel { resistance_ohm: 3e3, capacitance_farad: 0.0 };
    voltmeter("low-impedance voltmeter", burden, None)
}

/// The same with a resistance that heats itself to 100 kilohms in seconds.
pub fn voltmeter_low_impedance_rising() -> Instrument {
    let burden = Burden::Parallel { resistance_ohm: 3e3, capacitance_farad: 0.0 };
    let rise = BurdenRise { above_volt: 50.0, settled_ohm: 100e3, after_s: 5.0 };
    voltmeter("low-impedance voltmeter, rising", burden, Some(rise))
}

/// Needle of 5 kilohms per volt on its 250 V range.
pub fn voltmeter_needle() -> Instrument {
    Instrument::Voltmeter(Voltmeter {
        name: "needle voltmeter".to_owned(),
        burden: Burden::OhmPerVolt { ohm_per_volt: 5e3, range_volt: 250.0 },
        rise: None,
        display: Display::new(
            "V",
            &[(250.0, 1.0, Prefix::One)],
            Tolerance { percent_of_full_scale: 4.0, ..Tolerance::NONE },
        ),
    })
}

/// Voltmeter without burden, to see what is there with nothing attached.
pub fn voltmeter_ideal() -> Instrument {
    voltmeter("ideal voltmeter", Burden::Ideal, None)
}

/// Solenoid tester of about 10 kilohms, most of it coil.
pub fn solenoid_tester() -> Instrument {
    let step = |label: &str, low, high| Step {
        label: label.to_owned(),
        from_volt: Band::between(low, high),
    };
    Instrument::StepTester(StepTester {
        name: "solenoid tester".to_owned(),
        resistance_ohm: 8e3,
        inductance_henry: 13.0,
        steps: vec![
            step("vibrates", 70.0, 90.0),
            step("120 V mark", 100.0, 112.0),
            step("208 V mark", 180.0, 195.0),
            step("240 V mark", 215.0, 230.0),
        ],
    })
}

/// Two-pole detector with steps, 200 kilohms.
pub fn two_pole_detector() -> Instrument {
    let step = |label: &str, low, high| Step {
        label: label.to_owned(),
        from_volt: Band::between(low, high),
    };
    Instrument::StepTester(StepTester {
        name: "two-pole detector".to_owned(),
        resistance_ohm: 200e3,
        inductance_henry: 0.0,
        steps: vec![
            step("12 V lamp", 7.0, 12.0),
            step("50 V lamp", 40.0, 50.0),
            step("120 V lamp", 85.0, 102.0),
            step("230 V lamp", 160.0, 195.0),
            step("400 V lamp", 280.0, 340.0),
        ],
    })
}

/// Non-contact detector of ordinary sensitivity.
pub fn non_contact_detector() -> Instrument {
    non_contact("non-contact detector", Band::between(50.0, 90.0))
}

/// Non-contact detector of a sensitive type.
pub fn non_contact_detector_sensitive() -> Instrument {
    non_contact("non-contact detector, sensitive", Band::between(12.0, 24.0))
}

/// Clamp meter with steps of 0.1 A.
pub fn clamp_meter() -> Instrument {
    let tolerance = Tolerance { percent_of_reading: 2.0, counts: 5.0, ..Tolerance::NONE };
    Instrument::Clamp(Clamp {
        name: "clamp meter".to_owned(),
        display: Display::new("A", &[(600.0, 0.1, Prefix::One)], tolerance),
    })
}

/// Leakage clamp with steps of 10 microamperes.
pub fn leakage_clamp() -> Instrument {
    let tolerance = Tolerance { percent_of_reading: 1.0, counts: 5.0, ..Tolerance::NONE };
    let ranges = [(60e-3, 10e-6, Prefix::Milli), (60.0, 10e-3, Prefix::One)];
    Instrument::Clamp(Clamp {
        name: "leakage clamp".to_owned(),
        display: Display::new("A", &ranges, tolerance),
    })
}

/// Ohmmeter with 1 mA behind 3 V.
pub fn ohmmeter() -> Instrument {
    Instrument::Ohmmeter(plain_ohmmeter("ohmmeter", None))
}

/// The same with a tone.
pub fn continuity_tester() -> Instrument {
    let tone = Some(Band::between(20.0, 250.0));
    Instrument::Ohmmeter(plain_ohmmeter("continuity tester", tone))
}

/// Low-ohm continuity tester with 200 mA behind 5 V, leads subtracted.
pub fn low_ohmmeter() -> Instrument {
    Instrument::Ohmmeter(Ohmmeter {
        name: "low-ohmmeter".to_owned(),
        test_ampere: 0.2,
        open_circuit_volt: Some(5.0),
        lead_ohm: 0.0,
        over_range_ohm: 2000.0,
        tone_below_ohm: None,
        refuses_above_volt: 2.0,
        display: Display::new(
            "ohm",
            &[(20.0, 0.01, Prefix::One), (200.0, 0.1, Prefix::One), (2000.0, 1.0, Prefix::One)],
            Tolerance { percent_of_reading: 2.0, counts: 2.0, ..Tolerance::NONE },
        ),
    })
}

/// Insulation tester of 250 V.
pub fn insulation_tester_250v() -> Instrument {
    insulation("insulation tester, 250 V", 250.0)
}

/// Insulation tester of 500 V.
pub fn insulation_tester_500v() -> Instrument {
    insulation("insulation tester, 500 V", 500.0)
}

/// Insulation tester of 1000 V.
pub fn insulation_tester_1000v() -> Instrument {
    insulation("insulation tester, 1000 V", 1000.0)
}

/// Loaded test with 8 ohms: 15 A at 120 V.
pub fn loaded_test() -> Instrument {
    Instrument::LoadedTest(LoadedTest {
        name: "loaded test".to_owned(),
        load: Impedance::resistance(8.0),
    })
}

/// Sensor of a class A ground-fault device: must not trip below 4 mA, must from 6 mA.
pub fn residual_sensor_class_a() -> Instrument {
    Instrument::Residual(Residual {
        name: "residual sensor, 5 mA".to_owned(),
        trip_ampere: Band::between(4e-3, 6e-3),
    })
}

/// Sensor of a 30 mA residual-current device: must not trip at half of it, must at all of it.
pub fn residual_sensor_30ma() -> Instrument {
    Instrument::Residual(Residual {
        name: "residual sensor, 30 mA".to_owned(),
        trip_ampere: Band::between(15e-3, 30e-3),
    })
}

/// Test button of a class A ground-fault device.
pub fn own_test_button() -> Instrument {
    Instrument::TestButton(TestButton {
        name: "own test button".to_owned(),
        resistance_ohm: TEST_BUTTON_OHM,
        trip_ampere: Band::between(4e-3, 6e-3),
    })
}

/// A person, hand to hand, median impedance.
pub fn person_hand_to_hand() -> Instrument {
    Instrument::Person(Person {
        name: "person, hand to hand".to_owned(),
        body: BodyImpedance::iec_60479_1_dry_median(),
        extra_ohm: 0.0,
        heart_current_factor: 0.4,
    })
}

/// A person, left hand to feet, 5th percentile.
pub fn person_hand_to_feet_low() -> Instrument {
    Instrument::Person(Person {
        name: "person, hand to feet, 5th percentile".to_owned(),
        body: BodyImpedance::iec_60479_1_dry_low(),
        extra_ohm: 0.0,
        heart_current_factor: 1.0,
    })
}

impl Display {
    /// Volts, alternating, of a 6000-count meter: ±(1 % + 3 counts).
    pub fn volts_6000_counts() -> Self {
        let tolerance = Tolerance { percent_of_reading: 1.0, counts: 3.0, ..Tolerance::NONE };
        let ranges = [
            (6.0, 0.001, Prefix::One),
            (60.0, 0.01, Prefix::One),
            (600.0, 0.1, Prefix::One),
            (1000.0, 1.0, Prefix::One),
        ];
        Self::new("V", &ranges, tolerance)
    }
}

const HN: (&str, &str) = ("hot", "neutral");
const HG: (&str, &str) = ("hot", "ground");
const NG: (&str, &str) = ("neutral", "ground");

const NEMA_5: &[&str] = &["NEMA 5-15", "NEMA 5-20"];
const NEMA_6: &[&str] = &["NEMA 6-15", "NEMA 6-20"];
const IEC: &[&str] = &["BS 1363", "CEE 7/3", "CEE 7/5", "AS/NZS 3112 10 A", "IEC 60906-1"];

/// Test current of plug-in testers and of own test buttons: 8 mA at 120 V.
const TEST_BUTTON_OHM: f64 = 15e3;

/// Insulation of a lamp that is not lit.
const UNLIT_OHM: f64 = 1e9;

fn tester(name: &str, fits: &[&str], spans: [(&str, &str); 3], indicator: Indicator) -> PlugTester {
    let spanned = |(from, to): (&str, &str)| SpannedIndicator {
        between: (from.to_owned(), to.to_owned()),
        indicator,
    };
    PlugTester {
        name: name.to_owned(),
        fits: fits.iter().map(|&configuration| configuration.to_owned()).collect(),
        indicators: spans.map(spanned).to_vec(),
        button: Some(TripButton { resistance_ohm: TEST_BUTTON_OHM, pressed: false }),
    }
}

fn voltmeter(name: &str, burden: Burden, rise: Option<BurdenRise>) -> Instrument {
    let display = Display::volts_6000_counts();
    Instrument::Voltmeter(Voltmeter { name: name.to_owned(), burden, rise, display })
}

fn non_contact(name: &str, threshold_volt: Band) -> Instrument {
    let name = name.to_owned();
    Instrument::NonContact(NonContact { name, threshold_volt, body_farad: 3e-12 })
}

fn plain_ohmmeter(name: &str, tone_below_ohm: Option<Band>) -> Ohmmeter {
    Ohmmeter {
        name: name.to_owned(),
        test_ampere: 1e-3,
        open_circuit_volt: Some(3.0),
        lead_ohm: 0.2,
        over_range_ohm: 40e6,
        tone_below_ohm,
        refuses_above_volt: 2.0,
        display: Display::new(
            "ohm",
            &[
                (600.0, 0.1, Prefix::One),
                (6e3, 1.0, Prefix::Kilo),
                (60e3, 10.0, Prefix::Kilo),
                (600e3, 100.0, Prefix::Kilo),
                (6e6, 1e3, Prefix::Mega),
                (40e6, 10e3, Prefix::Mega),
            ],
            Tolerance { percent_of_reading: 1.0, counts: 2.0, ..Tolerance::NONE },
        ),
    }
}

fn insulation(name: &str, test_volt: f64) -> Instrument {
    Instrument::Insulation(InsulationTester {
        name: name.to_owned(),
        test_volt,
        limit_ampere: 1e-3,
        passes_from_ohm: 1e6,
        display: Display::new(
            "ohm",
            &[
                (2e6, 1e3, Prefix::Mega),
                (20e6, 10e3, Prefix::Mega),
                (200e6, 100e3, Prefix::Mega),
                (2e9, 1e6, Prefix::Giga),
            ],
            Tolerance { percent_of_reading: 5.0, counts: 3.0, ..Tolerance::NONE },
        ),
    })
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    /// A band ends on a step of the display, written with so many digits.
    const STEPS: f64 = 1e-9;

    fn display(preset: &str) -> Display {
        match named(preset) {
            Some(Instrument::Voltmeter(meter)) => meter.display,
            Some(Instrument::Clamp(clamp)) => clamp.display,
            Some(Instrument::Ohmmeter(meter)) => meter.display,
            Some(Instrument::Insulation(tester)) => tester.display,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn displays_are_off_by_the_shares_and_the_steps_that_the_table_of_presets_has() {
        // What is measured, and the most it may be off: percent of it, and steps or full scale.
        for (preset, value, off) in [
            ("voltmeter", 120.0, 1.2 + 3.0 * 0.1),
            ("voltmeter-needle", 100.0, 0.04 * 250.0),
            ("clamp", 10.0, 0.2 + 5.0 * 0.1),
            ("leakage-clamp", 20e-3, 0.2e-3 + 5.0 * 10e-6),
            ("ohmmeter", 100.0, 1.0 + 2.0 * 0.1),
            ("low-ohmmeter", 10.0, 0.2 + 2.0 * 0.01),
            ("insulation-500", 1e6, 50e3 + 3.0 * 1e3),
        ] {
            let shown = display(preset).show(value);
            assert_relative_eq!(shown.low, value - off, max_relative = STEPS);
            assert_relative_eq!(shown.high, value + off, max_relative = STEPS);
        }
    }
}
