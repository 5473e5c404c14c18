//! What a circuit file means: behaviours, defaults, and that everything of the product's scope
//! can be said.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use slotwise::circuit::diagnostic::render_all;
use slotwise::circuit::file::{self, CircuitFile};
use slotwise::circuit::{Description, JointKind, LoadKind, Side, Vocabulary};
use slotwise::condition::{
    AttachedLaw, Attachment, Condition, Fault, Gap, LoadState, SwitchPosition,
};
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

#[test]
fn a_switch_loop_lights_its_luminaire_only_when_the_switch_is_closed() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 15)],
            boxes: [
                (id: "ceiling", from: "c1", feet: 25, devices: []),
                (
                    id: "door", from: "ceiling", feet: 10,
                    carries: ["hot", "switched", "ground"],
                    device: Switch(closed: true),
                ),
            ],
            loads: [
                (
                    id: "lamp", at: "ceiling", wired: true, across: ("switched", "neutral"),
                    kind: Resistive(watts: 100),
                ),
            ],
        )"#,
    );
    let mut condition = Condition::default();
    let lit = amperes(&file, &condition, "load:lamp");
    assert!((0.8..0.84).contains(&lit), "{lit}");
    condition.switches.insert("door".into(), SwitchPosition::Open);
    assert!(amperes(&file, &condition, "load:lamp") < 1e-4);
}

#[test]
fn three_and_four_way_switches_work_from_every_box() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 15)],
            boxes: [
                (id: "bottom", from: "c1", feet: 20, device: ThreeWay(common: "hot")),
                (
                    id: "landing", from: "bottom", feet: 10,
                    carries: ["traveller1", "traveller2", "neutral", "ground"],
                    device: FourWay(),
                ),
                (id: "top", from: "landing", feet: 10, device: ThreeWay(common: "switched")),
                (id: "stair", from: "top", feet: 12, carries: ["switched", "neutral", "ground"], devices: []),
            ],
            loads: [
                (
                    id: "lamp", at: "stair", wired: true, across: ("switched", "neutral"),
                    kind: Resistive(watts: 12),
                ),
            ],
        )"#,
    );
    let mut condition = Condition::default();
    let lit = |condition: &Condition| amperes(&file, condition, "load:lamp") > 0.05;
    assert!(lit(&condition));
    for (switch, position, expected) in [
        ("bottom", SwitchPosition::Two, false),
        ("landing", SwitchPosition::Crossed, true),
        ("top", SwitchPosition::Two, false),
        ("bottom", SwitchPosition::One, true),
    ] {
        condition.switches.insert(switch.into(), position);
        assert_eq!(lit(&condition), expected, "after {switch}");
    }
}

#[test]
fn a_half_switched_duplex_is_fed_by_two_conductors() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 15)],
            boxes: [
                (id: "sofa", from: "c1", feet: 30, device: Duplex(top: "switched", hot_tab: Broken)),
                (id: "door", from: "sofa", feet: 15, carries: ["hot", "switched", "ground"], device: Switch()),
            ],
            loads: [
                (id: "lamp", at: "sofa.top", kind: Resistive(watts: 60)),
                (id: "radio", at: "sofa.bottom", kind: Resistive(watts: 20)),
            ],
        )"#,
    );
    let off = Condition::default();
    assert!(amperes(&file, &off, "load:lamp") < 1e-4);
    assert!(amperes(&file, &off, "load:radio") > 0.15);
    let mut on = Condition::default();
    on.switches.insert("door".into(), SwitchPosition::Closed);
    assert!(amperes(&file, &on, "load:lamp") > 0.45);
}

