//! Instruments at many places of one network for the price of one solve.
//!
//! The network is reduced once to what pairs of nodes see of it; each set of attachments is then
//! a dense system no larger than the number of attachments and nonlinear elements.

use nalgebra::{Complex, DMatrix};
use petgraph::unionfind::UnionFind;

use super::device::Device;
use super::motion::{Motion, Rest};
use super::state::{Base, Settled};
use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::network::{Branch, Refusal, phasor};
use crate::quantity::{Impedance, Phasor};

/// A network as pairs of its nodes see it, ready for anything to be attached across them.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::{Address, Impedance, Phasor};
/// use slotwise::solution::{Attachment, PortSystem};
///
/// // A conductor that only 100 pF hold to the hot one.
/// let mut netlist = Netlist::new(60.0);
/// let [hot, spare] = ["hot", "spare"].map(|name| netlist.node(&Address::from(name)));
/// let earth = Netlist::EARTH;
/// let supply = Law::Source {
///     emf_volt: Phasor::new(120.0, 0.0),
///     impedance: Impedance::resistance(0.1),
/// };
/// netlist.add("supply", hot, earth, Role::Winding, supply)?;
/// let cable = Law::Capacitor { capacitance_farad: 100e-12 };
/// netlist.add("cable", hot, spare, Role::Capacitance, cable)?;
///
/// let ports = PortSystem::new(&netlist, &[(spare, earth), (hot, earth)])?;
/// let ideal = ports.open_circuit(0).unwrap().magnitude();
/// assert!((ideal - 120.0).abs() < 1e-6);
/// let meter = Attachment { port: 0, law: Law::resistance(10e6) };
/// let read = &ports.attach(&[meter])?[0];
/// // The same conductor on a meter of ten megohms: 120 V |10 MΩ / (10 MΩ - j26.5 MΩ)|.
/// assert!((read.voltage_volt[0].unwrap().magnitude() - 42.34).abs() < 0.05);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct PortSystem {
    settled: Settled,
    /// Parts that the two nodes of each port belong to.
    parts: Vec<(u32, u32)>,
    n_parts: usize,
    frequency_hz: f64,
}

/// Something put across a port. [`Law::Open`] is a look at the voltage without a touch.
///
/// ```
/// use slotwise::netlist::Law;
/// use slotwise::solution::Attachment;
/// let voltmeter = Attachment { port: 0, law: Law::resistance(10e6) };
/// assert_eq!(voltmeter.port, 0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attachment {
    /// Number of the port in the list the [`PortSystem`] was made from.
    pub port: usize,
    /// What is put there; neither a source nor of zero impedance.
    pub law: Law,
}

/// What attachments see in one stable state.
///
/// ```
/// use slotwise::quantity::Phasor;
/// use slotwise::solution::AttachedState;
/// let seen = AttachedState {
///     reached: true,
///     voltage_volt: vec![Some(Phasor::new(120.0, 0.0)), None],
///     current_ampere: vec![Phasor::new(12e-6, 0.0), Phasor::ZERO],
/// };
/// assert!(seen.voltage_volt[1].is_none());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct AttachedState {
    /// Whether it is the state reached when all is attached to the network at rest, lamps dark.
    pub reached: bool,
    /// Voltage across each attachment, volts rms, from the first node of its port to the second;
    /// `None` when open and between parts that nothing joins.
    pub voltage_volt: Vec<Option<Phasor>>,
    /// Current through each attachment the same way, amperes rms.
    pub current_ampere: Vec<Phasor>,
}

/// A network eliminated once, to be reduced to some of the pairs of nodes it was made for at a
/// time: what is attached at these sees no other.
#[derive(Clone, Debug)]
pub(crate) struct Reducer {
    base: Base,
    parts: Vec<(u32, u32)>,
    frequency_hz: f64,
}

