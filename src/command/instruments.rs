//! Instruments by name, or out of a file of one's own.

use std::path::Path;

use slotwise::circuit::Circuit;
use slotwise::diagnosis::words;
use slotwise::instrument::{Instrument, file, presets};
use slotwise::report::ProblemReport;
use slotwise::report::read::usual_tester;

use super::names::misnamed;
use super::output::Failure;
use super::{Outcome, input};

/// The instruments that one `--with` names: a preset, or those of `FILE.ron`, or the one of
/// `FILE.ron:NAME`.
pub(super) fn instruments(name: &str) -> Result<Vec<Instrument>, Failure> {
    if let Some(preset) = presets::named(name) {
        return Ok(vec![preset]);
    }
    match in_file(name) {
        Some((path, wanted)) => read(path, wanted),
        None => Err(unknown(name)),
    }
}

/// The one instrument that a `--with` names; without it, the plug-in tester that goes with the
/// circuit.
pub(super) fn instrument(name: Option<&str>, circuit: &Circuit) -> Result<Instrument, Failure> {
    let Some(name) = name else { return Ok(usual_tester(circuit.parts().vocabulary)) };
    let mut found = instruments(name)?;
    match (found.pop(), found.as_slice()) {
        (Some(only), []) => Ok(only),
        (last, others) => {
            let all = others.iter().chain(&last);
            let all: Vec<String> = all.map(|one| format!("`{name}:{}`", one.name())).collect();
            Err(Failure::unusable(format!(
                "{name} holds several instruments: say which, {}",
                all.join(" or ")
            )))
        }
    }
}

/// A file's name, and the instrument in it that is meant, if `name` can be a file.
fn in_file(name: &str) -> Option<(&str, Option<&str>)> {
    if looks_like_file(name) {
        return Some((name, None));
    }
    let (path, wanted) = name.rsplit_once(':')?;
    looks_like_file(path).then_some((path, Some(wanted)))
}

fn looks_like_file(name: &str) -> bool {
    let path = Path::new(name);
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("ron")) || path.is_file()
}

fn read(path: &str, wanted: Option<&str>) -> Result<Vec<Instrument>, Failure> {
    let source = input::read_kind(path, input::Kind::Instruments)?;
    let mut found = match file::read(&source.text) {
        Ok(found) => found,
        Err(problems) => return Err(Failure::in_text(problems, source)),
    };
    let Some(wanted) = wanted else { return Ok(found) };
    match found.iter().position(|one| one.name() == wanted) {
        Some(at) => Ok(vec![found.swap_remove(at)]),
        None => {
            let names: Vec<&str> = found.iter().map(Instrument::name).collect();
            let message = format!("there is no instrument `{wanted}` in {path}");
            let report = misnamed(message, wanted, &names);
            Err(Failure::plain(
                Outcome::Unusable,
                ProblemReport { file: Some(path.to_owned()), ..report },
            ))
        }
    }
}

fn unknown(name: &str) -> Failure {
    let names: Vec<&str> = presets::names().collect();
    // What the trade calls it is nearer than what is spelt like it.
    let meant = words::preset_called(name).unwrap_or(name);
    let mut report = misnamed(format!("`{name}` is not an instrument"), meant, &names);
    report.found = Some(name.to_owned());
    let own = "or name a file of your own, FILE.ron or FILE.ron:NAME";
    report.help = report.help.map(|help| format!("{help}\n{own}"));
    Failure::plain(Outcome::Unusable, report)
}
