//! Sets of which two kept sides meet, which wait until there are enough of them to be solved side
//! by side.

use super::super::rerooted::{Branching, Rerooted};
use super::super::sides::{Found, Known, Meeting};
use super::super::views::Views;
use super::{LANES, Shows, Sight, Walk, Wide};

/// What becomes of a set that was asked for beside others.
pub(crate) enum Beside {
    /// It waits.
    Waits,
    /// It is solved by itself, with the largest cancellation met; those that wait go on waiting.
    Solved { cancellation: f64 },
}

/// Two sides that are yet to meet, and those that they are like to the last bit, but for a few
/// ports.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Alike {
    pub(crate) meeting: Meeting,
    pub(crate) like: [u32; 2],
}

impl Walk {
    /// Says that these changes will be asked for so often, in companies of their own. Returns what
    /// they are known by if they are of one room, until all is forgotten.
    pub(crate) fn expect(&mut self, changes: &[Branching], n: u32) -> Option<Known> {
        self.sides.expect(changes, n)
    }

    /// Whether what is known will be forgotten before anything else is found.
    pub(crate) fn will_forget(&self) -> bool {
        self.sides.will_forget()
    }

    /// Forgets it.
    pub(crate) fn make_room(&mut self) {
        self.sides.make_room();
    }

    /// The two sides that meet with what is known of two rooms, and those that they are like; `None`
    /// if there are none.
    pub(crate) fn meeting(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        known: [Known; 2],
    ) -> Option<Alike> {
        let meeting = self.sides.meeting_of(network, (set, views), known)?;
        let like = meeting.sides.map(|side| self.sides.look(network, (set, views), side));
        Some(Alike { meeting, like })
    }

    /// How often what was said to come was forgotten.
    pub(crate) fn forgotten(&self) -> u32 {
        self.sides.forgotten()
    }

    /// Whether those that wait are to be solved before another set is asked for.
    pub(crate) fn must_meet(&self) -> bool {
        self.n_waiting > 0 && (self.n_waiting == LANES || self.sides.will_forget())
    }

    /// Places of the sets that wait.
    pub(crate) fn waiting(&self) -> impl Iterator<Item = u32> + use<> {
        self.waiting.into_iter().take(self.n_waiting).map(|(place, _)| place)
    }

    pub(crate) fn wait_no_more(&mut self) {
        self.n_waiting = 0;
    }

    /// Puts a set with those that wait, or solves it.
    pub(crate) fn go_beside(
        &mut self,
        network: &Rerooted,
        (place, changes): (u32, &[Branching]),
        with_impedances: bool,
    ) -> Beside {
        let found = self.sides.find(network, changes);
        let alike = |rows: usize| {
            self.waiting[..self.n_waiting].iter().all(|(_, other)| other.n_rows == rows)
        };
        if let Found::Meeting(meeting) = found
            && alike(meeting.n_rows)
            && let Some(free) = self.waiting.get_mut(self.n_waiting)
        {
            *free = (place, meeting);
            self.n_waiting += 1;
            return Beside::Waits;
        }
        let cancellation = self.go_on(network, changes, with_impedances, found);
        Beside::Solved { cancellation }
    }

    /// Solves all that wait; whether that could be done. They wait until they are told not to.
    pub(crate) fn solve_abreast(&mut self, with_impedances: bool) -> bool {
        let waiting = self.waiting;
        let n = self.n_waiting;
        self.solve_meetings(waiting[..n].iter().map(|&(_, meeting)| meeting), with_impedances)
    }

    /// Solves up to four meetings in as many rows; whether that could be done.
    pub(crate) fn solve_meetings(
        &mut self,
        meetings: impl Iterator<Item = Meeting>,
        with_impedances: bool,
    ) -> bool {
        let mut all = [Meeting::default(); LANES];
        let mut n = 0;
        for (meeting, one) in all.iter_mut().zip(meetings) {
            *meeting = one;
            n += 1;
        }
        self.sides.meet_abreast(&all[..n], with_impedances, &mut self.abreast)
    }

    /// What every port of a set of ports on these sides shows in one of them.
    pub(crate) fn read_sides(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        (lane, sides): (usize, [u32; 2]),
        with_impedances: bool,
        shown: &mut (impl Shows + ?Sized),
    ) {
        self.view.set_lane(&self.abreast, lane, with_impedances);
        let rows = (&self.view, with_impedances);
        for side in sides {
            self.sides.read(network, (set, views), side, rows, shown);
        }
    }

    /// What every three ports of a set, one after the other, show that are on one of these sides, each like no other; see [`Sides::read_triples`](super::super::sides::Sides::read_triples).
    pub(crate) fn read_triples(
        &mut self,
        set: usize,
        (lane, sides): (usize, [u32; 2]),
        (shown, touched): (&mut [Sight], &mut Vec<u32>),
        mut read: impl FnMut([u32; LANES], &[Wide; 3], &[Wide; 3]),
    ) -> bool {
        self.view.set_lane(&self.abreast, lane, true);
        let Self { sides: all, view, .. } = self;
        sides.iter().all(|&side| all.read_triples(set, side, view, (shown, touched), &mut read))
    }

    /// The same of the ports that are not as on the sides that these are like, once those were read.
    /// `touched` takes them in.
    pub(crate) fn read_others(
        &self,
        set: usize,
        sides: [u32; 2],
        with_impedances: bool,
        (shown, touched): (&mut [Sight], &mut Vec<u32>),
    ) {
        let rows = (&self.view, with_impedances);
        for side in sides {
            self.sides.read_others(set, side, rows, (shown, touched));
        }
    }

    /// What every port of a set of ports shows in one of them, as they were solved.
    pub(crate) fn read_lane(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        (lane, with_impedances): (usize, bool),
        shown: &mut (impl Shows + ?Sized),
    ) {
        let sides = self.waiting[lane].1.sides;
        self.read_sides(network, (set, views), (lane, sides), with_impedances, shown);
    }
}
