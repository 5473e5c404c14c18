//! What was read off, said in whichever order: `118 volts between hot and neutral at the desk`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;

use super::spot::slot;

/// What is around a figure and says nothing more.
const AROUND: [&str; 29] = [
    "i",
    "we",
    "measured",
    "measure",
    "get",
    "got",
    "read",
    "reads",
    "reading",
    "shows",
    "showed",
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
    "resistance",
    "voltage",
    "outlet",
    "socket",
    "receptacle",
];

/// What is measured in these units, and with what.
const UNITS: [(&str, &str); 8] = [
    ("v", VOLTMETER),
    ("volt", VOLTMETER),
    ("volts", VOLTMETER),
    ("ohm", OHMMETER),
    ("ohms", OHMMETER),
    ("kohm", OHMMETER),
    ("megohm", INSULATION),
    ("megohms", INSULATION),
];

/// What an instrument or what it measures is called, which its unit says again.
const CALLED: [(&str, &str); 4] = [
    ("meter", VOLTMETER),
    ("multimeter", VOLTMETER),
    ("voltmeter", VOLTMETER),
    ("insulation", INSULATION),
];

const VOLTMETER: &str = "voltmeter";
const OHMMETER: &str = "ohmmeter";
/// The test voltage that is used on mains circuits where none is said.
const INSULATION: &str = "insulation-500";

/// Before a figure, how sure it is.
const ABOUT: [&str; 6] = ["about", "around", "only", "just", "under", "over"];

/// Before how things stood.
const WITH: [&str; 1] = ["with"];

/// The instrument, the place, between what and how much, in that order; `tokens` as they are where
/// anything else is said, or one of them is missing.
pub(super) fn in_order<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    ordered(known, &tokens).unwrap_or(tokens)
}

fn ordered<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let end = tokens.iter().position(|token| is(token, &WITH)).unwrap_or(tokens.len());
    let (said, stood) = tokens.split_at_checked(end)?;
    let (mut pair, mut place, mut figure, mut called) = (None, None, None, None);
    let mut at = 0;
    while let Some(rest) = said.get(at..).filter(|rest| !rest.is_empty()) {
        let count = match rest {
            [token, ..] if token.text == "." => 1,
            [token, ..] if known.spelling_among(&PLACES, token.text).is_some() => {
                put(&mut place, &rest[..1])?
            }
            [first, join, second, ..]
                if is_slot(first) && is(join, &["to", "and", "-"]) && is_slot(second) =>
            {
                put(&mut pair, &rest[..3])?
            }
            [token, ..] if is_pair(token) => put(&mut pair, &rest[..1])?,
            [about, number, unit, ..] if is(about, &ABOUT) && is_figure(number, unit) => {
                put(&mut figure, &rest[..3])?
            }
            [number, unit, ..] if is_figure(number, unit) => put(&mut figure, &rest[..2])?,
            [token, ..] if among(token, &CALLED).is_some() && called.is_none() => {
                called = among(token, &CALLED);
                1
            }
            [token, ..] if is(token, &AROUND) => 1,
            _ => return None,
        };
        at += count;
    }
    let (pair, place, figure): (&[Token<'r>], &[Token<'r>], &[Token<'r>]) =
        (pair?, place?, figure?);
    let instrument = among(figure.last()?, &UNITS)?;
    if called.is_some_and(|called| called != instrument) {
        return None;
    }
    let of = tokens.first()?.span.clone();
    let word = |text, kind| Token { text, kind, span: of.clone() };
    let held = [word(instrument, TokenKind::Word), word("at", TokenKind::Word)];
    let colon = [word(":", TokenKind::Comma)];
    // What is only so much is so much.
    let figure = match figure {
        [about, rest @ ..] if is(about, &["only", "just"]) => rest,
        whole => whole,
    };
    Some([&held[..], place, &colon, pair, figure, stood].concat())
}

/// Where an instrument may be held; of a circuit it is asked at which receptacle.
const PLACES: [Class; 3] = [Class::Place, Class::Device, Class::Circuit];

/// Keeps what is said once; none if it was said before.
fn put<'t, 'r>(kept: &mut Option<&'t [Token<'r>]>, said: &'t [Token<'r>]) -> Option<usize> {
    kept.replace(said).is_none().then_some(said.len())
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
    let both = token.text.split_once('-');
    token.kind == TokenKind::Word
        && both.is_some_and(|(one, other)| slot(one).is_some() && slot(other).is_some())
}

fn is_figure(number: &Token<'_>, unit: &Token<'_>) -> bool {
    number.kind == TokenKind::Number && among(unit, &UNITS).is_some()
}

fn among(token: &Token<'_>, words: &[(&str, &'static str)]) -> Option<&'static str> {
    let lower = token.text.to_lowercase();
    words.iter().find(|(word, _)| *word == lower).map(|(_, called)| *called)
}
