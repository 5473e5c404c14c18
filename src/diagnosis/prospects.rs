//! What could be looked at next, loads standing so or so: every instrument at every receptacle,
//! but for what endangers or tells nothing new.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::act::{Act, TOO_MUCH, dangers, endangers_at, holding_s};
use super::advise::Weighed;
use super::belief::Evidence;
use super::choose::Prospect;
use super::class::{PARTED_SPREADS, shows_apart};
use super::closed::last_repair;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::look::{Channel, Measure};
use super::model::DESCRIBED;
use super::outcome::Outcomes;
use super::parting::Feeding;
use super::predictions::Row;
use super::symptom::{dead_places, place_of_load};
use super::{Amount, Complaint, Mended, PanelMetal, Protected};
use crate::circuit::Load;
use crate::circuit::reach::Reach;
use crate::condition::LoadState;
use crate::condition::words::known::Known;
use crate::instrument::{Instrument, Place};
use crate::quantity::Address;

/// An act is not proposed if what is believed makes it dangerous with more than this
/// probability.
pub const ENDANGERS_BELOW: f64 = 0.01;

/// A load is not switched on for a test where it is likelier than this to get too much: judgement.
const OVERVOLTS_BELOW: f64 = 0.05;

/// What gets too much is not given so much more for a test.
const STILL_MORE: f64 = 1.05;

/// What is dead with more than this probability is not loaded: that shows no more than a tester does.
const LOADED_BELOW: f64 = 0.5;

/// A look is made again where so much of what is likely would show something else.
const SHOWS_OTHERWISE: f64 = 0.1;

/// No load has less than this between its wires, ohms: 7 kW at 120 V.
const SHORT_OHM: f64 = 2.0;

/// What is called a short is under this, ohms.
const CALLED_SHORT_OHM: f64 = 10.0;

/// The weight of a hypothesis, with what it shows in a setting.
pub(super) type Weight = (f64, Option<Arc<Row>>);

/// A channel that was seen, with what each hypothesis showed then.
pub(super) struct Before {
    channel: usize,
    rows: Vec<Option<Arc<Row>>>,
}

/// What is not done for a test, however loads stand.
pub(super) struct Barred {
    /// Terminals behind what nobody closes to look.
    terminals: BTreeSet<String>,
    /// Somebody felt heat: nothing is loaded.
    pub(super) burns: bool,
}

