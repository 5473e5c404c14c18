//! `slotwise drill --count`: drills as data.
//!
//! The range of numbers is cut into parts of a fixed size. Threads make parts; parts are put out
//! in order, so that nothing depends on how many threads there are. In a folder each part is two
//! files, written under another name first; one that is there is whole and is not made again.

use std::ops::Range;
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};
use slotwise::drill::{Drill, Family, Wanted};
use slotwise::report::{DrillRow, Manifest, ReadingRow, json};

use super::Arguments;
use crate::command::Outcome;
use crate::command::output::{Failure, print, write_whole};

/// Drills in one part: large enough that its files are worth having, small enough that threads
/// share evenly and little is lost when a run is stopped.
const PART: u64 = 200;

/// The same where the data go to standard output, which waits for the first part.
const PART_PRINTED: u64 = 20;

/// The rows of one part.
struct Rows {
    readings: String,
    drills: String,
}

pub(super) fn run(
    arguments: &Arguments,
    family: &Family,
    wanted: &Wanted,
    count: u64,
) -> Result<Outcome, Failure> {
    let (data, first) = (&arguments.data, arguments.number);
    if !arguments.json && !data.csv {
        return Err(Failure::unusable("--count needs --json or --csv"));
    }
    let Some(end) = first.checked_add(count) else {
        return Err(Failure::unusable("there are no such drill numbers"));
    };
    let threads = data.threads.map_or_else(available, usize::from);
    let make = Maker { family, wanted, seed: arguments.seed, csv: data.csv };
    match &arguments.target.output {
        None => printed(&make, first..end, threads),
        Some(folder) => in_folder(&make, first..end, threads, folder),
    }
}

fn available() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Makes the rows of any part.
struct Maker<'f> {
    family: &'f Family,
    wanted: &'f Wanted,
    seed: u64,
    csv: bool,
}

impl Maker<'_> {
    fn rows(&self, numbers: Range<u64>, bar: &ProgressBar) -> Result<Rows, Failure> {
        let mut rows = Rows { readings: String::new(), drills: String::new() };
        for number in numbers {
            let drawn = Drill::draw(self.family, self.seed, number, self.wanted);
            let readings = drawn.as_ref().map_or_else(|_| Ok(Vec::new()), ReadingRow::of);
            // A drill whose readings have no answer in some load state is none.
            let (drawn, readings) = match (drawn, readings) {
                (Ok(_), Err(problem)) => (Err(problem), Vec::new()),
                (drawn, readings) => (drawn, readings.unwrap_or_default()),
            };
            rows.drills.push_str(&json::drill_row(&DrillRow::of(number, &drawn)));
            rows.readings.push_str(&self.lines(&readings)?);
            bar.inc(1);
        }
        Ok(rows)
    }

    fn lines(&self, rows: &[ReadingRow]) -> Result<String, Failure> {
        if !self.csv {
            return Ok(rows.iter().map(json::reading_row).collect());
        }
        let mut writer = csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
        for row in rows {
            writer.serialize(row).map_err(|error| cannot_write(&error))?;
        }
        let bytes = writer.into_inner().map_err(|error| cannot_write(&error))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// The line above the rows.
    fn header(&self) -> &'static str {
        if self.csv { "drill,kinds,faults,loads,tool,at,between,shows,value,unit\n" } else { "" }
    }
}

fn cannot_write(error: &dyn std::fmt::Display) -> Failure {
    Failure::unusable(format!("cannot write the data: {error}"))
}

/// Makes parts by several threads and hands them on in order; a part that is not wanted is
/// counted and not made.
fn in_order(
    make: &Maker<'_>,
    parts: &[Range<u64>],
    threads: usize,
    wanted: impl Fn(&Range<u64>) -> bool,
    mut take: impl FnMut(&Range<u64>, Rows) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let length = |part: &Range<u64>| part.end - part.start;
    let bar = progress(parts.iter().map(length).sum());
    let (open, done): (Vec<_>, Vec<_>) = parts.iter().partition(|part| wanted(part));
    bar.inc(done.iter().map(|part| length(part)).sum());
    for round in open.chunks(threads.max(1)) {
        let made: Vec<Result<Rows, Failure>> = std::thread::scope(|scope| {
            let bar = &bar;
            let start = |part: &&Range<u64>| {
                let part = Range::clone(part);
                scope.spawn(move || make.rows(part, bar))
            };
            let running: Vec<_> = round.iter().map(start).collect();
            let lost = || Failure::unusable("a thread was lost");
            running.into_iter().map(|one| one.join().unwrap_or_else(|_| Err(lost()))).collect()
        });
        for (part, rows) in round.iter().zip(made) {
            take(part, rows?)?;
        }
    }
    bar.finish_and_clear();
    Ok(())
}

