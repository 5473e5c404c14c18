//! One box on paper: its size, and how its lanes, slots, cables and notes are drawn.

use super::arrange::Flank;
use super::content::{Between, Block, Content, End, Lane, Note, Slot, Symbol};
use super::glyph::wrap;
use super::mark::{self, Mark, SIGN_RADIUS};
use super::pen::{Anchor, Ink, Pattern, Type};
use super::reading::{Level, Reading};
use super::sheet::{Point, Sheet, at};

const TITLE: Type = Type::bold(16.0);
const SUBTITLE: Type = Type::regular(12.0);
const NAME: Type = Type::regular(12.0);
const VALUE: Type = Type::bold(17.0);
const SMALL: Type = Type::regular(12.0);
const NOTE: Type = Type::regular(13.0);

/// From the line of a value up to that of the name above it.
const VALUE_PITCH: f64 = VALUE.size + 0.5;
/// From the line of what must be known beside a value up to that of the value.
const NOTE_PITCH: f64 = NAME.size + 2.0;

const WIDTH_MIN: f64 = 132.0;
/// A title wider than this is broken.
const TITLE_MAX: f64 = 200.0;
/// A note wider than this is broken.
const NOTE_MAX: f64 = 120.0;
/// A conductor's name wider than this is broken.
const NAME_MAX: f64 = 110.0;
const PADDING: f64 = 8.0;
/// From a box's edge to what hangs on a lane: room for the sign on the edge.
const EDGE: f64 = 22.0;
/// A bridge between lanes with its number.
const BRIDGE_PITCH: f64 = 30.0;
/// A contact between the two ends of a lane.
const CONTACT_WIDTH: f64 = 46.0;
/// Between the lanes of a cable that is not on the row's lanes.
pub(super) const STRAND_PITCH: f64 = 26.0;
/// Where the first such lane lies below the cable's header.
const STRAND_FIRST: f64 = 24.0;
const STUB: f64 = 8.0;
const STUB_MARKED: f64 = 28.0;

/// What a lane needs above and below its line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct LaneSize {
    /// Height of the tallest slot or value.
    pub(super) plate: f64,
    /// From the slots down to the line.
    pub(super) stub: f64,
    /// Below the line.
    pub(super) below: f64,
}

impl LaneSize {
    pub(super) fn max(self, other: Self) -> Self {
        Self {
            plate: self.plate.max(other.plate),
            stub: self.stub.max(other.stub),
            below: self.below.max(other.below),
        }
    }
}

/// A box measured.
#[derive(Debug)]
pub(super) struct Measured<'c> {
    pub(super) content: &'c Content,
    pub(super) width: f64,
    /// Name and what stands under it.
    pub(super) header: f64,
    /// Below the lanes: further cables and notes.
    pub(super) below: f64,
    title: Vec<String>,
    subtitle: Vec<String>,
    columns: Vec<f64>,
    has_contacts: bool,
    /// What the lanes do not need of the width, before their first slot.
    slack: f64,
    /// Tops of the further cables, below the lanes.
    pub(super) block_tops: Vec<f64>,
    notes: Vec<Vec<String>>,
    note_indent: f64,
}

