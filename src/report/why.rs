//! The report on one terminal: what holds it at its potential.

use crate::circuit::{Circuit, UnknownName, Vocabulary};
use crate::condition::Condition;
use crate::condition::words::describe;
use crate::hazard::not_cleared;
use crate::netlist::{ElementId, Netlist, NodeId, Role, wire};
use crate::protection::operate;
use crate::quantity::{Address, Phasor};
use crate::solution::{Feed, FeedPath, Holder, Holding, solve};

use super::hazard_words::{HazardReport, all_in_words};
use super::phasor::PhasorForm;
use super::read::{Held, ReportError};

mod notes;
mod path;
mod words;

use notes::Terminal;
use path::{Source, Teller};
use words::{Subject, sentence};

pub(crate) use words::SHARE_TOLD;

/// What feeds a terminal, as data and in words.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::condition::Condition;
/// use slotwise::report::WhyReport;
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = file::read(&text).unwrap().circuit;
/// let why = WhyReport::new(&circuit, &Condition::default(), &"door.hot".into()).unwrap();
/// println!("{}", why.says);
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WhyReport {
    /// What the circuit is called.
    pub circuit: String,
    /// Which words the report speaks.
    pub vocabulary: Vocabulary,
    /// Frequency.
    pub frequency_hz: f64,
    /// What differs from the circuit file, in words.
    pub condition: Vec<String>,
    /// Dangers of the whole circuit, the gravest first; energised metal before all else.
    pub hazards: Vec<HazardReport>,
    /// The terminal.
    pub address: String,
    /// Its potential to remote earth; none if undetermined.
    pub potential_volt: Option<PhasorForm>,
    /// How firmly it is held there.
    pub held: Held,
    /// The ways it is fed, the strongest first; empty if nothing that conducts leads to it.
    pub feeds: Vec<FeedReading>,
    /// What holds a floating terminal, element by element, the largest share first.
    pub held_by: Vec<HolderReading>,
    /// The same by conductor, the largest share first.
    pub shares: Vec<ShareReading>,
    /// The whole in one sentence.
    pub says: String,
}

/// One way a terminal is fed.
///
/// ```
/// use slotwise::report::why::FeedReading;
/// fn is_main(feed: &FeedReading) -> bool {
///     feed.share > 0.5
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct FeedReading {
    /// The terminal of the supply it comes from, or earth.
    pub from: String,
    /// Share by which the terminal would follow a change there, 0 to 1.
    pub share: f64,
    /// The path in words, one stop each, from there to the terminal.
    pub stops: Vec<String>,
    /// The path element by element.
    pub path: Vec<StepReading>,
}

/// One element of a path.
///
/// ```
/// use slotwise::report::why::StepReading;
/// fn dropped_volt(path: &[StepReading]) -> f64 {
///     path.iter().map(|step| step.voltage_volt.rms).sum()
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct StepReading {
    /// The element's name.
    pub element: String,
    /// What it is.
    pub role: Role,
    /// The end nearer to the supply.
    pub from: String,
    /// The end nearer to the terminal.
    pub to: String,
    /// Its current, from `from` to `to`.
    pub current_ampere: PhasorForm,
    /// The voltage across it, from `from` to `to`.
    pub voltage_volt: PhasorForm,
}

/// One of the things that hold a floating terminal.
///
/// ```
/// use slotwise::report::why::HolderReading;
/// fn matters(holder: &HolderReading) -> bool {
///     holder.share > 0.01
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct HolderReading {
    /// The terminal at the other end.
    pub address: String,
    /// The element between.
    pub element: String,
    /// What it is.
    pub role: Role,
    /// Its share of the whole admittance that holds the terminal, 0 to 1.
    pub share: f64,
}

/// How much the conductors of one name hold of a floating terminal.
///
/// ```
/// use slotwise::report::why::ShareReading;
/// fn of_the_soil(shares: &[ShareReading]) -> f64 {
///     shares.iter().filter(|share| share.conductor == "earth").map(|share| share.share).sum()
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ShareReading {
    /// The conductor, as the circuit file names it; `earth` is the soil.
    pub conductor: String,
    /// Its share of the whole admittance that holds the terminal, 0 to 1.
    pub share: f64,
}

