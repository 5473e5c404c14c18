//! The network with instruments on it.

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;

use super::band::Band;
use super::problem::MeasureProblem;
use crate::netlist::{ElementId, Law, Netlist, NodeId, Role};
use crate::network::Refusal;
use crate::quantity::{Address, Phasor};
use crate::solution::{AttachedState, Attachment, PortSystem, Reducer, Solution, solve};

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

/// What the inputs of instruments see while they are all attached, in the state reached and then
/// in every other state that holds itself.
#[derive(Debug)]
pub(super) struct Attached(Vec<AttachedState>);

impl Attached {
    pub(super) fn n_states(&self) -> usize {
        self.0.len()
    }

    /// Voltage across input number `port` in a state.
    pub(super) fn voltage_in(&self, state: usize, port: usize) -> Option<Phasor> {
        *self.0.get(state)?.voltage_volt.get(port)?
    }

    /// Current through input number `port` in a state.
    pub(super) fn current_in(&self, state: usize, port: usize) -> Phasor {
        let state = self.0.get(state).and_then(|seen| seen.current_ampere.get(port));
        state.copied().unwrap_or(Phasor::ZERO)
    }

    pub(super) fn voltage(&self, port: usize) -> Option<Phasor> {
        self.voltage_in(0, port)
    }

    pub(super) fn current(&self, port: usize) -> Phasor {
        self.current_in(0, port)
    }
}

/// A network that is reduced to what is touched together.
struct Reducing {
    reducer: Reducer,
    last: Option<(Vec<usize>, PortSystem)>,
}

/// One netlist to which instruments are put.
pub(super) struct Bench<'n> {
    netlist: &'n Netlist,
    live: OnceCell<Solution>,
    /// Reduced already, to every pair.
    reduced: Option<PortSystem>,
    /// To be reduced to a few pairs at a time, and as it was reduced last.
    reducing: OnceCell<RefCell<Reducing>>,
    /// Places of the pairs of terminals that the network is reduced to.
    pairs: BTreeMap<(NodeId, NodeId), usize>,
    /// Potentials that are known without the live network.
    potentials: BTreeMap<NodeId, Option<Phasor>>,
}

impl<'n> Bench<'n> {
    pub(super) fn new(netlist: &'n Netlist) -> Self {
        Self {
            netlist,
            live: OnceCell::new(),
            reduced: None,
            reducing: OnceCell::new(),
            pairs: BTreeMap::new(),
            potentials: BTreeMap::new(),
        }
    }

    /// The same with the network reduced already, to `pairs` in their order; no instrument may
    /// ask for anything else.
    pub(super) fn reduced_to(
        netlist: &'n Netlist,
        (pairs, system): (&[(NodeId, NodeId)], PortSystem),
        potentials: impl Iterator<Item = (NodeId, Option<Phasor>)>,
    ) -> Self {
        Self {
            netlist,
            live: OnceCell::new(),
            reduced: Some(system),
            reducing: OnceCell::new(),
            pairs: pairs.iter().enumerate().map(|(at, &pair)| (pair, at)).collect(),
            potentials: potentials.collect(),
        }
    }

    /// Potential of a node to earth with nothing attached.
    pub(super) fn potential(&self, node: NodeId) -> Result<Option<Phasor>, MeasureProblem> {
        match self.potentials.get(&node) {
            Some(potential) => Ok(*potential),
            None => Ok(self.live()?.potential(node)),
        }
    }

    pub(super) fn netlist(&self) -> &'n Netlist {
        self.netlist
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

    /// Says between which terminals something will be attached.
    pub(super) fn expect(&mut self, ports: impl IntoIterator<Item = Port>) {
        for port in ports {
            let n = self.pairs.len();
            self.pairs.entry((port.from, port.to)).or_insert(n);
        }
    }

    /// The network with nothing attached.
    pub(super) fn live(&self) -> Result<&Solution, MeasureProblem> {
        if let Some(live) = self.live.get() {
            return Ok(live);
        }
        let live = solve(self.netlist)?;
        Ok(self.live.get_or_init(|| live))
    }

