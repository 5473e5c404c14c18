//! Sets of which two kept sides meet, which wait until there are enough of them to be solved side
//! by side.

use super::super::rerooted::{Branching, Rerooted};
use super::super::sides::Found;
use super::super::views::Views;
use super::{LANES, Sight, Walk};

/// What becomes of a set that was asked for beside others.
pub(crate) enum Beside {
    /// It waits.
    Waits,
    /// It is solved by itself, with the largest cancellation met; those that wait go on waiting.
    Solved { cancellation: f64 },
}

impl Walk {
    /// Says that these changes will be asked for so often, in companies of their own.
    pub(crate) fn expect(&mut self, changes: &[Branching], n: u32) {
        self.sides.expect(changes, n);
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
        let mut meetings = [Default::default(); LANES];
        for (meeting, waiting) in meetings.iter_mut().zip(&self.waiting[..self.n_waiting]) {
            *meeting = waiting.1;
        }
        self.sides.meet_abreast(&meetings[..self.n_waiting], with_impedances, &mut self.abreast)
    }

    /// What every port of a set of ports shows in one of them, as they were solved.
    pub(crate) fn read_lane(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        (lane, with_impedances): (usize, bool),
        shown: &mut [Sight],
    ) {
        self.view.set_lane(&self.abreast, lane, with_impedances);
        let rows = (&self.view, with_impedances);
        for side in self.waiting[lane].1.sides {
            self.sides.read(network, (set, views), side, rows, shown);
        }
    }
}
