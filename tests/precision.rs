//! Digits: the solver against the same networks solved with 32 digits.

mod support;

use slotwise::netlist::Netlist;
use slotwise::quantity::Phasor;
use slotwise::solution::{Solution, solve};
use support::chance::{SUPPLIES, Supply, daisy_chain};
use support::referee::{Verdict, judge};

/// A potential below this counts as this when its error is made relative.
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
/// The same for a current.
const CURRENT_FLOOR_AMPERE: f64 = 1e-6;

fn relative(found: Phasor, expected: Phasor, floor: f64) -> f64 {
    (found - expected).magnitude() / expected.magnitude().max(floor)
}

/// Worst relative error of potentials and of currents.
fn errors(netlist: &Netlist, solution: &Solution, verdict: &Verdict) -> (f64, f64) {
    let potential = netlist.nodes().zip(&verdict.potential).map(|(node, &expected)| {
        relative(solution.potential(node).unwrap(), expected, VOLTAGE_FLOOR_VOLT)
    });
    let current = netlist.elements().zip(&verdict.current).map(|(element, &expected)| {
        relative(solution.current(element), expected, CURRENT_FLOOR_AMPERE)
    });
    (potential.fold(0.0, f64::max), current.fold(0.0, f64::max))
}

#[test]
fn survey() {
    for supply in SUPPLIES {
        for contrast in [1e10, 1e13, 1e16, 1e18] {
            let mut worst = (0.0_f64, 0.0_f64);
            for seed in 0..12 {
                let netlist = daisy_chain(seed, 10, supply, contrast);
                let solution = solve(&netlist).unwrap();
                let (v, i) = errors(&netlist, &solution, &judge(&netlist));
                worst = (worst.0.max(v), worst.1.max(i));
            }
            println!(
                "{supply:?} {contrast:e}: potentials {:.1e}, currents {:.1e}",
                worst.0, worst.1
            );
        }
    }
}

#[test]
fn debug_worst() {
    for (supply, seed) in [
        (Supply::Bonded, 0),
        (Supply::Bonded, 1),
        (Supply::SplitPhase, 0),
        (Supply::SplitPhase, 1),
        (Supply::Delta, 1),
    ] {
        let netlist = daisy_chain(seed, 10, supply, 1e16);
        let solution = solve(&netlist).unwrap();
        let verdict = judge(&netlist);
        let mut all: Vec<_> = netlist
            .elements()
            .zip(&verdict.current)
            .map(|(e, &x)| (relative(solution.current(e), x, 1e-6), e, x, solution.current(e)))
            .collect();
        all.sort_by(|a, b| b.0.total_cmp(&a.0));
        println!("{supply:?} {seed}");
        for (r, e, x, f) in all.iter().take(5) {
            let (a, b) = netlist.ends(*e);
            println!(
                "{r:.1e} {} {} -- {} {:?} true {:.3e} found {:.3e}",
                netlist.element(*e).id,
                netlist.address(a),
                netlist.address(b),
                netlist.element(*e).law,
                x.magnitude(),
                f.magnitude()
            );
        }
    }
}
