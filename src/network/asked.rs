//! Which changes of a room were asked for, and how often.

use nalgebra::Complex;

use super::junction::NONE;
use super::rerooted::Branching;

/// Changes in one room that are told from others at most.
const IN_ROOM_MAX: usize = 16;

/// Places where changes are looked for.
const PROBES: usize = 8;

/// Changes for which there is room from the beginning.
pub(super) const KNOWN: usize = 64;

/// How often changes were asked for.
#[derive(Clone, Copy, Debug)]
struct Count {
    hash: u64,
    n: u32,
    /// Their place among those known; [`NONE`] if they were not asked for often.
    known: u32,
}

impl Count {
    const NOTHING: Self = Self { hash: 0, n: 0, known: NONE };
}

/// Changes of one room that were asked for often.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    pub(super) room: u16,
    n_changes: u8,
    /// How often they were asked for.
    pub(super) n_asked: u32,
    changes: [Branching; IN_ROOM_MAX],
}

/// Changes asked for, by room.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    /// How often changes are asked for before they are known.
    pub(super) known_after: u32,
    count: Vec<Count>,
    pub(super) known: Vec<Known>,
}

impl Asked {
    /// For a network of so many bags.
    pub(super) fn new(n_bags: usize, known_after: u32) -> Self {
        let n = (16 * n_bags).next_power_of_two().clamp(1 << 8, 1 << 14);
        Self { known_after, count: vec![Count::NOTHING; n], known: Vec::with_capacity(KNOWN) }
    }

    /// Forgets which are known and how often they were asked for.
    pub(super) fn forget(&mut self) {
        self.count.fill(Count::NOTHING);
        self.known.clear();
    }

    /// Whether so many are known that others hardly find a place.
    pub(super) fn is_full(&self) -> bool {
        self.known.len() > self.count.len() / 2
    }

    /// Counts that these were asked for, all of a room. Returns their place among those known,
    /// [`NONE`] if they are not.
    pub(super) fn ask<'b>(
        &mut self,
        room: u16,
        changes: impl Iterator<Item = &'b Branching> + Clone,
    ) -> u32 {
        let hash = changes.clone().map(hash).fold(0_u64, u64::wrapping_add);
        let mask = self.count.len() - 1;
        let (mut seldom, mut fewest) = (None, u32::MAX);
        for probe in 0..PROBES {
            let at = (hash as usize).wrapping_add(probe) & mask;
            let count = &mut self.count[at];
            if count.hash != hash {
                if count.n < fewest && count.known == NONE {
                    (seldom, fewest) = (Some(at), count.n);
                }
                continue;
            }
            count.n = count.n.saturating_add(1);
            if count.known == NONE && count.n >= self.known_after {
                let Some(known) = Known::new(room, changes.clone()) else { return NONE };
                count.known = self.known.len() as u32;
                self.known.push(known);
            }
            return match self.known.get_mut(count.known as usize) {
                Some(known) if known.is(changes) => {
                    known.n_asked = count.n;
                    count.known
                }
                _ => NONE,
            };
        }
        // In place of what was asked for least.
        if let Some(seldom) = seldom {
            self.count[seldom] = Count { hash, n: 1, known: NONE };
        }
        NONE
    }
}

impl Known {
    /// `None` for more changes than are told apart.
    fn new<'b>(room: u16, changes: impl Iterator<Item = &'b Branching>) -> Option<Self> {
        let nothing =
            Branching { bag: 0, slot: 0, y: Complex::ZERO, drive: Complex::ZERO, id: NONE };
        let mut known = Self { room, n_changes: 0, n_asked: 0, changes: [nothing; IN_ROOM_MAX] };
        for change in changes {
            *known.changes.get_mut(usize::from(known.n_changes))? = *change;
            known.n_changes += 1;
        }
        Some(known)
    }

    pub(super) fn changes(&self) -> &[Branching] {
        &self.changes[..usize::from(self.n_changes)]
    }

    fn is<'b>(&self, mut changes: impl Iterator<Item = &'b Branching>) -> bool {
        let mut n = 0;
        let mut are_all = true;
        for change in changes.by_ref() {
            are_all &= self.changes().contains(change);
            n += 1;
        }
        are_all && n == self.n_changes
    }
}

/// Of a change; those of several are summed, as they come in any order.
fn hash(change: &Branching) -> u64 {
    const FACTOR: u64 = 0x9e37_79b9_7f4a_7c15;
    let whole = u64::from(change.bag) << 40 ^ u64::from(change.slot) << 32 ^ u64::from(change.id);
    let parts = [change.y.re, change.y.im, change.drive.re, change.drive.im].map(f64::to_bits);
    let mix = |hash: u64, part: u64| (hash.rotate_left(23) ^ part).wrapping_mul(FACTOR);
    let hash = parts.into_iter().fold(whole.wrapping_mul(FACTOR), mix);
    hash ^ hash >> 32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(bag: u32) -> Branching {
        Branching { bag, slot: 0, y: Complex::ZERO, drive: Complex::ZERO, id: bag }
    }

    #[test]
    fn a_joint_asked_for_six_times_is_known_in_any_company_of_its_own() {
        let mut asked = Asked::new(10, 6);
        let (pair, turned) = ([open(3), open(4)], [open(4), open(3)]);
        for _ in 0..5 {
            assert_eq!(asked.ask(1, pair.iter()), NONE);
            assert_eq!(asked.ask(1, pair[..1].iter()), NONE);
        }
        assert_eq!(asked.ask(1, turned.iter()), 0);
        assert_eq!(asked.ask(1, pair[..1].iter()), 1);
        assert_eq!(asked.ask(1, pair.iter()), 0);
        assert_eq!(asked.known[0].n_asked, 7);
        assert_eq!(asked.ask(1, [open(3), open(3)].iter()), NONE);
        asked.forget();
        assert_eq!(asked.ask(1, pair[..1].iter()), NONE);
        assert!(asked.known.is_empty());
    }

    #[test]
    fn more_joints_at_once_than_are_told_apart_are_never_known() {
        let mut asked = Asked::new(10, 0);
        let many: Vec<Branching> = (0..IN_ROOM_MAX as u32 + 1).map(open).collect();
        assert!((0..3).all(|_| asked.ask(0, many.iter()) == NONE));
        let most = &many[1..];
        assert!((0..3).any(|_| asked.ask(0, most.iter()) != NONE));
    }

    #[test]
    fn what_is_asked_for_once_makes_place_for_what_comes_again() {
        let mut asked = Asked::new(1, 3);
        for bag in 100..20_000 {
            asked.ask(0, [open(bag)].iter());
            asked.ask(0, [open(7)].iter());
        }
        assert_eq!(asked.known.len(), 1);
        assert_eq!(asked.known[0].changes(), [open(7)]);
    }
}
