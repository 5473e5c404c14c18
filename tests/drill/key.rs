//! What a key says and a sheet leaves out: no act without what makes it safe.

use slotwise::condition::catalogue::FaultKind;
use slotwise::diagnosis::Complaint;
use slotwise::drill::{Drill, Wanted};
use slotwise::report::{KeyReport, SheetReport, text};

use crate::support::{by_hand, drawn, family};

const DOVECOTE: &str = r#"(format: 1, name: "Dovecote",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "sill", from: "c1", feet: 37),
        (id: "spout", from: "sill", feet: 14),
        (id: "beam", from: "spout", feet: 9),
    ],
    loads: [
        (id: "bulb", at: "spout", kind: Led(watts: 11)),
        (id: "warmer", at: "beam", kind: Resistive(watts: 995), metal_case: true),
    ],
)"#;

fn with_way(drill: &Drill) -> KeyReport {
    KeyReport::new(drill).unwrap().with_way(drill).unwrap()
}

#[test]
fn a_key_sends_nobody_to_a_live_appliance_without_the_breaker_off() {
    let drill = Drill {
        complaints: vec![
            Complaint::Tingle { from: "warmer".to_owned() },
            Complaint::LoadDead { load: "warmer".to_owned() },
        ],
        first: Vec::new(),
        ..by_hand(DOVECOTE, &["ground and hot exchanged at beam, line side"])
    };
    let way = with_way(&drill).way.unwrap();
    assert!(way.steps.iter().any(|step| !step.dangers.is_empty()), "{way:#?}");
    for step in &way.steps {
        let handles = step.says.contains("nplug") || step.says.contains("witch warmer");
        assert!(!handles || step.says.starts_with("With "), "{}", step.says);
    }
}

#[test]
fn a_key_opens_nothing_that_stays_closed_and_no_appliance() {
    let circuit = by_hand(DOVECOTE, &[]).circuit;
    let all = slotwise::condition::catalogue::catalogue(&circuit);
    let lost = all.faults().iter().find(|fault| fault.kind == FaultKind::ServiceLost).unwrap();
    let lost = lost.sentence(&circuit);
    for (fault, to_do) in [
        (lost.as_str(), "nothing is opened: no breaker makes the service dead"),
        ("hot and frame bridged at warmer", "unplug warmer and have its insulation tested"),
        ("neutral open at sill, line side", "open sill"),
    ] {
        let key = KeyReport::new(&by_hand(DOVECOTE, &[fault])).unwrap();
        assert!(key.faults[0].to_do.contains(to_do), "{:?}", key.faults[0]);
    }
}

#[test]
fn a_key_says_once_what_to_do_where_the_panel_itself_is_live_and_opens_no_service() {
    let lost = "service neutral open";
    let text = DOVECOTE.replace("995", "1500");
    let drill = Drill {
        complaints: vec![Complaint::Tingle { from: "warmer".to_owned() }],
        first: Vec::new(),
        ..by_hand(&text, &[lost])
    };
    let key = with_way(&drill);
    let page = text::key(&key, text::Emphasis::PLAIN);
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(words.matches("Touch neither the panel nor any metal").count(), 1, "{page}");
    let way = key.way.unwrap();
    assert!(way.steps.iter().map(|step| step.dangers.len()).sum::<usize>() > 1, "{page}");
    assert!(way.found && way.boxes.is_empty(), "{page}");
    let last = way.steps.last().unwrap();
    assert!(last.cost_second < 400.0, "nobody opens a box for it: {page}");
}

