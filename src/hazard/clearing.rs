//! Metal on which a fault would stay: no path that makes anything trip.

use std::collections::{HashMap, HashSet};

use crate::circuit::BranchCircuit;
use crate::netlist::{Element, Law, Netlist, NodeId, Role};
use crate::protection::{clear, overcurrent};
use crate::quantity::{Address, Phasor};
use crate::solution::{Holding, Refusal, WhatIf};

use super::pieces::joined;
use super::{Hazard, HazardKind, Limits, PERCEPTION_AMPERE, Severity, Situation, person};

/// A port that sees so much of the current that its breaker would get is taken at its word; what
/// other loads take at that moment is left out there.
const SURELY_SHARE: f64 = 0.9;

/// So many pieces of metal are followed; of more the current that would flow is enough.
const FOLLOWED: usize = 64;

/// Metal that should be grounded, and the live terminal nearest to it.
struct Pair<'a> {
    metal: &'a Address,
    hot: &'a Address,
    nodes: (NodeId, NodeId),
}

/// Grounds and cases where a hot on the metal would trip nothing in time. A quick look at all, then
/// a solve of what trips for the worst of each piece of metal behind the same devices.
pub(super) fn not_to_be_cleared(
    situation: &Situation<'_>,
    limits: &Limits,
    holding: &Holding,
) -> Vec<Hazard> {
    let pairs = pairs(situation, limits, holding);
    let Ok(prospective) = prospective_ampere(situation.netlist, &pairs) else { return Vec::new() };
    let pieces = Pieces::of(situation);
    let doubtful = pairs.iter().zip(prospective).filter(|(pair, ampere)| {
        let breaker = pieces.only_breaker(situation, pair.nodes.0);
        !breaker.is_some_and(|breaker| trips_in_time(breaker, SURELY_SHARE * ampere, limits))
    });
    // Metal with no way back is alike wherever it is: one stands for all behind the same protection.
    let mut groups: Vec<Vec<(&Pair<'_>, f64)>> = Vec::new();
    let mut number_of: HashMap<_, usize> = HashMap::new();
    for (pair, ampere) in doubtful {
        let piece = holding.piece_of(pair.nodes.1).filter(|_| ampere >= PERCEPTION_AMPERE);
        let behind = pieces.behind(situation, pair.nodes.0);
        let number = *number_of.entry((piece, behind)).or_insert(groups.len());
        match groups.get_mut(number) {
            Some(group) => group.push((pair, ampere)),
            None => groups.push(vec![(pair, ampere)]),
        }
    }
    let mut found: Vec<(Option<u32>, Hazard)> = Vec::new();
    for (number, group) in groups.iter().enumerate() {
        let hazard = match number < FOLLOWED {
            true => followed(situation, limits, group),
            false => not_followed(situation, group),
        };
        let (Some((first, _)), Some(hazard)) = (group.first(), hazard) else { continue };
        let piece = holding.piece_of(first.nodes.1).filter(|_| !carries_nothing(&hazard));
        let is_one = |known: &&mut (Option<u32>, Hazard)| {
            known.0 == piece && known.1.severity == hazard.severity
        };
        match found.iter_mut().find(is_one) {
            Some((_, known)) => known.addresses.extend(hazard.addresses),
            None => found.push((piece, hazard)),
        }
    }
    found.into_iter().map(|(_, hazard)| hazard).collect()
}

/// Whether there is no way back from the metal at all.
fn carries_nothing(hazard: &Hazard) -> bool {
    matches!(hazard.kind, HazardKind::FaultNotCleared { ampere, .. } if ampere < PERCEPTION_AMPERE)
}

/// Of a group that is too many to be followed: what flows is known, and whether it trips anything is
/// not.
fn not_followed(situation: &Situation<'_>, group: &[(&Pair<'_>, f64)]) -> Option<Hazard> {
    let (worst, ampere) = group.iter().min_by(|(_, a), (_, b)| a.total_cmp(b))?;
    let volt = situation.solution.potential(worst.nodes.0)?.magnitude();
    Some(Hazard {
        severity: Severity::Warning,
        kind: HazardKind::FaultNotCleared {
            ampere: *ampere,
            volt,
            slowest_s: None,
            by_touch: false,
        },
        addresses: group.iter().map(|(pair, _)| pair.metal.clone()).collect(),
    })
}

