//! The report of a search: dangers, what to do next and what it will mean, suspects with what
//! speaks for and against each, and what stays unproven.

use crate::circuit::{Circuit, Outlet, Vocabulary};
use crate::condition::LoadState;
use crate::diagnosis::{
    Account, Advice, Conflict, Findings, Inquiry, NextTest, Observation, PanelMetal, Parting,
    Protected, Seen, Suspect, Told, Word, words,
};
use crate::instrument::MeasureProblem;
use crate::report::vocabulary::prose;

mod advice;
mod alike;
mod cable;
mod repair;
mod stop;
mod suspect;
mod test;
pub(super) use suspect::one_of;
mod warning;

pub use advice::{NextReport, RepairReport};
pub use repair::ExpectedReading;
pub use stop::{GoToReport, StopReport};
pub use suspect::{ExplanationReport, FaultReport, SuspectReport, WordReport};
pub use test::{BranchReport, TestReport};
pub use warning::WarningReport;

/// What is known so far about one call-out, and what to do next.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LocateReport {
    /// What the circuit is called.
    pub circuit: String,
    /// Which words the report speaks.
    pub vocabulary: Vocabulary,
    /// What was complained of, then what was seen, in canonical words: `told` counts them from
    /// zero.
    pub told: Vec<String>,
    /// Dangers, the gravest first.
    pub warnings: Vec<WarningReport>,
    /// What to do next.
    pub next: NextReport,
    /// Suspects, the likeliest first.
    pub suspects: Vec<SuspectReport>,
    /// Sets of suspects that are there together, the likeliest first.
    pub explanations: Vec<ExplanationReport>,
    /// Probability that nothing is wrong, but for the loads in `dead_loads` themselves.
    pub nothing_wrong: f64,
    /// Loads that are said not to run, since the last repair if there was one.
    pub dead_loads: Vec<String>,
    /// Probability of something that is on no list.
    pub nothing_known: f64,
    /// Breakers that are said to trip and carry more than their rating with nothing wrong, in
    /// sentences.
    pub overloads: Vec<String>,
    /// Things told that do not go together, each with what to make of it.
    pub conflicts: Vec<ConflictReport>,
    /// What no answer here proves.
    pub unproven: Vec<String>,
    /// What was put right, in canonical words: what is suspected is suspected beside it.
    pub mended: Vec<String>,
}

/// Things told that do not go together.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct ConflictReport {
    /// Their places among what was told.
    pub told: Vec<usize>,
    /// In words, with what to do about it.
    pub says: String,
}

