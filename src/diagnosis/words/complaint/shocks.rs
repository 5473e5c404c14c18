//! What is felt by touching something, whoever felt it and however it is said.

use crate::condition::words::lexer::TokenKind;
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::{few, speak};
use crate::diagnosis::Complaint;

use super::super::reader::{Heard, Reader};
use super::lists::{FELT, GIVES, SHOCK, SHOCKS, TINGLES, TINGLES_AT};

/// Who felt it, by a pronoun.
const PRONOUNS: [&str; 19] = [
    "i",
    "me",
    "we",
    "us",
    "you",
    "he",
    "him",
    "she",
    "her",
    "they",
    "them",
    "someone",
    "somebody",
    "anyone",
    "anybody",
    "everybody",
    "everyone",
    "people",
    "whoever",
];

/// Before who felt it.
const ONE: [&str; 9] = ["one of the", "one of", "both", "the", "a", "an", "another", "my", "our"];

/// Who felt it.
const PEOPLE: [&str; 46] = [
    "son",
    "daughter",
    "wife",
    "husband",
    "partner",
    "kid",
    "kids",
    "child",
    "children",
    "boy",
    "girl",
    "baby",
    "mother",
    "father",
    "mum",
    "mom",
    "dad",
    "brother",
    "sister",
    "grandson",
    "granddaughter",
    "grandmother",
    "grandfather",
    "customer",
    "customers",
    "guest",
    "guests",
    "worker",
    "workers",
    "colleague",
    "neighbour",
    "neighbor",
    "helper",
    "apprentice",
    "friend",
    "tenant",
    "employee",
    "employees",
    "boss",
    "crew",
    "cleaner",
    "plumber",
    "lodger",
    "dog",
    "cat",
    "horse",
];

/// How much of it there is.
const SOME: [&str; 26] = [
    "a bit of a",
    "a bit of",
    "a hell of a",
    "quite a",
    "an",
    "a",
    "some",
    "small",
    "slight",
    "mild",
    "little",
    "light",
    "faint",
    "electric",
    "electrical",
    "nasty",
    "bad",
    "big",
    "good",
    "real",
    "sharp",
    "strong",
    "hefty",
    "hard",
    "tiny",
    "little bit of",
];

/// That something is touched.
const TOUCH: [&str; 22] = [
    "touching",
    "touched",
    "touches",
    "touch",
    "grabbed",
    "grabbing",
    "grabs",
    "grab",
    "brushing",
    "brushed",
    "brush against",
    "brush",
    "leaning on",
    "lean on",
    "leaned on",
    "holding",
    "held",
    "hold",
    "using",
    "used",
    "uses",
    "use",
];

/// What is touched, where it was named before.
const IT: [&str; 10] = [
    "it",
    "them",
    "its case",
    "the case",
    "its metal",
    "the metal",
    "its handle",
    "the handle",
    "its body",
    "the body",
];

/// How somebody stands who feels it.
const STANDING: [&str; 8] = [
    "barefoot",
    "in bare feet",
    "in my bare feet",
    "in socks",
    "bare feet",
    "on the ground",
    "on concrete",
    "sweaty",
];

/// Metal that is no load and bears no name.
const METAL: [&str; 22] = [
    "everything that is metal",
    "everything metal",
    "everything made of metal",
    "anything metal",
    "anything that is metal",
    "all the metal",
    "all metal",
    "any metal",
    "metal parts",
    "metalwork",
    "metal things",
    "metal",
    "water pipe",
    "water pipes",
    "metal pipe",
    "pipes",
    "pipe",
    "water tap",
    "taps",
    "tap",
    "faucet",
    "radiator",
];

