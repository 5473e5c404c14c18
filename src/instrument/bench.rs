//! The network with instruments on it.

use crate::netlist::{ElementId, Law, Netlist, NodeId, Role};
use crate::quantity::{Address, Phasor};
use crate::solution::{Solution, solve};

use super::band::Band;
use super::problem::MeasureProblem;

/// Which end of a band an instrument's own threshold is taken at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lean {
    /// The lower: it conducts as soon as it may.
    Willing,
    /// The upper.
    Reluctant,
}

impl Lean {
    pub(super) fn of(self, band: Band) -> f64 {
        match self {
            Self::Willing => band.low,
            Self::Reluctant => band.high,
        }
    }
}

/// One input of an instrument: an element between two terminals. [`Law::Open`] only looks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Port {
    pub(super) from: NodeId,
    pub(super) to: NodeId,
    pub(super) law: Law,
}

/// What the inputs of an instrument see while they are all attached.
#[derive(Debug)]
pub(super) struct Attached {
    /// The state reached, then every other state that holds itself.
    states: Vec<Vec<(Option<Phasor>, Phasor)>>,
}

impl Attached {
    pub(super) fn n_states(&self) -> usize {
        self.states.len()
    }

    /// Voltage across input number `port` in a state.
    pub(super) fn voltage_in(&self, state: usize, port: usize) -> Option<Phasor> {
        self.states.get(state)?.get(port)?.0
    }

    /// Current through input number `port` in a state.
    pub(super) fn current_in(&self, state: usize, port: usize) -> Phasor {
        let state = self.states.get(state).and_then(|ports| ports.get(port));
        state.map_or(Phasor::ZERO, |&(_, current)| current)
    }

    pub(super) fn voltage(&self, port: usize) -> Option<Phasor> {
        self.voltage_in(0, port)
    }

    pub(super) fn current(&self, port: usize) -> Phasor {
        self.current_in(0, port)
    }
}

/// One netlist, solved, to which instruments are put.
pub(super) struct Bench<'n> {
    netlist: &'n Netlist,
    live: Solution,
}

impl<'n> Bench<'n> {
    pub(super) fn new(netlist: &'n Netlist) -> Result<Self, MeasureProblem> {
        Ok(Self { netlist, live: solve(netlist)? })
    }

    pub(super) fn netlist(&self) -> &'n Netlist {
        self.netlist
    }

    /// The network with nothing attached.
    pub(super) fn live(&self) -> &Solution {
        &self.live
    }

    pub(super) fn node(&self, address: &Address) -> Result<NodeId, MeasureProblem> {
        self.netlist
            .find_node(address)
            .ok_or_else(|| MeasureProblem::unknown_terminal(self.netlist, address))
    }

    pub(super) fn element(&self, id: &str) -> Result<ElementId, MeasureProblem> {
        self.netlist
            .find_element(id)
            .ok_or_else(|| MeasureProblem::unknown_element(self.netlist, id))
    }

    /// The network with these inputs attached, all at once.
    pub(super) fn attach(&self, ports: &[Port]) -> Result<Attached, MeasureProblem> {
        let (solution, elements) = self.solve_with(ports)?;
        let here = |(port, &element): (&Port, &ElementId)| {
            (solution.difference(port.from, port.to), solution.current(element))
        };
        let reached: Vec<_> = ports.iter().zip(&elements).map(here).collect();
        let mut states = vec![reached.clone()];
        for state in solution.states().iter().filter(|state| !state.reached) {
            // Only the inputs that can be in several states are known in the others.
            let mut other = reached.clone();
            for (port, element) in other.iter_mut().zip(&elements) {
                if let Some(device) = state.devices.iter().find(|d| d.element == *element) {
                    *port = (Some(device.voltage_volt), device.current_ampere);
                }
            }
            states.push(other);
        }
        Ok(Attached { states })
    }

    /// The whole solution with these inputs attached, and the elements they are in it.
    pub(super) fn solve_with(
        &self,
        ports: &[Port],
    ) -> Result<(Solution, Vec<ElementId>), MeasureProblem> {
        let mut netlist = self.netlist.clone();
        let mut elements = Vec::with_capacity(ports.len());
        for port in ports {
            let id = unused_id(&netlist, "input");
            elements.push(netlist.add(id, port.from, port.to, Role::Instrument, port.law)?);
        }
        Ok((solve(&netlist)?, elements))
    }
}

/// A name that no element of the netlist has.
pub(super) fn unused_id(netlist: &Netlist, what: &str) -> String {
    let mut id = format!("instrument:{what}:{}", netlist.elements().len());
    while netlist.find_element(&id).is_some() {
        id.push('+');
    }
    id
}
