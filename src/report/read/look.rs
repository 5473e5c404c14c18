//! Reading contacts, joints and currents off a solution.

use std::collections::{BTreeMap, HashSet};

use crate::circuit::reach::Branches;
use crate::circuit::{Circuit, Joint, Outlet, Place};
use crate::condition::Condition;
use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::quantity::Address;
use crate::report::phasor::PhasorForm;
use crate::solution::{Holding, Solution};

use super::asked::Wanted;
use super::row::{CurrentReading, Difference, Held, JointReading, OutletReading, TerminalReading};
use super::shown::ByDefault;

/// A solved condition, to be looked at.
#[derive(Clone, Copy)]
pub(super) struct Look<'a> {
    pub(super) circuit: &'a Circuit,
    pub(super) condition: &'a Condition,
    pub(super) netlist: &'a Netlist,
    pub(super) solution: &'a Solution,
    pub(super) holding: &'a Holding,
}

impl Look<'_> {
    /// The receptacles asked for, in walking order.
    pub(super) fn wanted_outlets<'l>(&'l self, wanted: &'l Wanted) -> Vec<&'l Outlet> {
        self.placed_outlets(wanted).map(|(_, outlet)| outlet).collect()
    }

    fn placed_outlets<'l>(
        &'l self,
        wanted: &'l Wanted,
    ) -> impl Iterator<Item = (&'l Place, &'l Outlet)> {
        self.circuit.outlets().filter(|(place, outlet)| wanted.outlet(place, outlet))
    }

    /// The same with what is there and what is shown there.
    pub(super) fn outlets(&self, wanted: &Wanted, shown: Vec<ByDefault>) -> Vec<OutletReading> {
        let feeding = Branches::of(self.circuit).feeding(self.circuit);
        let placed = self.placed_outlets(wanted).zip(shown);
        let each = placed.map(|((place, outlet), shown)| OutletReading {
            circuits: circuits_of(&feeding, outlet),
            ..self.outlet(place, outlet, shown)
        });
        each.collect()
    }

    fn outlet(&self, place: &Place, outlet: &Outlet, shown: ByDefault) -> OutletReading {
        let mut differences = Vec::new();
        for (at, (from, from_address)) in outlet.slots.iter().enumerate() {
            for (to, to_address) in outlet.slots.iter().skip(at + 1) {
                let nodes = self.node(from_address).zip(self.node(to_address));
                let voltage = nodes.and_then(|(a, b)| self.solution.difference(a, b));
                differences.push(Difference {
                    from: from.clone(),
                    to: to.clone(),
                    voltage_volt: voltage.map(Into::into),
                });
            }
        }
        OutletReading {
            address: outlet.address.to_string(),
            place: place.id.clone(),
            circuits: Vec::new(),
            configuration: outlet.configuration.clone(),
            slots: outlet.slots.iter().map(|(name, slot)| self.contact(name, slot)).collect(),
            differences,
            tester: shown.tester,
            meter: shown.meter,
        }
    }

    /// A terminal by itself: its conductor is the last word of its address.
    pub(super) fn terminal(&self, address: &Address) -> TerminalReading {
        let conductor = address.as_str().rsplit('.').next().unwrap_or_default();
        self.contact(conductor, address)
    }

    fn contact(&self, conductor: &str, address: &Address) -> TerminalReading {
        let node = self.node(address);
        let potential = node.and_then(|node| self.solution.potential(node));
        TerminalReading {
            conductor: conductor.to_owned(),
            address: address.to_string(),
            potential_volt: potential.map(Into::into),
            held: Held::of(potential, node.is_some_and(|node| self.holding.is_weak(node))),
        }
    }

    pub(super) fn joints(&self, wanted: &Wanted) -> Vec<JointReading> {
        // A joint with several addresses is shown once, under the first unless asked for.
        let mut seen = HashSet::new();
        let joints = self.circuit.parts().joints.iter();
        joints
            .filter(|joint| wanted.joint(joint) && seen.insert(&joint.element))
            .filter_map(|joint| self.joint(joint))
            .collect()
    }

    fn joint(&self, joint: &Joint) -> Option<JointReading> {
        let element = self.netlist.find_element(&joint.element)?;
        let law = self.netlist.element(element).law;
        Some(JointReading {
            address: joint.address.to_string(),
            place: joint.place.clone(),
            conductor: joint.conductor.clone(),
            kind: joint.kind,
            side: joint.side,
            open: law == Law::Open,
            resistance_ohm: match law {
                Law::Impedance(impedance) => Some(impedance.resistance_ohm),
                _ => None,
            },
            voltage_volt: self.across(element),
            current_ampere: self.solution.current(element).into(),
            heat_watt: self.solution.power(element).0,
        })
    }

    pub(super) fn currents(&self) -> Vec<CurrentReading> {
        let elements = self.netlist.elements();
        elements
            .map(|element| {
                let (from, to) = self.netlist.ends(element);
                let part = self.netlist.element(element);
                CurrentReading {
                    element: part.id.clone(),
                    role: part.role,
                    from: self.netlist.address(from).to_string(),
                    to: self.netlist.address(to).to_string(),
                    current_ampere: self.solution.current(element).into(),
                    power_watt: self.solution.power(element).0,
                }
            })
            .collect()
    }

    pub(super) fn across(&self, element: ElementId) -> Option<PhasorForm> {
        let (a, b) = self.netlist.ends(element);
        self.solution.difference(a, b).map(Into::into)
    }

    fn node(&self, address: &Address) -> Option<NodeId> {
        self.netlist.find_node(address)
    }
}

/// The circuits that feed the slots of a receptacle.
fn circuits_of(feeding: &BTreeMap<String, Vec<&str>>, outlet: &Outlet) -> Vec<String> {
    let mut circuits: Vec<String> = Vec::new();
    for (_, slot) in &outlet.slots {
        for circuit in feeding.get(slot.as_str()).into_iter().flatten() {
            if !circuits.iter().any(|known| known == circuit) {
                circuits.push((*circuit).to_owned());
            }
        }
    }
    circuits
}
