//! A network with its plan and its numbers, eliminated and ready for currents.

use nalgebra::Complex;

use super::elimination::Pivots;
use super::plan::PackedPlace;
use super::{LinearBranch, Network, Place, Plan, REFERENCE, Refusal, Sum, Workspace};
use crate::netlist::{Netlist, NodeId};

/// Cancellation in a pivot from which on its row is eliminated last, after everything that
/// might relieve it.
const CANCELLATION_SUSPECT: f64 = 1e3;

/// Cancellation that leaves fewer digits than the contract of 1e-9 asks for: eps 1e7 = 2e-9.
const CANCELLATION_MAX: f64 = 1e6;

/// A network of so many rows that is asked at so many pairs is eliminated so that few steps lead to
/// each: else each answer would cost as much as the network is large.
const LARGE: usize = 2048;
const ASKED_MANY: usize = 16;

/// Rows postponed at most before the network is given up as resonant.
const POSTPONED_MAX: usize = 50;

/// The potentials of all groups and what every branch carries, in their order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Flow {
    /// U against the reference of the part.
    pub(crate) potential: Vec<Sum>,
    /// What one pass adds to it.
    pass: Vec<Sum>,
    /// U_a - U_b - emf_left, which is V_a - V_b - emf.
    pub(crate) beyond_emf: Vec<Complex<f64>>,
    /// Current from `a` to `b`.
    pub(crate) current: Vec<Complex<f64>>,
}

/// The steps that the differences of some pairs of nodes are told from.
#[derive(Clone, Debug)]
pub(crate) struct Reach(Vec<u32>);

/// An eliminated network.
#[derive(Clone, Debug)]
pub(crate) struct System {
    pub(crate) network: Network,
    plan: Plan,
    /// Places of the branches, in their order.
    branch: Vec<PackedPlace>,
    /// Places of the lattices of coupled branches: aa, bb, ab, ba of each pair.
    lattice: Vec<Place>,
    /// Places of the pairs of nodes asked for, and the groups and EMFs between them.
    pair: Vec<Place>,
    pair_group: Vec<(u32, u32)>,
    pair_emf: Vec<Complex<f64>>,
    work: Workspace,
    pivots: Pivots,
    /// Steps met while a reach is looked for; none in between.
    reached: Vec<bool>,
}

impl System {
    /// Plans and eliminates; `pairs` are nodes whose difference will be asked for by
    /// [`System::pair_difference`].
    pub(crate) fn new(
        netlist: &Netlist,
        network: Network,
        pairs: &[(NodeId, NodeId)],
    ) -> Result<Self, Refusal> {
        let mut system = Self::attempt(network, pairs, &[]);
        let mut last = Vec::new();
        loop {
            if system.eliminate() <= CANCELLATION_SUSPECT {
                return Ok(system);
            }
            let row = system.plan.row(system.pivots.worst_step);
            if last.contains(&row) || last.len() == POSTPONED_MAX {
                break;
            }
            last.push(row);
            system = Self::attempt(system.network, pairs, &last);
        }
        system.judge(netlist)?;
        Ok(system)
    }

