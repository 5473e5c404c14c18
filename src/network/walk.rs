//! The way between changed bags, done again: up to where they meet, there solved, and down again.
//!
//! Where that was long so often that it paid, a way is kept ([`Ways`]) and passed in one step.

use std::ops::Range;

use nalgebra::Complex;

use super::bag::BAG_MAX;
use super::junction::{Junction, NONE};
use super::passage::Passage;
use super::rerooted::{Branching, Numbers, Rerooted, Scratch, worse};
use super::rows::{CutView, Rows};
use super::views::{Kept, Views};
use super::way_views::{WayViews, ports};
use super::ways::Ways;

/// What a port shows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Sight {
    /// U of its first row less that of its second.
    pub(crate) difference: Complex<f64>,
    /// What it sees; meaningless if impedances were not asked for.
    pub(crate) impedance: Complex<f64>,
    /// Which of its ends lead to the reference. Where one does not, the rest is reckoned from the
    /// zero of a row that lies as it does; where neither does, from two that need not be one.
    pub(crate) tied: [bool; 2],
}

impl Sight {
    /// Whether both ends lead to the reference.
    pub(crate) fn is_tied(&self) -> bool {
        self.tied == [true; 2]
    }
}

/// A bag done again.
#[derive(Clone, Copy, Debug)]
struct Step {
    bag: u32,
    /// Whether it went up by a way, the next of those taken, and not to the bag it hangs from.
    passes: bool,
}

/// Numbers of one walk, kept from one to the next so that nothing is allocated.
#[derive(Clone, Debug)]
pub(crate) struct Walk {
    now: Numbers,
    pivot: Vec<Complex<f64>>,
    scratch: Box<Scratch>,
    rows: Rows,
    /// The bags done again, each before the one that it hangs from or goes up to.
    steps: Vec<Step>,
    /// The ways that they took, in the same order.
    passages: Vec<Passage>,
    n_passages: usize,
    /// Bags that more than one way leads to, the lowest last, while one of them is on its way.
    pending: Vec<u32>,
    ways: Ways,
    /// By set of ports.
    way_views: Vec<WayViews>,
    /// Walk in which each bag was last done again, or was the last before one.
    done_in: Vec<u32>,
    /// Walk in which a bag that hangs from it was last done again, how many were, and the last.
    met_in: Vec<u32>,
    n_met: Vec<u32>,
    last_met: Vec<u32>,
    this: u32,
    with_impedances: bool,
    view: CutView,
}

/// Ways taken at once for which there is room from the beginning: as many as five changed bags take.
const PASSAGES: usize = 8;

impl Walk {
    /// For sets of so many ports each.
    pub(crate) fn new(junction: &Junction, n_ports: impl Iterator<Item = usize> + Clone) -> Self {
        let now = Numbers::zero(junction);
        let (nodes, pairs, n) = (now.shunt.len(), now.pair.len(), junction.len());
        let ways = Ways::new(junction, n_ports.clone().sum());
        Self {
            now,
            pivot: vec![Complex::ZERO; n],
            scratch: Box::default(),
            rows: Rows::zero(nodes, pairs),
            steps: Vec::with_capacity(n),
            passages: vec![Passage::default(); PASSAGES],
            n_passages: 0,
            pending: Vec::with_capacity(PASSAGES),
            way_views: n_ports.map(|n_ports| WayViews::new(ways.room(), n_ports)).collect(),
            ways,
            done_in: vec![0; n],
            met_in: vec![0; n],
            n_met: vec![0; n],
            last_met: vec![NONE; n],
            this: 0,
            with_impedances: false,
            view: CutView::default(),
        }
    }

