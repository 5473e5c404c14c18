//! The stable states of the nonlinear elements.
//!
//! With device sizes x the ports of the network carry v = (I + Z Δ)⁻¹ v₀, Δ = diag(c (x - x₀)),
//! where Z and v₀ were taken with the devices at x₀. Each size moves towards what its law asks
//! for at the voltage it finds,
//!
//! ```text
//! dx/dt = h(|v(x)|, x) - x
//! ```
//!
//! and a state is an answer only if it is a *stable* rest of this motion: all eigenvalues of
//! M = ∂h/∂x (with v following x) have a real part below one. The middle state of a
//! constant-power load, or of a glowing joint on a load that is too stiff, is a rest but not
//! stable, and is never returned.
//!
//! The motion is followed by implicit steps, δ = ((1 + 1/τ) I - M)⁻¹ (h - x), whose τ grows as
//! the rest comes near and which end as Newton's (pseudo-transient continuation: Kelley & Keyes
//! 1998, SIAM J. Numer. Anal. 35). x keeps to its range, so every trial is a passive network.

use nalgebra::{Complex, DMatrix, DVector};

use super::device::{Device, Regime};
use super::ports::Ports;
use crate::netlist::{ElementId, Netlist};
use crate::network::{Network, Refusal, System, name, phasor};
use crate::quantity::Phasor;

/// One stable state of all nonlinear elements of a netlist.
///
/// ```
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # use slotwise::solution::{Regime, solve};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("hot"));
/// # let earth = Netlist::EARTH;
/// # let impedance = Impedance::resistance(8.0);
/// # let supply = Law::Source { emf_volt: Phasor::new(120.0, 0.0), impedance };
/// # netlist.add("supply", hot, earth, Role::Winding, supply)?;
/// // 300 W behind 8 ohms: it runs on 95 V, or sits below its cut-out and draws what it can.
/// let charger = Law::ConstantPower { active_watt: 300.0, reactive_var: 0.0, cut_out_volt: 50.0 };
/// netlist.add("charger", hot, earth, Role::Load, charger)?;
/// let solution = solve(&netlist)?;
/// let states = solution.states();
/// assert_eq!(states.len(), 2);
/// assert!(states[0].reached && states[0].devices[0].regime == Regime::Running);
/// assert!(!states[1].reached && states[1].devices[0].regime == Regime::CutOut);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct StableState {
    /// Whether it is the one the solution shows: reached from everything dark, cold and on full
    /// voltage.
    pub reached: bool,
    /// Every nonlinear element, in the order of the netlist.
    pub devices: Vec<DeviceState>,
}

/// A nonlinear element in one stable state.
///
/// ```
/// use slotwise::solution::DeviceState;
/// fn is_dim(lamp: &DeviceState) -> bool {
///     lamp.current_ampere.magnitude() < 0.2e-3
/// }
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeviceState {
    /// The element.
    pub element: ElementId,
    /// Its regime.
    pub regime: Regime,
    /// Voltage across it from `a` to `b`, volts rms.
    pub voltage_volt: Phasor,
    /// Current through it from `a` to `b`, amperes rms.
    pub current_ampere: Phasor,
}

/// The states of a netlist's nonlinear elements, the reached one first.
pub(super) struct States {
    /// Admittances of the reached state, for the solution itself.
    pub(super) admittances: Vec<Complex<f64>>,
    pub(super) states: Vec<StableState>,
    pub(super) complete: bool,
}

/// Finds the reached state and every other stable one.
pub(super) fn find(netlist: &Netlist) -> Result<States, Refusal> {
    let devices: Vec<Device> = netlist
        .elements()
        .filter_map(|id| Device::new(id, netlist.ends(id), &netlist.element(id).law))
        .collect();
    if devices.is_empty() {
        return Ok(States { admittances: Vec::new(), states: Vec::new(), complete: true });
    }
    let start = Rest::start(&devices);
    let mut circuit = Circuit::new(netlist, &devices, &start.size)?;
    let mut reached = circuit.reach(start).map_err(|device| stuck(netlist, &devices, device))?;
    // The base moves to the state found until the state no longer moves: then Δ = 0 and the
    // digits are those of the elimination.
    for _ in 0..REBASES_MAX {
        let moved = circuit.distance(&reached.size);
        if moved <= SIZE_TOLERANCE {
            break;
        }
        circuit = Circuit::new(netlist, &devices, &reached.size)?;
        reached = circuit.reach(reached).map_err(|device| stuck(netlist, &devices, device))?;
    }
    let (others, complete) = circuit.others(&reached);
    let rests = [&reached].into_iter().chain(&others).enumerate();
    let states = rests.map(|(i, rest)| circuit.describe(rest, i == 0)).collect();
    let sizes = devices.iter().zip(reached.size.iter());
    let admittances = sizes.map(|(device, &size)| device.admittance(size)).collect();
    Ok(States { admittances, states, complete })
}