#[test]
fn a_multiwire_circuit_carries_only_the_difference_in_its_neutral() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "mw", amperes: 20, legs: ["L1", "L2"])],
            boxes: [
                (id: "bench", from: "mw", feet: 40),
                (id: "oven", from: "bench", feet: 12, carries: ["hot2", "neutral", "ground"]),
                (id: "range", from: "bench", feet: 20, device: Receptacle(configuration: "NEMA 14-50")),
            ],
            loads: [
                (id: "grill", at: "bench", kind: Resistive(watts: 1200)),
                (id: "toaster", at: "oven", kind: Resistive(watts: 1000)),
                (id: "hob", at: "range", across: ("hot", "hot2"), kind: Resistive(watts: 3000)),
                (id: "clock", at: "range", shares_plug: "hob", kind: Resistive(watts: 2)),
            ],
        )"#,
    );
    let none = Condition::default();
    let neutral = amperes(&file, &none, "contact:mw-bench.a.neutral");
    assert!((1.3..1.9).contains(&neutral), "{neutral}");
    let toaster = amperes(&file, &none, "load:toaster");
    assert!((7.9..8.4).contains(&toaster), "{toaster}");
    // Rated for the 240 V that it gets.
    let hob = amperes(&file, &none, "load:hob");
    assert!((12.0..12.6).contains(&hob), "{hob}");
    let tied = &file.circuit.branch_circuit("mw.pole2").unwrap().tied_with;
    assert_eq!(tied, &["mw"]);
}

#[test]
fn a_ground_fault_receptacle_feeds_the_boxes_behind_it() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20, arc_fault: true)],
            boxes: [
                (id: "sink", from: "c1", feet: 30, device: GroundFault(feeds: true)),
                (id: "counter", from: "sink", feet: 8),
                (
                    id: "hall", from: "c1", feet: 12,
                    devices: [GroundFault(face: false, feeds: false), Receptacle(id: "plain"),
                              Receptacle(id: "safe", behind: "hall")],
                ),
            ],
            loads: [
                (id: "kettle", at: "counter", kind: Resistive(watts: 1000)),
                (id: "fan", at: "hall.safe", kind: Motor(watts: 90)),
            ],
        )"#,
    );
    let mut condition = Condition::default();
    assert!(amperes(&file, &condition, "load:kettle") > 7.5);
    assert!(volts(&file, &condition, "sink.hot") > 115.0);
    // What the device does not break is the box's own, behind it too.
    let [safe, plain] =
        ["safe", "plain"].map(|of| volts(&file, &condition, &format!("hall.{of}.ground")));
    assert!(plain < 1.0 && (safe - plain).abs() < 1e-6, "{safe} V, {plain} V");
    let case = Attachment {
        id: "case".into(),
        between: ("hall.safe.hot".into(), "hall.safe.ground".into()),
        law: AttachedLaw::ResistanceOhm(120.0),
    };
    let with_case = Condition { attached: vec![case], ..Condition::default() };
    assert!(amperes(&file, &with_case, "case") > 0.9);
    condition.breakers.insert("sink.gf".into(), false);
    condition.breakers.insert("hall".into(), false);
    assert!(amperes(&file, &condition, "load:kettle") < 1e-4);
    assert!(amperes(&file, &condition, "load:fan") < 1e-4);
    assert!(volts(&file, &condition, "hall.plain.hot") > 115.0);
    assert!(volts(&file, &condition, "sink.hot") < 60.0);
}

#[test]
fn a_ring_shares_its_current_between_both_ways_round() {
    let file = read(
        r#"(
            format: 1,
            supply: (system: Single230, earthing: TnS),
            circuits: [(id: "r1", amperes: 32, ring: (last: "shelf", metres: 9))],
            boxes: [
                (id: "porch", from: "r1", metres: 9),
                (id: "organ", from: "porch", metres: 9),
                (id: "shelf", from: "organ", metres: 9),
            ],
            loads: [(id: "heater", at: "organ", kind: Resistive(watts: 3000))],
        )"#,
    );
    let none = Condition::default();
    let one_way = amperes(&file, &none, "contact:r1-porch.a.hot");
    let other_way = amperes(&file, &none, "contact:shelf-r1.b.hot");
    assert!((one_way / other_way - 1.0).abs() < 0.01, "{one_way} {other_way}");
    assert!((11.0..13.5).contains(&(one_way + other_way)));
    assert_eq!(joint(file.circuit.parts(), "r1.return.hot").element, "contact:shelf-r1.b.hot");
    assert_eq!(joint(file.circuit.parts(), "shelf.load.hot").element, "contact:shelf-r1.a.hot");
    assert_eq!(file.circuit.parts().vocabulary, Vocabulary::Iec);
}

