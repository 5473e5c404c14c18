//! The circuit as installed: the law of every metal path, and what lies between the
//! conductors of each cable.

use crate::circuit::connection::winding_element;
use crate::circuit::{
    Circuit, Conductor, Connection, LoadKind, LumpedKind, Part, SwitchContact, Tab,
};
use crate::netlist::{Law, Netlist, NetlistError, Role};
use crate::quantity::Impedance;

use super::cable;
use super::draft::{Layout, Placed};

/// Every element of the circuit as described.
pub(super) fn layout(circuit: &Circuit) -> Layout {
    let mut layout = Layout::default();
    for connection in circuit.connections() {
        let (role, law) = role_and_law(&connection.part);
        let gap = open_gap(&connection);
        let Connection { element, a, b, .. } = connection;
        layout.push(Placed { id: element, role, law, a, b });
        gap.into_iter().for_each(|gap| layout.push(gap));
    }
    for part in &circuit.parts().cables {
        cable::side_elements(part).into_iter().for_each(|element| layout.push(element));
    }
    layout
}

/// Couples the windings that share a core, as far as both still are sources: a winding whose
/// lead is open carries nothing.
pub(super) fn couple(circuit: &Circuit, netlist: &mut Netlist) -> Result<(), NetlistError> {
    for coupling in &circuit.parts().supply.couplings {
        let find = |winding: &str| {
            netlist
                .find_element(&winding_element(winding))
                .filter(|&id| matches!(netlist.element(id).law, Law::Source { .. }))
        };
        if let (Some(first), Some(second)) = (find(&coupling.first), find(&coupling.second)) {
            netlist.couple(first, second, coupling.mutual)?;
        }
    }
    Ok(())
}

/// The law of a load that is on.
pub(super) fn load_law(kind: LoadKind) -> Law {
    match kind {
        LoadKind::Resistive { rated_watt, rated_volt } => {
            Law::resistance(rated_volt * rated_volt / rated_watt)
        }
        LoadKind::Impedance(impedance) => Law::Impedance(impedance),
        LoadKind::Capacitor { capacitance_farad } => Law::Capacitor { capacitance_farad },
        LoadKind::Filament { rated_watt, rated_volt, cold_fraction, exponent } => {
            Law::Filament { rated_watt, rated_volt, cold_fraction, exponent }
        }
        LoadKind::ConstantPower { active_watt, reactive_var, cut_out_volt } => {
            Law::ConstantPower { active_watt, reactive_var, cut_out_volt }
        }
        LoadKind::PilotLamp { threshold_volt, off_ohm, series_ohm } => {
            Law::ThresholdLamp { threshold_volt, off_ohm, series_ohm }
        }
        LoadKind::Motor { running, .. } => Law::Impedance(running),
    }
}

/// The law of a switch contact.
pub(super) fn contact_law(contact: SwitchContact) -> Law {
    if contact.closed { Law::resistance(contact.closed_ohm) } else { Law::Open }
}

/// The law of a tab.
pub(super) fn tab_law(tab: Tab) -> Law {
    if tab.intact { Law::resistance(tab.resistance_ohm) } else { Law::Open }
}

/// The capacitance across an open contact or a broken tab: its name is the element's with
/// `gap` put after its first word.
pub(super) fn gap_element(placed: &Placed, gap_farad: f64) -> Option<Placed> {
    let (word, rest) = placed.id.split_once(':')?;
    (gap_farad > 0.0).then(|| Placed {
        id: format!("{word}gap:{rest}"),
        role: Role::Gap,
        law: Law::Capacitor { capacitance_farad: gap_farad },
        a: placed.a.clone(),
        b: placed.b.clone(),
    })
}

fn open_gap(connection: &Connection<'_>) -> Option<Placed> {
    let gap_farad = match connection.part {
        Part::Tab(_, tab) if !tab.intact => tab.gap_farad,
        Part::Switch(_, contact) if !contact.closed => contact.gap_farad,
        _ => return None,
    };
    let (role, law) = role_and_law(&connection.part);
    let (a, b) = (connection.a.clone(), connection.b.clone());
    gap_element(&Placed { id: connection.element.clone(), role, law, a, b }, gap_farad)
}

fn role_and_law(part: &Part<'_>) -> (Role, Law) {
    match *part {
        Part::Winding(winding) => (
            Role::Winding,
            Law::Source { emf_volt: winding.emf_volt, impedance: winding.impedance },
        ),
        Part::ServiceConductor(conductor) => (Role::Service, Law::Impedance(conductor.impedance)),
        Part::Electrode(electrode) => (Role::Electrode, Law::resistance(electrode.resistance_ohm)),
        Part::Bond(bond) => (Role::Bond, Law::resistance(bond.resistance_ohm)),
        Part::Breaker(circuit) if circuit.breaker.closed => {
            (Role::Breaker, Law::resistance(circuit.breaker.resistance_ohm))
        }
        Part::Breaker(_) => (Role::Breaker, Law::Open),
        Part::BarLanding(_, resistance_ohm) => (Role::Joint, Law::resistance(resistance_ohm)),
        Part::Wire(cable, conductor) => (Role::Wire, wire_law(conductor, cable.length_m)),
        Part::Contact(_, landing) => (Role::Joint, Law::resistance(landing.contact_ohm)),
        Part::Tab(_, tab) => (Role::Link, tab_law(tab)),
        Part::Switch(_, contact) => (Role::Switch, contact_law(contact)),
        Part::Link(link) => (Role::Link, Law::resistance(link.resistance_ohm)),
        Part::Load(load) if load.on => (Role::Load, load_law(load.kind)),
        Part::Load(_) => (Role::Load, Law::Open),
        Part::Lumped(lumped) => (Role::Lumped, lumped_law(lumped.kind)),
    }
}

fn lumped_law(kind: LumpedKind) -> Law {
    match kind {
        LumpedKind::Impedance(impedance) => Law::Impedance(impedance),
        LumpedKind::CapacitorFarad(capacitance_farad) => Law::Capacitor { capacitance_farad },
        LumpedKind::Source { emf_volt, impedance } => Law::Source { emf_volt, impedance },
        LumpedKind::Load(kind) => load_law(kind),
        LumpedKind::Open => Law::Open,
    }
}

fn wire_law(conductor: &Conductor, length_m: f64) -> Law {
    Law::Impedance(Impedance::new(
        conductor.impedance_per_m.resistance_ohm * length_m,
        conductor.impedance_per_m.reactance_ohm * length_m,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::condition::Condition;
    use crate::netlist::wire;

    #[test]
    fn a_breaker_stands_as_the_panel_has_it_until_a_condition_sets_it() {
        let text = include_str!("../../../circuits/pottery-studio.ron");
        let mut description = crate::circuit::file::read(text).unwrap().circuit.parts().clone();
        let breaker = crate::circuit::connection::breaker_element("c1");
        for closed in [true, false] {
            description.branch_circuits[0].breaker.closed = closed;
            let circuit = Circuit::new(description.clone()).unwrap();
            let netlist = wire(&circuit, &Condition::default()).unwrap();
            let law = netlist.element(netlist.find_element(&breaker).unwrap()).law;
            assert_eq!(law == Law::Open, !closed, "{law:?}");
        }
    }
}
