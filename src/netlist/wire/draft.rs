//! A netlist in the making, and the few edits that a condition makes to it.

use std::collections::HashMap;

use crate::circuit::{Circuit, UnknownName};
use crate::netlist::{Law, Netlist, Role};
use crate::quantity::Address;

use super::WireProblem;

/// An element between two terminals.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Placed {
    pub(super) id: String,
    pub(super) role: Role,
    pub(super) law: Law,
    pub(super) a: Address,
    pub(super) b: Address,
}

/// One change of a draft. Whatever a condition says comes down to these, so that a netlist
/// that is wired once can be changed instead of wired again.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Edit {
    /// An element obeys another law.
    Law { element: String, law: Law },
    /// An end of an element moves to another terminal.
    End { element: String, end: End, to: Address },
    /// An element is added; one of the same name obeys the new law instead.
    Put(Placed),
    /// An element is gone.
    Remove { element: String },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    A,
    B,
}

/// Elements in the order of the circuit's parts, found by name.
#[derive(Default)]
pub(super) struct Draft {
    elements: Vec<Option<Placed>>,
    position: HashMap<String, usize>,
}

impl Draft {
    /// Appends an element of the circuit as installed, whose names are unique.
    pub(super) fn push(&mut self, placed: Placed) {
        self.position.insert(placed.id.clone(), self.elements.len());
        self.elements.push(Some(placed));
    }

    pub(super) fn find(&self, id: &str) -> Option<&Placed> {
        self.position.get(id).and_then(|&at| self.elements.get(at)).and_then(Option::as_ref)
    }

    pub(super) fn elements(&self) -> impl Iterator<Item = &Placed> {
        self.elements.iter().flatten()
    }

    /// The element that a condition names.
    pub(super) fn named(&self, circuit: &Circuit, id: &str) -> Result<&Placed, WireProblem> {
        self.find(id).ok_or_else(|| {
            let mut unknown = UnknownName::among(
                id,
                "an element of this circuit",
                self.elements().map(|placed| placed.id.as_str()),
            );
            if let Some(joint) = circuit.joint(&Address::from(id)) {
                unknown.close = vec![joint.element.clone()];
            }
            WireProblem::Unknown(unknown)
        })
    }

    /// Makes a change; one that names an element which is not there changes nothing.
    pub(super) fn apply(&mut self, edit: Edit) {
        match edit {
            Edit::Law { element, law } => {
                if let Some(placed) = self.find_mut(&element) {
                    placed.law = law;
                }
            }
            Edit::End { element, end, to } => {
                if let Some(placed) = self.find_mut(&element) {
                    match end {
                        End::A => placed.a = to,
                        End::B => placed.b = to,
                    }
                }
            }
            Edit::Put(placed) => match self.find_mut(&placed.id) {
                Some(existing) => *existing = placed,
                None => self.push(placed),
            },
            Edit::Remove { element } => {
                if let Some(slot) = self
                    .position
                    .remove(&element)
                    .and_then(|position| self.elements.get_mut(position))
                {
                    *slot = None;
                }
            }
        }
    }

    fn find_mut(&mut self, id: &str) -> Option<&mut Placed> {
        self.position.get(id).and_then(|&at| self.elements.get_mut(at)).and_then(Option::as_mut)
    }

    /// The netlist: the circuit's terminals first, in their order, then what the condition
    /// added.
    pub(super) fn into_netlist(self, circuit: &Circuit) -> Result<Netlist, WireProblem> {
        let mut netlist = Netlist::new(circuit.parts().frequency_hz);
        for terminal in circuit.terminals() {
            netlist.node(terminal);
        }
        for placed in self.elements.into_iter().flatten() {
            let (a, b) = (netlist.node(&placed.a), netlist.node(&placed.b));
            netlist.add(placed.id, a, b, placed.role, placed.law)?;
        }
        super::installed::couple(circuit, &mut netlist)?;
        Ok(netlist)
    }
}
