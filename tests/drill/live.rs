//! Live drills: played from a script, start to score, and against everything a student may type.

use assert_cmd::Command;
use slotwise::condition::catalogue::FaultKind;
use slotwise::condition::{Condition, Fault, Gap};
use slotwise::drill::live::{Act, Answer, Live, UnsafeAct, Verdict};
use slotwise::drill::{Drill, Family, Wanted};

use crate::support::{does, drawn, family, family_text};

/// A workshop with one open joint, and the box it is in.
fn open_joint() -> (Live, String) {
    open_joint_where(|_, _| true)
}

/// The same where the drill and the box are such.
fn open_joint_where(such: impl Fn(&Drill, &str) -> bool) -> (Live, String) {
    let pigtails = family_text("workshops").replace("feed_through: 0.4", "feed_through: 0");
    let family = Family::read(&pigtails).unwrap();
    let wanted = Wanted { kinds: vec![FaultKind::OpenJoint], faults: Some(1), ..Wanted::default() };
    let mut numbers = 0..50;
    let found = numbers.find_map(|number| {
        let drill = Drill::draw(&family, 11, number, &wanted).unwrap();
        let place = drill.faults[0].places.first()?.clone();
        (place != "panel" && such(&drill, &place)).then_some((drill, place))
    });
    let (drill, place) = found.unwrap();
    (Live::new(drill).unwrap(), place)
}

#[test]
fn a_fault_looked_for_in_the_right_order_is_found_without_a_remark() {
    let (mut live, place) = open_joint();
    let at = live.drill().first[0].at.clone();
    assert!(matches!(does(&mut live, &format!("read tester at {at}")), Answer::Read { .. }));
    assert!((live.spent_s() - 20.0).abs() < 1e-9);
    assert_eq!(
        does(&mut live, "breaker c1 off"),
        Answer::Set { tripped: vec![], warnings: vec![] }
    );
    let Answer::Proved { volt, .. } = does(&mut live, &format!("prove {place}")) else { panic!() };
    assert!(volt < 5.0, "{volt}");
    let Answer::Opened { found, warning, .. } = does(&mut live, &format!("open {place}")) else {
        panic!()
    };
    assert_eq!(warning, None);
    assert_eq!(found.len(), 1);
    let right = does(&mut live, &format!("name {}", found[0]));
    let verdict = Verdict::Right { faults: vec![0], left: 0 };
    assert_eq!(right, Answer::Named { verdict, in_vain: None, untested: 0 });
    assert!(live.ended());
    let score = live.score();
    assert!(score.solved && score.unsafe_acts.is_empty() && score.wrong_names == 0);
    assert!((score.minutes - (20.0 + 60.0 + 60.0 + 300.0_f64) / 60.0).abs() < 0.05, "{score:?}");
    assert!(live.act(&Act::GiveUp).is_err(), "it is over");
}

#[test]
fn a_box_opened_live_stays_closed_and_is_pointed_out() {
    let live_box = |live: &mut Live| {
        let boxes: Vec<String> = live
            .drill()
            .circuit
            .parts()
            .places
            .iter()
            .filter(|place| place.id != "panel" && live.drill().circuit.place(&place.id).is_some())
            .map(|place| place.id.clone())
            .collect();
        boxes.into_iter().find(|place| match live.understand(&format!("prove {place}")) {
            Ok(act) => matches!(live.act(&act), Ok(Answer::Proved { volt, .. }) if volt > 50.0),
            Err(_) => false,
        })
    };
    let (mut live, _) = open_joint();
    let place = live_box(&mut live).unwrap();
    let before = live.spent_s();
    let answer = does(&mut live, &format!("open {place}"));
    assert!(matches!(answer, Answer::Stopped(UnsafeAct::OpenedLive { .. })), "{answer:?}");
    assert!(live.spent_s() - before >= 900.0);
    // Dead, and one instrument trusted for it.
    does(&mut live, "breaker c1 off");
    does(&mut live, &format!("read non-contact at {place}"));
    let Answer::Opened { warning, .. } = does(&mut live, &format!("open {place}")) else {
        panic!()
    };
    let trusted = UnsafeAct::NotProven { place: place.clone(), after_one_instrument: true };
    assert_eq!(warning, Some(trusted));
    // A breaker closed again undoes every proof.
    does(&mut live, &format!("prove {place}"));
    does(&mut live, "breaker c1 on");
    does(&mut live, "breaker c1 off");
    let Answer::Opened { warning, .. } = does(&mut live, &format!("open {place}")) else {
        panic!()
    };
    assert!(warning.is_some());
    assert_eq!(live.score().unsafe_acts.len(), 3);
}

#[test]
fn a_wrong_name_costs_a_box_and_a_fault_none_can_tell_apart_counts() {
    let (mut live, _) = open_joint();
    let before = live.spent_s();
    let wrong = does(&mut live, "name electrode panel open");
    let near =
        matches!(wrong, Answer::Named { verdict: Verdict::Wrong | Verdict::RightConductor, .. });
    assert!(near, "{wrong:?}");
    assert!((live.spent_s() - before - 420.0).abs() < 1e-9);
    assert!(!live.ended());
    does(&mut live, "give up");
    assert!(live.ended() && !live.score().solved);
    assert_eq!(live.score().points(), 0);
}

#[test]
fn opening_a_box_takes_what_the_help_says() {
    let (mut live, place) = open_joint();
    does(&mut live, "breaker c1 off");
    does(&mut live, &format!("prove {place}"));
    let before_s = live.spent_s();
    does(&mut live, &format!("open {place}"));
    let minutes = (live.spent_s() - before_s) / 60.0;
    let help = slotwise::report::text::LIVE_HELP;
    let line = help.lines().find(|line| line.trim_start().starts_with("open PLACE")).unwrap();
    assert!(line.contains(&format!(" {minutes:.0} min")), "{minutes}: {line}");
}

