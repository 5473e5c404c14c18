//! What electricians read off, found and put right, in the order and with the words in which they say it;
//! and what is near to it and is still asked.

use std::sync::LazyLock;

use slotwise::circuit::Circuit;
use slotwise::diagnosis::words;

use super::page::tools;
use super::told::heard_of;

/// A house with two hots, push-in terminals, two devices that look for a ground fault.
const MILL: &str = r#"(
    format: 1,
    name: "Mill",
    circuits: [
        (id: "lofts", amperes: 15, leg: "L1"),
        (id: "wash", amperes: 20, leg: "L2"),
        (id: "scullery", amperes: 20, leg: "L1"),
        (id: "oast", amperes: 30, legs: ["L1", "L2"]),
    ],
    boxes: [
        (id: "gable", from: "lofts", feet: 30),
        (id: "eaves", from: "gable", feet: 9, feed_through: ["hot", "neutral"], terminals: PushIn),
        (id: "hatch", from: "eaves", feet: 9),
        (id: "hatch_switch", from: "hatch", feet: 9, device: Switch(closed: true)),
        (
            id: "beam", from: "hatch_switch", feet: 9, carries: ["switched", "neutral", "ground"],
            devices: [],
        ),
        (id: "basin", from: "wash", feet: 25, device: GroundFault(feeds: true)),
        (id: "yard", from: "basin", feet: 25),
        (id: "counter", from: "scullery", feet: 25, device: GroundFault(feeds: true)),
        (id: "kiln", from: "oast", feet: 40, device: Receptacle(configuration: "NEMA 14-30")),
    ],
    loads: [
        (id: "lamp", at: "gable", kind: Filament(watts: 60)),
        (id: "heater", at: "hatch", kind: Resistive(watts: 1500), on: false),
        (id: "garland-lights", at: "yard", kind: Led(watts: 20)),
        (id: "cooler", at: "yard", kind: Motor(watts: 150)),
        (id: "pendant", at: "beam", wired: true, across: ("switched", "neutral"), kind: Led(watts: 15)),
    ],
)"#;

/// The same of a country with lines and earths, where breakers look for earth faults.
const OUST: &str = r#"(
    format: 1,
    name: "Oust",
    supply: (system: Single230, earthing: TnCS),
    defaults: (configuration: "BS 1363", cable: (mm2: 2.5, ground_mm2: 1.5)),
    circuits: [
        (id: "rooms", amperes: 32, curve: B, ground_fault_milliamperes: 30),
        (id: "barn", amperes: 20, curve: B, ground_fault_milliamperes: 30),
    ],
    boxes: [
        (id: "parlour", from: "rooms", metres: 9),
        (id: "study", from: "parlour", metres: 6),
        (id: "stall", from: "barn", metres: 20),
    ],
    loads: [
        (id: "kettle", at: "parlour", kind: Resistive(watts: 2800), on: false),
        (id: "pump", at: "stall", kind: Motor(watts: 80)),
    ],
)"#;

fn read(text: &str) -> Circuit {
    slotwise::circuit::file::read(text).unwrap().circuit
}

fn mill() -> &'static Circuit {
    static MILL_CIRCUIT: LazyLock<Circuit> = LazyLock::new(|| read(MILL));
    &MILL_CIRCUIT
}

fn oust() -> &'static Circuit {
    static OUST_CIRCUIT: LazyLock<Circuit> = LazyLock::new(|| read(OUST));
    &OUST_CIRCUIT
}

#[track_caller]
fn all_heard(circuit: &Circuit, said: &[(&str, &str)]) {
    for (text, meant) in said {
        assert_eq!(heard_of(circuit, text, true), *meant, "{text}");
    }
}

/// Each is asked, with words that the answer has.
#[track_caller]
fn all_asked(circuit: &Circuit, said: &[(&str, &str)]) {
    for (text, message) in said {
        let problems = words::told(circuit, &tools(), text, (true, false))
            .err()
            .unwrap_or_else(|| panic!("heard: {text}: {}", heard_of(circuit, text, true)));
        assert!(problems[0].message.contains(message), "{text}: {}", problems[0].render(text));
    }
}

