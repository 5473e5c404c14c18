//! What holds whatever the fault is.

use std::sync::OnceLock;

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{
    Advice, Complaint, Effort, Findings, Found, Inquiry, Means, Moment, Observation, ReadingError,
    Seen, Showed,
};
use slotwise::instrument::{Brightness, Glow, Place, presets};

use crate::call::circuit;

/// Kennels: two receptacles, a heater in a metal case at the second.
const KENNELS: &str = "(
    format: 1,
    name: \"Kennels\",
    circuits: [(id: \"c1\", amperes: 15)],
    boxes: [(id: \"gate\", from: \"c1\", feet: 25), (id: \"run\", from: \"gate\", feet: 12)],
    loads: [(id: \"heater\", at: \"run\", kind: Resistive(watts: 900), metal_case: true)],
)";

const QUICK: Effort =
    Effort { pairs: 120, triples: 20, revised: 0, weighed: 60, looked_ahead: 3, steps: 2 };

fn untold(circuit: &Circuit) -> Inquiry<'_> {
    Inquiry::with(circuit, Means::default(), ReadingError::default(), QUICK)
}

/// Solved once for all tests.
fn kennels() -> Inquiry<'static> {
    static CIRCUIT: OnceLock<Circuit> = OnceLock::new();
    static UNTOLD: OnceLock<Inquiry<'static>> = OnceLock::new();
    let circuit = CIRCUIT.get_or_init(|| circuit(KENNELS));
    UNTOLD.get_or_init(|| untold(circuit)).clone()
}

fn tester(at: &str, glows: [Brightness; 3]) -> Observation {
    let pairs = [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")];
    let showed = pairs.iter().zip(glows).map(|((p, q), glow)| Showed::Indicator {
        between: ((*p).to_owned(), (*q).to_owned()),
        glow: Glow::certain(glow),
    });
    let place = Place::receptacle(at);
    Observation::reading(presets::plug_tester_resistive(), place, showed.collect())
}

fn detector(at: &str, alarm: bool) -> Observation {
    let place = Place::near(at);
    Observation::reading(presets::non_contact_detector(), place, vec![Showed::Alarm(alarm)])
}

fn told(observations: &[Observation]) -> Findings {
    let mut inquiry = kennels();
    for observation in observations {
        inquiry.observe(observation).unwrap();
    }
    inquiry.findings()
}

use Brightness::{Dark, Lit};

#[test]
fn the_order_in_which_things_are_told_does_not_matter() {
    let (one, other) = (tester("run", [Dark, Lit, Lit]), detector("gate.hot", true));
    let (a, b) = (told(&[one.clone(), other.clone()]), told(&[other, one]));
    assert_eq!(a.suspects.len(), b.suspects.len());
    for (a, b) in a.suspects.iter().zip(&b.suspects) {
        assert!((a.probability - b.probability).abs() < 1e-9);
        assert_eq!(a.boxes, b.boxes);
    }
}

#[test]
fn probabilities_add_up_to_one() {
    let findings = told(&[tester("run", [Dark, Lit, Lit])]);
    let sum: f64 = findings.explanations.iter().map(|one| one.probability).sum();
    let sum = sum + findings.nothing_known;
    // What is rarer than one in a thousand is not listed.
    assert!(sum > 0.9 && sum < 1.0 + 1e-9, "{sum}");
}

#[test]
fn a_circuit_that_reads_right_has_nothing_wrong_that_could_be_told() {
    let all_right = [Lit, Lit, Dark];
    let findings = told(&[tester("gate", all_right), tester("run", all_right)]);
    assert!(findings.nothing_known < 0.02, "{}", findings.nothing_known);
    assert!(findings.suspects.iter().all(|suspect| suspect.probability < 0.2));
}

#[test]
fn an_open_neutral_is_likeliest_and_hot_on_the_ground_pin_which_looks_the_same_is_not_forgotten() {
    let mut inquiry = kennels();
    inquiry.complain(&Complaint::DeadFrom { place: "run".into() }).unwrap();
    inquiry.observe(&tester("run", [Dark, Lit, Lit])).unwrap();
    let findings = inquiry.findings();
    let in_these = |conductors: &[&str]| {
        let these = findings.suspects.iter().filter(|one| one.conductors() == conductors);
        these.map(|one| one.probability).sum::<f64>()
    };
    assert!(in_these(&["neutral"]) > 0.5, "{}", in_these(&["neutral"]));
    assert!(in_these(&["hot", "ground"]) > 0.1, "{}", in_these(&["hot", "ground"]));
    assert!(findings.nothing_wrong < 0.01, "{}", findings.nothing_wrong);
}

#[test]
fn a_live_neutral_is_warned_of_at_once() {
    let mut inquiry = kennels();
    inquiry.observe(&tester("run", [Dark, Lit, Lit])).unwrap();
    let warnings = inquiry.warnings();
    let live = warnings.iter().find(|warning| warning.danger.code == "energised_neutral");
    assert!(live.is_some_and(|live| live.probability > 0.5), "{warnings:?}");
}

#[test]
fn a_tingle_is_warned_of_even_where_what_is_read_explains_none() {
    let mut inquiry = kennels();
    inquiry.complain(&Complaint::Tingle { from: "heater".into() }).unwrap();
    inquiry.observe(&tester("run", [Lit, Lit, Dark])).unwrap();
    let warnings = inquiry.warnings();
    let case = warnings.iter().find(|warning| warning.danger.code == "energised_case");
    assert!(case.is_some_and(|case| case.probability > 0.9), "{warnings:?}");
}

#[test]
fn nothing_is_loaded_and_nothing_switched_on_where_the_ground_may_be_live() {
    let mut inquiry = kennels();
    let mut off = Moment::default();
    off.condition.loads.insert("heater".into(), slotwise::condition::LoadState::Off);
    for (slot, alarm) in [("run.ground", true), ("run.hot", true), ("gate.ground", false)] {
        inquiry.observe(&detector(slot, alarm).at(off.clone())).unwrap();
    }
    inquiry.observe(&tester("run", [Lit, Dark, Lit]).at(off)).unwrap();
    for _ in 0..4 {
        let Advice::Test(test) = inquiry.advise() else { break };
        assert!(!(test.instrument == "loaded-test" && test.at.as_str() == "run"), "{test:?}");
        inquiry.leave_out(&test);
    }
}

#[test]
fn a_bad_joint_that_was_found_is_the_fault() {
    let mut inquiry = kennels();
    inquiry.complain(&Complaint::DeadFrom { place: "run".into() }).unwrap();
    let element = "contact:gate-run.b.neutral".to_owned();
    let seen = Seen::Opened { place: "run".into(), found: vec![Found::BadJoint { element }] };
    inquiry.observe(&Observation { moment: Moment::default(), seen }).unwrap();
    let leading = &inquiry.findings().suspects[0];
    assert!(leading.probability > 0.95, "{}", leading.probability);
    assert_eq!(leading.faults[0].fault.places, ["run"]);
}

#[test]
fn a_name_that_the_circuit_does_not_have_is_explained() {
    let mut inquiry = kennels();
    let problem = inquiry.complain(&Complaint::DeadFrom { place: "rum".into() }).unwrap_err();
    assert!(problem.to_string().contains("rum"), "{problem}");
    assert!(inquiry.observe(&tester("gale", [Lit, Lit, Dark])).is_err());
}

#[test]
fn boxes_by_other_names_are_suspected_alike() {
    let renamed = circuit(&KENNELS.replace("gate", "arch").replace("run", "pen"));
    let mut inquiry = untold(&renamed);
    inquiry.observe(&tester("pen", [Dark, Lit, Lit])).unwrap();
    let there = inquiry.findings();
    let here = told(&[tester("run", [Dark, Lit, Lit])]);
    for (a, b) in here.suspects.iter().zip(&there.suspects) {
        assert!((a.probability - b.probability).abs() < 1e-9);
    }
}

#[test]
fn readings_after_a_repair_are_told_for_every_receptacle() {
    let readings = kennels().after_repair().unwrap();
    let testers = readings.iter().filter(|reading| reading.instrument.contains("plug-in"));
    assert_eq!(testers.count(), 2);
}
