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

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::InsetEnd::{Known, New};
    use super::*;
    use crate::quantity::Phasor;

    const FREQUENCY_HZ: f64 = 60.0;
    /// A few sums and divisions.
    const ROUNDING: f64 = 1e-12;

    const A: NodeId = NodeId(3);
    const B: NodeId = NodeId(5);
    const C: NodeId = NodeId(8);

    fn ohms(inset: &[([InsetEnd; 2], Law)]) -> Option<Vec<(NodeId, NodeId, f64)>> {
        let joins = meshed(inset, FREQUENCY_HZ)?.into_iter();
        let ohm = joins.map(|(a, b, law)| match law {
            Law::Impedance(z) if z.reactance_ohm.abs() < ROUNDING => (a, b, z.resistance_ohm),
            other => panic!("{other:?}"),
        });
        Some(ohm.collect())
    }

    fn assert_ohms(inset: &[([InsetEnd; 2], Law)], expected: &[(NodeId, NodeId, f64)]) {
        let found = ohms(inset).unwrap();
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for (found, expected) in found.iter().zip(expected) {
            assert_eq!((found.0, found.1), (expected.0, expected.1));
            assert_relative_eq!(found.2, expected.2, max_relative = ROUNDING);
        }
    }

    #[test]
    fn a_star_of_10_20_and_30_ohms_is_the_delta_of_the_textbook() {
        let star = [(A, 10.0), (B, 20.0), (C, 30.0)]
            .map(|(node, ohm)| ([New(0), Known(node)], Law::resistance(ohm)));
        // 10 x 20 + 20 x 30 + 30 x 10 = 1100 over the one across.
        assert_ohms(&star, &[(A, B, 1100.0 / 30.0), (A, C, 1100.0 / 20.0), (B, C, 110.0)]);
    }

    #[test]
    fn a_chain_of_new_nodes_is_as_many_ohms_as_it_has() {
        let chain = [
            ([Known(B), New(1)], Law::resistance(8.0)),
            ([New(1), New(0)], Law::resistance(7.0)),
            ([Known(A), New(0)], Law::resistance(5.0)),
        ];
        assert_ohms(&chain, &[(A, B, 20.0)]);
        // Beside it something that has no new node.
        let mut both = chain.to_vec();
        both.push(([Known(A), Known(B)], Law::resistance(20.0)));
        assert_ohms(&both, &[(A, B, 10.0)]);
    }

    #[test]
    fn what_ends_nowhere_or_where_it_began_joins_nothing() {
        assert_ohms(&[([Known(A), New(0)], Law::resistance(5.0))], &[]);
        assert_ohms(&[([Known(A), New(0)], Law::Open)], &[]);
        let looped = [
            ([Known(A), New(0)], Law::resistance(5.0)),
            ([New(0), New(0)], Law::resistance(1.0)),
            ([New(0), Known(B)], Law::resistance(6.0)),
            ([Known(A), Known(A)], Law::resistance(2.0)),
        ];
        assert_ohms(&looped, &[(A, B, 11.0)]);
    }

    #[test]
    fn a_choke_that_cancels_a_capacitance_or_what_is_no_impedance_is_left_to_a_whole_solve() {
        let ends = |node| [New(0), Known(node)];
        let reactance = |ohm| Law::Impedance(Impedance::new(0.0, ohm));
        let cancel = [(ends(A), reactance(10.0)), (ends(B), reactance(-10.0))];
        assert_eq!(meshed(&cancel, FREQUENCY_HZ), None);
        let lamp = Law::ThresholdLamp { threshold_volt: 2.0, off_ohm: 1e9, series_ohm: 33e3 };
        let emf_volt = Phasor::new(9.0, 0.0);
        let battery = Law::Source { emf_volt, impedance: Impedance::resistance(1.0) };
        for odd in [lamp, battery, Law::resistance(0.0)] {
            let inset = [(ends(A), Law::resistance(5.0)), (ends(B), odd)];
            assert_eq!(meshed(&inset, FREQUENCY_HZ), None, "{odd:?}");
        }
    }
}
