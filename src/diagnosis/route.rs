//! How far the places lie from each other along the cables, and how well that is known.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use petgraph::algo::dijkstra;
use petgraph::graph::{NodeIndex, UnGraph};

use super::stated::variance;
use crate::circuit::{Circuit, RangeOf};

/// Metres of cable, with the variance that stated ranges give them. Of two of one length the surer
/// comes first.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
struct Run {
    metre: f64,
    square_metre: f64,
}

impl std::ops::Add for Run {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            metre: self.metre + other.metre,
            square_metre: self.square_metre + other.square_metre,
        }
    }
}

/// The places of a circuit, joined by its cables. Places and receptacles go by their numbers.
#[derive(Debug)]
pub(super) struct Routes {
    cables: UnGraph<(), Run>,
    /// Where the supply arrives.
    begins: Vec<NodeIndex>,
    /// The place of each receptacle.
    of_outlet: Vec<Option<usize>>,
    /// Metres from each place to each, once anybody asked.
    metres: Vec<OnceLock<Vec<Option<f64>>>>,
}

impl Routes {
    pub(super) fn of(circuit: &Circuit) -> Self {
        let parts = circuit.parts();
        let mut cables = UnGraph::new_undirected();
        let mut number: HashMap<&str, usize> = HashMap::new();
        let mut ends: HashMap<&str, [Option<NodeIndex>; 2]> = HashMap::new();
        let mut begins = Vec::new();
        for (at, place) in parts.places.iter().enumerate() {
            let node = cables.add_node(());
            number.insert(&place.id, at);
            if circuit.is_fed_by_no_cable(place) {
                begins.push(node);
            }
            for (side, names) in [&place.load_cables, &place.line_cables].into_iter().enumerate() {
                for cable in names {
                    if let Some(end) = ends.entry(cable).or_default().get_mut(side) {
                        *end = Some(node);
                    }
                }
            }
        }
        let ranges: HashMap<&str, (f64, f64)> = parts
            .ranges
            .iter()
            .filter_map(|range| match &range.of {
                RangeOf::CableLengthMetre(id) => Some((id.as_str(), (range.low, range.high))),
                _ => None,
            })
            .collect();
        for cable in &parts.cables {
            let Some([Some(from), Some(to)]) = ends.get(cable.id.as_str()).copied() else {
                continue;
            };
            let metre = cable.length_m;
            let range = ranges.get(cable.id.as_str());
            let square_metre = range.map_or(0.0, |&range| variance(range, metre));
            cables.add_edge(from, to, Run { metre, square_metre });
        }
        Self {
            metres: parts.places.iter().map(|_| OnceLock::new()).collect(),
            of_outlet: circuit
                .outlets()
                .map(|(at, _)| number.get(at.id.as_str()).copied())
                .collect(),
            cables,
            begins,
        }
    }

    /// The place of a receptacle.
    pub(super) fn place_of(&self, outlet: usize) -> Option<usize> {
        self.of_outlet.get(outlet).copied().flatten()
    }

    /// Metres along the cables from one place to another; `None` where no cable leads.
    pub(super) fn metres(&self, from: usize, to: usize) -> Option<f64> {
        let begin = || {
            let runs = self.runs_from(NodeIndex::new(from));
            runs.into_iter().map(|run| run.map(|run| run.metre)).collect()
        };
        self.metres.get(from)?.get_or_init(begin).get(to).copied().flatten()
    }

    /// Of what leads from the supply to each place, the standard deviation of its length as a
    /// share of it, one at most: nothing where every length is stated as one figure. `None` where
    /// nothing leads.
    pub(super) fn unsure_shares(&self) -> Vec<Option<f64>> {
        let mut nearest: Vec<Option<Run>> = vec![None; self.cables.node_count()];
        for &begin in &self.begins {
            for (known, run) in nearest.iter_mut().zip(self.runs_from(begin)) {
                let Some(run) = run else { continue };
                if known.is_none_or(|known| run < known) {
                    *known = Some(run);
                }
            }
        }
        let share = |run: Run| match run.metre > 0.0 {
            true => (run.square_metre.sqrt() / run.metre).min(1.0),
            false => 0.0,
        };
        nearest.into_iter().map(|run| run.map(share)).collect()
    }

    fn runs_from(&self, node: NodeIndex) -> Vec<Option<Run>> {
        let mut runs = vec![None; self.cables.node_count()];
        if node.index() >= runs.len() {
            return runs;
        }
        for (to, run) in dijkstra(&self.cables, node, None, |cable| *cable.weight()) {
            if let Some(known) = runs.get_mut(to.index()) {
                *known = Some(run);
            }
        }
        runs
    }
}

