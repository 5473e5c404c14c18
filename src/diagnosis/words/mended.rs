//! What was put right, tried elsewhere, or complained of since: `mended kiln`, `replaced lamp`, `toaster
//! runs elsewhere`, `since then sink dead`.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use crate::circuit::{Circuit, Load};
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::{self, Class};
use crate::condition::words::problem::WordsProblem;
use crate::condition::words::speak;
use crate::diagnosis::{
    Elsewhere, LoadSeen, Mended, Moment, Observation, Seen, Tool, place_of_handle, place_of_load,
};

use super::each_sentence;
use super::opened::COLOURS;
use super::reader::{Heard, Reader};
use super::seen::{BREAKER, GROUND_FAULT};

/// Who did it, before what was done.
const WHO: [&str; 15] = [
    "i have",
    "we have",
    "have",
    "has been",
    "has",
    "was",
    "is",
    "i",
    "we",
    "electrician",
    "somebody",
    "someone",
    "just",
    "now",
    "then",
];

/// Of a box.
const MENDED: [&str; 18] = [
    "re-terminated",
    "re-made",
    "put back",
    "sorted out",
    "sorted",
    "done",
    "mended",
    "repaired",
    "fixed",
    "put right",
    "remade",
    "redid",
    "redone",
    "retightened",
    "tightened",
    "rewired",
    "reconnected",
    "made good",
];

/// What of a box, before where it is.
const JOINTS: [&str; 19] = [
    "backstabs",
    "wire nuts",
    "wires back",
    "everything",
    "all joints",
    "all connections",
    "all screws",
    "all splices",
    "all terminals",
    "all wires",
    "joints",
    "joint",
    "connections",
    "screws",
    "splices",
    "splice",
    "terminals",
    "wires",
    "wiring",
];

/// Of a load, or of a receptacle with what is behind it.
const REPLACED: [&str; 21] = [
    "replaced",
    "exchanged",
    "swapped out",
    "swapped",
    "changed",
    "renewed",
    "put in a new",
    "put a new",
    "fitted a new",
    "fitted new",
    "ran a new",
    "run a new",
    "pulled a new",
    "pulled in a new",
    "laid a new",
    "installed a new",
    "installed new",
    "screwed in a new",
    "tried a new",
    "tried a good",
    "new",
];

/// Whoever delivers what comes from outside.
const OPERATOR: [&str; 5] =
    ["network operator", "power company", "electric company", "electricity company", "utility"];

/// What comes from outside.
const SUPPLY: [&str; 8] = [
    "supply voltage",
    "supply",
    "service conductors",
    "service neutral",
    "service drop",
    "service",
    "mains voltage",
    "mains",
];

/// What is new in a load.
const LAMPS: [&str; 8] =
    ["light bulb", "light bulbs", "bulb", "bulbs", "lamp", "lamps", "tube", "tubes"];

/// Where the supply is good.
const ELSEWHERE: [&str; 20] = [
    "elsewhere",
    "somewhere else",
    "anywhere else",
    "in another room",
    "in another receptacle",
    "in another outlet",
    "in another socket",
    "in other outlet",
    "in other receptacle",
    "in a good outlet",
    "in a good receptacle",
    "in a good socket",
    "at another receptacle",
    "at another outlet",
    "at another place",
    "on another circuit",
    "on another breaker",
    "next door",
    "in other places",
    "in any other outlet",
];

/// What a load that is wrong inside does wherever it is plugged in, and to what.
const TRIPS: [&str; 14] = [
    "trips the breaker",
    "trips a breaker",
    "trips its breaker",
    "trips breakers",
    "trips it",
    "trips",
    "tripped the breaker",
    "tripped a breaker",
    "tripped it",
    "tripped",
    "pops the breaker",
    "pops",
    "blows the fuse",
    "blows",
];
const OTHERS: [&str; 12] = [
    "another breaker",
    "another circuit",
    "another fuse",
    "other breakers",
    "other circuits",
    "any breaker",
    "any other breaker",
    "any other circuit",
    "every breaker",
    "the other breaker",
    "the other circuit",
    "the next circuit",
];

