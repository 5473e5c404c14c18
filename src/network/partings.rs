//! The cuts beside some rooms that part them, and which of the rooms lie under each.

use super::asked::{FACTOR, ROOMS_CHANGED_MAX, mix};
use super::junction::Junction;
use super::rooms::Rooms;

/// Of how many sets of rooms partings are kept, as a power of two.
const KEPT_BITS: u32 = 9;

/// Ways to part some rooms by a cut beside one of them.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Parting {
    rooms: [u16; ROOMS_CHANGED_MAX],
    n_rooms: u8,
    n_cuts: u8,
    /// The one that was taken last.
    taken: u8,
    /// A cut, and by place among the rooms whether each lies under it.
    cuts: [(u16, u8); 2 * ROOMS_CHANGED_MAX],
}

const _: () = assert!(ROOMS_CHANGED_MAX < 8, "rooms are told by the bits of a byte");

/// Ways to part rooms, kept from one set of changes to the next: many are in the same rooms.
#[derive(Clone, Debug)]
pub(super) struct Partings {
    kept: Box<[Parting]>,
}

impl Partings {
    pub(super) fn new() -> Self {
        Self { kept: vec![Parting::default(); 1 << KEPT_BITS].into_boxed_slice() }
    }

    /// The ways to part these rooms, one cut for each.
    pub(super) fn of(
        &mut self,
        rooms: &Rooms,
        junction: &Junction,
        of: impl Iterator<Item = u16> + Clone,
    ) -> &mut Parting {
        let hash = of.clone().fold(FACTOR, |hash, room| mix(hash, u64::from(room)));
        let parting = &mut self.kept[(hash >> (u64::BITS - KEPT_BITS)) as usize];
        if !of.clone().eq(parting.rooms[..usize::from(parting.n_rooms)].iter().copied()) {
            *parting = Parting::new(rooms, junction, of);
        }
        parting
    }
}

impl Parting {
    fn new(rooms: &Rooms, junction: &Junction, of: impl Iterator<Item = u16>) -> Self {
        let mut parting = Self::default();
        for (own, room) in parting.rooms.iter_mut().zip(of) {
            *own = room;
            parting.n_rooms += 1;
        }
        // Beside a room with others behind it, where these are together without being carried
        // further; then beside one alone.
        let n = usize::from(parting.n_rooms);
        for is_alone in [false, true] {
            for at in 0..n * n {
                let (from, to) = (at / n, at % n);
                if from != to {
                    parting.part(rooms, junction, (from, to), is_alone);
                }
            }
        }
        parting
    }

    fn part(
        &mut self,
        rooms: &Rooms,
        junction: &Junction,
        (from, to): (usize, usize),
        is_alone: bool,
    ) {
        let of = &self.rooms[..usize::from(self.n_rooms)];
        let cut = rooms.towards(of[from], of[to]);
        let mut inside = 0_u8;
        for (place, &room) in of.iter().enumerate() {
            inside |= u8::from(rooms.is_inside(junction, room, cut)) << place;
        }
        let all = (1 << self.n_rooms) - 1;
        let with_it = if inside >> from & 1 == 1 { inside } else { all & !inside };
        let is_new = |&(_, other): &(u16, u8)| other != inside && other != all & !inside;
        let n_cuts = usize::from(self.n_cuts);
        if (with_it.count_ones() == 1) == is_alone
            && self.cuts[..n_cuts].iter().all(is_new)
            && let Some(place) = self.cuts.get_mut(n_cuts)
        {
            *place = (cut, inside);
            self.n_cuts += 1;
        }
    }

    /// Their places, that of the one taken last first.
    pub(super) fn places(&self) -> impl Iterator<Item = u8> + use<> {
        let (taken, n) = (self.taken, self.n_cuts);
        let others = (0..n).filter(move |&at| at != taken);
        (taken < n).then_some(taken).into_iter().chain(others)
    }

    pub(super) fn get(&self, at: u8) -> (u16, u8) {
        self.cuts[usize::from(at)]
    }

    /// Says which was taken.
    pub(super) fn take(&mut self, at: u8) {
        self.taken = at;
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::{Plan, REFERENCE};
    use super::*;

    #[test]
    fn the_cut_that_parted_some_rooms_last_is_the_first_when_they_come_again() {
        let ends: Vec<_> =
            (0..80).map(|row| (row, if row == 79 { REFERENCE } else { row + 1 })).collect();
        let junction = Junction::new(&Plan::new(80, &ends, &[])).unwrap();
        let rooms = Rooms::new(&junction);
        assert!(rooms.len() > 4, "{} rooms", rooms.len());
        let mut partings = Partings::new();
        let mut n_taken = 0;
        for (a, b) in (0..3).flat_map(|a| (a + 1..4).map(move |b| (a, b))) {
            let of = [a, b, 4];
            let parting = partings.of(&rooms, &junction, of.into_iter());
            let all: Vec<u8> = parting.places().collect();
            for &at in &all {
                let (cut, inside) = parting.get(at);
                assert!((1..0b111).contains(&inside), "{of:?} are on one side of {cut}");
            }
            let last = all[all.len() - 1];
            parting.take(last);
            let again = partings.of(&rooms, &junction, of.into_iter());
            assert_eq!(again.places().next(), Some(last));
            assert_eq!(again.places().count(), all.len());
            n_taken += usize::from(last > 0);
        }
        assert!(n_taken > 0, "each three are parted in one way alone");
    }
}
