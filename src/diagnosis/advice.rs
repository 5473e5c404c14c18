//! What an inquiry answers: the next test with its outcomes, or why testing ends.

use std::collections::BTreeMap;

use super::{Moment, Observation, Parting, Seen, Showed, Suspect};
use crate::condition::LoadState;
use crate::instrument::Request;
use crate::quantity::Address;

/// What to do next.
///
/// ```
/// # use slotwise::diagnosis::Advice;
/// fn seconds(advice: &Advice) -> f64 {
///     match advice {
///         Advice::Test(test) => test.cost_s,
///         Advice::Stop(stop) => stop.cost_s,
///     }
/// }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub enum Advice {
    /// Make this test.
    Test(Box<NextTest>),
    /// Test no more; where to go is said in the order of going there.
    Stop(Stop),
}

/// A test, what it costs, and what each outcome will mean.
///
/// ```
/// # use slotwise::diagnosis::NextTest;
/// fn is_surely_worth_it(test: &NextTest) -> bool { test.saves_s.is_some_and(|s| s > test.cost_s) }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct NextTest {
    /// What the instrument is called.
    pub instrument: String,
    /// The receptacle; of a parting, the box.
    pub at: Address,
    /// The box that is opened for it, dead, and the cable that is taken off there; `None` for
    /// what is done from outside.
    pub parting: Option<Parting>,
    /// What is attached: one request, or one for each pair of slots. An answer is an
    /// observation of each, or of those that were looked at.
    pub looks: Vec<Request>,
    /// How everything stands during the test.
    pub moment: Moment,
    /// Loads to be switched, or plugged in or out, first, with the state each is brought to.
    pub switch: BTreeMap<String, LoadState>,
    /// Breakers to be switched first, and whether each is closed then; none of a test that is made
    /// dead, which has every breaker of its [`moment`](Self::moment) off.
    pub breakers: BTreeMap<String, bool>,
    /// What it costs, seconds.
    pub cost_s: f64,
    /// What testing so is expected to save in opening boxes, its own cost taken off; `None`
    /// where that is not what it is for.
    pub saves_s: Option<f64>,
    /// What it can show, the likeliest first.
    pub branches: Vec<Branch>,
}

impl NextTest {
    /// Whether it has been made: something seen is one of its looks, with everything standing so.
    pub(crate) fn is_seen_in(&self, one: &Observation) -> bool {
        let is_look = |request: &Request| self.looks.contains(request);
        one.moment == self.moment
            && matches!(&one.seen, Seen::Instrument { request, .. } if is_look(request))
    }
}

/// An outcome of a test.
///
/// ```
/// # use slotwise::diagnosis::Branch;
/// fn settles_it(branch: &Branch) -> bool { branch.leading.is_some_and(|(_, p)| p > 0.95) }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// What is shown, for each look.
    pub shows: Vec<Vec<Showed>>,
    /// The fault is seen in the box that is opened for the test.
    pub is_seen: bool,
    /// The boxes it is in then, in walking order; empty for a test that is made live.
    pub boxes: Vec<String>,
    /// How likely that is.
    pub probability: f64,
    /// The suspect that leads then, by its place among the suspects now, and its probability;
    /// `None` where nothing wrong, or nothing known, leads.
    pub leading: Option<(usize, f64)>,
}

/// Why testing ends, and where to go.
///
/// ```
/// # use slotwise::diagnosis::Stop;
/// fn first(stop: &Stop) -> Option<&str> { Some(stop.go_to.first()?.place.as_str()) }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// Why.
    pub because: Because,
    /// Where to go, in this order, until the fault is seen.
    pub go_to: Vec<GoTo>,
    /// What that is expected to cost, seconds.
    pub cost_s: f64,
    /// How everything is to stand where something is tried first, and what comes of it is told of.
    pub moment: Option<Moment>,
}

/// Why testing ends.
///
/// ```
/// use slotwise::diagnosis::Because;
/// assert_ne!(Because::NothingWrong, Because::NothingKnown);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Because {
    /// One place is as sure as was asked for.
    Sure,
    /// Whatever it is, it is in one box.
    OneBox,
    /// Every test that is left costs more than it saves in opening boxes.
    TestsCostMore,
    /// No test in reach parts what is left.
    NothingParts,
    /// Nothing is wrong, as far as can be told.
    NothingWrong,
    /// Nothing that is known explains what was seen.
    NothingKnown,
    /// A breaker or a protective device may well be off, or have tripped: to look costs next to
    /// nothing, and it is told before anything else is tested.
    HandleFirst,
    /// A breaker or a device trips as soon as it is closed: it is closed once with nothing plugged in before
    /// anything is tested.
    UnpluggedFirst,
    /// What it trips with is one of several loads that were taken away: it is closed with one of them on before
    /// anything is tested.
    AddedBack,
    /// A light that several switches switch does not run: all are thrown before anything is tested.
    ThrownFirst,
    /// What was found off, or had tripped, holds since it was closed, and nothing else shows that
    /// anything is wrong.
    ClosedAgain,
    /// What was found is put right, and nothing shows that anything else is wrong.
    Mended,
    /// The panel's own metal may well be live: nothing is tested that would have anybody touch it. Said by
    /// a report, which knows what is dangerous.
    PanelLive,
    /// Somebody felt a shock, or measured metal or a neutral live, and nothing that was read explains it: that
    /// is not put down to nothing.
    StillFelt,
    /// Something was hot, smelt or sparked, and nothing that was seen or read explains it: that is not put
    /// down to nothing.
    StillWarm,
    /// Something was seen live although the breaker that feeds it was off, and nothing suspected explains it:
    /// what feeds it is found before anything relies on that breaker.
    LiveDespiteBreaker,
    /// Something is hot, smells or sparks there: that is opened with the power off, and no current
    /// sent through it to learn more.
    Felt,
    /// What is on the breaker that trips is more than it carries, and nothing needs to be wrong.
    Overloaded,
}

