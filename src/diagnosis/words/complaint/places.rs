//! What is said of places: dead, half dead, warm, working, from one on.

use crate::condition::words::known::is_switch;
use crate::diagnosis::Complaint;

use super::super::reader::{Heard, Reader};
use super::dead_from;
use super::lists::{COMES_AND_GOES, COMES_AND_GOES_AT, DEAD, OUTLETS, WHOLE_HOUSE, WORKS};

/// That somebody worked there.
const WORKED_ON: [&str; 8] = [
    "was worked on",
    "has been worked on",
    "was rewired",
    "has been rewired",
    "was replaced",
    "has been replaced",
    "was exchanged",
    "was changed",
];

const LATELY: [&str; 6] =
    ["lately", "recently", "last week", "yesterday", "not long ago", "before that"];

/// The same, before where.
const WORKED_AT: [&str; 8] = [
    "somebody worked on",
    "somebody worked at",
    "someone worked on",
    "someone worked at",
    "i worked on",
    "i worked at",
    "worked on",
    "worked at",
];

impl Reader<'_> {
    /// `somebody worked at kiln`; nothing is passed if it is something else.
    pub(super) fn worked_at(&mut self) -> Heard<Option<Complaint>> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&WORKED_AT) {
            return Ok(None);
        }
        let place = ahead.place()?;
        ahead.takes_any(&LATELY);
        *self = ahead;
        Ok(Some(Complaint::WorkedOn { place }))
    }

    /// After `dead`: from a place on, past a place, at places.
    pub(super) fn dead_where(&mut self) -> Heard<Vec<Complaint>> {
        if self.takes("from") {
            let place = self.place()?;
            self.takes_any(&["onwards", "onward", "on"]);
            return Ok(vec![Complaint::DeadFrom { place }]);
        }
        if self.takes_any(&[
            "past",
            "beyond",
            "after",
            "downstream of",
            "downstream from",
            "behind",
        ]) {
            return self.past().map(dead_from);
        }
        let on = self.takes("on");
        if on || self.takes_any(&["at", "in", "to", "for"]) {
            if self.half_the_house_named() {
                return Ok(vec![Complaint::HalfTheHouse]);
            }
            let mut whole = self.clone();
            if whole.takes_unnamed(&WHOLE_HOUSE) {
                *self = whole;
                return Ok(self.all_dead());
            }
            let mut places = self.clone();
            let named = places.places();
            let circuit = if on || named.is_err() { self.circuit() } else { None };
            if let Some(circuit) = circuit {
                self.takes_any(&OUTLETS);
                return Ok(vec![Complaint::AllDead { circuit }]);
            }
            let named = named?;
            *self = places;
            return Ok(vec![self.dead(named)]);
        }
        let mut named = self.clone();
        named.pass_marks();
        if let Ok(places) = named.places_in_a_row() {
            *self = named;
            return Ok(vec![self.dead(places)]);
        }
        Err(self.none_of("where it is dead", &["from", "past", "at"]))
    }

    pub(super) fn is_dead(&mut self) -> Heard<()> {
        self.pass_before();
        match self.dead_said() {
            true => Ok(()),
            false => Err(self.none_of("what is the matter with it", &["dead"])),
        }
    }

    /// Passes what says that it is dead.
    pub(super) fn dead_said(&mut self) -> bool {
        self.takes_any(&DEAD) || self.no_power_said() || self.does_not_run()
    }

    /// That it works; nothing is passed if something else is said.
    pub(super) fn is_working(&mut self) -> bool {
        let mut ahead = self.clone();
        if !ahead.takes_any(&WORKS) {
            ahead.pass_before();
            ahead.takes_any(&["does", "do"]);
            ahead.pass_before();
            if !ahead.takes_any(&WORKS) {
                return false;
            }
        }
        *self = ahead;
        true
    }

    pub(super) fn places_are(&mut self, places: Vec<String>) -> Heard<Complaint> {
        self.refuse_switch(&places)?;
        if self.works_when_moved() || self.works_not_always() {
            return self.comes_and_goes(&places);
        }
        self.refuse_only()?;
        if let [place] = places.as_slice() {
            let mut after = self.clone();
            if after.and_everything_after_it() && (after.is_done() || after.is_dead().is_ok()) {
                *self = after;
                return Ok(Complaint::DeadFrom { place: place.clone() });
            }
            self.refuse_measured(Some(place))?;
        }
        self.refuse_vague(&places, &[])?;
        if self.is_working() {
            return match self.takes_any(&COMES_AND_GOES) {
                true => self.comes_and_goes(&places),
                false => Ok(Complaint::Works { places }),
            };
        }
        if let [place] = places.as_slice()
            && let Some(complaint) = self.place_is(place)?
        {
            return Ok(complaint);
        }
        self.pass_before();
        if self.takes_any(&COMES_AND_GOES) {
            self.dead_said();
            return self.comes_and_goes(&places);
        }
        if self.dead_said() || self.is_off() {
            if let [place] = places.as_slice()
                && self.and_everything_after_it()
            {
                return Ok(Complaint::DeadFrom { place: place.clone() });
            }
            let comes = self.takes_any(&COMES_AND_GOES) || self.weather() || self.often();
            let complaint = match comes {
                true => self.comes_and_goes(&places)?,
                false => self.dead(places),
            };
            self.refuse_dead_when(&complaint)?;
            return Ok(complaint);
        }
        if let Some(weak) = self.weak_here(&places)? {
            return Ok(weak);
        }
        self.refuse_of_places(&places)?;
        let words = ["dead", "half dead", "warm", "works"];
        Err(self.none_of("what is the matter with a place", &words))
    }

    /// `intermittent power at sink`, `power goes off at sink when it rains`; nothing is passed if it is not
    /// said to come back.
    pub(super) fn comes_and_goes_at(&mut self) -> Heard<Option<Complaint>> {
        if self.takes_any(&COMES_AND_GOES_AT) {
            let places = self.places()?;
            return self.comes_and_goes(&places).map(Some);
        }
        let mut ahead = self.clone();
        ahead.takes("the");
        let goes = ["power goes off", "power goes out", "power drops out", "power fails"];
        if !ahead.takes_any(&goes) || !ahead.takes_any(&["at", "in", "to"]) {
            return Ok(None);
        }
        let Ok(places) = ahead.places_in_a_row() else { return Ok(None) };
        if !(ahead.takes_any(&COMES_AND_GOES) || ahead.weather() || ahead.often()) {
            return Ok(None);
        }
        *self = ahead;
        self.comes_and_goes(&places).map(Some)
    }

    /// What is said of one place alone; nothing is passed if it is something else.
    pub(super) fn place_is(&mut self, place: &str) -> Heard<Option<Complaint>> {
        let mut ahead = self.clone();
        let complaint = loop {
            let place = place.to_owned();
            if self.known.device_of_kind(&place, is_switch).is_some() {
                ahead.takes_any(&["light switch", "switch"]);
            }
            let before = ahead.clone();
            if ahead.takes_any(&["half dead", "dead in one half"]) {
                before.refuse_half(&place)?;
                before.refuse_half_of_one(&place)?;
                break Complaint::HalfDead { place };
            }
            if ahead.is_warm_all() {
                ahead.with_a_load()?;
                break Complaint::Warm { place };
            }
            if ahead.gives_shocks() {
                break Complaint::Tingle { from: place };
            }
            if ahead.takes_any(&WORKED_ON) {
                ahead.takes_any(&LATELY);
                break Complaint::WorkedOn { place };
            }
            ahead.pass_before();
            if ahead.rest().len() == before.rest().len() {
                return Ok(None);
            }
        };
        *self = ahead;
        Ok(Some(complaint))
    }

    /// These places are dead; of one half of a duplex alone, the other is not.
    pub(super) fn dead(&self, places: Vec<String>) -> Complaint {
        match places.as_slice() {
            [half] if self.is_one_of_several(half) => Complaint::HalfDead { place: half.clone() },
            _ => Complaint::Dead { places },
        }
    }
}
