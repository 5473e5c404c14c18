//! What there is to speak of in one circuit: names, joints, terminals.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{Cable, CableEnd, Circuit, DeviceKind, Joint, JointKind, Part, Side};
use crate::quantity::Address;

use super::lexicon::{self, Class};

/// The names, joints and terminals of one circuit, ready to be looked up.
pub(crate) struct Known<'c> {
    pub(crate) circuit: &'c Circuit,
    /// Every name in lower case, with its spellings.
    names: BTreeMap<String, Vec<(Class, String)>>,
    /// Every address and element in lower case, with its spelling.
    addresses: BTreeMap<String, String>,
    pub(crate) joints: Vec<KnownJoint>,
    /// Ends of every element.
    pub(crate) elements: BTreeMap<String, (Address, Address)>,
    /// Conductor names of the circuit that are no word of the grammar, in lower case.
    conductors: BTreeMap<String, String>,
}

/// A joint with the cable end that it is, if it is one.
pub(crate) struct KnownJoint {
    pub(crate) joint: Joint,
    /// A person can point at it: it has an address of its own.
    pub(crate) listed: bool,
    pub(crate) cable_end: Option<(String, CableEnd)>,
    /// It is a joint or a link and no load, wire or winding.
    pub(crate) metal: bool,
    /// The place at the far end of that cable.
    pub(crate) toward: Option<String>,
    /// The load whose plug or screws it is.
    pub(crate) load: Option<String>,
}

impl KnownJoint {
    /// Cable, end and the cable's own name of the conductor, if it is the end of a cable.
    pub(crate) fn contact(&self) -> Option<(&str, CableEnd, &str)> {
        let (cable, end) = self.cable_end.as_ref()?;
        let rest = self.joint.element.strip_prefix("contact:")?.strip_prefix(cable.as_str())?;
        let conductor = rest.strip_prefix(".a.").or_else(|| rest.strip_prefix(".b."))?;
        Some((cable, *end, conductor))
    }
}

impl<'c> Known<'c> {
    pub(crate) fn of(circuit: &'c Circuit) -> Self {
        let mut known = Self {
            circuit,
            names: BTreeMap::new(),
            addresses: BTreeMap::new(),
            joints: Vec::new(),
            elements: BTreeMap::new(),
            conductors: BTreeMap::new(),
        };
        known.add_names();
        known.add_joints();
        for terminal in circuit.terminals() {
            known.add_address(terminal.as_str());
        }
        known
    }

    /// The spelling of a name, an address or an element, case aside.
    pub(crate) fn spelling(&self, written: &str) -> Option<&str> {
        let key = written.to_lowercase();
        if let Some(spellings) = self.names.get(&key) {
            let exact = spellings.iter().find(|(_, name)| name == written);
            return exact.or_else(|| spellings.first()).map(|(_, name)| name.as_str());
        }
        self.addresses.get(&key).map(String::as_str)
    }

    /// The spelling of a name of one of these classes, case aside.
    pub(crate) fn spelling_among(&self, classes: &[Class], written: &str) -> Option<&str> {
        let spellings = self.names.get(&written.to_lowercase())?;
        let among = || spellings.iter().filter(|(class, _)| classes.contains(class));
        let exact = among().find(|(_, name)| name == written);
        exact.or_else(|| among().next()).map(|(_, name)| name.as_str())
    }

    /// Whether `name` names a thing of this class.
    pub(crate) fn is(&self, class: Class, name: &str) -> bool {
        self.names
            .get(&name.to_lowercase())
            .is_some_and(|all| all.iter().any(|(c, n)| *c == class && n == name))
    }

    /// Every name of a class, as spelt.
    pub(crate) fn named(&self, class: Class) -> impl Iterator<Item = &str> {
        self.names
            .values()
            .flatten()
            .filter(move |(of, _)| *of == class)
            .map(|(_, name)| name.as_str())
    }

    /// Whether anything bears this name.
    pub(crate) fn is_any_name(&self, name: &str) -> bool {
        self.names.get(&name.to_lowercase()).is_some_and(|all| all.iter().any(|(_, n)| n == name))
    }

    /// Whether it is the address of a terminal or a joint, or an element, and no name.
    pub(crate) fn is_address(&self, name: &str) -> bool {
        !self.is_any_name(name) && self.addresses.contains_key(&name.to_lowercase())
    }

