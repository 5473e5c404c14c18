//! What is said of all that lies past a place, of all but one, of none.

use crate::circuit::Load;
use crate::circuit::reach::Branches;
use crate::condition::words::lexicon::Class;
use crate::condition::words::{few, speak};
use crate::diagnosis::symptom::{fed, run};
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::super::seen::is_within;
use super::dead_from;

/// Before a place, away from the supply.
const PAST: [&str; 10] = [
    "past",
    "beyond",
    "after",
    "behind",
    "downstream of",
    "downstream from",
    "down stream of",
    "down the line from",
    "further on than",
    "following",
];

/// All of them, before where.
const ALL: [&str; 24] = [
    "every outlet",
    "every receptacle",
    "every socket",
    "every plug",
    "everything else",
    "everything",
    "anything",
    "all outlets",
    "all receptacles",
    "all sockets",
    "all plugs",
    "all lights",
    "all",
    "outlets",
    "outlet",
    "receptacles",
    "sockets",
    "plugs",
    "lights",
    "the others",
    "the rest",
    "rest",
    "whatever is",
    "whatever comes",
];

/// None of them.
const NO_ONE: [&str; 12] = [
    "none of the outlets",
    "none of the receptacles",
    "none of the sockets",
    "none of the plugs",
    "no outlets",
    "no outlet",
    "no receptacles",
    "no sockets",
    "no socket",
    "no plug",
    "nothing",
    "not one outlet",
];

/// All of them but those named.
const BUT: [&str; 5] = ["except for", "except", "apart from", "other than", "but"];

/// Before what alone works.
pub(super) const NOTHING_BUT: [&str; 4] =
    ["nothing but", "nothing except", "nothing apart from", "nothing other than"];