/// What a load was found to be that was tested by itself.
const TESTED: [(&str, Elsewhere); 8] = [
    ("good", Elsewhere::Runs),
    ("ok", Elsewhere::Runs),
    ("okay", Elsewhere::Runs),
    ("fine", Elsewhere::Runs),
    ("bad", Elsewhere::Dead),
    ("faulty", Elsewhere::Dead),
    ("open", Elsewhere::Dead),
    ("dead", Elsewhere::Dead),
];

/// What came after something was put right.
const SINCE: [&str; 8] = [
    "since then",
    "since that",
    "after that",
    "after the repair",
    "since the repair",
    "afterwards",
    "still",
    "now",
];

/// Reads observations: once something was put right what is no observation may be a complaint again.
pub(super) fn observations(
    circuit: &Circuit,
    tools: &[Tool],
    text: &str,
) -> Result<Vec<Observation>, Vec<WordsProblem>> {
    let is_mended = Cell::new(false);
    let before = RefCell::new(Rc::default());
    each_sentence(circuit, text, |reader| {
        reader.seen = Rc::clone(&before.borrow());
        let seen = match reader.clone().observations(tools) {
            Err(problem) if is_mended.get() => {
                reader.clone().called_again().map_err(|_| problem)?
            }
            seen => seen?,
        };
        is_mended.set(is_mended.get() || seen.iter().any(is_put_right));
        Rc::make_mut(&mut before.borrow_mut()).extend_from_slice(&seen);
        Ok(seen)
    })
}

/// Whether it says that something was put right.
pub(super) const fn is_put_right(one: &Observation) -> bool {
    matches!(one.seen, Seen::Mended(_))
}

/// Something that was seen whatever stood how.
pub(super) fn alone(seen: Seen) -> Observation {
    Observation { moment: Moment::default(), seen }
}

