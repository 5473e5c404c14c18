//! The pictures in `docs/pictures/`: each is what its command draws, letter for letter.

use std::fs;
use std::process::Command;

use crate::studio::root;

/// Every picture with the arguments that draw it; `docs/pictures.md` gives the same commands.
const PICTURES: [(&str, &[&str]); 3] = [
    (
        "pottery-studio-loose-neutral.svg",
        &["draw", "circuits/pottery-studio.ron", "--condition", "loose-neutral"],
    ),
    (
        "bakery-shared-neutral-lost.svg",
        &["draw", "circuits/bakery.ron", "--condition", "shared-neutral-lost"],
    ),
    (
        "observatory-bad-joint-profile.svg",
        &["draw", "circuits/observatory.ron", "--condition", "bad-joint", "--profile"],
    ),
];

fn drawn(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_slotwise"))
        .current_dir(root())
        .args(arguments)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_picture_of_the_documents_is_what_its_command_draws() {
    for (file, arguments) in PICTURES {
        let path = root().join("docs/pictures").join(file);
        let kept = fs::read_to_string(&path).unwrap_or_default();
        let command = format!("slotwise {} --force -o docs/pictures/{file}", arguments.join(" "));
        assert!(kept == drawn(arguments), "{file} is not current; draw it anew: {command}");
    }
}

#[test]
fn the_page_on_pictures_gives_the_command_of_each() {
    let page = fs::read_to_string(root().join("docs/pictures.md")).unwrap();
    for (file, arguments) in PICTURES {
        let command = format!("slotwise {} -o docs/pictures/{file} --force", arguments.join(" "));
        let (joined, shown) =
            (page.replace("\\\n    ", ""), page.contains(&format!("pictures/{file})")));
        assert!(joined.contains(&command) && shown, "{command}");
    }
}

#[test]
fn there_is_no_picture_that_no_command_draws() {
    for entry in fs::read_dir(root().join("docs/pictures")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(PICTURES.iter().any(|(file, _)| *file == name), "{name}");
    }
}
