//! One topology, many values: the plan of an elimination kept from solve to solve.

use nalgebra::Complex;

use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::network::{Branch, Flow, Network, REFERENCE, Refusal, Sum, System, name, phasor};
use crate::quantity::Phasor;

/// A linear netlist with its order of elimination, whose elements can open, close and change
/// value without a new order. After the first solve nothing is allocated any more.
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
/// planned.solve()?;
/// assert!(planned.potential(slot).unwrap().magnitude() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Planned {
    netlist: Netlist,
    system: System,
    flow: Flow,
    /// Place of each element among the branches, if it is one.
    branch_of_element: Vec<Option<u32>>,
    part_of_step: Vec<u32>,
    part_of_group: Vec<u32>,
}

impl Planned {
    /// Orders the elimination of a netlist and solves it once.
    ///
    /// # Errors
    /// [`Refusal`] as for [`solve`](super::solve); [`Refusal::NotPlanned`] if an element is
    /// nonlinear or a current source, whose way back might be opened.
    pub fn new(netlist: &Netlist) -> Result<Self, Refusal> {
        let unfit = |&id: &ElementId| {
            let law = &netlist.element(id).law;
            !law.is_linear() || matches!(law, Law::CurrentSource { .. })
        };
        if let Some(id) = netlist.elements().find(unfit) {
            return Err(Refusal::NotPlanned { element: name(netlist, id.0) });
        }
        let network = Network::with_opens(netlist)?;
        let mut branch_of_element = vec![None; netlist.elements().len()];
        for (place, branch) in network.branches.iter().enumerate() {
            branch_of_element[branch.element as usize] = Some(place as u32);
        }
        let mut planned = Self {
            netlist: netlist.clone(),
            system: System::new(netlist, network, &[])?,
            flow: Flow::default(),
            branch_of_element,
            part_of_step: Vec::new(),
            part_of_group: Vec::new(),
        };
        planned.solve()?;
        Ok(planned)
    }

    /// Gives an element another law for the next [`Planned::solve`]: another impedance, another
    /// EMF, or none, in which case it is open.
    ///
    /// # Errors
    /// [`Refusal::NotPlanned`]: the law is nonlinear, without impedance or not one a part can
    /// have; the element is coupled, has no impedance itself, or is not of this netlist.
    pub fn set_law(&mut self, element: ElementId, law: &Law) -> Result<(), Refusal> {
        let refuse = || Refusal::NotPlanned { element: name(&self.netlist, element.0) };
        let place = self.branch_of_element.get(element.0 as usize).copied().flatten();
        let place = place.ok_or_else(refuse)?;
        let coupled = self.system.network.mutuals.iter().any(|m| m.pair.contains(&place));
        if coupled || !law.is_linear() || law.check().is_err() {
            return Err(refuse());
        }
        let (y, emf) = match Branch::new(law, self.netlist.frequency_hz(), Complex::default) {
            Branch::Open => (Complex::ZERO, Complex::ZERO),
            Branch::Admittance { y, emf } => (y, emf),
            Branch::Rigid { .. } | Branch::Current { .. } => return Err(refuse()),
        };
        self.system.network.set_branch(place, y, emf);
        Ok(())
    }

    /// Solves with the laws the elements have now. Until then the answers are those of the last.
    ///
    /// # Errors
    /// [`Refusal::Resonance`], [`Refusal::OutOfRange`].
    pub fn solve(&mut self) -> Result<(), Refusal> {
        let (_, row) = self.system.eliminate();
        self.system.judge(&self.netlist, row)?;
        self.system.solve_sources(&mut self.flow);
        self.system.parts(&mut self.part_of_step, &mut self.part_of_group);
        let finite = |z: &Complex<f64>| z.re.is_finite() && z.im.is_finite();
        if self.flow.current.iter().all(finite) { Ok(()) } else { Err(Refusal::OutOfRange) }
    }

    /// Potential of a node to remote earth, volts rms; `None` where it is undetermined, and for
    /// a node of another netlist.
    pub fn potential(&self, node: NodeId) -> Option<Phasor> {
        self.difference(node, Netlist::EARTH)
    }

    /// V(a) - V(b), volts rms; `None` between parts that nothing joins.
    pub fn difference(&self, a: NodeId, b: NodeId) -> Option<Phasor> {
        let (a, b) = (self.place(a)?, self.place(b)?);
        (a.part == b.part).then(|| phasor(a.potential.minus(b.potential).value()))
    }

    /// Current through an element from `a` to `b`, amperes rms; `None` for one without impedance
    /// (its current follows from those around it; [`solve`](super::solve) tells it), and for one
    /// of another netlist.
    pub fn current(&self, element: ElementId) -> Option<Phasor> {
        let place = self.branch_of_element.get(element.0 as usize).copied().flatten()?;
        Some(phasor(self.flow.current[place as usize]))
    }

    /// As [`Solution::accuracy_indicator`](super::Solution::accuracy_indicator).
    pub fn accuracy_indicator(&self) -> f64 {
        self.system.cancellation()
    }

    fn place(&self, node: NodeId) -> Option<Potential> {
        let network = &self.system.network;
        let group = *network.groups.of_node.get(node.0 as usize)? as usize;
        // V = U + φ + rise
        let mut potential = network.groups.rise[node.0 as usize];
        potential.add_sum(network.forest.offset[group]);
        potential.add_sum(self.flow.potential[group]);
        let part = match self.part_of_group[group] {
            REFERENCE => Part::AsPlanned(network.forest.part[group]),
            step => Part::CutOff(step),
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
