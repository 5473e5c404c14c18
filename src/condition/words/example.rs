//! The nearest sentence that means something, in the speaker's own words.

use crate::circuit::{PlaceKind, Side, Vocabulary};

use super::describe;
use super::grammar::{self, Gathered};
use super::known::Known;
use super::lexer::Token;
use super::lexicon::{Class, Verb};
use super::phrase::{self, Phrase, Placed};
use super::problem::Problem;
use super::sentence::{Said, Spot};
use super::{edits_of_sentence, speak};

/// At most this many sentences of a kind are tried, so that an answer never takes long.
const TRIES_MAX: usize = 32;

/// Of a sentence longer than this only its beginning is looked at.
const TOKENS_MAX: usize = 64;

/// The problem with an example, if one can be made. Every example is read before it is given.
pub(super) fn with(
    known: &Known<'_>,
    tokens: &[Token<'_>],
    text: &str,
    mut problem: Problem,
) -> Problem {
    let heard = |sentence: &String| edits_of_sentence(known, sentence).is_ok();
    let tokens = tokens.get(..TOKENS_MAX).unwrap_or(tokens);
    problem.example = corrected(text, tokens, &problem)
        .into_iter()
        .find(heard)
        .or_else(|| begun(known, tokens, text)?.sentences().into_iter().take(TRIES_MAX).find(heard))
        .or_else(|| completed(text, tokens, &problem).into_iter().find(heard));
    problem
}

/// The sentence itself with what could stand there in place of what does.
fn corrected(text: &str, tokens: &[Token<'_>], problem: &Problem) -> Vec<String> {
    let (Some(first), Some(last)) = (tokens.first(), tokens.last()) else { return Vec::new() };
    let before = text.get(first.span.start..problem.span.start).unwrap_or_default();
    let after = text.get(problem.span.end..last.span.end).unwrap_or_default();
    let offers = problem.suggestions.iter().chain(&problem.expected);
    offers.map(|offer| one_line(&format!("{before}{offer}{after}"))).collect()
}

/// The sentence with what could stand there at its end.
fn completed(text: &str, tokens: &[Token<'_>], problem: &Problem) -> Vec<String> {
    let (Some(first), Some(last)) = (tokens.first(), tokens.last()) else { return Vec::new() };
    let whole = text.get(first.span.start..last.span.end).unwrap_or_default();
    problem.expected.iter().map(|offer| one_line(&format!("{whole}, {offer}"))).collect()
}

fn one_line(sentence: &str) -> String {
    sentence.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What was understood of a sentence that means nothing.
fn begun<'k>(known: &'k Known<'k>, tokens: &[Token<'_>], text: &str) -> Option<Begun<'k>> {
    let (phrases, _) = phrase::phrases(known, tokens);
    let mut kept: Vec<Placed> = Vec::new();
    for phrase in phrases {
        kept.push(phrase);
        if grammar::gather(known, &kept, text).is_err() {
            kept.pop();
        }
    }
    let said = grammar::gather(known, &kept, text).ok()?;
    Some(Begun { known, said, phrases: kept })
}

struct Begun<'k> {
    known: &'k Known<'k>,
    said: Gathered,
    phrases: Vec<Placed>,
}