    fn attempt(network: Network, pairs: &[(NodeId, NodeId)], last: &[u32]) -> Self {
        let row = |group: u32| network.row[group as usize];
        let branches = network.branches.iter().map(|b| (row(b.a), row(b.b)));
        let lattice = network.mutuals.iter().flat_map(|mutual| {
            let [i, j] = mutual.pair.map(|place| &network.branches[place as usize]);
            [(i.a, j.a), (i.b, j.b), (i.a, j.b), (i.b, j.a)].map(|(a, b)| (row(a), row(b)))
        });
        let group = |node: NodeId| network.groups.of_node[node.0 as usize];
        let pair_group: Vec<_> = pairs.iter().map(|&(a, b)| (group(a), group(b))).collect();
        let pair_emf = pairs.iter().map(|&(a, b)| network.emf_between(a, b)).collect();
        let pairs = pair_group.iter().map(|&(a, b)| (row(a), row(b)));
        let ends: Vec<(u32, u32)> = branches.chain(lattice).chain(pairs).collect();
        let n_rows = network.n_rows as usize;
        let plan = match pair_group.len() >= ASKED_MANY && n_rows >= LARGE {
            true => Plan::shallow(n_rows, &ends, last),
            false => Plan::new(n_rows, &ends, last),
        };
        // Every pair of rows in `ends` is on the plan, so no place is missing.
        let place = |&(a, b): &(u32, u32)| plan.place(a, b).unwrap_or(Place::Nowhere);
        let (of_branches, others) = ends.split_at(network.branches.len());
        let branch = of_branches.iter().map(|ends| place(ends).into()).collect();
        let mut lattice: Vec<Place> = others.iter().map(place).collect();
        let pair = lattice.split_off(4 * network.mutuals.len());
        Self {
            network,
            plan,
            branch,
            lattice,
            pair,
            pair_group,
            pair_emf,
            work: Workspace::default(),
            pivots: Pivots::default(),
            reached: Vec::new(),
        }
    }

    /// Largest cancellation in a pivot.
    pub(crate) fn eliminate(&mut self) -> f64 {
        self.work.clear(&self.plan);
        for (branch, &place) in self.network.branches.iter().zip(&self.branch) {
            self.work.join(place.unpacked(), branch.y);
        }
        for (mutual, places) in self.network.mutuals.iter().zip(self.lattice.chunks_exact(4)) {
            for (&place, sign) in places.iter().zip([-1.0, -1.0, 1.0, 1.0]) {
                self.work.join(place, mutual.y * sign);
            }
        }
        self.pivots = self.work.eliminate(&self.plan);
        self.cancellation()
    }

    /// For each group the step its part is reckoned from, or [`REFERENCE`] where that is still
    /// the reference it had when the network was sorted.
    pub(crate) fn parts(&self, of_step: &mut Vec<u32>, of_group: &mut Vec<u32>) {
        self.work.parts(&self.plan, of_step);
        of_group.clear();
        of_group.extend(self.network.row.iter().map(|&row| match row {
            REFERENCE => REFERENCE,
            row => of_step[self.plan.step(row) as usize],
        }));
    }

    /// The refusal where a branch joins what the elimination found apart, as [`System::parts`] tells it:
    /// what cancels beside it leaves nothing to eliminate by, and its current goes round without end.
    pub(crate) fn judge_parts(&self, netlist: &Netlist, of_group: &[u32]) -> Result<(), Refusal> {
        let part = |group: u32| of_group[group as usize];
        let is_apart = |branch: &&LinearBranch| {
            part(branch.a) != part(branch.b) && branch.y.l1_norm() >= f64::MIN_POSITIVE
        };
        let Some(branch) = self.network.branches.iter().find(is_apart) else { return Ok(()) };
        let group = if part(branch.a) == REFERENCE { branch.b } else { branch.a };
        let is_of_it = |node: &NodeId| self.network.groups.of_node[node.0 as usize] == group;
        let node = netlist.nodes().find(is_of_it).unwrap_or(Netlist::EARTH);
        let terminal = netlist.address(node).to_string();
        Err(Refusal::Resonance { terminal, cancellation: f64::INFINITY })
    }

    /// The refusal if the cancellation in a pivot costs too many digits.
    pub(crate) fn judge(&self, netlist: &Netlist) -> Result<(), Refusal> {
        let cancellation = self.cancellation();
        if cancellation <= CANCELLATION_MAX {
            return Ok(());
        }
        let row = self.plan.row(self.pivots.worst_step);
        let at_row = |node: &NodeId| self.network.row_of_node(node.0) == row;
        let node = netlist.nodes().find(at_row).unwrap_or(Netlist::EARTH);
        let terminal = netlist.address(node).to_string();
        Err(Refusal::Resonance { terminal, cancellation })
    }

