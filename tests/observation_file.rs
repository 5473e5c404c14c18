//! Observation files: the page's example, the way back, and what is said about files that are
//! wrong.

#![allow(clippy::unwrap_used, clippy::panic)] // A test crate: nothing here is an interface.

use std::path::Path;

use slotwise::circuit::Circuit;
use slotwise::circuit::diagnostic::render_all;
use slotwise::diagnosis::{Account, Complaint, Costs, Means, file, words};
use slotwise::instrument::Instrument;

const PAGE: &str = include_str!("../docs/observation-file.md");

fn studio() -> Circuit {
    let text = include_str!("../circuits/pottery-studio.ron");
    slotwise::circuit::file::read(text).unwrap().circuit
}

/// The blocks of the page marked `ron`.
fn examples() -> Vec<&'static str> {
    let after = PAGE.split("```ron\n").skip(1);
    after.map(|rest| rest.split("```").next().unwrap()).collect()
}

#[test]
fn every_example_of_the_page_is_read() {
    let circuit = studio();
    assert!(examples().len() >= 2);
    for text in examples() {
        if let Err(said) = file::read(&circuit, text) {
            panic!("{}", render_all(&said, "page.ron", text));
        }
    }
}

#[test]
fn the_example_of_the_page_means_what_it_says() {
    let circuit = studio();
    let cold = file::read(&circuit, examples()[1]).unwrap();
    assert_eq!(cold.name, "Cold kiln");
    let Account { complaints, observations, means } = cold.account;
    assert_eq!(complaints, [Complaint::DeadFrom { place: "kiln".into() }]);
    let names: Vec<&str> = means.tools.iter().map(|tool| tool.name.as_str()).collect();
    assert_eq!(names, ["tester", "voltmeter", "pen"]);
    assert!(matches!(means.tools[2].instrument, Instrument::NonContact(_)));
    assert_eq!(means.costs.open_box_s.to_bits(), 600_f64.to_bits());
    assert_eq!(means.costs.meter_s.to_bits(), Costs::default().meter_s.to_bits());
    assert_eq!(means.confidence.to_bits(), 0.9_f64.to_bits());
    assert!(!means.may_switch_breakers && means.may_open_boxes);
    assert_eq!(means.priors.joint_open.push_in.to_bits(), 1e-3_f64.to_bits());
    let said: Vec<String> =
        observations.iter().map(|one| words::tell(&circuit, &means.tools, one)).collect();
    assert_eq!(
        said,
        [
            "tester at wheel: hot-neutral lit, hot-ground lit, neutral-ground dark",
            "tester at kiln: hot-neutral dark, hot-ground lit with heater on, radio unknown",
            "pen at kiln: hot beeps",
            "pen at kiln: neutral beeps",
        ]
    );
}

#[test]
fn a_written_file_is_read_again() {
    let circuit = studio();
    let mut cold = file::read(&circuit, examples()[0]).unwrap().account;
    cold.means.costs.open_box_s = 900.0;
    cold.means.confidence = 0.99;
    cold.means.may_open_boxes = false;
    cold.means.out_of_reach.insert("sink".into());
    cold.means.fixed_loads.insert("kettle".into());
    let text = file::write(&circuit, "say \"cold\"", &cold);
    let again = match file::read(&circuit, &text) {
        Ok(again) => again,
        Err(said) => panic!("{}", render_all(&said, "written.ron", &text)),
    };
    assert_eq!(again.name, "say \"cold\"");
    assert!(again.account == cold, "{text}");
}

#[test]
fn the_page_lists_every_field_and_the_usual_figures() {
    let usual = serde_json::to_value(Costs::default()).unwrap();
    for (act, seconds) in usual.as_object().unwrap() {
        let act = act.strip_suffix("_s").unwrap();
        let seconds = seconds.as_f64().unwrap();
        let row = PAGE.lines().find(|line| line.starts_with(&format!("| `{act}` |")));
        let row = row.unwrap_or_else(|| panic!("`{act}` is not on the page"));
        assert!(row.contains(&format!("| {seconds} s |")), "{row}: {seconds}");
    }
    let fields = [
        "complaints",
        "tools",
        "instruments",
        "out_of_reach",
        "leave_alone",
        "open_boxes",
        "switch_breakers",
        "minutes",
        "confidence",
        "priors",
        "saw",
    ];
    for field in fields {
        assert!(PAGE.contains(&format!("| `{field}` |")), "`{field}` is not on the page");
    }
    assert!(PAGE.contains(&format!("{} unless", Means::default().confidence)));
}

#[test]
fn every_broken_file_is_explained() {
    let circuit = studio();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken_observations");
    let mut files: Vec<_> =
        std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "ron"));
    files.sort();
    assert!(files.len() >= 15, "only {} broken files", files.len());
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(&folder);
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| {
        for path in files {
            let text = std::fs::read_to_string(&path).unwrap();
            let said = file::read(&circuit, &text).unwrap_err();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
            insta::assert_snapshot!(stem, render_all(&said, &name, &text));
        }
    });
}
