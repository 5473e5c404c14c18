//! Changes far from each other, each made once: the network on either side of a cut between them
//! is kept reduced to the rows of the cut, with the change on it.
//!
//! Of thousands of pairs a few hundred changes are made, and each pair is then two sides that meet
//! in the handful of rows of one cut between two [`Rooms`]. A side is made once a change was asked
//! for so often that it pays, from that of the cut before it; the ports on it are looked at when
//! they are first read.

use nalgebra::Complex;

use super::asked::{Asked, KNOWN, Known};
use super::bag::{BAG_MAX, Bag, pairs};
use super::columns::{Column, Columns, LANES};
use super::junction::{Junction, NONE};
use super::rerooted::{Branching, Rerooted, Scratch, exceeds, worse};
use super::rooms::Rooms;
use super::rows::{CutView, Rows};
use super::side::{Face, Maker};
use super::views::Views;
use super::walk::Sight;
use super::ways::{CANCELLATION_MAX, KEPT_MAX, PORT_USUAL, UNFIT};

/// How often changes are asked for before a side is made with them, and before each further one:
/// making one costs about as much as that many walks.
const PAYS_AFTER: u32 = 3;

/// Sides for which there is room from the beginning.
const SIDES: usize = 256;

/// Sides with all their ports that there must be room for.
const SIDES_LEAST: usize = 64;

/// Numbers of one side with four rows.
const NUMBERS_USUAL: usize = 2 * 4 + pairs(4);

/// Changes put at once, and rooms they are in, at most.
const CHANGES_MAX: usize = 24;
const ROOMS_CHANGED_MAX: usize = 4;

/// One side of a cut, with changes on it.
#[derive(Clone, Copy, Debug)]
struct Side {
    known: u32,
    cut: u16,
    /// Where its numbers start.
    at: u32,
    cancellation: f64,
}

/// Ports of one set on the sides that are kept.
#[derive(Clone, Debug)]
struct SideViews {
    /// By side, if it was looked at.
    column: Vec<Option<Column>>,
    columns: Columns,
}

impl SideViews {
    fn new(n_ports: usize) -> Self {
        // Half of the ports are on a side, and those of one conductor share a block.
        let n_blocks = (SIDES * n_ports.div_ceil(LANES)).min(KEPT_MAX / PORT_USUAL / LANES);
        Self {
            column: Vec::with_capacity(SIDES),
            columns: Columns::with_room(n_blocks, PORT_USUAL),
        }
    }
}

/// How changes are answered.
pub(super) enum Answer {
    /// By two sides that meet, with the largest cancellation met.
    Met { cancellation: f64 },
    /// By a room between sides, which is yet to be solved.
    Room { cancellation: f64 },
}

/// All sides that were worth it.
#[derive(Clone, Debug)]
pub(super) struct Sides {
    rooms: Rooms,
    asked: Asked,
    /// As [`PAYS_AFTER`] and [`KEPT_MAX`].
    pays_after: u32,
    pub(super) kept_max: usize,
    /// Whether there is more than one room, and place for the ports on some dozens of sides.
    is_on: bool,
    /// By changes known and cut; [`NONE`] that is not made.
    table: Vec<u32>,
    /// Sides made, by changes known.
    n_sides: Vec<u32>,
    sides: Vec<Side>,
    numbers: Vec<Complex<f64>>,
    views: Vec<SideViews>,
    maker: Box<Maker>,
    missing: Vec<u16>,
    /// The changes put last.
    last: [u32; 2],
    /// The two that meet, if what was put last was answered so.
    met: Option<[u32; 2]>,
    /// If it was answered by a room: the changes there, and the sides around it.
    in_room: Vec<Branching>,
    around_room: Vec<(Face, u32)>,
    is_full: bool,
    sum: Box<Scratch>,
    rows: Rows,
}

impl Sides {
    /// For sets of so many ports each.
    pub(super) fn new(junction: &Junction, n_ports: impl Iterator<Item = usize> + Clone) -> Self {
        let rooms = Rooms::new(junction);
        let n_most = n_ports.clone().max().unwrap_or(0);
        let is_on = rooms.len() > 1 && n_most <= KEPT_MAX / PORT_USUAL / SIDES_LEAST;
        let room_for = move |n_ports| if is_on { n_ports } else { 0 };
        Self {
            asked: Asked::new(junction.len(), PAYS_AFTER),
            pays_after: PAYS_AFTER,
            kept_max: KEPT_MAX,
            is_on,
            table: Vec::with_capacity(KNOWN * rooms.len()),
            n_sides: Vec::with_capacity(KNOWN),
            sides: Vec::with_capacity(SIDES),
            numbers: Vec::with_capacity(SIDES * NUMBERS_USUAL),
            views: n_ports.map(|n| SideViews::new(room_for(n))).collect(),
            maker: Box::new(Maker::new(junction, room_for(n_most))),
            missing: Vec::with_capacity(16),
            last: [NONE; 2],
            met: None,
            in_room: Vec::with_capacity(CHANGES_MAX),
            around_room: Vec::with_capacity(ROOMS_CHANGED_MAX),
            is_full: false,
            sum: Box::default(),
            rows: Rows::zero(BAG_MAX, pairs(BAG_MAX)),
            rooms,
        }
    }

