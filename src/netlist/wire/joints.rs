//! Joints, links, bonds and wires that are open or have a resistance they should not have.

use crate::condition::{Fault, Gap};
use crate::netlist::{Law, Role};
use crate::quantity::Impedance;

use super::draft::{Draft, Edit, Placed};
use super::{WireProblem, impossible, stated_ohm};

/// The law of a glowing joint: 35 W at 15 A and 5 W at 0.8 A, as measured by Meese and
/// Beausoliel (NBSIR 76-1011, 1976), joined by a power law, V = 2.3 V (15 A / I)^0.34.
/// Below about 0.7 A, where nobody has seen one glow, it is the 10 ohm that the law reaches
/// there.
pub const GLOWING_JOINT: Law = Law::GlowingJoint {
    reference_volt: 2.3,
    reference_ampere: 15.0,
    exponent: 0.34,
    cold_ohm: 10.0,
};

/// Resistances first, then what is open: an open joint stays open whatever else is said of it.
pub(super) fn apply(faults: &[Fault], draft: &mut Draft<'_>) -> Result<(), WireProblem> {
    for fault in faults {
        match fault {
            Fault::Resistance { element, resistance_ohm } => {
                let ohm = stated_ohm(element, *resistance_ohm)?;
                replace(element, draft, |own| {
                    Law::Impedance(Impedance::new(ohm, own.reactance_ohm))
                })?;
            }
            Fault::Glowing { element } => {
                replace(element, draft, |_| GLOWING_JOINT)?;
            }
            _ => {}
        }
    }
    for fault in faults {
        if let Fault::Open { element, gap } = fault {
            open(element, *gap, draft)?;
        }
    }
    Ok(())
}

/// The capacitor and the resistor across a gap, as far as they are stated.
pub(super) fn gap_elements(
    element: &Placed,
    gap: Gap,
) -> Result<impl Iterator<Item = Placed>, WireProblem> {
    let Gap { capacitance_farad, resistance_ohm } = gap;
    let across = |word: &str, law| Placed {
        id: format!("{word}:{}", element.id),
        role: Role::Gap,
        law,
        a: element.a.clone(),
        b: element.b.clone(),
    };
    if capacitance_farad.is_some_and(|farad| !(farad.is_finite() && farad >= 0.0)) {
        return Err(impossible(&element.id, "the capacitance of its gap must be zero or more"));
    }
    let leak = match resistance_ohm {
        Some(ohm) => Some(across("gapleak", Law::resistance(stated_ohm(&element.id, ohm)?))),
        None => None,
    };
    let capacitor = capacitance_farad
        .filter(|farad| *farad > 0.0)
        .map(|capacitance_farad| across("gap", Law::Capacitor { capacitance_farad }));
    Ok(capacitor.into_iter().chain(leak))
}

fn open(element: &str, gap: Gap, draft: &mut Draft<'_>) -> Result<(), WireProblem> {
    let gaps: Vec<Placed> = gap_elements(draft.named(element)?, gap)?.collect();
    draft.apply(Edit::Law { element: element.to_owned(), law: Law::Open });
    gaps.into_iter().for_each(|gap| draft.apply(Edit::Put(gap)));
    Ok(())
}

/// Gives a metal path another law. A contact that stands open stays open: what is wrong with
/// it shows when it closes.
fn replace(
    element: &str,
    draft: &mut Draft<'_>,
    law: impl Fn(Impedance) -> Law,
) -> Result<(), WireProblem> {
    let placed = draft.named(element)?;
    let own = match placed.law {
        Law::Open => return Ok(()),
        Law::Impedance(own) => own,
        Law::GlowingJoint { .. } => Impedance::default(),
        _ => return Err(impossible(element, "it is no metal path and has no joint to go bad")),
    };
    if placed.role == Role::Load {
        return Err(impossible(element, "it is a load: bad joints are in the links that feed it"));
    }
    draft.apply(Edit::Law { element: element.to_owned(), law: law(own) });
    Ok(())
}
