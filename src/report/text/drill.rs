//! Sheets and keys of drills as text.

use crate::report::caution::CAUTION;
use crate::report::drill::{
    KeyReport, ReadingLine, SheetReport, WayReport, WayStep, place_in_words,
};
use crate::report::vocabulary::{Term, term};

use super::Emphasis;
use super::hazards::hazards;
use super::layout::{label, left, wrapped};

/// The student's sheet in 80 columns.
///
/// ```
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::{SheetReport, text};
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let sheet = text::sheet(&SheetReport::new(&drill), text::Emphasis::PLAIN);
/// assert!(sheet.lines().all(|line| line.chars().count() <= 80));
/// ```
pub fn sheet(report: &SheetReport, emphasis: Emphasis) -> String {
    format!("{}\n{}", sheet_body(report, emphasis), wrapped("", CAUTION))
}

/// The sheet without the caution, for where that has been said.
pub fn sheet_body(report: &SheetReport, emphasis: Emphasis) -> String {
    let Emphasis { heading, off, .. } = emphasis;
    let mut text = format!("{heading}{}{off}\n{}\n", report.title, report.drill);
    text.push_str(&format!("\n{heading}The call{off}\n"));
    for said in &report.call {
        text.push_str(&wrapped("  ", &format!("\"{said}\"")));
    }
    let panel = term(report.vocabulary, Term::Panel);
    text.push_str(&format!("\n{heading}The circuit, wired in {}{off}\n", report.wired_in));
    text.push_str(&wrapped("  ", &format!("Supply: {}.", report.supply)));
    text.push_str(&wrapped("  ", &format!("At the {panel}: {}.", report.breakers.join("; "))));
    for known in &report.boxes {
        let rest = format!("{} from {}", left(&known.length, 8), left(&known.from, 17));
        text.push_str(&format!("{}{rest}  {}\n", label("  ", &known.name, 16), known.holds));
    }
    if !report.loads.is_empty() {
        text.push_str(&format!("\n{heading}Plugged in and wired in{off}\n"));
    }
    for load in &report.loads {
        let state = if load.on { "on" } else { "off" };
        let rest =
            format!("{}{}{}", left(state, 5), left(&load.rating, 15), place_in_words(&load.at));
        text.push_str(&format!("{}{rest}\n", label("  ", &load.name, 22)));
    }
    text.push_str(&format!("\n{heading}Read so far, {}{off}\n", report.read_when));
    text.push_str(&reading_lines(&report.readings));
    text.push_str(&format!("\n{heading}Find{off}\n"));
    text.push_str(&wrapped(
        "  ",
        "what is wrong, in which conductor, at which joint of which box; which test comes next, \
         and what each outcome of it would mean.",
    ));
    text
}

/// The answer key in 80 columns.
///
/// ```
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::{KeyReport, text};
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let key = text::key(&KeyReport::new(&drill)?, text::Emphasis::PLAIN);
/// assert!(key.contains("Answer key"));
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
pub fn key(report: &KeyReport, emphasis: Emphasis) -> String {
    format!("{}\n{}", key_body(report, emphasis), wrapped("", CAUTION))
}

