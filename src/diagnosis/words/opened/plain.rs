//! What electricians call joints and what is wrong with them, in the words of conditions.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::circuit::{JointKind, PlaceKind, Vocabulary};
use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind, tokens};
use crate::condition::words::lexicon;

/// How a joint looks that is bad by a resistance nobody has measured. To the grammar of conditions
/// it is open: which joint is meant does not depend on how bad it is.
const BAD: [&str; 15] = [
    "barely in",
    "barely on",
    "loose",
    "burnt",
    "burned",
    "scorched",
    "corroded",
    "corrosion",
    "melted",
    "charred",
    "bad",
    "poor",
    "not tight",
    "rusty",
    "rust",
];

/// What parts by itself is open.
const PARTED: [&str; 18] = [
    "not attached",
    "not hooked up",
    "unattached",
    "broken off",
    "broke off",
    "snapped off",
    "snapped",
    "fallen",
    "fell",
    "come",
    "came",
    "worked",
    "wiggled",
    "pulled",
    "slipped",
    "popped",
    "hanging",
    "detached",
];

/// What is off what it was on is open.
const OFF: [&str; 5] = ["off the", "off its", "off of the", "out of the", "out of its"];

/// Joints and conductors by what they are called besides.
const CALLED: [(&str, &str); 24] = [
    ("on the wrong sides", "exchanged"),
    ("on wrong sides", "exchanged"),
    ("on the wrong terminals", "exchanged"),
    ("to anything", ""),
    ("anywhere", ""),
    ("on the wrong screws", "exchanged"),
    ("on wrong screws", "exchanged"),
    ("the wrong way round", "exchanged"),
    ("mixed up", "exchanged"),
    ("wire nut", "splice"),
    ("wire-nut", "splice"),
    ("wirenut", "splice"),
    ("under the", ""),
    ("under", ""),
    ("on the", ""),
    ("traveller 1", "traveller1"),
    ("traveler 1", "traveller1"),
    ("traveller 2", "traveller2"),
    ("traveler 2", "traveller2"),
    ("traveller one", "traveller1"),
    ("traveler one", "traveller1"),
    ("traveller two", "traveller2"),
    ("traveler two", "traveller2"),
    ("screws", "screw"),
];

/// Push-in terminals, or whatever the device has for terminals where it has none.
const PUSH_IN: [&str; 6] =
    ["backstab", "backstabs", "back-stab", "back stab", "backstabbed", "stab-in"];

/// Where the feeder lands in a panel.
pub(super) const LUG: [&str; 3] = ["lug", "lugs", "feeder"];

/// What screws look like that are made for one conductor.
const SCREWS: [(&str, &str); 4] =
    [("silver", NEUTRAL), ("brass", HOT), ("gold", HOT), ("green", GROUND)];

/// What is made for one conductor.
const SCREW: [&str; 3] = ["screw", "terminal", "side"];

/// What a wire of such a colour is where nobody has used it for something else.
const COLOURS: [(Vocabulary, &str, &str); 12] = [
    (Vocabulary::NorthAmerican, "black", HOT),
    (Vocabulary::NorthAmerican, "red", "hot2"),
    (Vocabulary::NorthAmerican, "white", NEUTRAL),
    (Vocabulary::NorthAmerican, "green", GROUND),
    (Vocabulary::NorthAmerican, "bare copper", GROUND),
    (Vocabulary::NorthAmerican, "bare", GROUND),
    (Vocabulary::Iec, "brown", HOT),
    (Vocabulary::Iec, "blue", NEUTRAL),
    (Vocabulary::Iec, "green and yellow", GROUND),
    (Vocabulary::Iec, "green / yellow", GROUND),
    (Vocabulary::Iec, "green-yellow", GROUND),
    (Vocabulary::Iec, "green-and-yellow", GROUND),
];