    /// Whether every row is joined with the reference of its part as it was planned.
    pub(crate) fn is_as_planned(&self) -> bool {
        self.work.is_one_part()
    }

    /// Largest Σ|y| / |Σy| of any pivot.
    pub(crate) fn cancellation(&self) -> f64 {
        self.pivots.worst_cancellation
    }

    /// Drives a current into a group.
    pub(crate) fn inject(&mut self, group: u32, current: Complex<f64>) {
        let row = self.network.row[group as usize];
        if row != REFERENCE {
            self.work.inject(self.plan.step(row), current);
        }
    }

    /// Drives the currents of every source: y (emf - (φ_a - φ_b)) into end `a` and out of `b`.
    pub(crate) fn drive_sources(&mut self) {
        for place in 0..self.network.branches.len() {
            let emf_left = self.network.emf_left(place);
            if !emf_left.is_zero() {
                let branch = self.network.branches[place];
                self.drive(branch.a, branch.b, branch.y * emf_left.value());
            }
        }
        for place in 0..self.network.mutuals.len() {
            let mutual = self.network.mutuals[place];
            let [i, j] = mutual.pair.map(|place| self.network.branches[place as usize]);
            let [of_i, of_j] = mutual.pair.map(|place| self.network.emf_left(place as usize));
            self.drive(i.a, i.b, mutual.y * of_j.value());
            self.drive(j.a, j.b, mutual.y * of_i.value());
        }
        self.drive_forced();
    }

    fn drive_forced(&mut self) {
        for place in 0..self.network.forced.len() {
            let forced = self.network.forced[place];
            self.drive(forced.b, forced.a, forced.current);
        }
    }

    /// Drives a current into one group and out of another.
    pub(crate) fn drive(&mut self, into: u32, out_of: u32, current: Complex<f64>) {
        if current != Complex::ZERO && into != out_of {
            self.inject(into, current);
            self.inject(out_of, -current);
        }
    }

    /// Potentials and differences for the currents driven since the last call.
    pub(crate) fn solve(&mut self) {
        self.work.solve(&self.plan);
    }

    /// What has to be solved for to tell the differences of some of the pairs.
    pub(crate) fn reach(&mut self, places: impl IntoIterator<Item = usize>) -> Reach {
        let mut steps: Vec<u32> = Vec::new();
        self.reached.resize(self.plan.n_rows(), false);
        for place in places {
            let (a, b) = self.pair_group[place];
            for row in [a, b].map(|group| self.network.row[group as usize]) {
                let mut step = (row != REFERENCE).then(|| self.plan.step(row));
                while let Some(new) = step.filter(|&step| !self.reached[step as usize]) {
                    self.reached[new as usize] = true;
                    steps.push(new);
                    step = self.plan.next(new);
                }
            }
        }
        for &step in &steps {
            self.reached[step as usize] = false;
        }
        steps.sort_unstable();
        Reach(steps)
    }

    /// Differences of the pairs of a reach, for currents driven at pairs of it since the last
    /// call.
    pub(crate) fn solve_among(&mut self, reach: &Reach) {
        self.work.solve_among(&self.plan, &reach.0);
    }

    /// Drives a current into the first node of a pair and out of the second.
    pub(crate) fn drive_pair(&mut self, place: usize, current: Complex<f64>) {
        let (into, out_of) = self.pair_group[place];
        self.drive(into, out_of, current);
    }

    /// V_a - V_b of a pair of nodes asked for, all sources driven.
    pub(crate) fn pair_voltage(&self, place: usize) -> Complex<f64> {
        self.pair_difference(place) + self.pair_emf[place]
    }

    /// U_a - U_b of a pair of nodes asked for.
    pub(crate) fn pair_difference(&self, place: usize) -> Complex<f64> {
        self.work.difference(self.pair[place])
    }

