//! Changes far from each other, each made once: the network on either side of a cut between them
//! is kept reduced to the rows of the cut, with the change on it.
//!
//! Of thousands of pairs a few hundred changes are made, and each pair is then two sides that meet
//! in the handful of rows of one cut between two [`Rooms`]. A side is made once a change was asked
//! for so often that it pays, from that of the cut before it; the ports on it are looked at when
//! they are first read.

#[cfg(test)]
use std::collections::HashSet;

use nalgebra::Complex;

use super::asked::{Asked, Company, KNOWN, ROOMS_CHANGED_MAX};
use super::bag::{BAG_MAX, Bag, pairs};
use super::columns::{Column, Columns, LANES};
use super::junction::{Junction, NONE};
use super::partings::Partings;
use super::rerooted::{Branching, Rerooted, Scratch, exceeds, worse};
use super::rooms::Rooms;
use super::rows::{CutView, Rows};
use super::side::{Face, Maker};
use super::views::Views;
use super::walk::Sight;
use super::ways::{CANCELLATION_MAX, KEPT_MAX, PORT_USUAL, UNFIT};

/// How often changes are asked for before a side is made with them, and before each further one:
/// making one costs about as much as that many walks.
const PAYS_AFTER: u32 = 5;

/// Sides for which there is room from the beginning.
const SIDES: usize = 256;

/// Sides with all their ports that there must be room for.
const SIDES_LEAST: usize = 64;

/// Numbers of one side with four rows.
const NUMBERS_USUAL: usize = 2 * 4 + pairs(4);

/// Changes put at once at most.
const CHANGES_MAX: usize = 24;

/// One side of a cut, with changes on it.
#[derive(Clone, Copy, Debug)]
struct Side {
    face: Face,
    /// Where its numbers start.
    at: u32,
    cancellation: f64,
    of: MadeOf,
}

/// What a side was made of: changes in the room beside its cut, [`NONE`] for no change, and sides of
/// the other cuts of that room.
#[derive(Clone, Copy, Debug)]
struct MadeOf {
    in_room: u32,
    sides: [u32; ROOMS_CHANGED_MAX],
    n: usize,
}

impl MadeOf {
    fn sides(&self) -> &[u32] {
        &self.sides[..self.n]
    }
}

/// The same before those sides are made.
struct Parts {
    in_room: u32,
    beyond: [(u16, Company); ROOMS_CHANGED_MAX],
    n: usize,
}

impl Parts {
    fn beyond(&self) -> &[(u16, Company)] {
        &self.beyond[..self.n]
    }
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
    partings: Partings,
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
            partings: Partings::default(),
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

    /// In how many rooms these changes are.
    #[cfg(test)]
    pub(super) fn n_rooms(&self, changes: &[Branching]) -> usize {
        changes.iter().map(|change| self.rooms.of(change.bag)).collect::<HashSet<_>>().len()
    }

    /// Numbers kept, and what else takes as much room.
    fn kept(&self) -> usize {
        const NUMBER: usize = size_of::<Complex<f64>>();
        let others = size_of::<Side>() * self.sides.len()
            + self.asked.bytes()
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
        self.has_room_for_known();
        let junction = &network.junction;
        let parted = match *conditions {
            [(one, a), (other, b)] if a != NONE && b != NONE => {
                Some(self.cut_between(junction, [one, other], [a, b])?)
            }
            _ => {
                self.last = [NONE; 2];
                let are_known = conditions.iter().all(|&(_, known)| known != NONE);
                are_known.then(|| self.cut_among(junction, conditions)).flatten()
            }
        };
        if let Some((cut, known)) = parted {
            let sides = [self.side(network, known[0], cut)?, self.side(network, known[1], cut)?];
            let cancellation = self.meet(junction, cut, sides, with_impedances, view)?;
            return Some(Answer::Met { cancellation });
        }
        let room = self.middle(conditions)?;
        let cancellation = self.surround(network, room, conditions)?;
        let of_room = changes.iter().filter(|change| self.rooms.of(change.bag) == room);
        self.in_room.extend(of_room);
        Some(Answer::Room { cancellation })
    }

    /// The cut where changes of two rooms meet, and what does; `None` if it does not pay to make the
    /// sides.
    fn cut_between(
        &mut self,
        junction: &Junction,
        [one, other]: [u16; 2],
        known: [u32; 2],
    ) -> Option<(u16, [u32; 2])> {
        // Either beside the one room or beside the other.
        let cuts = [self.rooms.towards(one, other), self.rooms.towards(other, one)];
        let n_missing = |known: u32, cut: u16| self.n_missing(junction, &Company::one(known), cut);
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
        [cuts[nth], cuts[1 - nth]].into_iter().find(pays).map(|cut| (cut, known))
    }

