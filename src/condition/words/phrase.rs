//! Tokens of one sentence into phrases: words that belong together (`line side`,
//! `not connected`, `0.4 ohm`, `load side to sink`) become one, names are told from words,
//! and what is neither is answered.

use std::ops::Range;

use crate::circuit::{CableEnd, Side};

use super::known::Known;
use super::lexer::{Token, TokenKind};
use super::lexicon::{self, Class, Half, JointWord, Preposition, Verb, Word};
use super::problem::{Problem, WordsProblem};

mod number;
mod several;
mod unknown;

pub(crate) use number::scaled;
pub(crate) use unknown::{WHAT_COULD_STAND, few};

/// A phrase.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Phrase {
    Conductor {
        name: String,
        plural: bool,
        earth: bool,
    },
    Polarity,
    Soil,
    Frame,
    Class(Class),
    Name(String),
    /// A cable named by the two places it joins.
    Stretch(String),
    Verb(Verb),
    LineAndLoad,
    Side(Side),
    /// The place a side looks to.
    Toward(String),
    Joint(JointWord),
    Half(Half),
    End(CableEnd),
    /// A fraction, said as `halfway` or in per cent.
    Fraction(f64),
    /// The place from which a fraction is counted.
    FractionFrom(String),
    Ohm(f64),
    Farad(f64),
    Volt(f64),
    Through,
    Gap,
    Solid,
    InPhase,
    Quadrature,
    Called(String),
    /// Parts two things.
    And,
    /// `to`, `from`, `with`: parts a thing from its other end.
    To,
    /// Parts a thing from what it is put on.
    Onto,
    /// Parts two things that something lies between.
    Between,
    /// Every load, or every one that a circuit feeds.
    All(Option<String>),
}

/// A phrase and its bytes.
pub(crate) type Placed = (Phrase, Range<usize>);

/// Reads the phrases of one sentence. What could be read is returned beside the first
/// problem, if there is one, so that the answer can use the speaker's own words.
pub(crate) fn phrases(known: &Known<'_>, tokens: &[Token<'_>]) -> (Vec<Placed>, Option<Problem>) {
    let mut reader = Reader { known, tokens, at: 0, found: Vec::new(), problem: None };
    while reader.at < tokens.len() {
        reader.step();
    }
    (reader.found, reader.problem)
}

struct Reader<'r> {
    known: &'r Known<'r>,
    tokens: &'r [Token<'r>],
    at: usize,
    found: Vec<Placed>,
    problem: Option<Problem>,
}

impl<'r> Reader<'r> {
    fn token(&self, ahead: usize) -> Option<&'r Token<'r>> {
        self.tokens.get(self.at + ahead)
    }

    /// The word of the grammar `ahead` tokens on.
    fn word(&self, ahead: usize) -> Option<Word> {
        let token = self.token(ahead)?;
        if token.kind == TokenKind::Word { lexicon::word(token.text) } else { None }
    }

    /// The next token after `ahead` that is no small word: how far on it is.
    fn past_small(&self, mut ahead: usize) -> usize {
        while self.word(ahead) == Some(Word::Small) {
            ahead += 1;
        }
        ahead
    }

    /// The name in the circuit that the token `ahead` spells.
    fn name(&self, ahead: usize) -> Option<String> {
        let token = self.token(ahead)?;
        match token.kind {
            TokenKind::Word | TokenKind::Quoted => {
                self.known.spelling(token.text).map(str::to_owned)
            }
            _ => None,
        }
    }

    fn written(&self, ahead: usize, text: &str) -> bool {
        self.token(ahead).is_some_and(|token| token.text.eq_ignore_ascii_case(text))
    }

    /// Puts a phrase made of `count` tokens.
    fn put(&mut self, phrase: Phrase, count: usize) {
        let start = self.token(0).map_or(0, |token| token.span.start);
        let end = self.token(count.saturating_sub(1)).map_or(start, |token| token.span.end);
        self.found.push((phrase, start..end));
        self.at += count;
    }

    fn fail(&mut self, problem: Problem) {
        self.problem.get_or_insert(problem);
        self.at += 1;
    }

    fn step(&mut self) {
        let Some(token) = self.token(0) else { return };
        match token.kind {
            TokenKind::Comma | TokenKind::Semicolon => self.at += 1,
            TokenKind::Other if token.text == "." => self.at += 1,
            TokenKind::Other if matches!(token.text, "&" | "+" | "/") => self.put(Phrase::And, 1),
            TokenKind::Other => self.fail(stray(token)),
            TokenKind::Number => self.number(),
            TokenKind::Quoted => self.named(),
            TokenKind::Word => self.worded(),
        }
    }

    /// A token that can only be a name.
    fn named(&mut self) {
        match self.name(0) {
            Some(name) => self.put(Phrase::Name(name), 1),
            None => self.unknown(),
        }
    }

