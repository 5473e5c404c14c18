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
///     wrong_names: 0,
///     unsafe_acts: vec![],
/// };
/// assert_eq!(score.points(), 75);
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Score {
    /// Whether everything wrong was named.
    pub solved: bool,
    /// Minutes of work.
    pub minutes: f64,
    /// Minutes that the product's own strategy takes, where that was worked out.
    pub strategy_minutes: Option<f64>,
    /// Names that were wrong.
    pub wrong_names: usize,
    /// What would have hurt.
    pub unsafe_acts: Vec<UnsafeAct>,
}

/// Points that each unsafe act costs.
const UNSAFE_POINTS: f64 = 25.0;

impl Score {
    /// Points from 0 to 100: a hundred times the strategy's minutes over the student's, at most
    /// a hundred, less 25 for each unsafe act; none where the fault was not found. Without the
    /// strategy's minutes a found fault is worth a hundred.
    pub fn points(&self) -> u32 {
        if !self.solved {
            return 0;
        }
        let share = match self.strategy_minutes {
            Some(best) if self.minutes > best => best / self.minutes,
            _ => 1.0,
        };
        let less = UNSAFE_POINTS * self.unsafe_acts.len() as f64;
        (100.0 * share - less).round().clamp(0.0, 100.0) as u32
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
            wrong_names: self.wrong_names,
            unsafe_acts: self.unsafe_acts.clone(),
        }
    }
}
