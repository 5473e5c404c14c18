//! Nonlinear elements come to rest, at a stable state, and every other stable state is told.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.

mod support;

use approx::assert_relative_eq;
use slotwise::netlist::{ElementId, GLOWING_JOINT, Law, Netlist, Role};
use slotwise::quantity::{Impedance, Phasor};
use slotwise::solution::{Attachment, PortSystem, Regime, Solution, solve};
use support::chance::{Chance, SUPPLIES, daisy_chain};

/// What the contract allows where something is nonlinear.
const LAW_TOLERANCE: f64 = 1e-6;
/// The contract for voltages.
const VOLTAGE_TOLERANCE: f64 = 1e-9;
/// Currents below this are not asked to follow their law to that share.
const CURRENT_FLOOR_AMPERE: f64 = 1e-9;
/// Worked by hand to so many figures.
const BY_HAND: f64 = 1e-9;

/// One source of `volt` behind `ohm`, and `law` across it.
fn on_supply(volt: f64, ohm: f64, law: Law) -> (Netlist, ElementId) {
    let mut netlist = Netlist::new(60.0);
    let hot = netlist.node(&"hot".into());
    let supply =
        Law::Source { emf_volt: Phasor::new(volt, 0.0), impedance: Impedance::resistance(ohm) };
    netlist.add("supply", hot, Netlist::EARTH, Role::Winding, supply).unwrap();
    let load = netlist.add("load", hot, Netlist::EARTH, Role::Load, law).unwrap();
    (netlist, load)
}

fn regimes(solution: &Solution) -> Vec<Vec<Regime>> {
    let states = solution.states().iter();
    states.map(|state| state.devices.iter().map(|device| device.regime).collect()).collect()
}

#[test]
fn of_three_voltages_of_a_constant_power_load_the_middle_one_is_never_shown() {
    // v² - 120 v + 8 · 300 = 0: 94.64 V and 25.36 V, the latter unstable; below the cut-out of
    // 20 V, 120 / (1 + 8 · 300 / 20²) = 17.14 V.
    let law = Law::ConstantPower { active_watt: 300.0, reactive_var: 0.0, cut_out_volt: 20.0 };
    let (netlist, load) = on_supply(120.0, 8.0, law);
    let solution = solve(&netlist).unwrap();
    let voltages: Vec<f64> =
        solution.states().iter().map(|state| state.devices[0].voltage_volt.magnitude()).collect();
    assert_eq!(voltages.len(), 2);
    assert_relative_eq!(voltages[0], 60.0 + 1200.0_f64.sqrt(), max_relative = BY_HAND);
    assert_relative_eq!(voltages[1], 120.0 / 7.0, max_relative = BY_HAND);
    assert!(solution.states()[0].reached && !solution.states()[1].reached);
    assert_relative_eq!(solution.voltage(load).magnitude(), voltages[0], max_relative = BY_HAND);
}

#[test]
fn a_load_that_wants_more_than_the_line_can_carry_sits_at_its_cut_out() {
    let law = Law::ConstantPower { active_watt: 1500.0, reactive_var: 400.0, cut_out_volt: 60.0 };
    let (netlist, load) = on_supply(120.0, 8.0, law);
    let solution = solve(&netlist).unwrap();
    assert_eq!(regimes(&solution), [[Regime::CutOut]]);
    let y = Impedance::new(1500.0 / 3600.0, -400.0 / 3600.0);
    let size = (1.0 + 8.0 * y.resistance_ohm).hypot(8.0 * y.reactance_ohm);
    assert_relative_eq!(solution.voltage(load).magnitude(), 120.0 / size, max_relative = BY_HAND);
}

#[test]
fn of_two_equal_loads_in_series_one_takes_the_voltage_and_the_other_collapses() {
    // Two chargers across 240 V on an open neutral: the even split is a rest, but not stable.
    let law = Law::ConstantPower { active_watt: 100.0, reactive_var: 0.0, cut_out_volt: 60.0 };
    let (mut netlist, _) = on_supply(240.0, 0.2, Law::resistance(1e3));
    let [hot, middle] = ["hot", "middle"].map(|name| netlist.node(&name.into()));
    netlist.add("one", hot, middle, Role::Load, law).unwrap();
    netlist.add("two", middle, Netlist::EARTH, Role::Load, law).unwrap();
    let solution = solve(&netlist).unwrap();
    let mut regimes = regimes(&solution);
    assert_eq!(regimes.len(), 2);
    regimes.sort_by_key(|regimes| regimes[0] == Regime::Running);
    assert_eq!(regimes[0], [Regime::CutOut, Regime::Running]);
    assert_eq!(regimes[1], [Regime::Running, Regime::CutOut]);
}

