//! Several stable states in words.

use crate::report::figure::volts;
use crate::solution::{DeviceState, Regime};

use super::look::Look;
use super::row::StateReading;

impl Look<'_> {
    /// The stable states in words; none if there is only one.
    pub(super) fn stable_states(&self) -> Vec<StateReading> {
        let states = self.solution.states();
        if states.len() < 2 {
            return Vec::new();
        }
        states
            .iter()
            .map(|state| StateReading {
                reached: state.reached,
                says: state.devices.iter().filter_map(|device| self.device_state(device)).collect(),
            })
            .collect()
    }

    /// One device of a state, as `radio running at 118.2 V`; none for what has only one regime.
    fn device_state(&self, device: &DeviceState) -> Option<String> {
        let regime = match device.regime {
            Regime::Running => "running",
            Regime::CutOut => "cut out",
            Regime::Dark => "dark",
            Regime::Lit => "lit",
            Regime::Flickering => "flickering",
            Regime::Cold => "not glowing",
            Regime::Glowing => "glowing",
            _ => return None,
        };
        let element = &self.netlist.element(device.element).id;
        let name = match self.circuit.joint_of_element(element) {
            Some(joint) => joint.address.as_str(),
            None => element.strip_prefix("load:").unwrap_or(element),
        };
        Some(format!("{name} {regime} at {} V", volts(device.voltage_volt.magnitude())))
    }
}
