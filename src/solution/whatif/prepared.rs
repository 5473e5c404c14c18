//! The part of a network that does not change from one what-if to the next.

use nalgebra::Complex;

use super::{ADDED, Change, Effect, unused};
use crate::netlist::{ElementId, Law, Netlist, NodeId, Role};
use crate::network::{
    Branch, Branching, Network, Plan, PortPlace, REFERENCE, Refusal, Rerooted, Sight, Views, Walk,
    complex, worse,
};
use crate::quantity::{Impedance, Phasor};
use crate::solution::device::Device;

/// Branches that nothing can replace: the couplings of windings.
const FIXED: u32 = u32::MAX;

/// Views kept of one group at most, some 150 bytes each; a network with more has whole answers. Those of
/// a run of 200 boxes, asked at every slot, are 3.6 million.
const VIEWS_MAX: usize = 4_000_000;

/// How a port is read.
#[derive(Clone, Copy, Debug)]
pub(super) enum PortPlan {
    /// Its nodes are of parts that nothing can join.
    Parted,
    /// Both its nodes are one point.
    One { emf: Complex<f64> },
    /// As a port of its own.
    Near { at: u32, emf: Complex<f64> },
    /// As the potentials of two rows, each none for the reference.
    Far { first: Option<u32>, second: Option<u32>, emf: Complex<f64> },
}

/// A network eliminated from all sides, with the views of its ports.
#[derive(Clone, Debug)]
pub(super) struct Prepared {
    network: Network,
    plan: Plan,
    pub(super) rerooted: Rerooted,
    pub(super) groups: Vec<(Views, Vec<PortPlan>)>,
    /// Whether the views of a group are of its ports in order, with no EMF of their own.
    pub(super) in_order: Vec<bool>,
    /// Whether that is so, and there are three for each receptacle.
    pub(super) by_three: Vec<bool>,
    /// By group, the port of the group that each view is of.
    pub(super) port_of: Vec<Vec<u32>>,
    branch_of_element: Vec<Option<u32>>,
    coupled: Vec<bool>,
    /// Nonlinear elements, which stand at where they start from; their ports are the last group.
    pub(super) devices: Vec<Device>,
}

impl Prepared {
    /// `None` where the network has only whole answers.
    pub(super) fn new(
        netlist: &Netlist,
        may_join: &[(NodeId, NodeId)],
        groups: &[Vec<(NodeId, NodeId)>],
    ) -> Result<Option<Self>, Refusal> {
        let is_current = |id| matches!(netlist.element(id).law, Law::CurrentSource { .. });
        if netlist.elements().any(is_current) {
            return Ok(None);
        }
        let is_near = |&&(a, b): &&(NodeId, NodeId)| a != Netlist::EARTH && b != Netlist::EARTH;
        let mut held = netlist.clone();
        let devices: Vec<Device> = netlist
            .elements()
            .filter_map(|id| Device::new(id, netlist.ends(id), &netlist.element(id).law))
            .collect();
        for device in &devices {
            let z = (device.direction * device.start()).inv();
            let law = Law::Impedance(Impedance::new(z.re, z.im));
            if held.set_law(device.element, law).is_err() {
                return Ok(None);
            }
        }
        // What may be joined is an open element for now, so that it has its place.
        for &(a, b) in may_join.iter().chain(groups.iter().flatten().filter(is_near)) {
            let id = unused(&held, held.elements().len());
            if a != b && held.add(id, a, b, Role::Lumped, Law::Open).is_err() {
                return Ok(None);
            }
        }
        let network = Network::with_opens(&held)?;
        let row = |group: u32| network.row[group as usize];
        let mut ends: Vec<(u32, u32)> =
            network.branches.iter().map(|b| (row(b.a), row(b.b))).collect();
        for mutual in &network.mutuals {
            let [i, j] = mutual.pair.map(|place| &network.branches[place as usize]);
            let lattice = [(i.a, j.a), (i.b, j.b), (i.a, j.b), (i.b, j.a)];
            ends.extend(lattice.map(|(a, b)| (row(a), row(b))));
        }
        let plan = Plan::new(network.n_rows as usize, &ends, &[]);
        if !network.is_anchored() {
            return Ok(None);
        }
        let branches = branchings(&network, &plan);

        let of_devices: Vec<_> = devices.iter().map(|device| device.ends).collect();
        let all_groups = groups.iter().chain([&of_devices]).map(Vec::as_slice);
        let Some(mut places) = views(&network, &plan, all_groups) else { return Ok(None) };
        let prepared = Rerooted::new(&plan, branches, |rerooted, bag, crossing| {
            for (views, _) in &mut places {
                match crossing {
                    None => views.look_down(rerooted),
                    Some(crossing) => views.look_out(rerooted, bag, crossing),
                }
            }
        });
        let Some(rerooted) = prepared else { return Ok(None) };
        let branch_of_element = branches_of_elements(&network, netlist.elements().len());
        let coupled = coupled(&network);
        let groups = places;
        let in_order: Vec<bool> = groups.iter().map(|(_, plans)| are_in_order(plans)).collect();
        let is_by_three = |((_, plans), in_order): (&(_, Vec<_>), &bool)| {
            *in_order && plans.len().is_multiple_of(3)
        };
        let by_three = groups.iter().zip(&in_order).map(is_by_three).collect();
        let port_of = groups.iter().map(|(_, plans)| ports_of_views(plans)).collect();
        Ok(Some(Self {
            network,
            plan,
            rerooted,
            groups,
            in_order,
            by_three,
            port_of,
            branch_of_element,
            coupled,
            devices,
        }))
    }