#[test]
fn openings_stand_between_the_tests_where_they_come() {
    let faults = ["hot open at sill, line side", "neutral open at beam, line side"];
    let drill = Drill {
        complaints: vec![Complaint::Dead { places: vec!["spout".to_owned(), "beam".to_owned()] }],
        first: Vec::new(),
        ..by_hand(DOVECOTE, &faults)
    };
    let key = with_way(&drill);
    let way = key.way.as_ref().unwrap();
    let at = |what: &str| {
        way.steps
            .iter()
            .position(|step| format!("{}: {}", step.says, step.comes_of_it).contains(what))
    };
    let (first, mended) = (at(&format!("found: {}", faults[0])), at("It is mended"));
    let second = at(&format!("found: {}", faults[1]));
    assert!(first.is_some() && first < mended && mended < second, "{way:#?}");
    let page = text::key(&key, text::Emphasis::PLAIN);
    assert_eq!(page.matches("A model proves nothing dead").count(), 1);
    assert!(page.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn a_tester_leads_to_the_box_only_where_it_shows_something_there() {
    // A breaker that trips leaves all dark: that leads nowhere.
    let is_told =
        |drill: &Drill| KeyReport::new(drill).unwrap().misleads.contains("leads to the right box");
    let mut numbers = 0..60;
    let trips = numbers.find_map(|number| {
        let drill = drawn("workshops", number);
        let trips = drill.complaints.iter().any(|one| matches!(one, Complaint::Trips { .. }));
        trips.then_some(drill)
    });
    assert!(!is_told(&trips.unwrap()));
}

#[test]
fn every_fault_of_several_shows_by_itself() {
    let houses = family("houses");
    let wanted = Wanted { faults: Some(2), ..Wanted::default() };
    for number in 0..4 {
        let drill = Drill::draw(&houses, 42, number, &wanted).unwrap();
        let sound = Drill { condition: slotwise::condition::Condition::default(), ..drill.clone() };
        let sound = sound.readings().unwrap();
        for fault in &drill.faults {
            let mut condition = slotwise::condition::Condition::default();
            fault.apply(&mut condition);
            let alone = Drill { condition, ..drill.clone() };
            assert_ne!(alone.readings().unwrap(), sound, "{fault:?}");
        }
    }
}

#[test]
fn a_sheet_says_what_hangs_on_what() {
    let text = r#"(format: 1, name: "Mill",
        circuits: [
            (id: "c1", amperes: 32, ring: (last: "loft", feet: 30)),
            (id: "c2", amperes: 20, leg: "L2"),
        ],
        boxes: [
            (id: "hall", from: "c1", feet: 20),
            (id: "loft", from: "hall", feet: 12),
            (id: "yard", from: "c2", feet: 30, device: Duplex(hot_tab: Broken)),
        ],
        loads: [(id: "fan", at: "yard.bottom", kind: Motor(watts: 100))],
    )"#;
    let sheet = SheetReport::new(&by_hand(text, &[]));
    assert_eq!(sheet.breakers.len(), 2);
    assert!(sheet.breakers[0].contains("on L1"), "{:?}", sheet.breakers);
    assert!(sheet.breakers[0].contains("a ring: 30 ft more from loft"), "{:?}", sheet.breakers);
    assert!(!sheet.breakers[1].contains("ring"), "{:?}", sheet.breakers);
    let from: Vec<&str> = sheet.boxes.iter().map(|one| one.from.as_str()).collect();
    assert_eq!(from, ["panel, c1", "panel, c2", "hall"]);
    let fan = &sheet.loads[0];
    assert_eq!((fan.at.as_str(), fan.rating.as_str()), ("yard.bottom", "motor, 100 W"));
}

fn why(faults: &[&str]) -> Vec<String> {
    let key = KeyReport::new(&by_hand(DOVECOTE, faults)).unwrap();
    key.why.into_iter().map(|why| why.says).collect()
}

#[test]
fn what_tripped_is_why_all_is_dead() {
    let why = why(&["hot and neutral bridged at sill"]);
    assert!(why[0].starts_with("c1 has tripped"), "{why:?}");
    assert!(!why.iter().any(|why| why.contains("That is no hot")), "{why:?}");
}

#[test]
fn a_reading_is_put_down_to_what_makes_it_and_to_nothing_else() {
    let exchanged = "ground and hot exchanged at beam, line side";
    let why = why(&[exchanged, "hot and neutral exchanged at sill"]);
    let beam: Vec<&String> = why.iter().filter(|why| why.starts_with("beam")).collect();
    let sill: Vec<&String> = why.iter().filter(|why| why.starts_with("sill")).collect();
    assert!(!sill.is_empty() && sill.iter().all(|why| !why.contains(exchanged)), "{why:?}");
    for why in beam {
        assert!(!why.contains("exchanged at sill"), "{why}");
    }
}

#[test]
fn a_hot_contact_on_the_ground_is_said_to_be_on_the_ground() {
    let why = why(&["ground and hot exchanged at beam, line side"]);
    let hot = why.iter().find(|why| why.starts_with("beam.hot"));
    assert!(hot.is_none_or(|why| why.contains("this contact is on ground")), "{why:?}");
    assert!(hot.is_some(), "{why:?}");
}
