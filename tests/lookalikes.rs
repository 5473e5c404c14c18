//! Look-alikes, asked of circuits a practitioner would recognise.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::collections::{BTreeMap, BTreeSet};

use slotwise::circuit::Circuit;
use slotwise::condition::catalogue::{FaultKind, catalogue, load_settings};
use slotwise::condition::{AttachedLaw, Attachment, Condition};
use slotwise::hazard::Severity;
use slotwise::instrument::presets;
use slotwise::lookalike::{
    Bounds, Depth, LookAlikeProblem, LookAlikes, Question, lookalikes, pattern_table, shows, silent,
};
use slotwise::netlist::wire;
use slotwise::solution::solve;

/// A potting shed: two boxes in a row and one heater.
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

/// A bus shelter: one box without a ground, one lamp.
const SHELTER: &str = r#"(
    format: 1,
    name: "Bus shelter",
    circuits: [(id: "c1", amperes: 15, carries: ["hot", "neutral"])],
    boxes: [(id: "bench", from: "c1", feet: 20)],
    loads: [(id: "lamp", at: "bench", kind: Resistive(watts: 100))],
)"#;

fn circuit(text: &str) -> Circuit {
    slotwise::circuit::file::read(text).unwrap().circuit
}

fn alike(circuit: &Circuit, at: &str, pattern: &str, depth: Depth) -> LookAlikes {
    let question = Question {
        showing: shows(pattern).unwrap(),
        depth,
        bounds: Bounds { groups_shown: 1000, members_shown: 1000, ..Bounds::default() },
        ..Question::new(presets::plug_tester_resistive(), at)
    };
    lookalikes(circuit, &Condition::default(), &question).unwrap()
}

fn singles(alike: &LookAlikes) -> Vec<String> {
    let members = alike.singles.groups.iter().flat_map(|group| &group.members);
    members.map(|member| member.faults.join("; ")).collect()
}

const SOUND: &str = "hot-neutral lit, hot-ground lit, neutral-ground dark";

#[test]
fn an_open_neutral_with_a_load_beyond_looks_like_hot_and_ground_exchanged() {
    let alike = alike(
        &circuit(SHED),
        "door",
        "hot-neutral dark, hot-ground lit, neutral-ground lit",
        Depth::Single,
    );
    let faults = singles(&alike);
    for expected in ["neutral open at door, line side", "ground and hot exchanged at door"] {
        assert!(faults.iter().any(|fault| fault == expected), "{expected}: {faults:?}");
    }
    // It takes the heater to hold the neutral up.
    let open = alike.singles.groups.iter().flat_map(|group| &group.members);
    let mut open = open.filter(|member| member.faults == ["neutral open at door, line side"]);
    let settings: Vec<&str> = open
        .next()
        .unwrap()
        .load_settings
        .iter()
        .map(|&at| alike.load_settings[at].name.as_str())
        .collect();
    assert_eq!(settings, ["loads as described"]);
    assert!(alike.sound.is_empty());
}

#[test]
fn the_dangerous_look_alikes_come_first_and_then_the_likely() {
    let alike = alike(&circuit(SHED), "shelf", SOUND, Depth::Single);
    let grave: Vec<bool> = alike
        .singles
        .groups
        .iter()
        .map(|group| group.dangers.iter().any(|danger| danger.severity == Severity::Danger))
        .collect();
    assert!(grave[0] && grave.is_sorted_by(|a, b| a >= b), "{grave:?}");
    let odds: Vec<f64> = alike.singles.groups.iter().map(|group| group.odds).collect();
    let first_harmless = grave.iter().position(|grave| !grave).unwrap();
    assert!(odds[..first_harmless].is_sorted_by(|a, b| a >= b));
    assert!(odds[first_harmless..].is_sorted_by(|a, b| a >= b));
}

#[test]
fn no_fault_is_blamed_for_what_the_circuit_carries_by_itself() {
    let kettle = r#"(id: "kettle", at: "door", kind: Resistive(watts: 1500), on: false)"#;
    let shed = SHED.replace("loads: [", &format!("loads: [{kettle}, "));
    let alike = alike(&circuit(&shed), "shelf", SOUND, Depth::Single);
    let overload = |code: &str| code == "overload";
    let [own] = alike.own_dangers.as_slice() else { panic!("{:?}", alike.own_dangers) };
    let states: Vec<&str> =
        own.load_settings.iter().map(|&at| alike.load_settings[at].name.as_str()).collect();
    assert_eq!((own.danger.code, states), ("overload", vec!["all loads on"]));
    assert!(!silent(&alike).iter().any(|silent| overload(silent.danger.code)));
    // What a fault adds is still its own.
    assert!(silent(&alike).iter().any(|silent| silent.danger.code == "energised_neutral"));
}

