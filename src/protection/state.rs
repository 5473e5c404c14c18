//! What protective devices can sense of a state of their circuit.

use crate::netlist::{Law, Netlist};
use crate::quantity::{Address, Phasor};
use crate::solution::Solution;

use super::grounded_neutral;

/// One state of a circuit, however it was solved.
pub(crate) trait State {
    /// Whether an element conducts nothing; `None` if there is none of that name.
    fn is_open(&self, element: &str) -> Option<bool>;

    /// Current through an element from `a` to `b`; `None` if there is none of that name.
    fn current(&self, element: &str) -> Option<Phasor>;

    /// Voltage between two terminals; `None` where it is undetermined.
    fn difference(&self, a: &Address, b: &Address) -> Option<Phasor>;

    /// Whether an element ends at a terminal; `None` where it is left as installed.
    fn lands_on(&self, element: &str, terminal: &Address) -> Option<bool>;

    /// Resistance of the loop that the neutral of a ground-fault device makes through a fault to
    /// ground; `None` where there is no loop to speak of.
    fn loop_ohm(&self, device: &str) -> Option<f64>;
}

/// A network solved as a whole.
pub(super) struct Solved<'s> {
    pub(super) netlist: &'s Netlist,
    pub(super) solution: &'s Solution,
}

impl State for Solved<'_> {
    fn is_open(&self, element: &str) -> Option<bool> {
        let element = self.netlist.find_element(element)?;
        Some(self.netlist.element(element).law == Law::Open)
    }

    fn current(&self, element: &str) -> Option<Phasor> {
        Some(self.solution.current(self.netlist.find_element(element)?))
    }

    fn difference(&self, a: &Address, b: &Address) -> Option<Phasor> {
        let (a, b) = (self.netlist.find_node(a)?, self.netlist.find_node(b)?);
        self.solution.difference(a, b)
    }

    fn lands_on(&self, element: &str, terminal: &Address) -> Option<bool> {
        let ends = self.netlist.find_element(element).map(|element| self.netlist.ends(element));
        let terminal = self.netlist.find_node(terminal);
        ends.zip(terminal).map(|((a, b), terminal)| a == terminal || b == terminal)
    }

    fn loop_ohm(&self, device: &str) -> Option<f64> {
        grounded_neutral::loop_ohm(self.netlist, device)
    }
}
