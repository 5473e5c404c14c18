//! Nonlinear elements on the ports of a linear network, and how they come to rest.
//!
//! With device sizes x the ports carry currents Δ v beyond what the network already contains,
//! Δ = diag(c x - y₀), so that
//!
//! ```text
//! (I + Z Δ) v - B e = v₀,        Bᵀ Δ v = 0
//! ```
//!
//! where e are the potentials of parts that only the ports join (mostly there are none). Each
//! size moves towards what its law asks for at the voltage it finds,
//!
//! ```text
//! dx/dt = h(|v(x)|, x) - x
//! ```
//!
//! and a state is an answer only if it is a *stable* rest of this motion: all eigenvalues of
//! M = ∂h/∂x (v following x) have a real part below one. The middle state of a constant-power
//! load, or of a glowing joint on too stiff a supply, is a rest but not a stable one.
//!
//! The motion is followed by implicit steps, δ = ((1 + 1/τ) I - M)⁻¹ (h - x), whose τ grows as
//! the rest comes near, so that the last are Newton's (pseudo-transient continuation: Kelley &
//! Keyes 1998, SIAM J. Numer. Anal. 35). x keeps to its range, so every trial is passive.

use std::cell::OnceCell;

use nalgebra::{Complex, DMatrix, DVector, Dyn, LU, Schur};

use super::device::{Device, Settling};
use super::ports::Ports;

/// Residual |h - x| / max(h, x) at which a rest is taken as found; h itself rounds at about 1e-15.
const REST_TOLERANCE: f64 = 1e-13;
/// A residual that no longer falls is taken as rest below this: the ports then have no more
/// digits to give, and the contract for nonlinear elements is 1e-6.
const REST_TOLERANCE_LOOSE: f64 = 1e-9;
/// Steps before a motion is given up; about ten are usual, a hundred beside a fold.
const STEPS_MAX: usize = 400;
/// First pseudo-time step, in the devices' own time.
const FIRST_STEP: f64 = 1.0;
/// The same where nothing but lamps moves, each lit or dark: a monotone law on a passive network
/// has one rest, and Newton's steps lead to it.
const FIRST_STEP_OF_LAMPS: f64 = 1e9;
/// Largest growth of the pseudo-time step from one to the next, and largest fall.
const STEP_GROWTH: f64 = 4.0;
/// Largest factor a size moves by in one step.
const STRIDE: f64 = 10.0;
/// Least such factor, from which it can still grow again.
const STRIDE_LEAST: f64 = 1.0 + 1e-6;
/// How that factor grows again, as a power, while a size keeps its direction.
const STRIDE_GROWTH: f64 = 1.5;
/// Relative displacement that takes a motion off an unstable rest.
const NUDGE: f64 = 1e-3;
/// Sweeps of the QR iteration for eigenvalues; a handful each is usual.
const EIGENVALUE_SWEEPS_MAX: usize = 1000;

/// Sizes of all devices, and which of those with memory are lit.
#[derive(Clone, Debug)]
pub(super) struct Rest {
    pub(super) size: DVector<f64>,
    pub(super) lit: Vec<bool>,
    /// Lit lamps that neither hold nor stay out: taken as lit all the time.
    pub(super) flickering: Vec<bool>,
}

impl Rest {
    /// Everything dark, cold and on full voltage.
    pub(super) fn start(devices: &[Device]) -> Self {
        Self {
            size: DVector::from_iterator(devices.len(), devices.iter().map(Device::start)),
            lit: vec![false; devices.len()],
            flickering: vec![false; devices.len()],
        }
    }
}

/// Devices on the first ports of a network, fixed admittances on the others.
#[derive(Clone, Debug)]
pub(super) struct Motion {
    pub(super) devices: Vec<Device>,
    /// What the network already contains at each device's port.
    pub(super) contained: Vec<Complex<f64>>,
    /// Admittances on the ports after the devices'.
    pub(super) fixed: Vec<Complex<f64>>,
    pub(super) ports: Ports,
}

type Column = DVector<Complex<f64>>;

/// A system of equations taken apart.
pub(super) type TakenApart = LU<Complex<f64>, Dyn, Dyn>;

/// Voltages at one x, and slopes where they are asked for: these cost three times as much.
pub(super) struct Point {
    /// At every port.
    pub(super) voltage: Column,
    /// h - x.
    pull: DVector<f64>,
    /// What each law asks for, and how that depends on voltage and size.
    settling: Vec<Settling>,
    /// I + Z Δ, bordered by the parts only ports join, taken apart; none where there is no port.
    system: Option<TakenApart>,
    /// M.
    slope: OnceCell<DMatrix<f64>>,
    /// max |h - x| / max(h, x).
    pub(super) residual: f64,
    /// The device at which that is.
    pub(super) farthest: usize,
}

