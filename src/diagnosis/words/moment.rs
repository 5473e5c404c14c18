//! How things stood: `with heater on, kettle off and radio unknown`.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::{Class, Verb};
use crate::condition::words::problem::{Problem, WordsProblem};
use crate::condition::words::{self, Edit, few, speak};
use crate::condition::{Condition, Fault};
use crate::diagnosis::Moment;

use super::reader::{Heard, Reader};

/// What can be of unknown state.
pub(super) const SET: [Class; 4] = [Class::Load, Class::Switch, Class::Circuit, Class::Device];

/// Words that end what is said of one thing.
const STATES: [&str; 20] = [
    "on",
    "off",
    "unplugged",
    "in",
    "tripped",
    "reset",
    "closed",
    "open",
    "stalled",
    "up",
    "down",
    "straight",
    "crossed",
    "1",
    "2",
    "one",
    "two",
    "running",
    "disconnected",
    "removed",
];

/// Begins what is said of how things stood.
pub(super) const BEGINS: [&str; 5] = ["with", "while", "when", "during", "having"];

impl<'r> Reader<'r> {
    /// How things stood, if it is said; reads to the end.
    pub(super) fn moment(&mut self) -> Heard<Moment> {
        self.pass_marks();
        self.takes_any(&["and even", "and", "even"]);
        if self.is_done() {
            return Ok(Moment::default());
        }
        if !self.takes_any(&BEGINS) {
            self.end()?;
        }
        let mut moment = Moment::default();
        let mut stated: Vec<Vec<Token<'_>>> = Vec::new();
        while !self.is_done() {
            self.pass_marks();
            self.takes_any(&["and with", "and", "but", "with"]);
            self.pass_small_before_nothing();
            if self.takes_any(&[
                "everything as described",
                "everything as usual",
                "all as described",
            ]) {
                continue;
            }
            if let Some(loads) = self.running_loads() {
                stated.extend(loads);
                continue;
            }
            if let Some(all) = self.nothing_plugged_in() {
                stated.push(all);
                continue;
            }
            self.refuse_wires()?;
            let all = self.rest();
            let part = all.get(..self.part_length()).unwrap_or(all);
            match unknown_names(part) {
                Some(names) => self.unknown(names, &mut moment)?,
                None => stated.push(part.to_vec()),
            }
            self.skip(part.len());
        }
        let stated: Vec<&[Token<'_>]> = stated.iter().map(Vec::as_slice).collect();
        let edits = words::edits_of(self.known, &stated, self.text).map_err(first)?;
        for edit in edits {
            self.set(edit, &mut moment)?;
        }
        Ok(moment)
    }

    /// Whether, after a mark, something that is switched is spoken of.
    fn set_next(&self, tokens: &[Token<'_>]) -> bool {
        let [mark, rest @ ..] = tokens else { return false };
        let is_set = |token: &&Token<'_>| {
            token.kind != TokenKind::Comma && self.known.spelling_among(&SET, token.text).is_some()
        };
        let word = rest.first().is_some_and(|token| class_word(token.text).is_some());
        parts(mark) && rest.get(usize::from(word)).filter(is_set).is_some()
    }

    /// Loads that run, where it is said so (`kettle starts`, `kettle and lamp run`), each as a
    /// sentence that has it on.
    fn running_loads(&mut self) -> Option<Vec<Vec<Token<'r>>>> {
        let all = self.rest();
        let mut ahead = self.clone();
        let mut names: Vec<&Token<'r>> = Vec::new();
        loop {
            ahead.load()?;
            names.extend(all.get((all.len() - ahead.rest().len()).checked_sub(1)?));
            if !ahead.takes("and") {
                break;
            }
        }
        // What is switched or plugged in is said so in the grammar of conditions.
        let stands = ["on", "is on", "are on", "plugged in", "is plugged in", "are plugged in"];
        let verb = ahead.span();
        let is_so = !ahead.clone().takes_any(&stands) && ahead.runs();
        if !is_so || !ahead.token(0).is_none_or(parts) {
            return None;
        }
        *self = ahead;
        let on = Token { text: "on", kind: TokenKind::Word, span: verb };
        Some(names.into_iter().map(|name| vec![name.clone(), on.clone()]).collect())
    }

