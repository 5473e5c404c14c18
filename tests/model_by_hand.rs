//! A run of boxes drawn by the rules of docs/model.md and the numbers of docs/defaults.md alone,
//! and the same run as the program wires it from its file: the same elements.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::collections::BTreeMap;

use approx::relative_eq;
use slotwise::circuit::file;
use slotwise::condition::Condition;
use slotwise::netlist::{Law, wire};

const FILE: &str = r#"(
    format: 1,
    name: "Cider press",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "mill", from: "c1", metres: 9),
        (id: "press", from: "mill", metres: 4),
        (id: "vat", from: "press", metres: 6.5),
    ],
    loads: [(id: "pump", at: "press", kind: Resistive(watts: 700))],
)"#;

const RUN: [(&str, &str, f64); 3] =
    [("mill", "c1", 9.0), ("press", "mill", 4.0), ("vat", "press", 6.5)];
const CONDUCTORS: [&str; 3] = ["hot", "neutral", "ground"];
/// 12 AWG copper at 20 °C: 1.93 ohm a 1000 ft at 75 °C.
const OHM_PER_M: f64 = 1.93 * (1.0 - 55.0 * 0.003_23) / 304.8;
const HENRY_PER_M: f64 = 0.29e-6;
const JOINT_OHM: f64 = 0.5e-3;
/// Values are the same few products in another order.
const SAME: f64 = 1e-14;

#[derive(Debug, PartialEq)]
enum Value {
    Ohm(f64, f64),
    Farad(f64),
    Emf(f64),
}

type Drawing = BTreeMap<String, (String, String, Value)>;

fn draw(drawing: &mut Drawing, id: String, a: String, b: String, value: Value) {
    assert!(drawing.insert(id, (a, b, value)).is_none());
}

/// Sections 4 and 5: supply, service, earthing, breaker.
fn supply(drawing: &mut Drawing) {
    for (leg, volt) in [("L1", 120.0), ("L2", -120.0)] {
        let (id, line) = (format!("winding:{leg}"), format!("xf.{leg}"));
        draw(drawing, id, line, "xf.neutral".into(), Value::Emf(volt));
    }
    for c in ["L1", "L2", "neutral"] {
        let ohm = 30.0 * 0.100 * (1.0 - 55.0 * 0.003_30) / 304.8;
        let value = Value::Ohm(ohm, 30.0 * 0.041 / 304.8);
        draw(drawing, format!("service:{c}"), format!("xf.{c}"), format!("panel.{c}"), value);
    }
    for (id, a, b, ohm) in [
        ("electrode:transformer", "xf.neutral", "earth", 1.0),
        ("electrode:panel", "panel.ground", "earth", 25.0),
        ("bond:main", "panel.neutral", "panel.ground", 0.5e-3),
        ("breaker:c1", "panel.L1", "c1.hot", 5e-3),
    ] {
        draw(drawing, id.into(), a.into(), b.into(), Value::Ohm(ohm, 0.0));
    }
}

/// Section 6: one π section.
fn cable(drawing: &mut Drawing, name: &str, metres: f64, ends: [&dyn Fn(&str) -> String; 2]) {
    let farad = [
        ("hot", "neutral", 16e-12),
        ("hot", "ground", 70e-12),
        ("neutral", "ground", 70e-12),
        ("hot", "earth", 11.6e-12 / 3.0),
        ("neutral", "earth", 11.6e-12 / 3.0),
        ("ground", "earth", 11.6e-12 / 3.0),
    ];
    for c in CONDUCTORS {
        let reactance = std::f64::consts::TAU * 60.0 * HENRY_PER_M * metres;
        let value = Value::Ohm(OHM_PER_M * metres, reactance);
        draw(drawing, format!("wire:{name}.{c}"), at(name, "a", c), at(name, "b", c), value);
    }
    for (end, lands) in ["a", "b"].into_iter().zip(ends) {
        for c in CONDUCTORS {
            let id = format!("contact:{name}.{end}.{c}");
            draw(drawing, id, at(name, end, c), lands(c), Value::Ohm(JOINT_OHM, 0.0));
        }
        for (p, q, per_metre) in farad {
            let id = format!("cap:{name}.{p}-{q}.{end}");
            let value = Value::Farad(per_metre * metres / 2.0);
            draw(drawing, id, at(name, end, p), at(name, end, q), value);
        }
        for (p, q, _) in &farad[..3] {
            let id = format!("leak:{name}.{p}-{q}.{end}");
            let value = Value::Ohm(2.0 * 1e11 / metres, 0.0);
            draw(drawing, id, at(name, end, p), at(name, end, q), value);
        }
    }
}

