//! Complaints and observations in words, and back.
//!
//! A small closed grammar beside that of conditions, from which it takes names, joints and how
//! things stood. `docs/observation-words.md` has every form with examples.
//!
//! ```text
//! complaint   = "dead from" BOX "on" | LOAD "dim when" LOAD "runs" | "breaker" C "trips at once" | ...
//! observation = seen [ "with" how things stood ]
//! seen        = INSTRUMENT "at" RECEPTACLE ":" showing | LOAD "runs" | "breaker" C "holds"
//!             | "opened" BOX ":" what was found
//! showing     = SLOT "-" SLOT "dark" | SLOT "-" SLOT figure "V" | SLOT "beeps" | ... { "," showing }
//! ```
//!
//! What is outside the grammar is answered as in [`condition::words`](crate::condition::words):
//! where it went wrong, what could stand there, and what was probably meant.

use crate::circuit::Circuit;
use crate::condition::words::known::Known;
use crate::condition::words::lexer::tokens;
use crate::condition::words::problem::WordsProblem;
use crate::condition::words::{SENTENCES_MAX, TEXT_BYTES_MAX, sentences, speak};
use crate::condition::{Condition, LoadState};
use crate::instrument::{Place, Request};

use super::{Complaint, Mended, NextTest, Observation, Parting, Seen, Showed, Tool};

mod amount;
mod answer;
mod buttons;
mod by_turns;
mod called;
mod complaint;
mod doubt;
mod emergency;
mod everyday;
mod example;
mod handle;
mod held_first;
mod measured_first;
mod mended;
mod moment;
mod opened;
mod reader;
mod reading;
mod seen;
mod several;
mod short;
mod showing;
mod spot;
mod still_live;
mod stood;
mod stood_first;
mod taken_off;
mod told;
mod tool;
mod unseen;
mod verbs;

pub use answer::{answer, answers, found_in};
pub use handle::of_handle;
use reader::{Heard, Reader};
pub(crate) use seen::is_within;
pub use several::is_of_others;
pub use short::in_full;
pub use stood::of_switch;
pub use told::{told, told_after};
pub use tool::preset_called;

/// Reads complaints, parted by `;` or by line ends.
///
/// # Errors
///
/// One problem for each sentence that means nothing here.
///
/// ```
/// use slotwise::diagnosis::{Complaint, words};
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let said = words::complaints(&studio, "dead from kiln on").unwrap();
/// assert_eq!(said, [Complaint::DeadFrom { place: "kiln".into() }]);
///
/// let problems = words::complaints(&studio, "dead from kilm on").unwrap_err();
/// assert_eq!(problems[0].suggestions, ["kiln"]);
/// ```
pub fn complaints(circuit: &Circuit, text: &str) -> Result<Vec<Complaint>, Vec<WordsProblem>> {
    each_sentence(circuit, text, |reader| reader.complaint())
}

/// Reads observations, parted by `;` or by line ends. A sentence may hold several: a meter read
/// between several slots, a detector held to several. `tools` are the instruments at hand,
/// which are known by their names beside the presets.
///
/// # Errors
///
/// One problem for each sentence that means nothing here.
///
/// ```
/// use slotwise::diagnosis::{Means, Seen, Showed, words};
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let tools = Means::default().tools;
/// let text = "tester at kiln: hot-neutral dark, hot-ground lit, neutral-ground not sure";
/// let said = words::observations(&studio, &tools, text).unwrap();
/// let Seen::Instrument { showed, .. } = &said[0].seen else { panic!() };
/// assert_eq!(showed.len(), 3);
/// assert!(showed[2].says_nothing());
/// assert_eq!(words::tell(&studio, &tools, &said[0]), text);
/// ```
pub fn observations(
    circuit: &Circuit,
    tools: &[Tool],
    text: &str,
) -> Result<Vec<Observation>, Vec<WordsProblem>> {
    mended::observations(circuit, tools, text)
}

