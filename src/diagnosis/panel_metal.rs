//! The metal of panels, which breakers' handles are in and every ground comes from: nobody is sent to
//! it where it may be live.

use std::collections::BTreeSet;

use super::belief::Evidence;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::look::Measure;
use super::model::DESCRIBED;
use super::parting::Feeding;
use super::symptom::place_of_load;
use super::{Complaint, Protected, WhenItTrips};
use crate::circuit::reach::Reach;
use crate::circuit::{Circuit, Load, PlaceKind};
use crate::condition::LoadState;
use crate::condition::words::known::Known;
use crate::hazard::Limits;

/// Nobody is sent to a panel whose metal is as likely as this to be live: judgement.
const MAY_BE_LIVE_FROM: f64 = 0.3;

/// Testing ends where it is as likely as this: judgement.
const LIVE_FROM: f64 = 0.9;

/// The same on complaints alone, where nobody felt a shock.
const LIVE_FROM_COMPLAINTS: f64 = 0.97;

/// Hypotheses less likely than this are not asked.
const ASKED_FROM: f64 = 5e-4;

/// Whether the metal of the panel that the service feeds may be live, as things stand.
///
/// ```
/// use slotwise::diagnosis::PanelMetal;
/// assert!(PanelMetal::MayBeLive < PanelMetal::Live);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PanelMetal {
    /// Not likely enough to keep off it.
    NotLive,
    /// Likely enough that nobody is sent to it or to a panel behind it, and nothing with a metal case
    /// is switched.
    MayBeLive,
    /// So likely, or felt by somebody, that nothing is tested any more.
    Live,
}

/// What nobody touches as things are believed: panels, and loads whose cases are joined to them.
pub(crate) struct KeptOff<'c> {
    circuit: &'c Circuit,
    metal: PanelMetal,
    panels: BTreeSet<String>,
    /// Loads with metal cases behind panels that are kept off while the first panel is not.
    loads: BTreeSet<String>,
}

impl KeptOff<'_> {
    /// Whether the metal of the first panel may be live.
    pub(crate) const fn metal(&self) -> PanelMetal {
        self.metal
    }

    /// Whether a place is a panel that nobody is sent to.
    pub(crate) fn is_panel(&self, place: &str) -> bool {
        self.panels.contains(place)
    }

    /// Whether one of these breakers stands in a panel that nobody is sent to.
    pub(crate) fn is_any_of(&self, breakers: impl IntoIterator<Item = String>) -> bool {
        let stands = |name: String| place_of_handle(self.circuit, &name);
        breakers.into_iter().filter_map(stands).any(|place| self.is_panel(&place))
    }

    /// The panel that nobody is sent to in which a breaker stands that feeds a place, or that the place
    /// is.
    pub(crate) fn before(&self, place: &str) -> Option<String> {
        if self.panels.is_empty() || self.is_panel(place) {
            return self.panels.get(place).cloned();
        }
        let known = Known::of(self.circuit);
        let feeds = Feeding::of(&known).off_at(place).into_keys();
        let mut stands = feeds.filter_map(|name| place_of_handle(self.circuit, &name));
        stands.find(|panel| self.is_panel(panel))
    }

    /// Whether nobody is kept off anything.
    pub(super) fn is_nothing(&self) -> bool {
        self.metal == PanelMetal::NotLive && self.panels.is_empty()
    }
}

/// The panel, or the place, that a breaker or a device stands in.
pub(crate) fn place_of_handle(circuit: &Circuit, name: &str) -> Option<String> {
    let joint = circuit.joint_of_element(&format!("breaker:{name}"));
    let is_there = |device: &String| device == name;
    let device = || circuit.parts().places.iter().find(|at| at.devices.iter().any(is_there));
    let place = joint.map(|joint| joint.place.clone());
    place.or_else(|| device().map(|place| place.id.clone()))
}

impl<'c> Inquiry<'c> {
    /// Panels that nobody is sent to: their own metal, or that of the first panel, may be live.
    pub fn panels_kept_off(&self) -> BTreeSet<String> {
        self.kept_off().panels
    }

