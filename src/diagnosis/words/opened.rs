//! What was found in an opened box: `opened kiln: neutral loose at kiln, line side`.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::circuit::JointKind;
use crate::circuit::connection::contact_element;
use crate::condition::words::known::{Known, KnownJoint};
use crate::condition::words::lexer::{Token, tokens};
use crate::condition::words::lexicon::{self, Class, JointWord, Verb, Word};
use crate::condition::words::problem::{AT_WHICH_PLACE, Problem, WordsProblem};
use crate::condition::words::{self, Edit, few, speak};
use crate::condition::{Condition, Fault, Gap};
use crate::diagnosis::{Found, Mended, Observation, Seen};
use crate::quantity::Address;

use super::mended::{alone, is_of_wire};
use super::reader::{Heard, Reader};

mod plain;

use plain::Plain;

/// That nothing is wrong there.
const SOUND: [&str; 20] = [
    "nothing is wrong",
    "nothing is loose",
    "nothing found",
    "nothing wrong",
    "nothing bad",
    "nothing loose",
    "nothing burnt",
    "nothing",
    "no loose wires",
    "no loose wire",
    "no loose connections",
    "no loose connection",
    "no loose joints",
    "no loose screws",
    "no bad joint",
    "no fault found",
    "no fault",
    "no faults",
    "no problem",
    "no problems",
];

/// What all joints there are, before how they look.
const ALL_JOINTS: [&str; 15] = [
    "all joints",
    "all connections",
    "all screws",
    "all splices",
    "all terminals",
    "all",
    "everything",
    "every joint",
    "joints",
    "connections",
    "screws",
    "splices",
    "terminals",
    "it",
    "box",
];

/// How joints look that are whole.
const WHOLE: [&str; 12] = [
    "sound",
    "good",
    "ok",
    "okay",
    "fine",
    "tight",
    "clean",
    "solid",
    "normal",
    "perfect",
    "in order",
    "as it should be",
];

/// That what was found was put right at once, said last.
const MENDED_IT: [&str; 12] = [
    "fixed it",
    "fixed",
    "mended it",
    "mended",
    "repaired it",
    "tightened it",
    "tightened",
    "retightened it",
    "remade it",
    "remade the joint",
    "redid it",
    "put it right",
];

