//! Checks a description: names unique, values physical, references real.

use std::collections::{HashMap, HashSet};

use super::problem::close_names;
use super::{CircuitProblem, Description, PartKind, PartName};

mod bars;
mod dangling;
mod references;
mod values;

/// Every problem of a description, in the order of its parts.
pub(super) fn problems(description: &Description) -> Vec<CircuitProblem> {
    let mut found = Found { problems: Vec::new(), comparisons_left: MOST_COMPARISONS };
    names_are_unique(description, &mut found);
    values::check(description, &mut found);
    references::check(description, &mut found);
    found.problems
}

/// Comparisons of names that suggestions may cost, so that a hostile description cannot buy
/// quadratic time: a few seconds.
const MOST_COMPARISONS: usize = 4_000_000;

/// Problems found so far.
struct Found {
    problems: Vec<CircuitProblem>,
    comparisons_left: usize,
}

/// The part and property that is being looked at.
#[derive(Clone, Copy)]
struct At<'d> {
    kind: PartKind,
    id: &'d str,
    property: &'static str,
}

impl<'d> At<'d> {
    fn new(kind: PartKind, id: &'d str, property: &'static str) -> Self {
        Self { kind, id, property }
    }
}

impl Found {
    fn add(&mut self, at: At<'_>, found: impl ToString, what: String, expected: &str) {
        self.problems.push(CircuitProblem {
            part: PartName { kind: at.kind, id: at.id.to_owned() },
            property: at.property,
            found: found.to_string(),
            what,
            expected: expected.to_owned(),
            close: Vec::new(),
        });
    }

    /// A name that is not among `names`.
    fn unknown<'n>(
        &mut self,
        at: At<'_>,
        name: &str,
        what: String,
        expected: &str,
        names: impl IntoIterator<Item = &'n str>,
    ) {
        self.add(at, name, what, expected);
        if self.comparisons_left == 0 {
            return;
        }
        let mut compared = 0;
        let close = close_names(name, names.into_iter().inspect(|_| compared += 1));
        self.comparisons_left = self.comparisons_left.saturating_sub(compared);
        if let Some(problem) = self.problems.last_mut() {
            problem.close = close;
        }
    }
}

fn names_are_unique(description: &Description, found: &mut Found) {
    let supply = &description.supply;
    unique(PartKind::Winding, supply.windings.iter().map(|x| &x.id), found);
    unique(PartKind::ServiceConductor, supply.conductors.iter().map(|x| &x.id), found);
    unique(PartKind::Electrode, supply.electrodes.iter().map(|x| &x.id), found);
    unique(PartKind::Bond, supply.bonds.iter().map(|x| &x.id), found);
    unique(PartKind::BranchCircuit, description.branch_circuits.iter().map(|x| &x.id), found);
    unique(PartKind::Cable, description.cables.iter().map(|x| &x.id), found);
    unique(PartKind::Device, description.devices.iter().map(|x| &x.id), found);
    unique(PartKind::Link, description.links.iter().map(|x| &x.id), found);
    unique(PartKind::Load, description.loads.iter().map(|x| &x.id), found);
    unique(PartKind::Lumped, description.lumped.iter().map(|x| &x.id), found);
    unique(PartKind::Place, description.places.iter().map(|x| &x.id), found);
    let joints: Vec<String> = description.joints.iter().map(|x| x.address.to_string()).collect();
    unique(PartKind::Joint, joints.iter(), found);
}

fn unique<'d>(kind: PartKind, ids: impl Iterator<Item = &'d String>, found: &mut Found) {
    let mut seen = HashSet::new();
    for id in ids {
        let at = At::new(kind, id, "id");
        if id.trim().is_empty() {
            found.add(at, id, "it has no name".into(), "a name");
        } else if id.chars().any(char::is_control) {
            let what = "its name holds a control character".into();
            found.add(at, id.escape_debug(), what, "a name of printable characters");
        } else if !seen.insert(id) {
            let what = format!("there are two {kind}s of this name");
            found.add(at, id, what, "a name of its own for each");
        }
    }
}

/// How many ends of connections meet at each terminal.
type Meetings<'d> = HashMap<&'d str, usize>;
