//! What somebody called for: what is wrong beside that is not searched for once nothing is left to
//! explain.

use super::advise::HARDLY_WRONG;
use super::belief::{Evidence, Hypothesis, Who};
use super::first::MISREAD_LN;
use super::inquiry::Inquiry;
use super::look::{Channel, Measure};
use super::model::{ALL_ON, Set};
use super::predictions::Row;
use super::symptom::dead_places;
use super::{Complaint, LoadSeen};

/// What makes a thing so much likelier than anything without a fault does, a logarithm, explains it.
const EXPLAINS_LN: f64 = 1.0;

/// An explanation without a fault that is so much less likely than the best of these is none.
const HARDLY_SO: f64 = 0.05;

/// To leave with something wrong costs a second visit, seconds, and where somebody felt a shock or
/// heat it costs what nobody answers for. Judgement.
const LEFT_S: f64 = 7_200.0;
const LEFT_TO_BE_FELT_S: f64 = 100.0 * LEFT_S;

/// So much of a load's voltage more or less is noticed by whoever uses it.
const NOTICED_SHARE: f64 = 0.12;

/// What was closed since is named as the reason from this probability on: else nothing was ever wrong.
const CLOSED_FROM: f64 = 0.1;

/// Of each thing told that asks for an explanation, how likely it is at best with nothing wrong, or
/// with nothing but what was off and is closed: a logarithm.
pub(super) struct CalledFor<'i, 'c> {
    asked: Vec<Option<f64>>,
    inquiry: &'i Inquiry<'c>,
}

impl<'i, 'c> CalledFor<'i, 'c> {
    pub(super) fn new(inquiry: &'i Inquiry<'c>) -> Self {
        let is_nuisance =
            |class: usize| inquiry.classes.get(class).is_some_and(|one| one.is_nuisance);
        let is_sound = |one: &&Hypothesis| match one.who {
            Who::Classes(set) => inquiry.still_or_mended(set).iter().all(is_nuisance),
            Who::Unknown => false,
        };
        let sound: Vec<&Hypothesis> = inquiry.belief.hypotheses.iter().filter(is_sound).collect();
        let best = sound.first().map_or(0.0, |one| one.weight);
        let is_complaint = |told: &Evidence| match told {
            Evidence::Symptom(symptom) => symptom.complaint.is_of_something_wrong(),
            _ => false,
        };
        let asks = |(at, told): (usize, &Evidence)| {
            let likely = sound.iter().filter(|one| one.weight >= HARDLY_SO * best);
            let lns = likely.filter_map(|one| one.by_evidence.get(at));
            let ln = lns.copied().fold(f64::NEG_INFINITY, f64::max);
            (ln < MISREAD_LN || is_complaint(told)).then_some(ln)
        };
        let told = inquiry.evidence.iter().enumerate();
        Self { asked: told.map(asks).collect(), inquiry }
    }

    /// Whether a hypothesis explains anything that asks for it; where nothing does, whether anything
    /// is wrong is what was asked.
    pub(super) fn is(&self, one: &Hypothesis) -> bool {
        let asked = self.asked.iter().zip(&one.by_evidence);
        let mut asked = asked.filter_map(|(sound, ln)| Some((sound.as_ref()?, ln))).peekable();
        // What explains it beside what was put right does so by that.
        let is_unmended = self.inquiry.closed.left(one.leads) == one.leads;
        asked.peek().is_none()
            || is_unmended && asked.any(|(sound, ln)| ln - sound > EXPLAINS_LN)
            || self.is_noticed_now(one)
    }

