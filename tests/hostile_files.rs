//! Files that are cut off, mangled or built to be slow: each is answered, and soon.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::time::{Duration, Instant};

use proptest::prelude::*;
use slotwise::circuit::diagnostic::render_all;
use slotwise::circuit::file;
use slotwise::circuit::file::limits::{BYTES_MAX, PROBLEMS_MAX, VALUES_MAX};

/// One of everything, to be mangled.
const SAMPLE: &str = r#"(
    format: 1, // comment
    name: "Boathouse",
    supply: (system: SplitPhase, volts_between: (114, 126), earthing: TnCS),
    defaults: (cable: (awg: 12, capacitance: Off), feed_through: ["hot"]),
    circuits: [(id: "c1", amperes: 20), (id: "mw", legs: ["L1", "L2"], amperes: 2e1)],
    boxes: [
        (id: "door", from: "c1", feet: 30),
        (id: "slip", from: "door", feet_between: (8, 16), device: GroundFault(feeds: true)),
        (id: "winch", from: "slip", metres: 3.5, devices: [Receptacle(), Receptacle(id: "b")]),
        (id: "bench", from: "mw", feet: 9, device: Duplex(bottom: "hot2", hot_tab: Broken)),
    ],
    cables: [(
        id: "bell", metres: 8, cable: (ohms_per_metre: 0.02), carries: ["red"],
        near: [(conductor: "red", to: "door.splice.hot")], far: [], capped_far: ["red"],
    )],
    loads: [(id: "pump", at: "winch", kind: Motor(watts: 400)), (id: "lamp", at: "bench.top",
             kind: Filament(watts: 60), on: false)],
    conditions: [(name: "dark", sentences: ["breaker c1 off"])],
)"#;

/// Reads and renders; says only whether the file can be used.
fn answered(text: &str) -> bool {
    match file::read(text) {
        Ok(file) => {
            render_all(&file.remarks, "sample.ron", text);
            true
        }
        Err(said) => {
            assert!(!said.is_empty(), "{text}");
            assert!(said.len() <= PROBLEMS_MAX + 1);
            assert!(!render_all(&said, "sample.ron", text).is_empty());
            false
        }
    }
}

#[test]
fn the_sample_is_sound() {
    assert!(answered(SAMPLE));
}

#[test]
fn a_file_cut_off_anywhere_is_answered() {
    for end in 0..SAMPLE.len() {
        assert!(!answered(&SAMPLE[..end]), "cut at {end}");
    }
}

