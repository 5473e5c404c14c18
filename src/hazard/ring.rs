//! Rings that are open: what is left is a radial, too thin for what it feeds alone.

use petgraph::unionfind::UnionFind;

use crate::circuit::reach::{Reach, Subpanels};
use crate::circuit::{BranchCircuit, Cable, Configuration, Outlet};
use crate::netlist::{Netlist, NodeId, Role};
use crate::quantity::Address;

use super::pieces::{carries_fault, joined};
use super::{Hazard, HazardKind, Severity, Situation};

/// Conductors that a ring shared its current with, and that now have to carry it alone.
pub(super) fn opened(situation: &Situation<'_>) -> Vec<Hazard> {
    let Some((sound, _)) = situation.sound.filter(|_| !situation.condition.faults.is_empty())
    else {
        return Vec::new();
    };
    let branches = situation.circuit.parts().branch_circuits.iter();
    branches.filter_map(|branch| opened_of(situation, sound, branch)).collect()
}

fn opened_of(situation: &Situation<'_>, sound: &Netlist, branch: &BranchCircuit) -> Option<Hazard> {
    let parts = situation.circuit.parts();
    let rating_ampere = branch.breaker.rating_ampere?;
    let hot = Address::from(branch.id.as_str()).join("hot");
    let ends = parts.cables.iter().flat_map(|cable| &cable.ends);
    let leaving = ends.filter(|landings| landings.iter().any(|landing| landing.to == hot)).count();
    let pole = situation.netlist.find_element(&format!("breaker:{}", branch.id))?;
    if leaving < 2 || !carries_fault(situation.netlist.element(pole)) {
        return None;
    }
    let fed = Reach::of(situation.circuit, &[&branch.id], Subpanels::NotPassed).cables;
    let mut addresses = Vec::new();
    let (mut least_ampere, mut most_ampere) = (f64::INFINITY, 0.0_f64);
    for cable in parts.cables.iter().filter(|cable| fed.contains(&cable.id)) {
        for conductor in cable.conductors.iter().filter(|one| one.name != "ground") {
            let ampacity = conductor.ampacity_ampere.filter(|ampere| *ampere < rating_ampere);
            let Some(ampacity_ampere) = ampacity else { continue };
            let wire = Wire { cable, conductor: &conductor.name };
            if !wire.is_in_a_ring(sound) || wire.is_in_a_ring(situation.netlist) {
                continue;
            }
            let feeds_ampere = wire.feeds_alone_ampere(situation, &hot).min(rating_ampere);
            if feeds_ampere > ampacity_ampere {
                addresses.push(Address::from(format!("{}.{}", cable.id, conductor.name)));
                least_ampere = least_ampere.min(ampacity_ampere);
                most_ampere = most_ampere.max(feeds_ampere);
            }
        }
    }
    (!addresses.is_empty()).then_some(Hazard {
        severity: Severity::Warning,
        kind: HazardKind::ConductorOverload {
            ampere: most_ampere,
            ampacity_ampere: least_ampere,
            now: false,
        },
        addresses,
    })
}

/// A conductor of a cable.
struct Wire<'c> {
    cable: &'c Cable,
    conductor: &'c str,
}

impl Wire<'_> {
    /// Its ends, and the pieces of conductor of a network without it.
    fn taken_out(&self, netlist: &Netlist) -> Option<((NodeId, NodeId), UnionFind<u32>)> {
        let id = format!("wire:{}.{}", self.cable.id, self.conductor);
        let ends = netlist.ends(netlist.find_element(&id)?);
        let others =
            joined(netlist, |one| carries_fault(one) && one.role != Role::Breaker && one.id != id);
        Some((ends, others))
    }

    /// Whether there is another way from its one end to the other.
    fn is_in_a_ring(&self, netlist: &Netlist) -> bool {
        let taken_out = self.taken_out(netlist);
        taken_out.is_some_and(|((a, b), others)| others.equiv(a.0, b.0))
    }

    /// What the receptacles that hang on it alone may draw together, amperes.
    fn feeds_alone_ampere(&self, situation: &Situation<'_>, hot: &Address) -> f64 {
        let netlist = situation.netlist;
        let Some(((a, b), others)) = self.taken_out(netlist) else { return 0.0 };
        let windings = &situation.circuit.parts().supply.windings;
        let source = match self.conductor {
            "neutral" => windings.first().map(|winding| &winding.neutral),
            _ => Some(hot),
        };
        let Some(source) = source.and_then(|source| netlist.find_node(source)) else {
            return 0.0;
        };
        let far = match (others.equiv(a.0, source.0), others.equiv(b.0, source.0)) {
            (true, false) => b,
            (false, true) => a,
            _ => return 0.0,
        };
        let is_beyond = |slot: &Address| {
            netlist.find_node(slot).is_some_and(|slot| others.equiv(slot.0, far.0))
        };
        let beyond = situation.circuit.outlets().filter(|(_, outlet)| {
            outlet.slots.iter().any(|(name, slot)| name != "ground" && is_beyond(slot))
        });
        let rated = |outlet: &Outlet| Configuration::named(&outlet.configuration);
        let each = beyond.filter_map(|(_, outlet)| rated(outlet));
        each.map(|one| f64::from(one.rating_ampere)).sum()
    }
}
