//! One circuit laid out once, looked at in many conditions.

use std::collections::BTreeMap;

use crate::circuit::{Circuit, Outlet, Vocabulary};
use crate::condition::{Condition, LoadState};
use crate::hazard::{Hazard, Situation, hazards};
use crate::instrument::{Instrument, MeasureProblem, Request, measure_netlist};
use crate::lookalike::{Placement, Settling};
use crate::netlist::Netlist;
use crate::solution::{Solution, solve};

use super::reading::{DrillReading, readings, tools};

/// How the loads stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LoadsStand {
    /// In words.
    pub(super) name: String,
    /// Loads set otherwise than the circuit file says.
    pub(super) loads: BTreeMap<String, LoadState>,
}

impl LoadsStand {
    /// As the circuit file says.
    pub(super) fn as_found() -> Self {
        Self { name: "loads as described".to_owned(), loads: BTreeMap::new() }
    }

    /// As somebody has set them.
    pub(super) fn as_set() -> Self {
        Self { name: "loads as set".to_owned(), loads: BTreeMap::new() }
    }
}

/// A circuit with everything on it that does not depend on what is wrong.
pub(super) struct Scene<'c> {
    pub(super) circuit: &'c Circuit,
    settling: Settling<'c>,
    states: Vec<LoadsStand>,
    tools: Vec<(&'static str, Instrument)>,
    /// What each load gets, as found, with nothing wrong.
    sound: Standing,
}

/// A condition as a person finds it: what trips at once has tripped.
pub(super) struct Standing {
    pub(super) condition: Condition,
    pub(super) netlist: Netlist,
    pub(super) solution: Solution,
    /// What has tripped, in order.
    pub(super) tripped: Vec<String>,
}

impl<'c> Scene<'c> {
    pub(super) fn new(circuit: &'c Circuit) -> Result<Self, MeasureProblem> {
        let settling = Settling::new(circuit);
        let loads = &circuit.parts().loads;
        let all = |name: &str, state| LoadsStand {
            name: name.to_owned(),
            loads: loads.iter().map(|load| (load.id.clone(), state)).collect(),
        };
        let mut states = vec![LoadsStand::as_found()];
        // One of these is the state as found where all are off, or all on, already.
        if loads.iter().any(|load| load.on) {
            states.push(all("all loads off", LoadState::Off));
        }
        if loads.iter().any(|load| !load.on) {
            states.push(all("all loads on", LoadState::On));
        }
        let sound = settled(&settling, Condition::default())?;
        let tools = tools(circuit.parts().vocabulary == Vocabulary::Iec);
        Ok(Self { circuit, settling, states, tools, sound })
    }

    /// The load states in which a drill is read.
    pub(super) fn states(&self) -> &[LoadsStand] {
        &self.states
    }

    /// The circuit as found with nothing wrong.
    pub(super) fn sound(&self) -> &Standing {
        &self.sound
    }

    /// A condition as a person finds it with the loads standing so.
    pub(super) fn standing(
        &self,
        condition: &Condition,
        state: &LoadsStand,
    ) -> Result<Standing, MeasureProblem> {
        let mut condition = condition.clone();
        condition.loads.extend(state.loads.iter().map(|(load, at)| (load.clone(), *at)));
        settled(&self.settling, condition)
    }

    /// The instruments.
    pub(super) fn instruments(&self) -> impl Iterator<Item = &Instrument> {
        self.tools.iter().map(|(_, instrument)| instrument)
    }

    /// An instrument of the scene, by the name of its preset.
    pub(super) fn instrument(&self, tool: &str) -> Option<&Instrument> {
        self.tools.iter().find(|(name, _)| *name == tool).map(|(_, instrument)| instrument)
    }

