//! What a breaker feeds: everything that hangs on its load side in the circuit as installed.

use std::collections::{BTreeMap, BTreeSet};

use super::{Circuit, Part};

/// What hangs on the load side of breakers, loads not passed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Reach {
    /// Terminals.
    pub(crate) terminals: BTreeSet<String>,
    /// Cables of which a conductor is among it.
    pub(crate) cables: BTreeSet<String>,
}

/// Whether a subpanel's breakers, which may be off themselves, belong to what a feeder's feeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Subpanels {
    /// What is fed ends at their bus.
    NotPassed,
    /// It goes on behind their breakers.
    Passed,
}

impl Reach {
    /// What the breakers of these circuits feed; switches and protective devices are passed.
    pub(crate) fn of(circuit: &Circuit, breakers: &[&str], subpanels: Subpanels) -> Self {
        let mut about: BTreeMap<String, Vec<(String, Option<String>)>> = BTreeMap::new();
        for path in circuit.connections() {
            let (a, b) = (path.a.to_string(), path.b.to_string());
            let cable = match path.part {
                Part::Wire(cable, _) => Some(cable.id.clone()),
                Part::Contact(..) | Part::Tab(..) | Part::Switch(..) | Part::Link(_) => None,
                Part::Breaker(pole) if subpanels == Subpanels::Passed => {
                    // From the bus on and never back to it.
                    let screw = format!("{}.hot", pole.id);
                    if !breakers.contains(&pole.id.as_str()) {
                        about.entry(pole.bus.to_string()).or_default().push((screw, None));
                    }
                    continue;
                }
                _ => continue,
            };
            about.entry(a.clone()).or_default().push((b.clone(), cable.clone()));
            about.entry(b).or_default().push((a, cable));
        }
        let mut front: Vec<String> = breakers.iter().map(|id| format!("{id}.hot")).collect();
        let mut reach = Self { terminals: front.iter().cloned().collect(), ..Self::default() };
        while let Some(terminal) = front.pop() {
            for (next, cable) in about.get(&terminal).into_iter().flatten() {
                reach.cables.extend(cable.clone());
                if reach.terminals.insert(next.clone()) {
                    front.push(next.clone());
                }
            }
        }
        reach
    }
}
