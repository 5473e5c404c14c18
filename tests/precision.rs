//! Digits: the solver against the same networks solved with 32 digits.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.
#![allow(clippy::print_stdout)] // The figures are quoted in docs/accuracy.md.

mod support;

use approx::assert_relative_eq;
use slotwise::netlist::{Law, Netlist, Role};
use slotwise::network::Refusal;
use slotwise::quantity::{Impedance, Phasor};
use slotwise::solution::{Planned, Solution, WhatIf, solve};
use support::chance::{SUPPLIES, Supply, daisy_chain};
use support::referee::{Verdict, judge};
use support::worst_of;

/// A potential below this counts as this when its error is made relative.
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
/// The same for a current.
const CURRENT_FLOOR_AMPERE: f64 = 1e-6;

fn relative(found: Phasor, expected: Phasor, floor: f64) -> f64 {
    (found - expected).magnitude() / expected.magnitude().max(floor)
}

/// Worst relative error of potentials and of currents.
fn errors(netlist: &Netlist, solution: &Solution, verdict: &Verdict) -> (f64, f64) {
    let potential = netlist.nodes().zip(&verdict.potential).map(|(node, &expected)| {
        relative(solution.potential(node).unwrap(), expected, VOLTAGE_FLOOR_VOLT)
    });
    let current = netlist.elements().zip(&verdict.current).map(|(element, &expected)| {
        relative(solution.current(element), expected, CURRENT_FLOOR_AMPERE)
    });
    (worst_of(potential), worst_of(current))
}

/// The same of the potentials of a dense LU.
fn dense_error(netlist: &Netlist, verdict: &Verdict) -> f64 {
    let Some(potentials) = support::dense::potentials(netlist) else { return f64::INFINITY };
    let pairs = potentials.into_iter().zip(&verdict.potential);
    worst_of(pairs.map(|(found, &expected)| relative(found, expected, VOLTAGE_FLOOR_VOLT)))
}

/// The contract is 1e-9; measured is 3e-15 (`docs/accuracy.md`).
const POTENTIAL_TOLERANCE: f64 = 1e-13;
const CURRENT_TOLERANCE: f64 = 1e-13;
/// A dense solve is slow; so many of each kind show what it is worth.
const N_DENSE: u64 = 3;
/// Ratio of contact to insulation admittance.
const CONTRASTS: [f64; 4] = [1e10, 1e13, 1e16, 1e18];

#[test]
fn floating_conductors_keep_their_digits_at_any_contrast() {
    for supply in SUPPLIES {
        for contrast in CONTRASTS {
            let mut worst = (0.0_f64, 0.0_f64);
            let mut dense_worst = 0.0_f64;
            for seed in 0..12 {
                let netlist = daisy_chain(seed, 10, supply, contrast);
                let solution = solve(&netlist).unwrap();
                let verdict = judge(&netlist);
                let (v, i) = errors(&netlist, &solution, &verdict);
                if seed < N_DENSE {
                    dense_worst = dense_worst.max(dense_error(&netlist, &verdict));
                }
                worst = (worst_of([worst.0, v]), worst_of([worst.1, i]));
                assert!(solution.accuracy_indicator() < 10.0);
            }
            // Seen with --nocapture; docs/accuracy.md quotes it.
            println!(
                "{supply:?} {contrast:e}: potentials {:.1e}, currents {:.1e}; dense LU {dense_worst:.1e}",
                worst.0, worst.1
            );
            assert!(worst.0 < POTENTIAL_TOLERANCE && worst.1 < CURRENT_TOLERANCE);
        }
    }
}

/// Nothing of what is stored is subtracted where one source has an end at the reference: the
/// digits are those of the potential however small it is. Windings in a triangle cost digits of
/// what is near zero.
const ALONE_TOLERANCE: [(Supply, f64, f64); 4] = [
    (Supply::Bonded, 1e-13, f64::MIN_POSITIVE),
    (Supply::Floating, 1e-13, f64::MIN_POSITIVE),
    (Supply::SplitPhase, 1e-13, f64::MIN_POSITIVE),
    (Supply::Delta, 1e-9, VOLTAGE_FLOOR_VOLT),
];

