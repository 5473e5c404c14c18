//! What instruments show, each reading with its band where the circuit states ranges.

use crate::circuit::{Circuit, Outlet, RangeOf, Vocabulary};
use crate::condition::Condition;
use crate::instrument::{
    BandMethod, Effect, FigureBand, Instrument, LoadedReading, MeasureProblem, PersonReading,
    Place, Reading, ReadingBand, Request, Shown, StateShare, measure, measure_band, presets,
};
use crate::protection::{Step, hold, press};
use crate::quantity::Phasor;
use crate::report::figure::{milliamperes, volts};

use super::held::{Way, at_outlet};
use crate::report::protection::{held_in_words, pressed_in_words};

/// What one instrument shows at one place.
///
/// ```
/// use slotwise::report::{Asked, ReadReport};
/// use slotwise::{Condition, circuit};
/// let text = include_str!("../../../circuits/pottery-studio.ron");
/// let circuit = circuit::file::read(text).unwrap().circuit;
/// let report = ReadReport::new(&circuit, &Condition::default(), &Asked::default())?;
/// let tester = &report.outlets[0].tester;
/// assert_eq!(tester.says, "hot-neutral lit, hot-ground lit, neutral-ground dark");
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct InstrumentReading {
    /// The instrument's name.
    pub instrument: String,
    /// The receptacle, breaker, joint, load, device or terminal it is held at.
    pub at: String,
    /// What has to be known to read it, if anything: how a dead circuit was made dead, whose
    /// body a person's is.
    pub note: Option<String>,
    /// All readings in one line.
    pub says: String,
    /// Which slots or conductors each reading is of, as `hot-neutral`; empty where it says so
    /// itself.
    pub spots: Vec<String>,
    /// The readings.
    pub readings: Vec<Reading>,
    /// The band of each reading, where the circuit states ranges; else empty.
    pub bands: Vec<Band>,
    /// What follows for each reading while a button is held down; empty if there is none.
    pub pressed: Vec<PressedReport>,
    /// For each reading what trips on the instrument's own load after it was read; empty if nothing
    /// does for any.
    pub load_trips: Vec<Option<PressedReport>>,
}

/// What a button held down sets going, or the load of an instrument held there, at the middle of
/// stated ranges.
///
/// ```
/// # use slotwise::report::read::PressedReport;
/// fn opens_something(pressed: &PressedReport) -> bool { !pressed.trips.is_empty() }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct PressedReport {
    /// What trips while it is held, in order.
    pub trips: Vec<Step>,
    /// With the button let go, or the instrument taken away: the highest potential to earth in a slot
    /// there, volts rms.
    pub slots_volt: f64,
    /// The same in one line.
    pub says: String,
}

impl PressedReport {
    fn of(
        circuit: &Circuit,
        condition: &Condition,
        way: &Way,
    ) -> Result<Option<Self>, MeasureProblem> {
        let vocabulary = circuit.parts().vocabulary;
        let pressed = press(circuit, condition, &way.request)?;
        let own = match &way.request.place {
            Place::Device { device } => Some(device.as_str()),
            _ => None,
        };
        Ok(pressed.map(|pressed| Self {
            says: pressed_in_words(vocabulary, &pressed, own),
            slots_volt: pressed.slots_volt,
            trips: pressed.sequence.steps,
        }))
    }

    /// What trips on the load of each of some instruments; empty if nothing does.
    fn of_loads(
        circuit: &Circuit,
        condition: &Condition,
        ways: &[Way],
    ) -> Result<Vec<Option<Self>>, MeasureProblem> {
        let vocabulary = circuit.parts().vocabulary;
        let one = |way: &Way| {
            let held = hold(circuit, condition, &way.request)?;
            Ok(held.map(|held| Self {
                says: held_in_words(vocabulary, &held),
                slots_volt: held.slots_volt,
                trips: held.sequence.steps,
            }))
        };
        let each: Vec<Option<Self>> =
            ways.iter().map(one).collect::<Result<_, MeasureProblem>>()?;
        Ok(if each.iter().all(Option::is_none) { Vec::new() } else { each })
    }
}

