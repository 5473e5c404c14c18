//! Standard output and what can go wrong with it.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::Path;

use super::Outcome;
use super::arguments::Target;

/// Why a command stopped before it was done.
#[derive(Debug)]
pub(super) enum Failure {
    /// The reader of our output went away, as `head` does: nothing to say.
    ReaderGone,
    /// Something to say on standard error, and how the run ended.
    Said(Outcome, String),
}

impl Failure {
    /// A file or call that cannot be used.
    pub(super) fn unusable(message: impl Into<String>) -> Self {
        Self::Said(Outcome::Unusable, message.into())
    }

    /// A problem in a circuit or condition.
    pub(super) fn problem(message: impl Into<String>) -> Self {
        Self::Said(Outcome::Problems, message.into())
    }

    /// Problems that have been rendered already.
    pub(super) fn told() -> Self {
        Self::Said(Outcome::Problems, String::new())
    }

    /// Says all of these but the last, which is left to be said; the command has failed if there is
    /// one.
    pub(super) fn all(mut failures: Vec<Self>) -> Result<(), Self> {
        let Some(last) = failures.pop() else { return Ok(()) };
        for one in failures {
            one.report();
        }
        Err(last)
    }

    /// Says it on standard error.
    pub(super) fn report(self) -> Outcome {
        match self {
            Self::ReaderGone => Outcome::Done,
            Self::Said(outcome, message) => {
                if !message.is_empty() {
                    talk(&message);
                }
                outcome
            }
        }
    }
}

/// Prints a result.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    let mut out = anstream::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    written.map_err(|error| match error.kind() {
        ErrorKind::BrokenPipe => Failure::ReaderGone,
        _ => Failure::unusable(format!("slotwise: cannot write the result: {error}")),
    })
}

/// Prints a result, or writes it to the file asked for: whole or not at all, and over an
/// existing file only if asked to.
pub(super) fn deliver(text: &str, target: &Target) -> Result<(), Failure> {
    let Some(file) = &target.output else { return print(text) };
    write_whole(file, text, target.force).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => Failure::unusable(format!(
            "slotwise: there is a file `{}` already; --force replaces it",
            file.display()
        )),
        _ => Failure::unusable(format!("slotwise: cannot write `{}`: {error}", file.display())),
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
