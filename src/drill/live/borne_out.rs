//! Which faults a student's own tests show: those without which a test would have shown something
//! else.

use crate::condition::Condition;
use crate::drill::reading::{DrillReading, alike};
use crate::drill::scene::{LoadsStand, Scene, Standing};
use crate::instrument::MeasureProblem;

use super::{DEAD_BELOW_VOLT, Live};

/// What is known of a fault from a student's own tests.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Known {
    /// Nothing: who names it guesses, or has it from the sheet.
    Nothing,
    /// A test showed something that it would not show without the fault.
    Tested,
    /// It was seen in the box that was opened.
    Seen,
}

impl Live {
    /// Takes note of the faults that a test made now shows. What has no answer shows nothing.
    pub(super) fn note<T>(
        &mut self,
        look: impl Fn(&Scene<'_>, &Standing) -> Result<T, MeasureProblem>,
        same: impl Fn(&T, &T) -> bool,
    ) {
        let open: Vec<usize> = (0..self.known.len())
            .filter(|&fault| !self.is_named(fault) && self.known_of(fault) == Known::Nothing)
            .collect();
        let shows = |without: Option<usize>| {
            let scene = Scene::new(&self.drill.circuit).ok()?;
            let standing = scene.standing(&self.stands(without), &LoadsStand::as_found()).ok()?;
            look(&scene, &standing).ok()
        };
        if open.is_empty() {
            return;
        }
        let Some(now) = shows(None) else { return };
        let shown: Vec<usize> = open
            .into_iter()
            .filter(|&fault| shows(Some(fault)).is_some_and(|sound| !same(&now, &sound)))
            .collect();
        shown.into_iter().for_each(|fault| self.learns(fault, Known::Tested));
    }

    /// The same of what an instrument shows at a receptacle. What the sheet says already is no test
    /// of the student's.
    pub(super) fn note_reading(&mut self, (tool, at): (&str, &str), readings: &[DrillReading]) {
        let is_here = |one: &&DrillReading| one.tool == tool && one.at == at;
        let sheet: Vec<DrillReading> = self.drill.first.iter().filter(is_here).cloned().collect();
        if self.set == self.found_set && alike(&sheet, readings) {
            return;
        }
        let read = |scene: &Scene<'_>, standing: &Standing| {
            let all = scene.readings_at(standing, &LoadsStand::as_set(), tool, at)?;
            Ok(all.unwrap_or_default())
        };
        self.note(read, |one, other| alike(one, other));
    }

    /// The same of what trips.
    pub(super) fn note_trips(&mut self) {
        self.note(|_, standing| Ok(standing.tripped.clone()), |one, other| one == other);
    }

    /// The same of a rated instrument on every conductor of a box.
    pub(super) fn note_volts(&mut self, place: &str) {
        let place = place.to_owned();
        self.note(
            move |_, standing| Ok(super::volt_in(standing, &place)),
            |one, other| (one - other).abs() < DEAD_BELOW_VOLT,
        );
    }

    /// What is known of a fault.
    pub(super) fn known_of(&self, fault: usize) -> Known {
        self.known.get(fault).copied().unwrap_or(Known::Nothing)
    }

    pub(super) fn learns(&mut self, fault: usize, known: Known) {
        if let Some(before) = self.known.get_mut(fault) {
            *before = known.max(*before);
        }
    }

    /// What is wrong and set now, with one fault mended if that is asked.
    pub(super) fn stands(&self, without: Option<usize>) -> Condition {
        let mut condition = Condition::default();
        for (place, fault) in self.drill.faults.iter().enumerate() {
            if !self.is_named(place) && Some(place) != without {
                fault.apply(&mut condition);
            }
        }
        condition.breakers.extend(self.set.breakers.clone());
        condition.switches.extend(self.set.switches.clone());
        condition.loads.extend(self.set.loads.clone());
        condition
    }
}