impl<'c> Measured<'c> {
    /// A box at least as wide as asked. `block_labels` holds the height of the label beside
    /// each further cable.
    pub(super) fn of(content: &'c Content, block_labels: &[f64], at_least: f64) -> Self {
        let columns = column_widths(content);
        let has_contacts = !content.switched.is_empty()
            || content.lanes.iter().any(|lane| match &lane.between {
                Between::Contact { .. } => true,
                Between::Metal(marks) => !marks.is_empty(),
                Between::Nothing => false,
            });
        let hazard = if content.is_hazardous { 24.0 } else { 0.0 };
        let title_width = TITLE.width(&content.title) + 2.0 * PADDING + hazard;
        let marked =
            content.notes.iter().map(|note| mark::badge_width(&mark::numbers(&note.marks)));
        let has_marks = content.notes.iter().any(|note| !note.marks.is_empty());
        let badges = if has_marks { marked.fold(0.0, f64::max) + 6.0 } else { 0.0 };
        let note_indent = PADDING + 24.0 + badges;
        let notes = content.notes.iter().map(|note| NOTE.width(&note.text));
        let notes = note_indent + PADDING + notes.fold(0.0, f64::max).min(NOTE_MAX);
        let bare_width = lanes_width(content, &columns, has_contacts);
        let width = bare_width
            .max(at_least)
            .max(if content.notes.is_empty() { 0.0 } else { notes })
            .max(content.blocks.iter().map(block_width).fold(0.0, f64::max))
            .max(title_width.min(TITLE_MAX))
            .max(WIDTH_MIN)
            .ceil();
        let inner = width - 2.0 * PADDING;
        let title = wrap(&content.title, inner - hazard, TITLE.size, TITLE.weight);
        let subtitle: Vec<String> = content
            .subtitle
            .iter()
            .flat_map(|line| wrap(line, inner, SUBTITLE.size, SUBTITLE.weight))
            .collect();
        let notes: Vec<Vec<String>> = content
            .notes
            .iter()
            .map(|note| wrap(&note.text, width - note_indent - PADDING, NOTE.size, NOTE.weight))
            .collect();
        let mut block_tops = Vec::new();
        let mut below = 6.0;
        for (block, label) in content.blocks.iter().zip(block_labels) {
            let header = SUBTITLE.pitch() * header_lines(block, inner).len() as f64;
            let header = header.max(label - 6.0);
            block_tops.push(below + header);
            below += header + STRAND_FIRST + STRAND_PITCH * block.strands.len() as f64;
        }
        let notes_height: f64 = notes.iter().map(|lines| note_height(lines)).sum();
        let below = below + notes_height + if notes.is_empty() { 0.0 } else { PADDING };
        let header = 6.0
            + TITLE.pitch() * title.len() as f64
            + SUBTITLE.pitch() * subtitle.len() as f64
            + if content.outlet_names.is_empty() { 0.0 } else { SUBTITLE.pitch() }
            + 8.0;
        Self {
            content,
            width,
            header,
            below,
            title,
            subtitle,
            columns,
            has_contacts,
            slack: if content.bridges.is_empty() && !has_contacts {
                (width - bare_width) / 2.0
            } else {
                0.0
            },
            block_tops,
            notes,
            note_indent,
        }
    }

    /// What a lane of this box needs.
    pub(super) fn lane_size(&self, lane: &Lane) -> LaneSize {
        let slots = lane.slots.iter().flatten();
        let plates = slots.map(|slot| plate_height(&slot.name, &slot.reading));
        let plate = match lane.slots.iter().flatten().next() {
            Some(_) => plates.fold(0.0, f64::max),
            None => shown_end(lane).map_or(0.0, |end| plate_height(&end.name, &end.reading)),
        };
        let marked = lane.slots.iter().flatten().any(|slot| !slot.marks.is_empty());
        let bridged = self.content.bridges.iter().any(|bridge| {
            bridge.ends.iter().any(|&(number, _)| {
                self.content.lanes.get(number).is_some_and(|other| std::ptr::eq(other, lane))
            })
        });
        let stub = if marked { STUB_MARKED } else { STUB };
        let noted = end_notes(lane).iter().any(Option::is_some);
        let below = if noted { SMALL.pitch() + 4.0 } else { 0.0 };
        LaneSize { plate, stub, below: below + if bridged { 4.0 } else { 0.0 } }
    }

    /// The y of a strand of a further cable, from the bottom of the lanes.
    pub(super) fn strand_y(&self, block: usize, strand: usize) -> f64 {
        let top = self.block_tops.get(block).copied().unwrap_or(0.0);
        top + STRAND_FIRST + STRAND_PITCH * strand as f64
    }

