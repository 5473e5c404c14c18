//! Nonlinear elements brought to rest by their voltages, where following their sizes fails.
//!
//! With every device at its least size x₀ the network is v = a - Z j, and what a device carries
//! beyond that is j = c (h(|v|) - x₀) v. Newton's method on
//!
//! ```text
//! F(v) = v - a + Z j(v)
//! ```
//!
//! with the step halved until ‖F‖ falls, or whole where that jams. Where |j| rises with |v| (lamps
//! and filaments) ∂j/∂v is symmetric and positive semidefinite and Z has a positive semidefinite
//! real part, so that I + Z ∂j/∂v is never singular and there is one solution. h is not analytic
//! in v: real and imaginary parts are unknowns of their own.

use nalgebra::{Complex, DMatrix, DVector};

use super::motion::{Motion, Point, Rest};

/// Residual |h - x| / x that is taken as rest: an order below the contract for nonlinear
/// elements. At a threshold behind a high impedance x has no more digits.
const REST_TOLERANCE_BY_VOLTAGE: f64 = 1e-7;
/// The impedance a law sees when it is asked at a voltage that is given.
const ON_ITS_OWN: f64 = 0.0;
/// Newton steps before it is given up; about ten are usual.
const STEPS_MAX: usize = 200;
/// Shares of a step below which it counts as jammed, and below which none is tried.
const SHARE_JAMMED: f64 = 0.1;
const SHARE_LEAST: f64 = 1e-3;
/// ‖F‖ at which the voltages are found, as a share of the largest voltage.
const TOLERANCE: f64 = 1e-14;

impl Motion {
    /// Rest for the memories of `start`, if Newton's method finds it.
    pub(super) fn settle_by_voltage(&self, start: &Rest) -> Option<(Rest, Point)> {
        let rest = self.rest_by_voltage(start)?;
        let point = self.at(&rest)?;
        (point.residual <= REST_TOLERANCE_BY_VOLTAGE).then_some((rest, point))
    }

    fn rest_by_voltage(&self, start: &Rest) -> Option<Rest> {
        let n = self.devices.len();
        let least = DVector::from_iterator(n, self.devices.iter().map(|device| device.least));
        let base = Rest { size: least, ..start.clone() };
        let (a, system) = self.voltages(&base)?;
        let (a, z) = (a.rows(0, n).into_owned(), self.response(&system?)?);
        let scale = a.iter().map(|v| v.norm()).fold(f64::MIN_POSITIVE, f64::max);
        let mut v = a.clone();
        let mut residual = self.beyond(&v, &base, &a, &z);
        for _ in 0..STEPS_MAX {
            let before = residual.norm();
            if before <= TOLERANCE * scale {
                break;
            }
            let step = self.newton_step(&v, &base, &z, &residual)?;
            let mut share = 1.0;
            let mut tried = &v - &step;
            let mut then = self.beyond(&tried, &base, &a, &z);
            while then.norm() >= before && share > SHARE_LEAST {
                share /= 2.0;
                tried = &v - &step * Complex::from(share);
                then = self.beyond(&tried, &base, &a, &z);
            }
            // A step much shortened jams against a threshold: the slope beyond is another.
            // Then the whole step is taken all the same.
            if share < SHARE_JAMMED {
                tried = &v - &step;
                then = self.beyond(&tried, &base, &a, &z);
            }
            (v, residual) = (tried, then);
        }
        let sizes = self.devices.iter().enumerate().map(|(j, device)| {
            device.settling(v[j].norm(), device.least, base.lit[j], ON_ITS_OWN).size
        });
        Some(Rest { size: DVector::from_iterator(n, sizes), ..base })
    }

    /// F(v).
    fn beyond(
        &self,
        v: &DVector<Complex<f64>>,
        base: &Rest,
        a: &DVector<Complex<f64>>,
        z: &DMatrix<Complex<f64>>,
    ) -> DVector<Complex<f64>> {
        let carried = |(j, device): (usize, &super::device::Device)| {
            let h = device.settling(v[j].norm(), device.least, base.lit[j], ON_ITS_OWN).size;
            device.direction * (h - device.least) * v[j]
        };
        let j = DVector::from_iterator(v.len(), self.devices.iter().enumerate().map(carried));
        v - a + z * j
    }

    /// The solution δ of (I + Z ∂j/∂v) δ = F.
    fn newton_step(
        &self,
        v: &DVector<Complex<f64>>,
        base: &Rest,
        z: &DMatrix<Complex<f64>>,
        residual: &DVector<Complex<f64>>,
    ) -> Option<DVector<Complex<f64>>> {
        let n = v.len();
        let mut system = DMatrix::<f64>::identity(2 * n, 2 * n);
        for (k, device) in self.devices.iter().enumerate() {
            let size = v[k].norm();
            let settling = device.settling(size, device.least, base.lit[k], ON_ITS_OWN);
            let along = Complex::from(settling.size - device.least);
            // d(h v) = h dv + h' (Re(v* dv) / |v|) v
            let turn = if size > 0.0 { v[k] * (settling.by_voltage / size) } else { Complex::ZERO };
            let columns = [
                device.direction * (along + turn * v[k].re),
                device.direction * (along * Complex::I + turn * v[k].im),
            ];
            for (part, change) in columns.into_iter().enumerate() {
                for j in 0..n {
                    let change = z[(j, k)] * change;
                    system[(2 * j, 2 * k + part)] += change.re;
                    system[(2 * j + 1, 2 * k + part)] += change.im;
                }
            }
        }
        let given = DVector::from_fn(2 * n, |row, _| {
            if row % 2 == 0 { residual[row / 2].re } else { residual[row / 2].im }
        });
        let step = system.lu().solve(&given)?;
        Some(DVector::from_fn(n, |j, _| Complex::new(step[2 * j], step[2 * j + 1])))
    }
}
