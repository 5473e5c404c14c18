//! Grounds that hang on a neutral, and supplies that have come to earth.

use petgraph::unionfind::UnionFind;

use crate::netlist::{Element, Law, Netlist, NodeId, Role};
use crate::quantity::{Address, Phasor};
use crate::solution::{Holding, Solution};

use super::earthing::Earthing;
use super::pieces::{carries_fault, joined};
use super::touch::is_isolated;
use super::{Hazard, HazardKind, Limits, Severity, Situation};

/// Grounds of receptacles that reach the source only by the neutral of their circuit, as through
/// a bootleg ground: all looks well until that neutral opens.
pub(super) fn on_neutral(
    situation: &Situation<'_>,
    limits: &Limits,
    holding: &Holding,
) -> Option<Hazard> {
    let grounds = situation
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
        });
    let is_neutral = |one: &Element| one.id.starts_with("wire:") && one.id.ends_with(".neutral");
    let apart = Ways::of(situation, |one| !is_neutral(one));
    let whole = Ways::of(situation, |_| true);
    let earthing = Earthing::of(situation);
    let hanging = grounds.filter(|(node, address)| {
        // Where the soil is the way back as installed it is one here.
        let by_soil = earthing.is_it() || earthing.is_tt(address);
        !apart.reach(*node, by_soil) && whole.reach(*node, by_soil)
    });
    let addresses: Vec<Address> = hanging.map(|(_, address)| address.clone()).collect();
    if addresses.is_empty() {
        return None;
    }
    Some(Hazard { severity: Severity::Warning, kind: HazardKind::GroundOnNeutral, addresses })
}

/// The ways of a fault's current back to the source, breakers apart.
struct Ways {
    metal: UnionFind<u32>,
    with_soil: UnionFind<u32>,
    /// Neutrals of the source.
    source: Vec<NodeId>,
}

impl Ways {
    fn of(situation: &Situation<'_>, goes: impl Fn(&Element) -> bool) -> Self {
        let netlist = situation.netlist;
        let is_way = |one: &Element| carries_fault(one) && one.role != Role::Breaker && goes(one);
        let windings = situation.circuit.parts().supply.windings.iter();
        Self {
            metal: joined(netlist, is_way),
            with_soil: joined(netlist, |one| is_way(one) || one.role == Role::Electrode),
            source: windings.filter_map(|winding| netlist.find_node(&winding.neutral)).collect(),
        }
    }

    fn reach(&self, node: NodeId, by_soil: bool) -> bool {
        match by_soil {
            true => self.with_soil.equiv(node.0, Netlist::EARTH.0),
            false => self.source.iter().any(|source| self.metal.equiv(node.0, source.0)),
        }
    }
}

/// A terminal of an isolated supply that is so much further from earth than in a sound circuit has
/// another at earth: the other of two is at twice as much, one of three phases at 1.73 times.
const FIRST_FAULT_SHARE: f64 = 1.5;

/// What an insulation monitor calls a fault, ohms: IEC 60364-7-710, 710.411.6.3.
const FAULT_OHM: f64 = 50e3;

/// The first fault of an isolated supply, which trips nothing.
pub(super) fn first_fault(situation: &Situation<'_>) -> Option<Hazard> {
    let (sound_netlist, sound) = situation.sound?;
    if !Earthing::of(situation).is_it() {
        return None;
    }
    let windings = situation.circuit.parts().supply.windings.iter();
    let ends: Vec<&Address> =
        windings.flat_map(|winding| [&winding.line, &winding.neutral]).collect();
    let volt_to = |(netlist, solution): (&Netlist, &Solution), to: NodeId| {
        let nodes = ends.iter().filter_map(|end| netlist.find_node(end));
        let volts = nodes.filter_map(|node| solution.difference(node, to));
        volts.map(Phasor::magnitude).fold(0.0, f64::max)
    };
    let now = (situation.netlist, situation.solution);
    if touched_by_supply(situation, sound_netlist, &ends).is_empty()
        && let Some(&metal) = touched_by_supply(situation, situation.netlist, &ends).first()
    {
        let volt = volt_to(now, metal);
        return Some(first_fault_at(volt));
    }
    let volt = volt_to(now, Netlist::EARTH);
    let usual_volt = volt_to((sound_netlist, sound), Netlist::EARTH);
    (is_isolated(situation) && volt > FIRST_FAULT_SHARE * usual_volt).then(|| first_fault_at(volt))
}

fn first_fault_at(volt: f64) -> Hazard {
    Hazard {
        severity: Severity::Notice,
        kind: HazardKind::FirstEarthFault { volt },
        addresses: Vec::new(),
    }
}

/// Earth, grounds and cases that an end of the supply has come to.
fn touched_by_supply(
    situation: &Situation<'_>,
    netlist: &Netlist,
    ends: &[&Address],
) -> Vec<NodeId> {
    let pieces = joined(netlist, |one| match one.law {
        _ if one.role == Role::Load => false,
        _ if one.role == Role::Winding => true,
        Law::Impedance(impedance) => impedance.resistance_ohm <= FAULT_OHM,
        _ => carries_fault(one),
    });
    let outlets = situation.circuit.outlets().flat_map(|(_, outlet)| &outlet.slots);
    let grounds = outlets.filter(|(slot, _)| slot == "ground").map(|(_, at)| at);
    let frames = situation.circuit.parts().loads.iter().filter_map(|load| load.frame.as_ref());
    let metal = grounds.chain(frames).filter_map(|at| netlist.find_node(at));
    let ends: Vec<NodeId> = ends.iter().filter_map(|end| netlist.find_node(end)).collect();
    let is_touched = |node: &NodeId| ends.iter().any(|end| pieces.equiv(end.0, node.0));
    [Netlist::EARTH].into_iter().chain(metal).filter(is_touched).collect()
}
