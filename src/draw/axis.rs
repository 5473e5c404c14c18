//! The diagram of potentials: a strip for each conductor, one above the other over the same
//! distance.

use crate::circuit::Vocabulary;
use crate::report::figure;

use super::glyph::wrap;
use super::mark;
use super::pen::{Ink, Pattern, Type};
use super::profile::{Course, Sample, Stop};
use super::reading::Level;
use super::sheet::{Sheet, at};

const NAME: Type = Type::bold(14.0);
const TICK: Type = Type::regular(12.0);
const STEP: Type = Type::bold(13.0);
const STOP: Type = Type::bold(13.0);

const WIDTH: f64 = 960.0;
/// The axis of volts and its figures.
const LEFT: f64 = 74.0;
/// Beside the last box: room for half its name.
const RIGHT: f64 = 66.0;
/// The name of a conductor above its strip.
const HEAD: f64 = 26.0;
const STRIP: f64 = 150.0;
const STRIP_GAP: f64 = 22.0;
/// A narrower range of volts would draw nothing as something.
const RANGE_MIN_VOLT: f64 = 1.0;
/// A smaller change at one point is no step to a person.
const STEP_MIN_VOLT: f64 = 0.2;
const METRES_PER_FOOT: f64 = 0.3048;
/// A box's name wider than this is broken.
const STOP_WIDTH_MAX: f64 = 110.0;

/// What is drawn.
#[derive(Debug)]
pub(super) struct Diagram<'d> {
    pub(super) stops: &'d [Stop],
    pub(super) courses: &'d [Course],
    pub(super) vocabulary: Vocabulary,
}

/// A scale of volts: from, to, and between two ticks.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Scale {
    low: f64,
    high: f64,
    tick: f64,
}

impl Scale {
    /// Round figures around every value.
    fn around(values: impl Iterator<Item = f64>) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values {
            (low, high) = (low.min(value), high.max(value));
        }
        if low > high {
            (low, high) = (0.0, RANGE_MIN_VOLT);
        }
        if high - low < RANGE_MIN_VOLT {
            let middle = (low + high) / 2.0;
            // Potentials are magnitudes: nothing is below zero.
            low = (middle - RANGE_MIN_VOLT / 2.0).max(0.0);
            high = low + RANGE_MIN_VOLT;
        }
        let tick = round_tick((high - low) / 4.0);
        Self { low: (low / tick).floor() * tick, high: (high / tick).ceil() * tick, tick }
    }

    fn ticks(&self) -> impl Iterator<Item = f64> + use<> {
        let Self { low, high, tick } = *self;
        let count = ((high - low) / tick).round() as usize;
        (0..=count).map(move |number| low + tick * number as f64)
    }

    fn decimals(&self) -> usize {
        if self.tick >= 0.999 { 0 } else { 1 + usize::from(self.tick < 0.0999) }
    }
}

/// The 1, 2 or 5 times a power of ten at or above a value.
fn round_tick(at_least: f64) -> f64 {
    let power = 10f64.powi(at_least.max(1e-9).log10().floor() as i32);
    let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
    steps.into_iter().find(|step| *step >= at_least * 0.999).unwrap_or(10.0 * power)
}

/// The diagram, and the heights between its strips.
pub(super) fn draw(diagram: &Diagram<'_>) -> (Sheet, Vec<f64>) {
    let mut sheet = Sheet::sized(WIDTH, 0.0);
    let length = diagram.stops.last().map_or(0.0, |stop| stop.metre).max(0.1);
    let x = |metre: f64| LEFT + metre / length * (WIDTH - LEFT - RIGHT);
    let mut y = 6.0;
    let mut breaks = Vec::new();
    for course in diagram.courses {
        let steps = Labels::of(course, &x);
        let head = HEAD + STEP_ROW * steps.rows as f64;
        draw_strip(&mut sheet, diagram, course, (y, &steps), &x);
        y += head + STRIP + STRIP_GAP;
        breaks.push(y - STRIP_GAP / 2.0);
    }
    // The names of the boxes stay with the last strip.
    breaks.pop();
    y = draw_stops(&mut sheet, diagram, y, &x);
    sheet.height = draw_distance(&mut sheet, diagram, (y, length), &x);
    (sheet, breaks)
}

/// From one row of step labels to the next.
const STEP_ROW: f64 = 22.0;

