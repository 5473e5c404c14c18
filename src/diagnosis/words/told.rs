//! Complaints and observations told in one breath, each known for what it is.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use crate::circuit::Circuit;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::problem::{Problem, WordsProblem};
use crate::condition::{Condition, LoadState, SwitchPosition};
use crate::diagnosis::{
    Account, Complaint, LoadSeen, Mended, Observation, Protected, Seen, Tool, WhenItTrips,
};

use super::complaint::JOINS;
use super::each_sentence;
use super::mended::{alone, is_put_right};
use super::moment::BEGINS;
use super::reader::{Heard, Reader};

/// What one sentence says.
enum Said {
    Complaint(Complaint),
    Observation(Observation),
}

/// Reads complaints and observations in one text, sentence by sentence: what a sentence can be is
/// what it is, and where only its parts can be something, each of them is. Of what may be both
/// somebody has called, unless there was a complaint before; who says only how a breaker trips has called for
/// that. What is complained of after something
/// was mended is seen since.
///
/// # Errors
///
/// One problem for each sentence that means nothing here.
///
/// ```
/// use slotwise::diagnosis::{Means, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let tools = Means::default().tools;
/// let text = "kiln dead; tester at door: all dark";
/// let (complaints, observations) = words::told(&studio, &tools, text, (false, false)).unwrap();
/// assert_eq!((complaints.len(), observations.len()), (1, 1));
/// assert_eq!(words::told(&studio, &tools, "kiln dead, c1 not tripped", (false, false)).unwrap().1.len(), 1);
/// ```
pub fn told(
    circuit: &Circuit,
    tools: &[Tool],
    text: &str,
    before: (bool, bool),
) -> Result<(Vec<Complaint>, Vec<Observation>), Vec<WordsProblem>> {
    told_since(circuit, tools, text, before, (&[], &[]))
}

/// The same of a text that follows what was told before: `tester everywhere else` is wherever no tester was
/// held, the rest of a circuit what is not said to be dead, and what is put right was seen to be wrong.
///
/// # Errors
///
/// One problem for each sentence that means nothing here.
///
/// ```
/// use slotwise::diagnosis::{Account, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let mut account = Account::default();
/// let tools = account.means.tools.clone();
/// let seen = words::observations(&studio, &tools, "tester at kiln: dark lit lit").unwrap();
/// account.observations = seen;
/// let text = "tester everywhere else: lit lit dark; mended kiln";
/// let (called, since) = words::told_after(&studio, &account, text, false).unwrap();
/// assert!(called.is_empty());
/// let said = words::tell(&studio, &tools, &since[0]);
/// assert_eq!(said, "tester at door: hot-neutral lit, hot-ground lit, neutral-ground dark");
/// assert_eq!(words::tell(&studio, &tools, &since[1]), "mended kiln");
/// ```
pub fn told_after(
    circuit: &Circuit,
    account: &Account,
    text: &str,
    complained: bool,
) -> Result<(Vec<Complaint>, Vec<Observation>), Vec<WordsProblem>> {
    let Account { complaints, observations, means } = account;
    let before = (complained, account.is_anything_mended());
    told_since(circuit, &means.tools, text, before, (complaints, observations))
}

fn told_since(
    circuit: &Circuit,
    tools: &[Tool],
    text: &str,
    (complained, mended): (bool, bool),
    (called, seen): (&[Complaint], &[Observation]),
) -> Result<(Vec<Complaint>, Vec<Observation>), Vec<WordsProblem>> {
    let is_mended = Cell::new(mended);
    let is_first = Cell::new(!complained && !mended && seen.is_empty());
    let seen = RefCell::new(Rc::new(seen.to_vec()));
    let called = RefCell::new(Rc::new(called.to_vec()));
    let said = each_sentence(circuit, text, |reader| {
        reader.seen = Rc::clone(&seen.borrow());
        reader.called = Rc::clone(&called.borrow());
        let complaints = reader.clone().complaint();
        let observations = reader.clone().observations(tools);
        let said = match (complaints, observations) {
            // Who looks says what he has switched off; who calls, what ought to run.
            (Ok(_), Err(stood)) if complained && reader.ends_in_off() => Err(stood),
            (Ok(complaints), Err(_)) => Ok(all(complaints, Said::Complaint)),
            (Ok(complaints), Ok(_)) if !complained => Ok(all(complaints, Said::Complaint)),
            (_, Ok(_)) if !complained && let Some(parts) = reader.parts(tools, complained) => {
                Ok(parts)
            }
            (_, Ok(_)) if !complained && let Some(said) = reader.others_run_then(tools) => Ok(said),
            (_, Ok(observations)) => Ok(all(observations, Said::Observation)),
            (Err(complaint), Err(observation)) => match reader.parts(tools, complained) {
                Some(parts) => Ok(parts),
                None if let Some(said) = reader.others_run_then(tools) => Ok(said),
                None => Err(nearer(reader, (complaint, observation), complained)),
            },
        }?;
        // What was put in before anybody called is where somebody worked.
        let is_before = is_first.get() && !said.iter().any(is_of_an_opened_box)
            || said.iter().all(is_of_repair) && reader.was_lately();
        let said = if is_before { worked_on(said) } else { said };
        is_first.set(is_first.get() && said.iter().all(is_of_work));
        let said = since_mended(said, &is_mended);
        for one in &said {
            match one {
                Said::Observation(one) => Rc::make_mut(&mut seen.borrow_mut()).push(one.clone()),
                Said::Complaint(one) => Rc::make_mut(&mut called.borrow_mut()).push(one.clone()),
            }
        }
        Ok(said)
    })?;
    let (mut complaints, mut observations) = (Vec::new(), Vec::new());
    for one in said {
        match one {
            Said::Complaint(complaint) => complaints.push(complaint),
            Said::Observation(observation) => observations.push(observation),
        }
    }
    if !complained
        && complaints.iter().all(|one| matches!(one, Complaint::WorkedOn { .. }))
        && !mended
    {
        complaints.extend(observations.iter().find_map(trips));
        complaints.extend(observations.iter().find_map(|one| dead_as_described(circuit, one)));
    }
    Ok((complaints, observations))
}

