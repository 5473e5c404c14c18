//! A million what-ifs: one network with a few things changed, asked again and again.
//!
//! [`WhatIf::new`] prepares a netlist once, together with the pairs of nodes that may come to be
//! joined and those whose voltage will be asked for. [`WhatIf::put`] then answers for any changes
//! by doing again only what lies between them, and [`WhatIf::read`] says what every port of a
//! group shows: its open voltage and the impedance it sees, so that what a meter, a tester or a
//! load would make of it is a division away. `docs/numerics.md` has the method.
//!
//! What cannot be answered so (a nonlinear law, elements without impedance, nodes joined that
//! were never said to be, a port of which an end is cut off from everything, or seems to be where what
//! joins it cancels to the last digit) is solved as a whole, and counted.

use std::sync::Arc;

use nalgebra::Complex;

use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::network::{
    Beside, Branch, Branching, Known, Refusal, Sight, Walk, complex, exceeds, name, phasor,
};
use crate::quantity::{Impedance, Phasor};

use super::port_system::Reducer;
use prepared::Prepared;

use alike::WaitingSets;
use settle::Resting;

pub(crate) use alike::{Told, Waits};
pub(crate) use inset::{InsetEnd, meshed};
pub(crate) use slots::Admittances;
pub use slots::SlotsSight;
use slots::attached_abreast;

mod alike;
mod each;
mod inset;
mod prepared;
mod settle;
mod slots;
mod telling;

/// A network prepared for many changes.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::{Address, Impedance, Phasor};
/// use slotwise::solution::WhatIf;
///
/// let mut netlist = Netlist::new(60.0);
/// let [bar, hot, neutral] = ["bar", "hot", "neutral"].map(|name| netlist.node(&name.into()));
/// let supply = Law::Source {
///     emf_volt: Phasor::new(120.0, 0.0),
///     impedance: Impedance::resistance(0.1),
/// };
/// netlist.add("supply", bar, Netlist::EARTH, Role::Winding, supply)?;
/// let splice = netlist.add("splice", bar, hot, Role::Joint, Law::resistance(0.4e-3))?;
/// netlist.add("return", neutral, Netlist::EARTH, Role::Wire, Law::resistance(0.2))?;
/// let cable = Law::Capacitor { capacitance_farad: 1e-9 };
/// netlist.add("cable", hot, neutral, Role::Capacitance, cable)?;
///
/// let whatif = WhatIf::new(&netlist, &[], &[vec![(hot, neutral)]])?;
/// let mut work = whatif.work();
/// let open = whatif.change(splice, Law::Open)?;
/// let bad = whatif.change(splice, Law::resistance(5.0))?;
///
/// whatif.put(&[], &mut work)?;
/// let sound = whatif.read(0, &mut work)?[0];
/// assert!((sound.voltage_volt.unwrap().magnitude() - 120.0).abs() < 1e-3);
/// whatif.put(&[open], &mut work)?;
/// assert!(whatif.read(0, &mut work)?[0].voltage_volt.unwrap().magnitude() < 1e-9);
/// whatif.put(&[bad], &mut work)?;
/// let seen = whatif.read(0, &mut work)?[0];
/// // Twelve ohms between the two would draw 120 V / (5.3 + 12) ohm.
/// assert!((seen.behind(Impedance::resistance(12.0)).unwrap().magnitude() - 83.2).abs() < 0.1);
/// assert_eq!(work.solved_whole(), 0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct WhatIf {
    netlist: Netlist,
    groups: Vec<Vec<(NodeId, NodeId)>>,
    /// `None` where the network has only whole answers.
    fast: Option<Prepared>,
    /// What its work is told by.
    own: Arc<()>,
}

/// One change of a [`WhatIf`]: an element of another law, or something put between two nodes.
///
/// ```
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::solution::WhatIf;
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&"hot".into());
/// let rod = netlist.add("rod", hot, Netlist::EARTH, Role::Electrode, Law::resistance(25.0))?;
/// let whatif = WhatIf::new(&netlist, &[(hot, Netlist::EARTH)], &[])?;
/// let lost = whatif.change(rod, Law::Open)?;
/// let bridged = whatif.join(hot, Netlist::EARTH, Law::resistance(0.002))?;
/// whatif.put(&[lost, bridged], &mut whatif.work())?;
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Change {
    effect: Effect,
    /// For the whole solve: the element changed, or the nodes something is put between.
    element: Option<ElementId>,
    ends: (NodeId, NodeId),
    law: Law,
}

