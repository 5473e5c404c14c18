//! Metal on which a fault would stay: no path that makes anything trip.

use std::collections::{HashMap, HashSet};

use crate::circuit::{BranchCircuit, Breaker, Vocabulary};
use crate::netlist::{Element, Law, Netlist, NodeId, Role};
use crate::protection::{Clearer, Clearing, overcurrent, residual_current};
use crate::quantity::{Address, Impedance, Phasor};
use crate::solution::{Holding, Reducer, Refusal, WhatIf};

use super::alike::{Alike, Alikes, step_of};
use super::earthing::Earthing;
use super::pieces::{carries_fault, joined};
use super::{Hazard, HazardKind, Limits, PERCEPTION_AMPERE, Severity, Situation, Trips, person};

/// A port that sees so much of the current that its breaker would get is taken at its word; what
/// other loads take at that moment is left out there.
const SURELY_SHARE: f64 = 0.9;

/// So many pieces of metal are followed; of more the current that would flow is enough.
const FOLLOWED: usize = 64;

/// Figures as near to each other as this share are said once.
const ALIKE_SHARE: f64 = 0.1;

/// Metal that should be grounded, and something live beside it.
struct Pair<'a> {
    metal: &'a Address,
    hot: &'a Address,
    nodes: (NodeId, NodeId),
    /// What is live is called a neutral there.
    by_neutral: bool,
    /// The metal is the ground of a receptacle, not the case of something wired in.
    is_socket: bool,
}

/// A pair that nothing surely trips for, with what would flow, amperes.
struct Doubtful<'p, 'a> {
    pair: &'p Pair<'a>,
    ampere: f64,
    /// The potential of what is live, volts.
    volt: f64,
    /// In what time it has to be cleared, seconds.
    within_s: f64,
    /// No breaker is before the live conductor.
    past_breakers: bool,
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
    let alikes = Alikes::of(situation);
    let earthing = Earthing::of(situation);
    // What flows into the metal comes back by no neutral then: all of it is residual current.
    let is_as_installed = situation.condition.faults.is_empty()
        && situation.circuit.parts().vocabulary == Vocabulary::Iec;
    let doubtful = pairs.iter().zip(prospective).filter_map(|(pair, ampere)| {
        let breaker = pieces.only_breaker(situation, pair.nodes.0);
        let within_s = within_s(situation, limits, (pair, breaker), &earthing);
        let sure_ampere = SURELY_SHARE * ampere;
        let trips = |one| {
            trips_in_time(one, sure_ampere, within_s)
                || is_as_installed && senses_in_time(one, sure_ampere, within_s)
        };
        let past_breakers = pieces.is_past_breakers(pair.nodes.0);
        let volt = situation.solution.potential(pair.nodes.0).map_or(0.0, Phasor::magnitude);
        let one = Doubtful { pair, ampere, volt, within_s, past_breakers };
        (!breaker.is_some_and(trips)).then_some(one)
    });
    // Metal into which as much would flow is alike wherever it is, behind breakers of one kind; elsewhere
    // what one piece of metal joins is.
    let mut groups: Vec<Vec<Doubtful<'_, '_>>> = Vec::new();
    let mut number_of: HashMap<_, usize> = HashMap::new();
    for one in doubtful {
        let (pair, bits) = (one.pair, one.within_s.to_bits());
        let behind = pieces.behind(situation, &one, alikes.as_ref());
        // Soil is no piece of metal: each electrode lets through what it does.
        let piece = pieces.piece_of_metal(pair.nodes.1);
        let carries = one.ampere >= PERCEPTION_AMPERE;
        let by_piece = carries && matches!(behind, Behind::Piece(_));
        let way_back = match by_piece {
            true => WayBack::Piece(piece),
            false => WayBack::Steps(step_of(one.ampere), step_of(one.volt)),
        };
        let key = (way_back, behind, bits, pair.by_neutral, one.past_breakers);
        let number = *number_of.entry(key).or_insert(groups.len());
        match groups.get_mut(number) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    let mut found: Vec<Hazard> = Vec::new();
    let clearer = || Clearer::new(situation.circuit, situation.condition).ok();
    let mut clearer = if groups.is_empty() { None } else { clearer() };
    for (number, group) in groups.iter().enumerate() {
        let hazard = match number < FOLLOWED {
            true => clearer.as_mut().and_then(|one| followed(situation, one, limits, group)),
            false => not_followed(group),
        };
        let Some(hazard) = hazard else { continue };
        match found.iter_mut().find(|known| are_one(known, &hazard)) {
            Some(known) => join(known, hazard),
            None => found.push(hazard),
        }
    }
    let order: HashMap<&Address, usize> = pairs.iter().map(|pair| pair.metal).zip(0..).collect();
    for hazard in &mut found {
        hazard.addresses.sort_by_key(|address| order.get(address).copied());
    }
    without_said(found)
}

/// Whether two are said as one.
fn are_one(known: &Hazard, other: &Hazard) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= ALIKE_SHARE * a.max(b);
    let (
        HazardKind::FaultNotCleared { ampere, volt, trips, within_s, by_neutral, past_breakers },
        HazardKind::FaultNotCleared {
            ampere: other_ampere,
            volt: other_volt,
            trips: other_trips,
            within_s: other_within_s,
            by_neutral: other_by_neutral,
            past_breakers: other_past_breakers,
        },
    ) = (&known.kind, &other.kind)
    else {
        return false;
    };
    let carry_nothing = ampere.max(*other_ampere) < PERCEPTION_AMPERE;
    let in_vain = |trips: &Trips| matches!(trips, Trips::InVain { .. });
    let alike = match trips {
        Trips::InVain { .. } => in_vain(other_trips),
        Trips::After { devices, .. } => {
            matches!(other_trips, Trips::After { devices: others, .. } if devices == others)
        }
        Trips::Nothing => trips == other_trips && near(*volt, *other_volt),
        _ => trips == other_trips && within_s.total_cmp(other_within_s).is_eq(),
    };
    known.severity == other.severity
        && (by_neutral, past_breakers) == (other_by_neutral, other_past_breakers)
        && alike
        && (carry_nothing || near(*ampere, *other_ampere))
}