    /// Draws the box. `lane_y` gives the line of each of its lanes and the height of its slots'
    /// lower edge above that; `lanes_bottom` is where what lies below the lanes begins.
    pub(super) fn draw(&self, sheet: &mut Sheet, frame: &Frame<'_>) {
        let content = self.content;
        let edge = if content.is_panel { Pattern::Stroke } else { Pattern::Hair };
        let height = frame.lanes_bottom + self.below - frame.corner.y;
        let radius = if content.is_panel { 0.0 } else { 6.0 };
        sheet.rounded(frame.corner, (self.width, height), radius, (Ink::White, Some(edge)));
        self.draw_header(sheet, frame);
        for (lane, place) in content.lanes.iter().zip(frame.lanes) {
            self.draw_lane(sheet, frame, lane, place);
        }
        self.draw_switched(sheet, frame);
        self.draw_bridges(sheet, frame);
        for (number, block) in content.blocks.iter().enumerate() {
            self.draw_block(sheet, frame, number, block);
        }
        self.draw_notes(sheet, frame);
    }

    fn draw_header(&self, sheet: &mut Sheet, frame: &Frame<'_>) {
        let left = frame.corner.x + PADDING;
        let mut y = frame.corner.y + 4.0 + TITLE.size;
        sheet.lines(at(left, y), TITLE, &self.title);
        y += TITLE.pitch() * self.title.len() as f64 - 2.0;
        sheet.lines(at(left, y), SUBTITLE, &self.subtitle);
        if self.content.is_hazardous {
            danger(sheet, at(frame.corner.x + self.width - 17.0, frame.corner.y + 15.0));
        }
        let names = frame.lanes_top - 4.0;
        for (column, name) in self.content.outlet_names.iter().enumerate() {
            let set = SUBTITLE.middle();
            let fitting = wrap(name, self.column_width(column), set.size, set.weight);
            sheet.text(at(self.column_centre(frame, column), names), set, first_line(&fitting));
        }
    }

    fn plates_left(&self, frame: &Frame<'_>) -> f64 {
        frame.corner.x + EDGE + self.slack + self.bridges_width()
    }

    fn bridges_width(&self) -> f64 {
        BRIDGE_PITCH * self.content.bridges.len() as f64
    }

    fn column_width(&self, column: usize) -> f64 {
        self.columns.get(column).copied().unwrap_or(0.0)
    }

    fn column_centre(&self, frame: &Frame<'_>, column: usize) -> f64 {
        let before: f64 = self.columns.iter().take(column).map(|width| width + PADDING).sum();
        self.plates_left(frame) + before + self.column_width(column) / 2.0
    }

    fn contact_x(&self, frame: &Frame<'_>) -> f64 {
        frame.corner.x + self.width - EDGE - CONTACT_WIDTH / 2.0
    }

    fn draw_lane(&self, sheet: &mut Sheet, frame: &Frame<'_>, lane: &Lane, place: &LanePlace) {
        let right = frame.corner.x + self.width;
        // The bars of a panel are its own: nothing arrives from the left.
        let left = frame.corner.x + if self.content.is_root { EDGE - 8.0 } else { 0.0 };
        let y = place.line;
        let levels = lane.ends.clone().map(|end| end.map(|end| end.reading.level));
        let hanging = self.column_centre(frame, 0);
        let number = content_lane_number(self.content, lane);
        let leaves = self.content.switched.iter().any(|switched| Some(switched.from) == number);
        let middle = match lane.between {
            Between::Contact { .. } => self.contact_x(frame) - 12.0,
            _ if leaves => self.contact_x(frame),
            _ => hanging,
        };
        // A wire that ends here ends under the last slot that hangs on it.
        let columns = lane.slots.iter().enumerate().filter(|(_, slot)| slot.is_some());
        let reach =
            columns.map(|(column, _)| self.column_centre(frame, column)).fold(middle, f64::max);
        match (levels, &lane.between) {
            ([Some(one), Some(other)], Between::Contact { .. }) => {
                sheet.line(&[at(left, y), at(middle, y)], one.pattern());
                sheet.line(&[at(self.contact_x(frame) + 12.0, y), at(right, y)], other.pattern());
            }
            ([Some(one), Some(other)], Between::Metal(_)) => {
                let split = self.contact_x(frame).max(reach);
                let split = if self.has_contacts { split } else { right };
                sheet.line(&[at(left, y), at(split, y)], one.pattern());
                sheet.line(&[at(split, y), at(right, y)], other.pattern());
            }
            ([one, other], _) => {
                if let Some(one) = one {
                    sheet.line(&[at(left, y), at(reach, y)], one.pattern());
                }
                if let Some(other) = other {
                    let start = if one.is_some() { self.contact_x(frame) } else { hanging };
                    sheet.line(&[at(start, y), at(right, y)], other.pattern());
                }
            }
        }
        self.draw_between(sheet, frame, lane, y);
        self.draw_slots(sheet, frame, lane, place);
        let [left_note, right_note] = end_notes(lane);
        let below = y + 4.0 + SMALL.size;
        if let Some(text) = left_note {
            let left = frame.corner.x + EDGE + self.bridges_width();
            sheet.text(at(left, below), SMALL, &text);
        }
        if let Some(text) = right_note {
            sheet.text(at(right - EDGE, below), SMALL.end(), &text);
        }
    }

