//! What was found off and closed since, or thrown, or put right: what is seen from then on is seen with
//! it so.

use std::collections::BTreeSet;

use super::belief::Evidence;
use super::evidence::Fact;
use super::model::{Model, Set};
use super::possible::Possible;
use super::symptom::number;
use super::{Complaint, Found, LoadSeen, Mended, Protected};
use crate::condition::catalogue::FaultKind;

/// Possibilities that were so once and are no more, each with the piece of evidence from which on
/// it is not.
#[derive(Clone, Debug, Default)]
pub(super) struct Closed {
    since: Vec<(usize, usize)>,
    /// Those of them that were put right.
    mended: BTreeSet<usize>,
}

impl Closed {
    /// What was closed in the course of the evidence: a handle was found off, and later said to hold
    /// or to trip; and switches that somebody said the position of, which nobody mistakes from then on.
    pub(super) fn new(model: &Model<'_>, evidence: &[Evidence]) -> Self {
        let mut off: Vec<&str> = Vec::new();
        let (mut closed, mut mended) = (Vec::new(), BTreeSet::new());
        for (at, told) in evidence.iter().enumerate() {
            if let Evidence::Mended(what) = told {
                let before = evidence.get(..at).unwrap_or_default();
                let ended = put_right(model, before, what);
                closed.extend(ended.iter().map(|&possible| (at, possible)));
                mended.extend(ended);
            }
            let Evidence::Seen { facts, settings, .. } = told else { continue };
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
                let again: Vec<&str> = match fact {
                    Fact::Protection { name, did: Protected::FoundOff } => {
                        off.push(name);
                        continue;
                    }
                    Fact::Protection { name, .. } => {
                        off.iter().copied().filter(|known| known == name).collect()
                    }
                    // What runs has what feeds it closed.
                    Fact::Load { channel, seen: LoadSeen::Runs | LoadSeen::Weak, .. } => {
                        let feeds = |name: &&str| model.feeds(name, *channel);
                        off.iter().copied().filter(feeds).collect()
                    }
                    _ => continue,
                };
                off.retain(|known| !again.contains(known));
                let of_it = model.possibles.iter().enumerate().filter(|(_, one)| {
                    let mut names = one.change.breakers.keys();
                    one.is_setting() && names.any(|name| again.contains(&name.as_str()))
                });
                closed.extend(of_it.map(|(possible, _)| (at, possible)));
            }
        }
        Self { since: closed, mended }
    }

    /// Possibilities that were put right.
    pub(super) const fn mended(&self) -> &BTreeSet<usize> {
        &self.mended
    }

    /// What each repair ended, in order.
    pub(super) fn repairs(&self, evidence: &[Evidence]) -> Vec<BTreeSet<usize>> {
        let is_repair = |(_, told): &(usize, &Evidence)| matches!(told, Evidence::Mended(_));
        let ended = |(at, _): (usize, &Evidence)| {
            let by_it = self.since.iter().filter(|(since, _)| *since == at);
            by_it.map(|&(_, possible)| possible).collect()
        };
        evidence.iter().enumerate().filter(is_repair).map(ended).collect()
    }

    /// Whether a possibility was put right before a thing was told.
    pub(super) fn is_mended_before(&self, one: usize, told: usize) -> bool {
        self.mended.contains(&one)
            && self.since.iter().any(|&(since, possible)| possible == one && since < told)
    }

    /// Possibilities without what was put right.
    pub(super) fn left(&self, leads: Set) -> Set {
        if self.mended.is_empty() {
            return leads;
        }
        let left: Vec<usize> = leads.iter().filter(|one| !self.mended.contains(one)).collect();
        Set::of(&left)
    }

    /// What was still so of some possibilities when a thing was told.
    pub(super) fn then(&self, leads: Set, evidence: &[Evidence], told: usize) -> Set {
        // Who says what works says it of now.
        let works = matches!(
            evidence.get(told),
            Some(Evidence::Symptom(symptom)) if matches!(symptom.complaint, Complaint::Works { .. })
        );
        self.without(leads, |since, one| since <= told || works && !self.mended.contains(&one))
    }

    /// What is still so of some possibilities.
    pub(super) fn now(&self, leads: Set) -> Set {
        self.without(leads, |_, _| true)
    }

    fn without(&self, leads: Set, is_past: impl Fn(usize, usize) -> bool) -> Set {
        if self.since.is_empty() {
            return leads;
        }
        let is_closed = |one: usize| {
            let mut since = self.since.iter();
            since.any(|&(since, possible)| possible == one && is_past(since, one))
        };
        let left: Vec<usize> = leads.iter().filter(|&one| !is_closed(one)).collect();
        Set::of(&left)
    }
}

/// The place of the last repair among what was told.
pub(super) fn last_repair(evidence: &[Evidence]) -> Option<usize> {
    evidence.iter().rposition(|told| matches!(told, Evidence::Mended(_)))
}

/// The possibilities that putting a thing right ends, after what was told before: of a box what was
/// found there, to whatever amount, and whatever else is of the same joint; all of its joints where
/// nothing was found. Of a cable it is whatever is in it or where it lands.
fn put_right(model: &Model<'_>, before: &[Evidence], what: &Mended) -> BTreeSet<usize> {
    let all = || model.possibles.iter().enumerate();
    let place = match what {
        Mended::Load { load } => {
            let is_of_it = |one: &Possible| {
                let fault = one.fault().and_then(|fault| fault.load(model.circuit));
                one.idle_load() == Some(load) || fault.is_some_and(|known| known.id == *load)
            };
            return all().filter(|(_, one)| is_of_it(one)).map(|(at, _)| at).collect();
        }
        Mended::Cable { cable } => {
            let is_of_it = |one: &Possible| {
                one.fault().is_some_and(|fault| {
                    fault.change.faults.iter().any(|fault| fault.is_of_cable(cable))
                })
            };
            return all().filter(|(_, one)| is_of_it(one)).map(|(at, _)| at).collect();
        }
        Mended::Supply => {
            let is_of_it = |one: &Possible| one.is_of_the_service() || one.is_the_supply_voltage();
            return all().filter(|(_, one)| is_of_it(one)).map(|(at, _)| at).collect();
        }
        Mended::Box { place } => number(model.circuit, place),
    };
    let found = before.iter().filter_map(|told| match told {
        Evidence::Opened { place: known, found } if Some(*known) == place => Some(found),
        _ => None,
    });
    let found: Vec<&Found> = found.flatten().collect();
    if found.is_empty() {
        let is_joint_there = |one: &Possible| {
            let is_device = one.fault().is_some_and(|fault| fault.kind == FaultKind::SwitchStuck);
            (is_device || one.elements().next().is_some())
                && matches!(one.boxes[..], [only] if Some(only) == place)
        };
        return all().filter(|(_, one)| is_joint_there(one)).map(|(at, _)| at).collect();
    }
    let is_it = |one: &Possible| found.iter().any(|found| one.is_what_was_found(found));
    let known: Vec<&Possible> = model.possibles.iter().filter(|one| is_it(one)).collect();
    let is_ended =
        |one: &Possible| is_it(one) || known.iter().any(|known| one.is_another_amount_of(known));
    all().filter(|(_, one)| is_ended(one)).map(|(at, _)| at).collect()
}
