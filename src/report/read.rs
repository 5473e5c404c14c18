//! The report of one condition: every receptacle, device and load, dangers first.

use crate::circuit::reach::Branches;
use crate::circuit::{Circuit, UnknownName, Vocabulary};
use crate::condition::Condition;
use crate::condition::words::describe;
use crate::hazard::not_cleared;
use crate::instrument::MeasureProblem;
use crate::netlist::{WireProblem, wire};
use crate::protection::{OperateProblem, operate};
use crate::solution::{Holding, Refusal, solve};

use super::hazard_words::{HazardReport, all_in_words};
use super::protection::ProtectionReport;

mod asked;
mod before;
mod held;
mod look;
mod may_be;
mod row;
mod settings;
mod shown;
mod states;

pub use asked::Asked;
pub use row::{
    BreakerReading, CurrentReading, DeviceReading, Difference, Held, JointReading, LoadReading,
    OutletReading, StateReading, TerminalReading,
};

pub(in crate::report) use shown::one as reading_in_words;
pub use shown::{Band, InstrumentReading, PressedReport, Ranges, usual_tester};

use asked::Wanted;
use held::{Way, everywhere};
use look::Look;
use shown::read_all;

pub(crate) use shown::{banded, state_word};

/// What every slot carries in one condition.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::condition::Condition;
/// use slotwise::report::{Asked, ReadReport};
/// let text = include_str!("../../circuits/pottery-studio.ron");
/// let circuit = file::read(text).unwrap().circuit;
/// let report = ReadReport::new(&circuit, &Condition::default(), &Asked::default())?;
/// assert!(report.hazards.is_empty());
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ReadReport {
    /// What the circuit is called.
    pub circuit: String,
    /// Which words the report speaks.
    pub vocabulary: Vocabulary,
    /// Frequency.
    pub frequency_hz: f64,
    /// What differs from the circuit file, in words.
    pub condition: Vec<String>,
    /// Dangers, the gravest first; energised metal before all else.
    pub hazards: Vec<HazardReport>,
    /// What trips, and whether what follows is what remains after it.
    pub protection: ProtectionReport,
    /// How many branch circuits there are, the poles of one as one.
    pub n_circuits: usize,
    /// Receptacles, in walking order.
    pub outlets: Vec<OutletReading>,
    /// What the instruments asked for show wherever they are held, instrument by instrument.
    pub instruments: Vec<InstrumentReading>,
    /// How bands were found, where the circuit states lengths, loads or the supply as ranges.
    pub ranges: Option<Ranges>,
    /// Terminals that were asked for one by one.
    pub terminals: Vec<TerminalReading>,
    /// Joints that were asked for, and those of places that were asked for.
    pub joints: Vec<JointReading>,
    /// What is plugged in or wired in.
    pub loads: Vec<LoadReading>,
    /// Switches and protective devices.
    pub devices: Vec<DeviceReading>,
    /// Breaker poles.
    pub breakers: Vec<BreakerReading>,
    /// The current in every element, if it was asked for.
    pub currents: Option<Vec<CurrentReading>>,
    /// The stable states, if there is more than one.
    pub stable_states: Vec<StateReading>,
    /// Largest current that Kirchhoff's law misses at any terminal.
    pub residual_ampere: f64,
}