impl Reducer {
    /// Eliminates a netlist, its nonlinear elements at rest.
    pub(crate) fn new(netlist: &Netlist, ports: &[(NodeId, NodeId)]) -> Result<Self, Refusal> {
        let n_nodes = netlist.nodes().len() as u32;
        if let Some(place) = ports.iter().position(|(a, b)| a.0 >= n_nodes || b.0 >= n_nodes) {
            return Err(Refusal::ForeignPort { port: place });
        }
        let base = Base::new(netlist, ports)?;
        let parts = ports.iter().map(|&(a, b)| (base.part(a), base.part(b))).collect();
        Ok(Self { base, parts, frequency_hz: netlist.frequency_hz() })
    }

    /// Voltage at one port with nothing attached and the impedance it has; `None` between parts
    /// that nothing joins.
    pub(crate) fn alone(&mut self, port: usize) -> Result<Option<(Phasor, Impedance)>, Refusal> {
        let &(a, b) = self.parts.get(port).ok_or(Refusal::ForeignPort { port })?;
        if a != b {
            return Ok(None);
        }
        let (open, z) = self.base.alone(port)?;
        Ok(Some((phasor(open), Impedance::new(z.re, z.im))))
    }

    /// Reduced to the ports of these numbers, in this order.
    pub(crate) fn at(&mut self, ports: &[usize]) -> Result<PortSystem, Refusal> {
        let parts = ports
            .iter()
            .map(|&port| self.parts.get(port).copied().ok_or(Refusal::ForeignPort { port }));
        let parts = parts.collect::<Result<_, _>>()?;
        let settled = self.base.seen_from(ports)?;
        let n_parts = settled.n_parts();
        Ok(PortSystem { settled, parts, n_parts, frequency_hz: self.frequency_hz })
    }
}

impl PortSystem {
    /// Reduces a netlist to what it shows at pairs of its nodes.
    ///
    /// # Errors
    /// [`Refusal`] as for [`solve`](super::solve), and for a node of another netlist.
    pub fn new(netlist: &Netlist, ports: &[(NodeId, NodeId)]) -> Result<Self, Refusal> {
        let all: Vec<usize> = (0..ports.len()).collect();
        Reducer::new(netlist, ports)?.at(&all)
    }

    /// Ports that are reduced already, those of the devices first and in the first part, the
    /// others between the parts said.
    pub(super) fn of_ports(
        motion: Motion,
        reached: Rest,
        n_ports: usize,
        frequency_hz: f64,
    ) -> Self {
        let settled = Settled::at_rest(motion, reached, 1);
        Self { settled, parts: vec![(0, 0); n_ports], n_parts: 1, frequency_hz }
    }

    /// Number of ports.
    pub fn len(&self) -> usize {
        self.parts.len()
    }

    /// Whether there are no ports.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// Voltage across a port with nothing attached, volts rms from its first node to its second;
    /// `None` between parts that nothing joins, and for a port that is not there.
    pub fn open_circuit(&self, port: usize) -> Option<Phasor> {
        self.open(port).map(phasor)
    }

    /// Voltage at `port` per ampere driven into the first node of `driven` and out of its
    /// second, the EMFs at zero and nonlinear elements held at the admittances they have. `None`
    /// where either port lies between parts that nothing joins or is not there.
    pub fn impedance(&self, port: usize, driven: usize) -> Option<Impedance> {
        self.between(port, driven).map(|z| Impedance::new(z.re, z.im))
    }

    /// Attaches all of `attachments` at once, beside whatever nonlinear elements the network has,
    /// and reports every stable state, the reached one first.
    ///
    /// # Errors
    /// [`Refusal`]: an attachment is on no port, is a source or a short, or does not come to
    /// rest.
    pub fn attach(&self, attachments: &[Attachment]) -> Result<Vec<AttachedState>, Refusal> {
        if let Some(only) = self.attach_shortly(attachments)? {
            return Ok(vec![only]);
        }
        let (attached, reached) = self.reach(attachments)?;
        let others = attached.motion.others(&reached).unwrap_or_default();
        let rests = [&reached].into_iter().chain(&others).enumerate();
        rests.map(|(i, rest)| attached.read(rest, i == 0).ok_or(Refusal::OutOfRange)).collect()
    }

