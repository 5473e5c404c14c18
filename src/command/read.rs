//! `slotwise read`

use slotwise::quantity::Address;
use slotwise::report::{Asked, ReadReport, json, text};

use super::Outcome;
use super::arguments::Read;
use super::case::{Opened, no_report};
use super::output::{Failure, emphasis, print};

pub(super) fn run(arguments: &Read) -> Result<Outcome, Failure> {
    let opened = Opened::open(&arguments.case.file)?;
    let condition = opened.condition(&arguments.case.condition)?;
    let asked = Asked {
        at: arguments.at.iter().map(|typed| Address::from(typed.as_str())).collect(),
        currents: arguments.currents,
        before_trips: arguments.before_trips,
    };
    let report = ReadReport::new(&opened.file.circuit, &condition, &asked).map_err(no_report)?;
    print(&match arguments.json {
        true => json::read(&report),
        false => text::read(&report, emphasis()),
    })?;
    Ok(Outcome::Done)
}
