//! Joints that turn power into heat.

use std::collections::HashSet;

use crate::condition::Fault;
use crate::netlist::{ElementId, Law, Role};
use crate::quantity::Address;

use super::{Hazard, HazardKind, Severity, Situation};

/// How bad a joint is, by its resistance. The bounds are judgement, from the heat at 15 A and
/// published field cases (glowing joints: NBSIR 76-1011; loose receptacle screws: Benfer and
/// Gottuk).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum JointBand {
    /// Under 2 milliohm.
    Good,
    /// 2 to 10 milliohm.
    Watch,
    /// 10 to 50 milliohm: 2 to 11 W at 15 A.
    Warm,
    /// 50 to 200 milliohm: 11 to 45 W at 15 A.
    FireHazard,
    /// Over 200 milliohm: lamps dim visibly.
    Dimming,
    /// Over 10 ohm: loads will not start.
    NearlyOpen,
}

impl JointBand {
    /// The band of a resistance in ohms.
    ///
    /// ```
    /// use slotwise::hazard::JointBand;
    /// assert_eq!(JointBand::of(0.0005), JointBand::Good);
    /// assert_eq!(JointBand::of(0.4), JointBand::Dimming);
    /// ```
    pub fn of(resistance_ohm: f64) -> Self {
        match resistance_ohm {
            r if r < 0.002 => Self::Good,
            r if r < 0.010 => Self::Watch,
            r if r < 0.050 => Self::Warm,
            r if r < 0.200 => Self::FireHazard,
            r if r <= 10.0 => Self::Dimming,
            _ => Self::NearlyOpen,
        }
    }
}

/// Heat from which a joint is dangerous as it stands: 5 W, the least heat of a glowing
/// connection (NBSIR 76-1011: 5 W at 0.8 A, 35 W at 15 A).
const GLOWING_WATT: f64 = 5.0;

/// Heat below which a joint that is nearly open is not reported: it stays cool.
const COOL_WATT: f64 = 0.5;

/// Every joint in the band `Warm` or worse.
pub(super) fn heating(situation: &Situation<'_>) -> Vec<Hazard> {
    let made_worse = made_worse(&situation.condition.faults);
    let mut found: Vec<Hazard> = situation
        .netlist
        .elements()
        .filter_map(|element| heating_at(situation, &made_worse, element))
        .collect();
    found.sort_by(|one, other| heat(other).total_cmp(&heat(one)));
    found
}

/// Elements whose resistance the condition states, so that they are joints whatever their role.
fn made_worse(faults: &[Fault]) -> HashSet<&str> {
    faults
        .iter()
        .filter_map(|fault| match fault {
            Fault::Resistance { element, .. } | Fault::Glowing { element } => {
                Some(element.as_str())
            }
            _ => None,
        })
        .collect()
}

fn heating_at(
    situation: &Situation<'_>,
    made_worse: &HashSet<&str>,
    id: ElementId,
) -> Option<Hazard> {
    let element = situation.netlist.element(id);
    let is_joint = matches!(element.role, Role::Joint | Role::Link | Role::Breaker | Role::Bond);
    let is_made_worse = made_worse.contains(element.id.as_str());
    // The heat of an electrode is the soil's.
    if element.role == Role::Electrode || !is_joint && !is_made_worse {
        return None;
    }
    let ampere = situation.solution.current(id).magnitude();
    let (watt, _) = situation.solution.power(id);
    let resistance_ohm = match element.law {
        Law::Impedance(impedance) => impedance.resistance_ohm,
        Law::GlowingJoint { .. } if ampere > 0.0 => watt / (ampere * ampere),
        _ => return None,
    };
    let band = JointBand::of(resistance_ohm);
    let severity = match band {
        // A sound joint is hot only under a short circuit, which is reported as such.
        JointBand::Good | JointBand::Watch => return None,
        JointBand::NearlyOpen if watt < COOL_WATT => return None,
        _ if watt < COOL_WATT && carries_no_load(situation, id, is_made_worse) => return None,
        _ if watt >= GLOWING_WATT => Severity::Danger,
        JointBand::Warm => Severity::Notice,
        _ => Severity::Warning,
    };
    let address = address_of(situation, &element.id);
    Some(Hazard {
        severity,
        kind: HazardKind::HeatingJoint { resistance_ohm, ampere, watt, band },
        addresses: vec![address],
    })
}

/// Whether no load's current is to be expected: a ground, of which [`super::clearing`] says what it
/// is good for, and a link or bond that was stated so.
fn carries_no_load(situation: &Situation<'_>, id: ElementId, is_made_worse: bool) -> bool {
    let element = situation.netlist.element(id);
    let joint = situation.circuit.joint_of_element(&element.id);
    let is_ground = joint.is_some_and(|joint| joint.conductor == "ground");
    is_ground || !is_made_worse && matches!(element.role, Role::Link | Role::Bond)
}

/// The joint's address for people. A bad place inside a cable has none: it goes by cable and
/// conductor.
fn address_of(situation: &Situation<'_>, element: &str) -> Address {
    match situation.circuit.joint_of_element(element) {
        Some(joint) => joint.address.clone(),
        None => element.strip_prefix("midjoint:").unwrap_or(element).into(),
    }
}

fn heat(hazard: &Hazard) -> f64 {
    match hazard.kind {
        HazardKind::HeatingJoint { watt, .. } => watt,
        _ => 0.0,
    }
}
