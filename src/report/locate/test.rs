//! A test in words: how it is made, what makes it safe, and what each outcome will mean.

use std::collections::BTreeSet;

use crate::circuit::Circuit;
use crate::circuit::reach::Reach;
use crate::condition::words::known::Known;
use crate::condition::words::{describe, speak};
use crate::condition::{Condition, LoadState, SwitchPosition};
use crate::diagnosis::words::{tell_handle, tell_protected};
use crate::diagnosis::{
    Account, Amount, Branch, Complaint, Feeding, Means, NextTest, Parting, Protected, Seen, Showed,
    place_of_load, words,
};
use crate::instrument::Instrument;
use crate::report::vocabulary::{Term, term};

use super::alike::{says_nothing, told_together};

/// A test and what each outcome will mean.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct TestReport {
    /// What to do, in words.
    pub says: String,
    /// What the instrument is called.
    pub instrument: String,
    /// The receptacle; of a parting, the box.
    pub at: String,
    /// The box that is opened for it, dead, and the cable that is taken off there.
    pub parting: Option<Parting>,
    /// Breakers that stand off during it.
    pub breakers_off: Vec<String>,
    /// Loads to be switched first, in the words of a condition.
    pub switch: Vec<String>,
    /// Loads and switches that stand otherwise then than the circuit file has them, in the words of
    /// a condition.
    pub stands: Vec<String>,
    /// What it costs, seconds.
    pub cost_second: f64,
    /// What it is expected to save in opening boxes, its own cost taken off, seconds.
    pub saves_second: Option<f64>,
    /// What it can show, the likeliest first.
    pub branches: Vec<BranchReport>,
}

/// An outcome of a test.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct BranchReport {
    /// What is shown, in the words of an answer; empty where the fault is seen in the open box.
    pub shows: String,
    /// The fault is seen in the box that is opened for the test.
    pub is_seen: bool,
    /// The boxes it is in then; empty for a test that is made live.
    pub boxes: Vec<String>,
    /// How likely that is.
    pub probability: f64,
    /// The suspect that leads then, by its place among the suspects.
    pub suspect: Option<usize>,
    /// How likely that suspect is then.
    pub suspect_probability: Option<f64>,
}

/// A test in words. Where metal is live loads are switched with their breakers off.
pub(super) fn test_report(
    circuit: &Circuit,
    account: &Account,
    test: &NextTest,
    (is_metal_live, warm_at): (bool, &[String]),
) -> TestReport {
    let breakers = test.breakers.iter().map(|(name, closed)| {
        format!("breaker {} {}", tell_protected(circuit, name), if *closed { "on" } else { "off" })
    });
    let breakers: Vec<String> = breakers.collect();
    let loads = test.switch.iter().map(|(load, state)| load_stands(load, *state));
    let loads: Vec<String> = loads.collect();
    let otherwise = test.moment.condition.loads.iter().filter(|(name, state)| {
        let described = circuit.load(name).map(|load| match (load.plugged_in, load.on) {
            (false, _) => LoadState::Unplugged,
            (true, true) => LoadState::On,
            (true, false) => LoadState::Off,
        });
        described != Some(**state)
    });
    let otherwise = otherwise.map(|(load, state)| load_stands(load, *state));
    let stands = otherwise.chain(switches_otherwise(circuit, test)).collect();
    let tool = account.means.tools.iter().find(|tool| tool.name == test.instrument);
    let instrument = tool.map(|tool| &tool.instrument);
    let held = live_with_a_breaker_off(circuit, (account, instrument), test);
    let is_dead_first = is_metal_live || is_dead(instrument, test);
    let switched = match loads.is_empty() || !is_dead_first {
        true => [breakers.as_slice(), loads.as_slice()].concat(),
        false => Vec::new(),
    };
    let says = match switched.as_slice() {
        _ if !loads.is_empty() && is_dead_first => {
            format!("{}. Then {}", switching_dead(circuit, test, &loads), lower(&held))
        }
        [] => held,
        some => format!("{}. Then {}", switching(some), lower(&held)),
    };
    let switch = [breakers, loads].concat();
    let watched = match !is_dead(instrument, test) && is_fed_with(circuit, test, warm_at) {
        true => WATCHED,
        false => "",
    };
    TestReport {
        says: format!("{says}{watched}"),
        instrument: test.instrument.clone(),
        at: test.at.to_string(),
        parting: test.parting.clone(),
        breakers_off: breakers_off(test).cloned().collect(),
        switch,
        stands,
        cost_second: test.cost_s,
        saves_second: test.saves_s,
        branches: told_together(&test.branches)
            .iter()
            .map(|one| branch(circuit, test, one))
            .collect(),
    }
}

