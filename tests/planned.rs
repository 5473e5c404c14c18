//! A kept plan answers as a new solve does.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.

mod support;

use slotwise::netlist::{ElementId, Law, Netlist, NodeId, Role};
use slotwise::quantity::{Impedance, Phasor};
use slotwise::solution::{Planned, Refusal, Solution, solve};
use support::chance::{Chance, SUPPLIES, change, daisy_chain};

/// The plan keeps the EMFs moved as they were first: a conductor cut off from 120 V is reckoned
/// from there, and eps 120 V is 3e-11 of a millivolt. The contract is 1e-9.
const SAME_TOLERANCE: f64 = 1e-10;
/// Windings in a triangle drive kiloamperes in and out of the same nodes.
const ALONE_TOLERANCE: f64 = 1e-9;
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
const CURRENT_FLOOR_AMPERE: f64 = 1e-6;

fn hold_potentials(planned: &Planned<'_>, fresh: (&Netlist, &Solution), tolerance: f64) {
    let (netlist, fresh) = fresh;
    for node in netlist.nodes() {
        let (found, expected) = (planned.potential(node), fresh.potential(node));
        assert_eq!(found.is_some(), expected.is_some(), "{}", netlist.address(node));
        if let (Some(found), Some(expected)) = (found, expected) {
            let size = expected.magnitude().max(VOLTAGE_FLOOR_VOLT);
            let miss = (found - expected).magnitude() / size;
            assert!(miss <= tolerance, "{}: {miss:e}", netlist.address(node));
        }
    }
}

#[test]
fn opened_and_closed_joints_keep_the_plan_and_all_digits() {
    for seed in 0..24 {
        let supply = SUPPLIES[seed as usize % SUPPLIES.len()];
        let base = daisy_chain(seed, 6, supply, 1e14);
        let mut netlist = base.clone();
        let mut chance = Chance::new(seed + 31);
        let mut planned = Planned::new(&base).unwrap();
        for _ in 0..12 {
            for _ in 0..=chance.below(6) {
                let (element, law) = change(&mut chance, &netlist);
                netlist.set_law(element, law).unwrap();
                planned.set_law(element, &law).unwrap();
            }
            let fresh = solve(&netlist).unwrap();
            planned.solve_potentials().unwrap();
            hold_potentials(&planned, (&netlist, &fresh), ALONE_TOLERANCE);
            planned.solve().unwrap();
            hold_potentials(&planned, (&netlist, &fresh), SAME_TOLERANCE);
            for element in netlist.elements() {
                let (found, expected) = (planned.current(element).unwrap(), fresh.current(element));
                let size = expected.magnitude().max(CURRENT_FLOOR_AMPERE);
                let miss = (found - expected).magnitude() / size;
                let id = &netlist.element(element).id;
                assert!(miss <= SAME_TOLERANCE, "{seed} {id}: {miss:e} of {expected:?}");
            }
        }
    }
}

#[test]
fn an_emf_that_is_set_is_the_one_that_drives_whatever_it_was_before() {
    let source = |volt, ohm| Law::Source {
        emf_volt: Phasor::new(volt, 0.0),
        impedance: Impedance::resistance(ohm),
    };
    let built = |first: f64, second: f64| {
        let mut netlist = Netlist::new(50.0);
        let [hot, bus] = ["hot", "bus"].map(|name| netlist.node(&name.into()));
        let mut add = |name: &str, a, b, law| netlist.add(name, a, b, Role::Lumped, law).unwrap();
        add("heater", hot, Netlist::EARTH, Law::resistance(11.9));
        // What hangs on the bus is lifted by a source without impedance.
        add("lift", bus, hot, source(7.0, 0.0));
        let sources = [
            add("first", hot, Netlist::EARTH, source(first, 0.1)),
            add("second", bus, Netlist::EARTH, source(second, 0.3)),
        ];
        (netlist, hot, sources)
    };
    let (base, hot, sources) = built(120.0, 30.0);
    let mut planned = Planned::new(&base).unwrap();
    for (first, second) in [(1e-3, 1e20), (1e-9, 1e-3), (1e20, 0.0), (0.0, 240.0), (120.0, 0.0)] {
        planned.set_law(sources[0], &source(first, 0.1)).unwrap();
        planned.set_law(sources[1], &source(second, 0.3)).unwrap();
        let expected = solve(&built(first, second).0).unwrap().potential(hot).unwrap();
        for alone in [false, true] {
            if alone { planned.solve_potentials() } else { planned.solve() }.unwrap();
            let miss = (planned.potential(hot).unwrap() - expected).magnitude();
            assert!(miss <= 1e-13 * expected.magnitude(), "{first} {second}: {miss:e}");
        }
    }
}

