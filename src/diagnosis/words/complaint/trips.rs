//! What a breaker or a protective device is complained of.

use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::speak;
use crate::diagnosis::{Complaint, WhenItTrips};

use super::super::reader::{Heard, Reader};
use super::super::seen::tell_protected;
use super::lists::{COMES_AND_GOES, WARM, WORKS};

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
            if ahead.breaker_does() {
                let names = ahead.names(&[Class::Circuit]).into_iter();
                let message = "which breaker?";
                let forms =
                    crate::condition::words::few(names.map(|name| format!("breaker {name}")));
                return Err(self.here(message).expected(forms));
            }
            return Err(ahead.no_such("breaker", ahead.names(&[Class::Circuit])));
        }
        if let Some(breaker) = ahead.protection() {
            if let Some(complaint) = ahead.protective(breaker.clone())? {
                *self = ahead;
                return Ok(Some(self.of_handle(complaint)));
            }
            if self.is_bare_name(&ahead) {
                return Ok(None);
            }
            let mut dead = ahead.clone();
            if dead.is_dead().is_ok() {
                *self = dead;
                return Ok(Some(Complaint::AllDead { circuit: breaker }));
            }
            return Err(ahead.no_complaint_of(&breaker));
        }
        self.which_ground_fault()?;
        Ok(None)
    }

    /// Whether what comes next is what a breaker does.
    fn breaker_does(&self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        ahead.trip_verb()
            || ahead.opens()
            || ahead.wont_reset()
            || ahead.wont_hold()
            || ahead.wont_stay()
            || ahead.dead_said()
    }

    /// `kettle trips c1`: the breaker trips when the load runs.
    pub(super) fn load_trips(&mut self, loads: &[String]) -> Heard<Option<Complaint>> {
        let [load] = loads else { return Ok(None) };
        let mut ahead = self.clone();
        ahead.pass_before();
        if !ahead.trip_verb() {
            return Ok(None);
        }
        if let Some(breaker) = ahead.protection() {
            *self = ahead;
            let when = WhenItTrips::WithLoad { load: load.clone() };
            return Ok(Some(Complaint::Trips { breaker: self.handle_of(breaker), when }));
        }
        let before = ahead.clone();
        ahead.takes("the");
        let circuits = &self.known.circuit.parts().branch_circuits;
        if !ahead.takes_any(&["breaker", "fuse", "circuit"]) {
            return Ok(None);
        }
        if let [only] = circuits.as_slice() {
            *self = ahead;
            let when = WhenItTrips::WithLoad { load: load.clone() };
            return Ok(Some(Complaint::Trips { breaker: only.id.clone(), when }));
        }
        let load = speak::name(load);
        let forms = self.handles().map(|name| format!("{name} trips when {load} runs"));
        Err(before.here("which breaker?").expected(crate::condition::words::few(forms)))
    }

    /// What trips is a handle with all its poles; what is dead is what one pole feeds.
    fn of_handle(&self, complaint: Complaint) -> Complaint {
        match complaint {
            Complaint::Trips { breaker, when } => {
                Complaint::Trips { breaker: self.handle_of(breaker), when }
            }
            Complaint::WontReset { breaker } => {
                Complaint::WontReset { breaker: self.handle_of(breaker) }
            }
            other => other,
        }
    }

    /// Whether what was read up to there is a name that a box or a load bears too.
    fn is_bare_name(&self, there: &Self) -> bool {
        let mut plain = self.clone();
        plain.takes("the");
        plain.name(&[Class::Place, Class::Device, Class::Load]).is_some()
            && plain.rest().len() == there.rest().len()
    }

    /// What a breaker is not complained of: what it did when it was tried, or nothing known.
    fn no_complaint_of(&self, breaker: &str) -> Problem {
        let name = tell_protected(self.known, "", breaker);
        if self.clone().protection_did().is_ok() {
            let message = "what a breaker does when it is tried is no complaint but something seen";
            let forms = [
                format!("`{name} holds` with what was seen"),
                format!("everything on {name} dead"),
            ];
            return self.here(message).expected(forms);
        }
        let mut reset = self.clone();
        reset.pass_before();
        if reset.clone().takes("reset")
            && let Err(problem) = reset.protection_did()
        {
            return problem;
        }
        let words = [
            "trips at once",
            "trips when LOAD runs",
            "trips after a while",
            "does not reset",
            "dead",
        ];
        self.none_of("what a breaker is complained of", &words)
    }

    /// What a breaker or a protective device does; none if the name was meant as a place.
    fn protective(&mut self, breaker: String) -> Heard<Option<Complaint>> {
        let before = self.clone();
        if self.opens_by_itself(&breaker) {
            return self.when_it_trips().map(|when| Some(Complaint::Trips { breaker, when }));
        }
        self.takes("only");
        self.takes_any(&COMES_AND_GOES);
        if self.wont_stay() {
            // A button that does not latch has often nothing to latch it.
            let is_handle = self.known.circuit.branch_circuit(&breaker).is_some();
            return Ok(Some(match is_handle {
                true => Complaint::Trips { breaker, when: WhenItTrips::AtOnce },
                false => Complaint::WontReset { breaker },
            }));
        }
        if self.wont_reset() {
            return Ok(Some(Complaint::WontReset { breaker }));
        }
        if self.wont_hold() {
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::AtOnce }));
        }
        let circuit = self.known.circuit.branch_circuit(&breaker).is_some();
        if circuit && let Some(complaint) = self.of_circuit(&breaker)? {
            return Ok(Some(complaint));
        }
        if circuit && self.dead_said() {
            return Ok(Some(Complaint::AllDead { circuit: breaker }));
        }
        if !self.trip_verb() {
            *self = before;
            return Ok(None);
        }
        self.when_it_trips().map(|when| Some(Complaint::Trips { breaker, when }))
    }

    /// Passes what stands before what is so, and `shuts off` and its like. A load or a box of that
    /// name may have stopped as well.
    fn opens_by_itself(&mut self, breaker: &str) -> bool {
        let is_other = [Class::Load, Class::Place].iter().any(|of| self.known.is(*of, breaker));
        if !is_other && self.opens() {
            return true;
        }
        self.pass_before();
        !is_other && self.opens()
    }

    /// After `trips`.
    fn when_it_trips(&mut self) -> Heard<WhenItTrips> {
        if self.at_once() {
            return Ok(WhenItTrips::AtOnce);
        }
        if self.later() {
            return Ok(WhenItTrips::AfterAWhile);
        }
        let now_and_then = self.takes_any(&COMES_AND_GOES);
        if !self.takes_any(&WEATHER) && !now_and_then && self.when() {
            return Ok(WhenItTrips::WithLoad { load: self.running()? });
        }
        Ok(WhenItTrips::NowAndThen)
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

    /// `I plug in the kettle`, `we turn the kettle on`: the load.
    fn switched_on_by_someone(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&["i", "we", "you", "someone", "somebody", "anyone"]) {
            return None;
        }
        let whole = ["plug in", "turn on", "switch on", "put on", "use", "run", "start"];
        let is_whole = ahead.takes_any(&whole);
        if !is_whole && !ahead.takes_any(&["plug", "turn", "switch", "put"]) {
            return None;
        }
        let load = ahead.load()?;
        if !is_whole && !ahead.takes_any(&["in", "on"]) {
            return None;
        }
        *self = ahead;
        Some(load)
    }

    /// The load with which something is so.
    pub(super) fn running(&mut self) -> Heard<String> {
        if let Some(load) = self.switched_on_by_someone() {
            return Ok(load);
        }
        let load = match self.load() {
            Some(load) => load,
            None => self.due_name(&[Class::Load], "load")?,
        };
        if self.runs() {
            return Ok(load);
        }
        let mut ahead = self.clone();
        if ahead.takes("and")
            && let Some(other) = ahead.load().filter(|_| ahead.runs())
        {
            let (one, other) = (speak::name(&load), speak::name(&other));
            let message = "one load makes it so: several that run together are said with what \
                           was seen";
            return Err(self
                .here(message)
                .expected([format!("what was seen `with {one} on, {other} on`")]));
        }
        Ok(load)
    }
}