    fn worded(&mut self) {
        if let Some(name) = self.name_before_word() {
            return self.put(Phrase::Name(name), 1);
        }
        let Some(token) = self.token(0) else { return };
        match lexicon::word(token.text) {
            Some(word) => self.grammar_word(word),
            None => match self.known.own_conductor(token.text) {
                Some(name) if self.name(0).is_none() => {
                    let phrase =
                        Phrase::Conductor { name: name.to_owned(), plural: false, earth: false };
                    self.put(phrase, 1);
                }
                _ => self.named(),
            },
        }
    }

    /// After `at`, `cable` and their like a name is meant where a word could be too.
    fn name_before_word(&self) -> Option<String> {
        let token = self.token(0)?;
        let classes: &[Class] = match self.leading_word()? {
            Word::Class(class) => name_classes(class),
            Word::Preposition(_) | Word::Verb(Verb::On) => &WALKABLE,
            _ => return None,
        };
        self.known.spelling_among(classes, token.text).map(str::to_owned)
    }

    /// The word before this token, small words aside, within the same breath.
    fn leading_word(&self) -> Option<Word> {
        let before = self.tokens.get(..self.at)?.iter().rev();
        before
            .map(|token| match token.kind {
                TokenKind::Word => lexicon::word(token.text),
                _ => None,
            })
            .find(|word| *word != Some(Word::Small))
            .flatten()
    }

    fn grammar_word(&mut self, word: Word) {
        let ahead = self.word(1);
        if let Some(side) = side_before(word, self.token(0).map_or("", |t| t.text))
            && ahead == Some(Word::AsSide)
        {
            return self.put(Phrase::Side(side), 2);
        }
        if self.line_and_load() {
            return;
        }
        match word {
            Word::Small | Word::AsSide | Word::AsEnd if !self.end_letter() => self.at += 1,
            Word::Small | Word::AsSide | Word::AsEnd => {}
            Word::Conductor(name, plural) => self.conductor(name, plural, ahead),
            Word::Class(class) => self.class(class, ahead),
            Word::Verb(verb) => self.verb(verb),
            Word::Preposition(preposition) => self.preposition(preposition),
            Word::Side(side) => self.put(Phrase::Side(side), 1),
            Word::End(end) if ahead == Some(Word::AsEnd) => self.put(Phrase::End(end), 2),
            Word::End(_) => self.at += 1,
            Word::Not => self.not(),
            Word::Position => self.position(),
            Word::Called => self.called(),
            Word::Polarity => self.put(Phrase::Polarity, 1),
            Word::Soil => self.put(Phrase::Soil, 1),
            Word::Frame => self.put(Phrase::Frame, 1),
            Word::Joint(JointWord::Plug) if self.written(1, "in") => {
                self.put(Phrase::Verb(Verb::PluggedIn), 2);
            }
            Word::Joint(JointWord::Contact)
                if ahead == Some(Word::Preposition(Preposition::Between)) =>
            {
                self.at += 1;
            }
            Word::Joint(joint) => self.put(Phrase::Joint(joint), 1),
            Word::Half(half) => self.put(Phrase::Half(half), 1),
            Word::Halfway => self.put(Phrase::Fraction(0.5), 1),
            Word::And => self.put(Phrase::And, 1),
            Word::All => self.all(),
            Word::Gap => self.put(Phrase::Gap, 1),
            Word::Solid => self.put(Phrase::Solid, 1),
            Word::InPhase => self.put(Phrase::InPhase, 1),
            Word::Quadrature => self.put(Phrase::Quadrature, 1),
        }
    }

    /// `line and load`, in either order, with or without `sides`.
    fn line_and_load(&mut self) -> bool {
        let pair = |first: &str, second: &str| {
            self.written(0, first) && self.word(1) == Some(Word::And) && self.written(2, second)
        };
        let is_pair = pair("line", "load") || pair("load", "line");
        if is_pair {
            let sides = usize::from(self.word(3) == Some(Word::AsSide));
            self.put(Phrase::LineAndLoad, 3 + sides);
        }
        is_pair
    }

    /// `end a`, `end b`.
    fn end_letter(&mut self) -> bool {
        if self.word(0) != Some(Word::AsEnd) {
            return false;
        }
        let end = match () {
            () if self.written(1, "a") => CableEnd::A,
            () if self.written(1, "b") => CableEnd::B,
            () => return false,
        };
        self.put(Phrase::End(end), 2);
        true
    }

    fn conductor(&mut self, name: &str, plural: bool, ahead: Option<Word>) {
        let switched_on =
            name == "switched" && matches!(ahead, Some(Word::Verb(Verb::On | Verb::Off)));
        if switched_on || ahead == Some(Word::Class(Class::Electrode)) {
            self.at += 1;
            return;
        }
        let protective =
            self.written(0, "protective") && matches!(ahead, Some(Word::Conductor("ground", _)));
        let earth = self.written(0, "earth");
        let phrase = Phrase::Conductor { name: name.to_owned(), plural, earth };
        self.put(phrase, 1 + usize::from(protective));
    }