    /// The network with these inputs attached, all at once, between terminals that were expected.
    pub(super) fn attach(&self, ports: &[Port]) -> Result<Attached, MeasureProblem> {
        Ok(Attached(self.with_reduced(ports, PortSystem::attach)?))
    }

    /// The same in the state reached alone, for inputs that remember nothing.
    pub(super) fn attach_reached(&self, ports: &[Port]) -> Result<Attached, MeasureProblem> {
        Ok(Attached(vec![self.with_reduced(ports, PortSystem::attach_reached)?]))
    }

    /// Attaches inputs to the network as it is reduced to them.
    fn with_reduced<T>(
        &self,
        ports: &[Port],
        attach: impl Fn(&PortSystem, &[Attachment]) -> Result<T, Refusal>,
    ) -> Result<T, MeasureProblem> {
        let place = |port: &Port| self.pairs.get(&(port.from, port.to)).copied();
        let places: Option<Vec<usize>> = ports.iter().map(place).collect();
        let places = places.ok_or(Refusal::ForeignPort { port: self.pairs.len() })?;
        let on = |places: &[usize]| -> Vec<Attachment> {
            let each = places.iter().zip(ports);
            each.map(|(&place, port)| Attachment { port: place, law: port.law }).collect()
        };
        if let Some(reduced) = &self.reduced {
            return Ok(attach(reduced, &on(&places))?);
        }
        let mut reducing = self.reducing()?.borrow_mut();
        let Reducing { reducer, last } = &mut *reducing;
        // A meter is held where a tester was, and sees no more.
        let among = |touched: &[usize]| -> Option<Vec<usize>> {
            places.iter().map(|place| touched.binary_search(place).ok()).collect()
        };
        if last.as_ref().is_none_or(|(touched, _)| among(touched).is_none()) {
            let mut touched = places.clone();
            touched.sort_unstable();
            touched.dedup();
            let reduced = reducer.at(&touched)?;
            *last = Some((touched, reduced));
        }
        let reduced = last.as_ref().and_then(|(touched, reduced)| Some((among(touched)?, reduced)));
        match reduced {
            Some((local, reduced)) => Ok(attach(reduced, &on(&local))?),
            None => Err(Refusal::ForeignPort { port: self.pairs.len() }.into()),
        }
    }

    fn reducing(&self) -> Result<&RefCell<Reducing>, MeasureProblem> {
        if let Some(reducing) = self.reducing.get() {
            return Ok(reducing);
        }
        let mut pairs = vec![(Netlist::EARTH, Netlist::EARTH); self.pairs.len()];
        for (&pair, &place) in &self.pairs {
            // Places are counted up to the number of pairs.
            if let Some(at) = pairs.get_mut(place) {
                *at = pair;
            }
        }
        let reducer = Reducer::new(self.netlist, &pairs)?;
        let reducing = RefCell::new(Reducing { reducer, last: None });
        Ok(self.reducing.get_or_init(|| reducing))
    }

    /// The whole network solved with these inputs attached, and the elements they are in it: for
    /// what has to be seen elsewhere meanwhile.
    pub(super) fn solve_with(
        &self,
        ports: &[Port],
    ) -> Result<(Solution, Vec<ElementId>), MeasureProblem> {
        let (netlist, elements) = self.with(ports)?;
        Ok((solve(&netlist)?, elements))
    }

    /// The network with these inputs as elements of it.
    pub(super) fn with(&self, ports: &[Port]) -> Result<(Netlist, Vec<ElementId>), MeasureProblem> {
        let mut netlist = self.netlist.clone();
        let mut elements = Vec::with_capacity(ports.len());
        for port in ports {
            let id = unused_id(&netlist, "input");
            elements.push(netlist.add(id, port.from, port.to, Role::Instrument, port.law)?);
        }
        Ok((netlist, elements))
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
