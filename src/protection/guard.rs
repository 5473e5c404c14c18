//! The protective devices of a circuit, and what each of them senses.

use std::collections::BTreeSet;

use crate::circuit::{
    BranchCircuit, Cable, Circuit, DeviceKind, Landing, Sensing, TripCurve, Vocabulary,
};
use crate::instrument::Through;
use crate::quantity::{Address, Phasor};

use super::state::State;

/// One protective device: a breaker pole or a ground-fault or arc-fault device.
#[derive(Debug)]
pub(super) struct Guard<'c> {
    pub(super) name: &'c str,
    pub(super) is_breaker: bool,
    /// Its contacts.
    contacts: Vec<String>,
    /// Every conductor that passes its sensor, and those of its cables that do where they land on
    /// its bar.
    through: Vec<Passing>,
    /// The bar that stands for its neutral terminal: a wire of its cables that lands there passes
    /// its sensor, one that lands elsewhere does not.
    neutral_bar: Option<Address>,
    pub(super) overcurrent: Option<(TripCurve, f64)>,
    pub(super) residual_ampere: Option<f64>,
    /// Its residual-current release is of type S.
    pub(super) delayed: bool,
    pub(super) grounded_neutral_ohm: Option<f64>,
    /// Where its electronics get their voltage, if they need one.
    electronics: Option<(Address, Address)>,
    pub(super) claims_arcs: bool,
}

/// A conductor at a sensor.
#[derive(Debug)]
struct Passing {
    through: Through,
    /// It passes as installed.
    as_installed: bool,
}

impl Passing {
    /// One that passes whatever happens: `sign` is +1 where the element's own direction is from
    /// line to load, -1 where it is the other way.
    fn always(element: String, sign: f64) -> Self {
        Self { through: Through { element, sign }, as_installed: true }
    }

    /// Whether it passes only where it lands.
    fn is_contact(&self) -> bool {
        self.through.element.starts_with("contact:")
    }
}

/// What a device senses in one solved state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sensed {
    /// Largest current in a contact, amperes rms.
    pub(super) ampere: f64,
    /// Sum of the currents from line to load, amperes rms.
    pub(super) residual_ampere: f64,
    /// Voltage of its electronics; `None` if they need none.
    pub(super) electronics_volt: Option<f64>,
    /// Potential to earth of the hot that feeds them, where it is known.
    fed_volt: Option<f64>,
}

impl Sensed {
    /// Whether the hot that feeds its electronics is live.
    pub(super) fn is_fed(&self, least_volt: f64) -> bool {
        self.fed_volt.is_some_and(|volt| volt >= least_volt)
    }
}

/// Every protective device of a circuit: breakers first, then devices, as described.
pub(super) fn guards(circuit: &Circuit) -> Vec<Guard<'_>> {
    let parts = circuit.parts();
    let breakers = parts.branch_circuits.iter().map(|branch| breaker(circuit, branch));
    let devices = parts.devices.iter().filter_map(|device| match &device.kind {
        DeviceKind::Protective { poles, sensing, .. } => {
            Some(protective(&device.id, poles, sensing))
        }
        _ => None,
    });
    breakers.chain(devices).collect()
}

/// Every conductor of a branch circuit as it leaves its panel, hots and neutrals, ground not:
/// what a jaw around all of them, or the sensor of a ground-fault breaker, sums.
///
/// ```
/// use slotwise::{circuit, protection::circuit_conductors};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let branch = circuit.branch_circuit("c1").unwrap();
/// assert_eq!(circuit_conductors(&circuit, branch).len(), 2);
/// ```
pub fn circuit_conductors(circuit: &Circuit, branch: &BranchCircuit) -> Vec<Through> {
    let poles = sharing(circuit, branch);
    if let Some(landing) = landing_of(branch) {
        return poles.iter().map(|pole| pole_of(pole)).chain([landing]).collect();
    }
    let hots: BTreeSet<Address> = poles.iter().map(|pole| hot_of(pole)).collect();
    let mut through = Vec::new();
    let mut wired: BTreeSet<&Address> = BTreeSet::new();
    for (cable, end, landings) in leaving(circuit, &hots) {
        wired.extend(landings.iter().map(|landing| &landing.to));
        let live = landings.iter().filter(|landing| landing.conductor != "ground");
        through.extend(live.map(|landing| contact_of(cable, end, landing)));
    }
    let bare = poles.iter().filter(|pole| !wired.contains(&hot_of(pole)));
    through.extend(bare.map(|pole| pole_of(pole)));
    through
}

