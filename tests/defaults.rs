//! The numbers of docs/defaults.md are those of the program.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::collections::HashMap;

use slotwise::circuit::file;
use slotwise::circuit::table::{AwgSize, Metal, Mm2Size};
use slotwise::circuit::{Cable, Description, DeviceKind, LoadKind, LumpedKind};

/// The page rounds to four digits or more.
const PRINTED_DIGITS: f64 = 1e-4;

/// The rows of all tables: first cell, and the others.
fn rows() -> HashMap<String, Vec<String>> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/defaults.md");
    let page = std::fs::read_to_string(path).unwrap();
    let cells = |line: &str| -> Vec<String> {
        line.trim_matches('|').split('|').map(|cell| cell.trim().replace('`', "")).collect()
    };
    page.lines()
        .filter(|line| line.starts_with('|'))
        .map(cells)
        .map(|mut cells| (cells.remove(0), cells))
        .collect()
}

/// The number that begins the first cell after a row's name.
#[track_caller]
fn stated(row: &str) -> f64 {
    number(&rows().get(row).unwrap_or_else(|| panic!("no row {row}"))[0])
}

#[track_caller]
fn number(cell: &str) -> f64 {
    let word = cell.split_whitespace().next().unwrap();
    word.parse().unwrap_or_else(|_| panic!("no number: {cell}"))
}

#[track_caller]
fn same(row: &str, found: f64) {
    let stated = stated(row);
    let error = (found - stated).abs() / stated.abs().max(f64::MIN_POSITIVE);
    assert!(error <= PRINTED_DIGITS, "{row}: the page says {stated}, the program {found}");
}

#[track_caller]
fn parts(text: &str) -> Description {
    file::read(text).map(|file| file.circuit.parts().clone()).expect("a sound file")
}

fn link(parts: &Description, id: &str) -> f64 {
    parts.links.iter().find(|link| link.id == id).expect(id).resistance_ohm
}

fn contact(cable: &Cable, end: usize, conductor: &str) -> f64 {
    cable.ends[end].iter().find(|landing| landing.conductor == conductor).unwrap().contact_ohm
}

/// A bit of everything that has joints.
const JOINTS: &str = r#"(
    format: 1,
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "a", from: "c1", metres: 1),
        (id: "b", from: "a", metres: 1, feed_through: ["hot"]),
        (id: "c", from: "b", metres: 1, terminals: PushIn, feed_through: ["hot"]),
        (id: "d", from: "c", metres: 1, device: Duplex(hot_tab: Broken, bottom: "switched")),
        (id: "e", from: "d", metres: 1, carries: ["hot", "switched", "ground"], device: Switch()),
        (id: "f", from: "a", metres: 1, device: GroundFault()),
        (id: "g", from: "a", metres: 1, device: Dimmer()),
        (id: "h", from: "g", metres: 1, carries: ["switched", "neutral", "ground"], devices: []),
    ],
    loads: [
        (id: "l", at: "a", kind: Resistive(watts: 100)),
        (id: "lamp", at: "h", wired: true, across: ("switched", "neutral"), kind: Filament(watts: 60)),
        (id: "tv", at: "a", kind: Electronics(watts: 60)),
        (id: "idle", at: "a", kind: Standby()),
        (id: "fan", at: "a", kind: Motor(watts: 100)),
    ],
)"#;

