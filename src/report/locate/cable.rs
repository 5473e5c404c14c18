//! A cable of which both ends were seen: what is left is measured from end to end.

use crate::circuit::Circuit;
use crate::condition::catalogue::PossibleFault;
use crate::condition::words::known::Known;
use crate::diagnosis::{Feeding, Mended, Suspect, words};
use crate::report::figure::percent;

use super::suspect::Teller;
use super::test::breakers_called;

/// The leading suspect is of the cable in so much of what it may be.
const MOSTLY: f64 = 0.9;

/// What to do where the leading suspect lies in one cable or where it lands, and both boxes were opened
/// with nothing found; none else.
pub(super) fn measured_end_to_end(teller: &Teller<'_>) -> Option<String> {
    let leading = teller.findings.suspects.first()?;
    let [one, other] = leading.boxes.as_slice() else { return None };
    if ![one, other].iter().all(|place| teller.opened.contains(&place.as_str())) {
        return None;
    }
    let circuit = teller.circuit;
    let known = Known::of(circuit);
    let cables = known.cables_between(one, other);
    let cable = cables.iter().find(|cable| share_of(leading, cable) >= MOSTLY)?;
    let wires = match leading.conductors() {
        [only] => format!("the {only}"),
        _ => "each wire".to_owned(),
    };
    let mended = |place: &String| words::tell_mended(&Mended::Box { place: place.clone() });
    Some(format!(
        "With {} off and {one} and {other} proven dead, take {wires} of cable {cable} off at both ends \
         and measure along it, from one end to the other ({}): both ends looked sound. If it is \
         open, or far above what so much wire has, the cable is bad inside: have it replaced whole and say \
         `{}`. If it is good, have the joints at both ends made anew, whatever they look like, and say `{}; {}`",
        breakers(circuit, &known, [one, other]),
        percent(leading.probability),
        words::tell_mended(&Mended::Cable { cable: cable.clone() }),
        mended(one),
        mended(other),
    ))
}

/// How much of what a suspect may be is of a cable.
fn share_of(suspect: &Suspect, cable: &str) -> f64 {
    let is_of_it =
        |fault: &PossibleFault| fault.change.faults.iter().any(|fault| fault.is_of_cable(cable));
    let of_it = suspect.faults.iter().filter(|one| is_of_it(&one.fault));
    of_it.map(|one| one.share).sum()
}

/// What has to be off for both ends.
fn breakers(circuit: &Circuit, known: &Known<'_>, [one, other]: [&String; 2]) -> String {
    let feeding = Feeding::of(known);
    let mut off = feeding.off_at(one);
    off.extend(feeding.off_at(other));
    breakers_called(circuit, off.keys())
}
