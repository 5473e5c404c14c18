//! What trips as soon as it is closed, closed once with nothing plugged in: it takes a minute and parts
//! appliances from wiring before any instrument is taken out.

use super::belief::Evidence;
use super::closed::last_repair;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::model::ALL_UNPLUGGED;
use super::panel_metal::place_of_handle;
use super::symptom::{fed, number, place_of_load};
use super::{Complaint, GoTo, Moment, Protected, WhenItTrips};
use crate::circuit::Load;
use crate::condition::LoadState;

impl Inquiry<'_> {
    /// Everything that can be unplugged is, what is wired in is off, all else as it stands.
    fn unplugged(&self) -> Moment {
        let unplugged = self.model.settings.get(ALL_UNPLUGGED);
        let mut condition = self.model.settings.get(self.now).cloned().unwrap_or_default();
        condition.loads = unplugged.map(|known| known.loads.clone()).unwrap_or_default();
        Moment { condition, ..Moment::default() }
    }

    /// The breaker or device that trips at once and was not tried without what is plugged in.
    pub(super) fn unplugged_first(&self) -> Option<(GoTo, Moment)> {
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        let told = || self.evidence.iter().skip(since);
        let is_opened = told().any(|told| matches!(told, Evidence::Opened { .. }));
        if is_opened || self.is_shock_felt() || !self.means.fixed_loads.is_empty() {
            return None;
        }
        let name = told().find_map(|told| match told {
            Evidence::Symptom(symptom) => match &symptom.complaint {
                Complaint::Trips { breaker, when: WhenItTrips::AtOnce }
                | Complaint::WontReset { breaker } => Some(breaker),
                _ => None,
            },
            _ => None,
        })?;
        let plugged: Vec<&Load> = self.plugged_in_behind(name);
        let is_away = |setting: &usize| {
            let stands = self.model.settings.get(*setting);
            plugged.iter().all(|load| {
                let state = stands.and_then(|stands| stands.loads.get(&load.id));
                state == Some(&LoadState::Unplugged)
            })
        };
        let is_tried = told().any(|told| match told {
            Evidence::Seen { settings, facts, .. } => facts.iter().any(|fact| match fact {
                Fact::Protection { name: known, did } if self.is_one_handle(known, name) => {
                    *did == Protected::Holds || settings.iter().all(is_away)
                }
                _ => false,
            }),
            _ => false,
        });
        if plugged.is_empty()
            || is_tried
            || self.is_handle_left(name)
            || self.is_on_a_measured_short(name)
        {
            return None;
        }
        let place = place_of_handle(self.model.circuit, name)?;
        let is_kept_off =
            self.means.out_of_reach.contains(&place) || self.kept_off().is_panel(&place);
        let (handle, supply, appliance, chance) = (true, false, None, 1.0);
        let name = Some(name.clone());
        let go_to = GoTo { place, handle, name, appliance, supply, chance };
        (!is_kept_off).then(|| (go_to, self.unplugged()))
    }

    /// Loads that are plugged in somewhere behind a breaker or device.
    fn plugged_in_behind(&self, name: &str) -> Vec<&Load> {
        let circuit = self.model.circuit;
        let places = fed(circuit, name);
        let is_there = |load: &&Load| {
            let at = place_of_load(circuit, load).and_then(|at| number(circuit, &at));
            !load.plug_links.is_empty()
                && load.plugged_in
                && at.is_some_and(|at| places.contains(&at))
        };
        circuit.parts().loads.iter().filter(is_there).collect()
    }
}
