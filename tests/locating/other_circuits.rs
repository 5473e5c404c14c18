//! What stands in a house besides the circuit that is called about: nobody switches it for a look.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Advice, Because, Inquiry, NextTest};

use crate::call::{circuit, told};

/// A guest house: one circuit of four rooms, and two others with loads of their own, described first.
const GUEST_HOUSE: &str = r#"(
    format: 1,
    name: "Guest house",
    circuits: [
        (id: "kitchen", amperes: 20, leg: "L1"),
        (id: "laundry", amperes: 20, leg: "L2"),
        (id: "rooms", amperes: 15, leg: "L2"),
    ],
    boxes: [
        (id: "larder", from: "kitchen", feet: 25),
        (id: "worktop", from: "larder", feet: 8),
        (id: "mangle", from: "laundry", feet: 40),
        (id: "first", from: "rooms", feet: 35),
        (id: "second", from: "first", feet: 14),
        (id: "third", from: "second", feet: 14),
        (id: "fourth", from: "third", feet: 14),
    ],
    loads: [
        (id: "icebox", at: "larder", kind: Motor(watts: 200)),
        (id: "kettle", at: "worktop", kind: Resistive(watts: 1200)),
        (id: "mixer", at: "worktop", kind: Motor(watts: 150)),
        (id: "wringer", at: "mangle", kind: Motor(watts: 400), metal_case: true),
        (id: "iron", at: "mangle", kind: Resistive(watts: 900), metal_case: true),
        (id: "washtub", at: "mangle", kind: Resistive(watts: 600)),
        (id: "reading-lamp", at: "second", kind: Filament(watts: 60)),
        (id: "radio", at: "third", kind: Electronics(watts: 30)),
        (id: "stove", at: "fourth", kind: Resistive(watts: 1000), metal_case: true),
    ],
)"#;

const OF_OTHERS: [&str; 6] = ["icebox", "kettle", "mixer", "wringer", "iron", "washtub"];

fn tests_asked<'c>(house: &'c Circuit, complaint: &str, saw: &[&str]) -> Vec<NextTest> {
    let mut inquiry: Inquiry<'c> =
        told(house, &["tester", "voltmeter", "non-contact", "ohmmeter"], complaint, saw);
    let mut asked = Vec::new();
    while asked.len() < 6 {
        match inquiry.advise() {
            Advice::Test(test) => {
                inquiry.leave_out(&test);
                asked.push(*test);
            }
            // What is closed with one load on is not tried here.
            Advice::Stop(stop) if stop.because == Because::AddedBack => {
                inquiry.leave_handle(stop.go_to[0].name.as_deref().unwrap());
            }
            Advice::Stop(_) => break,
        }
    }
    asked
}

fn assert_others_stay(asked: &[NextTest]) {
    for test in asked {
        let switched: Vec<&str> = test.switch.keys().map(String::as_str).collect();
        assert!(
            !switched.iter().any(|load| OF_OTHERS.contains(load)),
            "{} at {} switches {switched:?}",
            test.instrument,
            test.at
        );
    }
}

#[test]
fn for_a_dead_room_nothing_in_the_kitchen_is_switched() {
    let house = circuit(GUEST_HOUSE);
    let asked = tests_asked(&house, "third dead", &["rooms holds"]);
    assert!(asked.len() > 2, "{asked:?}");
    assert_others_stay(&asked);
}

#[test]
fn a_load_past_the_sixth_of_the_house_is_switched_where_it_tells_something() {
    let house = circuit(GUEST_HOUSE);
    let saw = ["rooms holds with everything on rooms unplugged"];
    let asked = tests_asked(&house, "rooms trips at once", &saw);
    assert_others_stay(&asked);
    let of_the_rooms = ["reading-lamp", "radio", "stove"];
    let is_of_the_rooms = |load: &String| of_the_rooms.contains(&load.as_str());
    assert!(asked.iter().any(|test| test.switch.keys().any(is_of_the_rooms)), "{asked:?}");
}

#[test]
fn a_breaker_that_trips_with_its_own_loads_unplugged_is_not_closed_again_with_less_on_elsewhere() {
    let house = circuit(GUEST_HOUSE);
    let saw = ["rooms trips at once with everything on rooms unplugged"];
    let asked = tests_asked(&house, "rooms trips at once", &saw);
    assert!(!asked.is_empty());
    assert_others_stay(&asked);
    let is_dead = |test: &NextTest| test.moment.condition.breakers.get("rooms") == Some(&false);
    assert!(asked.iter().all(is_dead), "{asked:?}");
}
