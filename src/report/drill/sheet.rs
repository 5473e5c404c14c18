//! The student's sheet: what is known before anything is found.

use std::collections::BTreeSet;

use crate::circuit::connection::contact_element;
use crate::circuit::reach::Branches;
use crate::circuit::{
    Cable, CableEnd, Circuit, DeviceKind, Load, LoadKind, Outlet, Place, PlaceKind, Vocabulary,
};
use crate::condition::words::known::Known;
use crate::diagnosis::{Complaint, WhenItTrips};
use crate::drill::{Drill, DrillReading};
use crate::quantity::Address;
use crate::report::figure::{length, milliamperes};
use crate::report::vocabulary::{Term, line, term};

use super::{names, supply};

/// The name of the first panel in a circuit file.
const PANEL: &str = "panel";

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
    /// The supply, in words: volts, system, earthing.
    pub supply: String,
    /// The breakers, in words.
    pub breakers: Vec<String>,
    /// The boxes, in walking order.
    pub boxes: Vec<KnownBox>,
    /// What is plugged in or wired in.
    pub loads: Vec<KnownLoad>,
    /// How everything stood when it was read.
    pub read_when: &'static str,
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
///     cable: "12 AWG: hot, neutral, ground".into(),
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
    /// Its size and conductors.
    pub cable: String,
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
            call: drill.complaints.iter().map(|said| names::say(circuit, said)).collect(),
            supply: supply::in_words(circuit),
            breakers: breakers(circuit),
            boxes: boxes.map(|place| known_box(circuit, place)).collect(),
            loads: loads(drill),
            read_when: read_when(&drill.complaints),
            readings: lines_of(&drill.first, vocabulary),
            circuit_file: drill.circuit_file.clone(),
        }
    }
}

/// What trips after a while was on when it was read.
fn read_when(complaints: &[Complaint]) -> &'static str {
    let is_later =
        |one: &Complaint| matches!(one, Complaint::Trips { when: WhenItTrips::AfterAWhile, .. });
    match complaints.iter().any(is_later) {
        true => "everything as found, before the breaker trips",
        false => "everything as found",
    }
}

/// What a drill is called: what draws it again.
pub(super) fn name_of(drill: &Drill) -> String {
    format!("{}, seed {}, number {}", drill.family, drill.seed, drill.number)
}

fn breakers(circuit: &Circuit) -> Vec<String> {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let branches = &circuit.parts().branch_circuits;
    // Where all are on one leg nobody asks which.
    let buses: BTreeSet<&str> = branches.iter().map(|branch| branch.bus.as_str()).collect();
    let one = |(name, poles): &(&str, Vec<&str>)| {
        let of_it = branches.iter().filter(|branch| poles.contains(&branch.id.as_str()));
        let legs: Vec<&str> = of_it
            .map(|branch| branch.bus.as_str().rsplit('.').next().unwrap_or_default())
            .collect();
        let leg = match buses.len() {
            0 | 1 => String::new(),
            _ => format!(", on {}", legs.join(" and ")),
        };
        let branch = branches.iter().find(|branch| branch.id == *name)?;
        let rating =
            branch.breaker.rating_ampere.map_or_else(String::new, |ampere| format!(", {ampere} A"));
        let residual = branch.breaker.residual_trip_ampere.map_or_else(String::new, |ampere| {
            format!(", trips on {} residual current", milliamperes(ampere))
        });
        let ring = match ring_cable(circuit, &branch.id) {
            Some(cable) => {
                let length = length(cable.length_m, circuit.parts().vocabulary);
                format!(", a ring: {length} more from {} back to it", last_of_ring(circuit, cable))
            }
            None => String::new(),
        };
        let cable = first_cable(circuit, name).map(|cable| supply::cable_in_words(circuit, cable));
        let cable = cable.map_or_else(String::new, |cable| format!(", cable {cable}"));
        Some(format!("{breaker} {name}{rating}{residual}{leg}{ring}{cable}"))
    };
    Branches::of(circuit).poles.iter().filter_map(one).collect()
}

/// The first cable that a breaker feeds.
fn first_cable<'c>(circuit: &'c Circuit, name: &str) -> Option<&'c Cable> {
    let known = Known::of(circuit);
    let fed = known.fed_by(name);
    let places = circuit.parts().places.iter();
    let mut cables = places.flat_map(|place| place.line_cables.first());
    cables.find(|cable| fed.contains(cable.as_str())).and_then(|cable| circuit.cable(cable))
}

