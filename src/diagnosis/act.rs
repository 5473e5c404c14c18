//! What a person can do next, what it costs, and what it must not endanger.

use super::look::{Channel, Looks, Measure};
use super::means::Costs;
use super::model::{ALL_OFF, ALL_ON, ALL_UNPLUGGED, DESCRIBED, Model, away};
use super::predictions::Row;
use crate::condition::LoadState;
use crate::instrument::Instrument;

use std::collections::BTreeSet;

/// An instrument held to a receptacle while loads stand in a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Act {
    pub(super) instrument: usize,
    pub(super) outlet: usize,
    pub(super) setting: usize,
}

/// What an instrument costs to hold somewhere, seconds.
pub(super) fn holding_s(instrument: &Instrument, costs: &Costs) -> f64 {
    match instrument {
        Instrument::NonContact(_) => costs.detector_s,
        Instrument::PlugTester(_) => costs.plug_in_s,
        Instrument::LoadedTest(_) => costs.loaded_test_s,
        Instrument::Clamp(_) => costs.clamp_s,
        _ => costs.meter_s,
    }
}

/// Loads that are switched one by one in the search for a test, at most.
const SWITCHED_LOADS: usize = 6;

/// Breakers that are switched one by one in the search for what feeds a place, at most.
const SWITCHED_BREAKERS: usize = 8;

/// Settings that a person can bring about from where things stand: as they stand, loads as
/// described, all off, all on, and each load switched; where a breaker was switched off for a look,
/// that on again, or one more off; and where an appliance is suspected itself, that unplugged, or
/// all. Loads that have nothing to do with what is likely stay as they are.
pub(super) fn reachable(
    model: &mut Model<'_>,
    now: usize,
    (fixed_loads, unconcerned, suspected): (
        &BTreeSet<String>,
        &BTreeSet<String>,
        &BTreeSet<String>,
    ),
) -> Vec<usize> {
    let loads: Vec<String> = model
        .circuit
        .parts()
        .loads
        .iter()
        .filter(|load| !fixed_loads.contains(&load.id) && !unconcerned.contains(&load.id))
        .map(|load| load.id.clone())
        .take(SWITCHED_LOADS)
        .collect();
    let mut settings = vec![now];
    let mut add = |model: &Model<'_>, setting: usize| {
        let is_other = |&known: &usize| {
            model.switched(known, setting) > 0 || !model.handles(known, setting).is_empty()
        };
        if settings.iter().all(is_other) {
            settings.push(setting);
        }
    };
    for usual in [DESCRIBED, ALL_OFF, ALL_ON] {
        let setting = as_now(model, (now, usual), unconcerned);
        add(model, setting);
    }
    for setting in breakers_moved(model, now) {
        add(model, setting);
    }
    for load in loads {
        let state = match model.is_on(&load, now) {
            true => LoadState::Off,
            false => LoadState::On,
        };
        let setting = changed(model, now, (load, state));
        add(model, setting);
    }
    // Of several, all are unplugged, and then plugged in one by one.
    match (suspected.first(), suspected.len()) {
        (Some(load), 1) => {
            let away = (load.clone(), away(model.circuit, load));
            let setting = changed(model, now, away);
            add(model, setting);
        }
        (Some(_), _) => {
            let setting = as_now(model, (now, ALL_UNPLUGGED), unconcerned);
            add(model, setting);
        }
        (None, _) => {}
    }
    settings
}

/// Loads as in a usual setting, and everything else as it stands.
fn as_now(
    model: &mut Model<'_>,
    (now, usual): (usize, usize),
    unconcerned: &BTreeSet<String>,
) -> usize {
    let loads = model.settings.get(usual).map(|usual| usual.loads.clone()).unwrap_or_default();
    let mut condition = model.settings.get(now).cloned().unwrap_or_default();
    let stay = |load: &String| unconcerned.contains(load);
    condition.loads.retain(|load, _| stay(load));
    condition.loads.extend(loads.into_iter().filter(|(load, _)| !stay(load)));
    model.setting(condition)
}

/// Where a breaker was switched off for a look, how things stand with it on again, and with each
/// other breaker off too: what stays live is fed by one of these.
pub(super) fn breakers_moved(model: &mut Model<'_>, now: usize) -> Vec<usize> {
    let Some(stands) = model.settings.get(now).cloned() else { return Vec::new() };
    let circuit = model.circuit;
    let is_off = |name: &str| stands.breakers.get(name) == Some(&false);
    let poles = &circuit.parts().branch_circuits;
    if !poles.iter().any(|pole| is_off(&pole.id)) {
        return Vec::new();
    }
    let mut back_on = stands.clone();
    back_on.breakers.retain(|name, closed| *closed || !poles.iter().any(|p| p.id == *name));
    let mut moved = vec![back_on];
    let mut handled: BTreeSet<&str> = BTreeSet::new();
    for pole in poles {
        let together = || pole.tied_with.iter().map(String::as_str).chain([pole.id.as_str()]);
        if together().any(|name| is_off(name) || handled.contains(name)) {
            continue;
        }
        handled.extend(together());
        let mut one_more = stands.clone();
        one_more.breakers.insert(pole.id.clone(), false);
        moved.push(one_more);
    }
    moved.truncate(SWITCHED_BREAKERS + 1);
    moved.into_iter().map(|condition| model.setting(condition)).collect()
}

/// A setting with one load in another state.
fn changed(model: &mut Model<'_>, from: usize, (load, state): (String, LoadState)) -> usize {
    let mut condition = model.settings.get(from).cloned().unwrap_or_default();
    condition.loads.insert(load, state);
    model.setting(condition)
}

/// Metal above this many volts is live.
pub(super) const LIVE_VOLT: f64 = 30.0;

/// Loads get too much above this share of their voltage.
pub(super) const TOO_MUCH: f64 = 1.15;

/// Whether a person who plugs in anything with a metal case at a receptacle, or loads it, is in
/// danger: its ground is live with something behind it, or it carries too much.
pub(super) fn endangers_at(looks: &Looks, row: &Row, outlet: usize, nominal_volt: f64) -> bool {
    let Some(metal) = looks.metal.get(outlet) else { return false };
    let volt = |channel: Option<usize>| {
        let volt = channel.map_or(0.0, |channel| row.value(channel));
        if volt.is_nan() { 0.0 } else { volt }
    };
    // A ground that merely floats gives way to the load of an indicator; one that is live does
    // not, and neither does one that hangs on a live neutral.
    let ground = volt(metal.ground_potential) > LIVE_VOLT
        && (volt(metal.neutral_ground) > LIVE_VOLT || volt(metal.neutral_potential) > LIVE_VOLT);
    ground || volt(metal.hot_neutral) > TOO_MUCH * nominal_volt
}

/// Of each case and then each receptacle, whether it endangers in a row.
pub(super) fn dangers(looks: &Looks, row: &Row, nominal_volt: f64) -> Vec<bool> {
    let is_case = |channel: &Channel| matches!(channel.measure, Measure::Case { .. });
    let cases = looks.channels.iter().enumerate().filter(|(_, channel)| is_case(channel));
    let cases = cases.map(|(at, _)| row.value(at) > LIVE_VOLT);
    let outlets = 0..looks.metal.len();
    cases.chain(outlets.map(|outlet| endangers_at(looks, row, outlet, nominal_volt))).collect()
}
