//! What looks alike: everything that would make an instrument show the same at one place.
//!
//! [`lookalikes`] asks every single and every double fault of the circuit's
//! [`catalogue`], in every load state that matters, whether it shows
//! what was seen; [`pattern_table`] sorts the same by all that the instrument can show there.
//! Nothing is looked up: each answer is a solved network. What is dangerous comes first, then
//! what is likely, and what is left out is counted.
//!
//! [`silent`] is the other side of it: the dangers that a reading does not rule out.

use crate::circuit::{Circuit, Outlet, UnknownName};
use crate::condition::Condition;
use crate::condition::catalogue::{Catalogue, LoadSetting, catalogue, load_settings};
use crate::instrument::{Instrument, MeasureProblem, Place, Reading, Request, Shown, measure};

mod danger;
mod evaluator;
mod group;
mod quick;
mod sharing;
mod showing;
mod silent;
mod survey;
mod table;
mod trip;
mod tripping;
mod words;

pub use danger::{Danger, OwnDanger};
pub(crate) use evaluator::Settling;
pub use evaluator::after_tripping;
pub use group::{Group, Groups, Member, Wrong};
pub use sharing::{Share, Sharing};
pub use showing::Shows;
pub use silent::{SilentDanger, silent};
pub use table::{PatternRow, PatternTable, pattern_table, pattern_table_shared};
pub(crate) use tripping::{Made, Tripping, TrippingWork, is_asked_whole};
pub use words::{ShowsProblem, shows};

use evaluator::Evaluator;
pub(crate) use showing::Placement;
use survey::{Showing, survey};

/// How many faults at once are asked for.
///
/// ```
/// use slotwise::lookalike::Depth;
/// assert_eq!(Depth::default(), Depth::Double);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Depth {
    /// One.
    Single,
    /// One, and every two.
    #[default]
    Double,
}

impl Depth {
    const fn faults(self) -> usize {
        match self {
            Self::Single => 1,
            Self::Double => 2,
        }
    }
}

/// How much is answered at most. What is left out is counted.
///
/// ```
/// use slotwise::lookalike::Bounds;
/// let short = Bounds { groups_shown: 5, ..Bounds::default() };
/// assert!(short.groups_shown < Bounds::default().groups_shown);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// Groups shown.
    pub groups_shown: usize,
    /// Members shown of each group.
    pub members_shown: usize,
    /// Groups of which any danger is worked out, the likeliest.
    pub groups_examined: usize,
    /// Members of each group of single faults whose dangers are worked out.
    pub singles_examined: usize,
    /// The same for each group of double faults.
    pub doubles_examined: usize,
    /// Networks solved at most for double faults and all before them; single faults are asked
    /// whatever it takes.
    pub networks_asked: usize,
}

impl Default for Bounds {
    fn default() -> Self {
        Self {
            groups_shown: 12,
            members_shown: 4,
            groups_examined: 200,
            singles_examined: usize::MAX,
            doubles_examined: 1,
            networks_asked: usize::MAX,
        }
    }
}

/// What is asked: an instrument at a receptacle, and what it shows.
///
/// ```
/// use slotwise::instrument::presets;
/// use slotwise::lookalike::{Question, shows};
/// let tester = presets::plug_tester_resistive();
/// let question = Question {
///     showing: shows("hot-neutral dark, hot-ground lit, neutral-ground lit").unwrap(),
///     ..Question::new(tester, "kiln")
/// };
/// assert_eq!(question.showing.len(), 3);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The instrument.
    pub instrument: Instrument,
    /// The receptacle, or the box or device it is in if that has one only.
    pub at: String,
    /// What it shows; things not said may be anything.
    pub showing: Vec<Shows>,
    /// How many faults at once.
    pub depth: Depth,
    /// How much is answered.
    pub bounds: Bounds,
}

impl Question {
    /// An instrument at a receptacle; what it shows is still to be said.
    pub fn new(instrument: Instrument, at: impl Into<String>) -> Self {
        Self {
            instrument,
            at: at.into(),
            showing: Vec::new(),
            depth: Depth::default(),
            bounds: Bounds::default(),
        }
    }
}