/// Adds a hazard to one that is said with it: the slowest of what trips, and all that does in vain.
fn join(known: &mut Hazard, other: Hazard) {
    known.addresses.extend(other.addresses);
    let (
        HazardKind::FaultNotCleared { ampere, volt, trips, .. },
        HazardKind::FaultNotCleared {
            ampere: other_ampere,
            volt: other_volt,
            trips: other_trips,
            ..
        },
    ) = (&mut known.kind, other.kind)
    else {
        return;
    };
    match (trips, other_trips) {
        (Trips::InVain { devices }, Trips::InVain { devices: more }) => {
            *volt = volt.max(other_volt);
            let new = more.into_iter().filter(|device| !devices.contains(device));
            let new: Vec<String> = new.collect();
            devices.extend(new);
        }
        (Trips::After { after_s, .. }, Trips::After { after_s: later_s, .. })
            if later_s > *after_s =>
        {
            (*ampere, *volt, *after_s) = (other_ampere, other_volt, later_s);
        }
        _ => {}
    }
}

/// Each place once, and no live neutral where a hot says as much already.
fn without_said(found: Vec<Hazard>) -> Vec<Hazard> {
    let is_by_neutral = |hazard: &Hazard| {
        matches!(
            hazard.kind,
            HazardKind::FaultNotCleared { by_neutral: true, past_breakers: false, .. }
        )
    };
    let by_hot = found.iter().filter(|hazard| !is_by_neutral(hazard));
    let said: Vec<(Severity, HashSet<Address>)> =
        by_hot.map(|one| (one.severity, one.addresses.iter().cloned().collect())).collect();
    let mut kept = Vec::new();
    for mut hazard in found {
        let mut known = HashSet::new();
        hazard.addresses.retain(|address| known.insert(address.clone()));
        if is_by_neutral(&hazard) {
            let is_said = |address: &Address| {
                said.iter().any(|(as_grave, places)| {
                    *as_grave <= hazard.severity && places.contains(address)
                })
            };
            hazard.addresses.retain(|address| !is_said(address));
        }
        if !hazard.addresses.is_empty() {
            kept.push(hazard);
        }
    }
    kept
}

