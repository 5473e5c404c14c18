//! The report of a circuit file that could be read: what is in it.

use crate::circuit::{Circuit, PlaceKind, Vocabulary};
use crate::condition::file;
use crate::condition::words::describe;

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
    /// Branch circuits, by name.
    pub branch_circuits: Vec<String>,
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
        Self {
            circuit: parts.name.clone(),
            vocabulary: parts.vocabulary,
            frequency_hz: parts.frequency_hz,
            branch_circuits: parts.branch_circuits.iter().map(|c| c.id.clone()).collect(),
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
        }
    }
}
