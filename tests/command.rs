//! The command as someone at a terminal or another program meets it.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::process::{Output, Stdio};

use assert_cmd::Command;

fn slotwise(arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("slotwise").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).args(arguments);
    command
}

#[track_caller]
fn ended(output: &Output, code: i32) -> (String, String) {
    let out = String::from_utf8(output.stdout.clone()).unwrap();
    let err = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(code), "{out}{err}");
    (out, err)
}

/// What a call that ends well prints.
#[track_caller]
fn prints(arguments: &[&str]) -> String {
    ended(&slotwise(arguments).output().unwrap(), 0).0
}

/// What a call that ends with `code` says on standard error; it prints nothing.
#[track_caller]
fn says(arguments: &[&str], code: i32) -> String {
    let (out, err) = ended(&slotwise(arguments).output().unwrap(), code);
    assert_eq!(out, "");
    err
}

const STUDIO: &str = "circuits/pottery-studio.ron";
const LOST: &str = "neutral open at kiln, line side";

#[test]
fn a_sound_circuit_reads_as_it_should() {
    insta::assert_snapshot!(prints(&["read", STUDIO]));
}

#[test]
fn an_open_neutral_is_read_hazards_first() {
    insta::assert_snapshot!(prints(&["read", STUDIO, LOST]));
}

#[test]
fn a_split_receptacle_and_a_switch_are_read() {
    insta::assert_snapshot!(prints(&["read", "circuits/orangery.ron"]));
}

#[test]
fn iec_words_are_used_where_the_file_asks_for_them() {
    insta::assert_snapshot!(prints(&[
        "read",
        "circuits/dairy.ron",
        "--condition",
        "pump-insulation"
    ]));
}

#[test]
fn receptacles_of_two_legs_have_rows_of_their_own() {
    insta::assert_snapshot!(prints(&["read", "circuits/cider-press.ron"]));
}

#[test]
fn a_box_asked_for_shows_its_joints() {
    insta::assert_snapshot!(prints(&[
        "read",
        "circuits/observatory.ron",
        "--condition",
        "bad-joint",
        "--at",
        "stairs"
    ]));
}

#[test]
fn a_file_that_is_right_is_summed_up() {
    insta::assert_snapshot!(prints(&["check", STUDIO]));
}

#[test]
fn why_names_the_path_that_feeds_a_terminal() {
    insta::assert_snapshot!(prints(&["why", STUDIO, "kiln.neutral", LOST]));
}

#[test]
fn why_says_what_holds_a_floating_terminal() {
    insta::assert_snapshot!(prints(&["why", STUDIO, "sink.neutral", LOST, "heater unplugged"]));
}

#[test]
fn the_json_of_one_slot_is_as_documented() {
    let json = prints(&["read", STUDIO, LOST, "--at", "kiln.neutral", "--json"]);
    let report: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(report["format"], 1);
    assert_eq!(report["tool"], "slotwise");
    assert_eq!(report["tool_version"], env!("CARGO_PKG_VERSION"));
    let terminal = &report["terminals"][0];
    assert_eq!(terminal["address"], "kiln.neutral");
    assert_eq!(terminal["held"], "firm");
    let rms = terminal["potential_volt"]["rms"].as_f64().unwrap();
    assert!((110.0..125.0).contains(&rms), "{rms}");
    assert_eq!(report["hazards"][0]["kind"], "energised_neutral");
}

