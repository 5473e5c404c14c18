//! What was read off, said in whichever order: `118 volts between hot and neutral at the desk`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;
use crate::instrument::Instrument;

use super::amount::Unit;
use super::moment::BEGINS;
use super::reader::Reader;
use super::several::places_length;
use super::spot::{letters, slot};

/// What is around a figure and says nothing more.
const AROUND: [&str; 42] = [
    "circuit",
    "i",
    "we",
    "measured",
    "measure",
    "measures",
    "get",
    "got",
    "read",
    "reads",
    "reading",
    "shows",
    "showed",
    "gives",
    "says",
    "is",
    "was",
    "the",
    "a",
    "an",
    "at",
    "in",
    "on",
    "of",
    "from",
    "between",
    "across",
    "and",
    "resistance",
    "ohms",
    "voltage",
    "volts",
    "ac",
    "test",
    "outlet",
    "socket",
    "receptacle",
    ".",
    ",",
    ":",
    "=",
    "ir",
];

/// What an instrument or what it measures is called, which its unit says again.
const CALLED: [(&str, &str); 8] = [
    ("vd", LOADED),
    ("drop", LOADED),
    ("loss", LOADED),
    ("loaded", LOADED),
    ("meter", VOLTMETER),
    ("multimeter", VOLTMETER),
    ("voltmeter", VOLTMETER),
    ("insulation", INSULATION),
];

const VOLTMETER: &str = "voltmeter";
const LOADED: &str = "loaded-test";
const OHMMETER: &str = "ohmmeter";
/// The test voltage that is used on mains circuits where none is said.
const INSULATION: &str = "insulation-500";

/// Before a figure, how sure it is, and what it is at least or at most.
const ABOUT: [&str; 12] = [
    "about", "around", "roughly", "under", "below", "over", "above", "only", "just", ">", "<", "~",
];

/// What stands for a figure of an ohmmeter.
const OVER_RANGE: [&str; 2] = ["ol", "infinite"];

/// Where an instrument may be held; of volts at a circuit it is asked at which receptacle.
const PLACES: [Class; 3] = [Class::Place, Class::Device, Class::Circuit];

/// The instrument, the place, between what and how much, in that order, one sentence for each place;
/// `tokens` as they are where anything else is said, or one of them is missing.
pub(super) fn in_order<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Vec<Token<'r>>> {
    let said = with_legs(tokens.clone());
    let one = ordered(known, &said).map(|one| vec![one]);
    one.or_else(|| place_by_place(known, &said)).unwrap_or_else(|| vec![tokens])
}

/// `230 V L-N at the kitchen but only 60 V at the study`: between what, with what and with which unit is said
/// of the first.
fn place_by_place<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Vec<Token<'r>>>> {
    let end = tokens.iter().position(|token| is(token, &BEGINS)).unwrap_or(tokens.len());
    let (words, stood) = tokens.split_at_checked(end)?;
    let mut first: Option<Said<'_, 'r>> = None;
    let parts = parts(words);
    let are_several = parts.len() > 1;
    let read = parts.into_iter().map(|part| {
        let mut said = Said::default();
        if let Some(Said { tool, called, measured, pairs, .. }) = &first {
            (said.tool, said.called, said.measured) = (*tool, *called, *measured);
            let is_said = (0..part.len()).any(|at| pair(&part[at..]).is_some());
            said.pairs.extend(pairs.first().filter(|_| !is_said));
        }
        let said = said.read(known, part)?;
        let heard = said.told((part.first()?, are_several), stood)?;
        first.get_or_insert(said);
        Some(heard)
    });
    let read: Vec<Vec<Token<'r>>> = read.collect::<Option<_>>()?;
    (read.len() > 1).then_some(read)
}

/// What is said of one place after another; the `and` of two slots parts nothing.
fn parts<'t, 'r>(words: &'t [Token<'r>]) -> Vec<&'t [Token<'r>]> {
    let (mut parts, mut from, mut at) = (Vec::new(), 0, 0);
    while let Some(rest) = words.get(at..).filter(|rest| !rest.is_empty()) {
        let count = pair(rest).unwrap_or(1);
        if count == 1 && is(&rest[0], &["and", "but", ",", "then"]) {
            parts.extend(words.get(from..at));
            from = at + 1;
        }
        at += count;
    }
    parts.extend(words.get(from..));
    parts.retain(|part| !part.is_empty());
    parts
}

