//! A way of testing followed to its ends.

use super::super::{Choice, Plan};
use super::{Certain, Reached, standing};

/// What a way of testing comes to, in proportion to the weights.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Played {
    /// Seconds of testing.
    pub(super) tests_s: f64,
    /// Seconds of opening where it ends.
    pub(super) open_s: f64,
    /// Tests made.
    pub(super) tests: f64,
}

impl Played {
    pub(super) fn whole_s(self) -> f64 {
        self.tests_s + self.open_s
    }
}

/// Who chooses the next test; `None` ends.
pub(super) type Chooser = fn(&Plan, &[f64], usize) -> Option<usize>;

/// The library's choice.
pub(super) fn chosen(plan: &Plan, weights: &[f64], setting: usize) -> Option<usize> {
    match plan.choose(weights, standing(setting)) {
        Choice::Test { prospect, .. } => Some(prospect),
        Choice::Enough(_) => None,
    }
}

/// The most information for its cost, as long as the library goes on.
pub(super) fn greedy(plan: &Plan, weights: &[f64], setting: usize) -> Option<usize> {
    let chosen = chosen(plan, weights, setting)?;
    let goes_on = matches!(plan.choose_freely(weights, standing(setting)), Choice::Test { .. });
    let most = plan.ranked(weights, standing(setting)).first().map(|(prospect, _)| *prospect);
    most.filter(|_| goes_on).or(Some(chosen))
}

/// A chooser followed from there through all that its tests can show.
pub(super) fn played(certain: &Certain, from: Reached, next: Chooser) -> Played {
    let (plan, weights) = certain.stands(from);
    let Some(test) = next(&plan, &weights, from.setting) else {
        return Played { open_s: certain.open_s(from.left), ..Played::default() };
    };
    let (cost_s, reached) = certain.test(test, from);
    let weight = certain.weight(from.left);
    let made = Played { tests_s: cost_s * weight, open_s: 0.0, tests: weight };
    reached.into_iter().map(|one| played(certain, one, next)).fold(made, |a, b| Played {
        tests_s: a.tests_s + b.tests_s,
        open_s: a.open_s + b.open_s,
        tests: a.tests + b.tests,
    })
}
