//! Wired lights that are on or off because their switches on the wall are.

use slotwise::condition::LoadState;
use slotwise::diagnosis::{Advice, Because, Inquiry, Observation, Protected, Seen, Suspect};

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

#[test]
fn what_holds_with_all_lights_off_is_closed_with_one_of_them_on_after_the_other() {
    let mill = circuit(&cider_mill("closed: true", "").replace("position: 2", "position: 1"));
    let mut trips = told(&mill, TOOLS, "breaker c1 trips at once", &[]);
    let mut asked = Vec::new();
    while let Advice::Stop(stop) = trips.advise() {
        let did = match stop.because {
            Because::UnpluggedFirst => Protected::Holds,
            Because::AddedBack => {
                let loads = &stop.moment.as_ref().unwrap().condition.loads;
                let is_on = |load: &str| loads.get(load) == Some(&LoadState::On);
                if is_on("stair-light") { Protected::TripsAtOnce } else { Protected::Holds }
            }
            _ => break,
        };
        asked.push(stop.because);
        let seen = Seen::Protection { name: "c1".to_owned(), did };
        trips.observe(&Observation { moment: stop.moment.unwrap(), seen }).unwrap();
    }
    assert_eq!(asked[0], Because::UnpluggedFirst);
    assert!(asked.contains(&Because::AddedBack) && asked.len() < 5, "{asked:?}");
    let behind = behind_its_switch(&trips, "stair");
    assert!(behind > 0.9, "{behind}");
}

#[test]
fn what_trips_with_all_lights_off_is_not_put_down_to_any_of_them() {
    let mill = circuit(&cider_mill("closed: true", ""));
    let saw = ["c1 trips at once with everything unplugged"];
    let mut trips = told(&mill, TOOLS, "breaker c1 trips at once", &saw);
    assert!(behind_its_switch(&trips, "loft") < 0.05);
    let asked = matches!(trips.advise(), Advice::Stop(stop) if stop.because == Because::AddedBack);
    assert!(!asked);
}

#[test]
fn a_trip_that_was_seen_never_ends_at_nothing() {
    let mill = circuit(&cider_mill("", ""));
    let saw = ["c1 trips at once with switch door closed", "c1 holds with switch door open"];
    let mut trips = told(&mill, TOOLS, "", &saw);
    let goes_on = match trips.advise() {
        Advice::Test(_) => true,
        Advice::Stop(stop) => stop.because != Because::NothingWrong,
    };
    assert!(goes_on);
}

#[test]
fn a_light_that_is_dead_with_its_switch_off_is_not_called_well() {
    let mill = circuit(&cider_mill("closed: true", ""));
    let saw = ["tester at press: lit lit dark", "loft-light dead with switch door open"];
    let mut dead = told(&mill, &["tester"], "loft-light does not run", &saw);
    let is_well =
        matches!(dead.advise(), Advice::Stop(stop) if stop.because == Because::ClosedAgain);
    assert!(!is_well);
}

#[test]
fn a_light_that_runs_one_way_and_not_the_other_has_something_on_one_of_its_travellers() {
    let mill = circuit(&cider_mill("", "").replace("position: 2", "position: 1"));
    let saw = [
        "stair-light runs with switch foot position 1, switch head position 1",
        "stair-light dead with switch foot position 2, switch head position 2",
    ];
    let dead = told(&mill, TOOLS, "stair-light does not run", &saw);
    let findings = dead.findings();
    let of_a_traveller =
        |suspect: &Suspect| suspect.conductors().iter().any(|name| name.starts_with("traveller"));
    let first = findings.suspects.iter().find(|one| of_a_traveller(one)).unwrap();
    assert!(first.probability > 0.1, "{}", first.probability);
}
