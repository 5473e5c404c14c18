//! What comes before a test is chosen for its worth, or in place of it: a handle to be looked at, a
//! box that burns, an overload that explains all, a look that a person would never leave out.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::act::Act;
use super::advise::{HARDLY_WRONG, Weighed};
use super::belief::Evidence;
use super::choose::{Plan, Prospect};
use super::closed::last_repair;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::look::Measure;
use super::model::Set;
use super::opening::Site;
use super::panel_metal::place_of_handle;
use super::possible::Possible;
use super::predictions::Row;
use super::symptom::{number, place_of_load};
use super::{Complaint, Elsewhere, GoTo, LoadSeen, Mended, NextTest, Protected, WhenItTrips};
use crate::circuit::Load;
use crate::condition::catalogue::FaultKind;
use crate::condition::words::known::is_switch;
use crate::instrument::Instrument;

/// A handle is looked at before anything is tested from this probability of its being off on.
const HANDLE_FIRST_FROM: f64 = 0.3;

/// The same of what feeds a device that does not reset.
const FEEDS_WHAT_DOES_NOT_RESET_FROM: f64 = 0.1;

/// What is on a breaker is taken for the reason why it trips from this probability of nothing
/// wrong on.
const OVERLOADED_FROM: f64 = 0.7;

/// The same of what trips after a while, by the chance that it is loaded enough for that.
const LOADED_FROM: f64 = 0.05;

/// A load that is said to make something trip is unplugged from this chance of its being at fault on.
const IN_IT_FROM: f64 = 0.7;

/// With less of its voltage nothing runs.
const DARK_BELOW: f64 = 0.3;

/// What a sound circuit makes less likely than this, a logarithm, was misread or is not sound.
pub(super) const MISREAD_LN: f64 = -2.0;

