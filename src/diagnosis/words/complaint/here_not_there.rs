//! What works in one place and not in another: `works in the closet but not in the nursery`; and what
//! runs without doing what it is for.

use crate::diagnosis::Complaint;

use super::super::reader::{Heard, Reader};
use super::lists::WORKS;

/// Before a place.
const AT: [&str; 4] = ["in", "at", "on", "from"];

/// That a heater runs, or a part of it, which says nothing of its heat.
const RUNS: [&str; 16] = [
    "runs",
    "run",
    "turns",
    "spins",
    "tumbles",
    "comes on",
    "turns on",
    "starts",
    "works",
    "lights up",
    "powers on",
    "powers up",
    "goes round",
    "is on",
    "hums",
    "blows",
];

/// The part that runs.
const PART: [&str; 5] = ["drum", "fan", "motor", "blower", "light"];

/// That it gives no heat.
const NO_HEAT: [&str; 12] = [
    "is cold",
    "'s cold",
    "stays cold",
    "stone cold",
    "cold",
    "no heat",
    "blows cold",
    "cold air",
    "there is no heat",
    "gives no heat",
    "makes no heat",
    "never gets hot",
];

impl Reader<'_> {
    /// `works in the closet but not in the nursery`, of something that is carried from one to the other.
    pub(super) fn works_here_not_there(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.pass_before();
        if !(ahead.takes_any(&WORKS) || ahead.runs()) || !ahead.takes_any(&AT) {
            return Ok(None);
        }
        let Ok(works) = ahead.places_in_a_row() else { return Ok(None) };
        ahead.pass_marks();
        ahead.takes_any(&["but", "and", "though", "yet"]);
        if !ahead.does_not_run() && !ahead.takes("not") || !ahead.takes_any(&AT) {
            return Ok(None);
        }
        let dead = ahead.places_in_a_row()?;
        *self = ahead;
        Ok(Some(vec![self.dead(dead), Complaint::Works { places: works }]))
    }

    /// Passes `runs but does not heat`, `drum turns but it is cold`, of heaters.
    pub(super) fn runs_without_heat(&mut self, loads: &[String]) -> bool {
        if !self.all_heat(loads) {
            return false;
        }
        let mut ahead = self.clone();
        ahead.takes_unnamed(&PART);
        ahead.takes("still");
        if !ahead.takes_any(&RUNS) {
            return false;
        }
        ahead.pass_marks();
        ahead.takes_any(&["but", "and", "though", "yet"]);
        ahead.takes_any(&["it", "there"]);
        let is_cold = ahead.takes_any(&NO_HEAT) || ahead.gets_no_heat(loads) || {
            let denied = [
                "does not heat up",
                "does not heat",
                "will not heat",
                "is not heating",
                "not heating",
            ];
            ahead.takes_any(&denied)
        };
        if is_cold {
            *self = ahead;
        }
        is_cold
    }
}
