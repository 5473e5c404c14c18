//! What there is to speak of in one circuit: names, joints, terminals.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::reach::{Reach, Subpanels};
use crate::circuit::{Cable, Circuit, Device, DeviceKind};
use crate::quantity::Address;

use super::lexicon::{self, Class};

mod joints;

pub(crate) use joints::KnownJoint;

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

    /// The device of a kind that a name means: its own, or the one of that kind in the place of
    /// that name.
    pub(crate) fn device_of_kind(
        &self,
        name: &str,
        wanted: impl Fn(&DeviceKind) -> bool,
    ) -> Option<&'c Device> {
        let parts = self.circuit.parts();
        let devices = || parts.devices.iter().filter(|device| wanted(&device.kind));
        let place = parts.places.iter().find(|place| place.id == name);
        devices().find(|device| device.id == name).or_else(|| {
            let here =
                |device: &&Device| place.is_some_and(|place| place.devices.contains(&device.id));
            let mut here = devices().filter(here);
            here.next().filter(|_| here.next().is_none())
        })
    }

    /// The shortest name that means a device of its kind: that of its place, if it is the one
    /// there.
    pub(crate) fn name_of_device(&self, id: &str) -> String {
        let device = self.circuit.device(id);
        let place = self
            .circuit
            .parts()
            .places
            .iter()
            .find(|place| place.devices.iter().any(|device| device == id));
        let alike = |kind: &DeviceKind| {
            device.is_some_and(|device| {
                std::mem::discriminant(&device.kind) == std::mem::discriminant(kind)
            })
        };
        match place {
            Some(place) if self.device_of_kind(&place.id, alike).is_some_and(|d| d.id == id) => {
                place.id.clone()
            }
            _ => id.to_owned(),
        }
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

    /// The names under which a joint is looked for, the plainest first: its load, what its
    /// address begins with, its place.
    pub(crate) fn owners(&self, joint: &KnownJoint) -> Vec<String> {
        let mut owners: Vec<String> = joint.load.iter().cloned().collect();
        let address = joint.joint.address.as_str();
        owners.extend(
            address.match_indices('.').filter_map(|(at, _)| address.get(..at)).map(str::to_owned),
        );
        owners.push(joint.joint.place.clone());
        owners.retain(|owner| self.is_any_name(owner));
        owners
    }

    /// The cables that a circuit's hot reaches, loads and breakers not passed.
    pub(crate) fn fed_by(&self, circuit: &str) -> BTreeSet<String> {
        Reach::of(self.circuit, &[circuit], Subpanels::NotPassed).cables
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
}

/// Whether a device has line and load sides of its own.
pub(crate) fn is_protective(kind: &DeviceKind) -> bool {
    matches!(kind, DeviceKind::Protective { .. })
}

/// Whether a device is a switch to be put in a position.
pub(crate) fn is_switch(kind: &DeviceKind) -> bool {
    matches!(
        kind,
        DeviceKind::Switch { .. } | DeviceKind::ThreeWay { .. } | DeviceKind::FourWay { .. }
    )
}
