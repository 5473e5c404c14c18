//! Why testing ends and where to go, in words.

use std::collections::BTreeMap;

use crate::circuit::reach::{Branches, Reach};
use crate::circuit::{Circuit, DeviceKind, Load, PlaceKind};
use crate::condition::catalogue::{FaultKind, PossibleFault};
use crate::condition::words::known::Known;
use crate::condition::words::{describe, speak};
use crate::condition::{Condition, LoadState, SwitchPosition};
use crate::diagnosis::words::{tell_mended, tell_protected};
use crate::diagnosis::{
    Because, Feeding, GoTo, Mended, PanelMetal, Stop, is_load_among, place_of_load,
};
use crate::report::figure::percent;
use crate::report::hazard_words::panel_live;
use crate::report::vocabulary::{Term, prose, term};

use super::advice::Besides;
use super::cable::{measured_apart, measured_end_to_end};
use super::repair::ExpectedReading;
use super::suspect::{SuspectReport, Teller, is_handle};
use super::test::{HANDS_OFF, breakers_called, lower};

/// Why testing ends, and where to go.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct StopReport {
    /// What to do, in words.
    pub says: String,
    /// Why testing ends.
    pub because: Because,
    /// The same in words.
    pub because_says: String,
    /// Where to go, in this order, until the fault is seen.
    pub go_to: Vec<GoToReport>,
    /// How everything is to stand where something is tried first, in the words of a condition.
    pub stands: Vec<String>,
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

pub(super) fn stop_report(
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
        says: stop_says(teller, (suspects, &go_to), stop, besides),
        because: stop.because,
        because_says: match stop.because {
            Because::Mended if !besides.dead_loads.is_empty() => {
                "what was found is mended, and what is left is likeliest in the load itself"
                    .to_owned()
            }
            Because::NothingWrong if !besides.trips_everywhere.is_empty() => {
                "it trips wherever it is plugged in: what is wrong is in the load itself".to_owned()
            }
            because => prose(teller.circuit.parts().vocabulary, because_says(because)),
        },
        go_to,
        stands: stop
            .moment
            .as_ref()
            .map_or_else(Vec::new, |moment| describe(teller.circuit, &moment.condition)),
        cost_second: stop.cost_s,
        after_repair,
    }
}

const fn because_says(because: Because) -> &'static str {
    match because {
        Because::Sure => "the place is as sure as was asked for",
        Because::OneBox => "whatever it is, it is in one box",
        Because::TestsCostMore => "every test left costs more than it saves in opening boxes",
        Because::NothingParts => "no test within reach parts what is left",
        Because::NothingWrong => "nothing is wrong, as far as can be told",
        Because::NothingKnown => "nothing that is known explains what was seen",
        Because::HandleFirst => "to look is free and parts much: tests go on from the answer",
        Because::UnpluggedFirst => {
            "it parts what is plugged in from the wiring, for a minute's work"
        }
        Because::AddedBack => "it tells which of them it trips with, and no box is opened",
        Because::ThrownFirst => "it is free, and parts what is on one way from what is on both",
        Because::ClosedAgain => "it was off, and is well since it was closed",
        Because::Mended => "what was found is mended, and nothing seen since asks for more",
        Because::PanelLive => "the panel's own metal may be live: nothing is switched there",
        Because::StillFelt => "what was felt or measured live is explained by nothing else",
        Because::StillWarm => "what was hot, smelt or sparked is explained by nothing else",
        Because::LiveDespiteBreaker => {
            "what stays live with its breaker off is explained by nothing else"
        }
        Because::Felt => "what is hot, smells or sparks is opened, not tested",
        Because::Overloaded => "what is on the breaker explains that it trips",
    }
}

