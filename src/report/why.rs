//! The report on one terminal: what holds it at its potential.

use crate::circuit::{Circuit, UnknownName, Vocabulary};
use crate::condition::Condition;
use crate::condition::words::describe;
use crate::netlist::{ElementId, Netlist, NodeId, Role, wire};
use crate::quantity::{Address, Phasor};
use crate::solution::{Solution, solve};

use super::holding::Holding;
use super::phasor::PhasorForm;
use super::read::{Held, ReportError};

mod words;

use words::{Subject, Teller, sentence};

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
    /// The terminal.
    pub address: String,
    /// Its potential to remote earth; none if undetermined.
    pub potential_volt: Option<PhasorForm>,
    /// How firmly it is held there.
    pub held: Held,
    /// The path that holds it, from the supply or from earth to the terminal; empty if it floats.
    pub path: Vec<StepReading>,
    /// What holds a floating terminal, element by element, the largest share first.
    pub held_by: Vec<HolderReading>,
    /// The same by conductor, the largest share first.
    pub shares: Vec<ShareReading>,
    /// The path in words, one stop each.
    pub stops: Vec<String>,
    /// The whole in one sentence.
    pub says: String,
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
    /// assert!(report.stops.iter().any(|stop| stop == "breaker c1"));
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
        let holding = Holding::new(&netlist, &solution);
        let path = match holding.is_weak(node) {
            true => Vec::new(),
            false => from_source(&netlist, holding.path(&netlist, node)),
        };
        let held_by = holders(&netlist, &holding, node);
        let shares = shares(&held_by);
        let teller = Teller { circuit, netlist: &netlist, solution: &solution };
        let mut stops = teller.stops(&path);
        if let Some(stop) = earthed_neutral(&netlist, &path) {
            stops.insert(0, stop);
        }
        let potential = solution.potential(node);
        let parts = circuit.parts();
        let says = sentence(&Subject {
            address: address.as_str(),
            volt: potential.map(Phasor::magnitude),
            weak: holding.is_weak(node),
            shares: &shares,
            loads: &teller.loads(&path),
            source: stops.first().map_or("earth", String::as_str),
            vocabulary: parts.vocabulary,
        });
        Ok(Self {
            circuit: parts.name.clone(),
            vocabulary: parts.vocabulary,
            frequency_hz: parts.frequency_hz,
            condition: describe(circuit, condition),
            address: address.to_string(),
            potential_volt: potential.map(Into::into),
            held: Held::of(potential, holding.is_weak(node)),
            path: path.iter().map(|&step| step_reading(&netlist, &solution, step)).collect(),
            held_by,
            shares,
            stops,
            says,
        })
    }
}

/// The path from its last winding on, or from the earthed end of a winding: what lies before
/// that is only how the supply is earthed.
fn from_source(netlist: &Netlist, mut path: Vec<(ElementId, NodeId)>) -> Vec<(ElementId, NodeId)> {
    let is_winding =
        |(element, _): &(ElementId, NodeId)| netlist.element(*element).role == Role::Winding;
    let start = path.iter().rposition(is_winding).unwrap_or_else(|| {
        let at_winding =
            |(_, to): &(ElementId, NodeId)| ends_of_windings(netlist).any(|end| end == *to);
        path.iter().rposition(at_winding).map_or(0, |at| at + 1)
    });
    // A terminal that is such an end itself keeps the way from earth.
    if start < path.len() { path.split_off(start) } else { path }
}

/// What a path begins with that has been cut at the earthed end of a winding.
fn earthed_neutral(netlist: &Netlist, path: &[(ElementId, NodeId)]) -> Option<String> {
    let &(first, to) = path.first()?;
    if netlist.element(first).role == Role::Winding {
        return None;
    }
    let (a, b) = netlist.ends(first);
    let from = if a == to { b } else { a };
    let earthed = ends_of_windings(netlist).any(|end| end == from);
    earthed.then(|| "the earthed neutral of the supply".to_owned())
}

fn ends_of_windings(netlist: &Netlist) -> impl Iterator<Item = NodeId> + '_ {
    let windings = netlist.elements().filter(|&id| netlist.element(id).role == Role::Winding);
    windings.flat_map(|id| {
        let (a, b) = netlist.ends(id);
        [a, b]
    })
}

fn step_reading(
    netlist: &Netlist,
    solution: &Solution,
    (id, to): (ElementId, NodeId),
) -> StepReading {
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

/// What the whole floating piece that `node` is part of hangs on; empty if it does not float.
fn holders(netlist: &Netlist, holding: &Holding, node: NodeId) -> Vec<HolderReading> {
    if !holding.is_weak(node) {
        return Vec::new();
    }
    let mut held_by = Vec::new();
    let links = holding.weak_links(node);
    let whole: f64 = links.iter().map(|link| link.admittance_siemens).sum();
    for link in links {
        let element = netlist.element(link.element);
        held_by.push(HolderReading {
            address: netlist.address(link.far).to_string(),
            element: element.id.clone(),
            role: element.role,
            share: link.admittance_siemens / whole,
        });
    }
    held_by.sort_by(|one, other| other.share.total_cmp(&one.share));
    held_by
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
