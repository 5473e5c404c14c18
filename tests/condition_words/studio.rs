//! A pottery studio, part by part: one circuit of pigtails and feed-throughs with a branch,
//! one behind a ground-fault device, one of switches.
//!
//! ```text
//! panel -- c1 -- door -- kiln --+-- sink
//!                               +-- wheel (feed-through) -- dup (duplex)
//!       -- c2 -- gf1 (ground-fault) -- desk
//!       -- c3 -- hall (switch) -- vent (wired in)
//!       -- c4, c5 (one handle)
//! ```

use slotwise::circuit::{
    Bond, BranchCircuit, Breaker, Cable, Circuit, Conductor, Description, Device, DeviceKind,
    Electrode, Joint, JointKind, Landing, Link, Load, LoadKind, Outlet, Place, PlaceKind, Sensing,
    ServiceConductor, Side, Supply, Tab, TripCurve, Vocabulary, Winding,
};
use slotwise::quantity::{Address, Impedance, Phasor};

const THREE: [&str; 3] = ["hot", "neutral", "ground"];

/// The studio, its reports in North American words.
pub(crate) fn studio() -> Circuit {
    Circuit::new(description(Vocabulary::NorthAmerican)).unwrap()
}

/// The same with a report in IEC words.
pub(crate) fn studio_iec() -> Circuit {
    Circuit::new(description(Vocabulary::Iec)).unwrap()
}

/// The same wiring with no joint and no place pointed out: everything goes by its element.
pub(crate) fn studio_without_addresses() -> Circuit {
    let mut parts = description(Vocabulary::NorthAmerican);
    parts.joints.clear();
    parts.places.clear();
    Circuit::new(parts).unwrap()
}

fn description(vocabulary: Vocabulary) -> Description {
    let mut studio = Studio::default();
    studio.parts.name = "pottery studio".into();
    studio.parts.vocabulary = vocabulary;
    studio.parts.frequency_hz = 60.0;
    studio.supply();
    studio.circuits();
    studio.pigtail_box("door", "c1-door", &["door-kiln"]);
    studio.pigtail_box("kiln", "door-kiln", &["kiln-sink", "kiln-wheel"]);
    studio.last_box("sink", "kiln-sink");
    studio.feed_through_box("wheel", "kiln-wheel", "wheel-dup");
    studio.duplex("dup", "wheel-dup");
    studio.ground_fault_box("gf1", "c2-gf1", "gf1-desk");
    studio.last_box("desk", "gf1-desk");
    studio.switches();
    studio.plugged("lamp", "door", LoadKind::Resistive { rated_watt: 60.0, rated_volt: 120.0 });
    studio.plugged("heater", "sink", LoadKind::Resistive { rated_watt: 1500.0, rated_volt: 120.0 });
    studio.plugged("drill", "wheel", motor());
    studio.plugged("radio", "desk", LoadKind::Resistive { rated_watt: 20.0, rated_volt: 120.0 });
    studio.parts
}

fn motor() -> LoadKind {
    LoadKind::Motor { running: Impedance::new(20.0, 10.0), locked_rotor: Impedance::new(3.0, 2.0) }
}

#[derive(Default)]
struct Studio {
    parts: Description,
}

impl Studio {
    fn supply(&mut self) {
        let winding = |id: &str, volt: f64| Winding {
            id: id.into(),
            line: format!("xf.{id}").into(),
            neutral: "xf.neutral".into(),
            emf_volt: Phasor::new(volt, 0.0),
            impedance: Impedance::new(0.012, 0.011),
        };
        let conductor = |id: &str| ServiceConductor {
            id: id.into(),
            from: format!("xf.{id}").into(),
            to: format!("panel.{id}").into(),
            impedance: Impedance::new(0.01, 0.004),
        };
        let electrode = |id: &str, node: &str| Electrode {
            id: id.into(),
            node: node.into(),
            resistance_ohm: 25.0,
        };
        self.parts.supply = Supply {
            windings: vec![winding("L1", 120.0), winding("L2", -120.0)],
            couplings: vec![],
            conductors: ["L1", "L2", "neutral"].map(conductor).to_vec(),
            electrodes: vec![
                electrode("panel", "panel.neutral"),
                electrode("transformer", "xf.neutral"),
            ],
            bonds: vec![Bond {
                id: "main".into(),
                between: ("panel.neutral".into(), "panel.ground".into()),
                resistance_ohm: 0.001,
            }],
        };
        for id in ["L1", "L2", "neutral"] {
            let address = format!("service.{id}");
            self.joint(
                &address,
                &format!("service:{id}"),
                "panel",
                (id, JointKind::Service, Side::Here),
            );
        }
        self.joint("panel.bond", "bond:main", "panel", ("neutral", JointKind::Bond, Side::Here));
        for (place, id) in [("panel", "panel"), ("transformer", "transformer")] {
            let (address, element) = (format!("{place}.electrode"), format!("electrode:{id}"));
            self.joint(
                &address,
                &element,
                place,
                ("ground", JointKind::ElectrodeClamp, Side::Here),
            );
        }
        self.place("transformer", PlaceKind::Supply, None, &[], &[]);
        let leaving = ["c1-door", "c2-gf1", "c3-hall"];
        self.place("panel", PlaceKind::Panel, Some("transformer"), &[], &leaving);
    }