impl LocateReport {
    /// Asks an inquiry that has given this advice.
    ///
    /// ```
    /// use slotwise::circuit::file;
    /// use slotwise::diagnosis::{Account, Complaint, Inquiry};
    /// use slotwise::report::LocateReport;
    /// let text = r#"(format: 1, circuits: [(id: "c1", amperes: 15)],
    ///     boxes: [(id: "door", from: "c1", feet: 20), (id: "bench", from: "door", feet: 9)])"#;
    /// let circuit = file::read(text).unwrap().circuit;
    /// let complaints = vec![Complaint::DeadFrom { place: "bench".into() }];
    /// let account = Account { complaints, ..Account::default() };
    /// let mut inquiry = Inquiry::of(&circuit, &account).unwrap();
    /// let advice = inquiry.advise();
    /// let report = LocateReport::new(&inquiry, &advice).unwrap();
    /// assert_eq!(report.told, ["dead from bench on"]);
    /// assert!(report.suspects[0].boxes.contains(&"bench".to_owned()));
    /// ```
    ///
    /// # Errors
    ///
    /// The circuit as described cannot be measured, so that no repair could be confirmed.
    pub fn new(inquiry: &Inquiry<'_>, advice: &Advice) -> Result<Self, MeasureProblem> {
        let (circuit, account) = (inquiry.circuit(), &inquiry.account());
        let findings = inquiry.findings();
        let told = told(circuit, account);
        let places = Places::of(inquiry.told(), account.complaints.len());
        let opened = account.observations.iter().filter_map(|one| match &one.seen {
            Seen::Opened { place, found } if found.is_empty() => Some(place.as_str()),
            _ => None,
        });
        let opened = opened.collect();
        let kept_off = inquiry.kept_off();
        let teller = suspect::Teller {
            circuit,
            told: &told,
            findings: &findings,
            opened,
            closed_since: closed_since(account),
            kept_off: &kept_off,
            means: &account.means,
        };
        let suspects: Vec<SuspectReport> = findings
            .suspects
            .iter()
            .enumerate()
            .map(|(at, one)| teller.suspect(one, &places.of_words(inquiry.why(at))))
            .collect();
        // What was found last has not been repaired as long as nothing was seen after it.
        let found = account
            .observations
            .last()
            .filter(|last| matches!(&last.seen, Seen::Opened { found, .. } if !found.is_empty()));
        let found = found.and_then(|_| told.last().cloned());
        let overloads = inquiry.overloads();
        let overloads: Vec<String> =
            overloads.iter().map(|one| advice::overload_says(circuit, one)).collect();
        let vocabulary = circuit.parts().vocabulary;
        let warned = warning::warnings(&inquiry.warnings(), vocabulary, kept_off.metal());
        let is_metal_live = warned.iter().any(WarningReport::is_live_metal);
        let overloaded = overloads.clone();
        let besides = advice::Besides::new((circuit, account), inquiry, overloaded, is_metal_live);
        let (with, answer) = ((account, found), (inquiry, advice));
        let mut next = advice::next(&teller, with, &suspects, &besides, answer)?;
        if let (NextReport::Test(test), Advice::Test(asked)) = (&mut next, advice) {
            let with = (circuit, account);
            of_this_case(with, inquiry, (&besides, &warned), (test, asked));
        }
        // What speaks for what is most likely fits it.
        let explained = suspects.iter().filter(|one| one.probability >= 0.5);
        let explained: Vec<usize> =
            explained.flat_map(|one| &one.speaks_for).map(|word| word.told).collect();
        let mut unexplained = places.of_conflicts(inquiry.conflicts());
        unexplained.retain(|one| !matches!(one.told[..], [only] if explained.contains(&only)));
        Ok(Self {
            circuit: circuit.parts().name.clone(),
            vocabulary,
            warnings: warned,
            explanations: suspect::explanations(&findings),
            nothing_wrong: findings.nothing_wrong,
            dead_loads: {
                let dead = inquiry.dead_loads().into_iter();
                dead.filter(|load| !inquiry.runs_elsewhere(load)).map(str::to_owned).collect()
            },
            nothing_known: findings.nothing_known,
            conflicts: conflicts(&unexplained, &told, account.complaints.len()),
            unproven: unproven(circuit, &findings),
            mended: mended(circuit, account),
            overloads,
            next,
            suspects,
            told,
        })
    }
}

/// What is to be said of a test besides, things being as they are.
fn of_this_case(
    (circuit, account): (&Circuit, &Account),
    inquiry: &Inquiry<'_>,
    (besides, warned): (&advice::Besides, &[WarningReport]),
    (test, asked): (&mut TestReport, &NextTest),
) {
    let kept_off = inquiry.kept_off();
    test::closing_what_trips(circuit, account, test);
    let is_live = !besides.felt_from.is_empty() || inquiry.is_metal_seen_live();
    // What is switched on may make a case live that was not, whatever is believed so far.
    let has_case = |(load, state): (&String, &LoadState)| {
        *state != LoadState::Off && circuit.load(load).is_some_and(|load| load.frame.is_some())
    };
    let is_switched_live = kept_off.metal() != PanelMetal::NotLive
        || kept_off.is_any_of(test::feeds(circuit, asked))
        || asked.switch.iter().any(has_case);
    test::hands_off(test, (is_live, is_switched_live));
    if account.observations.iter().any(|one| asked.is_seen_in(one)) {
        test::once_more(test);
    }
    test::closed_again(circuit, account, test);
    if let Some(parted) = parted_last(circuit, account) {
        test::joined_again(circuit, &account.means, &parted, test);
    }
    if warned.iter().any(WarningReport::may_burn) {
        test::off_again(test);
    }
}

/// Everything told, in words.
fn told(circuit: &Circuit, account: &Account) -> Vec<String> {
    let complaints = account.complaints.iter().map(|one| words::tell_complaint(circuit, one));
    let tools = &account.means.tools;
    let observations = account.observations.iter().map(|one| words::tell(circuit, tools, one));
    complaints.chain(observations).collect()
}

/// Of each thing told, as an inquiry counts, its place where complaints come first.
struct Places(Vec<usize>);

impl Places {
    fn of(told: &[Told], n_complaints: usize) -> Self {
        let (mut complaints, mut observations) = (0.., n_complaints..);
        let place = |one: &Told| match one {
            Told::Complaint(_) => complaints.next(),
            Told::Observation(_) => observations.next(),
        };
        Self(told.iter().filter_map(place).collect())
    }