/// What is said of a test with current through what was hot, smelt or sparked.
const WATCHED: &str = ". For this alone the breaker is on, with somebody at it to switch it off at the first \
                       smell, smoke or spark, and it is off again after";

/// Whether the same breakers feed where a test is made and one of these places.
fn is_fed_with(circuit: &Circuit, test: &NextTest, places: &[String]) -> bool {
    let mut outlets = circuit.outlets();
    let Some((at, _)) = outlets.find(|(_, outlet)| outlet.address == test.at) else { return false };
    let known = Known::of(circuit);
    let feeding = Feeding::of(&known);
    let here = feeding.off_at(&at.id);
    places.iter().any(|place| feeding.off_at(place).keys().any(|name| here.contains_key(name)))
}

/// Switches that stand otherwise during a test than described, in the words of a condition.
fn switches_otherwise(circuit: &Circuit, test: &NextTest) -> Vec<String> {
    let mut switches = test.moment.condition.switches.clone();
    switches
        .retain(|name, position| SwitchPosition::described_in(circuit, name) != Some(*position));
    describe(circuit, &Condition { switches, ..Condition::default() })
}

/// `With breaker c1 off, switch heater off`: whatever feeds them is off before loads are switched, and on
/// again after it if it is not off for the test.
fn switching_dead(circuit: &Circuit, test: &NextTest, loads: &[String]) -> String {
    let feeding = feeds(circuit, test);
    let moved = |to: bool| test.breakers.iter().filter(move |(_, closed)| **closed == to);
    let off: BTreeSet<&String> = feeding
        .iter()
        .chain(breakers_off(test))
        .chain(moved(false).map(|(name, _)| name))
        .collect();
    let stay: BTreeSet<&String> = breakers_off(test).collect();
    let on = feeding.iter().chain(moved(true).map(|(name, _)| name));
    let on: BTreeSet<&String> = on.filter(|name| !stay.contains(name)).collect();
    let switched = lower(&switching(loads));
    let off = breakers_called(circuit, off.into_iter());
    match on.is_empty() {
        true => format!("With {off} off, {switched}"),
        false => {
            let on = breakers_called(circuit, on.into_iter());
            format!("With {off} off, {switched}. Switch {on} on, {HANDS_OFF}")
        }
    }
}

/// The breakers that feed what is switched for a test.
pub(super) fn feeds(circuit: &Circuit, test: &NextTest) -> BTreeSet<String> {
    let known = Known::of(circuit);
    let feeding = Feeding::of(&known);
    let places = test.switch.keys().filter_map(|load| place_of_load(circuit, circuit.load(load)?));
    places.flat_map(|place| feeding.off_at(&place).into_keys()).collect()
}

/// `heater on`, as a condition says it.
fn load_stands(load: &str, state: LoadState) -> String {
    let state = match state {
        LoadState::Unplugged => "unplugged",
        LoadState::On | LoadState::Stalled => "on",
        LoadState::Off => "off",
    };
    format!("{} {state}", speak::name(load))
}

