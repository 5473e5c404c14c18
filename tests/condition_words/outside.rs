//! What is answered to what the grammar does not hold.

use std::fmt::Write;

use slotwise::condition::words::{SENTENCES_MAX, TEXT_BYTES_MAX, parse};

use super::studio::studio;

/// Longest time to an answer in an unoptimised build on a busy machine; a text that took
/// quadratic time for its 16 KiB would need minutes.
const ANSWER_MAX: std::time::Duration = std::time::Duration::from_secs(10);

/// Sentences outside the grammar, or inside it and impossible in the studio.
const OUTSIDE: &[&str] = &[
    "neutral open at kilm, line side",
    "neutral opne at kiln",
    "nuetral open at sink",
    "neutral open at attic",
    "neutral open",
    "open at kiln, line side",
    "neutral at kiln, line side",
    "neutral open at kiln",
    "neutral open at kiln, load side",
    "neutral open at kiln, load side to desk",
    "neutral open at sink, load side",
    "hot2 open at kiln, line side",
    "neutral open at sink, pigtail",
    "neutral loose at kiln",
    "white wire open at kiln",
    "kiln dead",
    "kiln.nuetral open",
    "door.neutral open",
    "contact:door-kiln.c.neutral open",
    "hot 0.4 at kiln, line side",
    "hot 0.4 olm at kiln, line side",
    "hot 1,000 ohm at kiln, line side",
    "hot -3 ohm at kiln, line side",
    "hot 1e400 ohm at kiln, line side",
    "ohm at kiln",
    "neutral open at kiln, line side, 200 kohm",
    "neutral broken in cable door-klin, halfway",
    "neutral broken in cable door-kiln at 130 %",
    "neutral broken between door and desk",
    "neutral open at kiln, halfway",
    "hot glowing in cable door-kiln",
    "hot and hot exchanged at kiln",
    "hot exchanged at kiln",
    "hot and neutral exchanged at kiln, load side",
    "hot and neutral exchanged in cable door-kiln",
    "hot, neutral and ground exchanged at kiln",
    "legs of c1 and c3 exchanged",
    "neutral and earth bridged at kiln",
    "neutral bridged at kiln",
    "neutral of kiln and neutral of kiln bridged",
    "ground contact at kiln",
    "hot and ground bridged at kiln through 10 nF",
    "bootleg ground",
    "breaker c9 off",
    "breaker c1 stalled",
    "c1 on L3",
    "c1 on L1",
    "heater stalled",
    "fan unplugged",
    "heater crossed",
    "kiln on",
    "switch foot closed",
    "switch hall crossed",
    "switch foot position 3",
    "supply 216 V",
    "supply lots",
    "line and load exchanged at kiln",
    "line and load open at gf1",
    "tab left in at kiln",
    "service hot lost",
    "not open at kiln",
    "neutral not open at kiln",
    "neutral open exchanged at kiln",
    "neutral neutral open at kiln",
    "neutral open at kiln (line side)",
    "heater on; heater unplugged",
    "c4 off; c5 on",
    "neutral open at sink; neutral 0.4 ohm at sink",
    "hot and neutral exchanged at sink; hot and neutral exchanged at sink",
    "heater oon; neutral open at kilm; lamp off",
];

#[test]
fn every_answer_says_where_and_what_instead() {
    let circuit = studio();
    let mut answers = String::new();
    for text in OUTSIDE {
        let problems = parse(&circuit, text).expect_err(text);
        for problem in &problems {
            writeln!(answers, "{}\n", problem.render(text)).unwrap();
        }
    }
    insta::assert_snapshot!(answers);
}

#[test]
fn an_answer_points_into_the_text() {
    let circuit = studio();
    for text in OUTSIDE {
        for problem in parse(&circuit, text).unwrap_err() {
            assert!(text.get(problem.span.clone()).is_some(), "{text}: {problem:?}");
            assert!(!problem.span.is_empty(), "{text}: {problem:?}");
        }
    }
}

#[test]
fn the_sentence_given_as_an_example_is_heard() {
    let circuit = studio();
    let mut without = Vec::new();
    for text in OUTSIDE {
        for problem in parse(&circuit, text).unwrap_err() {
            match problem.example {
                Some(example) => assert!(parse(&circuit, &example).is_ok(), "{text}: {example}"),
                None => without.push(*text),
            }
        }
    }
    // Contradictions need no example: each sentence by itself is one.
    let contradictions = OUTSIDE.iter().filter(|text| text.contains("; ")).count() - 1;
    assert_eq!(without.len(), contradictions, "{without:?}");
}

#[test]
fn the_longest_text_is_answered_at_once() {
    let circuit = studio();
    for piece in ["neutral and ", "kiln.neutral ", "open ; ", "x", "(", "1 ohm ", "at kiln, "] {
        let text: String = piece.chars().cycle().take(TEXT_BYTES_MAX - 8).collect();
        let text = if piece.contains(';') { "open;".repeat(SENTENCES_MAX) } else { text };
        let begun = std::time::Instant::now();
        let problems = parse(&circuit, &text).unwrap_err();
        assert!(
            !problems.is_empty() && begun.elapsed() < ANSWER_MAX,
            "{piece}: {:?}",
            begun.elapsed()
        );
    }
}

#[test]
fn the_text_is_bounded() {
    let circuit = studio();
    let long = "neutral ".repeat(TEXT_BYTES_MAX / 8 + 1);
    assert!(parse(&circuit, &long).unwrap_err()[0].message.contains("bytes"));
    let many = "lamp off;".repeat(SENTENCES_MAX + 1);
    assert!(parse(&circuit, &many).unwrap_err()[0].message.contains("sentences"));
}
