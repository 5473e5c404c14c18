//! What a light does by its switches: `hall light only works from one switch`, `can't turn the light off`.

use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::{few, speak};
use crate::diagnosis::Complaint;
use crate::diagnosis::symptom::{gives_light, switches_before};

use super::super::reader::{Heard, Reader};
use super::dead_loads;
use super::lists::WORKS;
use super::refuse::WHOEVER_THROWS;

/// From which of its switches something is so.
enum By {
    /// From one of several, whichever.
    One,
    /// From this one, as a device.
    This(String),
    All,
}

/// Some one of several switches.
const ONE: [&str; 17] = [
    "one of the two switches",
    "one of the switches",
    "one of its switches",
    "one of two switches",
    "one of them",
    "one switch",
    "a single switch",
    "one end",
    "one side",
    "one place",
    "one location",
    "the other switch",
    "the other end",
    "the other side",
    "the other one",
    "the other",
    "one",
];

/// Whichever switch it is.
const ALL: [&str; 8] = [
    "either switch",
    "both switches",
    "any switch",
    "any of the switches",
    "all the switches",
    "either end",
    "both ends",
    "either one",
];

/// Before which.
const FROM: [&str; 6] = ["from", "at", "with", "using", "by", "on"];

/// That it comes on.
const COMES_ON: [&str; 12] = [
    "can be turned on",
    "can be switched on",
    "turns on",
    "switches on",
    "comes on",
    "goes on",
    "lights up",
    "lights",
    "turn on",
    "come on",
    "light up",
    "operates",
];

/// That it does not, besides what is said of whatever does not run.
const NOT_ON: [&str; 6] = [
    "can not be turned on",
    "cannot be turned on",
    "can not be switched on",
    "cannot be switched on",
    "can not be operated",
    "cannot be operated",
];

/// That somebody cannot do it.
const CANNOT: [&str; 6] =
    ["can not", "cannot", "could not", "am unable to", "are unable to", "unable to"];

