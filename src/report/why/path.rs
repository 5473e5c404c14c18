//! The path that holds a terminal, told as a person would walk it.

use crate::circuit::Circuit;
use crate::netlist::{Element, ElementId, Law, Netlist, NodeId, Role};
use crate::quantity::Phasor;
use crate::report::figure::ohms;
use crate::report::vocabulary::{Term, term};
use crate::solution::{FeedPath, Solution};

/// A solved condition whose paths are told.
pub(super) struct Teller<'a> {
    pub(super) circuit: &'a Circuit,
    pub(super) netlist: &'a Netlist,
    pub(super) solution: &'a Solution,
}

impl Teller<'_> {
    /// The elements of a path, each with its end nearer to the terminal.
    pub(super) fn steps(&self, path: &FeedPath) -> Vec<(ElementId, NodeId)> {
        let mut at = path.from;
        let step = |&element: &ElementId| {
            let (a, b) = self.netlist.ends(element);
            at = if a == at { b } else { a };
            (element, at)
        };
        path.elements.iter().map(step).collect()
    }

    /// The stops of a path, those that a person can walk to or point at; neighbours of one
    /// name are one stop.
    pub(super) fn stops(&self, path: &FeedPath, steps: &[(ElementId, NodeId)]) -> Vec<String> {
        let mut stops = vec![self.supply_terminal(path.from)];
        for &(element, to) in steps {
            if let Some(stop) = self.stop(element, to)
                && stops.last() != Some(&stop)
            {
                stops.push(stop);
            }
        }
        stops
    }

    fn stop(&self, id: ElementId, to: NodeId) -> Option<String> {
        let element = self.netlist.element(id);
        let (_, name) = element.id.split_once(':').unwrap_or(("", &element.id));
        let vocabulary = self.circuit.parts().vocabulary;
        Some(match element.role {
            Role::Winding => format!("winding {name} of the supply"),
            Role::Service => format!("service conductor {name}"),
            Role::Electrode => format!("the earth electrode {name}"),
            Role::Bond => format!("the bond {name}"),
            Role::Breaker => format!("{} {name}", term(vocabulary, Term::Breaker)),
            Role::Wire => format!("cable {}", cable(name)),
            Role::Load => match self.circuit.load(name) {
                Some(load) => format!("through the {}", load.id),
                None => format!("through {name}"),
            },
            Role::Switch => format!("switch {name}"),
            Role::Bridge => format!("the bridge {name}"),
            Role::Capacitance => format!("the capacitance {name}"),
            Role::Leakage => format!("the insulation {name}"),
            Role::Gap => format!("the gap at {}", self.joint(name)),
            Role::Instrument | Role::Lumped => element.id.clone(),
            Role::Joint | Role::Link => return self.place(to),
        })
    }

    /// What a path begins with: `L1 of the supply`, or the soil.
    fn supply_terminal(&self, from: NodeId) -> String {
        if from == Netlist::EARTH {
            return "the soil".to_owned();
        }
        let address = self.netlist.address(from).as_str();
        match address.rsplit('.').next().unwrap_or(address) {
            "neutral" => "the neutral of the supply".to_owned(),
            name => format!("{name} of the supply"),
        }
    }

    fn kind(&self, from: NodeId) -> SourceKind {
        match self.netlist.address(from).as_str().rsplit('.').next() {
            _ if from == Netlist::EARTH => SourceKind::Soil,
            Some("neutral") => SourceKind::Neutral,
            _ => SourceKind::Line,
        }
    }

    /// What the sentence says of a path.
    pub(super) fn source(&self, path: &FeedPath) -> Source {
        let potential = self.solution.potential(path.from);
        Source {
            name: self.supply_terminal(path.from),
            volt: potential.map_or(0.0, Phasor::magnitude),
            share: path.share,
            kind: self.kind(path.from),
            loads: self.loads(&path.elements),
        }
    }

    /// The address of a joint, or the element's name.
    fn joint(&self, element: &str) -> String {
        let joint = self.circuit.joint_of_element(element);
        joint.map_or_else(|| element.to_owned(), |joint| joint.address.to_string())
    }

    /// The box or panel a terminal is in, if its address begins with one.
    fn place(&self, node: NodeId) -> Option<String> {
        let address = self.netlist.address(node).as_str();
        let first = address.split('.').next().unwrap_or_default();
        let place = self.circuit.place(first)?;
        Some(place.id.clone())
    }

    /// The loads on a path, with the current and the voltage of each. An earth electrode is
    /// soil that a current drops in, and a bridge with ohms of its own is a leak: both count with
    /// them.
    fn loads(&self, elements: &[ElementId]) -> Vec<LoadOnPath> {
        elements
            .iter()
            .filter_map(|&element| {
                let part = self.netlist.element(element);
                let name = part.id.split_once(':').map_or(part.id.as_str(), |(_, name)| name);
                let leak_ohm = leak_ohm(part);
                let name = match (part.role, leak_ohm) {
                    (Role::Load, _) => name.to_owned(),
                    (Role::Electrode, _) => format!("earth electrode {name}"),
                    (Role::Bridge, Some(ohm)) => format!("{} of leakage", ohms(ohm)),
                    _ => return None,
                };
                Some(LoadOnPath {
                    name,
                    leak_ohm,
                    ampere: self.solution.current(element).magnitude(),
                    volt: self.solution.voltage(element).magnitude(),
                })
            })
            .collect()
    }
}

/// Where a path begins and what it leads through.
pub(super) struct Source {
    /// As `L1 of the supply`.
    pub(super) name: String,
    /// Its own potential to earth.
    pub(super) volt: f64,
    pub(super) share: f64,
    pub(super) kind: SourceKind,
    pub(super) loads: Vec<LoadOnPath>,
}

/// What a path begins at, wherever that stands to earth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SourceKind {
    Line,
    Neutral,
    Soil,
}

/// A load that a path leads through.
pub(super) struct LoadOnPath {
    pub(super) name: String,
    /// Its ohms, where it is a leak and no load.
    pub(super) leak_ohm: Option<f64>,
    pub(super) ampere: f64,
    pub(super) volt: f64,
}

/// A bridge is metal on metal up to this, ohms.
const METAL_OHM: f64 = 1.0;

/// The ohms of a bridge that is no metal on metal.
fn leak_ohm(element: &Element) -> Option<f64> {
    match element.law {
        Law::Impedance(z) if element.role == Role::Bridge => {
            Some(z.resistance_ohm).filter(|ohm| *ohm > METAL_OHM)
        }
        _ => None,
    }
}

/// The name of a cable from the name of its wire, `K.c` or, for a piece, `K.c~1`.
fn cable(wire: &str) -> &str {
    wire.rsplit_once('.').map_or(wire, |(cable, _)| cable)
}