    /// Solves with these changes, which are sorted by bag. Returns the largest cancellation met.
    pub(crate) fn go(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        with_impedances: bool,
    ) -> f64 {
        self.begin(with_impedances);
        let junction = &network.junction;
        let Some(root) = (junction.len() as u32).checked_sub(1) else { return 1.0 };
        let first = changes.first().map_or(root, |change| change.bag);
        let last = changes.last().map_or(root, |change| change.bag);
        let top = match first < last {
            true => junction.parent[junction.climb(first, last) as usize],
            false => first,
        };
        let (mut cancellation, mut at, mut bag) = (1.0, 0, first);
        loop {
            let from = at;
            while changes.get(at).is_some_and(|change| change.bag == bag) {
                at += 1;
            }
            let n_met = self.n_met(bag);
            self.put(network, bag, &changes[from..at]);
            self.done_in[bag as usize] = self.this;
            if bag == top {
                self.steps.push(Step { bag, passes: false });
                cancellation = worse(cancellation, self.turn(network, bag));
                break;
            }
            cancellation = worse(cancellation, self.rise(junction, bag));
            let mut arrives = bag;
            if at > from || n_met > 1 {
                let next = changes.get(at).map_or(top, |next| next.bag);
                let bound = self.pending.last().map_or(next, |pending| next.min(*pending));
                let before = junction.climb(bag, bound.min(top));
                if before != bag
                    && let Some(way) = self.ways.wanted(network, bag, before)
                {
                    cancellation = worse(cancellation, self.pass(junction, way));
                    arrives = before;
                }
            }
            self.steps.push(Step { bag, passes: arrives != bag });
            let above = junction.parent[arrives as usize];
            self.meet(above, arrives);
            // What else leads there comes first.
            bag = match changes.get(at) {
                Some(next) if next.bag < above => {
                    if self.pending.last() != Some(&above) {
                        self.pending.push(above);
                    }
                    next.bag
                }
                _ => {
                    if self.pending.last() == Some(&above) {
                        self.pending.pop();
                    }
                    above
                }
            };
        }
        let mut passage = self.n_passages;
        for step in (0..self.steps.len() - 1).rev() {
            let Step { bag, passes } = self.steps[step];
            if passes {
                passage -= 1;
            }
            self.descend(junction, bag, passes.then_some(passage));
        }
        cancellation
    }

    fn begin(&mut self, with_impedances: bool) {
        self.with_impedances = with_impedances;
        self.steps.clear();
        self.pending.clear();
        self.n_passages = 0;
        self.ways.make_room();
        if self.this == u32::MAX {
            self.done_in.fill(0);
            self.met_in.fill(0);
            self.this = 0;
        }
        self.this += 1;
    }

    fn is_done(&self, bag: u32) -> bool {
        self.done_in[bag as usize] == self.this
    }

    fn n_met(&self, bag: u32) -> u32 {
        let at = bag as usize;
        if self.met_in[at] == self.this { self.n_met[at] } else { 0 }
    }

    /// Puts a bag together anew.
    fn put(&mut self, network: &Rerooted, bag: u32, changes: &[Branching]) {
        let junction = &network.junction;
        let at = bag as usize;
        let n_met = self.n_met(bag);
        let mut own = self.scratch.bag(junction.rows(at));
        if changes.is_empty() && n_met == 1 {
            let met = self.last_met[at] as usize;
            network.copy_except(&mut own, met);
            own.add_reduced(junction, &self.now, met);
            return;
        }
        match changes {
            [] => own.copy(junction, &network.own, at),
            changes => network.put_changed(&mut own, bag, changes),
        }
        for &child in junction.children(at) {
            let done = self.done_in[child as usize] == self.this;
            let from = if done { &self.now } else { &network.up };
            own.add_reduced(junction, from, child as usize);
        }
    }

    /// Eliminates the bag's row.
    fn rise(&mut self, junction: &Junction, bag: u32) -> f64 {
        let at = bag as usize;
        let mut own = self.scratch.bag(junction.rows(at));
        let pivot = own.eliminate(0);
        self.now.bag(junction, at).set(&own);
        self.pivot[at] = pivot.impedance;
        pivot.cancellation
    }