/// That two conductors are held together, and what is said around that.
const TIED: [&str; 8] =
    ["bonded", "tied", "jumpered", "strapped", "linked", "joined", "connected", "bridged"];
const AROUND: [&str; 14] = [
    "the", "a", "is", "are", "was", "were", "and", "to", "with", "together", "here", "bar", "bars",
    "still",
];

/// What has a colour, behind it.
const WIRE: [&str; 5] = ["wires", "wire", "core", "conductor", "lead"];

const NEUTRAL: &str = "neutral";
const GROUND: &str = "ground";
const HOT: &str = "hot";
const POLARITY: &str = "polarity";

/// What was said, put in the words of conditions.
pub(super) struct Plain {
    pub(super) text: String,
    /// How bad a joint is said to look; none where it is parted.
    pub(super) bad: Option<String>,
    /// Bytes of each piece of the text, and of what was said in its place.
    pieces: Vec<(Range<usize>, Range<usize>)>,
}

impl Plain {
    pub(super) fn of(known: &Known<'_>, place: &str, said: &str) -> Self {
        let mut plain = Self { text: String::new(), bad: None, pieces: Vec::new() };
        let tokens = tokens(said);
        let here = Here::of(known, place);
        if let Some(whole) = here.on_another_screw(&tokens).or_else(|| here.tied(&tokens)) {
            plain.put(&whole, 0..said.len());
            return plain;
        }
        let mut at = 0;
        while let Some(rest) = tokens.get(at..).filter(|rest| !rest.is_empty()) {
            let (count, put) = plain.piece(said, rest, &here);
            let last = rest.get(count - 1).or(rest.last());
            let span = rest.first().map_or(0, |token| token.span.start)
                ..last.map_or(said.len(), |token| token.span.end);
            plain.put(&put, span);
            at += count;
        }
        plain
    }

