//! A run taken apart at a box, to see on which side of it a fault is.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::circuit::connection::{contact_element, wire_end};
use crate::circuit::reach::Reach;
use crate::circuit::{Cable, CableEnd, Circuit, Joint, PlaceKind, Side};
use crate::condition::words::known::Known;
use crate::condition::{Condition, Fault, Gap, LoadState};
use crate::instrument::{Instrument, Place, Request};
use crate::quantity::Address;

/// A box, open and dead, where the conductors of a cable that leads away from the supply are
/// taken off: what lies beyond is measured alone, and a short shows on which side it is.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::diagnosis::Parting;
/// let text = "(format: 1, circuits: [(id: \"c1\", amperes: 20)],
///     boxes: [(id: \"door\", from: \"c1\", feet: 20), (id: \"bench\", from: \"door\", feet: 9)])";
/// let circuit = file::read(text).unwrap().circuit;
/// let parting = Parting::all(&circuit).remove(0);
/// assert_eq!((parting.place.as_str(), parting.cable.as_str()), ("door", "door-bench"));
/// let stands = parting.condition(&circuit);
/// assert_eq!(stands.breakers["c1"], false);
/// assert_eq!(stands.faults.len(), 3, "hot, neutral and ground are off their joints");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Parting {
    /// The box.
    pub place: String,
    /// The cable whose end there is taken off.
    pub cable: String,
}

impl Parting {
    /// Every box and cable that this can be done at, in the order of the circuit's cables. A
    /// conductor that has no joint there, as a metal tube, stays.
    pub fn all(circuit: &Circuit) -> Vec<Self> {
        let cables = circuit.parts().cables.iter();
        let parting = |cable: &Cable| {
            let mut joints = joints(circuit, cable);
            let place = joints.next()?.1.place.clone();
            let is_box = circuit.place(&place).is_some_and(|known| known.kind == PlaceKind::Box);
            let several = joints.next().is_some();
            (is_box && several).then(|| Self { place, cable: cable.id.clone() })
        };
        cables.filter_map(parting).collect()
    }

    /// How everything stands then: the breakers that feed anything in the box off, the cable's
    /// conductors off their joints, every load that they feed off.
    pub fn condition(&self, circuit: &Circuit) -> Condition {
        self.stands(circuit, &Feeding::of(&Known::of(circuit)))
    }

    /// The same, where it is known which breakers feed what.
    pub(super) fn stands(&self, circuit: &Circuit, feeding: &Feeding<'_, '_>) -> Condition {
        let faults = self.lifted(circuit).collect();
        Condition { faults, ..dead(circuit, feeding.off_at(&self.place)) }
    }

    /// The two conductors and the two ends of each measurement on what lies beyond.
    pub fn pairs(&self, circuit: &Circuit) -> Vec<((String, String), (Address, Address))> {
        let Some(cable) = circuit.cable(&self.cable) else { return Vec::new() };
        let ends: Vec<(String, Address)> = joints(circuit, cable)
            .map(|(name, _)| (name.to_owned(), wire_end(&cable.id, CableEnd::A, name)))
            .collect();
        let mut pairs = Vec::new();
        for (at, (first, from)) in ends.iter().enumerate() {
            for (second, to) in ends.iter().skip(at + 1) {
                pairs.push(((first.clone(), second.clone()), (from.clone(), to.clone())));
            }
        }
        pairs
    }

