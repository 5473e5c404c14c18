//! What was complained of: `dead from kiln on`, `lights brighten when the oven starts`.

use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::{few, speak};
use crate::diagnosis::{Complaint, place_of_load};

use super::example::measured;
use super::reader::{Heard, Reader, meant};

mod at_times;
mod does;
mod everything;
mod given;
mod here_not_there;
mod lists;
mod loads;
mod measured;
mod named_places;
mod part;
mod places;
mod power;
mod refuse;
mod shocks;
mod signs;
mod switches;
mod tell;
mod trips;
mod vague;
mod weak;
mod whole;

use does::{DOES, Does};
pub(super) use lists::OUTLETS;
use lists::{EVERYWHERE, NOTHING};
pub(super) use tell::tell;
use whole::NOTHING_BUT;

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

/// What a complaint may begin with, for who said something else.
const FORMS: [&str; 12] = [
    "dead from BOX on",
    "BOX dead",
    "half of BOX dead",
    "half the house dead",
    "BOX works",
    "lights dim",
    "weak at BOX",
    "lights brighten when LOAD runs",
    "breaker CIRCUIT trips at once",
    "DEVICE does not reset",
    "tingle from LOAD",
    "nothing noticed",
];

/// As what was said before.
const TOO: [&str; 4] = ["too", "as well", "also", "either"];