/// What walking costs.
#[derive(Clone, Debug)]
pub(super) struct Walking {
    routes: Arc<Routes>,
    s_per_m: f64,
}

impl Walking {
    /// At so many seconds for a hundred metres; what is no positive number costs nothing.
    pub(super) fn new(routes: Arc<Routes>, walk_100_m_s: f64) -> Self {
        let walks = walk_100_m_s.is_finite() && walk_100_m_s > 0.0;
        Self { routes, s_per_m: if walks { walk_100_m_s / 100.0 } else { 0.0 } }
    }

    /// Seconds from a place to a receptacle.
    pub(super) fn seconds(&self, from: Option<usize>, outlet: usize) -> f64 {
        if self.s_per_m <= 0.0 {
            return 0.0;
        }
        let ends = from.zip(self.routes.place_of(outlet));
        let metres = ends.and_then(|(from, to)| self.routes.metres(from, to));
        self.s_per_m * metres.unwrap_or(0.0)
    }

    /// The place of a receptacle.
    pub(super) fn place_of(&self, outlet: usize) -> Option<usize> {
        self.routes.place_of(outlet)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::{Routes, Walking};
    use crate::circuit::file;

    const BOATHOUSE: &str =
        "(format: 1, name: \"Boathouse\", circuits: [(id: \"c1\", amperes: 20)],
        boxes: [
            (id: \"door\", from: \"c1\", metres: 10),
            (id: \"bench\", from: \"door\", metres_between: (4, 16)),
            (id: \"vise\", from: \"bench\", metres: 5),
            (id: \"slip\", from: \"door\", metres: 3),
        ])";

    /// The same in a ring back to the breaker.
    const RING: &str =
        "(format: 1, name: \"Boathouse\", supply: (system: Single230, earthing: TnCS),
        circuits: [(id: \"c1\", amperes: 32, curve: B, ring: (last: \"vise\", metres: 40))],
        boxes: [
            (id: \"door\", from: \"c1\", metres: 10),
            (id: \"bench\", from: \"door\", metres_between: (4, 16)),
            (id: \"vise\", from: \"bench\", metres: 5),
        ])";

    #[test]
    fn one_walks_along_the_cables_and_back_out_another_branch() {
        let circuit = file::read(BOATHOUSE).unwrap().circuit;
        let number = |id: &str| circuit.parts().places.iter().position(|p| p.id == id).unwrap();
        let routes = Arc::new(Routes::of(&circuit));
        let from = |to: &str| routes.metres(number("vise"), number(to));
        assert_eq!([from("bench"), from("slip"), from("vise")], [Some(5.0), Some(18.0), Some(0.0)]);
        let outlet = |id: &str| circuit.outlets().position(|(at, _)| at.id == id).unwrap();
        let walk =
            |s: f64| Walking::new(routes.clone(), s).seconds(Some(number("vise")), outlet("slip"));
        assert!((walk(200.0) - 36.0).abs() < 1e-12);
        assert_eq!([walk(0.0), walk(-5.0), walk(f64::NAN)].map(f64::to_bits), [0; 3]);
    }

    #[test]
    fn a_length_known_as_a_range_makes_what_lies_beyond_it_less_sure_and_nothing_before_it() {
        let circuit = file::read(BOATHOUSE).unwrap().circuit;
        let number = |id: &str| circuit.parts().places.iter().position(|p| p.id == id).unwrap();
        let shares = Routes::of(&circuit).unsure_shares();
        let share = |id: &str| shares[number(id)].unwrap();
        assert!(share("door").abs() < 1e-15 && share("slip").abs() < 1e-15);
        // 12 metres over the root of 12, of the metres from the panel.
        let range = 12.0 / 12_f64.sqrt();
        assert!((share("bench") - range / 20.0).abs() < 1e-12);
        assert!((share("vise") - range / 25.0).abs() < 1e-12);
    }

    #[test]
    fn a_ring_begins_at_its_breaker_although_a_cable_comes_back_to_it() {
        let circuit = file::read(RING).unwrap().circuit;
        let number = |id: &str| circuit.parts().places.iter().position(|p| p.id == id).unwrap();
        let shares = Routes::of(&circuit).unsure_shares();
        assert!((shares[number("bench")].unwrap() - 12_f64.sqrt() / 20.0).abs() < 1e-12);
    }
}
