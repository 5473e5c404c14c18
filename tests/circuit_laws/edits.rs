//! What faults and settings do to the network, seen as changes of few elements.

use std::collections::{BTreeMap, BTreeSet};

use slotwise::circuit::{CableEnd, Circuit};
use slotwise::condition::{
    AttachedLaw, Attachment, Condition, EndOfCable, Fault, Gap, LoadState, SwitchPosition,
};
use slotwise::netlist::{Law, Netlist, WireProblem, wire};

use crate::building::workshop;

/// Each element by name: its ends and its law.
type Listed = BTreeMap<String, (String, String, Law)>;

fn listed(netlist: &Netlist) -> Listed {
    netlist
        .elements()
        .map(|id| {
            let (a, b) = netlist.ends(id);
            let end = |node| netlist.address(node).to_string();
            let element = netlist.element(id);
            (element.id.clone(), (end(a), end(b), element.law))
        })
        .collect()
}

fn wired(condition: &Condition) -> Listed {
    listed(&wire(&Circuit::new(workshop()).unwrap(), condition).unwrap())
}

fn with(faults: Vec<Fault>) -> Condition {
    Condition { faults, ..Condition::default() }
}

/// The elements that a condition changes, adds or takes away.
fn changed(condition: &Condition) -> BTreeSet<String> {
    let (before, after) = (wired(&Condition::default()), wired(condition));
    before
        .keys()
        .chain(after.keys())
        .filter(|id| before.get(*id) != after.get(*id))
        .cloned()
        .collect()
}

fn names(ids: &[&str]) -> BTreeSet<String> {
    ids.iter().map(|id| (*id).to_owned()).collect()
}

fn open(element: &str) -> Fault {
    Fault::Open { element: element.into(), gap: Gap::NONE }
}

fn resistance(element: &str, resistance_ohm: f64) -> Fault {
    Fault::Resistance { element: element.into(), resistance_ohm }
}

fn swap(cable: &str, end: CableEnd, first: &str, second: &str) -> Fault {
    Fault::ExchangedAtCableEnd {
        end: EndOfCable { cable: cable.into(), end },
        conductors: (first.into(), second.into()),
    }
}

fn ends(listed: &Listed, id: &str) -> (String, String) {
    let (a, b, _) = &listed[id];
    (a.clone(), b.clone())
}

fn ohms(law: Law) -> f64 {
    match law {
        Law::Impedance(impedance) => impedance.resistance_ohm,
        other => panic!("{other:?} is no resistance"),
    }
}

#[test]
fn an_open_joint_changes_one_element_and_its_gap_lies_across_it() {
    assert_eq!(changed(&with(vec![open("contact:k2.b.hot")])), names(&["contact:k2.b.hot"]));
    let gap = Gap { capacitance_farad: Some(2e-12), resistance_ohm: Some(5e8) };
    let fault = Fault::Open { element: "contact:k2.b.hot".into(), gap };
    let after = wired(&with(vec![fault]));
    let joint = ends(&after, "contact:k2.b.hot");
    assert_eq!(ends(&after, "gap:contact:k2.b.hot"), joint);
    assert_eq!(ends(&after, "gapleak:contact:k2.b.hot"), joint);
}

#[test]
fn a_bad_service_conductor_keeps_its_reactance() {
    let after = wired(&with(vec![resistance("service:neutral", 0.6)]));
    let Law::Impedance(neutral) = after["service:neutral"].2 else { panic!("no impedance") };
    assert!((neutral.resistance_ohm - 0.6).abs() < 1e-15);
    assert!((neutral.reactance_ohm - 0.004).abs() < 1e-15);
}

#[test]
fn an_open_joint_stays_open_whatever_else_is_said_of_it() {
    let (bad, gone) = (resistance("contact:k1.a.hot", 2.0), open("contact:k1.a.hot"));
    for faults in [vec![bad.clone(), gone.clone()], vec![gone, bad]] {
        assert_eq!(wired(&with(faults))["contact:k1.a.hot"].2, Law::Open);
    }
}

#[test]
fn exchanged_conductors_exchange_their_landings_with_their_contacts() {
    let before = wired(&Condition::default());
    let after = wired(&with(vec![swap("k2", CableEnd::A, "hot", "neutral")]));
    let (hot, neutral) = ("contact:k2.a.hot", "contact:k2.a.neutral");
    assert_eq!(after[hot].0, before[hot].0, "the wire end stays");
    assert_eq!(after[hot].1, before[neutral].1);
    assert_eq!(after[hot].2, before[neutral].2);
    assert_eq!(after[neutral].1, before[hot].1);
}

