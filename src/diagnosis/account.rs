//! Everything a person brings to the search.

use super::contradiction::clash;
use super::{Complaint, Found, Means, Mended, Observation, Protected, Seen, ToldProblem};
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

/// One thing that an inquiry was told.
///
/// ```
/// use slotwise::diagnosis::{Complaint, Told};
/// let told = Told::Complaint(Complaint::HalfTheHouse);
/// assert!(matches!(told, Told::Complaint(_)));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// What was complained of.
    Complaint(Complaint),
    /// What was seen.
    Observation(Observation),
}

impl Account {
    /// Whether anything is said to have been put right.
    pub fn is_anything_mended(&self) -> bool {
        self.observations.iter().any(|one| matches!(one.seen, Seen::Mended(_)))
    }

    /// The box in which something was found last that is not said to be mended since.
    pub fn found_and_not_mended(&self) -> Option<&str> {
        let mut open: Option<(&str, &[Found])> = None;
        for one in &self.observations {
            match &one.seen {
                Seen::Opened { place, found } if !found.is_empty() => open = Some((place, found)),
                Seen::Mended(what) => {
                    let is_it = |&(at, found): &(&str, &[Found])| match what {
                        Mended::Box { place } => at == place,
                        Mended::Cable { cable } => found.iter().all(|one| one.is_of_cable(cable)),
                        Mended::Supply => found.iter().all(Found::is_of_the_service),
                        Mended::Load { .. } => false,
                    };
                    open = open.filter(|one| !is_it(one));
                }
                _ => {}
            }
        }
        open.map(|(place, _)| place)
    }

    /// What of this another complaint contradicts: nothing can be so as both say. What was found off
    /// may have been closed since, so that what was dead works now.
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
        self.contradicts(circuit, self.complaints.iter(), complaint)
    }

    /// What of the complaints told before another one contradicts.
    pub(super) fn contradicts<'c>(
        &self,
        circuit: &Circuit,
        before: impl Iterator<Item = &'c Complaint>,
        complaint: &Complaint,
    ) -> Option<ToldProblem> {
        let is_off = |one: &Observation| {
            matches!(one.seen, Seen::Protection { did: Protected::FoundOff, .. })
        };
        let is_settled =
            matches!(complaint, Complaint::Works { .. }) && self.observations.iter().any(is_off);
        if is_settled { None } else { clash(circuit, before, complaint) }
    }
}
