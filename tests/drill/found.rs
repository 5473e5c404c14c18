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

/// How an inquiry that is told all readings finds the faults.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Finds {
    /// Among its first suspects, as many as there are faults and one more, or in a group with
    /// them.
    Named,
    /// It is led to something else that shows just the same everywhere: no reading parts the two.
    Alike,
    /// It is led to a box with one of the faults, and calls it something else.
    Led,
    Misses,
}

fn finds(drill: &Drill) -> Finds {
    let inquiry = Inquiry::of(&drill.circuit, &drill.account().unwrap()).unwrap();
    let findings = inquiry.findings();
    let suspects = &findings.suspects;
    let first = suspects.iter().take(drill.faults.len() + 1);
    let named: Vec<_> = first.flat_map(|suspect| &suspect.faults).collect();
    let is_named = drill.faults.iter().any(|fault| {
        named.iter().any(|named| {
            named.fault.change == fault.change
                || named.fault.places.iter().any(|place| fault.places.contains(place))
                    && named.fault.conductors == fault.conductors
        })
    });
    if is_named {
        return Finds::Named;
    }
    let truth = drill.readings().unwrap();
    let shows_the_same = |suspects_of: &[usize]| {
        let mut sets = vec![Condition::default()];
        for &suspect in suspects_of {
            let with = |set: &Condition, change: &Condition| {
                let mut set = set.clone();
                set.put_on(change);
                set
            };
            let faults = || suspects[suspect].faults.iter().map(|named| &named.fault.change);
            let more = sets.iter().flat_map(|set| faults().map(|change| with(set, change)));
            sets = more.take(MEMBERS_TRIED).collect();
        }
        sets.into_iter().any(|condition| {
            let other = Drill { condition, ..drill.clone() };
            other.readings().is_ok_and(|readings| readings == truth)
        })
    };
    let led = || {
        let boxes = suspects.iter().take(drill.faults.len()).flat_map(|suspect| &suspect.boxes);
        boxes.into_iter().any(|place| drill.faults.iter().any(|fault| fault.places.contains(place)))
    };
    match () {
        () if findings.explanations.iter().take(2).any(|one| shows_the_same(&one.suspects)) => {
            Finds::Alike
        }
        () if led() => Finds::Led,
        () => Finds::Misses,
    }
}

/// Ways to take one fault of each suspect that are tried.
const MEMBERS_TRIED: usize = 100;

#[test]
fn from_all_readings_the_fault_is_found() {
    let small = family_text("workshops")
        .replace("boxes: (4, 8)", "boxes: (2, 2)")
        .replace("loads_present: (2, 4)", "loads_present: (1, 1)");
    let wanted = Wanted { faults: Some(1), kinds: vec![FaultKind::OpenJoint], ..Wanted::default() };
    let drill = Drill::draw(&Family::read(&small).unwrap(), 3, 1, &wanted).unwrap();
    assert_eq!(finds(&drill), Finds::Named, "{:?}", drill.faults);
}

/// What one drill of a difficulty comes to.
struct Outcome {
    number: u64,
    band: Band,
    holds: bool,
    finds: Finds,
    says: String,
}

/// `None` where no drill can be drawn, and for a difficulty that is not asked for.
fn outcome(family: &Family, number: u64, asked_for: &[Band]) -> Option<Outcome> {
    let drill = Drill::draw(family, 5, number, &Wanted::default()).ok()?;
    let band = drill.difficulty().unwrap().band();
    if !asked_for.contains(&band) {
        return None;
    }
    let says = drill.faults.iter().map(|fault| fault.sentence(&drill.circuit));
    Some(Outcome {
        number,
        band,
        holds: anew(&drill).readings().unwrap() == drill.readings().unwrap(),
        finds: finds(&drill),
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
        let mut short = Band::ALL.to_vec();
        short.retain(|&band| of(&all, band) < many);
        if Instant::now() > until || short.is_empty() {
            break;
        }
        let short = short.as_slice();
        let share = |thread: u64| {
            let numbers = first as u64..(first + TURN) as u64;
            let mine = numbers.filter(move |number| number % threads == thread);
            mine.filter_map(|number| outcome(&workshops, number, short)).collect::<Vec<_>>()
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
            if one.finds != Finds::Named || !one.holds {
                println!("{} {}: {:?}, {}", one.band.name(), one.number, one.finds, one.says);
            }
            all.push(one);
        }
        let so_far = Band::ALL.map(|band| format!("{} {}", of(&all, band), band.name()));
        println!("{} drawn: {}", first + TURN, so_far.join(", "));
    }
    for band in Band::ALL {
        let here = || all.iter().filter(|one| one.band == band);
        let count = |how: Finds| here().filter(|one| one.finds == how).count();
        let (drawn, named, alike) = (here().count(), count(Finds::Named), count(Finds::Alike));
        let (led, misses) = (count(Finds::Led), count(Finds::Misses));
        println!(
            "{}: {drawn} drawn, {named} named, {alike} shown alike, {led} led to a box, {misses} missed",
            band.name()
        );
        assert!(here().all(|one| one.holds), "{}", band.name());
        assert!((named + alike) * 100 >= drawn * 97, "{}: {named} of {drawn}", band.name());
    }
}
