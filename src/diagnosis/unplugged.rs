//! What trips as soon as it is closed, closed once with nothing plugged in and no light on: it takes a minute
//! and parts appliances, and what lies behind switches, from wiring before any instrument is taken out.

use super::advise::Weighed;
use super::belief::Evidence;
use super::closed::last_repair;
use super::dead::Member;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::model::{ALL_OFF, ALL_UNPLUGGED};
use super::panel_metal::place_of_handle;
use super::symptom::{fed, number, place_of_load};
use super::{Complaint, GoTo, Moment, Protected, WhenItTrips};
use crate::circuit::Load;
use crate::condition::LoadState;

/// What is closed with one load on is closed so from this chance of its tripping on, and no more from this.
const ADDED_BACK_FROM: f64 = 0.1;
const SURE_TO_TRIP: f64 = 0.9;

/// A breaker or device that trips as soon as it is closed.
struct Tripping<'a, 'c> {
    name: &'a str,
    /// What can be taken away behind it.
    loads: Vec<&'c Load>,
    go_to: GoTo,
}

impl<'c> Inquiry<'c> {
    /// Everything that can be unplugged is, what is wired in is off, all else as it stands.
    fn unplugged(&self) -> Moment {
        let unplugged = self.model.settings.get(ALL_UNPLUGGED);
        let mut condition = self.model.settings.get(self.now).cloned().unwrap_or_default();
        condition.loads = unplugged.map(|known| known.loads.clone()).unwrap_or_default();
        Moment { condition, ..Moment::default() }
    }

    /// The breaker or device that trips at once and was not tried without what is plugged in and lit.
    pub(super) fn unplugged_first(&self) -> Option<(GoTo, Moment)> {
        let tripping = self.tripping()?;
        let is_tried = self.tried(tripping.name).any(|(did, settings)| {
            did == Protected::Holds
                || settings.iter().all(|setting| self.is_away(&tripping.loads, *setting))
        });
        (!is_tried).then(|| (tripping.go_to, self.unplugged()))
    }

    /// What held with everything taken away, with one load on again: that with which it likeliest trips, of
    /// which that was not tried.
    pub(super) fn added_back(&mut self, weighed: &[Weighed]) -> Option<(GoTo, Moment)> {
        let Tripping { name, loads, go_to } = self.tripping()?;
        let name = name.to_owned();
        let held = |(did, settings): (Protected, &[usize])| {
            did == Protected::Holds && settings.iter().all(|setting| self.is_away(&loads, *setting))
        };
        if !self.tried(&name).any(held) {
            return None;
        }
        // With others on too it tripped for any of them.
        let is_tried = |load: &Load| {
            let is_on = |setting: usize| self.model.state(&load.id, setting) == LoadState::On;
            let others: Vec<&Load> =
                loads.iter().copied().filter(|other| other.id != load.id).collect();
            self.tried(&name).any(|(did, settings)| {
                settings.iter().all(|&setting| {
                    is_on(setting) && (did == Protected::Holds || self.is_away(&others, setting))
                })
            })
        };
        let untried: Vec<&Load> = loads.iter().copied().filter(|load| !is_tried(load)).collect();
        // Which of them it is no live test parts.
        let members = self.members(weighed);
        let off = self.model.settings.get(ALL_OFF).cloned().unwrap_or_default();
        let mut likeliest: Option<(f64, &str)> = None;
        for load in untried {
            let mut one_on = off.clone();
            one_on.loads.insert(load.id.clone(), LoadState::On);
            let setting = self.model.setting(one_on);
            let chance = self.trips_in(&name, setting, &members);
            if likeliest.is_none_or(|(known, _)| chance > known) {
                likeliest = Some((chance, &load.id));
            }
        }
        let (_, load) =
            likeliest.filter(|(chance, _)| (ADDED_BACK_FROM..SURE_TO_TRIP).contains(chance))?;
        let mut moment = self.unplugged();
        moment.condition.loads.insert(load.to_owned(), LoadState::On);
        Some((go_to, moment))
    }

    /// How likely a breaker or device trips at once in a setting.
    fn trips_in(&self, name: &str, setting: usize, members: &[Member]) -> f64 {
        let trips = |one: &&Member| {
            let row = one.set.and_then(|set| self.model.row(set, setting));
            row.is_some_and(|row| row.tripped.iter().any(|known| self.is_one_handle(known, name)))
        };
        members.iter().filter(trips).map(|one| one.weight).sum()
    }

    /// What trips at once as somebody called, and may be closed without what it feeds.
    fn tripping(&self) -> Option<Tripping<'_, 'c>> {
        let told = || self.since_the_repair();
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
        let loads = self.taken_away_behind(name);
        if loads.is_empty() || self.is_handle_left(name) || self.is_on_a_measured_short(name) {
            return None;
        }
        let place = place_of_handle(self.model.circuit, name)?;
        let is_kept_off =
            self.means.out_of_reach.contains(&place) || self.kept_off().is_panel(&place);
        let (handle, supply, appliance, chance) = (true, false, None, 1.0);
        let go_to = GoTo { place, handle, name: Some(name.clone()), appliance, supply, chance };
        (!is_kept_off).then_some(Tripping { name, loads, go_to })
    }

    /// What was told since something was put right last.
    fn since_the_repair(&self) -> impl Iterator<Item = &Evidence> {
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        self.evidence.iter().skip(since)
    }

    /// What a breaker or device was seen to do since then, and how everything stood.
    fn tried<'a>(&'a self, name: &'a str) -> impl Iterator<Item = (Protected, &'a [usize])> {
        self.since_the_repair().flat_map(move |told| {
            let (settings, facts): (&[usize], &[Fact]) = match told {
                Evidence::Seen { settings, facts, .. } => (settings, facts),
                _ => (&[], &[]),
            };
            facts.iter().filter_map(move |fact| match fact {
                Fact::Protection { name: known, did } if self.is_one_handle(known, name) => {
                    Some((*did, settings))
                }
                _ => None,
            })
        })
    }

    /// Whether all of these are unplugged in a setting, or off where they are wired in.
    fn is_away(&self, loads: &[&Load], setting: usize) -> bool {
        loads.iter().all(|load| match self.model.state(&load.id, setting) {
            LoadState::Unplugged => true,
            LoadState::Off => load.plug_links.is_empty(),
            _ => false,
        })
    }

    /// Loads somewhere behind a breaker or device that are plugged in, or lit by a switch on the wall.
    fn taken_away_behind(&self, name: &str) -> Vec<&'c Load> {
        let circuit = self.model.circuit;
        let places = fed(circuit, name);
        let switches = &self.model.predictor.wall_switches;
        let is_there = |load: &&Load| {
            let at = place_of_load(circuit, load).and_then(|at| number(circuit, &at));
            let is_taken_away = match load.plug_links.is_empty() {
                false => load.plugged_in,
                true => switches.has_one(&load.id),
            };
            is_taken_away && at.is_some_and(|at| places.contains(&at))
        };
        circuit.parts().loads.iter().filter(is_there).collect()
    }
}