    /// What nobody touches as things are believed.
    pub(crate) fn kept_off(&self) -> KeptOff<'c> {
        let circuit = self.model.circuit;
        let metal = self.panel_metal();
        let places = circuit.parts().places.iter().map(|place| &place.id);
        let panels = places.filter(|place| self.is_panel_kept_off(metal, place)).cloned();
        let mut kept_off =
            KeptOff { circuit, metal, panels: panels.collect(), loads: BTreeSet::new() };
        if metal == PanelMetal::NotLive && !kept_off.panels.is_empty() {
            let is_behind = |load: &&Load| {
                let place = place_of_load(circuit, load);
                load.frame.is_some() && place.is_some_and(|at| kept_off.before(&at).is_some())
            };
            let loads = circuit.parts().loads.iter().filter(is_behind);
            kept_off.loads = loads.map(|load| load.id.clone()).collect();
        }
        kept_off
    }

    /// Whether the metal of the panel that the service feeds may be live, as things stand or as the
    /// circuit is described: by what is believed, or because somebody felt a shock from it. All grounds
    /// are joined to it, and the metal of panels behind it.
    pub fn panel_metal(&self) -> PanelMetal {
        if self.is_panel_felt() {
            return PanelMetal::Live;
        }
        match self.live_chance(|panel| self.is_first_panel(panel)) {
            chance if chance >= LIVE_FROM_COMPLAINTS => PanelMetal::Live,
            // What is complained of may be bad joints or dead appliances too: one reading tells.
            chance if chance >= LIVE_FROM && (self.is_shock_felt() || self.is_anything_read()) => {
                PanelMetal::Live
            }
            chance if chance >= MAY_BE_LIVE_FROM => PanelMetal::MayBeLive,
            _ => PanelMetal::NotLive,
        }
    }

    /// Whether somebody felt a shock from a panel that the service feeds.
    pub(super) fn is_panel_felt(&self) -> bool {
        self.is_felt_from(|from| self.is_first_panel(from))
    }

    fn is_anything_read(&self) -> bool {
        self.evidence.iter().any(|told| matches!(told, Evidence::Seen { .. }))
    }

    fn is_felt_from(&self, is: impl Fn(&str) -> bool) -> bool {
        self.is_said(|one| matches!(one, Complaint::Tingle { from } if is(from)))
    }

    fn is_first_panel(&self, name: &str) -> bool {
        let circuit = self.model.circuit;
        self.is_panel(name)
            && circuit.place(name).is_some_and(|place| circuit.is_fed_by_no_cable(place))
    }

    fn is_panel(&self, name: &str) -> bool {
        self.model.circuit.place(name).is_some_and(|place| place.kind == PlaceKind::Panel)
    }

    /// Whether a place is a panel that nobody is sent to: its own metal, or that of the first panel, may
    /// be live.
    fn is_panel_kept_off(&self, metal: PanelMetal, place: &str) -> bool {
        self.is_panel(place)
            && (metal != PanelMetal::NotLive
                || self.is_felt_from(|from| from == place)
                || self.live_chance(|panel| panel == place) >= MAY_BE_LIVE_FROM)
    }

    /// How likely the metal of such a panel is live.
    fn live_chance(&self, is: impl Fn(&str) -> bool) -> f64 {
        let channels = self.model.predictor.looks.channels.iter().enumerate();
        let metal = channels
            .filter(|(_, channel)| matches!(&channel.measure, Measure::Case { of } if is(of)));
        let metal: Vec<usize> = metal.map(|(at, _)| at).collect();
        // What is felt with wet hands is what warnings go by.
        let live_volt = Limits::of(self.model.circuit.parts().vocabulary).touch_wet_volt;
        let live = self.likeliest().filter(|(one, set)| {
            let is_live = |setting| {
                let row = self.model.row(self.closed.now(one.leads), setting);
                row.is_some_and(|row| metal.iter().any(|&at| row.value(at) > live_volt))
            };
            set.is_some() && one.weight >= ASKED_FROM && (is_live(self.now) || is_live(DESCRIBED))
        });
        live.map(|(one, _)| one.weight).sum()
    }

    /// Whether somebody would have to touch a panel that may be live, or metal that is joined to it, to
    /// bring this setting about from how things stand.
    pub(super) fn touches_live_metal(&self, kept_off: &KeptOff<'_>, setting: usize) -> bool {
        if setting == self.now {
            return false;
        }
        let circuit = self.model.circuit;
        let metal = kept_off.metal;
        let is_kept_off = |name: &String| match place_of_handle(circuit, name) {
            Some(place) => kept_off.is_panel(&place),
            None => metal != PanelMetal::NotLive,
        };
        if self.model.handles(self.now, setting).keys().any(is_kept_off) {
            return true;
        }
        let is_on = |name: &str, setting| self.model.state(name, setting) == LoadState::On;
        let is_felt = |name: &str| self.is_felt_from(|from| from == name);
        let mut loads = circuit.parts().loads.iter().map(|load| load.id.as_str());
        // What gave somebody a shock is not switched on to learn more.
        if loads.any(|name| is_on(name, setting) && !is_on(name, self.now) && is_felt(name)) {
            return true;
        }
        let is_of_metal = |name: &str| {
            let load = circuit.load(name);
            metal == PanelMetal::Live || load.is_none_or(|load| load.frame.is_some())
        };
        let is_switched =
            |name: &str| self.model.state(name, self.now) != self.model.state(name, setting);
        let mut loads = circuit.parts().loads.iter().map(|load| load.id.as_str());
        let is_live = |name: &str| match metal {
            PanelMetal::NotLive => kept_off.loads.contains(name),
            _ => is_of_metal(name),
        };
        loads.any(|name| is_switched(name) && is_live(name))
    }

    /// Breakers that are off because something was measured dead last.
    fn off_for_an_ohmmeter(&self) -> BTreeSet<String> {
        let Some(last @ Evidence::Seen { settings, facts, .. }) = self.evidence.last() else {
            return BTreeSet::new();
        };
        let channels = &self.model.predictor.looks.channels;
        let is_ohm = |fact: &Fact| {
            let channel = fact.channel().and_then(|at| channels.get(at));
            channel.is_some_and(|one| matches!(one.measure, Measure::Ohm { .. }))
        };
        let place = self.at(last).filter(|_| facts.iter().any(is_ohm));
        let Some(place) = place.and_then(|at| self.model.circuit.parts().places.get(at)) else {
            return BTreeSet::new();
        };
        let stands = settings.iter().filter_map(|&at| self.model.settings.get(at));
        let stated = stands.flat_map(|stands| stands.breakers.clone());
        let known = Known::of(self.model.circuit);
        let off = Feeding::of(&known).off_at(&place.id).into_iter().chain(stated);
        off.filter(|(_, closed)| !closed).map(|(name, _)| name).collect()
    }

    /// Terminals behind breakers and devices that would have to be closed for a look there: nobody
    /// closes one at a panel whose metal may be live, nor any after somebody felt a shock.
    pub(super) fn behind_what_is_open(&self, metal: PanelMetal) -> BTreeSet<String> {
        let circuit = self.model.circuit;
        let told = self.evidence.iter().filter_map(|told| match told {
            Evidence::Symptom(symptom) => Some(&symptom.complaint),
            _ => None,
        });
        let is_felt = self.is_shock_felt();
        let open = told.filter_map(|complaint| match complaint {
            Complaint::WontReset { breaker } => Some(breaker.as_str()),
            Complaint::Trips { breaker, when } if is_felt || *when == WhenItTrips::AtOnce => {
                Some(breaker.as_str())
            }
            _ => None,
        });
        let seen = self.evidence.iter().filter_map(|told| match told {
            Evidence::Seen { facts, .. } => Some(facts),
            _ => None,
        });
        let seen: Vec<(&str, Protected)> = seen
            .flatten()
            .filter_map(|fact| match fact {
                Fact::Protection { name, did } => Some((name.as_str(), *did)),
                _ => None,
            })
            .collect();
        let last =
            |name: &str| seen.iter().rev().find(|(known, _)| *known == name).map(|one| one.1);
        let stays_open = |name: &&str| {
            use Protected::{FoundOff, TripsAtOnce, WontReset};
            matches!(last(name), Some(FoundOff | TripsAtOnce | WontReset))
        };
        let open = open.filter(|name| last(name) != Some(Protected::Holds));
        let open = open.chain(seen.iter().map(|(name, _)| *name).filter(stays_open));
        let off = self.off_for_an_ohmmeter();
        let open = open.chain(off.iter().map(String::as_str));
        let is_kept_open = |name: &&str| {
            is_felt || metal != PanelMetal::NotLive && circuit.branch_circuit(name).is_some()
        };
        Reach::behind_all(circuit, open.filter(is_kept_open)).terminals
    }
}