#[test]
fn potentials_solved_for_alone_keep_the_digits_of_conductors_that_float() {
    for (supply, tolerance, floor) in ALONE_TOLERANCE {
        for contrast in CONTRASTS {
            let mut worst = 0.0_f64;
            for seed in 0..12 {
                let netlist = daisy_chain(seed, 10, supply, contrast);
                let verdict = judge(&netlist);
                let mut planned = Planned::new(&netlist).unwrap();
                planned.solve_potentials().unwrap();
                let pairs = netlist.nodes().zip(&verdict.potential).skip(1);
                let misses = pairs.map(|(node, &expected)| {
                    relative(planned.potential(node).unwrap(), expected, floor)
                });
                worst = worst_of([worst, worst_of(misses)]);
            }
            println!("{supply:?} {contrast:e}: potentials alone {worst:.1e}");
            assert!(worst < tolerance, "{supply:?} {contrast:e}: {worst:e}");
        }
    }
}

#[test]
fn a_generator_that_insulation_alone_joins_with_the_service_keeps_its_digits() {
    for seed in 0..6 {
        let mut netlist = daisy_chain(seed, 6, Supply::Bonded, 1e13);
        let [hot, neutral, near] =
            ["generator.h", "generator.n", "2.hub.g"].map(|name| netlist.node(&name.into()));
        let generator = Law::Source {
            emf_volt: Phasor::polar(230.0, 40.0),
            impedance: Impedance::new(0.05, 0.02),
        };
        for (name, a, b, law) in [
            ("generator", hot, neutral, generator),
            ("heater", hot, neutral, Law::resistance(30.0)),
            ("insulation", neutral, Netlist::EARTH, Law::resistance(1e9)),
            ("stray", hot, near, Law::Capacitor { capacitance_farad: 2e-10 }),
        ] {
            netlist.add(name, a, b, Role::Lumped, law).unwrap();
        }
        let verdict = judge(&netlist);
        let (v, i) = errors(&netlist, &solve(&netlist).unwrap(), &verdict);
        assert!(v < POTENTIAL_TOLERANCE && i < CURRENT_TOLERANCE, "{seed}: {v:e} {i:e}");
        let mut planned = Planned::new(&netlist).unwrap();
        planned.solve_potentials().unwrap();
        let spans = [(hot, Netlist::EARTH), (hot, neutral)];
        let whatif = WhatIf::new(&netlist, &[], &[spans.to_vec()]).unwrap();
        let mut work = whatif.work();
        whatif.put(&[], &mut work).unwrap();
        let seen = whatif.read(0, &mut work).unwrap().to_vec();
        for (&(a, b), seen) in spans.iter().zip(seen) {
            let at = |node| verdict.potential[netlist.nodes().position(|n| n == node).unwrap()];
            let expected = at(a) - at(b);
            for found in [planned.difference(a, b), seen.voltage_volt] {
                let miss = relative(found.unwrap(), expected, VOLTAGE_FLOOR_VOLT);
                assert!(miss < 1e-9, "{seed}: {miss:e} of {expected:?}");
            }
        }
    }
}

/// What a dense LU keeps where nothing floats: each rounded diagonal is a leak of up to
/// eps 6e4 S = 7e-12 S, and fifty of them on 120 V drive 4e-8 A through up to 60 ohms of
/// electrode, 2.5 uV against a volt.
const DENSE_TOLERANCE: f64 = 3e-6;

