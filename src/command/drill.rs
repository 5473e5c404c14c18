//! `slotwise drill`

use std::path::Path;

use slotwise::condition::catalogue::FaultKind;
use slotwise::draw::{key_page, sheet_page};
use slotwise::drill::{Band, Drill, DrillProblem, Family, Wanted};
use slotwise::report::text::Emphasis;
use slotwise::report::{KeyReport, SheetReport, json, text};

use super::Outcome;
use super::case::no_report;
use super::input;
use super::names::misnamed;
use super::output::{Failure, deliver, emphasis, print};

mod arguments;
mod dataset;
mod live;

pub(super) use arguments::Drill as Arguments;

/// Name and text of a family of `circuits/families/`.
macro_rules! family {
    ($name:literal) => {
        ($name, include_str!(concat!("../../circuits/families/", $name, ".ron")))
    };
}

/// The families that come with the program.
const FAMILIES: &[(&str, &str)] =
    &[family!("workshops"), family!("houses"), family!("halls"), family!("two-wire-cottages")];

pub(super) fn run(arguments: &Arguments) -> Result<Outcome, Failure> {
    if arguments.list {
        let line = |(name, text): &(&str, &str)| format!("{name:<20}{}\n", about(text));
        print(&FAMILIES.iter().map(line).collect::<String>())?;
        return Ok(Outcome::Done);
    }
    if arguments.quick && !arguments.key && !arguments.live {
        return Err(Failure::unusable("--quick goes with --key or --live"));
    }
    let family = open(&arguments.family)?;
    let wanted = wanted(&arguments.wanted)?;
    if let Some(count) = arguments.data.count {
        return dataset::run(arguments, &family, &wanted, count);
    }
    let drill =
        Drill::draw(&family, arguments.seed, arguments.number, &wanted).map_err(no_drill)?;
    if arguments.live {
        return live::run(drill, arguments.quick);
    }
    deliver(&written(&drill, arguments)?, &arguments.target)?;
    Ok(Outcome::Done)
}

/// One drill in the form asked for.
fn written(drill: &Drill, arguments: &Arguments) -> Result<String, Failure> {
    // No marks for the eye in a file.
    let marks = if arguments.target.output.is_some() { Emphasis::PLAIN } else { emphasis() };
    Ok(match (arguments.key, arguments.html, arguments.json) {
        _ if arguments.circuit => drill.circuit_file.clone(),
        (false, true, _) => sheet_page(drill).map_err(no_report)?,
        (true, true, _) => key_page(drill, &key(drill, arguments.quick)?).map_err(no_report)?,
        (false, _, true) => json::sheet(&SheetReport::new(drill)),
        (true, _, true) => json::key(&key(drill, arguments.quick)?),
        (false, ..) => text::sheet(&SheetReport::new(drill), marks),
        (true, ..) => text::key(&key(drill, arguments.quick)?, marks),
    })
}

/// The answer key, with what is taken as right too and the computed way unless they are to be left out.
fn key(drill: &Drill, quick: bool) -> Result<KeyReport, Failure> {
    let key = KeyReport::new(drill).map_err(no_report)?;
    if quick {
        return Ok(key);
    }
    key.with_also_right(drill).and_then(|key| key.with_way(drill)).map_err(no_report)
}

/// A family that comes with the program, or one in a file.
fn open(name: &str) -> Result<Family, Failure> {
    let known = FAMILIES.iter().find(|(known, _)| *known == name);
    let source = match known {
        Some((name, text)) => {
            input::Source { name: (*name).to_owned(), file: None, text: (*text).to_owned() }
        }
        None if name != "-" && !Path::new(name).exists() => {
            let names: Vec<&str> = FAMILIES.iter().map(|&(name, _)| name).collect();
            let message = format!("there is no family and no file `{name}`");
            let report = misnamed(message, name, &names);
            return Err(Failure::plain(Outcome::Unusable, report));
        }
        None => input::read(name)?,
    };
    Family::read(&source.text).map_err(|problems| Failure::in_text(problems, source))
}

fn wanted(asked: &arguments::Wanted) -> Result<Wanted, Failure> {
    let kind = |name: &String| {
        let known = FaultKind::all().iter().copied().find(|kind| kind.code() == name);
        known.ok_or_else(|| {
            let names: Vec<&str> = FaultKind::all().iter().map(|kind| kind.code()).collect();
            let message = format!("`{name}` is not a kind of fault");
            Failure::plain(Outcome::Unusable, misnamed(message, name, &names))
        })
    };
    Ok(Wanted {
        faults: asked.faults.map(usize::from),
        kinds: asked.kinds.iter().map(kind).collect::<Result<_, Failure>>()?,
        hiding: asked.hiding,
        band: asked.difficulty.as_deref().and_then(Band::named),
    })
}

fn no_drill(problem: DrillProblem) -> Failure {
    Failure::problem(problem.to_string())
}

/// The first line of a family's comment says what it is.
fn about(text: &str) -> &str {
    let first = text.lines().next().unwrap_or_default();
    first.split_once(": ").map_or(first, |(_name, what)| what)
}
