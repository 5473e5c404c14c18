//! Hazards that end when something trips, and not at once.

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::hazard::{
    Hazard, HazardKind, Limits, Severity, Situation, has_no_way_to_earth, hazards,
};
use crate::netlist::wire;
use crate::protection::Step;
use crate::report::hazard_words::{HazardReport, said_together};
use crate::report::protection::{ProtectionReport, duration};
use crate::report::vocabulary::{Term, term};
use crate::solution::solve;

use super::ReportError;

/// Adds what stands until a trip that may take longer than a danger may last, where the report is
/// of what remains after it; and, however quick the trip, metal that is live again at every reset
/// because nothing joins it to earth.
pub(super) fn add(
    circuit: &Circuit,
    condition: &Condition,
    protection: &ProtectionReport,
    found: &mut Vec<HazardReport>,
) -> Result<(), ReportError> {
    if !protection.shown_after_trips {
        return Ok(());
    }
    let vocabulary = circuit.parts().vocabulary;
    let momentary_s = Limits::of(vocabulary).momentary_s;
    let shown = protection.shown(condition);
    let sound = wire(circuit, &Condition { faults: Vec::new(), ..condition.clone() })?;
    let sound = solve(&sound).ok().map(|solution| (sound, solution));
    let mut before = condition.clone();
    let mut earlier: Vec<HazardReport> = Vec::new();
    for step in &protection.trips {
        if shown.breakers.get(&step.device) != Some(&false) {
            break;
        }
        let Some(slowest_s) = step.after.latest_s else { break };
        let netlist = wire(circuit, &before)?;
        let solution = solve(&netlist)?;
        let situation = Situation {
            circuit,
            condition: &before,
            netlist: &netlist,
            solution: &solution,
            sound: sound.as_ref().map(|(netlist, solution)| (netlist, solution)),
        };
        let is_slow = slowest_s > momentary_s;
        let deadly = hazards(&situation).into_iter().filter(|hazard| {
            hazard.severity == Severity::Danger
                && (is_slow && ends_by_a_trip(&hazard.kind) || comes_back(&situation, hazard))
        });
        for hazard in said_together(&deadly.collect::<Vec<_>>(), vocabulary) {
            let is_known = |known: &HazardReport| {
                known.kind == hazard.kind && known.addresses == hazard.addresses
            };
            if !found.iter().chain(&earlier).any(is_known) {
                let until = until(step, slowest_s, is_slow, term(vocabulary, Term::Breaker));
                let says = format!("{until}: {}", hazard.says);
                earlier.push(HazardReport { says, until_s: Some(slowest_s), ..hazard });
            }
        }
        before.breakers.insert(step.device.clone(), false);
    }
    found.splice(0..0, earlier);
    found.sort_by_key(|hazard| hazard.severity);
    Ok(())
}

/// Metal made to be touched that is live whenever it is switched on, and that makes nothing trip by
/// itself: it was a leak that did.
fn comes_back(situation: &Situation<'_>, hazard: &Hazard) -> bool {
    matches!(hazard.kind, HazardKind::EnergisedGround { .. } | HazardKind::EnergisedCase { .. })
        && has_no_way_to_earth(situation, hazard)
}

/// What a person can touch, and what burns.
fn ends_by_a_trip(kind: &HazardKind) -> bool {
    matches!(
        kind,
        HazardKind::EnergisedGround { .. }
            | HazardKind::EnergisedCase { .. }
            | HazardKind::EnergisedNeutral { .. }
            | HazardKind::AllContactsLive { .. }
            | HazardKind::HeatingFault { .. }
    )
}

fn until(step: &Step, slowest_s: f64, is_slow: bool, breaker: &str) -> String {
    let device = match step.is_breaker {
        true => format!("the {breaker} {}", step.device),
        false => step.device.clone(),
    };
    match is_slow {
        true => format!("For up to {}, until {device} trips", duration(slowest_s)),
        false => format!("Until {device} trips, and again whenever it is reset"),
    }
}