#[test]
fn where_nothing_floats_a_dense_solve_says_the_same() {
    for seed in 0..6 {
        let mut netlist = daisy_chain(seed, 5, Supply::Bonded, 1e8);
        for element in netlist.elements().collect::<Vec<_>>() {
            if netlist.element(element).law == Law::Open {
                netlist.set_law(element, Law::resistance(2e-4)).unwrap();
            }
        }
        let solution = solve(&netlist).unwrap();
        for (node, expected) in netlist.nodes().zip(support::dense::potentials(&netlist).unwrap()) {
            let found = solution.potential(node).unwrap();
            assert!(relative(found, expected, 1.0) < DENSE_TOLERANCE, "{found:?} {expected:?}");
        }
    }
}

/// A centre-tapped winding by its coupled legs, and by the equivalent star whose neutral arm is
/// negative, with a load on each leg and one across.
fn centre_tapped(as_star: bool) -> Netlist {
    // 25 kVA, 1.8 %, X/R 1.1 on 120 V: R = 6.97 mΩ, X = 7.67 mΩ.
    let (r, x) = (6.97e-3, 7.67e-3);
    let own = Impedance::new(1.5 * r, 1.2 * x);
    let aiding = Impedance::new(0.5 * r, 0.8 * x);
    let mut netlist = Netlist::new(60.0);
    let [one, two, neutral, star] =
        ["one", "two", "neutral", "star"].map(|name| netlist.node(&name.into()));
    let mut add = |name: &str, a, b, law| netlist.add(name, a, b, Role::Lumped, law).unwrap();
    add("electrode", neutral, Netlist::EARTH, Law::resistance(8.0));
    add("kiln", one, two, Law::Impedance(Impedance::new(5.0, 0.4)));
    add("lamp", one, neutral, Law::resistance(90.0));
    add("motor", two, neutral, Law::Impedance(Impedance::new(6.0, 4.0)));
    add("insulation", two, Netlist::EARTH, Law::resistance(3e8));
    let leg = |volt, impedance| Law::Source { emf_volt: Phasor::new(volt, 0.0), impedance };
    if as_star {
        let arm = Impedance::new(
            own.resistance_ohm + aiding.resistance_ohm,
            own.reactance_ohm + aiding.reactance_ohm,
        );
        let common = Impedance::new(-aiding.resistance_ohm, -aiding.reactance_ohm);
        add("leg one", one, star, leg(120.0, arm));
        add("leg two", two, star, leg(-120.0, arm));
        add("common", star, neutral, Law::Impedance(common));
    } else {
        let first = add("leg one", one, neutral, leg(120.0, own));
        let second = add("leg two", two, neutral, leg(-120.0, own));
        let opposing = Impedance::new(-aiding.resistance_ohm, -aiding.reactance_ohm);
        netlist.couple(first, second, opposing).unwrap();
    }
    netlist
}

#[test]
fn coupled_legs_keep_their_digits() {
    let star = centre_tapped(true);
    let verdict = judge(&star);
    let coupled = centre_tapped(false);
    for netlist in [&star, &coupled] {
        let solution = solve(netlist).unwrap();
        for name in ["kiln", "lamp", "motor", "insulation", "electrode", "leg one", "leg two"] {
            let expected = verdict.current
                [star.elements().position(|id| star.element(id).id == name).unwrap()];
            let found = solution.current(netlist.find_element(name).unwrap());
            assert!(relative(found, expected, CURRENT_FLOOR_AMPERE) < CURRENT_TOLERANCE, "{name}");
        }
    }
}

