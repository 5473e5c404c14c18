//! The answer key: what is wrong, where, and why the readings come out as they do.

use std::collections::BTreeSet;

use crate::circuit::{Circuit, PlaceKind, Vocabulary};
use crate::condition::Condition;
use crate::condition::catalogue::{FaultKind, PossibleFault};
use crate::condition::words::{describe, speak};
use crate::drill::{Band, Difficulty, Drill, Misleading, Stage, Strategy};
use crate::instrument::MeasureProblem;
use crate::netlist::{Netlist, wire};
use crate::quantity::{Address, Phasor};
use crate::report::hazard_words::{HazardReport, SAID_ABOVE, known_as};
use crate::report::locate::NextReport;
use crate::report::vocabulary::{Term, term};
use crate::report::{Asked, LocateReport, ReadReport, ReportError, WhyReport};
use crate::solution::{Solution, solve};

use super::names::{self, place_in_words};
use super::sheet::{lines_of, name_of};

/// What the instructor is told.
///
/// ```
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::KeyReport;
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let key = KeyReport::new(&drill)?;
/// assert_eq!(key.faults.len(), drill.faults.len());
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct KeyReport {
    /// Place and kind of building.
    pub title: String,
    /// What the drill is drawn with again: family, seed and number.
    pub drill: String,
    /// Which words it speaks.
    pub vocabulary: Vocabulary,
    /// What is wrong.
    pub faults: Vec<HiddenFault>,
    /// Dangers of it, the gravest first.
    pub hazards: Vec<HazardReport>,
    /// What trips, in sentences, and how handles stood when it was read.
    pub protection: Vec<String>,
    /// The condition in which it was read, in words: the faults and the handles that stood tripped.
    /// `slotwise read` gives every reading again with it, the moment before anything more trips.
    pub read_in: Vec<String>,
    /// Why the readings come out as they do.
    pub why: Vec<WhyReading>,
    /// How misleading the first readings are.
    pub misleading: Misleading,
    /// The same in a sentence.
    pub misleads: String,
    /// The way of the computed strategy from the sheet on, where it was worked out.
    pub way: Option<WayReport>,
}

/// The way of the computed strategy through a drill.
///
/// ```
/// # use slotwise::report::WayReport;
/// fn n_steps(way: &WayReport) -> usize { way.steps.len() }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WayReport {
    /// Tests, and places gone to, in the order in which they came.
    pub steps: Vec<WayStep>,
    /// The boxes it opened, in order.
    pub boxes: Vec<String>,
    /// Whether every fault was found.
    pub found: bool,
    /// Minutes, tests and boxes.
    pub minutes: f64,
    /// The highest probability that the sheet alone gives a suspect that holds a true fault.
    pub sheet_share: f64,
    /// How hard the drill is.
    pub difficulty: Difficulty,
    /// The band of that.
    pub band: Band,
}

/// A step of that way, in the words that `locate` has for it.
///
/// ```
/// use slotwise::report::WayStep;
/// let step = WayStep { says: "Plug the tester into receptacle kiln".into(), ..WayStep::default() };
/// assert!(step.dangers.is_empty());
/// ```
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct WayStep {
    /// What may hurt as far as is known then, each once until something is mended, with what to do
    /// about it where the key has not said that before.
    pub dangers: Vec<String>,
    /// What is done, with what must be so for it.
    pub says: String,
    /// What was shown or found.
    pub comes_of_it: String,
    /// What it cost, seconds.
    pub cost_second: f64,
}

/// One fault of a key.
///
/// ```
/// use slotwise::report::HiddenFault;
/// let fault = HiddenFault {
///     says: "neutral open at kiln, line side".into(),
///     kind: "open_joint",
///     means: "a joint is open",
///     places: vec!["kiln".into()],
///     to_do: "open kiln".into(),
///     also_right: None,
/// };
/// assert_eq!(fault.places.len(), 1);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct HiddenFault {
    /// What it is and where, in the words of a condition.
    pub says: String,
    /// Its kind, as in docs/faults.md.
    pub kind: &'static str,
    /// What that means.
    pub means: &'static str,
    /// The boxes a person would open for it.
    pub places: Vec<String>,
    /// Where to go for it: what is opened, or why nothing is.
    pub to_do: String,
    /// What is taken as right too, because no instrument at any receptacle can tell it from this, the
    /// same trips and the same is complained of; nothing where that was not worked out.
    pub also_right: Option<Vec<String>>,
}

/// Why one terminal is at its potential.
///
/// ```
/// use slotwise::report::WhyReading;
/// let why = WhyReading { at: "kiln.neutral".into(), says: "kiln.neutral is at 120 V".into() };
/// assert!(why.says.starts_with(&why.at));
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct WhyReading {
    /// The terminal, or what tripped.
    pub at: String,
    /// What holds it there.
    pub says: String,
}

