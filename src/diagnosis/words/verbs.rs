//! What breakers and loads do, in the words that complaints and observations share.

use crate::condition::words::lexer::TokenKind;

use super::reader::Reader;

/// Words before what is so, which say nothing more.
const BEFORE: [&str; 53] = [
    "getting",
    "is getting",
    "far",
    "way",
    "looks",
    "look",
    "checked",
    "very",
    "much",
    "a lot",
    "rather",
    "quite",
    "slightly",
    "only just",
    "has been",
    "sounds",
    "really",
    "become",
    "is",
    "are",
    "was",
    "were",
    "be",
    "been",
    "has",
    "have",
    "had",
    "goes",
    "go",
    "went",
    "gone",
    "gets",
    "get",
    "got",
    "keeps",
    "keep",
    "kept",
    "feels",
    "seems",
    "seem",
    "just",
    "now",
    "still",
    "also",
    "all",
    "both",
    "always",
    "suddenly",
    "completely",
    "totally",
    "a bit",
    "a little",
    "so",
];

/// What a breaker does that opens by itself.
const TRIPS: [&str; 27] = [
    "drops out",
    "dropping out",
    "dropped out",
    "drop out",
    "goes bang",
    "goes pop",
    "bang",
    "knocks off",
    "knocks out",
    "kicked right out",
    "trips out",
    "blown",
    "blew",
    "trips",
    "tripping",
    "tripped",
    "trip",
    "pops",
    "popping",
    "popped",
    "kicks out",
    "kicking out",
    "kicked out",
    "kicks off",
    "kicking off",
    "blows",
    "blowing",
];

/// What a breaker does that opens by itself, and a load that does not run any more.
const OPENS: [&str; 17] = [
    "shuts itself off",
    "shuts off",
    "shutting off",
    "shut off",
    "shuts down",
    "shut down",
    "turns itself off",
    "turns off",
    "turning off",
    "switches itself off",
    "switches off",
    "switching off",
    "cuts out",
    "cutting out",
    "goes off",
    "going off",
    "went off",
];

const AT_ONCE: [&str; 7] = [
    "at once",
    "immediately",
    "as soon as it is closed",
    "as soon as it is reset",
    "straight away",
    "instantly",
    "right away",
];

const LATER: [&str; 7] = [
    "after a while",
    "after minutes",
    "later",
    "after some time",
    "after a time",
    "eventually",
    "a while later",
];

/// Before how many minutes, saying nothing more.
const ROUGHLY: [&str; 9] =
    ["about", "around", "roughly", "maybe", "perhaps", "only", "just", "under", "less than"];

/// How many minutes, in words.
const COUNTS: [&str; 18] = [
    "half an",
    "half a",
    "a few",
    "a couple of",
    "a couple",
    "a",
    "an",
    "one",
    "two",
    "three",
    "five",
    "ten",
    "fifteen",
    "twenty",
    "thirty",
    "several",
    "some",
    "few",
];

const TIMES: [&str; 15] = [
    "minutes", "minute", "mins", "min", "hours", "hour", "hrs", "hr", "h", "seconds", "second",
    "secs", "sec", "while", "bit",
];

/// What is over before anyone has seen more than that it trips at once.
const SECONDS: [&str; 4] = ["seconds", "second", "secs", "sec"];

/// A breaker that trips in no more seconds than these trips at once; more are a while.
const AT_ONCE_S: f64 = 10.0;

/// Counts of seconds that are a while.
const MANY: [&str; 3] = ["fifteen", "twenty", "thirty"];

/// What a load does that makes others dim, or something trip.
const RUNS: [&str; 43] = [
    "run together",
    "are both on",
    "both run",
    "run at the same time",
    "are on together",
    "starts up",
    "starts",
    "start",
    "started",
    "runs",
    "run",
    "running",
    "is on",
    "are on",
    "is running",
    "are running",
    "comes on",
    "come on",
    "kicks in",
    "kicks on",
    "is switched on",
    "is turned on",
    "switches on",
    "turns on",
    "is plugged in",
    "gets plugged in",
    "plugged in",
    "is in use",
    "in use",
    "is used",
    "works",
    "switched on",
    "on",
    "ran",
    "came on",
    "kicked in",
    "kicked on",
    "was switched on",
    "was turned on",
    "was running",
    "was plugged in",
    "was on",
    "was in use",
];

