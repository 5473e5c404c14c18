//! Which changes of a room were asked for, and which of several rooms together, and how often.

use super::junction::NONE;
use super::rerooted::Branching;

/// Changes in one room that are told from others at most.
const IN_ROOM_MAX: usize = 96;

/// Rooms changed together at most.
pub(super) const ROOMS_CHANGED_MAX: usize = 6;

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

/// Changes of several rooms, by their places among those known; of one room as well. Those of the same
/// changes have the same order, that of their first bags.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Company {
    of: [u32; ROOMS_CHANGED_MAX],
    n: u8,
}

impl Company {
    pub(super) fn one(known: u32) -> Self {
        let mut company = Self::default();
        company.join(known);
        company
    }

    /// Takes in changes of one more room, after the others.
    pub(super) fn join(&mut self, known: u32) {
        debug_assert!(usize::from(self.n) < ROOMS_CHANGED_MAX);
        if let Some(place) = self.of.get_mut(usize::from(self.n)) {
            *place = known;
            self.n += 1;
        }
    }

    pub(super) fn members(&self) -> &[u32] {
        &self.of[..usize::from(self.n)]
    }
}

/// What was asked for often.
#[derive(Clone, Copy, Debug)]
enum What {
    /// Changes of one room: where they are among all, and how many.
    Room {
        room: u16,
        from: u32,
        n: u32,
    },
    Together(Company),
}

/// Changes of one room that were asked for often, or of several together.
#[derive(Clone, Copy, Debug)]
struct Known {
    what: What,
    /// How often they were asked for.
    n_asked: u32,
}

/// Changes asked for, by room and together.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    /// How often changes are asked for before they are known.
    pub(super) known_after: u32,
    count: Vec<Count>,
    known: Vec<Known>,
    changes: Vec<Branching>,
}

impl Asked {
    /// For a network of so many bags.
    pub(super) fn new(n_bags: usize, known_after: u32) -> Self {
        let n = (128 * n_bags).next_power_of_two().clamp(1 << 8, 1 << 14);
        Self {
            known_after,
            count: vec![Count::NOTHING; n],
            known: Vec::with_capacity(KNOWN),
            changes: Vec::with_capacity(KNOWN),
        }
    }

    /// Forgets which are known and how often they were asked for.
    pub(super) fn forget(&mut self) {
        self.count.fill(Count::NOTHING);
        self.known.clear();
        self.changes.clear();
    }

    /// Whether so many are known that others hardly find a place.
    pub(super) fn is_full(&self) -> bool {
        self.known.len() > self.count.len() / 2
    }

    /// Number of those known.
    pub(super) fn len(&self) -> usize {
        self.known.len()
    }

    /// Bytes taken by those known.
    pub(super) fn bytes(&self) -> usize {
        size_of::<Known>() * self.known.len() + size_of::<Branching>() * self.changes.len()
    }

