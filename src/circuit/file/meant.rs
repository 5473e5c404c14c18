//! What others call our fields and fixed words, or where they would put them.

use crate::circuit::diagnostic::Diagnostic;

use super::near::{letters, with_nearest};

/// What was probably meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Meant {
    /// This word of ours.
    Ours(&'static str),
    /// Something that is said elsewhere, or otherwise.
    Elsewhere(&'static str),
}

use Meant::{Elsewhere, Ours};

/// Words of others, a word of ours by which the place is known, and what was meant there. The first
/// that fits counts.
type Row = (&'static [&'static str], &'static str, Meant);

const IN_LOADS: Meant =
    Elsewhere("loads stand in the list `loads` of the file, each with `at: \"BOX\"`");
const IN_DEVICE: Meant = Elsewhere(
    "what a box holds is its `device`: `Receptacle()`, `Switch()`, `GroundFault()`; a receptacle unless stated",
);
const IN_KIND: Meant =
    Elsewhere("it stands in the brackets of `kind`, as `kind: Resistive(watts: 1500)`");
const IN_SUPPLY: Meant = Elsewhere("volts belong to the supply: `supply: (volts: 120)`");
const IN_CONDITION: Meant = Elsewhere(
    "what is wrong is no part of a circuit: `slotwise read FILE 'neutral open at kiln, line side'`, or under a name in `conditions`",
);
const IN_OBSERVATIONS: Meant = Elsewhere(
    "what was seen stands in a file of its own: `slotwise locate CIRCUIT --observations FILE`",
);
const LANDINGS: Meant = Elsewhere(
    "each conductor lands by itself: `near: [(conductor: \"hot\", to: \"door.splice.hot\")]`, and `far` at the other end",
);
const GROUND_FAULT: &[&str] = &["gfci", "gfi", "rcd", "rccb", "rcbo", "groundfault", "residual"];

const FIELDS: &[Row] = &[
    (&["amps", "amp", "ampere", "rating", "size", "breaker"], "amperes", Ours("amperes")),
    (&["ft", "foot"], "feet", Ours("feet")),
    (&["m", "meter", "metre", "meters"], "metres", Ours("metres")),
    (&["length", "distance", "len", "run"], "feet", Elsewhere("`feet: 12` or `metres: 3.6`")),
    (
        GROUND_FAULT,
        "device",
        Elsewhere(
            "`device: GroundFault()`, or `GroundFault(feeds: true)` to protect what comes after it",
        ),
    ),
    (GROUND_FAULT, "ground_fault_milliamperes", Elsewhere("`ground_fault_milliamperes: 5`")),
    (&["afci", "afdd", "arcfault"], "device", Elsewhere("`device: ArcFault()`")),
    (&["afci", "afdd", "arcfault"], "arc_fault", Elsewhere("`arc_fault: true`")),
    (
        &["device", "devices"],
        "ground_fault_milliamperes",
        Elsewhere(
            "a device stands in its box; a breaker that senses has `ground_fault_milliamperes: 5` or `arc_fault: true`",
        ),
    ),
    (&["load", "loads", "appliance", "appliances", "plugged"], "devices", IN_LOADS),
    (
        &["type", "kind", "outlet", "receptacle", "socket", "switch", "dimmer", "configuration"],
        "device",
        IN_DEVICE,
    ),
    (&["breakers", "breaker", "branches", "branchcircuits"], "circuits", Ours("circuits")),
    (
        &["outlets", "receptacles", "places", "rooms", "nodes", "devices", "points"],
        "boxes",
        Ours("boxes"),
    ),
    (&["appliances", "lamps", "lights", "equipment"], "loads", Ours("loads")),
    (
        &["fault", "faults", "problem", "problems", "broken", "condition"],
        "conditions",
        IN_CONDITION,
    ),
    (
        &["fault", "faults", "problem", "problems", "broken", "condition", "conditions"],
        "devices",
        IN_CONDITION,
    ),
    (&["saw", "complaint", "complaints", "symptoms", "tools"], "circuits", IN_OBSERVATIONS),
    (&["voltage", "volts", "volt", "v"], "amperes", IN_SUPPLY),
    (&["voltage", "volts", "volt", "v", "system", "earthing", "hertz"], "supply", IN_SUPPLY),
    (&["voltage", "volt", "v"], "volts", Ours("volts")),
    (&["hz", "frequency"], "hertz", Ours("hertz")),
    (&["from", "to", "between"], "near", LANDINGS),
    (
        &["circuit", "source", "feed", "feeder", "fedfrom", "fedby", "parent", "upstream", "after"],
        "from",
        Ours("from"),
    ),
    (
        &["to", "next", "feeds", "downstream"],
        "from",
        Elsewhere(
            "a box says where its cable comes from: `from: \"BOX\"`, or the name of a circuit",
        ),
    ),
    (
        &["awg", "gauge", "mm2", "wire", "wiresize", "size", "metal", "construction"],
        "cable",
        Elsewhere("it stands in `cable`: `cable: (awg: 12)`, `cable: (mm2: 2.5, metal: Copper)`"),
    ),
    (&["gauge", "size"], "awg", Ours("awg")),
    (&["wires", "conductors", "cores"], "carries", Ours("carries")),
    (&["watts", "watt", "power", "wattage", "w", "ohms", "volts", "microfarads"], "kind", IN_KIND),
    (&["power", "wattage", "w", "watt"], "watts", Ours("watts")),
    (&["kw", "kilowatts", "kva"], "watts", Elsewhere("in watts: `watts: 1500` for 1.5 kW")),
    (
        &["in", "location", "where", "box", "outlet", "place", "receptacle", "socket", "from"],
        "at",
        Ours("at"),
    ),
    (&["type", "load", "appliance"], "kind", Ours("kind")),
    (&["name", "label"], "id", Ours("id")),
    (&["id", "label"], "name", Ours("name")),
    (
        &["awg", "mm2", "cable", "gauge", "wire"],
        "shared_neutral",
        Elsewhere("`cables: [(awg: 12)]`, one of which is drawn"),
    ),
    (
        &["circuit", "circuits", "boxes", "file"],
        "saw",
        Elsewhere(
            "the circuit is named on the command line: `slotwise locate CIRCUIT --observations FILE`",
        ),
    ),
    (
        &[
            "observations",
            "observation",
            "readings",
            "seen",
            "measurements",
            "findings",
            "sentences",
            "tests",
        ],
        "saw",
        Ours("saw"),
    ),
    (&["complaint", "symptoms", "symptom", "reported"], "complaints", Ours("complaints")),
    (&["meters", "testers"], "tools", Ours("tools")),
    (&["time", "times", "cost", "costs"], "minutes", Ours("minutes")),
];

const LOADS: Meant =
    Elsewhere("a load stands in `loads`, with `at: \"BOX\"`, and `wired: true` if it has no plug");

const WORDS: &[Row] = &[
    (GROUND_FAULT, "GroundFault", Ours("GroundFault")),
    (&["afci", "afdd"], "ArcFault", Ours("ArcFault")),
    (&["outlet", "socket", "socketoutlet", "plug", "single"], "Receptacle", Ours("Receptacle")),
    (&["3way", "threewayswitch"], "ThreeWay", Ours("ThreeWay")),
    (&["4way", "fourwayswitch"], "FourWay", Ours("FourWay")),
    (&["lightswitch", "singlepole", "toggle"], "Switch", Ours("Switch")),
    (
        &["junctionbox", "junction", "jbox", "splice", "blank", "empty"],
        "Receptacle",
        Elsewhere("`devices: []` is a box without a device"),
    ),
    (
        &[
            "light",
            "lamp",
            "bulb",
            "fixture",
            "heater",
            "resistive",
            "filament",
            "motor",
            "electronics",
            "led",
            "standby",
            "capacitor",
            "impedance",
        ],
        "Receptacle",
        LOADS,
    ),
    (
        &[
            "heater",
            "kettle",
            "toaster",
            "oven",
            "iron",
            "stove",
            "range",
            "element",
            "waterheater",
            "resistor",
        ],
        "Resistive",
        Ours("Resistive"),
    ),
    (
        &["lamp", "bulb", "light", "incandescent", "halogen"],
        "Filament",
        Elsewhere("`Filament(watts: 60)` or `Led(watts: 9)`"),
    ),
    (&["fan", "pump", "fridge", "refrigerator", "freezer", "compressor"], "Motor", Ours("Motor")),
    (&["tv", "computer", "charger", "laptop", "router"], "Electronics", Ours("Electronics")),
    (
        &[
            "receptacle",
            "duplex",
            "groundfault",
            "gfci",
            "rcd",
            "arcfault",
            "switch",
            "threeway",
            "fourway",
            "dimmer",
        ],
        "Resistive",
        Elsewhere("that is a device, and stands in its box: `device: Switch()`"),
    ),
    (&["nm", "nmb"], "Sheathed", Ours("Sheathed")),
    (&["emt", "imc", "rmc", "metalconduit"], "SteelConduit", Ours("SteelConduit")),
    (&["pvc", "conduit"], "PlasticConduit", Ours("PlasticConduit")),
    (&["cu"], "Copper", Ours("Copper")),
    (&["al"], "Aluminium", Ours("Aluminium")),
    (
        &["single", "singlephase", "split"],
        "SplitPhase",
        Elsewhere("`SplitPhase` is 120/240 V, `Single230` is one phase of 230 V"),
    ),
    (
        &["wye", "star", "threephase", "3phase"],
        "Wye208",
        Elsewhere("`Wye208` is 208Y/120 V, `Wye400` is 230/400 V"),
    ),
];

/// The field that was meant by one that is not there.
pub(crate) fn field(written: &str, known: &[&str]) -> Option<Meant> {
    row(FIELDS, written, known)
}

/// The fixed word that was meant by one that is not known.
pub(crate) fn word(written: &str, known: &[&str]) -> Option<Meant> {
    row(WORDS, written, known)
}

fn row(rows: &[Row], written: &str, known: &[&str]) -> Option<Meant> {
    let written = letters(written);
    let fits = |(words, ours, _): &&Row| words.contains(&written.as_str()) && known.contains(ours);
    rows.iter().find(fits).map(|(.., meant)| *meant)
}

/// Says what was meant, or else what is spelt nearly alike.
pub(crate) fn with_meant(
    diagnostic: Diagnostic,
    written: &str,
    known: &[&str],
    meant: Option<Meant>,
) -> Diagnostic {
    match meant {
        Some(Ours(ours)) => {
            diagnostic.with_help(format!("did you mean `{ours}`?")).with_replacement(ours)
        }
        Some(Elsewhere(help)) => diagnostic.with_help(help),
        None => with_nearest(diagnostic, written, known),
    }
}

/// What a field says that is `None`, where someone may have meant that there is none of it.
pub(crate) fn unsaid(field: &str) -> Option<&'static str> {
    match field {
        "device" => Some("`devices: []` is a box without a device"),
        "ground" => Some("a cable without a ground leaves it out of `carries`"),
        _ => None,
    }
}