    fn draw_between(&self, sheet: &mut Sheet, frame: &Frame<'_>, lane: &Lane, y: f64) {
        let centre = at(self.contact_x(frame), y);
        let marks = match &lane.between {
            Between::Nothing => return,
            Between::Metal(marks) => {
                if let Some(mark) = marks.first() {
                    mark::sign(sheet, centre, mark.sign);
                }
                marks
            }
            Between::Contact { closed, marks } => {
                contact(sheet, centre, *closed);
                if let Some(mark) = marks.first() {
                    mark::sign(sheet, centre, mark.sign);
                }
                marks
            }
        };
        mark::badge(sheet, at(centre.x, y - SIGN_RADIUS - 12.0), &mark::numbers(marks));
    }

    /// Switches that lead from one lane to another.
    fn draw_switched(&self, sheet: &mut Sheet, frame: &Frame<'_>) {
        for (number, switched) in self.content.switched.iter().enumerate() {
            let line = |lane: usize| frame.lanes.get(lane).map_or(0.0, |place| place.line);
            let (from, to) = (line(switched.from), line(switched.to));
            let x = self.contact_x(frame) + 8.0 * number as f64;
            let level = |lane: usize, end: usize| {
                let end = self.content.lanes.get(lane).and_then(|lane| lane.ends[end].as_ref());
                end.map_or(Level::Unknown, |end| end.reading.level)
            };
            // The contact is close to the lane it comes from, clear of those it passes.
            let centre = at(x, from + if to > from { 18.0 } else { -18.0 });
            let [before, after] = [level(switched.from, 0), level(switched.to, 1)];
            sheet.line(&[at(x, from), centre], before.pattern());
            sheet.line(&[centre, at(x, to)], after.pattern());
            sheet.disc(at(x, from), 4.0, Ink::Black, false);
            sheet.disc(at(x, to), 4.0, Ink::Black, false);
            upright_contact(sheet, centre, switched.closed);
            if let Some(mark) = switched.marks.first() {
                mark::sign(sheet, centre, mark.sign);
                let numbers = mark::numbers(&switched.marks);
                mark::badge(sheet, at(centre.x + 20.0, centre.y), &numbers);
            }
        }
    }

    fn draw_slots(&self, sheet: &mut Sheet, frame: &Frame<'_>, lane: &Lane, place: &LanePlace) {
        let foot = place.line - place.stub;
        let mut any = false;
        for (column, slot) in lane.slots.iter().enumerate() {
            let Some(slot) = slot else { continue };
            any = true;
            let x = self.column_centre(frame, column);
            if lane.ends.iter().any(Option::is_some) {
                sheet.line(&[at(x, foot), at(x, place.line)], slot.reading.level.pattern());
                sheet.disc(at(x, place.line), 4.0, Ink::Black, false);
            }
            slot_plate(sheet, at(x, foot), self.column_width(column), slot);
            if let Some(mark) = slot.marks.first() {
                let centre = at(x, (foot + place.line) / 2.0 - 1.0);
                mark::sign(sheet, centre, mark.sign);
                mark::badge(sheet, at(centre.x + 21.0, centre.y), &mark::numbers(&slot.marks));
            }
        }
        if let (false, Some(end)) = (any, shown_end(lane)) {
            let x = self.column_centre(frame, 0);
            sheet.disc(at(x, place.line), 4.0, Ink::Black, false);
            value(sheet, at(x, foot), &end.name, &end.reading, Ink::Black);
        }
    }

