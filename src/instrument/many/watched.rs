//! Currents of a few elements in many conditions.

use super::edits::Edit;
use super::{ManyConditions, ManyWork};
use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::quantity::Phasor;

/// Elements whose currents are asked for, and the pairs of nodes that they may lie between.
#[derive(Clone, Debug)]
pub(super) struct Watched {
    /// `None` for what the base has not.
    elements: Vec<Option<ElementId>>,
    pub(super) ports: Vec<(NodeId, NodeId)>,
}

/// An element in one condition.
///
/// ```
/// use slotwise::instrument::Current;
/// use slotwise::quantity::Phasor;
/// let tripped = Current { is_open: true, ampere: Phasor::ZERO };
/// assert!(tripped.is_open);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Current {
    /// It conducts nothing, whatever the voltage.
    pub is_open: bool,
    /// Current from `a` to `b`, amperes rms.
    pub ampere: Phasor,
}

impl Watched {
    pub(super) fn new<'e>(
        netlist: &Netlist,
        elements: &[&str],
        edits: impl Iterator<Item = &'e Edit>,
    ) -> Self {
        let elements: Vec<_> = elements.iter().map(|name| netlist.find_element(name)).collect();
        let mut ports: Vec<(NodeId, NodeId)> =
            elements.iter().flatten().map(|&element| netlist.ends(element)).collect();
        for edit in edits {
            if let Edit::Join { a, b, moved: Some(element), .. } = *edit
                && elements.contains(&Some(element))
            {
                ports.push((a, b));
            }
        }
        ports.sort_unstable();
        ports.dedup();
        Self { elements, ports }
    }
}

impl ManyConditions<'_> {
    /// Currents of the watched elements with the changes put last, in the order in which they
    /// were named, `None` for one that the base has not or that the changes take out. `None` for
    /// all where only a solve of the whole network tells: then ask [`ManyConditions::condition`].
    pub fn currents(&self, work: &mut ManyWork) -> Option<Vec<Option<Current>>> {
        if work.whole.is_some() {
            return None;
        }
        let shown = self.whatif.read_voltages(self.groups.len(), &mut work.inner).ok()?.to_vec();
        let current = |(ends, law): ((NodeId, NodeId), Law)| -> Option<Current> {
            if law == Law::Open {
                return Some(Current { is_open: true, ampere: Phasor::ZERO });
            }
            let port = self.watched.ports.binary_search(&ends).ok()?;
            let volt = shown.get(port)?.voltage_volt?;
            let ampere = self.whatif.current_by(&law, volt)?;
            Some(Current { is_open: false, ampere })
        };
        let mut currents = Vec::with_capacity(self.watched.elements.len());
        for element in &self.watched.elements {
            currents.push(match element.map(|element| self.put_as(element, work)) {
                Some(Put::Between(ends, law)) => Some(current((ends, law))?),
                Some(Put::Elsewhere) => return None,
                Some(Put::Gone) | None => None,
            });
        }
        Some(currents)
    }

    /// The nodes of the base's network between which a watched element lies with the changes put
    /// last, by its place among those that were named. `None` for one that the base has not or
    /// that the changes take out, and where only a solve of the whole network tells.
    pub fn ends(&self, watched: usize, work: &ManyWork) -> Option<(NodeId, NodeId)> {
        let element = (*self.watched.elements.get(watched)?)?;
        match self.put_as(element, work) {
            Put::Between(ends, _) if work.whole.is_none() => Some(ends),
            _ => None,
        }
    }

    /// How an element is with the changes put last.
    fn put_as(&self, element: ElementId, work: &ManyWork) -> Put {
        let (ends, law) = (self.netlist().ends(element), self.netlist().element(element).law);
        let mut put = Put::Between(ends, law);
        for edit in &work.edits {
            match *edit {
                Edit::Law { element: of, law: now } if of == element => {
                    put = Put::Between(ends, now);
                }
                Edit::Out { element: of, is_gone } if of == element => {
                    put = if is_gone { Put::Gone } else { Put::Elsewhere };
                }
                _ => {}
            }
        }
        // A wire that has moved is taken out and put in elsewhere, by whichever edit comes first.
        for edit in &work.edits {
            match *edit {
                Edit::Join { a, b, law: now, moved: Some(of) } if of == element => {
                    put = Put::Between((a, b), now);
                }
                _ => {}
            }
        }
        put
    }
}

