//! Changes far from each other, each made once: the network on either side of a cut between them
//! is kept reduced to the rows of the cut, with the changes on it.
//!
//! Of thousands of pairs a few hundred changes are made, and each pair is then two sides that meet
//! in the handful of rows of one cut between two [`Rooms`]; of three or more, those on either side
//! of a cut are kept together. A side is made once its changes were asked for so often that it
//! pays, from the sides of the room beside its cut; the ports on it are looked at when they are
//! first read.

use std::collections::HashMap;
#[cfg(test)]
use std::collections::HashSet;

use nalgebra::Complex;

use super::abreast::Abreast;
use super::asked::{Asked, Company, KNOWN, ROOMS_CHANGED_MAX};
use super::bag::{BAG_MAX, Bag, pairs};
use super::columns::{Column, Columns};
use super::junction::{Junction, NONE};
use super::lanes::{LANES, Wide};
use super::partings::Partings;
use super::rerooted::{Branching, Rerooted, Scratch, exceeds, worse};
use super::rooms::Rooms;
use super::rows::{CutView, Rows};
use super::side::{Face, Maker};
use super::triples::{Triple, Triples};
use super::views::Views;
use super::walk::{Shows, Sight};
use super::ways::{CANCELLATION_MAX, KEPT_MAX, PORT_USUAL};
use making::Side;

mod making;
mod meeting;

/// How often changes are asked for before a side is made with them, and before each further one:
/// making one costs about as much as that many walks.
const PAYS_AFTER: u32 = 5;

/// Sides for which there is room from the beginning.
const SIDES: usize = 256;

/// Sides with all their ports that there must be room for.
const SIDES_LEAST: usize = 64;

/// Numbers of one side with four rows.
const NUMBERS_USUAL: usize = 2 * 4 + pairs(4);

/// Changes put at once at most: a fault inside a cable, meshed onto what is there, is some sixty.
const CHANGES_MAX: usize = 192;

/// Ports of one set on one side.
#[derive(Clone, Copy, Debug)]
struct Looked {
    /// The side on which they are the same to the last bit, but for a few; itself if there is none.
    like: u32,
    /// Those few, or all.
    column: Column,
}

/// Ports of one set on the sides that are kept.
#[derive(Clone, Debug)]
struct SideViews {
    /// By side, if it was looked at.
    looked: Vec<Option<Looked>>,
    columns: Columns,
    /// By what a side was reduced to, the last that is like no other.
    by_numbers: HashMap<u64, u32>,
    /// By port, where it is in a column.
    places: Vec<(u32, u8)>,
    /// By side, its ports by three, if they were read so.
    triple: Vec<Option<Triple>>,
    triples: Triples,
}

impl SideViews {
    fn new(n_ports: usize) -> Self {
        // Half of the ports are on a side, and those of one conductor share a block.
        let n_blocks = (SIDES * n_ports.div_ceil(LANES)).min(KEPT_MAX / PORT_USUAL / LANES);
        Self {
            looked: Vec::with_capacity(SIDES),
            columns: Columns::with_room(n_blocks, PORT_USUAL),
            by_numbers: HashMap::with_capacity(SIDES),
            places: vec![(0, 0); n_ports],
            triple: Vec::new(),
            triples: Triples::default(),
        }
    }

    fn looked(&self, side: u32) -> Option<Looked> {
        self.looked.get(side as usize).copied().flatten()
    }

    /// All ports of a side, and those of them that are not as there.
    fn all(&self, side: u32) -> Option<(Column, Option<Column>)> {
        let looked = self.looked(side)?;
        match looked.like == side {
            true => Some((looked.column, None)),
            false => Some((self.looked(looked.like)?.column, Some(looked.column))),
        }
    }

    fn clear(&mut self) {
        self.looked.clear();
        self.columns.clear();
        self.by_numbers.clear();
        self.triple.clear();
        self.triples.clear();
    }

    /// Numbers kept.
    fn len(&self) -> usize {
        self.columns.len() + self.triples.len()
    }

    /// The ports of a side that is like no other by three.
    fn triple(&mut self, side: u32) -> Option<Triple> {
        let at = side as usize;
        if let Some(known) = self.triple.get(at).copied().flatten() {
            return Some(known);
        }
        let (all, _) = self.all(side)?;
        let triple = self.triples.keep(&mut self.columns, all);
        self.triple.resize(self.looked.len().max(at + 1), None);
        self.triple[at] = Some(triple);
        Some(triple)
    }
}

/// How changes are to be answered.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Found {
    /// By two sides that are yet to meet.
    Meeting(Meeting),
    /// By a room between sides, which is yet to be solved.
    Room { cancellation: f64 },
    /// By a walk.
    Nothing,
}

/// Two sides of one cut, of so many rows.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Meeting {
    pub(crate) n_rows: usize,
    pub(crate) sides: [u32; 2],
}

/// Changes of one room that are known, until all is forgotten.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known {
    room: u16,
    known: u32,
}