/// A complaint in a sentence that is heard as it.
///
/// ```
/// use slotwise::diagnosis::{Complaint, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let half = Complaint::HalfDead { place: "door".into() };
/// assert_eq!(words::tell_complaint(&studio, &half), "half of door dead");
/// ```
pub fn tell_complaint(circuit: &Circuit, complaint: &Complaint) -> String {
    complaint::tell(&Known::of(circuit), complaint)
}

/// An observation in a sentence that is heard as it, for everything the grammar can say. What
/// it cannot (probes on loose terminals of a plug, jumpers laid for a dead test) is described.
pub fn tell(circuit: &Circuit, tools: &[Tool], observation: &Observation) -> String {
    let known = Known::of(circuit);
    let mut implied = Condition::default();
    let mut moment = observation.moment.clone();
    let seen = match &observation.seen {
        Seen::Instrument { request, showed } => {
            let parting = parting_of(circuit, request)
                .filter(|parting| parting.is_in(circuit, &moment.condition));
            if let Some(parting) = &parting {
                implied = parting.condition(circuit);
                for load in &circuit.parts().loads {
                    // What stood as described is said: a parting alone means off.
                    let on = load.on && load.plugged_in;
                    let described = if on { LoadState::On } else { LoadState::Off };
                    let is_implied = implied.loads.contains_key(&load.id);
                    if is_implied && !moment.unknown.contains(&load.id) {
                        moment.condition.loads.entry(load.id.clone()).or_insert(described);
                    }
                }
            }
            reading::tell(&known, tools, (request, parting.is_some()), showed)
        }
        Seen::Load { load, seen } => {
            implied.loads.insert(load.clone(), LoadState::On);
            format!("{} {}", speak::name(load), seen::tell_load(*seen))
        }
        Seen::Protection { name, did } => {
            let circuit = known.circuit.branch_circuit(name).is_some();
            let class = if circuit { "breaker " } else { "" };
            let name = seen::tell_protected(&known, class, name);
            format!("{name} {}", seen::tell_protection(*did))
        }
        Seen::Opened { place, found } => opened::tell(&known, place, found),
        Seen::Mended(what) => mended::tell(what),
        Seen::TriedElsewhere { load, did } => mended::tell_elsewhere(load, *did),
        Seen::CalledAgain(complaint) => {
            format!("since then {}", complaint::tell(&known, complaint))
        }
    };
    format!("{seen}{}", moment::tell(&known, &moment, &implied))
}

/// An instrument and where it is held, in the words in which an observation begins.
///
/// ```
/// use slotwise::diagnosis::{Means, words};
/// use slotwise::instrument::{Place, Request, presets};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let meter = presets::voltmeter_high_impedance();
/// let asked = Request::new(meter, Place::between("door.hot", "door.neutral"));
/// let tools = Means::default().tools;
/// assert_eq!(words::tell_place(&studio, &tools, &asked), "voltmeter at door: hot-neutral");
/// ```
pub fn tell_place(circuit: &Circuit, tools: &[Tool], request: &Request) -> String {
    let (held, before) = reading::tell_place(&Known::of(circuit), tools, (request, true));
    if before.is_empty() { held } else { format!("{held}: {}", before.trim_end()) }
}

/// What one instrument showed, with the slots it was held to but without where.
///
/// ```
/// use slotwise::diagnosis::{Showed, words};
/// use slotwise::instrument::{Place, Request, presets};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let pen = Request::new(presets::non_contact_detector(), Place::near("door.hot"));
/// assert_eq!(words::tell_showed(&studio, &pen, &[Showed::Alarm(true)]), "hot beeps");
/// ```
pub fn tell_showed(circuit: &Circuit, request: &Request, showed: &[Showed]) -> String {
    let known = Known::of(circuit);
    let (_, before) = reading::tell_place(&known, &[], (request, true));
    format!("{before}{}", showing::tell(&known, Some(&request.instrument), showed))
}