/// How much was asked.
///
/// ```
/// use slotwise::lookalike::Counts;
/// assert_eq!(Counts::default().asked, 0);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Counts {
    /// Single faults in the catalogue.
    pub singles: usize,
    /// Pairs of them that were asked.
    pub pairs: usize,
    /// Pairs left out by the bound on networks: the least likely.
    pub pairs_not_asked: usize,
    /// Pairs that are two states of one thing and so mean nothing.
    pub excluded_pairs: usize,
    /// Load states asked for each.
    pub load_settings: usize,
    /// Networks asked for in all.
    pub asked: usize,
    /// Those without an answer: faults that cannot both be so, or no network that can be solved.
    pub unanswered: usize,
}

/// Everything that shows the same.
///
/// ```
/// # use slotwise::lookalike::LookAlikes;
/// fn is_ambiguous(alike: &LookAlikes) -> bool { alike.singles.members_total > 1 }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LookAlikes {
    /// The instrument's name.
    pub instrument: String,
    /// The receptacle.
    pub at: String,
    /// What it shows.
    pub showing: Vec<Shows>,
    /// The load states, in the numbering of the members.
    pub load_settings: Vec<LoadSetting>,
    /// Load states in which a circuit with nothing more wrong shows it too, by number.
    pub sound: Vec<usize>,
    /// Dangers that the circuit has by itself, the gravest first: no look-alike is blamed for them.
    pub own_dangers: Vec<OwnDanger>,
    /// Single faults.
    pub singles: Groups,
    /// Double faults, if they were asked for.
    pub doubles: Groups,
    /// How much was asked.
    pub counts: Counts,
}

/// Why there is no answer.
///
/// ```
/// use slotwise::lookalike::LookAlikeProblem;
/// let problem = LookAlikeProblem::WhichReceptacle {
///     at: "desk".into(),
///     one_of: vec!["desk.top".into(), "desk.bottom".into()],
/// };
/// assert!(problem.to_string().ends_with("desk.top or desk.bottom"));
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LookAlikeProblem {
    /// There is no receptacle of that name.
    #[error("{0}")]
    Unknown(UnknownName),
    /// The box has several receptacles.
    #[error("`{at}` has several receptacles: say which, {}", one_of.join(" or "))]
    WhichReceptacle {
        /// What was said.
        at: String,
        /// What can be said.
        one_of: Vec<String>,
    },
    /// The instrument is not used so.
    #[error("{what}")]
    NotThere {
        /// Why not.
        what: String,
    },
    /// The instrument cannot show that.
    #[error("a {instrument} at `{at}` cannot show `{shows}`; it can show: {}", can.join("; "))]
    CannotShow {
        /// The instrument.
        instrument: String,
        /// Where.
        at: String,
        /// What was asked.
        shows: String,
        /// What it can show.
        can: Vec<String>,
    },
    /// The circuit cannot be measured in the condition that everything starts from.
    #[error(transparent)]
    Measure(#[from] MeasureProblem),
}

/// Everything that would make an instrument show this at this receptacle: every fault of the
/// catalogue, alone and in pairs, on top of `condition`, in every load state. Loads that the
/// condition states stay as they are.
///
/// # Errors
///
/// The place or the instrument does not fit, or the condition itself has no solution.
pub fn lookalikes(
    circuit: &Circuit,
    condition: &Condition,
    question: &Question,
) -> Result<LookAlikes, LookAlikeProblem> {
    lookalikes_shared(circuit, condition, question, &Sharing::alone())
}

/// The same in shares.
///
/// # Errors
///
/// As [`lookalikes`].
pub fn lookalikes_shared(
    circuit: &Circuit,
    condition: &Condition,
    question: &Question,
    sharing: &Sharing<'_>,
) -> Result<LookAlikes, LookAlikeProblem> {
    let mut asked = Asked::new(circuit, condition, &question.instrument, &question.at)?;
    asked.showing.clone_from(&question.showing);
    for shows in &question.showing {
        if !asked.placement.may_show(shows) {
            return Err(LookAlikeProblem::CannotShow {
                instrument: question.instrument.name().to_owned(),
                at: asked.outlet.address.to_string(),
                shows: shows.to_string(),
                can: asked.placement.can_show(),
            });
        }
    }
    let evaluator = asked.evaluator();
    let (counts, showing): (Counts, Showing) =
        survey(&asked, &evaluator, (question.depth, &question.bounds), sharing);
    let gathered = showing.gathered;
    let groups =
        |depth| group::grouped(&evaluator, &asked.catalogue, &gathered, depth, &question.bounds);
    Ok(LookAlikes {
        instrument: question.instrument.name().to_owned(),
        at: asked.outlet.address.to_string(),
        showing: question.showing.clone(),
        sound: gathered.sound.clone(),
        own_dangers: danger::own_dangers(&evaluator.own),
        singles: groups(Depth::Single),
        doubles: groups(Depth::Double),
        counts,
        load_settings: asked.settings.clone(),
    })
}

/// The reading of a plug that does not go into a receptacle.
fn misfit(
    circuit: &Circuit,
    condition: &Condition,
    instrument: &Instrument,
    outlet: &Outlet,
) -> Result<Option<Reading>, MeasureProblem> {
    if !matches!(instrument, Instrument::PlugTester(_)) {
        return Ok(None);
    }
    let place = Place::Receptacle { address: outlet.address.clone(), turned: false };
    let plugged = measure(circuit, condition, &[Request::new(instrument.clone(), place)])?;
    let misfits = |reading: &Reading| matches!(reading.shown, Shown::DoesNotFit(_));
    Ok(plugged.into_iter().find(misfits))
}

/// A question put to a circuit: everything that does not depend on what is shown.
struct Asked<'c> {
    circuit: &'c Circuit,
    condition: &'c Condition,
    outlet: &'c Outlet,
    placement: Placement,
    catalogue: Catalogue,
    settings: Vec<LoadSetting>,
    /// What it shows, if that is the question.
    showing: Vec<Shows>,
}

