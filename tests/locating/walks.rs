//! What walking costs, and what a circuit leaves open.

use slotwise::diagnosis::{Advice, Complaint, Costs, Inquiry, Means, NextTest, words};

use crate::call::circuit;

/// A rope walk: six receptacles thirty metres from each other.
const ROPE_WALK: &str = "(
    format: 1,
    name: \"Rope walk\",
    circuits: [(id: \"c1\", amperes: 20, cable: (awg: 10))],
    boxes: [
        (id: \"b1\", from: \"c1\", metres: 10),
        (id: \"b2\", from: \"b1\", metres: 30),
        (id: \"b3\", from: \"b2\", metres: 30),
        (id: \"b4\", from: \"b3\", metres: 30),
        (id: \"b5\", from: \"b4\", metres: 30),
        (id: \"b6\", from: \"b5\", metres: 30),
    ],
)";

/// The next test of somebody at the first receptacle who walks so fast.
fn next(walk_100_m_s: f64) -> NextTest {
    let rope_walk = circuit(ROPE_WALK);
    let costs = Costs { walk_100_m_s, ..Costs::default() };
    let mut inquiry = Inquiry::new(&rope_walk, Means { costs, ..Means::default() });
    inquiry.complain(&Complaint::DeadFrom { place: "b6".into() }).unwrap();
    let lit = "tester at b1: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let tools = Means::default().tools;
    for seen in words::observations(&rope_walk, &tools, lit).unwrap() {
        inquiry.observe(&seen).unwrap();
    }
    match inquiry.advise() {
        Advice::Test(test) => *test,
        Advice::Stop(stop) => panic!("{stop:?}"),
    }
}

/// Metres from the first receptacle.
fn metres(test: &NextTest) -> f64 {
    let number: f64 = test.at.as_str().trim_start_matches('b').parse().unwrap();
    30.0 * (number - 1.0)
}

#[test]
fn what_a_test_costs_holds_the_walk_to_it() {
    let (strolled, ran) = (next(100.0), next(0.0));
    assert_eq!(strolled.at, ran.at);
    assert!(metres(&strolled) > 0.0);
    assert!((strolled.cost_s - ran.cost_s - metres(&strolled)).abs() < 1e-9);
}

#[test]
fn who_walks_with_difficulty_is_sent_less_far() {
    let (far, near) = (next(0.0), next(3000.0));
    assert!(metres(&near) < metres(&far), "{} and {}", near.at, far.at);
}

/// A kiln room at the end of a cable of this length, told of a loss under load there.
fn nothing_wrong(length: &str) -> f64 {
    let text = format!(
        "(
            format: 1,
            name: \"Kiln room\",
            circuits: [(id: \"c1\", amperes: 15)],
            boxes: [(id: \"door\", from: \"c1\", feet: 20), (id: \"kiln\", from: \"door\", {length})],
        )"
    );
    let room = circuit(&text);
    let means = Means::default();
    let tools = means.tools.clone();
    let mut inquiry = Inquiry::new(&room, means);
    for seen in words::observations(&room, &tools, "loaded-test at kiln: lost 14 V").unwrap() {
        inquiry.observe(&seen).unwrap();
    }
    inquiry.findings().nothing_wrong
}

#[test]
fn a_cable_of_unknown_length_may_be_what_takes_the_volts_away() {
    let (measured, unknown) = (nothing_wrong("feet: 30"), nothing_wrong("feet_between: (5, 55)"));
    assert!(1.0 - unknown < 0.5 * (1.0 - measured), "{measured} and {unknown}");
}