#[test]
fn what_nothing_holds_any_more_is_undetermined_and_its_differences_stay() {
    let mut netlist = Netlist::new(50.0);
    let [hot, near, far] = ["hot", "near", "far"].map(|name| netlist.node(&name.into()));
    let supply =
        Law::Source { emf_volt: Phasor::new(230.0, 0.0), impedance: Impedance::resistance(0.2) };
    let mut add = |name: &str, a, b, law| netlist.add(name, a, b, Role::Lumped, law).unwrap();
    add("supply", hot, Netlist::EARTH, supply);
    let splice = add("splice", hot, near, Law::resistance(1e-3));
    add("wire", near, far, Law::resistance(0.1));
    let mut planned = Planned::new(&netlist).unwrap();
    assert_eq!(planned.potential(hot), None, "nothing is solved yet");
    planned.set_law(splice, &Law::Open).unwrap();
    for alone in [false, true] {
        if alone { planned.solve_potentials() } else { planned.solve() }.unwrap();
        assert!((planned.potential(hot).unwrap().magnitude() - 230.0).abs() < 1e-9);
        assert_eq!(planned.potential(far), None);
        assert_eq!(planned.difference(far, hot), None);
        assert!(planned.difference(far, near).unwrap().magnitude() < VOLTAGE_FLOOR_VOLT);
        assert_eq!(planned.current(splice).is_some(), !alone);
    }
    assert!(planned.set_law(splice, &Law::resistance(0.0)).is_err());
}

fn half(volt: f64) -> Law {
    Law::Source { emf_volt: Phasor::new(volt, 0.0), impedance: Impedance::new(0.02, 0.05) }
}

/// Two halves of a winding on one core, with the terminal of each and the first half.
fn coupled_halves() -> (Netlist, [NodeId; 2], ElementId) {
    let mut netlist = Netlist::new(60.0);
    let [one, other] = ["one", "other"].map(|name| netlist.node(&name.into()));
    let mut add = |name: &str, at, volt: f64| {
        netlist.add(name, at, Netlist::EARTH, Role::Winding, half(volt)).unwrap()
    };
    let (first, second) = (add("first", one, 120.0), add("second", other, -118.0));
    netlist.couple(first, second, Impedance::new(0.0, 0.03)).unwrap();
    (netlist, [one, other], first)
}

#[test]
fn coupled_windings_drive_potentials_that_are_solved_for_alone_too() {
    let earth = Netlist::EARTH;
    let (mut netlist, [one, other], _) = coupled_halves();
    netlist.add("kettle", one, earth, Role::Load, Law::resistance(2.0)).unwrap();
    netlist.add("lamp", other, earth, Role::Load, Law::resistance(70.0)).unwrap();
    let fresh = solve(&netlist).unwrap();
    let mut planned = Planned::new(&netlist).unwrap();
    planned.solve_potentials().unwrap();
    hold_potentials(&planned, (&netlist, &fresh), ALONE_TOLERANCE);
    // The kettle's current drops volts along the lamp's winding, which only the coupling does.
    assert!(planned.potential(other).unwrap().im.abs() > 1.0);
}