fn lamps_in_series(leak_one_ohm: f64, leak_two_ohm: f64) -> Solution {
    let lamp = |off_ohm| Law::StrikeLamp {
        strike_volt: 75.0,
        hold_volt: 55.0,
        maintain_volt: 55.0,
        off_ohm,
        series_ohm: 100e3,
    };
    let (mut netlist, _) = on_supply(120.0, 0.1, Law::resistance(1e3));
    let [hot, middle] = ["hot", "middle"].map(|name| netlist.node(&name.into()));
    netlist.add("one", hot, middle, Role::Instrument, lamp(leak_one_ohm)).unwrap();
    netlist.add("two", middle, Netlist::EARTH, Role::Instrument, lamp(leak_two_ohm)).unwrap();
    solve(&netlist).unwrap()
}

#[test]
fn lamps_in_series_show_what_they_showed_before() {
    let even = lamps_in_series(1e6, 1e6);
    assert_eq!(even.states().len(), 4);
    assert_eq!(regimes(&even)[0], [Regime::Dark, Regime::Dark]);
    let uneven = lamps_in_series(1e6, 3e6);
    assert_eq!(uneven.states().len(), 2);
    assert_eq!(regimes(&uneven)[0], [Regime::Dark, Regime::Lit]);
    assert!(even.has_all_states() && uneven.has_all_states());
}

#[test]
fn a_joint_glows_or_not_depending_on_what_was_before() {
    let joint = Law::GlowingJoint {
        reference_volt: 2.3,
        reference_ampere: 15.0,
        exponent: 0.34,
        cold_ohm: 20.0,
    };
    let mut netlist = Netlist::new(60.0);
    let [hot, load] = ["hot", "load"].map(|name| netlist.node(&name.into()));
    let supply =
        Law::Source { emf_volt: Phasor::new(120.0, 0.0), impedance: Impedance::resistance(0.2) };
    netlist.add("supply", hot, Netlist::EARTH, Role::Winding, supply).unwrap();
    let splice = netlist.add("splice", hot, load, Role::Joint, joint).unwrap();
    netlist.add("heater", load, Netlist::EARTH, Role::Load, Law::resistance(9.6)).unwrap();
    let solution = solve(&netlist).unwrap();
    // Twelve amperes cannot pass twenty ohms at less than 2.5 V: it can only glow.
    assert_eq!(regimes(&solution), [[Regime::Glowing]]);
    let (v, i) = (solution.voltage(splice).magnitude(), solution.current(splice).magnitude());
    assert_relative_eq!(v, 2.3 * (15.0 / i).powf(0.34), max_relative = LAW_TOLERANCE);
}

#[test]
fn an_indicator_is_said_to_be_lit_above_its_threshold_and_dark_below() {
    for (volt, regime) in [(120.0, Regime::Lit), (50.0, Regime::Dark)] {
        let lamp = Law::ThresholdLamp { threshold_volt: 60.0, off_ohm: 1e9, series_ohm: 68e3 };
        let (netlist, _) = on_supply(volt, 0.1, lamp);
        assert_eq!(regimes(&solve(&netlist).unwrap()), [[regime]]);
    }
}

#[test]
fn an_indicator_between_two_parts_that_nothing_joins_stays_dark() {
    let lamp =
        Law::ThresholdLamp { threshold_volt: 60.0, off_ohm: f64::INFINITY, series_ohm: 68e3 };
    let (mut netlist, _) = on_supply(120.0, 0.1, Law::resistance(1e3));
    let [hot, stray] = ["hot", "stray"].map(|name| netlist.node(&name.into()));
    let lamp = netlist.add("indicator", hot, stray, Role::Instrument, lamp).unwrap();
    let solution = solve(&netlist).unwrap();
    assert!(solution.current(lamp).magnitude() < CURRENT_FLOOR_AMPERE);
    assert_eq!(solution.potential(stray), None);
}