impl Reader<'_> {
    /// One sentence: one complaint, or several where what is fed from a place is meant, or where
    /// one follows another after a comma or an `and`.
    pub(super) fn complaint(&mut self) -> Heard<Vec<Complaint>> {
        self.pass_marks();
        self.given = self.said_first()?;
        let mut complaints = self.one_complaint()?;
        self.so_are_others(&mut complaints)?;
        loop {
            let (before, joined) = (self.clone(), self.clone().takes("and"));
            let Some(more) = self.one_more()? else { break };
            if joined {
                before.with_the_same_load(&mut complaints, &more)?;
            }
            complaints.extend(more);
        }
        complaints.dedup();
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
                    *one = Complaint::Dim { loads, places: Vec::new(), when };
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

    /// `kiln is out and so is sink`: the same of another.
    fn so_are_others(&mut self, complaints: &mut Vec<Complaint>) -> Heard<()> {
        loop {
            let mut ahead = self.clone();
            ahead.pass_marks();
            ahead.takes_any(&JOINS);
            let so = ["so is", "so are", "so does", "so do", "same for", "the same for"];
            if !ahead.takes_any(&so) && !ahead.ends_in_too() {
                return Ok(());
            }
            ahead.takes("the");
            let before = ahead.clone();
            let load = ahead.load_and_no_place();
            let place = match load {
                Some(_) => None,
                None => Some(ahead.place()?),
            };
            let same = match (complaints.last_mut(), load, place) {
                (
                    Some(Complaint::Dead { places } | Complaint::Works { places }),
                    None,
                    Some(place),
                ) => {
                    places.push(place);
                    None
                }
                (Some(Complaint::LoadDead { .. } | Complaint::Dead { .. }), Some(load), _) => {
                    Some(Complaint::LoadDead { load })
                }
                (Some(Complaint::LoadDead { .. }), None, Some(place)) => {
                    Some(self.dead(vec![place]))
                }
                (
                    Some(
                        Complaint::Dim { loads, .. }
                        | Complaint::Bright { loads, .. }
                        | Complaint::Flickers { loads },
                    ),
                    Some(load),
                    _,
                ) if !loads.is_empty() => {
                    loads.push(load);
                    None
                }
                _ => return Err(before.here("say in a sentence of its own what is so of it")),
            };
            complaints.extend(same);
            ahead.takes_any(&TOO);
            *self = ahead;
        }
    }

    /// `driveway too`, and no more.
    fn ends_in_too(&self) -> bool {
        let mut ahead = self.clone();
        ahead.takes("the");
        let is_named = ahead.name(&[Class::Load, Class::Place]).is_some();
        is_named && ahead.takes_any(&TOO) && ahead.is_done()
    }

    /// `freezer outlet`: the receptacle that the load is plugged in at.
    fn its_receptacle(&mut self, load: &str) -> Option<String> {
        let mut ahead = self.clone();
        let words = ["outlet", "receptacle", "socket-outlet", "socket"];
        if !ahead.takes_any(&words) {
            return None;
        }
        let circuit = self.known.circuit;
        let load = circuit.load(load).filter(|load| !load.plug_links.is_empty())?;
        let place = place_of_load(circuit, load)?;
        *self = ahead;
        Some(place)
    }

    /// Passes `light` behind a load: what that gets too much or too little, the load does.
    fn its_light(&mut self) {
        let mut ahead = self.clone();
        let is_one = ahead.takes_unnamed(&["lights", "light", "lamp", "bulb", "display"]);
        let mut does = ahead.clone();
        does.pass_before();
        let does = does.choice(&DOES);
        if is_one && matches!(does, Some(Does::Dims | Does::Brightens | Does::Flickers)) {
            *self = ahead;
        }
    }

    /// One complaint, as far as it goes.
    pub(super) fn one_complaint(&mut self) -> Heard<Vec<Complaint>> {
        let said = match self.unnamed()? {
            Some(complaints) => complaints,
            None if let Some(only) = self.only_dead() => only,
            None => self.named()?,
        };
        match <[Complaint; 1]>::try_from(said) {
            Ok([only]) => Ok(self.beyond_panels(only)),
            Err(several) => Ok(several),
        }
    }

    /// `only the sink is dead`: whatever else there is works.
    fn only_dead(&mut self) -> Option<Vec<Complaint>> {
        let mut ahead = self.clone();
        if !ahead.takes("only") {
            return None;
        }
        let mut said = ahead.named().ok()?;
        let is_dead =
            |one: &Complaint| matches!(one, Complaint::Dead { .. } | Complaint::HalfDead { .. });
        if !said.iter().all(is_dead) {
            return None;
        }
        said.push(Complaint::Works { places: Vec::new() });
        *self = ahead;
        Some(said)
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
            Err(_) if let Some(more) = ahead.of_it()? => {
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

    /// `and it does not run`, of the only thing that was named before; nothing is passed if it is
    /// something else.
    fn of_it(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        // What trips is a breaker.
        if ahead.clone().unnamed_breaker() || !ahead.takes("it") {
            return Ok(None);
        }
        let Some(name) = self.only_named_before() else { return Ok(None) };
        let is = |class| self.known.is(class, &name);
        let said = match (is(Class::Load), is(Class::Place)) {
            (true, false) => ahead.does(vec![name])?,
            (false, true) => vec![ahead.places_are(vec![name])?],
            _ => return Ok(None),
        };
        *self = ahead;
        Ok(Some(said))
    }

    /// Complaints that begin with no name.
    fn unnamed(&mut self) -> Heard<Option<Vec<Complaint>>> {
        self.refuse_all_off_when()?;
        if let Some(said) = self.outlets_of_circuit_are() {
            return Ok(Some(said));
        }
        for whole in [Self::past_is, Self::none_works, Self::sparks_with, Self::cannot_turn_off] {
            if let Some(complaints) = whole(self)? {
                return Ok(Some(complaints));
            }
        }
        let is_all_dead = self.clone().takes_any(&EVERYWHERE);
        let is_but = self.clone().takes_any(&NOTHING_BUT);
        if !is_all_dead && !is_but && self.takes_any(&NOTHING) {
            return Ok(Some(vec![Complaint::NothingSeen]));
        }
        if let Some(tingle) = self.tingle()? {
            return Ok(Some(self.and_from_others(tingle)));
        }
        if let Some(place) = self.sign()? {
            return Ok(Some(vec![Complaint::Warm { place }]));
        }
        for whole in [Self::part_at_place, Self::comes_and_goes_at, Self::worked_at] {
            if let Some(one) = whole(self)? {
                return Ok(Some(vec![one]));
            }
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
        if let Some(weak) = self.weak_somewhere()? {
            return Ok(Some(vec![weak]));
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

    /// Passes `no power`, `lost power`, where a place comes next.
    fn no_power(&mut self) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.no_power_said() && ahead.where_is_next();
        if is_so {
            *self = ahead;
        }
        is_so
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
                self.its_light();
                match self.its_receptacle(&load) {
                    Some(place) => places.push(place),
                    None => loads.push(load),
                }
            } else if let Some(half) = self.half()? {
                places.push(half);
            } else {
                let mut ahead = self.clone();
                match ahead.one_or_through(&mut places) {
                    Ok(()) => {}
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

    fn no_complaint(&self, name_due: bool) -> Problem {
        if let Some(measured) = measured(self) {
            return measured;
        }
        let mut names = self.names(&[Class::Place, Class::Load, Class::Circuit, Class::Device]);
        if name_due {
            return self.no_such("place or load", names);
        }
        names.extend(["dead", "half", "lights", "breaker", "tingle", "everything", "nothing"]);
        let written = self.token(0).map_or("", |token| token.text);
        let message = match written {
            "" => "nothing is said".to_owned(),
            it if it.eq_ignore_ascii_case("it") => {
                "what is it that does so? say its name".to_owned()
            }
            name if self.known.spelling(name).is_some() => {
                format!("`{name}` is nothing that a complaint is said of")
            }
            other => format!("`{other}` begins no complaint and is no name in this circuit"),
        };
        let near = self.others(meant(written, &names));
        let is_name = |near: &String| self.known.spelling(near).is_some();
        // What is nearly a name is answered with the names that there are.
        let forms = match near.iter().any(is_name) {
            true => {
                let classes = [Class::Load, Class::Place, Class::Device, Class::Circuit];
                let mut all: Vec<String> =
                    near.iter().filter(|near| is_name(near)).cloned().collect();
                for name in self.names(&classes) {
                    if !all.iter().any(|known| known == name) {
                        all.push(name.to_owned());
                    }
                }
                few(all.into_iter())
            }
            false => FORMS.map(str::to_owned).to_vec(),
        };
        self.here(message).suggesting(near).expected(forms)
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
