//! What trips, after how long, and what remains.
//!
//! A condition is solved with everything closed that it leaves closed; every protective device
//! is then asked what it senses. The one whose standard makes it trip first opens, and the rest
//! is solved again, until nothing must trip. Each step opens a device, so the sequence ends.
//!
//! Times are bands from the standards' test points (`docs/protection.md`); each is counted from
//! the state before it, without the heat a breaker has kept. Arcs are not modelled: an arc-fault
//! device acts here on overcurrent and residual current alone.

use std::collections::BTreeSet;

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::netlist::{Netlist, WireProblem, Wiring};
use crate::quantity::Address;
use crate::solution::{Refusal, Solution, solve};

mod clearing;
mod curve;
mod grounded_neutral;
mod guard;
mod pressed;
mod residual;
mod state;
mod time;

use guard::{Guard, Sensed, guards};
use residual::Delay;
use state::Solved;
pub(crate) use state::State;

pub(crate) use clearing::Clearer;
pub use clearing::{Clearing, clear, touch};
pub(crate) use curve::overcurrent;
pub use guard::circuit_conductors;
pub use pressed::{Pressed, hold, press};
pub use time::TimeBand;

/// Why a device trips.
///
/// ```
/// use slotwise::protection::Cause;
/// let cause = Cause::Overcurrent { ampere: 300.0, rating_ampere: 20.0 };
/// assert_ne!(cause, Cause::Residual { ampere: 0.3, rating_ampere: 0.005 });
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Cause {
    /// More current than its rating.
    Overcurrent {
        /// Current in its contact, amperes rms.
        ampere: f64,
        /// Its rating, amperes.
        rating_ampere: f64,
    },
    /// Current leaves its circuit by another way than its conductors.
    Residual {
        /// Sum of the currents through it, amperes rms.
        ampere: f64,
        /// Its rated residual current, amperes.
        rating_ampere: f64,
    },
    /// Its load-side neutral is grounded.
    GroundedNeutral {
        /// Resistance of the loop, ohms.
        loop_ohm: f64,
    },
}

/// Why a closed device stays closed.
///
/// ```
/// use slotwise::protection::Quiet;
/// assert_ne!(Quiet::Holds, Quiet::ElectronicsDead { volt: 0.0 });
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Quiet {
    /// What it senses is below what makes it trip.
    Holds,
    /// It would trip, but its electronics have too little voltage to work.
    ElectronicsDead {
        /// Their voltage, rms.
        volt: f64,
    },
    /// Nothing makes it trip now, and nothing would: its hot is live and its electronics have too
    /// little voltage to work.
    CouldNot {
        /// Their voltage, rms.
        volt: f64,
    },
}

/// What a device does in a state.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Verdict {
    /// It trips (or may, if the band has no end).
    Trips {
        /// Why.
        cause: Cause,
        /// After how long.
        after: TimeBand,
    },
    /// It stays closed.
    Stays(Quiet),
}

/// A closed device in a state: what it senses and what it does.
///
/// ```
/// use slotwise::{Condition, circuit, protection::operate};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let sequence = operate(&circuit, &Condition::default())?;
/// assert_eq!(sequence.standing[0].device, "c1");
/// assert!(sequence.standing[0].ampere < 20.0);
/// # Ok::<(), slotwise::protection::OperateProblem>(())
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Standing {
    /// The breaker (by its circuit) or the device.
    pub device: String,
    /// It is a breaker of a panel.
    pub is_breaker: bool,
    /// Largest current in one of its contacts, amperes rms.
    pub ampere: f64,
    /// Rating against overcurrent, if it has one.
    pub rating_ampere: Option<f64>,
    /// Sum of the currents through it, amperes rms, whether it senses it or not.
    pub residual_ampere: f64,
    /// Rated residual current, if it senses one.
    pub residual_rating_ampere: Option<f64>,
    /// It is sold to sense arcs, which are not modelled.
    pub claims_arcs: bool,
    /// What it does.
    pub verdict: Verdict,
}

