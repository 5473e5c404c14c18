//! What a condition revises, as edits of a network that is planned already.

use nalgebra::Complex;

use crate::netlist::{ElementId, Law, Netlist, NodeId, Revised};
use crate::network::{Branch, Refusal};
use crate::quantity::{Address, Impedance};
use crate::solution::{Change, WhatIf};

/// One edit of a network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Edit {
    /// An element has another law.
    Law { element: ElementId, law: Law },
    /// Something lies between two nodes; the element of the base that it is, if it has only moved.
    Join { a: NodeId, b: NodeId, law: Law, moved: Option<ElementId> },
}

impl Edit {
    pub(super) fn change(&self, whatif: &WhatIf) -> Result<Change, Refusal> {
        match *self {
            Self::Law { element, law } => whatif.change(element, law),
            Self::Join { a, b, law, .. } => whatif.join(a, b, law),
        }
    }
}

/// The edits that make a netlist what is revised; `None` where they cannot be said as edits.
pub(super) fn edits(netlist: &Netlist, revised: &[Revised]) -> Option<Vec<Edit>> {
    let mut all = Vec::with_capacity(revised.len());
    let mut inset = Inset::default();
    for Revised { element, now } in revised {
        let known = netlist.find_element(element);
        let Some((a, b, law)) = now else {
            all.extend(known.map(|element| Edit::Law { element, law: Law::Open }));
            continue;
        };
        let ends = (netlist.find_node(a), netlist.find_node(b));
        if let (Some(element), (Some(a), Some(b))) = (known, ends)
            && netlist.ends(element) == (a, b)
        {
            all.push(Edit::Law { element, law: *law });
            continue;
        }
        all.extend(known.map(|element| Edit::Law { element, law: Law::Open }));
        match ends {
            (Some(a), Some(b)) => all.push(Edit::Join { a, b, law: *law, moved: known }),
            _ => inset.put(netlist, (a, b), law)?,
        }
    }
    all.extend(inset.joins()?);
    Some(all)
}

/// Elements between terminals of which some are new, as inside a cable that is split.
#[derive(Default)]
struct Inset<'r> {
    /// Terminals: those that are new, and those of the netlist.
    terminals: Vec<Terminal<'r>>,
    /// Admittances between them.
    branches: Vec<(usize, usize, Complex<f64>)>,
}

#[derive(Clone, Copy, PartialEq)]
enum Terminal<'r> {
    Known(NodeId),
    New(&'r Address),
}

impl<'r> Inset<'r> {
    /// `None` for what is no admittance.
    fn put(
        &mut self,
        netlist: &Netlist,
        (a, b): (&'r Address, &'r Address),
        law: &Law,
    ) -> Option<()> {
        let y = match Branch::new(law, netlist.frequency_hz(), Complex::default) {
            _ if !law.is_linear() => return None,
            Branch::Open => return Some(()),
            Branch::Admittance { y, emf } if emf == Complex::ZERO => y,
            _ => return None,
        };
        let [a, b] = [a, b].map(|address| {
            let terminal =
                netlist.find_node(address).map_or(Terminal::New(address), Terminal::Known);
            match self.terminals.iter().position(|known| *known == terminal) {
                Some(at) => at,
                None => {
                    self.terminals.push(terminal);
                    self.terminals.len() - 1
                }
            }
        });
        self.branches.push((a, b, y));
        Some(())
    }

    /// The same between the terminals of the netlist alone: star to mesh, one new terminal after
    /// the other, sums only. `None` where admittances cancel.
    fn joins(&self) -> Option<Vec<Edit>> {
        let n = self.terminals.len();
        let mut y = vec![Complex::<f64>::ZERO; n * n];
        for &(a, b, admittance) in &self.branches {
            y[a * n + b] += admittance;
            y[b * n + a] += admittance;
        }
        let mut known = Vec::new();
        let mut gone = vec![false; n];
        for (at, terminal) in self.terminals.iter().enumerate() {
            match terminal {
                Terminal::Known(node) => known.push((at, *node)),
                Terminal::New(_) => {
                    gone[at] = true;
                    let around: Vec<usize> =
                        (0..n).filter(|&i| !gone[i] && y[at * n + i] != Complex::ZERO).collect();
                    let sum: Complex<f64> = around.iter().map(|&i| y[at * n + i]).sum();
                    if !around.is_empty() && sum == Complex::ZERO {
                        return None;
                    }
                    for &i in &around {
                        for &j in around.iter().filter(|&&j| j != i) {
                            let more = y[at * n + i] * y[at * n + j] / sum;
                            y[i * n + j] += more;
                        }
                    }
                }
            }
        }
        let mut joins = Vec::new();
        for (place, &(i, a)) in known.iter().enumerate() {
            for &(j, b) in &known[place + 1..] {
                let admittance = y[i * n + j];
                if admittance != Complex::ZERO {
                    let z = admittance.inv();
                    let law = Law::Impedance(Impedance::new(z.re, z.im));
                    joins.push(Edit::Join { a, b, law, moved: None });
                }
            }
        }
        Some(joins)
    }
}
