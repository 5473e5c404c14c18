//! What to do next: a test, where to go, or what is to be put right.

use crate::circuit::reach::{Branches, Reach, Subpanels};
use crate::circuit::{Circuit, Joint, Outlet};
use crate::condition::catalogue::PossibleFault;
use crate::condition::words::speak;
use crate::diagnosis::words::tell_protected;
use crate::diagnosis::{
    Account, Advice, Complaint, Elsewhere, Found, Inquiry, Mended, Observation, Overload,
    Protected, Seen, Showed, WhenItTrips, gives_light, place_of_load, words,
};
use crate::instrument::{MeasureProblem, Place};
use crate::quantity::Address;
use crate::report::figure::{amperes, leak, milliamperes, percent};
use crate::report::vocabulary::{Term, term};

use super::repair::{ExpectedReading, expected};
use super::stop::{StopReport, stop_report};
use super::suspect::{SuspectReport, Teller};
use super::test::{TestReport, test_report};

/// What to do next.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum NextReport {
    /// A test.
    Test(TestReport),
    /// No more tests.
    Stop(StopReport),
    /// Something was found in an opened box.
    Repair(RepairReport),
}

/// What was found, and what everything reads once it is repaired.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct RepairReport {
    /// What to do, in words.
    pub says: String,
    /// What was found, as it was told.
    pub found: String,
    /// What the instruments at hand show everywhere once nothing is wrong.
    pub after_repair: Vec<ExpectedReading>,
}

/// What else is known where somebody is told where to go.
pub(super) struct Besides {
    /// What breakers carry that are said to trip, in sentences.
    pub(super) overloads: Vec<String>,
    /// Loads that are said not to run, as they are said.
    pub(super) dead_loads: Vec<String>,
    /// The first of them, where it was said to run elsewhere.
    pub(super) runs_elsewhere: Option<String>,
    /// One of them that is likelier than not dead itself, with how likely that is.
    pub(super) dead_itself: Option<(String, f64)>,
    /// Whether the first of them is wired in.
    pub(super) is_dead_wired: bool,
    /// Whether the first of them may be a light.
    pub(super) may_be_a_light: bool,
    /// Whether anything was read where one of them is.
    pub(super) is_read_there: bool,
    /// Loads that trip what protects them, or are dead, elsewhere too, as they are said.
    pub(super) trips_everywhere: Vec<String>,
    pub(super) dead_everywhere: Vec<String>,
    /// From what somebody felt a shock: what is off stays off.
    pub(super) felt_from: Vec<String>,
    /// Places that were hot, smelt or sparked.
    pub(super) warm_at: Vec<String>,
    /// What was seen live with its breaker off, as it is said.
    pub(super) live_despite_breaker: Vec<String>,
    /// The breaker with which that was dead.
    pub(super) dead_with: Option<String>,
    /// What is said to trip now and then, as it is said, and whether it looks for a ground fault.
    pub(super) trips_at_times: Option<(String, bool)>,
    /// Whether metal that is made to be touched may well be live.
    pub(super) is_metal_live: bool,
}

