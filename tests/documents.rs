//! What the documents print and promise is what the program does.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use assert_cmd::Command;

fn document(path: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

/// The text of the fenced block after the line `<!-- MARK -->`.
#[track_caller]
fn block_after<'a>(text: &'a str, mark: &str) -> &'a str {
    let mark = format!("<!-- {mark} -->\n```");
    let start = text.find(&mark).unwrap_or_else(|| panic!("no block {mark}"));
    let body = &text[start + mark.len()..];
    let body = &body[body.find('\n').unwrap() + 1..];
    &body[..body.find("```").unwrap()]
}

/// A command line as the documents write it: words, and sentences in single quotes.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (part, piece) in line.split('\'').enumerate() {
        if part % 2 == 1 {
            words.push(piece.to_owned());
        } else {
            words.extend(piece.split_whitespace().map(str::to_owned));
        }
    }
    words
}

fn slotwise(arguments: &[String]) -> std::process::Output {
    let mut command = Command::cargo_bin("slotwise").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).args(arguments).output().unwrap()
}

#[test]
fn the_output_in_the_readme_is_what_the_command_prints() {
    let readme = document("README.md");
    let mut shown = 0;
    for line in readme.lines() {
        let Some(rest) = line.strip_prefix("<!-- output: ") else { continue };
        let command_line = rest.strip_suffix(" -->").unwrap();
        let output = slotwise(&words(command_line));
        assert!(output.status.success(), "{command_line}");
        let printed = String::from_utf8(output.stdout).unwrap();
        assert_eq!(block_after(&readme, &format!("output: {command_line}")), printed);
        shown += 1;
    }
    assert!(shown > 0);
}

#[test]
fn the_circuit_in_the_readme_is_the_one_that_is_read() {
    let readme = document("README.md");
    let circuit = block_after(&readme, "file: tests/readme/five.ron");
    assert_eq!(circuit, document("tests/readme/five.ron"));
    assert!(circuit.lines().count() <= 16, "five receptacles take about fifteen lines");
    let output = slotwise(&words("check tests/readme/five.ron"));
    assert!(output.status.success());
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn the_problem_in_the_readme_is_what_the_command_says() {
    let readme = document("README.md");
    let said = block_after(&readme, "problem: tests/readme/misspelt.ron");
    let output = slotwise(&words("check tests/readme/misspelt.ron"));
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(said.trim_end(), String::from_utf8(output.stderr).unwrap().trim_end());
}

#[test]
fn the_two_commands_of_the_readme_are_there_for_the_checks_to_run() {
    let readme = document("README.md");
    assert!(block_after(&readme, "main").starts_with("cargo run --release"));
    assert!(block_after(&readme, "tests").starts_with("cargo test"));
}

/// Names of the tables of dependencies in `Cargo.toml`.
fn dependencies_of_manifest() -> BTreeSet<String> {
    let manifest = document("Cargo.toml");
    let mut inside = false;
    let mut names = BTreeSet::new();
    for line in manifest.lines() {
        if line.starts_with('[') {
            inside = line == "[dependencies]" || line == "[dev-dependencies]";
        } else if inside && let Some((name, _)) = line.split_once('=') {
            names.insert(name.trim().to_owned());
        }
    }
    names
}

#[test]
fn every_dependency_is_explained_and_nothing_else() {
    let explained: BTreeSet<String> = document("docs/dependencies.md")
        .lines()
        .filter_map(|line| line.strip_prefix("| `"))
        .filter_map(|line| line.split_once('`'))
        .map(|(name, _)| name.to_owned())
        .collect();
    assert_eq!(explained, dependencies_of_manifest());
}