/// That it does so no more.
const STOPS: [&str; 15] = [
    "stops",
    "stopped",
    "stop",
    "shuts off",
    "shuts down",
    "turns off",
    "switches off",
    "goes off",
    "cuts out",
    "is switched off",
    "is turned off",
    "cycles off",
    "kicks off",
    "quits",
    "ends",
];

/// Begins the load with which it is so.
const WHEN: [&str; 14] = [
    "any time",
    "when",
    "whenever",
    "while",
    "as soon as",
    "every time",
    "each time",
    "with",
    "if",
    "once",
    "just after",
    "right after",
    "soon after",
    "the moment",
];

/// What does not run any more.
const STOPPED: [&str; 53] = [
    "gives no heat",
    "makes no heat",
    "no heat",
    "blown",
    "burned out",
    "burnt out",
    "burned through",
    "exploded",
    "has failed",
    "failed",
    "no work",
    "no working",
    "no function",
    "no start",
    "no run",
    "kaputt",
    "gave up the ghost",
    "stays off",
    "stays dark",
    "stays cold",
    "blew",
    "has blown",
    "packed up",
    "packed in",
    "gave out",
    "gone off",
    "went off",
    "gone",
    "kaput",
    "conked",
    "quits working",
    "quit working",
    "quit running",
    "quits",
    "quit",
    "stopped working",
    "stopped running",
    "stopped",
    "stops working",
    "stops running",
    "stops",
    "stop",
    "died",
    "dies",
    "die",
    "shuts off",
    "shut off",
    "shuts down",
    "shut down",
    "turns off",
    "switches off",
    "conked out",
    "gave up",
];

const NOT: [&str; 14] = [
    "does not",
    "do not",
    "did not",
    "will not",
    "would not",
    "can not",
    "cannot",
    "is not",
    "are not",
    "was not",
    "no longer",
    "not",
    "refuses to",
    "fails to",
];

/// What a load does when it runs, after a `not`.
const DOES: [&str; 70] = [
    "boil",
    "boiling",
    "wash",
    "pump",
    "blow",
    "play",
    "dry",
    "freeze",
    "cook",
    "toast",
    "bake",
    "work at all",
    "function",
    "functioning",
    "operating",
    "operate",
    "shining",
    "shine",
    "burning",
    "glow",
    "heating up",
    "giving any power",
    "giving power",
    "give any power",
    "give power",
    "have any electricity",
    "have electricity",
    "have current",
    "come up",
    "go",
    "react",
    "spinning",
    "turning",
    "cooling",
    "cool",
    "getting any power",
    "getting power",
    "get any power",
    "get power",
    "have any power",
    "have power",
    "come back on",
    "go on",
    "come on",
    "turn on",
    "switch on",
    "power up",
    "power on",
    "start up",
    "starting",
    "start",
    "running",
    "runs",
    "run",
    "working",
    "works",
    "work",
    "heating",
    "heats",
    "heat up",
    "heat",
    "light up",
    "lights",
    "light",
    "burn",
    "spin",
    "turn",
    "charging",
    "charge",
    "respond",
];

const WONT_RESET: [&str; 18] = [
    "stays off",
    "will not come back on",
    "will not go back on",
    "will not turn back on",
    "will not turn on",
    "will not switch on",
    "will not come on",
    "will not go on",
    "does not come back on",
    "does not go back on",
    "can not be turned on",
    "cannot be turned on",
    "can not be switched on",
    "does not reset",
    "did not reset",
    "will not reset",
    "can not be reset",
    "cannot be reset",
];

const WONT_HOLD: [&str; 3] = ["will not hold", "does not hold", "did not hold"];

/// That a handle or a button does not stay where it is put.
const WONT_STAY: [&str; 8] = [
    "will not stay up",
    "does not stay up",
    "will not stay in",
    "does not stay in",
    "did not stay in",
    "will not stay on",
    "does not stay on",
    "did not stay on",
];