    fn circuits(&mut self) {
        for (id, bus, tied) in [
            ("c1", "L1", None),
            ("c2", "L2", None),
            ("c3", "L1", None),
            ("c4", "L1", Some("c5")),
            ("c5", "L2", Some("c4")),
        ] {
            self.parts.branch_circuits.push(BranchCircuit {
                id: id.into(),
                bus: format!("panel.{bus}").into(),
                breaker: Breaker {
                    closed: true,
                    resistance_ohm: 0.005,
                    rating_ampere: Some(20.0),
                    curve: TripCurve::InverseTime,
                    residual_trip_ampere: None,
                    residual_delayed: false,
                    arc_fault: false,
                },
                neutral_landing: None,
                ground_landing: None,
                tied_with: tied.map(str::to_owned).into_iter().collect(),
            });
            let (address, element) = (format!("{id}.breaker"), format!("breaker:{id}"));
            self.joint(&address, &element, "panel", ("hot", JointKind::Breaker, Side::Here));
        }
        self.panel_end("c1", "c1-door", &THREE);
        self.panel_end("c2", "c2-gf1", &THREE);
        self.panel_end("c3", "c3-hall", &THREE);
    }

    /// The panel end of a circuit's first cable.
    fn panel_end(&mut self, circuit: &str, cable: &str, conductors: &[&str]) {
        self.cable(cable, conductors);
        for conductor in conductors {
            let (to, kind) = match *conductor {
                "hot" => (format!("{circuit}.hot"), JointKind::Screw),
                bar => (format!("panel.{bar}"), JointKind::Bar),
            };
            self.land(cable, 'a', conductor, &to);
            let address = format!("{circuit}.load.{conductor}");
            self.contact(&address, cable, 'a', "panel", (conductor, kind));
        }
    }

    fn pigtail_box(&mut self, id: &str, arriving: &str, leaving: &[&str]) {
        self.receptacle_place(id, arriving, leaving);
        for conductor in THREE {
            let splice = format!("{id}.splice.{conductor}");
            self.arrive(id, arriving, conductor, &splice, JointKind::Splice);
            for cable in leaving {
                self.leave(id, cable, leaving.len(), conductor, (&splice, JointKind::Splice));
            }
            let tail = format!("{id}.tail.{conductor}");
            self.link(id, "pigtail", conductor, (&splice, &tail), JointKind::Pigtail);
            let slot = format!("{id}.{conductor}");
            self.link(id, "screw", conductor, (&tail, &slot), JointKind::Screw);
        }
    }

    fn last_box(&mut self, id: &str, arriving: &str) {
        self.receptacle_place(id, arriving, &[]);
        for conductor in THREE {
            self.arrive(id, arriving, conductor, &format!("{id}.{conductor}"), JointKind::Screw);
        }
    }

    fn feed_through_box(&mut self, id: &str, arriving: &str, leaving: &str) {
        self.receptacle_place(id, arriving, &[leaving]);
        for conductor in THREE {
            let (slot, through) =
                (format!("{id}.{conductor}"), format!("{id}.through.{conductor}"));
            self.arrive(id, arriving, conductor, &slot, JointKind::Screw);
            self.link(id, "strap", conductor, (&slot, &through), JointKind::Strap);
            self.leave(id, leaving, 1, conductor, (&through, JointKind::Screw));
        }
    }

