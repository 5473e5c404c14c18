//! A cursor over the tokens of one sentence, names told from words.

use std::ops::Range;
use std::rc::Rc;

use crate::circuit::Outlet;
use crate::condition::words::few;
use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::{Problem, WordsProblem};
use crate::condition::words::suggest::nearest;
use crate::diagnosis::{Complaint, Observation, Parting};
use crate::quantity::Address;

/// What reading a part of a sentence comes to.
pub(super) type Heard<T> = Result<T, Problem>;

/// Words without a meaning of their own.
const SMALL: [&str; 12] =
    ["the", "a", "an", "is", "are", "was", "were", "it", "its", "of", "on", "in"];

/// What stands before or behind the name of a place and says nothing more.
const PARTS: [&str; 15] = [
    "wall",
    "receptacle",
    "receptacles",
    "outlet",
    "outlets",
    "socket-outlet",
    "socket",
    "sockets",
    "plug",
    "plugs",
    "duplex",
    "cover plate",
    "plate",
    "cover",
    "box",
];

/// Words that nobody writes for a name by mistake.
const PLAIN: [&str; 14] = [
    "all", "no", "not", "none", "any", "every", "each", "both", "with", "when", "this", "that",
    "some", "there",
];

/// That it was before anybody called.
const AGO: [&str; 8] = [
    "last week",
    "last month",
    "last year",
    "recently",
    "lately",
    "the other day",
    "this week",
    "this month",
];

/// With what something is so, where that is said first: `when the kettle runs, lights dim`.
#[derive(Clone)]
pub(super) enum Given {
    /// A load that runs.
    Load(String),
    /// Rain and its like, of which nothing here knows.
    NowAndThen,
}

/// Reads one sentence from left to right.
#[derive(Clone)]
pub(super) struct Reader<'r> {
    pub(super) known: &'r Known<'r>,
    pub(super) text: &'r str,
    tokens: &'r [Token<'r>],
    at: usize,
    /// Where the sentence has the run parted, as far as it is read.
    pub(super) parted: Option<Parting>,
    /// What a detector was to be held to, where a test was asked for.
    pub(super) asked: Vec<Address>,
    /// With what it is so, where that was said first.
    pub(super) given: Option<Given>,
    /// The circuit whose wires were measured dead in the panel.
    pub(super) measured_dead: Option<String>,
    /// Where the instrument is held, of several places that were named together.
    pub(super) held_at: Option<&'r Outlet>,
    /// What was told to be seen before this sentence.
    pub(super) seen: Rc<Vec<Observation>>,
    /// What was complained of before it.
    pub(super) called: Rc<Vec<Complaint>>,
}

impl<'r> Reader<'r> {
    pub(super) fn new(known: &'r Known<'r>, text: &'r str, tokens: &'r [Token<'r>]) -> Self {
        Self {
            known,
            text,
            tokens,
            at: 0,
            parted: None,
            asked: Vec::new(),
            given: None,
            measured_dead: None,
            held_at: None,
            seen: Rc::default(),
            called: Rc::default(),
        }
    }

    pub(super) fn token(&self, ahead: usize) -> Option<&'r Token<'r>> {
        self.tokens.get(self.at + ahead)
    }

    /// What is still to be read.
    pub(super) fn rest(&self) -> &'r [Token<'r>] {
        self.tokens.get(self.at..).unwrap_or_default()
    }

    /// What has not been read of the text, with the byte it begins at.
    pub(super) fn rest_of_text(&self) -> (&'r str, usize) {
        let start = self.token(0).map_or(self.text.len(), |token| token.span.start);
        let end = self.tokens.last().map_or(start, |token| token.span.end);
        (self.text.get(start..end).unwrap_or_default(), start)
    }