    /// The same without looking for any state but the one reached.
    ///
    /// # Errors
    /// As [`PortSystem::attach`].
    pub fn attach_reached(&self, attachments: &[Attachment]) -> Result<AttachedState, Refusal> {
        if let Some(only) = self.attach_shortly(attachments)? {
            return Ok(only);
        }
        let (attached, reached) = self.reach(attachments)?;
        attached.read(&reached, true).ok_or(Refusal::OutOfRange)
    }

    /// The one state there is, where a short way leads to it.
    fn attach_shortly(&self, attachments: &[Attachment]) -> Result<Option<AttachedState>, Refusal> {
        match self.attach_few(attachments)? {
            Some(only) => Ok(Some(only)),
            None => self.attach_stiff(attachments),
        }
    }

    fn reach(&self, attachments: &[Attachment]) -> Result<(Attached, Rest), Refusal> {
        let attached = Attached::new(self, attachments)?;
        let stuck = |_| Refusal::NoStableState { element: "what is attached".into() };
        let mut start = Rest::start(&attached.motion.devices);
        let at_rest = &self.settled.reached;
        start.size.rows_mut(0, at_rest.size.len()).copy_from(&at_rest.size);
        start.lit[..at_rest.lit.len()].copy_from_slice(&at_rest.lit);
        let reached = attached.motion.reach(start).map_err(stuck)?;
        Ok((attached, reached))
    }

    pub(super) fn is_linear(&self) -> bool {
        self.settled.motion.devices.is_empty()
    }

    pub(super) fn frequency_hz(&self) -> f64 {
        self.frequency_hz
    }

    /// v₀ of a port within one part.
    pub(super) fn open(&self, port: usize) -> Option<Complex<f64>> {
        let (a, b) = *self.parts.get(port)?;
        (a == b).then(|| self.settled.motion.ports.open[self.row(port)])
    }

    /// Z between two ports that are each within one part.
    pub(super) fn between(&self, port: usize, driven: usize) -> Option<Complex<f64>> {
        let joined = |port: usize| self.parts.get(port).is_some_and(|&(a, b)| a == b);
        let z = &self.settled.motion.ports.impedance;
        (joined(port) && joined(driven)).then(|| z[(self.row(port), self.row(driven))])
    }

    fn row(&self, port: usize) -> usize {
        self.settled.motion.devices.len() + port
    }
}

/// A network with one set of attachments.
struct Attached {
    motion: Motion,
    /// Port of the motion at which each attachment is.
    place: Vec<usize>,
    /// Whether its two nodes are joined by anything, attachments included.
    joined: Vec<bool>,
}

impl Attached {
    fn new(system: &PortSystem, attachments: &[Attachment]) -> Result<Self, Refusal> {
        let inner = &system.settled.motion;
        let mut devices = inner.devices.clone();
        let mut contained = inner.contained.clone();
        let mut fixed = Vec::new();
        let (mut device_rows, mut fixed_rows) = (Vec::new(), Vec::new());
        let mut parts = UnionFind::new(system.n_parts);
        // The place is known only when all devices are counted: `Ok` among them, `Err` after.
        let mut place = Vec::with_capacity(attachments.len());
        for attachment in attachments {
            let unknown = Refusal::ForeignPort { port: attachment.port };
            let &(a, b) = system.parts.get(attachment.port).ok_or(unknown)?;
            let earth = (Netlist::EARTH, Netlist::EARTH);
            let device = Device::new(ElementId(u32::MAX), earth, &attachment.law);
            let conducts = if let Some(device) = device {
                place.push(Ok(devices.len()));
                devices.push(device);
                contained.push(Complex::ZERO);
                device_rows.push(system.row(attachment.port));
                true
            } else {
                let y = admittance(attachment, system.frequency_hz)?;
                place.push(Err(fixed.len()));
                fixed.push(y);
                fixed_rows.push(system.row(attachment.port));
                y != Complex::ZERO
            };
            if conducts {
                parts.union(a, b);
            }
        }
        let rows: Vec<usize> =
            (0..inner.devices.len()).chain(device_rows).chain(fixed_rows).collect();
        let n_devices = devices.len();
        let place: Vec<usize> =
            place.into_iter().map(|at| at.unwrap_or_else(|fixed| n_devices + fixed)).collect();
        let ends = |attachment: &Attachment| system.parts[attachment.port];
        let joined = attachments.iter().map(|at| parts.equiv(ends(at).0, ends(at).1)).collect();
        let mut ports = inner.ports.at(&rows);
        ports.border = border(system, attachments, &place, &mut parts, rows.len());
        Ok(Self { motion: Motion { devices, contained, fixed, ports }, place, joined })
    }

