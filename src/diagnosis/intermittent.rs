//! A joint that is open at some looks and makes contact at others: it moves with warmth, and with
//! whoever moves a cord.
//!
//! It is no condition of its own, for at each look it is one of two: each thing seen is as likely
//! as the two make it on average. So it explains readings of one place that contradict each other, and
//! costs a half for every reading that the open joint alone explains as well.

use super::Complaint;
use super::asking::Asking;
use super::belief::{Evidence, Hypothesis};
use super::class::Class;
use super::model::Set;
use super::possible::Possible;
use super::reading_error::ln_sum_exp;
use super::symptom::{Case, Symptom};
use crate::condition::catalogue::FaultKind;

/// Of joints that are open, so many make contact at half of the looks: judgement.
const INTERMITTENT: f64 = 0.05;

impl Asking<'_, '_> {
    /// A single class, which may make contact now and then if it is an open joint.
    pub(super) fn steady_or_intermittent(
        &self,
        class: &Class,
        steady: Hypothesis,
        sound: Option<&Hypothesis>,
    ) -> Hypothesis {
        let lead = self.model.possibles.get(class.lead).and_then(Possible::fault);
        let (Some(sound), true) = (sound, lead.is_some_and(|f| f.kind == FaultKind::OpenJoint))
        else {
            return steady;
        };
        let each = self.evidence.iter().zip(steady.by_evidence.iter().zip(&sound.by_evidence));
        // What a look showed once more it shows as often as the joint stood alike both times.
        let again = |before: usize| {
            let of = |one: &Hypothesis| one.by_evidence.get(before).copied().unwrap_or(0.0);
            let (open, closed) = (of(&steady), of(sound));
            even(open, closed) - open.max(closed)
        };
        let by_evidence: Vec<f64> = each
            .enumerate()
            .map(|(at, (told, (&open, &closed)))| match told {
                Evidence::Symptom(symptom) => match symptom.complaint {
                    Complaint::Flickers { .. } => self.flickers(symptom, steady.leads, at),
                    Complaint::Works { .. } => even(open, closed),
                    _ => open,
                },
                Evidence::Seen { again: Some(before), .. } => again(*before),
                Evidence::Seen { .. } => even(open, closed),
                Evidence::Opened { .. } | Evidence::Mended(_) | Evidence::Elsewhere { .. } => open,
            })
            .collect();
        let now_and_then = (INTERMITTENT * class.odds).ln() + by_evidence.iter().sum::<f64>();
        let always = steady.ln + (1.0 - INTERMITTENT).ln();
        let ln = ln_sum_exp([now_and_then, always].into_iter());
        let by_evidence = if now_and_then > always { by_evidence } else { steady.by_evidence };
        let intermittent = (now_and_then - ln).exp();
        Hypothesis { by_evidence, ln, intermittent, ..steady }
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

/// Each of two as often as the other; logarithms.
fn even(one: f64, other: f64) -> f64 {
    ln_sum_exp([one, other].into_iter()) - std::f64::consts::LN_2
}
