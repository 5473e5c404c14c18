//! What loads do: dim, brighten, flicker, stop.

use crate::circuit::LoadKind;
use crate::diagnosis::Complaint;

use super::super::reader::{Heard, Reader};
use super::dead_loads;
use super::does::{DOES, Does, TAKES_AGES, TO_GET_GOING};
use super::lists::{COMES_AND_GOES, WORKS};

/// How a load runs, before what it is like.
const TURNS: [&str; 6] = ["turns", "turn", "spins", "spin", "shines", "shine"];

/// That it runs, or is heard, before what it is like.
const RUNS_AND: [&str; 10] = [
    "burns",
    "burn",
    "runs",
    "run",
    "hums and",
    "hums but",
    "hum and",
    "clicks and",
    "clicks but",
    "click and",
];

/// Of lights it is so wherever they are.
pub(super) const EVERYWHERE_SO: [&str; 5] = [
    "everywhere",
    "all over the house",
    "in the whole house",
    "throughout the house",
    "in the house",
];

/// What a heater does that makes no heat.
const STAYS_COLD: [&str; 2] = ["never gets hot", "never gets warm"];

/// The same as something it does not do.
const NOT_HOT: [&str; 13] = [
    "does not get hot",
    "did not get hot",
    "do not get hot",
    "will not get hot",
    "does not get warm",
    "do not get warm",
    "will not get warm",
    "does not warm up",
    "will not warm up",
    "does not get any heat",
    "not getting hot",
    "not getting warm",
    "no longer gets hot",
];

/// That it does so now and then only.
const NOT_ALWAYS: [&str; 6] = [
    "does not always",
    "do not always",
    "will not always",
    "is not always",
    "are not always",
    "not always",
];

