//! The network as pairs of nodes see it: v = v₀ + B e - Z i.
//!
//! v₀ are the voltages with the pairs left alone, Z the voltage at one pair per ampere taken out
//! at another. Both come from one elimination, Z column by column, and as differences of the
//! elimination itself, never of potentials. A pair between two parts that nothing joins has a v₀
//! and a Z that mean nothing by themselves: they are reckoned from the parts' references, and the
//! unknown potentials e of these are fixed by Bᵀ i = 0, no current having a way back but through
//! other pairs.
//!
//! What is attached at a few pairs sees these alone, so that of the others neither a row nor a
//! column of Z is asked for, and of the elimination only what leads to them.

use nalgebra::{Complex, DMatrix, DVector};

use crate::network::{Reach, System};

/// v₀, Z and B of the pairs of nodes a [`System`] was made for.
#[derive(Clone, Debug)]
pub(super) struct Ports {
    pub(super) open: DVector<Complex<f64>>,
    pub(super) impedance: DMatrix<Complex<f64>>,
    pub(super) border: DMatrix<Complex<f64>>,
}

impl Ports {
    /// No number of it has overflown.
    pub(super) fn is_finite(&self) -> bool {
        let finite = |z: &Complex<f64>| z.re.is_finite() && z.im.is_finite();
        self.open.iter().chain(self.impedance.iter()).all(finite)
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

/// v₀ of the first `n` pairs a system was made for; the sources are driven for it.
pub(super) fn open(system: &mut System, n: usize) -> DVector<Complex<f64>> {
    system.drive_sources();
    system.solve();
    DVector::from_fn(n, |port, _| system.pair_voltage(port))
}

/// Z between the rows and columns said; no part is left to float.
pub(super) fn impedance(
    system: &mut System,
    (rows, columns): (&[usize], &[usize]),
    reach: &Reach,
) -> DMatrix<Complex<f64>> {
    let mut impedance = DMatrix::zeros(rows.len(), columns.len());
    for (at, &column) in columns.iter().enumerate() {
        system.drive_pair(column, Complex::ONE);
        system.solve_among(reach);
        for (z, &row) in impedance.column_mut(at).iter_mut().zip(rows) {
            *z = system.pair_difference(row);
        }
    }
    impedance
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_number_that_has_overflown_is_enough_in_either_part() {
        let with = |volt, ohm| Ports {
            open: DVector::from_vec(vec![Complex::ONE, volt]),
            impedance: DMatrix::from_row_slice(
                2,
                2,
                &[Complex::ONE, Complex::I, ohm, Complex::ONE],
            ),
            border: DMatrix::zeros(2, 0),
        };
        assert!(with(Complex::ONE, Complex::I).is_finite());
        for odd in [Complex::new(f64::INFINITY, 1.0), Complex::new(1.0, f64::NAN)] {
            assert!(!with(odd, Complex::ONE).is_finite() && !with(Complex::ONE, odd).is_finite());
        }
    }
}
