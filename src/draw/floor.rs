//! From grid to paper: how wide each column and gap, how high each row and gutter is.

use super::arrange::{Arrangement, Flank, Port};
use super::block::{LanePlace, LaneSize, Measured};
use super::cable::{LABEL, Label};
use super::content::Content;
use super::route::{Routes, TRACK_PITCH};
use super::sheet::{Point, at};
use super::survey::lane_order;

/// Beside a box's edge: room for the sign and number of a joint.
pub(super) const MARK_ZONE: f64 = 36.0;
/// The same where no joint is marked.
pub(super) const CLEAR_ZONE: f64 = 14.0;
/// Where two conductors cross over.
pub(super) const CROSS_ZONE: f64 = 22.0;
/// A place inside a cable where something is wrong, with its number.
pub(super) const STATION_PITCH: f64 = 46.0;
/// Where the lanes of a cable come together.
pub(super) const GATHER_ZONE: f64 = 16.0;
/// Around everything.
const MARGIN: f64 = 14.0;
/// Between rows, besides tracks.
const GUTTER: f64 = 26.0;
/// From one lane's line and notes to the next lane's slots.
const LANE_GAP: f64 = 10.0;
/// What stands above a line in a gap: the current and some air.
const CURRENT_HEIGHT: f64 = 22.0;

/// A row of boxes.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) top: f64,
    lanes_top: f64,
    lanes_bottom: f64,
    names: Vec<String>,
    places: Vec<LanePlace>,
}

/// A gap left of a column; the last is right of the last column.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Gap {
    /// Its left edge.
    pub(super) left: f64,
    /// What lies between the left edge and the tracks.
    pub(super) departure: f64,
    /// Its right edge.
    pub(super) right: f64,
}

impl Gap {
    pub(super) fn track_x(&self, track: usize) -> f64 {
        self.left + self.departure + TRACK_PITCH * (track as f64 + 0.5)
    }
}

/// Everything's place on paper.
#[derive(Debug)]
pub(super) struct Floor {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) rows: Vec<Row>,
    pub(super) gaps: Vec<Gap>,
    gutters: Vec<f64>,
    corners: Vec<Point>,
    /// The lanes of each box.
    lanes: Vec<Vec<LanePlace>>,
}

/// What the sizes follow from.
#[derive(Debug)]
pub(super) struct Sizes<'s> {
    pub(super) arrangement: &'s Arrangement,
    pub(super) routes: &'s Routes,
    pub(super) boxes: &'s [Measured<'s>],
    /// The label beside each port of each box.
    pub(super) labels: &'s [Vec<Label>],
}

impl Floor {
    pub(super) fn of(sizes: &Sizes<'_>) -> Self {
        let (gaps, column_left) = gaps(sizes);
        let width = gaps.last().map_or(0.0, |gap| gap.right) + MARGIN;
        let mut rows = Vec::new();
        let mut gutters = Vec::new();
        let mut y: f64 = 0.0;
        // A panel reaches down beside the rows of its run, to the next panel.
        let mut panel_bottom: f64 = 0.0;
        for number in 0..sizes.arrangement.rows {
            let begins = panels(sizes, number).next().is_some();
            if begins {
                y = y.max(panel_bottom);
            }
            gutters.push(y);
            y += gutter_height(sizes, number);
            let (row, bottom) = row(sizes, number, y);
            let below = panels(sizes, number).map(|spot| sizes.boxes[spot].below);
            panel_bottom = below.fold(panel_bottom, |low, below| low.max(row.lanes_bottom + below));
            rows.push(row);
            y = bottom;
        }
        y = y.max(panel_bottom);
        gutters.push(y);
        y += gutter_height(sizes, sizes.arrangement.rows);
        let mut floor =
            Self { width, height: y, rows, gaps, gutters, corners: Vec::new(), lanes: Vec::new() };
        for (measured, cell) in sizes.boxes.iter().zip(&sizes.arrangement.cells) {
            let row = &floor.rows[cell.row];
            floor.corners.push(at(column_left[cell.column], row.top));
            floor.lanes.push(row.places_of(measured.content));
        }
        floor
    }

    pub(super) fn frame(&self, arrangement: &Arrangement, spot: usize) -> super::block::Frame<'_> {
        let row = &self.rows[arrangement.cells[spot].row];
        super::block::Frame {
            corner: self.corners[spot],
            lanes_top: row.lanes_top,
            lanes_bottom: row.lanes_bottom,
            first_line: row.places.first().map(|place| place.line),
            lanes: &self.lanes[spot],
        }
    }

    /// The y of a horizontal track.
    pub(super) fn track_y(&self, gutter: usize, track: usize) -> f64 {
        self.gutters.get(gutter).copied().unwrap_or(0.0) + GUTTER / 2.0 + TRACK_PITCH * track as f64
    }
}

