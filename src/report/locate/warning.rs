//! Dangers of what is believed, in words.

use crate::circuit::Vocabulary;
use crate::diagnosis::{ENDANGERS_BELOW, PanelMetal, Warning};
use crate::hazard::Severity;
use crate::report::figure::percent;
use crate::report::hazard_words::{advice, panel_live};
use crate::report::lookalikes::danger_in_words;
use crate::report::vocabulary::prose;

/// A danger that what is believed carries.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WarningReport {
    /// Its kind, stable: `energised_ground`, `heating_joint`, ...
    pub kind: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// How likely it is there as things stand.
    pub probability: f64,
    /// It is so only once loads are switched on that are off as things stand.
    pub once_on: bool,
    /// Where, in the likeliest case.
    pub addresses: Vec<String>,
    /// How likely it is at the first of these; the rest of its probability is elsewhere.
    pub here: f64,
    /// What may be so, in a few words.
    pub says: String,
    /// What to do, in plain words.
    pub advice: String,
}

impl WarningReport {
    /// Whether metal that a person touches with an appliance may be live as things stand, likely
    /// enough that nobody should touch it.
    pub(super) fn is_live_metal(&self) -> bool {
        matches!(self.kind, "energised_case" | "energised_ground")
            && !self.once_on
            && self.probability >= ENDANGERS_BELOW
    }

    /// Whether a joint burns under load, likely enough to mind what is switched on.
    pub(super) fn may_burn(&self) -> bool {
        matches!(self.kind, "heating_joint" | "heating_fault") && self.probability >= MAY_BURN_FROM
    }

    /// What may be so and how likely.
    pub(in crate::report) fn how_likely(&self) -> String {
        let how = if self.probability < 0.5 { "possible" } else { "likely" };
        format!("{how} ({}): {}.", percent(self.probability), self.says)
    }

    /// Whether it is said while somebody goes on: what is grave, and what burns out what is plugged in.
    pub(in crate::report) fn is_said_at_once(&self) -> bool {
        self.is_grave() || self.kind == "over_voltage" && self.probability >= 0.5
    }

    /// Whether it can kill or start a fire as things stand.
    pub fn is_grave(&self) -> bool {
        self.severity == Severity::Danger
    }
}

/// A joint is minded from this probability on.
const MAY_BURN_FROM: f64 = 0.3;

/// What is not there in so much of its probability may be elsewhere as well.
const MOSTLY: f64 = 0.8;

/// So many addresses are named.
const NAMED: usize = 3;

/// Warnings in words, the panel's own metal being live so likely or not.
pub(super) fn warnings(
    warnings: &[Warning],
    vocabulary: Vocabulary,
    panel_metal: PanelMetal,
) -> Vec<WarningReport> {
    let report = |warning: &Warning| {
        let addresses: Vec<String> = warning.addresses.iter().map(ToString::to_string).collect();
        let mut named = addresses.get(..NAMED.min(addresses.len())).unwrap_or_default().join(", ");
        if addresses.len() > NAMED {
            named.push_str(&format!(" and {} more", addresses.len() - NAMED));
        }
        let is_elsewhere = warning.here < MOSTLY * warning.probability;
        let at = if is_elsewhere { ", likeliest at" } else { " at" };
        let what = danger_in_words(&warning.danger, vocabulary);
        WarningReport {
            kind: warning.danger.code,
            severity: warning.danger.severity,
            probability: warning.probability,
            once_on: warning.once_on,
            addresses,
            here: warning.here,
            says: match (named.is_empty(), warning.once_on) {
                (true, _) => what,
                (false, false) => format!("{what}{at} {named}"),
                (false, true) => format!("{what}{at} {named} once loads there are on"),
            },
            advice: prose(vocabulary, advice(warning.danger.code)),
        }
    };
    let mut warned: Vec<WarningReport> = warnings.iter().map(report).collect();
    if panel_metal != PanelMetal::NotLive {
        // What else there is to do would have somebody go to the panel.
        for one in &mut warned {
            one.advice = prose(vocabulary, &panel_live(panel_metal));
        }
    }
    warned
}
