//! What is drawn: the same everywhere, and always something that a person could find.

use slotwise::condition::Condition;
use slotwise::condition::catalogue::FaultKind;
use slotwise::drill::{Drill, Wanted};

use crate::support::{FAMILIES, drawn, family};

#[test]
fn a_drill_is_the_same_drawn_again_and_alone() {
    for name in FAMILIES {
        let (first, again) = (drawn(name, 5), drawn(name, 5));
        assert_eq!(first.circuit_file, again.circuit_file);
        assert_eq!(first.condition, again.condition);
        assert_eq!(first.first, again.first);
        assert_eq!(first.readings().unwrap(), again.readings().unwrap());
        assert_ne!(drawn(name, 6).circuit_file, first.circuit_file);
    }
}

#[test]
fn the_circuit_of_a_drill_is_a_file_that_reads_without_a_word() {
    for name in FAMILIES {
        for number in 0..3 {
            let drill = drawn(name, number);
            let file = slotwise::circuit::file::read(&drill.circuit_file).unwrap();
            // A receptacle with a ground slot on two wires is what some families are about.
            let mut remarks = file.remarks.iter().filter(|one| one.code != "no-ground");
            assert_eq!(remarks.next(), None, "{}", drill.circuit_file);
        }
    }
}

#[test]
fn every_drill_has_faults_a_complaint_and_a_first_reading() {
    for name in FAMILIES {
        for number in 0..3 {
            let drill = drawn(name, number);
            assert!(!drill.faults.is_empty());
            assert!(!drill.complaints.is_empty());
            assert!(!drill.first.is_empty(), "{}", drill.circuit_file);
        }
    }
}

#[test]
fn faults_come_in_the_number_and_of_the_kinds_asked_for() {
    let workshops = family("workshops");
    let wanted = Wanted {
        faults: Some(2),
        kinds: vec![FaultKind::OpenJoint],
        hiding: false,
        ..Wanted::default()
    };
    for number in 0..2 {
        let drill = Drill::draw(&workshops, 3, number, &wanted).unwrap();
        assert_eq!(drill.faults.len(), 2);
        assert!(drill.faults.iter().all(|fault| fault.kind == FaultKind::OpenJoint));
    }
}

#[test]
fn a_fault_that_hides_another_lets_nothing_of_it_be_seen() {
    let wanted = Wanted { hiding: true, ..Wanted::default() };
    let drill = Drill::draw(&family("workshops"), 1, 0, &wanted).unwrap();
    let [first, second] = drill.faults.as_slice() else { panic!("{:?}", drill.faults) };
    let with = |faults: &[&slotwise::condition::catalogue::PossibleFault]| {
        let mut one = drill.clone();
        one.condition = Condition::default();
        faults.iter().for_each(|fault| fault.apply(&mut one.condition));
        one.readings().unwrap()
    };
    assert_eq!(with(&[first, second]), with(&[first]));
    assert_ne!(with(&[second]), with(&[]));
}
