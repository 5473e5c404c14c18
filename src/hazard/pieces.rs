//! A netlist cut into pieces of conductor.

use petgraph::unionfind::UnionFind;

use crate::netlist::{Element, ElementId, Law, Netlist, Role};

/// What joins with more than this is nearly open and carries no fault current worth the name, ohms:
/// the bound of [`JointBand::NearlyOpen`](super::JointBand::NearlyOpen).
const NEARLY_OPEN_OHM: f64 = 10.0;

/// Whether an element is metal that carries a fault's current: no load, no filter, no contact that is
/// nearly open. Electrodes are the caller's.
pub(super) fn carries_fault(element: &Element) -> bool {
    let is_metal = !matches!(element.role, Role::Load | Role::Winding | Role::Electrode);
    is_metal
        && match element.law {
            Law::Impedance(impedance) => impedance.resistance_ohm <= NEARLY_OPEN_OHM,
            Law::GlowingJoint { .. } => true,
            _ => false,
        }
}

/// The pieces that closed conductors make of a netlist, those among them that are to join.
pub(super) fn joined(netlist: &Netlist, joins: impl Fn(&Element) -> bool) -> UnionFind<u32> {
    let mut pieces = UnionFind::<u32>::new(netlist.nodes().len());
    for element in joining(netlist, joins) {
        let (a, b) = netlist.ends(element);
        pieces.union(a.0, b.0);
    }
    pieces
}

/// The closed conductors themselves.
pub(super) fn joining(
    netlist: &Netlist,
    joins: impl Fn(&Element) -> bool,
) -> impl Iterator<Item = ElementId> {
    netlist.elements().filter(move |&element| {
        let known = netlist.element(element);
        known.law != Law::Open && !known.role.is_feeble() && joins(known)
    })
}
