//! Reports as JSON: one object each, with `format` and `tool_version` first. The form is
//! documented in `docs/json.md`; within one format number keys are only added.

use std::io::{Result, Write};

use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter};

use super::caution::CAUTION;
use super::{
    CheckReport, DrillRow, KeyReport, LocateReport, LookAlikeReport, Manifest, PatternReport,
    ReadReport, ReadingRow, SheetReport, WhyReport,
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
    written(manifest, PrettyFormatter::new())
}

fn line<R: Serialize>(row: &R) -> String {
    written(row, CompactFormatter)
}

fn enveloped<R: Serialize>(name: &'static str, body: &R) -> String {
    let envelope = Envelope {
        format: FORMAT,
        tool: env!("CARGO_PKG_NAME"),
        tool_version: env!("CARGO_PKG_VERSION"),
        report: name,
        caution: CAUTION,
        body,
    };
    written(&envelope, PrettyFormatter::new())
}

/// A value and a line break.
fn written<T: Serialize>(value: &T, layout: impl Formatter) -> String {
    let mut text = Vec::new();
    let mut serializer = serde_json::Serializer::with_formatter(&mut text, Unsigned(layout));
    // Structs with string keys and finite or null numbers always serialize, and as UTF-8.
    let done = value.serialize(&mut serializer).is_ok();
    let text = String::from_utf8(text).unwrap_or_default();
    if done { text + "\n" } else { "\n".to_owned() }
}

/// A layout in which a zero has no sign.
struct Unsigned<F>(F);

impl<F: Formatter> Formatter for Unsigned<F> {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> Result<()> {
        // The sum of -0.0 and 0.0 is 0.0.
        self.0.write_f64(writer, value + 0.0)
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> Result<()> {
        self.0.begin_array_value(writer, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_array_value(writer)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> Result<()> {
        self.0.begin_object_key(writer, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.begin_object_value(writer)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_object_value(writer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_zero_has_a_sign() {
        assert_eq!(written(&[-0.0, 0.0, -1.5], CompactFormatter), "[0.0,0.0,-1.5]\n");
        assert!(!written(&[-0.0], PrettyFormatter::new()).contains('-'));
    }
}
