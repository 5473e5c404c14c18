//! What holds a terminal at its potential.
//!
//! A terminal belongs to the conductors it is joined with by anything that conducts. If a supply
//! terminal or earth is among them, these feed it, each to the share by which the terminal would
//! follow it: the share of a current driven into the terminal that leaves there (the network
//! taken by the magnitudes of its admittances, so that shares are positive and add up to one).
//! If none is, the terminal floats, held by whatever capacitance or leakage there is.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};

use nalgebra::Complex;
use petgraph::Direction;
use petgraph::graph::{EdgeIndex, NodeIndex};
use petgraph::visit::EdgeRef;

use super::Solution;
use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::network::{Place, Plan, REFERENCE, Workspace};
use crate::quantity::Impedance;

/// Elements below this admittance hold a conductor only where nothing else does, whatever their
/// role; ten megohm meters and insulation are below it, any load is above.
const FEEBLE_SIEMENS: f64 = 1e-6;
/// An element of no impedance, against real joints of at most some 1e4 S.
const RIGID_SIEMENS: f64 = 1e9;
/// Supplies that hold a terminal to a smaller share are not named.
const SHARE_NAMED: f64 = 0.01;

/// What holds a terminal at its potential; see [`Solution::feed`].
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::{Address, Impedance, Phasor};
/// use slotwise::solution::{Feed, solve};
///
/// // The neutral is open; the lamp brings the hot potential to its far end.
/// let mut netlist = Netlist::new(60.0);
/// let [hot, slot] = ["hot", "slot.neutral"].map(|name| netlist.node(&Address::from(name)));
/// let supply = Law::Source {
///     emf_volt: Phasor::new(120.0, 0.0),
///     impedance: Impedance::resistance(0.1),
/// };
/// netlist.add("supply", hot, Netlist::EARTH, Role::Winding, supply)?;
/// let lamp = netlist.add("lamp", hot, slot, Role::Load, Law::resistance(240.0))?;
/// netlist.add("splice", slot, Netlist::EARTH, Role::Joint, Law::Open)?;
/// let solution = solve(&netlist)?;
/// let Feed::Fed(paths) = solution.feed(&netlist, slot) else { panic!("it is fed") };
/// assert_eq!((paths[0].from, &paths[0].elements[..]), (hot, &[lamp][..]));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Feed {
    /// Supply terminals or earth hold it through conductors and loads, the strongest first.
    Fed(Vec<FeedPath>),
    /// Only these hold it, the strongest first.
    Floating(Vec<Holder>),
    /// Nothing holds it.
    Undetermined,
}

/// One way a terminal is fed.
///
/// ```
/// use slotwise::netlist::Netlist;
/// use slotwise::solution::FeedPath;
/// let bonded = FeedPath { from: Netlist::EARTH, elements: Vec::new(), share: 1.0 };
/// assert!(bonded.share > 0.5);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct FeedPath {
    /// The supply terminal, or earth.
    pub from: NodeId,
    /// The elements from there to the terminal, along the least impedance.
    pub elements: Vec<ElementId>,
    /// Share by which the terminal would follow a change there, in (0, 1].
    pub share: f64,
}

/// A capacitance, a leakage or another feeble element that holds a floating conductor.
///
/// ```
/// use slotwise::solution::Holder;
/// fn by_half(holder: &Holder) -> bool {
///     holder.share >= 0.5
/// }
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holder {
    /// The element.
    pub element: ElementId,
    /// Its end away from the floating conductor.
    pub terminal: NodeId,
    /// Its share of all that holds the conductor, by magnitude of admittance, in (0, 1].
    pub share: f64,
}

impl Solution {
    /// What holds `node` at its potential, in the netlist this is the solution of.
    ///
    /// Costs an elimination of the conductors that `node` is joined with.
    pub fn feed(&self, netlist: &Netlist, node: NodeId) -> Feed {
        if node.0 as usize >= netlist.nodes().len() {
            return Feed::Undetermined;
        }
        let cluster = Cluster::around(self, netlist, node);
        let paths = cluster.paths(self, netlist, node);
        if !paths.is_empty() {
            return Feed::Fed(paths);
        }
        let holders = cluster.holders(self, netlist);
        if holders.is_empty() { Feed::Undetermined } else { Feed::Floating(holders) }
    }

    /// Magnitude of an element's admittance in this solution, siemens.
    pub(super) fn strength(&self, netlist: &Netlist, element: ElementId) -> f64 {
        match netlist.element(element).law {
            Law::Impedance(z) | Law::Source { impedance: z, .. } => {
                let Impedance { resistance_ohm, reactance_ohm } = z;
                let size = libm::hypot(resistance_ohm, reactance_ohm);
                if size > 1.0 / RIGID_SIEMENS { 1.0 / size } else { RIGID_SIEMENS }
            }
            Law::Open | Law::CurrentSource { .. } => 0.0,
            Law::Capacitor { capacitance_farad } => {
                std::f64::consts::TAU * netlist.frequency_hz() * capacitance_farad
            }
            _ => {
                let (v, i) = (self.voltage(element).magnitude(), self.current(element).magnitude());
                if v > 0.0 { i / v } else { FEEBLE_SIEMENS }
            }
        }
    }

