//! Where a tester or a detector was held, said last or before it: `ncv beeps on both slots at the desk`,
//! `nursery reads open neutral`, `organ: tester lit dim dim`, `checked every outlet with the tester: ...`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;
use crate::instrument::Instrument;

use super::buttons;
use super::reader::Reader;
use super::several::places_length;
use super::showing::VERDICTS;
use super::spot::slot;

/// Before where.
pub(super) const AT: [&str; 5] = ["at", "in", "on", "of", "for"];

/// That it shows something, before what.
const SHOWS: [&str; 12] = [
    "says",
    "said",
    "shows",
    "showed",
    "reads",
    "read",
    "indicates",
    "gives",
    "tests",
    "test",
    "tested",
    "lights",
];

/// What a receptacle is called, behind its name.
pub(super) const OUTLET: [&str; 4] = ["outlet", "socket", "receptacle", "plug"];

/// That somebody looked, before where.
const LOOKED: [&str; 8] =
    ["checked", "tested", "tried", "went round", "went over", "did", "looked at", "walked"];

/// That nobody looked, before where and behind it.
const SKIPPED: [&str; 5] =
    ["did not test", "did not check", "did not look at", "have not tested", "skipped"];
const NOT_TESTED: [&str; 8] = [
    "was not tested",
    "not tested",
    "is not tested",
    "were not tested",
    "not checked",
    "was not checked",
    "were not checked",
    "untested",
];

/// What an indicator is called, behind its pair.
const LIGHT: [&str; 6] = ["light", "lamp", "indicator", "led", "neon", "bulb"];

/// Begins how things stood.
const STOOD: [&str; 3] = ["with", "when", "while"];

/// The tokens with the place behind the instrument; as they are where it is said there, or nowhere.
pub(super) fn placed<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let tokens = with_tester(known, tokens);
    let found = by_place(known, &tokens)
        .or_else(|| by_walk(known, &tokens))
        .or_else(|| of_tool(known, &tokens))
        .or_else(|| of_tool_at_several(known, &tokens))
        .or_else(|| by_verdict(known, &tokens))
        .or_else(|| buttons::pressed(known, &tokens))
        .or_else(|| by_silence(known, &tokens))
        .or_else(|| by_omission(known, &tokens));
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
    in_order(held, said.get(place..=place)?, &shown, stood)
}

/// `test at organ: lit dim dim` as of a tester.
fn with_tester<'r>(known: &Known<'_>, mut tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let is_held = tokens.get(1).is_some_and(|next| is(next, &["at", "in", ":"]));
    let named = |token: &Token<'_>| known.is_any_name(token.text);
    if let Some(first) = tokens.first_mut().filter(|first| is(first, &["test"]) && !named(first))
        && is_held
    {
        first.text = "tester";
    }
    tokens
}

/// `tester lit lit dark everywhere on nave`, `tester dark lit lit at organ and vestry`.
fn of_tool_at_several<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    let tool = reader.tool(&[])?;
    if !matches!(tool, Instrument::PlugTester(_) | Instrument::NonContact(_)) {
        return None;
    }
    let (held, said) = tokens.split_at_checked(tokens.len() - reader.rest().len())?;
    if said.iter().any(|token| token.text == ":") {
        return None;
    }
    let end = said.iter().position(|token| is(token, &STOOD)).unwrap_or(said.len());
    let (said, stood) = said.split_at_checked(end)?;
    let ends = |at: &usize| {
        let rest = said.get(*at..).unwrap_or_default();
        places_length(known, rest) == Some(rest.len())
    };
    let from = (1..said.len()).find(ends)?;
    let at = usize::from(said.get(from).is_some_and(|token| is(token, &AT)));
    in_order(held, said.get(from + at..)?, said.get(..from)?, stood)
}

/// `organ: tester lit dim dim`, `porch and aisle: tester lit lit dark`.
pub(super) fn by_place<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let colon = tokens.iter().position(|token| token.text == ":")?;
    let (place, said) = tokens.split_at_checked(colon)?;
    let place = where_alone(known, place)?;
    let said = said.get(1..)?;
    let mut reader = Reader::new(known, "", said);
    reader.tool(&[])?;
    let (tool, shown) = said.split_at_checked(said.len() - reader.rest().len())?;
    let marks = shown.iter().take_while(|token| token.text == ":").count();
    in_order(tool, place, shown.get(marks..)?, &[])
}

