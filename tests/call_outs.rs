//! Twelve call-outs: what was said and seen follows from what is truly wrong, and the search finds
//! it. `docs/call-outs.md` tells their stories.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

#[path = "call_outs/follows.rs"]
mod follows;

use std::fs;
use std::path::Path;

use slotwise::circuit::{Circuit, file};
use slotwise::condition::Condition;
use slotwise::diagnosis::{self, Account, Seen};

/// One call-out: its observation file, its circuit, what is truly wrong, and the observations that
/// somebody wrote down wrong, by number.
struct CallOut {
    name: &'static str,
    circuit: &'static str,
    truth: &'static str,
    wrong: &'static [usize],
}

const fn call_out(name: &'static str, circuit: &'static str, truth: &'static str) -> CallOut {
    CallOut { name, circuit, truth, wrong: &[] }
}

const CALL_OUTS: [CallOut; 12] = [
    call_out("cold-kiln", "pottery-studio", "neutral open at kiln, line side"),
    call_out(
        "stove-that-bites",
        "signal-box",
        "bootleg ground at desk; neutral open at desk, line side",
    ),
    call_out(
        "two-dead-places",
        "rope-walk",
        "hot open at tar, pigtail; neutral open at layer, line side",
    ),
    call_out("slow-shutter", "observatory", "hot 0.35 ohm at stairs, line side"),
    call_out("glaring-lamp", "bakery", "neutral open at counter, line side"),
    call_out("when-the-oven-starts", "mountain-inn", "service neutral lost"),
    call_out(
        "chiller-trips-the-honey",
        "apiary",
        "extractor.line.neutral and cold-store.line.neutral exchanged",
    ),
    call_out("quiet-boathouse", "boathouse", "ramp tripped"),
    call_out("before-the-feast", "village-hall", ""),
    CallOut {
        name: "two-notebooks",
        circuit: "chandlery",
        truth: "hot open at shelves, line side",
        wrong: &[6],
    },
    call_out(
        "fan-that-tingles",
        "tannery",
        "ground open at drum, line side; hot and ground touching in cable drum-loft, halfway",
    ),
    call_out(
        "winch-after-rain",
        "ferry-landing",
        "hot open at rail, line side, 100 kohm across the gap",
    ),
];

fn text(path: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

impl CallOut {
    fn circuit(&self) -> Circuit {
        file::read(&text(&format!("circuits/{}.ron", self.circuit))).unwrap().circuit
    }

    fn account(&self, circuit: &Circuit) -> Account {
        let text = text(&format!("circuits/observations/{}.ron", self.name));
        let read = diagnosis::file::read(circuit, &text);
        read.unwrap_or_else(|problems| panic!("{}: {problems:#?}", self.name)).account
    }

    fn truth(&self, circuit: &Circuit) -> Condition {
        let mut truth = Condition::default();
        truth.say(circuit, self.truth).unwrap();
        truth
    }
}

#[test]
fn every_observation_file_is_a_call_out() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits/observations");
    let mut files: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    files.sort();
    let mut told: Vec<&str> = CALL_OUTS.iter().map(|call_out| call_out.name).collect();
    told.sort_unstable();
    assert_eq!(files, told);
}

#[test]
fn everything_seen_is_what_the_true_fault_shows_but_for_what_was_written_down_wrong() {
    for call_out in &CALL_OUTS {
        let circuit = call_out.circuit();
        let account = call_out.account(&circuit);
        let truth = call_out.truth(&circuit);
        assert!(account.observations.len() >= 2, "{}", call_out.name);
        for (at, seen) in account.observations.iter().enumerate() {
            let follows = follows::follows(&circuit, &truth, seen);
            let wrong = call_out.wrong.contains(&at);
            assert_eq!(follows.is_ok(), !wrong, "{}, {at}: {follows:?}", call_out.name);
        }
        let instruments =
            account.observations.iter().filter(|o| matches!(o.seen, Seen::Instrument { .. }));
        assert!(instruments.count() > 0, "{}", call_out.name);
    }
}

#[test]
fn shown() {
    for call_out in &CALL_OUTS {
        let start = std::time::Instant::now();
        let circuit = call_out.circuit();
        let account = call_out.account(&circuit);
        let inquiry = diagnosis::Inquiry::of(&circuit, &account);
        let mut inquiry = match inquiry {
            Ok(inquiry) => inquiry,
            Err(problem) => { println!("{} {problem:?}", call_out.name); continue }
        };
        let findings = inquiry.findings();
        println!("== {} wrong {:.3} known {:.3} {:?}", call_out.name, findings.nothing_wrong, findings.nothing_known, start.elapsed());
        for s in findings.suspects.iter().take(4) {
            let f: Vec<String> = s.faults.iter().take(3).map(|m| m.fault.sentence(&circuit)).collect();
            println!("  {:.3} {:?} {}", s.probability, s.boxes, f.join(" | "));
        }
        println!("  {:?}", findings.explanations.iter().take(3).collect::<Vec<_>>());
        for w in inquiry.warnings() { println!("  warn {:?} {:.3} {:?}", w.danger, w.probability, w.addresses); }
        println!("  conflicts {:?}", inquiry.conflicts());
        match inquiry.advise() {
            diagnosis::Advice::Test(t) => println!("  test {} at {} {:?} {:.0}s", t.instrument, t.at, t.switch, t.cost_s),
            diagnosis::Advice::Stop(s) => println!("  stop {:?} {:?}", s.because, s.go_to.iter().take(3).collect::<Vec<_>>()),
        }
        println!("  {:?}", start.elapsed());
    }
}