#[test]
fn several_figures_at_one_place_are_read_in_whichever_order() {
    all_heard(
        mill(),
        &[
            (
                "118.5 V H-N, 117 V H-G and 0 V N-G at gable",
                "saw voltmeter at gable: hot-neutral 118.5 V; saw voltmeter at gable: hot-ground 117 V; saw voltmeter at gable: neutral-ground 0 V",
            ),
            (
                "gable: H-N 120, H-G 120, N-G 0",
                "saw voltmeter at gable: hot-neutral 120 V; saw voltmeter at gable: hot-ground 120 V; saw voltmeter at gable: neutral-ground 0 V",
            ),
            (
                "at the hatch I get 0 V H-N and 120 V H-G",
                "saw voltmeter at hatch: hot-neutral 0 V; saw voltmeter at hatch: hot-ground 120 V",
            ),
            ("N-G = 0.2V at gable", "saw voltmeter at gable: neutral-ground 0.2 V"),
            (
                "120VAC hot to neutral at the gable, 0 at the hatch",
                "saw voltmeter at gable: hot-neutral 120 V; saw voltmeter at hatch: hot-neutral 0 V",
            ),
            (
                "118 V hot to neutral at gable but only 60 V at hatch with heater on",
                "saw voltmeter at gable: hot-neutral 118 V with heater on; saw voltmeter at hatch: hot-neutral 60 V with heater on",
            ),
            (
                "kiln: 240 V hot to hot, 120 V leg 1 to neutral",
                "saw voltmeter at kiln: hot-hot2 240 V; saw voltmeter at kiln: hot-neutral 120 V",
            ),
            (
                "neutral-ground voltage at the hatch is 4 volts when the heater is on",
                "saw voltmeter at hatch: neutral-ground 4 V with heater on",
            ),
            (
                "meter between gable neutral and the hatch neutral reads 3 V",
                "saw voltmeter between gable.neutral and hatch.neutral: 3 V",
            ),
            (
                "continuity between neutral at gable and neutral at hatch: none",
                "saw continuity between gable.neutral and hatch.neutral: no tone",
            ),
            (
                "voltmeter at gable: hot-neutral > 100 V",
                "saw voltmeter at gable: hot-neutral over 100 V",
            ),
        ],
    );
    all_heard(
        oust(),
        &[(
            "L-E 230V, N-E 0V, L-N 230V at study",
            "saw voltmeter at study: line-earth 230 V; saw voltmeter at study: neutral-earth 0 V; saw voltmeter at study: line-neutral 230 V",
        )],
    );
    all_asked(
        mill(),
        &[
            ("60 V at the hatch", "with its instrument"),
            ("voltage at hatch drops from 121 to 104", "with its instrument"),
            ("3 amps on the ground wire at the panel", "with its instrument"),
            ("Zs at hatch 1.2 ohm", "of a whole loop or ring"),
        ],
    );
}

#[test]
fn how_things_stood_may_be_said_before_the_figure_and_the_breaker_needs_no_name() {
    all_heard(
        mill(),
        &[
            (
                "resistance hot to neutral at hatch 0.3 ohm, breaker off",
                "saw ohmmeter at hatch: hot-neutral 0.3 ohm with breaker lofts off",
            ),
            (
                "power off and heater unplugged: hot to ground at hatch OL",
                "saw ohmmeter at hatch: hot-ground OL with breaker lofts off, heater unplugged",
            ),
            (
                "with the lofts breaker off I measure 0.2 ohms hot to ground at the gable",
                "saw ohmmeter at gable: hot-ground 0.2 ohm with breaker lofts off",
            ),
            (
                "meter at hatch, heater off: hot to neutral 121.3 V",
                "saw voltmeter at hatch: hot-neutral 121.3 V with heater off",
            ),
            (
                "ohms H-G at eaves: 12 k with power off",
                "saw ohmmeter at eaves: hot-ground 12 kohm with breaker lofts off",
            ),
        ],
    );
    all_asked(mill(), &[("breaker off", "no breaker is called")]);
}