/// What somebody is told of who hears only that a breaker trips, however things stood then.
fn trips(observation: &Observation) -> Option<Complaint> {
    match &observation.seen {
        Seen::Protection { name, did: Protected::TripsAtOnce } => {
            let loads = &observation.moment.condition.loads;
            let mut on = loads.iter().filter(|(_, state)| **state == LoadState::On);
            let when = on.next().map_or(WhenItTrips::AtOnce, |(load, _)| WhenItTrips::WithLoad {
                load: load.clone(),
            });
            Some(Complaint::Trips { breaker: name.clone(), when })
        }
        Seen::Protection { name, did: Protected::TripsLater } => {
            Some(Complaint::Trips { breaker: name.clone(), when: WhenItTrips::AfterAWhile })
        }
        Seen::Protection { name, did: Protected::WontReset } => {
            Some(Complaint::WontReset { breaker: name.clone() })
        }
        _ => None,
    }
}

/// The same of a load that does not run, with every switch as it is described: who says with it how the
/// switches stand has called for that all the same.
fn dead_as_described(circuit: &Circuit, observation: &Observation) -> Option<Complaint> {
    let Seen::Load { load, seen: LoadSeen::Dead } = &observation.seen else { return None };
    let Condition { faults, breakers, switches, attached, .. } = &observation.moment.condition;
    let is_as_described = |(name, position): (&String, &SwitchPosition)| {
        SwitchPosition::described_in(circuit, name) == Some(*position)
    };
    let is_of_switches = faults.is_empty() && breakers.is_empty() && attached.is_empty();
    (is_of_switches && !switches.is_empty() && switches.iter().all(is_as_described))
        .then(|| Complaint::LoadDead { load: load.clone() })
}

fn is_of_an_opened_box(said: &Said) -> bool {
    matches!(said, Said::Observation(Observation { seen: Seen::Opened { .. }, .. }))
}

fn is_of_repair(said: &Said) -> bool {
    matches!(said, Said::Observation(one) if is_put_right(one))
}

fn is_of_work(said: &Said) -> bool {
    matches!(said, Said::Complaint(Complaint::WorkedOn { .. }))
}

/// A box that was put right before anything was complained of, as one where somebody worked; and what is said
/// to be so since as what is complained of.
fn worked_on(said: Vec<Said>) -> Vec<Said> {
    let mut is_worked_on = false;
    let as_called = |one: Said| match one {
        Said::Observation(Observation { seen: Seen::Mended(Mended::Box { place }), .. }) => {
            is_worked_on = true;
            Said::Complaint(Complaint::WorkedOn { place })
        }
        Said::Observation(Observation { seen: Seen::CalledAgain(complaint), .. })
            if is_worked_on =>
        {
            Said::Complaint(complaint)
        }
        other => other,
    };
    said.into_iter().map(as_called).collect()
}

/// Complaints said after something was mended, as seen since.
fn since_mended(said: Vec<Said>, is_mended: &Cell<bool>) -> Vec<Said> {
    let since = |one: Said| match one {
        Said::Complaint(one) if is_mended.get() => Said::Observation(alone(Seen::CalledAgain(one))),
        Said::Observation(one) => {
            is_mended.set(is_mended.get() || is_put_right(&one));
            Said::Observation(one)
        }
        complaint @ Said::Complaint(_) => complaint,
    };
    said.into_iter().map(since).collect()
}