impl Reader<'_> {
    /// After `opened`: what was found, and that it was put right if that is said last.
    pub(super) fn opened_and_mended(&mut self) -> Heard<Vec<Observation>> {
        let tokens = self.rest();
        let end = tokens.iter().enumerate().skip(1).find(|(at, _)| {
            let mut tail = Self::new(self.known, self.text, tokens.get(*at..).unwrap_or_default());
            tail.pass_marks();
            tail.takes_any(&["and", "then", "now"]);
            tail.takes_any(&["i", "we"]);
            tail.takes_any(&MENDED_IT) && tail.is_done()
        });
        // The longest that says no more than that.
        let Some((end, _)) = end else {
            return Ok(vec![alone(self.opened()?)]);
        };
        let mut found = Self::new(self.known, self.text, tokens.get(..end).unwrap_or_default());
        let seen = found.opened()?;
        self.skip(tokens.len());
        let Seen::Opened { place, .. } = &seen else { return Ok(vec![alone(seen)]) };
        let mended = Seen::Mended(Mended::Box { place: place.clone() });
        Ok(vec![alone(seen), alone(mended)])
    }

    /// After `opened`.
    fn opened(&mut self) -> Heard<Seen> {
        self.pass_small();
        self.takes_any(&["box", "up"]);
        let place = self.due_name(&[Class::Place], "box")?;
        if !self.part_word() {
            self.takes_any(&["light switch", "switch"]);
        }
        self.pass_small();
        self.takes_any(&["and found", "found", "there"]);
        self.pass_marks();
        if self.is_sound() {
            self.end()?;
            return Ok(Seen::Opened { place, found: Vec::new() });
        }
        if self.is_done() {
            return Err(self.here("what was found there?").expected(EXAMPLES));
        }
        let (text, start) = self.rest_of_text();
        self.skip(self.rest().len());
        let mut found = Vec::new();
        for (at, part) in parts(text) {
            if is_said_to_be_whole(self.known, part) {
                continue;
            }
            found.extend(self.found(part, start + at, &place)?);
        }
        Ok(Seen::Opened { place, found })
    }

    /// Passes what says that nothing is wrong, as often as it is said: `nothing wrong, all tight`.
    fn is_sound(&mut self) -> bool {
        let mut ahead = self.clone();
        let before = self.rest().len();
        while ahead.is_sound_once() {
            *self = ahead.clone();
            ahead.pass_marks();
            ahead.takes("and");
        }
        self.rest().len() < before
    }

    fn is_sound_once(&mut self) -> bool {
        if self.takes_any(&SOUND) {
            return true;
        }
        let mut ahead = self.clone();
        ahead.takes_any(&ALL_JOINTS);
        ahead.pass_before();
        ahead.takes_any(&["looks", "look", "looked", "found"]);
        ahead.pass_before();
        let is_whole = ahead.takes_any(&WHOLE);
        if is_whole {
            *self = ahead;
        }
        is_whole
    }

    /// What one part says was found.
    fn found(&self, said: &str, start: usize, place: &str) -> Heard<Vec<Found>> {
        let plain = Plain::of(self.known, place, said);
        let whole = start..start + said.trim_end().len();
        if let Some(lug) = self.main_lug(&plain, said, (whole.clone(), place))? {
            return Ok(vec![lug]);
        }
        if !self.names_a_conductor(&plain.text) {
            return Err(self.of_which(&plain, said, (whole, place)));
        }
        let here = format!("{} at {}", plain.text, speak::name(place));
        let edits = self.edits(&plain.text).or_else(|problem| {
            let asks_where = problem.message == AT_WHICH_PLACE;
            // The box is known: what is still missing is which of its joints.
            self.edits(&here).map_err(|there| if asks_where { there } else { problem })
        });
        let edits = edits.or_else(|problem| self.only_wire(&plain, place).ok_or(problem));
        let edits = edits.map_err(|mut problem| {
            let span = plain.said(&problem.span);
            problem.span = start + span.start..start + span.end;
            problem.message = plain.in_words_said(&problem.message, said);
            self.in_box(problem, &plain, place)
        })?;
        let found = edits.into_iter().map(|edit| {
            let Edit::Fault(fault) = edit else {
                let message = "in a box joints are found, not settings";
                return Err(WordsProblem::new(whole.clone(), said, message).expected(EXAMPLES));
            };
            if matches!(fault, Fault::SupplyVoltage { .. }) {
                let message = "in a box joints are found; volts are what a meter shows";
                return Err(WordsProblem::new(whole.clone(), said, message).expected(EXAMPLES));
            }
            self.belongs(&fault, place, &whole, said)?;
            if self.is_main_bond(&fault, place) {
                let message = "the main bond joins them there, as it should";
                let forms = ["nothing found", "main bond missing"];
                return Err(WordsProblem::new(whole.clone(), said, message).expected(forms));
            }
            Ok(match fault {
                Fault::Open { element, .. } if plain.bad.is_some() => Found::BadJoint { element },
                fault => Found::Fault(fault),
            })
        });
        found.collect()
    }

    /// Whether neutral and ground are said to meet where the main bond is.
    fn is_main_bond(&self, fault: &Fault, place: &str) -> bool {
        let Fault::Bridge { between: (one, other), .. } = fault else { return false };
        let ends = [one, other].map(|end| end.as_str().rsplit('.').next().unwrap_or_default());
        let is_bond =
            |joint: &KnownJoint| joint.joint.kind == JointKind::Bond && joint.joint.place == place;
        ends.contains(&"neutral")
            && ends.contains(&"ground")
            && self.known.listed_joints().any(is_bond)
    }

    /// What is said of the only joint there with a wire on it, where a switch has contacts of the
    /// same conductor.
    fn only_wire(&self, plain: &Plain, place: &str) -> Option<Vec<Edit>> {
        let mut joints = self.joints_here(plain, (place, ""));
        joints.retain(|joint| joint.joint.kind != JointKind::SwitchContact);
        let [only] = joints.as_slice() else { return None };
        let at = speak::joint_at_place(self.known, only);
        self.edits(&format!("{} at {}, {at}", plain.text, speak::name(place))).ok()
    }

    /// `hot lug loose` where the service comes in: that joint stays live with the main off. None
    /// if another joint is meant, or there is no service.
    fn main_lug(
        &self,
        plain: &Plain,
        said: &str,
        (span, place): (Range<usize>, &str),
    ) -> Heard<Option<Found>> {
        let spoken = tokens(said);
        let is = |word: &str| spoken.iter().any(|token| token.text.eq_ignore_ascii_case(word));
        let names = |token: &Token<'_>| self.known.spelling_among(&[Class::Circuit], token.text);
        let is_lug =
            ["lug", "lugs"].into_iter().any(is) && !spoken.iter().any(|t| names(t).is_some());
        let is_open = tokens(&plain.text)
            .iter()
            .any(|token| lexicon::word(token.text) == Some(Word::Verb(Verb::Open)));
        if !is_lug || !is_open || is("neutral") || is("ground") {
            return Ok(None);
        }
        let mut lines: Vec<&KnownJoint> = self.known.listed_joints().collect();
        lines.retain(|one| {
            let (joint, conductor) = (&one.joint, one.joint.conductor.as_str());
            let is_line = !["neutral", "ground"].contains(&conductor);
            joint.kind == JointKind::Service && joint.place == place && is_line
        });
        if let Some(named) = lines.iter().position(|one| is(&one.joint.conductor)) {
            lines = lines.get(named..=named).unwrap_or_default().to_vec();
        }
        let element = match lines.as_slice() {
            [] => return Ok(None),
            [only] => only.joint.element.clone(),
            several => {
                let forms =
                    several.iter().map(|one| format!("service {} loose", one.joint.conductor));
                let forms: Vec<String> = forms.collect();
                let message = "which lug of the service? it stays live with the main off";
                let mut problem = WordsProblem::new(span, said, message);
                let first =
                    forms.first().map(|form| format!("opened {}: {form}", speak::name(place)));
                problem.example = first;
                return Err(problem.expected(forms));
            }
        };
        Ok(Some(match plain.bad {
            Some(_) => Found::BadJoint { element },
            None => Found::Fault(Fault::Open { element, gap: Gap::NONE }),
        }))
    }

    /// Nothing is named that a joint could be of.
    fn of_which(&self, plain: &Plain, said: &str, (span, place): (Range<usize>, &str)) -> Problem {
        let spoken = tokens(said);
        let is = |words: &[&str]| {
            spoken
                .iter()
                .any(|token| words.iter().any(|word| token.text.eq_ignore_ascii_case(word)))
        };
        let (message, begins) = match () {
            () if is(&["traveller", "traveler", "travellers", "travelers"]) => {
                ("which of the travellers, and where in the box?", "traveller")
            }
            () if is(&COLOURS) => (
                "a colour does not say what a wire is: of which conductor, and where in the box?",
                "",
            ),
            () => ("of which conductor, and where in the box?", ""),
        };
        if spoken.iter().any(is_moisture) {
            let (hot, ground) = (self.conductor_word("hot"), self.conductor_word("ground"));
            let message = "wet lets current through: between which conductors?";
            let wet = [format!("{hot} and {ground} wet"), format!("{hot} and neutral wet")];
            let mut problem = WordsProblem::new(span, said, message);
            problem.example = Some(format!("opened {}: {}", speak::name(place), wet[0]));
            return problem.expected(wet);
        }
        let problem = WordsProblem::new(span, said, message);
        self.joints_of(problem, plain, (place, begins))
    }

    fn conductor_word(&self, name: &'static str) -> &'static str {
        speak::conductor(self.known.circuit.parts().vocabulary, name)
    }

    /// A problem of the grammar of conditions, with examples out of this box.
    fn in_box(&self, mut problem: Problem, plain: &Plain, place: &str) -> Problem {
        let opens = |token: &Token<'_>| lexicon::word(token.text) == Some(Word::Verb(Verb::Open));
        let spoken = tokens(&plain.text);
        if spoken.iter().any(opens) {
            return self.joints_of(problem, plain, (place, ""));
        }
        let is_here = |example: &String| {
            let tokens = tokens(example);
            tokens.iter().any(|token| token.text.eq_ignore_ascii_case(place))
        };
        problem.example = match problem.example.take().filter(is_here) {
            Some(example) => Some(format!("opened {}: {example}", speak::name(place))),
            None => self.joints_of(problem.clone(), plain, (place, "")).example,
        };
        problem
    }

    /// Whether anything is named that a joint could be of.
    fn names_a_conductor(&self, said: &str) -> bool {
        let names = |token: &Token<'_>| {
            let known = self.known;
            let spelt = known.spelling(token.text);
            let is_joint = matches!(
                lexicon::word(token.text),
                Some(Word::Class(Class::Bond | Class::Electrode))
            );
            is_joint
                || lexicon::conductor(token.text).is_some()
                || known.own_conductor(token.text).is_some()
                || spelt.is_some_and(|name| known.is_address(name))
        };
        let tokens = tokens(said);
        // Whatever has no word that says what is so is answered by the grammar of conditions.
        let says = |token: &Token<'_>| {
            let word = lexicon::word(token.text);
            matches!(word, Some(Word::Verb(Verb::Open | Verb::Moisture) | Word::Joint(_)))
        };
        tokens.iter().any(names) || !tokens.iter().any(says)
    }

    /// The joints in a box of the conductors and kinds that were said; the conductors' names begin
    /// with something. Those that are seldom meant come last.
    fn joints_here(&self, plain: &Plain, (place, begins): (&str, &str)) -> Vec<&KnownJoint> {
        let spoken = tokens(&plain.text);
        let conductors: Vec<&str> =
            spoken.iter().filter_map(|token| lexicon::conductor(token.text)).collect();
        let kinds = spoken.iter().filter_map(|token| match lexicon::word(token.text) {
            Some(Word::Joint(word)) => Some(word),
            _ => None,
        });
        let kinds: Vec<JointWord> = kinds.collect();
        let here = self.known.listed_joints().filter(|joint| {
            let begins = joint.joint.conductor.starts_with(begins);
            joint.joint.place == place && joint.load.is_none() && begins
        });
        let mut here: Vec<_> = here.collect();
        let of = |joint: &&KnownJoint| conductors.contains(&joint.joint.conductor.as_str());
        if here.iter().any(of) {
            here.retain(of);
        }
        // A joint may have several addresses.
        let mut elements = BTreeSet::new();
        here.retain(|joint| elements.insert(joint.joint.element.as_str()));
        let of_kind = |joint: &&KnownJoint| kinds.iter().all(|kind| kind.means(joint.joint.kind));
        if here.iter().any(of_kind) {
            here.retain(of_kind);
        }
        // Grounds carry nothing, so that few look burnt, and nobody sees a switch's contacts.
        here.sort_by_key(|joint| {
            joint.joint.conductor == "ground" || joint.joint.kind == JointKind::SwitchContact
        });
        here
    }

    /// The same problem with the joints of the box that may be meant, and one of them as a whole
    /// sentence.
    fn joints_of(&self, mut problem: Problem, plain: &Plain, at: (&str, &str)) -> Problem {
        let (known, place) = (self.known, at.0);
        let here = self.joints_here(plain, at);
        let found = here.into_iter().map(|joint| {
            let element = joint.joint.element.clone();
            match plain.bad {
                Some(_) => Found::BadJoint { element },
                None => Found::Fault(Fault::Open { element, gap: Gap::NONE }),
            }
        });
        let as_said = |sentence: String| match &plain.bad {
            Some(bad) => sentence.replacen(" loose", &format!(" {bad}"), 1),
            None => sentence,
        };
        let mut sentences: Vec<String> =
            found.map(|found| as_said(tell(known, place, std::slice::from_ref(&found)))).collect();
        sentences.dedup();
        problem.example = sentences.first().cloned();
        let begun = format!("opened {}: ", speak::name(place));
        // In the box that was opened its name need not be said again.
        let here = format!(" at {},", speak::name(place));
        let short = |said: &String| said.trim_start_matches(&begun).replacen(&here, ",", 1);
        problem.expected(few(sentences.iter().map(short)))
    }

    fn edits(&self, said: &str) -> Heard<Vec<Edit>> {
        let tokens = tokens(said);
        words::edits_of(self.known, &[&tokens], said).map_err(|problems| {
            let none = || WordsProblem::new(0..said.len(), said, "this was not understood");
            problems.into_iter().next().map_or_else(none, Box::new)
        })
    }

    /// What was found is in the box that was opened.
    fn belongs(&self, fault: &Fault, place: &str, span: &Range<usize>, said: &str) -> Heard<()> {
        let there = self.places_of(fault);
        match there.first() {
            Some(first) if !there.iter().any(|one| one == place) => {
                let message = format!("that is in {first}, not in {place}");
                let instead = format!("opened {first}");
                Err(WordsProblem::new(span.clone(), said, message).expected([instead]))
            }
            _ => Ok(()),
        }
    }

    /// The places where a fault is seen; none where it is in a cable, or at no place.
    fn places_of(&self, fault: &Fault) -> Vec<String> {
        let circuit = self.known.circuit;
        let joint = |element: &str| Some(circuit.joint_of_element(element)?.place.clone());
        let place = |address: &Address| {
            let (place, _) = address.as_str().split_once('.')?;
            circuit.place(place).map(|place| place.id.clone())
        };
        match fault {
            Fault::Open { element, .. }
            | Fault::Resistance { element, .. }
            | Fault::Glowing { element } => joint(element).into_iter().collect(),
            Fault::ExchangedJoints { elements: (one, other) } => {
                [joint(one), joint(other)].into_iter().flatten().collect()
            }
            Fault::ExchangedAtCableEnd { end, conductors: (one, other) } => {
                let at =
                    |conductor: &String| joint(&contact_element(&end.cable, end.end, conductor));
                [at(one), at(other)].into_iter().flatten().collect()
            }
            Fault::Bridge { between: (one, other), .. } => {
                [place(one), place(other)].into_iter().flatten().collect()
            }
            _ => Vec::new(),
        }
    }
}

