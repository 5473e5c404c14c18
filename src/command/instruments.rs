//! Instruments by name, or out of a file of one's own.

use std::path::Path;

use slotwise::circuit::Circuit;
use slotwise::instrument::{Instrument, file, presets};
use slotwise::report::read::usual_tester;

use super::diagnostics;
use super::input;
use super::output::Failure;

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
                "slotwise: {name} holds several instruments: say which, {}",
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
    let mut found = file::read(&source.text).map_err(|problems| {
        diagnostics::show(&problems, &source);
        Failure::told()
    })?;
    let Some(wanted) = wanted else { return Ok(found) };
    match found.iter().position(|one| one.name() == wanted) {
        Some(at) => Ok(vec![found.swap_remove(at)]),
        None => {
            let names: Vec<&str> = found.iter().map(Instrument::name).collect();
            Err(Failure::unusable(format!(
                "slotwise: there is no instrument `{wanted}` in {path}{}\n  there are: {}",
                did_you_mean(wanted, names.iter().copied()),
                names.join(", ")
            )))
        }
    }
}

fn unknown(name: &str) -> Failure {
    let names: Vec<&str> = presets::names().collect();
    Failure::unusable(format!(
        "slotwise: `{name}` is not an instrument{}\n  there are: {}\n  or name a file of your own, \
         FILE.ron or FILE.ron:NAME",
        did_you_mean(name, presets::names()),
        names.join(", ")
    ))
}

fn did_you_mean<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> String {
    known
        .max_by(|a, b| strsim::jaro_winkler(name, a).total_cmp(&strsim::jaro_winkler(name, b)))
        .filter(|near| strsim::jaro_winkler(name, near) > NEAR)
        .map_or(String::new(), |near| format!("; did you mean `{near}`?"))
}

/// Likeness, 0 to 1, from which on a name is taken for a misspelling.
const NEAR: f64 = 0.75;