#[test]
fn a_subpanel_has_bars_of_its_own() {
    let file = read(
        r#"(
            format: 1,
            circuits: [
                (id: "feed", amperes: 60, legs: ["L1", "L2"]),
                (id: "boat", amperes: 20, panel: "shed", leg: "L2"),
            ],
            subpanels: [(id: "shed", from: "feed", feet: 80, cable: (awg: 6), electrode_ohms: 40)],
            boxes: [(id: "winch", from: "boat", feet: 20)],
            loads: [(id: "winch_motor", at: "winch", kind: Motor(watts: 900))],
        )"#,
    );
    let none = Condition::default();
    let neutral = volts(&file, &none, "shed.neutral");
    let ground = volts(&file, &none, "shed.ground");
    assert!(neutral > 0.2 && ground < 0.1, "{neutral} {ground}");
    assert_eq!(file.circuit.place("shed").unwrap().fed_from.as_deref(), Some("panel"));
    assert_eq!(joint(file.circuit.parts(), "shed.line.neutral").conductor, "neutral");
}

#[test]
fn feed_through_and_push_in_are_said_conductor_by_conductor() {
    let file = read(
        r#"(
            format: 1,
            defaults: (terminals: PushIn),
            circuits: [(id: "c1")],
            boxes: [
                (id: "a1", from: "c1", feet: 10, feed_through: ["hot", "neutral"]),
                (id: "a2", from: "a1", feet: 10),
            ],
        )"#,
    );
    let parts = file.circuit.parts();
    assert_eq!(joint(parts, "a1.line.hot").kind, JointKind::PushIn);
    assert_eq!(joint(parts, "a1.strap.neutral").kind, JointKind::Strap);
    assert_eq!(joint(parts, "a1.load.neutral").element, "contact:a1-a2.a.neutral");
    assert_eq!(joint(parts, "a1.load-a2.neutral").element, "contact:a1-a2.a.neutral");
    assert_eq!(joint(parts, "a1.pigtail.ground").kind, JointKind::Pigtail);
}

#[test]
fn every_supply_has_the_voltages_its_name_says() {
    for (system, pairs) in [
        ("SplitPhase", vec![("L1", "neutral", 120.0), ("L1", "L2", 240.0)]),
        ("Wye208", vec![("L1", "neutral", 120.0), ("L2", "L3", 207.85)]),
        ("Wye400", vec![("L3", "neutral", 230.0), ("L1", "L2", 398.37)]),
        ("Single230", vec![("L1", "neutral", 230.0)]),
        ("HighLeg", vec![("L3", "neutral", 207.85), ("L1", "L3", 240.0), ("L2", "L3", 240.0)]),
    ] {
        let file = read(&format!("(format: 1, supply: (system: {system}))"));
        let netlist = wire(&file.circuit, &Condition::default()).unwrap();
        let solution = solve(&netlist).unwrap();
        let node = |bar: &str| netlist.find_node(&format!("panel.{bar}").into()).unwrap();
        for (first, second, expected) in pairs {
            let found = solution.difference(node(first), node(second)).unwrap().magnitude();
            assert!((found - expected).abs() < NO_LOAD_VOLTS, "{system} {first}-{second}: {found}");
        }
    }
}

/// Nothing is switched on: only capacitance draws current.
const NO_LOAD_VOLTS: f64 = 0.01;

#[test]
fn the_halves_of_a_centre_tapped_transformer_are_coupled() {
    let file = read("(format: 1)");
    let supply = &file.circuit.parts().supply;
    let half = supply.windings[0].impedance;
    let mutual = supply.couplings[0].mutual;
    // 25 kVA, 1.8 %, X/R 1.1: 10.5 + j9.2 mohm and 3.5 + j6.1 mohm.
    let thousandths = [
        (half.resistance_ohm, 10.5),
        (half.reactance_ohm, 9.2),
        (-mutual.resistance_ohm, 3.5),
        (-mutual.reactance_ohm, 6.1),
    ];
    for (found, expected) in thousandths {
        assert!((found * 1e3 - expected).abs() < 0.06, "{found} {expected}");
    }
    let uncoupled = read("(format: 1, supply: (winding_ohms: 0.02, winding_reactance_ohms: 0.01))");
    assert!(uncoupled.circuit.parts().supply.couplings.is_empty());
}

