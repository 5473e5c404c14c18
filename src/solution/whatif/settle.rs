//! Nonlinear elements among what-ifs: a few walks instead of one.
//!
//! The elements stand in the network at where they start from. A walk tells what their ports see;
//! of several, one walk more for each, an ampere driven into its port, tells what they see of each
//! other. On these ports they come to rest as in a whole solve ([`Motion`]), and with them at
//! their rest the network is walked once more.

use nalgebra::{Complex, DMatrix, DVector};

use super::prepared::{PortPlan, Prepared};
use super::{CANCELLATION_SUSPECT, WhatIf, WhatIfWork};
use crate::netlist::NodeId;
use crate::network::{Sight, exceeds, worse};
use crate::solution::device::Device;
use crate::solution::motion::{Motion, Rest};
use crate::solution::port_system::PortSystem;
use crate::solution::ports::Ports;

/// Nonlinear elements at rest.
#[derive(Clone, Debug)]
pub(super) struct Resting {
    devices: Vec<Device>,
    /// Their places in the group of devices.
    places: Vec<usize>,
    rest: Rest,
    contained: Vec<Complex<f64>>,
}

/// What is driven into a port to see what the others see of it, amperes: the voltages then are of
/// the size of those that are there.
const PROBE_AMPERE: f64 = 1.0;

impl Prepared {
    pub(super) fn has_devices(&self) -> bool {
        !self.devices.is_empty()
    }

    /// What the ports of a group show, whatever their ends are joined with; `None` where one is not
    /// told by the walk.
    fn sights(&self, group: usize, work: &mut WhatIfWork) -> Option<Vec<Sight>> {
        let (_, plans) = self.groups.get(group)?;
        work.sight.resize(work.sight.len().max(2 * plans.len()), Sight::default());
        self.read((group, true), work.walk.as_mut()?, &mut work.sight);
        plans
            .iter()
            .map(|plan| match plan {
                PortPlan::One { emf } => {
                    Some(Sight { difference: *emf, impedance: Complex::ZERO, tied: [true; 2] })
                }
                PortPlan::Near { at, emf } => {
                    let seen = *work.sight.get(*at as usize)?;
                    let finite = seen.difference.re.is_finite() && seen.difference.im.is_finite();
                    let told = Sight { difference: seen.difference + emf, ..seen };
                    finite.then_some(told)
                }
                PortPlan::Parted | PortPlan::Far { .. } => None,
            })
            .collect()
    }

    /// How the ports of some groups answer to an ampere driven into a port, by group.
    fn probed(
        &self,
        ends: (NodeId, NodeId),
        groups: &[(usize, &[Sight])],
        work: &mut WhatIfWork,
    ) -> Option<Vec<Vec<Complex<f64>>>> {
        let probe = self.driven(ends, PROBE_AMPERE)?;
        let at = work.branching.partition_point(|branching| branching.bag < probe.bag);
        work.branching.insert(at, probe);
        self.go(&work.branching, false, work.walk.as_mut()?);
        let answers = groups
            .iter()
            .map(|&(group, before)| {
                let after = self.sights(group, work)?;
                let answer =
                    |(after, before): (Sight, &Sight)| after.difference - before.difference;
                Some(after.into_iter().zip(before).map(answer).collect())
            })
            .collect();
        work.branching.remove(at);
        answers
    }
}

impl WhatIf {
    /// Brings the nonlinear elements to rest; whether that could be done by walks.
    pub(super) fn settle(&self, fast: &Prepared, impedances: bool, work: &mut WhatIfWork) -> bool {
        let changed = |device: &Device| {
            work.changes.iter().any(|change| change.element == Some(device.element))
        };
        let places: Vec<usize> =
            (0..fast.devices.len()).filter(|&place| !changed(&fast.devices[place])).collect();
        if places.is_empty() {
            return true;
        }
        let Some(motion) = self.motion(fast, &places, work) else { return false };
        let Ok(rest) = motion.reach(Rest::start(&motion.devices)) else { return false };
        let mut contained = Vec::with_capacity(places.len());
        for (device, &size) in motion.devices.iter().zip(&rest.size) {
            // As while states are searched: even an open one conducts a little.
            let y = device.direction * size;
            let Some(standing) = fast.standing(device, y) else { return false };
            contained.push(y);
            work.branching.push(standing);
        }
        work.branching.sort_unstable_by_key(|branching| branching.bag);
        let Some(walk) = &mut work.walk else { return false };
        let cancellation = fast.go(&work.branching, impedances, walk);
        work.cancellation = worse(work.cancellation, cancellation);
        if exceeds(cancellation, CANCELLATION_SUSPECT) {
            return false;
        }
        let devices = motion.devices;
        work.settled = Some(Box::new(Resting { devices, places, rest, contained }));
        true
    }