/// What follows on a fault to the worst of a group.
fn followed(
    situation: &Situation<'_>,
    limits: &Limits,
    group: &[(&Pair<'_>, f64)],
) -> Option<Hazard> {
    let (worst, _) = group.iter().min_by(|(_, a), (_, b)| a.total_cmp(b))?;
    let (circuit, condition) = (situation.circuit, situation.condition);
    let at = (worst.hot, worst.metal);
    let clearing = clear(circuit, condition, at, &person(), limits.cleared_within_s).ok()?;
    if clearing.left_volt < limits.touch_volt {
        return None;
    }
    let by_touch = clearing.left_at_touch_volt < limits.touch_volt;
    Some(Hazard {
        severity: if by_touch { Severity::Notice } else { Severity::Warning },
        kind: HazardKind::FaultNotCleared {
            ampere: clearing.ampere,
            volt: clearing.left_volt,
            // What trips in time and leaves the metal live ends nothing.
            slowest_s: clearing
                .slowest_s
                .filter(|slowest| !by_touch && *slowest > limits.cleared_within_s),
            by_touch,
        },
        addresses: group.iter().map(|(pair, _)| pair.metal.clone()).collect(),
    })
}

fn trips_in_time(breaker: &BranchCircuit, ampere: f64, limits: &Limits) -> bool {
    let breaker = &breaker.breaker;
    let after = breaker.rating_ampere.and_then(|rating| overcurrent(breaker.curve, rating, ampere));
    after.and_then(|after| after.latest_s).is_some_and(|latest| latest <= limits.cleared_within_s)
}

/// Every ground of a receptacle, and every case that is made to be grounded, that has something
/// live beside it and is not live itself, in walking order.
fn pairs<'a>(situation: &'a Situation<'_>, limits: &Limits, holding: &Holding) -> Vec<Pair<'a>> {
    let netlist = situation.netlist;
    let height = |address: &Address| {
        let node = netlist.find_node(address)?;
        Some((node, situation.solution.potential(node)?.magnitude()))
    };
    let pair = |metal: &'a Address, beside: &mut dyn Iterator<Item = &'a Address>| {
        let metal_node = netlist.find_node(metal)?;
        let live = beside.filter_map(|address| Some((address, height(address)?)));
        let (hot, (node, volt)) = live.max_by(|(_, (_, a)), (_, (_, b))| a.total_cmp(b))?;
        let has_live = volt >= limits.touch_volt && !holding.is_weak(node);
        // Metal that is live already is a hazard of its own.
        let is_live = |(_, volt)| volt >= limits.touch_wet_volt && !holding.is_weak(metal_node);
        let is_dead = !height(metal).is_some_and(is_live);
        let nodes = (node, metal_node);
        (has_live && is_dead && node != metal_node).then_some(Pair { metal, hot, nodes })
    };
    let with_conductor = ends_of_conductors(netlist);
    let is_to_be_grounded = |frame: &Address| {
        let node = netlist.find_node(frame);
        node.and_then(|node| with_conductor.get(node.0 as usize)) == Some(&true)
    };
    let mut pairs: Vec<Pair<'a>> = Vec::new();
    for outlet in situation.circuit.parts().places.iter().flat_map(|place| &place.outlets) {
        let ground = outlet.slots.iter().find(|(slot, _)| slot.as_str() == "ground");
        let others = outlet.slots.iter().filter(|(slot, _)| slot.as_str() != "ground");
        let mut others = others.map(|(_, address)| address);
        pairs.extend(ground.and_then(|(_, ground)| pair(ground, &mut others)));
    }
    let mut known: HashSet<Option<u32>> =
        pairs.iter().map(|pair| holding.piece_of(pair.nodes.1)).collect();
    for load in &situation.circuit.parts().loads {
        let Some(frame) = load.frame.as_ref().filter(|frame| is_to_be_grounded(frame)) else {
            continue;
        };
        let mut ends = [&load.between.0, &load.between.1].into_iter();
        let Some(found) = pair(frame, &mut ends) else { continue };
        if known.insert(holding.piece_of(found.nodes.1)) {
            pairs.push(found);
        }
    }
    pairs
}

/// Of each node whether a conductor ends there, whole or not. A case without one is double
/// insulated or as old as its wiring.
fn ends_of_conductors(netlist: &Netlist) -> Vec<bool> {
    let mut found = vec![false; netlist.nodes().len()];
    for element in netlist.elements() {
        let role = netlist.element(element).role;
        if matches!(role, Role::Joint | Role::Wire | Role::Link | Role::Bond) {
            let (a, b) = netlist.ends(element);
            for end in [a, b] {
                found.get_mut(end.0 as usize).into_iter().for_each(|found| *found = true);
            }
        }
    }
    found
}

/// What would flow between the nodes of each pair, amperes rms: what the port shows open, over what
/// it sees.
fn prospective_ampere(netlist: &Netlist, pairs: &[Pair<'_>]) -> Result<Vec<f64>, Refusal> {
    let ports: Vec<_> = pairs.iter().map(|pair| pair.nodes).collect();
    let what_if = WhatIf::new(netlist, &[], &[ports])?;
    let mut work = what_if.work();
    what_if.put(&[], &mut work)?;
    let sights = what_if.read(0, &mut work)?;
    let ampere = sights.iter().map(|sight| {
        let volt = sight.voltage_volt.map_or(0.0, Phasor::magnitude);
        // Parts that nothing joins carry no current between them.
        let ohm = sight
            .impedance
            .map(|seen| Phasor::new(seen.resistance_ohm, seen.reactance_ohm).magnitude());
        ohm.map_or(0.0, |ohm| volt / ohm)
    });
    Ok(ampere.collect())
}

/// What protects a piece of conductor.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Behind {
    /// Any breaker of this curve and rating, by its bits.
    Breaker(String, u64),
    /// Whatever lies at this piece.
    Piece(Option<u32>),
}

/// The conductors of a netlist, cut at what protects them.
struct Pieces {
    /// By node, its piece if only breakers cut.
    by_breaker: Vec<u32>,
    /// By node, its piece if every contact does.
    by_contact: Vec<u32>,
    /// Any device but a breaker senses residual currents.
    senses_residual: bool,
    /// By piece the closed breaker that lies at it, if there is only one.
    only_breaker: HashMap<u32, Option<String>>,
}

impl Pieces {
    fn of(situation: &Situation<'_>) -> Self {
        let netlist = situation.netlist;
        let is_conductor =
            |element: &Element| !matches!(element.role, Role::Breaker | Role::Load | Role::Winding);
        let by_breaker = joined(netlist, is_conductor);
        let by_contact =
            joined(netlist, |element| is_conductor(element) && element.role != Role::Switch);
        let (by_breaker, by_contact) = (by_breaker.into_labeling(), by_contact.into_labeling());
        let piece = |node: NodeId| by_breaker.get(node.0 as usize).copied().unwrap_or(u32::MAX);
        let mut only_breaker: HashMap<u32, Option<String>> = HashMap::new();
        for element in netlist.elements() {
            let known = netlist.element(element);
            let Some(name) = known.id.strip_prefix("breaker:").filter(|_| known.law != Law::Open)
            else {
                continue;
            };
            let (a, b) = netlist.ends(element);
            for end in [piece(a), piece(b)] {
                let at = only_breaker.entry(end);
                at.and_modify(|one| *one = None).or_insert_with(|| Some(name.to_owned()));
            }
        }
        let mut devices = situation.circuit.parts().devices.iter();
        let senses_residual = devices.any(|device| device.kind.senses_residual());
        Self { by_breaker, by_contact, only_breaker, senses_residual }
    }

    /// The breaker that alone feeds a node.
    fn only_breaker<'c>(
        &self,
        situation: &Situation<'c>,
        node: NodeId,
    ) -> Option<&'c BranchCircuit> {
        let piece = self.by_breaker.get(node.0 as usize)?;
        situation.circuit.branch_circuit(self.only_breaker.get(piece)?.as_ref()?)
    }

    /// What protects a node: where nothing senses residual currents breakers of one rating do the
    /// same, else it is the piece of conductor that no contact parts.
    fn behind(&self, situation: &Situation<'_>, node: NodeId) -> Behind {
        let breaker = self.only_breaker(situation, node).map(|one| &one.breaker);
        let plain =
            breaker.filter(|one| !self.senses_residual && one.residual_trip_ampere.is_none());
        match plain.and_then(|one| Some((one.curve, one.rating_ampere?))) {
            Some((curve, rating)) => Behind::Breaker(format!("{curve:?}"), rating.to_bits()),
            None => Behind::Piece(self.by_contact.get(node.0 as usize).copied()),
        }
    }
}
