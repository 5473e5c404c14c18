//! The solution: phasors at every terminal, currents in every element.

use nalgebra::Complex;

use crate::netlist::{ElementId, Netlist, NodeId};
use crate::network::{Flow, Network, Sum, System, complex, phasor};
use crate::quantity::Phasor;

pub use crate::network::Refusal;

pub use device::Regime;
pub use feed::{Feed, FeedPath, Holder};
pub use holding::Holding;
pub use planned::Planned;
pub(crate) use port_system::Reducer;
pub use port_system::{AttachedState, Attachment, PortSystem};
pub use state::{DeviceState, StableState};
pub(crate) use whatif::{Admittances, InsetEnd, Told, Waits, meshed};
pub use whatif::{Change, PortSight, SlotsSight, WhatIf, WhatIfWork};

use state::Settled;

mod by_voltage;
mod device;
mod feed;
mod few;
mod holding;
mod ideal;
mod motion;
mod planned;
mod port_system;
mod ports;
mod search;
mod state;
mod stiff;
mod whatif;

/// Solves a netlist.
///
/// # Errors
/// [`Refusal`], with the reason in words: there is no answer, or none that can be trusted.
pub fn solve(netlist: &Netlist) -> Result<Solution, Refusal> {
    let is_linear = netlist.elements().all(|id| netlist.element(id).law.is_linear());
    let settled = if is_linear { None } else { Some(Settled::new(netlist)?) };
    let admittances = settled.as_ref().map_or_else(Vec::new, Settled::admittances);
    let network = Network::new(netlist, &admittances)?;
    let mut system = System::new(netlist, network, &[])?;
    let mut flow = Flow::default();
    system.solve_sources(&mut flow);
    let mut solution = Solution::read_off(netlist, &system, &flow)?;
    if let Some(settled) = settled {
        (solution.states, solution.states_complete) = settled.states();
    }
    Ok(solution)
}

/// Phasors at every terminal and in every element of one netlist.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::{Address, Impedance, Phasor};
/// use slotwise::solution::solve;
///
/// let mut netlist = Netlist::new(60.0);
/// let hot = netlist.node(&Address::from("bench.hot"));
/// let supply = Law::Source {
///     emf_volt: Phasor::new(120.0, 0.0),
///     impedance: Impedance::resistance(0.4),
/// };
/// let winding = netlist.add("winding", hot, Netlist::EARTH, Role::Winding, supply)?;
/// let kettle = netlist.add("kettle", hot, Netlist::EARTH, Role::Load, Law::resistance(9.6))?;
///
/// let solution = solve(&netlist)?;
/// assert!((solution.potential(hot).unwrap().magnitude() - 115.2).abs() < 1e-9);
/// assert!((solution.current(kettle).re - 12.0).abs() < 1e-9);
/// // The winding obeys V = emf + Z I: delivering power, it shows the opposite sign.
/// assert!((solution.current(winding).re + 12.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Solution {
    /// Potential of each node above the reference of its part, summed along the strongest path.
    path: Vec<Sum>,
    part: Vec<u32>,
    difference: Vec<Complex<f64>>,
    current: Vec<Complex<f64>>,
    residual_ampere: f64,
    cancellation: f64,
    states: Vec<StableState>,
    states_complete: bool,
}

impl Solution {
    /// Potential of a node to remote earth, volts rms; `None` where nothing leads from the node
    /// to earth, so that it is undetermined, and for a node of another netlist.
    pub fn potential(&self, node: NodeId) -> Option<Phasor> {
        self.difference(node, Netlist::EARTH)
    }

    /// V(a) - V(b), volts rms; `None` between parts that nothing joins. It is summed from
    /// differences along the strongest path between the two, and so keeps all its digits where
    /// the potentials are nearly equal.
    pub fn difference(&self, a: NodeId, b: NodeId) -> Option<Phasor> {
        let (a, b) = (a.0 as usize, b.0 as usize);
        let joined = self.part.get(a)? == self.part.get(b)?;
        joined.then(|| phasor(self.path[a].minus(self.path[b]).value()))
    }

    /// Voltage across an element from `a` to `b`, volts rms; zero between parts that nothing
    /// joins, which is what an instrument of any finite burden would show.
    pub fn voltage(&self, element: ElementId) -> Phasor {
        self.difference.get(element.0 as usize).copied().map_or(Phasor::ZERO, phasor)
    }

    /// Current through an element from `a` to `b`, amperes rms.
    pub fn current(&self, element: ElementId) -> Phasor {
        self.current.get(element.0 as usize).copied().map_or(Phasor::ZERO, phasor)
    }

    /// Active power in watts and reactive power in vars that an element takes in.
    pub fn power(&self, element: ElementId) -> (f64, f64) {
        let (v, i) = (self.voltage(element), self.current(element));
        // S = V conj(I)
        (v.re * i.re + v.im * i.im, v.im * i.re - v.re * i.im)
    }

    /// The largest current that Kirchhoff's law misses at any node, amperes.
    pub fn residual_ampere(&self) -> f64 {
        self.residual_ampere
    }

    /// Power taken in by every element that takes in, and given by every one that gives.
    pub fn power_balance(&self) -> PowerBalance {
        let mut balance = PowerBalance::default();
        for element in 0..self.current.len() as u32 {
            let (watt, var) = self.power(ElementId(element));
            if watt > 0.0 {
                balance.absorbed_watt += watt;
            } else {
                balance.supplied_watt -= watt;
            }
            balance.mismatch_watt += watt;
            balance.mismatch_var += var;
        }
        balance
    }

