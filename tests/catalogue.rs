//! The catalogue of faults: nothing is missing from it, and everything in it can be so.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use slotwise::circuit::{Circuit, JointKind};
use slotwise::condition::catalogue::{
    FaultKind, Levels, Priors, catalogue, catalogue_at, load_settings,
};
use slotwise::condition::{Condition, Fault};
use slotwise::netlist::wire;
use slotwise::solution::solve;

/// Every circuit in circuits/, with its file's name.
fn circuits() -> Vec<(String, Circuit)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits");
    let mut found: Vec<(String, Circuit)> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "ron"))
        .map(|path| {
            let text = fs::read_to_string(&path).unwrap();
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            (name, slotwise::circuit::file::read(&text).unwrap().circuit)
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(found.len() >= 14);
    found
}

#[test]
fn every_joint_a_person_can_point_at_can_be_open() {
    for (name, circuit) in circuits() {
        let opened: BTreeSet<String> = catalogue(&circuit)
            .faults()
            .iter()
            .flat_map(|fault| &fault.change.faults)
            .filter_map(|fault| match fault {
                Fault::Open { element, .. } => Some(element.clone()),
                Fault::Tab { device, conductor, .. } => Some(format!("tab:{device}.{conductor}")),
                _ => None,
            })
            .collect();
        let netlist = wire(&circuit, &Condition::default()).unwrap();
        for joint in &circuit.parts().joints {
            let element = netlist.find_element(&joint.element).unwrap();
            let closed = netlist.element(element).law != slotwise::netlist::Law::Open;
            let missing = closed && !opened.contains(&joint.element);
            assert!(!missing, "{name}: {} cannot be open", joint.address);
        }
    }
}

#[test]
fn every_entry_can_be_put_on_its_circuit() {
    for (name, circuit) in circuits() {
        for fault in catalogue(&circuit).faults() {
            let mut condition = Condition::default();
            fault.apply(&mut condition);
            assert_eq!(condition, fault.change);
            if let Err(problem) = wire(&circuit, &condition) {
                panic!("{name}: {}: {problem}", fault.sentence(&circuit));
            }
            assert!(fault.weight > 0.0 && fault.weight < 0.1, "{name}: {}", fault.weight);
        }
    }
}

#[test]
fn every_entry_is_said_in_words_that_mean_the_same() {
    let (_, studio) = circuits().into_iter().find(|(name, _)| name == "pottery-studio").unwrap();
    for fault in catalogue(&studio).faults() {
        let mut heard = Condition::default();
        heard.say(&studio, &fault.sentence(&studio)).unwrap();
        assert_eq!(heard, fault.change, "{}", fault.sentence(&studio));
    }
}

#[test]
fn every_kind_of_fault_occurs_in_some_call_out() {
    let kinds: BTreeSet<FaultKind> = circuits()
        .iter()
        .flat_map(|(_, circuit)| catalogue(circuit).faults().to_vec())
        .map(|fault| fault.kind)
        .collect();
    for kind in FaultKind::all() {
        assert!(kinds.contains(kind), "{} occurs nowhere", kind.code());
    }
}

#[test]
fn no_entry_is_listed_twice() {
    for (name, circuit) in circuits() {
        let everything = catalogue(&circuit);
        for (at, fault) in everything.faults().iter().enumerate() {
            let again = everything.faults().iter().skip(at + 1).any(|o| o.change == fault.change);
            assert!(!again, "{name}: {}", fault.sentence(&circuit));
        }
    }
}

#[test]
fn a_neutral_that_lands_on_a_hot_bus_stays_live_with_the_breaker_off() {
    let (_, studio) = circuits().into_iter().find(|(name, _)| name == "pottery-studio").unwrap();
    let listed = catalogue(&studio);
    let on_bus: Vec<_> =
        listed.faults().iter().filter(|fault| fault.kind == FaultKind::NeutralOnBus).collect();
    assert_eq!(on_bus.len(), 2, "one for each leg of the service");
    for fault in on_bus {
        let off = [("c1".to_owned(), false)].into();
        let condition = Condition { breakers: off, ..fault.change.clone() };
        let netlist = wire(&studio, &condition).unwrap();
        let solution = solve(&netlist).unwrap();
        let slot = |conductor: &str| {
            let address = format!("bench.{conductor}");
            netlist.find_node(&address.as_str().into()).unwrap()
        };
        let live = solution.difference(slot("neutral"), slot("ground")).unwrap();
        assert!((live.magnitude() - 120.0).abs() < 2.0, "{live:?}");
    }
}

#[test]
fn levels_and_priors_are_the_callers_to_choose() {
    let (_, studio) = circuits().into_iter().find(|(name, _)| name == "pottery-studio").unwrap();
    let levels = Levels { joint_ohm: vec![1.0, 2.0, 3.0], ..Levels::default() };
    let mut priors = Priors::default();
    priors.joint_open.splice = 0.01;
    let ours = catalogue_at(&studio, &levels, &priors);
    assert!(ours.faults().len() > catalogue(&studio).faults().len());
    let open = ours.faults().iter().find(|fault| {
        fault.kind == FaultKind::OpenJoint
            && fault.sentence(&studio) == "hot open at kiln, line side"
    });
    assert!((open.unwrap().weight - 0.01).abs() < f64::EPSILON);
    let is_splice = |joint: &&slotwise::circuit::Joint| joint.kind == JointKind::Splice;
    assert!(studio.parts().joints.iter().any(|joint| is_splice(&joint)));
}

#[test]
fn the_load_states_are_as_described_all_off_all_on_and_each_alone() {
    let (_, studio) = circuits().into_iter().find(|(name, _)| name == "pottery-studio").unwrap();
    let settings = load_settings(&studio, &Condition::default().loads);
    let names: Vec<&str> = settings.iter().map(|setting| setting.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "loads as described",
            "all loads off",
            "all loads on",
            "only radio on",
            "only drive on",
            "only heater on",
            "only kettle on"
        ]
    );
}

