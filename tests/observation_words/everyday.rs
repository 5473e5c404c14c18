//! What callers say in so many words: names with blanks, several things at once, since when.

use std::sync::LazyLock;

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Account, Inquiry, words};

use super::page::tools;

/// Names of several words, a switched light, a breaker of two poles, 230 volts.
const LODGE: &str = r#"(
    format: 1,
    name: "Lodge",
    supply: (system: Single230, earthing: TnS),
    circuits: [(id: "ka", amperes: 16), (id: "kb", amperes: 10)],
    boxes: [
        (id: "window", from: "ka", feet: 20),
        (id: "bed-side", from: "window", feet: 9),
        (id: "shelf", from: "kb", feet: 12, device: Switch(closed: true)),
        (
            id: "cupboard", from: "shelf", feet: 8, carries: ["switched", "neutral", "ground"],
            devices: [],
        ),
    ],
    loads: [
        (id: "toaster", at: "window", kind: Resistive(watts: 1000), on: false),
        (id: "table-lamp", at: "bed-side", kind: Filament(watts: 60)),
        (
            id: "strip-light", at: "cupboard", wired: true, across: ("switched", "neutral"),
            kind: Led(watts: 9),
        ),
    ],
)"#;

fn lodge() -> &'static Circuit {
    static LODGE_CIRCUIT: LazyLock<Circuit> =
        LazyLock::new(|| slotwise::circuit::file::read(LODGE).unwrap().circuit);
    &LODGE_CIRCUIT
}

#[track_caller]
fn heard(text: &str) -> String {
    let complaints = words::complaints(lodge(), text)
        .unwrap_or_else(|problems| panic!("{}", problems[0].render(text)));
    let told = complaints.iter().map(|one| words::tell_complaint(lodge(), one));
    told.collect::<Vec<_>>().join("; ")
}

#[test]
fn a_name_in_several_words_is_the_name_whoever_owns_it() {
    let said = [
        "my table lamp is dead",
        "table-lamp dead",
        "that old table lamp doesn't work",
        "our Table Lamp has packed up",
        "the table lamp has gone",
        "table lamp went off",
        "table lamp at bed side is dead",
        "since the rain the table lamp is dead",
        "table lamp dead since I moved house",
        "table lamp died last night",
        "table lamp isn't getting power",
    ];
    for text in said {
        assert_eq!(heard(text), "table-lamp does not run", "{text}");
    }
}

#[test]
fn several_things_in_one_sentence_are_each_complained_of() {
    let both = "strip-light does not run; table-lamp does not run";
    assert_eq!(heard("strip-light and table lamp are out"), both);
    assert_eq!(heard("strip light and table lamp both dead"), both);
    assert_eq!(heard("strip light died and then the table lamp died"), both);
    assert_eq!(heard("window and table lamp dead"), "window dead; table-lamp does not run");
    assert_eq!(heard("everything works except the window"), "everything else works; window dead");
    assert_eq!(
        heard("everything works except the toaster and the table lamp"),
        "everything else works; toaster does not run; table-lamp does not run"
    );
}

#[test]
fn what_callers_say_is_heard_as_they_mean_it() {
    let said = [
        ("toaster takes ages to heat", "toaster dims"),
        ("toaster doesn't get hot enough", "toaster dims"),
        ("toaster is lukewarm", "toaster dims"),
        ("toaster keeps going off", "toaster flickers"),
        ("table lamp flickers on and off", "table-lamp flickers"),
        ("table lamp has gone dim", "table-lamp dims"),
        ("strip light is brighter than usual", "strip-light brightens"),
        ("nothing works after the storm", "everything on ka dead; everything on kb dead"),
        ("nothing works at window", "window dead"),
        ("nothing works past window", "dead from bed-side on"),
        ("shelf switch gets hot", "shelf warm"),
        ("switch gets hot", "shelf warm"),
        ("plug gets hot at window", "window warm"),
        ("smell of burning at window", "window warm"),
        ("I smell burning at window", "window warm"),
        ("there's a burning smell near bed side", "bed-side warm"),
        ("burn marks on the window outlet", "window warm"),
        ("crackling noise at window", "window warm"),
        ("window has been dead since yesterday", "window dead"),
        ("window socket has gone", "window dead"),
        ("ka trips when I plug in the toaster", "breaker ka trips when toaster runs"),
        ("ka trips every time we turn the toaster on", "breaker ka trips when toaster runs"),
        ("toaster trips ka", "breaker ka trips when toaster runs"),
        ("breaker ka has blown", "breaker ka trips now and then"),
        ("lights pulse", "lights flicker"),
        ("table lamp blew", "table-lamp does not run"),
        ("toaster clicks and won't start", "toaster does not run"),
        ("toaster bites me", "tingle from toaster"),
        ("toaster tingles when I touch it", "tingle from toaster"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text), meant, "{text}");
    }
}

