//! Hazards as text.

use crate::hazard::Severity;
use crate::report::hazard_words::{HazardReport, said_once};

use super::Emphasis;
use super::layout::wrapped;

/// Each hazard with what to do about it; that is said once.
pub(super) fn hazards(hazards: &[HazardReport], emphasis: Emphasis) -> String {
    let mut text = String::new();
    for listed in said_once(hazards) {
        text.push_str(&said(listed.hazard, emphasis));
        if let Some(advice) = listed.advice {
            text.push_str(&wrapped("           ", advice));
        }
        if let Some(threshold) = listed.threshold {
            text.push_str(&wrapped("           ", &format!("[{threshold}]")));
        }
    }
    text
}

fn said(hazard: &HazardReport, emphasis: Emphasis) -> String {
    let word = match hazard.severity {
        Severity::Danger => "DANGER",
        Severity::Warning => "WARNING",
        Severity::Notice => "NOTICE",
    };
    // Marks have no width on the screen, so the line is wrapped before they are put in.
    let said = wrapped(&format!("  {word:<9}"), &hazard.says);
    let Emphasis { alarm, off, .. } = emphasis;
    said.replacen(word, &format!("{alarm}{word}{off}"), 1)
}
