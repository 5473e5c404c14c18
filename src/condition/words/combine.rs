//! Several sentences together: what is said twice, and what contradicts.

use std::collections::BTreeMap;

use crate::circuit::Circuit;

use super::problem::WordsProblem;
use super::{Breadth, Edit, Understood};

/// All edits in order, or the contradictions between them, each with the number of its text.
pub(super) fn combine(
    circuit: &Circuit,
    said: Vec<Understood<'_>>,
) -> Result<Vec<Edit>, Vec<(usize, WordsProblem)>> {
    let mut closest: BTreeMap<String, Breadth> = BTreeMap::new();
    for Understood { edits, breadth, .. } in &said {
        for load in edits.iter().filter_map(load_of) {
            let known = closest.entry(load.to_owned()).or_insert(*breadth);
            *known = (*known).min(*breadth);
        }
    }
    let mut subjects: BTreeMap<String, (Edit, &str)> = BTreeMap::new();
    let mut edits = Vec::new();
    let mut problems = Vec::new();
    for Understood { edits: asked, written, span, number, breadth } in said {
        for edit in asked {
            let closer = |load| closest.get(load).is_some_and(|closest| *closest < breadth);
            if load_of(&edit).is_some_and(closer) {
                continue;
            }
            let subject = subject(circuit, &edit);
            match subjects.get(&subject) {
                Some((before, _)) if *before == edit && !undoes_itself(&edit) => {}
                Some((before, first)) => {
                    let message = against(first, *before == edit);
                    let problem = WordsProblem::new(span.clone(), written, message);
                    let problem = problem.expected(["one of the two sentences"]);
                    problems.push((number, *problem));
                }
                None => {
                    subjects.insert(subject, (edit.clone(), written));
                    edits.push(edit);
                }
            }
        }
    }
    if problems.is_empty() { Ok(edits) } else { Err(problems) }
}

fn against(first: &str, same: bool) -> String {
    if same {
        return format!("said twice, and twice exchanged is as it was: `{first}`");
    }
    format!("this contradicts `{first}`: both are about the same thing, which is in one state")
}

fn load_of(edit: &Edit) -> Option<&str> {
    match edit {
        Edit::Load { name, .. } => Some(name),
        _ => None,
    }
}

/// An exchange said twice is none; anything else said twice is said once.
fn undoes_itself(edit: &Edit) -> bool {
    matches!(edit, Edit::Fault(fault) if fault.undoes_itself())
}

/// What an edit is about: two edits about one thing are the same or contradict.
fn subject(circuit: &Circuit, edit: &Edit) -> String {
    match edit {
        Edit::Fault(fault) => fault.subject(),
        Edit::Breaker { name, .. } => format!("breaker {}", handle(circuit, name)),
        Edit::Switch { name, .. } => format!("switch {name}"),
        Edit::Load { name, .. } => format!("load {name}"),
        Edit::Attach(attachment) => format!("attached {}", attachment.id),
    }
}

/// Breakers with one handle are one thing... of the name that comes first.
fn handle<'n>(circuit: &'n Circuit, name: &'n str) -> &'n str {
    let poles = circuit.branch_circuit(name).map(|pole| circuit.on_one_handle(pole));
    let names = poles.into_iter().flatten().map(|pole| pole.id.as_str());
    names.min().unwrap_or(name)
}
