//! Which terminal is meant.

use crate::circuit::Outlet;
use crate::quantity::Address;

use super::super::lexicon::Class;
use super::super::phrase::few;
use super::super::problem::Problem;
use super::super::sentence::{Said, Spot};
use super::Resolver;
use super::joints::{matching, same_conductor};

impl Resolver<'_> {
    /// The one terminal that a spot means.
    pub(super) fn terminal(&self, spot: &Spot) -> Result<Address, Problem> {
        if spot.soil {
            return Ok(Address::earth());
        }
        let Some(name) = &spot.name else { return Err(self.no_place(spot)) };
        if spot.conductor.is_none() && !spot.frame {
            if let Some(terminal) = self.known.terminal(&name.value) {
                return Ok(terminal);
            }
            if let Some(ends) = self.known.joint_at(&name.value).map(|j| &j.joint.element) {
                return self.landing(ends, spot);
            }
        }
        if spot.frame {
            return self.frame(name);
        }
        let Some(conductor) = &spot.conductor else {
            return Err(self
                .problem(&name.span, format!("which conductor of {}?", name.value))
                .expected(["hot", "neutral", "ground", "an address, such as kiln.neutral"]));
        };
        self.conductor_of(spot, name, conductor)
    }

    fn no_place(&self, spot: &Spot) -> Problem {
        self.problem(&spot.span, "at which box or device?")
            .expected(["at, and the name of a box, device, circuit or load"])
    }

    fn frame(&self, name: &Said<String>) -> Result<Address, Problem> {
        let load = self.known.circuit.load(&name.value);
        match load.and_then(|load| load.frame.clone()) {
            Some(frame) => Ok(frame),
            None => {
                let with = self.known.circuit.parts().loads.iter().filter(|l| l.frame.is_some());
                Err(self
                    .problem(&name.span, format!("`{}` is no load with a metal case", name.value))
                    .expected(few(with.map(|load| load.id.clone()))))
            }
        }
    }

    fn conductor_of(
        &self,
        spot: &Spot,
        name: &Said<String>,
        conductor: &Said<String>,
    ) -> Result<Address, Problem> {
        let found = self.candidates(spot, &name.value, &conductor.value);
        match found.as_slice() {
            [terminal] => Ok(terminal.clone()),
            [] => {
                let message = format!("{} has no {}", name.value, self.spoken(&conductor.value));
                Err(self.problem(&conductor.span, message).expected(self.terminals_of(&name.value)))
            }
            several => {
                let message = format!(
                    "{} has {} terminals of its {}: which?",
                    name.value,
                    several.len(),
                    self.spoken(&conductor.value)
                );
                Err(self
                    .problem(&spot.span, message)
                    .expected(few(several.iter().map(ToString::to_string))))
            }
        }
    }

    /// Terminals of a conductor at a place: with a side or a kind of joint what such joints
    /// land on, else slots, else `NAME.CONDUCTOR`, else what cables land on.
    fn candidates(&self, spot: &Spot, name: &str, conductor: &str) -> Vec<Address> {
        if spot.side.is_some() || !spot.joints.is_empty() || spot.cable.is_some() {
            return self.landings(spot);
        }
        let slots = self.slots(spot, name, conductor);
        if !slots.is_empty() {
            return slots;
        }
        let begins = format!("{name}.");
        let own: Vec<Address> = self
            .known
            .circuit
            .terminals()
            .filter(|terminal| {
                terminal
                    .as_str()
                    .strip_prefix(&begins)
                    .is_some_and(|last| !last.contains('.') && same_conductor(last, conductor))
            })
            .cloned()
            .collect();
        if own.is_empty() { self.landings(spot) } else { own }
    }

    /// Slots of the outlets of a device or a place; halves joined by a tab count as one.
    fn slots(&self, spot: &Spot, name: &str, conductor: &str) -> Vec<Address> {
        let begins = format!("{name}.");
        let wanted = |place: &str, outlet: &Outlet| {
            let address = outlet.address.as_str();
            let half = spot.half.as_ref().map(|half| half.value.word());
            (place == name || address == name || address.starts_with(&begins))
                && half.is_none_or(|half| address.rsplit('.').next() == Some(half))
        };
        let mut found: Vec<Address> = Vec::new();
        for (place, outlet) in self.known.circuit.outlets() {
            if !wanted(&place.id, outlet) {
                continue;
            }
            for (slot, terminal) in &outlet.slots {
                let joined = |before: &Address| self.tab_joins(before, terminal);
                if same_conductor(slot, conductor)
                    && !found.contains(terminal)
                    && !found.iter().any(joined)
                {
                    found.push(terminal.clone());
                }
            }
        }
        found
    }

    /// A tab in place makes one terminal of two.
    fn tab_joins(&self, one: &Address, another: &Address) -> bool {
        self.known.circuit.connections().any(|path| {
            matches!(path.part, crate::circuit::Part::Tab(_, tab) if tab.intact)
                && (path.a == *one && path.b == *another || path.a == *another && path.b == *one)
        })
    }

    /// What the joints that a spot means land on.
    fn landings(&self, spot: &Spot) -> Vec<Address> {
        let mut found: Vec<Address> = Vec::new();
        for joint in matching(self.known, spot) {
            if let Some((_, b)) = self.known.elements.get(&joint.joint.element)
                && !found.contains(b)
            {
                found.push(b.clone());
            }
        }
        found
    }

    fn landing(&self, element: &str, spot: &Spot) -> Result<Address, Problem> {
        match self.known.elements.get(element) {
            Some((_, b)) => Ok(b.clone()),
            None => Err(self.no_place(spot)),
        }
    }

    fn terminals_of(&self, name: &str) -> Vec<String> {
        let begins = format!("{name}.");
        let terminals = self.known.circuit.terminals().map(Address::as_str);
        let here: Vec<String> =
            terminals.filter(|t| t.starts_with(&begins)).map(str::to_owned).collect();
        if here.is_empty() && self.known.is(Class::Load, name) {
            return vec!["a load with terminals of its own".into()];
        }
        few(here.into_iter())
    }
}
