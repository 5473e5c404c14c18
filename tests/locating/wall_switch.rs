//! Wired lights that are on or off because their switches on the wall are.

use slotwise::diagnosis::{Advice, Inquiry};

use crate::call::{chance, circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "ohmmeter"];

/// A light behind a switch, and one behind two.
fn cider_mill(loft_switch: &str, loft_light: &str) -> String {
    format!(
        r#"(
        format: 1,
        name: "Cider mill",
        circuits: [(id: "c1", amperes: 15)],
        boxes: [
            (id: "press", from: "c1", feet: 40),
            (id: "door", from: "press", feet: 15, device: Switch({loft_switch})),
            (id: "loft", from: "door", feet: 18, carries: ["switched", "neutral", "ground"], devices: []),
            (id: "foot", from: "press", feet: 20, device: ThreeWay(common: "hot")),
            (id: "head", from: "foot", feet: 30,
             carries: ["traveller1", "traveller2", "neutral", "ground"],
             device: ThreeWay(common: "switched", position: 2)),
            (id: "stair", from: "head", feet: 8, carries: ["switched", "neutral", "ground"], devices: []),
            (id: "vat", from: "press", feet: 12),
        ],
        loads: [
            (id: "loft-light", at: "loft", wired: true, {loft_light} across: ("switched", "neutral"),
             kind: Filament(watts: 75)),
            (id: "stair-light", at: "stair", wired: true, across: ("switched", "neutral"),
             kind: Led(watts: 12)),
            (id: "pump", at: "vat", kind: Motor(watts: 300)),
        ],
    )"#
    )
}

/// How likely a fault is that lies behind the switch of a light: in it, at its box or in the cable to it.
fn behind_its_switch(inquiry: &Inquiry<'_>, place: &str) -> f64 {
    chance(inquiry, |one| one.fault.places.iter().any(|at| at == place))
}

#[test]
fn what_trips_when_a_light_is_switched_on_is_in_the_light_or_behind_its_switch() {
    // However the file has the switch and the light stand.
    for (switch, light) in
        [("", ""), ("", "on: false,"), ("closed: true", ""), ("closed: true", "on: false,")]
    {
        let mill = circuit(&cider_mill(switch, light));
        let trips = told(&mill, TOOLS, "breaker c1 trips when loft-light is switched on", &[]);
        let behind = behind_its_switch(&trips, "loft");
        assert!(behind > 0.9, "{behind} with the switch {switch:?} and the light {light:?}");
    }
}

#[test]
fn so_it_is_of_a_light_that_two_switches_switch() {
    let mill = circuit(&cider_mill("", ""));
    let trips = told(&mill, TOOLS, "breaker c1 trips when stair-light is switched on", &[]);
    let behind = behind_its_switch(&trips, "stair");
    assert!(behind > 0.9, "{behind}");
}

#[test]
fn a_breaker_that_holds_with_the_light_off_and_trips_with_it_on_points_behind_its_switch() {
    let mill = circuit(&cider_mill("closed: true", ""));
    let saw = ["c1 trips at once with loft-light on", "c1 holds with loft-light off"];
    let mut trips = told(&mill, TOOLS, "breaker c1 trips at once", &saw);
    let behind = behind_its_switch(&trips, "loft");
    assert!(behind > 0.9, "{behind}");
    let Advice::Stop(stop) = trips.advise() else { panic!("it is tested further") };
    assert_eq!(stop.go_to[0].place, "loft");
}

/// What is suspected does not depend on how the file has the switch by more than this.
const ALIKE: f64 = 0.02;

#[test]
fn a_light_that_is_said_to_be_dim_is_on_however_the_file_has_its_switch() {
    let suspected = ["", "closed: true"].map(|switch| {
        let mill = circuit(&cider_mill(switch, ""));
        let dim = told(&mill, TOOLS, "loft-light is dim", &["pump runs"]);
        chance(&dim, |one| one.fault.places.iter().any(|at| at == "door" || at == "loft"))
    });
    let [open, closed] = suspected;
    assert!(closed > 0.1 && (open - closed).abs() < ALIKE, "{open} {closed}");
}
