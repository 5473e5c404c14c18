//! What-ifs a second: one, two and three changes of a run of twelve boxes, beside a dense LU of
//! the same network anew for each; and all double faults of a circuit, read everywhere.
//!
//! `cargo bench --bench whatif` measures; `-- --test` runs each once. Every iteration asserts its
//! answer, on networks that are tied well enough for the dense LU to give one.

#![allow(clippy::unwrap_used)] // A bench: a panic is its answer.
#![allow(clippy::print_stdout, missing_docs)]

use std::cell::OnceCell;
use std::hint::black_box;
use std::sync::atomic::{AtomicUsize, Ordering};

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use slotwise::condition::Condition;
use slotwise::condition::catalogue::catalogue;
use slotwise::instrument::{
    ManyConditions, ManyWork, MeasureProblem, Place, Request, Shown, measure, presets,
};
use slotwise::lookalike::{Question, lookalikes, shows};
use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{Change, PortSight, Refusal, SlotsSight, WhatIf, WhatIfWork};
use support::dense;
use support::run::run;

#[path = "../tests/support/mod.rs"]
mod support;

/// What the dense LU leaves of its digits on these networks, volts.
const DENSE_TOLERANCE_VOLT: f64 = 1e-6;
const N_BOXES: usize = 12;

/// A run of twelve boxes, hot, neutral and ground, three nodes a conductor and box; its 72 joints
/// can be open, and any two slots of a box bridged.
struct Run {
    netlist: Netlist,
    joints: Vec<slotwise::netlist::ElementId>,
    hubs: Vec<[NodeId; 3]>,
}

impl Run {
    fn new() -> Self {
        let mut netlist = Netlist::new(60.0);
        let mut ends =
            ["bus.hot", "bus.neutral", "bus.ground"].map(|name| netlist.node(&Address::from(name)));
        let emf_volt = Phasor::new(120.0, 0.0);
        let supply = Law::Source { emf_volt, impedance: Impedance::new(0.012, 0.016) };
        let mut run = Self { netlist, joints: Vec::new(), hubs: Vec::new() };
        run.add(ends[0], ends[1], supply);
        run.add(ends[1], ends[2], Law::resistance(3e-4));
        run.add(ends[2], Netlist::EARTH, Law::resistance(20.0));
        for place in 0..N_BOXES {
            let mut hubs = ends;
            for (conductor, end) in ends.iter_mut().enumerate() {
                let [near, hub, out] = ["in", "hub", "out"].map(|part| {
                    let name = format!("{place}.{part}.{conductor}");
                    run.netlist.node(&Address::from(name.as_str()))
                });
                let wire = Impedance::new(0.02 + 0.001 * place as f64, 1e-3);
                run.add(*end, near, Law::Impedance(wire));
                for (a, b) in [(near, hub), (hub, out)] {
                    let joint = run.add(a, b, Law::resistance(2e-4));
                    run.joints.push(joint);
                }
                run.add(hub, Netlist::EARTH, Law::resistance(1e7));
                (hubs[conductor], *end) = (hub, out);
            }
            for (a, b) in [(0, 1), (0, 2), (1, 2)] {
                run.add(hubs[a], hubs[b], Law::Capacitor { capacitance_farad: 2e-9 });
            }
            if place % 3 == 1 {
                run.add(hubs[0], hubs[1], Law::Impedance(Impedance::new(100.0, 8.0)));
            }
            run.hubs.push(hubs);
        }
        run
    }

    fn add(&mut self, a: NodeId, b: NodeId, law: Law) -> slotwise::netlist::ElementId {
        let name = format!("e{}", self.netlist.elements().len());
        self.netlist.add(name, a, b, Role::Lumped, law).unwrap()
    }

    fn pairs(&self) -> Vec<(NodeId, NodeId)> {
        let of = |hub: &[NodeId; 3]| [(0, 1), (0, 2), (1, 2)].map(|(i, j)| (hub[i], hub[j]));
        self.hubs.iter().flat_map(of).collect()
    }

