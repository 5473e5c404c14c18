//! Only this room reads files and prints. Results go to standard output, everything said about
//! the way there to standard error.

use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches};
use slotwise::report::{ProblemReport, ProblemsReport, json};

mod arguments;
mod case;
mod check;
mod diagnostics;
mod draw;
mod drill;
mod input;
mod instruments;
mod locate;
mod lookalikes;
mod names;
mod output;
mod read;
mod sample;
mod why;

use arguments::{Arguments, Command};

/// How a run ended, and the exit code that says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    /// Done; warnings may have been given.
    Done,
    /// The circuit or the condition has problems, all of them said.
    Problems,
    /// The call was wrong, or a file could not be read or written.
    Unusable,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        Self::from(match outcome {
            Outcome::Done => 0,
            Outcome::Problems => 1,
            Outcome::Unusable => 2,
        })
    }
}

/// Runs the command with the arguments of this process.
pub(crate) fn run() -> ExitCode {
    let matches = Arguments::command().try_get_matches().unwrap_or_else(|error| wrong_call(&error));
    let arguments =
        Arguments::from_arg_matches(&matches).unwrap_or_else(|error| wrong_call(&error));
    let manner = arguments.command.manner();
    let outcome = match &arguments.command {
        Command::Check(check) => check::run(check),
        Command::Read(read) => read::run(read),
        Command::Draw(draw) => draw::run(draw),
        Command::Why(why) => why::run(why),
        Command::Locate(asked) => {
            let typed = matches.subcommand_matches("locate");
            locate::run(asked, &typed.map_or_else(Vec::new, |typed| asked.in_order(typed)))
        }
        Command::Drill(drill) => drill::run(drill),
        Command::Lookalikes(asked) => lookalikes::run(asked),
        Command::Sample(sample) => sample::run(sample),
        Command::Completions { shell } => sample::completions(*shell),
    };
    match outcome {
        Ok(outcome) => outcome.into(),
        Err(failure) => failure.report(manner).into(),
    }
}

/// Ends the process: 0 after help or version, 2 after a wrong call, which is said as JSON too
/// where that was asked for.
fn wrong_call(error: &clap::Error) -> ! {
    let mut typed = std::env::args_os().take_while(|typed| typed != "--");
    if error.use_stderr() && typed.any(|typed| typed == "--json") {
        let said = error.to_string();
        // What follows the first blank line is how to call it.
        let first: Vec<&str> = said.lines().map(str::trim).take_while(|l| !l.is_empty()).collect();
        let said = first.join(" ");
        let said = said.trim_start_matches("error: ");
        let report = ProblemsReport { problems: vec![ProblemReport::new(said)] };
        // It is said in words below, whoever reads this.
        drop(output::print(&json::problems_line(&report)));
    }
    error.exit()
}