/// The key without the caution, for where that has been said.
pub fn key_body(report: &KeyReport, emphasis: Emphasis) -> String {
    let Emphasis { heading, off, .. } = emphasis;
    let mut text = format!("{heading}Answer key: {}{off}\n{}\n", report.title, report.drill);
    if !report.hazards.is_empty() {
        text.push_str(&format!("\n{heading}HAZARDS{off}\n"));
    }
    text.push_str(&hazards(&report.hazards, emphasis));
    text.push_str(&format!("\n{heading}What is wrong{off}\n"));
    for (number, fault) in report.faults.iter().enumerate() {
        text.push_str(&wrapped(&format!("  {}  ", number + 1), &fault.says));
        text.push_str(&wrapped("     ", &format!("{}; {}", fault.means, fault.to_do)));
        if let Some(said) = also_right(fault.also_right.as_deref()) {
            text.push_str(&wrapped("     ", &said));
        }
    }
    if !report.protection.is_empty() {
        text.push_str(&format!("\n{heading}What trips{off}\n"));
        report.protection.iter().for_each(|said| text.push_str(&wrapped("  ", said)));
    }
    text.push_str(&format!("\n{heading}Why the readings come out so{off}\n"));
    if report.why.is_empty() {
        text.push_str(&wrapped(
            "  ",
            "No slot of any receptacle is more than 5 V from where it should be: what is wrong \
             shows under load, or not at all.",
        ));
    }
    report.why.iter().for_each(|why| text.push_str(&wrapped("  ", &why.says)));
    text.push_str(&wrapped("  ", &report.misleads));
    text.push_str(&format!("\n{heading}To read it all again{off}\n"));
    text.push_str(&wrapped("  ", READ_AGAIN));
    // A line for each, since a line break in a sentence ends it.
    for said in &report.read_in {
        text.push_str(&format!("    {said}\n"));
    }
    let Some(way) = &report.way else { return text };
    text.push_str(&format!("\n{heading}The computed way from the sheet on{off}\n"));
    for (number, step) in way.steps.iter().enumerate() {
        for danger in &step.dangers {
            let alarmed = wrapped("  DANGER  ", danger);
            let Emphasis { alarm, off, .. } = emphasis;
            text.push_str(&alarmed.replacen("DANGER", &format!("{alarm}DANGER{off}"), 1));
        }
        text.push_str(&wrapped(&format!("  {:<4}", number + 1), &step_says(step)));
    }
    text.push_str(&wrapped("  ", &way_ends(way)));
    text
}

/// Above the condition in which a drill was read.
pub(crate) const READ_AGAIN: &str = "`slotwise drill --circuit` with the same options gives the \
                                     circuit file, and `slotwise read FILE --before-trips` with \
                                     these sentences every reading of the sheet:";

/// What counts as right too, if anything does.
pub(crate) fn also_right(alike: Option<&[String]>) -> Option<String> {
    let said = by_place(alike.filter(|alike| !alike.is_empty())?).join("; ");
    Some(format!("taken as right too, since nothing at a receptacle tells it: {said}"))
}

/// Sentences that differ in the place alone, as one: `bootleg ground at sink or bench`.
fn by_place(sentences: &[String]) -> Vec<String> {
    let mut said: Vec<(&str, Vec<&str>, &str)> = Vec::new();
    for sentence in sentences {
        let end_of = |word: &&str| sentence.find(*word).map(|start| start + word.len());
        let end = [" at ", " in cable "].iter().find_map(end_of).unwrap_or(sentence.len());
        let (what, at) = sentence.split_at(end);
        let (place, rest) = at.split_at(at.find([',', ' ']).unwrap_or(at.len()));
        match said.iter_mut().find(|(known, _, end)| (*known, *end) == (what, rest)) {
            Some((_, places, _)) => places.push(place),
            None => said.push((what, vec![place], rest)),
        }
    }
    let one = |(what, places, rest): &(&str, Vec<&str>, &str)| {
        format!("{what}{}{rest}", places.join(" or "))
    };
    said.iter().map(one).collect()
}

/// A step with what comes of it and what it costs.
pub(crate) fn step_says(step: &WayStep) -> String {
    // A sentence of its own has its full stop.
    let says = step.says.trim_end_matches('.');
    match step.comes_of_it.as_str() {
        "" => format!("{says}."),
        comes => format!("{says}: {comes} ({:.0} s)", step.cost_second),
    }
}

/// What it comes to.
pub(crate) fn way_ends(way: &WayReport) -> String {
    let found = if way.found { "" } else { ", and not everything is found" };
    let minutes = if (way.minutes - 1.0).abs() < 0.01 { "minute" } else { "minutes" };
    format!(
        "{} {minutes} in all{found}. From the sheet alone the true place had {:.0} in 100. \
         Difficulty: {}.",
        way.minutes,
        way.sheet_share * 100.0,
        way.band.name()
    )
}

/// A line for each instrument at each receptacle.
pub(super) fn reading_lines(readings: &[ReadingLine]) -> String {
    let one = |line: &ReadingLine| {
        let at = place_in_words(&line.at);
        wrapped(&format!("  {}{}", left(&line.tool, 14), left(&at, 16)), &line.shows)
    };
    readings.iter().map(one).collect()
}