    fn meet(&mut self, above: u32, bag: u32) {
        self.done_in[bag as usize] = self.this;
        let above = above as usize;
        if self.met_in[above] != self.this {
            (self.met_in[above], self.n_met[above]) = (self.this, 0);
        }
        self.n_met[above] += 1;
        self.last_met[above] = bag;
    }

    /// Carries what is left of a bag up a way.
    fn pass(&mut self, junction: &Junction, at: u32) -> f64 {
        if self.n_passages == self.passages.len() {
            self.passages.push(Passage::default());
        }
        let passage = &mut self.passages[self.n_passages];
        self.n_passages += 1;
        passage.go_up(junction, (&self.ways, at), &mut self.now)
    }

    /// Solves the topmost bag with all that lies beyond it.
    fn turn(&mut self, network: &Rerooted, bag: u32) -> f64 {
        let junction = &network.junction;
        let at = bag as usize;
        let t = junction.rows(at);
        let mut own = self.scratch.bag(t);
        own.add_beyond(junction, &network.down, at);
        let mut impedance = [Complex::ZERO; BAG_MAX];
        let mut cancellation = 1.0;
        for (e, impedance) in impedance[..t].iter_mut().enumerate() {
            let pivot = own.eliminate(e);
            *impedance = pivot.impedance;
            cancellation = worse(cancellation, pivot.cancellation);
        }
        let mut seen = self.rows.seen(junction.nodes(at), junction.pairs(at));
        for e in (0..t).rev() {
            seen.extend(e, own.gone(e, impedance[e]), self.with_impedances);
        }
        cancellation
    }

    /// Solves a bag from the one it hangs from, or from the other end of the way it took.
    fn descend(&mut self, junction: &Junction, bag: u32, passage: Option<usize>) {
        let place = |bag: usize| (junction.nodes(bag), junction.pairs(bag));
        let at = bag as usize;
        let mut seen = match passage {
            None => {
                let above = place(junction.parent[at] as usize);
                let (mut seen, solved) = self.rows.both(place(at), above);
                seen.take(1, solved, junction.positions(at));
                seen
            }
            Some(passage) => {
                let passage = &mut self.passages[passage];
                passage.go_down(junction, &self.ways, &self.rows, self.with_impedances);
                let (nodes, pairs) = place(at);
                let mut seen = self.rows.seen(nodes, pairs);
                let way = self.ways.way(passage.way);
                let n_cut = junction.positions(at).len();
                seen.take(1, passage.solved(way), &way.place[..n_cut]);
                seen
            }
        };
        let gone = self.now.gone(junction, at, self.pivot[at]);
        seen.extend(0, gone, self.with_impedances);
    }

    /// What every port of a set shows after the walk, in the order asked for. `set` is its number
    /// among those that the walk was made for.
    pub(crate) fn read(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        shown: &mut [Sight],
    ) {
        let junction = &network.junction;
        let Some(&Step { bag: top, .. }) = self.steps.last() else { return };
        if junction.parent[top as usize] != NONE {
            let (from, to) = (junction.first[top as usize], top + 1);
            let outside = [views.within(0, from), views.within(to, junction.len() as u32)];
            if outside.iter().any(|ports| !ports.is_empty()) {
                let n = junction.rows(top as usize) - 1;
                self.look(junction, top as usize, (1..=n).map(|place| place as u8));
                for ports in outside {
                    let kept = |port: usize| views.kept(top as usize, n, port);
                    self.read_through(views, ports, kept, shown);
                }
            }
        }
        if self.n_passages > 0 {
            self.read_ways(network, (set, views), shown);
        }
        for step in 0..self.steps.len() {
            let bag = self.steps[step].bag;
            self.read_in(junction, views, bag, shown);
            for &child in junction.children(bag as usize) {
                let ports = views.within(junction.first[child as usize], child + 1);
                if !ports.is_empty() && !self.is_done(child) {
                    let positions = junction.positions(child as usize);
                    self.look(junction, bag as usize, positions.iter().copied());
                    let kept = |port: usize| views.kept(child as usize, positions.len(), port);
                    self.read_through(views, ports, kept, shown);
                }
            }
        }
    }