#[test]
fn earthing_decides_what_joins_neutral_and_ground() {
    let parts = |earthing: &str| {
        read(&format!("(format: 1, supply: (system: Single230, earthing: {earthing}))"))
            .circuit
            .parts()
            .clone()
    };
    let names = |parts: &Description| {
        let supply = &parts.supply;
        let bonds: Vec<_> = supply.bonds.iter().map(|bond| bond.id.clone()).collect();
        let electrodes: Vec<_> = supply.electrodes.iter().map(|e| e.id.clone()).collect();
        let conductors: Vec<_> = supply.conductors.iter().map(|c| c.id.clone()).collect();
        format!("{bonds:?} {electrodes:?} {conductors:?}")
    };
    assert_eq!(names(&parts("TnCS")), r#"["main"] ["transformer"] ["L1", "neutral"]"#);
    assert_eq!(names(&parts("TnS")), r#"[] ["transformer"] ["L1", "neutral", "ground"]"#);
    assert_eq!(names(&parts("Tt")), r#"[] ["transformer", "panel"] ["L1", "neutral"]"#);
    assert_eq!(names(&parts("Isolated")), r#"[] [] ["L1", "neutral"]"#);
}

#[test]
fn an_unbonded_generator_and_windings_by_hand_can_be_said() {
    let file = read(
        r#"(
            format: 1,
            supply: (system: Generator, volts: 120, transformer: (kva: 3)),
            circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "tent", from: "c1", metres: 15, cable: (awg: 12))],
            loads: [(id: "urn", at: "tent", kind: Resistive(watts: 1000))],
        )"#,
    );
    assert!(amperes(&file, &Condition::default(), "load:urn") > 7.0);
    let file = read(
        r#"(
            format: 1,
            supply: (
                system: Windings,
                hertz: 50,
                windings: [
                    (id: "L1", volts: 127),
                    (id: "L2", volts: 127, degrees: -120, ohms: 0.02, reactance_ohms: 0.03),
                ],
                service: (ohms: 0.02, reactance_ohms: 0.01, neutral_ohms: 0.03),
            ),
            circuits: [(id: "c1", legs: ["L1", "L2"], carries: ["hot", "hot2", "ground"])],
            boxes: [(id: "saw", from: "c1", metres: 12, device: Receptacle(configuration: "NEMA 6-20"))],
            loads: [(id: "saw_motor", at: "saw", kind: Motor(watts: 1500))],
        )"#,
    );
    let parts = file.circuit.parts();
    assert!((parts.frequency_hz - 50.0).abs() < 1e-12);
    assert!(amperes(&file, &Condition::default(), "load:saw_motor") > 5.0);
}

#[test]
fn ungrounded_runs_and_metal_raceway_can_be_said() {
    let file = read(
        r#"(
            format: 1,
            circuits: [
                (id: "old", amperes: 15, carries: ["hot", "neutral"], cable: (construction: OpenWires)),
                (id: "shop", amperes: 20, cable: (ground: Raceway, construction: SteelConduit)),
            ],
            boxes: [
                (id: "parlour", from: "old", feet: 30, device: Receptacle(configuration: "NEMA 1-15")),
                (id: "press", from: "shop", feet: 30),
            ],
        )"#,
    );
    assert_eq!(file.remarks, []);
    let parts = file.circuit.parts();
    let ground = parts.cables[1].conductors.iter().find(|c| c.name == "ground").unwrap();
    assert!(ground.impedance_per_m.reactance_ohm > 0.5e-3);
    assert_eq!(parts.cables[0].conductors.len(), 2);
}