fn stuck(netlist: &Netlist, devices: &[Device], device: usize) -> Refusal {
    Refusal::NoStableState { element: name(netlist, devices[device].element.0) }
}

/// The base is moved this often at most; twice is what has been seen.
const REBASES_MAX: usize = 6;
/// Relative change of a size that no longer matters: the rounding of the port solve.
const SIZE_TOLERANCE: f64 = 1e-13;
/// Residual |h - x| / x at which a rest is taken as found; h itself rounds at about 1e-15.
const REST_TOLERANCE: f64 = 1e-13;
/// A rest whose residual stays here for want of digits is taken as well.
const REST_TOLERANCE_LOOSE: f64 = 1e-9;
/// Steps before a motion is given up; about thirty is usual, more beside a fold.
const STEPS_MAX: usize = 400;
/// First pseudo-time step, in the devices' own time.
const FIRST_STEP: f64 = 1.0;
/// Largest growth of the step from one to the next.
const STEP_GROWTH: f64 = 4.0;
/// Largest factor a size moves by in one step.
const STRIDE: f64 = 10.0;
/// More than this many devices that may have two states are not enumerated.
const BISTABLE_MAX: usize = 10;
/// Two states closer than this are one.
const SAME_STATE: f64 = 1e-6;
/// Coupling below which v(x) cannot fold: |∂ ln h / ∂ ln x| <= 2 ρ / (1 - ρ)² < 1 for ρ < 0.2.
const COUPLING_SAFE: f64 = 0.2;

/// Sizes of all devices, and which of those with memory are lit.
#[derive(Clone, Debug)]
struct Rest {
    size: DVector<f64>,
    lit: Vec<bool>,
}

impl Rest {
    fn start(devices: &[Device]) -> Self {
        Self {
            size: DVector::from_iterator(devices.len(), devices.iter().map(Device::start)),
            lit: vec![false; devices.len()],
        }
    }
}

/// The devices on the ports of the network.
struct Circuit<'a> {
    devices: &'a [Device],
    /// x₀.
    base: DVector<f64>,
    ports: Ports,
}

/// Voltages and slopes at one x.
struct Point {
    voltage: DVector<Complex<f64>>,
    /// h - x.
    pull: DVector<f64>,
    /// ∂h/∂x with v following x.
    slope: DMatrix<f64>,
    /// max |h - x| / x.
    residual: f64,
    /// Where that is.
    farthest: usize,
}

impl<'a> Circuit<'a> {
    fn new(netlist: &Netlist, devices: &'a [Device], base: &DVector<f64>) -> Result<Self, Refusal> {
        // Here even an open device conducts, or its voltage could not be told.
        let trial: Vec<_> =
            devices.iter().zip(base.iter()).map(|(device, &x)| device.direction * x).collect();
        let ends: Vec<_> = devices.iter().map(|device| device.ends).collect();
        let network = Network::new(netlist, &trial)?;
        let mut system = System::new(netlist, network, &ends)?;
        let ports = Ports::new(&mut system, devices.len());
        let finite = |z: &Complex<f64>| z.re.is_finite() && z.im.is_finite();
        if !ports.open.iter().chain(ports.impedance.iter()).all(finite) {
            return Err(Refusal::OutOfRange);
        }
        Ok(Self { devices, base: base.clone(), ports })
    }

    /// Largest relative distance of x from the base.
    fn distance(&self, size: &DVector<f64>) -> f64 {
        let pairs = size.iter().zip(self.base.iter());
        pairs.map(|(x, base)| (x - base).abs() / base).fold(0.0, f64::max)
    }

