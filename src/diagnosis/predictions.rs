//! What a hypothesis would show: the one place where diagnosis solves networks.

use std::sync::Arc;

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::instrument::measure_netlist;
use crate::lookalike::Settling;
use crate::netlist::Netlist;
use crate::solution::Solution;

use super::look::Looks;

/// The numbers of every channel in one condition, after what trips at once has tripped.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// In the order of the channels; `NaN` where undetermined.
    pub(super) values: Vec<f64>,
    /// Breakers and protective devices that trip at once.
    pub(super) tripped: Vec<String>,
}

impl Row {
    pub(super) fn value(&self, channel: usize) -> f64 {
        self.values.get(channel).copied().unwrap_or(f64::NAN)
    }
}

/// Answers conditions of one circuit.
#[derive(Clone)]
pub(super) struct Predictor<'c> {
    settling: Arc<Settling<'c>>,
    pub(super) looks: Looks,
}

impl<'c> Predictor<'c> {
    pub(super) fn new(circuit: &'c Circuit, looks: Looks) -> Self {
        Self { settling: Arc::new(Settling::new(circuit)), looks }
    }

    /// Every number in a condition; `None` where the faults cannot be so at once or the network
    /// has no answer.
    pub(super) fn row(&self, condition: Condition) -> Option<Row> {
        let (netlist, _, tripped) = self.settling.settle(condition).ok()?;
        let readings = measure_netlist(&netlist, &self.looks.requests).ok()?;
        Some(Row { values: self.looks.values(&readings), tripped })
    }

    /// The network of a condition after what trips at once has tripped.
    pub(super) fn settled(&self, condition: Condition) -> Option<(Netlist, Condition, Solution)> {
        let (netlist, condition, _) = self.settling.settle(condition).ok()?;
        let solution = crate::solution::solve(&netlist).ok()?;
        Some((netlist, condition, solution))
    }
}
