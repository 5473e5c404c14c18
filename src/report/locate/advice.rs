//! What to do next, in words: a test with what each outcome will mean, or where to go.

use crate::circuit::reach::Reach;
use crate::circuit::{Circuit, DeviceKind, PlaceKind};
use crate::condition::catalogue::{FaultKind, PossibleFault};
use crate::condition::words::known::Known;
use crate::condition::words::{describe, speak};
use crate::condition::{Condition, LoadState, SwitchPosition};
use crate::diagnosis::words::tell_protected;
use crate::diagnosis::{
    Account, Advice, Amount, Because, Branch, Complaint, Feeding, Found, GoTo, Inquiry, LoadSeen,
    Means, NextTest, Overload, PanelMetal, Parting, Seen, Showed, Stop, WhenItTrips, words,
};
use crate::instrument::{Instrument, MeasureProblem};
use crate::report::figure::{amperes, leak, milliamperes, percent};
use crate::report::hazard_words::panel_live;
use crate::report::vocabulary::{Term, prose, term};

use super::repair::{ExpectedReading, expected};
use super::suspect::{SuspectReport, Teller, is_handle};

/// What to do next.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum NextReport {
    /// A test.
    Test(TestReport),
    /// No more tests.
    Stop(StopReport),
    /// Something was found in an opened box.
    Repair(RepairReport),
}

/// What was found, and what everything reads once it is repaired.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct RepairReport {
    /// What to do, in words.
    pub says: String,
    /// What was found, as it was told.
    pub found: String,
    /// What the instruments at hand show everywhere once nothing is wrong.
    pub after_repair: Vec<ExpectedReading>,
}

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
    /// Loads that stand otherwise then than the circuit file has them, in the words of a condition.
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

/// Why testing ends, and where to go.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct StopReport {
    /// What to do, in words.
    pub says: String,
    /// Why testing ends.
    pub because: Because,
    /// The same in words.
    pub because_says: &'static str,
    /// Where to go, in this order, until the fault is seen.
    pub go_to: Vec<GoToReport>,
    /// What that is expected to cost, seconds.
    pub cost_second: f64,
    /// What the instruments at hand show everywhere once nothing is wrong.
    pub after_repair: Vec<ExpectedReading>,
}

/// A place to go to.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct GoToReport {
    /// The place.
    pub place: String,
    /// Whether a handle is to be looked at, nothing opened.
    pub handle: bool,
    /// Which breaker, device or switch that is, where it is a certain one.
    pub name: Option<String>,
    /// An appliance that is to be unplugged and tested, nothing opened.
    pub appliance: Option<String>,
    /// Whether it is what the supply delivers that is to be measured, nothing opened.
    pub supply: bool,
    /// Whether it is mostly a conductor of the service or the supply that is suspected there, which
    /// no breaker makes dead.
    pub service: bool,
    /// The chance that the first fault is seen there, after none was seen before.
    pub chance: f64,
    /// What to look for there.
    pub look_for: Vec<String>,
}

/// Of a place so many things to look for are named.
const LOOKED_FOR: usize = 4;

/// What else is known where somebody is told where to go.
pub(super) struct Besides {
    /// What breakers carry that are said to trip, in sentences.
    pub(super) overloads: Vec<String>,
    /// Loads that are said not to run, as they are said.
    pub(super) dead_loads: Vec<String>,
    /// From what somebody felt a shock: what is off stays off.
    pub(super) felt_from: Vec<String>,
    /// Whether the panel's own metal may be live.
    pub(super) panel_metal: PanelMetal,
}

