//! Many conditions read at all pairs of a group: those that can be are solved side by side.

use super::{Change, ManyConditions, ManyWork, MeasureProblem, PortSight};
use crate::network::{LANES, Refusal};
use crate::quantity::{Impedance, Phasor};
use crate::solution::{Admittances, SlotsSight, Told, Waits};

/// Sets whose changes are gathered at once.
const SETS: usize = 256;

/// Sets put off at most that are asked by themselves.
const OTHERS_MAX: usize = 1 << 16;

/// Whoever is told what the ports of a group show, or why there is no such condition.
trait TellsMany: Told {
    fn fail(&mut self, place: usize, problem: MeasureProblem);
}

/// Tells what each port shows.
struct EachPort<F>(F);

impl<F: FnMut(usize, Result<&[PortSight], MeasureProblem>)> Told for EachPort<F> {
    fn begin(&mut self, _: &[PortSight]) {}

    fn tell(&mut self, place: usize, shown: &[PortSight], _: &[u32]) {
        (self.0)(place, Ok(shown));
    }

    fn refuse(&mut self, place: usize, refusal: Refusal) {
        self.fail(place, refusal.into());
    }
}

impl<F: FnMut(usize, Result<&[PortSight], MeasureProblem>)> TellsMany for EachPort<F> {
    fn fail(&mut self, place: usize, problem: MeasureProblem) {
        (self.0)(place, Err(problem));
    }
}

/// What something attached to the three slots of a receptacle reads.
type Attached = Option<[Phasor; 3]>;

/// Attaches the same to each three ports in turn, and tells what it reads.
struct EachReceptacle<F> {
    burden: [Option<Impedance>; 3],
    volts: Vec<Attached>,
    /// Receptacles that are not as was said at the beginning, as they were then.
    as_before: Vec<(usize, Attached)>,
    told: F,
}

impl<F: FnMut(usize, Result<&[Attached], MeasureProblem>)> Told for EachReceptacle<F> {
    fn begin(&mut self, shown: &[PortSight]) {
        let (receptacles, _) = shown.as_chunks();
        self.volts.clear();
        let attached = |ports| SlotsSight::attached_to(ports, self.burden);
        self.volts.extend(receptacles.iter().map(attached));
    }

    fn attached(&self) -> Option<Admittances> {
        Some(Admittances::of(self.burden))
    }

    fn begin_attached(&mut self, n: usize) {
        self.volts.resize(n, None);
    }

    fn read(&mut self, receptacles: [u32; LANES], volts: [Attached; LANES]) {
        for (receptacle, volts) in receptacles.into_iter().zip(volts) {
            if let Some(own) = self.volts.get_mut(receptacle as usize) {
                *own = volts;
            }
        }
    }

    fn amend(&mut self, shown: &[PortSight], touched: &[u32]) {
        let (receptacles, _) = shown.as_chunks();
        let mut before = usize::MAX;
        for receptacle in touched.iter().map(|&port| port as usize / 3) {
            if receptacle != before
                && let (Some(ports), Some(volts)) =
                    (receptacles.get(receptacle), self.volts.get_mut(receptacle))
            {
                *volts = SlotsSight::attached_to(ports, self.burden);
            }
            before = receptacle;
        }
    }

    fn tell(&mut self, place: usize, shown: &[PortSight], touched: &[u32]) {
        let (receptacles, _) = shown.as_chunks();
        for receptacle in touched.iter().map(|&port| port as usize / 3) {
            if self.as_before.iter().any(|&(other, _)| other == receptacle) {
                continue;
            }
            let (Some(ports), Some(volts)) =
                (receptacles.get(receptacle), self.volts.get_mut(receptacle))
            else {
                continue;
            };
            self.as_before.push((receptacle, *volts));
            *volts = SlotsSight::attached_to(ports, self.burden);
        }
        (self.told)(place, Ok(&self.volts));
        for (receptacle, volts) in self.as_before.drain(..) {
            self.volts[receptacle] = volts;
        }
    }

