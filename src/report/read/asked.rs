//! What a report is to show, and finding it in the circuit.

use crate::circuit::{Circuit, Joint, Outlet, Place, UnknownName};
use crate::instrument::Instrument;
use crate::netlist::Netlist;
use crate::quantity::Address;

/// What to show.
///
/// ```
/// use slotwise::report::Asked;
/// let asked = Asked { at: vec!["kiln".into()], ..Asked::default() };
/// assert!(!asked.currents);
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Asked {
    /// Only these: boxes, devices, receptacles, slots, joints, loads, branch circuits or
    /// other terminals. Empty asks for everything but joints.
    pub at: Vec<Address>,
    /// The current in every element too.
    pub currents: bool,
    /// The moment before anything trips, in place of what remains after it.
    pub before_trips: bool,
    /// What each of these instruments shows at every receptacle.
    pub with: Vec<Instrument>,
}

impl Asked {
    /// Names asked for that are nowhere in the circuit as described.
    ///
    /// ```
    /// use slotwise::report::Asked;
    /// let text = include_str!("../../../circuits/pottery-studio.ron");
    /// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
    /// let asked = Asked { at: vec!["klin".into(), "sink".into()], ..Asked::default() };
    /// let unknown = asked.unknown_names(&circuit);
    /// assert_eq!(unknown.len(), 1);
    /// assert_eq!(unknown[0].close, ["kiln"]);
    /// ```
    pub fn unknown_names(&self, circuit: &Circuit) -> Vec<UnknownName> {
        let names: Vec<&str> = names(circuit).collect();
        let is_known = |address: &&Address| {
            names.contains(&address.as_str())
                || circuit.joint(address).is_some()
                || circuit.terminal(address.as_str()).is_ok()
        };
        let unknown = self.at.iter().filter(|address| !is_known(address));
        unknown.map(|address| nowhere(circuit, address.as_str())).collect()
    }
}

/// A name that nothing in the circuit bears.
fn nowhere(circuit: &Circuit, typed: &str) -> UnknownName {
    let joints = circuit.parts().joints.iter().map(|joint| joint.address.as_str());
    let terminals = circuit.terminals().map(Address::as_str);
    let all = names(circuit).chain(joints).chain(terminals);
    UnknownName::among(typed, "a place, slot, joint or load", all)
}

/// What was asked for, found.
#[derive(Debug, Default)]
pub(super) struct Wanted {
    /// Nothing in particular was asked for: show all.
    pub(super) everything: bool,
    /// Names of places, devices, outlets, loads and branch circuits.
    pub(super) names: Vec<String>,
    /// Single terminals.
    pub(super) terminals: Vec<Address>,
    /// Single joints.
    pub(super) joints: Vec<Address>,
}

impl Wanted {
    /// Finds each address asked for.
    pub(super) fn of(
        asked: &Asked,
        circuit: &Circuit,
        netlist: &Netlist,
    ) -> Result<Self, Vec<UnknownName>> {
        let mut wanted = Self { everything: asked.at.is_empty(), ..Self::default() };
        let names: Vec<&str> = names(circuit).collect();
        let mut unknown = Vec::new();
        for address in &asked.at {
            let typed = address.as_str();
            if names.contains(&typed) {
                wanted.names.push(typed.to_owned());
            } else if circuit.joint(address).is_some() {
                wanted.joints.push(address.clone());
            } else if netlist.find_node(address).is_some() {
                wanted.terminals.push(address.clone());
            } else {
                unknown.push(nowhere(circuit, typed));
            }
        }
        if unknown.is_empty() { Ok(wanted) } else { Err(unknown) }
    }

    /// One of these names was asked for, or everything.
    pub(super) fn any(&self, names: &[&str]) -> bool {
        self.everything || self.names.iter().any(|name| names.contains(&name.as_str()))
    }

    /// This receptacle was asked for, or the box, the device or the whole it is part of.
    pub(super) fn outlet(&self, place: &Place, outlet: &Outlet) -> bool {
        let device = outlet.address.as_str().split('.').next().unwrap_or_default();
        self.any(&[&place.id, outlet.address.as_str(), device])
    }

    /// This joint was asked for, by itself or by its place.
    pub(super) fn joint(&self, joint: &Joint) -> bool {
        self.joints.contains(&joint.address) || self.names.contains(&joint.place)
    }
}

/// Everything that can be asked for by a name that is no terminal and no joint.
fn names(circuit: &Circuit) -> impl Iterator<Item = &str> {
    let parts = circuit.parts();
    let places = parts.places.iter().map(|place| place.id.as_str());
    let outlets = circuit.outlets().map(|(_, outlet)| outlet.address.as_str());
    let devices = parts.devices.iter().map(|device| device.id.as_str());
    let loads = parts.loads.iter().map(|load| load.id.as_str());
    let circuits = parts.branch_circuits.iter().map(|circuit| circuit.id.as_str());
    places.chain(outlets).chain(devices).chain(loads).chain(circuits)
}
