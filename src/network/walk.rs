//! The way between changed bags, done again: up to where they meet, there solved, and down again.
//!
//! Where that was long so often that it paid, a way is kept ([`Ways`]) and passed in one step.

use nalgebra::Complex;

use super::abreast::Abreast;
use super::junction::{Junction, NONE};
use super::lanes::{LANES, Wide};
use super::passage::Passage;
use super::rerooted::{Branching, Numbers, Rerooted, Scratch, worse};
use super::rows::{CutView, Rows};
use super::side::Face;
use super::sides::{Found, Meeting, Sides};
use super::way_views::WayViews;
use super::ways::Ways;

pub(crate) use together::Beside;

mod reading;
mod together;

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

/// Whoever is shown what ports show.
pub(crate) trait Shows {
    /// What the port at a place in the order asked for shows; places where there is none are of no
    /// account.
    fn show(&mut self, asked: usize, sight: Sight);

    /// The same of four, all of whose ends lead to the reference.
    #[inline(always)]
    fn show_tied(&mut self, asked: [u32; LANES], difference: &Wide, impedance: &Wide) {
        for (lane, asked) in asked.into_iter().enumerate() {
            let (difference, impedance) = (difference.get(lane), impedance.get(lane));
            self.show(asked as usize, Sight { difference, impedance, tied: [true; 2] });
        }
    }
}

impl Shows for [Sight] {
    #[inline(always)]
    fn show(&mut self, asked: usize, sight: Sight) {
        if let Some(own) = self.get_mut(asked) {
            *own = sight;
        }
    }
}

/// Where a walk begins: a bag with changes in it, or one that a kept side stands for.
#[derive(Clone, Copy, Debug)]
struct Stop {
    bag: u32,
    side: Option<u32>,
}