/// What the stated ranges leave open in one reading.
///
/// ```
/// # use slotwise::report::read::Band;
/// fn width_volt(band: &Band) -> Option<f64> {
///     let figure = band.figures.first()?;
///     Some(figure.high? - figure.low?)
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Band {
    /// Least and greatest of each figure.
    pub figures: Vec<FigureBand>,
    /// Every state found, with the share of the points at which it was: no probability.
    pub states: Vec<StateShare>,
}

/// How the bands of a report were found.
///
/// ```
/// # use slotwise::report::read::Ranges;
/// fn is_thorough(ranges: &Ranges) -> bool { ranges.n_points > 16 }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Ranges {
    /// What is stated as a range, in words.
    pub of: Vec<String>,
    /// How the box of all ranges was searched.
    pub method: BandMethod,
    /// How many points of it were computed.
    pub n_points: usize,
    /// The same in one sentence, with what it does not claim.
    pub says: String,
}

/// What is shown everywhere, whatever was asked for: by a plug-in tester and by a meter.
pub(super) struct ByDefault {
    pub(super) tester: InstrumentReading,
    pub(super) meter: InstrumentReading,
}

/// All readings of a report.
pub(super) struct Readings {
    /// One for each receptacle.
    pub(super) by_default: Vec<ByDefault>,
    /// What was asked for, instrument by instrument.
    pub(super) asked: Vec<InstrumentReading>,
    /// Where the circuit states ranges.
    pub(super) ranges: Option<Ranges>,
}

/// Everything read in one call: the network is reduced once to all that is touched.
pub(super) fn read_all(
    circuit: &Circuit,
    condition: &Condition,
    outlets: &[&Outlet],
    asked: &[Vec<Way>],
) -> Result<Readings, MeasureProblem> {
    let meter = presets::voltmeter_high_impedance();
    let mut groups: Vec<Vec<Way>> = Vec::new();
    for outlet in outlets {
        groups.push(at_outlet(circuit, &tester_for(circuit, outlet), outlet));
        groups.push(at_outlet(circuit, &meter, outlet));
    }
    let n_default = groups.len();
    for ways in asked {
        groups.extend(ways.chunk_by(|one, next| one.at == next.at).map(<[Way]>::to_vec));
    }
    let requests: Vec<Request> = groups.iter().flatten().map(|way| way.request.clone()).collect();
    let stated = &circuit.parts().ranges;
    let (readings, bands, ranges) = if stated.is_empty() || requests.is_empty() {
        (measure(circuit, condition, &requests)?, Vec::new(), None)
    } else {
        let found = measure_band(circuit, condition, &requests)?;
        let ranges = found.first().map(|first| ranges(circuit, first));
        let bands = found.iter().cloned().map(Band::from).collect();
        (found.into_iter().map(|band| band.middle).collect(), bands, ranges)
    };
    let mut readings = readings.into_iter();
    let mut bands = bands.into_iter();
    let words = Words { vocabulary: circuit.parts().vocabulary };
    let mut pressed = Vec::with_capacity(groups.len());
    for ways in &groups {
        let each = ways.iter().map(|way| PressedReport::of(circuit, condition, way));
        let each: Vec<Option<PressedReport>> = each.collect::<Result<_, _>>()?;
        let load_trips = PressedReport::of_loads(circuit, condition, ways)?;
        pressed.push((each.into_iter().flatten().collect::<Vec<_>>(), load_trips));
    }
    let mut shown = groups.iter().zip(pressed).enumerate().map(|(nth, (ways, follows))| {
        let (pressed, load_trips) = follows;
        let outlet = if nth < n_default { outlets.get(nth / 2) } else { None };
        let at = ways.first().map(|way| way.at.clone());
        let instrument = ways.first().map(|way| way.request.instrument.name().to_owned());
        let readings: Vec<Reading> = readings.by_ref().take(ways.len()).collect();
        let bands: Vec<Band> = bands.by_ref().take(ways.len()).collect();
        let spots: Vec<String> = ways.iter().map(|way| way.spot.clone()).collect();
        InstrumentReading {
            instrument: instrument.unwrap_or_default(),
            at: at.or_else(|| outlet.map(|o| o.address.to_string())).unwrap_or_default(),
            note: ways.first().and_then(|way| note(&way.request.instrument)),
            says: words.says(&spots, &readings, &bands, (&pressed, &load_trips)),
            spots,
            readings,
            bands,
            pressed,
            load_trips,
        }
    });
    let mut by_default = Vec::with_capacity(outlets.len());
    for _ in outlets {
        if let (Some(tester), Some(meter)) = (shown.next(), shown.next()) {
            by_default.push(ByDefault { tester, meter });
        }
    }
    Ok(Readings { by_default, asked: shown.collect(), ranges })
}

