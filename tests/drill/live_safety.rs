//! What would hurt in a live drill is pointed out and counts.

use slotwise::diagnosis::Costs;
use slotwise::drill::live::{Answer, Live, UnsafeAct};

use crate::support::{by_hand, does};

/// A switch that feeds a lamp, a warmer with a case, and plain receptacles.
const DOVECOTE: &str = r#"(format: 1, name: "Dovecote",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "sill", from: "c1", feet: 37),
        (id: "spout", from: "sill", feet: 14),
        (id: "loft", from: "spout", feet: 9, device: Switch(closed: true)),
        (id: "ladder", from: "loft", feet: 18, carries: ["switched", "neutral", "ground"], devices: []),
    ],
    loads: [
        (id: "warmer", at: "spout", kind: Resistive(watts: 995), on: false, metal_case: true),
        (id: "kettle", at: "sill", kind: Resistive(watts: 900), on: false),
        (id: "lamp", at: "ladder", kind: Filament(watts: 40), wired: true, across: ("switched", "neutral")),
    ],
)"#;

fn live(faults: &[&str]) -> Live {
    Live::new(by_hand(DOVECOTE, faults)).unwrap()
}

#[test]
fn a_live_case_is_neither_switched_nor_unplugged_with_the_breaker_on() {
    for act in ["warmer unplugged", "warmer on", "warmer off"] {
        let mut live = live(&["ground and hot exchanged at spout, line side"]);
        let Answer::Set { warnings, .. } = does(&mut live, act) else { panic!("{act}") };
        let [UnsafeAct::HandledLive { load, volt }] = warnings.as_slice() else {
            panic!("{act}: {warnings:?}")
        };
        assert!(load == "warmer" && *volt > 100.0, "{volt}");
        assert_eq!(live.score().unsafe_acts.len(), 1);
    }
    let mut live = live(&["ground and hot exchanged at spout, line side"]);
    for act in ["kettle on", "breaker c1 off; warmer unplugged", "breaker c1 on"] {
        let Answer::Set { warnings, .. } = does(&mut live, act) else { panic!("{act}") };
        assert_eq!(warnings, [], "{act}");
    }
}

#[test]
fn a_breaker_is_closed_onto_the_same_short_once_and_not_again() {
    let mut live = live(&["hot and neutral bridged at sill"]);
    let warned = |live: &mut Live, act| match does(live, act) {
        Answer::Set { warnings, .. } => warnings,
        other => panic!("{other:?}"),
    };
    assert_eq!(warned(&mut live, "breaker c1 on"), [], "once is a test");
    let again = UnsafeAct::ClosedAgain { breaker: "c1".to_owned() };
    assert_eq!(warned(&mut live, "breaker c1 on"), [again]);
    warned(&mut live, "warmer unplugged");
    assert_eq!(warned(&mut live, "breaker c1 on"), [], "something has been changed");
}

#[test]
fn a_wall_switch_that_is_off_proves_no_box_dead() {
    let mut live = live(&["hot and neutral exchanged at sill"]);
    does(&mut live, "loft off");
    let Answer::Proved { volt, not_off, .. } = does(&mut live, "prove ladder") else { panic!() };
    assert!(volt < 5.0, "{volt}");
    assert_eq!(not_off, ["c1"]);
    let Answer::Opened { warning, .. } = does(&mut live, "open ladder") else { panic!() };
    let not_off =
        UnsafeAct::NotSwitchedOff { place: "ladder".to_owned(), breakers: vec!["c1".to_owned()] };
    assert_eq!(warning, Some(not_off));
}

#[test]
fn a_breaker_that_only_tripped_is_not_switched_off() {
    let mut live = live(&["hot and neutral bridged at sill"]);
    does(&mut live, "prove sill");
    let Answer::Opened { warning, .. } = does(&mut live, "open sill") else { panic!() };
    assert!(matches!(warning, Some(UnsafeAct::NotSwitchedOff { .. })), "{warning:?}");
    does(&mut live, "breaker c1 off");
    does(&mut live, "prove sill");
    let Answer::Opened { warning, .. } = does(&mut live, "open sill") else { panic!() };
    assert_eq!(warning, None);
}

#[test]
fn one_handle_makes_all_its_poles_dead_and_a_box_costs_what_the_strategy_pays_for_it() {
    const SHARED: &str = r#"(format: 1, name: "Oast loft",
        circuits: [(id: "c1", amperes: 20, legs: ["L1", "L2"], tied: true)],
        boxes: [
            (id: "sill", from: "c1", feet: 30),
            (id: "kiln", from: "sill", feet: 14, device: Receptacle(hot: "hot2")),
            (id: "press", from: "kiln", feet: 9, capped: ["hot2"]),
        ],
        loads: [(id: "lamp", at: "press", kind: Filament(watts: 60))],
    )"#;
    let mut live = Live::new(by_hand(SHARED, &["neutral open at kiln, line side"])).unwrap();
    does(&mut live, "breaker c1 off");
    let Answer::Proved { not_off, .. } = does(&mut live, "prove kiln") else { panic!() };
    assert!(not_off.is_empty(), "{not_off:?}");
    let Answer::Opened { warning, .. } = does(&mut live, "open kiln") else { panic!() };
    assert_eq!(warning, None);
    assert!((live.spent_s() - Costs::default().open_box_s).abs() < 1e-9, "{}", live.spent_s());
    // Closed again, no pole of it counts as off.
    does(&mut live, "breaker c1 on");
    let Answer::Proved { not_off, .. } = does(&mut live, "prove kiln") else { panic!() };
    assert_eq!(not_off.len(), 2, "{not_off:?}");
}
