//! Receptacles that a ground-fault device should feed and does not.

use crate::circuit::Device;
use crate::circuit::reach::Reach;
use crate::condition::Fault;
use crate::netlist::{Law, Netlist, wire};
use crate::quantity::Address;
use crate::solution::{Holding, Solution, solve};

use super::{Hazard, HazardKind, Limits, Severity, Situation};

/// So many devices are tripped to see what stays live; of more only those that are wired the wrong
/// way round.
const FOLLOWED: usize = 64;

/// What is live behind ground-fault devices that have tripped, as with line and load exchanged.
pub(super) fn tripped(situation: &Situation<'_>, limits: &Limits) -> Vec<Hazard> {
    let open = devices(situation).filter(|device| is_open(situation, device));
    let state = (situation.netlist, situation.solution);
    open.filter_map(|device| {
        let (volt, addresses) = live(situation, limits, device, state)?;
        Some(hazard(volt, true, addresses))
    })
    .collect()
}

/// What would stay live behind those that have not.
pub(super) fn would_stay(situation: &Situation<'_>, limits: &Limits) -> Vec<Hazard> {
    // A circuit as installed has its devices the right way round.
    if situation.condition.faults.is_empty() {
        return Vec::new();
    }
    let is_exchanged = |device: &Device| {
        let mut faults = situation.condition.faults.iter();
        faults.any(
            |fault| matches!(fault, Fault::LineLoadExchanged { device: id } if *id == device.id),
        )
    };
    let closed = devices(situation).filter(|device| !is_open(situation, device));
    let followed = closed.enumerate().filter(|(at, device)| *at < FOLLOWED || is_exchanged(device));
    followed
        .filter_map(|(_, device)| {
            let mut open = situation.condition.clone();
            open.breakers.insert(device.id.clone(), false);
            let netlist = wire(situation.circuit, &open).ok()?;
            let solution = solve(&netlist).ok()?;
            let (volt, addresses) = live(situation, limits, device, (&netlist, &solution))?;
            Some(hazard(volt, false, addresses))
        })
        .collect()
}

fn devices<'c>(situation: &Situation<'c>) -> impl Iterator<Item = &'c Device> {
    situation.circuit.parts().devices.iter().filter(|device| device.kind.senses_residual())
}

fn is_open(situation: &Situation<'_>, device: &Device) -> bool {
    let contact = situation.netlist.find_element(&format!("switch:{}.hot", device.id));
    contact.is_some_and(|contact| situation.netlist.element(contact).law == Law::Open)
}

fn hazard(volt: f64, tripped: bool, addresses: Vec<Address>) -> Hazard {
    Hazard {
        severity: if tripped { Severity::Danger } else { Severity::Warning },
        kind: HazardKind::NotBehindDevice { volt, tripped },
        addresses,
    }
}

/// The live slots that a device should feed, with the highest potential.
fn live(
    situation: &Situation<'_>,
    limits: &Limits,
    device: &Device,
    (netlist, solution): (&Netlist, &Solution),
) -> Option<(f64, Vec<Address>)> {
    let fed = Reach::behind(situation.circuit, device).terminals;
    let holding = Holding::new(netlist, solution);
    let outlets = situation.circuit.outlets().flat_map(|(_, outlet)| &outlet.slots);
    let slots = outlets.filter(|(_, address)| fed.contains(address.as_str()));
    let live = slots.filter_map(|(_, address)| {
        let node = netlist.find_node(address).filter(|node| !holding.is_weak(*node))?;
        let volt = solution.potential(node)?.magnitude();
        (volt >= limits.touch_volt).then(|| (volt, address.clone()))
    });
    let (volts, addresses): (Vec<f64>, Vec<Address>) = live.unzip();
    let volt = volts.into_iter().reduce(f64::max)?;
    Some((volt, addresses))
}