/// A potential that differs by this much from what it should be needs an explanation.
const AMISS_VOLT: f64 = 5.0;

/// Terminals explained at most.
const EXPLAINED: usize = 3;

impl KeyReport {
    /// The key of a drill.
    ///
    /// # Errors
    ///
    /// The network has no answer that can be trusted; a drill that was drawn has one.
    pub fn new(drill: &Drill) -> Result<Self, ReportError> {
        let circuit = &drill.circuit;
        let (standing, tripped) = drill.as_read()?;
        let vocabulary = circuit.parts().vocabulary;
        let report = ReadReport::new(circuit, &drill.condition, &Asked::default())?;
        let fault = |fault: &PossibleFault| HiddenFault {
            says: fault.sentence(circuit),
            kind: fault.kind.code(),
            means: fault.kind.meaning(),
            places: fault.places.clone(),
            to_do: to_do(circuit, fault),
            also_right: None,
        };
        let mut protection = report.protection.trips_in_words(vocabulary);
        protection.extend(when_read(&tripped, !report.protection.trips.is_empty()));
        Ok(Self {
            way: None,
            title: drill.title.clone(),
            drill: name_of(drill),
            vocabulary,
            faults: drill.faults.iter().map(fault).collect(),
            hazards: hazards(circuit, &standing, report.hazards)?,
            protection,
            read_in: describe(circuit, &standing),
            why: why(drill, &standing, &tripped)?,
            misleading: drill.misleading,
            misleads: misleads(drill)?,
        })
    }
}

/// What is asked of the condition in which a drill is read: what trips later has not tripped yet.
pub(crate) fn as_read() -> Asked {
    Asked { before_trips: true, ..Asked::default() }
}

/// Dangers as it stands when it is read, after those that end with a trip.
fn hazards(
    circuit: &Circuit,
    standing: &Condition,
    of_sequence: Vec<HazardReport>,
) -> Result<Vec<HazardReport>, ReportError> {
    let stands = ReadReport::new(circuit, standing, &as_read())?.hazards;
    let is_known = |one: &HazardReport| {
        stands.iter().any(|known| (known.kind, &known.addresses) == (one.kind, &one.addresses))
    };
    let ends = of_sequence.into_iter().filter(|one| one.until_s.is_some() && !is_known(one));
    let mut all: Vec<HazardReport> = ends.chain(stands.iter().cloned()).collect();
    all.sort_by_key(|hazard| hazard.severity);
    Ok(all)
}

/// How the handles stood when it was read, where anything trips.
fn when_read(tripped: &[String], trips: bool) -> Option<String> {
    match tripped {
        [] => trips.then(|| "When it was read nothing had tripped yet.".to_owned()),
        [only] => Some(format!("When it was read {only} had tripped; reset, it trips again.")),
        several => Some(format!(
            "When it was read {} had tripped; reset, they trip again.",
            several.join(" and ")
        )),
    }
}

impl KeyReport {
    /// The same with what is taken as right too, for which much of the catalogue is read.
    ///
    /// # Errors
    ///
    /// As [`Drill::also_right`].
    pub fn with_also_right(mut self, drill: &Drill) -> Result<Self, ReportError> {
        let also = drill.also_right()?;
        for (place, fault) in self.faults.iter_mut().enumerate() {
            let alike = also.iter().filter(|(_, faults)| faults.contains(&place));
            let says = alike.map(|(one, _)| one.sentence(&drill.circuit));
            fault.also_right = Some(says.collect());
        }
        Ok(self)
    }
}

impl KeyReport {
    /// The same with the way of the computed strategy, which takes longer than all the rest.
    ///
    /// # Errors
    ///
    /// As [`Drill::strategy`].
    pub fn with_way(mut self, drill: &Drill) -> Result<Self, ReportError> {
        let advised = self.hazards.iter().map(|hazard| known_as(&hazard.advice)).collect();
        let mut teller = WayTeller { drill, steps: Vec::new(), warned: Vec::new(), advised };
        let strategy = drill.strategy_told(&mut |stage| teller.tell(stage))?;
        self.way = Some(way(&drill.misleading, &strategy, teller.steps));
        Ok(self)
    }
}