#[test]
fn an_overload_that_a_fault_makes_is_its_own() {
    let hob = r#"(id: "hob", at: "door", kind: Resistive(watts: 1100))"#;
    let shed = SHED.replace("loads: [", &format!("loads: [{hob}, "));
    let alike = alike(&circuit(&shed), "shelf", SOUND, Depth::Single);
    assert!(alike.own_dangers.is_empty(), "19.2 A on 20 A: {:?}", alike.own_dangers);
    let high = silent(&alike).into_iter().find(|silent| silent.danger.code == "overload");
    assert_eq!(high.unwrap().for_example, ["winding L1 at 132 V; winding L2 at 132 V"]);
}

#[test]
fn a_tester_is_silent_about_a_bootleg_ground_and_about_its_reversal() {
    let alike = alike(&circuit(SHELTER), "bench", SOUND, Depth::Double);
    let of_kind = |wanted: &[FaultKind]| {
        alike.doubles.groups.iter().chain(&alike.singles.groups).any(|group| {
            let kinds: Vec<FaultKind> = group.wrong.iter().map(|wrong| wrong.kind).collect();
            kinds == wanted
        })
    };
    assert!(of_kind(&[FaultKind::Bridged]));
    // Hot and neutral exchanged with neutral and ground bridged at the device.
    assert!(of_kind(&[FaultKind::ExchangedAtDevice, FaultKind::Bridged]));
    let dangers = silent(&alike);
    let grave = dangers.iter().find(|silent| silent.danger.code == "energised_ground").unwrap();
    assert_eq!(grave.danger.severity, Severity::Danger);
}

#[test]
fn a_dead_short_has_tripped_before_the_tester_is_there() {
    let alike = alike(
        &circuit(SHED),
        "door",
        "hot-neutral dark, hot-ground dark, neutral-ground dark",
        Depth::Single,
    );
    let short = alike
        .singles
        .groups
        .iter()
        .flat_map(|group| &group.members)
        .find(|member| member.faults == ["hot and neutral bridged at shelf"])
        .unwrap();
    assert_eq!(short.trips, ["c1"]);
}

#[test]
fn what_is_left_out_is_counted() {
    let shed = circuit(SHED);
    let mut question = Question {
        showing: shows(SOUND).unwrap(),
        depth: Depth::Single,
        ..Question::new(presets::plug_tester_resistive(), "shelf")
    };
    question.bounds = Bounds { groups_shown: 1000, members_shown: 1000, ..Bounds::default() };
    let all = lookalikes(&shed, &Condition::default(), &question).unwrap();
    question.bounds = Bounds { groups_shown: 3, members_shown: 2, ..Bounds::default() };
    let few = lookalikes(&shed, &Condition::default(), &question).unwrap();
    assert_eq!(few.singles.groups.len(), 3);
    assert_eq!(few.singles.groups_not_shown, all.singles.groups.len() - 3);
    assert_eq!(few.singles.members_total, all.singles.members_total);
    let listed: usize = all.singles.groups.iter().map(|group| group.members.len()).sum();
    assert_eq!(listed, all.singles.members_total);
    assert_eq!(silent(&few), silent(&all));
}

#[test]
fn meters_detectors_and_loaded_tests_have_look_alikes_too() {
    let shed = circuit(SHED);
    for (instrument, showing, expected) in [
        ("voltmeter", "neutral-ground over 100 V", "neutral open at door, line side"),
        ("non-contact", "neutral alarm", "hot and neutral exchanged at door"),
        ("solenoid", "hot-neutral nothing", "hot open at door, line side"),
        ("loaded-test", "lost over 30 V", "hot 5 ohm at door, line side"),
    ] {
        let question = Question {
            showing: shows(showing).unwrap(),
            depth: Depth::Single,
            bounds: Bounds { groups_shown: 1000, members_shown: 1000, ..Bounds::default() },
            ..Question::new(presets::named(instrument).unwrap(), "door")
        };
        let alike = lookalikes(&shed, &Condition::default(), &question).unwrap();
        let faults = singles(&alike);
        assert!(faults.iter().any(|fault| fault == expected), "{instrument}: {faults:?}");
    }
}

#[test]
fn loads_that_are_stated_stay_as_they_are() {
    let shed = circuit(SHED);
    let mut off = Condition::default();
    off.say(&shed, "heater off").unwrap();
    assert_eq!(load_settings(&shed, &off.loads).len(), 1);
    let question = Question {
        showing: shows("hot-neutral dark, hot-ground lit, neutral-ground lit").unwrap(),
        depth: Depth::Single,
        ..Question::new(presets::plug_tester_resistive(), "door")
    };
    let alike = lookalikes(&shed, &off, &question).unwrap();
    assert!(singles(&alike).iter().all(|fault| !fault.starts_with("neutral open")));
}