#[test]
fn what_may_mean_several_things_is_asked_in_sentences_that_are_heard() {
    let asked = [
        ("outlet at window is loose", "loose"),
        ("plug falls out at window", "falls"),
        ("strip-light cannot be switched", "cannot"),
        ("strip light comes on by itself", "comes"),
        ("strip light won't turn off", "won'"),
        ("table lamp comes on by itself", "comes"),
        ("bed-side is very dim", "very"),
        ("mixed up", "mixed"),
        ("toaster trips the breaker", "the"),
        ("socket has gone", "socket"),
        ("breaker keeps tripping", "breaker"),
    ];
    for (text, found) in asked {
        let problems = words::told(lodge(), &tools(), text, (false, false)).unwrap_err();
        let problem = &problems[0];
        if found == "socket" {
            assert_eq!(problem.message, "which receptacle? say where it is");
        }
        assert!(problem.found.starts_with(found), "{text}: {}", problem.render(text));
        let is_form = |form: &&String| {
            !["BOX", "LOAD", "CIRCUIT", "DEVICE", "more"].iter().any(|word| form.contains(word))
                && form.contains(' ')
                && !["receptacle at ", "breaker "].iter().any(|begun| form.starts_with(begun))
        };
        for form in problem.expected.iter().filter(is_form) {
            let form = form.trim_matches('`');
            let heard = words::told(lodge(), &tools(), form, (false, false));
            assert!(heard.is_ok(), "{text}: {form}: {heard:?}");
        }
    }
}

#[test]
fn since_when_takes_nothing_else_away() {
    let refused = ["window dead since toaster runs", "window dead since noon with toaster on"];
    for text in refused {
        assert!(words::complaints(lodge(), text).is_err(), "{text}");
    }
    assert_eq!(
        heard("window dead since the rain; table lamp flickers"),
        "window dead; table-lamp flickers"
    );
}

#[test]
fn what_is_said_to_be_dead_and_to_work_is_a_contradiction() {
    let clash = |text: &str| {
        let complaints = words::complaints(lodge(), text).unwrap();
        let account = Account { complaints, ..Account::default() };
        Inquiry::of(lodge(), &account).err()
    };
    let clashing = [
        ("window dead; window works", "window dead"),
        ("window works; window and bed-side dead", "window works"),
        ("everything on ka dead but window works", "everything on ka dead"),
        ("dead from window on; window is fine", "dead from window on"),
        ("nothing noticed; window dead", "nothing noticed"),
    ];
    for (text, first) in clashing {
        let (at, problem) = clash(text).unwrap();
        assert_eq!(at, 1, "{text}");
        assert!(problem.to_string().contains(&format!("`{first}`")), "{text}: {problem}");
    }
    assert!(clash("window dead; everything else works").is_none());
    assert!(clash("dead from window on; shelf works").is_none());
}

#[test]
fn figures_in_examples_are_of_the_supply_that_there_is() {
    for text in ["voltmeter at window: 230 A", "load test at window: from 210 V to 230 V"] {
        let problems = words::observations(lodge(), &tools(), text).unwrap_err();
        let said = problems[0].to_string();
        assert!(said.contains("22") && !said.contains("118") && !said.contains("119"), "{said}");
    }
}

#[test]
fn poles_on_one_handle_are_one() {
    let text = r#"(
        format: 1,
        name: "Shed",
        circuits: [(id: "mw", amperes: 20, legs: ["L1", "L2"])],
        boxes: [
            (id: "wall", from: "mw", feet: 30),
            (
                id: "nook", from: "wall", feet: 11, carries: ["hot2", "neutral", "ground"],
                device: Receptacle(hot: "hot2"),
            ),
        ],
    )"#;
    let shed = slotwise::circuit::file::read(text).unwrap().circuit;
    for did in ["holds", "trips at once", "found off"] {
        let seen = |name: &str| words::observations(&shed, &tools(), &format!("{name} {did}"));
        assert_eq!(seen("mw").unwrap(), seen("mw.pole2").unwrap(), "{did}");
    }
    let trips = |name: &str| words::complaints(&shed, &format!("{name} trips at once")).unwrap();
    assert_eq!(trips("mw"), trips("mw.pole2"));
}
