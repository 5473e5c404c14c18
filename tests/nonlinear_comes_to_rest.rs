//! Nonlinear elements come to rest wherever a building puts them, on the law they obey.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use approx::assert_relative_eq;
use slotwise::netlist::{GLOWING_JOINT, Law, Netlist, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::solve;

/// What the contract allows where something is nonlinear.
const NONLINEAR: f64 = 1e-6;

/// Voltage across and current through the second of two elements in series behind 0.3 ohm.
fn in_series(emf_volt: f64, first: Law, second: Law) -> (f64, f64) {
    let mut netlist = Netlist::new(60.0);
    let line = netlist.node(&Address::from("line"));
    let middle = netlist.node(&Address::from("middle"));
    let supply =
        Law::Source { emf_volt: Phasor::new(emf_volt, 0.0), impedance: Impedance::resistance(0.3) };
    netlist.add("supply", line, Netlist::EARTH, Role::Winding, supply).unwrap();
    netlist.add("first", line, middle, Role::Lumped, first).unwrap();
    let second = netlist.add("second", middle, Netlist::EARTH, Role::Lumped, second).unwrap();
    let solution = solve(&netlist).unwrap();
    (solution.voltage(second).magnitude(), solution.current(second).magnitude())
}

#[test]
fn a_glowing_joint_comes_to_rest_before_any_load() {
    let cases = [0.5, 3.0, 8.0, 16.0, 30.0, 100.0, 170.0, 180.0, 1e3, 1e6];
    for load_ohm in cases {
        let (volt, ampere) = in_series(120.0, Law::resistance(load_ohm), GLOWING_JOINT);
        let falling = 2.3 * (15.0 / ampere).powf(0.34);
        let expected = falling.min(10.0 * ampere);
        assert_relative_eq!(volt, expected, max_relative = NONLINEAR);
    }
}

#[test]
fn a_lamp_at_its_threshold_behind_a_capacitance_comes_to_rest() {
    let lamp = Law::ThresholdLamp { threshold_volt: 63.0, off_ohm: 1e9, series_ohm: 68e3 };
    for emf_volt in [62.0, 63.0001, 63.5, 66.0, 80.0, 119.0, 240.0] {
        for capacitance_farad in [1e-12, 1e-11, 1e-10, 1e-9, 1e-8, 1e-6] {
            let (volt, ampere) = in_series(emf_volt, Law::Capacitor { capacitance_farad }, lamp);
            let lit = (1.0 - 63.0 / volt).max(0.0) / 68e3;
            // Near the threshold the lit share is a small difference of the voltage.
            let slack = NONLINEAR * volt / 68e3;
            let error = (ampere - volt * (1e-9 + lit)).abs();
            assert!(error < slack, "{emf_volt} V, {capacitance_farad} F: {volt} V, {ampere} A");
        }
    }
}
