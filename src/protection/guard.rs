//! The protective devices of a circuit, and what each of them senses.

use std::collections::BTreeSet;

use crate::circuit::{BranchCircuit, Circuit, DeviceKind, Sensing, TripCurve, Vocabulary};
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
    /// Every conductor that passes its sensor: element, and +1 where the element's own direction
    /// is from line to load, -1 where it is the other way.
    through: Vec<(String, f64)>,
    /// The bar that the neutrals which pass its sensor land on: one that lands elsewhere does not
    /// pass it.
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
    let (through, _) = leaving(circuit, branch, &sharing(circuit, branch));
    through.into_iter().map(|(element, sign)| Through { element, sign }).collect()
}

/// The poles that one handle moves.
fn tied(branch: &BranchCircuit) -> BTreeSet<&str> {
    branch.tied_with.iter().map(String::as_str).chain([branch.id.as_str()]).collect()
}

/// These and the poles whose hots leave by the same cable: a neutral there is shared by all.
fn sharing<'c>(circuit: &'c Circuit, branch: &'c BranchCircuit) -> BTreeSet<&'c str> {
    let parts = circuit.parts();
    let mut poles = tied(branch);
    let hot = |pole: &str| Address::from(pole).join("hot");
    for landings in parts.cables.iter().flat_map(|cable| &cable.ends) {
        let leaves = |pole: &str| landings.iter().any(|landing| landing.to == hot(pole));
        if poles.iter().any(|pole| leaves(pole)) {
            let ids = parts.branch_circuits.iter().map(|other| other.id.as_str());
            poles.extend(ids.filter(|id| leaves(id)).collect::<Vec<_>>());
        }
    }
    poles
}

/// The conductors of these poles with their direction, and the bar their neutrals begin at.
fn leaving(
    circuit: &Circuit,
    branch: &BranchCircuit,
    poles: &BTreeSet<&str>,
) -> (Vec<(String, f64)>, Option<Address>) {
    let mut through: Vec<(String, f64)> =
        poles.iter().map(|pole| (format!("breaker:{pole}"), 1.0)).collect();
    let neutral_bar = returns(circuit, branch, poles, &mut through);
    (through, neutral_bar)
}

fn breaker<'c>(circuit: &'c Circuit, branch: &'c BranchCircuit) -> Guard<'c> {
    let breaker = &branch.breaker;
    // A sensor sees what passes the breaker itself, whoever else uses its neutral.
    let poles = match breaker.residual_trip_ampere {
        Some(_) => tied(branch),
        None => sharing(circuit, branch),
    };
    let (through, neutral_bar) = leaving(circuit, branch, &poles);
    let neutral_bar = breaker.residual_trip_ampere.and(neutral_bar);
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

/// The neutral conductors of a breaker's circuit, as they begin, and the bar they begin at.
fn returns(
    circuit: &Circuit,
    branch: &BranchCircuit,
    poles: &BTreeSet<&str>,
    through: &mut Vec<(String, f64)>,
) -> Option<Address> {
    if let Some((bar, _)) = &branch.neutral_landing {
        through.push((format!("landing:{}.neutral", branch.id), 1.0));
        return Some(bar.clone());
    }
    let hots: BTreeSet<Address> =
        poles.iter().map(|pole| Address::from(*pole).join("hot")).collect();
    let mut neutral_bar = None;
    for cable in &circuit.parts().cables {
        for (landings, end) in cable.ends.iter().zip(["a", "b"]) {
            if !landings.iter().any(|landing| hots.contains(&landing.to)) {
                continue;
            }
            for landing in landings.iter().filter(|landing| landing.conductor == "neutral") {
                // The contact runs from the wire to the bar: against the flow into the circuit.
                through.push((format!("contact:{}.{end}.neutral", cable.id), -1.0));
                neutral_bar.get_or_insert_with(|| landing.to.clone());
            }
        }
    }
    neutral_bar
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
        through: contacts.iter().map(|contact| (contact.clone(), 1.0)).collect(),
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
        let passes = |element: &str| {
            let bar = self.neutral_bar.as_ref().filter(|_| element.starts_with("contact:"));
            bar.is_none_or(|bar| state.lands_on(element, bar))
        };
        let through = self.through.iter().filter(|(element, _)| passes(element));
        let residual = through.fold(Phasor::ZERO, |sum, (element, sign)| {
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

    /// Elements whose currents it senses or whose contacts it has.
    pub(super) fn elements(&self) -> impl Iterator<Item = &str> {
        self.contacts.iter().chain(self.through.iter().map(|(element, _)| element)).map(|e| &**e)
    }

    /// Contacts that it senses only where they land on its bar.
    pub(super) fn landings(&self) -> impl Iterator<Item = &str> {
        let through = self.through.iter().map(|(element, _)| &**element);
        through.filter(|element| self.neutral_bar.is_some() && element.starts_with("contact:"))
    }

    /// Where its electronics get their voltage.
    pub(super) fn electronics(&self) -> Option<&(Address, Address)> {
        self.electronics.as_ref()
    }
}
