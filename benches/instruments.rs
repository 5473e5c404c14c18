//! All instruments at all receptacles of a circuit of twelve boxes, for all its single faults,
//! beside solving the network densely anew for each reading.
//!
//! `cargo bench --bench instruments`; `-- --test` runs each once.

#![allow(clippy::unwrap_used)] // A bench: nothing here is an interface.
#![allow(clippy::print_stdout, missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::{PossibleFault, catalogue};
use slotwise::instrument::{ManyReadings, Place, Reading, Request, Shown, measure, presets};
use slotwise::netlist::{Law, Netlist, NodeId, Role, wire};
use slotwise::quantity::{Address, Phasor};
use support::run::run;

#[path = "../tests/support/mod.rs"]
mod support;

const N_BOXES: usize = 12;

/// Twelve receptacles on one cable, a heater at the ninth, a lamp at the fourth.
fn circuit() -> Circuit {
    run(N_BOXES, &[("heater", 8, 1200), ("lamp", 3, 60)])
}

/// Everything that goes to a receptacle, at every receptacle.
fn requests(circuit: &Circuit) -> Vec<Request> {
    let mut requests = Vec::new();
    let mut put = |name: &str, place: Place| {
        requests.push(Request::new(presets::named(name).unwrap(), place));
    };
    for (_, outlet) in circuit.outlets() {
        let slot = |name: &str| outlet.address.join(name);
        for plugged in [
            "tester",
            "tester-solid-state",
            "tester-glow-lamp",
            "tester-glow-lamp-memory",
            "loaded-test",
        ] {
            put(plugged, Place::receptacle(outlet.address.clone()));
        }
        for (from, to) in [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")] {
            for probed in
                ["voltmeter", "voltmeter-low-impedance", "voltmeter-needle", "solenoid", "two-pole"]
            {
                put(probed, Place::between(slot(from), slot(to)));
            }
        }
        for at in ["hot", "neutral", "ground"] {
            put("non-contact", Place::near(slot(at)));
        }
        put("person", Place::between(slot("ground"), "earth"));
    }
    requests
}

fn conditions(circuit: &Circuit) -> Vec<Condition> {
    let with = |fault: &PossibleFault| {
        let mut condition = Condition::default();
        fault.apply(&mut condition);
        condition
    };
    catalogue(circuit).faults().iter().map(with).collect()
}

/// Volts between two nodes by the nodal matrix, assembled and factorised anew.
fn dense(netlist: &Netlist, from: NodeId, to: NodeId) -> f64 {
    let potentials = support::dense::potentials(netlist).unwrap();
    let at = |node| potentials[netlist.nodes().position(|other| other == node).unwrap()];
    let (from, to) = (at(from), at(to));
    (from.re - to.re).hypot(from.im - to.im)
}

/// The netlist with a voltmeter of 3 kilohms in it.
fn metered(netlist: &Netlist, from: NodeId, to: NodeId) -> Netlist {
    let mut netlist = netlist.clone();
    netlist.add("meter", from, to, Role::Instrument, Law::resistance(3e3)).unwrap();
    netlist
}

fn volts(reading: &Reading) -> f64 {
    match &reading.shown {
        Shown::Voltmeter(shown) => shown.voltage_volt.map_or(f64::NAN, Phasor::magnitude),
        _ => f64::NAN,
    }
}

fn instruments(criterion: &mut Criterion) {
    let circuit = circuit();
    let requests = requests(&circuit);
    let conditions = conditions(&circuit);
    let sound = Condition::default();
    println!("{} readings in each of {} conditions", requests.len(), conditions.len());

    let mut group = criterion.benchmark_group("instruments/12_boxes");
    group.sample_size(10);
    group.bench_function("one_condition", |bencher| {
        bencher.iter(|| measure(&circuit, black_box(&sound), &requests).unwrap());
    });
    // The base is prepared anew each time.
    let prepared = || ManyReadings::new(&circuit, &sound, &conditions, &requests).unwrap();
    group.bench_function("all_single_faults", |bencher| {
        bencher.iter(|| {
            let many = prepared();
            let mut work = many.work();
            let read = |fault| many.readings(&[fault], &mut work).unwrap().len();
            (0..conditions.len()).map(read).sum::<usize>()
        });
    });
    group.bench_function("all_single_faults_on_two_threads", |bencher| {
        bencher.iter(|| {
            let many = prepared();
            let share = |first: usize| {
                let mut work = many.work();
                let read = |fault| many.readings(&[fault], &mut work).unwrap().len();
                (first..conditions.len()).step_by(2).map(read).sum::<usize>()
            };
            std::thread::scope(|scope| {
                let other = scope.spawn(|| share(1));
                share(0) + other.join().unwrap()
            })
        });
    });
    group.bench_function("all_single_faults_each_laid_out", |bencher| {
        let read = |condition| measure(&circuit, condition, &requests).unwrap().len();
        bencher.iter(|| conditions.iter().map(read).sum::<usize>());
    });
    group.finish();

    // The two ways say the same.
    let many = prepared();
    let mut work = many.work();
    for fault in (0..conditions.len()).step_by(41) {
        let [one, other] = [
            many.readings(&[fault], &mut work).unwrap(),
            measure(&circuit, &conditions[fault], &requests).unwrap(),
        ];
        assert_eq!(one.len(), other.len());
        for (one, other) in one.iter().zip(&other) {
            let [one, other] = [one, other].map(volts);
            assert!(one.is_nan() && other.is_nan() || (one - other).abs() < 1e-6, "{one} {other}");
        }
    }
    println!("{} of {} conditions laid out whole", work.solved_whole(), work.answered());

    let netlist = wire(&circuit, &sound).unwrap();
    let [from, to] =
        ["b11.hot", "b11.neutral"].map(|at| netlist.find_node(&Address::from(at)).unwrap());
    println!("dense: {} nodes", netlist.nodes().len());
    let mut group = criterion.benchmark_group("dense_nalgebra/12_boxes");
    group.sample_size(10);
    group.bench_function("one_reading", |bencher| {
        bencher.iter(|| dense(&metered(black_box(&netlist), from, to), from, to));
    });
    group.finish();

    // The two say the same.
    let meter = presets::voltmeter_low_impedance();
    let request = Request::new(meter, Place::between("b11.hot", "b11.neutral"));
    let ours = volts(&measure(&circuit, &sound, &[request]).unwrap()[0]);
    let theirs = dense(&metered(&netlist, from, to), from, to);
    assert!((ours - theirs).abs() < 1e-6, "{ours} {theirs}");
}

criterion_group!(benches, instruments);
criterion_main!(benches);
