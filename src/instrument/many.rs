//! One circuit in very many conditions.
//!
//! A condition that differs from a base by a few changes of a known list (faults, loads, switches,
//! breakers) is a handful of edits of the base's network: each change is wired once, and any set
//! of them is then put on the network in about a microsecond ([`WhatIf`]).
//!
//! What it says is so before anything trips: whoever wants what is left asks
//! [`operate`](crate::protection::operate) and puts its `remaining`.
//!
//! A table of predictions, for every hypothesis and every receptacle, is this loop:
//!
//! ```
//! use slotwise::condition::{Condition, catalogue::catalogue};
//! use slotwise::instrument::ManyConditions;
//! use slotwise::quantity::{Address, Impedance};
//! use slotwise::solution::SlotsSight;
//!
//! let text = include_str!("../../circuits/toll-house.ron");
//! let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
//! let catalogue = catalogue(&circuit);
//! let changes: Vec<Condition> =
//!     catalogue.faults().iter().map(|fault| fault.change.clone()).collect();
//! // Group 0: three pairs of slots a receptacle; group 1: each slot to earth.
//! let terminal = |(_, terminal): &(String, Address)| terminal.clone();
//! let slots: Vec<Vec<Address>> = circuit
//!     .outlets()
//!     .map(|(_, outlet)| outlet.slots.iter().map(terminal).collect())
//!     .filter(|slots: &Vec<Address>| slots.len() == 3)
//!     .collect();
//! let pairs = slots.iter().flat_map(|slots| {
//!     [(0, 1), (0, 2), (1, 2)].map(|(p, q)| (slots[p].clone(), slots[q].clone()))
//! });
//! let to_earth = slots.iter().flatten().map(|slot| (slot.clone(), Address::earth()));
//! let groups = [pairs.collect(), to_earth.collect()];
//!
//! // One for each load setting: it is where the loads stand as they do in the setting.
//! let many = ManyConditions::new(&circuit, &Condition::default(), &changes, &groups).unwrap();
//! let mut work = many.work();
//! let tester = Some(Impedance::resistance(40e3));
//! for first in 0..changes.len().min(20) {
//!     // Hypotheses that share their first change are best asked one after the other.
//!     for second in first + 1..changes.len().min(20) {
//!         if many.put(&[first, second], &mut work).is_err() {
//!             continue; // The two cannot both be so.
//!         }
//!         for ports in many.read(0, &mut work).unwrap().chunks_exact(3) {
//!             let slots = SlotsSight::new([ports[0], ports[1], ports[2]]);
//!             let open_volt = ports[0].voltage_volt;
//!             let low_impedance_meter = ports[0].behind(Impedance::resistance(3e3));
//!             let plugged_in = slots.attached([tester; 3]);
//!             let loaded = slots.attached([Some(Impedance::resistance(12.0)), None, None]);
//!             # let _ = (open_volt, low_impedance_meter, plugged_in, loaded);
//!         }
//!         let potentials = many.read_voltages(1, &mut work).unwrap();
//!         # let _ = potentials;
//!     }
//! }
//! ```

use std::collections::{BTreeMap, BTreeSet};

use super::problem::MeasureProblem;
use crate::circuit::Circuit;
use crate::condition::{Condition, Fault};
use crate::netlist::{Netlist, NodeId, Wiring, independent};
use crate::network::{Known, Refusal};
use crate::quantity::Address;
use crate::solution::{Change, PortSight, PortSystem, WhatIf, WhatIfWork};

use edits::{Edit, edits};
use watched::Watched;

pub(crate) use held::Held;
pub use readings::ManyReadings;
pub use watched::Current;

mod each;
mod edits;
mod held;
mod readings;
mod watched;

