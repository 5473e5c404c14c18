//! Standard output and what can go wrong with it.

use std::io::Write;

use super::Outcome;

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
        std::io::ErrorKind::BrokenPipe => Failure::ReaderGone,
        _ => Failure::unusable(format!("slotwise: cannot write the result: {error}")),
    })
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