    /// The joints a person can point at.
    pub(crate) fn listed_joints(&self) -> impl Iterator<Item = &KnownJoint> {
        self.joints.iter().filter(|joint| joint.listed)
    }

    /// Whether a conductor of this name can be said.
    pub(crate) fn hears_conductor(&self, name: &str) -> bool {
        lexicon::conductor(name).is_some() || self.own_conductor(name) == Some(name)
    }

    /// The names under which a joint is looked for, the nearest first: its load, what its
    /// address begins with, its place.
    pub(crate) fn owners(&self, joint: &KnownJoint) -> Vec<String> {
        let mut owners: Vec<String> = joint.load.iter().cloned().collect();
        let mut address = joint.joint.address.as_str();
        while let Some((rest, _)) = address.rsplit_once('.') {
            address = rest;
            owners.push(rest.to_owned());
        }
        owners.push(joint.joint.place.clone());
        owners.retain(|owner| self.is_any_name(owner));
        owners
    }

    /// The cables that a circuit's hot reaches, loads and breakers not passed.
    pub(crate) fn fed_by(&self, circuit: &str) -> BTreeSet<String> {
        let paths: Vec<_> = self
            .circuit
            .connections()
            .filter(|path| {
                matches!(
                    path.part,
                    Part::Wire(..)
                        | Part::Contact(..)
                        | Part::Tab(..)
                        | Part::Switch(..)
                        | Part::Link(_)
                )
            })
            .collect();
        let mut about: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (at, path) in paths.iter().enumerate() {
            about.entry(path.a.as_str()).or_default().push(at);
            about.entry(path.b.as_str()).or_default().push(at);
        }
        let start = format!("{circuit}.hot");
        let mut reached = BTreeSet::from([start.as_str()]);
        let mut front = vec![start.as_str()];
        let mut cables = BTreeSet::new();
        while let Some(node) = front.pop() {
            for path in about.get(node).into_iter().flatten().filter_map(|at| paths.get(*at)) {
                if let Part::Wire(cable, _) = path.part {
                    cables.insert(cable.id.clone());
                }
                for end in [path.a.as_str(), path.b.as_str()] {
                    if reached.insert(end) {
                        front.push(end);
                    }
                }
            }
        }
        cables
    }

    /// Every name there is.
    pub(crate) fn all_names(&self) -> impl Iterator<Item = &str> {
        self.names.values().flatten().map(|(_, name)| name.as_str())
    }

    /// Every address and element there is.
    pub(crate) fn all_addresses(&self) -> impl Iterator<Item = &str> {
        self.addresses.values().map(String::as_str)
    }

    /// A conductor that only this circuit names so.
    pub(crate) fn own_conductor(&self, written: &str) -> Option<&str> {
        self.conductors.get(&written.to_lowercase()).map(String::as_str)
    }

