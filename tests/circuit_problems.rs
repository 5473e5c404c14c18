//! What [`Circuit::new`] refuses, and in which words.

#![allow(unreachable_pub, clippy::unwrap_used)] // A test crate: nothing here is an interface.

use slotwise::circuit::{
    CableEnd, CablePair, Circuit, CircuitProblem, Description, Device, DeviceKind, Joint,
    JointKind, LoadKind, PartKind, RangeOf, Side, StatedRange,
};
use slotwise::quantity::Impedance;

#[allow(dead_code)]
#[path = "circuit_laws/building.rs"]
mod building;

fn problems(change: impl FnOnce(&mut Description)) -> Vec<CircuitProblem> {
    let mut description = building::workshop();
    assert!(Circuit::new(description.clone()).is_ok(), "the workshop itself is well-formed");
    change(&mut description);
    Circuit::new(description).err().unwrap_or_default()
}

/// The only problem after a change, in words.
#[track_caller]
fn refused(expected: &str, change: impl FnOnce(&mut Description)) {
    let found = problems(change);
    let words: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(words, [expected]);
}

fn nan_or(value: f64) -> Vec<f64> {
    vec![value, f64::NAN, f64::INFINITY]
}

#[test]
fn a_cable_of_no_length_is_refused() {
    refused(
        "cable `k2`: its length is -3 metre; expected more than zero, and finite",
        |description| description.cables[1].length_m = -3.0,
    );
}

#[test]
fn impedances_and_capacitances_below_zero_or_without_end_are_refused() {
    for bad in nan_or(-1.0) {
        let all: [fn(&mut Description, f64); 12] = [
            |d, x| d.frequency_hz = x,
            |d, x| d.supply.windings[0].impedance.resistance_ohm = x,
            |d, x| d.supply.conductors[0].impedance.resistance_ohm = x,
            |d, x| d.supply.electrodes[0].resistance_ohm = x,
            |d, x| d.supply.bonds[0].resistance_ohm = x,
            |d, x| d.branch_circuits[0].breaker.resistance_ohm = x,
            |d, x| d.cables[0].conductors[0].impedance_per_m.resistance_ohm = x,
            |d, x| d.cables[0].capacitance_farad_per_m[0].value = x,
            |d, x| d.cables[0].insulation_ohm_m[0].value = x,
            |d, x| d.cables[0].ends[0][0].contact_ohm = x,
            |d, x| d.links[0].resistance_ohm = x,
            |d, x| d.cables[0].length_m = x,
        ];
        for change in all {
            assert_eq!(problems(|description| change(description, bad)).len(), 1, "{bad}");
        }
    }
}

#[test]
fn a_voltage_or_a_reactance_without_end_is_refused() {
    let all: [fn(&mut Description); 4] = [
        |d| d.supply.windings[0].emf_volt.im = f64::NAN,
        |d| d.supply.windings[0].impedance.reactance_ohm = f64::INFINITY,
        |d| d.supply.couplings[0].mutual.reactance_ohm = f64::NAN,
        |d| d.cables[0].conductors[0].impedance_per_m.reactance_ohm = f64::NAN,
    ];
    for change in all {
        assert_eq!(problems(change).len(), 1);
    }
}

#[test]
fn loads_of_impossible_rating_are_refused() {
    let kinds = [
        LoadKind::Resistive { rated_watt: 0.0, rated_volt: 120.0 },
        LoadKind::Resistive { rated_watt: 60.0, rated_volt: -120.0 },
        LoadKind::Impedance(Impedance::new(-1.0, 0.0)),
        LoadKind::Capacitor { capacitance_farad: -1e-9 },
        LoadKind::Filament {
            rated_watt: 60.0,
            rated_volt: 120.0,
            cold_fraction: 1.2,
            exponent: 0.5,
        },
        LoadKind::Filament {
            rated_watt: 60.0,
            rated_volt: 120.0,
            cold_fraction: -0.1,
            exponent: 0.5,
        },
        LoadKind::ConstantPower { active_watt: 60.0, reactive_var: 0.0, cut_out_volt: 0.0 },
        LoadKind::ConstantPower { active_watt: f64::NAN, reactive_var: 0.0, cut_out_volt: 80.0 },
        LoadKind::PilotLamp { threshold_volt: 60.0, off_ohm: 0.0, series_ohm: 1e5 },
        LoadKind::PilotLamp { threshold_volt: 60.0, off_ohm: 1e9, series_ohm: 0.0 },
        LoadKind::Motor {
            running: Impedance::resistance(f64::NAN),
            locked_rotor: Impedance::resistance(1.0),
        },
    ];
    for kind in kinds {
        assert_eq!(problems(|description| description.loads[0].kind = kind).len(), 1, "{kind:?}");
    }
    let dark =
        LoadKind::PilotLamp { threshold_volt: 60.0, off_ohm: f64::INFINITY, series_ohm: 1e5 };
    assert_eq!(problems(|description| description.loads[0].kind = dark), []);
}

