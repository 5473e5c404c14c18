//! A walk with a tester from receptacle to receptacle, told as inspectors and electricians tell it.

use std::sync::LazyLock;

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Account, words};

use super::page::tools;
use super::told::heard_of;

/// Receptacles for which a tester is made, one for which none is, a duplex with halves, a switch, a panel.
const GRANGE: &str = r#"(
    format: 1,
    name: "Grange hall",
    circuits: [
        (id: "kit", amperes: 20),
        (id: "hall", amperes: 15, leg: "L2"),
        (id: "feed", amperes: 60, legs: ["L1", "L2"]),
        (id: "loft", amperes: 20, panel: "loft_panel", leg: "L2"),
        (id: "oven", amperes: 30, legs: ["L1", "L2"], carries: ["hot", "hot2", "ground"]),
    ],
    subpanels: [(id: "loft_panel", from: "feed", feet: 70, cable: (awg: 6))],
    boxes: [
        (id: "counter", from: "kit", feet: 30, device: GroundFault(feeds: true)),
        (id: "sill", from: "counter", feet: 8),
        (id: "porch", from: "hall", feet: 30),
        (id: "stage", from: "porch", feet: 20, terminals: PushIn),
        (id: "pair", from: "stage", feet: 10, device: Duplex()),
        (id: "wall", from: "porch", feet: 12, device: Switch(closed: true)),
        (id: "rafter", from: "wall", feet: 25, carries: ["switched", "neutral", "ground"], devices: []),
        (id: "ladder", from: "loft", feet: 15),
        (id: "range", from: "oven", feet: 25, device: Receptacle(configuration: "NEMA 6-30")),
    ],
    loads: [
        (id: "pendant", at: "rafter", wired: true, across: ("switched", "neutral"), kind: Filament(watts: 100)),
        (id: "cooler", at: "sill", kind: Motor(watts: 150)),
    ],
)"#;

/// The same with names that are words too.
const ROW: &str = r#"(
    format: 1,
    name: "Row house",
    circuits: [(id: "sockets", amperes: 20), (id: "lights", amperes: 15, leg: "L2")],
    boxes: [
        (id: "garage_door", from: "sockets", feet: 30),
        (id: "it", from: "garage_door", feet: 12),
        (id: "desk", from: "it", feet: 12),
        (id: "landing", from: "lights", feet: 12),
    ],
    loads: [
        (id: "computer", at: "desk", kind: Electronics(watts: 200)),
        (id: "lamp", at: "landing", kind: Filament(watts: 60)),
    ],
)"#;

fn grange() -> &'static Circuit {
    static GRANGE_CIRCUIT: LazyLock<Circuit> =
        LazyLock::new(|| slotwise::circuit::file::read(GRANGE).unwrap().circuit);
    &GRANGE_CIRCUIT
}

fn row() -> &'static Circuit {
    static ROW_CIRCUIT: LazyLock<Circuit> =
        LazyLock::new(|| slotwise::circuit::file::read(ROW).unwrap().circuit);
    &ROW_CIRCUIT
}

/// What is heard once something is complained of, with what a tester showed in short.
#[track_caller]
fn seen(text: &str) -> String {
    short(&heard_of(grange(), text, true))
}

fn short(said: &str) -> String {
    said.replace("hot-neutral ", "").replace("hot-ground ", "").replace("neutral-ground ", "")
}

#[track_caller]
fn all_seen(said: &[(&str, &str)]) {
    for (text, meant) in said {
        assert_eq!(seen(text), *meant, "{text}");
    }
}

/// What is answered to a text that is not understood.
#[track_caller]
fn asked(circuit: &Circuit, text: &str) -> String {
    let problems = words::told(circuit, &tools(), text, (true, false))
        .err()
        .unwrap_or_else(|| panic!("heard: {text}: {}", heard_of(circuit, text, true)));
    problems[0].render(text)
}

