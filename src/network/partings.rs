//! The cuts beside some rooms that part them, and which of the rooms lie under each.

use super::asked::ROOMS_CHANGED_MAX;
use super::junction::Junction;
use super::rooms::Rooms;

/// Ways to part some rooms by a cut beside one of them, kept from one set of changes to the next: most are in the same
/// rooms.
#[derive(Clone, Debug, Default)]
pub(super) struct Partings {
    rooms: [u16; ROOMS_CHANGED_MAX],
    n_rooms: usize,
    /// A cut, and by place among the rooms whether each lies under it.
    cuts: [(u16, u8); 2 * ROOMS_CHANGED_MAX],
    n_cuts: usize,
}

const _: () = assert!(ROOMS_CHANGED_MAX < 8, "rooms are told by the bits of a byte");

impl Partings {
    /// Finds the ways to part these rooms, one cut for each.
    pub(super) fn of(
        &mut self,
        rooms: &Rooms,
        junction: &Junction,
        of: impl Iterator<Item = u16> + Clone,
    ) {
        if of.clone().eq(self.rooms[..self.n_rooms].iter().copied()) {
            return;
        }
        (self.n_rooms, self.n_cuts) = (0, 0);
        for (own, room) in self.rooms.iter_mut().zip(of) {
            *own = room;
            self.n_rooms += 1;
        }
        // Beside a room with others behind it, where these are together without being carried
        // further; then beside one alone.
        for is_alone in [false, true] {
            for at in 0..self.n_rooms * self.n_rooms {
                let (from, to) = (at / self.n_rooms, at % self.n_rooms);
                if from != to {
                    self.part(rooms, junction, (from, to), is_alone);
                }
            }
        }
    }

    fn part(
        &mut self,
        rooms: &Rooms,
        junction: &Junction,
        (from, to): (usize, usize),
        is_alone: bool,
    ) {
        let of = &self.rooms[..self.n_rooms];
        let cut = rooms.towards(of[from], of[to]);
        let mut inside = 0_u8;
        for (place, &room) in of.iter().enumerate() {
            inside |= u8::from(rooms.is_inside(junction, room, cut)) << place;
        }
        let all = (1 << self.n_rooms) - 1;
        let with_it = if inside >> from & 1 == 1 { inside } else { all & !inside };
        let is_new = |&(_, other): &(u16, u8)| other != inside && other != all & !inside;
        if (with_it.count_ones() == 1) == is_alone
            && self.cuts[..self.n_cuts].iter().all(is_new)
            && let Some(place) = self.cuts.get_mut(self.n_cuts)
        {
            *place = (cut, inside);
            self.n_cuts += 1;
        }
    }

    pub(super) fn len(&self) -> usize {
        self.n_cuts
    }

    pub(super) fn get(&self, at: usize) -> (u16, u8) {
        self.cuts[at]
    }
}