/// The law an element of a random circuit follows instead of the resistance it had.
fn random_law(chance: &mut Chance) -> Law {
    match chance.below(5) {
        0 => Law::Filament {
            rated_watt: chance.spread(15.0, 1500.0),
            rated_volt: 120.0,
            cold_fraction: 0.08,
            exponent: 0.6,
        },
        1 | 2 => Law::ConstantPower {
            active_watt: chance.spread(5.0, 2500.0),
            reactive_var: chance.spread(1.0, 300.0),
            cut_out_volt: chance.spread(30.0, 100.0),
        },
        3 => Law::ThresholdLamp {
            threshold_volt: chance.spread(40.0, 90.0),
            off_ohm: if chance.happens(0.5) { f64::INFINITY } else { 1e9 },
            series_ohm: chance.spread(3e4, 3e5),
        },
        _ => {
            let hold_volt = chance.spread(45.0, 60.0);
            Law::StrikeLamp {
                strike_volt: chance.spread(65.0, 90.0),
                hold_volt,
                maintain_volt: hold_volt * 0.95,
                off_ohm: f64::INFINITY,
                series_ohm: chance.spread(3e4, 3e5),
            }
        }
    }
}

/// A daisy chain whose loads are nonlinear, with a joint here and there that can glow.
fn nonlinear_chain(seed: u64) -> Netlist {
    let supply = SUPPLIES[seed as usize % SUPPLIES.len()];
    let mut netlist = daisy_chain(seed, 6, supply, 1e12);
    let mut chance = Chance::new(seed + 7777);
    for element in netlist.elements().collect::<Vec<_>>() {
        if let Law::Impedance(z) = netlist.element(element).law {
            let is_load = z.resistance_ohm > 7.0 && z.reactance_ohm > 0.05;
            let is_joint = z.resistance_ohm < 3e-4;
            if is_load {
                netlist.set_law(element, random_law(&mut chance)).unwrap();
            } else if is_joint && chance.happens(0.03) {
                let cold_ohm = chance.spread(0.3, 30.0);
                let joint = Law::GlowingJoint {
                    reference_volt: 2.3,
                    reference_ampere: 15.0,
                    exponent: 0.34,
                    cold_ohm,
                };
                netlist.set_law(element, joint).unwrap();
            }
        }
    }
    netlist
}

/// Magnitude of the current a law wants at the voltage it has, given the current it has.
fn wanted(law: &Law, volt: f64, ampere: f64, regime: Regime) -> f64 {
    let lit = |gap: f64, off: f64, series: f64| volt / off + (volt - gap) / series;
    match *law {
        Law::Filament { rated_watt, rated_volt, cold_fraction: c, exponent } => {
            let cold_to_hot = c + (1.0 - c) * (volt / rated_volt).powf(exponent);
            volt * rated_watt / (rated_volt * rated_volt) / cold_to_hot
        }
        Law::ConstantPower { active_watt, reactive_var, cut_out_volt } => {
            let power = active_watt.hypot(reactive_var);
            power * volt / volt.max(cut_out_volt).powi(2)
        }
        Law::ThresholdLamp { threshold_volt, off_ohm, series_ohm } => {
            if volt > threshold_volt {
                lit(threshold_volt, off_ohm, series_ohm)
            } else {
                volt / off_ohm
            }
        }
        Law::StrikeLamp { maintain_volt, off_ohm, series_ohm, .. } => {
            if regime != Regime::Dark {
                lit(maintain_volt, off_ohm, series_ohm)
            } else {
                volt / off_ohm
            }
        }
        Law::GlowingJoint { reference_volt, reference_ampere, exponent, cold_ohm } => {
            if regime == Regime::Cold {
                volt / cold_ohm
            } else {
                // From V (I/I₀)ⁿ = V₀, as a correction to I.
                ampere * reference_volt * (reference_ampere / ampere).powf(exponent) / volt
            }
        }
        _ => ampere,
    }
}

/// Checks every nonlinear element against its law at its voltage, known to a share; how many there
/// are.
fn on_their_laws(netlist: &Netlist, solution: &Solution, known_to: f64, case: &str) -> usize {
    let Some(state) = solution.states().first() else { return 0 };
    for device in &state.devices {
        let law = &netlist.element(device.element).law;
        let volt = solution.voltage(device.element).magnitude();
        let ampere = solution.current(device.element).magnitude();
        let [least, wanted, most] = [1.0 - known_to, 1.0, 1.0 + known_to]
            .map(|share| wanted(law, volt * share, ampere, device.regime));
        let beyond = (ampere - least.max(most)).max(least.min(most) - ampere);
        let miss = beyond / wanted.max(CURRENT_FLOOR_AMPERE);
        assert!(miss < LAW_TOLERANCE, "{case}: {law:?} {volt} V {ampere} A {wanted} A");
    }
    state.devices.len()
}

