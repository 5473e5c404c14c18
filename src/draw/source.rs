//! A scene made ready to be drawn.

use std::collections::{HashMap, HashSet};

use crate::circuit::{BranchCircuit, Circuit, Part};
use crate::quantity::Address;

use super::Scene;
use super::arrange::Arrangement;
use super::content::{Source, first_word};
use super::mark::Marks;
use super::reading::Meter;
use super::survey::{Survey, inner_connections};
use super::words::Words;

/// Surveys a scene and hands it over with what is said of it.
pub(super) fn with_source<T>(
    scene: &Scene<'_>,
    draw: impl FnOnce(&Source<'_>, &Words<'_>) -> T,
) -> T {
    surveyed(scene, HashSet::new(), draw)
}

/// The same without legs of the service that no circuit is on: a page of a drill has nothing to ask
/// about them.
pub(super) fn with_source_in_use<T>(
    scene: &Scene<'_>,
    draw: impl FnOnce(&Source<'_>, &Words<'_>) -> T,
) -> T {
    let in_use: HashSet<Address> = scene
        .circuit
        .connections()
        .filter(|one| !matches!(one.part, Part::ServiceConductor(_)))
        .flat_map(|one| [one.a, one.b])
        .collect();
    let service = scene.circuit.parts().supply.conductors.iter();
    let idle = service.filter(|wire| !in_use.contains(&wire.to)).map(|wire| wire.id.clone());
    surveyed(scene, idle.collect(), draw)
}

fn surveyed<T>(
    scene: &Scene<'_>,
    left_out: HashSet<String>,
    draw: impl FnOnce(&Source<'_>, &Words<'_>) -> T,
) -> T {
    let inner = inner_connections(scene.circuit);
    let survey = Survey::of(scene.circuit, &inner);
    let arrangement = Arrangement::of(&survey);
    let meter = Meter::new(scene.circuit, &scene.netlist, &scene.solution);
    let marks = Marks::of(scene.circuit, &scene.condition);
    let hazards = scene.report.hazards.iter();
    let hazardous = hazards.flat_map(|hazard| &hazard.addresses);
    let source = Source {
        circuit: scene.circuit,
        condition: &scene.condition,
        meter: &meter,
        marks: &marks,
        survey: &survey,
        inner: &inner,
        left_out,
        arrangement: &arrangement,
        breakers: breakers(scene.circuit),
        bars: bars(scene.circuit),
        hazardous: hazardous.map(|address| first_word(address).to_owned()).collect(),
    };
    draw(&source, &Words::of(scene, &marks))
}

/// The breaker whose pole ends at each address.
fn breakers(circuit: &Circuit) -> HashMap<Address, &BranchCircuit> {
    let poles = circuit.connections().filter_map(|connection| match connection.part {
        Part::Breaker(branch) => Some((connection.b, branch)),
        _ => None,
    });
    poles.collect()
}

/// The element and the bar that each landing of a branch circuit leads to.
fn bars(circuit: &Circuit) -> HashMap<Address, (String, Address)> {
    let landings = circuit.connections().filter_map(|connection| match connection.part {
        Part::BarLanding(..) => Some((connection.b, (connection.element, connection.a))),
        _ => None,
    });
    landings.collect()
}