impl Reader<'_> {
    /// Passes `everything past sink`, with nothing said of it yet: dead from the next on.
    pub(super) fn everything_past(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["all of the", "all the", "all my", "the", "my"]);
        let is_all = ahead.takes_any(&ALL);
        if is_all && ahead.takes_any(&PAST) {
            let past = ahead.past()?;
            ahead.takes_any(&["onwards", "onward", "on"]);
            *self = ahead;
            return Ok(Some(dead_from(past)));
        }
        let mut from = if is_all { ahead } else { self.clone() };
        if !from.takes("from") {
            return Ok(None);
        }
        let place = from.place()?;
        if !from.takes_any(&["onwards", "onward", "on", "and on"]) {
            return Ok(None);
        }
        from.takes_any(&["everything", "all"]);
        *self = from;
        Ok(Some(vec![Complaint::DeadFrom { place }]))
    }

    /// `outlets past sink are dead`, `everything after sink works`, `nothing works after sink`;
    /// nothing is passed if it is something else.
    pub(super) fn past_is(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        if ahead.takes_any(&NO_ONE) && ahead.takes_any(&PAST) {
            let past = ahead.past()?;
            if ahead.is_working() {
                *self = ahead;
                return Ok(Some(dead_from(past)));
            }
        }
        let mut ahead = self.clone();
        let Some(past) = ahead.everything_past()? else { return Ok(None) };
        let mut dead = ahead.clone();
        if !ahead.is_working() {
            dead.is_dead()?;
            *self = dead;
            return Ok(Some(past));
        }
        *self = ahead;
        let circuit = self.known.circuit;
        let first = past.iter().filter_map(|one| match one {
            Complaint::DeadFrom { place } => Some(place.clone()),
            _ => None,
        });
        let mut places = Vec::new();
        for place in first {
            let beyond = run(circuit, &place).1;
            places.push(place);
            places.extend(self.by_name(beyond));
        }
        Ok(Some(vec![Complaint::Works { places }]))
    }

    /// Passes `and everything after it` behind a place.
    pub(super) fn and_everything_after_it(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_marks();
        let is_joined = ahead.takes_any(&["and", "plus", "with"]);
        ahead.takes_any(&["also", "then"]);
        ahead.takes_any(&["all the", "the"]);
        if !ahead.takes_any(&ALL) {
            // `kiln and beyond`.
            let onward = [
                "beyond it",
                "beyond that",
                "beyond",
                "past it",
                "after it",
                "past that",
                "after that",
                "further on",
                "further down",
                "downstream of it",
                "downstream",
                "onwards",
                "onward",
                "on",
            ];
            let is_so = is_joined
                && ahead.takes_any(&onward)
                && (ahead.is_done() || ahead.clone().is_dead().is_ok());
            if is_so {
                *self = ahead;
            }
            return is_so;
        }
        let it = ["it", "that", "there", "this", "this one", "that one"];
        let is_so = match ahead.takes_any(&PAST) {
            true => ahead.takes_any(&it) || ahead.is_done() || ahead.clone().is_dead().is_ok(),
            false => {
                ahead.takes_any(&["downstream", "further on", "further down", "beyond", "after"])
            }
        };
        if is_so {
            ahead.takes_any(&["on", "too", "also", "as well"]);
            *self = ahead;
        }
        is_so
    }

    /// `none of the outlets in sink work`; nothing is passed if it is something else.
    pub(super) fn none_works(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&NO_ONE) {
            return Ok(None);
        }
        let mut fed = ahead.clone();
        if fed.takes("on")
            && let Some(circuit) = fed.circuit()
            && fed.is_working()
        {
            *self = fed;
            return Ok(Some(vec![Complaint::AllDead { circuit }]));
        }
        let mut placed = ahead.clone();
        if placed.takes_any(&["at", "in", "on"])
            && let Ok(places) = placed.places_in_a_row()
            && placed.is_working()
        {
            *self = placed;
            return Ok(Some(vec![self.dead(places)]));
        }
        if !ahead.is_working() {
            return Ok(None);
        }
        if ahead.where_is_next() {
            *self = ahead;
            return self.dead_where().map(Some);
        }
        if let Some(others) = ahead.all_but()? {
            *self = ahead;
            return Ok(Some(others));
        }
        // `nothing works` is all the house; of outlets alone, not of lights.
        match self.clone().takes("nothing") {
            true => Ok(None),
            false => Err(self.up_to(&ahead, "on which circuits?").expected(self.all_on_each())),
        }
    }

    /// `door works, the rest is dead`: the others are, too.
    pub(super) fn and_the_rest(&mut self, said: Complaint) -> Vec<Complaint> {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes_any(&["and", "but"]);
        let rest = [
            "the rest of the house",
            "the rest",
            "rest",
            "all the others",
            "all others",
            "the others",
            "others",
            "everything else",
            "all else",
        ];
        match said {
            Complaint::Works { places }
                if !places.is_empty() && ahead.takes_unnamed(&rest) && ahead.is_dead().is_ok() =>
            {
                *self = ahead;
                self.others_dead(places)
            }
            other => vec![other],
        }
    }

    /// `only sink works`: all the others are dead.
    pub(super) fn only_these_work(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        if !ahead.takes("only") && !ahead.takes_any(&NOTHING_BUT) {
            return Ok(None);
        }
        let mut of_loads = ahead.clone();
        let alone = of_loads.load_and_no_place();
        if let Some(load) = alone.filter(|_| of_loads.is_working()) {
            *self = of_loads;
            return self.other_loads_dead(&load).map(Some);
        }
        let Ok(places) = ahead.places_in_a_row() else { return Ok(None) };
        if !ahead.is_working() {
            return Ok(None);
        }
        *self = ahead;
        Ok(Some(self.others_dead(places)))
    }

    /// `only the radio works`: what else is in use on its circuit is dead.
    fn other_loads_dead(&self, load: &str) -> Heard<Vec<Complaint>> {
        let circuit = self.known.circuit;
        let feeding = Branches::of(circuit).feeding(circuit);
        let feeds = |load: &Load| {
            let at = place_of_load(circuit, load)?;
            let (_, outlet) =
                circuit.outlets().find(|(_, outlet)| outlet.address.as_str() == at)?;
            let slots = outlet.slots.iter().filter_map(|(_, slot)| feeding.get(slot.as_str()));
            slots.flatten().next().copied()
        };
        let own = circuit.load(load).and_then(feeds);
        let others =
            circuit.parts().loads.iter().filter(|other| {
                other.id != load && other.on && own.is_some() && feeds(other) == own
            });
        let dead: Vec<Complaint> =
            others.map(|other| Complaint::LoadDead { load: other.id.clone() }).collect();
        let name = speak::name(load);
        match dead.is_empty() {
            true => Err(self
                .here(format!("nothing else on the circuit of {name} is described as in use"))
                .expected(["LOAD does not work", "BOX dead"])),
            false => Ok(dead),
        }
    }

    /// Passes `except sink` behind what is said of everything: the others are dead.
    pub(super) fn all_but(&mut self) -> Heard<Option<Vec<Complaint>>> {
        self.pass_marks();
        if !self.takes_any(&BUT) {
            return Ok(None);
        }
        // Of a load that alone works nothing is said of the places.
        let places = self.places_in_a_row().ok();
        Ok(places.map(|places| self.others_dead(places)))
    }

    /// After `lost everything in`: what is there, or on that circuit, is dead but for what is excepted.
    pub(super) fn all_there_but(&mut self) -> Heard<Vec<Complaint>> {
        let circuit = self.known.circuit;
        let mut named = self.clone();
        let there = match named.places_in_a_row() {
            Ok(places) => {
                *self = named;
                let beyond: Vec<Complaint> = places
                    .iter()
                    .flat_map(|place| self.beyond_panels(self.dead(vec![place.clone()])))
                    .collect();
                let is_whole = |one: &Complaint| matches!(one, Complaint::DeadFrom { .. });
                match beyond.iter().any(is_whole) {
                    true => places
                        .iter()
                        .flat_map(|place| self.by_name(run(circuit, place).1))
                        .collect(),
                    false => places,
                }
            }
            Err(problem) => match self.circuit() {
                Some(name) => self.by_name(fed(circuit, &name)),
                None => return Err(problem),
            },
        };
        self.there_but(&there)
    }

    /// Whether what is left out comes next.
    pub(super) fn but_is_next(&self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes_any(&BUT)
    }

    /// What is there is dead, but for what is excepted.
    pub(super) fn there_but(&mut self, there: &[String]) -> Heard<Vec<Complaint>> {
        let circuit = self.known.circuit;
        self.pass_marks();
        let (mut works, mut but_loads) = (Vec::new(), Vec::new());
        if self.takes_any(&BUT) {
            loop {
                self.takes("the");
                match self.load_and_no_place() {
                    Some(load) => {
                        works.extend(
                            circuit.load(&load).and_then(|load| place_of_load(circuit, load)),
                        );
                        but_loads.push(load);
                    }
                    None => works.push(self.place()?),
                }
                if !self.another() {
                    break;
                }
            }
        }
        let is_left = |place: &String| {
            let has_outlet = circuit.place(place).is_some_and(|one| !one.outlets.is_empty());
            has_outlet && !works.iter().any(|at| is_within(at, place))
        };
        let dead: Vec<String> = there.iter().filter(|place| is_left(place)).cloned().collect();
        // What is wired in is where no receptacle is.
        let is_dark = |load: &&Load| {
            let at = place_of_load(circuit, load);
            load.on
                && load.plug_links.is_empty()
                && !but_loads.contains(&load.id)
                && at.is_some_and(|at| there.iter().any(|place| is_within(&at, place)))
        };
        let dark = circuit.parts().loads.iter().filter(is_dark);
        let dark = dark.map(|load| Complaint::LoadDead { load: load.id.clone() });
        let dead = (!dead.is_empty()).then(|| self.dead(dead));
        let works = (!works.is_empty()).then_some(Complaint::Works { places: works });
        Ok(dead.into_iter().chain(dark).chain(works).collect())
    }

    /// `everything except sink is dead`.
    pub(super) fn everything_but(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&["everything", "all outlets", "all"]) {
            return Ok(None);
        }
        let mut said = ahead.clone();
        let said_before = said.is_dead().is_ok();
        if said_before {
            ahead = said;
        }
        let mut but_not = ahead.clone();
        if !said_before
            && let Some(dead) = but_not.except()
            && but_not.is_working()
        {
            *self = but_not;
            let works = Complaint::Works { places: Vec::new() };
            return Ok(Some(std::iter::once(works).chain(dead).collect()));
        }
        let Some(others) = ahead.all_but()? else { return Ok(None) };
        if !said_before {
            ahead.is_dead()?;
        }
        *self = ahead;
        Ok(Some(others))
    }

    /// These work, and wherever else there is a receptacle it is dead.
    fn others_dead(&self, working: Vec<String>) -> Vec<Complaint> {
        let places = &self.known.circuit.parts().places;
        let dead = places.iter().filter(|place| {
            !place.outlets.is_empty()
                && !working.iter().any(|name| {
                    *name == place.id
                        || place.outlets.iter().any(|one| one.address.as_str() == name)
                })
        });
        let places: Vec<String> = dead.map(|place| place.id.clone()).collect();
        let dead = (!places.is_empty()).then_some(Complaint::Dead { places });
        std::iter::once(Complaint::Works { places: working }).chain(dead).collect()
    }

    /// `top works, bottom dead`: a half is one of a receptacle.
    pub(super) fn refuse_half_unplaced(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let halves = ["top half", "bottom half", "upper half", "lower half", "top", "bottom"];
        let is_name = self.clone().name(&[Class::Place, Class::Load, Class::Device]).is_some();
        if is_name || !ahead.takes_any(&halves) || !(ahead.is_working() || ahead.is_dead().is_ok())
        {
            return Ok(());
        }
        let duplexes =
            self.known.circuit.parts().places.iter().filter(|place| place.outlets.len() > 1);
        let forms: Vec<String> = duplexes
            .flat_map(|place| {
                let name = speak::name(&place.id);
                [format!("bottom of {name} dead"), format!("top of {name} dead")]
            })
            .collect();
        Err(match forms.is_empty() {
            true => self
                .here("no receptacle of this circuit file has halves that are wired apart")
                .expected(["BOX dead", "`device: Duplex(...)` in the file of one that has"]),
            false => self.here("of which receptacle?").expected(few(forms.into_iter())),
        })
    }

    /// Half of a place that has no halves: a room, or a receptacle that the file has as one.
    pub(super) fn refuse_half_of_one(&self, place: &str) -> Heard<()> {
        let Some(here) = self.known.circuit.place(place) else { return Ok(()) };
        if here.outlets.len() > 1 {
            return Ok(());
        }
        let name = speak::name(place);
        let near = self.known.circuit.parts().places.iter();
        let near = near.filter(|other| other.fed_from.as_deref() == Some(place));
        let both = near.map(|other| format!("{name} and {} dead", speak::name(&other.id)));
        let message = format!(
            "{name} has no halves in this circuit file, where a duplex has two: say which places \
             are dead"
        );
        let forms = std::iter::once(format!("{name} dead")).chain(both);
        Err(self.here(message).expected(few(forms)))
    }
}
