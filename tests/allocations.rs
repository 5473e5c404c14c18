//! Where millions are asked, nothing is allocated once the first few have been answered.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.

mod support;

use allocation_counter::measure;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::catalogue;
use slotwise::instrument::ManyConditions;
use slotwise::netlist::{ElementId, Law, NodeId};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{Change, Planned, PortSight, SlotsSight, WhatIf};
use support::chance::{Chance, SUPPLIES, change, daisy_chain};
use support::run::run;

const N_BOXES: usize = 12;

#[test]
fn changes_are_put_and_a_tester_is_read_at_every_receptacle_without_an_allocation() {
    for supply in SUPPLIES {
        let netlist = daisy_chain(3, N_BOXES, supply, 1e12);
        let node = |place: usize, conductor: &str| {
            netlist.find_node(&format!("{place}.hub.{conductor}").as_str().into()).unwrap()
        };
        let spans = |place: usize| {
            [("h", "n"), ("h", "g"), ("n", "g")].map(|(p, q)| (node(place, p), node(place, q)))
        };
        let ports: Vec<(NodeId, NodeId)> = (0..N_BOXES).flat_map(spans).collect();
        let whatif = WhatIf::new(&netlist, &ports, std::slice::from_ref(&ports)).unwrap();
        let mut work = whatif.work();
        let mut chance = Chance::new(11);
        let mut sets: Vec<Vec<Change>> = Vec::new();
        for _ in 0..300 {
            let mut set = Vec::new();
            for _ in 0..chance.below(4) {
                let (element, law) = change(&mut chance, &netlist);
                set.push(whatif.change(element, law).unwrap());
            }
            if chance.happens(0.3) {
                let (a, b) = ports[chance.below(ports.len())];
                set.push(whatif.join(a, b, Law::resistance(2e-3)).unwrap());
            }
            sets.push(set);
        }
        let indicator = Some(Impedance::resistance(40e3));
        let mut ask = |sets: &[Vec<Change>]| {
            let mut sum = 0.0;
            for set in sets {
                whatif.put(set, &mut work).unwrap();
                for seen in whatif.read(0, &mut work).unwrap().chunks_exact(3) {
                    let slots = SlotsSight::new([seen[0], seen[1], seen[2]]);
                    let volts = slots.attached([indicator; 3]);
                    sum += volts.map_or(0.0, |volts| volts.map(Phasor::magnitude).iter().sum());
                }
            }
            sum
        };
        ask(&sets[..50]);
        let mut sum = 0.0;
        let counted = measure(|| sum = ask(&sets));
        assert!(sum > 1e5, "{sum} V in all");
        assert_eq!(counted.count_total, 0, "{supply:?}: {counted:?}");

        let mut ask_together = |sets: &[Vec<Change>]| {
            let mut sum = 0.0;
            let told = |_: usize, seen: Result<&[PortSight], _>| {
                sum += seen.unwrap()[0].voltage_volt.map_or(0.0, Phasor::magnitude);
            };
            whatif.read_each(sets, 0, &mut work, told).unwrap();
            sum
        };
        ask_together(&sets[..50]);
        let counted = measure(|| sum = ask_together(&sets));
        assert!(sum > 1e3, "{sum} V in all");
        assert_eq!(counted.count_total, 0, "{supply:?}, together: {counted:?}");
    }
}

#[test]
fn pairs_of_faults_are_read_together_at_every_receptacle_without_an_allocation() {
    let circuit = run(N_BOXES, &[("heater", N_BOXES - 1, 1200)]);
    let changes: Vec<Condition> =
        catalogue(&circuit).faults().iter().map(|fault| fault.change.clone()).collect();
    let of_outlet = |slots: &[(String, Address)]| {
        [(0, 1), (0, 2), (1, 2)].map(|(p, q)| (slots[p].1.clone(), slots[q].1.clone()))
    };
    let ports: Vec<_> =
        circuit.outlets().flat_map(|(_, outlet)| of_outlet(&outlet.slots)).collect();
    let many = ManyConditions::new(&circuit, &Condition::default(), &changes, &[ports]).unwrap();
    let mut work = many.work();
    // Two faults of one part are wired anew, some cannot be at once, and where a receptacle hangs on
    // nothing the whole is solved: that is not what is asked.
    let mut is_answered = |pair: &[usize; 2]| {
        let mut ask = || many.put(pair, &mut work).is_ok() && many.read(0, &mut work).is_ok();
        ask() && measure(|| _ = ask()).count_total == 0
    };
    let pairs: Vec<[usize; 2]> = (0..changes.len())
        .step_by(83)
        .flat_map(|first| (first + 1..changes.len()).map(move |second| [first, second]))
        .filter(|pair| is_answered(pair))
        .collect();
    assert!(pairs.len() > 2000, "{} pairs", pairs.len());
    let mut ask = || {
        let mut sum = 0.0;
        let told = |_: usize, seen: Result<&[PortSight], _>| {
            sum += seen.unwrap()[0].voltage_volt.map_or(0.0, Phasor::magnitude);
        };
        many.read_each(&pairs, 0, &mut work, told).unwrap();
        sum
    };
    ask();
    let mut sum = 0.0;
    let counted = measure(|| sum = ask());
    assert!(sum > 1e3, "{sum} V in all");
    assert_eq!(counted.count_total, 0, "{counted:?}");
}

#[test]
fn a_kept_plan_is_solved_again_without_an_allocation() {
    for supply in SUPPLIES {
        let netlist = daisy_chain(3, N_BOXES, supply, 1e12);
        let mut planned = Planned::new(&netlist).unwrap();
        let mut chance = Chance::new(7);
        let changes: Vec<_> = (0..300).map(|_| change(&mut chance, &netlist)).collect();
        let near = netlist.find_node(&"0.hub.h".into()).unwrap();
        let mut ask = |changes: &[(ElementId, Law)]| {
            let mut sum = 0.0;
            for (element, law) in changes {
                planned.set_law(*element, law).unwrap();
                planned.solve_potentials().unwrap();
                sum += planned.potential(near).map_or(0.0, Phasor::magnitude);
                planned.solve().unwrap();
                sum += planned.potential(near).map_or(0.0, Phasor::magnitude);
                planned.set_law(*element, &netlist.element(*element).law).unwrap();
            }
            sum
        };
        ask(&changes);
        let mut sum = 0.0;
        let counted = measure(|| sum = ask(&changes));
        assert!(sum > 1.0, "{sum} V in all");
        assert_eq!(counted.count_total, 0, "{supply:?}: {counted:?}");
    }
}