    fn duplex(&mut self, id: &str, arriving: &str) {
        self.place(id, PlaceKind::Box, Some("wheel"), &[arriving], &[]);
        let tab = Tab { intact: true, resistance_ohm: 0.0003, gap_farad: 2e-12 };
        self.device(
            id,
            DeviceKind::Duplex {
                configuration: "NEMA 5-15".into(),
                hot_tab: tab,
                neutral_tab: tab,
            },
        );
        for half in ["top", "bottom"] {
            let slots = [
                ("hot", format!("{id}.{half}.hot")),
                ("neutral", format!("{id}.{half}.neutral")),
                ("ground", format!("{id}.ground")),
            ];
            let slots = slots.map(|(name, node)| (name.to_owned(), Address::from(node))).to_vec();
            self.outlet(id, format!("{id}.{half}"), slots);
        }
        for (conductor, slot) in
            [("hot", "top.hot"), ("neutral", "top.neutral"), ("ground", "ground")]
        {
            self.arrive(id, arriving, conductor, &format!("{id}.{slot}"), JointKind::Screw);
        }
        for conductor in ["hot", "neutral"] {
            let (address, element) =
                (format!("{id}.tab.{conductor}"), format!("tab:{id}.{conductor}"));
            self.joint(&address, &element, id, (conductor, JointKind::Tab, Side::Here));
        }
    }

    fn ground_fault_box(&mut self, id: &str, arriving: &str, leaving: &str) {
        self.place(id, PlaceKind::Box, Some("panel"), &[arriving], &[leaving]);
        self.device(
            id,
            DeviceKind::Protective {
                poles: vec!["hot".into(), "neutral".into()],
                closed: true,
                closed_ohm: 0.004,
                gap_farad: 2e-12,
                sensing: Sensing {
                    residual_trip_ampere: Some(0.005),
                    delayed: false,
                    grounded_neutral_ohm: Some(3.0),
                    rating_ampere: None,
                    arc_fault: false,
                    needs_supply: true,
                },
            },
        );
        self.cable(leaving, &THREE);
        for conductor in THREE {
            let (line, load) = match conductor {
                "ground" => (format!("{id}.ground"), format!("{id}.ground")),
                pole => (format!("{id}.line.{pole}"), format!("{id}.load.{pole}")),
            };
            self.arrive(id, arriving, conductor, &line, JointKind::Screw);
            self.land(leaving, 'a', conductor, &load);
            let address = format!("{id}.load.{conductor}");
            self.contact(&address, leaving, 'a', id, (conductor, JointKind::Screw));
        }
    }

    /// The hall: a one-pole switch and a fan wired in; a pair of three-way switches and a
    /// four-way switch that lead nowhere.
    fn switches(&mut self) {
        self.place("hall", PlaceKind::Box, Some("panel"), &["c3-hall"], &["hall-vent"]);
        self.place("vent", PlaceKind::Box, Some("hall"), &["hall-vent"], &[]);
        let (closed_ohm, gap_farad) = (0.01, 2e-12);
        self.device("hall", DeviceKind::Switch { poles: 1, closed: true, closed_ohm, gap_farad });
        for id in ["foot", "head"] {
            self.device(id, DeviceKind::ThreeWay { position: 1, closed_ohm, gap_farad });
        }
        self.device("middle", DeviceKind::FourWay { crossed: false, closed_ohm, gap_farad });
        self.cable("hall-vent", &["switched", "neutral", "ground"]);
        for (conductor, node) in
            [("hot", "hall.1"), ("neutral", "hall.splice.neutral"), ("ground", "hall.ground")]
        {
            self.arrive("hall", "c3-hall", conductor, node, JointKind::Screw);
        }
        for (conductor, node) in
            [("switched", "hall.2"), ("neutral", "hall.splice.neutral"), ("ground", "hall.ground")]
        {
            self.land("hall-vent", 'a', conductor, node);
            let address = format!("hall.load.{conductor}");
            self.contact(&address, "hall-vent", 'a', "hall", (conductor, JointKind::Screw));
            self.land("hall-vent", 'b', conductor, &format!("vent.{conductor}"));
            let address = format!("vent.line.{conductor}");
            self.contact(&address, "hall-vent", 'b', "vent", (conductor, JointKind::Splice));
        }
        self.parts.loads.push(Load {
            id: "fan".into(),
            between: ("vent.switched".into(), "vent.neutral".into()),
            kind: motor(),
            on: true,
            plugged_in: true,
            plug_links: vec![],
            frame: Some("vent.ground".into()),
        });
    }

    fn plugged(&mut self, id: &str, at: &str, kind: LoadKind) {
        let mut plug_links = Vec::new();
        for (conductor, end) in [("hot", "hot"), ("neutral", "neutral"), ("ground", "frame")] {
            let link = format!("{id}.plug.{conductor}");
            self.parts.links.push(Link {
                id: link.clone(),
                between: (format!("{at}.{conductor}").into(), format!("{id}.{end}").into()),
                resistance_ohm: 0.003,
            });
            let element = format!("link:{link}");
            self.joint(&link, &element, at, (conductor, JointKind::SlotContact, Side::Here));
            plug_links.push(link);
        }
        self.parts.loads.push(Load {
            id: id.into(),
            between: (format!("{id}.hot").into(), format!("{id}.neutral").into()),
            kind,
            on: true,
            plugged_in: true,
            plug_links,
            frame: Some(format!("{id}.frame").into()),
        });
    }

