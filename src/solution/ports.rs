//! The network as pairs of nodes see it: v = v₀ - Z i.
//!
//! v₀ are the voltages with the pairs left alone, Z the voltage at one pair per ampere taken out
//! at another. Both come from one elimination, Z column by column, and as differences of the
//! elimination itself, never of potentials.

use nalgebra::{Complex, DMatrix, DVector};

use crate::network::System;

/// v₀ and Z of the pairs of nodes a [`System`] was made for.
#[derive(Clone, Debug)]
pub(super) struct Ports {
    pub(super) open: DVector<Complex<f64>>,
    pub(super) impedance: DMatrix<Complex<f64>>,
}

impl Ports {
    /// Reads both off an eliminated system whose pairs join the groups `ends`.
    pub(super) fn new(system: &mut System, n_pairs: usize) -> Self {
        system.drive_sources();
        system.solve();
        let open = DVector::from_fn(n_pairs, |port, _| system.pair_voltage(port));
        let mut impedance = DMatrix::zeros(n_pairs, n_pairs);
        for column in 0..n_pairs {
            system.drive_pair(column, Complex::ONE);
            system.solve();
            for row in 0..n_pairs {
                impedance[(row, column)] = system.pair_difference(row);
            }
        }
        Self { open, impedance }
    }
}
