//! Very many sets of two changes, each known by itself: those of which both sides are like those of
//! others, but for a few ports, are solved and read once.
//!
//! Of some seventy faults of one box a third come to the same seen from outside, to the last bit:
//! of their pairs with those of another box half.

use super::prepared::{PortPlan, Prepared};
use super::telling::tells;
use super::{Admittances, Known, PortSight, Refusal, Sight, WhatIf, WhatIfWork, attached_abreast};
use crate::network::{LANES, Meeting, Wide};
use crate::quantity::Phasor;

/// Sets that wait at most.
const WAITING_MAX: usize = 1 << 18;

/// Whoever is told what the ports of a group show.
pub(crate) trait Told {
    /// What they show, but for a few, in each of the sets that are told next.
    fn begin(&mut self, shown: &[PortSight]);

    /// The admittances attached to each three ports, if only what these read is told, and not what
    /// ports show.
    fn attached(&self) -> Option<Admittances> {
        None
    }

    /// As [`Told::begin`], for so many receptacles, of each four of which it is said what is read
    /// there: those of other places than these mean nothing.
    fn begin_attached(&mut self, _: usize) {}

    /// What is read at four receptacles.
    fn read(&mut self, _: [u32; LANES], _: [Option<[Phasor; 3]>; LANES]) {}

    /// What the ports of some others show at the beginning.
    fn amend(&mut self, _: &[PortSight], _: &[u32]) {}

    /// What they show in the set at a place; those touched are not as was said at the beginning.
    fn tell(&mut self, place: usize, shown: &[PortSight], touched: &[u32]);

    /// Why there is no answer.
    fn refuse(&mut self, place: usize, refusal: Refusal);

    /// One that is like no other.
    fn tell_one(&mut self, place: usize, seen: Result<&[PortSight], Refusal>) {
        match seen {
            Ok(shown) => {
                self.begin(shown);
                self.tell(place, shown, &[]);
            }
            Err(refusal) => self.refuse(place, refusal),
        }
    }
}

/// A set that waits.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    like: [u32; 2],
    sides: [u32; 2],
    n_rows: u32,
    place: u32,
}

/// The sets that wait, and room to tell them.
#[derive(Clone, Debug, Default)]
pub(super) struct WaitingSets {
    sets: Vec<Waiting>,
    /// By view, what was read of those that are not as in others.
    others: Vec<Sight>,
    /// Those views; then the ports that they are of.
    touched: Vec<u32>,
    as_before: Vec<Touched>,
}

/// What becomes of a set.
pub(crate) enum Waits {
    Yes,
    /// It is to be asked by itself.
    No,
    /// Those that wait are to be told first.
    Full,
}

/// A port of a set that is not as in the others, as it was in those.
#[derive(Clone, Copy, Debug)]
struct Touched {
    port: u32,
    view: u32,
    sight: Sight,
    shown: PortSight,
}

impl WhatIf {
    /// Puts a set with those that wait.
    pub(crate) fn wait(
        &self,
        (place, known): (usize, [Known; 2]),
        group: usize,
        work: &mut WhatIfWork,
    ) -> Waits {
        let (Some(fast), Some(walk)) = (self.beside(), &mut work.walk) else { return Waits::No };
        let Some((views, _)) = fast.groups.get(group) else { return Waits::No };
        if walk.will_forget() || work.waiting.sets.len() >= WAITING_MAX {
            return Waits::Full;
        }
        let Some(alike) = walk.meeting(&fast.rerooted, (group, views), known) else {
            return Waits::No;
        };
        let Meeting { n_rows, sides } = alike.meeting;
        let (n_rows, place) = (n_rows as u32, place as u32);
        work.waiting.sets.push(Waiting { like: alike.like, sides, n_rows, place });
        Waits::Yes
    }

    /// Tells all that wait. The places of those that are to be asked by themselves are put with
    /// others. What is known may be forgotten after this.
    pub(crate) fn tell_waiting(
        &self,
        how: (usize, bool),
        work: &mut WhatIfWork,
        alone: &mut Vec<u32>,
        told: &mut impl Told,
    ) {
        let mut waiting = std::mem::take(&mut work.waiting.sets);
        if let Some(fast) = self.beside() {
            waiting.sort_unstable_by_key(|one| (one.n_rows, one.like, one.place));
            let mut rest = waiting.as_slice();
            while let Some(first) = rest.first() {
                let mut classes = [&rest[..0]; LANES];
                let mut n = 0;
                while let Some(next) = rest.first().filter(|one| one.n_rows == first.n_rows)
                    && let Some(class) = classes.get_mut(n)
                {
                    let len = rest.iter().take_while(|one| one.like == next.like).count();
                    (*class, rest) = rest.split_at(len);
                    n += 1;
                }
                tell_classes((fast, &classes[..n]), how, work, told, alone);
            }
        }
        waiting.clear();
        work.waiting.sets = waiting;
        if let Some(walk) = &mut work.walk
            && walk.will_forget()
        {
            walk.make_room();
        }
    }
}

