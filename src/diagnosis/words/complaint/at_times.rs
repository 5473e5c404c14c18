//! What does not happen always: how often, in which weather, for no reason.

use super::super::reader::Reader;
use super::lists::COMES_AND_GOES;

/// What comes with the weather comes now and then: nothing here knows when it rains.
const WEATHER: [&str; 14] = [
    "when the wind blows",
    "when it is cold",
    "when it is hot",
    "when wet",
    "in the rain",
    "in the wind",
    "in wet weather",
    "in bad weather",
    "after heavy rain",
    "after rain",
    "for no reason",
    "at night",
    "by itself",
    "on its own",
];

/// What the weather does, behind `when it`.
const IT_DOES: [&str; 16] = [
    "rains",
    "rained",
    "is raining",
    "pours",
    "is pouring",
    "is wet",
    "gets wet",
    "is damp",
    "gets damp",
    "is windy",
    "storms",
    "snows",
    "thunders",
    "freezes",
    "has rained",
    "was raining",
];

/// How much the weather does so, and where.
const HOW_MUCH: [&str; 8] =
    ["heavily", "hard", "a lot", "outside", "out", "really hard", "down", "cold"];

/// Before how often.
const ROUGHLY: [&str; 10] = [
    "about", "around", "roughly", "maybe", "perhaps", "usually", "at least", "almost", "nearly",
    "like",
];

/// How often it does, which says that it does not always.
const OFTEN: [&str; 12] = [
    "every few",
    "every couple of",
    "every other",
    "once an",
    "once a",
    "twice a",
    "several times a",
    "a few times a",
    "many times a",
    "every",
    "a lot",
    "often",
];

/// In how long.
const PERIODS: [&str; 12] = [
    "minutes", "minute", "hours", "hour", "days", "day", "weeks", "week", "nights", "night",
    "months", "month",
];

impl Reader<'_> {
    /// Passes `when it rains heavily`, `for no reason`.
    pub(super) fn weather(&mut self) -> bool {
        let mut ahead = self.clone();
        let begins =
            ["every time", "each time", "any time", "whenever", "when", "if", "after", "once"];
        let is_so = ahead.takes_any(&begins) && ahead.takes("it") && ahead.takes_any(&IT_DOES);
        if is_so {
            *self = ahead;
        }
        let is_weather = is_so || self.takes_any(&WEATHER);
        if is_weather {
            self.takes_any(&HOW_MUCH);
        }
        is_weather
    }

    /// Passes `every few days`, `about once a night`.
    pub(super) fn often(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&ROUGHLY);
        let is_so = ahead.takes_any(&OFTEN)
            && (ahead.takes_any(&PERIODS)
                || ahead.is_done()
                || ahead.takes("time") && ahead.is_done());
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// Passes all that says that it does not happen always.
    pub(super) fn now_and_then(&mut self) -> bool {
        let before = self.rest().len();
        while self.takes_any(&COMES_AND_GOES) || self.weather() || self.often() {}
        self.rest().len() < before
    }
}
