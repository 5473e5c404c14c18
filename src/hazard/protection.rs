//! Protection that will not operate.

use std::collections::BTreeSet;

use crate::circuit::{Circuit, LumpedKind};
use crate::protection::{Quiet, Sequence, Standing, Verdict};
use crate::quantity::Address;

use super::{Hazard, HazardKind, Severity};

/// Current that does not come back through its own circuit and still trips nothing, from which
/// it is a hazard: 30 mA, the rating of additional protection (IEC 60364-4-41, 415.1). Filters
/// and sound insulation leak less.
const STRAY_AMPERE: f64 = 0.03;

/// What stays closed though current strays from it, or though it ought to trip.
///
/// ```
/// use slotwise::{Condition, circuit, hazard::not_cleared, protection::operate};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "bootleg ground at kiln").unwrap();
/// let sequence = operate(&circuit, &condition).unwrap();
/// assert_eq!(not_cleared(&circuit, &sequence)[0].kind.code(), "stray_current");
/// ```
pub fn not_cleared(circuit: &Circuit, sequence: &Sequence) -> Vec<Hazard> {
    let mut spoken_for = BTreeSet::new();
    let mut found: Vec<Hazard> = Vec::new();
    for standing in &sequence.standing {
        if !spoken_for.insert(standing.device.as_str()) {
            continue;
        }
        if let Some(branch) = circuit.branch_circuit(&standing.device) {
            // One handle, one hazard.
            spoken_for.extend(branch.tied_with.iter().map(String::as_str));
        }
        let hazard = of(standing).filter(|hazard| match hazard.kind {
            HazardKind::StrayCurrent { ampere, .. } => {
                !sequence.remaining.faults.is_empty() || ampere > filters_ampere(circuit)
            }
            _ => true,
        });
        let Some(hazard) = hazard else { continue };
        match found.iter_mut().find(|known| is_same_stray(known, &hazard)) {
            Some(known) => known.addresses.extend(hazard.addresses),
            None => found.push(hazard),
        }
    }
    found
}

/// Currents as near to each other as this share are one that several breakers pass on: a feeder and
/// a circuit behind it, hots that share a neutral, the two circuits that a neutral ties together.
const SAME_SHARE: f64 = 0.01;

fn is_same_stray(known: &Hazard, other: &Hazard) -> bool {
    match (&known.kind, &other.kind) {
        (
            HazardKind::StrayCurrent { ampere, .. },
            HazardKind::StrayCurrent { ampere: other_ampere, .. },
        ) => (ampere - other_ampere).abs() <= SAME_SHARE * ampere,
        _ => false,
    }
}

/// What the filters of all loads together leak to their cases, amperes rms: in a circuit without a
/// fault a ground carries as much by design.
fn filters_ampere(circuit: &Circuit) -> f64 {
    let parts = circuit.parts();
    let volt = parts.supply.windings.iter().map(|winding| winding.emf_volt.magnitude());
    let volt = volt.fold(0.0, f64::max);
    let frames: BTreeSet<&Address> =
        parts.loads.iter().filter_map(|load| load.frame.as_ref()).collect();
    let filters = parts.lumped.iter().filter_map(|lumped| match lumped.kind {
        LumpedKind::CapacitorFarad(farad) if frames.contains(&lumped.between.1) => Some(farad),
        _ => None,
    });
    2.0 * std::f64::consts::PI * parts.frequency_hz * volt * filters.sum::<f64>()
}

fn of(standing: &Standing) -> Option<Hazard> {
    let address = Address::from(standing.device.as_str());
    match standing.verdict {
        Verdict::Stays(Quiet::ElectronicsDead { volt }) => Some(dead(address, volt, true)),
        Verdict::Stays(Quiet::CouldNot { volt }) => Some(dead(address, volt, false)),
        // One that trips slowly or perhaps never is closed all the while.
        _ if standing.is_breaker && standing.residual_ampere >= STRAY_AMPERE => Some(Hazard {
            severity: Severity::Warning,
            kind: HazardKind::StrayCurrent {
                ampere: standing.residual_ampere,
                breaker_ampere: standing.ampere,
                rating_ampere: standing.rating_ampere,
            },
            addresses: vec![address.join("breaker")],
        }),
        _ => None,
    }
}

fn dead(address: Address, volt: f64, now: bool) -> Hazard {
    Hazard {
        severity: Severity::Warning,
        kind: HazardKind::ProtectionDead { volt, now },
        addresses: vec![address],
    }
}