impl Reader<'_> {
    /// `only works from one switch`, `won't turn on from the top switch`: it is dead at times, and
    /// of what has several switches nobody says at which settings. Nothing is passed if it is
    /// something else.
    pub(super) fn by_its_switches(&mut self, loads: &[String]) -> Heard<Option<Vec<Complaint>>> {
        self.refuse_works_by_one(loads)?;
        let mut ahead = self.clone();
        let Some((is_dead, by)) = ahead.works_by_switch() else { return Ok(None) };
        let dead_by_all = is_dead && matches!(by, By::All);
        if loads.is_empty() {
            return Err(self.up_to(&ahead, "which light?").expected(self.lights_of_several()));
        }
        for load in loads {
            self.leads_to(load, &by).map_err(|problem| ahead.reaching(problem))?;
        }
        *self = ahead;
        Ok(Some(match dead_by_all {
            true => dead_loads(loads.to_vec()).collect(),
            false => vec![Complaint::Flickers { loads: loads.to_vec() }],
        }))
    }

    /// `works from the top switch`: whether it does from the others is not said.
    fn refuse_works_by_one(&self, loads: &[String]) -> Heard<()> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&COMES_ON) && !ahead.takes_any(&WORKS) {
            return Ok(());
        }
        let Some(by @ By::This(_)) = ahead.by_switch() else { return Ok(()) };
        let [load] = loads else { return Ok(()) };
        if !ahead.is_done() {
            return Ok(());
        }
        self.leads_to(load, &by).map_err(|problem| ahead.reaching(problem))?;
        let By::This(switch) = by else { return Ok(()) };
        let (name, switch) = (speak::name(load), speak::name(&switch));
        let message = "and from the others? where it works from all of them nothing is wrong";
        Err(self.up_to(&ahead, message).expected([
            format!("{name} only works from the {switch} switch"),
            format!("{name} does not turn on from the other switch"),
        ]))
    }

    /// Passes what it does by which switch: whether it does not come on by that.
    fn works_by_switch(&mut self) -> Option<(bool, By)> {
        let mut ahead = self.clone();
        let mut not = ahead.clone();
        if not.takes_any(&NOT_ON) || not.does_not_run() {
            let by = not.by_switch()?;
            not.takes("only");
            let works = not.but_works();
            *self = not;
            return (works || self.part_ends()).then_some((true, by));
        }
        let mut is_only = ahead.takes("only");
        if !ahead.takes_any(&COMES_ON) && !ahead.takes_any(&WORKS) {
            return None;
        }
        is_only |= ahead.takes_any(&["only", "just"]);
        let by = ahead.by_switch()?;
        is_only |= ahead.takes("only");
        is_only |= matches!(by, By::One);
        let is_not_by_other = ahead.but_not();
        let is_so = (is_only || is_not_by_other) && !matches!(by, By::All) && ahead.part_ends();
        *self = ahead;
        is_so.then_some((false, by))
    }

    /// Whether the sentence, or its part, ends there.
    fn part_ends(&self) -> bool {
        let mut ahead = self.clone();
        let before = ahead.rest().len();
        ahead.pass_marks();
        ahead.is_done() || ahead.rest().len() < before || ahead.takes_any(&["and", "but"])
    }

    /// Passes `but works from the other`.
    fn but_works(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes_any(&["but", "and", "though"]);
        ahead.takes_any(&["it does", "it", "does"]);
        ahead.takes_any(&COMES_ON);
        ahead.takes_any(&WORKS);
        let is_so = ahead.rest().len() < self.rest().len() && ahead.other_switch();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes `but not from the other`.
    fn but_not(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_marks();
        let is_so = ahead.takes_any(&["but not", "and not", "not"]) && ahead.other_switch();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes `from the other`, `from the bottom one`, `the other`.
    fn other_switch(&mut self) -> bool {
        if self.by_switch().is_some() {
            return true;
        }
        let mut ahead = self.clone();
        ahead.takes_any(&FROM);
        let is_one = ahead.takes_any(&ONE) || {
            ahead.takes("the");
            let is_named = ahead.name(&[Class::Switch]).is_some();
            ahead.takes_any(&["switch", "one"]);
            is_named
        };
        if is_one {
            *self = ahead;
        }
        is_one
    }

    /// Passes `from one switch`, `at the top switch`, `with the switch at the top`.
    fn by_switch(&mut self) -> Option<By> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&FROM) {
            return None;
        }
        ahead.takes_any(&["only", "just"]);
        let by = if ahead.takes_any(&ALL) {
            By::All
        } else {
            let one = ahead.clone();
            ahead.takes("the");
            let called =
                ahead.takes_any(&["switch at the", "switch at", "switch in the", "switch in"]);
            match ahead.name(&[Class::Place, Class::Device, Class::Switch]) {
                Some(name) if called | ahead.takes("switch") => By::This(name),
                _ => {
                    ahead = one;
                    if !ahead.takes_any(&ONE) {
                        return None;
                    }
                    By::One
                }
            }
        };
        *self = ahead;
        Some(by)
    }

    /// That a load has several switches, and the one that is named is one of them.
    fn leads_to(&self, load: &String, by: &By) -> Heard<()> {
        let circuit = self.known.circuit;
        let switches = circuit.load(load).map_or(Vec::new(), |load| switches_before(circuit, load));
        let name = speak::name(load);
        if switches.is_empty() {
            return Err(self.not_switched(std::slice::from_ref(load)));
        }
        if let By::This(said) = by {
            let at = |id: &str| {
                circuit.parts().places.iter().find(|p| p.devices.iter().any(|d| d == id))
            };
            let is_it = |id: &str| id == said || at(id).is_some_and(|place| place.id == *said);
            if !switches.iter().any(|switch| is_it(&switch.id)) {
                let message = format!("no switch of {name} is at {said}");
                let forms = switches.iter().map(|switch| {
                    let switch = self.known.name_of_device(&switch.id);
                    format!("{name} does not turn on from the {switch} switch")
                });
                return Err(self.here(message).expected(forms.collect::<Vec<_>>()));
            }
        }
        if switches.len() == 1 && !matches!(by, By::All) {
            let message =
                format!("{name} has one switch in this circuit file: what does it do by that?");
            let does = ["does not run", "flickers", "stays on"];
            return Err(self.here(message).expected(does.map(|does| format!("{name} {does}"))));
        }
        Ok(())
    }

    /// The lights that have several switches, each as one that works from one of them.
    fn lights_of_several(&self) -> Vec<String> {
        let circuit = self.known.circuit;
        let lights = circuit.parts().loads.iter().filter(|load| gives_light(load));
        let several = lights.filter(|load| switches_before(circuit, load).len() > 1);
        let forms =
            several.map(|load| format!("{} only works from one switch", speak::name(&load.id)));
        few(forms)
    }

    /// `can't turn the lamp off`: it stays on. Nothing is passed if it is something else.
    pub(super) fn cannot_turn_off(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["i", "we", "you", "they"]);
        if !ahead.takes_any(&CANNOT) {
            return Ok(None);
        }
        let whole = ahead.takes_any(&["turn off", "switch off", "shut off"]);
        if !whole && !ahead.takes_any(&["turn", "switch", "shut"]) {
            return Ok(None);
        }
        let at = ahead.clone();
        let loads = match ahead.lights_of_place()? {
            Some(lights) => lights,
            None => ahead.load().into_iter().collect(),
        };
        if loads.is_empty() {
            ahead.takes("the");
            if !ahead.takes_unnamed(&["lights", "light", "lamps", "lamp"]) {
                return Ok(None);
            }
        }
        if !whole && !ahead.takes("off") {
            return Ok(None);
        }
        ahead.takes_any(&WHOEVER_THROWS);
        if loads.is_empty() {
            return Err(at.which_stays_on(&ahead));
        }
        if let Some(load) = loads.iter().find(|load| self.switch_of(Some(load)).is_none()) {
            return Err(at.not_switched(std::slice::from_ref(load)));
        }
        *self = ahead;
        Ok(Some(loads.into_iter().map(|load| Complaint::StaysOn { load }).collect()))
    }

    /// Of lights that are not named it has to be said which cannot be switched off.
    fn which_stays_on(&self, there: &Self) -> Problem {
        let lights = self.known.circuit.parts().loads.iter().filter(|load| gives_light(load));
        let switched = lights.filter(|load| self.switch_of(Some(&load.id)).is_some());
        let forms = switched.map(|load| format!("{} stays on", speak::name(&load.id)));
        self.up_to(there, "which light? it is said by its name").expected(few(forms))
    }
}
