//! What customers say of rooms, switches, parts of a load and other loads; and what is near to it and is
//! still asked.

use std::sync::LazyLock;

use slotwise::circuit::Circuit;
use slotwise::diagnosis::words;

use super::page::tools;
use super::told::heard_of;

/// A light between two switches and one behind a single one, circuits called as rooms, a panel fed from
/// another.
const COTTAGE: &str = r#"(
    format: 1,
    name: "Cottage",
    circuits: [
        (id: "parlour", amperes: 15, leg: "L1"),
        (id: "larder", amperes: 20, leg: "L2"),
        (id: "yard_feed", amperes: 40, legs: ["L1", "L2"]),
        (id: "b7", panel: "barn", amperes: 15, leg: "L1"),
    ],
    subpanels: [(id: "barn", from: "yard_feed", feet: 60, electrode_ohms: 40)],
    boxes: [
        (id: "hearth", from: "parlour", feet: 20),
        (id: "nook", from: "hearth", feet: 9),
        (id: "alcove", from: "nook", feet: 9),
        (id: "gate", from: "alcove", feet: 9, device: ThreeWay(common: "hot")),
        (
            id: "path", from: "gate", feet: 20, device: ThreeWay(common: "switched"),
            carries: ["traveller1", "traveller2", "neutral", "ground"],
        ),
        (id: "post", from: "path", feet: 9, carries: ["switched", "neutral", "ground"], devices: []),
        (id: "shelf", from: "larder", feet: 30),
        (id: "bench", from: "shelf", feet: 10),
        (id: "pantry_switch", from: "bench", feet: 10, device: Switch(closed: true)),
        (
            id: "hook", from: "pantry_switch", feet: 9, carries: ["switched", "neutral", "ground"],
            devices: [],
        ),
        (id: "stall", from: "b7", feet: 15),
    ],
    loads: [
        (id: "lantern", at: "post", wired: true, across: ("switched", "neutral"), kind: Filament(watts: 60)),
        (id: "pendant", at: "hook", wired: true, across: ("switched", "neutral"), kind: Filament(watts: 40)),
        (id: "desk_lamp", at: "hearth", kind: Filament(watts: 40)),
        (id: "urn", at: "nook", kind: Resistive(watts: 1400), on: false),
        (id: "wireless", at: "alcove", kind: Electronics(watts: 15)),
        (id: "churn", at: "bench", kind: Motor(watts: 300)),
        (id: "hob", at: "shelf", kind: Resistive(watts: 900), on: false),
        (id: "stall_lamp", at: "stall", kind: Filament(watts: 60)),
    ],
)"#;

fn cottage() -> &'static Circuit {
    static COTTAGE_CIRCUIT: LazyLock<Circuit> =
        LazyLock::new(|| slotwise::circuit::file::read(COTTAGE).unwrap().circuit);
    &COTTAGE_CIRCUIT
}

/// What is heard in a text that was told first, complaints before what was seen.
#[track_caller]
fn heard(text: &str, complained: bool) -> String {
    heard_of(cottage(), text, complained)
}

#[track_caller]
fn all_heard(said: &[(&str, &str)]) {
    for (text, meant) in said {
        assert_eq!(heard(text, false), *meant, "{text}");
    }
}

/// Each is asked, with words that the answer has and sentences that are heard.
#[track_caller]
fn all_asked(said: &[(&str, &str, &str)]) {
    for (text, message, form) in said {
        let problems = words::told(cottage(), &tools(), text, (false, false))
            .err()
            .unwrap_or_else(|| panic!("heard: {text}: {}", heard(text, false)));
        let problem = &problems[0];
        assert!(problem.message.contains(message), "{text}: {}", problem.render(text));
        if form.is_empty() {
            continue;
        }
        assert!(problem.expected.iter().any(|one| one == form), "{text}: {}", problem.render(text));
        if form.contains(' ') {
            heard(form, false);
        }
    }
}

