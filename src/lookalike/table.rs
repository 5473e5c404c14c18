//! All that an instrument can show at one place, each with what is behind it.

use std::collections::BTreeMap;

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::condition::catalogue::LoadSetting;
use crate::instrument::Instrument;

use super::danger::{OwnDanger, own_dangers};
use super::evaluator::Outcome;
use super::group::{self, odds};
use super::sharing::Sharing;
use super::survey::{Gather, Gathered, survey};
use super::{Asked, Bounds, Counts, Depth, Groups, LookAlikeProblem};

/// The patterns of one instrument at one receptacle.
///
/// ```
/// # use slotwise::lookalike::PatternTable;
/// fn patterns(table: &PatternTable) -> Vec<&str> {
///     table.rows.iter().map(|row| row.pattern.as_str()).collect()
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct PatternTable {
    /// The instrument's name.
    pub instrument: String,
    /// The receptacle.
    pub at: String,
    /// The load states, in the numbering of the members.
    pub load_settings: Vec<LoadSetting>,
    /// Dangers that the circuit has by itself, the gravest first: no row is blamed for them.
    pub own_dangers: Vec<OwnDanger>,
    /// A row a pattern, the likeliest first.
    pub rows: Vec<PatternRow>,
    /// How much was asked.
    pub counts: Counts,
}

/// One pattern with what is behind it.
///
/// ```
/// # use slotwise::lookalike::PatternRow;
/// fn shows_when_sound(row: &PatternRow) -> bool { !row.sound.is_empty() }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct PatternRow {
    /// The pattern.
    pub pattern: String,
    /// Load states in which it shows with nothing wrong, by number.
    pub sound: Vec<usize>,
    /// Sum of the odds of all single faults behind it: judgement.
    pub odds: f64,
    /// Single faults behind it.
    pub singles: Groups,
    /// Double faults behind it, if they were asked for.
    pub doubles: Groups,
}

/// Every pattern that an instrument can show at a receptacle, against the faults behind each.
///
/// # Errors
///
/// As [`lookalikes`](super::lookalikes).
pub fn pattern_table(
    circuit: &Circuit,
    condition: &Condition,
    (instrument, at): (&Instrument, &str),
    depth: Depth,
    bounds: &Bounds,
) -> Result<PatternTable, LookAlikeProblem> {
    pattern_table_shared(circuit, condition, (instrument, at), (depth, bounds), &Sharing::alone())
}

/// The same in shares.
///
/// # Errors
///
/// As [`lookalikes`](super::lookalikes).
pub fn pattern_table_shared(
    circuit: &Circuit,
    condition: &Condition,
    (instrument, at): (&Instrument, &str),
    (depth, bounds): (Depth, &Bounds),
    sharing: &Sharing<'_>,
) -> Result<PatternTable, LookAlikeProblem> {
    let asked = Asked::new(circuit, condition, instrument, at)?;
    let evaluator = asked.evaluator();
    let (counts, Patterns(patterns)) = survey(&asked, &evaluator, (depth, bounds), sharing);
    let mut rows: Vec<PatternRow> = patterns
        .into_iter()
        .map(|(pattern, gathered)| {
            let groups =
                |depth| group::grouped(&evaluator, &asked.catalogue, &gathered, depth, bounds);
            let single = gathered.hits.keys().filter(|set| set.len() == 1);
            PatternRow {
                odds: single.map(|set| odds(&asked.catalogue, set)).sum(),
                singles: groups(Depth::Single),
                doubles: groups(Depth::Double),
                sound: gathered.sound,
                pattern,
            }
        })
        .collect();
    let order = |row: &PatternRow| (!row.sound.is_empty(), row.odds);
    rows.sort_by(|a, b| {
        let ((sound_a, odds_a), (sound_b, odds_b)) = (order(a), order(b));
        sound_b.cmp(&sound_a).then(odds_b.total_cmp(&odds_a))
    });
    Ok(PatternTable {
        instrument: instrument.name().to_owned(),
        at: asked.outlet.address.to_string(),
        load_settings: asked.settings.clone(),
        own_dangers: own_dangers(&evaluator.own),
        rows,
        counts,
    })
}

/// What is behind each pattern.
#[derive(Default)]
struct Patterns(BTreeMap<String, Gathered>);

impl Gather for Patterns {
    fn take(&mut self, asked: &Asked<'_>, (setting, faults): (usize, &[usize]), outcome: &Outcome) {
        let pattern = asked.placement.pattern(&outcome.shown);
        self.0.entry(pattern).or_default().add(setting, faults, outcome);
    }

    fn merge(&mut self, other: Self) {
        for (pattern, gathered) in other.0 {
            self.0.entry(pattern).or_default().merge(gathered);
        }
    }
}