#[test]
fn a_file_without_any_one_of_its_characters_is_answered() {
    for at in 0..SAMPLE.len() {
        answered(&format!("{}{}", &SAMPLE[..at], &SAMPLE[at + 1..]));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_file_with_pieces_exchanged_or_put_in_is_answered(
        edits in prop::collection::vec((0..SAMPLE.len(), 0..SAMPLE.len(), 0..40_usize), 1..6),
        junk in r#"[(){}\[\]:,"'#=/*\\0-9a-z .;é“”\n-]{0,12}"#,
    ) {
        let mut text = SAMPLE.to_owned();
        for (at, from, length) in edits {
            let piece: String = SAMPLE[from..].chars().take(length).collect();
            let mut at = at.min(text.len());
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            text.insert_str(at, &piece);
            text.insert_str(at, &junk);
        }
        answered(&text);
    }

    #[test]
    fn any_text_at_all_is_answered(text in "\\PC{0,200}") {
        answered(&text);
    }
}

/// Enough for the slowest of these in an unoptimised build on a busy machine, far below what
/// quadratic time would take.
const SOON: Duration = Duration::from_secs(20);

#[track_caller]
fn answered_soon(text: &str) -> bool {
    let start = Instant::now();
    let usable = answered(text);
    assert!(start.elapsed() < SOON, "{:?} for {} bytes", start.elapsed(), text.len());
    usable
}

fn many(count: usize, one: impl Fn(usize) -> String) -> String {
    (0..count).map(one).collect()
}

#[test]
fn two_thousand_boxes_are_read_soon() {
    let boxes = many(2_000, |n| match n {
        0 => "(id: \"b0\", from: \"c1\", feet: 9),".to_owned(),
        n => format!(
            "(id: \"b{n}\", from: \"b{}\", feet: 9),",
            if n % 7 == 0 { n / 7 } else { n - 1 }
        ),
    });
    assert!(answered_soon(&format!("(format: 1, circuits: [(id: \"c1\")], boxes: [{boxes}])")));
}

#[test]
fn files_built_to_be_slow_are_answered_soon() {
    let chain = many(2_000, |n| format!("(id: \"b{n}\", from: \"b{}\", feet: 9),", n + 1));
    let lost = many(2_000, |n| format!("(id: \"b{n}\", from: \"x{n}\", feet: 9),"));
    let star = many(2_000, |n| format!("(id: \"s{n}\", from: \"hub\", feet: 9),"));
    let nowhere = many(2_000, |n| format!("(id: \"l{n}\", at: \"p{n}\", kind: Standby()),"));
    for text in [
        format!("(format: 1, boxes: [{chain}])"),
        format!("(format: 1, boxes: [{chain}(id: \"b2000\", from: \"b0\", feet: 1)])"),
        format!("(format: 1, boxes: [{lost}], loads: [{nowhere}])"),
        format!(
            "(format: 1, circuits: [(id: \"c1\")], \
             boxes: [(id: \"hub\", from: \"c1\", feet: 1), {star}])"
        ),
        "(".repeat(100_000),
        "[".repeat(100_000),
        ")".repeat(100_000),
        format!("(format: 1, name: 1 {})", "a ".repeat(50_000)),
        format!("(format: 1, name: {})", "-".repeat(500_000)),
        format!("(format: 1, name: {})", "1-".repeat(500_000)),
        format!("(format: 1, name: {})", "1a-_".repeat(250_000)),
        format!("(format: 1, name: {})", "a ".repeat(500_000)),
        format!("(format: 1, boxes: [{}])", "a b: c, ".repeat(100_000)),
        format!("(format: 1, boxes: [{}])", "a b, ".repeat(100_000)),
        format!("(format: 1, boxes: {{{}}})", "\"a\": (id: \"b\"), ".repeat(100_000)),
        format!("(format: 1, name: {})", "\"a, \"b".repeat(100_000)),
        format!("(format: 1 {}", "/*".repeat(50_000)),
        format!("(format: 1, name: \"{})", "a\n".repeat(50_000)),
        format!("(format: 1, {})", "colour: 1, ".repeat(30_000)),
        format!("(format: 1, {})", "name: 1, ".repeat(30_000)),
        format!("(format: 1, circuits: [{}])", "(id: c),".repeat(50_000)),
        format!("(format: 1, circuits: [{}])", "(idd),".repeat(50_000)),
    ] {
        answered_soon(&text);
    }
}

#[test]
fn files_beyond_the_limits_are_refused() {
    for (code, text) in [
        ("file-too-big", " ".repeat(BYTES_MAX + 1)),
        ("too-many-values", format!("(format: 1, circuits: [{}])", "1,".repeat(VALUES_MAX))),
        ("nested-too-deep", format!("(format: 1, name: {})", "(".repeat(33))),
        (
            "too-many-devices",
            format!(
                "(format: 1, circuits: [(id: \"c1\")], boxes: [(id: \"desk\", from: \"c1\", \
                 feet: 1, devices: [{}])])",
                many(65, |n| format!("Receptacle(id: \"d{n}\"),"))
            ),
        ),
        (
            "too-many-wires",
            format!(
                "(format: 1, circuits: [(id: \"c1\", carries: [{}])])",
                many(65, |n| format!("\"w{n}\","))
            ),
        ),
        (
            "too-many-subpanels",
            format!(
                "(format: 1, circuits: [(id: \"c1\")], subpanels: [{}])",
                many(1001, |n| format!("(id: \"s{n}\", from: \"c1\", feet: 1),"))
            ),
        ),
    ] {
        let Err(said) = file::read(&text) else { panic!("{code} was not said") };
        assert!(said.iter().any(|diagnostic| diagnostic.code == code), "{code}: {:?}", said[0]);
    }
}
