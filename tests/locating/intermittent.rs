//! Joints that make contact now and then: what was dead at one look is alive at the next.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Advice, Because, Inquiry, Suspect};
use slotwise::report::LocateReport;

use crate::call::{circuit, told};

const TOOLS: &[&str] = &["tester", "voltmeter", "non-contact", "loaded-test"];

const ROPERY: &str = r#"(
    format: 1,
    name: "Ropery",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "gate", from: "c1", metres: 10),
        (id: "hatchel", from: "gate", metres: 6),
        (id: "spinning", from: "hatchel", metres: 6),
        (id: "walk", from: "spinning", metres: 9),
        (id: "tarring", from: "walk", metres: 7),
        (id: "loft", from: "tarring", metres: 8),
    ],
    loads: [
        (id: "lamp", at: "hatchel", kind: Filament(watts: 60)),
        (id: "kettle", at: "tarring", kind: Resistive(watts: 900)),
    ],
)"#;

const DARK: &str = "hot-neutral dark, hot-ground dark, neutral-ground dark";
const RIGHT: &str = "hot-neutral lit, hot-ground lit, neutral-ground dark";

fn inquiry<'c>(circuit: &'c Circuit, said: &[&str]) -> Inquiry<'c> {
    told(circuit, TOOLS, "", said)
}

fn dark(place: &str) -> String {
    format!("tester at {place}: {DARK}")
}

fn right(place: &str) -> String {
    format!("tester at {place}: {RIGHT}")
}

/// What is suspected first, in short.
fn first(inquiry: &Inquiry<'_>) -> Suspect {
    inquiry.findings().suspects.swap_remove(0)
}

fn in_short(suspect: &Suspect) -> String {
    let Suspect { probability, intermittent, .. } = suspect;
    format!("{} {probability:.3}, now and then {intermittent:.3}", suspect.whereabouts())
}

#[test]
fn readings_that_change_from_look_to_look_are_a_joint_that_makes_contact_now_and_then() {
    let ropery = circuit(ROPERY);
    // Before the joint it is right at every look, past it at some.
    let mut looks = vec![dark("walk"), right("spinning"), right("walk"), dark("tarring")];
    looks.extend([right("tarring"), right("spinning"), dark("walk"), right("spinning")]);
    looks.extend([right("loft"), right("spinning"), right("hatchel"), right("spinning")]);
    let said: Vec<&str> = looks.iter().map(String::as_str).collect();
    let mut inquiry = inquiry(&ropery, &said);
    let suspect = first(&inquiry);
    assert!(suspect.probability > 0.6 && suspect.intermittent > 0.95, "{}", in_short(&suspect));
    assert_eq!(
        (suspect.conductors(), suspect.boxes.as_slice()),
        (&["hot".to_owned()][..], &["spinning".to_owned(), "walk".to_owned()][..])
    );
    let findings = inquiry.findings();
    let (known, wrong) = (1.0 - findings.nothing_known, 1.0 - findings.nothing_wrong);
    assert!(known > 0.95 && wrong > 0.95, "{known} {wrong}");
    let advice = inquiry.advise();
    let report = LocateReport::new(&inquiry, &advice).unwrap();
    assert!(report.suspects[0].says.ends_with(", now and then"), "{}", report.suspects[0].says);
    assert!(report.unproven.iter().any(|one| one.contains("reads right by chance")));
    let sparks = report.warnings.iter().find(|one| one.kind == "heating_joint").unwrap();
    assert!(sparks.is_grave() && sparks.probability > 0.5, "{sparks:?}");
}

#[test]
fn what_is_right_at_each_of_many_looks_is_before_the_joint_that_makes_contact_now_and_then() {
    let ropery = circuit(ROPERY);
    let mut looks = vec![dark("loft"), right("loft"), dark("loft"), right("loft"), dark("loft")];
    let once: Vec<&str> = looks.iter().map(String::as_str).collect();
    let before = |said: &[&str]| {
        let suspects = inquiry(&ropery, said).findings().suspects;
        let past =
            |one: &Suspect| one.boxes.iter().all(|place| place == "tarring" || place == "loft");
        suspects.iter().filter(|one| past(one)).map(|one| one.probability).sum::<f64>()
    };
    let unsure = before(&once);
    looks.extend([right("tarring"), right("tarring"), right("tarring"), right("tarring")]);
    let said: Vec<&str> = looks.iter().map(String::as_str).collect();
    let sure = before(&said);
    assert!(unsure < 0.2 && sure > 0.6, "{unsure} {sure}");
}

