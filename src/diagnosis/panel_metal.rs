//! The metal of panels, which breakers' handles are in and every ground comes from: nobody is sent to
//! it where it may be live.

use std::collections::BTreeSet;

use super::act::LIVE_VOLT;
use super::belief::Evidence;
use super::inquiry::Inquiry;
use super::look::Measure;
use super::model::DESCRIBED;
use super::{Complaint, WhenItTrips};
use crate::circuit::PlaceKind;
use crate::circuit::reach::{Reach, Subpanels};

/// Nobody is sent to a panel whose metal is as likely as this to be live: judgement.
const MAY_BE_LIVE_FROM: f64 = 0.3;

/// Nothing is switched or plugged in anywhere where it is as likely as this: judgement.
const LIVE_FROM: f64 = 0.9;

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
    /// So likely, or felt by somebody, that nothing is switched at all.
    Live,
}

impl Inquiry<'_> {
    /// Whether the metal of the panel that the service feeds may be live, as things stand or as the
    /// circuit is described: by what is believed, or because somebody felt a shock from it. All grounds
    /// are joined to it, and the metal of panels behind it.
    pub fn panel_metal(&self) -> PanelMetal {
        if self.is_panel_felt() {
            return PanelMetal::Live;
        }
        match self.live_chance(|panel| self.is_first_panel(panel)) {
            chance if chance >= LIVE_FROM => PanelMetal::Live,
            chance if chance >= MAY_BE_LIVE_FROM => PanelMetal::MayBeLive,
            _ => PanelMetal::NotLive,
        }
    }

    /// Whether somebody felt a shock from a panel that the service feeds.
    pub(super) fn is_panel_felt(&self) -> bool {
        self.is_said(|complaint| match complaint {
            Complaint::Tingle { from } => self.is_first_panel(from),
            _ => false,
        })
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
    pub(super) fn is_panel_kept_off(&self, metal: PanelMetal, place: &str) -> bool {
        self.is_panel(place)
            && (metal != PanelMetal::NotLive
                || self.live_chance(|panel| panel == place) >= MAY_BE_LIVE_FROM)
    }

    /// How likely the metal of such a panel is live.
    fn live_chance(&self, is: impl Fn(&str) -> bool) -> f64 {
        let channels = self.model.predictor.looks.channels.iter().enumerate();
        let metal = channels
            .filter(|(_, channel)| matches!(&channel.measure, Measure::Case { of } if is(of)));
        let metal: Vec<usize> = metal.map(|(at, _)| at).collect();
        let live = self.likeliest().filter(|(one, set)| {
            let is_live = |setting| {
                let row = self.model.row(self.closed.now(one.leads), setting);
                row.is_some_and(|row| metal.iter().any(|&at| row.value(at) > LIVE_VOLT))
            };
            set.is_some() && one.weight >= ASKED_FROM && (is_live(self.now) || is_live(DESCRIBED))
        });
        live.map(|(one, _)| one.weight).sum()
    }

    /// Whether somebody would have to touch a panel that may be live, or metal that is joined to it, to
    /// bring this setting about from how things stand.
    pub(super) fn touches_live_metal(&self, metal: PanelMetal, setting: usize) -> bool {
        if setting == self.now {
            return false;
        }
        let circuit = self.model.circuit;
        let stands_in = |name: &String| {
            let joint = circuit.joint_of_element(&format!("breaker:{name}"));
            let device = || circuit.parts().places.iter().find(|at| at.devices.contains(name));
            let place = joint.map(|joint| joint.place.clone());
            place.or_else(|| device().map(|place| place.id.clone()))
        };
        let is_kept_off = |name: &String| match stands_in(name) {
            Some(place) => self.is_panel_kept_off(metal, &place),
            None => metal != PanelMetal::NotLive,
        };
        if self.model.handles(self.now, setting).keys().any(is_kept_off) {
            return true;
        }
        let is_of_metal = |name: &str| {
            let load = circuit.load(name);
            metal == PanelMetal::Live || load.is_none_or(|load| load.frame.is_some())
        };
        let is_switched =
            |name: &str| self.model.state(name, self.now) != self.model.state(name, setting);
        let mut loads = circuit.parts().loads.iter().map(|load| load.id.as_str());
        metal != PanelMetal::NotLive && loads.any(|name| is_switched(name) && is_of_metal(name))
    }

    /// Terminals behind breakers that would have to be closed for a look there: nobody closes one at a
    /// panel whose metal may be live.
    pub(super) fn behind_what_is_open(&self, metal: PanelMetal) -> BTreeSet<String> {
        let circuit = self.model.circuit;
        let told = self.evidence.iter().filter_map(|told| match told {
            Evidence::Symptom(symptom) => Some(&symptom.complaint),
            _ => None,
        });
        let open = told.filter_map(|complaint| match complaint {
            Complaint::Trips { breaker, when: WhenItTrips::AtOnce }
            | Complaint::WontReset { breaker } => Some(breaker.as_str()),
            _ => None,
        });
        let open: Vec<&str> = open.filter(|name| circuit.branch_circuit(name).is_some()).collect();
        match metal == PanelMetal::NotLive || open.is_empty() {
            true => BTreeSet::new(),
            false => Reach::of(circuit, &open, Subpanels::Passed).terminals,
        }
    }
}
