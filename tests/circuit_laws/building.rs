//! Buildings to put faults into, every part explicit.

use slotwise::circuit::{
    Bond, BranchCircuit, Breaker, Cable, CableEnd, CablePair, Conductor, Coupling, Description,
    Device, DeviceKind, Electrode, Landing, Link, Load, LoadKind, Outlet, Place, PlaceKind,
    Sensing, ServiceConductor, Supply, Tab, TripCurve, Winding,
};
use slotwise::quantity::{Address, Impedance, Phasor};

/// Conductors of a branch cable.
pub const CONDUCTORS: [&str; 3] = ["hot", "neutral", "ground"];

/// A run of boxes on circuit `c1`: box `box1` nearest the panel.
#[derive(Clone, Debug)]
pub struct Run {
    /// Length of the cable to each box, metres.
    pub lengths_m: Vec<f64>,
    /// Power of what is plugged in at each box, watts; zero for nothing.
    pub loads_watt: Vec<f64>,
    /// Whether cables have capacitance and leakage.
    pub coupled: bool,
}

/// Panel, transformer and the run.
pub fn run(run: &Run) -> Description {
    let mut description = panel();
    let mut from = None;
    for (at, (&length_m, &watt)) in run.lengths_m.iter().zip(&run.loads_watt).enumerate() {
        let name = format!("box{}", at + 1);
        let mut cable = cable(&format!("k{}", at + 1), length_m, run.coupled);
        land(&mut cable, CableEnd::A, |conductor| match &from {
            None => format!("c1.{conductor}"),
            Some(previous) => format!("{previous}.splice.{conductor}"),
        });
        land(&mut cable, CableEnd::B, |conductor| format!("{name}.splice.{conductor}"));
        description.cables.push(cable);
        receptacle(&mut description, &name);
        if watt > 0.0 {
            description.loads.push(plugged(&name, &name, watt));
        }
        from = Some(name);
    }
    description
}

/// A run with one of everything at its end: a split duplex, switches of every kind, a
/// ground-fault device with a receptacle past it, a motor, a lamp, electronics, a second
/// circuit tied to the first.
pub fn workshop() -> Description {
    let mut description = run(&Run {
        lengths_m: vec![7.0, 4.5, 11.0],
        loads_watt: vec![60.0, 0.0, 900.0],
        coupled: true,
    });
    description.branch_circuits[0].tied_with = vec!["c2".into()];
    description.branch_circuits.push(branch_circuit("c2", "panel.L2"));
    let mut spare = cable("spare", 6.0, true);
    land(&mut spare, CableEnd::A, |conductor| format!("c2.{conductor}"));
    land(&mut spare, CableEnd::B, |conductor| format!("bench.splice.{conductor}"));
    spare.ends[1].retain(|landing| landing.conductor != "ground");
    description.cables.push(spare);
    duplex(&mut description);
    switches(&mut description);
    protective(&mut description);
    let motor = LoadKind::Motor {
        running: Impedance::new(18.0, 13.5),
        locked_rotor: Impedance::new(2.4, 2.0),
    };
    let kinds = [
        ("drill", "box1", motor),
        (
            "lamp",
            "box2",
            LoadKind::Filament {
                rated_watt: 60.0,
                rated_volt: 120.0,
                cold_fraction: 0.072,
                exponent: 0.54,
            },
        ),
        (
            "radio",
            "box3",
            LoadKind::ConstantPower { active_watt: 40.0, reactive_var: 10.0, cut_out_volt: 80.0 },
        ),
    ];
    for (id, at, kind) in kinds {
        description.loads.push(Load { kind, ..plugged(id, at, 1.0) });
    }
    description
}

/// The element of every joint and link of a description that a person can open.
pub fn openable(element: &str) -> bool {
    ["contact:", "link:", "breaker:", "landing:", "bond:", "service:", "electrode:", "tab:"]
        .iter()
        .any(|word| element.starts_with(word))
}