/// The cable that brings a circuit back to its breaker.
fn ring_cable<'c>(circuit: &'c Circuit, branch: &str) -> Option<&'c Cable> {
    let pole = format!("{branch}.hot");
    let comes_back = |cable: &&Cable| {
        let [_, last] = &cable.ends;
        last.iter().any(|landing| landing.to.as_str() == pole)
    };
    circuit.parts().cables.iter().find(comes_back)
}

/// The box in which a ring begins its way back.
fn last_of_ring<'c>(circuit: &'c Circuit, cable: &Cable) -> &'c str {
    let [first, _] = &cable.ends;
    let joints = first.iter().filter_map(|landing| {
        let element = contact_element(&cable.id, CableEnd::A, &landing.conductor);
        circuit.joint_of_element(&element)
    });
    joints.map(|joint| joint.place.as_str()).next().unwrap_or_default()
}

/// The circuits whose breakers feed a cable that leaves the panel, as `c1` or `c1, c2`.
fn circuits_of(circuit: &Circuit, cable: &str) -> String {
    let known = Known::of(circuit);
    let feeds = |pole: &&str| known.fed_by(pole).contains(cable);
    let branches = Branches::of(circuit).poles.into_iter();
    let feeding = branches.filter(|(_, poles)| poles.iter().any(feeds));
    feeding.map(|(name, _)| name).collect::<Vec<_>>().join(", ")
}

fn known_box(circuit: &Circuit, place: &Place) -> KnownBox {
    let vocabulary = circuit.parts().vocabulary;
    let cable = place.line_cables.first().and_then(|cable| circuit.cable(cable));
    let size = cable.map_or_else(String::new, |cable| supply::cable_in_words(circuit, cable));
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
    let from = place.fed_from.clone().unwrap_or_default();
    let is_box = circuit.place(&from).is_some_and(|from| from.kind == PlaceKind::Box);
    let from = if from == PANEL { term(vocabulary, Term::Panel).to_owned() } else { from };
    let circuits = place.line_cables.first().filter(|_| !is_box);
    let circuits = circuits.map_or_else(String::new, |cable| circuits_of(circuit, cable));
    KnownBox {
        name: place.id.clone(),
        from: if circuits.is_empty() { from } else { format!("{from}, {circuits}") },
        length,
        cable: size,
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
    let one = |load: &Load| {
        let watt = load.kind.rated_watt();
        KnownLoad {
            name: load.id.clone(),
            at: half_of_load(drill, load)
                .or_else(|| drill.place_of_load(&load.id))
                .unwrap_or_default(),
            on: load.on,
            rating: watt.map_or_else(|| motor(drill, load), |watt| format!("{watt:.0} W")),
        }
    };
    drill.circuit.parts().loads.iter().map(one).collect()
}

/// The receptacle a load is plugged into, as `spout.bottom`: its plug meets the slots.
fn half_of_load(drill: &Drill, load: &Load) -> Option<String> {
    let circuit = &drill.circuit;
    let meets = |slot: &Address| {
        circuit.connections().any(|connection| {
            let is_plug = |link: &String| connection.element == format!("link:{link}");
            load.plug_links.iter().any(is_plug) && (connection.a == *slot || connection.b == *slot)
        })
    };
    // Halves may share a slot: the one it is in is met by all of its plug.
    let met = |outlet: &Outlet| outlet.slots.iter().filter(|(_, slot)| meets(slot)).count();
    let outlets = circuit.outlets().map(|(_, outlet)| (met(outlet), outlet));
    let (_, outlet) = outlets.filter(|(met, _)| *met > 0).max_by_key(|(met, _)| *met)?;
    Some(outlet.address.to_string())
}

/// `motor, 100 W`: what it takes at full load, where it runs between a line and the neutral.
fn motor(drill: &Drill, load: &Load) -> String {
    let emf = drill.circuit.parts().supply.windings.first().map(|one| one.emf_volt.magnitude());
    let ends = [&load.between.0, &load.between.1];
    let is_to_neutral = ends.iter().any(|end| end.as_str().ends_with(".neutral"));
    match (&load.kind, emf.filter(|_| is_to_neutral)) {
        (LoadKind::Motor { running, .. }, Some(volt)) => {
            let (r, x) = (running.resistance_ohm, running.reactance_ohm);
            let watt = volt * volt * r / (r * r + x * x);
            format!("motor, {watt:.0} W")
        }
        (LoadKind::Motor { .. }, None) => "motor".to_owned(),
        _ => String::new(),
    }
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