    /// The same for changes of more rooms, all known: those on either side of the cut together. Of
    /// cuts whose sides are yet to be made, the one whose companies were met most often.
    fn cut_among(
        &mut self,
        junction: &Junction,
        conditions: &[(u16, u32)],
    ) -> Option<(u16, [u32; 2])> {
        self.partings.of(&self.rooms, junction, conditions.iter().map(|&(room, _)| room));
        let (mut best, mut most) = (None, 0);
        for at in 0..self.partings.len() {
            let (cut, inside) = self.partings.get(at);
            let mut companies = [Company::default(); 2];
            for (nth, &(_, known)) in conditions.iter().enumerate() {
                companies[usize::from(inside >> nth & 1)].join(known);
            }
            let known = companies.map(|company| match company.members() {
                [one] => *one,
                _ => self.asked.ask_together(&company),
            });
            if known.contains(&NONE) {
                continue;
            }
            self.has_room_for_known();
            if known.iter().all(|&known| self.table[self.entry(known, cut)] < UNFIT) {
                return Some((cut, known));
            }
            let n_asked = known.map(|known| self.asked.n_asked(known));
            let n = n_asked[0].min(n_asked[1]);
            if n > most && known.iter().all(|&known| self.pays(junction, known, cut)) {
                (best, most) = (Some((cut, known)), n);
            }
        }
        best
    }

