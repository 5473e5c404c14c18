//! The states of a netlist's nonlinear elements: the one that is reached, and every other.

use nalgebra::{Complex, DMatrix, DVector};

use super::device::{Device, Regime};
use super::motion::{Motion, Rest};
use super::ports::{self, Ports};
use crate::netlist::{ElementId, Netlist, NodeId};
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
/// // 300 W behind 8 ohms: it runs on 95 V, or sits at 17 V, below its cut-out.
/// let charger = Law::ConstantPower { active_watt: 300.0, reactive_var: 0.0, cut_out_volt: 20.0 };
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

/// The nonlinear elements of a netlist at rest.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    pub(super) motion: Motion,
    pub(super) reached: Rest,
    n_parts: usize,
}

/// A network eliminated once, its devices at rest, to be seen from some pairs of its nodes at a
/// time.
#[derive(Clone, Debug)]
pub(super) struct Base {
    system: System,
    devices: Vec<Device>,
    contained: Vec<Complex<f64>>,
    reached: Rest,
    /// v₀ at the devices and then at every pair.
    open: DVector<Complex<f64>>,
    /// Z of all these per ampere taken out at each device.
    by_device: DMatrix<Complex<f64>>,
    part_of_node: Vec<u32>,
    n_parts: usize,
}

/// The base is moved this often at most; once is what has been seen.
const REBASES_MAX: usize = 6;
/// Relative change of a size that no longer matters: the rounding of the port solve.
const SIZE_TOLERANCE: f64 = 1e-13;

impl Base {
    /// Brings the nonlinear elements of a netlist to the state they reach.
    pub(super) fn new(netlist: &Netlist, pairs: &[(NodeId, NodeId)]) -> Result<Self, Refusal> {
        let devices: Vec<Device> = netlist
            .elements()
            .filter_map(|id| Device::new(id, netlist.ends(id), &netlist.element(id).law))
            .collect();
        let reached = Rest::start(&devices);
        let mut base = Self::at(netlist, devices, reached, pairs)?;
        if base.devices.is_empty() {
            return Ok(base);
        }
        // The base moves to the state found until that no longer moves: then nothing is beyond
        // what the network contains, and the digits are those of the elimination.
        for _ in 0..REBASES_MAX {
            let start = base.reached.clone();
            // Pairs that are only looked at move nothing.
            let alone = base.motion(&[]).ok_or(Refusal::OutOfRange)?;
            base.reached = alone.reach(start.clone()).map_err(|device| {
                let element = alone.devices.get(device).map_or(0, |device| device.element.0);
                Refusal::NoStableState { element: name(netlist, element) }
            })?;
            let moves = base.reached.size.iter().zip(&start.size);
            if moves.map(|(x, from)| (x - from).abs() / from).all(|moved| moved <= SIZE_TOLERANCE) {
                break;
            }
            base = Self::at(netlist, base.devices, base.reached, pairs)?;
        }
        Ok(base)
    }

    /// The network with its devices at the sizes of `rest`.
    fn at(
        netlist: &Netlist,
        devices: Vec<Device>,
        rest: Rest,
        pairs: &[(NodeId, NodeId)],
    ) -> Result<Self, Refusal> {
        // Here even an open device conducts a little, or its voltage could not be told.
        let sizes = devices.iter().zip(&rest.size);
        let contained: Vec<_> = sizes.map(|(device, &x)| device.direction * x).collect();
        let ends: Vec<_> =
            devices.iter().map(|device| device.ends).chain(pairs.iter().copied()).collect();
        let network = Network::new(netlist, &contained)?;
        let n_nodes = netlist.nodes().len() as u32;
        let part_of_node = (0..n_nodes).map(|node| network.part_of_node(node)).collect();
        let n_parts = network.forest.reference.len();
        let mut system = System::new(netlist, network, &ends)?;
        if !system.is_as_planned() {
            // What joins a row cancels to the last digit.
            let (mut of_step, mut of_group) = (Vec::new(), Vec::new());
            system.parts(&mut of_step, &mut of_group);
            system.judge_parts(netlist, &of_group)?;
        }
        let open = ports::open(&mut system, ends.len());
        let all: Vec<usize> = (0..ends.len()).collect();
        let columns = &all[..devices.len()];
        let reach = system.reach(if columns.is_empty() { [].iter() } else { all.iter() }.copied());
        let by_device = ports::impedance(&mut system, (&all, columns), &reach);
        Ok(Self {
            system,
            devices,
            contained,
            reached: rest,
            open,
            by_device,
            part_of_node,
            n_parts,
        })
    }

