//! What follows when a hot touches metal that should be at earth's potential.

use crate::circuit::Circuit;
use crate::condition::{AttachedLaw, Attachment, Condition};
use crate::instrument::{Instrument, Person, Place, Request, Shown, measure_netlist};
use crate::netlist::{Law, Netlist, Role, Wiring};
use crate::quantity::{Address, Phasor};
use crate::solution::{Solution, solve};

use super::{Cause, OperateProblem, Protection, Step, first_to_trip, follow, follow_on};

/// A metal contact held together by its own current: as good as bolted.
const FAULT_OHM: f64 = 0.001;

/// The names that the fault and the person have for the time being.
const FAULT: &str = "clearing.fault";
const PERSON: &str = "clearing.person";

/// The most a residual-current device may be rated to protect whoever touches, amperes, and it may not
/// be delayed: additional protection, IEC 60364-4-41, 415.1. Delayed ones are rated higher.
const ADDITIONAL_AMPERE: f64 = 0.03;

/// A hot on metal that should be at earth's potential, and what the protection makes of it; rms.
///
/// ```
/// use slotwise::{Condition, circuit, hazard::person, protection::clear};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let at_kiln = (&"kiln.hot".into(), &"kiln.ground".into());
/// let sound = clear(&circuit, &Condition::default(), at_kiln, &person(), (30.0, 5.0)).unwrap();
/// assert!(sound.left_volt < 1.0, "the breaker trips");
/// assert!(sound.ends_s.unwrap() <= 0.1 && sound.trips[0].device == "c1");
///
/// let mut condition = Condition::default();
/// condition.say(&circuit, "ground open at kiln, line side").unwrap();
/// let lost = clear(&circuit, &condition, at_kiln, &person(), (30.0, 5.0)).unwrap();
/// assert!(lost.left_volt > 100.0 && lost.ampere < 0.01 && lost.ends_s.is_none());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Clearing {
    /// What flows from the hot into the metal before anything trips, amperes.
    pub ampere: f64,
    /// The metal's potential to earth once everything has tripped that must within the time asked
    /// for, volts.
    pub left_volt: f64,
    /// The same with somebody touching the metal: what additional protection leaves (IEC
    /// 60364-4-41, 415.1: 30 mA or less, not delayed).
    pub left_at_touch_volt: f64,
    /// What must trip, in order, until the metal is under the limit; all that must where it stays
    /// above.
    pub trips: Vec<Step>,
    /// The slowest that the metal may be to come under the limit, seconds; `None` if it stays above.
    pub ends_s: Option<f64>,
}

/// Puts a hot on metal, and works out what trips and what it leaves: the metal under a limit in
/// volts or not, within a time in seconds or later.
///
/// # Errors
///
/// The condition or a terminal does not fit the circuit, or a state on the way cannot be solved.
pub fn clear(
    circuit: &Circuit,
    condition: &Condition,
    (hot, metal): (&Address, &Address),
    person: &Person,
    (limit_volt, within_s): (f64, f64),
) -> Result<Clearing, OperateProblem> {
    Clearer::new(circuit, condition)?.clear((hot, metal), person, (limit_volt, within_s))
}

/// One circuit in one condition, in which a hot touches metal here and there.
pub(crate) struct Clearer<'c> {
    condition: &'c Condition,
    wiring: Wiring<'c>,
    protection: Protection<'c>,
    /// With no fault put on it.
    netlist: Netlist,
}

impl<'c> Clearer<'c> {
    /// Lays the circuit out, once for all places.
    pub(crate) fn new(
        circuit: &'c Circuit,
        condition: &'c Condition,
    ) -> Result<Self, OperateProblem> {
        let wiring = Wiring::new(circuit);
        let netlist = wiring.netlist(condition)?;
        Ok(Self { condition, wiring, protection: Protection::new(circuit), netlist })
    }

    /// As [`clear`].
    pub(crate) fn clear(
        &mut self,
        at: (&Address, &Address),
        person: &Person,
        (limit_volt, within_s): (f64, f64),
    ) -> Result<Clearing, OperateProblem> {
        if let Some((ampere, volt)) = self.held_by_nothing(at)? {
            let (trips, ends_s) = (Vec::new(), (volt < limit_volt).then_some(0.0));
            let (left_volt, left_at_touch_volt) = (volt, volt);
            return Ok(Clearing { ampere, left_volt, left_at_touch_volt, trips, ends_s });
        }
        self.followed(at, person, (limit_volt, within_s))
    }