/// The plug-in tester whose plug goes into a receptacle; where none of the presets' does, the one
/// that goes with the circuit, which then says that it does not fit.
fn tester_for(circuit: &Circuit, outlet: &Outlet) -> Instrument {
    let usual = usual_tester(circuit.parts().vocabulary);
    let testers = [
        usual.clone(),
        presets::plug_tester_resistive(),
        presets::plug_tester_two_leg(),
        presets::plug_tester_230(),
    ];
    let fits = |tester: &Instrument| match tester {
        Instrument::PlugTester(tester) => tester.fits.contains(&outlet.configuration),
        _ => false,
    };
    testers.into_iter().find(fits).unwrap_or(usual)
}

/// The plug-in tester that goes with the receptacles of a practice.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::report::read::usual_tester;
/// assert!(usual_tester(Vocabulary::Iec).name().contains("230 V"));
/// ```
pub fn usual_tester(vocabulary: Vocabulary) -> Instrument {
    match vocabulary {
        Vocabulary::NorthAmerican => presets::plug_tester_resistive(),
        Vocabulary::Iec => presets::plug_tester_230(),
    }
}

impl From<ReadingBand> for Band {
    fn from(found: ReadingBand) -> Self {
        Self { figures: found.figures, states: found.states }
    }
}

fn ranges(circuit: &Circuit, found: &ReadingBand) -> Ranges {
    let stated = &circuit.parts().ranges;
    let of: Vec<String> = stated
        .iter()
        .map(|range| match &range.of {
            RangeOf::CableLengthMetre(cable) => {
                let (per_metre, unit) = match circuit.parts().vocabulary {
                    Vocabulary::NorthAmerican => (FEET_PER_METRE, "ft"),
                    Vocabulary::Iec => (1.0, "m"),
                };
                let (low, high) = (range.low * per_metre, range.high * per_metre);
                format!("length of {cable} {low:.1} to {high:.1} {unit}")
            }
            RangeOf::LoadWatt(load) => {
                format!("power of {load} {:.0} to {:.0} W", range.low, range.high)
            }
            RangeOf::SupplyScale => {
                let windings = circuit.parts().supply.windings.first();
                let volt = windings.map_or(0.0, |winding| winding.emf_volt.magnitude());
                format!("supply {:.1} to {:.1} V", range.low * volt, range.high * volt)
            }
        })
        .collect();
    let how = match found.method {
        BandMethod::Exact => "at the one point there is",
        BandMethod::AllCorners => "at every corner of the ranges stated, their middle and inside",
        BandMethod::ChosenCorners => {
            "at the corners each figure points to, the middle of the ranges stated and inside"
        }
    };
    let says = format!(
        "`a to b` is the least and the greatest found {how}: {} points of {} {}. Between them no \
         bound is claimed; the meter's own tolerance comes on top.",
        found.n_points,
        stated.len(),
        if stated.len() == 1 { "range" } else { "ranges" },
    );
    Ranges { of, method: found.method, n_points: found.n_points, says }
}

