//! Suspects in words: what, where, how likely, what speaks for and against, what would part
//! them.

use crate::circuit::{Circuit, PlaceKind, Side, Vocabulary};
use crate::condition::catalogue::{FaultKind, PossibleFault};
use crate::condition::words::speak;
use crate::diagnosis::{
    Findings, KeptOff, Means, PanelMetal, Spot, Suspect, SuspectFault, Word, words,
};
use crate::lookalike::Wrong;
use crate::report::lookalikes::wrong_in_words;
use crate::report::vocabulary::{line, prose};

/// Faults that no available test parts.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct SuspectReport {
    /// What and where, in one line.
    pub says: String,
    /// How likely it is there, whatever else is.
    pub probability: f64,
    /// How likely it is an open joint that makes contact now and then, if it is there.
    pub intermittent: f64,
    /// The places it may be in, in walking order.
    pub boxes: Vec<String>,
    /// Its faults, the likeliest first.
    pub faults: Vec<FaultReport>,
    /// The act that would part its faults; none where there is only one.
    pub parted_by: Option<String>,
    /// What was told and speaks for it, the strongest first.
    pub speaks_for: Vec<WordReport>,
    /// What was told and speaks against it, the strongest first.
    pub speaks_against: Vec<WordReport>,
}

/// One fault of a suspect.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct FaultReport {
    /// In the words of a condition.
    pub sentence: String,
    /// Its kind, stable.
    pub kind: &'static str,
    /// How likely it is this one, if it is this suspect at all.
    pub share: f64,
    /// The places a person would open for it.
    pub boxes: Vec<String>,
}

/// What one thing told says of a suspect.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WordReport {
    /// Its place among what was told.
    pub told: usize,
    /// So many times likelier with the suspect than without it; null where without it it is
    /// not possible at all.
    pub times: Option<f64>,
    /// What was told, and what the suspect would have shown.
    pub says: String,
}

/// A set of suspects that are there together.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ExplanationReport {
    /// Their places among the suspects; empty for nothing wrong.
    pub suspects: Vec<usize>,
    /// How likely exactly these are there.
    pub probability: f64,
}

/// What is told less than so many times likelier says nothing for a suspect.
const SPEAKS_FROM: f64 = 1.5;

/// Faults of a suspect that are listed, so that the rest is worth less than this share.
const LISTED_FROM: f64 = 0.01;

pub(super) fn explanations(findings: &Findings) -> Vec<ExplanationReport> {
    let explanations = findings.explanations.iter();
    let report = explanations.map(|one| ExplanationReport {
        suspects: one.suspects.clone(),
        probability: one.probability,
    });
    report.collect()
}

pub(super) struct Teller<'r> {
    pub(super) circuit: &'r Circuit,
    pub(super) told: &'r [String],
    pub(super) findings: &'r Findings,
    /// Places that were opened, with nothing found there.
    pub(super) opened: Vec<&'r str>,
    /// Breakers and devices that were found off and hold since.
    pub(super) closed_since: Vec<&'r str>,
    /// Panels that nobody is sent to.
    pub(super) kept_off: &'r KeptOff<'r>,
    /// What whoever asks may do.
    pub(super) means: &'r Means,
}

