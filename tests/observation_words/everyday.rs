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
        ("toaster barely gets warm", "toaster dims"),
        ("table lamp is far too bright", "table-lamp brightens"),
        ("toaster gives me a tickle", "tingle from toaster"),
        ("window socket is warm and smells", "window warm"),
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
        ("table lamp stopped on Sunday", "table-lamp does not run"),
        ("strip light is brighter than it used to be", "strip-light brightens"),
        ("breaker for ka won't reset", "breaker ka does not reset"),
        ("the breaker for the kb keeps tripping", "breaker kb trips now and then"),
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
fn what_is_weak_at_a_place_is_so_whatever_is_plugged_in_there() {
    let said = [
        ("bed-side is very dim", "weak at bed-side"),
        ("a lamp plugged in at window is dim", "weak at window"),
        ("lights dim at window", "weak at window"),
        ("lights at bed side are dim", "table-lamp dims"),
        ("lights dim at bed-side", "table-lamp dims"),
        ("anything I plug in at the window runs slow", "weak at window"),
        (
            "my lamp gets brighter at window when toaster runs",
            "too bright at window when toaster runs",
        ),
        ("weak power at window and bed side", "weak at window and bed-side"),
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
        ("strip light comes on by itself", "comes"),
        ("table lamp comes on by itself", "comes"),
        ("mixed up", "mixed"),
        ("toaster trips the breaker", "the"),
        ("socket has gone", "socket"),
        ("breaker keeps tripping", "breaker"),
        ("table lamp is not working properly", "not"),
        ("toaster works badly", "works"),
        ("toaster acts up", "acts"),
        ("window doesn't work right", "doesn'"),
        ("problem in window", "problem"),
        ("toaster is off", "is off"),
        ("strip-light glows faintly when switched off", "glows"),
        ("table lamp glows with the switch off", "glows"),
        ("fuse keeps blowing", "fuse"),
        ("trips when it rains", "trips"),
        ("main breaker trips", "main"),
        ("window and shelf dead, breaker not tripped", "breaker"),
        ("none of the outlets work", "none"),
        ("table lamp goes off when toaster runs", "when"),
        ("everything went off when I turned on the toaster", "everything"),
        ("when toaster runs everything goes off", "goes"),
        ("window tripped", "tripped"),
        ("half the window is dead", "the"),
        ("half my lights are out", "half"),
        ("everything goes off", "everything"),
        ("lights are off", "are"),
        ("neutral loose at window", "neutral"),
        ("burnt neutral at window", "burnt"),
        ("open neutral at window", "open"),
        ("90 V at window", "90"),
        ("low voltage at window", "low"),
        ("the tap gives shocks", "gives"),
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
        for example in problem.example.iter().chain(&problem.suggestions) {
            let heard = words::told(lodge(), &tools(), example, (false, false));
            assert!(heard.is_ok(), "{text}: {example}: {heard:?}");
        }
    }
}

#[test]
fn what_is_said_first_is_heard_as_what_is_said_last() {
    let said = [
        ("when I plug in the toaster ka trips", "breaker ka trips when toaster runs"),
        ("when I plug in the toaster the ka breaker trips", "breaker ka trips when toaster runs"),
        ("as soon as the toaster runs, lights dim", "lights dim when toaster runs"),
        ("whenever the toaster is on the table lamp flickers", "table-lamp dims when toaster runs"),
        ("when it rains ka trips", "breaker ka trips now and then"),
        ("when it rains the table lamp goes out", "table-lamp flickers"),
        ("ka trips at night", "breaker ka trips now and then"),
        ("ka trips every few days", "breaker ka trips now and then"),
        ("ka trips as soon as I turn it on", "breaker ka trips at once"),
        ("ka trips instantly when reset", "breaker ka trips at once"),
        ("power dips when the toaster starts", "lights dim when toaster runs"),
        ("in the bed side there is no power", "bed-side dead"),
        ("at window the toaster is dead", "toaster does not run"),
        ("in the window there is a burning smell", "window warm"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text), meant, "{text}");
    }
}