    pub(super) fn walk(&self) -> Walk {
        Walk::new(&self.rerooted.junction, self.groups.iter().map(|(views, _)| views.n_ports()))
    }

    /// What these changes are, in order; whether that is all they are.
    pub(super) fn branchings(&self, changes: &[Change], all: &mut Vec<Branching>) -> bool {
        all.clear();
        for (at, change) in changes.iter().enumerate() {
            let (later, element) = (&changes[at + 1..], change.element);
            if element.is_some() && later.iter().any(|later| later.element == element) {
                continue;
            }
            match change.effect {
                Effect::Nothing => {}
                Effect::Fast(branching) => all.push(branching),
                Effect::Emf { place, more } => all.extend(self.driving(place, more)),
                Effect::Whole => return false,
            }
        }
        // What a part of them is comes in one order, whatever there is besides.
        all.sort_unstable_by_key(|branching| (branching.bag, branching.slot, branching.id));
        true
    }

    /// Largest cancellation met on the way.
    pub(super) fn go(&self, changes: &[Branching], impedances: bool, walk: &mut Walk) -> f64 {
        worse(self.rerooted.cancellation, walk.go(&self.rerooted, changes, impedances))
    }

    /// What the ports of a group show; nothing for a group that there is not.
    pub(super) fn read(
        &self,
        (group, with_impedances): (usize, bool),
        walk: &mut Walk,
        shown: &mut [Sight],
    ) {
        if let Some((views, _)) = self.groups.get(group) {
            walk.read(&self.rerooted, (group, views), with_impedances, shown);
        }
    }

    /// An element of another law.
    pub(super) fn changed(&self, netlist: &Netlist, element: ElementId, law: &Law) -> Effect {
        if netlist.element(element).law == *law && law.is_linear() {
            return Effect::Nothing;
        }
        let place = self.branch_of_element.get(element.0 as usize).copied().flatten();
        let Some(place) = place.filter(|_| law.is_linear()) else { return Effect::Whole };
        if self.coupled[place as usize] {
            return match (netlist.element(element).law, *law) {
                (
                    Law::Source { emf_volt: was, impedance: as_before },
                    Law::Source { emf_volt, impedance },
                ) if impedance == as_before && was != Phasor::ZERO => {
                    Effect::Emf { place, more: complex(emf_volt) - complex(was) }
                }
                _ => Effect::Whole,
            };
        }
        let (y, own) = match Branch::new(law, netlist.frequency_hz(), Complex::default) {
            Branch::Open => (Complex::ZERO, Complex::ZERO),
            Branch::Admittance { y, emf } => (y, emf),
            Branch::Rigid { .. } | Branch::Current { .. } => return Effect::Whole,
        };
        let (a, b) = netlist.ends(element);
        self.between((a, b), y, own, place)
    }