fn stop_says(
    teller: &Teller<'_>,
    (suspects, go_to): (&[SuspectReport], &[GoToReport]),
    stop: &Stop,
    besides: &Besides,
) -> String {
    let (circuit, kept_off) = (teller.circuit, teller.kept_off);
    let mut usual = usual_stop(teller, (suspects, go_to), stop, besides);
    let is_repair = matches!(
        stop.because,
        Because::Sure | Because::OneBox | Because::TestsCostMore | Because::NothingParts
    );
    if let Some((load, chance)) = besides.dead_itself.as_ref().filter(|_| is_repair) {
        usual = format!(
            "{}. Besides, {load} may well be dead itself ({}): try {}",
            usual.trim_end_matches('.'),
            percent(*chance),
            match besides.is_dead_wired {
                true => wired_alone(besides),
                false => "it elsewhere, or a good bulb",
            }
        );
    }
    let takes_a_breaker = match stop.because {
        Because::StillFelt | Because::StillWarm => true,
        Because::PanelLive
        | Because::NothingWrong
        | Because::NothingKnown
        | Because::ClosedAgain
        | Because::Mended
        | Because::LiveDespiteBreaker
        | Because::Overloaded => false,
        _ => go_to.first().is_some_and(|first| !first.handle && !is_panel(circuit, first)),
    };
    if !takes_a_breaker {
        return usual;
    }
    let before = go_to.first().and_then(|first| kept_off.before(&first.place));
    // That its metal is proven dead is said once.
    let then = lower(usual.strip_prefix(MAIN_OFF).unwrap_or(&usual));
    match (kept_off.metal(), before) {
        (PanelMetal::MayBeLive, _) => {
            let panel = prose(circuit.parts().vocabulary, &panel_live(PanelMetal::MayBeLive));
            format!("{panel} Once its metal is proven dead, and not before: {then}")
        }
        (PanelMetal::NotLive, Some(panel)) => {
            format!(
                "{} Once its metal is proven dead, and not before: {then}",
                keep_off_subpanel(circuit, &panel)
            )
        }
        _ => usual,
    }
}

/// What to do with a panel behind another whose own metal may be live.
fn keep_off_subpanel(circuit: &Circuit, panel: &str) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    format!(
        "The metal of {panel} may be live: touch neither it nor any metal joined to it, and switch \
         nothing in it. Switch off the {breaker} that feeds it, where that stands, and have it proven \
         dead."
    )
}