impl Teller<'_> {
    /// Whether a suspect is a handle that was found off and holds since.
    fn is_closed_since(&self, suspect: &Suspect) -> bool {
        let lead = suspect.faults.first();
        lead.is_some_and(|one| {
            let mut names = one.fault.change.breakers.keys();
            names.any(|name| self.closed_since.contains(&name.as_str()))
        })
    }

    pub(super) fn suspect(&self, suspect: &Suspect, why: &[Word]) -> SuspectReport {
        let fault = |one: &SuspectFault| FaultReport {
            sentence: one.fault.sentence(self.circuit),
            kind: one.fault.kind.code(),
            share: one.share,
            boxes: one.fault.places.clone(),
        };
        let listed = suspect.faults.iter().filter(|one| one.share >= LISTED_FROM);
        let mut speaks_for: Vec<WordReport> = Vec::new();
        let mut speaks_against: Vec<WordReport> = Vec::new();
        for word in why {
            match word.times {
                times if times >= SPEAKS_FROM => speaks_for.push(self.word(word, true)),
                times if times <= 1.0 / SPEAKS_FROM => {
                    speaks_against.push(self.word(word, false));
                }
                _ => {}
            }
        }
        let strength = |word: &WordReport| word.times.unwrap_or(f64::INFINITY);
        speaks_for.sort_by(|a, b| strength(b).total_cmp(&strength(a)));
        speaks_against.sort_by(|a, b| strength(a).total_cmp(&strength(b)));
        SuspectReport {
            says: match suspect.is_intermittent() {
                true => format!("{}, now and then", self.says(suspect)),
                false if self.is_closed_since(suspect) => {
                    format!("{}, closed since", self.says(suspect))
                }
                false => self.says(suspect),
            },
            probability: suspect.probability,
            intermittent: suspect.intermittent,
            boxes: suspect.boxes.clone(),
            faults: listed.map(fault).collect(),
            parted_by: self.parted_by(suspect),
            speaks_for,
            speaks_against,
        }
    }

    fn word(&self, word: &Word, agrees: bool) -> WordReport {
        let told = self.told.get(word.told).map_or("?", String::as_str);
        let would = self.would(word);
        let says = match (agrees, would.is_empty()) {
            (true, _) | (_, true) => told.to_owned(),
            // What is soft on every side is told as what it should have shown.
            (false, false) if told.contains(would.trim_start_matches("about ")) => told.to_owned(),
            (false, false) => format!("{told}; it would have shown {would}"),
        };
        let times = word.times.is_finite().then_some(word.times);
        WordReport { told: word.told, times, says }
    }

    fn would(&self, word: &Word) -> String {
        let rounded: Vec<_> = word.would_show.iter().map(super::test::rounded).collect();
        if rounded.is_empty() { String::new() } else { words::tell_bare(self.circuit, &rounded) }
    }

    /// What and where, in one line.
    fn says(&self, suspect: &Suspect) -> String {
        let vocabulary = self.circuit.parts().vocabulary;
        let Some(leading) = of_the_likeliest_sort(suspect) else { return String::new() };
        let fault = &leading.fault;
        if let [_] = suspect.faults.as_slice() {
            return fault.sentence(self.circuit);
        }
        let conductors: Vec<String> =
            fault.conductors.iter().map(|name| line(vocabulary, name)).collect();
        let conductors = conductors.join(" and ");
        let of_one_sort = share_of_sort(suspect, sort(fault.kind));
        if let Some(load) = one_load(suspect) {
            let load = speak::name(load);
            return format!("{}, or something else in {load} itself", fault.sentence(self.circuit));
        }
        if of_one_sort < ONE_SORT_FROM && leading.share < ONE_PLACE_FROM {
            return format!("{}, or what looks the same", self.wrong(suspect, fault));
        }
        if of_one_sort < ONE_SORT_FROM {
            return format!("{}, or what looks the same", fault.sentence(self.circuit));
        }
        let along = whereabouts(suspect, vocabulary);
        match fault.kind {
            FaultKind::OpenJoint | FaultKind::BrokenConductor => {
                format!("{conductors} open {along}")
            }
            FaultKind::LeakyOpen => format!("{conductors} open but leaking {along}"),
            FaultKind::BadJoint => format!("bad joint in the {conductors} {along}"),
            FaultKind::SupplyVoltage => {
                format!("{}, such as {}", fault.kind.meaning(), fault.sentence(self.circuit))
            }
            FaultKind::WrongBreaker | FaultKind::NeutralOnBus => self.wrong(suspect, fault),
            _ => {
                let mut listed = suspect.faults.iter().filter(|one| one.share >= LISTED_FROM);
                if listed.all(|one| one.fault.is_another_amount_of(fault)) {
                    let sentence = fault.sentence(self.circuit);
                    return match leading.share < ONE_SORT_FROM {
                        true => format!("{sentence}, or the same to another amount"),
                        false => sentence,
                    };
                }
                let wrong = self.wrong(suspect, fault);
                let is_alike = |one: &SuspectFault| {
                    one.share < LISTED_FROM || one.fault.conductors == fault.conductors
                };
                match suspect.faults.iter().all(is_alike) {
                    true => wrong,
                    false => format!("{wrong}, or what looks the same"),
                }
            }
        }
    }

    /// What is wrong, whichever of its kind it is, and where.
    fn wrong(&self, suspect: &Suspect, fault: &PossibleFault) -> String {
        let wrong = Wrong { kind: fault.kind, conductors: fault.conductors.clone() };
        let what = wrong_in_words(&wrong, self.circuit.parts().vocabulary);
        format!("{what}: {}", one_of(&suspect.boxes))
    }
}

