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

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{Law, Netlist, Role};
    use crate::quantity::{Address, Impedance, Phasor};

    const EARTH: NodeId = Netlist::EARTH;

    fn sight(ohm: f64) -> Sight {
        Sight { difference: Complex::ZERO, impedance: Complex::from(ohm), tied: [true; 2] }
    }

    #[test]
    fn ports_share_what_lies_on_the_way_of_both_with_its_sign() {
        // Four nodes, each on ohms of its own to one point: two see the sum of theirs.
        let nodes = [1, 2, 3, 4].map(NodeId);
        let own = |node: NodeId| [0.0, 1.0, 10.0, 100.0, 1000.0][node.0 as usize];
        let mut pairs = Vec::new();
        for (at, &p) in nodes.iter().enumerate() {
            // Both ways round, as they come.
            pairs.extend(
                nodes[at + 1..].iter().map(|&q| if q.0 % 2 == 0 { (p, q) } else { (q, p) }),
            );
        }
        let seen: Vec<Sight> = pairs.iter().map(|&(p, q)| sight(own(p) + own(q))).collect();
        for (one, &(a, b)) in pairs.iter().enumerate() {
            for (other, &(c, d)) in pairs.iter().enumerate() {
                // An ampere in at c and out at d lifts c and lowers d by their own ohms.
                let lifted = |node| {
                    if node == c {
                        own(c)
                    } else if node == d {
                        -own(d)
                    } else {
                        0.0
                    }
                };
                let z = shared(&pairs, &seen, one, other).unwrap();
                assert_relative_eq!(z.re, lifted(a) - lifted(b), epsilon = 1e-9);
            }
        }
        assert_eq!(shared(&pairs[..2], &seen, 0, 1), None, "a pair is lacking");
    }

    /// A supply of no impedance, two loads that are no impedances on common wires, and something
    /// between the slots of the second.
    fn netlist() -> (Netlist, Vec<(NodeId, NodeId)>) {
        let mut netlist = Netlist::new(60.0);
        let [bar, near, hot, neutral, porch] = ["bar", "near", "hot", "neutral", "porch"]
            .map(|name| netlist.node(&Address::from(name)));
        let emf_volt = Phasor::new(100.0, 60.0);
        let supply = Law::Source { emf_volt, impedance: Impedance::resistance(0.0) };
        let bulb = Law::Filament {
            rated_watt: 400.0,
            rated_volt: 120.0,
            cold_fraction: 0.08,
            exponent: 0.6,
        };
        let charger =
            Law::ConstantPower { active_watt: 150.0, reactive_var: 60.0, cut_out_volt: 20.0 };
        let mut add = |id: &str, a, b, law| netlist.add(id, a, b, Role::Lumped, law).unwrap();
        add("supply", bar, EARTH, supply);
        add("first wire", bar, near, Law::Impedance(Impedance::new(1.0, 0.5)));
        add("bulb", near, EARTH, bulb);
        add("second wire", near, hot, Law::resistance(2.0));
        add("charger", hot, neutral, charger);
        add("neutral wire", neutral, EARTH, Law::resistance(1.5));
        add("wire of the porch", bar, porch, Law::resistance(0.5));
        add("light of the porch", porch, EARTH, Law::resistance(240.0));
        (netlist, vec![(hot, neutral), (near, hot), (neutral, near), (bar, EARTH)])
    }

    #[test]
    fn ports_beside_loads_that_are_no_impedances_are_as_in_a_whole_solve() {
        let (netlist, pairs) = netlist();
        // The two ends of the supply are one point, which no pair of the others leads to.
        let group = pairs[..3].to_vec();
        let whatif = WhatIf::new(&netlist, &[], std::slice::from_ref(&group)).unwrap();
        let mut work = whatif.work();
        for (wire, ohm) in [("second wire", 2.0), ("second wire", 7.0), ("first wire", 4.0)] {
            let wire = netlist.find_element(wire).unwrap();
            let mut then = netlist.clone();
            then.set_law(wire, Law::resistance(ohm)).unwrap();
            let expected = PortSystem::new(&then, &group).unwrap();
            let change = whatif.change(wire, Law::resistance(ohm)).unwrap();
            whatif.put(&[change], &mut work).unwrap();
            let found = whatif.port_system(0, &mut work).unwrap();
            assert_eq!(work.solved_whole(), 0);
            for one in 0..group.len() {
                let volts = found.open_circuit(one).unwrap() - expected.open_circuit(one).unwrap();
                assert!(volts.magnitude() < 1e-9 * 120.0, "{one}: {volts:?}");
                for other in 0..group.len() {
                    let [a, b] = [&found, &expected].map(|all| all.impedance(one, other).unwrap());
                    assert_relative_eq!(a.resistance_ohm, b.resistance_ohm, epsilon = 1e-9);
                    assert_relative_eq!(a.reactance_ohm, b.reactance_ohm, epsilon = 1e-9);
                }
            }
            // The loads answer to what is attached, with what they share with it.
            let held = [crate::solution::Attachment { port: 0, law: Law::resistance(40.0) }];
            let [a, b] = [&found, &expected].map(|all| all.attach_reached(&held).unwrap());
            let apart = a.voltage_volt[0].unwrap() - b.voltage_volt[0].unwrap();
            assert!(apart.magnitude() < 1e-7, "{apart:?}");
            // And what was put last can be read as before.
            let volt = whatif.read(0, &mut work).unwrap()[0].voltage_volt.unwrap();
            assert!((volt - expected.open_circuit(0).unwrap()).magnitude() < 1e-7);
        }
    }

    #[test]
    fn what_is_put_between_a_supply_without_impedance_and_a_wire_draws_by_its_emf() {
        let (netlist, pairs) = netlist();
        let [bar, neutral] = [pairs[3].0, pairs[0].1];
        let group = pairs[..3].to_vec();
        let whatif =
            WhatIf::new(&netlist, &[(bar, neutral)], std::slice::from_ref(&group)).unwrap();
        let mut work = whatif.work();
        let law = Law::resistance(25.0);
        for (a, b) in [(bar, neutral), (neutral, bar)] {
            let mut then = netlist.clone();
            then.add("heater", a, b, Role::Load, law).unwrap();
            let expected = PortSystem::new(&then, &group).unwrap();
            whatif.put(&[whatif.join(a, b, law).unwrap()], &mut work).unwrap();
            let found = whatif.read(0, &mut work).unwrap();
            for (at, found) in found.iter().enumerate() {
                let apart = found.voltage_volt.unwrap() - expected.open_circuit(at).unwrap();
                assert!(apart.magnitude() < 1e-7, "{at}: {apart:?}");
            }
            assert_eq!(work.solved_whole(), 0);
        }
    }

    #[test]
    fn the_ends_of_a_supply_without_impedance_show_its_emf_and_nothing_behind_it() {
        let (netlist, pairs) = netlist();
        let whatif = WhatIf::new(&netlist, &[], &[pairs[3..].to_vec()]).unwrap();
        let mut work = whatif.work();
        whatif.put(&[], &mut work).unwrap();
        let found = whatif.port_system(0, &mut work).unwrap();
        let volt = found.open_circuit(0).unwrap();
        assert!((volt - Phasor::new(100.0, 60.0)).magnitude() < 1e-9);
        let z = found.impedance(0, 0).unwrap();
        assert!(z.resistance_ohm.abs() < 1e-12 && z.reactance_ohm.abs() < 1e-12);
    }
}