    fn refuse(&mut self, place: usize, refusal: Refusal) {
        self.fail(place, refusal.into());
    }
}

impl<F: FnMut(usize, Result<&[Attached], MeasureProblem>)> TellsMany for EachReceptacle<F> {
    fn fail(&mut self, place: usize, problem: MeasureProblem) {
        (self.told)(place, Err(problem));
    }
}

/// Sets gathered, by their places, and where their changes end among all.
struct Gathered {
    place: [usize; SETS],
    end: [usize; SETS],
    n: usize,
}

impl ManyConditions<'_> {
    /// What each pair of a group shows in each of many conditions, as [`ManyConditions::put`] and
    /// [`ManyConditions::read`] would say of one after the other, but quicker. `told` gets the place
    /// of a condition and its answer, which stays until the next, or why there is none; they come in
    /// an order of their own, each once. What many have in common is reckoned at once, so the more
    /// are asked for together the better, best all pairs of the changes of one box with others. The
    /// last of the list stays put.
    ///
    /// # Errors
    ///
    /// There is no such group, or the room is that of another.
    ///
    /// ```
    /// use slotwise::condition::{Condition, catalogue::catalogue};
    /// use slotwise::instrument::ManyConditions;
    /// let text = include_str!("../../../circuits/pottery-studio.ron");
    /// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
    /// let catalogue = catalogue(&circuit);
    /// let changes: Vec<Condition> =
    ///     catalogue.faults().iter().map(|fault| fault.change.clone()).collect();
    /// let slots = vec![("kiln.hot".into(), "kiln.neutral".into())];
    /// let many = ManyConditions::new(&circuit, &Condition::default(), &changes, &[slots]).unwrap();
    /// let pairs: Vec<[usize; 2]> =
    ///     (0..40).flat_map(|one| (0..one).map(move |other| [other, one])).collect();
    /// let mut n_dead = 0;
    /// many.read_each(&pairs, 0, &mut many.work(), |_, seen| {
    ///     let volt = seen.ok().and_then(|seen| seen[0].voltage_volt);
    ///     n_dead += usize::from(volt.is_some_and(|volt| volt.magnitude() < 1.0));
    /// })
    /// .unwrap();
    /// assert!(n_dead > 0 && n_dead < pairs.len());
    /// ```
    pub fn read_each<S: AsRef<[usize]>>(
        &self,
        sets: &[S],
        group: usize,
        work: &mut ManyWork,
        told: impl FnMut(usize, Result<&[PortSight], MeasureProblem>),
    ) -> Result<(), MeasureProblem> {
        self.each(sets, (group, true), work, &mut EachPort(told))
    }

    /// The same without the impedances, which is quicker.
    ///
    /// # Errors
    ///
    /// As [`ManyConditions::read_each`].
    pub fn read_voltages_each<S: AsRef<[usize]>>(
        &self,
        sets: &[S],
        group: usize,
        work: &mut ManyWork,
        told: impl FnMut(usize, Result<&[PortSight], MeasureProblem>),
    ) -> Result<(), MeasureProblem> {
        self.each(sets, (group, false), work, &mut EachPort(told))
    }

    /// What something attached to the three slots of every receptacle, one after the other, reads in
    /// each of many conditions: as [`ManyConditions::read_each`] with
    /// [`SlotsSight::attached`] for each three ports of the group, hot-neutral, hot-ground and
    /// neutral-ground, but quicker, as what many conditions have in common is attached once. `None`
    /// where the voltages are undetermined.
    ///
    /// # Errors
    ///
    /// As [`ManyConditions::read_each`].
    ///
    /// ```
    /// use slotwise::condition::{Condition, catalogue::catalogue};
    /// use slotwise::instrument::ManyConditions;
    /// use slotwise::quantity::Impedance;
    /// let text = include_str!("../../../circuits/pottery-studio.ron");
    /// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
    /// let catalogue = catalogue(&circuit);
    /// let changes: Vec<Condition> =
    ///     catalogue.faults().iter().map(|fault| fault.change.clone()).collect();
    /// let slots = [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")]
    ///     .map(|(p, q)| (format!("kiln.{p}").as_str().into(), format!("kiln.{q}").as_str().into()));
    /// let groups = [slots.to_vec()];
    /// let many = ManyConditions::new(&circuit, &Condition::default(), &changes, &groups).unwrap();
    /// let pairs: Vec<[usize; 2]> =
    ///     (0..40).flat_map(|one| (0..one).map(move |other| [other, one])).collect();
    /// let tester = [Some(Impedance::resistance(40e3)); 3];
    /// let mut n_dark = 0;
    /// many.read_attached_each(&pairs, (0, tester), &mut many.work(), |_, volts| {
    ///     let volts = volts.ok().and_then(|volts| volts[0]);
    ///     n_dark += usize::from(volts.is_some_and(|volts| volts[0].magnitude() < 30.0));
    /// })
    /// .unwrap();
    /// assert!(n_dark > 0 && n_dark < pairs.len());
    /// ```
    pub fn read_attached_each<S: AsRef<[usize]>>(
        &self,
        sets: &[S],
        (group, burden): (usize, [Option<Impedance>; 3]),
        work: &mut ManyWork,
        told: impl FnMut(usize, Result<&[Option<[Phasor; 3]>], MeasureProblem>),
    ) -> Result<(), MeasureProblem> {
        let n = self.ports(group).len() / 3;
        let (volts, as_before) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let mut told = EachReceptacle { burden, volts, as_before, told };
        self.each(sets, (group, true), work, &mut told)
    }

    fn each<S: AsRef<[usize]>>(
        &self,
        sets: &[S],
        how: (usize, bool),
        work: &mut ManyWork,
        told: &mut impl TellsMany,
    ) -> Result<(), MeasureProblem> {
        if how.0 >= self.groups.len() {
            return Err(Refusal::NoSuchGroup { group: how.0 }.into());
        }
        let nothing: &[&[Change]] = &[];
        self.whatif.read_each(nothing, how.0, &mut work.inner, |_, _| {})?;
        let Some((last, others)) = sets.split_last() else { return Ok(()) };
        self.count(others, work);
        work.others.clear();
        work.whole = None;
        let mut forgotten = None;
        for (place, set) in others.iter().enumerate() {
            if work.others.len() >= OTHERS_MAX {
                self.tell_all(sets, how, work, told)?;
            }
            self.expect(&mut forgotten, work);
            let mut waits = self.wait((place, set.as_ref()), how.0, work);
            if matches!(waits, Waits::Full) {
                self.tell_all(sets, how, work, told)?;
                self.expect(&mut forgotten, work);
                waits = self.wait((place, set.as_ref()), how.0, work);
            }
            if !matches!(waits, Waits::Yes) {
                work.others.push(place as u32);
            }
        }
        self.tell_all(sets, how, work, told)?;
        self.tell_alone((others.len(), last.as_ref()), how, work, told);
        Ok(())
    }

    /// Two changes that have nothing to do with one another wait for others like them.
    fn wait(&self, (place, set): (usize, &[usize]), group: usize, work: &mut ManyWork) -> Waits {
        let known = |change: usize| work.known.get(change).copied().flatten();
        match *set {
            [one, other] => match [known(one), known(other)] {
                [Some(a), Some(b)] if self.are_apart(set) => {
                    self.whatif.wait((place, [a, b]), group, &mut work.inner)
                }
                _ => Waits::No,
            },
            _ => Waits::No,
        }
    }

    /// Solves and tells a set by itself.
    fn tell_alone(
        &self,
        (place, set): (usize, &[usize]),
        (group, impedances): (usize, bool),
        work: &mut ManyWork,
        told: &mut impl TellsMany,
    ) {
        let seen = self.put(set, work).and_then(|()| match impedances {
            true => self.read(group, work),
            false => self.read_voltages(group, work),
        });
        match seen {
            Ok(seen) => told.tell_one(place, Ok(seen)),
            Err(problem) => told.fail(place, problem),
        }
    }

    /// Counts how often each change is asked for.
    fn count<S: AsRef<[usize]>>(&self, sets: &[S], work: &mut ManyWork) {
        work.n_asked.clear();
        work.n_asked.resize(self.changes.len(), 0);
        for change in sets.iter().flat_map(AsRef::as_ref) {
            if let Some(n) = work.n_asked.get_mut(*change) {
                *n = n.saturating_add(1);
            }
        }
    }

    /// Says what is to come, again if it was forgotten.
    fn expect(&self, forgotten: &mut Option<u32>, work: &mut ManyWork) {
        let now = Some(self.whatif.forgotten(&work.inner));
        if now == *forgotten {
            return;
        }
        *forgotten = now;
        let ManyWork { inner, n_asked, known, .. } = work;
        for ((wired, &n), known) in self.wired.iter().zip(&*n_asked).zip(known) {
            *known = match (n, &wired.edits) {
                (0, _) | (_, None) => None,
                _ => self.whatif.expect(&wired.changes, n, inner),
            };
        }
    }

    /// Tells all that wait, then those that are asked by themselves.
    fn tell_all<S: AsRef<[usize]>>(
        &self,
        sets: &[S],
        how: (usize, bool),
        work: &mut ManyWork,
        told: &mut impl TellsMany,
    ) -> Result<(), MeasureProblem> {
        self.whatif.tell_waiting(how, &mut work.inner, &mut work.others, told);
        let mut others = std::mem::take(&mut work.others);
        others.sort_unstable();
        let mut gathered = Gathered { place: [0; SETS], end: [0; SETS], n: 0 };
        for some in others.chunks(SETS) {
            work.whole = None;
            work.changes.clear();
            gathered.n = 0;
            let all = || some.iter().map(|&place| (place as usize, sets[place as usize].as_ref()));
            for (place, set) in all() {
                if self.are_apart(set) {
                    let wired = set.iter().map(|&change| &self.wired[change]);
                    wired.for_each(|wired| work.changes.extend_from_slice(&wired.changes));
                    gathered.place[gathered.n] = place;
                    gathered.end[gathered.n] = work.changes.len();
                    gathered.n += 1;
                }
            }
            self.tell(&gathered, how, work, told)?;
            let mut told_already = gathered.place[..gathered.n].iter().peekable();
            for (place, set) in all() {
                if told_already.next_if_eq(&&place).is_none() {
                    self.tell_alone((place, set), how, work, told);
                }
            }
        }
        others.clear();
        work.others = others;
        Ok(())
    }

    /// Solves and tells the sets that were gathered.
    fn tell(
        &self,
        Gathered { place, end, n }: &Gathered,
        (group, impedances): (usize, bool),
        work: &mut ManyWork,
        told: &mut impl TellsMany,
    ) -> Result<(), MeasureProblem> {
        let ManyWork { inner, changes, .. } = work;
        let mut sets: [&[Change]; SETS] = [&[]; SETS];
        let mut from = 0;
        for (set, &end) in sets.iter_mut().zip(&end[..*n]) {
            *set = &changes[from..end];
            from = end;
        }
        let tell = |at: usize, seen: Result<&[PortSight], Refusal>| {
            told.tell_one(place[at], seen);
        };
        match impedances {
            true => self.whatif.read_each(&sets[..*n], group, inner, tell)?,
            false => self.whatif.read_voltages_each(&sets[..*n], group, inner, tell)?,
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A receptacle of 120 V or less with an ohm in hot and neutral each and half of one in ground.
    fn receptacle(volt: f64) -> [PortSight; 3] {
        let port = |volt, ohm| PortSight {
            voltage_volt: Some(Phasor::new(volt, 0.0)),
            impedance: Some(Impedance::resistance(ohm)),
        };
        [port(volt, 2.0), port(volt, 1.5), port(0.0, 1.5)]
    }

    fn shown(volts: [f64; 3]) -> Vec<PortSight> {
        volts.into_iter().flat_map(receptacle).collect()
    }

    /// A load of 22 ohms: of 120 V it draws 5 A, which hot and neutral lose 5 V of each.
    fn loaded(volt: f64) -> Option<[f64; 3]> {
        let ampere = volt / 24.0;
        Some([22.0 * ampere, volt - ampere, ampere])
    }

    fn assert_volts(found: &[Attached], expected: [Option<[f64; 3]>; 3]) {
        assert_eq!(found.len(), 3);
        for (found, expected) in found.iter().zip(expected) {
            assert_eq!(found.is_some(), expected.is_some(), "{found:?}");
            for (found, expected) in found.iter().flatten().zip(expected.iter().flatten()) {
                assert!((*found - Phasor::new(*expected, 0.0)).magnitude() < 1e-9, "{found:?}");
            }
        }
    }

    #[test]
    fn a_load_in_each_receptacle_in_turn_is_read_again_only_where_something_has_changed() {
        let burden = [Some(Impedance::resistance(22.0)), None, None];
        let mut told: Vec<(usize, Vec<Attached>)> = Vec::new();
        let take = |place: usize, volts: Result<&[Attached], MeasureProblem>| {
            told.push((place, volts.unwrap().to_vec()));
        };
        let (volts, as_before) = (Vec::new(), Vec::new());
        let mut each = EachReceptacle { burden, volts, as_before, told: take };
        assert!(each.attached().is_some(), "they can be attached to four at once");
        each.begin_attached(3);
        // Ports of the second receptacle and of the third, one of them twice.
        each.amend(&shown([120.0, 96.0, 72.0]), &[3, 5, 8]);
        assert_volts(&each.volts, [None, loaded(96.0), loaded(72.0)]);
        each.begin(&shown([120.0, 96.0, 72.0]));
        assert_volts(&each.volts, [120.0, 96.0, 72.0].map(loaded));
        // What is told of one set is not left for the next.
        each.tell(4, &shown([24.0, 48.0, 24.0]), &[4, 3]);
        each.tell(7, &shown([24.0, 48.0, 24.0]), &[0, 8]);
        each.tell(9, &shown([24.0, 48.0, 24.0]), &[]);
        let places: Vec<usize> = told.iter().map(|(place, _)| *place).collect();
        assert_eq!(places, [4, 7, 9]);
        assert_volts(&told[0].1, [120.0, 48.0, 72.0].map(loaded));
        assert_volts(&told[1].1, [24.0, 96.0, 24.0].map(loaded));
        assert_volts(&told[2].1, [120.0, 96.0, 72.0].map(loaded));
    }

    #[test]
    fn a_condition_without_an_answer_is_told_with_the_reason() {
        let mut said = Vec::new();
        let mut ports = EachPort(|place, seen: Result<&[PortSight], MeasureProblem>| {
            said.push((place, seen.unwrap_err()));
        });
        ports.refuse(3, Refusal::OutOfRange);
        let take = |place, volts: Result<&[Attached], MeasureProblem>| {
            said.push((place, volts.unwrap_err()));
        };
        let (volts, as_before) = (Vec::new(), Vec::new());
        let mut each = EachReceptacle { burden: [None; 3], volts, as_before, told: take };
        each.refuse(5, Refusal::OutOfRange);
        let reason = || MeasureProblem::from(Refusal::OutOfRange);
        assert_eq!(said, [(3, reason()), (5, reason())]);
    }
}