/// A breaker pole, from its bus.
fn pole_of(pole: &str) -> Through {
    Through { element: format!("breaker:{pole}"), sign: 1.0 }
}

fn hot_of(pole: &str) -> Address {
    Address::from(pole).join("hot")
}

/// The screw of a circuit's own that its neutral is under.
fn landing_of(branch: &BranchCircuit) -> Option<Through> {
    let element = format!("landing:{}.neutral", branch.id);
    branch.neutral_landing.as_ref().map(|_| Through { element, sign: 1.0 })
}

/// A contact at the end of a cable: it runs from the wire to what it lands on, against the flow into
/// the circuit.
fn contact_of(cable: &Cable, end: &str, landing: &Landing) -> Through {
    let element = format!("contact:{}.{end}.{}", cable.id, landing.conductor);
    Through { element, sign: -1.0 }
}

/// The cable ends at which one of these hots begins.
fn leaving<'c>(
    circuit: &'c Circuit,
    hots: &BTreeSet<Address>,
) -> impl Iterator<Item = (&'c Cable, &'static str, &'c [Landing])> {
    let ends = circuit.parts().cables.iter().flat_map(|cable| {
        cable.ends.iter().zip(["a", "b"]).map(move |(landings, end)| (cable, end, &landings[..]))
    });
    ends.filter(|(_, _, landings)| landings.iter().any(|landing| hots.contains(&landing.to)))
}

/// The poles that one handle moves.
fn tied(branch: &BranchCircuit) -> BTreeSet<&str> {
    branch.tied_with.iter().map(String::as_str).chain([branch.id.as_str()]).collect()
}

/// These and the poles whose hots leave by the same cable: a neutral there is shared by all.
fn sharing<'c>(circuit: &'c Circuit, branch: &'c BranchCircuit) -> BTreeSet<&'c str> {
    let parts = circuit.parts();
    let mut poles = tied(branch);
    let mut hots: BTreeSet<Address> = poles.iter().map(|pole| hot_of(pole)).collect();
    for landings in parts.cables.iter().flat_map(|cable| &cable.ends) {
        if landings.iter().any(|landing| hots.contains(&landing.to)) {
            let leaves = |pole: &&str| {
                let hot = hot_of(pole);
                landings.iter().any(|landing| landing.to == hot)
            };
            let ids = parts.branch_circuits.iter().map(|other| other.id.as_str());
            poles.extend(ids.filter(leaves));
            hots.extend(poles.iter().map(|pole| hot_of(pole)));
        }
    }
    poles
}

fn breaker<'c>(circuit: &'c Circuit, branch: &'c BranchCircuit) -> Guard<'c> {
    let breaker = &branch.breaker;
    let (through, neutral_bar) = match breaker.residual_trip_ampere {
        Some(_) => sensed(circuit, branch),
        None => {
            let around = circuit_conductors(circuit, branch).into_iter();
            (around.map(|one| Passing::always(one.element, one.sign)).collect(), None)
        }
    };
    Guard {
        name: &branch.id,
        is_breaker: true,
        contacts: vec![format!("breaker:{}", branch.id)],
        through,
        overcurrent: breaker.rating_ampere.map(|rating| (breaker.curve, rating)),
        residual_ampere: breaker.residual_trip_ampere,
        delayed: breaker.residual_delayed,
        grounded_neutral_ohm: None,
        // Those of IEC 61009-1 for household use do not need their line voltage to trip.
        electronics: neutral_bar
            .clone()
            .filter(|_| circuit.parts().vocabulary == Vocabulary::NorthAmerican)
            .map(|neutral| (branch.bus.clone(), neutral)),
        neutral_bar,
        claims_arcs: breaker.arc_fault,
    }
}

