//! `slotwise locate` as someone at a terminal or another program meets it.

#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::process::Output;

use assert_cmd::Command;

const KIOSK: &str = "tests/locate/kiosk.ron";
const URN: &str = "tests/locate/urn.ron";

fn locate(arguments: &[&str], answers: &str) -> Output {
    let mut command = Command::cargo_bin("slotwise").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).arg("locate").args(arguments);
    command.write_stdin(answers).output().unwrap()
}

#[track_caller]
fn prints(arguments: &[&str], answers: &str) -> String {
    let output = locate(arguments, answers);
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{err}");
    String::from_utf8(output.stdout).unwrap()
}

#[track_caller]
fn says(arguments: &[&str], code: i32) -> String {
    let output = locate(arguments, "");
    assert_eq!(output.status.code(), Some(code));
    assert!(output.stdout.is_empty());
    String::from_utf8(output.stderr).unwrap()
}

/// Probabilities change with every better judgement of them; what is said does not.
#[test]
fn an_open_neutral_is_told_from_what_was_seen() {
    let text = prints(&[KIOSK, "--observations", URN], "");
    reads_well(&text, 0);
    let suspects = text.split("Suspects\n").nth(1).unwrap();
    let leading = suspects.lines().next().unwrap();
    assert!(leading.contains("neutral open") && leading.contains("urn"), "{text}");
    for part in [
        "        for:     ",
        "As understood\n  urn dead\n",
        "  tester at urn: hot-neutral dim, hot-ground lit, neutral-ground dim",
        "nothing is wrong",
        "something that is on no list",
        "What stays unproven",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

/// Whatever the danger, what to do next is in sight; lines fit, and the caution is said once.
#[track_caller]
fn reads_well(text: &str, answer: usize) {
    let first: Vec<&str> = text.lines().skip(answer).take(5).collect();
    assert!(first.iter().any(|line| line.starts_with("Next ")), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert_eq!(text.matches("A model proves nothing dead").count(), 1, "{text}");
}

#[test]
fn the_json_holds_what_the_text_says() {
    let text = prints(&[KIOSK, "--observations", URN, "--json"], "");
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["format"], 1);
    assert_eq!(json["report"], "locate");
    assert!(json["caution"].as_str().unwrap().contains("proves nothing dead"));
    assert_eq!(json["told"][0], "urn dead");
    let suspects = json["suspects"].as_array().unwrap();
    let leading = &suspects[0];
    assert!(leading["says"].as_str().unwrap().starts_with("neutral open"), "{leading}");
    assert!(leading["boxes"].as_array().unwrap().contains(&"urn".into()));
    let probability = |one: &serde_json::Value| one["probability"].as_f64().unwrap();
    let sets: f64 = json["explanations"].as_array().unwrap().iter().map(probability).sum();
    let unknown = json["nothing_known"].as_f64().unwrap();
    // The sets listed are the likeliest; the rest and rounding make up what is missing.
    assert!(sets + unknown > 0.9 && sets + unknown < 1.0 + 1e-9, "{sets} {unknown}");
    assert!(["test", "stop"].contains(&json["next"]["kind"].as_str().unwrap()));
}

#[test]
fn step_by_step_the_fault_is_found_over_a_pipe() {
    let answers = "not sure\n\
                   tester at hatch: hot-neutral lit, hot-ground lit, neutral-ground dark\n\
                   tester at urn: hot-neutral gloomy\n\
                   hot-neutral dim, hot-ground lit, neutral-ground dim\n\
                   opened urn: neutral loose, line side\n\
                   quit\n\
                   tester at hatch: all dark\n"; // Not read: the search has ended.
    let text = prints(&[KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"], answers);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(text.contains("`gloomy` is not how bright an indicator is"), "{text}");
    let (before, after) = text.split_once("Found   opened urn: neutral loose").unwrap();
    assert_eq!(before.matches("> ").count(), 5, "{text}");
    assert!(after.contains("Once it is put right say `mended urn`"), "{text}");
    let leading = after.split("Suspects\n").nth(1).unwrap().lines().next().unwrap();
    assert!(leading.ends_with("neutral open at urn, line side"), "{text}");
    assert!(
        after.contains(
            "After the repair, everything should read\n  tester at hatch, urn: hot-neutral lit"
        ),
        "{text}"
    );
    assert!(!after.contains("all dark"), "the search ended before that: {text}");
}

#[test]
fn after_a_repair_the_search_goes_on_with_what_is_left() {
    let call = [KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"];
    let found = "opened urn: neutral loose, line side\n";
    let good = "tester at urn: hot-neutral lit, hot-ground lit, neutral-ground dark\n";
    let said = prints(&call, &format!("{found}mended\n{good}"));
    let alone = prints(&call, &format!("{found}mended urn\n{good}"));
    assert_eq!(said, alone, "the box that was opened last need not be named");
    assert!(said.contains("what was found is mended"), "{said}");
    assert!(said.contains("So far  nothing else is wrong"), "{said}");
    // Who reads a receptacle after a fault was found has mended it first.
    let unsaid = prints(&call, &format!("{found}{good}"));
    assert!(unsaid.contains("Heard as seen after `mended urn`"), "{unsaid}");
    assert!(unsaid.contains("what was found is mended"), "{unsaid}");
    let back = prints(&call, &format!("{found}{good}back\nquit\n"));
    assert!(back.split("quit").last().unwrap().contains("Found   opened urn"), "{back}");
    let dead = prints(&call, &format!("{found}mended\nurn still dead\n"));
    assert!(dead.contains("since then urn dead"), "{dead}");
}

/// What was told, as it was understood at the end.
#[track_caller]
fn understood(arguments: &[&str], answers: &str) -> String {
    let text = prints(arguments, answers);
    let told = text.rsplit("As understood\n").next().unwrap();
    told.split("\n\n").next().unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_names_its_own_place_is_heard_as_that_whatever_was_asked() {
    // A test is asked for at a receptacle, or a box is to be opened or to be parted.
    let kiosk = [KIOSK, "urn dead", "--step", "--with", "tester"];
    for found in ["bootleg ground", "neutral loose, line side", "hot and neutral exchanged"] {
        for before in ["c1 holds\n", "c1 holds\nopened urn: nothing found\n", "skip\n"] {
            let told = understood(&kiosk, &format!("{before}opened hatch: {found}\n"));
            assert!(told.contains("opened hatch: "), "{found}: {told}");
            let apart = told.split("opened hatch: ").nth(1).unwrap();
            assert!(!apart.starts_with("nothing") && !apart.contains("opened urn"), "{told}");
        }
    }
    let mut parted = TRIPS.to_vec();
    parted.push("--step");
    let text = prints(&parted, "");
    let place = text.split(" and look at").next().unwrap();
    let place = place.rsplit("open ").next().unwrap().split_whitespace().next().unwrap().to_owned();
    let other = if place == "stove" { "gate" } else { "stove" };
    let told = understood(&parted, &format!("opened {other}: bootleg ground\n"));
    assert!(told.contains(&format!("opened {other}: ")), "{told}");
    assert!(!told.contains(&format!("opened {place}: ")), "{told}");
    let told = understood(&parted, "bootleg ground\n");
    assert!(told.contains(&format!("opened {place}: ")), "{told}");
}

#[test]
fn half_an_answer_is_asked_for_the_other_half_once() {
    let mut parted = TRIPS.to_vec();
    parted.push("--step");
    let text = prints(&parted, "");
    let place = text.split(" and look at").next().unwrap();
    let place = place.rsplit("open ").next().unwrap().split_whitespace().next().unwrap().to_owned();
    let nothing = format!("opened {place}: nothing found\n");
    let text = prints(
        &parted,
        &format!("{nothing}hot-neutral 0.3 ohm, hot-ground OL, neutral-ground OL\n"),
    );
    assert_eq!(text.matches("And beyond it?").count(), 1, "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let end = text.split("As understood").nth(1).unwrap();
    assert!(end.contains(&format!("ohmmeter beyond {place}: hot-neutral 0.3 ohm")), "{end}");
    assert_eq!(end.matches(nothing.trim()).count(), 1, "{end}");
    // Who has no meter is not asked for it for ever.
    let text = prints(&parted, &format!("{nothing}skip\n"));
    assert_eq!(text.matches("And beyond it?").count(), 1, "{text}");
}

#[test]
fn what_comes_of_closing_it_with_nothing_plugged_in_is_heard_as_that() {
    let mill = ["tests/locate/mill.ron", "c1 trips at once", "--step"];
    let asked = prints(&mill, "");
    assert!(asked.contains("unplug everything that it feeds"), "{asked}");
    for (answer, did) in
        [("trips at once", "trips at once"), ("it holds", "holds"), ("holds", "holds")]
    {
        let told = understood(&mill, &format!("{answer}\n"));
        let heard = format!("breaker c1 {did} with heater unplugged, lamp unplugged");
        assert!(told.contains(&heard), "{answer}: {told}");
    }
    let told = understood(&mill, "c1 trips at once with heater unplugged\n");
    assert!(told.contains("heater unplugged"), "{told}");
}

#[test]
fn what_a_meter_says_of_a_cable_that_is_taken_off_is_not_found_in_the_box() {
    let mut parted = TRIPS.to_vec();
    parted.push("--step");
    let short = [
        "short between hot and neutral",
        "hot and neutral shorted",
        "dead short between hot and neutral",
        "a short between hot and neutral, hot-ground OL",
    ];
    for said in short {
        let told = understood(&parted, &format!("{said}\n"));
        assert!(told.contains(": hot-neutral under 10 ohm"), "{said}: {told}");
        assert!(told.contains(": nothing found") && !told.contains("bridged"), "{said}: {told}");
    }
    let told = understood(&parted, "hot-neutral 0.3 ohm\n");
    assert!(told.contains(": hot-neutral 0.3 ohm") && told.contains(": nothing found"), "{told}");
    let all = "hot-neutral OL, hot-ground OL, neutral-ground OL\n";
    let all = understood(&parted, all);
    for said in ["OL everywhere", "open between all", "all OL", "OL OL OL", "OL, OL and OL"] {
        assert_eq!(understood(&parted, &format!("{said}\n")), all, "{said}");
    }
    let none = understood(&parted, "no shorts\n");
    assert!(none.contains("neutral-ground over 10 ohm"), "{none}");
    let found = understood(&parted, "hot and neutral bridged\n");
    assert!(found.contains(": hot and neutral bridged"), "{found}");
}

#[test]
fn a_handle_that_nobody_looks_at_is_not_asked_for_again() {
    let step = ["tests/locate/pavilion.ron", "everything on c1 dead", "--step"];
    for said in ["skip", "not sure", "no", "not tripped", "none is off", "nothing is tripped"] {
        let text = prints(&step, &format!("{said}\n"));
        let (before, after) = text.split_once("\n> ").unwrap();
        assert!(before.contains("Look at the handles"), "{text}");
        let after = after.split("\n> ").next().unwrap();
        assert!(after.contains("Next    "), "{said}: {text}");
        assert!(
            !after.contains("Look at the handles at panel first (breaker c1"),
            "{said}: {text}"
        );
    }
    let told = |said: &str| understood(&step, &format!("{said}\n"));
    assert_eq!(told("no"), told("c1 holds"));
    assert!(!told("skip").contains("holds"));
    assert!(told("all the breakers are on").contains("breaker c2 holds"));
    assert!(told("nothing is tripped").contains("breaker c2 holds"));
    assert!(!told("no\nback").contains("holds") && !told("no\nundo").contains("holds"));
}

#[test]
fn what_an_instrument_shows_may_be_said_in_the_order_in_which_the_test_lists_it() {
    let told = |tool: &str, said: &str| {
        let step = [KIOSK, "urn dead", "--step", "--with", tool];
        understood(&step, &format!("c1 holds\n{said}\n"))
    };
    let tester = told("tester", "hot-neutral dim, hot-ground lit, neutral-ground dark");
    assert_eq!(told("tester", "dim lit dark"), tester);
    assert_eq!(told("tester", "dim, lit and dark"), tester);
    let dark = told("tester", "all dark");
    for said in ["dark", "dead", "still dead", "it is still dead", "dark dark dark"] {
        assert_eq!(told("tester", said), dark, "{said}");
    }
    let meter = told("voltmeter", "hot-neutral 60 V, hot-ground 119.7 V, neutral-ground 0.2 V");
    assert!(meter.contains("neutral-ground 0.2 V"), "{meter}");
    assert_eq!(told("voltmeter", "60 119.7 0.2"), meter);
    assert_eq!(told("voltmeter", "60 V, 119.7 V, 0.2 V"), meter);
    let loaded = told("voltmeter", "60 119.7 0.2 with boiler on");
    assert!(loaded.contains("neutral-ground 0.2 V with boiler on"), "{loaded}");
}

#[test]
fn what_trips_again_is_what_was_said_to_trip() {
    let mut step = TRIPS.to_vec();
    step.push("--step");
    let told = |said: &str| understood(&step, &format!("{said}\n"));
    let full = told("c1 trips at once");
    for said in ["still trips", "it trips again", "trips again", "it trips again straight away"] {
        assert_eq!(told(said), full, "{said}");
    }
    assert!(told("it trips again with heater unplugged").contains("at once with heater unplugged"));
    // Where nothing was said to trip it is the only breaker that there is.
    let text = prints(&[KIOSK, "urn dead", "--step", "--with", "tester"], "skip\nit trips again\n");
    let told = text.rsplit("As understood").next().unwrap();
    assert!(told.contains("breaker c1 trips at once"), "{text}");
}

#[test]
fn what_is_still_dead_after_a_repair_answers_the_look_that_is_asked_for_then() {
    let call = [KIOSK, "urn dead", "--step", "--with", "tester"];
    let found = "opened urn: neutral loose, line side\nmended\n";
    let told = understood(&call, &format!("{found}since then urn dead\n"));
    assert!(told.contains("mended urn since then urn dead"), "{told}");
    let told = understood(&call, &format!("{found}still dead\n"));
    assert!(told.contains("mended urn tester at urn: hot-neutral dark, hot-ground dark"), "{told}");
    for said in ["it works now", "works again", "power is back"] {
        let told = understood(&call, &format!("{found}{said}\n"));
        assert!(told.contains("mended urn since then urn works"), "{said}: {told}");
        let before = understood(&call, &format!("{said}\n"));
        assert!(!before.contains("urn works"), "nothing was put right: {before}");
    }
    let load = [KIOSK, "boiler dead", "--step", "--with", "tester"];
    let told = understood(&load, &format!("{found}it works now\n"));
    assert!(told.contains("mended urn boiler runs"), "{told}");
}

#[test]
fn an_answer_that_is_taken_back_was_never_given() {
    let asked = |answers: &str| {
        let arguments = [KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"];
        let text = prints(&arguments, answers);
        text[text.rfind("> ").unwrap()..].to_owned()
    };
    let right = "tester at urn: hot-neutral dim, hot-ground lit, neutral-ground dim\n";
    let wrong = "tester at urn: all dark\n";
    let plain = asked(right);
    assert_ne!(plain, asked(wrong));
    assert_eq!(plain, asked(&format!("{wrong}back\n{right}")));
    assert_eq!(plain, asked(&format!("skip\nback\n{wrong}not sure\nback\nback\n{right}")));
    let nothing = prints(&[KIOSK, "--complaint", "urn dead", "--step"], "back\n");
    assert!(nothing.contains("There is no answer to take back."), "{nothing}");
}

#[test]
fn why_can_be_asked_and_the_end_may_come_at_any_time() {
    let text = prints(&[KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"], "why\n");
    assert!(text.contains("Suspects") && text.contains("for:     urn dead"), "{text}");
    assert!(text.contains("As understood"), "the whole is said at the end: {text}");
    // After the caution and what can be typed.
    let answer = text.lines().position(|line| line.starts_with("  quit ")).unwrap() + 2;
    // Nothing stands above what to do next but the dangers that are new.
    let above = text.lines().skip(answer).take_while(|line| !line.starts_with("Next "));
    let above: Vec<&str> = above.collect();
    assert!(above.iter().all(|line| line.starts_with("DANGER") || line.starts_with("   ")));
    let dangers = above.iter().filter(|line| line.starts_with("DANGER")).count();
    assert!(dangers <= 3, "{text}");
    reads_well(&text, answer + above.len());
}

#[test]
fn words_that_mean_nothing_are_answered_all_at_once() {
    let err = says(
        &[KIOSK, "--complaint", "dead from urm on", "--saw", "tester at hatch: left lamp lit"],
        1,
    );
    insta::assert_snapshot!(err);
}

#[test]
fn a_wrong_name_hides_no_wrong_sentence() {
    let wrong = ["--with", "foometer", "--confidence", "3", "--complaint", "dead from urm on"];
    let err = says(&[&[KIOSK], &wrong[..]].concat(), 2);
    for part in ["`foometer`", "3 is no share", "the words typed:1:11", "`urn`"] {
        assert!(err.contains(part), "{part}: {err}");
    }
    let clash = says(&[KIOSK, "--complaint", "urn dead", "--complaint", "urn works"], 1);
    assert!(clash.contains("`urn works`") && clash.contains("`urn dead`"), "{clash}");
}

#[test]
fn an_answer_of_all_dark_is_what_was_held_and_no_dead_house() {
    let mill = "tests/locate/mill.ron";
    for said in ["skip\nall dark\nquit\n", "all dark\nquit\n", "all dead\nquit\n"] {
        let dark = prints(&[mill, "stove dead", "--with", "non-contact", "--step"], said);
        assert!(!dark.contains("everything on c1 dead"), "{dark}");
    }
    let dark = "skip\nall dark\nquit\n";
    let heard = prints(&[mill, "stove dead", "--with", "non-contact", "--step"], dark);
    let (_, understood) = heard.split_once("As understood").unwrap();
    assert!(understood.contains("non-contact at hopper: neutral silent"), "{heard}");
}

#[test]
fn what_was_found_off_is_closed_before_a_test_behind_it() {
    let mill = "tests/locate/mill.ron";
    let saw = ["stove dead", "--saw", "c1 found off"];
    let off = prints(&[&[mill][..], &saw].concat(), "");
    let closed = prints(&[&[mill][..], &saw, &["--saw", "c1 holds"]].concat(), "");
    let says = "c1 was found off: before that close it once";
    let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!one_line(&closed).contains(says), "{closed}");
    assert!(one_line(&off).contains("c1"), "{off}");
    assert!(one_line(&off).contains(says) || one_line(&off).contains("closed once"), "{off}");
}

#[test]
fn what_is_typed_before_a_repair_is_told_before_it() {
    let repair = "opened urn: neutral loose, line side; mended urn";
    let before = prints(&[KIOSK, "urn dead", "--saw", repair], "");
    assert_eq!(before, prints(&[KIOSK, "--complaint", "urn dead", "--saw", repair], ""));
    assert!(!before.contains("since then"), "{before}");
    let after = prints(&[KIOSK, "--complaint", "urn dead", "--saw", repair, "urn dead"], "");
    assert!(after.contains("since then urn dead"), "{after}");
}

#[test]
fn what_is_mended_after_it_was_opened_is_a_repair_without_an_option() {
    let studio = "circuits/pottery-studio.ron";
    let said = [
        "tester at kiln: lit dark lit",
        "opened kiln: hot and neutral exchanged",
        "mended kiln",
        "tester everywhere else: lit lit dark",
    ];
    let told = understood(&[&[studio], &said[..]].concat(), "");
    assert!(told.contains("kiln mended kiln tester at door: hot-neutral lit"), "{told}");
    assert!(
        told.contains("tester at sink: hot-neutral lit") && !told.contains("worked on"),
        "{told}"
    );
}

#[test]
fn a_complaint_and_a_reading_are_told_apart_without_an_option() {
    let seen = "tester at urn: hot-neutral dim, hot-ground lit, neutral-ground dim";
    let said = prints(&[KIOSK, "urn dead", seen], "");
    assert_eq!(said, prints(&[KIOSK, "--complaint", "urn dead", "--saw", seen], ""));
    assert_eq!(prints(&[KIOSK, "urn", "dead"], ""), prints(&[KIOSK, "urn dead"], ""));
    let seen = "tester at hatch: hot-neutral lit";
    let together = prints(&[KIOSK, &format!("urn dead; {seen}")], "");
    assert_eq!(together, prints(&[KIOSK, "urn dead", seen], ""));
    let misspelt = says(&[KIOSK, "dead from urm on", "testr at urn: hot-neutral dim"], 1);
    assert!(misspelt.contains("`urn`") && misspelt.contains("`tester`"), "{misspelt}");
    let file = says(&[KIOSK, URN], 2);
    assert!(file.contains("--observations tests/locate/urn.ron"), "{file}");
}

#[test]
fn a_wrong_call_is_answered() {
    let percent = says(&[KIOSK, "--confidence", "95"], 2);
    assert!(percent.contains("between 0 and 1, as 0.95"), "{percent}");
    let rod = says(&[KIOSK, "--with", "testr"], 2);
    assert!(rod.contains("did you mean `tester`?"), "{rod}");
    let both = says(&["-", "--step"], 2);
    assert!(both.contains("standard input"), "{both}");
}

#[test]
fn an_observation_file_that_is_wrong_is_shown_with_line_and_column() {
    let err = says(&[KIOSK, "--observations", "tests/broken_observations/unknown_tool.ron"], 1);
    assert!(err.contains("unknown_tool.ron:4:23") && err.contains("did you mean"), "{err}");
}

/// A mill whose breaker trips, whatever is unplugged.
const TRIPS: [&str; 9] = [
    "tests/locate/mill.ron",
    "breaker c1 trips at once",
    "breaker c1 trips at once with everything unplugged",
    "non-contact at gate: all silent with everything unplugged",
    "non-contact at stove: all silent with everything unplugged",
    "--with",
    "non-contact",
    "--with",
    "ohmmeter",
];

#[test]
fn a_run_that_trips_its_breaker_is_parted_and_each_reading_says_which_boxes_are_left() {
    let mut arguments = TRIPS.to_vec();
    arguments.push("--step");
    let text = prints(&arguments, "hot-neutral 0.3 ohm, hot-ground OL, neutral-ground OL\nquit\n");
    let asked = text.split(" and look at").next().unwrap();
    let place = asked.rsplit("open ").next().unwrap().split_whitespace().next().unwrap();
    assert!(text.contains("if it is seen there: that is it"), "{text}");
    let end = text.split("As understood").nth(1).unwrap();
    assert!(end.contains(&format!("opened {place}: nothing found")), "{end}");
    assert!(end.contains(&format!("ohmmeter beyond {place}: hot-neutral 0.3 ohm")), "{end}");
    let suspects = text.rsplit("Suspects\n").next().unwrap();
    let leading = suspects.split("for:").next().unwrap();
    assert!(leading.contains("hot and neutral") && !leading.contains("gate"), "{leading}");
}

#[test]
fn beyond_a_box_from_which_nothing_leads_on_is_answered() {
    let err = says(&["tests/locate/mill.ron", "--saw", "ohmmeter beyond stove: all OL"], 1);
    assert!(err.contains("nothing leads on from stove"), "{err}");
    let err = says(&["tests/locate/mill.ron", "--saw", "ohmmeter beyond stov: all OL"], 1);
    assert!(err.contains("no box is called `stov`") && err.contains("stove"), "{err}");
    let err = says(&["tests/locate/mill.ron", "--saw", "ohmmeter beyond gate to hopper: OL"], 1);
    assert!(err.contains("no cable leads from gate to `hopper`"), "{err}");
}

#[test]
fn nothing_beeps_is_silence_and_nothing_else() {
    let said = ["no beeps", "nothing beeps", "nothing"].map(|said| {
        let saw = format!("non-contact at stove: {said}");
        prints(&["tests/locate/mill.ron", "dead from stove on", "--saw", &saw], "")
    });
    let heard = said[0].split("As understood").nth(1).unwrap();
    assert!(heard.contains("stove: hot silent") && !heard.contains("hot beeps"), "{heard}");
    assert!(said.iter().all(|one| *one == said[0]));
    let both =
        says(&["tests/locate/mill.ron", "--saw", "non-contact at stove: all beep, silent"], 1);
    assert!(both.contains("said to be silent and to beep"), "{both}");
}

#[test]
fn which_of_several_slots_beeped_is_asked() {
    let step = [KIOSK, "--complaint", "urn dead", "--step", "--with", "non-contact"];
    let text = prints(&step, "c1 holds\nbeeps\nall beep\n");
    let (asked, after) = text.split_once("which slot beeped?").unwrap_or_else(|| panic!("{text}"));
    let asked = asked.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(asked.contains("detector to the slots of"), "{text}");
    assert!(after.contains("here could stand: hot beeps; neutral beeps;"), "{text}");
    let told = after.split("As understood").nth(1).unwrap();
    assert!(told.contains("hot beeps") && told.contains("neutral beeps"), "{text}");
    let saw = says(&[KIOSK, "urn dead", "--saw", "non-contact at urn: beeps"], 1);
    assert!(saw.contains("which slot beeped?"), "{saw}");
}

#[test]
fn ohms_at_a_receptacle_that_nobody_said_is_dead_are_no_reading() {
    let call = ["tests/locate/mill.ron", "breaker c1 trips at once", "--with", "ohmmeter", "--saw"];
    let with = |saw| [&call[..], &[saw]].concat();
    let live = says(&with("ohmmeter at gate: hot-neutral 0.5 ohm"), 1);
    assert!(live.contains("proven dead: say `with c1 off`"), "{live}");
    let dead = prints(&with("ohmmeter at gate: hot-neutral 0.5 ohm with c1 off"), "");
    assert!(dead.contains("hot-neutral 0.5 ohm with breaker c1 off"), "{dead}");
}

#[test]
fn the_only_breaker_needs_no_name_and_what_trips_is_what_is_complained_of_first() {
    let mill = "tests/locate/mill.ron";
    let with = ["--with", "non-contact", "--saw", "c1 holds with heater unplugged"];
    let named = [&[mill, "--complaint", "breaker c1 trips at once"], &with[..]].concat();
    let named = prints(&named, "");
    let bare = prints(&[&[mill, "breaker trips at once"], &with[..]].concat(), "");
    assert_eq!(named, bare);
    let in_a_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = in_a_line(&named);
    assert!(words.contains("unplug heater"), "{named}");
    assert!(words.contains("hot and frame bridged at heater"), "{named}");
    let closed = prints(&[mill, "breaker trips at once", "--with", "tester"], "");
    let words = in_a_line(&closed);
    assert!(words.contains("`c1 trips at once with everything unplugged`"), "{closed}");
}

#[test]
fn a_joint_found_bad_in_an_open_box_is_asked_for_its_side_and_not_for_its_box() {
    let err = says(&["tests/locate/mill.ron", "--saw", "opened hopper: neutral loose"], 1);
    assert!(err.contains("hopper has"), "{err}");
    assert!(err.contains("neutral loose, line side; neutral loose, load side"), "{err}");
    assert!(err.contains("opened hopper: neutral"), "{err}");
}

#[test]
fn nobody_is_sent_into_the_panel_for_a_conductor_that_no_breaker_makes_dead() {
    let high = "voltmeter at hatch: hot-neutral 163.9 V, hot-ground 163.8 V, neutral-ground 0.1 V";
    let text =
        prints(&["tests/locate/pavilion.ron", "--complaint", "lights flicker", "--saw", high], "");
    reads_well(&text, 0);
    assert!(text.contains("service neutral open") && text.contains("utility"), "{text}");
    assert!(!text.contains("proven dead, open panel"), "{text}");
    assert!(text.contains("too much voltage at a load"), "{text}");
}

#[test]
fn before_anything_is_tested_a_handle_is_looked_at_and_tests_go_on_from_there() {
    let all_dead = ["tests/locate/pavilion.ron", "--complaint", "everything on c1 dead"];
    let text = prints(&all_dead, "");
    reads_well(&text, 0);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("Look at the handles") && words.contains("`c1 holds`"), "{text}");
    assert!(!text.contains("No more tests") && !text.contains("After the repair"), "{text}");
    let mut step = all_dead.to_vec();
    step.push("--step");
    let text = prints(&step, "c1 holds\nquit\n");
    let after = text.split("> ").nth(1).unwrap();
    assert!(after.contains("Next    ") && !after.contains("Look at the handles"), "{text}");
}

/// The halves of a split duplex have a hot each, and the neutral of both may be on either.
#[test]
fn a_hot_and_the_neutral_exchanged_at_a_split_duplex_are_found() {
    let read = |half: &str, glows: &str| format!("tester at {half}: {glows}");
    let seen = [
        read("citrus.top", "hot-neutral lit, hot-ground dark, neutral-ground lit"),
        read("citrus.bottom", "hot-neutral lit, hot-ground dark, neutral-ground lit"),
        read("fern.bottom", "hot-neutral lit, hot-ground lit, neutral-ground dark"),
        "meter at citrus.bottom: hot-neutral 119.8 V, hot-ground 0.1 V, neutral-ground 119.9 V"
            .to_owned(),
    ];
    let mut arguments = vec!["circuits/orangery.ron"];
    for one in &seen {
        arguments.extend(["--saw", one]);
    }
    let text = prints(&arguments, "");
    let suspects = text.split("Suspects\n").nth(1).unwrap();
    let leading = suspects.lines().next().unwrap();
    assert!(leading.contains("neutral and hot exchanged at citrus"), "{text}");
}

#[test]
fn whatever_a_line_of_an_answer_holds_it_is_asked_again() {
    let step = ["locate", KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"];
    let mut answers = b"c1 holds\n\xff\xfe dark\n".to_vec();
    answers.extend(vec![b'x'; 100_000]);
    answers.extend(b"\nquit\n");
    let mut command = Command::cargo_bin("slotwise").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).args(step);
    let output = command.write_stdin(answers).output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("less than 4096 bytes") && text.len() < 20_000, "{text}");
    assert!(text.contains("As understood\n  urn dead\n  breaker c1 holds"), "{text}");
}

#[test]
fn what_is_told_between_answers_is_heard_as_it_is_on_the_command_line() {
    let step = [KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"];
    let text = prints(&step, "c1 holds\nhatch works, boiler dead\nurn dead\nquit\n");
    let told = text.rsplit("As understood\n").next().unwrap();
    let told = told.split("\n\n").next().unwrap();
    assert_eq!(
        told, "  urn dead\n  hatch works\n  boiler does not run\n  breaker c1 holds",
        "{text}"
    );
    for option in ["--complaint", "--saw"] {
        let text = prints(&[KIOSK, "--with", "tester", option, "urn dead, c1 not tripped"], "");
        assert!(text.contains("As understood\n  urn dead\n  breaker c1 holds\n"), "{text}");
    }
}

#[test]
fn a_line_of_an_answer_that_means_nothing_or_contradicts_is_named_with_its_place() {
    let step = [KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"];
    let text = prints(&step, "c1 holds\nhatch wroks\nurn works\nquit\n");
    let place = "your answers:2:7\nhatch wroks\n      ^^^^^\n`wroks` is not what is the matter";
    assert!(text.contains(place), "{text}");
    assert!(text.contains("`urn works`: this contradicts `urn dead`: say only how"), "{text}");
    assert!(!text.rsplit("As understood\n").next().unwrap().contains("works"), "{text}");
}

#[test]
fn what_works_is_an_answer_too_and_can_be_taken_back() {
    let step = [KIOSK, "--complaint", "urn dead", "--step", "--with", "tester"];
    let works = |text: &str| {
        let told = text.rsplit("As understood").next().unwrap();
        told.contains("hatch works")
    };
    let place = prints(&step, "c1 holds\nhatch works\nquit\n");
    assert!(works(&place), "{place}");
    assert!(!works(&prints(&step, "c1 holds\nhatch works\nback\nquit\n")));
}