    /// Every stable state of the nonlinear elements, the one shown first; empty where there are
    /// none. More than one means that a reading depends on what was switched on before.
    pub fn states(&self) -> &[StableState] {
        &self.states
    }

    /// Whether [`Solution::states`] are all there are; above ten elements that may have two
    /// states each, only the reached one is looked for.
    pub fn has_all_states(&self) -> bool {
        self.states_complete
    }

    /// How much the admittances at any pivot of the elimination cancelled, Σ|y| / |Σy|: 1 is
    /// none, and the relative error of the solution is about this times 1e-15. It is a measured
    /// indicator, not a bound; a large one points to resonance. What cancels while it is added up in one
    /// place (branches side by side, or what eliminations leave there) is not seen by it: a choke and a
    /// capacitor across one pair of terminals that leave a 1e-12 of themselves cost twelve digits, and the indicator is 1.
    pub fn accuracy_indicator(&self) -> f64 {
        self.cancellation
    }

    fn read_off(netlist: &Netlist, system: &System, flow: &Flow) -> Result<Self, Refusal> {
        let network = &system.network;
        let n_nodes = netlist.nodes().len();
        let group = |node: usize| network.groups.of_node[node];
        let mut solution = Self {
            path: Vec::with_capacity(n_nodes),
            part: (0..n_nodes as u32).map(|node| network.part_of_node(node)).collect(),
            difference: vec![Complex::ZERO; netlist.elements().len()],
            current: vec![Complex::ZERO; netlist.elements().len()],
            residual_ampere: 0.0,
            cancellation: system.cancellation(),
            states: Vec::new(),
            states_complete: true,
        };
        for node in 0..n_nodes {
            // V = U + φ + rise
            let mut path = network.groups.rise(node as u32);
            path.add_sum(network.forest.offset(group(node)));
            path.add_sum(flow.potential[group(node) as usize]);
            solution.path.push(path);
        }
        solution.read_branches(netlist, network, flow);
        let (terminal, residual) = solution.read_rigid(netlist, network);
        solution.residual_ampere = residual;
        if !solution.is_finite() {
            return Err(Refusal::OutOfRange);
        }
        let largest = solution.current.iter().map(|current| current.norm()).fold(0.0, f64::max);
        if residual > LOST_MAX * largest {
            // What cancels side by side between two terminals, a source among it, leaves nothing
            // to eliminate by: its current goes round without end.
            let terminal = netlist.address(terminal).to_string();
            return Err(Refusal::Resonance { terminal, cancellation: f64::INFINITY });
        }
        Ok(solution)
    }

    fn read_branches(&mut self, netlist: &Netlist, network: &Network, flow: &Flow) {
        for id in netlist.elements() {
            let (a, b) = netlist.ends(id);
            self.difference[id.0 as usize] = self.difference(a, b).map_or(Complex::ZERO, complex);
        }
        for (place, branch) in network.branches.iter().enumerate() {
            self.difference[branch.element as usize] =
                flow.beyond_emf[place] + network.emf_own(place);
            self.current[branch.element as usize] = flow.current[place];
        }
        for forced in &network.forced {
            self.current[forced.element as usize] = forced.current;
        }
    }

    /// Currents of the elements without impedance, and what Kirchhoff's law misses after that.
    /// The terminal where that is most, and how many amperes.
    fn read_rigid(&mut self, netlist: &Netlist, network: &Network) -> (NodeId, f64) {
        let mut taken = vec![Sum::default(); netlist.nodes().len()];
        let mut take = |element: ElementId, current: Complex<f64>| {
            let (a, b) = netlist.ends(element);
            taken[a.0 as usize].add(current);
            taken[b.0 as usize].add(-current);
        };
        for id in netlist.elements() {
            take(id, self.current[id.0 as usize]);
        }
        let rigid = &network.rigid;
        let currents = ideal::currents(rigid, &taken);
        for (branch, &current) in rigid.iter().zip(&currents) {
            self.current[branch.element as usize] = current;
            self.difference[branch.element as usize] = branch.emf;
            let (a, b) = (branch.a as usize, branch.b as usize);
            taken[a].add(current);
            taken[b].add(-current);
        }
        let missed =
            netlist.nodes().zip(taken).skip(1).map(|(node, sum)| (node, sum.value().norm()));
        missed.fold((Netlist::EARTH, 0.0), |worst, at| if at.1 > worst.1 { at } else { worst })
    }

    fn is_finite(&self) -> bool {
        let finite = |z: &Complex<f64>| z.re.is_finite() && z.im.is_finite();
        self.current.iter().chain(&self.difference).all(finite)
            && self.path.iter().all(|sum| finite(&sum.value()))
    }
}

/// A share of the largest current that rounding never loses.
const LOST_MAX: f64 = 1e-3;

/// The sum of powers over a whole solution (Tellegen's theorem makes it zero).
///
/// ```
/// use slotwise::solution::PowerBalance;
/// assert_eq!(PowerBalance::default().mismatch_watt, 0.0);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PowerBalance {
    /// What the elements that give give, watts.
    pub supplied_watt: f64,
    /// What the elements that take take, watts.
    pub absorbed_watt: f64,
    /// Sum of active power over all elements, watts.
    pub mismatch_watt: f64,
    /// Sum of reactive power over all elements, vars.
    pub mismatch_var: f64,
}
