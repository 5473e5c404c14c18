//! How what is wrong began: what used to work was not wired wrong from the first day.

use slotwise::condition::catalogue::FaultKind;
use slotwise::diagnosis::Suspect;

use crate::call::{circuit, told};

/// A garage past a ground-fault device, with a freezer in it.
const GARAGE: &str = r#"(
    format: 1,
    name: "Harness-maker's",
    circuits: [(id: "bath", amperes: 20, leg: "L1"), (id: "rooms", amperes: 15, leg: "L2")],
    boxes: [
        (id: "basin", from: "bath", feet: 40, device: GroundFault(feeds: true)),
        (id: "garage", from: "basin", feet: 30),
        (id: "hall", from: "rooms", feet: 20),
    ],
    loads: [(id: "freezer", at: "garage", kind: Motor(watts: 150), metal_case: true)],
)"#;

#[test]
fn what_would_have_tripped_from_the_first_day_is_hardly_why_a_garage_is_dead_now() {
    let garage = circuit(GARAGE);
    let inquiry = told(&garage, &["tester", "voltmeter"], "garage dead", &[]);
    let findings = inquiry.findings();
    let is_bootleg = |suspect: &&Suspect| {
        suspect.faults[0].fault.sentence(&garage).starts_with("bootleg ground")
    };
    let bootlegs = findings.suspects.iter().filter(is_bootleg);
    let bootleg: f64 = bootlegs.map(|suspect| suspect.probability).sum();
    assert!(bootleg > 0.0 && bootleg < 0.1, "{bootleg}");
    assert!(findings.suspects[0].faults[0].fault.change.breakers.values().any(|closed| !closed));
}

/// A ring of three socket-outlets: two wires exchanged anywhere in it are a short.
const RING: &str = r#"(
    format: 1,
    name: "Chapel hall",
    supply: (system: Single230, earthing: TnCS),
    words: Iec,
    circuits: [(id: "ring", amperes: 32, curve: B, ring: (last: "vestry", metres: 12))],
    boxes: [
        (id: "porch", from: "ring", metres: 9),
        (id: "nave", from: "porch", metres: 8),
        (id: "vestry", from: "nave", metres: 7),
    ],
    loads: [(id: "urn", at: "nave", kind: Resistive(watts: 2800), metal_case: true)],
)"#;

#[test]
fn a_ring_that_trips_with_nothing_plugged_in_has_a_short_and_no_wires_exchanged_since_it_was_laid()
{
    let hall = circuit(RING);
    let saw = ["ring trips at once with everything unplugged"];
    let inquiry = told(&hall, &["tester", "voltmeter"], "ring trips at once", &saw);
    let findings = inquiry.findings();
    let of = |kinds: &[FaultKind]| -> f64 {
        let faults = findings.suspects.iter().flat_map(|suspect| {
            suspect.faults.iter().map(|one| (one.fault.kind, suspect.probability * one.share))
        });
        faults.filter(|(kind, _)| kinds.contains(kind)).map(|(_, share)| share).sum()
    };
    let short = of(&[FaultKind::Bridged, FaultKind::TouchingInCable]);
    let exchanged = of(&[FaultKind::ExchangedAtCableEnd, FaultKind::ExchangedAtDevice]);
    assert!(short > exchanged, "{short} {exchanged}");
}
