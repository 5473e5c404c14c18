//! What is to be said about a text someone wrote: where, what was found, what was expected
//! and what to do. Knows no terminal and no colour.

use std::borrow::Cow;
use std::fmt::Write as _;
use std::ops::Range;

use serde::{Deserialize, Serialize};

mod list;

pub use list::Diagnostics;

/// How bad it is.
///
/// ```
/// use slotwise::circuit::diagnostic::Severity;
/// assert_eq!(Severity::Warning.word(), "warning");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// The circuit cannot be used.
    Error,
    /// The circuit can be used; something in it looks wrong.
    Warning,
    /// Nothing wrong; something worth knowing.
    Note,
}

impl Severity {
    /// The word that begins its message: `error`, `warning`, `note`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// A place in the text and what is to be said about it.
///
/// ```
/// use slotwise::circuit::diagnostic::Label;
/// let label = Label { span: 7..8, text: "opened here".into() };
/// assert_eq!(&"circuit(format: 1"[label.span], "(");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Label {
    /// Bytes of the text; an empty range stands for the point before its start.
    pub span: Range<usize>,
    /// What is to be said there; may be empty.
    pub text: String,
}

/// Replacing a piece of the text would mend it.
///
/// ```
/// use slotwise::circuit::diagnostic::Suggestion;
/// let mut text = String::from("(fomat: 1)");
/// let mend = Suggestion { span: 1..6, replacement: "format".into() };
/// text.replace_range(mend.span, &mend.replacement);
/// assert_eq!(text, "(format: 1)");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Suggestion {
    /// Bytes to replace.
    pub span: Range<usize>,
    /// What to put there.
    pub replacement: String,
}

/// One thing to be said about a text.
///
/// ```
/// use slotwise::circuit::diagnostic::{Diagnostic, Severity};
/// let text = "(\n    format: 1,\n    nmae: \"shed\",\n)";
/// let start = text.find("nmae").unwrap();
/// let said = Diagnostic::error("unknown-field", "there is no field `nmae`", start..start + 4)
///     .with_help("did you mean `name`?");
/// assert_eq!(said.severity, Severity::Error);
/// assert_eq!(said.offending(text), "nmae");
/// assert!(said.render("shed.ron", text).contains("shed.ron:3:5"));
/// assert_eq!(said.to_string(), "there is no field `nmae`; did you mean `name`?");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Diagnostic {
    /// What kind of thing it is, in words joined by hyphens; stable.
    pub code: Cow<'static, str>,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, in one sentence without a full stop.
    pub message: String,
    /// The places it is about; the first is where it is.
    pub labels: Vec<Label>,
    /// What was expected there, if that can be said.
    pub expected: Option<String>,
    /// What to do about it, if that can be said.
    pub help: Option<String>,
    /// A replacement that would mend it, if there is a likely one.
    pub suggestion: Option<Suggestion>,
}

impl Diagnostic {
    /// An error at `span` (bytes of the text).
    pub fn error(code: &'static str, message: impl Into<String>, span: Range<usize>) -> Self {
        Self::new(Severity::Error, code, message, span)
    }

    /// A warning at `span` (bytes of the text).
    pub fn warning(code: &'static str, message: impl Into<String>, span: Range<usize>) -> Self {
        Self::new(Severity::Warning, code, message, span)
    }

    /// A note at `span` (bytes of the text).
    pub fn note(code: &'static str, message: impl Into<String>, span: Range<usize>) -> Self {
        Self::new(Severity::Note, code, message, span)
    }

    fn new(
        severity: Severity,
        code: &'static str,
        message: impl Into<String>,
        span: Range<usize>,
    ) -> Self {
        Self {
            code: Cow::Borrowed(code),
            severity,
            message: message.into(),
            labels: vec![Label { span, text: String::new() }],
            expected: None,
            help: None,
            suggestion: None,
        }
    }

    /// The same with something said at its first place.
    #[must_use]
    pub fn saying(mut self, text: impl Into<String>) -> Self {
        if let Some(first) = self.labels.first_mut() {
            first.text = text.into();
        }
        self
    }

    /// The same with another place.
    #[must_use]
    pub fn with_label(mut self, span: Range<usize>, text: impl Into<String>) -> Self {
        self.labels.push(Label { span, text: text.into() });
        self
    }

    /// The same with what was expected.
    #[must_use]
    pub fn with_expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = Some(expected.into());
        self
    }

    /// The same with what to do about it.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The same with a replacement for its first place.
    #[must_use]
    pub fn with_replacement(mut self, replacement: impl Into<String>) -> Self {
        self.suggestion = Some(Suggestion { span: self.span(), replacement: replacement.into() });
        self
    }

    /// Where it is: the bytes of its first place.
    pub fn span(&self) -> Range<usize> {
        self.labels.first().map_or(0..0, |label| label.span.clone())
    }

    /// The piece of the text it is about; empty for a point.
    pub fn offending<'a>(&self, text: &'a str) -> &'a str {
        text.get(self.span()).unwrap_or("")
    }

    /// The whole of it as plain text: message, file with line and column, the lines concerned
    /// with what is meant underlined, what was expected and what to do.
    pub fn render(&self, file_name: &str, text: &str) -> String {
        let mut out = format!("{}[{}]: {}\n", self.severity.word(), self.code, self.message);
        let (line, column) = line_column(text, self.span().start);
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  --> {file_name}:{line}:{column}");
        for (line, labels) in self.labels_by_line(text) {
            render_line(&mut out, text, line, &labels);
        }
        if let Some(expected) = &self.expected {
            let _ = writeln!(out, "  expected: {expected}");
        }
        if let Some(help) = &self.help {
            let _ = writeln!(out, "  help: {help}");
        }
        if let Some(replacement) = self.unspoken_replacement() {
            let _ = writeln!(out, "  help: write `{replacement}`");
        }
        out
    }

    /// The replacement, if the help does not name it already.
    ///
    /// ```
    /// use slotwise::circuit::diagnostic::Diagnostic;
    /// let said = Diagnostic::error("semicolon", "fields are parted by `,`", 10..11);
    /// assert_eq!(said.with_replacement(",").unspoken_replacement(), Some(","));
    /// ```
    pub fn unspoken_replacement(&self) -> Option<&str> {
        let replacement = self.suggestion.as_ref()?.replacement.as_str();
        let help = self.help.as_deref().unwrap_or("");
        let spoken = format!("`{}`", replacement.trim_matches('"'));
        (!help.contains(&spoken)).then_some(replacement)
    }

    /// The labels of each line, lines in the order of their first mention.
    fn labels_by_line(&self, text: &str) -> Vec<(usize, Vec<&Label>)> {
        let mut lines: Vec<(usize, Vec<&Label>)> = Vec::new();
        for label in &self.labels {
            let (line, _) = line_column(text, label.span.start);
            match lines.iter_mut().find(|(other, _)| *other == line) {
                Some((_, labels)) => labels.push(label),
                None => lines.push((line, vec![label])),
            }
        }
        lines
    }
}

