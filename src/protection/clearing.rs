//! What follows when a hot touches metal that should be at earth's potential.

use crate::circuit::Circuit;
use crate::condition::{AttachedLaw, Attachment, Condition};
use crate::instrument::Person;
use crate::netlist::wire;
use crate::quantity::{Address, Phasor};
use crate::solution::solve;

use super::{OperateProblem, Protection, Step, Verdict, follow, guards};

/// A metal contact held together by its own current: as good as bolted.
const FAULT_OHM: f64 = 0.001;

/// The names that the fault and the person have for the time being.
const FAULT: &str = "clearing.fault";
const PERSON: &str = "clearing.person";

/// A hot on metal that should be at earth's potential, and what the protection makes of it; rms.
///
/// ```
/// use slotwise::{Condition, circuit, hazard::person, protection::clear};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let at_kiln = (&"kiln.hot".into(), &"kiln.ground".into());
/// let sound = clear(&circuit, &Condition::default(), at_kiln, &person(), 5.0).unwrap();
/// assert!(sound.left_volt < 1.0, "the breaker trips");
///
/// let mut condition = Condition::default();
/// condition.say(&circuit, "ground open at kiln, line side").unwrap();
/// let lost = clear(&circuit, &condition, at_kiln, &person(), 5.0).unwrap();
/// assert!(lost.left_volt > 100.0 && lost.ampere < 0.01 && lost.slowest_s.is_none());
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearing {
    /// What flows from the hot into the metal before anything trips, amperes.
    pub ampere: f64,
    /// The metal's potential to earth once everything has tripped that must within the time asked
    /// for, volts.
    pub left_volt: f64,
    /// The same with somebody touching the metal: what a ground-fault device leaves.
    pub left_at_touch_volt: f64,
    /// The slowest that the first device to trip may be, seconds; `None` if none must.
    pub slowest_s: Option<f64>,
}

/// Puts a hot on metal, and works out what trips within a time.
///
/// # Errors
///
/// The condition or a terminal does not fit the circuit, or a state on the way cannot be solved.
pub fn clear(
    circuit: &Circuit,
    condition: &Condition,
    (hot, metal): (&Address, &Address),
    person: &Person,
    within_s: f64,
) -> Result<Clearing, OperateProblem> {
    let mut faulty = condition.clone();
    faulty.attached.push(attachment(FAULT, (hot, metal), FAULT_OHM));
    let at_first = wire(circuit, &faulty)?;
    let solution = solve(&at_first)?;
    let ampere = at_first.find_element(FAULT).map_or(0.0, |it| solution.current(it).magnitude());
    let standing = Protection::new(circuit).standing(&at_first, &solution);
    let slowest_s = standing.iter().filter_map(|one| match one.verdict {
        Verdict::Trips { after, .. } => after.latest_s,
        Verdict::Stays(_) => None,
    });
    let left_volt = left(circuit, &faulty, metal, within_s)?;
    let left_at_touch_volt = match senses_residual(circuit) {
        true => {
            faulty.attached.push(touching(metal, left_volt, person));
            left(circuit, &faulty, metal, within_s)?
        }
        false => left_volt,
    };
    let slowest_s = slowest_s.min_by(f64::total_cmp);
    Ok(Clearing { ampere, left_volt, left_at_touch_volt, slowest_s })
}

fn attachment(id: &str, (from, to): (&Address, &Address), ohm: f64) -> Attachment {
    let between = (from.clone(), to.clone());
    Attachment { id: id.to_owned(), between, law: AttachedLaw::ResistanceOhm(ohm) }
}

/// Somebody who touches metal of a potential and stands on earth.
fn touching(metal: &Address, volt: f64, person: &Person) -> Attachment {
    attachment(PERSON, (metal, &Address::earth()), person.body.at(volt) + person.extra_ohm)
}

/// Whether any device senses what a person lets pass.
fn senses_residual(circuit: &Circuit) -> bool {
    guards(circuit).iter().any(|guard| guard.residual_ampere.is_some())
}

/// The potential to earth of a terminal after what must trip in time.
fn left(
    circuit: &Circuit,
    condition: &Condition,
    metal: &Address,
    within_s: f64,
) -> Result<f64, OperateProblem> {
    let remaining = follow(circuit, condition, within_s, Ok::<_, OperateProblem>)?.remaining;
    let netlist = wire(circuit, &remaining)?;
    let solution = solve(&netlist)?;
    let potential = netlist.find_node(metal).and_then(|node| solution.potential(node));
    Ok(potential.map_or(0.0, Phasor::magnitude))
}

/// What ends it when somebody touches live metal, and stands on earth: the steps on the way, the
/// last of which leaves the metal under a limit. Empty where nothing does within a time.
///
/// ```
/// use slotwise::{Condition, circuit, hazard::person, protection::touch};
/// let text = std::fs::read_to_string("circuits/boathouse.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "insulation breakdown in bilge, hot to frame, 2 kohm").unwrap();
/// condition.say(&circuit, "ground pin not connected at bilge").unwrap();
/// let steps = touch(&circuit, &condition, &"bilge.frame".into(), &person(), (30.0, 10.0));
/// assert!(!steps.unwrap().is_empty(), "the ground-fault device sees the person");
/// ```
///
/// # Errors
///
/// As [`clear`].
pub fn touch(
    circuit: &Circuit,
    condition: &Condition,
    metal: &Address,
    person: &Person,
    (limit_volt, within_s): (f64, f64),
) -> Result<Vec<Step>, OperateProblem> {
    if !senses_residual(circuit) {
        return Ok(Vec::new());
    }
    // What trips without anybody touching is no answer to a touch.
    let alone = follow(circuit, condition, within_s, Ok::<_, OperateProblem>)?;
    if !alone.steps.is_empty() {
        return Ok(Vec::new());
    }
    let netlist = wire(circuit, condition)?;
    let solution = solve(&netlist)?;
    let volt = |node| solution.potential(node).map(Phasor::magnitude);
    let volt = netlist.find_node(metal).and_then(volt).unwrap_or(0.0);
    let mut touched = condition.clone();
    touched.attached.push(touching(metal, volt, person));
    let steps = follow(circuit, &touched, within_s, Ok::<_, OperateProblem>)?.steps;
    let left_volt = left(circuit, &touched, metal, within_s)?;
    Ok(if left_volt < limit_volt { steps } else { Vec::new() })
}