fn all<T>(said: Vec<T>, kind: impl Fn(T) -> Said) -> Vec<Said> {
    said.into_iter().map(kind).collect()
}

impl Reader<'_> {
    /// `kettle dead, lamp works`: what each part of a sentence says; none if a part says nothing, or
    /// how things stood is said of the whole.
    fn parts(&self, tools: &[Tool], complained: bool) -> Option<Vec<Said>> {
        let of_the_whole =
            |token: &Token<'_>| BEGINS.iter().any(|word| token.text.eq_ignore_ascii_case(word));
        if self.rest().iter().any(of_the_whole) {
            return None;
        }
        let mut ahead = self.clone();
        let mut said = Vec::new();
        loop {
            let seen = |ahead: &mut Self| ahead.part(|one| one.seen_in_a_part(tools));
            let called = |ahead: &mut Self| ahead.part(Self::called_in_a_part);
            let part = match complained {
                true => seen(&mut ahead).or_else(|| called(&mut ahead)),
                false => called(&mut ahead).or_else(|| seen(&mut ahead)),
            };
            said.extend(part?);
            if !ahead.joins() {
                return ahead.end().is_ok().then_some(said);
            }
        }
    }

    /// `lamp dims when heater runs, radio fine`: what works does so while that runs, too.
    fn others_run_then(&self, tools: &[Tool]) -> Option<Vec<Said>> {
        let mut ahead = self.clone();
        let called = |ahead: &mut Self| ahead.part(Self::one_complaint);
        let (called, mut seen) = match called(&mut ahead).filter(|_| ahead.joins()) {
            Some(first) => (first, ahead.observations(tools).ok()?),
            None => {
                ahead = self.clone();
                let seen = ahead.part(|one| one.one_observation(tools))?;
                if !ahead.joins() {
                    return None;
                }
                (called(&mut ahead).filter(|_| ahead.is_done())?, seen)
            }
        };
        let [
            Complaint::Dim { loads, when: Some(with), .. }
            | Complaint::Bright { loads, when: Some(with), .. },
        ] = called.as_slice()
        else {
            return None;
        };
        for one in &mut seen {
            let Seen::Load { load, seen: LoadSeen::Runs } = &one.seen else { return None };
            // How it stood is said once.
            let is_alone = one.moment.condition.loads.keys().all(|set| set == load);
            if loads.contains(load) || !is_alone {
                return None;
            }
            one.moment.condition.loads.entry(with.clone()).or_insert(LoadState::On);
        }
        let seen = all(seen, Said::Observation);
        Some(all(called, Said::Complaint).into_iter().chain(seen).collect())
    }

    /// A part of a sentence, if it is one that ends where another begins; else nothing is passed.
    fn part<T>(&mut self, read: impl Fn(&mut Self) -> Heard<T>) -> Option<T> {
        let mut ahead = self.clone();
        let part = read(&mut ahead).ok()?;
        let ends = ahead.is_done() || ahead.clone().joins();
        ends.then(|| {
            *self = ahead;
            part
        })
    }

    fn called_in_a_part(&mut self) -> Heard<Vec<Said>> {
        self.one_complaint().map(|complaints| all(complaints, Said::Complaint))
    }

    fn seen_in_a_part(&mut self, tools: &[Tool]) -> Heard<Vec<Said>> {
        self.one_observation(tools).map(|seen| all(seen, Said::Observation))
    }

    /// Whether it is said that something is off, and no more.
    fn ends_in_off(&self) -> bool {
        let is = |token: &Token<'_>, words: &[&str]| {
            words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
        };
        match self.rest() {
            [.., verb, off] => is(off, &["off"]) && is(verb, &["is", "are"]),
            _ => false,
        }
    }

    /// Passes what joins another part.
    fn joins(&mut self) -> bool {
        let before = self.rest().len();
        self.pass_marks();
        self.takes_any(&JOINS);
        self.rest().len() < before && !self.is_done()
    }
}

/// The problem of what was probably meant: what is seen is seen at a place, as in `tester at kiln:
/// dark`; else whichever way of hearing it went further, or knows what was meant.
fn nearer(
    reader: &Reader<'_>,
    (complaint, observation): (Problem, Problem),
    complained: bool,
) -> Problem {
    let is_seen =
        reader.rest().iter().any(|token| token.kind == TokenKind::Comma && token.text == ":");
    let (called, seen) = (complaint.span.end, observation.span.end);
    // Of what begins nothing it is not known what it was to be.
    let begins = reader.span().start == complaint.span.start;
    let as_far = complained
        && begins
        && called == seen
        && (complaint.suggestions.is_empty() || !observation.suggestions.is_empty());
    match is_seen || seen > called || as_far {
        true => observation,
        false => complaint,
    }
}