    pub(crate) fn cable(&self, id: &str) -> Option<&'c Cable> {
        self.circuit.parts().cables.iter().find(|cable| cable.id == id)
    }

    /// The cables that join two places, in either direction.
    pub(crate) fn cables_between(&self, one: &str, another: &str) -> Vec<String> {
        let places = &self.circuit.parts().places;
        let leaving = |from: &str, to: &str| -> Vec<String> {
            let from = places.iter().find(|place| place.id == from);
            let to = places.iter().find(|place| place.id == to);
            let (Some(from), Some(to)) = (from, to) else { return Vec::new() };
            let both = from.load_cables.iter().filter(|cable| to.line_cables.contains(cable));
            both.cloned().collect()
        };
        let mut found = leaving(one, another);
        found.extend(leaving(another, one));
        found
    }

    /// The cables that arrive at or leave one of two places.
    pub(crate) fn cables_at(&self, places: [&str; 2]) -> Vec<String> {
        let here =
            self.circuit.parts().places.iter().filter(|place| places.contains(&place.id.as_str()));
        let mut found: Vec<String> = here
            .flat_map(|place| place.line_cables.iter().chain(&place.load_cables))
            .cloned()
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// A terminal of this address, case as spelt.
    pub(crate) fn terminal(&self, address: &str) -> Option<Address> {
        self.circuit.terminal(address).ok().cloned()
    }

    /// The joint that an address or an element names.
    pub(crate) fn joint_at(&self, name: &str) -> Option<&KnownJoint> {
        let by_address = self.joints.iter().find(|j| j.joint.address.as_str() == name);
        by_address.or_else(|| self.joints.iter().find(|j| j.joint.element == name))
    }

    /// The joint that an element is, as it is spoken of.
    pub(crate) fn joint_of(&self, element: &str) -> Option<&KnownJoint> {
        self.joints.iter().find(|j| j.joint.element == element)
    }

    fn add_name(&mut self, class: Class, name: &str) {
        let spellings = self.names.entry(name.to_lowercase()).or_default();
        if !spellings.iter().any(|(c, n)| *c == class && n == name) {
            spellings.push((class, name.to_owned()));
        }
    }

    fn add_address(&mut self, address: &str) {
        self.addresses.entry(address.to_lowercase()).or_insert_with(|| address.to_owned());
    }

    fn add_names(&mut self) {
        let parts = self.circuit.parts();
        for place in &parts.places {
            self.add_name(Class::Place, &place.id);
            for outlet in &place.outlets {
                self.add_address(outlet.address.as_str());
            }
        }
        for device in &parts.devices {
            self.add_name(Class::Device, &device.id);
            if is_switch(&device.kind) {
                self.add_name(Class::Switch, &device.id);
            }
        }
        for branch in &parts.branch_circuits {
            self.add_name(Class::Circuit, &branch.id);
            self.add_bus(&branch.bus);
        }
        for load in &parts.loads {
            self.add_name(Class::Load, &load.id);
        }
        for cable in &parts.cables {
            self.add_name(Class::Cable, &cable.id);
            for conductor in &cable.conductors {
                self.add_conductor(&conductor.name);
            }
        }
        for winding in &parts.supply.windings {
            self.add_name(Class::Winding, &winding.id);
        }
        for conductor in &parts.supply.conductors {
            self.add_name(Class::Service, &conductor.id);
            if lexicon::conductor(&conductor.id).is_none() {
                self.add_bus(&conductor.to);
            }
        }
        for electrode in &parts.supply.electrodes {
            self.add_name(Class::Electrode, &electrode.id);
        }
        for bond in &parts.supply.bonds {
            self.add_name(Class::Bond, &bond.id);
        }
    }

    /// A bus may be called by the last word of its address.
    fn add_bus(&mut self, bus: &Address) {
        if let Some(last) = bus.as_str().rsplit('.').next() {
            self.add_name(Class::Leg, last);
        }
    }

    fn add_conductor(&mut self, name: &str) {
        if lexicon::word(name).is_none() {
            self.conductors.insert(name.to_lowercase(), name.to_owned());
        }
    }

    fn add_joints(&mut self) {
        let parts = self.circuit.parts();
        let listed: BTreeSet<&str> = parts.joints.iter().map(|j| j.element.as_str()).collect();
        let far_ends = FarEnds::of(self.circuit);
        let mut joints: Vec<KnownJoint> = Vec::new();
        let loads = plugs(self.circuit);
        for joint in &parts.joints {
            self.add_address(joint.address.as_str());
            self.add_conductor(&joint.conductor);
            let load = loads.get(joint.element.as_str()).cloned();
            joints.push(KnownJoint {
                joint: joint.clone(),
                listed: true,
                metal: true,
                cable_end: None,
                toward: None,
                load,
            });
        }
        let mut ends: BTreeMap<String, (String, CableEnd)> = BTreeMap::new();
        for connection in self.circuit.connections() {
            self.add_address(&connection.element);
            if let Part::Contact(cable, _) = connection.part {
                let end = end_of_contact(&connection.element, &cable.id);
                ends.insert(connection.element.clone(), (cable.id.clone(), end));
            }
            if !listed.contains(connection.element.as_str()) {
                let (place, conductor, kind, side) = unlisted(&connection, &ends, &far_ends);
                joints.push(KnownJoint {
                    joint: Joint {
                        address: Address::from(connection.element.clone()),
                        element: connection.element.clone(),
                        place,
                        conductor,
                        kind,
                        side,
                    },
                    listed: false,
                    metal: !matches!(
                        connection.part,
                        Part::Load(_) | Part::Winding(_) | Part::Wire(..) | Part::Lumped(_)
                    ),
                    cable_end: None,
                    toward: None,
                    load: loads.get(connection.element.as_str()).cloned(),
                });
            }
            self.elements.insert(connection.element, (connection.a, connection.b));
        }
        for known in &mut joints {
            known.cable_end = ends.get(&known.joint.element).cloned();
            known.toward = known
                .cable_end
                .as_ref()
                .and_then(|(cable, end)| far_ends.place(cable, other(*end)).map(str::to_owned));
        }
        self.joints = joints;
    }
}