    /// The instrument of that own name, with the name of its preset.
    pub(super) fn called(&self, name: &str) -> Option<(&'static str, &Instrument)> {
        let called =
            |(tool, one): &&(&'static str, Instrument)| *tool == name || one.name() == name;
        self.tools.iter().find(called).map(|(tool, instrument)| (*tool, instrument))
    }

    /// What every instrument shows at every receptacle.
    pub(super) fn readings(
        &self,
        standing: &Standing,
        state: &LoadsStand,
    ) -> Result<Vec<DrillReading>, MeasureProblem> {
        let tools = self.tools.iter();
        let outlets: Vec<&Outlet> = self.circuit.outlets().map(|(_, outlet)| outlet).collect();
        let asked = outlets.iter().flat_map(|&outlet| {
            tools.clone().map(move |(tool, instrument)| (*tool, instrument, outlet))
        });
        self.read(standing, state, asked)
    }

    /// What one instrument shows at every receptacle.
    pub(super) fn readings_of(
        &self,
        tool: usize,
        standing: &Standing,
        state: &LoadsStand,
    ) -> Result<Vec<DrillReading>, MeasureProblem> {
        let tool = self.tools.get(tool);
        let asked = self
            .circuit
            .outlets()
            .filter_map(|(_, outlet)| tool.map(|(name, instrument)| (*name, instrument, outlet)));
        self.read(standing, state, asked)
    }

    /// What an instrument of that name shows at a receptacle of that address; nothing where
    /// there are no such.
    pub(super) fn readings_at(
        &self,
        standing: &Standing,
        state: &LoadsStand,
        tool: &str,
        at: &str,
    ) -> Result<Option<Vec<DrillReading>>, MeasureProblem> {
        let mut outlets = self.circuit.outlets().map(|(_, outlet)| outlet);
        let outlet = outlets.find(|outlet| outlet.address.as_str() == at);
        let tool = self.tools.iter().find(|(name, _)| *name == tool);
        let (Some(outlet), Some((name, instrument))) = (outlet, tool) else { return Ok(None) };
        self.read(standing, state, std::iter::once((*name, instrument, outlet))).map(Some)
    }

    fn read<'a>(
        &self,
        standing: &Standing,
        state: &LoadsStand,
        asked: impl Iterator<Item = (&'static str, &'a Instrument, &'a Outlet)>,
    ) -> Result<Vec<DrillReading>, MeasureProblem> {
        // What is not held to such a receptacle is not read there.
        let placed: Vec<(&str, &Outlet, Placement)> = asked
            .filter_map(|(tool, instrument, outlet)| {
                let placement = Placement::new(instrument, outlet).ok()?;
                fits(instrument, outlet).then_some((tool, outlet, placement))
            })
            .collect();
        let requests: Vec<Request> =
            placed.iter().flat_map(|(_, _, placement)| &placement.requests).cloned().collect();
        let shown = measure_netlist(&standing.netlist, &requests)?;
        let mut rest = shown.as_slice();
        let mut all = Vec::new();
        for (tool, outlet, placement) in &placed {
            let (own, after) = rest.split_at(placement.requests.len().min(rest.len()));
            rest = after;
            all.extend(readings((&state.name, tool, outlet.address.as_str()), placement, own));
        }
        Ok(all)
    }

    /// The dangers of a standing condition.
    pub(super) fn hazards(&self, standing: &Standing) -> Vec<Hazard> {
        hazards(&Situation {
            circuit: self.circuit,
            condition: &standing.condition,
            netlist: &standing.netlist,
            solution: &standing.solution,
            sound: Some((&self.sound.netlist, &self.sound.solution)),
        })
    }
}

/// Whether the plug of an instrument goes into a receptacle.
fn fits(instrument: &Instrument, outlet: &Outlet) -> bool {
    match instrument {
        Instrument::PlugTester(tester) => {
            tester.fits.is_empty() || tester.fits.contains(&outlet.configuration)
        }
        _ => true,
    }
}

fn settled(settling: &Settling<'_>, condition: Condition) -> Result<Standing, MeasureProblem> {
    let (netlist, condition, tripped) = settling.settle(condition)?;
    let solution = solve(&netlist)?;
    Ok(Standing { condition, netlist, solution, tripped })
}
