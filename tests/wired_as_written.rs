//! Every reference case, wired from its `physical`, is element by element the network that its
//! `elements` write down: same names, same ends, same laws.

#![allow(unreachable_pub)] // The rooms of this test are shared by files of their own.

use std::collections::BTreeMap;
use std::path::Path;

use approx::relative_eq;
use slotwise::netlist::{Law, Netlist};

use case::Case;
use names::ours;

// Parts of these rooms serve the reference test alone.
#[allow(dead_code)]
#[path = "reference_cases/case.rs"]
mod case;
#[path = "reference_cases/describe.rs"]
mod describe;
#[allow(dead_code)]
#[path = "reference_cases/elements.rs"]
mod elements;
#[path = "reference_cases/names.rs"]
mod names;
#[allow(dead_code)]
#[path = "reference_cases/physical.rs"]
mod physical;

/// Values are products of the same few numbers, taken in another order.
const SAME_NUMBER: f64 = 4.0 * f64::EPSILON;

#[test]
fn every_case_is_wired_element_by_element_as_written() {
    let mut differences = Vec::new();
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let files = case::files(&directory);
    assert!(files.len() >= 12, "the project's own copy of the cases is here");
    for path in files.into_iter().chain(case::files(&case::directory())) {
        let name = path.display().to_string();
        let case = Case::read(&path).unwrap();
        let written = elements::netlist(&case).unwrap();
        match physical::wired(&case) {
            Ok(wired) => differences.extend(compare(&name, &written, &wired)),
            Err(why) => differences.push(format!("{name}: {why}")),
        }
    }
    assert!(differences.is_empty(), "{}", differences.join("\n"));
}

/// The kinds of fault that no case here has are read and wired all the same.
#[test]
fn every_kind_of_fault_that_a_case_can_name_is_wired() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/v17_high_leg.json");
    let mut case = Case::read(&path).unwrap();
    let cable = case.json["physical"]["cables"][0]["id"].as_str().unwrap().to_owned();
    let contact = format!("contact:{cable}.a.N");
    let circuit = case.json["physical"]["circuits"][0]["id"].as_str().unwrap().to_owned();
    case.json["physical"]["faults"] = serde_json::json!([
        { "kind": "open", "element": contact, "gap_c_farad": 1e-12, "gap_r_ohm": 1e9 },
        { "kind": "wrong_bus", "circuit": circuit, "bus": "panel.N" },
        { "kind": "cut", "cable": cable, "conductor": "N", "at_fraction": 0.5 },
        { "kind": "mid_high_resistance", "cable": cable, "conductor": "H", "at_fraction": 0.75,
          "r_ohm": 2.0 },
        { "kind": "mid_contact", "cable": cable, "between": ["H", "earth"], "at_fraction": 0.25,
          "r_ohm": 500.0 },
        { "kind": "jumper", "id": "tie", "between": [format!("{circuit}.N"), "earth"],
          "r_ohm": 0.1 },
    ]);
    let netlist = listed(&physical::wired(&case).unwrap(), str::to_owned);
    assert_eq!(netlist[&format!("breaker:{circuit}")].0, "panel.neutral");
    for element in [
        format!("gap:contact:{cable}.a.neutral"),
        format!("gapleak:contact:{cable}.a.neutral"),
        format!("wire:{cable}.neutral~4"),
        format!("midjoint:{cable}.hot"),
        format!("midcontact:{cable}.hot-earth"),
        "jumper:tie".to_owned(),
    ] {
        assert!(netlist.contains_key(&element), "{element}");
    }
}

fn compare(name: &str, written: &Netlist, wired: &Netlist) -> Vec<String> {
    let mut differences = Vec::new();
    let written = listed(written, ours);
    let wired = listed(wired, str::to_owned);
    for (id, element) in &written {
        match wired.get(id) {
            None => differences.push(format!("{name}: {id} is missing")),
            Some(found) if !same(element, found) => {
                differences.push(format!("{name}: {id} is {found:?}, should be {element:?}"));
            }
            Some(_) => {}
        }
    }
    let extra = wired.keys().filter(|id| !written.contains_key(*id));
    differences.extend(extra.map(|id| format!("{name}: {id} should not be")));
    differences
}

type Listed = BTreeMap<String, (String, String, Law)>;

fn listed(netlist: &Netlist, name: impl Fn(&str) -> String) -> Listed {
    netlist
        .elements()
        .map(|id| {
            let (a, b) = netlist.ends(id);
            let element = netlist.element(id);
            let end = |node| name(netlist.address(node).as_str());
            (name(&element.id), (end(a), end(b), element.law))
        })
        .collect()
}

fn same(x: &(String, String, Law), y: &(String, String, Law)) -> bool {
    let close = |x: f64, y: f64| relative_eq!(x, y, epsilon = 0.0, max_relative = SAME_NUMBER);
    let laws = match (x.2, y.2) {
        (Law::Impedance(x), Law::Impedance(y)) => {
            close(x.resistance_ohm, y.resistance_ohm) && close(x.reactance_ohm, y.reactance_ohm)
        }
        (Law::Capacitor { capacitance_farad: x }, Law::Capacitor { capacitance_farad: y }) => {
            close(x, y)
        }
        (x, y) => x == y,
    };
    laws && x.0 == y.0 && x.1 == y.1
}
