//! Hazards as text: what is so, what to do, where the threshold comes from.

use crate::hazard::Severity;
use crate::report::hazard_words::HazardReport;

use super::Emphasis;
use super::layout::wrapped;

/// A heading and every hazard in the order given.
pub(super) fn hazards(hazards: &[HazardReport], emphasis: Emphasis) -> String {
    let Emphasis { heading, off, .. } = emphasis;
    let mut text = format!("{heading}HAZARDS{off}\n");
    let mut hazards = hazards.iter().peekable();
    while let Some(hazard) = hazards.next() {
        text.push_str(&said(hazard, emphasis));
        // What to do is said once for neighbours of one kind.
        if hazards.peek().is_none_or(|next| next.advice != hazard.advice) {
            text.push_str(&wrapped("           ", hazard.advice));
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
