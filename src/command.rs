//! Only this room reads files and prints. Results go to standard output, everything said about
//! the way there to standard error.

use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches};

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
    // Clap ends the process itself: 0 after help or version, 2 after a wrong call.
    let matches = Arguments::command().get_matches();
    let arguments = Arguments::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
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
        Err(failure) => failure.report().into(),
    }
}