    /// How many tokens are read as one, and what they mean.
    fn piece(&mut self, said: &str, rest: &[Token<'_>], here: &Here) -> (usize, String) {
        let next = |phrases: &[&str]| phrases.iter().find_map(|phrase| length(phrase, rest));
        if let Some(count) = next(&OFF) {
            return (count, "open".to_owned());
        }
        if let Some(count) = next(&PARTED) {
            let from = rest.get(count).map_or("", |token| token.text).to_lowercase();
            if from == "loose" {
                self.bad = Some(from.clone());
            }
            // `came off the screw`: of that the screw is still to be read.
            let more = ["out", "off", "loose", "apart"].contains(&from.as_str());
            return (count + usize::from(more), "open".to_owned());
        }
        if let Some(count) = next(&BAD) {
            let written = rest.first().map_or(String::new(), |token| token.text.to_lowercase());
            // What a joint has is what it is.
            let called = match written.as_str() {
                "corrosion" => "corroded".to_owned(),
                "rust" => "rusty".to_owned(),
                "barely" => "loose".to_owned(),
                _ => written,
            };
            self.bad = Some(called);
            return (count, "open".to_owned());
        }
        if let Some((count, conductor)) = made_for(rest) {
            let is_named = tokens(&self.text).iter().any(|t| lexicon::conductor(t.text).is_some());
            let named = if is_named { String::new() } else { format!("{conductor} ") };
            return (count, named + "screw");
        }
        if let Some((count, conductor)) = here.of_colour(rest) {
            let wire = rest.get(count..).unwrap_or_default();
            let wire = WIRE.iter().find_map(|phrase| length(phrase, wire)).unwrap_or(0);
            return (count + wire, conductor.to_owned());
        }
        if let Some(count) = next(&PUSH_IN) {
            return (count, here.push_in.to_owned());
        }
        if let Some(count) = next(&here.lugs) {
            return (count, here.lug.to_owned());
        }
        let called = CALLED.iter().find_map(|(phrase, put)| Some((length(phrase, rest)?, put)));
        if let Some((count, put)) = called {
            return (count, (*put).to_owned());
        }
        if next(&[HOT]).is_some() {
            return (1, here.hot.clone());
        }
        if next(&[POLARITY]).is_some() && here.hot != HOT {
            return (1, format!("{} and neutral exchanged", here.hot));
        }
        let written = rest.first().and_then(|token| said.get(token.span.clone()));
        (1, written.unwrap_or_default().to_owned())
    }

    /// A message about the text as one about what was said.
    pub(super) fn in_words_said(&self, message: &str, said: &str) -> String {
        let mut message = message.to_owned();
        for (put, written) in &self.pieces {
            let put = self.text.get(put.clone()).filter(|put| !put.is_empty());
            if let Some((put, written)) = put.zip(said.get(written.clone())) {
                message = message.replace(&format!("`{put}`"), &format!("`{written}`"));
            }
        }
        message
    }

    fn put(&mut self, written: &str, said: Range<usize>) {
        if !self.text.is_empty() {
            self.text.push(' ');
        }
        let start = self.text.len();
        self.text.push_str(written);
        self.pieces.push((start..self.text.len(), said));
    }

    /// The bytes that were said for these of the text.
    pub(super) fn said(&self, span: &Range<usize>) -> Range<usize> {
        let whole = self.pieces.first().map_or(0, |(_, said)| said.start)
            ..self.pieces.last().map_or(0, |(_, said)| said.end);
        let touched = || {
            let touches = |put: &Range<usize>| put.start < span.end && span.start < put.end;
            self.pieces.iter().filter(move |(put, _)| touches(put)).map(|(_, said)| said)
        };
        match (touched().next(), touched().next_back()) {
            (Some(first), Some(last)) => first.start..last.end,
            _ if span.start >= self.text.len() => whole.end..whole.end,
            _ => whole,
        }
    }
}

/// What words mean in the box that was opened.
struct Here {
    push_in: &'static str,
    lug: &'static str,
    /// Those words for it that are nothing's name.
    lugs: Vec<&'static str>,
    /// The hot that the device there is on.
    hot: String,
    vocabulary: Vocabulary,
    /// The conductors that have joints there.
    conductors: BTreeSet<String>,
}

impl Here {
    fn of(known: &Known<'_>, place: &str) -> Self {
        let joints = || {
            let joints = known.listed_joints().filter(|joint| joint.load.is_none());
            joints.map(|joint| &joint.joint).filter(|joint| joint.place == place)
        };
        let is_panel = known.circuit.place(place).is_some_and(|one| one.kind == PlaceKind::Panel);
        let push_in = joints().any(|joint| joint.kind == JointKind::PushIn);
        let mut hots: Vec<&str> = joints().map(|joint| joint.conductor.as_str()).collect();
        hots.retain(|name| name.starts_with(HOT));
        hots.sort_unstable();
        hots.dedup();
        let hot = match hots.as_slice() {
            [only] => (*only).to_owned(),
            _ => HOT.to_owned(),
        };
        Self {
            push_in: if push_in { "push-in" } else { "terminal" },
            lugs: LUG.into_iter().filter(|word| known.spelling(word).is_none()).collect(),
            lug: if is_panel { "line side" } else { "terminal" },
            hot,
            vocabulary: known.circuit.parts().vocabulary,
            conductors: joints().map(|joint| joint.conductor.clone()).collect(),
        }
    }

