//! Loads that get the wrong voltage, and breakers that carry too much.

use crate::circuit::{Load, LoadKind, Outlet};
use crate::netlist::{Law, Netlist};
use crate::quantity::{Address, Phasor};
use crate::solution::{Holding, Solution};

use super::{Hazard, HazardKind, Limits, Severity, Situation};

/// From this multiple of its voltage on over-voltage destroys, by what the varistors in equipment bear
/// without end: 150 V in that for 120 V, 275 V in that for 230 V.
fn destructive_share(should_be_volt: f64) -> f64 {
    if should_be_volt < 180.0 { 1.25 } else { 1.2 }
}

/// Below this share of its voltage a load is dead rather than under-voltage.
const DEAD_SHARE: f64 = 0.1;

/// More than this share of the voltage is lost in no sound circuit.
const DROP_SHARE_MAX: f64 = 0.25;

/// Voltages as near to each other as this share are one.
const SAME_SHARE: f64 = 0.02;

/// From this multiple of the rating on, the current is a short circuit (IEC 60898-1: type C
/// breakers trip at once from 5 to 10 times the rating).
const SHORT_CIRCUIT_SHARE: f64 = 5.0;

/// Breakers that carry more than their rating.
pub(super) fn overloads(situation: &Situation<'_>) -> Vec<Hazard> {
    let mut found = Vec::new();
    for circuit in &situation.circuit.parts().branch_circuits {
        let Some(rating_ampere) = circuit.breaker.rating_ampere else { continue };
        let pole = format!("breaker:{}", circuit.id);
        let Some(element) = situation.netlist.find_element(&pole) else { continue };
        let ampere = situation.solution.current(element).magnitude();
        if ampere > rating_ampere {
            let severe = ampere >= SHORT_CIRCUIT_SHARE * rating_ampere;
            found.push(Hazard {
                severity: if severe { Severity::Danger } else { Severity::Warning },
                kind: HazardKind::Overload { ampere, rating_ampere },
                addresses: vec![Address::from(circuit.id.as_str()).join("breaker")],
            });
        }
    }
    found
}

/// Loads that are on and get more or less than they can bear.
pub(super) fn wrong_voltage(
    situation: &Situation<'_>,
    limits: &Limits,
    holding: &Holding,
) -> Vec<Hazard> {
    let loads = situation.circuit.parts().loads.iter();
    let mut found: Vec<Hazard> =
        loads.filter_map(|load| wrong_voltage_at(situation, limits, load)).collect();
    found.extend(too_much_at_outlets((situation, limits, holding), &found));
    found
}

