//! A network in which any few bags can change and only the way between them is done again.
//!
//! Over every cut of the junction tree the network on either side is kept reduced to the rows of
//! the cut: upward (`up`) and downward (`down`). A change eliminates its own bag between these,
//! several changes the bags on the way from one to the other; what lies beyond keeps its place in
//! the reduced networks, and its ports are read through kept views of the rows of the cut.
//! Nothing is subtracted: a bag without one of its branches is summed anew from the others.

use nalgebra::Complex;

use super::bag::{BAG_MAX, Bag, Gone, Pivot, pair, pairs, row};
use super::junction::{Junction, NONE, starts};
use super::plan::{Place, Plan};

/// A branch between two rows, or a row and the reference, in its bag.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Branching {
    pub(crate) bag: u32,
    /// Place of the other row in the bag; 0 for the reference.
    pub(crate) slot: u8,
    pub(crate) y: Complex<f64>,
    /// Current driven into the bag's own row, and out of the other.
    pub(crate) drive: Complex<f64>,
    /// Number of the branch, by which it can be replaced.
    pub(crate) id: u32,
}

impl Branching {
    /// A branch between rows as its bag has it; `None` where the plan has no place for it.
    pub(crate) fn new(
        plan: &Plan,
        (a, b): (u32, u32),
        y: Complex<f64>,
        drive: Complex<f64>,
        id: u32,
    ) -> Option<Self> {
        Some(match plan.place(a, b)? {
            Place::Nowhere => return None,
            Place::Shunt { step, reversed } => {
                let drive = if reversed { -drive } else { drive };
                Self { bag: step, slot: 0, y, drive, id }
            }
            Place::Edge { edge, reversed } => {
                let bag = plan.step(if reversed { b } else { a });
                let drive = if reversed { -drive } else { drive };
                let slot = edge - plan.start[bag as usize] + 1;
                Self { bag, slot: slot as u8, y, drive, id }
            }
        })
    }
}

/// Numbers of all bags, laid out as a [`Junction`] says.
#[derive(Clone, Debug, Default)]
pub(crate) struct Numbers {
    pub(crate) shunt: Vec<Complex<f64>>,
    pub(crate) current: Vec<Complex<f64>>,
    pub(crate) pair: Vec<Complex<f64>>,
}

impl Numbers {
    pub(crate) fn zero(junction: &Junction) -> Self {
        let n = junction.len();
        let (nodes, pairs) = match n {
            0 => (0, 0),
            n => (junction.nodes(n - 1).end, junction.pairs(n - 1).end),
        };
        let zeros = |n| vec![Complex::ZERO; n];
        Self { shunt: zeros(nodes), current: zeros(nodes), pair: zeros(pairs) }
    }

    pub(crate) fn bag(&mut self, junction: &Junction, bag: usize) -> Bag<'_> {
        let nodes = junction.nodes(bag);
        Bag {
            shunt: &mut self.shunt[nodes.clone()],
            current: &mut self.current[nodes],
            pair: &mut self.pair[junction.pairs(bag)],
        }
    }

    /// What a bag has on the rows of its cut.
    pub(crate) fn cut(&mut self, junction: &Junction, bag: u32) -> Bag<'_> {
        let (nodes, pairs) = (junction.nodes(bag as usize), junction.pairs(bag as usize));
        let first_pair = pairs.start + nodes.len() - 1;
        Bag {
            shunt: &mut self.shunt[nodes.start + 1..nodes.end],
            current: &mut self.current[nodes.start + 1..nodes.end],
            pair: &mut self.pair[first_pair..pairs.end],
        }
    }

    /// What the row of a bag left when it went.
    pub(crate) fn gone(&self, junction: &Junction, bag: usize, z: Complex<f64>) -> Gone<'_> {
        let (node, first) = (junction.nodes(bag).start, junction.pairs(bag).start);
        Gone {
            weight: &self.pair[first..first + junction.rows(bag) - 1],
            to_reference: self.shunt[node],
            drive: self.current[node],
            impedance: z,
        }
    }
}