#[test]
fn two_parts_of_one_name_are_refused() {
    refused(
        "cable `k1`: there are two cables of this name; expected a name of its own for each",
        |description| {
            let twin = description.cables[0].clone();
            description.cables.push(twin);
        },
    );
}

#[test]
fn a_bar_misspelt_by_a_letter_is_refused_where_a_wire_would_hang_in_the_air() {
    let found = problems(|description| {
        description.branch_circuits[0].neutral_landing = Some(("panel.netural".into(), 0.0004));
    });
    let [problem] = &found[..] else { panic!("{found:#?}") };
    assert_eq!(problem.property, "neutral_landing");
    assert_eq!(problem.close, ["panel.neutral"]);
}

#[test]
fn a_bar_of_its_own_is_no_misspelling() {
    for bar in ["panel.neutral2", "panel.isolated", "annex.neutral"] {
        let found = problems(|description| {
            description.branch_circuits[0].neutral_landing = Some((bar.into(), 0.0004));
        });
        assert!(found.is_empty(), "{bar}: {found:#?}");
    }
}

#[test]
fn a_part_without_a_name_is_refused() {
    refused("load ``: it has no name; expected a name", |description| {
        description.loads[0].id = String::new();
    });
}

#[test]
fn a_lumped_part_may_not_take_another_elements_name() {
    refused(
        "lumped part `breaker:c1`: another part's element has this name; expected a name of its \
         own",
        |description| {
            description.lumped.push(slotwise::circuit::Lumped {
                id: "breaker:c1".into(),
                between: ("panel.L1".into(), "panel.L2".into()),
                kind: slotwise::circuit::LumpedKind::Open,
            });
        },
    );
}

#[test]
fn a_device_and_a_circuit_whose_terminals_would_be_one_are_refused() {
    let found = problems(|description| {
        description.devices.push(Device {
            id: "k1.a".into(),
            kind: DeviceKind::Switch { poles: 1, closed: true, closed_ohm: 0.0, gap_farad: 0.0 },
        });
        description.cables[0].conductors[0].name = "1".into();
        for pair in &mut description.cables[0].capacitance_farad_per_m {
            for name in [&mut pair.between.0, &mut pair.between.1] {
                if name == "hot" {
                    *name = "1".into();
                }
            }
        }
        description.cables[0].insulation_ohm_m.clear();
        for landings in &mut description.cables[0].ends {
            landings[0].conductor = "1".into();
        }
    });
    let words: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(
        words,
        ["device `k1.a`: its terminal `k1.a.1` is also cable `k1`'s; expected names that keep \
          their terminals apart"]
    );
}

#[test]
fn a_breaker_on_no_bus_is_refused_with_the_bus_it_may_mean() {
    refused(
        "branch circuit `c1`: its breaker sits on `panel.L3`, which nothing reaches; expected a \
         bar that is fed; is it `panel.L1`, `panel.L2` or `panel.ground`?",
        |description| description.branch_circuits[0].bus = "panel.L3".into(),
    );
}

#[test]
fn breakers_tied_by_their_handles_are_both_on_or_both_off() {
    refused(
        "branch circuit `c1`: its handle is tied to `c2`, yet one is on and one off; expected \
         tied breakers both on or both off",
        |description| description.branch_circuits[1].breaker.closed = false,
    );
}

#[test]
fn a_handle_tied_to_no_circuit_is_refused() {
    refused(
        "branch circuit `c1`: its handle is tied to `c22`, which is no circuit; expected the \
         name of a branch circuit; is it `c2`?",
        |description| description.branch_circuits[0].tied_with = vec!["c22".into()],
    );
}

#[test]
fn a_load_on_a_dead_end_address_is_refused() {
    refused(
        "load `drill`: nothing else reaches `box1.hott`; expected a terminal of the circuit; is \
         it `box1.hot`, `box2.hot` or `box3.hot`?",
        |description| {
            let drill = description.loads.iter_mut().find(|load| load.id == "drill").unwrap();
            drill.between.0 = "box1.hott".into();
        },
    );
}

