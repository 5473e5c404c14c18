//! Ways from one bag up to another: what lies between, kept.
//!
//! A way leads from a bag over those that it hangs from up to a `top`, and holds all of these with
//! everything else that hangs from them, reduced to the rows of two cuts: the one above the bag
//! and the one above the top. Two changes far from each other are then one step apart, and the
//! ports between them are read from the rows at both ends of the way.
//!
//! A way is made from one that is shorter by a bag at either end, and only once so many bags were
//! walked from its bag, or to its top, for want of ways that making it is no dearer. Making ways
//! costs in all no more than has been walked.
//!
//! A way gives the same as the walk but for rounding, so that the last digits of an answer depend
//! on what was asked before.

use nalgebra::Complex;

use super::bag::{BAG_MAX, Bag, Gone, pair, pairs, row};
use super::junction::{Junction, NONE};
use super::rerooted::{Numbers, Rerooted, Scratch, exceeds, worse};

/// In the table: making it would take too many rows at once, or too much would cancel.
pub(super) const UNFIT: u32 = NONE - 1;

/// What one way costs without its ports, in bags walked.
const COST: u32 = 4;

/// Cancellation from which on a way or a side is not made: a tenth of what makes a walk suspect.
pub(super) const CANCELLATION_MAX: f64 = 100.0;

/// Entries of the table at most; a larger tree is walked.
const TABLE_MAX: usize = 1 << 22;

/// Numbers kept at most before all are forgotten: 32 MiB.
pub(super) const KEPT_MAX: usize = 1 << 21;

/// Numbers of one port on a way, with three conductors at either end.
pub(super) const PORT_USUAL: usize = 9;

/// One way. Its rows are those of the near cut that do not reach the far one, then the far cut's.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    pub(super) bag: u32,
    pub(super) top: u32,
    pub(super) n_rows: u8,
    /// Rows of the near cut alone.
    pub(super) n_near: u8,
    /// Place of each row of the near cut.
    pub(super) place: [u8; BAG_MAX],
    pub(super) cancellation: f64,
    /// The bag whose own each row is.
    row: [u32; BAG_MAX],
    /// Rows that went as it was made.
    pub(super) n_gone: u8,
    /// Where its numbers start: of the rows that went and of those that stayed.
    at: u32,
    pub(super) made: Made,
}

/// How a way was made.
#[derive(Clone, Copy, Debug)]
pub(super) struct Made {
    /// The way shorter by a bag; [`NONE`] for a way of one bag.
    pub(super) from: u32,
    /// The bag added.
    pub(super) bag: u32,
    /// What hangs from that bag towards the near end: it is on the shorter way, or beyond the end.
    pub(super) without: u32,
}

/// Bags walked for want of a way.
#[derive(Clone, Debug)]
struct Walked {
    /// By the bag where it would begin.
    from: Vec<u32>,
    /// By its top.
    to: Vec<u32>,
}

/// All ways of a junction tree that were worth it.
#[derive(Clone, Debug)]
pub(super) struct Ways {
    /// Where the entries of each bag start, by the number of bags on the way; empty for a tree
    /// that is walked.
    start: Vec<u32>,
    /// Each a way, [`NONE`] that is not made, or [`UNFIT`].
    table: Vec<u32>,
    walked: Walked,
    /// Of one way, in bags walked; twice that, for each walk counts at either end.
    pub(super) cost: u32,
    /// Whether too much is kept, here or of the ports.
    pub(super) full: bool,
    /// Bags where the ways begin that are to be made.
    begins: Vec<u32>,
    pub(super) ways: Vec<Way>,
    numbers: Vec<Complex<f64>>,
    /// Counts how often all were forgotten.
    pub(super) forgotten: u32,
    work: Box<[Scratch; 2]>,
}