    fn draw_bridges(&self, sheet: &mut Sheet, frame: &Frame<'_>) {
        for (number, bridge) in self.content.bridges.iter().enumerate() {
            let x = frame.corner.x + EDGE + BRIDGE_PITCH * number as f64 + 6.0;
            let ends = bridge.ends.map(|(lane, column)| {
                let place = frame.lanes.get(lane).copied().unwrap_or_default();
                match column {
                    // Slots are joined at their plates, before their pigtails.
                    Some(column) => {
                        let before = self.column_centre(frame, column);
                        let y = place.line - place.stub - 18.0;
                        (at(before - self.column_width(column) / 2.0, y), y)
                    }
                    None => (at(x, place.line), place.line),
                }
            });
            let [(one, one_y), (other, other_y)] = ends;
            mark::bridge(sheet, &[one, at(x, one_y), at(x, other_y), other]);
            let middle = at(x, (one_y + other_y) / 2.0);
            mark::badge(sheet, middle, &[bridge.mark.number]);
        }
    }

    fn draw_block(&self, sheet: &mut Sheet, frame: &Frame<'_>, number: usize, block: &Block) {
        let (left, right) = (frame.corner.x, frame.corner.x + self.width);
        let top = frame.lanes_bottom + self.block_tops.get(number).copied().unwrap_or(0.0);
        let lines = header_lines(block, self.width - 2.0 * PADDING);
        let first = top - SUBTITLE.pitch() * (lines.len() as f64 - 1.0) - 2.0;
        let is_right = block.port.flank == Flank::Right;
        let header =
            Type { anchor: if is_right { Anchor::End } else { Anchor::Start }, ..SUBTITLE };
        let header_x = if is_right { right - PADDING } else { left + PADDING };
        sheet.lines(at(header_x, first), header, &lines);
        for (strand_number, strand) in block.strands.iter().enumerate() {
            let y = frame.lanes_bottom + self.strand_y(number, strand_number);
            let (edge, inward) = if is_right { (right, -1.0) } else { (left, 1.0) };
            let length = if strand.contact.is_some() { 52.0 } else { EDGE };
            let foot = edge + inward * length;
            if let Some(reading) = &strand.reading {
                sheet.line(&[at(edge, y), at(foot, y)], reading.level.pattern());
            }
            sheet.disc(at(foot, y), 3.5, Ink::Black, false);
            if let Some((closed, marks)) = &strand.contact {
                let centre = at(edge + inward * 31.0, y);
                contact(sheet, centre, *closed);
                if let Some(mark) = marks.first() {
                    mark::sign(sheet, centre, mark.sign);
                    mark::badge(sheet, at(centre.x, y + 12.0), &mark::numbers(marks));
                }
            }
            let anchor = if is_right { Anchor::End } else { Anchor::Start };
            let text = strand_text(&strand.name, strand.reading.as_ref());
            sheet.text(at(foot + inward * 8.0, y + 4.0), Type { anchor, ..SMALL }, &text);
        }
    }

    fn draw_notes(&self, sheet: &mut Sheet, frame: &Frame<'_>) {
        let height: f64 = self.notes.iter().map(|lines| note_height(lines)).sum();
        let mut top = frame.lanes_bottom + self.below - PADDING - height;
        for (note, lines) in self.content.notes.iter().zip(&self.notes) {
            self.draw_note(sheet, at(frame.corner.x, top), note, lines);
            top += note_height(lines);
        }
    }

