//! Hazards as text.

use crate::hazard::Severity;
use crate::report::hazard_words::HazardReport;

use super::Emphasis;
use super::layout::wrapped;

/// Each hazard with what to do about it; that is said once for neighbours of one kind.
pub(super) fn hazards(hazards: &[HazardReport], emphasis: Emphasis) -> String {
    let mut text = String::new();
    let mut hazards = hazards.iter().peekable();
    while let Some(hazard) = hazards.next() {
        text.push_str(&said(hazard, emphasis));
        let next = hazards.peek();
        if next.is_none_or(|next| next.advice != hazard.advice) {
            text.push_str(&wrapped("           ", &hazard.advice));
        }
        if next
            .is_none_or(|next| next.advice != hazard.advice || next.threshold != hazard.threshold)
        {
            text.push_str(&wrapped("           ", &format!("[{}]", hazard.threshold)));
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