    /// v = (I + Z Δ)⁻¹ v₀, and the slopes by dv = -(I + Z Δ)⁻¹ Z diag(c v) dx.
    fn at(&self, rest: &Rest) -> Option<Point> {
        let n = self.devices.len();
        let z = &self.ports.impedance;
        let extra = |j: usize| self.devices[j].direction * (rest.size[j] - self.base[j]);
        let loaded = DMatrix::from_fn(n, n, |i, j| {
            let unit = Complex::from(if i == j { 1.0 } else { 0.0 });
            unit + z[(i, j)] * extra(j)
        })
        .lu();
        let voltage = loaded.solve(&self.ports.open)?;
        let response = loaded.solve(z)?;
        let mut point = Point {
            pull: DVector::zeros(n),
            slope: DMatrix::zeros(n, n),
            residual: 0.0,
            farthest: 0,
            voltage,
        };
        for (j, device) in self.devices.iter().enumerate() {
            let (v, x) = (point.voltage[j], rest.size[j]);
            let size = v.norm();
            let settling = device.settling(size, x, rest.lit[j]);
            point.pull[j] = settling.size - x;
            let residual = point.pull[j].abs() / x;
            if residual.is_nan() || residual > point.residual {
                (point.residual, point.farthest) = (residual, j);
            }
            if settling.by_voltage.abs() > 0.0 {
                for k in 0..n {
                    let dv = -response[(j, k)] * self.devices[k].direction * point.voltage[k];
                    // d|v| = Re(conj(v) dv) / |v|
                    point.slope[(j, k)] = settling.by_voltage * (v.conj() * dv).re / size;
                }
            }
            point.slope[(j, j)] += settling.by_size;
        }
        point.residual.is_finite().then_some(point)
    }

    /// Follows the motion to rest; the device that is farthest from it on failure.
    fn settle(&self, mut rest: Rest) -> Result<(Rest, Point), usize> {
        let n = self.devices.len();
        let mut step = FIRST_STEP;
        let mut point = self.at(&rest).ok_or(0_usize)?;
        let mut best = f64::INFINITY;
        for _ in 0..STEPS_MAX {
            if point.residual <= REST_TOLERANCE {
                break;
            }
            if point.residual <= REST_TOLERANCE_LOOSE && point.residual >= best {
                break;
            }
            best = best.min(point.residual);
            let implicit = DMatrix::identity(n, n) * (1.0 + 1.0 / step) - &point.slope;
            let Some(change) = implicit.lu().solve(&point.pull) else {
                step = FIRST_STEP;
                rest.size += &point.pull * 0.5;
                point = self.at(&rest).ok_or(point.farthest)?;
                continue;
            };
            for (j, device) in self.devices.iter().enumerate() {
                let x = rest.size[j];
                let wanted = (x + change[j]).clamp(x / STRIDE, x * STRIDE);
                rest.size[j] = wanted.clamp(device.least, device.most);
            }
            let before = point.residual;
            point = self.at(&rest).ok_or(point.farthest)?;
            let growth = (before / point.residual).clamp(1.0 / STEP_GROWTH, STEP_GROWTH);
            step = (step * growth).max(FIRST_STEP);
        }
        if point.residual <= REST_TOLERANCE_LOOSE { Ok((rest, point)) } else { Err(point.farthest) }
    }

    /// All eigenvalues of M have a real part below one.
    fn is_stable(&self, point: &Point) -> bool {
        let by_size = |j: usize, k: usize| point.slope[(j, k)];
        let n = self.devices.len();
        // Similar to M, and of comparable entries where sizes are not.
        let symmetric_scale = |j: usize| (self.devices[j].least * self.devices[j].most).sqrt();
        let scaled =
            DMatrix::from_fn(n, n, |j, k| by_size(j, k) * symmetric_scale(k) / symmetric_scale(j));
        scaled.complex_eigenvalues().iter().all(|eigenvalue| eigenvalue.re < 1.0)
    }

    /// A stable rest from a start, nudged off any unstable one it comes to.
    fn settle_stable(&self, start: Rest) -> Result<(Rest, Point), usize> {
        let (mut rest, mut point) = self.settle(start)?;
        for nudge in [NUDGE, -NUDGE] {
            if self.is_stable(&point) {
                return Ok((rest, point));
            }
            let mut nudged = rest.clone();
            for (j, device) in self.devices.iter().enumerate() {
                let moved = rest.size[j] * (1.0 + nudge * (1.0 + j as f64));
                nudged.size[j] = moved.clamp(device.least, device.most);
            }
            (rest, point) = self.settle(nudged)?;
        }
        if self.is_stable(&point) { Ok((rest, point)) } else { Err(point.farthest) }
    }

