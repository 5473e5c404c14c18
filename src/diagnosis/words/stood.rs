//! How a switch stands, said before what was seen: `hall switch is closed; fan still dead`.

use crate::circuit::Circuit;
use crate::condition::words::known::{Known, is_switch};
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::{Problem, WordsProblem};
use crate::condition::words::{few, speak};
use crate::diagnosis::symptom::switches_before;

use super::moment::BEGINS;

/// Before how it stands.
const IS: [&str; 7] = ["is", "was", "now", "stands", "still", "set", "in"];

/// What only a switch is.
const STATES: [&str; 2] = ["closed", "open"];

/// What a switch is, and other things too.
const OTHER_STATES: [&str; 4] = ["on", "off", "up", "down"];

/// Of the switch that was asked for: how it stands is said next.
const IT_IS: [&str; 6] =
    ["now it is ", "it is now ", "it is ", "it's ", "the switch is ", "switch is "];

/// Of the switch that was asked for: what somebody made of it, and how it stands then.
const MADE_IT: [(&str, &str); 8] = [
    ("closed it", "closed"),
    ("turned it on", "on"),
    ("switched it on", "on"),
    ("put it on", "on"),
    ("opened it", "open"),
    ("turned it off", "off"),
    ("switched it off", "off"),
    ("put it off", "off"),
];

/// How switches stand, as far as it was said, for the sentences that follow.
#[derive(Default)]
pub(super) struct Stood<'r> {
    switches: Vec<(String, Vec<Token<'r>>)>,
}

impl<'r> Stood<'r> {
    /// The sentence without how a switch stands, which was said first, and with that behind it;
    /// none where nothing else is said and others follow.
    pub(super) fn put_last(
        &mut self,
        known: &Known<'_>,
        sentence: Vec<Token<'r>>,
        is_last: bool,
    ) -> Result<Option<Vec<Token<'r>>>, Problem> {
        let mut rest = sentence.as_slice();
        while let Some((name, state, count)) = said_first(known, rest) {
            self.switches.retain(|(other, _)| *other != name);
            self.switches.push((name, state));
            let after = rest.get(count..).unwrap_or_default();
            let joins = after.iter().take_while(|token| parts(token)).count();
            rest = after.get(joins..).unwrap_or_default();
        }
        let Some((name, state)) = self.switches.last() else { return Ok(Some(sentence)) };
        if rest.is_empty() && !is_last {
            return Ok(None);
        }
        // Of what is seen by a load or an instrument it matters how a switch stands.
        let names_load =
            |token: &Token<'_>| known.spelling_among(&[Class::Load], token.text).is_some();
        let is_seen = rest.iter().any(|token| names_load(token) || token.text == ":")
            && !rest.first().is_some_and(|token| token.text.eq_ignore_ascii_case("opened"));
        if !is_seen {
            return Err(with_what_was_seen(known, name, state));
        }
        let of = state.first().or(sentence.first()).map_or(0..0, |token| token.span.clone());
        let word = |text, kind| Token { text, kind, span: of.clone() };
        let is_begun = rest
            .iter()
            .any(|token| BEGINS.iter().any(|word| token.text.eq_ignore_ascii_case(word)));
        let mut said = rest.to_vec();
        for (at, (_, state)) in self.switches.iter().enumerate() {
            said.push(match is_begun || at > 0 {
                true => word(",", TokenKind::Comma),
                false => word("with", TokenKind::Word),
            });
            said.push(word("switch", TokenKind::Word));
            said.extend(state.iter().cloned());
        }
        Ok(Some(said))
    }
}

/// A switch, how it stands, and how many tokens say so, where a sentence begins with that.
fn said_first<'r>(
    known: &Known<'_>,
    tokens: &[Token<'r>],
) -> Option<(String, Vec<Token<'r>>, usize)> {
    let is = |at: usize, words: &[&str]| {
        tokens.get(at).is_some_and(|token| {
            token.kind == TokenKind::Word
                && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
        })
    };
    let mut at = usize::from(is(0, &["the"]));
    let is_before = is(at, &["switch"]);
    at += usize::from(is_before);
    let name = tokens.get(at)?;
    let spelt = known.spelling_among(&[Class::Switch], name.text)?.to_owned();
    at += 1;
    let is_behind = is(at, &["switch"]);
    at += usize::from(is_behind);
    let is_called = is_before || is_behind || spelt.to_lowercase().contains("switch");
    while is(at, &IS) {
        at += 1;
    }
    let n_state = match () {
        () if is(at, &["position"]) => 2,
        () if is(at, &STATES) || is_called && is(at, &OTHER_STATES) => 1,
        () => return None,
    };
    let end = at + n_state;
    if !tokens.get(end).is_none_or(parts) {
        return None;
    }
    let state = std::iter::once(name).chain(tokens.get(at..end)?);
    Some((spelt, state.cloned().collect(), end))
}

fn parts(token: &Token<'_>) -> bool {
    token.kind == TokenKind::Comma && token.text != ":"
        || token.text == "."
        || ["and", "but"].iter().any(|word| token.text.eq_ignore_ascii_case(word))
}

/// How a switch stands tells nothing by itself.
fn with_what_was_seen(known: &Known<'_>, switch: &str, state: &[Token<'_>]) -> Problem {
    let circuit = known.circuit;
    let words: Vec<&str> = state.iter().skip(1).map(|token| token.text).collect();
    let stands = format!("switch {} {}", speak::name(switch), words.join(" "));
    let behind = circuit
        .parts()
        .loads
        .iter()
        .filter(|load| switches_before(circuit, load).iter().any(|before| before.id == switch));
    let does = |load: &str| {
        ["dead", "runs"].map(|does| format!("{} {does} with {stands}", speak::name(load)))
    };
    let forms: Vec<String> = behind.flat_map(|load| does(&load.id)).collect();
    let span = state.first().map_or(0..0, |first| first.span.clone());
    let found = state.first().map_or("", |first| first.text);
    WordsProblem::new(span, found, "how a switch stands is said with what a load did then")
        .expected(few(forms.into_iter()))
}

/// A sentence in full for one about the switch that was asked for: `it is closed, fan still dead`.
/// `None` if it says nothing of how that stands.
///
/// ```
/// use slotwise::diagnosis::words;
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [
/// #         (id: "hall", from: "c1", feet: 30, device: Switch()),
/// #         (id: "attic", from: "hall", feet: 9, carries: ["switched", "neutral", "ground"], devices: []),
/// #     ],
/// #     loads: [(id: "fan", at: "attic", kind: Motor(watts: 60), wired: true, across: ("switched", "neutral"))],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let full = words::of_switch(&studio, "hall", "it is closed, fan still dead");
/// assert_eq!(full.as_deref(), Some("switch hall is closed, fan still dead"));
/// assert_eq!(words::of_switch(&studio, "hall", "fan still dead"), None);
/// ```
pub fn of_switch(circuit: &Circuit, name: &str, text: &str) -> Option<String> {
    circuit.device(name).filter(|device| is_switch(&device.kind))?;
    let begins = |phrase: &str| {
        let begun = text.get(..phrase.len())?;
        begun.eq_ignore_ascii_case(phrase).then(|| text.get(phrase.len()..)).flatten()
    };
    let switch = speak::name(name);
    let said = IT_IS.iter().find_map(|phrase| begins(phrase));
    if let Some(rest) = said {
        return Some(format!("switch {switch} is {rest}"));
    }
    MADE_IT.iter().find_map(|(phrase, state)| {
        let rest = begins(phrase)?;
        Some(format!("switch {switch} is {state}{rest}"))
    })
}