    fn motion(&self, fast: &Prepared, places: &[usize], work: &mut WhatIfWork) -> Option<Motion> {
        let of_devices = self.groups.len();
        let all = fast.sights(of_devices, work)?;
        if !all.iter().all(Sight::is_tied) {
            return None;
        }
        let n = places.len();
        let devices: Vec<Device> = places.iter().map(|&at| fast.devices[at].clone()).collect();
        let contained = devices.iter().map(|device| device.direction * device.start()).collect();
        let mut impedance = DMatrix::from_fn(n, n, |i, j| match i == j {
            true => all[places[i]].impedance,
            false => Complex::ZERO,
        });
        for (j, device) in devices.iter().enumerate().filter(|_| n > 1) {
            let answers = fast.probed(device.ends, &[(of_devices, &all)], work)?;
            for i in (0..n).filter(|&i| i != j) {
                impedance[(i, j)] = answers[0][places[i]] / PROBE_AMPERE;
            }
        }
        let open = DVector::from_fn(n, |i, _| all[places[i]].difference);
        let ports = Ports { open, impedance, border: DMatrix::zeros(n, 0) };
        Some(Motion { devices, contained, fixed: Vec::new(), ports })
    }

    /// The ports of a group as a system to which instruments can be attached, nonlinear elements
    /// with them; `None` where only a whole solve tells. Ports that share nodes must have all
    /// pairs of these among them.
    pub(crate) fn port_system(&self, group: usize, work: &mut WhatIfWork) -> Option<PortSystem> {
        let fast = self.fast.as_ref().filter(|_| work.whole.is_none())?;
        let pairs = self.groups.get(group)?;
        let asked = fast.sights(group, work)?;
        if !asked.iter().all(Sight::is_tied) {
            return None;
        }
        let n_asked = asked.len();
        let resting = work.settled.clone();
        let n = resting.as_ref().map_or(0, |resting| resting.devices.len());
        let mut open = DVector::zeros(n + n_asked);
        let mut impedance = DMatrix::zeros(n + n_asked, n + n_asked);
        for i in 0..n_asked {
            open[n + i] = asked[i].difference;
            for j in 0..n_asked {
                impedance[(n + i, n + j)] = match i == j {
                    true => asked[i].impedance,
                    false => shared(pairs, &asked, i, j)?,
                };
            }
        }
        let Some(resting) = resting else {
            return Some(PortSystem::of_ports(
                Motion {
                    devices: Vec::new(),
                    contained: Vec::new(),
                    fixed: vec![Complex::ZERO; n_asked],
                    ports: Ports { open, impedance, border: DMatrix::zeros(n_asked, 0) },
                },
                Rest::start(&[]),
                n_asked,
                self.netlist.frequency_hz(),
            ));
        };
        let of_devices = self.groups.len();
        let all = fast.sights(of_devices, work)?;
        for (j, device) in resting.devices.iter().enumerate() {
            let groups = [(of_devices, all.as_slice()), (group, asked.as_slice())];
            let answers = fast.probed(device.ends, &groups, work)?;
            open[j] = all[resting.places[j]].difference;
            for i in 0..n {
                impedance[(i, j)] = match i == j {
                    true => all[resting.places[i]].impedance,
                    false => answers[0][resting.places[i]] / PROBE_AMPERE,
                };
            }
            for i in 0..n_asked {
                let z = answers[1][i] / PROBE_AMPERE;
                (impedance[(n + i, j)], impedance[(j, n + i)]) = (z, z);
            }
        }
        // The walk stands as before the probes again.
        fast.go(&work.branching, true, work.walk.as_mut()?);
        let motion = Motion {
            devices: resting.devices,
            contained: resting.contained,
            fixed: vec![Complex::ZERO; n_asked],
            ports: Ports { open, impedance, border: DMatrix::zeros(n + n_asked, 0) },
        };
        Some(PortSystem::of_ports(motion, resting.rest, n_asked, self.netlist.frequency_hz()))
    }
}

/// Impedance between two ports a-b and c-d of nodes that all see each other: of what pairs see,
/// Z = (D_ad + D_bc - D_ac - D_bd) / 2.
fn shared(
    pairs: &[(NodeId, NodeId)],
    seen: &[Sight],
    one: usize,
    other: usize,
) -> Option<Complex<f64>> {
    let apart = |p: NodeId, q: NodeId| -> Option<Complex<f64>> {
        if p == q {
            return Some(Complex::ZERO);
        }
        let at = pairs.iter().position(|&pair| pair == (p, q) || pair == (q, p))?;
        Some(seen[at].impedance)
    };
    let ((a, b), (c, d)) = (pairs[one], pairs[other]);
    Some((apart(a, d)? + apart(b, c)? - apart(a, c)? - apart(b, d)?) * 0.5)
}