/// Room for the numbers of one bag.
#[derive(Clone, Debug)]
pub(crate) struct Scratch {
    shunt: [Complex<f64>; BAG_MAX],
    current: [Complex<f64>; BAG_MAX],
    pair: [Complex<f64>; pairs(BAG_MAX)],
}

impl Default for Scratch {
    fn default() -> Self {
        Self {
            shunt: [Complex::ZERO; BAG_MAX],
            current: [Complex::ZERO; BAG_MAX],
            pair: [Complex::ZERO; pairs(BAG_MAX)],
        }
    }
}

impl Scratch {
    pub(crate) fn bag(&mut self, rows: usize) -> Bag<'_> {
        Bag {
            shunt: &mut self.shunt[..rows],
            current: &mut self.current[..rows],
            pair: &mut self.pair[..pairs(rows)],
        }
    }
}

impl Bag<'_> {
    pub(crate) fn set(&mut self, from: &Bag<'_>) {
        self.shunt.copy_from_slice(from.shunt);
        self.current.copy_from_slice(from.current);
        self.pair.copy_from_slice(from.pair);
    }

    /// Puts a branch in.
    pub(crate) fn join(&mut self, branch: &Branching) {
        let slot = usize::from(branch.slot);
        self.current[0] += branch.drive;
        if slot == 0 {
            self.shunt[0] += branch.y;
        } else {
            self.pair[slot - 1] += branch.y;
            self.current[slot] -= branch.drive;
        }
    }

    /// Adds what is left of a bag that hangs from this one, at these places.
    #[inline]
    pub(crate) fn add_reduced(&mut self, junction: &Junction, from: &Numbers, bag: usize) {
        let positions = junction.positions(bag);
        let t = self.shunt.len();
        let node = junction.nodes(bag).start + 1;
        let mut next = junction.pairs(bag).start + positions.len();
        for (i, &place) in positions.iter().enumerate() {
            let at = usize::from(place);
            self.shunt[at] += from.shunt[node + i];
            self.current[at] += from.current[node + i];
            let own = row(t, at);
            for &later in &positions[i + 1..] {
                self.pair[own + usize::from(later) - at - 1] += from.pair[next];
                next += 1;
            }
        }
    }

    /// Adds what lies beyond this bag on the side of the one it hangs from.
    pub(crate) fn add_beyond(&mut self, junction: &Junction, down: &Numbers, bag: usize) {
        let (nodes, all_pairs) = (junction.nodes(bag), junction.pairs(bag));
        let s = self.shunt.len() - 1;
        let add = |own: &mut [Complex<f64>], from: &[Complex<f64>]| {
            own.iter_mut().zip(from).for_each(|(own, from)| *own += from);
        };
        add(&mut self.shunt[1..], &down.shunt[nodes.start + 1..nodes.end]);
        add(&mut self.current[1..], &down.current[nodes.start + 1..nodes.end]);
        add(&mut self.pair[s..], &down.pair[all_pairs.start + s..all_pairs.end]);
    }

    pub(crate) fn copy(&mut self, junction: &Junction, from: &Numbers, bag: usize) {
        let nodes = junction.nodes(bag);
        self.shunt.copy_from_slice(&from.shunt[nodes.clone()]);
        self.current.copy_from_slice(&from.current[nodes]);
        self.pair.copy_from_slice(&from.pair[junction.pairs(bag)]);
    }

    pub(crate) fn clear(&mut self) {
        self.shunt.fill(Complex::ZERO);
        self.current.fill(Complex::ZERO);
        self.pair.fill(Complex::ZERO);
    }
}

/// A network eliminated from every side.
#[derive(Clone, Debug)]
pub(crate) struct Rerooted {
    pub(crate) junction: Junction,
    /// The branches of each bag.
    branch: Vec<Branching>,
    branch_at: Vec<u32>,
    /// Each bag's branches.
    pub(crate) own: Numbers,
    /// Each bag's branches and all that hangs from it, its own row gone.
    pub(crate) up: Numbers,
    pub(crate) pivot: Vec<Complex<f64>>,
    /// What lies beyond each bag, in terms of its rows but its own.
    pub(crate) down: Numbers,
    /// All that hangs from a bag but one of these, with the bag's own branches: by that one.
    except: Vec<Complex<f64>>,
    except_at: Vec<u32>,
    pub(crate) cancellation: f64,
}

