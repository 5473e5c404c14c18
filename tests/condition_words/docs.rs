//! `docs/condition-words.md` is true: its circuit can be read, every example is heard and
//! wired, and heard again when described.

use slotwise::circuit::Circuit;
use slotwise::circuit::diagnostic::render_all;
use slotwise::condition::words::{describe, parse};
use slotwise::condition::{Condition, file};
use slotwise::netlist::wire;

const PAGE: &str = include_str!("../../docs/condition-words.md");

/// The blocks of the page that are marked with this word.
fn blocks(mark: &str) -> Vec<&'static str> {
    let fence = format!("```{mark}\n");
    let after = PAGE.split(fence.as_str()).skip(1);
    after.map(|rest| rest.split("```").next().unwrap()).collect()
}

fn studio() -> Circuit {
    let text = blocks("ron")[0];
    match slotwise::circuit::file::read(text) {
        Ok(file) => file.circuit,
        Err(said) => panic!("{}", render_all(&said, "studio.ron", text)),
    }
}

#[test]
fn every_example_is_heard_and_wired() {
    let circuit = studio();
    let sentences: Vec<&str> = blocks("words").into_iter().flat_map(str::lines).collect();
    assert!(sentences.len() >= 40, "{} sentences", sentences.len());
    for sentence in sentences {
        let mut condition = Condition::default();
        if let Err(problems) = condition.say(&circuit, sentence) {
            panic!("{}", problems[0].render(sentence));
        }
        assert_ne!(condition, Condition::default(), "{sentence}");
        wire(&circuit, &condition).unwrap_or_else(|problem| panic!("{sentence}: {problem}"));
        let mut again = Condition::default();
        let text = describe(&circuit, &condition).join("; ");
        again.say(&circuit, &text).unwrap();
        assert_eq!(again, condition, "{sentence}: {text}");
    }
}

#[test]
fn the_condition_file_is_read() {
    let circuit = studio();
    let cold = file::read(&circuit, blocks("ron condition")[0]).unwrap();
    assert_eq!(cold.name, "cold kiln");
    let said = "neutral open at kiln, line side; heater on; lamp unplugged";
    let mut expected = Condition::default();
    expected.say(&circuit, said).unwrap();
    assert_eq!(cold.condition, expected);
}

#[test]
fn a_written_condition_file_is_read_again() {
    let circuit = studio();
    let mut condition = Condition::default();
    condition.say(&circuit, "hot at desk touching soil, called \"the stake\"; c1 off").unwrap();
    let text = file::write(&circuit, "say \"cold\"", &condition);
    let again = file::read(&circuit, &text).unwrap();
    assert_eq!((again.name.as_str(), &again.condition), ("say \"cold\"", &condition));
}

#[test]
fn a_condition_file_says_where_its_words_go_wrong() {
    let circuit = studio();
    let text = "(\n    format: 1,\n    name: \"two mistakes\",\n    sentences: [\n        \
                \"neutral open at kilm, line side\",\n        \"c1 off\",\n        \
                \"lamp on; breaker c1 on\",\n    ],\n)\n";
    let said = file::read(&circuit, text).unwrap_err();
    insta::assert_snapshot!(render_all(&said, "mistakes.ron", text));
}

#[test]
fn a_condition_file_is_checked_as_a_file_first() {
    let circuit = studio();
    for (text, message) in [
        ("(format: 2, name: \"later\", sentences: [])", "newer version"),
        ("(format: 1, nmae: \"x\", sentences: [])", "no field `nmae`"),
        ("(format: 1, name: \"x\", sentences: [\"c1 off\"", "closed"),
    ] {
        let said = file::read(&circuit, text).unwrap_err();
        assert!(said.iter().any(|d| d.message.contains(message)), "{text}: {said:?}");
    }
    let long = " ".repeat(slotwise::circuit::file::CONDITION_BYTES_MAX + 1);
    assert!(file::read(&circuit, &long).is_err());
}

#[test]
fn the_page_states_the_bounds_and_the_solid_bridge() {
    use slotwise::condition::words::{SENTENCES_MAX, SOLID_BRIDGE_OHM, TEXT_BYTES_MAX};
    let kibibytes = TEXT_BYTES_MAX / 1024;
    assert!(PAGE.contains(&format!("at most {kibibytes} KiB and {SENTENCES_MAX} sentences")));
    assert!(PAGE.contains(&format!("{} milliohms", SOLID_BRIDGE_OHM * 1e3)));
    assert!(parse(&studio(), "").unwrap().is_empty());
}
