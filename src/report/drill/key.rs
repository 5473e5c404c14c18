//! The answer key: what is wrong, where, and why the readings come out as they do.

use crate::circuit::Vocabulary;
use crate::condition::{Condition, LoadState};
use crate::drill::{Band, Difficulty, Drill, Misleading, Strategy, Test};
use crate::lookalike::after_tripping;
use crate::netlist::{Netlist, wire};
use crate::quantity::Address;
use crate::report::hazard_words::HazardReport;
use crate::report::{Asked, ReadReport, ReportError, WhyReport};
use crate::solution::{Solution, solve};

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
    /// What trips, in sentences.
    pub protection: Vec<String>,
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
/// fn n_tests(way: &WayReport) -> usize { way.tests.len() }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WayReport {
    /// The tests in words, in order, each with what it showed.
    pub tests: Vec<String>,
    /// The boxes it went to, in order.
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

/// One fault of a key.
///
/// ```
/// use slotwise::report::HiddenFault;
/// let fault = HiddenFault {
///     says: "neutral open at kiln, line side".into(),
///     kind: "open_joint",
///     means: "a joint is open",
///     places: vec!["kiln".into()],
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
    /// The terminal.
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
        let report = ReadReport::new(circuit, &drill.condition, &Asked::default())?;
        let fault = |fault: &crate::condition::catalogue::PossibleFault| HiddenFault {
            says: fault.sentence(circuit),
            kind: fault.kind.code(),
            means: fault.kind.meaning(),
            places: fault.places.clone(),
        };
        Ok(Self {
            way: None,
            title: drill.title.clone(),
            drill: name_of(drill),
            vocabulary: circuit.parts().vocabulary,
            faults: drill.faults.iter().map(fault).collect(),
            hazards: report.hazards,
            protection: report.protection.says,
            why: why(drill)?,
            misleading: drill.misleading,
            misleads: misleads(&drill.misleading),
        })
    }
}

impl KeyReport {
    /// The same with the way of the computed strategy, which takes longer than all the rest.
    ///
    /// # Errors
    ///
    /// As [`Drill::strategy`].
    pub fn with_way(mut self, drill: &Drill) -> Result<Self, ReportError> {
        self.way = Some(way(&drill.misleading, &drill.strategy()?, self.vocabulary));
        Ok(self)
    }
}

fn way(misleading: &Misleading, strategy: &Strategy, vocabulary: Vocabulary) -> WayReport {
    let difficulty = Difficulty::of(misleading, strategy);
    let test = |test: &Test| {
        let state = |(load, at): (&String, &LoadState)| {
            let word = match at {
                LoadState::On => "on",
                LoadState::Off => "off",
                LoadState::Unplugged => "unplugged",
                LoadState::Stalled => "stalled",
            };
            format!("{load} {word}")
        };
        let mut said: Vec<String> = test.switched.iter().map(state).collect();
        said.extend(
            lines_of(&test.readings, vocabulary)
                .into_iter()
                .map(|line| format!("{} at {}: {}", line.tool, line.at, line.shows)),
        );
        said.extend(test.ohms.iter().cloned());
        format!("{} ({:.0} s)", said.join("; "), test.cost_s)
    };
    WayReport {
        tests: strategy.tests.iter().map(test).collect(),
        boxes: strategy.boxes.clone(),
        found: strategy.found,
        minutes: strategy.minutes(),
        sheet_share: strategy.sheet_share,
        difficulty,
        band: difficulty.band(),
    }
}

fn why(drill: &Drill) -> Result<Vec<WhyReading>, ReportError> {
    let circuit = &drill.circuit;
    let standing = after_tripping(circuit, &drill.condition)
        .map_or_else(|_| drill.condition.clone(), |(condition, _)| condition);
    let now = wire(circuit, &standing)?;
    let sound = wire(circuit, &Condition::default())?;
    let now = (solve(&now)?, now);
    let sound = (solve(&sound)?, sound);
    let slots = circuit.outlets().flat_map(|(_, outlet)| &outlet.slots).map(|(_, slot)| slot);
    let amiss = slots.filter(|slot| moved(&now, &sound, slot) > AMISS_VOLT);
    amiss
        .take(EXPLAINED)
        .map(|slot| {
            let says = WhyReport::new(circuit, &standing, slot)?.says;
            Ok(WhyReading { at: slot.to_string(), says })
        })
        .collect()
}

/// Volts by which a terminal is not where it should be.
fn moved(now: &(Solution, Netlist), sound: &(Solution, Netlist), at: &Address) -> f64 {
    let potential = |(solution, netlist): &(Solution, Netlist)| {
        netlist.find_node(at).and_then(|node| solution.potential(node))
    };
    match (potential(now), potential(sound)) {
        (Some(now), Some(sound)) => (now - sound).magnitude(),
        (None, None) => 0.0,
        _ => f64::INFINITY,
    }
}

fn misleads(misleading: &Misleading) -> String {
    let mut said = match misleading.boxes_off {
        Some(0) => "Walking the run with a plug-in tester leads to the right box: where it first \
                    shows something amiss, or the one before."
            .to_owned(),
        Some(1) => "Walking the run with a plug-in tester leads one box astray.".to_owned(),
        Some(boxes) => {
            format!("Walking the run with a plug-in tester leads {boxes} boxes astray.")
        }
        None => "A plug-in tester shows nothing amiss anywhere.".to_owned(),
    };
    if misleading.live_though_dark {
        said.push_str(" It stays dark at a receptacle with a live contact.");
    }
    said
}