    fn class(&mut self, class: Class, ahead: Option<Word>) {
        match (class, ahead) {
            (Class::Circuit, Some(Word::Class(Class::Breaker))) => self.at += 1,
            (Class::Switch, Some(Word::Joint(JointWord::Contact))) => self.at += 1,
            _ => self.put(Phrase::Class(class), 1),
        }
    }

    fn verb(&mut self, verb: Verb) {
        let in_follows =
            self.word(1) == Some(Word::Preposition(Preposition::At)) && self.written(1, "in");
        match verb {
            Verb::PluggedIn if in_follows => self.put(Phrase::Verb(verb), 2),
            Verb::LeftIn if in_follows => {
                // `left in at dup` and `left in place`: only the first `in` is the verb's.
                let place = usize::from(self.written(2, "place"));
                self.put(Phrase::Verb(verb), 2 + place);
            }
            Verb::On => self.on(),
            _ => self.put(Phrase::Verb(verb), 1),
        }
    }

    /// `on` switches, or puts one thing on another, or means nothing (`on the line side`).
    fn on(&mut self) {
        let next = self.past_small(1);
        let then = self.word(next);
        let side = then.and_then(|word| side_before(word, self.token(next).map_or("", |t| t.text)));
        if side.is_some() && self.word(next + 1) == Some(Word::AsSide)
            || matches!(then, Some(Word::Side(_)))
        {
            self.at += 1;
        } else if matches!(then, Some(Word::Conductor(..)))
            && matches!(self.found.last(), Some((Phrase::Ohm(_), _)))
        {
            // `0.4 ohm on neutral`.
            self.at += 1;
        } else if !self.lands_before() && !self.names_before() {
            // `switch on the heater`: nothing is there yet to be on something.
            self.put(Phrase::Verb(Verb::On), 1);
        } else if matches!(then, Some(Word::Class(Class::Leg) | Word::Conductor(..)))
            || self.name(next).is_some()
            || self.lands_before()
        {
            self.put(Phrase::Onto, 1);
        } else {
            self.put(Phrase::Verb(Verb::On), 1);
        }
    }

    fn names_before(&self) -> bool {
        self.found.iter().any(|(phrase, _)| matches!(phrase, Phrase::Name(_)))
    }

    fn lands_before(&self) -> bool {
        self.found.iter().any(|(phrase, _)| *phrase == Phrase::Verb(Verb::Landed))
    }

    fn preposition(&mut self, preposition: Preposition) {
        match preposition {
            Preposition::Between => self.between(),
            Preposition::Through => self.put(Phrase::Through, 1),
            Preposition::On => self.put(Phrase::Onto, 1),
            Preposition::At if self.word(1) == Some(Word::Joint(JointWord::Contact)) => {
                self.put(Phrase::Verb(Verb::Bridged), 2);
            }
            Preposition::At | Preposition::Of | Preposition::Across => self.at += 1,
            Preposition::To | Preposition::From => {
                let after_side = matches!(self.found.last(), Some((Phrase::Side(_), _)));
                let after_fraction = preposition == Preposition::From
                    && matches!(self.found.last(), Some((Phrase::Fraction(_), _)));
                let name = self.past_small(1);
                match self.name(name) {
                    Some(place) if after_side => self.put(Phrase::Toward(place), name + 1),
                    Some(place) if after_fraction => {
                        self.put(Phrase::FractionFrom(place), name + 1);
                    }
                    _ => self.put(Phrase::To, 1),
                }
            }
        }
    }
}

/// The side that `word` makes with the word `side` after it.
fn side_before(word: Word, written: &str) -> Option<Side> {
    match word {
        Word::Conductor("hot", _) if written.eq_ignore_ascii_case("line") => Some(Side::Line),
        Word::Class(Class::Supply) => Some(Side::Line),
        Word::Class(Class::Load) => Some(Side::Load),
        _ => None,
    }
}

fn stray(token: &Token<'_>) -> Problem {
    let message = format!("`{}` has no meaning here", token.text.escape_debug());
    WordsProblem::new(token.span.clone(), token.text, message).expected(WHAT_COULD_STAND)
}

/// The classes of names that may follow `at` and its like.
const WALKABLE: [Class; 6] =
    [Class::Place, Class::Device, Class::Circuit, Class::Load, Class::Cable, Class::Switch];

/// The classes whose names may follow the class word.
fn name_classes(class: Class) -> &'static [Class] {
    match class {
        Class::Place | Class::Joint => &WALKABLE,
        Class::Device => &[Class::Device, Class::Place],
        Class::Circuit => &[Class::Circuit],
        Class::Breaker => &[Class::Circuit, Class::Device],
        Class::Cable => &[Class::Cable],
        Class::Load => &[Class::Load],
        Class::Switch => &[Class::Switch],
        Class::Service => &[Class::Service],
        Class::Leg => &[Class::Leg, Class::Service],
        Class::Winding | Class::Supply => &[Class::Winding],
        Class::Electrode => &[Class::Electrode],
        Class::Bond => &[Class::Bond],
    }
}
