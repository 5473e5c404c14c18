//! `slotwise why`

use slotwise::quantity::Address;
use slotwise::report::{WhyReport, json, text};

use super::Outcome;
use super::arguments::Why;
use super::case::{Opened, no_report};
use super::output::{Failure, emphasis, print};

pub(super) fn run(arguments: &Why) -> Result<Outcome, Failure> {
    let opened = Opened::open(&arguments.file)?;
    let condition = opened.condition(&arguments.condition)?;
    let address = Address::from(arguments.address.as_str());
    let report = WhyReport::new(&opened.file.circuit, &condition, &address).map_err(no_report)?;
    print(&match arguments.json {
        true => json::why(&report),
        false => text::why(&report, emphasis()),
    })?;
    Ok(Outcome::Done)
}
