//! What else a practitioner would say of a terminal: where it is cut off, that a contact is on
//! the wrong conductor, that a ground is borrowed from the neutral.

use std::collections::HashSet;

use crate::circuit::Vocabulary;
use crate::condition::words::describe;
use crate::condition::{Condition, Fault};
use crate::hazard::Limits;
use crate::netlist::{ElementId, Law, Netlist, NodeId, Role, wire};
use crate::report::vocabulary::conductor;
use crate::solution::{FeedPath, solve};

use super::path::{Source, SourceKind, Teller};

/// What moves a terminal by less than this is not why it is where it is.
const MOVES_VOLT: f64 = 1.0;

/// A terminal with how it is fed.
pub(super) struct Terminal<'a> {
    pub(super) teller: &'a Teller<'a>,
    pub(super) condition: &'a Condition,
    pub(super) node: NodeId,
    pub(super) address: &'a str,
    pub(super) paths: &'a [FeedPath],
    pub(super) sources: &'a [Source],
}

impl Terminal<'_> {
    /// The notes, each a sentence.
    pub(super) fn notes(&self) -> Vec<String> {
        self.misplaced().into_iter().chain(self.borrowed()).chain(self.cut_off()).collect()
    }

    fn vocabulary(&self) -> Vocabulary {
        self.teller.circuit.parts().vocabulary
    }

    /// The conductor that the terminal is meant for: the slot it is, or the last word of its
    /// address.
    fn meant_for(&self) -> &str {
        let slots = self.teller.circuit.outlets().flat_map(|(_, outlet)| &outlet.slots);
        let mut named = slots.filter(|(_, terminal)| terminal.as_str() == self.address);
        named.next().map_or_else(
            || self.address.rsplit('.').next().unwrap_or_default(),
            |(name, _)| name.as_str(),
        )
    }

    /// The source that it is joined to by conductors alone, and whether that is live.
    fn joined_to(&self) -> Option<(&Source, bool)> {
        let first = self.sources.first().filter(|first| first.loads.is_empty())?;
        Some((first, first.volt >= Limits::of(self.vocabulary()).touch_volt))
    }

    /// A neutral or ground contact on a hot, or a hot contact on a neutral or ground. Which conductor
    /// it is on does not hang on where the supply stands to earth.
    fn misplaced(&self) -> Option<String> {
        let (source, live) = self.joined_to()?;
        let meant = self.meant_for();
        let name = conductor(self.vocabulary(), meant);
        let hot = conductor(self.vocabulary(), "hot");
        let because = self.because();
        let ground = conductor(self.vocabulary(), "ground");
        match (meant, source.kind) {
            ("neutral", SourceKind::Line) => {
                Some(format!("That is the {hot} itself on a {name} contact{because}."))
            }
            // The neutral where it belongs, however far it is from earth.
            ("neutral", SourceKind::Neutral) if live => Some(format!(
                "That is the {name} where it belongs: the whole {name} of the supply is off earth."
            )),
            ("ground" | "frame", SourceKind::Line) => Some(format!(
                "That is the {hot} itself where the {ground} belongs{because}: all metal joined to \
                 it is live{}.",
                if live { "" } else { " as soon as the supply is where it should be" }
            )),
            ("ground" | "frame", SourceKind::Neutral) if live => Some(format!(
                "The {ground} is joined to the neutral, and that is off earth{because}: all metal \
                 joined to it is live."
            )),
            (meant, SourceKind::Neutral | SourceKind::Soil) if meant.starts_with("hot") => {
                // What comes by the bond came along a ground.
                let on = if self.comes_by_a_bond() { &ground } else { &source.name };
                Some(format!("That is no {hot}: this contact is on {on}{because}."))
            }
            (meant, SourceKind::Line)
                if meant.starts_with("hot") && self.is_off_earth() && !live =>
            {
                Some(format!(
                    "That is the {hot} where it belongs: the supply is off earth, and what holds {} \
                     to earth decides where the rest stands.",
                    source.name
                ))
            }
            _ => None,
        }
    }

    /// Whether a neutral of the supply is live.
    fn is_off_earth(&self) -> bool {
        let Teller { circuit, netlist, solution } = self.teller;
        let volt = |at| Some(solution.potential(netlist.find_node(at)?)?.magnitude());
        let touch_volt = Limits::of(self.vocabulary()).touch_volt;
        let mut windings = circuit.parts().supply.windings.iter();
        windings.any(|one| volt(&one.neutral).is_some_and(|volt| volt >= touch_volt))
    }

    fn comes_by_a_bond(&self) -> bool {
        let netlist = self.teller.netlist;
        let mut elements = self.paths.iter().take(1).flat_map(|path| &path.elements);
        elements.any(|&id| netlist.element(id).role == Role::Bond)
    }

    /// The faults that put conductors where they do not belong, in words.
    fn because(&self) -> String {
        let moved = |fault: &&Fault| {
            matches!(
                fault,
                Fault::ExchangedAtCableEnd { .. }
                    | Fault::ExchangedJoints { .. }
                    | Fault::WrongLanding { .. }
                    | Fault::Bridge { .. }
                    | Fault::ContactInCable { .. }
            )
        };
        let all: Vec<&Fault> = self.condition.faults.iter().filter(moved).collect();
        let ours: Vec<&Fault> =
            all.iter().copied().filter(|fault| self.is_held_by(fault)).collect();
        // Of two that do the same neither alone makes the difference.
        let told = if ours.is_empty() { all } else { ours };
        let said: Vec<String> = told.into_iter().map(|fault| self.say(fault)).collect();
        if said.is_empty() { String::new() } else { format!(" ({})", said.join("; ")) }
    }

    /// Whether the terminal would be elsewhere without a fault.
    fn is_held_by(&self, fault: &Fault) -> bool {
        let mut without = self.condition.clone();
        without.faults.retain(|other| other != fault);
        let elsewhere = || {
            let netlist = wire(self.teller.circuit, &without).ok()?;
            let node = netlist.find_node(&self.address.into())?;
            solve(&netlist).ok()?.potential(node)
        };
        match (self.teller.solution.potential(self.node), elsewhere()) {
            (Some(now), Some(then)) => (now - then).magnitude() > MOVES_VOLT,
            (now, then) => now.is_some() != then.is_some(),
        }
    }

    fn say(&self, fault: &Fault) -> String {
        let alone = Condition { faults: vec![fault.clone()], ..Condition::default() };
        describe(self.teller.circuit, &alone).join("; ")
    }

    /// A ground whose way to the panel is the neutral.
    fn borrowed(&self) -> Option<String> {
        let (_, live) = self.joined_to()?;
        if live || !matches!(self.meant_for(), "ground" | "frame") {
            return None;
        }
        let netlist = self.teller.netlist;
        let bridge = |id: &&ElementId| netlist.element(**id).role == Role::Bridge;
        self.paths.first()?.elements.iter().find(bridge)?;
        Some(format!(
            "It has no {} of its own: its way to the panel is the neutral, and where that neutral \
             goes, every case joined to it goes with it.",
            conductor(self.vocabulary(), "ground")
        ))
    }

    /// The open joints, broken conductors and open handles that the piece of conductor ends at.
    fn cut_off(&self) -> Option<String> {
        if self.joined_to().is_some() {
            return None;
        }
        let piece = self.piece();
        let ends = |(a, b): &(NodeId, NodeId)| piece.contains(a) != piece.contains(b);
        let at_its_end = |fault: &&Fault| self.ends_of_open(fault).as_ref().is_some_and(ends);
        let faults = self.condition.faults.iter().filter(at_its_end).map(|fault| self.say(fault));
        let handles = self.condition.breakers.iter().filter(|(_, closed)| !**closed);
        let at_its_end = |name: &str| self.ends_of_handle(name).iter().any(ends);
        let handles = handles.filter(|(name, _)| at_its_end(name)).flat_map(|(name, closed)| {
            let breakers = [(name.clone(), *closed)].into_iter().collect();
            describe(self.teller.circuit, &Condition { breakers, ..Condition::default() })
        });
        let opens: Vec<String> = faults.chain(handles).collect();
        if opens.is_empty() {
            return None;
        }
        let opens = opens.join(" and ");
        Some(match self.sources {
            [] => format!("What cuts it off: {opens}."),
            _ => format!("No current flows past the open: {opens}."),
        })
    }

    /// The two sides of each pole of a breaker or a protective device.
    fn ends_of_handle(&self, name: &str) -> Vec<(NodeId, NodeId)> {
        let netlist = self.teller.netlist;
        let (breaker, poles) = (format!("breaker:{name}"), format!("switch:{name}."));
        let is_its = |id: &ElementId| {
            let element = &netlist.element(*id).id;
            *element == breaker || element.starts_with(&poles)
        };
        netlist.elements().filter(is_its).map(|id| netlist.ends(id)).collect()
    }

    /// The two sides of an open joint or a broken conductor.
    fn ends_of_open(&self, fault: &Fault) -> Option<(NodeId, NodeId)> {
        let netlist = self.teller.netlist;
        match fault {
            Fault::Open { element, .. } => Some(netlist.ends(netlist.find_element(element)?)),
            Fault::Broken { cable, conductor, .. } => {
                // Breaks of one cable are numbered from its first end.
                let side = |number: usize, side: &str| {
                    netlist.find_node(&format!("{cable}.m{number}{side}.{conductor}").into())
                };
                (1..=self.condition.faults.len())
                    .find_map(|number| side(number, "l").zip(side(number, "r")))
            }
            _ => None,
        }
    }

    /// All terminals joined to this one by conductors, contacts and bridges.
    fn piece(&self) -> HashSet<NodeId> {
        let netlist: &Netlist = self.teller.netlist;
        let conducts = |role: Role, law: &Law| {
            *law != Law::Open && !role.is_feeble() && !matches!(role, Role::Load | Role::Winding)
        };
        let paths: Vec<(NodeId, NodeId)> = netlist
            .elements()
            .filter(|&id| conducts(netlist.element(id).role, &netlist.element(id).law))
            .map(|id| netlist.ends(id))
            .collect();
        let mut piece = HashSet::from([self.node]);
        let mut grown = true;
        while grown {
            grown = false;
            for &(a, b) in &paths {
                if piece.contains(&a) != piece.contains(&b) {
                    piece.extend([a, b]);
                    grown = true;
                }
            }
        }
        piece
    }
}
