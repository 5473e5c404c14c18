//! What cannot be taken as it is said, answered with how to say it.

use crate::circuit::{Device, DeviceKind, Load, Outlet, PlaceKind};
use crate::condition::words::known::is_switch;
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::{describe, few, speak};
use crate::condition::{Condition, SwitchPosition};
use crate::diagnosis::symptom::{fed, gives_light, run, switches_before};
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::super::seen::{first_pole, is_within, tell_protected};
use super::lists::{HALF, HOUSE, WORKS};
use super::loads::EVERYWHERE_SO;

/// Some of several, of which it is not said which.
const SOME_OF: [&str; 18] = [
    "part of",
    "parts of",
    "some of",
    "most of",
    "one of",
    "two of",
    "three of",
    "a few of",
    "several of",
    "a couple of",
    "many of",
    "some",
    "most",
    "several",
    "a few",
    "one",
    "two",
    "three",
];

/// What is said of something that is switched, and is about the switch.
const SWITCHED: [&str; 18] = [
    "can not be dimmed",
    "cannot be dimmed",
    "cannot be switched",
    "can not be switched",
    "cannot be turned",
    "can not be turned",
    "comes on by itself",
    "comes on on its own",
    "come on by themselves",
    "come on by itself",
    "turns on by itself",
    "turns itself on",
    "glows when off",
    "glows with the switch off",
    "glows with switch off",
    "only works",
    "works only",
    "works from",
];

/// What is said of a load that runs however its switches stand.
const STAYS_ON: [&str; 33] = [
    "stays on when switched off",
    "stays on when the switch is off",
    "stays on with the switch off",
    "will not turn off",
    "will not switch off",
    "will not go off",
    "will not go out",
    "will not shut off",
    "does not turn off",
    "does not switch off",
    "does not go off",
    "does not go out",
    "does not shut off",
    "can not switch off",
    "can not turn off",
    "can not shut off",
    "can not be switched off",
    "can not be turned off",
    "cannot be switched off",
    "cannot be turned off",
    "is always on",
    "are always on",
    "always on",
    "always stays on",
    "stays on all the time",
    "stays on",
    "stay on",
    "is on all the time",
    "on all the time",
    "is stuck on",
    "stuck on",
    "keeps burning",
    "stays lit",
];

/// That whoever switches does so in vain.
pub(super) const WHOEVER_THROWS: [&str; 12] = [
    "from either switch",
    "from either end",
    "from any switch",
    "from both switches",
    "by either switch",
    "at either switch",
    "whatever i do",
    "no matter what i do",
    "no matter which switch",
    "whatever switch i use",
    "at all",
    "any more",
];

/// What a load is heard to do.
const NOISES: [&str; 14] = [
    "hums",
    "humming",
    "hum",
    "a hum",
    "buzzes",
    "buzzing",
    "buzz",
    "clicks",
    "clicking",
    "click",
    "crackles",
    "crackling",
    "makes a noise",
    "noisy",
];

/// What becomes of lamps that get too much, or are old.
const BURN_OUT: [&str; 7] =
    ["burn out", "burns out", "burning out", "blowing out", "blowing", "blow", "blows"];

/// That they did so more than once.
const BURNT_AGAIN: [&str; 8] = [
    "blew twice",
    "blew again",
    "blown twice",
    "blown again",
    "burned out twice",
    "burned out again",
    "burnt out twice",
    "burnt out again",
];

/// What somebody does to a plug that makes poor contact.
const MOVED: [&str; 16] = [
    "wiggle", "wiggled", "jiggle", "jiggled", "move", "moved", "bend", "bent", "twist", "twisted",
    "push", "pushed", "press", "pressed", "hold", "held",
];

