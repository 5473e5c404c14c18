//! What comes before any search: fire, and water where there is current.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon;
use crate::condition::words::problem::{Problem, WordsProblem};
use crate::condition::words::speak;

const FIRE: [&str; 7] = ["fire", "fires", "flame", "flames", "flaming", "ablaze", "alight"];

const WET: [&str; 10] = [
    "water",
    "wet",
    "flooded",
    "flood",
    "soaked",
    "soaking",
    "damp",
    "moist",
    "moisture",
    "condensation",
];

/// What to do first about a sentence that means nothing here and speaks of fire or of water; of a name
/// it is neither.
pub(super) fn emergency(known: &Known<'_>, sentence: &[Token<'_>]) -> Option<Problem> {
    // Wet between conductors, in a box that was opened dead, is a find.
    let is_opened = sentence.first().is_some_and(|token| token.text.eq_ignore_ascii_case("opened"));
    if is_opened && sentence.iter().any(|token| lexicon::conductor(token.text).is_some()) {
        return None;
    }
    // A water heater is no water.
    let is_of_name = |at: usize| {
        let next = sentence.get(at + 1).map(|token| token.text.to_lowercase());
        next.is_some_and(|next| ["heater", "pump", "cooler", "boiler"].contains(&next.as_str()))
    };
    // Nor is hot water that does not come.
    let is_any = |at: usize, words: &[&str]| {
        sentence
            .get(at)
            .is_some_and(|token| words.iter().any(|word| token.text.eq_ignore_ascii_case(word)))
    };
    let is_missed = (0..sentence.len()).any(|at| is_any(at, &["no", "not", "without"]));
    let is_hot_water = |at: usize| at > 0 && is_any(at - 1, &["hot", "warm"]) && is_missed;
    let says = |words: &[&str]| {
        let is_it = |(at, token): &(usize, &Token<'_>)| {
            token.kind == TokenKind::Word
                && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
                && !known.is_any_name(token.text)
                && !is_of_name(*at)
                && !is_hot_water(*at)
        };
        sentence.iter().enumerate().find(is_it).map(|(_, token)| token)
    };
    let places = known.circuit.parts().places.iter();
    let is_named = |id: &&str| sentence.iter().any(|token| token.text.eq_ignore_ascii_case(id));
    let at = places.map(|place| place.id.as_str()).find(is_named).map_or("BOX".into(), speak::name);
    let vocabulary = known.circuit.parts().vocabulary;
    let [hot, ground] = ["hot", "ground"].map(|name| speak::conductor(vocabulary, name));
    let (of, message, then) = match (says(&FIRE), says(&WET)) {
        (Some(fire), _) => (
            fire,
            "if anything burns, get everybody out and call the fire service; switch the main off only if \
             that is safe, and put no water on it; search only once it is out and looked after",
            [format!("{at} smells of burning"), format!("{at} scorched")],
        ),
        (None, Some(wet)) => (
            wet,
            "keep off what is wet and off all metal near it; have its power switched off from a dry place, \
             and have it dried and its insulation tested before it is used; say what else is noticed",
            match is_opened {
                true => [format!("opened {at}: {hot} and {ground} wet"), format!("{at} dead")],
                false => [format!("tingle from {at}"), format!("{at} dead")],
            },
        ),
        (None, None) => return None,
    };
    let example = then.first().filter(|_| is_opened).cloned();
    let mut problem = WordsProblem::new(of.span.clone(), of.text, message).expected(then);
    problem.example = example;
    Some(problem)
}