impl Reader<'_> {
    /// Passes whatever stands before what is so.
    pub(super) fn pass_before(&mut self) {
        while !self.is_gone() && self.takes_any(&BEFORE) {}
    }

    /// Whether `gone` comes next and says by itself what is so: `has gone`, `went off`.
    fn is_gone(&self) -> bool {
        let mut ahead = self.clone();
        if ahead.takes("gone") {
            return ahead.token(0).is_none_or(|token| {
                let joins = ["and", "but", "off", "again", "now"];
                token.kind == TokenKind::Comma
                    || [".", "!"].contains(&token.text)
                    || joins.iter().any(|word| token.text.eq_ignore_ascii_case(word))
            });
        }
        ["went off", "goes off", "going off"].iter().any(|off| ahead.takes(off))
    }

    /// Passes what says that a load does not run, or does no longer.
    pub(super) fn does_not_run(&mut self) -> bool {
        let mut ahead = self.clone();
        if ahead.takes_any(&NOT) {
            ahead.takes_any(&["even", "always"]);
            // What will not turn off is on; `works but the lamp does not` is whole.
            let is_bare = self.clone().takes_any(&["does not", "do not", "did not"]) && {
                let next = ahead.token(0);
                next.is_none_or(|token| {
                    token.kind == TokenKind::Comma
                        || [".", "and", "but"].iter().any(|w| token.text.eq_ignore_ascii_case(w))
                })
            };
            let not = is_bare || ahead.takes_any(&DOES) && !ahead.clone().takes("off");
            if not {
                *self = ahead;
            }
            return not;
        }
        self.takes_any(&STOPPED) || self.takes("does nothing") || self.takes("do nothing")
    }

    /// Passes what says that a breaker trips.
    pub(super) fn trip_verb(&mut self) -> bool {
        let trips = self.takes_any(&TRIPS);
        self.takes("again");
        trips
    }

    /// Passes what says that a breaker opened by itself, where a load might have stopped as well.
    pub(super) fn opens(&mut self) -> bool {
        self.takes_any(&OPENS)
    }

    /// Passes what says that a breaker cannot be reset.
    pub(super) fn wont_reset(&mut self) -> bool {
        self.takes_any(&WONT_RESET)
    }

    /// Passes what says that a breaker opens whenever it is closed.
    pub(super) fn wont_hold(&mut self) -> bool {
        self.takes_any(&WONT_HOLD)
    }

    /// Passes what says that a handle or a button does not stay where it is put.
    pub(super) fn wont_stay(&mut self) -> bool {
        self.takes_any(&WONT_STAY)
    }

    /// Whether it is said anywhere in what is left.
    pub(super) fn says_at_once(&self) -> bool {
        let mut ahead = self.clone();
        while !ahead.is_done() {
            if ahead.clone().at_once() {
                return true;
            }
            ahead.skip(1);
        }
        false
    }

    pub(super) fn at_once(&mut self) -> bool {
        self.takes_any(&AT_ONCE) || self.within_seconds()
    }

    /// Passes `within a second`, `in two seconds`, `in under 5 s`.
    fn within_seconds(&mut self) -> bool {
        let mut ahead = self.clone();
        if !ahead.takes_any(&["in", "within"]) {
            return false;
        }
        ahead.takes_any(&ROUGHLY);
        loop {
            let figure = ahead.token(0).and_then(|token| token.text.parse::<f64>().ok());
            if figure.is_some_and(|figure| figure > AT_ONCE_S) || ahead.takes_any(&MANY) {
                return false;
            }
            if !ahead.skip_number() && !ahead.takes_any(&COUNTS) {
                break;
            }
            ahead.takes_any(&["to", "or"]);
        }
        let is_so = ahead.takes_any(&SECONDS) || ahead.takes("s");
        if is_so {
            ahead.takes_any(&["or so", "or less", "or two"]);
            *self = ahead;
        }
        is_so
    }

    /// Passes `after a while`, `after 20 minutes`, `after half an hour`.
    pub(super) fn later(&mut self) -> bool {
        if self.takes_any(&LATER) {
            return true;
        }
        let mut ahead = self.clone();
        if !ahead.takes_any(&["after", "in", "within"]) {
            return false;
        }
        ahead.takes_any(&ROUGHLY);
        while ahead.skip_number() || ahead.takes_any(&COUNTS) {
            ahead.takes_any(&["to", "or"]);
        }
        if !ahead.takes_any(&TIMES) {
            return false;
        }
        ahead.takes_any(&["or so", "or more", "of use", "of running"]);
        *self = ahead;
        true
    }

    /// Passes what says that a load is running.
    pub(super) fn runs(&mut self) -> bool {
        self.takes_any(&RUNS)
    }

    /// Passes what says that a load has stopped running.
    pub(super) fn stops(&mut self) -> bool {
        self.takes_any(&STOPS)
    }

    /// Passes what begins the load with which it is so.
    pub(super) fn when(&mut self) -> bool {
        self.takes_any(&WHEN)
    }
}
