//! The report of a circuit file that could be read: what is in it.

use crate::circuit::reach::Branches;
use crate::circuit::{Circuit, PlaceKind, Vocabulary};
use crate::condition::file;
use crate::condition::words::describe;

use super::vocabulary::{Term, term};

mod grammar_names;

/// What a circuit file holds.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::report::CheckReport;
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let report = CheckReport::new(&file::read(&text).unwrap().circuit, &[]);
/// assert_eq!(report.receptacles.len(), 5);
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct CheckReport {
    /// What the circuit is called.
    pub circuit: String,
    /// Which words it speaks.
    pub vocabulary: Vocabulary,
    /// Frequency.
    pub frequency_hz: f64,
    /// Branch circuits, by name, the poles of one as one.
    pub branch_circuits: Vec<String>,
    /// Every pole of their breakers, by name.
    pub breaker_poles: Vec<String>,
    /// Boxes and panels, in walking order.
    pub places: Vec<String>,
    /// Receptacles, by address.
    pub receptacles: Vec<String>,
    /// Loads, by name.
    pub loads: Vec<String>,
    /// How many cables.
    pub cables: usize,
    /// How many joints a person can point at.
    pub joints: usize,
    /// The conditions named in the file.
    pub conditions: Vec<NamedCondition>,
    /// What is no mistake and may be meant otherwise, each in a sentence.
    pub remarks: Vec<String>,
}

/// A condition named in the file, in its canonical words.
///
/// ```
/// use slotwise::report::check::NamedCondition;
/// let idle = NamedCondition { name: "idle".into(), says: vec!["heater off".into()] };
/// assert_eq!(idle.says.len(), 1);
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct NamedCondition {
    /// Its name.
    pub name: String,
    /// What it says.
    pub says: Vec<String>,
}

impl CheckReport {
    /// The report of a circuit and the conditions named with it.
    ///
    /// ```
    /// use slotwise::circuit::{Circuit, Description};
    /// use slotwise::report::CheckReport;
    /// let bare = Description { frequency_hz: 50.0, ..Description::default() };
    /// let report = CheckReport::new(&Circuit::new(bare).unwrap(), &[]);
    /// assert_eq!(report.cables, 0);
    /// ```
    pub fn new(circuit: &Circuit, conditions: &[file::NamedCondition]) -> Self {
        let parts = circuit.parts();
        let branches = Branches::of(circuit);
        Self {
            circuit: parts.name.clone(),
            vocabulary: parts.vocabulary,
            frequency_hz: parts.frequency_hz,
            branch_circuits: branches.poles.iter().map(|(name, _)| (*name).to_owned()).collect(),
            breaker_poles: parts.branch_circuits.iter().map(|pole| pole.id.clone()).collect(),
            places: parts
                .places
                .iter()
                .filter(|place| place.kind != PlaceKind::Supply)
                .map(|place| place.id.clone())
                .collect(),
            receptacles: circuit.outlets().map(|(_, o)| o.address.to_string()).collect(),
            loads: parts.loads.iter().map(|load| load.id.clone()).collect(),
            cables: parts.cables.len(),
            joints: parts.joints.len(),
            conditions: conditions
                .iter()
                .map(|named| NamedCondition {
                    name: named.name.clone(),
                    says: describe(circuit, &named.condition),
                })
                .collect(),
            remarks: idle_breakers(circuit, &branches)
                .chain(grammar_names::remarks(circuit))
                .collect(),
        }
    }
}

/// Breakers from which no wire leads anywhere.
fn idle_breakers(circuit: &Circuit, branches: &Branches<'_>) -> impl Iterator<Item = String> {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    branches.feeding_nothing(circuit).into_iter().map(move |id| {
        format!(
            "The {breaker} {id} feeds nothing. If it is a spare, leave it; else give the first box on \
             it `from: \"{id}\"`."
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::file;

    fn report(text: &str) -> CheckReport {
        CheckReport::new(&file::read(text).unwrap().circuit, &[])
    }

    #[test]
    fn the_poles_of_one_circuit_are_one_circuit() {
        let works = report(
            r#"(format: 1, name: "Kite works",
            circuits: [(id: "c1", amperes: 15), (id: "sew", amperes: 15, legs: ["L1", "L2"])],
            boxes: [(id: "hall", from: "c1", feet: 60), (id: "table", from: "sew", feet: 20, capped: ["hot2"])])"#,
        );
        assert_eq!(works.branch_circuits, ["c1", "sew"]);
        assert_eq!(works.breaker_poles, ["c1", "sew", "sew.pole2"]);
        assert!(works.remarks.is_empty(), "{:?}", works.remarks);
    }

    #[test]
    fn a_breaker_that_feeds_nothing_is_remarked_on() {
        let works = report(
            r#"(format: 1, circuits: [(id: "c1", amperes: 15), (id: "spare", amperes: 15)],
            boxes: [(id: "hall", from: "c1", feet: 60)])"#,
        );
        assert_eq!(works.remarks.len(), 1, "{:?}", works.remarks);
        assert!(works.remarks[0].starts_with("The breaker spare feeds nothing."));
    }

    #[test]
    fn a_name_that_is_a_word_of_the_sentences_is_remarked_on_with_one_that_is_none() {
        let works = report(
            r#"(format: 1, circuits: [(id: "c1", amperes: 15)],
            boxes: [(id: "works", from: "c1", feet: 60), (id: "hall", from: "works", feet: 9)])"#,
        );
        assert_eq!(works.remarks.len(), 1, "{:?}", works.remarks);
        assert!(works.remarks[0].contains("`the-works`"), "{:?}", works.remarks);
    }
}