/// Every key of every object in the JSON.
fn keys(value: &serde_json::Value, found: &mut std::collections::BTreeSet<String>) {
    match value {
        serde_json::Value::Object(map) => {
            for (key, value) in map {
                found.insert(key.clone());
                keys(value, found);
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| keys(item, found)),
        _ => {}
    }
}

#[test]
fn every_key_of_the_json_is_documented() {
    // The readings of instruments are documented with the instruments.
    let page = [include_str!("../docs/json.md"), include_str!("../docs/instruments.md")].concat();
    let mut found = std::collections::BTreeSet::new();
    for arguments in [
        &["check", STUDIO, "--json"][..],
        &["read", STUDIO, LOST, "--at", "kiln", "--at", "door.hot", "--currents", "--json"],
        &["read", "circuits/lighthouse.ron", "--json"],
        &[
            "read",
            "circuits/observatory.ron",
            "--json",
            "--with",
            "person",
            "--with",
            "loaded-test",
        ],
        &[
            "read",
            "circuits/tool-library.ron",
            "--json",
            "--with",
            "clamp",
            "--with",
            "test-button",
        ],
        &["why", STUDIO, "kiln.neutral", LOST, "--json"],
    ] {
        let json: serde_json::Value = serde_json::from_str(&prints(arguments)).unwrap();
        keys(&json, &mut found);
    }
    let unknown: Vec<&String> = found
        .iter()
        .filter(|key| !page.contains(&format!("`{key}`")) && !page.contains(&format!("\"{key}\"")))
        .collect();
    assert!(unknown.is_empty(), "{unknown:?} are in neither page");
}

#[test]
fn sentences_may_be_quoted_parted_by_semicolons_or_left_loose() {
    let quoted = prints(&["read", STUDIO, LOST, "kettle on"]);
    assert_eq!(quoted, prints(&["read", STUDIO, &format!("{LOST}; kettle on")]));
    let loose: Vec<&str> = ["read", STUDIO].into_iter().chain(LOST.split(' ')).collect();
    assert_eq!(prints(&["read", STUDIO, LOST]), prints(&loose));
}

#[test]
fn a_condition_named_in_the_file_can_be_asked_for() {
    assert_eq!(
        prints(&["read", STUDIO, "--condition", "loose-neutral"]),
        prints(&["read", STUDIO, LOST])
    );
    let said = says(&["read", STUDIO, "--condition", "lose-neutral"], 2);
    assert!(said.contains("loose-neutral"), "{said}");
}

#[test]
fn a_condition_may_stand_in_a_file_of_its_own() {
    let file = "tests/readme/cold-kiln.ron";
    assert_eq!(
        prints(&["read", STUDIO, "--condition", file]),
        prints(&["read", STUDIO, LOST, "heater off"])
    );
    assert_eq!(
        prints(&["read", STUDIO, "--condition", "kettle-too", "--condition", file, "drive off"]),
        prints(&["read", STUDIO, "kettle on; drive off; heater off", LOST])
    );
    // A circuit is no condition.
    assert!(says(&["read", STUDIO, "--condition", STUDIO], 1).contains(STUDIO));
}

#[test]
fn standard_input_is_read_for_a_dash() {
    let text = std::fs::read_to_string(STUDIO).unwrap();
    let output = slotwise(&["read", "-"]).write_stdin(text).output().unwrap();
    assert_eq!(ended(&output, 0).0, prints(&["read", STUDIO]));
}

#[test]
fn a_misspelt_address_is_answered_with_the_closest() {
    let said = says(&["read", STUDIO, "--at", "klin.hot"], 1);
    assert!(said.contains("kiln.hot"), "{said}");
    let said = says(&["why", STUDIO, "kiln.neutrl"], 1);
    assert!(said.contains("kiln.neutral"), "{said}");
}

#[test]
fn everything_wrong_with_a_call_is_said_in_one_go() {
    let (_, err) =
        ended(&slotwise(&["read", STUDIO, "--at", "klin", "--at", "snk"]).output().unwrap(), 1);
    assert!(err.contains("`klin`") && err.contains("`snk`"), "{err}");
    let both = ["read", STUDIO, "foo bar", "--at", "klin"];
    let (_, err) = ended(&slotwise(&both).output().unwrap(), 1);
    assert!(err.contains("`foo`") && err.contains("`klin`"), "{err}");
}

#[test]
fn an_absurd_figure_is_said_with_a_power_of_ten() {
    for sentence in ["neutral 1e-320 ohm at kiln line side", "supply 1e308 V"] {
        let output = slotwise(&["read", STUDIO, sentence]).output().unwrap();
        let err = String::from_utf8(output.stderr).unwrap();
        assert!(output.status.code() == Some(1) && !err.contains("000000"), "{err}");
    }
}

#[test]
fn no_figure_of_the_json_is_a_zero_with_a_sign() {
    let json = prints(&["read", "circuits/bakery.ron", "--json", "--currents"]);
    assert!(!json.contains("-0.0,") && !json.contains("-0.0\n"), "a zero has no sign");
}

#[test]
fn an_option_that_would_be_ignored_is_refused() {
    for ignored in [
        &["drill", "--list", "--seed", "3"][..],
        &["drill", "--list", "--faults", "2"],
        &["drill", "--list", "--difficulty", "easy"],
        &["drill", "--list", "--json"],
        &["drill", "--list", "--live"],
        &["drill", "--count", "2", "--json", "--quick"],
        &["drill", "--circuit", "--quick"],
    ] {
        let output = slotwise(ignored).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{ignored:?}");
        // Where JSON was asked for, why there is no result is JSON too.
        let out = String::from_utf8(output.stdout).unwrap();
        let is_json = ignored.contains(&"--json");
        assert_eq!(out.contains("\"report\":\"problems\""), is_json, "{ignored:?}: {out}");
        assert!(is_json || out.is_empty(), "{ignored:?}: {out}");
    }
}

#[test]
fn a_sentence_that_is_none_is_answered_where_it_goes_wrong() {
    insta::assert_snapshot!(says(&["read", STUDIO, "neutral open at klin, line side"], 1));
}

#[test]
fn problems_of_a_file_are_shown_with_line_and_column() {
    insta::assert_snapshot!(says(&["check", "tests/readme/misspelt.ron"], 1));
}

#[test]
fn files_that_cannot_be_read_are_said_so_with_exit_code_two() {
    let missing = says(&["check", "no/such.ron"], 2);
    assert!(missing.contains("no/such.ron") && missing.contains("sample"), "{missing}");
    let directory = says(&["check", "circuits"], 2);
    assert!(directory.contains("directory"), "{directory}");
    let binary = slotwise(&["check", "-"]).write_stdin(vec![0xff_u8, 0xfe, 0x00]).output().unwrap();
    assert!(ended(&binary, 2).1.contains("not a text file"));
}

#[test]
fn text_of_zeros_or_nothing_is_a_problem_and_no_panic() {
    for text in [vec![0_u8; 64], Vec::new()] {
        let output = slotwise(&["read", "-"]).write_stdin(text).output().unwrap();
        let (out, err) = ended(&output, 1);
        assert_eq!(out, "");
        assert!(!err.contains("panicked"), "{err}");
    }
}

#[test]
fn a_wrong_call_ends_with_exit_code_two() {
    assert!(says(&["read"], 2).contains("FILE"));
    assert!(says(&["raed", STUDIO], 2).contains("read"));
}

#[test]
fn help_teaches_with_circuits_that_exist() {
    for arguments in
        [&["--help"][..], &["read", "--help"], &["check", "--help"], &["why", "--help"]]
    {
        let help = prints(arguments);
        assert!(help.contains("Examples:"));
        assert!(help.lines().all(|line| line.chars().count() <= 80), "{help}");
        for word in help.split_whitespace().filter(|word| word.starts_with("circuits/")) {
            let circuit = word.trim_end_matches(|c: char| !c.is_alphanumeric());
            assert!(std::path::Path::new(circuit).exists(), "{circuit}");
        }
    }
    assert!(prints(&["--help"]).contains("Exit codes:"));
}

#[test]
fn every_example_of_the_help_runs() {
    let mut run = 0;
    let helps = ["read", "check", "why", "draw"].map(|command| vec![command, "--help"]);
    for arguments in std::iter::once(vec!["--help"]).chain(helps) {
        let help = prints(&arguments);
        let help = help.replace("\\\n", " ");
        for line in help.lines().map(str::trim).filter(|line| line.starts_with("slotwise ")) {
            // Those of a file of one's own are played by tests/five_minutes.rs.
            if line.contains('|') || !line.contains("circuits/") {
                continue;
            }
            let mut words: Vec<&str> = Vec::new();
            for (part, piece) in line["slotwise ".len()..].split('\'').enumerate() {
                match part % 2 {
                    1 => words.push(piece),
                    _ => words.extend(piece.split_whitespace()),
                }
            }
            // What an example writes goes where it is in nobody's way.
            let target = words.iter().position(|word| *word == "-o").map(|at| at + 1);
            let kept = target.map(|at| format!("{}/{}", env!("CARGO_TARGET_TMPDIR"), words[at]));
            if let (Some(at), Some(kept)) = (target, &kept) {
                words[at] = kept;
                words.push("--force");
            }
            ended(&slotwise(&words).output().unwrap(), 0);
            run += 1;
        }
    }
    assert!(run >= 8, "{run}");
}

#[test]
fn colour_is_used_only_where_it_is_wanted() {
    let coloured = |set: &[(&str, &str)]| {
        let mut command = slotwise(&["read", STUDIO, LOST]);
        command.env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE").env("TERM", "xterm");
        for (name, value) in set {
            command.env(name, value);
        }
        ended(&command.output().unwrap(), 0).0.contains('\x1b')
    };
    assert!(!coloured(&[]));
    assert!(coloured(&[("CLICOLOR_FORCE", "1")]));
    assert!(!coloured(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
}

#[test]
fn a_reader_that_goes_away_is_no_panic() {
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin("slotwise"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["read", "circuits/cider-press.ron", "--currents", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

#[test]
fn every_sample_there_is_checks() {
    let list = prints(&["sample", "--list"]);
    assert!(list.lines().count() >= 14, "{list}");
    assert!(list.lines().all(|line| line.chars().count() <= 80), "{list}");
    for line in list.lines() {
        let name = line.split_whitespace().next().unwrap();
        let text = prints(&["sample", name]);
        assert_eq!(text, std::fs::read_to_string(format!("circuits/{name}.ron")).unwrap());
    }
    let is_circuit = |path: &std::path::Path| path.extension().is_some_and(|kind| kind == "ron");
    let entries = std::fs::read_dir("circuits").unwrap().map(|entry| entry.unwrap().path());
    let files = entries.filter(|path| is_circuit(path)).count();
    assert_eq!(list.lines().count(), files, "every circuit of circuits/ is a sample");
    assert!(says(&["sample", "nothing"], 2).contains("pottery-studio"));
}

#[test]
fn shells_get_their_completions() {
    for shell in ["bash", "zsh", "fish"] {
        assert!(prints(&["completions", shell]).contains("slotwise"));
    }
}

#[test]
fn the_caution_is_said_once() {
    for arguments in [&["read", STUDIO][..], &["read", STUDIO, LOST], &["why", STUDIO, "kiln.hot"]]
    {
        let text = prints(arguments).replace('\n', " ");
        assert_eq!(text.matches("proves nothing dead").count(), 1, "{text}");
    }
}

const ALIKE: &str = "hot-neutral dark, hot-ground lit, neutral-ground lit";

#[test]
fn look_alikes_are_listed_dangers_first() {
    insta::assert_snapshot!(prints(&[
        "lookalikes",
        STUDIO,
        "heater on; all loads off",
        "--at",
        "kiln",
        "--singles",
        "--members",
        "2",
        "--shows",
        ALIKE,
    ]));
}

#[test]
fn a_wording_of_what_is_shown_is_answered() {
    let ask = |shows: &'static str| ["lookalikes", STUDIO, "--at", "kiln", "--shows", shows];
    insta::assert_snapshot!(
        [
            says(&ask("hot-neutral gloomy"), 1),
            says(&ask("left lamp lit"), 1),
            says(&ask("hot-neutral 120 V"), 1),
            says(&["lookalikes", STUDIO, "--at", "kiin", "--shows", ALIKE], 1),
            says(&["lookalikes", STUDIO, "--at", "kiln", "--with", "testr", "--shows", ALIKE], 2),
        ]
        .concat()
    );
}

#[test]
fn look_alikes_as_json_keep_their_form() {
    let ask = ["lookalikes", STUDIO, "all loads off", "--at", "kiln", "--singles", "--json"];
    let text = prints(&[&ask[..], &["--shows", "hot-neutral dim"]].concat());
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["report"], "lookalikes");
    assert!(json["singles"]["groups"][0]["members"][0]["faults"][0].is_string());
}

#[test]
fn instruments_are_read_at_every_receptacle() {
    let ask = ["read", STUDIO, LOST, "--at", "kiln", "--at", "bench"];
    let with = ["tester", "voltmeter", "non-contact", "solenoid", "loaded-test", "tester-230"];
    let with: Vec<&str> = with.iter().flat_map(|name| ["--with", *name]).collect();
    let text = prints(&[&ask[..], &with[..]].concat());
    let start = text.find("Plug-in tester, resistive").unwrap();
    let stop = text.find("\nLoads").unwrap();
    insta::assert_snapshot!(&text[start..stop]);
}

#[test]
fn instruments_that_are_not_held_to_a_receptacle_are_held_where_they_belong() {
    let with = ["clamp", "leakage-clamp", "person", "person-low", "ohmmeter", "insulation-500"];
    let with: Vec<&str> =
        with.iter().chain(&["test-button", "residual-5ma"]).flat_map(|w| ["--with", *w]).collect();
    let text = prints(&[&["read", "circuits/tool-library.ron"], &with[..]].concat());
    let start = text.find("Clamp meter").unwrap();
    let stop = text.find("\nLoads").unwrap();
    insta::assert_snapshot!(&text[start..stop]);
    let said = says(&["read", STUDIO, "--with", "test-button"], 1);
    assert!(said.contains("ask for a ground-fault or arc-fault device"), "{said}");
}

/// A file of two instruments of one's own: the example of the page.
fn own_instruments() -> String {
    let page = include_str!("../docs/instruments.md");
    let (_, from) = page.split_once("```ron\n").unwrap();
    let text = from.split_once("```").unwrap().0;
    let path = format!("{}/own-instruments.ron", env!("CARGO_TARGET_TMPDIR"));
    std::fs::write(&path, text).unwrap();
    path
}

#[test]
fn an_instrument_of_ones_own_is_read_and_asked_for_look_alikes() {
    let path = own_instruments();
    let path = path.as_str();
    let both = prints(&["read", STUDIO, LOST, "--with", path]);
    assert!(both.contains("\nBench meter\n") && both.contains("\nWorkshop tester\n"), "{both}");
    let one = format!("{path}:bench meter");
    let text = prints(&["read", STUDIO, LOST, "--with", &one, "--at", "sink"]);
    assert!(text.contains("\nBench meter\n") && !text.contains("Workshop"), "{text}");
    // 1 megohm beside the sink's 10 k of insulation and the heater's 10 ohm: 120 V stay 120 V.
    assert!(text.contains("hot-ground 120.0 V, neutral-ground 120.0 V"), "{text}");
    let alike = ["lookalikes", STUDIO, "--at", "kiln", "--singles", "--shows", "hot-neutral dark"];
    let text = prints(&[&alike[..], &["--with", &format!("{path}:workshop tester")]].concat());
    assert!(text.starts_with("What would make a workshop tester at kiln show"), "{text}");
    let said = says(&[&alike[..], &["--with", path]].concat(), 2);
    assert!(said.contains("several instruments") && said.contains(":bench meter"), "{said}");
    let said = says(&["read", STUDIO, "--with", &format!("{path}:bench metre")], 2);
    assert!(said.contains("did you mean `bench meter`?"), "{said}");
}

#[test]
fn a_bad_instrument_of_ones_own_is_explained_with_line_and_column() {
    let bad = "tests/broken_instruments/several_at_once.ron";
    for ask in [
        vec!["read", STUDIO, "--with", bad],
        vec!["lookalikes", STUDIO, "--at", "kiln", "--shows", "hot-neutral dark", "--with", bad],
    ] {
        let said = says(&ask, 1);
        assert!(said.contains(&format!("--> {bad}:")), "{said}");
        assert!(said.contains("^"), "{said}");
    }
    let said = says(&["read", STUDIO, "--with", "no-such.ron"], 2);
    assert!(said.contains("there is no file `no-such.ron`"), "{said}");
    let said = says(&["read", STUDIO, "--with", "voltmetre"], 2);
    assert!(said.contains("did you mean `voltmeter`?"), "{said}");
    assert!(said.contains("FILE.ron"), "{said}");
}

/// A length, a load and the supply known only between bounds.
const SMOKEHOUSE: &str = r#"(
    format: 1,
    name: "Smokehouse",
    supply: (system: SplitPhase, volts_between: (114, 126)),
    circuits: [(id: "c1", amperes: 20)],
    boxes: [(id: "door", from: "c1", feet_between: (40, 80)), (id: "smoker", from: "door", feet: 12)],
    loads: [
        (id: "element", at: "smoker", kind: Resistive(watts: 1050), watts_between: (900, 1200)),
    ],
)"#;

#[test]
fn what_is_known_between_bounds_gives_every_reading_a_band() {
    let ask = |more: &[&str]| {
        let call = [&["read", "-", "--with", "voltmeter-low-impedance"], more].concat();
        ended(&slotwise(&call).write_stdin(SMOKEHOUSE).output().unwrap(), 0).0
    };
    insta::assert_snapshot!(ask(&[]));
    let json: serde_json::Value = serde_json::from_str(&ask(&["--json"])).unwrap();
    let figure = &json["outlets"][1]["meter"]["bands"][0]["figures"][0];
    // 114 V and 126 V less what two wires of 52 to 92 ft of 12 AWG drop at 7 to 10 A.
    let (low, high) = (figure["low"].as_f64().unwrap(), figure["high"].as_f64().unwrap());
    assert!(low > 109.5 && low < 113.0 && high > 123.0 && high < 126.0, "{low} {high}");
    assert_eq!(json["ranges"]["method"], "all_corners");
    assert_eq!(json["ranges"]["n_points"], 25);
    assert_eq!(json["ranges"]["of"].as_array().unwrap().len(), 3);
    let page = ask(&["--html"]);
    assert!(page.contains("110 to 125 V") || page.contains(" to 126 V"), "the page has bands");
    assert!(page.contains("no bound is claimed"), "and says how they are bounded");
}

#[test]
fn a_plug_that_goes_in_either_way_round_is_read_both_ways() {
    let text = prints(&["read", "circuits/dairy.ron", "--at", "office"]);
    let turned = text.lines().find(|line| line.starts_with("  turned")).unwrap();
    let words: Vec<&str> = turned.split_whitespace().collect();
    assert_eq!(words, ["turned", "lit", "dark", "lit"], "{text}");
}

#[test]
fn a_reading_says_what_the_load_of_its_instrument_trips() {
    let ground_fault =
        "(format: 1, name: \"Pergola\", circuits: [(id: \"c1\", amperes: 20)], boxes: [
        (id: \"gate\", from: \"c1\", feet: 30, device: GroundFault(feeds: true)),
        (id: \"seat\", from: \"gate\", feet: 12),
    ])";
    let ask = |with: &str, more: &[&str]| {
        let mut command = slotwise(&["read", "-", "--at", "seat", "--with", with]);
        ended(&command.args(more).write_stdin(ground_fault).output().unwrap(), 0).0
    };
    let said = ask("voltmeter-low-impedance", &[]);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("then its load trips gate.gf within"), "{said}");
    assert_eq!(words.matches("its load trips").count(), 1, "between hot and ground alone: {said}");
    assert!(!ask("voltmeter", &[]).contains("its load trips"));
    let json: serde_json::Value =
        serde_json::from_str(&ask("voltmeter-low-impedance", &["--json"])).unwrap();
    let trips = json["instruments"][0]["load_trips"].as_array().unwrap();
    let spots = json["instruments"][0]["spots"].as_array().unwrap();
    assert_eq!(trips.len(), spots.len());
    for (spot, trips) in spots.iter().zip(trips) {
        assert_eq!(trips.is_null(), spot != "hot-ground", "{spot}: {trips}");
    }
}

#[test]
fn the_same_exchange_in_a_condition_and_in_words_does_not_undo_itself() {
    const SHED: &str = r#"(format: 1, name: "Shed", circuits: [(id: "c1", amperes: 15)],
        boxes: [(id: "door", from: "c1", feet: 20), (id: "bench", from: "door", feet: 9)],
        conditions: [(name: "mixed", sentences: ["hot and neutral exchanged at bench",
            "neutral 5 ohm at door, line side"])])"#;
    let read = |more: &[&str], code: i32| {
        let arguments = [&["read", "-", "--condition", "mixed"], more].concat();
        ended(&slotwise(&arguments).write_stdin(SHED).output().unwrap(), code)
    };
    let (alone, _) = read(&[], 0);
    assert!(alone.contains("DANGER"), "{alone}");
    for again in [&["hot and neutral exchanged at bench"][..], &["--condition", "mixed"]] {
        let (_, said) = read(again, 2);
        assert!(said.contains("twice exchanged is as it was"), "{said}");
    }
    // What is said later of the same joint holds.
    let (later, _) = read(&["neutral open at door, line side"], 0);
    assert!(later.contains("neutral open at door, line side"), "{later}");
    assert!(!later.contains("5 ohm"), "{later}");
}
