//! The picture of the run: boxes and cables.

use super::block::Measured;
use super::cable::{Label, Wiring};
use super::content::{Content, Lane, Source};
use super::floor::{Floor, Sizes};
use super::legend::legend;
use super::route::Routes;
use super::sheet::Sheet;
use super::words::{Body, Words};

/// The run of a scene.
pub(super) fn body(source: &Source<'_>, words: &Words<'_>) -> Body {
    let contents = source.contents();
    let (drawing, row_tops) = draw_run(source, &contents);
    Body {
        subject: "potentials to earth along the run".to_owned(),
        description: description(words, &contents),
        drawing,
        breaks: row_tops.iter().skip(1).map(|top| top - 12.0).collect(),
        legend,
    }
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

/// The picture in words, for those who cannot see it.
fn description(words: &Words<'_>, contents: &[Content]) -> String {
    let boxes = contents.iter().map(|content| {
        let lanes = content.lanes.iter().filter_map(lane_in_words);
        let notes = content.notes.iter().map(|note| note.text.clone());
        let parts: Vec<String> = lanes.chain(notes).collect();
        format!("{}: {}.", content.title, parts.join("; "))
    });
    let all: Vec<String> = words.sentences().into_iter().chain(boxes).collect();
    all.join(" ")
}

fn lane_in_words(lane: &Lane) -> Option<String> {
    let slots = lane.slots.iter().flatten().map(|slot| (&slot.name, &slot.reading));
    let ends = lane.ends.iter().flatten().map(|end| (&end.name, &end.reading));
    let (name, reading) = slots.chain(ends).next()?;
    Some(format!("{name} {}", reading.in_words()))
}
