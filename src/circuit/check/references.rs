//! Names and addresses that refer to nothing, and terminals claimed twice.

use std::collections::{HashMap, HashSet};

use crate::circuit::connection::{connections, wire_end};
use crate::circuit::{
    BranchCircuit, Cable, CableEnd, Connection, Description, Joint, Load, Part, PartKind, Place,
    RangeOf,
};

use super::{At, Found, Meetings, bars, dangling};

pub(super) fn check(description: &Description, found: &mut Found) {
    let connections: Vec<Connection<'_>> = connections(description).collect();
    let meetings = meetings(description, &connections);
    elements_are_unique(&connections, found);
    terminals_have_one_owner(&connections, found);
    supply(description, &meetings, found);
    let buses: HashSet<&str> = connections
        .iter()
        .filter(|connection| !matches!(connection.part, Part::Breaker(_) | Part::BarLanding(..)))
        .flat_map(|connection| [connection.a.as_str(), connection.b.as_str()])
        .collect();
    for circuit in &description.branch_circuits {
        branch_circuit(circuit, description, &buses, found);
        bars::of_circuit(circuit, &meetings, found);
    }
    description.cables.iter().for_each(|part| cable(part, found));
    bars::of_cables(description, &meetings, found);
    dangling::check(description, &meetings, found);
    for link in &description.links {
        let at = At::new(PartKind::Link, &link.id, "between");
        reaches(at, link.between.0.as_str(), link.between.1.as_str(), &meetings, found);
    }
    let links: HashSet<&str> = description.links.iter().map(|x| x.id.as_str()).collect();
    description.loads.iter().for_each(|part| load(part, &links, &meetings, found));
    for lumped in &description.lumped {
        let at = At::new(PartKind::Lumped, &lumped.id, "between");
        joins_two(at, lumped.between.0.as_str(), lumped.between.1.as_str(), found);
    }
    let known = Known::new(description);
    description.places.iter().for_each(|part| place(part, &known, found));
    let elements: HashSet<&str> = connections.iter().map(|c| c.element.as_str()).collect();
    description.joints.iter().for_each(|part| joint(part, &elements, &known, found));
    ranges(description, &known, found);
}

fn meetings<'d>(description: &'d Description, connections: &'d [Connection<'d>]) -> Meetings<'d> {
    let mut meetings = Meetings::from([("earth", usize::MAX / 2)]);
    for connection in connections {
        *meetings.entry(connection.a.as_str()).or_default() += 1;
        *meetings.entry(connection.b.as_str()).or_default() += 1;
    }
    for (_, slot) in description.places.iter().flat_map(|p| &p.outlets).flat_map(|o| &o.slots) {
        *meetings.entry(slot.as_str()).or_default() += 1;
    }
    meetings
}

/// Whether the one connection that names this terminal is all that reaches it.
pub(super) fn alone(terminal: &str, meetings: &Meetings<'_>) -> bool {
    meetings.get(terminal).is_none_or(|&ends| ends <= 1)
}

/// Terminals worth suggesting: a misspelt one is met by nothing but the part that misspells it.
pub(super) fn keys<'m>(meetings: &'m Meetings<'_>) -> impl Iterator<Item = &'m str> {
    meetings.iter().filter(|(_, ends)| **ends > 1).map(|(terminal, _)| *terminal)
}

/// A path that joins two terminals, at least one of which something else reaches: a bar with
/// nothing on it is no mistake.
fn reaches(at: At<'_>, a: &str, b: &str, meetings: &Meetings<'_>, found: &mut Found) {
    joins_two(at, a, b, found);
    if alone(a, meetings) && alone(b, meetings) {
        let what = format!("nothing else reaches `{a}` or `{b}`");
        found.unknown(at, a, what, "a terminal of the circuit at one end", keys(meetings));
    }
}

fn joins_two(at: At<'_>, a: &str, b: &str, found: &mut Found) {
    if a == b {
        let what = format!("both its ends are `{a}`");
        found.add(at, a, what, "two different terminals");
    }
}

