//! The netlist: terminals are nodes, and joints, conductors, loads and supplies are two-ended
//! elements between them. It speaks circuit theory only and can be written by hand.
//!
//! Node `earth` always exists; every potential is measured to it.

use std::collections::HashMap;

use petgraph::Directed;
use petgraph::graph::{EdgeIndex, Graph, NodeIndex};

use crate::quantity::{Address, Impedance, Phasor};

/// A terminal of one [`Netlist`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub(crate) u32);

/// An element of one [`Netlist`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(pub(crate) u32);

/// What an element is in the building, for reports and for the question what feeds a terminal.
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

/// The law between the voltage across an element and the current through it, both phasors
/// from end `a` to end `b`.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Law {
    /// V = (R + jX) I. Zero is allowed and means that both ends are one point.
    Impedance(Impedance),
    /// I = jωC V, with C in farads.
    Capacitor {
        /// Capacitance in farads.
        capacitance_farad: f64,
    },
    /// V = emf + (R + jX) I: a source that delivers power shows a current from `b` to `a`.
    Source {
        /// Electromotive force, volts rms.
        emf_volt: Phasor,
        /// Internal impedance.
        impedance: Impedance,
    },
    /// I = 0.
    Open,
    /// A tungsten filament: I = V / R(|V|), R = (V₀²/P₀) [c + (1 - c) (|V|/V₀)^k].
    Filament {
        /// Rated power P₀ in watts.
        rated_watt: f64,
        /// Rated voltage V₀ in volts rms.
        rated_volt: f64,
        /// Cold share c of the rated resistance, in [0, 1].
        cold_fraction: f64,
        /// Exponent k of the rise of resistance with voltage.
        exponent: f64,
    },
    /// Constant power: I = conj((P + jQ) / V) while |V| >= cut-out; below it the constant
    /// admittance that continues it, I = (P - jQ) V / cut-out².
    ConstantPower {
        /// Active power P in watts.
        active_watt: f64,
        /// Reactive power Q in vars, positive when inductive.
        reactive_var: f64,
        /// Cut-out voltage in volts rms, above zero.
        cut_out_volt: f64,
    },
    /// An indicator without memory: I = V / r_off up to the threshold;
    /// I = V [1/r_off + (1 - threshold/|V|) / r_series] above it.
    ThresholdLamp {
        /// Threshold in volts rms.
        threshold_volt: f64,
        /// Resistance when dark, ohms; `f64::INFINITY` for none.
        off_ohm: f64,
        /// Series resistance when lit, ohms.
        series_ohm: f64,
    },
    /// An indicator with memory: dark (V / r_off) until |V| reaches `strike_volt`, then
    /// I = V [1/r_off + (1 - maintain/|V|) / r_series] until |V| falls below `hold_volt`.
    StrikeLamp {
        /// Voltage that lights it, volts rms.
        strike_volt: f64,
        /// Voltage below which a lit lamp goes out, volts rms.
        hold_volt: f64,
        /// Voltage of the lit gap itself, volts rms; at most `hold_volt`.
        maintain_volt: f64,
        /// Resistance when dark, ohms; `f64::INFINITY` for none.
        off_ohm: f64,
        /// Series resistance when lit, ohms.
        series_ohm: f64,
    },
    /// A glowing joint: |V| = reference_volt (reference_ampere/|I|)^exponent in phase with I,
    /// but never more than `cold_ohm` |I|.
    GlowingJoint {
        /// Drop at the reference current, volts rms.
        reference_volt: f64,
        /// Reference current, amperes rms.
        reference_ampere: f64,
        /// Exponent of the fall of the drop with current.
        exponent: f64,
        /// Resistance at small current, ohms.
        cold_ohm: f64,
    },
}

/// A two-ended element.
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
/// exchanged.
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
    /// The caller coupled something that is not a source, or a source with itself.
    #[error("`{id}` cannot be coupled: {what}")]
    BadCoupling {
        /// The element's name.
        id: String,
        /// What is wrong with it.
        what: String,
    },
}

/// Terminals and the elements between them.
#[derive(Clone, Debug)]
pub struct Netlist {
    frequency_hz: f64,
    graph: Graph<Address, Element, Directed, u32>,
    node_by_address: HashMap<Address, NodeId>,
    element_by_id: HashMap<String, ElementId>,
    couplings: Vec<Coupling>,
}

impl Netlist {
    /// An empty netlist at a frequency in hertz; zero is direct current: capacitors open,
    /// inductances short. It holds one node, `earth`.
    pub fn new(frequency_hz: f64) -> Self {
        let mut netlist = Self {
            frequency_hz,
            graph: Graph::default(),
            node_by_address: HashMap::new(),
            element_by_id: HashMap::new(),
            couplings: Vec::new(),
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

    /// The node of an address, if there is one.
    pub fn find_node(&self, address: &Address) -> Option<NodeId> {
        self.node_by_address.get(address).copied()
    }

    /// The address of a node of this netlist.
    pub fn address(&self, node: NodeId) -> &Address {
        &self.graph[NodeIndex::new(node.0 as usize)]
    }

    /// The element of a name, if there is one.
    pub fn find_element(&self, id: &str) -> Option<ElementId> {
        self.element_by_id.get(id).copied()
    }

    /// An element of this netlist.
    pub fn element(&self, element: ElementId) -> &Element {
        &self.graph[EdgeIndex::new(element.0 as usize)]
    }

    /// The ends `a` and `b` of an element of this netlist.
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