/// Each is asked, with words that the answer has.
#[track_caller]
fn all_asked(said: &[(&str, &str)]) {
    for (text, answer) in said {
        let asked = asked(grange(), text);
        assert!(asked.contains(answer), "{text}: {asked}");
    }
}

#[test]
fn one_reading_at_several_places_is_one_of_each() {
    all_seen(&[
        (
            "tester at porch, stage: hot-neutral lit, hot-ground lit, neutral-ground dark",
            "saw tester at porch: lit, lit, dark; saw tester at stage: lit, lit, dark",
        ),
        (
            "tester at sill, porch and stage: lit dim dim",
            "saw tester at sill: lit, dim, dim; saw tester at porch: lit, dim, dim; saw tester at stage: lit, dim, dim",
        ),
        (
            "meter at porch and stage: 118 V",
            "saw voltmeter at porch: 118 V; saw voltmeter at stage: 118 V",
        ),
        (
            "0 V neutral to ground at porch and stage",
            "saw voltmeter at porch: 0 V; saw voltmeter at stage: 0 V",
        ),
        (
            "pen at porch and stage: hot beeps",
            "saw non-contact at porch: hot beeps; saw non-contact at stage: hot beeps",
        ),
        (
            "tester button at counter and sill: trips",
            "saw tester button at counter: trips; saw tester button at sill: trips",
        ),
        (
            "tester at porch, stage: lit lit dark with cooler off",
            "saw tester at porch: lit, lit, dark with cooler off; saw tester at stage: lit, lit, dark with cooler off",
        ),
        (
            "tester at pair.top and porch: all dark",
            "saw tester at pair.top: dark, dark, dark; saw tester at porch: dark, dark, dark",
        ),
        ("tester at porch and porch: lit lit dark", "saw tester at porch: lit, lit, dark"),
    ]);
    all_asked(&[
        ("tester at porch, wall: lit lit dark", "there is no receptacle at `wall`"),
        ("tester at porch, stag and sill: lit lit dark", "no receptacle is called `stag`"),
        ("tester at porch and pair: lit lit dark", "pair has several receptacles: say which"),
    ]);
}

#[test]
fn everywhere_is_each_receptacle_that_the_instrument_goes_into() {
    let of = |text: &str| {
        let heard = seen(text);
        let at = heard.split("; ").filter_map(|one| one.split(" at ").nth(1)?.split(':').next());
        at.collect::<Vec<_>>().join(" ")
    };
    let all = "counter porch ladder sill stage pair.top pair.bottom";
    assert_eq!(of("tester everywhere: lit lit dark"), all);
    assert_eq!(of("meter everywhere: 118 V"), all, "no volts of two hots");
    assert_eq!(of("checked every receptacle with the tester: lit lit dark"), all);
    assert_eq!(of("tester lit lit dark everywhere"), all);
    let hall = "porch stage pair.top pair.bottom";
    for text in [
        "tester everywhere on hall: lit lit dark",
        "tester at all outlets on the hall circuit: lit lit dark",
        "tester at every hall outlet: lit lit dark",
        "120 V hot to neutral at every hall outlet",
    ] {
        assert_eq!(of(text), hall, "{text}");
    }
    assert_eq!(of("tester everywhere past porch: lit lit dark"), "stage pair.top pair.bottom");
    assert_eq!(
        of("tester everywhere on hall except stage: lit lit dark"),
        "porch pair.top pair.bottom"
    );
}