#[test]
fn a_fuse_is_heard_as_the_breaker_in_its_place() {
    let said = [
        ("ka fuse keeps blowing", "breaker ka trips now and then"),
        ("fuse ka blows", "breaker ka trips now and then"),
        ("the ka fuse blew", "breaker ka trips now and then"),
        ("blown fuse ka", "breaker ka trips now and then"),
        ("circuit breaker ka keeps tripping", "breaker ka trips now and then"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text), meant, "{text}");
    }
    let one = LODGE.replace(r#", (id: "kb", amperes: 10)"#, "").replace("\"kb\"", "\"ka\"");
    let one = slotwise::circuit::file::read(&one).unwrap().circuit;
    for text in ["fuse keeps blowing", "it trips when it rains", "breaker trips"] {
        let heard = words::complaints(&one, text).unwrap();
        assert_eq!(words::tell_complaint(&one, &heard[0]), "breaker ka trips now and then");
    }
    assert_eq!(
        words::tell_complaint(
            &one,
            &words::complaints(&one, "when I use the toaster it trips").unwrap()[0]
        ),
        "breaker ka trips when toaster runs"
    );
    let holds = words::observations(&one, &tools(), "breaker not tripped").unwrap();
    assert_eq!(words::tell(&one, &tools(), &holds[0]), "breaker ka holds");
}

#[test]
fn of_several_breakers_that_of_the_load_is_asked_for_first() {
    let asked = [
        "when I plug in the toaster the breaker trips",
        "breaker trips when the toaster is plugged in",
        "the fuse blows when I use the toaster",
        "toaster trips the breaker",
        "toaster trips",
        "when I turn on the toaster it trips",
    ];
    for text in asked {
        let problems = words::complaints(lodge(), text).unwrap_err();
        assert_eq!(problems[0].message, "which breaker?", "{text}");
        assert_eq!(problems[0].suggestions, ["breaker ka trips when toaster runs"], "{text}");
        assert_eq!(
            problems[0].expected,
            ["breaker ka trips when toaster runs", "breaker kb trips when toaster runs"],
            "{text}"
        );
    }
    let off = words::complaints(lodge(), "everything goes off when I use the toaster");
    assert_eq!(off.unwrap_err()[0].suggestions, ["ka trips when toaster runs"]);
}

#[test]
fn what_lies_past_a_place_is_heard_however_it_is_said() {
    let past = [
        "outlets past window are dead",
        "all outlets after window don't work",
        "everything downstream of window is dead",
        "nothing after window works",
        "lost everything past window",
        "no power after window",
    ];
    for text in past {
        assert_eq!(heard(text), "dead from bed-side on", "{text}");
    }
    let from = [
        "window and everything after it",
        "window and everything after it is dead",
        "window and everything downstream is dead",
        "window dead and everything past it",
        "everything from window on is dead",
        "from window on everything is dead",
    ];
    for text in from {
        assert_eq!(heard(text), "dead from window on", "{text}");
    }
    assert_eq!(
        heard("window works, everything after it is dead"),
        "window works; dead from bed-side on"
    );
    let but = "window works; bed-side and shelf dead";
    let others = heard("everything except window is dead");
    assert_eq!(others, but.replace(" and shelf", ""));
    for text in
        ["only window works", "nothing works except window", "window works, the rest is dead"]
    {
        assert_eq!(heard(text), others, "{text}");
    }
}

#[test]
fn half_of_the_house_is_a_leg_and_half_of_a_room_is_asked_for_by_its_places() {
    for text in
        ["lost half the house", "lost power to half the house", "one leg is out", "lost a leg"]
    {
        assert_eq!(heard(text), "half the house dead", "{text}");
    }
    let half = words::complaints(lodge(), "half the window is dead").unwrap_err();
    assert_eq!(half[0].expected, ["window dead", "window and bed-side dead"]);
    let lights = words::complaints(lodge(), "half the lights are out").unwrap_err();
    assert!(lights[0].expected.contains(&"table-lamp does not run".to_owned()));
}

