//! Breakers, switches, loads, tabs and the supply voltage: what is set, not what is wrong
//! with a joint.

use std::collections::BTreeMap;

use crate::circuit::connection::{
    breaker_element, link_element, load_element, switch_contacts, tab_element, winding_element,
};
use crate::circuit::{Circuit, Device, DeviceKind, Load, LoadKind, UnknownName};
use crate::condition::{Condition, Fault, LoadState, SwitchPosition};
use crate::netlist::{Law, Role};
use crate::quantity::Phasor;

use super::draft::{Draft, Edit, Placed};
use super::installed::{contact_law, gap_element, load_law, tab_law};
use super::{WireProblem, impossible};

pub(super) fn apply(
    circuit: &Circuit,
    condition: &Condition,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    breakers(circuit, condition, draft)?;
    for (name, &position) in &condition.switches {
        switch(circuit, name, position, draft)?;
    }
    for load in circuit.parts().loads.iter().filter(|load| !load.plugged_in) {
        if !condition.loads.contains_key(&load.id) {
            unplug(load, draft);
        }
    }
    for (name, &state) in &condition.loads {
        load(circuit, name, state, draft)?;
    }
    for fault in &condition.faults {
        match fault {
            Fault::Tab { device, conductor, intact } => {
                tab(circuit, device, conductor, *intact, draft)?;
            }
            Fault::SupplyVoltage { winding, emf_volt } => {
                supply_voltage(circuit, winding, *emf_volt, draft)?;
            }
            _ => debug_assert!(super::stage(fault) != super::Stage::Setting),
        }
    }
    Ok(())
}

fn breakers(
    circuit: &Circuit,
    condition: &Condition,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let mut settled: BTreeMap<&str, bool> = BTreeMap::new();
    for (name, &closed) in &condition.breakers {
        if let Some(pole) = circuit.branch_circuit(name) {
            for tied in circuit.on_one_handle(pole) {
                if settled.insert(&tied.id, closed).is_some_and(|before| before != closed) {
                    return Err(impossible(name, "its handle is tied to one set the other way"));
                }
            }
        } else if let Some(device) = protective(circuit, name) {
            set_contacts(device, |_| closed, draft);
        } else {
            let parts = circuit.parts();
            let devices = parts.devices.iter().filter(|device| is_protective(device));
            let names = parts.branch_circuits.iter().map(|pole| pole.id.as_str());
            let names = names.chain(devices.map(|device| device.id.as_str()));
            let expected = "a breaker or a protective device";
            return Err(WireProblem::Unknown(UnknownName::among(name, expected, names)));
        }
    }
    for (name, closed) in settled {
        let Some(pole) = circuit.branch_circuit(name) else { continue };
        let law = if closed { Law::resistance(pole.breaker.resistance_ohm) } else { Law::Open };
        draft.apply(Edit::Law { element: breaker_element(name), law });
    }
    Ok(())
}

fn is_protective(device: &Device) -> bool {
    matches!(device.kind, DeviceKind::Protective { .. })
}

fn protective<'c>(circuit: &'c Circuit, name: &str) -> Option<&'c Device> {
    circuit.device(name).filter(|device| is_protective(device))
}

/// Sets each contact of a device, asked for by the part of its name after the device's.
fn set_contacts(device: &Device, closed: impl Fn(&str) -> bool, draft: &mut Draft<'_>) {
    for (name, a, b, mut contact) in switch_contacts(device) {
        contact.closed = closed(name.rsplit('.').next().unwrap_or(&name));
        let law = contact_law(contact);
        let id = format!("switch:{name}");
        draft.apply(Edit::Law { element: id.clone(), law });
        let placed = Placed { id, role: Role::Switch, law, a, b };
        if let Some(gap) = gap_element(&placed, contact.gap_farad) {
            draft.apply(if contact.closed {
                Edit::Remove { element: gap.id }
            } else {
                Edit::Put(gap)
            });
        }
    }
}

fn switch(
    circuit: &Circuit,
    name: &str,
    position: SwitchPosition,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let is_switch = |device: &&Device| {
        matches!(
            device.kind,
            DeviceKind::Switch { .. } | DeviceKind::ThreeWay { .. } | DeviceKind::FourWay { .. }
        )
    };
    let Some(device) = circuit.device(name).filter(is_switch) else {
        let switches = circuit.parts().devices.iter().filter(is_switch);
        let names = switches.map(|device| device.id.as_str());
        return Err(WireProblem::Unknown(UnknownName::among(name, "a switch", names)));
    };
    match (&device.kind, position) {
        (DeviceKind::Switch { .. }, SwitchPosition::Closed) => {
            set_contacts(device, |_| true, draft);
        }
        (DeviceKind::Switch { .. }, SwitchPosition::Open) => set_contacts(device, |_| false, draft),
        (DeviceKind::ThreeWay { .. }, SwitchPosition::One) => {
            set_contacts(device, |contact| contact == "t1", draft);
        }
        (DeviceKind::ThreeWay { .. }, SwitchPosition::Two) => {
            set_contacts(device, |contact| contact == "t2", draft);
        }
        (DeviceKind::FourWay { .. }, SwitchPosition::Straight) => {
            set_contacts(device, |contact| matches!(contact, "a1b1" | "a2b2"), draft);
        }
        (DeviceKind::FourWay { .. }, SwitchPosition::Crossed) => {
            set_contacts(device, |contact| matches!(contact, "a1b2" | "a2b1"), draft);
        }
        (kind, _) => {
            let expected = match kind {
                DeviceKind::ThreeWay { .. } => "a three-way switch stands in position 1 or 2",
                DeviceKind::FourWay { .. } => "a four-way switch stands straight or crossed",
                _ => "this switch is open or closed",
            };
            return Err(impossible(name, expected));
        }
    }
    Ok(())
}

