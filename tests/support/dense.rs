//! The ordinary way: the nodal matrix, assembled, and nalgebra's LU with partial pivoting.

use nalgebra::{Complex, DMatrix, DVector};
use slotwise::netlist::{Law, Netlist, NodeId};
use slotwise::quantity::{Impedance, Phasor};

/// Potentials of a netlist of impedances, capacitors, uncoupled sources and opens; earth is the
/// first. `None` where the LU finds the matrix singular.
pub fn potentials(netlist: &Netlist) -> Option<Vec<Phasor>> {
    let nodes: Vec<NodeId> = netlist.nodes().collect();
    let n_rows = nodes.len() - 1;
    let row = |node| nodes.binary_search(&node).unwrap().checked_sub(1);
    let mut matrix = DMatrix::<Complex<f64>>::zeros(n_rows, n_rows);
    let mut given = DVector::<Complex<f64>>::zeros(n_rows);
    for element in netlist.elements() {
        let (a, b) = netlist.ends(element);
        let (y, emf) = branch(netlist, &netlist.element(element).law);
        for (near, far, driven) in [(row(a), row(b), y * emf), (row(b), row(a), -y * emf)] {
            let Some(near) = near else { continue };
            matrix[(near, near)] += y;
            given[near] += driven;
            if let Some(far) = far {
                matrix[(near, far)] -= y;
            }
        }
    }
    let solved = matrix.lu().solve(&given)?;
    let phasor = |v: &Complex<f64>| Phasor::new(v.re, v.im);
    Some([Phasor::ZERO].into_iter().chain(solved.iter().map(phasor)).collect())
}

fn branch(netlist: &Netlist, law: &Law) -> (Complex<f64>, Complex<f64>) {
    let of = |z: Impedance| Complex::new(z.resistance_ohm, z.reactance_ohm).inv();
    match *law {
        Law::Impedance(z) => (of(z), Complex::ZERO),
        Law::Capacitor { capacitance_farad } => {
            let omega = std::f64::consts::TAU * netlist.frequency_hz();
            (Complex::new(0.0, omega * capacitance_farad), Complex::ZERO)
        }
        Law::Source { emf_volt, impedance } => {
            (of(impedance), Complex::new(emf_volt.re, emf_volt.im))
        }
        Law::Open => (Complex::ZERO, Complex::ZERO),
        other => panic!("the dense solve does not know {other:?}"),
    }
}