impl Ways {
    /// For so many ports in all.
    pub(super) fn new(junction: &Junction, n_ports: usize) -> Self {
        let mut start = Vec::with_capacity(junction.len());
        let mut n = 0_usize;
        for depth in &junction.depth {
            start.push(n as u32);
            n += depth.saturating_sub(1) as usize;
            // The ports on all ways that begin at one bag must have room several times over.
            if n > TABLE_MAX || *depth as usize * n_ports * PORT_USUAL / 2 > KEPT_MAX / 8 {
                (start, n) = (Vec::new(), 0);
                break;
            }
        }
        // Three conductors at either end.
        let usual = 2 * 7 + pairs(7);
        let nothing = vec![0; start.len()];
        Self {
            walked: Walked { from: nothing.clone(), to: nothing },
            // A port costs about as much as a bag, and of a run's a way holds a third.
            cost: 2 * (COST + n_ports as u32 / 3),
            full: false,
            begins: Vec::with_capacity(start.len()),
            start,
            table: vec![NONE; n],
            ways: Vec::with_capacity(n.min(KEPT_MAX / usual)),
            numbers: Vec::with_capacity((n * usual).min(KEPT_MAX)),
            forgotten: 0,
            work: Box::default(),
        }
    }

    /// Number of ways for which there is room from the beginning.
    pub(super) fn room(&self) -> usize {
        self.ways.capacity()
    }

    /// Forgets all ways if they have become too many.
    pub(super) fn make_room(&mut self) {
        if self.full || self.numbers.len() > KEPT_MAX {
            self.full = false;
            self.table.fill(NONE);
            self.walked.from.fill(0);
            self.walked.to.fill(0);
            self.ways.clear();
            self.numbers.clear();
            self.forgotten = self.forgotten.wrapping_add(1);
        }
    }

    pub(super) fn way(&self, at: u32) -> &Way {
        &self.ways[at as usize]
    }

    fn entry(&self, junction: &Junction, bag: u32, top: u32) -> usize {
        let n_bags = junction.depth[bag as usize] - junction.depth[top as usize];
        (self.start[bag as usize] + n_bags) as usize - 1
    }

    /// The way from a bag to one that it hangs from; `None` where it is to be walked.
    pub(super) fn wanted(&mut self, network: &Rerooted, bag: u32, top: u32) -> Option<u32> {
        let junction = &network.junction;
        let start = *self.start.get(bag as usize)? as usize;
        let n_bags = (junction.depth[bag as usize] - junction.depth[top as usize]) as usize;
        match self.table[start + n_bags - 1] {
            UNFIT => return None,
            NONE => {}
            way => return Some(way),
        }
        let walked = &mut self.walked;
        let [from, to] = [&mut walked.from[bag as usize], &mut walked.to[top as usize]];
        *from = from.saturating_add(n_bags as u32);
        *to = to.saturating_add(n_bags as u32);
        let [walked_from, walked_to] = [*from, *to];
        let is_made = |way: &u32| *way < UNFIT;
        // Those that begin there as well and are shorter at the top.
        let shorter = self.table[start..start + n_bags - 1].iter().rposition(is_made);
        let upwards = n_bags - shorter.map_or(0, |last| last + 1);
        // Those that end there as well and begin higher up.
        let (mut downwards, mut begins) = (1, bag);
        while downwards < n_bags {
            begins = junction.parent[begins as usize];
            if is_made(&self.table[self.entry(junction, begins, top)]) {
                break;
            }
            downwards += 1;
        }
        let cost = |n_missing: usize| self.cost.saturating_mul(n_missing as u32);
        let (cost_down, cost_up) = (cost(downwards), cost(upwards));
        let made = if walked_to >= cost_down {
            self.walked.to[top as usize] -= cost_down;
            self.make_downwards(network, (bag, top), downwards)
        } else if walked_from >= cost_up {
            self.walked.from[bag as usize] -= cost_up;
            self.make_upwards(network, (bag, top), upwards)
        } else {
            return None;
        };
        if made.is_none() {
            self.table[start + n_bags - 1] = UNFIT;
        }
        made
    }

    fn make_upwards(
        &mut self,
        network: &Rerooted,
        (bag, top): (u32, u32),
        n_missing: usize,
    ) -> Option<u32> {
        let parent = &network.junction.parent;
        let end = self.entry(&network.junction, bag, top) + 1;
        let mut from = match end - n_missing {
            at if at == self.start[bag as usize] as usize => NONE,
            at => self.table[at - 1],
        };
        for at in end - n_missing..end {
            let without = self.ways.get(from as usize).map_or(bag, |way| way.top);
            let added = parent[without as usize];
            let made = Made { from, bag: added, without };
            from = self.make(network, (bag, added), made, at)?;
        }
        Some(from)
    }

