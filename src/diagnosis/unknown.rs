//! Nothing that is known: what would be seen if what is there were on no list.
//!
//! Such a thing shows, look by look, what is to be expected after the complaint, whatever it is: no
//! one fault has to explain all looks, and none is foretold. So it wins where every known fault
//! leaves something over, and loses where one explains all. A joint that comes and goes is one such
//! thing: half of the looks find it open.

use super::asking::Asking;
use super::belief::{Evidence, Hypothesis, Who};
use super::evidence::Fact;
use super::model::Set;
use super::reading_error::ln_sum_exp;
use crate::condition::catalogue::FaultKind;

/// Of faults that show, so many are of a kind that is on no list: judgement.
const UNKNOWN_SHARE: f64 = 0.02;

/// Of joints that are open, so many make contact half of the time: judgement.
const COMES_AND_GOES: f64 = 0.02;

/// So often it shows what any of the known faults does, the rarest as often as the others, and so
/// often anything at all.
const EVEN: f64 = 0.2;
const FLAT: f64 = 0.2;

/// Something on no list makes any one complaint at least this often.
const UNKNOWN_COMPLAINT: f64 = 1e-3;

impl Asking<'_, '_> {
    /// The hypothesis that nothing known is so, by what every single makes of what was told.
    pub(super) fn of_nothing_known(
        &self,
        singles: &[Option<Hypothesis>],
        sound: Option<&Hypothesis>,
    ) -> Hypothesis {
        let said = |one: &Hypothesis| -> f64 {
            let of = self.evidence.iter().zip(&one.by_evidence);
            let symptoms = of.filter(|(told, _)| matches!(told, Evidence::Symptom(_)));
            symptoms.map(|(_, ln)| ln).sum()
        };
        // What is known, with how likely each is by what was complained of.
        let mut known: Vec<(f64, &Hypothesis)> =
            sound.map(|one| (said(one), one)).into_iter().collect();
        known.extend(singles.iter().zip(self.classes).filter_map(|(single, class)| {
            let single = single.as_ref()?;
            Some((class.odds.ln() + said(single), single))
        }));
        let total = ln_sum_exp(known.iter().map(|(ln, _)| *ln));
        // What is foretold, and what the known faults show if each were as likely as any.
        let any = |told: usize| {
            let (mut foretold, mut even) = (0.0, 0.0);
            for (ln, one) in &known {
                let chance = one.by_evidence.get(told).map_or(0.0, |ln| ln.exp());
                foretold += (ln - total).exp() * chance;
                even += chance / known.len() as f64;
            }
            (1.0 - EVEN - FLAT) * foretold + EVEN * even
        };
        let reasons = self.evidence.iter().zip(&self.with_reason).enumerate();
        let by_evidence: Vec<f64> = reasons
            .map(|(told, (evidence, with_reason))| match evidence {
                Evidence::Seen { facts, .. } => {
                    let flat: f64 = facts.iter().map(Fact::chance_of_anything).product();
                    (any(told) + FLAT * flat).max(f64::MIN_POSITIVE).ln()
                }
                Evidence::Symptom(_) => (with_reason / self.showing).max(UNKNOWN_COMPLAINT).ln(),
                // Whatever it is, an opened box does not show it.
                Evidence::Opened { found, .. } if found.is_empty() => 0.0,
                Evidence::Opened { .. } => any(told).max(f64::MIN_POSITIVE).ln(),
            })
            .collect();
        let anything = (UNKNOWN_SHARE * self.showing).ln() + by_evidence.iter().sum::<f64>();
        let ln = ln_sum_exp([anything, self.of_coming_and_going(singles, sound)].into_iter());
        let leads = Set::SOUND;
        Hypothesis { who: Who::Unknown, leads, weight: 0.0, by_evidence, ln }
    }

    /// The logarithm of the weight of some joint that is open at half of the looks.
    fn of_coming_and_going(
        &self,
        singles: &[Option<Hypothesis>],
        sound: Option<&Hypothesis>,
    ) -> f64 {
        let Some(sound) = sound else { return f64::NEG_INFINITY };
        let opens = |class: usize| {
            let lead = self.classes.get(class).and_then(|c| self.model.possibles.get(c.lead));
            lead.and_then(|lead| lead.fault()).is_some_and(|f| f.kind == FaultKind::OpenJoint)
        };
        let each: Vec<f64> = singles
            .iter()
            .enumerate()
            .filter(|(class, _)| opens(*class))
            .filter_map(|(class, single)| Some((self.classes.get(class)?, single.as_ref()?)))
            .map(|(class, open)| {
                let looks =
                    self.evidence.iter().zip(open.by_evidence.iter().zip(&sound.by_evidence));
                let ln = looks.map(|(told, (open, closed))| match told {
                    Evidence::Seen { .. } => (0.5 * open.exp() + 0.5 * closed.exp()).ln(),
                    _ => *open,
                });
                (COMES_AND_GOES * class.odds).ln() + ln.sum::<f64>()
            })
            .collect();
        ln_sum_exp(each.iter().copied())
    }
}
