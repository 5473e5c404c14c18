//! The netlist: terminals are nodes, and joints, conductors, loads and supplies are two-ended
//! elements between them. It speaks circuit theory only and can be written by hand.
//!
//! Node `earth` always exists; every potential is measured to it. Nothing is added silently: what
//! no element holds is undetermined.
//!
//! ```
//! use slotwise::netlist::{Law, Netlist, Role};
//! use slotwise::quantity::{Address, Impedance, Phasor};
//!
//! let mut netlist = Netlist::new(60.0);
//! let hot = netlist.node(&Address::from("bench.hot"));
//! let supply = Law::Source {
//!     emf_volt: Phasor::new(120.0, 0.0),
//!     impedance: Impedance::new(0.02, 0.01),
//! };
//! netlist.add("winding", hot, Netlist::EARTH, Role::Winding, supply)?;
//! netlist.add("kettle", hot, Netlist::EARTH, Role::Load, Law::resistance(9.6))?;
//! assert_eq!(netlist.elements().len(), 2);
//! # Ok::<(), slotwise::netlist::NetlistError>(())
//! ```

use std::collections::HashMap;

use petgraph::Directed;
use petgraph::graph::{EdgeIndex, Graph, NodeIndex};

use crate::quantity::{Address, Impedance};

pub use law::Law;
pub(crate) use wire::first_piece;
pub use wire::{GLOWING_JOINT, Revised, WireProblem, Wiring, independent, wire};

mod law;
mod wire;

/// A terminal of one [`Netlist`].
///
/// ```
/// use slotwise::netlist::Netlist;
/// use slotwise::quantity::Address;
/// let mut netlist = Netlist::new(50.0);
/// let node = netlist.node(&Address::from("kiln.hot"));
/// assert_eq!(netlist.node(&Address::from("kiln.hot")), node);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub(crate) u32);

/// An element of one [`Netlist`].
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::Address;
/// let mut netlist = Netlist::new(50.0);
/// let node = netlist.node(&Address::from("kiln.ground"));
/// let rod = netlist.add("rod", node, Netlist::EARTH, Role::Electrode, Law::resistance(25.0))?;
/// assert_eq!(netlist.find_element("rod"), Some(rod));
/// # Ok::<(), slotwise::netlist::NetlistError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(pub(crate) u32);

/// What an element is in the building, for reports and for the question what feeds a terminal.
///
/// ```
/// use slotwise::netlist::Role;
/// assert!(Role::Capacitance.is_feeble() && !Role::Joint.is_feeble());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Role {
    /// A transformer or generator winding.
    Winding,
    /// A conductor of the service, the feeder or the supply.
    Service,
    /// A connection to soil.
    Electrode,
    /// A bond between neutral and ground, or between metal parts.
    Bond,
    /// A breaker pole.
    Breaker,
    /// A joint between two pieces of metal.
    Joint,
    /// A length of conductor.
    Wire,
    /// A pigtail, a strap, a tab or another short link inside a box or a device.
    Link,
    /// A contact of a switch or of a ground-fault device.
    Switch,
    /// Capacitance between conductors or to earth.
    Capacitance,
    /// Insulation leakage.
    Leakage,
    /// A load.
    Load,
    /// A bridge that should not be there.
    Bridge,
    /// The gap of an open joint or a broken conductor.
    Gap,
    /// An input of an instrument.
    Instrument,
    /// Anything else between two points.
    Lumped,
}

impl Role {
    /// Whether it holds a conductor only where nothing else does: capacitance, leakage, the gap
    /// of an open joint, the input of an instrument.
    pub const fn is_feeble(self) -> bool {
        matches!(self, Self::Capacitance | Self::Leakage | Self::Gap | Self::Instrument)
    }
}

/// A two-ended element.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// let mut netlist = Netlist::new(50.0);
/// let earth = Netlist::EARTH;
/// let stray = netlist.add("stray", earth, earth, Role::Bridge, Law::Open)?;
/// assert_eq!(netlist.element(stray).role, Role::Bridge);
/// # Ok::<(), slotwise::netlist::NetlistError>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// Its name, unique in the netlist.
    pub id: String,
    /// What it is in the building.
    pub role: Role,
    /// Its law.
    pub law: Law,
}