#[test]
fn everywhere_else_is_where_that_instrument_was_not_held() {
    assert_eq!(
        seen(
            "tester at stage: lit dim dim; meter at porch: 118 V; tester everywhere else on hall: lit lit dark"
        ),
        "saw tester at stage: lit, dim, dim; saw voltmeter at porch: 118 V; saw tester at porch: lit, lit, dark; saw tester at pair.top: lit, lit, dark; saw tester at pair.bottom: lit, lit, dark"
    );
    all_asked(&[("tester everywhere else: lit lit dark", "else than where?")]);
    // After a repair everything is read again.
    let again = "tester at sill: lit dim dim; tester at counter: lit lit dark; mended sill; tester at sill: lit lit dark; tester everywhere else on kit: lit lit dark";
    assert!(seen(again).ends_with("sill: lit, lit, dark; saw tester at counter: lit, lit, dark"));
    // Said in another breath.
    let mut account = Account::default();
    let tools = account.means.tools.clone();
    account.observations =
        words::observations(grange(), &tools, "tester at sill: lit dim dim").unwrap();
    let text = "tester everywhere else on kit: lit lit dark";
    let (_, heard) = words::told_after(grange(), &account, text, true).unwrap();
    let heard: Vec<String> = heard.iter().map(|one| words::tell(grange(), &tools, one)).collect();
    assert_eq!(heard, ["tester at counter: hot-neutral lit, hot-ground lit, neutral-ground dark"]);
    assert!(words::is_of_others(grange(), &tools, text));
}

