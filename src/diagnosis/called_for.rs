//! What somebody called for: what is wrong beside that is not searched for once nothing is left to
//! explain.

use super::Complaint;
use super::advise::HARDLY_WRONG;
use super::belief::{Evidence, Hypothesis, Who};
use super::first::MISREAD_LN;
use super::inquiry::Inquiry;
use super::model::Set;

/// What makes a thing so much likelier than anything without a fault does, a logarithm, explains it.
const EXPLAINS_LN: f64 = 1.0;

/// An explanation without a fault that is so much less likely than the best of these is none.
const HARDLY_SO: f64 = 0.05;

/// To leave with something wrong costs a second visit, seconds, and where somebody felt a shock or
/// heat it costs what nobody answers for. Judgement.
const LEFT_S: f64 = 7_200.0;
const LEFT_TO_BE_FELT_S: f64 = 100.0 * LEFT_S;

/// What was closed since is named as the reason from this probability on: else nothing was ever wrong.
const CLOSED_FROM: f64 = 0.1;

/// Of each thing told that asks for an explanation, how likely it is at best with nothing wrong, or
/// with nothing but what was off and is closed: a logarithm.
pub(super) struct CalledFor(Vec<Option<f64>>);

impl CalledFor {
    pub(super) fn new(inquiry: &Inquiry<'_>) -> Self {
        let is_nuisance =
            |class: usize| inquiry.classes.get(class).is_some_and(|one| one.is_nuisance);
        let is_sound = |one: &&Hypothesis| match one.who {
            Who::Classes(set) => inquiry.still(set).iter().all(is_nuisance),
            Who::Unknown => false,
        };
        let sound: Vec<&Hypothesis> = inquiry.belief.hypotheses.iter().filter(is_sound).collect();
        let best = sound.first().map_or(0.0, |one| one.weight);
        let is_complaint = |told: &Evidence| match told {
            Evidence::Symptom(symptom) => {
                !matches!(symptom.complaint, Complaint::Works { .. } | Complaint::NothingSeen)
            }
            _ => false,
        };
        let asks = |(at, told): (usize, &Evidence)| {
            let likely = sound.iter().filter(|one| one.weight >= HARDLY_SO * best);
            let lns = likely.filter_map(|one| one.by_evidence.get(at));
            let ln = lns.copied().fold(f64::NEG_INFINITY, f64::max);
            (ln < MISREAD_LN || is_complaint(told)).then_some(ln)
        };
        Self(inquiry.evidence.iter().enumerate().map(asks).collect())
    }

    /// Whether a hypothesis explains anything that asks for it; where nothing does, whether anything
    /// is wrong is what was asked.
    pub(super) fn is(&self, one: &Hypothesis) -> bool {
        let asked = self.0.iter().zip(&one.by_evidence);
        let mut asked = asked.filter_map(|(sound, ln)| Some((sound.as_ref()?, ln))).peekable();
        asked.peek().is_none() || asked.any(|(sound, ln)| ln - sound > EXPLAINS_LN)
    }
}

impl Inquiry<'_> {
    /// What it costs to leave with something wrong: more where somebody felt it already.
    pub(super) fn left_s(&self) -> f64 {
        let is_felt =
            self.is_said(|one| matches!(one, Complaint::Tingle { .. } | Complaint::Warm { .. }));
        if is_felt { LEFT_TO_BE_FELT_S } else { LEFT_S }
    }

    /// Whether somebody said that a shock was felt.
    pub(super) fn is_shock_felt(&self) -> bool {
        self.is_said(|one| matches!(one, Complaint::Tingle { .. }))
    }

    /// Whether something of a kind was complained of.
    pub(super) fn is_said(&self, is: impl Fn(&Complaint) -> bool) -> bool {
        self.evidence
            .iter()
            .any(|told| matches!(told, Evidence::Symptom(symptom) if is(&symptom.complaint)))
    }

    /// The classes of a set whose lead is still so.
    pub(super) fn still(&self, set: Set) -> Set {
        let is_still = |class: &usize| {
            let lead = self.classes.get(*class).map(|class| Set::of(&[class.lead]));
            lead.is_some_and(|lead| self.closed.now(lead) == lead)
        };
        Set::of(&set.iter().filter(is_still).collect::<Vec<_>>())
    }

    /// Whether something was off, or stood otherwise, that was closed or thrown since, and hardly
    /// anything but that was ever wrong.
    pub(super) fn is_closed_again(&self) -> bool {
        let was = self.likeliest().filter(|(_, set)| set.is_some_and(|set| self.still(set) != set));
        let was = was.map(|(one, _)| one.weight).sum::<f64>();
        was >= CLOSED_FROM && was + self.findings().nothing_wrong >= HARDLY_WRONG
    }
}