pub(super) fn next(
    teller: &Teller<'_>,
    (account, found): (&Account, Option<String>),
    suspects: &[SuspectReport],
    besides: &Besides,
    (inquiry, advice): (&Inquiry<'_>, &Advice),
) -> Result<NextReport, MeasureProblem> {
    let means = &account.means;
    let after_repair = || -> Result<Vec<ExpectedReading>, MeasureProblem> {
        Ok(expected(teller.circuit, means, &inquiry.after_repair()?))
    };
    if let Some(found) = found {
        let others = still_suspected(teller, account, suspects);
        let others = match others.as_slice() {
            [] => String::new(),
            some => format!(", and look for what is still suspected: {}", some.join(" and ")),
        };
        let says = format!(
            "{found}. Have it put right by someone licensed{others}, then read every receptacle \
             again: what it should show stands below"
        );
        return Ok(NextReport::Repair(RepairReport { says, found, after_repair: after_repair()? }));
    }
    Ok(match advice {
        Advice::Test(test) => NextReport::Test(test_report(teller.circuit, means, test)),
        Advice::Stop(stop) => {
            NextReport::Stop(stop_report(teller, suspects, stop, besides, after_repair()?))
        }
    })
}

/// What is suspected beside what was found last, each with how likely it is.
fn still_suspected(
    teller: &Teller<'_>,
    account: &Account,
    suspects: &[SuspectReport],
) -> Vec<String> {
    let Some(Seen::Opened { found, .. }) = account.observations.last().map(|last| &last.seen)
    else {
        return Vec::new();
    };
    let was_found = |fault: &PossibleFault| {
        found.iter().any(|found| match found {
            Found::Fault(found) => fault.change.faults.contains(found),
            Found::BadJoint { element } => fault
                .change
                .faults
                .iter()
                .any(|fault| fault.joint().is_some_and(|known| known == element)),
        })
    };
    let others = teller.findings.suspects.iter().zip(suspects).filter(|(suspect, _)| {
        suspect.probability >= STILL_SUSPECTED_FROM
            && !suspect.faults.iter().any(|one| was_found(&one.fault))
    });
    others.map(|(_, one)| format!("{} ({})", one.says, percent(one.probability))).collect()
}

/// What is as likely as this is named beside what was found.
const STILL_SUSPECTED_FROM: f64 = 0.3;

/// Loads that are said not to run, and were not seen to run since, as they are said.
pub(super) fn dead_loads(account: &Account) -> Vec<String> {
    let runs = |name: &String| {
        account.observations.iter().any(
            |one| matches!(&one.seen, Seen::Load { load, seen: LoadSeen::Runs } if load == name),
        )
    };
    let dead = account.complaints.iter().filter_map(|complaint| match complaint {
        Complaint::LoadDead { load } if !runs(load) => Some(speak::name(load)),
        _ => None,
    });
    dead.collect()
}

/// From what somebody felt a shock, as it is said.
pub(super) fn felt_from(complaints: &[Complaint]) -> Vec<String> {
    let felt = complaints.iter().filter_map(|complaint| match complaint {
        Complaint::Tingle { from } => Some(speak::name(from)),
        _ => None,
    });
    felt.collect()
}

/// What a breaker carries that is said to trip, in a sentence.
pub(super) fn overload_says(circuit: &Circuit, overload: &Overload) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let name = tell_protected(circuit, &overload.breaker);
    let load = overload.load.as_ref().map(|load| speak::name(load));
    if overload.is_leakage {
        let with = match (&load, overload.is_all_on) {
            (Some(load), true) => format!("With {load} and everything else on"),
            (Some(load), false) => format!("With {load} on"),
            (None, true) => "With everything on".to_owned(),
            (None, false) => "As described".to_owned(),
        };
        return format!(
            "{with}, filters and insulation leak {} past {name}, which may trip from less than its \
             {} on: put less on it, or spread it over more than one device",
            leak(overload.ampere),
            milliamperes(overload.rating_ampere)
        );
    }
    let (ampere, rating) = (amperes(overload.ampere), overload.rating_ampere);
    let carries = format!("{breaker} {name} carries {ampere} A and is rated {rating} A");
    match load {
        Some(load) if overload.is_stalled => format!(
            "While {load} stands still and cannot start, {carries}: see whether it turns freely and \
             is not started under load, and try it elsewhere"
        ),
        Some(load) if overload.is_all_on => {
            format!("With {load} and everything else on, {carries}: run less on it at once")
        }
        Some(load) => format!("With {load} on, {carries}: run less on it at once"),
        None if overload.is_all_on => {
            format!("With everything on, {carries}: run less on it at once")
        }
        None => format!("As described, {carries}: run less on it at once"),
    }
}

