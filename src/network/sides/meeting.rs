//! Where the sides with all changes meet: in a cut, or around a room.

use super::super::asked::{Company, ROOMS_CHANGED_MAX};
use super::super::junction::Junction;
use super::super::rerooted::{Rerooted, worse};
use super::super::views::Views;
use super::super::ways::UNFIT;
use super::{Known, Meeting, NONE, Sides};

impl Sides {
    /// The two sides that meet with changes known of two rooms; `None` if they are of one room, or if
    /// it does not pay. Sides that are new are made with the views of these ports.
    pub(in super::super) fn meeting_of(
        &mut self,
        network: &Rerooted,
        of: (usize, &Views),
        [one, other]: [Known; 2],
    ) -> Option<Meeting> {
        if one.room == other.room {
            return None;
        }
        // In the order of their bags.
        let [one, other] = if one.room < other.room { [one, other] } else { [other, one] };
        let junction = &network.junction;
        let (rooms, known) = ([one.room, other.room], [one.known, other.known]);
        let (cut, known) = self.cut_between(junction, rooms, known)?;
        let n_rows = junction.rows(self.rooms.top[usize::from(cut)] as usize) - 1;
        let mut side = |known: u32| self.side(network, (known, cut), Some(of));
        let sides = [side(known[0])?, side(known[1])?];
        Some(Meeting { n_rows, sides })
    }

    /// The cut where changes of two rooms meet, and what does; `None` if it does not pay to make the
    /// sides.
    pub(super) fn cut_between(
        &mut self,
        junction: &Junction,
        [one, other]: [u16; 2],
        known: [u32; 2],
    ) -> Option<(u16, [u32; 2])> {
        // Either beside the one room or beside the other.
        let cuts = [self.rooms.towards(one, other), self.rooms.towards(other, one)];
        let is_kept =
            |cut: &u16| known.iter().all(|&known| self.table[self.entry(known, *cut)] < UNFIT);
        if let Some(cut) = cuts.into_iter().find(is_kept) {
            self.last = known;
            return Some((cut, known));
        }
        let n_missing = |known: u32, cut: u16| self.n_missing(junction, known, cut);
        let missing = cuts.map(|cut| Some(n_missing(known[0], cut)? + n_missing(known[1], cut)?));
        let is_held = known.map(|known| self.last.contains(&known));
        self.last = known;
        let nth = match missing {
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
    pub(super) fn cut_among(
        &mut self,
        junction: &Junction,
        conditions: &[(u16, u32)],
    ) -> Option<(u16, [u32; 2])> {
        let of = conditions.iter().map(|&(room, _)| room);
        let parting = *self.partings.of(&self.rooms, junction, of.clone());
        let (mut best, mut most) = (None, 0);
        for at in parting.places() {
            let (cut, inside) = parting.get(at);
            let mut companies = [Company::default(); 2];
            for (nth, &(_, known)) in conditions.iter().enumerate() {
                companies[usize::from(inside >> nth & 1)].join(known);
            }
            let known = [0, 1].map(|nth| self.ask_together(nth, &companies[nth]));
            if known.contains(&NONE) {
                continue;
            }
            self.make_room_for_known();
            if known.iter().all(|&known| self.table[self.entry(known, cut)] < UNFIT) {
                self.partings.of(&self.rooms, junction, of).take(at);
                self.lately.together = [(companies[0], known[0]), (companies[1], known[1])];
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

    /// Counts that changes were asked for together on one of two sides, and returns what they are known
    /// by.
    fn ask_together(&mut self, nth: usize, company: &Company) -> u32 {
        if let [one] = company.members() {
            return *one;
        }
        let (same, known) = &self.lately.together[nth];
        if same.members() != company.members() {
            return self.asked.ask_together(company);
        }
        self.asked.ask_again(*known);
        *known
    }

    /// Whether a side is kept, or was earned.
    fn pays(&self, junction: &Junction, known: u32, cut: u16) -> bool {
        let Some(n_missing) = self.n_missing(junction, known, cut) else { return false };
        let n_sides = self.n_sides[known as usize] + n_missing;
        n_missing == 0 || n_sides.saturating_mul(self.pays_after) <= self.asked.n_asked(known)
    }

    /// The room from which all the others are beyond cuts of their own; if there is one whose changes
    /// are not known, that one, wherever the others are.
    pub(super) fn middle(&self, conditions: &[(u16, u32)]) -> Option<u16> {
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
    pub(super) fn surround(
        &mut self,
        network: &Rerooted,
        room: u16,
        conditions: &[(u16, u32)],
    ) -> Option<f64> {
        let junction = &network.junction;
        let others = conditions.iter().filter(|&&(of, _)| of != room);
        let around = self.around(room, others.map(|&(_, known)| known));
        // All are asked for before any is made.
        let mut known = [NONE; ROOMS_CHANGED_MAX];
        for (known, (_, company)) in known.iter_mut().zip(around.beyond()) {
            *known = self.asked.ask_together(company);
        }
        self.make_room_for_known();
        let cuts = || around.beyond().iter().map(|&(cut, _)| cut);
        let pays = |(&known, cut): (&u32, u16)| known != NONE && self.pays(junction, known, cut);
        if !known.iter().zip(cuts()).all(pays) {
            return None;
        }
        let mut cancellation = 1.0;
        for (&known, cut) in known.iter().zip(cuts()) {
            let Some(side) = self.side(network, (known, cut), None) else {
                self.around_room.clear();
                return None;
            };
            cancellation = worse(cancellation, self.sides[side as usize].cancellation);
            self.around_room.push((self.face(junction, known, cut), side));
        }
        Some(cancellation)
    }
}
