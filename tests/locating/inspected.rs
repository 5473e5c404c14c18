//! Somebody walks through with instruments and has no complaint.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Advice, Because, Inquiry, Means, Tool, Warning, words};
use slotwise::report::LocateReport;
use slotwise::report::locate::NextReport;

use crate::call::{circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "loaded-test"];

fn studio() -> Circuit {
    circuit(&std::fs::read_to_string("circuits/pottery-studio.ron").unwrap())
}

fn warned<'w>(warnings: &'w [Warning], code: &str) -> Option<&'w Warning> {
    warnings.iter().find(|warning| warning.danger.code == code)
}

#[test]
fn an_open_ground_that_was_read_is_not_forgotten_once_something_else_is_mended() {
    let studio = studio();
    let saw = [
        "tester at kiln: lit lit dark",
        "tester at sink: lit dim dim",
        "tester at bench: lit dark lit",
        "opened bench: hot and neutral exchanged",
        "mended bench",
        "tester at bench: lit lit dark",
    ];
    let mut inquiry = told(&studio, TOOLS, "", &saw);
    match inquiry.advise() {
        Advice::Test(test) => assert_eq!(test.at.as_str(), "sink"),
        Advice::Stop(stop) => panic!("it ends: {:?}", stop.because),
    }
}

#[test]
fn what_a_meter_reads_on_a_ground_that_floats_is_no_live_neutral_and_fits() {
    let studio = studio();
    let saw = ["voltmeter at kiln: hot-neutral 117.4 V, hot-ground 44 V, neutral-ground 42 V"];
    let floats = told(&studio, TOOLS, "", &saw);
    let warnings = floats.warnings();
    let live = warned(&warnings, "energised_neutral").map_or(0.0, |one| one.probability);
    assert!(live < 0.1, "{live}");
    assert!(floats.conflicts().is_empty(), "{:?}", floats.conflicts());
}

#[test]
fn what_lights_between_neutral_and_ground_is_a_live_neutral_at_once() {
    let studio = studio();
    for saw in ["tester at kiln: lit dark lit", "voltmeter at kiln: neutral-ground 118 V"] {
        let live = told(&studio, TOOLS, "", &[saw]);
        let warnings = live.warnings();
        let neutral = warned(&warnings, "energised_neutral").unwrap();
        assert!(neutral.probability > 0.9, "{saw}: {}", neutral.probability);
        assert!(neutral.addresses[0].as_str().starts_with("kiln"), "{saw}");
    }
}

#[test]
fn where_a_ground_is_likely_open_metal_on_which_a_fault_would_stay_is_warned_of() {
    let studio = studio();
    let saw = [
        "tester at wheel: lit lit dark",
        "tester at kiln: lit dim dim",
        "tester at sink: lit dim dim",
    ];
    let open = told(&studio, TOOLS, "", &saw);
    let warnings = open.warnings();
    let stays = warned(&warnings, "fault_not_cleared").unwrap();
    assert!(stays.probability > 0.5, "{}", stays.probability);
    let sound = told(&studio, TOOLS, "", &["tester at kiln: lit lit dark"]);
    assert!(warned(&sound.warnings(), "fault_not_cleared").is_none());
}

#[test]
fn a_tripped_device_that_leaves_its_slots_live_has_line_and_load_exchanged() {
    let text = std::fs::read_to_string("circuits/tool-library.ron").unwrap();
    let library = circuit(&text);
    let mut live =
        told(&library, TOOLS, "", &["tester at grinder: lit lit dark with grinder tripped"]);
    let first = &live.findings().suspects[0];
    assert_eq!(first.faults[0].fault.kind.code(), "line_load_exchanged");
    let advice = live.advise();
    let is_put_down_to_its_breaker =
        matches!(&advice, Advice::Stop(stop) if stop.because == Because::LiveDespiteBreaker);
    assert!(
        !is_put_down_to_its_breaker && warned(&live.warnings(), "live_with_breaker_off").is_none()
    );
}

#[test]
fn who_may_open_no_box_is_told_to_have_it_opened() {
    let studio = studio();
    let tools: Vec<Tool> = TOOLS.iter().filter_map(|name| Tool::preset(name)).collect();
    let says = |means: Means| {
        let mut inquiry = Inquiry::new(&studio, means);
        let seen = "tester at bench: lit dark lit; tester at wheel: lit lit dark; \
                    non-contact at bench: hot silent, neutral beeps";
        inquiry.observe_all(&words::observations(&studio, &tools, seen).unwrap()).unwrap();
        let advice = inquiry.advise();
        assert!(matches!(advice, Advice::Stop(_)), "{advice:?}");
        match LocateReport::new(&inquiry, &advice).unwrap().next {
            NextReport::Stop(stop) => stop.says,
            other => panic!("{other:?}"),
        }
    };
    let means = Means { tools: tools.clone(), ..Means::default() };
    let theirs = says(Means { may_open_boxes: false, ..means.clone() });
    assert!(theirs.starts_with("Have bench opened by whoever may"), "{theirs}");
    let far = says(Means { out_of_reach: ["bench".to_owned()].into(), ..means.clone() });
    assert!(far.starts_with("Have bench opened by whoever may"), "{far}");
    let ours = says(means);
    assert!(ours.starts_with("With breaker c1 off and the box proven dead, open bench"), "{ours}");
}

#[test]
fn what_goes_dead_with_another_breaker_than_the_file_says_is_said_to_be_fed_by_that() {
    let house = circuit(
        r#"(
        format: 1,
        name: "Chapel kitchen",
        circuits: [
            (id: "nave", amperes: 15), (id: "kit", amperes: 20, leg: "L2"), (id: "urn", amperes: 20),
            (id: "loft", amperes: 15, leg: "L2"), (id: "yard", amperes: 15),
        ],
        boxes: [
            (id: "organ", from: "nave", feet: 40), (id: "aisle", from: "organ", feet: 15),
            (id: "counter", from: "kit", feet: 20), (id: "urnplace", from: "urn", feet: 22),
            (id: "ladder", from: "loft", feet: 35), (id: "gate", from: "yard", feet: 60),
        ],
    )"#,
    );
    let saw = ["organ still live with nave off", "organ dead with kit off"];
    let mut inquiry = told(&house, TOOLS, "", &saw);
    let advice = inquiry.advise();
    let NextReport::Stop(stop) = LocateReport::new(&inquiry, &advice).unwrap().next else {
        panic!("{advice:?}")
    };
    assert!(stop.says.contains("dead with breaker kit off"), "{}", stop.says);
    assert!(stop.says.contains("prove it dead"), "{}", stop.says);
}
