//! What a side is made of, and its making.

use super::super::asked::{Company, ROOMS_CHANGED_MAX};
use super::super::junction::Junction;
use super::super::rerooted::{Rerooted, exceeds, worse};
use super::super::side::Face;
use super::super::views::Views;
use super::super::ways::{CANCELLATION_MAX, UNFIT};
use super::{NONE, SideViews, Sides};

/// One side of a cut, with changes on it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    pub(super) face: Face,
    /// Where its numbers start.
    pub(super) at: u32,
    pub(super) cancellation: f64,
    pub(super) of: MadeOf,
}

/// What a side was made of: changes in the room beside its cut, [`NONE`] for no change, and sides of
/// the other cuts of that room.
#[derive(Clone, Copy, Debug)]
pub(super) struct MadeOf {
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
pub(super) struct Parts {
    in_room: u32,
    beyond: [(u16, Company); ROOMS_CHANGED_MAX],
    n: usize,
}

impl Parts {
    pub(super) fn beyond(&self) -> &[(u16, Company)] {
        &self.beyond[..self.n]
    }
}

impl Sides {
    pub(super) fn entry(&self, known: u32, cut: u16) -> usize {
        known as usize * self.rooms.len() + usize::from(cut)
    }

    pub(super) fn make_room_for_known(&mut self) {
        if self.n_sides.len() == self.asked.len() {
            return;
        }
        self.table.resize(self.asked.len() * self.rooms.len(), NONE);
        self.n_sides.resize(self.asked.len(), 0);
    }

    pub(super) fn face(&self, junction: &Junction, known: u32, cut: u16) -> Face {
        let bag = self.rooms.top[usize::from(cut)];
        Face { bag, inside: self.rooms.is_inside(junction, self.asked.room(known), cut) }
    }

    /// What a side of a cut is made of: the changes in the room beside it, if there are any, and the
    /// sides beyond the other cuts of that room.
    fn parts(&self, junction: &Junction, company: &Company, cut: u16) -> Parts {
        let first = company.members().first();
        let inside =
            first.is_some_and(|&known| self.rooms.is_inside(junction, self.asked.room(known), cut));
        self.around(self.rooms.beside(cut, inside), company.members().iter().copied())
    }

    /// Changes by the cuts of a room that they lie beyond.
    pub(super) fn around(&self, room: u16, all: impl Iterator<Item = u32>) -> Parts {
        let mut parts = Parts { in_room: NONE, beyond: Default::default(), n: 0 };
        for known in all {
            let of = self.asked.room(known);
            if of == room {
                parts.in_room = known;
                continue;
            }
            let cut = self.rooms.towards(room, of);
            match parts.beyond[..parts.n].iter_mut().find(|(other, _)| *other == cut) {
                Some((_, company)) => company.join(known),
                None => {
                    parts.beyond[parts.n] = (cut, Company::one(known));
                    parts.n += 1;
                }
            }
        }
        parts
    }

    /// How many sides are to be made for one; `None` if too much cancels on the way.
    pub(super) fn n_missing(&self, junction: &Junction, known: u32, cut: u16) -> Option<u32> {
        match self.table[self.entry(known, cut)] {
            NONE => self.n_missing_of(junction, &self.asked.company(known), cut),
            UNFIT => None,
            _ => Some(0),
        }
    }

    /// The same of a side that is not made.
    fn n_missing_of(&self, junction: &Junction, company: &Company, cut: u16) -> Option<u32> {
        let mut n = 1;
        for (cut, company) in self.parts(junction, company, cut).beyond() {
            n += match self.asked.find(company) {
                NONE => self.n_missing_of(junction, company, *cut)?,
                known => self.n_missing(junction, known, *cut)?,
            };
        }
        Some(n)
    }

    /// A side of a cut, made if need be; `None` if too much cancels.
    pub(super) fn side(&mut self, network: &Rerooted, known: u32, cut: u16) -> Option<u32> {
        match self.table[self.entry(known, cut)] {
            NONE => {}
            side => return Some(side).filter(|&side| side < UNFIT),
        }
        let junction = &network.junction;
        let parts = self.parts(junction, &self.asked.company(known), cut);
        let mut made_of = [NONE; ROOMS_CHANGED_MAX];
        for (side, (cut, company)) in made_of.iter_mut().zip(parts.beyond()) {
            let known = self.asked.make_known(company);
            self.make_room_for_known();
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

    /// Makes the views of a side, and of those that it is made of.
    pub(super) fn look(&mut self, network: &Rerooted, of: (usize, &Views), side: u32) {
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