impl Because {
    /// Whether testing goes on from what comes of it.
    pub const fn is_a_beginning(self) -> bool {
        matches!(
            self,
            Self::HandleFirst | Self::UnpluggedFirst | Self::AddedBack | Self::ThrownFirst
        )
    }

    /// Whether there is nothing to repair.
    pub(crate) const fn is_over(self) -> bool {
        matches!(
            self,
            Self::NothingWrong
                | Self::ClosedAgain
                | Self::Mended
                | Self::StillFelt
                | Self::StillWarm
                | Self::LiveDespiteBreaker
        )
    }
}

/// A place to go to.
///
/// ```
/// use slotwise::diagnosis::GoTo;
/// let (handle, supply) = (false, false);
/// let box_5 = GoTo {
///     place: "kiln".into(), handle, name: None, appliance: None, supply, chance: 0.7,
/// };
/// assert!(box_5.opens_a_box());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct GoTo {
    /// The place; of a breaker or a switch the one it is in.
    pub place: String,
    /// A breaker, a switch or a button is to be looked at, nothing opened.
    pub handle: bool,
    /// Which one.
    pub name: Option<String>,
    /// An appliance there is to be unplugged and tested, nothing opened.
    pub appliance: Option<String>,
    /// What the supply delivers is to be measured at that panel by whoever may, nothing opened by
    /// anybody else.
    pub supply: bool,
    /// The chance that the first fault is seen there, after none was seen at those before.
    pub chance: f64,
}

impl GoTo {
    /// Whether a box is opened there.
    pub const fn opens_a_box(&self) -> bool {
        !self.handle && !self.supply && self.appliance.is_none()
    }
}

/// A set of faults that explains what was seen.
///
/// ```
/// # use slotwise::diagnosis::Explanation;
/// fn is_single(one: &Explanation) -> bool { one.suspects.len() == 1 }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Explanation {
    /// The suspects that are there together, by their place among the suspects; none where
    /// nothing is wrong.
    pub suspects: Vec<usize>,
    /// How likely exactly these are there.
    pub probability: f64,
}

/// A danger that what is believed carries.
///
/// ```
/// # use slotwise::diagnosis::Warning;
/// fn comes_first(warning: &Warning) -> bool { warning.danger.is_grave() }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Warning {
    /// The danger.
    pub danger: crate::lookalike::Danger,
    /// How likely it is there as things stand.
    pub probability: f64,
    /// It is so only once loads are switched on that are off as things stand.
    pub once_on: bool,
    /// Where, in walking order, in the likeliest case.
    pub addresses: Vec<Address>,
    /// How likely it is at the first of these; the rest of its probability is elsewhere.
    pub here: f64,
}

/// What one thing seen says of a suspect.
///
/// ```
/// # use slotwise::diagnosis::Word;
/// fn is_against(word: &Word) -> bool { word.times < 0.5 }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// What was said or seen, by its place among what the inquiry was told.
    pub told: usize,
    /// So many times likelier with this suspect than without it, this thing alone.
    pub times: f64,
    /// The chance of it if the suspect is there.
    pub chance: f64,
    /// What the suspect would have shown, for each look; empty for complaints and what was
    /// found.
    pub would_show: Vec<Showed>,
}

/// Things that were told and do not go together.
///
/// ```
/// use slotwise::diagnosis::Conflict;
/// let alone = Conflict { told: vec![2], is_explained: false };
/// assert_eq!(alone.told.len(), 1);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conflict {
    /// One that fits nothing that is known, or two that fit nothing together.
    pub told: Vec<usize>,
    /// A fault on the list shows it, which with everything else that was told is much less likely than what
    /// leads.
    pub is_explained: bool,
}

/// Everything that is suspected, for who wants it all at once.
///
/// ```
/// # use slotwise::diagnosis::Findings;
/// fn leading(findings: &Findings) -> Option<f64> { Some(findings.suspects.first()?.probability) }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Findings {
    /// Suspects, the likeliest first.
    pub suspects: Vec<Suspect>,
    /// Sets of suspects, the likeliest first.
    pub explanations: Vec<Explanation>,
    /// Probability that nothing is wrong.
    pub nothing_wrong: f64,
    /// Probability of something that is on no list.
    pub nothing_known: f64,
}