#[test]
fn sound_joints_and_gaps_are_as_the_page_says() {
    let parts = parts(JOINTS);
    let cable = |id: &str| parts.cables.iter().find(|cable| cable.id == id).unwrap();
    same("splice_ohms", contact(cable("c1-a"), 1, "hot"));
    same("screw_ohms", link(&parts, "a.screw.hot"));
    same("bar_ohms", contact(cable("c1-a"), 0, "neutral"));
    same("push_in_ohms", contact(cable("b-c"), 1, "hot"));
    same("strap_ohms", link(&parts, "b.strap.hot"));
    same("slot_ohms", link(&parts, "l.plug.hot"));
    same("breaker_ohms", parts.branch_circuits[0].breaker.resistance_ohm);
    same("bond_ohms", parts.supply.bonds[0].resistance_ohm);
    let wire_ohm_per_m = cable("c1-a").conductors[0].impedance_per_m.resistance_ohm;
    let pigtail = link(&parts, "a.pigtail.hot") - stated("splice_ohms");
    same("pigtail_metres", pigtail / wire_ohm_per_m);
    for device in &parts.devices {
        match &device.kind {
            DeviceKind::Duplex { hot_tab, .. } => {
                same("tab_ohms", hot_tab.resistance_ohm);
                same("tab_gap_picofarads", hot_tab.gap_farad * 1e12);
            }
            DeviceKind::Switch { closed_ohm, gap_farad, .. } if device.id == "e" => {
                same("switch_ohms", *closed_ohm);
                same("switch_gap_picofarads", gap_farad * 1e12);
            }
            DeviceKind::Switch { closed_ohm, .. } => same("series_ohms of Dimmer", *closed_ohm),
            DeviceKind::Protective { closed_ohm, sensing, .. } => {
                same("protective_ohms", *closed_ohm);
                same("milliamperes of GroundFault", sensing.residual_trip_ampere.unwrap() * 1e3);
                let loop_ohm = sensing.grounded_neutral_ohm.unwrap();
                same("grounded-neutral detection of GroundFault", loop_ohm);
            }
            _ => {}
        }
    }
    let LumpedKind::CapacitorFarad(snubber) = parts.lumped[0].kind else { panic!() };
    same("snubber_microfarads of Dimmer", snubber * 1e6);
}

#[test]
fn loads_are_as_the_page_says() {
    let parts = parts(JOINTS);
    for load in &parts.loads {
        match load.kind {
            LoadKind::Filament { cold_fraction, exponent, .. } => {
                // The page rounds 1/14.
                assert!((cold_fraction - stated("cold_fraction")).abs() < 1e-4);
                same("exponent", exponent);
            }
            LoadKind::ConstantPower { active_watt, cut_out_volt, .. } => {
                same("cut_out_volts", cut_out_volt / 120.0);
                if load.id == "idle" {
                    same("watts of Standby", active_watt);
                }
            }
            LoadKind::Motor { running, locked_rotor } => {
                let size =
                    |z: slotwise::quantity::Impedance| z.resistance_ohm.hypot(z.reactance_ohm);
                same("locked_rotor_ratio", size(running) / size(locked_rotor));
                same("power_factor of Motor", running.resistance_ohm / size(running));
                let locked = locked_rotor.resistance_ohm / size(locked_rotor);
                same("locked_rotor_power_factor", locked);
            }
            _ => {}
        }
    }
}

#[test]
fn supplies_are_as_the_page_says() {
    for system in ["SplitPhase", "HighLeg", "Wye208", "Wye400", "Single230", "Generator"] {
        let row = rows().get(system).unwrap().clone();
        let parts = parts(&format!("(format: 1, supply: (system: {system}))"));
        let winding = parts.supply.windings.last().unwrap();
        let volts = number(&row[0]);
        assert!((parts.supply.windings[0].emf_volt.magnitude() - volts).abs() < 1e-9);
        assert!((parts.frequency_hz - number(&row[1])).abs() < 1e-9);
        let phases = if system.starts_with("Wye") { 3.0 } else { 1.0 };
        let own_volts = if system == "HighLeg" { 2.0 * volts } else { volts };
        let base = phases * own_volts * own_volts / (number(&row[2]) * 1e3);
        let x_over_r = number(&row[4]);
        let resistance = number(&row[3]) / 100.0 / x_over_r.hypot(1.0) * base;
        let share = if system == "SplitPhase" { 1.5 } else { 1.0 };
        let found = winding.impedance.resistance_ohm;
        assert!((found / (share * resistance) - 1.0).abs() < PRINTED_DIGITS, "{system}: {found}");
        let electrode = |id: &str| {
            let all = &parts.supply.electrodes;
            all.iter()
                .find(|one| one.id == id)
                .map_or("none".into(), |e| e.resistance_ohm.to_string())
        };
        assert_eq!(electrode("transformer"), row[6], "{system}");
        assert_eq!(electrode("panel"), row[7], "{system}");
        let bonded = !parts.supply.bonds.is_empty();
        assert_eq!(bonded, row[5] == "TnCS", "{system}");
    }
}