    fn draw_note(&self, sheet: &mut Sheet, corner: Point, note: &Note, lines: &[String]) {
        let middle = corner.y + NOTE.size / 2.0 + 3.0;
        symbol(sheet, at(corner.x + PADDING + 9.0, middle), note.symbol);
        if let Some(mark) = note.marks.first() {
            let numbers = mark::numbers(&note.marks);
            if note.symbol == Symbol::None || mark.sign == mark::Sign::Open {
                mark::sign(sheet, at(corner.x + PADDING + 9.0, middle), mark.sign);
            }
            let x = corner.x + PADDING + 22.0 + mark::badge_width(&numbers) / 2.0;
            mark::badge(sheet, at(x, middle), &numbers);
        }
        let place = at(corner.x + self.note_indent, corner.y + NOTE.size);
        sheet.lines(place, NOTE, lines);
    }
}

/// Where the line of a lane lies in a row.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct LanePlace {
    pub(super) line: f64,
    /// From the lower edge of the slots to the line.
    pub(super) stub: f64,
}

/// Where a box stands.
#[derive(Debug)]
pub(super) struct Frame<'f> {
    pub(super) corner: Point,
    /// Where the lanes of the row begin and end.
    pub(super) lanes_top: f64,
    pub(super) lanes_bottom: f64,
    /// The uppermost line of the row.
    pub(super) first_line: Option<f64>,
    /// The lines of the box's own lanes.
    pub(super) lanes: &'f [LanePlace],
}

fn content_lane_number(content: &Content, lane: &Lane) -> Option<usize> {
    content.lanes.iter().position(|other| std::ptr::eq(other, lane))
}

/// What a lane shows where no slot hangs on it.
fn shown_end(lane: &Lane) -> Option<&End> {
    lane.ends.iter().flatten().next()
}

/// What a reader must know of the two ends of a lane beside what its slots show.
fn end_notes(lane: &Lane) -> [Option<String>; 2] {
    let slots: Vec<&Slot> = lane.slots.iter().flatten().collect();
    let shown = slots.first().map(|slot| &slot.reading);
    let [left, right] = &lane.ends;
    let differs =
        |end: &End, from: Option<&Reading>| from.is_some_and(|from| end.reading.differs(from));
    let renamed = |end: &End| slots.first().is_some_and(|slot| slot.name != end.name);
    let words = |end: &End| match renamed(end) {
        true => format!("{} {}", end.name, end.reading.in_words()),
        false => end.reading.in_words(),
    };
    let left_note = left.as_ref().filter(|end| differs(end, shown) || renamed(end)).map(words);
    let before = left.as_ref().map(|end| &end.reading).or(shown);
    let right_note = match (left, right) {
        (Some(_), Some(end)) => differs(end, before).then(|| words(end)),
        (None, Some(end)) => (differs(end, shown) || renamed(end)).then(|| words(end)),
        _ => None,
    };
    [left_note, right_note]
}

fn column_widths(content: &Content) -> Vec<f64> {
    let columns = content.lanes.iter().map(|lane| lane.slots.len()).max().unwrap_or(0).max(1);
    let width = |name: &str, reading: &Reading| {
        let name = NAME.width(name).min(NAME_MAX);
        let note = reading.note.as_deref().map_or(0.0, |note| NAME.width(note));
        VALUE.width(&reading.value).max(name).max(note) + 14.0
    };
    (0..columns)
        .map(|column| {
            let lanes = content.lanes.iter();
            let slots = lanes.clone().filter_map(|lane| lane.slots.get(column)?.as_ref());
            let plates = slots.map(|slot| width(&slot.name, &slot.reading));
            let bare = lanes.filter(|lane| column == 0 && lane.slots.iter().all(Option::is_none));
            let values = bare.filter_map(shown_end).map(|end| width(&end.name, &end.reading));
            plates.chain(values).fold(76.0, f64::max).ceil()
        })
        .collect()
}

