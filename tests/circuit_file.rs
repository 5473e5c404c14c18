//! What a circuit file means: behaviours, defaults, and that everything of the product's scope
//! can be said.

use slotwise::circuit::diagnostic::render_all;
use slotwise::circuit::file::{self, CircuitFile};
use slotwise::circuit::{Description, JointKind, Side};
use slotwise::condition::Condition;
use slotwise::netlist::wire;
use slotwise::solution::solve;

/// Five receptacles on one cable, as short as a file gets.
const FIVE: &str = r#"(
    format: 1,
    name: "Pottery studio",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "wheel", from: "door", feet: 12),
        (id: "sink", from: "wheel", feet: 8),
        (id: "kiln", from: "sink", feet: 10),
        (id: "window", from: "kiln", feet: 14),
    ],
    loads: [
        (id: "heater", at: "kiln", kind: Resistive(watts: 1500)),
    ],
)"#;

#[track_caller]
fn read(text: &str) -> CircuitFile {
    match file::read(text) {
        Ok(file) => file,
        Err(said) => panic!("{}", render_all(&said, "test.ron", text)),
    }
}

fn joint<'d>(description: &'d Description, address: &str) -> &'d slotwise::circuit::Joint {
    description
        .joints
        .iter()
        .find(|joint| joint.address.as_str() == address)
        .unwrap_or_else(|| panic!("no joint {address}"))
}

#[test]
fn five_receptacles_on_one_cable_take_fifteen_lines() {
    assert_eq!(FIVE.lines().count(), 15);
    let file = read(FIVE);
    let description = file.circuit.parts();
    assert_eq!(file.remarks, []);
    assert_eq!(description.cables.len(), 5);
    assert_eq!(description.cables[1].id, "door-wheel");
    assert_eq!(description.devices.len(), 5);
    assert_eq!(description.supply.windings.len(), 2);
    let line = joint(description, "kiln.line.neutral");
    assert_eq!(line.element, "contact:sink-kiln.b.neutral");
    assert_eq!((line.kind, line.side), (JointKind::Splice, Side::Line));
    let last = joint(description, "window.line.neutral");
    assert_eq!(last.kind, JointKind::Screw);
}

/// Potential of a terminal, volts rms to earth, in a condition.
#[track_caller]
fn volts(file: &CircuitFile, condition: &Condition, terminal: &str) -> f64 {
    let netlist = wire(&file.circuit, condition).unwrap();
    let node = netlist.find_node(&terminal.into()).unwrap_or_else(|| panic!("no {terminal}"));
    let solution = solve(&netlist).unwrap();
    solution.potential(node).expect("a potential").magnitude()
}

/// Current through an element, amperes rms, in a condition.
#[track_caller]
fn amperes(file: &CircuitFile, condition: &Condition, element: &str) -> f64 {
    let netlist = wire(&file.circuit, condition).unwrap();
    let element = netlist.find_element(element).unwrap_or_else(|| panic!("no {element}"));
    solve(&netlist).unwrap().current(element).magnitude()
}

#[test]
fn a_healthy_five_receptacle_run_loses_the_volts_its_ohms_say() {
    let file = read(FIVE);
    let healthy = Condition::default();
    let current = amperes(&file, &healthy, "load:heater");
    // 60 ft of 12 AWG out and back, 18.29 m x 2 x 5.21 mohm/m, is 0.19 ohm; joints, breaker and
    // supply come on top: 1500 W at 120 V takes 12.5 A less some 2 to 4 %.
    assert!((11.9..12.4).contains(&current), "{current}");
    let lost = 120.0 - volts(&file, &healthy, "kiln.hot");
    let neutral = volts(&file, &healthy, "kiln.neutral");
    assert!((1.1..2.2).contains(&neutral), "{neutral}");
    assert!((1.1..2.2).contains(&lost), "{lost}");
}
