//! What is said without saying what: not as it should be, off, what is the matter with its plug.

use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::symptom::gives_light;
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::lists::NOTICED_AT;

/// How it does not work.
const AS_IT_SHOULD: [&str; 14] = [
    "properly",
    "correctly",
    "right",
    "as it should",
    "like it should",
    "the way it should",
    "as before",
    "like before",
    "as usual",
    "like it used to",
    "very well",
    "so well",
    "good",
    "well",
];

/// How it works badly.
const BADLY: [&str; 12] = [
    "badly",
    "poorly",
    "wrong",
    "weird",
    "weirdly",
    "strange",
    "strangely",
    "funny",
    "erratically",
    "bad",
    "unevenly",
    "irregularly",
];

/// What says that something is the matter, and not what.
const AMISS: [&str; 40] = [
    "acts up",
    "acting up",
    "acts weird",
    "acts strange",
    "acts funny",
    "acting weird",
    "acting strange",
    "acting funny",
    "plays up",
    "playing up",
    "malfunctions",
    "malfunctioning",
    "misbehaves",
    "misbehaving",
    "broken",
    "broke",
    "defective",
    "defect",
    "faulty",
    "bad",
    "wrong",
    "damaged",
    "strange",
    "weird",
    "not good",
    "not ok",
    "not okay",
    "not fine",
    "not right",
    "not normal",
    "a problem",
    "problems",
    "problem",
    "an issue",
    "issues",
    "trouble",
    "makes problems",
    "makes trouble",
    "stalls",
    "loses power",
];

/// What a load has that may work while it does not.
const PARTS_OF_A_LOAD: [&str; 10] = [
    "clock",
    "display",
    "timer",
    "control panel",
    "touch screen",
    "pilot light",
    "indicator light",
    "indicator",
    "standby light",
    "power light",
];