/// A circuit in a base condition, and a list of changes of which any may be made together.
///
/// ```
/// use slotwise::condition::Condition;
/// use slotwise::instrument::ManyConditions;
/// let text = include_str!("../../circuits/pottery-studio.ron");
/// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
/// let mut open = Condition::default();
/// open.say(&circuit, "neutral open at kiln, line side").unwrap();
/// let slots = vec![("kiln.hot".into(), "kiln.neutral".into())];
/// let many = ManyConditions::new(&circuit, &Condition::default(), &[open], &[slots]).unwrap();
/// let mut work = many.work();
/// many.put(&[], &mut work).unwrap();
/// assert!(many.read(0, &mut work).unwrap()[0].voltage_volt.unwrap().magnitude() > 115.0);
/// many.put(&[0], &mut work).unwrap();
/// assert!(many.read(0, &mut work).unwrap()[0].voltage_volt.unwrap().magnitude() < 10.0);
/// ```
#[derive(Clone, Debug)]
pub struct ManyConditions<'c> {
    wiring: Wiring<'c>,
    base: Condition,
    changes: Vec<Condition>,
    wired: Vec<Wired>,
    whatif: WhatIf,
    groups: Vec<Vec<(NodeId, NodeId)>>,
    watched: Watched,
}

/// One change as edits of the base's network.
#[derive(Clone, Debug)]
struct Wired {
    /// `None` where it does not fit the circuit, or its network has only whole answers.
    edits: Option<Vec<Edit>>,
    /// The same, prepared.
    changes: Vec<Change>,
    /// Every element that it changes or speaks of, numbered, in order.
    about: Vec<u32>,
}

impl Wired {
    /// Whether two changes have nothing to do with one another.
    fn is_apart(&self, other: &Self) -> bool {
        let spans = [self, other].map(|wired| (wired.about.first(), wired.about.last()));
        if spans[0].1 < spans[1].0 || spans[1].1 < spans[0].0 {
            return true;
        }
        let mut others = other.about.iter().peekable();
        self.about.iter().all(|own| {
            while others.next_if(|&other| other < own).is_some() {}
            others.peek() != Some(&own)
        })
    }
}

/// Room for the numbers of one [`ManyConditions`], one a thread.
///
/// ```
/// # use slotwise::instrument::ManyWork;
/// fn share_fast(work: &ManyWork) -> f64 {
///     1.0 - work.solved_whole() as f64 / work.answered().max(1) as f64
/// }
/// ```
#[derive(Clone, Debug)]
pub struct ManyWork {
    inner: WhatIfWork,
    changes: Vec<Change>,
    edits: Vec<Edit>,
    made: Vec<usize>,
    /// By change, how often it is among the sets asked for together.
    n_asked: Vec<u32>,
    /// By change, what it is known by until that is forgotten.
    known: Vec<Option<Known>>,
    /// Sets that are asked by themselves, by their places.
    others: Vec<u32>,
    whole: Option<Box<Whole>>,
    shown: Vec<PortSight>,
    solved_whole: u64,
}

/// A condition of which the whole network was laid out.
#[derive(Clone, Debug)]
struct Whole {
    netlist: Netlist,
    ports: Option<PortSystem>,
}

impl ManyWork {
    /// How many conditions were asked for.
    pub fn answered(&self) -> u64 {
        self.inner.answered()
    }

    /// How many of them took a solve of the whole network.
    pub fn solved_whole(&self) -> u64 {
        self.inner.solved_whole() + self.solved_whole
    }
}

impl<'c> ManyConditions<'c> {
    /// Wires a base condition and each change, and prepares the network for any of them.
    /// `groups` are the pairs of terminals that will be read, in groups that are read apart; a
    /// pair of which one is `earth` gives a potential and mostly no impedance.
    ///
    /// # Errors
    ///
    /// The base does not fit the circuit or has no answer, or a terminal is unknown. A change
    /// that does not fit is refused when it is put.
    pub fn new(
        circuit: &'c Circuit,
        base: &Condition,
        changes: &[Condition],
        groups: &[Vec<(Address, Address)>],
    ) -> Result<Self, MeasureProblem> {
        Self::prepared(circuit, base, changes, groups, (&[], &[]))
    }

    /// The same where the currents of some elements, by their names, will be asked for too.
    ///
    /// # Errors
    ///
    /// As [`ManyConditions::new`].
    pub fn watching(
        circuit: &'c Circuit,
        base: &Condition,
        changes: &[Condition],
        groups: &[Vec<(Address, Address)>],
        elements: &[&str],
    ) -> Result<Self, MeasureProblem> {
        Self::prepared(circuit, base, changes, groups, (elements, &[]))
    }

