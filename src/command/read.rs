//! `slotwise read`

use slotwise::draw::Scene;
use slotwise::quantity::Address;
use slotwise::report::text::Emphasis;
use slotwise::report::{Asked, ReadReport, json, text};

use super::Outcome;
use super::arguments::Read;
use super::case::{Opened, no_report};
use super::instruments::instruments;
use super::output::{Failure, deliver, emphasis, print};

pub(super) fn run(arguments: &Read) -> Result<Outcome, Failure> {
    let opened = Opened::open(&arguments.case.file)?;
    let mut asked = Asked {
        at: arguments.at.iter().map(|typed| Address::from(typed.as_str())).collect(),
        currents: arguments.currents,
        before_trips: arguments.before_trips,
        with: Vec::new(),
    };
    let condition = opened.condition(&arguments.case.condition).map_err(|failure| {
        // What else is wrong with the call is said in the same go.
        failure.and(Failure::unknown(&asked.unknown_names(&opened.file.circuit)))
    })?;
    for name in &arguments.with {
        asked.with.extend(instruments(name)?);
    }
    if arguments.html {
        let scene = Scene::asking(&opened.file.circuit, &condition, &asked).map_err(no_report)?;
        deliver(&scene.page(), &arguments.target)?;
        return Ok(Outcome::Done);
    }
    let report = ReadReport::new(&opened.file.circuit, &condition, &asked).map_err(no_report)?;
    match (arguments.json, &arguments.target.output) {
        (true, _) => deliver(&json::read(&report), &arguments.target)?,
        // No marks for the eye in a file.
        (false, Some(_)) => deliver(&text::read(&report, Emphasis::PLAIN), &arguments.target)?,
        (false, None) => print(&text::read(&report, emphasis()))?,
    }
    Ok(Outcome::Done)
}