const FEET_PER_METRE: f64 = 1.0 / 0.3048;

/// Readings in words.
struct Words {
    vocabulary: Vocabulary,
}

impl Words {
    fn says(
        &self,
        spots: &[String],
        readings: &[Reading],
        bands: &[Band],
        (pressed, load_trips): (&[PressedReport], &[Option<PressedReport>]),
    ) -> String {
        let each = spots.iter().zip(readings).enumerate();
        let each = each.map(|(nth, (spot, reading))| match (&reading.shown, pressed.get(nth)) {
            // The device's own sensor does not decide alone.
            (Shown::Residual(shown), Some(pressed)) => {
                let current = milliamperes(shown.residual_ampere.magnitude());
                format!("{current} residual: {}", pressed.says)
            }
            (_, Some(pressed)) => {
                format!("{}: {}", one(spot, reading, bands.get(nth)), pressed.says)
            }
            (_, None) => {
                let shown = one(spot, reading, bands.get(nth));
                match load_trips.get(nth) {
                    Some(Some(trips)) => format!("{shown}, then {}", trips.says),
                    _ => shown,
                }
            }
        });
        let each: Vec<String> = each.collect();
        // What has a comma of its own is parted by more.
        let apart = if each.iter().any(|one| one.contains(',')) { "; " } else { ", " };
        let said = each.join(apart);
        crate::report::vocabulary::line(self.vocabulary, &said)
    }
}

/// One reading: where, and what stands on the instrument.
pub(in crate::report) fn one(spot: &str, reading: &Reading, band: Option<&Band>) -> String {
    let at = |shown: String| if spot.is_empty() { shown } else { format!("{spot} {shown}") };
    match &reading.shown {
        Shown::PlugTester(shown) => {
            let pattern = shown.indicators.iter().map(|indicator| {
                let spans = indicator.spans();
                format!("{spans} {}", state_word(&spans, indicator.state, band))
            });
            let pattern = pattern.collect::<Vec<_>>().join(", ");
            let button = shown.button_ampere.map(|current| {
                let volt = shown.ground_volt.map_or(0.0, Phasor::magnitude);
                let ground = match volt > LIVE_GROUND_VOLT {
                    true => format!(", ground slot then at {} V to earth", volts(volt)),
                    false => String::new(),
                };
                format!(", button passes {}{ground}", milliamperes(current.magnitude()))
            });
            let shown = format!("{pattern}{}", button.unwrap_or_default());
            if spot.is_empty() { shown } else { format!("{spot}: {shown}") }
        }
        Shown::Voltmeter(shown) => {
            let text = shown.display.as_ref().map_or("undetermined", |d| d.text.as_str());
            at(banded("voltage", band).map_or_else(|| text.to_owned(), |band| format!("{band} V")))
        }
        Shown::StepTester(shown) => at(shown.step.clone().unwrap_or_else(|| "nothing".to_owned())),
        Shown::NonContact(shown) => at(state_word("detector", shown.state, band)),
        Shown::LoadedTest(shown) => loaded_in_words(shown),
        Shown::Clamp(shown) => at(shown.display.text.clone()),
        Shown::Ohmmeter(shown) => at(shown.display.text.clone()),
        Shown::Insulation(shown) => {
            let passes = if shown.passes { "passes" } else { "does not pass" };
            at(format!("{}, {passes}", shown.display.text))
        }
        Shown::Residual(shown) => {
            let current = milliamperes(shown.residual_ampere.magnitude());
            at(format!("{current} residual: {}", state_word("device", shown.state, band)))
        }
        Shown::Person(shown) => at(person(shown)),
        Shown::DoesNotFit(misfit) => at(format!("does not fit: {}", misfit.why)),
    }
}

