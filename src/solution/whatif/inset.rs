//! Elements with nodes of their own put into a network, as elements between its nodes alone.

use nalgebra::Complex;

use crate::netlist::{Law, NodeId};
use crate::network::Branch;
use crate::quantity::Impedance;

/// An end of an element that is put into a network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum InsetEnd {
    /// A node that is there.
    Known(NodeId),
    /// One of the new nodes, by its number.
    New(usize),
}

/// The same between known nodes alone: star to mesh, one new node after the other, sums only.
/// `None` for sources, shorts and nonlinear elements, and where admittances cancel.
pub(crate) fn meshed(
    inset: &[([InsetEnd; 2], Law)],
    frequency_hz: f64,
) -> Option<Vec<(NodeId, NodeId, Law)>> {
    let mut terminals: Vec<InsetEnd> = inset.iter().flat_map(|(ends, _)| *ends).collect();
    // New ones go first.
    terminals.sort_by_key(|end| match *end {
        InsetEnd::New(number) => (0, number),
        InsetEnd::Known(node) => (1, node.0 as usize),
    });
    terminals.dedup();
    let n = terminals.len();
    let place = |end: InsetEnd| terminals.iter().position(|known| *known == end);
    let mut y = vec![Complex::<f64>::ZERO; n * n];
    for (ends, law) in inset {
        let admittance = match Branch::new(law, frequency_hz, Complex::default) {
            _ if !law.is_linear() => return None,
            Branch::Open => continue,
            Branch::Admittance { y, emf } if emf == Complex::ZERO => y,
            _ => return None,
        };
        let (a, b) = (place(ends[0])?, place(ends[1])?);
        y[a * n + b] += admittance;
        y[b * n + a] += admittance;
    }
    let n_new = terminals.iter().filter(|end| matches!(end, InsetEnd::New(_))).count();
    for gone in 0..n_new {
        let around: Vec<usize> =
            (gone + 1..n).filter(|&i| y[gone * n + i] != Complex::ZERO).collect();
        let sum: Complex<f64> = around.iter().map(|&i| y[gone * n + i]).sum();
        if !around.is_empty() && sum == Complex::ZERO {
            return None;
        }
        for &i in &around {
            for &j in around.iter().filter(|&&j| j != i) {
                let more = y[gone * n + i] * y[gone * n + j] / sum;
                y[i * n + j] += more;
            }
        }
    }
    let mut joins = Vec::new();
    for (i, a) in terminals.iter().enumerate().skip(n_new) {
        for (j, b) in terminals.iter().enumerate().skip(i + 1) {
            let admittance = y[i * n + j];
            if let (InsetEnd::Known(a), InsetEnd::Known(b)) = (*a, *b)
                && admittance != Complex::ZERO
            {
                let z = admittance.inv();
                joins.push((a, b, Law::Impedance(Impedance::new(z.re, z.im))));
            }
        }
    }
    Some(joins)
}