#[test]
fn three_conductors_rotate_by_two_exchanges_in_the_order_listed() {
    let after = wired(&with(vec![
        swap("k2", CableEnd::A, "hot", "neutral"),
        swap("k2", CableEnd::A, "neutral", "ground"),
    ]));
    assert_eq!(after["contact:k2.a.hot"].1, "box1.splice.neutral");
    assert_eq!(after["contact:k2.a.neutral"].1, "box1.splice.ground");
    assert_eq!(after["contact:k2.a.ground"].1, "box1.splice.hot");
}

#[test]
fn exchanging_twice_is_no_exchange() {
    let twice = vec![swap("k2", CableEnd::B, "hot", "ground"); 2];
    assert_eq!(changed(&with(twice)), BTreeSet::new());
}

#[test]
fn a_landed_conductor_exchanged_with_a_capped_one_leaves_the_first_capped() {
    let after = wired(&with(vec![swap("spare", CableEnd::B, "hot", "ground")]));
    assert!(!after.contains_key("contact:spare.b.hot"));
    assert_eq!(after["contact:spare.b.ground"].0, "spare.b.ground");
    assert_eq!(after["contact:spare.b.ground"].1, "bench.splice.hot");
}

#[test]
fn joints_that_exchange_their_far_ends_keep_their_own_resistances() {
    let (first, second) = ("link:box1.pigtail.neutral", "link:box1.pigtail.ground");
    let fault = Fault::ExchangedJoints { elements: (first.into(), second.into()) };
    let (before, after) = (wired(&Condition::default()), wired(&with(vec![fault])));
    assert_eq!(after[first].1, before[second].1);
    assert_eq!(after[second].1, before[first].1);
    assert_eq!(after[first].2, before[first].2);
}

#[test]
fn a_breaker_on_the_wrong_bus_is_fed_from_it() {
    let fault = Fault::WrongBus { circuit: "c1".into(), bus: "panel.L2".into() };
    let after = wired(&with(vec![fault]));
    assert_eq!(ends(&after, "breaker:c1"), ("panel.L2".into(), "c1.hot".into()));
}

#[test]
fn a_wire_on_the_wrong_terminal_lands_there() {
    let fault = Fault::WrongLanding {
        end: EndOfCable { cable: "k1".into(), end: CableEnd::A },
        conductor: "ground".into(),
        to: "panel.neutral".into(),
    };
    assert_eq!(wired(&with(vec![fault]))["contact:k1.a.ground"].1, "panel.neutral");
}

#[test]
fn line_and_load_exchanged_moves_the_wires_and_not_the_slots() {
    let fault = Fault::LineLoadExchanged { device: "gf".into() };
    let (before, after) = (wired(&Condition::default()), wired(&with(vec![fault])));
    assert_eq!(after["link:gf.line.hot"].1, "gf.load.hot", "the feed is on the load terminal");
    assert_eq!(after["link:yard.feed.neutral"].0, "gf.line.neutral");
    assert_eq!(after["link:gf.slot.hot"], before["link:gf.slot.hot"]);
    assert_eq!(after["switch:gf.hot"], before["switch:gf.hot"]);
}

#[test]
fn several_troubles_inside_one_cable_share_every_whole_conductor() {
    let in_k2 = |conductor: &str, at_fraction, resistance_ohm| Fault::ResistanceInCable {
        cable: "k2".into(),
        conductor: conductor.into(),
        at_fraction,
        resistance_ohm,
    };
    let broken = Fault::Broken {
        cable: "k2".into(),
        conductor: "neutral".into(),
        at_fraction: 0.25,
        gap: Gap::NONE,
    };
    let after = wired(&with(vec![in_k2("hot", 0.75, 1.5), broken, in_k2("hot", 0.25, 0.5)]));
    assert_eq!(ends(&after, "wire:k2.hot~1"), ("k2.a.hot".into(), "k2.m1l.hot".into()));
    assert_eq!(ends(&after, "wire:k2.hot~2"), ("k2.m1r.hot".into(), "k2.m2l.hot".into()));
    assert_eq!(ends(&after, "wire:k2.hot~3"), ("k2.m2r.hot".into(), "k2.b.hot".into()));
    assert_eq!(
        ends(&after, "wire:k2.neutral~2"),
        ("k2.m1r.neutral".into(), "k2.m2.neutral".into())
    );
    assert_eq!(ends(&after, "wire:k2.ground~3"), ("k2.m2.ground".into(), "k2.b.ground".into()));
    assert_eq!(ends(&after, "cap:k2.hot-earth~2.b"), ("k2.m2l.hot".into(), "earth".into()));
    assert!((ohms(after["midjoint:k2.hot"].2) - 0.5).abs() < 1e-15, "nearest to end a");
    assert!((ohms(after["midjoint:k2.hot~2"].2) - 1.5).abs() < 1e-15);
    assert!(!after.contains_key("wire:k2.hot"), "the whole wire is gone");
    let whole = ohms(wired(&Condition::default())["wire:k2.hot"].2);
    let pieces: f64 = (1..=3).map(|n| ohms(after[&format!("wire:k2.hot~{n}")].2)).sum();
    assert!((whole - pieces).abs() < 1e-15);
}