/// Receptacles that give too much, but for what loads that are on say already.
fn too_much_at_outlets(
    (situation, limits, holding): (&Situation<'_>, &Limits, &Holding),
    of_loads: &[Hazard],
) -> Option<Hazard> {
    let said = of_loads.iter().filter_map(|hazard| match hazard.kind {
        HazardKind::OverVoltage { volt, .. } => Some(volt),
        _ => None,
    });
    let mut said: Vec<f64> = said.collect();
    said.sort_by(f64::total_cmp);
    let is_said = |volt: f64| {
        let from = said.partition_point(|said| *said < (1.0 - SAME_SHARE) * volt);
        said.get(from).is_some_and(|said| *said < (1.0 + SAME_SHARE) * volt)
    };
    let outlets = situation.circuit.outlets().filter_map(|(_, outlet)| {
        let (volt, should_be_volt) = too_much_at((situation, limits, holding), outlet)?;
        (!is_said(volt)).then(|| (volt, should_be_volt, outlet.address.clone()))
    });
    let outlets: Vec<(f64, f64, Address)> = outlets.collect();
    let share = |&&(volt, should_be_volt, _): &&(f64, f64, Address)| volt / should_be_volt;
    let worst = outlets.iter().max_by(|a, b| share(a).total_cmp(&share(b)))?;
    let (volt, should_be_volt, _) = *worst;
    let destructive = volt > destructive_share(should_be_volt) * should_be_volt;
    Some(Hazard {
        severity: if destructive { Severity::Danger } else { Severity::Warning },
        kind: HazardKind::OutletOverVoltage { volt, should_be_volt },
        addresses: outlets.into_iter().map(|(_, _, address)| address).collect(),
    })
}

/// The worst voltage between two slots that carry current, and what it should be.
fn too_much_at(
    (situation, limits, holding): (&Situation<'_>, &Limits, &Holding),
    outlet: &Outlet,
) -> Option<(f64, f64)> {
    let sound = situation.sound?;
    let slots: Vec<&Address> =
        outlet.slots.iter().filter(|(slot, _)| slot != "ground").map(|(_, at)| at).collect();
    let pairs = slots
        .iter()
        .enumerate()
        .flat_map(|(at, one)| slots.iter().skip(at + 1).map(move |other| (*one, *other)));
    let between = |(netlist, solution): (&Netlist, &Solution),
                   (one, other): (&Address, &Address)| {
        let nodes = (netlist.find_node(one)?, netlist.find_node(other)?);
        solution.difference(nodes.0, nodes.1).map(|volt| volt.magnitude())
    };
    let now = (situation.netlist, situation.solution);
    let too_much = pairs.filter_map(|pair| {
        let should_be_volt = nominal_volt(situation, between(sound, pair)?)?;
        // A slot that nothing joins to the other is at a ghost voltage, which no load would get.
        let (one, other) = (now.0.find_node(pair.0)?, now.0.find_node(pair.1)?);
        let volt = between(now, pair).filter(|_| holding.are_joined(one, other))?;
        (volt > limits.supply_high_share * should_be_volt).then_some((volt, should_be_volt))
    });
    too_much.max_by(|(a, a_base), (b, b_base)| (a / a_base).total_cmp(&(b / b_base)))
}

fn wrong_voltage_at(situation: &Situation<'_>, limits: &Limits, load: &Load) -> Option<Hazard> {
    let volt = voltage_across(situation.netlist, situation.solution, load)?;
    let should_be_volt = match rated_volt(load) {
        Some(rated) => rated,
        None => {
            let (netlist, solution) = situation.sound?;
            nominal_volt(situation, voltage_across(netlist, solution, load)?)?
        }
    };
    let share = volt / should_be_volt;
    if share < 1.0 && is_so_by_choice(situation, load, volt) {
        return None;
    }
    let (severity, kind) = if share > limits.supply_high_share {
        let destructive = share > destructive_share(should_be_volt);
        let severity = if destructive { Severity::Danger } else { Severity::Warning };
        (severity, HazardKind::OverVoltage { volt, should_be_volt })
    } else if share < limits.supply_low_share && share > DEAD_SHARE {
        (Severity::Warning, HazardKind::UnderVoltage { volt, should_be_volt })
    } else {
        return None;
    };
    Some(Hazard { severity, kind, addresses: vec![load.id.as_str().into()] })
}

/// Whether a heater or a lamp made for more was put there: it has as little in a sound circuit.
fn is_so_by_choice(situation: &Situation<'_>, load: &Load, volt: f64) -> bool {
    let sound =
        situation.sound.and_then(|(netlist, solution)| voltage_across(netlist, solution, load));
    rated_volt(load).is_some() && sound.is_some_and(|sound| volt > (1.0 - SAME_SHARE) * sound)
}

/// The voltage across a load that is on; `None` for one that is off or unplugged.
fn voltage_across(netlist: &Netlist, solution: &Solution, load: &Load) -> Option<f64> {
    let element = netlist.find_element(&format!("load:{}", load.id))?;
    if netlist.element(element).law == Law::Open {
        return None;
    }
    let (a, b) = netlist.ends(element);
    solution.difference(a, b).map(|volt| volt.magnitude())
}

/// The voltage of the supply that a sound circuit brings to a load, drop aside: that of a
/// winding or of two in series. `None` for a load that gets none even in a sound circuit, as
/// behind an open switch.
fn nominal_volt(situation: &Situation<'_>, sound_volt: f64) -> Option<f64> {
    let windings = situation.circuit.parts().supply.windings.iter();
    let windings: Vec<Phasor> = windings.map(|one| at_nominal(one.emf_volt)).collect();
    let mut offered: Vec<f64> = Vec::new();
    for (at, one) in windings.iter().enumerate() {
        offered.push(one.magnitude());
        for other in windings.iter().skip(at + 1) {
            offered.push((*one + *other).magnitude());
            offered.push((*one - *other).magnitude());
        }
    }
    let distance = |volt: &f64| (volt - sound_volt).abs();
    let nearest = offered.into_iter().min_by(|a, b| distance(a).total_cmp(&distance(b)))?;
    (distance(&nearest) <= DROP_SHARE_MAX * nearest).then_some(nearest)
}

/// What a supply is called that was measured as so much: limits go with that (ANSI C84.1, IEC 60038).
fn at_nominal(emf_volt: Phasor) -> Phasor {
    let volt = emf_volt.magnitude();
    let called = NOMINAL_VOLT.into_iter().find(|called| (volt / called - 1.0).abs() <= CALLED_SO);
    called.map_or(emf_volt, |called| Phasor::polar(called, emf_volt.degrees()))
}

/// Nominal voltages to the neutral, and the share that a supply which is called so may be off as stated.
const NOMINAL_VOLT: [f64; 2] = [120.0, 230.0];
const CALLED_SO: f64 = 0.06;

/// The rated voltage, for the kinds that have one.
fn rated_volt(load: &Load) -> Option<f64> {
    match load.kind {
        LoadKind::Resistive { rated_volt, .. } | LoadKind::Filament { rated_volt, .. } => {
            Some(rated_volt)
        }
        _ => None,
    }
}
