//! [`WhyReport`] as text.

use crate::report::caution::CAUTION;
use crate::report::figure::{amperes, volts};
use crate::report::why::{FeedReading, SHARE_TOLD, StepReading, WhyReport};

use super::Emphasis;
use super::hazards::hazards;
use super::layout::wrapped;

/// The report in 80 columns: hazards, the sentence, then the path.
pub fn why(report: &WhyReport, emphasis: Emphasis) -> String {
    let Emphasis { heading, off, .. } = emphasis;
    let mut text = String::new();
    if !report.hazards.is_empty() {
        text.push_str(&format!("{heading}HAZARDS{off}\n"));
        text.push_str(&hazards(&report.hazards, emphasis));
        text.push('\n');
    }
    text.push_str(&wrapped("", &report.says));
    if !report.condition.is_empty() {
        text.push_str(&format!("\n{heading}Different from the circuit file{off}\n"));
        for sentence in &report.condition {
            text.push_str(&wrapped("  ", sentence));
        }
    }
    for (at, feed) in report.feeds.iter().enumerate() {
        if at > 0 && feed.share < SHARE_TOLD {
            break;
        }
        let which = if at == 0 { "The way there" } else { "Another way there" };
        text.push_str(&format!("\n{heading}{which}{off}\n"));
        let stops = format!("{} -> {}", feed.stops.join(" -> "), report.address);
        text.push_str(&wrapped("  ", &stops));
        if let Some(step) = largest_drop(feed) {
            let said = format!(
                "Most is dropped in {}: {} V at {} A.",
                step.element,
                volts(step.voltage_volt.rms),
                amperes(step.current_ampere.rms)
            );
            text.push_str(&wrapped("  ", &said));
        }
    }
    if !report.held_by.is_empty() {
        text.push_str(&format!("\n{heading}What holds it{off}\n"));
        for holder in report.held_by.iter().filter(|holder| holder.share >= 0.005).take(8) {
            let share = format!("{:.0} %", holder.share * 100.0);
            text.push_str(&format!("  {share:>5}  to {} ({})\n", holder.address, holder.element));
        }
    }
    text.push('\n');
    text.push_str(&wrapped("", CAUTION));
    text
}

/// The step of a path across which most is dropped, if that is a volt or more.
fn largest_drop(feed: &FeedReading) -> Option<&StepReading> {
    const WORTH_SAYING_VOLT: f64 = 1.0;
    let drop = |step: &StepReading| step.voltage_volt.rms;
    let most = feed.path.iter().max_by(|a, b| drop(a).total_cmp(&drop(b)))?;
    (drop(most) >= WORTH_SAYING_VOLT).then_some(most)
}
