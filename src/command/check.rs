//! `slotwise check`

use slotwise::report::{CheckReport, json, text};

use super::Outcome;
use super::arguments::Check;
use super::case::Opened;
use super::output::{Failure, emphasis, print};

pub(super) fn run(arguments: &Check) -> Result<Outcome, Failure> {
    let opened = Opened::open(&arguments.file)?;
    let conditions = opened.named_conditions()?;
    let report = CheckReport::new(&opened.file.circuit, &conditions);
    print(&match arguments.json {
        true => json::check(&report),
        false => text::check(&report, emphasis()),
    })?;
    Ok(Outcome::Done)
}
