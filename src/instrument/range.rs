//! Bands of readings where lengths, loads or the supply are known only as ranges.
//!
//! A figure is computed at corners of the box of ranges and at points inside it, and its band is
//! from the least to the greatest found. Voltages and currents of a network with one supply
//! move one way with each length, load and the supply voltage taken alone, so that their ends lie
//! on corners; points inside are there to find what does not behave so (a lamp that strikes, a
//! load that cuts out, two supplies against each other). Up to [`ALL_CORNERS_MAX`] ranges every
//! corner is computed; with more, the corners to which each figure points when one range is moved
//! at a time.

use serde::Serialize;

use super::{Figure, MeasureProblem, Reading, Request, State, measure};
use crate::circuit::{Circuit, Description, LoadKind, RangeOf, StatedRange};
use crate::condition::Condition;
use crate::quantity::{Impedance, Phasor};

/// Ranges up to which every corner is computed.
pub const ALL_CORNERS_MAX: usize = 6;

/// Points inside the box besides its middle.
const INSIDE: usize = 16;

/// The middle of a range.
const MIDDLE: f64 = 0.5;

/// A reading with the bands of its figures.
///
/// ```
/// use slotwise::instrument::{measure_band, BandMethod};
/// use slotwise::circuit::{Circuit, Description};
/// use slotwise::condition::Condition;
/// let circuit = Circuit::new(Description { frequency_hz: 60.0, ..Default::default() }).unwrap();
/// // Nothing is stated as a range, nothing is asked.
/// let bands = measure_band(&circuit, &Condition::default(), &[]).unwrap();
/// assert!(bands.is_empty());
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingBand {
    /// The reading with every range at its middle.
    pub middle: Reading,
    /// The band of each figure.
    pub figures: Vec<FigureBand>,
    /// Every state found, with the share of points at which it was found.
    pub states: Vec<StateShare>,
    /// How the bands were found.
    pub method: BandMethod,
    /// How many points of the box were computed.
    pub n_points: usize,
}

/// How a band was found.
///
/// ```
/// use slotwise::instrument::BandMethod;
/// assert_eq!(serde_json::to_value(BandMethod::AllCorners).unwrap(), "all_corners");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BandMethod {
    /// No range is stated: one point.
    Exact,
    /// Every corner of the box, its middle and points inside.
    AllCorners,
    /// The corners each figure points to, the middle and points inside.
    ChosenCorners,
}

/// The band of one figure.
///
/// ```
/// use slotwise::instrument::FigureBand;
/// let band = FigureBand {
///     name: "voltage".into(), unit: "V", low: Some(112.3), high: Some(118.9),
///     shown_low: Some(111.0), shown_high: Some(120.2),
/// };
/// assert_eq!(band.to_string(), "voltage 112.3 to 118.9 V");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FigureBand {
    /// What it is.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// Least value found.
    pub low: Option<f64>,
    /// Greatest value found.
    pub high: Option<f64>,
    /// Least value a display may show, its tolerance included; only of the first figure.
    pub shown_low: Option<f64>,
    /// Greatest value a display may show.
    pub shown_high: Option<f64>,
}

/// A state and how often it was found.
///
/// ```
/// use slotwise::instrument::{State, StateShare};
/// let state = State { name: "hot-neutral".into(), word: "lit" };
/// let always = StateShare { state, share: 1.0 };
/// assert!(always.share > 0.99);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StateShare {
    /// The state.
    #[serde(flatten)]
    pub state: State,
    /// Share of the points computed, no probability.
    pub share: f64,
}

impl std::fmt::Display for FigureBand {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self.low, self.high) {
            (Some(low), Some(high)) => {
                write!(f, "{} {low:.1} to {high:.1} {}", self.name, self.unit)
            }
            _ => write!(f, "{} undetermined", self.name),
        }
    }
}