    fn read(&self, rest: &Rest, reached: bool) -> Option<AttachedState> {
        let voltage = self.motion.at(rest)?.voltage;
        let current = |&place: &usize| {
            let n_devices = self.motion.devices.len();
            let y = match self.motion.devices.get(place) {
                Some(device) => device.admittance(rest.size[place]),
                None => self.motion.fixed[place - n_devices],
            };
            phasor(y * voltage[place])
        };
        let places = self.place.iter().zip(&self.joined);
        Some(AttachedState {
            reached,
            voltage_volt: places
                .map(|(&place, joined)| joined.then(|| phasor(voltage[place])))
                .collect(),
            current_ampere: self.place.iter().map(current).collect(),
        })
    }
}

/// One column for every part that attachments join to another, but for one of each such set:
/// +1 where the port's first node is in the part, -1 where its second is.
fn border(
    system: &PortSystem,
    attachments: &[Attachment],
    place: &[usize],
    parts: &mut UnionFind<u32>,
    n_rows: usize,
) -> DMatrix<Complex<f64>> {
    let floating: Vec<u32> =
        (0..system.n_parts as u32).filter(|&part| parts.find_mut(part) != part).collect();
    let mut border = DMatrix::zeros(n_rows, floating.len());
    for (attachment, &row) in attachments.iter().zip(place) {
        let (a, b) = system.parts[attachment.port];
        for (part, sign) in [(a, 1.0), (b, -1.0)] {
            if let Ok(column) = floating.binary_search(&part) {
                border[(row, column)] += Complex::from(sign);
            }
        }
    }
    border
}

