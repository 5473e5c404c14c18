//! Every kind of fault leaves a network that can be solved and that balances.

use proptest::prelude::*;
use slotwise::circuit::{CableEnd, Circuit};
use slotwise::condition::{
    AttachedLaw, Attachment, Condition, EndOfCable, Fault, Gap, LoadState, SwitchPosition,
};
use slotwise::netlist::wire;
use slotwise::quantity::Phasor;
use slotwise::solution::solve;

use crate::building::{Run, openable, run, workshop};

/// Current that rounding may leave at a node where kiloamperes meet.
pub const BALANCE_AMPERE: f64 = 1e-8;

fn end(cable: &str, end: CableEnd) -> EndOfCable {
    EndOfCable { cable: cable.into(), end }
}

/// One fault of every kind, all possible in the workshop.
fn one_of_each() -> Vec<Fault> {
    let gap = Gap { capacitance_farad: Some(2e-12), resistance_ohm: Some(1e9) };
    vec![
        Fault::Open { element: "contact:k2.a.neutral".into(), gap },
        Fault::Open { element: "winding:L2".into(), gap: Gap::NONE },
        Fault::Resistance { element: "service:neutral".into(), resistance_ohm: 0.8 },
        Fault::Glowing { element: "link:box3.pigtail.hot".into() },
        Fault::ExchangedAtCableEnd {
            end: end("k3", CableEnd::A),
            conductors: ("hot".into(), "neutral".into()),
        },
        Fault::ExchangedAtCableEnd {
            end: end("spare", CableEnd::B),
            conductors: ("hot".into(), "ground".into()),
        },
        Fault::ExchangedJoints {
            elements: ("link:box1.pigtail.neutral".into(), "link:box1.pigtail.ground".into()),
        },
        Fault::Bridge {
            id: "bootleg".into(),
            between: ("box2.neutral".into(), "box2.ground".into()),
            resistance_ohm: 0.002,
        },
        Fault::WrongBus { circuit: "c1".into(), bus: "panel.L2".into() },
        Fault::WrongLanding {
            end: end("k1", CableEnd::A),
            conductor: "ground".into(),
            to: "panel.neutral".into(),
        },
        Fault::Broken { cable: "k2".into(), conductor: "hot".into(), at_fraction: 0.4, gap },
        Fault::ResistanceInCable {
            cable: "k2".into(),
            conductor: "neutral".into(),
            at_fraction: 0.7,
            resistance_ohm: 3.0,
        },
        Fault::ContactInCable {
            cable: "k2".into(),
            conductors: ("hot".into(), "ground".into()),
            at_fraction: 0.2,
            resistance_ohm: 40e3,
        },
        Fault::ContactInCable {
            cable: "k3".into(),
            conductors: ("neutral".into(), "earth".into()),
            at_fraction: 0.5,
            resistance_ohm: 12.0,
        },
        Fault::LineLoadExchanged { device: "gf".into() },
        Fault::Tab { device: "pair".into(), conductor: "hot".into(), intact: true },
        Fault::Tab { device: "pair".into(), conductor: "neutral".into(), intact: false },
        Fault::SupplyVoltage { winding: "L1".into(), emf_volt: Phasor::new(108.0, 0.0) },
    ]
}

/// Solves and checks the balance; the message names what was tried.
fn balances(circuit: &Circuit, condition: &Condition) -> Result<(), String> {
    let tried = || format!("{:?}", condition.faults);
    let netlist = wire(circuit, condition).map_err(|why| format!("{why}: {}", tried()))?;
    let solution = solve(&netlist).map_err(|why| format!("{why}: {}", tried()))?;
    let residual = solution.residual_ampere();
    if residual.is_nan() || residual > BALANCE_AMPERE {
        return Err(format!("{residual} A vanish: {}", tried()));
    }
    let finite = |phasor: Phasor| phasor.re.is_finite() && phasor.im.is_finite();
    let potentials = netlist.nodes().filter_map(|node| solution.potential(node)).all(finite);
    let currents = netlist.elements().map(|element| solution.current(element)).all(finite);
    if potentials && currents { Ok(()) } else { Err(format!("not finite: {}", tried())) }
}

fn with(faults: Vec<Fault>) -> Condition {
    Condition { faults, ..Condition::default() }
}

#[test]
fn every_kind_of_fault_leaves_a_circuit_that_balances() {
    let circuit = Circuit::new(workshop()).unwrap();
    balances(&circuit, &Condition::default()).unwrap();
    for fault in one_of_each() {
        balances(&circuit, &with(vec![fault])).unwrap();
    }
}

#[test]
fn any_two_faults_together_leave_a_circuit_that_balances() {
    let circuit = Circuit::new(workshop()).unwrap();
    let faults = one_of_each();
    for (at, first) in faults.iter().enumerate() {
        for second in &faults[at + 1..] {
            balances(&circuit, &with(vec![first.clone(), second.clone()])).unwrap();
        }
    }
}

#[test]
fn all_faults_at_once_leave_a_circuit_that_balances() {
    let circuit = Circuit::new(workshop()).unwrap();
    balances(&circuit, &with(one_of_each())).unwrap();
}