/// An example of what stands in the brackets of a form.
pub(crate) fn example(form: &str) -> Option<&'static str> {
    Some(match form {
        "CableForm" => "`(awg: 12)`, `(mm2: 2.5)`",
        "SupplyForm" => "`(system: SplitPhase)`, `(volts: 230)`",
        "CircuitForm" => "`(id: \"c1\", amperes: 20)`",
        "BoxForm" => "`(id: \"door\", from: \"c1\", feet: 30)`",
        "LoadForm" => "`(id: \"heater\", at: \"door\", kind: Resistive(watts: 1500))`",
        "BreakerChoice" => "`(amperes: 20, cables: [(awg: 12)])`",
        "DeviceChoice" => "`(kind: Receptacle)`",
        "Minutes" => "`(open_box: 10)`",
        "LandingForm" => "`(conductor: \"hot\", to: \"door.splice.hot\")`",
        "ConditionForm" => "`(name: \"cold\", sentences: [\"neutral open at door\"])`",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::{FIELDS, Meant, WORDS, row};
    use crate::circuit::file::near::letters;

    #[test]
    fn words_of_others_are_written_as_they_are_compared_and_none_stands_twice_at_one_place() {
        for rows in [FIELDS, WORDS] {
            for (words, ours, meant) in rows {
                for word in *words {
                    assert_eq!(letters(word), *word);
                    assert_eq!(row(rows, word, &[ours]), Some(*meant), "{word} for {ours}");
                }
                if let Meant::Ours(meant) = meant {
                    assert_eq!(ours, meant);
                }
            }
        }
    }
}
