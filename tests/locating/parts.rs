//! What is measured dead where a breaker trips: ohms at receptacles, and beyond a run that is
//! parted; and what is said of an appliance.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{
    Advice, Complaint, Inquiry, Means, NextTest, Parting, Seen, Tool, WhenItTrips, words,
};

use crate::call::{circuit, condition, locate_until};

/// A mill with six receptacles in a row.
const MILL: &str = include_str!("../locate/mill.ron");

/// A kiln shed with four, quick to solve.
const SHED: &str = "(
    format: 1,
    name: \"Kiln shed\",
    circuits: [(id: \"c1\", amperes: 20)],
    boxes: [
        (id: \"gate\", from: \"c1\", feet: 30),
        (id: \"sieve\", from: \"gate\", feet: 12),
        (id: \"hopper\", from: \"sieve\", feet: 15),
        (id: \"stove\", from: \"hopper\", feet: 14),
    ],
    loads: [
        (id: \"heater\", at: \"stove\", kind: Resistive(watts: 1200), metal_case: true),
    ],
)";

/// Four lamp posts along a path, far apart: nearly an ohm from one end to the other.
const PATH: &str = "(
    format: 1,
    name: \"Path\",
    circuits: [(id: \"c1\", amperes: 15)],
    boxes: [
        (id: \"gate\", from: \"c1\", feet: 20),
        (id: \"pond\", from: \"gate\", feet: 60),
        (id: \"arbour\", from: \"pond\", feet: 60),
        (id: \"jetty\", from: \"arbour\", feet: 60),
    ],
    loads: [(id: \"pump\", at: \"pond\", kind: Resistive(watts: 400))],
)";

/// A detector and an ohmmeter: little to ask before the run is parted.
fn two_tools() -> Means {
    let tools = ["non-contact", "ohmmeter"].iter().filter_map(|tool| Tool::preset(tool));
    Means { tools: tools.collect(), ..Means::default() }
}

/// The first parting that is asked for where the breaker trips whatever is unplugged, all other
/// tests being declined, with the inquiry.
fn parting(shed: &Circuit, means: Means) -> Option<(Inquiry<'_>, NextTest)> {
    asked_for(shed, means, |test| test.parting.is_some())
}

/// The first test of a kind, likewise.
fn asked_for(
    shed: &Circuit,
    means: Means,
    is: impl Fn(&NextTest) -> bool,
) -> Option<(Inquiry<'_>, NextTest)> {
    let mut inquiry = Inquiry::new(shed, means.clone());
    inquiry.complain(&trips()).unwrap();
    let saw = "c1 trips at once with everything unplugged";
    inquiry.observe_all(&words::observations(shed, &means.tools, saw).unwrap()).unwrap();
    loop {
        let Advice::Test(test) = inquiry.advise() else { return None };
        if is(&test) {
            return Some((inquiry, *test));
        }
        inquiry.leave_out(&test);
    }
}

fn place_of(test: &NextTest) -> String {
    test.parting.as_ref().expect("a parting").place.clone()
}

fn trips() -> Complaint {
    Complaint::Trips { breaker: "c1".into(), when: WhenItTrips::AtOnce }
}

/// Boxes opened until a short at a place is seen: those in which the run was parted, and then
/// those that are gone to.
fn opened<'c>((mill, untold): (&'c Circuit, &Inquiry<'c>), at: &str, fault: &str) -> Vec<String> {
    let truth = condition(mill, &[fault]);
    let course = locate_until(mill, untold.clone(), &truth, &trips(), &|place| place == at);
    let parted = course.tests.iter().filter_map(|test| Some(test.parting.as_ref()?.place.clone()));
    let mut boxes: Vec<String> = parted.collect();
    for go_to in course.stop.go_to.iter().filter(|go_to| go_to.opens_a_box()) {
        if boxes.last().is_some_and(|last| last == at) {
            break;
        }
        if !boxes.contains(&go_to.place) {
            boxes.push(go_to.place.clone());
        }
    }
    assert_eq!(boxes.last().map(String::as_str), Some(at), "{fault}: {boxes:?}");
    boxes
}

#[test]
fn a_short_that_trips_the_breaker_is_found_by_parting_the_run_and_not_box_by_box() {
    let mill = circuit(MILL);
    let untold = Inquiry::new(&mill, Means::default());
    let opened =
        |at: &str| opened((&mill, &untold), at, &format!("hot and neutral bridged at {at}")).len();
    let boxes: usize = ["sieve", "scale", "sacks"].map(opened).iter().sum();
    // One after the other from the panel it takes 2 + 4 + 5 = 11, from the far end 5 + 3 + 2 = 10.
    assert!(boxes < 9, "{boxes} boxes for three shorts");
}

#[test]
fn an_appliance_that_trips_the_breaker_is_unplugged_and_no_box_opened() {
    let mill = circuit(MILL);
    let truth = condition(&mill, &["hot and frame bridged at heater"]);
    let course =
        locate_until(&mill, Inquiry::new(&mill, Means::default()), &truth, &trips(), &|_| false);
    assert!(course.tests.iter().all(|test| test.parting.is_none()), "a box was opened");
    let first = &course.stop.go_to[0];
    assert_eq!(first.appliance.as_deref(), Some("heater"), "{:?}", course.stop);
    assert!(!first.opens_a_box());
}

/// The first test that is made with the breaker off and no box open, all others being declined.
fn ohms_at_a_receptacle(shed: &Circuit, means: Means) -> Option<NextTest> {
    asked_for(shed, means, |test| test.parting.is_none() && is_dead(test)).map(|(_, test)| test)
}

fn is_dead(test: &NextTest) -> bool {
    test.moment.condition.breakers.values().any(|closed| !closed)
}

#[test]
fn before_a_box_is_opened_for_a_short_an_ohmmeter_is_read_between_the_slots_of_a_receptacle() {
    let path = circuit(PATH);
    let test = ohms_at_a_receptacle(&path, two_tools()).expect("ohms are read");
    assert_eq!(test.instrument, "ohmmeter");
    assert_eq!(test.looks.len(), 3, "hot, neutral and ground, two by two");
    assert!(!test.moment.condition.breakers["c1"]);
    assert!(test.cost_s < Means::default().costs.open_box_s, "no box is opened: {}", test.cost_s);
}

#[test]
fn ohms_from_both_ends_of_a_run_tell_where_between_them_a_short_is() {
    let path = circuit(PATH);
    let means = two_tools();
    let believed = |near: &str, far: &str| {
        let mut inquiry = Inquiry::new(&path, means.clone());
        inquiry.complain(&trips()).unwrap();
        let saw = format!(
            "c1 trips at once with everything unplugged;
             ohmmeter at gate: hot-neutral {near} ohm with breaker c1 off and pump off;
             ohmmeter at jetty: hot-neutral {far} ohm with breaker c1 off and pump off"
        );
        inquiry.observe_all(&words::observations(&path, &means.tools, &saw).unwrap()).unwrap();
        let suspect = inquiry.findings().suspects.swap_remove(0);
        assert_eq!(suspect.conductors(), ["hot", "neutral"]);
        suspect.faults[0].fault.places.clone()
    };
    // 60 feet there and back are 0.3 ohm, the leads 0.2.
    assert_eq!(believed("0.5", "0.8"), ["pond"]);
    assert_eq!(believed("1.1", "0.2"), ["jetty"]);
}

#[test]
fn nothing_is_measured_dead_without_an_ohmmeter_or_where_no_breaker_may_be_switched() {
    let shed = circuit(SHED);
    let usual = two_tools();
    let dead = |means| asked_for(&shed, means, is_dead).is_some();
    assert!(dead(usual.clone()));
    let tools = usual.tools.iter().filter(|tool| tool.name != "ohmmeter").cloned().collect();
    assert!(!dead(Means { tools, ..usual.clone() }));
    assert!(!dead(Means { may_switch_breakers: false, ..usual }));
}

#[test]
fn no_run_is_parted_where_no_box_may_be_opened() {
    let shed = circuit(SHED);
    assert!(parting(&shed, Means { may_open_boxes: false, ..two_tools() }).is_none());
}

#[test]
fn a_box_out_of_reach_is_not_the_one_to_part_the_run_in() {
    let shed = circuit(SHED);
    let place = place_of(&parting(&shed, two_tools()).unwrap().1);
    let out_of_reach = std::iter::once(place.clone()).collect();
    let other = parting(&shed, Means { out_of_reach, ..two_tools() });
    assert!(other.is_none_or(|(_, other)| place_of(&other) != place));
}

#[test]
fn a_parting_that_is_declined_is_not_asked_for_again() {
    let shed = circuit(SHED);
    let (mut inquiry, test) = parting(&shed, two_tools()).unwrap();
    inquiry.leave_out(&test);
    if let Advice::Test(other) = inquiry.advise() {
        assert_ne!(other.parting, test.parting);
    }
}

#[test]
fn whoever_reads_the_meter_beyond_an_open_box_has_seen_nothing_bad_in_it() {
    let shed = circuit(SHED);
    let means = two_tools();
    let (mut inquiry, test) = parting(&shed, means.clone()).unwrap();
    let place = place_of(&test);
    let answer = "hot-neutral 0.3 ohm, hot-ground OL, neutral-ground OL";
    let said = words::answers(&shed, &means.tools, &test, &test.moment, answer).unwrap();
    let opened = Seen::Opened { place: place.clone(), found: Vec::new() };
    assert_eq!(said[0].seen, opened);
    assert_eq!(said.len(), 4);
    let told = words::tell(&shed, &means.tools, &said[1]);
    assert_eq!(told, format!("ohmmeter beyond {place}: hot-neutral 0.3 ohm"));
    inquiry.observe_all(&said).unwrap();
    let boxes = inquiry.findings().suspects[0].boxes.clone();
    assert!(!boxes.contains(&"gate".to_owned()), "the short is beyond {place}: {boxes:?}");
}

#[test]
fn what_is_seen_in_the_box_that_is_opened_to_part_the_run_is_an_answer_too() {
    let shed = circuit(SHED);
    let means = two_tools();
    let (_, test) = parting(&shed, means.clone()).unwrap();
    let answer = |text: &str| words::answers(&shed, &means.tools, &test, &test.moment, text);
    let place = place_of(&test);
    let nothing = Seen::Opened { place: place.clone(), found: Vec::new() };
    assert_eq!(answer("all sound").unwrap()[0].seen, nothing);
    let found = answer("hot and neutral touching").unwrap();
    assert!(
        matches!(&found[0].seen, Seen::Opened { place: at, found } if *at == place && found.len() == 1),
        "{found:?}"
    );
    assert!(answer("hot and neutral quarrelling").is_err());
}

#[test]
fn every_breaker_that_feeds_anything_in_the_box_is_off_before_it_is_parted() {
    let annex = circuit(
        "(
        format: 1,
        circuits: [(id: \"c1\", amperes: 20), (id: \"c2\", amperes: 15)],
        boxes: [
            (id: \"porch\", from: \"c1\", feet: 30, device: GroundFault(feeds: true)),
            (id: \"bench\", from: \"porch\", feet: 12),
            (id: \"loft\", from: \"bench\", feet: 9),
            (id: \"attic\", from: \"c2\", feet: 25),
            (id: \"eaves\", from: \"attic\", feet: 9),
        ],
    )",
    );
    let mut places = Vec::new();
    for parting in Parting::all(&annex) {
        let off = parting.condition(&annex).breakers;
        assert!(off.values().all(|closed| !closed));
        let feeding = if parting.place == "attic" { ["c2"] } else { ["c1"] };
        assert!(off.keys().eq(feeding.iter()), "{}: {off:?}", parting.place);
        places.push(parting.place);
    }
    places.sort();
    assert_eq!(places, ["attic", "bench", "porch"]);
}

#[test]
fn past_the_split_of_a_multiwire_circuit_both_legs_are_off_before_anything_is_measured_dead() {
    let wharf = circuit(
        "(
        format: 1,
        circuits: [(id: \"shared\", amperes: 15, legs: [\"L1\", \"L2\"]), (id: \"c3\", amperes: 15)],
        boxes: [
            (id: \"bench\", from: \"shared\", feet: 40),
            (id: \"oven\", from: \"bench\", feet: 50, carries: [\"hot2\", \"neutral\", \"ground\"]),
            (id: \"quay\", from: \"oven\", feet: 50, carries: [\"hot2\", \"neutral\", \"ground\"]),
            (id: \"shed\", from: \"c3\", feet: 20),
        ],
    )",
    );
    let poles: Vec<&str> =
        wharf.parts().branch_circuits.iter().map(|pole| pole.id.as_str()).collect();
    let shared: Vec<&str> = poles.iter().copied().filter(|pole| *pole != "c3").collect();
    assert_eq!(shared.len(), 2, "{poles:?}");
    let all = Parting::all(&wharf);
    let parting = all.iter().find(|parting| parting.place == "oven").expect("oven is parted");
    assert!(parting.condition(&wharf).breakers.keys().eq(shared), "{parting:?}");
}

#[test]
fn a_box_that_stands_open_and_shows_nothing_is_measured_in_before_another_is_opened() {
    let path = circuit(PATH);
    let means = two_tools();
    let mut inquiry = Inquiry::new(&path, means.clone());
    inquiry.complain(&trips()).unwrap();
    let saw = "c1 trips at once with everything unplugged;
        ohmmeter at gate: hot-neutral 0.6 ohm, hot-ground OL with breaker c1 off and pump off;
        opened pond: nothing found; ohmmeter beyond pond: hot-neutral 0.3 ohm;
        opened arbour: nothing found";
    inquiry.observe_all(&words::observations(&path, &means.tools, saw).unwrap()).unwrap();
    let Advice::Test(test) = inquiry.advise() else { panic!("{:?}", inquiry.advise()) };
    assert_eq!(place_of(&test), "arbour");
    assert!(test.cost_s < means.costs.open_box_s, "no box is opened for it: {}", test.cost_s);
}
