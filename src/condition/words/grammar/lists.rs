//! Lists: `neutral and ground open at sink and desk` is four opens. Every subject is of every
//! place that is its own; what can be of none, or of two, is answered.

use super::super::lexicon::{Class, Verb};
use super::super::problem::Problem;
use super::super::sentence::{Link, Sentence, Spot};
use super::reading::Reading;
use super::{Gathered, Grammar, POLARITY};

/// Subjects and the places that each of them is at.
#[derive(Default)]
struct Group {
    subjects: Vec<Spot>,
    places: Vec<Spot>,
}

impl Group {
    fn is_whole(&self) -> bool {
        !self.subjects.is_empty() && !self.places.is_empty()
    }

    /// Every subject at every place.
    fn spots(self) -> Vec<Spot> {
        let Self { subjects, mut places } = self;
        if subjects.is_empty() || places.is_empty() {
            return subjects.into_iter().chain(places).collect();
        }
        fill(&mut places);
        let one_place = places.len() == 1;
        let each = places.iter().flat_map(|place| {
            subjects.iter().map(move |subject| {
                if subject.span == place.span {
                    return Spot { name: place.name.clone(), ..subject.clone() };
                }
                let mut spot =
                    if subject.has_place() { subject.subject() } else { subject.clone() };
                spot.at_same_place_as(&place.place());
                if !one_place {
                    spot.span.clone_from(&place.span);
                }
                spot
            })
        });
        each.collect()
    }
}

/// A place that is only half said is at the box of the one before it: `line side and screw`.
/// A share that is said behind the last of several cables is of all.
fn fill(places: &mut [Spot]) {
    for at in 1..places.len() {
        let (before, after) = places.split_at_mut(at);
        if let (Some(previous), Some(place)) = (before.last(), after.first_mut()) {
            let own = place.clone();
            place.at_same_place_as(previous);
            if !own.joints.is_empty() || own.side.is_some() {
                (place.side, place.toward, place.joints) = (own.side, own.toward, own.joints);
            }
        }
    }
    let shared = places.last().and_then(|last| last.along.clone());
    let none_said = places.iter().rev().skip(1).all(|place| place.along.is_none());
    if none_said && places.iter().all(|place| place.cable.is_some() && place.along_from.is_none()) {
        for place in places {
            place.along.clone_from(&shared);
        }
    }
}

impl<'r> Reading<'r> {
    fn is_outright(&self, spot: &Spot) -> bool {
        spot.name.as_ref().is_some_and(|name| self.known.is_address(&name.value))
    }

    /// It is one joint by itself: `main bond`, `breaker c1`, an address.
    fn stands_alone(&self, spot: &Spot) -> bool {
        let alone = [Class::Service, Class::Leg, Class::Bond, Class::Electrode, Class::Breaker];
        let of_class = spot.class.as_ref().is_some_and(|class| alone.contains(&class.value));
        !spot.has_subject() && (of_class || self.is_outright(spot))
    }

    /// The spots of a sentence about joints: one of each subject at each of its places.
    pub(super) fn listed(&self) -> Grammar<Vec<Spot>> {
        let other_end = |spot: &&Spot| spot.is_after(Link::To) || spot.is_after(Link::Onto);
        if let Some(spot) = self.said.spots.iter().skip(1).find(other_end) {
            return Err(self.other_end(spot));
        }
        let mut found = Vec::new();
        let mut group = Group::default();
        for (at, spot) in self.said.spots.iter().enumerate() {
            let rest = self.said.spots.get(at + 1..).unwrap_or_default();
            if self.stands_alone(spot) {
                found.extend(std::mem::take(&mut group).spots());
                found.push(spot.clone());
                continue;
            }
            let placed = spot.has_place() || spot.class.is_some();
            // `kiln neutral and ground open`: a subject behind the last place is there too.
            let begins = spot.has_subject() && (placed || rest.iter().any(Spot::has_place));
            if begins && group.is_whole() {
                found.extend(std::mem::take(&mut group).spots());
            }
            match (spot.has_subject(), placed) {
                (true, true) => {
                    group.subjects.push(spot.clone());
                    group.places.push(spot.clone());
                }
                (true, false) => group.subjects.push(spot.clone()),
                (false, _) => group.places.push(spot.clone()),
            }
        }
        found.extend(group.spots());
        Ok(found)
    }