/// The conductor of a drill's open joint broken inside the cable before the box.
fn broken(drill: &Drill, place: &str, at_fraction: f64) -> Act {
    let fault = Fault::Broken {
        cable: drill.circuit.place(place).unwrap().line_cables[0].clone(),
        conductor: drill.faults[0].conductors[0].clone(),
        at_fraction,
        gap: Gap::NONE,
    };
    Act::Name(Condition { faults: vec![fault], ..Condition::default() })
}

#[test]
fn a_fault_that_no_instrument_can_tell_from_the_real_one_counts() {
    let verdict = Verdict::Alike { faults: vec![0], left: 0 };
    // Nothing was measured here: it is right, and a guess.
    let alike = Answer::Named { verdict, in_vain: None, untested: 1 };
    // Far from the box more of the conductor floats, which shows where the cable is long enough.
    let shows_far_alone = |drill: &Drill, place: &str| {
        let is_line_side = drill.faults[0].sentence(&drill.circuit).contains("line side");
        let name = |at| Live::new(drill.clone()).unwrap().act(&broken(drill, place, at)).unwrap();
        is_line_side && name(0.01) != alike && name(0.99) == alike
    };
    let (mut live, place) = open_joint_where(shows_far_alone);
    let near = broken(live.drill(), &place, 0.99);
    assert_eq!(live.act(&near).unwrap(), alike, "a hand's breadth before the box");
    assert!(live.ended() && live.score().solved);
}

#[test]
fn a_line_that_means_nothing_is_answered_and_costs_nothing() {
    let (mut live, _) = open_joint();
    for line in [
        "",
        " ",
        "read",
        "read tester",
        "read tester at nowhere",
        "read crystal-ball at door",
        "open",
        "open sesame",
        "prove",
        "prove panel",
        "open panel",
        "name",
        "name nothing",
        "name heater on",
        "neutral open at door",
        "give it",
        "breaker c9 off",
        "\u{0}\u{7f}",
        "name name name",
        "((((((((",
        "read tester at door at door at door",
    ] {
        let outcome = live.understand(line).and_then(|act| live.act(&act));
        let problem = outcome.expect_err(line);
        assert!(!problem.message.is_empty());
    }
    assert!(live.understand(&"x".repeat(100_000)).is_err());
    assert!(live.spent_s().abs() < 1e-9 && !live.ended());
}

fn played(script: &[u8]) -> (String, bool) {
    let mut command = Command::cargo_bin("slotwise").unwrap();
    command.args(["drill", "--live", "--quick", "--seed", "54"]);
    let output = command.write_stdin(script).output().unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.success())
}

#[test]
fn a_live_drill_is_played_over_a_pipe_from_sheet_to_score() {
    let fault = slotwise::condition::words::describe(
        &Drill::draw(&family("workshops"), 54, 0, &Wanted::default()).unwrap().circuit,
        &Drill::draw(&family("workshops"), 54, 0, &Wanted::default()).unwrap().condition,
    )
    .join("; ");
    let (said, good) = played(format!("help\ntime\nname {fault}\n").as_bytes());
    assert!(good, "{said}");
    assert!(said.contains("Right: that is what is wrong."), "{said}");
    assert!(said.contains("Found in 2 minutes"), "who may work at the panel is called: {said}");
    assert!(said.contains("No test of yours shows it"), "{said}");
    assert!(said.replace('\n', " ").contains("50 points of 100"), "{said}");
    assert!(said.contains("Answer key"), "{said}");
    assert_eq!(said.matches("A model proves nothing dead").count(), 1, "once an output: {said}");
}

#[test]
fn hostile_input_at_the_prompt_does_no_harm() {
    let mut script = vec![b'a'; 100_000];
    script.extend(b"\n\xff\xfe\x1b[2J\x00\nopen \xf0\x9f\x92\xa5\n\r\n\t\nname ");
    script.extend(vec![b'('; 5000]);
    // It ends without a line break, and without giving up.
    let (said, good) = played(&script);
    assert!(good, "{said}");
    assert!(said.contains("Not found"), "{said}");
    assert!(!said.contains('\u{1b}'), "nothing that a terminal obeys is echoed");
}

#[test]
fn a_breaker_that_trips_as_found_stays_off_until_it_is_closed_and_trips_again() {
    let mut numbers = 0..60;
    let drill = numbers.find_map(|number| {
        let drill = drawn("workshops", number);
        let trips = drill.complaints.iter().any(|said| {
            matches!(said, slotwise::diagnosis::Complaint::Trips { breaker, when }
                if breaker == "c1" && *when == slotwise::diagnosis::WhenItTrips::AtOnce)
        });
        trips.then_some(drill)
    });
    let mut live = Live::new(drill.unwrap()).unwrap();
    let answer = does(&mut live, "breaker c1 on");
    assert_eq!(answer, Answer::Set { tripped: vec!["c1".to_owned()], warnings: vec![] });
}

#[test]
fn a_line_that_is_nearly_right_is_told_what_to_say() {
    let (live, _) = open_joint();
    let at = live.drill().first[0].at.clone();
    let said = |line: &str| live.understand(line).unwrap_err().to_string();
    let reads = said(&format!("tester at {at}: hot-neutral lit"));
    assert!(reads.contains(&format!("read tester at {at}")), "{reads}");
    for line in ["tester lit", "foo", "name ground open at kitchen", "open sesame"] {
        let said = said(line);
        assert!(said.contains("`help`") || said.contains("there are: "), "{line}: {said}");
        assert!(!said.contains("there are: for example"), "{said}");
        assert!(!said.contains("panel"), "it stays closed: {said}");
    }
}