impl Reader<'_> {
    pub(super) fn does(&mut self, loads: Vec<String>) -> Heard<Vec<Complaint>> {
        let begun = self.clone();
        self.refuse_burnt_again(&loads)?;
        if let Some(said) = self.in_other_words(&loads)? {
            return Ok(said);
        }
        let does = self.what_it_does(&loads)?;
        if matches!(does, Does::Flickers | Does::GoesOff) {
            self.takes_any(&COMES_AND_GOES);
        }
        self.takes_any(&EVERYWHERE_SO);
        let stops = matches!(does, Does::Dead | Does::GoesOff);
        // What stops after a while cuts out.
        let cuts_out = stops && (self.weather() || self.often() || self.later());
        let does = if cuts_out { Does::Flickers } else { does };
        self.weather();
        let before = self.clone();
        let mut stops_with = false;
        let when = match self.when() {
            true => {
                let load = self.running()?;
                stops_with = self.stops();
                Some(load)
            }
            false => None,
        };
        // What is brighter once a load has stopped is dimmer while that runs.
        let does = match does {
            Does::Dims if stops_with => Does::Brightens,
            Does::Brightens if stops_with => Does::Dims,
            other => other,
        };
        if matches!(does, Does::Dead | Does::GoesOff) {
            match (&when, self.given_load(), loads.as_slice()) {
                (Some(load), _, []) => return Err(self.reaching(begun.all_off_when(Some(load)))),
                (None, Some(load), []) => {
                    return Err(self.reaching(begun.all_off_when(Some(&load))));
                }
                (Some(load), _, _) => {
                    return Err(before.dead_when(&loads, load));
                }
                (None, Some(_), _) => return Ok(dead_loads(loads).collect()),
                (None, None, _) => {}
            }
        }
        let places = Vec::new();
        if let (Does::Dims | Does::Flickers, None, [load]) = (does, &when, loads.as_slice()) {
            self.but_a_part_works(load);
        }
        Ok(vec![match (does, loads.as_slice()) {
            // What flickers with a load is what its current does to the volts.
            (Does::Flickers, _) if when.is_some() => Complaint::Dim { loads, places, when },
            (Does::Dims, _) => Complaint::Dim { loads, places, when },
            (Does::Brightens, _) => Complaint::Bright { loads, places, when },
            (Does::Flickers | Does::GoesOff, _) => Complaint::Flickers { loads },
            (Does::Dead, _) if self.takes_any(&COMES_AND_GOES) => Complaint::Flickers { loads },
            (Does::Dead, [load]) => {
                self.but_a_part_works(load);
                Complaint::LoadDead { load: load.clone() }
            }
            (Does::Dead, []) => return Err(self.reaching(begun.which_lights())),
            (Does::Dead, _) => return Ok(dead_loads(loads).collect()),
        }])
    }

    /// What loads do, said in more than the word for it.
    fn in_other_words(&mut self, loads: &[String]) -> Heard<Option<Vec<Complaint>>> {
        if let Some(made) = self.makes_others(loads) {
            return Ok(Some(vec![made]));
        }
        if let Some(said) = self.works_here_not_there()? {
            return Ok(Some(said));
        }
        if self.runs_without_heat(loads) {
            return Ok(Some(dead_loads(loads.to_vec()).collect()));
        }
        if !loads.is_empty() && self.works_when_moved() {
            return Ok(Some(vec![Complaint::Flickers { loads: loads.to_vec() }]));
        }
        self.of_loads_alone(loads)
    }

    /// The word for what loads do.
    fn what_it_does(&mut self, loads: &[String]) -> Heard<Does> {
        let words = ["dim", "brighten", "flicker", "dead"];
        let heats = |reader: &mut Self| {
            let does = reader.only_warm(loads);
            does.or_else(|| reader.gets_no_heat(loads).then_some(Does::Dead))
        };
        let does = heats(self).or_else(|| {
            self.takes("only");
            self.pass_before();
            self.choice(&DOES).or_else(|| self.takes_ages())
        });
        let does = does.or_else(|| self.does_not_run().then_some(Does::Dead));
        does.ok_or_else(|| self.none_of("what lights or loads do", &words))
    }

    /// What is said of loads and is no more than one word for what they do; nothing is passed but
    /// what stands before that if it is something else.
    pub(super) fn of_loads_alone(&mut self, loads: &[String]) -> Heard<Option<Vec<Complaint>>> {
        if let Some(said) = self.by_its_switches(loads)? {
            return Ok(Some(said));
        }
        if self.gets_too_hot(loads) {
            self.weather();
            let when = if self.when() { Some(self.running()?) } else { None };
            let (loads, places) = (loads.to_vec(), Vec::new());
            return Ok(Some(vec![Complaint::Bright { loads, places, when }]));
        }
        if self.works_sometimes() {
            return Ok(Some(vec![Complaint::Flickers { loads: loads.to_vec() }]));
        }
        if let Some(trips) = self.load_trips(loads)? {
            return Ok(Some(vec![trips]));
        }
        self.refuse_vague(&[], loads)?;
        if let Some(complaint) = self.of_its_parts(loads)? {
            return Ok(Some(vec![complaint]));
        }
        if let Some(on) = self.stays_on(loads)? {
            return Ok(Some(on));
        }
        self.refuse_of_loads(loads)?;
        if let Some(dead) = self.ought_to_run(loads)? {
            return Ok(Some(dead));
        }
        self.pass_before();
        let mut turning = self.clone();
        if turning.takes_any(&TURNS) && !turning.clone().takes_any(&["off", "on"]) {
            *self = turning;
        }
        self.takes_any(&RUNS_AND);
        self.pass_before();
        if !loads.is_empty()
            && (self.gives_shocks() || self.takes_any(&["live", "electrified", "electric"]))
        {
            let each = loads.iter().map(|load| Complaint::Tingle { from: load.clone() });
            return Ok(Some(each.collect()));
        }
        Ok(None)
    }

    /// Passes `takes ages to heat`: what is so slow is weak.
    pub(super) fn takes_ages(&mut self) -> Option<Does> {
        let so_long = self.takes_any(&TAKES_AGES);
        so_long.then(|| {
            self.takes_any(&TO_GET_GOING);
            Does::Dims
        })
    }

    /// Passes `works now and then`, `sometimes does not work`.
    pub(super) fn works_sometimes(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        if self.works_not_always() {
            return true;
        }
        ahead.takes("only");
        let said_first = ahead.takes_any(&COMES_AND_GOES);
        let does = ahead.takes_any(&WORKS) || ahead.runs() || said_first && ahead.dead_said();
        let is_so = does && (said_first || ahead.takes_any(&COMES_AND_GOES));
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// `heater makes the lights dim`.
    fn makes_others(&mut self, loads: &[String]) -> Option<Complaint> {
        let [load] = loads else { return None };
        let mut ahead = self.clone();
        if !ahead.takes_any(&["makes", "make", "is making", "causes"]) {
            return None;
        }
        let said = ahead.one_complaint().ok()?;
        let [said] = <[Complaint; 1]>::try_from(said).ok()?;
        let when = Some(load.clone());
        let places = Vec::new();
        let made = match said {
            Complaint::Dim { loads, when: None, .. } | Complaint::Flickers { loads } => {
                Complaint::Dim { loads, places, when }
            }
            Complaint::Bright { loads, when: None, .. } => {
                Complaint::Bright { loads, places, when }
            }
            _ => return None,
        };
        *self = ahead;
        Some(made)
    }

    /// Passes `does not always work`.
    pub(super) fn works_not_always(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        let is_so = ahead.takes_any(&NOT_ALWAYS)
            && (ahead.takes_any(&WORKS)
                || ahead.runs()
                || ahead.takes_any(&["come on", "turn on", "light up"]));
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// What should be hot and is only warm is weak.
    pub(super) fn only_warm(&mut self, loads: &[String]) -> Option<Does> {
        let [load] = loads else { return None };
        let kind = &self.known.circuit.load(load)?.kind;
        let heats = matches!(kind, LoadKind::Resistive { .. });
        let warm = [
            "warm",
            "only warm",
            "only gets warm",
            "gets only warm",
            "just gets warm",
            "just warm",
            "barely warm",
            "not hot enough",
            "not hot",
            "hardly warm",
            "does not get hot enough",
            "will not get hot enough",
            "not getting hot enough",
        ];
        (heats && self.takes_any(&warm)).then_some(Does::Dims)
    }

    /// Passes `does not get hot`, of heaters: they do not heat.
    pub(in super::super) fn gets_no_heat(&mut self, loads: &[String]) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        let is_so = self.all_heat(loads)
            && (ahead.takes_any(&STAYS_COLD) || ahead.takes_any(&NOT_HOT))
            && !ahead.takes("enough");
        if is_so {
            ahead.takes_any(&["at all", "any more", "anymore"]);
            *self = ahead;
        }
        is_so
    }

    /// Passes `very hot`, of heaters: they get too much.
    pub(in super::super) fn gets_too_hot(&mut self, loads: &[String]) -> bool {
        let hot = ["very hot", "too hot", "much hotter than usual", "hotter than usual"];
        let mut ahead = self.clone();
        ahead.takes_any(&["gets", "get", "is", "are", "runs", "has become", "becomes"]);
        // What is too hot to touch may be its plug.
        let is_so = self.all_heat(loads) && ahead.takes_any(&hot) && !ahead.clone().takes("to");
        if is_so {
            *self = ahead;
        }
        is_so
    }

    pub(super) fn all_heat(&self, loads: &[String]) -> bool {
        let heats = |load: &String| {
            let load = self.known.circuit.load(load);
            load.is_some_and(|load| matches!(load.kind, LoadKind::Resistive { .. }))
        };
        !loads.is_empty() && loads.iter().all(heats)
    }
}
