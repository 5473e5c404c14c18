//! What a side is made of, and its making.

use nalgebra::Complex;

use super::super::asked::{Company, FACTOR, ROOMS_CHANGED_MAX, mix};
use super::super::junction::Junction;
use super::super::rerooted::{Rerooted, exceeds, worse};
use super::super::side::Face;
use super::super::views::Views;
use super::super::ways::{CANCELLATION_MAX, UNFIT};
use super::{Looked, NONE, SideViews, Sides};

/// One side of a cut, with changes on it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    pub(super) face: Face,
    /// Where its numbers start.
    pub(super) at: u32,
    pub(super) cancellation: f64,
    /// The room of its changes, or of the first of them.
    pub(super) room: u16,
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

    /// A side of a cut, made if need be, with the views of some ports if they are asked for; `None`
    /// if too much cancels.
    pub(super) fn side(
        &mut self,
        network: &Rerooted,
        (known, cut): (u32, u16),
        views: Option<(usize, &Views)>,
    ) -> Option<u32> {
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
            *side = self.side(network, (known, *cut), views)?;
        }
        let made_of = MadeOf { in_room: parts.in_room, sides: made_of, n: parts.n };
        self.n_sides[known as usize] += 1;
        let face = self.face(junction, known, cut);
        if let Some(of) = views {
            made_of.sides().iter().for_each(|&side| _ = self.look(network, of, side));
        }
        let cancellation = self.make(network, face, &made_of, views);
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
        let room = self.asked.room(known);
        self.sides.push(Side { face, at, cancellation, room, of: made_of });
        if let Some((set, _)) = views {
            self.keep_looked(set, side);
        }
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
                && let Some((all, others)) = self.views[set].all(at)
            {
                maker.carry_on(side.face, &self.views[set].columns, &all, others.as_ref());
            }
            cancellation = worse(cancellation, side.cancellation);
        }
        let changes = self.asked.changes(of.in_room);
        let views = views.map(|(_, views)| views);
        worse(cancellation, self.maker.make(network, changes, face, views))
    }

    /// Makes the views of a side, and of those that it is made of. Returns the side that it is like.
    pub(in super::super) fn look(
        &mut self,
        network: &Rerooted,
        of: (usize, &Views),
        side: u32,
    ) -> u32 {
        let (set, _) = of;
        if let Some(Looked { like, .. }) = self.views[set].looked(side) {
            return like;
        }
        let Side { face, of: made_of, .. } = self.sides[side as usize];
        made_of.sides().iter().for_each(|&side| _ = self.look(network, of, side));
        self.make(network, face, &made_of, Some(of));
        self.keep_looked(set, side)
    }

    /// Keeps the views of a side that was made with them last. Returns the side that it is like.
    fn keep_looked(&mut self, set: usize, side: u32) -> u32 {
        let face = self.sides[side as usize].face;
        let hash = self.hash(side);
        let like = self.views[set].by_numbers.get(&hash).copied();
        let like = like.filter(|&like| self.is_reduced_alike(side, like));
        let Self { maker, views, sides, .. } = self;
        let SideViews { looked, columns, by_numbers, places, .. } = &mut views[set];
        looked.resize(sides.len().max(looked.len()), None);
        let others = like.and_then(|like| {
            let Looked { column, .. } = looked[like as usize]?;
            let column = maker.keep_others(face, columns, &column, places)?;
            Some(Looked { like, column })
        });
        let found = others.unwrap_or_else(|| {
            by_numbers.insert(hash, side);
            Looked { like: side, column: maker.keep(face, columns).unwrap_or_default() }
        });
        looked[side as usize] = Some(found);
        self.is_full |= self.views[set].len() > self.kept_max;
        found.like
    }

    /// What a side was reduced to.
    fn numbers(&self, side: u32) -> &[Complex<f64>] {
        let end = self.sides.get(side as usize + 1).map(|next| next.at as usize);
        &self.numbers[self.sides[side as usize].at as usize..end.unwrap_or(self.numbers.len())]
    }

    /// Whether two sides of one cut, with changes in one room, are the same to the last bit.
    fn is_reduced_alike(&self, one: u32, other: u32) -> bool {
        let [a, b] = [one, other].map(|side| &self.sides[side as usize]);
        let bits = |number: &Complex<f64>| [number.re, number.im].map(f64::to_bits);
        a.face == b.face
            && a.room == b.room
            && self.numbers(one).iter().map(bits).eq(self.numbers(other).iter().map(bits))
    }

    fn hash(&self, side: u32) -> u64 {
        let Side { face, room, .. } = self.sides[side as usize];
        let whole = u64::from(face.bag) << 17 ^ u64::from(room) << 1 ^ u64::from(face.inside);
        let numbers = self.numbers(side).iter().flat_map(|number| [number.re, number.im]);
        numbers.map(f64::to_bits).fold(mix(FACTOR, whole), mix)
    }
}