    /// 72 opens and 36 bridges.
    fn changes(&self, whatif: &WhatIf) -> Vec<Change> {
        let opens = self.joints.iter().map(|&joint| whatif.change(joint, Law::Open).unwrap());
        let bridge = Law::resistance(0.002);
        let bridges = self.pairs().into_iter().map(|(a, b)| whatif.join(a, b, bridge).unwrap());
        opens.chain(bridges).collect()
    }
}

/// Every set of so many changes in order, at most `limit` of them evenly spread.
fn sets(n: usize, of: usize, limit: usize) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = vec![vec![]];
    for _ in 0..of {
        let longer = |set: &Vec<usize>| {
            let from = set.last().map_or(0, |last| last + 1);
            let set = set.clone();
            (from..n).map(move |next| [set.clone(), vec![next]].concat())
        };
        all = all.iter().flat_map(longer).collect();
    }
    let step = all.len().div_ceil(limit);
    all.into_iter().step_by(step).collect()
}

fn walk<S: AsRef<[Change]>>(
    whatif: &WhatIf,
    sets: &[S],
    metered: bool,
    work: &mut WhatIfWork,
) -> f64 {
    let mut sum = 0.0;
    for changes in sets.iter().map(AsRef::as_ref) {
        match metered {
            true => whatif.put(changes, work).unwrap(),
            false => whatif.put_voltages(changes, work).unwrap(),
        }
        sum += summed(whatif.read(0, work).unwrap(), metered);
    }
    sum
}

/// The same, asked for together.
fn walk_together<S: AsRef<[Change]>>(
    whatif: &WhatIf,
    sets: &[S],
    metered: bool,
    work: &mut WhatIfWork,
) -> f64 {
    let mut sum = 0.0;
    let told =
        |_: usize, seen: Result<&[PortSight], Refusal>| sum += summed(seen.unwrap(), metered);
    match metered {
        true => whatif.read_each(sets, 0, work, told).unwrap(),
        false => whatif.read_voltages_each(sets, 0, work, told).unwrap(),
    }
    sum
}

fn summed(seen: &[PortSight], metered: bool) -> f64 {
    let meter = Impedance::resistance(10e6);
    let volt = |seen: &PortSight| match metered {
        true => seen.behind(meter).unwrap().re,
        false => seen.voltage_volt.unwrap().re,
    };
    seen.iter().map(volt).sum()
}

/// All triples in order, by their first change, from nothing.
fn triples_in_order(whatif: &WhatIf, all: &[Change], is_together: bool) -> (usize, f64) {
    let mut work = whatif.work();
    let (mut n, mut sum) = (0, 0.0);
    let mut sets: Vec<[Change; 3]> = Vec::new();
    for (first, one) in all.iter().enumerate() {
        sets.clear();
        for (second, two) in all.iter().enumerate().skip(first + 1) {
            sets.extend(all[second + 1..].iter().map(|three| [*one, *two, *three]));
        }
        n += sets.len();
        sum += match is_together {
            true => walk_together(whatif, &sets, false, &mut work),
            false => walk(whatif, &sets, false, &mut work),
        };
    }
    (n, sum)
}

/// Sets timed at once.
const SETS: usize = 6000;

