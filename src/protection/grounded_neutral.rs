//! Grounded-neutral detection: a ground-fault device drives a small voltage along its neutral,
//! and trips when a fault from neutral to ground on its load side closes the loop through the
//! bond, whether anything is on or not (second coil; test network of 2 ohm in UL 943).

use crate::netlist::{Law, Netlist, Role};
use crate::quantity::{Address, Phasor};
use crate::solution::solve;

/// Resistance of the loop load side → ground → bond → line side of a device's neutral, ohms;
/// `None` where there is no loop to speak of.
///
/// The test source is solved, not guessed: all EMFs zero, the device's contacts open, one ampere
/// forced from the line side to the load side of its neutral contact, and the voltage between
/// them is the resistance.
pub(super) fn loop_ohm(netlist: &Netlist, device: &str) -> Option<f64> {
    let line = netlist.find_node(&Address::from(format!("{device}.line.neutral")))?;
    let load = netlist.find_node(&Address::from(format!("{device}.load.neutral")))?;
    let mut dead = netlist.clone();
    for id in netlist.elements() {
        let element = netlist.element(id);
        let law = match element.law {
            // Still a source, for the windings coupled with it.
            Law::Source { impedance, .. } => Law::Source { emf_volt: Phasor::ZERO, impedance },
            Law::CurrentSource { .. } => Law::Open,
            _ if element.id.starts_with(&format!("switch:{device}.")) => Law::Open,
            // The test voltage, a few millivolts, lights no lamp and starts no electronics.
            law if !law.is_linear() => Law::Open,
            _ => continue,
        };
        dead.set_law(id, law).ok()?;
    }
    let law = Law::CurrentSource { current_ampere: Phasor::new(1.0, 0.0) };
    dead.add("grounded-neutral test", line, load, Role::Instrument, law).ok()?;
    let across = solve(&dead).ok()?.difference(load, line)?;
    Some(across.magnitude())
}