    /// Ports on the ways taken.
    fn read_ways(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        shown: &mut [Sight],
    ) {
        let Some(of_set) = self.way_views.get_mut(set) else { return };
        of_set.make_room(&self.ways);
        for passage in &self.passages[..self.n_passages] {
            of_set.see(network, views, &self.ways, passage.way);
        }
        self.ways.full |= of_set.is_full();
        for at in 0..self.n_passages {
            let passage = &self.passages[at];
            let way = *self.ways.way(passage.way);
            let n = usize::from(way.n_rows);
            self.view.set(passage.solved(&way), (0..n).map(|row| row as u8));
            let of_set = &self.way_views[set];
            let mut before = 0;
            for ports in ports(&network.junction, views, &way) {
                let (first, n_ports) = (ports.start, ports.len());
                let kept = |port: usize| of_set.nth(&way, passage.way, before + port - first);
                self.read_through(views, ports, kept, shown);
                before += n_ports;
            }
        }
    }

    /// Ports of a bag that was done again.
    fn read_in(&self, junction: &Junction, views: &Views, bag: u32, shown: &mut [Sight]) {
        let (node, first) =
            (junction.nodes(bag as usize).start, junction.pairs(bag as usize).start);
        let rows = &self.rows;
        for port in &views.ports[views.within(bag, bag + 1)] {
            let slot = usize::from(port.slot);
            let (difference, impedance, other) = match slot {
                0 => (rows.potential[node], rows.impedance[node], true),
                slot => {
                    let pair = first + slot - 1;
                    (rows.difference[pair], rows.distance[pair], rows.tied[node + slot])
                }
            };
            let difference = if port.reversed { -difference } else { difference };
            let tied = port.in_order([rows.tied[node], other]);
            if let Some(shown) = shown.get_mut(port.asked as usize) {
                *shown = Sight { difference, impedance, tied };
            }
        }
    }

    /// Gathers the rows of a cut from a bag that was done again.
    fn look(&mut self, junction: &Junction, bag: usize, places: impl Iterator<Item = u8> + Clone) {
        let solved = self.rows.solved(junction.nodes(bag), junction.pairs(bag));
        self.view.set(solved, places);
    }

