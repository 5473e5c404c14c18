//! One solve, cold and with the plan kept, beside a dense LU of the same nodal matrix.
//!
//! `cargo bench --bench solve` measures; `cargo bench --bench solve -- --test` runs each once. Every
//! iteration asserts its answer, and the networks are tied well enough for the dense LU to give
//! one.

#![allow(clippy::unwrap_used)] // A bench: a panic is its answer.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use nalgebra::{Complex, DMatrix, DVector};
use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{Planned, solve};

/// What the dense LU leaves of its digits on these networks.
const DENSE_TOLERANCE: f64 = 1e-8;
/// What Kirchhoff's law may miss at a node, for hundreds of amperes.
const RESIDUAL_AMPERE: f64 = 1e-9;

/// A circuit being written down, and the terminal whose potential is checked.
struct Circuit {
    netlist: Netlist,
    probe: NodeId,
}

impl Circuit {
    /// A supply of 120 V whose neutral is on an electrode; hot, neutral and ground.
    fn supplied() -> (Self, [NodeId; 3]) {
        let mut netlist = Netlist::new(60.0);
        let [hot, neutral, ground] =
            ["bus.hot", "bus.neutral", "bus.ground"].map(|name| netlist.node(&name.into()));
        let mut circuit = Self { netlist, probe: hot };
        let winding = Law::Source {
            emf_volt: Phasor::new(120.0, 0.0),
            impedance: Impedance::new(0.012, 0.016),
        };
        circuit.add(hot, neutral, winding);
        circuit.add(neutral, ground, Law::resistance(3e-4));
        circuit.add(ground, Netlist::EARTH, Law::resistance(20.0));
        (circuit, [hot, neutral, ground])
    }

    fn add(&mut self, a: NodeId, b: NodeId, law: Law) {
        let name = format!("e{}", self.netlist.elements().len());
        self.netlist.add(name, a, b, Role::Lumped, law).unwrap();
    }

    fn node(&mut self) -> NodeId {
        let name = format!("n{}", self.netlist.nodes().len());
        self.netlist.node(&Address::from(name))
    }

    /// A daisy chain: three conductors, and in each box a hub and a way out.
    fn chain(n_nodes: usize) -> Self {
        let (mut circuit, mut ends) = Self::supplied();
        let mut place = 0;
        while circuit.netlist.nodes().len() < n_nodes {
            place += 1;
            let mut hubs = ends;
            for (conductor, end) in ends.iter_mut().enumerate() {
                let [hub, out] = [circuit.node(), circuit.node()];
                let wire = Impedance::new(0.02 + 0.001 * place as f64, 1e-3);
                circuit.add(*end, hub, Law::Impedance(wire));
                circuit.add(hub, out, Law::resistance(2e-4));
                circuit.add(hub, Netlist::EARTH, Law::resistance(1e7));
                (hubs[conductor], *end) = (hub, out);
            }
            for (a, b) in [(0, 1), (0, 2), (1, 2)] {
                circuit.add(hubs[a], hubs[b], Law::Capacitor { capacitance_farad: 2e-9 });
            }
            if place % 3 == 0 {
                circuit.add(hubs[0], hubs[1], Law::Impedance(Impedance::new(100.0, 8.0)));
            }
        }
        circuit.probe = ends[0];
        circuit
    }

    /// A campus: conductors that branch like a tree, a load at every tenth node, every hundredth
    /// node bonded to the next branch.
    fn near_tree(n_nodes: usize) -> Self {
        let (mut circuit, [hot, neutral, _]) = Self::supplied();
        let mut nodes = vec![hot];
        while circuit.netlist.nodes().len() < n_nodes {
            let parent = nodes[nodes.len() * 7 / 10];
            let node = circuit.node();
            circuit.add(parent, node, Law::Impedance(Impedance::new(2e-3, 1e-4)));
            circuit.add(node, Netlist::EARTH, Law::resistance(1e9));
            if nodes.len() % 10 == 0 {
                circuit.add(node, neutral, Law::resistance(1e4));
            }
            if nodes.len() % 100 == 0 {
                circuit.add(node, nodes[nodes.len() - 2], Law::resistance(1e-3));
            }
            nodes.push(node);
            circuit.probe = node;
        }
        circuit
    }
}

