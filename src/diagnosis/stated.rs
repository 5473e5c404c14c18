//! What a circuit states as ranges, as errors of readings.
//!
//! Hypotheses are solved with every range at its middle. What lies anywhere between two bounds has
//! a standard deviation of their distance over the root of 12; what a conductor loses goes with the
//! length that leads to it and with what the loads draw, so that both add to what a reading
//! there may be off.

use super::route::Routes;
use crate::circuit::{Circuit, RangeOf, StatedRange};

/// Standard deviations, each as a share; nothing where all is stated as one figure.
#[derive(Clone, Debug, Default)]
pub(super) struct Stated {
    /// Of the supply.
    pub(super) supply_share: f64,
    /// Of what conductors lose on the way to each receptacle.
    outlet_share: Vec<f64>,
    /// The same of anything else.
    most_share: f64,
}

impl Stated {
    pub(super) fn of(circuit: &Circuit, routes: &Routes) -> Self {
        let places = &circuit.parts().places;
        let (lengths, loads) = (routes.unsure_shares(), of_loads(circuit));
        let outlet_share: Vec<f64> = circuit
            .outlets()
            .map(|(at, _)| {
                let place = places.iter().position(|place| place.id == at.id);
                let length = place.and_then(|at| lengths.get(at)).copied().unwrap_or(0.0);
                length.hypot(loads)
            })
            .collect();
        Self {
            supply_share: of_supply(circuit),
            most_share: outlet_share.iter().copied().fold(loads, f64::max),
            outlet_share,
        }
    }

    /// Of what conductors lose up to a receptacle.
    pub(super) fn drop_share(&self, outlet: Option<usize>) -> f64 {
        let there = outlet.and_then(|outlet| self.outlet_share.get(outlet));
        there.copied().unwrap_or(self.most_share)
    }
}

/// The variance of a figure that is anywhere between two bounds.
pub(super) fn variance(low: f64, high: f64) -> f64 {
    (high - low) * (high - low) / 12.0
}

/// Of what all loads draw together.
fn of_loads(circuit: &Circuit) -> f64 {
    let parts = circuit.parts();
    let all: f64 = parts.loads.iter().filter_map(|load| load.kind.rated_watt()).sum();
    let ranges = parts.ranges.iter().filter(|range| matches!(range.of, RangeOf::LoadWatt(_)));
    let square: f64 = ranges.map(|range| variance(range.low, range.high)).sum();
    if all > 0.0 { (square.sqrt() / all).min(1.0) } else { 0.0 }
}

fn of_supply(circuit: &Circuit) -> f64 {
    let is_supply = |range: &&StatedRange| range.of == RangeOf::SupplyScale;
    let range = circuit.parts().ranges.iter().find(is_supply);
    range.map_or(0.0, |range| variance(range.low, range.high).sqrt())
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
        assert_eq!((plain.drop_share(Some(1)), plain.drop_share(None)), (0.0, 0.0));
        assert!(plain.supply_share.abs() < 1e-15);
    }

    #[test]
    fn a_cable_known_as_a_range_makes_readings_beyond_it_less_sure_and_none_before() {
        let range = stated("metres_between: (4, 16)", "kind: Resistive(watts: 100)");
        assert!(range.drop_share(Some(0)).abs() < 1e-15);
        let expected = 12.0 / 12_f64.sqrt() / 20.0;
        assert!((range.drop_share(Some(1)) - expected).abs() < 1e-12);
        assert!((range.drop_share(None) - expected).abs() < 1e-12);
    }

    #[test]
    fn a_small_lamp_of_unknown_watts_beside_a_heater_makes_little_unsure() {
        let range = stated("metres: 10", "kind: Resistive(), watts_between: (40, 160)");
        let expected = 120.0 / 12_f64.sqrt() / 1000.0;
        assert!((range.drop_share(Some(0)) - expected).abs() < 1e-12);
    }
}
