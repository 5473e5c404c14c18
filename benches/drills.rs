//! Drills with all their readings: what one takes, in each family.
//!
//! `cargo bench --bench drills` draws 10,000 of them; `-- --test` draws a few, and asserts that
//! they come out the same again.

#![allow(clippy::unwrap_used)] // A bench: nothing here is an interface.
#![allow(clippy::print_stdout, missing_docs)]

use std::time::Instant;

use slotwise::drill::{Drill, DrillReading, Family, Wanted};

const FAMILIES: [(&str, &str); 4] = [
    ("workshops", include_str!("../circuits/families/workshops.ron")),
    ("houses", include_str!("../circuits/families/houses.ron")),
    ("halls", include_str!("../circuits/families/halls.ron")),
    ("two-wire-cottages", include_str!("../circuits/families/two-wire-cottages.ron")),
];

const DRILLS: u64 = 10_000;

/// Drills of one family where the answers are what matters.
const DRILLS_TESTED: u64 = 8;

/// A drill with everything that every instrument shows.
fn drill(family: &Family, number: u64) -> Option<Vec<DrillReading>> {
    Drill::draw(family, 1, number, &Wanted::default()).ok()?.readings().ok()
}

fn main() {
    let tested = std::env::args().any(|argument| argument == "--test");
    let each = if tested { DRILLS_TESTED } else { DRILLS / FAMILIES.len() as u64 };
    for (name, text) in FAMILIES {
        let family = Family::read(text).unwrap();
        let start = Instant::now();
        let drawn: Vec<_> = (0..each).map(|number| drill(&family, number)).collect();
        let spent_s = start.elapsed().as_secs_f64();
        let readings: usize = drawn.iter().flatten().map(Vec::len).sum();
        let none = drawn.iter().filter(|drawn| drawn.is_none()).count();
        println!(
            "{name}: {each} drills, {readings} readings, {none} not drawn; {:.2} ms a drill, \
             {:.1} us a reading",
            spent_s * 1e3 / each as f64,
            spent_s * 1e6 / readings as f64
        );
        assert!(readings > 0 && none * 100 <= drawn.len(), "{name}: {none} not drawn");
        for number in 0..DRILLS_TESTED.min(each) {
            let again = drill(&family, number);
            assert!(drawn.get(number as usize) == Some(&again), "{name} {number}");
        }
    }
}