/// In what time a fault to a pair's metal has to be cleared, seconds. IEC 60364-4-41, 411.3.2.2 to
/// 411.3.2.4: table 41.1 for socket circuits to 63 A and others to 32 A, 5 s in TN and 1 s in TT for
/// the rest; with North American words the limit's.
fn within_s(
    situation: &Situation<'_>,
    limits: &Limits,
    (pair, breaker): (&Pair<'_>, Option<&BranchCircuit>),
    earthing: &Earthing,
) -> f64 {
    if situation.circuit.parts().vocabulary == Vocabulary::NorthAmerican {
        return limits.cleared_within_s;
    }
    let is_tt = earthing.is_tt(pair.metal);
    let most_ampere = if pair.is_socket { SOCKET_AMPERE } else { FIXED_AMPERE };
    let rating = breaker.and_then(|one| one.breaker.rating_ampere);
    if rating.is_none_or(|rating| rating > most_ampere) {
        return if is_tt { LONG_TT_S } else { limits.cleared_within_s };
    }
    let windings = &situation.circuit.parts().supply.windings;
    let volt = windings.iter().map(|winding| winding.emf_volt.magnitude()).fold(0.0, f64::max);
    // Nominal voltages, from which a supply is up to a tenth away.
    let row = TABLE_41_1.iter().find(|(nominal_volt, ..)| volt <= 1.1 * nominal_volt);
    let &(_, tn_s, tt_s) = row.unwrap_or(&ABOVE_TABLE_41_1);
    if is_tt { tt_s } else { tn_s }
}

/// Ratings up to which IEC 60364-4-41, 411.3.2.2, asks for the times of table 41.1, amperes.
const SOCKET_AMPERE: f64 = 63.0;
const FIXED_AMPERE: f64 = 32.0;

/// The time of other circuits in TT, seconds: IEC 60364-4-41, 411.3.2.4.
const LONG_TT_S: f64 = 1.0;

/// IEC 60364-4-41, table 41.1, alternating current: nominal voltage to earth up to, seconds in TN
/// and in TT.
const TABLE_41_1: [(f64, f64, f64); 3] = [(120.0, 0.8, 0.3), (230.0, 0.4, 0.2), (400.0, 0.2, 0.07)];
const ABOVE_TABLE_41_1: (f64, f64, f64) = (f64::INFINITY, 0.1, 0.04);

/// Of a group that is too many to be followed: what flows is known, and whether it trips anything is
/// not.
fn not_followed(group: &[Doubtful<'_, '_>]) -> Option<Hazard> {
    let worst = worst_of(group)?;
    Some(hazard(Severity::Warning, group, worst, (worst.ampere, worst.volt), Trips::Unknown))
}

fn worst_of<'g, 'p, 'a>(group: &'g [Doubtful<'p, 'a>]) -> Option<&'g Doubtful<'p, 'a>> {
    group.iter().min_by(|one, other| one.ampere.total_cmp(&other.ampere))
}

fn hazard(
    severity: Severity,
    group: &[Doubtful<'_, '_>],
    worst: &Doubtful<'_, '_>,
    (ampere, volt): (f64, f64),
    trips: Trips,
) -> Hazard {
    Hazard {
        severity,
        kind: HazardKind::FaultNotCleared {
            ampere,
            volt,
            trips,
            within_s: worst.within_s,
            by_neutral: worst.pair.by_neutral,
            past_breakers: worst.past_breakers,
        },
        addresses: group.iter().map(|one| one.pair.metal.clone()).collect(),
    }
}

/// What follows on a fault to the worst of a group.
fn followed(
    situation: &Situation<'_>,
    clearer: &mut Clearer<'_>,
    limits: &Limits,
    group: &[Doubtful<'_, '_>],
) -> Option<Hazard> {
    let worst = worst_of(group)?;
    let at = (worst.pair.hot, worst.pair.metal);
    let within = (limits.touch_volt, worst.within_s);
    let clearing = clearer.clear(at, &person(), within).ok()?;
    if clearing.left_volt < limits.touch_volt {
        return None;
    }
    let by_touch = clearing.left_at_touch_volt < limits.touch_volt;
    let severity = if by_touch { Severity::Notice } else { Severity::Warning };
    let figures = (clearing.ampere, clearing.left_volt);
    let trips = if by_touch { Trips::ByTouch } else { what_trips(situation, clearing) };
    Some(hazard(severity, group, worst, figures, trips))
}

fn what_trips(situation: &Situation<'_>, clearing: Clearing) -> Trips {
    let mut devices: Vec<String> = Vec::new();
    for step in clearing.trips {
        // Poles under one handle are one breaker.
        let branches = situation.circuit.parts().branch_circuits.iter();
        let mut tied = branches
            .filter(|branch| branch.id == step.device || branch.tied_with.contains(&step.device));
        let device = tied.next().map_or(step.device.clone(), |branch| branch.id.clone());
        if !devices.contains(&device) {
            devices.push(device);
        }
    }
    match clearing.ends_s {
        _ if devices.is_empty() => Trips::Nothing,
        Some(after_s) => Trips::After { devices, after_s },
        None => Trips::InVain { devices },
    }
}

