//! What things are called besides their names: `fridge` for `refrigerator`, `bedroom breaker` for
//! that of `bedrooms`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;

use super::complaint::OUTLETS;
use super::seen::{BREAKER, GROUND_FAULT};

/// Each by any of these names: where only one load is called so, any of them means it.
const ALIKE: [&[&str]; 12] = [
    &["refrigerator", "fridge", "icebox"],
    &["tv", "telly", "television", "tv set", "tele"],
    &["washing machine", "washer", "clothes washer"],
    &["dryer", "tumble dryer", "clothes dryer", "tumbler"],
    &["oven", "stove", "cooker", "range"],
    &["microwave", "microwave oven"],
    &["vacuum", "vacuum cleaner", "hoover"],
    &["hair dryer", "hairdryer", "blow dryer"],
    &["heater", "space heater", "electric heater"],
    &["freezer", "deep freeze", "chest freezer"],
    &["air conditioner", "ac", "aircon", "air con"],
    &["pc", "computer", "desktop"],
];

/// What these words mean elsewhere.
const ELSEWHERE: [&str; 1] = ["range"];

/// Of so many words such a name is at most.
const WORDS_MAX: usize = 2;

/// The tokens with loads and circuits by their own names, where only one can be meant.
pub(super) fn by_name<'r>(known: &'r Known<'r>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let mut named: Vec<Token<'r>> = Vec::with_capacity(tokens.len());
    let mut rest = tokens.as_slice();
    while let Some(token) = rest.first() {
        let meant = load(known, rest)
            .or_else(|| Some((circuit(known, rest)?, 1)))
            .or_else(|| Some((its_light(known, &named, token)?, 1)));
        let (text, count) = meant.unwrap_or((token.text, 1));
        let kind = if meant.is_some() { TokenKind::Quoted } else { token.kind };
        let end = rest.get(count - 1).map_or(token.span.end, |last| last.span.end);
        named.push(Token { text, kind, span: token.span.start..end });
        rest = rest.get(count..).unwrap_or_default();
    }
    named
}

/// The only load that is called as these words say, and how many they are.
fn load<'r>(known: &'r Known<'r>, rest: &[Token<'_>]) -> Option<(&'r str, usize)> {
    (1..=WORDS_MAX).rev().find_map(|count| {
        let words = rest.get(..count)?;
        let is_free = |token: &Token<'_>| {
            token.kind == TokenKind::Word && known.spelling(token.text).is_none()
        };
        if !words.iter().all(is_free) {
            return None;
        }
        let said = words.iter().map(|word| word.text.to_lowercase()).collect::<Vec<_>>().join(" ");
        if ELSEWHERE.contains(&said.as_str()) {
            return None;
        }
        let group = ALIKE.iter().find(|group| group.contains(&said.as_str()))?;
        let spelt = |name: &str| {
            let marks = ["-", "_", ""];
            marks
                .iter()
                .find_map(|mark| known.spelling_among(&[Class::Load], &name.replace(' ', mark)))
        };
        let mut loads = group.iter().filter_map(|name| spelt(name));
        let first = loads.next()?;
        loads.all(|other| other == first).then_some((first, count))
    })
}

/// `bedroom breaker`, `bedroom outlets`: the only circuit that is called almost so.
fn circuit<'r>(known: &'r Known<'r>, rest: &[Token<'_>]) -> Option<&'r str> {
    let [token, next, ..] = rest else { return None };
    let is_class = |words: &[&str]| words.iter().any(|word| next.text.eq_ignore_ascii_case(word));
    let is_free = token.kind == TokenKind::Word && known.spelling(token.text).is_none();
    if !is_free || !(is_class(&BREAKER) || is_class(&GROUND_FAULT) || is_class(&OUTLETS)) {
        return None;
    }
    let said = token.text.to_lowercase();
    let stem = said.strip_suffix('s').unwrap_or(&said);
    let spelt = |name: &str| known.spelling_among(&[Class::Circuit], name);
    let almost = [format!("{stem}s"), stem.to_owned()];
    let room = stem.strip_suffix("room").filter(|room| !room.is_empty());
    almost.iter().find_map(|name| spelt(name)).or_else(|| spelt(room?))
}

/// `oven does not heat but the light works`: the light that bears the name of the load before.
fn its_light<'r>(known: &'r Known<'r>, before: &[Token<'_>], token: &Token<'_>) -> Option<&'r str> {
    let is_light = token.kind == TokenKind::Word && token.text.eq_ignore_ascii_case("light");
    if !is_light || known.spelling(token.text).is_some() {
        return None;
    }
    let pointed = before
        .last()
        .is_some_and(|last| ["the", "its"].iter().any(|word| last.text.eq_ignore_ascii_case(word)));
    let mut loads = before.iter().filter_map(|one| known.spelling_among(&[Class::Load], one.text));
    let load = loads.next().filter(|_| pointed)?;
    known.spelling_among(&[Class::Load], &format!("{load}-light"))
}
