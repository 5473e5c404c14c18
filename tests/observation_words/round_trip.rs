//! Data to words to data, for any that can be made; any text is answered and none panics.

use proptest::prelude::*;
use slotwise::diagnosis::words;

use super::page::{lines, studio, tools};

/// Pieces of sentences of the page, in any order.
fn scrambled() -> impl Strategy<Value = String> {
    let pieces: Vec<String> = lines("complaints")
        .into_iter()
        .chain(lines("observations"))
        .flat_map(|line| line.split(' ').map(str::to_owned))
        .collect();
    proptest::collection::vec(proptest::sample::select(pieces), 1..14)
        .prop_map(|words| words.join(" "))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn whatever_is_heard_is_heard_again_when_said_back(text in scrambled()) {
        let circuit = studio();
        for complaint in words::complaints(circuit, &text).unwrap_or_default() {
            let said = words::tell_complaint(circuit, &complaint);
            prop_assert_eq!(words::complaints(circuit, &said).unwrap(), [complaint], "{}", said);
        }
        for observation in words::observations(circuit, &tools(), &text).unwrap_or_default() {
            let said = words::tell(circuit, &tools(), &observation);
            let again = words::observations(circuit, &tools(), &said).unwrap();
            prop_assert_eq!(again, [observation], "{}", said);
        }
    }

    #[test]
    fn no_text_is_too_odd_for_an_answer(text in "\\PC{0,60}") {
        let circuit = studio();
        for problem in words::observations(circuit, &tools(), &text).err().into_iter().flatten() {
            prop_assert!(!problem.render(&text).is_empty());
        }
        for problem in words::complaints(circuit, &text).err().into_iter().flatten() {
            prop_assert!(!problem.render(&text).is_empty());
        }
    }
}