fn lanes_width(content: &Content, columns: &[f64], has_contacts: bool) -> f64 {
    let plates: f64 = columns.iter().sum::<f64>() + PADDING * (columns.len() as f64 - 1.0);
    let notes = content.lanes.iter().map(|lane| {
        let widths = end_notes(lane).map(|note| note.map_or(0.0, |note| SMALL.width(&note)));
        widths.iter().sum::<f64>() + 12.0
    });
    let bridges = BRIDGE_PITCH * content.bridges.len() as f64;
    let contacts = if has_contacts { CONTACT_WIDTH } else { 0.0 };
    bridges + 2.0 * EDGE + (plates + contacts).max(notes.fold(0.0, f64::max))
}

fn block_width(block: &Block) -> f64 {
    let strands = block.strands.iter().map(|strand| {
        let length = if strand.contact.is_some() { 52.0 } else { EDGE };
        SMALL.width(&strand_text(&strand.name, strand.reading.as_ref())) + length + 16.0
    });
    strands.fold(0.0, f64::max)
}

fn strand_text(name: &str, reading: Option<&Reading>) -> String {
    match reading {
        Some(reading) => format!("{name} {}", reading.in_words()),
        None => format!("{name} capped"),
    }
}

fn header_lines(block: &Block, width: f64) -> Vec<String> {
    wrap(&block.header, width, SUBTITLE.size, SUBTITLE.weight)
}

fn note_height(lines: &[String]) -> f64 {
    NOTE.pitch() * lines.len().max(1) as f64 + 5.0
}

fn first_line(lines: &[String]) -> &str {
    lines.first().map_or("", String::as_str)
}

fn plate_height(name: &str, reading: &Reading) -> f64 {
    let names = wrap(name, NAME_MAX, NAME.size, NAME.weight).len() as f64;
    let note = if reading.note.is_some() { NOTE_PITCH } else { 0.0 };
    names * (NAME.size + 1.0) + VALUE_PITCH + note + 9.0
}

/// A slot: black where it is live, framed in the pattern of its level elsewhere.
fn slot_plate(sheet: &mut Sheet, foot: Point, width: f64, slot: &Slot) {
    let height = plate_height(&slot.name, &slot.reading);
    let corner = at(foot.x - width / 2.0, foot.y - height);
    let level = slot.reading.level;
    let ink = match level {
        Level::Live | Level::OtherLeg => {
            sheet.rounded(corner, (width, height), 3.0, (Ink::Black, None));
            if level == Level::OtherLeg {
                let inner = (width - 6.0, height - 6.0);
                sheet.rounded(at(corner.x + 3.0, corner.y + 3.0), inner, 2.0, (Ink::White, None));
                let core = (width - 9.0, height - 9.0);
                sheet.rounded(at(corner.x + 4.5, corner.y + 4.5), core, 1.0, (Ink::Black, None));
            }
            Ink::White
        }
        level => {
            sheet.rect(corner, (width, height), Ink::White, level.pattern());
            Ink::Black
        }
    };
    value(sheet, foot, &slot.name, &slot.reading, ink);
}

/// A name over a value over what must be known, standing on a point.
fn value(sheet: &mut Sheet, foot: Point, name: &str, reading: &Reading, ink: Ink) {
    let mut y = foot.y - 7.0;
    if let Some(note) = &reading.note {
        sheet.text(at(foot.x, y), NAME.middle().ink(ink), note);
        y -= NOTE_PITCH;
    }
    sheet.text(at(foot.x, y), VALUE.middle().ink(ink), &reading.value);
    y -= VALUE_PITCH;
    for line in wrap(name, NAME_MAX, NAME.size, NAME.weight).iter().rev() {
        sheet.text(at(foot.x, y), NAME.middle().ink(ink), line);
        y -= NAME.size + 1.0;
    }
}

/// A contact in a conductor, closed or open, 24 wide.
pub(super) fn contact(sheet: &mut Sheet, centre: Point, closed: bool) {
    sheet.rounded(at(centre.x - 12.0, centre.y - 5.0), (24.0, 10.0), 0.0, (Ink::White, None));
    arm(sheet, centre, 12.0, closed);
}

