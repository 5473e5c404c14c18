//! Random circuits: trees and rings of 2 to 60 boxes with names of any length, loads and faults.

use proptest::prelude::*;
use slotwise::circuit::CableEnd;
use slotwise::condition::{Condition, EndOfCable, Fault, Gap};

use crate::studio::{assert_legible, circuit, scene, texts_of};

/// Trees drawn: each takes a solve and a look at every pair of texts.
const CASES: u32 = 40;

#[derive(Clone, Debug)]
struct Drawn {
    text: String,
    /// Which joints are wrong: a share of the way through the list, and how.
    wrong: Vec<(f64, u8)>,
}

fn name(number: usize) -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[a-z][a-z0-9]{0,7}",
        1 => "[a-z][a-z0-9_-]{8,40}",
        1 => Just("w".repeat(30)),
    ]
    .prop_map(move |stem| format!("{stem}-{number}"))
}

fn drawn() -> impl Strategy<Value = Drawn> {
    let boxes = prop_oneof![1 => 1_usize..4, 3 => 4_usize..20, 1 => 20_usize..60];
    boxes
        .prop_flat_map(|boxes| {
            let names: Vec<_> = (0..boxes).map(name).collect();
            let feeds =
                proptest::collection::vec((0.0..1.0_f64, 0.5..60.0_f64, any::<u8>()), boxes);
            let wrong = proptest::collection::vec((0.0..1.0_f64, any::<u8>()), 0..5);
            (names, feeds, 0.0..1.0_f64, any::<bool>(), wrong)
        })
        .prop_map(|(names, feeds, straightness, ring, wrong)| Drawn {
            text: text(&names, &feeds, straightness, ring),
            wrong,
        })
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Feeder {
    Breaker(&'static str),
    Box(usize),
}

/// A circuit file. A straight run where `straightness` is high, a bush where it is low; a ring
/// only where the whole is one run.
fn text(names: &[String], feeds: &[(f64, f64, u8)], straightness: f64, ring: bool) -> String {
    let feeders: Vec<Feeder> = (0..names.len())
        .map(|number| {
            let pick = feeds[number].0;
            let at = (pick * 1000.0) as usize % (number + 1);
            match (number, pick <= straightness) {
                (0, _) => Feeder::Breaker("c1"),
                (_, true) => Feeder::Box(number - 1),
                (_, false) if at == number => Feeder::Breaker("c2"),
                (_, false) => Feeder::Box(at),
            }
        })
        .collect();
    let is_run = (1..names.len()).all(|number| feeders[number] == Feeder::Box(number - 1));
    let mut boxes = String::new();
    let mut loads = String::new();
    for (number, (name, (_, metres, kind))) in names.iter().zip(feeds).enumerate() {
        let from = match feeders[number] {
            Feeder::Breaker(breaker) => breaker,
            Feeder::Box(feeder) => &names[feeder],
        };
        let leads_on = feeders.contains(&Feeder::Box(number));
        let is_bare = kind % 5 == 0 && leads_on;
        let device = match kind % 5 {
            0 if is_bare => ", devices: []",
            1 => ", feed_through: [\"hot\", \"neutral\"]",
            _ => "",
        };
        boxes += &format!("(id: \"{name}\", from: \"{from}\", metres: {metres:.1}{device}),\n");
        if !is_bare && kind % 3 == 0 {
            let on = kind % 2 == 0;
            loads += &format!(
                "(id: \"load-{name}\", at: \"{name}\", kind: Resistive(watts: {}), on: {on}),\n",
                100 + u32::from(*kind)
            );
        }
    }
    let last = names.last().map_or("", String::as_str);
    let ring = match ring && is_run && names.len() > 2 {
        true => format!(", ring: (last: \"{last}\", metres: 9)"),
        false => String::new(),
    };
    format!(
        "(format: 1, name: \"Random {}\", circuits: [(id: \"c1\", amperes: 20{ring}), \
         (id: \"c2\", amperes: 15, leg: \"L2\")], boxes: [{boxes}], loads: [{loads}])",
        names.len()
    )
}

fn faults(circuit: &slotwise::circuit::Circuit, wrong: &[(f64, u8)]) -> Condition {
    let joints = &circuit.parts().joints;
    let faults = wrong.iter().map(|&(share, kind)| {
        let joint = &joints[(share * joints.len() as f64) as usize % joints.len()];
        let element = joint.element.clone();
        let cables = &circuit.parts().cables;
        let cable = &cables[(share * cables.len() as f64) as usize % cables.len()];
        let outlets: Vec<_> = circuit.outlets().map(|(_, outlet)| outlet).collect();
        let outlet = outlets[(share * outlets.len() as f64) as usize % outlets.len()];
        match kind % 8 {
            0 | 1 => Fault::Open { element, gap: Gap::NONE },
            2 => Fault::Resistance { element, resistance_ohm: 0.4 },
            3 => Fault::Broken {
                cable: cable.id.clone(),
                conductor: "neutral".to_owned(),
                at_fraction: share,
                gap: Gap::NONE,
            },
            4 => Fault::Bridge {
                id: format!("bridge-{share}"),
                between: (outlet.slots[1].1.clone(), outlet.slots[2].1.clone()),
                resistance_ohm: 0.01,
            },
            5 => Fault::Bridge {
                id: format!("far-{share}"),
                between: (outlet.slots[1].1.clone(), outlets[0].slots[2].1.clone()),
                resistance_ohm: 30.0,
            },
            6 => Fault::ExchangedAtCableEnd {
                end: EndOfCable { cable: cable.id.clone(), end: CableEnd::B },
                conductors: ("hot".to_owned(), "neutral".to_owned()),
            },
            _ => Fault::ContactInCable {
                cable: cable.id.clone(),
                conductors: ("neutral".to_owned(), "ground".to_owned()),
                at_fraction: share,
                resistance_ohm: 300.0,
            },
        }
    });
    Condition { faults: faults.collect(), ..Condition::default() }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: CASES, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn in_any_building_no_text_covers_another_and_none_leaves_the_paper(drawn in drawn()) {
        let circuit = circuit(&drawn.text);
        let condition = faults(&circuit, &drawn.wrong);
        let picture = scene(&circuit, &condition).run();
        assert_legible(&picture, &drawn.text);
        let svg = picture.svg();
        prop_assert_eq!(texts_of(&svg).len(), picture.texts().len());
        // Every fault is numbered in the list and somewhere in the run.
        for number in 1..=condition.faults.len() {
            let shown = texts_of(&svg).iter().filter(|text| says(text, number)).count();
            prop_assert!(shown >= 2, "fault {} is marked {} times", number, shown);
        }
    }
}

/// Whether a badge speaks of a fault; one that holds many names the first and says there are
/// more.
fn says(badge: &str, number: usize) -> bool {
    badge.ends_with('…') || badge.split(',').any(|part| part == number.to_string())
}