    pub(super) fn is_feeble(&self, netlist: &Netlist, element: ElementId) -> bool {
        let is_capacitor = matches!(netlist.element(element).law, Law::Capacitor { .. });
        netlist.element(element).role.is_feeble()
            || is_capacitor
            || self.strength(netlist, element) < FEEBLE_SIEMENS
    }
}

/// Everything joined with one node by elements that are not feeble, seen no further than supply
/// terminals and earth.
struct Cluster {
    /// The nodes by distance, each with the element it was reached by.
    reached: BTreeMap<NodeId, Option<ElementId>>,
    anchors: Vec<NodeId>,
}

/// A node at a distance in ohms, the nearest greatest.
#[derive(PartialEq)]
struct Near {
    ohm: f64,
    node: NodeId,
    by: Option<ElementId>,
}

impl Eq for Near {}

impl Ord for Near {
    fn cmp(&self, other: &Self) -> Ordering {
        other.ohm.total_cmp(&self.ohm).then_with(|| other.node.cmp(&self.node))
    }
}

impl PartialOrd for Near {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Cluster {
    /// Dijkstra's algorithm from `start` on |Z|.
    fn around(solution: &Solution, netlist: &Netlist, start: NodeId) -> Self {
        let mut cluster = Self { reached: BTreeMap::new(), anchors: Vec::new() };
        let mut queue = BinaryHeap::from([Near { ohm: 0.0, node: start, by: None }]);
        while let Some(Near { ohm, node, by }) = queue.pop() {
            if cluster.reached.contains_key(&node) {
                continue;
            }
            cluster.reached.insert(node, by);
            if is_anchor(netlist, node) {
                cluster.anchors.push(node);
                continue;
            }
            for (element, other) in elements_at(netlist, node) {
                if !solution.is_feeble(netlist, element) {
                    let ohm = ohm + 1.0 / solution.strength(netlist, element);
                    queue.push(Near { ohm, node: other, by: Some(element) });
                }
            }
        }
        cluster
    }

    /// The anchors with their shares and the way from each to `node`.
    fn paths(&self, solution: &Solution, netlist: &Netlist, node: NodeId) -> Vec<FeedPath> {
        let shares = self.shares(solution, netlist, node);
        let mut paths: Vec<FeedPath> = self
            .anchors
            .iter()
            .zip(shares)
            .filter(|&(_, share)| share >= SHARE_NAMED)
            .map(|(&from, share)| FeedPath { from, elements: self.way(netlist, from), share })
            .collect();
        paths.sort_by(|a, b| b.share.total_cmp(&a.share));
        paths
    }

    fn way(&self, netlist: &Netlist, from: NodeId) -> Vec<ElementId> {
        let mut elements = Vec::new();
        let mut node = from;
        while let Some(&Some(element)) = self.reached.get(&node) {
            elements.push(element);
            let (a, b) = netlist.ends(element);
            node = if a == node { b } else { a };
        }
        elements
    }

    /// Where one ampere driven into `node` leaves, all anchors at the same potential.
    fn shares(&self, solution: &Solution, netlist: &Netlist, node: NodeId) -> Vec<f64> {
        if self.anchors.contains(&node) {
            return vec![1.0];
        }
        let inner = self.reached.keys().filter(|node| !self.anchors.contains(node));
        let rows: BTreeMap<NodeId, u32> = inner.copied().zip(0..).collect();
        let row = |node: NodeId| rows.get(&node).copied().unwrap_or(REFERENCE);
        let mut branches: Vec<ElementId> = rows
            .keys()
            .flat_map(|&node| elements_at(netlist, node))
            .map(|(element, _)| element)
            .filter(|&element| !solution.is_feeble(netlist, element))
            .collect();
        branches.sort_unstable();
        branches.dedup();
        let rows_of = |&element: &ElementId| {
            let (a, b) = netlist.ends(element);
            (row(a), row(b))
        };
        let ends: Vec<_> = branches.iter().map(rows_of).collect();
        let plan = Plan::new(rows.len(), &ends, &[]);
        let mut work = Workspace::default();
        work.clear(&plan);
        let place = |&(a, b): &(u32, u32)| plan.place(a, b).unwrap_or(Place::Nowhere);
        let places: Vec<Place> = ends.iter().map(place).collect();
        for (&place, &element) in places.iter().zip(&branches) {
            work.join(place, Complex::from(solution.strength(netlist, element)));
        }
        work.eliminate(&plan);
        work.inject(plan.step(row(node)), Complex::ONE);
        work.solve(&plan);
        let mut shares = vec![0.0; self.anchors.len()];
        for (&place, &element) in places.iter().zip(&branches) {
            let (a, b) = netlist.ends(element);
            let current = work.difference(place).re * solution.strength(netlist, element);
            for (end, leaving) in [(b, current), (a, -current)] {
                if let Some(anchor) = self.anchors.iter().position(|&anchor| anchor == end) {
                    shares[anchor] += leaving;
                }
            }
        }
        shares
    }