    /// Sides pay after so many askings.
    #[cfg(test)]
    pub(super) fn pay_after(&mut self, n_asked: u32) {
        self.pays_after = n_asked;
        self.asked.known_after = n_asked;
    }

    /// Numbers kept, and what else takes as much room.
    fn kept(&self) -> usize {
        const NUMBER: usize = size_of::<Complex<f64>>();
        let others = size_of::<Side>() * self.sides.len()
            + size_of::<Known>() * self.asked.known.len()
            + size_of::<u32>() * self.table.len();
        self.numbers.len() + others / NUMBER
    }

    /// Forgets all sides if they have become too many.
    fn make_room(&mut self) {
        if !self.is_full && !self.asked.is_full() && self.kept() <= self.kept_max {
            return;
        }
        self.is_full = false;
        self.asked.forget();
        self.table.clear();
        self.n_sides.clear();
        self.sides.clear();
        self.numbers.clear();
        self.last = [NONE; 2];
        for views in &mut self.views {
            views.column.clear();
            views.columns.clear();
        }
    }

    /// Says how these changes are answered by sides that are kept, or that are worth keeping; `None`
    /// if they are not.
    pub(super) fn go(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        with_impedances: bool,
        view: &mut CutView,
    ) -> Option<Answer> {
        self.met = None;
        self.in_room.clear();
        self.around_room.clear();
        if !self.is_on || changes.len() < 2 || changes.len() > CHANGES_MAX {
            return None;
        }
        let mut conditions = [(0, NONE); ROOMS_CHANGED_MAX];
        let mut n = 0;
        for change in changes {
            let room = self.rooms.of(change.bag);
            if conditions[..n].iter().all(|&(met, _)| met != room) {
                *conditions.get_mut(n)? = (room, NONE);
                n += 1;
            }
        }
        let conditions = &mut conditions[..n];
        if n < 2 {
            return None;
        }
        self.make_room();
        for (room, known) in conditions.iter_mut() {
            let of_room = changes.iter().filter(|change| self.rooms.of(change.bag) == *room);
            *known = self.asked.ask(*room, of_room);
        }
        let n_known = self.asked.known.len();
        self.table.resize(n_known * self.rooms.len(), NONE);
        self.n_sides.resize(n_known, 0);
        let junction = &network.junction;
        if let [(one, a), (other, b)] = *conditions
            && a != NONE
            && b != NONE
        {
            let cut = self.cut_between(junction, [one, other], [a, b])?;
            let sides = [self.side(network, a, cut)?, self.side(network, b, cut)?];
            let cancellation = self.meet(junction, cut, sides, with_impedances, view)?;
            return Some(Answer::Met { cancellation });
        }
        self.last = [NONE; 2];
        let room = self.middle(conditions)?;
        let of_others = || conditions.iter().filter(|&&(of, _)| of != room);
        if of_others().any(|&(of, known)| !self.pays(junction, known, self.rooms.towards(room, of)))
        {
            return None;
        }
        let mut cancellation = 1.0;
        for &(of, known) in of_others() {
            let cut = self.rooms.towards(room, of);
            let Some(side) = self.side(network, known, cut) else {
                self.around_room.clear();
                return None;
            };
            cancellation = worse(cancellation, self.sides[side as usize].cancellation);
            self.around_room.push((self.face(junction, of, cut), side));
        }
        let of_room = changes.iter().filter(|change| self.rooms.of(change.bag) == room);
        self.in_room.extend(of_room);
        Some(Answer::Room { cancellation })
    }

