//! Cables on paper: each conductor beside its boxes with its current, and the jacket between.

use crate::circuit::CableEnd;
use crate::circuit::connection::contact_element;
use crate::report::figure::length;

use super::arrange::{Flank, Port};
use super::block::joint;
use super::content::{Source, end_number};
use super::floor::{
    CLEAR_ZONE, CROSS_ZONE, Floor, GATHER_ZONE, MARK_ZONE, STATION_PITCH, is_labelled, label_foot,
};
use super::glyph::wrap;
use super::mark::{self, CableMark, Mark};
use super::reading::{Flow, Level};
use super::route::{Route, Routes};
use super::sheet::{Ink, Pattern, Point, Sheet, Type, at};

/// How a cable's name is set.
pub(super) const LABEL: Type = Type::regular(12.0);
/// How a current is set.
const CURRENT: Type = Type::bold(13.0);
const CURRENT_MIN: f64 = 70.0;

/// What stands in the gap beside a port, and the room it takes.
#[derive(Debug)]
pub(super) struct Label {
    lines: Vec<String>,
    flows: Vec<Option<Flow>>,
    text_width: f64,
    stations: usize,
    /// A joint on the edge is marked.
    marked: bool,
    /// Two conductors cross over.
    crossed: bool,
    /// The conductors go into a jacket here.
    gathers: bool,
}

impl Label {
    /// What to write beside a port, in the words of the circuit; only a right flank carries
    /// text.
    pub(super) fn of(source: &Source<'_>, port: &Port) -> Self {
        let run = &source.survey.runs[port.run];
        let contacts: Vec<String> = run
            .strands
            .iter()
            .map(|strand| contact_element(&run.cable.id, port.end, strand.name))
            .collect();
        let marks = source.marks.on(&contacts);
        let exchanged = marks.iter().any(|mark| mark.sign == mark::Sign::Exchanged);
        let mut label = Self {
            lines: Vec::new(),
            flows: Vec::new(),
            text_width: 0.0,
            stations: 0,
            marked: !marks.is_empty(),
            crossed: exchanged,
            gathers: !source.arrangement.is_straight(source.survey, port.run),
        };
        if !is_labelled(port) {
            return label;
        }
        // A contact's current runs from the wire to what it lands on.
        let into_box = port.end == CableEnd::B;
        label.flows = contacts.iter().map(|contact| source.meter.flow(contact, into_box)).collect();
        let widths = label.flows.iter().flatten().map(|flow| CURRENT.width(&flow.value));
        label.text_width = widths.fold(CURRENT_MIN, f64::max).ceil();
        label.stations = stations(source, port.run).len();
        let limit = label.zone_width() - label.text_left();
        label.lines = wrap(&run.cable.id, limit, LABEL.size, LABEL.weight);
        let length = length(run.cable.length_m, source.circuit.parts().vocabulary);
        label.lines.extend(wrap(&length, limit, LABEL.size, LABEL.weight));
        label
    }

    pub(super) fn height(&self) -> f64 {
        LABEL.pitch() * self.lines.len() as f64 + 4.0
    }

    /// From the box's edge to where conductors run along their lanes.
    fn text_left(&self) -> f64 {
        self.mark_zone() + if self.crossed { CROSS_ZONE } else { 0.0 }
    }

    fn mark_zone(&self) -> f64 {
        if self.marked { MARK_ZONE } else { CLEAR_ZONE }
    }

    pub(super) fn zone_width(&self) -> f64 {
        let gather = if self.gathers { GATHER_ZONE } else { 0.0 };
        self.text_left() + self.text_width + STATION_PITCH * self.stations as f64 + gather
    }
}

/// The fractions at which something is wrong inside a cable, from end a.
fn stations(source: &Source<'_>, run: usize) -> Vec<f64> {
    let cable = &source.survey.runs[run].cable.id;
    let marks = source.marks.by_cable.get(cable).map_or(&[][..], Vec::as_slice);
    let mut fractions: Vec<f64> = marks.iter().map(|mark| mark.at_fraction).collect();
    fractions.dedup_by(|one, other| one.total_cmp(other).is_eq());
    fractions
}

/// Everything a cable is drawn from.
pub(super) struct Wiring<'w> {
    pub(super) source: &'w Source<'w>,
    pub(super) floor: &'w Floor,
    pub(super) routes: &'w Routes,
    pub(super) boxes: &'w [super::block::Measured<'w>],
    pub(super) labels: &'w [Vec<Label>],
}

/// Where a port's conductors leave its box.
struct Landing<'w> {
    port: Port,
    spot: usize,
    edge: f64,
    /// The line of each strand.
    ys: Vec<f64>,
    /// The line that each strand's joint is on: another's where two are exchanged.
    joint_ys: Vec<f64>,
    label: &'w Label,
}