fn changes(criterion: &mut Criterion) {
    let run = Run::new();
    let to_reference: Vec<_> =
        run.hubs.iter().flatten().map(|&hub| (hub, Netlist::EARTH)).collect();
    let pairs = run.pairs();
    let voltages = WhatIf::new(&run.netlist, &pairs, &[to_reference]).unwrap();
    let ports = WhatIf::new(&run.netlist, &pairs, std::slice::from_ref(&pairs)).unwrap();
    for (name, whatif, metered) in
        [("36_potentials", &voltages, false), ("meters_at_36_ports", &ports, true)]
    {
        let mut group = criterion.benchmark_group(format!("whatif/12_boxes/{name}"));
        group.sample_size(10);
        let all = run.changes(whatif);
        let mut work = whatif.work();
        for of in 1..=3 {
            let sets: Vec<Vec<Change>> = sets(all.len(), of, SETS)
                .into_iter()
                .map(|set| set.into_iter().map(|at| all[at]).collect())
                .collect();
            group.throughput(Throughput::Elements(sets.len() as u64));
            let expected = walk(whatif, &sets, metered, &mut work);
            group.bench_function(format!("{of}_changes"), |bencher| {
                bencher.iter(|| {
                    let sum = walk(whatif, black_box(&sets), metered, &mut work);
                    assert!((sum - expected).abs() <= 1e-9 * expected.abs());
                });
            });
            group.bench_function(format!("{of}_changes_together"), |bencher| {
                bencher.iter(|| {
                    let sum = walk_together(whatif, black_box(&sets), metered, &mut work);
                    assert!((sum - expected).abs() <= 1e-9 * expected.abs());
                });
            });
        }
        assert_eq!(work.solved_whole(), 0);
        group.finish();
    }

    let mut group = criterion.benchmark_group("whatif/12_boxes/triples_in_order");
    group.sample_size(10);
    let all = run.changes(&voltages);
    let expected = OnceCell::new();
    for (name, is_together) in [("one_by_one", false), ("together", true)] {
        group.bench_function(name, |bencher| {
            let (n, expected) = *expected.get_or_init(|| triples_in_order(&voltages, &all, false));
            assert_eq!(n, 204_156);
            bencher.iter(|| {
                let (_, sum) = triples_in_order(&voltages, black_box(&all), is_together);
                assert!((sum - expected).abs() <= 1e-9 * expected.abs());
            });
        });
    }
    group.finish();

    let mut group = criterion.benchmark_group("whatif/12_boxes/dense_nalgebra");
    group.sample_size(10);
    let mut open = run.netlist.clone();
    open.set_law(run.joints[40], Law::resistance(5.0)).unwrap();
    group.bench_function("anew", |bencher| bencher.iter(|| dense::potentials(black_box(&open))));
    group.finish();

    // The two say the same.
    let mut work = voltages.work();
    let bad = voltages.change(run.joints[40], Law::resistance(5.0)).unwrap();
    voltages.put(&[bad], &mut work).unwrap();
    let dense = dense::potentials(&open).unwrap();
    for (seen, hub) in voltages.read(0, &mut work).unwrap().iter().zip(run.hubs.iter().flatten()) {
        let at = run.netlist.nodes().position(|node| node == *hub).unwrap();
        let found = seen.voltage_volt.unwrap();
        let miss = (found.re - dense[at].re).hypot(found.im - dense[at].im);
        assert!(miss < DENSE_TOLERANCE_VOLT, "{miss:e}");
    }
}

/// A plug-in tester of 40 kilohms an indicator at every receptacle: what it has between hot and
/// neutral.
fn tested(seen: &[PortSight]) -> f64 {
    let tester = Some(Impedance::resistance(40e3));
    let (receptacles, _) = seen.as_chunks();
    let shown = |ports| SlotsSight::attached_to(ports, [tester; 3]);
    receptacles.iter().map(|ports| shown(ports).map_or(0.0, |volts| volts[0].re.abs())).sum()
}

/// How pairs are asked.
#[derive(Clone, Copy)]
enum Asking {
    OneByOne,
    /// Together, the tester attached to what is told.
    Together,
    /// Together with the tester.
    Attached,
}

/// Faults of which all pairs are asked at once: about those of one box.
const FIRSTS: usize = 68;

/// Pairs of the faults from one on with all after it, and the sum of what the tester reads.
fn tester_from(
    many: &ManyConditions<'_>,
    (from, n_faults): (usize, usize),
    asking: Asking,
    (pairs, work): (&mut Vec<[usize; 2]>, &mut ManyWork),
) -> (usize, f64) {
    let (mut asked, mut sum) = (0, 0.0);
    let firsts = from..n_faults.min(from + FIRSTS);
    pairs.clear();
    pairs.extend(firsts.flat_map(|first| (first + 1..n_faults).map(move |next| [first, next])));
    match asking {
        Asking::Attached => {
            let tester = Some(Impedance::resistance(40e3));
            let told = |_, volts: Result<&[Option<[Phasor; 3]>], MeasureProblem>| {
                let Ok(volts) = volts else { return };
                asked += 1;
                sum += volts.iter().flatten().map(|volts| volts[0].re.abs()).sum::<f64>();
            };
            many.read_attached_each(pairs, (0, [tester; 3]), work, told).unwrap();
        }
        Asking::Together => {
            let told = |_, seen: Result<&[PortSight], MeasureProblem>| {
                let Ok(seen) = seen else { return };
                asked += 1;
                sum += tested(seen);
            };
            many.read_each(pairs, 0, work, told).unwrap();
        }
        Asking::OneByOne => {
            for pair in &*pairs {
                if many.put(pair, work).is_ok()
                    && let Ok(seen) = many.read(0, work)
                {
                    asked += 1;
                    sum += tested(seen);
                }
            }
        }
    }
    (asked, sum)
}

