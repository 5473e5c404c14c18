//! Drills as data, by the command: the same for any number of threads, as the schema says, and
//! taken up where a run stopped.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;

use crate::schema::breaches;

fn slotwise(arguments: &[&str]) -> Output {
    Command::cargo_bin("slotwise").unwrap().args(arguments).output().unwrap()
}

fn data(arguments: &str) -> String {
    let output = slotwise(&arguments.split(' ').collect::<Vec<_>>());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty(), "no progress bar where nobody looks");
    String::from_utf8(output.stdout).unwrap()
}

/// A folder of this test alone, empty.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("drills-{name}"));
    let _ = fs::remove_dir_all(&folder);
    folder
}

/// Names and contents of a folder.
fn files(folder: &Path) -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), path))
        .map(|(name, path)| (name, fs::read_to_string(path).unwrap()))
        .collect();
    files.sort();
    files
}

#[test]
fn the_data_are_the_same_for_any_number_of_threads_and_cut_anywhere() {
    let whole = data("drill --count 24 --json --threads 1");
    assert_eq!(data("drill --count 24 --json --threads 3"), whole);
    let cut = [data("drill --count 7 --json"), data("drill --count 17 --number 7 --json")].concat();
    assert_eq!(cut, whole);
}

#[test]
fn a_folder_of_data_is_as_its_schema_says_and_a_second_run_changes_nothing() {
    let folder = folder("schema");
    let call = format!("drill --family houses --count 5 --number 3 --json -o {}", folder.display());
    data(&call);
    let first = files(&folder);
    let names: Vec<&str> = first.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["drills-3-7.jsonl", "manifest-3-7.json", "readings-3-7.jsonl"]);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/drill-dataset.schema.json");
    let schema: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let mut rows = 0;
    for (kind, text) in [("DrillRow", &first[0].1), ("ReadingRow", &first[2].1)] {
        let of_row = &schema["$defs"][kind];
        for line in text.lines() {
            let found = breaches(&schema, of_row, &serde_json::from_str(line).unwrap(), "");
            assert!(found.is_empty(), "{found:#?}\n{line}");
            rows += 1;
        }
    }
    assert!(rows > 300, "{rows}");
    let manifest: Value = serde_json::from_str(&first[1].1).unwrap();
    let of_manifest = &schema["$defs"]["Manifest"];
    assert_eq!(breaches(&schema, of_manifest, &manifest, ""), [""; 0]);
    assert_eq!((&manifest["seed"], &manifest["count"]), (&1.into(), &5.into()));

    // As if the run had been killed while it wrote: a part missing, another half-written.
    fs::remove_file(folder.join("drills-3-7.jsonl")).unwrap();
    fs::write(folder.join(".readings-3-7.jsonl.99.part"), "{\"drill\":3").unwrap();
    data(&call);
    assert_eq!(files(&folder), first);
    let other = call.replace("--count 5", "--count 5 --seed 2");
    let output = slotwise(&other.split(' ').collect::<Vec<_>>());
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("is of other data"));
    assert_eq!(files(&folder), first, "nothing is overwritten");
}

#[test]
fn a_row_of_csv_says_what_a_line_of_json_says() {
    let json = data("drill --count 2 --json");
    let csv = data("drill --count 2 --csv");
    let mut lines = csv.lines();
    let names: Vec<&str> = lines.next().unwrap().split(',').collect();
    let json: Vec<Value> = json.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.clone().count(), json.len());
    for name in &names {
        assert!(json[0].get(name).is_some(), "{name}");
    }
    let value = names.iter().position(|name| *name == "value").unwrap();
    for (line, row) in lines.zip(&json) {
        // From the end: what stands before may hold commas in quotes.
        let cell = line.rsplit(',').nth(names.len() - 1 - value).unwrap();
        assert_eq!(cell.parse::<f64>().ok(), row["value"].as_f64(), "{line}");
    }
}