    /// What more EMF of a winding drives, through itself and the windings coupled with it.
    pub(super) fn driving(
        &self,
        place: u32,
        more: Complex<f64>,
    ) -> impl Iterator<Item = Branching> + '_ {
        let coupled = self.network.mutuals.iter().filter_map(move |mutual| match mutual.pair {
            [one, other] | [other, one] if one == place => Some((other, mutual.y)),
            _ => None,
        });
        let own = (place, self.network.branches[place as usize].y);
        std::iter::once(own).chain(coupled).filter_map(move |(driven, y)| {
            let branch = &self.network.branches[driven as usize];
            let rows = [branch.a, branch.b].map(|group| self.network.row[group as usize]);
            Branching::new(&self.plan, (rows[0], rows[1]), Complex::ZERO, y * more, ADDED)
        })
    }

    /// A nonlinear element at an admittance; `None` if it has no place.
    pub(super) fn standing(&self, device: &Device, y: Complex<f64>) -> Option<Branching> {
        let place = self.branch_of_element.get(device.element.0 as usize).copied().flatten()?;
        match self.between(device.ends, y, Complex::ZERO, place) {
            Effect::Fast(branching) => Some(branching),
            Effect::Nothing | Effect::Emf { .. } | Effect::Whole => None,
        }
    }

    /// A current driven into the first of two nodes and out of the second.
    pub(super) fn driven(&self, (a, b): (NodeId, NodeId), current: f64) -> Option<Branching> {
        let rows = (self.network.row_of_node(a.0), self.network.row_of_node(b.0));
        Branching::new(&self.plan, rows, Complex::ZERO, Complex::from(current), ADDED)
    }

    /// An admittance put between two nodes.
    pub(super) fn joined(
        &self,
        a: NodeId,
        b: NodeId,
        y: Complex<f64>,
        emf: Complex<f64>,
    ) -> Effect {
        self.between((a, b), y, emf, ADDED)
    }

    fn between(
        &self,
        (a, b): (NodeId, NodeId),
        y: Complex<f64>,
        emf: Complex<f64>,
        id: u32,
    ) -> Effect {
        let network = &self.network;
        if network.part_of_node(a.0) != network.part_of_node(b.0) {
            return Effect::Whole;
        }
        let rows = (network.row_of_node(a.0), network.row_of_node(b.0));
        if rows.0 == rows.1 {
            return Effect::Nothing;
        }
        let emf = emf - between(network, a, b);
        match Branching::new(&self.plan, rows, y, y * emf, id) {
            Some(branching) => Effect::Fast(branching),
            None => Effect::Whole,
        }
    }
}

/// (V_a - V_b) - (U_a - U_b).
fn between(network: &Network, a: NodeId, b: NodeId) -> Complex<f64> {
    network.groups.rise(a.0).minus(network.groups.rise(b.0)).value()
}

fn branchings(network: &Network, plan: &Plan) -> Vec<Branching> {
    let row = |group: u32| network.row[group as usize];
    let mut all = Vec::with_capacity(network.branches.len());
    for (place, branch) in network.branches.iter().enumerate() {
        let rows = (row(branch.a), row(branch.b));
        all.extend(Branching::new(
            plan,
            rows,
            branch.y,
            branch.y * network.emf(place),
            place as u32,
        ));
    }
    for mutual in &network.mutuals {
        let [one, other] = mutual.pair.map(|place| place as usize);
        let [i, j] = [one, other].map(|place| &network.branches[place]);
        let lattice = [(i.a, j.a, -1.0), (i.b, j.b, -1.0), (i.a, j.b, 1.0), (i.b, j.a, 1.0)];
        for (a, b, sign) in lattice {
            let y = mutual.y * sign;
            all.extend(Branching::new(plan, (row(a), row(b)), y, Complex::ZERO, FIXED));
        }
        for (driven, by) in [(i, other), (j, one)] {
            let rows = (row(driven.a), row(driven.b));
            let drive = mutual.y * network.emf(by);
            all.extend(Branching::new(plan, rows, Complex::ZERO, drive, FIXED));
        }
    }
    all
}

