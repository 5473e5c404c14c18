//! What a breaker or a protective device is complained of.

use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::{Complaint, WhenItTrips};

use super::super::reader::{Heard, Reader};
use super::lists::{COMES_AND_GOES, WARM, WORKS};

const AT_ONCE: [&str; 6] = [
    "at once",
    "immediately",
    "as soon as it is closed",
    "straight away",
    "instantly",
    "right away",
];

const LATER: [&str; 4] = ["after a while", "after minutes", "later", "after some time"];

/// What comes with the weather comes now and then: nothing here knows when it rains.
const WEATHER: [&str; 10] = [
    "when it rains",
    "when it is raining",
    "when it rained",
    "when it is wet",
    "when it is damp",
    "when wet",
    "in the rain",
    "in wet weather",
    "after rain",
    "for no reason",
];

/// What a load does that makes others dim, or something trip.
const RUNS: [&str; 17] = [
    "starts",
    "runs",
    "running",
    "is on",
    "is running",
    "comes on",
    "kicks in",
    "is switched on",
    "is turned on",
    "turns on",
    "is plugged in",
    "gets plugged in",
    "plugged in",
    "is in use",
    "is used",
    "works",
    "on",
];

impl Reader<'_> {
    /// A complaint of a breaker or a protective device; none if something else comes next.
    pub(super) fn of_protection(&mut self) -> Heard<Option<Complaint>> {
        let mut ahead = self.clone();
        if ahead.clone().protection().is_none() && ahead.takes_any(&["breaker", "circuit"]) {
            // Where there is one, it needs no name.
            let poles = &self.known.circuit.parts().branch_circuits;
            let mut unnamed = ahead.clone();
            if let [only] = poles.as_slice()
                && let Some(complaint) = unnamed.protective(only.id.clone())?
            {
                *self = unnamed;
                return Ok(Some(complaint));
            }
            return Err(ahead.no_such("breaker", ahead.names(&[Class::Circuit])));
        }
        if let Some(breaker) = ahead.protection() {
            if let Some(complaint) = ahead.protective(breaker)? {
                *self = ahead;
                return Ok(Some(complaint));
            }
            return Ok(None);
        }
        self.which_ground_fault()?;
        Ok(None)
    }

    /// What a breaker or a protective device does; none if the name was meant as a place.
    fn protective(&mut self, breaker: String) -> Heard<Option<Complaint>> {
        let before = self.clone();
        self.takes_any(&["keeps", "always"]);
        self.takes_any(&COMES_AND_GOES);
        if self.takes_any(&["does not reset", "will not reset", "wont reset", "wont  reset"]) {
            return Ok(Some(Complaint::WontReset { breaker }));
        }
        let circuit = self.known.circuit.branch_circuit(&breaker).is_some();
        if circuit {
            self.takes_any(&["is", "feels"]);
            if let Some(complaint) = self.of_circuit(&breaker)? {
                return Ok(Some(complaint));
            }
        }
        if self.takes_any(&["all dead", "is dead", "dead", "is all dead"]) {
            return Ok(Some(Complaint::AllDead { circuit: breaker }));
        }
        if !self.takes_any(&["trips", "tripping", "tripped"]) {
            *self = before;
            return Ok(None);
        }
        if self.takes_any(&AT_ONCE) {
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::AtOnce }));
        }
        if self.takes_any(&LATER) {
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::AfterAWhile }));
        }
        let now_and_then = self.takes_any(&COMES_AND_GOES);
        if !self.takes_any(&WEATHER)
            && !now_and_then
            && self.takes_any(&["when", "with", "as soon as", "while", "if"])
        {
            let load = self.running()?;
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::WithLoad { load } }));
        }
        Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::NowAndThen }))
    }

    /// What is said of a branch circuit's breaker that is no place.
    fn of_circuit(&mut self, breaker: &str) -> Heard<Option<Complaint>> {
        if self.takes_any(&WARM) {
            let element = format!("breaker:{breaker}");
            let joint = self.known.circuit.joint_of_element(&element);
            return match joint.map(|joint| joint.place.clone()) {
                Some(place) => Ok(Some(Complaint::Warm { place })),
                None => Err(self
                    .here("the breaker sits in no panel of this circuit: where is it warm?")
                    .expected(["BOX warm"])),
            };
        }
        if self.clone().takes_any(&WORKS) {
            let name = speak::name(breaker);
            return Err(self.here("does the breaker hold, or does what it feeds work?").expected(
                [format!("everything on {name} works"), format!("{name} holds, as seen")],
            ));
        }
        Ok(None)
    }

    /// A load that runs.
    pub(super) fn running(&mut self) -> Heard<String> {
        let load = match self.load() {
            Some(load) => load,
            None => self.due_name(&[Class::Load], "load")?,
        };
        self.takes_any(&RUNS);
        Ok(load)
    }
}