impl Begun<'_> {
    /// Sentences of the kind that was begun, those in the speaker's words first.
    fn sentences(&self) -> Vec<String> {
        let places = self.places();
        let mut found = Vec::new();
        if self.said.line_and_load {
            let devices = self.named(Class::Device);
            found.extend(devices.iter().map(|id| format!("line and load exchanged at {id}")));
        }
        if self.begun_with(&Phrase::Class(Class::Leg)) {
            found.extend(self.legs());
        }
        if self.said.onto {
            found.extend(self.on_legs());
        }
        found.extend(places.iter().flat_map(|place| self.at_place(place)));
        found.extend(self.settings());
        found.extend(self.in_cable());
        found.extend(self.joints(&places));
        found
    }

    fn vocabulary(&self) -> Vocabulary {
        self.known.circuit.parts().vocabulary
    }

    fn verb(&self) -> Option<Verb> {
        self.said.verbs.first().map(|verb| verb.value)
    }

    fn begun_with(&self, wanted: &Phrase) -> bool {
        self.phrases.iter().any(|(phrase, _)| phrase == wanted)
    }

    fn named(&self, class: Class) -> Vec<String> {
        self.known.named(class).take(TRIES_MAX).map(speak::name).collect()
    }

    /// The places spoken of, then every box.
    fn places(&self) -> Vec<String> {
        let said = self.said.spots.iter().filter_map(|spot| spot.name.as_ref());
        let boxes = self.known.circuit.parts().places.iter();
        let boxes = boxes.filter(|place| place.kind == PlaceKind::Box).map(|place| &place.id);
        said.map(|name| &name.value).chain(boxes).take(TRIES_MAX).cloned().collect()
    }

    /// The conductor said first, second and so on.
    fn conductor(&self, at: usize, otherwise: &str) -> String {
        let said = self.phrases.iter().filter_map(|(phrase, _)| match phrase {
            Phrase::Conductor { name, .. } => Some(name.as_str()),
            _ => None,
        });
        let said = said.clone().nth(at).unwrap_or(otherwise);
        speak::conductor(self.vocabulary(), said).to_owned()
    }

    fn legs(&self) -> Vec<String> {
        let circuits = self.named(Class::Circuit);
        let pairs = circuits.iter().flat_map(|one| circuits.iter().map(move |two| (one, two)));
        pairs.map(|(one, two)| format!("legs of {one} and {two} exchanged")).collect()
    }

    fn on_legs(&self) -> Vec<String> {
        let names = self.said.spots.iter().filter_map(|spot| spot.name.as_ref());
        let circuits = names.filter(|name| self.known.is(Class::Circuit, &name.value));
        let legs = self.named(Class::Leg);
        circuits
            .flat_map(|name| {
                legs.iter().map(|leg| format!("{} on {leg}", speak::name(&name.value)))
            })
            .collect()
    }

    /// Sentences that need a place and no joint of it.
    fn at_place(&self, place: &str) -> Vec<String> {
        let at = speak::name(place);
        let ground = speak::conductor(self.vocabulary(), "ground");
        match self.verb() {
            Some(Verb::Exchanged | Verb::Crossed) => {
                let pairs = [
                    (self.conductor(0, "hot"), self.conductor(1, "neutral")),
                    (self.conductor(0, "hot"), self.conductor(9, "neutral")),
                ];
                let pair = |(p, q)| format!("{p} and {q} exchanged at {at}");
                let whole: Vec<String> = pairs.into_iter().map(pair).collect();
                let sided = whole.iter().flat_map(|pair| {
                    self.sides(place).into_iter().map(move |side| format!("{pair}, {side}"))
                });
                let side_said = self.said.spots.iter().any(|spot| spot.side.is_some());
                let sided: Vec<String> = sided.collect();
                if side_said { [sided, whole].concat() } else { [whole, sided].concat() }
            }
            Some(Verb::Bridged | Verb::Moisture | Verb::Breakdown | Verb::Nicked) => {
                let (p, q) = (self.conductor(0, "neutral"), self.conductor(1, "ground"));
                vec![format!("{p} and {q} bridged at {at} through 300 ohm")]
            }
            Some(Verb::Bootleg) => vec![format!("bootleg {ground} at {at}")],
            Some(Verb::LeftIn) => self
                .named(Class::Device)
                .iter()
                .map(|device| format!("hot tab left in at {device}"))
                .collect(),
            _ => Vec::new(),
        }
    }

    /// The sides a place has, the side that was said first.
    fn sides(&self, place: &str) -> Vec<String> {
        let line = speak::side(self.vocabulary(), Side::Line).to_owned();
        let places = &self.known.circuit.parts().places;
        let onward = places.iter().filter(|next| next.fed_from.as_deref() == Some(place));
        let load = onward.map(|next| format!("load side to {}", speak::name(&next.id)));
        let load = std::iter::once("load side".to_owned()).chain(load);
        let said = self.said.spots.iter().find_map(|spot| spot.side.as_ref());
        match said.map(|side| side.value) {
            Some(Side::Load) => load.chain([line]).collect(),
            _ => std::iter::once(line).chain(load).collect(),
        }
    }

    fn settings(&self) -> Vec<String> {
        let said = |class| {
            let names = self.said.spots.iter().filter_map(|spot| spot.name.as_ref());
            let of_class = names.filter(move |name| self.known.is(class, &name.value));
            of_class.map(|name| speak::name(&name.value)).collect::<Vec<_>>()
        };
        let is_set = matches!(
            self.verb(),
            Some(
                Verb::On
                    | Verb::Off
                    | Verb::Unplugged
                    | Verb::PluggedIn
                    | Verb::Stalled
                    | Verb::Tripped
                    | Verb::Reset
                    | Verb::Closed
                    | Verb::Up
                    | Verb::Down
                    | Verb::One
                    | Verb::Two
                    | Verb::Straight
            )
        );
        let bare = self.verb().is_none()
            && !self.phrases.iter().any(|(phrase, _)| {
                matches!(phrase, Phrase::Conductor { .. } | Phrase::Joint(_) | Phrase::Ohm(_))
            });
        if !is_set && !bare {
            return Vec::new();
        }
        let breaker = self.begun_with(&Phrase::Class(Class::Breaker));
        let switch = self.begun_with(&Phrase::Class(Class::Switch));
        let mut loads = said(Class::Load);
        let mut breakers = said(Class::Circuit);
        let mut switches = said(Class::Switch);
        if is_set || breaker || switch {
            loads.extend(self.named(Class::Load));
            breakers.extend(self.named(Class::Circuit));
            switches.extend(self.named(Class::Switch));
        }
        let state = if self.verb() == Some(Verb::On) { "on" } else { "off" };
        let loads = loads.into_iter().map(|name| format!("{name} {state}"));
        let breakers = breakers.into_iter().map(|name| format!("breaker {name} {state}"));
        let switches = switches.into_iter().flat_map(|name| {
            ["closed", "position 1", "straight"].map(|to| format!("switch {name} {to}"))
        });
        match () {
            () if breaker => breakers.chain(loads).chain(switches).collect(),
            () if switch => switches.chain(loads).chain(breakers).collect(),
            () => loads.chain(breakers).chain(switches).collect(),
        }
    }

    fn state(&self) -> String {
        match (self.verb(), &self.said.ohm) {
            (Some(Verb::Glowing), _) => "glowing".to_owned(),
            (None, Some(ohm)) if ohm.value >= 0.0 => speak::ohm(ohm.value),
            _ => "open".to_owned(),
        }
    }

    fn in_cable(&self) -> Option<String> {
        let cable = self.said.spots.iter().find_map(|spot| spot.cable.as_ref())?;
        let (wire, cable) = (self.conductor(0, "neutral"), speak::name(&cable.value));
        Some(format!("{wire} {} in cable {cable}, halfway", self.state()))
    }

    fn joints(&self, places: &[String]) -> Option<String> {
        let spot = self.said.spots.iter().find(|spot| !spot.is_empty());
        let spot = spot.cloned().unwrap_or_default();
        let state = self.state();
        places.iter().find_map(|place| {
            let name = Some(Said::new(place.clone(), 0..0));
            let here = Spot { name, cable: None, along: None, ..spot.clone() };
            describe::example(self.known, &here, &state)
        })
    }
}