/// The rows that go between a bag and one that hangs from it, as seen from the latter.
pub(crate) struct Crossing {
    /// Places in the bag: those that go, then those of the cut.
    pub(crate) order: [u8; BAG_MAX],
    pub(crate) n_gone: usize,
    pub(crate) n_rows: usize,
    numbers: Scratch,
    impedance: [Complex<f64>; BAG_MAX],
}

impl Crossing {
    /// Eliminates the rows of a bag that are not in the cut below it, at these places. Returns the
    /// largest cancellation met as well.
    pub(crate) fn new(sum: &Bag<'_>, cut: &[u8]) -> (Self, f64) {
        let t = sum.shunt.len();
        let mut crossing = Self {
            order: [0; BAG_MAX],
            n_gone: t - cut.len(),
            n_rows: t,
            numbers: Scratch::default(),
            impedance: [Complex::ZERO; BAG_MAX],
        };
        let going = (0..t as u8).filter(|place| !cut.contains(place));
        for (order, place) in crossing.order.iter_mut().zip(going.chain(cut.iter().copied())) {
            *order = place;
        }
        let mut moved = crossing.numbers.bag(t);
        for i in 0..t {
            let at = usize::from(crossing.order[i]);
            moved.shunt[i] = sum.shunt[at];
            moved.current[i] = sum.current[at];
            for j in i + 1..t {
                let other = usize::from(crossing.order[j]);
                moved.pair[pair(t, i, j)] = sum.pair[pair(t, at.min(other), at.max(other))];
            }
        }
        let mut cancellation = 1.0;
        for e in 0..crossing.n_gone {
            let pivot = moved.eliminate(e);
            crossing.impedance[e] = pivot.impedance;
            cancellation = worse(cancellation, pivot.cancellation);
        }
        (crossing, cancellation)
    }

    /// Where each row of the bag is among them.
    pub(crate) fn places(&self) -> [u8; BAG_MAX] {
        let mut places = [0; BAG_MAX];
        for (at, &row) in self.order[..self.n_rows].iter().enumerate() {
            places[usize::from(row)] = at as u8;
        }
        places
    }

    /// What is left on the rows of the cut.
    pub(crate) fn left(&mut self) -> Bag<'_> {
        let (t, n_gone) = (self.n_rows, self.n_gone);
        let all = self.numbers.bag(t);
        Bag {
            shunt: &mut all.shunt[n_gone..],
            current: &mut all.current[n_gone..],
            pair: &mut all.pair[row(t, n_gone)..],
        }
    }

    /// What the rows that went left, in their order.
    pub(crate) fn gone(&self, e: usize) -> Gone<'_> {
        let from = row(self.n_rows, e);
        Gone {
            weight: &self.numbers.pair[from..from + self.n_rows - 1 - e],
            to_reference: self.numbers.shunt[e],
            drive: self.numbers.current[e],
            impedance: self.impedance[e],
        }
    }
}

impl Rerooted {
    /// Eliminates a network along a plan; `None` where its bags are too large. `cross` is called
    /// for every bag but the last, those nearer to the last first.
    pub(crate) fn new(
        plan: &Plan,
        mut branches: Vec<Branching>,
        mut cross: impl FnMut(&Self, usize, Option<&Crossing>),
    ) -> Option<Self> {
        let junction = Junction::new(plan)?;
        let n = junction.len();
        branches.sort_by_key(|branch| branch.bag);
        let branch_at = starts(branches.iter().map(|branch| branch.bag), n);
        let zero = Numbers::zero(&junction);
        let mut network = Self {
            junction,
            branch: branches,
            branch_at,
            own: zero.clone(),
            up: zero.clone(),
            pivot: vec![Complex::ZERO; n],
            down: zero,
            except: Vec::new(),
            except_at: vec![0; n],
            cancellation: 1.0,
        };
        network.go_up();
        for bag in (0..n).rev() {
            let crossing = network.go_down(bag);
            cross(&network, bag, crossing.as_ref());
        }
        Some(network)
    }

