//! What a circuit file means: behaviours, defaults, and that everything of the product's scope
//! can be said.

use slotwise::circuit::diagnostic::render_all;
use slotwise::circuit::file::{self, CircuitFile};
use slotwise::circuit::{Description, JointKind, Side};

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
