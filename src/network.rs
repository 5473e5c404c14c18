//! The network: a netlist as the elimination sees it.
//!
//! Points that rigid elements hold together become one group; groups become rows; every part of
//! the network has a reference (earth, or one of its own groups where no path leads there), and
//! the unknowns are U = V - φ against it. See `docs/numerics.md`.
//!
//! This room knows no wire, no receptacle and no fault.

use nalgebra::Complex;
use petgraph::unionfind::UnionFind;

use crate::netlist::{ElementId, Law, Netlist, NodeId};

use coupling::Coupled;

pub(crate) use branch::{Branch, complex, phasor};
pub(crate) use elimination::{Workspace, reciprocal};
pub(crate) use forest::Forest;
pub(crate) use lanes::{LANES, Wide};
pub(crate) use plan::{Place, Plan, REFERENCE};
pub(crate) use rerooted::{Branching, Rerooted, exceeds, worse};
pub(crate) use rigid::{Groups, RigidBranch};
pub(crate) use sides::{Known, Meeting};
pub(crate) use sum::Sum;
pub(crate) use system::{Flow, Reach, System};
pub(crate) use views::{Port as PortPlace, Views};
pub(crate) use walk::{Beside, Shows, Sight, Walk};

mod abreast;
mod asked;
mod bag;
mod branch;
mod columns;
mod coupling;
mod elimination;
mod forest;
mod junction;
mod lanes;
mod order;
mod partings;
mod passage;
mod plan;
mod rerooted;
mod rigid;
mod rooms;
mod rows;
mod side;
mod sides;
mod sum;
mod system;
mod triples;
mod views;
mod walk;
mod way_views;
mod ways;

/// Why a network has no answer, or none that can be trusted.
///
/// ```
/// use slotwise::network::Refusal;
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::{Address, Phasor};
/// let mut netlist = Netlist::new(50.0);
/// let hot = netlist.node(&Address::from("hot"));
/// let ideal = |volt| Law::Source { emf_volt: Phasor::new(volt, 0.0), impedance: Default::default() };
/// netlist.add("first", hot, Netlist::EARTH, Role::Winding, ideal(230.0))?;
/// netlist.add("second", hot, Netlist::EARTH, Role::Winding, ideal(120.0))?;
/// let refusal = slotwise::solution::solve(&netlist).unwrap_err();
/// assert!(matches!(refusal, Refusal::IdealSourcesDisagree { .. }));
/// # Ok::<(), slotwise::netlist::NetlistError>(())
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The frequency is negative or not a number.
    #[error("{frequency_hz} Hz is not a frequency")]
    BadFrequency {
        /// The frequency given.
        frequency_hz: f64,
    },
    /// Sources and shorts without impedance form a loop whose EMFs do not add up to zero.
    #[error(
        "`{element}` closes a loop without any impedance whose EMFs do not add up to zero; \
         the current would be infinite"
    )]
    IdealSourcesDisagree {
        /// The element that closes the loop.
        element: String,
    },
    /// A current source drives current into a part that has no way back.
    #[error("the current of `{element}` has no way back")]
    NoWayBack {
        /// The current source.
        element: String,
    },
    /// The impedances of coupled sources cannot be inverted.
    #[error("the impedance of `{element}` and the sources coupled with it has no inverse")]
    SingularCoupling {
        /// One of the sources.
        element: String,
    },
    /// Inductance and capacitance, or a positive and a negative resistance, cancel.
    #[error(
        "the admittances at `{terminal}` cancel to {cancellation:.1e} of their size (resonance); \
         its potential cannot be told"
    )]
    Resonance {
        /// The terminal where it shows.
        terminal: String,
        /// How much larger the admittances are than their sum.
        cancellation: f64,
    },
    /// A group of ports is asked for that was never stated.
    #[error("there is no group {group} of ports")]
    NoSuchGroup {
        /// Its number.
        group: usize,
    },
    /// The room to work in is that of another network.
    #[error("the room to work in was made for another network")]
    WorkOfAnother,
    /// The values span more than f64 can hold.
    #[error("values this far apart leave the range of the arithmetic")]
    OutOfRange,
    /// A port is asked for that is not there, or whose nodes belong to another netlist.
    #[error("port {port} is not one of this network")]
    ForeignPort {
        /// Its number.
        port: usize,
    },
    /// A source or a short is to be attached to a port.
    #[error("what is attached to port {port} must be an impedance, not a source or a short")]
    NotAttachable {
        /// Number of the port.
        port: usize,
    },
    /// An element cannot change to this law without a new plan.
    #[error("`{element}` cannot become that without a new plan")]
    NotPlanned {
        /// The element.
        element: String,
    },
    /// No stable state of the nonlinear elements was found.
    #[error("no stable state found: `{element}` keeps changing")]
    NoStableState {
        /// The element that is farthest from rest.
        element: String,
    },
}

