//! Drills with all their readings: what one takes, in each family.
//!
//! `cargo bench --bench drills` draws 10,000 of them; `-- --test` draws a few, and asserts that
//! they come out the same again.

#![allow(clippy::unwrap_used)] // A bench: nothing here is an interface.
#![allow(clippy::print_stdout, missing_docs)]

use std::time::Instant;

use slotwise::drill::{Difficulty, Drill, DrillReading, Family, Wanted};

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

/// Drills of one family that the computed strategy is followed through.
const FOLLOWED: u64 = 5;

/// How long the strategy takes, and how hard the drills are.
fn strategy(name: &str, family: &Family, each: u64) {
    let start = Instant::now();
    let (mut points, mut bands, mut found) = (Vec::new(), [0; 3], 0);
    for number in 0..each {
        let drill = Drill::draw(family, 2, number, &Wanted::default()).unwrap();
        let way = drill.strategy().unwrap();
        let difficulty = Difficulty::of(&drill.misleading, &way);
        found += usize::from(way.found);
        bands[difficulty.band() as usize] += 1;
        points.push(difficulty.points());
    }
    points.sort_by(f64::total_cmp);
    let third = |n: usize| points.get(points.len() * n / 3).copied().unwrap_or_default();
    println!(
        "{name}: the strategy finds {found} of {each}; {:.0} ms a drill; easy, medium, hard: \
         {bands:?}; thirds at {:.1} and {:.1} points",
        start.elapsed().as_secs_f64() * 1e3 / each as f64,
        third(1),
        third(2)
    );
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
        strategy(name, &family, if tested { 1 } else { FOLLOWED });
        for number in 0..DRILLS_TESTED.min(each) {
            let again = drill(&family, number);
            assert!(drawn.get(number as usize) == Some(&again), "{name} {number}");
        }
    }
}