#[test]
fn what_works_by_one_of_its_switches_only_is_dead_at_times() {
    all_heard(&[
        ("lantern only works from one switch", "lantern flickers"),
        ("lantern works from one switch only", "lantern flickers"),
        ("the lantern only comes on from the gate switch", "lantern flickers"),
        ("lantern won't turn on from the path switch", "lantern flickers"),
        ("lantern can't be switched on at the switch at the path", "lantern flickers"),
        ("lantern works from the gate switch but not from the path", "lantern flickers"),
        ("lantern works at one switch but not the other", "lantern flickers"),
        (
            "lantern doesn't work from the path switch but does from the gate one",
            "lantern flickers",
        ),
        ("lantern doesn't come on from either switch", "lantern does not run"),
        ("lantern only works from one switch and nook dead", "lantern flickers; nook dead"),
        ("can't turn the lantern off", "lantern stays on"),
        ("I cannot switch off the pendant", "pendant stays on"),
        ("we can't turn the pendant off at all", "pendant stays on"),
    ]);
    all_asked(&[
        ("pendant only works from one switch", "has one switch", "pendant does not run"),
        ("desk lamp only works from one switch", "no switch", "desk_lamp flickers"),
        (
            "lantern won't turn on from the pantry_switch switch",
            "no switch of lantern is at pantry_switch",
            "",
        ),
        ("lights only work from one switch", "which light", "lantern only works from one switch"),
        ("lantern works from the gate switch", "", ""),
        ("lantern only works from the hearth switch", "no switch of lantern is at hearth", ""),
        ("can't turn the light off", "which light", "lantern stays on"),
        ("can't turn the desk lamp off", "no switch", "desk_lamp flickers"),
        ("can't turn the wireless on", "", ""),
    ]);
}

#[test]
fn outlets_of_a_circuit_and_rooms_called_as_one_are_heard() {
    all_heard(&[
        ("larder outlets dead", "everything on larder dead"),
        ("no power at the larder outlets", "everything on larder dead"),
        ("no power to the parlour sockets", "everything on parlour dead"),
        ("all the larder outlets are dead", "everything on larder dead"),
        ("none of the larder outlets work", "everything on larder dead"),
        ("parlour room outlets dead", "everything on parlour dead"),
        ("parlour room dead", "everything on parlour dead"),
        ("nook room dead", "nook dead"),
        ("larder outlets work", "shelf and bench and pantry_switch and hook work"),
        ("lights in barn flicker when urn starts", "stall_lamp dims when urn runs"),
        ("lights in the parlour room are dim", "lantern and desk_lamp dim"),
        ("lights in the house flicker", "lights flicker"),
        ("everything on larder flickers", "pendant and churn flicker"),
        ("everything in alcove dims when urn runs", "weak at alcove when urn runs"),
        (
            "everything on larder flickers and larder breaker is warm",
            "pendant and churn flicker; panel warm",
        ),
        ("nook and beyond dead, hearth OK", "dead from nook on; hearth works"),
        ("nook and downstream dead", "dead from nook on"),
        ("nook and everything past it dead", "dead from nook on"),
    ]);
    all_asked(&[
        ("half the larder outlets dead", "name the receptacles", "shelf dead"),
        ("half the larder outlets dead", "name the receptacles", "bench dead"),
        ("half the nook outlets dead", "has no halves", "nook and alcove dead"),
        ("lights in the attic flicker", "called `attic`", ""),
        ("cellar room outlets dead", "cellar", ""),
        ("everything on b9 flickers", "called `b9`", ""),
        ("everything in hearthh flickers", "", ""),
        ("everything on larder goes off when urn runs", "", ""),
        ("nook and beyond works", "", ""),
        ("desk lights too bright", "`desk`", "desk_lamp"),
    ]);
}