/// What [`measure`] gives, with a band for every figure from the ranges the circuit states.
///
/// # Errors
///
/// As [`measure`].
pub fn measure_band(
    circuit: &Circuit,
    condition: &Condition,
    requests: &[Request],
) -> Result<Vec<ReadingBand>, MeasureProblem> {
    let asked = Asked { circuit, condition, requests };
    let n_ranges = circuit.parts().ranges.len();
    let first = asked.at(&vec![MIDDLE; n_ranges])?;
    let mut found = vec![first.clone()];
    let method = match n_ranges {
        0 => BandMethod::Exact,
        1..=ALL_CORNERS_MAX => {
            for at in 0..1usize << n_ranges {
                found.push(asked.at(&corner(at, n_ranges))?);
            }
            BandMethod::AllCorners
        }
        _ => {
            asked.chosen_corners(&first, &mut found)?;
            BandMethod::ChosenCorners
        }
    };
    if n_ranges > 0 {
        for number in 1..=INSIDE {
            found.push(asked.at(&inside(number, n_ranges))?);
        }
    }
    Ok(first.into_iter().enumerate().map(|(n, middle)| band(middle, n, &found, method)).collect())
}

/// What is asked, of every point of the box.
struct Asked<'a> {
    circuit: &'a Circuit,
    condition: &'a Condition,
    requests: &'a [Request],
}

impl Asked<'_> {
    /// The readings with each range at a share of the way from its low to its high end.
    fn at(&self, point: &[f64]) -> Result<Vec<Reading>, MeasureProblem> {
        if point.is_empty() {
            return measure(self.circuit, self.condition, self.requests);
        }
        let moved = moved(self.circuit, point)?;
        measure(&moved, self.condition, self.requests)
    }

    /// Moves one range at a time to each end, and computes for every figure the two corners that
    /// these single moves point to.
    fn chosen_corners(
        &self,
        middle: &[Reading],
        found: &mut Vec<Vec<Reading>>,
    ) -> Result<(), MeasureProblem> {
        let n_ranges = self.circuit.parts().ranges.len();
        // For every figure, whether it rises with each range.
        let mut rising: Vec<Vec<bool>> = vec![Vec::new(); values(middle).count()];
        for range in 0..n_ranges {
            let moved = |end: f64| {
                let place = |other: usize| if other == range { end } else { MIDDLE };
                self.at(&(0..n_ranges).map(place).collect::<Vec<_>>())
            };
            let (low, high) = (moved(0.0)?, moved(1.0)?);
            for (rising, (below, above)) in rising.iter_mut().zip(values(&low).zip(values(&high))) {
                rising.push(above >= below);
            }
            found.extend([low, high]);
        }
        let falling = |corner: &Vec<bool>| corner.iter().map(|up| !up).collect();
        let opposite: Vec<Vec<bool>> = rising.iter().map(falling).collect();
        rising.extend(opposite);
        rising.sort_unstable();
        rising.dedup();
        for corner in rising {
            let point: Vec<f64> = corner.iter().map(|&up| f64::from(u8::from(up))).collect();
            found.push(self.at(&point)?);
        }
        Ok(())
    }
}

fn values(readings: &[Reading]) -> impl Iterator<Item = f64> + '_ {
    let value = |figure: Figure| figure.value.unwrap_or(0.0);
    readings.iter().flat_map(Reading::figures).map(value)
}

/// A circuit with each stated range at a share of the way from its low to its high end.
fn moved(circuit: &Circuit, point: &[f64]) -> Result<Circuit, MeasureProblem> {
    let mut description = circuit.parts().clone();
    let ranges = std::mem::take(&mut description.ranges);
    for (range, share) in ranges.iter().zip(point) {
        set(&mut description, range, range.low + share * (range.high - range.low));
    }
    Circuit::new(description).map_err(|problems| MeasureProblem::BadRange {
        what: problems.first().map_or_else(String::new, ToString::to_string),
    })
}

/// A circuit at the ends of its stated ranges: at every corner of their box if they are few, else
/// with all low, all high, and each alone at either end.
pub(crate) fn at_range_ends(circuit: &Circuit) -> Result<Vec<Circuit>, MeasureProblem> {
    let n_ranges = circuit.parts().ranges.len();
    let points: Vec<Vec<f64>> = match n_ranges {
        0 => Vec::new(),
        1..=ALL_CORNERS_MAX => (0..1usize << n_ranges).map(|at| corner(at, n_ranges)).collect(),
        _ => {
            let alone = |range: usize, end: f64| {
                (0..n_ranges).map(|other| if other == range { end } else { MIDDLE }).collect()
            };
            let ends = (0..n_ranges).flat_map(|range| [alone(range, 0.0), alone(range, 1.0)]);
            [vec![0.0; n_ranges], vec![1.0; n_ranges]].into_iter().chain(ends).collect()
        }
    };
    points.iter().map(|point| moved(circuit, point)).collect()
}