    fn holders(&self, solution: &Solution, netlist: &Netlist) -> Vec<Holder> {
        let inside = |node: NodeId| self.reached.contains_key(&node);
        let mut holders: Vec<Holder> = self
            .reached
            .keys()
            .flat_map(|&node| elements_at(netlist, node))
            .filter(|&(_, terminal)| !inside(terminal))
            .map(|(element, terminal)| {
                let share = solution.strength(netlist, element);
                Holder { element, terminal, share }
            })
            .filter(|holder| holder.share > 0.0)
            .collect();
        let all: f64 = holders.iter().map(|holder| holder.share).sum();
        for holder in &mut holders {
            holder.share /= all;
        }
        holders.sort_by(|a, b| b.share.total_cmp(&a.share));
        holders
    }
}

/// Earth, and the ends of whatever has an EMF.
fn is_anchor(netlist: &Netlist, node: NodeId) -> bool {
    node == Netlist::EARTH
        || elements_at(netlist, node).any(|(element, _)| {
            matches!(netlist.element(element).law,
                Law::Source { emf_volt, .. } if emf_volt.magnitude() > 0.0)
        })
}

/// The elements at a node and the node at their other end.
fn elements_at(netlist: &Netlist, node: NodeId) -> impl Iterator<Item = (ElementId, NodeId)> + '_ {
    let index = NodeIndex::new(node.0 as usize);
    [Direction::Outgoing, Direction::Incoming].into_iter().flat_map(move |direction| {
        netlist.graph().edges_directed(index, direction).map(move |edge| {
            let other =
                if direction == Direction::Outgoing { edge.target() } else { edge.source() };
            let id: EdgeIndex = edge.id();
            (ElementId(id.index() as u32), NodeId(other.index() as u32))
        })
    })
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::Role;
    use crate::quantity::{Address, Phasor};
    use crate::solution::solve;

    /// Shares of a divider of two loads, beside 0.1 ohm of supply.
    const SHARE_TOLERANCE: f64 = 1e-3;

    fn two_legs() -> (Netlist, [NodeId; 3]) {
        let mut netlist = Netlist::new(60.0);
        let nodes = ["leg 1", "leg 2", "shared"].map(|name| netlist.node(&Address::from(name)));
        for (leg, volt) in nodes.into_iter().zip([120.0, -120.0]) {
            let supply = Law::Source {
                emf_volt: Phasor::new(volt, 0.0),
                impedance: Impedance::resistance(0.1),
            };
            let name = format!("winding {volt}");
            netlist.add(name, leg, Netlist::EARTH, Role::Winding, supply).unwrap();
        }
        (netlist, nodes)
    }

    #[test]
    fn a_shared_neutral_left_open_is_held_from_both_legs() {
        let (mut netlist, [one, two, shared]) = two_legs();
        let load = Law::resistance;
        netlist.add("heater", one, shared, Role::Load, load(10.0)).unwrap();
        netlist.add("lamp", shared, two, Role::Load, load(30.0)).unwrap();
        let solution = solve(&netlist).unwrap();
        let Feed::Fed(paths) = solution.feed(&netlist, shared) else { panic!("fed") };
        assert_eq!([paths[0].from, paths[1].from], [one, two]);
        assert_relative_eq!(paths[0].share, 0.75, epsilon = SHARE_TOLERANCE);
        assert_relative_eq!(paths[1].share, 0.25, epsilon = SHARE_TOLERANCE);
    }

    #[test]
    fn a_conductor_cut_off_on_both_sides_floats_on_its_neighbours() {
        let (mut netlist, [one, _, shared]) = two_legs();
        let capacitor = |capacitance_farad| Law::Capacitor { capacitance_farad };
        netlist.add("to hot", one, shared, Role::Capacitance, capacitor(300e-12)).unwrap();
        let earth = Netlist::EARTH;
        netlist.add("to ground", shared, earth, Role::Capacitance, capacitor(100e-12)).unwrap();
        let solution = solve(&netlist).unwrap();
        let Feed::Floating(holders) = solution.feed(&netlist, shared) else { panic!("floating") };
        assert_eq!(holders[0].terminal, one);
        assert_relative_eq!(holders[0].share, 0.75, epsilon = SHARE_TOLERANCE);
    }

