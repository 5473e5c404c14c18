//! What was complained of: `dead from kiln on`, `lights brighten when the oven starts`.

use crate::circuit::LoadKind;
use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::Complaint;
use crate::diagnosis::symptom::{fed, run};

use super::reader::{Heard, Reader};

mod does;
mod lists;
mod refuse;
mod tell;
mod trips;

use does::{DOES, Does};
use lists::{
    COMES_AND_GOES, COMES_AND_GOES_AT, DEAD, EVERYWHERE, HALF, HOUSE, LIGHTS, NO_POWER_AT, NOTHING,
    THE_REST, TINGLES, WARM, WARM_AT, WHOLE_HOUSE, WORKS,
};
pub(super) use tell::tell;

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
        let mut complaints = self.one_complaint()?;
        while let Some(more) = self.one_more()? {
            complaints.extend(more);
        }
        self.end()?;
        Ok(complaints)
    }

    fn one_complaint(&mut self) -> Heard<Vec<Complaint>> {
        match self.unnamed()? {
            Some(complaints) => Ok(complaints),
            None => self.named(),
        }
    }

    /// Another complaint in the same breath; none if nothing that is one begins there.
    fn one_more(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes_any(&["and", "but"]);
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
            Err(problem) if problem.span.start > start => Err(problem),
            Err(_) => Ok(None),
        }
    }

    /// Complaints that begin with no name.
    fn unnamed(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let is_all_dead = self.clone().takes_any(&EVERYWHERE);
        if !is_all_dead && self.takes_any(&NOTHING) {
            return Ok(Some(vec![Complaint::NothingSeen]));
        }
        if self.takes_any(&TINGLES) {
            return Ok(Some(vec![self.tingle()?]));
        }
        if self.takes_any(&WARM_AT) {
            let place = self.place()?;
            return Ok(Some(vec![Complaint::Warm { place }]));
        }
        if self.takes_any(&COMES_AND_GOES_AT) {
            let places = self.places()?;
            return self.comes_and_goes(&places).map(|one| Some(vec![one]));
        }
        if self.takes_any(&NO_POWER_AT) {
            let places = self.places()?;
            return Ok(Some(vec![Complaint::Dead { places }]));
        }
        if self.half_the_house() {
            return Ok(Some(vec![Complaint::HalfTheHouse]));
        }
        self.part_of_a_house()?;
        if self.takes_any(&["half of", "one half of", "half"]) {
            let place = self.place()?;
            self.is_dead()?;
            return Ok(Some(vec![Complaint::HalfDead { place }]));
        }
        self.everything()
    }

    /// Whether it is half of the house that is dead.
    fn half_the_house(&mut self) -> bool {
        let mut ahead = self.clone();
        if !ahead.takes_any(&HALF) {
            return false;
        }
        ahead.takes_any(&["the", "my", "our"]);
        let is_so = ahead.takes_any(&HOUSE) && ahead.is_dead().is_ok();
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
        let from =
            ["everything dead", "everything is dead", "all dead", "receptacles dead", "dead"];
        if self.takes_any(&from) {
            return self.dead_where().map(Some);
        }
        if self.takes_any(&["everything on", "all of", "everything in", "the whole of", "all on"]) {
            self.takes("circuit");
            let circuit = self.due_name(&[Class::Circuit], "branch circuit")?;
            if self.is_working() {
                let places = self.by_name(fed(self.known.circuit, &circuit));
                return Ok(Some(vec![Complaint::Works { places }]));
            }
            self.is_dead()?;
            return Ok(Some(vec![Complaint::AllDead { circuit }]));
        }
        if self.takes_any(&["everything past", "everything beyond", "everything after"]) {
            let past = self.past()?;
            if self.is_working() {
                let circuit = self.known.circuit;
                let beyond = past.iter().flat_map(|place| run(circuit, place).1);
                let places = past.iter().cloned().chain(self.by_name(beyond.collect())).collect();
                return Ok(Some(vec![Complaint::Works { places }]));
            }
            self.is_dead()?;
            return Ok(Some(dead_from(past)));
        }
        if self.takes_any(&LIGHTS) {
            return self.does(Vec::new()).map(|complaint| Some(vec![complaint]));
        }
        Ok(None)
    }

    /// That all the rest works, or that nothing at all does.
    fn everywhere(&mut self) -> Option<Vec<Complaint>> {
        let mut ahead = self.clone();
        if ahead.takes_any(&THE_REST) && ahead.is_working() {
            *self = ahead;
            return Some(vec![Complaint::Works { places: Vec::new() }]);
        }
        let mut ahead = self.clone();
        let is_whole = ahead.takes_any(&WHOLE_HOUSE) && ahead.is_dead().is_ok() && {
            ahead.pass_marks();
            !ahead.where_is_next()
        };
        if !is_whole && !ahead.takes_any(&EVERYWHERE) {
            return None;
        }
        *self = ahead;
        let circuits = self.known.circuit.parts().branch_circuits.iter();
        let dead = circuits.map(|one| Complaint::AllDead { circuit: one.id.clone() });
        Some(dead.collect())
    }

    /// Whether a place comes next where it is dead.
    fn where_is_next(&self) -> bool {
        let words = ["from", "past", "beyond", "after", "at", "in", "on"];
        self.token(0)
            .is_some_and(|token| words.iter().any(|word| token.text.eq_ignore_ascii_case(word)))
    }

    /// Names of places by their numbers.
    fn by_name(&self, numbers: Vec<usize>) -> Vec<String> {
        let places = &self.known.circuit.parts().places;
        numbers.iter().filter_map(|&at| places.get(at)).map(|place| place.id.clone()).collect()
    }

    fn tingle(&mut self) -> Heard<Complaint> {
        self.takes("the");
        self.takes_any(&["case of", "metal of", "cover of", "plate of", "plate at", "pipe at"]);
        self.takes("the");
        let from = self.due_name(&[Class::Load, Class::Place, Class::Device], "load or place")?;
        self.takes_any(&["case", "plate"]);
        Ok(Complaint::Tingle { from })
    }

    fn place(&mut self) -> Heard<String> {
        self.takes("the");
        if let Some(half) = self.half()? {
            return Ok(half);
        }
        self.takes_any(&[
            "outlet at",
            "receptacle at",
            "plate at",
            "cover at",
            "switch at",
            "box at",
            "box",
            "receptacle",
            "outlet",
        ]);
        self.takes("the");
        if let Some(outlet) = self.outlet_address() {
            return Ok(outlet);
        }
        self.due_name(&[Class::Place, Class::Device], "box or receptacle")
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
            let message = format!("{place} is no duplex: it has no {half} half");
            return Err(before.here(message).expected([format!("{} dead", speak::name(&place))]));
        }
        *self = ahead;
        Ok(Some(address))
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
        if self.takes_any(&["past", "beyond", "after"]) {
            return self.past().map(dead_from);
        }
        if self.takes_any(&["at", "in"]) {
            let places = self.places()?;
            return Ok(vec![self.dead(places)]);
        }
        Err(self.none_of("where it is dead", &["from", "past", "at"]))
    }

    /// The places that are fed from this one.
    fn past(&mut self) -> Heard<Vec<String>> {
        let span = self.span();
        let place = self.place()?;
        let places = &self.known.circuit.parts().places;
        let next = places.iter().filter(|next| next.fed_from.as_deref() == Some(place.as_str()));
        let next: Vec<String> = next.map(|next| next.id.clone()).collect();
        if next.is_empty() {
            let mut problem = self.here(format!("nothing is fed from {place}: the run ends there"));
            problem.span = span;
            return Err(problem.expected([format!("{} dead", speak::name(&place))]));
        }
        Ok(next)
    }

    fn another(&mut self) -> bool {
        self.pass_marks();
        self.takes("and");
        !self.is_done()
    }

    fn is_dead(&mut self) -> Heard<()> {
        self.takes_any(&["is", "are", "all", "completely"]);
        match self.takes_any(&DEAD) {
            true => Ok(()),
            false => Err(self.none_of("what is the matter with it", &["dead"])),
        }
    }

    /// That it works; nothing is passed if something else is said.
    fn is_working(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["is", "are", "seems", "seem", "does", "do"]);
        ahead.takes_any(&["still", "all", "both"]);
        let works = ahead.takes_any(&WORKS);
        if works {
            *self = ahead;
        }
        works
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
            if let Some(load) = self.load_and_no_place() {
                loads.push(load);
            } else if let Some(half) = self.half()? {
                places.push(half);
            } else if let Ok(place) = self.clone().place() {
                self.place()?;
                places.push(place);
            } else {
                return Err(self.no_complaint(!loads.is_empty() || !places.is_empty()));
            }
            self.pass_marks();
            if !self.takes("and") && !self.name_is_next() {
                break;
            }
        }
        match (places.is_empty(), loads.is_empty()) {
            (false, true) => self.places_are(places).map(|one| vec![one]),
            (true, _) => self.does(loads).map(|one| vec![one]),
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
        if self.is_working() {
            return Ok(Complaint::Works { places });
        }
        self.takes_any(&["is", "are"]);
        if self.takes_any(&COMES_AND_GOES) {
            self.takes_any(&["dead", "out", "without power"]);
            return self.comes_and_goes(&places);
        }
        let one = (places.len() == 1).then(|| places.first().cloned()).flatten();
        if let Some(place) = one {
            if self.takes_any(&["half dead", "dead in one half"]) {
                return Ok(Complaint::HalfDead { place });
            }
            if self.takes_any(&WARM) {
                return Ok(Complaint::Warm { place });
            }
            if self.takes_any(&["tingles", "gives shocks", "shocks"]) {
                return Ok(Complaint::Tingle { from: place });
            }
        }
        self.takes_any(&["all", "both"]);
        if self.takes_any(&lists::DEAD) {
            return match self.takes_any(&COMES_AND_GOES) {
                true => self.comes_and_goes(&places),
                false => Ok(self.dead(places)),
            };
        }
        let words = ["dead", "half dead", "warm", "works"];
        Err(self.none_of("what is the matter with a place", &words))
    }

    /// These places are dead; of one half of a duplex alone, the other is not.
    fn dead(&self, places: Vec<String>) -> Complaint {
        match places.as_slice() {
            [half] if self.is_one_of_several(half) => Complaint::HalfDead { place: half.clone() },
            _ => Complaint::Dead { places },
        }
    }

    fn does(&mut self, loads: Vec<String>) -> Heard<Complaint> {
        self.refuse_of_loads(&loads)?;
        self.takes_any(&["is", "are", "burns", "burn", "runs", "run", "goes", "go", "gets", "get"]);
        if let [load] = loads.as_slice()
            && self.takes_any(&["tingles", "gives shocks", "shocks"])
        {
            return Ok(Complaint::Tingle { from: load.clone() });
        }
        let words = ["dim", "brighten", "flicker", "dead"];
        let Some(does) = self.only_warm(&loads).or_else(|| self.choice(&DOES)) else {
            return Err(self.none_of("what lights or loads do", &words));
        };
        let when = match self.takes_any(&["when", "while", "as soon as", "with", "if"]) {
            true => Some(self.running()?),
            false => None,
        };
        if let (Some(load), Does::Dead) = (&when, does) {
            let message = "only what goes dim or bright is said with `when`";
            let instead = format!("lights dim when {} runs", speak::name(load));
            return Err(self.here(message).expected([instead]));
        }
        Ok(match (does, loads.as_slice()) {
            // What flickers with a load is what its current does to the volts.
            (Does::Flickers, _) if when.is_some() => Complaint::Dim { loads, when },
            (Does::Dims, _) => Complaint::Dim { loads, when },
            (Does::Brightens, _) => Complaint::Bright { loads, when },
            (Does::Flickers, _) => Complaint::Flickers { loads },
            (Does::Dead, _) if self.takes_any(&COMES_AND_GOES) => Complaint::Flickers { loads },
            (Does::Dead, [load]) => Complaint::LoadDead { load: load.clone() },
            (Does::Dead, _) => {
                let message = "which place is dead? one load is said in a sentence";
                return Err(self.here(message).expected(["BOX dead", "dead from BOX on"]));
            }
        })
    }

    /// What should be hot and is only warm is weak.
    fn only_warm(&mut self, loads: &[String]) -> Option<Does> {
        let [load] = loads else { return None };
        let kind = &self.known.circuit.load(load)?.kind;
        let heats = matches!(kind, LoadKind::Resistive { .. });
        let warm = ["warm", "only warm", "just warm", "barely warm", "not hot", "hardly warm"];
        (heats && self.takes_any(&warm)).then_some(Does::Dims)
    }

    fn no_complaint(&self, name_due: bool) -> crate::condition::words::problem::Problem {
        let mut names = self.names(&[Class::Place, Class::Load, Class::Circuit, Class::Device]);
        if name_due {
            return self.no_such("place or load", names);
        }
        names.extend(["dead", "half", "lights", "breaker", "tingle", "everything", "nothing"]);
        let message = match self.token(0) {
            Some(token) => {
                format!("`{}` begins no complaint and is no name in this circuit", token.text)
            }
            None => "nothing is said".to_owned(),
        };
        let near = self.token(0).map_or(Vec::new(), |token| {
            crate::condition::words::suggest::nearest(token.text, names.iter().copied())
        });
        self.here(message).suggesting(near).expected(FORMS)
    }
}

/// Dead from each of these on.
fn dead_from(places: Vec<String>) -> Vec<Complaint> {
    places.into_iter().map(|place| Complaint::DeadFrom { place }).collect()
}