fn usual_stop(
    teller: &Teller<'_>,
    (suspects, go_to): (&[SuspectReport], &[GoToReport]),
    stop: &Stop,
    besides: &Besides,
) -> String {
    let (circuit, kept_off) = (teller.circuit, teller.kept_off);
    let vocabulary = circuit.parts().vocabulary;
    let breaker = term(vocabulary, Term::Breaker);
    match (stop.because, go_to.first(), suspects.first()) {
        (Because::Overloaded, ..) => besides.overloads.join(". "),
        (Because::PanelLive, ..) => {
            format!("Test nothing more. {}", prose(vocabulary, &panel_live(PanelMetal::Live)))
        }
        (Because::StillFelt, ..) => still_felt(circuit, besides),
        (Because::StillWarm, ..) => still_warm(circuit, besides),
        (Because::LiveDespiteBreaker, ..) => live_despite_breaker(circuit, besides),
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
        (Because::Mended, ..) if !besides.dead_loads.is_empty() => dead_load(circuit, besides),
        (Because::Mended, ..) => {
            "Nothing more is left to repair, as far as was read. Read every receptacle once more, and \
             see each load run: what everything should show stands below. If anything differs, say so"
                .to_owned()
        }
        (Because::NothingWrong, ..) => nothing_wrong(circuit, besides),
        (Because::NothingKnown, ..) => {
            "Stop: nothing on the list that is likely otherwise, alone or with another, explains all of this. \
             Check that no other circuit feeds these boxes and that the circuit file is how it is wired, and \
             repeat what fits least"
                .to_owned()
        }
        (Because::UnpluggedFirst, Some(first), _) => unplugged_first(circuit, first),
        (Because::AddedBack, Some(first), _) => added_back(circuit, first, stop),
        (Because::ThrownFirst, ..) => thrown_first(circuit, stop, besides),
        (_, Some(first), _)
            if kept_off.metal() != PanelMetal::NotLive && is_panel(circuit, first) =>
        {
            keep_off(circuit, first)
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
        (_, Some(first), leading) => {
            measured_end_to_end(teller)
                .or_else(|| measured_apart(teller, &first.place))
                .unwrap_or_else(|| open_it(teller, first, leading))
        }
        _ => "There is nothing to open".to_owned(),
    }
}

/// What to do where nothing is wrong as far as can be told.
fn nothing_wrong(circuit: &Circuit, besides: &Besides) -> String {
    if !besides.trips_everywhere.is_empty() {
        let loads = besides.trips_everywhere.join(" and ");
        return format!(
            "It is {loads} itself: it trips elsewhere too. Leave it unplugged, touch no metal of it while \
             it is plugged in anywhere, and have it repaired or replaced. If anything trips without it, say \
             so: testing goes on from there"
        );
    }
    let is_itself = |load: &String| besides.dead_everywhere.contains(load);
    if !besides.dead_loads.is_empty() && besides.dead_loads.iter().all(is_itself) {
        return format!(
            "It is {} itself: dead elsewhere too. Look at its cord, its own switch and its own protection, of \
             a lamp at a good bulb first",
            besides.dead_loads.join(" and ")
        );
    }
    if !besides.dead_loads.is_empty() {
        return dead_load(circuit, besides);
    }
    if !besides.overloads.is_empty() {
        return format!(
            "{}. Nothing else to repair shows itself: if it trips with less on it too, say with what",
            besides.overloads.join(". ")
        );
    }
    let Some((name, is_residual)) = &besides.trips_at_times else {
        return "Nothing to repair has shown itself. If the complaint comes back, read the same places \
                again while it is there"
            .to_owned();
    };
    let damp = match is_residual {
        true => format!(
            " What trips a {} now and then is mostly damp: with it off and everything unplugged have the \
             insulation of what it feeds measured while it is wet, what is outdoors first",
            term(circuit.parts().vocabulary, Term::GroundFaultDevice)
        ),
        false => String::new(),
    };
    format!(
        "Nothing to repair shows itself while {name} holds: what trips it is there only at times. Note what \
         runs then, for how long, and whether it is wet, and read the same places while it is there.{damp}"
    )
}

/// What to do with a load that does not run although the wiring is likely good.
fn dead_load(circuit: &Circuit, besides: &Besides) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let loads = besides.dead_loads.join(" and ");
    let brings = match besides.is_read_there {
        true => format!("As far as was read the wiring brings {loads} its voltage"),
        false => format!("Most likely it is {loads}"),
    };
    let first = besides.dead_loads.first().map_or("", String::as_str);
    if let Some(load) = besides.runs_elsewhere.as_ref().and_then(|load| circuit.load(load)) {
        let place = place_of_load(circuit, load).map_or_else(String::new, |at| speak::name(&at));
        return format!(
            "{first} runs elsewhere, and nothing wrong was read at {place}: plug it in there once more, firmly. If \
             it is dead there again, the slots of {place} do not hold its plug: have that receptacle replaced and say \
             `replaced {place}`. If it runs, say `{first} runs`"
        );
    }
    match besides.is_dead_wired {
        true => format!(
            "{brings}: try {} first. If it stays dead, say `replaced {first}` and `{first} dead`: testing goes on \
             from there. Its own box is opened only with the {breaker} off and the box proven dead",
            wired_alone(besides)
        ),
        false => format!(
            "{brings}: try it elsewhere, and say `{first} runs elsewhere` or `{first} dead elsewhere`: \
             testing goes on from there. Then look at its cord, its own switch and its own protection; of a \
             lamp at a good bulb first"
        ),
    }
}

/// What is tried of something wired in before its box is opened.
const fn wired_alone(besides: &Besides) -> &'static str {
    match besides.may_be_a_light {
        true => "a good bulb, its own switch and its own protection",
        false => "its own switch, what it is regulated by and its own protection",
    }
}

/// Whether what is suspected is how a switch stands.
fn is_a_switch(suspect: &SuspectReport) -> bool {
    suspect.faults.first().is_some_and(|one| one.kind == FaultKind::SwitchOther.code())
}

/// What to do at a box, or at a panel, that is to be opened.
fn open_it(teller: &Teller<'_>, first: &GoToReport, leading: Option<&SuspectReport>) -> String {
    let (circuit, means) = (teller.circuit, teller.means);
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
        None if !means.may_open_boxes
            || !means.may_switch_breakers
            || means.out_of_reach.contains(&first.place) =>
        {
            format!(
                "Have {1} opened by whoever may, with {0} off and the box proven dead ({chance}).{what}",
                breakers_of(circuit, &first.place),
                first.place
            )
        }
        None => format!(
            "With {} off and the box proven dead, open {} ({chance}).{what}",
            breakers_of(circuit, &first.place),
            first.place
        ),
    }
}

