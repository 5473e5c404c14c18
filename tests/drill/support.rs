//! Families of `circuits/families/`, and drills drawn from them.

use slotwise::drill::live::{Answer, Live};
use slotwise::drill::{Drill, Family, Wanted};

pub(crate) const FAMILIES: [&str; 4] = ["workshops", "houses", "halls", "two-wire-cottages"];

pub(crate) fn family_text(name: &str) -> String {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits/families");
    std::fs::read_to_string(folder.join(format!("{name}.ron"))).unwrap()
}

pub(crate) fn family(name: &str) -> Family {
    let text = family_text(name);
    Family::read(&text).unwrap_or_else(|said| {
        let said: Vec<String> = said.iter().map(|one| one.render(name, &text)).collect();
        panic!("{}", said.join("\n"))
    })
}

pub(crate) fn drawn(name: &str, number: u64) -> Drill {
    Drill::draw(&family(name), 1, number, &Wanted::default()).unwrap()
}

/// A drill with these faults, as sentences of the catalogue, on a circuit file written by hand.
pub(crate) fn by_hand(text: &str, faults: &[&str]) -> Drill {
    let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
    let all = slotwise::condition::catalogue::catalogue(&circuit);
    let of = |says: &&str| {
        let found = all.faults().iter().find(|fault| fault.sentence(&circuit) == *says);
        found.unwrap_or_else(|| panic!("{says}: no such fault")).clone()
    };
    let faults: Vec<_> = faults.iter().map(of).collect();
    let mut condition = slotwise::condition::Condition::default();
    faults.iter().for_each(|fault| fault.apply(&mut condition));
    Drill { circuit, circuit_file: text.to_owned(), faults, condition, ..drawn("workshops", 0) }
}

/// Does what a line says in a live drill.
pub(crate) fn does(live: &mut Live, line: &str) -> Answer {
    let act = live.understand(line).unwrap_or_else(|problem| panic!("{line}: {problem}"));
    live.act(&act).unwrap_or_else(|problem| panic!("{line}: {problem}"))
}