    /// How many tokens are a colour, and of which conductor there; none where a wire of that colour may be
    /// another: at switches, or where no such conductor is.
    fn of_colour(&self, rest: &[Token<'_>]) -> Option<(usize, &'static str)> {
        let mut coloured = COLOURS.iter().filter(|(where_so, ..)| *where_so == self.vocabulary);
        let found = |(_, colour, conductor): &(_, &str, &'static str)| {
            Some((length(colour, rest)?, *conductor))
        };
        let (count, conductor) = coloured.find_map(found)?;
        let is_there = |name: &str| self.conductors.contains(name);
        let is_switched = is_there("switched") || is_there("traveller1");
        let conductor = match conductor {
            // A second hot, where there is one.
            "hot2" if !is_there("hot2") => HOT,
            own => own,
        };
        (is_there(conductor) && (conductor == GROUND || !is_switched)).then_some((count, conductor))
    }

    /// `neutral bonded to ground`: the two conductors meet.
    fn tied(&self, tokens: &[Token<'_>]) -> Option<String> {
        let mut named: Vec<&str> = Vec::new();
        let (mut is_tied, mut at) = (false, 0);
        while let Some(rest) = tokens.get(at..).filter(|rest| !rest.is_empty()) {
            let wire = WIRE.iter().find_map(|phrase| length(phrase, rest));
            let is = |words: &[&str]| words.iter().find_map(|phrase| length(phrase, rest));
            at += match (lexicon::conductor(rest[0].text), self.of_colour(rest)) {
                (Some(conductor), _) => {
                    named.push(conductor);
                    1
                }
                (None, Some((count, conductor))) => {
                    named.push(conductor);
                    count
                }
                (None, None) if let Some(count) = is(&TIED) => {
                    is_tied = true;
                    count
                }
                (None, None) => wire.or_else(|| is(&AROUND))?,
            };
        }
        let [first, second] = named.as_slice() else { return None };
        (is_tied && first != second).then(|| format!("{first} and {second} bridged"))
    }

    /// `black wire on the silver screw`: the two conductors are exchanged.
    fn on_another_screw(&self, tokens: &[Token<'_>]) -> Option<String> {
        let begins = |at: usize| tokens.get(at..).unwrap_or_default();
        let conductor = |at: usize| {
            let named = lexicon::conductor(begins(at).first()?.text);
            named.or_else(|| Some(self.of_colour(begins(at))?.1))
        };
        let screw_of = |at: usize| {
            let named = lexicon::conductor(begins(at).first()?.text);
            let is_screw =
                || SCREW.iter().find_map(|phrase| length(phrase, begins(at + 1))).is_some();
            made_for(begins(at)).map(|(_, of)| of).or_else(|| named.filter(|_| is_screw()))
        };
        let on = tokens.iter().position(|token| ["on", "under"].contains(&token.text))?;
        let wire = (0..on).find_map(conductor)?;
        let screw = (on..tokens.len()).find_map(screw_of).filter(|screw| *screw != wire)?;
        let is_bad = |token: &Token<'_>| says(token) && !token.text.eq_ignore_ascii_case("on");
        (!tokens.iter().any(is_bad)).then(|| format!("{wire} and {screw} exchanged"))
    }
}

/// How many tokens are a screw by its look, and for which conductor it is made.
fn made_for(rest: &[Token<'_>]) -> Option<(usize, &'static str)> {
    let (_, of) = SCREWS.iter().find(|(looks, _)| length(looks, rest).is_some())?;
    let screw = rest.get(1..).unwrap_or_default();
    let count = SCREW.iter().find_map(|phrase| length(phrase, screw))?;
    Some((1 + count, of))
}

/// How many tokens a phrase is, if it comes next.
fn length(phrase: &str, rest: &[Token<'_>]) -> Option<usize> {
    let mut count = 0;
    for word in phrase.split(' ') {
        let token = rest.get(count).filter(|token| token.kind != TokenKind::Quoted)?;
        if !token.text.eq_ignore_ascii_case(word) {
            return None;
        }
        count += 1;
    }
    Some(count)
}

/// Whether a word says by itself what is wrong with a joint.
pub(super) fn says(token: &Token<'_>) -> bool {
    let is = |words: &[&str]| words.iter().any(|word| token.text.eq_ignore_ascii_case(word));
    matches!(lexicon::word(token.text), Some(lexicon::Word::Verb(_))) || is(&PARTED) || is(&BAD)
}