/// The load in which all that is likely is.
fn one_load(suspect: &Suspect) -> Option<&str> {
    let mut likely = suspect.faults.iter().filter(|one| one.share >= LISTED_FROM);
    let first = likely.next()?.fault.load.as_deref()?;
    likely.all(|one| one.fault.load.as_deref() == Some(first)).then_some(first)
}

/// Below this share of one sort of fault a suspect is not called by that sort.
const ONE_SORT_FROM: f64 = 0.9;

/// Below this share of one fault its place is one of many.
const ONE_PLACE_FROM: f64 = 0.1;

/// The likeliest fault of the sort that a suspect is likeliest of.
fn of_the_likeliest_sort(suspect: &Suspect) -> Option<&SuspectFault> {
    let of_its_sort = |one: &&SuspectFault| share_of_sort(suspect, sort(one.fault.kind));
    let likelier = |a: &&SuspectFault, b: &&SuspectFault| of_its_sort(a).total_cmp(&of_its_sort(b));
    // Of those of one sort the first: they are in order.
    suspect.faults.iter().rev().max_by(likelier)
}

fn share_of_sort(suspect: &Suspect, of: FaultKind) -> f64 {
    let alike = suspect.faults.iter().filter(|one| sort(one.fault.kind) == of);
    alike.map(|one| one.share).sum()
}

/// Faults that are spoken of alike.
fn sort(kind: FaultKind) -> FaultKind {
    match kind {
        FaultKind::BrokenConductor | FaultKind::LeakyOpen => FaultKind::OpenJoint,
        FaultKind::TouchingInCable => FaultKind::Bridged,
        other => other,
    }
}

/// Whether a fault is a handle or a button in another position, for which nothing is opened.
pub(super) const fn is_handle(kind: FaultKind) -> bool {
    matches!(kind, FaultKind::BreakerOff | FaultKind::DeviceTripped | FaultKind::SwitchOther)
}

/// `between wheel, load side, and kiln, line side`, or `at kiln`: of a run of joints.
fn whereabouts(suspect: &Suspect, vocabulary: Vocabulary) -> String {
    let named = |spot: &Spot| match spot.side {
        Side::Here => spot.place.clone(),
        side => format!("{}, {}", spot.place, speak::side(vocabulary, side)),
    };
    match (&suspect.first, &suspect.last) {
        (Some(first), Some(last)) if first == last => format!("at {}", named(first)),
        (Some(first), Some(last)) if first.place == last.place => format!("at {}", first.place),
        (Some(first), Some(last)) => {
            // After a side a comma closes what it says of the first place.
            let comma = if first.side == Side::Here { "" } else { "," };
            format!("between {}{comma} and {}", named(first), named(last))
        }
        _ => format!("at {}", one_of(&suspect.boxes)),
    }
}

