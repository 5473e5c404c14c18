//! Complaints and what was seen told together, as electricians say them, on names that are words too.

use std::sync::LazyLock;

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Complaint, Protected, Seen, words};

use super::page::tools;

/// A multiwire circuit, and circuits that are called as other things are.
const GATEHOUSE: &str = r#"(
    format: 1,
    name: "Gatehouse",
    circuits: [
        (id: "k", amperes: 20, legs: ["L1", "L2"]),
        (id: "bed", amperes: 15),
        (id: "lights", amperes: 15),
    ],
    boxes: [
        (id: "wall", from: "k", feet: 30),
        (id: "window", from: "wall", feet: 8),
        (
            id: "nook", from: "window", feet: 11, carries: ["hot2", "neutral", "ground"],
            device: Receptacle(hot: "hot2"),
        ),
        (id: "bed_a", from: "bed", feet: 25),
        (id: "lsw", from: "lights", feet: 12, device: Switch(closed: true)),
        (
            id: "ceiling", from: "lsw", feet: 14, carries: ["switched", "neutral", "ground"],
            devices: [],
        ),
    ],
    loads: [
        (id: "kettle", at: "wall", kind: Resistive(watts: 1500), on: false),
        (id: "lamp", at: "window", kind: Filament(watts: 60)),
        (id: "radio", at: "nook", kind: Electronics(watts: 12)),
        (id: "fan", at: "bed_a", kind: Motor(watts: 50)),
        (
            id: "bulbs", at: "ceiling", wired: true, across: ("switched", "neutral"),
            kind: Filament(watts: 200),
        ),
    ],
)"#;

fn gatehouse() -> &'static Circuit {
    static GATE: LazyLock<Circuit> =
        LazyLock::new(|| slotwise::circuit::file::read(GATEHOUSE).unwrap().circuit);
    &GATE
}

/// What is heard in a text, complaints first, in canonical words.
#[track_caller]
fn heard(text: &str, complained: bool) -> String {
    heard_of(gatehouse(), text, complained)
}

/// The same of a circuit.
#[track_caller]
pub(crate) fn heard_of(circuit: &Circuit, text: &str, complained: bool) -> String {
    let (complaints, observations) = words::told(circuit, &tools(), text, (complained, false))
        .unwrap_or_else(|problems| panic!("{}", problems[0].render(text)));
    let complaints = complaints.iter().map(|one| words::tell_complaint(circuit, one));
    let seen = observations.iter().map(|one| words::tell(circuit, &tools(), one));
    let said: Vec<String> = complaints.chain(seen.map(|seen| format!("saw {seen}"))).collect();
    said.join("; ")
}

#[test]
fn each_sentence_is_taken_for_what_it_is() {
    let said = [
        ("window dead; bulbs ok", "window dead; saw bulbs runs"),
        ("radio does not run; bulbs work", "radio does not run; saw bulbs runs"),
        (
            "everything on bed dead; bed is not tripped",
            "everything on bed dead; saw breaker bed holds",
        ),
        (
            "lamp too bright\nradio dead with kettle on",
            "lamp brightens; saw radio dead with kettle on",
        ),
        (
            "radio does not run and lamp too bright with kettle on",
            "saw radio dead with kettle on; saw lamp too bright with kettle on",
        ),
        ("lamp too bright; fan slow", "lamp brightens; fan dims"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text, false), meant, "{text}");
    }
    assert_eq!(heard("lamp too bright; fan slow", true), "saw lamp too bright; saw fan dim");
}

#[test]
fn each_part_of_a_sentence_is_taken_for_what_it_is() {
    let said = [
        ("radio dead, fan works", "radio does not run; saw fan runs"),
        ("fan works but radio does not", "radio does not run; saw fan runs"),
        ("window dead and fan works", "window dead; saw fan runs"),
        ("window dead, bed not tripped", "window dead; saw breaker bed holds"),
        ("window dead, tester at nook: all dark", "window dead; saw tester at nook: all dark"),
        (
            "radio dead, fan works with kettle on",
            "saw radio dead with kettle on; saw fan runs with kettle on",
        ),
        ("reset bed, it holds", "saw breaker bed holds"),
        ("bed reset, trips again", "breaker bed trips at once; saw breaker bed trips at once"),
    ];
    for (text, meant) in said {
        let said = heard(text, false);
        let said =
            said.replace("hot2-neutral dark, hot2-ground dark, neutral-ground dark", "all dark");
        let said =
            said.replace("hot-neutral dark, hot-ground dark, neutral-ground dark", "all dark");
        assert_eq!(said, meant, "{text}");
    }
    // Who looks says what was switched off.
    assert!(words::told(gatehouse(), &tools(), "radio is off", (true, false)).is_err());
    assert_eq!(heard("radio is off", false), "radio does not run");
}