impl<'c> Asked<'c> {
    fn new(
        circuit: &'c Circuit,
        condition: &'c Condition,
        instrument: &Instrument,
        at: &str,
    ) -> Result<Self, LookAlikeProblem> {
        let outlet = outlet_at(circuit, at)?;
        let placement = Placement::new(instrument, outlet)?;
        if let Some(Reading { shown: Shown::DoesNotFit(misfit), .. }) =
            misfit(circuit, condition, instrument, outlet)?
        {
            let what = format!("{} at {}: {}", instrument.name(), outlet.address, misfit.why);
            return Err(LookAlikeProblem::NotThere { what });
        }
        let settings = load_settings(circuit, &condition.loads);
        let catalogue = catalogue(circuit);
        let showing = Vec::new();
        Ok(Self { circuit, condition, outlet, placement, catalogue, settings, showing })
    }

    fn evaluator(&self) -> Evaluator<'_> {
        Evaluator::new(
            self.circuit,
            self.condition,
            &self.settings,
            self.catalogue.faults(),
            &self.placement.requests,
        )
    }
}

/// The receptacle that a name means: its own, or that of the box or device it is alone in.
/// The receptacle of a name, or the one in the box or device of that name.
pub(crate) fn outlet_at<'c>(
    circuit: &'c Circuit,
    at: &str,
) -> Result<&'c Outlet, LookAlikeProblem> {
    let outlets = || circuit.outlets().map(|(_, outlet)| outlet);
    if let Some(outlet) = outlets().find(|outlet| outlet.address.as_str() == at) {
        return Ok(outlet);
    }
    let of_device = |outlet: &&Outlet| {
        outlet.address.as_str().strip_prefix(at).is_some_and(|rest| rest.starts_with('.'))
    };
    let inside: Vec<&Outlet> = match circuit.place(at) {
        Some(place) => place.outlets.iter().collect(),
        None => outlets().filter(of_device).collect(),
    };
    match inside.as_slice() {
        [only] => Ok(only),
        [] => {
            let known = outlets().map(|outlet| outlet.address.as_str());
            Err(LookAlikeProblem::Unknown(UnknownName::among(at, "a receptacle", known)))
        }
        several => Err(LookAlikeProblem::WhichReceptacle {
            at: at.to_owned(),
            one_of: several.iter().map(|outlet| outlet.address.to_string()).collect(),
        }),
    }
}