    /// Counts that these were asked for, all of a room. Returns their place among those known,
    /// [`NONE`] if they are not.
    pub(super) fn ask<'b>(
        &mut self,
        room: u16,
        changes: impl Iterator<Item = &'b Branching> + Clone,
    ) -> u32 {
        let hash = changes.clone().map(hash).fold(0_u64, u64::wrapping_add);
        let Some(Count { n, mut known, .. }) = self.count(hash) else { return NONE };
        if known == NONE && n >= self.known_after {
            let from = self.changes.len();
            self.changes.extend(changes.clone().take(IN_ROOM_MAX + 1));
            let n = self.changes.len() - from;
            if n > IN_ROOM_MAX {
                self.changes.truncate(from);
                return NONE;
            }
            known = self.know(hash, What::Room { room, from: from as u32, n: n as u32 });
        }
        self.is_known(known, n, |own| are_these(own.changes(known), changes))
    }

    /// Counts that what is known was asked for once more.
    pub(super) fn ask_again(&mut self, known: u32) {
        let n_asked = &mut self.known[known as usize].n_asked;
        *n_asked = n_asked.saturating_add(1);
    }

    /// Says that these, all of a room, will be asked for so often. Returns their place among those
    /// known, as [`Asked::ask`].
    pub(super) fn expect<'b>(
        &mut self,
        room: u16,
        changes: impl Iterator<Item = &'b Branching> + Clone,
        n: u32,
    ) -> u32 {
        self.will_count(changes.clone().map(hash).fold(0_u64, u64::wrapping_add), n);
        self.ask(room, changes)
    }

    /// The same of changes of several rooms together.
    pub(super) fn expect_together(&mut self, company: &Company, n: u32) {
        self.will_count(hash_of(company), n);
        self.ask_together(company);
    }

    fn will_count(&mut self, hash: u64, n: u32) {
        self.count(hash);
        if let Some(at) = self.place(hash) {
            let count = &mut self.count[at];
            count.n = count.n.max(n);
        }
    }

    /// Counts that changes of several rooms were asked for together. Returns their place among
    /// those known, [`NONE`] if they are not. Those of one room were counted by themselves.
    pub(super) fn ask_together(&mut self, company: &Company) -> u32 {
        if let [one] = company.members() {
            return *one;
        }
        let hash = hash_of(company);
        let Some(Count { n, mut known, .. }) = self.count(hash) else { return NONE };
        if known == NONE && n >= self.known_after {
            known = self.know(hash, What::Together(*company));
        }
        self.is_known(known, n, |own| own.is_together(known, company))
    }

    /// A company, known from now on if it was not; [`NONE`] if there is no place for it.
    pub(super) fn make_known(&mut self, company: &Company) -> u32 {
        match self.find(company) {
            NONE => {
                let hash = hash_of(company);
                self.count(hash);
                match self.place(hash).map(|at| self.count[at].known) {
                    Some(NONE) => self.know(hash, What::Together(*company)),
                    _ => NONE,
                }
            }
            known => known,
        }
    }

    /// A company among those known; [`NONE`] if it is not.
    pub(super) fn find(&self, company: &Company) -> u32 {
        if let [one] = company.members() {
            return *one;
        }
        match self.place(hash_of(company)).map(|at| self.count[at].known) {
            Some(known) if self.is_together(known, company) => known,
            _ => NONE,
        }
    }

    /// The members of what is known: itself, if it is of one room.
    pub(super) fn company(&self, known: u32) -> Company {
        match self.known[known as usize].what {
            What::Room { .. } => Company::one(known),
            What::Together(company) => company,
        }
    }

    /// The room of changes of one; of several together that of the first.
    pub(super) fn room(&self, known: u32) -> u16 {
        match self.known[known as usize].what {
            What::Room { room, .. } => room,
            What::Together(company) => match self.known[company.of[0] as usize].what {
                What::Room { room, .. } => room,
                What::Together(_) => 0,
            },
        }
    }

    /// The changes of one room.
    pub(super) fn changes(&self, known: u32) -> &[Branching] {
        match self.known.get(known as usize).map(|known| known.what) {
            Some(What::Room { from, n, .. }) => &self.changes[from as usize..(from + n) as usize],
            _ => &[],
        }
    }

    pub(super) fn n_asked(&self, known: u32) -> u32 {
        self.known[known as usize].n_asked
    }

    fn places(&self, hash: u64) -> impl Iterator<Item = usize> + use<> {
        let mask = self.count.len() - 1;
        (0..PROBES).map(move |probe| (hash as usize).wrapping_add(probe) & mask)
    }

    fn place(&self, hash: u64) -> Option<usize> {
        self.places(hash).find(|&at| self.count[at].hash == hash)
    }

    /// What is asked for once more; `None` for the first time, when it takes the place of what was
    /// asked for least.
    #[inline]
    fn count(&mut self, hash: u64) -> Option<Count> {
        let (mut seldom, mut fewest) = (None, u32::MAX);
        for at in self.places(hash) {
            let count = &self.count[at];
            if count.hash == hash {
                let count = &mut self.count[at];
                count.n = count.n.saturating_add(1);
                return Some(*count);
            }
            if count.n < fewest && count.known == NONE {
                (seldom, fewest) = (Some(at), count.n);
            }
        }
        if let Some(seldom) = seldom {
            self.count[seldom] = Count { hash, n: 1, known: NONE };
        }
        None
    }

    fn know(&mut self, hash: u64, what: What) -> u32 {
        let known = self.known.len() as u32;
        if let Some(at) = self.place(hash) {
            self.count[at].known = known;
        }
        self.known.push(Known { what, n_asked: 0 });
        known
    }

    /// The place, if it is what was asked for, and not something of the same hash.
    fn is_known(&mut self, known: u32, n: u32, is: impl FnOnce(&Self) -> bool) -> u32 {
        if known == NONE || !is(self) {
            return NONE;
        }
        let n_asked = &mut self.known[known as usize].n_asked;
        *n_asked = n.max(n_asked.saturating_add(1));
        known
    }

    fn is_together(&self, known: u32, company: &Company) -> bool {
        match self.known.get(known as usize).map(|known| &known.what) {
            Some(What::Together(own)) => own.members() == company.members(),
            _ => false,
        }
    }
}

/// Whether two lists have the same changes, which mostly come in the same order.
fn are_these<'b>(
    own: &[Branching],
    mut changes: impl Iterator<Item = &'b Branching> + Clone,
) -> bool {
    if own.iter().eq(changes.clone()) {
        return true;
    }
    let mut n = 0;
    let are_all = changes.by_ref().all(|change| {
        n += 1;
        own.contains(change)
    });
    are_all && n == own.len()
}

pub(super) const FACTOR: u64 = 0x9e37_79b9_7f4a_7c15;

