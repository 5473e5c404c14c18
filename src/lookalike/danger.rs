//! The dangers of a condition, without where: what look-alikes are sorted by.

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::hazard::{Hazard, HazardKind, Severity, Situation, hazards};
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

/// A danger that the circuit has with nothing more wrong: no fault is to blame for it.
///
/// ```
/// use slotwise::hazard::Severity;
/// use slotwise::lookalike::{Danger, OwnDanger};
/// let danger = Danger { severity: Severity::Warning, code: "overload" };
/// let with_all_on = OwnDanger { danger, load_settings: vec![2] };
/// assert!(!with_all_on.danger.is_grave());
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct OwnDanger {
    /// The danger.
    pub danger: Danger,
    /// The load states that it is there in, by number.
    pub load_settings: Vec<usize>,
}

/// The dangers of a condition, with where they are; none where it has no solution.
pub(super) fn found(circuit: &Circuit, condition: &Condition) -> Vec<Hazard> {
    let Ok(netlist) = wire(circuit, condition) else { return Vec::new() };
    let Ok(solution) = solve(&netlist) else { return Vec::new() };
    hazards(&Situation { circuit, condition, netlist: &netlist, solution: &solution, sound: None })
}

/// The kinds of danger among some, the gravest first, but for what is there without any fault.
pub(super) fn kinds(found: &[Hazard], own: &[Hazard]) -> Vec<Danger> {
    let mut kinds: Vec<Danger> = Vec::new();
    for hazard in found.iter().filter(|hazard| !own.iter().any(|own| is_as_before(own, hazard))) {
        let danger = Danger { severity: hazard.severity, code: hazard.kind.code() };
        if !kinds.contains(&danger) {
            kinds.push(danger);
        }
    }
    kinds.sort();
    kinds
}

/// What the circuit has by itself, of the dangers in each load state.
pub(super) fn own_dangers(by_setting: &[Vec<Hazard>]) -> Vec<OwnDanger> {
    let mut all: Vec<OwnDanger> = Vec::new();
    for (setting, found) in by_setting.iter().enumerate() {
        for danger in kinds(found, &[]) {
            match all.iter_mut().find(|known| known.danger == danger) {
                Some(known) => known.load_settings.push(setting),
                None => all.push(OwnDanger { danger, load_settings: vec![setting] }),
            }
        }
    }
    all.sort_by_key(|own| own.danger);
    all
}

/// A danger that is greater by no more than this share is as it was without the fault: more than the
/// tenth by which a supply may be off.
const SAME_SHARE: f64 = 0.2;

/// Whether a danger was there before, at the same places and about as great.
fn is_as_before(own: &Hazard, hazard: &Hazard) -> bool {
    own.kind.code() == hazard.kind.code()
        && own.severity <= hazard.severity
        && hazard.addresses.iter().all(|address| own.addresses.contains(address))
        && size(&hazard.kind) <= (1.0 + SAME_SHARE) * size(&own.kind)
}

/// How great a danger of a kind is, to be compared with another of that kind.
fn size(kind: &HazardKind) -> f64 {
    match *kind {
        HazardKind::Overload { ampere, rating_ampere } => ampere / rating_ampere,
        HazardKind::ConductorOverload { ampere, ampacity_ampere, .. }
        | HazardKind::NeutralOverload { ampere, ampacity_ampere, .. } => ampere / ampacity_ampere,
        HazardKind::OverVoltage { volt, should_be_volt }
        | HazardKind::OutletOverVoltage { volt, should_be_volt } => volt / should_be_volt,
        HazardKind::UnderVoltage { volt, should_be_volt } => should_be_volt / volt,
        HazardKind::HeatingJoint { watt, .. } | HazardKind::HeatingFault { watt, .. } => watt,
        HazardKind::EnergisedGround { volt, .. }
        | HazardKind::EnergisedCase { volt, .. }
        | HazardKind::EnergisedNeutral { volt, .. }
        | HazardKind::AllContactsLive { volt } => volt,
        _ => 1.0,
    }
}