/// A test with the power on behind a breaker or device that trips begins with closing it: what to
/// answer if that is all that comes of it.
pub(super) fn closing_what_trips(circuit: &Circuit, account: &Account, test: &mut TestReport) {
    let outlet = circuit.outlets().find(|(_, outlet)| outlet.address.as_str() == test.at);
    let Some((place, outlet)) = outlet else { return };
    let known = Known::of(circuit);
    let feeding = Feeding::of(&known).off_at(&place.id);
    // What is read dead needs nothing closed.
    if feeding.keys().any(|breaker| test.breakers_off.contains(breaker)) {
        return;
    }
    let is_behind = |name: &String| {
        let fed = Reach::behind_all(circuit, [name.as_str()]).terminals;
        !test.breakers_off.contains(name)
            && outlet.slots.iter().any(|(_, slot)| fed.contains(slot.as_str()))
    };
    let last = |name: &String| {
        account.observations.iter().rev().find_map(|one| match &one.seen {
            Seen::Protection { name: known, did } if known == name => Some(*did),
            _ => None,
        })
    };
    // Who saw last that it holds has it closed.
    let holds = |name: &String| last(name) == Some(Protected::Holds);
    let told = account.observations.iter().filter_map(|one| match &one.seen {
        Seen::Protection { name, .. } => Some(name),
        _ => None,
    });
    let mut off = told.filter(|name| last(name) == Some(Protected::FoundOff) && is_behind(name));
    if let Some(breaker) = off.next() {
        let name = tell_protected(circuit, breaker);
        test.says.push_str(&format!(
            ". {name} was found off: before that close it once, {HANDS_OFF}, and say what comes of it, \
             `{name} holds` or `{name} trips at once`"
        ));
        return;
    }
    let called = account.complaints.iter().filter_map(|complaint| match complaint {
        Complaint::Trips { breaker, .. } | Complaint::WontReset { breaker } => Some(breaker),
        _ => None,
    });
    let seen = account.observations.iter().filter_map(|one| match &one.seen {
        Seen::Protection { name, did } => (*did != Protected::Holds).then_some(name),
        _ => None,
    });
    let mut trips = called.chain(seen).filter(|name| is_behind(name) && !holds(name));
    if let Some(breaker) = trips.next() {
        let name = tell_protected(circuit, breaker);
        test.says.push_str(&format!(
            ". {name} is closed once for it, {HANDS_OFF}; if it trips, leave it off and answer \
             `{name} trips at once`"
        ));
    }
}

/// How anything is closed that is off, or has tripped.
pub(super) const HANDS_OFF: &str = "with nobody touching any metal that it feeds";

/// Whether a test is made with an ohmmeter, on what is dead.
fn is_measured_dead(means: &Means, test: &TestReport) -> bool {
    let tool = means.tools.iter().find(|tool| tool.name == test.instrument);
    let is_ohmmeter = tool.is_some_and(|tool| matches!(tool.instrument, Instrument::Ohmmeter(_)));
    test.parting.is_some() || is_ohmmeter
}

/// What was switched off for what was measured last is closed again before anything is read live.
pub(super) fn closed_again(circuit: &Circuit, account: &Account, test: &mut TestReport) {
    if is_measured_dead(&account.means, test) {
        return;
    }
    let Some(last) = account.observations.last() else { return };
    let off = match &last.seen {
        Seen::Instrument { request, .. }
            if matches!(request.instrument, Instrument::Ohmmeter(_)) =>
        {
            let parting = words::parting_of(circuit, request);
            let known = Known::of(circuit);
            let feeding = Feeding::of(&known);
            let mut off = parting.map_or_else(Default::default, |at| feeding.off_at(&at.place));
            off.extend(last.moment.condition.breakers.clone());
            off
        }
        _ => return,
    };
    let off: BTreeSet<&String> = off
        .iter()
        .filter(|(name, closed)| !**closed && !test.breakers_off.contains(name))
        .map(|(name, _)| name)
        .collect();
    let is_said = test.switch.iter().any(|state| state.starts_with("breaker "));
    if !off.is_empty() && !is_said {
        test.says = format!(
            "Switch {} on again, {HANDS_OFF}. Then {}",
            breakers_called(circuit, off.into_iter()),
            lower(&test.says)
        );
    }
}

/// What was taken off its joints is joined again before anything is read live.
pub(super) fn joined_again(
    circuit: &Circuit,
    means: &Means,
    parted: &Parting,
    test: &mut TestReport,
) {
    if is_measured_dead(means, test) {
        return;
    }
    let cable = match parted.towards(circuit) {
        Some(towards) => format!("the cable to {towards}"),
        None => format!("cable {}", parted.cable),
    };
    test.says = format!(
        "With everything still off, join {cable} again at {} and close the box. Then {}",
        parted.place,
        lower(&test.says)
    );
}

