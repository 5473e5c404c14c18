//! A box that was opened, said by what was taken off it or out of it: `pulled the receptacle out at
//! kiln: neutral loose`, `in the kiln box the neutral is burnt`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;

use super::mended::is_of_wire;
use super::reader::Reader;

/// That it was taken.
const TOOK: [&str; 10] = [
    "pulled",
    "took",
    "removed",
    "unscrewed",
    "lifted",
    "popped",
    "slid",
    "have pulled",
    "have taken",
    "have removed",
];

/// What was taken.
const PARTS: [&str; 15] = [
    "front plate",
    "face plate",
    "faceplate",
    "cover plate",
    "wall plate",
    "front",
    "cover",
    "plate",
    "lid",
    "face",
    "receptacle",
    "outlet",
    "socket",
    "light switch",
    "switch",
];

/// From where.
const FROM: [&str; 12] =
    ["out of", "off of", "out", "off", "forward", "at", "in", "from", "of", "on", "by", "the"];

/// The tokens as they are said of an opened box; as they are where nothing was taken off.
pub(super) fn opened<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let found = taken(known, &tokens)
        .or_else(|| taken_of(known, &tokens))
        .or_else(|| inside(known, &tokens))
        .or_else(|| tied_in(known, &tokens));
    found.unwrap_or(tokens)
}

fn taken<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes_any(&["i", "we"]);
    if !reader.takes_any(&TOOK) {
        return None;
    }
    let (mut place, mut part) = (None, false);
    loop {
        let at = tokens.len() - reader.rest().len();
        if place.is_none() && reader.name(&[Class::Place]).is_some() {
            place = tokens.get(at);
        } else if reader.takes_any(&PARTS) {
            part = true;
        } else if !reader.takes_any(&FROM) {
            break;
        }
    }
    part |= reader.takes_any(&["box", "wall"]);
    // `pulled organ, neutral loose`
    let is_found = || {
        let mut found = reader.clone();
        found.pass_marks();
        found.takes_any(&["and found", "found", "the"]);
        reader.token(0).is_some_and(|next| next.text == ",")
            && found.token(0).is_some_and(is_of_wire)
    };
    let place = place.filter(|_| part || is_found())?;
    told(tokens, place, tokens.len() - reader.rest().len())
}

/// `kiln outlet pulled, found ...`.
fn taken_of<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes("the");
    let place = tokens.get(tokens.len() - reader.rest().len())?;
    reader.name(&[Class::Place])?;
    if !reader.takes_any(&PARTS) && !reader.takes("box") {
        return None;
    }
    let is_off = reader.takes_any(&["pulled", "opened", "taken", "removed", "unscrewed"]);
    reader.takes_any(&["out", "off"]);
    let is_found = reader.token(0).is_some_and(|next| next.kind == TokenKind::Comma)
        || ["and", "found"].iter().any(|word| reader.clone().takes(word));
    reader.pass_marks();
    reader.takes("and");
    (is_off && is_found).then(|| told(tokens, place, tokens.len() - reader.rest().len())).flatten()
}

/// `in the kiln box the neutral is burnt`: what is said of a conductor in there.
fn inside<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    if !reader.takes_any(&["in", "inside", "inside of"]) {
        return None;
    }
    reader.takes("the");
    let place = tokens.get(tokens.len() - reader.rest().len())?;
    reader.name(&[Class::Place])?;
    if !reader.takes_any(&["junction box", "box"]) {
        return None;
    }
    reader.pass_marks();
    let found = tokens.len() - reader.rest().len();
    reader.takes_any(&["the", "a"]);
    let is_said = reader.token(0).is_some_and(is_of_wire)
        && reader.token(1).is_some_and(|next| {
            ["is", "was", "wire", "splice", "screw", "joint", "looks", "has", "and"]
                .iter()
                .any(|word| next.text.eq_ignore_ascii_case(word))
        });
    is_said.then(|| told(tokens, place, found)).flatten()
}

/// `neutral and ground tied together in the loft panel`: nobody sees that but in there.
fn tied_in<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes_any(&["the", "found"]);
    let is_wire = |reader: &mut Reader<'_>| {
        let is_one = reader.token(0).is_some_and(is_of_wire);
        reader.skip(usize::from(is_one));
        is_one
    };
    let first = is_wire(&mut reader);
    let joined = reader.takes("and") && is_wire(&mut reader);
    reader.takes_any(&["are", "is", "were", "was"]);
    if !first || !reader.takes_any(&["bonded", "tied", "jumpered", "strapped", "linked"]) {
        return None;
    }
    let is_both = joined || reader.takes("to") && is_wire(&mut reader);
    if !is_both {
        return None;
    }
    reader.takes("together");
    let end = tokens.len() - reader.rest().len();
    if !reader.takes_any(&["in", "at", "inside"]) {
        return None;
    }
    reader.takes("the");
    let place = tokens.get(tokens.len() - reader.rest().len())?;
    reader.name(&[Class::Place])?;
    reader.takes_any(&["panel", "box"]);
    reader.is_done().then(|| told(tokens.get(..end)?, place, 0)).flatten()
}

/// `opened`, the box, and what was found.
fn told<'r>(tokens: &[Token<'r>], place: &Token<'r>, found: usize) -> Option<Vec<Token<'r>>> {
    let span = tokens.first()?.span.clone();
    let opened = Token { text: "opened", kind: TokenKind::Word, span: span.clone() };
    let colon = Token { text: ":", kind: TokenKind::Comma, span };
    Some([&[opened, place.clone(), colon][..], tokens.get(found..)?].concat())
}
