//! Everything a person brings to the search.

use super::{Complaint, Means, Mended, Observation, Protected, Seen};

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
    /// Whether anything is said to have been put right.
    pub fn is_anything_mended(&self) -> bool {
        self.observations.iter().any(|one| matches!(one.seen, Seen::Mended(_)))
    }

    /// Whether a breaker or a device was found off.
    pub(super) fn is_anything_found_off(&self) -> bool {
        let is_it = |seen: &Seen| matches!(seen, Seen::Protection { did: Protected::FoundOff, .. });
        self.observations.iter().any(|one| is_it(&one.seen))
    }

    /// The box in which something was found last that is not said to be mended since.
    pub fn found_and_not_mended(&self) -> Option<&str> {
        let mut open: Option<&str> = None;
        for one in &self.observations {
            match &one.seen {
                Seen::Opened { place, found } if !found.is_empty() => open = Some(place),
                Seen::Mended(Mended::Box { place }) if open == Some(place) => open = None,
                _ => {}
            }
        }
        open
    }
}