/// What may burn is loaded for no longer than it takes to read.
pub(super) fn off_again(test: &mut TestReport) {
    let on = test.switch.iter().filter_map(|state| state.strip_suffix(" on"));
    let on: Vec<&str> = on.filter(|load| !load.starts_with("breaker ")).collect();
    if !on.is_empty() {
        test.says.push_str(&format!(
            ". A joint may burn: switch {} off again as soon as it is read",
            on.join(" and ")
        ));
    }
}

/// What showed before what fits nothing else well is looked at again.
pub(super) fn once_more(test: &mut TestReport) {
    test.says = format!("Once more, as what it showed fits little else: {}", lower(&test.says));
}

/// Nobody touches metal for a test with the power on where some is live, nor to switch something that has it.
pub(super) fn hands_off(test: &mut TestReport, (is_live, is_switched_live): (bool, bool)) {
    let is_dead = !test.breakers_off.is_empty();
    if is_live && !is_dead || is_switched_live && !test.switch.is_empty() {
        test.says = format!("Touching no metal, {}", lower(&test.says));
    }
}

/// `Switch breaker c2 off, heater on and unplug radio`, from states as a condition says them.
fn switching(states: &[String]) -> String {
    let (mut switched, mut unplugged) = (Vec::new(), Vec::new());
    for state in states {
        match state.strip_suffix(" unplugged") {
            Some(load) => unplugged.push(load),
            None => switched.push(state.as_str()),
        }
    }
    let is_closed = |state: &&str| state.starts_with("breaker ") && state.ends_with(" on");
    let hands_off =
        if switched.iter().any(is_closed) { format!(", {HANDS_OFF}") } else { String::new() };
    match (switched.join(", "), unplugged.join(", ")) {
        (switched, unplugged) if unplugged.is_empty() => format!("Switch {switched}{hands_off}"),
        (switched, unplugged) if switched.is_empty() => format!("Unplug {unplugged}"),
        (switched, unplugged) => format!("Switch {switched} and unplug {unplugged}{hands_off}"),
    }
}

pub(super) fn lower(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// How the instrument is held, and which breakers are off if it is held live all the same.
fn live_with_a_breaker_off(
    circuit: &Circuit,
    (account, instrument): (&Account, Option<&Instrument>),
    test: &NextTest,
) -> String {
    let held = held(circuit, (account, instrument), test);
    match breakers_off(test).next() {
        Some(_) if !is_dead(instrument, test) => {
            format!("With {} off, {}", dead(circuit, test), lower(&held))
        }
        _ => held,
    }
}

/// Whether what it is held to is proven dead.
fn is_dead(instrument: Option<&Instrument>, test: &NextTest) -> bool {
    matches!(instrument, Some(Instrument::Ohmmeter(_))) || test.parting.is_some()
}

/// Whether the box of a parting was looked into since the last repair, and stands open.
fn is_open(account: &Account, parting: &Parting) -> bool {
    let since = account.observations.iter().rev();
    let mut since = since.take_while(|one| !matches!(one.seen, Seen::Mended(_)));
    since.any(|one| matches!(&one.seen, Seen::Opened { place, .. } if *place == parting.place))
}

/// How the instrument is held there.
fn held(
    circuit: &Circuit,
    (account, instrument): (&Account, Option<&Instrument>),
    test: &NextTest,
) -> String {
    let tool = &test.instrument;
    let breakers = dead(circuit, test);
    if let Some(parting) = &test.parting {
        let cable = match parting.towards(circuit) {
            Some(towards) => format!("the cable to {towards}"),
            None => format!("cable {}", parting.cable),
        };
        let place = &parting.place;
        let first = match is_open(account, parting) {
            true => format!("in {place}, which is open"),
            false => format!("open {place} and look at every joint. If all are sound"),
        };
        return format!(
            "With {breakers} off and the box proven dead, {first}, take {cable} off its joints and read the \
             {tool} between its wires"
        );
    }
    let receptacle = term(circuit.parts().vocabulary, Term::Receptacle);
    let at = format!("{receptacle} {}", test.at);
    match instrument {
        Some(Instrument::PlugTester(_)) => format!("Plug the {tool} into {at} and read it"),
        Some(Instrument::NonContact(_)) => format!("Hold the {tool} detector to the slots of {at}"),
        Some(Instrument::LoadedTest(_)) => format!("Make a loaded test at {at}"),
        Some(Instrument::Ohmmeter(_)) => format!(
            "With {breakers} off and {at} proven dead and empty, read the {tool} between its slots"
        ),
        _ => format!("Read the {tool} between the slots of {at}"),
    }
}

fn breakers_off(test: &NextTest) -> impl Iterator<Item = &String> {
    let breakers = test.moment.condition.breakers.iter();
    breakers.filter(|(_, closed)| !**closed).map(|(name, _)| name)
}

/// Those that are off for a test.
fn dead(circuit: &Circuit, test: &NextTest) -> String {
    breakers_called(circuit, breakers_off(test))
}

/// `breaker c1`, `breakers c1, c2`.
pub(super) fn breakers_called<'n>(
    circuit: &Circuit,
    names: impl Iterator<Item = &'n String>,
) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let mut names: Vec<String> = names.map(|name| tell_handle(circuit, name)).collect();
    names.dedup();
    match names.as_slice() {
        [] => format!("the {breaker}"),
        [one] => format!("{breaker} {one}"),
        several => format!("{breaker}s {}", several.join(", ")),
    }
}