#[test]
fn what_cannot_be_asked_is_answered() {
    let shed = circuit(SHED);
    let ask = |instrument: &str, at: &str, showing: &str| {
        let question = Question {
            showing: shows(showing).unwrap(),
            depth: Depth::Single,
            ..Question::new(presets::named(instrument).unwrap(), at)
        };
        lookalikes(&shed, &Condition::default(), &question).unwrap_err()
    };
    assert!(matches!(ask("tester", "dor", SOUND), LookAlikeProblem::Unknown(_)));
    assert!(matches!(ask("tester-230", "door", SOUND), LookAlikeProblem::NotThere { .. }));
    assert!(matches!(ask("clamp", "door", SOUND), LookAlikeProblem::NotThere { .. }));
    let problem = ask("voltmeter", "door", SOUND);
    assert!(problem.to_string().contains("hot-neutral 118 to 122 V"), "{problem}");
    let problem = ask("tester", "door", "hot-hot2 lit");
    assert!(problem.to_string().contains("hot-ground dark, dim or lit"), "{problem}");
}

/// The resistive tester, done by hand: three resistors in place, and thresholds on the volts.
mod by_hand {
    use super::*;

    pub(super) const OHM: f64 = 68e3;

    const SPANS: [(&str, &str); 3] = [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")];

    /// Trips a 15 A breaker of unknown make without doubt.
    const TRIPS_AMPERE: f64 = 225.0;

    /// The pattern, or `None` where the faults cannot be so at once.
    pub(super) fn pattern(circuit: &Circuit, condition: &Condition, at: &str) -> Option<String> {
        let mut condition = condition.clone();
        let bare = wire(circuit, &condition).ok()?;
        let current = solve(&bare).ok()?.current(bare.find_element("breaker:c1").unwrap());
        if current.magnitude() >= TRIPS_AMPERE {
            condition.breakers.insert("c1".into(), false);
        }
        for (p, q) in SPANS {
            condition.attached.push(Attachment {
                id: format!("{p}-{q}"),
                between: (format!("{at}.{p}").into(), format!("{at}.{q}").into()),
                law: AttachedLaw::ResistanceOhm(OHM),
            });
        }
        let netlist = wire(circuit, &condition).ok()?;
        let solution = solve(&netlist).ok()?;
        let word = |(p, q): (&str, &str)| {
            let element = netlist.find_element(&format!("{p}-{q}")).unwrap();
            let word = match solution.voltage(element).magnitude() {
                volt if volt >= 90.0 => "lit",
                volt if volt >= 80.0 => "dim or lit",
                volt if volt >= 40.0 => "dim",
                volt if volt >= 30.0 => "may light",
                _ => "dark",
            };
            format!("{p}-{q} {word}")
        };
        Some(SPANS.map(word).join(", "))
    }
}

/// Every single and every double fault of a small circuit in every load state, put on one by
/// one, wired and solved from nothing with the tester's resistors in place: the table holds
/// exactly these.
#[test]
fn the_table_of_patterns_is_complete_over_the_catalogue() {
    let shelter = circuit(SHELTER);
    let everything = catalogue(&shelter);
    let settings = load_settings(&shelter, &BTreeMap::new());
    let mut expected: BTreeMap<String, BTreeSet<(Vec<usize>, usize)>> = BTreeMap::new();
    let mut ask = |set: Vec<usize>| {
        for (setting, loads) in settings.iter().enumerate() {
            let mut condition = Condition { loads: loads.loads.clone(), ..Condition::default() };
            for &fault in &set {
                everything.faults()[fault].apply(&mut condition);
            }
            if let Some(pattern) = by_hand::pattern(&shelter, &condition, "bench") {
                expected.entry(pattern).or_default().insert((set.clone(), setting));
            }
        }
    };
    ask(vec![]);
    for (first, fault) in everything.faults().iter().enumerate() {
        ask(vec![first]);
        for (second, other) in everything.faults().iter().enumerate().skip(first + 1) {
            if !fault.excludes(other) {
                ask(vec![first, second]);
            }
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
    let tester = presets::plug_tester_resistive();
    let asked = (&tester, "bench");
    let table =
        pattern_table(&shelter, &Condition::default(), asked, Depth::Double, &bounds).unwrap();
    let mut found: BTreeMap<String, BTreeSet<(Vec<usize>, usize)>> = BTreeMap::new();
    for row in &table.rows {
        let sets = found.entry(row.pattern.clone()).or_default();
        sets.extend(row.sound.iter().map(|&setting| (vec![], setting)));
        for group in row.singles.groups.iter().chain(&row.doubles.groups) {
            assert_eq!(group.members.len(), group.members_total);
            for member in &group.members {
                let settings = member.load_settings.iter();
                sets.extend(settings.map(|&setting| (member.catalogue.clone(), setting)));
            }
        }
    }
    assert_eq!(found.keys().collect::<Vec<_>>(), expected.keys().collect::<Vec<_>>());
    for (pattern, sets) in &expected {
        let missing: Vec<_> = sets.difference(&found[pattern]).take(5).collect();
        let extra: Vec<_> = found[pattern].difference(sets).take(5).collect();
        assert!(missing.is_empty() && extra.is_empty(), "{pattern}: {missing:?}, {extra:?}");
    }
    assert_eq!(table.counts.pairs, everything.pairs());
    assert!(everything.pairs() > 1000, "{}", everything.pairs());
}