/// Tells sets of up to four kinds, each of which are like one another.
fn tell_classes(
    (fast, classes): (&Prepared, &[&[Waiting]]),
    how: (usize, bool),
    work: &mut WhatIfWork,
    told: &mut impl Told,
    alone: &mut Vec<u32>,
) {
    let (group, impedances) = how;
    let (views, plans) = &fast.groups[group];
    let WhatIfWork { walk: Some(walk), sight, shown, waiting, answered, .. } = work else { return };
    let firsts = || classes.iter().filter_map(|class| class.first());
    let meetings = firsts().map(|one| Meeting { n_rows: one.n_rows as usize, sides: one.sides });
    if !walk.solve_meetings(meetings, impedances) {
        // Too much cancels in one of them.
        alone.extend(classes.iter().copied().flatten().map(|one| one.place));
        return;
    }
    let shown = &mut shown[..plans.len()];
    waiting.others.resize(sight.len(), Sight::default());
    for ((lane, class), first) in classes.iter().enumerate().zip(firsts()) {
        let of_first = (lane, first.like);
        let attached = told.attached().filter(|_| impedances && fast.by_three[group]);
        let are_read = attached.is_some_and(|attached| {
            told.begin_attached(plans.len() / 3);
            waiting.touched.clear();
            let some = (sight.as_mut_slice(), &mut waiting.touched);
            let mut are_told = true;
            let read = |threes, open: &[Wide; 3], own: &[Wide; 3]| {
                let volts = attached_abreast(open, own, &attached);
                are_told &= volts.iter().all(Option::is_some);
                told.read(threes, volts);
            };
            walk.read_triples(group, of_first, some, read)
                && are_told
                && waiting.touched.iter().all(|&port| {
                    let port = port as usize;
                    tells(impedances, &plans[port..=port], sight, &mut shown[port..=port])
                })
        });
        if are_read {
            told.amend(shown, &waiting.touched);
        } else {
            walk.read_sides(
                &fast.rerooted,
                (group, views),
                of_first,
                impedances,
                sight.as_mut_slice(),
            );
            if !tells(impedances, plans, sight, shown) {
                alone.extend(class.iter().map(|one| one.place));
                continue;
            }
            told.begin(shown);
        }
        for one in *class {
            waiting.touched.clear();
            let others = (waiting.others.as_mut_slice(), &mut waiting.touched);
            walk.read_others(group, one.sides, impedances, others);
            match waiting.touch((plans, &fast.port_of[group]), impedances, sight, shown) {
                true => {
                    *answered += 1;
                    told.tell(one.place as usize, shown, &waiting.touched);
                }
                false => alone.push(one.place),
            }
            waiting.restore(sight, shown);
        }
    }
}

impl WaitingSets {
    /// Puts in the ports that are not as in others; whether they are told. Those touched are the
    /// ports after this.
    fn touch(
        &mut self,
        (plans, port_of): (&[PortPlan], &[u32]),
        impedances: bool,
        sight: &mut [Sight],
        shown: &mut [PortSight],
    ) -> bool {
        for touched in &mut self.touched {
            let (view, port) = (*touched as usize, port_of[*touched as usize]);
            let was =
                Touched { port, view: *touched, sight: sight[view], shown: shown[port as usize] };
            self.as_before.push(was);
            sight[view] = self.others[view];
            *touched = port;
        }
        self.touched.iter().all(|&port| {
            let port = port as usize;
            tells(impedances, &plans[port..=port], sight, &mut shown[port..=port])
        })
    }

    /// Takes them out again.
    fn restore(&mut self, sight: &mut [Sight], shown: &mut [PortSight]) {
        while let Some(Touched { port, view, sight: seen, shown: was }) = self.as_before.pop() {
            (sight[view as usize], shown[port as usize]) = (seen, was);
        }
    }
}