fn branch(circuit: &Circuit, test: &NextTest, branch: &Branch) -> BranchReport {
    let says = |showed: &&Showed| !says_nothing(showed);
    let each = test.looks.iter().zip(&branch.shows);
    let shows = each.filter(|(_, showed)| showed.iter().any(|one| says(&one)));
    let shows = shows.map(|(request, showed)| {
        let showed: Vec<Showed> = showed.iter().filter(says).map(rounded).collect();
        words::tell_showed(circuit, request, &showed)
    });
    BranchReport {
        shows: shows.collect::<Vec<_>>().join(", "),
        is_seen: branch.is_seen,
        boxes: branch.boxes.clone(),
        probability: branch.probability,
        suspect: branch.leading.map(|(at, _)| at),
        suspect_probability: branch.leading.map(|(_, probability)| probability),
    }
}

/// A figure as a person would say it.
pub(super) fn rounded(showed: &Showed) -> Showed {
    match showed {
        Showed::Volt(volt) => Showed::Volt(round_amount(volt)),
        Showed::LostVolt(volt) => Showed::LostVolt(round_amount(volt)),
        Showed::LostAlong { conductor, volt } => {
            Showed::LostAlong { conductor: conductor.clone(), volt: round_amount(volt) }
        }
        Showed::Ampere(ampere) => Showed::Ampere(round_amount(ampere)),
        Showed::Ohm(ohm) => Showed::Ohm(round_amount(ohm)),
        other => other.clone(),
    }
}

fn round_amount(amount: &Amount) -> Amount {
    match *amount {
        Amount::Exactly(value) => Amount::Exactly(round(value)),
        Amount::About(value) => Amount::About(round(value)),
        Amount::Between { low, high } => Amount::Between { low: round(low), high: round(high) },
        Amount::Under(high) => Amount::Under(round(high)),
        Amount::Over(low) => Amount::Over(round(low)),
    }
}

/// Less than this no instrument at hand tells from nothing, in any unit.
const NOTHING_READ: f64 = 1e-3;

/// Three digits from a thousand on, whole from ten on, tenths from one on, else two digits.
fn round(value: f64) -> f64 {
    let size = value.abs();
    let steps = match () {
        () if size < NOTHING_READ => return 0.0,
        () if size >= 1000.0 => 10_f64.powf(2.0 - size.log10().floor()),
        () if size >= 10.0 => 1.0,
        () if size >= 1.0 => 10.0,
        () if size > 0.0 => 10_f64.powf(1.0 - size.log10().floor()),
        () => 1.0,
    };
    (value * steps).round() / steps
}