#[test]
fn windings_coupled_only_by_iron_leave_the_other_side_undetermined() {
    let mut netlist = Netlist::new(60.0);
    let [hot, far, near] = ["hot", "far", "near"].map(|name| netlist.node(&name.into()));
    let winding = |volt| Law::Source {
        emf_volt: Phasor::new(volt, 0.0),
        impedance: Impedance::new(0.5, 2.0),
    };
    let earth = Netlist::EARTH;
    let first = netlist.add("first", hot, earth, Role::Winding, winding(120.0)).unwrap();
    let second = netlist.add("second", far, near, Role::Winding, winding(0.0)).unwrap();
    netlist.couple(first, second, Impedance::new(0.0, 1.5)).unwrap();
    netlist.add("load", hot, earth, Role::Load, Law::resistance(12.0)).unwrap();
    let bell = netlist.add("bell", far, near, Role::Load, Law::resistance(40.0)).unwrap();
    let solution = solve(&netlist).unwrap();
    assert_eq!(solution.potential(far), None);
    // I₂ = -jM I₁ / (Z₂ + 40), and the load sees the source behind Z₁ + M² / (Z₂ + 40).
    let (i, v) = (solution.current(bell), solution.difference(far, near).unwrap());
    assert_relative_eq!(v.magnitude(), 40.0 * i.magnitude(), max_relative = CURRENT_TOLERANCE);
    assert_relative_eq!(
        solution.current(first).magnitude() * 1.5 / 40.5_f64.hypot(2.0),
        i.magnitude(),
        max_relative = CURRENT_TOLERANCE
    );
}

#[test]
fn a_winding_coupled_to_the_service_that_insulation_alone_holds_keeps_its_digits_alone() {
    for leak_ohm in [1e6, 1e9] {
        let mut netlist = Netlist::new(60.0);
        let [hot, far, near] = ["hot", "far", "near"].map(|name| netlist.node(&name.into()));
        let winding = |volt, resistance_ohm, reactance_ohm| Law::Source {
            emf_volt: Phasor::new(volt, 0.0),
            impedance: Impedance::new(resistance_ohm, reactance_ohm),
        };
        let earth = Netlist::EARTH;
        let mut add = |name: &str, a, b, law| netlist.add(name, a, b, Role::Lumped, law).unwrap();
        let first = add("first", hot, earth, winding(120.0, 0.1, 1.0));
        let second = add("second", far, near, winding(0.0, 3e-3, 0.01));
        add("load", hot, earth, Law::resistance(7.0));
        add("bell", far, near, Law::resistance(7.3));
        add("far leak", far, earth, Law::resistance(leak_ohm));
        add("near leak", near, earth, Law::resistance(1.7 * leak_ohm));
        netlist.couple(first, second, Impedance::new(0.0, 0.09)).unwrap();
        let solution = solve(&netlist).unwrap();
        let mut planned = Planned::new(&netlist).unwrap();
        planned.solve_potentials().unwrap();
        for node in [far, near] {
            let expected = solution.potential(node).unwrap();
            let miss = relative(planned.potential(node).unwrap(), expected, VOLTAGE_FLOOR_VOLT);
            assert!(miss < 1e-9, "{leak_ohm} ohm: {miss:e} of {expected:?}");
        }
    }
}

