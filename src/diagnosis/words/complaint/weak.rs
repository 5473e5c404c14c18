//! Where what is plugged in gets too little or too much: `weak at sink`, `a lamp plugged in at sink is
//! dim when kettle runs`.

use crate::circuit::Load;
use crate::diagnosis::symptom::gives_light;
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::does::{DOES, Does};

/// Lights that somebody plugs in or finds there.
const LAMPS: [&str; 8] =
    ["table lamp", "test lamp", "lamps", "lamp", "lights", "light", "bulbs", "bulb"];

/// Whatever else that is.
const WHATEVER: [&str; 18] = [
    "anything else",
    "anything",
    "everything",
    "whatever is",
    "whatever i have",
    "whatever",
    "what is",
    "things",
    "stuff",
    "appliances",
    "appliance",
    "loads",
    "load",
    "tools",
    "tool",
    "the power",
    "power",
    "current",
];

/// That it is plugged in, before where.
const PLUGGED: [&str; 14] = [
    "that is plugged",
    "which is plugged",
    "that i plug",
    "that we plug",
    "when plugged",
    "once plugged",
    "if plugged",
    "i plugged",
    "we plugged",
    "i plug",
    "we plug",
    "you plug",
    "plugged",
    "connected",
];

/// Before where.
const AT: [&str; 8] = ["in at", "in to", "into", "at", "in", "on", "to", "from"];

/// What it does, before how.
const RUNS: [&str; 14] = [
    "burns", "burn", "runs", "run", "works", "work", "glows", "glow", "shines", "shine", "gets",
    "turns", "only", "just",
];

impl Reader<'_> {
    /// Complaints of that kind which begin with no place; nothing is passed if it is something else.
    pub(super) fn weak_somewhere(&mut self) -> Heard<Option<Complaint>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["a", "an", "my", "any", "every", "the", "some", "there is"]);
        let mut brought = ahead.clone();
        let is_something = brought.takes_any(&LAMPS) || brought.takes_any(&WHATEVER);
        let is_brought = is_something && brought.clone().takes_any(&PLUGGED);
        if is_brought {
            ahead = brought;
        }
        let mut are_lamps = !is_brought && ahead.takes_unnamed(&LAMPS);
        ahead.takes_unnamed(&WHATEVER);
        let mut places = ahead.plugged_in_at();
        let Some(brightens) = ahead.weak_or_strong() else { return Ok(None) };
        // `weak lamp at sink`, `weak power at sink`.
        are_lamps |= !is_brought && ahead.takes_unnamed(&LAMPS);
        ahead.takes_unnamed(&WHATEVER);
        places = places.or_else(|| ahead.plugged_in_at());
        let Some(places) = places else { return Ok(None) };
        let listed = if are_lamps { self.lights_at(&places) } else { Vec::new() };
        *self = ahead;
        match listed.is_empty() {
            true => self.weak_at((Vec::new(), places), brightens).map(Some),
            false => self.weak_at((listed, Vec::new()), brightens).map(Some),
        }
    }

    /// After the names of places: that what is there is weak, or too bright; nothing is passed if it
    /// is something else.
    pub(super) fn weak_here(&mut self, places: &[String]) -> Heard<Option<Complaint>> {
        let mut ahead = self.clone();
        let Some(brightens) = ahead.weak_or_strong() else { return Ok(None) };
        *self = ahead;
        self.weak_at((Vec::new(), places.to_vec()), brightens).map(Some)
    }

    fn weak_at(
        &mut self,
        (loads, places): (Vec<String>, Vec<String>),
        brightens: bool,
    ) -> Heard<Complaint> {
        let when = if self.when() { Some(self.running()?) } else { None };
        Ok(match brightens {
            true => Complaint::Bright { loads, places, when },
            false => Complaint::Dim { loads, places, when },
        })
    }

    /// Passes `plugged in at sink and door`, `at sink`.
    fn plugged_in_at(&mut self) -> Option<Vec<String>> {
        let mut ahead = self.clone();
        ahead.takes_any(&PLUGGED);
        let placed = ahead.takes_any(&AT).then(|| ahead.places_in_a_row().ok()).flatten();
        if placed.is_some() {
            *self = ahead;
        }
        placed
    }

    /// Whether it is too bright and not dim; nothing is passed if it is neither.
    fn weak_or_strong(&mut self) -> Option<bool> {
        let mut ahead = self.clone();
        ahead.pass_before();
        ahead.takes_any(&RUNS);
        ahead.pass_before();
        let brightens = match ahead.choice(&DOES)? {
            Does::Dims => false,
            Does::Brightens => true,
            Does::Flickers | Does::GoesOff | Does::Dead => return None,
        };
        *self = ahead;
        Some(brightens)
    }

    /// The lights on the list that are at these places.
    fn lights_at(&self, places: &[String]) -> Vec<String> {
        let circuit = self.known.circuit;
        let is_there = |load: &&Load| {
            place_of_load(circuit, load).is_some_and(|place| places.contains(&place))
        };
        let lights = circuit.parts().loads.iter().filter(|load| gives_light(load));
        lights.filter(is_there).map(|load| load.id.clone()).collect()
    }
}