    /// The cut where changes of two rooms meet; `None` if it does not pay to make the sides.
    fn cut_between(
        &mut self,
        junction: &Junction,
        [one, other]: [u16; 2],
        known: [u32; 2],
    ) -> Option<u16> {
        // Either beside the one room or beside the other.
        let cuts = [self.rooms.towards(one, other), self.rooms.towards(other, one)];
        let n_missing = |known: u32, cut: u16| self.n_missing(junction, known, cut);
        let missing = cuts.map(|cut| Some(n_missing(known[0], cut)? + n_missing(known[1], cut)?));
        let is_held = known.map(|known| self.last.contains(&known));
        self.last = known;
        let nth = match missing {
            [Some(0), _] => 0,
            [_, Some(0)] => 1,
            // What many sets have in common is the one that is carried far.
            _ if is_held[0] != is_held[1] => usize::from(is_held[0]),
            [Some(a), Some(b)] => usize::from(b < a),
            [a, _] => usize::from(a.is_none()),
        };
        let pays = |cut: &u16| known.iter().all(|&known| self.pays(junction, known, *cut));
        [cuts[nth], cuts[1 - nth]].into_iter().find(pays)
    }

    /// Whether a side is kept, or was earned.
    fn pays(&self, junction: &Junction, known: u32, cut: u16) -> bool {
        let Some(n_missing) = self.n_missing(junction, known, cut) else { return false };
        let n_sides = self.n_sides[known as usize] + n_missing;
        let n_asked = self.asked.known[known as usize].n_asked;
        n_missing == 0 || n_sides.saturating_mul(self.pays_after) <= n_asked
    }

    /// The room from which all the others are beyond cuts of their own; the one whose changes are
    /// not known, if there is one.
    fn middle(&self, conditions: &[(u16, u32)]) -> Option<u16> {
        let cuts_are_own = |room: u16| {
            let others = || conditions.iter().map(|&(of, _)| of).filter(|&of| of != room);
            let cuts = || others().map(|of| self.rooms.towards(room, of));
            cuts().enumerate().all(|(at, cut)| cuts().skip(at + 1).all(|other| other != cut))
        };
        let mut unknown = conditions.iter().filter(|&&(_, known)| known == NONE);
        if let Some(&(room, _)) = unknown.next() {
            return (unknown.next().is_none() && cuts_are_own(room)).then_some(room);
        }
        let (mut room, last) = (conditions.first()?.0, conditions.last()?.0);
        while room != last && !cuts_are_own(room) {
            room = self.rooms.next(room, last);
        }
        (room != last || cuts_are_own(room)).then_some(room)
    }

    /// What a room's answer is made of: its own changes.
    pub(super) fn in_room(&self) -> &[Branching] {
        &self.in_room
    }

    /// The sides beyond the cuts of that room.
    pub(super) fn around_room(&self) -> &[(Face, u32)] {
        &self.around_room
    }

    /// Puts what a side was reduced to on the rows of its cut.
    pub(super) fn put(&self, side: u32, into: Bag<'_>) {
        let mut kept = self.numbers[self.sides[side as usize].at as usize..].iter();
        for into in [into.shunt, into.current, into.pair] {
            into.iter_mut().zip(kept.by_ref()).for_each(|(into, kept)| *into = *kept);
        }
    }

    fn entry(&self, known: u32, cut: u16) -> usize {
        known as usize * self.rooms.len() + usize::from(cut)
    }

    /// A cut, and those before it on the way from changes known, as far as `lacks` says so of the
    /// entry of each.
    fn lacking(
        &self,
        junction: &Junction,
        (known, cut): (u32, u16),
        lacks: impl Fn(u32) -> bool,
    ) -> impl Iterator<Item = u16> {
        let room = self.asked.known[known as usize].room;
        let back =
            std::iter::successors(Some(cut), move |&cut| self.rooms.before(junction, room, cut));
        back.take_while(move |&cut| lacks(self.table[self.entry(known, cut)]))
    }

    /// How many sides are to be made for one; `None` if too much cancels on the way.
    fn n_missing(&self, junction: &Junction, known: u32, cut: u16) -> Option<u32> {
        let (mut n, mut at) = (0, Some(cut));
        while let Some(cut) = at {
            match self.table[self.entry(known, cut)] {
                NONE => n += 1,
                UNFIT => return None,
                _ => break,
            }
            at = self.rooms.before(junction, self.asked.known[known as usize].room, cut);
        }
        Some(n)
    }

    /// A side of a cut, made if need be; `None` if too much cancels.
    fn side(&mut self, network: &Rerooted, known: u32, cut: u16) -> Option<u32> {
        let mut missing = std::mem::take(&mut self.missing);
        missing.clear();
        missing.extend(self.lacking(&network.junction, (known, cut), |side| side == NONE));
        while let Some(cut) = missing.pop() {
            let (face, cancellation) = self.make(network, (known, cut), None);
            let entry = self.entry(known, cut);
            self.n_sides[known as usize] += 1;
            if exceeds(cancellation, CANCELLATION_MAX) {
                self.table[entry] = UNFIT;
                break;
            }
            let at = self.numbers.len() as u32;
            let made = self.maker.made(&network.junction, face);
            for numbers in [&*made.shunt, made.current, made.pair] {
                self.numbers.extend_from_slice(numbers);
            }
            self.table[entry] = self.sides.len() as u32;
            self.sides.push(Side { known, cut, at, cancellation });
        }
        self.missing = missing;
        Some(self.table[self.entry(known, cut)]).filter(|&side| side < UNFIT)
    }

