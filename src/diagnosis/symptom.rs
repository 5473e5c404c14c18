//! How likely a row makes a complaint.
//!
//! A complaint is evidence with a selection effect: of several things that look wrong a customer
//! names one, or some; so a fault that makes many things look wrong explains each of them less.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::circuit::reach::{Reach, Subpanels};
use crate::circuit::{Circuit, Device, Load, LoadKind};
use crate::condition::words::known::is_switch;
use crate::condition::{Condition, Fault, Gap};
use crate::quantity::Address;

use super::evidence::does_not_run;
use super::look::{Looks, Measure, outlets_at};
use super::model::{ALL_ON, Model, Set};
use super::possible::LEFT_STANDING;
use super::predictions::Row;
use super::reading_error::{Chances, logistic};
use super::vital::Life;
use super::{Complaint, Overload, WhenItTrips};

/// Everything as described, by number of the setting, and where a load makes it so, with that load
/// on; then the same with that load off.
pub(super) type Way = (usize, Option<usize>);

/// A complaint with the settings it is asked in.
#[derive(Clone, Debug)]
pub(super) struct Symptom {
    pub(super) complaint: Complaint,
    /// How things may have stood, each as likely.
    pub(super) ways: Vec<Way>,
    /// Places that are said or silently taken to work, by number.
    working: Vec<usize>,
    /// Places that are said to be dead.
    pub(super) dead: Vec<usize>,
    /// What each bus feeds, where one of them is said to be dead.
    pub(super) halves: Vec<Half>,
    /// A breaker that trips by what is on it, whatever else is wrong.
    pub(super) overload: Option<Overload>,
}

/// What the branch circuits on one bus feed.
#[derive(Clone, Debug)]
pub(super) struct Half {
    /// The places, by number.
    places: Vec<usize>,
    n_circuits: usize,
}

/// More of a house is on a leg than the one circuit that is described: how often what kills that
/// alone is called half of the house.
const ONE_CIRCUIT_IS_HALF: f64 = 0.05;

/// Of complaints, so many have nothing to do with what is there: judgement.
const MISTAKEN: f64 = 7e-3;

/// However rare the faults are that make a complaint, it is mistaken this often at least.
const MISTAKEN_AT_LEAST: f64 = 1e-7;

/// Nobody feels a shock for nothing: it is believed though it takes two rare faults.
const FELT_MISTAKENLY_AT_LEAST: f64 = 1e-10;

/// How often one box that is said to be dead, or is passed over in silence, is not.
const ONE_BOX_OFF: f64 = 0.05;

/// How often somebody complains of what always was so.
const SAID_LATE: f64 = 0.01;

/// A lamp glows, and a motor hums, from such a share of its voltage on: judgement.
const GLOWS_FROM: f64 = 0.18;

/// What is let through a switch that is open makes a lamp glow, but nobody calls that on: it gets such
/// a share of its voltage at least, judgement.
const STAYS_ON_FROM: f64 = 0.6;

/// So many ground-fault and residual-current devices do not reset where nothing arrives: judgement.
const NO_VOLTAGE_NO_RESET: f64 = 0.7;

/// So many worn-out devices do not reset: judgement.
const WORN_OUT_NO_RESET: f64 = 0.8;

/// How often a worn-out device lets go so: judgement. It does not wait for a load.
const fn trips_for_nothing(when: &WhenItTrips) -> f64 {
    match when {
        WhenItTrips::AtOnce => 0.5,
        WhenItTrips::AfterAWhile | WhenItTrips::NowAndThen => 0.4,
        WhenItTrips::WithLoad { .. } => 0.03,
    }
}

/// What a bad joint in the service lets flicker besides what is described: judgement.
const ON_OTHER_CIRCUITS: f64 = 4.0;

/// Of loads that draw nothing at times, so many are said to cut out: judgement.
const CUTS_OUT_BY_ITSELF: f64 = 0.2;

/// Of lights that come on with their switches one way and not another, so many are said to come and go, or
/// to come on from one switch only: judgement.
const SWITCHED_IS_SAID: f64 = 0.5;

/// A light that is spoken of and not named is one that was plugged in and is on no list so often.
const ON_NO_LIST: f64 = 0.3;

/// How often one box that is said to work is dead.
const ONE_WORKING_OFF: f64 = 0.015;

/// What a symptom is judged by.
pub(super) struct Case<'r> {
    pub(super) circuit: &'r Circuit,
    pub(super) chances: &'r Chances,
    pub(super) looks: &'r Looks,
    /// How dead each place is.
    pub(super) dead: Vec<Option<f64>>,
    /// Places where a joint of the hypothesis heats or makes contact now and then.
    pub(super) bad_joints: &'r [usize],
    /// What is there while one of them, or one that is open, makes no contact, and whether it makes
    /// some now.
    pub(super) interrupted: Vec<(Arc<Row>, bool)>,
    /// Whether it is about the service, and so about more than is described.
    pub(super) is_of_the_service: bool,
    /// Loads that draw nothing although they are on.
    pub(super) idle: Vec<&'r str>,
    /// Protective devices that are worn out.
    pub(super) worn_out: Vec<&'r str>,
    pub(super) with: &'r Row,
    pub(super) without: Option<&'r Row>,
    /// Both where nothing is wrong.
    pub(super) sound: (&'r Row, Option<&'r Row>),
}