#[test]
fn a_resonance_in_series_is_a_short_and_one_of_a_loop_without_resistance_is_refused() {
    let reactance = |reactance_ohm| Law::Impedance(Impedance::new(0.0, reactance_ohm));
    let supply =
        Law::Source { emf_volt: Phasor::new(120.0, 0.0), impedance: Impedance::resistance(1.0) };
    let mut netlist = Netlist::new(60.0);
    let earth = Netlist::EARTH;
    let [hot, middle, end] = ["hot", "middle", "end"].map(|name| netlist.node(&name.into()));
    netlist.add("supply", hot, earth, Role::Winding, supply).unwrap();
    netlist.add("choke", hot, middle, Role::Lumped, reactance(10.0)).unwrap();
    netlist.add("capacitor", middle, end, Role::Lumped, reactance(-10.0)).unwrap();
    let load = netlist.add("load", end, earth, Role::Load, Law::resistance(11.0)).unwrap();
    let solution = solve(&netlist).unwrap();
    assert_relative_eq!(solution.current(load).re, 10.0, max_relative = CURRENT_TOLERANCE);

    // With nothing behind the capacitor its middle stands at ten times the supply.
    let mut netlist = Netlist::new(60.0);
    let [hot, middle] = ["hot", "middle"].map(|name| netlist.node(&name.into()));
    netlist.add("supply", hot, earth, Role::Winding, supply).unwrap();
    netlist.add("choke", hot, middle, Role::Lumped, reactance(10.0)).unwrap();
    netlist.add("capacitor", middle, earth, Role::Lumped, reactance(-10.0)).unwrap();
    let solution = solve(&netlist).unwrap();
    let volts = [hot, middle].map(|node| solution.potential(node).unwrap().magnitude());
    assert!(volts[0] < 1e-12 && (volts[1] - 1200.0).abs() < 1e-9, "{volts:?}");

    // A choke and a capacitor that together are one of -20 ohms, behind a choke of 20.
    let mut netlist = Netlist::new(60.0);
    let [hot, trap] = ["hot", "trap"].map(|name| netlist.node(&name.into()));
    netlist.add("supply", hot, earth, Role::Winding, supply).unwrap();
    netlist.add("feed", hot, trap, Role::Lumped, reactance(20.0)).unwrap();
    netlist.add("choke", trap, earth, Role::Lumped, reactance(20.0)).unwrap();
    netlist.add("capacitor", trap, earth, Role::Lumped, reactance(-10.0)).unwrap();
    let solution = solve(&netlist).unwrap();
    let volts = [hot, trap].map(|node| solution.potential(node).unwrap().magnitude());
    assert!(volts[0] < 1e-12 && (volts[1] - 2400.0).abs() < 1e-9, "{volts:?}");

    let mut netlist = Netlist::new(60.0);
    let [hot, lamp] = ["hot", "lamp"].map(|name| netlist.node(&name.into()));
    let emf_volt = Phasor::new(120.0, 0.0);
    let behind_choke = Law::Source { emf_volt, impedance: Impedance::new(0.0, 10.0) };
    netlist.add("supply", hot, earth, Role::Winding, behind_choke).unwrap();
    netlist.add("capacitor", hot, earth, Role::Lumped, reactance(-10.0)).unwrap();
    netlist.add("wire", hot, lamp, Role::Wire, Law::resistance(0.1)).unwrap();
    match solve(&netlist) {
        Err(Refusal::Resonance { terminal, .. }) => assert!(["hot", "lamp"].contains(&&*terminal)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn currents_through_parts_of_no_impedance_follow_from_kirchhoff() {
    let mut netlist = Netlist::new(60.0);
    let earth = Netlist::EARTH;
    let [hot, bus, lug, far] = ["hot", "bus", "lug", "far"].map(|name| netlist.node(&name.into()));
    let ideal =
        Law::Source { emf_volt: Phasor::new(120.0, 0.0), impedance: Impedance::resistance(0.0) };
    let short = Law::resistance(0.0);
    let mut add = |name: &str, a, b, law| netlist.add(name, a, b, Role::Lumped, law).unwrap();
    let supply = add("supply", hot, earth, ideal);
    let strap = add("strap", hot, bus, short);
    let twins = [add("left", bus, lug, short), add("right", bus, lug, short)];
    add("load", lug, far, Law::resistance(12.0));
    let tail = add("tail", far, earth, short);
    let leak = add("leak", bus, earth, Law::resistance(1e9));
    let solution = solve(&netlist).unwrap();
    let ampere = |element| solution.current(element).re;
    assert_relative_eq!(ampere(twins[0]), 5.0, max_relative = CURRENT_TOLERANCE);
    assert_relative_eq!(ampere(twins[1]), 5.0, max_relative = CURRENT_TOLERANCE);
    assert_relative_eq!(ampere(tail), 10.0, max_relative = CURRENT_TOLERANCE);
    assert_relative_eq!(ampere(leak), 120e-9, max_relative = CURRENT_TOLERANCE);
    assert_relative_eq!(ampere(strap), 10.0 + 120e-9, max_relative = CURRENT_TOLERANCE);
    assert_relative_eq!(ampere(supply), -ampere(strap), max_relative = CURRENT_TOLERANCE);
    assert_relative_eq!(solution.potential(bus).unwrap().re, 120.0, max_relative = 1e-15);
}
