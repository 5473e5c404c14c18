//! A joint that is open at some looks and makes contact at others: it moves with warmth, and with
//! whoever moves a cord. A protective device that lets go for nothing, and a load that cuts out by itself,
//! are thought of in the same way.
//!
//! It is no condition of its own, for at each look it is one of two: each thing seen is as likely
//! as the two make it on average. So it explains readings of one place that contradict each other, and
//! costs a half for every reading that the open joint alone explains as well.

use super::Complaint;
use super::asking::Asking;
use super::belief::{Evidence, Hypothesis};
use super::class::Class;
use super::model::Set;
use super::reading_error::ln_sum_exp;
use super::symptom::{Case, Symptom};
use crate::condition::catalogue::FaultKind;

/// Of joints that are open, so many make contact at half of the looks: judgement.
const INTERMITTENT: f64 = 0.05;

/// Of protective devices that are worn out, so many hold at times, and then at so many of the looks:
/// who finds it tripped resets it before anything is looked at. Judgement.
const HOLDS_AT_TIMES: f64 = 0.5;
const HOLDS_AT_LOOKS: f64 = 0.9;

/// Of loads that draw nothing when they are switched on, so many do at half of the looks: judgement.
const DRAWS_AT_TIMES: f64 = 0.2;

impl Asking<'_, '_> {
    /// A single class, which may be so now and then if it is an open joint, a worn-out device or a load
    /// that draws nothing.
    pub(super) fn steady_or_intermittent(
        &self,
        class: &Class,
        steady: Hypothesis,
        sound: Option<&Hypothesis>,
    ) -> Hypothesis {
        let Some(lead) = self.model.possibles.get(class.lead) else { return steady };
        let kind = lead.fault().map(|fault| fault.kind);
        let (share, closed_share) = match kind {
            Some(FaultKind::OpenJoint) => (INTERMITTENT, 0.5),
            Some(FaultKind::DeviceWornOut) if self.is_anything_tripping() => {
                (HOLDS_AT_TIMES, HOLDS_AT_LOOKS)
            }
            None if lead.idle_load().is_some() => (DRAWS_AT_TIMES, 0.5),
            _ => return steady,
        };
        let mixed = |open: f64, closed: f64| {
            ln_sum_exp([open + (1.0 - closed_share).ln(), closed + closed_share.ln()].into_iter())
        };
        let Some(sound) = sound else { return steady };
        let each = self.evidence.iter().zip(steady.by_evidence.iter().zip(&sound.by_evidence));
        // What a look showed once more it shows as often as the joint stood alike both times.
        let again = |before: usize| {
            let of = |one: &Hypothesis| one.by_evidence.get(before).copied().unwrap_or(0.0);
            let (open, closed) = (of(&steady), of(sound));
            mixed(open, closed) - open.max(closed)
        };
        let by_evidence: Vec<f64> = each
            .enumerate()
            .map(|(at, (told, (&open, &closed)))| match told {
                Evidence::Symptom(symptom) => match (&symptom.complaint, kind) {
                    (Complaint::Flickers { .. }, Some(FaultKind::OpenJoint)) => {
                        self.flickers(symptom, steady.leads, at)
                    }
                    (Complaint::Works { .. }, _) => mixed(open, closed),
                    // What has let go stays so until somebody resets it, and says so.
                    (Complaint::Trips { .. }, _) => open,
                    (_, Some(FaultKind::DeviceWornOut)) => mixed(open, closed),
                    _ => open,
                },
                Evidence::Seen { again: Some(before), .. } => again(*before),
                Evidence::Seen { .. } => mixed(open, closed),
                Evidence::Opened { .. } | Evidence::Mended(_) | Evidence::Elsewhere { .. } => open,
            })
            .collect();
        let now_and_then = (share * class.odds).ln() + by_evidence.iter().sum::<f64>();
        let always = steady.ln + (1.0 - share).ln();
        let ln = ln_sum_exp([now_and_then, always].into_iter());
        let by_evidence = if now_and_then > always { by_evidence } else { steady.by_evidence };
        let intermittent = (now_and_then - ln).exp();
        Hypothesis { by_evidence, ln, intermittent, ..steady }
    }

    /// Whether somebody called because something trips: what has let go without that stays so.
    fn is_anything_tripping(&self) -> bool {
        self.evidence.iter().any(|told| match told {
            Evidence::Symptom(symptom) => matches!(symptom.complaint, Complaint::Trips { .. }),
            _ => false,
        })
    }

    /// What comes and goes is said of what such a joint feeds, which makes contact as well as not.
    fn flickers(&self, symptom: &Symptom, open: Set, told: usize) -> f64 {
        let ways = symptom.ways.iter().filter_map(|&way| {
            let open = self.model.row(open, way.0)?;
            self.with_case(symptom, way, Set::SOUND, |case| {
                symptom.chance(&Case { interrupted: vec![(open, true)], ..case })
            })
        });
        let said: f64 = ways.sum::<f64>() / symptom.ways.len().max(1) as f64;
        self.heard(symptom, said, told).ln()
    }
}
