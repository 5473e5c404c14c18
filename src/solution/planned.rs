//! One topology, many values: the plan of an elimination kept from solve to solve.

use nalgebra::Complex;

use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::network::{Branch, Flow, Network, REFERENCE, Refusal, Sum, System, name, phasor};
use crate::quantity::Phasor;

/// A linear netlist with its order of elimination, whose elements can open, close and change
/// value without a new order. Nothing is allocated for it once both solves have been asked for, but
/// where an EMF changes or more is cut off than ever before.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::{Address, Impedance, Phasor};
/// use slotwise::solution::Planned;
///
/// let mut netlist = Netlist::new(60.0);
/// let [hot, slot] = ["hot", "slot"].map(|name| netlist.node(&Address::from(name)));
/// let supply = Law::Source {
///     emf_volt: Phasor::new(120.0, 0.0),
///     impedance: Impedance::resistance(0.1),
/// };
/// netlist.add("supply", hot, Netlist::EARTH, Role::Winding, supply)?;
/// let splice = netlist.add("splice", hot, slot, Role::Joint, Law::resistance(0.4e-3))?;
/// netlist.add("insulation", slot, Netlist::EARTH, Role::Leakage, Law::resistance(1e9))?;
///
/// let mut planned = Planned::new(&netlist)?;
/// planned.solve()?;
/// assert!((planned.potential(slot).unwrap().re - 120.0).abs() < 1e-6);
/// planned.set_law(splice, &Law::Open)?;
/// planned.solve_potentials()?;
/// assert!(planned.potential(slot).unwrap().magnitude() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Planned<'n> {
    netlist: &'n Netlist,
    system: System,
    flow: Flow,
    shown: Shown,
    /// Whether potentials can be solved for alone.
    anchored: bool,
    part_of_step: Vec<u32>,
    part_of_group: Vec<u32>,
}

/// What was solved for last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shown {
    Nothing,
    Potentials,
    /// Potentials and currents.
    Flow,
}

impl<'n> Planned<'n> {
    /// Orders the elimination of a netlist.
    ///
    /// # Errors
    /// [`Refusal`] as for [`solve`](super::solve); [`Refusal::NotPlanned`] if an element is
    /// nonlinear or a current source, whose way back might be opened.
    pub fn new(netlist: &'n Netlist) -> Result<Self, Refusal> {
        let unfit = |&id: &ElementId| {
            let law = &netlist.element(id).law;
            !law.is_linear() || matches!(law, Law::CurrentSource { .. })
        };
        if let Some(id) = netlist.elements().find(unfit) {
            return Err(Refusal::NotPlanned { element: name(netlist, id.0) });
        }
        let system = System::new(netlist, Network::with_opens(netlist)?, &[])?;
        let anchored = system.network.is_anchored();
        Ok(Self {
            netlist,
            system,
            flow: Flow::default(),
            shown: Shown::Nothing,
            anchored,
            part_of_step: Vec::new(),
            part_of_group: Vec::new(),
        })
    }

    /// Gives an element another law for the next solve: another impedance, another EMF, or none,
    /// in which case it is open. The netlist stays as it is.
    ///
    /// # Errors
    /// [`Refusal::NotPlanned`]: the law is nonlinear, without impedance or not one a part can
    /// have; the element is coupled, has no impedance itself, or is not of this netlist.
    pub fn set_law(&mut self, element: ElementId, law: &Law) -> Result<(), Refusal> {
        let refuse = || Refusal::NotPlanned { element: name(self.netlist, element.0) };
        let place = self.place_of_branch(element).ok_or_else(refuse)?;
        let coupled = self.system.network.mutuals.iter().any(|m| m.pair.contains(&place));
        if coupled || !law.is_linear() || law.check().is_err() {
            return Err(refuse());
        }
        let (y, emf) = match Branch::new(law, self.netlist.frequency_hz(), Complex::default) {
            Branch::Open => (Complex::ZERO, Complex::ZERO),
            Branch::Admittance { y, emf } => (y, emf),
            Branch::Rigid { .. } | Branch::Current { .. } => return Err(refuse()),
        };
        let network = &mut self.system.network;
        if network.set_branch(place, y, emf) {
            self.anchored = network.is_anchored();
        }
        Ok(())
    }

