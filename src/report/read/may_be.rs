//! Hazards that a circuit has only at some points of its stated ranges.

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::hazard::not_cleared;
use crate::instrument::at_range_ends;
use crate::netlist::wire;
use crate::protection::operate;
use crate::report::hazard_words::{HazardReport, all_in_words};
use crate::report::protection::ProtectionReport;
use crate::solution::solve;

use super::ReportError;

/// Adds what the ends of the stated ranges show beyond their middle, each as what may be, with
/// the worst of its figures.
pub(super) fn add(
    circuit: &Circuit,
    condition: &Condition,
    before_trips: bool,
    hazards: &mut Vec<HazardReport>,
) -> Result<(), ReportError> {
    let mut more: Vec<HazardReport> = Vec::new();
    for moved in at_range_ends(circuit)? {
        let sequence = operate(&moved, condition)?;
        let not_cleared = not_cleared(&moved, &sequence);
        let (_, shown) = ProtectionReport::new(&moved, condition, sequence, before_trips);
        let netlist = wire(&moved, &shown)?;
        let solution = solve(&netlist)?;
        for hazard in all_in_words((&moved, &shown), (&netlist, &solution), not_cleared) {
            if hazards.iter().any(|known| covers(known, &hazard)) {
                continue;
            }
            match more.iter_mut().find(|known| is_same(known, &hazard)) {
                Some(known) if is_worse(&hazard, known) => *known = hazard,
                Some(_) => {}
                None => more.push(hazard),
            }
        }
    }
    let wider = |at: usize, hazard: &HazardReport| {
        let others = more.iter().enumerate().filter(|&(other, _)| other != at);
        others.map(|(_, other)| other).any(|other| covers(other, hazard) && !is_same(other, hazard))
    };
    let widest: Vec<bool> =
        more.iter().enumerate().map(|(at, hazard)| !wider(at, hazard)).collect();
    let kept = more.into_iter().zip(widest).filter(|(_, widest)| *widest);
    hazards.extend(kept.map(|(hazard, _)| HazardReport {
        says: format!("May be, by the ranges stated: {}", hazard.says),
        may_be: true,
        ..hazard
    }));
    hazards.sort_by_key(|hazard| hazard.severity);
    Ok(())
}

/// Whether one speaks of at least the places of the other, and as gravely.
fn covers(one: &HazardReport, other: &HazardReport) -> bool {
    one.kind == other.kind
        && one.severity <= other.severity
        && other.addresses.iter().all(|address| one.addresses.contains(address))
}

fn is_same(one: &HazardReport, other: &HazardReport) -> bool {
    one.kind == other.kind && one.severity == other.severity && one.addresses == other.addresses
}

/// By the figure that the kind has; the lower voltage where that is the danger.
fn is_worse(one: &HazardReport, other: &HazardReport) -> bool {
    let figure = |hazard: &HazardReport| match hazard.kind {
        "under_voltage" | "protection_dead" => hazard.volt.map(|volt| -volt),
        _ => hazard.heat_watt.or(hazard.ampere).or(hazard.volt),
    };
    figure(one) > figure(other)
}
