//! Random circuits with random faults of the catalogue: they balance, and edits of one network say
//! what each network says that is laid out for itself.
//!
//! `PROPTEST_CASES=100000 cargo test --release --test circuit_laws random` asks so many.

use proptest::prelude::*;
use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::{PossibleFault, catalogue};
use slotwise::instrument::ManyConditions;
use slotwise::netlist::wire;
use slotwise::quantity::{Address, Impedance};
use slotwise::solution::{PortSight, PortSystem, solve};

use crate::building::{Run, run};
use crate::faults::BALANCE_AMPERE;

/// Potentials and voltages by two ways, against the larger of the value and a floor in volts: a
/// millivolt beside 240 V is told to eps 240 V = 5e-14 V.
const SAME_TOLERANCES: [(f64, f64); 2] = [(1e-12, 1.0), (1e-9, 1e-3)];

/// What sources give and loads take, against the sum of volts times amperes.
const POWER_TOLERANCE: f64 = 1e-11;

/// Circuits a law, unless `PROPTEST_CASES` says how many.
fn cases() -> u32 {
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    if asked { ProptestConfig::default().cases } else { 40 }
}

fn runs() -> impl Strategy<Value = Run> {
    let boxes = prop::collection::vec((0.3..80.0, prop_oneof![Just(0.0), 2.0..1900.0]), 1..8);
    (boxes, any::<bool>()).prop_map(|(boxes, coupled)| {
        let (lengths_m, loads_watt) = boxes.into_iter().unzip();
        Run { lengths_m, loads_watt, coupled }
    })
}

/// Up to three faults of the catalogue that can be so at once.
fn some_of<'c>(
    faults: &'c [PossibleFault],
    picks: &[prop::sample::Index],
) -> Vec<&'c PossibleFault> {
    let mut some: Vec<&PossibleFault> = Vec::new();
    for pick in picks {
        let fault = pick.get(faults);
        if some.iter().all(|other| !other.excludes(fault)) {
            some.push(fault);
        }
    }
    some
}

fn slots(circuit: &Circuit) -> Vec<(Address, Address)> {
    let to_earth = |slot: &Address| (slot.clone(), Address::earth());
    let mut slots = Vec::new();
    for (_, outlet) in circuit.outlets() {
        slots.extend(outlet.slots.iter().map(|(_, slot)| to_earth(slot)));
        if let [(_, hot), (_, neutral), ..] = outlet.slots.as_slice() {
            slots.push((hot.clone(), neutral.clone()));
        }
    }
    slots
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), ..ProptestConfig::default() })]

    #[test]
    fn random_circuits_with_random_faults_balance_and_both_ways_agree(
        of in runs(),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 0..4),
    ) {
        let circuit = Circuit::new(run(&of)).unwrap();
        let listed = catalogue(&circuit);
        let faults = some_of(listed.faults(), &picks);
        let words: Vec<String> = faults.iter().map(|fault| fault.sentence(&circuit)).collect();
        let mut condition = Condition::default();
        faults.iter().for_each(|fault| condition.put_on(&fault.change));
        let changes: Vec<Condition> = faults.iter().map(|fault| fault.change.clone()).collect();
        let slots = slots(&circuit);
        let groups = [slots.clone()];
        let many = ManyConditions::new(&circuit, &Condition::default(), &changes, &groups).unwrap();
        let mut work = many.work();
        let set: Vec<usize> = (0..changes.len()).collect();
        let Ok(netlist) = wire(&circuit, &condition) else {
            prop_assert!(many.put(&set, &mut work).is_err(), "{words:?}");
            return Ok(());
        };
        let solution = solve(&netlist).unwrap();
        prop_assert!(solution.residual_ampere() <= BALANCE_AMPERE, "{words:?}");
        let balance = solution.power_balance();
        let apparent: f64 = netlist
            .elements()
            .map(|id| solution.voltage(id).magnitude() * solution.current(id).magnitude())
            .sum();
        prop_assert!(balance.mismatch_watt.abs() <= POWER_TOLERANCE * apparent.max(1.0), "{words:?}");
        prop_assert!(balance.mismatch_var.abs() <= POWER_TOLERANCE * apparent.max(1.0), "{words:?}");

        let node = |address: &Address| netlist.find_node(address).unwrap();
        let nodes: Vec<_> = slots.iter().map(|(a, b)| (node(a), node(b))).collect();
        let exact = PortSystem::new(&netlist, &nodes).unwrap();
        many.put(&set, &mut work).unwrap();
        let found = many.read(0, &mut work).unwrap();
        for (port, sight) in found.iter().enumerate() {
            let exact = PortSight {
                voltage_volt: exact.open_circuit(port),
                impedance: exact.impedance(port, port),
            };
            let to_earth = slots[port].1 == Address::earth();
            for burden in [None, Some(15e3)] {
                let shown = |sight: &PortSight| match burden {
                    Some(ohm) => sight.behind(Impedance::resistance(ohm)),
                    None => sight.voltage_volt,
                };
                let (Some(seen), Some(exact)) = (shown(sight), shown(&exact)) else {
                    // Only the impedance between a slot and earth may be left unsaid.
                    let neither = shown(sight).is_none() && shown(&exact).is_none();
                    prop_assert!(neither || burden.is_some() && to_earth, "{words:?}");
                    continue;
                };
                for (tolerance, floor_volt) in SAME_TOLERANCES {
                    let size = exact.magnitude().max(floor_volt);
                    prop_assert!(
                        (seen - exact).magnitude() <= tolerance * size,
                        "{words:?}: {:?} on {burden:?} ohm {seen:?} and not {exact:?}",
                        slots[port]
                    );
                }
            }
        }
    }
}
