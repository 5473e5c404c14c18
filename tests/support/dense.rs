//! The ordinary way: the nodal matrix, assembled, and nalgebra's LU with partial pivoting.

use nalgebra::{Complex, DMatrix, DVector};
use slotwise::netlist::Netlist;
use slotwise::quantity::Phasor;

use super::nodal;

/// Potentials of a netlist of impedances, capacitors, uncoupled sources and opens; earth is the
/// first. `None` where the LU finds the matrix singular.
pub fn potentials(netlist: &Netlist) -> Option<Vec<Phasor>> {
    Dense::new(netlist).potentials()
}

/// The nodal equations of such a netlist.
pub struct Dense {
    matrix: DMatrix<Complex<f64>>,
    given: DVector<Complex<f64>>,
}

impl Dense {
    pub fn new(netlist: &Netlist) -> Self {
        let n_rows = netlist.nodes().len() - 1;
        let mut dense =
            Self { matrix: DMatrix::zeros(n_rows, n_rows), given: DVector::zeros(n_rows) };
        nodal::assemble(netlist, |row, column, y| match column {
            Some(column) => dense.matrix[(row, column)] += y,
            None => dense.given[row] += y,
        });
        dense
    }

    /// Potentials by a factorisation made anew; earth is the first.
    pub fn potentials(&self) -> Option<Vec<Phasor>> {
        let solved = self.matrix.clone().lu().solve(&self.given)?;
        let phasor = |v: &Complex<f64>| Phasor::new(v.re, v.im);
        Some([Phasor::ZERO].into_iter().chain(solved.iter().map(phasor)).collect())
    }
}