/// What a load gets, as shares of what it usually gets.
#[derive(Clone, Copy)]
struct Gets {
    share: f64,
    /// The same where nothing is wrong.
    always: f64,
    /// Without the load whose running makes it so, less with it.
    lost: f64,
    /// The same where nothing is wrong.
    always_lost: f64,
}

impl Symptom {
    /// How loads stood, in every way that it may be meant.
    pub(super) fn settings(&self) -> impl Iterator<Item = usize> {
        self.ways.iter().flat_map(|&(setting, without)| [Some(setting), without]).flatten()
    }

    pub(super) fn new(circuit: &Circuit, complaint: &Complaint, ways: Vec<Way>) -> Self {
        let (mut working, mut dead) = (Vec::new(), Vec::new());
        match complaint {
            Complaint::DeadFrom { place } => {
                (working, dead) = run(circuit, place);
                dead.extend(number(circuit, place));
            }
            Complaint::Dead { places } => {
                dead = places.iter().filter_map(|place| number(circuit, place)).collect();
            }
            Complaint::AllDead { circuit: id } => dead = fed(circuit, id),
            Complaint::Works { places } => {
                working = places.iter().filter_map(|place| number(circuit, place)).collect();
            }
            _ => {}
        }
        let halves = Vec::new();
        Self { complaint: complaint.clone(), ways, working, dead, halves, overload: None }
    }

    /// The load whose running makes it so.
    pub(super) fn load(complaint: &Complaint) -> Option<&str> {
        match complaint {
            Complaint::Dim { when, .. } | Complaint::Bright { when, .. } => when.as_deref(),
            Complaint::Trips { when: WhenItTrips::WithLoad { load }, .. } => Some(load),
            _ => None,
        }
    }

    /// The loads of which it is said what they do once they are on.
    pub(super) fn tried(complaint: &Complaint) -> &[String] {
        match complaint {
            Complaint::LoadDead { load } | Complaint::StaysOn { load } => {
                std::slice::from_ref(load)
            }
            Complaint::Dim { loads, .. }
            | Complaint::Bright { loads, .. }
            | Complaint::Flickers { loads } => loads,
            _ => &[],
        }
    }

    /// Places of which the complaint says anything but that they work.
    pub(super) fn amiss(&self, circuit: &Circuit) -> Vec<usize> {
        let mut amiss = self.dead.clone();
        match &self.complaint {
            Complaint::HalfDead { place } | Complaint::Warm { place } => {
                amiss.extend(number(circuit, place));
            }
            Complaint::Dim { places, .. } | Complaint::Bright { places, .. } => {
                amiss.extend(places.iter().filter_map(|place| number(circuit, place)));
            }
            Complaint::LoadDead { load } => {
                let at = circuit.load(load).and_then(|load| place_of_load(circuit, load));
                amiss.extend(at.and_then(|place| number(circuit, &place)));
            }
            Complaint::Trips { breaker, .. } | Complaint::WontReset { breaker } => {
                amiss.extend(fed(circuit, breaker));
            }
            _ => {}
        }
        amiss
    }

    /// Places that are said to work, by number.
    pub(super) fn said_to_work(&self) -> &[usize] {
        match self.complaint {
            Complaint::Works { .. } => &self.working,
            _ => &[],
        }
    }

    /// Where somebody worked before, if that is what is said.
    pub(super) fn worked_on(&self) -> Option<&str> {
        match &self.complaint {
            Complaint::WorkedOn { place } => Some(place),
            _ => None,
        }
    }

    /// Whether it says that something is bright, and not while what runs.
    pub(super) fn is_bright_at_times(&self) -> bool {
        matches!(self.complaint, Complaint::Bright { when: None, .. })
    }

    /// Where something is bright, and perhaps something dim, it is so with some loads on and otherwise
    /// with others, and nobody says which: it may be in any of these settings too.
    ///
    /// Returns whether that is asked from now on.
    pub(super) fn varies_with_loads(&mut self, more_on: &[usize]) -> bool {
        let is_of_light = matches!(
            self.complaint,
            Complaint::Bright { when: None, .. } | Complaint::Dim { when: None, .. }
        );
        let ways = more_on.iter().map(|&setting| (setting, None));
        let new: Vec<Way> = ways.filter(|way| is_of_light && !self.ways.contains(way)).collect();
        let is_new = !new.is_empty();
        self.ways.extend(new);
        is_new
    }

