//! That there is no power, in the words for what is not there and what became of it.

use crate::diagnosis::Complaint;

use super::super::reader::{Heard, Reader};
use super::lists::{ALL_IN, ALL_ON, COMES_AND_GOES, HALF, HOUSE};

/// What is not there.
const POWER: [&str; 11] = [
    "volts",
    "electric power",
    "electric current",
    "electricity",
    "electric",
    "power",
    "voltage",
    "juice",
    "current",
    "mains",
    "supply",
];

/// That it is not there, before what.
const NONE: [&str; 9] = [
    "lost all the",
    "lost all",
    "lost the",
    "lost",
    "without any",
    "without",
    "no more",
    "no",
    "zero",
];

/// What became of it, behind what.
const WENT: [&str; 14] = [
    "went out",
    "went off",
    "went away",
    "went down",
    "is not there",
    "is not on",
    "gone off",
    "gone",
    "out",
    "off",
    "dead",
    "down",
    "missing",
    "lost",
];

/// Who lost it.
const WE: [&str; 9] = [
    "there is",
    "we have lost",
    "we have",
    "i have lost",
    "i have",
    "we just",
    "i just",
    "we",
    "i",
];

/// What is lost where one leg of the supply is.
const LEG: [&str; 8] = [
    "one leg",
    "a leg",
    "one of the legs",
    "one phase",
    "a phase",
    "half the service",
    "half the panel",
    "half of the panel",
];

impl Reader<'_> {
    /// Passes `no power`, `lost all power`, `the power is out`; whatever `there is` stands before.
    pub(super) fn no_power_said(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&WE);
        let none = ahead.takes_any(&NONE) && ahead.takes_unnamed(&POWER);
        if !none {
            ahead = self.clone();
            ahead.takes("the");
            if !ahead.takes_unnamed(&POWER) {
                return false;
            }
            // What was before it: `gone` is what became of it.
            let is = ["has been", "has", "have", "is", "was", "just", "suddenly", "completely"];
            while !ahead.clone().takes_any(&WENT) && ahead.takes_any(&is) {}
            if !ahead.takes_any(&WENT) {
                return false;
            }
        }
        ahead.takes_any(&["at all", "left", "any more"]);
        *self = ahead;
        true
    }

    /// `power comes and goes at sink`, `power dips when heater runs`; nothing is passed if it is something else.
    pub(super) fn power_comes_and_goes(&mut self) -> Heard<Option<Complaint>> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let at = ["at", "in", "to", "on"];
        if !ahead.takes_unnamed(&POWER) {
            return Ok(None);
        }
        let mut placed = ahead.clone();
        if placed.takes_any(&at)
            && let Ok(places) = placed.places_in_a_row()
        {
            placed.pass_before();
            if placed.takes_any(&COMES_AND_GOES) || placed.takes("flickers") {
                *self = placed;
                return self.comes_and_goes(&places).map(Some);
            }
        }
        ahead.pass_before();
        if ahead.takes_any(&["dips", "dip", "drops", "drop", "sags", "falls", "goes down", "down"])
        {
            let when = if ahead.when() { Some(ahead.running()?) } else { None };
            if when.is_some() || ahead.is_done() {
                *self = ahead;
                return Ok(Some(Complaint::Dim { loads: Vec::new(), places: Vec::new(), when }));
            }
            return Ok(None);
        }
        if !ahead.takes_any(&COMES_AND_GOES) && !ahead.takes_any(&["flickers", "fluctuates"]) {
            return Ok(None);
        }
        let places = match ahead.takes_any(&at) {
            true => ahead.places_in_a_row()?,
            false => {
                *self = ahead;
                return Ok(Some(Complaint::Flickers { loads: Vec::new() }));
            }
        };
        *self = ahead;
        self.comes_and_goes(&places).map(Some)
    }

    /// `lost kitchen`, `lost half the house`, `one leg is out`; nothing is passed if it is
    /// something else.
    pub(super) fn lost(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["we have", "i have", "we", "i", "have", "just"]);
        let is_lost = ahead.takes("lost");
        if !is_lost {
            ahead = self.clone();
        }
        let mut leg = ahead.clone();
        if leg.takes_unnamed(&LEG) && (is_lost || leg.is_dead().is_ok()) {
            *self = leg;
            return Ok(Some(vec![Complaint::HalfTheHouse]));
        }
        if !is_lost {
            return Ok(None);
        }
        let mut half = ahead.clone();
        half.takes_any(&["power to", "power in", "power on"]);
        if half.half_the_house_named() {
            *self = half;
            return Ok(Some(vec![Complaint::HalfTheHouse]));
        }
        if let Some(past) = ahead.everything_past()? {
            *self = ahead;
            return Ok(Some(past));
        }
        let mut all = ahead.clone();
        if all.takes_any(&ALL_IN) || all.takes_any(&ALL_ON) {
            let said = all.all_there_but()?;
            *self = all;
            return Ok(Some(said));
        }
        if ahead.clone().takes_any(&["the neutral", "neutral"]) {
            let message = "what is lost was concluded: what is seen of it?";
            let forms = ["lights bright and some dim", "lights brighten", "BOX dead"];
            return Err(ahead.here(message).expected(forms));
        }
        let Ok(places) = ahead.places_in_a_row() else { return Ok(None) };
        *self = ahead;
        Ok(Some(vec![self.dead(places)]))
    }

    /// Passes `half the house`.
    pub(super) fn half_the_house_named(&mut self) -> bool {
        let mut ahead = self.clone();
        if !ahead.takes_any(&HALF) {
            return false;
        }
        ahead.takes_any(&["the", "my", "our"]);
        let is_so = ahead.takes_unnamed(&HOUSE);
        if is_so {
            *self = ahead;
        }
        is_so
    }
}
