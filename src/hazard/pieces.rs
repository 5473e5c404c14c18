//! A netlist cut into pieces of conductor.

use petgraph::unionfind::UnionFind;

use crate::netlist::{Element, Law, Netlist};

/// The pieces that closed conductors make of a netlist, those among them that are to join.
pub(super) fn joined(netlist: &Netlist, joins: impl Fn(&Element) -> bool) -> UnionFind<u32> {
    let mut pieces = UnionFind::<u32>::new(netlist.nodes().len());
    for element in netlist.elements() {
        let known = netlist.element(element);
        if known.law != Law::Open && !known.role.is_feeble() && joins(known) {
            let (a, b) = netlist.ends(element);
            pieces.union(a.0, b.0);
        }
    }
    pieces
}
