//! What was complained of: `dead from kiln on`, `lights brighten when the oven starts`.

use crate::circuit::{LoadKind, Place, PlaceKind};
use crate::condition::words::known::is_switch;
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::speak;
use crate::diagnosis::Complaint;
use crate::diagnosis::symptom::{fed, run};

use super::reader::{Heard, Reader, meant};

mod does;
mod given;
mod lists;
mod measured;
mod part;
mod power;
mod refuse;
mod tell;
mod trips;
mod vague;
mod whole;

use does::{DOES, Does, TAKES_AGES, TO_GET_GOING};
use lists::{
    ALL_IN, ALL_ON, COMES_AND_GOES, COMES_AND_GOES_AT, DEAD, EVERYWHERE, FELT, LIGHTS,
    LIGHTS_UNNAMED, NOTHING, NOTICED_AT, SIGNS, THE_REST, TINGLES, TINGLES_AT, TOUCHED, WARM,
    WHOLE_HOUSE, WORKS,
};
pub(super) use tell::tell;
use trips::WEATHER;

/// Joins what is said in one sentence.
pub(super) const JOINS: [&str; 11] = [
    "and then",
    "and also",
    "and now",
    "and",
    "but",
    "because",
    "even though",
    "although",
    "though",
    "whereas",
    "yet",
];

/// How a load runs, before what it is like.
const TURNS: [&str; 6] = ["turns", "turn", "spins", "spin", "shines", "shine"];

/// That it runs, or is heard, before what it is like.
const RUNS_AND: [&str; 10] = [
    "burns",
    "burn",
    "runs",
    "run",
    "hums and",
    "hums but",
    "hum and",
    "clicks and",
    "clicks but",
    "click and",
];

/// Of lights it is so wherever they are.
const EVERYWHERE_SO: [&str; 5] = [
    "everywhere",
    "all over the house",
    "in the whole house",
    "throughout the house",
    "in the house",
];

/// What a complaint may begin with, for who said something else.
const FORMS: [&str; 11] = [
    "dead from BOX on",
    "BOX dead",
    "half of BOX dead",
    "half the house dead",
    "BOX works",
    "lights dim",
    "lights brighten when LOAD runs",
    "breaker CIRCUIT trips at once",
    "DEVICE does not reset",
    "tingle from LOAD",
    "nothing noticed",
];

