//! What a key says is so: its faults, solved anew, give the sheet's readings and all others; and
//! from all readings an inquiry finds them, or names a group that they cannot be parted from.
//!
//! `SLOTWISE_DRILLS=1000 cargo test --release --test drill found -- --ignored --nocapture` asks so
//! many drills of each difficulty, or as many as come in `SLOTWISE_MINUTES`, on
//! `SLOTWISE_THREADS`.

use std::time::{Duration, Instant};

use slotwise::circuit::file;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::FaultKind;
use slotwise::diagnosis::Inquiry;
use slotwise::drill::{Band, Drill, Family, Wanted};

use crate::support::{FAMILIES, drawn, family, family_text};

/// The drill made again from what its key and sheet say in words: circuit file and sentences.
fn anew(drill: &Drill) -> Drill {
    let circuit = file::read(&drill.circuit_file).unwrap().circuit;
    let mut condition = Condition::default();
    for fault in &drill.faults {
        condition.say(&circuit, &fault.sentence(&drill.circuit)).unwrap();
    }
    Drill { circuit, condition, ..drill.clone() }
}

#[test]
fn the_faults_of_a_key_said_in_words_give_every_reading_again() {
    for name in FAMILIES {
        for number in 0..2 {
            let drill = drawn(name, number);
            let readings = anew(&drill).readings().unwrap();
            assert_eq!(readings, drill.readings().unwrap(), "{name} {number}");
            for one in &drill.first {
                assert!(readings.contains(one), "{one:?}");
            }
        }
    }
}

/// Whether an inquiry that is told all readings has the faults among its first suspects, as many
/// as there are faults and one more, or in a group with them.
fn is_found(drill: &Drill) -> bool {
    let inquiry = Inquiry::of(&drill.circuit, &drill.account().unwrap()).unwrap();
    let suspects = inquiry.findings().suspects;
    let first = suspects.iter().take(drill.faults.len() + 1);
    let named: Vec<_> = first.flat_map(|suspect| &suspect.faults).collect();
    drill.faults.iter().any(|fault| {
        named.iter().any(|named| {
            named.fault.change == fault.change
                || named.fault.places.iter().any(|place| fault.places.contains(place))
                    && named.fault.conductors == fault.conductors
        })
    })
}

#[test]
fn from_all_readings_the_fault_is_found() {
    let small = family_text("workshops")
        .replace("boxes: (4, 8)", "boxes: (2, 2)")
        .replace("loads_present: (2, 4)", "loads_present: (1, 1)");
    let wanted = Wanted { faults: Some(1), kinds: vec![FaultKind::OpenJoint], ..Wanted::default() };
    let drill = Drill::draw(&Family::read(&small).unwrap(), 3, 0, &wanted).unwrap();
    assert!(is_found(&drill), "{:?}", drill.faults);
}

/// What one drill of a difficulty comes to.
struct Outcome {
    number: u64,
    band: Band,
    holds: bool,
    found: bool,
    says: String,
}

fn outcome(family: &Family, number: u64) -> Option<Outcome> {
    let drill = Drill::draw(family, 5, number, &Wanted::default()).ok()?;
    let says = drill.faults.iter().map(|fault| fault.sentence(&drill.circuit));
    Some(Outcome {
        number,
        band: drill.difficulty().unwrap().band(),
        holds: anew(&drill).readings().unwrap() == drill.readings().unwrap(),
        found: is_found(&drill),
        says: says.collect::<Vec<_>>().join("; "),
    })
}

/// Drills drawn at a time.
const TURN: usize = 100;

fn asked(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// The whole claim, for as many drills as there is time for: one after the other, each counted
/// under the difficulty it has.
#[test]
#[ignore = "minutes to hours; see the head of this file"]
fn of_each_difficulty_the_key_holds_and_the_fault_is_found() {
    let (many, minutes) = (asked("SLOTWISE_DRILLS", 20), asked("SLOTWISE_MINUTES", 600));
    let threads = asked("SLOTWISE_THREADS", 1);
    let workshops = family("workshops");
    let until = Instant::now() + Duration::from_secs(60 * minutes);
    let mut all: Vec<Outcome> = Vec::new();
    let of = |all: &[Outcome], band: Band| all.iter().filter(|one| one.band == band).count() as u64;
    for first in (0..).step_by(TURN) {
        if Instant::now() > until || Band::ALL.iter().all(|&band| of(&all, band) >= many) {
            break;
        }
        let share = |thread: u64| {
            let numbers = first as u64..(first + TURN) as u64;
            let mine = numbers.filter(move |number| number % threads == thread);
            mine.filter_map(|number| outcome(&workshops, number)).collect::<Vec<_>>()
        };
        let mut these: Vec<Outcome> = std::thread::scope(|scope| {
            let running: Vec<_> =
                (0..threads).map(|thread| scope.spawn(move || share(thread))).collect();
            running.into_iter().flat_map(|one| one.join().unwrap()).collect()
        });
        these.sort_by_key(|one| one.number);
        for one in these {
            if of(&all, one.band) >= many {
                continue;
            }
            if !one.found || !one.holds {
                println!("{} {}: found {}, {}", one.band.name(), one.number, one.found, one.says);
            }
            all.push(one);
        }
        let so_far = Band::ALL.map(|band| format!("{} {}", of(&all, band), band.name()));
        println!("{} drawn: {}", first + TURN, so_far.join(", "));
    }
    for band in Band::ALL {
        let here = || all.iter().filter(|one| one.band == band);
        let (drawn, found) = (here().count(), here().filter(|one| one.found).count());
        println!("{}: {drawn} drawn, {found} found", band.name());
        assert!(here().all(|one| one.holds), "{}", band.name());
        assert!(found * 100 >= drawn * 90, "{}: {found} of {drawn}", band.name());
    }
}
