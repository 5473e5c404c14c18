//! Sheet and key on paper: everything on one page, the caution once, and no answer on a sheet.

use slotwise::draw::{key_page, sheet_page};
use slotwise::report::{KeyReport, SheetReport, text};

use crate::support::{FAMILIES, drawn};

#[test]
fn a_sheet_holds_no_answer_and_a_key_holds_all() {
    for name in FAMILIES {
        let drill = drawn(name, 2);
        let report = KeyReport::new(&drill).unwrap();
        let (sheet, key) = (sheet_page(&drill).unwrap(), key_page(&drill, &report).unwrap());
        for fault in &drill.faults {
            let says = fault.sentence(&drill.circuit);
            assert!(key.contains(&says), "{says}");
            assert!(!sheet.contains(&says), "{says}");
        }
        for page in [&sheet, &key] {
            assert_eq!(page.matches("A model proves nothing dead").count(), 1);
            assert!(!page.contains("<script") && !page.contains("http-equiv"));
            assert!(page.contains("<h1>") && page.contains("<svg"));
        }
    }
}

#[test]
fn sheet_and_key_as_text_stay_in_eighty_columns_and_say_the_caution_once() {
    for name in FAMILIES {
        let drill = drawn(name, 3);
        let sheet = text::sheet(&SheetReport::new(&drill), text::Emphasis::PLAIN);
        let key = text::key(&KeyReport::new(&drill).unwrap(), text::Emphasis::PLAIN);
        for said in [&sheet, &key] {
            assert_eq!(said.matches("A model proves nothing dead").count(), 1);
            for line in said.lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
        }
    }
}
