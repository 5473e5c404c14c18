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

    #[test]
    fn a_meter_can_be_held_to_both_ends_of_a_wire_where_it_is_broken_inside_its_cable() {
        let text = include_str!("../../../circuits/pottery-studio.ron");
        let circuit: Circuit = crate::circuit::file::read(text).unwrap().circuit;
        let cable = circuit.parts().cables[0].id.clone();
        let (conductor, gap) = ("hot".to_owned(), crate::condition::Gap::NONE);
        let broken = Fault::Broken { cable: cable.clone(), conductor, at_fraction: 0.5, gap };
        let mut condition = Condition { faults: vec![broken], ..Condition::default() };
        let netlist = wire(&circuit, &condition).unwrap();
        let is_half = |id: &crate::netlist::ElementId| {
            let element = netlist.element(*id);
            let name = format!("wire:{cable}.hot");
            element.role == Role::Wire && element.id.starts_with(&name)
        };
        // One half ends where the other begins again, with nothing in between.
        let halves: Vec<_> = netlist.elements().filter(is_half).collect();
        let [near, far] = halves.as_slice() else { panic!("{halves:?}") };
        let between = (netlist.ends(*near).1, netlist.ends(*far).0);
        assert_ne!(between.0, between.1);
        let (a, b) = (netlist.address(between.0).clone(), netlist.address(between.1).clone());
        let law = AttachedLaw::ResistanceOhm(1e6);
        condition.attached.push(Attachment { id: "meter".to_owned(), between: (a, b), law });
        let with_meter = wire(&circuit, &condition).unwrap();
        let meter = with_meter.find_element("meter").unwrap();
        assert_eq!(with_meter.ends(meter), between);
        // And nowhere that there is not.
        condition.attached[0].between.1 = "nowhere.hot".into();
        assert!(wire(&circuit, &condition).is_err());
    }
}
