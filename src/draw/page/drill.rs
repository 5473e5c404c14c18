//! Pages of a drill: the student's sheet and the answer key.

use maud::{Markup, html};

use crate::condition::Condition;
use crate::draw::glyph::clean;
use crate::draw::{Scene, legend, profile, run, source};
use crate::drill::Drill;
use crate::report::drill::{KnownBox, as_read, place_in_words};
use crate::report::text::{READ_AGAIN, also_right, step_says, way_ends};
use crate::report::vocabulary::{Term, term};
use crate::report::{CAUTION, KeyReport, ReportError, SheetReport, WayReport};

use super::table::{Cell, Table};
use super::{Kind, Section, figure, hazards, picture, protection, shell};

/// The student's sheet as a page to print: what is known, what was read, and the run as it
/// should be, to write on.
///
/// ```
/// use slotwise::draw::sheet_page;
/// use slotwise::drill::{Drill, Family, Wanted};
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let page = sheet_page(&drill)?;
/// assert!(page.starts_with("<!DOCTYPE html>") && page.contains("The call"));
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
///
/// # Errors
///
/// The circuit with nothing wrong has no answer that can be trusted; that of a drill has one.
pub fn sheet_page(drill: &Drill) -> Result<String, ReportError> {
    let report = SheetReport::new(drill);
    let sound = Condition::default();
    let scene = Scene::new(&drill.circuit, &sound)?;
    let run =
        source::with_source_in_use(&scene, |source, words| words.beside(run::body(source, words)));
    let sections = [
        text("The call", call(&report)),
        text("The circuit", known(&report)),
        text("Read so far", readings(&report)),
        text("Your reading of it", questions()),
        picture("The run as it was installed, with nothing wrong".to_owned(), &run, "run"),
        text("How to read the picture", figure(&legend::picture(report.vocabulary), "legend")),
    ];
    let main = html! {
        p { (report.drill) }
        p.caution role="note" { (CAUTION) }
        @for section in &sections { (section.markup()) }
    };
    Ok(shell(&report.title, &main))
}

/// The answer key as a page to print: what is wrong, its dangers, why the readings come out so,
/// and the run with it.
///
/// ```
/// use slotwise::draw::key_page;
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::KeyReport;
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let key = KeyReport::new(&drill)?;
/// assert!(key_page(&drill, &key)?.contains("What is wrong"));
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
///
/// # Errors
///
/// The network has no answer that can be trusted; that of a drill has one.
pub fn key_page(drill: &Drill, report: &KeyReport) -> Result<String, ReportError> {
    let (standing, _) = drill.as_read()?;
    let scene = Scene::asking(&drill.circuit, &standing, &as_read())?;
    let mut sections = vec![
        text("What is wrong", wrong(report)),
        text("Why the readings come out so", why(report)),
        text("To read it all again", read_again(report)),
    ];
    sections.extend(
        report.way.as_ref().map(|taken| text("The computed way from the sheet on", way(taken))),
    );
    source::with_source_in_use(&scene, |source, words| {
        let run = words.beside(run::body(source, words));
        sections.push(picture("Run".to_owned(), &run, "run"));
        if let Ok(body) = profile::body(source, words, None) {
            let heading = format!("Profile: {}", body.subject);
            sections.push(picture(heading, &words.beside(body), "profile"));
        }
    });
    let legend = figure(&legend::picture(report.vocabulary), "legend");
    sections.push(text("How to read the pictures", legend));
    let main = html! {
        p { (report.drill) }
        (hazards(&report.hazards))
        p.caution role="note" { (CAUTION) }
        (protection(&report.protection))
        @for section in &sections { (section.markup()) }
    };
    Ok(shell(&format!("Answer key: {}", report.title), &main))
}

fn text(heading: &str, body: Markup) -> Section {
    Section { heading: heading.to_owned(), kind: Kind::Text, body }
}

fn call(report: &SheetReport) -> Markup {
    html! { @for said in &report.call { blockquote { (clean(said)) } } }
}

fn known(report: &SheetReport) -> Markup {
    let panel = term(report.vocabulary, Term::Panel);
    let words = |text: &String| Cell::Words(clean(text));
    let boxes = Table {
        caption: format!(
            "Wired in {}. Supply: {}. At the {panel}: {}.",
            report.wired_in,
            report.supply,
            report.breakers.join("; ")
        ),
        columns: ["box", "fed from", "cable", "", "holds"].map(str::to_owned).to_vec(),
        rows: (report.boxes.iter())
            .map(|known| {
                let KnownBox { name, from, length, cable, holds } = known;
                [name, from, length, cable, holds].map(words).to_vec()
            })
            .collect(),
    };
    let state = |on: bool| Cell::Words(if on { "on" } else { "off" }.to_owned());
    let loads = Table {
        caption: "Plugged in and wired in".to_owned(),
        columns: ["load", "at", "switched", "rating"].map(str::to_owned).to_vec(),
        rows: (report.loads.iter())
            .map(|load| {
                let at = words(&place_in_words(&load.at));
                vec![words(&load.name), at, state(load.on), words(&load.rating)]
            })
            .collect(),
    };
    html! { (boxes.markup()) (loads.markup()) }
}

fn readings(report: &SheetReport) -> Markup {
    let words = |text: &String| Cell::Words(clean(text));
    Table {
        caption: format!("Read {}", report.read_when),
        columns: ["instrument", "at", "shows"].map(str::to_owned).to_vec(),
        rows: (report.readings.iter())
            .map(|line| [&line.tool, &place_in_words(&line.at), &line.shows].map(words).to_vec())
            .collect(),
    }
    .markup()
}

/// What the student writes down, each with room for it.
fn questions() -> Markup {
    html! {
        ol.answers {
            li { "Which conductor, at which joint of which box?" }
            li { "What is the next test, and what would each outcome of it mean?" }
            li { "Which metal may be live although it should not be?" }
        }
    }
}

fn wrong(report: &KeyReport) -> Markup {
    html! {
        ol {
            @for fault in &report.faults {
                li {
                    strong { (clean(&fault.says)) }
                    ": " (fault.means)
                    "; " (clean(&fault.to_do)) "."
                    @if let Some(said) = also_right(fault.also_right.as_deref()) { br; (clean(&said)) "." }
                }
            }
        }
    }
}

fn why(report: &KeyReport) -> Markup {
    html! {
        @for why in &report.why { p { (clean(&why.says)) } }
        p { (report.misleads) }
    }
}

fn read_again(report: &KeyReport) -> Markup {
    html! {
        p { (READ_AGAIN) }
        ul { @for said in &report.read_in { li { (clean(said)) } } }
    }
}

fn way(way: &WayReport) -> Markup {
    html! {
        ol {
            @for step in &way.steps {
                li {
                    @for danger in &step.dangers { strong { "DANGER " } (clean(danger)) " " }
                    (clean(&step_says(step)))
                }
            }
        }
        p { (clean(&way_ends(way))) }
    }
}
