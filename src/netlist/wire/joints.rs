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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::Circuit;
    use crate::condition::{Condition, SwitchPosition};
    use crate::netlist::{Netlist, wire};

    fn lighthouse() -> Circuit {
        let text = include_str!("../../../circuits/lighthouse.ron");
        crate::circuit::file::read(text).unwrap().circuit
    }

    /// The first wire of the circuit, or the first contact of the switch at the foot.
    fn named(circuit: &Circuit, with: &str) -> String {
        let netlist = wire(circuit, &Condition::default()).unwrap();
        let mut names = netlist.elements().map(|id| netlist.element(id).id.clone());
        names.find(|name| name.starts_with(with)).unwrap()
    }

    fn with(circuit: &Circuit, faults: Vec<Fault>) -> Result<Netlist, WireProblem> {
        wire(circuit, &Condition { faults, ..Condition::default() })
    }

    fn law(netlist: &Netlist, element: &str) -> Law {
        netlist.element(netlist.find_element(element).unwrap()).law
    }

    #[test]
    fn a_gap_has_the_capacitance_of_a_gap_or_none() {
        let circuit = lighthouse();
        let element = named(&circuit, "contact:");
        let opened = |farad: f64| {
            let gap = Gap { capacitance_farad: Some(farad), resistance_ohm: None };
            with(&circuit, vec![Fault::Open { element: element.clone(), gap }])
        };
        let gap = format!("gap:{element}");
        let seen = opened(2e-12).unwrap();
        assert_eq!(law(&seen, &gap), Law::Capacitor { capacitance_farad: 2e-12 });
        assert_eq!(law(&seen, &element), Law::Open);
        assert_eq!(opened(0.0).unwrap().find_element(&gap), None);
        for odd in [-2e-12, f64::INFINITY, f64::NAN] {
            assert!(matches!(opened(odd), Err(WireProblem::Impossible { .. })), "{odd}");
        }
    }

    #[test]
    fn a_bad_contact_of_a_switch_that_stands_open_shows_when_it_closes() {
        let circuit = lighthouse();
        let element = "switch:foot.t1".to_owned();
        let resistance_ohm = 7.0;
        let bad = Fault::Resistance { element: element.clone(), resistance_ohm };
        for (position, expected) in [
            (SwitchPosition::One, Law::resistance(resistance_ohm)),
            (SwitchPosition::Two, Law::Open),
        ] {
            let switches = [("foot".to_owned(), position)].into();
            let condition =
                Condition { faults: vec![bad.clone()], switches, ..Condition::default() };
            assert_eq!(law(&wire(&circuit, &condition).unwrap(), &element), expected);
        }
    }

    #[test]
    fn a_joint_said_to_glow_twice_glows() {
        let circuit = lighthouse();
        let element = named(&circuit, "contact:");
        let glows = Fault::Glowing { element: element.clone() };
        let twice = with(&circuit, vec![glows.clone(), glows]).unwrap();
        assert_eq!(law(&twice, &element), GLOWING_JOINT);
    }
}
