//! The worked example of docs/model.md, by arithmetic of its own: the file in the page, its
//! tables, the program and the sums written here must say the same.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::ops::{Add, Div, Mul, Sub};

use slotwise::circuit::{Circuit, file};
use slotwise::condition::{Condition, Fault};
use slotwise::netlist::{Law, Netlist, wire};
use slotwise::quantity::Address;
use slotwise::solution::{Solution, solve};

/// A dozen sums and products at 120 V.
const SAME_VOLT: f64 = 1e-11;
/// Values are the same few products in another order.
const SAME_SHARE: f64 = 1e-13;

/// A complex number, with no more than the sums below need.
#[derive(Clone, Copy, Debug)]
struct C(f64, f64);

impl C {
    fn magnitude(self) -> f64 {
        self.0.hypot(self.1)
    }
}

impl Add for C {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self(self.0 + o.0, self.1 + o.1)
    }
}

impl Sub for C {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self(self.0 - o.0, self.1 - o.1)
    }
}

impl Mul for C {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self(self.0 * o.0 - self.1 * o.1, self.0 * o.1 + self.1 * o.0)
    }
}

impl Div for C {
    type Output = Self;
    fn div(self, o: Self) -> Self {
        let square = o.0 * o.0 + o.1 * o.1;
        Self((self.0 * o.0 + self.1 * o.1) / square, (self.1 * o.0 - self.0 * o.1) / square)
    }
}

/// The elements of the example, ohms, from the page's rules and numbers alone.
struct ByHand {
    winding: C,
    /// Between the halves of the transformer, in the sense from one line to the other.
    mutual: C,
    service: C,
    wire: C,
    bad_joint_ohm: f64,
}

impl ByHand {
    fn new(bad_joint_ohm: f64) -> Self {
        // 25 kVA, 1.8 %, X/R 1.1, on the base of 120 V.
        let base = 120.0 * 120.0 / 25_000.0;
        let r_per_unit = 0.018 / (1.0_f64 + 1.1 * 1.1).sqrt();
        let winding = C(1.5 * r_per_unit * base, 1.2 * 1.1 * r_per_unit * base);
        let mutual = C(0.5 * r_per_unit * base, 0.8 * 1.1 * r_per_unit * base);
        // 30 m of 4/0 AWG aluminium: 0.100 ohm a 1000 ft at 75 °C; 0.041 ohm of reactance.
        let service = C(0.100 * (1.0 - 55.0 * 0.003_30), 0.041);
        let thirty_metres = C(30.0 / 304.8, 0.0);
        // 12 m of 14 AWG copper: 3.07 ohm a 1000 ft at 75 °C; 0.29 µH a metre.
        let wire = C(12.0 * 3.07 * (1.0 - 55.0 * 0.003_23) / 304.8, 12.0 * TAU * 60.0 * 0.29e-6);
        Self { winding, mutual, service: service * thirty_metres, wire, bad_joint_ohm }
    }

    /// Potentials to earth, volts.
    fn potentials(&self) -> BTreeMap<&'static str, C> {
        let ohm = |ohm: f64| C(ohm, 0.0);
        let urn = ohm(120.0 * 120.0 / 1200.0);
        let plug = ohm(2e-3);
        let half = ohm(0.5e-3);
        // Neutral at the panel to neutral at the transformer: the service's, and beside it bond,
        // panel's electrode, earth, transformer's electrode.
        let by_earth = half + ohm(25.0) + ohm(1.0);
        let back = self.service * by_earth / (self.service + by_earth);
        let out = self.winding + self.service + ohm(5e-3) + half + self.wire + half;
        let home = ohm(self.bad_joint_ohm) + self.wire + half;
        let current = C(120.0, 0.0) / (out + plug + urn + plug + home + back);
        let in_earth = current * self.service / (self.service + by_earth);

        let transformer_neutral = C(0.0, 0.0) - in_earth;
        let panel_ground = in_earth * ohm(25.0);
        let panel_neutral = panel_ground + in_earth * half;
        let slip_neutral = panel_neutral + current * home;
        let slip_hot = slip_neutral + current * (plug + urn + plug);
        let panel_l1 = slip_hot + current * (half + self.wire + half + ohm(5e-3));
        // The other half carries nothing, but the current of the first works on it.
        let transformer_l2 = transformer_neutral - C(120.0, 0.0) + self.mutual * current;
        BTreeMap::from([
            ("xf.neutral", transformer_neutral),
            ("xf.L2", transformer_l2),
            ("panel.L1", panel_l1),
            ("panel.neutral", panel_neutral),
            ("panel.ground", panel_ground),
            ("slip.hot", slip_hot),
            ("slip.neutral", slip_neutral),
            ("slip.ground", panel_ground),
        ])
    }
}

