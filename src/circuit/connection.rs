//! Metal paths: what joins which terminals, under the names that faults and reports use.
//!
//! Names of elements and terminals are made here and nowhere else; the law of each path is
//! given to it when circuit and condition are wired.

use crate::quantity::Address;

use super::{
    Bond, BranchCircuit, Cable, CableEnd, Conductor, Configuration, Description, Device,
    DeviceKind, Electrode, Landing, Link, Load, Lumped, ServiceConductor, Tab, Winding,
};

/// A metal path between two terminals.
///
/// ```
/// use slotwise::circuit::{Circuit, Description, Link, Part};
/// let mut description = Description { frequency_hz: 60.0, ..Description::default() };
/// for (id, from, to) in [("splice", "door.load.hot", "kiln"), ("screw", "kiln", "kiln.hot")] {
///     description.links.push(Link {
///         id: id.into(),
///         between: (from.into(), to.into()),
///         resistance_ohm: 0.0005,
///     });
/// }
/// let circuit = Circuit::new(description).unwrap();
/// let screw = circuit.connections().find(|c| c.element == "link:screw").unwrap();
/// assert_eq!(screw.b.as_str(), "kiln.hot");
/// assert!(matches!(screw.part, Part::Link(_)));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Connection<'c> {
    /// The name of its netlist element, as `contact:door-kiln.b.neutral`.
    pub element: String,
    /// Its end a.
    pub a: Address,
    /// Its end b.
    pub b: Address,
    /// The part it belongs to.
    pub part: Part<'c>,
}

