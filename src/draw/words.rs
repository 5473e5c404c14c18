//! What is said in words above and below a picture, and putting both together.

use crate::circuit::{Circuit, Vocabulary};
use crate::condition::Condition;
use crate::condition::words::describe;
use crate::hazard::Severity;
use crate::report::CAUTION;
use crate::report::hazard_words::HazardReport;

use super::block::danger;
use super::glyph::{clean, wrap};
use super::mark::{self, Marks};
use super::pen::Type;
use super::sheet::{Point, Sheet, at};
use super::{Picture, Scene};

const MARGIN: f64 = 16.0;
const TITLE: Type = Type::bold(22.0);
const TEXT: Type = Type::regular(14.0);
const STRONG: Type = Type::bold(14.0);
const CAUTION_TYPE: Type = Type::regular(12.0);
/// Narrower than this no picture is: its words would run down the page.
const WIDTH_MIN: f64 = 640.0;

/// What is said of a scene.
pub(super) struct Words<'w> {
    title: String,
    pub(super) vocabulary: Vocabulary,
    hazards: &'w [HazardReport],
    faults: &'w [String],
    states: Vec<String>,
    /// What trips.
    protection: &'w [String],
}

/// What goes under the words.
pub(super) struct Body {
    /// What it shows, as `potentials along the run`.
    pub(super) subject: String,
    /// The same in full, for those who cannot see it.
    pub(super) description: String,
    pub(super) drawing: Sheet,
    /// Where it may be cut.
    pub(super) breaks: Vec<f64>,
    /// What its patterns and signs mean, made for a width.
    pub(super) legend: fn(f64, Vocabulary) -> Sheet,
}

impl<'w> Words<'w> {
    pub(super) fn of(scene: &'w Scene<'_>, marks: &'w Marks) -> Self {
        Self {
            title: title(scene.circuit),
            vocabulary: scene.circuit.parts().vocabulary,
            hazards: &scene.report.hazards,
            protection: &scene.report.protection.says,
            faults: &marks.sentences,
            states: states(scene.circuit, scene.asked),
        }
    }

    pub(super) fn title(&self) -> &str {
        &self.title
    }

    /// The faults in words, in the order of their numbers.
    pub(super) fn faults(&self) -> &[String] {
        self.faults
    }

    /// What is switched, plugged and set differently, in words.
    pub(super) fn states(&self) -> &[String] {
        &self.states
    }

    /// Hazards first, then faults and what is set.
    pub(super) fn sentences(&self) -> Vec<String> {
        let hazards = self.hazards.iter().map(|hazard| hazard.says.clone());
        let faults = self.faults.iter().map(|fault| format!("Fault: {fault}."));
        let states = self.states.iter().map(|state| format!("Set: {state}."));
        hazards.chain(faults).chain(states).chain(self.protection.iter().cloned()).collect()
    }

    /// A picture that stands by itself: words above, legend and caution below.
    pub(super) fn around(&self, body: Body) -> Picture {
        let mut sheet = self.paper(&body);
        let inner = sheet.width - 2.0 * MARGIN;
        let y = self.draw(&mut sheet, inner);
        let (y, mut breaks) = put_drawing(&mut sheet, body.drawing, &body.breaks, y);
        breaks.push(y);
        let legend = (body.legend)(inner, self.vocabulary);
        let top = y + 12.0;
        let y = top + legend.height + 8.0;
        sheet.place(legend, at(MARGIN, top));
        let caution = wrap(CAUTION, inner, CAUTION_TYPE.size, CAUTION_TYPE.weight);
        sheet.lines(at(MARGIN, y + CAUTION_TYPE.size), CAUTION_TYPE, &caution);
        finish(sheet, y + CAUTION_TYPE.pitch() * caution.len() as f64, breaks)
    }

    /// A picture for a page that says the rest.
    pub(super) fn beside(&self, body: Body) -> Picture {
        let mut sheet = self.paper(&body);
        let (y, breaks) = put_drawing(&mut sheet, body.drawing, &body.breaks, 0.0);
        finish(sheet, y, breaks)
    }

    fn paper(&self, body: &Body) -> Sheet {
        let mut sheet = Sheet::sized((body.drawing.width + 2.0 * MARGIN).max(WIDTH_MIN), 0.0);
        sheet.title = format!("{}: {}", self.title, body.subject);
        sheet.description.clone_from(&body.description);
        sheet
    }

    /// Title, hazards, faults and states; returns where the drawing may begin.
    fn draw(&self, sheet: &mut Sheet, width: f64) -> f64 {
        let mut y = MARGIN;
        let title = wrap(&self.title, width, TITLE.size, TITLE.weight);
        sheet.lines(at(MARGIN, y + TITLE.size), TITLE, &title);
        y += TITLE.pitch() * title.len() as f64 + 4.0;
        for hazard in self.hazards {
            let grave = hazard.severity == Severity::Danger;
            let text = format!("{}{}", if grave { "DANGER: " } else { "" }, clean(&hazard.says));
            let set = if grave { STRONG } else { TEXT };
            y = paragraph(sheet, at(MARGIN, y), (width, set), &text, |sheet, centre| {
                danger(sheet, centre);
            });
        }
        for (place, fault) in self.faults.iter().enumerate() {
            y = paragraph(sheet, at(MARGIN, y), (width, STRONG), &clean(fault), |sheet, centre| {
                mark::badge(sheet, centre, &[place + 1]);
            });
        }
        let states = clean(&self.states.join("; "));
        let states = match (self.faults.is_empty(), states.is_empty()) {
            (true, true) => "As installed, with no fault.".to_owned(),
            (false, true) => String::new(),
            (_, false) => format!("Set: {states}."),
        };
        let protection = self.protection.iter().map(|sentence| clean(sentence));
        for text in std::iter::once(states).chain(protection).filter(|text| !text.is_empty()) {
            y = paragraph(sheet, at(MARGIN, y), (width, TEXT), &text, |_, _| {});
        }
        y + 6.0
    }
}

/// Places a drawing; returns where it ends and where the paper may be cut up to there.
fn put_drawing(sheet: &mut Sheet, drawing: Sheet, cuts: &[f64], y: f64) -> (f64, Vec<f64>) {
    let bottom = y + drawing.height;
    sheet.place(drawing, at(MARGIN, y));
    let cuts = cuts.iter().map(|cut| y + cut);
    (bottom, std::iter::once(0.0).chain(cuts).collect())
}

fn finish(mut sheet: Sheet, bottom: f64, mut breaks: Vec<f64>) -> Picture {
    sheet.height = (bottom + MARGIN).ceil();
    breaks.push(sheet.height);
    Picture { sheet, breaks }
}

fn title(circuit: &Circuit) -> String {
    let name = clean(&circuit.parts().name);
    if name.is_empty() { "Circuit".to_owned() } else { name }
}

/// What is switched, plugged and set differently, in words.
fn states(circuit: &Circuit, condition: &Condition) -> Vec<String> {
    describe(circuit, &Condition { faults: Vec::new(), ..condition.clone() })
}

/// Lines of text with a sign before them.
fn paragraph(
    sheet: &mut Sheet,
    corner: Point,
    (width, set): (f64, Type),
    text: &str,
    sign: impl FnOnce(&mut Sheet, Point),
) -> f64 {
    const INDENT: f64 = 34.0;
    let lines = wrap(text, width - INDENT, set.size, set.weight);
    sign(sheet, at(corner.x + 13.0, corner.y + set.size / 2.0 + 3.0));
    sheet.lines(at(corner.x + INDENT, corner.y + set.size), set, &lines);
    corner.y + set.pitch() * lines.len() as f64 + 6.0
}
