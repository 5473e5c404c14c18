//! `slotwise locate`

use std::path::Path;

use slotwise::circuit::Circuit;
use slotwise::condition::words::WordsProblem;
use slotwise::diagnosis::{Account, Advice, Inquiry, Means, ToldProblem, Tool, file, words};
use slotwise::report::{LocateReport, json, text};

use super::Outcome;
use super::arguments::{Locate, sentences};
use super::case::{Opened, told};
use super::input;
use super::instruments::instrument;
use super::output::{Failure, emphasis, print, talk};

mod step;

pub(super) fn run(arguments: &Locate) -> Result<Outcome, Failure> {
    let typed = [Some(arguments.file.as_str()), arguments.observations.as_deref()];
    if arguments.step && typed.contains(&Some("-")) {
        return Err(Failure::unusable(
            "slotwise: with --step the answers come from standard input, so no file can",
        ));
    }
    let opened = Opened::open(&arguments.file)?;
    let circuit = &opened.file.circuit;
    let account = account(circuit, arguments)?;
    let mut inquiry = Inquiry::of(circuit, &account)
        .map_err(|(at, problem)| not_usable(circuit, &account, at, &problem))?;
    if arguments.step {
        return step::run(circuit, account, inquiry);
    }
    let advice = inquiry.advise();
    let report = report_of(circuit, &account, &inquiry, &advice)?;
    print(&match arguments.json {
        true => json::locate(&report),
        false => text::locate(&report, emphasis()),
    })?;
    Ok(Outcome::Done)
}

fn report_of(
    circuit: &Circuit,
    account: &Account,
    inquiry: &Inquiry<'_>,
    advice: &Advice,
) -> Result<LocateReport, Failure> {
    LocateReport::new(circuit, account, inquiry, advice)
        .map_err(|problem| Failure::problem(format!("slotwise: {problem}")))
}

/// What the file says, and what was typed after it.
fn account(circuit: &Circuit, arguments: &Locate) -> Result<Account, Failure> {
    let mut account = match &arguments.observations {
        None => Account { means: Means::of(circuit), ..Account::default() },
        Some(name) => {
            let source = input::read(name)?;
            match file::read(circuit, &source.text) {
                Ok(named) => named.account,
                Err(problems) => return Err(told(&problems, &source)),
            }
        }
    };
    if !arguments.with.is_empty() {
        account.means.tools.clear();
    }
    for name in &arguments.with {
        let tool = Tool { name: name.clone(), instrument: instrument(Some(name), circuit)? };
        account.means.tools.push(tool);
    }
    if let Some(confidence) = arguments.confidence {
        if !(confidence > 0.0 && confidence < 1.0) {
            return Err(Failure::unusable(format!(
                "slotwise: {confidence} is no share to be sure of: say a number between 0 and 1, \
                 as 0.95"
            )));
        }
        account.means.confidence = confidence;
    }
    let mut good = true;
    for said in &arguments.complaints {
        match words::complaints(circuit, said) {
            Ok(complaints) => account.complaints.extend(complaints),
            Err(problems) => good = show(&problems, said),
        }
    }
    for said in &arguments.saw {
        match words::observations(circuit, &account.means.tools, said) {
            Ok(observations) => account.observations.extend(observations),
            Err(problems) => match words::works(circuit, said) {
                Some(works) => account.complaints.extend(works),
                None => good = show(&problems, said),
            },
        }
    }
    for said in &sentences(&arguments.said) {
        if Path::new(said).extension().is_some_and(|end| end == "ron") {
            return Err(Failure::unusable(format!(
                "slotwise: {said} looks like a file: a file of what was seen is given as \
                 `--observations {said}`"
            )));
        }
        let complained = !account.complaints.is_empty();
        match words::told(circuit, &account.means.tools, said, complained) {
            Ok((complaints, observations)) => {
                account.complaints.extend(complaints);
                account.observations.extend(observations);
            }
            Err(problems) => good = show(&problems, said),
        }
    }
    if good { Ok(account) } else { Err(Failure::told()) }
}

/// Shows what is wrong with words that were typed; never good.
fn show(problems: &[WordsProblem], said: &str) -> bool {
    for problem in problems {
        talk(&format!("error:\n{}\n", problem.render(said)));
    }
    false
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
    Failure::problem(format!("slotwise: `{}`: {problem}", said.unwrap_or_default()))
}