#[test]
fn a_breaker_is_heard_by_its_name_before_or_behind_the_word() {
    let said = [
        ("the bed breaker keeps popping", "breaker bed trips now and then"),
        ("breaker bed keeps popping", "breaker bed trips now and then"),
        ("bed circuit dead", "everything on bed dead"),
        ("lights breaker trips after a few minutes", "breaker lights trips after a while"),
        ("k reset and holds", "saw breaker k holds"),
        ("bed breaker can't be reset", "breaker bed does not reset"),
        ("k trips within a second", "breaker k trips at once"),
        ("k trips in two seconds", "breaker k trips at once"),
        ("k trips within 30 seconds", "breaker k trips after a while"),
        ("k trips in two minutes", "breaker k trips after a while"),
        ("k shuts off", "breaker k trips now and then"),
        ("k shuts off when kettle runs", "breaker k trips when kettle runs"),
        ("k shuts off after a while", "breaker k trips after a while"),
        ("k cuts out after a while", "breaker k trips after a while"),
        ("the k breaker keeps going off", "breaker k trips now and then"),
        ("k will not stay in", "breaker k trips at once"),
        ("k will not stay on", "breaker k trips at once"),
        ("k only trips when kettle runs", "breaker k trips when kettle runs"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text, false), meant, "{text}");
    }
}

#[test]
fn the_hot_of_a_box_is_the_one_its_device_is_on() {
    let said = [
        ("opened window: hot and neutral swapped", "hot and neutral exchanged at window"),
        ("opened nook: hot loose", "hot2 loose at nook, line side"),
        ("opened nook: polarity reversed", "hot2 and neutral exchanged at nook, line side"),
        ("opened panel: neutral lug loose", "service neutral loose"),
        ("opened panel: L1 lug loose", "service L1 loose"),
        ("opened panel: main lug of L2 came off", "service L2 open"),
    ];
    for (text, meant) in said {
        let box_and_meant = heard(text, false);
        assert!(box_and_meant.ends_with(&format!(": {meant}")), "{text}: {box_and_meant}");
    }
}

#[test]
fn what_is_not_heard_is_answered_where_it_went_wrong_and_with_nothing_false() {
    let refused = [
        ("bed breaker sings", "sings", "`sings` is not what a breaker is complained of"),
        ("window dead; radio sings", "sings", "`sings` is not what lights or loads do"),
        ("fan gets hot", "hot", "is it the load itself, or its plug and the plate?"),
        ("voltmeter at nok: 118 V", "nok", "no receptacle is called `nok`"),
        (
            "opened panel: hot lug loose",
            "hot lug loose",
            "which lug of the service? it stays live with the main off",
        ),
        ("window only works", "only", "and when does it not work?"),
        ("window works only with kettle on", "works", "and when does it not work?"),
        ("voltmeter at wall: hot-neutral under 0 V", "0", "nothing shows less than none"),
        (
            "load test at wall: 110 to 119",
            "110 to 119",
            "is that from which volts to which, or what was lost?",
        ),
        ("opened wall: backstabbed switched loose", "switched", "wall has no switched"),
    ];
    for (text, found, message) in refused {
        let problems = words::told(gatehouse(), &tools(), text, (false, false)).unwrap_err();
        assert_eq!((problems.len(), problems[0].found.as_str()), (1, found), "{text}");
        assert_eq!(problems[0].message, message, "{text}");
        let written = |name: &String| name.eq_ignore_ascii_case(found);
        assert!(!problems[0].suggestions.iter().any(written), "{text}");
    }
}

#[test]
fn a_breaker_that_opens_within_seconds_or_shuts_off_trips() {
    let said = [
        ("bed trips within a second", "breaker bed trips at once"),
        ("bed trips in 2 seconds", "breaker bed trips at once"),
        ("bed trips after 40 seconds", "breaker bed trips after a while"),
        ("bed shuts off", "breaker bed trips now and then"),
        ("bed shuts off after a while", "breaker bed trips after a while"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text, false), meant, "{text}");
    }
    assert!(words::told(gatehouse(), &tools(), "window only works", (false, false)).is_err());
}