/// All of them as plain text, one after another with a blank line between, in the order of
/// their places.
pub fn render_all(diagnostics: &[Diagnostic], file_name: &str, text: &str) -> String {
    let rendered: Vec<String> =
        diagnostics.iter().map(|diagnostic| diagnostic.render(file_name, text)).collect();
    rendered.join("\n")
}

/// Line and column of a byte of `text`, both counted from one, the column in characters.
/// An offset past the end, or inside a character, counts as the nearest place before it. A line
/// ends with a line feed, a carriage return or both.
///
/// ```
/// use slotwise::circuit::diagnostic::line_column;
/// assert_eq!(line_column("one\ntwo", 5), (2, 2));
/// assert_eq!(line_column("one\rtwo", 5), (2, 2));
/// assert_eq!(line_column("one\r\ntwo", 6), (2, 2));
/// assert_eq!(line_column("", 10), (1, 1));
/// ```
pub fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let before = &text[..floor_boundary(text, offset)];
    let mut ends = 0;
    let mut line_start = 0;
    for (at, byte) in before.bytes().enumerate() {
        if ends_line(text, at, byte) {
            ends += 1;
            line_start = at + 1;
        }
    }
    (ends + 1, before[line_start..].chars().count() + 1)
}

/// Whether the line ends with this byte: a line feed, or a carriage return without one.
fn ends_line(text: &str, at: usize, byte: u8) -> bool {
    byte == b'\n' || byte == b'\r' && text.as_bytes().get(at + 1) != Some(&b'\n')
}

fn floor_boundary(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

/// Longer lines are shown in part, around what is underlined.
const LINE_SHOWN: usize = 100;

/// Room kept to the right of what is underlined.
const ROOM_AFTER: usize = 30;

/// A line of the text with everything underlined that is meant in it.
fn render_line(out: &mut String, text: &str, line: usize, labels: &[&Label]) {
    let at = labels.first().map_or(0, |label| floor_boundary(text, label.span.start));
    let line_start = text[..at].rfind(['\n', '\r']).map_or(0, |newline| newline + 1);
    let line_end = text[at..].find(['\n', '\r']).map_or(text.len(), |newline| at + newline);
    let whole = &text[line_start..line_end];
    let column = |offset: usize| {
        let offset = floor_boundary(text, offset).clamp(line_start, line_end);
        text[line_start..offset].chars().count()
    };
    let rightmost = labels.iter().map(|label| column(label.span.start)).max().unwrap_or(0);
    let skipped = (rightmost + ROOM_AFTER).saturating_sub(LINE_SHOWN);
    let skipped = skipped.min(whole.chars().count().saturating_sub(LINE_SHOWN));
    let shown: String = whole
        .chars()
        .skip(skipped)
        .take(LINE_SHOWN)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let gutter = line.to_string().len();
    let _ = writeln!(out, "{line} | {}", shown.trim_end());
    for label in labels {
        let start = column(label.span.start).saturating_sub(skipped);
        let end = column(label.span.end).saturating_sub(skipped).min(LINE_SHOWN);
        let underline = "^".repeat(end.saturating_sub(start).max(1));
        let underlined = format!("{}{underline} {}", " ".repeat(start), label.text);
        let _ = writeln!(out, "{:>gutter$} | {}", "", underlined.trim_end());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_inside_a_letter_of_two_bytes_or_past_the_end_is_no_panic() {
        let text = "é\n\u{1F50C}";
        for start in 0..text.len() + 3 {
            for end in start..text.len() + 3 {
                let said = Diagnostic::error("test", "test", start..end);
                assert!(said.render("f", text).starts_with("error[test]: test\n"));
            }
        }
    }

    #[test]
    fn columns_count_letters_and_the_underline_stays_in_its_line() {
        let text = "naïve: 3,\nnext: 4";
        let start = text.find('3').unwrap();
        let rendered = Diagnostic::error("test", "test", start..text.len()).render("f", text);
        assert_eq!(rendered, "error[test]: test\n  --> f:1:8\n1 | naïve: 3,\n  |        ^^\n");
    }

    #[test]
    fn a_very_long_line_is_shown_around_the_place() {
        let text = format!("{}X{}", "a".repeat(5000), "b".repeat(5000));
        let rendered = Diagnostic::error("test", "test", 5000..5001).render("f", &text);
        assert!(rendered.lines().all(|line| line.len() < 120));
        assert!(rendered.contains("aXb"));
    }
}