/// A step with its figure and its faults.
#[derive(Debug)]
struct StepLabel {
    text: String,
    faults: Vec<usize>,
    /// Where the step is.
    step_x: f64,
    step_volt: f64,
    left: f64,
    row: usize,
}

/// The labels of the steps of one course, in rows that keep them apart.
#[derive(Debug)]
struct Labels {
    labels: Vec<StepLabel>,
    rows: usize,
}

impl Labels {
    fn of(course: &Course, x: &impl Fn(f64) -> f64) -> Self {
        let mut labels: Vec<StepLabel> = Vec::new();
        let mut ends: Vec<f64> = Vec::new();
        for pair in course.samples.windows(2) {
            let [one, other] = pair else { continue };
            let here = (one.metre - other.metre).abs() < 1e-9;
            let (Some(before), Some(after)) = (one.potential, other.potential) else { continue };
            let (from, to) = (before.magnitude(), after.magnitude());
            let across = (after - before).magnitude();
            let is_step = here && across >= STEP_MIN_VOLT;
            if !is_step && other.faults.is_empty() {
                continue;
            }
            let text = step_words((to - from).abs(), across);
            let badge =
                if other.faults.is_empty() { 0.0 } else { mark::badge_width(&other.faults) + 6.0 };
            let width = badge + STEP.width(&text);
            let step_x = x(one.metre);
            let left = (step_x - width / 2.0).clamp(LEFT, WIDTH - width);
            let row = ends.iter().position(|end| *end + 10.0 <= left).unwrap_or(ends.len());
            if row == ends.len() {
                ends.push(0.0);
            }
            ends[row] = left + width;
            let step_volt = from.max(to);
            labels.push(StepLabel {
                text,
                faults: other.faults.clone(),
                step_x,
                step_volt,
                left,
                row,
            });
        }
        Self { labels, rows: ends.len() }
    }
}

/// How far the curve steps, and what a meter across it reads where that is another figure:
/// the current need not be in phase with the voltage.
fn step_words(step: f64, across: f64) -> String {
    let (step, across) = (figure::volts(step), figure::volts(across));
    match step == across {
        true => format!("step {step}\u{a0}V"),
        false => format!("step {step}\u{a0}V, {across}\u{a0}V across"),
    }
}

fn draw_strip(
    sheet: &mut Sheet,
    diagram: &Diagram<'_>,
    course: &Course,
    (top, steps): (f64, &Labels),
    x: &impl Fn(f64) -> f64,
) {
    let scale = Scale::around(course.samples.iter().filter_map(Sample::volt));
    let foot = top + HEAD + STEP_ROW * steps.rows as f64 + STRIP;
    let y = |volt: f64| foot - (volt - scale.low) / (scale.high - scale.low) * STRIP;
    sheet.text(at(0.0, top + NAME.size), NAME, &format!("{}, volts to earth", course.name));
    let (left, right) = (x(0.0), WIDTH - RIGHT);
    for tick in scale.ticks() {
        sheet.inked_line(&[at(left - 5.0, y(tick)), at(right, y(tick))], Pattern::Hair, Ink::Pale);
        let text = format!("{tick:.*}", scale.decimals());
        sheet.text(at(left - 10.0, y(tick) + 4.0), TICK.end(), &text);
    }
    for stop in diagram.stops {
        let line = [at(x(stop.metre), foot - STRIP), at(x(stop.metre), foot + 6.0)];
        sheet.inked_line(&line, Pattern::Hair, Ink::Pale);
    }
    for label in &steps.labels {
        let base = top + HEAD + STEP_ROW * label.row as f64 + 10.0;
        let line = [at(label.step_x, base + 5.0), at(label.step_x, y(label.step_volt))];
        sheet.inked_line(&line, Pattern::Hair, Ink::Alarm);
    }
    draw_course(sheet, &course.samples, x, &y);
    for label in &steps.labels {
        let base = top + HEAD + STEP_ROW * label.row as f64 + 10.0;
        let mut left = label.left;
        if !label.faults.is_empty() {
            let width = mark::badge_width(&label.faults);
            mark::badge(sheet, at(left + width / 2.0, base - 4.0), &label.faults);
            left += width + 6.0;
        }
        sheet.text(at(left, base), STEP, &label.text);
    }
}

