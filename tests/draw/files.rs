//! Writing pictures and pages to files.

use std::fs;
use std::path::PathBuf;

use assert_cmd::Command;

use crate::studio::root;

/// An empty directory of its own.
fn directory(name: &str) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&path);
    fs::create_dir_all(&path).unwrap();
    path
}

fn slotwise() -> Command {
    let mut command = Command::cargo_bin("slotwise").unwrap();
    command.current_dir(root());
    command
}

/// What is said on standard error by a call that fails.
#[track_caller]
fn refused(code: i32, arguments: &[&str]) -> String {
    let assert = slotwise().args(arguments).assert().code(code).stdout("");
    String::from_utf8(assert.get_output().stderr.clone()).unwrap()
}

#[test]
fn a_file_that_is_there_is_not_replaced_unless_asked() {
    let target = directory("not-replaced").join("studio.svg");
    fs::write(&target, "mine").unwrap();
    let file = target.to_str().unwrap();
    let said = refused(2, &["draw", "circuits/pottery-studio.ron", "-o", file]);
    assert!(said.contains("--force"), "{said}");
    assert_eq!(fs::read_to_string(&target).unwrap(), "mine");
    let forced = ["draw", "circuits/pottery-studio.ron", "-o", file, "--force"];
    slotwise().args(forced).assert().code(0).stdout("");
    assert!(fs::read_to_string(&target).unwrap().starts_with("<svg"));
}

#[test]
fn a_picture_is_written_whole_and_leaves_nothing_else_behind() {
    let folder = directory("whole");
    let target = folder.join("page.html");
    let file = target.to_str().unwrap();
    slotwise().args(["read", "circuits/bakery.ron", "--html", "-o", file]).assert().code(0);
    let text = fs::read_to_string(&target).unwrap();
    assert!(text.starts_with("<!DOCTYPE html>") && text.trim_end().ends_with("</html>"));
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
}

#[test]
fn nothing_is_written_where_the_condition_is_wrong_or_the_folder_is_missing() {
    let folder = directory("nothing");
    let target = folder.join("a.svg");
    let wrong = ["draw", "circuits/bakery.ron", "moon up", "-o", target.to_str().unwrap()];
    slotwise().args(wrong).assert().code(1);
    let nowhere = folder.join("no-folder/a.svg");
    let missing = ["draw", "circuits/bakery.ron", "-o", nowhere.to_str().unwrap()];
    let said = refused(2, &missing);
    assert!(said.contains("cannot write"), "{said}");
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
}

#[test]
fn an_unknown_box_is_answered_with_those_most_like_it() {
    let asked = ["draw", "circuits/observatory.ron", "--profile", "--to", "stair"];
    let said = refused(1, &asked);
    assert!(said.contains("stairs"), "{said}");
}