/// Where to go for a fault: what is opened, or why nothing is.
fn to_do(circuit: &Circuit, fault: &PossibleFault) -> String {
    let breaker = term(circuit.parts().vocabulary, Term::Breaker);
    if let Some(load) = fault.appliance(circuit) {
        let name = speak::name(&load.id);
        return format!(
            "nothing is opened: with its {breaker} off, unplug {name} and have its insulation tested"
        );
    }
    let is_box =
        |place: &String| circuit.place(place).is_some_and(|place| place.kind == PlaceKind::Box);
    match fault.kind {
        FaultKind::SupplyVoltage => {
            "nothing is opened: have what arrives measured, and call the utility".to_owned()
        }
        FaultKind::ServiceLost | FaultKind::ServiceBad => {
            "nothing is opened: no breaker makes the service dead, and it is for who may work on it"
                .to_owned()
        }
        kind if kind.is_setting() => "nothing is opened: look at the handle".to_owned(),
        _ if fault.places.is_empty() => {
            "at the panel or before it, which stays closed: for who may work there".to_owned()
        }
        _ if fault.places.iter().all(is_box) => format!("open {}", fault.places.join(" and ")),
        _ => format!(
            "at {}, where no {breaker} makes everything dead: for who may work there",
            fault.places.join(" and ")
        ),
    }
}

/// Dangers less likely than this are in every house, and the key has the true ones at its head.
const TOLD_FROM: f64 = 0.02;

/// Tells the way of the strategy as it goes.
struct WayTeller<'d> {
    drill: &'d Drill,
    steps: Vec<WayStep>,
    /// Dangers told since something was mended.
    warned: Vec<&'static str>,
    /// What the key has said is to be done.
    advised: BTreeSet<String>,
}

impl WayTeller<'_> {
    fn tell(&mut self, stage: Stage<'_, '_>) -> Result<(), MeasureProblem> {
        let vocabulary = self.drill.circuit.parts().vocabulary;
        match stage {
            Stage::Again(complaints) => {
                self.warned.clear();
                let said: Vec<String> =
                    complaints.iter().map(|one| names::say(&self.drill.circuit, one)).collect();
                let says = format!("It is mended, and not all is well: {}", said.join(" "));
                self.steps.push(WayStep { says, ..WayStep::default() });
            }
            Stage::Advised(inquiry, advice) => {
                let report = LocateReport::new(inquiry, advice)?;
                let says = match report.next {
                    NextReport::Test(test) => test.says,
                    NextReport::Stop(stop) => stop.says,
                    NextReport::Repair(repair) => repair.says,
                };
                let mut dangers = Vec::new();
                let told = report
                    .warnings
                    .iter()
                    .filter(|one| one.is_grave() && one.probability >= TOLD_FROM);
                for warning in told {
                    if !self.warned.contains(&warning.kind) {
                        self.warned.push(warning.kind);
                        let mut danger = warning.how_likely();
                        if self.advised.insert(known_as(&warning.advice)) {
                            danger = format!("{danger} {}", warning.advice);
                        }
                        dangers.push(danger);
                    }
                }
                let says = self.without_what_is_said(says);
                self.steps.push(WayStep { dangers, says, ..WayStep::default() });
            }
            Stage::Made(test) => {
                let lines = lines_of(&test.readings, vocabulary);
                let shown: Vec<String> = lines.into_iter().map(|line| line.shows).collect();
                self.comes_to(shown.join("; "), test.cost_s);
            }
            Stage::Went(found, cost_s) => {
                let found = match found.as_slice() {
                    [] => "nothing is wrong there".to_owned(),
                    found => format!("found: {}", found.join("; ")),
                };
                self.comes_to(found, cost_s);
            }
        }
        Ok(())
    }

    /// What to do, without what the key has said is to be done.
    fn without_what_is_said(&self, says: String) -> String {
        let known = known_as(&says);
        let said = self.advised.iter().map(|advice| advice.trim_end_matches('.'));
        match said.filter(|advice| !advice.is_empty()).find(|advice| known.contains(advice)) {
            Some(advice) => known.replacen(advice, SAID_ABOVE.trim_end_matches('.'), 1),
            None => says,
        }
    }

    fn comes_to(&mut self, comes_of_it: String, cost_second: f64) {
        if let Some(step) = self.steps.last_mut() {
            step.comes_of_it = comes_of_it;
            step.cost_second = cost_second;
        }
    }
}

fn way(misleading: &Misleading, strategy: &Strategy, steps: Vec<WayStep>) -> WayReport {
    let difficulty = Difficulty::of(misleading, strategy);
    WayReport {
        steps,
        boxes: strategy.boxes.clone(),
        found: strategy.found,
        minutes: strategy.minutes(),
        sheet_share: strategy.sheet_share,
        difficulty,
        band: difficulty.band(),
    }
}