/// What the last sets had, most of which is in the next as well.
#[derive(Clone, Debug, Default)]
struct Lately {
    /// By place among the rooms, a change that was the only one there, and what it is known by.
    single: [Option<(Branching, u32)>; ROOMS_CHANGED_MAX],
    /// What was together on either side of a cut.
    together: [(Company, u32); 2],
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
    lately: Lately,
    /// The two that meet, if what was put last was answered so.
    met: Option<[u32; 2]>,
    /// The rooms changed last, and which of the changes known they were.
    conditions: [(u16, u32); ROOMS_CHANGED_MAX],
    n_conditions: usize,
    /// If it was answered by a room: the changes there, and the sides around it.
    in_room: Vec<Branching>,
    around_room: Vec<(Face, u32)>,
    is_full: bool,
    /// How often all was forgotten.
    forgotten: u32,
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
            partings: Partings::new(),
            asked: Asked::new(if is_on { junction.len() } else { 0 }, PAYS_AFTER),
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
            lately: Lately::default(),
            met: None,
            conditions: [(0, NONE); ROOMS_CHANGED_MAX],
            n_conditions: 0,
            in_room: Vec::with_capacity(CHANGES_MAX),
            around_room: Vec::with_capacity(ROOMS_CHANGED_MAX),
            is_full: false,
            forgotten: 0,
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

    /// Whether all sides are forgotten before anything else is found.
    pub(super) fn will_forget(&self) -> bool {
        self.is_full || self.asked.is_full() || self.kept() > self.kept_max
    }

    /// Forgets all sides if they have become too many.
    pub(super) fn make_room(&mut self) {
        if !self.will_forget() {
            return;
        }
        self.is_full = false;
        self.forgotten = self.forgotten.wrapping_add(1);
        self.asked.forget();
        self.table.clear();
        self.n_sides.clear();
        self.sides.clear();
        self.numbers.clear();
        self.last = [NONE; 2];
        self.lately = Lately::default();
        self.met = None;
        self.views.iter_mut().for_each(SideViews::clear);
    }

    /// How often all was forgotten, with what was said to come.
    pub(super) fn forgotten(&self) -> u32 {
        self.forgotten
    }

    /// Says that these changes will be asked for so often, in companies of their own. Returns what
    /// they are known by if they are of one room.
    pub(super) fn expect(&mut self, changes: &[Branching], n: u32) -> Option<Known> {
        if !self.is_on || n < self.pays_after {
            return None;
        }
        let (conditions, n_rooms) = self.rooms_of(changes)?;
        let mut company = Company::default();
        let mut all_known = true;
        for &(room, _) in &conditions[..n_rooms] {
            let of_room = changes.iter().filter(|change| self.rooms.of(change.bag) == room);
            let known = self.asked.expect(room, of_room, n);
            company.join(known);
            all_known &= known != NONE;
        }
        if n_rooms > 1 && all_known {
            self.asked.expect_together(&company, n);
        }
        self.make_room_for_known();
        match (conditions[..n_rooms].first(), company.members()) {
            (Some(&(room, _)), &[known]) if known != NONE => Some(Known { room, known }),
            _ => None,
        }
    }

    /// The rooms that these change, and how many; `None` if they are too many.
    fn rooms_of(&self, changes: &[Branching]) -> Option<([(u16, u32); ROOMS_CHANGED_MAX], usize)> {
        let mut conditions = [(0, NONE); ROOMS_CHANGED_MAX];
        let mut n = 0;
        for change in changes {
            let room = self.rooms.of(change.bag);
            if conditions[..n].iter().all(|&(met, _)| met != room) {
                *conditions.get_mut(n)? = (room, NONE);
                n += 1;
            }
        }
        Some((conditions, n))
    }

    /// Says how these changes are answered by sides that are kept, or that are worth keeping.
    pub(super) fn find(&mut self, network: &Rerooted, changes: &[Branching]) -> Found {
        self.met = None;
        self.in_room.clear();
        self.around_room.clear();
        self.n_conditions = 0;
        if !self.is_on || changes.len() < 2 || changes.len() > CHANGES_MAX {
            return Found::Nothing;
        }
        let Some((mut conditions, n)) = self.rooms_of(changes).filter(|&(_, n)| n > 1) else {
            return Found::Nothing;
        };
        self.make_room();
        let are_single = changes.len() == n;
        for (at, (room, known)) in conditions[..n].iter_mut().enumerate() {
            if are_single {
                *known = self.ask_single(*room, at, &changes[at]);
            } else {
                let of_room = changes.iter().filter(|change| self.rooms.of(change.bag) == *room);
                *known = self.asked.ask(*room, of_room);
            }
        }
        self.make_room_for_known();
        (self.conditions, self.n_conditions) = (conditions, n);
        let junction = &network.junction;
        let parted = match conditions[..n] {
            [(one, a), (other, b)] if a != NONE && b != NONE => {
                let cut = self.cut_between(junction, [one, other], [a, b]);
                if cut.is_none() {
                    return Found::Nothing;
                }
                cut
            }
            _ => {
                self.last = [NONE; 2];
                let are_known = conditions[..n].iter().all(|&(_, known)| known != NONE);
                are_known.then(|| self.cut_among(junction, &conditions[..n])).flatten()
            }
        };
        if let Some((cut, [one, other])) = parted
            && let Some(one) = self.side(network, (one, cut), None)
            && let Some(other) = self.side(network, (other, cut), None)
        {
            let n_rows = junction.rows(self.rooms.top[usize::from(cut)] as usize) - 1;
            return Found::Meeting(Meeting { n_rows, sides: [one, other] });
        }
        self.find_room(network, changes)
    }