/// `leg 1 to neutral`, `leg to leg` as `L1 to neutral`, `hot to hot`.
fn with_legs(tokens: Vec<Token<'_>>) -> Vec<Token<'_>> {
    let mut said: Vec<Token<'_>> = Vec::with_capacity(tokens.len());
    let mut rest = tokens.into_iter().peekable();
    while let Some(token) = rest.next() {
        if !is(&token, &["leg", "phase"]) {
            said.push(token);
            continue;
        }
        let number = rest.next_if(|next| is(next, &["1", "2", "one", "two"]));
        let text = match number {
            Some(number) if is(&number, &["1", "one"]) => "L1",
            Some(_) => "L2",
            None if is(&token, &["leg"]) => "hot",
            None => token.text,
        };
        said.push(Token { text, ..token });
    }
    said
}

/// Whether something was read off: a figure with the unit of volts or ohms, or an instrument.
pub(super) fn is_reading(known: &Known<'_>, tokens: &[Token<'_>]) -> bool {
    let begins = |at: usize| tokens.get(at..).unwrap_or_default();
    Reader::new(known, "", tokens).tool(&[]).is_some()
        || (0..tokens.len()).any(|at| figure(begins(at), false).is_some())
}

/// What a sentence says of a reading, as far as it is read.
#[derive(Default)]
struct Said<'t, 'r> {
    /// An instrument by its own name.
    tool: Option<&'t [Token<'r>]>,
    /// An instrument by what it measures.
    called: Option<&'static str>,
    place: Option<&'t [Token<'r>]>,
    pairs: Vec<&'t [Token<'r>]>,
    figures: Vec<&'t [Token<'r>]>,
    /// What the units of the figures are read off with.
    measured: Option<&'static str>,
    is_figure_first: bool,
    /// What was drawn while it was read off.
    load: Option<&'t [Token<'r>]>,
}

fn ordered<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let end = tokens.iter().position(|token| is(token, &BEGINS)).unwrap_or(tokens.len());
    let (words, stood) = tokens.split_at_checked(end)?;
    Said::default().read(known, words)?.told((tokens.first()?, false), stood)
}

impl<'t, 'r> Said<'t, 'r> {
    /// All of a sentence; none if anything else is in it.
    fn read(mut self, known: &Known<'_>, words: &'t [Token<'r>]) -> Option<Self> {
        let mut rest = words;
        while !rest.is_empty() {
            let count = self.next(known, rest)?;
            rest = rest.get(count..)?;
        }
        Some(self)
    }

    /// The same in order, and how things stood.
    fn told(
        &self,
        (first, are_several): (&Token<'r>, bool),
        stood: &[Token<'r>],
    ) -> Option<Vec<Token<'r>>> {
        // Several figures without a unit are volts.
        let volts = (are_several || self.figures.len() > 1).then_some(VOLTMETER);
        let instrument = self.called.or(self.measured).or(volts);
        if self.measured.is_some_and(|measured| instrument != Some(measured)) {
            return None;
        }
        let of = first.span.clone();
        let word = |text, kind| Token { text, kind, span: of.clone() };
        let tool = match self.tool {
            Some(tool) => tool.to_vec(),
            None => vec![word(instrument?, TokenKind::Word)],
        };
        if let (Some(LOADED), [], [lost]) = (instrument, &self.pairs[..], &self.figures[..]) {
            let mark = [word(":", TokenKind::Comma), word("lost", TokenKind::Word)];
            let held = [&tool[..], &[word("at", TokenKind::Word)], self.place?, &mark].concat();
            return Some([&held[..], lost, self.load.unwrap_or_default(), stood].concat());
        }
        let n_readings = self.figures.len();
        let is_loss = instrument == Some(LOADED);
        if is_loss || n_readings == 0 || self.pairs.len() != n_readings || self.load.is_some() {
            return None;
        }
        let held = [&tool[..], &[word("at", TokenKind::Word)], self.place?].concat();
        let mark = |at: usize| word(if at == 0 { ":" } else { "," }, TokenKind::Comma);
        let readings = self.pairs.iter().zip(&self.figures).enumerate();
        let readings =
            readings.flat_map(|(at, (pair, figure))| [&[mark(at)], *pair, *figure].concat());
        Some(held.into_iter().chain(readings).chain(stood.iter().cloned()).collect())
    }

    /// How many tokens are read as one thing; none if they are none, or it was said before.
    fn next(&mut self, known: &Known<'_>, rest: &'t [Token<'r>]) -> Option<usize> {
        let first = rest.first()?;
        let is_at = is(first, &["at", "in", "on", "into"]);
        if let Some(count) = places_length(known, rest).filter(|_| !is_at) {
            return put(&mut self.place, rest.get(..count)?);
        }
        if known.spelling_among(&PLACES, first.text).is_some() {
            return put(&mut self.place, &rest[..1]);
        }
        if let Some(count) = pair(rest) {
            return self.puts_pair(&rest[..count]);
        }
        if let [under, number, unit, ..] = rest
            && is(under, &["under", "at", "with"])
            && number.kind == TokenKind::Number
            && Unit::Ampere.power(unit.text).is_some()
        {
            let load = rest.get(3).is_some_and(|token| is(token, &["load"]));
            return put(&mut self.load, &rest[..3 + usize::from(load)]);
        }
        let is_of_tool = self.measured.is_some() || self.tool.is_some() || !self.pairs.is_empty();
        if let Some((about, count, measured)) = figure(rest, is_of_tool) {
            if measured.is_some() && self.measured.is_some_and(|other| Some(other) != measured) {
                return None;
            }
            self.measured = self.measured.or(measured);
            return self.puts_figure(rest.get(about..count)?).map(|_| count);
        }
        if let Some(called) = among(first, &CALLED) {
            return self.called.replace(called).is_none().then_some(1);
        }
        if let Some(count) = tool(known, rest) {
            return put(&mut self.tool, &rest[..count]);
        }
        is(first, &AROUND).then_some(1)
    }

    /// Between what and how much follow each other in one order.
    fn puts_pair(&mut self, pair: &'t [Token<'r>]) -> Option<usize> {
        self.pairs.push(pair);
        let ahead = self.pairs.len().checked_sub(self.figures.len());
        let is_next = if self.is_figure_first { ahead == Some(0) } else { ahead == Some(1) };
        is_next.then_some(pair.len())
    }

    fn puts_figure(&mut self, figure: &'t [Token<'r>]) -> Option<usize> {
        self.is_figure_first |= self.pairs.is_empty();
        self.figures.push(figure);
        let ahead = self.figures.len().checked_sub(self.pairs.len());
        let is_next = if self.is_figure_first { ahead == Some(1) } else { ahead == Some(0) };
        is_next.then_some(figure.len())
    }
}

/// Keeps what is said once; none if it was said before.
fn put<'t, 'r>(kept: &mut Option<&'t [Token<'r>]>, said: &'t [Token<'r>]) -> Option<usize> {
    kept.replace(said).is_none().then_some(said.len())
}