    /// Takes every place but these for working, if that is what is said.
    ///
    /// Returns whether that is another set than before.
    pub(super) fn rest_works(&mut self, circuit: &Circuit, amiss: &BTreeSet<usize>) -> bool {
        if !matches!(&self.complaint, Complaint::Works { places } if places.is_empty()) {
            return false;
        }
        let all = 0..circuit.parts().places.len();
        let rest: Vec<usize> = all.filter(|place| !amiss.contains(place)).collect();
        let is_new = self.working != rest;
        self.working = rest;
        is_new
    }

    /// How often a customer says this and is mistaken, of all there are: in proportion to how
    /// often it is said with reason.
    pub(super) fn mistaken(&self, with_reason: f64) -> f64 {
        let at_least = match self.complaint {
            Complaint::Tingle { .. } => FELT_MISTAKENLY_AT_LEAST,
            _ => MISTAKEN_AT_LEAST,
        };
        (MISTAKEN * with_reason).max(at_least)
    }

    /// What is said of each place by itself, as far as it is said of places; of two faults each may
    /// be the reason for a part of it.
    pub(super) fn parts(&self, case: &Case<'_>) -> Vec<f64> {
        let known = |&&place: &&usize| case.dead.get(place).is_some_and(Option::is_some);
        let dead = self.dead.iter().filter(known).map(|&place| case.is_dead(place));
        let working = self.working.iter().filter(known).map(|&place| 1.0 - case.is_dead(place));
        let parts: Vec<f64> = dead.chain(working).collect();
        if parts.is_empty() { vec![self.chance(case)] } else { parts }
    }

    /// The chance that a customer says this with reason.
    pub(super) fn chance(&self, case: &Case<'_>) -> f64 {
        let chance: f64 = match &self.complaint {
            Complaint::DeadFrom { .. } | Complaint::AllDead { .. } => {
                let known = |&&place: &&usize| case.dead.get(place).is_some_and(Option::is_some);
                // Of what nothing can be seen, as a box with nothing in it, nothing is told.
                let first = self.dead.iter().rfind(known).map_or(1.0, |&place| case.is_dead(place));
                let dead = self
                    .dead
                    .iter()
                    .filter(known)
                    .map(|&place| but(ONE_BOX_OFF, case.is_dead(place)));
                let working = self
                    .working
                    .iter()
                    .filter(known)
                    .map(|&place| but(ONE_WORKING_OFF, 1.0 - case.is_dead(place)));
                first * dead.product::<f64>() * working.product::<f64>()
            }
            Complaint::Dead { .. } => case.dead_among(&self.dead),
            Complaint::HalfTheHouse => case.one_is_dead(&self.halves),
            Complaint::HalfDead { place } => case.half_dead(place),
            Complaint::Dim { loads, places, when } => {
                case.some_there(loads, places, |gets| match when {
                    Some(_) => noticed_anew(gets.lost, gets.always_lost),
                    None => dims(gets),
                })
            }
            Complaint::Bright { loads, places, when } => {
                case.some_there(loads, places, |gets| match when {
                    Some(_) => noticed_anew(-gets.lost, -gets.always_lost),
                    None => noticed_since(gets.share - 1.0, gets.always - 1.0, 0.09),
                })
            }
            Complaint::Flickers { loads } => {
                case.flicker(loads).max(case.cuts_out(loads)).max(case.by_switch(loads))
            }
            Complaint::LoadDead { load } => {
                let only = std::slice::from_ref(load);
                let kind = case.circuit.load(load).map(|load| load.kind);
                let gets_nothing =
                    case.some(only, |gets| kind.map_or(0.0, |kind| does_not_run(kind, gets.share)));
                let is_idle = case.idle.contains(&load.as_str());
                let is_idle = f64::from(u8::from(is_idle));
                gets_nothing.max(case.dead_the_other_way(load)).max(is_idle) / case.dead_loads()
            }
            Complaint::StaysOn { load } => case.stays_on(load),
            Complaint::Works { .. } => case.all_work(&self.working),
            Complaint::Trips { breaker, when } => {
                let by_its_loads = self.overload.as_ref().map_or(0.0, |overload| overload.chance);
                f64::max(case.trips(breaker, when), by_its_loads)
            }
            Complaint::WontReset { breaker } => case.does_not_reset(breaker),
            Complaint::Tingle { from } => case.tingle(from),
            Complaint::Warm { place } => {
                let at = case.circuit.parts().places.iter().position(|known| known.id == *place);
                let here = at.is_some_and(|at| case.bad_joints.contains(&at));
                if here { 0.3 } else { 0.0 }
            }
            // Where it may come from is asked of the places of what is supposed.
            Complaint::WorkedOn { .. } => 1.0,
            Complaint::NothingSeen => (1.0 - case.looks_wrong()).max(0.2),
        };
        chance.clamp(0.0, 1.0)
    }
}