fn at(cable: &str, end: &str, conductor: &str) -> String {
    match conductor {
        "earth" => conductor.to_owned(),
        _ => format!("{cable}.{end}.{conductor}"),
    }
}

/// Section 4: boxes in pigtail style, the last one's wires straight on the terminals.
fn drawn() -> Drawing {
    let mut drawing = Drawing::new();
    supply(&mut drawing);
    for (name, from, metres) in RUN {
        let near = |c: &str| match (from, c) {
            ("c1", "hot") => "c1.hot".to_owned(),
            ("c1", bar) => format!("panel.{bar}"),
            _ => format!("{from}.splice.{c}"),
        };
        let last = name == "vat";
        let far = |c: &str| if last { format!("{name}.{c}") } else { format!("{name}.splice.{c}") };
        cable(&mut drawing, &format!("{from}-{name}"), metres, [&near, &far]);
        for c in CONDUCTORS.into_iter().filter(|_| !last) {
            let tail = format!("{name}.tail.{c}");
            let pigtail = Value::Ohm(JOINT_OHM + 0.15 * OHM_PER_M, 0.0);
            let splice = format!("{name}.splice.{c}");
            draw(&mut drawing, format!("link:{name}.pigtail.{c}"), splice, tail.clone(), pigtail);
            let screw = format!("link:{name}.screw.{c}");
            draw(&mut drawing, screw, tail, format!("{name}.{c}"), Value::Ohm(JOINT_OHM, 0.0));
        }
    }
    for (slot, node) in [("hot", "hot"), ("neutral", "neutral"), ("ground", "frame")] {
        let (from, to) = (format!("press.{slot}"), format!("pump.{node}"));
        draw(&mut drawing, format!("link:pump.plug.{slot}"), from, to, Value::Ohm(2e-3, 0.0));
    }
    let ohm = Value::Ohm(120.0 * 120.0 / 700.0, 0.0);
    draw(&mut drawing, "load:pump".into(), "pump.hot".into(), "pump.neutral".into(), ohm);
    drawing
}

fn wired() -> Drawing {
    let circuit = file::read(FILE).unwrap().circuit;
    let netlist = wire(&circuit, &Condition::default()).unwrap();
    let mut drawing = Drawing::new();
    for id in netlist.elements() {
        let (a, b) = netlist.ends(id);
        let element = netlist.element(id);
        let value = match element.law {
            Law::Impedance(own) => Value::Ohm(own.resistance_ohm, own.reactance_ohm),
            Law::Capacitor { capacitance_farad } => Value::Farad(capacitance_farad),
            Law::Source { emf_volt, .. } => Value::Emf(emf_volt.re),
            other => panic!("{}: {other:?}", element.id),
        };
        let end = |node| netlist.address(node).to_string();
        draw(&mut drawing, element.id.clone(), end(a), end(b), value);
    }
    drawing
}

fn same(x: &Value, y: &Value) -> bool {
    let close = |x: f64, y: f64| relative_eq!(x, y, epsilon = 0.0, max_relative = SAME);
    match (x, y) {
        (Value::Ohm(r, x), Value::Ohm(s, y)) => close(*r, *s) && close(*x, *y),
        (Value::Farad(x), Value::Farad(y)) | (Value::Emf(x), Value::Emf(y)) => close(*x, *y),
        _ => false,
    }
}

#[test]
fn a_run_drawn_by_hand_is_the_run_the_program_wires() {
    let (drawn, wired) = (drawn(), wired());
    let mut differences = Vec::new();
    for (id, by_hand) in &drawn {
        match wired.get(id) {
            None => differences.push(format!("{id} is not wired")),
            Some(found) => {
                let ends = (&by_hand.0, &by_hand.1) == (&found.0, &found.1);
                if !ends || !same(&by_hand.2, &found.2) {
                    differences.push(format!("{id}: {by_hand:?} by hand, {found:?} wired"));
                }
            }
        }
    }
    let extra = wired.keys().filter(|id| !drawn.contains_key(*id));
    differences.extend(extra.map(|id| format!("{id} is wired, and not drawn")));
    assert!(differences.is_empty(), "\n{}", differences.join("\n"));
}
