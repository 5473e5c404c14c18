//! Metal that stands alike behind breakers that are alike, so that following one follows all.

use std::collections::HashSet;

use crate::circuit::BranchCircuit;
use crate::condition::Fault;
use crate::netlist::{Law, Netlist, NodeId, Role};
use crate::protection::Protection;

use super::clearing::Pieces;
use super::pieces::carries_fault;
use super::{PERCEPTION_AMPERE, Situation};

/// A breaker that has this share of its rated residual current already is looked at by itself.
const CLEAN_SHARE: f64 = 0.1;

/// Currents are alike within a step of this share.
const STEP_SHARE: f64 = 0.1;

/// A current in amperes, or a voltage, in steps; all that nobody feels is in one.
pub(super) fn step_of(figure: f64) -> i64 {
    let step = libm::log(figure.max(PERCEPTION_AMPERE)) / libm::log1p(STEP_SHARE);
    step.round() as i64
}

/// What has to be the same for two pieces of metal to fare alike.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Alike {
    /// The bus that its breaker is on.
    bus: u32,
    curve: String,
    /// Bits of the rating, of the rated residual current, and whether that waits.
    rating: (Option<u64>, u64, bool),
    leaks: Vec<(String, Option<u32>)>,
}

/// What the ground-fault breakers of a situation are to the metal behind them.
pub(super) struct Alikes<'a> {
    netlist: &'a Netlist,
    /// Breakers that sense what passes them, and have nothing to sense as things are.
    clean: HashSet<String>,
    /// Nodes that have elements which conduct and are no whole conductor, with where these lead and their
    /// laws.
    leaks: Vec<(NodeId, Vec<(NodeId, String)>)>,
}

impl<'a> Alikes<'a> {
    /// `None` where conductors may be other than they were laid, or where a device of another kind
    /// senses residual currents: then nothing is alike by its breaker.
    pub(super) fn of(situation: &Situation<'a>) -> Option<Self> {
        let parts = situation.circuit.parts();
        let senses_else = parts.devices.iter().any(|device| device.kind.senses_residual());
        if senses_else || !situation.condition.faults.iter().all(leaves_wires) {
            return None;
        }
        let netlist = situation.netlist;
        let standing = Protection::new(situation.circuit).standing(netlist, situation.solution);
        let is_clean = |residual: f64, rating: Option<f64>| {
            rating.is_some_and(|rating| residual < CLEAN_SHARE * rating)
        };
        let clean = standing
            .into_iter()
            .filter(|one| {
                one.is_breaker && is_clean(one.residual_ampere, one.residual_rating_ampere)
            })
            .map(|one| one.device);
        let mut leaks = vec![Vec::new(); netlist.nodes().len()];
        for id in netlist.elements() {
            let element = netlist.element(id);
            let feeble = matches!(element.role, Role::Capacitance | Role::Leakage);
            if element.law == Law::Open || feeble || carries_fault(element) {
                continue;
            }
            let (a, b) = netlist.ends(id);
            for (at, to) in [(a, b), (b, a)] {
                if let Some(here) = leaks.get_mut(at.0 as usize) {
                    here.push((to, format!("{:?}", element.law)));
                }
            }
        }
        let leaks = netlist.nodes().zip(leaks).filter(|(_, leaks)| !leaks.is_empty()).collect();
        Some(Self { netlist, clean: clean.collect(), leaks })
    }

    /// What a piece of metal is alike by: the breaker that alone feeds the hot beside it, and what it
    /// leaks to. `by_node` has the pieces of conductor.
    pub(super) fn key(
        &self,
        breaker: &BranchCircuit,
        (hot, metal): (NodeId, NodeId),
        by_node: &[u32],
    ) -> Option<Alike> {
        let piece = |node: NodeId| by_node.get(node.0 as usize).copied();
        let residual = breaker.breaker.residual_trip_ampere?;
        if !self.clean.contains(&breaker.id) {
            return None;
        }
        let mut leaks: Vec<(String, Option<u32>)> = Vec::new();
        for (to, law) in self.leaks_of(metal, by_node) {
            let to = piece(to)?;
            // Its own hot is another piece in every circuit, and means the same.
            leaks.push((law.to_owned(), Some(to).filter(|_| Some(to) != piece(hot))));
        }
        leaks.sort();
        Some(Alike {
            bus: piece(self.netlist.find_node(&breaker.bus)?)?,
            curve: format!("{:?}", breaker.breaker.curve),
            rating: (
                breaker.breaker.rating_ampere.map(f64::to_bits),
                residual.to_bits(),
                breaker.breaker.residual_delayed,
            ),
            leaks,
        })
    }

    /// What live metal that somebody touches is alike by, and the breaker of the one hot that it leaks
    /// from.
    pub(super) fn touched(
        &self,
        situation: &Situation<'_>,
        conductors: &Pieces,
        metal: NodeId,
    ) -> Option<(Alike, String)> {
        let leaks = self.leaks_of(metal, &conductors.by_breaker);
        let mut hots =
            leaks.filter_map(|(to, _)| Some((to, conductors.only_breaker(situation, to)?)));
        let (hot, breaker) = hots.next()?;
        if hots.any(|(_, other)| other.id != breaker.id) {
            return None;
        }
        let key = self.key(breaker, (hot, metal), &conductors.by_breaker)?;
        Some((key, breaker.id.clone()))
    }

    /// What conducts badly between the piece of a node and others, by where it leads.
    fn leaks_of<'s>(
        &'s self,
        metal: NodeId,
        by_node: &'s [u32],
    ) -> impl Iterator<Item = (NodeId, &'s str)> {
        let piece = move |node: NodeId| by_node.get(node.0 as usize).copied();
        let own = piece(metal);
        let of_metal = self.leaks.iter().filter(move |&&(node, _)| piece(node) == own);
        let leaks = of_metal.flat_map(|(_, leaks)| leaks);
        leaks.map(|(to, law)| (*to, law.as_str()))
    }
}

/// Whether a fault leaves every conductor where it was, and joins at most what is at one place.
fn leaves_wires(fault: &Fault) -> bool {
    match fault {
        Fault::Open { .. } | Fault::Resistance { .. } => true,
        Fault::Bridge { between, .. } => {
            let place = |at: &str| at.split('.').next().map(str::to_owned);
            place(between.0.as_str()) == place(between.1.as_str())
        }
        _ => false,
    }
}
