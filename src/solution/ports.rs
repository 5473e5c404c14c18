//! The network as pairs of nodes see it: v = v₀ + B e - Z i.
//!
//! v₀ are the voltages with the pairs left alone, Z the voltage at one pair per ampere taken out
//! at another. Both come from one elimination, Z column by column, and as differences of the
//! elimination itself, never of potentials. A pair between two parts that nothing joins has a v₀
//! and a Z that mean nothing by themselves: they are reckoned from the parts' references, and the
//! unknown potentials e of these are fixed by Bᵀ i = 0, no current having a way back but through
//! other pairs.

use nalgebra::{Complex, DMatrix, DVector};

use crate::netlist::NodeId;
use crate::network::System;

/// v₀, Z and B of the pairs of nodes a [`System`] was made for.
#[derive(Clone, Debug)]
pub(super) struct Ports {
    pub(super) open: DVector<Complex<f64>>,
    pub(super) impedance: DMatrix<Complex<f64>>,
    pub(super) border: DMatrix<Complex<f64>>,
}

impl Ports {
    /// Reads v₀ and Z off an eliminated system; no part is left to float. `None` when the
    /// arithmetic overflows.
    pub(super) fn new(system: &mut System, ends: &[(NodeId, NodeId)]) -> Option<Self> {
        let n = ends.len();
        system.drive_sources();
        system.solve();
        let open = DVector::from_fn(n, |port, _| system.pair_voltage(port));
        let mut impedance = DMatrix::zeros(n, n);
        for column in 0..n {
            system.drive_pair(column, Complex::ONE);
            system.solve();
            for row in 0..n {
                impedance[(row, column)] = system.pair_difference(row);
            }
        }
        let finite = |z: &Complex<f64>| z.re.is_finite() && z.im.is_finite();
        let all_finite = open.iter().chain(impedance.iter()).all(finite);
        all_finite.then(|| Self { open, impedance, border: DMatrix::zeros(n, 0) })
    }

    /// The same network seen from some of its ports, in this order.
    pub(super) fn at(&self, rows: &[usize]) -> Self {
        let n = rows.len();
        Self {
            open: DVector::from_fn(n, |i, _| self.open[rows[i]]),
            impedance: DMatrix::from_fn(n, n, |i, j| self.impedance[(rows[i], rows[j])]),
            border: DMatrix::zeros(n, 0),
        }
    }
}
