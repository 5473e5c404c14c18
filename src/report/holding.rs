//! What holds terminals at their potentials: the strongest path from earth to each.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};

use crate::netlist::{ElementId, Law, Netlist, NodeId, Role};
use crate::solution::Solution;

/// From this impedance on an element holds nothing against an instrument: the line that
/// IEC 61243-3 draws for voltage detectors, below which interference voltages are discharged.
const WEAK_OHM: f64 = 1e5;

/// The strongest path from earth to every terminal: the one of least impedance, weak elements
/// (capacitance, leakage, what is above [`WEAK_OHM`]) taken only where nothing else leads on.
pub(crate) struct Holding {
    /// For each node the element that leads to it, or none.
    by: Vec<Option<ElementId>>,
    weak: Vec<bool>,
    /// For each node the elements at it, with the node at the other end.
    ways: Vec<Vec<(ElementId, NodeId, Weight)>>,
}

/// A weak element that leads out of a floating piece.
pub(super) struct WeakLink {
    pub(super) element: ElementId,
    /// The terminal at its other end.
    pub(super) far: NodeId,
    pub(super) admittance_siemens: f64,
}

/// Weak elements first in weight, then ohms: paths are compared by how many weak elements they
/// have, then by impedance.
#[derive(Clone, Copy, PartialEq)]
struct Weight(u32, f64);

impl Eq for Weight {}

impl PartialOrd for Weight {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Weight {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.cmp(&other.0).then(self.1.total_cmp(&other.1))
    }
}

impl Holding {
    /// Finds the paths (Dijkstra's method from earth).
    pub(crate) fn new(netlist: &Netlist, solution: &Solution) -> Self {
        let n_nodes = netlist.nodes().len();
        let mut ways: Vec<Vec<(ElementId, NodeId, Weight)>> = vec![Vec::new(); n_nodes];
        for element in netlist.elements() {
            let Some(weight) = weight(netlist, solution, element) else { continue };
            let (a, b) = netlist.ends(element);
            ways[index(a)].push((element, b, weight));
            ways[index(b)].push((element, a, weight));
        }
        let mut holding = Self { by: vec![None; n_nodes], weak: vec![false; n_nodes], ways };
        let mut best = vec![None; n_nodes];
        let mut queue = BinaryHeap::from([Reverse((Weight(0, 0.0), index(Netlist::EARTH)))]);
        best[index(Netlist::EARTH)] = Some(Weight(0, 0.0));
        while let Some(Reverse((reached, at))) = queue.pop() {
            if best[at].is_some_and(|best| best < reached) {
                continue;
            }
            holding.weak[at] = reached.0 > 0;
            for &(element, to, step) in &holding.ways[at] {
                let total = Weight(reached.0 + step.0, reached.1 + step.1);
                if best[index(to)].is_none_or(|best| total < best) {
                    best[index(to)] = Some(total);
                    holding.by[index(to)] = Some(element);
                    queue.push(Reverse((total, index(to))));
                }
            }
        }
        holding
    }

    /// Only weak elements lead to this node from earth.
    pub(crate) fn is_weak(&self, node: NodeId) -> bool {
        self.weak.get(index(node)).copied().unwrap_or(false)
    }

    /// Every weak element that leads out of the piece of conductor a node belongs to.
    pub(super) fn weak_links(&self, node: NodeId) -> Vec<WeakLink> {
        let mut inside = HashSet::from([node]);
        let mut queue = vec![node];
        let mut leaving = Vec::new();
        while let Some(at) = queue.pop() {
            for &(element, far, Weight(weak, ohm)) in self.ways.get(index(at)).into_iter().flatten()
            {
                if weak > 0 {
                    leaving.push(WeakLink { element, far, admittance_siemens: 1.0 / ohm });
                } else if inside.insert(far) {
                    queue.push(far);
                }
            }
        }
        leaving.retain(|link| !inside.contains(&link.far));
        leaving
    }

    /// The elements from earth to a node, each with its far end; empty where nothing leads.
    pub(super) fn path(&self, netlist: &Netlist, node: NodeId) -> Vec<(ElementId, NodeId)> {
        let mut path = Vec::new();
        let mut at = node;
        while let Some(element) = self.by.get(index(at)).copied().flatten() {
            path.push((element, at));
            let (a, b) = netlist.ends(element);
            at = if a == at { b } else { a };
        }
        path.reverse();
        path
    }
}

/// The weight of an element as a way; `None` where it is none.
fn weight(netlist: &Netlist, solution: &Solution, id: ElementId) -> Option<Weight> {
    let element = netlist.element(id);
    let ohm = match element.law {
        Law::Open => return None,
        Law::Impedance(impedance) | Law::Source { impedance, .. } => {
            impedance.resistance_ohm.hypot(impedance.reactance_ohm)
        }
        Law::Capacitor { capacitance_farad } => {
            let omega = std::f64::consts::TAU * netlist.frequency_hz();
            // |Z| = 1 / (ω C); infinite for direct current
            1.0 / (omega * capacitance_farad)
        }
        // Ohm's law as it stands in this solution; a load without current leads nowhere.
        _ => {
            let ampere = solution.current(id).magnitude();
            if ampere <= 0.0 {
                return None;
            }
            solution.voltage(id).magnitude() / ampere
        }
    };
    if !ohm.is_finite() {
        return None;
    }
    let weak = matches!(element.role, Role::Capacitance | Role::Leakage) || ohm >= WEAK_OHM;
    Some(Weight(u32::from(weak), ohm))
}

/// The place of a node in a list by node.
fn index(node: NodeId) -> usize {
    node.0 as usize
}