/// A test in words.
pub(super) fn test_report(circuit: &Circuit, means: &Means, test: &NextTest) -> TestReport {
    let breakers = test.breakers.iter().map(|(name, closed)| {
        format!("breaker {} {}", tell_protected(circuit, name), if *closed { "on" } else { "off" })
    });
    let loads = test.switch.iter().map(|(load, state)| load_stands(load, *state));
    let otherwise = test.moment.condition.loads.iter().filter(|(name, state)| {
        let described = circuit.load(name).map(|load| match (load.plugged_in, load.on) {
            (false, _) => LoadState::Unplugged,
            (true, true) => LoadState::On,
            (true, false) => LoadState::Off,
        });
        described != Some(**state)
    });
    let switch: Vec<String> = breakers.chain(loads).collect();
    let tool = means.tools.iter().find(|tool| tool.name == test.instrument);
    let held = live_with_a_breaker_off(circuit, tool.map(|tool| &tool.instrument), test);
    let says = match switch.as_slice() {
        [] => held,
        some => format!("{}. Then {}", switching(some), lower(&held)),
    };
    TestReport {
        says,
        instrument: test.instrument.clone(),
        at: test.at.to_string(),
        parting: test.parting.clone(),
        breakers_off: breakers_off(test).cloned().collect(),
        switch,
        stands: otherwise.map(|(load, state)| load_stands(load, *state)).collect(),
        cost_second: test.cost_s,
        saves_second: test.saves_s,
        branches: test.branches.iter().map(|one| branch(circuit, test, one)).collect(),
    }
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
pub(super) fn closing_what_trips(
    circuit: &Circuit,
    complaints: &[Complaint],
    test: &mut TestReport,
) {
    let outlet = circuit.outlets().find(|(_, outlet)| outlet.address.as_str() == test.at);
    let Some((place, outlet)) = outlet else { return };
    let known = Known::of(circuit);
    let feeding = Feeding::of(&known).off_at(&place.id);
    // What is read dead needs nothing closed.
    if feeding.keys().any(|breaker| test.breakers_off.contains(breaker)) {
        return;
    }
    let is_open = |name: &String| test.breakers_off.contains(name);
    let is_behind = |name: &String| match circuit.device(name) {
        _ if is_open(name) => false,
        Some(device) => {
            let fed = Reach::behind(circuit, device).terminals;
            outlet.slots.iter().any(|(_, slot)| fed.contains(slot.as_str()))
        }
        None => feeding.contains_key(name),
    };
    let trips = complaints.iter().find_map(|complaint| match complaint {
        Complaint::Trips { breaker, when: WhenItTrips::AtOnce }
        | Complaint::WontReset { breaker } => is_behind(breaker).then_some(breaker),
        // What trips now and then may be closed; a device that did shows nothing of it.
        Complaint::Trips { breaker, .. } => {
            (circuit.device(breaker).is_some() && is_behind(breaker)).then_some(breaker)
        }
        _ => None,
    });
    if let Some(breaker) = trips {
        let name = tell_protected(circuit, breaker);
        test.says.push_str(&format!(
            ". {name} is closed once for it, with nobody touching any metal that it feeds; if it trips, \
             leave it off and answer `{name} trips at once`"
        ));
    }
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

/// Where metal may be live nothing is switched or unplugged on it live.
pub(super) fn dead_while_switching(circuit: &Circuit, test: &mut TestReport) {
    if test.switch.is_empty() || !test.breakers_off.is_empty() {
        return;
    }
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    test.says = format!("With the {breaker} off for that alone, {}", lower(&test.says));
}

/// Where the panel's metal may be live nobody is sent to it, nor to metal that is joined to it.
pub(super) fn hands_off(test: &mut TestReport) {
    if !test.switch.is_empty() {
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
    match (switched.join(", "), unplugged.join(", ")) {
        (switched, unplugged) if unplugged.is_empty() => format!("Switch {switched}"),
        (switched, unplugged) if switched.is_empty() => format!("Unplug {unplugged}"),
        (switched, unplugged) => format!("Switch {switched} and unplug {unplugged}"),
    }
}

fn lower(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// How the instrument is held, and which breakers are off if it is held live all the same.
fn live_with_a_breaker_off(
    circuit: &Circuit,
    instrument: Option<&Instrument>,
    test: &NextTest,
) -> String {
    let held = held(circuit, instrument, test);
    let is_dead = matches!(instrument, Some(Instrument::Ohmmeter(_))) || test.parting.is_some();
    match breakers_off(test).next() {
        Some(_) if !is_dead => format!("With {} off, {}", dead(circuit, test), lower(&held)),
        _ => held,
    }
}

/// How the instrument is held there.
fn held(circuit: &Circuit, instrument: Option<&Instrument>, test: &NextTest) -> String {
    let tool = &test.instrument;
    let breakers = dead(circuit, test);
    if let Some(parting) = &test.parting {
        let cable = match parting.towards(circuit) {
            Some(towards) => format!("the cable to {towards}"),
            None => format!("cable {}", parting.cable),
        };
        return format!(
            "With {breakers} off and the box proven dead, open {} and look at every joint. If all \
             are sound, take {cable} off its joints and read the {tool} between its wires",
            parting.place
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

/// `breaker c1`, `breakers c1, c2`: those that are off for a test.
fn dead(circuit: &Circuit, test: &NextTest) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let names: Vec<String> = breakers_off(test).map(|name| tell_protected(circuit, name)).collect();
    match names.as_slice() {
        [] => format!("the {breaker}"),
        [one] => format!("{breaker} {one}"),
        several => format!("{breaker}s {}", several.join(", ")),
    }
}

fn branch(circuit: &Circuit, test: &NextTest, branch: &Branch) -> BranchReport {
    let each = test.looks.iter().zip(&branch.shows).filter(|(_, showed)| !showed.is_empty());
    let shows = each.map(|(request, showed)| {
        let showed: Vec<Showed> = showed.iter().map(rounded).collect();
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

fn stop_report(
    teller: &Teller<'_>,
    suspects: &[SuspectReport],
    stop: &Stop,
    besides: &Besides,
    after_repair: Vec<ExpectedReading>,
) -> StopReport {
    // To a panel that is live nobody is sent.
    let is_live = stop.because == Because::PanelLive;
    let go_to: Vec<GoToReport> =
        stop.go_to.iter().filter(|_| !is_live).map(|one| go_to(teller, one)).collect();
    StopReport {
        says: stop_says(teller.circuit, (suspects, &go_to), stop, besides),
        because: stop.because,
        because_says: because(stop.because),
        go_to,
        cost_second: stop.cost_s,
        after_repair,
    }
}

const fn because(because: Because) -> &'static str {
    match because {
        Because::Sure => "the place is as sure as was asked for",
        Because::OneBox => "whatever it is, it is in one box",
        Because::TestsCostMore => "every test left costs more than it saves in opening boxes",
        Because::NothingParts => "no test within reach parts what is left",
        Because::NothingWrong => "nothing is wrong, as far as can be told",
        Because::NothingKnown => "nothing that is known explains what was seen",
        Because::HandleFirst => "to look is free and parts much: tests go on from the answer",
        Because::ClosedAgain => "it was off, and is well since it was closed",
        Because::PanelLive => "the panel's own metal may be live: nothing is switched there",
        Because::StillFelt => "a shock was felt, and nothing that was read explains it",
        Because::Felt => "what is hot, smells or sparks is opened, not tested",
        Because::Overloaded => "what is on the breaker explains that it trips",
    }
}

fn stop_says(
    circuit: &Circuit,
    (suspects, go_to): (&[SuspectReport], &[GoToReport]),
    stop: &Stop,
    besides: &Besides,
) -> String {
    let usual = usual_stop(circuit, (suspects, go_to), stop, besides);
    let takes_a_breaker = match stop.because {
        Because::StillFelt => true,
        Because::PanelLive
        | Because::NothingWrong
        | Because::NothingKnown
        | Because::ClosedAgain
        | Because::Overloaded => false,
        _ => go_to.first().is_some_and(|first| !first.handle && !is_panel(circuit, first)),
    };
    match besides.panel_metal == PanelMetal::MayBeLive && takes_a_breaker {
        true => {
            let panel = prose(circuit.parts().vocabulary, &panel_live(PanelMetal::MayBeLive));
            format!("{panel} Once its metal is proven dead, and not before: {}", lower(&usual))
        }
        false => usual,
    }
}

fn usual_stop(
    circuit: &Circuit,
    (suspects, go_to): (&[SuspectReport], &[GoToReport]),
    stop: &Stop,
    besides: &Besides,
) -> String {
    let vocabulary = circuit.parts().vocabulary;
    let breaker = term(vocabulary, Term::Breaker);
    match (stop.because, go_to.first(), suspects.first()) {
        (Because::Overloaded, ..) => besides.overloads.join(". "),
        (Because::PanelLive, ..) => {
            format!("Test nothing more. {}", prose(vocabulary, &panel_live(PanelMetal::Live)))
        }
        (Because::StillFelt, ..) => still_felt(circuit, besides),
        (Because::ClosedAgain, _, Some(first)) if is_a_switch(first) => {
            "The switch stood in its other position: nothing is left to repair. See that all it feeds \
             works, in every position of each switch"
                .to_owned()
        }
        (Because::ClosedAgain, ..) => format!(
            "It was off, or had tripped, and holds now: nothing is left to repair. See that all it \
             feeds works again, and press the test button of a {} once. If it trips again, say so \
             with what was in use then",
            term(circuit.parts().vocabulary, Term::GroundFaultDevice)
        ),
        (Because::NothingWrong, ..) if !besides.dead_loads.is_empty() => {
            let loads = besides.dead_loads.join(" and ");
            format!(
                "As far as was read the wiring brings {loads} its voltage: try it elsewhere, then its \
                 cord, its own switch and its own protection; of a lamp the bulb first. If it runs \
                 elsewhere, read the place again with it on"
            )
        }
        (Because::NothingWrong, ..) => {
            "Nothing to repair has shown itself. If the complaint comes back, read the same places \
             again while it is there"
                .to_owned()
        }
        (Because::NothingKnown, ..) => {
            "Stop: no fault on the list, alone or with another, explains this. Check that no other \
             circuit feeds these boxes and that the circuit file is how it is wired, and repeat the \
             reading named below"
                .to_owned()
        }
        (_, Some(first), _)
            if besides.panel_metal != PanelMetal::NotLive && is_panel(circuit, first) =>
        {
            keep_off(first)
        }
        (Because::Felt, Some(first), _) if is_main(circuit, first) => format!(
            "Switch the main off and leave it off, and have {} opened by whoever may: what comes in from \
             the service stays live in it, and no {breaker} makes its joints dead. Look for scorched, \
             loose or melted ones",
            panel_called(&first.place)
        ),
        (Because::Felt, Some(first), _) => format!(
            "Switch the {breaker} off and leave it off. With the box proven dead, open {} or have it \
             opened by whoever may, and look for scorched, loose or melted joints",
            first.place
        ),
        (_, Some(first), _) if nothing_is_opened(first) => without_opening(circuit, first, besides),
        (_, Some(first), leading) => open_it(circuit, first, leading),
        _ => "There is nothing to open".to_owned(),
    }
}

/// Whether what is suspected is how a switch stands.
fn is_a_switch(suspect: &SuspectReport) -> bool {
    suspect.faults.first().is_some_and(|one| one.kind == FaultKind::SwitchOther.code())
}

/// What to do at a box, or at a panel, that is to be opened.
fn open_it(circuit: &Circuit, first: &GoToReport, leading: Option<&SuspectReport>) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let chance = percent(first.chance);
    // What leads may be elsewhere: what is looked for is what may be there.
    let is_there = |one: &&SuspectReport| one.boxes.contains(&first.place);
    let what = match (leading.filter(is_there), first.look_for.first()) {
        (Some(leading), _) => {
            format!(" Look for: {} ({}).", leading.says, percent(leading.probability))
        }
        (None, Some(here)) => format!(" Look for: {here}."),
        (None, None) => String::new(),
    };
    let panel = circuit.place(&first.place).filter(|at| at.kind == PlaceKind::Panel);
    match panel {
        Some(panel) if circuit.is_fed_by_no_cable(panel) => format!(
            "Switch the main off and have {} opened by whoever may ({chance}): what comes in \
             from the service stays live in it.{what}",
            panel_called(&first.place)
        ),
        Some(_) => format!(
            "Switch off the {breaker} that feeds {0}, have {0} proven dead and opened by \
             whoever may ({chance}).{what}",
            panel_called(&first.place)
        ),
        None => format!(
            "With the {breaker} off and the box proven dead, open {} ({chance}).{what}",
            first.place
        ),
    }
}

/// Whether a place is a panel.
fn is_panel(circuit: &Circuit, one: &GoToReport) -> bool {
    circuit.place(&one.place).is_some_and(|place| place.kind == PlaceKind::Panel)
}

/// Whether a place is the panel that the service feeds.
fn is_main(circuit: &Circuit, one: &GoToReport) -> bool {
    let place = circuit.place(&one.place).filter(|_| is_panel(circuit, one));
    place.is_some_and(|panel| circuit.is_fed_by_no_cable(panel))
}

/// What to do with a panel whose own metal may be live.
fn keep_off(first: &GoToReport) -> String {
    let look_for = first.look_for.first().map_or("all of them", String::as_str);
    format!(
        "Touch neither {} nor any metal joined to it, switch nothing there, keep everybody away \
         and have the utility cut the supply outside ({look_for}? {}). What has to be \
         measured or opened there is for who may work on the service",
        first.place,
        percent(first.chance)
    )
}

/// What to do where somebody felt a shock and no reading says why.
fn still_felt(circuit: &Circuit, besides: &Besides) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let ground = term(circuit.parts().vocabulary, Term::Ground);
    let from = besides.felt_from.join(" and ");
    format!(
        "Nobody feels a shock for nothing, and no reading explains this one. Touch {from} no more: with \
         its {breaker} off have it unplugged or disconnected, and leave it so until its insulation, and \
         the {ground} from its case to its plug, have been tested dead. If both are good, have the \
         place measured by someone licensed while it is felt"
    )
}

/// A panel by its name, with the word if it does not begin so.
fn panel_called(name: &str) -> String {
    match name.to_lowercase().starts_with("panel") {
        true => name.to_owned(),
        false => format!("panel {name}"),
    }
}

/// Whether no box is opened at a place by whoever reads this.
fn nothing_is_opened(first: &GoToReport) -> bool {
    first.handle || first.supply || first.service || first.appliance.is_some()
}

/// What to do at a place where no box is opened.
fn without_opening(circuit: &Circuit, first: &GoToReport, besides: &Besides) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let look_for = first.look_for.first().map_or("all of them", String::as_str);
    let chance = percent(first.chance);
    if first.handle && !besides.felt_from.is_empty() {
        return format!(
            "Look at the handles and reset buttons at {} first ({look_for}?), and leave off what is \
             off: somebody felt a shock. Unplug the appliance, or have it disconnected, and have \
             its insulation and its ground tested dead before anything is closed again",
            first.place
        );
    }
    if let Some(switch) = first.name.as_ref().filter(|_| first.handle)
        && let Some(described) = as_described(circuit, switch)
    {
        let load = besides.dead_loads.first().map_or("LOAD", String::as_str);
        return format!(
            "Throw the switch at {} first ({look_for}?): nothing needs to be opened. Say what comes of \
             it, as `{load} runs with {described}` or `{load} dead with {described}`",
            first.place
        );
    }
    if first.handle {
        let answers = first.name.as_ref().filter(|name| {
            circuit
                .device(name)
                .is_none_or(|device| matches!(device.kind, DeviceKind::Protective { .. }))
        });
        let answers = answers.map_or_else(String::new, |name| {
            let name = tell_protected(circuit, name);
            format!(
                ": answer `{name} holds`, `{name} trips at once`, `{name} does not reset` or \
                 `{name} found off`"
            )
        });
        return format!(
            "Look at the handles and reset buttons at {} first ({look_for}?): nothing needs to \
             be opened. What is off or has tripped is closed once, and watched{answers}",
            first.place
        );
    }
    if first.supply {
        return format!(
            "Have what arrives at {} measured first, by whoever may work there ({look_for}? \
             {chance}): no box is opened for it. If it is so, call the utility",
            first.place
        );
    }
    if let Some(load) = first.appliance.as_ref().filter(|_| !first.service) {
        return format!(
            "With its {breaker} off, unplug {} ({chance}): its insulation is to be tested, and \
             nothing else is opened for it. Everything else should work without it",
            speak::name(load)
        );
    }
    format!(
        "Switch off the main, or every {breaker}, keep off the metal of {} and call the utility \
         ({look_for}? {chance}). No {breaker} makes these conductors dead: what has to be measured or \
         opened there is for who may work on the service",
        first.place
    )
}

/// How a switch stands as the circuit describes it, in the words of a condition: so it stands once it
/// was thrown, if it stood otherwise.
fn as_described(circuit: &Circuit, switch: &str) -> Option<String> {
    let position = SwitchPosition::described(&circuit.device(switch)?.kind)?;
    let switches = [(switch.to_owned(), position)].into();
    Some(describe(circuit, &Condition { switches, ..Condition::default() }).join(", "))
}

fn go_to(teller: &Teller<'_>, one: &GoTo) -> GoToReport {
    let mut faults: Vec<(f64, String)> = Vec::new();
    let (mut of_service, mut all) = (0.0, 0.0);
    for suspect in &teller.findings.suspects {
        let here = suspect.faults.iter().filter(|f| match one.supply {
            true => f.fault.kind == FaultKind::SupplyVoltage,
            false => f.fault.places.contains(&one.place),
        });
        let sought = |fault: &PossibleFault| {
            let appliance = fault.appliance(teller.circuit).map(|load| load.id.as_str());
            is_handle(fault.kind) == one.handle && appliance == one.appliance.as_deref()
        };
        let is_named = |fault: &PossibleFault| {
            let Some(name) = one.name.as_ref().filter(|_| one.handle) else { return true };
            let change = &fault.change;
            change.breakers.contains_key(name) || change.switches.contains_key(name)
        };
        for fault in here.filter(|f| sought(&f.fault) && is_named(&f.fault)) {
            let weight = suspect.probability * fault.share;
            all += weight;
            if matches!(fault.fault.kind, FaultKind::ServiceLost | FaultKind::ServiceBad) {
                of_service += weight;
            }
            faults.push((weight, fault.fault.sentence(teller.circuit)));
        }
    }
    faults.sort_by(|a, b| b.0.total_cmp(&a.0));
    GoToReport {
        place: one.place.clone(),
        handle: one.handle,
        name: one.name.clone(),
        appliance: one.appliance.clone(),
        supply: one.supply,
        service: of_service > 0.5 * all,
        chance: one.chance,
        look_for: faults.into_iter().take(LOOKED_FOR).map(|(_, sentence)| sentence).collect(),
    }
}
