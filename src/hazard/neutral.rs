//! Neutrals that are open while nothing is switched on.

use std::collections::HashSet;

use petgraph::unionfind::UnionFind;

use crate::circuit::Link;
use crate::netlist::{Law, Netlist, Role};
use crate::quantity::Address;
use crate::solution::Holding;

use super::pieces::{carries_fault, joined};
use super::{Hazard, HazardKind, Limits, Severity, Situation};

/// Receptacles with a live hot whose neutral has no way back to the source, and what is wired in with
/// such a neutral and a hot that is live once its switch is on: dead as it seems, and live with the
/// first load. Where a load is on already the neutral is live metal, and said as such.
pub(super) fn open(situation: &Situation<'_>, limits: &Limits, holding: &Holding) -> Vec<Hazard> {
    let Some((sound, _)) = situation.sound else { return Vec::new() };
    let (now, as_installed) = (Ways::of(situation, situation.netlist), Ways::of(situation, sound));
    let is_live = |address: &Address| {
        situation.netlist.find_node(address).is_some_and(|node| {
            let volt = situation.solution.potential(node).map(|volt| volt.magnitude());
            !holding.is_weak(node) && volt.is_some_and(|volt| volt >= limits.touch_wet_volt)
        })
    };
    let is_open = |neutral: &Address| {
        as_installed.reaches_neutral(neutral)
            && !now.reaches_neutral(neutral)
            && !now.is_fed(neutral)
            && !is_live(neutral)
    };
    let mut found: Vec<OpenPiece<'_>> = Vec::new();
    for (_, outlet) in situation.circuit.outlets() {
        let is_hot = |slot: &str| slot != "neutral" && slot != "ground";
        let hots = outlet.slots.iter().filter(|(slot, hot)| is_hot(slot) && now.is_fed(hot));
        let hots: Vec<&Address> = hots.map(|(_, hot)| hot).collect();
        let neutral = outlet.slots.iter().find(|(slot, _)| slot == "neutral");
        let Some((_, neutral)) = neutral.filter(|(_, at)| !hots.is_empty() && is_open(at)) else {
            continue;
        };
        let Some(piece) = now.piece(neutral) else { continue };
        add(&mut found, OpenPiece { piece, neutrals: vec![neutral.clone()], hots });
    }
    for (neutral, hot) in wired_in(situation) {
        let lines = now.lines_once_switched_on(situation, hot);
        let Some(piece) = now.piece(neutral).filter(|_| is_open(neutral) && !lines.is_empty())
        else {
            continue;
        };
        let neutrals = vec![landing(situation, neutral).clone()];
        add(&mut found, OpenPiece { piece, neutrals, hots: lines });
    }
    let slots = situation.circuit.outlets().flat_map(|(_, outlet)| &outlet.slots);
    let grounds = slots.filter(|(slot, _)| slot == "ground").map(|(_, ground)| now.piece(ground));
    let grounds: HashSet<Option<u32>> = grounds.collect();
    let said = found.into_iter().filter_map(|one| {
        let (volt, most_volt) = voltages(situation, &one.hots)?;
        let between_hots_volt = (most_volt > SHARED_SHARE * volt).then_some(most_volt);
        Some(Hazard {
            severity: Severity::Warning,
            kind: HazardKind::OpenNeutral {
                volt,
                between_hots_volt,
                has_grounds: grounds.contains(&Some(one.piece)),
            },
            addresses: one.neutrals,
        })
    });
    said.collect()
}

/// The neutral of each load that is wired in, and its other end.
pub(super) fn wired_in<'a>(
    situation: &Situation<'a>,
) -> impl Iterator<Item = (&'a Address, &'a Address)> {
    let loads = situation.circuit.parts().loads.iter().filter(|load| load.plug_links.is_empty());
    let ends = loads.flat_map(|load| {
        let (one, other) = (&load.between.0, &load.between.1);
        [(one, other), (other, one)]
    });
    ends.filter(|(neutral, _)| neutral.as_str().ends_with(".neutral"))
}

/// What the end of a load is joined to in its box, while it is; else the end itself.
pub(super) fn landing<'a>(situation: &Situation<'a>, end: &'a Address) -> &'a Address {
    let mut links = situation.circuit.parts().links.iter();
    let link = links.find(|link| link.between.0 == *end || link.between.1 == *end);
    let is_closed = |link: &&Link| {
        let element = situation.netlist.find_element(&format!("link:{}", link.id));
        element.is_some_and(|element| situation.netlist.element(element).law != Law::Open)
    };
    match link.filter(is_closed) {
        Some(link) if link.between.0 == *end => &link.between.1,
        Some(link) => &link.between.0,
        None => end,
    }
}