#[test]
fn heaters_that_do_not_get_hot_do_not_heat_and_too_hot_is_too_much() {
    all_heard(&[
        ("urn does not get hot", "urn does not run"),
        ("urn won't get hot", "urn does not run"),
        ("urn and hob do not get hot", "urn does not run; hob does not run"),
        ("urn does not get hot enough", "urn dims"),
        ("urn only gets warm", "urn dims"),
        ("urn gets super hot", "urn brightens"),
        ("hob is way too hot", "hob brightens"),
        ("hob gets really hot", "hob brightens"),
        ("some lights are super bright and some really dim", "lights brighten; lights dim"),
        ("desk lamp is extremely dim", "desk_lamp dims"),
        ("hearth outlet gets really hot", "hearth warm"),
        ("urn doesn't get hot but the clock works", "urn does not run"),
        ("urn does not heat but its light comes on", "urn does not run"),
        ("urn doesn't heat, but the display is on", "urn does not run"),
        ("urn doesn't get hot but wireless works", "urn does not run; saw wireless runs"),
        ("urn doesn't get hot but nook works", "urn does not run; nook works"),
    ]);
    assert_eq!(heard("urn does not get hot", true), "saw urn dead");
    assert_eq!(heard("hob gets super hot", true), "saw hob too bright");
    assert_eq!(heard("urn doesn't heat but the light works", false), "urn does not run");
    all_asked(&[
        ("wireless does not get hot", "", ""),
        ("wireless gets super hot", "its plug", "alcove warm"),
        ("urn gets very hot to touch", "its plug", "nook warm"),
        ("urn doesn't heat but the fan works", "", ""),
        ("urn doesn't heat but the clock is slow", "", ""),
    ]);
}

#[test]
fn a_part_that_bears_a_name_is_no_part() {
    let named = COTTAGE.replace("\"wireless\"", "\"clock\"");
    let named = slotwise::circuit::file::read(&named).unwrap().circuit;
    let text = "urn doesn't get hot but the clock works";
    let (complaints, seen) = words::told(&named, &tools(), text, (false, false)).unwrap();
    assert_eq!(complaints.len(), 1);
    assert_eq!(words::tell(&named, &tools(), &seen[0]), "clock runs");
}

#[test]
fn what_works_besides_is_seen_with_the_same_load_on() {
    let both = "desk_lamp dims when urn runs; saw wireless runs with urn on";
    all_heard(&[
        ("desk lamp goes dim when urn is on, wireless fine", both),
        ("desk lamp goes dim when the urn runs but the wireless works", both),
        ("wireless fine but desk lamp dims when urn runs", both),
        ("urn dead but wireless works", "urn does not run; saw wireless runs"),
    ]);
    all_asked(&[
        ("desk lamp dims when urn runs, desk lamp fine", "", ""),
        ("desk lamp dims when urn runs, wireless fine when hob runs", "", ""),
    ]);
}

#[test]
fn two_facts_of_one_thing_are_two() {
    all_heard(&[
        (
            "I got a shock from the churn and it does not run",
            "tingle from churn; churn does not run",
        ),
        ("desk lamp flickers and it's dim", "desk_lamp flickers; desk_lamp dims"),
        ("hearth dead and it smells", "hearth dead; hearth warm"),
        ("I get a buzz touching the churn when the hob is on", "tingle from churn"),
        ("I get a buzz from touching the churn", "tingle from churn"),
        ("we got a shock off the urn when it rains", "tingle from urn"),
    ]);
    all_asked(&[
        ("I got a shock from the urn and the churn and it does not run", "", ""),
        (
            "I got a shock from the churn and it trips",
            "which breaker",
            "breaker parlour trips now and then",
        ),
        ("I get a buzz from the churn", "", ""),
        ("I get a buzz touching the churn when the mixer is on", "called `mixer`", ""),
    ]);
}

#[test]
fn who_says_so_is_left_out_and_breakers_are_those_of_what_is_named() {
    all_heard(&[
        ("I think the nook is dead", "nook dead"),
        ("she says urn is dead", "urn does not run"),
        ("they say the nook is dead", "nook dead"),
        ("it looks like the larder outlets are dead", "everything on larder dead"),
        ("it seems the lantern flickers", "lantern flickers"),
        ("customer says, I think nook dead", "nook dead"),
        ("nook dead but breaker's fine", "nook dead; saw breaker parlour holds"),
        ("nook's dead but its breaker is fine", "nook dead; saw breaker parlour holds"),
        (
            "nook and hearth dead, breaker not tripped",
            "nook and hearth dead; saw breaker parlour holds",
        ),
        ("urn dead but the breaker's on", "urn does not run; saw breaker parlour holds"),
    ]);
    all_asked(&[
        ("I think", "", ""),
        ("nook and shelf dead but breaker's fine", "which breaker", "parlour holds"),
        ("nook dead, breaker tripped", "which breaker", "parlour found off"),
    ]);
    let bare = "parlour trips at once with everything unplugged";
    for text in [
        "breaker parlour trips the moment I reset it, even with everything unplugged",
        "parlour trips when I reset it, even when nothing is plugged in",
        "parlour trips at once, even with everything unplugged",
    ] {
        let seen = format!("saw breaker {bare}");
        assert!(heard(text, true).ends_with(&seen), "{text}: {}", heard(text, true));
    }
}

