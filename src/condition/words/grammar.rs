//! Phrases of one sentence into what it says. Phrases may stand in any order a speaker
//! would choose; what no sentence of that kind has room for is answered.

use std::ops::Range;

use super::known::Known;
use super::lexicon::{Class, JointWord, Verb};
use super::phrase::{Phrase, Placed};
use super::problem::{Problem, WordsProblem};
use super::sentence::{Link, Said, SaidGap, Sentence, Spot};

mod lists;
mod over;
mod pairs;
mod reading;

use reading::Reading;

/// The phrases of one sentence, sorted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Gathered {
    /// Spots in the order spoken; `and`, `to` and a verb that needs two part them.
    pub(crate) spots: Vec<Spot>,
    pub(crate) verbs: Vec<Said<Verb>>,
    pub(crate) ohm: Option<Said<f64>>,
    pub(crate) farad: Option<Said<f64>>,
    pub(crate) gap: SaidGap,
    gap_said: bool,
    pub(crate) volts: Vec<Said<f64>>,
    pub(crate) quadrature: bool,
    pub(crate) called: Option<Said<String>>,
    pub(crate) all: Option<Said<Option<String>>>,
    pub(crate) onto: bool,
    pub(crate) between: bool,
    pub(crate) line_and_load: bool,
    pub(crate) span: Range<usize>,
}

type Grammar<T> = Result<T, Problem>;

/// Reads one sentence: several of one thing, where it speaks of several.
pub(crate) fn sentences(
    known: &Known<'_>,
    phrases: &[Placed],
    text: &str,
) -> Grammar<Vec<Sentence>> {
    let gathered = gather(known, phrases, text)?;
    Reading { known, text, said: gathered }.sentences()
}

/// Sorts the phrases.
pub(crate) fn gather(known: &Known<'_>, phrases: &[Placed], text: &str) -> Grammar<Gathered> {
    let start = phrases.first().map_or(0, |(_, span)| span.start);
    let end = phrases.last().map_or(start, |(_, span)| span.end);
    let mut said = Gathered { span: start..end, ..Gathered::default() };
    let mut spot = Spot::default();
    for (phrase, span) in phrases {
        let written = text.get(span.clone()).unwrap_or_default();
        let twice = || {
            let message = format!("`{written}` says a second time what was said already");
            WordsProblem::new(span.clone(), written, message)
                .expected([format!("and {written}"), "`;` and a sentence of its own".to_owned()])
        };
        if said.take(phrase, span).ok_or_else(twice)? {
            continue;
        }
        if let Some(parts) = parts_spots(phrase) {
            said.close(&mut spot);
            spot.after = Some(Said::new(parts, span.clone()));
            continue;
        }
        if spot.name.as_ref().is_some_and(|name| known.is_address(&name.value))
            && says_where(phrase)
        {
            // An address is whole: what follows says where something else is.
            said.close(&mut spot);
            spot.after = Some(Said::new(Link::Beside, span.clone()));
        }
        if spot.is_empty() {
            spot.span = span.clone();
        }
        spot.span.end = span.end;
        put(known, &mut spot, phrase, span).ok_or_else(twice)?;
    }
    said.close(&mut spot);
    Ok(said)
}

fn says_where(phrase: &Phrase) -> bool {
    matches!(phrase, Phrase::Name(_) | Phrase::Stretch(_) | Phrase::Side(_))
}

fn parts_spots(phrase: &Phrase) -> Option<Link> {
    Some(match phrase {
        Phrase::And => Link::And,
        Phrase::To => Link::To,
        Phrase::Onto => Link::Onto,
        Phrase::Between | Phrase::Verb(_) => Link::Verb,
        _ => return None,
    })
}

impl Gathered {
    fn close(&mut self, spot: &mut Spot) {
        let closed = std::mem::take(spot);
        if !closed.is_empty() {
            self.spots.push(closed);
        }
    }