#[test]
fn what_cycles_is_off_or_burned_out_is_heard() {
    let said = [
        ("toaster cycles on and off", "toaster flickers"),
        ("table lamp keeps going on and off", "table-lamp flickers"),
        ("table lamp comes and goes", "table-lamp flickers"),
        ("table lamp turns off by itself", "table-lamp flickers"),
        ("toaster sometimes works", "toaster flickers"),
        ("table lamp is off", "table-lamp does not run"),
        ("table lamp is not on", "table-lamp does not run"),
        ("table lamp bulb burned out", "table-lamp does not run"),
        ("the bulb in the table lamp is blown", "table-lamp does not run"),
        ("light in the shelf doesn't work", "strip-light does not run"),
        ("toaster is cold", "toaster does not run"),
        ("toaster no work", "toaster does not run"),
        ("toaster not functioning", "toaster does not run"),
        ("table lamp is much dimmer than usual", "table-lamp dims"),
        ("table lamp isn't as bright as it used to be", "table-lamp dims"),
        ("toaster gives me electric shocks", "tingle from toaster"),
        ("toaster case is live", "tingle from toaster"),
        ("I get a shock when I touch the toaster", "tingle from toaster"),
        ("water pipe at window tingles", "tingle from window"),
        ("toaster plug gets hot", "window warm"),
        ("something smells burnt in the window", "window warm"),
        ("it sparks when I plug in the toaster", "window warm"),
        ("power is off in the window", "window dead"),
        ("window has no current", "window dead"),
        ("window - dead", "window dead"),
        ("window/bed-side dead", "window and bed-side dead"),
        ("window dead for two days!", "window dead"),
        ("there was a bang and now window is dead", "window dead"),
        ("dead: window, bed-side", "window and bed-side dead"),
        ("house lost power", "everything on ka dead; everything on kb dead"),
        ("everything is off", "everything on ka dead; everything on kb dead"),
        ("no power at all", "everything on ka dead; everything on kb dead"),
        ("window has no power at all", "window dead"),
        ("window dead when it rains", "toaster flickers"),
        ("toaster stops after a while", "toaster flickers"),
        ("toaster shuts off after 10 minutes", "toaster flickers"),
        ("ka stays off", "breaker ka does not reset"),
        ("shelf light is out", "strip-light does not run"),
        ("everything works but the window", "everything else works; window dead"),
        ("toaster trips ka after a while", "breaker ka trips after a while"),
        ("can't reset ka", "breaker ka does not reset"),
        ("ka won't come back on", "breaker ka does not reset"),
        ("ka trips on reset", "breaker ka trips at once"),
        ("window dead even though shelf works", "window dead; shelf works"),
    ];
    for (text, meant) in said {
        assert_eq!(heard(text), meant, "{text}");
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

#[test]
fn what_is_seen_is_heard_as_electricians_say_it() {
    let seen = |text: &str| {
        let said = words::observations(lodge(), &tools(), text)
            .unwrap_or_else(|problems| panic!("{}", problems[0].render(text)));
        let told = said.iter().map(|one| words::tell(lodge(), &tools(), one));
        told.collect::<Vec<_>>().join("; ")
    };
    let same = [
        (
            "pen at window: beeps on hot and neutral, not on ground",
            "non-contact at window: hot beeps, neutral beeps, ground silent",
        ),
        (
            "pen at window: beeps on hot and not on neutral",
            "non-contact at window: hot beeps, neutral silent",
        ),
        (
            "pen at window: beeps only on hot",
            "non-contact at window: hot beeps, neutral silent, ground silent",
        ),
        (
            "pen at window: neutral beeps, others silent",
            "non-contact at window: neutral beeps, hot silent, ground silent",
        ),
        (
            "tester at window: hot-neutral out, other two on",
            "tester at window: hot-neutral dark, hot-ground lit, neutral-ground lit",
        ),
        ("tester at window: none lit", "tester at window: all dark"),
        ("tester at window: nothing on the tester", "tester at window: all dark"),
        ("meter at window: reads 118 V", "voltmeter at window: hot-neutral 118 V"),
        (
            "ohmmeter beyond window: dead short hot to neutral, rest open",
            "ohmmeter beyond window: hot-neutral short, hot-ground OL, neutral-ground OL",
        ),
        ("230 volts between hot and neutral at window", "voltmeter at window: hot-neutral 230 V"),
        (
            "ncv beeps on both slots of the window outlet",
            "non-contact at window: hot beeps, neutral beeps",
        ),
        ("opened window: nothing wrong, tight", "opened window: nothing found"),
        (
            "took the front off the window: hot open, line side",
            "opened window: hot open, line side",
        ),
        (
            "I measured only 180 V hot to ground in the window socket",
            "voltmeter at window: hot-ground 180 V",
        ),
        ("bed side neutral to ground about 6 V", "voltmeter at bed-side: neutral-ground about 6 V"),
        (
            "over 200 megohms between hot and ground at window with breaker ka off",
            "insulation-500 at window: hot-ground over 200 megohm with breaker ka off",
        ),
        ("socket tester at window: none lit", "tester at window: all dark"),
        ("table lamp is back on", "table-lamp runs"),
        ("table lamp came back", "table-lamp runs"),
        ("toaster hot again", "toaster runs"),
        ("ka resets and stays in", "ka holds"),
        ("ka holds now", "ka holds"),
        ("put a new table lamp in", "replaced table-lamp"),
        ("unplugged the toaster, table lamp still dead", "table-lamp dead with toaster unplugged"),
        ("without toaster ka holds", "ka holds with toaster unplugged"),
        ("opened window: hot broken off, line side", "opened window: hot open, line side"),
        ("mended window and table lamp works", "mended window; table-lamp runs"),
        ("fixed window but bed-side still dead", "mended window; since then bed-side dead"),
    ];
    for (text, meant) in same {
        assert_eq!(seen(text), seen(meant), "{text}");
    }
}
