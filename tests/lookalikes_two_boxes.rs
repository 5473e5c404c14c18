//! The catalogue's look-alikes are complete on a run of two boxes, whatever is held there: every
//! single fault in every load state, put on one by one, with the instrument drawn by hand into the
//! netlist as the elements it is and its thresholds applied here.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::collections::{BTreeMap, BTreeSet};

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::{catalogue, load_settings};
use slotwise::instrument::{Display, presets};
use slotwise::lookalike::{Bounds, Depth, pattern_table};
use slotwise::netlist::{ElementId, Law, Netlist, Role, wire};
use slotwise::solution::{Solution, solve};

/// A potting shed: two boxes in a row and one heater at the far one.
const SHED: &str = r#"(
    format: 1,
    name: "Potting shed",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "shelf", from: "door", feet: 12),
    ],
    loads: [(id: "heater", at: "shelf", kind: Resistive(watts: 1200), metal_case: true)],
)"#;

const SPANS: [(&str, &str); 3] = [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")];

/// A 20 A breaker acts at once beyond doubt from 15 times its rating; below 6.7 times it takes more
/// than ten seconds (50 s at 3 times, I²t constant).
const TRIPS_AMPERE: f64 = 300.0;
const HOLDS_AMPERE: f64 = 134.0;

/// A fault and a load state.
type Case = (Vec<usize>, usize);

#[test]
fn a_resistive_tester_has_every_look_alike_of_two_boxes() {
    complete(&presets::plug_tester_resistive(), "door", Depth::Single, resistive_tester);
}

/// `cargo test --test lookalikes_two_boxes -- --ignored`: 43 s.
#[test]
#[ignore = "every pair, each solved by itself: most of a minute"]
fn a_resistive_tester_has_every_pair_of_faults_that_looks_alike_on_two_boxes() {
    complete(&presets::plug_tester_resistive(), "door", Depth::Double, resistive_tester);
}

fn resistive_tester(netlist: &Netlist) -> String {
    let law = Law::resistance(68e3);
    let (solution, lamps) = with_each(netlist, "door", law);
    let word =
        |lamp: ElementId| brightness(solution.voltage(lamp).magnitude(), [30.0, 40.0, 80.0, 90.0]);
    spans(lamps.map(|lamp| word(lamp).to_owned()))
}

#[test]
fn lamps_with_a_threshold_have_every_look_alike_of_two_boxes() {
    complete(&presets::plug_tester_solid_state(), "shelf", Depth::Single, |netlist| {
        let law = Law::ThresholdLamp { threshold_volt: 2.0, off_ohm: 1e9, series_ohm: 33e3 };
        let (solution, lamps) = with_each(netlist, "shelf", law);
        let word = |lamp: ElementId| {
            brightness(solution.current(lamp).magnitude(), [0.1e-3, 0.3e-3, 1e-3, 2e-3])
        };
        spans(lamps.map(|lamp| word(lamp).to_owned()))
    });
}

#[test]
fn gas_lamps_that_remember_have_every_look_alike_of_two_boxes() {
    complete(&presets::plug_tester_glow_lamp_with_memory(), "door", Depth::Single, |netlist| {
        // Strike as late and as soon as the band says, and every state that holds itself.
        let mut seen: [Vec<f64>; 3] = Default::default();
        for strike_volt in [67.0, 60.0] {
            let law = Law::StrikeLamp {
                strike_volt,
                hold_volt: 54.0,
                maintain_volt: 54.0,
                off_ohm: 1e9,
                series_ohm: 100e3,
            };
            let (solution, lamps) = with_each(netlist, "door", law);
            for (lamp, seen) in lamps.iter().zip(&mut seen) {
                for state in solution.states() {
                    let device = state.devices.iter().find(|device| device.element == *lamp);
                    seen.push(device.unwrap().current_ampere.magnitude());
                }
            }
        }
        spans(seen.map(|amperes| {
            let steps = [0.02e-3, 0.05e-3, 0.2e-3, 0.3e-3];
            let (least, most) = (
                amperes.iter().copied().fold(f64::INFINITY, f64::min),
                amperes.iter().copied().fold(0.0, f64::max),
            );
            between(rank(least, steps).0, rank(most, steps).1).to_owned()
        }))
    });
}

#[test]
fn a_high_impedance_meter_has_every_look_alike_of_two_boxes() {
    complete(&presets::voltmeter_high_impedance(), "shelf", Depth::Single, |netlist| {
        let words = SPANS.map(|(p, q)| {
            let mut netlist = netlist.clone();
            let ends = [p, q].map(|slot| node(&netlist, "shelf", slot));
            let meter = netlist
                .add("meter", ends[0], ends[1], Role::Instrument, Law::resistance(10e6))
                .unwrap();
            let law = Law::Capacitor { capacitance_farad: 100e-12 };
            netlist.add("input", ends[0], ends[1], Role::Instrument, law).unwrap();
            let volt = solve(&netlist).unwrap().voltage(meter).magnitude();
            match Display::volts_6000_counts().show(volt).value.unwrap() {
                shown if shown < 1.0 => "0 V".to_owned(),
                shown if shown < 5.0 => "1 to 5 V".to_owned(),
                shown => format!("about {} V", (shown / 10.0).round() * 10.0),
            }
        });
        spans(words)
    });
}

#[test]
fn a_non_contact_detector_has_every_look_alike_of_two_boxes() {
    complete(&presets::non_contact_detector(), "door", Depth::Single, |netlist| {
        let solution = solve(netlist).unwrap();
        let word = |slot: &str| {
            let word = match solution.potential(node(netlist, "door", slot)) {
                None => "undetermined",
                Some(v) if v.magnitude() >= 90.0 => "alarm",
                Some(v) if v.magnitude() >= 50.0 => "may alarm",
                Some(_) => "no alarm",
            };
            format!("{slot} {word}")
        };
        ["hot", "neutral", "ground"].map(word).join(", ")
    });
}

/// Holds the table of all patterns of single faults to what `shown` says of each netlist.
fn complete(
    instrument: &slotwise::instrument::Instrument,
    at: &str,
    depth: Depth,
    shown: impl Fn(&Netlist) -> String,
) {
    let shed = slotwise::circuit::file::read(SHED).unwrap().circuit;
    let everything = catalogue(&shed);
    let settings = load_settings(&shed, &BTreeMap::new());
    assert!(everything.faults().len() > 100 && settings.len() >= 2);
    let mut expected: BTreeMap<String, BTreeSet<Case>> = BTreeMap::new();
    for (number, loads) in settings.iter().enumerate() {
        let sound = Condition { loads: loads.loads.clone(), ..Condition::default() };
        let mut ask = |faults: Vec<usize>, condition: Condition| {
            let netlist = after_trips(&shed, condition);
            expected.entry(shown(&netlist)).or_default().insert((faults, number));
        };
        ask(vec![], sound.clone());
        for (fault, possible) in everything.faults().iter().enumerate() {
            let mut condition = sound.clone();
            possible.apply(&mut condition);
            if depth == Depth::Double {
                for (other, also) in everything.faults().iter().enumerate().skip(fault + 1) {
                    if !possible.excludes(also) {
                        let mut both = condition.clone();
                        also.apply(&mut both);
                        ask(vec![fault, other], both);
                    }
                }
            }
            ask(vec![fault], condition);
        }
    }

    let bounds = Bounds {
        groups_shown: usize::MAX,
        members_shown: usize::MAX,
        groups_examined: usize::MAX,
        singles_examined: 0,
        doubles_examined: 0,
        networks_asked: usize::MAX,
    };
    let asked = (instrument, at);
    let table = pattern_table(&shed, &Condition::default(), asked, depth, &bounds).unwrap();
    let mut found: BTreeMap<String, BTreeSet<Case>> = BTreeMap::new();
    for row in &table.rows {
        let cases = found.entry(row.pattern.clone()).or_default();
        cases.extend(row.sound.iter().map(|&setting| (vec![], setting)));
        for member in
            row.singles.groups.iter().chain(&row.doubles.groups).flat_map(|group| &group.members)
        {
            let settings = member.load_settings.iter();
            cases.extend(settings.map(|&setting| (member.catalogue.clone(), setting)));
        }
    }
    for (pattern, cases) in &expected {
        let none = BTreeSet::new();
        let has = found.get(pattern).unwrap_or(&none);
        let says = |(faults, setting): &Case| {
            let faults = faults.iter().map(|&fault| everything.faults()[fault].sentence(&shed));
            format!("{} ({})", faults.collect::<Vec<_>>().join("; "), settings[*setting].name)
        };
        let missing: Vec<String> = cases.difference(has).take(5).map(says).collect();
        let extra: Vec<String> = has.difference(cases).take(5).map(says).collect();
        assert!(missing.is_empty() && extra.is_empty(), "{pattern}: {missing:?}, {extra:?}");
    }
    assert_eq!(found.len(), expected.len());
    assert!(found.len() > 3, "an instrument that shows always the same tests nothing");
}

/// The netlist of a condition once its dead shorts have tripped the breaker.
fn after_trips(shed: &Circuit, mut condition: Condition) -> Netlist {
    let netlist = wire(shed, &condition).unwrap();
    let pole = netlist.find_element("breaker:c1").unwrap();
    let ampere = solve(&netlist).unwrap().current(pole).magnitude();
    assert!(!(HOLDS_AMPERE..TRIPS_AMPERE).contains(&ampere), "{ampere} A may do either");
    if ampere < TRIPS_AMPERE {
        return netlist;
    }
    condition.breakers.insert("c1".into(), false);
    wire(shed, &condition).unwrap()
}

fn node(netlist: &Netlist, at: &str, slot: &str) -> slotwise::netlist::NodeId {
    netlist.find_node(&format!("{at}.{slot}").as_str().into()).unwrap()
}

/// Three elements of one law between the slots of a receptacle, all at once.
fn with_each(netlist: &Netlist, at: &str, law: Law) -> (Solution, [ElementId; 3]) {
    let mut netlist = netlist.clone();
    let lamps = SPANS.map(|(p, q)| {
        let (a, b) = (node(&netlist, at, p), node(&netlist, at, q));
        netlist.add(format!("{p}-{q}"), a, b, Role::Instrument, law).unwrap()
    });
    (solve(&netlist).unwrap(), lamps)
}

fn spans(words: [String; 3]) -> String {
    let each = SPANS.iter().zip(words).map(|((p, q), word)| format!("{p}-{q} {word}"));
    each.collect::<Vec<_>>().join(", ")
}

/// How bright at least and at most: 0 dark, 1 dim, 2 lit; steps are the two bands.
fn rank(value: f64, [dim_low, dim_high, lit_low, lit_high]: [f64; 4]) -> (u8, u8) {
    let of = |dim: f64, lit: f64| u8::from(value >= dim) + u8::from(value >= lit);
    (of(dim_high, lit_high), of(dim_low, lit_low))
}

fn between(least: u8, most: u8) -> &'static str {
    match (least, most) {
        (0, 0) => "dark",
        (1, 1) => "dim",
        (2, 2) => "lit",
        (1, 2) => "dim or lit",
        _ => "may light",
    }
}

fn brightness(value: f64, steps: [f64; 4]) -> &'static str {
    let (least, most) = rank(value, steps);
    between(least, most)
}
