//! What instruments show once nothing is wrong.

use crate::circuit::Circuit;
use crate::diagnosis::Means;
use crate::lookalike::AtReceptacle;
use crate::report::vocabulary::line;

/// What an instrument shows at some receptacles once nothing is wrong.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct ExpectedReading {
    /// What the instrument is called.
    pub instrument: String,
    /// The receptacles at which it shows the same.
    pub at: Vec<String>,
    /// What it shows.
    pub shows: String,
}

/// Readings, those of one instrument that are the same together.
pub(super) fn expected(
    circuit: &Circuit,
    means: &Means,
    readings: &[AtReceptacle],
) -> Vec<ExpectedReading> {
    let vocabulary = circuit.parts().vocabulary;
    let mut expected: Vec<ExpectedReading> = Vec::new();
    for reading in readings {
        let called = means.tools.iter().find(|tool| tool.instrument.name() == reading.instrument);
        let instrument = called.map_or(&reading.instrument, |tool| &tool.name);
        let shows = line(vocabulary, &reading.says);
        let at = reading.at.to_string();
        let same =
            |known: &&mut ExpectedReading| known.instrument == *instrument && known.shows == shows;
        match expected.iter_mut().find(same) {
            Some(known) => known.at.push(at),
            None => expected.push(ExpectedReading {
                instrument: instrument.clone(),
                at: vec![at],
                shows,
            }),
        }
    }
    expected.sort_by(|a, b| a.instrument.cmp(&b.instrument));
    expected
}