    /// The state reached from `start`: lamps are lit one at a time, the one farthest above its
    /// strike voltage first, and those below their hold voltage put out, until all agree.
    fn reach(&self, start: Rest) -> Result<Rest, usize> {
        let (mut rest, mut point) = self.settle_stable(start)?;
        for _ in 0..4 * self.devices.len() + 4 {
            match self.next_strike(&rest, &point) {
                Some(lamp) => rest.lit[lamp] = true,
                None => {
                    let out: Vec<usize> = self.going_out(&rest, &point).collect();
                    if out.is_empty() {
                        return Ok(rest);
                    }
                    for lamp in out {
                        rest.lit[lamp] = false;
                    }
                }
            }
            (rest, point) = self.settle_stable(rest)?;
        }
        Err(point.farthest)
    }

    fn next_strike(&self, rest: &Rest, point: &Point) -> Option<usize> {
        let dark = self.devices.iter().enumerate().filter(|&(j, _)| !rest.lit[j]);
        let above = dark.filter_map(|(j, lamp)| Some((j, lamp.strikes(point.voltage[j].norm())?)));
        above.max_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(j, _)| j)
    }

    fn going_out<'b>(
        &'b self,
        rest: &'b Rest,
        point: &'b Point,
    ) -> impl Iterator<Item = usize> + 'b {
        let lit = self.devices.iter().enumerate().filter(|&(j, _)| rest.lit[j]);
        lit.filter(|(j, lamp)| lamp.goes_out(point.voltage[*j].norm())).map(|(j, _)| j)
    }

    /// Every other stable state, and whether the search was complete: each device that may have
    /// two states is started from both ends of its range, in every combination.
    fn others(&self, reached: &Rest) -> (Vec<Rest>, bool) {
        let suspects = self.suspects(reached);
        if suspects.len() > BISTABLE_MAX {
            return (Vec::new(), false);
        }
        let mut found: Vec<Rest> = Vec::new();
        for combination in 1..1_u32 << suspects.len() {
            let mut start = Rest::start(self.devices);
            for (bit, &j) in suspects.iter().enumerate() {
                if combination >> bit & 1 == 1 {
                    start.size[j] = self.devices[j].far_start();
                    start.lit[j] = self.devices[j].has_memory();
                }
            }
            let Ok((rest, point)) = self.settle_stable(start) else { continue };
            let consistent = self.next_strike(&rest, &point).is_none()
                && self.going_out(&rest, &point).next().is_none();
            let known = || [reached].into_iter().chain(&found).any(|other| is_same(other, &rest));
            if consistent && !known() {
                found.push(rest);
            }
        }
        (found, true)
    }

    /// Devices that may have a second state. None where the devices are all coupled to the
    /// network and to one another so weakly that v hardly follows x: with
    /// ρ = max over ports of Σ |Z| (range of x), |v - v_reached| <= ρ / (1 - ρ) |v|.
    fn suspects(&self, reached: &Rest) -> Vec<usize> {
        let n = self.devices.len();
        let bistable = (0..n).filter(|&j| self.devices[j].is_bistable());
        let range = |k: usize| {
            let (device, x) = (&self.devices[k], reached.size[k]);
            (device.most - x).max(x - device.least)
        };
        let v_max = self.ports.open.iter().map(|v| v.norm()).fold(0.0, f64::max);
        let coupling = |j: usize| -> f64 {
            (0..n).map(|k| self.ports.impedance[(j, k)].norm() * range(k)).sum()
        };
        let worst = (0..n).map(coupling).fold(0.0, f64::max);
        bistable
            .filter(|&j| {
                let safe = worst < COUPLING_SAFE
                    && self.devices[j].keeps_regime(
                        self.ports.open[j].norm(),
                        coupling(j) / (1.0 - worst) * v_max,
                    );
                !safe
            })
            .collect()
    }

    fn describe(&self, rest: &Rest, reached: bool) -> StableState {
        let voltages = self.at(rest).map_or_else(|| self.ports.open.clone(), |p| p.voltage);
        let describe = |(j, device): (usize, &Device)| {
            let (v, x) = (voltages[j], rest.size[j]);
            DeviceState {
                element: device.element,
                regime: device.regime(v.norm(), x, rest.lit[j]),
                voltage_volt: phasor(v),
                current_ampere: phasor(device.admittance(x) * v),
            }
        };
        StableState { reached, devices: self.devices.iter().enumerate().map(describe).collect() }
    }
}

/// Relative displacement that takes a motion off an unstable rest.
const NUDGE: f64 = 1e-3;

fn is_same(a: &Rest, b: &Rest) -> bool {
    let close = |(x, y): (&f64, &f64)| (x - y).abs() <= SAME_STATE * x.max(*y);
    a.lit == b.lit && a.size.iter().zip(b.size.iter()).all(close)
}
