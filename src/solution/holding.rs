//! Which terminals are held at their potential to earth by something that conducts, and how
//! weakly the others are.

use petgraph::unionfind::UnionFind;

use super::Solution;
use crate::netlist::{Netlist, NodeId};

/// The pieces of conductor of a solved netlist: nodes that anything but capacitance, leakage
/// and other feeble elements joins are one piece.
///
/// One look at the whole netlist; [`Solution::feed`] says more about one terminal.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::Address;
/// use slotwise::solution::{Holding, solve};
///
/// // 100 pF hold a cut conductor; at 60 Hz that is 38 nS.
/// let mut netlist = Netlist::new(60.0);
/// let spare = netlist.node(&Address::from("spare"));
/// let stray = Law::Capacitor { capacitance_farad: 100e-12 };
/// netlist.add("stray", spare, Netlist::EARTH, Role::Capacitance, stray)?;
/// let holding = Holding::new(&netlist, &solve(&netlist)?);
/// assert!(holding.is_weak(spare));
/// assert!((holding.siemens(spare) - 37.7e-9).abs() < 0.1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Holding {
    /// For each node a node that stands for its piece.
    piece: Vec<u32>,
    /// For each node that stands for a piece, what holds it from outside, siemens.
    siemens: Vec<f64>,
}

impl Holding {
    /// The pieces of `netlist`, of which `solution` is the solution.
    pub fn new(netlist: &Netlist, solution: &Solution) -> Self {
        let n_nodes = netlist.nodes().len();
        let mut joined = UnionFind::<u32>::new(n_nodes);
        for element in netlist.elements() {
            let conducts =
                solution.strength(netlist, element) > 0.0 && !solution.is_feeble(netlist, element);
            if conducts {
                let (a, b) = netlist.ends(element);
                joined.union(a.0, b.0);
            }
        }
        let piece = joined.into_labeling();
        let mut siemens = vec![0.0; n_nodes];
        for element in netlist.elements() {
            let (a, b) = netlist.ends(element);
            let ends = [a, b].map(|node| piece[node.0 as usize]);
            if ends[0] != ends[1] {
                for end in ends {
                    siemens[end as usize] += solution.strength(netlist, element);
                }
            }
        }
        Self { piece, siemens }
    }

    /// Nothing that conducts leads from this node to earth.
    pub fn is_weak(&self, node: NodeId) -> bool {
        self.piece_of(node) != self.piece_of(Netlist::EARTH)
    }

    /// Whether two nodes are one piece of conductor.
    pub fn are_joined(&self, one: NodeId, other: NodeId) -> bool {
        self.piece_of(one) == self.piece_of(other)
    }

    /// The admittances of all feeble elements that hold the piece this node belongs to, added
    /// up by magnitude. Times its potential, this bounds the current that the piece can
    /// deliver to earth while what is at the other ends stays where it is.
    pub fn siemens(&self, node: NodeId) -> f64 {
        let piece = self.piece_of(node);
        piece.and_then(|piece| self.siemens.get(piece as usize)).copied().unwrap_or(0.0)
    }

    /// A number that all nodes of one piece of conductor share; `None` for a node of another netlist.
    pub(crate) fn piece_of(&self, node: NodeId) -> Option<u32> {
        self.piece.get(node.0 as usize).copied()
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{Law, Role};
    use crate::quantity::Address;
    use crate::solution::solve;

    #[test]
    fn a_cut_conductor_is_held_by_all_that_leaks_from_any_of_its_ends() {
        let mut netlist = Netlist::new(60.0);
        let [near, far] = ["near", "far"].map(|name| netlist.node(&Address::from(name)));
        let mut add = |id: &str, a, b, role, law| netlist.add(id, a, b, role, law).unwrap();
        add("wire", near, far, Role::Wire, Law::resistance(0.1));
        add("leak", near, Netlist::EARTH, Role::Leakage, Law::resistance(1e9));
        add("damp", far, Netlist::EARTH, Role::Leakage, Law::resistance(0.5e9));
        let holding = Holding::new(&netlist, &solve(&netlist).unwrap());
        // A gigohm and half of one, side by side.
        for node in [near, far] {
            assert_relative_eq!(holding.siemens(node), 3e-9, max_relative = 1e-12);
        }
        assert!(holding.is_weak(near) && holding.are_joined(near, far));
        assert!(holding.siemens(NodeId(99)).abs() < f64::MIN_POSITIVE, "of another netlist");
    }
}
