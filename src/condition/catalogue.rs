//! Every fault: the finite list of what can be physically wrong with one circuit.
//!
//! [`catalogue`] walks a circuit and lists each joint open or bad, each pair of conductors that
//! can be exchanged or can touch, each switch and breaker that can stand the other way, and what
//! can be wrong in panel and supply. Whoever asks what else could look like this, or where the
//! fault is, asks over this list; so what it holds is stated in `docs/faults.md`, which a test
//! compares with this module.
//!
//! How likely each entry is ([`Priors`]) is judgement, and every figure can be replaced.

use std::collections::{BTreeSet, HashSet};

use crate::circuit::{Circuit, JointKind, Load};

use super::{Condition, LoadState};

mod bridges;
mod cables;
mod exchanges;
mod joints;
mod kind;
mod load_states;
mod panel;
mod priors;
mod runs;
mod settings;

pub use kind::FaultKind;
pub use load_states::{LoadSetting, load_settings};
pub use priors::{JointOdds, Priors};

/// The values at which a fault is listed when it can have any.
///
/// ```
/// use slotwise::condition::catalogue::Levels;
/// let levels = Levels { joint_ohm: vec![1.0], ..Levels::default() };
/// assert_eq!(levels.bridge_ohm.len(), Levels::default().bridge_ohm.len());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Levels {
    /// Resistances of a bad joint in a conductor that carries current, ohms.
    pub joint_ohm: Vec<f64>,
    /// Resistances of a bad joint in a ground, ohms.
    pub ground_joint_ohm: Vec<f64>,
    /// Resistances across the gap of an open joint that leaks, ohms.
    pub gap_ohm: Vec<f64>,
    /// Resistances through which two conductors are bridged, ohms.
    pub bridge_ohm: Vec<f64>,
    /// Resistances of broken-down insulation in an appliance, ohms.
    pub insulation_ohm: Vec<f64>,
    /// Supply voltages, as shares of what the windings state.
    pub supply_share: Vec<f64>,
}

impl Default for Levels {
    /// A joint at 0.2 ohm is the upper end of what facts call a fire hazard and shows only under
    /// load; one at 5 ohm stops a heater; 100 kohm across a gap is a damp or tracked one, which
    /// lights an indicator and runs nothing. Bridges are solid (2 milliohm) or 300 ohm of
    /// moisture. Insulation breaks down to metal or to 2 kohm. The supply is 10 % off.
    fn default() -> Self {
        Self {
            joint_ohm: vec![0.2, 5.0],
            ground_joint_ohm: vec![20.0],
            gap_ohm: vec![100e3],
            bridge_ohm: vec![super::words::SOLID_BRIDGE_OHM, 300.0],
            insulation_ohm: vec![super::words::SOLID_BRIDGE_OHM, 2e3],
            supply_share: vec![0.9, 1.1],
        }
    }
}

/// Something that may be physically wrong, at one place.
///
/// ```
/// use slotwise::circuit::{Circuit, Description, Electrode, Supply};
/// use slotwise::condition::catalogue::{FaultKind, catalogue};
/// let rod = Electrode { id: "rod".into(), node: "panel.ground".into(), resistance_ohm: 25.0 };
/// let supply = Supply { electrodes: vec![rod], ..Supply::default() };
/// let parts = Description { frequency_hz: 60.0, supply, ..Description::default() };
/// let circuit = Circuit::new(parts).unwrap();
/// let catalogue = catalogue(&circuit);
/// let only = &catalogue.faults()[0];
/// assert_eq!(only.kind, FaultKind::ElectrodeLost);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct PossibleFault {
    /// What is physically wrong.
    pub kind: FaultKind,
    /// The edits that put it on the circuit.
    pub change: Condition,
    /// The conductors it is in or between.
    pub conductors: Vec<String>,
    /// The places a person would open for it: one, or the two ends of a cable. Empty where the
    /// circuit names none.
    pub places: Vec<String>,
    /// The resistance at which it is listed, ohms; `None` where it has none.
    pub level_ohm: Option<f64>,
    /// How likely it is, as odds in a random dwelling ([`Priors`]): judgement.
    pub weight: f64,
    /// What it is about: two entries that share one of these cannot both be so.
    pub subjects: Vec<String>,
    /// The load in which it is, where it is in one; of several on one plug, whose terminals they share,
    /// the first.
    pub load: Option<String>,
    /// It is so only once that load is on.
    pub once_on: bool,
}

