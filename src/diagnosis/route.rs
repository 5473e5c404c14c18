//! How far the places lie from each other along the cables, and how well that is known.

use petgraph::algo::dijkstra;
use petgraph::graph::{NodeIndex, UnGraph};

use super::stated::variance;
use crate::circuit::{Circuit, Place, RangeOf};

/// Metres of cable, with the variance that stated ranges give them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Run {
    metre: f64,
    square_metre: f64,
}

impl PartialOrd for Run {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        self.metre.partial_cmp(&other.metre)
    }
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

/// The places of a circuit, joined by its cables.
#[derive(Clone, Debug)]
pub(super) struct Routes {
    cables: UnGraph<(), Run>,
    /// Places that no cable arrives at: where supplies are.
    begins: Vec<NodeIndex>,
}

impl Routes {
    pub(super) fn of(circuit: &Circuit) -> Self {
        let parts = circuit.parts();
        let mut cables = UnGraph::new_undirected();
        let nodes: Vec<NodeIndex> = parts.places.iter().map(|_| cables.add_node(())).collect();
        for cable in &parts.cables {
            let at = |of: fn(&Place) -> &Vec<String>| {
                parts.places.iter().position(|place| of(place).contains(&cable.id))
            };
            let ends = at(|place| &place.load_cables).zip(at(|place| &place.line_cables));
            let Some((from, to)) = ends else { continue };
            let Some((&from, &to)) = nodes.get(from).zip(nodes.get(to)) else { continue };
            let range = parts.ranges.iter().find(
                |range| matches!(&range.of, RangeOf::CableLengthMetre(id) if *id == cable.id),
            );
            let square_metre = range.map_or(0.0, |range| variance(range.low, range.high));
            cables.add_edge(from, to, Run { metre: cable.length_m, square_metre });
        }
        let arrives = |place: &&Place| !place.line_cables.is_empty();
        let begins = parts.places.iter().zip(&nodes);
        let begins = begins.filter(|(place, _)| !arrives(place)).map(|(_, node)| *node).collect();
        Self { cables, begins }
    }

    /// Metres along the cables from a place to every other, both by number; `None` where no cable
    /// leads.
    pub(super) fn metres_from(&self, place: usize) -> Vec<Option<f64>> {
        let runs = self.runs_from(NodeIndex::new(place));
        runs.into_iter().map(|run| run.map(|run| run.metre)).collect()
    }

    /// Of what leads from the supply to each place, the standard deviation of its length as a
    /// share of it: nothing where every length is stated as one figure.
    pub(super) fn unsure_shares(&self) -> Vec<f64> {
        let mut nearest: Vec<Option<Run>> = vec![None; self.cables.node_count()];
        for &begin in &self.begins {
            for (known, run) in nearest.iter_mut().zip(self.runs_from(begin)) {
                let Some(run) = run else { continue };
                // The place where it begins is no way to itself.
                let is_nearer = known.is_none_or(|known| run < known);
                if run.metre > 0.0 && is_nearer {
                    *known = Some(run);
                }
            }
        }
        let share = |run: Run| run.square_metre.sqrt() / run.metre;
        nearest.into_iter().map(|run| run.map_or(0.0, share)).collect()
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

#[cfg(test)]
mod tests {
    use super::Routes;
    use crate::circuit::file;

    const BOATHOUSE: &str =
        "(format: 1, name: \"Boathouse\", circuits: [(id: \"c1\", amperes: 20)],
        boxes: [
            (id: \"door\", from: \"c1\", metres: 10),
            (id: \"bench\", from: \"door\", metres_between: (4, 16)),
            (id: \"vise\", from: \"bench\", metres: 5),
            (id: \"slip\", from: \"door\", metres: 3),
        ])";

    #[test]
    fn one_walks_along_the_cables_and_back_out_another_branch() {
        let circuit = file::read(BOATHOUSE).unwrap().circuit;
        let number = |id: &str| circuit.parts().places.iter().position(|p| p.id == id).unwrap();
        let from = Routes::of(&circuit).metres_from(number("vise"));
        assert_eq!(from[number("bench")], Some(5.0));
        assert_eq!(from[number("slip")], Some(18.0));
        assert_eq!(from[number("vise")], Some(0.0));
    }

    #[test]
    fn a_length_known_as_a_range_makes_what_lies_beyond_it_less_sure_and_nothing_before_it() {
        let circuit = file::read(BOATHOUSE).unwrap().circuit;
        let number = |id: &str| circuit.parts().places.iter().position(|p| p.id == id).unwrap();
        let shares = Routes::of(&circuit).unsure_shares();
        assert!(shares[number("door")].abs() < 1e-15 && shares[number("slip")].abs() < 1e-15);
        // 12 metres over the root of 12, of the metres from the panel.
        let range = 12.0 / 12_f64.sqrt();
        assert!((shares[number("bench")] - range / 20.0).abs() < 1e-12);
        assert!((shares[number("vise")] - range / 25.0).abs() < 1e-12);
    }
}
