//! Random circuits with random faults of the catalogue: they balance, and edits of one network say
//! what each network says that is laid out for itself.
//!
//! `PROPTEST_CASES=100000 cargo test --release --test circuit_laws random` asks so many.

use proptest::prelude::*;
use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::{PossibleFault, catalogue};
use slotwise::instrument::ManyConditions;
use slotwise::netlist::{Wiring, wire};
use slotwise::quantity::{Address, Impedance};
use slotwise::solution::{PortSystem, solve};

use crate::building::{Run, run};
use crate::faults::BALANCE_AMPERE;

/// Potentials and voltages by two ways, against the larger of the value and a millivolt.
const SAME_TOLERANCE: f64 = 1e-9;
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;

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
        if Wiring::new(&circuit).netlist(&condition).is_err() {
            prop_assert!(many.put(&set, &mut work).is_err(), "{words:?}");
            return Ok(());
        }
        let netlist = wire(&circuit, &condition).unwrap();
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
            let (open, behind) = (exact.open_circuit(port), exact.impedance(port, port));
            prop_assert_eq!(sight.voltage_volt.is_some(), open.is_some(), "{:?}", words);
            let (Some(seen), Some(open)) = (sight.voltage_volt, open) else { continue };
            let size = open.magnitude().max(VOLTAGE_FLOOR_VOLT);
            prop_assert!(
                (seen - open).magnitude() <= SAME_TOLERANCE * size,
                "{words:?}: {:?} {seen:?} and not {open:?}", slots[port]
            );
            let loaded = |voltage: slotwise::quantity::Phasor, z: Impedance| {
                slotwise::solution::PortSight { voltage_volt: Some(voltage), impedance: Some(z) }
                    .behind(Impedance::resistance(15e3))
            };
            let (Some(ours), Some(theirs)) = (sight.impedance, behind) else { continue };
            let (Some(ours), Some(theirs)) = (loaded(seen, ours), loaded(open, theirs)) else {
                continue;
            };
            let size = theirs.magnitude().max(VOLTAGE_FLOOR_VOLT);
            prop_assert!(
                (ours - theirs).magnitude() <= SAME_TOLERANCE * size,
                "{words:?}: {:?} on 15 kilohms {ours:?} and not {theirs:?}", slots[port]
            );
        }
    }
}
