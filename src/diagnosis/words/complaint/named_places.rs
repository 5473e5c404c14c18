//! Which places are meant: by name, a half of a duplex, what lies beyond a panel.

use crate::circuit::{Place, PlaceKind};
use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::symptom::{fed, run};
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::dead_from;

impl Reader<'_> {
    /// Of a panel that is fed from another, and of its feeder, everything beyond it is meant: in
    /// itself there is nothing that could be seen to be dead.
    pub(super) fn beyond_panels(&self, said: Complaint) -> Vec<Complaint> {
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
    pub(super) fn next_to(&self, place: &str) -> Vec<String> {
        let places = &self.known.circuit.parts().places;
        let next = places.iter().filter(|next| next.fed_from.as_deref() == Some(place));
        next.map(|next| next.id.clone()).collect()
    }

    /// Whether a place comes next where it is dead.
    pub(super) fn where_is_next(&self) -> bool {
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
    pub(super) fn by_name(&self, numbers: Vec<usize>) -> Vec<String> {
        let places = &self.known.circuit.parts().places;
        numbers.iter().filter_map(|&at| places.get(at)).map(|place| place.id.clone()).collect()
    }

    pub(super) fn place(&mut self) -> Heard<String> {
        self.takes("the");
        if let Some(half) = self.half()? {
            return Ok(half);
        }
        if let Some(place) = self.where_it_plugs_in() {
            return Ok(place);
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

    /// `outlet where the heater plugs in`, `socket that the heater is plugged into`: where that load is.
    fn where_it_plugs_in(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        if !ahead.part_word() || !ahead.takes_any(&["where", "that", "which"]) {
            return None;
        }
        let load = ahead.load()?;
        ahead.pass_before();
        let plugs =
            ["plugs in", "plugs into", "plugged in", "plugged into", "plugs", "lives", "runs off"];
        if !ahead.takes_any(&plugs) {
            return None;
        }
        ahead.takes_any(&["at", "to", "in"]);
        let circuit = self.known.circuit;
        let load = circuit.load(&load).filter(|load| !load.plug_links.is_empty())?;
        let place = place_of_load(circuit, load)?;
        *self = ahead;
        Some(place)
    }

    /// Passes `outlet at` and its like before a place, unless it is the name of one.
    pub(super) fn what_it_is(&mut self) {
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
    pub(super) fn half(&mut self) -> Heard<Option<String>> {
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
    pub(super) fn half_behind(&mut self, place: &str) -> Option<String> {
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
    pub(super) fn is_one_of_several(&self, address: &str) -> bool {
        let outlets = || self.known.circuit.outlets();
        let own = outlets().find(|(_, outlet)| outlet.address.as_str() == address);
        own.is_some_and(|(place, _)| {
            !self.known.is(Class::Place, address)
                && outlets().filter(|(other, _)| other.id == place.id).nth(1).is_some()
        })
    }

    /// A place, and those up to another if that is said, put with others.
    pub(super) fn one_or_through(&mut self, places: &mut Vec<String>) -> Heard<()> {
        let mut found = vec![self.place()?];
        self.through_to(&mut found)?;
        places.append(&mut found);
        Ok(())
    }

    /// `kiln through wheel`: behind a place, all that lie on the way from there to another.
    fn through_to(&mut self, places: &mut Vec<String>) -> Heard<()> {
        let mut ahead = self.clone();
        let Some(from) = places.last().cloned() else { return Ok(()) };
        if !ahead.takes_any(&["all the way to", "through to", "up to", "through", "thru"]) {
            return Ok(());
        }
        let to = ahead.place()?;
        let between = |one: &str, other: &str| {
            let above = run(self.known.circuit, other).0;
            let above = self.by_name(above);
            let at = above.iter().position(|place| place == one)?;
            Some(above.get(..at).unwrap_or_default().to_vec())
        };
        let Some(way) = between(&from, &to).or_else(|| between(&to, &from)) else {
            let both = format!("{} and {} dead", speak::name(&from), speak::name(&to));
            let message = format!("{from} and {to} do not lie on one run: name each place");
            return Err(self.up_to(&ahead, &message).expected([both]));
        };
        places.extend(way.into_iter().filter(|place| {
            let known = self.known.circuit.place(place);
            known.is_some_and(|place| !place.outlets.is_empty())
        }));
        places.push(to);
        *self = ahead;
        Ok(())
    }

    /// Places as far as they go; whatever follows is not looked at.
    pub(super) fn places_in_a_row(&mut self) -> Heard<Vec<String>> {
        let mut places = Vec::new();
        self.one_or_through(&mut places)?;
        loop {
            let mut ahead = self.clone();
            if !(ahead.another() && ahead.one_or_through(&mut places).is_ok()) {
                return Ok(places);
            }
            *self = ahead;
        }
    }

    /// Places to the end of the sentence, or as far as they go.
    pub(super) fn places(&mut self) -> Heard<Vec<String>> {
        let mut places = Vec::new();
        self.one_or_through(&mut places)?;
        loop {
            let mut ahead = self.clone();
            if !ahead.another() {
                return Ok(places);
            }
            match ahead.one_or_through(&mut places) {
                Ok(()) => {}
                Err(problem) => {
                    // A load may follow, or a complaint of its own.
                    let other = ahead.clone().load_and_no_place().is_some()
                        || ahead.clone().one_complaint().is_ok();
                    return if other { Ok(places) } else { Err(problem) };
                }
            }
            *self = ahead;
        }
    }

    /// One half of a duplex by its address, as `desk.top`.
    pub(super) fn outlet_address(&mut self) -> Option<String> {
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

    /// The places that are fed from this one.
    pub(super) fn past(&mut self) -> Heard<Vec<String>> {
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

    pub(super) fn another(&mut self) -> bool {
        let before = self.rest().len();
        self.pass_marks();
        self.takes("and");
        !self.is_done() && (self.rest().len() < before || self.name_is_next())
    }

    pub(super) fn name_is_next(&self) -> bool {
        let mut ahead = self.clone();
        ahead.name(&[Class::Load, Class::Place, Class::Device]).is_some()
    }

    /// A load that is not also the name of a place: there the place is meant, unless the word
    /// `load` stands before it.
    pub(in super::super) fn load_and_no_place(&mut self) -> Option<String> {
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
}