pub fn cable(id: &str, length_m: f64, coupled: bool) -> Cable {
    let conductor = |name: &&str| Conductor {
        name: (*name).to_owned(),
        impedance_per_m: Impedance::new(0.00828, 0.0002),
        ampacity_ampere: None,
    };
    let pair = |(p, q, value): &(&str, &str, f64)| CablePair {
        between: ((*p).to_owned(), (*q).to_owned()),
        value: *value,
    };
    let capacitance = [
        ("hot", "neutral", 16e-12),
        ("hot", "ground", 70e-12),
        ("neutral", "ground", 70e-12),
        ("hot", "earth", 9e-12),
        ("neutral", "earth", 9e-12),
        ("ground", "earth", 12e-12),
    ];
    let insulation = [("hot", "ground", 40e9), ("neutral", "ground", 35e9)];
    Cable {
        id: id.into(),
        length_m,
        conductors: CONDUCTORS.iter().map(conductor).collect(),
        capacitance_farad_per_m: capacitance.iter().filter(|_| coupled).map(pair).collect(),
        insulation_ohm_m: insulation.iter().filter(|_| coupled).map(pair).collect(),
        ends: [Vec::new(), Vec::new()],
    }
}

/// Lands every conductor at one end of a cable.
pub fn land(cable: &mut Cable, end: CableEnd, to: impl Fn(&str) -> String) {
    let landings = cable
        .conductors
        .iter()
        .zip(1..)
        .map(|(conductor, number)| Landing {
            conductor: conductor.name.clone(),
            to: to(&conductor.name).into(),
            contact_ohm: 0.0004 + 0.0001 * f64::from(number),
        })
        .collect();
    cable.ends[usize::from(end == CableEnd::B)] = landings;
}

fn panel() -> Description {
    let winding = |id: &str, volt: f64| Winding {
        id: id.into(),
        line: format!("xf.{id}").into(),
        neutral: "xf.neutral".into(),
        emf_volt: Phasor::new(volt, 0.0),
        impedance: Impedance::new(0.0105, 0.0092),
    };
    let service = |id: &str| ServiceConductor {
        id: id.into(),
        from: format!("xf.{id}").into(),
        to: format!("panel.{id}").into(),
        impedance: Impedance::new(0.0098, 0.004),
    };
    let electrode = |id: &str, node: &str, ohm: f64| Electrode {
        id: id.into(),
        node: node.into(),
        resistance_ohm: ohm,
    };
    Description {
        frequency_hz: 60.0,
        supply: Supply {
            windings: vec![winding("L1", 120.0), winding("L2", -120.0)],
            couplings: vec![Coupling {
                first: "L1".into(),
                second: "L2".into(),
                mutual: Impedance::new(-0.0035, -0.0061),
            }],
            conductors: ["L1", "L2", "neutral"].iter().map(|id| service(id)).collect(),
            electrodes: vec![
                electrode("transformer", "xf.neutral", 5.0),
                electrode("panel", "panel.ground", 25.0),
            ],
            bonds: vec![Bond {
                id: "main".into(),
                between: ("panel.neutral".into(), "panel.ground".into()),
                resistance_ohm: 0.0003,
            }],
        },
        branch_circuits: vec![branch_circuit("c1", "panel.L1")],
        ..Description::default()
    }
}

fn branch_circuit(id: &str, bus: &str) -> BranchCircuit {
    BranchCircuit {
        id: id.into(),
        bus: bus.into(),
        breaker: Breaker {
            closed: true,
            resistance_ohm: 0.004,
            rating_ampere: Some(15.0),
            curve: TripCurve::InverseTime,
            residual_trip_ampere: None,
            residual_delayed: false,
            arc_fault: false,
        },
        neutral_landing: Some(("panel.neutral".into(), 0.0004)),
        ground_landing: Some(("panel.ground".into(), 0.0005)),
        tied_with: Vec::new(),
    }
}

fn receptacle(description: &mut Description, id: &str) {
    for conductor in CONDUCTORS {
        description.links.push(link(
            &format!("{id}.pigtail.{conductor}"),
            &format!("{id}.splice.{conductor}"),
            &format!("{id}.{conductor}"),
        ));
    }
    description.devices.push(Device {
        id: id.into(),
        kind: DeviceKind::Receptacle { configuration: "NEMA 5-15".into() },
    });
    description.places.push(place(id, &[(id, &CONDUCTORS)]));
}

