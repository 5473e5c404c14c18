//! Where each circuit begins: its breaker's screw, its first cable and the first receptacle past
//! it.

use crate::circuit::{BranchCircuit, Cable, CableEnd};
use crate::quantity::Address;

use super::Lister;

/// The beginning of a circuit's run.
pub(super) struct Run {
    /// The cable on its breaker.
    pub(super) cable: String,
    /// The bus that its breaker sits on.
    pub(super) bus: Address,
    /// The box where that cable ends.
    pub(super) place: Option<String>,
    /// The hot contact of the first receptacle along it.
    pub(super) hot_slot: Option<Address>,
    /// The neutral contact of the first receptacle along it.
    pub(super) neutral_slot: Option<Address>,
    landings: [Option<Address>; 2],
}

impl Run {
    /// What the neutral of its cable lands on at an end.
    pub(super) fn landing(&self, end: CableEnd) -> Option<&Address> {
        let [a, b] = &self.landings;
        match end {
            CableEnd::A => a.as_ref(),
            CableEnd::B => b.as_ref(),
        }
    }
}

/// The hot of a circuit where it leaves its breaker.
pub(super) struct Hot<'c> {
    /// The breaker's pole.
    pub(super) pole: &'c BranchCircuit,
    /// Its screw on the load side.
    pub(super) screw: &'c Address,
    /// The cable on it.
    pub(super) cable: &'c Cable,
    /// The conductor on it.
    pub(super) conductor: &'c str,
}

impl<'c> Lister<'c> {
    /// The hot of each pole that a cable lands on.
    pub(super) fn hots(&self) -> Vec<Hot<'c>> {
        let parts = self.circuit.parts();
        let hot = |pole: &'c BranchCircuit| {
            let named = format!("{}.hot", pole.id);
            parts.cables.iter().find_map(|cable| {
                let landing = cable.ends[0].iter().find(|landing| landing.to.as_str() == named)?;
                Some(Hot { pole, screw: &landing.to, cable, conductor: &landing.conductor })
            })
        };
        parts.branch_circuits.iter().filter_map(hot).collect()
    }

    /// The run of a circuit whose own cable has a neutral; `None` for others.
    pub(super) fn run(&self, pole: &BranchCircuit) -> Option<Run> {
        let screw = format!("{}.hot", pole.id);
        let lands = |cable: &&Cable| cable.ends[0].iter().any(|l| l.to.as_str() == screw);
        let cable = self.circuit.parts().cables.iter().find(lands)?;
        let neutral = |end: usize| {
            let landings = cable.ends.get(end)?;
            landings.iter().find(|l| l.conductor == "neutral").map(|l| l.to.clone())
        };
        let landings = [neutral(0), neutral(1)];
        landings[0].as_ref().or(landings[1].as_ref())?;
        let places = &self.circuit.parts().places;
        let place = places.iter().find(|place| place.line_cables.contains(&cable.id));
        Some(Run {
            cable: cable.id.clone(),
            bus: pole.bus.clone(),
            place: place.map(|place| place.id.clone()),
            hot_slot: place.and_then(|place| self.first_slot(&place.id, "hot")),
            neutral_slot: place.and_then(|place| self.first_slot(&place.id, "neutral")),
            landings,
        })
    }

    /// A contact of the first receptacle at a place or fed from it that has one of this name.
    fn first_slot(&self, from: &str, wanted: &str) -> Option<Address> {
        let places = &self.circuit.parts().places;
        let mut line = vec![from];
        let mut next = 0;
        while let Some(&id) = line.get(next) {
            next += 1;
            let here = self.circuit.place(id)?;
            let slots = here.outlets.iter().flat_map(|outlet| &outlet.slots);
            if let Some((_, slot)) = slots.into_iter().find(|(name, _)| name == wanted) {
                return Some(slot.clone());
            }
            let past = places.iter().filter(|place| place.fed_from.as_deref() == Some(id));
            for place in past {
                if !line.contains(&place.id.as_str()) {
                    line.push(&place.id);
                }
            }
        }
        None
    }
}