fn trips_in_time(breaker: &BranchCircuit, ampere: f64, within_s: f64) -> bool {
    let breaker = &breaker.breaker;
    let after = breaker.rating_ampere.and_then(|rating| overcurrent(breaker.curve, rating, ampere));
    after.and_then(|after| after.latest_s).is_some_and(|latest| latest <= within_s)
}

fn senses_in_time(breaker: &BranchCircuit, ampere: f64, within_s: f64) -> bool {
    let breaker = &breaker.breaker;
    let rating = breaker.residual_trip_ampere;
    let after = rating.and_then(|it| residual_current(it, ampere, breaker.residual_delayed));
    after.and_then(|after| after.latest_s).is_some_and(|latest| latest <= within_s)
}

/// Every ground of a receptacle, and every case that is made to be grounded, that is not live itself,
/// with everything live beside it, in walking order.
fn pairs<'a>(situation: &'a Situation<'_>, limits: &Limits, holding: &Holding) -> Vec<Pair<'a>> {
    let netlist = situation.netlist;
    let height = |address: &Address| {
        let node = netlist.find_node(address)?;
        Some((node, situation.solution.potential(node)?.magnitude()))
    };
    let pair = |metal: &'a Address, hot: &'a Address, by_neutral: bool, is_socket: bool| {
        let metal_node = netlist.find_node(metal)?;
        let (node, volt) = height(hot)?;
        let is_live = volt >= limits.touch_volt && !holding.is_weak(node);
        // Metal that is live already is a hazard of its own.
        let has_volt = height(metal).is_some_and(|(_, volt)| volt >= limits.touch_wet_volt);
        let is_dead = !has_volt || holding.is_weak(metal_node);
        let nodes = (node, metal_node);
        (is_live && is_dead && node != metal_node).then_some(Pair {
            metal,
            hot,
            nodes,
            by_neutral,
            is_socket,
        })
    };
    let mut pairs: Vec<Pair<'a>> = Vec::new();
    for outlet in situation.circuit.parts().places.iter().flat_map(|place| &place.outlets) {
        let ground = outlet.slots.iter().find(|(slot, _)| slot.as_str() == "ground");
        let Some((_, ground)) = ground else { continue };
        let others = outlet.slots.iter().filter(|(slot, _)| slot.as_str() != "ground");
        pairs.extend(
            others.filter_map(|(slot, address)| pair(ground, address, slot == "neutral", true)),
        );
    }
    let known: HashSet<Option<u32>> =
        pairs.iter().map(|pair| holding.piece_of(pair.nodes.1)).collect();
    let with_conductor = ends_of_conductors(netlist);
    for load in &situation.circuit.parts().loads {
        let Some(frame) = load.frame.as_ref() else { continue };
        let Some(node) = netlist.find_node(frame) else { continue };
        let is_to_be_grounded = with_conductor.get(node.0 as usize) == Some(&true);
        // Of what is plugged in the receptacle speaks, unless its case is apart.
        let is_said = !load.plug_links.is_empty() && known.contains(&holding.piece_of(node));
        if is_to_be_grounded && !is_said {
            let ends = [&load.between.0, &load.between.1].into_iter();
            pairs.extend(
                ends.filter_map(|end| pair(frame, end, end.as_str().ends_with(".neutral"), false)),
            );
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

/// So many nodes, times the pairs that are asked for, are looked at from every side at once; of more each
/// pair is asked by itself.
const LOOKED_AT_ONCE: usize = 1_000_000;

/// What would flow between the nodes of each pair, amperes rms: what the port shows open, over what
/// it sees.
fn prospective_ampere(netlist: &Netlist, pairs: &[Pair<'_>]) -> Result<Vec<f64>, Refusal> {
    let ports: Vec<_> = pairs.iter().map(|pair| pair.nodes).collect();
    if ports.len() * netlist.nodes().len() > LOOKED_AT_ONCE {
        let mut reducer = Reducer::new(netlist, &ports)?;
        let ampere = |port| {
            // Parts that nothing joins carry no current between them.
            let seen = reducer.alone(port)?;
            Ok(seen.map_or(0.0, |(volt, seen)| volt.magnitude() / ohm_of(seen)))
        };
        return (0..ports.len()).map(ampere).collect();
    }
    let what_if = WhatIf::new(netlist, &[], &[ports])?;
    let mut work = what_if.work();
    what_if.put(&[], &mut work)?;
    let sights = what_if.read(0, &mut work)?;
    let ampere = sights.iter().map(|sight| {
        let volt = sight.voltage_volt.map_or(0.0, Phasor::magnitude);
        sight.impedance.map_or(0.0, |seen| volt / ohm_of(seen))
    });
    Ok(ampere.collect())
}

fn ohm_of(seen: Impedance) -> f64 {
    Phasor::new(seen.resistance_ohm, seen.reactance_ohm).magnitude()
}

/// How a fault's current comes back from metal.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum WayBack {
    /// By what this piece of metal joins.
    Piece(Option<u32>),
    /// By something that lets so much flow, from what is at so much: steps of both.
    Steps(i64, i64),
}

/// What protects a piece of conductor.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Behind {
    /// Any breaker of this curve and rating, by its bits.
    Breaker(String, u64),
    /// Any ground-fault breaker that is alike, with the metal.
    Alike(Alike),
    /// Whatever lies at this piece.
    Piece(Option<u32>),
}

/// The conductors of a netlist, cut at what protects them.
pub(super) struct Pieces {
    /// By node, its piece if only breakers cut.
    pub(super) by_breaker: Vec<u32>,
    /// By node, its piece if every contact does.
    by_contact: Vec<u32>,
    /// Any device but a breaker senses residual currents.
    senses_residual: bool,
    /// By piece the closed breaker that lies at it, if there is only one.
    only_breaker: HashMap<u32, Option<String>>,
    /// The pieces that the lines of the supply are of.
    of_lines: HashSet<u32>,
}

impl Pieces {
    pub(super) fn of(situation: &Situation<'_>) -> Self {
        let netlist = situation.netlist;
        // Filters and leaks feed nothing that a breaker would have to end.
        let is_conductor = |one: &Element| carries_fault(one) && one.role != Role::Breaker;
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
        let windings = situation.circuit.parts().supply.windings.iter();
        let lines = windings.filter_map(|winding| netlist.find_node(&winding.line));
        let of_lines = lines.map(piece).collect();
        Self { by_breaker, by_contact, only_breaker, senses_residual, of_lines }
    }

    /// The piece of metal that a node is of, which only breakers cut.
    fn piece_of_metal(&self, node: NodeId) -> Option<u32> {
        self.by_breaker.get(node.0 as usize).copied()
    }

    /// Whether a line of the supply reaches a node with no breaker on the way.
    fn is_past_breakers(&self, node: NodeId) -> bool {
        self.by_breaker.get(node.0 as usize).is_some_and(|piece| self.of_lines.contains(piece))
    }

    /// The breaker that alone feeds a node.
    pub(super) fn only_breaker<'c>(
        &self,
        situation: &Situation<'c>,
        node: NodeId,
    ) -> Option<&'c BranchCircuit> {
        let piece = self.by_breaker.get(node.0 as usize)?;
        situation.circuit.branch_circuit(self.only_breaker.get(piece)?.as_ref()?)
    }

    /// What protects the live conductor of a pair: where nothing senses residual currents, and no
    /// breaker trips, those of one rating do the same; else it is the piece of conductor that no
    /// contact parts.
    fn behind(
        &self,
        situation: &Situation<'_>,
        one: &Doubtful<'_, '_>,
        alikes: Option<&Alikes<'_>>,
    ) -> Behind {
        let node = one.pair.nodes.0;
        let branch = self.only_breaker(situation, node);
        let alike = alikes
            .zip(branch)
            .and_then(|(alikes, branch)| alikes.key(branch, one.pair.nodes, &self.by_breaker));
        if let Some(alike) = alike {
            return Behind::Alike(alike);
        }
        let breaker = branch.map(|one| &one.breaker);
        let holds = |breaker: &&Breaker| {
            let after = breaker
                .rating_ampere
                .and_then(|rating| overcurrent(breaker.curve, rating, one.ampere / SURELY_SHARE));
            after.and_then(|after| after.latest_s).is_none()
        };
        let plain = breaker
            .filter(|one| !self.senses_residual && one.residual_trip_ampere.is_none())
            .filter(holds);
        match plain.and_then(|one| Some((one.curve, one.rating_ampere?))) {
            Some((curve, rating)) => Behind::Breaker(format!("{curve:?}"), rating.to_bits()),
            None => Behind::Piece(self.by_contact.get(node.0 as usize).copied()),
        }
    }
}