/// A bag done again, or one that a kept side stands for.
#[derive(Clone, Copy, Debug)]
struct Step {
    bag: u32,
    /// Whether it went up by a way, the next of those taken, and not to the bag it hangs from.
    passes: bool,
    /// The side that is kept of all that hangs from it, if it was not done again itself.
    side: Option<u32>,
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
    sides: Sides,
    /// The changes that are walked, and where.
    walked: Vec<Branching>,
    stops: Vec<Stop>,
    /// The topmost bag with the side beyond it, if that is not the side of the base.
    beyond: Option<Stop>,
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
    /// Sets that wait to be solved side by side, with their places among those asked for.
    waiting: [(u32, Meeting); LANES],
    n_waiting: usize,
    abreast: Box<Abreast>,
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
            sides: Sides::new(junction, n_ports.clone()),
            way_views: n_ports.map(|n_ports| WayViews::new(ways.room(), n_ports)).collect(),
            ways,
            walked: Vec::with_capacity(16),
            stops: Vec::with_capacity(16),
            beyond: None,
            done_in: vec![0; n],
            met_in: vec![0; n],
            n_met: vec![0; n],
            last_met: vec![NONE; n],
            this: 0,
            with_impedances: false,
            view: CutView::default(),
            waiting: Default::default(),
            n_waiting: 0,
            abreast: Box::default(),
        }
    }

    /// Whether anything was solved yet.
    pub(crate) fn has_gone(&self) -> bool {
        self.sides.met().is_some() || !self.steps.is_empty()
    }

    /// Solves with these changes, which are sorted by bag. Returns the largest cancellation met.
    pub(crate) fn go(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        with_impedances: bool,
    ) -> f64 {
        let found = self.sides.find(network, changes);
        self.go_on(network, changes, with_impedances, found)
    }

    /// The same, of changes of which it was found last how they are answered.
    fn go_on(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        with_impedances: bool,
        mut found: Found,
    ) -> f64 {
        self.begin(with_impedances);
        if network.junction.len() == 0 {
            return 1.0;
        }
        if let Found::Meeting(meeting) = found {
            if let Some(met) = self.sides.meet(meeting, with_impedances, &mut self.view) {
                return met;
            }
            found = self.sides.find_room(network, changes);
        }
        let mut walked = std::mem::take(&mut self.walked);
        walked.clear();
        let of_sides = match found {
            Found::Room { cancellation } => {
                walked.extend_from_slice(self.sides.in_room());
                cancellation
            }
            Found::Meeting(_) | Found::Nothing => {
                walked.extend_from_slice(changes);
                1.0
            }
        };
        self.stops.extend(walked.iter().map(|change| Stop { bag: change.bag, side: None }));
        for &(Face { bag, inside }, side) in self.sides.around_room() {
            match inside {
                true => self.stops.push(Stop { bag, side: Some(side) }),
                false => self.beyond = Some(Stop { bag, side: Some(side) }),
            }
        }
        self.stops.sort_unstable_by_key(|stop| stop.bag);
        self.stops.dedup_by_key(|stop| stop.bag);
        let cancellation = worse(of_sides, self.go_up(network, &walked));
        self.walked = walked;
        self.go_down(&network.junction);
        cancellation
    }

    /// The bag where all meet.
    fn top(&self, junction: &Junction) -> u32 {
        let root = junction.len() as u32 - 1;
        let first = self.stops.first().map_or(root, |stop| stop.bag);
        let last = self.stops.last().map_or(root, |stop| stop.bag);
        match self.beyond {
            Some(Stop { bag, .. }) => bag,
            None if first < last => junction.parent[junction.climb(first, last) as usize],
            None => first,
        }
    }

    /// Goes up from all stops to where they meet, and solves the bag there.
    fn go_up(&mut self, network: &Rerooted, changes: &[Branching]) -> f64 {
        let junction = &network.junction;
        let top = self.top(junction);
        let (mut cancellation, mut at) = (1.0, 0);
        let mut bag = self.stops.first().map_or(top, |stop| stop.bag);
        loop {
            let stop = self.stops.get(at).copied().filter(|stop| stop.bag == bag);
            at += usize::from(stop.is_some());
            let side = stop.and_then(|stop| stop.side);
            if let Some(side) = side {
                self.sides.put(side, self.now.cut(junction, bag));
            } else {
                let from = changes.partition_point(|change| change.bag < bag);
                let n = changes[from..].iter().take_while(|change| change.bag == bag).count();
                self.put(network, bag, &changes[from..from + n]);
                self.done_in[bag as usize] = self.this;
                if bag == top {
                    self.steps.push(Step { bag, passes: false, side });
                    return worse(cancellation, self.turn(network, bag));
                }
                cancellation = worse(cancellation, self.rise(junction, bag));
            }
            let next = self.stops.get(at).map_or(top, |next| next.bag).min(top);
            let mut arrives = bag;
            if stop.is_some() || self.n_met(bag) > 1 {
                let bound = self.pending.last().map_or(next, |pending| next.min(*pending));
                let before = junction.climb(bag, bound);
                if before != bag
                    && let Some(way) = self.ways.wanted(network, bag, before)
                {
                    cancellation = worse(cancellation, self.pass(junction, way));
                    arrives = before;
                }
            }
            self.steps.push(Step { bag, passes: arrives != bag, side });
            let above = junction.parent[arrives as usize];
            self.meet(above, arrives);
            // What else leads there comes first.
            bag = if next < above {
                if self.pending.last() != Some(&above) {
                    self.pending.push(above);
                }
                next
            } else {
                if self.pending.last() == Some(&above) {
                    self.pending.pop();
                }
                above
            };
        }
    }

    /// Solves all that was done again from above.
    fn go_down(&mut self, junction: &Junction) {
        let mut passage = self.n_passages;
        for step in (0..self.steps.len() - 1).rev() {
            let Step { bag, passes, side } = self.steps[step];
            if passes {
                passage -= 1;
                let passage = &mut self.passages[passage];
                passage.go_down(junction, &self.ways, &self.rows, self.with_impedances);
            }
            if side.is_none() {
                self.descend(junction, bag, passes.then_some(passage));
            }
        }
    }

    fn begin(&mut self, with_impedances: bool) {
        self.with_impedances = with_impedances;
        self.steps.clear();
        self.stops.clear();
        self.beyond = None;
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
        match self.beyond {
            Some(Stop { side: Some(side), .. }) => {
                self.sides.put(side, self.now.cut(junction, bag));
                own.add_beyond(junction, &self.now, at);
            }
            _ => own.add_beyond(junction, &network.down, at),
        }
        let place = (junction.nodes(at), junction.pairs(at));
        self.rows.solve(&mut own, place, self.with_impedances)
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
                let passage = &self.passages[passage];
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
}

#[cfg(test)]
mod tests {
    use super::super::plan::{Plan, REFERENCE};
    use super::super::views::{Port, Views};
    use super::*;

