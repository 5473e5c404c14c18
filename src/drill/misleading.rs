//! How misleading the first readings are.

use crate::circuit::Circuit;
use crate::condition::catalogue::{FaultKind, PossibleFault};

use super::reading::DrillReading;

/// How far a plug-in tester and the trade's rule of thumb lead astray.
///
/// The rule: walk the run with a plug-in tester; what is wrong is in the first box that shows
/// anything amiss, or in the one that feeds it.
///
/// ```
/// use slotwise::drill::Misleading;
/// let plain = Misleading { boxes_off: Some(0), live_though_dark: false };
/// let hidden = Misleading { boxes_off: None, live_though_dark: false };
/// assert!(plain.share() < hidden.share());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Misleading {
    /// Boxes from where the rule sends the student to the nearest fault; `None` where the tester
    /// shows nothing amiss that leads to one: what is dead because something tripped, and what is as
    /// it should be although it is not wired so, leads nowhere.
    pub boxes_off: Option<usize>,
    /// A receptacle where the tester stays dark has a contact that is live.
    pub live_though_dark: bool,
}

impl Misleading {
    /// As one share, from 0 (the rule leads there) to 1 (nothing shows): judgement.
    pub fn share(&self) -> f64 {
        let astray: f64 = match self.boxes_off {
            Some(0) => 0.0,
            Some(1) => 0.5,
            Some(_) => 0.75,
            None => 1.0,
        };
        (astray + if self.live_though_dark { 0.25 } else { 0.0 }).min(1.0)
    }
}

/// What the tester shows with faults, beside what it shows with none, at the same receptacles.
pub(super) struct Walk<'r> {
    pub(super) now: &'r [DrillReading],
    pub(super) sound: &'r [DrillReading],
}

impl Walk<'_> {
    /// Receptacles where the tester shows something amiss, in walking order.
    pub(super) fn amiss(&self) -> impl Iterator<Item = &DrillReading> {
        self.now.iter().zip(self.sound).filter(|(now, sound)| now.shows != sound.shows).map(|p| p.0)
    }

    /// The first of them where a person stops. What is dead because a breaker tripped leads nowhere.
    pub(super) fn stop(&self, has_tripped: bool) -> Option<&DrillReading> {
        self.amiss().find(|now| now.shows != AS_IT_SHOULD && !(has_tripped && is_dark(now)))
    }
}

fn is_dark(reading: &DrillReading) -> bool {
    !reading.shows.contains("lit") && !reading.shows.contains("dim")
}

/// Whether what is wrong is somewhere on the walk: an appliance and what the supply delivers are in no
/// box.
pub(super) fn is_on_the_walk(circuit: &Circuit, fault: &PossibleFault) -> bool {
    fault.kind != FaultKind::SupplyVoltage && fault.appliance(circuit).is_none()
}

/// What a tester shows at a receptacle that is wired as it should be: nobody stops there, whatever
/// it shows with nothing wrong.
const AS_IT_SHOULD: &str = "hot-neutral lit, hot-ground lit, neutral-ground dark";

pub(super) fn judge(
    circuit: &Circuit,
    faults: &[PossibleFault],
    (walk, has_tripped): (&Walk<'_>, bool),
    live: &[String],
) -> Misleading {
    let place_of = |at: &str| {
        circuit.outlets().find(|(_, outlet)| outlet.address.as_str() == at).map(|(place, _)| place)
    };
    let sent = walk.stop(has_tripped).and_then(|first| place_of(&first.at)).map(|place| {
        let feeds = place.fed_from.as_deref().unwrap_or(PANEL);
        [place.id.as_str(), feeds]
    });
    let in_places = faults.iter().filter(|fault| is_on_the_walk(circuit, fault));
    let wrong = in_places.flat_map(|fault| match fault.places.is_empty() {
        true => vec![PANEL],
        false => fault.places.iter().map(String::as_str).collect(),
    });
    let boxes_off =
        sent.and_then(|sent| wrong.flat_map(|at| sent.map(|from| steps(circuit, from, at))).min());
    let mut dark = walk.now.iter().filter(|reading| is_dark(reading));
    let live_though_dark = dark.any(|reading| live.contains(&reading.at));
    Misleading { boxes_off, live_though_dark }
}

/// What has no box is at the panel, or before it.
const PANEL: &str = "panel";

/// The boxes from one place up to the panel, itself first.
fn way_up<'c>(circuit: &'c Circuit, from: &'c str) -> Vec<&'c str> {
    let mut way = vec![from];
    let mut at = from;
    while let Some(next) = circuit.place(at).and_then(|place| place.fed_from.as_deref()) {
        if way.contains(&next) {
            break;
        }
        way.push(next);
        at = next;
    }
    if way.last() != Some(&PANEL) {
        way.push(PANEL);
    }
    way
}

/// Cables to walk along from one place to another.
fn steps(circuit: &Circuit, from: &str, to: &str) -> usize {
    let (up, down) = (way_up(circuit, from), way_up(circuit, to));
    let meet = up.iter().enumerate().find_map(|(steps, place)| {
        down.iter().position(|other| other == place).map(|more| steps + more)
    });
    meet.unwrap_or(up.len() + down.len())
}