impl Reader<'_> {
    /// Passes who felt it.
    pub(super) fn somebody(&mut self) -> bool {
        if self.takes_unnamed(&PRONOUNS) {
            return true;
        }
        let mut ahead = self.clone();
        ahead.takes_any(&ONE);
        let is_one = ahead.takes_unnamed(&PEOPLE);
        if is_one {
            *self = ahead;
        }
        is_one
    }

    /// Passes how much of it there is.
    fn some(&mut self) {
        while self.takes_any(&SOME) {}
    }

    /// Passes `when I touch it`, `by touching the case`, `when I'm barefoot`.
    pub(super) fn when_touched(&mut self) -> bool {
        let mut ahead = self.clone();
        let begins = [
            "any time",
            "every time",
            "each time",
            "whenever",
            "when",
            "if",
            "as soon as",
            "while",
            "after",
            "by",
            "once",
        ];
        ahead.takes_any(&begins);
        ahead.somebody();
        let is = ["'m", "'re", "'s", "am", "are", "is", "was", "were"];
        ahead.takes_any(&is);
        ahead.takes_any(&["standing", "walking"]);
        let is_so = ahead.takes_any(&STANDING)
            || ahead.takes_any(&TOUCH)
                && (ahead.takes_any(&IT) || ahead.is_done() || ahead.some_other_thing());
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes `the sink`, where nothing is called so.
    fn some_other_thing(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["the", "a"]);
        let is_free = ahead.token(0).is_some_and(|token| {
            token.kind == TokenKind::Word && self.known.spelling(token.text).is_none()
        });
        ahead.skip(usize::from(is_free));
        let is_all = is_free && ahead.is_done();
        if is_all {
            *self = ahead;
        }
        is_all
    }

    /// What is touched: of metal that bears no name, what is nearest to it.
    fn of_metal(&mut self) -> Heard<Option<String>> {
        let mut ahead = self.clone();
        ahead.takes("the");
        if !ahead.takes_unnamed(&METAL) {
            return Ok(None);
        }
        let at = ahead.clone();
        let near = ahead.takes_any(&["at", "in", "by", "near", "around", "of", "on"]);
        match near.then(|| ahead.place().ok()).flatten() {
            Some(place) => {
                *self = ahead;
                Ok(Some(place))
            }
            None => Err(at.what_is_nearest()),
        }
    }

    fn what_is_nearest(&self) -> Problem {
        let places = self.known.circuit.parts().places.iter();
        let places = places.filter(|place| !place.outlets.is_empty());
        let forms = places.map(|place| format!("tingle from {}", speak::name(&place.id)));
        let message = "what is nearest to it? until it is known, let nobody touch it";
        self.here(message).expected(few(forms))
    }

    /// `tingle from`, `got a shock off`; nothing is passed if it is something else.
    pub(super) fn tingle(&mut self) -> Heard<Option<Complaint>> {
        if let Some(from) = self.touching_gives()? {
            return Ok(Some(Complaint::Tingle { from }));
        }
        let mut ahead = self.clone();
        ahead.somebody();
        let is_felt = ahead.takes_any(&FELT);
        ahead.some();
        let tingles = ahead.takes_any(&TINGLES)
            || is_felt && ahead.takes_any(&["electricity", "current", "power", "voltage"])
            || is_felt && ahead.buzz_when_touched();
        if !tingles || !ahead.takes_any(&TINGLES_AT) {
            return Ok(None);
        }
        if let Some(from) = ahead.of_metal()? {
            *self = ahead;
            return Ok(Some(Complaint::Tingle { from }));
        }
        ahead.takes("the");
        let part = [
            "casing of",
            "housing of",
            "body of",
            "frame of",
            "case of",
            "metal of",
            "cover of",
            "plate of",
            "plate at",
            "plate on",
            "pipe at",
            "box at",
            "outlet at",
            "receptacle at",
            "socket at",
            "switch at",
        ];
        ahead.takes_any(&part);
        ahead.takes("the");
        let from = ahead.due_name(&[Class::Load, Class::Place, Class::Device], "load or place")?;
        ahead.takes_any(&[
            "casing",
            "case",
            "housing",
            "body",
            "frame",
            "plate",
            "cover",
            "outlet",
            "receptacle",
            "socket",
            "switch",
        ]);
        // When it is so is understood, and not used.
        if !ahead.when_touched() && !ahead.weather() {
            ahead.with_a_load()?;
        }
        *self = ahead;
        Ok(Some(Complaint::Tingle { from }))
    }

    /// Passes `buzz` that is felt by touching something: what is only heard is none.
    fn buzz_when_touched(&mut self) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.takes_any(&["buzz", "buzzing", "tickle", "prickle", "prickling"]) && {
            ahead.takes_any(&["from", "by"]);
            let touched = TINGLES_AT.iter().filter(|at| at.contains("touch"));
            touched.into_iter().any(|at| ahead.clone().takes(at))
        };
        if is_so {
            self.skip(1);
            self.takes_any(&["from", "by"]);
        }
        is_so
    }

    /// `a shock from the fridge and the freezer`: from each of them.
    pub(super) fn and_from_others(&mut self, first: Complaint) -> Vec<Complaint> {
        let mut all = vec![first];
        loop {
            let mut ahead = self.clone();
            if !ahead.another() {
                return all;
            }
            ahead.takes("the");
            let Ok(from) =
                ahead.due_name(&[Class::Load, Class::Place, Class::Device], "load or place")
            else {
                return all;
            };
            if !ahead.is_done() && !ahead.clone().another() {
                return all;
            }
            all.push(Complaint::Tingle { from });
            *self = ahead;
        }
    }

    /// Passes `shocks me`, `gave my son an electric shock`.
    pub(super) fn gives_shocks(&mut self) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.takes_any(&SHOCKS)
            || ahead.takes_any(&GIVES) && {
                ahead.somebody();
                ahead.some();
                ahead.takes_any(&SHOCK)
            };
        if is_so {
            ahead.somebody();
            ahead.when_touched();
            *self = ahead;
        }
        is_so
    }

    /// Passes `touching the oven gives a shock`, `pipe at sink tingles`: from what it is felt.
    pub(super) fn touching_gives(&mut self) -> Heard<Option<String>> {
        let mut ahead = self.clone();
        let touched = ahead.takes_any(&["when i touch", "if i touch", "touching"]);
        let at = ahead.clone();
        let metal = ahead.of_metal();
        let from = match &metal {
            Ok(Some(place)) => Some(place.clone()),
            Ok(None) if !touched => return Ok(None),
            Ok(None) => {
                ahead.takes("the");
                ahead.load().or_else(|| ahead.place().ok())
            }
            Err(_) => {
                ahead.takes("the");
                ahead.takes_unnamed(&METAL);
                None
            }
        };
        ahead.pass_marks();
        ahead.pass_before();
        let is_felt = ahead.gives_shocks() || {
            ahead.takes_any(&["i get", "i got", "it gives", "you get"]);
            ahead.somebody();
            ahead.some();
            ahead.takes_any(&SHOCK) || ahead.gives_shocks()
        };
        match from {
            _ if !is_felt => Ok(None),
            Some(from) => {
                *self = ahead;
                Ok(Some(from))
            }
            None => Err(metal.err().unwrap_or_else(|| at.what_is_nearest())),
        }
    }
}