    /// The whole sentence.
    pub(super) fn sentence(&self) -> &'r str {
        let start = self.tokens.first().map_or(0, |token| token.span.start);
        let end = self.tokens.last().map_or(start, |token| token.span.end);
        self.text.get(start..end).unwrap_or_default()
    }

    /// The boxes and devices that the sentence names.
    pub(super) fn places_named(&self) -> impl Iterator<Item = String> + use<'r> {
        let (known, tokens) = (self.known, self.tokens);
        let classes = [Class::Place, Class::Device];
        let named = move |token: &Token<'r>| known.spelling_among(&classes, token.text);
        tokens.iter().filter_map(named).map(str::to_owned)
    }

    /// Whether when it was is said behind the sentence, and that it is long ago.
    pub(super) fn was_lately(&self) -> bool {
        let end = self.tokens.last().map_or(0, |token| token.span.end);
        let behind = self.text.get(end..).unwrap_or_default();
        let behind = behind.split([';', '\n']).next().unwrap_or_default().trim().to_lowercase();
        AGO.iter().any(|ago| behind.starts_with(ago))
    }

    /// The boxes and devices that were named before.
    pub(super) fn places_named_before(&self) -> impl Iterator<Item = &'r str> {
        let before = self.tokens.get(..self.at).unwrap_or_default();
        let classes = [Class::Place, Class::Device];
        before.iter().filter_map(move |token| self.known.spelling_among(&classes, token.text))
    }

    /// The last box that was named before.
    pub(super) fn place_before(&self) -> Option<String> {
        let before = self.tokens.get(..self.at).unwrap_or_default();
        let named = |token: &Token<'r>| self.known.spelling_among(&[Class::Place], token.text);
        before.iter().rev().find_map(named).map(str::to_owned)
    }

    /// The loads that the sentence names.
    pub(super) fn loads_named(&self) -> impl Iterator<Item = String> + use<'r> {
        let (known, tokens) = (self.known, self.tokens);
        let named = move |token: &Token<'r>| known.spelling_among(&[Class::Load], token.text);
        tokens.iter().filter_map(named).map(str::to_owned)
    }

    /// The only branch circuit that the sentence names.
    pub(super) fn only_circuit_named(&self) -> Option<String> {
        let spelt = |token: &Token<'r>| self.known.spelling_among(&[Class::Circuit], token.text);
        let mut named = self.tokens.iter().filter_map(spelt);
        let first = named.next()?;
        named.all(|other| other == first).then(|| first.to_owned())
    }

    /// The first load that the sentence names.
    pub(super) fn load_named(&self) -> Option<String> {
        self.loads_named().next()
    }

    /// The only place or load that was named before.
    pub(super) fn only_named_before(&self) -> Option<String> {
        let before = self.tokens.get(..self.at).unwrap_or_default();
        let classes = [Class::Load, Class::Place, Class::Device, Class::Circuit];
        let mut named =
            before.iter().filter_map(|token| self.known.spelling_among(&classes, token.text));
        let first = named.next()?;
        named.all(|other| other == first).then(|| first.to_owned())
    }

    /// Whether nothing but marks is left.
    pub(super) fn is_done(&self) -> bool {
        self.rest().iter().all(|token| token.kind == TokenKind::Comma || token.text == ".")
    }

    /// Passes commas, colons and full stops.
    pub(super) fn pass_marks(&mut self) {
        while self.token(0).is_some_and(|t| t.kind == TokenKind::Comma || t.text == ".") {
            self.at += 1;
        }
    }

    /// Whether any of these single words is anywhere in what is read.
    pub(super) fn is_said_anywhere(&self, words: &[&str]) -> bool {
        self.tokens
            .iter()
            .any(|token| words.iter().any(|word| token.text.eq_ignore_ascii_case(word)))
    }

    /// Passes marks and small words; a small word that spells a name before a mark stays.
    pub(super) fn pass_small(&mut self) {
        loop {
            self.pass_marks();
            match self.token(0) {
                Some(token)
                    if token.kind == TokenKind::Word
                        && SMALL.iter().any(|word| token.text.eq_ignore_ascii_case(word)) =>
                {
                    self.at += 1;
                }
                _ => return,
            }
        }
    }

    /// Passes these words, parted by blanks, if they come next.
    pub(super) fn takes(&mut self, words: &str) -> bool {
        let mut count = 0;
        let mut words = words.split(' ').peekable();
        while let Some(word) = words.next() {
            let plain = self.token(count).filter(|token| token.kind != TokenKind::Quoted);
            let Some(token) = plain else { return false };
            // `doesn't` for `does not`.
            let denied = words.peek() == Some(&"not") && is_denial(token.text, word);
            if denied {
                words.next();
            }
            if !denied && !token.text.eq_ignore_ascii_case(word) {
                return false;
            }
            count += 1;
        }
        self.at += count;
        true
    }

    /// Passes the first of these that comes next; longer ones have to stand before their
    /// beginnings.
    pub(super) fn takes_any(&mut self, phrases: &[&str]) -> bool {
        phrases.iter().any(|words| self.takes(words))
    }

    /// Passes the first of these that comes next and does not end in the name of something.
    pub(super) fn takes_unnamed(&mut self, phrases: &[&str]) -> bool {
        let is_name = |words: &&&str| {
            words.rsplit(' ').next().is_some_and(|last| self.known.spelling(last).is_some())
        };
        let plain: Vec<&str> = phrases.iter().filter(|words| !is_name(words)).copied().collect();
        self.takes_any(&plain)
    }

    /// Passes what a receptacle or a part of it is called, unless something is named so.
    pub(super) fn part_word(&mut self) -> bool {
        let is_name = self.token(0).is_some_and(|token| self.known.spelling(token.text).is_some());
        // `the counter one`
        let before = self.at.checked_sub(1).and_then(|at| self.tokens.get(at));
        let is_behind = before.is_some_and(|name| {
            self.known.spelling_among(&[Class::Place, Class::Circuit], name.text).is_some()
        });
        !is_name && (self.takes_any(&PARTS) || is_behind && self.takes_any(&["ones", "one"]))
    }

    /// The value of the first of these phrases that comes next.
    pub(super) fn choice<T: Copy>(&mut self, choices: &[(&str, T)]) -> Option<T> {
        choices.iter().find(|(words, _)| self.takes(words)).map(|(_, value)| *value)
    }

    /// Passes a figure, if one comes next.
    pub(super) fn skip_number(&mut self) -> bool {
        let is_one = self.token(0).is_some_and(|token| token.kind == TokenKind::Number);
        self.skip(usize::from(is_one));
        is_one
    }

    pub(super) fn skip(&mut self, count: usize) {
        self.at += count;
    }

    /// The next token as a name of one of these classes; nothing is passed if it is none.
    pub(super) fn name(&mut self, classes: &[Class]) -> Option<String> {
        let token = self.token(0)?;
        if !matches!(token.kind, TokenKind::Word | TokenKind::Quoted) {
            return None;
        }
        let name = self.known.spelling_among(classes, token.text)?.to_owned();
        self.at += 1;
        Some(name)
    }

    /// The name of something, or what is wrong with what stands in its place.
    pub(super) fn due_name(&mut self, classes: &[Class], what: &str) -> Heard<String> {
        match self.name(classes) {
            Some(name) => Ok(name),
            None => Err(self.no_such(what, self.names(classes))),
        }
    }

    /// Every name of these classes.
    pub(super) fn names(&self, classes: &[Class]) -> Vec<&'r str> {
        let known = self.known;
        let mut names: Vec<&str> = Vec::new();
        for name in classes.iter().flat_map(|class| known.named(*class)) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names
    }

    /// The next token names nothing of the kind.
    pub(super) fn no_such(&self, what: &str, names: Vec<&str>) -> Problem {
        let expected = few(names.iter().map(|name| (*name).to_owned()));
        let problem = match self.token(0) {
            None => self.here(format!("which {what}? its name is missing")),
            Some(token) => self.here(format!("no {what} is called `{}`", token.text)),
        };
        let near = self.token(0).map_or(Vec::new(), |token| meant(token.text, &names));
        problem.suggesting(self.others(near)).expected(expected)
    }

    /// Where the next token stands; the end of the sentence if none does.
    pub(super) fn span(&self) -> Range<usize> {
        let end = || {
            let end = self.tokens.last().map_or(self.text.len(), |token| token.span.end);
            end..end
        };
        self.token(0).map_or_else(end, |token| token.span.clone())
    }

    /// Where the last token that was read ends.
    pub(super) fn span_before(&self) -> usize {
        let before = self.at.checked_sub(1).and_then(|at| self.tokens.get(at));
        before.map_or(0, |token| token.span.end)
    }

    /// A problem with the next token.
    pub(super) fn here(&self, message: impl Into<String>) -> Problem {
        let found = self.token(0).map_or("", |token| token.text);
        WordsProblem::new(self.span(), found, message)
    }

    /// A problem with what was understood from the next token on to where `there` has read.
    pub(super) fn up_to(&self, there: &Self, message: impl Into<String>) -> Problem {
        there.reaching(self.here(message))
    }

    /// The problem, reaching as far as has been read.
    pub(super) fn reaching(&self, mut problem: Problem) -> Problem {
        problem.span.end = problem.span.end.max(self.span_before());
        problem
    }

    /// The next token is none of these words, one of which was probably meant.
    pub(super) fn none_of(&self, what: &str, words: &[&str]) -> Problem {
        let message = match self.token(0) {
            Some(token) => format!("`{}` is not {what}", token.text),
            None => format!("{what} is missing"),
        };
        let near = self.token(0).map_or(Vec::new(), |t| nearest(t.text, words.iter().copied()));
        self.here(message).suggesting(self.others(near)).expected(words.iter().copied())
    }

    /// What may have been meant instead of the next token: nobody means what he wrote instead.
    pub(super) fn others(&self, mut near: Vec<String>) -> Vec<String> {
        let written = self.token(0).map_or("", |token| token.text);
        if PLAIN.iter().any(|word| written.eq_ignore_ascii_case(word)) {
            return Vec::new();
        }
        near.retain(|name| !name.eq_ignore_ascii_case(written));
        near
    }

    /// All has to be read.
    pub(super) fn end(&mut self) -> Heard<()> {
        self.takes_any(&["now", "again", "today", "at all", "too", "also", "as well"]);
        self.pass_marks();
        match self.token(0) {
            None => Ok(()),
            Some(token) => Err(self.here(format!("`{}` is too much here", token.text)).expected([
                "the end of the sentence",
                "`;` and another sentence",
                "`with` and how things stood",
            ])),
        }
    }
}

