//! Tokens of one sentence into phrases: words that belong together (`line side`,
//! `not connected`, `0.4 ohm`, `load side to sink`) become one, names are told from words,
//! and what is neither is answered.

use std::ops::Range;

use crate::circuit::{CableEnd, Side};

use super::known::Known;
use super::lexer::{Token, TokenKind};
use super::lexicon::{self, Class, Half, JointWord, Preposition, Quantity, Verb, Word};
use super::problem::{Problem, WordsProblem};
use super::suggest::nearest;

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
    /// Parts a thing from what it is put on.
    Onto,
    /// Parts two things that something lies between.
    Between,
    All,
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
            TokenKind::Other if matches!(token.text, "&" | "+") => self.put(Phrase::And, 1),
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
            Word::Joint(JointWord::Contact)
                if ahead == Some(Word::Preposition(Preposition::Between)) =>
            {
                self.at += 1;
            }
            Word::Joint(joint) => self.put(Phrase::Joint(joint), 1),
            Word::Half(half) => self.put(Phrase::Half(half), 1),
            Word::Halfway => self.put(Phrase::Fraction(0.5), 1),
            Word::And => self.put(Phrase::And, 1),
            Word::All => self.put(Phrase::All, 1),
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
        } else if matches!(then, Some(Word::Class(Class::Leg) | Word::Conductor(..)))
            || self.name(next).is_some()
            || self.lands_before()
        {
            self.put(Phrase::Onto, 1);
        } else {
            self.put(Phrase::Verb(Verb::On), 1);
        }
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
                let name = self.past_small(1);
                match (after_side, self.name(name)) {
                    (true, Some(place)) => self.put(Phrase::Toward(place), name + 1),
                    _ => self.put(Phrase::And, 1),
                }
            }
        }
    }

    /// `between door and wheel` is a cable, anything else a bridge.
    fn between(&mut self) {
        let first = self.past_small(1);
        let second = self.past_small(first + 2);
        let places = self.name(first).zip(self.name(second));
        if let Some((from, to)) = places
            && self.word(first + 1) == Some(Word::And)
            && self.known.is(Class::Place, &from)
            && self.known.is(Class::Place, &to)
        {
            match self.known.cables_between(&from, &to).as_slice() {
                [cable] => {
                    let cable = cable.clone();
                    self.put(Phrase::Stretch(cable), second + 1);
                }
                [] => {
                    let near = self.known.cables_at([from.as_str(), to.as_str()]);
                    self.no_stretch(second, format!("no cable joins {from} and {to}"), &near);
                }
                several => {
                    let message = format!("several cables join {from} and {to}: which?");
                    self.no_stretch(second, message, several);
                }
            }
        } else {
            self.put(Phrase::Between, 1);
        }
    }

    fn no_stretch(&mut self, last: usize, message: String, cables: &[String]) {
        let start = self.token(0).map_or(0, |token| token.span.start);
        let end = self.token(last).map_or(start, |token| token.span.end);
        let cables = cables.iter().map(|id| format!("in cable {id}"));
        let problem = WordsProblem::new(start..end, "between", message).expected(few(cables));
        self.fail(problem);
        self.at += last;
    }

    fn not(&mut self) {
        if self.word(1) == Some(Word::Verb(Verb::Bridged)) && self.written(1, "connected") {
            return self.put(Phrase::Verb(Verb::Open), 2);
        }
        let Some(token) = self.token(0) else { return };
        let problem = WordsProblem::new(
            token.span.clone(),
            token.text,
            "a condition says what is so; only `not connected` is said with `not`",
        );
        self.fail(problem.expected(["connected"]));
    }

    fn position(&mut self) {
        let verb = match () {
            () if self.written(1, "1") || self.written(1, "one") => Verb::One,
            () if self.written(1, "2") || self.written(1, "two") => Verb::Two,
            () if matches!(self.word(1), Some(Word::Verb(_))) => return self.at += 1,
            () => {
                let Some(token) = self.token(0) else { return };
                let end = self.token(1).map_or(token.span.end, |said| said.span.end);
                let problem = WordsProblem::new(
                    token.span.start..end,
                    token.text,
                    "a three-way switch has two positions",
                );
                self.fail(problem.expected(["position 1", "position 2"]));
                return self.at += 1;
            }
        };
        self.put(Phrase::Verb(verb), 2);
    }

    fn called(&mut self) {
        match self.token(1) {
            Some(token) if matches!(token.kind, TokenKind::Word | TokenKind::Quoted) => {
                self.put(Phrase::Called(token.text.to_owned()), 2);
            }
            _ => {
                let Some(token) = self.token(0) else { return };
                let problem =
                    WordsProblem::new(token.span.clone(), token.text, "a name is to follow");
                self.fail(problem.expected(["a name, such as `tie`"]));
            }
        }
    }

    /// A number and its unit.
    fn number(&mut self) {
        let (Some(token), after) = (self.token(0), self.token(1)) else { return };
        let glued_comma = after.is_some_and(|comma| {
            comma.text == ","
                && comma.span.start == token.span.end
                && self
                    .token(2)
                    .is_some_and(|n| n.kind == TokenKind::Number && n.span.start == comma.span.end)
        });
        if glued_comma {
            let end = self.token(2).map_or(token.span.end, |n| n.span.end);
            let problem = WordsProblem::new(
                token.span.start..end,
                token.text,
                "a comma inside a number could mean two things: write thousands without a mark \
                 and fractions with a point",
            );
            self.fail(problem.expected(["1000", "0.4"]));
            self.at += 2;
            return;
        }
        let unit = after
            .filter(|unit| unit.kind == TokenKind::Word)
            .and_then(|unit| lexicon::unit(unit.text));
        let Some((quantity, power)) = unit else { return self.without_unit(token) };
        // Through the text, so that `30 %` is the double nearest to 0.3 and nothing else.
        match scaled(token.text, power) {
            Some(value) => {
                let phrase = match quantity {
                    Quantity::Ohm => Phrase::Ohm(value),
                    Quantity::Farad => Phrase::Farad(value),
                    Quantity::Volt => Phrase::Volt(value),
                    Quantity::Percent => Phrase::Fraction(value),
                };
                self.put(phrase, 2);
            }
            None => {
                let message = format!("{} is beyond every number used here", token.text);
                self.fail(WordsProblem::new(token.span.clone(), token.text, message));
                self.at += 1;
            }
        }
    }

    fn without_unit(&mut self, token: &Token<'_>) {
        let unit =
            self.token(1).filter(|t| t.kind == TokenKind::Word && t.span.start == token.span.end);
        let message = match unit {
            Some(unit) => format!("`{}` is no unit used here", unit.text),
            None => format!("{} of what? the unit is missing", token.text),
        };
        let units = ["ohm", "kohm", "Mohm", "mohm", "V", "%", "pF"];
        let span = token.span.start..unit.map_or(token.span.end, |unit| unit.span.end);
        let problem = WordsProblem::new(span, token.text, message)
            .expected(units.map(|unit| format!("{} {unit}", token.text)));
        if unit.is_some() {
            self.at += 1;
        }
        self.fail(problem);
    }

    /// Neither a word nor a name: what was meant, most likely?
    fn unknown(&mut self) {
        let Some(token) = self.token(0) else { return };
        if lexicon::unit(token.text).is_some() {
            let problem = WordsProblem::new(
                token.span.clone(),
                token.text,
                format!("`{}` is a unit and needs a number before it", token.text),
            );
            return self.fail(problem.expected([format!("0.4 {}", token.text)]));
        }
        if let Some(reason) = lexicon::outside(token.text) {
            let message = format!("`{}`: {reason}", token.text);
            return self.fail(WordsProblem::new(token.span.clone(), token.text, message));
        }
        let problem = if token.text.contains(['.', ':']) {
            self.unknown_address(token)
        } else if token.kind == TokenKind::Quoted || self.name_is_due() {
            self.unknown_name(token)
        } else {
            self.unknown_word(token)
        };
        self.fail(problem);
    }

    /// Only a name can stand here.
    fn name_is_due(&self) -> bool {
        match self.leading_word() {
            Some(Word::Class(class)) => !matches!(class, Class::Supply | Class::Joint),
            Some(Word::Preposition(_)) => true,
            // `c1 on ...`: what a circuit sits on.
            Some(Word::Verb(Verb::On)) => self.circuit_before(),
            _ => false,
        }
    }

    fn circuit_before(&self) -> bool {
        self.found.iter().any(|(phrase, _)| {
            matches!(phrase, Phrase::Name(name) if self.known.is(Class::Circuit, name))
        })
    }

    fn unknown_address(&self, token: &Token<'_>) -> Problem {
        let message = format!("`{}` is no address and no element of this circuit", token.text);
        WordsProblem::new(token.span.clone(), token.text, message)
            .suggesting(nearest(token.text, self.known.all_addresses()))
            .expected(["an address, such as PLACE.line.CONDUCTOR or PLACE.CONDUCTOR"])
    }

    fn unknown_name(&self, token: &Token<'_>) -> Problem {
        let class = match self.leading_word() {
            Some(Word::Class(class)) => Some(class),
            Some(Word::Verb(Verb::On)) => Some(Class::Leg),
            _ => None,
        };
        let (called, one) = class.map_or(
            ("place, device, circuit or load", "a box, device, circuit or load"),
            |class| (class_word(class), class_word(class)),
        );
        let message = format!("no {called} is called `{}`", token.text);
        let names: Vec<&str> = match class {
            Some(class) => {
                name_classes(class).iter().flat_map(|class| self.known.named(*class)).collect()
            }
            None => self.known.all_names().collect(),
        };
        let expected = if class.is_some() {
            few(names.iter().map(|name| (*name).to_owned()))
        } else {
            vec![format!("the name of {}", article(one))]
        };
        WordsProblem::new(token.span.clone(), token.text, message)
            .suggesting(nearest(token.text, names))
            .expected(expected)
    }

    fn unknown_word(&self, token: &Token<'_>) -> Problem {
        let message =
            format!("`{}` is no word of the condition grammar and no name here", token.text);
        let words = lexicon::WORDS.iter().map(|(word, _)| *word).filter(|word| word.len() > 1);
        WordsProblem::new(token.span.clone(), token.text, message)
            .suggesting(nearest(token.text, words.chain(self.known.all_names())))
            .expected(WHAT_COULD_STAND)
    }
}

