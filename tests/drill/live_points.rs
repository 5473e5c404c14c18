//! What a live drill is worth: what is found out counts, what is guessed counts less.

use slotwise::drill::live::{Answer, Live, Score, Verdict};

use crate::support::{by_hand, does};

const ARBOUR: &str = r#"(format: 1, name: "Arbour",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20)],
    boxes: [
        (id: "gate", from: "c1", feet: 37),
        (id: "bower", from: "gate", feet: 14),
        (id: "swing", from: "bower", feet: 16),
        (id: "hedge", from: "c2", feet: 30),
    ],
    loads: [(id: "urn", at: "bower", kind: Resistive(watts: 995), on: true)],
)"#;

const OPEN: &str = "neutral open at bower, line side";

fn live(faults: &[&str]) -> Live {
    Live::new(by_hand(ARBOUR, faults)).unwrap()
}

/// The verdict on a name, and how many of the faults named no test shows.
fn named(live: &mut Live, name: &str) -> (Verdict, usize) {
    match does(live, &format!("name {name}")) {
        Answer::Named { verdict, untested, .. } => (verdict, untested),
        other => panic!("{other:?}"),
    }
}

fn right(fault: usize, left: usize) -> Verdict {
    Verdict::Right { faults: vec![fault], left }
}

#[test]
fn a_guess_that_is_right_at_once_counts_half_and_costs_its_box() {
    let mut guess = live(&[OPEN]);
    assert_eq!(named(&mut guess, OPEN), (right(0, 0), 1));
    assert!((guess.spent_s() - 420.0).abs() < 1e-9, "{}", guess.spent_s());
    let score = guess.score();
    assert_eq!((score.solved, score.untested, score.points()), (true, 1, 50));
}

#[test]
fn a_fault_that_a_test_shows_counts_whole() {
    for test in ["read voltmeter at swing", "read tester at bower"] {
        let mut tested = live(&[OPEN]);
        does(&mut tested, test);
        assert_eq!(named(&mut tested, OPEN), (right(0, 0), 0), "{test}");
        assert_eq!(tested.score().points(), 100);
        assert!(tested.spent_s() > 420.0, "its box is opened to mend it");
    }
}

#[test]
fn a_test_that_shows_nothing_of_it_bears_nothing_out() {
    for test in
        ["read voltmeter at hedge", "urn off", "breaker c2 off", "prove hedge", "prove gate"]
    {
        let mut tested = live(&[OPEN]);
        does(&mut tested, test);
        assert_eq!(named(&mut tested, OPEN).1, 1, "{test}");
    }
}

#[test]
fn what_the_sheet_says_is_no_test_of_the_students() {
    let mut drill = by_hand(ARBOUR, &[OPEN]);
    let read = |live: &mut Live| match does(live, "read tester at bower") {
        Answer::Read { readings } => readings,
        other => panic!("{other:?}"),
    };
    drill.first = read(&mut Live::new(drill.clone()).unwrap());
    let mut again = Live::new(drill).unwrap();
    read(&mut again);
    assert_eq!(named(&mut again, OPEN).1, 1, "the same reading once more");
}

#[test]
fn a_fault_seen_in_its_box_is_paid_for_once() {
    let mut seen = live(&[OPEN]);
    for act in ["breaker c1 off", "prove bower", "open bower"] {
        does(&mut seen, act);
    }
    let before_s = seen.spent_s();
    assert_eq!(named(&mut seen, OPEN), (right(0, 0), 0));
    assert!((seen.spent_s() - before_s).abs() < 1e-9);
    assert_eq!(seen.score().points(), 100);
}

#[test]
fn what_trips_bears_a_short_out() {
    let mut short = live(&["hot and ground bridged at bower"]);
    does(&mut short, "breaker c1 on");
    assert_eq!(named(&mut short, "hot and ground bridged at bower").1, 0);
}

#[test]
fn wrong_names_before_the_right_one_cost_points_and_minutes() {
    let mut patient = live(&[OPEN]);
    does(&mut patient, "read voltmeter at swing");
    named(&mut patient, "hot open at bower, line side");
    named(&mut patient, "neutral open at swing, line side");
    assert_eq!(named(&mut patient, OPEN), (right(0, 0), 0));
    let score = patient.score();
    assert_eq!((score.wrong_names, score.points()), (2, 80));
    // Joint after joint: nothing is left of it.
    let all = Score { wrong_names: 12, ..score };
    assert_eq!(all.points(), 0);
}

#[test]
fn a_mended_fault_counts_once() {
    let faults = ["neutral open at bower, line side", "ground open at hedge, line side"];
    let mut twice = live(&faults);
    does(&mut twice, "read tester at swing");
    assert_eq!(named(&mut twice, faults[0]), (right(0, 1), 0));
    let spent_s = twice.spent_s();
    assert_eq!(named(&mut twice, faults[0]), (Verdict::Mended { left: 1 }, 0));
    assert!((twice.spent_s() - spent_s).abs() < 1e-9 && !twice.ended());
    assert_eq!(twice.score().wrong_names, 0);
    // Named with what is left, only that is new.
    assert_eq!(named(&mut twice, &faults.join("; ")), (right(1, 0), 1));
    let score = twice.score();
    assert_eq!((score.faults, score.untested, score.points()), (2, 1, 75));
}
