//! What protection does in a condition, in words and as data.

use crate::circuit::{Circuit, Vocabulary};
use crate::condition::Condition;
use crate::protection::{Cause, Pressed, Quiet, Sequence, Standing, Step, TimeBand, Verdict};

use super::figure::{amperes, leak, milliamperes, ohms, volts};
use super::vocabulary::{Term, term};

/// Trips that come within this time are over before anybody has a reading: the report shows what
/// remains after them, seconds.
pub const SETTLED_S: f64 = 60.0;

/// A slot is called live from this potential to earth, volts: the limit of touch, IEC 61140.
const LIVE_SLOT_VOLT: f64 = 50.0;

/// What protection does.
///
/// ```
/// use slotwise::report::{Asked, ReadReport};
/// use slotwise::{Condition, circuit};
/// let text = include_str!("../../circuits/pottery-studio.ron");
/// let circuit = circuit::file::read(text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "hot and ground bridged at kiln").unwrap();
/// let report = ReadReport::new(&circuit, &condition, &Asked::default())?;
/// assert!(report.protection.shown_after_trips);
/// assert!(report.protection.says[0].starts_with("The breaker c1 trips within 0.1 s"));
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ProtectionReport {
    /// What trips, in order.
    pub trips: Vec<Step>,
    /// The rest of the report is of what remains after the trips that come within a minute.
    pub shown_after_trips: bool,
    /// Every device still closed at the end, and what it senses.
    pub standing: Vec<Standing>,
    /// The same in sentences; empty if nothing is to be said.
    pub says: Vec<String>,
}

impl ProtectionReport {
    /// The report of a sequence, and the condition that is to be shown.
    pub(super) fn new(
        circuit: &Circuit,
        condition: &Condition,
        sequence: Sequence,
        before_trips: bool,
    ) -> (Self, Condition) {
        let shown = match before_trips {
            true => condition.clone(),
            false => after_trips(&sequence.steps, condition),
        };
        let words = Words { vocabulary: circuit.parts().vocabulary };
        let shown_after_trips = shown != *condition;
        let mut says: Vec<String> = sequence.steps.iter().map(|step| words.step(step)).collect();
        if !sequence.steps.is_empty() {
            says.push(words.shown(shown_after_trips, sequence.steps.len()));
        }
        says.extend(sequence.standing.iter().filter_map(|one| words.standing(one)));
        let report =
            Self { trips: sequence.steps, shown_after_trips, standing: sequence.standing, says };
        (report, shown)
    }

    /// What trips, what may and what should and does not, in sentences; nothing of what is shown.
    pub(super) fn trips_in_words(&self, vocabulary: Vocabulary) -> Vec<String> {
        let words = Words { vocabulary };
        let steps = self.trips.iter().map(|step| words.step(step));
        steps.chain(self.standing.iter().filter_map(|one| words.standing(one))).collect()
    }

    /// The condition that the report shows: the one asked about, or what remains of it after
    /// the trips.
    pub fn shown(&self, condition: &Condition) -> Condition {
        match self.shown_after_trips {
            true => after_trips(&self.trips, condition),
            false => condition.clone(),
        }
    }
}

/// A condition with everything open that trips soon.
fn after_trips(steps: &[Step], condition: &Condition) -> Condition {
    let soon = |step: &&Step| step.after.latest_s.is_some_and(|latest| latest <= SETTLED_S);
    let mut shown = condition.clone();
    for step in steps.iter().take_while(soon) {
        shown.breakers.insert(step.device.clone(), false);
    }
    shown
}

/// What follows on a button held down, in one line; `own` is the device whose own button it is.
pub(super) fn pressed_in_words(
    vocabulary: Vocabulary,
    pressed: &Pressed,
    own: Option<&str>,
) -> String {
    let words = Words { vocabulary };
    let Sequence { steps, standing, .. } = &pressed.sequence;
    let trips = steps.iter().map(|step| {
        format!("{} trips {}", words.device(&step.device, step.is_breaker), when(step.after))
    });
    let stays = standing.iter().filter_map(|one| words.unmoved(one, own));
    let mut says: Vec<String> = trips.chain(stays).collect();
    match (steps.is_empty(), says.is_empty()) {
        (true, true) => says.push("nothing trips".to_owned()),
        (false, _) if pressed.slots_volt >= LIVE_SLOT_VOLT => {
            says.push(format!("its slots STAY LIVE, {} V to earth", volts(pressed.slots_volt)));
        }
        _ => {}
    }
    says.join(", ")
}

/// What trips on the load of an instrument that is held there, in one line.
pub(super) fn held_in_words(vocabulary: Vocabulary, held: &Pressed) -> String {
    let words = Words { vocabulary };
    let trips = held.sequence.steps.iter().map(|step| {
        // Inside a sentence.
        let device = words.device(&step.device, step.is_breaker).replacen("The ", "the ", 1);
        format!("{device} {}", when(step.after))
    });
    let mut says = format!("its load trips {}", trips.collect::<Vec<_>>().join(" and "));
    if held.slots_volt >= LIVE_SLOT_VOLT {
        says.push_str(&format!(", its slots STAY LIVE, {} V to earth", volts(held.slots_volt)));
    }
    says
}

