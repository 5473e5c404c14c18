//! Multiwire circuits whose breakers can be off one by one.

use crate::circuit::BranchCircuit;
use crate::netlist::Law;
use crate::quantity::Address;

use super::conductor::feeding;
use super::{Hazard, HazardKind, Severity, Situation};

/// Breakers that share a neutral and no handle: whoever switches one off opens boxes in which the
/// other is live, and the neutral carries its current.
pub(super) fn not_tied(situation: &Situation<'_>) -> Vec<Hazard> {
    let ends = situation.circuit.parts().cables.iter().flat_map(|cable| {
        let has_neutral = cable.conductors.iter().any(|conductor| conductor.name == "neutral");
        cable.ends.iter().filter(move |_| has_neutral).map(move |landings| (cable, landings))
    });
    ends.filter_map(|(cable, landings)| {
        let to: Vec<&Address> = landings.iter().map(|landing| &landing.to).collect();
        let branches = feeding(situation.circuit, &to);
        let (first, others) = branches.split_first()?;
        let neutrals = landings.iter().filter(|landing| landing.conductor.starts_with("neutral"));
        if neutrals.count() >= branches.len() {
            return None;
        }
        if others.iter().all(|other| first.tied_with.contains(&other.id)) {
            return None;
        }
        let off = branches.iter().filter(|branch| is_off(situation, branch)).count();
        if off == branches.len() {
            return None;
        }
        let neutral = situation.netlist.find_element(&format!("wire:{}.neutral", cable.id));
        let neutral_ampere =
            neutral.map_or(0.0, |wire| situation.solution.current(wire).magnitude());
        Some(Hazard {
            severity: Severity::Warning,
            kind: HazardKind::HandlesNotTied { neutral_ampere, one_off: off > 0 },
            addresses: branches.iter().map(|one| Address::from(one.id.as_str())).collect(),
        })
    })
    .collect()
}

fn is_off(situation: &Situation<'_>, branch: &BranchCircuit) -> bool {
    let pole = situation.netlist.find_element(&format!("breaker:{}", branch.id));
    pole.is_none_or(|pole| situation.netlist.element(pole).law == Law::Open)
}