    /// The branches of a bag.
    pub(crate) fn branches(&self, bag: usize) -> &[Branching] {
        &self.branch[self.branch_at[bag] as usize..self.branch_at[bag + 1] as usize]
    }

    fn go_up(&mut self) {
        for bag in 0..self.junction.len() {
            let Self { junction, branch, branch_at, own, up, .. } = self;
            let mut of_bag = own.bag(junction, bag);
            for branch in &branch[branch_at[bag] as usize..branch_at[bag + 1] as usize] {
                of_bag.join(branch);
            }
            let mut scratch = Scratch::default();
            let mut reduced = scratch.bag(junction.rows(bag));
            reduced.copy(junction, own, bag);
            for &child in junction.children(bag) {
                reduced.add_reduced(junction, up, child as usize);
            }
            let Pivot { impedance, cancellation } = reduced.eliminate(0);
            up.bag(junction, bag).set(&reduced);
            self.pivot[bag] = impedance;
            self.cancellation = worse(self.cancellation, cancellation);
        }
    }

    /// What lies beyond a bag, and what went on the way.
    fn go_down(&mut self, bag: usize) -> Option<Crossing> {
        let junction = &self.junction;
        let above = junction.parent[bag];
        if above == NONE {
            return None;
        }
        let above = above as usize;
        let t = junction.rows(above);
        let mut scratch = Scratch::default();
        let mut sum = scratch.bag(t);
        sum.copy(junction, &self.own, above);
        for &other in junction.children(above).iter().filter(|&&other| other as usize != bag) {
            sum.add_reduced(junction, &self.up, other as usize);
        }
        self.except_at[bag] = self.except.len() as u32;
        self.except.extend_from_slice(sum.shunt);
        self.except.extend_from_slice(sum.current);
        self.except.extend_from_slice(sum.pair);
        sum.add_beyond(junction, &self.down, above);

        let (mut crossing, cancellation) = Crossing::new(&sum, junction.positions(bag));
        self.cancellation = worse(self.cancellation, cancellation);
        self.down.cut(junction, bag as u32).set(&crossing.left());
        Some(crossing)
    }

    /// Fills a bag with its own branches and all that hangs from it but `child`.
    #[inline]
    pub(crate) fn copy_except(&self, bag: &mut Bag<'_>, child: usize) {
        let t = bag.shunt.len();
        let from = &self.except[self.except_at[child] as usize..];
        bag.shunt.copy_from_slice(&from[..t]);
        bag.current.copy_from_slice(&from[t..2 * t]);
        let n_pairs = bag.pair.len();
        bag.pair.copy_from_slice(&from[2 * t..2 * t + n_pairs]);
    }

    /// Fills a bag with its branches as changed, each replaced by those of the same number.
    pub(crate) fn put_changed(&self, into: &mut Bag<'_>, bag: u32, changes: &[Branching]) {
        into.clear();
        let of_bag = || changes.iter().filter(|change| change.bag == bag);
        for branch in self.branches(bag as usize) {
            if !of_bag().any(|change| change.id == branch.id) {
                into.join(branch);
            }
        }
        of_bag().for_each(|change| into.join(change));
    }
}

/// The larger of two cancellations; one that is no number is the worst of all.
pub(crate) fn worse(one: f64, other: f64) -> f64 {
    if other.is_nan() || other > one { other } else { one }
}

/// Whether that is more than is borne; what is no number is.
pub(crate) fn exceeds(cancellation: f64, most: f64) -> bool {
    cancellation.is_nan() || cancellation > most
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cancellation_that_is_no_number_is_the_worst_and_more_than_is_borne() {
        assert!(worse(2.0, f64::NAN).is_nan());
        assert_eq!((worse(2.0, 3.0), worse(3.0, 2.0)), (3.0, 3.0));
        assert!(exceeds(f64::NAN, 10.0) && exceeds(11.0, 10.0));
        assert!(!exceeds(10.0, 10.0) && !exceeds(1.0, 10.0));
    }
}
