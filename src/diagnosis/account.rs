//! Everything a person brings to the search.

use super::contradiction::clash;
use super::{Complaint, Means, Observation, ToldProblem};
use crate::circuit::Circuit;

/// What was complained of, what was seen since, and what there is to work with.
///
/// ```
/// use slotwise::diagnosis::{Account, Complaint};
/// let account = Account {
///     complaints: vec![Complaint::DeadFrom { place: "kiln".into() }],
///     ..Account::default()
/// };
/// assert!(account.observations.is_empty());
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Account {
    /// What was complained of.
    pub complaints: Vec<Complaint>,
    /// What was seen, in order.
    pub observations: Vec<Observation>,
    /// What there is to work with.
    pub means: Means,
}

impl Account {
    /// What of this another complaint contradicts: nothing can be so as both say.
    ///
    /// ```
    /// use slotwise::diagnosis::{Account, Complaint};
    /// # let studio = slotwise::circuit::file::read(
    /// #     r#"(
    /// #     format: 1,
    /// #     circuits: [(id: "c1", amperes: 20)],
    /// #     boxes: [(id: "door", from: "c1", feet: 30)],
    /// # )"#,
    /// # )
    /// # .unwrap()
    /// # .circuit;
    /// let complaints = vec![Complaint::Dead { places: vec!["door".into()] }];
    /// let account = Account { complaints, ..Account::default() };
    /// let works = Complaint::Works { places: vec!["door".into()] };
    /// assert!(account.contradicted_by(&studio, &works).is_some());
    /// ```
    pub fn contradicted_by(&self, circuit: &Circuit, complaint: &Complaint) -> Option<ToldProblem> {
        clash(circuit, self.complaints.iter(), complaint)
    }
}
