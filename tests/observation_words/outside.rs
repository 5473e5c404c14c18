//! What is outside the grammar is answered: where, what could stand there, what was meant.

use slotwise::diagnosis::words;

use super::page::{studio, tools};

const COMPLAINTS: [&str; 45] = [
    "dead from kilm on",
    "dead",
    "dead near kiln",
    "the fridge is dead",
    "lights sparkle",
    "lamp sparkles when heater runs",
    "half of the circuit is dead",
    "half the lights are out",
    "no lights",
    "no power",
    "lost power in the kitchen",
    "half of press dead",
    "c1 breaker sings",
    "c1 holds",
    "c1 reset",
    "gf1 gfci sings",
    "lamp burns out",
    "radio dies when heater is on",
    "radio does not run and lamp dims when heater runs",
    "sink dead when heater runs",
    "lights dim when heater and drill run",
    "outlet at klin is hot",
    "everything else is purple",
    "heater works",
    "heater runs",
    "c2 works",
    "top of sink dead",
    "kiln dead sometimes",
    "drill hums",
    "radio gets hot",
    "fan only works from one switch",
    "lights won't turn off",
    "light works from the foot switch",
    "all good now",
    "cooker smells",
    "hall does not work",
    "foot does not work",
    "kiln dead, lamp sparkles",
    "rcd sings",
    "everything past sink dead",
    "breaker c9 trips",
    "kiln and lamp dim",
    "tingle from hetaer",
    "kiln purple",
    "dead from kiln on and so forth",
];

const OBSERVATIONS: [&str; 68] = [
    "118 volts between hot and neutral",
    "118 volts between hot and neutral at c2",
    "2 megohms between neutral and ground at c2 with breaker c2 off",
    "Zs at kiln 1.2 ohm",
    "3 amps on the ground wire",
    "opened kiln: red wire loose",
    "tetser at kiln: hot-neutral dark",
    "tester at kilm: hot-neutral dark",
    "tester at kiln",
    "tester at kiln: hot-neutral",
    "tester at kiln: hot-neutrel dark",
    "tester at kiln: hot-neutral gloomy",
    "tester at kiln: hot-neutral flickers",
    "tester at kiln: correct",
    "tester at kiln: open neutral",
    "tester at kiln: reads correct",
    "tester at kiln: all good",
    "tester at kiln: hot/neutral reversed",
    "tester at press: lit",
    "meter at press: gloomy",
    "meter at press: hot-neutral 118 V",
    "detector at kiln: beeps",
    "kiln lit up",
    "heater on",
    "heater was plugged in",
    "breaker c1 is off",
    "c1 reset",
    "lamp only works with heater on",
    "gf1 holds with load wires disconnected",
    "opened kiln: wet",
    "opened kiln: burnt",
    "opened kiln: black wire loose",
    "opened kiln: hot lugg loose",
    "opened kiln: neutral splice loose",
    "opened head: traveler came off the screw",
    "opened sink: neutral push-in loose",
    "opened door: switched loose",
    "opened wheel: loose backstab",
    "opened wheel: loose push-in",
    "opened wheel: wire fell out",
    "opened wheel: wire loose",
    "opened wheel: melted",
    "opened wheel: burnt neutral",
    "meter at kiln: 118 A",
    "tester at kiln: left lamp lit",
    "tester at kiln: hot-neutral dark, hot-neutral lit",
    "tester at dup: all dark",
    "tester at porch: all dark",
    "voltmeter at kiln: hot 118 V",
    "voltmeter at kiln: hot-neutral 118 A",
    "voltmeter at kiln: hot-neutral 60 to 40 V",
    "voltmeter at kiln: hot-neutral -5 V",
    "voltmeter at kiln: hot-neutral lit",
    "voltmeter between kiln.hto and kiln.neutral: 3 V",
    "non-contact at kiln: hot dim",
    "loaded-test at sink: from 110 V to 119 V",
    "clamp on neutral of cable kiln-snik: 3 A",
    "test-button at kiln: trips",
    "person at kiln: 3 mA",
    "heater on fire",
    "breaker c1 sings",
    "opened kiln",
    "opened kiln: neutral loose at sink, line side",
    "opened kiln: heater off",
    "tester at kiln: all dark with heater on and heater off",
    "tester at kiln: all dark with neutral and ground exchanged at kiln",
    "tester at kiln: all dark with haeter unknown",
    "tester at kiln: all dark with heater on and heater unknown",
];

#[test]
fn every_answer_says_where_and_what_instead() {
    let circuit = studio();
    let mut answers = Vec::new();
    for said in COMPLAINTS {
        let problems = words::complaints(circuit, said).unwrap_err();
        answers.push(problems[0].render(said));
    }
    for said in OBSERVATIONS {
        let problems = words::observations(circuit, &tools(), said)
            .err()
            .unwrap_or_else(|| panic!("heard: {said}"));
        answers.push(problems[0].render(said));
    }
    insta::assert_snapshot!(answers.join("\n\n"));
}

#[test]
fn every_sentence_of_a_text_is_answered() {
    let text = "tester at kilm: all dark; heater runs\nmeter at sink: hot-neutral 12o V";
    let problems = words::observations(studio(), &tools(), text).unwrap_err();
    let found: Vec<&str> = problems.iter().map(|problem| problem.found.as_str()).collect();
    assert_eq!(found, ["kilm", "o"]);
}
