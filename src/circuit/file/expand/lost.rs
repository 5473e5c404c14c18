//! What is joined nowhere because the name of its place is wrong: a wire that it would take is not
//! forgotten.

use crate::circuit::file::form::Text;
use crate::circuit::file::limits::PROBLEMS_MAX;
use crate::circuit::file::near::nearest;

use super::Expansion;
use super::plan::Plan;

/// A box or a wired load whose place is not known.
pub(super) struct Lost<'f> {
    /// The place that was probably meant; none if it may be any.
    meant: Option<&'f str>,
    /// Its wires, if they are stated.
    wires: Option<Vec<&'f str>>,
}

impl<'f> Expansion<'f> {
    /// Boxes and wired loads whose place is not known.
    pub(super) fn lost(&self) -> Vec<Lost<'f>> {
        let form = self.form;
        let boxes = form.boxes.iter().filter_map(|place| {
            let from = place.from.as_ref()?;
            let carries = place.carries.as_ref();
            let wires = carries.map(|names| names.iter().map(Text::as_str).collect());
            self.lost_at(from, || self.feeding_names(&place.id), wires)
        });
        let wired = form.loads.iter().filter(|load| load.wired == Some(true));
        let loads = wired.filter_map(|load| {
            let across = load.across.as_ref();
            let wires = across.map(|(first, second)| vec![first.as_str(), second.as_str()]);
            let places = || form.boxes.iter().map(|place| place.id.as_str()).collect();
            self.lost_at(&load.at, places, wires)
        });
        // To look for what was meant by more takes long, and of more it is not said.
        boxes.chain(loads).take(PROBLEMS_MAX).collect()
    }

    fn lost_at(
        &self,
        place: &Text,
        known: impl FnOnce() -> Vec<&'f str>,
        wires: Option<Vec<&'f str>>,
    ) -> Option<Lost<'f>> {
        let is_known = self
            .names
            .get(place.as_str())
            .is_some_and(|(_, kind)| matches!(*kind, "box" | "circuit"));
        (!is_known).then(|| Lost { meant: nearest(place.as_str(), known().into_iter()), wires })
    }
}

impl Plan<'_> {
    /// Whether something whose place is not known may have this wire at this place.
    pub(super) fn may_be_joined(&self, place: &str, wire: &str) -> bool {
        self.lost.iter().any(|lost| {
            lost.meant.is_none_or(|meant| meant == place)
                && lost.wires.as_ref().is_none_or(|wires| wires.contains(&wire))
        })
    }
}
