//! The picture of the run: words, boxes and cables, legend.

use std::collections::HashMap;

use crate::circuit::{Circuit, Part};
use crate::condition::Condition;
use crate::condition::words::describe;
use crate::hazard::Severity;
use crate::quantity::Address;
use crate::report::CAUTION;
use crate::report::hazard_words::HazardReport;

use super::arrange::Arrangement;
use super::block::{Measured, danger};
use super::cable::{Label, Wiring};
use super::content::{Content, Source, first_word};
use super::floor::{Floor, Sizes};
use super::glyph::{clean, wrap};
use super::legend::legend;
use super::mark::{self, Marks};
use super::reading::Meter;
use super::route::Routes;
use super::sheet::{Point, Sheet, Type, at};
use super::survey::{Survey, inner_connections};
use super::{Picture, Scene};

const MARGIN: f64 = 16.0;
const TITLE: Type = Type::bold(22.0);
const TEXT: Type = Type::regular(14.0);
const STRONG: Type = Type::bold(14.0);
const CAUTION_TYPE: Type = Type::regular(12.0);
/// Narrower than this no picture is: its words would run down the page.
const WIDTH_MIN: f64 = 640.0;

pub(super) fn picture(scene: &Scene<'_>) -> Picture {
    let hazards = scene.report.hazards.as_slice();
    let inner = inner_connections(scene.circuit);
    let survey = Survey::of(scene.circuit, &inner);
    let arrangement = Arrangement::of(&survey);
    let meter = Meter::new(scene.circuit, &scene.netlist, &scene.solution);
    let marks = Marks::of(scene.circuit, scene.condition);
    let (breakers, bars) = poles_and_bars(scene.circuit);
    let source = Source {
        circuit: scene.circuit,
        condition: scene.condition,
        meter: &meter,
        marks: &marks,
        survey: &survey,
        inner: &inner,
        arrangement: &arrangement,
        breakers,
        bars,
        hazardous: hazards
            .iter()
            .flat_map(|hazard| &hazard.addresses)
            .map(|address| first_word(address).to_owned())
            .collect(),
    };
    let contents = source.contents();
    let (run, row_tops) = draw_run(&source, &contents);
    let words = Words {
        title: title(scene.circuit),
        hazards,
        faults: &marks.sentences,
        states: states(scene.circuit, scene.condition),
    };
    let description = description(&words, &contents);
    assemble(scene.circuit, &words, run, row_tops, description)
}

/// What is said above the picture.
struct Words<'w> {
    title: String,
    hazards: &'w [HazardReport],
    faults: &'w [String],
    states: Vec<String>,
}

fn title(circuit: &Circuit) -> String {
    let name = clean(&circuit.parts().name);
    if name.is_empty() { "Circuit".to_owned() } else { name }
}

/// What is switched, plugged and set differently, in words.
fn states(circuit: &Circuit, condition: &Condition) -> Vec<String> {
    describe(circuit, &Condition { faults: Vec::new(), ..condition.clone() })
}

/// The breaker whose pole ends at each address, and the bar each landing leads to.
#[expect(clippy::type_complexity, reason = "two maps of one walk")]
fn poles_and_bars(
    circuit: &Circuit,
) -> (HashMap<Address, &crate::circuit::BranchCircuit>, HashMap<Address, (String, Address)>) {
    let (mut breakers, mut bars) = (HashMap::new(), HashMap::new());
    for connection in circuit.connections() {
        match connection.part {
            Part::Breaker(branch) => {
                breakers.insert(connection.b, branch);
            }
            Part::BarLanding(..) => {
                bars.insert(connection.b, (connection.element, connection.a));
            }
            _ => {}
        }
    }
    (breakers, bars)
}

/// Boxes and cables, and where each row begins.
fn draw_run(source: &Source<'_>, contents: &[Content]) -> (Sheet, Vec<f64>) {
    let arrangement = source.arrangement;
    let labels: Vec<Vec<Label>> = arrangement
        .ports
        .iter()
        .map(|ports| ports.iter().map(|port| Label::of(source, port)).collect())
        .collect();
    let boxes = measure(source, contents, &labels);
    let routes = Routes::of(source.survey, arrangement);
    let sizes = Sizes { arrangement, routes: &routes, boxes: &boxes, labels: &labels };
    let floor = Floor::of(&sizes);
    let mut sheet = Sheet::sized(floor.width, floor.height);
    let wiring = Wiring { source, floor: &floor, routes: &routes, boxes: &boxes, labels: &labels };
    wiring.draw_jackets(&mut sheet);
    wiring.draw_conductors(&mut sheet);
    for (spot, measured) in boxes.iter().enumerate() {
        measured.draw(&mut sheet, &floor.frame(arrangement, spot));
    }
    wiring.draw_joints(&mut sheet);
    let tops = floor.rows.iter().map(|row| row.top).collect();
    (sheet, tops)
}