#[test]
fn cables_land_by_hand_where_the_short_form_cannot_say_it() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1"), (id: "c2", leg: "L2")],
            boxes: [
                (id: "desk", from: "c1", feet: 20),
                (id: "lamp_post", from: "c2", feet: 20),
            ],
            cables: [
                (
                    id: "bell", metres: 8, cable: (ohms_per_metre: 0.02, reactance_ohms_per_metre: 0),
                    carries: ["red", "spare"],
                    near: [(conductor: "red", to: "desk.splice.hot", ohms: 0.002)],
                    far: [(conductor: "red", to: "chime")],
                    capped_near: ["spare"], capped_far: ["spare"],
                ),
            ],
            links: [(id: "chime_link", between: ("chime", "chime_coil"), ohms: 0.01)],
            lumped: [
                (id: "coil", between: ("chime_coil", "desk.splice.neutral"),
                 kind: Impedance(ohms: 200, reactance_ohms: 80)),
                (id: "damp", between: ("lamp_post.hot", "earth"), kind: Capacitor(nanofarads: 5)),
                (id: "battery_tester", between: ("probe", "earth"), kind: Source(volts: 9, ohms: 5)),
                (id: "probe_lead", between: ("probe", "lamp_post.neutral"),
                 kind: Load(Resistive(watts: 1, volts: 12))),
            ],
            bonds: [(id: "pipe", between: ("panel.ground", "water_pipe"))],
            electrodes: [(id: "water", at: "water_pipe", ohms: 2)],
            joints: [(at: "desk.line.hot", ohms: 0.05)],
        )"#,
    );
    let none = Condition::default();
    let current = amperes(&file, &none, "coil");
    assert!((0.53..0.57).contains(&current), "{current}");
    let parts = file.circuit.parts();
    let desk = parts.cables.iter().find(|cable| cable.id == "c1-desk").unwrap();
    let landing = desk.ends[1].iter().find(|landing| landing.conductor == "hot").unwrap();
    assert!((landing.contact_ohm - 0.05).abs() < 1e-12);
    assert_eq!(joint(parts, "desk.load-bell.red").element, "contact:bell.a.red");
}

#[test]
fn every_kind_of_load_can_be_said_and_its_state() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1")],
            boxes: [(id: "bench", from: "c1", feet: 20, devices: [Receptacle(), Receptacle(id: "b")]),
                    (id: "wall", from: "bench", feet: 4)],
            loads: [
                (id: "heater", at: "bench", kind: Resistive(watts: 1500, volts: 120)),
                (id: "lamp", at: "bench.b", on: false, kind: Filament(watts: 60, cold_fraction: 0.07, exponent: 0.45)),
                (id: "drill", at: "bench", plugged: false, kind: Motor(watts: 500, power_factor: 0.7)),
                (id: "tv", at: "wall", kind: Electronics(power_factor: 0.95, cut_out_volts: 70),
                 watts_between: (60, 120), metal_case: true, filter_nanofarads: 2.2),
                (id: "led", at: "wall", kind: Led(watts: 9)),
                (id: "clock", at: "wall", kind: Standby()),
                (id: "odd", at: "wall", kind: Impedance(ohms: 500, reactance_ohms: -20)),
                (id: "run_cap", at: "wall", kind: Capacitor(microfarads: 2)),
                (id: "boiler", at: "wall", wired: true, kind: Resistive(watts: 800), case_leak_megaohms: 0.5),
            ],
        )"#,
    );
    let parts = file.circuit.parts();
    let kind = |id: &str| parts.loads.iter().find(|load| load.id == id).unwrap().kind;
    assert_eq!(
        kind("lamp"),
        LoadKind::Filament {
            rated_watt: 60.0,
            rated_volt: 120.0,
            cold_fraction: 0.07,
            exponent: 0.45
        }
    );
    assert!(matches!(kind("led"), LoadKind::ConstantPower { cut_out_volt: 84.0, .. }));
    let LoadKind::ConstantPower { active_watt, reactive_var, .. } = kind("tv") else { panic!() };
    assert!((active_watt - 90.0).abs() < 1e-9);
    assert!((active_watt / active_watt.hypot(reactive_var) - 0.95).abs() < 1e-9);
    assert!((parts.ranges[0].low - 60.0).abs() < 1e-12);
    // What follows is of the linear ones.
    let mut condition = Condition::default();
    for load in ["lamp", "tv", "led", "clock"] {
        condition.loads.insert(load.into(), LoadState::Unplugged);
    }
    assert!(amperes(&file, &condition, "load:heater") > 11.0);
    assert!(amperes(&file, &condition, "link:drill.plug.hot") < 1e-9);
    // 0.5 Mohm from 120 V.
    let leak = amperes(&file, &condition, "boiler.leak");
    assert!((leak - 240e-6).abs() < 10e-6, "{leak}");
    condition.loads.insert("drill".into(), LoadState::Stalled);
    assert!(amperes(&file, &condition, "load:drill") > 20.0);
}