    /// Counts that a change that is the only one of its room was asked for, mostly as in the set
    /// before, and returns what it is known by.
    fn ask_single(&mut self, room: u16, at: usize, change: &Branching) -> u32 {
        match &mut self.lately.single[at] {
            Some((same, known)) if same == change => {
                self.asked.ask_again(*known);
                *known
            }
            other => {
                let known = self.asked.ask(room, std::iter::once(change));
                *other = Some((*change, known)).filter(|_| known != NONE);
                known
            }
        }
    }

    /// The same if no two sides can meet, of the changes found last.
    pub(super) fn find_room(&mut self, network: &Rerooted, changes: &[Branching]) -> Found {
        let all = self.conditions;
        let conditions = &all[..self.n_conditions];
        let Some(room) = self.middle(conditions) else { return Found::Nothing };
        let Some(cancellation) = self.surround(network, room, conditions) else {
            return Found::Nothing;
        };
        let of_room = changes.iter().filter(|change| self.rooms.of(change.bag) == room);
        self.in_room.extend(of_room);
        Found::Room { cancellation }
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

    /// Solves the rows of a cut from both sides; `None` if too much cancels.
    pub(super) fn meet(
        &mut self,
        meeting: Meeting,
        with_impedances: bool,
        view: &mut CutView,
    ) -> Option<f64> {
        let n = meeting.n_rows;
        let mut sum = self.sum.bag(n);
        let [one, other] = meeting.sides.map(|side| self.sides[side as usize]);
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
        self.met = Some(meeting.sides);
        Some(cancellation)
    }

    /// The same of several meetings in as many rows, side by side; whether it could be done.
    pub(super) fn meet_abreast(
        &self,
        meetings: &[Meeting],
        with_impedances: bool,
        abreast: &mut Abreast,
    ) -> bool {
        let Some(&Meeting { n_rows, .. }) = meetings.first() else { return false };
        let mut cancellation = 1.0;
        let sides = std::array::from_fn(|lane| {
            let meeting = meetings.get(lane).unwrap_or(&meetings[0]);
            meeting.sides.map(|side| {
                let side = &self.sides[side as usize];
                cancellation = worse(cancellation, side.cancellation);
                &self.numbers[side.at as usize..]
            })
        });
        abreast.put(n_rows, sides);
        let met = abreast.solve(with_impedances);
        met.is_some_and(|met| !exceeds(worse(cancellation, met), CANCELLATION_MAX))
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
        shown: &mut (impl Shows + ?Sized),
    ) {
        if self.views[set].looked(side).is_none() {
            self.look(network, (set, views), side);
        }
        let views = &self.views[set];
        let Some((all, others)) = views.all(side) else { return };
        rows.read(&views.columns, &all, with_impedances, shown);
        if let Some(others) = others {
            rows.read(&views.columns, &others, with_impedances, shown);
        }
    }

    /// What every three ports on a side show that is like no other, the rows of its cut having been
    /// solved. Ports of which the three are not all on that side are read as others are, and
    /// `touched` takes them in. Whether all are tied: if they are not, not all is read.
    pub(super) fn read_triples(
        &mut self,
        set: usize,
        side: u32,
        rows: &CutView,
        (shown, touched): (&mut [Sight], &mut Vec<u32>),
        read: impl FnMut([u32; LANES], &[Wide; 3], &[Wide; 3]),
    ) -> bool {
        let views = &mut self.views[set];
        let Some(triple) = views.triple(side) else { return false };
        self.is_full |= views.len() > self.kept_max;
        rows.read(&views.columns, &triple.rest, true, shown);
        touched.extend(views.columns.asked(&triple.rest));
        rows.read_triples(&views.triples, &triple, read)
    }

    /// The same of those ports only that are not as on the side that it is like. `touched` takes
    /// them in.
    pub(super) fn read_others(
        &self,
        set: usize,
        side: u32,
        (rows, with_impedances): (&CutView, bool),
        (shown, touched): (&mut [Sight], &mut Vec<u32>),
    ) {
        let views = &self.views[set];
        if let Some((_, Some(others))) = views.all(side) {
            rows.read(&views.columns, &others, with_impedances, shown);
            touched.extend(views.columns.asked(&others));
        }
    }
}