impl Case<'_> {
    /// The chance that a place is dead: all that is in it.
    fn is_dead(&self, place: usize) -> f64 {
        self.dead.get(place).copied().flatten().unwrap_or(0.0)
    }

    /// The chance that all of these are said to work. What is dead with nothing wrong, as behind an
    /// open switch, is not what is meant.
    fn all_work(&self, places: &[usize]) -> f64 {
        let always = dead_places(self.chances, self.looks, self.sound.0);
        let lives = |&&place: &&usize| {
            always.get(place).copied().flatten().is_some_and(|dead: f64| dead < 0.5)
        };
        let works = |&place: &usize| but(ONE_WORKING_OFF, 1.0 - self.is_dead(place));
        places.iter().filter(lives).map(works).product()
    }

    /// Some places are named of all that are dead: one named of n is one in n.
    fn dead_among(&self, places: &[usize]) -> f64 {
        let named: Vec<f64> = places.iter().map(|&place| self.is_dead(place)).collect();
        named_of(&named, self.dead_places())
    }

    /// The chance that all of one half of the house is dead and the rest works.
    fn one_is_dead(&self, halves: &[Half]) -> f64 {
        let is_known = |&&place: &&usize| self.dead.get(place).is_some_and(Option::is_some);
        let dead = |half: &Half| -> f64 {
            let each: Vec<f64> =
                half.places.iter().filter(is_known).map(|&place| self.is_dead(place)).collect();
            let most = each.iter().copied().fold(0.0, f64::max);
            most * each.iter().map(|dead| but(ONE_BOX_OFF, *dead)).product::<f64>()
        };
        let as_one = |half: &Half| match half.n_circuits {
            1 if !self.is_of_the_service => ONE_CIRCUIT_IS_HALF,
            _ => 1.0,
        };
        let others = |at: usize| halves.iter().enumerate().filter(move |(other, _)| *other != at);
        let works = |at: usize| -> f64 {
            others(at).map(|(_, half)| self.all_work(&half.places)).product()
        };
        let each = halves
            .iter()
            .enumerate()
            .filter(|(_, half)| half.places.iter().any(|at| is_known(&at)));
        each.map(|(at, half)| dead(half) * as_one(half) * works(at)).fold(0.0, f64::max)
    }

    fn dead_at(&self, channel: usize) -> f64 {
        dead_by_volt(self.with.value(channel), self.chances.nominal())
    }

    fn half_dead(&self, place: &str) -> f64 {
        let volts = number(self.circuit, place).and_then(|at| self.looks.life.get(at));
        let outlets = outlets_at(self.circuit, place);
        let is_named = |channel: usize| {
            let channel = self.looks.channels.get(channel);
            channel.and_then(|channel| channel.outlet).is_some_and(|at| outlets.contains(&at))
        };
        let halves = volts.into_iter().flat_map(|life| &life.volts);
        let halves: Vec<(bool, f64)> =
            halves.map(|&channel| (is_named(channel), self.dead_at(channel))).collect();
        // Which half it is may be said.
        let says_which = halves.iter().any(|(named, _)| !named);
        let named = halves.iter().filter(|(named, _)| *named);
        let others = halves.iter().filter(|(named, _)| !(*named && says_which));
        let one = named.map(|(_, dead)| *dead).fold(0.0, f64::max);
        let other = others.map(|(_, dead)| *dead).fold(1.0, f64::min);
        one * (1.0 - other) / self.dead_places().max(1.0)
    }

    /// The chance that something is said of loads by their share of voltage: of any of these or, where
    /// none is named, of any light, whether it is on the list or was plugged in somewhere; where places are
    /// named, of what is plugged in at each of them.
    fn some_there(&self, loads: &[String], places: &[String], does: impl Fn(Gets) -> f64) -> f64 {
        if !places.is_empty() {
            return self.lamps_at(places, does);
        }
        if !loads.is_empty() {
            return self.named_among_all(loads, does);
        }
        let listed = self.some(loads, &does);
        let tried = self.looks.lamps.iter().flatten();
        let unlisted = tried.map(|&at| self.gets(at).map_or(0.0, &does)).fold(0.0, f64::max);
        f64::max(listed, ON_NO_LIST * unlisted)
    }

    /// The chance that each of these loads does something by its share of voltage, and that these are
    /// named of all that do: where much else does too, that is what mostly would be spoken of.
    fn named_among_all(&self, loads: &[String], does: impl Fn(Gets) -> f64) -> f64 {
        let one = |load: &String| {
            let gets = self.looks.share_of(load).and_then(|at| self.gets(at));
            gets.map_or(0.0, &does)
        };
        let named: Vec<f64> = loads.iter().map(one).collect();
        let runs = self.circuit.parts().loads.iter().filter(|load| load.on);
        let others = runs.map(|load| &load.id).filter(|id| !loads.contains(id));
        let all: f64 = others.map(one).chain(named.iter().copied()).sum();
        let elsewhere = if self.is_of_the_service { ON_OTHER_CIRCUITS } else { 0.0 };
        named_of(&named, all + elsewhere)
    }

    /// The chance that a lamp plugged in at each of these places does something, and that these are named
    /// of all where one does.
    fn lamps_at(&self, places: &[String], does: impl Fn(Gets) -> f64) -> f64 {
        let lamp = |outlet: usize| {
            let channel = self.looks.lamps.get(outlet).copied().flatten();
            channel.and_then(|channel| self.gets(channel)).map_or(0.0, &does)
        };
        let at = |place: &str| -> f64 {
            outlets_at(self.circuit, place).into_iter().map(lamp).fold(0.0, f64::max)
        };
        let named: Vec<f64> = places.iter().map(|place| at(place)).collect();
        let all: f64 = self.circuit.parts().places.iter().map(|place| at(&place.id)).sum();
        named_of(&named, all)
    }

    /// The chance that any of these loads, or of all lights, does something by its share of voltage.
    fn some(&self, loads: &[String], does: impl Fn(Gets) -> f64) -> f64 {
        let loads = self.these_or_lights(loads);
        let channels = loads.iter().filter_map(|load| self.looks.share_of(load));
        channels.filter_map(|at| self.gets(at)).map(does).fold(0.0, f64::max)
    }

    /// The chance that any of these loads comes and goes: with a joint before it that does, or that is
    /// open now, or where it is weak. What is dark by a handle or a trip does not flicker.
    fn flicker(&self, loads: &[String]) -> f64 {
        let interrupted = self.interrupted.iter().map(|(row, makes_some)| {
            let often = if *makes_some { 0.4 } else { 0.1 };
            often * self.changed(row, loads)
        });
        interrupted.fold(0.1 * self.some(loads, dims), f64::max)
    }

    /// Whether these loads, of all that do, or any of all lights get anything else than with nothing
    /// wrong; where none is described, any place.
    fn changed(&self, row: &Row, loads: &[String]) -> f64 {
        let sound = self.sound.0;
        let are_named = !loads.is_empty();
        let loads = self.these_or_lights(loads);
        if loads.is_empty() {
            let dead = |row: &Row| dead_places(self.chances, self.looks, row);
            let each = dead(row).into_iter().zip(dead(sound));
            let changed = each.filter_map(|(now, whole)| Some((now? - whole?).abs()));
            return changed.fold(0.0, f64::max);
        }
        let changes = |loads: &[&String]| -> Vec<f64> {
            let channels = loads.iter().filter_map(|load| self.looks.share_of(load));
            let changes = channels.map(|at| (row.value(at) - sound.value(at)).abs());
            changes.filter(|change| !change.is_nan()).map(|change| noticed(change, 0.1)).collect()
        };
        let these = changes(&loads);
        if !are_named {
            return these.into_iter().fold(0.0, f64::max);
        }
        let on = self.circuit.parts().loads.iter().filter(|load| load.on).map(|load| &load.id);
        let all: f64 = changes(&on.collect::<Vec<_>>()).iter().sum();
        let elsewhere = if self.is_of_the_service { ON_OTHER_CIRCUITS } else { 0.0 };
        named_of(&these, all + elsewhere)
    }

    /// The chance that a load of several switches is said to be dead because it is with those thrown.
    fn dead_the_other_way(&self, load: &str) -> f64 {
        let channel = self.looks.share_of(load).zip(self.circuit.load(load));
        let Some(((channel, load), thrown)) = channel.zip(self.without) else { return 0.0 };
        LEFT_STANDING * does_not_run(load.kind, thrown.value(channel))
    }

    /// The chance that a load is said to come and go because it runs with its switches one way and not
    /// another, where it ought to run both ways.
    fn by_switch(&self, loads: &[String]) -> f64 {
        let ([only], Some(without)) = (loads, self.without) else { return 0.0 };
        let channel = self.looks.share_of(only).zip(self.circuit.load(only));
        let Some((channel, load)) = channel else { return 0.0 };
        let dead = |row: &Row| does_not_run(load.kind, row.value(channel));
        let (one, other) = (dead(self.with), dead(without));
        SWITCHED_IS_SAID * (one * (1.0 - other) + other * (1.0 - one))
    }

    /// The chance that a load cuts out by itself: by its thermostat, its cord or its plug.
    fn cuts_out(&self, loads: &[String]) -> f64 {
        match loads {
            [only] if self.idle.contains(&only.as_str()) => CUTS_OUT_BY_ITSELF,
            _ => 0.0,
        }
    }

    /// Whether a load runs with a switch thrown and as it was before. What is behind no switch that is
    /// described stays on by that.
    fn stays_on(&self, load: &str) -> f64 {
        let (channel, load) = (self.looks.share_of(load), self.circuit.load(load));
        let Some((channel, load)) = channel.zip(load) else { return 0.0 };
        let runs = |row: &Row| match row.value(channel) {
            share if share >= STAYS_ON_FROM => 1.0 - does_not_run(load.kind, share),
            _ => 0.0,
        };
        runs(self.with) * self.without.map_or(0.0, runs)
    }

    /// The loads that are named, or all that give light.
    fn these_or_lights<'b>(&'b self, loads: &'b [String]) -> Vec<&'b String> {
        match loads.is_empty() {
            true => lights(self.circuit),
            false => loads.iter().collect(),
        }
    }

    /// What a load or a lamp gets; `None` where nobody knows.
    fn gets(&self, channel: usize) -> Option<Gets> {
        let share = |row: &Row| row.value(channel);
        let lost = |with, without: Option<&Row>| without.map_or(0.0, |w| share(w) - share(with));
        let gets = Gets {
            share: share(self.with),
            always: share(self.sound.0),
            lost: lost(self.with, self.without),
            always_lost: lost(self.sound.0, self.sound.1),
        };
        (!gets.share.is_nan() && !gets.lost.is_nan()).then_some(gets)
    }

    fn trips(&self, breaker: &str, when: &WhenItTrips) -> f64 {
        if self.worn_out.contains(&breaker) {
            return trips_for_nothing(when);
        }
        let with = self.tripped(self.with, breaker);
        match when {
            WhenItTrips::AtOnce => with,
            WhenItTrips::WithLoad { .. } => {
                with * self.without.map_or(1.0, |row| 1.0 - self.tripped(row, breaker))
            }
            WhenItTrips::AfterAWhile | WhenItTrips::NowAndThen => 0.3 * with + 0.02,
        }
    }

    /// The chance that it does not reset: it trips again or, being no breaker, gets no voltage to reset by.
    fn does_not_reset(&self, name: &str) -> f64 {
        if self.worn_out.contains(&name) {
            return WORN_OUT_NO_RESET;
        }
        let trips = 0.9 * self.tripped(self.with, name);
        // One that only tripped does reset.
        let is_fed = !self.with.off.iter().any(|off| off == name);
        let is_device = self.circuit.device(name).is_some();
        let at = number(self.circuit, name).filter(|_| is_device && is_fed);
        f64::max(trips, NO_VOLTAGE_NO_RESET * at.map_or(0.0, |at| self.is_dead(at)))
    }

    fn tripped(&self, row: &Row, breaker: &str) -> f64 {
        f64::from(u8::from(row.tripped.iter().any(|known| known == breaker)))
    }

    /// A tingle is felt from some 25 V on metal, sometimes from less. Of what always was there nobody
    /// complains.
    fn tingle(&self, from: &str) -> f64 {
        let outlets = outlets_at(self.circuit, from);
        let felt =
            self.looks.channels.iter().enumerate().filter(|(_, channel)| match &channel.measure {
                Measure::Case { of } => of == from,
                Measure::Potential { slot } => {
                    slot == "ground" && channel.outlet.is_some_and(|o| outlets.contains(&o))
                }
                _ => false,
            });
        let felt: Vec<usize> = felt.map(|(at, _)| at).collect();
        let feels = |row: &Row| {
            let volts = felt.iter().map(|at| row.value(*at)).filter(|volt| volt.is_finite());
            logistic((volts.fold(0.0, f64::max) - 25.0) / 6.0)
        };
        let always = feels(self.sound.0);
        (feels(self.with) - always).max(0.0) + SAID_LATE * always
    }

    fn dead_places(&self) -> f64 {
        self.dead.iter().flatten().sum()
    }

    fn dead_loads(&self) -> f64 {
        let loads = self.circuit.parts().loads.iter().filter(|load| load.on);
        let shares = loads.filter_map(|load| self.looks.share_of(&load.id));
        let dead = shares.map(|channel| {
            let share = self.with.value(channel);
            if share.is_nan() { 1.0 } else { logistic((0.3 - share) / 0.06) }
        });
        dead.sum::<f64>().max(1.0)
    }

    /// The chance that anything is to be noticed.
    fn looks_wrong(&self) -> f64 {
        let trips = if self.with.tripped.is_empty() { 0.0 } else { 1.0 };
        f64::max(trips, self.dead_places().min(1.0))
    }
}

