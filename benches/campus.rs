//! A whole campus: from ten thousand to a million nodes, beside faer's sparse LU of the same nodal
//! matrix.
//!
//! `cargo bench --bench campus` measures; `-- --test` runs the smallest once. Every iteration asserts
//! its answer, on a network that is tied well enough for the LU to give one.

#![allow(clippy::unwrap_used)] // A bench: a panic is its answer.
#![allow(clippy::print_stdout, missing_docs)]

use std::hint::black_box;

use allocation_counter::{AllocationInfo, measure};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{Planned, solve};
use sparse::Sparse;
use support::worst_of;

mod sparse;
#[path = "../tests/support/mod.rs"]
mod support;

const SIZES: [usize; 3] = [10_000, 100_000, 1_000_000];
/// What the sparse LU leaves of its digits on these networks, volts.
const SPARSE_TOLERANCE_VOLT: f64 = 1e-6;

/// What Kirchhoff's law may miss at a node, for hundreds of amperes.
const RESIDUAL_AMPERE: f64 = 1e-9;

const RUNS_OF_PANEL: usize = 20;
const BOXES_OF_RUN: usize = 8;
const PANELS_OF_PANEL: usize = 4;
/// Every so many boxes the ground is bonded to that of the next run as well.
const BOXES_A_BOND: usize = 33;

/// Hot, neutral and ground at one place.
type Conductors = [NodeId; 3];

/// A tree of panels, twenty runs of boxes each.
struct Campus {
    netlist: Netlist,
    n_boxes: usize,
}

impl Campus {
    fn new(n_nodes: usize) -> Self {
        let mut campus = Self { netlist: Netlist::new(60.0), n_boxes: 0 };
        let [hot, neutral, ground] = campus.place();
        let emf_volt = Phasor::new(120.0, 0.0);
        let supply = Law::Source { emf_volt, impedance: Impedance::new(2e-3, 3e-3) };
        campus.add(hot, neutral, supply);
        campus.add(neutral, ground, Law::resistance(3e-5));
        campus.add(ground, Netlist::EARTH, Law::resistance(2.0));
        let mut panels = vec![[hot, neutral, ground]];
        let mut fed = 0;
        while campus.netlist.nodes().len() < n_nodes {
            let from = panels[fed / PANELS_OF_PANEL];
            let feeder = Law::Impedance(Impedance::new(4e-4, 2e-4));
            let panel = campus.beyond(from, feeder);
            let mut before = panel;
            for _ in 0..RUNS_OF_PANEL {
                before = campus.run(panel, before);
            }
            panels.push(panel);
            fed += 1;
        }
        campus
    }

    fn place(&mut self) -> Conductors {
        let n = self.netlist.nodes().len();
        [0, 1, 2].map(|conductor| self.netlist.node(&Address::from(format!("n{}", n + conductor))))
    }

    fn add(&mut self, a: NodeId, b: NodeId, law: Law) {
        let name = format!("e{}", self.netlist.elements().len());
        self.netlist.add(name, a, b, Role::Lumped, law).unwrap();
    }

    /// A place at the other end of a cable.
    fn beyond(&mut self, from: Conductors, law: Law) -> Conductors {
        let to = self.place();
        for (from, to) in from.into_iter().zip(to) {
            self.add(from, to, law);
        }
        for (i, j) in [(0, 1), (0, 2), (1, 2)] {
            self.add(to[i], to[j], Law::Capacitor { capacitance_farad: 2e-9 });
        }
        to
    }

    /// A run of boxes with a load in every third; its last box.
    fn run(&mut self, panel: Conductors, run_before: Conductors) -> Conductors {
        let mut end = panel;
        for _ in 0..BOXES_OF_RUN {
            let wire =
                Law::Impedance(Impedance::new(0.02 + 1e-5 * (self.n_boxes % 900) as f64, 1e-3));
            end = self.beyond(end, wire);
            self.n_boxes += 1;
            if self.n_boxes.is_multiple_of(3) {
                self.add(end[0], end[1], Law::Impedance(Impedance::new(4e3, 80.0)));
            }
            if self.n_boxes.is_multiple_of(BOXES_A_BOND) {
                self.add(end[2], run_before[2], Law::resistance(0.01));
            }
        }
        end
    }
}

/// What the largest miss is against the sparse LU.
fn worst(planned: &Planned<'_>, netlist: &Netlist, sparse: &[Phasor]) -> f64 {
    let miss = |(node, expected): (NodeId, &Phasor)| {
        (planned.potential(node).unwrap() - *expected).magnitude()
    };
    worst_of(netlist.nodes().zip(sparse).map(miss))
}

fn mebibytes(info: &AllocationInfo) -> f64 {
    info.bytes_current as f64 / f64::from(1 << 20)
}

fn campus(criterion: &mut Criterion) {
    let only_smallest = std::env::args().any(|argument| argument == "--test");
    for n_nodes in &SIZES[..if only_smallest { 1 } else { SIZES.len() }] {
        let Campus { netlist, n_boxes } = Campus::new(*n_nodes);
        let n = netlist.nodes().len() - 1;
        let mut planned = None;
        let kept = measure(|| {
            let mut new = Planned::new(&netlist).unwrap();
            new.solve_potentials().unwrap();
            planned = Some(new);
        });
        let mut planned = planned.unwrap();
        let sparse = Sparse::new(&netlist);
        let expected = sparse.potentials();
        let worst = worst(&planned, &netlist, &expected);
        println!(
            "{n} nodes, {n_boxes} boxes, {} elements: {:.0} MiB kept, {:.0} B a node; {worst:.1e} V \
             from the sparse LU",
            netlist.elements().len(),
            mebibytes(&kept),
            kept.bytes_current as f64 / n as f64,
        );
        assert!(worst < SPARSE_TOLERANCE_VOLT, "{worst:e}");
        assert!(solve(&netlist).unwrap().residual_ampere() < RESIDUAL_AMPERE);

        let mut group = criterion.benchmark_group("campus");
        group.sample_size(10).throughput(Throughput::Elements(n as u64));
        let far = netlist.nodes().last().unwrap();
        let at_far = expected[expected.len() - 1];
        let check = |found: Phasor| {
            assert!((found - at_far).magnitude() < SPARSE_TOLERANCE_VOLT);
        };
        group.bench_function(BenchmarkId::new("plan_and_solve", n), |bencher| {
            bencher.iter(|| {
                let mut planned = Planned::new(black_box(&netlist)).unwrap();
                planned.solve_potentials().unwrap();
                check(planned.potential(far).unwrap());
            });
        });
        group.bench_function(BenchmarkId::new("solve_potentials", n), |bencher| {
            bencher.iter(|| {
                planned.solve_potentials().unwrap();
                check(planned.potential(far).unwrap());
            });
        });
        group.bench_function(BenchmarkId::new("solve", n), |bencher| {
            bencher.iter(|| {
                planned.solve().unwrap();
                check(planned.potential(far).unwrap());
            });
        });
        group.bench_function(BenchmarkId::new("faer_symbolic", n), |bencher| {
            bencher.iter(|| black_box(&sparse).symbolic());
        });
        group.bench_function(BenchmarkId::new("faer_numeric", n), |bencher| {
            bencher.iter(|| check(*black_box(&sparse).potentials().last().unwrap()));
        });
        group.finish();
    }
}

criterion_group!(benches, campus);
criterion_main!(benches);