impl Inquiry<'_> {
    /// The breaker or protective device that may well be off or have tripped, or the switch that may
    /// stand in its other position, of which nobody has said how it stands.
    pub(super) fn handle_first(&self, weighed: &[Weighed]) -> Option<GoTo> {
        // Where one is known to trip, what it feeds is dead whatever the others do; but what does not
        // reset may lack the voltage for it.
        let not_reset: Vec<&str> = self.evidence.iter().filter_map(does_not_reset).collect();
        let mut trips = self.evidence.iter().filter(|told| is_of_what_trips(told));
        if trips.any(|told| does_not_reset(told).is_none()) {
            return None;
        }
        let from =
            if not_reset.is_empty() { HANDLE_FIRST_FROM } else { FEEDS_WHAT_DOES_NOT_RESET_FROM };
        let mut off: BTreeMap<String, f64> = BTreeMap::new();
        for one in weighed.iter().filter(|one| one.set.is_some()) {
            let Some(row) = self.model.row(one.leads, self.now) else { continue };
            let switches = self.model.these(one.leads).filter(|possible| {
                possible.fault().is_some_and(|fault| fault.kind == FaultKind::SwitchOther)
            });
            let switches = switches.flat_map(|possible| possible.change.switches.keys());
            let names = row.off.iter().chain(&row.tripped).chain(switches);
            for name in names.collect::<BTreeSet<&String>>() {
                *off.entry(name.clone()).or_default() += one.weight;
            }
        }
        // Nobody throws a switch onto what somebody felt a shock from.
        let is_left = |name: &str| {
            self.is_handle_left(name)
                || not_reset.iter().any(|known| self.is_one_handle(known, name))
                || self.is_handle_told(name)
                || self.is_a_switch(name) && self.is_shock_felt()
        };
        off.retain(|name, chance| *chance >= from && !is_left(name));
        let (name, chance) = off.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let circuit = self.model.circuit;
        // Poles on one handle go by the name of the first.
        let poles = &circuit.parts().branch_circuits;
        let first = poles.iter().find(|pole| self.is_one_handle(&pole.id, &name));
        let name = first.map_or(name, |pole| pole.id.clone());
        let place = place_of_handle(circuit, &name).or_else(|| {
            let panel = circuit.parts().places.get(self.first_panel()?)?;
            Some(panel.id.clone())
        })?;
        let is_out_of_reach =
            self.means.out_of_reach.contains(&place) || self.kept_off().is_panel(&place);
        let (handle, supply, appliance) = (true, false, None);
        let go_to = GoTo { place, handle, name: Some(name), appliance, supply, chance };
        (!is_out_of_reach).then_some(go_to)
    }

    /// The box where something burns, sparks or smells, as long as nobody opened it: current is
    /// not sent through that to find out more. One that may be opened comes first; where none may,
    /// there is no test all the same.
    pub(super) fn felt_first(&self, plan: &Plan, weights: &[f64]) -> Option<GoTo> {
        let places = &self.model.circuit.parts().places;
        let is_open = |place: usize| {
            let mut told = self.evidence.iter();
            told.any(
                |told| matches!(told, Evidence::Opened { place: known, .. } if *known == place),
            )
        };
        let felt = self.evidence.iter().filter_map(|told| match told {
            Evidence::Symptom(symptom) => match &symptom.complaint {
                Complaint::Warm { place } => {
                    number(self.model.circuit, place).filter(|place| !is_open(*place))
                }
                _ => None,
            },
            _ => None,
        });
        let felt: Vec<usize> = felt.collect();
        let may_open = |place: &&usize| {
            let known = places.get(**place);
            let reached = known.is_some_and(|one| !self.means.out_of_reach.contains(&one.id));
            self.means.may_open_boxes && reached
        };
        let place = *felt.iter().find(may_open).or(felt.first())?;
        let known = places.get(place)?;
        let site = plan.sites.sites.iter().position(|(site, _)| *site == Site::Place(place));
        let chance = site.map_or(0.0, |site| plan.sites.chance_at(site, weights));
        let (handle, name, appliance, supply) = (false, None, None, false);
        Some(GoTo { place: known.id.clone(), handle, name, appliance, supply, chance })
    }

    /// Whether a handle is that of a switch, which feeds nothing that trips it.
    pub(super) fn is_a_switch(&self, handle: &str) -> bool {
        let device = self.model.circuit.device(handle);
        device.is_some_and(|device| is_switch(&device.kind))
    }

    /// Whether nobody wants to look at a handle.
    pub(super) fn is_handle_left(&self, name: &str) -> bool {
        self.handles_left.iter().any(|left| self.is_one_handle(left, name))
    }

    /// Whether two poles are moved by one handle, or are one.
    pub(super) fn is_one_handle(&self, one: &str, other: &str) -> bool {
        let pole = self.model.circuit.branch_circuit(one);
        one == other || pole.is_some_and(|pole| pole.tied_with.iter().any(|tied| tied == other))
    }

    /// Whether somebody said that a breaker or a device holds.
    pub(super) fn is_said_to_hold(&self, handle: &str) -> bool {
        self.evidence.iter().any(|told| match told {
            Evidence::Seen { facts, .. } => facts.iter().any(|fact| match fact {
                Fact::Protection { name, did: Protected::Holds } => {
                    self.is_one_handle(name, handle)
                }
                _ => false,
            }),
            _ => false,
        })
    }

    /// Whether somebody said how a breaker or device stands, or what it does.
    pub(super) fn is_handle_told(&self, handle: &str) -> bool {
        self.evidence.iter().any(|told| match told {
            Evidence::Seen { settings, facts, .. } => {
                let is_it = |fact: &Fact| match fact {
                    Fact::Protection { name, .. } => self.is_one_handle(name, handle),
                    _ => false,
                };
                let stands = |at: &usize| self.model.settings.get(*at);
                let is_stated = settings.iter().filter_map(stands).any(|stands| {
                    stands.breakers.contains_key(handle) || stands.switches.contains_key(handle)
                });
                is_stated || facts.iter().any(is_it)
            }
            _ => false,
        })
    }

    /// Whether what is on a breaker explains why it trips, and nothing else needs to be looked for.
    pub(super) fn is_overloaded(&self) -> bool {
        let is_later = |one: &Complaint| {
            matches!(one, Complaint::Trips { when: WhenItTrips::AfterAWhile, .. })
        };
        let from = if self.is_said(is_later) { LOADED_FROM } else { 0.5 };
        let explains = self.overloads().iter().any(|overload| overload.chance >= from);
        explains && self.findings().nothing_wrong >= OVERLOADED_FROM
    }

    /// Whether a load is all that was complained of, and what is left is in it: one that does not run and
    /// whose receptacle was looked at and is good, or one that is dead or trips wherever it is plugged in.
    pub(super) fn is_appliance_alone(&self) -> bool {
        let circuit = self.model.circuit;
        let symptoms = self.evidence.iter().filter_map(|told| match told {
            Evidence::Symptom(symptom) => Some(&symptom.complaint),
            _ => None,
        });
        let mut symptoms = symptoms.filter(|told| told.is_of_something_wrong());
        let is_at_hand =
            self.model.instruments.iter().any(|one| matches!(one, Instrument::LoadedTest(_)));
        let looks = self.evidence.iter().filter(|told| !is_at_hand || self.is_loaded(told));
        let looked_at: Vec<usize> = looks.filter_map(|told| self.at(told)).collect();
        let is_looked_at = |load: &str| {
            let at = circuit.load(load).and_then(|load| self.place_of_load(load));
            at.is_some_and(|at| looked_at.contains(&at))
        };
        let (findings, wrong) = (self.findings(), self.wrong_everywhere());
        let is_its_own = |load: &str| {
            let own = findings.suspects.iter().filter(|suspect| {
                let fault = suspect.faults.first();
                let appliance = fault.and_then(|fault| fault.fault.appliance(circuit));
                appliance.is_some_and(|appliance| appliance.id == load)
            });
            own.map(|suspect| suspect.probability).sum::<f64>()
        };
        symptoms.clone().next().is_some()
            && symptoms.all(|told| match told {
                Complaint::LoadDead { load } => {
                    (is_looked_at(load) || wrong.get(load.as_str()) == Some(&Elsewhere::Dead))
                        && findings.nothing_wrong + is_its_own(load) >= HARDLY_WRONG
                        && findings.nothing_wrong >= 0.5
                }
                Complaint::Flickers { loads } if loads.len() == 1 => {
                    let looked = loads.iter().all(|load| is_looked_at(load));
                    looked && findings.nothing_wrong >= HARDLY_WRONG
                }
                // One that only cannot start trips everywhere too.
                Complaint::Trips { .. } | Complaint::WontReset { .. } => {
                    wrong.iter().any(|(load, did)| {
                        let own = is_its_own(load);
                        *did == Elsewhere::Trips
                            && own >= 0.5
                            && findings.nothing_wrong + own >= HARDLY_WRONG
                    })
                }
                _ => false,
            })
    }

    /// Whether it trips with a load that is likely what is wrong: that is unplugged, and no current sent
    /// through anything to be surer.
    pub(super) fn is_what_it_trips_with(&self) -> bool {
        let circuit = self.model.circuit;
        let in_it = |load: &str| -> f64 {
            let suspects = self.findings().suspects;
            let faults = suspects.iter().flat_map(|suspect| {
                suspect.faults.iter().map(|one| (suspect.probability * one.share, &one.fault))
            });
            let of_it = faults.filter(|(_, fault)| {
                fault.appliance(circuit).is_some_and(|appliance| appliance.id == load)
            });
            of_it.map(|(share, _)| share).sum()
        };
        let is_plugged_in =
            |load: &str| circuit.load(load).is_some_and(|load| !load.plug_links.is_empty());
        self.is_said(|told| match told {
            Complaint::Trips { when: WhenItTrips::WithLoad { load }, .. } => {
                is_plugged_in(load) && in_it(load) >= IN_IT_FROM
            }
            _ => false,
        })
    }

    /// Whether a load was last said to run where the supply is good.
    pub(crate) fn runs_elsewhere(&self, load: &str) -> bool {
        let tried = self.evidence.iter().rev().find_map(|told| match told {
            Evidence::Elsewhere { load: known, did } if known == load => Some(*did),
            _ => None,
        });
        tried == Some(Elsewhere::Runs)
    }

    /// Loads that trip what protects them, or are dead, wherever they are plugged in, and were not put
    /// right since.
    pub(crate) fn wrong_everywhere(&self) -> BTreeMap<&str, Elsewhere> {
        let mut wrong = BTreeMap::new();
        for told in &self.evidence {
            match told {
                Evidence::Elsewhere { load, did: Elsewhere::Runs }
                | Evidence::Mended(Mended::Load { load }) => {
                    wrong.remove(load.as_str());
                }
                Evidence::Elsewhere { load, did } => {
                    wrong.insert(load.as_str(), *did);
                }
                _ => {}
            }
        }
        wrong
    }

    /// Whether a current was sent through what was looked at: a bad joint shows nothing before.
    fn is_loaded(&self, told: &Evidence) -> bool {
        let Evidence::Seen { facts, .. } = told else { return false };
        let channels = &self.model.predictor.looks.channels;
        let mut held = facts.iter().filter_map(|fact| channels.get(fact.channel()?)?.instrument);
        held.any(|at| matches!(self.model.instruments.get(at), Some(Instrument::LoadedTest(_))))
    }

    /// A loaded test where a load does not run and its receptacle showed nothing wrong without
    /// one: a bad joint shows only under current.
    pub(super) fn load_it<'p>(&self, plan: &'p Plan) -> Option<&'p Prospect> {
        if self.findings().nothing_wrong < 0.5 {
            return None;
        }
        let circuit = self.model.circuit;
        let dead = self.dead_loads();
        let dead = dead.iter().filter_map(|load| self.place_of_load(circuit.load(load)?));
        let dead: Vec<usize> = dead.collect();
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        let at = |loaded: bool| -> Vec<usize> {
            let looks = self.evidence.iter().skip(since);
            let looks = looks.filter(|told| self.is_loaded(told) == loaded);
            looks.filter_map(|told| self.at(told)).filter(|place| dead.contains(place)).collect()
        };
        let (plain, loaded) = (at(false), at(true));
        let is_it = |one: &&Prospect| {
            let Act { instrument, outlet, setting } = one.act;
            let instrument = self.model.instruments.get(instrument);
            setting == self.now
                && matches!(instrument, Some(Instrument::LoadedTest(_)))
                && self
                    .model
                    .routes
                    .place_of(outlet)
                    .is_some_and(|at| plain.contains(&at) && !loaded.contains(&at))
        };
        plan.prospects.iter().find(is_it)
    }

    /// Loads that were said not to run, or to cut out, since the last repair if there was one, and were
    /// not seen to run since; what cuts out runs in between.
    pub(crate) fn dead_loads(&self) -> Vec<&str> {
        let channels = &self.model.predictor.looks.channels;
        let is_mended = self.is_anything_mended();
        let mut dead: Vec<&str> = Vec::new();
        let mut cuts_out: Option<&str> = None;
        for told in &self.evidence {
            match told {
                Evidence::Mended(_) => {
                    dead.clear();
                    cuts_out = None;
                }
                Evidence::Symptom(symptom) => match &symptom.complaint {
                    Complaint::Flickers { loads } => {
                        if let [only] = loads.as_slice() {
                            cuts_out = Some(only);
                        }
                    }
                    Complaint::LoadDead { load } if !dead.contains(&load.as_str()) => {
                        dead.push(load);
                    }
                    _ => {}
                },
                Evidence::Seen { settings, facts, .. } => {
                    // With its switch off it ought to be dark.
                    let sound = settings.first().and_then(|&at| self.model.row(Set::SOUND, at));
                    for fact in facts {
                        let Fact::Load { channel, seen, .. } = fact else { continue };
                        let is_dark = |row: &Arc<Row>| row.value(*channel) < DARK_BELOW;
                        let ought_to_run = !sound.as_ref().is_some_and(is_dark);
                        let measure = channels.get(*channel).map(|channel| &channel.measure);
                        let Some(Measure::Share { load }) = measure else { continue };
                        match seen {
                            LoadSeen::Runs => dead.retain(|known| known != load),
                            LoadSeen::Dead
                                if is_mended && ought_to_run && !dead.contains(&load.as_str()) =>
                            {
                                dead.push(load);
                            }
                            _ => {}
                        }
                    }
                }
                Evidence::Opened { .. } | Evidence::Elsewhere { .. } => {}
            }
        }
        dead.extend(cuts_out.filter(|load| !dead.contains(load)));
        dead
    }

    /// How likely it is that a load draws nothing although it is on.
    pub(crate) fn chance_dead_itself(&self, load: &str) -> f64 {
        let is_it = |set: Set| {
            let still = self.still(set);
            let mut classes = still.iter().filter_map(|class| self.classes.get(class));
            classes.any(|class| {
                let lead = self.model.possibles.get(class.lead);
                lead.and_then(Possible::idle_load) == Some(load)
            })
        };
        let of_it = self.likeliest().filter(|(_, set)| set.is_some_and(is_it));
        of_it.map(|(one, _)| one.weight).sum()
    }

    /// What was said to trip, where something was put right and nobody said since what it does: to close
    /// it is free and tells most.
    pub(super) fn tried_again(&self) -> Option<GoTo> {
        if !matches!(self.evidence.last(), Some(Evidence::Mended(_))) || self.is_shock_felt() {
            return None;
        }
        // The last word on a handle counts, whoever said it.
        let name = self.evidence.iter().rev().find_map(|told| match told {
            Evidence::Symptom(symptom) => match &symptom.complaint {
                Complaint::Trips { breaker, when: WhenItTrips::AtOnce }
                | Complaint::WontReset { breaker } => Some((breaker.clone(), true)),
                _ => None,
            },
            Evidence::Seen { facts, .. } => facts.iter().find_map(|fact| match fact {
                Fact::Protection { name, did } => {
                    let trips = matches!(did, Protected::TripsAtOnce | Protected::WontReset);
                    Some((name.clone(), trips))
                }
                _ => None,
            }),
            _ => None,
        });
        let (name, _) = name.filter(|(name, trips)| *trips && !self.is_handle_left(name))?;
        if self.is_on_a_measured_short(&name) {
            return None;
        }
        let place = place_of_handle(self.model.circuit, &name)?;
        let is_kept_off =
            self.means.out_of_reach.contains(&place) || self.kept_off().is_panel(&place);
        let (handle, supply, appliance, chance) = (true, false, None, 1.0);
        let go_to = GoTo { place, handle, name: Some(name), appliance, supply, chance };
        (!is_kept_off).then_some(go_to)
    }

    /// Where a load is plugged in or wired in, by number of the place.
    fn place_of_load(&self, load: &Load) -> Option<usize> {
        number(self.model.circuit, &place_of_load(self.model.circuit, load)?)
    }

    /// Something measured dead, where there is something to look for and boxes would be opened for
    /// it.
    pub(super) fn dead_instead(
        &self,
        plan: &Plan,
        weighed: &[Weighed],
        weights: &[f64],
    ) -> Option<NextTest> {
        let (order, _) = plan.sites.order(weights);
        let is_box =
            |site: &usize| matches!(plan.sites.sites.get(*site), Some((Site::Place(_), _)));
        let opens = plan.is_looked_for(weights) && order.iter().any(|(site, _)| is_box(site));
        opens.then(|| self.measured_dead(weighed)).flatten()
    }

    /// Places where something was seen that an explanation leaves to misreading and nothing but a detector, or
    /// the same instrument with the same result, was held to since.
    pub(super) fn unexplained_once(&self, by_evidence: &[f64]) -> BTreeSet<usize> {
        let looks = &self.model.predictor.looks;
        let held = |told: &Evidence| -> Option<(usize, usize)> {
            let Evidence::Seen { facts, .. } = told else { return None };
            let instrument = looks.channels.get(facts.first()?.channel()?)?.instrument?;
            Some((self.at(told)?, instrument))
        };
        let told = self.evidence.iter().zip(by_evidence).enumerate();
        let unexplained = told.filter(|(_, (_, ln))| **ln < MISREAD_LN);
        let once = unexplained.filter_map(|(at, (told, _))| {
            let (place, instrument) = held(told)?;
            let is_looked_at =
                self.evidence.iter().skip(at + 1).filter_map(&held).any(|(there, other)| {
                    there == place && other != instrument && !self.is_detector(other)
                });
            let Evidence::Seen { facts, .. } = told else { return None };
            let is_corrected = facts.iter().any(|fact| self.is_read_otherwise((fact, at), at));
            (!is_looked_at && !is_corrected).then_some(place)
        });
        once.collect()
    }

    /// Where nothing wrong is believed although something was seen that it does not explain: the
    /// cheapest other look at the same receptacle, once. A misreading shows as such then. Where it
    /// was complained of that a place or a load is dead, a look there that takes a current, once: what
    /// a meter alone finds there may be a phantom, and what is found elsewhere says nothing of its
    /// own joints.
    pub(super) fn left_unexplained<'p>(&self, plan: &'p Plan) -> Option<&'p Prospect> {
        let sound = self.belief.hypotheses.first()?;
        // What was put right is no explanation of what is seen since.
        let left = match self.is_anything_mended() {
            true => self.groups_in(self.still(sound.set()?)),
            false => self.groups_of(sound)?,
        };
        if !left.is_empty() {
            return None;
        }
        let looks = &self.model.predictor.looks;
        let seen_at = |told: &Evidence| -> Option<(usize, usize)> {
            let Evidence::Seen { facts, .. } = told else { return None };
            let channel = looks.channels.get(facts.first()?.channel()?)?;
            channel.outlet.zip(channel.instrument)
        };
        let unexplained = self.unexplained_once(&sound.by_evidence);
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        let by_evidence = self.evidence.iter().zip(&sound.by_evidence).skip(since);
        let mut dead: BTreeSet<usize> = by_evidence
            .filter_map(|(told, ln)| match told {
                Evidence::Symptom(symptom) if *ln < MISREAD_LN => Some(symptom.dead.clone()),
                _ => None,
            })
            .flatten()
            .collect();
        // Also where the load itself explains it.
        let loads = self.dead_loads();
        let loads = loads.iter().filter_map(|load| self.model.circuit.load(load));
        dead.extend(loads.filter_map(|load| self.place_of_load(load)));
        let takes_current = |instrument: usize| {
            let instrument = self.model.instruments.get(instrument);
            matches!(instrument, Some(Instrument::PlugTester(_) | Instrument::LoadedTest(_)))
        };
        let is_dead = |outlet: usize| {
            let place = self.model.circuit.outlets().nth(outlet).map(|(place, _)| &place.id);
            let places = &self.model.circuit.parts().places;
            let at = place.and_then(|id| places.iter().position(|known| known.id == *id));
            at.is_some_and(|at| dead.contains(&at))
        };
        // What may have been lit or dark there was not told, and a neutral's says nothing of the hot.
        let is_of_hot = |told: &&Evidence| {
            let Evidence::Seen { facts, .. } = told else { return false };
            let channels = facts.iter().filter_map(|fact| looks.channels.get(fact.channel()?));
            channels.into_iter().any(|channel| match &channel.measure {
                Measure::Indicator { between, .. } => {
                    !(is_return(&between.0) && is_return(&between.1))
                }
                _ => true,
            })
        };
        let is_loaded = |outlet: usize| {
            let mut held = self.evidence.iter().filter(is_of_hot).filter_map(&seen_at);
            held.any(|(there, held)| there == outlet && takes_current(held))
        };
        // As loads stand now; of what is dead otherwise too, where nothing may be held there now.
        let is_asked = |one: &&Prospect| {
            let Act { instrument, outlet, setting } = one.act;
            let at = self.model.routes.place_of(outlet);
            setting == self.now && at.is_some_and(|at| unexplained.contains(&at))
                || takes_current(instrument) && is_dead(outlet) && !is_loaded(outlet)
        };
        let now = self.standing();
        let asked = plan.prospects.iter().filter(is_asked);
        let asked = asked.filter(|one| !self.is_detector(one.act.instrument));
        let is_set_otherwise = |one: &Prospect| one.act.setting != self.now;
        asked.min_by(|a, b| {
            let cost = || plan.cost_s(a, now).total_cmp(&plan.cost_s(b, now));
            is_set_otherwise(a).cmp(&is_set_otherwise(b)).then_with(cost)
        })
    }
}

/// Whether a slot is none of a conductor that is under voltage where nothing is wrong.
fn is_return(slot: &str) -> bool {
    matches!(slot, "neutral" | "ground")
}

/// The device that is said not to reset, if that is what is told.
fn does_not_reset(told: &Evidence) -> Option<&str> {
    match told {
        Evidence::Symptom(symptom) => match &symptom.complaint {
            Complaint::WontReset { breaker } => Some(breaker),
            _ => None,
        },
        Evidence::Seen { facts, .. } => facts.iter().find_map(|fact| match fact {
            Fact::Protection { name, did: Protected::WontReset } => Some(name.as_str()),
            _ => None,
        }),
        _ => None,
    }
}

/// Whether something was told of a breaker or device that trips.
fn is_of_what_trips(told: &Evidence) -> bool {
    match told {
        Evidence::Symptom(symptom) => {
            matches!(symptom.complaint, Complaint::Trips { .. } | Complaint::WontReset { .. })
        }
        Evidence::Seen { facts, .. } => facts.iter().any(
            |fact| matches!(fact, Fact::Protection { did, .. } if !matches!(did, Protected::Holds)),
        ),
        Evidence::Opened { .. } | Evidence::Mended(_) | Evidence::Elsewhere { .. } => false,
    }
}
