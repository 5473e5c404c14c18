//! Many conditions read at all pairs of a group: those that can be are solved side by side.

use super::{Change, ManyConditions, ManyWork, MeasureProblem, PortSight};
use crate::network::Refusal;

/// Sets whose changes are gathered at once.
const SETS: usize = 256;

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
    /// are asked for together the better, and those that share a change are best neighbours. The
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
        self.each(sets, (group, true), work, told)
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
        self.each(sets, (group, false), work, told)
    }

    fn each<S: AsRef<[usize]>>(
        &self,
        sets: &[S],
        how: (usize, bool),
        work: &mut ManyWork,
        mut told: impl FnMut(usize, Result<&[PortSight], MeasureProblem>),
    ) -> Result<(), MeasureProblem> {
        if how.0 >= self.groups.len() {
            return Err(Refusal::NoSuchGroup { group: how.0 }.into());
        }
        let nothing: &[&[Change]] = &[];
        self.whatif.read_each(nothing, how.0, &mut work.inner, |_, _| {})?;
        let Some((last, others)) = sets.split_last() else { return Ok(()) };
        self.count(others, work);
        let mut forgotten = None;
        let mut gathered = Gathered { place: [0; SETS], end: [0; SETS], n: 0 };
        for (nth, some) in others.chunks(SETS).enumerate() {
            // What was forgotten is said again.
            let now = Some(self.whatif.forgotten(&work.inner));
            if now != forgotten {
                forgotten = now;
                self.expect(work);
            }
            work.whole = None;
            work.changes.clear();
            gathered.n = 0;
            for (at, set) in some.iter().enumerate() {
                if self.are_apart(set.as_ref()) {
                    let wired = set.as_ref().iter().map(|&change| &self.wired[change]);
                    wired.for_each(|wired| work.changes.extend_from_slice(&wired.changes));
                    gathered.place[gathered.n] = nth * SETS + at;
                    gathered.end[gathered.n] = work.changes.len();
                    gathered.n += 1;
                }
            }
            self.tell(&gathered, how, work, &mut told)?;
            let mut told_already = gathered.place[..gathered.n].iter().peekable();
            for (at, set) in some.iter().enumerate() {
                let place = nth * SETS + at;
                if told_already.next_if_eq(&&place).is_none() {
                    told(place, self.alone(set.as_ref(), how, work));
                }
            }
        }
        told(others.len(), self.alone(last.as_ref(), how, work));
        Ok(())
    }

    fn alone<'w>(
        &self,
        set: &[usize],
        (group, impedances): (usize, bool),
        work: &'w mut ManyWork,
    ) -> Result<&'w [PortSight], MeasureProblem> {
        self.put(set, work)?;
        match impedances {
            true => self.read(group, work),
            false => self.read_voltages(group, work),
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

    fn expect(&self, work: &mut ManyWork) {
        for (wired, &n) in self.wired.iter().zip(&work.n_asked).filter(|(_, n)| **n > 0) {
            self.whatif.expect(&wired.changes, n, &mut work.inner);
        }
    }

    /// Solves and tells the sets that were gathered.
    fn tell(
        &self,
        Gathered { place, end, n }: &Gathered,
        (group, impedances): (usize, bool),
        work: &mut ManyWork,
        told: &mut impl FnMut(usize, Result<&[PortSight], MeasureProblem>),
    ) -> Result<(), MeasureProblem> {
        let ManyWork { inner, changes, .. } = work;
        let mut sets: [&[Change]; SETS] = [&[]; SETS];
        let mut from = 0;
        for (set, &end) in sets.iter_mut().zip(&end[..*n]) {
            *set = &changes[from..end];
            from = end;
        }
        let tell = |at: usize, seen: Result<&[PortSight], Refusal>| {
            told(place[at], seen.map_err(MeasureProblem::from));
        };
        match impedances {
            true => self.whatif.read_each(&sets[..*n], group, inner, tell)?,
            false => self.whatif.read_voltages_each(&sets[..*n], group, inner, tell)?,
        }
        Ok(())
    }
}
