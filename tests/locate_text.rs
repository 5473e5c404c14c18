//! What the report of a search looks like, from figures that are given: those of the search
//! itself are `tests/locate_command.rs`.

#![cfg(feature = "json")]
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use slotwise::circuit::Vocabulary;
use slotwise::diagnosis::Because;
use slotwise::hazard::Severity;
use slotwise::report::json;
use slotwise::report::locate::{
    BranchReport, ConflictReport, ExpectedReading, ExplanationReport, FaultReport, GoToReport,
    LocateReport, NextReport, RepairReport, StopReport, SuspectReport, TestReport, WarningReport,
    WordReport,
};
use slotwise::report::text::{self, DangersSaid, Emphasis};

const TESTED: &str = "tester at kiln: hot-neutral dark, hot-ground lit, neutral-ground lit";

fn fault(sentence: &str, share: f64, place: &str) -> FaultReport {
    let boxes = vec![place.to_owned()];
    FaultReport { sentence: sentence.to_owned(), kind: "open_joint", share, boxes }
}

fn word(told: usize, times: Option<f64>, says: &str) -> WordReport {
    WordReport { told, times, says: says.to_owned() }
}

fn open_neutral() -> SuspectReport {
    SuspectReport {
        says: "neutral open between wheel, load side, and kiln, line side".into(),
        probability: 0.91,
        intermittent: 0.0,
        boxes: vec!["wheel".into(), "kiln".into()],
        faults: vec![
            fault("neutral open at kiln, line side", 0.55, "kiln"),
            fault("neutral open at wheel, load side", 0.45, "wheel"),
        ],
        parted_by: Some("opening kiln first, dead: 55 in 100 that it is there".into()),
        speaks_for: vec![word(1, None, TESTED), word(0, Some(40.0), "dead from kiln on")],
        speaks_against: Vec::new(),
    }
}

fn open_hot() -> SuspectReport {
    let would = "dead from kiln on; it would have shown hot-ground dark";
    SuspectReport {
        says: "hot open at kiln, line side".into(),
        probability: 0.04,
        intermittent: 0.0,
        boxes: vec!["kiln".into()],
        faults: vec![fault("hot open at kiln, line side", 1.0, "kiln")],
        parted_by: None,
        speaks_for: Vec::new(),
        speaks_against: vec![word(1, Some(0.02), would)],
    }
}

fn live_neutral() -> WarningReport {
    WarningReport {
        kind: "energised_neutral",
        severity: Severity::Danger,
        probability: 0.91,
        once_on: false,
        addresses: vec!["kiln.neutral".into(), "sink.neutral".into()],
        here: 0.91,
        says: "live neutral contact at kiln.neutral, sink.neutral".into(),
        advice: "Treat the neutral as live. Switch the circuit off at the panel before you open a \
                 box or touch a wire."
            .into(),
    }
}

fn too_little() -> WarningReport {
    WarningReport {
        kind: "under_voltage",
        severity: Severity::Warning,
        probability: 0.02,
        once_on: false,
        addresses: vec!["heater".into()],
        here: 0.02,
        says: "too little voltage at a load at heater".into(),
        advice: "Switch motors and compressors off until the cause is found.".into(),
    }
}

fn test() -> NextReport {
    let branch = |shows: &str, probability, suspect, suspect_probability| BranchReport {
        shows: shows.to_owned(),
        is_seen: false,
        boxes: Vec::new(),
        probability,
        suspect,
        suspect_probability,
    };
    NextReport::Test(TestReport {
        says: "Switch heater off. Then hold the non-contact detector to the slots of receptacle \
               wheel"
            .into(),
        instrument: "non-contact".into(),
        at: "wheel".into(),
        parting: None,
        breakers_off: Vec::new(),
        switch: vec!["heater off".into()],
        stands: Vec::new(),
        cost_second: 20.0,
        saves_second: Some(95.0),
        branches: vec![
            branch("hot beeps, neutral silent", 0.72, Some(0), Some(0.992)),
            branch("hot silent, neutral silent", 0.18, Some(1), Some(0.2)),
            branch("hot beeps, neutral beeps", 0.1, None, None),
        ],
    })
}

fn after_repair() -> Vec<ExpectedReading> {
    vec![ExpectedReading {
        instrument: "tester".into(),
        at: vec!["wheel".into(), "kiln".into()],
        shows: "hot-neutral lit, hot-ground lit, neutral-ground dark".into(),
    }]
}