#[test]
fn a_load_or_link_from_a_terminal_to_itself_is_refused() {
    refused(
        "load `drill`: both its ends are `box1.hot`; expected two different terminals",
        |description| {
            let drill = description.loads.iter_mut().find(|load| load.id == "drill").unwrap();
            drill.between.1 = "box1.hot".into();
        },
    );
}

#[test]
fn a_plug_without_its_links_is_refused() {
    let found = problems(|description| {
        description.loads[0].plug_links = vec!["box1.pigtal.hot".into()];
    });
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].close[0], "box1.pigtail.hot");
}

#[test]
fn a_bond_from_nowhere_to_nowhere_is_refused() {
    refused(
        "bond `main`: nothing else reaches `panel.grund` or `panel.nutral`; expected a terminal \
         of the circuit at one end; is it `panel.ground`, `panel.neutral` or `panel.L1`?",
        |description| {
            description.supply.bonds[0].between = ("panel.grund".into(), "panel.nutral".into());
        },
    );
}

#[test]
fn a_bar_with_nothing_on_it_is_no_problem() {
    let found = problems(|description| {
        description.supply.bonds[0].between.1 = "shed.ground".into();
        description.supply.electrodes[0].node = "mast".into();
    });
    assert_eq!(found, []);
}

#[test]
fn a_coupling_of_a_winding_that_is_not_there_is_refused() {
    let found = problems(|description| description.supply.couplings[0].second = "L3".into());
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].part.kind, PartKind::Coupling);
    let found = problems(|description| description.supply.couplings[0].second = "L1".into());
    assert_eq!(found[0].what, "it couples a winding with itself");
}

#[test]
fn a_cable_lands_only_the_conductors_it_has_and_each_of_them_once() {
    refused(
        "cable `k1`: `hott` lands at its end b, but it has none; expected one of its conductors; \
         is it `hot`?",
        |description| description.cables[0].ends[1][0].conductor = "hott".into(),
    );
    let found = problems(|description| {
        let twice = description.cables[0].ends[0][0].clone();
        description.cables[0].ends[0].push(twice);
    });
    assert_eq!(found[0].what, "`hot` lands twice at its end a");
}

#[test]
fn a_cable_couples_only_the_conductors_it_has_and_each_pair_once() {
    let pair = |p: &str, q: &str| CablePair { between: (p.into(), q.into()), value: 1e-11 };
    for (bad, what) in [
        (pair("hot", "white"), "it has no conductor `white`"),
        (pair("hot", "hot"), "both its ends are `hot`"),
        (pair("neutral", "hot"), "it states neutral-hot twice"),
    ] {
        let found = problems(|description| description.cables[0].capacitance_farad_per_m.push(bad));
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].what, what);
    }
}

#[test]
fn switches_without_poles_or_in_no_position_are_refused() {
    let (closed_ohm, gap_farad) = (0.006, 0.0);
    let kinds = [
        DeviceKind::Switch { poles: 0, closed: true, closed_ohm, gap_farad },
        DeviceKind::ThreeWay { position: 3, closed_ohm, gap_farad },
        DeviceKind::FourWay { crossed: true, closed_ohm: -1.0, gap_farad },
    ];
    for kind in kinds {
        let found = problems(|description| {
            description.devices.push(Device { id: "extra".into(), kind: kind.clone() });
        });
        assert_eq!(found.len(), 1, "{kind:?}");
    }
}

#[test]
fn joints_name_elements_and_places_that_are_there() {
    let joint = |element: &str, place: &str| Joint {
        address: "box1.line.hot".into(),
        element: element.into(),
        place: place.into(),
        conductor: "hot".into(),
        kind: JointKind::Splice,
        side: Side::Line,
    };
    let found = problems(|description| {
        description.joints = vec![joint("contact:k1.b.hott", "box1")];
    });
    assert_eq!(found[0].close[0], "contact:k1.b.hot");
    let found = problems(|description| {
        description.joints = vec![joint("contact:k1.b.hot", "bx1")];
    });
    assert_eq!(found[0].close[0], "box1");
    assert_eq!(problems(|d| d.joints = vec![joint("contact:k1.b.hot", "box1")]), []);
}