impl Reader<'_> {
    /// One sentence: one complaint, or several where what is fed from a place is meant, or where
    /// one follows another after a comma or an `and`.
    pub(super) fn complaint(&mut self) -> Heard<Vec<Complaint>> {
        self.pass_marks();
        self.given = self.said_first()?;
        let mut complaints = self.one_complaint()?;
        loop {
            let (before, joined) = (self.clone(), self.clone().takes("and"));
            let Some(more) = self.one_more()? else { break };
            if joined {
                before.with_the_same_load(&mut complaints, &more)?;
            }
            complaints.extend(more);
        }
        self.end()?;
        match self.given.take() {
            Some(given) => self.given_first(&given, complaints),
            None => Ok(complaints),
        }
    }

    /// `lamp dims and radio flickers when kettle runs`: the load is that of both.
    fn with_the_same_load(&self, earlier: &mut [Complaint], more: &[Complaint]) -> Heard<()> {
        let load = more.iter().find_map(|one| match one {
            Complaint::Dim { when, .. } | Complaint::Bright { when, .. } => when.clone(),
            _ => None,
        });
        let Some(load) = load else { return Ok(()) };
        for one in earlier {
            match one {
                Complaint::Dim { when, .. } | Complaint::Bright { when, .. } => {
                    when.get_or_insert_with(|| load.clone());
                }
                Complaint::Flickers { loads } => {
                    let (loads, when) = (std::mem::take(loads), Some(load.clone()));
                    *one = Complaint::Dim { loads, when };
                }
                Complaint::LoadDead { load: dead } => {
                    let (name, load) = (speak::name(dead), speak::name(&load));
                    let message = format!("is {name} dead only when {load} runs?");
                    return Err(self.here(message).expected([
                        format!("`{name} dead with {load} on` with what was seen"),
                        format!("`;` between the two, as `{name} does not run;`"),
                    ]));
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// One complaint, as far as it goes.
    pub(super) fn one_complaint(&mut self) -> Heard<Vec<Complaint>> {
        let said = match self.unnamed()? {
            Some(complaints) => complaints,
            None => self.named()?,
        };
        match <[Complaint; 1]>::try_from(said) {
            Ok([only]) => Ok(self.beyond_panels(only)),
            Err(several) => Ok(several),
        }
    }

    /// Of a panel that is fed from another, and of its feeder, everything beyond it is meant: in
    /// itself there is nothing that could be seen to be dead.
    fn beyond_panels(&self, said: Complaint) -> Vec<Complaint> {
        let circuit = self.known.circuit;
        let is_fed = |place: &String| {
            let fed = |one: &Place| one.kind == PlaceKind::Panel && !one.line_cables.is_empty();
            circuit.place(place).is_some_and(fed) && !self.next_to(place).is_empty()
        };
        match said {
            Complaint::Dead { places } => {
                let (panels, places): (Vec<_>, Vec<_>) = places.into_iter().partition(is_fed);
                let beyond = panels.iter().flat_map(|panel| self.next_to(panel)).collect();
                let there = (!places.is_empty()).then_some(Complaint::Dead { places });
                there.into_iter().chain(dead_from(beyond)).collect()
            }
            Complaint::DeadFrom { place } if is_fed(&place) => dead_from(self.next_to(&place)),
            Complaint::AllDead { circuit: feeder } => {
                let fed = self.by_name(fed(circuit, &feeder)).into_iter().next();
                match fed.filter(is_fed) {
                    Some(panel) => dead_from(self.next_to(&panel)),
                    None => vec![Complaint::AllDead { circuit: feeder }],
                }
            }
            Complaint::Works { mut places } => {
                let panels: Vec<String> = places.extract_if(.., |place| is_fed(place)).collect();
                let beyond = panels.iter().flat_map(|panel| run(circuit, panel).1).collect();
                places.extend(self.by_name(beyond));
                vec![Complaint::Works { places }]
            }
            other => vec![other],
        }
    }

    /// The places that are fed from this one, each the next after it.
    fn next_to(&self, place: &str) -> Vec<String> {
        let places = &self.known.circuit.parts().places;
        let next = places.iter().filter(|next| next.fed_from.as_deref() == Some(place));
        next.map(|next| next.id.clone()).collect()
    }

    /// Another complaint in the same breath; none if nothing that is one begins there.
    fn one_more(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes_any(&JOINS);
        let (before, begins) = (self.rest().len(), ahead.rest().len());
        if begins == before || ahead.is_done() {
            return Ok(None);
        }
        let start = ahead.span().start;
        match ahead.one_complaint() {
            Ok(more) => {
                *self = ahead;
                Ok(Some(more))
            }
            // What was understood of it says that a complaint was meant.
            Err(problem) if problem.span.start > start || ahead.clone().unnamed_breaker() => {
                Err(problem)
            }
            Err(_) => Ok(None),
        }
    }

    /// Complaints that begin with no name.
    fn unnamed(&mut self) -> Heard<Option<Vec<Complaint>>> {
        self.refuse_all_off_when()?;
        for whole in [Self::past_is, Self::none_works, Self::sparks_with] {
            if let Some(complaints) = whole(self)? {
                return Ok(Some(complaints));
            }
        }
        let is_all_dead = self.clone().takes_any(&EVERYWHERE);
        if !is_all_dead && self.takes_any(&NOTHING) {
            return Ok(Some(vec![Complaint::NothingSeen]));
        }
        if let Some(tingle) = self.tingle()? {
            return Ok(Some(vec![tingle]));
        }
        if self.sign_at() {
            let place = self.place()?;
            self.with_a_load()?;
            return Ok(Some(vec![Complaint::Warm { place }]));
        }
        if let Some(warm) = self.part_at_place()? {
            return Ok(Some(vec![warm]));
        }
        if self.takes_any(&COMES_AND_GOES_AT) {
            let places = self.places()?;
            return self.comes_and_goes(&places).map(|one| Some(vec![one]));
        }
        self.refuse_measured(None)?;
        self.refuse_half_unplaced()?;
        self.refuse_vague_somewhere()?;
        if let Some(comes) = self.power_comes_and_goes()? {
            return Ok(Some(vec![comes]));
        }
        if self.no_power() {
            return self.dead_where().map(Some);
        }
        let mut ahead = self.clone();
        if !is_all_dead && ahead.no_power_said() && ahead.is_done() {
            let forms = ["everything dead", "half the house dead", "BOX dead", "dead from BOX on"];
            return Err(ahead.here("where is it dead?").expected(forms));
        }
        if let Some(lost) = self.lost()? {
            return Ok(Some(lost));
        }
        if let Some(placed) = self.place_first()? {
            return Ok(Some(placed));
        }
        if self.clone().takes_any(&["no lights", "no light"]) {
            return Err(self.which_lights());
        }
        if self.half_the_house() {
            return Ok(Some(vec![Complaint::HalfTheHouse]));
        }
        for whole in [Self::past_is, Self::none_works, Self::only_these_work, Self::everything_but]
        {
            if let Some(complaints) = whole(self)? {
                return Ok(Some(complaints));
            }
        }
        self.part_of_a_house()?;
        if self.takes_any(&["half of", "one half of", "half"]) {
            let before = self.clone();
            let place = self.place()?;
            self.is_dead()?;
            before.refuse_half(&place)?;
            before.refuse_half_of_one(&place)?;
            return Ok(Some(vec![Complaint::HalfDead { place }]));
        }
        self.everything()
    }

    /// Passes `burning smell at` and its like.
    fn sign_at(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["i", "we", "you can", "you"]);
        let mut direct = ahead.clone();
        if !(direct.takes_any(&SIGNS) && direct.takes_any(&NOTICED_AT)) {
            ahead.takes_any(&["there is", "can smell", "smell", "can hear", "hear", "saw", "see"]);
        }
        ahead.takes_any(&["a", "an", "some", "the", "something", "faint", "strong"]);
        ahead.takes_any(&["a", "an", "faint", "strong"]);
        let is_one = ahead.takes_any(&SIGNS) && ahead.takes_any(&NOTICED_AT);
        if is_one {
            *self = ahead;
        }
        is_one
    }

    /// Passes `no power`, `lost power`, where a place comes next.
    fn no_power(&mut self) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.no_power_said() && ahead.where_is_next();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// With which load something is warm is understood, and not used.
    fn with_a_load(&mut self) -> Heard<()> {
        let mut ahead = self.clone();
        if ahead.when() {
            ahead.running()?;
            *self = ahead;
        }
        Ok(())
    }

    /// Whether it is half of the house that is dead.
    fn half_the_house(&mut self) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.half_the_house_named() && ahead.is_dead().is_ok();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Complaints of everything, or everything somewhere.
    fn everything(&mut self) -> Heard<Option<Vec<Complaint>>> {
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
    fn dead_comes_first(&mut self) -> bool {
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
    fn all_of(&mut self, on: bool) -> Heard<Complaint> {
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
    fn circuit(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        ahead.takes_any(&["circuit", "breaker"]);
        let circuit = ahead.name(&[Class::Circuit])?;
        ahead.takes_any(&["circuit", "breaker"]);
        *self = ahead;
        Some(circuit)
    }

    /// That all the rest works, or that nothing at all does.
    fn everywhere(&mut self) -> Option<Vec<Complaint>> {
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
                ahead.pass_marks();
                !ahead.where_is_next()
            };
        if !is_whole && (!ahead.takes_any(&EVERYWHERE) || ahead.where_is_next()) {
            return None;
        }
        *self = ahead;
        Some(self.all_dead())
    }

    /// Each branch circuit is dead.
    fn all_dead(&self) -> Vec<Complaint> {
        let circuits = self.known.circuit.parts().branch_circuits.iter();
        circuits.map(|one| Complaint::AllDead { circuit: one.id.clone() }).collect()
    }

    /// What is left out of all that works; nothing is passed if it is something else.
    fn except(&mut self) -> Option<Vec<Complaint>> {
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

    /// Whether a place comes next where it is dead.
    fn where_is_next(&self) -> bool {
        let words = [
            "from",
            "past",
            "beyond",
            "after",
            "at",
            "in",
            "on",
            "to",
            "for",
            "downstream",
            "behind",
        ];
        self.token(0)
            .is_some_and(|token| words.iter().any(|word| token.text.eq_ignore_ascii_case(word)))
    }

    /// Names of places by their numbers.
    fn by_name(&self, numbers: Vec<usize>) -> Vec<String> {
        let places = &self.known.circuit.parts().places;
        numbers.iter().filter_map(|&at| places.get(at)).map(|place| place.id.clone()).collect()
    }

    /// `tingle from`, `got a shock off`; nothing is passed if it is something else.
    fn tingle(&mut self) -> Heard<Option<Complaint>> {
        if let Some(from) = self.touching_gives()? {
            return Ok(Some(Complaint::Tingle { from }));
        }
        let mut ahead = self.clone();
        ahead.takes_any(&["i", "we", "you", "someone", "somebody"]);
        let is_felt = ahead.takes_any(&FELT);
        ahead.takes_any(&["a small", "a slight", "a mild", "a", "an electric", "electric"]);
        let tingles = ahead.takes_any(&TINGLES)
            || is_felt && ahead.takes_any(&["electricity", "current", "power", "voltage"]);
        if !tingles || !ahead.takes_any(&TINGLES_AT) {
            return Ok(None);
        }
        ahead.takes("the");
        let part = [
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
        ahead.takes_any(&["case", "plate", "cover", "outlet", "receptacle", "socket", "switch"]);
        *self = ahead;
        Ok(Some(Complaint::Tingle { from }))
    }

    fn place(&mut self) -> Heard<String> {
        self.takes("the");
        if let Some(half) = self.half()? {
            return Ok(half);
        }
        if self.part_without_name() {
            return self.only_of_its_kind();
        }
        self.what_it_is();
        let place = match self.outlet_address() {
            Some(outlet) => outlet,
            None => self.due_name(&[Class::Place, Class::Device], "box or receptacle")?,
        };
        self.part_word();
        Ok(self.half_behind(&place).unwrap_or(place))
    }

    /// Passes `outlet at` and its like before a place, unless it is the name of one.
    fn what_it_is(&mut self) {
        let mut ahead = self.clone();
        if !ahead.part_word() && !ahead.takes("switch") {
            return;
        }
        ahead.takes_any(&["at", "in", "by", "of"]);
        ahead.takes("the");
        let classes = [Class::Place, Class::Device];
        let is_name = |reader: &Self| {
            reader.clone().name(&classes).is_some() || reader.clone().outlet_address().is_some()
        };
        if is_name(&ahead) || !is_name(self) {
            *self = ahead;
        }
    }

    /// `top of desk`: one half of a duplex; nothing is passed if it is not said which.
    fn half(&mut self) -> Heard<Option<String>> {
        let mut ahead = self.clone();
        let halves = [
            ("top half of", "top"),
            ("upper half of", "top"),
            ("top of", "top"),
            ("bottom half of", "bottom"),
            ("lower half of", "bottom"),
            ("bottom of", "bottom"),
        ];
        let Some(half) = ahead.choice(&halves) else { return Ok(None) };
        let before = ahead.clone();
        let place = ahead.due_name(&[Class::Place, Class::Device], "duplex")?;
        let address = format!("{place}.{half}");
        let is_one =
            self.known.circuit.outlets().any(|(_, outlet)| outlet.address.as_str() == address);
        if !is_one {
            let message =
                format!("{place} is no duplex in this circuit file: it has no {half} half");
            return Err(before.here(message).expected([
                format!("{} dead", speak::name(&place)),
                "`device: Duplex(...)` in the file, where its halves are wired apart".to_owned(),
            ]));
        }
        *self = ahead;
        Ok(Some(address))
    }

    /// `till top`: the half of the duplex, where it has one.
    fn half_behind(&mut self, place: &str) -> Option<String> {
        let halves = [
            ("top half", "top"),
            ("upper half", "top"),
            ("top", "top"),
            ("bottom half", "bottom"),
            ("lower half", "bottom"),
            ("bottom", "bottom"),
        ];
        let mut ahead = self.clone();
        let address = format!("{place}.{}", ahead.choice(&halves)?);
        let mut outlets = self.known.circuit.outlets();
        outlets.any(|(_, outlet)| outlet.address.as_str() == address).then(|| {
            *self = ahead;
            address
        })
    }

    /// Whether it is one of several receptacles of its box.
    fn is_one_of_several(&self, address: &str) -> bool {
        let outlets = || self.known.circuit.outlets();
        let own = outlets().find(|(_, outlet)| outlet.address.as_str() == address);
        own.is_some_and(|(place, _)| {
            !self.known.is(Class::Place, address)
                && outlets().filter(|(other, _)| other.id == place.id).nth(1).is_some()
        })
    }

    /// Places as far as they go; whatever follows is not looked at.
    fn places_in_a_row(&mut self) -> Heard<Vec<String>> {
        let mut places = vec![self.place()?];
        loop {
            let mut ahead = self.clone();
            let Some(place) = ahead.another().then(|| ahead.place().ok()).flatten() else {
                return Ok(places);
            };
            places.push(place);
            *self = ahead;
        }
    }

    /// Places to the end of the sentence, or as far as they go.
    fn places(&mut self) -> Heard<Vec<String>> {
        let mut places = vec![self.place()?];
        loop {
            let mut ahead = self.clone();
            if !ahead.another() {
                return Ok(places);
            }
            match ahead.place() {
                Ok(place) => places.push(place),
                Err(problem) => {
                    // A load may follow, or a complaint of its own.
                    let other = ahead.clone().one_complaint().is_ok();
                    return if other { Ok(places) } else { Err(problem) };
                }
            }
            *self = ahead;
        }
    }

    /// One half of a duplex by its address, as `desk.top`.
    fn outlet_address(&mut self) -> Option<String> {
        let spelt = self.token(0).and_then(|token| self.known.spelling(token.text))?;
        let known = self.known;
        let mut outlets = known.circuit.outlets();
        let found = outlets.find(|(_, outlet)| outlet.address.as_str() == spelt)?;
        if self.known.is(Class::Place, spelt) {
            return None;
        }
        self.skip(1);
        Some(found.1.address.to_string())
    }

    /// After `dead`: from a place on, past a place, at places.
    fn dead_where(&mut self) -> Heard<Vec<Complaint>> {
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

    /// The places that are fed from this one.
    fn past(&mut self) -> Heard<Vec<String>> {
        let span = self.span();
        let named = self.place_before();
        let place = match named.filter(|_| self.takes_any(&["it", "that", "there"])) {
            Some(before) => before,
            None => self.place()?,
        };
        let next = self.next_to(&place);
        if next.is_empty() {
            let mut problem = self.here(format!("nothing is fed from {place}: the run ends there"));
            problem.span = span;
            return Err(problem.expected([format!("{} dead", speak::name(&place))]));
        }
        Ok(next)
    }

    fn another(&mut self) -> bool {
        let before = self.rest().len();
        self.pass_marks();
        self.takes("and");
        !self.is_done() && (self.rest().len() < before || self.name_is_next())
    }

    fn is_dead(&mut self) -> Heard<()> {
        self.pass_before();
        match self.dead_said() {
            true => Ok(()),
            false => Err(self.none_of("what is the matter with it", &["dead"])),
        }
    }

    /// Passes what says that it is dead.
    fn dead_said(&mut self) -> bool {
        self.takes_any(&DEAD) || self.no_power_said() || self.does_not_run()
    }

    /// That it works; nothing is passed if something else is said.
    fn is_working(&mut self) -> bool {
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

    /// Complaints that begin with a name.
    fn named(&mut self) -> Heard<Vec<Complaint>> {
        self.takes("the");
        if let Some(complaint) = self.of_protection()? {
            return Ok(vec![complaint]);
        }
        let mut loads = Vec::new();
        let mut places = Vec::new();
        loop {
            if let Some(lights) = self.lights_of_place()? {
                loads.extend(lights);
            } else if let Some(load) = self.load_and_no_place() {
                loads.push(load);
            } else if let Some(half) = self.half()? {
                places.push(half);
            } else {
                let mut ahead = self.clone();
                match ahead.place() {
                    Ok(place) => places.push(place),
                    // `outlet at` was understood, and the name after it was not.
                    Err(problem)
                        if problem.span.start > self.span().start || self.part_without_name() =>
                    {
                        return Err(problem);
                    }
                    Err(_) => {
                        return Err(self.no_complaint(!loads.is_empty() || !places.is_empty()));
                    }
                }
                *self = ahead;
            }
            if self.clone().and_everything_after_it() {
                break;
            }
            self.pass_marks();
            if !self.takes("and") && !self.name_is_next() {
                break;
            }
        }
        match (places.is_empty(), loads.is_empty()) {
            (false, true) => {
                let one = self.places_are(places)?;
                Ok(self.and_the_rest(one))
            }
            (true, _) => self.does(loads),
            (false, false) if self.clone().is_dead().is_ok() => {
                self.is_dead()?;
                Ok(std::iter::once(self.dead(places)).chain(dead_loads(loads)).collect())
            }
            (false, false) => Err(self
                .here("loads and places in one breath: say each in a sentence of its own")
                .expected(["`;` between the two"])),
        }
    }

    fn name_is_next(&self) -> bool {
        let mut ahead = self.clone();
        ahead.name(&[Class::Load, Class::Place, Class::Device]).is_some()
    }

    /// A load that is not also the name of a place: there the place is meant, unless the word
    /// `load` stands before it.
    fn load_and_no_place(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let load = ahead.load()?;
        let said = self.token(0).is_some_and(|token| {
            ["load", "appliance"].iter().any(|word| token.text.eq_ignore_ascii_case(word))
        });
        if self.known.is(Class::Place, &load) && !said {
            return None;
        }
        *self = ahead;
        Some(load)
    }

    fn places_are(&mut self, places: Vec<String>) -> Heard<Complaint> {
        self.refuse_switch(&places)?;
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
            let comes = self.takes_any(&COMES_AND_GOES) || self.takes_any(&WEATHER) || self.often();
            let complaint = match comes {
                true => self.comes_and_goes(&places)?,
                false => self.dead(places),
            };
            self.refuse_dead_when(&complaint)?;
            return Ok(complaint);
        }
        self.refuse_of_places(&places)?;
        let words = ["dead", "half dead", "warm", "works"];
        Err(self.none_of("what is the matter with a place", &words))
    }

    /// What is said of one place alone; nothing is passed if it is something else.
    fn place_is(&mut self, place: &str) -> Heard<Option<Complaint>> {
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
            if ahead.takes_any(&WARM) {
                ahead.with_a_load()?;
                break Complaint::Warm { place };
            }
            if ahead.gives_shocks() {
                break Complaint::Tingle { from: place };
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
    fn dead(&self, places: Vec<String>) -> Complaint {
        match places.as_slice() {
            [half] if self.is_one_of_several(half) => Complaint::HalfDead { place: half.clone() },
            _ => Complaint::Dead { places },
        }
    }

    fn does(&mut self, loads: Vec<String>) -> Heard<Vec<Complaint>> {
        let begun = self.clone();
        if let Some(complaints) = self.of_loads_alone(&loads)? {
            return Ok(complaints);
        }
        let words = ["dim", "brighten", "flicker", "dead"];
        let does = self.only_warm(&loads).or_else(|| {
            self.takes("only");
            self.pass_before();
            self.choice(&DOES).or_else(|| self.takes_ages())
        });
        let does = does.or_else(|| self.does_not_run().then_some(Does::Dead));
        let Some(does) = does else {
            return Err(self.none_of("what lights or loads do", &words));
        };
        if matches!(does, Does::Flickers | Does::GoesOff) {
            self.takes_any(&COMES_AND_GOES);
        }
        self.takes_any(&EVERYWHERE_SO);
        let stops = matches!(does, Does::Dead | Does::GoesOff);
        // What stops after a while cuts out.
        let cuts_out = stops && (self.takes_any(&WEATHER) || self.often() || self.later());
        let does = if cuts_out { Does::Flickers } else { does };
        self.takes_any(&WEATHER);
        let before = self.clone();
        let when = match self.when() {
            true => Some(self.running()?),
            false => None,
        };
        if matches!(does, Does::Dead | Does::GoesOff) {
            match (&when, self.given_load(), loads.as_slice()) {
                (Some(load), _, []) => return Err(self.reaching(begun.all_off_when(Some(load)))),
                (None, Some(load), []) => {
                    return Err(self.reaching(begun.all_off_when(Some(&load))));
                }
                (Some(load), _, _) => {
                    return Err(before.dead_when(&loads, load));
                }
                (None, Some(_), _) => return Ok(dead_loads(loads).collect()),
                (None, None, _) => {}
            }
        }
        Ok(vec![match (does, loads.as_slice()) {
            // What flickers with a load is what its current does to the volts.
            (Does::Flickers, _) if when.is_some() => Complaint::Dim { loads, when },
            (Does::Dims, _) => Complaint::Dim { loads, when },
            (Does::Brightens, _) => Complaint::Bright { loads, when },
            (Does::Flickers | Does::GoesOff, _) => Complaint::Flickers { loads },
            (Does::Dead, _) if self.takes_any(&COMES_AND_GOES) => Complaint::Flickers { loads },
            (Does::Dead, [load]) => Complaint::LoadDead { load: load.clone() },
            (Does::Dead, []) => return Err(self.reaching(begun.which_lights())),
            (Does::Dead, _) => return Ok(dead_loads(loads).collect()),
        }])
    }

    /// What is said of loads and is no more than one word for what they do; nothing is passed but
    /// what stands before that if it is something else.
    fn of_loads_alone(&mut self, loads: &[String]) -> Heard<Option<Vec<Complaint>>> {
        if self.works_sometimes() {
            return Ok(Some(vec![Complaint::Flickers { loads: loads.to_vec() }]));
        }
        if let Some(trips) = self.load_trips(loads)? {
            return Ok(Some(vec![trips]));
        }
        self.refuse_vague(&[], loads)?;
        if let Some(complaint) = self.of_its_parts(loads)? {
            return Ok(Some(vec![complaint]));
        }
        self.refuse_of_loads(loads)?;
        if let Some(dead) = self.ought_to_run(loads)? {
            return Ok(Some(dead));
        }
        self.pass_before();
        let mut turning = self.clone();
        if turning.takes_any(&TURNS) && !turning.clone().takes_any(&["off", "on"]) {
            *self = turning;
        }
        self.takes_any(&RUNS_AND);
        self.pass_before();
        if let [load] = loads
            && (self.gives_shocks() || self.takes_any(&["live", "electrified", "electric"]))
        {
            self.takes_any(&TOUCHED);
            return Ok(Some(vec![Complaint::Tingle { from: load.clone() }]));
        }
        Ok(None)
    }

    /// Passes `takes ages to heat`: what is so slow is weak.
    fn takes_ages(&mut self) -> Option<Does> {
        let so_long = self.takes_any(&TAKES_AGES);
        so_long.then(|| {
            self.takes_any(&TO_GET_GOING);
            Does::Dims
        })
    }

    /// Passes `works now and then`, `sometimes does not work`.
    fn works_sometimes(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.pass_before();
        ahead.takes("only");
        let said_first = ahead.takes_any(&COMES_AND_GOES);
        let does = ahead.takes_any(&WORKS) || ahead.runs() || said_first && ahead.dead_said();
        let is_so = does && (said_first || ahead.takes_any(&COMES_AND_GOES));
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// What should be hot and is only warm is weak.
    fn only_warm(&mut self, loads: &[String]) -> Option<Does> {
        let [load] = loads else { return None };
        let kind = &self.known.circuit.load(load)?.kind;
        let heats = matches!(kind, LoadKind::Resistive { .. });
        let warm = [
            "warm",
            "only warm",
            "just warm",
            "barely warm",
            "not hot enough",
            "not hot",
            "hardly warm",
            "does not get hot enough",
            "does not get hot",
            "will not get hot",
            "not getting hot",
        ];
        (heats && self.takes_any(&warm)).then_some(Does::Dims)
    }

    fn no_complaint(&self, name_due: bool) -> Problem {
        let mut names = self.names(&[Class::Place, Class::Load, Class::Circuit, Class::Device]);
        if name_due {
            return self.no_such("place or load", names);
        }
        names.extend(["dead", "half", "lights", "breaker", "tingle", "everything", "nothing"]);
        let written = self.token(0).map_or("", |token| token.text);
        let message = match written {
            "" => "nothing is said".to_owned(),
            name if self.known.spelling(name).is_some() => {
                format!("`{name}` is nothing that a complaint is said of")
            }
            other => format!("`{other}` begins no complaint and is no name in this circuit"),
        };
        let near = meant(written, &names);
        self.here(message).suggesting(self.others(near)).expected(FORMS)
    }
}

/// Dead from each of these on.
fn dead_from(places: Vec<String>) -> Vec<Complaint> {
    places.into_iter().map(|place| Complaint::DeadFrom { place }).collect()
}

/// Each of these loads is dead, while others run.
fn dead_loads(loads: Vec<String>) -> impl Iterator<Item = Complaint> {
    loads.into_iter().map(|load| Complaint::LoadDead { load })
}
