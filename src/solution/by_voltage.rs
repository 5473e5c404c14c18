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

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{ElementId, Law, Netlist};
    use crate::solution::device::Device;
    use crate::solution::ports::Ports;

    /// A central difference along the step leaves so many digits.
    const STEP: f64 = 1e-5;
    const SLOPE_TOLERANCE: f64 = 1e-6;

    fn bulb(rated_watt: f64) -> Device {
        let law =
            Law::Filament { rated_watt, rated_volt: 120.0, cold_fraction: 0.08, exponent: 0.6 };
        Device::new(ElementId(0), (Netlist::EARTH, Netlist::EARTH), &law).unwrap()
    }

    fn two_bulbs() -> (Motion, Rest) {
        let devices = vec![bulb(100.0), bulb(60.0)];
        let z = [[(20.0, 3.0), (5.0, 1.0)], [(5.0, 1.0), (30.0, -4.0)]];
        let impedance = DMatrix::from_fn(2, 2, |i, j| Complex::new(z[i][j].0, z[i][j].1));
        let open = DVector::from_vec(vec![Complex::new(118.0, 5.0), Complex::new(-60.0, 90.0)]);
        let ports = Ports { open, impedance, border: DMatrix::zeros(2, 0) };
        let mut rest = Rest::start(&devices);
        rest.size = DVector::from_fn(2, |j, _| devices[j].least);
        let contained = vec![Complex::ZERO; 2];
        (Motion { devices, contained, fixed: Vec::new(), ports }, rest)
    }

    #[test]
    fn voltages_miss_by_what_the_wires_lose_to_the_current_they_would_drive() {
        let (motion, base) = two_bulbs();
        let (a, z) = (motion.ports.open.clone(), motion.ports.impedance.clone());
        let v = DVector::from_vec(vec![Complex::new(100.0, 2.0), Complex::new(-50.0, 70.0)]);
        // 1/R = (P/V₀²) / [c + (1 - c) (|V|/V₀)^k], less what is there at the least size.
        let current = |j: usize, watt: f64| {
            let rise = libm::pow(v[j].norm() / 120.0, 0.6);
            let siemens = watt / (120.0 * 120.0) / (0.08 + 0.92 * rise);
            v[j] * (siemens - motion.devices[j].least)
        };
        let j = DVector::from_vec(vec![current(0, 100.0), current(1, 60.0)]);
        let expected = &v - &a + &z * j;
        let beyond = motion.beyond(&v, &base, &a, &z);
        assert_relative_eq!((beyond - expected).norm(), 0.0, epsilon = 1e-10);
    }

    /// Along the step what is missed changes at the rate of what is missed.
    fn assert_undone(motion: &Motion, base: &Rest, v: &DVector<Complex<f64>>) {
        let (a, z) = (motion.ports.open.clone(), motion.ports.impedance.clone());
        let beyond = |v: &DVector<Complex<f64>>| motion.beyond(v, base, &a, &z);
        let missed = beyond(v);
        let step = motion.newton_step(v, base, &z, &missed).unwrap();
        let along = &step * Complex::from(STEP);
        let rate = (beyond(&(v + &along)) - beyond(&(v - &along))) / Complex::from(2.0 * STEP);
        assert!(missed.norm() > 1.0);
        assert_relative_eq!(
            (rate - &missed).norm() / missed.norm(),
            0.0,
            epsilon = SLOPE_TOLERANCE
        );
    }

    #[test]
    fn a_newton_step_undoes_what_is_missed_as_far_as_the_slopes_go() {
        let (motion, base) = two_bulbs();
        let v = DVector::from_vec(vec![Complex::new(100.0, 20.0), Complex::new(-50.0, 70.0)]);
        assert_undone(&motion, &base, &v);
    }

    #[test]
    fn a_lamp_that_leaks_half_of_what_it_carries_is_stepped_by_what_it_carries_beyond() {
        let law = Law::ThresholdLamp { threshold_volt: 30.0, off_ohm: 50e3, series_ohm: 20e3 };
        let lamp = Device::new(ElementId(0), (Netlist::EARTH, Netlist::EARTH), &law).unwrap();
        let base = Rest::start(std::slice::from_ref(&lamp));
        let ports = Ports {
            open: DVector::from_element(1, Complex::new(110.0, 20.0)),
            impedance: DMatrix::from_element(1, 1, Complex::new(15e3, 2e3)),
            border: DMatrix::zeros(1, 0),
        };
        let (devices, contained) = (vec![lamp], vec![Complex::ZERO]);
        let motion = Motion { devices, contained, fixed: Vec::new(), ports };
        assert_undone(&motion, &base, &DVector::from_element(1, Complex::new(80.0, 30.0)));
    }

    #[test]
    fn bulbs_come_to_rest_by_their_voltages_where_they_do_by_their_sizes() {
        let (motion, base) = two_bulbs();
        let (rest, point) = motion.settle_by_voltage(&Rest::start(&motion.devices)).unwrap();
        let (other, _) = motion.settle_stable(base).unwrap();
        for (one, other) in rest.size.iter().zip(&other.size) {
            assert_relative_eq!(*one, *other, max_relative = 1e-7);
        }
        assert!(point.residual < REST_TOLERANCE_BY_VOLTAGE);
    }
}