struct Words {
    vocabulary: Vocabulary,
}

impl Words {
    fn step(&self, step: &Step) -> String {
        let device = self.device(&step.device, step.is_breaker);
        let first = match step.or_first.as_slice() {
            [] => String::new(),
            others => format!(" {} may be quicker.", others.join(" or ")),
        };
        let waits = match step.outlasted_by.as_slice() {
            [] => String::new(),
            [one] => format!(" {one} senses it too and is slower for certain: it stays in."),
            several => format!(
                " {} sense it too and are slower for certain: they stay in.",
                several.join(" and ")
            ),
        };
        format!("{device} trips {}: {}.{first}{waits}", when(step.after), self.cause(step.cause))
    }

    fn standing(&self, standing: &Standing) -> Option<String> {
        let device = self.device(&standing.device, standing.is_breaker);
        match standing.verdict {
            Verdict::Trips { cause, after } => {
                Some(format!("{device} may trip, {}: {}.", when(after), self.cause(cause)))
            }
            Verdict::Stays(Quiet::ElectronicsDead { volt }) => Some(format!(
                "{device} should trip and does not: its electronics have {} V, too little to \
                 work. What it feeds stays as it is.",
                volts(volt)
            )),
            Verdict::Stays(_) => None,
        }
    }

    /// A device that a button does not move, or perhaps not.
    fn unmoved(&self, standing: &Standing, own: Option<&str>) -> Option<String> {
        let device = self.device(&standing.device, standing.is_breaker);
        let dead = |does, volt| {
            let volt = volts(volt);
            Some(format!("{device} {does} trip: its electronics have {volt} V, too little to work"))
        };
        match standing.verdict {
            Verdict::Trips { cause: Cause::Residual { .. }, .. } => {
                Some(format!("{device} may trip"))
            }
            Verdict::Stays(Quiet::ElectronicsDead { volt }) => dead("does not", volt),
            Verdict::Stays(Quiet::CouldNot { volt }) if own == Some(&standing.device) => {
                dead("could not", volt)
            }
            _ => None,
        }
    }

    fn shown(&self, after: bool, trips: usize) -> String {
        let moment = if after { "what remains after that" } else { "the moment before" };
        let them = if trips == 1 { "it" } else { "they" };
        let hint = if after { "" } else { ", as long as nothing opens" };
        format!("Below is {moment}{hint}; reset, {them} would trip again.")
    }

    fn device(&self, name: &str, is_breaker: bool) -> String {
        if is_breaker {
            format!("The {} {name}", term(self.vocabulary, Term::Breaker))
        } else {
            name.to_owned()
        }
    }

    fn cause(&self, cause: Cause) -> String {
        match cause {
            Cause::Overcurrent { ampere, rating_ampere } => {
                format!("it carries {} A and is rated {rating_ampere} A", amperes(ampere))
            }
            Cause::Residual { ampere, rating_ampere } => format!(
                "{} do not come back through it, and it is rated {}",
                leak(ampere),
                milliamperes(rating_ampere)
            ),
            Cause::GroundedNeutral { loop_ohm } => format!(
                "the neutral on its load side is {}ed through {}",
                term(self.vocabulary, Term::Ground),
                ohms(loop_ohm)
            ),
        }
    }
}

/// A time band as a person says it.
fn when(band: TimeBand) -> String {
    match band.latest_s {
        Some(latest) if band.earliest_s < 0.02 => format!("within {}", duration(latest)),
        Some(latest) => format!("after {} to {}", duration(band.earliest_s), duration(latest)),
        None if band.earliest_s < 0.02 => "at any time or never".to_owned(),
        None => format!("not before {}, or never", duration(band.earliest_s)),
    }
}

/// A duration with two figures that matter.
pub(super) fn duration(seconds: f64) -> String {
    match seconds {
        s if s < 0.1 => format!("{:.0} ms", s * 1e3),
        s if s < 0.995 => {
            let text = format!("{s:.2}");
            format!("{} s", text.strip_suffix('0').unwrap_or(&text))
        }
        s if s < 10.0 => format!("{s:.1} s"),
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7200.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.0} h", s / 3600.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_as_people_say_them() {
        let band = |earliest_s, latest_s| when(TimeBand { earliest_s, latest_s });
        assert_eq!(band(0.0, Some(0.1)), "within 0.1 s");
        assert_eq!(band(52.0, Some(120.0)), "after 52 s to 2 min");
        assert_eq!(band(208.0, None), "not before 3 min, or never");
        assert_eq!(band(0.0, Some(0.04)), "within 40 ms");
        assert_eq!(band(0.0, None), "at any time or never");
    }
}
