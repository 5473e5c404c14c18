//! What a button made trip, its device's own or a tester's, said in whichever order: `pressed test on the
//! counter GFCI, nothing happens`, `tester won't trip hatch from dresser`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;
use crate::instrument::Instrument;

use super::held_first::{AT, OUTLET, in_order, word};
use super::reader::Reader;
use super::seen::GROUND_FAULT;

/// That somebody pressed a button.
const PRESSED: [&str; 5] = ["pressed", "pressing", "pushed", "pushing", "press"];

/// Whether a device trips, before what it was tried with.
const TRIPPED: [(&str, bool); 10] = [
    ("does not trip", false),
    ("did not trip", false),
    ("will not trip", false),
    ("would not trip", false),
    ("not tripping", false),
    ("fails to trip", false),
    ("failed to trip", false),
    ("trips", true),
    ("tripped", true),
    ("trip", true),
];

/// What its own button is tried by.
const ON_TEST: [&str; 20] = [
    "when i press test",
    "when i press the test button",
    "when i press its button",
    "when i press the button",
    "when i push test",
    "when i push the test button",
    "when pressing test",
    "when test is pressed",
    "when tested",
    "when i test it",
    "on pressing test",
    "on its test button",
    "on its own button",
    "by its test button",
    "by its own button",
    "by its button",
    "with its test button",
    "with the test button",
    "on the test button",
    "on test",
];

/// What became of the test of a device.
const TESTS: [(&str, bool); 8] = [
    ("failed its test", false),
    ("fails its test", false),
    ("failed the test", false),
    ("failed test", false),
    ("passed its test", true),
    ("passes its test", true),
    ("passed the test", true),
    ("passed test", true),
];

/// The tokens as of the button's instrument; none if no button is spoken of.
pub(super) fn pressed<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    by_button(known, tokens).or_else(|| by_test(known, tokens)).or_else(|| by_tester(known, tokens))
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
    in_order(&[button], tokens.get(at..=at)?, shown, &[])
}

/// `hatch does not trip on test`, `hatch GFCI trips when I press its button`: what its button did.
fn by_test<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes("the");
    reader.protection()?;
    let said = tokens.get(..tokens.len() - reader.rest().len())?;
    let trips = match reader.choice(&TESTS) {
        Some(trips) => trips,
        None => {
            let trips = reader.choice(&TRIPPED)?;
            reader.takes_any(&ON_TEST).then_some(trips)?
        }
    };
    reader.takes_any(&["and resets fine", "and resets", "and reset", "and holds", "now"]);
    reader.pass_marks();
    let classes = [Class::Device, Class::Place, Class::Circuit];
    let is_name = |token: &Token<'_>| known.spelling_among(&classes, token.text).is_some();
    let at = said.iter().rposition(is_name).filter(|_| reader.is_done())?;
    in_order(&[word("test-button", tokens)?], said.get(at..=at)?, &did(trips, tokens)?, &[])
}

/// `tester does not trip hatch from dresser`, `pressed the tester button at dresser and hatch tripped`.
fn by_tester<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let mut reader = Reader::new(known, "", tokens);
    reader.takes_any(&["i", "we"]);
    let is_pressed = reader.takes_any(&PRESSED);
    reader.takes("the");
    let from = tokens.len() - reader.rest().len();
    reader.tool(&[]).filter(|tool| matches!(tool, Instrument::PlugTester(_)))?;
    let tool = tokens.get(from..tokens.len() - reader.rest().len())?;
    let is_button = reader.takes("button") || is_pressed;
    let place = passed_place(known, tokens, &mut reader).filter(|_| is_button);
    reader.pass_marks();
    reader.takes_any(&["and then", "and", "but"]);
    let is_first = passes_device(&mut reader);
    let trips = reader.choice(&TRIPPED)?;
    let is_named = is_first || passes_device(&mut reader);
    let place = place.or_else(|| passed_place(known, tokens, &mut reader))?;
    let held = [tool, &[word("button", tokens)?]].concat();
    let is_said = is_named && reader.is_done();
    is_said.then(|| in_order(&held, place, &did(trips, tokens)?, &[])).flatten()
}

fn passes_device(reader: &mut Reader<'_>) -> bool {
    let mut ahead = reader.clone();
    ahead.takes("the");
    if ahead.protection().is_none() {
        return false;
    }
    reader.skip(reader.rest().len() - ahead.rest().len());
    true
}

/// Passes `at dresser`, `from the dresser outlet`: the place.
fn passed_place<'t, 'r>(
    known: &Known<'_>,
    tokens: &'t [Token<'r>],
    reader: &mut Reader<'_>,
) -> Option<&'t [Token<'r>]> {
    let mut ahead = reader.clone();
    if !ahead.takes_any(&AT) && !ahead.takes("from") {
        return None;
    }
    ahead.takes("the");
    let at = tokens.len() - ahead.rest().len();
    let place = tokens.get(at..=at)?;
    known.spelling_among(&[Class::Place], place.first()?.text)?;
    ahead.skip(1);
    ahead.takes_any(&OUTLET);
    reader.skip(reader.rest().len() - ahead.rest().len());
    Some(place)
}

/// What a button did, in the words of its instrument.
fn did<'r>(trips: bool, tokens: &[Token<'r>]) -> Option<Vec<Token<'r>>> {
    let said: &[&'static str] = if trips { &["trips"] } else { &["does", "not", "trip"] };
    said.iter().map(|text| word(text, tokens)).collect()
}
