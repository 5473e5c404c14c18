//! Figures at the ends of what a number can hold: an answer or a refusal, in a bounded time.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.

mod support;

use std::time::{Duration, Instant};

use slotwise::circuit::file;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::catalogue;
use slotwise::instrument::{Place, Request, measure, presets};
use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Impedance, Phasor};
use slotwise::solution::{WhatIf, solve};
use support::chance::Chance;

/// Every figure of it is exchanged for others.
const BOATHOUSE: &str = r#"(
    format: 1, name: "Boathouse",
    supply: (system: SplitPhase, volts_between: (114, 126)),
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "slip", from: "door", feet_between: (8, 16), device: GroundFault(feeds: true)),
        (id: "winch", from: "slip", metres: 3.5),
    ],
    loads: [(id: "pump", at: "winch", kind: Motor(watts: 400)),
            (id: "lamp", at: "door", kind: Filament(watts: 60)),
            (id: "charger", at: "slip", kind: Resistive(watts: 90))],
)"#;

/// Beyond all limits, and within them as far out as some allow.
const ENDS: [&str; 16] = [
    "0", "-0.0", "-1", "4.9e-324", "1e-308", "1e-150", "1e-30", "1e30", "1e150", "1e308", "1e400",
    "NaN", "1e-6", "0.001", "1000", "1e6",
];

/// An unoptimised build on a busy machine.
const SOON: Duration = Duration::from_secs(20);

/// Where each number of a text begins and ends, but for that of its format.
fn numbers(text: &str) -> Vec<(usize, usize)> {
    let is_part = |c: char| c.is_ascii_digit() || c == '.';
    let mut found = Vec::new();
    let mut begun = None;
    let mut before = ' ';
    for (at, c) in text.char_indices() {
        match begun {
            None if c.is_ascii_digit() && !before.is_alphanumeric() => begun = Some(at),
            Some(from) if !is_part(c) => {
                found.push((from, at));
                begun = None;
            }
            _ => {}
        }
        before = c;
    }
    found.remove(0);
    found
}

/// Reads a circuit and looks at all of it; whether it could be used.
fn looked_at(text: &str) -> bool {
    let start = Instant::now();
    let Ok(file) = file::read(text) else { return false };
    let testers = [presets::plug_tester_resistive(), presets::named("tester-glow-lamp").unwrap()];
    let requests: Vec<Request> = file
        .circuit
        .outlets()
        .flat_map(|(_, outlet)| {
            let held = |tester: &_| {
                Request::new(Clone::clone(tester), Place::receptacle(outlet.address.clone()))
            };
            testers.iter().map(held).collect::<Vec<_>>()
        })
        .collect();
    let faults = catalogue(&file.circuit);
    let conditions = faults.faults().iter().step_by(97).map(|fault| fault.change.clone());
    for condition in conditions.chain([Condition::default()]) {
        // Whether there is an answer is its own matter; what is shown has to be a number.
        if let Ok(readings) = measure(&file.circuit, &condition, &requests) {
            let said = serde_json::to_string(&readings).unwrap();
            assert!(!said.contains("NaN") && !said.contains("inf"), "{text}\n{said}");
        }
    }
    assert!(start.elapsed() < SOON, "{:?}: {text}", start.elapsed());
    true
}

#[test]
fn any_figure_of_a_circuit_at_the_ends_of_the_numbers_is_refused_or_answered() {
    assert!(looked_at(BOATHOUSE));
    let mut usable = 0;
    for (from, to) in numbers(BOATHOUSE) {
        for end in ENDS {
            usable +=
                usize::from(looked_at(&format!("{}{end}{}", &BOATHOUSE[..from], &BOATHOUSE[to..])));
        }
    }
    assert!(usable > 0, "nothing but refusals says nothing");
}

#[test]
fn every_figure_at_once_at_an_end_of_the_numbers_is_refused_or_answered() {
    for end in ENDS {
        let mut text = BOATHOUSE.to_owned();
        for (from, to) in numbers(BOATHOUSE).into_iter().rev() {
            text.replace_range(from..to, end);
        }
        looked_at(&text);
    }
}

fn extreme(chance: &mut Chance) -> f64 {
    let ends =
        [0.0, f64::MIN_POSITIVE, 5e-324, 1e-200, 1e-30, 1e-3, 1.0, 1e12, 1e30, 1e200, f64::MAX];
    ends[chance.below(ends.len())]
}

fn law(chance: &mut Chance) -> Law {
    match chance.below(8) {
        0 => Law::Open,
        1 => Law::Capacitor { capacitance_farad: extreme(chance) },
        2 => Law::Source {
            emf_volt: Phasor::new(extreme(chance), -extreme(chance)),
            impedance: Impedance::new(extreme(chance), extreme(chance)),
        },
        3 => Law::ThresholdLamp {
            threshold_volt: extreme(chance),
            off_ohm: extreme(chance),
            series_ohm: extreme(chance),
        },
        4 => Law::ConstantPower {
            active_watt: extreme(chance),
            reactive_var: extreme(chance),
            cut_out_volt: extreme(chance),
        },
        _ => Law::Impedance(Impedance::new(extreme(chance), extreme(chance))),
    }
}

#[test]
fn networks_of_elements_at_the_ends_of_the_numbers_are_refused_or_answered() {
    let (mut answered, mut refused) = (0, 0);
    for seed in 0..3000 {
        let start = Instant::now();
        let mut chance = Chance::new(seed);
        let mut netlist = Netlist::new(60.0);
        let n_nodes = 2 + chance.below(6);
        let mut nodes: Vec<NodeId> = vec![Netlist::EARTH];
        for node in 0..n_nodes {
            nodes.push(netlist.node(&format!("n{node}").as_str().into()));
        }
        for element in 0..2 * n_nodes {
            let [a, b] = [0; 2].map(|_| nodes[chance.below(nodes.len())]);
            let law = law(&mut chance);
            let _ = netlist.add(format!("e{element}"), a, b, Role::Lumped, law);
        }
        match solve(&netlist) {
            Ok(solution) => {
                answered += 1;
                for &node in &nodes {
                    let Some(volt) = solution.potential(node) else { continue };
                    assert!(volt.re.is_finite() && volt.im.is_finite(), "seed {seed}: {volt:?}");
                }
            }
            Err(_) => refused += 1,
        }
        let pair = [(nodes[1], nodes[2])];
        if let Ok(whatif) = WhatIf::new(&netlist, &pair, &[pair.to_vec()]) {
            let mut work = whatif.work();
            let law = law(&mut chance);
            if let Ok(change) = whatif.join(nodes[1], nodes[2], law)
                && whatif.put(&[change], &mut work).is_ok()
                && let Ok(seen) = whatif.read(0, &mut work)
                && let Some(volt) = seen[0].voltage_volt
            {
                assert!(volt.re.is_finite() && volt.im.is_finite(), "seed {seed}: {volt:?}");
            }
        }
        assert!(start.elapsed() < SOON, "seed {seed}: {:?}", start.elapsed());
    }
    assert!(answered > 300, "{answered} answered, {refused} refused");
}
