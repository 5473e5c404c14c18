//! The referee: the nodal equations of a linear netlist with 32 digits.
//!
//! It shares nothing with the library but the netlist. Branches are eliminated one node after the
//! other in their order, earth being the reference; sources are currents; no EMF is moved and no
//! difference kept, as 32 digits do without.

use slotwise::netlist::{ElementId, Law, Netlist};
use slotwise::quantity::{Impedance, Phasor};

use super::twofold::{Complex, TAU, Twofold};

/// What the referee finds.
pub struct Verdict {
    /// Potential to earth of every node.
    pub potential: Vec<Phasor>,
    /// Current of every element.
    pub current: Vec<Phasor>,
}

/// A branch I = y (V - emf) + forced.
struct Branch {
    a: usize,
    b: usize,
    y: Complex,
    emf: Complex,
    forced: Complex,
}

/// Solves a netlist of impedances, capacitors, uncoupled sources and current sources, none of
/// zero impedance. A part without a path to earth is reckoned from its last node.
pub fn judge(netlist: &Netlist) -> Verdict {
    let branches: Vec<Branch> =
        netlist.elements().map(|element| branch(netlist, element)).collect();
    let voltage = potentials(netlist.nodes().len(), &branches);
    let current = branches.iter().map(|branch| {
        let across = voltage[branch.a] - voltage[branch.b] - branch.emf;
        rounded(branch.y * across + branch.forced)
    });
    Verdict { current: current.collect(), potential: voltage.iter().map(|&v| rounded(v)).collect() }
}

fn rounded(value: Complex) -> Phasor {
    Phasor::new(value.re.high, value.im.high)
}

fn branch(netlist: &Netlist, element: ElementId) -> Branch {
    let index = |node| netlist.nodes().position(|other| other == node).unwrap();
    let (a, b) = netlist.ends(element);
    let (a, b) = (index(a), index(b));
    let zero = Complex::default();
    let series = |z: Impedance| Complex::new(z.resistance_ohm, z.reactance_ohm).reciprocal();
    let (y, emf, forced) = match netlist.element(element).law {
        Law::Impedance(impedance) => (series(impedance), zero, zero),
        Law::Capacitor { capacitance_farad } => {
            let frequency = Twofold::from(netlist.frequency_hz());
            let susceptance = TAU * frequency * capacitance_farad.into();
            (Complex::new(0.0, susceptance), zero, zero)
        }
        Law::Source { emf_volt, impedance } => {
            (series(impedance), Complex::new(emf_volt.re, emf_volt.im), zero)
        }
        Law::CurrentSource { current_ampere } => {
            (zero, zero, Complex::new(current_ampere.re, current_ampere.im))
        }
        Law::Open => (zero, zero, zero),
        other => panic!("the referee does not judge {other:?}"),
    };
    Branch { a, b, y, emf, forced }
}

fn potentials(n: usize, branches: &[Branch]) -> Vec<Complex> {
    // Column 0 is earth.
    let mut edge = vec![vec![Complex::default(); n]; n];
    let mut injection = vec![Complex::default(); n];
    for branch in branches {
        if branch.a != branch.b {
            edge[branch.a][branch.b] = edge[branch.a][branch.b] + branch.y;
            edge[branch.b][branch.a] = edge[branch.b][branch.a] + branch.y;
        }
        let driven = branch.y * branch.emf - branch.forced;
        injection[branch.a] = injection[branch.a] + driven;
        injection[branch.b] = injection[branch.b] - driven;
    }
    let mut pivot = vec![Complex::default(); n];
    for k in (1..n).rev() {
        let sum = (0..k).fold(Complex::default(), |sum, i| sum + edge[k][i]);
        if sum.is_zero() {
            continue;
        }
        pivot[k] = sum.reciprocal();
        for i in 0..k {
            let weight = edge[k][i] * pivot[k];
            if weight.is_zero() {
                continue;
            }
            injection[i] = injection[i] + weight * injection[k];
            let row = edge[k].clone();
            for (j, &y) in row.iter().enumerate().take(k).filter(|&(j, _)| j != i) {
                edge[i][j] = edge[i][j] + weight * y;
            }
        }
    }
    let mut voltage = vec![Complex::default(); n];
    for k in 1..n {
        let known = (0..k).fold(injection[k], |sum, i| sum + edge[k][i] * voltage[i]);
        voltage[k] = known * pivot[k];
    }
    voltage
}
