//! The hidden circuit's own solver, from Kirchhoff's and Ohm's laws alone:
//!
//! ```text
//! every node      sum of i of the metal paths that meet  +  sum of y (v - v_other)  =  0
//! every path      v_a - v_b - z i  =  e
//! ```
//!
//! Metal paths keep their current as an unknown, so that a milliohm beside a gigohm costs no
//! digits: rows of nodes hold ones and small admittances, rows of paths hold ones and small
//! impedances. Unknowns are numbered along the run, which makes the matrix a narrow band;
//! elimination is by rows with partial pivoting.

use nalgebra::Complex;

/// A complex number.
pub(crate) type C = Complex<f64>;

/// A node; [`EARTH`] is the reference.
pub(crate) type Node = usize;

/// Remote earth.
pub(crate) const EARTH: Node = 0;

/// What every node has to earth besides what is drawn, siemens: a picofarad at 60 Hz.
const STRAY_SIEMENS: f64 = 3.8e-10;

/// A metal path or a source: v_a - v_b - z i = e.
#[derive(Clone, Copy)]
struct Path {
    a: Node,
    b: Node,
    z: C,
    e: C,
}

/// An admittance between two nodes.
#[derive(Clone, Copy)]
struct Admittance {
    a: Node,
    b: Node,
    y: C,
}

/// A network of metal paths and admittances.
#[derive(Clone, Default)]
pub(crate) struct Network {
    /// Where along the run each node lies, earth first.
    at: Vec<f64>,
    paths: Vec<Path>,
    admittances: Vec<Admittance>,
}

impl Network {
    /// A network of earth alone.
    pub(crate) fn new() -> Self {
        Self { at: vec![0.0], ..Self::default() }
    }

    /// A node at a place along the run.
    pub(crate) fn node(&mut self, at: f64) -> Node {
        self.at.push(at);
        self.at.len() - 1
    }

    /// Resistance and reactance between two nodes.
    pub(crate) fn path(&mut self, a: Node, b: Node, z: C) {
        self.source(a, b, C::new(0.0, 0.0), z);
    }

    /// A source of e behind z, v_a - v_b = e + z i.
    pub(crate) fn source(&mut self, a: Node, b: Node, e: C, z: C) {
        self.paths.push(Path { a, b, z, e });
    }

    /// A capacitor, a leak or a load.
    pub(crate) fn admittance(&mut self, a: Node, b: Node, y: C) {
        if a != b {
            self.admittances.push(Admittance { a, b, y });
        }
    }

    /// The potential of every node to earth; `None` if the elimination meets a zero.
    pub(crate) fn solve(&self) -> Option<Vec<C>> {
        let n_nodes = self.at.len();
        let key_of_path = |path: &Path| {
            let known = |node: Node| if node == EARTH { None } else { Some(self.at[node]) };
            match (known(path.a), known(path.b)) {
                (Some(a), Some(b)) => f64::midpoint(a, b),
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => 0.0,
            }
        };
        // Unknowns: nodes 1.. and then paths, sorted along the run.
        let mut order: Vec<(f64, usize)> = (1..n_nodes)
            .map(|node| (self.at[node], node))
            .chain(self.paths.iter().enumerate().map(|(p, path)| (key_of_path(path), n_nodes + p)))
            .collect();
        order.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
        let mut place = vec![usize::MAX; n_nodes + self.paths.len()];
        for (row, &(_, unknown)) in order.iter().enumerate() {
            place[unknown] = row;
        }
        let mut entries: Vec<(usize, usize, C)> = Vec::new();
        let mut right = vec![C::new(0.0, 0.0); order.len()];
        let one = C::new(1.0, 0.0);
        for (p, path) in self.paths.iter().enumerate() {
            let row = place[n_nodes + p];
            entries.push((row, row, -path.z));
            right[row] = path.e;
            for (node, sign) in [(path.a, one), (path.b, -one)] {
                if node != EARTH {
                    entries.push((row, place[node], sign));
                    entries.push((place[node], row, sign));
                }
            }
        }
        for item in &self.admittances {
            for (node, other) in [(item.a, item.b), (item.b, item.a)] {
                if node != EARTH {
                    entries.push((place[node], place[node], item.y));
                    if other != EARTH {
                        entries.push((place[node], place[other], -item.y));
                    }
                }
            }
        }
        for &row in place.iter().take(n_nodes).skip(1) {
            entries.push((row, row, C::new(0.0, STRAY_SIEMENS)));
        }
        let solved = eliminate(&entries, right)?;
        let mut volts = vec![C::new(0.0, 0.0); n_nodes];
        for (volt, &row) in volts.iter_mut().zip(&place).skip(1) {
            *volt = solved[row];
        }
        Some(volts)
    }
}

/// Banded elimination with partial pivoting.
fn eliminate(entries: &[(usize, usize, C)], mut right: Vec<C>) -> Option<Vec<C>> {
    let n = right.len();
    let band = entries.iter().map(|&(row, column, _)| row.abs_diff(column)).max().unwrap_or(0);
    // Pivoting fills up to twice the band to the right.
    let width = 3 * band + 1;
    let zero = C::new(0.0, 0.0);
    let mut rows = vec![zero; n * width];
    let cell = |row: usize, column: usize| row * width + (column + band - row);
    for &(row, column, value) in entries {
        rows[cell(row, column)] += value;
    }
    for k in 0..n {
        let last = (k + band).min(n - 1);
        let right_end = (k + 2 * band).min(n - 1);
        let pivot = (k..=last)
            .max_by(|&x, &y| rows[cell(x, k)].norm_sqr().total_cmp(&rows[cell(y, k)].norm_sqr()))?;
        if rows[cell(pivot, k)].norm_sqr() == 0.0 {
            return None;
        }
        if pivot != k {
            for column in k..=right_end {
                rows.swap(cell(k, column), cell(pivot, column));
            }
            right.swap(k, pivot);
        }
        let head = rows[cell(k, k)];
        for row in k + 1..=last {
            let factor = rows[cell(row, k)] / head;
            if factor == zero {
                continue;
            }
            for column in k..=right_end {
                let above = rows[cell(k, column)];
                rows[cell(row, column)] -= factor * above;
            }
            let above = right[k];
            right[row] -= factor * above;
        }
    }
    for k in (0..n).rev() {
        let end = (k + 2 * band).min(n - 1);
        let mut left = right[k];
        for column in k + 1..=end {
            left -= rows[cell(k, column)] * right[column];
        }
        right[k] = left / rows[cell(k, k)];
    }
    Some(right)
}
