//! What is neither a word nor a name: what was meant, most likely?

use super::super::lexer::{Token, TokenKind};
use super::super::lexicon::{self, Class, Verb, Word};
use super::super::problem::{Problem, WordsProblem};
use super::super::suggest::nearest;
use super::{Phrase, Reader, name_classes};

impl Reader<'_> {
    /// Neither a word nor a name: what was meant, most likely?
    pub(super) fn unknown(&mut self) {
        let Some(token) = self.token(0) else { return };
        if lexicon::unit(token.text).is_some() {
            let problem = WordsProblem::new(
                token.span.clone(),
                token.text,
                format!("`{}` is a unit and needs a number before it", token.text),
            );
            return self.fail(problem.expected([format!("0.4 {}", token.text)]));
        }
        if let Some(reason) = lexicon::outside(token.text) {
            let message = format!("`{}`: {reason}", token.text);
            return self.fail(WordsProblem::new(token.span.clone(), token.text, message));
        }
        let problem = if token.text.contains(['.', ':']) {
            self.unknown_address(token)
        } else if token.kind == TokenKind::Quoted || self.name_is_due() {
            self.unknown_name(token)
        } else {
            self.unknown_word(token)
        };
        self.fail(problem);
    }

    /// Only a name can stand here.
    fn name_is_due(&self) -> bool {
        match self.leading_word() {
            Some(Word::Class(class)) => !matches!(class, Class::Supply | Class::Joint),
            Some(Word::Preposition(_)) => true,
            // `c1 on ...`: what a circuit sits on.
            Some(Word::Verb(Verb::On)) => self.circuit_before(),
            _ => false,
        }
    }

    fn circuit_before(&self) -> bool {
        self.found.iter().any(|(phrase, _)| {
            matches!(phrase, Phrase::Name(name) if self.known.is(Class::Circuit, name))
        })
    }

    fn unknown_address(&self, token: &Token<'_>) -> Problem {
        let message = format!("`{}` is no address and no element of this circuit", token.text);
        WordsProblem::new(token.span.clone(), token.text, message)
            .suggesting(nearest(token.text, self.known.all_addresses()))
            .expected(["an address, such as PLACE.line.CONDUCTOR or PLACE.CONDUCTOR"])
    }

    fn unknown_name(&self, token: &Token<'_>) -> Problem {
        let class = match self.leading_word() {
            Some(Word::Class(class)) => Some(class),
            Some(Word::Verb(Verb::On)) => Some(Class::Leg),
            _ => None,
        };
        let (called, one) = class.map_or(
            ("place, device, circuit or load", "a box, device, circuit or load"),
            |class| (class_word(class), class_word(class)),
        );
        let message = format!("no {called} is called `{}`", token.text);
        let names: Vec<&str> = match class {
            Some(class) => {
                name_classes(class).iter().flat_map(|class| self.known.named(*class)).collect()
            }
            None => self.known.all_names().collect(),
        };
        let expected = if class.is_some() {
            few(names.iter().map(|name| (*name).to_owned()))
        } else {
            vec![format!("the name of {}", article(one))]
        };
        let meant = nearest(token.text, names);
        WordsProblem::new(token.span.clone(), token.text, message)
            .suggesting(if meant.is_empty() { nearest_word(token.text) } else { meant })
            .expected(expected)
    }

    fn unknown_word(&self, token: &Token<'_>) -> Problem {
        let message =
            format!("`{}` is no word of the condition grammar and no name here", token.text);
        let words = lexicon::WORDS.iter().map(|(word, _)| *word).filter(|word| word.len() > 1);
        WordsProblem::new(token.span.clone(), token.text, message)
            .suggesting(nearest(token.text, words.chain(self.known.all_names())))
            .expected(WHAT_COULD_STAND)
    }
}

fn nearest_word(written: &str) -> Vec<String> {
    nearest(written, lexicon::WORDS.iter().map(|(word, _)| *word).filter(|word| word.len() > 1))
}

/// What a sentence is made of.
pub(crate) const WHAT_COULD_STAND: [&str; 3] = [
    "a conductor (hot, neutral, ground)",
    "what is so (open, exchanged, bridged, 0.4 ohm, on, off, ...)",
    "where (at a box, line side or load side; in a cable)",
];

/// At most this many possibilities are listed.
const FEW: usize = 8;

/// The first few, and how many more there are.
pub(crate) fn few(all: impl Iterator<Item = String>) -> Vec<String> {
    let all: Vec<String> = all.collect();
    let more = all.len().saturating_sub(FEW);
    let mut few: Vec<String> = all.into_iter().take(FEW).collect();
    if more > 0 {
        few.push(format!("{more} more"));
    }
    few
}

fn class_word(class: Class) -> &'static str {
    match class {
        Class::Place => "box",
        Class::Device => "device",
        Class::Circuit => "circuit",
        Class::Breaker => "breaker",
        Class::Cable => "cable",
        Class::Load => "load",
        Class::Switch => "switch",
        Class::Service => "service conductor",
        Class::Leg => "leg",
        Class::Winding => "winding",
        Class::Supply => "supply",
        Class::Electrode => "electrode",
        Class::Bond => "bond",
        Class::Joint => "joint",
    }
}

fn article(noun: &str) -> String {
    if noun.starts_with("a ") {
        return noun.to_owned();
    }
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {noun}")
}