#[test]
fn a_hot_on_another_circuits_breaker_stays_live_with_its_own_off_and_goes_with_the_other() {
    let text = r#"(format: 1, circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20)],
        boxes: [(id: "press", from: "c1", feet: 30), (id: "office", from: "c2", feet: 25)])"#;
    let works = slotwise::circuit::file::read(text).unwrap().circuit;
    let volt = |change: &Condition, off: &[&str]| {
        let breakers = off.iter().map(|name| ((*name).to_owned(), false)).collect();
        let condition = Condition { breakers, ..change.clone() };
        let netlist = wire(&works, &condition).unwrap();
        let solution = solve(&netlist).unwrap();
        let node = |address: &str| netlist.find_node(&address.into()).unwrap();
        solution.difference(node("press.hot"), node("press.neutral")).unwrap().magnitude()
    };
    let listed = catalogue(&works);
    let of = |kind| listed.faults().iter().filter(move |fault| fault.kind == kind);
    assert_eq!(of(FaultKind::WrongBreaker).count(), 2, "either on the other");
    let on_others = of(FaultKind::WrongBreaker)
        .filter(|fault| fault.sentence(&works).contains("c1-press"))
        .chain(of(FaultKind::HotsExchanged))
        .chain(of(FaultKind::HotsTied));
    let mut n_listed = 0;
    for fault in on_others {
        n_listed += 1;
        let says = fault.sentence(&works);
        assert!((volt(&fault.change, &["c1"]) - 120.0).abs() < 1.0, "{says}");
        assert!(volt(&fault.change, &["c1", "c2"]) < 1.0, "{says}");
    }
    assert_eq!(n_listed, 3);
}

#[test]
fn either_hot_of_a_split_duplex_may_be_exchanged_with_its_neutral_or_ground() {
    let orangery = circuits().into_iter().find(|(name, _)| name == "orangery").unwrap().1;
    let listed = catalogue(&orangery);
    // Which of the two is named first is no difference.
    let joints = |condition: &Condition| match condition.faults.as_slice() {
        [Fault::ExchangedJoints { elements: (p, q) }] => {
            Some(BTreeSet::from([p.clone(), q.clone()]))
        }
        _ => None,
    };
    let is_listed = |sentence: &str| {
        let mut said = Condition::default();
        said.say(&orangery, sentence).unwrap();
        assert!(joints(&said).is_some(), "{sentence}");
        listed.faults().iter().any(|fault| joints(&fault.change) == joints(&said))
    };
    for other in ["neutral", "ground"] {
        for hot in ["hot", "switched"] {
            let sentence = format!("{hot} and {other} exchanged at citrus");
            assert!(is_listed(&sentence), "{sentence}");
        }
    }
}