#[test]
fn a_contact_inside_a_cable_meets_a_broken_conductor_on_the_supply_side() {
    let faults = vec![
        Fault::ContactInCable {
            cable: "k3".into(),
            conductors: ("hot".into(), "ground".into()),
            at_fraction: 0.5,
            resistance_ohm: 100.0,
        },
        Fault::Broken {
            cable: "k3".into(),
            conductor: "hot".into(),
            at_fraction: 0.5,
            gap: Gap { capacitance_farad: Some(1e-12), resistance_ohm: None },
        },
    ];
    let after = wired(&with(faults));
    assert_eq!(
        ends(&after, "midcontact:k3.hot-ground"),
        ("k3.m1l.hot".into(), "k3.m1.ground".into())
    );
    assert_eq!(ends(&after, "gap:wire:k3.hot"), ("k3.m1l.hot".into(), "k3.m1r.hot".into()));
}

#[test]
fn faults_that_move_no_wire_may_be_listed_in_any_order() {
    let faults = vec![
        open("contact:k2.a.neutral"),
        resistance("contact:k1.b.hot", 0.4),
        Fault::Glowing { element: "link:box2.pigtail.hot".into() },
        Fault::Bridge {
            id: "bootleg".into(),
            between: ("box1.neutral".into(), "box1.ground".into()),
            resistance_ohm: 0.002,
        },
        Fault::Broken {
            cable: "k3".into(),
            conductor: "hot".into(),
            at_fraction: 0.5,
            gap: Gap::NONE,
        },
        Fault::ContactInCable {
            cable: "k3".into(),
            conductors: ("neutral".into(), "ground".into()),
            at_fraction: 0.2,
            resistance_ohm: 5.0,
        },
        Fault::Tab { device: "pair".into(), conductor: "hot".into(), intact: true },
        swap("k1", CableEnd::B, "hot", "neutral"),
    ];
    let expected = wired(&with(faults.clone()));
    for turn in 1..faults.len() {
        let mut turned = faults.clone();
        turned.rotate_left(turn);
        assert_eq!(wired(&with(turned.clone())), expected);
        turned.reverse();
        assert_eq!(wired(&with(turned)), expected);
    }
}

#[test]
fn a_handle_tie_takes_the_other_breaker_along() {
    let mut condition = Condition::default();
    condition.breakers.insert("c2".into(), false);
    assert_eq!(changed(&condition), names(&["breaker:c1", "breaker:c2"]));
    condition.breakers.insert("c1".into(), true);
    let refused = wire(&Circuit::new(workshop()).unwrap(), &condition).unwrap_err();
    assert!(matches!(refused, WireProblem::Impossible { .. }), "{refused}");
}

#[test]
fn an_open_switch_couples_through_its_gap_alone() {
    let mut condition = Condition::default();
    condition.switches.insert("hall".into(), SwitchPosition::Open);
    assert_eq!(changed(&condition), names(&["switch:hall", "switchgap:hall"]));
    condition.switches.insert("hall".into(), SwitchPosition::Closed);
    assert_eq!(changed(&condition), BTreeSet::new());
}

#[test]
fn a_three_way_switch_moves_two_contacts_and_their_gaps() {
    let mut condition = Condition::default();
    condition.switches.insert("low".into(), SwitchPosition::Two);
    let expected = ["switch:low.t1", "switch:low.t2", "switchgap:low.t1", "switchgap:low.t2"];
    assert_eq!(changed(&condition), names(&expected));
}

#[test]
fn both_poles_of_an_isolator_close_together() {
    let mut condition = Condition::default();
    condition.switches.insert("isolator".into(), SwitchPosition::Closed);
    let after = wired(&condition);
    assert!((ohms(after["switch:isolator.p1"].2) - 0.006).abs() < 1e-15);
    assert!((ohms(after["switch:isolator.p2"].2) - 0.006).abs() < 1e-15);
    assert!(!after.contains_key("switchgap:isolator.p1"));
}