fn elements_are_unique(connections: &[Connection<'_>], found: &mut Found) {
    let mut seen = HashSet::new();
    for connection in connections {
        if seen.insert(connection.element.as_str()) {
            continue;
        }
        // Parts of one kind have been compared by their names already.
        if let Part::Lumped(lumped) = connection.part {
            let at = At::new(PartKind::Lumped, &lumped.id, "id");
            let what = "another part's element has this name".into();
            found.add(at, &lumped.id, what, "a name of its own");
        }
    }
}

fn terminals_have_one_owner(connections: &[Connection<'_>], found: &mut Found) {
    let mut owners: HashMap<&str, (PartKind, &str)> = HashMap::new();
    for connection in connections {
        let (ends, owner) = match &connection.part {
            Part::Breaker(c) | Part::BarLanding(c, _) => {
                (vec![&connection.b], (PartKind::BranchCircuit, c.id.as_str()))
            }
            Part::Wire(cable, _) => {
                (vec![&connection.a, &connection.b], (PartKind::Cable, cable.id.as_str()))
            }
            Part::Tab(device, _) | Part::Switch(device, _) => {
                (vec![&connection.a, &connection.b], (PartKind::Device, device.id.as_str()))
            }
            _ => continue,
        };
        for end in ends {
            let first = *owners.entry(end.as_str()).or_insert(owner);
            if first != owner {
                let at = At::new(owner.0, owner.1, "id");
                let what = format!("its terminal `{end}` is also {} `{}`'s", first.0, first.1);
                found.add(at, end, what, "names that keep their terminals apart");
            }
        }
    }
}

fn supply(description: &Description, meetings: &Meetings<'_>, found: &mut Found) {
    let supply = &description.supply;
    for winding in &supply.windings {
        let at = At::new(PartKind::Winding, &winding.id, "line");
        joins_two(at, winding.line.as_str(), winding.neutral.as_str(), found);
    }
    for coupling in &supply.couplings {
        for (property, name) in [("first", &coupling.first), ("second", &coupling.second)] {
            if !supply.windings.iter().any(|winding| winding.id == *name) {
                let at = At::new(PartKind::Coupling, name, property);
                let windings = supply.windings.iter().map(|winding| winding.id.as_str());
                let what = format!("there is no winding `{name}`");
                found.unknown(at, name, what, "the name of a winding", windings);
            }
        }
        if coupling.first == coupling.second {
            let at = At::new(PartKind::Coupling, &coupling.first, "second");
            let what = "it couples a winding with itself".into();
            found.add(at, &coupling.second, what, "two different windings");
        }
    }
    for conductor in &supply.conductors {
        let at = At::new(PartKind::ServiceConductor, &conductor.id, "from");
        reaches(at, conductor.from.as_str(), conductor.to.as_str(), meetings, found);
    }
    for bond in &supply.bonds {
        let at = At::new(PartKind::Bond, &bond.id, "between");
        reaches(at, bond.between.0.as_str(), bond.between.1.as_str(), meetings, found);
    }
}

fn branch_circuit(
    circuit: &BranchCircuit,
    description: &Description,
    buses: &HashSet<&str>,
    found: &mut Found,
) {
    let at = At::new(PartKind::BranchCircuit, &circuit.id, "bus");
    if !buses.contains(circuit.bus.as_str()) {
        let what = format!("its breaker sits on `{}`, which nothing reaches", circuit.bus);
        let expected = "a bar that is fed";
        found.unknown(at, circuit.bus.as_str(), what, expected, buses.iter().copied());
    }
    for other in &circuit.tied_with {
        let at = At { property: "tied_with", ..at };
        match description.branch_circuits.iter().find(|c| c.id == *other) {
            None => {
                let names = description.branch_circuits.iter().map(|c| c.id.as_str());
                let what = format!("its handle is tied to `{other}`, which is no circuit");
                found.unknown(at, other, what, "the name of a branch circuit", names);
            }
            Some(tied) if tied.breaker.closed != circuit.breaker.closed => {
                let what = format!("its handle is tied to `{other}`, yet one is on and one off");
                found.add(at, other, what, "tied breakers both on or both off");
            }
            Some(_) => {}
        }
    }
}

fn cable(cable: &Cable, found: &mut Found) {
    let at = At::new(PartKind::Cable, &cable.id, "conductors");
    if cable.conductors.is_empty() {
        found.add(at, "", "it has no conductors".into(), "one conductor or more");
    }
    let mut names = HashSet::new();
    for conductor in &cable.conductors {
        let name = conductor.name.as_str();
        if name.trim().is_empty() || name == "earth" {
            let what = format!("a conductor is called `{name}`");
            found.add(at, name, what, "a name that is not `earth`");
        } else if !names.insert(name) {
            found.add(at, name, format!("it has two conductors `{name}`"), "one of each name");
        }
    }
    let pairs = [
        ("capacitance_farad_per_m", &cable.capacitance_farad_per_m),
        ("insulation_ohm_m", &cable.insulation_ohm_m),
    ];
    for (property, list) in pairs {
        let at = At { property, ..at };
        let mut seen = HashSet::new();
        for pair in list {
            let (p, q) = (pair.between.0.as_str(), pair.between.1.as_str());
            for name in [p, q] {
                if name != "earth" && !names.contains(name) {
                    let what = format!("it has no conductor `{name}`");
                    found.unknown(at, name, what, "one of its conductors", names.iter().copied());
                }
            }
            joins_two(at, p, q, found);
            if !seen.insert((p.min(q), p.max(q))) {
                found.add(at, format!("{p}-{q}"), format!("it states {p}-{q} twice"), "once");
            }
        }
    }
    for (end, landings) in [CableEnd::A, CableEnd::B].into_iter().zip(&cable.ends) {
        let at = At { property: "ends", ..at };
        let mut landed = HashSet::new();
        for landing in landings {
            let name = landing.conductor.as_str();
            if !names.contains(name) {
                let what = format!("`{name}` lands at its end {}, but it has none", end.letter());
                found.unknown(at, name, what, "one of its conductors", names.iter().copied());
            } else if !landed.insert(name) {
                let what = format!("`{name}` lands twice at its end {}", end.letter());
                found.add(at, name, what, "one contact for each conductor end");
            }
            if landing.to == wire_end(&cable.id, end, name) {
                let what = format!("`{name}` lands on itself at its end {}", end.letter());
                found.add(at, &landing.to, what, "a terminal, or no landing if it is capped");
            }
        }
    }
}

fn load(load: &Load, links: &HashSet<&str>, meetings: &Meetings<'_>, found: &mut Found) {
    let at = At::new(PartKind::Load, &load.id, "between");
    let (a, b) = (load.between.0.as_str(), load.between.1.as_str());
    joins_two(at, a, b, found);
    for end in [a, b] {
        if alone(end, meetings) {
            let what = format!("nothing else reaches `{end}`");
            found.unknown(at, end, what, "a terminal of the circuit", keys(meetings));
        }
    }
    for link in &load.plug_links {
        if !links.contains(link.as_str()) {
            let at = At { property: "plug_links", ..at };
            let what = format!("there is no link `{link}`");
            found.unknown(at, link, what, "a link's name", links.iter().copied());
        }
    }
}

/// Names that places, joints and ranges may use.
struct Known<'d> {
    places: HashSet<&'d str>,
    cables: HashSet<&'d str>,
    devices: HashSet<&'d str>,
    loads: HashSet<&'d str>,
}

impl<'d> Known<'d> {
    fn new(description: &'d Description) -> Self {
        Self {
            places: description.places.iter().map(|x| x.id.as_str()).collect(),
            cables: description.cables.iter().map(|x| x.id.as_str()).collect(),
            devices: description.devices.iter().map(|x| x.id.as_str()).collect(),
            loads: description.loads.iter().map(|x| x.id.as_str()).collect(),
        }
    }
}

fn place(place: &Place, known: &Known<'_>, found: &mut Found) {
    let at = At::new(PartKind::Place, &place.id, "fed_from");
    let lists = [
        ("fed_from", "place", place.fed_from.as_slice(), &known.places),
        ("line_cables", "cable", &place.line_cables, &known.cables),
        ("load_cables", "cable", &place.load_cables, &known.cables),
        ("devices", "device", &place.devices, &known.devices),
    ];
    for (property, kind, names, existing) in lists {
        for name in names.iter().filter(|name| !existing.contains(name.as_str())) {
            let what = format!("there is no {kind} `{name}`");
            let expected = format!("the name of a {kind}");
            let at = At { property, ..at };
            found.unknown(at, name, what, &expected, existing.iter().copied());
        }
    }
    for outlet in &place.outlets {
        let mut seen = HashSet::new();
        for (conductor, _) in &outlet.slots {
            if !seen.insert(conductor) {
                let what = format!("outlet `{}` has two {conductor} slots", outlet.address);
                let at = At { property: "outlets", ..at };
                found.add(at, conductor, what, "one slot of each name");
            }
        }
    }
}

fn joint(joint: &Joint, elements: &HashSet<&str>, known: &Known<'_>, found: &mut Found) {
    let at = At::new(PartKind::Joint, joint.address.as_str(), "element");
    if !elements.contains(joint.element.as_str()) {
        let what = format!("there is no element `{}`", joint.element);
        let expected = "the element of a joint";
        found.unknown(at, &joint.element, what, expected, elements.iter().copied());
    }
    if !known.places.contains(joint.place.as_str()) {
        let what = format!("there is no place `{}`", joint.place);
        let at = At { property: "place", ..at };
        found.unknown(at, &joint.place, what, "a place's name", known.places.iter().copied());
    }
}

fn ranges(description: &Description, known: &Known<'_>, found: &mut Found) {
    for range in &description.ranges {
        let (name, kind, existing) = match &range.of {
            RangeOf::CableLengthMetre(id) => (id, "cable", &known.cables),
            RangeOf::LoadWatt(id) => (id, "load", &known.loads),
            RangeOf::SupplyScale => continue,
        };
        if !existing.contains(name.as_str()) {
            let at = At::new(PartKind::Range, name, "of");
            let what = format!("there is no {kind} `{name}`");
            let expected = format!("the name of a {kind}");
            found.unknown(at, name, what, &expected, existing.iter().copied());
        }
    }
}
