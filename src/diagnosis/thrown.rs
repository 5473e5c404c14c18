//! A light that several switches switch, tried with all of them thrown: that is free, and parts what is on
//! one of the ways between them from what is on both.

use super::belief::Evidence;
use super::closed::last_repair;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::model::Set;
use super::panel_metal::place_of_handle;
use super::symptom::switches_before;
use super::{Complaint, GoTo, LoadSeen, Moment};
use crate::circuit::{Device, DeviceKind};
use crate::condition::{Condition, SwitchPosition};

/// More switches than this are not tried in every way.
const SWITCHES: usize = 4;

/// With this share of its voltage a load ought to run.
const OUGHT_TO_RUN: f64 = 0.5;

impl<'c> Inquiry<'c> {
    /// How the switches before a load that does not run are to be thrown, so that it ought to run, where
    /// nobody has said what it does then; and the first of them.
    pub(super) fn thrown_first(&mut self) -> Option<(GoTo, Moment)> {
        if self.is_shock_felt() {
            return None;
        }
        let circuit = self.model.circuit;
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        let (load, is_dead) = self.evidence.iter().skip(since).find_map(|told| match told {
            Evidence::Symptom(symptom) => match &symptom.complaint {
                Complaint::LoadDead { load } => Some((load.clone(), true)),
                // Said of one that works from one of its switches only, too.
                Complaint::Flickers { loads } => match loads.as_slice() {
                    [only] => Some((only.clone(), false)),
                    _ => None,
                },
                _ => None,
            },
            _ => None,
        })?;
        let channel = self.model.predictor.looks.share_of(&load)?;
        let switches = self.several_switches(&load);
        let first = switches.last().filter(|_| (2..=SWITCHES).contains(&switches.len()))?;
        let place = place_of_handle(circuit, &first.id)?;
        if self.is_handle_left(&first.id) || self.means.out_of_reach.contains(&place) {
            return None;
        }
        let described = self.is_said_of(channel, &self.with_thrown(&switches, 0));
        if is_dead && described.is_some_and(|seen| seen != LoadSeen::Dead) {
            // It was the switches, or it is well.
            return None;
        }
        // All thrown comes first: one alone makes it dark whatever is wrong. As it was found dead once it is
        // tried again where it runs otherwise.
        let mut runs = false;
        for thrown in (0..1_usize << switches.len()).rev() {
            let condition = self.with_thrown(&switches, thrown);
            if let Some(seen) = self.is_said_of(channel, &condition) {
                runs |= seen != LoadSeen::Dead;
                continue;
            }
            if thrown == 0 && is_dead && !runs {
                return None;
            }
            if self.ought_to_run(channel, &condition).is_some() {
                let go_to = GoTo {
                    place,
                    handle: true,
                    name: Some(first.id.clone()),
                    appliance: None,
                    supply: false,
                    chance: 1.0,
                };
                return Some((go_to, Moment { condition, ..Moment::default() }));
            }
        }
        None
    }

    /// The switches before a load that do nothing by themselves.
    fn several_switches(&self, load: &str) -> Vec<&'c Device> {
        let circuit = self.model.circuit;
        let all = circuit.load(load).map(|load| switches_before(circuit, load));
        all.unwrap_or_default().into_iter().filter(|device| is_one_of_several(device)).collect()
    }

    /// The number of a condition in which a load ought to run.
    fn ought_to_run(&mut self, channel: usize, condition: &Condition) -> Option<usize> {
        let setting = self.model.setting(condition.clone());
        let sound = self.model.row(Set::SOUND, setting)?;
        (sound.value(channel) > OUGHT_TO_RUN).then_some(setting)
    }

    /// The setting with as many of the switches before a load thrown as leave it running where nothing is
    /// wrong, if it has several.
    pub(super) fn lit_otherwise(&mut self, load: &str) -> Option<usize> {
        let channel = self.model.predictor.looks.share_of(load)?;
        let switches = self.several_switches(load);
        if !(2..=SWITCHES).contains(&switches.len()) {
            return None;
        }
        let mut thrown = (1..1_usize << switches.len()).rev();
        thrown.find_map(|thrown| {
            let condition = self.with_thrown(&switches, thrown);
            self.ought_to_run(channel, &condition)
        })
    }

    /// Whether a handle is that of a switch that does nothing by itself.
    pub(super) fn is_one_of_several_switches(&self, name: &str) -> bool {
        self.model.circuit.device(name).is_some_and(is_one_of_several)
    }

    /// Everything as it stands, with some of these switches thrown.
    fn with_thrown(&self, switches: &[&Device], thrown: usize) -> Condition {
        let mut condition = self.model.settings.get(self.now).cloned().unwrap_or_default();
        for (at, switch) in switches.iter().enumerate() {
            let Some(described) = SwitchPosition::described(&switch.kind) else { continue };
            let position = if thrown & (1 << at) == 0 { described } else { described.thrown() };
            condition.switches.insert(switch.id.clone(), position);
        }
        condition
    }

    /// What somebody said that a load does with its switches so.
    fn is_said_of(&self, channel: usize, condition: &Condition) -> Option<LoadSeen> {
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        let stands_so = |setting: &usize| {
            let stands = self.model.settings.get(*setting);
            let at = |name: &String| {
                let described = SwitchPosition::described_in(self.model.circuit, name);
                stands.and_then(|stands| stands.switches.get(name).copied()).or(described)
            };
            condition.switches.iter().all(|(name, position)| at(name) == Some(*position))
        };
        self.evidence.iter().skip(since).rev().find_map(|told| match told {
            Evidence::Seen { settings, facts, .. } if settings.iter().all(stands_so) => {
                facts.iter().find_map(|fact| match fact {
                    Fact::Load { channel: of, seen, .. } if *of == channel => Some(*seen),
                    _ => None,
                })
            }
            _ => None,
        })
    }
}

pub(super) const fn is_one_of_several(device: &Device) -> bool {
    matches!(device.kind, DeviceKind::ThreeWay { .. } | DeviceKind::FourWay { .. })
}