#[test]
fn every_random_circuit_comes_to_rest_on_its_laws() {
    let mut n_devices = 0;
    for seed in 0..160 {
        let netlist = nonlinear_chain(seed);
        let solution = match solve(&netlist) {
            Ok(solution) => solution,
            Err(refusal) => panic!("seed {seed}: {refusal}"),
        };
        n_devices += on_their_laws(&netlist, &solution, 0.0, &format!("seed {seed}"));
    }
    assert!(n_devices > 400, "{n_devices} devices are too few to show anything");
}

/// Lamps, filaments and a joint that can glow, among conductors that capacitance alone joins.
fn stray_lamps(seed: u64) -> Netlist {
    let mut chance = Chance::new(seed);
    let mut netlist = Netlist::new(60.0);
    let mut nodes = vec![Netlist::EARTH];
    nodes.extend(["hot", "one", "two", "three"].map(|name| netlist.node(&name.into())));
    let supply = Law::Source {
        emf_volt: Phasor::polar(chance.spread(50.0, 240.0), 360.0 * chance.unit()),
        impedance: Impedance::resistance(0.3),
    };
    netlist.add("supply", nodes[1], nodes[0], Role::Winding, supply).unwrap();
    for place in 0..10 {
        let [a, b] = [0; 2].map(|_| nodes[chance.below(nodes.len())]);
        let law = match chance.below(6) {
            _ if place < 6 => Law::Capacitor { capacitance_farad: chance.spread(1e-12, 1e-6) },
            0 => GLOWING_JOINT,
            1 => Law::Filament {
                rated_watt: chance.spread(5.0, 200.0),
                rated_volt: 120.0,
                cold_fraction: 0.1,
                exponent: 0.6,
            },
            _ => Law::ThresholdLamp {
                threshold_volt: chance.spread(40.0, 90.0),
                off_ohm: chance.spread(1e7, 1e11),
                series_ohm: chance.spread(1e3, 3e5),
            },
        };
        if a != b {
            netlist.add(format!("e{place}"), a, b, Role::Lumped, law).unwrap();
        }
    }
    netlist
}

#[test]
fn lamps_on_conductors_that_only_capacitance_joins_come_to_rest_on_their_laws() {
    let mut n_devices = 0;
    for seed in 0..1200 {
        let netlist = stray_lamps(seed);
        let solution = solve(&netlist).unwrap_or_else(|refusal| panic!("seed {seed}: {refusal}"));
        // At a threshold the current is that of a small difference of the voltage.
        let case = format!("seed {seed}");
        n_devices += on_their_laws(&netlist, &solution, VOLTAGE_TOLERANCE, &case);
    }
    assert!(n_devices > 3000, "{n_devices} devices are too few to show anything");
}

#[test]
fn what_is_attached_to_a_port_reads_as_if_it_were_wired_in() {
    for seed in 0..60 {
        let mut netlist = nonlinear_chain(seed);
        let mut chance = Chance::new(seed + 99);
        let nodes: Vec<_> = netlist.nodes().collect();
        let mut pick = || nodes[chance.below(nodes.len())];
        let pairs: Vec<_> = (0..3).map(|_| (pick(), pick())).collect();
        let meters = [
            Law::resistance(10e6),
            Law::ThresholdLamp { threshold_volt: 60.0, off_ohm: 1e9, series_ohm: 68e3 },
            Law::resistance(3e3),
        ];
        let ports = PortSystem::new(&netlist, &pairs).unwrap();
        let attachments: Vec<_> =
            meters.into_iter().enumerate().map(|(port, law)| Attachment { port, law }).collect();
        let read = &ports.attach(&attachments).unwrap()[0];
        for (port, (&(a, b), law)) in pairs.iter().zip(meters).enumerate() {
            netlist.add(format!("meter {port}"), a, b, Role::Instrument, law).unwrap();
        }
        let wired = solve(&netlist).unwrap();
        if wired.states().len() > 1 {
            continue; // which one is reached may depend on when the meter came
        }
        for (port, &(a, b)) in pairs.iter().enumerate() {
            let expected = wired.difference(a, b).unwrap();
            let found = read.voltage_volt[port].unwrap();
            let miss = (found - expected).magnitude() / expected.magnitude().max(1e-3);
            assert!(miss < LAW_TOLERANCE, "seed {seed}, port {port}: {found:?} {expected:?}");
        }
    }
}