    /// Whether a side is kept, or was earned.
    fn pays(&self, junction: &Junction, known: u32, cut: u16) -> bool {
        let company = self.asked.company(known);
        let Some(n_missing) = self.n_missing(junction, &company, cut) else { return false };
        let n_sides = self.n_sides[known as usize] + n_missing;
        n_missing == 0 || n_sides.saturating_mul(self.pays_after) <= self.asked.n_asked(known)
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
            return unknown.next().is_none().then_some(room);
        }
        let (mut room, last) = (conditions.first()?.0, conditions.last()?.0);
        while room != last && !cuts_are_own(room) {
            room = self.rooms.next(room, last);
        }
        (room != last || cuts_are_own(room)).then_some(room)
    }

    /// Makes sides of all that lies beyond the cuts of a room; `None` if that does not pay. Returns
    /// the largest cancellation met.
    fn surround(
        &mut self,
        network: &Rerooted,
        room: u16,
        conditions: &[(u16, u32)],
    ) -> Option<f64> {
        let junction = &network.junction;
        let mut beyond = [(0, Company::default()); ROOMS_CHANGED_MAX];
        let mut n = 0;
        for &(of, known) in conditions.iter().filter(|&&(of, _)| of != room) {
            let cut = self.rooms.towards(room, of);
            match beyond[..n].iter_mut().find(|(other, _)| *other == cut) {
                Some((_, company)) => company.join(known),
                None => {
                    beyond[n] = (cut, Company::one(known));
                    n += 1;
                }
            }
        }
        let mut cancellation = 1.0;
        for (cut, company) in &beyond[..n] {
            let side = self.side_of(network, company, *cut);
            let Some((known, side)) = side else {
                self.around_room.clear();
                return None;
            };
            cancellation = worse(cancellation, self.sides[side as usize].cancellation);
            self.around_room.push((self.face(junction, known, *cut), side));
        }
        Some(cancellation)
    }

    /// The side with these on it, if it pays.
    fn side_of(&mut self, network: &Rerooted, company: &Company, cut: u16) -> Option<(u32, u32)> {
        let known = match company.members() {
            [one] => *one,
            _ => self.asked.ask_together(company),
        };
        self.has_room_for_known();
        let pays = known != NONE && self.pays(&network.junction, known, cut);
        pays.then(|| Some((known, self.side(network, known, cut)?))).flatten()
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

    fn has_room_for_known(&mut self) {
        self.table.resize(self.asked.len() * self.rooms.len(), NONE);
        self.n_sides.resize(self.asked.len(), 0);
    }

    fn face(&self, junction: &Junction, known: u32, cut: u16) -> Face {
        let bag = self.rooms.top[usize::from(cut)];
        Face { bag, inside: self.rooms.is_inside(junction, self.asked.room(known), cut) }
    }

    /// What a side of a cut is made of: the changes in the room beside it, if there are any, and the
    /// sides beyond the other cuts of that room.
    fn parts(&self, junction: &Junction, company: &Company, cut: u16) -> Parts {
        let mut parts = Parts { in_room: NONE, beyond: Default::default(), n: 0 };
        let [first, ..] = company.members() else { return parts };
        let inside = self.rooms.is_inside(junction, self.asked.room(*first), cut);
        let beside = self.rooms.beside(cut, inside);
        for &known in company.members() {
            let room = self.asked.room(known);
            if room == beside {
                parts.in_room = known;
                continue;
            }
            let before = self.rooms.towards(beside, room);
            match parts.beyond[..parts.n].iter_mut().find(|(other, _)| *other == before) {
                Some((_, company)) => company.join(known),
                None => {
                    parts.beyond[parts.n] = (before, Company::one(known));
                    parts.n += 1;
                }
            }
        }
        parts
    }

    /// How many sides are to be made for one; `None` if too much cancels on the way.
    fn n_missing(&self, junction: &Junction, company: &Company, cut: u16) -> Option<u32> {
        let known = self.asked.find(company);
        if known != NONE {
            match self.table[self.entry(known, cut)] {
                NONE => {}
                UNFIT => return None,
                _ => return Some(0),
            }
        }
        let parts = self.parts(junction, company, cut);
        let of_parts =
            parts.beyond().iter().map(|(cut, company)| self.n_missing(junction, company, *cut));
        of_parts.sum::<Option<u32>>().map(|n| n + 1)
    }

    /// A side of a cut, made if need be; `None` if too much cancels.
    fn side(&mut self, network: &Rerooted, known: u32, cut: u16) -> Option<u32> {
        match self.table[self.entry(known, cut)] {
            NONE => {}
            side => return Some(side).filter(|&side| side < UNFIT),
        }
        let junction = &network.junction;
        let parts = self.parts(junction, &self.asked.company(known), cut);
        let mut made_of = [NONE; ROOMS_CHANGED_MAX];
        for (side, (cut, company)) in made_of.iter_mut().zip(parts.beyond()) {
            let known = self.asked.make_known(company);
            self.has_room_for_known();
            if known == NONE {
                return None;
            }
            *side = self.side(network, known, *cut)?;
        }
        let made_of = MadeOf { in_room: parts.in_room, sides: made_of, n: parts.n };
        self.n_sides[known as usize] += 1;
        let face = self.face(junction, known, cut);
        let cancellation = self.make(network, face, &made_of, None);
        let entry = self.entry(known, cut);
        if exceeds(cancellation, CANCELLATION_MAX) {
            self.table[entry] = UNFIT;
            return None;
        }
        let at = self.numbers.len() as u32;
        let made = self.maker.made(junction, face);
        for numbers in [&*made.shunt, made.current, made.pair] {
            self.numbers.extend_from_slice(numbers);
        }
        let side = self.sides.len() as u32;
        self.table[entry] = side;
        self.sides.push(Side { face, at, cancellation, of: made_of });
        Some(side)
    }

    /// Makes a side from those that it is made of, which are kept.
    fn make(
        &mut self,
        network: &Rerooted,
        face: Face,
        of: &MadeOf,
        views: Option<(usize, &Views)>,
    ) -> f64 {
        let junction = &network.junction;
        self.maker.begin();
        let mut cancellation = 1.0;
        for &at in of.sides() {
            let side = &self.sides[at as usize];
            let rows = junction.rows(side.face.bag as usize) - 1;
            let (maker, kept) = (&mut self.maker, &self.numbers[side.at as usize..]);
            maker.start_from(junction, side.face, rows, kept);
            if let Some((set, _)) = views
                && let SideViews { column, columns } = &self.views[set]
                && let Some(column) = column.get(at as usize).copied().flatten()
            {
                maker.carry_on(side.face, columns, &column);
            }
            cancellation = worse(cancellation, side.cancellation);
        }
        let changes = self.asked.changes(of.in_room);
        let views = views.map(|(_, views)| views);
        worse(cancellation, self.maker.make(network, changes, face, views))
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
    fn look(&mut self, network: &Rerooted, of: (usize, &Views), side: u32) {
        let (set, _) = of;
        let column = &mut self.views[set].column;
        if column.get(side as usize).is_some_and(Option::is_some) {
            return;
        }
        column.resize(self.sides.len().max(column.len()), None);
        let Side { face, of: made_of, .. } = self.sides[side as usize];
        made_of.sides().iter().for_each(|&side| self.look(network, of, side));
        self.make(network, face, &made_of, Some(of));
        let SideViews { column, columns } = &mut self.views[set];
        column[side as usize] = self.maker.keep(face, columns);
    }
}
