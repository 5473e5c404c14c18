//! Potentials and currents as a picture shows them: a level with its pattern, and figures.

use crate::circuit::{Circuit, Vocabulary};
use crate::netlist::{ElementId, Law, Netlist, NodeId};
use crate::quantity::{Address, Phasor};
use crate::report::figure;
use crate::solution::{Holding, Solution};

use super::pen::Pattern;

/// What a potential means to a person; each has a pattern of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Level {
    /// Live, in phase with the first leg.
    Live,
    /// Live, on another leg or phase.
    OtherLeg,
    /// Off earth, below the touch limit.
    Raised,
    /// At or near the potential of earth.
    NearEarth,
    /// Held by capacitance or leakage only.
    Floating,
    /// Nothing leads to earth: no potential to state.
    Unknown,
}

impl Level {
    pub(super) const ALL: [Self; 6] =
        [Self::Live, Self::OtherLeg, Self::Raised, Self::NearEarth, Self::Floating, Self::Unknown];

    pub(super) const fn pattern(self) -> Pattern {
        match self {
            Self::Live => Pattern::Heavy,
            Self::OtherLeg => Pattern::Double,
            Self::Raised => Pattern::DashDot,
            Self::NearEarth => Pattern::Thin,
            Self::Floating => Pattern::Dashed,
            Self::Unknown => Pattern::Dotted,
        }
    }
}

/// Above this a conductor is called raised: more than a sound neutral drops under its load
/// (3 % of 120 V is 3.6 V, of 230 V 6.9 V).
pub(super) const RAISED_VOLT: f64 = 7.0;

/// From here a conductor is live: the touch limits of `hazard`, 30 V and 50 V.
pub(super) const fn live_volt(vocabulary: Vocabulary) -> f64 {
    match vocabulary {
        Vocabulary::NorthAmerican => 30.0,
        Vocabulary::Iec => 50.0,
    }
}

/// Angles further apart than this are another leg: load angles stay well inside, legs are 120
/// or 180 degrees apart.
const SAME_LEG_DEGREES: f64 = 45.0;

/// Below this no current is drawn: charging currents of cables are smaller.
const SHOWN_AMPERE: f64 = 0.001;

/// A potential in figures.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Reading {
    pub(super) level: Level,
    pub(super) potential: Option<Phasor>,
    /// As `119.6 V`.
    pub(super) value: String,
    /// What must be known beside it, as `floating`.
    pub(super) note: Option<String>,
}

impl Reading {
    /// Whether a person would write two figures for the two.
    pub(super) fn differs(&self, other: &Self) -> bool {
        match (self.potential, other.potential) {
            (Some(one), Some(other_potential)) => {
                let apart = (one - other_potential).magnitude();
                self.level != other.level || apart > 0.25_f64.max(0.004 * one.magnitude())
            }
            (None, None) => false,
            _ => true,
        }
    }

    /// The figure with what must be known, in one line.
    pub(super) fn in_words(&self) -> String {
        match &self.note {
            Some(note) => format!("{} {note}", self.value),
            None => self.value.clone(),
        }
    }
}

/// A current along a conductor.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Flow {
    /// As `12.50 A`.
    pub(super) value: String,
    /// It runs as asked at the instant when the first leg is at its peak.
    pub(super) forward: bool,
}

/// A solved condition, to be read for a picture.
pub(super) struct Meter<'s> {
    netlist: &'s Netlist,
    solution: &'s Solution,
    vocabulary: Vocabulary,
    reference_degrees: f64,
    holding: Holding,
}

impl<'s> Meter<'s> {
    pub(super) fn new(circuit: &Circuit, netlist: &'s Netlist, solution: &'s Solution) -> Self {
        let mut meter = Self {
            netlist,
            solution,
            vocabulary: circuit.parts().vocabulary,
            reference_degrees: 0.0,
            holding: Holding::new(netlist, solution),
        };
        let buses = circuit.parts().branch_circuits.iter().map(|branch| &branch.bus);
        let lines = circuit.parts().supply.windings.iter().map(|winding| &winding.line);
        let firm = |address| meter.potential(address).filter(|v| v.magnitude() > RAISED_VOLT);
        let reference = buses.chain(lines).find_map(firm);
        meter.reference_degrees = reference.map_or(0.0, Phasor::degrees);
        meter
    }

