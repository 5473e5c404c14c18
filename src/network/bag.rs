//! A handful of rows joined each with each: the arithmetic of one bag of a junction tree.
//!
//! A bag holds t rows in the order in which they go. Of two rows i < j the admittance (and later
//! the difference) is at [`pair`]; a row that has gone keeps in the same places what it leaves to
//! those after it: its weights wᵢ for admittances, g/s for its shunt, J/s for its current.
//!
//! The impedances of a bag are kept as those of each row to the reference, Zᵢ, and of each pair,
//! D_ij = Zᵢ + Z_j - 2 Z_ij. The impedance seen by any combination t of the rows, λ = Σ tᵢ, is then
//!
//! ```text
//! t' Z t = λ Σ tᵢ Zᵢ - Σ tᵢ t_j D_ij        (i < j)
//! ```
//!
//! in which two rows of one floating conductor, each a terohm from anything, still see each other
//! through their milliohm: with t = (1, -1) the sum λ is nothing but leakage.

use nalgebra::Complex;

use super::elimination::reciprocal;

/// Rows in a bag at most.
pub(crate) const BAG_MAX: usize = 14;

/// Place of rows i < j of t.
pub(crate) const fn pair(t: usize, i: usize, j: usize) -> usize {
    row(t, i) + j - i - 1
}

/// Place of row i and the one after it.
pub(crate) const fn row(t: usize, i: usize) -> usize {
    i * (2 * t).saturating_sub(i + 1) / 2
}

/// Number of pairs of t rows.
pub(crate) const fn pairs(t: usize) -> usize {
    t * t.saturating_sub(1) / 2
}

/// Admittances and currents of the rows of one bag.
pub(crate) struct Bag<'b> {
    pub(crate) shunt: &'b mut [Complex<f64>],
    pub(crate) current: &'b mut [Complex<f64>],
    pub(crate) pair: &'b mut [Complex<f64>],
}

/// What the elimination of one row leaves besides its weights.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pivot {
    /// 1/s; zero for a row that nothing was left to join with.
    pub(crate) impedance: Complex<f64>,
    /// Σ|y| / |Σy|.
    pub(crate) cancellation: f64,
}

impl Bag<'_> {
    /// Eliminates row `e`, all before it being gone. The last row of a part, which nothing joins
    /// with anything, stays at zero.
    #[inline]
    pub(crate) fn eliminate(&mut self, e: usize) -> Pivot {
        let t = self.shunt.len();
        let (given, rest) = self.pair[row(t, e)..].split_at_mut(t - e - 1);
        let g = self.shunt[e];
        let (mut s, mut size) = (g, g.l1_norm());
        for y in given.iter() {
            s += y;
            size += y.l1_norm();
        }
        if size < f64::MIN_POSITIVE {
            self.shunt[e] = Complex::ONE;
            self.current[e] = Complex::ZERO;
            return Pivot { impedance: Complex::ZERO, cancellation: 1.0 };
        }
        let z = reciprocal(s);
        let j = self.current[e];
        let mut next = 0;
        let (shunt, current) = (&mut self.shunt[e + 1..], &mut self.current[e + 1..]);
        for i in 0..given.len() {
            let w = given[i] * z;
            shunt[i] += w * g;
            current[i] += w * j;
            let later = &given[i + 1..];
            for (between, y) in rest[next..].iter_mut().zip(later) {
                *between += w * y;
            }
            next += later.len();
            given[i] = w;
        }
        self.shunt[e] = z * g;
        self.current[e] = z * j;
        Pivot { impedance: z, cancellation: size / s.l1_norm() }
    }
}

impl Bag<'_> {
    /// What the row at a place left when it went, those before it being gone.
    pub(crate) fn gone(&self, e: usize, impedance: Complex<f64>) -> Gone<'_> {
        Gone::of(self.shunt, self.current, self.pair, (e, impedance))
    }
}

/// Potentials and impedances of the rows of one bag.
pub(crate) struct Seen<'b> {
    /// U of each row.
    pub(crate) potential: &'b mut [Complex<f64>],
    /// Uᵢ - U_j of each pair.
    pub(crate) difference: &'b mut [Complex<f64>],
    /// Zᵢ.
    pub(crate) impedance: &'b mut [Complex<f64>],
    /// D_ij.
    pub(crate) distance: &'b mut [Complex<f64>],
    /// Whether anything leads from the row to the reference.
    pub(crate) tied: &'b mut [bool],
}

/// The same, as they were solved.
#[derive(Clone, Copy)]
pub(crate) struct Solved<'b> {
    pub(crate) potential: &'b [Complex<f64>],
    pub(crate) difference: &'b [Complex<f64>],
    pub(crate) impedance: &'b [Complex<f64>],
    pub(crate) distance: &'b [Complex<f64>],
    pub(crate) tied: &'b [bool],
}