/// A piece of neutral that leads nowhere.
struct OpenPiece<'a> {
    piece: u32,
    neutrals: Vec<Address>,
    /// The live hots of its receptacles, and the lines that feed what is wired in.
    hots: Vec<&'a Address>,
}

/// Adds to the piece of neutral that it is of.
fn add<'a>(found: &mut Vec<OpenPiece<'a>>, one: OpenPiece<'a>) {
    let Some(known) = found.iter_mut().find(|known| known.piece == one.piece) else {
        found.push(one);
        return;
    };
    let new = one.neutrals.into_iter().filter(|neutral| !known.neutrals.contains(neutral));
    let new: Vec<Address> = new.collect();
    known.neutrals.extend(new);
    known.hots.extend(one.hots);
}

/// Hots that are this much further from each other than from the neutral are on different legs.
const SHARED_SHARE: f64 = 1.2;

/// The highest voltage of these hots to the neutral of the source, and the highest to the first of
/// them: legs are as far from each other as from any.
fn voltages(situation: &Situation<'_>, hots: &[&Address]) -> Option<(f64, f64)> {
    let (netlist, solution) = (situation.netlist, situation.solution);
    let source = &situation.circuit.parts().supply.windings.first()?.neutral;
    let first = netlist.find_node(hots.first()?)?;
    let highest_to = |to| {
        let nodes = hots.iter().filter_map(|hot| netlist.find_node(hot));
        let volts = nodes.filter_map(|hot| solution.difference(hot, to));
        volts.map(|volt| volt.magnitude()).fold(0.0, f64::max)
    };
    Some((highest_to(netlist.find_node(source)?), highest_to(first)))
}

/// What metal joins to what, loads apart.
struct Ways<'n> {
    netlist: &'n Netlist,
    /// Breakers apart.
    metal: UnionFind<u32>,
    with_breakers: UnionFind<u32>,
    /// With every switch closed that is open.
    switched_on: UnionFind<u32>,
    neutrals: Vec<u32>,
    lines: Vec<u32>,
}

impl<'n> Ways<'n> {
    fn of(situation: &Situation<'_>, netlist: &'n Netlist) -> Self {
        let windings = &situation.circuit.parts().supply.windings;
        let node = |address: &Address| netlist.find_node(address).map(|node| node.0);
        Self {
            netlist,
            metal: joined(netlist, |one| carries_fault(one) && one.role != Role::Breaker),
            with_breakers: joined(netlist, carries_fault),
            switched_on: switched_on(netlist),
            neutrals: windings.iter().filter_map(|one| node(&one.neutral)).collect(),
            lines: windings.iter().filter_map(|one| node(&one.line)).collect(),
        }
    }

    fn piece(&self, address: &Address) -> Option<u32> {
        self.netlist.find_node(address).map(|node| self.metal.find(node.0))
    }

    fn reaches_neutral(&self, address: &Address) -> bool {
        let node = self.netlist.find_node(address);
        node.is_some_and(|node| self.neutrals.iter().any(|&end| self.metal.equiv(node.0, end)))
    }

    fn is_fed(&self, address: &Address) -> bool {
        let node = self.netlist.find_node(address);
        node.is_some_and(|node| self.lines.iter().any(|&end| self.with_breakers.equiv(node.0, end)))
    }

    /// The lines of the supply that feed this once its switches are on.
    fn lines_once_switched_on<'a>(
        &self,
        situation: &Situation<'a>,
        address: &Address,
    ) -> Vec<&'a Address> {
        let Some(node) = self.netlist.find_node(address) else { return Vec::new() };
        let windings = situation.circuit.parts().supply.windings.iter();
        let feeds = |line: &&Address| {
            let line = self.netlist.find_node(line);
            line.is_some_and(|line| self.switched_on.equiv(node.0, line.0))
        };
        windings.map(|winding| &winding.line).filter(feeds).collect()
    }
}

/// The pieces of conductor once every switch is on.
fn switched_on(netlist: &Netlist) -> UnionFind<u32> {
    let mut pieces = joined(netlist, carries_fault);
    for id in netlist.elements().filter(|&id| netlist.element(id).role == Role::Switch) {
        let (a, b) = netlist.ends(id);
        pieces.union(a.0, b.0);
    }
    pieces
}