    pub(super) fn node(&self, address: &Address) -> Option<NodeId> {
        self.netlist.find_node(address)
    }

    pub(super) fn potential(&self, address: &Address) -> Option<Phasor> {
        self.solution.potential(self.node(address)?)
    }

    pub(super) fn read(&self, address: &Address) -> Reading {
        let potential = self.potential(address);
        let level = self.level(address, potential);
        let volts = |v: Phasor| format!("{}\u{a0}V", figure::volts(v.magnitude()));
        let (value, note) = match (level, potential) {
            (Level::Unknown, _) | (_, None) => ("unknown".to_owned(), Some("no path".to_owned())),
            (Level::Floating, Some(v)) => {
                (format!("≈\u{a0}{}", volts(v)), Some("floating".to_owned()))
            }
            (Level::OtherLeg, Some(v)) => {
                (volts(v), Some(format!("∠\u{a0}{}°", whole_degrees(self.turned(v)))))
            }
            (_, Some(v)) => (volts(v), None),
        };
        Reading { level, potential, value, note }
    }

    /// The current from one end of an element to the other, if it is worth showing.
    pub(super) fn flow(&self, element: &str, forward: bool) -> Option<Flow> {
        let current = self.solution.current(self.netlist.find_element(element)?);
        let current = if forward { current } else { -current };
        (current.magnitude() >= SHOWN_AMPERE).then(|| Flow {
            value: format!("{}\u{a0}A", figure::amperes(current.magnitude())),
            forward: self.turned(current).re >= 0.0,
        })
    }

    /// Voltage, current and power of an element.
    pub(super) fn element(&self, element: &str) -> Option<(Phasor, Phasor, f64)> {
        let id = self.netlist.find_element(element)?;
        let (watt, _) = self.solution.power(id);
        Some((self.solution.voltage(id), self.solution.current(id), watt))
    }

    /// Whether nothing of an element conducts.
    pub(super) fn is_open(&self, element: &str) -> bool {
        self.law(element).is_none_or(|law| law == Law::Open)
    }

    /// What the end b of an element is joined to.
    pub(super) fn landed(&self, element: &str) -> Option<&'s Address> {
        let (_, b) = self.netlist.ends(self.netlist.find_element(element)?);
        Some(self.netlist.address(b))
    }

    /// What the ends a and b of an element are joined to.
    pub(super) fn ends(&self, element: &str) -> Option<(&'s Address, &'s Address)> {
        let (a, b) = self.netlist.ends(self.netlist.find_element(element)?);
        Some((self.netlist.address(a), self.netlist.address(b)))
    }

    fn law(&self, element: &str) -> Option<Law> {
        let id: ElementId = self.netlist.find_element(element)?;
        Some(self.netlist.element(id).law)
    }

    fn level(&self, address: &Address, potential: Option<Phasor>) -> Level {
        let Some(potential) = potential else { return Level::Unknown };
        if self.node(address).is_some_and(|node| self.holding.is_weak(node)) {
            return Level::Floating;
        }
        match potential.magnitude() {
            volt if volt < RAISED_VOLT => Level::NearEarth,
            volt if volt < live_volt(self.vocabulary) => Level::Raised,
            _ if self.turned(potential).degrees().abs() <= SAME_LEG_DEGREES => Level::Live,
            _ => Level::OtherLeg,
        }
    }

    /// A phasor counted from the first leg.
    fn turned(&self, phasor: Phasor) -> Phasor {
        Phasor::polar(phasor.magnitude(), phasor.degrees() - self.reference_degrees)
    }
}

/// An angle in (-180, 180], so that an opposite leg has one name.
fn whole_degrees(phasor: Phasor) -> i32 {
    let degrees = phasor.degrees().round() as i32;
    if degrees <= -180 { degrees + 360 } else { degrees }
}