    fn face(&self, junction: &Junction, room: u16, cut: u16) -> Face {
        let bag = self.rooms.top[usize::from(cut)];
        Face { bag, inside: self.rooms.is_inside(junction, room, cut) }
    }

    /// Makes a side from that of the cut before, which is kept.
    fn make(
        &mut self,
        network: &Rerooted,
        (known, cut): (u32, u16),
        of: Option<(usize, &Views)>,
    ) -> (Face, f64) {
        let junction = &network.junction;
        let changes = &self.asked.known[known as usize];
        let room = changes.room;
        let face = self.face(junction, room, cut);
        let views = of.map(|(_, views)| views);
        self.maker.begin();
        let Some(before) = self.rooms.before(junction, room, cut) else {
            return (face, self.maker.make(network, changes.changes(), face, views));
        };
        let from = self.face(junction, room, before);
        let at = self.table[self.entry(known, before)];
        let rows = junction.rows(from.bag as usize) - 1;
        let side = self.sides[at as usize];
        let (maker, kept) = (&mut self.maker, &self.numbers[side.at as usize..]);
        maker.start_from(junction, from, rows, kept);
        if let Some((set, _)) = of
            && let SideViews { column, columns } = &self.views[set]
            && let Some(column) = column.get(at as usize).copied().flatten()
        {
            maker.carry_on(from, columns, &column);
        }
        (face, worse(side.cancellation, maker.make(network, &[], face, views)))
    }

    /// Solves the rows of a cut from both sides; `None` if too much cancels.
    fn meet(
        &mut self,
        junction: &Junction,
        cut: u16,
        sides: [u32; 2],
        with_impedances: bool,
        view: &mut CutView,
    ) -> Option<f64> {
        let n = junction.rows(self.rooms.top[usize::from(cut)] as usize) - 1;
        let mut sum = self.sum.bag(n);
        let [one, other] = sides.map(|side| self.sides[side as usize]);
        let [a, b] = [one, other].map(|side| &self.numbers[side.at as usize..]);
        let mut place = 0;
        for into in [&mut *sum.shunt, &mut *sum.current, &mut *sum.pair] {
            for into in into {
                *into = a[place] + b[place];
                place += 1;
            }
        }
        let met = self.rows.solve(&mut sum, (0..n, 0..pairs(n)), with_impedances);
        let cancellation = worse(met, worse(one.cancellation, other.cancellation));
        if exceeds(cancellation, CANCELLATION_MAX) {
            return None;
        }
        view.set(self.rows.solved(0..n, 0..pairs(n)), (0..n).map(|row| row as u8));
        self.met = Some(sides);
        Some(cancellation)
    }

    /// The sides that meet, if what was put last was answered so.
    pub(super) fn met(&self) -> Option<[u32; 2]> {
        self.met
    }

    /// What every port of a set on a side shows, the rows of its cut having been solved.
    pub(super) fn read(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        side: u32,
        (rows, with_impedances): (&CutView, bool),
        shown: &mut [Sight],
    ) {
        self.look(network, (set, views), side);
        let SideViews { column, columns } = &self.views[set];
        if let Some(column) = column.get(side as usize).copied().flatten() {
            rows.read(columns, &column, with_impedances, shown);
        }
        self.is_full |= self.views[set].columns.len() > self.kept_max;
    }

    /// Makes the views of a side, and of those that it is made of.
    fn look(&mut self, network: &Rerooted, (set, views): (usize, &Views), side: u32) {
        let junction = &network.junction;
        let of_set = &mut self.views[set];
        if of_set.column.get(side as usize).is_some_and(Option::is_some) {
            return;
        }
        of_set.column.resize(self.sides.len().max(of_set.column.len()), None);
        let Side { known, cut, .. } = self.sides[side as usize];
        let mut missing = std::mem::take(&mut self.missing);
        missing.clear();
        let column = &self.views[set].column;
        let lacks = |side: u32| column[side as usize].is_none();
        missing.extend(self.lacking(junction, (known, cut), lacks));
        while let Some(cut) = missing.pop() {
            let (face, _) = self.make(network, (known, cut), Some((set, views)));
            let side = self.table[self.entry(known, cut)];
            let SideViews { column, columns } = &mut self.views[set];
            column[side as usize] = self.maker.keep(face, columns);
        }
        self.missing = missing;
    }
}