#[test]
fn what_is_dead_at_every_look_is_open_and_not_now_and_then() {
    let ropery = circuit(ROPERY);
    let looks = [dark("walk"), dark("tarring"), dark("loft"), right("spinning")];
    let said: Vec<&str> = looks.iter().map(String::as_str).collect();
    let suspect = first(&inquiry(&ropery, &said));
    assert!(suspect.probability > 0.9 && suspect.intermittent < 0.05, "{}", in_short(&suspect));
}

#[test]
fn a_look_that_shows_once_more_what_it_showed_before_it_showed_something_else_counts() {
    let ropery = circuit(ROPERY);
    let (dark, right) = (dark("loft"), right("loft"));
    let wrong = |said: &[&str]| 1.0 - inquiry(&ropery, said).findings().nothing_wrong;
    let (once, again) = (wrong(&[&dark, &right]), wrong(&[&dark, &right, &dark]));
    assert!(again > 0.95 && again > once, "{once} {again}");
}

#[test]
fn a_joint_of_a_ground_that_comes_and_goes_sparks_nowhere() {
    let ropery = circuit(ROPERY);
    let open = "tester at loft: hot-neutral lit, hot-ground dim, neutral-ground dim";
    let right = right("loft");
    let inquiry = inquiry(&ropery, &[open, &right, open, &right, open, &right, open]);
    let suspect = first(&inquiry);
    assert!(suspect.is_intermittent(), "{}", in_short(&suspect));
    assert_eq!(suspect.conductors(), ["ground"]);
    assert!(inquiry.warnings().iter().all(|one| one.danger.code != "heating_joint"));
}

#[test]
fn a_lamp_that_comes_and_goes_at_a_place_that_does_is_of_a_joint_before_it() {
    let ropery = circuit(ROPERY);
    let (dark, right) = (dark("hatchel"), right("hatchel"));
    let inquiry = told(&ropery, TOOLS, "lamp flickers", &[&dark, &right]);
    let findings = inquiry.findings();
    let intermittent = findings.suspects.iter().filter(|one| one.is_intermittent());
    let chance: f64 = intermittent.map(|one| one.probability).sum();
    let all: Vec<String> = findings.suspects.iter().map(in_short).collect();
    assert!(chance > 0.85, "{}", all.join("\n"));
}

#[test]
fn what_alone_cuts_out_may_do_so_by_itself_and_is_looked_at_under_load_before_that_is_said() {
    let ropery = circuit(ROPERY);
    let inquiry = |saw: &[&str]| told(&ropery, TOOLS, "kettle cuts out", saw);
    let mut called = inquiry(&[]);
    let itself = called.findings().nothing_wrong;
    assert!((0.2..0.8).contains(&itself), "{itself}");
    assert!(matches!(called.advise(), Advice::Test(_)));
    // A plain look at the receptacle loads nothing: a bad joint shows only under current.
    let mut looked = inquiry(&[&right("tarring")]);
    match looked.advise() {
        Advice::Test(test) => {
            assert_eq!((&*test.instrument, test.at.as_str()), ("loaded-test", "tarring"))
        }
        Advice::Stop(stop) => panic!("{:?}", stop.because),
    }
    let loaded = "loaded-test at tarring: lost 3.2 V";
    let mut loaded = inquiry(&[&right("tarring"), loaded]);
    assert!(loaded.findings().nothing_wrong > itself);
    // Not before the load itself is as likely as nine in ten does it end there.
    let sure = loaded.findings().nothing_wrong;
    match loaded.advise() {
        Advice::Stop(stop) => assert_eq!(stop.because, Because::NothingWrong),
        Advice::Test(test) => assert_eq!((test.at.as_str(), sure < 0.9), ("tarring", true)),
    }
}

#[test]
fn a_service_conductor_is_not_the_reason_that_one_appliance_of_many_cuts_out() {
    let ropery = circuit(ROPERY);
    let findings = |said: &str| told(&ropery, TOOLS, said, &[]).findings();
    let of_service = |said: &str| -> f64 {
        let suspects = findings(said).suspects.into_iter();
        let service = suspects.filter(|one| {
            one.faults.first().is_some_and(|one| one.fault.kind.code().starts_with("service"))
        });
        service.map(|one| one.probability).sum()
    };
    let (one, all) = (of_service("kettle cuts out"), of_service("lights flicker"));
    assert!(one < 0.2 && all > one, "{one} {all}");
}