fn draw_course(
    sheet: &mut Sheet,
    samples: &[Sample],
    x: &impl Fn(f64) -> f64,
    y: &impl Fn(f64) -> f64,
) {
    let mut piece = Vec::new();
    let mut level: Option<Level> = None;
    for sample in samples {
        let point = sample.volt().map(|volt| at(x(sample.metre), y(volt)));
        // A step belongs to the level it leads to.
        if level.is_some_and(|level| level != sample.level) || point.is_none() {
            if let (Some(level), true) = (level, piece.len() > 1) {
                sheet.line(&piece, level.pattern());
            }
            let last = piece.last().copied().filter(|_| point.is_some());
            piece = last.into_iter().collect();
        }
        level = point.map(|_| sample.level);
        piece.extend(point);
    }
    if let (Some(level), true) = (level, piece.len() > 1) {
        sheet.line(&piece, level.pattern());
    }
    for sample in samples {
        if let Some(volt) = sample.volt() {
            sheet.disc(at(x(sample.metre), y(volt)), 3.0, Ink::Black, false);
        }
    }
}

/// The names of the boxes under the strips, in as many rows as keep them apart.
fn draw_stops(sheet: &mut Sheet, diagram: &Diagram<'_>, top: f64, x: &impl Fn(f64) -> f64) -> f64 {
    let mut rows: Vec<(f64, usize)> = Vec::new();
    let mut placed = Vec::new();
    for stop in diagram.stops {
        let lines = wrap(&stop.name, STOP_WIDTH_MAX, STOP.size, STOP.weight);
        let width = lines.iter().map(|line| STOP.width(line)).fold(0.0, f64::max);
        let centre = x(stop.metre).clamp(width / 2.0, WIDTH - width / 2.0);
        let left = centre - width / 2.0;
        let row = rows.iter().position(|(end, _)| *end + 10.0 <= left).unwrap_or(rows.len());
        if row == rows.len() {
            rows.push((0.0, 0));
        }
        rows[row] = (centre + width / 2.0, rows[row].1.max(lines.len()));
        placed.push((stop, lines, centre, row));
    }
    let row_top = |row: usize| -> f64 {
        rows.iter().take(row).map(|(_, lines)| STOP.pitch() * *lines as f64 + 6.0).sum()
    };
    for (stop, lines, centre, row) in &placed {
        let first = top + row_top(*row);
        let line = [at(x(stop.metre), top - STRIP_GAP + 6.0), at(x(stop.metre), first - 2.0)];
        sheet.inked_line(&line, Pattern::Hair, Ink::Grey);
        // The leaders of later rows pass behind the names of earlier ones.
        let width = lines.iter().map(|line| STOP.width(line)).fold(0.0, f64::max);
        let size = (width + 4.0, STOP.pitch() * lines.len() as f64);
        sheet.rounded(at(centre - width / 2.0 - 2.0, first), size, 0.0, (Ink::White, None));
        sheet.lines(at(*centre, first + STOP.size), STOP.middle(), lines);
    }
    top + row_top(rows.len()) + 4.0
}

fn draw_distance(
    sheet: &mut Sheet,
    diagram: &Diagram<'_>,
    (top, length): (f64, f64),
    x: &impl Fn(f64) -> f64,
) -> f64 {
    let (unit, metres) = match diagram.vocabulary {
        Vocabulary::NorthAmerican => ("ft", METRES_PER_FOOT),
        Vocabulary::Iec => ("m", 1.0),
    };
    let longest = length / metres;
    let tick = round_tick(longest / 8.0);
    let count = (longest / tick + 1e-9).floor() as usize;
    let axis = top + 4.0;
    sheet.line(&[at(x(0.0), axis), at(x(length), axis)], Pattern::Hair);
    for number in 0..=count {
        let distance = tick * number as f64;
        let place = x(distance * metres);
        sheet.line(&[at(place, axis), at(place, axis + 5.0)], Pattern::Hair);
        let decimals = usize::from(tick < 0.999);
        sheet.text(at(place, axis + 19.0), TICK.middle(), &format!("{distance:.decimals$}"));
    }
    let caption = format!("distance along the cables, {unit}");
    sheet.text(at((LEFT + WIDTH - RIGHT) / 2.0, axis + 38.0), TICK.middle(), &caption);
    axis + 46.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_end_in_round_figures() {
        let scale = Scale::around([114.3, 119.9].into_iter());
        assert_eq!(scale, Scale { low: 114.0, high: 120.0, tick: 2.0 });
    }

    #[test]
    fn a_sound_conductor_is_not_magnified_into_a_slope() {
        let scale = Scale::around([0.0, 0.002].into_iter());
        assert!(scale.high - scale.low >= RANGE_MIN_VOLT);
    }
}
