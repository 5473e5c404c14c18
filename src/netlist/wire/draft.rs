//! A netlist in the making: the circuit as installed, laid out once, and the few edits that a
//! condition makes to it.

use std::collections::{BTreeMap, BTreeSet, HashMap};

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

/// One change of a layout. Whatever a condition says comes down to these, so that a network
/// that is planned once can be changed instead of planned again.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Edit {
    /// An element obeys another law.
    Law { element: String, law: Law },
    /// An end of an element moves to another terminal.
    End { element: String, end: End, to: Address },
    /// An element is added; one of the same name is replaced.
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
#[derive(Clone, Debug, Default)]
pub(super) struct Layout {
    elements: Vec<Placed>,
    position: HashMap<String, usize>,
}

impl Layout {
    /// Appends an element; names of a circuit's elements are unique.
    pub(super) fn push(&mut self, placed: Placed) {
        self.position.insert(placed.id.clone(), self.elements.len());
        self.elements.push(placed);
    }
}

/// A layout with the edits made to it so far, which alone cost anything.
pub(super) struct Draft<'l> {
    circuit: &'l Circuit,
    layout: &'l Layout,
    /// Elements of the layout that are changed, by position, or gone.
    changed: BTreeMap<usize, Option<Placed>>,
    /// Elements that are not in the layout.
    added: Vec<Option<Placed>>,
    added_position: HashMap<String, usize>,
}

impl<'l> Draft<'l> {
    pub(super) fn new(circuit: &'l Circuit, layout: &'l Layout) -> Self {
        let (changed, added, added_position) = Default::default();
        Self { circuit, layout, changed, added, added_position }
    }

    pub(super) fn find(&self, id: &str) -> Option<&Placed> {
        match self.layout.position.get(id) {
            Some(at) => match self.changed.get(at) {
                Some(changed) => changed.as_ref(),
                None => self.layout.elements.get(*at),
            },
            None => {
                let at = self.added_position.get(id)?;
                self.added.get(*at)?.as_ref()
            }
        }
    }

    /// Every element as it is by now.
    pub(super) fn elements(&self) -> impl Iterator<Item = &Placed> {
        let installed = self.layout.elements.iter().enumerate();
        let installed = installed.filter_map(|(at, placed)| match self.changed.get(&at) {
            Some(changed) => changed.as_ref(),
            None => Some(placed),
        });
        installed.chain(self.added.iter().flatten())
    }

    /// The element that a condition names.
    pub(super) fn named(&self, id: &str) -> Result<&Placed, WireProblem> {
        self.find(id).ok_or_else(|| {
            let mut unknown = UnknownName::among(
                id,
                "an element of this circuit",
                self.elements().map(|placed| placed.id.as_str()),
            );
            if let Some(joint) = self.circuit.joint(&Address::from(id)) {
                unknown.close = vec![joint.element.clone()];
            }
            WireProblem::Unknown(unknown)
        })
    }

    /// Makes a change; one that names an element which is not there changes nothing.
    pub(super) fn apply(&mut self, edit: Edit) {
        match edit {
            Edit::Law { element, law } => self.change(&element, |placed| placed.law = law),
            Edit::End { element, end, to } => self.change(&element, |placed| match end {
                End::A => placed.a = to,
                End::B => placed.b = to,
            }),
            Edit::Put(placed) => match self.layout.position.get(&placed.id) {
                Some(&at) => {
                    self.changed.insert(at, Some(placed));
                }
                None => self.put(placed),
            },
            Edit::Remove { element } => match self.layout.position.get(&element) {
                Some(&at) => {
                    self.changed.insert(at, None);
                }
                None => {
                    let at = self.added_position.remove(&element);
                    if let Some(slot) = at.and_then(|at| self.added.get_mut(at)) {
                        *slot = None;
                    }
                }
            },
        }
    }

    fn change(&mut self, id: &str, change: impl FnOnce(&mut Placed)) {
        let Some(mut placed) = self.find(id).cloned() else { return };
        change(&mut placed);
        self.apply(Edit::Put(placed));
    }

    fn put(&mut self, placed: Placed) {
        let at = self.added_position.get(&placed.id).copied();
        if let Some(slot) = at.and_then(|at| self.added.get_mut(at)) {
            *slot = Some(placed);
            return;
        }
        self.added_position.insert(placed.id.clone(), self.added.len());
        self.added.push(Some(placed));
    }

    /// The elements that differ from those of another draft of the same layout: the name, and what
    /// it is here, if it is there at all.
    pub(super) fn differing<'d>(
        &'d self,
        other: &'d Draft<'_>,
    ) -> impl Iterator<Item = (&'d str, Option<&'d Placed>)> {
        let positions = self.changed.keys().chain(other.changed.keys());
        let installed = positions.collect::<BTreeSet<_>>().into_iter();
        let names = installed.filter_map(|&at| self.layout.elements.get(at));
        let names = names.map(|placed| placed.id.as_str());
        let added = self.added_position.keys().chain(other.added_position.keys());
        let added: BTreeSet<&str> = added.map(String::as_str).collect();
        names.chain(added).filter_map(|name| {
            let (here, there) = (self.find(name), other.find(name));
            (here != there).then_some((name, here))
        })
    }

    /// The netlist: the circuit's terminals first, in their order, then what the condition
    /// added.
    pub(super) fn netlist(&self) -> Result<Netlist, WireProblem> {
        let n_elements = self.layout.elements.len() + self.added.len();
        let room = (self.circuit.terminals().len(), n_elements);
        let mut netlist = Netlist::with_room(self.circuit.parts().frequency_hz, room);
        for terminal in self.circuit.terminals() {
            netlist.node(terminal);
        }
        for placed in self.elements() {
            let (a, b) = (netlist.node(&placed.a), netlist.node(&placed.b));
            netlist.add(placed.id.as_str(), a, b, placed.role, placed.law)?;
        }
        super::installed::couple(self.circuit, &mut netlist)?;
        Ok(netlist)
    }
}