/// What a sentence is made of.
pub(crate) const WHAT_COULD_STAND: [&str; 3] = [
    "a conductor (hot, neutral, ground)",
    "what is so (open, exchanged, bridged, 0.4 ohm, on, off, ...)",
    "where (at a box, line side or load side; in a cable)",
];

/// At most this many possibilities are listed.
const FEW: usize = 8;

/// The first few, and how many more there are.
pub(crate) fn few(all: impl Iterator<Item = String>) -> Vec<String> {
    let all: Vec<String> = all.collect();
    let more = all.len().saturating_sub(FEW);
    let mut few: Vec<String> = all.into_iter().take(FEW).collect();
    if more > 0 {
        few.push(format!("{more} more"));
    }
    few
}

/// `text` times ten to the `power`, rounded once.
pub(crate) fn scaled(text: &str, power: i32) -> Option<f64> {
    let (digits, exponent) = match text.split_once(['e', 'E']) {
        Some((digits, exponent)) => (digits, exponent.parse::<i32>().ok()?),
        None => (text, 0),
    };
    let value: f64 = format!("{digits}e{}", exponent.checked_add(power)?).parse().ok()?;
    value.is_finite().then_some(value)
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

pub(crate) fn class_word(class: Class) -> &'static str {
    match class {
        Class::Place => "box",
        Class::Device => "device",
        Class::Circuit => "circuit",
        Class::Breaker => "breaker",
        Class::Cable => "cable",
        Class::Load => "load",
        Class::Switch => "switch",
        Class::Service => "service conductor",
        Class::Leg => "leg",
        Class::Winding => "winding",
        Class::Supply => "supply",
        Class::Electrode => "electrode",
        Class::Bond => "bond",
        Class::Joint => "joint",
    }
}

fn article(noun: &str) -> String {
    if noun.starts_with("a ") {
        return noun.to_owned();
    }
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {noun}")
}
