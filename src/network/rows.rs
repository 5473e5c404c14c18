//! Rows that have been solved: of all bags of a junction tree, of a way, or of one cut.

use std::ops::Range;

use nalgebra::Complex;

use super::bag::{BAG_MAX, Seen, Solved, View, pair};
use super::views::Kept;

/// Rows solved: potentials and impedances of many bags, or of one.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    pub(super) potential: Vec<Complex<f64>>,
    pub(super) difference: Vec<Complex<f64>>,
    pub(super) impedance: Vec<Complex<f64>>,
    pub(super) distance: Vec<Complex<f64>>,
    pub(super) tied: Vec<bool>,
}

impl Rows {
    pub(super) fn zero(nodes: usize, pairs: usize) -> Self {
        let zeros = |n| vec![Complex::ZERO; n];
        Self {
            potential: zeros(nodes),
            difference: zeros(pairs),
            impedance: zeros(nodes),
            distance: zeros(pairs),
            tied: vec![false; nodes],
        }
    }

    pub(super) fn solved(&self, nodes: Range<usize>, pairs: Range<usize>) -> Solved<'_> {
        Solved {
            potential: &self.potential[nodes.clone()],
            difference: &self.difference[pairs.clone()],
            impedance: &self.impedance[nodes.clone()],
            distance: &self.distance[pairs],
            tied: &self.tied[nodes],
        }
    }

    pub(super) fn seen(&mut self, nodes: Range<usize>, pairs: Range<usize>) -> Seen<'_> {
        Seen {
            potential: &mut self.potential[nodes.clone()],
            difference: &mut self.difference[pairs.clone()],
            impedance: &mut self.impedance[nodes.clone()],
            distance: &mut self.distance[pairs],
            tied: &mut self.tied[nodes],
        }
    }

    /// A bag and one after it, `(nodes, pairs)` of each.
    pub(super) fn both(
        &mut self,
        (nodes, pairs): (Range<usize>, Range<usize>),
        later: (Range<usize>, Range<usize>),
    ) -> (Seen<'_>, Solved<'_>) {
        let (potential, potentials) = self.potential.split_at_mut(nodes.end);
        let (impedance, impedances) = self.impedance.split_at_mut(nodes.end);
        let (tied, all_tied) = self.tied.split_at_mut(nodes.end);
        let (difference, differences) = self.difference.split_at_mut(pairs.end);
        let (distance, distances) = self.distance.split_at_mut(pairs.end);
        let later_nodes = later.0.start - nodes.end..later.0.end - nodes.end;
        let later_pairs = later.1.start - pairs.end..later.1.end - pairs.end;
        let seen = Seen {
            potential: &mut potential[nodes.clone()],
            difference: &mut difference[pairs.clone()],
            impedance: &mut impedance[nodes.clone()],
            distance: &mut distance[pairs],
            tied: &mut tied[nodes],
        };
        let solved = Solved {
            potential: &potentials[later_nodes.clone()],
            difference: &differences[later_pairs.clone()],
            impedance: &impedances[later_nodes.clone()],
            distance: &distances[later_pairs],
            tied: &all_tied[later_nodes],
        };
        (seen, solved)
    }
}

/// The rows of one cut, each with each.
#[derive(Clone, Debug)]
pub(super) struct CutView {
    potential: [Complex<f64>; BAG_MAX],
    difference: [[Complex<f64>; BAG_MAX]; BAG_MAX],
    impedance: [Complex<f64>; BAG_MAX],
    /// Above the diagonal.
    distance: [[Complex<f64>; BAG_MAX]; BAG_MAX],
    /// As in [`View::joined`].
    tied: u16,
}

impl CutView {
    /// Rows of a bag, or of a way, at these places.
    pub(super) fn set(&mut self, rows: Solved<'_>, places: impl Iterator<Item = u8> + Clone) {
        let t = rows.potential.len();
        self.tied = View::TIED;
        for (i, one) in places.clone().enumerate() {
            let at = usize::from(one);
            self.potential[i] = rows.potential[at];
            self.impedance[i] = rows.impedance[at];
            self.tied |= u16::from(rows.tied[at]) << (i + 1);
            self.difference[i][i] = Complex::ZERO;
            self.distance[i][i] = Complex::ZERO;
            for (j, other) in places.clone().enumerate().skip(i + 1) {
                let at = pair(t, usize::from(one), usize::from(other));
                self.difference[i][j] = rows.difference[at];
                self.difference[j][i] = -rows.difference[at];
                self.distance[i][j] = rows.distance[at];
            }
        }
    }

    /// U of the first end of a port less that of the second.
    #[inline]
    pub(super) fn difference(&self, port: &Kept<'_>) -> Complex<f64> {
        if port.weight.is_empty() {
            return port.open;
        }
        let strongest = usize::from(port.strongest);
        // U of each row less that of the strongest.
        let apart = &self.difference[strongest][..port.weight.len()];
        port.open + port.sum * self.potential[strongest] - dot(port.weight, apart)
    }

    /// What a port sees.
    #[inline]
    pub(super) fn impedance(&self, port: &Kept<'_>) -> Complex<f64> {
        let mut nodes = Complex::ZERO;
        let mut sum = port.impedance;
        for (i, w) in port.weight.iter().enumerate() {
            nodes += w * self.impedance[i];
            let later = &self.distance[i][i + 1..port.weight.len()];
            sum -= w * dot(&port.weight[i + 1..], later);
        }
        sum + port.sum * nodes
    }

    /// Whether each end of a port leads to the reference.
    #[inline]
    pub(super) fn tied(&self, port: &Kept<'_>) -> [bool; 2] {
        port.joined.map(|joined| joined & self.tied != 0)
    }
}

impl Default for CutView {
    fn default() -> Self {
        Self {
            potential: [Complex::ZERO; BAG_MAX],
            difference: [[Complex::ZERO; BAG_MAX]; BAG_MAX],
            impedance: [Complex::ZERO; BAG_MAX],
            distance: [[Complex::ZERO; BAG_MAX]; BAG_MAX],
            tied: 0,
        }
    }
}

/// Σ aᵢ bᵢ, the products with real and with imaginary parts summed apart: two lanes each.
#[inline]
fn dot(a: &[Complex<f64>], b: &[Complex<f64>]) -> Complex<f64> {
    let (mut by_re, mut by_im) = ([0.0; 2], [0.0; 2]);
    for (a, b) in a.iter().zip(b) {
        let a = [a.re, a.im];
        for lane in 0..2 {
            by_re[lane] += a[lane] * b.re;
            by_im[lane] += a[lane] * b.im;
        }
    }
    Complex::new(by_re[0] - by_im[1], by_re[1] + by_im[0])
}
