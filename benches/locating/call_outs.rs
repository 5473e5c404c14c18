//! The twelve call-outs of `circuits/observations`, each put to an inquiry as it stands.

use slotwise::diagnosis::{Advice, Findings, Inquiry};

use crate::told::{CALL_OUTS, CallOut};

/// What came of one.
pub(crate) struct Outcome {
    /// Its name.
    pub(crate) name: &'static str,
    /// The place of a true fault among the suspects, 1 for the first; where nothing is wrong,
    /// 1 if that is what is found.
    pub(crate) rank: Option<usize>,
    /// The danger was warned of, if there is one.
    pub(crate) warned: bool,
    /// What was written down wrong is among what does not go together, if anything was.
    pub(crate) doubted: bool,
    /// In words.
    pub(crate) words: String,
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
    let findings = inquiry.findings();
    let is_named = |sentence: &str| call_out.named.contains(&sentence);
    let rank = if call_out.named.is_empty() {
        (findings.nothing_wrong > 0.5).then_some(1)
    } else {
        findings
            .suspects
            .iter()
            .position(|suspect| {
                suspect.faults.iter().any(|member| is_named(&member.fault.sentence(&circuit)))
            })
            .map(|at| at + 1)
    };
    let warned = call_out
        .warns
        .is_none_or(|code| inquiry.warnings().iter().any(|warning| warning.danger.code == code));
    let n_complaints = account.complaints.len();
    let conflicts = inquiry.conflicts();
    let doubted = call_out.wrong.iter().all(|wrong| {
        conflicts.iter().any(|conflict| conflict.told.contains(&(n_complaints + wrong)))
    });
    let next = match inquiry.advise() {
        Advice::Test(test) => format!("{} at {}", test.instrument, test.at),
        Advice::Stop(stop) => {
            let places: Vec<&str> = stop.go_to.iter().map(|go| go.place.as_str()).collect();
            format!("{:?}: {}", stop.because, places.join(", "))
        }
    };
    Outcome {
        name: call_out.name,
        rank,
        warned,
        doubted,
        words: format!("in truth {:?}; {}; {next}", call_out.truth, leading(&findings, &circuit)),
    }
}

fn leading(findings: &Findings, circuit: &slotwise::circuit::Circuit) -> String {
    let suspects = findings.suspects.iter().take(3).map(|suspect| {
        let faults = suspect.faults.iter().take(3);
        let faults: Vec<String> = faults.map(|member| member.fault.sentence(circuit)).collect();
        format!("{:.3} {}", suspect.probability, faults.join(" | "))
    });
    let first = suspects.collect::<Vec<String>>().join("; ");
    let Findings { nothing_wrong, nothing_known, .. } = findings;
    format!("{first}; nothing wrong {nothing_wrong:.3}, nothing known {nothing_known:.3}")
}
