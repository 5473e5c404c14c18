//! What is wrong with what was said, and what could be said instead.

use std::fmt;
use std::ops::Range;

/// One thing wrong with condition words, with what would help.
///
/// ```
/// use slotwise::condition::words::WordsProblem;
/// let problem = WordsProblem {
///     span: 16..20,
///     found: "kilm".into(),
///     message: "no place, device, circuit or load is called `kilm`".into(),
///     expected: vec!["the name of a box, device, circuit or load".into()],
///     suggestions: vec!["kiln".into()],
///     example: Some("neutral open at kiln, line side".into()),
/// };
/// assert_eq!(
///     problem.render("neutral open at kilm"),
///     "neutral open at kilm\n\
///      \u{20}               ^^^^\n\
///      no place, device, circuit or load is called `kilm`\n\
///      did you mean `kiln`?\n\
///      here could stand: the name of a box, device, circuit or load\n\
///      say for example: neutral open at kiln, line side"
/// );
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WordsProblem {
    /// Where in the text, in bytes.
    pub span: Range<usize>,
    /// What stands there.
    pub found: String,
    /// What is wrong, in a sentence.
    pub message: String,
    /// What could stand there.
    pub expected: Vec<String>,
    /// Names or words that were probably meant, best first.
    pub suggestions: Vec<String>,
    /// The nearest sentence that means something, in the speaker's own words.
    pub example: Option<String>,
}

/// A joint was named without its place.
pub(crate) const AT_WHICH_PLACE: &str = "at which box or cable?";

/// A problem on its way out.
pub(crate) type Problem = Box<WordsProblem>;

impl WordsProblem {
    pub(crate) fn new(span: Range<usize>, found: &str, message: impl Into<String>) -> Problem {
        Box::new(Self {
            span,
            found: found.to_owned(),
            message: message.into(),
            expected: Vec::new(),
            suggestions: Vec::new(),
            example: None,
        })
    }

    pub(crate) fn expected(
        mut self: Box<Self>,
        one_of: impl IntoIterator<Item = impl Into<String>>,
    ) -> Problem {
        self.expected = one_of.into_iter().map(Into::into).collect();
        self
    }

    pub(crate) fn suggesting(mut self: Box<Self>, names: Vec<String>) -> Problem {
        self.suggestions = names;
        self
    }

    /// The problem under the line it is in, the place marked with `^`.
    pub fn render(&self, text: &str) -> String {
        let before = text.get(..self.span.start).unwrap_or(text);
        let line_start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
        let rest = text.get(line_start..).unwrap_or_default();
        let line = rest.split(['\n', '\r']).next().unwrap_or_default();
        let indent = before.get(line_start..).map_or(0, |part| part.chars().count());
        let marked = text.get(self.span.clone()).unwrap_or_default().chars().count().max(1);
        let marked = marked.min(line.chars().count().saturating_sub(indent).max(1));
        format!("{line}\n{}{}\n{self}", " ".repeat(indent), "^".repeat(marked))
    }
}

impl fmt::Display for WordsProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if !self.suggestions.is_empty() {
            let quoted: Vec<String> = self.suggestions.iter().map(|s| format!("`{s}`")).collect();
            write!(f, "\ndid you mean {}?", quoted.join(" or "))?;
        }
        if !self.expected.is_empty() {
            write!(f, "\nhere could stand: {}", self.expected.join("; "))?;
        }
        if let Some(example) = &self.example {
            write!(f, "\nsay for example: {example}")?;
        }
        Ok(())
    }
}

impl std::error::Error for WordsProblem {}
