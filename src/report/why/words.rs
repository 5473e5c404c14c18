//! The path that holds a terminal, told as a person would walk it.

use crate::circuit::{Circuit, Vocabulary};
use crate::netlist::{ElementId, Netlist, NodeId, Role};
use crate::quantity::Address;
use crate::report::figure::{amperes, volts};
use crate::report::vocabulary::{Term, conductor, term};
use crate::solution::Solution;

use super::ShareReading;

/// A solved condition whose paths are told.
pub(super) struct Teller<'a> {
    pub(super) circuit: &'a Circuit,
    pub(super) netlist: &'a Netlist,
    pub(super) solution: &'a Solution,
}

impl Teller<'_> {
    /// The stops of a path, those that a person can walk to or point at; neighbours of one
    /// name are one stop.
    pub(super) fn stops(&self, path: &[(ElementId, NodeId)]) -> Vec<String> {
        let mut stops: Vec<String> = Vec::new();
        for &(element, to) in path {
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
            Role::Electrode => format!("the soil and the earth electrode {name}"),
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

    /// The loads on a path, with the current and the voltage of each.
    pub(super) fn loads(&self, path: &[(ElementId, NodeId)]) -> Vec<LoadOnPath> {
        path.iter()
            .filter(|(element, _)| self.netlist.element(*element).role == Role::Load)
            .map(|&(element, _)| {
                let id = &self.netlist.element(element).id;
                LoadOnPath {
                    name: id.strip_prefix("load:").unwrap_or(id).to_owned(),
                    ampere: self.solution.current(element).magnitude(),
                    volt: self.solution.voltage(element).magnitude(),
                }
            })
            .collect()
    }
}

/// A load that a path leads through.
pub(super) struct LoadOnPath {
    name: String,
    ampere: f64,
    volt: f64,
}

/// The name of a cable from the name of its wire, `K.c` or, for a piece, `K.c~1`.
fn cable(wire: &str) -> &str {
    wire.rsplit_once('.').map_or(wire, |(cable, _)| cable)
}

/// What the sentence is about.
pub(super) struct Subject<'a> {
    pub(super) address: &'a str,
    pub(super) volt: Option<f64>,
    pub(super) weak: bool,
    /// What holds a weakly held terminal, the largest share first.
    pub(super) shares: &'a [ShareReading],
    pub(super) loads: &'a [LoadOnPath],
    /// What the path begins with, as `winding L1 of the supply`.
    pub(super) source: &'a str,
    pub(super) vocabulary: Vocabulary,
}

/// Current below which nothing drops in ordinary wiring: a milliampere in ten ohms is 10 mV.
const NO_CURRENT_AMPERE: f64 = 1e-3;

/// The one sentence a practitioner would accept.
pub(super) fn sentence(subject: &Subject<'_>) -> String {
    let Subject { address, source, .. } = *subject;
    if address == Address::earth().as_str() {
        return "earth is remote soil: the zero that every potential is measured from.".to_owned();
    }
    let Some(volt) = subject.volt else {
        return format!(
            "{address} has no potential to earth: nothing at all connects it to the rest, not \
             even capacitance, so whatever touches it decides where it is."
        );
    };
    let volt = volts(volt);
    if subject.weak {
        return format!(
            "{address} floats at {volt} V: no conducting path leads to it, only capacitance and \
             leakage, {}. An instrument or a hand pulls it down.",
            shares_in_words(subject)
        );
    }
    match subject.loads {
        [] => format!(
            "{address} is at {volt} V: it is joined to {source} by conductors and joints alone, \
             and differs from it only by what the current in them drops."
        ),
        loads => through_loads(address, &volt, source, loads),
    }
}

/// The sentence on a terminal that only loads join to its source.
fn through_loads(address: &str, volt: &str, source: &str, loads: &[LoadOnPath]) -> String {
    let names: Vec<&str> = loads.iter().map(|load| load.name.as_str()).collect();
    let names = names.join(" and the ");
    let ampere = loads.iter().map(|load| load.ampere).fold(0.0, f64::max);
    let dropped: f64 = loads.iter().map(|load| load.volt).sum();
    let live = !source.contains("earth");
    match (live, ampere < NO_CURRENT_AMPERE) {
        (false, _) => format!(
            "{address} is at {volt} V: nothing live feeds it; what joins it to {source} is the \
             {names}."
        ),
        (true, true) => format!(
            "{address} is at {volt} V because it hangs on {source} through the {names}: no \
             current to speak of flows there, so nothing drops. That is a real feed, not a \
             phantom."
        ),
        (true, false) => format!(
            "{address} is at {volt} V because it hangs on {source} through the {names}, whose \
             {} A find another way back and drop {} V on the way. That is a real feed, not a \
             phantom.",
            amperes(ampere),
            volts(dropped)
        ),
    }
}

/// `78 % to ground, 18 % to hot`; shares under a hundredth are left out.
fn shares_in_words(subject: &Subject<'_>) -> String {
    const WORTH_SAYING: f64 = 0.01;
    let shares: Vec<String> = subject
        .shares
        .iter()
        .filter(|share| share.share >= WORTH_SAYING)
        .map(|share| {
            let to = match share.conductor.as_str() {
                "earth" => "the soil".to_owned(),
                name => conductor(subject.vocabulary, name),
            };
            format!("{:.0} % to {to}", share.share * 100.0)
        })
        .collect();
    shares.join(", ")
}