#[test]
fn a_choke_and_a_capacitor_that_cancel_are_refused_by_a_kept_plan_too() {
    let mut netlist = Netlist::new(60.0);
    let earth = Netlist::EARTH;
    let [hot, lamp] = ["hot", "lamp"].map(|name| netlist.node(&name.into()));
    let emf_volt = Phasor::new(120.0, 0.0);
    let behind_choke = Law::Source { emf_volt, impedance: Impedance::new(0.0, 10.0) };
    let capacitor = Law::Impedance(Impedance::new(0.0, -10.0));
    netlist.add("supply", hot, earth, Role::Winding, behind_choke).unwrap();
    netlist.add("capacitor", hot, earth, Role::Lumped, capacitor).unwrap();
    netlist.add("wire", hot, lamp, Role::Wire, Law::resistance(0.1)).unwrap();
    match Planned::new(&netlist).and_then(|mut planned| planned.solve()) {
        Err(Refusal::Resonance { terminal, cancellation }) => {
            assert!(["hot", "lamp"].contains(&&*terminal), "{terminal}");
            assert!(cancellation > 1e6, "{cancellation}");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_kept_plan_takes_no_law_that_is_not_linear_that_no_part_has_or_of_a_coupled_winding() {
    let (mut netlist, [one, _], first) = coupled_halves();
    let kettle =
        netlist.add("kettle", one, Netlist::EARTH, Role::Load, Law::resistance(12.0)).unwrap();
    let mut planned = Planned::new(&netlist).unwrap();
    let filament =
        Law::Filament { rated_watt: 60.0, rated_volt: 120.0, cold_fraction: 0.08, exponent: 0.6 };
    for law in [filament, Law::resistance(f64::NAN), Law::resistance(0.0)] {
        let refused = planned.set_law(kettle, &law);
        assert!(matches!(refused, Err(Refusal::NotPlanned { .. })), "{law:?}: {refused:?}");
    }
    let refused = planned.set_law(first, &half(110.0));
    assert!(matches!(refused, Err(Refusal::NotPlanned { .. })), "{refused:?}");
    planned.set_law(kettle, &Law::resistance(6.0)).unwrap();
    planned.solve().unwrap();
    assert!(planned.current(kettle).unwrap().magnitude() > 19.0);
    assert!((1.0..10.0).contains(&planned.accuracy_indicator()));
}

#[test]
fn a_choke_that_meets_a_capacitor_costs_as_many_digits_as_they_cancel() {
    // Four corners, each joined with each other and with earth, and a point between two of them: it
    // has the fewest neighbours and goes first.
    let mut netlist = Netlist::new(60.0);
    let corners = ["a", "b", "c", "d"].map(|name| netlist.node(&name.into()));
    let point = netlist.node(&"point".into());
    let mut add = |id: String, a, b, law| netlist.add(id, a, b, Role::Lumped, law).unwrap();
    for (at, &corner) in corners.iter().enumerate() {
        let (emf_volt, impedance) = (Phasor::new(120.0, 0.0), Impedance::resistance(1.0));
        add(format!("supply {at}"), corner, Netlist::EARTH, Law::Source { emf_volt, impedance });
        for (nth, &other) in corners.iter().enumerate().skip(at + 1) {
            add(format!("wire {at}-{nth}"), corner, other, Law::resistance(1.0));
        }
    }
    let reactance = |ohm| Law::Impedance(Impedance::new(0.0, ohm));
    add("choke".to_owned(), corners[0], point, reactance(10.0));
    let capacitor = add("capacitor".to_owned(), point, corners[1], reactance(25.0));
    let mut planned = Planned::new(&netlist).unwrap();
    // Both of one kind: nothing to speak of cancels.
    planned.solve().unwrap();
    assert!(planned.accuracy_indicator() < 1.2, "{}", planned.accuracy_indicator());
    // 100 millisiemens less 40, where both meet.
    planned.set_law(capacitor, &reactance(-25.0)).unwrap();
    planned.solve().unwrap();
    let indicated = planned.accuracy_indicator();
    assert!((indicated - 140.0 / 60.0).abs() < 1e-9, "{indicated}");
}
