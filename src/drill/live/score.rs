//! What a live drill comes to.

use super::{Live, UnsafeAct};
use crate::drill::Strategy;

/// How a live drill went.
///
/// ```
/// use slotwise::drill::live::Score;
/// let score = Score {
///     solved: true,
///     minutes: 12.0,
///     strategy_minutes: Some(9.0),
///     faults: 1,
///     untested: 0,
///     wrong_names: 0,
///     unsafe_acts: vec![],
/// };
/// assert_eq!(score.points(), 75);
/// assert_eq!(Score { wrong_names: 2, ..score.clone() }.points(), 55);
/// assert_eq!(Score { minutes: 7.0, untested: 1, ..score }.points(), 50, "a guess that was right");
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Score {
    /// Whether everything wrong was named.
    pub solved: bool,
    /// Minutes of work.
    pub minutes: f64,
    /// Minutes that the product's own strategy takes, where that was worked out.
    pub strategy_minutes: Option<f64>,
    /// Faults that were hidden.
    pub faults: usize,
    /// Of those named rightly, how many no test of the student's showed.
    pub untested: usize,
    /// Names that were wrong.
    pub wrong_names: usize,
    /// What would have hurt.
    pub unsafe_acts: Vec<UnsafeAct>,
}

/// Points that each unsafe act costs.
const UNSAFE_POINTS: f64 = 25.0;

/// Points that each wrong name costs, the minutes for it apart: whoever names one joint after the
/// other finds it too.
const WRONG_POINTS: f64 = 10.0;

/// Share of a fault's worth that is left where no test showed it: it was right, and it was not found
/// out.
const UNTESTED_SHARE: f64 = 0.5;

impl Score {
    /// Points from 0 to 100: a hundred times the strategy's minutes over the student's, at most
    /// a hundred; a fault that was named without a test that shows it counts half; less 10 for each
    /// wrong name and 25 for each unsafe act; none where a fault was not found. Without the
    /// strategy's minutes time does not count.
    pub fn points(&self) -> u32 {
        if !self.solved {
            return 0;
        }
        let share = match self.strategy_minutes {
            Some(best) if self.minutes > best => best / self.minutes,
            _ => 1.0,
        };
        let untested = self.untested.min(self.faults) as f64 / self.faults.max(1) as f64;
        let shown = 1.0 - (1.0 - UNTESTED_SHARE) * untested;
        let less =
            UNSAFE_POINTS * self.unsafe_acts.len() as f64 + WRONG_POINTS * self.wrong_names as f64;
        (100.0 * share * shown - less).round().clamp(0.0, 100.0) as u32
    }
}

impl Live {
    /// How it went, beside what the product's own strategy takes; one that does not find
    /// everything is no measure.
    pub fn score_beside(&self, strategy: &Strategy) -> Score {
        let strategy_minutes = strategy.found.then(|| strategy.minutes());
        Score { strategy_minutes, ..self.score() }
    }

    /// How it went, or goes.
    pub fn score(&self) -> Score {
        Score {
            solved: self.named.iter().all(|named| *named),
            minutes: (self.spent_s / 6.0).round() / 10.0,
            strategy_minutes: None,
            faults: self.named.len(),
            untested: self.untested,
            wrong_names: self.wrong_names,
            unsafe_acts: self.unsafe_acts.clone(),
        }
    }
}
