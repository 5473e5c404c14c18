//! Figures that nothing in a building has.

use slotwise::circuit::file;
use slotwise::circuit::file::limits::{CAPACITANCE_FARAD, RESISTANCE_OHM};
use slotwise::condition::words::parse;

use super::studio::studio;

#[track_caller]
fn refused(sentence: &str) -> slotwise::condition::words::WordsProblem {
    let problems = parse(&studio(), sentence).expect_err(sentence);
    assert_eq!(problems.len(), 1, "{sentence}: {problems:?}");
    problems.into_iter().next().unwrap_or_else(|| panic!("{sentence}"))
}

#[test]
fn a_resistance_that_nothing_has_is_refused_with_the_range() {
    for (figure, which, range) in [
        ("1e-300 ohm", "small", "0, or 1e-7 to 1e12 ohm"),
        ("1e-400 ohm", "small", "0, or 1e-7 to 1e12 ohm"),
        ("1e-99999999999 ohm", "small", "0, or 1e-7 to 1e12 ohm"),
        ("1e30 ohm", "large", "0, or 1e-7 to 1e12 ohm"),
        ("1e400 ohm", "large", "0, or 1e-7 to 1e12 ohm"),
        ("1e7 Mohm", "large", "0, or 1e-13 to 1000000 Mohm"),
    ] {
        for sentence in [
            format!("hot {figure} at kiln, line side"),
            format!("hot and neutral bridged at kiln through {figure}"),
            format!("neutral open at kiln, line side, {figure} across the gap"),
            format!("hot {figure} in cable door-kiln, at 25 %"),
            format!("{figure} attached between hot and ground at kiln"),
        ] {
            let problem = refused(&sentence);
            let said = format!("{figure} is too {which} to be meant");
            assert_eq!((problem.message, problem.expected), (said, vec![range.to_owned()]));
            assert_eq!(&sentence[problem.span], figure);
        }
    }
}

#[test]
fn a_capacitance_that_nothing_has_is_refused_with_the_range() {
    for (figure, range) in
        [("1e30 uF", "0, or 1e-12 to 1000000 uF"), ("1e-300 pF", "0, or 1e-6 to 1e12 pF")]
    {
        let problem = refused(&format!("{figure} attached between hot and neutral at kiln"));
        assert_eq!(problem.expected, [range]);
    }
}

#[test]
fn what_the_circuit_file_allows_is_allowed_in_words() {
    let studio = studio();
    for ohm in [0.0, RESISTANCE_OHM.0, 1.0, RESISTANCE_OHM.1] {
        let sentence = format!("hot {ohm:e} ohm at kiln, line side");
        assert!(parse(&studio, &sentence).is_ok(), "{sentence}");
    }
    for farad in [0.0, 1e-15, CAPACITANCE_FARAD.1] {
        let sentence =
            format!("{:e} pF attached between hot and ground at kiln", (farad * 1e12_f64).round());
        assert!(parse(&studio, &sentence).is_ok(), "{sentence}");
    }
    // And what it refuses is refused.
    for ohm in [RESISTANCE_OHM.0 / 2.0, RESISTANCE_OHM.1 * 2.0] {
        let text = format!(
            "(format: 1, circuits: [(id: \"c1\", amperes: 20)], boxes: [(id: \"door\", from: \"c1\", \
             feet: 30)], links: [(id: \"l\", between: (\"door.hot\", \"door.neutral\"), ohms: {ohm:e})])"
        );
        let said = file::read(&text).expect_err("no such resistance");
        assert_eq!(said[0].expected.as_deref(), Some("0, or 1e-7 to 1e12 ohms"));
        refused(&format!("hot {ohm:e} ohm at kiln, line side"));
    }
}

#[test]
fn a_supply_in_parts_is_held_to_the_stated_voltage_too() {
    let problem = refused("winding L1 at 1e30 V in-phase, 0 V quadrature");
    assert!(problem.message.contains("a winding is stated as"), "{}", problem.message);
}

#[test]
fn a_number_of_300_digits_is_not_said_back_whole() {
    let digits = "7".repeat(300);
    for sentence in [
        format!("hot {digits} ohm at kiln, line side"),
        format!("hot {digits} olm at kiln, line side"),
        format!("hot {digits} at kiln, line side"),
        format!("supply {digits} V"),
        format!("supply {digits}{digits} V"),
        format!("neutral broken in cable door-kiln at {digits} %"),
    ] {
        for problem in parse(&studio(), &sentence).expect_err("no such number") {
            let said = problem.to_string();
            assert!(!said.contains("77777777777777777777"), "{said}");
        }
    }
    let text = format!("(format: {digits})");
    let said = file::read(&text).expect_err("no such format").to_string();
    assert!(!said.contains("77777777777777777777"), "{said}");
    let text = format!("(format: 1, circuits: [(id: \"c1\", amperes: {digits})])");
    let said = file::read(&text).expect_err("no such breaker").to_string();
    assert!(said.contains("e299") && !said.contains("00000000"), "{said}");
}