impl Motion {
    /// Voltages. `None` when the arithmetic overflows.
    pub(super) fn at(&self, rest: &Rest) -> Option<Point> {
        let (voltage, system) = self.voltages(rest)?;
        let n = self.devices.len();
        let mut point = Point {
            voltage,
            pull: DVector::zeros(n),
            settling: Vec::with_capacity(n),
            system,
            slope: OnceCell::new(),
            residual: 0.0,
            farthest: 0,
        };
        for (j, device) in self.devices.iter().enumerate() {
            let (v, x) = (point.voltage[j], rest.size[j]);
            let port_ohm = self.ports.impedance[(j, j)].norm();
            let settling = device.settling(v.norm(), x, rest.lit[j], port_ohm);
            point.pull[j] = settling.size - x;
            let residual = point.pull[j].abs() / settling.size.max(x);
            if residual.is_nan() || residual > point.residual {
                (point.residual, point.farthest) = (residual, j);
            }
            point.settling.push(settling);
        }
        point.residual.is_finite().then_some(point)
    }

    /// M, by (I + Z Δ) dv - B de = -Z dΔ v, Bᵀ Δ dv = -Bᵀ dΔ v; not a number where the arithmetic
    /// overflows.
    fn slope<'p>(&self, point: &'p Point) -> &'p DMatrix<f64> {
        point.slope.get_or_init(|| {
            let n = self.devices.len();
            let response = point.system.as_ref().and_then(|system| self.response(system));
            let Some(response) = response else {
                return DMatrix::from_element(n, n, f64::NAN);
            };
            let mut slope = DMatrix::zeros(n, n);
            for (j, settling) in point.settling.iter().enumerate() {
                let v = point.voltage[j];
                if settling.by_voltage.abs() > 0.0 {
                    for (k, other) in self.devices.iter().enumerate() {
                        let dv = -response[(j, k)] * other.direction * point.voltage[k];
                        // d|v| = Re(conj(v) dv) / |v|
                        slope[(j, k)] = settling.by_voltage * (v.conj() * dv).re / v.norm();
                    }
                }
                slope[(j, j)] += settling.by_size;
            }
            slope
        })
    }

    /// h of one device.
    pub(super) fn asked(&self, j: usize, rest: &Rest, point: &Point) -> f64 {
        let port_ohm = self.ports.impedance[(j, j)].norm();
        let (volt, x) = (point.voltage[j].norm(), rest.size[j]);
        self.devices[j].settling(volt, x, rest.lit[j], port_ohm).size
    }

    /// v, and the system it is found from.
    pub(super) fn voltages(&self, rest: &Rest) -> Option<(Column, Option<TakenApart>)> {
        let Ports { open, impedance: z, border: b } = &self.ports;
        let (n, n_parts) = (z.nrows(), b.ncols());
        if n == 0 {
            return Some((Column::zeros(0), None));
        }
        let extra = self.extra(rest);
        let mut system = DMatrix::<Complex<f64>>::identity(n + n_parts, n + n_parts);
        let mut given = Column::zeros(n + n_parts);
        for i in 0..n {
            for j in 0..n {
                system[(i, j)] += z[(i, j)] * extra[j];
            }
            given[i] = open[i];
            for part in 0..n_parts {
                system[(i, n + part)] = -b[(i, part)];
                system[(n + part, i)] = b[(i, part)] * extra[i];
            }
        }
        for part in 0..n_parts {
            system[(n + part, n + part)] = Complex::ZERO;
        }
        let system = system.lu();
        let solved = system.solve(&given)?;
        Some((solved.rows(0, n).into(), Some(system)))
    }

    /// Δ.
    fn extra(&self, rest: &Rest) -> Vec<Complex<f64>> {
        let sized = self.devices.iter().zip(&rest.size).zip(&self.contained);
        sized
            .map(|((device, &x), &contained)| device.direction * x - contained)
            .chain(self.fixed.iter().copied())
            .collect()
    }

    /// (I + Z Δ)⁻¹ Z bordered by the parts only ports join, at the devices.
    pub(super) fn response(&self, system: &TakenApart) -> Option<DMatrix<Complex<f64>>> {
        let Ports { impedance: z, border: b, .. } = &self.ports;
        let (n, n_parts, n_devices) = (z.nrows(), b.ncols(), self.devices.len());
        let mut given = DMatrix::<Complex<f64>>::zeros(n + n_parts, n_devices);
        for device in 0..n_devices {
            given.view_mut((0, device), (n, 1)).copy_from(&z.column(device));
            for part in 0..n_parts {
                given[(n + part, device)] = b[(device, part)];
            }
        }
        let solved = system.solve(&given)?;
        Some(solved.view((0, 0), (n_devices, n_devices)).into())
    }

    /// Follows the motion to rest; the device that is farthest from it on failure.
    /// A `wary` walk looks for an unstable rest at every step, others when they turn back.
    fn settle(&self, mut rest: Rest, wary: bool) -> Result<(Rest, Point), usize> {
        let n = self.devices.len();
        let all_lamps = self.devices.iter().all(Device::is_lamp);
        let first_step = if all_lamps { FIRST_STEP_OF_LAMPS } else { FIRST_STEP };
        let (mut step, mut best) = (first_step, f64::INFINITY);
        let mut stride = vec![STRIDE; n];
        let mut point = self.at(&rest).ok_or(0_usize)?;
        if !wary && point.residual > REST_TOLERANCE {
            // A lamp follows at once.
            for lamp in (0..n).filter(|&j| self.devices[j].is_lamp()) {
                rest.size[lamp] = self.asked(lamp, &rest, &point);
            }
            point = self.at(&rest).ok_or(0_usize)?;
        }
        for _ in 0..STEPS_MAX {
            let stalled = point.residual >= best && point.residual <= REST_TOLERANCE_LOOSE;
            if point.residual <= REST_TOLERANCE || stalled {
                break;
            }
            best = best.min(point.residual);
            let change = self.change(&point, step, wary);
            for (j, device) in self.devices.iter().enumerate() {
                let x = rest.size[j];
                let wanted = (x + change[j]).clamp(x / stride[j], x * stride[j]);
                rest.size[j] = wanted.clamp(device.least, device.most);
            }
            let (before, pull) = (point.residual, point.pull);
            point = self.at(&rest).ok_or(point.farthest)?;
            for (stride, (now, then)) in stride.iter_mut().zip(point.pull.iter().zip(&pull)) {
                // Past its rest: half as far in proportion, so that no kink is jumped over and
                // back for ever (a lamp at its threshold behind a high impedance).
                *stride = if now * then < 0.0 {
                    stride.sqrt().max(STRIDE_LEAST)
                } else {
                    libm::pow(*stride, STRIDE_GROWTH).min(STRIDE)
                };
            }
            let growth = (before / point.residual).clamp(1.0 / STEP_GROWTH, STEP_GROWTH);
            step = (step * growth).max(FIRST_STEP);
        }
        if point.residual <= REST_TOLERANCE_LOOSE { Ok((rest, point)) } else { Err(point.farthest) }
    }

    /// δ = ((1 + 1/τ) I - M)⁻¹ (h - x).
    fn change(&self, point: &Point, step: f64, wary: bool) -> DVector<f64> {
        let n = self.devices.len();
        let implicit = |rate: f64| {
            let matrix = DMatrix::identity(n, n) * (1.0 + rate) - self.slope(point);
            // Singular only by accident: half a step of the motion itself leaves the place.
            matrix.lu().solve(&point.pull).unwrap_or(&point.pull * 0.5)
        };
        let change = implicit(1.0 / step);
        let turns_back = change.iter().zip(&point.pull).any(|(change, pull)| change * pull < 0.0);
        if !turns_back && !wary {
            return change;
        }
        // Away from an unstable rest (a joint that begins to glow, a load that collapses) the
        // motion runs at the rate λ - 1, and a longer implicit step would turn back.
        let run_away = (self.largest_eigenvalue(point) - 1.0).max(0.0);
        if run_away > 0.0 { implicit(1.0 / step + 2.0 * run_away) } else { change }
    }

    /// Whether all eigenvalues of M have a real part below one.
    fn is_stable(&self, point: &Point) -> bool {
        self.largest_eigenvalue(point) < 1.0
    }

    /// The largest real part of any eigenvalue of M, or a bound of it that is below one.
    fn largest_eigenvalue(&self, point: &Point) -> f64 {
        let n = self.devices.len();
        // Similar to M, with entries of comparable size.
        let scale = |j: usize| (self.devices[j].least * self.devices[j].most).sqrt();
        let slope = self.slope(point);
        let scaled = DMatrix::from_fn(n, n, |j, k| slope[(j, k)] * scale(k) / scale(j));
        // No eigenvalue is larger than the largest sum of a row (Gershgorin).
        let bound = scaled.row_iter().map(|row| row.abs().sum()).fold(0.0, f64::max);
        if bound < 1.0 {
            return bound;
        }
        if scaled.iter().any(|entry| !entry.is_finite()) {
            return f64::INFINITY;
        }
        match Schur::try_new(scaled, f64::EPSILON, EIGENVALUE_SWEEPS_MAX) {
            Some(schur) => {
                schur.complex_eigenvalues().iter().map(|value| value.re).fold(0.0, f64::max)
            }
            None => bound,
        }
    }

    /// A stable rest from a start, nudged off any other it comes to; the device that does not
    /// come to rest on failure.
    pub(super) fn settle_stable(&self, start: Rest) -> Result<(Rest, Point), usize> {
        let (mut rest, mut point) = match self.settle(start.clone(), false) {
            Ok(settled) => settled,
            Err(farthest) => self.settle_by_voltage(&start).ok_or(farthest)?,
        };
        for nudge in [NUDGE, -NUDGE] {
            if self.is_stable(&point) {
                return Ok((rest, point));
            }
            let mut nudged = rest.clone();
            for (j, device) in self.devices.iter().enumerate() {
                // Not all alike, or a symmetric pair would stay symmetric.
                let moved = rest.size[j] * (1.0 + nudge * (1.0 + j as f64));
                nudged.size[j] = moved.clamp(device.least, device.most);
            }
            (rest, point) = self.settle(nudged, true)?;
        }
        if self.is_stable(&point) { Ok((rest, point)) } else { Err(point.farthest) }
    }
}