/// A bar on standard error, if that is a terminal.
fn progress(count: u64) -> ProgressBar {
    let style = ProgressStyle::with_template("{bar:40} {pos}/{len} drills, {eta} left");
    let bar = ProgressBar::new(count);
    match style {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

fn parts(numbers: &Range<u64>, size: u64) -> Vec<Range<u64>> {
    let mut parts = Vec::new();
    let mut start = numbers.start;
    while start < numbers.end {
        let end = start.saturating_add(size).min(numbers.end);
        parts.push(start..end);
        start = end;
    }
    parts
}

fn printed(make: &Maker<'_>, numbers: Range<u64>, threads: usize) -> Result<Outcome, Failure> {
    print(make.header())?;
    let parts = parts(&numbers, PART_PRINTED);
    in_order(make, &parts, threads, |_| true, |_, rows| print(&rows.readings))?;
    Ok(Outcome::Done)
}

/// A folder of files, of which those that are there are kept.
fn in_folder(
    make: &Maker<'_>,
    numbers: Range<u64>,
    threads: usize,
    folder: &Path,
) -> Result<Outcome, Failure> {
    let says = |path: &Path, error: std::io::Error| {
        Failure::unusable(format!("cannot write `{}`: {error}", path.display()))
    };
    std::fs::create_dir_all(folder).map_err(|error| says(folder, error))?;
    let parts = parts(&numbers, PART);
    let kind = if make.csv { "csv" } else { "jsonl" };
    let readings = |part: &Range<u64>| format!("readings-{}-{}.{kind}", part.start, part.end - 1);
    let drills = |part: &Range<u64>| format!("drills-{}-{}.jsonl", part.start, part.end - 1);
    let files = (parts.iter().map(readings).collect(), parts.iter().map(drills).collect());
    let range = (numbers.start, numbers.end - numbers.start);
    let manifest = Manifest::new(make.family, make.seed, range, make.wanted, files);
    let name = format!("manifest-{}-{}.json", numbers.start, numbers.end - 1);
    manifest_stands(&folder.join(name), &json::manifest(&manifest))?;
    for part in &parts {
        for name in [readings(part), drills(part)] {
            sweep(folder, &name).map_err(|error| says(folder, error))?;
        }
    }
    let path = |name: String| -> PathBuf { folder.join(name) };
    // The drills of a part are written last: where they are, the readings are.
    let open = |part: &Range<u64>| !path(drills(part)).exists();
    in_order(make, &parts, threads, open, |part, rows| {
        let text = format!("{}{}", make.header(), rows.readings);
        for (name, text) in [(readings(part), text), (drills(part), rows.drills)] {
            let path = path(name);
            write_whole(&path, &text, true).map_err(|error| says(&path, error))?;
        }
        Ok(())
    })?;
    Ok(Outcome::Done)
}

/// Takes away what a run that was killed while it wrote this file left behind.
fn sweep(folder: &Path, name: &str) -> std::io::Result<()> {
    let (start, end) = (format!(".{name}."), ".part");
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let left = entry.file_name().to_string_lossy().into_owned();
        if left.starts_with(&start) && left.ends_with(end) {
            std::fs::remove_file(entry.path())?;
        }
    }
    Ok(())
}

/// Writes the manifest, or finds the same one there. Another one there means other data.
fn manifest_stands(path: &Path, text: &str) -> Result<(), Failure> {
    match std::fs::read_to_string(path) {
        Ok(there) if there == text => Ok(()),
        Ok(_) => Err(Failure::unusable(format!(
            "`{}` is of other data; name another folder",
            path.display()
        ))),
        Err(_) => write_whole(path, text, false).map_err(|error| {
            Failure::unusable(format!("cannot write `{}`: {error}", path.display()))
        }),
    }
}
