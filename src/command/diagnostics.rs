//! What is wrong with a text, shown in the text.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use slotwise::circuit::diagnostic::{Diagnostic, Severity};

use super::input::Source;
use super::output::talk;

/// More than this many are counted, not shown.
const SHOWN_MAX: usize = 100;

/// Shows each diagnostic in its text on standard error, and how many there are.
pub(super) fn show(diagnostics: &[Diagnostic], source: &Source) {
    let renderer = Renderer::styled().term_width(80);
    for diagnostic in diagnostics.iter().take(SHOWN_MAX) {
        talk(&renderer.render(&[group(diagnostic, source)]));
        talk("");
    }
    if let Some(more) = diagnostics.len().checked_sub(SHOWN_MAX).filter(|&more| more > 0) {
        talk(&format!("and {more} more"));
    }
    let errors = count(diagnostics, Severity::Error);
    let warnings = count(diagnostics, Severity::Warning);
    if errors + warnings > 0 {
        let what = [(errors, "problem"), (warnings, "warning")]
            .into_iter()
            .filter(|&(number, _)| number > 0)
            .map(|(number, noun)| format!("{number} {noun}{}", if number == 1 { "" } else { "s" }))
            .collect::<Vec<_>>()
            .join(", ");
        talk(&format!("slotwise: {what} in {}", source.name));
    }
}

fn count(diagnostics: &[Diagnostic], severity: Severity) -> usize {
    diagnostics.iter().filter(|diagnostic| diagnostic.severity == severity).count()
}

fn group<'a>(diagnostic: &'a Diagnostic, source: &'a Source) -> Group<'a> {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut snippet = Snippet::source(&source.text).path(&source.name);
    for (at, label) in diagnostic.labels.iter().enumerate() {
        let kind = if at == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
        let annotation = kind.span(inside(&source.text, &label.span));
        snippet = snippet.annotation(match label.text.is_empty() {
            true => annotation,
            false => annotation.label(&label.text),
        });
    }
    let mut group =
        level.primary_title(&diagnostic.message).id(diagnostic.code.as_ref()).element(snippet);
    if let Some(expected) = &diagnostic.expected {
        group = group.element(Level::NOTE.with_name("expected").message(expected));
    }
    if let Some(help) = &diagnostic.help {
        group = group.element(Level::HELP.message(help));
    }
    if let Some(replacement) = diagnostic.unspoken_replacement() {
        group = group.element(Level::HELP.message(format!("write `{replacement}`")));
    }
    group
}

/// The span moved to places where the text can be cut.
fn inside(text: &str, span: &Range<usize>) -> Range<usize> {
    let boundary = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = boundary(span.start);
    start..boundary(span.end).max(start)
}