    /// Where no device trips, and none would for a person: what flows, amperes, and what the metal is at,
    /// volts. For that the network that stands is solved with the fault in it, and no other made.
    fn held_by_nothing(
        &mut self,
        (hot, metal): (&Address, &Address),
    ) -> Result<Option<(f64, f64)>, OperateProblem> {
        let nodes = self.netlist.find_node(hot).zip(self.netlist.find_node(metal));
        let Some((from, to)) = nodes.filter(|_| !self.protection.senses_residual()) else {
            return Ok(None);
        };
        let law = Law::resistance(FAULT_OHM);
        let Ok(fault) = self.netlist.add(FAULT, from, to, Role::Instrument, law) else {
            return Ok(None);
        };
        let found = solve(&self.netlist).map(|solution| {
            let standing = self.protection.standing(&self.netlist, &solution);
            let in_time = |step: &Step| step.after.latest_s.is_some();
            let holds = !first_to_trip(&standing).is_some_and(|step| in_time(&step));
            let ampere = solution.current(fault).magnitude();
            holds.then(|| (ampere, volt_of((&self.netlist, &solution), metal)))
        });
        self.netlist.take_back();
        Ok(found?)
    }

    /// Every trip followed.
    fn followed(
        &self,
        (hot, metal): (&Address, &Address),
        person: &Person,
        (limit_volt, within_s): (f64, f64),
    ) -> Result<Clearing, OperateProblem> {
        let mut faulty = self.condition.clone();
        faulty.attached.push(attachment(FAULT, (hot, metal), FAULT_OHM));
        // What it is before each trip, and after the last.
        let laid_out = (&self.wiring, &self.protection);
        let mut states = Vec::new();
        let show = |netlist, solution| states.push((netlist, solution));
        let put = Ok::<_, OperateProblem>;
        let mut trips = follow_on(laid_out, &faulty, f64::INFINITY, (put, show))?.steps;
        let mut states = states.into_iter();
        let mut next = |condition: &Condition| match states.next() {
            Some((netlist, solution)) => {
                Ok(Moment { condition: condition.clone(), netlist, solution })
            }
            None => Moment::of(&self.wiring, condition),
        };
        let at_first = next(&faulty)?;
        let ampere = at_first.netlist.find_element(FAULT);
        let ampere = ampere.map_or(0.0, |it| at_first.solution.current(it).magnitude());
        let mut left = at_first;
        let mut volt = left.volt(metal);
        let mut elapsed_s = 0.0;
        let mut ended = (volt < limit_volt).then_some((0, 0.0));
        for (at, step) in trips.iter().enumerate() {
            elapsed_s += step.after.latest_s.unwrap_or(f64::INFINITY);
            if ended.is_some() && elapsed_s > within_s {
                break;
            }
            faulty.breakers.insert(step.device.clone(), false);
            let state = next(&faulty)?;
            volt = state.volt(metal);
            if volt < limit_volt {
                ended = ended.or(Some((at + 1, elapsed_s)));
            }
            if elapsed_s <= within_s {
                left = state;
            }
        }
        let left_volt = left.volt(metal);
        let left_at_touch_volt = match self.protection.senses_residual() {
            true => left_at_touch(laid_out, left, metal, person, within_s)?,
            false => left_volt,
        };
        if let Some((count, _)) = ended {
            trips.truncate(count);
        }
        let ends_s = ended.map(|(_, after_s)| after_s);
        Ok(Clearing { ampere, left_volt, left_at_touch_volt, trips, ends_s })
    }
}

/// A circuit laid out, and its devices.
type LaidOut<'a, 'c> = (&'a Wiring<'c>, &'a Protection<'c>);

/// A condition, solved.
struct Moment {
    condition: Condition,
    netlist: Netlist,
    solution: Solution,
}

impl Moment {
    fn of(wiring: &Wiring<'_>, condition: &Condition) -> Result<Self, OperateProblem> {
        let netlist = wiring.netlist(condition)?;
        let solution = solve(&netlist)?;
        Ok(Self { condition: condition.clone(), netlist, solution })
    }

    /// A terminal's potential to earth.
    fn volt(&self, terminal: &Address) -> f64 {
        volt_of((&self.netlist, &self.solution), terminal)
    }

