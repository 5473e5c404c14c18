//! Grounds that hang on a neutral.

use crate::netlist::{Netlist, NodeId, Role};
use crate::quantity::Address;
use crate::solution::Holding;

use super::pieces::joined;
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
    // No neutral of any cable joins, and nothing that a load lets through.
    let apart = joined(situation.netlist, |element| {
        let is_neutral = element.id.starts_with("wire:") && element.id.ends_with(".neutral");
        !is_neutral && !matches!(element.role, Role::Load | Role::Breaker)
    });
    let earth = apart.find(Netlist::EARTH.0);
    let hanging = grounds.into_iter().filter(|(node, _)| apart.find(node.0) != earth);
    let addresses: Vec<Address> = hanging.map(|(_, address)| address.clone()).collect();
    if addresses.is_empty() {
        return None;
    }
    Some(Hazard { severity: Severity::Warning, kind: HazardKind::GroundOnNeutral, addresses })
}