    /// The devices on their own ports and, after them, the pairs of these numbers left open;
    /// `None` when the arithmetic overflows.
    fn motion(&mut self, pairs: &[usize]) -> Option<Motion> {
        let n_devices = self.devices.len();
        let rows: Vec<usize> =
            (0..n_devices).chain(pairs.iter().map(|pair| n_devices + pair)).collect();
        let columns = &rows[n_devices..];
        let reach =
            self.system.reach(if columns.is_empty() { &[] } else { &rows[..] }.iter().copied());
        let own = ports::impedance(&mut self.system, (&rows, columns), &reach);
        let n = rows.len();
        let impedance = DMatrix::from_fn(n, n, |row, column| match column.checked_sub(n_devices) {
            None => self.by_device[(rows[row], column)],
            Some(column) => own[(row, column)],
        });
        let ports = Ports {
            open: DVector::from_fn(n, |row, _| self.open[rows[row]]),
            impedance,
            border: DMatrix::zeros(n, 0),
        };
        let fixed = vec![Complex::ZERO; pairs.len()];
        let (devices, contained) = (self.devices.clone(), self.contained.clone());
        ports.is_finite().then_some(Motion { devices, contained, fixed, ports })
    }

    /// Seen from the pairs of these numbers.
    pub(super) fn seen_from(&mut self, pairs: &[usize]) -> Result<Settled, Refusal> {
        let motion = self.motion(pairs).ok_or(Refusal::OutOfRange)?;
        Ok(Settled::at_rest(motion, self.reached.clone(), self.n_parts))
    }

    /// v₀ of one pair and its own Z, the devices held as they are.
    pub(super) fn alone(&mut self, pair: usize) -> Result<(Complex<f64>, Complex<f64>), Refusal> {
        let row = self.devices.len() + pair;
        let reach = self.system.reach([row]);
        let own = ports::impedance(&mut self.system, (&[row], &[row]), &reach);
        let ports = Ports {
            open: self.open.rows(row, 1).into(),
            impedance: own,
            border: DMatrix::zeros(1, 0),
        };
        if !ports.is_finite() {
            return Err(Refusal::OutOfRange);
        }
        Ok((ports.open[0], ports.impedance[(0, 0)]))
    }

    /// Part of a node of the netlist this was made from.
    pub(super) fn part(&self, node: NodeId) -> u32 {
        self.part_of_node[node.0 as usize]
    }
}

impl Settled {
    /// Brings the nonlinear elements of a netlist to the state they reach.
    pub(super) fn new(netlist: &Netlist) -> Result<Self, Refusal> {
        Base::new(netlist, &[])?.seen_from(&[])
    }

    /// Devices at rest on the ports of a network whose nodes are not asked for.
    pub(super) fn at_rest(motion: Motion, reached: Rest, n_parts: usize) -> Self {
        Self { motion, reached, n_parts }
    }

    /// Number of parts.
    pub(super) fn n_parts(&self) -> usize {
        self.n_parts
    }

    /// Admittances of the reached state, for the solution itself.
    pub(super) fn admittances(&self) -> Vec<Complex<f64>> {
        let sizes = self.motion.devices.iter().zip(&self.reached.size);
        sizes.map(|(device, &size)| device.admittance(size)).collect()
    }

    /// Every stable state, the reached one first, and whether these are all.
    pub(super) fn states(&self) -> (Vec<StableState>, bool) {
        if self.motion.devices.is_empty() {
            return (Vec::new(), true);
        }
        let others = self.motion.others(&self.reached);
        let complete = others.is_some();
        let rests = [&self.reached].into_iter().chain(others.iter().flatten()).enumerate();
        (rests.map(|(i, rest)| describe(&self.motion, rest, i == 0)).collect(), complete)
    }
}

fn describe(motion: &Motion, rest: &Rest, reached: bool) -> StableState {
    let voltages = motion.at(rest).map_or_else(|| motion.ports.open.clone(), |p| p.voltage);
    let describe = |(j, device): (usize, &Device)| {
        let (v, x) = (voltages[j], rest.size[j]);
        DeviceState {
            element: device.element,
            regime: if rest.flickering[j] {
                Regime::Flickering
            } else {
                device.regime(v.norm(), x, rest.lit[j])
            },
            voltage_volt: phasor(v),
            current_ampere: phasor(device.admittance(x) * v),
        }
    };
    StableState { reached, devices: motion.devices.iter().enumerate().map(describe).collect() }
}