#[test]
fn what_is_mended_after_something_was_seen_is_no_complaint() {
    let mut account = Account::default();
    let tools = account.means.tools.clone();
    account.observations =
        words::observations(grange(), &tools, "tester at stage: dark lit dark").unwrap();
    let heard = |text: &str| {
        let (called, seen) = words::told_after(grange(), &account, text, false).unwrap();
        let called = called.iter().map(|one| words::tell_complaint(grange(), one));
        let seen = seen.iter().map(|one| words::tell(grange(), &tools, one));
        called.chain(seen).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(heard("mended stage"), "mended stage");
    assert_eq!(heard("stage was mended last week"), "stage was worked on");
    assert_eq!(heard("stage was replaced recently"), "stage was worked on");
    let first = words::told(grange(), &tools, "mended stage", (false, false)).unwrap();
    assert_eq!(first.0.len(), 1, "nobody has looked yet");
}

#[test]
fn ground_fault_device_that_does_not_trip_holds_or_has_failed_its_test() {
    all_asked(&[
        ("GFCI at counter does not trip", "counter holds; test-button at counter: does not trip"),
        ("counter didn't trip", "was its button pressed in vain?"),
        ("counter won't trip", "was its button pressed in vain?"),
    ]);
    all_seen(&[
        ("hall does not trip", "saw breaker hall holds"),
        ("counter does not trip any more", "saw counter holds"),
        ("counter does not trip with cooler unplugged", "saw counter holds with cooler unplugged"),
        ("counter did not trip on test", "saw test-button at counter: does not trip"),
        (
            "GFCI at counter won't trip when I press test",
            "saw test-button at counter: does not trip",
        ),
        ("counter GFCI trips when tested and resets", "saw test-button at counter: trips"),
        ("counter failed its test", "saw test-button at counter: does not trip"),
        ("the tester won't trip counter from sill", "saw tester button at sill: does not trip"),
        (
            "pressed the tester button at sill and counter tripped",
            "saw tester button at sill: trips",
        ),
    ]);
}

#[test]
fn doubt_about_a_lamp_is_not_known_and_about_a_look_is_not_sure() {
    all_seen(&[
        ("tester at porch: lit lit dark?", "saw tester at porch: lit, lit, not sure"),
        ("tester at porch: lit, probably dim, dim", "saw tester at porch: lit, not sure, dim"),
        ("tester at porch: lit ? ?", "saw tester at porch: lit, not sure, not sure"),
        ("tester at porch: lit can't tell dark", "saw tester at porch: lit, not sure, dark"),
        ("tester at porch: hot-ground maybe dim", "saw tester at porch: not sure"),
        ("tester at porch: lit lit dark, not sure", "saw tester at porch: not sure"),
        ("tester at porch: lit lit dark, I think", "saw tester at porch: not sure"),
        ("tester at porch: probably lit lit dark", "saw tester at porch: not sure"),
        ("I think tester at porch: lit lit dark", "saw tester at porch: not sure"),
        ("pen at porch: hot beeps?", "saw non-contact at porch: hot not sure"),
        ("meter at porch: 118 V?", "saw voltmeter at porch: about 118 V"),
        ("meter at porch: maybe 118 V", "saw voltmeter at porch: about 118 V"),
        ("meter at porch: 118 V, not sure", "saw voltmeter at porch: not sure"),
    ]);
}

#[test]
fn place_may_be_said_before_the_instrument_and_testers_by_other_names() {
    let dim = "saw tester at porch: lit, dim, dim";
    all_seen(&[
        ("porch: tester lit dim dim", dim),
        ("plug tester at porch: lit dim dim", dim),
        ("circuit tester at porch: lit dim dim", dim),
        ("test at porch: lit dim dim", dim),
        ("porch tests lit dim dim", dim),
        ("tester at porch now lit dim dim", dim),
        ("porch not tested", "saw tester at porch: did not look"),
        (
            "opened loft_panel: neutral bonded to ground",
            "saw opened loft_panel: bootleg ground at loft_panel",
        ),
        (
            "neutral and ground tied together in the loft panel",
            "saw opened loft_panel: bootleg ground at loft_panel",
        ),
    ]);
    all_asked(&[
        ("test: lit lit dark", "at which receptacle?"),
        ("all receptacles test correct", "which of them were lit?"),
        ("no open grounds", "what was seen, and with what?"),
        ("no access to stage", "tester at stage: did not look"),
        ("hall breaker is mislabeled", "with hall off"),
        ("opened panel: neutral bonded to ground", "the main bond joins them there"),
    ]);
    for text in ["all receptacles test correct", "no open grounds", "all is a mess"] {
        assert!(!asked(grange(), text).contains("did you mean"), "{text}");
    }
}

#[test]
fn two_instruments_in_one_sentence_are_each_heard() {
    all_seen(&[
        (
            "tester at porch: lit dim dim, meter hot-neutral 119 V",
            "saw tester at porch: lit, dim, dim; saw voltmeter at porch: 119 V",
        ),
        (
            "tester at porch: lit dim dim and meter at stage: 118 V with cooler off",
            "saw tester at porch: lit, dim, dim with cooler off; saw voltmeter at stage: 118 V with cooler off",
        ),
        (
            "tester: porch lit lit dark, stage dark lit lit",
            "saw tester at porch: lit, lit, dark; saw tester at stage: dark, lit, lit",
        ),
        (
            "hot to neutral 118 at porch, 117 at stage",
            "saw voltmeter at porch: 118 V; saw voltmeter at stage: 117 V",
        ),
    ]);
}

#[test]
fn rest_of_a_circuit_is_what_it_feeds_besides() {
    let said = [
        (
            "stage dead; the rest of hall is fine",
            "stage dead; porch and wall and pair and rafter work",
        ),
        (
            "stage dead, the rest of hall works",
            "stage dead; porch and wall and pair and rafter work",
        ),
        ("porch works, the rest of hall is dead", "porch works; stage and pair dead"),
        ("everything on kit dead except counter", "sill dead; counter works"),
        ("everything on kit except counter is dead", "sill dead; counter works"),
        ("everything on kit dead but counter works", "everything on kit dead; counter works"),
        ("cooler light too bright", "cooler brightens"),
    ];
    for (text, meant) in said {
        assert_eq!(heard_of(grange(), text, false), meant, "{text}");
    }
}

#[test]
fn names_that_are_words_are_heard_as_names_where_they_are_said_so() {
    let said = [
        ("garage door outlet dead", "garage_door dead"),
        ("it is fine", "\"it\" works"),
        ("all sockets dead", "everything on sockets dead"),
        ("no sockets work", "everything on sockets dead"),
        ("lights flicker", "lights flicker"),
    ];
    for (text, meant) in said {
        assert_eq!(heard_of(row(), text, false), meant, "{text}");
    }
    let asked = words::told(row(), &tools(), "desk dead with computer unplugged", (false, false));
    let asked = asked.unwrap_err()[0].render("desk dead with computer unplugged");
    assert!(asked.contains("tester at desk: all dark with computer unplugged"), "{asked}");
}