impl PossibleFault {
    /// Puts it on a condition, after what is there.
    pub fn apply(&self, condition: &mut Condition) {
        condition.put_on(&self.change);
    }

    /// What it is in the words that a condition is said in; what a load does only once it is on has
    /// none there, and words of its own.
    pub fn sentence(&self, circuit: &Circuit) -> String {
        if let (FaultKind::ShortInside, Some(load)) = (self.kind, &self.load) {
            let name = super::words::speak::name(load);
            let is_wired = circuit.load(load).is_some_and(|load| load.plug_links.is_empty());
            return match self.once_on {
                true => format!("short inside {name} once it is on"),
                false if is_wired => format!("short in the wires of {name}, or inside it"),
                false => format!("short in the cord of {name}, or inside it"),
            };
        }
        if let (FaultKind::DeviceWornOut, Some(device)) = (self.kind, self.worn_out()) {
            let mut let_go = Condition::default();
            let_go.breakers.insert(device.to_owned(), false);
            let said = super::words::describe(circuit, &let_go).join("; ");
            let name = said.strip_suffix(" tripped").or(said.strip_suffix(" off"));
            return format!("{} itself worn out: it does not hold", name.unwrap_or(device));
        }
        if let (FaultKind::SwitchStuck, Some(place)) = (self.kind, self.places.first()) {
            let (name, to) = (super::words::speak::name(place), self.conductors.join(", "));
            return format!("switch {name} itself worn out: its contact to {to} stays closed");
        }
        if let (FaultKind::LeaksOnceOn, Some(load)) = (self.kind, self.load(circuit)) {
            let to = if load.frame.is_some() { "its case" } else { "the soil" };
            let name = super::words::speak::name(&load.id);
            let solid = self.level_ohm.is_none_or(|ohm| ohm <= super::words::SOLID_BRIDGE_OHM);
            let through = self.level_ohm.filter(|_| !solid).map_or_else(String::new, |ohm| {
                format!(", through {}", super::words::speak::ohm(ohm))
            });
            return format!("insulation of {name} down to {to} once it is on{through}");
        }
        super::words::describe(circuit, &self.change).join("; ")
    }

    /// The appliance in which it is, where it is in one that can be unplugged: no box is opened
    /// for it.
    pub fn appliance<'c>(&self, circuit: &'c Circuit) -> Option<&'c Load> {
        self.load(circuit).filter(|load| !load.plug_links.is_empty())
    }

    /// Whether neutral and ground are joined at a receptacle, metal on metal: who puts a jumper there
    /// does so once.
    pub(crate) fn is_bootleg(&self) -> bool {
        let solid = self.level_ohm.is_none_or(|ohm| ohm <= super::words::SOLID_BRIDGE_OHM);
        self.kind == FaultKind::Bridged && solid && self.conductors == ["neutral", "ground"]
    }

    /// The device or breaker that is worn out, if that is what it is.
    pub(crate) fn worn_out(&self) -> Option<&str> {
        let is_it = self.kind == FaultKind::DeviceWornOut;
        self.subjects.first().filter(|_| is_it)?.strip_prefix(SET)
    }

    /// The load in which it is.
    pub(crate) fn load<'c>(&self, circuit: &'c Circuit) -> Option<&'c Load> {
        circuit.load(self.load.as_deref()?)
    }

    /// Whether it and another are one kind of fault of the same thing, to whatever amount.
    pub fn is_another_amount_of(&self, other: &Self) -> bool {
        !self.subjects.is_empty() && self.kind == other.kind && self.subjects == other.subjects
    }

    /// Whether it and another are two states of one thing, so that both at once mean nothing.
    pub fn excludes(&self, other: &Self) -> bool {
        self.subjects.iter().any(|subject| other.subjects.contains(subject))
    }
}

