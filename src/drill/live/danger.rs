//! What would have hurt, and how it is noticed.

use std::collections::BTreeMap;

use crate::circuit::Load;
use crate::condition::LoadState;
use crate::condition::words::known::Known;
use crate::diagnosis::{Feeding, place_of_load};
use crate::hazard::{Hazard, HazardKind, Severity};

use super::{ActProblem, Live};

/// What would have hurt.
///
/// ```
/// use slotwise::drill::live::UnsafeAct;
/// let live = UnsafeAct::OpenedLive { place: "kiln".into(), volt: 120.0 };
/// assert!(matches!(live, UnsafeAct::OpenedLive { volt, .. } if volt > 50.0));
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum UnsafeAct {
    /// A box was to be opened while something in it was live.
    OpenedLive {
        /// The box.
        place: String,
        /// Volts to earth, rounded.
        volt: f64,
    },
    /// A box was opened that was dead, but had not been proven dead.
    NotProven {
        /// The box.
        place: String,
        /// One instrument had been held there since the breaker was switched, and was trusted.
        after_one_instrument: bool,
    },
    /// A box was opened that was dead although a breaker that may feed it was not switched off: a
    /// wall switch was, or the breaker had only tripped.
    NotSwitchedOff {
        /// The box.
        place: String,
        /// The breakers.
        breakers: Vec<String>,
    },
    /// An appliance was switched or unplugged while its case, or the metal where it is, was live.
    HandledLive {
        /// The appliance.
        load: String,
        /// Volts to earth, rounded.
        volt: f64,
    },
    /// A breaker that had tripped when it was closed was closed again onto the same.
    ClosedAgain {
        /// The breaker.
        breaker: String,
    },
}

impl UnsafeAct {
    /// Whether both are the handling of one appliance.
    pub(super) fn is_of_the_same_load(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::HandledLive { load, .. }, Self::HandledLive { load: other, .. }) => {
                load == other
            }
            _ => false,
        }
    }
}

impl Live {
    /// Breakers that may feed anything in a place and that the student has not switched off.
    pub(super) fn not_off_at(&self, place: &str) -> Vec<String> {
        let known = Known::of(&self.drill.circuit);
        let feeding = Feeding::of(&known).off_at(place).into_keys();
        feeding.filter(|name| !self.off_by_hand.contains(name)).collect()
    }

    /// Appliances of a setting whose metal is live as everything stands: before it is done, of all
    /// that are touched; after it, of those that are on then.
    pub(super) fn handled_live(
        &self,
        loads: &BTreeMap<String, LoadState>,
        after: bool,
    ) -> Result<Vec<UnsafeAct>, ActProblem> {
        let circuit = &self.drill.circuit;
        let touched = loads.iter().filter(|(_, state)| !after || **state == LoadState::On);
        let touched: Vec<&Load> = touched.filter_map(|(name, _)| circuit.load(name)).collect();
        if touched.is_empty() {
            return Ok(Vec::new());
        }
        let hazards = self.with_standing(|scene, standing| Ok(scene.hazards(standing)))?;
        let live = |load: &Load| {
            let at = place_of_load(circuit, load).map(|place| format!("{place}."));
            let is_near = |hazard: &&Hazard| {
                hazard.addresses.iter().any(|address| {
                    let inside = at.as_ref().is_some_and(|at| address.as_str().starts_with(at));
                    load.frame.as_ref() == Some(address) || inside
                })
            };
            let volts = hazards.iter().filter(is_near).filter_map(live_metal_volt);
            let volt = volts.fold(0.0, f64::max).round();
            (volt > 0.0).then(|| UnsafeAct::HandledLive { load: load.id.clone(), volt })
        };
        Ok(touched.into_iter().filter_map(live).collect())
    }

    /// Of breakers that were closed and tripped, those that had done so before; the others are
    /// remembered.
    pub(super) fn closed_again(
        &mut self,
        breakers: &BTreeMap<String, bool>,
        tripped: &[String],
    ) -> Vec<UnsafeAct> {
        let closed = breakers.iter().filter(|(name, on)| **on && tripped.contains(*name));
        let mut again = Vec::new();
        for (name, _) in closed {
            if !self.closed_onto.insert(name.clone()) {
                again.push(UnsafeAct::ClosedAgain { breaker: name.clone() });
            }
        }
        again
    }
}

/// The volts of cases and grounded metal above the limit for touch.
fn live_metal_volt(hazard: &Hazard) -> Option<f64> {
    match hazard.kind {
        HazardKind::EnergisedCase { volt, .. } | HazardKind::EnergisedGround { volt, .. } => {
            (hazard.severity == Severity::Danger).then_some(volt)
        }
        _ => None,
    }
}
