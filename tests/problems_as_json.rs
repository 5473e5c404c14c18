//! What is wrong, as another program reads it: JSON where the result would have been.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use assert_cmd::Command;
use serde_json::Value;

const STUDIO: &str = "circuits/pottery-studio.ron";

fn slotwise(arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("slotwise").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).args(arguments);
    command
}

/// The problems that a call ends with; they are said in words too.
#[track_caller]
fn problems_of(mut command: Command, code: i32) -> Vec<Value> {
    let output = command.output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(code), "{out}{err}");
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["report"], "problems", "{out}");
    assert_eq!((&report["format"], &report["tool"]), (&1.into(), &"slotwise".into()));
    let problems = report["problems"].as_array().unwrap().clone();
    for problem in &problems {
        let message = problem["message"].as_str().unwrap();
        let start = message.split_whitespace().take(2).collect::<Vec<_>>().join(" ");
        assert!(err.contains(&start), "{start} is not in: {err}");
    }
    problems
}

#[track_caller]
fn problems(arguments: &[&str], code: i32) -> Vec<Value> {
    problems_of(slotwise(arguments), code)
}

#[test]
fn a_bad_circuit_file_is_told_with_file_line_and_column() {
    for command in ["check", "read"] {
        let said = problems(&[command, "tests/broken/misspelt_field.ron", "--json"], 1);
        let first = &said[0];
        let text = std::fs::read_to_string("tests/broken/misspelt_field.ron").unwrap();
        assert_eq!(first["file"], "tests/broken/misspelt_field.ron");
        let line = first["line"].as_u64().unwrap() as usize;
        let column = first["column"].as_u64().unwrap() as usize;
        let found = first["found"].as_str().unwrap();
        let there: String = text.lines().nth(line - 1).unwrap().chars().skip(column - 1).collect();
        assert!(there.starts_with(found) && !found.is_empty(), "{first}");
        let end = column + found.chars().count();
        assert_eq!(
            (first["end_line"].as_u64(), first["end_column"].as_u64()),
            (Some(line as u64), Some(end as u64))
        );
        assert_eq!(first["severity"], "error");
        assert_eq!(first["code"], "unknown-field");
    }
}

#[test]
fn everything_wrong_is_in_the_list() {
    let said = problems(&["check", "tests/broken/several_at_once.ron", "--json"], 1);
    assert!(said.len() > 1, "{said:?}");
}

#[test]
fn standard_input_is_named_as_it_was_typed() {
    let mut command = slotwise(&["check", "-", "--json"]);
    command.write_stdin("(format: 1, nmae: \"shed\")");
    let said = problems_of(command, 1);
    assert_eq!((&said[0]["file"], &said[0]["column"]), (&"-".into(), &13.into()));
    assert_eq!(said[0]["suggestions"], serde_json::json!(["name"]));
}

#[test]
fn words_not_understood_have_no_file_but_a_place() {
    for arguments in [
        &["read", STUDIO, "neutral open at kilm", "--json"][..],
        &["why", STUDIO, "kiln.hot", "neutral open at kilm", "--json"],
        &["lookalikes", STUDIO, "--at", "kiln", "--table", "neutral open at kilm", "--json"],
        &["locate", STUDIO, "--saw", "tester at kilm: all dark", "--json"],
        &["locate", STUDIO, "--complaint", "dead from kilm on", "--json"],
    ] {
        let said = problems(arguments, 1);
        let first = &said[0];
        assert_eq!((&first["file"], &first["line"]), (&Value::Null, &1.into()), "{first}");
        assert_eq!(first["found"], "kilm", "{first}");
        assert_eq!(first["suggestions"], serde_json::json!(["kiln"]), "{first}");
    }
}

#[test]
fn words_and_addresses_are_told_in_one_list() {
    let said = problems(&["read", STUDIO, "foo bar", "--at", "klin", "--json"], 1);
    assert_eq!(said[0]["found"], "foo");
    let last = said.last().unwrap();
    assert_eq!((&last["found"], &last["line"]), (&"klin".into(), &Value::Null));
    assert_eq!(last["suggestions"][0], "kiln");
    let said = problems(&["why", STUDIO, "kiln.neutrl", "--json"], 1);
    assert_eq!(said[0]["suggestions"][0], "kiln.neutral");
    let said = problems(&["lookalikes", STUDIO, "--at", "klin", "--table", "--json"], 1);
    assert_eq!(said[0]["suggestions"][0], "kiln");
}

#[test]
fn what_cannot_be_shown_is_told_with_what_could_stand_there() {
    let ask = ["lookalikes", STUDIO, "--at", "kiln", "--shows", "hot-neutral gloomy", "--json"];
    let said = problems(&ask, 1);
    assert_eq!(said[0]["found"], "gloomy");
    assert!(said[0]["expected"].as_str().unwrap().contains("dark"));
}

#[test]
fn a_file_or_call_that_cannot_be_used_ends_with_2_as_ever() {
    let said = problems(&["read", "no-such.ron", "--json"], 2);
    assert_eq!(said[0]["file"], "no-such.ron");
    let said = problems(&["read", STUDIO, "--with", "voltmetr", "--json"], 2);
    assert_eq!(said[0]["suggestions"], serde_json::json!(["voltmeter"]));
    let said = problems(&["read", STUDIO, "--json", "--html"], 2);
    assert!(said[0]["message"].as_str().unwrap().contains("--html"));
    problems(&["drill", "--kind", "open_jiont", "--json"], 2);
    problems(&["locate", STUDIO, "--confidence", "3", "--json"], 2);
}

#[test]
fn where_results_are_a_line_each_problems_are_a_line() {
    let ask = ["drill", "--family", "no-such", "--count", "2", "--json"];
    let output = slotwise(&ask).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let out = String::from_utf8(output.stdout).unwrap();
    assert_eq!(out.lines().count(), 1);
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["report"], "problems");
}

#[test]
fn without_json_nothing_is_printed_where_the_result_would_be() {
    let output = slotwise(&["check", "tests/broken/misspelt_field.ron"]).output().unwrap();
    assert!(output.stdout.is_empty() && !output.stderr.is_empty());
}

#[test]
fn every_key_of_problems_is_documented() {
    let page = include_str!("../docs/json.md");
    let page = &page[page.find("## `problems`").unwrap()..];
    let page = &page[..page[3..].find("\n## ").map_or(page.len(), |at| at + 3)];
    let ask = ["check", "tests/broken/name_taken.ron", "--json"];
    for problem in problems(&ask, 1) {
        let objects = problem["places"].as_array().unwrap().iter().chain([&problem]);
        for object in objects {
            for key in object.as_object().unwrap().keys() {
                assert!(page.contains(&format!("`{key}`")), "{key}");
            }
        }
    }
}
