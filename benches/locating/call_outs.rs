//! The twelve call-outs of `circuits/observations`, each put to an inquiry as it stands.

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::diagnosis::{Findings, Inquiry, Suspect};

use crate::followed::follow;
use crate::told::{CALL_OUTS, CallOut};

/// What came of one.
pub(crate) struct Outcome {
    /// Its name.
    pub(crate) name: &'static str,
    /// The place of a true fault among the suspects, 1 for the first; where nothing is wrong,
    /// 1 if that is what is found.
    pub(crate) rank: Option<usize>,
    /// The same after every test that was asked for was made.
    pub(crate) followed: Option<usize>,
    /// How many that were.
    pub(crate) tests: usize,
    /// The danger was warned of, if there is one.
    pub(crate) warned: bool,
    /// What was written down wrong is among what does not go together, if anything was.
    pub(crate) doubted: bool,
    /// In words.
    pub(crate) words: String,
}

impl Outcome {
    /// Whether it ends with the true fault first, the danger warned of and the wrong reading
    /// doubted.
    pub(crate) fn is_led(&self) -> bool {
        self.followed == Some(1) && self.warned && self.doubted
    }
}

/// All of them.
pub(crate) fn outcomes() -> Vec<Outcome> {
    CALL_OUTS.iter().map(outcome).collect()
}

fn outcome(call_out: &CallOut) -> Outcome {
    let circuit = call_out.circuit();
    let account = call_out.account(&circuit);
    let mut inquiry = match Inquiry::of(&circuit, &account) {
        Ok(inquiry) => inquiry,
        Err((at, problem)) => panic!("{}, {at}: {problem}", call_out.name),
    };
    let mut truth = Condition::default();
    if let Err(problems) = truth.say(&circuit, call_out.truth) {
        panic!("{}: {problems:#?}", call_out.name);
    }
    let stands = leading(&inquiry.findings(), &circuit);
    let rank = rank(call_out, &circuit, &inquiry.findings());
    let warned = call_out
        .warns
        .is_none_or(|code| inquiry.warnings().iter().any(|warning| warning.danger.code == code));
    let n_complaints = account.complaints.len();
    let conflicts = inquiry.conflicts();
    let doubted = call_out.wrong.iter().all(|wrong| {
        conflicts.iter().any(|conflict| conflict.told.contains(&(n_complaints + wrong)))
    });
    let tests = follow(&mut inquiry, &circuit, &truth);
    let findings = inquiry.findings();
    Outcome {
        name: call_out.name,
        rank,
        followed: self::rank(call_out, &circuit, &findings),
        tests,
        warned,
        doubted,
        words: format!(
            "in truth {:?}; {stands}\n  at the end {}",
            call_out.truth,
            leading(&findings, &circuit)
        ),
    }
}

/// The place of a true fault among the suspects.
fn rank(call_out: &CallOut, circuit: &Circuit, findings: &Findings) -> Option<usize> {
    if call_out.named.is_empty() {
        return (findings.nothing_wrong > 0.5).then_some(1);
    }
    let is_named = |sentence: &str| call_out.named.contains(&sentence);
    let is_true = |suspect: &Suspect| {
        suspect.faults.iter().any(|member| is_named(&member.fault.sentence(circuit)))
    };
    findings.suspects.iter().position(is_true).map(|at| at + 1)
}

fn leading(findings: &Findings, circuit: &Circuit) -> String {
    let suspects = findings.suspects.iter().take(3).map(|suspect| {
        let faults = suspect.faults.iter().take(3);
        let faults: Vec<String> = faults.map(|member| member.fault.sentence(circuit)).collect();
        format!("{:.3} {}", suspect.probability, faults.join(" | "))
    });
    let first = suspects.collect::<Vec<String>>().join("; ");
    let Findings { nothing_wrong, nothing_known, .. } = findings;
    format!("{first}; nothing wrong {nothing_wrong:.3}, nothing known {nothing_known:.3}")
}
