//! `docs/observation-words.md` is true: every sentence is heard, said back and heard again.

use std::sync::LazyLock;

use slotwise::circuit::Circuit;
use slotwise::circuit::diagnostic::render_all;
use slotwise::diagnosis::{Means, Tool, words};

pub(crate) const PAGE: &str = include_str!("../../docs/observation-words.md");

/// The lines of the blocks of the page that are marked with this word.
pub(crate) fn lines(mark: &str) -> Vec<&'static str> {
    let fence = format!("```{mark}\n");
    let after = PAGE.split(fence.as_str()).skip(1);
    after.flat_map(|rest| rest.split("```").next().unwrap().lines()).collect()
}

pub(crate) fn studio() -> &'static Circuit {
    static STUDIO: LazyLock<Circuit> = LazyLock::new(read_studio);
    &STUDIO
}

fn read_studio() -> Circuit {
    let text = PAGE.split("```ron\n").nth(1).unwrap().split("```").next().unwrap();
    match slotwise::circuit::file::read(text) {
        Ok(file) => file.circuit,
        Err(said) => panic!("{}", render_all(&said, "studio.ron", text)),
    }
}

pub(crate) fn tools() -> Vec<Tool> {
    Means::default().tools
}

#[test]
fn every_complaint_is_heard_said_back_and_heard_again() {
    let circuit = studio();
    let sentences = lines("complaints");
    assert!(sentences.len() >= 20, "{} sentences", sentences.len());
    for sentence in sentences {
        let heard = words::complaints(circuit, sentence)
            .unwrap_or_else(|problems| panic!("{sentence}\n{}", problems[0].render(sentence)));
        assert!(!heard.is_empty(), "{sentence}");
        for complaint in heard {
            let said = words::tell_complaint(circuit, &complaint);
            let again = words::complaints(circuit, &said)
                .unwrap_or_else(|problems| panic!("{}", problems[0].render(&said)));
            assert_eq!(again, [complaint], "{sentence}: {said}");
        }
    }
}

#[test]
fn every_observation_is_heard_said_back_and_heard_again() {
    let circuit = studio();
    let sentences = lines("observations");
    assert!(sentences.len() >= 40, "{} sentences", sentences.len());
    for sentence in sentences {
        let heard = words::observations(circuit, &tools(), sentence)
            .unwrap_or_else(|problems| panic!("{sentence}\n{}", problems[0].render(sentence)));
        assert!(!heard.is_empty(), "{sentence}");
        for observation in heard {
            let said = words::tell(circuit, &tools(), &observation);
            let again = words::observations(circuit, &tools(), &said)
                .unwrap_or_else(|problems| panic!("{sentence}\n{}", problems[0].render(&said)));
            assert_eq!(again, [observation], "{sentence}: {said}");
        }
    }
}

#[test]
fn the_canonical_words_are_those_people_would_use() {
    let circuit = studio();
    let said: Vec<String> = lines("complaints")
        .into_iter()
        .flat_map(|sentence| words::complaints(circuit, sentence).unwrap())
        .map(|complaint| words::tell_complaint(circuit, &complaint))
        .chain(
            lines("observations")
                .into_iter()
                .flat_map(|sentence| words::observations(circuit, &tools(), sentence).unwrap())
                .map(|observation| words::tell(circuit, &tools(), &observation)),
        )
        .collect();
    insta::assert_snapshot!(said.join("\n"));
}

#[test]
fn the_page_states_the_bounds() {
    use slotwise::condition::words::{SENTENCES_MAX, TEXT_BYTES_MAX};
    let kibibytes = TEXT_BYTES_MAX / 1024;
    assert!(PAGE.contains(&format!("at most {kibibytes} KiB and {SENTENCES_MAX} sentences")));
    assert!(words::complaints(studio(), "").unwrap().is_empty());
    assert!(words::complaints(studio(), &"x ".repeat(TEXT_BYTES_MAX)).is_err());
}
