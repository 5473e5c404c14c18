//! `slotwise locate`

use std::path::Path;

use slotwise::circuit::Circuit;
use slotwise::condition::words::WordsProblem;
use slotwise::diagnosis::{Account, Advice, Inquiry, Means, ToldProblem, Tool, file, words};
use slotwise::report::{LocateReport, ProblemReport, json, text};

use super::Outcome;
use super::arguments::{self, Locate};
use super::case::{Opened, misunderstood};
use super::input;
use super::instruments::instrument;
use super::output::{Failure, emphasis, print};

mod step;

/// With what was typed behind `--saw` and without an option, in the order typed.
pub(super) fn run(arguments: &Locate, in_order: &[arguments::Said]) -> Result<Outcome, Failure> {
    let typed = [Some(arguments.file.as_str()), arguments.observations.as_deref()];
    if arguments.step && typed.contains(&Some("-")) {
        return Err(Failure::unusable(
            "with --step the answers come from standard input, so no file can",
        ));
    }
    let opened = Opened::open(&arguments.file)?;
    let circuit = &opened.file.circuit;
    let account = account(circuit, arguments, in_order)?;
    let mut inquiry = Inquiry::of(circuit, &account)
        .map_err(|(at, problem)| not_usable(circuit, &account, at, &problem))?;
    if arguments.step {
        return step::run(circuit, account, inquiry);
    }
    let advice = inquiry.advise();
    let report = report_of(&inquiry, &advice)?;
    print(&match arguments.json {
        true => json::locate(&report),
        false => text::locate(&report, emphasis()),
    })?;
    Ok(Outcome::Done)
}

fn report_of(inquiry: &Inquiry<'_>, advice: &Advice) -> Result<LocateReport, Failure> {
    LocateReport::new(inquiry, advice).map_err(|problem| Failure::problem(problem.to_string()))
}

/// What the file says, and what was typed after it. All that is wrong with it is said at once.
fn account(
    circuit: &Circuit,
    arguments: &Locate,
    in_order: &[arguments::Said],
) -> Result<Account, Failure> {
    let mut failures = Vec::new();
    let mut account = match in_file(circuit, arguments) {
        Ok(account) => account,
        Err(failure) => {
            failures.push(failure);
            Account { means: Means::of(circuit), ..Account::default() }
        }
    };
    if !arguments.with.is_empty() {
        account.means.tools.clear();
    }
    for name in &arguments.with {
        match instrument(Some(name), circuit) {
            Ok(instrument) => account.means.tools.push(Tool { name: name.clone(), instrument }),
            Err(failure) => failures.push(failure),
        }
    }
    if let Some(confidence) = arguments.confidence {
        if !(confidence > 0.0 && confidence < 1.0) {
            failures.push(Failure::unusable(format!(
                "{confidence} is no share to be sure of: say a number between 0 and 1, \
                 as 0.95"
            )));
        }
        account.means.confidence = confidence;
    }
    let mut typed = Typed::default();
    typed.hear(circuit, (&arguments.complaints, in_order), &mut account, &mut failures);
    if !typed.problems.is_empty() {
        let problems = typed.problems.iter().map(|(at, problem, code)| (*at, problem, *code));
        // What is unusable is said last: by it the run ends.
        failures.insert(0, misunderstood(&typed.sentences, problems));
    }
    Failure::all(failures).map(|()| account)
}

/// What the file of observations says, if there is one.
fn in_file(circuit: &Circuit, arguments: &Locate) -> Result<Account, Failure> {
    let Some(name) = &arguments.observations else {
        return Ok(Account { means: Means::of(circuit), ..Account::default() });
    };
    let source = input::read(name)?;
    match file::read(circuit, &source.text) {
        Ok(named) => Ok(named.account),
        Err(problems) => Err(Failure::in_text(problems, source)),
    }
}

/// The sentences typed that are wrong somewhere, and what is wrong with them.
#[derive(Default)]
struct Typed {
    sentences: Vec<String>,
    /// Each with the number of its sentence and the code of its grammar.
    problems: Vec<(usize, WordsProblem, &'static str)>,
}

impl Typed {
    fn hear(
        &mut self,
        circuit: &Circuit,
        (complaints, in_order): (&[String], &[arguments::Said]),
        account: &mut Account,
        failures: &mut Vec<Failure>,
    ) {
        for said in complaints {
            self.hear_one(circuit, said, (false, "complaint-words"), account);
        }
        for (is_saw, said) in in_order {
            if *is_saw {
                self.hear_one(circuit, said, (true, "observation-words"), account);
                continue;
            }
            if Path::new(said).extension().is_some_and(|end| end == "ron") {
                failures.push(Failure::unusable(format!(
                    "{said} looks like a file: a file of what was seen is given as \
                     `--observations {said}`"
                )));
                continue;
            }
            let complained = !account.complaints.is_empty();
            self.hear_one(circuit, said, (complained, "observation-words"), account);
        }
    }

    /// One text; of what may be both a complaint and something seen, which it is, with the code of
    /// its grammar.
    fn hear_one(
        &mut self,
        circuit: &Circuit,
        said: &str,
        (is_seen, code): (bool, &'static str),
        account: &mut Account,
    ) {
        match words::told_after(circuit, account, said, is_seen) {
            Ok((complaints, observations)) => {
                account.complaints.extend(complaints);
                account.observations.extend(observations);
            }
            Err(problems) => self.misheard(said, problems, code),
        }
    }

    /// Only what is wrong is shown: a line for each argument that holds something wrong.
    fn misheard(&mut self, said: &str, problems: Vec<WordsProblem>, code: &'static str) {
        let at = self.sentences.len();
        self.sentences.push(said.to_owned());
        self.problems.extend(problems.into_iter().map(|problem| (at, problem, code)));
    }
}

/// Something told that the circuit cannot show.
fn not_usable(circuit: &Circuit, account: &Account, at: usize, problem: &ToldProblem) -> Failure {
    let said = match at.checked_sub(account.complaints.len()) {
        None => account.complaints.get(at).map(|one| words::tell_complaint(circuit, one)),
        Some(at) => {
            let tools = &account.means.tools;
            account.observations.get(at).map(|one| words::tell(circuit, tools, one))
        }
    };
    let said = said.unwrap_or_default();
    let report = ProblemReport {
        found: Some(said.clone()),
        suggestions: match problem {
            ToldProblem::Unknown(unknown) => unknown.close.clone(),
            _ => Vec::new(),
        },
        ..ProblemReport::new(format!("`{said}`: {problem}"))
    };
    Failure::plain(Outcome::Problems, report)
}
