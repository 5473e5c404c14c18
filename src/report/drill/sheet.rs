//! The student's sheet: what is known before anything is found.

use crate::circuit::{Circuit, DeviceKind, Place, PlaceKind, Vocabulary};
use crate::drill::{Drill, DrillReading};
use crate::report::figure::length;
use crate::report::vocabulary::{Term, line, term};

use super::call;

/// What the student is told.
///
/// ```
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::SheetReport;
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let sheet = SheetReport::new(&drill);
/// assert!(!sheet.call.is_empty() && !sheet.readings.is_empty());
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct SheetReport {
    /// Place and kind of building.
    pub title: String,
    /// What the drill is drawn with again: family, seed and number.
    pub drill: String,
    /// Which words it speaks.
    pub vocabulary: Vocabulary,
    /// The year in which the building was wired.
    pub wired_in: u16,
    /// What the customer says.
    pub call: Vec<String>,
    /// The breakers, in words.
    pub breakers: Vec<String>,
    /// The boxes, in walking order.
    pub boxes: Vec<KnownBox>,
    /// What is plugged in or wired in.
    pub loads: Vec<KnownLoad>,
    /// What has been read.
    pub readings: Vec<ReadingLine>,
    /// The circuit as a circuit file.
    pub circuit_file: String,
}

/// A box as the student knows it.
///
/// ```
/// use slotwise::report::KnownBox;
/// let kiln = KnownBox {
///     name: "kiln".into(),
///     from: "wheel".into(),
///     length: "15 ft".into(),
///     holds: "receptacle".into(),
/// };
/// assert_eq!(kiln.from, "wheel");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct KnownBox {
    /// Its name.
    pub name: String,
    /// Where its cable comes from.
    pub from: String,
    /// How long that cable is.
    pub length: String,
    /// What is in it.
    pub holds: String,
}

/// A load as the student knows it.
///
/// ```
/// use slotwise::report::KnownLoad;
/// let kettle = KnownLoad {
///     name: "kettle".into(),
///     at: "sink".into(),
///     on: true,
///     rating: "1000 W".into(),
/// };
/// assert!(kettle.on);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct KnownLoad {
    /// Its name.
    pub name: String,
    /// Where it is.
    pub at: String,
    /// Whether it is switched on.
    pub on: bool,
    /// Its rating plate.
    pub rating: String,
}

/// One line of readings: one instrument at one receptacle.
///
/// ```
/// use slotwise::report::ReadingLine;
/// let line = ReadingLine {
///     tool: "tester".into(),
///     at: "kiln".into(),
///     loads: "loads as described".into(),
///     shows: "hot-neutral dark".into(),
/// };
/// assert_eq!(line.at, "kiln");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct ReadingLine {
    /// The instrument.
    pub tool: String,
    /// The receptacle.
    pub at: String,
    /// How the loads stood.
    pub loads: String,
    /// What it showed.
    pub shows: String,
}

impl SheetReport {
    /// What the student of a drill is told.
    pub fn new(drill: &Drill) -> Self {
        let circuit = &drill.circuit;
        let vocabulary = circuit.parts().vocabulary;
        let boxes = circuit.parts().places.iter().filter(|place| place.kind == PlaceKind::Box);
        Self {
            title: drill.title.clone(),
            drill: name_of(drill),
            vocabulary,
            wired_in: drill.year,
            call: drill.complaints.iter().map(|said| call::say(said, vocabulary)).collect(),
            breakers: breakers(circuit),
            boxes: boxes.map(|place| known_box(circuit, place)).collect(),
            loads: loads(drill),
            readings: lines_of(&drill.first, vocabulary),
            circuit_file: drill.circuit_file.clone(),
        }
    }
}

/// What a drill is called: what draws it again.
pub(super) fn name_of(drill: &Drill) -> String {
    format!("{}, seed {}, number {}", drill.family, drill.seed, drill.number)
}

fn breakers(circuit: &Circuit) -> Vec<String> {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let one = |branch: &crate::circuit::BranchCircuit| {
        let rating =
            branch.breaker.rating_ampere.map_or_else(String::new, |ampere| format!(", {ampere} A"));
        format!("{breaker} {}{rating}", branch.id)
    };
    circuit.parts().branch_circuits.iter().map(one).collect()
}

fn known_box(circuit: &Circuit, place: &Place) -> KnownBox {
    let vocabulary = circuit.parts().vocabulary;
    let cable = place.line_cables.first().and_then(|cable| circuit.cable(cable));
    let length = cable.map_or_else(String::new, |cable| length(cable.length_m, vocabulary));
    let devices = place.devices.iter().filter_map(|device| circuit.device(device));
    let mut holds: Vec<&str> =
        devices.map(|device| device_in_words(&device.kind, vocabulary)).collect();
    // A protective device has its receptacle in its own face.
    let protective = protective_in_words(vocabulary);
    if holds.contains(&protective) {
        holds = vec![protective];
    }
    if holds.is_empty() {
        holds.push("lamp");
    }
    KnownBox {
        name: place.id.clone(),
        from: place.fed_from.clone().unwrap_or_default(),
        length,
        holds: holds.join(", "),
    }
}

fn device_in_words(kind: &DeviceKind, vocabulary: Vocabulary) -> &'static str {
    match kind {
        DeviceKind::Receptacle { .. } => term(vocabulary, Term::Receptacle),
        DeviceKind::Duplex { .. } => "duplex, parted halves",
        DeviceKind::Switch { closed: true, .. } => "switch, on",
        DeviceKind::Switch { .. } => "switch, off",
        DeviceKind::ThreeWay { .. } => "three-way switch",
        DeviceKind::FourWay { .. } => "four-way switch",
        DeviceKind::Protective { .. } => protective_in_words(vocabulary),
    }
}

fn protective_in_words(vocabulary: Vocabulary) -> &'static str {
    match vocabulary {
        Vocabulary::NorthAmerican => "ground-fault receptacle",
        Vocabulary::Iec => "socket-outlet with residual-current device",
    }
}

fn loads(drill: &Drill) -> Vec<KnownLoad> {
    let one = |load: &crate::circuit::Load| {
        let watt = load.kind.rated_watt();
        KnownLoad {
            name: load.id.clone(),
            at: drill.place_of_load(&load.id).unwrap_or_default(),
            on: load.on,
            rating: watt.map_or_else(|| "motor".to_owned(), |watt| format!("{watt:.0} W")),
        }
    };
    drill.circuit.parts().loads.iter().map(one).collect()
}

/// Readings of one instrument at one receptacle in one line.
pub(crate) fn lines_of(readings: &[DrillReading], vocabulary: Vocabulary) -> Vec<ReadingLine> {
    let mut lines: Vec<ReadingLine> = Vec::new();
    for one in readings {
        let shows = match &one.between {
            Some(between) => format!("{between} {}", one.shows),
            None => one.shows.clone(),
        };
        let shows = line(vocabulary, &shows);
        match lines.last_mut() {
            Some(last)
                if (&last.tool, &last.at, &last.loads) == (&one.tool, &one.at, &one.loads) =>
            {
                last.shows.push_str(", ");
                last.shows.push_str(&shows);
            }
            _ => lines.push(ReadingLine {
                tool: one.tool.clone(),
                at: one.at.clone(),
                loads: one.loads.clone(),
                shows,
            }),
        }
    }
    lines
}