fn note(instrument: &Instrument) -> Option<String> {
    match instrument {
        Instrument::Person(person) => Some(format!(
            "Current through a person between what is touched and earth, by {}, {}th percentile, {}: \
             a warning, never a clearance.",
            person.body.source, person.body.percentile, person.body.skin
        )),
        Instrument::Ohmmeter(_) => Some(
            "Every breaker off and the supply dead; whatever is still connected is in the reading."
                .to_owned(),
        ),
        Instrument::Insulation(_) => Some(
            "Every breaker off, every neutral lifted from its bar, the supply dead; whatever is \
             still connected is in the reading."
                .to_owned(),
        ),
        _ => None,
    }
}

fn person(shown: &PersonReading) -> String {
    let effect = match shown.effect {
        Effect::NotFelt => "not felt",
        Effect::Felt => "felt as a shock",
        Effect::MayNotLetGo => "may be unable to let go",
        Effect::MayStopTheHeart => "MAY STOP THE HEART",
    };
    format!("{}, {effect}", milliamperes(shown.body_ampere.magnitude()))
}

/// What a loaded test says: volts before and after, and what of the loss is where.
fn loaded_in_words(reading: &LoadedReading) -> String {
    let (Some(before), Some(after)) = (reading.unloaded_volt, reading.loaded_volt) else {
        return "undetermined".to_owned();
    };
    if before.magnitude() < NOTHING_BELOW_VOLT {
        return format!("{:.1} V: nothing there to load", before.magnitude());
    }
    let share = |name: &str, ohm: Option<Phasor>| {
        ohm.map_or(String::new(), |ohm| format!(", {name} {:.2} ohm", ohm.magnitude()))
    };
    format!(
        "{:.1} V falls to {:.1} V{}{}",
        before.magnitude(),
        after.magnitude(),
        share("hot", reading.hot_share_ohm),
        share("neutral", reading.neutral_share_ohm)
    )
}

/// A state, or every state that the ranges allow.
pub(crate) fn state_word(name: &str, word: &str, band: Option<&Band>) -> String {
    let states = band.into_iter().flat_map(|band| &band.states);
    let mut words: Vec<&str> =
        states.filter(|share| share.state.name == name).map(|share| share.state.word).collect();
    words.sort_unstable();
    if words.len() > 1 { words.join(" or ") } else { word.to_owned() }
}

/// The band of a figure as a person says it, rounded outward; none without a band.
pub(crate) fn banded(name: &str, band: Option<&Band>) -> Option<String> {
    let figure = band?.figures.iter().find(|figure| figure.name == name)?;
    Some(outward(figure.low?, figure.high?))
}

/// `low to high` with whole volts from 10 V on and tenths below, rounded outward; one figure
/// where both ends are the same.
fn outward(low: f64, high: f64) -> String {
    let steps = if high < 10.0 { 10.0 } else { 1.0 };
    // A value that is whole but for rounding is whole.
    let (low, high) = ((low * steps + FUZZ).floor() / steps, (high * steps - FUZZ).ceil() / steps);
    let write =
        |value: f64| if steps > 1.0 { format!("{value:.1}") } else { format!("{value:.0}") };
    // Magnitudes: a zero carries no minus.
    let (low, high) = (write(low.abs()), write(high.abs()));
    if low == high { low } else { format!("{low} to {high}") }
}

/// From here on a ground slot that a button has pulled up is told: the touch limit for wet places in
/// North American practice, volts.
const LIVE_GROUND_VOLT: f64 = 15.0;

/// Below this there is nothing to load, volts.
const NOTHING_BELOW_VOLT: f64 = 1.0;

/// Share of a step that rounding may be off.
const FUZZ: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_rounded_outward_so_that_it_holds_what_was_found() {
        assert_eq!(outward(112.4, 118.3), "112 to 119");
        assert_eq!(outward(0.04, 0.48), "0.0 to 0.5");
        assert_eq!(outward(120.0, 120.0), "120");
        assert_eq!(outward(8.2, 12.3), "8 to 13");
        assert_eq!(outward(0.0, 0.0), "0.0");
    }
}
