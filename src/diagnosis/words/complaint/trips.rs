//! What a breaker or a protective device is complained of.

use crate::condition::words::lexer::TokenKind;
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::{few, speak};
use crate::diagnosis::symptom::fed;
use crate::diagnosis::{Complaint, Protected, WhenItTrips, place_of_load};

use super::super::reader::{Heard, Reader};
use super::super::seen::{BREAKER, GROUND_FAULT, first_pole, tell_protected, tell_protection};
use super::lists::{COMES_AND_GOES, WORKS};
use super::tell;

/// What trips says so itself.
const TRIP: &str = "trip";

impl Reader<'_> {
    /// A complaint of a breaker or a protective device; none if something else comes next.
    pub(super) fn of_protection(&mut self) -> Heard<Option<Complaint>> {
        self.refuse_main()?;
        if let Some(breaker) = self.cannot_reset() {
            return Ok(Some(Complaint::WontReset { breaker }));
        }
        let mut blown = self.clone();
        blown.takes_any(&["the", "a"]);
        if blown.takes_any(&["blown", "tripped"]) && blown.clone().takes_any(&BREAKER) {
            let Some(breaker) = blown.protection().or_else(|| self.only_breaker()) else {
                let forms = self.breakers().map(|name| format!("{} tripped", speak::name(name)));
                return Err(blown.here("which breaker?").expected(few(forms)));
            };
            blown.takes_any(&BREAKER);
            *self = blown;
            let breaker = self.handle_of(breaker);
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::NowAndThen }));
        }
        let mut ahead = self.clone();
        if ahead.unnamed_breaker() {
            // Where there is one, it needs no name.
            let mut unnamed = ahead.clone();
            if let Some(only) = self.only_breaker()
                && let Some(complaint) = unnamed.protective(only)?
            {
                *self = unnamed;
                return Ok(Some(complaint));
            }
            let which = self.which_breaker(&ahead);
            return match which.expected.is_empty() {
                false => Err(which),
                true => Err(ahead.no_such("breaker", ahead.names(&[Class::Circuit]))),
            };
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

    /// Passes what a breaker is called, where no name of one comes next; of what trips it need not
    /// be called anything.
    pub(in super::super) fn unnamed_breaker(&mut self) -> bool {
        if self.clone().protection().is_some() {
            return false;
        }
        let mut ahead = self.clone();
        ahead.takes_any(&["the", "a", "its"]);
        let is_one = ahead.takes_unnamed(&BREAKER);
        let trips = |mut reader: Self| {
            reader.takes_unnamed(&["it"]);
            reader.pass_before();
            reader.token(0).is_some_and(|token| token.text.to_lowercase().starts_with(TRIP))
        };
        if !is_one && !trips(self.clone()) {
            return false;
        }
        match is_one {
            true => *self = ahead,
            false => _ = self.takes("it"),
        }
        true
    }

    /// Passes `can't reset c1`, `cannot turn c1 back on`.
    fn cannot_reset(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes_any(&["i", "we"]);
        if !ahead.takes_any(&["can not", "cannot", "could not", "am unable to", "unable to"]) {
            return None;
        }
        let resets = ahead.takes_any(&["reset", "close"]);
        if !resets && !ahead.takes_any(&["turn", "switch", "put"]) {
            return None;
        }
        let breaker = ahead.protection().or_else(|| ahead.the_only_breaker())?;
        if !resets && !ahead.takes_any(&["back on", "back in", "on", "in"]) {
            return None;
        }
        *self = ahead;
        Some(self.handle_of(breaker))
    }

    /// What the main breaker does is of no branch circuit.
    fn refuse_main(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let main = ["main breaker", "main circuit breaker", "main fuse", "main switch", "main"];
        let is_one = ahead.takes_any(&main) && self.clone().protection().is_none();
        let any = self.breakers().next().map(str::to_owned);
        let trips = any.is_some_and(|any| matches!(ahead.clone().protective(any), Ok(Some(_))));
        if !is_one || !(trips || ahead.protection_did().is_ok()) {
            return Ok(());
        }
        let circuits = self.breakers().map(|name| format!("{} trips", speak::name(name)));
        let message = "the main feeds every circuit: what is dead then, or does another trip?";
        Err(self
            .here(message)
            .expected(few(std::iter::once("everything dead".to_owned()).chain(circuits))))
    }

    /// The breaker, where there is only one.
    pub(in super::super) fn only_breaker(&self) -> Option<String> {
        let mut all = self.breakers();
        all.next().filter(|_| all.next().is_none()).map(str::to_owned)
    }

    /// Passes what a breaker is called without a name, where there is only one.
    pub(in super::super) fn the_only_breaker(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let only = ahead.takes_unnamed(&BREAKER).then(|| self.only_breaker())?;
        *self = ahead;
        only
    }

    /// The breakers, each by its first pole.
    pub(in super::super) fn breakers(&self) -> impl Iterator<Item = &str> {
        let poles = self.known.circuit.parts().branch_circuits.iter();
        poles.filter(|one| first_pole(one).is_none()).map(|one| one.id.as_str())
    }

    /// Of several breakers it has to be said which: what is said of it (`does`) with each name, that
    /// which feeds the load that is spoken of first.
    pub(in super::super) fn which_breaker(&self, does: &Self) -> Problem {
        let with = does.given.as_ref();
        let said = |name: &str| {
            let mut called = does.clone();
            if let Ok(Some(complaint)) = called.protective(name.to_owned()) {
                let whole = match with {
                    Some(given) => self.given_first(given, vec![complaint]).ok()?,
                    None => vec![complaint],
                };
                return whole.first().map(|one| tell(self.known, one));
            }
            let mut once = does.clone();
            let did = match once.tripped_once() && once.is_done() {
                true => Protected::FoundOff,
                false => does.clone().protection_did().ok()?,
            };
            let name = tell_protected(self.known, "", name);
            Some(format!("{name} {}", tell_protection(did)))
        };
        let load = self.load_named();
        let feeding = load.as_deref().and_then(|load| self.feeding(load));
        let likely = feeding.as_deref().and_then(said);
        let others = self.breakers().filter(|name| feeding.as_deref() != Some(*name));
        let forms = few(likely.iter().cloned().chain(others.filter_map(said)));
        self.here("which breaker?").suggesting(likely.into_iter().collect()).expected(forms)
    }

    /// The breaker that alone feeds the place of a load.
    pub(in super::super) fn feeding(&self, load: &str) -> Option<String> {
        let circuit = self.known.circuit;
        let at = place_of_load(circuit, circuit.load(load)?)?;
        let at = circuit.parts().places.iter().position(|place| place.id == at)?;
        self.feeding_place(at)
    }

    /// The breaker that alone feeds a place.
    pub(in super::super) fn feeding_place(&self, at: usize) -> Option<String> {
        let circuit = self.known.circuit;
        let mut feeding = self.breakers().filter(|name| fed(circuit, name).contains(&at));
        feeding.next().filter(|_| feeding.next().is_none()).map(str::to_owned)
    }

    /// `kettle trips c1`: the breaker trips when the load runs.
    pub(super) fn load_trips(&mut self, loads: &[String]) -> Heard<Option<Complaint>> {
        let [load] = loads else { return Ok(None) };
        let mut ahead = self.clone();
        ahead.pass_before();
        let verb = ahead.token(0).map_or(String::new(), |token| token.text.to_lowercase());
        if !ahead.trip_verb() {
            return Ok(None);
        }
        let trips = |breaker| {
            let when = WhenItTrips::WithLoad { load: load.clone() };
            Complaint::Trips { breaker, when }
        };
        if let Some(breaker) = ahead.protection() {
            let breaker = self.handle_of(breaker);
            let plugging = [
                "as soon as it is plugged in",
                "when it is plugged in",
                "when i plug it in",
                "when plugged in",
                "when it is switched on",
                "when switched on",
                "when it runs",
            ];
            ahead.takes_any(&plugging);
            let later = ahead.later();
            *self = ahead;
            return Ok(Some(match later {
                true => Complaint::Trips { breaker, when: WhenItTrips::AfterAWhile },
                false => trips(breaker),
            }));
        }
        let mut sensing = ahead.clone();
        sensing.takes("the");
        if sensing.takes_any(&GROUND_FAULT)
            && sensing.is_done()
            && let Some(feeding) = self.feeding(load).filter(|name| self.senses_residual(name))
        {
            *self = sensing;
            return Ok(Some(trips(feeding)));
        }
        let before = ahead.clone();
        ahead.takes("the");
        // A load that trips is what something trips with.
        let is_bare = verb.starts_with(TRIP) && before.is_done();
        if !ahead.takes_any(&BREAKER) && !is_bare {
            return Ok(None);
        }
        if let Some(only) = self.only_breaker() {
            *self = ahead;
            return Ok(Some(trips(only)));
        }
        let said = |name: &str| tell(self.known, &trips(name.to_owned()));
        let feeding = self.feeding(load);
        let likely = feeding.as_deref().map(said);
        let others = self.breakers().filter(|name| feeding.as_deref() != Some(*name)).map(said);
        let forms = few(likely.iter().cloned().chain(others));
        Err(before.here("which breaker?").suggesting(likely.into_iter().collect()).expected(forms))
    }

    pub(in super::super) fn senses_residual(&self, breaker: &str) -> bool {
        let breaker = self.known.circuit.branch_circuit(breaker);
        breaker.is_some_and(|one| one.breaker.residual_trip_ampere.is_some())
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
        if (reset.clone().takes("reset") || reset.clone().takes("off"))
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

    fn after_it_trips(&mut self, breaker: String) -> Heard<Complaint> {
        if let Some(complaint) = self.and_does_not_hold(&breaker) {
            return Ok(complaint);
        }
        self.when_it_trips().map(|when| Complaint::Trips { breaker, when })
    }

    /// `keeps tripping and won't reset`: what it does not do any more says more.
    fn and_does_not_hold(&mut self, breaker: &str) -> Option<Complaint> {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes_any(&["and", "or"]);
        let does_not = [Self::wont_stay, Self::wont_reset, Self::wont_hold]
            .iter()
            .any(|it| it(&mut ahead.clone()));
        let complaint = does_not.then(|| ahead.protective(breaker.to_owned()).ok()).flatten()??;
        *self = ahead;
        Some(complaint)
    }

    /// What a breaker or a protective device does; none if the name was meant as a place.
    fn protective(&mut self, breaker: String) -> Heard<Option<Complaint>> {
        let before = self.clone();
        if self.opens_by_itself(&breaker) {
            return self.after_it_trips(breaker).map(Some);
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
        if self.clone().tripped_once() {
            return Err(self.found_or_trips(&breaker));
        }
        if self.trip_verb() {
            return self.after_it_trips(breaker).map(Some);
        }
        if circuit && self.dead_said() {
            return Ok(Some(Complaint::AllDead { circuit: breaker }));
        }
        *self = before;
        Ok(None)
    }

    /// `c1 tripped`: whether it did so once, and is closed and watched, or does it again and again.
    fn found_or_trips(&self, breaker: &str) -> Problem {
        let name = speak::name(&self.handle_of(breaker.to_owned()));
        self.here("was it found so, or does it trip again?").expected([
            format!("{name} found off"),
            format!("{name} trips at once"),
            format!("{name} trips now and then"),
        ])
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
            self.when_it_is_reset();
            return Ok(WhenItTrips::AtOnce);
        }
        if self.later() {
            return Ok(WhenItTrips::AfterAWhile);
        }
        if self.when_it_is_reset() {
            return Ok(WhenItTrips::AtOnce);
        }
        self.refuse_loaded()?;
        if !self.now_and_then() && self.when() {
            return Ok(WhenItTrips::WithLoad { load: self.running()? });
        }
        self.now_and_then();
        Ok(WhenItTrips::NowAndThen)
    }

    /// With what it trips has to be said, and that nothing runs is something seen.
    fn refuse_loaded(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes("even");
        let none = [
            "with no load",
            "with no loads",
            "without load",
            "without any load",
            "with nothing on",
            "with nothing plugged in",
            "with nothing running",
            "with nothing connected",
            "when nothing is on",
            "when nothing is plugged in",
        ];
        if ahead.takes_any(&none) {
            let message = "what it does with nothing on it is something seen";
            let form = "trips at once with everything unplugged";
            return Err(self.up_to(&ahead, message).expected([form]));
        }
        let loaded = [
            "under heavy load",
            "under load",
            "with heavy load",
            "when loaded",
            "with load",
            "when too much is on",
            "when everything is on",
            "when many things are on",
            "when many things run",
            "when i use too much",
        ];
        if !ahead.takes_any(&loaded) {
            return Ok(());
        }
        let loads = self.known.circuit.parts().loads.iter();
        let each = loads.map(|load| format!("trips when {} runs", speak::name(&load.id)));
        let message = "with which load, or after how long?";
        Err(self
            .up_to(&ahead, message)
            .expected(few(each.chain(["trips after a while".to_owned()]))))
    }

    /// Passes `when I reset it`, `as soon as I turn it on`.
    pub(in super::super) fn when_it_is_reset(&mut self) -> bool {
        if self.takes_any(&[
            "on reset",
            "upon reset",
            "on resetting",
            "after reset",
            "when resetting",
        ]) {
            return true;
        }
        let mut ahead = self.clone();
        if !ahead.when() {
            return false;
        }
        ahead.takes_any(&["i", "we", "you", "it is", "it gets"]);
        let whole = [
            "reset it",
            "try to reset it",
            "turn it on",
            "turn it back on",
            "switch it on",
            "switch it back on",
            "flip it",
            "flip it back",
            "flip it on",
            "put it on",
            "put it back on",
            "close it",
            "put it in",
            "push it in",
            "push the button in",
            "push the button",
            "press the button",
            "push reset",
            "press reset",
            "hit reset",
            "reset",
            "closed",
            "turned on",
            "turned back on",
            "switched on",
            "switched back on",
            "put back on",
        ];
        // Whichever ends there.
        whole.iter().any(|words| {
            let mut one = ahead.clone();
            let ends = one.takes(words) && {
                let next = one.token(0);
                let parts = next.is_none_or(|token| {
                    token.kind == TokenKind::Comma
                        || ["with", "even"].iter().any(|word| token.text.eq_ignore_ascii_case(word))
                });
                parts || one.is_done() || one.takes_any(&["again", "and", "but"])
            };
            ends && {
                *self = one;
                true
            }
        })
    }

    /// A circuit is often called like what it feeds: what is warm is asked for, unless a breaker is spoken of.
    fn refuse_named_alike(&self, at: &Self, breaker: &str) -> Heard<()> {
        let class = [&BREAKER[..], &["panel", "mcb", "rcbo", "rcd", "consumer unit"]].concat();
        let is_said = self.is_said_anywhere(&class);
        let circuit = self.known.circuit;
        let places = fed(circuit, breaker).into_iter();
        let places = places.filter_map(|at| circuit.parts().places.get(at));
        let fed: Vec<String> =
            places.take(2).map(|one| format!("{} warm", speak::name(&one.id))).collect();
        if is_said || fed.is_empty() {
            return Ok(());
        }
        let name = speak::name(breaker);
        let message = format!("is it the breaker of {name}, or something that it feeds?");
        let forms = fed.into_iter().chain([format!("breaker {name} is warm")]);
        Err(at.up_to(self, message).expected(forms))
    }

    /// What is said of a branch circuit's breaker that is no place.
    fn of_circuit(&mut self, breaker: &str) -> Heard<Option<Complaint>> {
        let at = self.clone();
        if self.is_warm_all() {
            self.refuse_named_alike(&at, breaker)?;
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

    /// `I plug in the kettle`, `we turn the kettle on`, `using the kettle`: the load.
    fn switched_on_by_someone(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let someone = ["i am", "we are", "i", "we", "you", "someone", "somebody", "anyone"];
        let is_said = ahead.takes_any(&someone);
        ahead.takes_any(&["try to", "want to"]);
        let doing = ["plugging in", "turning on", "switching on", "using", "running", "starting"];
        let whole = [
            "plugged in",
            "plug in",
            "turned on",
            "turn on",
            "switched on",
            "switch on",
            "put on",
            "used",
            "use",
            "run",
            "start",
            "started",
        ];
        let is_whole = ahead.takes_any(&doing) || is_said && ahead.takes_any(&whole);
        let parted = [
            "plugging",
            "turning",
            "switching",
            "plugged",
            "plug",
            "turned",
            "turn",
            "switched",
            "switch",
            "put",
        ];
        if !is_whole && !ahead.takes_any(&parted) {
            return None;
        }
        let load = ahead.load()?;
        if !is_whole && !ahead.takes_any(&["back in", "back on", "in", "on"]) {
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
            None => {
                self.takes("the");
                self.due_name(&[Class::Load], "load")?
            }
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
            return Err(self.here(message).expected([
                format!("what was seen `with {one} on, {other} on`"),
                format!("`BREAKER trips later with {one} on, {other} on`"),
            ]));
        }
        Ok(load)
    }
}