    /// The place that the cable leads to.
    pub fn towards<'c>(&self, circuit: &'c Circuit) -> Option<&'c str> {
        let cable = circuit.cable(&self.cable)?;
        let far = cable.conductors.iter().find_map(|conductor| {
            circuit.joint_of_element(&contact_element(&cable.id, CableEnd::B, &conductor.name))
        });
        far.map(|joint| joint.place.as_str())
    }

    /// A meter between every two of the conductors.
    pub fn looks(&self, circuit: &Circuit, meter: &Instrument) -> Vec<Request> {
        let pairs = self.pairs(circuit).into_iter();
        let held = |(from, to)| Request::new(meter.clone(), Place::Between { from, to });
        pairs.map(|(_, ends)| held(ends)).collect()
    }

    /// Whether a condition has the run taken apart so.
    pub(super) fn is_in(&self, circuit: &Circuit, stands: &Condition) -> bool {
        let mut lifted = self.lifted(circuit).peekable();
        lifted.peek().is_some() && lifted.all(|fault| stands.faults.contains(&fault))
    }

    /// The conductors off their joints.
    fn lifted<'c>(&self, circuit: &'c Circuit) -> impl Iterator<Item = Fault> + use<'c> {
        let cable = circuit.cable(&self.cable);
        let joints = cable.into_iter().flat_map(|cable| joints(circuit, cable));
        joints.map(|(_, joint)| Fault::Open { element: joint.element.clone(), gap: Gap::NONE })
    }

    /// The parting that leaves these two conductor ends loose, with the conductors' names.
    pub(super) fn of_ends(
        circuit: &Circuit,
        (from, to): (&Address, &Address),
    ) -> Option<(Self, (String, String))> {
        Self::all(circuit).into_iter().find_map(|parting| {
            let found = parting.pairs(circuit).into_iter().find(|(_, (a, b))| a == from && b == to);
            found.map(|(names, _)| (parting, names))
        })
    }
}

/// Which cables each breaker feeds.
pub(crate) struct Feeding<'k, 'c> {
    known: &'k Known<'c>,
    fed: Vec<(&'c String, BTreeSet<String>)>,
}

/// Breakers off, and every load that they feed: of what others feed nothing is switched for what is
/// measured dead.
pub(super) fn dead(circuit: &Circuit, breakers: BTreeMap<String, bool>) -> Condition {
    let fed = Reach::behind_all(circuit, breakers.keys().map(String::as_str)).terminals;
    let is_fed = |end: &Address| fed.contains(end.as_str());
    let loads = circuit.parts().loads.iter();
    let fed = loads.filter(|load| is_fed(&load.between.0) || is_fed(&load.between.1));
    let loads = fed.map(|load| (load.id.clone(), LoadState::Off)).collect();
    Condition { breakers, loads, ..Condition::default() }
}

impl<'k, 'c> Feeding<'k, 'c> {
    pub(crate) fn of(known: &'k Known<'c>) -> Self {
        let poles = known.circuit.parts().branch_circuits.iter();
        Self { known, fed: poles.map(|pole| (&pole.id, known.fed_by(&pole.id))).collect() }
    }

    /// The breakers that may feed anything in a place, off; and those that share a cable with one
    /// of these, whose neutral may be the same.
    pub(crate) fn off_at(&self, place: &str) -> BTreeMap<String, bool> {
        let mut cables: BTreeSet<String> =
            self.known.cables_at([place, place]).into_iter().collect();
        let feeds = |cable: &String| self.fed.iter().any(|(_, fed)| fed.contains(cable));
        // Whose hot a cable has that no breaker reaches nobody knows: then all are off.
        if !cables.iter().all(feeds) {
            return self.fed.iter().map(|(pole, _)| ((*pole).clone(), false)).collect();
        }
        let mut off = BTreeMap::new();
        loop {
            let reached = self.fed.iter().filter(|(_, fed)| !fed.is_disjoint(&cables));
            let new: Vec<_> = reached.filter(|(pole, _)| !off.contains_key(*pole)).collect();
            if new.is_empty() {
                return off;
            }
            for (pole, fed) in new {
                off.insert((*pole).clone(), false);
                cables.extend(fed.iter().cloned());
            }
        }
    }
}

/// The joints at which a cable leaves towards the loads, each with its conductor's name.
fn joints<'c>(
    circuit: &'c Circuit,
    cable: &'c Cable,
) -> impl Iterator<Item = (&'c str, &'c Joint)> {
    cable.conductors.iter().filter_map(move |conductor| {
        let element = contact_element(&cable.id, CableEnd::A, &conductor.name);
        let joint = circuit.joint_of_element(&element)?;
        (joint.side == Side::Load).then_some((conductor.name.as_str(), joint))
    })
}