/// Where an element lies, and its law.
enum Put {
    Between((NodeId, NodeId), Law),
    /// An end is where the base has nothing.
    Elsewhere,
    /// It is taken out.
    Gone,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::condition::Condition;
    use crate::netlist::wire;
    use crate::solution::solve;

    /// Of a solve of the whole network, amperes.
    const WHOLE_SOLVE: f64 = 1e-9;

    #[test]
    fn wires_that_have_moved_carry_what_they_carry_where_they_are_now() {
        let text = include_str!("../../../circuits/pottery-studio.ron");
        let circuit = crate::circuit::file::read(text).unwrap().circuit;
        let base = Condition::default();
        let sentences = [
            "hot and neutral exchanged at kiln, line side",
            "neutral open at kiln, line side",
            "heater unplugged",
            "hot and ground touching in cable wheel-kiln, halfway, through 300 ohm",
        ];
        let changes = sentences.map(|sentence| {
            let mut change = Condition::default();
            change.say(&circuit, sentence).unwrap();
            change
        });
        // The joints at the kiln, and the wires of every cable.
        let netlist = wire(&circuit, &base).unwrap();
        let names = netlist.elements().map(|element| netlist.element(element).id.clone());
        let names: Vec<String> = names
            .filter(|name| name.starts_with("contact:") || name.starts_with("wire:"))
            .collect();
        let mut watched: Vec<&str> = names.iter().map(String::as_str).collect();
        watched.push("wire:not-there");
        let many = ManyConditions::watching(&circuit, &base, &changes, &[], &watched).unwrap();
        let mut work = many.work();
        let (mut n_moved, mut n_open) = (0, 0);
        for made in [vec![], vec![0], vec![1], vec![2], vec![0, 2]] {
            many.put(&made, &mut work).unwrap();
            let currents = many.currents(&mut work).expect("no whole solve");
            let now = wire(&circuit, &many.condition(&made)).unwrap();
            let solution = solve(&now).unwrap();
            assert_eq!(currents.len(), watched.len());
            assert_eq!(currents.last(), Some(&None), "the base has it not");
            for (at, (name, current)) in watched.iter().zip(&currents[..names.len()]).enumerate() {
                let element = now.find_element(name).unwrap();
                let current = current.unwrap();
                assert_eq!(current.is_open, now.element(element).law == Law::Open, "{name}");
                let apart = (current.ampere - solution.current(element)).magnitude();
                assert!(apart < WHOLE_SOLVE, "{made:?}, {name}: {apart:e}");
                let before = netlist.find_element(name).unwrap();
                let ends = |netlist: &Netlist, (a, b)| {
                    (netlist.address(a).clone(), netlist.address(b).clone())
                };
                let has_moved =
                    ends(&netlist, netlist.ends(before)) != ends(&now, now.ends(element));
                let seen = many.ends(at, &work).map(|seen| ends(many.netlist(), seen));
                assert_eq!(seen, Some(ends(&now, now.ends(element))), "{name}");
                n_moved += usize::from(has_moved);
                n_open += usize::from(current.is_open);
            }
        }
        assert!(n_moved > 0 && n_open > 0, "{n_moved} moved, {n_open} open");
        // Of a cable that is parted along its way no wire is whole.
        many.put(&[3], &mut work).unwrap();
        let currents = many.currents(&mut work).expect("no whole solve");
        let parted = watched.iter().position(|name| *name == "wire:wheel-kiln.hot").unwrap();
        assert_eq!((currents[parted], many.ends(parted, &work)), (None, None));
        assert!(currents.iter().filter(|current| current.is_some()).count() > 10);
    }
}
