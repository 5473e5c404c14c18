//! [`WhyReport`] as text.

use crate::netlist::Role;
use crate::report::caution::CAUTION;
use crate::report::figure::{amperes, volts};
use crate::report::why::WhyReport;

use super::Emphasis;
use super::layout::wrapped;

/// The report in 80 columns: the sentence first, then the path.
pub fn why(report: &WhyReport, emphasis: Emphasis) -> String {
    let Emphasis { heading, off, .. } = emphasis;
    let mut text = wrapped("", &report.says);
    if !report.condition.is_empty() {
        text.push_str(&format!("\n{heading}Different from the circuit file{off}\n"));
        for sentence in &report.condition {
            text.push_str(&wrapped("  ", sentence));
        }
    }
    if !report.stops.is_empty() {
        text.push_str(&format!("\n{heading}The way there{off}\n"));
        let stops = format!("{} -> {}", report.stops.join(" -> "), report.address);
        text.push_str(&wrapped("  ", &stops));
        let drop = largest_drop(report);
        if let Some((element, volt, ampere)) = drop {
            text.push_str(&wrapped(
                "  ",
                &format!(
                    "Most is dropped in {element}: {} V at {} A.",
                    volts(volt),
                    amperes(ampere)
                ),
            ));
        }
    }
    if !report.held_by.is_empty() {
        text.push_str(&format!("\n{heading}What holds it{off}\n"));
        for holder in report.held_by.iter().take(8) {
            let share = format!("{:.0} %", holder.share * 100.0);
            text.push_str(&format!("  {share:>5}  to {} ({})\n", holder.address, holder.element));
        }
    }
    text.push('\n');
    text.push_str(&wrapped("", CAUTION));
    text
}

/// The step of the path, other than a winding, across which most is dropped, if that is a volt
/// or more.
fn largest_drop(report: &WhyReport) -> Option<(&str, f64, f64)> {
    const WORTH_SAYING_VOLT: f64 = 1.0;
    let steps = report.path.iter().filter(|step| step.role != Role::Winding);
    let most = steps.max_by(|a, b| a.voltage_volt.rms.total_cmp(&b.voltage_volt.rms))?;
    let drop = (most.element.as_str(), most.voltage_volt.rms, most.current_ampere.rms);
    (drop.1 >= WORTH_SAYING_VOLT).then_some(drop)
}
