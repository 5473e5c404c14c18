//! One tiny broken file for each thing that can be wrong with one, and what is said about it
//! word for word. After a change of words: `INSTA_UPDATE=always cargo test --test broken`, and
//! read the difference.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::fs;
use std::path::Path;

use slotwise::circuit::diagnostic::{Diagnostic, Severity, render_all};
use slotwise::circuit::file;

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
