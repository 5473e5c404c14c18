//! Loads, switches and breakers: what each is set to and what it gets.

use std::collections::{HashMap, HashSet};

use crate::circuit::{Circuit, DeviceKind, Load};
use crate::condition::{LoadState, SwitchPosition};
use crate::netlist::Law;
use crate::quantity::Address;

use super::asked::Wanted;
use super::look::Look;
use super::row::{BreakerReading, DeviceReading, LoadReading, TerminalReading};

impl Look<'_> {
    pub(super) fn loads(&self, wanted: &Wanted) -> Vec<LoadReading> {
        let connected = connected(self.circuit);
        let loads = self.circuit.parts().loads.iter();
        loads
            .map(|load| self.load(load, connected.get(appliance(load)).copied()))
            .filter(|load| {
                let at = load.at.as_deref().unwrap_or_default();
                let place = at.split('.').next().unwrap_or_default();
                wanted.any(&[&load.load, at, place])
            })
            .collect()
    }

    fn load(&self, load: &Load, at: Option<&str>) -> LoadReading {
        let state = self.condition.loads.get(&load.id).copied();
        let element = self.netlist.find_element(&format!("load:{}", load.id));
        let (power_watt, reactive_var) =
            element.map_or((0.0, 0.0), |element| self.solution.power(element));
        LoadReading {
            load: load.id.clone(),
            at: at.map(str::to_owned),
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

    pub(super) fn devices(&self, wanted: &Wanted) -> Vec<DeviceReading> {
        let mut sorted: Vec<&Address> = self.circuit.terminals().collect();
        sorted.sort();
        let places = self.circuit.parts().places.iter();
        let place_of: HashMap<&str, &str> = places
            .flat_map(|place| place.devices.iter().map(|d| (d.as_str(), place.id.as_str())))
            .collect();
        let mut readings = Vec::new();
        for device in &self.circuit.parts().devices {
            let Some((kind, position)) = self.kind_and_position(&device.id, &device.kind) else {
                continue;
            };
            let place = place_of.get(device.id.as_str()).copied();
            if wanted.any(&[&device.id, place.unwrap_or_default()]) {
                let place = place.map(str::to_owned);
                let terminals = self.terminals_of(&device.id, &sorted);
                let device = device.id.clone();
                readings.push(DeviceReading { device, place, kind, position, terminals });
            }
        }
        readings
    }

    /// The device's own terminals out of all of them in order; what the box adds to its name
    /// (splices, pigtails, straps) is left out.
    fn terminals_of(&self, device: &str, sorted: &[&Address]) -> Vec<TerminalReading> {
        let inside = format!("{device}.");
        let start = sorted.partition_point(|address| address.as_str() < inside.as_str());
        sorted
            .iter()
            .skip(start)
            .map_while(|&address| Some((address, address.as_str().strip_prefix(&inside)?)))
            .filter(|(_, part)| {
                !["splice", "tail", "through"].into_iter().any(|word| part.starts_with(word))
            })
            .map(|(address, _)| self.terminal(address))
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
}

/// The appliance a load belongs to. One of several loads has one plug, and the ends of all are
/// named after one of them.
fn appliance(load: &Load) -> &str {
    load.between.0.as_str().split('.').next().unwrap_or(&load.id)
}

/// For each appliance the outlet or box at the other end of the links that connect it.
fn connected(circuit: &Circuit) -> HashMap<&str, &str> {
    let appliances: HashSet<&str> = circuit.parts().loads.iter().map(appliance).collect();
    let mut connected = HashMap::new();
    for link in &circuit.parts().links {
        let ends = [link.between.0.as_str(), link.between.1.as_str()];
        for (inside, outside) in [(ends[0], ends[1]), (ends[1], ends[0])] {
            let name = inside.split('.').next().unwrap_or_default();
            let leads_out = !outside.starts_with(&format!("{name}."));
            if let Some(&name) = appliances.get(name)
                && leads_out
                && let Some((at, _slot)) = outside.rsplit_once('.')
            {
                connected.entry(name).or_insert(at);
            }
        }
    }
    connected
}