fn load(
    circuit: &Circuit,
    name: &str,
    state: LoadState,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let Some(load) = circuit.load(name) else {
        let names = circuit.parts().loads.iter().map(|load| load.id.as_str());
        return Err(WireProblem::Unknown(UnknownName::among(name, "a load", names)));
    };
    let law = match (state, load) {
        (LoadState::On, _) => load_law(load.kind),
        (LoadState::Off | LoadState::Unplugged, _) => Law::Open,
        (LoadState::Stalled, Load { kind: LoadKind::Motor { locked_rotor, .. }, .. }) => {
            Law::Impedance(*locked_rotor)
        }
        (LoadState::Stalled, _) => return Err(impossible(name, "only a motor can be stalled")),
    };
    draft.apply(Edit::Law { element: load_element(name), law });
    if state == LoadState::Unplugged {
        unplug(load, draft);
    }
    Ok(())
}

fn unplug(load: &Load, draft: &mut Draft<'_>) {
    let links = load.plug_links.iter().map(|link| link_element(link));
    for element in links.chain([load_element(&load.id)]) {
        draft.apply(Edit::Law { element, law: Law::Open });
    }
}

fn tab(
    circuit: &Circuit,
    name: &str,
    conductor: &str,
    intact: bool,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let Some(Device { kind: DeviceKind::Duplex { hot_tab, neutral_tab, .. }, .. }) =
        circuit.device(name)
    else {
        let is_duplex = |device: &&Device| matches!(device.kind, DeviceKind::Duplex { .. });
        let duplexes = circuit.parts().devices.iter().filter(is_duplex);
        let names = duplexes.map(|device| device.id.as_str());
        return Err(WireProblem::Unknown(UnknownName::among(name, "a duplex", names)));
    };
    let mut tab = match conductor {
        "hot" => *hot_tab,
        "neutral" => *neutral_tab,
        _ => return Err(impossible(name, format!("it has no {conductor} tab"))),
    };
    tab.intact = intact;
    let element = draft.named(&tab_element(name, conductor))?;
    if let Some(gap) = gap_element(element, tab.gap_farad) {
        draft.apply(if intact { Edit::Remove { element: gap.id } } else { Edit::Put(gap) });
    }
    draft.apply(Edit::Law { element: tab_element(name, conductor), law: tab_law(tab) });
    Ok(())
}

fn supply_voltage(
    circuit: &Circuit,
    name: &str,
    emf_volt: Phasor,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let windings = &circuit.parts().supply.windings;
    let Some(winding) = windings.iter().find(|winding| winding.id == name) else {
        let names = windings.iter().map(|winding| winding.id.as_str());
        return Err(WireProblem::Unknown(UnknownName::among(name, "a winding", names)));
    };
    if !(emf_volt.re.is_finite() && emf_volt.im.is_finite()) {
        return Err(impossible(name, "its voltage must be a finite number"));
    }
    let law = Law::Source { emf_volt, impedance: winding.impedance };
    draft.apply(Edit::Law { element: winding_element(name), law });
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::netlist::{Netlist, wire};

    fn lighthouse() -> Circuit {
        let text = include_str!("../../../circuits/lighthouse.ron");
        crate::circuit::file::read(text).unwrap().circuit
    }

    fn said(condition: &Condition) -> String {
        wire(&lighthouse(), condition).unwrap_err().to_string()
    }

    fn switched(name: &str, position: SwitchPosition) -> Condition {
        Condition { switches: [(name.to_owned(), position)].into(), ..Condition::default() }
    }

    #[test]
    fn a_switch_is_told_the_positions_that_it_has() {
        for (name, position, words) in [
            ("foot", SwitchPosition::Crossed, "a three-way switch stands in position 1 or 2"),
            ("landing", SwitchPosition::One, "a four-way switch stands straight or crossed"),
        ] {
            let said = said(&switched(name, position));
            assert!(said.contains(words), "{said}");
        }
        let plain = r#"(format: 1, circuits: [(id: "c1")], boxes: [
            (id: "hall", from: "c1", feet: 10, device: Switch(to: "switched")),
            (id: "lamp", from: "hall", feet: 6, carries: ["switched", "neutral", "ground"],
             devices: []),
        ], loads: [
            (id: "led", at: "lamp", kind: Led(watts: 20), wired: true,
             across: ("switched", "neutral")),
        ])"#;
        let circuit = crate::circuit::file::read(plain).unwrap().circuit;
        let said = wire(&circuit, &switched("hall", SwitchPosition::Two)).unwrap_err().to_string();
        assert!(said.contains("this switch is open or closed"), "{said}");
    }

    #[test]
    fn only_what_protects_is_set_as_a_breaker() {
        let condition =
            Condition { breakers: [("foot".to_owned(), false)].into(), ..Condition::default() };
        let said = said(&condition);
        assert!(said.contains("a breaker or a protective device"), "{said}");
    }

    #[test]
    fn a_supply_has_a_voltage_that_is_a_number_in_both_parts() {
        let circuit = lighthouse();
        let winding = circuit.parts().supply.windings[0].id.clone();
        let supplied = |emf_volt: Phasor| -> Result<Netlist, WireProblem> {
            let fault = Fault::SupplyVoltage { winding: winding.clone(), emf_volt };
            wire(&circuit, &Condition { faults: vec![fault], ..Condition::default() })
        };
        assert!(supplied(Phasor::new(118.0, -4.0)).is_ok());
        for odd in [Phasor::new(118.0, f64::NAN), Phasor::new(f64::INFINITY, 0.0)] {
            let said = supplied(odd).unwrap_err().to_string();
            assert!(said.contains("its voltage must be a finite number"), "{said}");
        }
    }
}
