//! What a condition revises, as edits of a network that is planned already.

use crate::netlist::{ElementId, Law, Netlist, NodeId, Revised};
use crate::network::Refusal;
use crate::quantity::Address;
use crate::solution::{Change, InsetEnd, WhatIf, meshed};

/// One edit of a network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Edit {
    /// An element has another law.
    Law { element: ElementId, law: Law },
    /// An element is taken out, or lies with an end where the base has nothing.
    Out { element: ElementId, is_gone: bool },
    /// Something lies between two nodes; the element of the base that it is, if it has only moved.
    Join { a: NodeId, b: NodeId, law: Law, moved: Option<ElementId> },
}

impl Edit {
    pub(super) fn change(&self, whatif: &WhatIf) -> Result<Change, Refusal> {
        match *self {
            Self::Law { element, law } => whatif.change(element, law),
            Self::Out { element, .. } => whatif.change(element, Law::Open),
            Self::Join { a, b, law, .. } => whatif.join(a, b, law),
        }
    }
}

/// The edits that make a netlist what is revised; `None` where they cannot be said as edits.
pub(super) fn edits(netlist: &Netlist, revised: &[Revised]) -> Option<Vec<Edit>> {
    let mut all = Vec::with_capacity(revised.len());
    let mut new: Vec<&Address> = Vec::new();
    let mut inset = Vec::new();
    for Revised { element, now } in revised {
        let known = netlist.find_element(element);
        let Some((a, b, law)) = now else {
            all.extend(known.map(|element| Edit::Out { element, is_gone: true }));
            continue;
        };
        let ends = (netlist.find_node(a), netlist.find_node(b));
        if let (Some(element), (Some(a), Some(b))) = (known, ends)
            && netlist.ends(element) == (a, b)
        {
            all.push(Edit::Law { element, law: *law });
            continue;
        }
        all.extend(known.map(|element| Edit::Out { element, is_gone: false }));
        match ends {
            (Some(a), Some(b)) => all.push(Edit::Join { a, b, law: *law, moved: known }),
            _ => {
                let ends = [a, b].map(|address| inset_end(netlist, address, &mut new));
                inset.push((ends, *law));
            }
        }
    }
    let joins = meshed(&inset, netlist.frequency_hz())?.into_iter();
    all.extend(joins.map(|(a, b, law)| Edit::Join { a, b, law, moved: None }));
    Some(all)
}

fn inset_end<'r>(netlist: &Netlist, address: &'r Address, new: &mut Vec<&'r Address>) -> InsetEnd {
    if let Some(node) = netlist.find_node(address) {
        return InsetEnd::Known(node);
    }
    let at = new.iter().position(|known| *known == address).unwrap_or_else(|| {
        new.push(address);
        new.len() - 1
    });
    InsetEnd::New(at)
}