fn stop() -> NextReport {
    let go_to = |place: &str, chance| GoToReport {
        place: place.to_owned(),
        handle: false,
        name: None,
        appliance: None,
        supply: false,
        service: false,
        chance,
        look_for: vec![format!("neutral open at {place}")],
    };
    NextReport::Stop(StopReport {
        stands: Vec::new(),
        says: "With the breaker off and the box proven dead, open kiln (55 %). Look for: neutral \
               open between wheel, load side, and kiln, line side (91 %)."
            .into(),
        because: Because::TestsCostMore,
        because_says: "every test left costs more than it saves in opening boxes".into(),
        go_to: vec![go_to("kiln", 0.55), go_to("wheel", 0.44)],
        cost_second: 610.0,
        after_repair: after_repair(),
    })
}

fn report(next: NextReport) -> LocateReport {
    LocateReport {
        circuit: "Pottery studio".into(),
        vocabulary: Vocabulary::NorthAmerican,
        told: vec!["dead from kiln on".into(), TESTED.into()],
        warnings: vec![live_neutral(), too_little()],
        next,
        suspects: vec![open_neutral(), open_hot()],
        explanations: vec![ExplanationReport { suspects: vec![0], probability: 0.9 }],
        nothing_wrong: 0.004,
        dead_loads: vec![],
        nothing_known: 0.01,
        overloads: vec![],
        conflicts: Vec::new(),
        unproven: vec!["A second fault that changes no reading stays as likely as before.".into()],
        mended: vec![],
    }
}

