//! Instruments held to one place in many conditions.

use super::{ManyConditions, ManyWork};
use crate::circuit::Circuit;
use crate::instrument::bench::Bench;
use crate::instrument::measure::{Rigs, Touched};
use crate::instrument::{MeasureProblem, Request, Shown};
use crate::netlist::{Netlist, NodeId};
use crate::quantity::Address;

/// Requests whose places are found once, and the pairs of terminals that they need as groups of a
/// [`ManyConditions`].
pub(crate) struct Held<'r> {
    rigs: Rigs<'r>,
    /// Every pair of the terminals touched.
    pairs: Vec<(NodeId, NodeId)>,
    /// Nodes whose potential is looked at.
    nodes: Vec<NodeId>,
}

impl<'r> Held<'r> {
    /// `None` where an instrument looks at more than pairs of terminals, or earth is one of them.
    ///
    /// # Errors
    /// A place is not there, or an instrument is not used there.
    pub(crate) fn new(
        netlist: &Netlist,
        requests: &'r [Request],
    ) -> Result<Option<Self>, MeasureProblem> {
        let held = Self::also_to_earth(netlist, None, requests)?;
        Ok(held.filter(|held| held.to_earth().next().is_none()))
    }

    /// The same where earth may be touched too: [`Held::to_earth`] then has to be said to what is
    /// prepared.
    pub(super) fn also_to_earth(
        netlist: &Netlist,
        circuit: Option<&Circuit>,
        requests: impl IntoIterator<Item = &'r Request>,
    ) -> Result<Option<Self>, MeasureProblem> {
        let bench = Bench::new(netlist);
        let rigs = Rigs::new(&bench, circuit, requests)?;
        let Some(Touched { mut pairs, nodes }) = rigs.seen(&bench)? else { return Ok(None) };
        let touched = touched(&pairs);
        for (at, &a) in touched.iter().enumerate() {
            for &b in &touched[at + 1..] {
                if !pairs.contains(&(a, b)) && !pairs.contains(&(b, a)) {
                    pairs.push((a, b));
                }
            }
        }
        pairs.sort_unstable();
        pairs.dedup();
        Ok(Some(Self { rigs, pairs, nodes }))
    }

    /// Every terminal that something is put to.
    pub(super) fn touched(&self) -> Vec<NodeId> {
        touched(&self.pairs)
    }

    /// Pairs of a terminal and earth that something is put between.
    pub(super) fn to_earth(&self) -> impl Iterator<Item = (NodeId, NodeId)> {
        let is_earth = |&(a, b): &(NodeId, NodeId)| a == Netlist::EARTH || b == Netlist::EARTH;
        self.pairs.iter().copied().filter(is_earth)
    }

    /// The two groups it needs: the pairs, and the potentials.
    pub(crate) fn groups(&self, netlist: &Netlist) -> [Vec<(Address, Address)>; 2] {
        let address = |node: NodeId| netlist.address(node).clone();
        [
            self.pairs.iter().map(|&(a, b)| (address(a), address(b))).collect(),
            self.nodes.iter().map(|&node| (address(node), Address::earth())).collect(),
        ]
    }

    /// What the instruments show with the changes put last, their groups being `first` and the
    /// next. `None` where only a solve of the whole network tells.
    pub(crate) fn show(
        &self,
        many: &ManyConditions<'_>,
        first: usize,
        work: &mut ManyWork,
    ) -> Option<Result<Vec<Shown>, MeasureProblem>> {
        if work.whole.is_some() {
            return None;
        }
        let potentials: Vec<_> = match self.nodes.is_empty() {
            true => Vec::new(),
            false => {
                let seen = many.whatif.read_voltages(first + 1, &mut work.inner).ok()?;
                let volts = seen.iter().map(|seen| seen.voltage_volt);
                self.nodes.iter().copied().zip(volts).collect()
            }
        };
        let system = many.whatif.port_system(first, &mut work.inner)?;
        let reduced = (self.pairs.as_slice(), system);
        let bench = Bench::reduced_to(many.netlist(), reduced, potentials.into_iter());
        Some(self.rigs.show(&bench))
    }
}

/// The nodes of some pairs, each once.
fn touched(pairs: &[(NodeId, NodeId)]) -> Vec<NodeId> {
    let mut touched: Vec<NodeId> = pairs.iter().flat_map(|&(a, b)| [a, b]).collect();
    touched.sort_unstable();
    touched.dedup();
    touched
}
