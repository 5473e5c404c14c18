//! Grounds that hang on a neutral.

use petgraph::unionfind::UnionFind;

use crate::netlist::{Law, Netlist, NodeId, Role};
use crate::quantity::Address;
use crate::solution::Holding;

use super::{Hazard, HazardKind, Limits, Severity, Situation};

/// Grounds of receptacles that reach the source only by the neutral of their circuit, as through
/// a bootleg ground: all looks well until that neutral opens.
pub(super) fn on_neutral(
    situation: &Situation<'_>,
    limits: &Limits,
    holding: &Holding,
) -> Option<Hazard> {
    let grounds: Vec<(NodeId, &Address)> = situation
        .circuit
        .outlets()
        .flat_map(|(_, outlet)| &outlet.slots)
        .filter(|(slot, _)| slot == "ground")
        .filter_map(|(_, address)| Some((situation.netlist.find_node(address)?, address)))
        .filter(|(node, _)| !holding.is_weak(*node))
        // What is live already is a hazard of its own.
        .filter(|(node, _)| {
            let potential = situation.solution.potential(*node);
            potential.is_some_and(|potential| potential.magnitude() < limits.touch_wet_volt)
        })
        .collect();
    let apart = without_neutrals(situation);
    let earth = apart.find(Netlist::EARTH.0);
    let hanging = grounds.into_iter().filter(|(node, _)| apart.find(node.0) != earth);
    let addresses: Vec<Address> = hanging.map(|(_, address)| address.clone()).collect();
    if addresses.is_empty() {
        return None;
    }
    Some(Hazard { severity: Severity::Warning, kind: HazardKind::GroundOnNeutral, addresses })
}

/// The pieces of conductor with no neutral of any cable and nothing that a load lets through.
fn without_neutrals(situation: &Situation<'_>) -> UnionFind<u32> {
    let netlist = situation.netlist;
    let mut joined = UnionFind::<u32>::new(netlist.nodes().len());
    for element in netlist.elements() {
        let known = netlist.element(element);
        let is_neutral = known.id.starts_with("wire:") && known.id.ends_with(".neutral");
        let conducts = known.law != Law::Open
            && !known.role.is_feeble()
            && !matches!(known.role, Role::Load | Role::Breaker);
        if conducts && !is_neutral {
            let (a, b) = netlist.ends(element);
            joined.union(a.0, b.0);
        }
    }
    joined
}
