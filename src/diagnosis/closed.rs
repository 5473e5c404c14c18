//! What was found off and closed since, or thrown: what is seen from then on is seen with it so.

use super::belief::Evidence;
use super::evidence::Fact;
use super::model::{Model, Set};
use super::possible::Possible;
use super::{Complaint, Protected};

/// Possibilities that were so once and are no more, each with the piece of evidence from which on
/// it is not.
#[derive(Clone, Debug, Default)]
pub(super) struct Closed(Vec<(usize, usize)>);

impl Closed {
    /// What was closed in the course of the evidence: a handle was found off, and later said to hold
    /// or to trip; and switches that somebody said the position of, which nobody mistakes from then on.
    pub(super) fn new(model: &Model<'_>, evidence: &[Evidence]) -> Self {
        let mut off: Vec<&str> = Vec::new();
        let mut closed = Vec::new();
        for (at, told) in evidence.iter().enumerate() {
            let Evidence::Seen { facts, settings } = told else { continue };
            let is_thrown = |one: &Possible| {
                let stands = |name: &String| {
                    let mut settings = settings.iter().filter_map(|&at| model.settings.get(at));
                    !facts.is_empty() && settings.all(|stands| stands.switches.contains_key(name))
                };
                !one.change.switches.is_empty() && one.change.switches.keys().all(stands)
            };
            let thrown = model.possibles.iter().enumerate();
            let thrown = thrown.filter(|(_, one)| one.is_setting() && is_thrown(one));
            closed.extend(thrown.map(|(possible, _)| (at, possible)));
            for fact in facts {
                let Fact::Protection { name, did } = fact else { continue };
                if *did == Protected::FoundOff {
                    off.push(name);
                } else if off.contains(&name.as_str()) {
                    off.retain(|known| known != name);
                    let of_it = model.possibles.iter().enumerate().filter(|(_, one)| {
                        one.is_setting() && one.change.breakers.contains_key(name)
                    });
                    closed.extend(of_it.map(|(possible, _)| (at, possible)));
                }
            }
        }
        Self(closed)
    }

    /// What was still so of some possibilities when a thing was told.
    pub(super) fn then(&self, leads: Set, evidence: &[Evidence], told: usize) -> Set {
        // Who says what works says it of now.
        let works = matches!(
            evidence.get(told),
            Some(Evidence::Symptom(symptom)) if matches!(symptom.complaint, Complaint::Works { .. })
        );
        self.without(leads, |since| since <= told || works)
    }

    /// What is still so of some possibilities.
    pub(super) fn now(&self, leads: Set) -> Set {
        self.without(leads, |_| true)
    }

    fn without(&self, leads: Set, is_past: impl Fn(usize) -> bool) -> Set {
        if self.0.is_empty() {
            return leads;
        }
        let is_closed =
            |one: usize| self.0.iter().any(|&(since, possible)| possible == one && is_past(since));
        let left: Vec<usize> = leads.iter().filter(|&one| !is_closed(one)).collect();
        Set::of(&left)
    }
}
