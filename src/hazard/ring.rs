//! Rings that are open: what is left is a radial, too thin for what it feeds alone.

use std::collections::HashSet;

use petgraph::algo::bridges::bridges;
use petgraph::graph::UnGraph;
use petgraph::unionfind::UnionFind;
use petgraph::visit::EdgeRef;

use crate::circuit::reach::{Reach, Subpanels};
use crate::circuit::{BranchCircuit, Cable, Configuration, Outlet};
use crate::netlist::{Element, ElementId, Netlist, NodeId, Role};
use crate::quantity::Address;

use super::pieces::{carries_fault, joined, joining};
use super::{Hazard, HazardKind, Severity, Situation};

/// Conductors that a ring shared its current with, and that now have to carry it alone.
pub(super) fn opened(situation: &Situation<'_>) -> Vec<Hazard> {
    let Some((sound, _)) = situation.sound.filter(|_| !situation.condition.faults.is_empty())
    else {
        return Vec::new();
    };
    let rings = [Rings::of(sound), Rings::of(situation.netlist)];
    let branches = situation.circuit.parts().branch_circuits.iter();
    branches.filter_map(|branch| opened_of(situation, &rings, branch)).collect()
}

fn opened_of(
    situation: &Situation<'_>,
    [sound, now]: &[Rings<'_>; 2],
    branch: &BranchCircuit,
) -> Option<Hazard> {
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
            if !sound.have(&wire) || now.have(&wire) {
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

/// The conductors of a network with another way from their one end to the other.
struct Rings<'n> {
    netlist: &'n Netlist,
    pieces: UnionFind<u32>,
    /// What carries current and is the only way between its ends.
    only_ways: HashSet<ElementId>,
}

impl<'n> Rings<'n> {
    fn of(netlist: &'n Netlist) -> Self {
        let edges = joining(netlist, is_conductor);
        let ends = edges.map(|id| (netlist.ends(id), id));
        let ends = ends.map(|((a, b), id)| (a.0, b.0, id));
        let graph = UnGraph::<(), ElementId, u32>::from_edges(ends);
        // Two side by side are a ring of their own, which the search for bridges does not see.
        let is_single = |a, b| graph.edges_connecting(a, b).take(2).count() == 1;
        let bridges = bridges(&graph).filter(|edge| is_single(edge.source(), edge.target()));
        let only_ways = bridges.map(|edge| *edge.weight()).collect();
        Self { netlist, pieces: joined(netlist, is_conductor), only_ways }
    }

    fn have(&self, wire: &Wire<'_>) -> bool {
        self.netlist.find_element(&wire.id()).is_some_and(|id| {
            let (a, b) = self.netlist.ends(id);
            self.pieces.equiv(a.0, b.0) && !self.only_ways.contains(&id)
        })
    }
}

fn is_conductor(element: &Element) -> bool {
    carries_fault(element) && element.role != Role::Breaker
}

/// A conductor of a cable.
struct Wire<'c> {
    cable: &'c Cable,
    conductor: &'c str,
}

impl Wire<'_> {
    fn id(&self) -> String {
        format!("wire:{}.{}", self.cable.id, self.conductor)
    }

    /// Its ends, and the pieces of conductor of a network without it.
    fn taken_out(&self, netlist: &Netlist) -> Option<((NodeId, NodeId), UnionFind<u32>)> {
        let id = self.id();
        let ends = netlist.ends(netlist.find_element(&id)?);
        Some((ends, joined(netlist, |one| is_conductor(one) && one.id != id)))
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

#[cfg(test)]
mod tests {
    use crate::circuit::file;
    use crate::condition::Condition;
    use crate::netlist::wire;

    use super::*;

    #[test]
    fn a_wire_is_in_a_ring_where_its_ends_stay_joined_without_it() {
        let text = include_str!("../../circuits/village-hall.ron");
        let circuit = file::read(text).unwrap().circuit;
        let mut in_rings = 0;
        for words in ["", "line open at oven, load side", "neutral and earth bridged at oven"] {
            let mut condition = Condition::default();
            if !words.is_empty() {
                condition.say(&circuit, words).unwrap();
            }
            let netlist = wire(&circuit, &condition).unwrap();
            let rings = Rings::of(&netlist);
            for cable in &circuit.parts().cables {
                for conductor in &cable.conductors {
                    let wire = Wire { cable, conductor: &conductor.name };
                    let stays = wire
                        .taken_out(&netlist)
                        .is_some_and(|((a, b), others)| others.equiv(a.0, b.0));
                    assert_eq!(rings.have(&wire), stays, "{words}: {}", wire.id());
                    in_rings += usize::from(stays);
                }
            }
        }
        assert!(in_rings > 0);
    }
}