    /// The same; `to_earth` are pairs of groups that are read with their impedance though one of
    /// the two is earth, by the nodes of the base's network.
    pub(crate) fn prepared(
        circuit: &'c Circuit,
        base: &Condition,
        changes: &[Condition],
        groups: &[Vec<(Address, Address)>],
        (elements, to_earth): (&[&str], &[(NodeId, NodeId)]),
    ) -> Result<Self, MeasureProblem> {
        let wiring = Wiring::new(circuit);
        let netlist = wiring.netlist(base)?;
        let node = |address: &Address| {
            let unknown = || MeasureProblem::unknown_terminal(&netlist, address);
            netlist.find_node(address).ok_or_else(unknown)
        };
        let groups: Vec<Vec<(NodeId, NodeId)>> = groups
            .iter()
            .map(|group| group.iter().map(|(a, b)| Ok((node(a)?, node(b)?))).collect())
            .collect::<Result<_, MeasureProblem>>()?;
        let raw: Vec<_> = changes
            .iter()
            .map(|change| {
                let mut condition = base.clone();
                condition.put_on(change);
                let revised = wiring.revised(base, &condition).ok()?;
                Some((edits(&netlist, &revised), revised))
            })
            .collect();
        let joins = raw.iter().flatten().filter_map(|(edits, _)| edits.as_ref()).flatten();
        let may_join: BTreeSet<(NodeId, NodeId)> = joins
            .filter_map(|edit| match *edit {
                Edit::Join { a, b, .. } => Some((a.min(b), a.max(b))),
                Edit::Law { .. } | Edit::Out { .. } => None,
            })
            .collect();
        let may_join: Vec<_> = may_join.into_iter().chain(to_earth.iter().copied()).collect();
        let all_edits = raw.iter().flatten().filter_map(|(edits, _)| edits.as_ref()).flatten();
        let watched = Watched::new(&netlist, elements, all_edits);
        let n_asked = groups.len();
        let mut groups = groups;
        groups.push(watched.ports.clone());
        let whatif = WhatIf::new(&netlist, &may_join, &groups)?;
        groups.truncate(n_asked);
        let mut numbers: BTreeMap<String, u32> = BTreeMap::new();
        let wired = raw
            .into_iter()
            .zip(changes)
            .map(|(raw, change)| {
                let (edits, revised) = raw.unwrap_or_default();
                let changed = revised.into_iter().map(|revised| revised.element);
                let spoken_of = change.faults.iter().filter_map(spoken_of).map(str::to_owned);
                let mut about: Vec<u32> = spoken_of
                    .chain(changed)
                    .map(|element| {
                        let next = numbers.len() as u32;
                        *numbers.entry(element).or_insert(next)
                    })
                    .collect();
                about.sort_unstable();
                about.dedup();
                let prepared: Option<Vec<Change>> =
                    edits.iter().flatten().map(|edit| edit.change(&whatif).ok()).collect();
                let edits = edits.filter(|_| prepared.is_some());
                Wired { edits, changes: prepared.unwrap_or_default(), about }
            })
            .collect();
        let (base, changes) = (base.clone(), changes.to_vec());
        Ok(Self { wiring, base, changes, wired, whatif, groups, watched })
    }

    /// Room to work in.
    pub fn work(&self) -> ManyWork {
        let ports = self.groups.iter().map(Vec::len).max().unwrap_or(0);
        ManyWork {
            inner: self.whatif.work(),
            changes: Vec::with_capacity(64),
            edits: Vec::with_capacity(64),
            made: Vec::with_capacity(8),
            n_asked: vec![0; self.changes.len()],
            known: vec![None; self.changes.len()],
            others: Vec::new(),
            whole: None,
            shown: vec![PortSight::default(); ports],
            solved_whole: 0,
        }
    }

    /// The netlist of the base condition.
    pub fn netlist(&self) -> &Netlist {
        self.whatif.netlist()
    }

    /// The pairs of a group as nodes of that netlist.
    pub fn ports(&self, group: usize) -> &[(NodeId, NodeId)] {
        self.groups.get(group).map_or(&[], Vec::as_slice)
    }

