//! A case from its `physical`, through circuit and condition.

use serde::Deserialize;
use slotwise::circuit::{CableEnd, Circuit};
use slotwise::condition::{Condition, EndOfCable, Fault, Gap};
use slotwise::netlist::{Netlist, wire};
use slotwise::quantity::Address;
use slotwise::solution::{Solution, solve};

use super::case::{Case, Comparison, Outcome};
use super::describe::Physical;
use super::names::{are_kept_apart, ours};

/// Builds, solves and compares potentials and element currents.
pub fn run(case: &Case) -> Outcome {
    match wired(case).map(|netlist| (solve(&netlist), netlist)) {
        Ok((Ok(solution), netlist)) => compare(case, &netlist, &solution).outcome(case.tolerance()),
        Ok((Err(refusal), _)) => Outcome::Failed(refusal.to_string()),
        Err(why) => Outcome::Failed(why),
    }
}

/// The netlist of a case's circuit in its condition.
pub fn wired(case: &Case) -> Result<Netlist, String> {
    let (circuit, condition) = circuit_and_condition(case)?;
    wire(&circuit, &condition).map_err(|problem| problem.to_string())
}

/// A case's circuit and its condition.
pub fn circuit_and_condition(case: &Case) -> Result<(Circuit, Condition), String> {
    let names = case.terminals().into_keys().chain(case.element_currents().into_keys());
    are_kept_apart(names)?;
    let physical = &case.json["physical"];
    let installed: Physical =
        serde_json::from_value(physical.clone()).map_err(|error| format!("physical: {error}"))?;
    let faults: Vec<FaultRecord> = serde_json::from_value(physical["faults"].clone())
        .map_err(|error| format!("faults: {error}"))?;
    let circuit = Circuit::new(installed.description()).map_err(|problems| {
        problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
    })?;
    let faults: Result<Vec<Fault>, String> = faults.iter().map(FaultRecord::fault).collect();
    Ok((circuit, Condition { faults: faults?, ..Condition::default() }))
}

fn compare(case: &Case, netlist: &Netlist, solution: &Solution) -> Comparison {
    let mut comparison = Comparison::default();
    for (name, expected) in case.terminals() {
        match netlist.find_node(&Address::from(ours(name))) {
            Some(node) => comparison.potential(name, expected, solution.potential(node)),
            None => comparison.disagree(format!("there is no terminal {}", ours(name))),
        }
    }
    for (name, expected) in case.element_currents() {
        match netlist.find_element(&ours(name)) {
            Some(element) => {
                comparison.current(name, expected, Some(solution.current(element)));
            }
            None => comparison.disagree(format!("there is no element {}", ours(name))),
        }
    }
    comparison
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum FaultRecord {
    Open {
        element: String,
        #[serde(flatten)]
        gap: GapRecord,
    },
    HighResistance {
        element: String,
        r_ohm: f64,
    },
    Swap {
        cable_end: String,
        conductors: (String, String),
    },
    Exchange {
        elements: (String, String),
    },
    Jumper {
        id: String,
        between: (String, String),
        r_ohm: f64,
    },
    WrongBus {
        #[serde(alias = "id", alias = "element")]
        circuit: String,
        #[serde(alias = "to")]
        bus: String,
    },
    Cut {
        cable: String,
        conductor: String,
        at_fraction: f64,
        #[serde(flatten)]
        gap: GapRecord,
    },
    MidHighResistance {
        cable: String,
        conductor: String,
        at_fraction: f64,
        r_ohm: f64,
    },
    MidContact {
        cable: String,
        #[serde(alias = "conductors")]
        between: (String, String),
        at_fraction: f64,
        r_ohm: f64,
    },
}

#[derive(Deserialize)]
struct GapRecord {
    #[serde(default)]
    gap_c_farad: Option<f64>,
    #[serde(default)]
    gap_r_ohm: Option<f64>,
}

impl GapRecord {
    fn gap(&self) -> Gap {
        Gap { capacitance_farad: self.gap_c_farad, resistance_ohm: self.gap_r_ohm }
    }
}

impl FaultRecord {
    fn fault(&self) -> Result<Fault, String> {
        Ok(match self {
            Self::Open { element, gap } => Fault::Open { element: ours(element), gap: gap.gap() },
            Self::HighResistance { element, r_ohm } => {
                Fault::Resistance { element: ours(element), resistance_ohm: *r_ohm }
            }
            Self::Swap { cable_end, conductors } => Fault::ExchangedAtCableEnd {
                end: end_of_cable(cable_end)?,
                conductors: pair(conductors),
            },
            Self::Exchange { elements } => Fault::ExchangedJoints { elements: pair(elements) },
            Self::Jumper { id, between, r_ohm } => {
                let (a, b) = pair(between);
                Fault::Bridge {
                    id: ours(id),
                    between: (Address::from(a), Address::from(b)),
                    resistance_ohm: *r_ohm,
                }
            }
            Self::WrongBus { circuit, bus } => {
                let circuit = ours(circuit.trim_start_matches("breaker:"));
                Fault::WrongBus { circuit, bus: Address::from(ours(bus)) }
            }
            Self::Cut { cable, conductor, at_fraction, gap } => Fault::Broken {
                cable: ours(cable),
                conductor: ours(conductor),
                at_fraction: *at_fraction,
                gap: gap.gap(),
            },
            Self::MidHighResistance { cable, conductor, at_fraction, r_ohm } => {
                Fault::ResistanceInCable {
                    cable: ours(cable),
                    conductor: ours(conductor),
                    at_fraction: *at_fraction,
                    resistance_ohm: *r_ohm,
                }
            }
            Self::MidContact { cable, between, at_fraction, r_ohm } => Fault::ContactInCable {
                cable: ours(cable),
                conductors: pair(between),
                at_fraction: *at_fraction,
                resistance_ohm: *r_ohm,
            },
        })
    }
}

fn pair((first, second): &(String, String)) -> (String, String) {
    (ours(first), ours(second))
}

fn end_of_cable(name: &str) -> Result<EndOfCable, String> {
    let (cable, end) = name.rsplit_once('.').ok_or_else(|| format!("{name} is no cable end"))?;
    let end = match end {
        "a" => CableEnd::A,
        "b" => CableEnd::B,
        other => return Err(format!("a cable has no end {other}")),
    };
    Ok(EndOfCable { cable: ours(cable), end })
}