/// Whether a load may be a light: what is wired in and draws an even power is one as often as not.
pub(crate) fn gives_light(load: &Load) -> bool {
    match load.kind {
        LoadKind::Filament { .. } => true,
        LoadKind::ConstantPower { .. } => load.plug_links.is_empty(),
        _ => false,
    }
}

/// What is meant by `lights`: lamps, or everything where there are none.
fn lights(circuit: &Circuit) -> Vec<&String> {
    let loads = &circuit.parts().loads;
    let lights = loads.iter().filter(|load| gives_light(load)).map(|load| &load.id);
    let lights: Vec<&String> = lights.collect();
    if lights.is_empty() { loads.iter().map(|load| &load.id).collect() } else { lights }
}

/// The chance that something is so at each of some, and that these are named of all, so many, where it is.
fn named_of(chances: &[f64], all: f64) -> f64 {
    let named = chances.len() as f64;
    let all = all.max(named);
    let ways = (0..chances.len()).map(|k| (named - k as f64) / (all - k as f64));
    chances.iter().product::<f64>() * ways.product::<f64>()
}

/// Whether what a load gets is too little for it, and not next to nothing: that is called dead.
fn dims(gets: Gets) -> f64 {
    noticed_since(1.0 - gets.share, 1.0 - gets.always, 0.12)
        * logistic((gets.share - GLOWS_FROM) / 0.02)
}