/// The breakers that a box is fed by, or shares a neutral with, as far as they can be named in a breath.
fn breakers_of(circuit: &Circuit, place: &str) -> String {
    let known = Known::of(circuit);
    let off = Feeding::of(&known).off_at(place);
    let named = (1..=BREAKERS_NAMED).contains(&off.len());
    breakers_called(circuit, off.keys().filter(|_| named))
}

/// So many breakers are named in a breath.
const BREAKERS_NAMED: usize = 4;

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
fn keep_off(circuit: &Circuit, first: &GoToReport) -> String {
    let utility = prose(circuit.parts().vocabulary, "utility");
    let look_for = first.look_for.first().map_or("all of them", String::as_str);
    format!(
        "Touch neither {} nor any metal joined to it, switch nothing there, keep everybody away \
         and have the {utility} cut the supply outside ({look_for}? {}). What has to be \
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
    if from.is_empty() {
        return format!(
            "It was measured live, and nothing else that was said explains it. Touch none of it and keep \
             everybody away. Read it once more, with another instrument that was checked on a known live \
             source; if it is so again, switch the main off and have the place measured by someone \
             licensed. The {breaker} alone may not make it dead"
        );
    }
    format!(
        "Nobody feels a shock for nothing, and no reading explains this one. Touch {from} no more: with \
         its {breaker} off have it unplugged or disconnected, and leave it so until its insulation, and \
         the {ground} from its case to its plug, have been tested dead. If both are good, have the \
         place measured by someone licensed while it is felt"
    )
}

/// What to do where something was hot, smelt or sparked and nothing that was seen or read says why.
fn still_warm(circuit: &Circuit, besides: &Besides) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let receptacle = term(circuit.parts().vocabulary, Term::Receptacle);
    let places = &circuit.parts().places;
    let is_box = |name: &&str| {
        circuit.place(name).is_some_and(|place| place.kind == PlaceKind::Box)
            && !besides.warm_at.iter().any(|warm| warm == name)
    };
    let is_warm = |name: &str| besides.warm_at.iter().any(|warm| warm == name);
    let before = places
        .iter()
        .filter(|place| is_warm(&place.id))
        .filter_map(|place| place.fed_from.as_deref());
    let past = places.iter().filter(|place| place.fed_from.as_deref().is_some_and(is_warm));
    let beside: Vec<&str> =
        before.chain(past.map(|place| place.id.as_str())).filter(is_box).collect();
    let beside = match beside.as_slice() {
        [] => String::new(),
        some => format!(
            " Then have {} opened too, proven dead: heat and smoke travel along a cable",
            some.join(" and ")
        ),
    };
    format!(
        "Nothing gets hot, smells or sparks for nothing, and nothing seen or read explains it. Switch the \
         {breaker} off and leave it off. Look at what was plugged in at {}: its plug, its cord and the slots \
         they were in; have a {receptacle} that is browned, or holds a plug loosely, replaced, and say \
         `replaced {}`.{beside}",
        besides.warm_at.join(" and "),
        besides.warm_at.first().map_or("", String::as_str),
    )
}

/// What to do where something stays live with its breaker off.
fn live_despite_breaker(circuit: &Circuit, besides: &Besides) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let live = besides.live_despite_breaker.first().map_or("it", String::as_str);
    if let Some(other) = besides.dead_with.as_deref().map(speak::name) {
        return format!(
            "{live} was live with its own {breaker} off, and dead with {breaker} {other} off: that is what feeds it, likely, \
             and not what the circuit file says. Make sure of both once more with another instrument that was \
             checked on a known live source. Then have the hots in the panel put where they belong, or its labels \
             and the circuit file put right, by whoever may. Until then switch both off, and prove it dead, \
             before any wire of it is touched"
        );
    }
    format!(
        "Open no box and touch no wire there, whatever is switched off: {live} was live with its own \
         {breaker} off. Make sure with another instrument that was checked on a known live source. If it is \
         so again, have one {breaker} after another switched off until it goes dead, and say which, as \
         `{live} dead with {} off`. If it is live with every one of them off, something else feeds it, as a \
         generator, an inverter or a neighbour's supply: leave it to someone licensed",
        another_breaker(circuit)
    )
}

