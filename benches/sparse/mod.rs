//! The ordinary way for large networks: the nodal matrix, assembled, and faer's sparse LU.

#![allow(dead_code)] // Each bench uses a part.

use faer::prelude::{Mat, Solve};
use faer::sparse::linalg::solvers::{Lu, SymbolicLu};
use faer::sparse::{SparseColMat, Triplet};
use nalgebra::Complex;
use slotwise::netlist::Netlist;
use slotwise::quantity::Phasor;

use crate::support::nodal;

/// A nodal matrix and its symbolic factorisation.
pub(crate) struct Sparse {
    matrix: SparseColMat<usize, Complex<f64>>,
    given: Mat<Complex<f64>>,
    symbolic: SymbolicLu<usize>,
}

impl Sparse {
    /// Of a netlist of impedances, capacitors, uncoupled sources and opens.
    pub(crate) fn new(netlist: &Netlist) -> Self {
        let n_rows = netlist.nodes().len() - 1;
        let mut entries = Vec::new();
        let mut given = Mat::zeros(n_rows, 1);
        nodal::assemble(netlist, |row, column, y| match column {
            Some(column) => entries.push(Triplet::new(row, column, y)),
            None => given[(row, 0)] += y,
        });
        let matrix = SparseColMat::try_new_from_triplets(n_rows, n_rows, &entries).unwrap();
        let symbolic = SymbolicLu::try_new(matrix.symbolic()).unwrap();
        Self { matrix, given, symbolic }
    }

    /// The symbolic factorisation made anew.
    pub(crate) fn symbolic(&self) -> SymbolicLu<usize> {
        SymbolicLu::try_new(self.matrix.symbolic()).unwrap()
    }

    /// Potentials, the symbolic factorisation kept; earth is the first.
    pub(crate) fn potentials(&self) -> Vec<Phasor> {
        let lu = Lu::try_new_with_symbolic(self.symbolic.clone(), self.matrix.as_ref()).unwrap();
        let solved = lu.solve(&self.given);
        let phasor = |v: &Complex<f64>| Phasor::new(v.re, v.im);
        [Phasor::ZERO].into_iter().chain(solved.col(0).iter().map(phasor)).collect()
    }
}
