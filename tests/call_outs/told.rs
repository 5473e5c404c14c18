//! The twelve call-outs: circuit, what was said and seen, what is truly wrong, and what the search
//! must find. Shared by the tests and by `benches/locating.rs`.

use std::fs;
use std::path::Path;

use slotwise::circuit::{Circuit, file};
use slotwise::diagnosis::{self, Account};

/// One call-out.
pub(crate) struct CallOut {
    /// Its observation file.
    pub(crate) name: &'static str,
    /// Its circuit.
    pub(crate) circuit: &'static str,
    /// What is truly wrong, in words.
    pub(crate) truth: &'static str,
    /// What somebody wrote down wrong, by number.
    pub(crate) wrong: &'static [usize],
    /// A true fault as the list of faults has it; nothing where nothing is wrong.
    pub(crate) named: &'static [&'static str],
    /// The danger that must be warned of, by its code.
    pub(crate) warns: Option<&'static str>,
}

const QUIET: CallOut =
    CallOut { name: "", circuit: "", truth: "", wrong: &[], named: &[], warns: None };

pub(crate) const CALL_OUTS: [CallOut; 12] = [
    CallOut {
        name: "cold-kiln",
        circuit: "pottery-studio",
        truth: "neutral open at kiln, line side",
        named: &["neutral open at kiln, line side"],
        warns: Some("energised_neutral"),
        ..QUIET
    },
    CallOut {
        name: "stove-that-bites",
        circuit: "signal-box",
        truth: "bootleg ground at desk; neutral open at desk, line side",
        named: &["bootleg ground at desk", "neutral open at desk, line side"],
        warns: Some("all_contacts_live"),
        ..QUIET
    },
    CallOut {
        name: "two-dead-places",
        circuit: "rope-walk",
        truth: "hot open at tar, pigtail; neutral open at layer, line side",
        named: &["hot open at tar, pigtail", "neutral open at layer, line side"],
        warns: Some("energised_neutral"),
        ..QUIET
    },
    CallOut {
        name: "slow-shutter",
        circuit: "observatory",
        truth: "hot 0.35 ohm at stairs, line side",
        named: &["hot 0.3 ohm at stairs, line side"],
        warns: Some("heating_joint"),
        ..QUIET
    },
    CallOut {
        name: "glaring-lamp",
        circuit: "bakery",
        truth: "neutral open at counter, line side",
        named: &["neutral open at counter, line side"],
        warns: Some("over_voltage"),
        ..QUIET
    },
    CallOut {
        name: "when-the-oven-starts",
        circuit: "mountain-inn",
        truth: "service neutral lost",
        named: &["service neutral open"],
        warns: Some("over_voltage"),
        ..QUIET
    },
    CallOut {
        name: "chiller-trips-the-honey",
        circuit: "apiary",
        truth: "extractor.line.neutral and cold-store.line.neutral exchanged",
        named: &["extractor.line.neutral and cold-store.line.neutral exchanged"],
        ..QUIET
    },
    CallOut {
        name: "quiet-boathouse",
        circuit: "boathouse",
        truth: "ramp tripped",
        named: &["ramp tripped"],
        ..QUIET
    },
    CallOut { name: "before-the-feast", circuit: "village-hall", ..QUIET },
    CallOut {
        name: "two-notebooks",
        circuit: "chandlery",
        truth: "hot open at shelves, line side",
        wrong: &[6],
        named: &["hot open at shelves, line side"],
        ..QUIET
    },
    CallOut {
        name: "fan-that-tingles",
        circuit: "tannery",
        truth: "ground open at drum, line side; hot and ground touching in cable drum-loft, halfway",
        named: &["ground open at drum, line side"],
        warns: Some("energised_case"),
        ..QUIET
    },
    CallOut {
        name: "winch-after-rain",
        circuit: "ferry-landing",
        truth: "hot open at rail, line side, 100 kohm across the gap",
        named: &[
            "hot open at rail, line side, 20 kohm across the gap",
            "hot open at rail, line side, 100 kohm across the gap",
            "hot open at rail, line side, 500 kohm across the gap",
        ],
        ..QUIET
    },
];

fn text(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    fs::read_to_string(&path).unwrap_or_else(|problem| panic!("{}: {problem}", path.display()))
}

impl CallOut {
    pub(crate) fn circuit(&self) -> Circuit {
        let read = file::read(&text(&format!("circuits/{}.ron", self.circuit)));
        read.unwrap_or_else(|problems| panic!("{}: {problems:#?}", self.circuit)).circuit
    }

    pub(crate) fn account(&self, circuit: &Circuit) -> Account {
        let text = text(&format!("circuits/observations/{}.ron", self.name));
        let read = diagnosis::file::read(circuit, &text);
        read.unwrap_or_else(|problems| panic!("{}: {problems:#?}", self.name)).account
    }
}
