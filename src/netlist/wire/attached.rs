//! Bridges that should not be there, and what is attached for the time being.

use std::collections::HashMap;

use crate::circuit::Circuit;
use crate::condition::{AttachedLaw, Condition, Fault};
use crate::netlist::{Law, Role};
use crate::quantity::Address;

use super::draft::{Draft, Edit, Placed};
use super::landings::terminal;
use super::{WireProblem, impossible, stated_ohm};

pub(super) fn apply(
    circuit: &Circuit,
    condition: &Condition,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    for fault in &condition.faults {
        if let Fault::Bridge { id, between, resistance_ohm } = fault {
            let law = Law::resistance(stated_ohm(id, *resistance_ohm)?);
            let a = reached(circuit, draft, &between.0)?;
            let b = reached(circuit, draft, &between.1)?;
            add(draft, Placed { id: format!("jumper:{id}"), role: Role::Bridge, law, a, b })?;
        }
    }
    // A node of the instrument itself, as a probe, is where two attachments meet.
    let mut meetings: HashMap<&Address, usize> = HashMap::new();
    for attachment in &condition.attached {
        for end in [&attachment.between.0, &attachment.between.1] {
            *meetings.entry(end).or_default() += 1;
        }
    }
    for attachment in &condition.attached {
        let id = &attachment.id;
        let law = match attachment.law {
            AttachedLaw::ResistanceOhm(ohm) => Law::resistance(stated_ohm(id, ohm)?),
            AttachedLaw::CapacitanceFarad(farad) if farad.is_finite() && farad >= 0.0 => {
                Law::Capacitor { capacitance_farad: farad }
            }
            AttachedLaw::CapacitanceFarad(farad) => {
                return Err(impossible(id, format!("{farad} farad is no capacitance")));
            }
        };
        let end = |address: &Address| match meetings.get(address) {
            Some(2..) => Ok(address.clone()),
            _ => reached(circuit, draft, address),
        };
        let (a, b) = (end(&attachment.between.0)?, end(&attachment.between.1)?);
        add(draft, Placed { id: id.clone(), role: Role::Instrument, law, a, b })?;
    }
    Ok(())
}

/// A terminal of the circuit, or a place inside a cable where something is wrong.
fn reached(
    circuit: &Circuit,
    draft: &Draft<'_>,
    address: &Address,
) -> Result<Address, WireProblem> {
    terminal(circuit, address).or_else(|problem| {
        let inside = draft.elements().any(|placed| placed.a == *address || placed.b == *address);
        if inside { Ok(address.clone()) } else { Err(problem) }
    })
}

fn add(draft: &mut Draft<'_>, placed: Placed) -> Result<(), WireProblem> {
    if placed.a == placed.b {
        return Err(impossible(&placed.id, format!("both its ends are `{}`", placed.a)));
    }
    if draft.find(&placed.id).is_some() {
        return Err(impossible(&placed.id, "there is an element of this name already"));
    }
    draft.apply(Edit::Put(placed));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::Circuit;
    use crate::condition::{Attachment, Condition};
    use crate::netlist::wire;

    #[test]
    fn what_is_attached_has_a_capacitance_of_zero_or_more() {
        let text = include_str!("../../../circuits/pottery-studio.ron");
        let circuit: Circuit = crate::circuit::file::read(text).unwrap().circuit;
        let with = |farad: f64| {
            let attached = vec![Attachment {
                id: "meter".to_owned(),
                between: ("kiln.hot".into(), "kiln.neutral".into()),
                law: AttachedLaw::CapacitanceFarad(farad),
            }];
            wire(&circuit, &Condition { attached, ..Condition::default() })
        };
        let netlist = with(1e-10).unwrap();
        let meter = netlist.element(netlist.find_element("meter").unwrap());
        assert_eq!(meter.law, Law::Capacitor { capacitance_farad: 1e-10 });
        assert!(with(0.0).is_ok());
        for odd in [-1e-10, f64::INFINITY, f64::NAN] {
            let said = with(odd).unwrap_err().to_string();
            assert!(said.contains("is no capacitance"), "{said}");
        }
    }
}
