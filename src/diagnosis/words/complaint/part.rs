//! What is said of a part first and then of where: `plug gets hot at window`, `switch gets hot`.

use crate::condition::words::known::is_switch;
use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::symptom::{fed, gives_light};
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::does::{DOES, TAKES_AGES};
use super::lists::{COMES_AND_GOES, DEAD, LOOSE, WARM, WORKS};

/// What a switch is called.
const SWITCHES: [&str; 2] = ["light switch", "switch"];

/// Before where it is.
const WHERE: [&str; 4] = ["at", "in", "by", "on"];

impl Reader<'_> {
    /// A part that is warm or loose somewhere, where that is said last.
    pub(super) fn part_at_place(&mut self) -> Heard<Option<Complaint>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["the", "a"]);
        if !ahead.part_word() && !ahead.takes_any(&SWITCHES) {
            return Ok(None);
        }
        let does = ahead.clone();
        let (is_warm, is_loose) = (ahead.takes_one(&WARM), ahead.takes_one(&LOOSE));
        if !(is_warm || is_loose) || !ahead.takes_any(&WHERE) {
            return Ok(None);
        }
        let place = ahead.place()?;
        if is_loose {
            does.refuse_of_places(std::slice::from_ref(&place))?;
        }
        *self = ahead;
        Ok(Some(Complaint::Warm { place }))
    }

    /// Passes one of these, and what stands before it.
    fn takes_one(&mut self, phrases: &[&str]) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.takes_any(phrases) || {
            ahead.pass_before();
            ahead.takes_any(phrases)
        };
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes what a receptacle or a switch is called, where no name of one comes next.
    pub(super) fn part_without_name(&self) -> bool {
        let mut ahead = self.clone();
        let is_named = ahead.token(0).is_none_or(|token| self.known.spelling(token.text).is_some());
        let is_part = !is_named && (ahead.part_word() || ahead.takes_any(&SWITCHES));
        // `outlet klin`: there is a name, which is wrong.
        let does = [&WARM[..], &LOOSE, &DEAD, &WORKS, &COMES_AND_GOES].concat();
        let is_said = |mut reader: Self| {
            reader.pass_before();
            reader.rest().len() < ahead.rest().len()
                || reader.is_done()
                || reader.does_not_run()
                || reader.takes_any(&does)
        };
        is_part && is_said(ahead.clone())
    }

    /// The box of the only receptacle, or the only switch, that there is; of several it has to be
    /// said which.
    pub(super) fn only_of_its_kind(&mut self) -> Heard<String> {
        let parts = self.known.circuit.parts();
        let part = self.clone();
        let is_switched = self.takes_any(&SWITCHES);
        if !is_switched {
            self.part_word();
        }
        let has_switch = |place: &str| self.known.device_of_kind(place, is_switch).is_some();
        let places = parts.places.iter().filter(|place| match is_switched {
            true => has_switch(&place.id),
            false => !place.outlets.is_empty(),
        });
        let names: Vec<&str> = places.map(|place| place.id.as_str()).collect();
        if let [only] = names.as_slice() {
            return Ok((*only).to_owned());
        }
        let what = if is_switched { "switch" } else { "receptacle" };
        let names = names.iter().map(|name| format!("{what} at {}", speak::name(name)));
        let message = format!("which {what}? say where it is");
        Err(part.here(message).expected(crate::condition::words::few(names)))
    }

    /// What is said of places and is no complaint of one yet.
    pub(super) fn refuse_of_places(&self, places: &[String]) -> Heard<()> {
        let [place] = places else { return Ok(()) };
        let name = speak::name(place);
        let circuit = self.known.circuit;
        let loads = circuit.parts().loads.iter();
        let here = loads.filter(|load| place_of_load(circuit, load).as_ref() == Some(place));
        let here: Vec<String> = here
            .map(|load| match self.known.is(Class::Place, &load.id) {
                true => format!("load {}", speak::name(&load.id)),
                false => speak::name(&load.id),
            })
            .collect();
        if self.clone().takes_one(&LOOSE) {
            let message = "what does it do that it should not? a receptacle that is loose may \
                           burn: leave it alone until it is dead";
            let cuts_out = here.first().map(|load| format!("{load} cuts out"));
            let forms = [format!("{name} warm"), format!("{name} dead")];
            return Err(self.here(message).expected(forms.into_iter().chain(cuts_out)));
        }
        let mut trips = self.clone();
        trips.pass_before();
        if trips.trip_verb() {
            let number = circuit.parts().places.iter().position(|one| one.id == *place);
            let feeding = self
                .handles()
                .filter(|name| number.is_some_and(|number| fed(circuit, name).contains(&number)));
            let forms = feeding.map(|name| format!("{name} trips now and then"));
            let message = "a breaker trips: that which feeds it?";
            return Err(self
                .up_to(&trips, message)
                .expected(forms.chain([format!("{name} dead")])));
        }
        let mut at = self.clone();
        at.pass_before();
        at.takes_any(&["burns", "burn", "runs", "run", "only"]);
        let mut does = at.clone();
        if does.choice(&DOES).is_none() && !does.takes_any(&TAKES_AGES) {
            return Ok(());
        }
        let said = self.text.get(at.span().start..does.span_before()).unwrap_or_default();
        let forms: Vec<String> = match here.is_empty() {
            false => here.iter().map(|load| format!("{load} {said}")).collect(),
            true => {
                let lights = circuit.parts().loads.iter().any(gives_light);
                let dim = lights.then(|| "lights dim".to_owned());
                std::iter::once(format!("{name} dead")).chain(dim).collect()
            }
        };
        let message = match here.is_empty() {
            true => format!("that is said of loads, and the file has none at {name}"),
            false => format!("that is said of loads: which one at {name}?"),
        };
        Err(self.here(message).expected(forms))
    }
}