    #[test]
    fn a_conductor_that_nothing_touches_is_undetermined() {
        let (netlist, [_, _, shared]) = two_legs();
        let solution = solve(&netlist).unwrap();
        assert_eq!(solution.feed(&netlist, shared), Feed::Undetermined);
    }

    #[test]
    fn a_way_goes_along_the_least_impedance_however_many_elements_it_has() {
        let mut netlist = Netlist::new(60.0);
        let bar = netlist.node(&Address::from("bar"));
        let slot = netlist.node(&Address::from("slot"));
        let box_ = netlist.node(&Address::from("box"));
        let emf_volt = Phasor::new(120.0, 0.0);
        let supply = Law::Source { emf_volt, impedance: Impedance::resistance(0.1) };
        netlist.add("supply", bar, Netlist::EARTH, Role::Winding, supply).unwrap();
        let mut add =
            |id: &str, a, b, ohm| netlist.add(id, a, b, Role::Wire, Law::resistance(ohm)).unwrap();
        // Past the box it is 2 ohms, and the other ways there are 3 and 5.
        add("old wire", bar, slot, 3.0);
        let first = add("to the box", bar, box_, 1.5);
        let then = add("from the box", box_, slot, 0.5);
        add("older wire", slot, bar, 5.0);
        let solution = solve(&netlist).unwrap();
        let Feed::Fed(paths) = solution.feed(&netlist, slot) else { panic!("fed") };
        assert_eq!((paths[0].from, &paths[0].elements), (bar, &vec![first, then]));
        assert_relative_eq!(paths[0].share, 1.0, epsilon = 1e-9);
    }

    #[test]
    fn the_strength_of_an_element_is_its_admittance_in_siemens() {
        let mut netlist = Netlist::new(60.0);
        let [hot, far] = ["hot", "far"].map(|name| netlist.node(&Address::from(name)));
        let emf_volt = Phasor::new(120.0, 0.0);
        let rigid = Law::Source { emf_volt, impedance: Impedance::resistance(0.0) };
        let bulb = Law::Filament {
            rated_watt: 60.0,
            rated_volt: 120.0,
            cold_fraction: 0.08,
            exponent: 0.6,
        };
        let law = |law, a, b, siemens: f64| (law, a, b, siemens);
        let all = [
            law(rigid, hot, Netlist::EARTH, RIGID_SIEMENS),
            // 3 + j4 ohms are 5.
            law(Law::Impedance(Impedance::new(3.0, 4.0)), hot, Netlist::EARTH, 0.2),
            law(Law::Capacitor { capacitance_farad: 1e-6 }, hot, Netlist::EARTH, 376.991_118e-6),
            // On its rated voltage half an ampere.
            law(bulb, hot, Netlist::EARTH, 0.5 / 120.0),
            // On nothing there is nothing to divide.
            law(bulb, far, Netlist::EARTH, FEEBLE_SIEMENS),
            law(Law::Open, hot, far, 0.0),
        ];
        let ids: Vec<ElementId> = (all.iter().enumerate())
            .map(|(n, &(law, a, b, _))| netlist.add(format!("{n}"), a, b, Role::Load, law).unwrap())
            .collect();
        let solution = solve(&netlist).unwrap();
        for (id, (_, _, _, siemens)) in ids.into_iter().zip(all) {
            let found = solution.strength(&netlist, id);
            assert_relative_eq!(found, siemens, max_relative = 1e-8);
        }
    }

    #[test]
    fn what_holds_next_to_nothing_is_feeble_by_what_it_is_or_by_how_little_it_conducts() {
        let mut netlist = Netlist::new(60.0);
        let hot = netlist.node(&Address::from("hot"));
        let farads = |capacitance_farad| Law::Capacitor { capacitance_farad };
        let cases = [
            (Role::Wire, Law::resistance(0.1), false),
            (Role::Load, Law::resistance(0.9e6), false),
            (Role::Load, Law::resistance(1.1e6), true),
            (Role::Leakage, Law::resistance(10.0), true),
            // However large, it is no conductor.
            (Role::Load, farads(1e-3), true),
        ];
        let ids: Vec<ElementId> = (cases.iter().enumerate())
            .map(|(n, &(role, law, _))| {
                netlist.add(format!("{n}"), hot, Netlist::EARTH, role, law).unwrap()
            })
            .collect();
        let solution = solve(&netlist).unwrap();
        for (id, (role, law, is_feeble)) in ids.into_iter().zip(cases) {
            assert_eq!(solution.is_feeble(&netlist, id), is_feeble, "{role:?}, {law:?}");
        }
    }
}