    fn receptacle_place(&mut self, id: &str, arriving: &str, leaving: &[&str]) {
        let from = arriving.split('-').next().filter(|from| !from.starts_with('c'));
        self.place(id, PlaceKind::Box, Some(from.unwrap_or("panel")), &[arriving], leaving);
        self.device(id, DeviceKind::Receptacle { configuration: "NEMA 5-15".into() });
        let slots = THREE.map(|c| (c.to_owned(), Address::from(format!("{id}.{c}"))));
        self.outlet(id, id.to_owned(), slots.to_vec());
        for cable in leaving {
            self.cable(cable, &THREE);
        }
    }

    fn arrive(&mut self, id: &str, cable: &str, conductor: &str, to: &str, kind: JointKind) {
        self.land(cable, 'b', conductor, to);
        self.contact(&format!("{id}.line.{conductor}"), cable, 'b', id, (conductor, kind));
    }

    fn leave(
        &mut self,
        id: &str,
        cable: &str,
        of: usize,
        conductor: &str,
        (to, kind): (&str, JointKind),
    ) {
        self.land(cable, 'a', conductor, to);
        let next = cable.rsplit('-').next().unwrap();
        let side = if of == 1 { "load".to_owned() } else { format!("load-{next}") };
        let address = format!("{id}.{side}.{conductor}");
        self.contact(&address, cable, 'a', id, (conductor, kind));
    }

    fn link(&mut self, id: &str, word: &str, c: &str, (a, b): (&str, &str), kind: JointKind) {
        let link = format!("{id}.{word}.{c}");
        let between = (a.into(), b.into());
        self.parts.links.push(Link { id: link.clone(), between, resistance_ohm: 0.0005 });
        self.joint(&link, &format!("link:{link}"), id, (c, kind, Side::Here));
    }

    fn cable(&mut self, id: &str, conductors: &[&str]) {
        let conductors = conductors.iter().map(|name| Conductor {
            name: (*name).into(),
            impedance_per_m: Impedance::new(0.00828, 0.0003),
            ampacity_ampere: None,
        });
        self.parts.cables.push(Cable {
            id: id.into(),
            length_m: 8.0,
            conductors: conductors.collect(),
            capacitance_farad_per_m: vec![],
            insulation_ohm_m: vec![],
            ends: [vec![], vec![]],
        });
    }

    fn land(&mut self, cable: &str, end: char, conductor: &str, to: &str) {
        let cable = self.parts.cables.iter_mut().find(|known| known.id == cable).unwrap();
        cable.ends[usize::from(end == 'b')].push(Landing {
            conductor: conductor.into(),
            to: to.into(),
            contact_ohm: 0.0005,
        });
    }

    fn contact(
        &mut self,
        address: &str,
        cable: &str,
        end: char,
        place: &str,
        (conductor, kind): (&str, JointKind),
    ) {
        let side = if end == 'a' { Side::Load } else { Side::Line };
        let element = format!("contact:{cable}.{end}.{conductor}");
        self.joint(address, &element, place, (conductor, kind, side));
    }

    fn joint(
        &mut self,
        address: &str,
        element: &str,
        place: &str,
        (conductor, kind, side): (&str, JointKind, Side),
    ) {
        self.parts.joints.push(Joint {
            address: address.into(),
            element: element.into(),
            place: place.into(),
            conductor: conductor.into(),
            kind,
            side,
        });
    }

    fn device(&mut self, id: &str, kind: DeviceKind) {
        self.parts.devices.push(Device { id: id.into(), kind });
        if let Some(place) = self.parts.places.iter_mut().find(|place| place.id == id) {
            place.devices.push(id.into());
        }
    }

    fn outlet(&mut self, place: &str, address: String, slots: Vec<(String, Address)>) {
        let place = self.parts.places.iter_mut().find(|known| known.id == place).unwrap();
        place.outlets.push(Outlet {
            address: address.into(),
            configuration: "NEMA 5-15".into(),
            slots,
        });
    }

    fn place(
        &mut self,
        id: &str,
        kind: PlaceKind,
        from: Option<&str>,
        line: &[&str],
        load: &[&str],
    ) {
        self.parts.places.push(Place {
            id: id.into(),
            kind,
            fed_from: from.map(str::to_owned),
            line_cables: line.iter().map(|cable| (*cable).to_owned()).collect(),
            load_cables: load.iter().map(|cable| (*cable).to_owned()).collect(),
            devices: vec![],
            outlets: vec![],
        });
    }
}