/// The drawn part of a strand, with its levels at its own end of the cable and at the far one.
struct Stretch {
    points: Vec<Point>,
    levels: [Level; 2],
}

impl Landing<'_> {
    /// The y at which the jacket leaves: a left flank a little lower, so that two cables of
    /// neighbouring boxes do not seem one.
    fn jacket_y(&self) -> f64 {
        let (first, last) = (self.ys.first(), self.ys.last());
        let middle = first.zip(last).map_or(0.0, |(first, last)| (first + last) / 2.0);
        if self.port.main && self.port.flank == Flank::Left { middle + 12.0 } else { middle }
    }
}

impl Wiring<'_> {
    /// Jackets first, so that conductors and boxes lie on them.
    pub(super) fn draw_jackets(&self, sheet: &mut Sheet) {
        for run in 0..self.source.survey.runs.len() {
            let Some(route) = self.routes.by_run[run] else { continue };
            let [Some(a), Some(b)] = self.landings(run) else { continue };
            let points = self.jacket(&a, &b, route);
            sheet.inked_line(&points, Pattern::Jacket, Ink::Grey);
            for landing in [&a, &b] {
                let x = self.gather_x(landing);
                let ys = landing.ys.iter().copied();
                let (first, last) = ys
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| {
                        (low.min(y), high.max(y))
                    });
                sheet.inked_line(
                    &[at(x, first - 6.0), at(x, last + 6.0)],
                    Pattern::Jacket,
                    Ink::Grey,
                );
            }
        }
    }

    pub(super) fn draw_conductors(&self, sheet: &mut Sheet) {
        for run in 0..self.source.survey.runs.len() {
            let landings = self.landings(run);
            let straight = self.source.arrangement.is_straight(self.source.survey, run);
            if let ([Some(a), Some(b)], true) = (&landings, straight) {
                self.draw_straight(sheet, run, a, b);
            } else {
                for landing in landings.iter().flatten() {
                    self.draw_to_jacket(sheet, run, landing);
                }
            }
            for landing in landings.iter().flatten() {
                self.draw_label(sheet, landing);
            }
        }
    }

    /// The signs of the joints, over the edges of the boxes.
    pub(super) fn draw_joints(&self, sheet: &mut Sheet) {
        for (number, run) in self.source.survey.runs.iter().enumerate() {
            for landing in self.landings(number).iter().flatten() {
                for (strand, y) in run.strands.iter().zip(&landing.joint_ys) {
                    let end = landing.port.end;
                    if strand.landings[end_number(end)].is_none() {
                        sheet.line(
                            &[at(landing.edge, y - 6.0), at(landing.edge, y + 6.0)],
                            Pattern::Thin,
                        );
                        continue;
                    }
                    let contact = contact_element(&run.cable.id, end, strand.name);
                    let marks = self.source.marks.on([&contact]);
                    joint(sheet, at(landing.edge, *y), landing.port.flank, &marks);
                }
            }
        }
    }

    fn landings(&self, run: usize) -> [Option<Landing<'_>>; 2] {
        [CableEnd::A, CableEnd::B].map(|end| self.landing(run, end))
    }

    fn landing(&self, run: usize, end: CableEnd) -> Option<Landing<'_>> {
        let source = self.source;
        let drawn = &source.survey.runs[run];
        let spot = drawn.ends[end_number(end)]?;
        let ports = &source.arrangement.ports[spot];
        let number = ports.iter().position(|port| port.run == run && port.end == end)?;
        let port = ports[number];
        let frame = self.floor.frame(source.arrangement, spot);
        let measured = &self.boxes[spot];
        let ys: Vec<f64> = if port.main {
            let line = |name: &str| {
                let lane = measured.content.lanes.iter().position(|lane| lane.name == name);
                lane.and_then(|lane| frame.lanes.get(lane)).map_or(0.0, |place| place.line)
            };
            drawn.strands.iter().map(|strand| line(strand.name)).collect()
        } else {
            let blocks = &measured.content.blocks;
            let block = blocks.iter().position(|block| block.port == port)?;
            let y = |strand| frame.lanes_bottom + measured.strand_y(block, strand);
            (0..drawn.strands.len()).map(y).collect()
        };
        let joint_ys = drawn
            .strands
            .iter()
            .enumerate()
            .map(|(at, strand)| {
                let landed =
                    source.meter.landed(&contact_element(&drawn.cable.id, end, strand.name));
                let other = landed.and_then(|landed| {
                    drawn
                        .strands
                        .iter()
                        .position(|other| other.landings[end_number(end)] == Some(landed))
                });
                ys[other.unwrap_or(at)]
            })
            .collect();
        let edge = match port.flank {
            Flank::Left => frame.corner.x,
            Flank::Right => frame.corner.x + measured.width,
        };
        Some(Landing { port, spot, edge, ys, joint_ys, label: &self.labels[spot][number] })
    }

    /// The x where the conductors of a port go into their jacket.
    fn gather_x(&self, landing: &Landing<'_>) -> f64 {
        let column = self.source.arrangement.cells[landing.spot].column;
        match landing.port.flank {
            Flank::Right => {
                let gap = &self.floor.gaps[column + 1];
                gap.left + gap.departure - GATHER_ZONE / 2.0
            }
            Flank::Left => landing.edge - landing.label.zone_width() + GATHER_ZONE / 2.0,
        }
    }

    fn jacket(&self, a: &Landing<'_>, b: &Landing<'_>, route: Route) -> Vec<Point> {
        let (ya, yb) = (a.jacket_y(), b.jacket_y());
        let mut points = vec![at(self.gather_x(a), ya)];
        match route {
            Route::Direct(riser) => {
                let x = self.floor.gaps[riser.gap].track_x(riser.track);
                points.extend([at(x, ya), at(x, yb)]);
            }
            Route::Round(up, reach, down) => {
                let xa = self.floor.gaps[up.gap].track_x(up.track);
                let xb = self.floor.gaps[down.gap].track_x(down.track);
                let y = self.floor.track_y(reach.gutter, reach.track);
                points.extend([at(xa, ya), at(xa, y), at(xb, y), at(xb, yb)]);
            }
        }
        points.push(at(self.gather_x(b), yb));
        points
    }

    /// From box to box along the lanes.
    fn draw_straight(&self, sheet: &mut Sheet, run: usize, a: &Landing<'_>, b: &Landing<'_>) {
        let strands = &self.source.survey.runs[run].strands;
        // The port on the right flank of the left box carries the texts and the stations.
        let (from, to) = if a.port.flank == Flank::Right { (a, b) } else { (b, a) };
        for strand in 0..strands.len() {
            let levels = [from, to].map(|landing| self.wire_level(run, landing.port.end, strand));
            let points = [self.departure(from, strand), arrival(to, strand)].concat();
            self.draw_strand(sheet, (run, strand), from, &Stretch { points, levels });
        }
        self.draw_contacts(sheet, run, from);
    }

    /// From a box to where the jacket begins.
    fn draw_to_jacket(&self, sheet: &mut Sheet, run: usize, landing: &Landing<'_>) {
        let strands = &self.source.survey.runs[run].strands;
        for strand in 0..strands.len() {
            let end = landing.port.end;
            let other = if end == CableEnd::A { CableEnd::B } else { CableEnd::A };
            let levels = [end, other].map(|end| self.wire_level(run, end, strand));
            let gather = at(self.gather_x(landing), landing.ys[strand]);
            if is_labelled(&landing.port) {
                let mut points = self.departure(landing, strand);
                points.push(gather);
                self.draw_strand(sheet, (run, strand), landing, &Stretch { points, levels });
            } else {
                let mut points = vec![gather];
                points.extend(arrival(landing, strand));
                sheet.line(&points, levels[0].pattern());
            }
        }
        if is_labelled(&landing.port) {
            self.draw_contacts(sheet, run, landing);
        }
    }

    /// The first stretch of a strand from a right flank, crossed over where two are exchanged.
    fn departure(&self, landing: &Landing<'_>, strand: usize) -> Vec<Point> {
        let (joint, line) = (landing.joint_ys[strand], landing.ys[strand]);
        let cross = landing.edge + landing.label.mark_zone();
        let mut points = vec![at(landing.edge, joint)];
        if landing.label.crossed {
            points.extend([at(cross, joint), at(cross + CROSS_ZONE - 4.0, line)]);
        }
        points
    }

    /// A strand with its current, cut where the cable is wrong inside.
    fn draw_strand(
        &self,
        sheet: &mut Sheet,
        (run, strand): (usize, usize),
        landing: &Landing<'_>,
        Stretch { points, levels }: &Stretch,
    ) {
        let y = landing.ys[strand];
        let marks = self.strand_marks(run, strand);
        let last = marks.last().map(|&(station, _)| self.station_x(landing, run, station));
        match last {
            // Past the last bad place the conductor is at the far end's potential.
            Some(x) => {
                let before = points.iter().filter(|point| point.x < x).copied();
                let near: Vec<Point> = before.chain([at(x, y)]).collect();
                let far = points.iter().filter(|point| point.x > x).copied();
                let far: Vec<Point> = [at(x, y)].into_iter().chain(far).collect();
                sheet.line(&near, levels[0].pattern());
                sheet.line(&far, levels[1].pattern());
            }
            None => sheet.line(points, levels[0].pattern()),
        }
        for (station, mark) in marks {
            let x = self.station_x(landing, run, station);
            if mark.sign != mark::Sign::Bridge {
                mark::sign(sheet, at(x, y), mark.sign);
                mark::badge(sheet, at(x + 21.0, y), &[mark.number]);
            }
        }
        if let Some(flow) = landing.label.flows.get(strand).and_then(Option::as_ref) {
            let left = landing.edge + landing.label.text_left();
            sheet.text(at(left, y - 9.0), CURRENT, &flow.value);
            let ahead = flow.forward == (landing.port.end == CableEnd::A);
            arrow(sheet, at(left + landing.label.text_width / 2.0, y), ahead);
        }
    }

    /// The marks on one strand, each with the number of its station along the drawn stretch.
    fn strand_marks(&self, run: usize, strand: usize) -> Vec<(usize, Mark)> {
        let drawn = &self.source.survey.runs[run];
        let fractions = stations(self.source, run);
        self.cable_marks(run)
            .iter()
            .filter(|mark| mark.conductor == drawn.strands[strand].name && mark.touches.is_none())
            .filter_map(|mark| {
                let station =
                    fractions.iter().position(|f| f.total_cmp(&mark.at_fraction).is_eq())?;
                Some((station, mark.mark))
            })
            .collect()
    }

    fn cable_marks(&self, run: usize) -> &[CableMark] {
        let cable = &self.source.survey.runs[run].cable.id;
        self.source.marks.by_cable.get(cable).map_or(&[], Vec::as_slice)
    }

    fn station_x(&self, landing: &Landing<'_>, run: usize, station: usize) -> f64 {
        let count = stations(self.source, run).len();
        // Seen from end b, the stations come in the other order.
        let step = if landing.port.end == CableEnd::A { station } else { count - 1 - station };
        let left = landing.edge + landing.label.text_left() + landing.label.text_width;
        left + STATION_PITCH * step as f64 + 14.0
    }

    /// Conductors that touch inside a cable, or touch earth.
    fn draw_contacts(&self, sheet: &mut Sheet, run: usize, landing: &Landing<'_>) {
        let fractions = stations(self.source, run);
        let strands = &self.source.survey.runs[run].strands;
        let line = |name: &str| strands.iter().position(|strand| strand.name == name);
        for mark in self.cable_marks(run) {
            let Some(touches) = &mark.touches else { continue };
            let found = fractions.iter().position(|f| f.total_cmp(&mark.at_fraction).is_eq());
            let x = self.station_x(landing, run, found.unwrap_or(0));
            let (one, other) = match (line(&mark.conductor), line(touches)) {
                (Some(one), Some(other)) => (landing.ys[one], landing.ys[other]),
                (Some(one), None) | (None, Some(one)) => (landing.ys[one], landing.ys[one] + 14.0),
                (None, None) => continue,
            };
            mark::bridge(sheet, &[at(x, one), at(x, other)]);
            mark::badge(sheet, at(x + 21.0, one), &[mark.mark.number]);
        }
    }

    fn draw_label(&self, sheet: &mut Sheet, landing: &Landing<'_>) {
        let lines = &landing.label.lines;
        let Some(first) = landing.ys.iter().copied().reduce(f64::min) else { return };
        let first = if landing.port.main {
            self.floor.frame(self.source.arrangement, landing.spot).first_line.unwrap_or(first)
        } else {
            first
        };
        let foot = label_foot(first);
        let top = foot - LABEL.pitch() * (lines.len() as f64 - 1.0);
        let x = landing.edge + landing.label.text_left();
        sheet.lines(at(x, top), LABEL, lines);
    }

    fn wire_level(&self, run: usize, end: CableEnd, strand: usize) -> Level {
        let drawn = &self.source.survey.runs[run];
        let wire_end =
            crate::circuit::connection::wire_end(&drawn.cable.id, end, drawn.strands[strand].name);
        self.source.meter.read(&wire_end).level
    }
}

/// The last stretch of a strand to a left flank, crossed over where two are exchanged.
fn arrival(landing: &Landing<'_>, strand: usize) -> Vec<Point> {
    let (joint, line) = (landing.joint_ys[strand], landing.ys[strand]);
    if !landing.label.crossed {
        return vec![at(landing.edge, joint)];
    }
    let near = landing.edge - landing.label.mark_zone();
    vec![at(near - CROSS_ZONE + 4.0, line), at(near, joint), at(landing.edge, joint)]
}

/// An arrow on a line.
fn arrow(sheet: &mut Sheet, centre: Point, to_the_right: bool) {
    let way = if to_the_right { 1.0 } else { -1.0 };
    let p = |x: f64, y: f64| at(centre.x + way * x, centre.y + y);
    sheet.area(&[p(8.0, 0.0), p(-7.0, -5.5), p(-7.0, 5.5)], Ink::Black);
}
