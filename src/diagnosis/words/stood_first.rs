//! How things stood when something was read off, said before it or behind a comma: `breaker off: 0.5
//! ohm between neutral and ground at the desk`, `meter at closet, washer off: ...`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;

use super::measured_first::is_reading;
use super::moment::BEGINS;
use super::reader::Reader;

/// What is switched off or unplugged; a switch has a way of its own to be said first.
const SET: [Class; 2] = [Class::Load, Class::Circuit];

/// What feeds a place, by no name.
const FEED: [&str; 4] = ["breaker", "power", "circuit", "fuse"];

/// Every load.
const EVERY: [&str; 3] = ["everything", "all loads", "loads"];

const IS: [&str; 7] = ["is", "are", "was", "were", "turned", "switched", "all"];

/// How a thing stands, and the word of conditions for it.
const STATES: [(&str, &str); 9] = [
    ("plugged in", "plugged"),
    ("on", "on"),
    ("running", "on"),
    ("off", "off"),
    ("isolated", "off"),
    ("tripped", "off"),
    ("unplugged", "unplugged"),
    ("disconnected", "unplugged"),
    ("removed", "unplugged"),
];

/// The tokens with how things stood behind `with`, and with the breaker by its name; as they are where
/// nothing was read off.
pub(super) fn put_last<'r>(known: &'r Known<'r>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    last(known, &tokens).unwrap_or(tokens)
}

fn last<'r>(known: &'r Known<'r>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let first = usize::from(tokens.first().is_some_and(|token| is(token, &BEGINS)));
    let begins = |token: &Token<'r>| is(token, &BEGINS);
    let end = tokens.iter().skip(first).position(begins).map_or(tokens.len(), |at| at + first);
    let (said, with) = tokens.split_at_checked(end)?;
    let feeding = Reader::new(known, "", tokens).feeding_all_named();
    let feeding = feeding.and_then(|name| known.spelling_among(&[Class::Circuit], &name));
    let state = |part: &[Token<'r>]| states_of(known, part, feeding);
    let (mut read, mut stood): (Vec<Token<'r>>, Vec<Token<'r>>) = (Vec::new(), Vec::new());
    let mut said = said.get(first..)?;
    if first > 0 {
        // `with the breaker off I measure ...`: as far as it says how something stood.
        let count =
            (1..said.len()).rev().find(|count| said.get(..*count).and_then(state).is_some())?;
        add(&mut stood, said.get(..count).and_then(state)?);
        said = said.get(count..)?;
    }
    for (part, mark) in parts(said) {
        match state(part) {
            Some(state) => {
                add(&mut stood, state);
                // A colon parts what was read off from where.
                if let Some(colon) = mark.filter(|mark| mark.text == ":")
                    && let Some(last) = read.last_mut().filter(|last| is_mark(last))
                {
                    *last = colon.clone();
                }
            }
            None => {
                read.extend_from_slice(part);
                read.extend(mark.cloned());
            }
        }
    }
    for (part, _) in parts(with.get(1..).unwrap_or_default()) {
        add(&mut stood, state(part).unwrap_or_else(|| part.to_vec()));
    }
    if stood.is_empty() || !is_reading(known, &read) {
        return None;
    }
    while read.last().is_some_and(is_mark) {
        read.pop();
    }
    let span = stood.first()?.span.clone();
    read.push(Token { text: "with", kind: TokenKind::Word, span });
    read.append(&mut stood);
    Some(read)
}

/// How things stood that are joined by `and`, if a part says that and nothing else.
fn states_of<'r>(
    known: &Known<'_>,
    part: &[Token<'r>],
    feeding: Option<&'r str>,
) -> Option<Vec<Token<'r>>> {
    let mut all = Vec::new();
    for one in part.split(|token| is(token, &["and"]) || is_mark(token)) {
        add(&mut all, state_of(known, one, feeding)?);
    }
    Some(all)
}

/// How one thing stood, if a part says that and nothing else.
fn state_of<'r>(
    known: &Known<'_>,
    part: &[Token<'r>],
    feeding: Option<&'r str>,
) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", part);
    reader.takes("the");
    let span = part.first()?.span.clone();
    let word = |text, kind| Token { text, kind, span: span.clone() };
    let at = part.len() - reader.rest().len();
    let of_feed = reader.takes_unnamed(&FEED) && reader.name(&[Class::Circuit]).is_none();
    let set = match () {
        () if of_feed => {
            [word("breaker", TokenKind::Word), word(feeding?, TokenKind::Quoted)].to_vec()
        }
        () if reader.takes_unnamed(&EVERY) => vec![word("everything", TokenKind::Word)],
        () => {
            let mut named = Reader::new(known, "", part);
            named.takes("the");
            named.takes_unnamed(&FEED);
            named.name(&SET)?;
            named.takes_unnamed(&FEED);
            reader = named;
            part.get(at..part.len() - reader.rest().len())?.to_vec()
        }
    };
    while reader.takes_any(&IS) {}
    let state = reader.choice(&STATES)?;
    let span = part.last()?.span.clone();
    let state = Token { text: state, kind: TokenKind::Word, span };
    reader.is_done().then(|| [&set[..], &[state]].concat())
}

fn add<'r>(stood: &mut Vec<Token<'r>>, state: Vec<Token<'r>>) {
    if let Some(first) = state.first().filter(|_| !stood.is_empty()) {
        stood.push(Token { text: ",", kind: TokenKind::Comma, span: first.span.clone() });
    }
    stood.extend(state);
}

/// The parts between marks, each with the mark behind it.
fn parts<'t, 'r>(tokens: &'t [Token<'r>]) -> Vec<(&'t [Token<'r>], Option<&'t Token<'r>>)> {
    let mut parts = Vec::new();
    let mut rest = tokens;
    while let Some(at) = rest.iter().position(is_mark) {
        parts.push((rest.get(..at).unwrap_or_default(), rest.get(at)));
        rest = rest.get(at + 1..).unwrap_or_default();
    }
    parts.push((rest, None));
    parts.retain(|(part, _)| !part.is_empty());
    parts
}

fn is_mark(token: &Token<'_>) -> bool {
    token.kind == TokenKind::Comma
}

fn is(token: &Token<'_>, words: &[&str]) -> bool {
    token.kind != TokenKind::Quoted
        && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
}