/// The faults and load states of one circuit.
///
/// ```
/// use slotwise::circuit::{Circuit, Description};
/// use slotwise::condition::catalogue::catalogue;
/// let parts = Description { frequency_hz: 50.0, ..Description::default() };
/// let bare = Circuit::new(parts).unwrap();
/// assert!(catalogue(&bare).faults().is_empty());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    faults: Vec<PossibleFault>,
}

impl Catalogue {
    /// Every entry, in the order of the circuit's parts.
    pub fn faults(&self) -> &[PossibleFault] {
        &self.faults
    }

    /// Number of unordered pairs of entries that can be so at once.
    pub fn pairs(&self) -> usize {
        let after = |at: usize| self.faults.iter().skip(at + 1);
        let with = |(at, fault): (usize, &PossibleFault)| {
            after(at).filter(|other| !fault.excludes(other)).count()
        };
        self.faults.iter().enumerate().map(with).sum()
    }
}

/// Every fault of a circuit at the usual levels and with the usual priors.
pub fn catalogue(circuit: &Circuit) -> Catalogue {
    catalogue_at(circuit, &Levels::default(), &Priors::default())
}

/// Every fault of a circuit at stated levels and with stated priors.
pub fn catalogue_at(circuit: &Circuit, levels: &Levels, priors: &Priors) -> Catalogue {
    let lister = Lister::new(circuit, levels, priors);
    let mut faults = Vec::new();
    lister.settings(&mut faults);
    lister.joints(&mut faults);
    lister.exchanges(&mut faults);
    lister.bridges(&mut faults);
    lister.cables(&mut faults);
    lister.panel(&mut faults);
    Catalogue { faults }
}

/// What is wrong inside appliances and no condition that is said states: what lets current to the case
/// only once it is on, and what is shorted; with the load that must be on for it.
pub(crate) fn inside_appliances(
    circuit: &Circuit,
    levels: &Levels,
    priors: &Priors,
) -> Vec<(PossibleFault, Option<OnceOn>)> {
    let lister = Lister::new(circuit, levels, priors);
    let once_on = |load: &Load| {
        let usually = load.on && (load.plugged_in || load.plug_links.is_empty());
        OnceOn { load: load.id.clone(), usually }
    };
    let inside = lister.leaks_once_on().into_iter().chain(lister.shorts_inside());
    let with_load = inside.map(|(fault, load)| {
        let once_on = fault.once_on.then(|| once_on(load));
        (fault, once_on)
    });
    with_load.collect()
}

/// Protective devices that are themselves at fault, which no condition that is said states.
pub(crate) fn worn_out_devices(circuit: &Circuit, priors: &Priors) -> Vec<PossibleFault> {
    Lister::new(circuit, &Levels::default(), priors).worn_out()
}

/// Switches that do not switch off, which no condition that is said states.
pub(crate) fn stuck_switches(circuit: &Circuit, priors: &Priors) -> Vec<PossibleFault> {
    Lister::new(circuit, &Levels::default(), priors).stuck_switches()
}

/// What begins the subject of how something that can be set stands.
const SET: &str = "set ";

/// The load that must be on for something to be so.
#[derive(Clone, Debug)]
pub(crate) struct OnceOn {
    pub(crate) load: String,
    /// It is on as described.
    pub(crate) usually: bool,
}

