//! The nodal matrix Y v = i of a netlist, entry by entry.

use nalgebra::Complex;
use slotwise::netlist::{Law, Netlist, NodeId};
use slotwise::quantity::Impedance;

/// Says every term of the matrix, by row and column, and without a column every current driven into
/// a row. Every node but earth, the first, is a row; the netlist is of impedances, capacitors, uncoupled
/// sources and opens.
pub fn assemble(netlist: &Netlist, mut term: impl FnMut(usize, Option<usize>, Complex<f64>)) {
    let nodes: Vec<NodeId> = netlist.nodes().collect();
    let row = |node| nodes.binary_search(&node).unwrap().checked_sub(1);
    for element in netlist.elements() {
        let (a, b) = netlist.ends(element);
        let (y, emf) = branch(netlist, &netlist.element(element).law);
        for (near, far, driven) in [(row(a), row(b), y * emf), (row(b), row(a), -y * emf)] {
            let Some(near) = near else { continue };
            term(near, Some(near), y);
            term(near, None, driven);
            if let Some(far) = far {
                term(near, Some(far), -y);
            }
        }
    }
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
        other => panic!("the nodal matrix does not know {other:?}"),
    }
}
