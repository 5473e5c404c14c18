//! Everything a person brings to the search.

use super::{Complaint, Means, Observation};

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
