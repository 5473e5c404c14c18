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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::condition::Condition;
    use crate::instrument::{Place, measure, presets};
    use crate::netlist::wire;

    fn studio() -> Circuit {
        let text = include_str!("../../../circuits/pottery-studio.ron");
        crate::circuit::file::read(text).unwrap().circuit
    }

    fn voltmeter(from: &str, to: &str) -> Request {
        Request::new(presets::voltmeter_high_impedance(), Place::between(from, to))
    }

    fn held<'r>(netlist: &Netlist, requests: &'r [Request]) -> Held<'r> {
        Held::also_to_earth(netlist, None, requests).unwrap().unwrap()
    }

    #[test]
    fn every_two_of_the_terminals_touched_are_a_pair_and_none_is_twice() {
        let netlist = wire(&studio(), &Condition::default()).unwrap();
        let node = |name: &str| netlist.find_node(&name.into()).unwrap();
        let [hot, neutral, ground] = ["kiln.hot", "kiln.neutral", "kiln.ground"].map(node);
        // Both ways round, and with the last of three pairs left out.
        for (requests, n_pairs) in [
            (vec![voltmeter("kiln.hot", "kiln.neutral")], 1),
            (vec![voltmeter("kiln.neutral", "kiln.hot")], 1),
            (vec![voltmeter("kiln.hot", "kiln.neutral"), voltmeter("kiln.ground", "kiln.hot")], 3),
        ] {
            let held = held(&netlist, &requests);
            assert_eq!(held.pairs.len(), n_pairs, "{:?}", held.pairs);
            let expected = [hot, neutral, ground];
            let mut expected = expected[..if n_pairs == 3 { 3 } else { 2 }].to_vec();
            expected.sort_unstable();
            assert_eq!(held.touched(), expected);
            for &a in &expected {
                for &b in expected.iter().filter(|&&b| b > a) {
                    let n = held.pairs.iter().filter(|&&pair| pair == (a, b) || pair == (b, a));
                    assert_eq!(n.count(), 1, "{:?}", held.pairs);
                }
            }
        }
    }

    #[test]
    fn pairs_with_earth_are_told_and_kept_from_who_cannot_have_them() {
        let netlist = wire(&studio(), &Condition::default()).unwrap();
        let hot = netlist.find_node(&"kiln.hot".into()).unwrap();
        for (requests, expected) in [
            (vec![voltmeter("kiln.hot", "kiln.neutral")], vec![]),
            (vec![voltmeter("kiln.hot", "earth")], vec![(hot, Netlist::EARTH)]),
            (vec![voltmeter("earth", "kiln.hot")], vec![(Netlist::EARTH, hot)]),
        ] {
            let found: Vec<_> = held(&netlist, &requests).to_earth().collect();
            assert_eq!(found, expected);
            assert_eq!(Held::new(&netlist, &requests).unwrap().is_some(), expected.is_empty());
        }
    }

    #[test]
    fn what_is_held_shows_what_is_measured_and_does_so_without_a_network_of_its_own() {
        let circuit = studio();
        let base = Condition::default();
        let netlist = wire(&circuit, &base).unwrap();
        let mut requests = vec![voltmeter("kiln.hot", "kiln.neutral")];
        let detector = presets::non_contact_detector();
        requests.push(Request::new(detector, Place::near("kiln.neutral")));
        let mut open = Condition::default();
        open.say(&circuit, "neutral open at kiln, line side").unwrap();
        let held = held(&netlist, &requests);
        let groups = held.groups(&netlist);
        let many = ManyConditions::new(&circuit, &base, &[open], &groups).unwrap();
        let mut work = many.work();
        for made in [vec![], vec![0]] {
            many.put(&made, &mut work).unwrap();
            let shown = held.show(&many, 0, &mut work).expect("no whole solve").unwrap();
            let alone = measure(&circuit, &many.condition(&made), &requests).unwrap();
            let volts = |shown: &[Shown]| match shown {
                [Shown::Voltmeter(meter), Shown::NonContact(pen)] => {
                    [meter.voltage_volt, pen.potential_volt].map(Option::unwrap)
                }
                other => panic!("{other:?}"),
            };
            let alone: Vec<Shown> = alone.into_iter().map(|reading| reading.shown).collect();
            for (one, other) in volts(&shown).into_iter().zip(volts(&alone)) {
                assert!((one - other).magnitude() < 1e-6, "{made:?}: {one:?} and not {other:?}");
            }
        }
    }
}
