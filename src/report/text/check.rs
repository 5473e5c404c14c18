//! [`CheckReport`] as text.

use crate::report::check::CheckReport;
use crate::report::vocabulary::{Term, term};

use super::Emphasis;
use super::layout::{title, wrapped};

/// The report in 80 columns.
pub fn check(report: &CheckReport, emphasis: Emphasis) -> String {
    let Emphasis { heading, off, .. } = emphasis;
    let mut text = title(heading, &report.circuit, off);
    let mut list = |what: &str, names: &[String]| {
        if !names.is_empty() {
            let first = format!("  {:<18}{:>4}   ", what, names.len());
            text.push_str(&wrapped(&first, &names.join(", ")));
        }
    };
    let poles = |name: &String| {
        let of_it = report.breaker_poles.iter();
        of_it
            .filter(|pole| pole.strip_prefix(name).is_some_and(|end| end.starts_with(".pole")))
            .count()
    };
    let circuits = report.branch_circuits.iter().map(|name| match poles(name) {
        0 => name.clone(),
        more => format!("{name} ({} poles)", more + 1),
    });
    list("circuits", &circuits.collect::<Vec<_>>());
    list("boxes and panels", &report.places);
    list(&format!("{}s", term(report.vocabulary, Term::Receptacle)), &report.receptacles);
    list("loads", &report.loads);
    text.push_str(&format!("  {:<18}{:>4}\n", "cables", report.cables));
    text.push_str(&format!("  {:<18}{:>4}\n", "joints", report.joints));
    text.push_str(&format!("  {:<18}{:>4} Hz\n", "frequency", report.frequency_hz));
    for (count, condition) in report.conditions.iter().enumerate() {
        if count == 0 {
            text.push_str(&format!("\n{heading}Conditions named in it{off}\n"));
        }
        let first = format!("  {}: ", condition.name);
        text.push_str(&wrapped(&first, &condition.says.join("; ")));
    }
    for (count, remark) in report.remarks.iter().enumerate() {
        if count == 0 {
            text.push_str(&format!("\n{heading}Worth a look{off}\n"));
        }
        text.push_str(&wrapped("  ", remark));
    }
    text
}
