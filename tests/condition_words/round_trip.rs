//! What is described is heard again; nothing that is typed is a panic.

use std::collections::BTreeSet;

use proptest::prelude::*;
use proptest::sample::{Index, select};
use slotwise::circuit::{CableEnd, Circuit, Part};
use slotwise::condition::words::{describe, parse};
use slotwise::condition::{
    AttachedLaw, Attachment, Condition, EndOfCable, Fault, Gap, LoadState, SwitchPosition,
};
use slotwise::quantity::{Address, Phasor};

use super::studio::{studio, studio_iec, studio_without_addresses};

/// Ohms of any size that a person could state.
fn ohms() -> impl Strategy<Value = f64> {
    prop_oneof![1e-6..1e9_f64, select(vec![0.0, 0.002, 0.4, 300.0, 2e5]), 0.0..100.0_f64]
}

fn gaps() -> impl Strategy<Value = Gap> {
    (proptest::option::of(ohms()), proptest::option::of(1e-13..1e-6_f64))
        .prop_map(|(resistance_ohm, capacitance_farad)| Gap { capacitance_farad, resistance_ohm })
}

fn fractions() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.5), (1..100_u8).prop_map(|n| f64::from(n) / 100.0), 1e-6..0.999_f64]
}

/// Numbers to make one fault of.
#[derive(Clone, Debug)]
struct Draw {
    kind: u8,
    first: Index,
    second: Index,
    third: Index,
    ohm: f64,
    gap: Gap,
    fraction: f64,
    emf: (f64, f64),
    flag: bool,
}

fn draws() -> impl Strategy<Value = Draw> {
    let indices = (any::<Index>(), any::<Index>(), any::<Index>());
    let volts = (-140.0..140.0_f64, prop_oneof![Just(0.0), -9.0..9.0_f64]);
    (0..14_u8, indices, ohms(), gaps(), fractions(), volts, any::<bool>()).prop_map(
        |(kind, (first, second, third), ohm, gap, fraction, emf, flag)| Draw {
            kind,
            first,
            second,
            third,
            ohm,
            gap,
            fraction,
            emf,
            flag,
        },
    )
}

/// A fault of the drawn kind, if the circuit has what it takes.
fn fault(circuit: &Circuit, draw: &Draw) -> Option<Fault> {
    let parts = circuit.parts();
    let elements: Vec<String> = circuit
        .connections()
        .filter(|path| !matches!(path.part, Part::Winding(_) | Part::Load(_)))
        .map(|path| path.element)
        .collect();
    let terminals: Vec<&Address> = circuit.terminals().collect();
    let element = draw.first.get(&elements).clone();
    let cable = draw.first.get(&parts.cables);
    let conductor = |index: &Index| index.get(&cable.conductors).name.clone();
    let pair = || {
        let (p, q) = (conductor(&draw.second), conductor(&draw.third));
        (p != q).then_some((p, q))
    };
    let end = if draw.flag { CableEnd::A } else { CableEnd::B };
    let at = EndOfCable { cable: cable.id.clone(), end };
    let resistance_ohm = draw.ohm;
    Some(match draw.kind {
        0 | 1 => Fault::Open { element, gap: draw.gap },
        2 => Fault::Resistance { element, resistance_ohm },
        3 => Fault::Glowing { element },
        4 => Fault::ExchangedAtCableEnd { end: at, conductors: pair()? },
        5 => exchanged_joints(draw, &elements)?,
        6 | 7 => {
            let (a, b) = (*draw.first.get(&terminals), *draw.second.get(&terminals));
            let id = if draw.flag { "tie" } else { "line side" }.to_owned();
            let (a, b) = (a.clone(), b.clone());
            (a != b).then_some(Fault::Bridge { id, between: (a, b), resistance_ohm })?
        }
        8 => {
            let branch = draw.first.get(&parts.branch_circuits);
            let other = if branch.bus.as_str() == "panel.L1" { "panel.L2" } else { "panel.L1" };
            Fault::WrongBus { circuit: branch.id.clone(), bus: other.into() }
        }
        9 => Fault::WrongLanding {
            end: at,
            conductor: conductor(&draw.second),
            to: (*draw.third.get(&terminals)).clone(),
        },
        10 => Fault::Broken {
            cable: cable.id.clone(),
            conductor: conductor(&draw.second),
            at_fraction: draw.fraction,
            gap: draw.gap,
        },
        11 => Fault::ContactInCable {
            cable: cable.id.clone(),
            conductors: if draw.flag { (conductor(&draw.second), "earth".into()) } else { pair()? },
            at_fraction: draw.fraction,
            resistance_ohm,
        },
        12 => Fault::ResistanceInCable {
            cable: cable.id.clone(),
            conductor: conductor(&draw.second),
            at_fraction: draw.fraction,
            resistance_ohm,
        },
        _ => device_or_supply(circuit, draw),
    })
}

