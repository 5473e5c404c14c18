//! Standard output and what can go wrong with it.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::Path;

use slotwise::circuit::UnknownName;
use slotwise::circuit::diagnostic::Diagnostic;
use slotwise::report::{ProblemReport, ProblemsReport, json};

use super::arguments::Target;
use super::input::Source;
use super::{Outcome, diagnostics};

/// Why a command stopped before it was done.
#[derive(Debug)]
pub(super) enum Failure {
    /// The reader of our output went away, as `head` does: nothing to say.
    ReaderGone,
    /// How the run ended, and what is to be said of it.
    Said(Outcome, Vec<Problem>),
}

/// One thing to say, or all that is wrong with one text.
#[derive(Debug)]
pub(super) enum Problem {
    /// It stands in no text.
    Plain(Box<ProblemReport>),
    /// Shown in the text.
    InText(Vec<Diagnostic>, Source),
}

/// How problems are said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Manner {
    /// In words, on standard error.
    Words,
    /// As JSON on standard output too.
    Json,
    /// As one line of JSON there.
    JsonLine,
}

impl Failure {
    /// A file or call that cannot be used.
    pub(super) fn unusable(message: impl Into<String>) -> Self {
        Self::plain(Outcome::Unusable, ProblemReport::new(message))
    }

    /// A file that cannot be used.
    pub(super) fn unusable_file(file: &str, message: impl Into<String>) -> Self {
        let file = Some(file.to_owned());
        Self::plain(Outcome::Unusable, ProblemReport { file, ..ProblemReport::new(message) })
    }

    /// A problem in a circuit or condition.
    pub(super) fn problem(message: impl Into<String>) -> Self {
        Self::plain(Outcome::Problems, ProblemReport::new(message))
    }

    /// Names that are not in the circuit.
    pub(super) fn unknown<'n>(names: impl IntoIterator<Item = &'n UnknownName>) -> Self {
        let plain = |name| Problem::Plain(Box::new(ProblemReport::from(name)));
        Self::Said(Outcome::Problems, names.into_iter().map(plain).collect())
    }

    pub(super) fn plain(outcome: Outcome, report: ProblemReport) -> Self {
        Self::Said(outcome, vec![Problem::Plain(Box::new(report))])
    }

    /// Problems found in a text.
    pub(super) fn in_text(problems: impl Into<Vec<Diagnostic>>, source: Source) -> Self {
        Self::Said(Outcome::Problems, vec![Problem::InText(problems.into(), source)])
    }

    /// All of these as one, which ends as the last does; the command has failed if there is one.
    pub(super) fn all(failures: Vec<Self>) -> Result<(), Self> {
        let mut all = Vec::new();
        let mut ended = None;
        for failure in failures {
            match failure {
                Self::ReaderGone => return Err(Self::ReaderGone),
                Self::Said(outcome, said) => {
                    all.extend(said);
                    ended = Some(outcome);
                }
            }
        }
        ended.map_or(Ok(()), |outcome| Err(Self::Said(outcome, all)))
    }

    /// The same with another said after it.
    pub(super) fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::Said(outcome, mut said), Self::Said(_, more)) => {
                said.extend(more);
                Self::Said(outcome, said)
            }
            _ => Self::ReaderGone,
        }
    }

    /// Says it on standard error, and as JSON where the result would have been if that was asked
    /// for.
    pub(super) fn report(self, manner: Manner) -> Outcome {
        let Self::Said(outcome, said) = self else { return Outcome::Done };
        for problem in &said {
            problem.talk();
        }
        let report =
            || ProblemsReport { problems: said.iter().flat_map(Problem::report).collect() };
        let written = match manner {
            Manner::Words => Ok(()),
            Manner::Json => print(&json::problems(&report())),
            Manner::JsonLine => print(&json::problems_line(&report())),
        };
        // It has been said in words: if nobody reads the JSON, nobody is left to tell.
        drop(written);
        outcome
    }
}

impl Problem {
    fn talk(&self) {
        match self {
            Self::InText(problems, source) => diagnostics::show(problems, source),
            Self::Plain(problem) => {
                let more = problem.help.iter().flat_map(|help| help.lines());
                let more: String = more.map(|line| format!("\n  {line}")).collect();
                talk(&format!("slotwise: {}{more}", problem.message));
            }
        }
    }

    fn report(&self) -> Vec<ProblemReport> {
        match self {
            Self::InText(problems, source) => {
                ProblemsReport::of_text(problems, source.file.as_deref(), &source.text).problems
            }
            Self::Plain(problem) => vec![(**problem).clone()],
        }
    }
}

/// Prints a result.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    let mut out = anstream::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    written.map_err(|error| match error.kind() {
        ErrorKind::BrokenPipe => Failure::ReaderGone,
        _ => Failure::unusable(format!("cannot write the result: {error}")),
    })
}

/// Prints a result, or writes it to the file asked for: whole or not at all, and over an
/// existing file only if asked to.
pub(super) fn deliver(text: &str, target: &Target) -> Result<(), Failure> {
    let Some(file) = &target.output else { return print(text) };
    write_whole(file, text, target.force).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => Failure::unusable(format!(
            "there is a file `{}` already; --force replaces it",
            file.display()
        )),
        _ => Failure::unusable(format!("cannot write `{}`: {error}", file.display())),
    })
}

/// Writes a file under another name and gives it its own when it is whole.
pub(super) fn write_whole(file: &Path, text: &str, replace: bool) -> std::io::Result<()> {
    // Said before the work: a link refuses it again at the end.
    if !replace && file.symlink_metadata().is_ok() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    let name = file.file_name().ok_or(ErrorKind::InvalidInput)?.to_string_lossy();
    let draft = file.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let written = write_new(&draft, text).and_then(|()| match replace {
        true => std::fs::rename(&draft, file),
        false => put_in_place(&draft, file),
    });
    if written.is_err() {
        // The first error is the one to tell.
        let _ = std::fs::remove_file(&draft);
    }
    written
}

fn write_new(file: &Path, text: &str) -> std::io::Result<()> {
    let mut out = OpenOptions::new().write(true).create_new(true).open(file)?;
    out.write_all(text.as_bytes())?;
    out.sync_all()
}

/// Gives a finished file its name unless another has it: a link never replaces. Where the file
/// system knows no links, a rename does.
fn put_in_place(draft: &Path, file: &Path) -> std::io::Result<()> {
    match std::fs::hard_link(draft, file) {
        Ok(()) => std::fs::remove_file(draft),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Err(error),
        Err(_) => std::fs::rename(draft, file),
    }
}

/// Says something that is no result.
pub(super) fn talk(text: &str) {
    // When nobody listens on standard error there is nobody to tell.
    let _ = writeln!(anstream::stderr().lock(), "{}", text.trim_end());
}

/// Marks for the eye; they are taken out again where standard output shows none.
pub(super) fn emphasis() -> slotwise::report::text::Emphasis {
    slotwise::report::text::Emphasis::ANSI
}
