//! Breakers that are said to trip and have more on them than they carry, with nothing wrong.

use serde::Serialize;

use super::model::{ALL_ON, Model};
use super::reading_error::logistic;
use super::{Complaint, WhenItTrips};
use crate::circuit::LoadKind;
use crate::condition::{Condition, LoadState};
use crate::netlist::wire;
use crate::protection::Protection;
use crate::solution::solve;

/// A breaker that trips by what is on it.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::diagnosis::{Complaint, Inquiry, Means, WhenItTrips};
/// let text = r#"(format: 1, circuits: [(id: "c1", amperes: 15)],
///     boxes: [(id: "chair", from: "c1", feet: 20), (id: "basin", from: "chair", feet: 9)],
///     loads: [(id: "hood", at: "chair", kind: Resistive(watts: 1500)),
///         (id: "dryer", at: "basin", on: false, kind: Resistive(watts: 1500))])"#;
/// let circuit = file::read(text).unwrap().circuit;
/// let mut inquiry = Inquiry::new(&circuit, Means::default());
/// let when = WhenItTrips::WithLoad { load: "dryer".into() };
/// inquiry.complain(&Complaint::Trips { breaker: "c1".into(), when }).unwrap();
/// let overload = &inquiry.overloads()[0];
/// assert!(overload.ampere > 24.0 && overload.rating_ampere == 15.0);
/// assert!(inquiry.findings().nothing_wrong > 0.5, "two heaters of 12.5 A and no fault");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Overload {
    /// The breaker, by its circuit.
    pub breaker: String,
    /// The load that is said to make it trip, if one is.
    pub load: Option<String>,
    /// It carries that only while this load, a motor, stands still and cannot start.
    pub is_stalled: bool,
    /// It carries that only with every load on.
    pub is_all_on: bool,
    /// It is what filters and insulation leak past a ground-fault device, and no load of it.
    pub is_leakage: bool,
    /// What the breaker carries then, or what leaks past it, amperes rms.
    pub ampere: f64,
    /// Its rating, amperes: of its overcurrent, or of its residual current.
    pub rating_ampere: f64,
    /// The chance that it trips so: judgement.
    pub chance: f64,
}

/// Half of all breakers trip in the end at this multiple of their rating; a thermal one may not
/// below 1.13 and must at 1.45 (IEC 60898-1, table 7).
const HALF_TRIP_AT: f64 = 1.2;

/// The same of those that trip after a while only: a panel is warm by then, and loads draw somewhat more than
/// they say, and more than is described. Judgement.
const HALF_TRIP_AFTER_A_WHILE_AT: f64 = 1.05;

/// A motor that stands still for seconds trips at this.
const STALLED_TRIP_AT: f64 = 2.0;

/// Half of all ground-fault devices trip at this share of their rating: one of 5 mA between 4 and
/// 6 mA (UL 943), others between half of it and all (IEC 61008-1).
const HALF_LEAK_AT_5_MA: f64 = 1.0;
const HALF_LEAK_AT: f64 = 0.75;

/// How far these are spread, and how often things stand so when a breaker trips: judgement.
const SPREAD: f64 = 0.06;
const WITH_ALL_ON: f64 = 0.5;
const STALLED: f64 = 0.3;

/// What explains a complaint of a breaker or device that trips, if what is on it does.
pub(super) fn overload(model: &Model<'_>, complaint: &Complaint) -> Option<Overload> {
    let Complaint::Trips { breaker, when } = complaint else { return None };
    let (load, usual) = match when {
        WhenItTrips::AtOnce => return None,
        WhenItTrips::WithLoad { load } => (Some(load), 1.0),
        WhenItTrips::AfterAWhile => (None, 1.0),
        WhenItTrips::NowAndThen => (None, 0.5),
    };
    let with = |mut condition: Condition, state: LoadState| {
        condition.loads.extend(load.map(|load| (load.clone(), state)));
        condition
    };
    let all_on = model.settings.get(ALL_ON).cloned().unwrap_or_default();
    let is_motor = load.and_then(|load| model.circuit.load(load));
    let is_motor = is_motor.is_some_and(|load| matches!(load.kind, LoadKind::Motor { .. }));
    let mut ways = vec![
        (with(Condition::default(), LoadState::On), usual),
        (with(all_on, LoadState::On), usual * WITH_ALL_ON),
    ];
    if is_motor {
        ways.push((with(Condition::default(), LoadState::Stalled), STALLED));
    }
    let ways = ways.into_iter().enumerate().flat_map(|(at, (condition, often))| {
        senses(model, breaker, &condition).into_iter().map(move |sensed| {
            let half_at = match when {
                _ if at == STALLED_WAY => STALLED_TRIP_AT,
                WhenItTrips::AfterAWhile if !sensed.is_leakage => HALF_TRIP_AFTER_A_WHILE_AT,
                _ => sensed.half_trip_at,
            };
            let share = sensed.ampere / sensed.rating_ampere;
            Overload {
                breaker: breaker.clone(),
                load: load.cloned(),
                is_stalled: at == STALLED_WAY,
                is_all_on: at == 1,
                is_leakage: sensed.is_leakage,
                ampere: sensed.ampere,
                rating_ampere: sensed.rating_ampere,
                chance: often * logistic((share - half_at) / SPREAD),
            }
        })
    });
    ways.max_by(|a, b| a.chance.total_cmp(&b.chance).then(b.is_all_on.cmp(&a.is_all_on)))
        .filter(|most| most.chance > 0.05)
}

/// The way in which a motor stands still.
const STALLED_WAY: usize = 2;

/// One current that makes a device trip.
struct Senses {
    is_leakage: bool,
    ampere: f64,
    rating_ampere: f64,
    half_trip_at: f64,
}

/// What a breaker or device carries, and what leaks past it, with nothing wrong.
fn senses(model: &Model<'_>, breaker: &str, condition: &Condition) -> Vec<Senses> {
    let standing = || {
        let netlist = wire(model.circuit, condition).ok()?;
        let solution = solve(&netlist).ok()?;
        let all = Protection::new(model.circuit).standing(&netlist, &solution);
        all.into_iter().find(|standing| standing.device == breaker)
    };
    let Some(standing) = standing() else { return Vec::new() };
    let carries = standing.rating_ampere.map(|rating_ampere| Senses {
        is_leakage: false,
        ampere: standing.ampere,
        rating_ampere,
        half_trip_at: HALF_TRIP_AT,
    });
    let leaks = standing.residual_rating_ampere.map(|rating_ampere| Senses {
        is_leakage: true,
        ampere: standing.residual_ampere,
        rating_ampere,
        half_trip_at: if rating_ampere <= 0.006 { HALF_LEAK_AT_5_MA } else { HALF_LEAK_AT },
    });
    carries.into_iter().chain(leaks).collect()
}