/// The end in `contact:K.END.c`.
fn end_of_contact(element: &str, cable: &str) -> CableEnd {
    let after = element.strip_prefix("contact:").and_then(|rest| rest.strip_prefix(cable));
    if after.is_some_and(|rest| rest.starts_with(".a.")) { CableEnd::A } else { CableEnd::B }
}

/// The other end of a cable.
pub(crate) fn other(end: CableEnd) -> CableEnd {
    match end {
        CableEnd::A => CableEnd::B,
        CableEnd::B => CableEnd::A,
    }
}

/// Whether a device is a switch to be put in a position.
pub(crate) fn is_switch(kind: &DeviceKind) -> bool {
    matches!(
        kind,
        DeviceKind::Switch { .. } | DeviceKind::ThreeWay { .. } | DeviceKind::FourWay { .. }
    )
}

/// Places at the ends of cables.
struct FarEnds {
    places: BTreeMap<(String, bool), String>,
}

impl FarEnds {
    fn of(circuit: &Circuit) -> Self {
        let mut places = BTreeMap::new();
        for place in &circuit.parts().places {
            for cable in &place.line_cables {
                places.insert((cable.clone(), false), place.id.clone());
            }
            for cable in &place.load_cables {
                places.insert((cable.clone(), true), place.id.clone());
            }
        }
        Self { places }
    }

    fn place(&self, cable: &str, end: CableEnd) -> Option<&str> {
        self.places.get(&(cable.to_owned(), end == CableEnd::A)).map(String::as_str)
    }
}

/// Links that belong to loads: those of their plugs, and those that touch their terminals.
fn plugs(circuit: &Circuit) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    for load in &circuit.parts().loads {
        for link in &load.plug_links {
            found.insert(format!("link:{link}"), load.id.clone());
        }
        let dotted = format!("{}.", load.id);
        for link in &circuit.parts().links {
            if link.id.starts_with(&dotted) {
                found.insert(format!("link:{}", link.id), load.id.clone());
            }
        }
    }
    found
}

/// What can be said of an element that no listed joint is.
fn unlisted(
    connection: &crate::circuit::Connection<'_>,
    ends: &BTreeMap<String, (String, CableEnd)>,
    far_ends: &FarEnds,
) -> (String, String, JointKind, Side) {
    let last = |text: &str| text.rsplit('.').next().unwrap_or_default().to_owned();
    let nowhere = String::new();
    match connection.part {
        Part::Contact(_, landing) => {
            let end = ends.get(&connection.element);
            let place = end.and_then(|(cable, end)| far_ends.place(cable, *end));
            let side = match end {
                Some((_, CableEnd::A)) => Side::Load,
                _ => Side::Line,
            };
            let place = place.unwrap_or_default().to_owned();
            (place, landing.conductor.clone(), JointKind::Splice, side)
        }
        Part::Breaker(_) => (nowhere, "hot".into(), JointKind::Breaker, Side::Here),
        Part::BarLanding(..) => (nowhere, last(&connection.element), JointKind::Bar, Side::Here),
        Part::ServiceConductor(part) => (nowhere, part.id.clone(), JointKind::Service, Side::Here),
        Part::Bond(_) => (nowhere, String::new(), JointKind::Bond, Side::Here),
        Part::Electrode(_) => (nowhere, "ground".into(), JointKind::ElectrodeClamp, Side::Here),
        Part::Tab(device, _) => {
            (device.id.clone(), last(&connection.element), JointKind::Tab, Side::Here)
        }
        Part::Switch(device, _) => {
            (device.id.clone(), last(&connection.element), JointKind::SwitchContact, Side::Here)
        }
        _ => (nowhere, last(&connection.b.to_string()), JointKind::Screw, Side::Here),
    }
}