    /// The condition of some of the changes, made in this order.
    pub fn condition(&self, made: &[usize]) -> Condition {
        let mut condition = self.base.clone();
        for change in made.iter().filter_map(|&change| self.changes.get(change)) {
            condition.put_on(change);
        }
        condition
    }

    /// Solves with some of the changes made, by their places in the list.
    ///
    /// # Errors
    ///
    /// They cannot be so at once, one is not on the list, the room is that of another, or the
    /// network has no answer.
    pub fn put(&self, made: &[usize], work: &mut ManyWork) -> Result<(), MeasureProblem> {
        let n_changes = self.changes.len();
        if let Some(&change) = made.iter().find(|&&change| change >= n_changes) {
            return Err(MeasureProblem::NoSuchChange { change, n_changes });
        }
        work.whole = None;
        work.made.clear();
        work.made.extend_from_slice(made);
        work.changes.clear();
        work.edits.clear();
        if self.are_apart(made) {
            for wired in made.iter().filter_map(|&change| self.wired.get(change)) {
                work.edits.extend(wired.edits.iter().flatten());
                work.changes.extend_from_slice(&wired.changes);
            }
            return Ok(self.whatif.put(&work.changes, &mut work.inner)?);
        }
        let edits = self.wire_anew(made)?;
        let Some(edits) = edits else { return self.lay_out(work) };
        for edit in edits {
            work.changes.push(edit.change(&self.whatif)?);
            work.edits.push(edit);
        }
        Ok(self.whatif.put(&work.changes, &mut work.inner)?)
    }

    /// Whether the changes are made by making each.
    fn are_apart(&self, made: &[usize]) -> bool {
        made.iter().enumerate().all(|(at, &change)| {
            let Some(wired @ Wired { edits: Some(_), .. }) = self.wired.get(change) else {
                return false;
            };
            made[..at].iter().all(|&other| {
                self.wired[other].is_apart(wired)
                    && independent(&self.changes[other], &self.changes[change])
            })
        })
    }

    fn wire_anew(&self, made: &[usize]) -> Result<Option<Vec<Edit>>, MeasureProblem> {
        let revised = self.wiring.revised(&self.base, &self.condition(made))?;
        Ok(edits(self.netlist(), &revised))
    }

    fn lay_out(&self, work: &mut ManyWork) -> Result<(), MeasureProblem> {
        let netlist = self.wiring.netlist(&self.condition(&work.made))?;
        work.whole = Some(Box::new(Whole { netlist, ports: None }));
        work.solved_whole += 1;
        Ok(())
    }

    /// What each pair of a group shows with the changes put last.
    ///
    /// # Errors
    ///
    /// The network has no answer, there is no such group, or the room is that of another.
    pub fn read<'w>(
        &self,
        group: usize,
        work: &'w mut ManyWork,
    ) -> Result<&'w [PortSight], MeasureProblem> {
        match &mut work.whole {
            Some(whole) => self.read_whole((group, true), whole, &mut work.shown),
            None => Ok(self.whatif.read(group, &mut work.inner)?),
        }
    }

    /// The same without the impedances, which is quicker.
    ///
    /// # Errors
    ///
    /// As [`ManyConditions::read`].
    pub fn read_voltages<'w>(
        &self,
        group: usize,
        work: &'w mut ManyWork,
    ) -> Result<&'w [PortSight], MeasureProblem> {
        match &mut work.whole {
            Some(whole) => self.read_whole((group, false), whole, &mut work.shown),
            None => Ok(self.whatif.read_voltages(group, &mut work.inner)?),
        }
    }

    fn read_whole<'w>(
        &self,
        (group, impedances): (usize, bool),
        whole: &mut Whole,
        shown: &'w mut [PortSight],
    ) -> Result<&'w [PortSight], MeasureProblem> {
        if group >= self.groups.len() {
            return Err(Refusal::NoSuchGroup { group }.into());
        }
        let ports = match &whole.ports {
            Some(ports) => ports,
            None => {
                // Nodes of the base are there under the same names.
                let here = |node: NodeId| {
                    whole.netlist.find_node(self.netlist().address(node)).unwrap_or(node)
                };
                let pairs: Vec<_> =
                    self.groups.iter().flatten().map(|&(a, b)| (here(a), here(b))).collect();
                whole.ports.insert(PortSystem::new(&whole.netlist, &pairs)?)
            }
        };
        let before: usize = self.groups.iter().take(group).map(Vec::len).sum();
        let n = self.ports(group).len();
        for (at, shown) in shown.iter_mut().enumerate().take(n) {
            *shown = PortSight {
                voltage_volt: ports.open_circuit(before + at),
                impedance: impedances.then(|| ports.impedance(before + at, before + at)).flatten(),
            };
        }
        let n = n.min(shown.len());
        Ok(&shown[..n])
    }
}

