//! What was looked at with nothing seen is measured: a cable from end to end, a short by what is taken
//! apart in an open box.

use crate::circuit::Circuit;
use crate::condition::catalogue::{FaultKind, PossibleFault};
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

/// What to do where the leading suspect joins two conductors, and every box of it was opened with
/// nothing found: in the one where most of it may be, what is taken off each other is measured.
pub(super) fn measured_apart(teller: &Teller<'_>, first: &str) -> Option<String> {
    let leading = teller.findings.suspects.first()?;
    let is_open = |place: &String| teller.opened.contains(&place.as_str());
    let joins: f64 =
        leading.faults.iter().filter(|one| is_a_short(&one.fault)).map(|one| one.share).sum();
    if joins < MOSTLY || !leading.boxes.iter().all(is_open) || !is_open(&first.to_owned()) {
        return None;
    }
    let circuit = teller.circuit;
    let known = Known::of(circuit);
    let conductors = leading.conductors().join(" and ");
    let mended = |place: &str| words::tell_mended(&Mended::Box { place: place.to_owned() });
    let around = leading.boxes.iter().filter(|place| *place != first);
    let cables = around.flat_map(|place| {
        let cables = known.cables_between(first, place);
        cables.into_iter().map(move |cable| (cable, place))
    });
    let cables = cables.map(|(cable, place)| {
        format!(
            ". If it is cable {cable}, take it off in {place} too and measure it once more: it is bad inside \
             if it still reads so, have it replaced whole and say `{}`; else look at {place}, and say `{}`",
            words::tell_mended(&Mended::Cable { cable: cable.clone() }),
            mended(place)
        )
    });
    Some(format!(
        "With {} off and {first} proven dead, take every wire off there and measure between {conductors}: of \
         the device by itself, and of each cable by itself ({}). Nothing was seen in {first}, but what reads next \
         to nothing is bad. If it is the device, have it replaced and say `{}`{}",
        breakers_called(circuit, Feeding::of(&known).off_at(first).keys()),
        percent(leading.probability),
        mended(first),
        cables.collect::<String>()
    ))
}

fn is_a_short(fault: &PossibleFault) -> bool {
    matches!(fault.kind, FaultKind::Bridged | FaultKind::TouchingInCable)
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
