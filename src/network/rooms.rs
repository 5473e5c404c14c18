//! Rooms of a junction tree: some bags each that hang together, and the cuts between them.
//!
//! Bags are gathered from below until there are enough of them (a greedy tree partition, Kundu &
//! Misra 1977), so that of a run every box or so becomes a room. What is kept by room and not by
//! bag is an order less.

use super::junction::{Junction, NONE};

/// Bags that make a room.
const BAGS: u32 = 9;

/// Rooms at most, but for the last: a larger tree has larger rooms.
const ROOMS_MAX: usize = 128;

/// Bags by rooms. A room has the number of the cut above its topmost bag; the last has none.
#[derive(Clone, Debug)]
pub(super) struct Rooms {
    /// By bag.
    room: Vec<u16>,
    /// The topmost bag of each.
    pub(super) top: Vec<u32>,
    /// The room above each; the last has itself.
    above: Vec<u16>,
    /// By two rooms, the cut through which one leaves the first for the second.
    towards: Vec<u16>,
}

impl Rooms {
    pub(super) fn new(junction: &Junction) -> Self {
        let n = junction.len();
        let enough = BAGS.max(n.div_ceil(ROOMS_MAX) as u32);
        let mut gathered = vec![1_u32; n];
        let mut top = Vec::new();
        for bag in 0..n {
            let Some(above) = gathered.get(junction.parent[bag] as usize).copied() else {
                top.push(bag as u32);
                continue;
            };
            // A cut that is wider than the next is not taken yet, if there is one soon.
            let is_narrow = junction.rows(bag) <= junction.rows(junction.parent[bag] as usize);
            if gathered[bag] >= enough && (is_narrow || gathered[bag] >= 2 * enough) {
                top.push(bag as u32);
            } else {
                gathered[junction.parent[bag] as usize] = above + gathered[bag];
            }
        }
        let mut room = vec![0_u16; n];
        let mut next = top.len();
        for bag in (0..n).rev() {
            room[bag] = match next.checked_sub(1).filter(|&last| top[last] == bag as u32) {
                Some(last) => {
                    next = last;
                    last as u16
                }
                None => room[junction.parent[bag] as usize],
            };
        }
        let above_of = |&top: &u32| match junction.parent[top as usize] {
            NONE => room[top as usize],
            above => room[above as usize],
        };
        let above: Vec<u16> = top.iter().map(above_of).collect();
        let n_rooms = top.len();
        let mut towards = vec![0; n_rooms * n_rooms];
        for (from, of_room) in towards.chunks_exact_mut(n_rooms.max(1)).enumerate() {
            // A room comes after the one above it.
            for to in (0..n_rooms).rev() {
                let above = usize::from(above[to]);
                of_room[to] = match junction.is_under(top[to], top[from]) {
                    false => from as u16,
                    true if from == to || above == from => to as u16,
                    true => of_room[above],
                };
            }
        }
        Self { room, top, above, towards }
    }

    pub(super) fn len(&self) -> usize {
        self.top.len()
    }

    /// The room of a bag.
    #[inline]
    pub(super) fn of(&self, bag: u32) -> u16 {
        self.room[bag as usize]
    }

    /// The cut through which one leaves a room for another.
    #[inline]
    pub(super) fn towards(&self, from: u16, to: u16) -> u16 {
        self.towards[usize::from(from) * self.len() + usize::from(to)]
    }

    /// The room after this one on the way to another.
    pub(super) fn next(&self, from: u16, to: u16) -> u16 {
        match self.towards(from, to) {
            cut if cut == from => self.above[usize::from(from)],
            cut => cut,
        }
    }

    /// Whether a room lies under a cut.
    pub(super) fn is_inside(&self, junction: &Junction, room: u16, cut: u16) -> bool {
        junction.is_under(self.top[usize::from(room)], self.top[usize::from(cut)])
    }

    /// The room beside a cut, on either side.
    pub(super) fn beside(&self, cut: u16, inside: bool) -> u16 {
        if inside { cut } else { self.above[usize::from(cut)] }
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::{Plan, REFERENCE};
    use super::*;

    #[test]
    fn one_leaves_a_room_for_another_through_the_first_cut_between_them() {
        // A tree with three arms of forty rows, one of them with a branch.
        let arm = |first: u32| (first..first + 39).map(|row| (row, row + 1));
        let joints = [(0, 40), (0, 80), (60, 120), (0, REFERENCE)];
        let ends: Vec<_> = [0, 40, 80, 120].into_iter().flat_map(arm).chain(joints).collect();
        let junction = Junction::new(&Plan::new(160, &ends, &[])).unwrap();
        let rooms = Rooms::new(&junction);
        assert!(rooms.len() > 8, "{} rooms", rooms.len());
        let all = 0..rooms.len() as u16;
        for (from, to) in all.clone().flat_map(|from| all.clone().map(move |to| (from, to))) {
            if from == to {
                continue;
            }
            let cut = rooms.towards(from, to);
            assert_ne!(
                rooms.is_inside(&junction, from, cut),
                rooms.is_inside(&junction, to, cut),
                "{from} and {to} lie on one side of {cut}"
            );
            let beside = |cut: u16| rooms.beside(cut, rooms.is_inside(&junction, from, cut));
            assert_eq!(beside(cut), from, "{cut} is no cut of {from}");
            // Going on from room to room one arrives, and the last cut met is the other's own.
            let (mut at, mut last, mut n) = (from, cut, 0);
            while at != to {
                last = rooms.towards(at, to);
                at = rooms.next(at, to);
                n += 1;
                assert!(n <= rooms.len(), "from {from} one never comes to {to}");
            }
            assert_eq!(last, rooms.towards(to, from));
            let mut back = 1;
            while beside(last) != from {
                last = rooms.towards(beside(last), from);
                back += 1;
            }
            assert_eq!(back, n, "cuts between {from} and {to}");
        }
        for bag in 0..junction.len() as u32 {
            let top = rooms.top[usize::from(rooms.of(bag))];
            assert!(junction.is_under(bag, top));
        }
    }
}
