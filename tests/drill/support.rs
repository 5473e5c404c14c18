//! Families of `circuits/families/`, and drills drawn from them.

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
