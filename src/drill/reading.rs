//! Readings as a drill has them: rounded as the instrument rounds, so that two machines that
//! differ in the last bit of a voltage write the same.

use crate::instrument::{Instrument, Reading, Shown, presets};
use crate::lookalike::Placement;

/// One reading of one instrument at one receptacle.
///
/// ```
/// use slotwise::drill::DrillReading;
/// let reading = DrillReading {
///     loads: "all loads off".into(),
///     tool: "voltmeter".into(),
///     at: "kiln".into(),
///     between: Some("hot-neutral".into()),
///     shows: "118.4 V".into(),
///     value: Some(118.4),
///     unit: Some("V"),
/// };
/// assert_eq!(reading.value, Some(118.4));
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct DrillReading {
    /// How the loads stood, as `loads as described`.
    pub loads: String,
    /// The instrument: the name of its preset.
    pub tool: String,
    /// The receptacle.
    pub at: String,
    /// The slots it was held to, as `hot-neutral` or `hot`; none where it takes them all.
    pub between: Option<String>,
    /// What it showed, in words.
    pub shows: String,
    /// The figure shown, if there is one: volts of a meter, volts lost in a loaded test.
    pub value: Option<f64>,
    /// The unit of that figure.
    pub unit: Option<&'static str>,
}

/// The instruments of a drill, by the names of their presets.
pub const TOOLS: [&str; 4] = ["tester", "voltmeter", "non-contact", "loaded-test"];

/// A figure that no display gives is rounded to so many of its unit.
const ROUNDED_TO: f64 = 0.1;

/// The instruments of a drill on this supply.
pub(super) fn tools(high_volts: bool) -> Vec<(&'static str, Instrument)> {
    let tester = if high_volts { "tester-230" } else { TOOLS[0] };
    let names = [tester, TOOLS[1], TOOLS[2], TOOLS[3]];
    names.iter().filter_map(|&name| Some((name, presets::named(name)?))).collect()
}

/// The readings of one instrument at one receptacle.
pub(super) fn readings(
    (loads, tool, at): (&str, &str, &str),
    placement: &Placement,
    readings: &[Reading],
) -> Vec<DrillReading> {
    let spots = placement.spots.iter();
    let one = |(reading, spot): (&Reading, &Vec<String>)| {
        let (value, unit) = figure(&reading.shown);
        DrillReading {
            loads: loads.to_owned(),
            tool: tool.to_owned(),
            at: at.to_owned(),
            between: (!spot.is_empty()).then(|| spot.join("-")),
            shows: in_words(&reading.shown),
            value,
            unit,
        }
    };
    let held = |(reading, _): &(&Reading, _)| !matches!(reading.shown, Shown::DoesNotFit(_));
    readings.iter().zip(spots).filter(held).map(one).collect()
}

/// What is shown, figures as the displays show them.
fn in_words(shown: &Shown) -> String {
    match shown {
        Shown::PlugTester(reading) => reading.pattern(),
        // What is joined to nothing, not even by capacitance, has no field for a detector to sense.
        Shown::NonContact(reading) if reading.state == "undetermined" => "no alarm".to_owned(),
        Shown::NonContact(reading) => reading.state.to_owned(),
        Shown::Voltmeter(meter) => {
            meter.display.as_ref().map_or("undetermined", |shown| shown.text.as_str()).to_owned()
        }
        Shown::LoadedTest(test) => match (test.unloaded_volt, test.loaded_volt) {
            (Some(before), Some(after)) => {
                format!("{:.1} V falls to {:.1} V", before.magnitude(), after.magnitude())
            }
            _ => "undetermined".to_owned(),
        },
        _ => String::new(),
    }
}

fn figure(shown: &Shown) -> (Option<f64>, Option<&'static str>) {
    let value = match shown {
        Shown::Voltmeter(meter) => meter.display.as_ref().and_then(|display| display.value),
        Shown::LoadedTest(test) => test.drop_volt,
        _ => None,
    };
    // A display rounds in steps that no sum of two-power fractions hits; written once more as
    // tenths it is the same number everywhere.
    let rounded = value.map(|value| (value / ROUNDED_TO).round() / (1.0 / ROUNDED_TO));
    (rounded.map(|value| if value == 0.0 { 0.0 } else { value }), value.map(|_| "V"))
}

/// Whether nobody could tell two lists of readings apart: figures within 2 % and half a volt, as
/// a person reads them, and everything else the same.
pub(super) fn alike(one: &[DrillReading], other: &[DrillReading]) -> bool {
    let close = |p: f64, q: f64| (p - q).abs() <= 0.02 * p.abs().max(q.abs()) + 0.5;
    let same = |(p, q): (&DrillReading, &DrillReading)| {
        (&p.tool, &p.at, &p.between) == (&q.tool, &q.at, &q.between)
            && match (p.value, q.value) {
                (Some(p), Some(q)) => close(p, q),
                _ => p.shows == q.shows,
            }
    };
    one.len() == other.len() && one.iter().zip(other).all(same)
}