fn why(
    drill: &Drill,
    standing: &Condition,
    tripped: &[String],
) -> Result<Vec<WhyReading>, ReportError> {
    let circuit = &drill.circuit;
    let off: Vec<WhyReading> = off(drill, tripped).collect();
    let now = wire(circuit, standing)?;
    let sound = wire(circuit, &Condition::default())?;
    let now = (solve(&now)?, now);
    let sound = (solve(&sound)?, sound);
    let mut seen = BTreeSet::new();
    let slots = circuit.outlets().flat_map(|(_, outlet)| &outlet.slots).map(|(_, slot)| slot);
    // Two halves may share a slot.
    let slots = slots.filter(|slot| seen.insert((*slot).clone()));
    let amiss = slots.filter(|slot| {
        // What is dead because a handle is open is said once.
        let is_dead = potential(&now, slot).is_some_and(|volt| volt.magnitude() < AMISS_VOLT);
        moved(&now, &sound, slot) > AMISS_VOLT && (off.is_empty() || !is_dead)
    });
    let each = amiss.take(EXPLAINED).map(|slot| {
        let says = WhyReport::new(circuit, standing, slot)?.says;
        Ok(WhyReading { at: slot.to_string(), says })
    });
    let each = each.collect::<Result<Vec<WhyReading>, ReportError>>()?;
    Ok(off.into_iter().chain(each).collect())
}

/// The handles that are open, by a trip or as what is wrong.
fn off<'d>(drill: &'d Drill, tripped: &'d [String]) -> impl Iterator<Item = WhyReading> {
    let breaker = term(drill.circuit.parts().vocabulary, Term::Breaker);
    let set = drill.condition.breakers.iter().filter(|(_, closed)| !**closed);
    let set = set.map(move |(name, _)| {
        let says = match drill.circuit.branch_circuit(name) {
            Some(_) => format!("The {breaker} {name} is off: what it feeds is dead."),
            None => format!("{name} stands tripped: what it feeds is dead."),
        };
        WhyReading { at: name.clone(), says }
    });
    let tripped = tripped.first().map(|first| {
        let says = match tripped {
            [only] => {
                format!("{only} has tripped: what it feeds is dead, whatever is wrong with it.")
            }
            several => format!(
                "{} have tripped: what they feed is dead, whatever is wrong with it.",
                several.join(" and ")
            ),
        };
        WhyReading { at: first.clone(), says }
    });
    set.chain(tripped)
}

fn potential((solution, netlist): &(Solution, Netlist), at: &Address) -> Option<Phasor> {
    netlist.find_node(at).and_then(|node| solution.potential(node))
}

/// Volts by which a terminal is not where it should be.
fn moved(now: &(Solution, Netlist), sound: &(Solution, Netlist), at: &Address) -> f64 {
    match (potential(now, at), potential(sound, at)) {
        (Some(now), Some(sound)) => (now - sound).magnitude(),
        (None, None) => 0.0,
        _ => f64::INFINITY,
    }
}

/// What walking the run with a tester comes to.
fn misleads(drill: &Drill) -> Result<String, MeasureProblem> {
    let is_in_a_box = |fault: &PossibleFault| {
        let mut places = fault.places.iter().filter_map(|place| drill.circuit.place(place));
        places.any(|place| place.kind == PlaceKind::Box)
    };
    let mut said = match (drill.misleading.boxes_off, drill.faults.as_slice()) {
        (Some(0), [only]) if is_in_a_box(only) => {
            "Walking the run with a plug-in tester leads to the right box: where it first shows \
             something amiss, or the one before."
                .to_owned()
        }
        (Some(0), [_]) => {
            "Walking the run with a plug-in tester leads to where the run begins: what \
                           is wrong is there or before it."
                .to_owned()
        }
        (Some(0), _) => {
            "Walking the run with a plug-in tester leads to one of the faults, where it \
                         first shows something amiss or one before; of the others it says nothing \
                         then."
                .to_owned()
        }
        (Some(1), _) => "Walking the run with a plug-in tester leads one box astray.".to_owned(),
        (Some(boxes), _) => {
            format!("Walking the run with a plug-in tester leads {boxes} boxes astray.")
        }
        (None, _) => leads_nowhere(drill)?,
    };
    if drill.misleading.live_though_dark {
        said.push_str(" It stays dark at a receptacle with a live contact.");
    }
    Ok(said)
}

/// The same where no box with a fault is come to.
fn leads_nowhere(drill: &Drill) -> Result<String, MeasureProblem> {
    Ok(match drill.walk()? {
        (None, _) => {
            "A plug-in tester shows nothing amiss at any receptacle that leads there.".to_owned()
        }
        (Some(at), true) => format!(
            "A plug-in tester shows something amiss first at {}, and that leads to no box with a \
             fault.",
            place_in_words(&at)
        ),
        (Some(at), false) => {
            let appliances = drill.faults.iter().filter_map(|one| one.appliance(&drill.circuit));
            let named: BTreeSet<String> = appliances.map(|one| speak::name(&one.id)).collect();
            let what = match named.is_empty() {
                true => "what the supply delivers".to_owned(),
                false => named.into_iter().collect::<Vec<_>>().join(" and "),
            };
            format!(
                "A plug-in tester shows something amiss first at {}, and no box holds what is \
                 wrong: it is in {what}.",
                place_in_words(&at)
            )
        }
    })
}
