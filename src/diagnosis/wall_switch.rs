//! A wired light has no switch of its own: somebody who says that it is on, or off, says how the switches on
//! the wall stand.

use std::collections::BTreeMap;

use crate::circuit::reach::Reach;
use crate::circuit::{Circuit, Load};
use crate::condition::words::known::is_switch;
use crate::condition::{Condition, LoadState, SwitchPosition};

use super::possible::{Possible, apply_all};
use super::symptom::is_load_among;
use super::thrown::is_one_of_several;

/// A switch that is there for wired loads alone.
#[derive(Clone, Debug)]
struct WallSwitch {
    name: String,
    described: SwitchPosition,
    /// Whether it does nothing by itself: where it is thrown depends on others.
    is_one_of_several: bool,
    /// What it feeds.
    loads: Vec<WiredLoad>,
    /// Whether those are on as described, but for what they are themselves.
    is_closed: bool,
    /// Whether it is the nearest one of any of them.
    is_nearest: bool,
}

#[derive(Clone, Debug)]
struct WiredLoad {
    name: String,
    /// On, but for its switches.
    on: bool,
}

/// Those of a circuit.
#[derive(Clone, Debug)]
pub(super) struct WallSwitches(Vec<WallSwitch>);

impl WallSwitches {
    pub(super) fn of(circuit: &Circuit) -> Self {
        let as_described = Reach::as_described(circuit);
        let devices = circuit.parts().devices.iter().filter(|device| is_switch(&device.kind));
        let mut found: Vec<(usize, WallSwitch)> = Vec::new();
        for device in devices {
            let Some(described) = SwitchPosition::described(&device.kind) else { continue };
            let through = Reach::through(circuit, &device.id);
            let loads = circuit.parts().loads.iter();
            let loads: Vec<&Load> =
                loads.filter(|load| is_load_among(circuit, load, &through)).collect();
            let mut slots = circuit.outlets().flat_map(|(_, at)| &at.slots);
            if loads.is_empty() || slots.any(|(_, slot)| through.contains(slot.as_str())) {
                continue;
            }
            let is_one_of_several = is_one_of_several(device);
            let is_fed = |load: &&Load| is_load_among(circuit, load, &as_described);
            let is_closed = match is_one_of_several {
                true => loads.iter().any(is_fed),
                false => described == SwitchPosition::Closed,
            };
            let wired = |load: &Load| WiredLoad { name: load.id.clone(), on: load.on };
            let switch = WallSwitch {
                name: device.id.clone(),
                described,
                is_one_of_several,
                loads: loads.into_iter().map(wired).collect(),
                is_closed,
                is_nearest: false,
            };
            found.push((through.len(), switch));
        }
        // Of several before one load the nearest has the least behind it.
        let nearest_of = |load: &Load| {
            let before = found.iter().enumerate().filter(|(_, (_, one))| one.feeds(&load.id));
            before.min_by_key(|(_, (reach, _))| *reach).map(|(at, _)| at)
        };
        let nearest: Vec<usize> = circuit.parts().loads.iter().filter_map(nearest_of).collect();
        for at in nearest {
            if let Some((_, switch)) = found.get_mut(at) {
                switch.is_nearest = true;
            }
        }
        Self(found.into_iter().map(|(_, switch)| switch).collect())
    }

    /// Whether a load runs as described.
    pub(super) fn is_on_as_described(&self, circuit: &Circuit, load: &str) -> bool {
        let is_on = circuit.load(load).is_some_and(|load| load.on && load.plugged_in);
        is_on && self.0.iter().all(|switch| switch.is_closed || !switch.feeds(load))
    }

    /// Whether a load has one, by which it can be put out.
    pub(super) fn has_one(&self, load: &str) -> bool {
        self.0.iter().any(|switch| switch.feeds(load))
    }

    /// What throws each of them from how it stands in a condition, and whether it is thrown there.
    pub(super) fn each_thrown(
        &self,
        stands: &Condition,
    ) -> impl Iterator<Item = (&str, Condition, bool)> {
        self.0.iter().map(|switch| {
            let at = stands.switches.get(&switch.name).copied().unwrap_or(switch.described);
            let mut change = Condition::default();
            change.switches.insert(switch.name.clone(), at.thrown());
            (switch.name.as_str(), change, at != switch.described)
        })
    }

    /// Those of which nobody said how they stand and which stand otherwise than described, if it is said of
    /// loads that they stand so.
    pub(super) fn thrown(
        &self,
        loads: &BTreeMap<String, LoadState>,
        is_forgotten: impl Fn(&str) -> bool,
        is_said: impl Fn(&str) -> bool,
    ) -> Vec<(&str, SwitchPosition)> {
        let is_on = |load: &WiredLoad| match loads.get(&load.name) {
            Some(state) => matches!(state, LoadState::On | LoadState::Stalled),
            None => is_forgotten(&load.name),
        };
        let may_be_on = |load: &WiredLoad| load.on && !loads.contains_key(&load.name);
        let is_thrown = |switch: &&WallSwitch| {
            let is_wanted = switch.loads.iter().any(is_on);
            if !is_wanted && switch.loads.iter().any(may_be_on) {
                return false;
            }
            // Of several, or of those in series, one makes it dark.
            let is_its = switch.is_nearest || is_wanted && !switch.is_one_of_several;
            is_its && is_wanted != switch.is_closed && !self.is_any_said(switch, &is_said)
        };
        let thrown = self.0.iter().filter(is_thrown);
        thrown.map(|switch| (switch.name.as_str(), switch.described.thrown())).collect()
    }

    /// Whether anything is said of a switch, or of one of those without which it does nothing.
    fn is_any_said(&self, switch: &WallSwitch, is_said: impl Fn(&str) -> bool) -> bool {
        let goes_with = |other: &&WallSwitch| {
            other.name == switch.name
                || switch.is_one_of_several
                    && switch.loads.iter().any(|load| other.feeds(&load.name))
        };
        self.0.iter().filter(goes_with).any(|one| is_said(&one.name))
    }

    /// Some possibilities on top of how things stand, and the switches as the loads need them.
    pub(super) fn condition(&self, these: &[&Possible], stands: &Condition) -> Condition {
        let is_forgotten = |load: &str| these.iter().any(|one| one.forgotten_load() == Some(load));
        let mut condition = stands.clone();
        apply_all(these, stands, &mut condition);
        let is_said = |name: &str| condition.switches.contains_key(name);
        let thrown = self.thrown(&stands.loads, is_forgotten, is_said).into_iter();
        let thrown: Vec<_> = thrown.map(|(name, at)| (name.to_owned(), at)).collect();
        condition.switches.extend(thrown);
        condition
    }
}

impl WallSwitch {
    fn feeds(&self, load: &str) -> bool {
        self.loads.iter().any(|one| one.name == load)
    }
}
