//! What was wrong with what was given, as data: the form of [`Diagnostic`]s for other programs.
//! Keys are documented in `docs/json.md`; renaming one raises the format.

use serde::Serialize;

use crate::circuit::UnknownName;
use crate::circuit::diagnostic::{Diagnostic, Label, Severity, line_column};

/// What stops a command: problems in place of the report that was asked for.
///
/// ```
/// use slotwise::report::ProblemsReport;
/// let text = "(\n    format: 1,\n    nmae: \"shed\",\n)";
/// let said = slotwise::circuit::file::read(text).unwrap_err();
/// let report = ProblemsReport::of_text(&said, Some("shed.ron"), text);
/// let first = &report.problems[0];
/// assert_eq!((first.line, first.column), (Some(3), Some(5)));
/// assert_eq!(first.suggestions, ["name"]);
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct ProblemsReport {
    /// Each of them: those of a text in the order of the text.
    pub problems: Vec<ProblemReport>,
}

impl ProblemsReport {
    /// What is to be said about a text; `file` is none for words that were typed.
    pub fn of_text(diagnostics: &[Diagnostic], file: Option<&str>, text: &str) -> Self {
        let each = diagnostics.iter().map(|one| ProblemReport::of_text(one, file, text));
        Self { problems: each.collect() }
    }
}

/// One problem. What is not known is none.
///
/// ```
/// use slotwise::report::ProblemReport;
/// let problem = ProblemReport::new("there is no file `shed.ron`");
/// assert_eq!((problem.file, problem.line), (None, None));
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProblemReport {
    /// How bad it is.
    pub severity: Severity,
    /// What kind of thing it is, in words joined by hyphens.
    pub code: Option<String>,
    /// What is wrong.
    pub message: String,
    /// The file it is in, as it was named; none for words that were typed.
    pub file: Option<String>,
    /// Line, from one.
    pub line: Option<usize>,
    /// Column in characters, from one.
    pub column: Option<usize>,
    /// Line of the end.
    pub end_line: Option<usize>,
    /// Column past the end; the same place for a point.
    pub end_column: Option<usize>,
    /// What stands there; empty for a point.
    pub found: Option<String>,
    /// What was expected there.
    pub expected: Option<String>,
    /// What was probably meant in its place, best first.
    pub suggestions: Vec<String>,
    /// What to do about it.
    pub help: Option<String>,
    /// What is to be said at its place and at others in the same text.
    pub places: Vec<ProblemPlace>,
}

/// Another place a problem is about, or more said of its own.
///
/// ```
/// use slotwise::report::problems::ProblemPlace;
/// let place = ProblemPlace { line: 3, column: 5, says: "opened here".into() };
/// assert_eq!(place.line, 3);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProblemPlace {
    /// Line, from one.
    pub line: usize,
    /// Column in characters, from one.
    pub column: usize,
    /// What is to be said there.
    pub says: String,
}

impl ProblemPlace {
    fn of(label: &Label, text: &str) -> Self {
        let (line, column) = line_column(text, label.span.start);
        Self { line, column, says: label.text.clone() }
    }
}

impl ProblemReport {
    /// A problem that stands in no text.
    pub fn new(message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            code: None,
            message: message.into(),
            file: None,
            line: None,
            column: None,
            end_line: None,
            end_column: None,
            found: None,
            expected: None,
            suggestions: Vec::new(),
            help: None,
            places: Vec::new(),
        }
    }

    /// One that stands in a text; `file` is none for words that were typed.
    pub fn of_text(diagnostic: &Diagnostic, file: Option<&str>, text: &str) -> Self {
        let span = diagnostic.span();
        let (line, column) = line_column(text, span.start);
        let (end_line, end_column) = line_column(text, span.end.max(span.start));
        let said = diagnostic.labels.iter().filter(|label| !label.text.is_empty());
        Self {
            severity: diagnostic.severity,
            code: Some(diagnostic.code.to_string()),
            file: file.map(str::to_owned),
            line: Some(line),
            column: Some(column),
            end_line: Some(end_line),
            end_column: Some(end_column),
            found: Some(diagnostic.offending(text).to_owned()),
            expected: diagnostic.expected.clone(),
            suggestions: diagnostic.suggestion.iter().map(|s| s.replacement.clone()).collect(),
            help: diagnostic.help.clone(),
            places: said.map(|label| ProblemPlace::of(label, text)).collect(),
            ..Self::new(diagnostic.message.clone())
        }
    }
}

impl From<&UnknownName> for ProblemReport {
    fn from(unknown: &UnknownName) -> Self {
        Self {
            code: Some("unknown-name".to_owned()),
            found: Some(unknown.name.clone()),
            expected: Some(unknown.expected.to_owned()),
            suggestions: unknown.close.clone(),
            ..Self::new(unknown.to_string())
        }
    }
}
