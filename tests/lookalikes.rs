//! Look-alikes, asked of circuits a practitioner would recognise.

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::catalogue;
use slotwise::instrument::presets;
use slotwise::lookalike::{Bounds, Depth, Question, lookalikes, pattern_table, shows, silent};

/// A potting shed: two boxes in a row and one heater.
const SHED: &str = r#"(
    format: 1,
    name: "Potting shed",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "shelf", from: "door", feet: 12),
    ],
    loads: [(id: "heater", at: "shelf", kind: Resistive(watts: 1200), metal_case: true)],
)"#;

fn circuit(text: &str) -> Circuit {
    slotwise::circuit::file::read(text).unwrap().circuit
}

#[test]
fn try_it() {
    let shed = circuit(SHED);
    let cat = catalogue(&shed);
    for fault in cat.faults() {
        println!("{:22} {:10.2e} {:?} {} [{}]", fault.kind.code(), fault.weight, fault.places, fault.sentence(&shed), fault.conductors.join(","));
    }
    println!("{} {}", cat.faults().len(), cat.pairs());
    let q = Question {
        showing: shows("hot-neutral lit, hot-ground lit, neutral-ground dark").unwrap(),
        depth: Depth::Single,
        ..Question::new(presets::plug_tester_resistive(), "shelf")
    };
    let t = std::time::Instant::now();
    let alike = lookalikes(&shed, &Condition::default(), &q).unwrap();
    println!("{:?} {}", t.elapsed(), serde_json::to_string_pretty(&alike).unwrap());
    println!("{:#?}", silent(&alike));
    let t = std::time::Instant::now();
    let table = pattern_table(&shed, &Condition::default(), (&presets::plug_tester_resistive(), "door"), Depth::Single, &Bounds::default()).unwrap();
    println!("{:?}", t.elapsed());
    for row in &table.rows {
        println!("{} {:?} {}", row.pattern, row.sound, row.singles.members_total);
        for g in &row.singles.groups { println!("     {:?} {:?} {} {:?}", g.wrong, g.dangers, g.members_total, g.members[0].faults); }
    }
}
