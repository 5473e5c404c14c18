//! How hard a drill is.

use super::{Misleading, Strategy};

/// How hard a drill is: what it costs the product's own strategy to find the faults, made more by
/// how misleading the first readings are.
///
/// ```
/// use slotwise::drill::{Band, Difficulty};
/// let quick = Difficulty { minutes: 7.3, misleading: 0.0 };
/// assert_eq!(quick.band(), Band::Easy);
/// let same_but_misleading = Difficulty { misleading: 1.0, ..quick };
/// assert_eq!(same_but_misleading.band(), Band::Medium);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Difficulty {
    /// Minutes of the strategy, tests and boxes; a fault that it does not find counts as
    /// 30 more.
    pub minutes: f64,
    /// Share by which the first readings mislead, 0 to 1.
    pub misleading: f64,
}

/// What a fault counts that the strategy does not find: minutes.
const NOT_FOUND_MINUTES: f64 = 30.0;

/// Bands of difficulty.
///
/// ```
/// use slotwise::drill::Band;
/// assert_eq!(Band::named("hard"), Some(Band::Hard));
/// assert_eq!(Band::named("fiendish"), None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Band {
    /// Found in the first box or two with hardly a test.
    Easy,
    /// Wants tests well chosen, or misleads.
    Medium,
    /// Several boxes, several faults, or misleading from the start.
    Hard,
}

/// Below this a drill is easy, points.
const EASY_BELOW: f64 = 9.0;

/// From this on it is hard, points.
const HARD_FROM: f64 = 18.0;

impl Difficulty {
    /// Of a drill and the way of the strategy through it.
    pub fn of(misleading: &Misleading, strategy: &Strategy) -> Self {
        let more = if strategy.found { 0.0 } else { NOT_FOUND_MINUTES };
        Self { minutes: strategy.minutes() + more, misleading: misleading.share() }
    }

    /// Minutes, doubled where the first readings mislead altogether.
    pub fn points(&self) -> f64 {
        self.minutes * (1.0 + self.misleading)
    }

    /// Its band.
    pub fn band(&self) -> Band {
        match self.points() {
            points if points < EASY_BELOW => Band::Easy,
            points if points < HARD_FROM => Band::Medium,
            _ => Band::Hard,
        }
    }
}

impl Band {
    /// Every band, the easiest first.
    pub const ALL: [Self; 3] = [Self::Easy, Self::Medium, Self::Hard];

    /// Its name: `easy`, `medium`, `hard`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::Medium => "medium",
            Self::Hard => "hard",
        }
    }

    /// The band of a name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|band| band.name() == name)
    }
}