/// A branch I = y (V_a - V_b - emf) between two groups.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LinearBranch {
    /// Number of the element in its netlist.
    pub(crate) element: u32,
    pub(crate) a: u32,
    pub(crate) b: u32,
    /// Place of its EMF in the network's list, [`NO_EMF`] for most.
    emf: u32,
    pub(crate) y: Complex<f64>,
}

/// A branch without EMF.
const NO_EMF: u32 = u32::MAX;

/// What drives a branch.
#[derive(Clone, Copy, Debug, Default)]
struct Emf {
    /// Of the element itself, between its nodes.
    own: Complex<f64>,
    /// What sources without impedance put between the groups besides.
    lift: Sum,
    branch: u32,
    /// φ was chosen so that nothing of it is left, which is exact and no matter of rounding.
    all_moved: bool,
}

impl Emf {
    /// Between the groups.
    fn between(&self) -> Complex<f64> {
        let mut between = self.lift;
        between.add(self.own);
        between.value()
    }
}

/// Two branches each of which carries, besides its own, the current y (V - emf) of the other's
/// voltage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mutual {
    /// Places of the two among the linear branches.
    pub(crate) pair: [u32; 2],
    pub(crate) y: Complex<f64>,
}

/// A current forced from one group to another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ForcedCurrent {
    pub(crate) element: u32,
    pub(crate) a: u32,
    pub(crate) b: u32,
    pub(crate) current: Complex<f64>,
}

/// A netlist sorted for elimination.
#[derive(Clone, Debug, Default)]
pub(crate) struct Network {
    pub(crate) groups: Groups,
    pub(crate) rigid: Vec<RigidBranch>,
    pub(crate) branches: Vec<LinearBranch>,
    emfs: Vec<Emf>,
    pub(crate) mutuals: Vec<Mutual>,
    pub(crate) forced: Vec<ForcedCurrent>,
    pub(crate) forest: Forest,
    /// Row of each group, [`REFERENCE`] for the groups that parts are reckoned from.
    pub(crate) row: Vec<u32>,
    pub(crate) n_rows: u32,
    /// The part that holds earth; potentials in every other are undetermined.
    pub(crate) earth_part: u32,
}

impl Network {
    /// Sorts a netlist, its nonlinear elements standing at the admittances `trial`, in siemens
    /// and in their order.
    pub(crate) fn new(netlist: &Netlist, trial: &[Complex<f64>]) -> Result<Self, Refusal> {
        Self::sorted(netlist, trial, Opens::LeftOut)
    }

    /// The same of a linear netlist, in which what is open keeps a place and can be closed.
    pub(crate) fn with_opens(netlist: &Netlist) -> Result<Self, Refusal> {
        Self::sorted(netlist, &[], Opens::Kept)
    }

    fn sorted(netlist: &Netlist, trial: &[Complex<f64>], opens: Opens) -> Result<Self, Refusal> {
        let frequency_hz = netlist.frequency_hz();
        if !(frequency_hz >= 0.0 && frequency_hz.is_finite()) {
            return Err(Refusal::BadFrequency { frequency_hz });
        }
        let coupled = Coupled::new(netlist)?;
        let mut network = Self::sort(netlist, trial, opens, &coupled);
        network.merge_rigid(netlist)?;
        network.mutuals = coupled.mutuals(&network.branches);
        network.span();
        network.number_rows();
        network.check_ways_back(netlist)?;
        Ok(network)
    }

    /// One list for each kind of branch, between nodes still.
    fn sort(netlist: &Netlist, trial: &[Complex<f64>], opens: Opens, coupled: &Coupled) -> Self {
        let branches = Vec::with_capacity(netlist.elements().len());
        let mut network = Self { branches, ..Self::default() };
        let mut trials = trial.iter().copied();
        for id in netlist.elements() {
            let (a, b) = netlist.ends(id);
            let (element, a, b) = (id.0, a.0, b.0);
            let law = &netlist.element(id).law;
            let trial = || trials.next().unwrap_or(Complex::ZERO);
            let mut branch = Branch::new(law, netlist.frequency_hz(), trial);
            if let (Some(y), Law::Source { emf_volt, .. }) = (coupled.own_admittance(id), law) {
                branch = Branch::Admittance { y, emf: complex(*emf_volt) };
            }
            if branch == Branch::Open && opens == Opens::Kept {
                branch = Branch::Admittance { y: Complex::ZERO, emf: Complex::ZERO };
            }
            match branch {
                Branch::Open => {}
                Branch::Rigid { emf } => network.rigid.push(RigidBranch { element, a, b, emf }),
                Branch::Admittance { y, emf } => {
                    network.branches.push(LinearBranch { element, a, b, emf: NO_EMF, y });
                    network.set_emf(network.branches.len() - 1, emf, Sum::default());
                }
                Branch::Current { current } => {
                    network.forced.push(ForcedCurrent { element, a, b, current });
                }
            }
        }
        network
    }