    /// Ports beyond a cut that was looked at.
    fn read_through<'v>(
        &self,
        views: &Views,
        ports: Range<usize>,
        kept: impl Fn(usize) -> Kept<'v>,
        shown: &mut [Sight],
    ) {
        for port in ports {
            let kept = kept(port);
            let port = &views.ports[port];
            let sight = Sight {
                difference: self.view.difference(&kept),
                impedance: match self.with_impedances {
                    true => self.view.impedance(&kept),
                    false => Complex::ZERO,
                },
                tied: port.in_order(self.view.tied(&kept)),
            };
            if let Some(shown) = shown.get_mut(port.asked as usize) {
                *shown = sight;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::{Plan, REFERENCE};
    use super::super::views::Port;
    use super::*;

    /// Figures between 0.1 and 10, each as likely.
    fn chance(seed: &mut u64) -> f64 {
        *seed =
            seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        0.1 + 9.9 * (*seed >> 11) as f64 / (1_u64 << 53) as f64
    }

    #[test]
    fn a_way_that_is_kept_shows_what_the_walk_shows() {
        const N: u32 = 60;
        // A ladder of two conductors, with a branch in the middle and a ring at its end.
        let rungs = (0..N - 2).map(|i| (i, i + 2)).chain((0..N / 2).map(|i| (2 * i, 2 * i + 1)));
        let branch = [(20, N), (N, N + 1), (N + 1, N + 2), (N + 2, N + 3), (40, 48)];
        let ends: Vec<(u32, u32)> = rungs.chain(branch).chain([(0, REFERENCE)]).collect();
        let plan = Plan::new(N as usize + 4, &ends, &[]);
        let mut seed = 7;
        let between = |at: usize, y: f64, drive: f64| {
            let (y, drive) = (Complex::new(y, 0.3 * y), Complex::from(drive));
            Branching::new(&plan, ends[at], y, drive, at as u32).unwrap()
        };
        let mut branches: Vec<Branching> =
            (0..ends.len()).map(|at| between(at, chance(&mut seed), 0.0)).collect();
        // The source is where the reference is, which nothing changes.
        let last = ends.len() - 1;
        branches.push(between(last, 0.0, 10.0));
        let ports: Vec<Port> = (0..ends.len() as u32)
            .filter_map(|at| Port::new(&plan, ends[at as usize], at))
            .collect();
        let n_ports = ports.len();
        let mut views = Views::new(ports, plan.n_rows());
        let network = Rerooted::new(&plan, branches, |network, bag, crossing| match crossing {
            None => views.look_down(network),
            Some(crossing) => views.look_out(network, bag, crossing),
        })
        .unwrap();
        let mut with = Walk::new(&network.junction, std::iter::once(n_ports));
        with.ways.cost = 0;
        let mut without = Walk::new(&network.junction, std::iter::once(n_ports));
        without.ways.cost = u32::MAX;
        let mut passed = 0;
        let mut shown = [(); 2].map(|()| vec![Sight::default(); n_ports]);
        for set in 0..400 {
            let mut changes: Vec<Branching> = (0..1 + set % 4)
                .map(|_| {
                    let at = (chance(&mut seed) * 1e6) as usize % last;
                    between(at, [1e-9, 1e3, chance(&mut seed)][set % 3], 0.0)
                })
                .collect();
            changes.sort_by_key(|change| change.bag);
            for (walk, shown) in [&mut with, &mut without].into_iter().zip(&mut shown) {
                walk.go(&network, &changes, true);
                walk.read(&network, (0, &views), shown);
            }
            assert_eq!(without.n_passages, 0);
            passed += with.n_passages;
            for (one, other) in shown[0].iter().zip(&shown[1]) {
                let apart = (one.difference - other.difference).norm();
                assert!(apart <= 1e-13, "set {set}: {one:?}, {other:?}");
                let apart = (one.impedance - other.impedance).norm();
                assert!(apart <= 1e-13 * other.impedance.norm(), "set {set}: {one:?}, {other:?}");
                assert_eq!(one.tied, other.tied);
            }
        }
        assert!(passed > 500, "{passed} ways");
    }

    #[test]
    fn parts_that_meet_at_the_reference_alone_have_ways_between_them_without_any_row() {
        let ends: Vec<(u32, u32)> = (0..12).map(|row| (row, REFERENCE)).collect();
        let plan = Plan::new(12, &ends, &[]);
        let between = |at: usize, y: f64, drive: f64| {
            Branching::new(&plan, ends[at], y.into(), drive.into(), at as u32).unwrap()
        };
        let branches = (0..12).map(|at| between(at, 2.0, 4.0)).collect();
        let network = Rerooted::new(&plan, branches, |_, _, _| {}).unwrap();
        let mut walk = Walk::new(&network.junction, std::iter::empty());
        walk.ways.cost = 0;
        let mut passed = 0;
        for (one, other) in (0..12).flat_map(|one| (one + 1..12).map(move |other| (one, other))) {
            let mut changes = [between(one, 1.0, 4.0), between(other, 8.0, 4.0)];
            changes.sort_by_key(|change| change.bag);
            walk.go(&network, &changes, true);
            passed += walk.n_passages;
            for change in changes {
                let node = network.junction.nodes(change.bag as usize).start;
                assert_eq!(walk.rows.potential[node], change.drive / change.y);
            }
        }
        assert!(passed > 30, "{passed} ways");
    }
}
