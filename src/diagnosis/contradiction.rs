//! What was told that cannot be so together.

use super::symptom::fed;
use super::{Complaint, ToldProblem, words};
use crate::circuit::Circuit;

/// What a complaint says against one that was told before it: nothing can be so as both say.
pub(super) fn clash<'a>(
    circuit: &Circuit,
    mut before: impl Iterator<Item = &'a Complaint>,
    complaint: &Complaint,
) -> Option<ToldProblem> {
    let other =
        before.find(|one| denies(circuit, one, complaint) || denies(circuit, complaint, one))?;
    let is_of_works = |one: &Complaint| matches!(one, Complaint::Works { .. });
    let now_and_then = match is_of_works(other) || is_of_works(complaint) {
        true => ", or, of what comes and goes, that it is dead `now and then`",
        false => "",
    };
    let other = words::tell_complaint(circuit, other);
    let what = format!("this contradicts `{other}`: say only how it is now{now_and_then}");
    Some(ToldProblem::Impossible { what })
}

/// Whether what is said to work is, by name, what is said to be dead. Who says `dead from here on`
/// or `everything else works` means the rest in general; only what is named is held to.
fn denies(circuit: &Circuit, works: &Complaint, dead: &Complaint) -> bool {
    if matches!(works, Complaint::NothingSeen) {
        return !matches!(dead, Complaint::NothingSeen | Complaint::Works { .. });
    }
    let Complaint::Works { places: working } = works else { return false };
    match dead {
        Complaint::Dead { places } => places.iter().any(|place| working.contains(place)),
        Complaint::DeadFrom { place } | Complaint::HalfDead { place } => working.contains(place),
        Complaint::AllDead { circuit: name } => {
            let all = fed(circuit, name);
            let places = circuit.parts().places.iter().enumerate();
            let dead = places.filter(|(at, _)| all.contains(at)).map(|(_, place)| &place.id);
            // Of a place on two circuits the other may still be live.
            let others = circuit.parts().branch_circuits.iter().filter(|other| other.id != *name);
            let shared: Vec<usize> = others.flat_map(|other| fed(circuit, &other.id)).collect();
            let is_shared = |name: &String| {
                let at = circuit.parts().places.iter().position(|place| place.id == *name);
                at.is_some_and(|at| shared.contains(&at))
            };
            dead.into_iter().any(|place| working.contains(place) && !is_shared(place))
        }
        _ => false,
    }
}
