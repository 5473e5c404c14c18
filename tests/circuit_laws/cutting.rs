//! A cable cut into pieces that are joined without resistance is the same cable: exactly if
//! only resistance counts, and within a stated bound if capacitance does.

use proptest::prelude::*;
use slotwise::circuit::{Circuit, Description};
use slotwise::condition::{Condition, Fault};
use slotwise::netlist::{Netlist, wire};
use slotwise::quantity::Phasor;
use slotwise::solution::solve;

use crate::building::{CONDUCTORS, Run, run};

/// Rounding of a few dozen sums and products at 120 V.
const ROUNDING_VOLT: f64 = 120.0 * 1e-13;

fn runs(coupled: bool) -> impl Strategy<Value = Run> {
    prop::collection::vec((1.0..60.0, prop_oneof![Just(0.0), 20.0..1800.0]), 1..5).prop_map(
        move |boxes| {
            let (lengths_m, loads_watt) = boxes.into_iter().unzip();
            Run { lengths_m, loads_watt, coupled }
        },
    )
}

/// A joint of no resistance in the middle of a wire, so that its cable is cut there.
fn cut(cable: usize, conductor: &str, at_fraction: f64) -> Fault {
    Fault::ResistanceInCable {
        cable: format!("k{cable}"),
        conductor: conductor.into(),
        at_fraction,
        resistance_ohm: 0.0,
    }
}

fn potentials(description: &Description, faults: Vec<Fault>) -> (Netlist, Vec<Option<Phasor>>) {
    let circuit = Circuit::new(description.clone()).unwrap();
    let netlist = wire(&circuit, &Condition { faults, ..Condition::default() }).unwrap();
    let solution = solve(&netlist).unwrap();
    let potentials =
        circuit.terminals().map(|t| solution.potential(netlist.find_node(t).unwrap())).collect();
    (netlist, potentials)
}

fn largest_change(before: &[Option<Phasor>], after: &[Option<Phasor>]) -> f64 {
    let mut largest: f64 = 0.0;
    for pair in before.iter().zip(after) {
        match pair {
            (Some(x), Some(y)) => largest = largest.max((*x - *y).magnitude()),
            (None, None) => {}
            _ => return f64::INFINITY,
        }
    }
    largest
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn cutting_a_cable_into_pieces_changes_nothing_where_only_resistance_counts(
        run_of in runs(false),
        cable in 0usize..4,
        conductor in 0usize..3,
        mut fractions in prop::collection::vec(0.01..0.99, 1..5),
    ) {
        fractions.dedup();
        let cable = 1 + cable % run_of.lengths_m.len();
        let description = run(&run_of);
        let cuts = fractions.iter().map(|&at| cut(cable, CONDUCTORS[conductor], at)).collect();
        let (whole, before) = potentials(&description, Vec::new());
        let (pieces, after) = potentials(&description, cuts);
        prop_assert!(pieces.elements().len() > whole.elements().len());
        let change = largest_change(&before, &after);
        prop_assert!(change < ROUNDING_VOLT, "changed by {change} V");
    }
}

/// What a nominal π and the same cable cut into two can differ by at most, volts.
///
/// Cutting keeps the sum and the middle of the shunt admittance Y along the cable and changes
/// its second moment only, by less than a quarter of what it would be with all of Y at the far
/// end. So with Z the series impedance of the loop, I the load's current and E the supply's
/// voltage, the change is less than |ZY| (|ZY| E + |Z I|) / 4.
fn bound_volt(description: &Description, load_ampere: f64) -> f64 {
    let cable = &description.cables[0];
    let omega = std::f64::consts::TAU * description.frequency_hz;
    let farad: f64 =
        cable.capacitance_farad_per_m.iter().map(|pair| pair.value * cable.length_m).sum();
    let one_way = &cable.conductors[0].impedance_per_m;
    let loop_ohm = 2.0 * cable.length_m * one_way.resistance_ohm.hypot(one_way.reactance_ohm);
    let zy = loop_ohm * omega * farad;
    zy * (zy * 120.0 + loop_ohm * load_ampere) / 4.0
}

/// The change at a cut of the first cable's hot conductor, and its bound, volts.
fn change_and_bound(length_m: f64, watt: f64) -> (f64, f64) {
    let of = Run { lengths_m: vec![length_m], loads_watt: vec![watt], coupled: true };
    let description = run(&of);
    let (_, before) = potentials(&description, Vec::new());
    let (_, after) = potentials(&description, vec![cut(1, "hot", 0.3)]);
    (largest_change(&before, &after), bound_volt(&description, watt / 120.0))
}

#[test]
fn with_capacitance_a_cut_changes_less_than_the_second_moment_allows() {
    for (length_m, watt) in [(10.0, 1800.0), (100.0, 900.0), (1000.0, 100.0), (8000.0, 40.0)] {
        let (change, bound) = change_and_bound(length_m, watt);
        assert!(change < bound + ROUNDING_VOLT, "{length_m} m: {change} V, bound {bound} V");
    }
    let (change, _) = change_and_bound(8000.0, 40.0);
    assert!(change > 1e-3, "a cable of 8 km shows the difference: {change} V");
}

#[test]
fn at_the_length_of_a_house_a_cut_changes_less_than_a_microvolt() {
    let (change, _) = change_and_bound(40.0, 1200.0);
    assert!(change < 1e-6, "changed by {change} V");
}