/// The tokens of one place or several, without what is before or behind them, if nothing else is said.
fn where_alone<'t, 'r>(known: &Known<'_>, tokens: &'t [Token<'r>]) -> Option<&'t [Token<'r>]> {
    let at = tokens.iter().take_while(|token| is(token, &["at", "in", "the", "outlet"])).count();
    let place = tokens.get(at..)?;
    if places_length(known, place) == Some(place.len()) {
        return Some(place);
    }
    let mut reader = Reader::new(known, "", place);
    reader.name(&[Class::Place, Class::Device])?;
    reader.takes_any(&OUTLET);
    reader.rest().is_empty().then(|| place.get(..1)).flatten()
}

/// `checked every receptacle with the tester: lit lit dark`.
fn by_walk<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let with = tokens.iter().position(|token| is(token, &["with", "using"]))?;
    let (place, said) = tokens.split_at_checked(with)?;
    let mut reader = Reader::new(known, "", place);
    reader.takes_any(&["i", "we"]);
    if !reader.takes_any(&LOOKED) {
        return None;
    }
    let place = where_alone(known, left(place, &reader))?;
    let said = said.get(1..)?;
    let mut reader = Reader::new(known, "", said);
    reader.takes_any(&["the", "a", "my"]);
    let from = said.len() - reader.rest().len();
    reader.tool(&[])?;
    let to = said.len() - reader.rest().len();
    reader.pass_marks();
    let shown = Some(left(said, &reader)).filter(|shown| !shown.is_empty())?;
    in_order(said.get(from..to)?, place, shown, &[])
}

/// What is still to be read of these.
fn left<'t, 'r>(tokens: &'t [Token<'r>], reader: &Reader<'_>) -> &'t [Token<'r>] {
    tokens.get(tokens.len() - reader.rest().len()..).unwrap_or_default()
}

/// A word in the place of these.
pub(super) fn word<'r>(text: &'static str, tokens: &[Token<'r>]) -> Option<Token<'r>> {
    Some(Token { text, kind: TokenKind::Word, span: tokens.first()?.span.clone() })
}

/// `nursery reads open neutral on the tester`, `organ and vestry test lit lit dark`.
fn by_verdict<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let to = tokens.iter().position(|token| is(token, &SHOWS))?;
    let all =
        tokens.get(..to)?.iter().rev().take_while(|token| is(token, &["all", "both", "each"]));
    let place = where_alone(known, tokens.get(..to - all.count())?)?;
    let mut reader = Reader::new(known, "", tokens.get(to..)?);
    reader.takes_any(&SHOWS);
    let mut glows = reader.clone();
    let are_glows = (0..2).all(|_| {
        glows.pass_marks();
        glows.glow_or_doubt().is_some()
    });
    let mut ahead = reader.clone();
    while ahead.token(0).is_some_and(|token| slot(token.text).is_some() || is(token, &["and", "/"]))
    {
        ahead.skip(1);
    }
    if !are_glows && !ahead.takes_any(&VERDICTS) {
        return None;
    }
    let shown = left(tokens, &reader);
    let end = shown.iter().position(|token| is(token, &["on", "with"])).filter(|_| !are_glows);
    let tester = Token { text: "tester", kind: TokenKind::Word, span: place.first()?.span.clone() };
    in_order(&[tester], place, shown.get(..end.unwrap_or(shown.len()))?, &[])
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
    in_order(tool, tokens.get(at..=at)?, &[silent], stood)
}

/// `bench not tested`, `skipped the organ outlet`.
fn by_omission<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes_any(&["i", "we"]);
    let place = match reader.takes_any(&SKIPPED) {
        true => left(tokens, &reader),
        false => {
            let end = (1..tokens.len()).find(|at| {
                let mut said = Reader::new(known, "", tokens.get(*at..).unwrap_or_default());
                said.takes_any(&NOT_TESTED) && said.is_done()
            })?;
            tokens.get(..end)?
        }
    };
    let place = where_alone(known, place)?;
    let did_not_look = ["did", "not", "look"].map(|text| word(text, tokens));
    let did_not_look: Vec<Token<'r>> = did_not_look.into_iter().collect::<Option<_>>()?;
    in_order(&[word("tester", tokens)?], place, &did_not_look, &[])
}

/// The instrument, the place, what was shown there and how things stood.
pub(super) fn in_order<'r>(
    held: &[Token<'r>],
    place: &[Token<'r>],
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
    Some([held, &[at], place, &[colon], &shown, stood].concat())
}

fn is(token: &Token<'_>, words: &[&str]) -> bool {
    token.kind != TokenKind::Quoted
        && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
}