/// How many tokens are a pair of slots.
fn pair(rest: &[Token<'_>]) -> Option<usize> {
    match rest {
        [first, join, second, ..]
            if is_slot(first) && is(join, &["to", "and", "-", "/"]) && is_slot(second) =>
        {
            Some(3)
        }
        [token, ..] if is_pair(token) => Some(1),
        _ => None,
    }
}

/// From which token on a figure is said, how many there are, and what its unit is read off with;
/// without a unit only of an instrument that was named.
fn figure(rest: &[Token<'_>], is_of_tool: bool) -> Option<(usize, usize, Option<&'static str>)> {
    let about = usize::from(rest.first().is_some_and(|token| is(token, &ABOUT)));
    // What is only so much is so much.
    let says_less = about == 1 && !is(rest.first()?, &["only", "just"]);
    let from = if says_less { 0 } else { about };
    let number = rest.get(about)?;
    if is(number, &OVER_RANGE) {
        return Some((from, about + 1, Some(OHMMETER)));
    }
    if number.kind != TokenKind::Number {
        return None;
    }
    let unit = rest.get(about + 1).filter(|token| token.kind == TokenKind::Word);
    match unit.and_then(|unit| read_off_with(unit.text)) {
        Some(instrument) => Some((from, about + 2, Some(instrument))),
        // Amperes are no figure of two probes.
        None if unit.is_some_and(|unit| Unit::Ampere.power(unit.text).is_some()) => None,
        None => is_of_tool.then_some((from, about + 1, None)),
    }
}

/// With what a figure of this unit is read off where that is not said.
fn read_off_with(unit: &str) -> Option<&'static str> {
    match (Unit::Volt.power(unit), Unit::Ohm.power(unit)) {
        _ if ["%", "percent"].contains(&unit) => Some(LOADED),
        (Some(_), _) => Some(VOLTMETER),
        (None, Some(6..)) => Some(INSULATION),
        (None, Some(_)) => Some(OHMMETER),
        (None, None) => None,
    }
}

/// How many tokens name an instrument with two probes.
fn tool(known: &Known<'_>, rest: &[Token<'_>]) -> Option<usize> {
    let mut reader = Reader::new(known, "", rest);
    let tool = reader.tool(&[])?;
    let is_between = matches!(
        tool,
        Instrument::Voltmeter(_) | Instrument::Ohmmeter(_) | Instrument::Insulation(_)
    );
    is_between.then(|| rest.len() - reader.rest().len())
}

fn is(token: &Token<'_>, words: &[&str]) -> bool {
    token.kind != TokenKind::Quoted
        && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
}

fn is_slot(token: &Token<'_>) -> bool {
    token.kind == TokenKind::Word && slot(token.text).is_some()
}

/// `hot-neutral`.
fn is_pair(token: &Token<'_>) -> bool {
    let both = token.text.split_once('-').or_else(|| letters(token.text));
    token.kind == TokenKind::Word
        && both.is_some_and(|(one, other)| slot(one).is_some() && slot(other).is_some())
}

fn among(token: &Token<'_>, words: &[(&str, &'static str)]) -> Option<&'static str> {
    let lower = token.text.to_lowercase();
    words.iter().find(|(word, _)| *word == lower).map(|(_, called)| *called)
}