    /// Somebody who touches metal and stands on earth, with the impedance that a body has at the
    /// voltage which it leaves there.
    fn touched(&self, metal: &Address, person: &Person) -> Condition {
        let place = Place::between(metal.clone(), Address::earth());
        let request = Request::new(Instrument::Person(person.clone()), place);
        let shown = measure_netlist(&self.netlist, &[request]).ok();
        let body_ohm = shown.iter().flatten().find_map(|reading| match &reading.shown {
            Shown::Person(shown) => Some(shown.body_ohm),
            _ => None,
        });
        let most_ohm = || person.body.at(self.volt(metal)) + person.extra_ohm;
        let body_ohm = body_ohm.unwrap_or_else(most_ohm);
        let mut touched = self.condition.clone();
        touched.attached.push(attachment(PERSON, (metal, &Address::earth()), body_ohm));
        touched
    }
}

/// A terminal's potential to earth, volts; zero where it has none.
fn volt_of((netlist, solution): (&Netlist, &Solution), terminal: &Address) -> f64 {
    let node = netlist.find_node(terminal);
    node.and_then(|node| solution.potential(node)).map_or(0.0, Phasor::magnitude)
}

fn attachment(id: &str, (from, to): (&Address, &Address), ohm: f64) -> Attachment {
    let between = (from.clone(), to.clone());
    Attachment { id: id.to_owned(), between, law: AttachedLaw::ResistanceOhm(ohm) }
}

/// The potential that additional protection leaves on metal that somebody touches; where it does
/// not act, the one there was.
fn left_at_touch(
    laid_out: LaidOut<'_, '_>,
    state: Moment,
    metal: &Address,
    person: &Person,
    within_s: f64,
) -> Result<f64, OperateProblem> {
    let (steps, volt) = after_touch(laid_out, &state, metal, person, within_s)?;
    Ok(if ends_with_additional(&steps) { volt } else { state.volt(metal) })
}

/// What trips within a time of a touch, and the potential that it leaves.
fn after_touch(
    laid_out: LaidOut<'_, '_>,
    state: &Moment,
    metal: &Address,
    person: &Person,
    within_s: f64,
) -> Result<(Vec<Step>, f64), OperateProblem> {
    let touched = state.touched(metal, person);
    let mut volt = 0.0;
    let show = |netlist: Netlist, solution: Solution| {
        volt = volt_of((&netlist, &solution), metal);
    };
    let put = Ok::<_, OperateProblem>;
    let sequence = follow_on(laid_out, &touched, within_s, (put, show))?;
    Ok((sequence.steps, volt))
}

/// Whether what ended it is made to protect whoever touches.
fn ends_with_additional(steps: &[Step]) -> bool {
    steps.last().is_some_and(|step| {
        matches!(step.cause, Cause::Residual { rating_ampere, .. }
            if rating_ampere <= ADDITIONAL_AMPERE)
    })
}

/// What ends it when somebody touches live metal, and stands on earth: of each piece of metal the
/// steps on the way, the last of which leaves it under a limit. Empty where no additional protection
/// (IEC 60364-4-41, 415.1) does within a time.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::{Condition, hazard::person, protection::touch};
/// let text = std::fs::read_to_string("circuits/boathouse.ron").unwrap();
/// let circuit = file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "insulation breakdown in bilge, hot to frame, 2 kohm").unwrap();
/// condition.say(&circuit, "ground pin not connected at bilge").unwrap();
/// let metal = ["bilge.frame".into()];
/// let steps = touch(&circuit, &condition, &metal, &person(), (30.0, 10.0)).unwrap();
/// assert!(!steps[0].is_empty(), "the ground-fault device sees the person");
/// ```
///
/// # Errors
///
/// As [`clear`].
pub fn touch(
    circuit: &Circuit,
    condition: &Condition,
    metal: &[Address],
    person: &Person,
    (limit_volt, within_s): (f64, f64),
) -> Result<Vec<Vec<Step>>, OperateProblem> {
    let nothing = vec![Vec::new(); metal.len()];
    let protection = Protection::new(circuit);
    if !protection.senses_residual() {
        return Ok(nothing);
    }
    // What trips without anybody touching is no answer to a touch.
    let alone = follow(circuit, condition, within_s, Ok::<_, OperateProblem>)?;
    if !alone.steps.is_empty() {
        return Ok(nothing);
    }
    let wiring = Wiring::new(circuit);
    let state = Moment::of(&wiring, condition)?;
    let of_each = metal.iter().map(|metal| {
        let (steps, volt) = after_touch((&wiring, &protection), &state, metal, person, within_s)?;
        let ends = volt < limit_volt && ends_with_additional(&steps);
        Ok(if ends { steps } else { Vec::new() })
    });
    of_each.collect()
}