/// A house whose boxes are called as parts of it are, with a subpanel.
const FARM: &str = r#"(
    format: 1,
    name: "Farm",
    circuits: [
        (id: "feed", amperes: 60, legs: ["L1", "L2"]),
        (id: "c1", amperes: 15),
        (id: "milk", amperes: 20, panel: "barn"),
        (id: "hay", amperes: 20, panel: "barn"),
    ],
    subpanels: [(id: "barn", from: "feed", feet: 120)],
    boxes: [
        (id: "shop", from: "c1", feet: 20, device: Duplex()),
        (id: "place", from: "shop", feet: 12),
        (id: "churn", from: "milk", feet: 16),
        (id: "cooler", from: "churn", feet: 16),
        (id: "loft", from: "hay", feet: 40),
    ],
)"#;

#[test]
fn a_subpanel_that_is_dead_or_works_is_everything_that_it_feeds() {
    let farm = slotwise::circuit::file::read(FARM).unwrap().circuit;
    let heard = |text: &str| words::complaints(&farm, text).unwrap();
    let beyond = heard("everything past barn dead");
    let dead = [
        "barn dead",
        "everything in the barn is dead",
        "no power in the barn",
        "whole barn is out",
        "the whole barn is dead",
        "dead from barn on",
        "everything on feed dead",
        "feed dead",
    ];
    for text in dead {
        assert_eq!(heard(text), beyond, "{text}");
    }
    let with_shop = words::complaints(&farm, "barn and shop dead").unwrap();
    assert_eq!(with_shop.len(), beyond.len() + 1);
    let works = |text: &str| match heard(text).as_slice() {
        [slotwise::diagnosis::Complaint::Works { places }] => places.clone(),
        other => panic!("{text}: {other:?}"),
    };
    let mut barn = works("barn works");
    barn.sort();
    assert_eq!(barn, ["churn", "cooler", "loft"]);
}

#[test]
fn a_box_that_is_called_as_a_house_is_the_box() {
    let farm = slotwise::circuit::file::read(FARM).unwrap().circuit;
    let half = words::complaints(&farm, "half of shop dead").unwrap();
    let said: Vec<String> = half.iter().map(|one| words::tell_complaint(&farm, one)).collect();
    assert_eq!(said, ["half of shop dead"]);
    let house = words::complaints(&farm, "half the house dead").unwrap();
    assert_eq!(words::tell_complaint(&farm, &house[0]), "half the house dead");
}

#[test]
fn what_was_put_right_is_heard_however_it_is_said() {
    let said = [
        ("mended wall", "mended wall"),
        ("I fixed the window outlet", "mended window"),
        ("the wall has been repaired", "mended wall"),
        ("wall fixed", "mended wall"),
        ("retightened everything at nook", "mended nook"),
        ("replaced the receptacle at window", "mended window"),
        ("we put a new receptacle in the nook", "mended nook"),
        ("replaced bulbs", "replaced bulbs"),
        ("new bulb in lamp", "replaced lamp"),
        ("new bulb at window", "replaced lamp"),
        ("put in a new light bulb at the ceiling", "replaced bulbs"),
        ("swapped the kettle", "replaced kettle"),
        ("fan was replaced", "replaced fan"),
        ("kettle works elsewhere", "kettle runs elsewhere"),
        ("kettle trips elsewhere too", "kettle trips elsewhere"),
        ("kettle works in the window socket", "kettle runs elsewhere"),
        ("the kettle trips the breaker on another circuit", "kettle trips elsewhere"),
        ("kettle also trips another breaker", "kettle trips elsewhere"),
        ("plugged the kettle in another room: it trips there too", "kettle trips elsewhere"),
        ("kettle does not run in another outlet either", "kettle dead elsewhere"),
        ("tried radio in another room: dead", "radio dead elsewhere"),
        ("tested the radio elsewhere and it works fine", "radio runs elsewhere"),
        ("since then wall dead", "since then wall dead"),
        ("mended wall; window still dead", "mended wall; saw since then window dead"),
        ("mended wall; now dead from window on", "mended wall; saw since then dead from window on"),
        ("mended wall; lamp flickers", "mended wall; saw since then lamp flickers"),
        ("mended wall; lamp dead", "mended wall; saw lamp dead"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text, true), format!("saw {meant}"), "{text}");
    }
}

#[test]
fn a_repair_of_what_was_never_found_is_asked_about() {
    let refused = [
        (
            "tightened the neutral at wall",
            "of which joint? say what was found first, then that it is mended",
        ),
        ("mended the shed", "no box or load is called `shed`"),
        ("mended", "which box or load? its name is missing"),
    ];
    for (text, message) in refused {
        let problems = words::told(gatehouse(), &tools(), text, (true, false)).unwrap_err();
        assert_eq!(problems[0].message, message, "{text}");
    }
}