/// The page's second column: the neutral's joint at the box, line side, has 2 ohm.
const BAD_JOINT: &str = "contact:c1-slip.b.neutral";

fn page() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/model.md");
    std::fs::read_to_string(path).unwrap()
}

/// The cells of the rows of the page that begin with a code word, by that word.
fn rows(page: &str) -> BTreeMap<String, Vec<String>> {
    let example = page.split("## 9. A worked example").nth(1).unwrap();
    example
        .lines()
        .filter_map(|line| line.strip_prefix("| `"))
        .filter_map(|line| {
            let (word, rest) = line.split_once('`')?;
            let cells = rest.split('|').skip(1).map(|cell| cell.trim().to_owned());
            Some((word.to_owned(), cells.collect()))
        })
        .collect()
}

fn circuit() -> Circuit {
    let page = page();
    let text = page.split("```ron\n").nth(1).unwrap().split("```").next().unwrap();
    file::read(text).unwrap().circuit
}

fn solved(bad_joint: bool) -> (Netlist, Solution) {
    let mut condition = Condition::default();
    if bad_joint {
        let (element, resistance_ohm) = (BAD_JOINT.into(), 2.0);
        condition.faults.push(Fault::Resistance { element, resistance_ohm });
    }
    let netlist = wire(&circuit(), &condition).unwrap();
    let solution = solve(&netlist).unwrap();
    (netlist, solution)
}

#[test]
fn every_potential_is_what_the_sums_by_hand_say() {
    for (bad_joint, ohm) in [(false, 0.5e-3), (true, 2.0)] {
        let (netlist, solution) = solved(bad_joint);
        for (terminal, expected) in ByHand::new(ohm).potentials() {
            let node = netlist.find_node(&Address::from(terminal)).unwrap();
            let found = solution.potential(node).unwrap();
            let error = C(found.re, found.im) - expected;
            assert!(error.magnitude() < SAME_VOLT, "{terminal}: {found:?}, {expected:?}");
        }
    }
}

#[test]
fn every_element_is_in_the_pages_table_with_its_value() {
    let (netlist, _) = solved(false);
    let rows = rows(&page());
    let mut missing = Vec::new();
    for id in netlist.elements() {
        let element = netlist.element(id);
        let (resistance, reactance) = match element.law {
            Law::Impedance(own) => (own.resistance_ohm, own.reactance_ohm),
            Law::Source { impedance, .. } => (impedance.resistance_ohm, impedance.reactance_ohm),
            other => panic!("{other:?} is in no table"),
        };
        match rows.get(&element.id) {
            Some(cells) => {
                let (a, b) = netlist.ends(id);
                let ends = format!("`{}` – `{}`", netlist.address(a), netlist.address(b));
                assert_eq!(cells[0], ends, "{}", element.id);
                let number = |cell: &String| cell.parse::<f64>().unwrap() / 1e3;
                for (found, cell) in [(resistance, &cells[2]), (reactance, &cells[3])] {
                    let digits = cell.split('.').nth(1).map_or(0, str::len);
                    let half_a_digit = 0.5001e-3 * 0.1_f64.powi(i32::try_from(digits).unwrap());
                    assert!((found - number(cell)).abs() < half_a_digit, "{}: {cell}", element.id);
                }
            }
            None => missing.push(element.id.clone()),
        }
    }
    assert_eq!(missing, Vec::<String>::new());
    let n_elements = rows.keys().filter(|word| word.contains(':')).count();
    assert_eq!(n_elements, netlist.elements().len(), "and no element besides");
}

#[test]
fn the_pages_voltages_are_the_programs() {
    let rows = rows(&page());
    for (column, bad_joint) in [(0, false), (1, true)] {
        let (netlist, solution) = solved(bad_joint);
        for terminal in ByHand::new(2.0).potentials().keys() {
            let node = netlist.find_node(&Address::from(*terminal)).unwrap();
            let found = format!("{:.4}", solution.potential(node).unwrap().magnitude());
            assert_eq!(rows[*terminal][column], found, "{terminal}");
        }
    }
}

#[test]
fn the_impedances_by_hand_are_the_programs() {
    let (netlist, _) = solved(false);
    let hand = ByHand::new(0.5e-3);
    for (element, expected) in [
        ("winding:L1", hand.winding),
        ("service:neutral", hand.service),
        ("wire:c1-slip.hot", hand.wire),
    ] {
        let law = netlist.element(netlist.find_element(element).unwrap()).law;
        let (Law::Impedance(found) | Law::Source { impedance: found, .. }) = law else {
            panic!("{law:?}")
        };
        let error = C(found.resistance_ohm, found.reactance_ohm) - expected;
        assert!(error.magnitude() / expected.magnitude() < SAME_SHARE, "{element}");
    }
}