    /// Whether something of which what was put right hid anything is noticed since: a place without
    /// voltage, a load that runs otherwise, or something that trips.
    fn is_noticed_now(&self, one: &Hypothesis) -> bool {
        let Inquiry { model, closed, .. } = self.inquiry;
        let left = closed.left(one.leads);
        if left == one.leads || left == Set::SOUND {
            return false;
        }
        let Some((row, sound)) = model.row(left, ALL_ON).zip(model.row(Set::SOUND, ALL_ON)) else {
            return true;
        };
        let looks = &model.predictor.looks;
        let dead = |row: &Row| dead_places(&model.chances, looks, row);
        let is_dead_now = |(now, sound): (Option<f64>, Option<f64>)| {
            now.zip(sound).is_some_and(|(now, sound)| now > 0.5 && sound < 0.5)
        };
        let runs_otherwise = |(at, channel): (usize, &Channel)| {
            let is_share = matches!(channel.measure, Measure::Share { .. });
            is_share && (row.value(at) - sound.value(at)).abs() > NOTICED_SHARE
        };
        row.tripped != sound.tripped
            || dead(&row).into_iter().zip(dead(&sound)).any(is_dead_now)
            || looks.channels.iter().enumerate().any(runs_otherwise)
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

    /// Whether anything was put right.
    pub(super) fn is_anything_mended(&self) -> bool {
        self.evidence.iter().any(|told| matches!(told, Evidence::Mended(_)))
    }

    /// Whether what was put right explains each complaint of a kind.
    pub(super) fn is_mended(&self, is: impl Fn(&Complaint) -> bool) -> bool {
        let nothing = |one: &&Hypothesis| one.who == Who::Classes(Set::SOUND);
        let hypotheses = &self.belief.hypotheses;
        let Some((best, nothing)) = hypotheses.first().zip(hypotheses.iter().find(nothing)) else {
            return false;
        };
        let is_felt =
            |told: &Evidence| matches!(told, Evidence::Symptom(symptom) if is(&symptom.complaint));
        let is_explained = |at: usize| {
            let ln = |one: &Hypothesis| one.by_evidence.get(at).copied();
            ln(best).zip(ln(nothing)).is_some_and(|(best, nothing)| best - nothing > EXPLAINS_LN)
        };
        let mut felt = self.evidence.iter().enumerate().filter(|(_, told)| is_felt(told));
        self.closed.left(best.leads) != best.leads && felt.all(|(at, _)| is_explained(at))
    }

    /// Whether something of a kind was complained of.
    pub(super) fn is_said(&self, is: impl Fn(&Complaint) -> bool) -> bool {
        self.evidence
            .iter()
            .any(|told| matches!(told, Evidence::Symptom(symptom) if is(&symptom.complaint)))
    }

    /// The classes of a set whose lead is still so.
    pub(super) fn still(&self, set: Set) -> Set {
        self.of_leads(set, |lead| self.closed.now(Set::of(&[lead])) != Set::SOUND)
    }

    /// The classes of a set whose lead is still so, or was put right: that explains what was called for,
    /// and whether it was all of it is what is asked.
    fn still_or_mended(&self, set: Set) -> Set {
        self.of_leads(set, |lead| {
            self.closed.mended().contains(&lead) || self.closed.now(Set::of(&[lead])) != Set::SOUND
        })
    }

    fn of_leads(&self, set: Set, is: impl Fn(usize) -> bool) -> Set {
        let is_so = |class: &usize| self.classes.get(*class).is_some_and(|one| is(one.lead));
        Set::of(&set.iter().filter(is_so).collect::<Vec<_>>())
    }

    /// Whether something was off, or stood otherwise, that was closed or thrown since, and hardly
    /// anything but that was ever wrong. What was seen dead since was not dead for that.
    pub(super) fn is_closed_again(&self) -> bool {
        if self.is_dead_still() {
            return false;
        }
        let was = self.likeliest().filter(|(_, set)| set.is_some_and(|set| self.still(set) != set));
        let was = was.map(|(one, _)| one.weight).sum::<f64>();
        was >= CLOSED_FROM && was + self.findings().nothing_wrong >= HARDLY_WRONG
    }

    /// Whether a load that somebody called about was dead when it was last seen.
    fn is_dead_still(&self) -> bool {
        self.evidence.iter().any(|told| match told {
            Evidence::Symptom(symptom) => match &symptom.complaint {
                Complaint::LoadDead { load } => {
                    self.last_of_load(&self.evidence, load) == Some(LoadSeen::Dead)
                }
                _ => false,
            },
            _ => false,
        })
    }
}