#[derive(Clone, Copy, Debug)]
enum Effect {
    /// It is so already.
    Nothing,
    Fast(Branching),
    /// A winding of the supply, by its place, has so much more EMF.
    Emf {
        place: u32,
        more: Complex<f64>,
    },
    Whole,
}

/// Number of what is put between two nodes, in place of that of an element.
const ADDED: u32 = u32::MAX - 1;

/// What a port shows with nothing attached to it.
///
/// ```
/// use slotwise::quantity::{Impedance, Phasor};
/// use slotwise::solution::PortSight;
/// let seen = PortSight {
///     voltage_volt: Some(Phasor::new(120.0, 0.0)),
///     impedance: Some(Impedance::resistance(12.0)),
/// };
/// assert_eq!(seen.behind(Impedance::resistance(12.0)), Some(Phasor::new(60.0, 0.0)));
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PortSight {
    /// Open voltage from the first node to the second, volts rms; `None` between parts that
    /// nothing joins.
    pub voltage_volt: Option<Phasor>,
    /// Impedance seen between the two, the EMFs at zero. `None` between parts that nothing joins,
    /// for a potential to earth where earth is far from the node, and where only voltages were asked
    /// for.
    pub impedance: Option<Impedance>,
}

impl PortSight {
    /// Voltage with an impedance attached, which alone is attached.
    #[inline]
    pub fn behind(&self, attached: Impedance) -> Option<Phasor> {
        let (seen, open) = (self.impedance?, self.voltage_volt?);
        let load = Complex::new(attached.resistance_ohm, attached.reactance_ohm);
        let own = Complex::new(seen.resistance_ohm, seen.reactance_ohm);
        // V = V₀ Z / (Z + Z₀)
        Some(phasor(complex(open) * (load / (load + own))))
    }
}

/// Room for the numbers of one [`WhatIf`], owned by whoever asks, one a thread. After the first few
/// answers next to nothing is allocated any more. What lies between changes far from each other,
/// and to either side of them, is kept here, up to about 80 MiB and as much again for each group of
/// ports: the answers are the same whatever was asked before, but for rounding in the last digits.
///
/// ```
/// # use slotwise::netlist::Netlist;
/// # use slotwise::solution::WhatIf;
/// let whatif = WhatIf::new(&Netlist::new(60.0), &[], &[])?;
/// assert_eq!(whatif.work().answered(), 0);
/// # Ok::<(), slotwise::solution::Refusal>(())
/// ```
#[derive(Clone, Debug)]
pub struct WhatIfWork {
    /// Whose work it is.
    of: Arc<()>,
    walk: Option<Walk>,
    branching: Vec<Branching>,
    sight: Vec<Sight>,
    shown: Vec<PortSight>,
    /// The changes put, for a whole solve that turns out to be needed.
    changes: Vec<Change>,
    whole: Option<Box<Reducer>>,
    /// Where the nonlinear elements have come to rest.
    settled: Option<Box<Resting>>,
    cancellation: f64,
    /// Whether impedances were asked for.
    impedances: bool,
    /// Sets that wait to be told together.
    waiting: WaitingSets,
    answered: u64,
    solved_whole: u64,
}

impl WhatIfWork {
    /// How often changes were put.
    pub fn answered(&self) -> u64 {
        self.answered
    }

    /// How often that took a solve of the whole network.
    pub fn solved_whole(&self) -> u64 {
        self.solved_whole
    }

    /// As [`Solution::accuracy_indicator`](super::Solution::accuracy_indicator), of what was done
    /// again for the last changes.
    pub fn accuracy_indicator(&self) -> f64 {
        self.cancellation
    }
}

/// Cancellation from which on a whole solve, which can put off what cancels, is the better one.
const CANCELLATION_SUSPECT: f64 = 1e3;

impl WhatIf {
    /// Prepares a netlist. `may_join` are pairs of nodes that may come to be joined: any pair can
    /// be, but one that is not said costs a whole solve. Far pairs make every answer a little
    /// dearer. `groups` are the ports asked for, in groups that are read apart.
    ///
    /// # Errors
    /// [`Refusal`] as for [`solve`](super::solve), and for a node of another netlist.
    pub fn new(
        netlist: &Netlist,
        may_join: &[(NodeId, NodeId)],
        groups: &[Vec<(NodeId, NodeId)>],
    ) -> Result<Self, Refusal> {
        let n_nodes = netlist.nodes().len() as u32;
        let foreign = |&(a, b): &(NodeId, NodeId)| a.0 >= n_nodes || b.0 >= n_nodes;
        if let Some(port) = groups.iter().flatten().position(foreign) {
            return Err(Refusal::ForeignPort { port });
        }
        let may_join: Vec<_> = may_join.iter().copied().filter(|pair| !foreign(pair)).collect();
        Ok(Self {
            netlist: netlist.clone(),
            groups: groups.to_vec(),
            fast: Prepared::new(netlist, &may_join, groups)?,
            own: Arc::new(()),
        })
    }