/// Why there is no report.
///
/// ```
/// use slotwise::circuit::UnknownName;
/// use slotwise::report::ReportError;
/// let name = "klin".to_owned();
/// let unknown = UnknownName { name, expected: "a place", close: vec!["kiln".into()] };
/// assert!(ReportError::from(unknown).to_string().contains("kiln"));
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The condition speaks of something that is not in the circuit.
    #[error(transparent)]
    Wire(#[from] WireProblem),
    /// The network has no answer that can be trusted.
    #[error("this circuit in this condition has no solution that can be trusted: {0}")]
    Refused(#[from] Refusal),
    /// The address asked for is not in the circuit.
    #[error(transparent)]
    Unknown(#[from] UnknownName),
    /// Several of the addresses asked for are not in the circuit.
    #[error("{}", one_a_line(.0))]
    SeveralUnknown(Vec<UnknownName>),
    /// An instrument has no answer.
    #[error(transparent)]
    Instrument(#[from] MeasureProblem),
    /// An instrument is not held at anything that was asked for.
    #[error("a {instrument} is not held there: {where_then}")]
    NotHeld {
        /// The instrument.
        instrument: String,
        /// Where it is.
        where_then: &'static str,
    },
}

fn one_a_line(unknown: &[UnknownName]) -> String {
    unknown.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

impl From<Vec<UnknownName>> for ReportError {
    fn from(mut unknown: Vec<UnknownName>) -> Self {
        match (unknown.pop(), unknown.is_empty()) {
            (Some(only), true) => Self::Unknown(only),
            (last, _) => Self::SeveralUnknown(unknown.into_iter().chain(last).collect()),
        }
    }
}

impl From<OperateProblem> for ReportError {
    fn from(problem: OperateProblem) -> Self {
        match problem {
            OperateProblem::Wire(problem) => Self::Wire(problem),
            OperateProblem::Refused(refusal) => Self::Refused(refusal),
        }
    }
}

impl ReadReport {
    /// Puts circuit and condition together, solves them, and reads what was asked for.
    ///
    /// # Errors
    ///
    /// The condition or an address asked for does not fit the circuit, or the network cannot
    /// be solved.
    pub fn new(
        circuit: &Circuit,
        condition: &Condition,
        asked: &Asked,
    ) -> Result<Self, ReportError> {
        let sequence = operate(circuit, condition)?;
        let not_cleared = not_cleared(circuit, &sequence);
        let asked_about = condition;
        let (protection, shown) =
            ProtectionReport::new(circuit, condition, sequence, asked.before_trips);
        let said = describe(circuit, condition);
        let condition = &shown;
        let netlist = wire(circuit, condition)?;
        let solution = solve(&netlist)?;
        let wanted = Wanted::of(asked, circuit, &netlist)?;
        let holding = Holding::new(&netlist, &solution);
        let look =
            Look { circuit, condition, netlist: &netlist, solution: &solution, holding: &holding };
        let parts = circuit.parts();
        let outlets = look.wanted_outlets(&wanted);
        let ways = ways(circuit, asked, &wanted)?;
        let shown = read_all(circuit, condition, &outlets, &ways)?;
        let mut hazards = all_in_words((circuit, condition), (&netlist, &solution), not_cleared);
        before::add(circuit, asked_about, &protection, &mut hazards)?;
        may_be::add(circuit, asked_about, asked.before_trips, &mut hazards)?;
        Ok(Self {
            circuit: parts.name.clone(),
            vocabulary: parts.vocabulary,
            frequency_hz: parts.frequency_hz,
            condition: said,
            hazards,
            protection,
            n_circuits: Branches::of(circuit).poles.len(),
            outlets: look.outlets(&wanted, shown.by_default),
            instruments: shown.asked,
            ranges: shown.ranges,
            terminals: wanted.terminals.iter().map(|address| look.terminal(address)).collect(),
            joints: look.joints(&wanted),
            loads: look.loads(&wanted),
            devices: look.devices(&wanted),
            breakers: look.breakers(&wanted),
            currents: asked.currents.then(|| look.currents()),
            stable_states: look.stable_states(),
            residual_ampere: solution.residual_ampere(),
        })
    }
}

/// Where each instrument asked for is held.
fn ways(circuit: &Circuit, asked: &Asked, wanted: &Wanted) -> Result<Vec<Vec<Way>>, ReportError> {
    asked
        .with
        .iter()
        .map(|instrument| {
            let ways = everywhere(circuit, instrument, wanted);
            if !ways.is_empty() || circuit.outlets().next().is_none() {
                return Ok(ways);
            }
            Err(ReportError::NotHeld {
                instrument: instrument.name().to_owned(),
                where_then: held::where_held(instrument),
            })
        })
        .collect()
}