#[test]
fn leakage_and_capacitance_can_be_turned_off() {
    let file = read(
        r#"(
            format: 1,
            defaults: (
                cable: (capacitance: Off, insulation: Off, celsius: 75),
                contacts: (switch_gap_picofarads: 0, tab_gap_picofarads: 0, splice_ohms: 0),
            ),
            circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "desk", from: "c1", metres: 10), (id: "attic", from: "desk", metres: 1,
                cable: (capacitance: Stated([(between: ("hot", "ground"), picofarads_per_metre: 80)])))],
        )"#,
    );
    let parts = file.circuit.parts();
    assert!(parts.cables[0].capacitance_farad_per_m.is_empty());
    assert!(parts.cables[0].insulation_ohm_m.is_empty());
    assert_eq!(parts.cables[1].capacitance_farad_per_m.len(), 1);
    // 1.93 ohm per 1000 ft at 75 degrees.
    let ohm = parts.cables[0].conductors[0].impedance_per_m.resistance_ohm;
    assert!((ohm - 1.93 / 304.8).abs() < 1e-12, "{ohm}");
}

#[test]
fn lengths_powers_and_the_supply_may_be_ranges() {
    let file = read(
        r#"(
            format: 1,
            supply: (volts_between: (114, 126)),
            circuits: [(id: "c1")],
            boxes: [(id: "desk", from: "c1", feet_between: (10, 30))],
        )"#,
    );
    let parts = file.circuit.parts();
    assert!((parts.cables[0].length_m - 6.096).abs() < 1e-9);
    assert!((parts.supply.windings[0].emf_volt.re - 120.0).abs() < 1e-9);
    let ranges: Vec<_> = parts.ranges.iter().map(|range| (range.low, range.high)).collect();
    assert!((ranges[0].0 - 0.95).abs() < 1e-9 && (ranges[0].1 - 1.05).abs() < 1e-9);
    assert!((ranges[1].0 - 3.048).abs() < 1e-9 && (ranges[1].1 - 9.144).abs() < 1e-9);
}

#[test]
fn dimmers_and_two_pole_isolators_can_be_said() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1"), (id: "c2", amperes: 30, legs: ["L1", "L2"])],
            boxes: [
                (id: "wall", from: "c1", feet: 20, device: Dimmer(closed: true, series_ohms: 60)),
                (id: "ceiling", from: "wall", feet: 8, carries: ["switched", "neutral", "ground"], devices: []),
                (id: "isolator", from: "c2", feet: 30,
                 device: Switch(second: ("hot2", "switched2"), closed: true)),
                (id: "tank", from: "isolator", feet: 3, carries: ["switched", "switched2", "ground"], devices: []),
            ],
            loads: [
                (id: "lamp", at: "ceiling", wired: true, across: ("switched", "neutral"), kind: Resistive(watts: 100)),
                (id: "heater", at: "tank", wired: true, across: ("switched", "switched2"),
                 kind: Resistive(watts: 4500)),
            ],
        )"#,
    );
    let none = Condition::default();
    let dimmed = amperes(&file, &none, "load:lamp");
    assert!((0.55..0.78).contains(&dimmed), "{dimmed}");
    // 4500 W at the 240 V that it lies across.
    let heater = amperes(&file, &none, "load:heater");
    assert!((18.0..18.8).contains(&heater), "{heater}");
    let mut off = Condition::default();
    off.switches.insert("wall".into(), SwitchPosition::Open);
    // 0.068 uF: 39 kohm.
    let ghost = amperes(&file, &off, "load:lamp");
    assert!((2.5e-3..3.5e-3).contains(&ghost), "{ghost}");
}

#[cfg(feature = "schema")]
#[test]
fn the_committed_schema_is_the_forms() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/circuit-file.schema.json");
    let current = file::json_schema() + "\n";
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::write(path, &current).unwrap();
    }
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        committed == current,
        "the form has changed: run UPDATE_SCHEMA=1 cargo test --all-features --test circuit_file"
    );
}

