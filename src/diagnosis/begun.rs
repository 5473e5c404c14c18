//! How what is wrong began. Who says that something fails says that it used to work, and what is wired wrong
//! was so from the first day.

use std::collections::BTreeSet;

use super::class::Class;
use super::model::{DESCRIBED, Model, Set};
use super::possible::Possible;
use crate::condition::catalogue::{FaultKind, PossibleFault};

/// Of things that fail and used to work, so many were worked on shortly before: judgement ...
const WORKED_ON_LATELY: f64 = 0.2;

/// ... and of what trips something at once so few were left so by whoever worked there: judgement.
const LEFT_TRIPPING: f64 = 0.02;

/// Of a class, how what it may be begins, in shares.
#[derive(Clone, Copy, Debug)]
pub(super) struct Begun {
    /// May begin by itself one day.
    by_itself: f64,
    /// Is no reason to call and none against it: a load that nobody mentioned, and what is wired wrong where
    /// somebody worked lately.
    beside: f64,
    /// How often what was wired so begins nevertheless.
    as_often: f64,
}

impl Begun {
    pub(super) fn of(model: &Model<'_>, worked_on: &BTreeSet<usize>, class: &Class) -> Self {
        let (mut by_itself, mut wired_so) = (0.0, 0.0);
        for &(at, share) in &class.members {
            let Some(possible) = model.possibles.get(at) else { continue };
            by_itself += if is_of_itself(possible) { share } else { 0.0 };
            wired_so += if is_wired_so(possible, worked_on) { share } else { 0.0 };
        }
        let trips = || {
            let row = model.row(Set::of(&[class.lead]), DESCRIBED);
            row.is_some_and(|row| !row.tripped.is_empty())
        };
        let as_often = if wired_so > 0.0 && trips() { LEFT_TRIPPING } else { WORKED_ON_LATELY };
        Self { by_itself, beside: (1.0 - by_itself - wired_so).max(0.0), as_often }
    }

    /// How often what a set of classes does begins with nobody having worked there.
    pub(super) fn since_it_worked<'b>(set: impl Iterator<Item = &'b Self>) -> f64 {
        let (mut no_reason, mut beside, mut as_often) = (1.0, 1.0, WORKED_ON_LATELY);
        for one in set {
            no_reason *= 1.0 - one.by_itself;
            beside *= one.beside;
            as_often = one.as_often.min(as_often);
        }
        1.0 - (no_reason - beside).max(0.0) * (1.0 - as_often)
    }

    /// The same of one member.
    pub(super) fn of_member(&self, possible: &Possible, worked_on: &BTreeSet<usize>) -> f64 {
        if is_wired_so(possible, worked_on) { self.as_often } else { 1.0 }
    }
}

/// Whether it may begin without anybody's doing. Beside what is wired wrong a load that nobody mentioned may
/// be on.
fn is_of_itself(possible: &Possible) -> bool {
    match possible.fault() {
        Some(fault) => !is_of_the_installation(fault),
        None => possible.idle_load().is_some(),
    }
}

fn is_of_the_installation(fault: &PossibleFault) -> bool {
    fault.is_bootleg() || FaultKind::is_of_the_installation(fault.kind)
}

/// Whether it was wired so, where nobody worked lately.
fn is_wired_so(possible: &Possible, worked_on: &BTreeSet<usize>) -> bool {
    possible.fault().is_some_and(is_of_the_installation)
        && !possible.boxes.iter().any(|at| worked_on.contains(at))
}
