//! Heat where conductors touch that should not.

use crate::condition::words::SOLID_BRIDGE_OHM;
use crate::netlist::{ElementId, Netlist, Role, wire};
use crate::protection::operate_within;
use crate::quantity::Address;
use crate::solution::{Solution, solve};

use super::{Hazard, HazardKind, Severity, Situation};

/// Heat from which a fault is worth a warning, watts: the least of a glowing connection (NBSIR
/// 76-1011).
const WARM_WATT: f64 = 5.0;

/// Heat from which it sets fire to what is around it, watts: 300 mA at 230 V, the most that
/// IEC 60364-4-42, 422.3.9, leaves where fire is feared.
const FIRE_WATT: f64 = 69.0;

/// Every contact between conductors that should not be, hot enough to matter, the hottest first.
pub(super) fn heating(situation: &Situation<'_>) -> Vec<Hazard> {
    let mut found = hot(situation);
    let is_bolted = |(watt, hazard): &(f64, Hazard)| match hazard.kind {
        HazardKind::HeatingFault { ampere, .. } => {
            *watt <= BOLTED_UP_TO * SOLID_BRIDGE_OHM * ampere * ampere
        }
        _ => false,
    };
    // What is told of a bolted contact is that it touches, not how well: its heat is a figure of
    // its own making, and matters only where it lasts longer than a short circuit may.
    if found.iter().any(is_bolted)
        && let Some((netlist, solution)) = after_short_circuits(situation)
    {
        let left = hot(&Situation { netlist: &netlist, solution: &solution, ..*situation });
        let stays = |hazard: &Hazard| left.iter().any(|(_, one)| one.addresses == hazard.addresses);
        found.retain(|one| !is_bolted(one) || stays(&one.1));
    }
    found.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    found.into_iter().map(|(_, hazard)| hazard).collect()
}

/// Contacts that are hot as things stand, with their heat in watts.
fn hot(situation: &Situation<'_>) -> Vec<(f64, Hazard)> {
    let elements = situation.netlist.elements();
    let bridges =
        elements.filter(|&element| situation.netlist.element(element).role == Role::Bridge);
    bridges.filter_map(|element| heating_at(situation, element)).collect()
}

/// A contact of so many times what bolted ones are taken to have is still one of them.
const BOLTED_UP_TO: f64 = 1.001;

/// The longest that a short circuit may last, seconds: what conductors and their joints are made to
/// bear, IEC 60364-4-43, 434.5.2.
const SHORT_CIRCUIT_S: f64 = 5.0;

/// What is left once everything has tripped that is certain to within that time; `None` if nothing
/// does.
fn after_short_circuits(situation: &Situation<'_>) -> Option<(Netlist, Solution)> {
    let sequence = operate_within(situation.circuit, situation.condition, SHORT_CIRCUIT_S).ok()?;
    if sequence.steps.is_empty() {
        return None;
    }
    let netlist = wire(situation.circuit, &sequence.remaining).ok()?;
    let solution = solve(&netlist).ok()?;
    Some((netlist, solution))
}

fn heating_at(situation: &Situation<'_>, id: ElementId) -> Option<(f64, Hazard)> {
    let (watt, _) = situation.solution.power(id);
    if watt < WARM_WATT {
        return None;
    }
    // The heat of a contact with soil spreads in it, as that of an electrode.
    let (a, b) = situation.netlist.ends(id);
    if [a, b].contains(&Netlist::EARTH) {
        return None;
    }
    let ampere = situation.solution.current(id).magnitude();
    let hazard = Hazard {
        severity: if watt < FIRE_WATT { Severity::Warning } else { Severity::Danger },
        kind: HazardKind::HeatingFault { ampere, watt },
        addresses: addresses(situation, id),
    };
    Some((watt, hazard))
}

/// The cable it is in, with its conductors, or what touches.
fn addresses(situation: &Situation<'_>, id: ElementId) -> Vec<Address> {
    let netlist = situation.netlist;
    match netlist.element(id).id.strip_prefix("midcontact:") {
        Some(in_cable) => vec![Address::from(in_cable)],
        None => {
            let (a, b) = netlist.ends(id);
            [a, b].map(|node| netlist.address(node).clone()).to_vec()
        }
    }
}