impl OnceOn {
    /// Whether it is on in a condition.
    pub(crate) fn is_on(&self, condition: &Condition) -> bool {
        match condition.loads.get(&self.load) {
            Some(state) => matches!(state, LoadState::On | LoadState::Stalled),
            None => self.usually,
        }
    }
}

/// What the lists of the kinds share.
struct Lister<'c> {
    circuit: &'c Circuit,
    levels: &'c Levels,
    priors: &'c Priors,
    /// The contacts that a plug goes into.
    slots: HashSet<&'c str>,
    /// The links that plugs make.
    plugs: HashSet<&'c str>,
}

/// What an entry is about, before its kind and its values.
#[derive(Clone, Debug, Default)]
struct About {
    conductors: Vec<String>,
    places: Vec<String>,
    subject: String,
}

impl<'c> Lister<'c> {
    fn new(circuit: &'c Circuit, levels: &'c Levels, priors: &'c Priors) -> Self {
        let slots = circuit.outlets().flat_map(|(_, outlet)| &outlet.slots);
        let plugs = circuit.parts().loads.iter().flat_map(|load| &load.plug_links);
        Self {
            circuit,
            levels,
            priors,
            slots: slots.map(|(_, terminal)| terminal.as_str()).collect(),
            plugs: plugs.map(String::as_str).collect(),
        }
    }

    /// The two boxes that a cable joins.
    fn places_of_cable(&self, cable: &str) -> Vec<String> {
        let has = |cables: &[String]| cables.iter().any(|name| name == cable);
        let places = &self.circuit.parts().places;
        let from = places.iter().filter(|place| has(&place.load_cables));
        let to = places.iter().filter(|place| has(&place.line_cables));
        let all: BTreeSet<&str> = from.clone().chain(to.clone()).map(|p| p.id.as_str()).collect();
        let mut named: Vec<String> = from.chain(to).map(|place| place.id.clone()).collect();
        named.dedup();
        if named.len() == all.len() { named } else { all.into_iter().map(str::to_owned).collect() }
    }

    /// The place of an outlet, device or terminal: the place whose name is its first word.
    fn place_of(&self, address: &str) -> Vec<String> {
        let device = |place: &&crate::circuit::Place| {
            place.devices.iter().any(|device| within(address, device))
                || place.outlets.iter().any(|outlet| within(address, outlet.address.as_str()))
        };
        let places = &self.circuit.parts().places;
        let found = places.iter().find(device).or_else(|| {
            places.iter().filter(|place| within(address, &place.id)).max_by_key(|p| p.id.len())
        });
        found.map(|place| place.id.clone()).into_iter().collect()
    }

    fn odds(&self, kind: JointKind) -> f64 {
        self.priors.joint_open.of(kind)
    }
}

/// Whether an address is a place or lies in it.
fn within(address: &str, place: &str) -> bool {
    address.strip_prefix(place).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// Whether a conductor is there for protection and carries nothing in a sound circuit.
fn is_ground(conductor: &str) -> bool {
    conductor == "ground"
}

/// The last word of an address: in most, the conductor.
fn last_word(address: &str) -> &str {
    address.rsplit('.').next().unwrap_or(address)
}

/// An entry whose change is faults alone.
fn of_faults(
    kind: FaultKind,
    about: About,
    faults: Vec<super::Fault>,
    weight: f64,
) -> PossibleFault {
    let mut conductors = about.conductors;
    conductors.sort_by_key(|name| rank(name));
    PossibleFault {
        kind,
        change: Condition { faults, ..Condition::default() },
        conductors,
        places: about.places,
        level_ohm: None,
        weight,
        subjects: vec![about.subject],
        load: None,
        once_on: false,
    }
}

/// Conductors are named in one order, whichever way round a fault has them.
fn rank(conductor: &str) -> (u8, String) {
    let class = match conductor {
        name if name.starts_with("hot") => 0,
        "neutral" => 2,
        "ground" => 3,
        "frame" => 4,
        _ => 1,
    };
    (class, conductor.to_owned())
}
