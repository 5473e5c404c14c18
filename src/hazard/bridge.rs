//! Heat where conductors touch that should not.

use crate::condition::words::SOLID_BRIDGE_OHM;
use crate::netlist::{ElementId, Netlist, Role};
use crate::protection::{Protection, Verdict};
use crate::quantity::Address;

use super::{Hazard, HazardKind, Severity, Situation};

/// Heat from which a fault is worth a warning, watts: the least of a glowing connection (NBSIR
/// 76-1011).
const WARM_WATT: f64 = 5.0;

/// Heat from which it sets fire to what is around it, watts: 300 mA at 230 V, the most that
/// IEC 60364-4-42, 422.3.9, leaves where fire is feared.
const FIRE_WATT: f64 = 69.0;

/// Every contact between conductors that should not be, hot enough to matter, the hottest first.
pub(super) fn heating(situation: &Situation<'_>) -> Vec<Hazard> {
    let bridges = situation
        .netlist
        .elements()
        .filter(|&element| situation.netlist.element(element).role == Role::Bridge);
    let mut found: Vec<(f64, Hazard)> =
        bridges.filter_map(|element| heating_at(situation, element)).collect();
    let is_bolted = |(watt, hazard): &(f64, Hazard)| match hazard.kind {
        HazardKind::HeatingFault { ampere, .. } => {
            *watt <= BOLTED_UP_TO * SOLID_BRIDGE_OHM * ampere * ampere
        }
        _ => false,
    };
    // What is told of a bolted contact is that it touches, not how well: its heat is a figure of
    // its own making, and matters only where nothing ends it.
    if found.iter().any(is_bolted) && something_trips(situation) {
        found.retain(|one| !is_bolted(one));
    }
    found.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    found.into_iter().map(|(_, hazard)| hazard).collect()
}

/// A contact of so many times what bolted ones are taken to have is still one of them.
const BOLTED_UP_TO: f64 = 1.001;

fn something_trips(situation: &Situation<'_>) -> bool {
    let protection = Protection::new(situation.circuit);
    let standing = protection.standing(situation.netlist, situation.solution);
    standing
        .iter()
        .any(|one| matches!(one.verdict, Verdict::Trips { after, .. } if after.is_certain()))
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