/// A breaker as one is called: the last, as the first is usually the one that is off.
fn another_breaker(circuit: &Circuit) -> String {
    let poles = &circuit.parts().branch_circuits;
    poles.last().map_or_else(|| "another".to_owned(), |pole| speak::name(&pole.id))
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

/// What to do first with a light that several switches switch.
fn thrown_first(circuit: &Circuit, stop: &Stop, besides: &Besides) -> String {
    let switches = stop.moment.iter().flat_map(|moment| moment.condition.switches.clone());
    let condition = Condition { switches: switches.collect(), ..Condition::default() };
    let names: Vec<&str> = condition.switches.keys().map(String::as_str).collect();
    let stand = describe(circuit, &condition).join(" and ");
    let switched = names.first().and_then(|name| switched_load(circuit, name, besides));
    let load = switched.unwrap_or_default();
    let is_back = |(name, position): (&String, &SwitchPosition)| {
        SwitchPosition::described_in(circuit, name) == Some(*position)
    };
    let n_back = condition.switches.iter().filter(|&one| is_back(one)).count();
    let how = match n_back {
        0 => ", each the other way than when somebody called",
        back if back == names.len() => ", each as when somebody called",
        _ => "",
    };
    format!(
        "Throw the switches at {} so that they stand with {stand}{how}, and see whether {load} runs. Say `{load} \
         runs with {stand}`, or `{load} dead with {stand}`",
        names.join(" and ")
    )
}

/// What to do first with what trips as soon as it is closed.
fn unplugged_first(circuit: &Circuit, first: &GoToReport) -> String {
    let by_circuit = Branches::of(circuit).loads(circuit);
    let (name, fed) = (protected(circuit, first), everything_on(circuit, first, &by_circuit));
    let is_plugged = |load: &&Load| !load.plug_links.is_empty();
    let feeds_plugs = match first.name.as_deref().and_then(|name| by_circuit.get(name)) {
        Some(fed) => fed.iter().any(is_plugged),
        None => true,
    };
    let away = match feeds_plugs {
        true => "unplug everything that it feeds; switch off what is wired in, lights at the wall",
        false => "switch off everything that it feeds, lights at the wall",
    };
    format!(
        "Leave {name} off and {away}. Then close {name} \
         once, {HANDS_OFF}, and answer `{name} holds with everything{fed} unplugged` or `{name} trips at once with \
         everything{fed} unplugged`"
    )
}

/// What to do with what holds with everything taken away, where one load is added back.
fn added_back(circuit: &Circuit, first: &GoToReport, stop: &Stop) -> String {
    let by_circuit = Branches::of(circuit).loads(circuit);
    let (name, fed) = (protected(circuit, first), everything_on(circuit, first, &by_circuit));
    let moment = stop.moment.iter().flat_map(|moment| &moment.condition.loads);
    let on = moment.filter(|(_, state)| **state == LoadState::On);
    let on: Vec<&Load> = on.filter_map(|(load, _)| circuit.load(load)).collect();
    let loads: Vec<String> = on.iter().map(|load| speak::name(&load.id)).collect();
    let loads = loads.join(" and ");
    let add = match on.iter().any(|load| load.plug_links.is_empty()) {
        true => format!("switch {loads} on"),
        false => format!("plug {loads} in and switch it on"),
    };
    let with = format!("with everything{fed} unplugged, {loads} on");
    format!(
        "Switch {name} off, leave all else as it is and {add}. Then close {name} once, {HANDS_OFF}, and answer \
         `{name} holds {with}` or `{name} trips at once {with}`"
    )
}

/// The breaker or device that is gone to, by what it is called.
fn protected(circuit: &Circuit, first: &GoToReport) -> String {
    first.name.as_ref().map_or_else(String::new, |name| tell_protected(circuit, name))
}

/// ` on c1` for the loads of one circuit, nothing where it feeds all that there are.
fn everything_on(
    circuit: &Circuit,
    first: &GoToReport,
    by_circuit: &BTreeMap<&str, Vec<&Load>>,
) -> String {
    let n_all = circuit.parts().loads.len();
    let some_of_all = |name: &&str| by_circuit.get(name).is_some_and(|fed| fed.len() < n_all);
    let fed = first.name.as_deref().filter(some_of_all);
    fed.map_or_else(String::new, |name| format!(" on {}", speak::name(name)))
}

/// What to do at a place where no box is opened.
fn without_opening(circuit: &Circuit, first: &GoToReport, besides: &Besides) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let name = first.name.as_ref().map(|name| tell_protected(circuit, name));
    let all = name.unwrap_or_else(|| "all of them".to_owned());
    let look_for = first.look_for.first().unwrap_or(&all);
    let chance = percent(first.chance);
    if first.handle && !besides.felt_from.is_empty() {
        return format!(
            "Look at the handles and reset buttons at {} first ({look_for}?), and leave off what is \
             off: somebody felt a shock. Switch off what feeds the metal too. Once that is proven dead have \
             the appliance unplugged or disconnected, and its insulation and its {} tested before anything \
             is closed again",
            first.place,
            term(circuit.parts().vocabulary, Term::Ground)
        );
    }
    if let Some(switch) = first.name.as_ref().filter(|_| first.handle)
        && let Some(described) = as_described(circuit, switch)
    {
        // Thrown back it stands as before, so that what is told of it is told of one position.
        let answer = switched_load(circuit, switch, besides).map_or_else(String::new, |load| {
            format!(": `{load} runs with {described}`, or `{load} dead with {described}`")
        });
        return format!(
            "Throw the switch at {} first ({look_for}?), so that it stands with {described}: nothing needs to \
             be opened. If nothing comes of it throw it back. Say what came of it{answer}",
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
             be opened. What is off or has tripped is closed once, {HANDS_OFF}, and watched{answers}",
            first.place
        );
    }
    if first.supply {
        return format!(
            "Have what arrives at {} measured first, by whoever may work there ({look_for}? \
             {chance}): no box is opened for it. If it is so, call the {}; once it is put right say \
             `{}`, and what is read then",
            first.place,
            prose(circuit.parts().vocabulary, "utility"),
            tell_mended(&Mended::Supply)
        );
    }
    if let Some(load) = first.appliance.as_ref().filter(|_| !first.service) {
        return unplug(circuit, load, &chance, besides);
    }
    format!(
        "Switch off the main, or every {breaker}, keep off the metal of {} and call the {} \
         ({look_for}? {chance}). No {breaker} makes these conductors dead: what has to be measured or \
         opened there is for who may work on the service",
        first.place,
        prose(circuit.parts().vocabulary, "utility")
    )
}

