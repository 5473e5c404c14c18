//! Many sets of changes, each read at every port of a group: those that can be are solved side by
//! side.

use super::prepared::Prepared;
use super::{
    Beside, CANCELLATION_SUSPECT, Change, Known, PortSight, Refusal, Walk, WhatIf, WhatIfWork,
    exceeds,
};

/// How each is read: the group, and whether with impedances.
type How = (usize, bool);

impl WhatIf {
    /// What each port of a group shows with each of these sets of changes put, as [`WhatIf::put`] and
    /// [`WhatIf::read`] would say of one after the other, but quicker. `told` gets the place of a set
    /// and its answer, which stays until the next; the sets come in an order of their own, each once.
    /// Sets that have something in common are best neighbours. The last of the list stays put.
    ///
    /// # Errors
    /// [`Refusal`]: there is no such group, or the room is that of another network.
    ///
    /// ```
    /// use slotwise::netlist::{Law, Netlist, Role};
    /// use slotwise::solution::WhatIf;
    /// let mut netlist = Netlist::new(60.0);
    /// let [hot, rod] = ["hot", "rod"].map(|name| netlist.node(&name.into()));
    /// let wire = netlist.add("wire", hot, rod, Role::Wire, Law::resistance(1.0))?;
    /// netlist.add("soil", rod, Netlist::EARTH, Role::Electrode, Law::resistance(25.0))?;
    /// let whatif = WhatIf::new(&netlist, &[], &[vec![(hot, Netlist::EARTH)]])?;
    /// let sets = [1.0, 2.0, 3.0].map(|ohm| [whatif.change(wire, Law::resistance(ohm)).unwrap()]);
    /// let mut seen_ohm = [0.0; 3];
    /// whatif.read_each(&sets, 0, &mut whatif.work(), |place, seen| {
    ///     seen_ohm[place] = seen.unwrap()[0].impedance.unwrap().resistance_ohm;
    /// })?;
    /// assert!(seen_ohm.iter().zip([26.0, 27.0, 28.0]).all(|(seen, ohm)| (seen - ohm).abs() < 1e-12));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn read_each<S: AsRef<[Change]>>(
        &self,
        sets: &[S],
        group: usize,
        work: &mut WhatIfWork,
        told: impl FnMut(usize, Result<&[PortSight], Refusal>),
    ) -> Result<(), Refusal> {
        self.each(sets, (group, true), work, told)
    }

    /// The same without the impedances that the ports see, which takes half the time.
    ///
    /// # Errors
    /// As [`WhatIf::read_each`].
    pub fn read_voltages_each<S: AsRef<[Change]>>(
        &self,
        sets: &[S],
        group: usize,
        work: &mut WhatIfWork,
        told: impl FnMut(usize, Result<&[PortSight], Refusal>),
    ) -> Result<(), Refusal> {
        self.each(sets, (group, false), work, told)
    }

    /// Says that a change, or some that are made together, will be asked for so often in companies of
    /// their own, so that what is kept of it is made at once.
    /// Returns what they are known by until that is forgotten, if two such can be told by
    /// [`WhatIf::wait`].
    pub(crate) fn expect(
        &self,
        changes: &[Change],
        n: u32,
        work: &mut WhatIfWork,
    ) -> Option<Known> {
        let (Some(fast), Some(walk)) = (&self.fast, &mut work.walk) else { return None };
        if !fast.branchings(changes, &mut work.branching) {
            return None;
        }
        let known = walk.expect(&work.branching, n);
        known.filter(|_| self.beside().is_some())
    }

    /// What sets are solved by side by side, if any are.
    pub(super) fn beside(&self) -> Option<&Prepared> {
        self.fast.as_ref().filter(|fast| {
            !fast.has_devices() && !exceeds(fast.rerooted.cancellation, CANCELLATION_SUSPECT)
        })
    }

    /// How often what was said to come was forgotten, for want of room.
    pub(crate) fn forgotten(&self, work: &WhatIfWork) -> u32 {
        work.walk.as_ref().map_or(0, Walk::forgotten)
    }

    fn each<S: AsRef<[Change]>>(
        &self,
        sets: &[S],
        how: How,
        work: &mut WhatIfWork,
        mut told: impl FnMut(usize, Result<&[PortSight], Refusal>),
    ) -> Result<(), Refusal> {
        self.is_own(work)?;
        if how.0 >= self.groups.len() {
            return Err(Refusal::NoSuchGroup { group: how.0 });
        }
        let Some(last) = sets.len().checked_sub(1) else { return Ok(()) };
        let fast = self.beside();
        if let Some(walk) = &mut work.walk {
            walk.wait_no_more();
        }
        for (place, set) in sets[..last].iter().enumerate() {
            let set = set.as_ref();
            if let Some(fast) = fast
                && fast.branchings(set, &mut work.branching)
            {
                if work.walk.as_ref().is_some_and(|walk| walk.must_meet()) {
                    self.meet((fast, sets), how, work, &mut told);
                    // What was put for those that could not meet is not this.
                    fast.branchings(set, &mut work.branching);
                }
                if self.go_beside((fast, place, set), how, work, &mut told) {
                    continue;
                }
                // What is walked alone may forget sides that others wait with.
                self.meet((fast, sets), how, work, &mut told);
            }
            told(place, self.alone(set, how, work));
        }
        if let Some(fast) = fast {
            self.meet((fast, sets), how, work, &mut told);
        }
        told(last, self.alone(sets[last].as_ref(), how, work));
        Ok(())
    }

    fn alone<'w>(
        &self,
        set: &[Change],
        how: How,
        work: &'w mut WhatIfWork,
    ) -> Result<&'w [PortSight], Refusal> {
        self.put_with(set, how.1, work)?;
        self.read_with(how, work)
    }

    /// Whether a set was told, or waits for others.
    fn go_beside(
        &self,
        (fast, place, set): (&Prepared, usize, &[Change]),
        (group, impedances): How,
        work: &mut WhatIfWork,
        told: &mut impl FnMut(usize, Result<&[PortSight], Refusal>),
    ) -> bool {
        let Some(walk) = &mut work.walk else { return false };
        let changes = (place as u32, work.branching.as_slice());
        match walk.go_beside(&fast.rerooted, changes, impedances) {
            Beside::Waits => true,
            Beside::Solved { cancellation } => {
                if exceeds(cancellation, CANCELLATION_SUSPECT) {
                    return false;
                }
                work.answered += 1;
                work.impedances = impedances;
                (work.whole, work.settled) = (None, None);
                if !self.read_fast((group, impedances), work) {
                    return self.tell_whole((place, set), (group, impedances), work, told);
                }
                told(place, Ok(&work.shown[..self.groups[group].len()]));
                true
            }
        }
    }

    /// Tells a set that only a whole solve answers.
    fn tell_whole(
        &self,
        (place, set): (usize, &[Change]),
        how: How,
        work: &mut WhatIfWork,
        told: &mut impl FnMut(usize, Result<&[PortSight], Refusal>),
    ) -> bool {
        work.changes.clear();
        work.changes.extend_from_slice(set);
        match self.solve_whole(work) {
            Ok(()) => told(place, self.read_with(how, work)),
            Err(refusal) => told(place, Err(refusal)),
        }
        work.whole = None;
        true
    }

    /// Solves the sets that wait and tells them.
    fn meet<S: AsRef<[Change]>>(
        &self,
        (fast, sets): (&Prepared, &[S]),
        how: How,
        work: &mut WhatIfWork,
        told: &mut impl FnMut(usize, Result<&[PortSight], Refusal>),
    ) {
        let (group, impedances) = how;
        let Some(walk) = &mut work.walk else { return };
        let places = walk.waiting();
        if !walk.solve_abreast(impedances) {
            // Too much cancels in one of them.
            walk.wait_no_more();
            for place in places.map(|place| place as usize) {
                told(place, self.alone(sets[place].as_ref(), how, work));
            }
            return;
        }
        let n_ports = self.groups[group].len();
        for (lane, place) in places.enumerate() {
            let place = place as usize;
            let Some(walk) = &mut work.walk else { return };
            work.answered += 1;
            let lane = (walk, Some(lane));
            match fast.read_out(how, lane, &mut work.sight, &mut work.shown) {
                true => told(place, Ok(&work.shown[..n_ports])),
                false => _ = self.tell_whole((place, sets[place].as_ref()), how, work, told),
            }
        }
        if let Some(walk) = &mut work.walk {
            walk.wait_no_more();
        }
    }
}