    fn make_downwards(
        &mut self,
        network: &Rerooted,
        (bag, top): (u32, u32),
        n_missing: usize,
    ) -> Option<u32> {
        let junction = &network.junction;
        self.begins.clear();
        self.begins.push(bag);
        for above in 1..n_missing {
            self.begins.push(junction.parent[self.begins[above - 1] as usize]);
        }
        let mut from = NONE;
        for above in (0..n_missing).rev() {
            let begins = self.begins[above];
            let added = junction.parent[begins as usize];
            if from == NONE && added != top {
                from = self.table[self.entry(junction, added, top)];
            }
            let made = Made { from, bag: added, without: begins };
            from = self.make(network, (begins, top), made, self.entry(junction, begins, top))?;
        }
        Some(from)
    }

    fn make(
        &mut self,
        network: &Rerooted,
        ends: (u32, u32),
        made: Made,
        entry: usize,
    ) -> Option<u32> {
        let way = self.longer(network, ends, made);
        self.table[entry] = match way {
            Some(_) => self.ways.len() as u32,
            None => UNFIT,
        };
        self.ways.push(way?);
        Some(self.table[entry])
    }

    /// The way between two ends, made of a shorter one and a bag; `None` if that takes too many rows
    /// or too much cancels.
    fn longer(&mut self, network: &Rerooted, (bag, top): (u32, u32), made: Made) -> Option<Way> {
        let junction = &network.junction;
        let shorter = self.ways.get(made.from as usize).copied();
        let (near, far) = (junction.upper(bag as usize), junction.upper(top as usize));
        let n_near = near.partition_point(|&row| row <= top);
        let n_rows = n_near + far.len();
        let rows = near[..n_near].iter().chain(far).copied();
        let LaidOut { row: all, n_gone, added, shorter: shorter_at } =
            LaidOut::new(junction, made, shorter.as_ref(), rows)?;
        let t = n_gone + n_rows;
        let [beside, sum] = &mut *self.work;
        let mut sum = sum.bag(t);
        sum.clear();
        let mut beside = beside.bag(junction.rows(made.bag as usize));
        network.copy_except(&mut beside, made.without as usize);
        sum.spread(&beside.kept(), 0, &added);
        if let Some(way) = &shorter {
            let (numbers, first) = way.numbers(&self.numbers);
            sum.spread(&numbers, first, &shorter_at);
        }
        let mut cancellation = shorter.map_or(1.0, |way| way.cancellation);
        let at = self.numbers.len() as u32;
        let mut impedance = [Complex::ZERO; BAG_MAX];
        for (e, impedance) in impedance[..n_gone].iter_mut().enumerate() {
            let pivot = sum.eliminate(e);
            *impedance = pivot.impedance;
            cancellation = worse(cancellation, pivot.cancellation);
        }
        if exceeds(cancellation, CANCELLATION_MAX) {
            return None;
        }
        for numbers in [&*sum.shunt, &*sum.current, &*sum.pair, &impedance[..n_gone]] {
            self.numbers.extend_from_slice(numbers);
        }
        let (mut place, mut row) = ([0; BAG_MAX], [0; BAG_MAX]);
        row[..n_rows].copy_from_slice(&all[n_gone..t]);
        for (place, known) in place.iter_mut().zip(near) {
            *place = place_of(&all[n_gone..t], *known)?;
        }
        Some(Way {
            bag,
            top,
            n_rows: n_rows as u8,
            n_near: n_near as u8,
            place,
            cancellation,
            row,
            n_gone: n_gone as u8,
            at,
            made,
        })
    }

    /// Fills the rows of a way with what lies on it.
    pub(super) fn copy(&self, way: &Way, into: &mut Bag<'_>) {
        let (from, first) = way.numbers(&self.numbers);
        into.shunt.copy_from_slice(&from.shunt[first..]);
        into.current.copy_from_slice(&from.current[first..]);
        into.pair.copy_from_slice(&from.pair[row(from.shunt.len(), first)..]);
    }

    /// What the row at a place left as it went.
    pub(super) fn gone(&self, way: &Way, e: usize) -> Gone<'_> {
        let (from, _) = way.numbers(&self.numbers);
        let t = from.shunt.len();
        let impedance = self.numbers[way.at as usize + 2 * t + pairs(t) + e];
        Gone::of(from.shunt, from.current, from.pair, (e, impedance))
    }
}

