//! Receptacles that a ground-fault device should feed and does not.

use std::collections::BTreeSet;

use crate::circuit::reach::Reach;
use crate::circuit::{Device, DeviceKind};
use crate::condition::Fault;
use crate::netlist::{Law, Netlist, wire};
use crate::quantity::Address;
use crate::solution::{Holding, Solution, solve};

use super::{Hazard, HazardKind, Limits, Severity, Situation};

/// So many devices are tripped to see what stays live; of more only those that are wired the wrong
/// way round.
const FOLLOWED: usize = 64;

/// Of every ground-fault device that has tripped, or would: what stays live behind it, as with its
/// line and load exchanged.
pub(super) fn not_behind(situation: &Situation<'_>, limits: &Limits) -> Vec<Hazard> {
    // A circuit as installed has its devices the right way round.
    if situation.condition.faults.is_empty() {
        return Vec::new();
    }
    let devices = situation.circuit.parts().devices.iter().filter(|device| senses_residual(device));
    let is_exchanged = |device: &Device| {
        let mut faults = situation.condition.faults.iter();
        faults.any(
            |fault| matches!(fault, Fault::LineLoadExchanged { device: id } if *id == device.id),
        )
    };
    let followed =
        devices.enumerate().filter(|(at, device)| *at < FOLLOWED || is_exchanged(device));
    followed.filter_map(|(_, device)| not_behind_one(situation, limits, device)).collect()
}

fn senses_residual(device: &Device) -> bool {
    matches!(&device.kind, DeviceKind::Protective { sensing, .. }
        if sensing.residual_trip_ampere.is_some())
}

fn not_behind_one(situation: &Situation<'_>, limits: &Limits, device: &Device) -> Option<Hazard> {
    let contact = situation.netlist.find_element(&format!("switch:{}.hot", device.id))?;
    let tripped = situation.netlist.element(contact).law == Law::Open;
    let fed = Reach::behind(situation.circuit, device).terminals;
    let (volt, addresses) = match tripped {
        true => live(situation, limits, &fed, (situation.netlist, situation.solution)),
        false => {
            let mut open = situation.condition.clone();
            open.breakers.insert(device.id.clone(), false);
            let netlist = wire(situation.circuit, &open).ok()?;
            let solution = solve(&netlist).ok()?;
            live(situation, limits, &fed, (&netlist, &solution))
        }
    }?;
    Some(Hazard {
        severity: if tripped { Severity::Danger } else { Severity::Warning },
        kind: HazardKind::NotBehindDevice { volt, tripped },
        addresses,
    })
}

/// The live slots among some terminals, with the highest potential.
fn live(
    situation: &Situation<'_>,
    limits: &Limits,
    fed: &BTreeSet<String>,
    (netlist, solution): (&Netlist, &Solution),
) -> Option<(f64, Vec<Address>)> {
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
