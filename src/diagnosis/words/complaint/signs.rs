//! Signs of a joint that heats: what is smelt, heard, seen and felt warm, and where.

use crate::diagnosis::place_of_load;

use super::super::reader::{Heard, Reader};
use super::lists::{NOTICED_AT, SIGNS, WARM};

/// That it smells.
const SMELLS: [&str; 12] = [
    "smells",
    "smell",
    "smelled",
    "smelt",
    "smelling",
    "stinks",
    "stink",
    "stinking",
    "reeks",
    "has a smell",
    "gives off a smell",
    "there is a smell",
];

/// That there is a smell.
const A_SMELL: [&str; 8] =
    ["smell", "odour", "odor", "whiff", "stink", "stench", "smells", "fumes"];

/// What it smells like, before of what.
const HOW: [&str; 28] = [
    "burning",
    "burnt",
    "burned",
    "melting",
    "melted",
    "scorched",
    "singed",
    "fishy",
    "hot",
    "warm",
    "electrical",
    "electric",
    "acrid",
    "chemical",
    "bad",
    "funny",
    "strange",
    "weird",
    "odd",
    "strong",
    "faint",
    "slight",
    "rotten",
    "dead",
    "overheated",
    "smoky",
    "sharp",
    "old",
];

/// Of what it smells: plastics and what is in them.
const OF_WHAT: [&str; 18] = [
    "plastic",
    "fish",
    "rubber",
    "smoke",
    "wires",
    "wiring",
    "wire",
    "insulation",
    "bakelite",
    "hair",
    "electrics",
    "metal",
    "dust",
    "urine",
    "pee",
    "ozone",
    "something burning",
    "something burnt",
];

/// How much it does so.
const HOW_MUCH: [&str; 8] =
    ["a bit", "a little", "kind of", "sort of", "strongly", "faintly", "slightly", "badly"];

impl Reader<'_> {
    /// Passes what a joint is like that heats: `hot`, `smells like fish`.
    pub(super) fn is_warm(&mut self) -> bool {
        let mut ahead = self.clone();
        let smells = ahead.takes_any(&SMELLS);
        if smells {
            ahead.of_something();
            *self = ahead;
        }
        let mut ahead = self.clone();
        let makes = ahead.takes_any(&["makes", "is making", "making", "made"]) && {
            ahead.takes_any(&["a", "some"]);
            ahead.takes_any(&SIGNS)
        };
        if makes {
            *self = ahead;
        }
        smells || makes || self.takes_any(&WARM)
    }

    /// The same, and whatever of the kind is said besides: `warm and smells`.
    pub(super) fn is_warm_all(&mut self) -> bool {
        if !self.is_warm() {
            return false;
        }
        loop {
            let mut more = self.clone();
            more.pass_marks();
            more.takes("and");
            more.pass_before();
            if !more.is_warm() {
                return true;
            }
            *self = more;
        }
    }

    /// Passes `of burnt plastic`, `like fish`.
    fn of_something(&mut self) {
        self.takes_any(&HOW_MUCH);
        self.takes_any(&["of", "like"]);
        while self.takes_any(&HOW) {}
        self.takes_any(&OF_WHAT);
    }

    /// Passes what is noticed of a joint that heats: `a hot smell`, `crackling`.
    pub(super) fn a_sign(&mut self) -> bool {
        let mut ahead = self.clone();
        while ahead.takes_any(&HOW) || ahead.takes_any(&OF_WHAT) {}
        if ahead.takes_any(&A_SMELL) {
            ahead.of_something();
            *self = ahead;
            return true;
        }
        self.takes_any(&SIGNS)
    }

    /// Passes `burning smell at` and its like.
    fn sign_at(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["i", "we", "you can", "you"]);
        let mut direct = ahead.clone();
        if !(direct.a_sign() && direct.takes_any(&NOTICED_AT)) {
            ahead.takes_any(&[
                "there is",
                "can smell",
                "smelled",
                "smelt",
                "smell",
                "can hear",
                "heard",
                "hear",
                "noticed",
                "saw",
                "see",
            ]);
        }
        ahead.takes_any(&["a", "an", "some", "the", "something", "faint", "strong"]);
        ahead.takes_any(&["a", "an", "faint", "strong"]);
        let is_one = ahead.a_sign() && ahead.takes_any(&NOTICED_AT);
        if is_one {
            *self = ahead;
        }
        is_one
    }

    /// Where something smells, sparks or buzzes; nothing is passed if it is something else.
    pub(super) fn sign(&mut self) -> Heard<Option<String>> {
        if !self.sign_at() {
            return Ok(None);
        }
        // `a smell by the heater` is where it is plugged in.
        let mut by_load = self.clone();
        by_load.takes("the");
        let load = by_load.load_and_no_place();
        let circuit = self.known.circuit;
        let load = load.and_then(|load| place_of_load(circuit, circuit.load(&load)?));
        let place = match load {
            Some(place) => {
                *self = by_load;
                place
            }
            None => self.place()?,
        };
        self.with_a_load()?;
        Ok(Some(place))
    }

    /// With which load something is warm is understood, and not used.
    pub(super) fn with_a_load(&mut self) -> Heard<()> {
        let mut ahead = self.clone();
        if ahead.when() {
            // With whatever it is.
            let whatever = [
                "i plug something in",
                "i plug anything in",
                "i plug in anything",
                "i plug in something",
                "you plug something in",
                "something is plugged in",
                "anything is plugged in",
                "i use it",
                "i pull the plug out",
                "i pull the plug",
                "i pull a plug",
                "i unplug something",
                "i unplug anything",
            ];
            if !ahead.takes_any(&whatever) {
                ahead.running()?;
            }
            *self = ahead;
        }
        Ok(())
    }
}