#[test]
fn since_when_swallows_no_shock_no_smoke_and_no_fire() {
    for said in [
        "kettle dead since i got a shock",
        "kettle dead since it smelled burnt",
        "window dead since it is burning",
        "window dead since it sparks",
        "lamp dead since there was smoke",
        "lamp dead since the breaker tripped",
    ] {
        assert!(words::told(gatehouse(), &tools(), said, (false, false)).is_err(), "{said}");
    }
    assert_eq!(heard("kettle dead since the storm", false), "kettle does not run");
    assert_eq!(heard("kettle dead since we painted", false), "kettle does not run");
    assert!(words::told(gatehouse(), &tools(), "the other lamp is dead", (false, false)).is_err());
}

#[test]
fn a_breaker_that_tripped_once_was_found_so_and_one_that_trips_again_is_complained_of() {
    for said in ["k tripped", "breaker k has tripped", "found k off", "we found breaker k tripped"]
    {
        assert_eq!(heard(said, false), "saw breaker k found off", "{said}");
    }
    assert_eq!(heard("nook dead, k tripped", false), "nook dead; saw breaker k found off");
    assert_eq!(heard("k tripped when kettle runs", false), "breaker k trips when kettle runs");
    let which = words::told(gatehouse(), &tools(), "found the breaker tripped", (false, false));
    let which = which.unwrap_err();
    assert_eq!(which[0].message, "which breaker?");
    assert!(which[0].expected.contains(&"bed found off".to_owned()), "{which:#?}");
}

#[test]
fn where_only_one_load_works_what_else_is_in_use_on_its_circuit_is_dead() {
    // The kettle is described as off, the fan and the bulbs are on other circuits.
    let dead = words::complaints(gatehouse(), "only the lamp works").unwrap();
    assert_eq!(dead, [Complaint::LoadDead { load: "radio".into() }]);
    let alone = words::complaints(gatehouse(), "only the fan works").unwrap_err();
    assert!(alone[0].message.contains("nothing else on the circuit of fan"), "{alone:#?}");
}

#[test]
fn what_cannot_be_held_is_answered_with_what_to_write() {
    let answer = |text: &str| {
        words::told(gatehouse(), &tools(), text, (false, false)).unwrap_err()[0].expected.join("; ")
    };
    assert_eq!(answer("the meter reads 60 V at nook"), "voltmeter at nook: hot-neutral 60 V");
    assert!(answer("top works, bottom dead").contains("Duplex"));
    assert!(answer("loaded test at nook: dead").contains("voltmeter at BOX: hot-neutral 0 V"));
}

#[test]
fn yes_is_an_answer_to_whether_a_handle_is_off() {
    for said in ["yes", "yes, it is off", "tripped", "it has tripped"] {
        let seen = words::of_handle(gatehouse(), "k", said).unwrap();
        assert_eq!(seen[0].seen, Seen::Protection { name: "k".into(), did: Protected::FoundOff });
    }
    assert!(words::of_handle(gatehouse(), "lsw", "yes").is_none(), "a switch is thrown, not found");
}

#[test]
fn who_says_only_how_a_breaker_trips_has_called_for_that() {
    let said = heard("k trips at once with everything unplugged", false);
    assert!(
        said.starts_with("breaker k trips at once; saw breaker k trips at once with"),
        "{said}"
    );
}

#[test]
fn fire_and_water_are_answered_with_what_comes_first() {
    let answer = |text: &str| {
        words::told(gatehouse(), &tools(), text, (false, false)).unwrap_err().remove(0).message
    };
    assert!(answer("kettle is on fire").contains("fire service"));
    assert!(answer("flames from nook").contains("get everybody out"));
    assert!(answer("water in the nook outlet").contains("dry place"));
    assert!(answer("nook receptacle is wet").contains("keep off"));
    assert_eq!(heard("my child got shocked at nook", false), "tingle from nook");
}

#[test]
fn of_what_only_one_pair_lit_up_the_others_were_dark() {
    let all = "hot-neutral dark, hot-ground lit, neutral-ground dark";
    for said in [
        "only hot-ground lit",
        "hot-ground only",
        "lights up hot ground only",
        "hot-ground lit, rest dark",
        "hot-ground lit and nothing else",
    ] {
        let said = heard(&format!("tester at nook: {said}"), true);
        let parts = all.split(", ").all(|part| said.contains(part));
        assert!(parts && said.starts_with("saw tester at nook: "), "{said}");
    }
}