/// The nodal equations Y v = i with a row for every node but earth.
struct Dense {
    admittance: DMatrix<Complex<f64>>,
    injection: DVector<Complex<f64>>,
    probe_row: usize,
}

impl Dense {
    fn new(circuit: &Circuit) -> Self {
        let netlist = &circuit.netlist;
        let row = |node| netlist.nodes().position(|other| other == node).unwrap().checked_sub(1);
        let n_rows = netlist.nodes().len() - 1;
        let mut dense = Self {
            admittance: DMatrix::zeros(n_rows, n_rows),
            injection: DVector::zeros(n_rows),
            probe_row: row(circuit.probe).unwrap(),
        };
        for element in netlist.elements() {
            let (a, b) = netlist.ends(element);
            let (y, emf) = admittance(netlist, &netlist.element(element).law);
            for (node, other) in [(row(a), row(b)), (row(b), row(a))] {
                let Some(node) = node else { continue };
                dense.admittance[(node, node)] += y;
                if let Some(other) = other {
                    dense.admittance[(node, other)] -= y;
                }
            }
            for (node, driven) in [(row(a), y * emf), (row(b), -y * emf)] {
                if let Some(node) = node {
                    dense.injection[node] += driven;
                }
            }
        }
        dense
    }

    fn solve(&self) -> Complex<f64> {
        self.admittance.clone().lu().solve(&self.injection).unwrap()[self.probe_row]
    }
}

fn admittance(netlist: &Netlist, law: &Law) -> (Complex<f64>, f64) {
    let of = |z: Impedance| Complex::new(z.resistance_ohm, z.reactance_ohm).inv();
    match *law {
        Law::Impedance(z) => (of(z), 0.0),
        Law::Source { emf_volt, impedance } => (of(impedance), emf_volt.re),
        Law::Capacitor { capacitance_farad } => {
            let omega = std::f64::consts::TAU * netlist.frequency_hz();
            (Complex::new(0.0, omega * capacitance_farad), 0.0)
        }
        _ => unreachable!("the circuits of this bench have no other law"),
    }
}

fn chains(c: &mut Criterion) {
    for n_nodes in [10, 30, 100, 400] {
        let circuit = Circuit::chain(n_nodes);
        let n = circuit.netlist.nodes().len();
        let dense = Dense::new(&circuit);
        let expected = dense.solve();
        let check = |found: Phasor| {
            let miss = (Complex::new(found.re, found.im) - expected).norm();
            assert!(miss < DENSE_TOLERANCE * expected.norm(), "{miss:e} V");
        };
        c.bench_with_input(BenchmarkId::new("solve/chain/cold", n), &circuit, |b, circuit| {
            b.iter(|| {
                check(solve(black_box(&circuit.netlist)).unwrap().potential(circuit.probe).unwrap())
            });
        });
        let mut planned = Planned::new(&circuit.netlist).unwrap();
        c.bench_with_input(BenchmarkId::new("solve/chain/planned", n), &circuit, |b, circuit| {
            b.iter(|| {
                planned.solve().unwrap();
                check(planned.potential(black_box(circuit.probe)).unwrap());
            });
        });
        c.bench_with_input(BenchmarkId::new("dense_nalgebra/chain", n), &dense, |b, dense| {
            b.iter(|| assert!((black_box(dense).solve() - expected).norm() < f64::EPSILON));
        });
    }
}

fn near_tree(c: &mut Criterion) {
    const N_NODES: usize = 100_000;
    let circuit = Circuit::near_tree(N_NODES);
    let mut group = c.benchmark_group("solve/near_tree");
    group.sample_size(10);
    group.bench_function(BenchmarkId::new("cold", N_NODES), |b| {
        b.iter(|| {
            let solution = solve(black_box(&circuit.netlist)).unwrap();
            assert!(solution.residual_ampere() < RESIDUAL_AMPERE);
        });
    });
    let mut planned = Planned::new(&circuit.netlist).unwrap();
    let expected = solve(&circuit.netlist).unwrap().potential(circuit.probe).unwrap();
    group.bench_function(BenchmarkId::new("planned", N_NODES), |b| {
        b.iter(|| {
            planned.solve().unwrap();
            let found = planned.potential(black_box(circuit.probe)).unwrap();
            assert!((found - expected).magnitude() < DENSE_TOLERANCE);
        });
    });
    group.finish();
}

criterion_group!(benches, chains, near_tree);
criterion_main!(benches);