fn device_or_supply(circuit: &Circuit, draw: &Draw) -> Fault {
    let windings = &circuit.parts().supply.windings;
    match draw.second.index(3) {
        0 => Fault::LineLoadExchanged { device: "gf1".into() },
        1 => Fault::Tab { device: "dup".into(), conductor: "neutral".into(), intact: draw.flag },
        _ => Fault::SupplyVoltage {
            winding: draw.first.get(windings).id.clone(),
            emf_volt: Phasor::new(draw.emf.0, draw.emf.1),
        },
    }
}

/// Two joints; two wires of one cable end are an exchange at that end, which is another fault.
fn exchanged_joints(draw: &Draw, elements: &[String]) -> Option<Fault> {
    let contacts = elements.iter().filter(|element| element.starts_with("contact:"));
    let pool: Vec<&String> = if draw.flag { contacts.collect() } else { elements.iter().collect() };
    let (p, q) = (draw.first.get(&pool).as_str(), draw.second.get(&pool).as_str());
    let end = |element: &str| element.rsplit_once('.').map(|(end, _)| end.to_owned());
    let one_end = p.starts_with("contact:") && end(p) == end(q);
    let elements = (p.to_owned(), q.to_owned());
    (p != q && !one_end).then_some(Fault::ExchangedJoints { elements })
}

fn conditions(circuit: Circuit) -> impl Strategy<Value = Condition> {
    let settings = proptest::collection::vec((any::<Index>(), any::<Index>()), 0..4);
    let attached = proptest::option::of((any::<Index>(), any::<Index>(), ohms(), any::<bool>()));
    (proptest::collection::vec(draws(), 0..4), settings, attached).prop_map(
        move |(draws, settings, attached)| {
            let mut condition = Condition::default();
            let mut about = BTreeSet::new();
            for fault in draws.iter().filter_map(|draw| fault(&circuit, draw)) {
                if about.insert(subject(&fault)) {
                    condition.faults.push(fault);
                }
            }
            for (what, state) in settings {
                set(&mut condition, what.index(9), state);
            }
            let terminals: Vec<&Address> = circuit.terminals().collect();
            if let Some((a, b, value, ohmic)) = attached {
                let (a, b) = (*a.get(&terminals), *b.get(&terminals));
                let law = match ohmic {
                    true => AttachedLaw::ResistanceOhm(value),
                    false => AttachedLaw::CapacitanceFarad(value * 1e-12),
                };
                if a != b {
                    let between = (a.clone(), b.clone());
                    condition.attached.push(Attachment { id: "probe".into(), between, law });
                }
            }
            condition
        },
    )
}

/// One fault a subject: two would contradict each other.
fn subject(fault: &Fault) -> String {
    match fault {
        Fault::Open { element, .. }
        | Fault::Resistance { element, .. }
        | Fault::Glowing { element } => element.clone(),
        Fault::Bridge { id, .. } => id.clone(),
        Fault::WrongBus { circuit, .. } => format!("bus {circuit}"),
        Fault::ExchangedAtCableEnd { end, .. } | Fault::WrongLanding { end, .. } => {
            format!("{} {:?}", end.cable, end.end)
        }
        Fault::Broken { cable, .. }
        | Fault::ContactInCable { cable, .. }
        | Fault::ResistanceInCable { cable, .. } => format!("inside {cable}"),
        Fault::SupplyVoltage { winding, .. } => format!("winding {winding}"),
        other => format!("{:?}", std::mem::discriminant(other)),
    }
}