#[test]
fn a_tripped_ground_fault_device_opens_every_pole() {
    let mut condition = Condition::default();
    condition.breakers.insert("gf".into(), false);
    let expected =
        ["switch:gf.hot", "switch:gf.neutral", "switchgap:gf.hot", "switchgap:gf.neutral"];
    assert_eq!(changed(&condition), names(&expected));
}

#[test]
fn unplugging_opens_the_plug_and_the_load() {
    let mut description = workshop();
    description.loads[0].plug_links = vec!["box1.pigtail.hot".into()];
    let name = description.loads[0].id.clone();
    let circuit = Circuit::new(description).unwrap();
    let mut condition = Condition::default();
    condition.loads.insert(name.clone(), LoadState::Unplugged);
    let after = listed(&wire(&circuit, &condition).unwrap());
    assert_eq!(after["link:box1.pigtail.hot"].2, Law::Open);
    assert_eq!(after[&format!("load:{name}")].2, Law::Open);
}

#[test]
fn a_stalled_motor_draws_through_its_locked_rotor() {
    let mut condition = Condition::default();
    condition.loads.insert("drill".into(), LoadState::Stalled);
    assert!((ohms(wired(&condition)["load:drill"].2) - 2.4).abs() < 1e-15);
    condition.loads.insert("lamp".into(), LoadState::Stalled);
    let refused = wire(&Circuit::new(workshop()).unwrap(), &condition).unwrap_err();
    assert_eq!(refused.to_string(), "`lamp`: only a motor can be stalled");
}

#[test]
fn an_instrument_may_have_a_node_of_its_own_where_two_of_its_parts_meet() {
    let attach = |id: &str, to: &str| Attachment {
        id: id.into(),
        between: ("probe".into(), to.into()),
        law: AttachedLaw::CapacitanceFarad(2e-12),
    };
    let circuit = Circuit::new(workshop()).unwrap();
    let mut condition = Condition::default();
    condition.attached.push(attach("probe to hot", "k1.b.hot"));
    let refused = wire(&circuit, &condition).unwrap_err();
    assert!(matches!(refused, WireProblem::Unknown(_)), "a probe that hangs in the air");
    condition.attached.push(attach("probe to body", "earth"));
    assert!(wire(&circuit, &condition).is_ok());
}

#[test]
fn whatever_the_circuit_does_not_have_is_answered_with_the_closest_name() {
    let cases = [
        (open("contact:k2.b.hott"), "contact:k2.b.hot"),
        (swap("k22", CableEnd::A, "hot", "neutral"), "k2"),
        (swap("k2", CableEnd::A, "hot", "neutrl"), "neutral"),
        (Fault::WrongBus { circuit: "c1".into(), bus: "panel.L3".into() }, "panel.L1"),
        (Fault::LineLoadExchanged { device: "gf1".into() }, "gf"),
        (
            Fault::Bridge {
                id: "x".into(),
                between: ("box1.neutrall".into(), "box1.ground".into()),
                resistance_ohm: 0.1,
            },
            "box1.neutral",
        ),
    ];
    let circuit = Circuit::new(workshop()).unwrap();
    for (fault, expected) in cases {
        match wire(&circuit, &with(vec![fault])) {
            Err(WireProblem::Unknown(unknown)) => {
                assert!(unknown.close.iter().any(|name| name == expected), "{unknown}");
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn values_that_no_part_can_have_are_refused_in_words() {
    let inside = |at_fraction, resistance_ohm| Fault::ResistanceInCable {
        cable: "k2".into(),
        conductor: "hot".into(),
        at_fraction,
        resistance_ohm,
    };
    let refused = [
        resistance("contact:k2.b.hot", -1.0),
        resistance("contact:k2.b.hot", f64::NAN),
        resistance("load:lamp", 5.0),
        resistance("winding:L1", 5.0),
        inside(0.0, 1.0),
        inside(1.0, 1.0),
        inside(f64::NAN, 1.0),
        inside(0.5, f64::INFINITY),
        Fault::Tab { device: "pair".into(), conductor: "ground".into(), intact: true },
    ];
    let circuit = Circuit::new(workshop()).unwrap();
    for fault in refused {
        match wire(&circuit, &with(vec![fault.clone()])) {
            Err(WireProblem::Impossible { .. }) => {}
            other => panic!("{fault:?}: {other:?}"),
        }
    }
}
