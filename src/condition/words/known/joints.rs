//! The joints of a circuit, those that no address was given included.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{CableEnd, Circuit, Connection, Joint, JointKind, Part, Side};
use crate::quantity::Address;

use super::Known;

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

impl Known<'_> {
    pub(super) fn add_joints(&mut self) {
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
fn other(end: CableEnd) -> CableEnd {
    match end {
        CableEnd::A => CableEnd::B,
        CableEnd::B => CableEnd::A,
    }
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

/// Links that belong to loads: those of their plugs, and those named after them.
fn plugs(circuit: &Circuit) -> BTreeMap<String, String> {
    let loads: BTreeSet<&str> = circuit.parts().loads.iter().map(|load| load.id.as_str()).collect();
    let mut found = BTreeMap::new();
    for link in &circuit.parts().links {
        let beginnings = link.id.match_indices('.').filter_map(|(at, _)| link.id.get(..at));
        if let Some(load) = beginnings.into_iter().find(|name| loads.contains(name)) {
            found.insert(format!("link:{}", link.id), load.to_owned());
        }
    }
    for load in &circuit.parts().loads {
        for link in &load.plug_links {
            found.insert(format!("link:{link}"), load.id.clone());
        }
    }
    found
}

/// What can be said of an element that no listed joint is.
fn unlisted(
    connection: &Connection<'_>,
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
