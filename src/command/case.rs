//! A circuit file opened, and the condition asked for put together.

use slotwise::circuit::file::{self, CircuitFile};
use slotwise::condition::Condition;
use slotwise::report::ReportError;

use super::arguments::ConditionWords;
use super::diagnostics;
use super::input::{self, Source};
use super::output::Failure;

/// A circuit file that could be read.
pub(super) struct Opened {
    pub(super) source: Source,
    pub(super) file: CircuitFile,
}

impl Opened {
    /// Reads a circuit file; what is wrong or doubtful about it is said on standard error.
    pub(super) fn open(name: &str) -> Result<Self, Failure> {
        let source = input::read(name)?;
        match file::read(&source.text) {
            Ok(file) => {
                diagnostics::show(&file.notes, &source);
                Ok(Self { source, file })
            }
            Err(problems) => {
                diagnostics::show(&problems, &source);
                Err(Failure::told())
            }
        }
    }
}

/// Says why there is no report.
pub(super) fn no_report(error: ReportError) -> Failure {
    Failure::problem(format!("slotwise: {error}"))
}