/// How an appliance is reached whose case may be live.
const MAIN_OFF: &str = "Once the main is off and its metal proven dead, ";

/// What to do with an appliance that may be at fault itself.
fn unplug(circuit: &Circuit, load: &str, chance: &str, besides: &Besides) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    let off = match besides.is_metal_live {
        true => MAIN_OFF.to_owned(),
        false => format!("With its {breaker} off, "),
    };
    let load = speak::name(load);
    let others = besides.dead_loads.iter().filter(|other| **other != load);
    let others: Vec<&str> = others.map(String::as_str).collect();
    let then = match others.as_slice() {
        [] => "Everything else should work without it".to_owned(),
        some => format!("Then see whether {} runs without it, and say so", some.join(" or ")),
    };
    format!(
        "{off}unplug {load} ({chance}): it is to be tested for a short and for its insulation, and \
         nothing else is opened for it. {then}; if it is at fault say `replaced {load}` once it is replaced or \
         mended"
    )
}

/// A load that a switch switches, one that is said to be dead if there is one.
fn switched_load(circuit: &Circuit, switch: &str, besides: &Besides) -> Option<String> {
    let through = Reach::through(circuit, switch);
    let is_switched = |load: &&Load| is_load_among(circuit, load, &through);
    let switched = circuit.parts().loads.iter().filter(is_switched);
    let switched: Vec<String> = switched.map(|load| speak::name(&load.id)).collect();
    let dead = switched.iter().find(|load| besides.dead_loads.contains(load));
    dead.or(switched.first()).cloned()
}

/// How a switch stands as the circuit describes it, in the words of a condition: so it stands once it
/// was thrown, if it stood otherwise.
fn as_described(circuit: &Circuit, switch: &str) -> Option<String> {
    let position = SwitchPosition::described_in(circuit, switch)?;
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
    // A transformer, a generator or a meter is nobody's box here.
    let is_supply =
        teller.circuit.place(&one.place).is_some_and(|place| place.kind == PlaceKind::Supply);
    GoToReport {
        place: one.place.clone(),
        handle: one.handle,
        name: one.name.clone(),
        appliance: one.appliance.clone(),
        supply: one.supply,
        service: of_service > 0.5 * all || is_supply,
        chance: one.chance,
        look_for: faults.into_iter().take(LOOKED_FOR).map(|(_, sentence)| sentence).collect(),
    }
}
