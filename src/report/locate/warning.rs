//! Dangers of what is believed, in words.

use crate::circuit::Vocabulary;
use crate::diagnosis::Warning;
use crate::hazard::Severity;
use crate::report::hazard_words::advice;
use crate::report::lookalikes::danger_in_words;

/// A danger that what is believed carries.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WarningReport {
    /// Its kind, stable: `energised_ground`, `heating_joint`, ...
    pub kind: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// How likely it is there as things stand.
    pub probability: f64,
    /// Where, in the likeliest case.
    pub addresses: Vec<String>,
    /// What may be so, in a few words.
    pub says: String,
    /// What to do, in plain words.
    pub advice: &'static str,
}

impl WarningReport {
    /// Whether it can kill or start a fire as things stand.
    pub fn is_grave(&self) -> bool {
        self.severity == Severity::Danger
    }
}

/// So many addresses are named.
const NAMED: usize = 3;

pub(super) fn warnings(warnings: &[Warning], vocabulary: Vocabulary) -> Vec<WarningReport> {
    let report = |warning: &Warning| {
        let addresses: Vec<String> = warning.addresses.iter().map(ToString::to_string).collect();
        let mut named = addresses.get(..NAMED.min(addresses.len())).unwrap_or_default().join(", ");
        if addresses.len() > NAMED {
            named.push_str(&format!(" and {} more", addresses.len() - NAMED));
        }
        let what = danger_in_words(&warning.danger, vocabulary);
        WarningReport {
            kind: warning.danger.code,
            severity: warning.danger.severity,
            probability: warning.probability,
            addresses,
            says: if named.is_empty() { what } else { format!("{what} at {named}") },
            advice: advice(warning.danger.code),
        }
    };
    warnings.iter().map(report).collect()
}
