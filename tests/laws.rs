//! What every network obeys, on random ones.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.

mod support;

use proptest::prelude::*;
use slotwise::netlist::{ElementId, Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{PortSystem, Solution, solve};

/// Cases a law: each is a solve of some tens of nodes.
const CASES: u32 = 200;
/// Kirchhoff's and Tellegen's sums against the size of what is summed.
const BALANCE_TOLERANCE: f64 = 1e-12;
/// Two ways to the same phasor, with floors of a millivolt and a microampere.
const SAME_TOLERANCE: f64 = 1e-9;
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
const CURRENT_FLOOR_AMPERE: f64 = 1e-6;
/// What rounding may add to the largest EMF.
const HULL_TOLERANCE_VOLT: f64 = 1e-9;

/// A random circuit as data, so that it can be built in any order.
#[derive(Clone, Debug)]
struct Sketch {
    n_nodes: usize,
    elements: Vec<(usize, usize, Law)>,
}

impl Sketch {
    /// The netlist; node 0 is earth and node i is found at place i, elements keep their places.
    fn netlist(&self) -> (Netlist, Vec<NodeId>, Vec<ElementId>) {
        self.netlist_in_order(&(1..self.n_nodes).collect::<Vec<_>>())
    }

    /// The same with nodes made in another order, and elements added in reverse.
    fn renumbered(&self) -> (Netlist, Vec<NodeId>, Vec<ElementId>) {
        let backward: Vec<usize> = (1..self.n_nodes).rev().collect();
        let mut reversed = self.clone();
        reversed.elements.reverse();
        let (netlist, nodes, mut ids) = reversed.netlist_in_order(&backward);
        ids.reverse();
        (netlist, nodes, ids)
    }

    fn netlist_in_order(&self, order: &[usize]) -> (Netlist, Vec<NodeId>, Vec<ElementId>) {
        let mut netlist = Netlist::new(50.0);
        let mut nodes = vec![Netlist::EARTH; self.n_nodes];
        for &place in order {
            nodes[place] = netlist.node(&Address::from(format!("n{place}")));
        }
        let added = self.elements.iter().enumerate().map(|(place, &(a, b, law))| {
            netlist.add(format!("e{place}"), nodes[a], nodes[b], Role::Lumped, law).unwrap()
        });
        let ids = added.collect();
        (netlist, nodes, ids)
    }
}

/// Even in the logarithm.
fn ohms(from: f64, to: f64) -> impl Strategy<Value = f64> {
    (from.ln()..to.ln()).prop_map(f64::exp)
}

fn source(emf: (f64, f64), ohm: f64, reactive: bool) -> Law {
    let (re, im) = if reactive { emf } else { (emf.0, 0.0) };
    let reactance_ohm = if reactive { ohm } else { 0.0 };
    Law::Source { emf_volt: Phasor::new(re, im), impedance: Impedance::new(ohm, reactance_ohm) }
}

fn law(reactive: bool) -> impl Strategy<Value = Law> {
    let reactance_ohm = if reactive { ohms(1e-4, 1e2).boxed() } else { Just(0.0).boxed() };
    prop_oneof![
        4 => (ohms(1e-4, 1e-2), reactance_ohm)
            .prop_map(|(r, x)| Law::Impedance(Impedance::new(r, x * 1e-2))),
        3 => ohms(5.0, 1e3).prop_map(Law::resistance),
        3 => ohms(1e6, 1e12).prop_map(move |ohm| {
            let capacitance_farad = 1.0 / (314.0 * ohm);
            if reactive { Law::Capacitor { capacitance_farad } } else { Law::resistance(ohm) }
        }),
        1 => ((-240.0..240.0, -240.0..240.0), ohms(1e-2, 1.0))
            .prop_map(move |(emf, ohm)| source(emf, ohm, reactive)),
        1 => Just(Law::Open),
    ]
}

/// Circuits in which every node hangs on an earlier one, with links across; some parts float.
fn sketches(reactive: bool) -> impl Strategy<Value = Sketch> {
    (3_usize..25).prop_flat_map(move |n_nodes| {
        let trunk = (1..n_nodes)
            .map(|node| (0..node, Just(node), law(reactive)).boxed())
            .collect::<Vec<_>>();
        let links = prop::collection::vec((0..n_nodes, 0..n_nodes, law(reactive)), 0..n_nodes);
        let supply = ((-240.0..240.0, -240.0..240.0), 1..n_nodes);
        (trunk, links, supply).prop_map(move |(mut elements, links, (emf, node))| {
            elements.extend(links);
            elements.push((node, 0, source(emf, 0.1, reactive)));
            Sketch { n_nodes, elements }
        })
    })
}

fn close(a: Phasor, b: Phasor, floor: f64) -> bool {
    (a - b).magnitude() <= SAME_TOLERANCE * a.magnitude().max(b.magnitude()).max(floor)
}

fn same_potential(a: Option<Phasor>, b: Option<Phasor>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => close(a, b, VOLTAGE_FLOOR_VOLT),
        (None, None) => true,
        _ => false,
    }
}

