//! Names that sentences take for words of their own.

use std::collections::BTreeSet;

use crate::circuit::{Circuit, file};
use crate::diagnosis::Complaint;
use crate::diagnosis::words::complaints;

/// The place beside, of which sentences must be understood too: its name is no word.
const BESIDE: &str = "zz-beside";

/// So many names are tried; each takes a circuit of its own.
const NAMES_MAX: usize = 500;

/// What is called by a name.
#[derive(Clone, Copy)]
enum Called {
    Receptacle,
    Load,
}

/// A remark for every receptacle and load that is called so that a sentence about it, or about its
/// neighbour, is not understood. Found by saying it in a circuit that has nothing else.
pub(super) fn remarks(circuit: &Circuit) -> Vec<String> {
    let places = circuit.outlets().map(|(place, _)| (place.id.as_str(), Called::Receptacle));
    let loads = circuit.parts().loads.iter().map(|load| (load.id.as_str(), Called::Load));
    let mut seen = BTreeSet::new();
    let mut remarks = Vec::new();
    // Words of the sentences are letters alone.
    let of_letters = |(name, _): &(&str, _)| name.chars().all(|one| one.is_ascii_alphabetic());
    let each = places.chain(loads).filter(of_letters).filter(|(name, _)| seen.insert(*name));
    for (name, called) in each.take(NAMES_MAX) {
        let Some(missed) = not_understood(name, called) else { continue };
        let other = [format!("the-{name}"), format!("{name}-one")];
        let mut other = other.iter().filter(|other| {
            circuit.parts().places.iter().all(|place| place.id != **other)
                && not_understood(other, called).is_none()
        });
        let other = other.next().map_or_else(String::new, |other| format!(": `{other}`, say"));
        remarks.push(format!(
            "`{name}` is a word of the sentences too, and with a name like that `locate` does not \
             understand `{missed}`. Call it otherwise in the file{other}."
        ));
    }
    remarks
}

/// The first sentence that is not understood as it is meant where something has this name.
fn not_understood(name: &str, called: Called) -> Option<String> {
    let load = match called {
        Called::Receptacle => String::new(),
        Called::Load => {
            format!("loads: [(id: \"{name}\", at: \"{BESIDE}\", kind: Resistive(watts: 9))],")
        }
    };
    let own = match called {
        Called::Receptacle => format!("(id: \"{name}\", from: \"{BESIDE}\", feet: 9),"),
        Called::Load => String::new(),
    };
    let text = format!(
        "(format: 1, circuits: [(id: \"c1\", amperes: 15)],
        boxes: [(id: \"{BESIDE}\", from: \"c1\", feet: 9), {own}], {load})"
    );
    // A name that cannot stand in such a file is another matter.
    let circuit = file::read(&text).ok()?.circuit;
    let beside = BESIDE.to_owned();
    let place = || name.to_owned();
    let mut said = vec![
        (format!("{BESIDE} dead"), Complaint::Dead { places: vec![beside.clone()] }),
        (format!("{BESIDE} works"), Complaint::Works { places: vec![beside.clone()] }),
        (format!("dead from {BESIDE} on"), Complaint::DeadFrom { place: beside }),
    ];
    match called {
        Called::Receptacle => said.extend([
            (format!("{name} dead"), Complaint::Dead { places: vec![place()] }),
            (format!("{name} works"), Complaint::Works { places: vec![place()] }),
            (format!("dead from {name} on"), Complaint::DeadFrom { place: place() }),
        ]),
        Called::Load => said.extend([
            (format!("{name} dead"), Complaint::LoadDead { load: place() }),
            (format!("{name} flickers"), Complaint::Flickers { loads: vec![place()] }),
        ]),
    }
    let missed = said.into_iter().find(|(sentence, meant)| {
        complaints(&circuit, sentence).ok().as_deref() != Some(std::slice::from_ref(meant))
    });
    missed.map(|(sentence, _)| sentence.replace(BESIDE, "sink"))
}