/// Mutual impedance between two sources: V₁ = emf₁ + Z₁ I₁ + M I₂ and the same with 1 and 2
/// exchanged, I₁ and I₂ each from `a` to `b` of its own source.
///
/// Two legs of a centre-tapped winding, both written from line to neutral, share a *negative*
/// M: handbooks give it in the aiding sense, where it is positive.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, Role};
/// use slotwise::quantity::{Address, Impedance, Phasor};
/// let mut netlist = Netlist::new(60.0);
/// let mut leg = |name: &str, volt| {
///     let line = netlist.node(&Address::from(name));
///     let neutral = netlist.node(&Address::from("neutral"));
///     let law = Law::Source {
///         emf_volt: Phasor::new(volt, 0.0),
///         impedance: Impedance::new(0.0105, 0.0092),
///     };
///     netlist.add(name, line, neutral, Role::Winding, law)
/// };
/// let (one, two) = (leg("leg 1", 120.0)?, leg("leg 2", -120.0)?);
/// netlist.couple(one, two, Impedance::new(-0.0035, -0.0061))?;
/// assert_eq!(netlist.couplings().len(), 1);
/// # Ok::<(), slotwise::netlist::NetlistError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coupling {
    /// The first source.
    pub first: ElementId,
    /// The second source.
    pub second: ElementId,
    /// Mutual impedance M.
    pub mutual: Impedance,
}

/// Why an element was not taken.
///
/// ```
/// use slotwise::netlist::{Law, Netlist, NetlistError, Role};
/// let mut netlist = Netlist::new(50.0);
/// let earth = Netlist::EARTH;
/// let refused = netlist.add("fuse", earth, earth, Role::Breaker, Law::resistance(f64::NAN));
/// assert!(matches!(refused, Err(NetlistError::BadValue { .. })));
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NetlistError {
    /// The caller used one name for two elements.
    #[error("two elements are called `{id}`")]
    DuplicateElement {
        /// The name.
        id: String,
    },
    /// The caller gave a value that no part can have.
    #[error("element `{id}`: {what}")]
    BadValue {
        /// The element's name.
        id: String,
        /// What is wrong with it.
        what: String,
    },
    /// The caller named a terminal or an element that belongs to another netlist.
    #[error("element `{id}`: it or one of its ends belongs to another netlist")]
    Foreign {
        /// The element's name.
        id: String,
    },
    /// The caller coupled something that is not a source, or a source with itself.
    #[error("`{id}` cannot be coupled: {what}")]
    BadCoupling {
        /// The element's name.
        id: String,
        /// What is wrong with it.
        what: String,
    },
}

/// Terminals and the elements between them. An id of another netlist is answered with `earth`
/// or with an open element, never with a panic.
///
/// ```
/// use slotwise::netlist::Netlist;
/// use slotwise::quantity::Address;
/// let netlist = Netlist::new(60.0);
/// assert_eq!(netlist.address(Netlist::EARTH), &Address::earth());
/// ```
#[derive(Clone, Debug)]
pub struct Netlist {
    frequency_hz: f64,
    graph: Graph<Address, Element, Directed, u32>,
    node_by_address: HashMap<Address, NodeId>,
    element_by_id: HashMap<String, ElementId>,
    couplings: Vec<Coupling>,
    earth: Address,
}

/// Stands for an element that is not there.
static NOTHING: Element = Element { id: String::new(), role: Role::Lumped, law: Law::Open };

impl Netlist {
    /// An empty netlist at a frequency in hertz; zero is direct current: capacitors open,
    /// inductances short. It holds one node, `earth`.
    pub fn new(frequency_hz: f64) -> Self {
        Self::with_room(frequency_hz, (0, 0))
    }

    /// The same with room for so many nodes and elements.
    pub(crate) fn with_room(frequency_hz: f64, (n_nodes, n_elements): (usize, usize)) -> Self {
        let mut netlist = Self {
            frequency_hz,
            graph: Graph::with_capacity(n_nodes, n_elements),
            node_by_address: HashMap::with_capacity(n_nodes),
            element_by_id: HashMap::with_capacity(n_elements),
            couplings: Vec::new(),
            earth: Address::earth(),
        };
        netlist.node(&Address::earth());
        netlist
    }

    /// Remote earth.
    pub const EARTH: NodeId = NodeId(0);

    /// Frequency in hertz.
    pub fn frequency_hz(&self) -> f64 {
        self.frequency_hz
    }

    /// The node of an address, made if it is new.
    pub fn node(&mut self, address: &Address) -> NodeId {
        if let Some(&node) = self.node_by_address.get(address) {
            return node;
        }
        let node = NodeId(self.graph.add_node(address.clone()).index() as u32);
        self.node_by_address.insert(address.clone(), node);
        node
    }

    /// Puts an element between two nodes of this netlist.
    ///
    /// # Errors
    /// [`NetlistError`]: the name is taken, an end is foreign, or a value is not finite or is
    /// one that no part can have.
    pub fn add(
        &mut self,
        id: impl Into<String>,
        a: NodeId,
        b: NodeId,
        role: Role,
        law: Law,
    ) -> Result<ElementId, NetlistError> {
        let id = id.into();
        let n_nodes = self.graph.node_count() as u32;
        if a.0 >= n_nodes || b.0 >= n_nodes {
            return Err(NetlistError::Foreign { id });
        }
        if self.element_by_id.contains_key(&id) {
            return Err(NetlistError::DuplicateElement { id });
        }
        if let Err(what) = law.check() {
            return Err(NetlistError::BadValue { id, what });
        }
        let (a, b) = (NodeIndex::new(a.0 as usize), NodeIndex::new(b.0 as usize));
        let edge = self.graph.add_edge(a, b, Element { id: id.clone(), role, law });
        let element = ElementId(edge.index() as u32);
        self.element_by_id.insert(id, element);
        Ok(element)
    }

