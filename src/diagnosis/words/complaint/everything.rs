//! What is said of everything: in the house, on a circuit, but for a few.

use crate::circuit::Load;
use crate::condition::words::lexicon::Class;
use crate::diagnosis::symptom::fed;
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::super::seen::is_within;
use super::super::short::WELL_NOW;
use super::dead_loads;
use super::does::{DOES, Does};
use super::lists::{
    ALL_IN, ALL_ON, EVERYWHERE, LIGHTS, LIGHTS_UNNAMED, OUTLETS, THE_REST, WHOLE_HOUSE,
};

/// What is left of what a circuit feeds, before its name.
const REST_OF: [&str; 9] = [
    "all the rest of",
    "the rest of",
    "rest of",
    "everything else on",
    "all else on",
    "the other outlets on",
    "all the other outlets on",
    "all other outlets on",
    "the remainder of",
];

impl Reader<'_> {
    /// Whether it is half of the house that is dead.
    pub(super) fn half_the_house(&mut self) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.half_the_house_named() && ahead.is_dead().is_ok();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Complaints of everything, or everything somewhere.
    pub(super) fn everything(&mut self) -> Heard<Option<Vec<Complaint>>> {
        self.refuse_well_now()?;
        if let Some(everywhere) = self.everywhere() {
            return Ok(Some(everywhere));
        }
        if self.dead_comes_first() {
            return self.dead_where().map(Some);
        }
        let mut ahead = self.clone();
        ahead.takes_any(&["all the", "the"]);
        let on = ahead.takes_any(&ALL_ON);
        if on || ahead.takes_any(&ALL_IN) {
            *self = ahead;
            return self.all_of(on).map(Some);
        }
        // `flickers when the heater runs`: whatever burns.
        let bare = [
            "flickers when",
            "flickers whenever",
            "flicker when",
            "flicker whenever",
            "flickering when",
        ];
        if self.clone().takes_any(&bare) {
            return self.does(Vec::new()).map(Some);
        }
        let mut ahead = self.clone();
        let are_lights = ahead.takes_any(&LIGHTS) || ahead.takes_unnamed(&LIGHTS_UNNAMED);
        if are_lights && !ahead.clone().takes_any(&["breaker", "circuit"]) {
            *self = ahead;
            let there = self.lights_there()?;
            return self.does(there).map(Some);
        }
        Ok(None)
    }

    /// Passes `dead`, `everything dead`, `sockets are dead` before where it is.
    pub(super) fn dead_comes_first(&mut self) -> bool {
        if self.takes("dead") {
            self.part_word();
            return true;
        }
        let mut ahead = self.clone();
        if ahead.takes_any(&EVERYWHERE) && ahead.where_is_next() {
            *self = ahead;
            return true;
        }
        let mut ahead = self.clone();
        ahead.takes_any(&["all the", "all", "the"]);
        let whole = [
            "everything",
            "receptacles",
            "receptacle",
            "outlets",
            "outlet",
            "sockets",
            "socket",
            "plugs",
            "plug",
        ];
        let begun = ahead.takes_any(&whole) || ahead.rest().len() < self.rest().len();
        let is_so = begun && ahead.is_dead().is_ok() && ahead.where_is_next();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// After `everything on`: a branch circuit or what a device feeds; or places.
    pub(super) fn all_of(&mut self, on: bool) -> Heard<Vec<Complaint>> {
        let mut places = self.clone();
        let circuit = if on { self.protection() } else { self.circuit() };
        if let Some(circuit) = circuit {
            if self.is_working() {
                return Ok(self.works_but(&circuit));
            }
            let there = fed(self.known.circuit, &circuit);
            let there = self.by_name(there);
            if let Some(said) = self.all_do(&there)? {
                return Ok(said);
            }
            if self.but_is_next() {
                let said = self.there_but(&there)?;
                self.is_dead()?;
                return Ok(said);
            }
            self.is_dead()?;
            // `but porch works` is said of porch alone.
            let mut but = self.clone();
            if self.but_is_next()
                && let Ok(said) = but.there_but(&there)
                && !but.clone().is_working()
            {
                *self = but;
                return Ok(said);
            }
            return Ok(vec![Complaint::AllDead { circuit }]);
        }
        let Ok(named) = places.places() else {
            self.takes("the");
            return Err(self.no_such("circuit or box", self.names(&[Class::Circuit, Class::Place])));
        };
        *self = places;
        if self.is_working() {
            return Ok(vec![Complaint::Works { places: named }]);
        }
        if let Some(said) = self.all_do(&named)? {
            return Ok(said);
        }
        self.is_dead()?;
        Ok(vec![self.dead(named)])
    }

    /// `everything on c1 flickers`: whatever is in use there does; nothing is passed if it is
    /// something else.
    fn all_do(&mut self, places: &[String]) -> Heard<Option<Vec<Complaint>>> {
        let mut does = self.clone();
        does.pass_before();
        let is_so = does
            .choice(&DOES)
            .is_some_and(|does| matches!(does, Does::Dims | Does::Brightens | Does::Flickers));
        if !is_so {
            return Ok(None);
        }
        let circuit = self.known.circuit;
        let is_there = |load: &&Load| {
            let at = place_of_load(circuit, load);
            load.on && at.is_some_and(|at| places.iter().any(|place| is_within(&at, place)))
        };
        let in_use = circuit.parts().loads.iter().filter(is_there);
        let loads: Vec<String> = in_use.map(|load| load.id.clone()).collect();
        if loads.is_empty() {
            let message = "nothing is described as in use there: which loads does it happen to?";
            let forms = ["LOAD flickers", "LOAD dims", "lights flicker", "lights dim"];
            return Err(self.here(message).expected(forms));
        }
        self.does(loads).map(Some)
    }

    /// `bath outlets`, `all the bath outlets`, where a circuit is called so and no place is: its
    /// name.
    pub(super) fn outlets_of_circuit(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let all = ahead.takes_any(&["all of the", "all the", "all of", "all"]);
        ahead.outlets_named(all).inspect(|_| *self = ahead)
    }

    /// The same without `all`, said before: what is called `sockets` has them by its name.
    fn outlets_named(&mut self, all: bool) -> Option<String> {
        let circuit = self.circuit()?;
        let is_called_so = all && OUTLETS.iter().any(|word| circuit.eq_ignore_ascii_case(word));
        let is_of_outlets = self.takes_any(&OUTLETS) || is_called_so;
        (is_of_outlets && !self.known.is(Class::Place, &circuit)).then_some(circuit)
    }

    /// `bath outlets dead`: nothing is passed if it is something else.
    pub(super) fn outlets_of_circuit_are(&mut self) -> Option<Vec<Complaint>> {
        let mut ahead = self.clone();
        let none = ahead.takes_any(&["none of the", "none of", "no"]);
        let circuit = match none {
            true => ahead.outlets_named(true)?,
            false => ahead.outlets_of_circuit()?,
        };
        let works = ahead.is_working();
        let is_dead = match none {
            true => works,
            false => !works && ahead.is_dead().is_ok(),
        };
        if !works && !is_dead {
            return None;
        }
        *self = ahead;
        Some(match is_dead {
            true => vec![Complaint::AllDead { circuit }],
            false => self.works_but(&circuit),
        })
    }

    /// What is on a circuit works, but for what is left out behind it.
    fn works_but(&mut self, circuit: &str) -> Vec<Complaint> {
        let but_not = self.except().unwrap_or_default();
        let is_out = |place: &String| {
            let is_it = |one: &Complaint| matches!(one, Complaint::Dead { places } if places.contains(place));
            but_not.iter().any(is_it)
        };
        let mut places = self.by_name(fed(self.known.circuit, circuit));
        places.retain(|place| !is_out(place));
        std::iter::once(Complaint::Works { places }).chain(but_not).collect()
    }

    /// A branch circuit by name, with or without the word.
    pub(in super::super) fn circuit(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        ahead.takes_any(&["circuit", "breaker"]);
        let circuit = ahead.name(&[Class::Circuit])?;
        ahead.takes_any(&["circuit", "breaker"]);
        *self = ahead;
        Some(circuit)
    }

    /// That all the rest works, or that nothing at all does.
    pub(super) fn everywhere(&mut self) -> Option<Vec<Complaint>> {
        if let Some(rest) = self.rest_of_circuit() {
            return Some(vec![rest]);
        }
        let mut ahead = self.clone();
        if ahead.takes_any(&THE_REST) && ahead.is_working() {
            *self = ahead;
            let works = Complaint::Works { places: Vec::new() };
            let but_not = self.except().unwrap_or_default();
            return Some(std::iter::once(works).chain(but_not).collect());
        }
        let mut ahead = self.clone();
        let is_whole =
            ahead.takes_unnamed(&WHOLE_HOUSE) && (ahead.is_off() || ahead.is_dead().is_ok()) && {
                let mut next = ahead.clone();
                next.pass_marks();
                !next.where_is_next()
            };
        if !is_whole && (!ahead.takes_any(&EVERYWHERE) || ahead.where_is_next()) {
            return None;
        }
        *self = ahead;
        Some(self.all_dead())
    }

    /// `the rest of nave is fine`: what it feeds and is not complained of. The same of what is dead.
    fn rest_of_circuit(&mut self) -> Option<Complaint> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&REST_OF) {
            return None;
        }
        let name = ahead.circuit()?;
        ahead.takes_any(&OUTLETS);
        let circuit = self.known.circuit;
        let mut places = self.by_name(fed(circuit, &name));
        let is_named = |place: &String| self.places_named_before().any(|other| other == place);
        let is_said = |place: &String, at: &[String]| at.iter().any(|at| is_within(at, place));
        let works = ahead.is_working();
        if !works && ahead.is_dead().is_err() {
            return None;
        }
        places.retain(|place| {
            let is_other = |one: &Complaint| match one {
                Complaint::Works { places } => !works && is_said(place, places),
                Complaint::Dead { places } => works && is_said(place, places),
                Complaint::HalfDead { place: at }
                | Complaint::DeadFrom { place: at }
                | Complaint::Warm { place: at } => works && is_within(at, place),
                Complaint::LoadDead { load } => {
                    let at = circuit.load(load).and_then(|load| place_of_load(circuit, load));
                    works && at.is_some_and(|at| is_within(&at, place))
                }
                _ => false,
            };
            let has_outlet = || circuit.place(place).is_some_and(|one| !one.outlets.is_empty());
            !is_named(place) && !self.called.iter().any(is_other) && (works || has_outlet())
        });
        let said = match works {
            true => Complaint::Works { places },
            false => self.dead(places),
        };
        *self = ahead;
        Some(said)
    }

    /// That all is well says neither of what nor why: after a repair it is heard by that.
    fn refuse_well_now(&self) -> Heard<()> {
        let mut ahead = self.clone();
        if !(ahead.takes_any(&WELL_NOW) && ahead.is_done()) {
            return Ok(());
        }
        let message = "of what, and was anything put right?";
        let forms = ["mended BOX", "since then BOX works", "LOAD runs", "everything works"];
        Err(self.up_to(&ahead, message).expected(forms))
    }

    /// Each branch circuit is dead.
    pub(super) fn all_dead(&self) -> Vec<Complaint> {
        let circuits = self.known.circuit.parts().branch_circuits.iter();
        circuits.map(|one| Complaint::AllDead { circuit: one.id.clone() }).collect()
    }

    /// What is left out of all that works; nothing is passed if it is something else.
    pub(super) fn except(&mut self) -> Option<Vec<Complaint>> {
        let mut ahead = self.clone();
        ahead.pass_marks();
        let but = ahead.clone().takes("but") && !ahead.clone().takes("but not");
        let others = ["except for", "except", "apart from", "other than", "but not", "but"];
        if !ahead.takes_any(&others) {
            return None;
        }
        let (mut loads, mut places) = (Vec::new(), Vec::new());
        loop {
            ahead.takes("the");
            match ahead.load_and_no_place() {
                Some(load) => loads.push(load),
                None => places.push(ahead.place().ok()?),
            }
            // `but kiln is dead` is said of kiln alone.
            if but && !ahead.is_done() && !ahead.clone().another() {
                return None;
            }
            *self = ahead.clone();
            if !ahead.another() {
                break;
            }
        }
        let dead = (!places.is_empty()).then(|| self.dead(places));
        Some(dead.into_iter().chain(dead_loads(loads)).collect())
    }
}
