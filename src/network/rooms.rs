//! Rooms of a junction tree: some bags each that hang together, and the cuts between them.
//!
//! Bags are gathered from below until there are enough of them (a greedy tree partition, Kundu &
//! Misra 1977), so that of a run every box or so becomes a room. What is kept by room and not by
//! bag is an order less.

use super::junction::{Junction, NONE};

/// Bags that make a room.
const BAGS: u32 = 9;

/// Rooms at most: a larger tree has larger rooms.
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
        let mut towards = Vec::with_capacity(top.len() * top.len());
        for from in 0..top.len() {
            for to in 0..top.len() {
                let mut cut = to;
                if !junction.is_under(top[to], top[from]) {
                    cut = from;
                } else if from != to {
                    while usize::from(above[cut]) != from {
                        cut = usize::from(above[cut]);
                    }
                }
                towards.push(cut as u16);
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

    /// The cut before this one on the way from a room; `None` if the room reaches to it.
    pub(super) fn before(&self, junction: &Junction, room: u16, cut: u16) -> Option<u16> {
        let beside = match self.is_inside(junction, room, cut) {
            true => cut,
            false => self.above[usize::from(cut)],
        };
        (beside != room).then(|| self.towards(beside, room))
    }
}