    /// Solves with the laws the elements have now, for potentials and currents. Until then the
    /// answers are those of the last; after [`Refusal::OutOfRange`] there are none.
    ///
    /// # Errors
    /// [`Refusal::Resonance`], [`Refusal::OutOfRange`].
    pub fn solve(&mut self) -> Result<(), Refusal> {
        self.eliminate()?;
        self.system.solve_sources(&mut self.flow);
        let finite = |z: &Complex<f64>| z.re.is_finite() && z.im.is_finite();
        self.show(Shown::Flow, self.flow.current.iter().all(finite))
    }

    fn show(&mut self, solved: Shown, is_finite: bool) -> Result<(), Refusal> {
        self.shown = if is_finite { solved } else { Shown::Nothing };
        if is_finite { Ok(()) } else { Err(Refusal::OutOfRange) }
    }

    /// The same for potentials alone, which takes a fraction of the time and of the memory:
    /// [`Planned::current`] has no answer after it. What keeps all its digits, however small, is
    /// a potential above the neutral or star point of the supply; a difference of two of them
    /// has those in which they differ, and so has a potential where earth is far from that point.
    ///
    /// Where a source is not tied to earth or to the neutral of the supply by sources alone
    /// (a generator on a cord) it is [`Planned::solve`], which keeps the digits there.
    ///
    /// # Errors
    /// [`Refusal::Resonance`], [`Refusal::OutOfRange`].
    pub fn solve_potentials(&mut self) -> Result<(), Refusal> {
        if !self.anchored {
            return self.solve();
        }
        self.eliminate()?;
        let is_finite = self.system.solve_potentials();
        self.show(Shown::Potentials, is_finite)
    }

    fn eliminate(&mut self) -> Result<(), Refusal> {
        self.system.eliminate();
        self.system.judge(self.netlist)?;
        if self.system.is_as_planned() {
            self.part_of_group.clear();
        } else {
            self.system.parts(&mut self.part_of_step, &mut self.part_of_group);
            self.system.judge_parts(self.netlist, &self.part_of_group)?;
        }
        Ok(())
    }

    /// Potential of a node to remote earth, volts rms; `None` where it is undetermined, before the
    /// first solve, and for a node of another netlist.
    pub fn potential(&self, node: NodeId) -> Option<Phasor> {
        self.difference(node, Netlist::EARTH)
    }

    /// V(a) - V(b), volts rms; `None` between parts that nothing joins.
    pub fn difference(&self, a: NodeId, b: NodeId) -> Option<Phasor> {
        let (a, b) = (self.place(a)?, self.place(b)?);
        (a.part == b.part).then(|| phasor(a.potential.minus(b.potential).value()))
    }

    /// Current through an element from `a` to `b`, amperes rms; `None` for one without impedance
    /// (its current follows from those around it; [`solve`](super::solve) tells it), for one
    /// of another netlist, and if the last solve was for potentials alone.
    pub fn current(&self, element: ElementId) -> Option<Phasor> {
        let place = self.place_of_branch(element)?;
        let solved = self.shown == Shown::Flow;
        solved.then(|| phasor(self.flow.current[place as usize]))
    }

    /// As [`Solution::accuracy_indicator`](super::Solution::accuracy_indicator).
    pub fn accuracy_indicator(&self) -> f64 {
        self.system.cancellation()
    }

    /// Branches keep the order of their elements.
    fn place_of_branch(&self, element: ElementId) -> Option<u32> {
        let branches = &self.system.network.branches;
        branches.binary_search_by_key(&element.0, |b| b.element).ok().map(|place| place as u32)
    }

    fn place(&self, node: NodeId) -> Option<Potential> {
        let network = &self.system.network;
        let group = *network.groups.of_node.get(node.0 as usize)?;
        let mut potential = network.groups.rise(node.0);
        match self.shown {
            Shown::Nothing => return None,
            // V = U + rise
            Shown::Potentials => potential.add(self.system.potential(group)),
            // V = U + φ + rise
            Shown::Flow => {
                potential.add_sum(network.forest.offset(group));
                potential.add_sum(self.flow.potential[group as usize]);
            }
        }
        let part = match self.part_of_group.get(group as usize) {
            None | Some(&REFERENCE) => Part::AsPlanned(network.forest.part[group as usize]),
            Some(&step) => Part::CutOff(step),
        };
        Some(Potential { part, potential })
    }
}

/// A potential above the reference of its part.
struct Potential {
    part: Part,
    potential: Sum,
}

#[derive(PartialEq, Eq)]
enum Part {
    AsPlanned(u32),
    /// Cut off since, and reckoned from the row of this step.
    CutOff(u32),
}
