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

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    /// Products of a few figures.
    const ROUNDING: f64 = 1e-12;

    fn assert_all(found: &[f64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for (found, expected) in found.iter().zip(expected) {
            assert_relative_eq!(*found, *expected, max_relative = ROUNDING);
        }
    }

    /// A run of boxes 5 to 25 feet apart, with a heater of a range of watts at its end.
    fn run(n_boxes: usize) -> Circuit {
        let boxes: String = (0..n_boxes)
            .map(|n| {
                let from = if n == 0 { "c1".to_owned() } else { format!("b{}", n - 1) };
                format!(r#"(id: "b{n}", from: "{from}", feet_between: (5, 25)),"#)
            })
            .collect();
        let text = format!(
            r#"(format: 1, circuits: [(id: "c1")], boxes: [{boxes}], loads: [
                (id: "heater", at: "b0", kind: Resistive(), watts_between: (1000, 1500)),
                (id: "iron", at: "b0", kind: Resistive(watts: 700)),
            ])"#
        );
        crate::circuit::file::read(&text).unwrap().circuit
    }

    /// Metres of each cable that is a range and watts of each load.
    fn as_built(circuit: &Circuit) -> Vec<f64> {
        let parts = circuit.parts();
        let is_stated = |id: &str| {
            let of = |range: &StatedRange| matches!(&range.of, RangeOf::CableLengthMetre(cable) if *cable == *id);
            parts.ranges.iter().any(of) || parts.ranges.is_empty()
        };
        let metres = parts.cables.iter().filter(|cable| is_stated(&cable.id));
        let watts = parts.loads.iter().filter_map(|load| load.kind.rated_watt());
        metres.map(|cable| cable.length_m).chain(watts).collect()
    }

    #[test]
    fn a_corner_has_each_range_at_the_end_that_its_bit_says() {
        assert_all(&corner(0b101, 4), &[1.0, 0.0, 1.0, 0.0]);
        assert_all(&corner(0b1110, 4), &[0.0, 1.0, 1.0, 1.0]);
    }

    #[test]
    fn points_inside_are_those_of_a_halton_sequence() {
        assert_all(&inside(1, 3), &[1.0 / 2.0, 1.0 / 3.0, 1.0 / 5.0]);
        // Six is 110 in twos, 20 in threes, 11 in fives; behind the point turned round. The ninth
        // range has twos again, of the next number: 111.
        let six = inside(6, 9);
        assert_all(&six[..3], &[3.0 / 8.0, 2.0 / 9.0, 6.0 / 25.0]);
        assert_all(&six[7..], &[6.0 / 19.0, 7.0 / 8.0]);
    }

    #[test]
    fn half_as_much_power_again_is_the_same_load_at_the_same_voltage_with_two_thirds_the_ohms() {
        let of = |kind| drawing(kind, 1.5);
        let ohms = |resistance, reactance| Impedance::new(resistance, reactance);
        let (rated_volt, cut_out_volt) = (120.0, 90.0);
        for (before, after) in [
            (
                LoadKind::Resistive { rated_watt: 1000.0, rated_volt },
                LoadKind::Resistive { rated_watt: 1500.0, rated_volt },
            ),
            (
                LoadKind::ConstantPower { active_watt: 600.0, reactive_var: 200.0, cut_out_volt },
                LoadKind::ConstantPower { active_watt: 900.0, reactive_var: 300.0, cut_out_volt },
            ),
            (LoadKind::Impedance(ohms(12.0, 6.0)), LoadKind::Impedance(ohms(8.0, 4.0))),
            (
                LoadKind::Motor { running: ohms(12.0, 6.0), locked_rotor: ohms(3.0, 1.5) },
                LoadKind::Motor { running: ohms(8.0, 4.0), locked_rotor: ohms(2.0, 1.0) },
            ),
            (
                LoadKind::Capacitor { capacitance_farad: 10.0 },
                LoadKind::Capacitor { capacitance_farad: 15.0 },
            ),
            (
                LoadKind::PilotLamp { threshold_volt: 2.0, off_ohm: 1e9, series_ohm: 30e3 },
                LoadKind::PilotLamp { threshold_volt: 2.0, off_ohm: 1e9, series_ohm: 20e3 },
            ),
        ] {
            assert_eq!(of(before), after);
        }
    }

    #[test]
    fn a_range_moves_the_part_that_it_is_of_and_no_other() {
        let circuit = run(2);
        // Middles: 15 feet are 4.572 m, 1250 W.
        assert_all(&as_built(&circuit), &[4.572, 4.572, 1250.0, 700.0]);
        for (at, expected) in [
            (0, [7.62, 4.572, 1250.0, 700.0]),
            (1, [4.572, 7.62, 1250.0, 700.0]),
            (2, [4.572, 4.572, 1500.0, 700.0]),
        ] {
            let mut description = circuit.parts().clone();
            let range = description.ranges[at].clone();
            set(&mut description, &range, range.high);
            assert_all(&as_built(&Circuit::new(description).unwrap()), &expected);
        }
    }

    #[test]
    fn the_supply_is_scaled_with_its_angle_kept() {
        let mut description = run(1).parts().clone();
        description.supply.windings[0].emf_volt = Phasor::new(100.0, -60.0);
        let range = StatedRange { of: RangeOf::SupplyScale, low: 0.95, high: 1.05 };
        set(&mut description, &range, 1.05);
        let emf = description.supply.windings[0].emf_volt;
        assert_all(&[emf.re, emf.im], &[105.0, -63.0]);
    }

    #[test]
    fn few_ranges_end_at_every_corner_and_none_at_none() {
        let certain = crate::circuit::file::read(
            r#"(format: 1, circuits: [(id: "c1")], boxes: [(id: "b0", from: "c1", feet: 10)])"#,
        );
        assert_eq!(at_range_ends(&certain.unwrap().circuit).unwrap().len(), 0);
        let ends = at_range_ends(&run(2)).unwrap();
        let mut found: Vec<Vec<u64>> = ends.iter().map(bits).collect();
        assert_eq!(found.len(), 8);
        found.sort_unstable();
        found.dedup();
        assert_eq!(found.len(), 8, "no corner twice");
        for (own, [low, high]) in
            [[1.524, 7.62], [1.524, 7.62], [1000.0, 1500.0]].iter().enumerate()
        {
            let is_end = |circuit: &Circuit| {
                let value = as_built(circuit)[own];
                (value - low).abs() < 1e-9 || (value - high).abs() < 1e-9
            };
            assert!(ends.iter().all(is_end));
        }
    }

    fn bits(circuit: &Circuit) -> Vec<u64> {
        as_built(circuit).iter().map(|value| value.to_bits()).collect()
    }

    #[test]
    fn many_ranges_end_all_together_and_then_each_alone_with_the_others_half_way() {
        let ends = at_range_ends(&run(6)).unwrap();
        assert_eq!(ends.len(), 2 + 2 * 7);
        let (low, middle, high) = (1.524, 4.572, 7.62);
        let feet = |metres: [f64; 6], watt: f64| {
            metres.into_iter().chain([watt, 700.0]).collect::<Vec<f64>>()
        };
        assert_all(&as_built(&ends[0]), &feet([low; 6], 1000.0));
        assert_all(&as_built(&ends[1]), &feet([high; 6], 1500.0));
        for own in 0..6 {
            for (at, end) in [(2 * own + 2, low), (2 * own + 3, high)] {
                let mut metres = [middle; 6];
                metres[own] = end;
                assert_all(&as_built(&ends[at]), &feet(metres, 1250.0));
            }
        }
    }
}
