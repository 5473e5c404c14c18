//! The first five minutes of someone with nothing but the program, in an empty directory.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;

/// An empty directory that goes away with the test.
struct Desk(PathBuf);

impl Desk {
    fn new() -> Self {
        let path =
            std::env::temp_dir().join(format!("slotwise-five-minutes-{}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::cargo_bin("slotwise")
            .unwrap()
            .current_dir(&self.0)
            .args(arguments)
            .output()
            .unwrap()
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

#[track_caller]
fn ended(output: &Output, code: i32) -> (String, String) {
    let out = String::from_utf8(output.stdout.clone()).unwrap();
    let err = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(code), "{out}{err}");
    (out, err)
}

fn replace(path: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(from));
    fs::write(path, text.replacen(from, to, 1)).unwrap();
}

#[test]
fn sample_check_read_why_then_break_it_on_purpose_and_mend_it() {
    let desk = Desk::new();
    let (sample, _) = ended(&desk.run(&["sample"]), 0);
    let mine = desk.file("my.ron");
    fs::write(&mine, &sample).unwrap();

    let (checked, said) = ended(&desk.run(&["check", "my.ron"]), 0);
    assert_eq!(checked.lines().next(), Some("Pottery studio"));
    assert_eq!(said, "");

    let (sound, _) = ended(&desk.run(&["read", "my.ron"]), 0);
    assert!(!sound.contains("DANGER"), "{sound}");

    let lost = "neutral open at kiln, line side";
    let (faulty, _) = ended(&desk.run(&["read", "my.ron", lost]), 0);
    assert!(faulty.lines().take(5).any(|line| line.contains("DANGER")), "{faulty}");

    let (why, _) = ended(&desk.run(&["why", "my.ron", "kiln.neutral", lost]), 0);
    assert!(why.contains("heater"), "{why}");

    let (json, _) = ended(&desk.run(&["read", "my.ron", lost, "--json"]), 0);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["format"], 1);
    assert_eq!(json["condition"][0], lost);

    replace(&mine, "from: \"wheel\"", "from: \"whele\"");
    let (nothing, problem) = ended(&desk.run(&["check", "my.ron"]), 1);
    assert_eq!(nothing, "");
    assert!(problem.contains("whele") && problem.contains("wheel"), "{problem}");
    assert!(problem.contains("my.ron:"), "{problem}");

    replace(&mine, "from: \"whele\"", "from: \"wheel\"");
    ended(&desk.run(&["check", "my.ron"]), 0);

    let (_, misspelt) = ended(&desk.run(&["read", "my.ron", "neutral open at klin"]), 1);
    assert!(misspelt.contains("kiln"), "{misspelt}");
    let (_, missing) = ended(&desk.run(&["read", "mine.ron"]), 2);
    assert!(missing.contains("mine.ron"), "{missing}");
}
