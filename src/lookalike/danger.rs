//! The dangers of a condition, without where: what look-alikes are sorted by.

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::hazard::{Severity, Situation, hazards};
use crate::netlist::wire;
use crate::solution::solve;

/// A kind of danger; the gravest sorts first.
///
/// ```
/// use slotwise::hazard::Severity;
/// use slotwise::lookalike::Danger;
/// let live = Danger { severity: Severity::Danger, code: "energised_ground" };
/// assert!(live.is_grave());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Danger {
    /// How much it matters.
    pub severity: Severity,
    /// The hazard's name in the JSON forms, as `energised_ground`.
    pub code: &'static str,
}

impl Danger {
    /// Whether it can kill or start a fire as things stand.
    pub fn is_grave(&self) -> bool {
        self.severity == Severity::Danger
    }
}

/// The kinds of danger in a condition, the gravest first; none where it has no solution.
pub(super) fn dangers(circuit: &Circuit, condition: &Condition) -> Vec<Danger> {
    let Ok(netlist) = wire(circuit, condition) else { return Vec::new() };
    let Ok(solution) = solve(&netlist) else { return Vec::new() };
    let situation =
        Situation { circuit, condition, netlist: &netlist, solution: &solution, sound: None };
    let mut found: Vec<Danger> = Vec::new();
    for hazard in hazards(&situation) {
        let danger = Danger { severity: hazard.severity, code: hazard.kind.code() };
        if !found.contains(&danger) {
            found.push(danger);
        }
    }
    found.sort();
    found
}