impl Reader<'_> {
    /// `part of the house`: of which boxes it is made up nobody can tell.
    pub(super) fn part_of_a_house(&self) -> Heard<()> {
        let mut ahead = self.clone();
        let is_half = ahead.takes_any(&HALF);
        ahead.takes_any(&SOME_OF);
        let begun = ahead.rest().len() < self.rest().len();
        ahead.takes_any(&["the", "my", "our"]);
        let mut lights = ahead.clone();
        if begun && lights.takes_any(&["lights", "lamps", "light bulbs", "bulbs"]) {
            return match is_half || lights.is_dead().is_ok() {
                true => Err(self.which_lights()),
                false => Ok(()),
            };
        }
        let of_it =
            ["circuit", "run", "room", "outlets", "outlet", "receptacles", "sockets", "socket"];
        let of_circuit = |reader: &Self| {
            let circuit = reader.clone().circuit();
            circuit.is_some_and(|name| !self.known.is(Class::Place, &name))
        };
        if begun && let Some(circuit) = ahead.clone().outlets_of_circuit() {
            return Err(self.which_outlets_of(&circuit));
        }
        let is_of = ahead.takes_unnamed(&HOUSE) || ahead.takes_any(&of_it) || of_circuit(&ahead);
        if !begun || !is_of {
            return Ok(());
        }
        let circuits = self.all_on_each();
        let forms = ["BOX dead".to_owned(), "BOX and BOX dead".to_owned()];
        Err(self
            .here("which part is that? name the boxes or the circuits")
            .expected(circuits.into_iter().chain(forms)))
    }

    /// Some receptacles of a circuit: those that there are.
    fn which_outlets_of(&self, name: &str) -> Problem {
        let circuit = self.known.circuit;
        let places = fed(circuit, name).into_iter();
        let places = places.filter_map(|at| circuit.parts().places.get(at));
        let with_outlets = places.filter(|place| !place.outlets.is_empty());
        let forms = with_outlets.map(|place| format!("{} dead", speak::name(&place.id)));
        let whole = format!("everything on {} dead", tell_protected(self.known, "", name));
        self.here("which of them? name the receptacles that are dead")
            .expected(few(forms.chain([whole])))
    }

    /// That all is dead on a circuit, for some of them.
    pub(super) fn all_on_each(&self) -> Vec<String> {
        self.handles().take(SOME).map(|name| format!("everything on {name} dead")).collect()
    }

    /// The lights at a place, or behind the switch there, where one is said; none else.
    pub(super) fn lights_there(&mut self) -> Heard<Vec<String>> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&["at", "in", "on", "by"]) {
            return Ok(Vec::new());
        }
        if self.takes_any(&EVERYWHERE_SO) {
            return Ok(Vec::new());
        }
        let mut on_circuit = ahead.clone();
        let place = match ahead.place() {
            Ok(place) => place,
            Err(problem) => {
                if let Some(circuit) = on_circuit.circuit() {
                    let lights = self.lights_on(&circuit)?;
                    *self = on_circuit;
                    return Ok(lights);
                }
                // `in the barn`, which no place is called.
                let is_where = self.clone().takes_any(&["in", "at"]);
                return if is_where { Err(problem) } else { Ok(Vec::new()) };
            }
        };
        let there = self.lights_of(&place)?;
        *self = ahead;
        Ok(there)
    }

    /// The lights that a circuit feeds.
    fn lights_on(&self, name: &str) -> Heard<Vec<String>> {
        let circuit = self.known.circuit;
        let fed = self.by_name(fed(circuit, name));
        let is_fed = |load: &&Load| {
            let at = place_of_load(circuit, load);
            at.is_some_and(|at| fed.iter().any(|place| is_within(&at, place)))
        };
        let lights = circuit.parts().loads.iter().filter(|load| gives_light(load)).filter(is_fed);
        let lights: Vec<String> = lights.map(|load| load.id.clone()).collect();
        if lights.is_empty() { Err(self.which_lights()) } else { Ok(lights) }
    }

    /// `porch light`: the lights there, where a place comes next and then the word.
    pub(super) fn lights_of_place(&mut self) -> Heard<Option<Vec<String>>> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let Some(place) = ahead.name(&[Class::Place]) else { return Ok(None) };
        let lights = ["ceiling lights", "ceiling light", "lights", "light", "lamps", "lamp"];
        let is_light = ahead.takes_unnamed(&lights);
        // The switch of it is no light.
        if !is_light || ahead.clone().takes_any(&["switch", "breaker", "circuit"]) {
            return Ok(None);
        }
        let there = self.lights_of(&place)?;
        *self = ahead;
        Ok(Some(there))
    }

    fn lights_of(&self, place: &str) -> Heard<Vec<String>> {
        let circuit = self.known.circuit;
        let own = self.known.device_of_kind(place, is_switch).map(|device| &device.id);
        let is_there = |load: &&Load| {
            place_of_load(circuit, load).as_deref() == Some(place)
                || own.is_some() && self.switch_of(Some(&load.id)).map(|one| &one.id) == own
        };
        let is_panel = circuit.place(place).is_some_and(|at| at.kind == PlaceKind::Panel);
        let beyond = if is_panel { self.by_name(run(circuit, place).1) } else { Vec::new() };
        let is_beyond = |load: &&Load| {
            place_of_load(circuit, load)
                .is_some_and(|at| beyond.iter().any(|one| is_within(&at, one)))
        };
        let lights = circuit.parts().loads.iter().filter(|load| gives_light(load));
        let there = lights.filter(|load| is_there(load) || is_beyond(load));
        let mut there: Vec<String> = there.map(|load| load.id.clone()).collect();
        if there.is_empty() {
            // What is plugged in there and is called a light.
            let is_called = |load: &&Load| {
                let name = load.id.to_lowercase();
                ["light", "lamp"].iter().any(|word| name.contains(word))
            };
            let called = circuit.parts().loads.iter().filter(is_there).filter(is_called);
            there = called.map(|load| load.id.clone()).collect();
        }
        if there.is_empty() { Err(self.which_lights()) } else { Ok(there) }
    }

    /// `kiln only works`: when it does not is what matters.
    pub(super) fn refuse_only(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.pass_before();
        let begun = ahead.clone();
        let is_so = match ahead.takes("only") {
            true => ahead.takes_any(&WORKS),
            false => ahead.takes_any(&WORKS) && ahead.takes("only"),
        };
        if !is_so {
            return Ok(());
        }
        let name = self.places_named().next().map_or("BOX".to_owned(), |name| speak::name(&name));
        let message = "and when does it not work?";
        Err(begun
            .here(message)
            .expected([format!("{name} dead"), format!("{name} works, if it does now")]))
    }

    /// The branch circuits by name, each breaker once.
    pub(super) fn handles(&self) -> impl Iterator<Item = String> {
        let circuits = self.known.circuit.parts().branch_circuits.iter();
        let circuits = circuits.filter(|one| first_pole(one).is_none());
        circuits.map(|one| tell_protected(self.known, "", &one.id))
    }

    /// `no lights`: of which loads, or of which circuit, nobody can tell.
    pub(super) fn which_lights(&self) -> Problem {
        let loads = self.known.circuit.parts().loads.iter();
        let lights = loads.filter(|load| gives_light(load)).map(|load| speak::name(&load.id));
        let lights = lights.map(|name| format!("{name} does not run"));
        let circuits = self.handles().map(|name| format!("everything on {name} dead"));
        let forms = lights.take(SOME).chain(circuits.take(SOME));
        self.here("which lights are out? each is said by its name, or all of a circuit")
            .expected(forms.collect::<Vec<_>>())
    }

    /// Half of a receptacle that has no halves but two hots.
    pub(super) fn refuse_half(&self, said: &str) -> Heard<()> {
        let circuit = self.known.circuit;
        let here: Vec<&Outlet> = match circuit.place(said) {
            Some(place) => place.outlets.iter().collect(),
            None => return Ok(()),
        };
        let [outlet] = here.as_slice() else { return Ok(()) };
        if !outlet.slots.iter().any(|(slot, _)| slot == "hot2") {
            return Ok(());
        }
        let name = speak::name(said);
        let loads = circuit.parts().loads.iter();
        let is_there = |load: &&Load| place_of_load(circuit, load).as_deref() == Some(said);
        let weak = loads.filter(is_there).map(|load| speak::name(&load.id));
        let weak = weak.flat_map(|load| [format!("{load} weak"), format!("{load} does not run")]);
        let message = format!(
            "{name} is one receptacle of two hots and has no halves: is it dead, or is a load of \
             it weak or dead?"
        );
        Err(self.here(message).expected(std::iter::once(format!("{name} dead")).chain(weak)))
    }

    /// A load that is dead only while another runs is no complaint but something seen.
    pub(super) fn dead_when(&self, loads: &[String], by: &str) -> Problem {
        let name = loads.first().map_or("lights".to_owned(), |load| speak::name(load));
        let by = speak::name(by);
        let message = "what is dead only while something else runs is said with what was seen; a \
                       complaint, of what only gets weak then";
        self.here(message).expected([
            format!("`{name} dead with {by} on`"),
            format!("{name} dims when {by} runs"),
        ])
    }

    /// The same of places, at which nothing is seen without an instrument.
    pub(super) fn refuse_dead_when(&self, complaint: &Complaint) -> Heard<()> {
        let mut ahead = self.clone();
        let Complaint::Dead { places } = complaint else { return Ok(()) };
        if places.is_empty() || !ahead.when() {
            return Ok(());
        }
        let load = ahead.running()?;
        let off = [("unplugged", "unplugged"), ("disconnected", "unplugged"), ("off", "off")];
        ahead.takes_any(&["is", "was"]);
        match ahead.choice(&off) {
            Some(state) => Err(self.places_dead_without(places, &load, state)),
            None => Err(self.places_dead_when(places, &load)),
        }
    }

    /// What to say of places that are dead with a load off.
    fn places_dead_without(&self, places: &[String], load: &str, state: &str) -> Problem {
        let by = speak::name(load);
        let place = places.first().map_or("BOX".to_owned(), |place| speak::name(place));
        let message = "what is dead with something off is said with what was seen; if it is dead \
                       anyway, by itself";
        self.here(message).expected([
            format!("`tester at {place}: all dark with {by} {state}`"),
            format!("{place} dead"),
        ])
    }

    /// What to say of places that are dead only while a load runs.
    pub(super) fn places_dead_when(&self, places: &[String], load: &str) -> Problem {
        let by = speak::name(load);
        let place = places.first().map_or("BOX".to_owned(), |place| speak::name(place));
        let message = "what is dead only while something runs is said with what was seen";
        self.here(message).expected([
            format!("`tester at {place}: all dark with {by} on`"),
            format!("lights dim when {by} runs"),
        ])
    }

    /// What comes and goes at places: the loads there cut out and come back.
    pub(super) fn comes_and_goes(&self, places: &[String]) -> Heard<Complaint> {
        let circuit = self.known.circuit;
        let is_in = |said: &str, place: &str| {
            said.strip_prefix(place).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        let loads = circuit.parts().loads.iter();
        let placed: Vec<_> =
            loads.filter_map(|load| Some((load, place_of_load(circuit, load)?))).collect();
        let has_load = |said: &String| placed.iter().any(|(_, place)| is_in(said, place));
        if places.iter().all(has_load) {
            let there =
                placed.iter().filter(|(_, place)| places.iter().any(|said| is_in(said, place)));
            let loads = there.map(|(load, _)| load.id.clone()).collect();
            return Ok(Complaint::Flickers { loads });
        }
        let dead = places.iter().map(|place| speak::name(place)).collect::<Vec<_>>().join(" and ");
        let dead = format!("{dead} dead, if it is so now");
        let message = "no load is there that could cut out: what comes and goes is said of loads";
        Err(self.here(message).expected(["lights flicker".to_owned(), dead]))
    }

    /// `lamp blew twice this month`: one that is new does not burn out by itself.
    pub(super) fn refuse_burnt_again(&self, loads: &[String]) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.pass_before();
        let at = ahead.clone();
        if ahead.takes_any(&BURNT_AGAIN) { Err(at.too_bright_before(loads)) } else { Ok(()) }
    }

    fn too_bright_before(&self, loads: &[String]) -> Problem {
        let forms = match loads.first() {
            None => vec!["lights too bright".to_owned()],
            Some(load) => {
                let name = speak::name(load);
                vec![format!("{name} too bright"), format!("{name} does not run")]
            }
        };
        self.here("are they too bright before that?").expected(forms)
    }

    /// Passes `only works when I wiggle the plug`.
    pub(super) fn works_when_moved(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes("only");
        if !ahead.takes_any(&WORKS) && !ahead.takes_any(&["runs", "run", "comes on"]) {
            return false;
        }
        ahead.takes("only");
        let is_so = ahead.takes_any(&["when", "if", "while", "as long as"]) && {
            ahead.somebody();
            let part = ["the plug", "the cord", "its plug", "its cord", "the cable", "it"];
            let (first, moved) = (ahead.takes_any(&part), ahead.takes_any(&["is", "are"]));
            ahead.takes_any(&MOVED) && (first && moved || ahead.takes_any(&part))
        };
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes `will not switch off`: it runs however its switches stand.
    pub(super) fn stays_on(&mut self, loads: &[String]) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.pass_before();
        if !ahead.takes_any(&STAYS_ON) {
            return Ok(None);
        }
        ahead.takes_any(&WHOEVER_THROWS);
        if !ahead.is_done() {
            return Ok(None);
        }
        if self.switch_of(loads.first()).is_none() {
            return Err(self.not_switched(loads));
        }
        if loads.is_empty() {
            return Err(self.at_each_setting(None, self.switch_of(None)));
        }
        *self = ahead;
        let each = loads.iter().map(|load| Complaint::StaysOn { load: load.clone() });
        Ok(Some(each.collect()))
    }

    /// What is said of lights and loads and is no complaint yet.
    pub(super) fn refuse_of_loads(&self, loads: &[String]) -> Heard<()> {
        let mut switched = self.clone();
        if switched.takes_any(&SWITCHED) || switched.glows_when_off() {
            let mut problem = match self.switch_of(loads.first()) {
                Some(switch) => self.at_each_setting(loads.first(), Some(switch)),
                None => self.not_switched(loads),
            };
            problem.span.end = problem.span.end.max(switched.span_before());
            return Err(problem);
        }
        let name = loads.first().map_or("LOAD".to_owned(), |load| speak::name(load));
        let mut at = self.clone();
        at.pass_before();
        let mut ahead = at.clone();
        let runs = ahead.takes_any(&["runs", "run", "running"]) && ahead.is_done();
        if runs || ahead.takes_any(&WORKS) {
            let message = "what a load does when it is on is no complaint but something seen";
            return Err(at
                .here(message)
                .expected([format!("`{name} runs` with what was seen"), "BOX works".to_owned()]));
        }
        if ahead.takes_any(&BURN_OUT) {
            return Err(at.too_bright_before(loads));
        }
        if ahead.takes_any(&NOISES) {
            if ahead.takes_any(&["and", "but"]) && ahead.does_not_run() {
                return Ok(());
            }
            let message = "and does it run besides?";
            let forms = [format!("{name} slow"), format!("{name} does not run")];
            return Err(at.here(message).expected(forms));
        }
        if ahead.takes_any(&["hot", "warm", "smells", "smokes", "sparks"]) && !self.is_heater(loads)
        {
            let circuit = self.known.circuit;
            let load = loads.first().and_then(|load| circuit.load(load));
            let place = load.and_then(|load| place_of_load(circuit, load));
            let place = place.map_or("BOX".to_owned(), |place| speak::name(&place));
            let message = "is it the load itself, or its plug and the plate?";
            let forms = [format!("{place} warm"), format!("{name} too bright, or too fast")];
            return Err(at.here(message).expected(forms));
        }
        Ok(())
    }

    /// Passes `glows faintly when switched off`.
    fn glows_when_off(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        let glows = [
            "glowing", "glows", "glow", "glimmers", "burning", "burns", "lit", "flickers",
            "flashes", "blinks",
        ];
        if !ahead.takes_any(&glows) {
            return false;
        }
        ahead.takes_any(&[
            "very faintly",
            "faintly",
            "dimly",
            "weakly",
            "softly",
            "slightly",
            "a little",
            "a bit",
        ]);
        ahead.takes_any(&["even", "also"]);
        if !ahead.takes_any(&["when", "while", "with", "although", "though", "after"]) {
            return false;
        }
        ahead.takes_any(&[
            "it is",
            "it was",
            "i",
            "the switch is",
            "the switch",
            "switch is",
            "switch",
        ]);
        ahead.takes_any(&["switched", "turned", "switching", "turning", "switch", "turn"]);
        ahead.takes("it");
        let is_off = ahead.takes("off");
        if is_off {
            *self = ahead;
        }
        is_off
    }

    /// Whether it is a heater that is only warm.
    fn is_heater(&self, loads: &[String]) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        ahead.only_warm(loads).is_some()
    }

    /// A switch is complained of by what its load does at each setting of it.
    pub(super) fn refuse_switch(&self, places: &[String]) -> Heard<()> {
        let [place] = places else { return Ok(()) };
        let mut ahead = self.clone();
        ahead.takes_any(&["switch"]);
        ahead.pass_before();
        let switch = self.known.device_of_kind(place, is_switch);
        match switch {
            Some(switch) if ahead.does_not_run() || ahead.takes("broken") => {
                Err(self.at_each_setting(None, Some(switch)))
            }
            _ => Ok(()),
        }
    }

    /// The switch that a load is behind: the nearest on the way to it. Of loads that are not named,
    /// any.
    pub(super) fn switch_of(&self, load: Option<&String>) -> Option<&Device> {
        let circuit = self.known.circuit;
        let Some(load) = load else {
            return circuit.parts().devices.iter().find(|device| is_switch(&device.kind));
        };
        switches_before(circuit, circuit.load(load)?).into_iter().next()
    }

    /// What stays on, or comes on by itself, and is behind no switch.
    pub(super) fn not_switched(&self, loads: &[String]) -> Problem {
        let name = loads.first().map_or("lights".to_owned(), |load| speak::name(load));
        let verb = if loads.is_empty() { "flicker" } else { "flickers" };
        let message = format!("no switch of this circuit leads to {name}: what else does it do?");
        self.here(message).expected([format!("{name} {verb}"), format!("{name} too bright")])
    }

    fn at_each_setting(&self, load: Option<&String>, switch: Option<&Device>) -> Problem {
        let load = load.map_or("LOAD".to_owned(), |load| speak::name(load));
        let positions = match switch.map(|switch| &switch.kind) {
            Some(DeviceKind::ThreeWay { .. }) => [SwitchPosition::One, SwitchPosition::Two],
            Some(DeviceKind::FourWay { .. }) => [SwitchPosition::Straight, SwitchPosition::Crossed],
            _ => [SwitchPosition::Closed, SwitchPosition::Open],
        };
        let set = |position| {
            let mut set = Condition::default();
            set.switches.extend(switch.map(|switch| (switch.id.clone(), position)));
            describe(self.known.circuit, &set).join(", ")
        };
        let does = ["dead", "runs"].into_iter().zip(positions);
        let forms = does.map(|(does, position)| format!("`{load} {does} with {}`", set(position)));
        self.here("with what was seen, say what it does at each setting of each switch")
            .expected(forms)
    }
}

/// So many circuits are named as examples.
const SOME: usize = 3;