#[test]
fn sizes_behind_breakers_are_as_the_page_says() {
    let mut awg = 0;
    let mut mm2 = 0;
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/defaults.md");
    let page = std::fs::read_to_string(path).unwrap();
    let mut unit = "";
    for line in page.lines() {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let [amperes, size] = cells[..] else {
            unit = "";
            continue;
        };
        if amperes == "amperes" {
            unit = size;
        }
        let Ok(amperes) = amperes.parse::<f64>() else { continue };
        let (words, expected) = match unit {
            "AWG" => {
                awg += 1;
                let size = AwgSize::named(size).unwrap();
                ("NorthAmerican", size.resistance_ohm_per_m(Metal::Copper, 20.0))
            }
            "mm2" => {
                mm2 += 1;
                let size = Mm2Size::of_area(size.parse().unwrap()).unwrap();
                ("Iec", size.resistance_ohm_per_m(Metal::Copper, 20.0))
            }
            _ => continue,
        };
        let parts = parts(&format!(
            "(format: 1, words: {words}, circuits: [(id: \"c1\", amperes: {amperes})], \
             boxes: [(id: \"a\", from: \"c1\", metres: 1)])"
        ));
        let found = parts.cables[0].conductors[0].impedance_per_m.resistance_ohm;
        assert!((found - expected.unwrap()).abs() < 1e-12, "{amperes} A {words}: {found}");
    }
    assert_eq!((awg, mm2), (12, 7));
}

#[test]
fn ampacities_are_as_the_page_says() {
    let mut count = 0;
    for (size, cells) in rows() {
        let [copper, aluminium] = &cells[..] else { continue };
        let of = |metal| match size.split_once(' ') {
            Some(("AWG", name)) => AwgSize::named(name).map(|size| size.ampacity_ampere(metal)),
            Some(("mm²", area)) => {
                Mm2Size::of_area(area.parse().ok()?).map(|size| size.ampacity_ampere(metal))
            }
            _ => None,
        };
        let (Some(found_copper), Some(found_aluminium)) = (of(Metal::Copper), of(Metal::Aluminium))
        else {
            continue;
        };
        count += 1;
        assert_eq!(copper.parse().ok(), found_copper, "{size}");
        assert_eq!(aluminium.parse().ok(), found_aluminium, "{size}");
    }
    assert_eq!(count, AwgSize::all().len() + Mm2Size::all().len());
}

#[test]
fn capacitance_and_reactance_are_as_the_page_says() {
    let pair = |cable: &Cable, first: &str, second: &str| {
        let between = (first.to_owned(), second.to_owned());
        let all = &cable.capacitance_farad_per_m;
        all.iter().find(|pair| pair.between == between).map_or(0.0, |pair| pair.value * 1e12)
    };
    let of = |cable: &str, carries: &str| {
        parts(&format!(
            "(format: 1, circuits: [(id: \"c1\", legs: [\"L1\", \"L2\"], carries: [{carries}], \
             cable: ({cable}))], boxes: [(id: \"a\", from: \"c1\", metres: 1, capped: [{carries}], \
             devices: [])])"
        ))
        .cables
        .remove(0)
    };
    let three = r#""hot", "neutral", "ground""#;
    let flat = of("", three);
    same("insulated and ground, Sheathed", pair(&flat, "hot", "ground"));
    same("two insulated, Sheathed, with a ground between", pair(&flat, "hot", "neutral"));
    let to_earth = ["hot", "neutral", "ground"].map(|name| pair(&flat, name, "earth"));
    same("a cable and earth, shared by its conductors", to_earth.iter().sum());
    let two = of("", r#""hot", "neutral""#);
    same("two insulated, Sheathed, without ground", pair(&two, "hot", "neutral"));
    let four = of("", r#""hot", "hot2", "neutral", "ground""#);
    same("any others in Sheathed, and wires in conduit", pair(&four, "hot", "hot2"));
    let steel = of("ground: Raceway", three);
    same("a wire and steel conduit", pair(&steel, "hot", "ground"));
    let open = of("construction: OpenWires", r#""hot", "neutral""#);
    same("two OpenWires", pair(&open, "hot", "neutral"));
    same("an open wire and earth", pair(&open, "hot", "earth"));

    let reactance = |cable: &Cable, at: usize| cable.conductors[at].impedance_per_m.reactance_ohm;
    let microhenry = |ohm_per_m: f64| ohm_per_m / (std::f64::consts::TAU * 60.0) * 1e6;
    same("inductance, Sheathed", microhenry(reactance(&flat, 0)));
    same("inductance, OpenWires", microhenry(reactance(&open, 0)));
    same("raceway", steel.conductors[2].impedance_per_m.resistance_ohm);
    same("raceway reactance", reactance(&steel, 2) * 1e3);
}