/// Room for the views of groups of ports, and how each port is read; `None` where they are too many.
fn views<'g>(
    network: &Network,
    plan: &Plan,
    groups: impl Iterator<Item = &'g [(NodeId, NodeId)]>,
) -> Option<Vec<(Views, Vec<PortPlan>)>> {
    let n_bags = plan.n_rows();
    let of_group = |group: &[(NodeId, NodeId)]| {
        let mut ports = Vec::new();
        let plans = group.iter().map(|&pair| port(network, plan, pair, &mut ports)).collect();
        let are_few = ports.len() * n_bags <= VIEWS_MAX;
        are_few.then(|| (Views::new(ports, n_bags), plans))
    };
    groups.map(of_group).collect()
}

/// By branch whether it is coupled with another.
fn coupled(network: &Network) -> Vec<bool> {
    let mut coupled = vec![false; network.branches.len()];
    for place in network.mutuals.iter().flat_map(|mutual| mutual.pair) {
        coupled[place as usize] = true;
    }
    coupled
}

/// By element its branch, if it has one.
fn branches_of_elements(network: &Network, n_elements: usize) -> Vec<Option<u32>> {
    let mut branch_of_element = vec![None; n_elements];
    for (place, branch) in network.branches.iter().enumerate() {
        if let Some(of_element) = branch_of_element.get_mut(branch.element as usize) {
            *of_element = Some(place as u32);
        }
    }
    branch_of_element
}

fn are_in_order(plans: &[PortPlan]) -> bool {
    let is_own = |(port, plan): (usize, &PortPlan)| match plan {
        PortPlan::Near { at, emf } => *at as usize == port && *emf == Complex::ZERO,
        _ => false,
    };
    plans.iter().enumerate().all(is_own)
}

/// The port that each view is of, in the order of the views.
fn ports_of_views(plans: &[PortPlan]) -> Vec<u32> {
    let of_port = |(port, plan): (usize, &PortPlan)| {
        let n = match *plan {
            PortPlan::Parted | PortPlan::One { .. } => 0,
            PortPlan::Near { .. } => 1,
            PortPlan::Far { first, second, .. } => [first, second].iter().flatten().count(),
        };
        std::iter::repeat_n(port as u32, n)
    };
    plans.iter().enumerate().flat_map(of_port).collect()
}

fn port(
    network: &Network,
    plan: &Plan,
    (a, b): (NodeId, NodeId),
    ports: &mut Vec<PortPlace>,
) -> PortPlan {
    if network.part_of_node(a.0) != network.part_of_node(b.0) {
        return PortPlan::Parted;
    }
    let emf = between(network, a, b);
    let rows = (network.row_of_node(a.0), network.row_of_node(b.0));
    if rows.0 == rows.1 {
        return PortPlan::One { emf };
    }
    let mut put = |rows: (u32, u32)| {
        let at = ports.len() as u32;
        let place = PortPlace::new(plan, rows, at)?;
        ports.push(place);
        Some(at)
    };
    if let Some(at) = put(rows) {
        return PortPlan::Near { at, emf };
    }
    let mut alone = |row: u32| if row == REFERENCE { None } else { put((row, REFERENCE)) };
    PortPlan::Far { first: alone(rows.0), second: alone(rows.1), emf }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(at: u32, volt: f64) -> PortPlan {
        PortPlan::Near { at, emf: Complex::from(volt) }
    }

    #[test]
    fn ports_are_in_order_where_each_is_seen_at_its_own_place_with_no_emf() {
        assert!(are_in_order(&[near(0, 0.0), near(1, 0.0), near(2, 0.0)]));
        assert!(are_in_order(&[]));
        for odd in [
            [near(1, 0.0), near(0, 0.0)],
            [near(0, 0.0), near(1, 12.0)],
            [near(0, 0.0), PortPlan::Parted],
            [PortPlan::One { emf: Complex::ZERO }, near(0, 0.0)],
        ] {
            assert!(!are_in_order(&odd), "{odd:?}");
        }
    }

    #[test]
    fn each_view_is_of_the_port_that_is_read_from_it() {
        let far = |first, second| PortPlan::Far { first, second, emf: Complex::ZERO };
        let plans = [
            near(0, 0.0),
            PortPlan::Parted,
            far(Some(1), Some(2)),
            PortPlan::One { emf: Complex::ONE },
            far(None, Some(3)),
            near(4, 1.0),
        ];
        assert_eq!(ports_of_views(&plans), [0, 2, 2, 4, 5]);
    }
}
