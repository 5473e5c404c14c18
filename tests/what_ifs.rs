//! What-ifs answer as a solve of the whole network does.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.
#![allow(clippy::print_stdout)] // Figures, seen with `--nocapture`.

mod support;

use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Impedance, Phasor};
use slotwise::solution::{Change, PortSight, PortSystem, WhatIf, solve};
use support::chance::{Chance, SUPPLIES, Supply, change, daisy_chain};

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

/// Slots of every box: hot, neutral, ground.
fn hubs(netlist: &Netlist, n_boxes: usize) -> Vec<[NodeId; 3]> {
    let node = |place: usize, conductor: &str| {
        netlist.find_node(&format!("{place}.hub.{conductor}").as_str().into()).unwrap()
    };
    (0..n_boxes).map(|place| ["h", "n", "g"].map(|conductor| node(place, conductor))).collect()
}

const N_BOXES: usize = 6;

/// What is asked again and again is answered by other ways than what is asked once: from the bags
/// between the changes, from those put together, and at last from the two sides of a cut.
const ASKED: usize = 64;
const LOOKED_AT: [usize; 5] = [0, 1, 3, 20, ASKED - 1];

/// A run, or a ring whose far end comes back to the bus.
fn building(seed: u64, supply: Supply, contrast: f64, ring: bool) -> Netlist {
    let mut netlist = daisy_chain(seed, N_BOXES, supply, contrast);
    if ring {
        for (hub, conductor) in
            hubs(&netlist, N_BOXES)[N_BOXES - 1].into_iter().zip(["h", "n", "g"])
        {
            let bus = netlist.find_node(&format!("bus.{conductor}").as_str().into()).unwrap();
            let law = Law::resistance(0.03);
            netlist.add(format!("ring {conductor}"), hub, bus, Role::Wire, law).unwrap();
        }
    }
    netlist
}

fn miss(found: Phasor, expected: Phasor) -> f64 {
    (found - expected).magnitude() / expected.magnitude().max(VOLTAGE_FLOOR_VOLT)
}

impl Worst {
    fn at_port(&mut self, found: &PortSight, exact: &PortSight) {
        assert_eq!(found.voltage_volt.is_some(), exact.voltage_volt.is_some());
        let (Some(v), Some(v0)) = (found.voltage_volt, exact.voltage_volt) else { return };
        self.voltage = self.voltage.max(miss(v, v0));
        self.n += 1;
        let (Some(z), Some(z0)) = (found.impedance, exact.impedance) else { return };
        let apart =
            (z.resistance_ohm - z0.resistance_ohm).hypot(z.reactance_ohm - z0.reactance_ohm);
        self.impedance = self.impedance.max(apart / z0.resistance_ohm.hypot(z0.reactance_ohm));
        for ohm in [10e6, 3e3, 12.0] {
            let [v, v0] = [found, exact].map(|s| s.behind(Impedance::resistance(ohm)).unwrap());
            self.metered = self.metered.max(miss(v, v0));
        }
    }
}

/// A few changes of a building, and the building so changed.
fn changed(
    chance: &mut Chance,
    netlist: &Netlist,
    whatif: &WhatIf,
    may_join: &[(NodeId, NodeId)],
) -> (Vec<Change>, Netlist) {
    let mut changed = netlist.clone();
    let mut changes: Vec<Change> = Vec::new();
    for _ in 0..chance.below(4) {
        let (element, law) = change(chance, netlist);
        changed.set_law(element, law).unwrap();
        changes.push(whatif.change(element, law).unwrap());
    }
    if chance.happens(0.4) {
        let (a, b) = may_join[chance.below(may_join.len())];
        let law = Law::resistance(chance.spread(1e-3, 1e4));
        changed.add("bridge", a, b, Role::Bridge, law).unwrap();
        changes.push(whatif.join(a, b, law).unwrap());
    }
    (changes, changed)
}

fn compare(supply: Supply, contrast: f64, ring: bool) -> Worst {
    let mut worst = Worst { voltage: 0.0, impedance: 0.0, metered: 0.0, n: 0, whole: 0 };
    for seed in 0..3 {
        let netlist = building(seed, supply, contrast, ring);
        let hubs = hubs(&netlist, N_BOXES);
        let near = |hub: &[NodeId; 3]| [(0, 1), (0, 2), (1, 2)].map(|(i, j)| (hub[i], hub[j]));
        let ports: Vec<_> = hubs.iter().flat_map(near).collect();
        let earths: Vec<_> = hubs.iter().flatten().map(|&node| (node, Netlist::EARTH)).collect();
        let far = (hubs[1][0], hubs[4][2]);
        let may_join = [ports.clone(), vec![far]].concat();
        let whatif = WhatIf::new(&netlist, &may_join, &[ports.clone(), earths.clone()]).unwrap();
        // Before anything is put, the network as it is.
        let as_it_is = PortSystem::new(&netlist, &ports).unwrap();
        for (at, found) in whatif.read(0, &mut whatif.work()).unwrap().iter().enumerate() {
            assert_eq!(found.impedance.is_some(), as_it_is.impedance(at, at).is_some());
        }
        let mut work = whatif.work();
        let mut chance = Chance::new(seed + 77);
        for _ in 0..14 {
            let (changes, changed) = changed(&mut chance, &netlist, &whatif, &may_join);
            let exact = PortSystem::new(&changed, &ports).unwrap();
            let fresh = solve(&changed).unwrap();
            for asked in 0..ASKED {
                whatif.put(&changes, &mut work).unwrap();
                if !LOOKED_AT.contains(&asked) {
                    continue;
                }
                for (at, found) in whatif.read(0, &mut work).unwrap().iter().enumerate() {
                    let (voltage_volt, impedance) =
                        (exact.open_circuit(at), exact.impedance(at, at));
                    worst.at_port(found, &PortSight { voltage_volt, impedance });
                }
                let found = whatif.read(0, &mut work).unwrap().to_vec();
                for (found, volts) in found.iter().zip(whatif.read_voltages(0, &mut work).unwrap())
                {
                    assert_eq!((volts.voltage_volt, volts.impedance), (found.voltage_volt, None));
                }
                let found = whatif.read_voltages(1, &mut work).unwrap();
                for (found, &(node, _)) in found.iter().zip(&earths) {
                    let voltage_volt = fresh.potential(node);
                    worst.at_port(found, &PortSight { voltage_volt, impedance: None });
                }
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
                let worst = compare(supply, contrast, ring);
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
