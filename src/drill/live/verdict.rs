//! Whether what a student names is what is wrong.

use std::collections::BTreeSet;

use crate::condition::catalogue::{PossibleFault, catalogue};
use crate::condition::{Condition, Fault};
use crate::drill::{Drill, DrillProblem, DrillReading};

/// What a name is worth.
///
/// ```
/// use slotwise::drill::live::Verdict;
/// assert_ne!(Verdict::Alike, Verdict::Wrong);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It is, or is among, what is wrong.
    Right {
        /// The faults named, by their places in the drill.
        faults: Vec<usize>,
        /// Faults still to be named.
        left: usize,
    },
    /// Something else, which no instrument at any receptacle can tell from what is wrong.
    Alike,
    /// Something else in the same box and conductor.
    RightPlace,
    /// Something else in the same conductor.
    RightConductor,
    /// Something else.
    Wrong,
}

pub(super) fn judge(
    drill: &Drill,
    already: &[bool],
    named: &Condition,
) -> Result<Verdict, DrillProblem> {
    let said = subjects(named);
    let matching = drill.faults.iter().enumerate().filter(|(_, fault)| {
        let real = subjects(&fault.change);
        !real.is_empty() && real.is_subset(&said)
    });
    let faults: Vec<usize> = matching.map(|(place, _)| place).collect();
    // What is named on top and is not so makes it a guess.
    let all: BTreeSet<String> =
        drill.faults.iter().flat_map(|fault| subjects(&fault.change)).collect();
    if !faults.is_empty() && said.is_subset(&all) {
        let open = |place: &usize| !faults.contains(place) && already.get(*place) != Some(&true);
        let left = (0..drill.faults.len()).filter(open).count();
        return Ok(Verdict::Right { faults, left });
    }
    let other = Drill { condition: named.clone(), ..drill.clone() };
    let real = drill.readings()?;
    // What cannot be so reads like nothing.
    if other.readings().is_ok_and(|readings| alike(&readings, &real)) {
        return Ok(Verdict::Alike);
    }
    let entries = catalogue(&drill.circuit);
    let meant: Vec<&PossibleFault> =
        entries.faults().iter().filter(|entry| subjects(&entry.change) == said).collect();
    let shares = |of: fn(&PossibleFault) -> &Vec<String>| {
        meant.iter().any(|meant| {
            drill.faults.iter().any(|fault| of(fault).iter().any(|one| of(meant).contains(one)))
        })
    };
    Ok(match (shares(|fault| &fault.places), shares(|fault| &fault.conductors)) {
        (true, true) => Verdict::RightPlace,
        (false, true) => Verdict::RightConductor,
        _ => Verdict::Wrong,
    })
}

/// Whether nobody could tell two lists of readings apart: figures within 2 % and half a volt, as
/// a person reads them, and everything else the same.
fn alike(one: &[DrillReading], other: &[DrillReading]) -> bool {
    let close = |p: f64, q: f64| (p - q).abs() <= 0.02 * p.abs().max(q.abs()) + 0.5;
    let same = |(p, q): (&DrillReading, &DrillReading)| {
        (&p.tool, &p.at, &p.between) == (&q.tool, &q.at, &q.between)
            && match (p.value, q.value) {
                (Some(p), Some(q)) => close(p, q),
                _ => p.shows == q.shows,
            }
    };
    one.len() == other.len() && one.iter().zip(other).all(same)
}

/// What a condition is about, without how bad it is: an open joint and a bad one are both that
/// joint.
fn subjects(condition: &Condition) -> BTreeSet<String> {
    let pair = |one: &str, other: &str| match one <= other {
        true => format!("{one} and {other}"),
        false => format!("{other} and {one}"),
    };
    let subject = |fault: &Fault| match fault {
        Fault::Open { element, .. }
        | Fault::Resistance { element, .. }
        | Fault::Glowing { element } => format!("joint {element}"),
        Fault::ExchangedAtCableEnd { end, conductors } => {
            let wires = pair(&conductors.0, &conductors.1);
            format!("exchanged {}.{} {wires}", end.cable, end.end.letter())
        }
        Fault::ExchangedJoints { elements } => {
            format!("exchanged {}", pair(&elements.0, &elements.1))
        }
        Fault::Bridge { between, .. } => {
            format!("bridge {}", pair(between.0.as_str(), between.1.as_str()))
        }
        Fault::Broken { cable, conductor, .. }
        | Fault::ResistanceInCable { cable, conductor, .. } => {
            format!("cable {cable} {conductor}")
        }
        Fault::ContactInCable { cable, conductors, .. } => {
            format!("touching {cable} {}", pair(&conductors.0, &conductors.1))
        }
        other => format!("{other:?}"),
    };
    let faults = condition.faults.iter().map(subject);
    let breakers = condition.breakers.iter().map(|(name, on)| format!("breaker {name} {on}"));
    let switches = condition.switches.iter().map(|(name, at)| format!("switch {name} {at:?}"));
    faults.chain(breakers).chain(switches).collect()
}