#[test]
fn places_hold_what_is_there() {
    let all: [fn(&mut Description); 4] = [
        |d| d.places[0].line_cables = vec!["k9".into()],
        |d| d.places[0].load_cables = vec!["k9".into()],
        |d| d.places[0].devices = vec!["box9".into()],
        |d| d.places[0].fed_from = Some("box9".into()),
    ];
    for change in all {
        let found = problems(change);
        assert_eq!(found.len(), 1);
        assert!(!found[0].close.is_empty(), "{found:?}");
    }
}

#[test]
fn ranges_run_upwards_and_are_of_something() {
    let range = |of, low, high| StatedRange { of, low, high };
    let length = || RangeOf::CableLengthMetre("k1".into());
    let bad = [
        range(length(), 9.0, 4.0),
        range(length(), -1.0, 4.0),
        range(RangeOf::CableLengthMetre("k9".into()), 1.0, 2.0),
        range(RangeOf::LoadWatt("kettle".into()), 1.0, 2.0),
    ];
    for range in bad {
        let found = problems(|description| description.ranges = vec![range.clone()]);
        assert_eq!(found.len(), 1, "{range:?}: {found:?}");
    }
    let good = vec![range(length(), 4.0, 9.0), range(RangeOf::SupplyScale, 0.9, 1.1)];
    assert_eq!(problems(|description| description.ranges = good), []);
}

#[test]
fn every_problem_is_reported_at_once() {
    let found = problems(|description| {
        description.cables[0].length_m = 0.0;
        description.supply.bonds[0].resistance_ohm = -1.0;
        description.loads[0].between.0 = "nowhere".into();
    });
    let kinds: Vec<PartKind> = found.iter().map(|problem| problem.part.kind).collect();
    assert_eq!(kinds, [PartKind::Bond, PartKind::Cable, PartKind::Load]);
}

#[test]
fn a_capped_conductor_is_no_problem() {
    let found = problems(|description| {
        building::land(&mut description.cables[0], CableEnd::B, |c| format!("box1.splice.{c}"));
        description.cables[0].ends[1].retain(|landing| landing.conductor != "ground");
    });
    assert_eq!(found, []);
}

#[test]
fn terminals_places_and_joints_are_found_by_address() {
    let mut description = building::workshop();
    description.joints.push(Joint {
        address: "box1.line.hot".into(),
        element: "contact:k1.b.hot".into(),
        place: "box1".into(),
        conductor: "hot".into(),
        kind: JointKind::Splice,
        side: Side::Line,
    });
    let circuit = Circuit::new(description).unwrap();
    assert_eq!(circuit.place("box2").unwrap().devices, ["box2"]);
    assert_eq!(circuit.joint(&"box1.line.hot".into()).unwrap().element, "contact:k1.b.hot");
    assert_eq!(circuit.joint_of_element("contact:k1.b.hot").unwrap().side, Side::Line);
    assert_eq!(circuit.terminals().next().unwrap().as_str(), "earth");
    assert!(circuit.outlets().any(|(_, outlet)| outlet.address.as_str() == "pair.bottom"));
    assert_eq!(circuit.terminal("box1.grnd").unwrap_err().close[0], "box1.ground");
    assert_eq!(circuit.cable("k1").unwrap().id, "k1");
    assert!(circuit.load("nothing").is_none());
}

#[test]
fn a_wire_that_lands_where_nothing_is_is_refused() {
    refused(
        "cable `spare`: `hot` lands on `bench.splcie.hot`, which nothing else reaches; expected a \
         terminal of the circuit, or no landing if it is capped; is it `bench.splice.hot` or \
         `bench.splice.neutral`?",
        |description| {
            let spare = description.cables.iter_mut().find(|cable| cable.id == "spare").unwrap();
            spare.ends[1][0].to = "bench.splcie.hot".into();
        },
    );
}

#[test]
fn a_wire_may_be_alone_on_a_bar_in_a_splice_and_at_a_device_a_ground_on_metal() {
    let all: [fn(&mut Description); 5] = [
        |d| d.cables[0].ends[0][1].to = "panel.isolated".into(),
        |d| d.links.retain(|link| link.id != "box3.pigtail.neutral"),
        |d| d.cables[2].ends[1][1].to = "box3.neutral".into(),
        |d| d.cables[2].ends[1][2].to = "lamp_post.ground".into(),
        // Capped.
        |d| d.cables[2].ends[1].clear(),
    ];
    for change in all {
        assert_eq!(problems(change), []);
    }
}
