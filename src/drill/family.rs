//! Families of circuits: what circuits drawn from one have in common, read from a file in the
//! notation of circuit files.
//!
//! `docs/family-file.md` teaches the form. Everything wrong with a file is said in one go, each
//! with its place and what was expected.

use crate::circuit::diagnostic::Diagnostics;
use crate::circuit::file::{FileKind, read_form};

mod check;
mod form;

pub(super) use form::{
    BreakerChoice, CableChoice, CurveWord, DeviceWord, EarthingWord, FamilyForm, LoadChoice,
    LoadWord, Number, Range, SupplyChoice, SystemWord,
};

/// A family of circuits, from which any number of drills can be drawn.
///
/// ```
/// use slotwise::drill::Family;
/// let family = Family::read(include_str!("../../circuits/families/workshops.ron")).unwrap();
/// assert_eq!(family.name(), "Workshops");
/// ```
#[derive(Clone, Debug)]
pub struct Family(FamilyForm);

impl Family {
    /// Reads a family file.
    ///
    /// # Errors
    ///
    /// Everything that is wrong with it, in the order of the text.
    ///
    /// ```
    /// use slotwise::drill::Family;
    /// let text = include_str!("../../circuits/families/workshops.ron");
    /// let said = Family::read(&text.replace("boxes:", "boxs:")).unwrap_err();
    /// assert_eq!(said[0].help.as_deref(), Some("did you mean `boxes`?"));
    /// ```
    pub fn read(text: &str) -> Result<Self, Diagnostics> {
        read_form(text, FileKind::Family, check::check).map(Self)
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        self.0.name.as_str()
    }

    pub(super) fn form(&self) -> &FamilyForm {
        &self.0
    }
}

/// The two ends of a range.
pub(super) fn ends((low, high): &Range) -> (f64, f64) {
    (low.value, high.value)
}

/// The two ends of a range of whole numbers.
pub(super) fn counts((low, high): &Range) -> (usize, usize) {
    (low.value.max(0.0) as usize, high.value.max(0.0) as usize)
}

/// A share or weight, or what it is where it is not stated.
pub(super) fn stated(number: &Option<Number>, otherwise: f64) -> f64 {
    number.as_ref().map_or(otherwise, |number| number.value)
}