fn place(id: &str, outlets: &[(&str, &[&str])]) -> Place {
    let outlet = |(address, conductors): &(&str, &[&str])| Outlet {
        address: Address::from(*address),
        configuration: "NEMA 5-15".into(),
        slots: conductors
            .iter()
            .map(|c| ((*c).to_owned(), Address::from(*address).join(c)))
            .collect(),
    };
    Place {
        id: id.into(),
        kind: PlaceKind::Box,
        fed_from: None,
        line_cables: Vec::new(),
        load_cables: Vec::new(),
        devices: vec![id.into()],
        outlets: outlets.iter().map(outlet).collect(),
    }
}

fn link(id: &str, a: &str, b: &str) -> Link {
    Link { id: id.into(), between: (a.into(), b.into()), resistance_ohm: 0.0006 }
}

fn plugged(id: &str, at: &str, watt: f64) -> Load {
    Load {
        id: id.into(),
        between: (format!("{at}.hot").into(), format!("{at}.neutral").into()),
        kind: LoadKind::Resistive { rated_watt: watt, rated_volt: 120.0 },
        on: true,
        plugged_in: true,
        plug_links: Vec::new(),
        frame: None,
    }
}

fn duplex(description: &mut Description) {
    let tab = |intact| Tab { intact, resistance_ohm: 0.0002, gap_farad: 1e-12 };
    description.devices.push(Device {
        id: "pair".into(),
        kind: DeviceKind::Duplex {
            configuration: "NEMA 5-15".into(),
            hot_tab: tab(false),
            neutral_tab: tab(true),
        },
    });
    description.links.extend([
        link("pair.top", "bench.splice.hot", "pair.top.hot"),
        link("pair.bottom", "box3.splice.hot", "pair.bottom.hot"),
        link("pair.neutral", "bench.splice.neutral", "pair.bottom.neutral"),
    ]);
    let slots: &[&str] = &["hot", "neutral"];
    description.places.push(place("pair", &[("pair.top", slots), ("pair.bottom", slots)]));
}

fn switches(description: &mut Description) {
    let (closed_ohm, gap_farad) = (0.006, 2e-12);
    let kinds = [
        ("hall", DeviceKind::Switch { poles: 1, closed: true, closed_ohm, gap_farad }),
        ("isolator", DeviceKind::Switch { poles: 2, closed: false, closed_ohm, gap_farad }),
        ("low", DeviceKind::ThreeWay { position: 1, closed_ohm, gap_farad }),
        ("middle", DeviceKind::FourWay { crossed: false, closed_ohm, gap_farad }),
    ];
    for (id, kind) in kinds {
        description.devices.push(Device { id: id.into(), kind });
    }
    description.links.extend([
        link("hall.feed", "box2.splice.hot", "hall.1"),
        link("hall.out", "hall.2", "low.com"),
        link("low.t1", "low.t1", "middle.a1"),
        link("low.t2", "low.t2", "middle.a2"),
        link("isolator.feed", "box1.splice.hot", "isolator.p1.1"),
        link("isolator.return", "box1.splice.neutral", "isolator.p2.1"),
    ]);
    description.loads.push(Load {
        between: ("middle.b1".into(), "box2.splice.neutral".into()),
        ..plugged("stair", "box2", 75.0)
    });
}

fn protective(description: &mut Description) {
    description.devices.push(Device {
        id: "gf".into(),
        kind: DeviceKind::Protective {
            poles: vec!["hot".into(), "neutral".into()],
            closed: true,
            closed_ohm: 0.003,
            gap_farad: 1e-12,
            sensing: Sensing {
                residual_trip_ampere: Some(0.005),
                delayed: false,
                grounded_neutral_ohm: Some(2.0),
                rating_ampere: None,
                arc_fault: false,
                needs_supply: true,
            },
        },
    });
    description.links.extend([
        link("gf.line.hot", "box3.splice.hot", "gf.line.hot"),
        link("gf.line.neutral", "box3.splice.neutral", "gf.line.neutral"),
        link("gf.slot.hot", "gf.load.hot", "gf.hot"),
        link("gf.slot.neutral", "gf.load.neutral", "gf.neutral"),
        link("yard.feed.hot", "gf.load.hot", "yard.splice.hot"),
        link("yard.feed.neutral", "gf.load.neutral", "yard.splice.neutral"),
        link("yard.feed.ground", "box3.splice.ground", "yard.splice.ground"),
    ]);
    description.places.push(place("gf", &[("gf", &["hot", "neutral"])]));
    receptacle(description, "yard");
}