/// A chance of what is off so often whatever is there.
fn but(off: f64, chance: f64) -> f64 {
    off + (1.0 - off) * chance
}

/// The chance that a customer speaks of a change of light, or of what a motor does, of which half
/// of all speak at a second one. Changes are judged by their ratio (Weber's law), and where nothing
/// changes nobody speaks; the spread is judgement.
fn noticed(change: f64, by_half: f64) -> f64 {
    if change > 0.0 { logistic((change / by_half).ln() / 0.22) } else { 0.0 }
}

/// The same of what was not always there.
fn noticed_since(change: f64, always: f64, by_half: f64) -> f64 {
    f64::max(noticed(change - always.max(0.0), by_half), SAID_LATE * noticed(change, by_half))
}

/// The same of what a load does to others when it runs: half of all speak of a change of three
/// hundredths that was not always there, at most one in ten of what always was so.
fn noticed_anew(change: f64, always: f64) -> f64 {
    f64::max(noticed(change - always.max(0.0), 0.03), 0.1 * noticed(change, 0.06))
}

/// What gets under some 40 % of its voltage does nothing that a customer calls working.
fn dead_by_volt(volt: f64, nominal: f64) -> f64 {
    if volt.is_nan() { 1.0 } else { logistic((0.4 * nominal - volt) / (0.05 * nominal)) }
}

