//! What a circuit states as ranges, as errors of readings.
//!
//! Hypotheses are solved with every range at one figure, its middle unless another is stated.
//! What lies anywhere between two bounds has a standard deviation of their distance over the
//! root of 12. What a conductor loses goes with the length that leads to it and with what the loads
//! draw: each adds to what a reading may be off that depends on it.

use super::route::Routes;
use crate::circuit::{Circuit, RangeOf};

/// Standard deviations, each as a share; nothing where all is stated as one figure.
#[derive(Clone, Debug, Default)]
pub(super) struct Stated {
    /// Of the supply.
    pub(super) supply: f64,
    /// Of what all loads draw together.
    pub(super) loads: f64,
    /// Of the length that leads to each receptacle.
    lengths: Vec<f64>,
    /// The most of these.
    longest: f64,
}

impl Stated {
    pub(super) fn of(circuit: &Circuit, routes: &Routes) -> Self {
        let shares = routes.unsure_shares();
        let longest = shares.iter().copied().flatten().fold(0.0, f64::max);
        let there = |outlet| routes.place_of(outlet).and_then(|at| *shares.get(at)?);
        let n_outlets = circuit.outlets().count();
        Self {
            supply: of_supply(circuit),
            loads: of_loads(circuit),
            lengths: (0..n_outlets).map(|outlet| there(outlet).unwrap_or(longest)).collect(),
            longest,
        }
    }

    /// Of the length that leads to a receptacle, or to anywhere.
    pub(super) fn length(&self, outlet: Option<usize>) -> f64 {
        let there = outlet.and_then(|outlet| self.lengths.get(outlet));
        there.copied().unwrap_or(self.longest)
    }
}

/// The variance about the figure taken of one that is anywhere between two bounds.
pub(super) fn variance((low, high): (f64, f64), taken: f64) -> f64 {
    let off = f64::midpoint(low, high) - taken;
    (high - low) * (high - low) / 12.0 + off * off
}

/// Of those that are known by watts.
fn of_loads(circuit: &Circuit) -> f64 {
    let parts = circuit.parts();
    let watt = |id: &str| parts.loads.iter().find(|load| load.id == *id)?.kind.rated_watt();
    let all: f64 = parts.loads.iter().filter_map(|load| load.kind.rated_watt()).sum();
    let square = parts.ranges.iter().filter_map(|range| match &range.of {
        RangeOf::LoadWatt(id) => Some(variance((range.low, range.high), watt(id)?)),
        _ => None,
    });
    let square: f64 = square.sum();
    if all > 0.0 { (square.sqrt() / all).min(1.0) } else { 0.0 }
}

fn of_supply(circuit: &Circuit) -> f64 {
    let mut ranges = circuit.parts().ranges.iter();
    let range = ranges.find(|range| range.of == RangeOf::SupplyScale);
    range.map_or(0.0, |range| variance((range.low, range.high), 1.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::{Routes, Stated};
    use crate::circuit::file;

    fn stated(bench: &str, lamp: &str) -> Stated {
        let text = format!(
            "(format: 1, name: \"Boathouse\", circuits: [(id: \"c1\", amperes: 20)],
             boxes: [(id: \"door\", from: \"c1\", metres: 10), (id: \"bench\", from: \"door\", {bench})],
             loads: [
                 (id: \"heater\", at: \"bench\", kind: Resistive(watts: 900)),
                 (id: \"lamp\", at: \"door\", {lamp}),
             ])"
        );
        let circuit = file::read(&text).unwrap().circuit;
        Stated::of(&circuit, &Routes::of(&circuit))
    }

    #[test]
    fn a_circuit_of_plain_figures_adds_no_error() {
        let plain = stated("metres: 10", "kind: Resistive(watts: 100)");
        assert_eq!((plain.length(Some(1)), plain.length(None)), (0.0, 0.0));
        assert!(plain.supply.abs() < 1e-15 && plain.loads.abs() < 1e-15);
    }

    #[test]
    fn a_cable_known_as_a_range_makes_readings_beyond_it_less_sure_and_none_before() {
        let range = stated("metres_between: (4, 16)", "kind: Resistive(watts: 100)");
        assert!(range.length(Some(0)).abs() < 1e-15);
        let expected = 12.0 / 12_f64.sqrt() / 20.0;
        assert!((range.length(Some(1)) - expected).abs() < 1e-12);
        assert!((range.length(None) - expected).abs() < 1e-12);
    }

    #[test]
    fn a_small_lamp_of_unknown_watts_beside_a_heater_makes_little_unsure() {
        let range = stated("metres: 10", "kind: Resistive(), watts_between: (40, 160)");
        let expected = 120.0 / 12_f64.sqrt() / 1000.0;
        assert!((range.loads - expected).abs() < 1e-12);
        assert!(range.length(Some(1)).abs() < 1e-15);
    }

    #[test]
    fn a_supply_known_as_a_range_is_off_by_a_share_of_what_it_is_solved_at() {
        let text = "(format: 1, name: \"Boathouse\", supply: (system: SplitPhase, volts_between: (108, 132)),
            circuits: [(id: \"c1\", amperes: 20)], boxes: [(id: \"door\", from: \"c1\", metres: 10)])";
        let circuit = file::read(text).unwrap().circuit;
        let stated = Stated::of(&circuit, &Routes::of(&circuit));
        assert!((stated.supply - 0.2 / 12_f64.sqrt()).abs() < 1e-12, "{}", stated.supply);
    }
}
