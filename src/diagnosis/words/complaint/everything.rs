//! What is said of everything: in the house, on a circuit, but for a few.

use crate::condition::words::lexicon::Class;
use crate::diagnosis::Complaint;
use crate::diagnosis::symptom::fed;

use super::super::reader::{Heard, Reader};
use super::super::short::WELL_NOW;
use super::dead_loads;
use super::lists::{ALL_IN, ALL_ON, EVERYWHERE, LIGHTS, LIGHTS_UNNAMED, THE_REST, WHOLE_HOUSE};

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
            return self.all_of(on).map(|one| Some(vec![one]));
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
    pub(super) fn all_of(&mut self, on: bool) -> Heard<Complaint> {
        let mut places = self.clone();
        let circuit = if on { self.protection() } else { self.circuit() };
        if let Some(circuit) = circuit {
            if self.is_working() {
                let places = self.by_name(fed(self.known.circuit, &circuit));
                return Ok(Complaint::Works { places });
            }
            self.is_dead()?;
            return Ok(Complaint::AllDead { circuit });
        }
        let Ok(named) = places.places() else {
            self.takes("the");
            return Err(self.no_such("circuit or box", self.names(&[Class::Circuit, Class::Place])));
        };
        *self = places;
        if self.is_working() {
            return Ok(Complaint::Works { places: named });
        }
        self.is_dead()?;
        Ok(self.dead(named))
    }

    /// A branch circuit by name, with or without the word.
    pub(super) fn circuit(&mut self) -> Option<String> {
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