/// What passes the sensor of a ground-fault breaker, and the bar that stands for its neutral
/// terminal. It sees what passes the breaker itself, whoever else uses its neutral; which wire of
/// the cable is on which of its two terminals is one to it.
fn sensed(circuit: &Circuit, branch: &BranchCircuit) -> (Vec<Passing>, Option<Address>) {
    let poles = tied(branch);
    let mut through: Vec<Passing> =
        poles.iter().map(|pole| Passing::always(pole_of(pole).element, 1.0)).collect();
    if let Some((bar, _)) = &branch.neutral_landing {
        let landing = landing_of(branch).into_iter();
        through.extend(landing.map(|one| Passing::always(one.element, one.sign)));
        return (through, Some(bar.clone()));
    }
    let hots: BTreeSet<Address> = poles.iter().map(|pole| hot_of(pole)).collect();
    let is_neutral = |landing: &&Landing| landing.conductor == "neutral";
    let mut neutrals =
        leaving(circuit, &hots).flat_map(|(_, _, landings)| landings.iter().filter(is_neutral));
    let Some(bar) = neutrals.next().map(|landing| landing.to.clone()) else {
        return (through, None);
    };
    for (cable, end, landings) in leaving(circuit, &hots) {
        for landing in landings {
            let as_installed = is_neutral(&landing);
            // A ground on the same bar is beside the breaker.
            if as_installed || landing.to != bar {
                let through_contact = contact_of(cable, end, landing);
                through.push(Passing { through: through_contact, as_installed });
            }
        }
    }
    (through, Some(bar))
}

fn protective<'c>(id: &'c str, poles: &'c [String], sensing: &Sensing) -> Guard<'c> {
    let contacts: Vec<String> = poles.iter().map(|pole| format!("switch:{id}.{pole}")).collect();
    let line = |pole: &String| Address::from(format!("{id}.line.{pole}"));
    let electronics = match poles {
        [first, .., last] if sensing.needs_supply => Some((line(first), line(last))),
        _ => None,
    };
    Guard {
        name: id,
        is_breaker: false,
        through: contacts.iter().map(|contact| Passing::always(contact.clone(), 1.0)).collect(),
        contacts,
        overcurrent: sensing.rating_ampere.map(|rating| (TripCurve::default(), rating)),
        residual_ampere: sensing.residual_trip_ampere,
        delayed: sensing.delayed,
        grounded_neutral_ohm: sensing.grounded_neutral_ohm,
        electronics,
        neutral_bar: None,
        claims_arcs: sensing.arc_fault,
    }
}

impl Guard<'_> {
    /// Whether any of its contacts is closed.
    pub(super) fn is_closed(&self, state: &dyn State) -> bool {
        self.contacts.iter().any(|contact| state.is_open(contact) == Some(false))
    }

    pub(super) fn sense(&self, state: &dyn State) -> Sensed {
        let contacts = self.contacts.iter().filter_map(|contact| state.current(contact));
        let passes = |one: &&Passing| {
            let bar = self.neutral_bar.as_ref().filter(|_| one.is_contact());
            let lands = bar.and_then(|bar| state.lands_on(&one.through.element, bar));
            lands.unwrap_or(one.as_installed)
        };
        let residual = self.through.iter().filter(passes).fold(Phasor::ZERO, |sum, one| {
            let Through { element, sign } = &one.through;
            let Some(current) = state.current(element) else { return sum };
            sum + Phasor::new(sign * current.re, sign * current.im)
        });
        Sensed {
            ampere: contacts.map(Phasor::magnitude).fold(0.0, f64::max),
            residual_ampere: residual.magnitude(),
            electronics_volt: self.electronics.as_ref().map(|(hot, neutral)| {
                state.difference(hot, neutral).map_or(0.0, Phasor::magnitude)
            }),
            fed_volt: self.electronics.as_ref().and_then(|(hot, _)| {
                state.difference(hot, &Address::earth()).map(Phasor::magnitude)
            }),
        }
    }

    /// Elements whose currents it senses as installed, or whose contacts it has.
    pub(super) fn elements(&self) -> impl Iterator<Item = &str> {
        let through = self.through.iter().filter(|one| one.as_installed);
        self.contacts.iter().chain(through.map(|one| &one.through.element)).map(|e| &**e)
    }

    /// Contacts that it senses only where they land on its bar.
    pub(super) fn landings(&self) -> impl Iterator<Item = &str> {
        let contacts = self.through.iter().filter(|one| one.is_contact());
        let contacts = contacts.map(|one| &*one.through.element);
        contacts.filter(|_| self.neutral_bar.is_some())
    }

    /// Where its electronics get their voltage.
    pub(super) fn electronics(&self) -> Option<&(Address, Address)> {
        self.electronics.as_ref()
    }
}