fn document(path: &str) -> String {
    std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

#[test]
fn every_example_of_the_page_is_a_sound_file() {
    let page = document("docs/circuit-file.md");
    let blocks: Vec<&str> = page
        .split("```ron\n")
        .skip(1)
        .map(|rest| rest.split("```").next().expect("an end of the block"))
        .collect();
    assert!(blocks.len() >= 10, "{}", blocks.len());
    for block in blocks {
        let file = read(block);
        assert!(file.remarks.is_empty(), "{}", render_all(&file.remarks, "page", block));
    }
}

#[test]
fn the_page_speaks_of_every_field_and_every_word_of_the_form() {
    let page = document("docs/circuit-file.md");
    let words: std::collections::HashSet<&str> =
        page.split(|c: char| !c.is_alphanumeric() && c != '_').collect();
    let schema: serde_json::Value =
        serde_json::from_str(&document("docs/circuit-file.schema.json")).unwrap();
    let mut names = Vec::new();
    collect_names(&schema, &mut names);
    assert!(names.len() > 100, "{}", names.len());
    names.retain(|name| !words.contains(name.as_str()));
    assert!(names.is_empty(), "not in docs/circuit-file.md: {names:?}");
}

/// Names of properties and fixed words in a JSON Schema.
fn collect_names(value: &serde_json::Value, names: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(fields) => {
            for (key, value) in fields {
                if let (true, Some(properties)) = (key == "properties", value.as_object()) {
                    names.extend(properties.keys().cloned());
                }
                if let (true, Some(word)) = (key == "const", value.as_str()) {
                    names.push(word.to_owned());
                }
                collect_names(value, names);
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| collect_names(item, names)),
        _ => {}
    }
}

#[test]
fn loads_that_follow_no_straight_line_are_solved_from_a_file() {
    let file = read(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "bench", from: "c1", feet: 20), (id: "wall", from: "bench", feet: 8)],
            loads: [
                (id: "lamp", at: "bench", kind: Filament(watts: 60)),
                (id: "tv", at: "bench", kind: Electronics(watts: 90)),
                (id: "led", at: "wall", kind: Led(watts: 9)),
                (id: "clock", at: "wall", kind: Standby()),
            ],
        )"#,
    );
    let none = Condition::default();
    for (load, watts) in [("lamp", 60.0), ("tv", 90.0), ("led", 9.0), ("clock", 0.5)] {
        let current = amperes(&file, &none, &format!("load:{load}"));
        // 120 V less a little, so a little more or less than rated current.
        assert!((current * 120.0 / watts - 1.0).abs() < 0.02, "{load}: {current}");
    }
}

#[test]
fn a_ground_cut_off_from_the_panel_floats_at_half_the_voltage() {
    let file = read(FIVE);
    let mut condition = Condition::default();
    condition.loads.insert("heater".into(), LoadState::Unplugged);
    condition.faults.push(Fault::Open {
        element: joint(file.circuit.parts(), "door.line.ground").element.clone(),
        gap: Gap::NONE,
    });
    let floating = volts(&file, &condition, "kiln.ground");
    // Equal capacitance to hot and to neutral, and a little to earth.
    assert!((54.0..60.0).contains(&floating), "{floating}");
}

#[test]
fn lines_may_end_with_a_carriage_return_alone() {
    let sample = format!("// A studio.\n{FIVE}\n// The end.\n");
    let old = read(&sample.replace('\n', "\r"));
    assert_eq!(old.circuit.parts(), read(&sample).circuit.parts());

    let broken = sample.replace("amperes: 20", "ampers: 20");
    let places = |text: &str| {
        let said = file::read(text).unwrap_err();
        (said.places().collect::<Vec<_>>(), said.to_string(), render_all(&said, "f", text))
    };
    let (at, said, shown) = places(&broken);
    assert_eq!(at[0], (5, 27), "{said}");
    assert_eq!(places(&broken.replace('\n', "\r")), (at.clone(), said.clone(), shown.clone()));
    let (crlf_at, crlf_said, _) = places(&broken.replace('\n', "\r\n"));
    assert_eq!((crlf_at, crlf_said), (at, said));
}

#[test]
fn a_quote_not_closed_is_found_on_its_line_whatever_ends_lines() {
    let broken = FIVE.replace("name: \"Pottery studio\"", "name: \"Pottery studio");
    let said = |text: &str| {
        let said = file::read(text).unwrap_err();
        said.places().zip(said.iter().map(|one| one.code.to_string())).collect::<Vec<_>>()
    };
    let usual = said(&broken);
    assert_eq!(usual[0].0.0, 3);
    assert_eq!(said(&broken.replace('\n', "\r")), usual);
    assert_eq!(said(&broken.replace('\n', "\r\n")), usual);
}