/// How dead each place is in a row.
pub(super) fn dead_places(chances: &Chances, looks: &Looks, row: &Row) -> Vec<Option<f64>> {
    let nominal = chances.nominal();
    let volt = |&channel: &usize| dead_by_volt(row.value(channel), nominal);
    let share = |&channel: &usize| {
        let share = row.value(channel);
        if share.is_nan() { 1.0 } else { logistic((0.3 - share) / 0.06) }
    };
    let place = |life: &Life| {
        life.volts.iter().map(volt).chain(life.shares.iter().map(share)).reduce(f64::min)
    };
    looks.life.iter().map(place).collect()
}

/// The number of a place, by its name or by that of a receptacle in it.
pub(super) fn number(circuit: &Circuit, name: &str) -> Option<usize> {
    let places = &circuit.parts().places;
    let outlet = |place: &crate::circuit::Place| {
        place.outlets.iter().any(|outlet| outlet.address.as_str() == name)
            || place.devices.iter().any(|device| device == name)
    };
    places.iter().position(|place| place.id == name).or_else(|| places.iter().position(outlet))
}

/// Whether a load hangs on any of these terminals, or is plugged in where a slot is one.
pub(crate) fn is_load_among(circuit: &Circuit, load: &Load, terminals: &BTreeSet<String>) -> bool {
    let ends = [&load.between.0, &load.between.1];
    ends.into_iter().any(|end| terminals.contains(end.as_str()))
        || !load.plug_links.is_empty()
            && place_of_load(circuit, load).is_some_and(|place| {
                let mut there = circuit.outlets().filter(|(at, _)| at.id == place);
                there
                    .any(|(_, one)| one.slots.iter().any(|(_, at)| terminals.contains(at.as_str())))
            })
}

/// The place that a load is plugged in or wired at.
pub(crate) fn place_of_load(circuit: &Circuit, load: &Load) -> Option<String> {
    let (end, _) = &load.between;
    let plug = load.plug_links.first().map(|link| format!("link:{link}"));
    if let Some(joint) = plug.and_then(|element| circuit.joint_of_element(&element)) {
        return Some(joint.place.clone());
    }
    circuit.connections().find_map(|connection| {
        let other = match (connection.a == *end, connection.b == *end) {
            (true, _) => connection.b,
            (_, true) => connection.a,
            _ => return None,
        };
        let first = other.as_str().split('.').next()?;
        circuit.place(first).map(|place| place.id.clone())
    })
}

/// The switches on the way to a load, the nearest first.
pub(crate) fn switches_before<'c>(circuit: &'c Circuit, load: &Load) -> Vec<&'c Device> {
    let parts = circuit.parts();
    let mut switches = Vec::new();
    let mut place = place_of_load(circuit, load).and_then(|at| circuit.place(&at));
    // No way is longer than there are places.
    for _ in &parts.places {
        let Some(here) = place else { break };
        let there = here.devices.iter().filter_map(|id| circuit.device(id));
        switches.extend(there.filter(|device| is_switch(&device.kind)));
        place = here.fed_from.as_ref().and_then(|from| circuit.place(from));
    }
    // At the end of a loop of its own a switch hangs behind the light.
    let loops = parts.devices.iter().filter(|device| {
        is_switch(&device.kind)
            && !switches.iter().any(|known: &&Device| known.id == device.id)
            && is_load_among(circuit, load, &Reach::through(circuit, &device.id))
    });
    let mut loops: Vec<&Device> = loops.collect();
    switches.append(&mut loops);
    switches
}