    /// Where something is, or what a conductor is parted from, is no second joint.
    fn other_end(&self, spot: &Spot) -> Problem {
        let start = spot.after.as_ref().map_or(spot.span.start, |after| after.span.start);
        let span = start..spot.span.end;
        let written = self.written(&span);
        if spot.has_subject() {
            let message = format!(
                "`{written}` names a second conductor: a joint is of one, which is off its own \
                 terminal; only what is bridged is joined to another"
            );
            return self.problem(&span, message).expected(["`;` and a sentence of its own"]);
        }
        let name = spot.name.as_ref().map_or("door", |name| name.value.as_str());
        let message = format!(
            "`{written}` has no part in this: the next box is said after a side, and what is \
             not one thing with the rest is a sentence of its own"
        );
        self.problem(&span, message).expected([
            format!("line side from {name}"),
            format!("load side to {name}"),
            "`;` and a sentence of its own".to_owned(),
        ])
    }

    pub(super) fn left_over(&self, spot: &Spot) -> Problem {
        let written = self.written(&spot.span);
        let message = format!("`{written}` has no part in this beside what was said before it");
        self.problem(&spot.span, message).expected(["`;` and a sentence of its own"])
    }

    /// A sentence about two things, at each of the places that it names.
    pub(super) fn at_each_place(
        &self,
        tell: impl Fn(&Reading<'r>) -> Grammar<Sentence>,
    ) -> Grammar<Vec<Sentence>> {
        let lists = self.pairs()?;
        if lists.len() > 1
            && let Some(called) = &self.said.called
        {
            let message = format!("{} things cannot all be called this", lists.len());
            return Err(self
                .problem(&called.span, message)
                .expected(["`;` and a sentence of its own for each"]));
        }
        let sentence = |spots: Vec<Spot>| {
            let said = Gathered { spots, ..self.said.clone() };
            tell(&Reading { known: self.known, text: self.text, said })
        };
        lists.into_iter().map(sentence).collect()
    }

    /// The spots of each pair that is meant: the same two things at each place of a list.
    fn pairs(&self) -> Grammar<Vec<Vec<Spot>>> {
        let spots = &self.said.spots;
        let as_said = || Ok(vec![spots.clone()]);
        let polarity = |spot: &Spot| spot.conductor.as_ref().is_some_and(|c| c.value == POLARITY);
        let is_subject = |spot: &Spot| spot.has_subject() || self.is_outright(spot);
        let subjects: Vec<usize> = numbers(spots, is_subject);
        let others: Vec<usize> = numbers(spots, |spot| !is_subject(spot));
        // The soil is everywhere: what is said of it says where the other is.
        let own: Vec<usize> = subjects.iter().copied().filter(|at| self.owns(*at)).collect();
        let is_pair = match subjects.as_slice() {
            [one] => spots.get(*one).is_some_and(polarity),
            [_, _] => true,
            _ => false,
        };
        let soil_at = |at: &usize| spots.get(*at).is_some_and(|spot| spot.soil && spot.has_place());
        if !is_pair || others.is_empty() && !(own.len() == 1 && subjects.iter().any(soil_at)) {
            return as_said();
        }
        let circuits = |at: &usize| {
            let name = spots.get(*at).and_then(|spot| spot.name.as_ref());
            name.is_some_and(|name| self.known.is(Class::Circuit, &name.value))
        };
        let of_circuits = own.len() == 2 && own.iter().all(circuits) && others.len() == 1;
        if of_circuits && self.exchanges() {
            return as_said();
        }
        if let ([_], Some(soil)) = (own.as_slice(), subjects.iter().find(|at| soil_at(at))) {
            return Err(self.left_over(spots.get(*soil).unwrap_or(&Spot::default())));
        }
        let mut placed: Vec<usize> = match own.as_slice() {
            [] => others.iter().copied().chain(subjects.iter().copied().filter(soil_at)).collect(),
            [one] => {
                let other = subjects.iter().copied().find(|at| at != one);
                // `hot of kiln bridged to neutral at sink`.
                if other.is_some_and(|other| other > *one && others == [other + 1]) {
                    return as_said();
                }
                others.iter().chain([one]).copied().collect()
            }
            _ => Vec::new(),
        };
        placed.sort_unstable();
        self.in_a_row(&placed, &others)?;
        Ok(self.each_at(&subjects, &placed))
    }

    fn owns(&self, at: usize) -> bool {
        self.said.spots.get(at).is_some_and(|spot| spot.has_place() && !spot.soil)
    }

    fn exchanges(&self) -> bool {
        self.has(Verb::Exchanged) || self.has(Verb::Crossed)
    }

    /// The places follow one another by `and`.
    fn in_a_row(&self, placed: &[usize], others: &[usize]) -> Grammar<()> {
        let spot = |at: usize| self.said.spots.get(at);
        let first_strange = others.iter().copied().find(|at| {
            let parted = |spot: &Spot| spot.is_after(Link::To) || spot.is_after(Link::Onto);
            !placed.contains(at) || *at > 0 && spot(*at).is_some_and(parted)
        });
        let stray = placed.windows(2).find_map(|pair| {
            let [before, at] = pair else { return None };
            let listed = *at == before + 1 && spot(*at)?.is_after(Link::And);
            (!listed).then_some(*at)
        });
        match first_strange.or(stray).and_then(spot) {
            Some(spot) => Err(self.left_over(spot)),
            None => Ok(()),
        }
    }

    /// The subjects, bare of places, with each of the places.
    fn each_at(&self, subjects: &[usize], placed: &[usize]) -> Vec<Vec<Spot>> {
        let spots = &self.said.spots;
        let mut places: Vec<Spot> = placed
            .iter()
            .filter_map(|at| spots.get(*at))
            .map(|spot| Spot { soil: false, ..spot.place() })
            .collect();
        fill(&mut places);
        let bare: Vec<Spot> = subjects
            .iter()
            .filter_map(|at| spots.get(*at).map(|spot| (at, spot)))
            .map(|(at, spot)| if placed.contains(at) { spot.subject() } else { spot.clone() })
            .collect();
        places.into_iter().map(|place| self.together(&bare, place)).collect()
    }

    /// The two things and the place of both; where each has a side of its own, each with its place.
    fn together(&self, bare: &[Spot], place: Spot) -> Vec<Spot> {
        let is_sided =
            |spot: &Spot| spot.side.is_some() || !spot.joints.is_empty() || spot.half.is_some();
        // Ends of a bridge keep what is said of each.
        let sided: Vec<&Spot> =
            bare.iter().filter(|spot| self.exchanges() && is_sided(spot)).collect();
        match sided.as_slice() {
            [] => bare.iter().cloned().chain([place]).collect(),
            // `hot and neutral, line side, exchanged at kiln`: the side is of both.
            [one] => {
                let mut whole = Spot { span: place.span.clone(), ..one.place() };
                whole.at_same_place_as(&place);
                let without_side = |spot: &Spot| Spot {
                    side: None,
                    toward: None,
                    joints: Vec::new(),
                    half: None,
                    ..spot.clone()
                };
                bare.iter().map(without_side).chain([whole]).collect()
            }
            _ => {
                let placed = |spot: &Spot| {
                    let mut spot = spot.clone();
                    spot.at_same_place_as(&place);
                    spot
                };
                bare.iter().map(placed).collect()
            }
        }
    }
}

fn numbers(spots: &[Spot], is: impl Fn(&Spot) -> bool) -> Vec<usize> {
    spots.iter().enumerate().filter(|(_, spot)| is(spot)).map(|(at, _)| at).collect()
}
