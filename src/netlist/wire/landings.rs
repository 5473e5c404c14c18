//! Wires that land where they should not.
//!
//! At a cable end the contact belongs to the place, so two conductors that exchange their
//! landings exchange contact resistances too; two joints that exchange their `b` ends keep
//! theirs.

use crate::circuit::connection::{breaker_element, contact_element, pole_terminals, wire_end};
use crate::circuit::{Cable, Circuit, DeviceKind, UnknownName};
use crate::condition::{EndOfCable, Fault};
use crate::netlist::Role;
use crate::quantity::Address;

use super::draft::{Draft, Edit, End, Placed};
use super::{WireProblem, impossible};

pub(super) fn apply(
    circuit: &Circuit,
    faults: &[Fault],
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    for fault in faults {
        match fault {
            Fault::ExchangedAtCableEnd { end, conductors } => {
                exchanged_at_cable_end(circuit, end, conductors, draft)?;
            }
            Fault::ExchangedJoints { elements: (first, second) } => {
                let to_first = draft.named(second)?.b.clone();
                let to_second = draft.named(first)?.b.clone();
                move_end(draft, first, End::B, to_first)?;
                move_end(draft, second, End::B, to_second)?;
            }
            Fault::WrongBus { circuit: name, bus } => {
                if circuit.branch_circuit(name).is_none() {
                    let names = circuit.parts().branch_circuits.iter().map(|x| x.id.as_str());
                    let unknown = UnknownName::among(name, "a branch circuit", names);
                    return Err(WireProblem::Unknown(unknown));
                }
                let bus = terminal(circuit, bus)?;
                move_end(draft, &breaker_element(name), End::A, bus)?;
            }
            Fault::WrongLanding { end, conductor, to } => {
                let cable = cable_of(circuit, end)?;
                conductor_of(cable, conductor)?;
                let contact = contact_element(&end.cable, end.end, conductor);
                if draft.find(&contact).is_none() {
                    let what = format!("its {conductor} is capped there: bridge it instead");
                    return Err(impossible(&end.cable, what));
                }
                move_end(draft, &contact, End::B, terminal(circuit, to)?)?;
            }
            Fault::LineLoadExchanged { device } => line_load_exchanged(circuit, device, draft)?,
            _ => debug_assert!(super::stage(fault) != super::Stage::Landing),
        }
    }
    Ok(())
}

/// The cable that a condition names.
pub(super) fn cable_named<'c>(circuit: &'c Circuit, name: &str) -> Result<&'c Cable, WireProblem> {
    circuit.cable(name).ok_or_else(|| {
        let names = circuit.parts().cables.iter().map(|cable| cable.id.as_str());
        WireProblem::Unknown(UnknownName::among(name, "a cable", names))
    })
}

/// Checks that a cable has a conductor.
pub(super) fn conductor_of(cable: &Cable, name: &str) -> Result<(), WireProblem> {
    if cable.conductors.iter().any(|conductor| conductor.name == name) {
        return Ok(());
    }
    let names = cable.conductors.iter().map(|conductor| conductor.name.as_str());
    Err(WireProblem::Unknown(UnknownName::among(name, "a conductor of this cable", names)))
}

/// The terminal that a condition names.
pub(super) fn terminal(circuit: &Circuit, address: &Address) -> Result<Address, WireProblem> {
    circuit.terminal(address.as_str()).cloned().map_err(WireProblem::Unknown)
}

fn cable_of<'c>(circuit: &'c Circuit, end: &EndOfCable) -> Result<&'c Cable, WireProblem> {
    cable_named(circuit, &end.cable)
}

fn move_end(
    draft: &mut Draft<'_>,
    element: &str,
    end: End,
    to: Address,
) -> Result<(), WireProblem> {
    let other = draft.find(element).map(|placed| match end {
        End::A => &placed.b,
        End::B => &placed.a,
    });
    if other == Some(&to) {
        return Err(impossible(element, format!("both its ends would be `{to}`")));
    }
    draft.apply(Edit::End { element: element.to_owned(), end, to });
    Ok(())
}

fn exchanged_at_cable_end(
    circuit: &Circuit,
    end: &EndOfCable,
    (first, second): &(String, String),
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let cable = cable_of(circuit, end)?;
    conductor_of(cable, first)?;
    conductor_of(cable, second)?;
    if first == second {
        return Err(impossible(&end.cable, format!("{first} cannot be exchanged with itself")));
    }
    let contact = |conductor: &str| contact_element(&end.cable, end.end, conductor);
    let landing = |draft: &Draft<'_>, conductor: &str| {
        draft.find(&contact(conductor)).map(|placed| (placed.b.clone(), placed.law))
    };
    let (of_first, of_second) = (landing(draft, first), landing(draft, second));
    for (conductor, landing) in [(first, of_second), (second, of_first)] {
        let id = contact(conductor);
        draft.apply(match landing {
            Some((b, law)) => {
                let a = wire_end(&end.cable, end.end, conductor);
                Edit::Put(Placed { id, role: Role::Joint, law, a, b })
            }
            None => Edit::Remove { element: id },
        });
    }
    Ok(())
}

/// Whatever was wired to the line terminals goes to the load terminals and the other way
/// round; the device's own slots stay where they are inside it.
fn line_load_exchanged(
    circuit: &Circuit,
    name: &str,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let poles = match circuit.device(name).map(|device| &device.kind) {
        Some(DeviceKind::Protective { poles, .. }) => poles,
        _ => {
            let devices = circuit.parts().devices.iter();
            let protective =
                devices.filter(|device| matches!(device.kind, DeviceKind::Protective { .. }));
            let names = protective.map(|device| device.id.as_str());
            let unknown = UnknownName::among(name, "a protective device", names);
            return Err(WireProblem::Unknown(unknown));
        }
    };
    // The straps to the slots in the device's own face are no wires.
    let own_slots: Vec<&Address> = circuit
        .outlets()
        .filter(|(place, _)| place.devices.iter().any(|device| device == name))
        .flat_map(|(_, outlet)| outlet.slots.iter().map(|(_, slot)| slot))
        .collect();
    let mut edits = Vec::new();
    for pole in poles {
        let (line, load) = pole_terminals(name, pole);
        let contact = format!("switch:{name}.{pole}");
        let across = |end: &Address| match end {
            end if *end == line => Some(load.clone()),
            end if *end == load => Some(line.clone()),
            _ => None,
        };
        for placed in draft.elements() {
            let inside = placed.id == contact
                || placed.id == format!("switchgap:{name}.{pole}")
                || own_slots.iter().any(|slot| **slot == placed.a || **slot == placed.b);
            if inside {
                continue;
            }
            for (end, at) in [(End::A, &placed.a), (End::B, &placed.b)] {
                if let Some(to) = across(at) {
                    edits.push(Edit::End { element: placed.id.clone(), end, to });
                }
            }
        }
    }
    edits.into_iter().for_each(|edit| draft.apply(edit));
    Ok(())
}