/// One trip.
///
/// ```
/// use slotwise::{Condition, circuit, protection::operate};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "hot and ground bridged at kiln").unwrap();
/// let sequence = operate(&circuit, &condition)?;
/// assert_eq!(sequence.steps[0].device, "c1");
/// assert!(sequence.steps[0].after.latest_s.unwrap() <= 0.1);
/// # Ok::<(), slotwise::protection::OperateProblem>(())
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Step {
    /// The breaker (by its circuit) or the device.
    pub device: String,
    /// It is a breaker of a panel.
    pub is_breaker: bool,
    /// Why.
    pub cause: Cause,
    /// After how long.
    pub after: TimeBand,
    /// Devices that may be quicker: the bands overlap.
    pub or_first: Vec<String>,
    /// Ground-fault devices that sense it too and stay in, because they are slower for certain.
    pub outlasted_by: Vec<String>,
}

/// What happens in a condition.
///
/// ```
/// use slotwise::{Condition, circuit, protection::operate};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "hot and neutral bridged at door").unwrap();
/// let sequence = operate(&circuit, &condition)?;
/// assert_eq!(sequence.remaining.breakers.get("c1"), Some(&false));
/// # Ok::<(), slotwise::protection::OperateProblem>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Sequence {
    /// What trips, in order.
    pub steps: Vec<Step>,
    /// The condition that remains, with what tripped open.
    pub remaining: Condition,
    /// Every device still closed then.
    pub standing: Vec<Standing>,
}

/// Why protection could not be worked out.
///
/// ```
/// use slotwise::{Condition, circuit, protection::operate};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.breakers.insert("c9".into(), false);
/// assert!(operate(&circuit, &condition).is_err());
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OperateProblem {
    /// The condition speaks of something that is not in the circuit.
    #[error(transparent)]
    Wire(#[from] WireProblem),
    /// A state has no answer that can be trusted.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

/// Share of its nominal voltage below which a device's electronics do not work. UL 943 has the
/// test button work from 85 %; electronics that still act at half are not to be relied on.
const ELECTRONICS_LOW_SHARE: f64 = 0.5;

/// Works out what trips in a condition, one device after the other.
///
/// # Errors
///
/// The condition does not fit the circuit, or a state on the way cannot be solved.
pub fn operate(circuit: &Circuit, condition: &Condition) -> Result<Sequence, OperateProblem> {
    follow(circuit, condition, f64::INFINITY, Ok)
}

/// The same for the trips that each come within a time, seconds.
pub(crate) fn operate_within(
    circuit: &Circuit,
    condition: &Condition,
    within_s: f64,
) -> Result<Sequence, OperateProblem> {
    follow(circuit, condition, within_s, Ok)
}

/// The same for the trips that each come within a time, with something put into the network of every
/// state.
fn follow<E: From<WireProblem> + From<Refusal>>(
    circuit: &Circuit,
    condition: &Condition,
    within_s: f64,
    put: impl Fn(Netlist) -> Result<Netlist, E>,
) -> Result<Sequence, E> {
    let laid_out = (&Wiring::new(circuit), &Protection::new(circuit));
    follow_on(laid_out, condition, within_s, (put, |_, _| ()))
}

/// The same of a circuit that is laid out already; each state is shown as it was solved, in order.
fn follow_on<E: From<WireProblem> + From<Refusal>>(
    (wiring, protection): (&Wiring<'_>, &Protection<'_>),
    condition: &Condition,
    within_s: f64,
    (put, mut show): (impl Fn(Netlist) -> Result<Netlist, E>, impl FnMut(Netlist, Solution)),
) -> Result<Sequence, E> {
    let mut remaining = condition.clone();
    let mut steps = Vec::new();
    loop {
        let netlist = put(wiring.netlist(&remaining)?)?;
        let solution = solve(&netlist)?;
        let standing = protection.standing(&netlist, &solution);
        show(netlist, solution);
        let in_time = |step: &Step| step.after.latest_s.is_some_and(|latest| latest <= within_s);
        match first_to_trip(&standing).filter(in_time) {
            // Each trip opens a closed device; the bound only guards against a wiring that
            // would not let it.
            Some(step) if steps.len() < protection.guards.len() => {
                remaining.breakers.insert(step.device.clone(), false);
                steps.push(step);
            }
            _ => return Ok(Sequence { steps, remaining, standing }),
        }
    }
}

/// The breakers and protective devices of a circuit, to be asked in many conditions.
///
/// ```
/// use slotwise::{Condition, circuit, protection::Protection, solve, wire};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let netlist = wire(&circuit, &Condition::default()).unwrap();
/// let solution = solve(&netlist).unwrap();
/// let standing = Protection::new(&circuit).standing(&netlist, &solution);
/// assert_eq!(standing[0].device, "c1");
/// ```
#[derive(Debug)]
pub struct Protection<'c> {
    guards: Vec<Guard<'c>>,
    nominal_volt: f64,
}

impl<'c> Protection<'c> {
    /// The devices of a circuit.
    pub fn new(circuit: &'c Circuit) -> Self {
        Self { guards: guards(circuit), nominal_volt: nominal_volt(circuit) }
    }

    /// What each device that is closed does in a solved condition of the circuit.
    pub fn standing(&self, netlist: &Netlist, solution: &Solution) -> Vec<Standing> {
        self.standing_in(&Solved { netlist, solution })
    }

    /// The same in a state however solved.
    pub(crate) fn standing_in(&self, state: &dyn State) -> Vec<Standing> {
        let closed = self.guards.iter().filter(|guard| guard.is_closed(state));
        closed.map(|guard| stand(guard, state, self.nominal_volt)).collect()
    }

    /// Names of the devices.
    pub(crate) fn devices(&self) -> impl Iterator<Item = &'c str> {
        self.guards.iter().map(|guard| guard.name)
    }

    /// Every element whose contact or current matters to a device.
    pub(crate) fn elements(&self) -> BTreeSet<&str> {
        self.guards.iter().flat_map(Guard::elements).collect()
    }

    /// The contacts of neutrals that pass the sensor of a ground-fault breaker as long as they land
    /// where they should.
    pub(crate) fn landings(&self) -> impl Iterator<Item = &str> {
        self.guards.iter().flat_map(Guard::landings)
    }

    /// Pairs of terminals whose voltage runs the electronics of a device.
    pub(crate) fn electronics(&self) -> impl Iterator<Item = &(Address, Address)> {
        self.guards.iter().filter_map(Guard::electronics)
    }

    /// What the devices that sense residual currents have their conductors in.
    pub(crate) fn sensing_residual(&self) -> impl Iterator<Item = &str> {
        let sensing = self.guards.iter().filter(|guard| guard.residual_ampere.is_some());
        sensing.flat_map(Guard::elements)
    }

    /// Whether any device senses residual currents, as those that a person lets pass.
    fn senses_residual(&self) -> bool {
        self.guards.iter().any(|guard| guard.residual_ampere.is_some())
    }

    /// Devices that detect a grounded neutral.
    pub(crate) fn detecting_loops(&self) -> impl Iterator<Item = &'c str> {
        let detecting = self.guards.iter().filter(|guard| guard.grounded_neutral_ohm.is_some());
        detecting.map(|guard| guard.name)
    }
}

