//! The report page: one HTML file with everything in it, for the screen and for paper.
//!
//! A page is a list of sections; what else is to be told about a condition is one more of them.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::hazard::Severity;
use crate::report::hazard_words::{HazardReport, said_once};
use crate::report::{CAUTION, ReadReport};

use super::content::Source;
use super::glyph::clean;
use super::words::Words;
use super::{Picture, legend, profile, run};

mod drill;
mod table;

pub use drill::{key_page, sheet_page};

const STYLE: &str = include_str!("page/style.css");

/// A part of the page under a heading.
pub(super) struct Section {
    pub(super) heading: String,
    pub(super) kind: Kind,
    pub(super) body: Markup,
}

/// How a section is laid on paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Text,
    /// On a page of its own.
    Picture,
    /// On a page of its own, on its side.
    WidePicture,
}

/// A picture wider than this is printed on its side: upright its smallest type would be below
/// 6 points on A4.
const UPRIGHT_MAX: f64 = 1000.0;

pub(super) fn page(report: &ReadReport, source: &Source<'_>, words: &Words<'_>) -> String {
    let run = words.beside(run::body(source, words));
    let mut sections = vec![picture("Run".to_owned(), &run, "run")];
    // The way without a box named always leads somewhere.
    if let Ok(body) = profile::body(source, words, None) {
        let heading = format!("Profile: {}", body.subject);
        sections.push(picture(heading, &words.beside(body), "profile"));
    }
    sections.push(Section {
        heading: "How to read the pictures".to_owned(),
        kind: Kind::Text,
        body: figure(&legend::picture(words.vocabulary), "legend"),
    });
    sections.extend(table::sections(report));
    document(report, words, &sections)
}

fn picture(heading: String, picture: &Picture, key: &str) -> Section {
    let (width, _) = picture.size();
    let kind = if width > UPRIGHT_MAX { Kind::WidePicture } else { Kind::Picture };
    Section { heading, kind, body: figure(picture, key) }
}

fn document(report: &ReadReport, words: &Words<'_>, sections: &[Section]) -> String {
    let main = html! {
        (hazards(&report.hazards))
        p.caution role="note" { (CAUTION) }
        (condition(words))
        (protection(&report.protection.says))
        @for section in sections { (section.markup()) }
    };
    shell(words.title(), &main)
}

impl Section {
    fn markup(&self) -> Markup {
        html! {
            section.picture[self.kind != Kind::Text].wide[self.kind == Kind::WidePicture] {
                h2 { (self.heading) }
                (self.body)
            }
        }
    }
}

/// What every page has around its content.
fn shell(title: &str, main: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header { h1 { (title) } }
                main { (main) }
                footer {
                    p {
                        "Made by slotwise " (env!("CARGO_PKG_VERSION"))
                        ". Volts and amperes are rms; potentials are to remote earth."
                    }
                }
            }
        }
    };
    let mut text = page.into_string();
    text.push('\n');
    text
}

fn hazards(hazards: &[HazardReport]) -> Markup {
    html! {
        section.hazards {
            h2 { "Hazards" }
            @if hazards.is_empty() {
                p {
                    "No hazard of the kinds looked for was found in the model; that clears nothing."
                }
            } @else {
                ul {
                    @for listed in said_once(hazards) {
                        li.danger[listed.hazard.severity == Severity::Danger] {
                            span.severity { (severity(listed.hazard.severity)) }
                            strong { (clean(&listed.hazard.says)) }
                            @if let Some(advice) = listed.advice { " " (advice) }
                            @if let Some(threshold) = listed.threshold {
                                " " span.threshold { "Threshold: " (threshold) "." }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Danger => "DANGER",
        Severity::Warning => "WARNING",
        Severity::Notice => "NOTICE",
    }
}

fn condition(words: &Words<'_>) -> Markup {
    let (faults, states) = (words.faults(), words.states());
    html! {
        section {
            h2 { "Different from the circuit as installed" }
            @if faults.is_empty() && states.is_empty() {
                p { "Nothing." }
            }
            @if !faults.is_empty() {
                p { "Faults, numbered as in the pictures:" }
                ol { @for fault in faults { li { (clean(fault)) } } }
            }
            @if !states.is_empty() {
                p { "Set differently:" }
                ul { @for state in states { li { (clean(state)) } } }
            }
        }
    }
}

fn protection(says: &[String]) -> Markup {
    html! {
        @if !says.is_empty() {
            section {
                h2 { "Protection" }
                ul { @for sentence in says { li { (clean(sentence)) } } }
            }
        }
    }
}

/// A picture in strips, so that a page ends between rows of boxes and not within one.
fn figure(picture: &Picture, key: &str) -> Markup {
    let cuts = picture.breaks().windows(2).filter_map(|pair| match pair {
        [top, bottom] if bottom > top => Some((*top, *bottom)),
        _ => None,
    });
    html! {
        figure {
            div.scroll {
                @for (number, strip) in cuts.enumerate() {
                    (picture.sheet.strip((number == 0).then_some(key), strip))
                }
            }
        }
    }
}