fn set(condition: &mut Condition, what: usize, state: Index) {
    let flag = state.index(2) == 0;
    let plugged = [LoadState::On, LoadState::Off, LoadState::Unplugged][state.index(3)];
    let motor = [LoadState::On, LoadState::Off, LoadState::Stalled][state.index(3)];
    let pick = |yes, no| if flag { yes } else { no };
    use SwitchPosition::{Closed, Crossed, One, Open, Straight, Two};
    match what {
        0 => condition.breakers.insert("c1".into(), flag).map_or((), drop),
        1 => condition.breakers.insert("c4".into(), flag).map_or((), drop),
        2 => condition.breakers.insert("gf1".into(), flag).map_or((), drop),
        3 => condition.switches.insert("hall".into(), pick(Closed, Open)).map_or((), drop),
        4 => condition.switches.insert("foot".into(), pick(One, Two)).map_or((), drop),
        5 => condition.switches.insert("middle".into(), pick(Straight, Crossed)).map_or((), drop),
        6 => condition.loads.insert("lamp".into(), plugged).map_or((), drop),
        7 => condition.loads.insert("heater".into(), plugged).map_or((), drop),
        _ => condition.loads.insert("fan".into(), motor).map_or((), drop),
    }
}

fn heard_again(circuit: &Circuit, condition: &Condition) -> Result<(), TestCaseError> {
    let sentences = describe(circuit, condition);
    let mut heard = Condition::default();
    let text = sentences.join("; ");
    if let Err(problems) = heard.say(circuit, &text) {
        let all: Vec<String> = problems.iter().map(|problem| problem.render(&text)).collect();
        return Err(TestCaseError::fail(all.join("\n")));
    }
    prop_assert_eq!(&heard, condition, "{}", text);
    Ok(())
}

#[test]
fn loads_that_are_all_off_are_told_in_one_sentence() {
    let studio = studio();
    let told = |text: &str| {
        let mut condition = Condition::default();
        condition.say(&studio, text).unwrap();
        describe(&studio, &condition)
    };
    let on_c1 = "drill unplugged; lamp unplugged; heater unplugged";
    assert_eq!(told(on_c1), ["everything on c1 unplugged"]);
    assert_eq!(told(&format!("{on_c1}; radio off")), ["everything on c1 unplugged", "radio off"]);
    assert_eq!(told(&format!("{on_c1}; radio unplugged; fan off")), ["everything unplugged"]);
    let one_on = ["drill off", "heater on", "lamp off"];
    assert_eq!(told("drill off; lamp off; heater on"), one_on);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn what_is_described_is_heard_again(condition in conditions(studio())) {
        heard_again(&studio(), &condition)?;
    }

    #[test]
    fn what_is_described_in_iec_words_is_heard_again(condition in conditions(studio_iec())) {
        heard_again(&studio_iec(), &condition)?;
    }

    #[test]
    fn what_has_no_address_is_heard_by_its_element(
        condition in conditions(studio_without_addresses())
    ) {
        heard_again(&studio_without_addresses(), &condition)?;
    }

    #[test]
    fn no_text_is_a_panic(text in "\\PC{0,120}") {
        let _ = parse(&studio(), &text);
    }

    #[test]
    fn no_order_of_words_is_a_panic(
        words in proptest::collection::vec(select(WORDS.to_vec()), 0..14)
    ) {
        let text = words.join(" ");
        if let Err(problems) = parse(&studio(), &text) {
            for problem in problems {
                prop_assert!(text.get(problem.span.clone()).is_some(), "{}: {:?}", text, problem);
                problem.render(&text);
            }
        }
    }
}

/// Words of the grammar, names and numbers, to be thrown together.
const WORDS: &[&str] = &[
    "neutral",
    "hot",
    "ground",
    "earth",
    "line",
    "load",
    "side",
    "open",
    "exchanged",
    "bridged",
    "at",
    "in",
    "on",
    "to",
    "from",
    "of",
    "and",
    "between",
    "through",
    "across",
    "gap",
    ";",
    ",",
    "kiln",
    "sink",
    "wheel",
    "dup",
    "gf1",
    "c1",
    "c2",
    "L1",
    "L2",
    "heater",
    "drill",
    "hall",
    "cable",
    "door-kiln",
    "end",
    "a",
    "b",
    "halfway",
    "30",
    "%",
    "0.4",
    "ohm",
    "kohm",
    "V",
    "-1",
    "pigtail",
    "screw",
    "tab",
    "pin",
    "breaker",
    "service",
    "bond",
    "electrode",
    "supply",
    "all",
    "on",
    "off",
    "position",
    "1",
    "2",
    "crossed",
    "called",
    "not",
    "connected",
    "left",
    "landed",
    "borrowed",
    "attached",
    "bootleg",
    "moisture",
    "soil",
    "frame",
    "legs",
    "neutrals",
    "plugged",
    "'",
    "\"",
    "kiln.neutral",
    "contact:door-kiln.b.hot",
    "polarity",
    "winding",
    "quadrature",
];
