//! How an installation is earthed, by what conductors join as installed.

use crate::netlist::{Element, Netlist, Role};
use crate::quantity::Address;

use super::Situation;
use super::pieces::{carries_fault, joined};

/// What joins what, apart from the soil.
pub(super) struct Earthing<'a> {
    netlist: &'a Netlist,
    /// By node the piece of metal it is of.
    metal: Vec<u32>,
    /// The pieces that the neutrals of the supply are of.
    of_source: Vec<u32>,
    /// The supply reaches the soil, by an electrode or a bond to one.
    source_is_earthed: bool,
}

impl<'a> Earthing<'a> {
    /// Of the circuit without its faults where that was solved too.
    pub(super) fn of(situation: &Situation<'a>) -> Self {
        let netlist = situation.sound.map_or(situation.netlist, |(netlist, _)| netlist);
        let is_metal = |one: &Element| carries_fault(one) && one.role != Role::Breaker;
        let in_all = joined(netlist, |one| is_metal(one) || one.role == Role::Electrode);
        let metal = joined(netlist, is_metal);
        let windings = situation.circuit.parts().supply.windings.iter();
        let neutrals: Vec<u32> = windings
            .filter_map(|winding| netlist.find_node(&winding.neutral))
            .map(|node| node.0)
            .collect();
        let source_is_earthed =
            neutrals.iter().any(|&node| in_all.find(node) == in_all.find(Netlist::EARTH.0));
        let of_source = neutrals.iter().map(|&node| metal.find(node)).collect();
        Self { netlist, metal: metal.into_labeling(), of_source, source_is_earthed }
    }

    /// Whether a fault to this metal comes back through the soil alone: TT, IEC 60364-1, 312.2.2.
    pub(super) fn is_tt(&self, metal: &Address) -> bool {
        let node = self.netlist.find_node(metal);
        let piece = node.and_then(|node| self.metal.get(node.0 as usize));
        self.source_is_earthed && piece.is_some_and(|piece| !self.of_source.contains(piece))
    }

    /// Whether the supply is isolated from earth: IT, IEC 60364-1, 312.2.3.
    pub(super) fn is_it(&self) -> bool {
        !self.source_is_earthed
    }
}