/// The places that a breaker or a protective device feeds, by number, the one of the device too.
pub(super) fn fed(circuit: &Circuit, name: &str) -> Vec<usize> {
    let parts = circuit.parts();
    let from = |place: &str| number(circuit, place).into_iter().chain(run(circuit, place).1);
    if circuit.branch_circuit(name).is_none() {
        return from(name).collect();
    }
    let screw = format!("{name}.hot");
    let first = parts
        .cables
        .iter()
        .filter(|cable| cable.ends[0].iter().any(|landing| landing.to.as_str() == screw));
    let first: Vec<&str> = first.map(|cable| cable.id.as_str()).collect();
    let begins = parts
        .places
        .iter()
        .filter(|place| place.line_cables.iter().any(|cable| first.contains(&cable.as_str())));
    begins.flat_map(|place| from(&place.id)).collect()
}

/// What each bus feeds that breakers sit on.
pub(super) fn halves(model: &mut Model<'_>) -> Vec<Half> {
    let circuit = model.circuit;
    let half = |breakers: Vec<&str>| Half {
        places: dead_without(model, &breakers),
        n_circuits: breakers.len(),
    };
    breakers_by_bus(circuit).into_iter().map(half).collect()
}

/// Settings with more on than as described: everything, and of several buses what hangs on each.
pub(super) fn more_on(model: &mut Model<'_>) -> Vec<usize> {
    let circuit = model.circuit;
    let on = |is_there: &dyn Fn(&Load) -> bool, all: &Condition| {
        let loads = circuit.parts().loads.iter().filter(|load| is_there(load));
        let states = loads.filter_map(|load| all.loads.get_key_value(&load.id));
        let loads = states.map(|(id, state)| (id.clone(), *state)).collect();
        Condition { loads, ..Condition::default() }
    };
    let all = model.settings.get(ALL_ON).cloned().unwrap_or_default();
    let buses = breakers_by_bus(circuit);
    let each = buses.iter().map(|breakers| {
        let fed = Reach::of(circuit, breakers, Subpanels::Passed).terminals;
        on(&|load| is_load_among(circuit, load, &fed), &all)
    });
    let each: Vec<Condition> = if buses.len() > 1 { each.collect() } else { Vec::new() };
    let settings = each.into_iter().filter(|one| !one.loads.is_empty());
    [ALL_ON].into_iter().chain(settings.map(|one| model.setting(one))).collect()
}

/// The breakers on each bus.
fn breakers_by_bus(circuit: &Circuit) -> Vec<Vec<&str>> {
    let mut buses: BTreeMap<&Address, Vec<&str>> = BTreeMap::new();
    for one in &circuit.parts().branch_circuits {
        buses.entry(&one.bus).or_default().push(&one.id);
    }
    buses.into_values().collect()
}

/// The places that are dead once these breakers are off, by number: of circuits that share a cable
/// each feeds some, which takes a network to know.
pub(super) fn dead_without(model: &mut Model<'_>, breakers: &[&str]) -> Vec<usize> {
    let mut fed_by: Vec<usize> = breakers.iter().flat_map(|one| fed(model.circuit, one)).collect();
    fed_by.sort_unstable();
    fed_by.dedup();
    let circuits = model.circuit.parts().branch_circuits.iter().map(|one| one.id.as_str());
    let mut others = circuits.filter(|one| !breakers.contains(one));
    if !others.any(|other| fed(model.circuit, other).iter().any(|at| fed_by.contains(at))) {
        return fed_by;
    }
    // Handles that are tied would take others with them.
    let open =
        |breaker: &&str| Fault::Open { element: format!("breaker:{breaker}"), gap: Gap::NONE };
    let off = Condition { faults: breakers.iter().map(open).collect(), ..Condition::default() };
    let setting = model.setting(off);
    let Some(row) = model.row(Set::SOUND, setting) else { return fed_by };
    let dead = dead_places(&model.chances, &model.predictor.looks, &row);
    fed_by.retain(|&at| dead.get(at).copied().flatten().is_none_or(|dead| dead > 0.5));
    fed_by
}

/// Places between this one and the supply, and those fed from it, by number.
pub(super) fn run(circuit: &Circuit, place: &str) -> (Vec<usize>, Vec<usize>) {
    let places = &circuit.parts().places;
    let by_name = |id: &String| places.iter().position(|known| known.id == *id);
    let Some(start) = number(circuit, place) else { return Default::default() };
    let feeds = |at: usize| places.get(at).and_then(|p| p.fed_from.as_ref()).and_then(by_name);
    let mut above: Vec<usize> = Vec::new();
    let mut next = feeds(start);
    while let Some(at) = next.filter(|at| !above.contains(at)) {
        above.push(at);
        next = feeds(at);
    }
    let mut below = vec![start];
    let mut looked = 0;
    while let Some(&from) = below.get(looked) {
        looked += 1;
        let more: Vec<usize> = (0..places.len())
            .filter(|&at| feeds(at) == Some(from) && !below.contains(&at))
            .collect();
        below.extend(more);
    }
    below.remove(0);
    (above, below)
}