impl Inquiry<'_> {
    pub(super) fn barred(&self, metal: PanelMetal) -> Barred {
        let mut terminals = self.behind_what_is_open(metal);
        terminals.extend(self.behind_a_measured_short());
        Barred { terminals, burns: self.is_heat_felt() }
    }

    /// Whether switching from how things stand brings about a danger somewhere that is there neither now
    /// nor, unless somebody felt a shock, as the circuit is described: so it stood when somebody called.
    pub(super) fn switching_endangers(&self, weighed: &[Weighed], rows: &[Weight]) -> bool {
        let looks = &self.model.predictor.looks;
        let nominal = self.model.chances.nominal();
        let dangers = |row: &Row| dangers(looks, row, nominal);
        let is_felt = self.is_shock_felt();
        let chance: f64 = weighed
            .iter()
            .zip(rows)
            .filter(|(one, (_, then))| {
                let Some(then) = then.as_ref().map(|then| dangers(then)) else { return false };
                if !then.contains(&true) {
                    return false;
                }
                let known = |setting| {
                    let row = one.set.and_then(|_| self.model.row(one.leads, setting));
                    row.map_or_else(Vec::new, |row| dangers(&row))
                };
                let (now, described) = (known(self.now), known(DESCRIBED));
                let is_so = |known: &[bool], at: usize| known.get(at) == Some(&true);
                let is_new = |at: usize| !is_so(&now, at) && (is_felt || !is_so(&described, at));
                then.iter().enumerate().any(|(at, danger)| *danger && is_new(at))
            })
            .map(|(one, _)| one.weight)
            .sum();
        chance > ENDANGERS_BELOW
    }

    /// Whether a load that is switched on for it may get too much voltage, or one that is on already still
    /// more: it burns, or what it drives does. Where too much was measured and nothing else read since, any
    /// that is switched on may.
    pub(super) fn switching_overvolts(
        &self,
        setting: usize,
        weighed: &[Weighed],
        rows: &[Weight],
        is_unread: bool,
    ) -> bool {
        let looks = &self.model.predictor.looks;
        let is_on = |load: &str, setting| self.model.state(load, setting) == LoadState::On;
        let loads = self.model.circuit.parts().loads.iter();
        let (stays, comes): (Vec<_>, Vec<_>) = loads
            .filter(|load| is_on(&load.id, setting))
            .partition(|load| is_on(&load.id, self.now));
        let shares = |loads: Vec<&Load>| -> Vec<usize> {
            loads.into_iter().filter_map(|load| looks.share_of(&load.id)).collect()
        };
        let (stays, comes) = (shares(stays), shares(comes));
        // What got too much may be broken by it, and nobody has read yet that it would not again.
        if is_unread && !comes.is_empty() {
            return true;
        }
        let too_much = weighed.iter().zip(rows).filter(|(one, (_, then))| {
            let Some(then) = then.as_deref() else { return false };
            let gets_too_much = |at: &usize| then.value(*at) > TOO_MUCH;
            let now = || one.set.and_then(|_| self.model.row(one.leads, self.now));
            comes.iter().any(gets_too_much)
                || stays.iter().any(gets_too_much)
                    && now().is_some_and(|now| {
                        let still_more = |at: &usize| then.value(*at) > STILL_MORE * now.value(*at);
                        stays.iter().any(|at| gets_too_much(at) && still_more(at))
                    })
        });
        too_much.map(|(one, _)| one.weight).sum::<f64>() > OVERVOLTS_BELOW
    }

    /// Every instrument at every receptacle within reach, loads standing in a setting.
    pub(super) fn prospects(
        &self,
        (setting, barred): (usize, &Barred),
        (rows, before): (&[Weight], &[Before]),
        prospects: &mut Vec<Prospect>,
    ) {
        let looks = &self.model.predictor.looks;
        let rows: Vec<(f64, Option<&Row>)> =
            rows.iter().map(|(weight, row)| (*weight, row.as_deref())).collect();
        let not_closed = self.trips_again(setting);
        let dead = self.dead(&rows);
        let is_dead = |outlet: usize, dead: &[f64]| {
            let place = self.model.routes.place_of(outlet);
            place.and_then(|at| dead.get(at)).is_some_and(|dead| *dead > LOADED_BELOW)
        };
        for (outlet, (place, slots)) in self.model.circuit.outlets().enumerate() {
            let is_behind = |(_, slot): &(String, Address)| {
                not_closed.contains(slot.as_str()) || barred.terminals.contains(slot.as_str())
            };
            if self.means.out_of_reach.contains(&place.id) || slots.slots.iter().any(is_behind) {
                continue;
            }
            for number in 0..self.means.tools.len() {
                let channels: Vec<(usize, &Channel)> = looks.of(number, outlet).collect();
                let Some(instrument) = self.model.instruments.get(number) else { continue };
                let shows_again = |one: &(usize, &Channel)| self.shows_again(one.0, before, &rows);
                if channels.iter().all(shows_again)
                    || self.is_left_out((number, outlet))
                    || matches!(instrument, Instrument::LoadedTest(_))
                        && (barred.burns
                            || self.loading_endangers(outlet, &rows)
                            || is_dead(outlet, &dead))
                {
                    continue;
                }
                let mut outcomes = Outcomes::new(&self.model.chances, &channels, &rows);
                outcomes.spread_unknown(&rows);
                prospects.push(Prospect {
                    act: Act { instrument: number, outlet, setting },
                    holding_s: holding_s(instrument, &self.means.costs),
                    outcomes,
                });
            }
        }
    }

    /// What was seen before.
    pub(super) fn seen_before(&self, weighed: &[Weighed]) -> Vec<Before> {
        let mut told: Vec<(usize, usize)> = Vec::new();
        for evidence in &self.evidence {
            let Evidence::Seen { settings, facts, .. } = evidence else { continue };
            let [setting] = settings.as_slice() else { continue };
            told.extend(facts.iter().filter_map(|fact| Some((fact.channel()?, *setting))));
        }
        told.sort_unstable();
        told.dedup();
        // What makes contact now and then may well show otherwise than it did.
        let row = |one: &Weighed, setting| {
            one.set.and_then(|_| self.model.row(one.otherwise.unwrap_or(one.leads), setting))
        };
        let rows = |setting| weighed.iter().map(|one| row(one, setting)).collect();
        let before = |(channel, setting)| Before { channel, rows: rows(setting) };
        told.into_iter().map(before).collect()
    }

    /// Whether nearly everything that is likely shows there what it showed before, however things
    /// stand now: what was misread then would be so again.
    fn shows_again(&self, at: usize, before: &[Before], rows: &[(f64, Option<&Row>)]) -> bool {
        let looks = (&self.model.chances, &*self.model.predictor.looks);
        let is_other =
            |one: &Row, other: &Row| shows_apart(looks, one, other, (at, PARTED_SPREADS));
        before.iter().filter(|before| before.channel == at).any(|before| {
            let (mut all, mut others) = (0.0, 0.0);
            for ((weight, now), then) in rows.iter().zip(&before.rows) {
                let Some((now, then)) = now.zip(then.as_deref()) else { continue };
                all += weight;
                others += if is_other(now, then) { *weight } else { 0.0 };
            }
            all > 0.0 && others < SHOWS_OTHERWISE * all
        })
    }

    /// Terminals behind breakers and devices that were seen to trip at once with no more on than in this
    /// setting: nobody closes one on the same short again, only to look.
    fn trips_again(&self, setting: usize) -> BTreeSet<String> {
        let told = self.evidence.iter().flat_map(|told| match told {
            Evidence::Seen { settings, facts, .. } => {
                let trips = facts.iter().filter_map(|fact| match fact {
                    Fact::Protection { name, did: Protected::TripsAtOnce } => Some(name.as_str()),
                    _ => None,
                });
                trips.flat_map(|name| settings.iter().map(move |&at| (name, at))).collect()
            }
            _ => Vec::new(),
        });
        let again = told.filter(|&(name, then)| self.has_as_much_on(name, (setting, then)));
        let again: BTreeSet<&str> = again.map(|(name, _)| name).collect();
        Reach::behind_all(self.model.circuit, again).terminals
    }

    /// Terminals behind breakers that feed what was measured dead, and not put right since, with next to
    /// nothing between a hot and something else: nobody closes one on that only to look.
    fn behind_a_measured_short(&self) -> BTreeSet<String> {
        let off = self.breakers_on_a_measured_short();
        Reach::behind_all(self.model.circuit, off.iter().map(String::as_str)).terminals
    }

    /// Whether a breaker feeds what was measured so.
    pub(super) fn is_on_a_measured_short(&self, breaker: &str) -> bool {
        self.breakers_on_a_measured_short().contains(breaker)
    }

    fn breakers_on_a_measured_short(&self) -> BTreeSet<String> {
        let looks = &self.model.predictor.looks;
        let conductor =
            |address: &Address| address.as_str().rsplit('.').next().unwrap_or_default().to_owned();
        let is_hot = |name: &str| !matches!(name, "neutral" | "ground" | "frame" | "earth");
        let is_short = |fact: &Fact| {
            let Fact::Figure { channel, amount } = fact else { return false };
            let Some(channel) = looks.channels.get(*channel) else { return false };
            let held = looks.requests.get(channel.request).map(|request| &request.place);
            let Some(Place::Between { from, to }) = held else { return false };
            let (from, to) = (conductor(from), conductor(to));
            let most =
                if matches!(amount, Amount::Under(_)) { CALLED_SHORT_OHM } else { SHORT_OHM };
            matches!(channel.measure, Measure::Ohm { .. })
                && amount.bounds().1 <= most
                && from != to
                && (is_hot(&from) || is_hot(&to))
        };
        // A box or a cable is mended for it; what else was put right may have nothing to do with it.
        let is_for_it = |told: &Evidence| {
            matches!(told, Evidence::Mended(Mended::Box { .. } | Mended::Cable { .. }))
        };
        let since = self.evidence.iter().rposition(is_for_it).map_or(0, |at| at + 1);
        let last = last_repair(&self.evidence).unwrap_or(0);
        let short =
            self.evidence.iter().enumerate().skip(since).filter_map(|(at, told)| match told {
                Evidence::Seen { facts, .. } if facts.iter().any(is_short) => {
                    let is_over = at < last && self.is_explained_by_a_repair(at);
                    self.at(told).filter(|_| !is_over)
                }
                _ => None,
            });
        let short: Vec<usize> = short.collect();
        if short.is_empty() {
            return BTreeSet::new();
        }
        let known = Known::of(self.model.circuit);
        let feeding = Feeding::of(&known);
        let places = &self.model.circuit.parts().places;
        let off = short.into_iter().filter_map(|at| Some(feeding.off_at(&places.get(at)?.id)));
        off.flat_map(BTreeMap::into_keys).collect()
    }

    /// Whether somebody felt or smelt heat where nothing was put right since: what burns is not loaded for
    /// a test.
    fn is_heat_felt(&self) -> bool {
        let circuit = self.model.circuit;
        let is_over = |place: &str, told: usize| {
            self.evidence.iter().skip(told).any(|told| match told {
                Evidence::Mended(Mended::Box { place: mended }) => mended == place,
                Evidence::Mended(Mended::Load { load }) => {
                    let at = circuit.load(load).and_then(|load| place_of_load(circuit, load));
                    at.is_some_and(|at| at == place)
                }
                Evidence::Mended(_) => true,
                _ => false,
            })
        };
        self.evidence.iter().enumerate().any(|(at, told)| match told {
            Evidence::Symptom(symptom) => match &symptom.complaint {
                Complaint::Warm { place } => !is_over(place, at),
                _ => false,
            },
            _ => false,
        })
    }

    /// Whether in a setting no load that a breaker feeds is further off than in another; a protective device
    /// may be tripped by what breakers behind it feed, and by all loads.
    fn has_as_much_on(&self, name: &str, (setting, other): (usize, usize)) -> bool {
        let circuit = self.model.circuit;
        let far_on = |load: &str, setting: usize| match self.model.state(load, setting) {
            LoadState::Unplugged => 0,
            LoadState::Off => 1,
            LoadState::On | LoadState::Stalled => 2,
        };
        let fed =
            circuit.branch_circuit(name).map(|_| Reach::behind_all(circuit, [name]).terminals);
        let is_fed = |end: &Address| fed.as_ref().is_none_or(|fed| fed.contains(end.as_str()));
        let loads = circuit.parts().loads.iter();
        let mut loads = loads.filter(|load| is_fed(&load.between.0) || is_fed(&load.between.1));
        loads.all(|load| far_on(&load.id, setting) >= far_on(&load.id, other))
    }

    /// Of each place, how likely it is dead.
    fn dead(&self, rows: &[(f64, Option<&Row>)]) -> Vec<f64> {
        let mut dead = vec![0.0; self.model.circuit.parts().places.len()];
        for (weight, row) in rows {
            let Some(row) = row else { continue };
            let places = dead_places(&self.model.chances, &self.model.predictor.looks, row);
            for (sum, chance) in dead.iter_mut().zip(places) {
                *sum += weight * chance.unwrap_or(0.0);
            }
        }
        dead
    }

    fn loading_endangers(&self, outlet: usize, rows: &[(f64, Option<&Row>)]) -> bool {
        let (looks, nominal) = (&self.model.predictor.looks, self.model.chances.nominal());
        let dangerous = rows
            .iter()
            .filter(|(_, row)| row.is_some_and(|row| endangers_at(looks, row, outlet, nominal)));
        dangerous.map(|(weight, _)| weight).sum::<f64>() > ENDANGERS_BELOW
    }
}