/// Some faults of every `step` times as many, each with all after it.
fn tester_everywhere(
    many: &ManyConditions<'_>,
    n_faults: usize,
    (step, asking): (usize, Asking),
) -> (usize, f64) {
    let (mut work, mut pairs) = (many.work(), Vec::new());
    let (mut asked, mut sum) = (0, 0.0);
    for from in (0..n_faults).step_by(FIRSTS * step) {
        let of = (from, n_faults);
        let (n, more) = tester_from(many, of, asking, (&mut pairs, &mut work));
        asked += n;
        sum += more;
    }
    println!("{asked} pairs, {} of them laid out whole", work.solved_whole());
    (asked, sum)
}

/// All pairs on two threads, which take what is next in turn. The sum is the same whoever takes it.
fn all_on_two_threads(many: &ManyConditions<'_>, n_faults: usize) -> (usize, f64) {
    let next = AtomicUsize::new(0);
    let parts = n_faults.div_ceil(FIRSTS);
    let ask = || {
        let mut told = Vec::new();
        let mut pairs = Vec::new();
        loop {
            let part = next.fetch_add(1, Ordering::Relaxed);
            if part >= parts {
                return told;
            }
            let (of, mut work) = ((part * FIRSTS, n_faults), many.work());
            let seen = tester_from(many, of, Asking::Attached, (&mut pairs, &mut work));
            told.push((part, seen));
        }
    };
    let mut all = std::thread::scope(|scope| {
        let other = scope.spawn(ask);
        let mut all = ask();
        all.extend(other.join().unwrap());
        all
    });
    all.sort_by_key(|(part, _)| *part);
    all.into_iter().fold((0, 0.0), |(n, sum), (_, (asked, more))| (n + asked, sum + more))
}

fn doubles(criterion: &mut Criterion) {
    for (n_boxes, step) in [(16, 4), (40, 20)] {
        let circuit = run(n_boxes, &[("heater", n_boxes - 1, 1200)]);
        let catalogue = catalogue(&circuit);
        // Box by box.
        let mut faults: Vec<_> = catalogue.faults().iter().collect();
        faults.sort_by_key(|fault| fault.places.last().map(|place| (place.len(), place.as_str())));
        let changes: Vec<Condition> = faults.iter().map(|fault| fault.change.clone()).collect();
        let of_outlet = |slots: &[(String, Address)]| {
            [(0, 1), (0, 2), (1, 2)].map(|(p, q)| (slots[p].1.clone(), slots[q].1.clone()))
        };
        let pairs: Vec<_> =
            circuit.outlets().flat_map(|(_, outlet)| of_outlet(&outlet.slots)).collect();
        let sound = Condition::default();
        let many = ManyConditions::new(&circuit, &sound, &changes, &[pairs]).unwrap();
        println!(
            "{n_boxes} boxes: {} faults, {} pairs of them",
            changes.len(),
            changes.len() * (changes.len() - 1) / 2
        );
        let mut group = criterion.benchmark_group(format!("whatif/doubles/{n_boxes}_boxes"));
        group.sample_size(10);
        let expected = OnceCell::new();
        let ways = [
            ("one_by_one", Asking::OneByOne),
            ("together", Asking::Together),
            ("attached", Asking::Attached),
        ];
        for (name, asking) in ways {
            group.bench_function(format!("tester_everywhere/{name}"), |bencher| {
                let ask = |asking| tester_everywhere(&many, changes.len(), (step, asking));
                let (asked, expected) = *expected.get_or_init(|| ask(Asking::OneByOne));
                bencher.iter(|| {
                    let (again, sum) = ask(asking);
                    assert_eq!(again, asked);
                    assert!((sum - expected).abs() < 1e-9 * expected.abs());
                });
            });
        }
        let expected = OnceCell::new();
        group.bench_function("all_pairs_on_two_threads", |bencher| {
            bencher.iter(|| {
                let (asked, sum) = all_on_two_threads(&many, changes.len());
                // To the last bit, whichever thread took what.
                let again = expected.get_or_init(|| (asked, sum.to_bits()));
                assert_eq!(*again, (asked, sum.to_bits()));
            });
        });
        group.finish();

        // The tester itself says the same.
        let mut work = many.work();
        many.put(&[changes.len() / 2], &mut work).unwrap();
        let seen = many.read(0, &mut work).unwrap();
        let last = seen.len() - 3;
        let slots = SlotsSight::new([seen[last], seen[last + 1], seen[last + 2]]);
        let presets = presets::plug_tester_resistive();
        let place = Place::receptacle(format!("b{}", n_boxes - 1).as_str());
        let condition = many.condition(&[changes.len() / 2]);
        let readings = measure(&circuit, &condition, &[Request::new(presets.clone(), place)]);
        let Shown::PlugTester(reading) = &readings.unwrap()[0].shown else { panic!() };
        let burden = burden(&presets);
        let volts = slots.attached([burden; 3]).unwrap();
        let shown = reading.indicators[0].voltage_volt.unwrap();
        assert!((volts[0] - shown).magnitude() < 1e-9);
    }
}