impl Way {
    /// The bag whose own each row is.
    pub(super) fn rows(&self) -> &[u32] {
        &self.row[..usize::from(self.n_rows)]
    }

    /// Its numbers, and how many rows of them have gone.
    fn numbers<'w>(&self, numbers: &'w [Complex<f64>]) -> (KeptRows<'w>, usize) {
        let n_gone = usize::from(self.n_gone);
        let t = usize::from(self.n_rows) + n_gone;
        let (shunt, rest) = numbers[self.at as usize..].split_at(t);
        let (current, rest) = rest.split_at(t);
        (KeptRows { shunt, current, pair: &rest[..pairs(t)] }, n_gone)
    }
}

/// Rows while a way is made: those that go, ascending, then those that stay.
pub(super) struct LaidOut {
    row: [u32; BAG_MAX],
    n_gone: usize,
    /// Place of each row of the bag added.
    pub(super) added: [u8; BAG_MAX],
    /// Place of each row of the shorter way.
    pub(super) shorter: [u8; BAG_MAX],
}

impl LaidOut {
    /// `None` if they are too many.
    pub(super) fn new(
        junction: &Junction,
        made: Made,
        shorter: Option<&Way>,
        stay: impl Iterator<Item = u32> + Clone,
    ) -> Option<Self> {
        let upper = junction.upper(made.bag as usize).iter().copied();
        let added = std::iter::once(made.bag).chain(upper);
        let of_shorter = shorter.map_or(&[][..], Way::rows).iter().copied();
        let (mut row, mut n) = ([0; BAG_MAX], 0);
        for going in added.clone().chain(of_shorter.clone()) {
            let known = row[..n].contains(&going);
            if !known && !stay.clone().any(|row| row == going) {
                *row.get_mut(n)? = going;
                n += 1;
            }
        }
        row[..n].sort_unstable();
        let n_gone = n;
        for staying in stay {
            *row.get_mut(n)? = staying;
            n += 1;
        }
        let [mut added_at, mut shorter_at] = [[0; BAG_MAX]; 2];
        for (place, known) in added_at.iter_mut().zip(added) {
            *place = place_of(&row[..n], known)?;
        }
        for (place, known) in shorter_at.iter_mut().zip(of_shorter) {
            *place = place_of(&row[..n], known)?;
        }
        Some(Self { row, n_gone, added: added_at, shorter: shorter_at })
    }
}

fn place_of(rows: &[u32], row: u32) -> Option<u8> {
    rows.iter().position(|&known| known == row).map(|place| place as u8)
}

/// Rows of numbers to read.
struct KeptRows<'w> {
    shunt: &'w [Complex<f64>],
    current: &'w [Complex<f64>],
    pair: &'w [Complex<f64>],
}

impl Bag<'_> {
    fn kept(&self) -> KeptRows<'_> {
        KeptRows { shunt: self.shunt, current: self.current, pair: self.pair }
    }

    /// Adds the rows from `first` on of another, each at a place of its own.
    fn spread(&mut self, from: &KeptRows<'_>, first: usize, places: &[u8; BAG_MAX]) {
        let (t, t_from) = (self.shunt.len(), from.shunt.len());
        for (i, &at) in (first..t_from).zip(places) {
            let at = usize::from(at);
            self.shunt[at] += from.shunt[i];
            self.current[at] += from.current[i];
            for (j, &other) in (i + 1..t_from).zip(&places[i + 1 - first..]) {
                let other = usize::from(other);
                let own = pair(t, at.min(other), at.max(other));
                self.pair[own] += from.pair[pair(t_from, i, j)];
            }
        }
    }

    /// Adds what is left of a bag at the near end of a way.
    pub(super) fn add_near(&mut self, junction: &Junction, from: &Numbers, way: &Way) {
        let (t, bag) = (self.shunt.len(), way.bag as usize);
        let n_cut = junction.positions(bag).len();
        let node = junction.nodes(bag).start + 1;
        let mut next = junction.pairs(bag).start + n_cut;
        for i in 0..n_cut {
            let at = usize::from(way.place[i]);
            self.shunt[at] += from.shunt[node + i];
            self.current[at] += from.current[node + i];
            let own = row(t, at);
            for later in &way.place[i + 1..n_cut] {
                self.pair[own + usize::from(*later) - at - 1] += from.pair[next];
                next += 1;
            }
        }
    }
}