/// The element that a fault speaks of, which it leaves as it is if that stands open.
fn spoken_of(fault: &Fault) -> Option<&str> {
    match fault {
        Fault::Open { element, .. }
        | Fault::Resistance { element, .. }
        | Fault::Glowing { element } => Some(element),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::condition::{AttachedLaw, Attachment, Gap};
    use crate::instrument::{Place, Request, measure, presets};
    use crate::solution::PortSystem;

    fn studio() -> Circuit {
        let text = include_str!("../../circuits/pottery-studio.ron");
        crate::circuit::file::read(text).unwrap().circuit
    }

    fn about(elements: &[u32]) -> Wired {
        Wired { edits: None, changes: Vec::new(), about: elements.to_vec() }
    }

    #[test]
    fn changes_are_apart_where_no_element_is_of_both() {
        for (one, other, apart) in [
            (&[1, 3][..], &[3, 5][..], false),
            (&[1, 2], &[3, 5], true),
            (&[1, 5], &[2, 4], true),
            (&[1, 4, 6], &[2, 4, 9], false),
            (&[1, 9], &[9], false),
            (&[2], &[1, 2], false),
            (&[], &[1], true),
            (&[], &[], true),
        ] {
            assert_eq!(about(one).is_apart(&about(other)), apart, "{one:?} and {other:?}");
            assert_eq!(about(other).is_apart(&about(one)), apart, "{other:?} and {one:?}");
        }
    }

    #[test]
    fn a_fault_in_a_joint_speaks_of_the_joint_and_one_in_a_cable_of_none() {
        let element = || "contact:k.a.hot".to_owned();
        for fault in [
            Fault::Open { element: element(), gap: Gap::NONE },
            Fault::Resistance { element: element(), resistance_ohm: 3.0 },
            Fault::Glowing { element: element() },
        ] {
            assert_eq!(spoken_of(&fault), Some("contact:k.a.hot"));
        }
        let fault = Fault::LineLoadExchanged { device: "gf".to_owned() };
        assert_eq!(spoken_of(&fault), None);
    }

    /// A lead of no resistance from the hot slot to a probe, and so many ohms from there on: a node
    /// that the circuit has not, on something that is no admittance.
    fn probe(ohm: f64) -> Condition {
        let attached = |id: &str, from: &str, to: &str, ohm| Attachment {
            id: id.to_owned(),
            between: (from.into(), to.into()),
            law: AttachedLaw::ResistanceOhm(ohm),
        };
        let attached = vec![
            attached("lead", "kiln.hot", "probe", 0.0),
            attached("lamp", "probe", "kiln.neutral", ohm),
        ];
        Condition { attached, ..Condition::default() }
    }

    #[test]
    fn what_cannot_be_said_as_edits_is_laid_out_whole_and_counted() {
        let circuit = studio();
        let pair = |a: &str, b: &str| (Address::from(a), Address::from(b));
        let groups = [
            vec![pair("sink.hot", "sink.neutral")],
            vec![pair("kiln.hot", "kiln.neutral"), pair("kiln.neutral", "kiln.ground")],
        ];
        let (base, changes) = (Condition::default(), [probe(12.0), Condition::default()]);
        let many = ManyConditions::new(&circuit, &base, &changes, &groups).unwrap();
        assert_eq!([0, 1, 2].map(|group| many.ports(group).len()), [1, 2, 0]);
        let mut work = many.work();
        many.put(&[1], &mut work).unwrap();
        assert_eq!((work.answered(), work.solved_whole()), (1, 0));
        many.put(&[0], &mut work).unwrap();
        assert_eq!((work.answered(), work.solved_whole()), (1, 1));
        let netlist = crate::netlist::wire(&circuit, &many.condition(&[0])).unwrap();
        for (group, pairs) in groups.iter().enumerate() {
            let node = |address: &Address| netlist.find_node(address).unwrap();
            let pairs: Vec<_> = pairs.iter().map(|(a, b)| (node(a), node(b))).collect();
            let expected = PortSystem::new(&netlist, &pairs).unwrap();
            let seen = many.read(group, &mut work).unwrap().to_vec();
            let volts = many.read_voltages(group, &mut work).unwrap();
            assert_eq!((seen.len(), volts.len()), (pairs.len(), pairs.len()));
            for (at, seen) in seen.iter().enumerate() {
                let apart = seen.voltage_volt.unwrap() - expected.open_circuit(at).unwrap();
                assert!(apart.magnitude() < 1e-9);
                let [z, expected] =
                    [seen.impedance, expected.impedance(at, at)].map(Option::unwrap);
                assert!((z.resistance_ohm - expected.resistance_ohm).abs() < 1e-9);
                assert_eq!(
                    (volts[at].voltage_volt, volts[at].impedance),
                    (seen.voltage_volt, None)
                );
            }
        }
        for group in [2, 7] {
            let said = many.read(group, &mut work).unwrap_err();
            assert_eq!(said, Refusal::NoSuchGroup { group }.into());
        }
    }

    #[test]
    fn one_joint_bad_in_two_ways_is_wired_anew_and_still_not_solved_whole() {
        let circuit = studio();
        let netlist = crate::netlist::wire(&circuit, &Condition::default()).unwrap();
        let mut names = netlist.elements().map(|element| netlist.element(element).id.clone());
        let element = names.find(|name| name.starts_with("contact:")).unwrap();
        let bad = |resistance_ohm| Condition {
            faults: vec![Fault::Resistance { element: element.clone(), resistance_ohm }],
            ..Condition::default()
        };
        let group = vec![("sink.hot".into(), "sink.neutral".into())];
        let changes = [bad(3.0), bad(5.0)];
        let many =
            ManyConditions::new(&circuit, &Condition::default(), &changes, &[group]).unwrap();
        let mut work = many.work();
        many.put(&[0, 1], &mut work).unwrap();
        let found = many.read(0, &mut work).unwrap()[0].voltage_volt.unwrap();
        assert_eq!(work.solved_whole(), 0);
        let netlist = crate::netlist::wire(&circuit, &many.condition(&[0, 1])).unwrap();
        let solution = crate::solution::solve(&netlist).unwrap();
        let node = |name: &str| netlist.find_node(&name.into()).unwrap();
        let expected = solution.difference(node("sink.hot"), node("sink.neutral")).unwrap();
        assert!((found - expected).magnitude() < 1e-6, "{found:?} and not {expected:?}");
    }

    #[test]
    fn instruments_attached_together_load_each_other_in_many_conditions_too() {
        let circuit = studio();
        let meter = |from: &str, to: &str| Request {
            together: Some(1),
            ..Request::new(presets::voltmeter_low_impedance(), Place::between(from, to))
        };
        // With the neutral open before the kiln, a meter at the sink loads what the kiln's shows.
        let requests = [
            meter("kiln.hot", "kiln.neutral"),
            meter("sink.hot", "sink.ground"),
            meter("sink.neutral", "earth"),
        ];
        let mut open = Condition::default();
        open.say(&circuit, "neutral open at kiln, line side; heater unplugged; kettle unplugged")
            .unwrap();
        let base = Condition::default();
        let many = ManyReadings::new(&circuit, &base, &[open], &requests).unwrap();
        let mut work = many.work();
        let readings = many.readings(&[0], &mut work).unwrap();
        let alone = measure(&circuit, &many.conditions().condition(&[0]), &requests).unwrap();
        assert_eq!(readings, alone);
    }
}
