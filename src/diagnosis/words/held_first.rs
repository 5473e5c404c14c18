//! Where a tester or a detector was held, said last: `ncv beeps on both slots at the desk`, `nursery
//! reads open neutral`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;
use crate::instrument::Instrument;

use super::reader::Reader;
use super::seen::GROUND_FAULT;
use super::showing::VERDICTS;
use super::spot::slot;

/// Before where.
const AT: [&str; 5] = ["at", "in", "on", "of", "for"];

/// That it shows something, before what.
const SHOWS: [&str; 10] =
    ["says", "said", "shows", "showed", "reads", "read", "indicates", "gives", "tests", "lights"];

/// What a receptacle is called, behind its name.
const OUTLET: [&str; 4] = ["outlet", "socket", "receptacle", "plug"];

/// What an indicator is called, behind its pair.
const LIGHT: [&str; 6] = ["light", "lamp", "indicator", "led", "neon", "bulb"];

/// Begins how things stood.
const STOOD: [&str; 3] = ["with", "when", "while"];

/// The tokens with the place behind the instrument; as they are where it is said there, or nowhere.
pub(super) fn placed<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let found = of_tool(known, &tokens)
        .or_else(|| by_verdict(known, &tokens))
        .or_else(|| by_button(known, &tokens))
        .or_else(|| by_silence(known, &tokens));
    found.unwrap_or(tokens)
}

fn of_tool<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    let tool = reader.tool(&[])?;
    if !matches!(tool, Instrument::PlugTester(_) | Instrument::NonContact(_)) {
        return None;
    }
    let (held, said) = tokens.split_at_checked(tokens.len() - reader.rest().len())?;
    // Behind a colon is what was shown: the place was said before it.
    if said.iter().any(|token| token.text == ":") {
        return None;
    }
    let end = said.iter().position(|token| is(token, &STOOD)).unwrap_or(said.len());
    let (said, stood) = said.split_at_checked(end)?;
    let is_place = |token: &Token<'_>| {
        known.spelling_among(&[Class::Place, Class::Device], token.text).is_some()
    };
    // One place, and not the first that is said.
    let place = said.iter().position(is_place)?;
    let begins = said.get(..place)?.iter().rposition(|token| is(token, &AT))?;
    let between = said.get(begins + 1..place)?;
    let plain = ["the", "outlet", "socket", "receptacle", "at", "in"];
    if begins == 0 || !between.iter().all(|token| is(token, &plain)) {
        return None;
    }
    let after = said.get(place + 1..)?;
    let after = after.get(after.iter().take_while(|token| is(token, &OUTLET)).count()..)?;
    if after.iter().any(is_place) {
        return None;
    }
    let shown = [said.get(..begins)?, after].concat();
    in_order(held, said.get(place)?, &shown, stood)
}

/// `nursery reads open neutral on the tester`.
fn by_verdict<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes("the");
    let place = tokens.get(tokens.len() - reader.rest().len())?;
    reader.name(&[Class::Place])?;
    reader.takes_any(&OUTLET);
    if !reader.takes_any(&SHOWS) {
        return None;
    }
    let mut ahead = reader.clone();
    while ahead.token(0).is_some_and(|token| slot(token.text).is_some() || is(token, &["and", "/"]))
    {
        ahead.skip(1);
    }
    if !ahead.takes_any(&VERDICTS) {
        return None;
    }
    let shown = tokens.get(tokens.len() - reader.rest().len()..)?;
    let end = shown.iter().position(|token| is(token, &["on", "with"])).unwrap_or(shown.len());
    let tester = Token { text: "tester", kind: TokenKind::Word, span: place.span.clone() };
    in_order(&[tester], place, shown.get(..end)?, &[])
}

/// `pressed test on the counter GFCI, nothing happens`, `counter GFCI test button works`.
fn by_button<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes_any(&["i", "we"]);
    let is_pressed = reader.takes_any(&["pressed", "pressing", "pushed", "pushing"]);
    reader.takes("the");
    let mut at = tokens.len() - reader.rest().len();
    let is_named = !is_pressed && reader.protective_device_next().is_some();
    reader.takes_any(&GROUND_FAULT);
    if !(reader.takes("test button") || is_pressed && reader.takes("test")) {
        return None;
    }
    if !is_named {
        reader.takes_any(&AT);
        reader.takes("the");
        at = tokens.len() - reader.rest().len();
        reader.name(&[Class::Device, Class::Place, Class::Circuit])?;
        reader.takes_any(&GROUND_FAULT);
    }
    reader.pass_marks();
    let button =
        Token { text: "test-button", kind: TokenKind::Word, span: tokens.first()?.span.clone() };
    let shown = tokens.get(tokens.len() - reader.rest().len()..)?;
    in_order(&[button], tokens.get(at)?, shown, &[])
}

/// `no beep from the pen at the desk`.
fn by_silence<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    if !reader.takes_any(&["no beeps", "no beep", "no sound", "nothing", "silence"]) {
        return None;
    }
    if !reader.takes_any(&["from", "on", "with"]) {
        return None;
    }
    let from = tokens.len() - reader.rest().len();
    reader.tool(&[]).filter(|tool| matches!(tool, Instrument::NonContact(_)))?;
    let tool = tokens.get(from..tokens.len() - reader.rest().len())?;
    reader.takes_any(&AT);
    reader.takes("the");
    let at = tokens.len() - reader.rest().len();
    reader.name(&[Class::Place])?;
    reader.takes_any(&OUTLET);
    let span = tokens.first()?.span.clone();
    let silent = Token { text: "silent", kind: TokenKind::Word, span };
    let stood = tokens.get(tokens.len() - reader.rest().len()..)?;
    in_order(tool, tokens.get(at)?, &[silent], stood)
}

/// The instrument, the place, what was shown there and how things stood.
fn in_order<'r>(
    held: &[Token<'r>],
    place: &Token<'r>,
    shown: &[Token<'r>],
    stood: &[Token<'r>],
) -> Option<Vec<Token<'r>>> {
    let span = held.first()?.span.clone();
    let at = Token { text: "at", kind: TokenKind::Word, span: span.clone() };
    let colon = Token { text: ":", kind: TokenKind::Comma, span };
    let shows = shown.iter().take_while(|token| is(token, &SHOWS)).count();
    // `lights up` is what a detector does.
    let is_up = shown.get(shows).is_some_and(|token| is(token, &["up"]));
    let shown = shown.get(shows - usize::from(is_up && shows > 0)..)?;
    let is_said = |(at, token): &(usize, &Token<'_>)| {
        let before = at.checked_sub(1).and_then(|at| shown.get(at));
        let is_of_pair = before.is_some_and(|pair| pair.text.contains('-'));
        !(is(token, &["the", "a"]) || is_of_pair && is(token, &LIGHT))
    };
    let shown: Vec<Token<'r>> =
        shown.iter().enumerate().filter(is_said).map(|(_, token)| token.clone()).collect();
    Some([held, &[at, place.clone(), colon], &shown, stood].concat())
}

fn is(token: &Token<'_>, words: &[&str]) -> bool {
    token.kind != TokenKind::Quoted
        && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
}
