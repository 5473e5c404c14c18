//! One tiny broken file for each thing that can be wrong with one, and what is said about it
//! word for word. After a change of words: `INSTA_UPDATE=always cargo test --test broken`, and
//! read the difference.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::fs;
use std::path::Path;

use slotwise::circuit::diagnostic::{Diagnostic, Severity, render_all};
use slotwise::circuit::file;
use slotwise::diagnosis;
use slotwise::drill::Family;
use slotwise::instrument;

/// What is said about every file of `tests/broken`, by file.
fn every_file(mut check: impl FnMut(&str, &str)) -> usize {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken");
    let mut paths: Vec<_> =
        fs::read_dir(directory).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "ron"));
    paths.sort();
    for path in &paths {
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        check(&name, &fs::read_to_string(path).unwrap());
    }
    paths.len()
}

/// What is said about a file, that can be used or not.
fn said_about(text: &str) -> Vec<Diagnostic> {
    match file::read(text) {
        Ok(file) => file.remarks,
        Err(said) => {
            assert!(said.iter().any(|diagnostic| diagnostic.severity == Severity::Error));
            said.into()
        }
    }
}

#[test]
fn what_is_said_about_each_broken_file() {
    let files = every_file(|name, text| {
        let said = said_about(text);
        let rendered = render_all(&said, name, text);
        insta::with_settings!({ omit_expression => true, snapshot_path => "broken" }, {
            insta::assert_snapshot!(name.trim_end_matches(".ron"), rendered);
        });
    });
    assert!(files >= 60, "{files} files");
}

#[test]
fn every_place_lies_in_its_file_and_every_mistake_says_what_to_do() {
    every_file(|name, text| {
        let said = said_about(text);
        assert!(!said.is_empty(), "{name}");
        for diagnostic in &said {
            for label in &diagnostic.labels {
                assert!(label.span.start <= label.span.end, "{name}: {diagnostic:?}");
                assert!(text.get(label.span.clone()).is_some(), "{name}: {diagnostic:?}");
            }
            let told = diagnostic.expected.is_some()
                || diagnostic.help.is_some()
                || diagnostic.suggestion.is_some()
                || diagnostic.labels.len() > 1;
            assert!(told, "{name}: {diagnostic:?}");
        }
    });
}

/// The files of a directory.
fn files_of(directory: &str) -> Vec<String> {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join(directory);
    let paths = fs::read_dir(directory).unwrap().map(|entry| entry.unwrap().path());
    let files = paths.filter(|path| path.extension().is_some_and(|ending| ending == "ron"));
    files.map(|path| fs::read_to_string(path).unwrap()).collect()
}

#[test]
fn a_file_of_another_kind_is_called_what_it_is_in_one_message() {
    let circuit = file::read(include_str!("../circuits/pottery-studio.ron")).unwrap().circuit;
    let kinds = [
        ("a circuit file", files_of("circuits")),
        ("a condition file", vec![r#"(format: 1, name: "a", sentences: ["c1 off"])"#.to_owned()]),
        ("an observation file", files_of("circuits/observations")),
        ("an instrument file", vec!["(format: 1, instruments: [])".to_owned()]),
        ("a family file", files_of("circuits/families")),
    ];
    let read = |wanted: &str, text: &str| match wanted {
        "a circuit file" => file::read(text).err(),
        "a condition file" => file::read_sentences(text).err(),
        "an observation file" => diagnosis::file::read(&circuit, text).err(),
        "an instrument file" => instrument::file::read(text).err(),
        _ => Family::read(text).err(),
    };
    for (kind, texts) in &kinds {
        assert!(!texts.is_empty(), "{kind}");
        for wanted in kinds.iter().map(|(wanted, _)| *wanted).filter(|wanted| wanted != kind) {
            for text in texts {
                let said = read(wanted, text).unwrap();
                let messages: Vec<&str> = said.iter().map(|one| one.message.as_str()).collect();
                assert_eq!(messages, [format!("this is {kind}, and {wanted} is wanted here")]);
            }
        }
    }
}