/// What an eliminated row left.
#[derive(Clone, Copy)]
pub(crate) struct Gone<'b> {
    /// Weights of the rows after it.
    pub(crate) weight: &'b [Complex<f64>],
    /// g/s.
    pub(crate) to_reference: Complex<f64>,
    /// J/s.
    pub(crate) drive: Complex<f64>,
    /// 1/s.
    pub(crate) impedance: Complex<f64>,
}

impl<'b> Gone<'b> {
    /// Of the row at a place, with 1/s, from shunts, currents and pairs of all rows.
    pub(crate) fn of(
        shunt: &[Complex<f64>],
        current: &[Complex<f64>],
        pair: &'b [Complex<f64>],
        (e, impedance): (usize, Complex<f64>),
    ) -> Self {
        let t = shunt.len();
        let from = row(t, e);
        Self {
            weight: &pair[from..from + t - 1 - e],
            to_reference: shunt[e],
            drive: current[e],
            impedance,
        }
    }

    /// What the row at this place was joined with, as in [`View::joined`].
    pub(crate) fn further(&self, e: usize) -> u16 {
        let mut further = if self.is_tied() { View::TIED } else { 0 };
        for (i, w) in self.weight.iter().enumerate() {
            further |= u16::from(*w != Complex::ZERO) << (e + 1 + i);
        }
        further
    }

    /// Whether the row itself is joined with the reference.
    pub(crate) fn is_tied(&self) -> bool {
        self.impedance != Complex::ZERO && self.to_reference != Complex::ZERO
    }
}

impl Seen<'_> {
    /// Takes rows solved elsewhere, from places in their order, as the last rows from `first` on.
    #[inline]
    pub(crate) fn take(&mut self, first: usize, from: Solved<'_>, places: &[u8]) {
        let t_from = from.potential.len();
        let mut next = row(self.potential.len(), first);
        for (i, &place) in places.iter().enumerate() {
            let place = usize::from(place);
            self.potential[first + i] = from.potential[place];
            self.impedance[first + i] = from.impedance[place];
            self.tied[first + i] = from.tied[place];
            let own = row(t_from, place);
            for &later in &places[i + 1..] {
                let at = own + usize::from(later) - place - 1;
                self.difference[next] = from.difference[at];
                self.distance[next] = from.distance[at];
                next += 1;
            }
        }
    }

    /// Fills in row `e`, all after it being known.
    #[inline]
    pub(crate) fn extend(&mut self, e: usize, gone: Gone<'_>, impedances: bool) {
        let t = self.potential.len();
        let Gone { weight, to_reference, drive, impedance } = gone;
        let mut potential = drive;
        let mut tied = gone.is_tied();
        for (i, w) in weight.iter().enumerate() {
            potential += w * self.potential[e + 1 + i];
            tied |= self.tied[e + 1 + i] && *w != Complex::ZERO;
        }
        self.potential[e] = potential;
        self.tied[e] = tied;
        let (own, later) = self.difference[row(t, e)..].split_at_mut(weight.len());
        for (own, m) in own.iter_mut().zip(e + 1..) {
            *own = drive - to_reference * self.potential[m];
        }
        let mut next = 0;
        for i in 0..weight.len() {
            for m in i + 1..weight.len() {
                let between = later[next];
                next += 1;
                own[m] += weight[i] * between;
                own[i] -= weight[m] * between;
            }
        }
        if impedances {
            self.extend_impedances(e, weight, to_reference, impedance);
        }
    }

    /// Z_e = z + w' Z w, and D_em the same with w less one at m.
    #[inline]
    fn extend_impedances(
        &mut self,
        e: usize,
        weight: &[Complex<f64>],
        to_reference: Complex<f64>,
        z: Complex<f64>,
    ) {
        let t = self.potential.len();
        let (mut sum, mut nodes) = (Complex::<f64>::ZERO, Complex::<f64>::ZERO);
        for (w, z) in weight.iter().zip(&self.impedance[e + 1..]) {
            sum += w;
            nodes += w * z;
        }
        let (own, later) = self.distance[row(t, e)..].split_at_mut(weight.len());
        own.fill(Complex::ZERO);
        let mut next = 0;
        for i in 0..weight.len() {
            for m in i + 1..weight.len() {
                let between = later[next];
                next += 1;
                own[m] += weight[i] * between;
                own[i] += weight[m] * between;
            }
        }
        // Each pair was met from both of its ends.
        let twice: Complex<f64> = own.iter().zip(weight).map(|(own, w)| own * w).sum();
        let among = twice * 0.5;
        for (own, far) in own.iter_mut().zip(&self.impedance[e + 1..]) {
            *own += z - among + to_reference * (far - nodes);
        }
        self.impedance[e] = z + sum * nodes - among;
    }
}