impl Row {
    fn places_of(&self, content: &Content) -> Vec<LanePlace> {
        let place = |name: &String| {
            let at = self.names.iter().position(|known| known == name);
            at.and_then(|at| self.places.get(at)).copied().unwrap_or_default()
        };
        content.lanes.iter().map(|lane| place(&lane.name)).collect()
    }
}

/// Whether a label or current stands in the gap beside a port.
pub(super) fn is_labelled(port: &Port) -> bool {
    port.flank == Flank::Right
}

fn gaps(sizes: &Sizes<'_>) -> (Vec<Gap>, Vec<f64>) {
    let columns = sizes.arrangement.columns;
    let mut departures = vec![0.0_f64; columns + 1];
    let mut arrivals = vec![0.0_f64; columns + 1];
    let mut widths = vec![0.0_f64; columns];
    for (spot, cell) in sizes.arrangement.cells.iter().enumerate() {
        widths[cell.column] = widths[cell.column].max(sizes.boxes[spot].width);
        for (port, label) in sizes.arrangement.ports[spot].iter().zip(&sizes.labels[spot]) {
            let zone = match port.flank {
                Flank::Right => &mut departures[cell.column + 1],
                Flank::Left => &mut arrivals[cell.column],
            };
            *zone = zone.max(label.zone_width());
        }
    }
    let mut gaps = Vec::new();
    let mut column_left = Vec::new();
    let mut x = MARGIN;
    for number in 0..=columns {
        let tracks = TRACK_PITCH * sizes.routes.gap_tracks[number] as f64;
        let departure = departures[number];
        let right = x + departure + tracks + arrivals[number];
        gaps.push(Gap { left: x, departure, right });
        if let Some(width) = widths.get(number) {
            column_left.push(right);
            x = right + width;
        }
    }
    (gaps, column_left)
}

fn gutter_height(sizes: &Sizes<'_>, gutter: usize) -> f64 {
    let tracks = sizes.routes.gutter_tracks.get(gutter).copied().unwrap_or(0);
    let edge = gutter == 0 || gutter == sizes.arrangement.rows;
    match (tracks, edge) {
        (0, true) => 6.0,
        (tracks, _) => GUTTER + TRACK_PITCH * (tracks.max(1) as f64 - 1.0),
    }
}

/// The boxes in the first column of a row.
fn panels<'s>(sizes: &'s Sizes<'_>, row: usize) -> impl Iterator<Item = usize> + 's {
    let cells = sizes.arrangement.cells.iter().enumerate();
    cells.filter(move |(_, cell)| cell.row == row && cell.column == 0).map(|(spot, _)| spot)
}

/// A row from its top; also where it ends.
fn row(sizes: &Sizes<'_>, number: usize, top: f64) -> (Row, f64) {
    let in_row = || {
        let cells = sizes.arrangement.cells.iter().enumerate();
        cells.filter(move |(_, cell)| cell.row == number).map(|(spot, _)| spot)
    };
    let mut lanes: Vec<(&str, LaneSize)> = Vec::new();
    for measured in in_row().map(|spot| &sizes.boxes[spot]) {
        for lane in &measured.content.lanes {
            let size = measured.lane_size(lane);
            match lanes.iter_mut().find(|(name, _)| *name == lane.name) {
                Some((_, known)) => *known = known.max(size),
                None => lanes.push((&lane.name, size)),
            }
        }
    }
    lanes.sort_by(|one, other| lane_order(one.0).cmp(&lane_order(other.0)));
    let header = in_row().map(|spot| sizes.boxes[spot].header).fold(0.0, f64::max);
    let label = in_row()
        .flat_map(|spot| sizes.arrangement.ports[spot].iter().zip(&sizes.labels[spot]))
        .filter(|(port, _)| port.main && is_labelled(port))
        .map(|(_, label)| label.height())
        .fold(0.0, f64::max);
    let first = lanes.first().map_or(0.0, |(_, size)| size.plate + size.stub);
    let lanes_top = top + header.max(label + CURRENT_HEIGHT - first);
    let mut y = lanes_top;
    let mut places = Vec::new();
    for (_, size) in &lanes {
        let line = y + (size.plate + size.stub).max(CURRENT_HEIGHT);
        places.push(LanePlace { line, stub: size.stub });
        y = line + size.below + LANE_GAP;
    }
    let beside = in_row().filter(|&spot| sizes.arrangement.cells[spot].column > 0);
    let below = beside.map(|spot| sizes.boxes[spot].below).fold(0.0, f64::max);
    let names = lanes.iter().map(|(name, _)| (*name).to_owned()).collect();
    (Row { top, lanes_top, lanes_bottom: y, names, places }, y + below)
}

/// Where the last line of a label stands above the first line of its cable.
pub(super) fn label_foot(first_line: f64) -> f64 {
    first_line - CURRENT_HEIGHT - LABEL.size * 0.3
}
