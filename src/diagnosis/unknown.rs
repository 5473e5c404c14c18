//! Nothing that is known: what would be seen if what is there were on no list.
//!
//! Such a thing looks like some known fault or like none, but for looks here and there that are
//! odd and may show anything. Each look that is not odd costs it a little, each odd one gains: so
//! it wins where every known fault leaves several things over, and loses where one explains all.

use super::asking::Asking;
use super::belief::{Evidence, Hypothesis, Who};
use super::evidence::Fact;
use super::model::Set;
use super::reading_error::ln_sum_exp;

/// Of faults that show, so many are of a kind that is on no list: judgement.
const UNKNOWN_SHARE: f64 = 0.02;

/// So many of the looks at it are odd ones: judgement.
pub(super) const ODD: f64 = 0.1;

/// Something on no list makes any one complaint at least this often.
const UNKNOWN_COMPLAINT: f64 = 1e-3;

impl Asking<'_, '_> {
    /// The hypothesis that nothing known is so, by what every single makes of what was told.
    pub(super) fn of_nothing_known(
        &self,
        singles: &[Option<Hypothesis>],
        sound: Option<&Hypothesis>,
    ) -> Hypothesis {
        let faults = singles.iter().zip(self.classes).filter_map(|(single, class)| {
            let single = single.as_ref().filter(|_| class.shows && !class.is_nuisance)?;
            Some((class.odds, single))
        });
        let known: Vec<(f64, &Hypothesis)> =
            faults.chain(sound.map(|sound| (self.showing, sound))).collect();
        let odd: Vec<f64> = (0..self.evidence.len()).map(|told| self.odd(told, &known)).collect();
        let by = |one: &Hypothesis| -> Vec<f64> {
            let each = self.evidence.iter().zip(one.by_evidence.iter().zip(&odd));
            let ln = each.map(|(told, (ln, odd))| match told {
                // Whatever it is, an opened box does not show it.
                Evidence::Opened { found, .. } if found.is_empty() => 0.0,
                Evidence::Mended(_) => 0.0,
                _ => ((1.0 - ODD) * ln.exp() + ODD * odd).max(f64::MIN_POSITIVE).ln(),
            });
            ln.collect()
        };
        let mut best: (f64, Vec<f64>) =
            (f64::NEG_INFINITY, odd.iter().map(|odd| odd.ln()).collect());
        let mut each = Vec::with_capacity(known.len());
        for (odds, like) in known {
            let by_evidence = by(like);
            let ln = (UNKNOWN_SHARE * odds).ln() + by_evidence.iter().sum::<f64>();
            each.push(ln);
            if ln > best.0 {
                best = (ln, by_evidence);
            }
        }
        let (ln, leads) = (ln_sum_exp(each.into_iter()), Set::SOUND);
        let (who, by_evidence) = (Who::Unknown, best.1);
        Hypothesis { who, leads, weight: 0.0, by_evidence, ln, intermittent: 0.0 }
    }

    /// The chance of what was told if it is an odd one: whatever any of the known shows, the rarest
    /// as often as the others, or anything at all.
    fn odd(&self, told: usize, known: &[(f64, &Hypothesis)]) -> f64 {
        let shown = known.iter().filter_map(|(_, one)| one.by_evidence.get(told));
        let even = shown.map(|ln| ln.exp()).sum::<f64>() / known.len().max(1) as f64;
        match self.evidence.get(told) {
            Some(Evidence::Seen { facts, .. }) => {
                let flat: f64 = facts.iter().map(Fact::chance_of_anything).product();
                f64::midpoint(even, flat)
            }
            Some(Evidence::Symptom(symptom)) if symptom.worked_on().is_none() => {
                let with_reason = self.with_reason.get(told).copied().unwrap_or(0.0);
                (with_reason / self.showing).max(UNKNOWN_COMPLAINT)
            }
            _ => even,
        }
    }
}