/// `door, bench or kiln`.
pub(in crate::report) fn one_of(places: &[String]) -> String {
    match places {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

impl Teller<'_> {
    /// The act that parts what no test does: opening the box that holds the most of it. Nobody is sent
    /// to a breaker or a panel whose metal may be live for it.
    fn parted_by(&self, suspect: &Suspect) -> Option<String> {
        let act = self.parted_by_if_dead(suspect)?;
        let vocabulary = self.circuit.parts().vocabulary;
        let mut before = suspect.boxes.iter().filter_map(|place| self.kept_off.before(place));
        Some(match (self.kept_off.metal(), before.next()) {
            (PanelMetal::NotLive, None) => act,
            (PanelMetal::NotLive, Some(panel)) => {
                format!("{act}; not before the metal of {panel} is proven dead")
            }
            _ => {
                let panel = prose(vocabulary, "the panel's own metal");
                format!("{act}; not before {panel} is proven dead")
            }
        })
    }

    fn parted_by_if_dead(&self, suspect: &Suspect) -> Option<String> {
        let circuit = self.circuit;
        if suspect.faults.len() < 2 {
            return None;
        }
        let handle = suspect.faults.iter().find(|one| is_handle(one.fault.kind));
        if let Some(place) = handle.and_then(|one| one.fault.places.first()) {
            return Some(format!("looking at the handle at {place}: nothing is opened for that"));
        }
        if suspect.faults.iter().all(|one| one.fault.kind == FaultKind::SupplyVoltage) {
            let vocabulary = circuit.parts().vocabulary;
            return Some(prose(
                vocabulary,
                "having what arrives measured by the utility: nothing is opened for that",
            ));
        }
        let new = suspect.faults.first().and_then(|one| match one.fault.kind {
            FaultKind::DeviceWornOut => Some(("device", one.fault.places.first()?)),
            FaultKind::SwitchStuck => Some(("switch", one.fault.places.first()?)),
            _ => None,
        });
        if let Some((what, place)) = new {
            return Some(format!("putting a new {what} in at {place}, dead"));
        }
        let appliance = suspect.faults.iter().max_by(|a, b| a.share.total_cmp(&b.share));
        if let Some(load) = appliance.and_then(|one| one.fault.appliance(circuit)) {
            return Some(format!(
                "unplugging {}: nothing is opened for that",
                speak::name(&load.id)
            ));
        }
        let held = |place: &String| -> f64 {
            let here = suspect.faults.iter().filter(|one| one.fault.places.contains(place));
            here.map(|one| one.share / one.fault.places.len().max(1) as f64).sum()
        };
        // A transformer, a generator or a meter is nobody's box here.
        let is_supply = |place: &String| {
            circuit.place(place).is_some_and(|place| place.kind == PlaceKind::Supply)
        };
        let is_closed =
            |place: &&String| !self.opened.contains(&place.as_str()) && !is_supply(place);
        if !suspect.boxes.is_empty() && suspect.boxes.iter().all(is_supply) {
            return Some(format!("having {} seen to by who runs it", one_of(&suspect.boxes)));
        }
        let closed = suspect.boxes.iter().filter(is_closed);
        // Of two that hold as much the first on the way.
        let Some(first) = closed.rev().max_by(|a, b| held(a).total_cmp(&held(b))) else {
            return Some(match suspect.boxes.as_slice() {
                [one, other, ..] => format!(
                    "measuring each wire of the cable between {one} and {other} from end to end, \
                     dead: the joints were seen"
                ),
                _ => "pulling at each joint there, dead, and measuring across it".to_owned(),
            });
        };
        let panel = circuit.place(first).filter(|place| place.kind == PlaceKind::Panel);
        let open = match panel.is_some_and(|panel| circuit.is_fed_by_no_cable(panel)) {
            true => format!(
                "having {first} opened by whoever may, its main off and what comes from the service \
                 live"
            ),
            false if suspect.boxes.len() == 1 => {
                format!("opening {first}, dead, and looking at its joints")
            }
            false => format!("opening {first} first, dead"),
        };
        Some(match suspect.boxes.len() {
            1 => open,
            _ => format!("{open}: {:.0} in 100 that it is there", 100.0 * held(first)),
        })
    }
}