    /// Figures between 0.1 and 10, each as likely.
    fn chance(seed: &mut u64) -> f64 {
        *seed =
            seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        0.1 + 9.9 * (*seed >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn agree(shown: &[Sight], walked: &[Sight], with_impedances: bool) {
        for (one, other) in shown.iter().zip(walked) {
            assert!((one.difference - other.difference).norm() <= 1e-13, "{one:?}, {other:?}");
            let apart = (one.impedance - other.impedance).norm();
            let agree = apart <= 1e-13 * other.impedance.norm();
            assert!(agree || !with_impedances, "{one:?}, {other:?}");
            assert_eq!(one.tied, other.tied);
        }
    }

    #[test]
    fn ways_and_sides_that_are_kept_show_what_the_walk_shows() {
        const N: u32 = 60;
        const BRANCH: u32 = 30;
        // A ladder of two conductors, with another that branches off and a ring at its end.
        let rungs = (0..N - 2).map(|i| (i, i + 2)).chain((0..N / 2).map(|i| (2 * i, 2 * i + 1)));
        let beside = (0..BRANCH).map(|i| (if i < 2 { 20 + i } else { N + i - 2 }, N + i));
        let branch = beside.chain((0..BRANCH / 2).map(|i| (N + 2 * i, N + 2 * i + 1)));
        let ends: Vec<(u32, u32)> = rungs.chain(branch).chain([(40, 48), (0, REFERENCE)]).collect();
        let plan = Plan::new((N + BRANCH) as usize, &ends, &[]);
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
        let kept_after = |cost: u32, n_asked: u32| {
            let mut walk = Walk::new(&network.junction, std::iter::once(n_ports));
            walk.ways.cost = cost;
            walk.sides.pay_after(n_asked);
            walk
        };
        let (mut with, mut without) = (kept_after(0, u32::MAX), kept_after(u32::MAX, u32::MAX));
        let mut beside = kept_after(0, 0);
        let mut forgetful = beside.clone();
        forgetful.sides.kept_max = 400;
        let (mut passed, mut met, mut around) = (0, [0; 7], [0; 7]);
        let mut shown = [(); 4].map(|()| vec![Sight::default(); n_ports]);
        for set in 0..600 {
            let mut changes: Vec<Branching> = (0..1 + set % 5)
                .map(|_| {
                    let at = (chance(&mut seed) * 1e6) as usize % last;
                    between(at, [1e-9, 1e3, chance(&mut seed)][set % 3], 0.0)
                })
                .collect();
            changes.sort_by_key(|change| change.bag);
            // Sides are made of what was asked for before; of one change in two here.
            let some: Vec<Branching> = changes.iter().copied().step_by(1 + set % 2).collect();
            let with_impedances = set % 5 != 0;
            let walks = [&mut without, &mut with, &mut beside, &mut forgetful];
            for (walk, shown) in walks.into_iter().zip(&mut shown) {
                (0..=set % 4).for_each(|_| _ = walk.go(&network, &some, true));
                walk.go(&network, &changes, with_impedances);
                walk.read(&network, (0, &views), true, shown.as_mut_slice());
                let again = shown.clone();
                walk.read(&network, (0, &views), true, shown.as_mut_slice());
                assert_eq!(again, *shown);
            }
            assert_eq!(without.n_passages + without.sides.around_room().len(), 0);
            passed += with.n_passages;
            if beside.sides.met().is_some() {
                met[beside.sides.n_rooms(&changes)] += 1;
            }
            around[beside.sides.around_room().len()] += 1;
            shown[1..].iter().for_each(|kept| agree(kept, &shown[0], with_impedances));
        }
        assert!(passed > 500, "{passed} ways");
        assert!(
            met[2..5].iter().chain(&around[1..4]).all(|&n| n > 10),
            "{met:?} met, {around:?} between"
        );
    }

    #[test]
    fn parts_that_meet_at_the_reference_alone_have_ways_and_cuts_between_them_without_any_row() {
        let ends: Vec<(u32, u32)> = (0..12).map(|row| (row, REFERENCE)).collect();
        let plan = Plan::new(12, &ends, &[]);
        let between = |at: usize, y: f64, drive: f64| {
            Branching::new(&plan, ends[at], y.into(), drive.into(), at as u32).unwrap()
        };
        let branches = (0..12).map(|at| between(at, 2.0, 4.0)).collect();
        let ports = (0..12).map(|at| Port::new(&plan, ends[at as usize], at).unwrap()).collect();
        let mut views = Views::new(ports, plan.n_rows());
        let network = Rerooted::new(&plan, branches, |network, bag, crossing| match crossing {
            None => views.look_down(network),
            Some(crossing) => views.look_out(network, bag, crossing),
        })
        .unwrap();
        let walk = || Walk::new(&network.junction, std::iter::once(12));
        let (mut with, mut beside) = (walk(), walk());
        with.ways.cost = 0;
        with.sides.pay_after(u32::MAX);
        beside.sides.pay_after(0);
        let (mut passed, mut met) = (0, 0);
        let mut shown = vec![Sight::default(); 12];
        for (one, other) in (0..12).flat_map(|one| (one + 1..12).map(move |other| (one, other))) {
            let mut changes = [between(one, 1.0, 4.0), between(other, 8.0, 4.0)];
            changes.sort_by_key(|change| change.bag);
            for walk in [&mut with, &mut beside] {
                walk.go(&network, &changes, true);
                walk.read(&network, (0, &views), true, shown.as_mut_slice());
                for (at, shown) in shown.iter().enumerate() {
                    let volt = if at == one { 4.0 } else { [2.0, 0.5][usize::from(at == other)] };
                    assert_eq!(shown.difference, Complex::from(volt), "{one} and {other}: {at}");
                    assert!(shown.is_tied());
                }
            }
            passed += with.n_passages;
            met += usize::from(beside.sides.met().is_some());
        }
        assert!(passed > 30 && met > 10, "{passed} ways, {met} met");
    }
}