    /// From nodes to groups: V(node) = V(group) + rise.
    fn merge_rigid(&mut self, netlist: &Netlist) -> Result<(), Refusal> {
        let disagree = |element| Refusal::IdealSourcesDisagree { element: name(netlist, element) };
        self.groups = Groups::new(netlist.nodes().len(), &self.rigid).map_err(disagree)?;
        for place in 0..self.branches.len() {
            let LinearBranch { a, b, .. } = self.branches[place];
            if self.groups.rises() {
                // emf between groups = emf - (rise_a - rise_b)
                let lift = self.groups.rise(b).minus(self.groups.rise(a));
                self.set_emf(place, self.emf_own(place), lift);
            }
            let branch = &mut self.branches[place];
            [branch.a, branch.b] = [a, b].map(|node| self.groups.of_node[node as usize]);
        }
        let of_node = &self.groups.of_node;
        for forced in &mut self.forced {
            (forced.a, forced.b) = (of_node[forced.a as usize], of_node[forced.b as usize]);
        }
        Ok(())
    }

    /// EMF of a branch's element itself, between its nodes.
    pub(crate) fn emf_own(&self, place: usize) -> Complex<f64> {
        self.emf_of(place).own
    }

    /// EMF of a branch between the groups it joins.
    pub(crate) fn emf(&self, place: usize) -> Complex<f64> {
        self.emf_of(place).between()
    }

    fn emf_of(&self, place: usize) -> Emf {
        self.emfs.get(self.branches[place].emf as usize).copied().unwrap_or_default()
    }

    fn set_emf(&mut self, place: usize, own: Complex<f64>, lift: Sum) {
        let at = &mut self.branches[place].emf;
        if *at == NO_EMF {
            if own == Complex::ZERO && lift.is_zero() {
                return;
            }
            *at = self.emfs.len() as u32;
            self.emfs.push(Emf::default());
        }
        self.emfs[*at as usize] = Emf { own, lift, branch: place as u32, all_moved: false };
    }

    /// What is left of a branch's EMF in terms of U: emf - (φ_a - φ_b).
    pub(crate) fn emf_left(&self, place: usize) -> Sum {
        let branch = &self.branches[place];
        if branch.emf == NO_EMF && self.forest.is_level(branch.a, branch.b) {
            return Sum::default();
        }
        let emf = self.emf_of(place);
        if emf.all_moved {
            return Sum::default();
        }
        let mut left = self.forest.offset(branch.b).minus(self.forest.offset(branch.a));
        left.add(emf.between());
        left
    }

    fn span(&mut self) {
        let earth = self.groups.of_node[Netlist::EARTH.0 as usize];
        let starts = self.star_points();
        let emf = |place: u32| self.emf(place as usize);
        self.forest = Forest::new(self.groups.count, &self.branches, emf, &starts);
        self.earth_part = self.forest.part[earth as usize];
        for stride in &self.forest.walk {
            let at = self.branches[stride.branch()].emf;
            if let Some(emf) = self.emfs.get_mut(at as usize) {
                emf.all_moved = true;
            }
        }
    }

    /// Groups at which sources end, those first where the strongest sources meet: a neutral or a
    /// star point. What a load draws flows in and out there; with the reference at that point the
    /// small currents elsewhere are not reckoned against it.
    fn star_points(&self) -> Vec<u32> {
        let mut strength = vec![0.0_f64; self.groups.count];
        for (branch, _) in self.driving() {
            strength[branch.a as usize] += branch.y.norm();
            // A hair more, so that of one source's two ends the neutral is taken.
            strength[branch.b as usize] += branch.y.norm() * NEUTRAL_PREFERENCE;
        }
        let mut groups: Vec<u32> = (0..self.groups.count as u32).collect();
        groups.retain(|&group| strength[group as usize] > 0.0);
        groups.sort_by(|&i, &j| strength[j as usize].total_cmp(&strength[i as usize]));
        groups
    }

    /// Branches that drive a current, and their EMF between the groups they join: sources, and what
    /// is joined to a point that a source without impedance lifts.
    pub(crate) fn driving(&self) -> impl Iterator<Item = (&LinearBranch, Complex<f64>)> {
        let all = self.emfs.iter().map(|emf| (&self.branches[emf.branch as usize], emf.between()));
        all.filter(|&(_, emf)| emf != Complex::ZERO)
    }

