//! What a circuit shows with faults on it: the one place that everything here asks.
//!
//! A hypothesis is a set of faults and a load setting. It is put on the circuit and solved; what
//! trips at once has tripped before anybody holds an instrument there; what is left is measured.

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::condition::catalogue::{LoadSetting, PossibleFault};
use crate::hazard::Hazard;
use crate::instrument::{MeasureProblem, Request, Shown, measure_netlist};
use crate::netlist::{Netlist, Wiring};
use crate::protection::Protection;
use crate::solution::solve;

use super::danger;
use super::quick::{Quick, QuickWork};
use super::trip;
use super::tripping::is_asked_whole;

/// What a hypothesis shows.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Outcome {
    /// One reading a request.
    pub(super) shown: Vec<Shown>,
    /// Breakers and protective devices that trip at once.
    pub(super) tripped: Vec<String>,
}

/// Answers hypotheses about one circuit.
pub(super) struct Evaluator<'c> {
    pub(super) circuit: &'c Circuit,
    base: &'c Condition,
    pub(super) settings: &'c [LoadSetting],
    faults: &'c [PossibleFault],
    requests: &'c [Request],
    trips: Settling<'c>,
    /// By load setting: the dangers with no fault at all.
    pub(super) own: Vec<Vec<Hazard>>,
    /// By load setting; `None` where each network is laid out by itself.
    quick: Vec<Option<Quick<'c>>>,
}

/// Room for the numbers of an evaluator, one a thread.
pub(super) struct EvaluatorWork {
    pub(super) quick: Vec<Option<QuickWork>>,
}

impl<'c> Evaluator<'c> {
    pub(super) fn new(
        circuit: &'c Circuit,
        base: &'c Condition,
        settings: &'c [LoadSetting],
        faults: &'c [PossibleFault],
        requests: &'c [Request],
    ) -> Self {
        let trips = Settling::new(circuit);
        let (own, quick) = (Vec::new(), Vec::new());
        let mut evaluator = Self { circuit, base, settings, faults, requests, trips, own, quick };
        evaluator.own = (0..settings.len())
            .map(|setting| danger::found(circuit, &evaluator.settled(setting, &[])))
            .collect();
        let change = |fault: &PossibleFault| match is_asked_whole(circuit, fault.kind) {
            true => Condition::default(),
            false => fault.change.clone(),
        };
        let changes: Vec<Condition> = faults.iter().map(change).collect();
        evaluator.quick = (0..settings.len())
            .map(|setting| {
                let base = evaluator.condition(setting, &[]);
                Quick::new(circuit, &base, &changes, requests)
            })
            .collect();
        evaluator
    }

    pub(super) fn work(&self) -> EvaluatorWork {
        let work = |quick: &Option<Quick<'_>>| quick.as_ref().map(Quick::work);
        EvaluatorWork { quick: self.quick.iter().map(work).collect() }
    }

    /// The condition of a hypothesis: faults by their place in the catalogue.
    pub(super) fn condition(&self, setting: usize, faults: &[usize]) -> Condition {
        let mut condition = self.base.clone();
        if let Some(setting) = self.settings.get(setting) {
            condition.loads.extend(setting.loads.iter().map(|(load, at)| (load.clone(), *at)));
        }
        for fault in faults.iter().filter_map(|&fault| self.faults.get(fault)) {
            fault.apply(&mut condition);
        }
        condition
    }

    /// What a hypothesis shows.
    ///
    /// # Errors
    ///
    /// The faults cannot be so at once, or the network has no answer.
    pub(super) fn outcome(
        &self,
        setting: usize,
        faults: &[usize],
        work: &mut EvaluatorWork,
    ) -> Result<Outcome, MeasureProblem> {
        let is_whole = |at: &usize| {
            self.faults.get(*at).is_some_and(|fault| is_asked_whole(self.circuit, fault.kind))
        };
        if faults.iter().any(is_whole) {
            return self.outcome_laid_out(setting, faults);
        }
        let quick = self.quick.get(setting).and_then(Option::as_ref);
        let room = work.quick.get_mut(setting).and_then(Option::as_mut);
        let quickly = quick.zip(room).and_then(|(quick, room)| quick.outcome(faults, room));
        quickly.unwrap_or_else(|| self.outcome_laid_out(setting, faults))
    }

    /// The same with each network laid out and solved by itself.
    pub(super) fn outcome_laid_out(
        &self,
        setting: usize,
        faults: &[usize],
    ) -> Result<Outcome, MeasureProblem> {
        let (netlist, _, tripped) = self.settle(self.condition(setting, faults))?;
        let readings = measure_netlist(&netlist, self.requests)?;
        Ok(Outcome { shown: readings.into_iter().map(|reading| reading.shown).collect(), tripped })
    }

    /// The condition of a hypothesis after what trips at once has tripped.
    pub(super) fn settled(&self, setting: usize, faults: &[usize]) -> Condition {
        let condition = self.condition(setting, faults);
        match self.settle(condition.clone()) {
            Ok((_, settled, _)) => settled,
            Err(_) => condition,
        }
    }

    fn settle(&self, condition: Condition) -> Result<Settled, MeasureProblem> {
        self.trips.settle(condition)
    }
}

/// The network of a condition, the condition, and what tripped.
pub(crate) type Settled = (Netlist, Condition, Vec<String>);

/// A circuit laid out once, with the devices that may trip.
pub(crate) struct Settling<'c> {
    wiring: Wiring<'c>,
    protection: Protection<'c>,
}

impl<'c> Settling<'c> {
    pub(crate) fn new(circuit: &'c Circuit) -> Self {
        Self { wiring: Wiring::new(circuit), protection: Protection::new(circuit) }
    }

    /// The network that is left when everything that trips at once has tripped.
    pub(crate) fn settle(&self, mut condition: Condition) -> Result<Settled, MeasureProblem> {
        let mut tripped: Vec<String> = Vec::new();
        loop {
            let netlist = self.wiring.netlist(&condition)?;
            let standing = self.protection.standing(&netlist, &solve(&netlist)?);
            let more = trip::at_once(standing);
            if more.is_empty() {
                return Ok((netlist, condition, tripped));
            }
            // What has tripped carries nothing and is not named again: this ends.
            condition.breakers.extend(more.iter().map(|name| (name.clone(), false)));
            tripped.extend(more);
        }
    }
}

/// A condition after everything that trips within a moment has tripped, and the names of those
/// breakers and protective devices, in order: what a person with an instrument finds.
///
/// # Errors
///
/// The condition does not fit the circuit, or the network has no answer.
pub fn after_tripping(
    circuit: &Circuit,
    condition: &Condition,
) -> Result<(Condition, Vec<String>), MeasureProblem> {
    Settling::new(circuit)
        .settle(condition.clone())
        .map(|(_, condition, tripped)| (condition, tripped))
}