#[track_caller]
fn fits(text: &str) {
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

/// What is said between two answers to somebody who was told of no danger yet.
fn step(report: &LocateReport) -> String {
    text::locate_step(report, &mut DangersSaid::default(), Emphasis::PLAIN)
}

fn danger(kind: &'static str, probability: f64, advice: &str) -> WarningReport {
    let says = format!("{kind} at kiln");
    WarningReport {
        kind,
        probability,
        says,
        advice: format!("{advice}. And more besides."),
        ..live_neutral()
    }
}

#[test]
fn between_answers_each_grave_danger_is_said_once_and_again_when_it_is_graver_or_elsewhere() {
    let mut report = report(test());
    let high = |probability| danger("over_voltage", probability, "Switch off at once");
    let case = danger("energised_case", 0.4, "Touch nothing metal");
    let ground = danger("energised_ground", 0.3, "Touch nothing metal");
    let burns = danger("heating_joint", 0.2, "Take the load off");
    report.warnings = vec![live_neutral(), high(0.4), case, ground, burns, too_little()];
    let mut said = DangersSaid::default();
    let mut dangers = |report: &LocateReport| -> Vec<String> {
        let text = text::locate_step(report, &mut said, Emphasis::PLAIN);
        fits(&text);
        let before = text.split("Next ").next().unwrap().replace("\n       ", "");
        before.lines().map(str::to_owned).collect()
    };
    let first = dangers(&report);
    assert_eq!(first.len(), 3, "{first:?}");
    let whole = "touch a wire.";
    assert!(first[0].contains("live neutral") && first[0].ends_with(whole), "{first:?}");
    assert!(first[1].contains("over_voltage") && first[1].ends_with("at once."), "{first:?}");
    assert!(first[2].contains("energised_case"), "{first:?}");
    // What found no room is said next; the gravest every time.
    let second = dangers(&report);
    assert_eq!(second.len(), 3, "{second:?}");
    assert!(second[0].contains("live neutral") && second[1].contains("energised_ground"));
    assert!(second[0].ends_with("as live."), "whole the first time alone: {second:?}");
    assert!(second[2].contains("heating_joint"), "{second:?}");
    assert_eq!(dangers(&report).len(), 1);
    report.warnings[1] = high(0.7);
    let graver = dangers(&report);
    assert!(graver.len() == 2 && graver[1].contains("over_voltage"), "{graver:?}");
    report.warnings[1] = high(0.6);
    assert_eq!(dangers(&report).len(), 1, "less likely is not graver");
    report.warnings[1].addresses = vec!["attic".to_owned()];
    assert_eq!(dangers(&report).len(), 2, "likely, and elsewhere, is said again");
    assert_eq!(dangers(&report).len(), 1);
    let over = report.warnings.remove(1);
    assert_eq!(dangers(&report).len(), 1);
    report.warnings.insert(1, over);
    assert_eq!(dangers(&report).len(), 2, "what was over and is back is new");
    report.warnings[1].advice = report.warnings[0].advice.clone();
    let text = step(&report);
    assert!(text.contains("over_voltage"), "{text}");
    assert_eq!(text.matches("as live.").count(), 1, "the same advice is said once: {text}");
}

#[test]
fn what_a_test_may_show_adds_up_to_a_hundred() {
    let listed = |probabilities: &[f64]| {
        let NextReport::Test(mut test) = test() else { panic!() };
        let first = test.branches[0].clone();
        let branch =
            |probability: &f64| BranchReport { probability: *probability, ..first.clone() };
        test.branches = probabilities.iter().map(branch).collect();
        text::locate(&report(NextReport::Test(test)), Emphasis::PLAIN)
    };
    let few = listed(&[0.48, 0.24, 0.10]);
    assert!(few.contains("   18 % if anything else: say what it shows\n"), "{few}");
    let one = listed(&[0.4, 0.2, 0.1, 0.1, 0.05, 0.03]);
    assert!(one.contains("   15 % if anything else: 1 outcome more\n"), "{one}");
    let more = listed(&[0.4, 0.2, 0.1, 0.1, 0.05, 0.04, 0.03]);
    assert!(more.contains("   15 % if anything else: 2 outcomes more\n"), "{more}");
    let all = listed(&[0.6, 0.3, 0.1]);
    assert!(!all.contains("anything else"), "{all}");
}

#[test]
fn two_faults_that_are_there_together_are_no_alternatives() {
    let so_far = |probability| {
        let mut report = report(test());
        report.suspects[1].probability = 0.6;
        let suspects = vec![0, 1];
        report.explanations = vec![ExplanationReport { suspects, probability }];
        let text = step(&report).replace("\n        ", " ");
        text.lines().find(|line| line.starts_with("So far")).unwrap().to_owned()
    };
    assert!(so_far(0.55).contains("(91 %); and hot open at kiln"), "{}", so_far(0.55));
    assert!(so_far(0.1).contains("(91 %); else hot open at kiln"), "{}", so_far(0.1));
}

#[test]
fn a_step_says_how_switches_and_loads_are_to_stand() {
    let NextReport::Test(mut test) = test() else { panic!() };
    test.stands = vec!["heater on".into(), "den_switch open".into()];
    let report = report(NextReport::Test(test));
    let text = step(&report);
    fits(&text);
    assert!(text.contains("        It is read with heater on, den_switch open,"), "{text}");
    let whole = text::locate(&report, Emphasis::PLAIN);
    assert!(whole.contains("`with heater on, den_switch open`"), "{whole}");
}

#[test]
fn a_test_is_asked_for_with_what_each_outcome_means() {
    let text = text::locate(&report(test()), Emphasis::PLAIN);
    fits(&text);
    insta::assert_snapshot!(text);
}

#[test]
fn the_box_to_open_is_named_with_what_to_check_and_what_to_read_afterwards() {
    let text = text::locate(&report(stop()), Emphasis::PLAIN);
    fits(&text);
    insta::assert_snapshot!(text);
}

#[test]
fn what_was_found_is_repaired_and_read_again() {
    let found = "opened kiln: neutral loose at kiln, line side";
    let says = format!("{found}. Have it put right, then read every receptacle again");
    let repair = RepairReport { says, found: found.into(), after_repair: after_repair() };
    let text = step(&report(NextReport::Repair(repair)));
    fits(&text);
    insta::assert_snapshot!(text);
}

#[test]
fn two_faults_together_and_a_reading_that_fits_nothing_are_said() {
    let mut report = report(test());
    report.explanations = vec![ExplanationReport { suspects: vec![0, 1], probability: 0.88 }];
    let says = format!("`{TESTED}` fits nothing on the list of faults: worth repeating");
    report.conflicts = vec![ConflictReport { told: vec![1], says }];
    let text = text::locate(&report, Emphasis::PLAIN);
    fits(&text);
    assert!(text.contains("2 faults together explain this (88 %)"), "{text}");
    assert!(text.contains("What does not fit\n  `tester at kiln"), "{text}");
}

#[test]
fn a_stop_as_json_has_the_keys_of_the_page() {
    let value: serde_json::Value = serde_json::from_str(&json::locate(&report(stop()))).unwrap();
    let page = include_str!("../docs/json.md");
    let (_, section) = page.split_once("\n## `locate`\n").unwrap();
    let mut keys = Vec::new();
    gather(&value, &mut keys);
    let test: serde_json::Value = serde_json::from_str(&json::locate(&report(test()))).unwrap();
    gather(&test, &mut keys);
    let common = ["format", "tool", "tool_version", "report", "caution", "circuit", "vocabulary"];
    for key in keys.iter().filter(|key| !common.contains(&key.as_str())) {
        assert!(section.contains(&format!("`{key}`")), "`{key}` is not on the page");
    }
}

/// Every key, at any depth.
fn gather(value: &serde_json::Value, keys: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(fields) => {
            for (key, value) in fields {
                keys.push(key.clone());
                gather(value, keys);
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| gather(item, keys)),
        _ => {}
    }
}