/// A corner of a box: one bit for each range.
fn corner(at: usize, n_ranges: usize) -> Vec<f64> {
    (0..n_ranges).map(|bit| f64::from(u8::from(at >> bit & 1 == 1))).collect()
}

/// Point number `number` of the Halton sequence, bases the first primes (later ranges share
/// them in turn).
fn inside(number: usize, n_ranges: usize) -> Vec<f64> {
    const BASES: [usize; 8] = [2, 3, 5, 7, 11, 13, 17, 19];
    let coordinate = |range: usize| {
        let base = BASES[range % BASES.len()];
        let (mut index, mut share, mut value) = (number + range / BASES.len(), 1.0, 0.0);
        while index > 0 {
            share /= base as f64;
            value += share * (index % base) as f64;
            index /= base;
        }
        value
    };
    (0..n_ranges).map(coordinate).collect()
}

fn set(description: &mut Description, range: &StatedRange, value: f64) {
    // The description itself holds the middle of the range.
    let factor = value / ((range.low + range.high) / 2.0);
    match &range.of {
        RangeOf::CableLengthMetre(id) => {
            for cable in description.cables.iter_mut().filter(|cable| cable.id == *id) {
                cable.length_m = value;
            }
        }
        RangeOf::LoadWatt(id) => {
            for load in description.loads.iter_mut().filter(|load| load.id == *id) {
                load.kind = drawing(load.kind, factor);
            }
        }
        RangeOf::SupplyScale => {
            for winding in &mut description.supply.windings {
                let Phasor { re, im } = winding.emf_volt;
                winding.emf_volt = Phasor::new(re * value, im * value);
            }
        }
    }
}

/// The same load drawing `factor` times the power at the same voltage.
fn drawing(kind: LoadKind, factor: f64) -> LoadKind {
    let over = |z: Impedance| Impedance::new(z.resistance_ohm / factor, z.reactance_ohm / factor);
    let mut kind = kind;
    match &mut kind {
        LoadKind::Resistive { rated_watt, .. } | LoadKind::Filament { rated_watt, .. } => {
            *rated_watt *= factor;
        }
        LoadKind::ConstantPower { active_watt, reactive_var, .. } => {
            *active_watt *= factor;
            *reactive_var *= factor;
        }
        LoadKind::Impedance(impedance) => *impedance = over(*impedance),
        LoadKind::Motor { running, locked_rotor } => {
            *running = over(*running);
            *locked_rotor = over(*locked_rotor);
        }
        LoadKind::Capacitor { capacitance_farad } => *capacitance_farad *= factor,
        LoadKind::PilotLamp { series_ohm, .. } => *series_ohm /= factor,
    }
    kind
}

fn band(middle: Reading, n: usize, found: &[Vec<Reading>], method: BandMethod) -> ReadingBand {
    let readings: Vec<&Reading> = found.iter().filter_map(|readings| readings.get(n)).collect();
    let mut figures: Vec<FigureBand> = Vec::new();
    for (place, figure) in middle.figures().into_iter().enumerate() {
        let values = || {
            readings.iter().filter_map(|reading| reading.figures().get(place).and_then(|f| f.value))
        };
        let shown = || readings.iter().filter_map(|reading| reading.displayed());
        let is_first = place == 0;
        let shown_low = shown().map(|(low, _)| low).reduce(f64::min).filter(|_| is_first);
        let shown_high = shown().map(|(_, high)| high).reduce(f64::max).filter(|_| is_first);
        figures.push(FigureBand {
            name: figure.name,
            unit: figure.unit,
            low: values().reduce(f64::min),
            high: values().reduce(f64::max),
            shown_low,
            shown_high,
        });
    }
    let mut states: Vec<(State, usize)> = Vec::new();
    for state in readings.iter().flat_map(|reading| reading.states()) {
        match states.iter_mut().find(|(known, _)| *known == state) {
            Some((_, count)) => *count += 1,
            None => states.push((state, 1)),
        }
    }
    let n_points = readings.len();
    let share = |(state, count): (State, usize)| StateShare {
        state,
        share: count as f64 / n_points as f64,
    };
    let states = states.into_iter().map(share).collect();
    ReadingBand { middle, figures, states, method, n_points }
}
