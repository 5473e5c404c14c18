//! Names of places that are on no map: our own list.

use super::chance::Chance;

const FIRST: [&str; 40] = [
    "Amberholt",
    "Ashwhistle",
    "Barleycombe",
    "Bellweather",
    "Brackenmoor",
    "Brindlewick",
    "Candlewax Nook",
    "Cinderby",
    "Cloudberry",
    "Copperdale",
    "Cricketham",
    "Dapplestow",
    "Dunlarkin",
    "Elderfen",
    "Fiddlebrook",
    "Foxlantern",
    "Gannetsway",
    "Gorsehollow",
    "Harrowmere",
    "Hazelquay",
    "Inkwell",
    "Juniper Gap",
    "Kestrelwold",
    "Lapwing",
    "Larkspit",
    "Marlowend",
    "Mistletarn",
    "Nettlecross",
    "Otterpool",
    "Pebblethorpe",
    "Quillmarsh",
    "Ravenwell Oak",
    "Rookery",
    "Saffronleigh",
    "Sandpiper",
    "Tansyspring",
    "Thistledown",
    "Underbeck",
    "Wickertree",
    "Yarrowby",
];

const SECOND: [&str; 20] = [
    "Lane", "Yard", "Quay", "Row", "Corner", "Mews", "Hill", "Green", "Wharf", "Gate", "Cross",
    "Bank", "Steps", "Walk", "End", "Field", "Common", "Bridge", "Court", "Wood",
];

/// A place, as `Lapwing Quay`.
pub(super) fn place(chance: &mut Chance) -> String {
    let first = chance.one_of(&FIRST).copied().unwrap_or_default();
    let second = chance.one_of(&SECOND).copied().unwrap_or_default();
    format!("{first} {second}")
}