impl Reader<'_> {
    /// What was put right or tried elsewhere, or is complained of since; `None` if it is none of
    /// these.
    pub(super) fn after_repair(&mut self, tools: &[Tool]) -> Heard<Option<Vec<Observation>>> {
        let mut ahead = self.clone();
        if ahead.takes_any(&SINCE) {
            ahead.pass_marks();
            let again = ahead.clone().observations(tools);
            return match self.takes("since then") {
                true => ahead.called_again().map(Some),
                false => {
                    again.or_else(|problem| ahead.called_again().map_err(|_| problem)).map(Some)
                }
            };
        }
        if let Some(both) = self.mended_and_seen(tools)? {
            return Ok(Some(both));
        }
        if let Some(tried) = self.tried_elsewhere()? {
            return Ok(Some(vec![alone(tried)]));
        }
        Ok(self.mended()?.map(|what| vec![alone(Seen::Mended(what))]))
    }

    /// `mended dip but rack still dead`: what was put right, and what was seen then.
    fn mended_and_seen(&mut self, tools: &[Tool]) -> Heard<Option<Vec<Observation>>> {
        let tokens = self.rest();
        let is_mark = |token: &Token<'_>| token.kind == TokenKind::Comma;
        let joins = |token: &Token<'_>| {
            is_mark(token)
                || ["and", "but"].iter().any(|word| token.text.eq_ignore_ascii_case(word))
        };
        let joints = tokens.iter().enumerate().filter(|(_, token)| joins(token));
        let mut unheard = None;
        for (at, joint) in joints.rev() {
            let (first, then) = tokens.split_at_checked(at).unwrap_or_default();
            let part = |tokens| Self::new(self.known, self.text, tokens);
            let Ok(Some(what)) = part(first).mended() else { continue };
            let own = self.with_it_named(first, then.get(1..).unwrap_or_default());
            let then = Reader::new(self.known, self.text, &own);
            let again = |_| then.clone().called_again();
            match then.clone().observations(tools).or_else(again) {
                Ok(seen) => {
                    self.skip(tokens.len());
                    let what = std::iter::once(alone(Seen::Mended(what)));
                    return Ok(Some(what.chain(seen).collect()));
                }
                Err(_) if then.clone().is_of_nothing_named() => {
                    let name = part(first)
                        .places_named()
                        .next()
                        .map_or("BOX".to_owned(), |at| speak::name(&at));
                    let forms = [format!("{name} still dead"), format!("{name} works")];
                    return Err(then.here("what is so since? say its name").expected(forms));
                }
                Err(problem) if is_mark(joint) && !then.is_done() => {
                    let seen = then
                        .clone()
                        .tool(tools)
                        .and_then(|_| then.clone().observations(tools).err());
                    unheard = Some(seen.unwrap_or(problem));
                }
                Err(_) => {}
            }
        }
        unheard.map_or(Ok(None), Err)
    }

    /// `it works`: what was put right does.
    fn with_it_named<'t>(&self, first: &[Token<'t>], then: &[Token<'t>]) -> Vec<Token<'t>> {
        let classes = [Class::Place, Class::Load];
        let named =
            first.iter().find(|one| self.known.spelling_among(&classes, one.text).is_some());
        match (then, named) {
            ([it, rest @ ..], Some(named)) if it.text.eq_ignore_ascii_case("it") => {
                std::iter::once(named.clone()).chain(rest.iter().cloned()).collect()
            }
            _ => then.to_vec(),
        }
    }

    /// `still dead`, `works now`, and no name.
    fn is_of_nothing_named(&mut self) -> bool {
        let begun = self.rest().len();
        self.takes_any(&["it is", "it", "is"]);
        let is_still = self.takes_any(&["still", "now", "again"]);
        let is_so = self.takes_any(&["works", "work", "working", "dead", "trips", "the same"]);
        (is_still || is_so) && self.rest().len() < begun && {
            self.takes_any(&["dead", "trips", "now", "fine", "not working"]);
            self.is_done()
        }
    }

    /// A complaint that is made again.
    fn called_again(&mut self) -> Heard<Vec<Observation>> {
        let complaints = self.complaint()?;
        Ok(complaints.into_iter().map(|one| alone(Seen::CalledAgain(one))).collect())
    }

    /// `toaster trips elsewhere too`, `toaster trips another breaker`.
    fn trips_elsewhere(&mut self) -> Option<Seen> {
        let mut ahead = self.clone();
        ahead.pass_small();
        let load = ahead.load()?;
        ahead.takes_any(&["also"]);
        if !ahead.takes_any(&TRIPS) {
            return None;
        }
        ahead.takes_any(&["too", "also", "when plugged in", "plugged in"]);
        if !ahead.takes_any(&ELSEWHERE) && !ahead.takes_any(&OTHERS) {
            return None;
        }
        ahead.takes_any(&["too", "also", "as well"]);
        ahead.end().ok()?;
        *self = ahead;
        Some(Seen::TriedElsewhere { load, did: Elsewhere::Trips })
    }

    /// `toaster tested good`: a load that was measured by itself, which is where the supply is good.
    fn tested(&mut self) -> Option<Seen> {
        let mut ahead = self.clone();
        ahead.pass_small();
        let load = ahead.load()?;
        if !ahead.takes_any(&["tested", "tests", "checked", "checked out", "checks out"]) {
            return None;
        }
        let did = ahead.choice(&TESTED)?;
        ahead.end().ok()?;
        *self = ahead;
        Some(Seen::TriedElsewhere { load, did })
    }

    /// `tried toaster elsewhere: runs`.
    fn tried_elsewhere(&mut self) -> Heard<Option<Seen>> {
        if let Some(found) = self.trips_elsewhere().or_else(|| self.tested()) {
            return Ok(Some(found));
        }
        let mut ahead = self.clone();
        ahead.pass_who();
        if !ahead.takes_any(&["tried", "tested", "plugged", "took"]) {
            return Ok(None);
        }
        let Some(load) = ahead.load() else { return Ok(None) };
        if !ahead.takes_any(&ELSEWHERE) && !ahead.at_another_place(&load) {
            return Ok(None);
        }
        ahead.pass_marks();
        ahead.takes_any(&["and it", "and", "there it", "where it", "it"]);
        if ahead.takes_any(&TRIPS) {
            ahead.takes_any(&["there", "too", "also"]);
            ahead.end()?;
            *self = ahead;
            return Ok(Some(Seen::TriedElsewhere { load, did: Elsewhere::Trips }));
        }
        let did = ahead.load_seen()?;
        ahead.takes_any(&["there", "too", "also"]);
        ahead.end()?;
        let seen = ahead.elsewhere(load, did)?;
        *self = ahead;
        Ok(Some(seen))
    }

    /// Whether what loads were seen to do was seen where the supply is good.
    pub(super) fn is_elsewhere(&mut self, load: &str) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["too", "also", "when plugged in", "plugged in"]);
        let is_elsewhere = ahead.takes_any(&ELSEWHERE) || ahead.at_another_place(load);
        if is_elsewhere {
            ahead.takes_any(&["too", "also", "either"]);
            *self = ahead;
        }
        is_elsewhere
    }

    /// `at bench1`, `in the desk socket`: a place that is not the load's own.
    fn at_another_place(&mut self, load: &str) -> bool {
        let mut ahead = self.clone();
        if !ahead.takes_any(&[
            "at",
            "in",
            "on an extension cord from",
            "on an extension from",
            "on",
            "plugged into",
            "from",
        ]) {
            return false;
        }
        ahead.takes("the");
        let Some(place) = ahead.name(&[Class::Place]) else { return false };
        ahead.takes_any(&["outlet", "receptacle", "socket", "socket-outlet", "box"]);
        let circuit = self.known.circuit;
        let own = circuit.load(load).and_then(|load| place_of_load(circuit, load));
        let is_another = own.is_some_and(|own| own != place);
        if is_another {
            *self = ahead;
        }
        is_another
    }

    /// What a load does where the supply is good.
    pub(super) fn elsewhere(&self, load: String, did: LoadSeen) -> Heard<Seen> {
        match did {
            LoadSeen::Runs => Ok(Seen::TriedElsewhere { load, did: Elsewhere::Runs }),
            LoadSeen::Dead => Ok(Seen::TriedElsewhere { load, did: Elsewhere::Dead }),
            _ => {
                let name = speak::name(&load);
                let message = "tried where the supply is good, a load runs, is dead or trips";
                let forms = ["runs", "dead", "trips"].map(|did| format!("{name} {did} elsewhere"));
                Err(self.here(message).expected(forms))
            }
        }
    }

    fn pass_who(&mut self) {
        self.pass_small();
        while self.takes_any(&WHO) {
            self.pass_small();
        }
    }

    /// `mended kiln`, `new bulb in lamp`, `kiln has been repaired`.
    fn mended(&mut self) -> Heard<Option<Mended>> {
        let mut ahead = self.clone();
        ahead.pass_small();
        if ahead.takes_any(&OPERATOR) {
            ahead.pass_who();
            if ahead.takes_any(&MENDED) || ahead.takes_any(&REPLACED) {
                *self = ahead;
                if !self.supply() {
                    self.takes("it");
                }
                self.end()?;
                return Ok(Some(Mended::Supply));
            }
        }
        let mut ahead = self.clone();
        ahead.pass_who();
        let is_box = ahead.takes_any(&MENDED);
        if is_box || ahead.takes_any(&REPLACED) {
            *self = ahead;
            if let Some(cable) = self.cable_replaced()? {
                return Ok(Some(cable));
            }
            if self.supply_to_its_end() {
                return Ok(Some(Mended::Supply));
            }
            return self.what_was_mended(is_box).map(Some);
        }
        // What was done may stand behind its name.
        let mut ahead = self.clone();
        let cable = ahead.clone().cable_named()?;
        if let Some((cable, behind)) = cable {
            ahead = behind;
            ahead.pass_who();
            if !ahead.takes_any(&REPLACED) && !ahead.takes_any(&MENDED) {
                return Ok(None);
            }
            ahead.end()?;
            *self = ahead;
            return Ok(Some(Mended::Cable { cable }));
        }
        let mut behind = ahead.clone();
        if behind.supply() {
            behind.pass_who();
            if (behind.takes_any(&MENDED) || behind.takes_any(&REPLACED)) && behind.end().is_ok() {
                *self = behind;
                return Ok(Some(Mended::Supply));
            }
        }
        let Ok(what) = ahead.box_or_load(true) else { return Ok(None) };
        ahead.pass_who();
        let is_box = ahead.takes_any(&MENDED);
        if !is_box && !ahead.takes_any(&REPLACED) {
            return Ok(None);
        }
        let what = if is_box { what } else { self.clone().box_or_load(false)? };
        ahead.end()?;
        *self = ahead;
        Ok(Some(what))
    }

    /// `supply`, where nothing in the circuit is called so.
    fn supply(&mut self) -> bool {
        self.pass_small();
        self.clone().box_or_load(true).is_err() && self.takes_any(&SUPPLY)
    }

    /// The same, or what was said to be done by whoever delivers it, to the end of a sentence.
    fn supply_to_its_end(&mut self) -> bool {
        let mut behind = self.clone();
        let is_it = behind.supply() && behind.end().is_ok();
        if is_it {
            *self = behind;
        }
        is_it
    }

    /// `cable bench-wheel`, `the cable between bench and wheel` to the end of a sentence.
    fn cable_replaced(&mut self) -> Heard<Option<Mended>> {
        let Some((cable, mut behind)) = self.cable_named()? else { return Ok(None) };
        behind.end()?;
        *self = behind;
        Ok(Some(Mended::Cable { cable }))
    }

    /// A cable by its name or by the boxes it joins, with what comes behind it.
    fn cable_named(&mut self) -> Heard<Option<(String, Self)>> {
        let mut ahead = self.clone();
        ahead.pass_small();
        ahead.takes("whole");
        if !ahead.takes_unnamed(&["cable", "run", "wire", "line"]) {
            return Ok(None);
        }
        if let Some(cable) = ahead.name(&[Class::Cable]) {
            return Ok(Some((cable, ahead)));
        }
        if !ahead.takes_any(&["between", "from"]) {
            let cables = self.names(&[Class::Cable]);
            return Err(ahead.no_such("cable", cables));
        }
        let one = ahead.due_name(&[Class::Place, Class::Circuit], "box")?;
        ahead.takes_any(&["and", "to"]);
        let at = ahead.clone();
        let other = ahead.due_name(&[Class::Place], "box")?;
        match self.known.cables_between(&one, &other).as_slice() {
            [only] => Ok(Some((only.clone(), ahead))),
            some => {
                let message = match some {
                    [] => format!("no cable joins {one} and {other}"),
                    _ => format!("several cables join {one} and {other}: which?"),
                };
                let problem = at.here(message);
                Err(match some {
                    [] => problem.expected(self.names(&[Class::Cable])),
                    some => problem.expected(some),
                })
            }
        }
    }

    /// Behind what was done to it.
    fn what_was_mended(&mut self, is_box: bool) -> Heard<Mended> {
        self.pass_small();
        if let Some(place) = self.handle_replaced() {
            return Ok(Mended::Box { place });
        }
        self.which_ground_fault()?;
        if let Some(place) = self.joint_mended_at() {
            return Ok(Mended::Box { place });
        }
        if self.token(0).is_some_and(is_of_wire) {
            let message = "of which joint? say what was found first, then that it is mended";
            let forms = ["`opened BOX: ` and what was found", "`mended BOX`"];
            return Err(self.here(message).expected(forms));
        }
        if let Ok(what) = self.clone().ended(|reader| reader.box_or_load(is_box)) {
            return Ok(what);
        }
        self.takes_any(&JOINTS);
        let is_lamp = self.takes_any(&LAMPS);
        let is_part = !is_lamp && self.part_word();
        self.takes_any(&["at", "in", "of", "for", "by", "on", "into"]);
        self.pass_small();
        if is_lamp && let Some(load) = self.clone().lamp_there() {
            self.skip(1);
            self.end()?;
            return Ok(Mended::Load { load });
        }
        self.ended(|reader| reader.box_or_load(is_part || is_box && !is_lamp))
    }

    /// `breaker c2`, `GFCI at workshop` to the end of a sentence: where it sits.
    fn handle_replaced(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let is_said = ahead.clone().takes_any(&BREAKER) || ahead.clone().takes_any(&GROUND_FAULT);
        let handle = is_said.then(|| ahead.protection()).flatten()?;
        ahead.end().ok()?;
        let place = place_of_handle(self.known.circuit, &handle)?;
        *self = ahead;
        Some(place)
    }

    /// `loose neutral at kiln` to the end of a sentence: the place.
    fn joint_mended_at(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let is_bad =
            ahead.takes_any(&["loose", "bad", "burnt", "burned", "broken", "open", "damaged"]);
        let joint = ["wire", "joint", "connection", "splice", "screw", "wirenut", "wire nut"];
        let mut is_joint = false;
        while ahead.token(0).is_some_and(is_of_wire) || ahead.clone().takes_any(&joint) {
            ahead.skip(1);
            is_joint = true;
        }
        if !is_bad || !is_joint || !ahead.takes_any(&["at", "in", "on"]) {
            return None;
        }
        ahead.pass_small();
        let place = ahead.name(&[Class::Place])?;
        ahead.part_word();
        ahead.end().ok()?;
        *self = ahead;
        Some(place)
    }

    fn ended<T>(&mut self, read: impl Fn(&mut Self) -> Heard<T>) -> Heard<T> {
        let what = read(self)?;
        // `put a new lamp in`
        self.takes("in");
        self.end()?;
        Ok(what)
    }

    /// The only load at a place that is named.
    fn lamp_there(&mut self) -> Option<String> {
        let place = self.name(&[Class::Place])?;
        let circuit = self.known.circuit;
        let is_there = |load: &&Load| {
            place_of_load(circuit, load).is_some_and(|at| super::seen::is_within(&at, &place))
        };
        let mut there = circuit.parts().loads.iter().filter(is_there);
        let only = there.next().filter(|_| there.next().is_none())?;
        Some(only.id.clone())
    }

    /// A box or a load by name, a box first if both are called so and it is rather that.
    fn box_or_load(&mut self, rather_a_box: bool) -> Heard<Mended> {
        self.pass_small();
        let mut boxes = self.clone();
        boxes.part_word();
        boxes.takes_any(&["at", "in"]);
        let place = boxes.name(&[Class::Place]).map(|place| {
            if !boxes.part_word() {
                boxes.takes_any(&GROUND_FAULT);
            }
            (Mended::Box { place }, boxes)
        });
        let mut loads = self.clone();
        let load = loads.load().map(|load| (Mended::Load { load }, loads));
        let either = if rather_a_box { place.or(load) } else { load.or(place) };
        let Some((what, read)) = either else {
            return Err(self.no_such("box or load", self.names(&[Class::Place, Class::Load])));
        };
        *self = read;
        Ok(what)
    }
}

/// What a wire is called by, or looks like.
pub(super) fn is_of_wire(token: &Token<'_>) -> bool {
    lexicon::conductor(token.text).is_some() || COLOURS.contains(&token.text)
}

/// What was put right, in words that are heard as it.
pub(super) fn tell(what: &Mended) -> String {
    match what {
        Mended::Box { place } => format!("mended {}", speak::name(place)),
        Mended::Load { load } => format!("replaced {}", speak::name(load)),
        Mended::Cable { cable } => format!("replaced cable {}", speak::name(cable)),
        Mended::Supply => "mended supply".to_owned(),
    }
}

/// What a load did where the supply is good, in words that are heard as it.
pub(super) fn tell_elsewhere(load: &str, did: Elsewhere) -> String {
    let did = match did {
        Elsewhere::Runs => "runs",
        Elsewhere::Dead => "dead",
        Elsewhere::Trips => "trips",
    };
    format!("{} {did} elsewhere", speak::name(load))
}