/// The boxes, those of a column equally wide.
fn measure<'c>(
    source: &Source<'_>,
    contents: &'c [Content],
    labels: &[Vec<Label>],
) -> Vec<Measured<'c>> {
    let arrangement = source.arrangement;
    let measure = |spot: usize, at_least: f64| {
        let further = arrangement.ports[spot].iter().zip(&labels[spot]);
        let further = further.filter(|(port, _)| !port.main);
        let heights: Vec<f64> = further.map(|(_, label)| label.height()).collect();
        Measured::of(&contents[spot], &heights, at_least)
    };
    let mut widths = vec![0.0_f64; arrangement.columns];
    for (spot, cell) in arrangement.cells.iter().enumerate() {
        widths[cell.column] = widths[cell.column].max(measure(spot, 0.0).width);
    }
    let cells = arrangement.cells.iter().enumerate();
    cells.map(|(spot, cell)| measure(spot, widths[cell.column])).collect()
}

fn assemble(
    circuit: &Circuit,
    words: &Words<'_>,
    run: Sheet,
    row_tops: Vec<f64>,
    description: String,
) -> Picture {
    let width = (run.width + 2.0 * MARGIN).max(WIDTH_MIN);
    let mut sheet = Sheet::sized(width, 0.0);
    sheet.title = format!("{}: potentials to earth along the run", words.title);
    sheet.description = description;
    let y = draw_words(&mut sheet, words, width - 2.0 * MARGIN);
    let mut breaks = vec![0.0];
    breaks.extend(row_tops.iter().skip(1).map(|top| y + top - 12.0));
    let run_height = run.height;
    sheet.place(run, at(MARGIN, y));
    let mut y = y + run_height + 12.0;
    breaks.push(y);
    let legend = legend(width - 2.0 * MARGIN, circuit.parts().vocabulary);
    let legend_height = legend.height;
    sheet.place(legend, at(MARGIN, y));
    y += legend_height + 8.0;
    let caution = wrap(CAUTION, width - 2.0 * MARGIN, CAUTION_TYPE.size, CAUTION_TYPE.weight);
    sheet.lines(at(MARGIN, y + CAUTION_TYPE.size), CAUTION_TYPE, &caution);
    y += CAUTION_TYPE.pitch() * caution.len() as f64 + MARGIN;
    breaks.push(y);
    sheet.height = y.ceil();
    Picture { sheet, breaks }
}

/// Title, hazards, faults and states; returns where the picture may begin.
fn draw_words(sheet: &mut Sheet, words: &Words<'_>, width: f64) -> f64 {
    let mut y = MARGIN;
    let title = wrap(&words.title, width, TITLE.size, TITLE.weight);
    sheet.lines(at(MARGIN, y + TITLE.size), TITLE, &title);
    y += TITLE.pitch() * title.len() as f64 + 4.0;
    for hazard in words.hazards {
        let grave = hazard.severity == Severity::Danger;
        let text = format!("{}{}", if grave { "DANGER: " } else { "" }, clean(&hazard.says));
        let set = if grave { STRONG } else { TEXT };
        y = paragraph(sheet, at(MARGIN, y), (width, set), &text, |sheet, centre| {
            danger(sheet, centre);
        });
    }
    for (place, fault) in words.faults.iter().enumerate() {
        y = paragraph(sheet, at(MARGIN, y), (width, STRONG), &clean(fault), |sheet, centre| {
            mark::badge(sheet, centre, &[place + 1]);
        });
    }
    let states = clean(&words.states.join("; "));
    let states = match (words.faults.is_empty(), states.is_empty()) {
        (true, true) => "As installed, with no fault.".to_owned(),
        (false, true) => String::new(),
        (_, false) => format!("Set: {states}."),
    };
    if !states.is_empty() {
        y = paragraph(sheet, at(MARGIN, y), (width, TEXT), &states, |_, _| {});
    }
    y + 6.0
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

/// The picture in words, for those who cannot see it.
fn description(words: &Words<'_>, contents: &[Content]) -> String {
    let hazards = words.hazards.iter().map(|hazard| hazard.says.clone());
    let faults = words.faults.iter().map(|fault| format!("Fault: {fault}."));
    let states = words.states.iter().map(|state| format!("Set: {state}."));
    let boxes = contents.iter().map(|content| {
        let lanes: Vec<String> = content.lanes.iter().filter_map(lane_in_words).collect();
        let notes = content.notes.iter().map(|note| note.text.clone());
        let parts: Vec<String> = lanes.into_iter().chain(notes).collect();
        format!("{}: {}.", content.title, parts.join("; "))
    });
    let all: Vec<String> = hazards.chain(faults).chain(states).chain(boxes).collect();
    all.join(" ")
}

fn lane_in_words(lane: &super::content::Lane) -> Option<String> {
    let slots = lane.slots.iter().flatten().map(|slot| (&slot.name, &slot.reading));
    let ends = lane.ends.iter().flatten().map(|end| (&end.name, &end.reading));
    let (name, reading) = slots.chain(ends).next()?;
    Some(format!("{name} {}", reading.in_words()))
}