    /// Room to work in.
    pub fn work(&self) -> WhatIfWork {
        let ports = self.groups.iter().map(Vec::len).max().unwrap_or(0);
        WhatIfWork {
            of: Arc::clone(&self.own),
            walk: self.fast.as_ref().map(Prepared::walk),
            branching: Vec::with_capacity(16),
            sight: vec![Sight::default(); 2 * ports],
            shown: vec![PortSight::default(); ports],
            changes: Vec::with_capacity(16),
            whole: None,
            settled: None,
            cancellation: 1.0,
            impedances: true,
            waiting: WaitingSets::default(),
            answered: 0,
            solved_whole: 0,
        }
    }

    /// The netlist it was made from.
    pub fn netlist(&self) -> &Netlist {
        &self.netlist
    }

    /// Whether changes of linear elements are answered without a solve of the whole network.
    pub fn is_fast(&self) -> bool {
        self.fast.is_some()
    }

    /// An element of another law.
    ///
    /// # Errors
    /// [`Refusal::NotPlanned`]: no part can have that law, or the element is of another netlist.
    pub fn change(&self, element: ElementId, law: Law) -> Result<Change, Refusal> {
        if law.check().is_err() || element.0 as usize >= self.netlist.elements().len() {
            return Err(Refusal::NotPlanned { element: name(&self.netlist, element.0) });
        }
        let fast = self.fast.as_ref();
        let effect = fast.map_or(Effect::Whole, |fast| fast.changed(&self.netlist, element, &law));
        Ok(Change { effect, element: Some(element), ends: self.netlist.ends(element), law })
    }

    /// Something put between two nodes.
    ///
    /// # Errors
    /// [`Refusal::NotPlanned`]: no part can have that law, or a node is of another netlist.
    pub fn join(&self, a: NodeId, b: NodeId, law: Law) -> Result<Change, Refusal> {
        let n_nodes = self.netlist.nodes().len() as u32;
        if law.check().is_err() || a.0 >= n_nodes || b.0 >= n_nodes {
            return Err(Refusal::NotPlanned { element: "what is put there".into() });
        }
        let fast = self.fast.as_ref();
        let frequency_hz = self.netlist.frequency_hz();
        let branch = Branch::new(&law, frequency_hz, Complex::default);
        let effect = match (fast, branch) {
            (_, Branch::Open) if law.is_linear() => Effect::Nothing,
            (Some(fast), Branch::Admittance { y, emf }) => fast.joined(a, b, y, emf),
            _ => Effect::Whole,
        };
        Ok(Change { effect, element: None, ends: (a, b), law })
    }

    /// Solves with these changes and no others. Of two changes of one element the last holds.
    ///
    /// # Errors
    /// [`Refusal`]: the network has no answer with these changes.
    pub fn put(&self, changes: &[Change], work: &mut WhatIfWork) -> Result<(), Refusal> {
        self.put_with(changes, true, work)
    }

    /// The same without the impedances that the ports see, which takes half the time.
    ///
    /// # Errors
    /// As [`WhatIf::put`].
    pub fn put_voltages(&self, changes: &[Change], work: &mut WhatIfWork) -> Result<(), Refusal> {
        self.put_with(changes, false, work)
    }

    fn put_with(
        &self,
        changes: &[Change],
        impedances: bool,
        work: &mut WhatIfWork,
    ) -> Result<(), Refusal> {
        self.is_own(work)?;
        work.answered += 1;
        work.impedances = impedances;
        work.whole = None;
        work.settled = None;
        work.changes.clear();
        work.changes.extend_from_slice(changes);
        if !self.go(impedances, work) {
            self.solve_whole(work)?;
        }
        Ok(())
    }