fn burden(tester: &slotwise::instrument::Instrument) -> Option<Impedance> {
    let slotwise::instrument::Instrument::PlugTester(tester) = tester else { return None };
    match tester.indicators[0].indicator.law {
        slotwise::instrument::IndicatorLaw::Resistance { resistance_ohm } => {
            Some(Impedance::resistance(resistance_ohm))
        }
        _ => None,
    }
}

/// What is done once before the first what-if.
fn preparing(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("whatif/preparing");
    group.sample_size(10);
    let run_of_nodes = Run::new();
    let pairs = run_of_nodes.pairs();
    group.bench_function("12_boxes_36_ports", |bencher| {
        bencher.iter(|| {
            let whatif =
                WhatIf::new(black_box(&run_of_nodes.netlist), &pairs, std::slice::from_ref(&pairs));
            assert!(whatif.unwrap().is_fast());
        });
    });
    for n_boxes in [16, 40] {
        let circuit = run(n_boxes, &[("heater", n_boxes - 1, 1200)]);
        let catalogue = catalogue(&circuit);
        let changes: Vec<Condition> =
            catalogue.faults().iter().map(|fault| fault.change.clone()).collect();
        group.bench_function(format!("{n_boxes}_boxes_all_faults"), |bencher| {
            bencher.iter(|| {
                let sound = Condition::default();
                let many = ManyConditions::new(black_box(&circuit), &sound, &changes, &[]);
                assert!(many.is_ok());
            });
        });
    }
    group.finish();
}

/// What a dark tester looks like: every single and double fault, in every load state.
fn look_alikes(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("whatif/lookalikes");
    group.sample_size(10);
    for n_boxes in [4, 8] {
        let circuit = run(n_boxes, &[("heater", n_boxes - 1, 1200)]);
        let question = Question {
            showing: shows("hot-neutral dark, hot-ground lit, neutral-ground lit").unwrap(),
            ..Question::new(presets::plug_tester_resistive(), "b1")
        };
        let sound = Condition::default();
        let ask = || lookalikes(black_box(&circuit), &sound, &question).unwrap().counts.asked;
        let expected = OnceCell::new();
        group.bench_function(format!("{n_boxes}_boxes"), |bencher| {
            let asked = *expected.get_or_init(ask);
            bencher.iter(|| assert_eq!(ask(), asked));
        });
    }
    group.finish();
}

criterion_group!(benches, changes, doubles, preparing, look_alikes);
criterion_main!(benches);
