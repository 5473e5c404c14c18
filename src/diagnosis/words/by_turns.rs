//! Several instruments or places in one sentence, each with what was shown: `tester at organ: lit dim dim,
//! meter hot-neutral 119 V`, `tester: porch lit lit dark, aisle dark lit lit`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;

use super::held_first::by_place;
use super::moment::BEGINS;
use super::reader::Reader;
use super::several::places_length;
use super::spot::slot;

/// Between two of them.
const JOINS: [&str; 5] = [",", "and", "but", "then", "."];

/// What one instrument showed at a place, as far as it is said with it.
#[derive(Clone, Copy, Default)]
struct Turn<'t, 'r> {
    tool: &'t [Token<'r>],
    place: &'t [Token<'r>],
    shown: &'t [Token<'r>],
}

/// A sentence for each instrument and place, with how things stood for all of them; the tokens as they are
/// where it is one.
pub(super) fn each<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Vec<Token<'r>>> {
    let placed = by_place(known, &tokens);
    let found = told(known, placed.as_deref().unwrap_or(&tokens));
    found.unwrap_or_else(|| vec![tokens])
}

fn told<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Vec<Token<'r>>>> {
    let end = tokens.iter().position(|token| is(token, &BEGINS)).unwrap_or(tokens.len());
    let (said, stood) = tokens.split_at_checked(end)?;
    let mut turns: Vec<Turn<'_, 'r>> = Vec::new();
    let mut rest = said;
    while !rest.is_empty() {
        let turn = turn(known, rest, turns.last())?;
        let read = rest.len() - turn.shown.len();
        let next = (0..turn.shown.len()).find(|at| {
            let joins = joins(&turn.shown[*at..]);
            let after = turn.shown.get(at + joins..).unwrap_or_default();
            *at > 0 && joins > 0 && begins_another(known, after)
        });
        let shown = turn.shown.get(..next.unwrap_or(turn.shown.len()))?;
        let joins = next.map_or(0, |at| joins(&turn.shown[at..]));
        rest = rest.get(read + shown.len() + joins..)?;
        turns.push(Turn { shown, ..turn });
    }
    if turns.len() < 2 || turns.iter().any(|one| one.shown.is_empty()) {
        return None;
    }
    let span = tokens.first()?.span.clone();
    let at = Token { text: "at", kind: TokenKind::Word, span: span.clone() };
    let colon = Token { text: ":", kind: TokenKind::Comma, span };
    let sentence = |one: &Turn<'_, 'r>| {
        let at = std::slice::from_ref(&at);
        let colon = std::slice::from_ref(&colon);
        [one.tool, at, one.place, colon, one.shown, stood].concat()
    };
    Some(turns.iter().map(sentence).collect())
}

/// The instrument and the place that are named next, or those that were named before.
fn turn<'t, 'r>(
    known: &Known<'_>,
    said: &'t [Token<'r>],
    before: Option<&Turn<'t, 'r>>,
) -> Option<Turn<'t, 'r>> {
    let mut reader = Reader::new(known, "", said);
    let is_named = reader.tool(&[]).is_some();
    if is_named {
        reader.takes("button");
    }
    let (tool, after) = said.split_at_checked(said.len() - reader.rest().len())?;
    let tool = if is_named { tool } else { before?.tool };
    let (place, shown) = match place_next(known, after) {
        Some((from, to)) => (after.get(from..to)?, after.get(to..)?),
        None => (before.filter(|_| is_named)?.place, after),
    };
    // A list of places goes on, and one of them was not understood.
    if joins(shown) > 0 {
        return None;
    }
    let marks = shown.iter().take_while(|token| token.text == ":").count();
    Some(Turn { tool, place, shown: shown.get(marks..)? })
}

/// Where the names of one place or several begin and end, if they come next.
fn place_next(known: &Known<'_>, tokens: &[Token<'_>]) -> Option<(usize, usize)> {
    let from = tokens.iter().take_while(|token| is(token, &["at", "in", "on", "the", ":"])).count();
    let rest = tokens.get(from..)?;
    if let Some(count) = places_length(known, rest) {
        return Some((from, from + count));
    }
    let first = rest.first()?;
    let is_slot = first.kind != TokenKind::Quoted && slot(first.text).is_some();
    let classes = [Class::Place, Class::Device];
    let is_place = known.spelling_among(&classes, first.text).is_some() && !is_slot;
    let outlet = ["outlet", "socket", "receptacle"];
    let behind = usize::from(rest.get(1).is_some_and(|token| is(token, &outlet)));
    is_place.then_some((from, from + 1 + behind))
}

/// Whether another instrument comes next, or a place with what was shown there.
fn begins_another(known: &Known<'_>, tokens: &[Token<'_>]) -> bool {
    if Reader::new(known, "", tokens).tool(&[]).is_some() {
        return true;
    }
    let Some((_, to)) = place_next(known, tokens) else { return false };
    let shown = tokens.get(to..).unwrap_or_default();
    let is_colon = shown.first().is_some_and(|token| token.text == ":");
    is_colon || Reader::new(known, "", shown).glow_or_doubt().is_some()
}

/// How many tokens join the next.
fn joins(tokens: &[Token<'_>]) -> usize {
    tokens.iter().take_while(|token| is(token, &JOINS)).count()
}

fn is(token: &Token<'_>, words: &[&str]) -> bool {
    token.kind != TokenKind::Quoted
        && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
}