#[test]
fn how_a_switch_stands_may_be_said_before_what_was_seen() {
    let dead = "saw pendant dead with switch pantry_switch closed";
    let said = [
        ("pantry_switch is closed; pendant still dead", dead),
        ("the pantry_switch is on but the pendant is dead", dead),
        ("pantry_switch closed, pendant dead", dead),
        ("pantry switch is closed\npendant dead", dead),
        ("pantry_switch is open; pendant runs", "saw pendant runs with switch pantry_switch open"),
        (
            "gate switch is in position 2; lantern dead",
            "saw lantern dead with switch gate position 2",
        ),
        (
            "pantry_switch closed; pendant dead with churn off",
            "saw pendant dead with switch pantry_switch closed, churn off",
        ),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text, true), meant, "{text}");
    }
    all_asked(&[
        (
            "pantry_switch is closed",
            "how a switch stands",
            "pendant dead with switch pantry_switch closed",
        ),
        ("pantry_switch is closed; shelf dead", "how a switch stands", ""),
        ("pantry_switch is closed; pendannt dead", "", ""),
        ("hearth is closed; urn dead", "", ""),
    ]);
    let full =
        words::of_switch(cottage(), "pantry_switch", "closed it, pendant still dead").unwrap();
    assert_eq!(heard(&full, true), dead);
    assert_eq!(words::of_switch(cottage(), "parlour", "it is closed"), None);
}

#[test]
fn what_is_found_wet_or_corroded_is_asked_for_by_its_conductors() {
    let asked = |text: &str| {
        let problems = words::observations(cottage(), &tools(), text).unwrap_err();
        let example = problems[0].example.clone().unwrap();
        words::observations(cottage(), &tools(), &example).unwrap();
        example
    };
    for text in ["opened nook: wet inside", "opened nook: full of water", "opened nook: damp"] {
        assert_eq!(asked(text), "opened nook: hot and ground wet", "{text}");
    }
    for text in ["opened nook: corrosion", "opened nook: corroded"] {
        assert_eq!(asked(text), "opened nook: hot corroded at nook, line side", "{text}");
    }
    let neutral = "opened nook: corrosion on the neutral, line side";
    let heard = words::observations(cottage(), &tools(), neutral).unwrap();
    assert_eq!(
        words::tell(cottage(), &tools(), &heard[0]),
        "opened nook: neutral loose at nook, line side"
    );
}

#[test]
fn some_lights_are_lights_though_a_circuit_is_called_so() {
    let house = slotwise::circuit::file::read(
        r#"(
            format: 1,
            circuits: [(id: "lights", amperes: 15), (id: "stove", amperes: 20, leg: "L2")],
            boxes: [(id: "hall", from: "lights", feet: 20), (id: "den", from: "stove", feet: 20)],
            loads: [
                (id: "sconce", at: "hall", kind: Filament(watts: 60)),
                (id: "reading_lamp", at: "den", kind: Filament(watts: 60)),
            ],
        )"#,
    );
    let house = house.unwrap().circuit;
    let heard = words::complaints(&house, "some lights bright and some dim").unwrap();
    let said: Vec<String> = heard.iter().map(|one| words::tell_complaint(&house, one)).collect();
    assert_eq!(said, ["lights brighten", "lights dim"]);
}

#[test]
fn hot_water_that_does_not_come_is_no_water_where_there_is_current() {
    let about = |text: &str| {
        let problems = words::told(cottage(), &tools(), text, (false, false)).err().unwrap();
        problems[0].message.clone()
    };
    assert!(!about("no hot water").contains("what is wet"));
    assert!(about("hot water all over the nook").contains("what is wet"));
}
