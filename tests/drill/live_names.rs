//! What a name is worth in a live drill: what is wrong, something like it, or near it.

use slotwise::drill::live::{Answer, Live, Looked, Verdict};

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

fn live(faults: &[&str]) -> Live {
    Live::new(by_hand(ARBOUR, faults)).unwrap()
}

fn named(live: &mut Live, name: &str) -> (Verdict, Option<Looked>) {
    match does(live, &format!("name {name}")) {
        Answer::Named { verdict, in_vain, .. } => (verdict, in_vain),
        other => panic!("{other:?}"),
    }
}

fn right(fault: usize, left: usize) -> (Verdict, Option<Looked>) {
    (Verdict::Right { faults: vec![fault], left }, None)
}

#[test]
fn a_name_that_shows_like_one_fault_leaves_the_other_to_be_found() {
    let faults = ["hot and neutral exchanged at gate", "ground open at hedge, line side"];
    // One by one: what is named first is not held against what is named next.
    let mut one = live(&faults);
    assert_eq!(named(&mut one, faults[0]), right(0, 1));
    assert_eq!(named(&mut one, faults[1]), right(1, 0));
    // What shows like the one is worth the one.
    let mut alike = live(&["hot and neutral exchanged at gate, load side", faults[1]]);
    let both_ends = "hot and neutral exchanged at bower, line side";
    assert_eq!(named(&mut alike, both_ends).0, Verdict::Alike { faults: vec![0], left: 1 });
    assert!(!alike.ended() && !alike.score().solved);
    assert_eq!(named(&mut alike, faults[1]), right(1, 0));
    assert!(alike.ended());
}

#[test]
fn what_the_supply_delivers_is_named_within_three_percent_whatever_else_is_wrong() {
    let supply = by_hand(ARBOUR, &[]).circuit;
    let all = slotwise::condition::catalogue::catalogue(&supply);
    let high = all.faults().iter().map(|fault| fault.sentence(&supply));
    let high = high.into_iter().find(|says| says.contains("winding") && says.contains("132"));
    let high = high.unwrap();
    let exchanged = "hot and neutral exchanged at gate";
    for faults in [vec![high.as_str()], vec![exchanged, high.as_str()]] {
        let mut live = live(&faults);
        if faults.len() > 1 {
            named(&mut live, exchanged);
        }
        let before_s = live.spent_s();
        assert_eq!(named(&mut live, "supply 125 V"), (Verdict::OtherKind, Some(Looked::Supply)));
        let spent_s = live.spent_s() - before_s;
        assert!(spent_s < 200.0, "no box was opened in vain: {spent_s}");
        assert!(matches!(named(&mut live, "supply 130 V").0, Verdict::Right { left: 0, .. }));
    }
}

#[test]
fn what_was_hidden_shows_once_the_first_is_named_and_mended() {
    let faults = ["hot open at bower, line side", "hot and neutral exchanged at swing, line side"];
    let mut live = live(&faults);
    let read = |live: &mut Live| match does(live, "read tester at swing") {
        Answer::Read { readings } => {
            readings.iter().map(|one| one.shows.clone()).collect::<String>()
        }
        other => panic!("{other:?}"),
    };
    let before = read(&mut live);
    assert!(!before.contains("lit"), "{before}");
    assert_eq!(named(&mut live, faults[0]), right(0, 1));
    let after = read(&mut live);
    assert!(after.contains("lit"), "{after}");
    assert_eq!(named(&mut live, faults[1]), right(1, 0));
}

#[test]
fn a_bad_joint_called_open_is_at_the_right_place_and_of_the_wrong_kind() {
    let circuit = by_hand(ARBOUR, &[]).circuit;
    let all = slotwise::condition::catalogue::catalogue(&circuit);
    let bad = all.faults().iter().map(|fault| fault.sentence(&circuit));
    let bad: Vec<String> = bad
        .filter(|says| says.starts_with("hot ") && says.contains("ohm at bower, line"))
        .collect();
    let bad = bad.first().unwrap();
    let mut live = live(&[bad]);
    assert_eq!(named(&mut live, "hot open at bower, line side").0, Verdict::OtherKind);
    assert!(!live.ended());
    let other_ohms = named(&mut live, "hot 17 ohm at bower, line side");
    assert_eq!(other_ohms, right(0, 0), "the ohms are nobody's to know");
}

#[test]
fn a_wrong_name_of_the_service_opens_no_box() {
    let mut live = live(&["neutral open at hedge, line side"]);
    assert_eq!(named(&mut live, "service L1 open"), (Verdict::Wrong, Some(Looked::Supply)));
}

#[test]
fn what_was_seen_not_to_be_so_in_an_open_box_is_not_taken_as_right_for_reading_alike() {
    let truth = ["hot and neutral exchanged at gate, load side"];
    let both_ends = "hot and neutral exchanged at bower, line side";
    assert!(matches!(named(&mut live(&truth), both_ends).0, Verdict::Alike { .. }));
    let mut opened = live(&truth);
    for line in ["breaker c1 off", "prove bower", "open bower"] {
        does(&mut opened, line);
    }
    let verdict = named(&mut opened, both_ends).0;
    assert!(!matches!(verdict, Verdict::Alike { .. } | Verdict::Right { .. }), "{verdict:?}");
    assert_eq!(named(&mut opened, truth[0]), right(0, 0));
}