const EXAMPLES: [&str; 3] =
    ["neutral loose at kiln, line side", "neutral open at kiln, line side", "nothing found"];

/// What wires look like, which does not always say what they are.
pub(super) const COLOURS: [&str; 9] =
    ["black", "white", "red", "blue", "green", "brown", "yellow", "grey", "bare"];

fn is_moisture(token: &Token<'_>) -> bool {
    lexicon::word(token.text) == Some(Word::Verb(Verb::Moisture))
}

/// `neutral tight`, `hot is not loose`: of that joint nothing was found.
fn is_said_to_be_whole(known: &Known<'_>, part: &str) -> bool {
    let tokens = tokens(part);
    let mut ahead = Reader::new(known, part, &tokens);
    ahead.pass_marks();
    ahead.takes("the");
    if !ahead.token(0).is_some_and(is_of_wire) {
        return false;
    }
    ahead.skip(1);
    ahead.takes_any(&["wires", "wire", "core"]);
    ahead.takes_any(&["is", "was", "looks"]);
    let is_so = ahead.takes_any(&WHOLE)
        || ahead.takes_any(&["not loose", "not burnt", "isnt loose", "not bad"]);
    is_so && ahead.is_done()
}

/// What is found, one by one: an `and` parts two findings that both say what is so.
fn parts(text: &str) -> Vec<(usize, &str)> {
    let tokens = tokens(text);
    let says = |tokens: &[Token<'_>]| tokens.iter().any(plain::says);
    let mut found = Vec::new();
    let mut start = 0;
    let mut first = 0;
    for (at, token) in tokens.iter().enumerate() {
        let before = tokens.get(first..at).unwrap_or_default();
        let after = tokens.get(at + 1..).unwrap_or_default();
        if token.text.eq_ignore_ascii_case("and") && says(before) && says(after) {
            found.extend(text.get(start..token.span.start).map(|part| (start, part)));
            start = token.span.end;
            first = at + 1;
        }
    }
    found.extend(text.get(start..).map(|part| (start, part)));
    found
}

/// What was found in words that are heard as it.
pub(super) fn tell(known: &Known<'_>, place: &str, found: &[Found]) -> String {
    let one = |found: &Found| {
        let (fault, bad) = match found {
            Found::Fault(fault) => (fault.clone(), false),
            Found::BadJoint { element } => {
                (Fault::Open { element: element.clone(), gap: Gap::NONE }, true)
            }
        };
        let condition = Condition { faults: vec![fault], ..Condition::default() };
        let said = words::describe(known.circuit, &condition).join(" and ");
        if bad { said.replacen(" open", " loose", 1) } else { said }
    };
    let said: Vec<String> = found.iter().map(one).collect();
    let said = if said.is_empty() { "nothing found".to_owned() } else { said.join(" and ") };
    format!("opened {}: {said}", speak::name(place))
}
