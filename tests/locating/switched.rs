//! Lights that stay on however their switches stand.

use slotwise::condition::catalogue::FaultKind;
use slotwise::diagnosis::{Advice, Because, Inquiry};

use crate::call::{circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "loaded-test", "ohmmeter"];

const COOPERS: &str = r#"(
    format: 1,
    name: "Coopers' hall",
    circuits: [(id: "lts", amperes: 15)],
    boxes: [
        (id: "door", from: "lts", feet: 20, device: Switch(closed: true)),
        (id: "ceiling", from: "door", feet: 12, carries: ["switched", "neutral", "ground"], devices: []),
        (id: "bench", from: "lts", feet: 25),
    ],
    loads: [
        (id: "hall-light", at: "ceiling", kind: Led(watts: 18), wired: true, across: ("switched", "neutral")),
    ],
)"#;

const STAIRS: &str = r#"(
    format: 1,
    name: "Malt loft stairs",
    circuits: [(id: "c1", amperes: 15)],
    boxes: [
        (id: "foot", from: "c1", feet: 20, device: ThreeWay(common: "hot")),
        (id: "top", from: "foot", feet: 30,
         carries: ["traveller1", "traveller2", "neutral", "ground"], device: ThreeWay(common: "switched")),
        (id: "hatch", from: "top", feet: 8, carries: ["switched", "neutral", "ground"], devices: []),
    ],
    loads: [(id: "lamp", at: "hatch", kind: Led(watts: 20), wired: true, across: ("switched", "neutral"))],
)"#;

/// How likely faults of these kinds are.
fn likely(inquiry: &Inquiry<'_>, kinds: &[FaultKind]) -> f64 {
    let suspects = inquiry.findings().suspects;
    let of_it = |suspect: &slotwise::diagnosis::Suspect| {
        let faults = suspect.faults.iter().filter(|one| kinds.contains(&one.fault.kind));
        suspect.probability * faults.map(|one| one.share).sum::<f64>()
    };
    suspects.iter().map(of_it).sum()
}

#[test]
fn a_light_that_one_switch_does_not_put_out_has_a_switch_that_is_stuck() {
    let coopers = circuit(COOPERS);
    let stays_on = told(&coopers, TOOLS, "hall-light won't turn off", &[]);
    let stuck = likely(&stays_on, &[FaultKind::SwitchStuck]);
    assert!(stuck > 0.5, "{stuck}");
    assert!(stays_on.findings().nothing_wrong < 0.1);
    let first = &stays_on.findings().suspects[0];
    let says = first.faults[0].fault.sentence(&coopers);
    assert_eq!(says, "switch door itself worn out: its contact to switched stays closed");
}

#[test]
fn a_light_that_neither_of_two_switches_puts_out_has_travellers_that_touch_or_a_stuck_switch() {
    let stairs = circuit(STAIRS);
    let stays_on = told(&stairs, TOOLS, "lamp can't be turned off from either switch", &[]);
    let kinds = [FaultKind::SwitchStuck, FaultKind::TouchingInCable, FaultKind::Bridged];
    let joined = likely(&stays_on, &kinds);
    let other = likely(&stays_on, &[FaultKind::SwitchOther]);
    assert!(joined > 0.3 && joined > 3.0 * other, "{joined} {other}");
}

#[test]
fn a_light_that_can_be_put_out_again_ends_the_call() {
    let coopers = circuit(COOPERS);
    let saw = ["mended door", "hall-light dead with switch door open"];
    let mut over = told(&coopers, TOOLS, "hall-light stays on", &saw);
    match over.advise() {
        Advice::Stop(stop) => assert_eq!(stop.because, Because::Mended),
        Advice::Test(test) => panic!("{} at {}", test.instrument, test.at),
    }
}