impl WhyReport {
    /// Puts circuit and condition together, solves them, and follows what holds `address`.
    ///
    /// ```
    /// use slotwise::circuit::file;
    /// use slotwise::condition::Condition;
    /// use slotwise::report::WhyReport;
    /// let circuit = file::read(include_str!("../../circuits/pottery-studio.ron")).unwrap().circuit;
    /// let report = WhyReport::new(&circuit, &Condition::default(), &"kiln.hot".into())?;
    /// assert!(report.feeds[0].stops.iter().any(|stop| stop == "breaker c1"));
    /// # Ok::<(), slotwise::report::ReportError>(())
    /// ```
    ///
    /// # Errors
    ///
    /// The condition or the address does not fit the circuit, or the network cannot be solved.
    pub fn new(
        circuit: &Circuit,
        condition: &Condition,
        address: &Address,
    ) -> Result<Self, ReportError> {
        let netlist = wire(circuit, condition)?;
        let Some(node) = netlist.find_node(address) else {
            let terminals = netlist.nodes().map(|node| netlist.address(node).as_str());
            return Err(UnknownName::among(address.as_str(), "a terminal", terminals).into());
        };
        let solution = solve(&netlist)?;
        let teller = Teller { circuit, netlist: &netlist, solution: &solution };
        let (paths, holders) = match solution.feed(&netlist, node) {
            Feed::Fed(paths) => (paths, Vec::new()),
            Feed::Floating(holders) => (Vec::new(), holders),
            _ => (Vec::new(), Vec::new()),
        };
        let held_by: Vec<HolderReading> =
            holders.iter().map(|holder| holder_reading(&netlist, holder)).collect();
        let shares = shares(&held_by);
        let sources: Vec<Source> = paths.iter().map(|path| teller.source(path)).collect();
        let potential = solution.potential(node);
        let held = Held::of(potential, Holding::new(&netlist, &solution).is_weak(node));
        let not_cleared = not_cleared(circuit, &operate(circuit, condition)?);
        let hazards = all_in_words((circuit, condition), (&netlist, &solution), not_cleared);
        let parts = circuit.parts();
        let terminal = Terminal {
            teller: &teller,
            condition,
            node,
            address: address.as_str(),
            paths: &paths,
            sources: &sources,
        };
        let mut says = sentence(&Subject {
            address: address.as_str(),
            volt: potential.map(Phasor::magnitude),
            held,
            shares: &shares,
            sources: &sources,
            vocabulary: parts.vocabulary,
        });
        for note in terminal.notes() {
            says.push(' ');
            says.push_str(&note);
        }
        Ok(Self {
            circuit: parts.name.clone(),
            vocabulary: parts.vocabulary,
            frequency_hz: parts.frequency_hz,
            condition: describe(circuit, condition),
            hazards,
            address: address.to_string(),
            potential_volt: potential.map(Into::into),
            held,
            feeds: paths.iter().map(|path| feed_reading(&teller, path)).collect(),
            held_by,
            shares,
            says,
        })
    }
}

fn feed_reading(teller: &Teller<'_>, path: &FeedPath) -> FeedReading {
    let steps = teller.steps(path);
    FeedReading {
        from: teller.netlist.address(path.from).to_string(),
        share: path.share,
        stops: teller.stops(path, &steps),
        path: steps.iter().map(|&step| step_reading(teller, step)).collect(),
    }
}

fn step_reading(teller: &Teller<'_>, (id, to): (ElementId, NodeId)) -> StepReading {
    let Teller { netlist, solution, .. } = teller;
    let (a, b) = netlist.ends(id);
    let forward = b == to;
    let towards = |phasor: Phasor| if forward { phasor } else { -phasor };
    let element = netlist.element(id);
    StepReading {
        element: element.id.clone(),
        role: element.role,
        from: netlist.address(if forward { a } else { b }).to_string(),
        to: netlist.address(to).to_string(),
        current_ampere: towards(solution.current(id)).into(),
        voltage_volt: towards(solution.voltage(id)).into(),
    }
}

fn holder_reading(netlist: &Netlist, holder: &Holder) -> HolderReading {
    let element = netlist.element(holder.element);
    HolderReading {
        address: netlist.address(holder.terminal).to_string(),
        element: element.id.clone(),
        role: element.role,
        share: holder.share,
    }
}

/// The holders gathered by the conductor at their far end.
fn shares(held_by: &[HolderReading]) -> Vec<ShareReading> {
    let mut shares: Vec<ShareReading> = Vec::new();
    for holder in held_by {
        let conductor = holder.address.rsplit('.').next().unwrap_or_default();
        match shares.iter_mut().find(|share| share.conductor == conductor) {
            Some(found) => found.share += holder.share,
            None => {
                let conductor = conductor.to_owned();
                shares.push(ShareReading { conductor, share: holder.share });
            }
        }
    }
    shares.sort_by(|one, other| other.share.total_cmp(&one.share));
    shares
}