/// The same in a conductor that runs down.
fn upright_contact(sheet: &mut Sheet, centre: Point, closed: bool) {
    let (top, bottom) = (at(centre.x, centre.y - 9.0), at(centre.x, centre.y + 9.0));
    sheet.rounded(at(centre.x - 4.0, top.y), (8.0, 18.0), 0.0, (Ink::White, None));
    let end = if closed { bottom } else { at(centre.x + 9.0, centre.y + 6.0) };
    sheet.line(&[top, end], Pattern::Stroke);
    for pole in [top, bottom] {
        sheet.disc(pole, 3.4, Ink::White, true);
    }
}

/// Two poles and the arm between them.
fn arm(sheet: &mut Sheet, centre: Point, half: f64, closed: bool) {
    let (left, right) = (at(centre.x - half, centre.y), at(centre.x + half, centre.y));
    let arm = if closed { right } else { at(centre.x + 0.7 * half, centre.y - 0.9 * half) };
    sheet.line(&[left, arm], Pattern::Stroke);
    for end in [left, right] {
        sheet.disc(end, 3.4, Ink::White, true);
    }
}

/// The sign before a note.
pub(super) fn symbol(sheet: &mut Sheet, centre: Point, symbol: Symbol) {
    let p = |x: f64, y: f64| at(centre.x + x, centre.y + y);
    match symbol {
        Symbol::LoadOn => {
            sheet.disc(centre, 8.0, Ink::Black, true);
            sheet.inked_line(&[p(0.0, -4.5), p(0.0, 4.5)], Pattern::Stroke, Ink::White);
        }
        Symbol::LoadOff => sheet.disc(centre, 8.0, Ink::White, true),
        Symbol::Unplugged => {
            sheet.disc(p(-3.0, 0.0), 5.0, Ink::White, true);
            sheet.line(&[p(4.5, -3.0), p(9.5, -3.0)], Pattern::Thin);
            sheet.line(&[p(4.5, 3.0), p(9.5, 3.0)], Pattern::Thin);
        }
        Symbol::Closed => arm(sheet, p(0.0, 0.0), 7.0, true),
        Symbol::Open => arm(sheet, p(0.0, 2.0), 7.0, false),
        Symbol::Line(level) => sheet.line(&[p(-9.0, 0.0), p(10.0, 0.0)], level.pattern()),
        Symbol::Earth => {
            sheet.line(&[p(0.0, -8.0), p(0.0, -1.0)], Pattern::Thin);
            for (half, y) in [(8.0, -1.0), (5.0, 3.0), (2.0, 7.0)] {
                sheet.line(&[p(-half, y), p(half, y)], Pattern::Thin);
            }
        }
        Symbol::None => {}
    }
}

/// The triangle of a hazard.
pub(super) fn danger(sheet: &mut Sheet, centre: Point) {
    let p = |x: f64, y: f64| at(centre.x + x, centre.y + y);
    sheet.area(&[p(0.0, -11.0), p(12.0, 9.0), p(-12.0, 9.0)], Ink::Black);
    sheet.inked_line(&[p(0.0, -4.0), p(0.0, 2.0)], Pattern::Stroke, Ink::White);
    sheet.disc(p(0.0, 6.0), 1.5, Ink::White, false);
}

/// The sign and number of a joint, standing outside the box's edge.
pub(super) fn joint(sheet: &mut Sheet, edge: Point, flank: Flank, marks: &[Mark]) {
    let Some(first) = marks.first() else {
        sheet.disc(edge, 3.4, Ink::Black, false);
        return;
    };
    mark::sign(sheet, edge, first.sign);
    let numbers = mark::numbers(marks);
    let away = SIGN_RADIUS + 3.0 + mark::badge_width(&numbers) / 2.0;
    let x = if flank == Flank::Right { edge.x + away } else { edge.x - away };
    mark::badge(sheet, at(x, edge.y), &numbers);
}