impl Reader<'_> {
    /// `works badly`, `does not work properly`, `acts up`: it is asked what it does.
    pub(super) fn refuse_vague(&self, places: &[String], loads: &[String]) -> Heard<()> {
        let mut ahead = self.clone();
        let is_not_well = (ahead.does_not_run() && ahead.takes_any(&AS_IT_SHOULD)) || {
            ahead = self.clone();
            ahead.pass_before();
            let runs = [
                "heats",
                "heat",
                "runs",
                "run",
                "works",
                "work",
                "working",
                "running",
                "functions",
            ];
            ahead.takes_any(&runs)
                && (ahead.takes_any(&BADLY) || ahead.takes_any(&["not well", "not properly"]))
        };
        let mut amiss = self.clone();
        amiss.takes_any(&["there is", "something is"]);
        amiss.pass_before();
        if !is_not_well && !amiss.takes_any(&AMISS) {
            return Ok(());
        }
        let said = if is_not_well { ahead } else { amiss };
        let forms: Vec<String> = match (places.first(), loads.first()) {
            (Some(place), _) => self.what_places_do(place),
            (None, Some(load)) => {
                let load = speak::name(load);
                let does = ["does not run", "weak", "cuts out", "too bright"];
                does.map(|does| format!("{load} {does}")).to_vec()
            }
            (None, None) => {
                ["lights dim", "lights flicker", "lights too bright"].map(str::to_owned).to_vec()
            }
        };
        let mut at = self.clone();
        at.pass_before();
        Err(at.up_to(&said, "what does it do, or not do?").expected(forms))
    }

    /// `problem in the kitchen`, `something is wrong`.
    pub(super) fn refuse_vague_somewhere(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes_any(&["there is", "i have", "we have", "have", "something is", "something"]);
        ahead.takes_any(&["a", "an", "some"]);
        let amiss =
            ["problems", "problem", "trouble", "issues", "issue", "fault", "wrong", "broken"];
        if !ahead.takes_any(&amiss) {
            return Ok(());
        }
        let place = match ahead.takes_any(&["with"]) || ahead.takes_any(&NOTICED_AT) {
            true => ahead.place().ok(),
            false => None,
        };
        let forms = match place {
            Some(place) => self.what_places_do(&place),
            None => ["BOX dead", "BOX warm", "LOAD does not run"].map(str::to_owned).to_vec(),
        };
        Err(self.up_to(&ahead, "what does it do, or not do?").expected(forms))
    }

    /// What may be the matter with a place; what comes and goes is said where a load is.
    fn what_places_do(&self, place: &str) -> Vec<String> {
        let name = speak::name(place);
        let mut forms = vec![format!("{name} dead"), format!("{name} warm")];
        if self.comes_and_goes(&[place.to_owned()]).is_ok() {
            forms.push(format!("{name} dead sometimes"));
        }
        forms
    }

    /// `toaster is off`, of what ought to be on: it does not run. What is off in the file may have
    /// been switched off.
    pub(super) fn ought_to_run(&mut self, loads: &[String]) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        let mut set = self.clone();
        if set.takes_any(&["on", "off"]) && set.ends() && !loads.is_empty() {
            return Err(self.stood());
        }
        if loads.is_empty() && (self.clone().is_off() || self.clone().takes("off")) {
            set.is_off();
            return Err(set.reaching(self.which_lights()));
        }
        let is_cold = ahead.is_cold(loads);
        if loads.is_empty() || !is_cold && !ahead.is_off() {
            return Ok(None);
        }
        let circuit = self.known.circuit;
        let is_off =
            |load: &&String| circuit.load(load).is_some_and(|one| !one.on || !one.plugged_in);
        if let Some(load) = loads.iter().find(is_off).filter(|_| !is_cold) {
            let name = speak::name(load);
            let message =
                format!("{name} is off as described: does it not run when it is switched on?");
            let form = format!("{name} does not run");
            return Err(self.up_to(&ahead, message).expected([form]));
        }
        *self = ahead;
        Ok(Some(super::dead_loads(loads.to_vec()).collect()))
    }

    /// Passes `is off`; `off` alone says how something was set.
    pub(super) fn is_off(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        let is_off = ahead.rest().len() < self.rest().len() && ahead.takes("off");
        if !is_off {
            ahead = self.clone();
        }
        let is_so =
            (is_off || ahead.takes_any(&["is not on", "are not on", "not on"])) && ahead.ends();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes `cold`, of heaters.
    fn is_cold(&mut self, loads: &[String]) -> bool {
        let mut ahead = self.clone();
        ahead.takes("stays");
        ahead.pass_before();
        let is_so = self.all_heat(loads) && ahead.takes("cold");
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Whether the sentence, or this part of it, ends here.
    fn ends(&self) -> bool {
        let mut ahead = self.clone();
        self.is_done() || {
            let before = ahead.rest().len();
            ahead.pass_marks();
            ahead.rest().len() < before || ahead.takes_any(&["and", "but", "again", "now"])
        }
    }

    /// What is said of a load's case, its plug or its cord.
    pub(super) fn of_its_parts(&mut self, loads: &[String]) -> Heard<Option<Complaint>> {
        let [load] = loads else { return Ok(None) };
        let mut ahead = self.clone();
        ahead.pass_marks();
        let case = [
            "metal case",
            "case",
            "casing",
            "chassis",
            "housing",
            "body",
            "metal",
            "frame",
            "door",
            "handle",
        ];
        if ahead.takes_unnamed(&case) {
            let mut live = ahead.clone();
            live.pass_before();
            if ahead.gives_shocks()
                || live.takes_any(&["live", "hot", "energized", "energised"]) && {
                    ahead = live;
                    true
                }
            {
                *self = ahead;
                return Ok(Some(Complaint::Tingle { from: load.clone() }));
            }
            return Ok(None);
        }
        let leads = ["power cord", "power cable", "plug", "cord", "cable", "lead"];
        if !ahead.takes_unnamed(&leads) {
            return Ok(None);
        }
        let warm = ahead.is_warm() || {
            ahead.pass_before();
            ahead.is_warm()
        };
        let circuit = self.known.circuit;
        let place = circuit.load(load).and_then(|load| place_of_load(circuit, load));
        match place.filter(|_| warm) {
            Some(place) => {
                *self = ahead;
                Ok(Some(Complaint::Warm { place }))
            }
            None => Ok(None),
        }
    }

    /// Passes `but the clock works` behind what a load does not do: a part of it is not it. Of what
    /// bears a name nothing is passed, nor of a light or a fan that may be another.
    pub(in super::super) fn but_a_part_works(&mut self, load: &str) {
        let mut ahead = self.clone();
        ahead.pass_marks();
        if !ahead.takes_any(&["but", "and", "though", "although", "even though", "while"]) {
            return;
        }
        ahead.takes("the");
        let is_its = ahead.takes("its")
            || ahead.name(&[Class::Load]).as_deref() == Some(load) && {
                ahead.takes("'s");
                true
            };
        // Where no light is listed at its place, `the light` is that inside of it.
        let circuit = self.known.circuit;
        let at = circuit.load(load).and_then(|load| place_of_load(circuit, load));
        let mut lights = circuit.parts().loads.iter().filter(|one| gives_light(one));
        let is_its_own = !lights.any(|one| one.id == load || place_of_load(circuit, one) == at);
        let part = ahead.takes_unnamed(&PARTS_OF_A_LOAD)
            || is_its_own && ahead.takes_unnamed(&["light"])
            || is_its && ahead.takes_unnamed(&["indicator light", "light", "lamp", "fan", "motor"]);
        let is_so = part && {
            ahead.takes("still");
            ahead.is_working() || {
                ahead.pass_before();
                ahead.takes_any(&["comes on", "come on", "lit", "on", "lights up", "runs", "run"])
            }
        };
        if is_so && ahead.is_done() {
            *self = ahead;
        }
    }

    /// `in the kitchen there is no power`, `in the kitchen the toaster is dead`: where it is, said
    /// first; nothing is passed if it is something else.
    pub(super) fn place_first(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&["in", "at", "on"]) {
            return Ok(None);
        }
        let Ok(place) = ahead.place() else { return Ok(None) };
        ahead.pass_marks();
        let mut dead = ahead.clone();
        dead.takes_any(&["there is", "it is", "is", "we have", "i have"]);
        let nothing =
            dead.takes_any(&["everything is", "everything", "all"]) && dead.is_dead().is_ok();
        if nothing || dead.no_power_said() || dead.takes_any(&["nothing works", "dead", "dark"]) {
            *self = dead;
            return Ok(Some(vec![self.dead(vec![place])]));
        }
        let mut sign = ahead.clone();
        if sign.is_a_sign() {
            *self = sign;
            return Ok(Some(vec![Complaint::Warm { place }]));
        }
        let mut load = ahead.clone();
        load.takes("the");
        let said = load.load().and_then(|load| self.known.circuit.load(&load));
        let at = said.and_then(|load| place_of_load(self.known.circuit, load));
        if at.is_some_and(|at| at == place || at.starts_with(&format!("{place}."))) {
            let complaints = ahead.named()?;
            *self = ahead;
            return Ok(Some(complaints));
        }
        ahead.takes("the");
        if ahead.part_word() {
            let complaint = ahead.places_are(vec![place])?;
            *self = ahead;
            return Ok(Some(vec![complaint]));
        }
        Ok(None)
    }

    /// Passes `there is a burning smell`, `it smells burnt`.
    fn is_a_sign(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["there is", "i", "we", "it", "you can"]);
        ahead.takes_any(&["smell", "hear", "see"]);
        ahead.takes_any(&["a", "an", "some"]);
        let is_so = ahead.a_sign() || ahead.is_warm();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes `bulb` behind a light.
    pub(in super::super) fn bulb_of(&mut self, load: &str) {
        let is_light = self.known.circuit.load(load).is_some_and(gives_light);
        if is_light {
            self.takes_unnamed(&[
                "light bulbs",
                "light bulb",
                "bulbs",
                "bulb",
                "tube",
                "globe",
                "lights",
                "light",
                "lamp",
            ]);
        }
    }

    /// Passes `bulb of`, `bulb in` before a light.
    pub(in super::super) fn bulb_in(&mut self) {
        let mut ahead = self.clone();
        let bulb = ["light bulbs", "light bulb", "bulbs", "bulb", "tube", "light"];
        if !ahead.takes_unnamed(&bulb) || !ahead.takes_any(&["of", "in", "at", "inside"]) {
            return;
        }
        ahead.takes("the");
        let named = ahead.clone().name(&[Class::Load]);
        let light = named.and_then(|load| self.known.circuit.load(&load));
        if light.is_some_and(gives_light) {
            *self = ahead;
        }
    }
}
