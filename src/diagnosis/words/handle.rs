//! What is said of a handle that was asked for: `no`, `not tripped`, `all the breakers are on`.

use crate::circuit::{Circuit, DeviceKind};
use crate::condition::words::known::{Known, is_switch};
use crate::condition::words::lexer::tokens;
use crate::diagnosis::{Moment, Observation, Protected, Seen, place_of_handle};

use super::everyday::plainly;
use super::plain;
use super::reader::{Heard, Reader};
use super::seen::first_pole;

/// Of the one that was asked for: it is on.
const IS_ON: [&str; 31] = [
    "no not tripped",
    "no it has not tripped",
    "no it did not trip",
    "no and it is on",
    "no it is on",
    "no it is not",
    "it is not tripped",
    "it has not tripped",
    "it did not trip",
    "has not tripped",
    "did not trip",
    "not tripped",
    "it is not off",
    "not off",
    "it is on",
    "it was on",
    "it holds",
    "the breaker is fine",
    "the breaker is ok",
    "the breaker is on",
    "breaker is fine",
    "breaker is ok",
    "breaker is on",
    "it is fine",
    "it is ok",
    "it is up",
    "holds",
    "fine",
    "up",
    "no",
    "on",
];

/// Of the one that was asked for: it is off, or has tripped; `yes` may stand before it or alone.
const IS_OFF: [&str; 18] = [
    "and it is off",
    "it is tripped",
    "it has tripped",
    "it had tripped",
    "it is off",
    "it was off",
    "it was tripped",
    "it tripped",
    "it is still down",
    "it is down",
    "found it tripped",
    "found it off",
    "found tripped",
    "was tripped",
    "was off",
    "tripped",
    "down",
    "off",
];

/// And then it was closed, and stayed so.
const HOLDS_NOW: [&str; 16] = [
    "reset it and it holds",
    "reset it and it is holding",
    "reset it it holds",
    "reset it holds",
    "reset fine",
    "resets fine",
    "reset ok",
    "reset and holds",
    "reset and holding",
    "closed it and it holds",
    "turned it back on and it holds",
    "turned it on and it holds",
    "it holds now",
    "holds now",
    "it holds",
    "holds",
];

/// Of every handle there.
const NONE_IS_OFF: [&str; 18] = [
    "nothing is tripped",
    "nothing has tripped",
    "nothing tripped",
    "nothing is off",
    "nothing was off",
    "nothing off",
    "none is tripped",
    "none are tripped",
    "none has tripped",
    "none tripped",
    "none is off",
    "none are off",
    "none was off",
    "none off",
    "all are on",
    "all is on",
    "all on",
    "everything is on",
];

/// Of every breaker, whatever was asked.
const ALL_BREAKERS: [&str; 17] = [
    "nothing is tripped",
    "nothing has tripped",
    "nothing tripped",
    "all the breakers are on",
    "all the breakers on",
    "all breakers are on",
    "all breakers on",
    "every breaker is on",
    "the breakers are all on",
    "breakers are all on",
    "no breaker is tripped",
    "no breaker has tripped",
    "no breaker tripped",
    "no breaker is off",
    "no breakers are off",
    "no breakers are tripped",
    "no breakers tripped",
];

/// Of a switch that was to be thrown: nothing came of it, or nobody threw it.
const NO_CHANGE: [&str; 8] = [
    "nothing came of it",
    "nothing changed",
    "nothing happened",
    "nothing happens",
    "no change",
    "no difference",
    "makes no difference",
    "nothing",
];

/// Reads the answer to whether a breaker or device that was asked for is off or has tripped. Of a
/// switch that was to be thrown `no` says nothing of how it stands: then there is nothing to observe,
/// and it is only not asked for again. `None` if it is no such answer.
///
/// ```
/// use slotwise::diagnosis::{Protected, Seen, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let said = words::of_handle(&studio, "c1", "not tripped").unwrap();
/// assert_eq!(said[0].seen, Seen::Protection { name: "c1".into(), did: Protected::Holds });
/// assert!(words::of_handle(&studio, "c1", "trips at once").is_none());
/// ```
pub fn of_handle(circuit: &Circuit, name: &str, text: &str) -> Option<Vec<Observation>> {
    let known = Known::of(circuit);
    let plain = plain(text);
    let tokens = plainly(&known, &tokens(&plain));
    let reader = Reader::new(&known, &plain, &tokens);
    let is = |phrases: &[&str]| {
        phrases.iter().any(|phrase| {
            let mut ahead = reader.clone();
            ahead.takes(phrase) && ahead.end().is_ok()
        })
    };
    let is_here = is(&NONE_IS_OFF);
    if circuit.device(name).is_some_and(|device| is_switch(&device.kind)) {
        return (is_here || is(&IS_ON) || is(&NO_CHANGE)).then(Vec::new);
    }
    if is(&IS_ON) {
        return Some(vec![holds(name)]);
    }
    let mut said_off = reader.clone();
    said_off.takes(name);
    let is_affirmed = said_off.takes("yes");
    said_off.pass_marks();
    let is_off = said_off.takes_any(&IS_OFF) || is_affirmed;
    let seen = Seen::Protection { name: name.to_owned(), did: Protected::FoundOff };
    let found_off = Observation { moment: Moment::default(), seen };
    if is_off && said_off.end().is_ok() {
        return Some(vec![found_off]);
    }
    if is_off && said_off.holds_now() {
        return Some(vec![found_off, holds(name)]);
    }
    if !is_here {
        return None;
    }
    let place = place_of_handle(circuit, name);
    let there = handles(circuit)
        .filter(|handle| handle.as_str() == name || place_of_handle(circuit, handle) == place);
    Some(there.map(|handle| holds(&handle)).collect())
}

impl Reader<'_> {
    /// That what was off was closed and stays so, behind that it was off.
    fn holds_now(&self) -> bool {
        HOLDS_NOW.iter().any(|words| {
            let mut ahead = self.clone();
            ahead.pass_marks();
            ahead.takes_any(&["and", "but"]);
            // A comma may stand within.
            let whole = words.split(' ').all(|word| {
                ahead.pass_marks();
                ahead.takes(word)
            });
            whole && ahead.end().is_ok()
        })
    }
}

/// The handles of breakers and the buttons of protective devices.
fn handles(circuit: &Circuit) -> impl Iterator<Item = String> {
    let devices = circuit.parts().devices.iter();
    let devices = devices.filter(|one| matches!(one.kind, DeviceKind::Protective { .. }));
    breakers(circuit).chain(devices.map(|one| one.id.clone()))
}

/// Breakers, each by its first pole.
fn breakers(circuit: &Circuit) -> impl Iterator<Item = String> {
    let poles = circuit.parts().branch_circuits.iter();
    poles.filter(|pole| first_pole(pole).is_none()).map(|pole| pole.id.clone())
}

fn holds(name: &str) -> Observation {
    let seen = Seen::Protection { name: name.to_owned(), did: Protected::Holds };
    Observation { moment: Moment::default(), seen }
}

impl Reader<'_> {
    /// `all the breakers are on`, at one moment; none if it is not said.
    pub(super) fn all_breakers(&mut self) -> Heard<Vec<Observation>> {
        if !self.takes_any(&ALL_BREAKERS) {
            return Ok(Vec::new());
        }
        let moment = self.moment()?;
        let at = |name: String| holds(&name).at(moment.clone());
        Ok(breakers(self.known.circuit).map(at).collect())
    }
}