    /// Takes the element added last away again; its nodes stay.
    pub(crate) fn take_back(&mut self) {
        let last = self.graph.edge_indices().next_back();
        if let Some(element) = last.and_then(|last| self.graph.remove_edge(last)) {
            self.element_by_id.remove(&element.id);
        }
    }

    /// Gives an element another law: a joint opens, a load is switched on.
    ///
    /// # Errors
    /// [`NetlistError`]: the element is foreign, a value is one that no part can have, or the
    /// element is coupled and the law is not a source.
    pub fn set_law(&mut self, element: ElementId, law: Law) -> Result<(), NetlistError> {
        let id = self.element(element).id.clone();
        if let Err(what) = law.check() {
            return Err(NetlistError::BadValue { id, what });
        }
        let coupled = |c: &Coupling| c.first == element || c.second == element;
        if !matches!(law, Law::Source { .. }) && self.couplings.iter().any(coupled) {
            let what = "a coupled element stays a source".into();
            return Err(NetlistError::BadCoupling { id, what });
        }
        match self.graph.edge_weight_mut(EdgeIndex::new(element.0 as usize)) {
            Some(weight) => weight.law = law,
            None => return Err(NetlistError::Foreign { id }),
        }
        Ok(())
    }

    /// Couples two sources by a mutual impedance.
    ///
    /// # Errors
    /// [`NetlistError`]: one of the two is not a source, both are the same, they are coupled
    /// already, or the impedance is not finite.
    pub fn couple(
        &mut self,
        first: ElementId,
        second: ElementId,
        mutual: Impedance,
    ) -> Result<(), NetlistError> {
        let bad = |id: &str, what: &str| {
            Err(NetlistError::BadCoupling { id: id.into(), what: what.into() })
        };
        let id = &self.element(second).id;
        for source in [first, second] {
            let element = self.element(source);
            if !matches!(element.law, Law::Source { .. }) {
                return bad(&element.id, "only sources couple");
            }
        }
        if first == second {
            return bad(id, "a source does not couple with itself");
        }
        let pair = |c: &Coupling| [c.first, c.second];
        let wanted = [[first, second], [second, first]];
        if self.couplings.iter().any(|c| wanted.contains(&pair(c))) {
            return bad(id, "the two are coupled already");
        }
        if let Err(what) = Law::Impedance(mutual).check() {
            return Err(NetlistError::BadValue { id: id.clone(), what });
        }
        self.couplings.push(Coupling { first, second, mutual });
        Ok(())
    }

    /// The node of an address, if there is one.
    pub fn find_node(&self, address: &Address) -> Option<NodeId> {
        self.node_by_address.get(address).copied()
    }

    /// The address of a node.
    pub fn address(&self, node: NodeId) -> &Address {
        self.graph.node_weight(NodeIndex::new(node.0 as usize)).unwrap_or(&self.earth)
    }

    /// The element of a name, if there is one.
    pub fn find_element(&self, id: &str) -> Option<ElementId> {
        self.element_by_id.get(id).copied()
    }

    /// An element.
    pub fn element(&self, element: ElementId) -> &Element {
        self.graph.edge_weight(EdgeIndex::new(element.0 as usize)).unwrap_or(&NOTHING)
    }

    /// The ends `a` and `b` of an element.
    pub fn ends(&self, element: ElementId) -> (NodeId, NodeId) {
        match self.graph.edge_endpoints(EdgeIndex::new(element.0 as usize)) {
            Some((a, b)) => (NodeId(a.index() as u32), NodeId(b.index() as u32)),
            None => (Self::EARTH, Self::EARTH),
        }
    }

    /// Every node, earth first.
    pub fn nodes(&self) -> impl ExactSizeIterator<Item = NodeId> + '_ {
        (0..self.graph.node_count() as u32).map(NodeId)
    }

    /// Every element, in the order of adding.
    pub fn elements(&self) -> impl ExactSizeIterator<Item = ElementId> + '_ {
        (0..self.graph.edge_count() as u32).map(ElementId)
    }

    /// The couplings between sources.
    pub fn couplings(&self) -> &[Coupling] {
        &self.couplings
    }

    /// The graph itself, for topology questions inside the crate.
    pub(crate) fn graph(&self) -> &Graph<Address, Element, Directed, u32> {
        &self.graph
    }
}
