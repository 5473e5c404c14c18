//! A circuit file opened, and the condition asked for put together.

use std::ops::Range;

use slotwise::circuit::diagnostic::Diagnostic;
use slotwise::circuit::file::{self, CircuitFile};
use slotwise::condition::Condition;
use slotwise::condition::words::WordsProblem;
use slotwise::report::ReportError;

use super::arguments::ConditionWords;
use super::diagnostics;
use super::input::{self, Source};
use super::output::{Failure, talk};

/// A circuit file that could be read.
pub(super) struct Opened {
    pub(super) source: Source,
    pub(super) file: CircuitFile,
}

impl Opened {
    /// Reads a circuit file; what is wrong or doubtful about it is said on standard error.
    pub(super) fn open(name: &str) -> Result<Self, Failure> {
        let source = input::read(name)?;
        match file::read(&source.text) {
            Ok(file) => {
                diagnostics::show(&file.remarks, &source);
                Ok(Self { source, file })
            }
            Err(problems) => {
                diagnostics::show(&problems, &source);
                Err(Failure::told())
            }
        }
    }

    /// The conditions named in the file.
    pub(super) fn named_conditions(&self) -> Result<Vec<(String, Condition)>, Failure> {
        let mut conditions = Vec::new();
        let mut problems = Vec::new();
        for named in &self.file.conditions {
            let mut condition = Condition::default();
            problems.extend(self.say_all(&mut condition, &named.sentences));
            conditions.push((named.name.clone(), condition));
        }
        self.unless(problems).map(|()| conditions)
    }

    /// The condition asked for: the named ones first, then the words typed.
    pub(super) fn condition(&self, asked: &ConditionWords) -> Result<Condition, Failure> {
        let mut condition = Condition::default();
        for name in &asked.named {
            self.say_named(&mut condition, name)?;
        }
        let mut good = true;
        for sentence in asked.sentences() {
            if let Err(problems) = condition.say(&self.file.circuit, &sentence) {
                good = false;
                for problem in problems {
                    talk(&format!("error: {}\n", problem.render(&sentence)));
                }
            }
        }
        if good { Ok(condition) } else { Err(Failure::told()) }
    }

    fn say_named(&self, condition: &mut Condition, name: &str) -> Result<(), Failure> {
        if let Some(named) = self.file.conditions.iter().find(|named| named.name == name) {
            return self.unless(self.say_all(condition, &named.sentences));
        }
        let names: Vec<&str> = self.file.conditions.iter().map(|c| c.name.as_str()).collect();
        Err(Failure::unusable(format!(
            "slotwise: no condition named `{name}` in {} ({})",
            self.source.name,
            if names.is_empty() { "it names none".to_owned() } else { names.join(", ") }
        )))
    }

    fn say_all(
        &self,
        condition: &mut Condition,
        sentences: &[(String, Range<usize>)],
    ) -> Vec<Diagnostic> {
        let said =
            |(sentence, span): &(String, Range<usize>)| say(condition, &self.file, sentence, span);
        sentences.iter().flat_map(said).collect()
    }

    /// Shows problems found in the circuit file, if there are any.
    fn unless(&self, problems: Vec<Diagnostic>) -> Result<(), Failure> {
        if problems.is_empty() {
            return Ok(());
        }
        diagnostics::show(&problems, &self.source);
        Err(Failure::told())
    }
}

/// Says one sentence of a file; its problems point at the sentence in the file.
fn say(
    condition: &mut Condition,
    file: &CircuitFile,
    sentence: &str,
    span: &Range<usize>,
) -> Vec<Diagnostic> {
    match condition.say(&file.circuit, sentence) {
        Ok(()) => Vec::new(),
        Err(problems) => problems.iter().map(|problem| in_file(problem, span)).collect(),
    }
}

fn in_file(problem: &WordsProblem, span: &Range<usize>) -> Diagnostic {
    let mut diagnostic =
        Diagnostic::error("condition-words", problem.message.clone(), span.clone())
            .saying(problem.found.clone());
    if !problem.expected.is_empty() {
        diagnostic = diagnostic.with_expected(problem.expected.join("; "));
    }
    match (&problem.suggestions.first(), &problem.example) {
        (Some(name), _) => diagnostic.with_help(format!("did you mean `{name}`?")),
        (None, Some(example)) => diagnostic.with_help(format!("say for example: {example}")),
        (None, None) => diagnostic,
    }
}

/// Says why there is no report.
pub(super) fn no_report(error: ReportError) -> Failure {
    Failure::problem(format!("slotwise: {error}"))
}