    /// Sources, and what is coupled with one.
    fn windings(&self) -> impl Iterator<Item = &LinearBranch> {
        let sources = self.emfs.iter().filter(|emf| emf.own != Complex::ZERO);
        let coupled = self.mutuals.iter().filter(|mutual| {
            mutual.pair.iter().any(|&place| self.emf(place as usize) != Complex::ZERO)
        });
        let places = sources.map(|emf| emf.branch).chain(coupled.flat_map(|mutual| mutual.pair));
        places.map(|place| &self.branches[place as usize])
    }

    /// Whether every source is tied to the reference by sources alone. Then each can drive its
    /// current at its own ends, which these sources hold, and what floats elsewhere is driven by
    /// none: its potential keeps its digits however small. A source elsewhere would need its EMF
    /// moved along the strongest branches, and a second pass for what that costs in digits.
    pub(crate) fn is_anchored(&self) -> bool {
        let ends =
            |branch: &LinearBranch| [branch.a, branch.b].map(|group| self.row[group as usize]);
        let mut rows: Vec<u32> = self.windings().flat_map(ends).collect();
        rows.push(REFERENCE);
        rows.sort_unstable();
        rows.dedup();
        let mut tied = UnionFind::<usize>::new(rows.len());
        let place = |row: u32| rows.binary_search(&row).ok();
        for winding in self.windings() {
            if let [Some(a), Some(b)] = ends(winding).map(place) {
                tied.union(a, b);
            }
        }
        let is_tied = |row| place(row).is_some_and(|row| tied.equiv(row, rows.len() - 1));
        let mut driven = self.windings().chain(self.driving().map(|(branch, _)| branch));
        driven.all(|branch| ends(branch).into_iter().any(is_tied))
    }

    fn number_rows(&mut self) {
        self.row = vec![0; self.groups.count];
        for &group in &self.forest.reference {
            self.row[group as usize] = REFERENCE;
        }
        for row in self.row.iter_mut().filter(|row| **row != REFERENCE) {
            *row = self.n_rows;
            self.n_rows += 1;
        }
    }

    /// Current forced out of a part without a path to earth must be forced back into it.
    fn check_ways_back(&self, netlist: &Netlist) -> Result<(), Refusal> {
        let part = |group: u32| self.forest.part[group as usize];
        let mut driven = vec![(Sum::default(), 0.0); self.forest.reference.len()];
        for forced in &self.forced {
            for (group, current) in [(forced.a, -forced.current), (forced.b, forced.current)] {
                let (sum, size) = &mut driven[part(group) as usize];
                sum.add(current);
                *size += current.l1_norm();
            }
        }
        let stuck = |group: u32| {
            let (sum, size) = driven[part(group) as usize];
            part(group) != self.earth_part && sum.value().l1_norm() > RETURN_TOLERANCE * size
        };
        match self.forced.iter().find(|forced| stuck(forced.a) || stuck(forced.b)) {
            Some(forced) => Err(Refusal::NoWayBack { element: name(netlist, forced.element) }),
            None => Ok(()),
        }
    }

    /// Row of a node and its potential above that row's U.
    pub(crate) fn row_of_node(&self, node: u32) -> u32 {
        self.row[self.groups.of_node[node as usize] as usize]
    }

    /// Gives a branch another admittance and EMF; φ stays. Whether the EMF is another.
    pub(crate) fn set_branch(&mut self, place: u32, y: Complex<f64>, emf: Complex<f64>) -> bool {
        let place = place as usize;
        self.branches[place].y = y;
        let was = self.emf_of(place);
        if emf != was.own {
            self.set_emf(place, emf, was.lift);
        }
        emf != was.own
    }

    /// (V_a - V_b) - (U_a - U_b) of two nodes: what φ and rigid sources put between them.
    pub(crate) fn emf_between(&self, a: NodeId, b: NodeId) -> Complex<f64> {
        let above = |node: NodeId| {
            let mut above = self.groups.rise(node.0);
            above.add_sum(self.forest.offset(self.groups.of_node[node.0 as usize]));
            above
        };
        above(a).minus(above(b)).value()
    }

    /// Part of a node.
    pub(crate) fn part_of_node(&self, node: u32) -> u32 {
        self.forest.part[self.groups.of_node[node as usize] as usize]
    }
}

const NEUTRAL_PREFERENCE: f64 = 1.001;

/// What becomes of elements that conduct nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Opens {
    LeftOut,
    Kept,
}

/// Forced currents that return but for rounding.
const RETURN_TOLERANCE: f64 = 1e-12;

/// Name of an element by its number.
pub(crate) fn name(netlist: &Netlist, element: u32) -> String {
    netlist.element(ElementId(element)).id.clone()
}