/// A hash with one more part.
pub(super) fn mix(hash: u64, part: u64) -> u64 {
    (hash.rotate_left(23) ^ part).wrapping_mul(FACTOR)
}

fn hash_of(company: &Company) -> u64 {
    let parts = company.members().iter().copied().map(u64::from);
    let hash = parts.fold(FACTOR, mix);
    hash ^ hash >> 32
}

/// Of a change; those of several are summed, as they come in any order.
fn hash(change: &Branching) -> u64 {
    let whole = u64::from(change.bag) << 40 ^ u64::from(change.slot) << 32 ^ u64::from(change.id);
    let parts = [change.y.re, change.y.im, change.drive.re, change.drive.im].map(f64::to_bits);
    let hash = parts.into_iter().fold(whole.wrapping_mul(FACTOR), mix);
    hash ^ hash >> 32
}

#[cfg(test)]
mod tests {
    use nalgebra::Complex;

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
        assert_eq!(asked.n_asked(0), 7);
        assert_eq!(asked.ask(1, [open(3), open(3)].iter()), NONE);
        asked.forget();
        assert_eq!(asked.ask(1, pair[..1].iter()), NONE);
        assert_eq!(asked.len(), 0);
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
        assert_eq!(asked.len(), 1);
        assert_eq!(asked.changes(0), [open(7)]);
    }

    #[test]
    fn joints_of_two_rooms_are_known_together_once_they_came_together_often() {
        let mut asked = Asked::new(10, 2);
        for joint in [3, 4, 3, 4] {
            asked.ask(joint as u16, [open(joint)].iter());
        }
        let both = [0, 1].into_iter().fold(Company::default(), |mut company, one| {
            company.join(one);
            company
        });
        assert_eq!((asked.find(&both), asked.find(&Company::one(1))), (NONE, 1));
        assert_eq!(asked.ask_together(&both), NONE);
        assert_eq!([(); 2].map(|()| asked.ask_together(&both)), [2; 2]);
        assert_eq!((asked.find(&both), asked.make_known(&both)), (2, 2));
        assert_eq!(asked.company(2).members(), [0, 1]);
        assert_eq!((asked.room(1), asked.room(2)), (4, 3));
        assert!(asked.changes(2).is_empty());
        let mut all = both;
        all.join(2);
        assert_eq!(asked.make_known(&all), 3);
    }

    #[test]
    fn it_is_full_once_half_of_the_places_are_taken_by_what_is_known() {
        let mut asked = Asked::new(1, 2);
        let mut bag = 0;
        while !asked.is_full() {
            assert!(asked.len() <= 128 && bag < 1000, "{} of {bag}", asked.len());
            (0..2).for_each(|_| _ = asked.ask(0, [open(bag)].iter()));
            bag += 1;
        }
        assert_eq!(asked.len(), 129);
        assert_eq!(asked.bytes(), 129 * (size_of::<Known>() + size_of::<Branching>()));
        asked.forget();
        assert_eq!((asked.is_full(), asked.bytes()), (false, 0));
    }

    #[test]
    fn changes_are_the_same_in_any_order_but_not_fewer_more_or_others() {
        let [a, b, c] = [3, 4, 5].map(open);
        let are = |changes: &[Branching]| are_these(&[a, b], changes.iter());
        assert!(are(&[a, b]) && are(&[b, a]));
        assert!(!are(&[a]) && !are(&[]) && !are(&[a, c]) && !are(&[c, a]) && !are(&[a, b, b]));
    }

    /// Gives something known the hash of something else, as accident might.
    fn by_accident(asked: &mut Asked, hash: u64, known: u32) {
        let at = asked.places(hash).next().unwrap();
        asked.count[at] = Count { hash, n: 9, known };
    }

    #[test]
    fn what_has_the_hash_of_something_known_by_accident_is_not_taken_for_it() {
        let mut asked = Asked::new(10, 2);
        for joint in [3, 4, 3, 4] {
            asked.ask(joint as u16, [open(joint)].iter());
        }
        let mut both = Company::one(0);
        both.join(1);
        let known = asked.make_known(&both);
        assert_eq!(known, 2);
        let n_asked = asked.n_asked(known);
        let mut other = Company::one(1);
        other.join(2);
        by_accident(&mut asked, hash_of(&other), known);
        assert_eq!((asked.find(&other), asked.ask_together(&other)), (NONE, NONE));
        // Nor is one room's taken for a company of several.
        by_accident(&mut asked, hash_of(&other), 0);
        assert_eq!((asked.find(&other), asked.ask_together(&other)), (NONE, NONE));
        by_accident(&mut asked, hash(&open(8)), 0);
        assert_eq!(asked.ask(3, [open(8)].iter()), NONE);
        assert_eq!(asked.n_asked(known), n_asked, "it was not asked for");
    }
}