#[test]
fn ohms_of_a_whole_circuit_are_those_of_its_wires_in_the_panel() {
    all_heard(
        mill(),
        &[
            (
                "insulation test lofts hot to ground: 0.2 MΩ",
                "saw insulation-500 between lofts-gable.a.hot and lofts-gable.a.ground: 200 kohm with breaker lofts off",
            ),
            (
                "ohmmeter at the wash breaker: hot-neutral OL",
                "saw ohmmeter between wash-basin.a.hot and wash-basin.a.neutral: OL with breaker wash off",
            ),
            (
                "insulation test lofts: neutral-ground over 100 MΩ with neutral disconnected at lofts, bar",
                "saw insulation-500 between lofts-gable.a.neutral and lofts-gable.a.ground: over 100 Mohm with neutral open at lofts, bar, breaker lofts off",
            ),
            (
                "clamp on lofts hot at the panel reads 2.1 A",
                "saw clamp on hot of cable lofts-gable: 2.1 A",
            ),
            (
                "clamp around hot and neutral of the wash circuit shows 0.03 A",
                "saw clamp on hot and neutral of cable wash-basin: 30 mA",
            ),
        ],
    );
    all_heard(
        oust(),
        &[(
            "IR of the barn circuit, live to earth: 0.3 MΩ",
            "saw insulation-500 between barn-stall.a.hot and barn-stall.a.ground: 300 kohm with breaker barn off",
        )],
    );
    all_asked(
        mill(),
        &[
            ("insulation test lofts: neutral-ground over 100 MΩ", "joined in the panel"),
            ("118 V hot to neutral at lofts", "no receptacle at"),
        ],
    );
}

#[test]
fn buttons_pens_and_loaded_tests_are_heard_as_electricians_say_them() {
    all_heard(
        mill(),
        &[
            ("test button on basin GFCI trips it", "saw test-button at basin: trips"),
            (
                "pressed test on the counter gfci, nothing happens",
                "saw test-button at counter: does not trip",
            ),
            (
                "no beep from the non contact at the hatch",
                "saw non-contact at hatch: hot silent; saw non-contact at hatch: neutral silent; saw non-contact at hatch: ground silent",
            ),
            (
                "non-contact voltage tester beeps at the hatch hot but not the neutral",
                "saw non-contact at hatch: hot beeps; saw non-contact at hatch: neutral silent",
            ),
            (
                "non-contact tester lights up on both slots at hatch",
                "saw non-contact at hatch: hot beeps; saw non-contact at hatch: neutral beeps",
            ),
            (
                "voltage pen picks up nothing at eaves",
                "saw non-contact at eaves: hot silent; saw non-contact at eaves: neutral silent; saw non-contact at eaves: ground silent",
            ),
            (
                "ncvt silent everywhere at hatch",
                "saw non-contact at hatch: hot silent; saw non-contact at hatch: neutral silent; saw non-contact at hatch: ground silent",
            ),
            (
                "loaded test at hatch: 12% voltage drop at 15 A",
                "saw loaded-test at hatch: lost about 14.4 V",
            ),
            (
                "voltage drop 9.5 % at eaves under 15 amp load",
                "saw loaded-test at eaves: lost about 11.4 V",
            ),
            (
                "loaded the hatch outlet and the voltage dropped from 120 to 98",
                "saw loaded-test at hatch: lost 22 V",
            ),
            ("lofts breaker is on, not tripped", "saw breaker lofts holds"),
        ],
    );
    all_asked(
        mill(),
        &[
            ("loaded test at hatch: 12% voltage drop at 20 A", "is not a figure"),
            ("three light tester says open neutral at eaves", "what a label makes"),
        ],
    );
    all_asked(oust(), &[("RCD test button on rooms does not trip it", "the button of a breaker")]);
}