    /// Potentials alone, each source driving its own current at its own ends. Where
    /// [`Network::is_anchored`] holds, every potential is U and has all its digits, those of what
    /// floats too; `false` when one is not a number.
    pub(crate) fn solve_potentials(&mut self) -> bool {
        let Self { network, plan, work, .. } = self;
        work.clear_drives(plan);
        let mut drive = |branch: &LinearBranch, current: Complex<f64>| {
            for (group, current) in [(branch.a, current), (branch.b, -current)] {
                let row = network.row[group as usize];
                if row != REFERENCE {
                    work.drive(plan.step(row), current);
                }
            }
        };
        for (branch, emf) in network.driving() {
            drive(branch, branch.y * emf);
        }
        for mutual in &network.mutuals {
            let [i, j] = mutual.pair.map(|place| place as usize);
            drive(&network.branches[i], mutual.y * network.emf(j));
            drive(&network.branches[j], mutual.y * network.emf(i));
        }
        work.solve_potentials(plan)
    }

    /// U of a group after [`System::solve_potentials`].
    pub(crate) fn potential(&self, group: u32) -> Complex<f64> {
        match self.network.row[group as usize] {
            REFERENCE => Complex::ZERO,
            row => self.work.potential(self.plan.step(row)),
        }
    }

    /// Solves for the sources, and once more for what Kirchhoff's laws still miss.
    ///
    /// A joint that carries nanoamperes beside one that carries amperes has its difference from
    /// terms of the size of the other's. So the potentials are summed from the differences along
    /// the forest, keeping what rounding drops; all other differences are theirs, so that no
    /// loop has a voltage of its own; what the current law then misses is exact, and a second
    /// pass puts it where it belongs.
    pub(crate) fn solve_sources(&mut self, flow: &mut Flow) {
        let (n_groups, n_branches) = (self.network.groups.count, self.network.branches.len());
        for potentials in [&mut flow.potential, &mut flow.pass] {
            potentials.clear();
            potentials.resize(n_groups, Sum::default());
        }
        for list in [&mut flow.beyond_emf, &mut flow.current] {
            list.clear();
            list.resize(n_branches, Complex::ZERO);
        }
        self.drive_sources();
        self.take_up(flow);
        for (place, &current) in flow.current.iter().enumerate() {
            let branch = self.network.branches[place];
            self.drive(branch.b, branch.a, current);
        }
        self.drive_forced();
        self.take_up(flow);
    }

    /// Solves for the currents driven and adds the result to a flow.
    fn take_up(&mut self, flow: &mut Flow) {
        self.solve();
        let network = &self.network;
        let potential = &mut flow.pass;
        for stride in &network.forest.walk {
            let difference = self.work.difference(self.branch[stride.branch()].unpacked());
            let LinearBranch { a, b, .. } = network.branches[stride.branch()];
            let (from, to, rise) =
                if stride.is_forward() { (a, b, -difference) } else { (b, a, difference) };
            let mut reached = potential[from as usize];
            reached.add(rise);
            potential[to as usize] = reached;
        }
        for (sum, add) in flow.potential.iter_mut().zip(potential) {
            sum.add_sum(*add);
        }
        for (place, branch) in network.branches.iter().enumerate() {
            let [a, b] = [branch.a, branch.b].map(|group| flow.potential[group as usize]);
            let (mut beyond, emf_left) = (a.minus(b), network.emf_left(place));
            if !emf_left.is_zero() {
                beyond = beyond.minus(emf_left);
            }
            flow.beyond_emf[place] = beyond.value();
        }
        self.currents(flow);
    }

    /// I = y (U_a - U_b - emf_left) of every branch, and what is coupled into it.
    fn currents(&self, flow: &mut Flow) {
        let Flow { beyond_emf, current, .. } = flow;
        let branches = &self.network.branches;
        for ((current, branch), beyond_emf) in current.iter_mut().zip(branches).zip(&*beyond_emf) {
            *current = branch.y * beyond_emf;
        }
        for mutual in &self.network.mutuals {
            let [i, j] = mutual.pair.map(|place| place as usize);
            current[i] += mutual.y * beyond_emf[j];
            current[j] += mutual.y * beyond_emf[i];
        }
    }
}
