//! What trips before anybody can hold an instrument to a receptacle.
//!
//! Only what is certain to trip within a moment counts: a breaker in its magnetic region, a
//! ground-fault device above its trip current. What trips after minutes is a matter of
//! [`protection`](crate::protection); here the circuit is measured meanwhile.

use crate::circuit::{Circuit, DeviceKind, TripCurve};
use crate::netlist::Netlist;
use crate::quantity::Phasor;
use crate::solution::Solution;

/// Upper end of the magnetic region, in multiples of the rating: every breaker of the family
/// trips at once there. UL 489 fixes none; 300 A on a 15 or 20 A breaker is the bound in use in
/// code work. IEC 60898-1: B 5, C 10, D 20.
fn magnetic_multiple(curve: TripCurve) -> f64 {
    match curve {
        TripCurve::InverseTime => 15.0,
        TripCurve::B => 5.0,
        TripCurve::C => 10.0,
        TripCurve::D => 20.0,
    }
}

/// Electronics of a device are taken to work above this share of a nominal 120 V.
const ELECTRONICS_VOLT: f64 = 60.0;

/// Breakers and protective devices that are closed and trip at once, by name.
pub(super) fn at_once(circuit: &Circuit, netlist: &Netlist, solution: &Solution) -> Vec<String> {
    let parts = circuit.parts();
    let current = |element: &str| -> Phasor {
        netlist.find_element(element).map_or(Phasor::ZERO, |id| solution.current(id))
    };
    let mut names = Vec::new();
    for pole in &parts.branch_circuits {
        let ampere = current(&format!("breaker:{}", pole.id)).magnitude();
        let Some(rating) = pole.breaker.rating_ampere else { continue };
        if ampere >= magnetic_multiple(pole.breaker.curve) * rating {
            names.push(pole.id.clone());
        }
    }
    for device in &parts.devices {
        let DeviceKind::Protective { poles, sensing, .. } = &device.kind else { continue };
        let Some(trip) = sensing.residual_trip_ampere else { continue };
        let sum = poles
            .iter()
            .fold(Phasor::ZERO, |sum, pole| sum + current(&format!("switch:{}.{pole}", device.id)));
        let alive =
            !sensing.needs_supply || supply(netlist, solution, &device.id) >= ELECTRONICS_VOLT;
        if alive && sum.magnitude() >= trip {
            names.push(device.id.clone());
        }
    }
    names
}

/// Volts between line-side hot and neutral of a device.
fn supply(netlist: &Netlist, solution: &Solution, device: &str) -> f64 {
    let node = |pole: &str| netlist.find_node(&format!("{device}.line.{pole}").into());
    let volt = node("hot").zip(node("neutral")).and_then(|(a, b)| solution.difference(a, b));
    volt.map_or(0.0, Phasor::magnitude)
}