#[test]
fn every_setting_leaves_a_circuit_that_balances() {
    let circuit = Circuit::new(workshop()).unwrap();
    let mut condition = Condition::default();
    condition.breakers.extend([("c2".to_owned(), false), ("gf".to_owned(), false)]);
    condition.switches.extend([
        ("hall".to_owned(), SwitchPosition::Open),
        ("isolator".to_owned(), SwitchPosition::Closed),
        ("low".to_owned(), SwitchPosition::Two),
        ("middle".to_owned(), SwitchPosition::Crossed),
    ]);
    condition.loads.extend([
        ("drill".to_owned(), LoadState::Stalled),
        ("lamp".to_owned(), LoadState::Off),
        ("radio".to_owned(), LoadState::Unplugged),
    ]);
    condition.attached.push(Attachment {
        id: "meter".into(),
        between: ("yard.hot".into(), "earth".into()),
        law: AttachedLaw::ResistanceOhm(10e6),
    });
    balances(&circuit, &condition).unwrap();
}

/// Any number that a caller can write.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![any::<f64>(), Just(0.0), Just(0.5), Just(1.0), Just(-1.0), Just(f64::NAN)]
}

/// Names of things that are there, as anything they may or may not be.
fn name() -> impl Strategy<Value = String> {
    let circuit = Circuit::new(workshop()).unwrap();
    let mut names: Vec<String> = circuit.connections().map(|c| c.element).collect();
    names.extend(circuit.terminals().map(ToString::to_string));
    names.extend(
        ["k2", "spare", "hot", "neutral", "ground", "c1", "gf", "pair", "L1", "earth", ""]
            .map(str::to_owned),
    );
    prop::sample::select(names)
}

fn cable_end() -> impl Strategy<Value = EndOfCable> {
    (name(), any::<bool>()).prop_map(|(cable, far)| EndOfCable {
        cable,
        end: if far { CableEnd::B } else { CableEnd::A },
    })
}

fn any_fault() -> impl Strategy<Value = Fault> {
    let gap = (prop::option::of(number()), prop::option::of(number()))
        .prop_map(|(capacitance_farad, resistance_ohm)| Gap { capacitance_farad, resistance_ohm })
        .boxed();
    prop_oneof![
        (name(), gap.clone()).prop_map(|(element, gap)| Fault::Open { element, gap }),
        (name(), number())
            .prop_map(|(element, resistance_ohm)| Fault::Resistance { element, resistance_ohm }),
        name().prop_map(|element| Fault::Glowing { element }),
        (cable_end(), name(), name())
            .prop_map(|(end, p, q)| Fault::ExchangedAtCableEnd { end, conductors: (p, q) }),
        (name(), name()).prop_map(|elements| Fault::ExchangedJoints { elements }),
        (name(), name(), name(), number()).prop_map(|(id, a, b, resistance_ohm)| Fault::Bridge {
            id,
            between: (a.into(), b.into()),
            resistance_ohm
        }),
        (name(), name()).prop_map(|(circuit, bus)| Fault::WrongBus { circuit, bus: bus.into() }),
        (cable_end(), name(), name()).prop_map(|(end, conductor, to)| Fault::WrongLanding {
            end,
            conductor,
            to: to.into()
        }),
        (name(), name(), number(), gap).prop_map(|(cable, conductor, at_fraction, gap)| {
            Fault::Broken { cable, conductor, at_fraction, gap }
        }),
        (name(), name(), name(), number(), number()).prop_map(
            |(cable, p, q, at_fraction, resistance_ohm)| Fault::ContactInCable {
                cable,
                conductors: (p, q),
                at_fraction,
                resistance_ohm
            }
        ),
        name().prop_map(|device| Fault::LineLoadExchanged { device }),
        (name(), name(), any::<bool>()).prop_map(|(device, conductor, intact)| Fault::Tab {
            device,
            conductor,
            intact
        }),
        (name(), number(), number()).prop_map(|(winding, re, im)| Fault::SupplyVoltage {
            winding,
            emf_volt: Phasor::new(re, im)
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn whatever_a_condition_says_is_wired_or_refused(
        faults in prop::collection::vec(any_fault(), 1..4),
    ) {
        let circuit = Circuit::new(workshop()).unwrap();
        if let Err(problem) = wire(&circuit, &with(faults)) {
            prop_assert!(!problem.to_string().is_empty());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn an_open_at_any_joint_leaves_a_circuit_that_balances(
        boxes in prop::collection::vec((1.0..60.0, prop_oneof![Just(0.0), 20.0..1800.0]), 1..6),
        coupled in any::<bool>(),
    ) {
        let (lengths_m, loads_watt) = boxes.into_iter().unzip();
        let circuit = Circuit::new(run(&Run { lengths_m, loads_watt, coupled })).unwrap();
        let joints = circuit.connections().map(|c| c.element).filter(|e| openable(e));
        for element in joints {
            let open = Fault::Open { element, gap: Gap::NONE };
            prop_assert_eq!(balances(&circuit, &with(vec![open])), Ok(()));
        }
    }

    #[test]
    fn opens_anywhere_together_leave_a_circuit_that_balances(
        boxes in prop::collection::vec((1.0..60.0, prop_oneof![Just(0.0), 20.0..1800.0]), 2..5),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 2..6),
    ) {
        let (lengths_m, loads_watt) = boxes.into_iter().unzip();
        let of = Run { lengths_m, loads_watt, coupled: true };
        let circuit = Circuit::new(run(&of)).unwrap();
        let joints: Vec<String> =
            circuit.connections().map(|c| c.element).filter(|e| openable(e)).collect();
        let faults = picks
            .iter()
            .map(|pick| Fault::Open { element: pick.get(&joints).clone(), gap: Gap::NONE })
            .collect();
        prop_assert_eq!(balances(&circuit, &with(faults)), Ok(()));
    }
}