/// A port as its bag sees it: U = Σ tᵢ Uᵢ + open, with λ = Σ tᵢ a number of its own, and what it
/// sees with these rows held fast.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View {
    pub(crate) weight: [Complex<f64>; BAG_MAX],
    pub(crate) sum: Complex<f64>,
    pub(crate) open: Complex<f64>,
    pub(crate) impedance: Complex<f64>,
    /// Of both ends: the rows it is joined with, and [`View::TIED`].
    pub(crate) joined: [u16; 2],
}

impl View {
    /// The end is joined with the reference whatever the rows are joined with.
    pub(crate) const TIED: u16 = 1 << 15;

    /// Nothing yet.
    pub(crate) fn nothing() -> Self {
        Self {
            weight: [Complex::ZERO; BAG_MAX],
            sum: Complex::ZERO,
            open: Complex::ZERO,
            impedance: Complex::ZERO,
            joined: [0, 0],
        }
    }

    /// The same with each of these rows, `(from, to)`, at another place, and no others.
    pub(crate) fn moved(&self, rows: impl Iterator<Item = (usize, usize)>) -> Self {
        let mut moved = Self { weight: [Complex::ZERO; BAG_MAX], ..*self };
        moved.joined = self.joined.map(|joined| joined & Self::TIED);
        for (from, to) in rows {
            moved.weight[to] = self.weight[from];
            for (moved, joined) in moved.joined.iter_mut().zip(self.joined) {
                *moved |= (joined >> from & 1) << to;
            }
        }
        moved
    }

    /// The place of the largest weight.
    pub(crate) fn strongest(weights: &[Complex<f64>]) -> u8 {
        let (mut strongest, mut largest) = (0, 0.0);
        for (row, w) in weights.iter().enumerate() {
            let size = w.norm_sqr();
            if size > largest {
                (strongest, largest) = (row as u8, size);
            }
        }
        strongest
    }

    /// Puts a gone row's potential in terms of the rows after it.
    pub(crate) fn substitute(&mut self, e: usize, gone: Gone<'_>) {
        let t = self.weight[e];
        for (own, w) in self.weight[e + 1..].iter_mut().zip(gone.weight) {
            *own += t * w;
        }
        self.weight[e] = Complex::ZERO;
        self.sum -= t * gone.to_reference;
        self.open += t * gone.drive;
        self.impedance += t * t * gone.impedance;
        let further = gone.further(e);
        for joined in &mut self.joined {
            if *joined >> e & 1 == 1 {
                *joined = *joined & !(1 << e) | further;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_end_joined_with_a_row_that_goes_is_joined_with_what_that_row_is_and_no_other_end_is() {
        // The second of four rows goes; it is joined with the last alone.
        let shares = [Complex::ZERO, Complex::new(0.5, 0.0)];
        let gone = |to_reference| Gone {
            weight: &shares,
            to_reference,
            drive: Complex::new(2.0, 0.0),
            impedance: Complex::new(3.0, 0.0),
        };
        let mut view = View::nothing();
        view.weight[..4].copy_from_slice(&[0.0, 4.0, 1.0, 1.0].map(Complex::from));
        view.joined = [0b0110, 0b0101];
        let mut afloat = view;
        afloat.substitute(1, gone(Complex::ZERO));
        assert_eq!(afloat.joined, [0b1100, 0b0101]);
        // U = 4 U₁ + U₂ + U₃ with U₁ = U₃/2 + 2.
        assert_eq!(afloat.weight[..4], [0.0, 0.0, 1.0, 3.0].map(Complex::from));
        assert_eq!((afloat.open, afloat.sum), (Complex::from(8.0), Complex::ZERO));
        assert_eq!(afloat.impedance, Complex::from(16.0 * 3.0));
        let mut tied = view;
        tied.substitute(1, gone(Complex::new(0.5, 0.0)));
        assert_eq!(tied.joined, [View::TIED | 0b1100, 0b0101]);
        assert_eq!(tied.sum, Complex::from(-2.0));
        // What it is joined with already stays so.
        view.joined = [0b1010, 0b0010];
        view.substitute(1, gone(Complex::ZERO));
        assert_eq!(view.joined, [0b1000, 0b1000]);
    }

    #[test]
    fn the_strongest_row_is_the_first_of_the_largest_by_size_and_not_by_sign() {
        let of = |weights: &[(f64, f64)]| {
            let weights: Vec<_> = weights.iter().map(|&(re, im)| Complex::new(re, im)).collect();
            View::strongest(&weights)
        };
        assert_eq!(of(&[(0.5, 0.0), (-3.0, 0.0), (0.0, 2.0)]), 1);
        assert_eq!(of(&[(0.5, 0.0), (1.0, 0.0), (0.9, 0.9)]), 2);
        assert_eq!(of(&[(2.0, 0.0), (1.0, 0.0)]), 0);
        assert_eq!(of(&[]), 0);
    }
}
