//! `slotwise draw`

use slotwise::draw::Scene;

use super::Outcome;
use super::arguments::Draw;
use super::case::{Opened, no_report};
use super::output::{Failure, deliver};

pub(super) fn run(arguments: &Draw) -> Result<Outcome, Failure> {
    let opened = Opened::open(&arguments.case.file)?;
    let condition = opened.condition(&arguments.case.condition)?;
    let scene = Scene::new(&opened.file.circuit, &condition).map_err(no_report)?;
    let picture = match arguments.profile {
        true => scene.profile(arguments.to.as_deref()).map_err(|e| no_report(e.into()))?,
        false => scene.run(),
    };
    deliver(&picture.svg(), &arguments.target)?;
    Ok(Outcome::Done)
}
