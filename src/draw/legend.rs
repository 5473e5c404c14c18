//! What the patterns and signs mean.

use crate::circuit::Vocabulary;

use super::Picture;
use super::block::{contact, danger, symbol};
use super::content::Symbol;
use super::glyph::wrap;
use super::mark::{self, Sign};
use super::pen::Type;
use super::reading::{Level, RAISED_VOLT, live_volt};
use super::sheet::{Sheet, at};

const TEXT: Type = Type::regular(12.0);
const HEADING: Type = Type::bold(13.0);
const ENTRY_WIDTH_MIN: f64 = 250.0;
const SIGN_WIDTH: f64 = 58.0;

/// What an entry explains.
#[derive(Clone, Copy)]
enum Sample {
    Level(Level),
    Sign(Sign),
    Symbol(Symbol),
    Badge,
    Danger,
    Joint,
}

/// The legend of the run, as wide as asked.
pub(super) fn legend(width: f64, vocabulary: Vocabulary) -> Sheet {
    draw(width, &entries(vocabulary))
}

/// The legend of the run as a picture of its own.
pub(super) fn picture(vocabulary: Vocabulary) -> Picture {
    const WIDTH: f64 = 960.0;
    let mut sheet = legend(WIDTH, vocabulary);
    sheet.title = "Legend".to_owned();
    let words = entries(vocabulary).into_iter().map(|(_, words)| words);
    sheet.description = words.collect::<Vec<_>>().join("; ");
    let breaks = vec![0.0, sheet.height];
    Picture { sheet, breaks }
}

/// The legend of the profile, as wide as asked.
pub(super) fn profile_legend(width: f64, vocabulary: Vocabulary) -> Sheet {
    let mut entries = levels(vocabulary).to_vec();
    entries.push((Sample::Badge, "step at a fault, with its number in the list".to_owned()));
    entries.push((Sample::Joint, "a joint or a box".to_owned()));
    draw(width, &entries)
}

fn draw(width: f64, entries: &[(Sample, String)]) -> Sheet {
    let mut sheet = Sheet::sized(width, 0.0);
    sheet.text(at(0.0, HEADING.size), HEADING, "Legend");
    let columns = (width / ENTRY_WIDTH_MIN).floor().clamp(1.0, 4.0);
    let entry_width = width / columns;
    let per_column = entries.len().div_ceil(columns as usize);
    let mut height: f64 = 0.0;
    for (column, entries) in entries.chunks(per_column).enumerate() {
        let left = column as f64 * entry_width;
        let mut y = HEADING.size + 10.0;
        for (sample, words) in entries {
            let lines = wrap(words, entry_width - SIGN_WIDTH - 8.0, TEXT.size, TEXT.weight);
            draw_sample(&mut sheet, at(left + 22.0, y + 9.0), *sample);
            sheet.lines(at(left + SIGN_WIDTH, y + TEXT.size + 1.0), TEXT, &lines);
            y += (TEXT.pitch() * lines.len() as f64).max(20.0) + 4.0;
        }
        height = height.max(y);
    }
    sheet.height = height;
    sheet
}

fn levels(vocabulary: Vocabulary) -> [(Sample, String); 6] {
    let (live, raised) = (live_volt(vocabulary), RAISED_VOLT);
    Level::ALL.map(|level| {
        let words = match level {
            Level::Live => format!("live: {live} V or more to earth, in phase with the first leg"),
            Level::OtherLeg => "live, on another leg: angle given".to_owned(),
            Level::Raised => format!("raised: {raised} to {live} V to earth"),
            Level::NearEarth => format!("near earth: below {raised} V"),
            Level::Floating => "floating: held there by capacitance or leakage only".to_owned(),
            Level::Unknown => "undetermined: nothing leads from it to earth".to_owned(),
        };
        (Sample::Level(level), words)
    })
}

fn entries(vocabulary: Vocabulary) -> Vec<(Sample, String)> {
    let signs = Sign::ALL.map(|sign| {
        let words = match sign {
            Sign::Open => "open",
            Sign::BadJoint => "bad joint: resistance where there should be none",
            Sign::Bridge => "bridge: joined where nothing should be",
            Sign::Exchanged => "exchanged",
            Sign::Misplaced => "not where, or not what, it should be",
        };
        (Sample::Sign(sign), words.to_owned())
    });
    let symbols = [
        (Sample::Badge, "number of the fault in the list"),
        (Sample::Danger, "a hazard is here: see the list"),
        (Sample::Joint, "joint; figures are potentials to earth"),
        (Sample::Symbol(Symbol::LoadOn), "load on"),
        (Sample::Symbol(Symbol::LoadOff), "load off"),
        (Sample::Symbol(Symbol::Unplugged), "load unplugged"),
        (Sample::Symbol(Symbol::Closed), "contact closed"),
        (Sample::Symbol(Symbol::Open), "contact open"),
    ];
    let symbols = symbols.map(|(sample, words)| (sample, words.to_owned()));
    levels(vocabulary).into_iter().chain(signs).chain(symbols).collect()
}

fn draw_sample(sheet: &mut Sheet, centre: super::sheet::Point, sample: Sample) {
    let across = [at(centre.x - 20.0, centre.y), at(centre.x + 20.0, centre.y)];
    match sample {
        Sample::Level(level) => sheet.line(&across, level.pattern()),
        Sample::Sign(Sign::Bridge) => {
            mark::bridge(sheet, &[at(centre.x, centre.y - 5.0), at(centre.x, centre.y + 5.0)]);
        }
        Sample::Sign(sign) => {
            sheet.line(&across, Level::NearEarth.pattern());
            mark::sign(sheet, centre, sign);
        }
        Sample::Symbol(Symbol::Closed) => contact(sheet, centre, true),
        Sample::Symbol(Symbol::Open) => contact(sheet, at(centre.x, centre.y + 3.0), false),
        Sample::Symbol(sample) => symbol(sheet, centre, sample),
        Sample::Badge => mark::badge(sheet, centre, &[1]),
        Sample::Danger => danger(sheet, centre),
        Sample::Joint => {
            sheet.line(&across, Level::NearEarth.pattern());
            sheet.disc(centre, 3.4, super::pen::Ink::Black, false);
        }
    }
}
