//! Every circuit of `circuits/`: its joints, devices and loads can be spoken of, and what is
//! said of them is heard as meant.

use std::path::Path;

use slotwise::circuit::file::{CircuitFile, read};
use slotwise::circuit::{CableEnd, DeviceKind};
use slotwise::condition::words::describe;
use slotwise::condition::{Condition, EndOfCable, Fault, Gap, LoadState, SwitchPosition, file};

/// Joints that only an address can name: the contacts of a four-way switch, all of one
/// conductor. Of everything in `circuits/` they are well below this share.
const BY_ADDRESS_SHARE_MAX: f64 = 0.01;

/// Name, text and content of each circuit.
fn circuits() -> Vec<(String, String, CircuitFile)> {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits");
    let mut found = Vec::new();
    for entry in std::fs::read_dir(directory).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "ron") {
            let text = std::fs::read_to_string(&path).unwrap();
            let circuit = read(&text).unwrap_or_else(|said| panic!("{path:?}: {said:?}"));
            found.push((path.display().to_string(), text, circuit));
        }
    }
    assert!(found.len() >= 12, "{} circuits", found.len());
    found
}

/// Every condition of one fault or one setting that a person would name first.
fn single_conditions(file: &CircuitFile) -> Vec<Condition> {
    let parts = file.circuit.parts();
    let fault = |fault| Condition { faults: vec![fault], ..Condition::default() };
    let mut all = Vec::new();
    for joint in &parts.joints {
        let element = joint.element.clone();
        all.push(fault(Fault::Open { element: element.clone(), gap: Gap::NONE }));
        all.push(fault(Fault::Resistance { element, resistance_ohm: 0.05 }));
    }
    for cable in &parts.cables {
        for (at, first) in cable.conductors.iter().enumerate() {
            let (cable_id, conductor) = (cable.id.clone(), first.name.clone());
            all.push(fault(Fault::Broken {
                cable: cable_id,
                conductor,
                at_fraction: 0.3,
                gap: Gap::NONE,
            }));
            for second in cable.conductors.iter().skip(at + 1) {
                for end in [CableEnd::A, CableEnd::B] {
                    all.push(fault(Fault::ExchangedAtCableEnd {
                        end: EndOfCable { cable: cable.id.clone(), end },
                        conductors: (first.name.clone(), second.name.clone()),
                    }));
                }
            }
        }
    }
    all.extend(settings(file));
    all
}

fn settings(file: &CircuitFile) -> Vec<Condition> {
    let parts = file.circuit.parts();
    let mut all = Vec::new();
    let mut breaker = |name: &str| {
        let mut condition = Condition::default();
        condition.breakers.insert(name.to_owned(), false);
        all.push(condition);
    };
    parts.branch_circuits.iter().for_each(|branch| breaker(&branch.id));
    for device in &parts.devices {
        if matches!(device.kind, DeviceKind::Protective { .. }) {
            breaker(&device.id);
        }
    }
    for device in &parts.devices {
        let position = match device.kind {
            DeviceKind::Switch { .. } => SwitchPosition::Closed,
            DeviceKind::ThreeWay { .. } => SwitchPosition::Two,
            DeviceKind::FourWay { .. } => SwitchPosition::Crossed,
            _ => continue,
        };
        let mut condition = Condition::default();
        condition.switches.insert(device.id.clone(), position);
        all.push(condition);
    }
    for load in &parts.loads {
        let mut condition = Condition::default();
        condition.loads.insert(load.id.clone(), LoadState::Off);
        all.push(condition);
    }
    all
}

#[test]
fn everything_in_every_circuit_is_spoken_of_and_heard_again() {
    let (mut sentences, mut by_element) = (0_usize, Vec::new());
    for (name, _, file) in circuits() {
        for condition in single_conditions(&file) {
            let text = describe(&file.circuit, &condition).join("; ");
            let mut heard = Condition::default();
            if let Err(problems) = heard.say(&file.circuit, &text) {
                panic!("{name}: {}", problems[0].render(&text));
            }
            assert_eq!(heard, condition, "{name}: {text}");
            sentences += 1;
            if text.contains(':') || text.split(' ').next().is_some_and(|word| word.contains('.')) {
                by_element.push(format!("{name}: {text}"));
            }
        }
    }
    let share = by_element.len() as f64 / sentences as f64;
    assert!(share < BY_ADDRESS_SHARE_MAX, "{by_element:#?}");
}

#[test]
fn the_conditions_named_in_every_circuit_are_heard() {
    for (name, text, circuit) in circuits() {
        if let Err(said) = file::of_circuit(&circuit, &text) {
            panic!("{}", slotwise::circuit::diagnostic::render_all(&said, &name, &text));
        }
    }
}