/// The same without instrument and slots: what several things shown are, one by one.
pub(crate) fn tell_bare(circuit: &Circuit, showed: &[Showed]) -> String {
    showing::tell(&Known::of(circuit), None, showed)
}

/// The parting that leaves loose what a request is held to.
pub(crate) fn parting_of(circuit: &Circuit, request: &Request) -> Option<Parting> {
    let Place::Between { from, to } = &request.place else { return None };
    Parting::of_ends(circuit, (from, to)).map(|(parting, _)| parting)
}

/// A breaker or protective device as an observation of it begins, without the word.
pub(crate) fn tell_protected(circuit: &Circuit, name: &str) -> String {
    seen::tell_protected(&Known::of(circuit), "", name)
}

/// The same of the handle it is on: that of the first of several poles.
pub(crate) fn tell_handle(circuit: &Circuit, name: &str) -> String {
    let first = circuit.branch_circuit(name).and_then(seen::first_pole);
    tell_protected(circuit, first.unwrap_or(name))
}

/// What was put right, in words that are heard as it.
pub(crate) fn tell_mended(what: &Mended) -> String {
    mended::tell(what)
}

/// Where a test is made, in the words in which its answer begins.
pub(crate) fn tell_where(circuit: &Circuit, test: &NextTest) -> String {
    match &test.parting {
        Some(parting) => spot::tell_parting(circuit, parting),
        None => format!("at {}", test.at),
    }
}

fn each_sentence<T>(
    circuit: &Circuit,
    text: &str,
    read: impl Fn(&mut Reader<'_>) -> Heard<Vec<T>>,
) -> Result<Vec<T>, Vec<WordsProblem>> {
    if text.len() > TEXT_BYTES_MAX {
        let message = format!("more than {TEXT_BYTES_MAX} bytes: say it in several texts");
        return Err(vec![*WordsProblem::new(0..0, "", message)]);
    }
    let known = Known::of(circuit);
    let plain = plain(text);
    let tokens = tokens(&plain);
    let parted = sentences(&plain, &tokens);
    if parted.len() > SENTENCES_MAX {
        let message = format!("more than {SENTENCES_MAX} sentences: say it in several texts");
        return Err(vec![*WordsProblem::new(0..0, "", message)]);
    }
    let mut heard = Vec::new();
    let mut problems = Vec::new();
    let mut stood = stood::Stood::default();
    let turns = parted.into_iter().flat_map(|sentence| {
        let plainly = everyday::plainly(&known, sentence);
        by_turns::each(&known, plainly)
    });
    let plainly = turns
        .flat_map(|turn| measured_first::in_order(&known, stood_first::put_last(&known, turn)));
    let parted: Vec<_> = plainly.collect();
    let n_sentences = parted.len();
    for (at, plainly) in parted.into_iter().enumerate() {
        let plainly = held_first::placed(&known, taken_off::opened(&known, plainly));
        let sentence = match stood.put_last(&known, plainly, at + 1 == n_sentences) {
            Ok(Some(sentence)) => sentence,
            Ok(None) => continue,
            Err(problem) => {
                problems.push(written(*problem, text));
                continue;
            }
        };
        let mut reader = Reader::new(&known, &plain, &sentence);
        match read(&mut reader) {
            Ok(said) => heard.extend(said),
            Err(problem) => {
                let first = emergency::emergency(&known, &sentence);
                let answer =
                    first.unwrap_or_else(|| example::with_example(&known, &sentence, problem));
                problems.push(written(*answer, text));
            }
        }
    }
    if problems.is_empty() { Ok(heard) } else { Err(problems) }
}

/// The text with `n't` as `nt`, every byte in its place.
fn plain(text: &str) -> String {
    text.replace("n't", "nt ").replace("n\u{2019}t", "nt   ")
}

/// A problem of the plain text as one of the text as written.
fn written(mut problem: WordsProblem, text: &str) -> WordsProblem {
    if let Some(found) = text.get(problem.span.clone()).filter(|found| !found.is_empty()) {
        found.clone_into(&mut problem.found);
    }
    problem
}
