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

#[test]
fn a_sheet_speaks_of_no_address_and_of_no_leg_that_nothing_is_on() {
    let (mut one_leg, mut two_legs, mut halves, mut devices) = (0, 0, 0, 0);
    for name in FAMILIES {
        for number in 0..24 {
            let drill = drawn(name, number);
            let branches = &drill.circuit.parts().branch_circuits;
            let is_on = |leg: &str| branches.iter().any(|one| one.bus.as_str().ends_with(leg));
            let report = SheetReport::new(&drill);
            let sheet = text::sheet(&report, text::Emphasis::PLAIN);
            let told = report.call.join(" ");
            for device in &drill.circuit.parts().devices {
                assert!(!device.id.contains('.') || !sheet.contains(&device.id), "{sheet}");
                devices += usize::from(told.contains("receptacle at"));
            }
            for address in [".top", ".bottom", ".pole2", ".gf"] {
                assert!(!sheet.contains(address), "{sheet}");
            }
            halves += usize::from(sheet.contains(", top") || sheet.contains(", bottom"));
            if is_on(".L1") && is_on(".L2") {
                two_legs += 1;
                assert!(sheet.contains("on L1") && sheet.contains("L2"), "{sheet}");
                continue;
            }
            one_leg += 1;
            assert!(!sheet.contains("L1") && !sheet.contains("L2"), "{sheet}");
            if number < 4 {
                let page = sheet_page(&drill).unwrap();
                assert!(!page.contains("service L2"), "{name} {number}");
            }
        }
    }
    assert!(one_leg > 20 && two_legs > 2 && halves > 2 && devices > 0, "all kinds were there");
}

#[test]
fn half_a_duplex_is_read_as_the_sheet_calls_it() {
    use slotwise::drill::live::Live;
    let drill = (0..24).map(|number| drawn("houses", number)).find(|drill| {
        drill.circuit.outlets().any(|(_, outlet)| outlet.address.as_str().ends_with(".top"))
    });
    let drill = drill.unwrap();
    let outlets = drill.circuit.outlets().map(|(_, outlet)| outlet.address.to_string());
    let half = outlets.into_iter().find(|at| at.ends_with(".top")).unwrap();
    let live = Live::new(drill).unwrap();
    let said = slotwise::report::drill::place_in_words(&half);
    assert_ne!(said, half);
    let as_sheet = live.understand(&format!("read voltmeter at {said}")).unwrap();
    assert_eq!(as_sheet, live.understand(&format!("read voltmeter at {half}")).unwrap());
}