    /// Whether the changes could be walked.
    fn go(&self, impedances: bool, work: &mut WhatIfWork) -> bool {
        let (Some(fast), Some(walk)) = (&self.fast, &mut work.walk) else { return false };
        if !fast.branchings(&work.changes, &mut work.branching) {
            return false;
        }
        work.cancellation = fast.go(&work.branching, impedances || fast.has_devices(), walk);
        if exceeds(work.cancellation, CANCELLATION_SUSPECT) {
            return false;
        }
        match fast.has_devices() {
            true => self.settle(fast, impedances, work),
            false => true,
        }
    }

    /// What each port of a group shows with the changes put last; no impedances after
    /// [`WhatIf::put_voltages`].
    ///
    /// # Errors
    /// [`Refusal`]: the network has no answer with these changes.
    pub fn read<'w>(
        &self,
        group: usize,
        work: &'w mut WhatIfWork,
    ) -> Result<&'w [PortSight], Refusal> {
        self.read_with((group, work.impedances), work)
    }

    /// The same without the impedances, which is quicker.
    ///
    /// # Errors
    /// As [`WhatIf::read`].
    pub fn read_voltages<'w>(
        &self,
        group: usize,
        work: &'w mut WhatIfWork,
    ) -> Result<&'w [PortSight], Refusal> {
        self.read_with((group, false), work)
    }

    /// The room of another network holds nothing of this one.
    fn is_own(&self, work: &WhatIfWork) -> Result<(), Refusal> {
        match Arc::ptr_eq(&self.own, &work.of) {
            true => Ok(()),
            false => Err(Refusal::WorkOfAnother),
        }
    }

    fn read_with<'w>(
        &self,
        (group, impedances): (usize, bool),
        work: &'w mut WhatIfWork,
    ) -> Result<&'w [PortSight], Refusal> {
        self.is_own(work)?;
        let Some(ports) = self.groups.get(group) else {
            return Err(Refusal::NoSuchGroup { group });
        };
        if work.whole.is_none() && !self.read_fast((group, impedances), work) {
            self.solve_whole(work)?;
        }
        if let Some(whole) = &mut work.whole {
            let before: usize = self.groups[..group].iter().map(Vec::len).sum();
            for (at, shown) in work.shown[..ports.len()].iter_mut().enumerate() {
                let seen = whole.alone(before + at)?;
                *shown = PortSight {
                    voltage_volt: seen.map(|(voltage, _)| voltage),
                    impedance: seen.map(|(_, impedance)| impedance).filter(|_| impedances),
                };
            }
        }
        Ok(&work.shown[..ports.len()])
    }

    /// Whether every port is told by the walk.
    fn read_fast(&self, (group, impedances): (usize, bool), work: &mut WhatIfWork) -> bool {
        let (Some(fast), Some(walk)) = (&self.fast, &mut work.walk) else { return false };
        fast.read_out((group, impedances), (walk, None), &mut work.sight, &mut work.shown)
    }

    fn solve_whole(&self, work: &mut WhatIfWork) -> Result<(), Refusal> {
        work.solved_whole += 1;
        let mut netlist = self.netlist.clone();
        for (number, change) in work.changes.iter().enumerate() {
            let made = match change.element {
                Some(element) => netlist.set_law(element, change.law),
                None => {
                    let (a, b) = change.ends;
                    let id = unused(&netlist, number);
                    netlist.add(id, a, b, crate::netlist::Role::Lumped, change.law).map(|_| ())
                }
            };
            made.map_err(|problem| Refusal::NotPlanned { element: problem.to_string() })?;
        }
        let ports: Vec<_> = self.groups.iter().flatten().copied().collect();
        work.whole = Some(Box::new(Reducer::new(&netlist, &ports)?));
        Ok(())
    }

    /// Current through an element of a law at a voltage across it, both from its end `a` to its
    /// end `b`, amperes rms; `None` if the law is nonlinear or without impedance.
    pub fn current_by(&self, law: &Law, voltage: Phasor) -> Option<Phasor> {
        if !law.is_linear() {
            return None;
        }
        match Branch::new(law, self.netlist.frequency_hz(), Complex::default) {
            Branch::Open => Some(Phasor::ZERO),
            Branch::Admittance { y, emf } => Some(phasor(y * (complex(voltage) - emf))),
            Branch::Current { current } => Some(phasor(current)),
            Branch::Rigid { .. } => None,
        }
    }
}

fn unused(netlist: &Netlist, number: usize) -> String {
    let mut id = format!("what-if:{number}");
    while netlist.find_element(&id).is_some() {
        id.push('+');
    }
    id
}