fn largest_current(netlist: &Netlist, solution: &Solution) -> f64 {
    netlist.elements().map(|id| solution.current(id).magnitude()).fold(0.0, f64::max)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(CASES))]

    #[test]
    fn what_flows_into_a_node_flows_out_of_it(sketch in sketches(true)) {
        let (netlist, ..) = sketch.netlist();
        let solution = solve(&netlist).unwrap();
        let mut leaving = vec![Phasor::ZERO; sketch.n_nodes];
        let place = |node| netlist.nodes().position(|other| other == node).unwrap();
        for element in netlist.elements() {
            let (a, b) = netlist.ends(element);
            let current = solution.current(element);
            leaving[place(a)] = leaving[place(a)] + current;
            leaving[place(b)] = leaving[place(b)] - current;
        }
        let size = largest_current(&netlist, &solution);
        for node in &leaving[1..] {
            prop_assert!(node.magnitude() <= BALANCE_TOLERANCE * size);
        }
        prop_assert!(solution.residual_ampere() <= BALANCE_TOLERANCE * size);
    }

    #[test]
    fn what_sources_give_loads_take(sketch in sketches(true)) {
        let (netlist, ..) = sketch.netlist();
        let solution = solve(&netlist).unwrap();
        let balance = solution.power_balance();
        let apparent: f64 = netlist
            .elements()
            .map(|id| solution.voltage(id).magnitude() * solution.current(id).magnitude())
            .sum();
        prop_assert!(balance.mismatch_watt.abs() <= BALANCE_TOLERANCE * apparent);
        prop_assert!(balance.mismatch_var.abs() <= BALANCE_TOLERANCE * apparent);
        prop_assert!(
            (balance.supplied_watt - balance.absorbed_watt).abs() <= BALANCE_TOLERANCE * apparent
        );
    }

    #[test]
    fn no_resistive_network_goes_beyond_its_sources(sketch in sketches(false)) {
        let (netlist, nodes, ids) = sketch.netlist();
        let solution = solve(&netlist).unwrap();
        // With every source in series to earth the hull is the sum of their EMFs at most.
        let hull: f64 = ids
            .iter()
            .map(|&id| match netlist.element(id).law {
                Law::Source { emf_volt, .. } => emf_volt.magnitude(),
                _ => 0.0,
            })
            .sum();
        for node in nodes {
            if let Some(potential) = solution.potential(node) {
                prop_assert!(potential.magnitude() <= hull + HULL_TOLERANCE_VOLT);
                prop_assert!(potential.im.abs() <= HULL_TOLERANCE_VOLT);
            }
        }
    }

    #[test]
    fn numbers_of_nodes_and_elements_mean_nothing(sketch in sketches(true)) {
        let (netlist, nodes, ids) = sketch.netlist();
        let (other, other_nodes, other_ids) = sketch.renumbered();
        let (one, two) = (solve(&netlist).unwrap(), solve(&other).unwrap());
        for (&a, &b) in nodes.iter().zip(&other_nodes) {
            prop_assert!(same_potential(one.potential(a), two.potential(b)));
        }
        for (&a, &b) in ids.iter().zip(&other_ids) {
            prop_assert!(close(one.current(a), two.current(b), CURRENT_FLOOR_AMPERE));
        }
    }

    #[test]
    fn sources_together_do_what_they_do_one_by_one(sketch in sketches(true)) {
        let (netlist, nodes, ids) = sketch.netlist();
        let together = solve(&netlist).unwrap();
        let mut sum = vec![Some(Phasor::ZERO); nodes.len()];
        let mut size = vec![0.0_f64; nodes.len()];
        for &lone in &ids {
            let Law::Source { .. } = netlist.element(lone).law else { continue };
            let mut alone = netlist.clone();
            for &id in &ids {
                if let (true, Law::Source { impedance, .. }) = (id != lone, netlist.element(id).law)
                {
                    let silent = Law::Source { emf_volt: Phasor::ZERO, impedance };
                    alone.set_law(id, silent).unwrap();
                }
            }
            let solution = solve(&alone).unwrap();
            for ((sum, size), &node) in sum.iter_mut().zip(&mut size).zip(&nodes) {
                let part = solution.potential(node);
                *sum = sum.zip(part).map(|(sum, part)| sum + part);
                *size += part.map_or(0.0, Phasor::magnitude);
            }
        }
        for ((&node, sum), size) in nodes.iter().zip(sum).zip(size) {
            match (together.potential(node), sum) {
                (Some(a), Some(b)) => prop_assert!(close(a, b, size.max(VOLTAGE_FLOOR_VOLT))),
                (a, b) => prop_assert_eq!(a.is_some(), b.is_some()),
            }
        }
    }

    #[test]
    fn what_one_place_does_to_another_the_other_does_to_it(
        sketch in sketches(true),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 4),
    ) {
        let (netlist, nodes, _) = sketch.netlist();
        let [a, b, c, d] = [0, 1, 2, 3].map(|i: usize| *picks[i].get(&nodes));
        let ports = PortSystem::new(&netlist, &[(a, b), (c, d)]).unwrap();
        if let (Some(there), Some(back)) = (ports.impedance(0, 1), ports.impedance(1, 0)) {
            let of = |z: Impedance| Phasor::new(z.resistance_ohm, z.reactance_ohm);
            let own = [0, 1].map(|port| ports.impedance(port, port).map_or(0.0, |z| of(z).magnitude()));
            // Against the larger own impedance: the mutual one may be what is left of a bridge.
            let floor = own[0].max(own[1]) * 1e-6;
            prop_assert!(close(of(there), of(back), floor), "{there:?} {back:?}");
        }
    }

    #[test]
    fn a_difference_is_that_of_the_potentials(sketch in sketches(true)) {
        let (netlist, nodes, _) = sketch.netlist();
        let solution = solve(&netlist).unwrap();
        for pair in nodes.windows(2) {
            let potentials = [pair[0], pair[1]].map(|node| solution.potential(node));
            if let [Some(a), Some(b)] = potentials {
                let difference = solution.difference(pair[0], pair[1]).unwrap();
                let floor = a.magnitude().max(b.magnitude()).max(VOLTAGE_FLOOR_VOLT);
                prop_assert!(close(difference, a - b, floor));
            }
        }
    }
}