    fn at(&self, told: usize) -> usize {
        self.0.get(told).copied().unwrap_or(told)
    }

    fn of_words(&self, mut words: Vec<Word>) -> Vec<Word> {
        words.iter_mut().for_each(|word| word.told = self.at(word.told));
        words
    }

    fn of_conflicts(&self, mut conflicts: Vec<Conflict>) -> Vec<Conflict> {
        for told in conflicts.iter_mut().flat_map(|one| &mut one.told) {
            *told = self.at(*told);
        }
        conflicts
    }
}

/// Where the run was taken apart for what was read last.
fn parted_last(circuit: &Circuit, account: &Account) -> Option<Parting> {
    match &account.observations.last()?.seen {
        Seen::Instrument { request, .. } => words::parting_of(circuit, request),
        _ => None,
    }
}

/// Breakers and devices that were found off and said to hold since.
fn closed_since(account: &Account) -> Vec<&str> {
    let mut found_off: Vec<&str> = Vec::new();
    let mut closed: Vec<&str> = Vec::new();
    for one in &account.observations {
        let Seen::Protection { name, did } = &one.seen else { continue };
        match did {
            Protected::Holds if found_off.contains(&name.as_str()) => closed.push(name),
            _ => {
                closed.retain(|known| known != name);
                if *did == Protected::FoundOff {
                    found_off.push(name);
                }
            }
        }
    }
    closed
}

/// What was put right, in words.
fn mended(circuit: &Circuit, account: &Account) -> Vec<String> {
    let is_it = |one: &&Observation| matches!(one.seen, Seen::Mended(_));
    let mended = account.observations.iter().filter(is_it);
    mended.map(|one| words::tell(circuit, &account.means.tools, one)).collect()
}

fn conflicts(conflicts: &[Conflict], told: &[String], n_complaints: usize) -> Vec<ConflictReport> {
    let said = |at: &usize| told.get(*at).map_or("?", String::as_str);
    let report = |conflict: &Conflict| {
        let says = match conflict.told.as_slice() {
            [only] if conflict.is_explained => format!(
                "`{}` fits badly to what leads, and what would show it fits the rest badly: worth repeating",
                said(only)
            ),
            [only] if *only < n_complaints => format!(
                "`{}`: no fault on the list, alone or in pairs, shows that. Ask again what exactly \
                 happened, and whether the circuit file is how it is wired",
                said(only)
            ),
            [only] => format!(
                "`{}` fits nothing on the list of faults, alone or in pairs: worth repeating. If \
                 it stands, something else feeds this place, or the circuit file is not how it is \
                 wired",
                said(only)
            ),
            [one, other] => format!(
                "`{}` and `{}` fit no fault together: one of the two is worth repeating",
                said(one),
                said(other)
            ),
            several => {
                let said: Vec<String> =
                    several.iter().map(|at| format!("`{}`", said(at))).collect();
                format!("these fit no fault together: {}", said.join(", "))
            }
        };
        ConflictReport { told: conflict.told.clone(), says }
    };
    conflicts.iter().map(report).collect()
}

/// What no answer proves, whatever was found.
fn unproven(circuit: &Circuit, findings: &Findings) -> Vec<String> {
    let mut unproven = Vec::new();
    if let Some(leading) = findings.suspects.first()
        && leading.conductors().iter().any(|name| name == "hot" || name == "neutral")
    {
        unproven.push(
            "What lies past an open or bad joint has not been seen with full voltage on it: a \
             second fault there shows only after the repair."
                .to_owned(),
        );
    }
    if findings.suspects.first().is_some_and(Suspect::is_intermittent) {
        unproven.push(
            "What makes contact now and then reads right by chance: after the repair read again with \
             something on that draws much, after an hour, and whenever a cord is moved."
                .to_owned(),
        );
    }
    unproven.push(
        "A second fault that changes no reading taken so far stays as likely as in any house: \
         after the repair read every receptacle again."
            .to_owned(),
    );
    let has_both = |(_, outlet): (_, &Outlet)| {
        ["neutral", "ground"].iter().all(|name| outlet.slots.iter().any(|(slot, _)| slot == name))
    };
    if circuit.outlets().any(has_both) {
        let says = "No tester shows a bootleg ground: a loaded test does, as next to no ohms in the \
                    neutral at that receptacle.";
        unproven.push(prose(circuit.parts().vocabulary, says));
    }
    unproven
}