#[test]
fn a_colour_is_the_conductor_that_it_is_by_custom_where_no_other_can_be_meant() {
    all_heard(
        mill(),
        &[
            (
                "opened yard: white wire has come out",
                "saw opened yard: neutral open at yard, line side",
            ),
            ("opened kiln: red wire burnt", "saw opened kiln: hot2 loose at kiln, line side"),
            (
                "opened yard: bare wire not connected to anything",
                "saw opened yard: ground open at yard, line side",
            ),
            (
                "opened hatch: wire on the silver screw loose",
                "saw opened hatch: neutral loose at hatch, screw",
            ),
            (
                "opened hatch: black wire is on the silver screw",
                "saw opened hatch: hot and neutral exchanged at hatch",
            ),
            (
                "opened hatch: hot and neutral on the wrong screws",
                "saw opened hatch: hot and neutral exchanged at hatch",
            ),
            (
                "yard outlet pulled, found the white wire loose",
                "saw opened yard: neutral loose at yard, line side",
            ),
        ],
    );
    all_heard(
        oust(),
        &[
            (
                "opened stall: blue core broken",
                "saw opened stall: neutral open at stall, supply side",
            ),
            (
                "opened stall: green and yellow wire not connected",
                "saw opened stall: earth open at stall, supply side",
            ),
            (
                "opened stall: brown wire came out",
                "saw opened stall: line open at stall, supply side",
            ),
        ],
    );
    all_asked(
        mill(),
        &[
            ("opened hatch_switch: black wire loose", "a colour does not say"),
            ("opened yard: brown wire loose", "a colour does not say"),
        ],
    );
    all_asked(oust(), &[("opened stall: black wire loose", "a colour does not say")]);
}

#[test]
fn what_was_put_right_or_tested_by_itself_is_heard_with_what_is_so_since() {
    all_heard(
        mill(),
        &[
            (
                "opened panel: main bond missing; mended panel",
                "saw opened panel: main bond open; saw mended panel",
            ),
            ("heater tested good", "saw heater runs elsewhere"),
            ("the cooler tested bad", "saw cooler dead elsewhere"),
            ("put a new breaker in for lofts", "saw mended panel"),
            (
                "remade all connections at eaves, hatch works now",
                "saw mended eaves; saw since then hatch works",
            ),
            (
                "fitted a new outlet in the hatch and it works",
                "saw mended hatch; saw since then hatch works",
            ),
            (
                "tightened everything in the panel, lights still flicker",
                "saw mended panel; saw since then lights flicker",
            ),
            (
                "cooler works on an extension cord from the gable outlet",
                "saw cooler runs elsewhere",
            ),
            ("after the repair everything works", "saw since then everything else works"),
        ],
    );
    all_asked(
        mill(),
        &[
            ("mended eaves, still dead", "what is so since?"),
            ("reconnected the white wire at eaves", "of which joint?"),
            ("replaced the GFCI", "which one?"),
        ],
    );
}

#[test]
fn outlets_and_lights_are_those_of_what_is_called_nearly_so() {
    for (text, meant) in [
        ("all the loft outlets are dead", "everything on lofts dead"),
        ("only the eaves outlet is dead", "eaves dead; everything else works"),
        ("yard lights don't come on any more", "garland-lights does not run"),
        ("all outlets except hatch work", "everything else works; hatch dead"),
        (
            "everything on lofts works except the hatch",
            "gable and eaves and hatch_switch and beam work; hatch dead",
        ),
        ("cooler keeps tripping the GFCI", "basin trips when cooler runs"),
        ("the cooler is off and the GFCI won't reset", "cooler does not run; basin does not reset"),
        ("eaves outlet makes a crackling sound", "eaves warm"),
    ] {
        assert_eq!(heard_of(mill(), text, false), meant, "{text}");
    }
    assert_eq!(
        heard_of(oust(), "the RCD trips as soon as I switch the kettle on", false),
        "breaker rooms trips when kettle runs"
    );
    all_asked(mill(), &[("GFCI keeps tripping", "which")]);
}
