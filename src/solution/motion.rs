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

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{ElementId, Law, Netlist};

    /// A dense solve of a handful of equations.
    const ROUNDING: f64 = 1e-12;
    /// The step of a central difference and what it leaves of the digits.
    const STEP: f64 = 1e-5;
    const SLOPE_TOLERANCE: f64 = 1e-6;

    fn device(law: Law) -> Device {
        Device::new(ElementId(0), (Netlist::EARTH, Netlist::EARTH), &law).unwrap()
    }

    fn charger() -> Device {
        device(Law::ConstantPower { active_watt: 300.0, reactive_var: 80.0, cut_out_volt: 20.0 })
    }

    fn bulb() -> Device {
        device(Law::Filament {
            rated_watt: 100.0,
            rated_volt: 120.0,
            cold_fraction: 0.08,
            exponent: 0.6,
        })
    }

    fn joint() -> Device {
        device(Law::GlowingJoint {
            reference_volt: 2.3,
            reference_ampere: 15.0,
            exponent: 0.34,
            cold_ohm: 20.0,
        })
    }

    /// So many ports on common wires, each with something of its own.
    fn ports(n: usize) -> (DVector<Complex<f64>>, DMatrix<Complex<f64>>) {
        let impedance = DMatrix::from_fn(n, n, |i, j| {
            let own = if i == j { 2.0 + i as f64 } else { 0.0 };
            Complex::new(0.5 + own, 0.2)
        });
        (DVector::from_fn(n, |i, _| Complex::new(120.0 - i as f64, 3.0 * i as f64)), impedance)
    }

    fn motion(devices: Vec<Device>, fixed: Vec<Complex<f64>>) -> Motion {
        let n = devices.len() + fixed.len();
        let (open, impedance) = ports(n);
        let contained = devices.iter().map(|device| device.direction * 1e-3).collect();
        let ports = Ports { open, impedance, border: DMatrix::zeros(n, 0) };
        Motion { devices, contained, fixed, ports }
    }

    fn resting(sizes: &[f64]) -> Rest {
        let n = sizes.len();
        Rest {
            size: DVector::from_row_slice(sizes),
            lit: vec![false; n],
            flickering: vec![false; n],
        }
    }

    /// What each port carries beyond what the network contains.
    fn carried(motion: &Motion, rest: &Rest, voltage: &Column) -> Column {
        let of_devices = motion.devices.iter().zip(&rest.size).zip(&motion.contained);
        let siemens = of_devices.map(|((device, &x), contained)| device.direction * x - contained);
        let siemens: Vec<_> = siemens.chain(motion.fixed.iter().copied()).collect();
        Column::from_fn(siemens.len(), |port, _| siemens[port] * voltage[port])
    }

    #[test]
    fn each_port_is_left_with_what_all_that_is_carried_takes_from_it() {
        let motion = motion(vec![charger(), bulb()], vec![Complex::new(0.02, -0.01)]);
        let rest = resting(&[0.03, 0.006]);
        let voltage = motion.at(&rest).unwrap().voltage;
        let expected =
            &motion.ports.open - &motion.ports.impedance * carried(&motion, &rest, &voltage);
        assert_relative_eq!((voltage - expected).norm(), 0.0, epsilon = 120.0 * ROUNDING);
    }

    #[test]
    fn a_part_that_only_ports_join_takes_the_potential_at_which_no_current_stays_in_it() {
        // Two parts, each held by two of the ports after the first.
        let siemens = [0.02, 0.05, 0.01, 0.04].map(Complex::from);
        let mut motion = motion(vec![charger()], siemens.to_vec());
        motion.ports.border = DMatrix::zeros(5, 2);
        for (port, part, sign) in [(1, 0, 1.0), (2, 0, -1.0), (3, 1, 1.0), (4, 1, -1.0)] {
            motion.ports.border[(port, part)] = Complex::from(sign);
        }
        let rest = resting(&[0.03]);
        let voltage = motion.at(&rest).unwrap().voltage;
        let current = carried(&motion, &rest, &voltage);
        // Into each part flows what flows out of it.
        let ampere = current.norm();
        assert!(ampere > 0.1, "{ampere} A");
        assert_relative_eq!((current[1] - current[2]).norm(), 0.0, epsilon = ampere * ROUNDING);
        assert_relative_eq!((current[3] - current[4]).norm(), 0.0, epsilon = ampere * ROUNDING);
        let beyond = &voltage - &motion.ports.open + &motion.ports.impedance * &current;
        // What is beyond the open voltages is the part's potential, at both of its ports.
        assert_relative_eq!(beyond[0].norm(), 0.0, epsilon = 120.0 * ROUNDING);
        assert_relative_eq!((beyond[1] + beyond[2]).norm(), 0.0, epsilon = 120.0 * ROUNDING);
        assert_relative_eq!((beyond[3] + beyond[4]).norm(), 0.0, epsilon = 120.0 * ROUNDING);
        // How the first port answers to its own device, as a difference says it.
        let of_size = |x: f64| motion.voltages(&resting(&[x])).unwrap().0[0];
        let slope = (of_size(0.03 + STEP) - of_size(0.03 - STEP)) / (2.0 * STEP);
        let (_, system) = motion.voltages(&rest).unwrap();
        let answer = motion.response(&system.unwrap()).unwrap()[(0, 0)];
        let expected = -answer * motion.devices[0].direction * voltage[0];
        let miss = (slope - expected).norm() / expected.norm();
        assert!(miss < SLOPE_TOLERANCE, "{miss:e}");
    }

    #[test]
    fn what_a_size_asks_of_the_others_is_what_a_small_change_of_it_shows() {
        let motion = motion(vec![charger(), bulb(), joint()], vec![Complex::new(0.01, 0.0)]);
        // The joint glows: on some 10 V it carries about an ampere.
        let rest = resting(&[0.03, 0.006, 8.0]);
        let asked = |rest: &Rest| {
            let point = motion.at(rest).unwrap();
            [0, 1, 2].map(|j| motion.asked(j, rest, &point))
        };
        let point = motion.at(&rest).unwrap();
        let slope = motion.slope(&point);
        for k in 0..3 {
            let moved = |by: f64| {
                let mut moved = rest.clone();
                moved.size[k] *= 1.0 + by;
                asked(&moved)
            };
            let (above, below) = (moved(STEP), moved(-STEP));
            for j in 0..3 {
                let expected = (above[j] - below[j]) / (2.0 * STEP * rest.size[k]);
                assert_relative_eq!(
                    slope[(j, k)],
                    expected,
                    max_relative = SLOPE_TOLERANCE,
                    epsilon = 1e-9 * asked(&rest)[j] / rest.size[k]
                );
            }
        }
        assert!(slope[(2, 2)].abs() > 0.0 && slope[(0, 1)].abs() > 0.0);
    }

    /// 300 W behind 8 ohms of 120 V, by its size: it runs on 95 V and could, but for the slightest
    /// touch, on 25 V.
    fn behind_eight_ohms() -> Motion {
        let law = Law::ConstantPower { active_watt: 300.0, reactive_var: 0.0, cut_out_volt: 20.0 };
        let ports = Ports {
            open: DVector::from_element(1, Complex::from(120.0)),
            impedance: DMatrix::from_element(1, 1, Complex::from(8.0)),
            border: DMatrix::zeros(1, 0),
        };
        let devices = vec![device(law)];
        Motion { devices, contained: vec![Complex::ZERO], fixed: Vec::new(), ports }
    }

    /// V solves V² - 120 V + 2400 = 0, and 300 W on V volts are 300 / V² siemens.
    fn size_at(root: f64) -> f64 {
        let volt = 60.0 + root * 1200_f64.sqrt();
        300.0 / (volt * volt)
    }

    /// M of the one load: h = P (1 + z x)² / V₀², and dh/dx is twice that by (1 + z x) and z.
    fn slope_at(x: f64) -> f64 {
        300.0 * 2.0 * (1.0 + 8.0 * x) * 8.0 / (120.0 * 120.0)
    }

    #[test]
    fn a_load_on_the_lower_of_its_two_voltages_runs_away() {
        let motion = behind_eight_ohms();
        let runs = motion.at(&resting(&[size_at(1.0)])).unwrap();
        assert!(runs.residual < ROUNDING && motion.is_stable(&runs));
        let x = size_at(-1.0);
        let lower = motion.at(&resting(&[x])).unwrap();
        assert!(lower.residual < ROUNDING && !motion.is_stable(&lower));
        assert!(slope_at(x) > 1.0);
        let largest = motion.largest_eigenvalue(&lower);
        assert_relative_eq!(largest, slope_at(x), max_relative = 1e-9);
    }

    #[test]
    fn an_implicit_step_is_divided_by_what_the_slope_leaves_of_it() {
        let motion = behind_eight_ohms();
        let (x, step) = (1.1 * size_at(1.0), 4.0);
        let point = motion.at(&resting(&[x])).unwrap();
        let expected = point.pull[0] / (1.0 + 1.0 / step - slope_at(x));
        for wary in [false, true] {
            // Where it does not run away it is all the same how wary one is.
            let change = motion.change(&point, step, wary)[0];
            assert_relative_eq!(change, expected, max_relative = 1e-9);
        }
    }

    #[test]
    fn away_from_an_unstable_rest_the_step_is_as_short_as_not_to_turn_back() {
        let motion = behind_eight_ohms();
        let x = 1.1 * size_at(-1.0);
        let point = motion.at(&resting(&[x])).unwrap();
        let slope = slope_at(x);
        // A long step would turn back: it is made shorter by twice the rate of running away.
        let step = 1e6;
        let rate = 1.0 / step + 2.0 * (slope - 1.0);
        let expected = point.pull[0] / (1.0 + rate - slope);
        assert!(expected * point.pull[0] > 0.0 && 1.0 + 1.0 / step < slope);
        for wary in [false, true] {
            let change = motion.change(&point, step, wary)[0];
            assert_relative_eq!(change, expected, max_relative = 1e-9);
        }
        // A short one would not, and only who is wary makes it shorter still.
        let step = 1.0 / slope;
        let plain = point.pull[0] / (1.0 + 1.0 / step - slope);
        assert_relative_eq!(motion.change(&point, step, false)[0], plain, max_relative = 1e-9);
        let shorter = point.pull[0] / (1.0 + 1.0 / step + 2.0 * (slope - 1.0) - slope);
        assert_relative_eq!(motion.change(&point, step, true)[0], shorter, max_relative = 1e-9);
    }

    #[test]
    fn a_load_nudged_off_the_lower_voltage_comes_to_rest_where_it_can_stay() {
        let motion = behind_eight_ohms();
        let (rest, point) = motion.settle_stable(resting(&[size_at(-1.0)])).unwrap();
        let volt = point.voltage[0].norm();
        // Below its cut-out it is 4/3 of an ohm, behind 8: 17.1 V.
        let cut_out = 120.0 * (400.0 / 300.0) / (400.0 / 300.0 + 8.0);
        let runs = 60.0 + 1200_f64.sqrt();
        assert!((volt - cut_out).abs() < 1e-6 || (volt - runs).abs() < 1e-6, "{volt} V");
        assert!(rest.size[0] > motion.devices[0].least);
    }
}