/// The device that must trip soonest, and those that may be quicker.
fn first_to_trip(standing: &[Standing]) -> Option<Step> {
    let bound = |one: &Standing| match one.verdict {
        Verdict::Trips { cause, after: TimeBand { earliest_s, latest_s: Some(latest_s) } } => {
            Some((latest_s, earliest_s, cause))
        }
        _ => None,
    };
    let (first, (latest_s, earliest_s, cause)) = standing
        .iter()
        .filter_map(|one| Some((one, bound(one)?)))
        .min_by(|(_, one), (_, other)| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)))?;
    let may_be_quicker = |other: &&Standing| match other.verdict {
        Verdict::Trips { after, .. } => other.device != first.device && after.earliest_s < latest_s,
        Verdict::Stays(_) => false,
    };
    let or_first = standing.iter().filter(may_be_quicker).map(|other| other.device.clone());
    let waits = |other: &&Standing| match other.verdict {
        Verdict::Trips { cause: Cause::Residual { .. }, after } => {
            other.device != first.device && after.earliest_s >= latest_s
        }
        _ => false,
    };
    let outlasted_by = standing.iter().filter(waits).map(|other| other.device.clone());
    Some(Step {
        device: first.device.clone(),
        is_breaker: first.is_breaker,
        cause,
        after: TimeBand { earliest_s, latest_s: Some(latest_s) },
        or_first: or_first.collect(),
        outlasted_by: outlasted_by.collect(),
    })
}