    /// Takes a phrase that is of the whole sentence. `Some(true)`: taken and done with.
    fn take(&mut self, phrase: &Phrase, span: &Range<usize>) -> Option<bool> {
        let once = |slot: &mut Option<Said<f64>>, value: f64| {
            slot.replace(Said::new(value, span.clone())).is_none().then_some(true)
        };
        match phrase {
            Phrase::Verb(verb) => {
                self.verbs.push(Said::new(*verb, span.clone()));
                // A verb between two things parts them; `and` does at other verbs.
                Some(!pairs(*verb))
            }
            Phrase::Onto => {
                self.onto = true;
                Some(false)
            }
            Phrase::Between => {
                self.between = true;
                Some(false)
            }
            Phrase::Ohm(value) => once(&mut self.ohm, *value),
            Phrase::Farad(value) => once(&mut self.farad, *value),
            Phrase::Volt(value) => {
                self.volts.push(Said::new(*value, span.clone()));
                Some(true)
            }
            Phrase::Gap => {
                let nothing_said = self.ohm.is_none() && self.farad.is_none();
                self.gap_said = true;
                if !nothing_said {
                    self.gap.ohm = self.ohm.take().map(|ohm| ohm.value);
                    self.gap.farad = self.farad.take().map(|farad| farad.value);
                }
                Some(true)
            }
            Phrase::Called(name) => {
                self.called.replace(Said::new(name.clone(), span.clone())).is_none().then_some(true)
            }
            Phrase::All(of) => {
                self.all = Some(Said::new(of.clone(), span.clone()));
                Some(true)
            }
            Phrase::LineAndLoad => {
                self.line_and_load = true;
                Some(true)
            }
            Phrase::Quadrature => {
                self.quadrature = true;
                Some(true)
            }
            Phrase::Through | Phrase::Solid | Phrase::InPhase => Some(true),
            _ => Some(false),
        }
    }
}

/// Verbs that stand between two things.
fn pairs(verb: Verb) -> bool {
    matches!(
        verb,
        Verb::Exchanged
            | Verb::Crossed
            | Verb::Bridged
            | Verb::Borrowed
            | Verb::Landed
            | Verb::Attached
            | Verb::Moisture
            | Verb::Breakdown
            | Verb::Nicked
    )
}

/// Puts a phrase into a spot; `None` if that is said already.
fn put(known: &Known<'_>, spot: &mut Spot, phrase: &Phrase, span: &Range<usize>) -> Option<()> {
    fn once<T>(slot: &mut Option<Said<T>>, value: T, span: &Range<usize>) -> Option<()> {
        slot.replace(Said::new(value, span.clone())).is_none().then_some(())
    }
    match phrase {
        Phrase::Conductor { name, plural, earth } => {
            (spot.plural, spot.earth) = (*plural, *earth);
            once(&mut spot.conductor, name.clone(), span)
        }
        // Hot here, neutral with it: the exchange knows.
        Phrase::Polarity => once(&mut spot.conductor, POLARITY.to_owned(), span),
        Phrase::Soil => {
            spot.soil = true;
            Some(())
        }
        Phrase::Frame => {
            spot.frame = true;
            Some(())
        }
        Phrase::Class(Class::Joint) => Some(()),
        Phrase::Class(class) => match spot.class {
            // `hot open at c1, breaker`: the second word says which joint.
            Some(_) => {
                spot.joints.push(Said::new(joint_of_class(*class)?, span.clone()));
                Some(())
            }
            None => once(&mut spot.class, *class, span),
        },
        Phrase::Name(name) if known.cable(name).is_some() => {
            once(&mut spot.cable, name.clone(), span)
        }
        Phrase::Stretch(cable) => once(&mut spot.cable, cable.clone(), span),
        Phrase::Name(name) => once(&mut spot.name, name.clone(), span),
        Phrase::Side(side) => once(&mut spot.side, *side, span),
        Phrase::Toward(place) => once(&mut spot.toward, place.clone(), span),
        Phrase::Joint(joint) => {
            spot.joints.push(Said::new(*joint, span.clone()));
            Some(())
        }
        Phrase::Half(half) => once(&mut spot.half, *half, span),
        Phrase::End(end) => once(&mut spot.end, *end, span),
        Phrase::Fraction(fraction) => once(&mut spot.along, *fraction, span),
        Phrase::FractionFrom(place) => once(&mut spot.along_from, place.clone(), span),
        _ => Some(()),
    }
}

/// Stands for both conductors of `polarity reversed`.
const POLARITY: &str = "polarity";

pub(crate) fn joint_of_class(class: Class) -> Option<JointWord> {
    Some(match class {
        Class::Breaker => JointWord::Breaker,
        Class::Bond => JointWord::Bond,
        Class::Electrode => JointWord::Electrode,
        Class::Service => JointWord::Service,
        _ => return None,
    })
}
