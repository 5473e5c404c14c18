//! Reading rows off a solution.

use std::collections::HashSet;

use crate::circuit::{Circuit, DeviceKind, Joint, Load, Outlet, Place};
use crate::condition::{Condition, LoadState, SwitchPosition};
use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::quantity::Address;
use crate::solution::{DeviceState, Regime, Solution};

use crate::report::figure::volts;
use crate::report::holding::Holding;
use crate::report::phasor::PhasorForm;

use super::asked::Wanted;
use super::row::{
    BreakerReading, CurrentReading, DeviceReading, Difference, Held, JointReading, LoadReading,
    OutletReading, StateReading, TerminalReading,
};

/// A solved condition, to be looked at.
#[derive(Clone, Copy)]
pub(super) struct Look<'a> {
    pub(super) circuit: &'a Circuit,
    pub(super) condition: &'a Condition,
    pub(super) netlist: &'a Netlist,
    pub(super) solution: &'a Solution,
    pub(super) holding: &'a Holding,
}

impl Look<'_> {
    pub(super) fn outlets(&self, wanted: &Wanted) -> Vec<OutletReading> {
        self.circuit
            .outlets()
            .filter(|(place, outlet)| {
                let device = outlet.address.as_str().split('.').next().unwrap_or_default();
                wanted.any(&[&place.id, outlet.address.as_str(), device])
            })
            .map(|(place, outlet)| self.outlet(place, outlet))
            .collect()
    }

    fn outlet(&self, place: &Place, outlet: &Outlet) -> OutletReading {
        let mut differences = Vec::new();
        for (at, (from, from_address)) in outlet.slots.iter().enumerate() {
            for (to, to_address) in outlet.slots.iter().skip(at + 1) {
                let nodes = self.node(from_address).zip(self.node(to_address));
                let voltage = nodes.and_then(|(a, b)| self.solution.difference(a, b));
                differences.push(Difference {
                    from: from.clone(),
                    to: to.clone(),
                    voltage_volt: voltage.map(Into::into),
                });
            }
        }
        OutletReading {
            address: outlet.address.to_string(),
            place: place.id.clone(),
            configuration: outlet.configuration.clone(),
            slots: outlet.slots.iter().map(|(name, slot)| self.contact(name, slot)).collect(),
            differences,
        }
    }

    /// A terminal by itself: its conductor is the last word of its address.
    pub(super) fn terminal(&self, address: &Address) -> TerminalReading {
        let conductor = address.as_str().rsplit('.').next().unwrap_or_default();
        self.contact(conductor, address)
    }

    fn contact(&self, conductor: &str, address: &Address) -> TerminalReading {
        let node = self.node(address);
        let potential = node.and_then(|node| self.solution.potential(node));
        TerminalReading {
            conductor: conductor.to_owned(),
            address: address.to_string(),
            potential_volt: potential.map(Into::into),
            held: Held::of(potential, node.is_some_and(|node| self.holding.is_weak(node))),
        }
    }

    pub(super) fn joints(&self, wanted: &Wanted) -> Vec<JointReading> {
        // A joint with several addresses is shown once, under the first unless asked for.
        let mut seen = HashSet::new();
        let joints = self.circuit.parts().joints.iter();
        joints
            .filter(|joint| wanted.joint(joint) && seen.insert(&joint.element))
            .filter_map(|joint| self.joint(joint))
            .collect()
    }

    fn joint(&self, joint: &Joint) -> Option<JointReading> {
        let element = self.netlist.find_element(&joint.element)?;
        let law = self.netlist.element(element).law;
        Some(JointReading {
            address: joint.address.to_string(),
            place: joint.place.clone(),
            conductor: joint.conductor.clone(),
            kind: joint.kind,
            side: joint.side,
            open: law == Law::Open,
            resistance_ohm: match law {
                Law::Impedance(impedance) => Some(impedance.resistance_ohm),
                _ => None,
            },
            voltage_volt: self.across(element),
            current_ampere: self.solution.current(element).into(),
            heat_watt: self.solution.power(element).0,
        })
    }

    pub(super) fn loads(&self, wanted: &Wanted) -> Vec<LoadReading> {
        let loads = self.circuit.parts().loads.iter();
        loads
            .map(|load| self.load(load))
            .filter(|load| {
                let at = load.at.as_deref().unwrap_or_default();
                let place = at.split('.').next().unwrap_or_default();
                wanted.any(&[&load.load, at, place])
            })
            .collect()
    }

    fn load(&self, load: &Load) -> LoadReading {
        let state = self.condition.loads.get(&load.id).copied();
        let element = self.netlist.find_element(&format!("load:{}", load.id));
        let (power_watt, reactive_var) =
            element.map_or((0.0, 0.0), |element| self.solution.power(element));
        LoadReading {
            load: load.id.clone(),
            at: self.where_connected(load),
            state: match (state, load.on) {
                (Some(LoadState::On), _) | (None, true) => "on",
                (Some(LoadState::Off), _) | (None, false) => "off",
                (Some(LoadState::Unplugged), _) => "unplugged",
                (Some(LoadState::Stalled), _) => "stalled",
            },
            voltage_volt: element.and_then(|element| self.across(element)),
            current_ampere: element
                .map(|element| self.solution.current(element))
                .unwrap_or_default()
                .into(),
            power_watt,
            reactive_var,
        }
    }

    /// The outlet or box at the other end of the links that connect a load.
    fn where_connected(&self, load: &Load) -> Option<String> {
        // An appliance of several loads has one plug, and its ends are named after one of them.
        let appliance = load.between.0.as_str().split('.').next().unwrap_or(&load.id);
        let inside = format!("{appliance}.");
        let links = self.circuit.parts().links.iter();
        let mut outside = links.filter_map(|link| {
            let (a, b) = (link.between.0.as_str(), link.between.1.as_str());
            match (a.starts_with(&inside), b.starts_with(&inside)) {
                (true, false) => Some(b),
                (false, true) => Some(a),
                _ => None,
            }
        });
        let (at, _slot) = outside.next()?.rsplit_once('.')?;
        Some(at.to_owned())
    }

    pub(super) fn devices(&self, wanted: &Wanted) -> Vec<DeviceReading> {
        let mut readings = Vec::new();
        for device in &self.circuit.parts().devices {
            let Some((kind, position)) = self.kind_and_position(&device.id, &device.kind) else {
                continue;
            };
            let places = &self.circuit.parts().places;
            let place = places.iter().find(|place| place.devices.contains(&device.id));
            let place = place.map(|place| place.id.clone());
            if wanted.any(&[&device.id, place.as_deref().unwrap_or_default()]) {
                let terminals = self.terminals_of(&device.id);
                let device = device.id.clone();
                readings.push(DeviceReading { device, place, kind, position, terminals });
            }
        }
        readings
    }

    fn terminals_of(&self, device: &str) -> Vec<TerminalReading> {
        let inside = format!("{device}.");
        let own = |address: &&Address| address.as_str().starts_with(&inside);
        let mut terminals: Vec<&Address> = self.circuit.terminals().filter(own).collect();
        terminals.sort();
        terminals
            .into_iter()
            .filter(|address| {
                let element_joins = |part: &str| address.as_str()[inside.len()..].starts_with(part);
                !["splice", "tail", "through"].into_iter().any(element_joins)
            })
            .map(|address| self.terminal(address))
            .collect()
    }

    fn kind_and_position(
        &self,
        id: &str,
        kind: &DeviceKind,
    ) -> Option<(&'static str, &'static str)> {
        let set = self.condition.switches.get(id).copied();
        Some(match *kind {
            DeviceKind::Switch { closed, .. } => {
                let closed = set.map_or(closed, |set| set == SwitchPosition::Closed);
                ("switch", if closed { "closed" } else { "open" })
            }
            DeviceKind::ThreeWay { position, .. } => {
                let first = set.map_or(position == 1, |set| set == SwitchPosition::One);
                ("three_way_switch", if first { "one" } else { "two" })
            }
            DeviceKind::FourWay { crossed, .. } => {
                let crossed = set.map_or(crossed, |set| set == SwitchPosition::Crossed);
                ("four_way_switch", if crossed { "crossed" } else { "straight" })
            }
            DeviceKind::Protective { closed, .. } => {
                let closed = self.condition.breakers.get(id).copied().unwrap_or(closed);
                ("protective_device", if closed { "closed" } else { "tripped" })
            }
            _ => return None,
        })
    }

    pub(super) fn breakers(&self, wanted: &Wanted) -> Vec<BreakerReading> {
        let mut readings = Vec::new();
        for circuit in &self.circuit.parts().branch_circuits {
            let Some(pole) = self.netlist.find_element(&format!("breaker:{}", circuit.id)) else {
                continue;
            };
            let panel = circuit.bus.as_str().split('.').next().unwrap_or_default();
            if wanted.any(&[&circuit.id, panel]) {
                let (bus, _) = self.netlist.ends(pole);
                readings.push(BreakerReading {
                    circuit: circuit.id.clone(),
                    bus: self.netlist.address(bus).to_string(),
                    closed: self.netlist.element(pole).law != Law::Open,
                    rating_ampere: circuit.breaker.rating_ampere,
                    current_ampere: self.solution.current(pole).into(),
                });
            }
        }
        readings
    }

    pub(super) fn currents(&self) -> Vec<CurrentReading> {
        let elements = self.netlist.elements();
        elements
            .map(|element| {
                let (from, to) = self.netlist.ends(element);
                let part = self.netlist.element(element);
                CurrentReading {
                    element: part.id.clone(),
                    role: part.role,
                    from: self.netlist.address(from).to_string(),
                    to: self.netlist.address(to).to_string(),
                    current_ampere: self.solution.current(element).into(),
                    power_watt: self.solution.power(element).0,
                }
            })
            .collect()
    }

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

    fn across(&self, element: ElementId) -> Option<PhasorForm> {
        let (a, b) = self.netlist.ends(element);
        self.solution.difference(a, b).map(Into::into)
    }

    fn node(&self, address: &Address) -> Option<NodeId> {
        self.netlist.find_node(address)
    }
}