fn stand(guard: &Guard<'_>, state: &dyn State, nominal_volt: f64) -> Standing {
    let sensed = guard.sense(state);
    Standing {
        device: guard.name.to_owned(),
        is_breaker: guard.is_breaker,
        ampere: sensed.ampere,
        rating_ampere: guard.overcurrent.map(|(_, rating)| rating),
        residual_ampere: sensed.residual_ampere,
        residual_rating_ampere: guard.residual_ampere,
        claims_arcs: guard.claims_arcs,
        verdict: verdict(guard, &sensed, state, nominal_volt),
    }
}

fn verdict(guard: &Guard<'_>, sensed: &Sensed, state: &dyn State, nominal_volt: f64) -> Verdict {
    let overcurrent = guard.overcurrent.and_then(|(curve, rating_ampere)| {
        let after = curve::overcurrent(curve, rating_ampere, sensed.ampere)?;
        Some((Cause::Overcurrent { ampere: sensed.ampere, rating_ampere }, after))
    });
    let electronic = residual_trip(guard, sensed).or_else(|| grounded_neutral(guard, state));
    let dead_volt =
        sensed.electronics_volt.filter(|volt| *volt < ELECTRONICS_LOW_SHARE * nominal_volt);
    let (working, silenced) = match dead_volt {
        // With its hot dead, as behind an open breaker, there is nothing to trip for.
        Some(volt) if sensed.is_fed(ELECTRONICS_LOW_SHARE * nominal_volt) => {
            (None, electronic.map(|_| Quiet::ElectronicsDead { volt }))
        }
        Some(_) => (None, None),
        None => (electronic, None),
    };
    let slowest = |band: &TimeBand| band.latest_s.unwrap_or(f64::INFINITY);
    let soonest = overcurrent
        .into_iter()
        .chain(working)
        .min_by(|(_, one), (_, other)| slowest(one).total_cmp(&slowest(other)));
    match soonest {
        Some((cause, after)) => Verdict::Trips { cause, after },
        None => Verdict::Stays(silenced.unwrap_or(match dead_volt {
            Some(volt) if sensed.is_fed(ELECTRONICS_LOW_SHARE * nominal_volt) => {
                Quiet::CouldNot { volt }
            }
            _ => Quiet::Holds,
        })),
    }
}

fn residual_trip(guard: &Guard<'_>, sensed: &Sensed) -> Option<(Cause, TimeBand)> {
    let rating_ampere = guard.residual_ampere?;
    let after = residual_current(rating_ampere, sensed.residual_ampere, guard.delayed)?;
    Some((Cause::Residual { ampere: sensed.residual_ampere, rating_ampere }, after))
}

/// The time in which a device of a rated residual current trips at one, both in amperes; `None` where
/// it holds.
pub(crate) fn residual_current(rated_ampere: f64, ampere: f64, delayed: bool) -> Option<TimeBand> {
    let delay = if delayed { Delay::Selective } else { Delay::General };
    residual::residual(rated_ampere, ampere, delay)
}

/// Grounded-neutral detection acts as fast as on a residual current well past the rating; its
/// time has no formula of its own in the standard, so the slowest is that of 6 mA, 5.6 s.
fn grounded_neutral(guard: &Guard<'_>, state: &dyn State) -> Option<(Cause, TimeBand)> {
    let limit_ohm = guard.grounded_neutral_ohm?;
    let loop_ohm = state.loop_ohm(guard.name)?;
    let after = TimeBand { earliest_s: 0.015, latest_s: Some(5.6) };
    (loop_ohm <= limit_ohm).then_some((Cause::GroundedNeutral { loop_ohm }, after))
}

/// Voltage that the circuit's windings deliver to earth or neutral, the smallest if they differ.
fn nominal_volt(circuit: &Circuit) -> f64 {
    let windings = circuit.parts().supply.windings.iter();
    let least = windings.map(|winding| winding.emf_volt.magnitude()).fold(f64::INFINITY, f64::min);
    if least.is_finite() { least } else { 0.0 }
}
