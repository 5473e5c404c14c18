//! Whatever is plugged into whatever wiring comes to rest: open conductors, capacitances, loads
//! and lamps of every law, at random.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use slotwise::instrument::{Place, Request, measure_netlist, presets};
use slotwise::netlist::{Law, Netlist, Role};
use slotwise::quantity::{Address, Impedance, Phasor};

/// What lies between two of hot bar, neutral bar, earth and the three slots: nothing, a joint,
/// a load, a leak, a capacitance.
fn branch() -> impl Strategy<Value = Option<Law>> {
    prop_oneof![
        3 => Just(None),
        2 => (-3.0..0.0f64).prop_map(|e| Some(Law::resistance(10f64.powf(e)))),
        2 => (0.5..5.0f64).prop_map(|e| Some(Law::resistance(10f64.powf(e)))),
        2 => (6.0..11.0f64).prop_map(|e| Some(Law::resistance(10f64.powf(e)))),
        3 => (-12.0..-7.0f64).prop_map(|e| {
            Some(Law::Capacitor { capacitance_farad: 10f64.powf(e) })
        }),
        1 => (5.0..200.0f64).prop_map(|watt| Some(Law::Filament {
            rated_watt: watt, rated_volt: 120.0, cold_fraction: 0.07, exponent: 0.45,
        })),
    ]
}

const NODES: [&str; 6] = ["bar", "bar2", "hot", "neutral", "ground", "earth"];

proptest! {
    // The same ones every time: about four seconds of them.
    #![proptest_config(ProptestConfig {
        cases: 250,
        rng_seed: RngSeed::Fixed(7),
        ..ProptestConfig::default()
    })]

    #[test]
    fn every_tester_comes_to_rest_on_any_wiring(
        branches in prop::collection::vec(branch(), 15),
        volt in 80.0..260.0f64,
        which in 0..5usize,
    ) {
        let mut netlist = Netlist::new(60.0);
        let nodes = NODES.map(|name| netlist.node(&Address::from(name)));
        for (bar, sign) in [(0, 1.0), (1, -1.0)] {
            let emf_volt = Phasor::new(sign * volt, 0.0);
            let source = Law::Source { emf_volt, impedance: Impedance::new(0.02, 0.01) };
            netlist.add(format!("leg {bar}"), nodes[bar], nodes[5], Role::Winding, source).unwrap();
        }
        let mut branches = branches.into_iter();
        for a in 0..6 {
            for b in a + 1..6 {
                if let Some(law) = branches.next().flatten() {
                    netlist.add(format!("{a}-{b}"), nodes[a], nodes[b], Role::Lumped, law).unwrap();
                }
            }
        }
        let names = [
            "tester", "tester-solid-state", "tester-glow-lamp", "tester-glow-lamp-memory",
            "voltmeter-low-impedance-rising",
        ];
        let place = Place::slots([("hot", "hot"), ("neutral", "neutral"), ("ground", "ground")]);
        let request = Request::new(presets::named(names[which]).unwrap(), place);
        let readings = measure_netlist(&netlist, &[request]);
        prop_assert!(readings.is_ok(), "{} on {:?}: {:?}", names[which], netlist, readings);
    }
}