/// The part that a [`Connection`] belongs to.
///
/// ```
/// use slotwise::circuit::{Electrode, Part};
/// let rod = Electrode { id: "rod".into(), node: "xf.neutral".into(), resistance_ohm: 25.0 };
/// assert_ne!(Part::Electrode(&rod), Part::Electrode(&Electrode { id: "other".into(), ..rod.clone() }));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Part<'c> {
    /// A winding.
    Winding(&'c Winding),
    /// A service conductor.
    ServiceConductor(&'c ServiceConductor),
    /// An electrode.
    Electrode(&'c Electrode),
    /// A bond.
    Bond(&'c Bond),
    /// The breaker pole of a branch circuit.
    Breaker(&'c BranchCircuit),
    /// The landing of a branch circuit on a bar, with its resistance in ohms.
    BarLanding(&'c BranchCircuit, f64),
    /// A conductor along the whole of its cable.
    Wire(&'c Cable, &'c Conductor),
    /// The joint between a wire end and what it lands on.
    Contact(&'c Cable, &'c Landing),
    /// A tab between the halves of a duplex.
    Tab(&'c Device, Tab),
    /// A contact of a switch or of a protective device.
    Switch(&'c Device, SwitchContact),
    /// A link.
    Link(&'c Link),
    /// A load.
    Load(&'c Load),
    /// A lumped part.
    Lumped(&'c Lumped),
}

/// One contact of a switch or of a protective device, as installed.
///
/// ```
/// use slotwise::circuit::SwitchContact;
/// let worn = SwitchContact { closed: true, closed_ohm: 0.02, gap_farad: 2e-12 };
/// assert!(worn.closed);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwitchContact {
    /// Closed.
    pub closed: bool,
    /// Resistance when closed, ohms.
    pub closed_ohm: f64,
    /// Capacitance across it when open, farads.
    pub gap_farad: f64,
}

/// Every metal path of a description, in the order of its parts.
pub(crate) fn connections(description: &Description) -> impl Iterator<Item = Connection<'_>> {
    supply_connections(description)
        .chain(description.branch_circuits.iter().flat_map(branch_circuit_connections))
        .chain(description.cables.iter().flat_map(cable_connections))
        .chain(description.devices.iter().flat_map(device_connections))
        .chain(description.links.iter().map(|link| {
            let (a, b) = link.between.clone();
            Connection { element: format!("link:{}", link.id), a, b, part: Part::Link(link) }
        }))
        .chain(description.loads.iter().map(|load| {
            let (a, b) = load.between.clone();
            Connection { element: load_element(&load.id), a, b, part: Part::Load(load) }
        }))
        .chain(description.lumped.iter().map(|lumped| {
            let (a, b) = lumped.between.clone();
            Connection { element: lumped.id.clone(), a, b, part: Part::Lumped(lumped) }
        }))
}

/// `winding:ID`.
pub(crate) fn winding_element(winding: &str) -> String {
    format!("winding:{winding}")
}

/// `breaker:C`.
pub(crate) fn breaker_element(circuit: &str) -> String {
    format!("breaker:{circuit}")
}

/// `load:ID`.
pub(crate) fn load_element(load: &str) -> String {
    format!("load:{load}")
}

/// `link:ID`.
pub(crate) fn link_element(link: &str) -> String {
    format!("link:{link}")
}

/// `wire:K.c`.
pub(crate) fn wire_element(cable: &str, conductor: &str) -> String {
    format!("wire:{cable}.{conductor}")
}

/// `contact:K.END.c`.
pub(crate) fn contact_element(cable: &str, end: CableEnd, conductor: &str) -> String {
    format!("contact:{cable}.{}.{conductor}", end.letter())
}

/// Whether an element is where a conductor of this cable lands.
pub(crate) fn is_contact_of(element: &str, cable: &str) -> bool {
    let rest = element.strip_prefix("contact:").and_then(|rest| rest.strip_prefix(cable));
    rest.is_some_and(|rest| rest.starts_with('.'))
}

/// `tab:D.c`.
pub(crate) fn tab_element(device: &str, conductor: &str) -> String {
    format!("tab:{device}.{conductor}")
}

/// `K.END.c`.
pub(crate) fn wire_end(cable: &str, end: CableEnd, conductor: &str) -> Address {
    Address::from(format!("{cable}.{}.{conductor}", end.letter()))
}

/// `D.line.P` and `D.load.P`, the terminals of one pole of a protective device.
pub(crate) fn pole_terminals(device: &str, pole: &str) -> (Address, Address) {
    (Address::from(format!("{device}.line.{pole}")), Address::from(format!("{device}.load.{pole}")))
}

/// The contacts of a device: the part of the element's name after `switch:`, the terminals
/// and the state as installed. Devices without contacts have none.
pub(crate) fn switch_contacts(device: &Device) -> Vec<(String, Address, Address, SwitchContact)> {
    let id = &device.id;
    let named = |suffix: &str, a: &str, b: &str, contact| {
        let at = |terminal: &str| Address::from(format!("{id}.{terminal}"));
        let name = if suffix.is_empty() { id.clone() } else { format!("{id}.{suffix}") };
        (name, at(a), at(b), contact)
    };
    match &device.kind {
        DeviceKind::Receptacle { .. } | DeviceKind::Duplex { .. } => Vec::new(),
        DeviceKind::Switch { poles, closed, closed_ohm, gap_farad } => {
            let contact = contact(*closed, *closed_ohm, *gap_farad);
            if *poles == 1 {
                return vec![named("", "1", "2", contact)];
            }
            (1..=*poles)
                .map(|pole| {
                    let suffix = format!("p{pole}");
                    named(&suffix, &format!("{suffix}.1"), &format!("{suffix}.2"), contact)
                })
                .collect()
        }
        DeviceKind::ThreeWay { position, closed_ohm, gap_farad } => ["t1", "t2"]
            .into_iter()
            .zip(1..)
            .map(|(traveller, at)| {
                let contact = contact(*position == at, *closed_ohm, *gap_farad);
                named(traveller, "com", traveller, contact)
            })
            .collect(),
        DeviceKind::FourWay { crossed, closed_ohm, gap_farad } => {
            [("a1", "b1", false), ("a2", "b2", false), ("a1", "b2", true), ("a2", "b1", true)]
                .into_iter()
                .map(|(a, b, when_crossed)| {
                    let contact = contact(*crossed == when_crossed, *closed_ohm, *gap_farad);
                    named(&format!("{a}{b}"), a, b, contact)
                })
                .collect()
        }
        DeviceKind::Protective { poles, closed, closed_ohm, gap_farad, .. } => poles
            .iter()
            .map(|pole| {
                let contact = contact(*closed, *closed_ohm, *gap_farad);
                named(pole, &format!("line.{pole}"), &format!("load.{pole}"), contact)
            })
            .collect(),
    }
}

/// All terminals of a device.
pub(crate) fn device_terminals(device: &Device) -> Vec<Address> {
    let terminals: Vec<String> = match &device.kind {
        DeviceKind::Receptacle { configuration } => {
            let configuration = Configuration::named(configuration);
            let slots = configuration.map(|c| c.slots).unwrap_or_default();
            slots.iter().map(|slot| (*slot).to_owned()).collect()
        }
        DeviceKind::Duplex { .. } => {
            ["top.hot", "bottom.hot", "top.neutral", "bottom.neutral", "ground"]
                .map(str::to_owned)
                .to_vec()
        }
        DeviceKind::Switch { poles: 1, .. } => vec!["1".into(), "2".into()],
        DeviceKind::Switch { poles, .. } => {
            (1..=*poles).flat_map(|pole| [format!("p{pole}.1"), format!("p{pole}.2")]).collect()
        }
        DeviceKind::ThreeWay { .. } => ["com", "t1", "t2"].map(str::to_owned).to_vec(),
        DeviceKind::FourWay { .. } => ["a1", "a2", "b1", "b2"].map(str::to_owned).to_vec(),
        DeviceKind::Protective { poles, .. } => {
            poles.iter().flat_map(|pole| [format!("line.{pole}"), format!("load.{pole}")]).collect()
        }
    };
    terminals
        .into_iter()
        .map(|terminal| Address::from(format!("{}.{terminal}", device.id)))
        .collect()
}

fn contact(closed: bool, closed_ohm: f64, gap_farad: f64) -> SwitchContact {
    SwitchContact { closed, closed_ohm, gap_farad }
}

fn supply_connections(description: &Description) -> impl Iterator<Item = Connection<'_>> {
    let supply = &description.supply;
    let windings = supply.windings.iter().map(|winding| Connection {
        element: winding_element(&winding.id),
        a: winding.line.clone(),
        b: winding.neutral.clone(),
        part: Part::Winding(winding),
    });
    let electrodes = supply.electrodes.iter().map(|electrode| Connection {
        element: format!("electrode:{}", electrode.id),
        a: electrode.node.clone(),
        b: Address::earth(),
        part: Part::Electrode(electrode),
    });
    let conductors = supply.conductors.iter().map(|conductor| Connection {
        element: format!("service:{}", conductor.id),
        a: conductor.from.clone(),
        b: conductor.to.clone(),
        part: Part::ServiceConductor(conductor),
    });
    let bonds = supply.bonds.iter().map(|bond| {
        let (a, b) = bond.between.clone();
        Connection { element: format!("bond:{}", bond.id), a, b, part: Part::Bond(bond) }
    });
    windings.chain(electrodes).chain(conductors).chain(bonds)
}

fn branch_circuit_connections(circuit: &BranchCircuit) -> impl Iterator<Item = Connection<'_>> {
    let id = &circuit.id;
    let landing = |conductor: &str, landing: &Option<(Address, f64)>| {
        landing.as_ref().map(|(bar, resistance_ohm)| Connection {
            element: format!("landing:{id}.{conductor}"),
            a: bar.clone(),
            b: Address::from(format!("{id}.{conductor}")),
            part: Part::BarLanding(circuit, *resistance_ohm),
        })
    };
    let breaker = Connection {
        element: breaker_element(id),
        a: circuit.bus.clone(),
        b: Address::from(format!("{id}.hot")),
        part: Part::Breaker(circuit),
    };
    std::iter::once(breaker)
        .chain(landing("neutral", &circuit.neutral_landing))
        .chain(landing("ground", &circuit.ground_landing))
}

fn cable_connections(cable: &Cable) -> impl Iterator<Item = Connection<'_>> {
    let wires = cable.conductors.iter().map(move |conductor| Connection {
        element: wire_element(&cable.id, &conductor.name),
        a: wire_end(&cable.id, CableEnd::A, &conductor.name),
        b: wire_end(&cable.id, CableEnd::B, &conductor.name),
        part: Part::Wire(cable, conductor),
    });
    let ends = [CableEnd::A, CableEnd::B].into_iter().zip(&cable.ends);
    let contacts = ends.flat_map(move |(end, landings)| {
        landings.iter().map(move |landing| Connection {
            element: contact_element(&cable.id, end, &landing.conductor),
            a: wire_end(&cable.id, end, &landing.conductor),
            b: landing.to.clone(),
            part: Part::Contact(cable, landing),
        })
    });
    wires.chain(contacts)
}

fn device_connections(device: &Device) -> Vec<Connection<'_>> {
    let id = &device.id;
    if let DeviceKind::Duplex { hot_tab, neutral_tab, .. } = &device.kind {
        return [("hot", hot_tab), ("neutral", neutral_tab)]
            .into_iter()
            .map(|(conductor, tab)| Connection {
                element: tab_element(id, conductor),
                a: Address::from(format!("{id}.top.{conductor}")),
                b: Address::from(format!("{id}.bottom.{conductor}")),
                part: Part::Tab(device, *tab),
            })
            .collect();
    }
    switch_contacts(device)
        .into_iter()
        .map(|(name, a, b, contact)| Connection {
            element: format!("switch:{name}"),
            a,
            b,
            part: Part::Switch(device, contact),
        })
        .collect()
}