pub(super) fn next(
    teller: &Teller<'_>,
    (account, found): (&Account, Option<String>),
    suspects: &[SuspectReport],
    besides: &Besides,
    (inquiry, advice): (&Inquiry<'_>, &Advice),
) -> Result<NextReport, MeasureProblem> {
    let means = &account.means;
    let after_repair = || -> Result<Vec<ExpectedReading>, MeasureProblem> {
        Ok(expected(teller.circuit, means, &inquiry.after_repair()?))
    };
    if let Some(found) = found {
        let others = still_suspected(teller, account, suspects);
        let others = match others.as_slice() {
            [] => String::new(),
            some => format!(", and look for what is still suspected: {}", some.join(" and ")),
        };
        let mended = account.found_and_not_mended().map_or_else(String::new, |place| {
            let place = Mended::Box { place: place.to_owned() };
            format!(
                ". Once it is put right say `{}`, and what is seen then",
                words::tell_mended(&place)
            )
        });
        let says = format!(
            "{found}. Have it put right by someone licensed{others}, then read every receptacle \
             again: what it should show stands below{}{mended}",
            shared_neutral(teller.circuit, account)
        );
        return Ok(NextReport::Repair(RepairReport { says, found, after_repair: after_repair()? }));
    }
    Ok(match advice {
        Advice::Test(test) => NextReport::Test(test_report(
            teller.circuit,
            account,
            test,
            (besides.is_metal_live, &besides.warm_at),
        )),
        Advice::Stop(stop) => {
            NextReport::Stop(stop_report(teller, suspects, stop, besides, after_repair()?))
        }
    })
}

/// What to have measured where the neutral of two hots was found bad: it burns where both are on one leg, and
/// then carries the sum of both again once it is mended.
fn shared_neutral(circuit: &Circuit, account: &Account) -> String {
    let Some(Seen::Opened { found, .. }) = account.observations.last().map(|last| &last.seen)
    else {
        return String::new();
    };
    let joints = found.iter().filter_map(|found| match found {
        Found::BadJoint { element } => circuit.joint_of_element(element),
        Found::Fault(_) => None,
    });
    let neutrals: Vec<&Joint> = joints.filter(|joint| joint.conductor == "neutral").collect();
    let comes_by = |joint: &Joint, pole: &str| {
        let fed = Reach::of(circuit, &[pole], Subpanels::NotPassed).terminals;
        fed.iter().any(|one| one.strip_prefix(&joint.place).is_some_and(|at| at.starts_with('.')))
    };
    let branches = Branches::of(circuit).poles;
    let shared = branches.iter().find(|(_, poles)| {
        poles.len() > 1
            && neutrals
                .iter()
                .any(|one| poles.iter().filter(|pole| comes_by(one, pole)).count() > 1)
    });
    shared.map_or_else(String::new, |(name, _)| {
        let leg = term(circuit.parts().vocabulary, Term::Leg);
        format!(
            ". This neutral serves every hot of {name}: have the voltage from hot to hot measured before it carries \
             load again. Next to nothing means that they are on one {leg}: the neutral then carries the sum of them, \
             which no breaker sees, and burns again"
        )
    })
}

/// What is suspected beside what was found last, each with how likely it is.
fn still_suspected(
    teller: &Teller<'_>,
    account: &Account,
    suspects: &[SuspectReport],
) -> Vec<String> {
    let Some(Seen::Opened { found, .. }) = account.observations.last().map(|last| &last.seen)
    else {
        return Vec::new();
    };
    let was_found =
        |fault: &PossibleFault| found.iter().any(|found| found.is_among(&fault.change.faults));
    let others = teller.findings.suspects.iter().zip(suspects).filter(|(suspect, _)| {
        suspect.probability >= STILL_SUSPECTED_FROM
            && !suspect.faults.iter().any(|one| was_found(&one.fault))
    });
    others.map(|(_, one)| format!("{} ({})", one.says, percent(one.probability))).collect()
}

/// What is as likely as this is named beside what was found.
const STILL_SUSPECTED_FROM: f64 = 0.3;

impl Besides {
    pub(super) fn new(
        (circuit, account): (&Circuit, &Account),
        inquiry: &Inquiry<'_>,
        overloads: Vec<String>,
        is_metal_live: bool,
    ) -> Self {
        let despite = inquiry.live_despite_breaker();
        let dead = inquiry.dead_loads();
        let load = |name: &&str| circuit.load(name);
        let first = dead.first().and_then(load);
        let places = dead.iter().filter_map(load).filter_map(|load| place_of_load(circuit, load));
        let places: Vec<String> = places.collect();
        let is_there = |at: &str| places.iter().any(|place| words::is_within(at, place));
        let is_read = |one: &Observation| match &one.seen {
            Seen::Instrument { request, showed } => {
                // What may be lit or dark tells nothing of what the wiring brings.
                !showed.is_empty()
                    && !showed.iter().any(Showed::says_nothing)
                    && match &request.place {
                        Place::Receptacle { address: at, .. }
                        | Place::Between { from: at, .. }
                        | Place::Near { terminal: at, .. } => is_there(at.as_str()),
                        _ => false,
                    }
            }
            _ => false,
        };
        let wrong = inquiry.wrong_everywhere();
        let everywhere = |did| {
            let loads = wrong.iter().filter(|(_, does)| **does == did);
            loads.map(|(load, _)| speak::name(load)).collect()
        };
        Self {
            overloads,
            may_be_a_light: first.is_some_and(gives_light),
            is_dead_wired: first.is_some_and(|load| load.plug_links.is_empty()),
            is_read_there: account.observations.iter().any(is_read),
            dead_itself: dead
                .iter()
                .map(|load| (speak::name(load), inquiry.chance_dead_itself(load)))
                .filter(|(_, chance)| *chance >= 0.5)
                .max_by(|a, b| a.1.total_cmp(&b.1)),
            dead_loads: dead.into_iter().map(speak::name).collect(),
            runs_elsewhere: first
                .filter(|load| inquiry.runs_elsewhere(&load.id))
                .map(|load| load.id.clone()),
            trips_everywhere: everywhere(Elsewhere::Trips),
            dead_everywhere: everywhere(Elsewhere::Dead),
            felt_from: felt_from(&account.complaints),
            warm_at: warm_at(&account.complaints),
            trips_at_times: account
                .complaints
                .iter()
                .find_map(|one| trips_at_times(circuit, one))
                .or_else(|| seen_to_trip_later(circuit, account)),
            dead_with: inquiry.dead_with_another_breaker(),
            live_despite_breaker: despite
                .iter()
                .map(|live| speak::name(receptacle_of(circuit, live)))
                .collect(),
            is_metal_live,
        }
    }
}

/// The receptacle that a slot is of; a load, and what is of none, as it is.
fn receptacle_of<'a>(circuit: &'a Circuit, live: &'a Address) -> &'a str {
    let is_of = |outlet: &&Outlet| outlet.slots.iter().any(|(_, slot)| slot == live);
    let outlet = circuit.outlets().map(|(_, outlet)| outlet).find(is_of);
    outlet.map_or(live.as_str(), |outlet| outlet.address.as_str())
}

/// What trips now and then, or after a while, as it is said, and whether it looks for a ground fault.
fn trips_at_times(circuit: &Circuit, complaint: &Complaint) -> Option<(String, bool)> {
    let Complaint::Trips { breaker, when: WhenItTrips::AfterAWhile | WhenItTrips::NowAndThen } =
        complaint
    else {
        return None;
    };
    Some(called(circuit, breaker))
}

/// The same of what was seen to trip after a while, that being the last that was seen of it.
fn seen_to_trip_later(circuit: &Circuit, account: &Account) -> Option<(String, bool)> {
    let did = account.observations.iter().rev().filter_map(|one| match &one.seen {
        Seen::Protection { name, did } => Some((name, *did)),
        _ => None,
    });
    let (name, last) = did.clone().next()?;
    (last == Protected::TripsLater).then(|| called(circuit, name))
}

/// A breaker or device as it is said, and whether it looks for a ground fault.
fn called(circuit: &Circuit, breaker: &str) -> (String, bool) {
    let is_residual = match circuit.branch_circuit(breaker) {
        Some(pole) => pole.breaker.residual_trip_ampere.is_some(),
        None => circuit.device(breaker).is_some(),
    };
    (tell_protected(circuit, breaker), is_residual)
}

/// From what somebody felt a shock, as it is said.
fn felt_from(complaints: &[Complaint]) -> Vec<String> {
    let felt = complaints.iter().filter_map(|complaint| match complaint {
        Complaint::Tingle { from } => Some(speak::name(from)),
        _ => None,
    });
    felt.collect()
}

fn warm_at(complaints: &[Complaint]) -> Vec<String> {
    let mut places: Vec<String> = Vec::new();
    for complaint in complaints {
        if let Complaint::Warm { place } = complaint
            && !places.contains(place)
        {
            places.push(place.clone());
        }
    }
    places
}

/// Below this many times its rating a breaker need not trip (IEC 60898-1, table 7).
const NEAR_ITS_RATING: f64 = 1.13;

/// What a breaker carries that is said to trip, in a sentence.
pub(super) fn overload_says(circuit: &Circuit, overload: &Overload) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let name = tell_protected(circuit, &overload.breaker);
    let load = overload.load.as_ref().map(|load| speak::name(load));
    if overload.is_leakage {
        let with = match (&load, overload.is_all_on) {
            (Some(load), true) => format!("With {load} and everything else on"),
            (Some(load), false) => format!("With {load} on"),
            (None, true) => "With everything on".to_owned(),
            (None, false) => "As described".to_owned(),
        };
        return format!(
            "{with}, filters and insulation leak {} past {name}, which may trip from less than its \
             {} on: put less on it, or spread it over more than one device",
            leak(overload.ampere),
            milliamperes(overload.rating_ampere)
        );
    }
    let (ampere, rating) = (amperes(overload.ampere), overload.rating_ampere);
    let near = match overload.ampere < rating * NEAR_ITS_RATING {
        true => {
            "; nearly its rating for long is much for it in a warm panel, and a loose terminal of it, which \
             whoever may work there can see, makes it trip sooner"
        }
        false => "",
    };
    let carries = format!("{breaker} {name} carries {ampere} A and is rated {rating} A{near}");
    match load {
        Some(load) if overload.is_stalled => format!(
            "While {load} stands still and cannot start, {carries}: see whether it turns freely and \
             is not started under load, and try it elsewhere"
        ),
        Some(load) if overload.is_all_on => {
            format!("With {load} and everything else on, {carries}: run less on it at once")
        }
        Some(load) => format!("With {load} on, {carries}: run less on it at once"),
        None if overload.is_all_on => {
            format!("With everything on, {carries}: run less on it at once")
        }
        None => format!("As described, {carries}: run less on it at once"),
    }
}
