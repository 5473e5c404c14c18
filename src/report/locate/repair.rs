//! What instruments show once nothing is wrong.

use crate::circuit::{Circuit, Outlet};
use crate::diagnosis::Means;
use crate::instrument::{Place, Reading, Shown};
use crate::quantity::Address;
use crate::report::read::reading_in_words;
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
    readings: &[Reading],
) -> Vec<ExpectedReading> {
    // Each instrument at each receptacle, whatever number of readings it takes there.
    let mut at_each: Vec<ExpectedReading> = Vec::new();
    for reading in readings {
        let called = means.tools.iter().find(|tool| tool.instrument.name() == reading.instrument);
        let instrument = called.map_or(&reading.instrument, |tool| &tool.name);
        for (outlet, spot) in spots(circuit, &reading.place) {
            let at = outlet.address.to_string();
            let shows = line(circuit.parts().vocabulary, &in_words(&spot, reading));
            let same = |known: &&mut ExpectedReading| {
                known.instrument == *instrument && known.at.first() == Some(&at)
            };
            match at_each.iter_mut().find(same) {
                // A ground that both halves of a duplex have is read in each.
                Some(known) if known.shows.split(", ").any(|one| one == shows) => {}
                Some(known) => known.shows.push_str(&format!(", {shows}")),
                None => at_each.push(ExpectedReading {
                    instrument: instrument.clone(),
                    at: vec![at],
                    shows,
                }),
            }
        }
    }
    let mut expected: Vec<ExpectedReading> = Vec::new();
    for one in at_each {
        let same = |known: &&mut ExpectedReading| {
            known.instrument == one.instrument && known.shows == one.shows
        };
        match expected.iter_mut().find(same) {
            Some(known) => known.at.extend(one.at),
            None => expected.push(one),
        }
    }
    expected.sort_by(|a, b| a.instrument.cmp(&b.instrument));
    expected
}

/// The receptacles of a place, and which of its slots an instrument was held to.
fn spots<'c>(circuit: &'c Circuit, place: &Place) -> Vec<(&'c Outlet, String)> {
    let all = |terminal: &Address| {
        let slot = |outlet: &'c Outlet| {
            let slot = outlet.slots.iter().find(|(_, known)| known == terminal)?;
            Some((outlet, slot.0.clone()))
        };
        circuit.outlets().filter_map(|(_, outlet)| slot(outlet)).collect::<Vec<_>>()
    };
    let of = |terminal: &Address| all(terminal).into_iter().next();
    let only = match place {
        Place::Receptacle { address, .. } => {
            let mut outlets = circuit.outlets().map(|(_, outlet)| outlet);
            outlets.find(|outlet| outlet.address == *address).map(|outlet| (outlet, String::new()))
        }
        Place::Slots { slots } => {
            slots.iter().find_map(|slot| of(&slot.terminal)).map(|(at, _)| (at, String::new()))
        }
        Place::Between { from, to } => of(from)
            .zip(of(to))
            .map(|((outlet, first), (_, second))| (outlet, format!("{first}-{second}"))),
        Place::Near { terminal, .. } => return all(terminal),
        _ => None,
    };
    only.into_iter().collect()
}

/// As the words of an answer have it, where those differ from a report's.
fn in_words(spot: &str, reading: &Reading) -> String {
    match &reading.shown {
        Shown::NonContact(shown) => {
            let does = match shown.alarm {
                Some(true) => "beeps",
                Some(false) => "silent",
                None => "may beep",
            };
            format!("{spot} {does}")
        }
        _ => reading_in_words(spot, reading, None),
    }
}
