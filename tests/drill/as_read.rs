//! One rule for sheet, key and data: what stood tripped when it was read, and what reads the same.

use slotwise::condition::Condition;
use slotwise::drill::live::{Answer, Live, Verdict};
use slotwise::drill::{Drill, DrillReading, Misleading, Wanted};
use slotwise::instrument::{Shown, presets};
use slotwise::report::{Asked, DrillRow, KeyReport, ReadReport, SheetReport, text};

use crate::support::{FAMILIES, by_hand, does, drawn, family};

/// A ground-fault receptacle between two others, and what may be wrong past it.
const KENNELS: &str = r#"(format: 1, name: "Kennels",
    circuits: [(id: "c1", amperes: 20)],
    boxes: [
        (id: "gate", from: "c1", feet: 20),
        (id: "wash", from: "gate", feet: 12, device: GroundFault(feeds: true)),
        (id: "yard", from: "wash", feet: 15),
    ],
    loads: [
        (id: "lamp", at: "gate", kind: Filament(watts: 60)),
        (id: "dryer", at: "yard", kind: Resistive(watts: 900), metal_case: true),
    ],
)"#;

fn words(report: &KeyReport) -> String {
    let page = text::key(report, text::Emphasis::PLAIN);
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What the report of `read` shows for a reading of a sheet, in the condition that the key prints.
fn read_again(drill: &Drill, key: &KeyReport, one: &DrillReading) -> String {
    let mut condition = Condition::default();
    condition.say(&drill.circuit, &key.read_in.join("\n")).unwrap();
    let with = vec![presets::named(&one.tool).unwrap()];
    let asked = Asked { before_trips: true, with, ..Asked::default() };
    let report = ReadReport::new(&drill.circuit, &condition, &asked).unwrap();
    let row = report.instruments.iter().find(|row| row.at == one.at).unwrap();
    let spot = one.between.as_ref().map_or(0, |between| {
        row.spots.iter().position(|spot| spot == between).unwrap_or_else(|| panic!("{row:?}"))
    });
    match &row.readings[spot].shown {
        Shown::PlugTester(tester) => tester.pattern(),
        Shown::Voltmeter(meter) => meter.display.as_ref().unwrap().text.clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_the_key_prints_gives_every_reading_of_the_sheet_again() {
    let hiding = Wanted { hiding: true, ..Wanted::default() };
    for name in FAMILIES {
        let mut drills: Vec<Drill> = (0..4).map(|number| drawn(name, number)).collect();
        drills.extend(Drill::draw(&family(name), 3, 1, &hiding).ok());
        for drill in drills {
            let key = KeyReport::new(&drill).unwrap();
            assert!(!drill.first.is_empty());
            for one in &drill.first {
                assert_eq!(read_again(&drill, &key, one), one.shows, "{:?} {one:?}", key.read_in);
            }
        }
    }
}

#[test]
fn where_two_devices_race_both_have_tripped_in_sheet_and_key() {
    let circuit = by_hand(KENNELS, &[]).circuit;
    let all = slotwise::condition::catalogue::catalogue(&circuit);
    let high = all.faults().iter().map(|fault| fault.sentence(&circuit));
    let high = high.into_iter().find(|says| says.contains("132")).unwrap();
    let drill = by_hand(KENNELS, &["hot and ground bridged at yard", &high]);
    let key = KeyReport::new(&drill).unwrap();
    assert!(key.read_in.contains(&"breaker c1 off".to_owned()), "{:?}", key.read_in);
    assert!(key.read_in.contains(&"wash tripped".to_owned()), "{:?}", key.read_in);
    let said = words(&key);
    assert!(said.contains("c1 may be quicker"), "{said}");
    assert!(said.contains("When it was read c1 and wash.gf had tripped"), "{said}");
    assert!(!said.contains("Below is"), "{said}");
    // The lamp before the device is dead with them, and gets no 132 V.
    assert!(key.hazards.iter().all(|hazard| hazard.kind != "over_voltage"), "{:?}", key.hazards);
    let read = drill.readings().unwrap();
    assert!(read.iter().all(|one| !one.shows.contains("lit")), "{read:?}");
}

#[test]
fn a_breaker_of_two_poles_has_tripped_once() {
    let text = r#"(format: 1, name: "Nursery",
        circuits: [(id: "c1", amperes: 20, legs: ["L1", "L2"], tied: true)],
        boxes: [(id: "bed", from: "c1", feet: 20, capped: ["hot2"])])"#;
    for wires in ["hot and hot2", "hot2 and neutral"] {
        let touch = format!("{wires} touching in cable c1-bed, halfway");
        let key = KeyReport::new(&by_hand(text, &[&touch])).unwrap();
        assert_eq!(key.read_in, [touch.as_str(), "breaker c1 off"]);
        assert!(words(&key).contains("When it was read c1 had tripped"), "{key:?}");
    }
}

#[test]
fn what_is_certainly_slower_than_what_cleared_it_is_found_closed() {
    let leak = "hot and ground bridged at yard through 300 ohm";
    let key = KeyReport::new(&by_hand(KENNELS, &[leak])).unwrap();
    assert_eq!(key.read_in, [leak, "wash tripped"]);
}

#[test]
fn what_the_key_lists_as_right_too_is_taken_as_right() {
    let drill = by_hand(KENNELS, &["hot and neutral bridged at gate"]);
    let key = KeyReport::new(&drill).unwrap().with_also_right(&drill).unwrap();
    let also = key.faults[0].also_right.as_ref().unwrap();
    assert!(also.contains(&"hot and ground bridged at gate".to_owned()), "{also:?}");
    // With the breaker merely off nothing trips when it is closed.
    assert!(!also.iter().any(|one| one.contains("off") || one.contains("open")), "{also:?}");
    assert!(words(&key).contains("taken as right too"), "{also:?}");
    for name in also {
        let mut live = Live::new(drill.clone()).unwrap();
        let Answer::Named { verdict, .. } = does(&mut live, &format!("name {name}")) else {
            panic!("{name}")
        };
        assert!(matches!(verdict, Verdict::Alike { left: 0, .. }), "{name}: {verdict:?}");
    }
    // What trips and what the customer says tell as well as an instrument does.
    for (truth, name) in [
        ("hot and neutral bridged at gate", "breaker c1 off"),
        ("neutral open at dryer, plug", "electrode transformer open"),
    ] {
        let mut live = Live::new(by_hand(KENNELS, &[truth])).unwrap();
        let Answer::Named { verdict, .. } = does(&mut live, &format!("name {name}")) else {
            panic!("{name}")
        };
        assert!(!matches!(verdict, Verdict::Alike { .. }), "{name}: {verdict:?}");
    }
}

#[test]
fn what_reads_the_same_at_several_places_is_listed_in_one_go() {
    let drill = by_hand(KENNELS, &["hot and neutral bridged at gate"]);
    let key = KeyReport::new(&drill).unwrap().with_also_right(&drill).unwrap();
    let said = words(&key);
    assert!(said.contains("hot and neutral bridged at wash or yard"), "{said}");
    let quick = KeyReport::new(&drill).unwrap();
    assert!(!words(&quick).contains("taken as right"), "it takes a while");
}

#[test]
fn a_breaker_that_is_off_is_said_to_be_off() {
    let key = KeyReport::new(&by_hand(KENNELS, &["breaker c1 off"])).unwrap();
    let why: Vec<&str> = key.why.iter().map(|why| why.says.as_str()).collect();
    assert_eq!(why, ["The breaker c1 is off: what it feeds is dead."]);
}

#[test]
fn a_fault_in_an_appliance_is_looked_for_where_it_is_plugged_in_and_in_no_box() {
    let cottage = r#"(format: 1, name: "Cottage",
        circuits: [(id: "c1", amperes: 15, carries: ["hot", "neutral"])],
        boxes: [(id: "porch", from: "c1", feet: 20), (id: "attic", from: "porch", feet: 12)],
        loads: [(id: "wireless", at: "attic", kind: Electronics(watts: 40), metal_case: true)],
    )"#;
    let misleading = Misleading { boxes_off: None, live_though_dark: false };
    let leak = "hot and frame bridged at wireless through 2 kohm";
    let drill = Drill { misleading, ..by_hand(cottage, &[leak]) };
    let key = KeyReport::new(&drill).unwrap();
    assert!(key.misleads.contains("amiss first at attic"), "{}", key.misleads);
    assert!(key.misleads.contains("it is in wireless"), "{}", key.misleads);
}

#[test]
fn a_sheet_says_what_supply_and_cables_there_are() {
    let sheet = SheetReport::new(&by_hand(KENNELS, &[]));
    let supply = "120 V from hot to neutral without load; split phase, 240 V from hot to hot; \
                  neutral and ground joined at the panel (TN-C-S)";
    assert_eq!(sheet.supply, supply);
    assert_eq!(sheet.breakers, ["breaker c1, 20 A, cable 12 AWG: hot, neutral, ground"]);
    assert_eq!(sheet.boxes[2].cable, "12 AWG: hot, neutral, ground");
    let hall = r#"(format: 1, name: "Hall", supply: (system: Single230, earthing: Tt),
        circuits: [(id: "c1", amperes: 16, ground_fault_milliamperes: 30, cable: (mm2: 2.5))],
        boxes: [(id: "urn", from: "c1", metres: 9)])"#;
    let sheet = SheetReport::new(&by_hand(hall, &[]));
    assert!(sheet.supply.contains("one phase; the earth goes to a rod of its own"), "{sheet:?}");
    assert!(sheet.breakers[0].contains("trips on 30 mA residual current"), "{sheet:?}");
    assert!(sheet.breakers[0].contains("2.5 mm"), "{sheet:?}");
    assert_eq!(sheet.boxes[0].from, "consumer unit, c1");
    let page = text::sheet(&sheet, text::Emphasis::PLAIN);
    assert!(page.contains("Supply: 230 V from line to neutral"), "{page}");
}

#[test]
fn data_have_the_words_of_the_sheet_and_a_detector_that_shows_what_one_can_show() {
    let mut devices = 0;
    for name in ["workshops", "two-wire-cottages"] {
        for number in 0..12 {
            let drill = drawn(name, number);
            let row = DrillRow::of(number, &Ok(drill.clone()));
            assert_eq!(row.complaint, SheetReport::new(&drill).call);
            devices += usize::from(row.complaint.iter().any(|one| one.contains("as I reset it")));
            let readings = drill.readings().unwrap();
            let mut detector = readings.iter().filter(|one| one.tool == "non-contact");
            assert!(detector.all(|one| one.shows != "undetermined"), "{name} {number}");
        }
    }
    assert!(devices > 0, "a device in a box was reset");
}