pub(super) fn admittance(
    attachment: &Attachment,
    frequency_hz: f64,
) -> Result<Complex<f64>, Refusal> {
    let refuse = || Refusal::NotAttachable { port: attachment.port };
    attachment.law.check().map_err(|_| refuse())?;
    match Branch::new(&attachment.law, frequency_hz, || Complex::ZERO) {
        Branch::Open => Ok(Complex::ZERO),
        Branch::Admittance { y, emf } if emf == Complex::ZERO => Ok(y),
        Branch::Admittance { .. } | Branch::Rigid { .. } | Branch::Current { .. } => Err(refuse()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::netlist::Role;
    use crate::quantity::Address;

    /// A run of boxes with a lamp at each, hot and neutral of every box asked for.
    fn run_of_boxes(n: usize) -> (Netlist, Vec<(NodeId, NodeId)>) {
        let mut netlist = Netlist::new(60.0);
        let node = |netlist: &mut Netlist, name: String| netlist.node(&Address::from(name));
        let mut hot = node(&mut netlist, "bar".to_owned());
        let mut neutral = Netlist::EARTH;
        let emf_volt = Phasor::new(120.0, 0.0);
        let law = Law::Source { emf_volt, impedance: Impedance::new(0.02, 0.01) };
        netlist.add("supply", hot, neutral, Role::Winding, law).unwrap();
        let mut pairs = Vec::new();
        for at in 0..n {
            let next = ["hot", "neutral"].map(|wire| node(&mut netlist, format!("b{at}.{wire}")));
            for (wire, (from, to)) in [(hot, next[0]), (neutral, next[1])].into_iter().enumerate() {
                let id = format!("wire{at}.{wire}");
                netlist.add(id, from, to, Role::Wire, Law::resistance(0.05)).unwrap();
            }
            let lamp = match at % 3 {
                0 => Law::ConstantPower { active_watt: 9.0, reactive_var: 0.0, cut_out_volt: 40.0 },
                _ => Law::resistance(500.0),
            };
            netlist.add(format!("lamp{at}"), next[0], next[1], Role::Load, lamp).unwrap();
            [hot, neutral] = next;
            pairs.extend([(hot, neutral), (hot, Netlist::EARTH), (neutral, Netlist::EARTH)]);
        }
        (netlist, pairs)
    }

    #[test]
    fn a_few_pairs_see_bit_for_bit_what_all_see() {
        let (netlist, pairs) = run_of_boxes(12);
        let whole = PortSystem::new(&netlist, &pairs).unwrap();
        let mut reducer = Reducer::new(&netlist, &pairs).unwrap();
        for some in [vec![0], vec![7, 8, 6], vec![35, 0, 17]] {
            let few = reducer.at(&some).unwrap();
            for (at, &port) in some.iter().enumerate() {
                assert_eq!(few.open_circuit(at), whole.open_circuit(port));
                let (voltage, impedance) = reducer.alone(port).unwrap().unwrap();
                assert_eq!(Some(voltage), whole.open_circuit(port));
                assert_eq!(Some(impedance), whole.impedance(port, port));
                for (other, &driven) in some.iter().enumerate() {
                    assert_eq!(few.impedance(at, other), whole.impedance(port, driven));
                }
            }
            let meter = |port| Attachment { port, law: Law::resistance(10e3) };
            let seen = few.attach(&[meter(0)]).unwrap();
            assert_eq!(seen, whole.attach(&[meter(some[0])]).unwrap());
        }
    }

    #[test]
    fn it_has_as_many_ports_as_were_asked_for() {
        let (netlist, pairs) = run_of_boxes(3);
        let ports = PortSystem::new(&netlist, &pairs).unwrap();
        assert_eq!((ports.len(), ports.is_empty()), (9, false));
        let none = PortSystem::new(&netlist, &[]).unwrap();
        assert_eq!((none.len(), none.is_empty()), (0, true));
    }

    /// A supply of 60 V, and a conductor that nothing joins with it.
    fn apart() -> PortSystem {
        let mut netlist = Netlist::new(60.0);
        let [hot, spare] = ["hot", "spare"].map(|name| netlist.node(&Address::from(name)));
        let emf_volt = Phasor::new(60.0, 0.0);
        let law = Law::Source { emf_volt, impedance: Impedance::resistance(1.0) };
        netlist.add("supply", hot, Netlist::EARTH, Role::Winding, law).unwrap();
        PortSystem::new(&netlist, &[(hot, Netlist::EARTH), (spare, Netlist::EARTH)]).unwrap()
    }

    #[test]
    fn between_parts_that_nothing_joins_there_is_no_impedance_whichever_is_driven() {
        let ports = apart();
        assert!(ports.impedance(0, 0).is_some());
        for (port, driven) in [(0, 1), (1, 0), (1, 1), (0, 7), (7, 0)] {
            assert_eq!(ports.impedance(port, driven), None, "{port}, {driven}");
        }
    }

    #[test]
    fn of_two_states_of_a_lamp_the_one_that_is_reached_says_so() {
        let lamp = Law::StrikeLamp {
            strike_volt: 80.0,
            hold_volt: 50.0,
            maintain_volt: 45.0,
            off_ohm: 1e9,
            series_ohm: 100e3,
        };
        let states = apart().attach(&[Attachment { port: 0, law: lamp }]).unwrap();
        let reached: Vec<bool> = states.iter().map(|state| state.reached).collect();
        assert_eq!(reached, [true, false]);
        // Dark it leaks through a gigohm; lit it has 15 V over 100 kilohms.
        let ampere: Vec<f64> = states.iter().map(|s| s.current_ampere[0].magnitude()).collect();
        assert!(ampere[0] < 0.1e-6 && (ampere[1] - 0.15e-3).abs() < 1e-6, "{ampere:?}");
    }

    #[test]
    fn a_source_is_nothing_that_an_instrument_attaches() {
        let emf_volt = Phasor::new(0.0, 9.0);
        let battery = Law::Source { emf_volt, impedance: Impedance::resistance(1.0) };
        let seen = apart().attach(&[Attachment { port: 0, law: battery }]);
        assert_eq!(seen.unwrap_err(), Refusal::NotAttachable { port: 0 });
    }
}
