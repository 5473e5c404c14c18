//! Reports as JSON: one object each, with `format` and `tool_version` first. The form is
//! documented in `docs/json.md`; within one format number keys are only added.

use serde::Serialize;

use super::caution::CAUTION;
use super::{
    CheckReport, DrillRow, KeyReport, LocateReport, LookAlikeReport, Manifest, PatternReport,
    ProblemsReport, ReadReport, ReadingRow, SheetReport, WhyReport,
};

/// Number of the form; raised when a key is renamed, removed or changes meaning.
pub const FORMAT: u32 = 1;

#[derive(Serialize)]
struct Envelope<'a, R> {
    format: u32,
    tool: &'static str,
    tool_version: &'static str,
    report: &'static str,
    caution: &'static str,
    #[serde(flatten)]
    body: &'a R,
}

/// What `check` says, as JSON with a line break at its end.
pub fn check(report: &CheckReport) -> String {
    enveloped("check", report)
}

/// What `read` says, as JSON with a line break at its end.
pub fn read(report: &ReadReport) -> String {
    enveloped("read", report)
}

/// What `why` says, as JSON with a line break at its end.
pub fn why(report: &WhyReport) -> String {
    enveloped("why", report)
}

/// What `lookalikes` says, as JSON with a line break at its end.
pub fn lookalikes(report: &LookAlikeReport) -> String {
    enveloped("lookalikes", report)
}

/// What `lookalikes --table` says, as JSON with a line break at its end.
pub fn patterns(report: &PatternReport) -> String {
    enveloped("patterns", report)
}

/// What `locate` says, as JSON with a line break at its end.
pub fn locate(report: &LocateReport) -> String {
    enveloped("locate", report)
}

/// The student's sheet of a drill, as JSON with a line break at its end.
pub fn sheet(report: &SheetReport) -> String {
    enveloped("drill_sheet", report)
}

/// The answer key of a drill, as JSON with a line break at its end.
pub fn key(report: &KeyReport) -> String {
    enveloped("drill_key", report)
}

/// What was wrong with what was given, as JSON with a line break at its end.
pub fn problems(report: &ProblemsReport) -> String {
    enveloped("problems", report)
}

/// The same in one line, for where each line is JSON of its own.
pub fn problems_line(report: &ProblemsReport) -> String {
    line(&envelope("problems", report))
}

/// A reading of a drill as one line of JSON, with its line break.
pub fn reading_row(row: &ReadingRow) -> String {
    line(row)
}

/// A drill as one line of JSON, with its line break.
pub fn drill_row(row: &DrillRow) -> String {
    line(row)
}

/// The manifest of a data set as JSON with a line break at its end.
pub fn manifest(manifest: &Manifest) -> String {
    unsigned(&serde_json::to_string_pretty(manifest).unwrap_or_default()) + "\n"
}

fn line<R: Serialize>(row: &R) -> String {
    unsigned(&serde_json::to_string(row).unwrap_or_default()) + "\n"
}

fn enveloped<R: Serialize>(name: &'static str, body: &R) -> String {
    // Structs with string keys and finite or null numbers always serialize.
    unsigned(&serde_json::to_string_pretty(&envelope(name, body)).unwrap_or_default()) + "\n"
}

fn envelope<'a, R>(name: &'static str, body: &'a R) -> Envelope<'a, R> {
    Envelope {
        format: FORMAT,
        tool: env!("CARGO_PKG_NAME"),
        tool_version: env!("CARGO_PKG_VERSION"),
        report: name,
        caution: CAUTION,
        body,
    }
}

/// The same JSON, a zero in it without a sign.
fn unsigned(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    let (mut in_text, mut escaped) = (false, false);
    for (at, c) in json.char_indices() {
        let zero = || json.get(at..).and_then(|rest| rest.strip_prefix("-0.0"));
        let ends = |rest: &str| !rest.starts_with(|c: char| c.is_ascii_digit() || c == 'e');
        if c != '-' || in_text || !zero().is_some_and(ends) {
            out.push(c);
        }
        in_text ^= c == '"' && !escaped;
        escaped = c == '\\' && !escaped;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_zero_has_a_sign() {
        let written = unsigned(r#"{"a": -0.0, "b": [-0.0,-0.05,-1.0], "-0.0\\": "\"-0.0"}"#);
        assert_eq!(written, r#"{"a": 0.0, "b": [0.0,-0.05,-1.0], "-0.0\\": "\"-0.0"}"#);
    }
}