    /// `nothing plugged in`, as a sentence that has everything unplugged.
    fn nothing_plugged_in(&mut self) -> Option<Vec<Token<'r>>> {
        let span = self.span();
        let nothing = [
            "nothing plugged in",
            "nothing is plugged in",
            "nothing plugged into it",
            "nothing connected",
            "nothing in use",
            "no loads plugged in",
            "no load plugged in",
        ];
        self.takes_any(&nothing).then(|| {
            let word = |text| Token { text, kind: TokenKind::Word, span: span.clone() };
            ["everything", "unplugged"].map(word).to_vec()
        })
    }

    /// `load wires off`: which joints those are is said by conductor and box.
    fn refuse_wires(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let side = ahead.choice(&[
            ("load", "load side"),
            ("load-side", "load side"),
            ("load side", "load side"),
            ("downstream", "load side"),
            ("line", "line side"),
            ("line-side", "line side"),
            ("line side", "line side"),
            ("feed", "line side"),
        ]);
        let wires = ["wires", "wire", "wiring", "conductors", "cable", "terminals", "leads"];
        let Some(side) = side.filter(|_| ahead.takes_any(&wires)) else { return Ok(()) };
        let place = self.places_named().next().map_or("BOX".to_owned(), |name| speak::name(&name));
        let hot = speak::conductor(self.known.circuit.parts().vocabulary, "hot");
        let message = "which wires, and in which box? a wire is said by its conductor";
        Err(self
            .here(message)
            .expected([format!("{hot} and neutral disconnected at {place}, {side}")]))
    }

    /// `nothing plugged in` is all loads unplugged: said so that the grammar of conditions
    /// needs no word for it.
    fn pass_small_before_nothing(&mut self) {
        if self.token(0).is_some_and(|token| token.text.eq_ignore_ascii_case("the")) {
            self.skip(1);
        }
    }

    /// How many tokens belong to what is said of one thing.
    fn part_length(&self) -> usize {
        let rest = self.rest();
        let ends = |at: usize| {
            let (Some(token), next) = (rest.get(at), rest.get(at + 1)) else { return false };
            let state = STATES.iter().any(|state| is_word(token, state)) || is_unknown(token);
            let (before, after) = rest.split_at_checked(at + 1).unwrap_or_default();
            (state && next.is_none_or(parts))
                || (before.iter().any(opens) && (opens_next(after) || self.set_next(after)))
        };
        (0..rest.len()).find(|at| ends(*at)).map_or(rest.len(), |at| at + 1)
    }

    fn unknown(&self, names: &[Token<'_>], moment: &mut Moment) -> Heard<()> {
        let said = names.iter().filter(|token| {
            token.kind != TokenKind::Comma
                && !["and", "or", "the", "is", "are"].iter().any(|word| is_word(token, word))
        });
        let mut any = false;
        for token in said {
            let Some(name) = self.known.spelling_among(&SET, token.text) else {
                if let Some(Class::Breaker | Class::Switch | Class::Load | Class::Circuit) =
                    class_word(token.text)
                {
                    continue;
                }
                let message =
                    format!("no load, switch, breaker or device is called `{}`", token.text);
                let names = self.names(&SET);
                let near = words::suggest::nearest(token.text, names.iter().copied());
                let problem = WordsProblem::new(token.span.clone(), token.text, message);
                let names = names.iter().map(|name| (*name).to_owned());
                return Err(problem.suggesting(near).expected(few(names)));
            };
            any = true;
            moment.unknown.insert(name.to_owned());
        }
        if any {
            return Ok(());
        }
        Err(self.here("of what is the state not known?").expected(["the name of a load"]))
    }

    fn set(&self, edit: Edit, moment: &mut Moment) -> Heard<()> {
        let name = match &edit {
            Edit::Load { name, .. } | Edit::Switch { name, .. } | Edit::Breaker { name, .. } => {
                Some(name.clone())
            }
            Edit::Attach(_) | Edit::Fault(Fault::Open { .. }) => None,
            Edit::Fault(_) => {
                return Err(self.whole(
                    "how things stood is what was switched, plugged in or taken off; what is \
                     wrong is what is looked for",
                ));
            }
        };
        if let Some(name) = name.filter(|name| moment.unknown.contains(name)) {
            return Err(self.whole(&format!("`{name}` cannot be both in a state and unknown")));
        }
        edit.apply(&mut moment.condition);
        Ok(())
    }

    fn whole(&self, message: &str) -> Problem {
        let start = self.text.len() - self.text.trim_start().len();
        WordsProblem::new(start..self.text.trim_end().len(), "with", message).expected([
            "a load on, off or unplugged",
            "a breaker or switch on or off",
            "a joint disconnected",
            "a load unknown",
        ])
    }
}

/// Parts what is said of one thing from what is said of another.
fn parts(token: &Token<'_>) -> bool {
    token.kind == TokenKind::Comma || is_word(token, "and") || is_word(token, "but")
}

fn opens(token: &Token<'_>) -> bool {
    matches!(words::lexicon::word(token.text), Some(words::lexicon::Word::Verb(Verb::Open)))
}

/// Whether, after a mark, the next wire that was taken off is spoken of.
fn opens_next(tokens: &[Token<'_>]) -> bool {
    let [mark, wire, open, ..] = tokens else { return false };
    parts(mark) && words::lexicon::conductor(wire.text).is_some() && opens(open)
}

fn class_word(written: &str) -> Option<Class> {
    match words::lexicon::word(written) {
        Some(words::lexicon::Word::Class(class)) => Some(class),
        _ => None,
    }
}

fn first(problems: Vec<WordsProblem>) -> Problem {
    let none = || WordsProblem::new(0..0, "", "this was not understood");
    problems.into_iter().next().map_or_else(none, Box::new)
}

fn is_word(token: &Token<'_>, word: &str) -> bool {
    token.kind != TokenKind::Quoted && token.text.eq_ignore_ascii_case(word)
}

fn is_unknown(token: &Token<'_>) -> bool {
    ["unknown", "unsure", "sure", "known"].iter().any(|word| is_word(token, word))
}

/// The names in `radio and kettle unknown`, `radio not known`.
fn unknown_names<'p, 't>(part: &'p [Token<'t>]) -> Option<&'p [Token<'t>]> {
    let (last, before) = part.split_last()?;
    if is_word(last, "unknown") || is_word(last, "unsure") {
        return Some(before);
    }
    let (not, names) = before.split_last()?;
    let denied = is_word(not, "not") && (is_word(last, "known") || is_word(last, "sure"));
    denied.then_some(names)
}

/// The moment in words that are heard as it, with a blank before; empty if there is nothing
/// to say.
pub(super) fn tell(known: &Known<'_>, moment: &Moment, implied: &Condition) -> String {
    let mut said = moment.condition.clone();
    said.loads.retain(|name, state| implied.loads.get(name) != Some(state));
    said.breakers.retain(|name, closed| implied.breakers.get(name) != Some(closed));
    said.faults.retain(|fault| !implied.faults.contains(fault));
    let mut parts = words::describe(known.circuit, &said);
    parts.extend(moment.unknown.iter().map(|name| format!("{} unknown", speak::name(name))));
    if parts.is_empty() { String::new() } else { format!(" with {}", parts.join(", ")) }
}
