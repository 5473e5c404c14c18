//! What-ifs answer as a solve of the whole network does.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.

mod support;

use slotwise::netlist::{ElementId, Law, Netlist, NodeId, Role};
use slotwise::quantity::Impedance;
use slotwise::solution::{Change, PortSystem, WhatIf, solve};
use support::chance::{Chance, SUPPLIES, Supply, daisy_chain};

/// Voltages against the larger of the value and 1 mV.
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
/// A millivolt between conductors at 240 V is told to eps 240 V = 5e-14 V.
const TOLERANCE: f64 = 1e-9;
/// Sums of what is stored keep all digits, whatever the contrast.
const IMPEDANCE_TOLERANCE: f64 = 1e-13;

struct Worst {
    voltage: f64,
    impedance: f64,
    metered: f64,
    n: usize,
    whole: u64,
}

/// Opens a joint, closes one, or changes what it is.
fn change(chance: &mut Chance, netlist: &Netlist) -> (ElementId, Law) {
    let elements: Vec<_> = netlist.elements().collect();
    loop {
        let element = elements[chance.below(elements.len())];
        match netlist.element(element).law {
            Law::Source { .. } => {}
            Law::Open => return (element, Law::resistance(chance.spread(1e-4, 1e6))),
            _ if chance.happens(0.6) => return (element, Law::Open),
            _ => {
                let z = Impedance::new(chance.spread(1e-4, 1e9), chance.spread(1e-4, 1.0));
                return (element, Law::Impedance(z));
            }
        }
    }
}

/// Slots of every box: hot, neutral, ground.
fn hubs(netlist: &Netlist, n_boxes: usize) -> Vec<[NodeId; 3]> {
    let node = |place: usize, conductor: &str| {
        netlist.find_node(&format!("{place}.hub.{conductor}").as_str().into()).unwrap()
    };
    (0..n_boxes).map(|place| ["h", "n", "g"].map(|conductor| node(place, conductor))).collect()
}

fn compare(supply: Supply, contrast: f64, seeds: std::ops::Range<u64>, ring: bool) -> Worst {
    const N_BOXES: usize = 6;
    let mut worst = Worst { voltage: 0.0, impedance: 0.0, metered: 0.0, n: 0, whole: 0 };
    for seed in seeds {
        let mut netlist = daisy_chain(seed, N_BOXES, supply, contrast);
        let hubs = hubs(&netlist, N_BOXES);
        if ring {
            for (i, conductor) in ["h", "n", "g"].iter().enumerate() {
                let bus = netlist.find_node(&format!("bus.{conductor}").as_str().into()).unwrap();
                let law = Law::resistance(0.03);
                netlist
                    .add(format!("ring {i}"), hubs[N_BOXES - 1][i], bus, Role::Wire, law)
                    .unwrap();
            }
        }
        let mut chance = Chance::new(seed + 77);
        let near = |hub: [NodeId; 3]| [(0, 1), (0, 2), (1, 2)].map(|(i, j)| (hub[i], hub[j]));
        let ports: Vec<_> = hubs.iter().copied().flat_map(near).collect();
        let far = (hubs[1][0], hubs[4][2]);
        let earths: Vec<_> = hubs.iter().flatten().map(|&node| (node, Netlist::EARTH)).collect();
        let may_join = [ports.clone(), vec![far]].concat();
        let whatif = WhatIf::new(&netlist, &may_join, &[ports.clone(), earths.clone()]).unwrap();
        assert!(whatif.is_fast());
        let mut work = whatif.work();
        for _ in 0..14 {
            let mut changed = netlist.clone();
            let mut changes: Vec<Change> = Vec::new();
            for _ in 0..chance.below(4) {
                let (element, law) = change(&mut chance, &netlist);
                changed.set_law(element, law).unwrap();
                changes.push(whatif.change(element, law).unwrap());
            }
            if chance.happens(0.4) {
                let (a, b) = may_join[chance.below(may_join.len())];
                let law = Law::resistance(chance.spread(1e-3, 1e4));
                changed.add("bridge", a, b, Role::Bridge, law).unwrap();
                changes.push(whatif.join(a, b, law).unwrap());
            }
            let fresh = solve(&changed).unwrap();
            let exact = PortSystem::new(&changed, &ports).unwrap();
            whatif.put(&changes, &mut work).unwrap();
            for (at, (sight, &(a, b))) in
                whatif.read(0, &mut work).unwrap().iter().zip(&ports).enumerate()
            {
                let expected = fresh.difference(a, b);
                assert_eq!(sight.voltage_volt.is_some(), expected.is_some());
                let (Some(found), Some(expected)) = (sight.voltage_volt, expected) else {
                    continue;
                };
                let size = expected.magnitude().max(VOLTAGE_FLOOR_VOLT);
                worst.voltage = worst.voltage.max((found - expected).magnitude() / size);
                let (z, z0) = (sight.impedance.unwrap(), exact.impedance(at, at).unwrap());
                let size = z0.resistance_ohm.hypot(z0.reactance_ohm);
                let miss = (z.resistance_ohm - z0.resistance_ohm)
                    .hypot(z.reactance_ohm - z0.reactance_ohm);
                worst.impedance = worst.impedance.max(miss / size);
                for ohm in [10e6, 3e3, 12.0] {
                    let attached = Impedance::resistance(ohm);
                    let exact = slotwise::solution::PortSight {
                        voltage_volt: Some(expected),
                        impedance: Some(z0),
                    };
                    let exact = exact.behind(attached).unwrap();
                    let found = sight.behind(attached).unwrap();
                    let size = exact.magnitude().max(VOLTAGE_FLOOR_VOLT);
                    worst.metered = worst.metered.max((found - exact).magnitude() / size);
                }
                worst.n += 1;
            }
            for (sight, &(a, _)) in whatif.read(1, &mut work).unwrap().iter().zip(&earths) {
                let expected = fresh.potential(a);
                assert_eq!(sight.voltage_volt.is_some(), expected.is_some());
                let (Some(found), Some(expected)) = (sight.voltage_volt, expected) else {
                    continue;
                };
                let size = expected.magnitude().max(VOLTAGE_FLOOR_VOLT);
                worst.voltage = worst.voltage.max((found - expected).magnitude() / size);
            }
        }
        worst.whole += work.solved_whole();
    }
    worst
}

#[test]
fn changes_of_any_kind_show_what_a_whole_solve_shows() {
    for supply in SUPPLIES {
        for contrast in [1e10, 1e14, 1e18] {
            for ring in [false, true] {
                let worst = compare(supply, contrast, 0..3, ring);
                let Worst { voltage, impedance, metered, n, whole } = worst;
                let case = format!("{supply:?}, {contrast:e}, ring: {ring}");
                println!("{case}: {n} ports, {voltage:.1e} {impedance:.1e} {metered:.1e}");
                assert!(voltage <= TOLERANCE && metered <= TOLERANCE, "{case}");
                assert!(impedance <= IMPEDANCE_TOLERANCE, "{case}");
                assert_eq!(whole, 0, "{case}");
            }
        }
    }
}