/// The names that may have been meant: those most like it, else those it is a part of, as
/// `pump` of `vacuum-pump`.
pub(super) fn meant(written: &str, names: &[&str]) -> Vec<String> {
    let near = nearest(written, names.iter().copied());
    if !near.is_empty() || written.len() < PART_LETTERS {
        return near;
    }
    let written = written.to_lowercase();
    let holding = names.iter().filter(|name| name.to_lowercase().contains(&written));
    holding.map(|name| (*name).to_owned()).collect()
}

/// Whether a word is another with `n't` behind it, the mark left out.
fn is_denial(written: &str, word: &str) -> bool {
    let written = written.to_lowercase();
    let odd = [("wont", "will"), ("cant", "can"), ("aint", "is"), ("aint", "are")];
    odd.contains(&(written.as_str(), word)) || written.strip_suffix("nt") == Some(word)
}

/// A part of a name is at least so long.
const PART_LETTERS: usize = 3;

#[cfg(test)]
mod tests {
    use super::meant;

    #[test]
    fn part_of_a_name_finds_the_name() {
        let names = ["vacuum-pump", "computer"];
        assert_eq!(meant("pump", &names), ["vacuum-pump"]);
        assert_eq!(meant("computre", &names), ["computer"]);
        assert!(meant("up", &names).is_empty());
    }
}
