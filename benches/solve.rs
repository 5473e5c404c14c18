//! One solve, cold and with the plan kept, beside a dense and a sparse LU of the same nodal matrix.
//!
//! `cargo bench --bench solve` measures; `cargo bench --bench solve -- --test` runs each once. Every
//! iteration asserts its answer, and the networks are tied well enough for the dense LU to give
//! one.

#![allow(clippy::unwrap_used)] // A bench: a panic is its answer.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{Planned, solve};
use sparse::Sparse;
use support::dense::Dense;

mod sparse;
#[path = "../tests/support/mod.rs"]
mod support;

/// What the dense LU leaves of its digits on these networks.
const DENSE_TOLERANCE: f64 = 1e-8;

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
}

fn chains(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("solve/chain");
    for n_nodes in [10, 30, 100, 400] {
        let circuit = Circuit::chain(n_nodes);
        let netlist = &circuit.netlist;
        let n = netlist.nodes().len();
        let at_probe = netlist.nodes().position(|node| node == circuit.probe).unwrap();
        let dense = Dense::new(netlist);
        let expected = dense.potentials().unwrap()[at_probe];
        let check = |found: Phasor| {
            let miss = (found - expected).magnitude();
            assert!(miss < DENSE_TOLERANCE * expected.magnitude(), "{miss:e} V");
        };
        group.bench_function(BenchmarkId::new("cold", n), |b| {
            b.iter(|| check(solve(black_box(netlist)).unwrap().potential(circuit.probe).unwrap()));
        });
        group.bench_function(BenchmarkId::new("cold_potentials", n), |b| {
            b.iter(|| {
                let mut planned = Planned::new(black_box(netlist)).unwrap();
                planned.solve_potentials().unwrap();
                check(planned.potential(circuit.probe).unwrap());
            });
        });
        let mut planned = Planned::new(netlist).unwrap();
        group.bench_function(BenchmarkId::new("planned", n), |b| {
            b.iter(|| {
                planned.solve().unwrap();
                check(planned.potential(black_box(circuit.probe)).unwrap());
            });
        });
        group.bench_function(BenchmarkId::new("planned_potentials", n), |b| {
            b.iter(|| {
                planned.solve_potentials().unwrap();
                check(planned.potential(black_box(circuit.probe)).unwrap());
            });
        });
        group.bench_function(BenchmarkId::new("dense_nalgebra", n), |b| {
            b.iter(|| check(black_box(&dense).potentials().unwrap()[at_probe]));
        });
        let sparse = Sparse::new(netlist);
        group.bench_function(BenchmarkId::new("faer_planned", n), |b| {
            b.iter(|| check(black_box(&sparse).potentials()[at_probe]));
        });
        group.bench_function(BenchmarkId::new("faer_cold", n), |b| {
            b.iter(|| check(Sparse::new(black_box(netlist)).potentials()[at_probe]));
        });
    }
}

criterion_group!(benches, chains);
criterion_main!(benches);
